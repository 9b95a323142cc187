//! `trayful plan`

use super::args::PlanArgs;
use super::{DONE, Failure, Session};
use crate::plan;
use crate::report::PlanReport;

pub(super) fn run(args: &PlanArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let loaded = session.inputs(session.disk, &args.wanted).week(&args.week)?;
    session.take_units(&loaded.week.standing);
    let mut plan = match PlanReport::compares(&loaded.week, session.style(args.explain).format) {
        true => plan::plan(&loaded)?,
        false => plan::plan_without_comparison(&loaded)?,
    };
    if let Some(now) = session.now {
        plan.warn_if_late(now);
    }
    let report = PlanReport { plan: &plan, week: &loaded.week };
    session.report(&report, args.explain)?;
    Ok(DONE)
}
