//! What is to be made: the sowings of a week, or a volume of one mix.

use super::sow::{CellCount, cells};
use crate::catalogue::{Crop, Handle, Tray};
use crate::diagnostic::{Code, Problem, Rejected};
use crate::recipe::{MixFor, Work};
use crate::units::Volume;
use crate::week::{Faults, Loaded, RecipeId, Week, small};
use std::collections::HashMap;
use std::sync::Arc;

/// How a sowing's mix is told from another's before it is worked out.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct VariantKey<'l> {
    pub(super) recipe: RecipeId,
    pub(super) mix_for: MixFor<'l>,
    /// The tray whose plugs are potted on.
    pub(super) from: Option<&'l Handle<Tray>>,
}

/// What is to be made.
pub(super) struct Demand<'l> {
    /// The different mixes, each once, in the order of the sowings, before it is known which
    /// come out the same.
    pub(super) variants: Vec<VariantKey<'l>>,
    /// The variant of each sowing; none where a volume is asked for.
    pub(super) variant_of: Vec<u32>,
    /// The cells of each sowing; none where a volume is asked for.
    pub(super) cells: Vec<CellCount>,
    /// The volume of finished mix, where that is asked for.
    pub(super) volume: Option<Volume>,
    /// What is left of it for all the mixes that are compared.
    pub(super) work: Work,
}

impl<'l> Demand<'l> {
    /// All that the week sows.
    pub(super) fn of_week(loaded: &'l Loaded) -> Result<Self, Rejected> {
        let mut faults = Faults::default();
        let cells = cells(&loaded.week, &mut faults);
        faults.settle()?;
        let mut variants = Vec::new();
        let mut known = HashMap::new();
        let variant_of = loaded.week.sowings.iter().map(|sowing| {
            let mix_for = MixFor {
                crop: sowing.crop.as_ref(),
                tray: Some(&sowing.tray),
                inoculant: sowing.inoculant,
                in_plugs: sowing.has_inoculated_plugs(),
            };
            let key = VariantKey { recipe: sowing.recipe, mix_for, from: sowing.from.as_ref() };
            *known.entry(key).or_insert_with(|| {
                variants.push(key);
                small(variants.len() as u64 - 1)
            })
        });
        let variant_of = variant_of.collect();
        Ok(Self { variants, variant_of, cells, volume: None, work: Work::default() })
    }

    /// A volume of the first recipe's mix, for a crop or for any host.
    pub(super) fn of_volume(mix: Volume, crop: Option<&'l Handle<Crop>>) -> Self {
        let variants =
            vec![VariantKey { recipe: RecipeId(0), mix_for: MixFor { crop, ..MixFor::default() }, from: None }];
        Self { variants, variant_of: Vec::new(), cells: Vec::new(), volume: Some(mix), work: Work::default() }
    }

    /// Refuses what takes more work than there is.
    pub(super) fn within_work(&self, week: &Week) -> Result<(), Rejected> {
        let Err(fault) = self.work.left() else { return Ok(()) };
        let (what, expected) = (fault.to_string(), "fewer changes of a recipe, with fewer entries");
        Err(match week.sowings.first().map(|sowing| &sowing.place) {
            Some(place) => {
                Rejected::of(Arc::clone(&place.source), Problem::new(Code::Recipe, place.span(), what, expected))
            }
            None => Rejected::file("RECIPE", Problem::of_file(Code::Recipe, what, None)),
        })
    }

    /// Whether some mix is for no crop by name.
    pub(super) fn lacks_crop(&self) -> bool {
        self.variants.iter().any(|key| key.mix_for.crop.is_none())
    }
}
