//! The course as entries of a calendar.

use super::SoakReport;
use crate::coir::Action;
use crate::exact::whole;
use crate::report::ics::{Event, When};
use crate::report::words::{and, salt, salt_safety, water};
use crate::units::{UnitSystem, plain};
use jiff::ZonedDateTime;
use std::time::Duration;

impl SoakReport<'_> {
    /// The steps on the clock, each with what it takes, and the last drain.
    pub fn events(&self, units: UnitSystem) -> Vec<Event> {
        let Some((sheet, times)) = self.soaking.sheet.as_ref().zip(self.soaking.times.as_ref()) else {
            return Vec::new();
        };
        let (steps, share) = (&sheet.course.steps, 1.0 / f64::from(sheet.runs));
        let event = |at: ZonedDateTime, what: String, why: String| Event {
            when: When::Hour(at),
            code: "coir",
            whose: String::new(),
            what,
            why,
            alarm: true,
            is_over: false,
        };
        let mut events = Vec::new();
        for (run, timed) in (1..).zip(&times.runs) {
            let runs = (run, times.runs.len());
            for (number, (step, timed)) in (1..).zip(steps.iter().zip(&timed.steps)) {
                let (what, _) = soak_step(step.action, number, runs, &[]);
                let salts = step.salt_g();
                let salts = salts.iter().map(|(name, grams)| format!("{} of {name}", salt(*grams * share, units)));
                let takes = and(std::iter::once(water(step.water_l * share, units) + " of water").chain(salts));
                let drain = if number > 1 { "; drain first" } else { "" };
                let why = format!("step {number} of {}: {takes}, {} h{drain}", steps.len(), plain(timed.hours, 1));
                events.push(event(timed.begins.clone(), what, why));
            }
            if let Some(last) = timed.steps.last() {
                let ended = Duration::from_secs(whole((last.hours * 3600.0).round()));
                let at = last.begins.checked_add(ended).unwrap_or_else(|_| timed.ends.clone());
                let of_run = if runs.1 > 1 { format!("run {run} of {}: ", runs.1) } else { String::new() };
                events.push(event(at, format!("{of_run}drain the coir"), "the end of its course".to_owned()));
            }
        }
        let cautions = sheet.course.salts().filter_map(salt_safety).collect::<Vec<_>>();
        if let Some(first) = events.first_mut().filter(|_| !cautions.is_empty()) {
            first.why += &format!("\n{}", cautions.join("\n"));
        }
        events
    }
}

/// A step of a course and why then.
pub(in crate::report) fn soak_step(
    action: Action,
    number: usize,
    (run, runs): (usize, usize),
    rest: &[Action],
) -> (String, String) {
    let what = match action {
        Action::Hydrate => "wet the coir",
        Action::Wash => "wash the coir",
        Action::Soak if number == 1 => "wet the coir in its calcium bath",
        Action::Soak => "calcium bath for the coir",
        Action::Rinse => "rinse the coir",
    };
    let of_run = if runs > 1 { format!("run {run} of {runs}: ") } else { String::new() };
    let why = match number {
        1 => "step 1 of its course".to_owned(),
        _ => format!("step {number}; drain first"),
    };
    let rest = match run {
        _ if rest.is_empty() => String::new(),
        1 => format!(", then {} by the worksheet", and(rest.iter().map(|action| action.word()))),
        _ => format!(", then the same {} steps", rest.len()),
    };
    (format!("{of_run}{what}{rest}"), why)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_many_runs_the_steps_are_told_once() {
        assert_eq!(soak_step(Action::Soak, 2, (1, 1), &[]).1, "step 2; drain first");
        let rest = [Action::Wash, Action::Wash, Action::Soak, Action::Rinse];
        let of_run = |run| soak_step(Action::Hydrate, 1, (run, 4), &rest).0;
        let told = "run 1 of 4: wet the coir, then wash, wash, soak and rinse by the worksheet";
        assert_eq!((&*of_run(1), &*of_run(2)), (told, "run 2 of 4: wet the coir, then the same 4 steps"));
    }
}
