//! The mixing day: shared bases, equal loads that fit the tub, scoops and water.
//!
//! What the batches of one recipe have in common is mixed once and divided; each batch
//! then gets what it alone holds. Doses go into the base only where every batch gets
//! exactly its own by it, and never where a batch is sieved: doses come after the sieve.
//! What serves only some crops goes in after the others have drawn their share.

mod base;
mod bench;
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

use super::Batch;
use crate::catalogue::{Catalogue, IngredientId};
use crate::stock::Stuff;
use crate::units::Volume;
use crate::week::RecipeId;
use bench::{Bench, held};
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
    /// What the loads measure in of ingredients alone.
    #[must_use]
    pub fn measured_loose(&self) -> Vec<(IngredientId, Volume)> {
        let mut sums: Vec<(IngredientId, Volume)> = Vec::new();
        for loads in self.all_loads() {
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

    fn all_loads(&self) -> impl Iterator<Item = &Loads> {
        let bases = self.bases.iter().map(|base| &base.loads);
        bases.chain(self.batches.iter().filter_map(|batch| batch.loads.as_ref()))
    }

    /// What the loads take altogether: ingredients, and doses by weight and by measure;
    /// the need, and what the rounding to scoops adds.
    #[must_use]
    pub fn measured(&self) -> Vec<(IngredientId, Stuff)> {
        let mut sums: Vec<(IngredientId, Stuff)> = Vec::new();
        let mut add = |ingredient: IngredientId, amount: Stuff| {
            let same = sums.iter_mut().find(|(id, sum)| *id == ingredient && sum.is_like(amount));
            match same {
                Some((_, sum)) => *sum = sum.of_size(sum.size() + amount.size()),
                None => sums.push((ingredient, amount)),
            }
        };
        for (ingredient, loose) in self.measured_loose() {
            add(ingredient, Stuff::Volume(loose));
        }
        for loads in self.all_loads() {
            let count = loads.count as f64;
            for dose in &loads.load.doses {
                let each = Stuff::from(dose.amount);
                add(dose.ingredient, each.of_size(each.size() * count));
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
    let order = steps::order(&bases, &batches_made, |index| batches[index].serves_some(catalogue));
    Mixing { vessels, bases, batches: batches_made, order }
}
