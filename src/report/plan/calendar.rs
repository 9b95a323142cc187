//! The calendar: what to do when, and why.

use super::PlanReport;
use crate::coir::Action;
use crate::moment::rfc3339;
use crate::plan::{Entry, Task};
use crate::report::document::{Document, Table};
use crate::report::words::{and, batches_of};
use serde_json::{Value, json};

impl PlanReport<'_> {
    pub(super) fn calendar(&self, document: &mut Document) {
        if self.plan.calendar.is_empty() {
            return;
        }
        document.heading("Calendar");
        let row = |entry: &Entry| {
            let (what, why) = task(&entry.task);
            let hour = if entry.task.is_for_a_day() { "%a %-d %b" } else { "%a %-d %b %H:%M" };
            [entry.at.strftime(hour).to_string(), what, why]
        };
        document.table(Table::of(["when", "what", "why"], self.plan.calendar.iter().map(row)));
    }
}

/// An entry for scripts: the time by RFC 3339 with its offset, a date alone where no hour
/// is meant.
pub(super) fn entry_json(entry: &Entry) -> Value {
    let (what, why) = task(&entry.task);
    let at = if entry.task.is_for_a_day() { entry.at.date().to_string() } else { rfc3339(&entry.at) };
    json!({"at": at, "do": what, "why": why})
}

/// A thing to do and why.
fn task(task: &Task) -> (String, String) {
    let (what, why) = match task {
        Task::Soak { action, number, run, runs, alone } => return soak_step(*action, *number, (*run, *runs), *alone),
        Task::Lime { batches, inoculated } => {
            let of = batches_of(batches);
            let rest = if *inoculated { "the rest, the inoculant last," } else { "the rest" };
            (
                format!("better: mix and wet the peat and lime of {of} now; {rest} goes in on the sowing day"),
                "lime takes about a week to act: test with a pH strip then",
            )
        }
        Task::WetPeat { for_lime } => {
            let better = if *for_lime { "better: " } else { "" };
            (format!("{better}wet the peat, with warm water"), "dry peat sheds water")
        }
        Task::WetCoir(half) => {
            let of = half.map_or_else(String::new, |half| format!(" for `{}`", half.label()));
            (format!("wet the coir{of}, not to dripping"), "a dry block swells slowly")
        }
        Task::Mix => return ("mix, fill and sow".to_owned(), String::new()),
        Task::Fill => return ("fill and sow".to_owned(), String::new()),
        Task::Emerge { crops, days: (first, last) } => {
            let days = if first == last { first.to_string() } else { format!("{first}-{last}") };
            return (format!("first {} up", and(crops)), format!("{days} days"));
        }
        Task::Feed { crops, fed_mix, potted_on } => {
            let crops = and(crops);
            match (fed_mix, potted_on) {
                (true, true) => (format!("feed the potted-on {crops}"), "the new mix feeds till then"),
                (false, true) => (format!("feed the potted-on {crops}, 25-50 ppm N"), "the new mix holds no food"),
                (true, false) => (format!("at true leaves, first feed: {crops}"), "the mix feeds till then"),
                _ => (
                    format!("first feed, 25-50 ppm N, from the first open cotyledons on: {crops}"),
                    "the mix holds no food",
                ),
            }
        }
    };
    (what, format!("{why} (common practice)"))
}

fn soak_step(action: Action, number: usize, (run, runs): (usize, usize), alone: bool) -> (String, String) {
    let what = match action {
        Action::Hydrate => "wet the coir",
        Action::Wash => "wash the coir",
        Action::Soak if number == 1 => "wet the coir in its calcium bath",
        Action::Soak => "calcium bath for the coir",
        Action::Rinse => "rinse the coir",
    };
    let of_run = if runs > 1 { format!("run {run} of {runs}: ") } else { String::new() };
    let why = match number {
        _ if alone => "the other steps follow by the worksheet".to_owned(),
        1 => "step 1 of its course".to_owned(),
        _ => format!("step {number}; drain first"),
    };
    (format!("{of_run}{what}"), why)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_hour_is_a_date() {
        let at: jiff::ZonedDateTime = "2027-03-06T10:00[Europe/Paris]".parse().unwrap();
        let of = |task: Task| entry_json(&Entry { at: at.clone(), task })["at"].clone();
        assert_eq!(of(Task::Mix), "2027-03-06T10:00:00+01:00");
        assert_eq!(of(Task::Emerge { crops: Vec::new(), days: (5, 8) }), "2027-03-06");
        assert_eq!(of(Task::Feed { crops: Vec::new(), fed_mix: true, potted_on: false }), "2027-03-06");
    }

    #[test]
    fn of_many_runs_only_the_first_step_is_told() {
        assert_eq!(soak_step(Action::Soak, 2, (1, 1), false).1, "step 2; drain first");
        let (what, why) = soak_step(Action::Hydrate, 1, (2, 40), true);
        assert_eq!((&*what, &*why), ("run 2 of 40: wet the coir", "the other steps follow by the worksheet"));
    }
}
