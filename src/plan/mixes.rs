//! The one way to make the mixes that are asked for, for one choice of the ingredients that
//! recipes offer: sowings in trays, batches, loads, covering and their sums.

use super::bench::{Loads, MixRef, Mixing, Scoop, TOLERANCE, Vessels, mixing};
use super::covering::{Covering, covering};
use super::demand::Demand;
use super::mix::{Batch, BatchOf, Sorting, filled, loose_per_cells};
use super::sow::{Half, Layout, SowingPlan, Trial, lay_out};
use crate::catalogue::{Crop, Handle, Ingredient, Role};
use crate::coir::dry_kg_of_loose;
use crate::coir::soak::Soak;
use crate::diagnostic::{Code, Problem, Rejected};
use crate::exact::Fraction;
use crate::stock::{Use, UsedFor, countable, counted};
use crate::units::{Quantity, Tally, Volume, in_litres, to_litres};
use crate::week::{Faults, Loaded, Sowing, Week};
use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZeroU32;
use std::sync::Arc;

/// The most batches of a week.
const MOST_BATCHES: usize = 1000;

/// An ingredient as another catalogue knows it: the own ones of several weeks may differ.
pub type Known<'k> = &'k dyn Fn(&Handle<Ingredient>) -> Handle<Ingredient>;

/// What is filled and mixed, for one choice of the ingredients that recipes offer.
#[derive(Clone, Debug)]
pub struct Mixes {
    /// The sowings in their trays; shared with a choice that parts them alike.
    pub layout: Arc<Layout>,
    /// The batches, those without inoculant first within their recipe.
    pub batches: Vec<Batch>,
    /// Which half of a trial of coir fills what.
    pub trial: Trial,
    /// How the batches are made.
    pub mixing: Mixing,
    /// Covering material, which is no part of a mix.
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
    /// Of this, what is at hand, left over from earlier.
    pub from_stock: Volume,
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
        let mut sorting = Sorting::new(loaded, wanted, &demand.work);
        let sorted = sorting.sort(&demand.variants);
        demand.within_work(week)?;
        let mut faults = Faults::default();
        for (sowing, variant) in week.sowings.iter().zip(&demand.variant_of) {
            if let Err(fault) = sorted[*variant as usize] {
                faults.push(&sowing.place, fault.to_string(), "a mix with at least one part");
            }
        }
        faults.settle()?;
        let sorted = sorted
            .into_iter()
            .collect::<Result<Vec<_>, _>>()
            .map_err(|fault| Rejected::file("RECIPE", Problem::of_file(Code::Recipe, fault.to_string(), None)))?;
        let rank = sorting.in_order();
        let mut laid = laid_out(&sorting, (&sorted, &rank), demand, known);
        let too_small = laid.1.too_small(&laid.0);
        if !too_small.is_empty() {
            sorting.keep_whole(&too_small);
            laid = laid_out(&sorting, (&sorted, &rank), demand, known);
        }
        let (layout, trial) = laid;
        let cells = |half| {
            let sowings = (0..).zip(&layout.sowings).map(|(index, plan)| (plan, trial.filled(index, plan, half)));
            filled(demand, &sorted, &rank, sowings)
        };
        let filled = cells(None);
        let halves: Vec<_> =
            Half::BOTH.into_iter().filter(|_| !trial.is_empty()).map(|half| cells(Some(half))).collect();
        let measured = |from_stock| sorting.measured((&filled, &halves), demand.volume, from_stock);
        let batches = measured(true);
        let totals = Totals::of(&batches, &layout);
        let beyond = (batches.len() > MOST_BATCHES)
            .then(|| format!("{} mixes are too many to make: at most {MOST_BATCHES}", batches.len()));
        if let Some(what) = beyond.or_else(|| totals.beyond_reckoning()) {
            return Err(refused(week, &layout, what));
        }
        let vessels = Vessels {
            tub: week.tub,
            scoop: week.scoop.as_ref().map(|scoop| Scoop { volume: scoop.volume, name: None }),
            is_us: week.scoop.as_ref().is_some_and(|scoop| scoop.is_us),
            tolerance: week.tolerance.map_or(TOLERANCE, Fraction::to_f64),
        };
        let made = |batches: &[Batch]| mixing(batches, vessels, (week.water_of_coir(), None));
        let mut mixing = made(&batches);
        // What is at hand changes from day to day, the number of a batch must not.
        if batches.iter().any(|batch| !batch.from_stock.is_empty()) {
            mixing.numbered = made(&measured(false)).numbered;
        }
        Ok(Self { mixing, covering: covering(&layout, loaded), totals, batches, layout, trial })
    }

    /// The sowings of one crop in one kind of tray and one batch together, by the names of crops and trays; their cells
    /// also by the halves of a trial.
    pub fn by_crop<'l>(&'l self, week: &'l Week) -> Vec<CropSum<'l>> {
        let mut sums: BTreeMap<_, CropSum<'l>> = BTreeMap::new();
        for (index, (sowing, plan)) in (0..).zip(self.layout.of(week)) {
            let crop = sowing.crop.as_ref().map(|crop| (&crop.name, crop));
            let none = CropSum { first: sowing, batch: plan.batch, cells: 0, halves: None, seeds: 0 };
            let sum = sums.entry((crop, &sowing.tray.name, plan.batch)).or_insert(none);
            sum.cells += u64::from(plan.cells.cells);
            sum.seeds += u64::from(plan.cells.seeds.map_or(0, NonZeroU32::get));
            if let Some([buffered, straight]) = self.trial.halves(index) {
                let [first, second] = sum.halves.get_or_insert_default();
                *first += buffered.sown;
                *second += straight.sown;
            }
        }
        sums.into_values().collect()
    }

    /// The crops that a trial of coir does not compare: no mix has them in both halves.
    pub(super) fn not_compared(&self, week: &Week) -> BTreeSet<Handle<Crop>> {
        if !week.soak.as_ref().is_some_and(Soak::tries_half) {
            return BTreeSet::new();
        }
        let mut sums: BTreeMap<(&Handle<Crop>, usize), [u64; 2]> = BTreeMap::new();
        for CropSum { first, batch, cells, halves, .. } in self.by_crop(week) {
            let crop = first.crop.as_ref().filter(|_| self.batches[batch].composition.is_of(Role::Coir));
            let of = halves.unwrap_or([cells, 0]);
            let sums = crop.map(|crop| sums.entry((crop, batch)).or_default());
            sums.into_iter().flatten().zip(of).for_each(|(sum, cells)| *sum += cells);
        }
        let compared = sums.iter().filter(|(_, sums)| !sums.contains(&0)).map(|((crop, _), _)| *crop);
        let compared: BTreeSet<&Handle<Crop>> = compared.collect();
        sums.keys().map(|(crop, _)| *crop).filter(|crop| !compared.contains(crop)).cloned().collect()
    }

    /// The numbers of the batches of a mix whose lime is better mixed in ahead.
    pub(super) fn limed_ahead(&self, mix: MixRef) -> Vec<usize> {
        let of = |batch: usize| self.mixing.batches[batch].base.map_or(MixRef::Batch(batch), MixRef::Base);
        self.numbers(|batch| of(batch) == mix && self.batches[batch].limes_raw_peat())
    }

    /// Takes so many dry grams of coir in a loose litre for the water of the loads: those of the package that it comes in.
    pub(super) fn with_coir_of(&mut self, dry_g_per_l: f64, week: &Week) {
        let coir = (week.water_of_coir(), Some(dry_g_per_l));
        let is_usual = (dry_g_per_l / (dry_kg_of_loose(1.0) * 1000.0) - 1.0).abs() < 1e-9;
        if !is_usual && self.coir().is_some() {
            let numbered = std::mem::take(&mut self.mixing.numbered);
            self.mixing = Mixing { numbered, ..mixing(&self.batches, self.mixing.vessels, coir) };
        }
    }

    /// Whether anything is mixed: not all is left over from earlier.
    pub fn are_mixed(&self) -> bool {
        self.batches.iter().any(Batch::is_mixed)
    }

    /// What measuring by the scoop takes in all of loose ingredients, and how much that is
    /// beyond the need; `None` where the two print alike.
    pub fn measured_beyond_need(&self) -> Option<(Volume, Volume)> {
        let measured = self.mixing.measured_loose().iter().fold(in_litres(0.0), |sum, (_, loose)| sum + *loose);
        let more = measured - self.totals.loose();
        (to_litres(more) > 0.05).then_some((measured, more))
    }

    /// The coir that it takes; the first of several.
    pub(super) fn coir(&self) -> Option<&Handle<Ingredient>> {
        self.totals.ingredients.iter().map(|(id, _)| id).find(|id| id.is(Role::Coir))
    }

    /// Whether every sowing gets the same mix as with another choice.
    pub(super) fn are_alike(&self, other: &Self) -> bool {
        let others = other.batches.iter().map(|batch| &batch.composition);
        Arc::ptr_eq(&self.layout, &other.layout) && self.batches.iter().map(|batch| &batch.composition).eq(others)
    }

    /// The numbers of some batches.
    pub fn numbers(&self, is_one: impl Fn(usize) -> bool) -> Vec<usize> {
        (1..).zip(&self.mixing.numbered).filter(|(_, index)| is_one(**index)).map(|(number, _)| number).collect()
    }

    /// The numbers of the batches that a trial of coir leaves whole: too little to be halved, they get soaked coir.
    pub fn kept_whole(&self) -> Vec<usize> {
        self.numbers(|index| {
            let batch = &self.batches[index];
            batch.half.is_none() && batch.is_mixed() && batch.composition.is_of(Role::Coir)
        })
    }

    /// The share of the coir of some weeks that is not soaked: that of the straight half of a trial.
    pub(super) fn straight<'m>(weeks: impl IntoIterator<Item = &'m Self>) -> f64 {
        let coir = weeks.into_iter().flat_map(Self::measured_coir);
        let [all, straight] = coir.fold([0.0; 2], |[all, straight], (_, loose, is_straight)| {
            [all + to_litres(loose), straight + if is_straight { to_litres(loose) } else { 0.0 }]
        });
        if straight == 0.0 || all == 0.0 { 0.0 } else { straight / all }
    }

    /// The coir that the loads measure in, and whether it is only wetted.
    fn measured_coir(&self) -> impl Iterator<Item = (&Handle<Ingredient>, Volume, bool)> {
        let loads = self.mixing.all().filter_map(|(mix, loads, _)| {
            // A base is of one half alone.
            let batch = match mix {
                MixRef::Base(base) => self.mixing.bases[base].draws.first()?.batch,
                MixRef::Batch(batch) => batch,
            };
            Some((loads?, self.batches[batch].is_straight()))
        });
        loads.flat_map(|(Loads { count, load, .. }, is_straight)| {
            let coir = load.measures.iter().filter(|measure| measure.ingredient.is(Role::Coir));
            coir.map(move |measure| (&measure.ingredient, measure.loose * *count as f64, is_straight))
        })
    }

    /// What the two halves of a trial take of coir, and what the loads measure of it.
    fn scooped_halves(&self) -> impl Iterator<Item = Scooped> {
        Half::BOTH.into_iter().filter(|_| !self.trial.is_empty()).flat_map(|half| {
            let is_straight = half == Half::Straight;
            let batches = self.batches.iter().filter(|batch| batch.is_mixed() && batch.is_straight() == is_straight);
            let coir = batches.flat_map(|batch| &batch.ingredients).filter(|part| part.ingredient.is(Role::Coir));
            let needs: Tally<_, _> = coir.map(|part| (part.ingredient.clone(), part.loose)).collect();
            let measured = self.measured_coir().filter(|(.., straight)| *straight == is_straight);
            let measured: Tally<_, _> = measured.map(|(id, loose, _)| (id.clone(), loose)).collect();
            needs.into_iter().map(move |(ingredient, need)| Scooped {
                measured: Quantity::Volume(measured.get(&ingredient).unwrap_or_default()),
                need: Quantity::Volume(need),
                ingredient,
                is_straight,
            })
        })
    }

    /// What recipes ask for that loads measure otherwise, with what they measure: a scoop is rounded up or, for one part
    /// of a mix that is whole, down.
    pub(super) fn scooped(&self) -> Vec<Scooped> {
        let computed: Tally<_, _> = self.totals.amounts(&[]).collect();
        let is_halved = |id: &Handle<Ingredient>| id.is(Role::Coir) && !self.trial.is_empty();
        let whole = self.mixing.measured().into_iter().filter(|(id, _)| !is_halved(id));
        let whole = whole.filter_map(|(ingredient, measured)| {
            let mut needs = computed.iter().filter(|(known, need)| *known == ingredient && need.is_like(measured));
            needs.next().map(|(_, need)| Scooped { ingredient, need: *need, measured, is_straight: false })
        });
        // Less than a thousandth is no scoop but a sum in another order.
        whole.chain(self.scooped_halves()).filter(|one| one.more().abs() > 1e-3).collect()
    }

    /// What is taken in addition to the computed mix: what measuring by the scoop adds, to the doses
    /// too, less than nothing where it saves some, and covering material.
    pub fn extras(&self) -> Vec<Use> {
        let scooped = self.scooped().into_iter().map(|one| {
            let more = one.need.of_size(one.more());
            Use { straight: f64::from(one.is_straight), ..Use::new(UsedFor::Scoops, &one.ingredient, more) }
        });
        let layers = self.covering.iter();
        let covering =
            layers.map(|layer| Use::new(UsedFor::Covering, &layer.ingredient, Quantity::Volume(layer.loose)));
        scooped.chain(covering).collect()
    }
}

/// What recipes ask for of an ingredient, and what the loads measure of it.
pub(super) struct Scooped {
    pub ingredient: Handle<Ingredient>,
    pub need: Quantity,
    pub measured: Quantity,
    /// It is the coir of a trial that is only wetted.
    pub is_straight: bool,
}

impl Scooped {
    /// What measuring adds, in litres or grams.
    fn more(&self) -> f64 {
        self.measured.size() - self.need.size()
    }
}

/// Sowings of one crop in one kind of tray and one batch.
#[derive(Clone, Copy, Debug)]
pub struct CropSum<'l> {
    /// The first of them.
    pub first: &'l Sowing,
    /// Index of the batch, in a trial that of its first half.
    pub batch: usize,
    /// Their cells.
    pub cells: u64,
    /// Those of either half of a trial.
    pub halves: Option<[u64; 2]>,
    /// Their seeds.
    pub seeds: u64,
}

/// The sowings in their trays, those of `known` mixes where they are parted alike, and a trial of their coir.
fn laid_out(
    sorting: &Sorting<'_>,
    (sorted, rank): (&[BatchOf], &[usize]),
    demand: &Demand<'_>,
    known: Option<&Mixes>,
) -> (Arc<Layout>, Trial) {
    let places = sorting.places();
    let of_variant: Vec<usize> = sorted.iter().map(|sorted| places[rank[sorted.batch]]).collect();
    let batch_of = || demand.variant_of.iter().map(|variant| of_variant[*variant as usize]);
    let layout = match known {
        Some(known) if known.layout.sowings.iter().map(|s| s.batch).eq(batch_of()) => Arc::clone(&known.layout),
        _ => Arc::new(lay_out(sorting.week, &demand.cells, batch_of)),
    };
    let trial = Trial::of(&layout, sorting.week, &sorting.tried());
    (layout, trial)
}

/// The refusal of all the sowings together, at the one that fills most.
fn refused(week: &Week, layout: &Layout, what: String) -> Rejected {
    let litres = |(sowing, plan): (&Sowing, &SowingPlan)| to_litres(sowing.tray.volume_of(plan.cells_filled.into()));
    let filled = layout.of(week).map(|row| (litres(row), &row.0.place));
    match filled.max_by(|(one, _), (other, _)| one.total_cmp(other)) {
        Some((_, place)) => {
            let problem = Problem::new(Code::Sowing, place.span(), what, "fewer or smaller trays");
            Rejected::of(Arc::clone(&place.source), problem)
        }
        None => Rejected::file("RECIPE", Problem::of_file(Code::Recipe, what, None)),
    }
}

impl Totals {
    /// The sums of some weeks, their ingredients as another catalogue knows them.
    pub fn of_all<'t>(weeks: impl IntoIterator<Item = &'t Self>, known: Known<'_>) -> Self {
        let none = Self { cells: Some(in_litres(0.0)), ..Self::default() };
        weeks.into_iter().fold(none, |mut sum, more| {
            sum.ingredients.extend(more.ingredients.iter().map(|(id, loose)| (known(id), *loose)));
            sum.doses.extend(more.doses.iter().map(|(id, dose)| (known(id), *dose)));
            Self {
                trays: sum.trays + more.trays,
                pots: sum.pots + more.pots,
                cells: sum.cells.zip(more.cells).map(|(one, other)| one + other),
                mix: sum.mix + more.mix,
                from_stock: sum.from_stock + more.from_stock,
                ..sum
            }
        })
    }

    /// What is asked for in such amounts that packages and loads could no longer be counted exactly.
    fn beyond_reckoning(&self) -> Option<String> {
        let amounts = self.amounts(&[]).map(|(id, amount)| (id.name.clone(), counted(amount, &id)));
        let mut all = amounts.chain([("mix".to_owned(), Quantity::Volume(self.mix))]);
        let (name, most) = all.find_map(|(name, amount)| Some((name, countable(amount).err()?)))?;
        Some(format!("all together would take more than {most} of {name}"))
    }

    fn of(batches: &[Batch], layout: &Layout) -> Self {
        let count = |pots: bool| layout.trays.iter().filter(|(tray, _)| tray.pot == pots).map(|(_, count)| count).sum();
        let zero = in_litres(0.0);
        let mixed = || batches.iter().filter(|batch| batch.is_mixed());
        let parts = mixed().flat_map(|batch| &batch.ingredients);
        let doses = mixed().flat_map(|batch| &batch.doses);
        Self {
            trays: count(false),
            pots: count(true),
            cells: batches.iter().try_fold(zero, |sum, batch| batch.volumes.cells.map(|cells| sum + cells)),
            mix: batches.iter().fold(zero, |sum, batch| sum + batch.volumes.mix),
            from_stock: batches.iter().fold(zero, |sum, batch| sum + batch.volumes.from_stock),
            ingredients: parts.map(|part| (part.ingredient.clone(), part.loose)).collect(),
            doses: doses.map(|dose| (dose.ingredient.clone(), dose.amount)).collect(),
        }
    }

    /// What the recipes ask for, each as they say it, and `extras`: covering that no mix holds
    /// before the doses, what scoops add to these after them.
    pub(super) fn amounts(&self, extras: &[Use]) -> impl Iterator<Item = (Handle<Ingredient>, Quantity)> {
        let is_dose = |used: &&Use| used.purpose == UsedFor::Scoops && self.ingredients.get(&used.ingredient).is_none();
        let (doses, early): (Vec<&Use>, Vec<&Use>) = extras.iter().partition(is_dose);
        let amount = |used: &Use| (used.ingredient.clone(), used.amount);
        let parts = self.ingredients.iter().map(|(id, loose)| (id.clone(), Quantity::Volume(*loose)));
        let doses = self.doses.iter().cloned().chain(doses.into_iter().map(amount));
        parts.chain(early.into_iter().map(amount)).chain(doses)
    }

    /// Loose litres for each litre of the cells; `None` where no cells are filled, or some with mix at hand.
    pub fn factor(&self) -> Option<f64> {
        loose_per_cells(self.loose(), self.cells.filter(|_| self.from_stock <= in_litres(0.0)))
    }

    /// All loose ingredients together.
    pub fn loose(&self) -> Volume {
        self.ingredients.iter().fold(in_litres(0.0), |sum, (_, loose)| sum + *loose)
    }
}
