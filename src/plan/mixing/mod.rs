//! The mixing day: shared bases, equal loads that fit the tub, scoops and water.
//!
//! What the batches of one recipe have in common is mixed once and divided; each batch
//! then gets what it alone holds. Doses go into the base only where every batch gets
//! exactly its own by it, and never where a batch is sieved: doses come after the sieve.
//! What serves only some crops goes in after the others have drawn their share.

mod base;
mod loads;
mod moisture;
mod remarks;
mod scoops;
mod steps;

pub use base::{SharedBase, largest_base};
pub use loads::{FREEBOARD, FromBase, Load, LoadDose, Loads, Measure, TooCoarse, Vessels};
pub use moisture::{LIFT_KG, Moistening, Target, WANTED, water_for};
pub use scoops::{QUARTERS, TOLERANCE, Wanted, quarter_scoops};
pub use steps::Work;

pub(super) use remarks::add as add_remarks;

use super::{Batch, DoseAmount, Dosed};
use crate::catalogue::{Catalogue, IngredientId};
use crate::recipe::Basis;
use crate::units::{Volume, cover, in_litres, to_litres};
use crate::week::RecipeId;
use loads::{Divided, Mixture};
use moisture::{Water, grams_added};
use std::collections::BTreeMap;

/// How the batches are made.
#[derive(Clone, Debug, Default)]
pub struct Mixing {
    /// The tub and the scoop at hand.
    pub vessels: Vessels,
    /// The shared bases, at most one a recipe.
    pub bases: Vec<Base>,
    /// One entry for each batch of the plan.
    pub batches: Vec<BatchMixing>,
    /// What to do in which order: whatever holds an inoculant last.
    pub order: Vec<Work>,
}

/// What the batches of one recipe have in common.
#[derive(Clone, Debug)]
pub struct Base {
    /// The recipe.
    pub recipe: RecipeId,
    /// Its ingredients as needed, exactly.
    pub ingredients: Vec<(IngredientId, Volume)>,
    /// Loose volume needed.
    pub loose: Volume,
    /// How it is made.
    pub loads: Loads,
    /// Loose volume made.
    pub made_loose: Volume,
    /// Mix kept after blending, by the yields of its batches.
    pub kept: f64,
    /// Who draws how much, in order; the last takes the rest.
    pub draws: Vec<Draw>,
    /// A finer scoop, where the one at hand is too coarse.
    pub too_coarse: Option<TooCoarse>,
}

/// What one batch draws from a base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draw {
    /// Index of the batch.
    pub batch: usize,
    /// How much.
    pub amount: FromBase,
    /// Its share of the base.
    pub share: f64,
}

/// How a batch is made.
#[derive(Clone, Debug)]
pub struct BatchMixing {
    /// Index of the base it draws from.
    pub base: Option<usize>,
    /// Loose volume that it holds of the base, exactly.
    pub from_base: Volume,
    /// What it holds beside the base, exactly.
    pub additions: Vec<(IngredientId, Volume)>,
    /// What goes into the tub for it; `None` where it is ready when drawn.
    pub loads: Option<Loads>,
    /// Finished mix made.
    pub made: Volume,
    /// Made beyond the need: what the rounding to scoops adds.
    pub over: Volume,
    /// A finer scoop, where the one at hand is too coarse.
    pub too_coarse: Option<TooCoarse>,
}

/// A mix that goes into the tub.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MixRef {
    /// Index of a base.
    Base(usize),
    /// Index of a batch.
    Batch(usize),
}

impl Mixing {
    /// What the loads measure in altogether, by ingredient: the need, and what the
    /// rounding to scoops adds.
    #[must_use]
    pub fn measured(&self) -> Vec<(IngredientId, Volume)> {
        let mut sums: Vec<(IngredientId, Volume)> = Vec::new();
        let bases = self.bases.iter().map(|base| &base.loads);
        for loads in bases.chain(self.batches.iter().filter_map(|batch| batch.loads.as_ref())) {
            for measure in &loads.load.measures {
                let all = measure.loose * loads.count as f64;
                match sums.iter_mut().find(|(id, _)| *id == measure.ingredient) {
                    Some((_, sum)) => *sum += all,
                    None => sums.push((measure.ingredient, all)),
                }
            }
        }
        sums
    }
}

/// Works out how the batches are made.
pub(super) fn mixing(batches: &[Batch], vessels: Vessels, catalogue: &Catalogue) -> Mixing {
    let bench = Bench { batches, vessels, catalogue };
    let mut groups: BTreeMap<RecipeId, Vec<usize>> = BTreeMap::new();
    for (index, batch) in batches.iter().enumerate() {
        groups.entry(batch.recipe).or_default().push(index);
    }
    let mut bases = Vec::new();
    let mut made: Vec<Option<BatchMixing>> = vec![None; batches.len()];
    for (recipe, members) in groups {
        let held: Vec<Vec<(IngredientId, f64)>> = members.iter().map(|index| held(&batches[*index])).collect();
        match largest_base(&held) {
            None => members.iter().for_each(|index| made[*index] = Some(bench.alone(*index))),
            Some(shared) => {
                let (base, doses) = bench.base(recipe, &members, &shared);
                for (place, index) in members.iter().enumerate() {
                    let additions = &shared.additions[place];
                    made[*index] =
                        Some(bench.sharing(*index, bases.len(), &base, additions, shared.taken[place], &doses));
                }
                bases.push(base);
            }
        }
    }
    let batches_made: Vec<BatchMixing> = made.into_iter().flatten().collect();
    let order = steps::order(&bases, &batches_made, |index| batches[index].is_inoculated(catalogue));
    Mixing { vessels, bases, batches: batches_made, order }
}

fn held(batch: &Batch) -> Vec<(IngredientId, f64)> {
    batch.ingredients.iter().map(|part| (part.ingredient, to_litres(part.loose))).collect()
}

/// The batches, and what they are mixed with.
struct Bench<'p> {
    batches: &'p [Batch],
    vessels: Vessels,
    catalogue: &'p Catalogue,
}

impl Bench<'_> {
    /// A batch that shares nothing.
    fn alone(&self, index: usize) -> BatchMixing {
        let batch = &self.batches[index];
        let total = to_litres(batch.chain.loose);
        let wanted = held(batch)
            .into_iter()
            .map(|(id, litres)| (id, Wanted { share: litres / total, given: 0.0, measured: true }))
            .collect();
        let divided = Mixture { wanted, need: total, tolerance: TOLERANCE }.divide(&self.vessels);
        self.batch(index, None, in_litres(0.0), &[], divided, &[])
    }

    /// The base of some batches, and the ingredients whose doses are in it.
    fn base(
        &self,
        recipe: RecipeId,
        members: &[usize],
        shared: &SharedBase<IngredientId>,
    ) -> (Base, Vec<IngredientId>) {
        let taken: f64 = shared.taken.iter().sum();
        let yields = members.iter().zip(&shared.taken).map(|(index, l)| l * self.batches[*index].chain.yield_.to_f64());
        let kept = yields.sum::<f64>() / taken;
        let mut order: Vec<usize> = (0..members.len()).collect();
        // Before the inoculant, then small ones first: the last takes what is left, and
        // a guess of the yield that is off by a few litres matters least to a large one.
        order.sort_by(|a, b| {
            let key = |place: usize| self.batches[members[place]].is_inoculated(self.catalogue);
            key(*a).cmp(&key(*b)).then(shared.taken[*a].total_cmp(&shared.taken[*b]))
        });
        let mut draws: Vec<Draw> = order
            .iter()
            .map(|place| Draw { batch: members[*place], amount: self.draw(shared.taken[*place], kept), share: 0.0 })
            .collect();
        let last = order.last().map_or(0.0, |place| shared.taken[*place]);
        let drawn = |draws: &[Draw]| draws.iter().map(|draw| to_litres(draw.amount.loose)).sum::<f64>();
        let but_last = draws.len() - 1;
        let need = drawn(&draws[..but_last]) + last;
        let whole = shared.additions.iter().all(Vec::is_empty);
        let wanted = shared
            .ingredients
            .iter()
            .map(|(id, litres)| (*id, Wanted { share: litres / taken, given: 0.0, measured: true }))
            .collect();
        // What is measured in afterwards is off as well: half the tolerance for each.
        let tolerance = if whole { TOLERANCE } else { TOLERANCE / 2.0 };
        let divided = Mixture { wanted, need, tolerance }.divide(&self.vessels);
        let made = divided.each * divided.count as f64;
        let rest = made - drawn(&draws[..but_last]);
        draws[but_last].amount = FromBase { loose: in_litres(rest), mixed: in_litres(rest * kept), quarters: None };
        for draw in &mut draws {
            draw.share = to_litres(draw.amount.loose) / made;
        }
        let in_base = self.doses_of_base(members, &shared.taken);
        let doses = in_base.iter().map(|(dose, total)| {
            let factor = match dose.basis {
                Basis::Of(id) => of(&divided, id) * divided.count as f64 / litres_of(&shared.ingredients, id),
                Basis::Finished | Basis::Loose => made / taken,
            };
            LoadDose { ingredient: dose.ingredient, amount: scaled(*total, factor / divided.count as f64) }
        });
        let doses: Vec<LoadDose> = doses.collect();
        let dosed = in_base.iter().map(|(dose, _)| dose.ingredient).collect();
        let too_coarse = divided.too_coarse;
        let base = Base {
            recipe,
            ingredients: shared.ingredients.iter().map(|(id, litres)| (*id, in_litres(*litres))).collect(),
            loose: in_litres(taken),
            loads: self.loads(divided, None, &[], doses),
            made_loose: in_litres(made),
            kept,
            draws,
            too_coarse,
        };
        (base, dosed)
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
    fn doses_of_base(&self, members: &[usize], taken: &[f64]) -> Vec<(DoseAmount, Dosed)> {
        let first = &self.batches[members[0]];
        if members.iter().any(|index| self.batches[*index].composition.sieve.is_some()) {
            return Vec::new();
        }
        first
            .doses
            .iter()
            .filter(|dose| self.catalogue.ingredient(dose.ingredient).serves.is_none())
            .filter_map(|dose| {
                let mut total = scaled(dose.amount, 0.0);
                for (index, taken_here) in members.iter().zip(taken) {
                    let mut same =
                        self.batches[*index].doses.iter().filter(|other| other.ingredient == dose.ingredient);
                    let (Some(here), None) = (same.next(), same.next()) else { return None };
                    let exact = scaled(dose.amount, taken_here / taken[0]);
                    if here.basis != dose.basis || !alike(here.amount, exact) {
                        return None;
                    }
                    total = plus(total, here.amount)?;
                }
                Some((*dose, total))
            })
            .collect()
    }

    /// A batch that draws on a base.
    fn sharing(
        &self,
        index: usize,
        base_index: usize,
        base: &Base,
        additions: &[(IngredientId, f64)],
        taken: f64,
        dosed: &[IngredientId],
    ) -> BatchMixing {
        let batch = &self.batches[index];
        let draw = base.draws.iter().find(|draw| draw.batch == index).map(|draw| draw.amount);
        let drawn = draw.map_or(taken, |draw| to_litres(draw.loose));
        let made: f64 = to_litres(base.loads.load.loose);
        let brings = |id: IngredientId| of_load(&base.loads.load, id) / made * drawn;
        let total = to_litres(batch.chain.loose);
        let wanted: Vec<(IngredientId, Wanted)> = held(batch)
            .into_iter()
            .map(|(id, litres)| {
                let measured = additions.iter().any(|(added, _)| *added == id);
                (id, Wanted { share: litres / total, given: brings(id), measured })
            })
            .collect();
        let divided = Mixture { wanted, need: total, tolerance: TOLERANCE }.divide(&self.vessels);
        let given = draw.map(|draw| (draw, base));
        let mut mixing = self.batch(index, given, in_litres(taken), dosed, divided, additions);
        mixing.base = Some(base_index);
        mixing
    }

    /// A batch from its loads.
    fn batch(
        &self,
        index: usize,
        draw: Option<(FromBase, &Base)>,
        from_base: Volume,
        dosed: &[IngredientId],
        divided: Divided,
        additions: &[(IngredientId, f64)],
    ) -> BatchMixing {
        let batch = &self.batches[index];
        let count = divided.count;
        let loose = divided.each * count as f64;
        let brought = |id: IngredientId| {
            draw.map_or(0.0, |(draw, base)| {
                of_load(&base.loads.load, id) / to_litres(base.loads.load.loose) * to_litres(draw.loose)
            })
        };
        let doses: Vec<LoadDose> = batch
            .doses
            .iter()
            .filter(|dose| !dosed.contains(&dose.ingredient))
            .map(|dose| {
                // Per volume of what is really made, so that rounding never makes it stronger.
                let factor = match dose.basis {
                    Basis::Of(id) => {
                        let exact = batch.ingredients.iter().find(|part| part.ingredient == id);
                        let there = of(&divided, id) * count as f64 + brought(id);
                        exact.map_or(1.0, |part| there / to_litres(part.loose))
                    }
                    Basis::Finished | Basis::Loose => loose / to_litres(batch.chain.loose),
                };
                LoadDose { ingredient: dose.ingredient, amount: scaled(dose.amount, factor / count as f64) }
            })
            .collect();
        let made = in_litres(loose) * batch.chain.yield_.to_f64() * (1.0 - batch.chain.sieve_loss.to_f64());
        let over = (made - batch.chain.mix).max(in_litres(0.0));
        let too_coarse = divided.too_coarse;
        let ready = draw.is_some() && divided.measures.is_empty() && doses.is_empty();
        BatchMixing {
            base: None,
            from_base,
            additions: additions.iter().map(|(id, litres)| (*id, in_litres(*litres))).collect(),
            loads: (!ready).then(|| self.loads(divided, draw, &batch.ingredients_ids(), doses)),
            made,
            over,
            too_coarse,
        }
    }

    /// Loads in the order of mixing, with their water and weight.
    fn loads(
        &self,
        divided: Divided,
        draw: Option<(FromBase, &Base)>,
        ids: &[IngredientId],
        mut doses: Vec<LoadDose>,
    ) -> Loads {
        let count = divided.count as f64;
        let mut measures = divided.measures;
        measures.sort_by_key(|measure| self.catalogue.ingredient(measure.ingredient).stage(false));
        doses.sort_by_key(|dose| self.catalogue.ingredient(dose.ingredient).stage(true));
        let share = |draw: FromBase| FromBase {
            loose: draw.loose / count,
            mixed: draw.mixed / count,
            quarters: draw.quarters.filter(|_| divided.count == 1),
        };
        let from_base = draw.map(|(draw, base)| (share(draw), base));
        let brought: Vec<(IngredientId, Volume)> = from_base.map_or_else(Vec::new, |(share, base)| {
            let scale = to_litres(share.loose) / to_litres(base.loads.load.loose);
            ids.iter().map(|id| (*id, in_litres(of_load(&base.loads.load, *id) * scale))).collect()
        });
        let added = from_base.map_or(0.0, |(share, base)| {
            grams_added(&base.loads.load.moistening) * to_litres(share.loose) / to_litres(base.loads.load.loose)
        });
        let contents: Vec<(IngredientId, Volume)> = brought
            .into_iter()
            .filter(|(_, loose)| to_litres(*loose) > 0.0)
            .chain(measures.iter().map(|measure| (measure.ingredient, measure.loose)))
            .collect();
        let (moistening, wet) = match Water::of(&contents, self.catalogue) {
            Err(unknown) => (Moistening::Unknown(unknown), None),
            Ok(water) => {
                let moistening = water.moistening(added);
                let wet = water.weight(&moistening, added);
                (moistening, Some(wet))
            }
        };
        // The base was moistened, or pressed: only what is measured in may ask for more.
        let settled = draw.is_some() && matches!(moistening, Moistening::Press(_));
        let moistening = if measures.is_empty() || settled { Moistening::Nothing } else { moistening };
        let load = Load {
            from_base: from_base.map(|(share, _)| share),
            measures,
            doses,
            loose: in_litres(divided.each),
            moistening,
            wet,
        };
        Loads { count: divided.count, load }
    }
}

/// Litres of an ingredient that one load measures in.
fn of(divided: &Divided, id: IngredientId) -> f64 {
    divided.measures.iter().filter(|measure| measure.ingredient == id).map(|measure| to_litres(measure.loose)).sum()
}

fn of_load(load: &Load, id: IngredientId) -> f64 {
    load.measures.iter().filter(|measure| measure.ingredient == id).map(|measure| to_litres(measure.loose)).sum()
}

fn litres_of(ingredients: &[(IngredientId, f64)], id: IngredientId) -> f64 {
    ingredients.iter().find(|(known, _)| *known == id).map_or(f64::INFINITY, |(_, litres)| *litres)
}

fn scaled(amount: Dosed, factor: f64) -> Dosed {
    match amount {
        Dosed::Mass(mass) => Dosed::Mass(mass * factor),
        Dosed::Measure(volume, spoon) => Dosed::Measure(volume * factor, spoon),
    }
}

fn plus(a: Dosed, b: Dosed) -> Option<Dosed> {
    match (a, b) {
        (Dosed::Mass(a), Dosed::Mass(b)) => Some(Dosed::Mass(a + b)),
        (Dosed::Measure(a, spoon), Dosed::Measure(b, other)) if spoon == other => Some(Dosed::Measure(a + b, spoon)),
        _ => None,
    }
}

/// Whether two amounts are the same but for floating-point noise.
fn alike(a: Dosed, b: Dosed) -> bool {
    use crate::units::mass::gram;
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs();
    match (a, b) {
        (Dosed::Mass(a), Dosed::Mass(b)) => near(a.get::<gram>(), b.get::<gram>()),
        (Dosed::Measure(a, spoon), Dosed::Measure(b, other)) => spoon == other && near(to_litres(a), to_litres(b)),
        _ => false,
    }
}
