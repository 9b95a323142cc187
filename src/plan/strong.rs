//! Doses far above what is in use.

use super::Batch;
use super::note::{BatchWarning, DoseLimit};
use crate::catalogue::Role;
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Quantity, Tally, to_litres};

/// Doses far above what is in use: of lime of every kind together, of all fertilisers together, of those alike that harm
/// sooner, and of other salts each. A spoonful is taken to weigh what as much water does (from memory).
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
    let per_litre = per_litre.collect::<Tally<_, f64>>().into_iter();
    let per_litre = per_litre.filter_map(|(id, grams)| {
        let most = id.most?.get::<gram_per_litre>();
        Some((id, most, grams))
    });
    let (limes, others): (Vec<_>, Vec<_>) = per_litre.partition(|(id, ..)| id.is(Role::Lime));
    let (fertilisers, alone): (Vec<_>, Vec<_>) = others.into_iter().partition(|(id, ..)| id.may_fertilise);
    // Besides those that bear most all together, those that bear less.
    let mut limits: Vec<f64> = fertilisers.iter().map(|(_, most, _)| *most).collect();
    limits.sort_by(f64::total_cmp);
    limits.dedup();
    limits.pop();
    let bear = |limit: &f64| fertilisers.iter().filter(|(_, most, _)| most == limit).cloned().collect::<Vec<_>>();
    let weaker: Vec<Vec<_>> = limits.iter().map(bear).collect();
    let groups = [limes, fertilisers].into_iter().chain(weaker).chain(alone.into_iter().map(|dose| vec![dose]));
    let strong = groups.filter_map(|mut doses| {
        let grams_per_litre = doses.iter().map(|(.., grams)| grams).sum::<f64>();
        let most =
            doses.iter().map(|(_, most, _)| *most).reduce(f64::max).filter(|most| grams_per_litre > most + 1e-9)?;
        doses.sort_by(|(one, ..), (other, ..)| one.cmp(other));
        let limit = if doses[0].0.is(Role::Lime) { DoseLimit::Lime } else { DoseLimit::Fertiliser(most) };
        let what = doses.into_iter().map(|(id, ..)| id).collect();
        Some(BatchWarning::StrongDose { what, grams_per_litre, limit, by_spoon })
    });
    strong.collect()
}
