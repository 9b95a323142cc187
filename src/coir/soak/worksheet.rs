//! The worksheet: a designed or an explicit course, and what it comes to.

use super::salts::{bath_salts, salts};
use super::times::{days_until, run_hours};
use super::{CoirKind, Soak, Times};
use crate::awake::Awake;
use crate::coir::{
    Action, BATH_L_PER_KG, Brief, BufferTarget, CoirError, Course, CourseReport, CourseStep, Days, Design, Salt,
    SoldAs, Stated, Tub, USUAL_SOAK_HOURS, Verdict, WETTING_L_PER_SOLD_KG, WaterHeld, Wetting, dry_kg_of_sold,
};
use crate::moment::Moment;
use jiff::civil::Date;
use jiff::tz::TimeZone;

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
    /// Hours that the coir of the first run waits for that of the last, or until it must be ready where that is known.
    pub first_waits_hours: f64,
    /// Washed coir that is wetted and no more.
    pub wet_only: Option<Design>,
    /// The same designed with each of some salts, by name, if that is asked for.
    pub compared: Vec<(String, Design)>,
    /// Courses of several kinds, if that is asked for.
    pub courses: Vec<Compared>,
}

/// Some coir.
#[derive(Clone, Copy, Debug)]
pub struct Lot {
    /// Dry, kg.
    pub dry_kg: f64,
    /// Loose, litres.
    pub loose_l: f64,
    /// The water that it is wetted with where it gets no bath; as its label says where no mix is known.
    pub wetted: Option<WaterHeld>,
}

impl Lot {
    /// Water where it is wetted and no more.
    fn wetting(&self) -> Result<Vec<CourseStep>, CoirError> {
        let by_label = WETTING_L_PER_SOLD_KG[1] / dry_kg_of_sold(1.0);
        water(self.wetted.map_or(by_label, |held| held.usual) * self.dry_kg)
    }
}

/// A course beside others.
#[derive(Clone, Debug)]
pub struct Compared {
    /// What it is.
    pub name: String,
    /// Calendar days from the first wetting until the coir is ready; `None` where it fits no time.
    pub days: Option<u32>,
    /// The course and what it comes to.
    pub design: Design,
}

impl Worksheet {
    /// There is a target, and the course does not meet it.
    pub fn misses_target(&self) -> bool {
        matches!(self.target, Some((_, Verdict::OutOfReach(_))))
    }

    /// The times of all runs of the one tub; `None` where none fit.
    pub fn times(&self, ready: &Moment, awake: &Awake) -> Option<Times> {
        Times::back_from(ready, &self.course.steps, self.runs, awake)
    }
}

impl Soak {
    /// Works the soak out for some coir, to be ready at a time; `None` for coir that needs no course.
    ///
    /// # Errors
    /// [`CoirError`] for amounts outside what the model stands for.
    pub fn work_out(&self, lot: Lot, ready: Option<&Moment>) -> Result<Option<Worksheet>, CoirError> {
        let dry_kg = lot.dry_kg;
        let Some(coir) = self.coir.coir() else { return Ok(None) };
        let target = self.target.unwrap_or_default();
        let brief = Brief {
            target,
            soak_hours: self.hours,
            tap: self.tap,
            model: self.model,
            alternatives: || bath_salts().cloned().collect(),
            ..Brief::new(dry_kg, coir, self.salt.clone())
        };
        let days = self.days(&brief, ready);
        let Design { course, report, verdict } = match &self.course {
            Some(steps) => Design::judged(Course::new(dry_kg, coir, self.tap, steps.clone(), self.model)?, &target),
            None => brief.weigh(self.stated, &days)?,
        };
        let wet_only = (self.coir == CoirKind::SoldAs(SoldAs::Washed)).then(|| self.by_steps(&brief, lot.wetting()?));
        let held_against_target = self.course.is_none() || self.target.is_some();
        let runs = self.tub_l.map_or(Ok(1), |tub_l| report.tub.runs(tub_l))?;
        let (salts, courses) = if self.compare { self.compared(&brief, lot, &days)? } else { Default::default() };
        Ok(Some(Worksheet {
            first_waits_hours: f64::from(runs - 1) * run_hours(&course.steps),
            course,
            report,
            target: held_against_target.then_some((target, verdict)),
            runs,
            wet_only: wet_only.transpose()?,
            compared: salts,
            courses,
        }))
    }

    /// What tells the calendar days of some steps from the first wetting until the coir is ready, at some Saturday's
    /// usual hour where that is not known.
    fn days(&self, brief: &Brief, ready: Option<&Moment>) -> impl Fn(&[CourseStep]) -> Option<u32> {
        let saturday = Date::constant(2027, 3, 6);
        let usual = || Moment { local: saturday.to_datetime(self.awake.usual_hour(saturday)), zone: TimeZone::UTC };
        let ready = ready.cloned().unwrap_or_else(usual);
        let fullest = Tub::holding((BATH_L_PER_KG + brief.coir.holds_l_kg) * brief.dry_kg, brief.dry_kg);
        let runs = self.tub_l.map_or(Ok(1), |tub_l| fullest.runs(tub_l)).ok();
        let attendance = ready.zoned().map(|ready| self.awake.until(ready));
        move |steps| days_until(steps, runs?, attendance.as_ref()?)
    }

    /// A course of those steps.
    fn by_steps(&self, brief: &Brief, steps: Vec<CourseStep>) -> Result<Design, CoirError> {
        let course = Course::new(brief.dry_kg, brief.coir, self.tap, steps, self.model)?;
        Ok(Design::judged(course, &brief.target))
    }

    /// The design with each salt, and courses of several kinds side by side.
    fn compared(&self, brief: &Brief, lot: Lot, days: Days<'_>) -> Result<Comparison, CoirError> {
        let with = |salt: &Salt| Brief { salt: salt.clone(), ..brief.clone() }.weigh(self.stated, days);
        let salts = bath_salts().map(|salt| {
            // That of the course as its label says.
            let salt = if self.salt.name == salt.name { &self.salt } else { salt };
            Ok((salt.name.clone(), with(salt)?))
        });
        let salts = salts.collect::<Result<Vec<_>, CoirError>>()?;
        let in_bath = Stated { wetting: Some(Wetting::Bath), ..self.stated };
        let mut courses = vec![
            ("wetted only".to_owned(), self.by_steps(brief, lot.wetting()?)?),
            ("the trade's 8 g/L".to_owned(), self.by_steps(brief, trade_rule(brief, lot.loose_l)?)?),
        ];
        let own = self.course.as_ref().map(|steps| self.by_steps(brief, steps.clone()));
        courses.extend(own.transpose()?.map(|design| ("your own steps".to_owned(), design)));
        courses.push(("as designed here".to_owned(), brief.weigh(self.stated, days)?));
        courses.push(("wetted in its bath".to_owned(), brief.weigh(in_bath, days)?));
        courses.extend(salts.iter().map(|(salt, design)| (format!("with {salt}"), design.clone())));
        let mut compared = Vec::<Compared>::new();
        for (name, design) in courses {
            // Once, under its first name.
            if compared.iter().all(|one| one.design.course.steps != design.course.steps) {
                // Coir that is only wetted is wetted the day before.
                let only_wetted = design.course.steps.iter().all(|step| step.action == Action::Hydrate);
                let days = if only_wetted { Some(1) } else { days(&design.course.steps) };
                compared.push(Compared { name, days, design });
            }
        }
        Ok((salts, compared))
    }
}

/// The design with each salt by name, and courses side by side.
type Comparison = (Vec<(String, Design)>, Vec<Compared>);

/// Water for dry coir and no more, in litres.
fn water(litres: f64) -> Result<Vec<CourseStep>, CoirError> {
    Ok(vec![CourseStep::new(Action::Hydrate, litres)?])
}

/// The trade's rule: 200 L of a solution of 8 g/L of calcium nitrate, the double salt, for each cubic metre of coir, left
/// for a day at most, then rinsed (common practice).
fn trade_rule(brief: &Brief, loose_l: f64) -> Result<Vec<CourseStep>, CoirError> {
    const BATH_PER_LOOSE_L: f64 = 0.2;
    const GRAMS_PER_L: f64 = 8.0;
    let mut steps = water(brief.coir.holds_l_kg * brief.dry_kg)?;
    let bath = CourseStep::new(Action::Soak, BATH_PER_LOOSE_L * loose_l)?;
    let salt = salts().find(|entry| entry.is_called("calcium nitrate")).map(|entry| entry.salt.clone());
    if let Some(salt) = salt {
        let mol = salt.moles(GRAMS_PER_L * bath.water_l);
        steps.push(bath.with_hours(USUAL_SOAK_HOURS)?.with_salt(salt, mol)?);
    }
    let rinse = CourseStep::new(Action::Rinse, BATH_L_PER_KG * brief.dry_kg)?;
    steps.extend([rinse.clone(), rinse]);
    Ok(steps)
}
