//! The calendar: what to do when, and why.

use super::PlanReport;
use super::remarks::{is_for_afterwards, note};
use crate::behaviour::{LEAVES_PPM, PHOSPHORUS_PPM, UNFED_PPM};
use crate::catalogue::{Before, Crop, Handle, Named, citation};
use crate::moment::rfc3339;
use crate::plan::{Deed, Entry, Limed, MixRef, Task, Wetted};
use crate::report::behaviour::ranged;
use crate::report::document::{Document, Table};
use crate::report::ics::{Event, When};
use crate::report::remark::texts;
use crate::report::soak::{SoakReport, soak_step};
use crate::report::words::{and, batches_of, count, given, needed, span};
use crate::units::{Liquid, UnitSystem, dosed, in_litres, plain};
use jiff::civil::Date;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// The standing of nearly all of it.
const PRACTICE: &str = " (common practice)";
/// So many crops are named in the title of an event.
const NAMED: usize = 20;
/// The columns of the table of crops that are sown.
const COLUMNS: [&str; 8] = ["crop", "first up", "half up", "first feed", "to frame", "measure", "harden", "plant out"];
/// Days of a crop in that table.
type Days = [String; 7];

impl PlanReport<'_> {
    /// What is done up to the mix.
    pub(super) fn preparing(&self, document: &mut Document, units: UnitSystem) {
        let item = |entry: &Entry| {
            let (what, why) = task(&entry.task, units);
            let hour = if entry.task.is_for_a_day() { "%a %-d %b" } else { "%a %-d %b %H:%M" };
            let is_told = matches!(entry.task, Task::Soak { .. } | Task::Mix { .. });
            let why = if is_told { String::new() } else { format!("; {}", why.trim_end_matches(PRACTICE)) };
            format!("{}: {what}{why}", entry.at.strftime(hour))
        };
        let entries = self.plan.calendar.iter().filter(|entry| column(&entry.task).is_none());
        document.tasks(entries.map(item).collect());
    }

    /// What a mix goes without on the day where its lime is in the peat already.
    pub(super) fn limed(&self, mix: MixRef, units: UnitSystem) -> String {
        let words = |entry: &Entry| {
            let Task::Lime(limed) = &entry.task else { return None };
            let limed = limed.iter().find(|limed| limed.mix == mix)?;
            let day = entry.at.strftime("%a %-d %b");
            // Of one load as it was told to be wetted with.
            let (each, told) = match limed.water > limed.water_a_load {
                true => (", of each load,", given(Liquid(limed.water_a_load), units)),
                false => ("", needed(Liquid(limed.water_a_load), units)),
            };
            let is_wetted = limed.water_a_load > in_litres(0.0);
            let wetted = is_wetted.then(|| format!(" and{each} the {told} of water that wetted the peat"));
            let wetted = wetted.unwrap_or_default();
            Some(format!(" If the lime has been in the peat since {day}, leave out the lime{wetted}."))
        };
        self.plan.calendar.iter().find_map(words).unwrap_or_default()
    }

    /// What follows the sowing.
    pub(super) fn afterwards(&self, document: &mut Document, units: UnitSystem) {
        let sown: Vec<&Entry> = self.plan.calendar.iter().filter(|entry| column(&entry.task).is_some()).collect();
        let unknown = self.plan.notes.iter().find(|found| is_for_afterwards(found));
        let mixes = &self.plan.mixes;
        let mut sowings = mixes.layout.of(self.week);
        let inoculated = sowings.any(|(sowing, plan)| mixes.batches[plan.batch].is_inoculated_for(sowing, self.week));
        let words =
            [what_to_do(&sown, inoculated), unknown.map(|found| note(found, units)).unwrap_or_default()].join(" ");
        if !words.trim().is_empty() {
            document.heading("Afterwards");
            document.table(by_crop(&sown));
            document.list(vec![words.trim().to_owned()]);
        }
    }

    /// The calendar for other programs: an event for each crop, so that each keeps its own, and every step of the
    /// coir's course.
    pub fn events(&self, units: UnitSystem) -> Vec<Event> {
        let of_coir = self.plan.soak.iter().flat_map(|soaking| SoakReport::of(soaking).events(units));
        self.events_but_coir(units).into_iter().chain(of_coir).collect()
    }

    /// The same without the course of the coir.
    pub(in crate::report) fn events_but_coir(&self, units: UnitSystem) -> Vec<Event> {
        let mut events = Vec::new();
        for Entry { at, task: of } in &self.plan.calendar {
            let when = if of.is_for_a_day() { When::Day(at.date()) } else { When::Hour(at.clone()) };
            let event = |of: &Task, whose: &str| {
                let (mut what, mut why) = task(of, units);
                if let Task::Mix { mixed, .. } = of {
                    what = at_the_mix(*mixed, [false, true].map(|potted| self.crops(potted)));
                    why = self.at_the_bench(units);
                }
                let (code, whose) = (of.code(), whose.to_owned());
                Event { when: when.clone(), code, whose, what, why, alarm: of.needs_hands(), is_over: false }
            };
            match of {
                Task::Soak { .. } => {}
                Task::Crops { deed, crops } => events.extend(crops.iter().map(|crop| {
                    let own = Task::Crops { deed: *deed, crops: vec![crop.clone()] };
                    event(&own, crop.shown())
                })),
                _ => events.push(event(of, "")),
            }
        }
        events
    }

    /// What is sown, or potted on, each crop once; of very many some. `None` where there is none.
    fn crops(&self, potted: bool) -> Option<String> {
        let of = self.sowings().filter(|(_, plan)| plan.cells.seeds.is_none() == potted);
        let names: BTreeSet<String> = of.map(|(sowing, _)| sowing.name()).collect();
        let rest = names.len().saturating_sub(NAMED);
        let rest = (rest > 0).then(|| format!("{rest} more"));
        let names: Vec<String> = names.into_iter().take(NAMED).chain(rest).collect();
        (!names.is_empty()).then(|| format!(" {}", and(names)))
    }

    /// What there is to mix and fill, and what to watch out for.
    fn at_the_bench(&self, units: UnitSystem) -> String {
        // What a salt can do is said where it is used, at the first bath.
        let warnings = texts(&self.warned(units).0);
        std::iter::once(self.summary(units)).chain(warnings).collect::<Vec<_>>().join("\n")
    }
}

/// What is done at the bench, with the names of what is sown and potted on.
fn at_the_mix(mixed: bool, [sown, potted]: [Option<String>; 2]) -> String {
    let works = [mixed.then(|| "mix".to_owned()), Some("fill".to_owned())].into_iter();
    let works =
        works.chain([sown.map(|names| "sow".to_owned() + &names), potted.map(|names| "pot on".to_owned() + &names)]);
    and(works.flatten().collect::<Vec<_>>())
}

/// The column of what is done for crops once they are sown.
fn column(task: &Task) -> Option<(usize, &Deed, &[Handle<Crop>])> {
    let Task::Crops { deed, crops } = task else { return None };
    let column = match deed {
        Deed::Treat { .. } => return None,
        Deed::Emerge { .. } => 0,
        Deed::Uncover { .. } => 1,
        Deed::Feed { .. } => 2,
        Deed::ToFrame => 3,
        Deed::Measure { .. } => 4,
        Deed::Harden { .. } => 5,
        Deed::PotOn | Deed::PlantOut { .. } => 6,
    };
    Some((column, deed, crops))
}

/// The days of each crop, those with the same days together.
fn by_crop(entries: &[&Entry]) -> Table {
    let mut days: BTreeMap<(&Handle<Crop>, bool), Days> = BTreeMap::new();
    let mut order = Vec::new();
    for entry in entries {
        let Some((column, deed, crops)) = column(&entry.task) else { continue };
        // When they are up, whoever is there then.
        let late = if let Deed::Uncover { late } = deed { *late } else { 0 };
        let at = entry.at.checked_sub(jiff::Span::new().days(late)).unwrap_or_else(|_| entry.at.clone());
        let mut day = at.strftime("%-d %b").to_string();
        if let Deed::PlantOut { weeks: Some((least, most)), late, .. } = deed {
            let more = i64::from(7 * (most - least)) - i64::from(*late);
            let last = entry.at.checked_add(jiff::Span::new().days(more)).ok();
            day += &last.filter(|_| more > 0).map(|last| last.strftime("-%-d %b").to_string()).unwrap_or_default();
        }
        if *deed == Deed::PotOn {
            day = format!("pot on {day}");
        }
        let potted_on = matches!(deed, Deed::Feed { potted_on: true, .. });
        for plants in crops.iter().map(|crop| (crop, potted_on)) {
            order.extend((!days.contains_key(&plants)).then_some(plants));
            let cell = &mut days.entry(plants).or_default()[column];
            *cell = if cell.is_empty() { day.clone() } else { format!("{cell}, {day}") };
        }
    }
    let mut rows: Vec<(Vec<&Handle<Crop>>, bool, Days)> = Vec::new();
    for (crop, potted_on) in order {
        let of_crop = days.remove(&(crop, potted_on)).unwrap_or_default();
        match rows.iter_mut().find(|(_, potted, same)| (*potted, same) == (potted_on, &of_crop)) {
            Some((crops, ..)) => crops.push(crop),
            None => rows.push((vec![crop], potted_on, of_crop)),
        }
    }
    let rows = rows.into_iter().map(|(crops, potted_on, [up, half, feed, frame, measure, harden, out])| {
        [and(crops) + if potted_on { ", potted on" } else { "" }, up, half, feed, frame, measure, harden, out]
    });
    Table::of(COLUMNS, rows).without_empty_columns()
}

/// What the columns ask for.
fn what_to_do(entries: &[&Entry], inoculated: bool) -> String {
    let mut feeds: BTreeMap<&Deed, Vec<&Handle<Crop>>> = BTreeMap::new();
    let (mut uncover, mut out, mut tender, mut last) = (false, false, Vec::new(), None);
    for (_, deed, crops) in entries.iter().filter_map(|entry| column(&entry.task)) {
        match deed {
            Deed::Feed { .. } => feeds.entry(deed).or_default().extend(crops),
            Deed::Uncover { .. } => uncover = true,
            Deed::PlantOut { tender: frail, frost, weeks, .. } => {
                out |= weeks.is_some();
                last = last.max(*frost);
                tender.extend(crops.iter().filter(|_| *frail));
            }
            _ => {}
        }
    }
    let mut items: Vec<String> = uncover.then(|| format!("Half up: {HALF_UP}.")).into_iter().collect();
    let distinct = |crops: Vec<&Handle<Crop>>| and(crops.into_iter().collect::<BTreeSet<_>>());
    // What holds of most comes last, for those that were not named.
    let only = feeds.len() == 1;
    let mut feeds: Vec<_> = feeds.into_iter().collect();
    feeds.sort_by_key(|(deed, _)| matches!(deed, Deed::Feed { fed_mix: true, potted_on: false }));
    let feeds = feeds.into_iter().map(|(deed, crops)| {
        let Deed::Feed { fed_mix, potted_on } = *deed else { return String::new() };
        let (how, why) = feed(fed_mix, potted_on);
        let whose = match (fed_mix, potted_on) {
            (true, false) if only => String::new(),
            (true, false) => " of the others".to_owned(),
            (_, true) => format!(" of the potted-on {}", distinct(crops)),
            _ => format!(" of {}", distinct(crops)),
        };
        format!("{whose}: {how} ({why})")
    });
    let feeds = feeds.collect::<Vec<_>>().join(";");
    let phosphorus = format!("; beside an inoculant at most {PHOSPHORUS_PPM:.0} ppm of phosphorus (trials)");
    let phosphorus = if inoculated { &*phosphorus } else { "" };
    items.extend((!feeds.is_empty()).then(|| format!("First feed{feeds}{phosphorus}.")));
    let weeks = out.then(|| "by the weeks of the crop table".to_owned());
    let frost = (!tender.is_empty()).then(|| format!("{} {}", distinct(tender), not_before(last)));
    let out: Vec<String> = weeks.into_iter().chain(frost).collect();
    items.extend((!out.is_empty()).then(|| format!("Plant out {}.", out.join("; "))));
    if !items.is_empty() {
        items.push("All else common practice.".to_owned());
    }
    items.join(" ")
}

/// What tender plants wait for.
fn not_before(frost: Option<Date>) -> String {
    let day = frost.map_or_else(String::new, |day| day.strftime(" (%-d %b on average)").to_string());
    format!("not before the last frost{day}")
}

/// What to do when about half are up.
const HALF_UP: &str = "dome or glass off, off the mat, into full light";

/// How the first feed is given, and why then.
pub(in crate::report) fn feed(fed_mix: bool, potted_on: bool) -> (String, &'static str) {
    let [unfed, leaves] = [UNFED_PPM, LEAVES_PPM].map(|ppm| ranged(&ppm, |ppm| plain(ppm, 0)));
    match (fed_mix, potted_on) {
        (true, true) => ("as the new mix runs out".to_owned(), "it feeds till then"),
        (false, true) => (format!("{leaves} ppm N"), "the new mix holds no food"),
        (true, false) => ("at the first true leaves".to_owned(), "the mix feeds till then"),
        (false, false) => (format!("{unfed} ppm N, from open cotyledons on"), "the mix holds no food"),
    }
}

/// An entry for scripts: the time by RFC 3339 with its offset, a date alone where no hour
/// is meant.
pub(in crate::report) fn entry_json(entry: &Entry) -> Value {
    let (what, why) = task(&entry.task, UnitSystem::Metric);
    let at = if entry.task.is_for_a_day() { entry.at.date().to_string() } else { rfc3339(&entry.at) };
    json!({"at": at, "code": entry.task.code(), "do": what, "why": why})
}

/// A thing to do and why.
fn task(task: &Task, units: UnitSystem) -> (String, String) {
    let (what, why) = match task {
        Task::Soak { action, number, run, runs, rest } => return soak_step(*action, *number, (*run, *runs), rest),
        Task::Lime(limed) => {
            let of = limed.iter().map(|Limed { batches, lime, peat, .. }| {
                let lime = lime.iter().map(|dose| {
                    format!("{} of {}", dosed(dose.amount, dose.rate.spoon(), units).0, dose.ingredient.name)
                });
                format!("{} into the wetted {} of peat for {}", and(lime), needed(*peat, units), batches_of(batches))
            });
            let of = and(of.collect::<Vec<_>>());
            (
                format!("better: now mix {of}; all else goes in on the sowing day"),
                "lime takes about a week to act: test with a pH strip then",
            )
        }
        Task::WetPeat(wetted) => {
            let what = match wetted {
                Wetted::ToLime(limed) => {
                    let of = limed.iter().map(|Limed { batches, peat, water, .. }| {
                        let water = Some(*water).filter(|water| *water > in_litres(0.0));
                        let water = water.map(|water| format!(" with {}", needed(Liquid(water), units)));
                        let peat = needed(*peat, units);
                        format!("{peat}{} for {}", water.unwrap_or_default(), batches_of(batches))
                    });
                    format!(
                        "better: wet the peat to be limed, measured as bought, with warm water: {}",
                        and(of.collect::<Vec<_>>())
                    )
                }
                Wetted::All => "wet the peat, with warm water".to_owned(),
                Wetted::Unlimed => "wet the peat that is not limed yet, with warm water".to_owned(),
            };
            (what, "dry peat sheds water")
        }
        Task::WetCoir(half) => {
            let of = half.map_or_else(String::new, |half| format!(" for `{}`", half.word()));
            (format!("wet the coir{of}, not to dripping"), "a dry block swells slowly")
        }
        Task::Scrub { beside_ammonium } => (
            "scrub trays and tools; 10 minutes in 1 part fresh household bleach, 9 of water; rinse, dry".to_owned(),
            if *beside_ammonium {
                "gloves, air; no acid, ammonia or bath water"
            } else {
                "gloves, air, no acid or ammonia"
            },
        ),
        Task::Mix { mixed, sown, potted } => {
            let some = |is: &bool| is.then(String::new);
            return (at_the_mix(*mixed, [some(sown), some(potted)]), String::new());
        }
        Task::Crops { deed, crops } => return for_crops(deed, crops),
    };
    (what, format!("{why}{PRACTICE}"))
}

/// What is done for the seed of some crops.
pub(super) fn treat(before: Before, crops: &str) -> String {
    match before {
        Before::Soak => format!("soak the seed of {crops} in water"),
        Before::Nick => format!("nick the seed of {crops}, or soak it"),
        Before::Chill => format!("chill the seed of {crops}, cold and moist"),
    }
}

/// What is done for some crops and why.
fn for_crops(deed: &Deed, crops: &[Handle<Crop>]) -> (String, String) {
    let of = and(crops);
    match *deed {
        Deed::Treat { before, days } => {
            let what = treat(before, &of);
            let days = days.map_or_else(String::new, |days| span(days, "day", "days") + " before sowing");
            let from_practice = |crop: &Handle<Crop>| {
                let source = crop.tags.of("before").and_then(citation);
                source.is_some_and(|source| source.standing == "common practice")
            };
            (what, if crops.iter().all(from_practice) { days + PRACTICE } else { days })
        }
        Deed::Emerge { days } => (format!("first {of} up"), span(days, "day", "days")),
        Deed::Uncover { late } => {
            let since =
                if late > 0 { format!(" for {}", count(late.unsigned_abs(), "day", "days")) } else { String::new() };
            (format!("half of {of} up{since}: {HALF_UP}"), format!("damp seedlings in the shade rot{PRACTICE}"))
        }
        Deed::Feed { fed_mix, potted_on } => {
            let (how, why) = feed(fed_mix, potted_on);
            let first = if potted_on { "feed the potted-on" } else { "first feed of" };
            (format!("{first} {of}: {how}"), format!("{why}{PRACTICE}"))
        }
        Deed::ToFrame => (
            format!("move {of} to the cold frame, as far as it has places"),
            format!("hardy, at the earliest three weeks from sowing{PRACTICE}"),
        ),
        Deed::PotOn => (format!("pot on {of}"), "the day that was planned".to_owned()),
        Deed::Measure { weeks_fed, .. } => {
            let fed = weeks_fed.map(|weeks| format!("{weeks} weeks after the first feed at the least, "));
            (format!("measure the pairs of {of}"), fed.unwrap_or_default() + "while they still stand side by side")
        }
        Deed::Harden { days } => (
            format!("begin to harden off {of}: out by day, in by night"),
            format!("{days} days before planting out{PRACTICE}"),
        ),
        Deed::PlantOut { weeks, tender, frost, .. } => {
            let waits = if tender { format!("; {}", not_before(frost)) } else { String::new() };
            let why = match weeks {
                Some(weeks) => {
                    let hardened = if deed.is_past_its_weeks() { ", and later, since not hardened before" } else { "" };
                    format!("{} from sowing, by the crop table{hardened}", span(weeks, "week", "weeks"))
                }
                None => "the day that was planned".to_owned(),
            };
            (format!("{of} may go out{waits}"), why)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_hour_is_a_date() {
        let at: jiff::ZonedDateTime = "2027-03-06T10:00[Europe/Paris]".parse().unwrap();
        let of = |task: Task| entry_json(&Entry { at: at.clone(), task })["at"].clone();
        let mix = Task::Mix { mixed: true, sown: true, potted: false };
        assert_eq!(of(mix), "2027-03-06T10:00:00+01:00");
        let day = |deed: Deed| of(Task::Crops { deed, crops: Vec::new() });
        assert_eq!(day(Deed::Emerge { days: (5, 8) }), "2027-03-06");
        assert_eq!(day(Deed::Feed { fed_mix: true, potted_on: false }), "2027-03-06");
    }
}
