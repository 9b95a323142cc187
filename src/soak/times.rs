//! When to start: worked back from when the coir must be ready, in elapsed hours.

use crate::coir::{Action, Course, Step};
use crate::moment::Moment;
use jiff::{SignedDuration, ZonedDateTime};

/// Hours to let a bath drain: until it hardly drips. Common practice, no source.
const DRAIN_HOURS: f64 = 0.5;

/// Hours of a step that does not say how long it takes.
const UNSAID_HOURS: f64 = 1.0;
/// Hours that wet coir keeps: about three days. Common practice, no source.
pub const KEEPS_HOURS: f64 = 72.0;

/// A course on the clock, each run of the tub after the one before.
#[derive(Clone, Debug)]
pub struct Times {
    /// When the first step of the first run begins.
    pub start: ZonedDateTime,
    /// When the last bath of the last run has drained.
    pub ready: ZonedDateTime,
    /// The runs, at least one.
    pub runs: Vec<Run>,
}

/// One filling of the tub, from the first step to the last drain.
#[derive(Clone, Debug)]
pub struct Run {
    /// When its first step begins.
    pub begins: ZonedDateTime,
    /// When its last bath has drained.
    pub ends: ZonedDateTime,
    /// When each step of the course begins.
    pub steps: Vec<ZonedDateTime>,
}

impl Times {
    /// Worked back from `ready`, for steps of so many hours that drain or not; `None`
    /// beyond the calendar and without a run.
    ///
    /// Hours are elapsed time: across a change of the clocks twelve hours end an hour
    /// earlier or later by the clock on the wall.
    ///
    /// ```
    /// use trayful::soak::Times;
    /// # use trayful::moment::Moment;
    /// // Clocks go forward in New York on 14 March 2027 at 02:00.
    /// let ready = Moment {
    ///     local: "2027-03-14T09:00".parse().unwrap(),
    ///     zone: jiff::tz::TimeZoneDatabase::bundled().get("America/New_York").unwrap(),
    /// };
    /// let times = Times::back_from(&ready, &[(12.0, false)], 1).unwrap();
    /// assert_eq!(times.start.datetime().to_string(), "2027-03-13T20:00:00");
    /// ```
    #[must_use]
    pub fn back_from(ready: &Moment, steps: &[(f64, bool)], runs: u32) -> Option<Self> {
        let ready = ready.zoned()?;
        let mut at = ready.clone();
        let mut timed = Vec::new();
        for _ in 0..runs {
            let ends = at.clone();
            let mut begin = Vec::with_capacity(steps.len());
            for step in steps.iter().rev() {
                at = at.checked_sub(SignedDuration::from_mins(minutes(*step))).ok()?;
                begin.push(at.clone());
            }
            begin.reverse();
            timed.push(Run { begins: at.clone(), ends, steps: begin });
        }
        timed.reverse();
        (!timed.is_empty()).then_some(Self { start: at, ready, runs: timed })
    }

    /// The times of a course in so many runs of one tub.
    #[must_use]
    pub fn of(course: &Course, runs: u32, ready: &Moment) -> Option<Self> {
        Self::back_from(ready, &steps(course), runs)
    }
}

/// Hours that a step takes on the clock, without its drain; steps without hours of their
/// own take one.
#[must_use]
pub fn hours_of(step: &Step) -> f64 {
    step.hours().unwrap_or(UNSAID_HOURS)
}

/// Hours of one run of a course, drains included.
pub(super) fn run_hours(course: &Course) -> f64 {
    steps(course).into_iter().map(minutes).sum::<i64>() as f64 / 60.0
}

fn steps(course: &Course) -> Vec<(f64, bool)> {
    course.steps().iter().map(|step| (hours_of(step), step.action() != Action::Hydrate)).collect()
}

/// Whole minutes of a step and its drain.
fn minutes((hours, drains): (f64, bool)) -> i64 {
    let hours = hours + if drains { DRAIN_HOURS } else { 0.0 };
    #[expect(clippy::cast_possible_truncation, reason = "hours of a step are at most two thousand")]
    let minutes = (hours * 60.0).ceil() as i64;
    minutes
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz::{TimeZone, TimeZoneDatabase};

    fn start(ready: &str, zone: &str, hours: f64) -> String {
        let ready = Moment { local: ready.parse().unwrap(), zone: TimeZoneDatabase::bundled().get(zone).unwrap() };
        Times::back_from(&ready, &[(hours, false)], 1).unwrap().start.datetime().to_string()
    }

    #[test]
    fn hours_are_elapsed_across_the_change_of_clocks() {
        // Summer time begins in the EU on 28 March 2027 and ends on 31 October 2027,
        // at 01:00 UTC (Directive 2000/84/EC).
        assert_eq!(start("2027-03-28T10:00", "Europe/Paris", 24.0), "2027-03-27T09:00:00");
        assert_eq!(start("2027-10-31T10:00", "Europe/Paris", 24.0), "2027-10-30T11:00:00");
        assert_eq!(start("2027-03-06T10:00", "Europe/Paris", 24.0), "2027-03-05T10:00:00");
    }

    #[test]
    fn drains_and_steps_add_up() {
        let ready = Moment { local: "2027-03-06T10:00".parse().unwrap(), zone: TimeZone::UTC };
        let times = Times::back_from(&ready, &[(1.0, false), (24.0, true), (1.0, true)], 1).unwrap();
        let at: Vec<String> = times.runs[0].steps.iter().map(|at| at.datetime().to_string()).collect();
        assert_eq!(at, ["2027-03-05T07:00:00", "2027-03-05T08:00:00", "2027-03-06T08:30:00"]);
    }

    #[test]
    fn beyond_the_calendar_there_is_no_time() {
        let ready = Moment { local: "-009999-01-03T00:00".parse().unwrap(), zone: TimeZone::UTC };
        assert!(Times::back_from(&ready, &[(1000.0, true)], 1).is_none());
    }

    /// Three runs of a day and a half hour each: the first begins 73.5 hours before the coir is ready,
    /// across the change to summer time.
    #[test]
    fn runs_follow_each_other() {
        let zone = TimeZoneDatabase::bundled().get("Europe/Paris").unwrap();
        let ready = Moment { local: "2027-03-29T10:00".parse().unwrap(), zone };
        let times = Times::back_from(&ready, &[(24.0, true)], 3).unwrap();
        let local = |at: &ZonedDateTime| at.datetime().to_string();
        assert_eq!(local(&times.start), "2027-03-26T07:30:00");
        let begins: Vec<String> = times.runs.iter().map(|run| local(&run.begins)).collect();
        assert_eq!(begins, ["2027-03-26T07:30:00", "2027-03-27T08:00:00", "2027-03-28T09:30:00"]);
        assert_eq!(times.runs[0].ends, times.runs[1].begins);
        assert_eq!(times.runs[2].ends, times.ready);
        assert!(Times::back_from(&ready, &[(24.0, true)], 0).is_none());
    }
}
