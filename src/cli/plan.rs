//! `trayful plan`

use super::args::PlanArgs;
use super::{DONE, Failure, Session};
use crate::plan;
use crate::report::PlanReport;

pub(super) fn run(args: &PlanArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let loaded = session.inputs(session.disk, &args.wanted).week(&args.week)?;
    let compares = !session.wants_calendar() && PlanReport::compares(&loaded.week, session.style(args.explain).format);
    let mut plan = match compares {
        true => plan::plan(&loaded)?,
        false => plan::plan_without_comparison(&loaded)?,
    };
    if let Some(now) = session.now {
        plan.warn_if_late(now);
    }
    let report = PlanReport { plan: &plan, week: &loaded.week };
    if session.wants_calendar() {
        if plan.mix_on.is_none() {
            return Err(Failure::Said(format!(
                "the week `{}` has no day to enter into a calendar: write `mix_on: 2027-03-06 10:00` in it",
                plan.title
            )));
        }
        let events = report.events(session.style(false).units);
        session.calendar(&plan.title, Some(&args.week), events)?;
        return Ok(DONE);
    }
    session.report(&report, args.explain)?;
    Ok(DONE)
}
