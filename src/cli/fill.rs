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
use crate::week::{self, Amount, Loaded, Request, Week};
use std::cmp::Reverse;
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The most combinations of choices that are tried.
const MOST_TRIED: usize = 256;

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

/// What is at hand, and the ingredients that were named.
struct AtHand {
    shed: Shed,
    named: Vec<IngredientId>,
}

/// What is at hand by `--stock`, or the week's stock file, and by `--have`.
fn at_hand(args: &FillArgs, week_stock: Option<Stock>, catalogue: &mut Catalogue) -> Result<AtHand, Failure> {
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
    Ok(AtHand { shed, named })
}

/// A recipe with one choice of its ingredients, and how far it goes.
struct Tried {
    with: Vec<IngredientId>,
    filling: Filling,
}

impl Tried {
    /// The trays that each ingredient is enough for, the scarcest first, so that of two
    /// that fill as many the one with less of what ends it counts as better.
    fn reach(&self) -> Vec<u64> {
        let mut fills: Vec<u64> = self.filling.lines.iter().filter_map(|line| line.fills).collect();
        fills.sort_unstable();
        // An ingredient that a mix does without never runs out.
        fills.push(u64::MAX);
        fills
    }
}

/// A part that offers a choice, where none is wanted and some is at hand.
struct Open<'w> {
    offered: &'w [IngredientId],
    at_hand: Vec<IngredientId>,
}

fn open_parts<'w>(week: &'w Week, litres: impl Fn(IngredientId) -> f64) -> Vec<Open<'w>> {
    let parts = week.recipes.iter().flat_map(|recipe| &recipe.parts);
    parts
        .filter(|part| part.choices.len() > 1 && !week.wanted.iter().any(|wanted| part.choices.contains(wanted)))
        .map(|part| Open {
            offered: &part.choices,
            at_hand: part.choices.iter().copied().filter(|id| litres(*id) > 0.0).collect(),
        })
        .filter(|open| !open.at_hand.is_empty())
        .collect()
}

/// Every combination of one of each; `None` if there are too many to try.
fn every_way(choices: &[Vec<IngredientId>]) -> Option<Vec<Vec<IngredientId>>> {
    choices.iter().try_fold(1_usize, |ways, some| ways.checked_mul(some.len()).filter(|ways| *ways <= MOST_TRIED))?;
    Some(choices.iter().fold(vec![Vec::new()], |ways, some| {
        ways.iter().flat_map(|way| some.iter().map(|id| [way.as_slice(), &[*id]].concat())).collect()
    }))
}

/// Begins with the first of each, and changes one at a time for as long as it gets better.
fn improved(
    choices: &[Vec<IngredientId>],
    mut fill: impl FnMut(&[IngredientId]) -> Result<Tried, Failure>,
) -> Result<Vec<Tried>, Failure> {
    let mut way: Vec<IngredientId> = choices.iter().filter_map(|some| some.first().copied()).collect();
    let mut seen = HashSet::from([way.clone()]);
    let mut tried = vec![fill(&way)?];
    let mut reach = tried[0].reach();
    loop {
        let before = reach.clone();
        for (part, some) in choices.iter().enumerate() {
            for id in some {
                let mut other = way.clone();
                other[part] = *id;
                if !seen.insert(other.clone()) {
                    continue;
                }
                if tried.len() == MOST_TRIED {
                    return Ok(tried);
                }
                let next = fill(&other)?;
                if next.reach() > reach {
                    (way, reach) = (other, next.reach());
                }
                tried.push(next);
            }
        }
        if reach == before {
            return Ok(tried);
        }
    }
}

/// The combinations of what is at hand, the one that fills most first, each mix once;
/// and whether every one was tried.
fn try_choices(loaded: &mut Loaded, args: &FillArgs, at_hand: &AtHand) -> Result<(Vec<Tried>, bool), Failure> {
    let AtHand { shed, named } = at_hand;
    let litres = |id: IngredientId| shed.at_hand(id, Stuff::Volume(in_litres(1.0))).size();
    let open = open_parts(&loaded.week, litres);
    let offered: HashSet<IngredientId> = open.iter().flat_map(|open| open.offered).copied().collect();
    let mut choices: Vec<Vec<IngredientId>> = open.into_iter().map(|open| open.at_hand).collect();
    let wanted = loaded.week.wanted.clone();
    let mut fill = |with: &[IngredientId]| -> Result<Tried, Failure> {
        loaded.week.wanted = [wanted.as_slice(), with].concat();
        let plan = plan::plan(loaded)?;
        let each = plan::needs(&plan.totals, &[], &loaded.catalogue);
        // A shed is listed in full; on the command line a dose may be left unsaid.
        let filling = plan::filling(&each, shed, |need| {
            let dosed = plan.totals.doses.iter().any(|dose| dose.ingredient == need.ingredient);
            args.stock.is_some() || !dosed || named.contains(&need.ingredient)
        });
        // What the mix really holds: a crop may not bear the choice.
        let held = plan.totals.ingredients.iter().map(|(id, _)| *id);
        Ok(Tried { with: held.filter(|id| offered.contains(id)).collect(), filling })
    };
    let ways = every_way(&choices);
    let every = ways.is_some();
    let mut tried = match ways {
        Some(ways) => ways.iter().map(|way| fill(way)).collect::<Result<_, _>>()?,
        None => {
            for some in &mut choices {
                some.sort_by(|one, other| litres(*other).total_cmp(&litres(*one)));
            }
            improved(&choices, fill)?
        }
    };
    // The most trays first, of equal ones the one that was tried first.
    tried.sort_by_key(|tried| Reverse(tried.filling.trays));
    let mut mixes = HashSet::new();
    tried.retain(|tried| mixes.insert(tried.with.clone()));
    Ok((tried, every))
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
    let at_hand = at_hand(args, None, &mut loaded.catalogue)?;
    let (tried, every) = try_choices(loaded, args, &at_hand)?;
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
        every,
        catalogue: &loaded.catalogue,
    };
    session.report(&report, false)?;
    Ok(if best.filling.trays > 0 { DONE } else { UNMET })
}

fn week(path: &Path, files: &dyn Files, args: &FillArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut loaded = week::load(path, files, &args.wanted)?;
    let week_stock = loaded.week.stock.clone();
    let AtHand { shed, .. } = at_hand(args, week_stock, &mut loaded.catalogue)?;
    let plan = plan::plan(&loaded)?;
    let filling = plan::week_filling(&plan, &shed, &loaded.catalogue);
    let report = WeekFillReport { filling: &filling, plan: &plan, catalogue: &loaded.catalogue };
    session.report(&report, false)?;
    Ok(if filling.short.is_empty() { DONE } else { UNMET })
}
