//! How the batches are made: what goes into each base and each load.

use super::loads::{Divided, FromBase, Load, LoadDose, Loads, Mixture, Vessels};
use super::moisture::{Moistening, Water, grams_added};
use super::scoops::{TOLERANCE, Wanted};
use super::{Base, BatchMixing, Draw, SharedBase};
use crate::catalogue::{Handle, Ingredient};
use crate::plan::{Batch, DoseAmount};
use crate::recipe::Basis;
use crate::units::{Quantity, Sum, Tally, Volume, cover, in_litres, to_litres};
use crate::week::RecipeId;

pub(super) fn held(batch: &Batch) -> Vec<(Handle<Ingredient>, f64)> {
    batch.ingredients.iter().map(|part| (part.ingredient.clone(), to_litres(part.loose))).collect()
}

/// The batches, and what they are mixed with.
pub(super) struct Bench<'p> {
    pub(super) batches: &'p [Batch],
    pub(super) vessels: Vessels,
}

/// What a batch draws from a base.
struct Drawn<'b> {
    base: &'b Base,
    amount: FromBase,
}

impl Drawn<'_> {
    /// Its share of one load of the base.
    fn of_load(&self) -> f64 {
        to_litres(self.amount.loose) / to_litres(self.base.loads.load.loose)
    }

    /// Litres of an ingredient that come with it.
    fn brings(&self, id: &Handle<Ingredient>) -> f64 {
        self.base.loads.load.litres_of(id) * self.of_load()
    }
}

impl Bench<'_> {
    /// A batch that shares nothing.
    pub(super) fn alone(&self, index: usize) -> BatchMixing {
        let batch = &self.batches[index];
        let total = to_litres(batch.volumes.loose);
        let wanted = held(batch).into_iter().map(|(id, litres)| (id, Wanted::of_share(litres / total)));
        let divided = Mixture { wanted: wanted.collect(), need: total, tolerance: TOLERANCE }.divide(&self.vessels);
        self.batch(index, None, divided, &[])
    }

    /// The base of some batches, and the ingredients whose doses are in it.
    pub(super) fn base(
        &self,
        recipe: RecipeId,
        members: &[usize],
        shared: &SharedBase<Handle<Ingredient>>,
    ) -> (Base, Vec<Handle<Ingredient>>) {
        let taken: f64 = shared.taken.iter().sum();
        let yields =
            members.iter().zip(&shared.taken).map(|(index, l)| l * self.batches[*index].volumes.yield_.to_f64());
        let kept = yields.sum::<f64>() / taken;
        let mut draws = self.draws(members, shared, kept);
        let drawn = |draws: &[Draw]| draws.iter().map(|draw| to_litres(draw.amount.loose)).sum::<f64>();
        let but_last = draws.len() - 1;
        let last = members.iter().position(|index| *index == draws[but_last].batch).map_or(0.0, |at| shared.taken[at]);
        let wanted = shared.ingredients.iter().map(|(id, litres)| (id.clone(), Wanted::of_share(litres / taken)));
        // What is measured in afterwards is off as well: half the tolerance for each.
        let whole = shared.additions.iter().all(Vec::is_empty);
        let tolerance = if whole { TOLERANCE } else { TOLERANCE / 2.0 };
        let need = drawn(&draws[..but_last]) + last;
        let divided = Mixture { wanted: wanted.collect(), need, tolerance }.divide(&self.vessels);
        let made = divided.each * divided.count as f64;
        let rest = made - drawn(&draws[..but_last]);
        draws[but_last].amount = FromBase { loose: in_litres(rest), mixed: in_litres(rest * kept), quarters: None };
        for draw in &mut draws {
            draw.share = to_litres(draw.amount.loose) / made;
        }
        let in_base = self.doses_of_base(members, &shared.taken);
        let doses = in_base.iter().map(|(dose, total)| {
            let factor = match &dose.basis {
                Basis::Of(id) => {
                    let shared = shared.ingredients.iter().find(|(known, _)| known == id);
                    divided.litres_of(id) * divided.count as f64 / shared.map_or(f64::INFINITY, |(_, litres)| *litres)
                }
                Basis::Finished | Basis::Loose => made / taken,
            };
            LoadDose::of(dose, total.times(factor / divided.count as f64))
        });
        let doses: Vec<LoadDose> = doses.collect();
        let base = Base {
            recipe,
            ingredients: shared.ingredients.iter().map(|(id, litres)| (id.clone(), in_litres(*litres))).collect(),
            loose: in_litres(taken),
            made_loose: in_litres(made),
            kept,
            draws,
            too_coarse: divided.too_coarse,
            loads: self.loads(divided, None, &[], doses),
        };
        (base, in_base.into_iter().map(|(dose, _)| dose.ingredient.clone()).collect())
    }

    /// Who draws how much, in order. Before the inoculant, then small ones first: the last
    /// takes what is left, and a guess of the yield that is off by a few litres matters least
    /// to a large one.
    fn draws(&self, members: &[usize], shared: &SharedBase<Handle<Ingredient>>, kept: f64) -> Vec<Draw> {
        let mut order: Vec<(usize, f64)> = members.iter().copied().zip(shared.taken.iter().copied()).collect();
        order.sort_by(|(a, a_litres), (b, b_litres)| {
            let last = |index: usize| self.batches[index].serves_some();
            last(*a).cmp(&last(*b)).then(a_litres.total_cmp(b_litres))
        });
        let draw = |(batch, loose)| Draw { batch, amount: self.draw(loose, kept), share: 0.0 };
        order.into_iter().map(draw).collect()
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
                if here.basis != dose.basis || here.rate.spoon() != dose.rate.spoon() || !is_exact {
                    return None;
                }
                total = total.plus(here.amount)?;
            }
            Some(total)
        };
        let for_all = self.batches[members[0]].doses.iter().filter(|dose| dose.ingredient.serves.is_none());
        for_all.filter_map(|dose| sum(dose).map(|total| (dose, total))).collect()
    }

    /// The batch at a place among those that draw on a base.
    pub(super) fn sharing(
        &self,
        (place, index): (usize, usize),
        (base_index, base): (usize, &Base),
        shared: &SharedBase<Handle<Ingredient>>,
        dosed: &[Handle<Ingredient>],
    ) -> BatchMixing {
        let batch = &self.batches[index];
        let additions = &shared.additions[place];
        let draw = base.draws.iter().find(|draw| draw.batch == index).map(|draw| draw.amount);
        let drawn = draw.map(|amount| Drawn { base, amount });
        let total = to_litres(batch.volumes.loose);
        let wanted = held(batch).into_iter().map(|(id, litres)| {
            let measured = additions.iter().any(|(added, _)| *added == id);
            let given = drawn.as_ref().map_or(0.0, |drawn| drawn.brings(&id));
            (id, Wanted { share: litres / total, given, measured })
        });
        let divided = Mixture { wanted: wanted.collect(), need: total, tolerance: TOLERANCE }.divide(&self.vessels);
        BatchMixing {
            base: Some(base_index),
            from_base: in_litres(shared.taken[place]),
            additions: additions.iter().map(|(id, litres)| (id.clone(), in_litres(*litres))).collect(),
            ..self.batch(index, drawn.as_ref(), divided, dosed)
        }
    }

    /// A batch from its loads, `dosed` being in its base already.
    fn batch(
        &self,
        index: usize,
        drawn: Option<&Drawn<'_>>,
        divided: Divided,
        dosed: &[Handle<Ingredient>],
    ) -> BatchMixing {
        let batch = &self.batches[index];
        let count = divided.count as f64;
        let loose = divided.each * count;
        let doses = batch.doses.iter().filter(|dose| !dosed.contains(&dose.ingredient)).map(|dose| {
            // Per volume of what is really made, so that rounding never makes it stronger.
            let factor = match &dose.basis {
                Basis::Of(id) => {
                    let exact = batch.ingredients.iter().find(|part| part.ingredient == *id);
                    let there = divided.litres_of(id) * count + drawn.map_or(0.0, |drawn| drawn.brings(id));
                    exact.map_or(1.0, |part| there / to_litres(part.loose))
                }
                Basis::Finished | Basis::Loose => loose / to_litres(batch.volumes.loose),
            };
            LoadDose::of(dose, dose.amount.times(factor / count))
        });
        let doses: Vec<LoadDose> = doses.collect();
        let made = in_litres(loose) * batch.volumes.yield_.to_f64() * (1.0 - batch.volumes.sieve_loss.to_f64());
        let ready = drawn.is_some() && divided.measures.is_empty() && doses.is_empty();
        BatchMixing {
            base: None,
            from_base: in_litres(0.0),
            additions: Vec::new(),
            made,
            over: (made - batch.volumes.mix).max(in_litres(0.0)),
            too_coarse: divided.too_coarse,
            loads: (!ready).then(|| self.loads(divided, drawn, &batch.ingredients, doses)),
        }
    }

    /// Loads in the order of mixing, with their water and weight.
    fn loads(
        &self,
        divided: Divided,
        drawn: Option<&Drawn<'_>>,
        parts: &[crate::plan::PartAmount],
        mut doses: Vec<LoadDose>,
    ) -> Loads {
        let count = divided.count as f64;
        let mut measures = divided.measures;
        measures.sort_by_key(|measure| measure.ingredient.stage(false));
        doses.sort_by_key(|dose| dose.ingredient.stage(true));
        let brought = drawn.iter().flat_map(|drawn| {
            parts.iter().map(|part| (part.ingredient.clone(), in_litres(drawn.brings(&part.ingredient) / count)))
        });
        let measured = measures.iter().map(|measure| (measure.ingredient.clone(), measure.loose));
        let contents: Vec<(Handle<Ingredient>, Volume)> =
            brought.filter(|(_, loose)| to_litres(*loose) > 0.0).chain(measured).collect();
        let added = drawn.map_or(0.0, |drawn| grams_added(&drawn.base.loads.load.moistening) * drawn.of_load() / count);
        let (moistening, wet) = match Water::of(&contents) {
            Err(unknown) => (Moistening::Unknown(unknown), None),
            Ok(water) => {
                let moistening = water.moistening(added);
                let wet = water.weight(&moistening, added);
                (moistening, Some(wet))
            }
        };
        // The base was moistened, or pressed: only what is measured in may ask for more.
        let settled = drawn.is_some() && matches!(moistening, Moistening::Press(_));
        let moistening = if measures.is_empty() || settled { Moistening::Nothing } else { moistening };
        let from_base = drawn.map(|drawn| FromBase {
            loose: drawn.amount.loose / count,
            mixed: drawn.amount.mixed / count,
            quarters: drawn.amount.quarters.filter(|_| divided.count == 1),
        });
        let load = Load { from_base, measures, doses, loose: in_litres(divided.each), moistening, wet };
        Loads { count: divided.count, load }
    }
}

/// What all loads measure in, ingredients by volume and doses by weight or measure.
pub(super) fn measured<'l>(
    all: impl Iterator<Item = &'l Loads> + Clone,
) -> (Tally<Handle<Ingredient>, Volume>, Tally<Handle<Ingredient>, Quantity>) {
    let measures = all.clone().flat_map(|loads| {
        loads.load.measures.iter().map(|measure| (measure.ingredient.clone(), measure.loose * loads.count as f64))
    });
    let doses = all.flat_map(|loads| {
        loads.load.doses.iter().map(|dose| (dose.ingredient.clone(), dose.amount.times(loads.count as f64)))
    });
    (measures.collect(), doses.collect())
}
