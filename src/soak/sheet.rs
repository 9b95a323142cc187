//! The worksheet: a designed or an explicit course, and what it comes to.

use super::Soak;
use super::times::{KEEPS_HOURS, run_hours};
use crate::coir::{
    Brief, CoirError, Comparison, Course, CourseReport, Model, Remedy, Salt, Target, Verdict, compare, loose_l_of_dry,
};

/// Equivalents of calcium for each equivalent of sodium and potassium on the sites:
/// good practice where no target is stated, with room for what is not known of the coir.
const USUAL_CHARGE: f64 = 1.5;

/// A worksheet.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Dry coir, kg.
    pub dry_kg: f64,
    /// The same as loose litres.
    pub loose_l: f64,
    /// The steps, for all of the coir.
    pub course: Course,
    /// What they come to.
    pub report: CourseReport,
    /// The target, where the course is held against one.
    pub target: Option<Target>,
    /// How it ends.
    pub outcome: Outcome,
    /// In the grower's own tub: how often, each time with an equal share.
    pub runs: u32,
    /// Hours that the coir of the first run waits for that of the last.
    pub first_waits_hours: f64,
    /// The same with other salts, if asked for.
    pub compared: Vec<Comparison>,
}

impl Sheet {
    /// The coir of the first run is older than it keeps when that of the last is ready.
    #[must_use]
    pub fn grows_stale(&self) -> bool {
        self.first_waits_hours > KEEPS_HOURS
    }
}

/// How a course ends.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The target is met.
    Met,
    /// It is not; what was tried and would do it.
    OutOfReach(Vec<Remedy>),
    /// An explicit course without a target.
    NotAsked,
}

/// Works a soak out for so much dry coir; `None` for coir that is sold as buffered.
///
/// `others` are the salts to look at where the target is out of reach, or beside this one
/// when `beside` is asked for.
///
/// # Errors
/// [`CoirError`] for amounts outside what the model stands for.
pub fn work_out(soak: &Soak, dry_kg: f64, others: &[Salt], beside: bool) -> Result<Option<Sheet>, CoirError> {
    let Some(coir) = soak.coir else { return Ok(None) };
    let model = Model { convention: soak.convention, ..Model::default() };
    let target = soak.target.unwrap_or_default();
    let brief = || {
        Brief::new(dry_kg, coir, soak.salt.clone())?
            .with_target(target)
            .with_tap(soak.tap)
            .with_model(model)
            .with_alternatives(others.iter().cloned())
            .with_soak_hours(soak.hours)?
            .with_soaks(soak.soaks)
    };
    let (course, outcome) = match &soak.course {
        Some(steps) => {
            let course = Course::new(dry_kg, coir, soak.tap, steps.clone(), model)?;
            let outcome = soak.target.map_or(Outcome::NotAsked, |target| {
                if met(&target, &course.report()) { Outcome::Met } else { Outcome::OutOfReach(Vec::new()) }
            });
            (course, outcome)
        }
        None => design(&brief()?, soak.target.is_none(), &target)?,
    };
    let report = course.report();
    let runs = soak.tub_l.map_or(Ok(1), |tub_l| report.tub.runs(tub_l))?;
    let compared = if beside { compare(&brief()?, others)? } else { Vec::new() };
    let held = soak.course.is_none() || soak.target.is_some();
    let first_waits_hours = f64::from(runs - 1) * run_hours(&course);
    Ok(Some(Sheet {
        dry_kg,
        loose_l: loose_l_of_dry(dry_kg),
        course,
        report,
        target: held.then_some(target),
        outcome,
        runs,
        first_waits_hours,
        compared,
    }))
}

/// The usual charge where nothing is stated and it is enough, else the least that meets
/// the target.
fn design(brief: &Brief, unstated: bool, target: &Target) -> Result<(Course, Outcome), CoirError> {
    if unstated {
        let course = brief.course_of_charge(USUAL_CHARGE)?;
        if met(target, &course.report()) {
            return Ok((course, Outcome::Met));
        }
    }
    let sheet = brief.design()?;
    let outcome = match sheet.verdict {
        Verdict::Met => Outcome::Met,
        Verdict::OutOfReach(remedies) => Outcome::OutOfReach(remedies),
    };
    Ok((sheet.course, outcome))
}

fn met(target: &Target, report: &CourseReport) -> bool {
    target.is_met(&report.sites, report.rinse_ec_ms_cm)
}
