//! How the batches are made: what goes into each base and each load.

use super::base::{SharedBase, largest_base_counting};
use super::loads::{Divided, FromBase, Load, Loads, UndividedMix, Vessels, litres_of};
use super::moisture::{Moistening, Water, grams_added};
use super::scoops::{LoadShare, TOLERANCE};
use super::{Base, BatchMixing, Draw};
use crate::catalogue::{Handle, Ingredient};
use crate::coir::WaterHeld;
use crate::plan::{Batch, DoseAmount};
use crate::recipe::Basis;
use crate::units::{Quantity, Sum, Volume, cover, in_litres, to_litres};
use crate::week::RecipeId;

fn held(batch: &Batch) -> Vec<(Handle<Ingredient>, f64)> {
    batch.ingredients.iter().map(|part| (part.ingredient.clone(), to_litres(part.loose))).collect()
}

/// The batches, and what they are mixed with.
pub(super) struct Bench<'p> {
    pub(super) batches: &'p [Batch],
    pub(super) vessels: Vessels,
    /// The water in the coir as it comes to the tub.
    pub(super) coir: WaterHeld,
}

/// What a batch has of a base that it shares with others.
pub(super) struct Sharing<'b> {
    /// The base, with its index.
    pub(super) base: (usize, &'b Base),
    /// Loose litres that the batch holds of the base, exactly.
    pub(super) taken: f64,
    /// What it needs in addition to the base, in loose litres, exactly.
    pub(super) additions: &'b [(Handle<Ingredient>, f64)],
    /// What it draws.
    pub(super) drawn: FromBase,
}

impl Sharing<'_> {
    /// Its share of one load of the base.
    fn of_load(&self) -> f64 {
        to_litres(self.drawn.loose) / to_litres(self.base.1.loads.load.loose)
    }

    /// Whether the dose of an ingredient is in the base.
    fn is_dosed(&self, id: &Handle<Ingredient>) -> bool {
        self.base.1.loads.load.doses.iter().any(|dose| dose.ingredient == *id)
    }

    /// Litres of an ingredient that come with it.
    fn brings(&self, id: &Handle<Ingredient>) -> f64 {
        litres_of(&self.base.1.loads.load.measures, id) * self.of_load()
    }
}

impl Bench<'_> {
    /// What some batches of a recipe share, and the base that is made of it; `None` where
    /// they have nothing in common. The bounds that are compared to find it are added to
    /// `looked_at`.
    pub(super) fn base(
        &self,
        recipe: RecipeId,
        members: &[usize],
        looked_at: &mut usize,
    ) -> Option<(SharedBase<Handle<Ingredient>>, Base)> {
        let held: Vec<_> = members.iter().map(|index| held(&self.batches[*index])).collect();
        let shared = largest_base_counting(&held, looked_at)?;
        let taken: f64 = shared.taken.iter().sum();
        let yields =
            members.iter().zip(&shared.taken).map(|(index, l)| l * self.batches[*index].volumes.yield_.to_f64());
        let kept = yields.sum::<f64>() / taken;
        let order = self.drawing_order(members, &shared.taken);
        let ((last, last_litres), others) = order.split_last()?;
        let drawn: Vec<FromBase> = others.iter().map(|(_, litres)| self.draw(*litres, kept)).collect();
        let before: f64 = drawn.iter().map(|drawn| to_litres(drawn.loose)).sum();
        let wanted = shared.ingredients.iter().map(|(id, litres)| (id.clone(), LoadShare::of_share(litres / taken)));
        // What is measured in afterwards is off as well: half the tolerance for each.
        let whole = shared.additions.iter().all(Vec::is_empty);
        let tolerance = if whole { TOLERANCE } else { TOLERANCE / 2.0 };
        let mix = UndividedMix { wanted: wanted.collect(), need: before + last_litres, tolerance };
        let divided = mix.divide(&self.vessels);
        let made = divided.made();
        let rest = made - before;
        let rest = FromBase { loose: in_litres(rest), mixed: in_litres(rest * kept), quarters: None };
        let draws = others.iter().zip(drawn).map(|((batch, _), amount)| (*batch, amount));
        let draw = |(batch, amount): (usize, FromBase)| Draw { batch, amount, share: to_litres(amount.loose) / made };
        let in_base = self.doses_of_base(members, &shared.taken);
        let doses = in_base.iter().map(|(dose, total)| {
            let factor = match &dose.basis {
                Basis::Of(id) => {
                    let shared = shared.ingredients.iter().find(|(known, _)| known == id);
                    let litres = litres_of(&divided.measures, id) * divided.count as f64;
                    litres / shared.map_or(f64::INFINITY, |(_, litres)| *litres)
                }
                Basis::Finished | Basis::Loose => made / taken,
            };
            DoseAmount { amount: total.times(factor / divided.count as f64), ..(*dose).clone() }
        });
        let doses = doses.collect();
        let base = Base {
            recipe,
            ingredients: shared.ingredients.iter().map(|(id, litres)| (id.clone(), in_litres(*litres))).collect(),
            loose: in_litres(taken),
            made_loose: in_litres(made),
            kept,
            draws: draws.chain([(*last, rest)]).map(draw).collect(),
            too_coarse: divided.too_coarse,
            loads: self.loads(divided, None, doses),
        };
        Some((shared, base))
    }

    /// Who draws on a base, in order, and how much. Before the inoculant, then small ones
    /// first: the last takes what is left, and a guess of the yield that is off by a few
    /// litres matters least to a large one.
    fn drawing_order(&self, members: &[usize], taken: &[f64]) -> Vec<(usize, f64)> {
        let mut order: Vec<(usize, f64)> = members.iter().copied().zip(taken.iter().copied()).collect();
        let is_late = |index: usize| self.batches[index].serves_some();
        order.sort_by(|(a, a_litres), (b, b_litres)| is_late(*a).cmp(&is_late(*b)).then(a_litres.total_cmp(b_litres)));
        order
    }

    /// So many loose litres of a base, drawn in whole quarter scoops where there is one.
    fn draw(&self, loose: f64, kept: f64) -> FromBase {
        let mixed = in_litres(loose * kept);
        match self.vessels.quarter().and_then(|quarter| cover(mixed, quarter)) {
            Some(covered) => {
                let mixed = mixed + covered.over;
                FromBase { loose: mixed / kept, mixed, quarters: Some(covered.count) }
            }
            None => FromBase { loose: in_litres(loose), mixed, quarters: None },
        }
    }

    /// The doses that every batch gets exactly by its share of the base, with their sums.
    fn doses_of_base(&self, members: &[usize], taken: &[f64]) -> Vec<(&DoseAmount, Quantity)> {
        let batches = || members.iter().map(|index| &self.batches[*index]);
        if batches().any(|batch| batch.composition.sieve.is_some()) {
            return Vec::new();
        }
        let sum = |dose: &DoseAmount| {
            let mut total = dose.amount.times(0.0);
            for (batch, taken_here) in batches().zip(taken) {
                let mut same = batch.doses.iter().filter(|other| other.ingredient == dose.ingredient);
                let (Some(here), None) = (same.next(), same.next()) else { return None };
                let exact = dose.amount.times(taken_here / taken[0]);
                let is_exact = here.amount.is_like(exact)
                    && (here.amount.size() - exact.size()).abs() <= 1e-9 * exact.size().abs();
                if here.basis != dose.basis || !is_exact {
                    return None;
                }
                total = total.plus(here.amount)?;
            }
            Some(total)
        };
        let for_all = self.batches[members[0]].doses.iter().filter(|dose| dose.ingredient.serves.is_none());
        for_all.filter_map(|dose| sum(dose).map(|total| (dose, total))).collect()
    }

    /// How a batch is made, with what it shares or alone.
    pub(super) fn batch(&self, index: usize, sharing: Option<&Sharing<'_>>) -> BatchMixing {
        let batch = &self.batches[index];
        let total = to_litres(batch.volumes.loose);
        let additions = sharing.map(|sharing| sharing.additions);
        let brings = |id: &Handle<Ingredient>| sharing.map_or(0.0, |sharing| sharing.brings(id));
        let wanted = held(batch).into_iter().map(|(id, litres)| {
            let measured = additions.is_none_or(|additions| additions.iter().any(|(added, _)| *added == id));
            let given = brings(&id);
            (id, LoadShare { share: litres / total, given, measured })
        });
        let divided =
            UndividedMix { wanted: wanted.collect(), need: total, tolerance: TOLERANCE }.divide(&self.vessels);
        let count = divided.count as f64;
        let in_base = |dose: &&DoseAmount| sharing.is_some_and(|sharing| sharing.is_dosed(&dose.ingredient));
        let doses = batch.doses.iter().filter(|dose| !in_base(dose)).map(|dose| {
            // Per volume of what is really made, so that rounding never makes it stronger.
            let factor = match &dose.basis {
                Basis::Of(id) => {
                    let exact = batch.ingredients.iter().find(|part| part.ingredient == *id);
                    let there = litres_of(&divided.measures, id) * count + brings(id);
                    exact.map_or(1.0, |part| there / to_litres(part.loose))
                }
                Basis::Finished | Basis::Loose => divided.made() / total,
            };
            DoseAmount { amount: dose.amount.times(factor / count), ..dose.clone() }
        });
        let doses: Vec<DoseAmount> = doses.collect();
        let blended = in_litres(divided.made()) * batch.volumes.yield_.to_f64();
        let made = blended * (1.0 - batch.volumes.sieve_loss.to_f64());
        let is_ready = sharing.is_some() && divided.measures.is_empty() && doses.is_empty();
        let addition = |(id, litres): &(Handle<Ingredient>, f64)| (id.clone(), in_litres(*litres));
        BatchMixing {
            base: sharing.map(|sharing| sharing.base.0),
            from_base: in_litres(sharing.map_or(0.0, |sharing| sharing.taken)),
            additions: additions.unwrap_or_default().iter().map(addition).collect(),
            made,
            over: (made - batch.volumes.to_make()).max(in_litres(0.0)),
            too_coarse: divided.too_coarse,
            loads: (!is_ready).then(|| self.loads(divided, sharing.map(|sharing| (sharing, batch)), doses)),
        }
    }

    /// Loads in the order of mixing, with their water and weight, of a base or of a batch
    /// that shares nothing, or of what a batch adds to the base that it shares.
    fn loads(&self, divided: Divided, sharing: Option<(&Sharing<'_>, &Batch)>, mut doses: Vec<DoseAmount>) -> Loads {
        let count = divided.count as f64;
        let mut measures = divided.measures;
        measures.sort_by_key(|measure| measure.ingredient.stage(false));
        doses.sort_by_key(|dose| dose.ingredient.stage(true));
        let brought = sharing.iter().flat_map(|(sharing, batch)| {
            let brought = |id: &Handle<Ingredient>| (id.clone(), in_litres(sharing.brings(id) / count));
            batch.ingredients.iter().map(move |part| brought(&part.ingredient))
        });
        let measured = measures.iter().map(|measure| (measure.ingredient.clone(), measure.loose));
        let contents: Vec<(Handle<Ingredient>, Volume)> =
            brought.filter(|(_, loose)| to_litres(*loose) > 0.0).chain(measured).collect();
        let added = sharing
            .map_or(0.0, |(sharing, _)| grams_added(&sharing.base.1.loads.load.moistening) * sharing.of_load() / count);
        let (moistening, wet) = match Water::of(&contents, self.coir) {
            Err(unknown) => (Moistening::Unknown(unknown), None),
            Ok(water) => {
                let moistening = water.moistening(added);
                let wet = water.weight(&moistening, added);
                (moistening, Some(wet))
            }
        };
        // The base was moistened, or pressed: only what is measured in may ask for more.
        let settled = sharing.is_some() && moistening.is_too_wet();
        let moistening = if measures.is_empty() || settled { Moistening::Nothing } else { moistening };
        let from_base = sharing.map(|(Sharing { drawn, .. }, _)| FromBase {
            loose: drawn.loose / count,
            mixed: drawn.mixed / count,
            quarters: drawn.quarters.filter(|_| divided.count == 1),
        });
        let load = Load { from_base, measures, doses, loose: in_litres(divided.each), moistening, wet };
        Loads { count: divided.count, load }
    }
}
