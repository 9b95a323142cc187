//! `trayful scale`: one recipe for so many trays or for a volume.

use super::args::ScaleArgs;
use super::{Failure, Session};
use crate::plan;
use crate::report::PlanReport;
use crate::week::{Inputs, Request};

pub(super) fn run(args: &ScaleArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let request =
        Request { recipe: &args.recipe, trays: &args.trays, make: args.make.as_deref(), crop: args.crop.as_deref() };
    let inputs = Inputs { place: args.place.as_deref(), ..session.inputs(session.disk, &args.wanted) };
    let requested = inputs.request(&request)?;
    let loaded = &requested.loaded;
    session.take_units(&loaded.week.standing);
    let compared = PlanReport::compares(&loaded.week, session.style(args.explain).format);
    let crop = requested.crop.as_ref();
    let plan = plan::plan_for(loaded, requested.make.map(|mix| (mix, crop)), compared)?;
    let report = PlanReport { plan: &plan, week: &loaded.week };
    session.report(&report, args.explain)
}
