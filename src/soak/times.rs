//! When to start: worked back from when the coir must be ready, in elapsed hours.

use crate::coir::{Action, Course};
use crate::week::Moment;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, ZonedDateTime};

/// Hours to let a bath drain: until it hardly drips. Common practice, no source.
const DRAIN_HOURS: f64 = 0.5;

/// The steps of a course on the clock.
#[derive(Clone, Debug)]
pub struct Times {
    /// When the first step begins.
    pub start: ZonedDateTime,
    /// When the last bath has drained.
    pub ready: ZonedDateTime,
    /// The steps.
    pub steps: Vec<Timed>,
}

/// When a step begins.
#[derive(Clone, Debug)]
pub struct Timed {
    /// Index of the step in the course.
    pub step: usize,
    /// When it begins.
    pub at: ZonedDateTime,
}

impl Times {
    /// Worked back from `ready`; `None` beyond the calendar.
    ///
    /// Hours are elapsed time: across a change of the clocks twelve hours end an hour
    /// earlier or later by the clock on the wall.
    ///
    /// ```
    /// use trayful::soak::Times;
    /// # use trayful::week::Moment;
    /// // Clocks go forward in New York on 14 March 2027 at 02:00.
    /// let ready = Moment {
    ///     local: "2027-03-14T09:00".parse().unwrap(),
    ///     zone: jiff::tz::TimeZoneDatabase::bundled().get("America/New_York").ok(),
    /// };
    /// let times = Times::back_from(&ready, &[(12.0, false)]).unwrap();
    /// assert_eq!(times.start.datetime().to_string(), "2027-03-13T20:00:00");
    /// ```
    #[must_use]
    pub fn back_from(ready: &Moment, steps: &[(f64, bool)]) -> Option<Self> {
        let zone = ready.zone.clone().unwrap_or_else(TimeZone::system);
        let ready = ready.local.to_zoned_datetime(zone).ok()?;
        let mut at = ready.clone();
        let mut timed = Vec::with_capacity(steps.len());
        for (step, (hours, drains)) in steps.iter().enumerate().rev() {
            let hours = hours + if *drains { DRAIN_HOURS } else { 0.0 };
            #[expect(clippy::cast_possible_truncation, reason = "hours of a step are at most a thousand")]
            let minutes = (hours * 60.0).ceil() as i64;
            at = at.checked_sub(SignedDuration::from_mins(minutes)).ok()?;
            timed.push(Timed { step, at: at.clone() });
        }
        timed.reverse();
        Some(Self { start: at, ready, steps: timed })
    }

    /// The times of a course; steps without hours of their own take one.
    #[must_use]
    pub fn of(course: &Course, ready: &Moment) -> Option<Self> {
        let steps: Vec<(f64, bool)> =
            course.steps().iter().map(|step| (step.hours().unwrap_or(1.0), step.action() != Action::Hydrate)).collect();
        Self::back_from(ready, &steps)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz::TimeZoneDatabase;

    fn start(ready: &str, zone: &str, hours: f64) -> String {
        let ready = Moment { local: ready.parse().unwrap(), zone: TimeZoneDatabase::bundled().get(zone).ok() };
        Times::back_from(&ready, &[(hours, false)]).unwrap().start.datetime().to_string()
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
        let ready = Moment { local: "2027-03-06T10:00".parse().unwrap(), zone: Some(TimeZone::UTC) };
        let times = Times::back_from(&ready, &[(1.0, false), (24.0, true), (1.0, true)]).unwrap();
        let at: Vec<String> = times.steps.iter().map(|step| step.at.datetime().to_string()).collect();
        assert_eq!(at, ["2027-03-05T07:00:00", "2027-03-05T08:00:00", "2027-03-06T08:30:00"]);
    }

    #[test]
    fn beyond_the_calendar_there_is_no_time() {
        let ready = Moment { local: "-009999-01-03T00:00".parse().unwrap(), zone: Some(TimeZone::UTC) };
        assert!(Times::back_from(&ready, &[(1000.0, true)]).is_none());
    }
}
