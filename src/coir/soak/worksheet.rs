//! The worksheet: a designed or an explicit course, and what it comes to.

use super::salts::bath_salts;
use super::times::{KEEPS_HOURS, run_hours};
use super::{Soak, Times};
use crate::coir::{Brief, BufferTarget, CoirError, Course, CourseReport, Design, Verdict};
use crate::moment::Moment;

/// A worksheet.
#[derive(Clone, Debug)]
pub struct Worksheet {
    /// The steps, for all of the coir.
    pub course: Course,
    /// What they come to.
    pub report: CourseReport,
    /// The target and whether it is met; `None` for the grower's own course without a target.
    pub target: Option<(BufferTarget, Verdict)>,
    /// In the grower's own tub: how often, each time with an equal share.
    pub runs: u32,
    /// Hours that the coir of the first run waits for that of the last.
    pub first_waits_hours: f64,
    /// The same designed with each of some salts, by name, if that is asked for.
    pub compared: Vec<(String, Design)>,
}

impl Worksheet {
    /// The coir of the first run is older than it keeps when that of the last is ready.
    pub fn grows_stale(&self) -> bool {
        self.first_waits_hours > KEEPS_HOURS
    }

    /// There is a target, and the course does not meet it.
    pub fn misses_target(&self) -> bool {
        matches!(self.target, Some((_, Verdict::OutOfReach(_))))
    }

    /// The times of all runs of the one tub; `None` beyond the calendar.
    pub fn times(&self, ready: &Moment) -> Option<Times> {
        Times::back_from(ready, &self.course.steps, self.runs)
    }
}

impl Soak {
    /// Works the soak out for so much dry coir; `None` for coir that needs no course.
    ///
    /// # Errors
    /// [`CoirError`] for amounts outside what the model stands for.
    pub fn work_out(&self, dry_kg: f64) -> Result<Option<Worksheet>, CoirError> {
        let Some(coir) = self.coir.coir() else { return Ok(None) };
        let target = self.target.unwrap_or_default();
        let brief = Brief {
            target,
            soaks: self.soaks,
            soak_hours: self.hours,
            tap: self.tap,
            model: self.model,
            alternatives: bath_salts().cloned().collect(),
            ..Brief::new(dry_kg, coir, self.salt.clone())
        };
        let compared = if self.compare { brief.compare(&brief.alternatives)? } else { Vec::new() };
        let Design { course, report, verdict } = match (&self.course, self.target) {
            (Some(steps), _) => {
                Design::judged(Course::new(dry_kg, coir, self.tap, steps.clone(), self.model)?, &target)
            }
            (None, Some(_)) => brief.design()?,
            (None, None) => brief.design_usual()?,
        };
        let held_against_target = self.course.is_none() || self.target.is_some();
        let runs = self.tub_l.map_or(Ok(1), |tub_l| report.tub.runs(tub_l))?;
        Ok(Some(Worksheet {
            first_waits_hours: f64::from(runs - 1) * run_hours(&course.steps),
            course,
            report,
            target: held_against_target.then_some((target, verdict)),
            runs,
            compared: brief.alternatives.iter().map(|salt| salt.name.clone()).zip(compared).collect(),
        }))
    }
}
