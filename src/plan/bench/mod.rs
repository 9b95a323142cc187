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
pub use loads::{FREE_SHARE, FromBase, Load, LoadDose, Loads, Measure, TooCoarse, Vessels};
pub use moisture::{LIFT_KG, Moistening, Target, WANTED, water_for};
pub use order::Work;
pub use scoops::{QUARTERS, TOLERANCE, Wanted, quarter_scoops};

use super::Batch;
use crate::catalogue::{Handle, Ingredient};
use crate::units::{Quantity, Tally, Volume, serial, to_litres};
use crate::week::RecipeId;
use make::{Bench, held};
use serde::{Serialize, Serializer};
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
#[derive(Clone, Debug, Serialize)]
pub struct Base {
    /// The recipe.
    #[serde(skip)]
    pub recipe: RecipeId,
    /// Its ingredients as needed, exactly.
    #[serde(serialize_with = "serial::loose")]
    pub ingredients: Vec<(Handle<Ingredient>, Volume)>,
    /// Loose volume needed.
    #[serde(rename = "loose_l")]
    pub loose: Volume,
    /// How it is made.
    #[serde(serialize_with = "one")]
    pub loads: Loads,
    /// Loose volume made.
    #[serde(rename = "made_loose_l")]
    pub made_loose: Volume,
    /// Mix kept after blending, by the yields of its batches.
    #[serde(skip)]
    pub kept: f64,
    /// Who draws how much, in order; the last takes the rest.
    #[serde(skip)]
    pub draws: Vec<Draw>,
    /// A finer scoop, where the one at hand is too coarse.
    #[serde(skip)]
    pub too_coarse: Option<TooCoarse>,
}

fn one<S: Serializer>(loads: &Loads, serializer: S) -> Result<S::Ok, S::Error> {
    [loads].serialize(serializer)
}

impl Base {
    /// Blended volume made.
    #[must_use]
    pub fn made(&self) -> Volume {
        self.made_loose * self.kept
    }

    /// Whether a batch is the last to draw on it, and takes the rest.
    #[must_use]
    pub fn is_last(&self, batch: usize) -> bool {
        self.draws.last().is_some_and(|draw| draw.batch == batch)
    }
}

/// What one batch draws from a base.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Draw {
    /// Index of the batch.
    #[serde(skip)]
    pub batch: usize,
    /// How much.
    #[serde(flatten)]
    pub amount: FromBase,
    /// Its share of the base.
    pub share: f64,
}

/// How a batch is made.
#[derive(Clone, Debug, Serialize)]
pub struct BatchMixing {
    /// Index of the base it draws from.
    #[serde(skip)]
    pub base: Option<usize>,
    /// Loose volume that it holds of the base, exactly.
    #[serde(rename = "from_base_l")]
    pub from_base: Volume,
    /// What it holds beside the base, exactly.
    #[serde(serialize_with = "serial::loose")]
    pub additions: Vec<(Handle<Ingredient>, Volume)>,
    /// What goes into the tub for it; `None` where it is ready when drawn.
    #[serde(serialize_with = "serial::list")]
    pub loads: Option<Loads>,
    /// Finished mix made.
    #[serde(rename = "made_l")]
    pub made: Volume,
    /// Made beyond the need: what the rounding to scoops adds.
    #[serde(rename = "over_l")]
    pub over: Volume,
    /// A finer scoop, where the one at hand is too coarse.
    #[serde(skip)]
    pub too_coarse: Option<TooCoarse>,
}

impl BatchMixing {
    /// Whether it makes so much more than needed, half a hundredth of a litre, that it shows.
    #[must_use]
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
    fn all_loads(&self) -> impl Iterator<Item = &Loads> + Clone {
        let bases = self.bases.iter().map(|base| &base.loads);
        bases.chain(self.batches.iter().filter_map(|batch| batch.loads.as_ref()))
    }

    /// What the loads measure in of ingredients alone.
    #[must_use]
    pub fn measured_loose(&self) -> Tally<Handle<Ingredient>, Volume> {
        make::measured(self.all_loads()).0
    }

    /// What the loads take altogether: ingredients, and doses by weight and by measure;
    /// the need, and what the rounding to scoops adds.
    #[must_use]
    pub fn measured(&self) -> Tally<Handle<Ingredient>, Quantity> {
        let (measures, doses) = make::measured(self.all_loads());
        let measures = measures.into_iter().map(|(id, loose)| (id, Quantity::Volume(loose)));
        measures.chain(doses).collect()
    }
}

/// Works out how the batches are made.
pub(super) fn mixing(batches: &[Batch], vessels: Vessels) -> Mixing {
    let bench = Bench { batches, vessels };
    let mut groups: BTreeMap<RecipeId, Vec<usize>> = BTreeMap::new();
    for (index, batch) in batches.iter().enumerate() {
        groups.entry(batch.recipe).or_default().push(index);
    }
    let mut bases = Vec::new();
    let mut made: Vec<Option<BatchMixing>> = vec![None; batches.len()];
    for (recipe, members) in groups {
        let held: Vec<_> = members.iter().map(|index| held(&batches[*index])).collect();
        let Some(shared) = largest_base(&held) else {
            members.iter().for_each(|index| made[*index] = Some(bench.alone(*index)));
            continue;
        };
        let (base, dosed) = bench.base(recipe, &members, &shared);
        for member in members.iter().copied().enumerate() {
            made[member.1] = Some(bench.sharing(member, (bases.len(), &base), &shared, &dosed));
        }
        bases.push(base);
    }
    let batches_made: Vec<BatchMixing> = made.into_iter().flatten().collect();
    let order = order::order(&bases, &batches_made, |index| batches[index].serves_some());
    Mixing { vessels, bases, batches: batches_made, order }
}
