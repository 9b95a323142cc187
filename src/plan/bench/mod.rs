//! The mixing day: shared bases, equal loads that fit the tub, scoops and water.
//!
//! What the batches of one recipe have in common is mixed once and divided; each batch
//! then gets what it alone holds. Doses go into the base only where every batch gets
//! exactly its own by it, and never where a batch is sieved: doses come after the sieve.
//! What serves only some crops goes in after the others have drawn their share.

mod base;
mod loads;
mod make;
mod moisture;
mod order;
mod scoops;

pub use base::{SharedBase, largest_base};
pub use loads::{FREE_SHARE, FromBase, Load, Loads, Measure, TooCoarse, Vessels};
pub use moisture::{LIFT_KG, MoistWeight, Moistening, MoistureRange, WANTED, WANTED_OF_COIR, water_of_dry};
pub use order::Work;
pub use scoops::{LoadShare, QUARTERS, TOLERANCE, quarter_scoops};

use super::Batch;
use crate::catalogue::{Handle, Ingredient};
use crate::coir::WaterHeld;
use crate::units::{Quantity, Tally, Volume, in_litres, to_litres};
use crate::week::RecipeId;
use make::{Bench, Sharing};
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
    pub ingredients: Vec<(Handle<Ingredient>, Volume)>,
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

impl Base {
    /// Blended volume made.
    pub fn made(&self) -> Volume {
        self.made_loose * self.kept
    }

    /// Whether a batch is the last to draw on it, and takes the rest.
    pub fn is_last(&self, batch: usize) -> bool {
        self.draws.last().is_some_and(|draw| draw.batch == batch)
    }
}

/// What one batch draws from a base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draw {
    /// Index of the batch.
    pub batch: usize,
    /// The volume drawn, loose and blended.
    pub amount: FromBase,
    /// Its share of the base.
    pub share: f64,
}

/// How a batch is made.
#[derive(Clone, Debug, Default)]
pub struct BatchMixing {
    /// Index of the base it draws from.
    pub base: Option<usize>,
    /// Loose volume that it holds of the base, exactly.
    pub from_base: Volume,
    /// The loose volumes that it needs in addition to the base, exactly.
    pub additions: Vec<(Handle<Ingredient>, Volume)>,
    /// What goes into the tub for it; `None` where it is ready when drawn.
    pub loads: Option<Loads>,
    /// Finished mix made.
    pub made: Volume,
    /// Made beyond the need: what the rounding to scoops adds.
    pub over: Volume,
    /// A finer scoop, where the one at hand is too coarse.
    pub too_coarse: Option<TooCoarse>,
}

impl BatchMixing {
    /// Whether it makes so much more than needed, half a hundredth of a litre, that it shows.
    pub fn makes_more(&self) -> bool {
        to_litres(self.over) >= 0.005
    }
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
    /// Every mix that goes into the tub, with its loads and a finer scoop where one is wanted.
    pub(super) fn all(&self) -> impl Iterator<Item = (MixRef, Option<&Loads>, Option<TooCoarse>)> {
        let bases = self.bases.iter().enumerate();
        let bases = bases.map(|(index, base)| (MixRef::Base(index), Some(&base.loads), base.too_coarse));
        let batches = self.batches.iter().enumerate();
        bases.chain(batches.map(|(index, batch)| (MixRef::Batch(index), batch.loads.as_ref(), batch.too_coarse)))
    }

    /// What the loads measure in of ingredients alone.
    pub fn measured_loose(&self) -> Tally<Handle<Ingredient>, Volume> {
        let measures = self.all().filter_map(|(_, loads, _)| loads).flat_map(|loads| {
            let count = loads.count as f64;
            loads.load.measures.iter().map(move |measure| (measure.ingredient.clone(), measure.loose * count))
        });
        measures.collect()
    }

    /// What the loads take altogether: ingredients, and doses by weight and by measure;
    /// the need, and what the rounding to scoops adds.
    pub fn measured(&self) -> Tally<Handle<Ingredient>, Quantity> {
        let measures = self.measured_loose().into_iter().map(|(id, loose)| (id, Quantity::Volume(loose)));
        let doses = self.all().filter_map(|(_, loads, _)| loads).flat_map(|loads| {
            let count = loads.count as f64;
            loads.load.doses.iter().map(move |dose| (dose.ingredient.clone(), dose.amount.times(count)))
        });
        measures.chain(doses).collect()
    }
}

/// Works out how the batches are made.
pub(super) fn mixing(batches: &[Batch], vessels: Vessels, coir: WaterHeld) -> Mixing {
    let bench = Bench { batches, vessels, coir };
    let mut groups: BTreeMap<RecipeId, Vec<usize>> = BTreeMap::new();
    // What is at hand altogether is not mixed.
    for (index, batch) in batches.iter().enumerate().filter(|(_, batch)| batch.volumes.loose > in_litres(0.0)) {
        groups.entry(batch.recipe).or_default().push(index);
    }
    let mut looked_at = 0;
    let mut bases = Vec::new();
    let mut made: Vec<Option<BatchMixing>> = vec![None; batches.len()];
    for (recipe, members) in groups {
        let Some((shared, base)) = bench.base(recipe, &members, &mut looked_at) else {
            members.iter().for_each(|index| made[*index] = Some(bench.batch(*index, None)));
            continue;
        };
        for draw in &base.draws {
            let place = members.partition_point(|member| *member < draw.batch);
            let (taken, additions) = (shared.taken[place], &shared.additions[place]);
            let sharing = Sharing { base: (bases.len(), &base), taken, additions, drawn: draw.amount };
            made[draw.batch] = Some(bench.batch(draw.batch, Some(&sharing)));
        }
        bases.push(base);
    }
    let batches_made: Vec<BatchMixing> = made.into_iter().map(Option::unwrap_or_default).collect();
    let order = order::order(&bases, &batches_made, |index| batches[index].serves_some());
    Mixing { vessels, bases, batches: batches_made, order }
}
