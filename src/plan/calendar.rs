//! What to do when, from the soak of the coir to the first feed.

use super::soaking::asked_for;
use super::{Half, Mixes, Soaking};
use crate::awake::Attendance;
use crate::catalogue::{Crop, Handle, Role};
use crate::coir::Action;
use crate::moment::Moment;
use crate::week::{Loaded, Week};
use jiff::civil::Date;
use jiff::{Span, ZonedDateTime};
use std::collections::{BTreeMap, BTreeSet};

/// Days that lime needs to act in a moist mix. Common practice, no source.
const LIME_DAYS: i64 = 7;
/// Days from emergence to the first true leaves: about a week to ten days. From memory.
const TRUE_LEAF_DAYS: i64 = 8;
/// Wetting and liming are this long before the end of the hours in which they are done. A judgement.
const WETTING_SECONDS: i64 = 3600;
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
        /// Its other steps are too many to list.
        alone: bool,
    },
    /// Wet the coir that gets no bath: all of it, or that of one half.
    WetCoir(Option<Half>),
    /// The peat and lime of batches are better mixed and moistened by now.
    Lime {
        /// The batches, by their indexes.
        batches: Vec<usize>,
        /// An inoculant goes into one of them.
        inoculated: bool,
    },
    /// Wet the peat.
    WetPeat {
        /// For the batches that are better limed early.
        for_lime: bool,
    },
    /// Mix, fill and sow.
    Mix,
    /// Fill and sow: all of the mix is left over from earlier.
    Fill,
    /// The first seedlings of these crops may be up.
    Emerge {
        /// The crops.
        crops: Vec<Handle<Crop>>,
        /// Days from sowing, first and last.
        days: (u32, u32),
    },
    /// Feed these crops for the first time, from about now: in a mix without food from the first
    /// that are up on, else at the true leaves of the last.
    Feed {
        /// The crops.
        crops: Vec<Handle<Crop>>,
        /// The mix holds food already, so that feeding waits for the true leaves.
        fed_mix: bool,
        /// They are potted on, not sown.
        potted_on: bool,
    },
}

impl Task {
    /// Whether it is for some time of a day: seedlings keep no hours.
    pub const fn is_for_a_day(&self) -> bool {
        matches!(self, Self::Emerge { .. } | Self::Feed { .. })
    }

    /// Whether the week can do without it.
    pub fn is_optional(&self) -> bool {
        matches!(self, Self::Lime { .. } | Self::WetPeat { for_lime: true })
    }
}

/// The calendar of a week that says when to mix, in order of time.
pub(super) fn calendar(mixes: &Mixes, soak: Option<&Soaking>, loaded: &Loaded) -> Vec<Entry> {
    let mut entries = Vec::new();
    soak_entries(soak, &mut entries);
    if let Some(mix) = loaded.week.mix_on.as_ref().and_then(Moment::zoned) {
        let on = |days: i64, task: Task| Some(Entry { at: mix.checked_add(Span::new().days(days)).ok()?, task });
        let is_wetted = mixes.mixing.wetted.is_some();
        let wetted = match soak {
            Some(soak) if soak.sheet.is_none() => is_wetted.then_some(Task::WetCoir(None)),
            // The straight half of a trial is only wetted.
            Some(soak) => (is_wetted && soak.soak.tries_half()).then_some(Task::WetCoir(Some(Half::Straight))),
            None => (loaded.week.soak.is_none() && asked_for(mixes).is_some()).then_some(Task::WetCoir(None)),
        };
        entries.extend(beforehand(mixes, wetted, &loaded.week.awake.until(mix.clone())));
        entries.extend(on(0, if mixes.are_mixed() { Task::Mix } else { Task::Fill }));
        entries
            .extend(crop_tasks(mixes, &loaded.week, mix.date()).into_iter().filter_map(|(days, task)| on(days, task)));
    }
    entries.sort_by(|one, other| one.at.cmp(&other.at));
    entries
}

fn soak_entries(soaking: Option<&Soaking>, entries: &mut Vec<Entry>) {
    let Some((sheet, times)) = soaking.and_then(|soaking| soaking.sheet.as_ref().zip(soaking.times.as_ref())) else {
        return;
    };
    let runs = times.runs.len();
    let alone = runs * sheet.course.steps.len() > MOST_STEPS;
    let listed = if alone { 1 } else { usize::MAX };
    for (index, run) in times.runs.iter().enumerate() {
        for (step, (timed, taken)) in run.steps.iter().zip(&sheet.course.steps).enumerate().take(listed) {
            let task = Task::Soak { action: taken.action, number: step + 1, run: index + 1, runs, alone };
            entries.push(Entry { at: timed.begins.clone(), task });
        }
    }
}

/// What is done by hand in the days before the mix, while somebody is there.
fn beforehand(mixes: &Mixes, wetted: Option<Task>, attendance: &Attendance<'_>) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut enter = |ready: &ZonedDateTime, days: i64, task: Task| {
        let at = latest(ready.checked_sub(Span::new().days(days)).ok()?, attendance);
        entries.push(Entry { at: at.clone(), task });
        Some(at)
    };
    let mix = attendance.ready();
    let batches: Vec<usize> = (0..mixes.batches.len()).filter(|index| mixes.batches[*index].is_limed_ahead()).collect();
    let mut peat_by = Some(mix.clone());
    let for_lime = !batches.is_empty();
    if for_lime {
        let inoculated = batches.iter().any(|index| mixes.batches[*index].is_inoculated());
        peat_by = enter(mix, LIME_DAYS, Task::Lime { batches, inoculated });
    }
    if mixes.totals.ingredients.iter().any(|(id, _)| id.is(Role::Peat)) {
        peat_by.and_then(|ready| enter(&ready, 1, Task::WetPeat { for_lime }));
    }
    wetted.and_then(|task| enter(mix, 1, task));
    // What is done at one time is listed in the order of the work.
    entries.sort_by_key(|entry| matches!(entry.task, Task::Lime { .. }));
    entries
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

/// Emergence and the first feed, crops of the same dates together, with the days from the
/// time to mix.
fn crop_tasks(mixes: &Mixes, week: &Week, mix: Date) -> Vec<(i64, Task)> {
    // Feeding is by hand.
    let when_there = |days: i64| {
        let day = mix.checked_add(Span::new().days(days)).ok();
        days + day.map_or(0, |day| (week.awake.day_from(day) - day).get_days().into())
    };
    let mut emerge: BTreeMap<(u32, u32), BTreeSet<&Handle<Crop>>> = BTreeMap::new();
    let mut feed: BTreeMap<(i64, bool, bool), BTreeSet<&Handle<Crop>>> = BTreeMap::new();
    for (sowing, plan) in mixes.layout.of(week) {
        let Some(crop) = &sowing.crop else { continue };
        let fed_mix = mixes.batches[plan.batch].feeds();
        if plan.cells.seeds.is_none() {
            // Potted on: the roots are there, the mix decides.
            let wait = if fed_mix { 2 * TRUE_LEAF_DAYS } else { TRUE_LEAF_DAYS };
            feed.entry((when_there(wait), fed_mix, true)).or_default().insert(crop);
            continue;
        }
        let Some(days) = crop.emerges_in_a_house() else { continue };
        emerge.entry(days).or_default().insert(crop);
        // The first that are up in a mix without food are hungry before the last.
        let wait = if fed_mix { i64::from(days.1) + TRUE_LEAF_DAYS } else { i64::from(days.0) + 1 };
        feed.entry((when_there(wait), fed_mix, false)).or_default().insert(crop);
    }
    let named = |crops: BTreeSet<&Handle<Crop>>| crops.into_iter().cloned().collect();
    let emerge =
        emerge.into_iter().map(|(days, crops)| (i64::from(days.0), Task::Emerge { crops: named(crops), days }));
    let feed = feed
        .into_iter()
        .map(|((days, fed_mix, potted_on), crops)| (days, Task::Feed { crops: named(crops), fed_mix, potted_on }));
    emerge.chain(feed).collect()
}
