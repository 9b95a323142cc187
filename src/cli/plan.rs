//! `trayful plan`

use super::args::PlanArgs;
use super::day::week_or_day;
use super::{Failure, Session, mixed, said};
use crate::plan;
use crate::report::{Parts, PlanReport, Style};

pub(super) fn run(args: &PlanArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let only = Parts::of(&args.only);
    if !args.only.is_empty() && !session.style(false).format.is_a_sheet() {
        return said("`--only` takes parts of the sheet: text, markdown or html, not this `--format`");
    }
    let (mut loaded, of_season) = week_or_day(&args.week, &args.day, &args.wanted, session)?;
    session.take_units(&loaded.week.standing);
    let style = Style { only, ..session.style(args.explain) };
    let compared = !session.wants_calendar() && PlanReport::compares(&loaded.week, style.format);
    let mut plan = plan::plan_for(&loaded, None, compared)?;
    let warnings = mixed::warnings(&mut loaded, &mut plan, of_season.as_ref(), compared)?;
    plan.warnings.splice(0..0, warnings);
    if let Some(mut of_season) = of_season {
        of_season.tell(&mut plan);
    }
    if let Some(now) = session.around.now {
        plan.warn_if_late(now);
    }
    let report = PlanReport { plan: &plan, week: &loaded.week };
    if session.wants_calendar() {
        if plan.mix_on.is_none() {
            return said(format!(
                "the week `{}` has no day to enter into a calendar: write `mix_on: 2027-03-06 10:00` in it",
                plan.title
            ));
        }
        let events = report.events(style.units);
        return session.calendar(&plan.title, Some(&args.week), events);
    }
    session.report_in(&report, style)
}
