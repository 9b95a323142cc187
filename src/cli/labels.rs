//! `trayful labels`

use super::args::{FormatName, LabelsArgs};
use super::day::week_or_day;
use super::{Failure, Session};
use crate::plan;
use crate::report::{Labels, MOST_LABELS};

pub(super) fn run(args: &LabelsArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let (loaded, _) = week_or_day(&args.week, &args.day, &args.wanted, session)?;
    let plan = plan::plan_without_comparison(&loaded)?;
    let labels = Labels::of(&plan, &loaded.week, session.style(false).units).map_err(|count| {
        Failure::Said(format!(
            "`{}` takes {count} labels, more than {MOST_LABELS}: print them for fewer sowings at a time",
            plan.title
        ))
    })?;
    let opened = session.open()?;
    let table = session.common.format == Some(FormatName::Csv);
    session.write_to(opened, |out| if table { labels.write_csv(out) } else { labels.write_page(out) })
}
