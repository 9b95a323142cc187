//! How the batches of a plan behave: worked out when it is asked for, since a sheet shows what is wrong alone.

use super::bench::{Loads, Moisture};
use super::mix::Batch;
use super::sow::{Half, SowingPlan};
use super::{Deed, Mixes, Plan, Task};
use crate::behaviour::{
    Behaviour, COTYLEDONS_PPM, ENOUGH_AIR, InTray, LEAST_AIR, LEAVES_PPM, MOSTLY_PEAT, NO_AIR, NoCell, NoPh, UNFED_PPM,
    Verdict, of_coir, shape_of,
};
use crate::catalogue::{Frustum, Handle, Ingredient, Role, Spread, Tray};
use crate::coir::SoldAs;
use crate::coir::soak::CoirKind;
use crate::units::mass::kilogram;
use crate::units::{Volume, in_litres};
use crate::week::Week;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// How one batch behaves.
#[derive(Clone, Debug)]
pub struct BatchBehaviour<'p> {
    /// Its mix.
    pub behaviour: Behaviour<'p>,
    /// How it does in each kind of tray that it fills, or why that is not known.
    pub cells: Vec<(&'p Handle<Tray>, Result<InTray, NoCell>)>,
    /// Its water; `None` where that is not known by weight.
    pub moisture: Option<Moisture>,
    /// What a moist load of it weighs, usually and at the most, in kilograms.
    pub load_kg: Option<[f64; 2]>,
    /// What it feeds.
    pub feeding: Feeding<'p>,
}

/// What a batch feeds, and from when on its plants want to be fed.
#[derive(Clone, Debug)]
pub struct Feeding<'p> {
    /// The ingredients that feed.
    pub food: Vec<&'p Handle<Ingredient>>,
    /// The first day on which some plants in it are fed, where it is known.
    pub begins: Option<Date>,
    /// Nothing is sown in it: plants are potted on.
    pub potted_on: bool,
}

impl<'p> Feeding<'p> {
    /// What a batch feeds, whatever the day on which feeding begins.
    pub fn of(batch: &'p Batch) -> Self {
        Self { food: batch.composition.feeding().collect(), begins: None, potted_on: false }
    }
}

impl Feeding<'_> {
    /// The stage at which feeding begins (common practice, no source).
    pub fn stage(&self) -> &'static str {
        match (self.food.is_empty(), self.potted_on) {
            (true, false) => "open cotyledons",
            (false, false) => "first true leaves",
            (true, true) => "about a week after potting on",
            (false, true) => "about two weeks after potting on",
        }
    }

    /// Nitrogen for that stage, mg/L, least and most (from memory).
    pub fn nitrogen_ppm(&self) -> [f64; 2] {
        match (self.potted_on, self.food.is_empty()) {
            (true, _) => LEAVES_PPM,
            (false, true) => UNFED_PPM,
            (false, false) => COTYLEDONS_PPM,
        }
    }
}

/// Something about a batch that its sheet tells.
#[derive(Clone, Debug)]
pub enum Finding {
    /// Seed has too little air in such trays, as it usually is: a share.
    LittleAir(Handle<Tray>, f64),
    /// Seed drowns in such trays, however far the figures are off, or there is as good as no air: the share that is usual.
    Waterlogged(Handle<Tray>, f64),
    /// Its salts, mS/cm, least and most, as far as that is known, are more than seedlings want, and something is sown in it.
    Salty(f64, Option<f64>),
    /// Its recipe does not say what is kept on mixing, and by the sizes of its parts that is at most so much of the loose
    /// volume, less than is counted on.
    ShortYield(f64),
    /// Its pH is outside what seed wants, and its lime was not left out for its crops.
    OffPh {
        /// The least, but beside a dose that makes it more acid.
        least: Option<f64>,
        /// The most.
        most: f64,
        /// It holds lime.
        is_limed: bool,
        /// It holds castings or compost.
        is_rich: bool,
    },
    /// It is mostly raw peat without lime, not left out for its crops, and no trial tells its pH.
    UnlimedPeat {
        /// The share of the loose volume that is raw peat.
        peat: f64,
        /// The share that is castings and compost.
        rich: f64,
        /// Why no trial tells.
        why: NoPh,
    },
    /// The lime for the pH that its recipe wants.
    Lime {
        /// The pH.
        ph: f64,
        /// Grams for a loose litre of raw peat, or why no trial tells.
        lime: Result<Spread, NoPh>,
        /// Its raw peat.
        peat: Volume,
        /// The recipe doses some lime.
        is_dosed: bool,
        /// The pH that it brings, least and most, where the pH that is wanted lies outside.
        far: Option<[f64; 2]>,
    },
}

impl Plan {
    /// How each batch behaves.
    pub fn behaviour<'p>(&'p self, week: &'p Week) -> impl Iterator<Item = BatchBehaviour<'p>> {
        let (trays, feedings) = (self.mixes.trays_of_batches(week), self.feedings(week));
        let each = self.mixes.batches.iter().zip(trays).zip(feedings).enumerate();
        each.map(move |(index, ((batch, trays), feeding))| {
            let behaviour = behaviour_of(batch, salts_of_coir(batch.half, week), week);
            let cells = trays.into_iter().map(|tray| (tray, behaviour.in_tray(tray)));
            let mixing = &self.mixes.mixing;
            let made = &mixing.batches[index];
            let base = made.base.map(|base| &mixing.bases[base].loads);
            let load_kg =
                |loads: &Loads| loads.load.wet.map(|wet| [wet.about, wet.most].map(|mass| mass.get::<kilogram>()));
            BatchBehaviour {
                cells: cells.collect(),
                moisture: mixing.moisture(batch, week.water_of_coir()),
                load_kg: made.loads.as_ref().or(base).and_then(load_kg),
                feeding,
                behaviour,
            }
        })
    }

    /// What is wrong with the batches, and the lime for a pH that their recipe wants, by their indexes.
    pub fn findings(&self, week: &Week) -> &[(usize, Finding)] {
        self.found.get_or_init(|| self.find(week))
    }

    fn find(&self, week: &Week) -> Vec<(usize, Finding)> {
        let mut findings = Vec::new();
        let sown = self.mixes.layout.of(week).filter(|(_, plan)| plan.cells.seeds.is_some());
        let sown: BTreeSet<usize> = sown.flat_map(|(_, plan)| self.mixes.batches_of(plan)).collect();
        for (index, (batch, trays)) in self.mixes.batches.iter().zip(self.mixes.trays_of_batches(week)).enumerate() {
            let behaviour = behaviour_of(batch, salts_of_coir(batch.half, week), week);
            findings.extend(short_of_air(&behaviour, trays).into_iter().map(|found| (index, found)));
            let is_short = batch.is_mixed() && behaviour.kept < batch.composition.yield_.to_f64() - 1e-9;
            findings.extend(is_short.then_some((index, Finding::ShortYield(behaviour.kept))));
            let salty = behaviour.salty().filter(|_| sown.contains(&index));
            findings.extend(salty.map(|(least, most)| (index, Finding::Salty(least, most))));
            let is_unlimed =
                batch.is_for_acid() || batch.left_out.iter().any(|left_out| left_out.ingredient.is(Role::Lime));
            let is_left_acid = is_unlimed || batch.crops.iter().any(|crop| crop.wants_acid());
            let is_dosed = batch.doses.iter().any(|dose| dose.ingredient.is(Role::Lime));
            let (peat, rich) = (behaviour.raw_peat(), behaviour.rich());
            // Much compost raises the pH as lime does, and so does what is alkaline itself.
            let is_doubtful = !is_left_acid && !is_dosed && peat >= MOSTLY_PEAT && !behaviour.is_made_alkaline();
            let raw = behaviour.ph.err().filter(|why| is_doubtful && *why != NoPh::MuchCompost);
            let raw = raw.map(|why| Finding::UnlimedPeat { peat, rich, why });
            let off = |(least, most)| Finding::OffPh { least, most, is_limed: is_dosed, is_rich: rich > 0.0 };
            let off = behaviour.off_ph().filter(|_| !is_unlimed).map(off);
            let acidity = match week.recipe(batch.recipe).ph.filter(|_| !is_left_acid) {
                None => off.or(raw),
                Some(_) if raw.is_some() => raw,
                Some(ph) if behaviour.is_at_ph(ph) => None,
                Some(ph) => {
                    let peat = batch.ingredients.iter().filter(|part| part.ingredient.is_raw_peat());
                    let peat = peat.fold(in_litres(0.0), |sum, part| sum + part.loose);
                    let far = behaviour.ph.ok().filter(|[least, most]| !(*least..=*most).contains(&ph));
                    Some(Finding::Lime { ph, lime: behaviour.lime_for(ph), peat, is_dosed, far })
                }
            };
            findings.extend(acidity.filter(|_| batch.is_mixed()).map(|found| (index, found)));
        }
        findings
    }

    /// The first day on which a crop is fed, by its name, whether its mix feeds and whether it is potted on.
    pub fn first_feeds(&self) -> BTreeMap<(&str, bool, bool), Date> {
        let mut begins = BTreeMap::new();
        for entry in &self.calendar {
            let Task::Crops { deed: Deed::Feed { fed_mix, potted_on }, crops } = &entry.task else { continue };
            begins.extend(crops.iter().map(|crop| ((&*crop.name, *fed_mix, *potted_on), entry.at.date())));
        }
        begins
    }

    /// What each batch feeds.
    fn feedings<'p>(&'p self, week: &Week) -> Vec<Feeding<'p>> {
        let first = self.first_feeds();
        let mut feedings: Vec<_> = self.mixes.batches.iter().map(Feeding::of).collect();
        let mut is_sown = vec![false; feedings.len()];
        for (sowing, plan) in self.mixes.layout.of(week) {
            let Some(crop) = &sowing.crop else { continue };
            let (batch, potted_on) = (&self.mixes.batches[plan.batch], plan.cells.seeds.is_none());
            let begins = first.get(&(&*crop.name, batch.feeds(), potted_on)).copied();
            for index in self.mixes.batches_of(plan) {
                let feeding = &mut feedings[index];
                feeding.begins = feeding.begins.into_iter().chain(begins).min();
                is_sown[index] |= !potted_on;
                feeding.potted_on = !is_sown[index];
            }
        }
        feedings
    }
}

impl Mixes {
    /// The batches of a sowing, by their indexes: in a trial of coir both halves.
    fn batches_of(&self, plan: &SowingPlan) -> Range<usize> {
        let halves = if self.batches[plan.batch].half.is_some() { 2 } else { 1 };
        plan.batch..plan.batch + halves
    }

    /// The kinds of trays that each batch fills.
    pub(super) fn trays_of_batches<'w>(&'w self, week: &'w Week) -> Vec<BTreeSet<&'w Handle<Tray>>> {
        let mut trays = vec![BTreeSet::new(); self.batches.len()];
        for (sowing, plan) in self.layout.of(week) {
            for of in &mut trays[self.batches_of(plan)] {
                of.insert(&sowing.tray);
            }
        }
        trays
    }
}

/// How a batch behaves, coir having such a conductivity.
pub fn behaviour_of<'p>(batch: &'p Batch, coir: Option<[f64; 2]>, week: &Week) -> Behaviour<'p> {
    Behaviour::of(&batch.composition, coir, week.recipe(batch.recipe).yield_.is_some())
}

/// The trays in which seed has too little air, as it usually is: of those whose depth is from memory, where it is far too
/// little.
fn short_of_air(behaviour: &Behaviour<'_>, trays: BTreeSet<&Handle<Tray>>) -> Vec<Finding> {
    let Ok(pores) = &behaviour.pores else { return Vec::new() };
    let cells = trays.into_iter().filter_map(|tray| Some((tray, shape_of(tray).ok()?)));
    let may_be_short = |(tray, cell): &(&Handle<Tray>, Frustum)| {
        pores.least_air_in(cell) < if tray.is_about() { LEAST_AIR } else { ENOUGH_AIR }
    };
    let cells: Vec<_> = cells.filter(may_be_short).collect();
    if cells.is_empty() {
        return Vec::new();
    }
    let air = pores.air_in(cells.iter().map(|(_, cell)| cell));
    let found = cells.iter().zip(air).filter_map(|((tray, cell), air)| match Verdict::of(air) {
        Verdict::Wet if air < NO_AIR || pores.in_cell(cell).air[2] < LEAST_AIR => {
            Some(Finding::Waterlogged(Handle::clone(tray), air))
        }
        Verdict::Wet => Some(Finding::LittleAir(Handle::clone(tray), air)),
        Verdict::Tight if !tray.is_about() => Some(Finding::LittleAir(Handle::clone(tray), air)),
        _ => None,
    });
    found.collect()
}

/// The conductivity of the coir of a mix, mS/cm: of what a soak is stated for as after its course, or buffered as it was
/// sold, of the straight half of a trial as it was sold; `None` where nothing tells.
pub fn salts_of_coir(half: Option<Half>, week: &Week) -> Option<[f64; 2]> {
    match (half, week.soak.as_ref()?.coir) {
        (Some(Half::Straight), CoirKind::SoldAs(sold_as)) => Some(of_coir(sold_as)),
        (Some(Half::Straight), CoirKind::Measured(_)) => None,
        _ => Some(of_coir(SoldAs::Buffered)),
    }
}
