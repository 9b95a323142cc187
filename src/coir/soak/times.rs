//! When to do what: worked back from when the coir must be ready, in elapsed hours, within the hours in which somebody
//! is there.

use crate::awake::{Attendance, Awake, Spell};
use crate::coir::{Action, CourseStep};
use crate::exact::whole;
use crate::moment::{Moment, serialize_rfc3339};
use jiff::ZonedDateTime;
use serde::Serialize;

/// Hours to let a bath drain: until it hardly drips. Common practice, no source.
const DRAIN_HOURS: f64 = 0.5;

/// Hours that wet coir keeps: about three days. Common practice, no source.
pub const KEEPS_HOURS: f64 = 72.0;

/// Hours up to which a bath may run for the sake of the grower's day: soaks of 12 to 72 h were tried (Gbollie, Mwonga &
/// Kibe 2021, abstract).
pub const LONGEST_BATH_HOURS: f64 = 48.0;
/// The same for wetting, washes and rinses. Common practice, no source.
pub const LONGEST_RINSE_HOURS: f64 = 12.0;
/// A run may have drained so many days before its coir is wanted: drained and kept cool it keeps about as long. Common
/// practice, no source.
const EARLIEST_DAYS: i64 = 21;

/// Seconds of a day.
const DAY: i64 = 24 * 3600;

/// A course on the clock, each run of the tub after the last drain of the one before.
#[derive(Clone, Debug)]
pub struct Times {
    /// When the first step of the first run begins.
    pub start: ZonedDateTime,
    /// When the coir must be ready.
    pub ready: ZonedDateTime,
    /// The runs, at least one.
    pub runs: Vec<Run>,
}

/// One filling of the tub, from the first step to the last drain.
#[derive(Clone, Debug, Serialize)]
pub struct Run {
    /// When its first step begins.
    #[serde(serialize_with = "serialize_rfc3339")]
    pub begins: ZonedDateTime,
    /// When its last bath has drained.
    #[serde(serialize_with = "serialize_rfc3339")]
    pub ends: ZonedDateTime,
    /// The steps of the course.
    pub steps: Vec<TimedStep>,
}

/// A step on the clock.
#[derive(Clone, Debug, Serialize)]
pub struct TimedStep {
    /// When it begins.
    #[serde(serialize_with = "serialize_rfc3339")]
    pub begins: ZonedDateTime,
    /// How long it lasts without its drain, hours: its own time, or longer until somebody is there.
    pub hours: f64,
}

impl Times {
    /// Worked back from `ready`, for the steps of a course in so many runs of one tub; `None` beyond the calendar,
    /// without a run, and where nobody is there in time for every step.
    ///
    /// Each step and each drain begins while somebody is awake: until then a bath runs longer than its hours, up to
    /// [`LONGEST_BATH_HOURS`], wetting, washes and rinses up to [`LONGEST_RINSE_HOURS`], never shorter. Hours are
    /// elapsed time: across a change of the clocks twelve hours end an hour earlier or later by the clock on the wall.
    ///
    /// ```
    /// use trayful::awake::Awake;
    /// use trayful::coir::{Action, CourseStep};
    /// use trayful::coir::soak::Times;
    /// use trayful::moment::Moment;
    /// // Clocks go forward in New York on 14 March 2027 at 02:00.
    /// let ready = Moment {
    ///     local: "2027-03-14T09:00".parse().unwrap(),
    ///     zone: jiff::tz::TimeZoneDatabase::bundled().get("America/New_York").unwrap(),
    /// };
    /// let hydrate = CourseStep::new(Action::Hydrate, 7.0)?.with_hours(12.0)?;
    /// let times = Times::back_from(&ready, &[hydrate], 1, &Awake::default()).unwrap();
    /// assert_eq!(times.start.datetime().to_string(), "2027-03-13T20:00:00");
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn back_from(ready: &Moment, steps: &[CourseStep], runs: u32, awake: &Awake) -> Option<Self> {
        let attendance = awake.until(ready.zoned()?);
        let timed = runs_until(steps, runs, &attendance)?;
        let runs = timed.iter().map(|run| Run::at(run, steps, &attendance)).collect::<Option<Vec<_>>>()?;
        let start = runs.first()?.begins.clone();
        Some(Self { start, ready: attendance.ready().clone(), runs })
    }

    /// Hours from the last drain of the first run until the coir must be ready.
    pub fn first_waits_hours(&self) -> f64 {
        self.runs.first().map_or(0.0, |run| run.ends.duration_until(&self.ready).as_secs_f64() / 3600.0)
    }
}

/// Calendar days from the first of some steps until the coir must be ready; `None` where [`Times`] has none.
pub(super) fn days_until(steps: &[CourseStep], runs: u32, attendance: &Attendance<'_>) -> Option<u32> {
    let timed = runs_until(steps, runs, attendance)?;
    let [start, _] = timed.first()?.first()?;
    let days = attendance.at(*start)?.date().until(attendance.ready().date()).ok()?.get_days();
    u32::try_from(days).ok()
}

/// The latest runs of some steps, without their drains.
fn runs_until(steps: &[CourseStep], runs: u32, attendance: &Attendance<'_>) -> Option<Vec<Vec<Spell>>> {
    let mut by = attendance.ready().timestamp().as_second();
    let mut timed = Vec::new();
    for _ in 0..runs {
        let run = run_until(by, steps, attendance)?;
        [by, _] = *run.first()?;
        timed.push(run);
    }
    timed.reverse();
    Some(timed)
}

/// The latest run whose last bath has drained by then, each of its steps as short as can be.
fn run_until(by: i64, steps: &[CourseStep], attendance: &Attendance<'_>) -> Option<Vec<Spell>> {
    // Whatever ends within the last day is found within that day's reach.
    let soon = latest_run(by, 1, steps, attendance);
    let soon = soon.filter(|run| run.last().is_some_and(|[_, end]| *end >= by - DAY));
    soon.or_else(|| latest_run(by, EARLIEST_DAYS, steps, attendance))
}

/// The latest run of those that begin within the days before their longest time.
fn latest_run(by: i64, days: i64, steps: &[CourseStep], attendance: &Attendance<'_>) -> Option<Vec<Spell>> {
    let longest = steps.iter().map(|step| limits(step)[1] + drain(step)).sum::<i64>();
    let there = attendance.spells(by - longest - days * DAY, by)?;
    // When each step may begin, and when it may end so that somebody is there for what follows.
    let (mut begins, mut ends) = (Vec::with_capacity(steps.len() + 1), Vec::with_capacity(steps.len()));
    begins.push(there.clone());
    for step in steps {
        let end = shared(&later(begins.last()?, limits(step)), &there);
        begins.push(shared(&later(&end, [drain(step); 2]), &there));
        ends.push(end);
    }
    let mut end = latest(ends.last()?, by - drain(steps.last()?))?;
    let mut timed = Vec::new();
    for (index, step) in steps.iter().enumerate().rev() {
        let begin = latest(&begins[index], end - limits(step)[0])?;
        timed.push([begin, end]);
        end = begin - index.checked_sub(1).map_or(0, |before| drain(&steps[before]));
    }
    timed.reverse();
    Some(timed)
}

impl Run {
    fn at(timed: &[Spell], steps: &[CourseStep], attendance: &Attendance<'_>) -> Option<Self> {
        let hours = |[begin, end]: Spell| (end - begin) as f64 / 3600.0;
        let step = |spell: &Spell| Some(TimedStep { begins: attendance.at(spell[0])?, hours: hours(*spell) });
        let all = timed.iter().map(step).collect::<Option<Vec<_>>>()?;
        let ends = attendance.at(timed.last()?[1] + drain(steps.last()?))?;
        Some(Self { begins: all.first()?.begins.clone(), ends, steps: all })
    }
}

/// The seconds that come between `least` and `most` after those of some spells, which are in order.
fn later(spells: &[Spell], [least, most]: Spell) -> Vec<Spell> {
    let mut all: Vec<Spell> = Vec::with_capacity(spells.len());
    for [from, to] in spells.iter().map(|[from, to]| [from + least, to + most]) {
        match all.last_mut() {
            Some(last) if from <= last[1] => last[1] = last[1].max(to),
            _ => all.push([from, to]),
        }
    }
    all
}

/// The seconds in both; each list in order and apart.
fn shared(some: &[Spell], others: &[Spell]) -> Vec<Spell> {
    let mut both = Vec::with_capacity(some.len().max(others.len()));
    let (mut one, mut other) = (some.iter().peekable(), others.iter().peekable());
    while let (Some([a, b]), Some([c, d])) = (one.peek(), other.peek()) {
        let [from, to] = [*a.max(c), *b.min(d)];
        if from <= to {
            both.push([from, to]);
        }
        if b < d {
            one.next()
        } else {
            other.next()
        };
    }
    both
}

/// The last second of some spells up to a given one.
fn latest(spells: &[Spell], by: i64) -> Option<i64> {
    spells.iter().rev().find(|[from, _]| *from <= by).map(|[_, to]| by.min(*to))
}

/// The least and the most seconds of a step, without its drain.
fn limits(step: &CourseStep) -> Spell {
    let most = if step.action == Action::Soak { LONGEST_BATH_HOURS } else { LONGEST_RINSE_HOURS };
    [minutes(step.hours), minutes(step.hours.max(most))].map(|minutes| minutes * 60)
}

/// Seconds of the drain after a step: wetting has none.
fn drain(step: &CourseStep) -> i64 {
    if step.action == Action::Hydrate { 0 } else { minutes(DRAIN_HOURS) * 60 }
}

/// Hours in whole minutes, rounded up; a step has at most 2000.
fn minutes(hours: f64) -> i64 {
    i64::try_from(whole((hours * 60.0).ceil())).unwrap_or(i64::MAX / 60)
}

/// Hours of one run of a course, drains included.
pub(super) fn run_hours(steps: &[CourseStep]) -> f64 {
    steps.iter().map(|step| limits(step)[0] + drain(step)).sum::<i64>() as f64 / 3600.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Problems;
    use crate::source::{Fields, parse};
    use jiff::SignedDuration;
    use jiff::tz::{TimeZone, TimeZoneDatabase};
    use proptest::prelude::*;

    fn step(action: Action, hours: f64) -> CourseStep {
        CourseStep::new(action, 10.0).unwrap().with_hours(hours).unwrap()
    }

    /// The hours of every day, as a file gives them.
    fn awake(hours: &str) -> Awake {
        let text = format!("awake: {hours}\n");
        let problems = Problems::new(crate::diagnostic::SourceText::argument("week", &text));
        let node = parse(&text, &problems).unwrap();
        let read =
            Fields::read(&node, "a week", &problems, |fields| Some(Awake::read(fields, &Awake::default(), &problems)));
        read.unwrap()
    }

    fn moment(ready: &str, zone: &str) -> Moment {
        Moment { local: ready.parse().unwrap(), zone: TimeZoneDatabase::bundled().get(zone).unwrap() }
    }

    /// An hour of wetting, a day of soaking and its drain: 25.5 hours, not 26.
    #[test]
    fn wetting_does_not_drain() {
        assert_eq!(run_hours(&[step(Action::Hydrate, 1.0), step(Action::Soak, 24.0)]), 25.5);
        assert_eq!(run_hours(&[CourseStep::new(Action::Wash, 10.0).unwrap()]), 1.5);
        assert_eq!(run_hours(&[]), 0.0);
    }

    fn start(ready: &str, zone: &str, hours: f64) -> String {
        let steps = [step(Action::Hydrate, hours)];
        let times = Times::back_from(&moment(ready, zone), &steps, 1, &awake("00:00-24:00")).unwrap();
        times.start.datetime().to_string()
    }

    #[test]
    fn hours_are_elapsed_across_the_change_of_clocks() {
        // Summer time begins in the EU on 28 March 2027 and ends on 31 October 2027,
        // at 01:00 UTC (Directive 2000/84/EC).
        assert_eq!(start("2027-03-28T10:00", "Europe/Paris", 24.0), "2027-03-27T09:00:00");
        assert_eq!(start("2027-10-31T10:00", "Europe/Paris", 24.0), "2027-10-30T11:00:00");
        assert_eq!(start("2027-03-06T10:00", "Europe/Paris", 24.0), "2027-03-05T10:00:00");
    }

    fn usual_course() -> Vec<CourseStep> {
        let [wet, soak, rinse] = [(Action::Hydrate, 1.0), (Action::Soak, 24.0), (Action::Rinse, 1.0)]
            .map(|(action, hours)| step(action, hours));
        vec![wet, soak.clone(), soak, rinse.clone(), rinse]
    }

    fn begins(run: &Run) -> Vec<String> {
        run.steps.iter().map(|step| step.begins.strftime("%a %H:%M").to_string()).collect()
    }

    #[test]
    fn drains_and_steps_add_up() {
        let steps = [step(Action::Hydrate, 1.0), step(Action::Soak, 24.0), step(Action::Rinse, 1.0)];
        let times = Times::back_from(&moment("2027-03-06T10:00", "UTC"), &steps, 1, &awake("00:00-24:00")).unwrap();
        assert_eq!(begins(&times.runs[0]), ["Fri 07:00", "Fri 08:00", "Sat 08:30"]);
    }

    /// From Saturday 10:00 back: two rinses that morning or the evening before, baths of a day or longer, never a step
    /// between 21:00 and 07:00.
    #[test]
    fn steps_wait_for_the_morning() {
        let ready = moment("2027-03-06T10:00", "Europe/Paris");
        let times = Times::back_from(&ready, &usual_course(), 1, &Awake::default()).unwrap();
        assert_eq!(begins(&times.runs[0]), ["Wed 19:00", "Wed 20:00", "Thu 20:30", "Fri 21:00", "Sat 08:30"]);
        let hours: Vec<f64> = times.runs[0].steps.iter().map(|step| step.hours).collect();
        assert_eq!(hours, [1.0, 24.0, 24.0, 11.0, 1.0]);
    }

    #[test]
    fn beyond_the_calendar_there_is_no_time() {
        let ready = Moment { local: "-009999-01-03T00:00".parse().unwrap(), zone: TimeZone::UTC };
        assert!(Times::back_from(&ready, &[step(Action::Soak, 1000.0)], 1, &Awake::default()).is_none());
    }

    /// Three runs of a day and a half hour each: the first begins 73.5 hours before the coir is ready,
    /// across the change to summer time.
    #[test]
    fn runs_follow_each_other() {
        let (ready, always) = (moment("2027-03-29T10:00", "Europe/Paris"), awake("00:00-24:00"));
        let times = Times::back_from(&ready, &[step(Action::Soak, 24.0)], 3, &always).unwrap();
        let local = |at: &ZonedDateTime| at.datetime().to_string();
        assert_eq!(local(&times.start), "2027-03-26T07:30:00");
        let begins: Vec<String> = times.runs.iter().map(|run| local(&run.begins)).collect();
        assert_eq!(begins, ["2027-03-26T07:30:00", "2027-03-27T08:00:00", "2027-03-28T09:30:00"]);
        assert_eq!(times.runs[0].ends, times.runs[1].begins);
        assert_eq!(times.runs[2].ends, times.ready);
        assert_eq!(times.first_waits_hours(), 49.0);
        assert!(Times::back_from(&ready, &[step(Action::Soak, 24.0)], 0, &always).is_none());
    }

    /// A rinse of at most 12 hours needs somebody twice in that time: not where one is there for five minutes a day.
    #[test]
    fn hours_that_are_too_short_fit_nothing() {
        let ready = moment("2027-03-06T20:30", "Europe/Paris");
        assert!(Times::back_from(&ready, &usual_course(), 1, &awake("18:00-18:05")).is_none());
        let evenings = Times::back_from(&ready, &usual_course(), 1, &awake("18:00-21:00")).unwrap();
        assert_eq!(begins(&evenings.runs[0]), ["Tue 19:30", "Tue 20:30", "Wed 21:00", "Fri 18:30", "Fri 20:00"]);
        assert_eq!(evenings.runs[0].steps[2].hours, 45.0);
    }

    proptest! {
        /// Over random hours, zones and courses: whatever begins, begins while somebody is there; no step is shorter
        /// than its hours or longer than it may be; no run begins before the last drain of the one before.
        #[test]
        fn no_step_begins_outside_awake(
            (from, length) in (0_u16..1439, 60_u16..900),
            (day, hour) in (1_i8..29, 0_i8..24),
            zone in prop::sample::select(vec!["Europe/Paris", "America/New_York", "Asia/Kolkata"]),
            course in prop::collection::vec((0_usize..4, 1_u8..30), 1..7),
            runs in 1_u32..4,
        ) {
            let to = (from + length) % 1440;
            let awake = awake(&format!("{:02}:{:02}-{:02}:{:02}", from / 60, from % 60, to / 60, to % 60));
            let actions = [Action::Hydrate, Action::Wash, Action::Soak, Action::Rinse];
            let steps: Vec<_> = course.iter().map(|(action, hours)| step(actions[*action], f64::from(*hours))).collect();
            let ready = moment(&format!("2027-03-{day:02}T{hour:02}:15"), zone);
            let Some(times) = Times::back_from(&ready, &steps, runs, &awake) else { return Ok(()) };
            let mut before: Option<ZonedDateTime> = None;
            for run in &times.runs {
                prop_assert!(before.is_none_or(|before| before <= run.begins));
                for (index, (timed, step)) in run.steps.iter().zip(&steps).enumerate() {
                    prop_assert!(awake.holds(&timed.begins), "{} {awake:?}", timed.begins);
                    let [least, most] = limits(step).map(|seconds| seconds as f64 / 3600.0);
                    prop_assert!((least..=most).contains(&timed.hours));
                    let seconds = i64::try_from(whole((timed.hours * 3600.0).round())).unwrap();
                    let drains = timed.begins.checked_add(SignedDuration::from_secs(seconds)).unwrap();
                    prop_assert!(awake.holds(&drains), "{drains} {awake:?}");
                    let next = run.steps.get(index + 1).map_or(&run.ends, |next| &next.begins);
                    prop_assert_eq!(&drains.checked_add(SignedDuration::from_secs(drain(step))).unwrap(), next);
                }
                before = Some(run.ends.clone());
            }
            prop_assert!(before.is_some_and(|before| before <= times.ready));
        }
    }
}
