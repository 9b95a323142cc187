//! What to do when, from the first care of the seed to planting out.

use super::bench::water_wanted;
use super::deeds::{Deed, SownCrop, deeds_of_seed, first_feed};
use super::measuring::Measuring;
use super::soaking::CoirNeed;
use super::{DoseAmount, Half, MixRef, Mixes, Moistening, Pairs, Soaking};
use crate::awake::Attendance;
use crate::catalogue::{Before, Crop, Handle, Role};
use crate::coir::{Action, Salt};
use crate::moment::Moment;
use crate::units::{Volume, in_litres};
use crate::week::Week;
use jiff::civil::Date;
use jiff::{Span, ZonedDateTime};
use std::collections::{BTreeMap, BTreeSet};

/// Days that lime needs to act in a moist mix. Common practice, no source.
const LIME_DAYS: i64 = 7;
/// Wetting and liming are this long before the end of the hours in which they are done. A judgement.
const WETTING_SECONDS: i64 = 3600;
/// The hour of the evening before, where somebody is there then. A judgement.
const EVENING: i8 = 19;
/// Of more steps of the coir, only the first of each run is listed.
const MOST_STEPS: usize = 60;
/// So many days back such hours are looked for.
const DAYS_BACK: i64 = 60;

/// Something to do at a time.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The time, in the zone of the time to mix.
    pub at: ZonedDateTime,
    /// The task that begins then.
    pub task: Task,
}

/// What there is to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Task {
    /// A step of the coir's course begins.
    Soak {
        /// Whether it wets, washes, soaks or rinses.
        action: Action,
        /// Its number, from one.
        number: usize,
        /// The run of the tub, from one.
        run: usize,
        /// How many runs there are.
        runs: usize,
        /// The steps after it that are not listed, since those of all runs are too many.
        rest: Vec<Action>,
    },
    /// Wet the coir that gets no bath: all of it, or that of one half.
    WetCoir(Option<Half>),
    /// Lime is better mixed into wet peat by now.
    Lime(Vec<Limed>),
    /// Wet peat.
    WetPeat(Wetted),
    /// Mix, fill, sow and pot on.
    Mix {
        /// Mix is made, and not all of it left over from earlier.
        mixed: bool,
        /// Seed is sown.
        sown: bool,
        /// Plants are potted on.
        potted: bool,
    },
    /// Scrub and disinfect what is filled.
    Scrub {
        /// The coir's baths hold ammonium, which bleach must not meet.
        beside_ammonium: bool,
    },
    /// Look after crops.
    Crops {
        /// How.
        deed: Deed,
        /// Which.
        crops: Vec<Handle<Crop>>,
    },
}

/// Lime for the raw peat of some batches that are mixed together.
#[derive(Clone, Debug, PartialEq)]
pub struct Limed {
    /// The base or the batch that it goes into.
    pub mix: MixRef,
    /// The batches, by their numbers.
    pub batches: Vec<usize>,
    /// The lime of all their loads.
    pub lime: Vec<DoseAmount>,
    /// The raw peat of all their loads, as it is bought.
    pub peat: Volume,
    /// The water that it wants, of that of these loads.
    pub water: Volume,
    /// The same of each load.
    pub water_a_load: Volume,
}

/// Which peat is wetted.
#[derive(Clone, Debug, PartialEq)]
pub enum Wetted {
    /// That which is then limed.
    ToLime(Vec<Limed>),
    /// All, for the mix.
    All,
    /// What was not limed ahead, for the mix.
    Unlimed,
}

impl Task {
    /// A short word for what it is, which stays the same.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Soak { .. } => "coir",
            Self::WetCoir(_) => "wet-coir",
            Self::Lime(_) => "lime",
            Self::WetPeat(Wetted::All) => "wet-peat",
            Self::WetPeat(Wetted::ToLime(_)) => "wet-peat-to-lime",
            Self::WetPeat(Wetted::Unlimed) => "wet-peat-unlimed",
            Self::Scrub { .. } => "scrub",
            Self::Mix { .. } => "mix",
            Self::Crops { deed, .. } => match deed {
                Deed::Treat { before: Before::Soak, .. } => "soak-seed",
                Deed::Treat { before: Before::Nick, .. } => "nick-seed",
                Deed::Treat { before: Before::Chill, .. } => "chill-seed",
                Deed::Emerge { .. } => "emerge",
                Deed::Uncover { .. } => "uncover",
                Deed::Feed { potted_on: false, .. } => "feed",
                Deed::Feed { potted_on: true, .. } => "feed-potted",
                Deed::ToFrame => "to-frame",
                Deed::PotOn => "pot-on",
                Deed::Measure { .. } => "measure",
                Deed::Harden { .. } => "harden",
                Deed::PlantOut { .. } => "plant-out",
            },
        }
    }

    /// Whether it is for some time of a day: seed and seedlings keep no hours.
    pub const fn is_for_a_day(&self) -> bool {
        matches!(self, Self::Crops { .. })
    }

    /// Whether there is something to do, and not only to see.
    pub const fn needs_hands(&self) -> bool {
        !matches!(self, Self::Crops { deed: Deed::Emerge { .. }, .. })
    }

    /// Whether the week can do without it.
    pub fn is_optional(&self) -> bool {
        matches!(
            self,
            Self::Lime(_)
                | Self::WetPeat(Wetted::ToLime(_))
                | Self::Scrub { .. }
                | Self::Crops { deed: Deed::Treat { .. }, .. }
        )
    }
}

/// The calendar of a week that says when to mix, in order of time.
pub(super) fn calendar(mixes: &Mixes, pairs: Option<&Pairs>, soak: Option<&Soaking>, week: &Week) -> Vec<Entry> {
    let mut entries = soak.map(soak_entries).unwrap_or_default();
    if let Some(mix) = week.mix_on.as_ref().and_then(Moment::zoned) {
        let on = |days: i64, task: Task| Some(Entry { at: mix.checked_add(Span::new().days(days)).ok()?, task });
        let is_wetted = mixes.mixing.wetted.is_some();
        let wetted = match soak {
            // The straight half of a trial is only wetted.
            Some(soak) if soak.is_halved() => is_wetted.then_some(Task::WetCoir(Some(Half::Straight))),
            Some(soak) => (is_wetted && soak.sheet.is_none()).then_some(Task::WetCoir(None)),
            None => CoirNeed::of(&[mixes], week.stock.as_ref(), &Handle::clone)
                .filter(|coir| week.soak.is_none() && coir.is_needed())
                .map(|_| Task::WetCoir(None)),
        };
        let sheet = soak.and_then(|soak| soak.sheet.as_ref());
        let scrub =
            Task::Scrub { beside_ammonium: sheet.is_some_and(|sheet| sheet.course.salts().any(Salt::has_ammonium)) };
        entries.extend(beforehand(mixes, wetted, scrub, &week.awake.until(mix.clone())));
        let has = |seed: bool| mixes.layout.sowings.iter().any(|plan| plan.cells.seeds.is_some() == seed);
        entries.extend(on(0, Task::Mix { mixed: mixes.are_mixed(), sown: has(true), potted: has(false) }));
        entries
            .extend(crop_tasks(mixes, pairs, week, mix.date()).into_iter().filter_map(|(days, task)| on(days, task)));
    }
    entries.sort_by(|one, other| one.at.cmp(&other.at));
    entries
}

/// The steps of a course, where it is known when it begins.
pub fn soak_entries(soaking: &Soaking) -> Vec<Entry> {
    let mut entries = Vec::new();
    let Some((sheet, times)) = soaking.sheet.as_ref().zip(soaking.times.as_ref()) else { return entries };
    let runs = times.runs.len();
    let steps = &sheet.course.steps;
    let (listed, rest) = steps.split_at(if runs * steps.len() > MOST_STEPS { 1 } else { steps.len() });
    for (index, run) in times.runs.iter().enumerate() {
        for (step, (timed, taken)) in run.steps.iter().zip(listed).enumerate() {
            let rest = rest.iter().map(|step| step.action).collect();
            let task = Task::Soak { action: taken.action, number: step + 1, run: index + 1, runs, rest };
            entries.push(Entry { at: timed.begins.clone(), task });
        }
    }
    entries
}

/// What is done by hand in the days before the mix, while somebody is there.
fn beforehand(mixes: &Mixes, wetted: Option<Task>, scrub: Task, attendance: &Attendance<'_>) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut enter = |ready: &ZonedDateTime, days: i64, task: Task| {
        let at = latest(ready.checked_sub(Span::new().days(days)).ok()?, attendance);
        entries.push(Entry { at: at.clone(), task });
        Some(at)
    };
    let mix = attendance.ready();
    let limed = limed(mixes);
    let wets = if limed.is_empty() { Wetted::All } else { Wetted::Unlimed };
    if wets == Wetted::Unlimed {
        let to_lime = Task::WetPeat(Wetted::ToLime(limed.clone()));
        enter(mix, LIME_DAYS, Task::Lime(limed)).and_then(|by| enter(&by, 1, to_lime));
    }
    wetted.and_then(|task| enter(mix, 1, task));
    let holds_peat = mixes.totals.ingredients.iter().any(|(id, _)| id.is(Role::Peat));
    let peat = holds_peat.then_some(Task::WetPeat(wets));
    let trays = (!mixes.layout.trays.is_empty()).then_some(scrub);
    let evening = evening_before(attendance);
    let tasks = peat.into_iter().chain(trays);
    entries.extend(tasks.filter_map(|task| Some(Entry { at: evening.clone()?, task })));
    // What is done at one time is listed in the order of the work.
    entries.sort_by_key(|entry| matches!(entry.task, Task::Lime(_)));
    entries
}

/// The lime that is better mixed into raw peat ahead, for each mix that is then made.
fn limed(mixes: &Mixes) -> Vec<Limed> {
    let limed = mixes.mixing.all().filter_map(|(mix, loads, _)| {
        let (loads, times) = (&loads?.load, loads?.count as f64);
        let batches = mixes.limed_ahead(mix);
        let lime = loads.doses.iter().filter(|dose| dose.ingredient.is(Role::Lime));
        let lime = lime.map(|dose| DoseAmount { amount: dose.amount.times(times), ..dose.clone() }).collect();
        let peat: Vec<_> = loads.measures.iter().filter(|measure| measure.ingredient.is_raw_peat()).collect();
        let wanted = peat.iter().map(|measure| water_wanted(&measure.ingredient, measure.loose));
        // No more than the whole load takes.
        let most = match loads.moistening {
            Moistening::Water { about, .. } | Moistening::Blocks { about } => about.max(in_litres(0.0)),
            _ => in_litres(f64::INFINITY),
        };
        let water_a_load = wanted.fold(in_litres(0.0), |sum, water| sum + water).min(most);
        let peat = peat.iter().fold(in_litres(0.0), |sum, measure| sum + measure.loose * times);
        (!batches.is_empty()).then_some(Limed { mix, batches, lime, peat, water: water_a_load * times, water_a_load })
    });
    limed.collect()
}

/// The evening before the mix: at its usual hour, or as near to it as somebody is there, with an hour to work.
fn evening_before(attendance: &Attendance<'_>) -> Option<ZonedDateTime> {
    let ready = attendance.ready();
    let last = ready.start_of_day().ok()?.timestamp().as_second();
    let usual =
        ready.date().yesterday().ok()?.at(EVENING, 0, 0, 0).to_zoned_datetime(ready.time_zone().clone()).ok()?;
    let spells = attendance.spells(last - DAYS_BACK * 24 * 3600, last).unwrap_or_default();
    let Some([begins, ends]) = spells.last() else { return Some(usual) };
    attendance.at(usual.timestamp().as_second().min(*ends - WETTING_SECONDS).max(*begins))
}

/// The latest time, at or before a usual one, when somebody is there, with an hour to work; the
/// usual time where nobody ever is.
fn latest(usual: ZonedDateTime, attendance: &Attendance<'_>) -> ZonedDateTime {
    let last = usual.timestamp().as_second();
    let spells = attendance.spells(last - DAYS_BACK * 24 * 3600, last).unwrap_or_default();
    match spells.last() {
        Some([begins, ends]) if *ends < last => attendance.at((*ends - WETTING_SECONDS).max(*begins)).unwrap_or(usual),
        _ => usual,
    }
}

/// What is done for crops, those of the same day and deed together, with the days from the time to mix.
fn crop_tasks(mixes: &Mixes, pairs: Option<&Pairs>, week: &Week, mix: Date) -> Vec<(i64, Task)> {
    // Off the days on which nobody is there.
    let when_there = |days: i64| {
        let day = mix.checked_add(Span::new().days(days)).ok();
        days + day.map_or(0, |day| (week.awake.day_from(day) - day).get_days().into())
    };
    let sown = mixes.layout.of(week).filter_map(|(sowing, plan)| SownCrop::of(sowing, plan, mixes));
    let sown: BTreeSet<SownCrop> = sown.collect();
    let measuring = Measuring::of(mixes, pairs, week, mix, when_there);
    let mut deeds: BTreeMap<(i64, Deed), BTreeSet<&Handle<Crop>>> = BTreeMap::new();
    for sown in &sown {
        let (crop, after) = (&sown.crop, |day: Date| i64::from((day - mix).get_days()));
        let seed = if sown.potted_on { Vec::new() } else { deeds_of_seed(crop) };
        let out = sown.out(mix, week.standing.frost);
        let out = if let Some(measuring) = &measuring { measuring.before(sown, out) } else { out };
        // What can wait until the plants have left the tray falls away.
        let gone = sown.plant_out.or(sown.leaves).map_or(i64::MAX, after);
        let frame = sown.to_frame.map(|day| (after(day), Deed::ToFrame));
        let feed = first_feed(crop, sown.fed_mix, sown.potted_on);
        for (day, deed) in seed.into_iter().chain(out).chain(frame).chain(feed) {
            let (day, since) = (if deed.can_wait() { when_there(day) } else { day }, day);
            let deed = if let Deed::Uncover { .. } = deed { Deed::Uncover { late: day - since } } else { deed };
            if !deed.can_wait() || day < gone {
                deeds.entry((day, deed)).or_default().insert(crop);
            }
        }
    }
    deeds.extend(measuring.iter().map(|measuring| (measuring.deed(), measuring.crops().collect())));
    let named = |crops: BTreeSet<&Handle<Crop>>| crops.into_iter().cloned().collect();
    deeds.into_iter().map(|((day, deed), crops)| (day, Task::Crops { deed, crops: named(crops) })).collect()
}
