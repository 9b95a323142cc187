//! `trayful soak`: the coir worksheet.

use super::args::SoakArgs;
use super::{DONE, Failure, Session, UNMET};
use crate::coir::loose_l_of_dry;
use crate::coir::soak::{self, CoirAmount, Soak, Times, Worksheet};
use crate::diagnostic::{Rejected, SourceText};
use crate::plan::{self, Warning};
use crate::report::SoakReport;
use crate::source::{Disk, Files, Kind};
use crate::units::in_litres;
use crate::week::{self, Inputs};
use std::path::Path;
use std::sync::Arc;

pub(super) fn run(args: &SoakArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let soak = match &args.file {
        Some(path) => {
            // Read once: standard input cannot be read again.
            let source = Disk.read(path, Kind::Yaml)?;
            if week::first_key_of(&source).as_deref() == Some("week") {
                return of_week(path, &source, args, session);
            }
            soak::check(&source)?
        }
        None => of_options(args)?,
    };
    let Some(given) = soak.amount else {
        return Err(Failure::Said("say how much coir: --product, --dry or --loose".to_owned()));
    };
    let dry_kg = given.dry_kg(&soak.product);
    let sheet = soak.work_out(dry_kg, args.compare).map_err(|error| Failure::Said(error.to_string()))?;
    let times = sheet.as_ref().zip(soak.ready.as_ref()).and_then(|(sheet, ready)| sheet.times(ready));
    let report = SoakReport {
        soak: &soak,
        sheet: sheet.as_ref(),
        dry_kg,
        loose: in_litres(loose_l_of_dry(dry_kg)),
        pieces: match given {
            CoirAmount::Pieces(pieces) => Some(pieces),
            CoirAmount::DryKg(_) | CoirAmount::LooseL(_) => None,
        },
        times: times.as_ref(),
        late: is_late(times.as_ref(), session),
        after_mix: false,
    };
    print(&report, session)
}

/// The worksheet of a week's coir.
fn of_week(path: &Path, source: &Arc<SourceText>, args: &SoakArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if args.compare {
        return Err(Failure::Said("--compare takes a soak file or options, not a week".to_owned()));
    }
    let inputs = Inputs { files: &Disk, wanted: &args.wanted, stock: None };
    let loaded = inputs.week_of(path, source)?;
    let plan = plan::plan(&loaded)?;
    let failed = plan.warnings.iter().find_map(|warning| match warning {
        Warning::SoakFails(error) => Some(error),
        _ => None,
    });
    if let Some(error) = failed {
        return Err(Failure::Said(format!("the soak of `{}`: {error}", loaded.week.name)));
    }
    let Some(soaking) = &plan.soak else {
        return Err(Failure::Said(format!("the mix of `{}` holds no coir", loaded.week.name)));
    };
    let late = is_late(soaking.times.as_ref(), session);
    print(&SoakReport { late, ..SoakReport::of(soaking) }, session)
}

fn is_late(times: Option<&Times>, session: &Session<'_>) -> bool {
    times.zip(session.now).is_some_and(|(times, now)| times.start.timestamp() < now)
}

fn print(report: &SoakReport<'_>, session: &mut Session<'_>) -> Result<u8, Failure> {
    session.report(report, false)?;
    Ok(if report.sheet.is_some_and(Worksheet::misses_target) { UNMET } else { DONE })
}

fn of_options(args: &SoakArgs) -> Result<Soak, Rejected> {
    let pieces = args.count.as_deref().or(args.product.as_ref().map(|_| "1"));
    soak::from_options(&[
        ("--product", "coir/product", args.product.as_deref()),
        ("--count", "coir/count", pieces),
        ("--dry", "coir/dry", args.dry.as_deref()),
        ("--loose", "coir/loose", args.loose.as_deref()),
        ("--sold-as", "sold_as", args.sold_as.as_deref()),
        ("--salt", "salt", args.salt.as_deref()),
        ("--label-ca", "label_ca", args.label_ca.as_deref()),
        ("--target", "target/monovalent", args.target.as_deref()),
        ("--soaks", "soaks", args.soaks.as_deref()),
        ("--hours", "hours", args.hours.as_deref()),
        ("--particles", "particles", args.particles.as_deref()),
        ("--ready", "ready", args.ready.as_deref()),
        ("--tub", "tub", args.tub.as_deref()),
    ])
}
