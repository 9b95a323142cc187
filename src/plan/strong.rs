//! Doses far above what is in use.

use super::Batch;
use super::note::{BatchWarning, DoseLimit};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::recipe::Basis;
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Quantity, Tally, to_litres};

/// What harms below this harms by itself, not by the salts that it adds to those of others: trace elements and iron
/// (a judgement).
const LEAST_SALTS_G_PER_L: f64 = 2.0;
/// A dose is above its limit from so many times that on: limits are not that sharp (a judgement).
const ABOVE: f64 = 1.05;

/// Doses far above what is in use: of lime of every kind together, for the mix and for the peat that it is dosed on; of
/// fertilisers together, each by its share of its own limit; and of other things each. A spoonful is taken to weigh what as
/// much water does (from memory).
pub(super) fn strong_doses(batch: &Batch) -> Vec<BatchWarning> {
    let by_spoon = batch.doses.iter().any(|dose| dose.amount.grams().is_none());
    let litres = to_litres(batch.volumes.to_make());
    let per_litre = batch.doses.iter().map(|dose| {
        let grams = match dose.amount {
            Quantity::Mass(mass) => mass.get::<gram>(),
            Quantity::Volume(volume) => 1000.0 * to_litres(volume),
        };
        (dose.ingredient.clone(), grams / litres)
    });
    let limited = |(id, grams): (Handle<Ingredient>, f64)| {
        let most = id.most?.get::<gram_per_litre>();
        Some((id, most, grams))
    };
    let per_litre = per_litre.collect::<Tally<_, f64>>().into_iter().filter_map(limited);
    let (limes, others): (Vec<_>, Vec<_>) = per_litre.partition(|(id, ..)| id.is(Role::Lime));
    let adds_salts = |(id, most, _): &(Handle<Ingredient>, f64, f64)| id.may_fertilise && *most >= LEAST_SALTS_G_PER_L;
    let (salts, alone): (Vec<_>, Vec<_>) = others.into_iter().partition(adds_salts);
    let on_peat = batch.composition.doses.iter().filter_map(|dose| match &dose.basis {
        Basis::Of(base) if base.is_raw_peat() && dose.ingredient.is(Role::Lime) && dose.rate.spoon().is_none() => {
            Some((dose.ingredient.clone(), dose.rate.per_litre()))
        }
        _ => None,
    });
    let on_peat: Vec<_> = on_peat.filter_map(limited).collect();
    let found = |mut doses: Vec<(Handle<Ingredient>, f64, f64)>, of_peat| {
        let grams_per_litre: f64 = doses.iter().map(|(.., grams)| grams).sum();
        let shares: f64 = doses.iter().map(|(_, most, grams)| grams / most).sum();
        doses.sort_by(|(one, ..), (other, ..)| one.cmp(other));
        let limit = match doses.first().filter(|_| shares > ABOVE)? {
            (id, ..) if id.is(Role::Lime) => DoseLimit::Lime { of_peat },
            _ => DoseLimit::Fertiliser(grams_per_litre / shares),
        };
        let what = doses.into_iter().map(|(id, ..)| id).collect();
        Some(BatchWarning::StrongDose { what, grams_per_litre, limit, by_spoon })
    };
    let lime = found(limes, false).or_else(|| found(on_peat, true));
    let alone = alone.into_iter().filter_map(|dose| found(vec![dose], false));
    lime.into_iter().chain(found(salts, false)).chain(alone).collect()
}
