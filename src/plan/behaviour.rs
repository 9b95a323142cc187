//! How the batches of a plan behave: worked out when it is asked for, since a sheet shows what is wrong alone.

use super::bench::{Loads, Moisture};
use super::mix::Batch;
use super::sow::Half;
use super::{Deed, Mixes, Plan, Task};
use crate::behaviour::{Behaviour, InTray, NoCell, Pores, Verdict, of_coir, shape_of};
use crate::catalogue::{Crop, Feeds, Handle, Ingredient, Tray};
use crate::coir::SoldAs;
use crate::coir::soak::CoirKind;
use crate::units::mass::kilogram;
use crate::week::Week;
use jiff::civil::Date;
use std::collections::BTreeSet;

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

impl Feeding<'_> {
    /// The stage at which feeding begins (common practice, no source).
    pub fn stage(&self) -> &'static str {
        if self.food.is_empty() { "open cotyledons" } else { "first true leaves" }
    }

    /// Nitrogen for that stage, mg/L, least and most (from memory).
    pub fn nitrogen_ppm(&self) -> [f64; 2] {
        if self.food.is_empty() { [25.0, 50.0] } else { [25.0, 75.0] }
    }
}

impl Plan {
    /// How each batch behaves.
    pub fn behaviour<'p>(&'p self, week: &'p Week) -> impl Iterator<Item = BatchBehaviour<'p>> {
        let trays = self.mixes.trays_of_batches(week);
        self.mixes.batches.iter().zip(trays).enumerate().map(move |(index, (batch, trays))| {
            let behaviour = Behaviour::of(&batch.composition, coir_of(batch, week));
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

    /// The batches and trays in which seed has too little air, with the share that is usual: of trays whose depth is known.
    pub fn short_of_air<'p>(&'p self, week: &'p Week) -> Vec<(usize, &'p Handle<Tray>, f64)> {
        let mut short = Vec::new();
        for (index, (batch, trays)) in self.mixes.batches.iter().zip(self.mixes.trays_of_batches(week)).enumerate() {
            let cells = trays.into_iter().filter(|tray| !tray.is_about());
            let cells: Vec<_> = cells.filter_map(|tray| Some((tray, shape_of(tray).ok()?))).collect();
            if cells.is_empty() {
                continue;
            }
            let parts: Vec<_> = batch.composition.parts.iter().map(|(id, parts)| (&**id, parts.to_f64())).collect();
            let Ok(pores) = Pores::of(&parts, batch.composition.yield_.to_f64()) else { continue };
            let air = pores.air_in(cells.iter().map(|(_, cell)| cell));
            let of_cells =
                cells.iter().map(|(tray, _)| *tray).zip(air).filter(|(_, air)| Verdict::of(*air).is_short_of_air());
            short.extend(of_cells.map(|(tray, air)| (index, tray, air)));
        }
        short
    }

    fn feeding<'p>(&'p self, batch: &'p Batch) -> Feeding<'p> {
        let is_of = |crops: &[Handle<Crop>]| crops.iter().any(|crop| batch.crops.contains(crop));
        let feeds = self.calendar.iter().find(|entry| match &entry.task {
            Task::Crops { deed: Deed::Feed { fed_mix, .. }, crops } => *fed_mix == batch.feeds() && is_of(crops),
            _ => false,
        });
        Feeding {
            food: batch.composition.ingredients().filter(|id| id.feeds != Feeds::No).collect(),
            begins: feeds.map(|entry| entry.at.date()),
        }
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

/// The conductivity of the coir in a batch: of what a soak is stated for as after its course, or buffered as it was sold,
/// of the straight half of a trial as it was sold.
fn coir_of(batch: &Batch, week: &Week) -> Option<[f64; 2]> {
    let soak = week.soak.as_ref()?;
    match soak.coir {
        CoirKind::SoldAs(sold_as) if batch.half == Some(Half::Straight) => Some(of_coir(sold_as)),
        CoirKind::Measured(_) if batch.half == Some(Half::Straight) => None,
        _ => Some(of_coir(SoldAs::Buffered)),
    }
}
