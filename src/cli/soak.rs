//! `trayful soak`: the coir worksheet.

use super::args::SoakArgs;
use super::day::{only_of_seasons, week_or_day_of};
use super::{DONE, Failure, Session, UNMET, said};
use crate::catalogue::Role;
use crate::checked::first_key;
use crate::coir::soak::{Soak, Worksheet};
use crate::diagnostic::{Rejected, SourceText};
use crate::place::{Standing, Taken};
use crate::plan::{self, Plan, SoakWarning, Soaking, Warning};
use crate::report::{COIR_UNSAID, SoakReport};
use crate::source::{FileKind, Files};
use crate::week::{Inputs, Loaded};
use std::path::Path;
use std::sync::Arc;

pub(super) fn run(args: &SoakArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let (soak, standing) = match &args.file {
        Some(path) => {
            // Read once: standard input cannot be read again.
            let source = session.disk.read(path, FileKind::Yaml)?;
            if matches!(first_key(&source).as_deref(), Some("week" | "season")) {
                return of_week(path, &source, args, session);
            }
            session.inputs(session.disk, &[]).soak_of(path, &source)?
        }
        None => of_options(args, session)?,
    };
    if args.day.day.or(args.day.from.today).is_some() {
        return Err(only_of_seasons());
    }
    session.take_units(&standing);
    let soaking = alone(Soak { compare: args.compare, ..soak }).map_err(Failure::Said)?;
    print(&soaking, args, standing.taken.as_ref(), session)
}

/// The soak of coir by itself, worked out; or what is in the way, in words.
pub(super) fn alone(soak: Soak) -> Result<Soaking, String> {
    let soaking = Soaking::alone(soak).map_err(|error| error.to_string())?;
    soaking.ok_or_else(|| "say how much coir: --product, --dry or --loose".to_owned())
}

/// The soak of a week's coir, if its mix holds any; or what is in the way, in words.
pub(super) fn planned<'p>(plan: &'p Plan, loaded: &Loaded) -> Result<Option<&'p Soaking>, String> {
    let failed = plan.warnings.iter().find(|warning| matches!(warning, Warning::SoakFails(_)));
    match failed {
        Some(Warning::SoakFails(error)) => Err(format!("the soak of `{}`: {error}", loaded.week.name)),
        _ => Ok(plan.soak.as_ref()),
    }
}

/// The worksheet of a week's coir.
fn of_week(path: &Path, source: &Arc<SourceText>, args: &SoakArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let (mut loaded, of_season) = week_or_day_of(path, source, &args.day, &args.wanted, session)?;
    loaded.week.soak.iter_mut().for_each(|soak| soak.compare = args.compare);
    session.take_units(&loaded.week.standing);
    let mut plan = plan::plan_without_comparison(&loaded)?;
    if let Some(mut of_season) = of_season {
        of_season.tell(&mut plan);
    }
    if let Some(soaking) = planned(&plan, &loaded).map_err(Failure::Said)?.filter(|soaking| soaking.dry_kg > 0.0) {
        return print(soaking, args, None, session);
    }
    let unsaid = plan.warnings.iter().any(|warning| matches!(warning, Warning::Soak(SoakWarning::Unsaid)));
    let soaked = plan.purchases.lines.iter().any(|line| line.ingredient.is(Role::SoakedCoir));
    let why = match () {
        () if unsaid => return said(format!("`{}`: {COIR_UNSAID}", loaded.week.name)),
        () if soaked => "needs no bath: the soaked coir at hand does",
        () if !plan.mixes.are_mixed() => "is all at hand: nothing is mixed, and no coir is soaked",
        () => "holds no coir",
    };
    said(format!("the mix of `{}` {why}", loaded.week.name))
}

fn print(soaking: &Soaking, args: &SoakArgs, place: Option<&Taken>, session: &mut Session<'_>) -> Result<u8, Failure> {
    if session.wants_calendar() {
        let untimed = match (&soaking.sheet, &soaking.times) {
            (None, _) => Some("it is sold as buffered and takes no course"),
            (_, None) if soaking.finds_no_time => {
                Some("no times fit its course: `awake:` with longer hours or one more day of them helps")
            }
            (_, None) => Some(
                "write `ready: 2027-03-06 10:00` in its file (`mix_on:` in a week), or `--ready \"2027-03-06 10:00\"`",
            ),
            _ => None,
        };
        if let Some(why) = untimed {
            let name = &soaking.soak.name;
            return said(format!("the soak of `{name}` has no times to enter into a calendar: {why}"));
        }
        let events = SoakReport::of(soaking).events(session.style(false).units);
        session.calendar(&soaking.soak.name, args.file.as_deref(), events)?;
    } else {
        let late =
            soaking.times.as_ref().zip(session.around.now).is_some_and(|(times, now)| times.start.timestamp() < now);
        session.report(&SoakReport { soaking, late, place }, false)?;
    }
    let misses = soaking.sheet.as_ref().is_some_and(Worksheet::misses_target);
    Ok(if misses || soaking.finds_no_time { UNMET } else { DONE })
}

fn of_options(args: &SoakArgs, session: &Session<'_>) -> Result<(Soak, Standing), Rejected> {
    let pieces = args.count.as_deref().or(args.product.as_ref().map(|_| "1"));
    let asked = [
        ("--product", "coir/product", args.product.as_deref()),
        ("--count", "coir/count", pieces),
        ("--dry", "coir/dry", args.dry.as_deref()),
        ("--loose", "coir/loose", args.loose.as_deref()),
        ("--sold-as", "sold_as", args.sold_as.as_deref()),
        ("--salt", "salt", args.salt.as_deref()),
        ("--label-ca", "label_ca", args.label_ca.as_deref()),
        ("--target", "target/monovalent", args.target.as_deref()),
        ("--hydrate", "hydrate", args.hydrate.as_deref()),
        ("--soaks", "soaks", args.soaks.as_deref()),
        ("--rinses", "rinses", args.rinses.as_deref()),
        ("--hours", "hours", args.hours.as_deref()),
        ("--particles", "particles", args.particles.as_deref()),
        ("--ready", "ready", args.ready.as_deref()),
        ("--tub", "tub", args.tub.as_deref()),
    ];
    Inputs { place: args.place.as_deref(), ..session.inputs(session.disk, &[]) }.soak_asked(&asked)
}
