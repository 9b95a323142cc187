//! `trayful fill`: how far what is at hand goes.

use super::args::FillArgs;
use super::{DONE, Failure, Session, UNMET, stocked};
use crate::catalogue::{Catalogue, IngredientId};
use crate::diagnostic::{Rejected, SourceText};
use crate::plan::{self, Filling};
use crate::report::{FillReport, WeekFillReport};
use crate::source::{Disk, Files, Kind};
use crate::stock::{Shed, Stock, Stuff};
use crate::units::in_litres;
use crate::week::{self, Amount, Request, Week};
use std::cmp::Reverse;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The most combinations of choices that are tried.
const MOST_TRIED: usize = 64;

pub(super) fn run(args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let Some(what) = &args.what else {
        return match &args.week {
            Some(path) => week(path, &Disk, args, session),
            None => Err(said("name a recipe and a tray, or a week file: `trayful fill everyday --tray 72-cell`")),
        };
    };
    if what == "-" {
        let piped = Piped(Disk.read(Path::new(what), Kind::Yaml)?);
        // What is neither is reported as a week that cannot be read.
        let recipe = week::first_key(Path::new(what), &piped).as_deref() == Some("recipe");
        return if recipe {
            of_recipe(what, &piped, args, session)
        } else {
            week(Path::new(what), &piped, args, session)
        };
    }
    let path = PathBuf::from(what);
    if is_week(&path) { week(&path, &Disk, args, session) } else { of_recipe(what, &Disk, args, session) }
}

/// The disk, and standard input, which can be read once only.
struct Piped(Arc<SourceText>);

impl Piped {
    /// `-`, as a week or as a recipe beside the week is called.
    fn is(path: &Path) -> bool {
        path == Path::new("-") || path == Path::new("-.yaml")
    }
}

impl Files for Piped {
    fn read(&self, path: &Path, kind: Kind) -> Result<Arc<SourceText>, Rejected> {
        if Self::is(path) { Ok(Arc::clone(&self.0)) } else { Disk.read(path, kind) }
    }

    fn has(&self, path: &Path) -> bool {
        Self::is(path) || Disk.has(path)
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

/// A recipe with one choice of its ingredients, and how far it goes.
struct Tried {
    with: Vec<IngredientId>,
    filling: Filling,
}

/// The choices to try of each part that offers some: those at hand, unless one is wanted.
fn choices_at_hand(week: &Week, shed: &Shed) -> Vec<Vec<IngredientId>> {
    let is_there = |id: &&IngredientId| shed.at_hand(**id, Stuff::Volume(in_litres(1.0))).size() > 0.0;
    let parts = week.recipes.iter().flat_map(|recipe| &recipe.parts);
    let open = parts
        .filter(|part| part.choices.len() > 1 && !week.wanted.iter().any(|wanted| part.choices.contains(wanted)))
        .map(|part| part.choices.iter().filter(is_there).copied().collect::<Vec<_>>())
        .filter(|there| !there.is_empty());
    open.fold(vec![Vec::new()], |ways, there| {
        let more = ways.iter().flat_map(|way| there.iter().map(|id| [way.as_slice(), &[*id]].concat()));
        more.take(MOST_TRIED).collect()
    })
}

fn of_recipe(recipe: &str, files: &dyn Files, args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let Some(tray) = &args.tray else { return Err(said("say the kind of tray: `--tray 72-cell`")) };
    if tray.contains('=') {
        return Err(said("`--tray` takes the kind of tray only: how many it fills is the answer"));
    }
    let trays = [tray.to_owned()];
    let request = Request { recipe, trays: &trays, make: None, crop: args.crop.as_deref(), wanted: &args.wanted };
    let mut requested = week::from_request(&request, files)?;
    let loaded = &mut requested.loaded;
    let (shed, named) = at_hand(args, None, &mut loaded.catalogue)?;
    let wanted = loaded.week.wanted.clone();
    let mut tried = Vec::new();
    for with in choices_at_hand(&loaded.week, &shed) {
        loaded.week.wanted = [wanted.as_slice(), &with].concat();
        let plan = plan::plan(loaded)?;
        let each = plan::needs(&plan.totals, &[], &loaded.catalogue);
        // A shed is listed in full; on the command line a dose may be left unsaid.
        let filling = plan::filling(&each, &shed, |need| {
            let dosed = plan.totals.doses.iter().any(|dose| dose.ingredient == need.ingredient);
            args.stock.is_some() || !dosed || named.contains(&need.ingredient)
        });
        tried.push(Tried { with, filling });
    }
    // The most trays first, of equal ones the one that the recipe names first.
    tried.sort_by_key(|tried| Reverse(tried.filling.trays));
    let Some((best, sowing)) = tried.first().zip(loaded.week.sowings.first()) else {
        return Err(said("say the kind of tray"));
    };
    debug_assert_eq!(sowing.amount, Amount::Trays(1));
    let crop = requested.crop.map(|id| loaded.catalogue.crop_of(id).name.as_str());
    let filled: Vec<_> = tried.iter().map(|tried| (tried.with.clone(), tried.filling.trays)).collect();
    let report = FillReport {
        filling: &best.filling,
        recipe: &loaded.week.name,
        tray: sowing.tray,
        crop,
        tried: &filled,
        catalogue: &loaded.catalogue,
    };
    session.report(&report, false)?;
    Ok(if best.filling.trays > 0 { DONE } else { UNMET })
}

fn week(path: &Path, files: &dyn Files, args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut loaded = week::load(path, files, &args.wanted)?;
    let week_stock = loaded.week.stock.clone();
    let (shed, _) = at_hand(args, week_stock, &mut loaded.catalogue)?;
    let plan = plan::plan(&loaded)?;
    let filling = plan::week_filling(&plan, &shed, &loaded.catalogue);
    let report = WeekFillReport { filling: &filling, plan: &plan, catalogue: &loaded.catalogue };
    session.report(&report, false)?;
    Ok(if filling.short.is_empty() { DONE } else { UNMET })
}
