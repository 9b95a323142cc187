//! `trayful fill`: how far what is at hand goes.

use super::args::FillArgs;
use super::day::{only_of_seasons, today, with_log};
use super::stocked::{each, of_ingredient};
use super::{DONE, Failure, Session, UNMET, said};
use crate::checked;
use crate::diagnostic::{Rejected, SourceText};
use crate::plan;
use crate::report::{FillReport, SeasonFillReport, WeekFillReport};
use crate::season::SeasonPlan;
use crate::source::{Disk, FileKind, Files, is_standard_input, is_yaml};
use crate::stock::{Shed, Stock};
use crate::week::{Inputs, Loaded, Request};
use std::path::Path;
use std::sync::Arc;

pub(super) fn run(args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let Some(what) = &args.what else {
        return match &args.week {
            Some(path) => of_week(path, session.disk, args, session),
            None => said("name a recipe and a tray, or a week file: `trayful fill everyday --tray 72-cell`"),
        };
    };
    let (path, disk) = (Path::new(what), session.disk);
    if is_standard_input(path) {
        let piped = Piped { text: disk.read(path, FileKind::Yaml)?, disk };
        // What is neither is reported as a week that cannot be read.
        return match checked::first_key(&piped.text).as_deref() {
            Some("recipe") => of_recipe("-", &piped, args, session),
            _ => of_week(Path::new("-"), &piped, args, session),
        };
    }
    let is_sown = |text: Arc<SourceText>| matches!(checked::first_key(&text).as_deref(), Some("week" | "season"));
    let is_week = is_yaml(path) && disk.read(path, FileKind::Yaml).is_ok_and(is_sown);
    if is_week { of_week(path, disk, args, session) } else { of_recipe(what, disk, args, session) }
}

/// The disk, and standard input, which can be read once only.
struct Piped<'d> {
    text: Arc<SourceText>,
    disk: &'d Disk,
}

impl Piped<'_> {
    /// `-`, as a week or as a recipe beside the week is called.
    fn is(path: &Path) -> bool {
        path == Path::new("-") || path == Path::new("-.yaml")
    }
}

impl Files for Piped<'_> {
    fn read(&self, path: &Path, kind: FileKind) -> Result<Arc<SourceText>, Rejected> {
        if Self::is(path) { Ok(Arc::clone(&self.text)) } else { self.disk.read(path, kind) }
    }

    fn has(&self, path: &Path) -> bool {
        Self::is(path) || self.disk.has(path)
    }
}

/// What is at hand by the stock file and by `--have`, which comes on top of a stock that is named, but in place of the usual
/// one.
pub(super) fn at_hand(have: &[String], in_place_of_usual: bool, loaded: &Loaded) -> Result<Shed, Failure> {
    let stock = loaded.week.stock.clone().unwrap_or_else(|| Stock::empty(&loaded.catalogue));
    let in_place = in_place_of_usual && loaded.week.standing.took("stock");
    let mut shed = if in_place { Shed::default() } else { stock.on_hand.shed.clone() };
    let have = each("--have", have, |written| {
        of_ingredient(written, &loaded.catalogue, |id, written| stock.amount(id, written))
    })?;
    for (id, amount) in have {
        shed.add_loose(&id, amount);
    }
    Ok(shed)
}

/// The same for what `fill` is asked.
fn said_at_hand(args: &FillArgs, loaded: &Loaded) -> Result<Shed, Failure> {
    if loaded.week.stock.is_none() && args.have.is_empty() {
        return said("say what is at hand: `--have perlite=\"40 L\"`, or `--stock FILE`");
    }
    at_hand(&args.have, args.stock.is_none() && !args.have.is_empty(), loaded)
}

fn inputs<'a>(args: &'a FillArgs, files: &'a dyn Files, session: &'a Session<'_>) -> Inputs<'a> {
    Inputs { stock: args.stock.as_deref(), place: args.place.as_deref(), ..session.inputs(files, &args.wanted) }
}

fn of_recipe(recipe: &str, files: &dyn Files, args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let Some(tray) = &args.tray else { return said("say the kind of tray: `--tray 72-cell`") };
    if tray.contains('=') {
        return said("`--tray` takes the kind of tray only: how many it fills is the answer");
    }
    let trays = [tray.to_owned()];
    let request = Request { recipe, trays: &trays, make: None, crop: args.crop.as_deref() };
    let loaded = inputs(args, files, session).request(&request)?.loaded;
    session.take_units(&loaded.week.standing);
    let shed = said_at_hand(args, &loaded)?;
    let named: Vec<_> = shed.ingredients().collect();
    // A shed is listed in full; on the command line a dose may be left unsaid.
    let listed = args.stock.is_some() || args.have.is_empty();
    let counts = |need: &plan::Need, dosed: bool| listed || !dosed || named.contains(&&need.0);
    let found = plan::fill_recipe(&loaded, &shed, counts)?;
    let Some((best, sowing)) = found.tried.first().zip(loaded.week.sowings.first()) else {
        return said("say the kind of tray");
    };
    session.report(&FillReport { found: &found, recipe: &loaded.week.name, sowing }, false)?;
    Ok(if best.filling.trays > 0 { DONE } else { UNMET })
}

fn of_week(path: &Path, files: &dyn Files, args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if args.tray.is_some() || args.crop.is_some() {
        return said("`--tray` and `--crop` go with a recipe: a week has its own");
    }
    if args.place.is_some() {
        return said("`--place` goes with a recipe: a week says `place: FILE` itself");
    }
    let source = files.read(path, FileKind::Yaml)?;
    if checked::is_a(&source, "season") {
        return of_season(path, &source, files, args, session);
    }
    if args.from.today.is_some() {
        return Err(only_of_seasons());
    }
    let loaded = inputs(args, files, session).week_of(path, &source)?;
    session.take_units(&loaded.week.standing);
    let shed = said_at_hand(args, &loaded)?;
    let plan = plan::plan_without_comparison(&loaded)?;
    let filling = plan::week_filling(&plan.mixes, &shed);
    session.report(&WeekFillReport { filling: &filling, title: &plan.title }, false)?;
    Ok(if filling.short().is_empty() { DONE } else { UNMET })
}

/// Until which day of a season what is at hand lasts.
fn of_season(
    path: &Path,
    source: &Arc<SourceText>,
    files: &dyn Files,
    args: &FillArgs,
    session: &mut Session<'_>,
) -> Result<u8, Failure> {
    let mut season = inputs(args, files, session).season_of(path, source)?;
    // An amount is no worse known without its log.
    let _ = with_log(&mut season);
    session.take_units(&season.loaded.week.standing);
    let shed = said_at_hand(args, &season.loaded)?;
    let stock = season.loaded.week.stock.get_or_insert_with(|| Stock::empty(&season.loaded.catalogue));
    stock.on_hand.shed = shed;
    let today = today(&season, &args.from, session);
    let plan = SeasonPlan::of(&season, &inputs(args, files, session), today)?;
    session.report(&SeasonFillReport { plan: &plan }, false)?;
    Ok(if plan.days.iter().all(|day| day.lacks.is_empty()) { DONE } else { UNMET })
}
