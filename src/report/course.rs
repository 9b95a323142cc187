//! The course of the coir on the clock, to be drawn.

use super::picture::{Course, Drawn, Picture};
use crate::coir::Action;
use crate::plan::Soaking;
use jiff::ZonedDateTime;

/// A course of more days than this is not drawn.
const MOST_DAYS: usize = 21;

/// The runs of a course, one below the other, with the hours when nobody is there.
pub(super) fn picture(soaking: &Soaking) -> Option<Picture> {
    let (times, sheet) = soaking.times.as_ref().zip(soaking.sheet.as_ref())?;
    let start = times.start.start_of_day().ok()?;
    let end = times.runs.iter().map(|run| &run.ends).chain([&times.ready]).max()?;
    let since = |at: &ZonedDateTime| at.duration_since(&start).as_secs_f64();
    let mut days = Vec::new();
    let mut day = start.clone();
    while day < *end && days.len() <= MOST_DAYS {
        let next = day.tomorrow().ok()?;
        days.push((day.strftime("%a %-d %b").to_string(), [since(&day), since(&next).min(since(end))]));
        day = next;
    }
    let from = start.timestamp().as_second();
    let nights = soaking.soak.awake.until(end.clone()).absences(from, end.timestamp().as_second())?;
    let nights = nights.into_iter().map(|night| night.map(|second| (second - from) as f64)).collect();
    let mut spells = Vec::new();
    for (row, run) in times.runs.iter().enumerate() {
        for (timed, step) in run.steps.iter().zip(&sheet.course.steps) {
            let begins = since(&timed.begins);
            spells.push((name(step.action).to_owned(), row, [begins, begins + timed.hours * 3600.0]));
        }
    }
    let [first, last] = [&times.start, &times.ready].map(|at| at.strftime("%a %-d %b, %H:%M"));
    let of = Drawn::Course(Course { seconds: since(end), days, nights, spells });
    let is_short = since(end) <= MOST_DAYS as f64 * 24.0 * 3600.0 && times.runs.len() <= MOST_DAYS;
    is_short.then(|| Picture { says: format!("The course of the coir, from {first} to {last}"), of })
}

const fn name(action: Action) -> &'static str {
    match action {
        Action::Hydrate => "wet",
        Action::Wash => "wash",
        Action::Soak => "bath",
        Action::Rinse => "rinse",
    }
}
