//! The worksheet: a designed or an explicit course, and what it comes to.

use super::times::{KEEPS_HOURS, run_hours};
use super::{Soak, Times, salts};
use crate::coir::{
    Brief, BufferTarget, CoirError, Comparison, Course, CourseReport, Design, Model, Salt, Verdict, compare,
};
use crate::moment::Moment;

/// A worksheet.
#[derive(Clone, Debug)]
pub struct Worksheet {
    /// The steps, for all of the coir.
    pub course: Course,
    /// What they come to.
    pub report: CourseReport,
    /// The target, where the course is held against one.
    pub target: Option<BufferTarget>,
    /// Whether the target is met; `None` for an explicit course without one.
    pub verdict: Option<Verdict>,
    /// In the grower's own tub: how often, each time with an equal share.
    pub runs: u32,
    /// Hours that the coir of the first run waits for that of the last.
    pub first_waits_hours: f64,
    /// The same with other salts, if asked for.
    pub compared: Vec<Comparison>,
}

impl Worksheet {
    /// The coir of the first run is older than it keeps when that of the last is ready.
    #[must_use]
    pub fn grows_stale(&self) -> bool {
        self.first_waits_hours > KEEPS_HOURS
    }

    /// There is a target, and the course does not meet it.
    #[must_use]
    pub fn misses_target(&self) -> bool {
        matches!(self.verdict, Some(Verdict::OutOfReach(_)))
    }

    /// The times of all runs of the one tub; `None` beyond the calendar.
    #[must_use]
    pub fn times(&self, ready: &Moment) -> Option<Times> {
        Times::back_from(ready, self.course.steps(), self.runs)
    }
}

impl Soak {
    /// Works the soak out for so much dry coir, and side by side with every other salt if that is asked for; `None` for
    /// coir that needs no course.
    ///
    /// # Errors
    /// [`CoirError`] for amounts outside what the model stands for.
    pub fn work_out(&self, dry_kg: f64, side_by_side: bool) -> Result<Option<Worksheet>, CoirError> {
        let Some(coir) = self.coir.coir() else { return Ok(None) };
        let model = Model { convention: self.convention, ..Model::default() };
        let others: Vec<Salt> = salts().iter().map(|entry| entry.salt.clone()).filter(Salt::is_for_baths).collect();
        let target = self.target.unwrap_or_default();
        let brief = Brief::new(dry_kg, coir, self.salt.clone())?
            .with_target(target)
            .with_tap(self.tap)
            .with_model(model)
            .with_alternatives(others.iter().cloned())
            .with_soak_hours(self.hours)?
            .with_soaks(self.soaks)?;
        let compared = if side_by_side { compare(&brief, &others)? } else { Vec::new() };
        let (design, held) = match &self.course {
            Some(steps) => {
                let course = Course::new(dry_kg, coir, self.tap, steps.clone(), model)?;
                (judged(course, &target), self.target.is_some())
            }
            None if self.target.is_none() => (brief.design_usual()?, true),
            None => (brief.design()?, true),
        };
        let runs = self.tub_l.map_or(Ok(1), |tub_l| design.report.tub.runs(tub_l))?;
        Ok(Some(Worksheet {
            first_waits_hours: f64::from(runs - 1) * run_hours(design.course.steps()),
            course: design.course,
            report: design.report,
            target: held.then_some(target),
            verdict: held.then_some(design.verdict),
            runs,
            compared,
        }))
    }
}

/// The grower's own course against a target: nothing else is tried.
fn judged(course: Course, target: &BufferTarget) -> Design {
    let report = course.report();
    let met = target.is_met(&report.sites, report.rinse_ec_ms_cm);
    Design { course, report, verdict: if met { Verdict::Met } else { Verdict::OutOfReach(Vec::new()) } }
}
