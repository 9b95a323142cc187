//! The week's plan: cells, trays, batches and their amounts. Pure computation.

mod batch;
mod buying;
mod calendar;
mod cells;
mod choices;
mod covering;
mod filling;
mod mixing;
mod note;
mod notes;
mod packages;
mod soaking;
mod sowings;
mod trays;
mod volumes;

pub use batch::{Batch, DoseAmount, Dosed, Omission, PartAmount, Saved, TopLayer};
pub use buying::{Alternative, Buy, Chosen, Filled, Need, Per, PurchaseLine, Purchases, ReadyMade, line, needs};
pub use calendar::{Entry, Task};
pub use cells::{cells_for, chance_of, chance_per_cell};
pub use covering::{AreaFrom, Covering, Layer, depth_over, rim_area};
pub use filling::{FillLine, Filling, WeekFilling, WeekLine, filling, uses, week_filling};
pub use mixing::{
    Base, BatchMixing, Draw, FREEBOARD, FromBase, LIFT_KG, Load, LoadDose, Loads, Measure, MixRef, Mixing, Moistening,
    QUARTERS, SharedBase, TOLERANCE, Target, TooCoarse, Vessels, WANTED, Wanted, Work, largest_base, quarter_scoops,
    water_for,
};
pub use note::{DoseLimit, Note, Warning};
pub use packages::{Choice, Kind, MOST_STEPS, choose};
pub use soaking::Soaking;
pub use sowings::{Germination, SowingPlan, TrayMap, TrayPortion};
pub use trays::{Portion, TrayRows, arrange};
pub use volumes::{Chain, of_cells, settled};

use crate::catalogue::{Catalogue, CropId, IngredientId, TrayId};
use crate::diagnostic::{Code, Problem, Problems, Rejected};
use crate::moment::Moment;
use crate::recipe::MixFault;
use crate::stock::{Stock, Stuff};
use crate::units::{Mass, Volume, in_litres, to_litres};
use crate::week::{Allowances, Loaded, Place, RecipeId, Week};
use batch::{Found, Sorted, Sorter, VariantKey};
use jiff::Timestamp;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// Sowings beyond this are listed together in print.
pub(crate) const LISTED: usize = 200;

/// What to fill, what to mix, and what to know.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The week's name; the recipe's for a single mix.
    pub title: String,
    /// When the mix must be ready.
    pub mix_on: Option<Moment>,
    /// The allowances used.
    pub allowances: Allowances,
    /// The sowings, in the order of the file.
    pub sowings: Vec<SowingPlan>,
    /// Trays and pots to fill, by kind.
    pub trays: Vec<(TrayId, u64)>,
    /// Trays that hold more than one crop or a part of one, row by row.
    pub maps: Vec<TrayMap>,
    /// The batches, those without inoculant first within their recipe.
    pub batches: Vec<Batch>,
    /// How the batches are made.
    pub mixing: Mixing,
    /// Covering material, beside the mix.
    pub covering: Vec<Covering>,
    /// Sums over the batches.
    pub totals: Totals,
    /// The soak of the coir, if the mix holds any.
    pub soak: Option<Soaking>,
    /// What to do when, in order of time.
    pub calendar: Vec<Entry>,
    /// What to buy; `None` only while the plan is being made.
    pub purchases: Option<Purchases>,
    /// What to know.
    pub notes: Vec<Note>,
    /// What to take care of.
    pub warnings: Vec<Warning>,
    /// Cautions by their key, with the ingredients that call for them; those that hold
    /// for every mix come first, without any.
    pub cautions: Vec<(String, Vec<IngredientId>)>,
}

/// Something taken beside the reckoned mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beside {
    /// What.
    pub ingredient: IngredientId,
    /// How much.
    pub amount: Stuff,
    /// What for.
    pub why: BesideWhy,
}

/// What something is taken for beside the reckoned mix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BesideWhy {
    /// Scoops are rounded so that no batch comes out short.
    Scoops,
    /// Seed is covered.
    Covering,
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
    pub ingredients: Vec<(IngredientId, Volume)>,
    /// Doses by weight and by measure.
    pub doses: Vec<DoseTotal>,
}

/// The sum of one dose over the batches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoseTotal {
    /// What.
    pub ingredient: IngredientId,
    /// By weight.
    pub mass: Option<Mass>,
    /// By measure.
    pub measure: Option<Volume>,
}

impl Plan {
    /// The mixes alone: neither sowings nor trays, and nothing said of them yet.
    fn of_batches(batches: Vec<Batch>, totals: Totals, week: &Week, catalogue: &Catalogue) -> Self {
        Self {
            mixing: mixing::mixing(&batches, Vessels { tub: week.tub, scoop: week.scoop }, catalogue),
            title: week.name.clone(),
            mix_on: None,
            allowances: week.allowances,
            sowings: Vec::new(),
            trays: Vec::new(),
            maps: Vec::new(),
            batches,
            totals,
            covering: Vec::new(),
            soak: None,
            calendar: Vec::new(),
            purchases: None,
            notes: Vec::new(),
            warnings: Vec::new(),
            cautions: Vec::new(),
        }
    }

    /// What is taken beside the reckoned mix: what measuring by the scoop adds, to the
    /// doses too, and covering material.
    #[must_use]
    pub fn beside(&self) -> Vec<Beside> {
        beside(&self.totals, &self.mixing, &self.covering)
    }

    /// Warns if the first thing that must be done lies in the past.
    pub fn heed_clock(&mut self, now: Timestamp) {
        let first = self.calendar.iter().find(|entry| !entry.task.is_optional());
        if let Some(first) = first.filter(|first| first.at.timestamp() < now) {
            self.warnings.push(Warning::Late(first.at.clone()));
        }
    }
}

/// What measuring by the scoop adds to the reckoned totals, and covering material.
fn beside(totals: &Totals, mixing: &Mixing, covering: &[Covering]) -> Vec<Beside> {
    let mut reckoned = buying::reckoned(totals);
    // What is left of the measured amounts when the reckoned ones are taken off.
    let scooped = mixing.measured().into_iter().filter_map(|(ingredient, amount)| {
        let same = reckoned.iter_mut().find(|need| need.ingredient == ingredient && need.amount.is_like(amount))?;
        let more = amount.size() - same.amount.size();
        // Less than a thousandth is no scoop but a sum in another order.
        (more > 1e-3).then(|| Beside { ingredient, amount: amount.of_size(more), why: BesideWhy::Scoops })
    });
    let covering = covering.iter().map(|covering| Beside {
        ingredient: covering.ingredient,
        amount: Stuff::Volume(covering.loose),
        why: BesideWhy::Covering,
    });
    scooped.chain(covering).collect()
}

/// Plans a week.
///
/// # Errors
/// [`Rejected`] for sowings that cannot be worked out: too many cells, nothing left of
/// a mix.
pub fn plan(loaded: &Loaded) -> Result<Plan, Rejected> {
    let (week, catalogue) = (&loaded.week, &loaded.catalogue);
    let mut faults = Faults::default();
    let mut sorter = Sorter::new(week, catalogue, &week.wanted);
    let mut batch_of = Vec::with_capacity(week.sowings.len());
    let mut tops = Vec::with_capacity(week.sowings.len());
    for sowing in &week.sowings {
        let sorted = sorter.batch_of(VariantKey::of(sowing)).unwrap_or_else(|fault| {
            faults.push(&sowing.place, fault.to_string(), "a mix with at least one part");
            Sorted { batch: 0, top: None }
        });
        batch_of.push(sorted.batch);
        tops.push(sorted.top);
    }
    let cells = sowings::cells(week, catalogue, &mut faults);
    faults.settle()?;
    let found = std::mem::take(&mut sorter.found);
    let order = in_bench_order(&found, week, &week.wanted, catalogue);
    let rank = ranks(&order);
    for batch in &mut batch_of {
        *batch = rank[*batch];
    }
    let laid = sowings::lay_out(week, catalogue, &cells, &batch_of);
    let sums = sowings::batch_volumes(week, catalogue, &laid, &tops, order.len());
    let cells_of = cells_by_variant(week, &laid.sowings);
    let mut batches: Vec<Batch> = order
        .iter()
        .zip(&sums)
        .map(|(index, sums)| {
            let found = &found[*index];
            let sieved = found.composition.sieve.is_some();
            let chain = Chain::from_cells(sums.cells, sums.settled, &week.allowances, sieved, found.composition.yield_);
            let name = batch::name(found, week.recipe(found.recipe), &week.wanted, catalogue);
            batch::measure(found, name, chain, sums.tops.clone(), |variants| {
                let settled = settled_of(variants, &cells_of, week, catalogue);
                if settled < sums.settled { to_litres(settled) / to_litres(sums.settled) } else { 1.0 }
            })
        })
        .collect();
    make_names_unique(&mut batches);
    let totals = totals(&batches, &laid.trays, catalogue);
    let mut plan = Plan {
        covering: covering::covering(week, &laid.sowings, catalogue),
        mix_on: week.mix_on.clone(),
        sowings: laid.sowings,
        trays: laid.trays,
        maps: laid.maps,
        ..Plan::of_batches(batches, totals, week, catalogue)
    };
    buy(&mut plan, loaded);
    match soaking::soaking(&plan, week, catalogue) {
        Some(Ok(soaking)) => plan.soak = Some(soaking),
        Some(Err(error)) => plan.warnings.push(Warning::SoakFails(error)),
        None => {}
    }
    plan.calendar = calendar::calendar(&plan, week, catalogue);
    notes::add(&mut plan, loaded, laid.beyond_sown);
    mixing::add_remarks(&mut plan, catalogue);
    Ok(plan)
}

/// Plans one volume of the first recipe's mix, for the crop of the first sowing or for
/// any host.
///
/// # Errors
/// [`MixFault`] if nothing is left of the mix.
pub fn plan_volume(loaded: &Loaded, crop: Option<CropId>, mix: Volume) -> Result<Plan, MixFault> {
    let (week, catalogue) = (&loaded.week, &loaded.catalogue);
    let mut sorter = Sorter::new(week, catalogue, &week.wanted);
    let batch = sorter.batch_of(VariantKey { recipe: RecipeId(0), crop, tray: None, inoculant: None })?;
    let found = &sorter.found[batch.batch];
    let sieved = found.composition.sieve.is_some();
    let chain = Chain::from_mix(mix, &week.allowances, sieved, found.composition.yield_);
    let name = batch::name(found, week.recipe(RecipeId(0)), &week.wanted, catalogue);
    let batches = vec![batch::measure(found, name, chain, Vec::new(), |_| 1.0)];
    let totals = Totals { cells: None, ..totals(&batches, &[], catalogue) };
    let mut plan = Plan::of_batches(batches, totals, week, catalogue);
    notes::add_for_mix(&mut plan, loaded, crop.is_none());
    mixing::add_remarks(&mut plan, catalogue);
    buy(&mut plan, loaded);
    Ok(plan)
}

/// What to buy, against the week's stock file or the packages that ship.
fn buy(plan: &mut Plan, loaded: &Loaded) {
    let shipped = loaded.week.stock.is_none().then(|| Stock::empty(&loaded.catalogue));
    let Some(stock) = loaded.week.stock.as_ref().or(shipped.as_ref()) else { return };
    plan.purchases = Some(to_buy(plan, loaded, stock));
}

/// What to buy for a plan against some stock, the coir in the bricks or blocks that its
/// soak is for.
#[must_use]
pub fn to_buy(plan: &Plan, loaded: &Loaded, stock: &Stock) -> Purchases {
    let soaked = loaded.catalogue.coir().zip(loaded.week.soak.as_ref().filter(|soak| soak.product_said));
    match soaked {
        Some((coir, soak)) => buying::purchases(plan, loaded, &stock.sold_as(coir, &soak.product.label)),
        None => buying::purchases(plan, loaded, stock),
    }
}

/// The cells that the sowings of each variant fill.
fn cells_by_variant(week: &Week, sowings: &[SowingPlan]) -> HashMap<VariantKey, u64> {
    let mut cells = HashMap::new();
    for plan in sowings {
        *cells.entry(VariantKey::of(&week.sowings[plan.sowing])).or_default() += plan.cells_filled;
    }
    cells
}

/// The mix that the cells of some variants take.
fn settled_of(
    variants: &[VariantKey],
    cells_of: &HashMap<VariantKey, u64>,
    week: &Week,
    catalogue: &Catalogue,
) -> Volume {
    let mut filled: BTreeMap<TrayId, u64> = BTreeMap::new();
    for variant in variants {
        if let (Some(tray), Some(cells)) = (variant.tray, cells_of.get(variant)) {
            *filled.entry(tray).or_default() += cells;
        }
    }
    sowings::volumes_of(&filled, week, catalogue).1
}

/// Batches by recipe, those without inoculant first, then by what differs.
fn in_bench_order(found: &[Found], week: &Week, wanted: &[IngredientId], catalogue: &Catalogue) -> Vec<usize> {
    let mut order: Vec<usize> = (0..found.len()).collect();
    order.sort_by_cached_key(|index| {
        let batch = &found[*index];
        let served = batch::served(&batch.composition, catalogue).next().is_some();
        let recipe = week.recipe(batch.recipe);
        (recipe.name.clone(), served, batch::name(batch, recipe, wanted, catalogue))
    });
    order
}

fn ranks(order: &[usize]) -> Vec<usize> {
    let mut rank = vec![0; order.len()];
    for (place, index) in order.iter().enumerate() {
        rank[*index] = place;
    }
    rank
}

/// Two batches that differ only in what their names leave out get numbers.
fn make_names_unique(batches: &mut [Batch]) {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for batch in batches {
        let count = seen.entry(batch.name.clone()).or_default();
        *count += 1;
        if *count > 1 {
            batch.name = format!("{} ({count})", batch.name);
        }
    }
}

fn totals(batches: &[Batch], trays: &[(TrayId, u64)], catalogue: &Catalogue) -> Totals {
    let count =
        |pots: bool| trays.iter().filter(|(tray, _)| catalogue.tray(*tray).pot == pots).map(|(_, count)| count).sum();
    let zero = in_litres(0.0);
    let mut totals = Totals {
        trays: count(false),
        pots: count(true),
        cells: batches
            .iter()
            .map(|batch| batch.chain.cells)
            .try_fold(zero, |sum, cells| cells.map(|cells| sum + cells)),
        mix: batches.iter().fold(zero, |sum, batch| sum + batch.chain.mix),
        ingredients: Vec::new(),
        doses: Vec::new(),
    };
    for batch in batches {
        for part in &batch.ingredients {
            match totals.ingredients.iter_mut().find(|(id, _)| *id == part.ingredient) {
                Some((_, loose)) => *loose += part.loose,
                None => totals.ingredients.push((part.ingredient, part.loose)),
            }
        }
        for dose in &batch.doses {
            let known = totals.doses.iter().position(|total| total.ingredient == dose.ingredient);
            let index = known.unwrap_or_else(|| {
                totals.doses.push(DoseTotal { ingredient: dose.ingredient, mass: None, measure: None });
                totals.doses.len() - 1
            });
            let total = &mut totals.doses[index];
            match dose.amount {
                Dosed::Mass(mass) => total.mass = Some(total.mass.map_or(mass, |sum| sum + mass)),
                Dosed::Measure(measure, _) => {
                    total.measure = Some(total.measure.map_or(measure, |sum| sum + measure));
                }
            }
        }
    }
    totals
}

/// Faults of sowings, each at its place.
#[derive(Default)]
pub(crate) struct Faults(Vec<(Place, Problem)>);

impl Faults {
    fn push(&mut self, place: &Place, what: String, expected: &str) {
        self.0.push((place.clone(), Problem::new(Code::Sowing, place.span, what, expected)));
    }

    fn settle(self) -> Result<(), Rejected> {
        let mut files: Vec<Problems> = Vec::new();
        for (place, problem) in self.0 {
            let known = files.iter().position(|file| Arc::ptr_eq(file.source(), &place.source));
            let index = known.unwrap_or_else(|| {
                files.push(Problems::new(place.source));
                files.len() - 1
            });
            files[index].push(problem);
        }
        let rejected = files.into_iter().filter_map(|problems| problems.settle(None::<()>).err());
        match rejected.reduce(Rejected::and) {
            None => Ok(()),
            Some(rejected) => Err(rejected),
        }
    }
}
