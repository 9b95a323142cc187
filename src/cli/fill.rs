//! `trayful fill`: how far what is at hand goes.

use super::args::FillArgs;
use super::{DONE, Failure, Session, UNMET, stocked};
use crate::catalogue::{Catalogue, IngredientId};
use crate::plan;
use crate::report::{FillReport, WeekFillReport};
use crate::source::Disk;
use crate::stock::{Shed, Stock};
use crate::week::{self, Amount, Request};
use std::path::{Path, PathBuf};

pub(super) fn run(args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let of_week = args.what.as_ref().map(PathBuf::from).filter(|path| is_week(path));
    match (of_week.as_ref().or(args.week.as_ref()), &args.what, &args.tray) {
        (Some(path), ..) => week(path, args, session),
        (None, Some(recipe), Some(tray)) => recipe_(recipe, tray, args, session),
        (None, Some(_), None) => Err(said("say the kind of tray: `--tray 72-cell`")),
        (None, None, _) => {
            Err(said("name a recipe and a tray, or a week file: `trayful fill everyday --tray 72-cell`"))
        }
    }
}

fn said(text: &str) -> Failure {
    Failure::Said(text.to_owned())
}

fn is_week(path: &Path) -> bool {
    path.extension().is_some_and(|end| end == "yaml" || end == "yml")
        && week::first_key(path, &Disk).as_deref() == Some("week")
}

/// What is at hand by `--stock`, or the week's stock file, and by `--have`.
fn at_hand(
    args: &FillArgs,
    week_stock: Option<Stock>,
    catalogue: &mut Catalogue,
) -> Result<(Shed, Vec<IngredientId>), Failure> {
    let stock = match &args.stock {
        Some(path) => Some(week::stock_file(path, &Disk, catalogue)?.0),
        None => week_stock,
    };
    if stock.is_none() && args.have.is_empty() {
        return Err(said("say what is at hand: `--have perlite=\"40 L\"`, or `--stock FILE`"));
    }
    let stock = stock.unwrap_or_else(|| Stock::empty(catalogue));
    let mut shed = stock.on_hand.shed.clone();
    let have = stocked::each("--have", &args.have, catalogue, |id, text, at, problems| {
        stock.amount(id, text, at, catalogue, problems)
    })?;
    for (id, amount) in have {
        shed.add_loose(id, amount);
    }
    let named = shed.ingredients().collect();
    Ok((shed, named))
}

fn recipe_(recipe: &str, tray: &str, args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if tray.contains('=') {
        return Err(said("`--tray` takes the kind of tray only: how many it fills is the answer"));
    }
    let trays = [tray.to_owned()];
    let request = Request { recipe, trays: &trays, make: None, crop: args.crop.as_deref(), wanted: &args.wanted };
    let mut requested = week::from_request(&request, &Disk)?;
    let loaded = &mut requested.loaded;
    let (shed, named) = at_hand(args, None, &mut loaded.catalogue)?;
    // Of a choice, what is at hand is meant.
    let offered = named.iter().filter(|id| loaded.week.recipes.iter().any(|recipe| recipe.offers(**id)));
    loaded.week.wanted.extend(offered.copied());
    let plan = plan::plan(loaded)?;
    let each = plan::needs(&plan.totals, &[]);
    // A shed is listed in full; on the command line a dose may be left unsaid.
    let listed = args.stock.is_some();
    let filling = plan::filling(&each, &shed, |need| {
        let dosed = plan.totals.doses.iter().any(|dose| dose.ingredient == need.ingredient);
        listed || !dosed || named.contains(&need.ingredient)
    });
    let Some(sowing) = loaded.week.sowings.first() else { return Err(said("say the kind of tray")) };
    debug_assert_eq!(sowing.amount, Amount::Trays(1));
    let crop = requested.crop.map(|id| loaded.catalogue.crop_of(id).name.as_str());
    let report = FillReport {
        filling: &filling,
        recipe: &loaded.week.name,
        tray: sowing.tray,
        crop,
        catalogue: &loaded.catalogue,
    };
    session.report(&report, false)?;
    Ok(if filling.trays > 0 { DONE } else { UNMET })
}

fn week(path: &Path, args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut loaded = week::load(path, &Disk, &args.wanted)?;
    let week_stock = loaded.week.stock.clone();
    let (shed, _) = at_hand(args, week_stock, &mut loaded.catalogue)?;
    let plan = plan::plan(&loaded)?;
    let filling = plan::week_filling(&plan, &shed, &plan.beside());
    let lines: Vec<_> = plan::needs(&plan.totals, &plan.beside())
        .into_iter()
        .map(|need| (need.ingredient, need.amount, shed.at_hand(need.ingredient, need.amount)))
        .collect();
    let report = WeekFillReport { filling: &filling, plan: &plan, lines: &lines, catalogue: &loaded.catalogue };
    session.report(&report, false)?;
    Ok(if filling.short.is_empty() { DONE } else { UNMET })
}
