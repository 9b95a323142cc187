//! The feed that the trays of a plan take: in one watering, and in all until their plants go out.

use crate::behaviour::USUALLY_HELD;
use crate::catalogue::{Crop, Handle, Tray};
use crate::plan::{Feeding, Plan, behaviour_of, first_feed};
use crate::season::SownDay;
use crate::units::{Volume, in_litres};
use crate::week::Week;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Of the water that a drained cell holds, so much is used before the next watering. From memory.
const USED: f64 = 1.0 / 3.0;
/// Of what is poured, so much runs through and takes salts along, least and most. From memory.
pub const RUNS_THROUGH: [f64; 2] = [0.10, 0.15];

/// The trays of one crop, kind and mix that are fed alike.
#[derive(Clone, Debug)]
pub struct Watering {
    /// The crop.
    pub crop: Handle<Crop>,
    /// The kind of tray.
    pub tray: Handle<Tray>,
    /// How many, shared ones by the share that is filled for it; pots one by one.
    pub trays: f64,
    /// It is potted on, not sown.
    pub potted_on: bool,
    /// Its mix holds an inoculant, or its plugs do.
    pub inoculated: bool,
    /// The most nitrogen that it wants at its first feed, mg/L.
    pub first_ppm: f64,
    /// When feeding begins, as the plan's calendar has it; `None` where that is not known.
    pub begins: Option<Date>,
    /// How many waterings with feed are counted.
    pub times: u32,
    /// What one of them takes for all of these trays, least and most.
    pub each: [Volume; 2],
}

impl Watering {
    /// What all of them take, least and most.
    pub fn all(&self) -> [Volume; 2] {
        self.each.map(|volume| volume * f64::from(self.times))
    }
}

/// The trays of a week, or of a season, with the feed that they take.
#[derive(Clone, Debug)]
pub struct Waterings {
    /// The name of the week, or of the season.
    pub title: String,
    /// The trays, in the order in which their feeding begins; what is not known to begin comes last.
    pub fed: Vec<Watering>,
    /// Of a season, how many days lie between two waterings, and the day from which on they are counted.
    pub season: Option<(i32, Date)>,
    /// Plantings of it that are left out, since they can no longer be sown, or are not entered as sown.
    pub missed: usize,
}

impl Waterings {
    /// One watering of the trays of a week; `each_tray` in place of what they take by the water in their cells.
    pub fn of_week(plan: &Plan, week: &Week, each_tray: Option<Volume>) -> Self {
        Self { title: week.name.clone(), fed: waterings(plan, week, each_tray, |_, _| 1), season: None, missed: 0 }
    }

    /// All waterings with feed of the days of a season, from a day on: one every so many days from the first feed of each
    /// crop until it is potted on, or planted out. What has none to come is left out; what is not known to begin has none.
    pub fn of_season(
        title: &str,
        (days, missed): (&[SownDay], usize),
        (every, today): (i32, Date),
        each_tray: Option<Volume>,
    ) -> Self {
        let times = |begins: Option<Date>, ends: Option<Date>| {
            let (Some(begins), Some(ends)) = (begins, ends) else { return 0 };
            let before = |day: Date| (day - begins).get_days().max(0).unsigned_abs().div_ceil(every.unsigned_abs());
            before(ends).saturating_sub(before(today))
        };
        let all = days.iter().flat_map(|day| waterings(&day.plan, &day.loaded.week, each_tray, times));
        let mut fed: Vec<Watering> = all.filter(|watering| watering.times > 0 || watering.begins.is_none()).collect();
        fed.sort_by_key(|watering| (watering.begins.is_none(), watering.begins));
        Self { title: title.to_owned(), fed, season: Some((every, today)), missed }
    }

    /// What all of them take, least and most.
    pub fn in_all(&self) -> [Volume; 2] {
        let add = |[least, most]: [Volume; 2], [low, high]: [Volume; 2]| [least + low, most + high];
        self.fed.iter().map(Watering::all).fold([in_litres(0.0); 2], add)
    }
}

/// The trays of a plan, those together that are fed alike, in the order in which that begins.
fn waterings(
    plan: &Plan,
    week: &Week,
    each_tray: Option<Volume>,
    times: impl Fn(Option<Date>, Option<Date>) -> u32,
) -> Vec<Watering> {
    let begins = plan.first_feeds();
    let mut cells: BTreeMap<_, (&Handle<Tray>, u64)> = BTreeMap::new();
    for (sowing, planned) in plan.mixes.layout.of(week) {
        let Some(crop) = &sowing.crop else { continue };
        let potted_on = planned.cells.seeds.is_none();
        let fed_mix = plan.mixes.batches[planned.batch].feeds();
        let begins = begins.get(&(&*crop.name, fed_mix, potted_on)).copied();
        // What leaves before it is fed has no such day.
        if begins.is_none() && plan.mix_on.is_some() && first_feed(crop, fed_mix, potted_on).is_some() {
            continue;
        }
        let ends = sowing.plant_out.or(sowing.leaves);
        let inoculated = plan.mixes.batches[planned.batch].is_inoculated_for(sowing, week);
        let alike = (begins.is_none(), begins, crop, &sowing.tray.name, planned.batch, (potted_on, inoculated), ends);
        cells.entry(alike).or_insert((&sowing.tray, 0)).1 += u64::from(planned.cells_filled);
    }
    let each = cells.into_iter().map(|((_, begins, crop, _, batch, (potted_on, inoculated), ends), (tray, cells))| {
        let batch = &plan.mixes.batches[batch];
        let trays = cells as f64 / tray.cells as f64;
        let stated = each_tray.and_then(|each| Some([each * places(tray, trays)?; 2]));
        let by_cells = || {
            let cell = behaviour_of(batch, None, week).in_tray(tray);
            let held = cell.map_or(USUALLY_HELD, |cell| [cell.drained.water[0], cell.drained.water[2]]);
            [0, 1].map(|end| tray.volume_of(cells) * (held[end] * USED / (1.0 - RUNS_THROUGH[end])))
        };
        Watering {
            crop: Handle::clone(crop),
            tray: Handle::clone(tray),
            trays,
            potted_on,
            inoculated,
            first_ppm: Feeding { potted_on, ..Feeding::of(batch) }.nitrogen_ppm()[1],
            begins,
            times: times(begins, ends),
            each: stated.unwrap_or_else(by_cells),
        }
    });
    each.collect()
}

/// Trays, of pots those that carry them; `None` where that is not known.
fn places(tray: &Tray, trays: f64) -> Option<f64> {
    if tray.pot { Some(trays / tray.per_tray? as f64) } else { Some(trays) }
}
