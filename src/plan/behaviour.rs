//! How the batches of a plan behave: worked out when it is asked for, since a sheet shows what is wrong alone.

use super::bench::{Loads, Moisture};
use super::mix::Batch;
use super::sow::Half;
use super::{Deed, Mixes, Plan, Task};
use crate::behaviour::{Behaviour, COTYLEDONS_PPM, InTray, NoCell, TRAY_KG, UNFED_PPM, Verdict, of_coir, shape_of};
use crate::catalogue::{Crop, Handle, Ingredient, Role, Spread, Status, Tray};
use crate::coir::SoldAs;
use crate::coir::soak::CoirKind;
use crate::units::mass::kilogram;
use crate::week::Week;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// How one batch behaves.
#[derive(Clone, Debug)]
pub struct BatchBehaviour<'p> {
    /// Its mix.
    pub behaviour: Behaviour<'p>,
    /// How it does in each kind of tray that it fills, or why that is not known.
    pub cells: Vec<(&'p Handle<Tray>, Result<InTray<'p>, NoCell>)>,
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
}

impl<'p> Feeding<'p> {
    /// What a batch feeds, whatever the day on which feeding begins.
    pub fn of(batch: &'p Batch) -> Self {
        Self { food: batch.composition.feeding().collect(), begins: None }
    }
}

impl Feeding<'_> {
    /// The stage at which feeding begins (common practice, no source).
    pub fn stage(&self) -> &'static str {
        if self.food.is_empty() { "open cotyledons" } else { "first true leaves" }
    }

    /// Nitrogen for that stage, mg/L, least and most (from memory).
    pub fn nitrogen_ppm(&self) -> [f64; 2] {
        if self.food.is_empty() { UNFED_PPM } else { COTYLEDONS_PPM }
    }
}

/// Something about a batch that its sheet tells.
#[derive(Clone, Copy, Debug)]
pub enum Finding<'p> {
    /// Seed has too little air in such trays, whose depth is known: the share that is usual.
    LittleAir(&'p Handle<Tray>, f64),
    /// Its pH is outside what seed wants, least and most, and its lime was not left out for its crops.
    OffPh([f64; 2]),
    /// The pH that its recipe wants, and the lime for it in grams for a loose litre of raw peat; `None` where no trial tells.
    Lime(f64, Option<Spread>),
}

impl Plan {
    /// How each batch behaves.
    pub fn behaviour<'p>(&'p self, week: &'p Week) -> impl Iterator<Item = BatchBehaviour<'p>> {
        let trays = self.mixes.trays_of_batches(week);
        self.mixes.batches.iter().zip(trays).enumerate().map(move |(index, (batch, trays))| {
            let behaviour = Behaviour::of(&batch.composition, salts_of_coir(batch.half, week));
            let cells = trays.into_iter().map(|tray| (tray, behaviour.in_tray(tray, &[])));
            let mixing = &self.mixes.mixing;
            let made = &mixing.batches[index];
            let base = made.base.map(|base| &mixing.bases[base].loads);
            let load_kg =
                |loads: &Loads| loads.load.wet.map(|wet| [wet.about, wet.most].map(|mass| mass.get::<kilogram>()));
            BatchBehaviour {
                cells: cells.collect(),
                moisture: mixing.moisture(batch, week.water_of_coir()),
                load_kg: made.loads.as_ref().or(base).and_then(load_kg),
                feeding: self.feeding(batch),
                behaviour,
            }
        })
    }

    /// What a shelf of the rack carries with the heaviest trays of the plan on it, watered, in kilograms: where it is stated
    /// what a shelf may carry, as far as the weights are known.
    pub fn shelf_kg(&self, week: &Week) -> Option<Spread> {
        let rack = week.rack.filter(|rack| rack.load.is_some())?;
        let mut heaviest: BTreeMap<&Handle<Tray>, Spread> = BTreeMap::new();
        for (batch, trays) in self.mixes.batches.iter().zip(self.mixes.trays_of_batches(week)) {
            let behaviour = Behaviour::of(&batch.composition, None);
            for tray in trays {
                let Some(kg) = behaviour.in_tray(tray, &[]).ok().and_then(|cell| cell.tray_kg) else { continue };
                let (pots, empty_kg) = tray.per_tray.map_or((1, 0.0), |each| (each, TRAY_KG));
                let kg = kg.map(|kg| kg * pots as f64 + empty_kg);
                let known = heaviest.entry(tray).or_insert(kg);
                *known = if kg[1] > known[1] { kg } else { *known };
            }
        }
        let count =
            |tray| self.mixes.layout.trays.iter().find(|(known, _)| known == tray).map_or(0, |(_, count)| *count);
        let mut trays: Vec<(Spread, u64)> =
            heaviest.into_iter().map(|(tray, kg)| (kg, tray.places(count(tray)).unwrap_or(0))).collect();
        trays.sort_by(|(one, _), (other, _)| other[1].total_cmp(&one[1]));
        let mut room = rack.across;
        let on_shelf = trays.into_iter().map(|(kg, count)| {
            let here = count.min(room);
            room -= here;
            kg.map(|kg| kg * here as f64)
        });
        on_shelf.reduce(|sum, kg| [0, 1, 2].map(|at| sum[at] + kg[at]))
    }

    /// What is wrong with the batches, and the lime for a pH that their recipe wants, by their indexes.
    pub fn findings<'p>(&'p self, week: &'p Week) -> Vec<(usize, Finding<'p>)> {
        let mut findings = Vec::new();
        for (index, (batch, trays)) in self.mixes.batches.iter().zip(self.mixes.trays_of_batches(week)).enumerate() {
            let behaviour = Behaviour::of(&batch.composition, None);
            findings.extend(little_air(&behaviour, trays).into_iter().map(|found| (index, found)));
            // Some crops want it acid.
            let is_acid = !batch.crops.is_empty() && batch.crops.iter().all(|crop| crop.mycorrhiza == Status::Ericoid);
            let is_unlimed = is_acid || batch.left_out.iter().any(|left_out| left_out.ingredient.is(Role::Lime));
            let wanted = week.recipe(batch.recipe).ph.filter(|_| !is_unlimed);
            let acidity = match wanted {
                Some(ph) => Some(Finding::Lime(ph, behaviour.lime_for(ph))),
                None => behaviour.off_ph().filter(|_| !is_unlimed).map(Finding::OffPh),
            };
            findings.extend(acidity.filter(|_| batch.is_mixed()).map(|found| (index, found)));
        }
        findings
    }

    fn feeding<'p>(&'p self, batch: &'p Batch) -> Feeding<'p> {
        let is_of = |crops: &[Handle<Crop>]| crops.iter().any(|crop| batch.crops.iter().any(|of| of.is_same(crop)));
        let feeds = self.calendar.iter().find(|entry| match &entry.task {
            Task::Crops { deed: Deed::Feed { fed_mix, .. }, crops } => *fed_mix == batch.feeds() && is_of(crops),
            _ => false,
        });
        Feeding { begins: feeds.map(|entry| entry.at.date()), ..Feeding::of(batch) }
    }
}

impl Mixes {
    /// The kinds of trays that each batch fills.
    fn trays_of_batches<'w>(&self, week: &'w Week) -> Vec<BTreeSet<&'w Handle<Tray>>> {
        let mut trays = vec![BTreeSet::new(); self.batches.len()];
        for (sowing, plan) in week.sowings.iter().zip(&self.layout.sowings) {
            let halves = if self.batches[plan.batch].half.is_some() { 2 } else { 1 };
            trays.iter_mut().skip(plan.batch).take(halves).for_each(|of| {
                of.insert(&sowing.tray);
            });
        }
        trays
    }
}

/// The trays in which seed has too little air, as it usually is: of those whose depth is known.
fn little_air<'p>(behaviour: &Behaviour<'_>, trays: BTreeSet<&'p Handle<Tray>>) -> Vec<Finding<'p>> {
    let cells = trays.into_iter().filter(|tray| !tray.is_about());
    let cells: Vec<_> = cells.filter_map(|tray| Some((tray, shape_of(tray).ok()?))).collect();
    let Some(pores) = behaviour.pores.as_ref().ok().filter(|_| !cells.is_empty()) else { return Vec::new() };
    let air = pores.air_in(cells.iter().map(|(_, cell)| cell));
    let short = cells.iter().zip(air).filter(|(_, air)| Verdict::of(*air).is_short_of_air());
    short.map(|((tray, _), air)| Finding::LittleAir(tray, air)).collect()
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
