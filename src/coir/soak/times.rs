//! When to start: worked back from when the coir must be ready, in elapsed hours.

use crate::coir::{Action, CourseStep};
use crate::exact::whole;
use crate::moment::Moment;
use jiff::{SignedDuration, ZonedDateTime};
use serde::Serialize;

/// Hours to let a bath drain: until it hardly drips. Common practice, no source.
const DRAIN_HOURS: f64 = 0.5;

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
#[derive(Clone, Debug, Serialize)]
pub struct Run {
    /// When its first step begins.
    #[serde(serialize_with = "crate::moment::serialize_rfc3339")]
    pub begins: ZonedDateTime,
    /// When its last bath has drained.
    #[serde(serialize_with = "crate::moment::serialize_rfc3339")]
    pub ends: ZonedDateTime,
    /// When each step of the course begins.
    #[serde(skip)]
    pub steps: Vec<ZonedDateTime>,
}

impl Times {
    /// Worked back from `ready`, for the steps of a course in so many runs of one tub; `None` beyond the calendar and
    /// without a run.
    ///
    /// Hours are elapsed time: across a change of the clocks twelve hours end an hour
    /// earlier or later by the clock on the wall.
    ///
    /// ```
    /// use trayful::coir::{Action, CourseStep};
    /// use trayful::coir::soak::Times;
    /// use trayful::moment::Moment;
    /// // Clocks go forward in New York on 14 March 2027 at 02:00.
    /// let ready = Moment {
    ///     local: "2027-03-14T09:00".parse().unwrap(),
    ///     zone: jiff::tz::TimeZoneDatabase::bundled().get("America/New_York").unwrap(),
    /// };
    /// let hydrate = CourseStep::new(Action::Hydrate, 7.0)?.with_hours(12.0)?;
    /// let times = Times::back_from(&ready, &[hydrate], 1).unwrap();
    /// assert_eq!(times.start.datetime().to_string(), "2027-03-13T20:00:00");
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn back_from(ready: &Moment, steps: &[CourseStep], runs: u32) -> Option<Self> {
        let ready = ready.zoned()?;
        let mut at = ready.clone();
        let mut timed = Vec::new();
        for _ in 0..runs {
            let ends = at.clone();
            let mut begin = Vec::new();
            for step in steps.iter().rev() {
                at = at.checked_sub(SignedDuration::from_mins(i64::try_from(minutes(step)).ok()?)).ok()?;
                begin.insert(0, at.clone());
            }
            timed.insert(0, Run { begins: at.clone(), ends, steps: begin });
        }
        (runs > 0).then_some(Self { start: at, ready, runs: timed })
    }
}

/// Hours of one run of a course, drains included.
pub(super) fn run_hours(steps: &[CourseStep]) -> f64 {
    steps.iter().map(minutes).sum::<u64>() as f64 / 60.0
}

/// Whole minutes of a step and its drain.
fn minutes(step: &CourseStep) -> u64 {
    let drain = if step.action == Action::Hydrate { 0.0 } else { DRAIN_HOURS };
    whole(((step.hours + drain) * 60.0).ceil())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz::{TimeZone, TimeZoneDatabase};

    fn step(action: Action, hours: f64) -> CourseStep {
        CourseStep::new(action, 10.0).unwrap().with_hours(hours).unwrap()
    }

    /// An hour of wetting, a day of soaking and its drain: 25.5 hours, not 26.
    #[test]
    fn wetting_does_not_drain() {
        assert_eq!(run_hours(&[step(Action::Hydrate, 1.0), step(Action::Soak, 24.0)]), 25.5);
        assert_eq!(run_hours(&[CourseStep::new(Action::Wash, 10.0).unwrap()]), 1.5);
        assert_eq!(run_hours(&[]), 0.0);
    }

    fn start(ready: &str, zone: &str, hours: f64) -> String {
        let ready = Moment { local: ready.parse().unwrap(), zone: TimeZoneDatabase::bundled().get(zone).unwrap() };
        Times::back_from(&ready, &[step(Action::Hydrate, hours)], 1).unwrap().start.datetime().to_string()
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
        let times = Times::back_from(
            &ready,
            &[step(Action::Hydrate, 1.0), step(Action::Soak, 24.0), step(Action::Rinse, 1.0)],
            1,
        )
        .unwrap();
        let at: Vec<String> = times.runs[0].steps.iter().map(|at| at.datetime().to_string()).collect();
        assert_eq!(at, ["2027-03-05T07:00:00", "2027-03-05T08:00:00", "2027-03-06T08:30:00"]);
    }

    #[test]
    fn beyond_the_calendar_there_is_no_time() {
        let ready = Moment { local: "-009999-01-03T00:00".parse().unwrap(), zone: TimeZone::UTC };
        assert!(Times::back_from(&ready, &[step(Action::Soak, 1000.0)], 1).is_none());
    }

    /// Three runs of a day and a half hour each: the first begins 73.5 hours before the coir is ready,
    /// across the change to summer time.
    #[test]
    fn runs_follow_each_other() {
        let zone = TimeZoneDatabase::bundled().get("Europe/Paris").unwrap();
        let ready = Moment { local: "2027-03-29T10:00".parse().unwrap(), zone };
        let times = Times::back_from(&ready, &[step(Action::Soak, 24.0)], 3).unwrap();
        let local = |at: &ZonedDateTime| at.datetime().to_string();
        assert_eq!(local(&times.start), "2027-03-26T07:30:00");
        let begins: Vec<String> = times.runs.iter().map(|run| local(&run.begins)).collect();
        assert_eq!(begins, ["2027-03-26T07:30:00", "2027-03-27T08:00:00", "2027-03-28T09:30:00"]);
        assert_eq!(times.runs[0].ends, times.runs[1].begins);
        assert_eq!(times.runs[2].ends, times.ready);
        assert!(Times::back_from(&ready, &[step(Action::Soak, 24.0)], 0).is_none());
    }
}
