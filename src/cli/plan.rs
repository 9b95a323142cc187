//! `trayful plan`

use super::args::PlanArgs;
use super::{DONE, Failure, Session};
use crate::plan;
use crate::report::{Format, Parts, PlanReport, Style};

pub(super) fn run(args: &PlanArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let style = Style { only: Parts::of(&args.only.iter().map(|part| (*part).into()).collect::<Vec<_>>()), ..session.style(args.explain) };
    if !args.only.is_empty() && matches!(style.format, Format::Json | Format::Csv) {
        return Err(Failure::Said("`--only` takes parts of the sheet: text, markdown or html, not this `--format`".to_owned()));
    }
    let loaded = session.inputs(session.disk, &args.wanted).week(&args.week)?;
    let mut plan = match PlanReport::compares(&loaded.week, style.format) {
        true => plan::plan(&loaded)?,
        false => plan::plan_without_comparison(&loaded)?,
    };
    if let Some(now) = session.now {
        plan.warn_if_late(now);
    }
    let report = PlanReport { plan: &plan, week: &loaded.week };
    session.report_in(&report, style)?;
    Ok(DONE)
}
