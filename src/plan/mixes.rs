//! The one way to make the mixes that are asked for, for one choice of the ingredients that
//! recipes offer: sowings in trays, batches, loads, covering and their sums.

use super::bench::{Mixing, Vessels, mixing};
use super::covering::{Covering, covering};
use super::mix::{Batch, Sorting, VariantKey, Variants, measured, unfilled};
use super::sow::{CellCount, Layout, cells, lay_out};
use super::{Extra, ExtraUse, Faults};
use crate::catalogue::{Crop, Handle, Ingredient};
use crate::diagnostic::{Code, Problem, Rejected};
use crate::recipe::MixFor;
use crate::units::{Quantity, Tally, Volume, in_litres, to_litres};
use crate::week::{Loaded, RecipeId};
use std::sync::Arc;

/// What is to be made.
pub(super) struct Demand<'l> {
    /// The different mixes, before it is known which come out the same.
    variants: Variants<'l>,
    amount: DemandAmount,
}

enum DemandAmount {
    /// The sowings of the week, with the cells of each.
    Sowings(Vec<CellCount>),
    /// A volume of finished mix.
    Volume(Volume),
}

impl<'l> Demand<'l> {
    /// All that the week sows.
    pub(super) fn of_week(loaded: &'l Loaded) -> Result<Self, Rejected> {
        let mut faults = Faults::default();
        let cells = cells(&loaded.week, &mut faults);
        let variants = Variants::of_sowings(&loaded.week.sowings);
        faults.settle().map(|()| Self { variants, amount: DemandAmount::Sowings(cells) })
    }

    /// A volume of the first recipe's mix, for a crop or for any host.
    pub(super) fn of_volume(mix: Volume, crop: Option<&'l Handle<Crop>>) -> Self {
        let mix_for = MixFor { crop, ..MixFor::default() };
        let keys = vec![VariantKey { recipe: RecipeId(0), mix_for }];
        Self { variants: Variants { keys, of_sowing: Vec::new() }, amount: DemandAmount::Volume(mix) }
    }

    /// Whether sowings are to be made, not a volume.
    pub(super) fn is_of_sowings(&self) -> bool {
        matches!(self.amount, DemandAmount::Sowings(_))
    }

    /// Whether some mix is for no crop by name.
    pub(super) fn lacks_crop(&self) -> bool {
        self.variants.keys.iter().any(|key| key.mix_for.crop.is_none())
    }
}

/// What is filled and mixed, for one choice of the ingredients that recipes offer.
#[derive(Clone, Debug)]
pub struct Mixes {
    /// The sowings in their trays; shared with a choice that parts them alike.
    pub layout: Arc<Layout>,
    /// The batches, those without inoculant first within their recipe.
    pub batches: Vec<Batch>,
    /// How the batches are made.
    pub mixing: Mixing,
    /// Covering material, beside the mix.
    pub covering: Vec<Covering>,
    /// Sums over the batches.
    pub totals: Totals,
}

/// Sums over the batches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Totals {
    /// Trays to fill, pots not counted.
    pub trays: u64,
    /// Pots to fill.
    pub pots: u64,
    /// Filled cells; `None` where a volume was asked for.
    pub cells: Option<Volume>,
    /// Finished mix.
    pub mix: Volume,
    /// Loose ingredients.
    pub ingredients: Tally<Handle<Ingredient>, Volume>,
    /// Doses, by weight and by measure.
    pub doses: Tally<Handle<Ingredient>, Quantity>,
}

impl Mixes {
    /// Makes up all that is asked for, with `wanted` where a recipe offers a choice; with the
    /// trays of `known` mixes where the sowings are parted as in these.
    ///
    /// # Errors
    /// [`Rejected`] for sowings of whose mix nothing is left.
    pub(super) fn make(
        demand: &Demand<'_>,
        wanted: &[Handle<Ingredient>],
        loaded: &Loaded,
        known: Option<&Self>,
    ) -> Result<Self, Rejected> {
        let week = &loaded.week;
        let variants = &demand.variants;
        let mut sorting = Sorting::new(week, wanted, &loaded.catalogue);
        let sorted: Vec<_> = variants.keys.iter().enumerate().map(|(index, key)| sorting.sort(index, *key)).collect();
        let mut faults = Faults::default();
        for (sowing, variant) in week.sowings.iter().zip(&variants.of_sowing) {
            if let Err(fault) = sorted[*variant] {
                faults.push(&sowing.place, fault.to_string(), "a mix with at least one part");
            }
        }
        faults.settle()?;
        let sorted = sorted
            .into_iter()
            .collect::<Result<Vec<_>, _>>()
            .map_err(|fault| Rejected::file("RECIPE", Problem::of_file(Code::Recipe, fault.to_string(), None)))?;
        let rank = sorting.in_bench_order();
        let (layout, fills) = match &demand.amount {
            DemandAmount::Sowings(cells) => {
                let batch_of: Vec<usize> =
                    variants.of_sowing.iter().map(|variant| rank[sorted[*variant].batch]).collect();
                let alike = known.filter(|known| known.layout.sowings.iter().map(|s| &s.batch).eq(&batch_of));
                let layout = match alike {
                    Some(known) => Arc::clone(&known.layout),
                    None => Arc::new(lay_out(week, cells, &batch_of)),
                };
                let fills = variants.filled(&sorted, &rank, &layout.sowings);
                (layout, fills)
            }
            DemandAmount::Volume(_) => {
                (known.map(|known| Arc::clone(&known.layout)).unwrap_or_default(), unfilled(rank.len()))
            }
        };
        let volume = match demand.amount {
            DemandAmount::Volume(mix) => Some(mix),
            DemandAmount::Sowings(_) => None,
        };
        let batches = measured(&sorting, &fills, variants, volume);
        Ok(Self {
            mixing: mixing(&batches, Vessels { tub: week.tub, scoop: week.scoop }),
            covering: covering(&layout.sowings, &loaded.catalogue),
            totals: Totals::of(&batches, &layout),
            batches,
            layout,
        })
    }

    /// What measuring by the scoop takes in all of loose ingredients, and how much that is
    /// beyond the need; `None` where the two print alike.
    #[must_use]
    pub fn measured_beyond_need(&self) -> Option<(Volume, Volume)> {
        let measured = self.mixing.measured_loose().iter().fold(in_litres(0.0), |sum, (_, loose)| sum + *loose);
        let more = measured - self.totals.loose();
        (to_litres(more) > 0.05).then_some((measured, more))
    }

    /// Whether every sowing gets the same mix as with another choice.
    pub(super) fn are_alike(&self, other: &Self) -> bool {
        let same = |(one, other): (&Batch, &Batch)| one.composition == other.composition;
        let batches = self.batches.len() == other.batches.len();
        batches && self.batches.iter().zip(&other.batches).all(same) && Arc::ptr_eq(&self.layout, &other.layout)
    }

    /// What is taken beside the computed mix: what measuring by the scoop adds, to the doses
    /// too, and covering material.
    #[must_use]
    pub fn extras(&self) -> Vec<Extra> {
        let mut computed = self.totals.needs();
        // What is left of the measured amounts when the computed ones are taken off.
        let scooped = self.mixing.measured().into_iter().filter_map(|(ingredient, amount)| {
            let same = computed.iter_mut().find(|(id, need)| *id == ingredient && need.is_like(amount))?;
            let more = amount.size() - same.1.size();
            // Less than a thousandth is no scoop but a sum in another order.
            (more > 1e-3).then(|| Extra { ingredient, amount: amount.of_size(more), why: ExtraUse::Scoops })
        });
        let covering = self.covering.iter().map(|covering| Extra {
            ingredient: covering.ingredient.clone(),
            amount: Quantity::Volume(covering.loose),
            why: ExtraUse::Covering,
        });
        scooped.chain(covering).collect()
    }
}

impl Totals {
    fn of(batches: &[Batch], layout: &Layout) -> Self {
        let count = |pots: bool| layout.trays.iter().filter(|(tray, _)| tray.pot == pots).map(|(_, count)| count).sum();
        let zero = in_litres(0.0);
        let parts = batches.iter().flat_map(|batch| &batch.ingredients);
        let doses = batches.iter().flat_map(|batch| &batch.doses);
        Self {
            trays: count(false),
            pots: count(true),
            cells: batches.iter().try_fold(zero, |sum, batch| batch.volumes.cells.map(|cells| sum + cells)),
            mix: batches.iter().fold(zero, |sum, batch| sum + batch.volumes.mix),
            ingredients: parts.map(|part| (part.ingredient.clone(), part.loose)).collect(),
            doses: doses.map(|dose| (dose.ingredient.clone(), dose.amount)).collect(),
        }
    }

    /// What the recipes ask for: every ingredient once by volume and once by weight.
    #[must_use]
    pub(super) fn needs(&self) -> Vec<(Handle<Ingredient>, Quantity)> {
        let parts = self.ingredients.iter().map(|(id, loose)| (id.clone(), Quantity::Volume(*loose)));
        parts.chain(self.doses.iter().cloned()).collect::<Tally<_, _>>().into_iter().collect()
    }

    /// Loose litres for each litre of the cells; `None` where no cells are filled.
    #[must_use]
    pub fn factor(&self) -> Option<f64> {
        let cells = to_litres(self.cells?);
        (cells > 0.0).then(|| to_litres(self.loose()) / cells)
    }

    /// All loose ingredients together.
    #[must_use]
    pub fn loose(&self) -> Volume {
        self.ingredients.iter().fold(in_litres(0.0), |sum, (_, loose)| sum + *loose)
    }
}
