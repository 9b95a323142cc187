//! `trayful soak`: the coir worksheet.

use super::args::SoakArgs;
use super::{DONE, Failure, Session, UNMET};
use crate::catalogue::salts;
use crate::coir::Salt;
use crate::plan;
use crate::report::SoakReport;
use crate::soak::{self, Amount, Asked, Outcome, Times};
use crate::source::Disk;
use crate::week;
use std::path::Path;

pub(super) fn run(args: &SoakArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let soak = match &args.file {
        Some(path) if week::first_key(path, &Disk).as_deref() == Some("week") => return of_week(path, args, session),
        Some(path) => soak::load(path, &Disk)?,
        None => soak::from_options(&asked(args))?,
    };
    let Some(given) = soak.amount else {
        return Err(Failure::Said("say how much coir: --product, --dry or --loose".to_owned()));
    };
    let dry_kg = given.dry_kg(&soak.product);
    let others: Vec<Salt> = salts().iter().map(|entry| entry.salt.clone()).filter(Salt::is_for_baths).collect();
    let sheet =
        soak::work_out(&soak, dry_kg, &others, args.compare).map_err(|error| Failure::Said(error.to_string()))?;
    let times = sheet.as_ref().zip(soak.ready.as_ref()).and_then(|(sheet, ready)| Times::of(&sheet.course, ready));
    let late = times.as_ref().zip(session.now).is_some_and(|(times, now)| times.start.timestamp() < now);
    let report = SoakReport {
        soak: &soak,
        sheet: sheet.as_ref(),
        dry_kg,
        pieces: match given {
            Amount::Pieces(pieces) => Some(pieces),
            Amount::DryKg(_) | Amount::LooseL(_) => None,
        },
        times: times.as_ref(),
        late,
    };
    session.report(&report, false)?;
    let unmet = sheet.is_some_and(|sheet| matches!(sheet.outcome, Outcome::OutOfReach(_)));
    Ok(if unmet { UNMET } else { DONE })
}

/// The worksheet of a week's coir.
fn of_week(path: &Path, args: &SoakArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if args.compare {
        return Err(Failure::Said("--compare takes a soak file or options, not a week".to_owned()));
    }
    let loaded = week::load(path, &Disk, &[])?;
    let plan = plan::plan(&loaded)?;
    let Some(soaking) = &plan.soak else {
        return Err(Failure::Said(format!("the mix of `{}` holds no coir", loaded.week.name)));
    };
    let late = soaking.times.as_ref().zip(session.now).is_some_and(|(times, now)| times.start.timestamp() < now);
    session.report(&SoakReport { late, ..SoakReport::of(soaking) }, false)?;
    let unmet = soaking.sheet.as_ref().is_some_and(|sheet| matches!(sheet.outcome, Outcome::OutOfReach(_)));
    Ok(if unmet { UNMET } else { DONE })
}

fn asked(args: &SoakArgs) -> Asked<'_> {
    Asked {
        product: args.product.as_deref(),
        count: args.count.as_deref(),
        dry: args.dry.as_deref(),
        loose: args.loose.as_deref(),
        sold_as: args.sold_as.as_deref(),
        salt: args.salt.as_deref(),
        label_ca: args.label_ca.as_deref(),
        target: args.target.as_deref(),
        soaks: args.soaks.as_deref(),
        hours: args.hours.as_deref(),
        particles: args.particles.as_deref(),
        ready: args.ready.as_deref(),
        tub: args.tub.as_deref(),
    }
}
