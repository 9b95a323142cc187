//! What to do when, from the first care of the seed to planting out.

use super::bench::water_wanted;
use super::soaking::CoirNeed;
use super::{DoseAmount, Half, MixRef, Mixes, Moistening, Soaking};
use crate::awake::Attendance;
use crate::catalogue::{Before, Crop, Frost, Handle, Role};
use crate::coir::{Action, Salt};
use crate::moment::Moment;
use crate::place;
use crate::units::{Volume, in_litres};
use crate::week::{Compared, Week};
use jiff::civil::Date;
use jiff::{Span, ZonedDateTime};
use std::collections::{BTreeMap, BTreeSet};

/// Days that lime needs to act in a moist mix. Common practice, no source.
const LIME_DAYS: i64 = 7;
/// Days from emergence to the first true leaves: about a week to ten days. From memory.
const TRUE_LEAF_DAYS: i64 = 8;
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

/// What is done for crops on a day of their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Deed {
    /// Treat the seed before it is sown.
    Treat {
        /// How.
        before: Before,
        /// For how many days, least and most, where that is known.
        days: Option<(u32, u32)>,
    },
    /// The first seedlings may be up.
    Emerge {
        /// Days from sowing, first and last.
        days: (u32, u32),
    },
    /// About half are up: they want light and air.
    Uncover {
        /// Days later than they are up, since nobody was there.
        late: i64,
    },
    /// Feed for the first time, from about now: in a mix without food at the first open cotyledons, once the
    /// dome is off; else at the true leaves of the last.
    Feed {
        /// The mix holds food already, so that feeding waits for the true leaves.
        fed_mix: bool,
        /// They are potted on, not sown.
        potted_on: bool,
    },
    /// Move the hardy ones to the cold frame, as far as it has places.
    ToFrame,
    /// Pot on what was sown.
    PotOn,
    /// Measure the plants of a trial, before they are hardened.
    Measure {
        /// They were fed otherwise for so many weeks.
        weeks_fed: Option<i32>,
    },
    /// Begin to harden off.
    Harden {
        /// Days before planting out.
        days: u32,
    },
    /// The first day to plant out.
    PlantOut {
        /// Weeks from sowing, least and most; none where the sowing states the day.
        weeks: Option<(u32, u32)>,
        /// They stand no frost, and one may still come.
        tender: bool,
        /// The average last frost that these wait for, where it is known.
        frost: Option<Date>,
        /// Days later than the least weeks: for the frost, or to be hardened first.
        late: u32,
    },
}

impl Deed {
    /// Whether it is done by hand, and as well a day later. Hardening would be too short.
    const fn can_wait(self) -> bool {
        matches!(self, Self::Uncover { .. } | Self::Feed { .. })
    }

    /// Whether it is done by hand on its very day: seed that is left in water drowns.
    pub(super) const fn has_its_day(self) -> bool {
        matches!(
            self,
            Self::Treat { .. } | Self::Measure { .. } | Self::Harden { .. } | Self::PlantOut { weeks: None, .. }
        )
    }
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
pub(super) fn calendar(mixes: &Mixes, soak: Option<&Soaking>, week: &Week) -> Vec<Entry> {
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
        entries.extend(crop_tasks(mixes, week, mix.date()).into_iter().filter_map(|(days, task)| on(days, task)));
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

/// The crops of a week: whether their mix holds food, whether they are potted on, and the days that are stated, on which
/// they leave, go out and go to the frame.
type Sown = BTreeSet<(Handle<Crop>, bool, bool, [Option<Date>; 3])>;

/// Each crop once, but by the names of its sowings where their days are stated: others of it may have others.
fn sown(mixes: &Mixes, week: &Week) -> Sown {
    let sown = mixes.layout.of(week).filter_map(|(sowing, plan)| {
        let (crop, days) = (sowing.crop.as_ref()?, [sowing.leaves, sowing.plant_out, sowing.to_frame]);
        let is_told = sowing.variety.is_some() && days.iter().any(Option::is_some);
        let crop = if is_told { crop.of_sowing(&sowing.name()) } else { crop.clone() };
        Some((crop, mixes.batches[plan.batch].feeds(), plan.cells.seeds.is_none(), days))
    });
    sown.collect()
}

/// What is done for crops, those of the same day and deed together, with the days from the time to mix.
fn crop_tasks(mixes: &Mixes, week: &Week, mix: Date) -> Vec<(i64, Task)> {
    // Off the days on which nobody is there.
    let when_there = |days: i64| {
        let day = mix.checked_add(Span::new().days(days)).ok();
        days + day.map_or(0, |day| (week.awake.day_from(day) - day).get_days().into())
    };
    let sown = sown(mixes, week);
    let mut deeds: BTreeMap<(i64, Deed), BTreeSet<&Handle<Crop>>> = BTreeMap::new();
    for (crop, fed_mix, potted_on, [leaves, plant_out, to_frame]) in &sown {
        let (fed_mix, potted_on, leaves, plant_out, to_frame) = (*fed_mix, *potted_on, *leaves, *plant_out, *to_frame);
        let after = |day: Date| i64::from((day - mix).get_days());
        let seed = if potted_on { Vec::new() } else { deeds_of_seed(crop) };
        let out = match (plant_out, leaves) {
            (Some(out), _) => planned_out(crop, mix, week.standing.frost, leaves, out),
            _ if potted_on => Vec::new(),
            (None, Some(day)) => vec![(after(day), Deed::PotOn)],
            (None, None) => planting_out(crop, mix, week.standing.frost),
        };
        // What can wait until the plants have left the tray falls away.
        let gone = plant_out.or(leaves).map_or(i64::MAX, after);
        let frame = to_frame.map(|day| (after(day), Deed::ToFrame));
        let trial = week.trial.as_ref().filter(|trial| trial.crop.is_same(crop) && !potted_on);
        let out = match trial {
            Some(trial) => measured_first(out, fed_for_weeks(crop, fed_mix, trial.compare)),
            None => out,
        };
        for (day, deed) in seed.into_iter().chain(out).chain(frame).chain(first_feed(crop, fed_mix, potted_on)) {
            let (day, since) = (if deed.can_wait() { when_there(day) } else { day }, day);
            let deed = if let Deed::Uncover { .. } = deed { Deed::Uncover { late: day - since } } else { deed };
            if !deed.can_wait() || day < gone {
                deeds.entry((day, deed)).or_default().insert(crop);
            }
        }
    }
    let named = |crops: BTreeSet<&Handle<Crop>>| crops.into_iter().cloned().collect();
    deeds.into_iter().map(|((day, deed), crops)| (day, Task::Crops { deed, crops: named(crops) })).collect()
}

/// Weeks of feeding after which plants that are fed otherwise may differ (a judgement).
const WEEKS_FED: i32 = 2;

/// After how many days the plants of a trial of feeds were fed long enough to differ.
fn fed_for_weeks(crop: &Crop, fed_mix: bool, compare: Compared) -> Option<i64> {
    let first = first_feed(crop, fed_mix, false).filter(|_| compare == Compared::Feed);
    first.map(|(day, _)| day + 7 * i64::from(WEEKS_FED))
}

/// The plants of a trial are measured before they are hardened. Where they are fed otherwise until some day, that waits for it,
/// and so does planting out, unless its day is stated.
fn measured_first(mut out: Vec<(i64, Deed)>, fed: Option<i64>) -> Vec<(i64, Deed)> {
    let on = |is: fn(&Deed) -> bool| out.iter().find(|(_, deed)| is(deed)).map(|(day, _)| *day);
    let hardened = on(|deed| matches!(deed, Deed::Harden { .. }));
    let stated = on(|deed| matches!(deed, Deed::PlantOut { weeks: None, .. }));
    let Some(day) = hardened.max(fed).map(|day| stated.map_or(day, |stated| day.min(stated))) else { return out };
    let later = hardened.map_or(0, |hardened| day - hardened);
    let days_of = |days: i64| u32::try_from(days).unwrap_or(0);
    for (on, deed) in &mut out {
        match deed {
            Deed::Harden { days } => (*on, *days) = (day, stated.map_or(*days, |stated| days_of(stated - day))),
            Deed::PlantOut { weeks: Some(_), late, .. } => (*on, *late) = (*on + later, *late + days_of(later)),
            _ => {}
        }
    }
    out.retain(|(_, deed)| *deed != Deed::Harden { days: 0 });
    out.push((day, Deed::Measure { weeks_fed: fed.map(|_| WEEKS_FED) }));
    out
}

/// After how many days a crop that is sown is fed for the first time, or one that is potted on; `None` where its days are
/// unknown.
pub fn first_feed(crop: &Crop, fed_mix: bool, potted_on: bool) -> Option<(i64, Deed)> {
    let day = match (potted_on, fed_mix) {
        // The roots are there, the mix decides.
        (true, true) => 2 * TRUE_LEAF_DAYS,
        (true, false) => TRUE_LEAF_DAYS,
        (false, true) => true_leaves(crop)?,
        // The first that are up in a mix without food are hungry before the last, but not under the dome.
        (false, false) => half_up(crop)?.max(i64::from(crop.emerges_in_a_house()?.0) + 1),
    };
    Some((day, Deed::Feed { fed_mix, potted_on }))
}

/// Days from sowing until about half are up.
fn half_up(crop: &Crop) -> Option<i64> {
    crop.emerges_in_a_house().map(|(first, last)| (i64::from(first) + i64::from(last) + 1) / 2)
}

/// Days from sowing until the last have true leaves.
fn true_leaves(crop: &Crop) -> Option<i64> {
    crop.emerges_in_a_house().map(|(_, last)| i64::from(last) + TRUE_LEAF_DAYS)
}

/// What is done for seed and seedlings until half are up, as far as its days are known.
fn deeds_of_seed(crop: &Crop) -> Vec<(i64, Deed)> {
    let mut deeds = Vec::new();
    if let Some(before) = crop.before {
        let days = crop.before_days;
        deeds.push((-i64::from(days.map_or(1, |(_, most)| most)), Deed::Treat { before, days }));
    }
    if let Some((days, half)) = crop.emerges_in_a_house().zip(half_up(crop)) {
        deeds.push((days.0.into(), Deed::Emerge { days }));
        deeds.push((half, Deed::Uncover { late: 0 }));
    }
    deeds
}

/// When a crop that is sown may go out, by the weeks of the crop table.
fn planting_out(crop: &Crop, mix: Date, frost: place::Frost) -> Vec<(i64, Deed)> {
    let Some(weeks) = crop.weeks else { return Vec::new() };
    let earliest = 7 * i64::from(weeks.0);
    let is_tender = crop.frost == Some(Frost::Tender);
    let from = mix.checked_add(Span::new().days(earliest)).ok().filter(|_| is_tender);
    let last = from.and_then(|from| frost.last_before(from));
    let frost = last.filter(|last| *last > mix);
    let warm = frost.map_or(0, |last| (last - mix).get_days().into());
    let days = u32::from(crop.hardening_days());
    let harden = (earliest.max(warm) - i64::from(days)).max(true_leaves(crop).unwrap_or(0));
    let out = harden + i64::from(days);
    let late = u32::try_from(out - earliest).unwrap_or(0);
    let tender = is_tender && (last.is_none() || frost.is_some());
    vec![(harden, Deed::Harden { days }), (out, Deed::PlantOut { weeks: Some(weeks), tender, frost, late })]
}

/// The same of a crop whose day is stated: it is hardened from the day that it leaves its place.
fn planned_out(crop: &Crop, mix: Date, frost: place::Frost, leaves: Option<Date>, out: Date) -> Vec<(i64, Deed)> {
    let after = |day: Date| i64::from((day - mix).get_days());
    let harden = leaves.map_or(after(out) - i64::from(crop.hardening_days()), after);
    let days = u32::try_from(after(out) - harden).unwrap_or(0);
    let hardened = (days > 0).then_some((harden, Deed::Harden { days }));
    let frost = frost.for_tender(Some(crop), out).filter(|last| *last > out);
    let deed = Deed::PlantOut { weeks: None, tender: frost.is_some(), frost, late: 0 };
    hardened.into_iter().chain([(after(out), deed)]).collect()
}
