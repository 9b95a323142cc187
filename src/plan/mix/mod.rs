//! The mixes: what each sowing gets, in batches of equal composition, with their amounts.

mod batch;
mod sorting;
mod volumes;

pub use batch::{Batch, DoseAmount, Omission, PartAmount, TopLayer};
pub use volumes::{Volumes, of_cells};

use super::bench::{Mixing, Vessels, mixing};
use super::covering::{Covering, covering};
use super::sow::{CellCount, Layout, SowingPlan, TrayMap, cells, lay_out};
use super::{Extra, ExtraUse, Faults};
use crate::catalogue::{Crop, Handle, Ingredient};
use crate::diagnostic::Rejected;
use crate::recipe::{MixFault, MixFor, Top};
use crate::units::{Quantity, Tally, Volume, in_litres, to_litres};
use crate::week::{Loaded, RecipeId};
use batch::{BatchFill, measured};
use sorting::{BatchOf, Sorting, VariantKey};

/// What is to be made.
pub(super) enum Demand {
    /// The sowings of the week, with the cells of each.
    Sowings(Vec<CellCount>),
    /// A volume of the first recipe's mix, for a crop or for any host.
    Volume(Volume, Option<Handle<Crop>>),
}

impl Demand {
    /// All that the week sows.
    pub(super) fn of_week(loaded: &Loaded) -> Result<Self, Rejected> {
        let mut faults = Faults::default();
        let cells = cells(&loaded.week, &mut faults);
        faults.settle().map(|()| Self::Sowings(cells))
    }
}

/// What is filled and mixed, for one choice of the ingredients that recipes offer.
#[derive(Clone, Debug)]
pub struct Mixes {
    /// The sowings, in the order of the file.
    pub sowings: Vec<SowingPlan>,
    /// Trays and pots to fill, by kind.
    pub trays: Vec<(Handle<crate::catalogue::Tray>, u64)>,
    /// Trays that hold more than one crop or a part of one, row by row.
    pub maps: Vec<TrayMap>,
    /// What filling whole trays adds to the sown cells.
    pub beyond_sown: Volume,
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
    /// Makes up all that is asked for, with `wanted` where a recipe offers a choice.
    ///
    /// # Errors
    /// [`Rejected`] for sowings of whose mix nothing is left.
    pub(super) fn make(demand: &Demand, wanted: &[Handle<Ingredient>], loaded: &Loaded) -> Result<Self, Rejected> {
        let week = &loaded.week;
        let mut sorting = Sorting::new(week, wanted, &loaded.catalogue);
        let (layout, fills) = match demand {
            Demand::Sowings(cells) => {
                let sorted = of_sowings(&mut sorting, loaded)?;
                let rank = sorting.in_bench_order();
                let batch_of: Vec<usize> = sorted.iter().map(|(batch, _)| rank[*batch]).collect();
                let layout = lay_out(week, cells, &batch_of);
                let tops = sorted.into_iter().map(|(_, top)| top);
                let fills = BatchFill::of_sowings(week, &layout.sowings, tops, rank.len());
                (layout, fills)
            }
            Demand::Volume(mix, crop) => {
                let mix_for = MixFor { crop: crop.as_ref(), ..MixFor::default() };
                sorting.batch_of(VariantKey { recipe: RecipeId(0), mix_for }).map_err(of_command)?;
                let none =
                    Layout { sowings: Vec::new(), trays: Vec::new(), maps: Vec::new(), beyond_sown: in_litres(0.0) };
                (none, vec![BatchFill::of_volume(*mix)])
            }
        };
        let batches = measured(&sorting, &fills);
        let vessels = Vessels { tub: week.tub, scoop: week.scoop };
        Ok(Self {
            mixing: mixing(&batches, vessels),
            covering: covering(&layout.sowings, &loaded.catalogue),
            totals: Totals::of(&batches, &layout),
            batches,
            sowings: layout.sowings,
            trays: layout.trays,
            maps: layout.maps,
            beyond_sown: layout.beyond_sown,
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
        let compositions =
            |mixes: &Self| mixes.batches.iter().map(|batch| batch.composition.clone()).collect::<Vec<_>>();
        let batch_of = |mixes: &Self| mixes.sowings.iter().map(|sowing| sowing.batch).collect::<Vec<_>>();
        compositions(self) == compositions(other) && batch_of(self) == batch_of(other)
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

/// The batch and the top layer of every sowing.
fn of_sowings<'l>(sorting: &mut Sorting<'l>, loaded: &'l Loaded) -> Result<Vec<(usize, Option<Top>)>, Rejected> {
    let mut faults = Faults::default();
    let sorted = loaded.week.sowings.iter().map(|sowing| {
        let BatchOf { batch, top } = sorting.batch_of(VariantKey::of(sowing)).unwrap_or_else(|fault| {
            faults.push(&sowing.place, fault.to_string(), "a mix with at least one part");
            BatchOf { batch: 0, top: None }
        });
        (batch, top)
    });
    let sorted = sorted.collect();
    faults.settle().map(|()| sorted)
}

/// A mix asked for on the command line of which nothing is left.
fn of_command(fault: MixFault) -> Rejected {
    use crate::diagnostic::{Code, Problem};
    Rejected::file("RECIPE", Problem::of_file(Code::Recipe, fault.to_string(), None))
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
