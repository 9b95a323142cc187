//! `trayful season`

use super::args::SeasonArgs;
use super::day::{is_sown_on, today, with_log};
use super::{DONE, Failure, Session, UNMET, output, said};
use crate::diagnostic::Rejected;
use crate::printable::shown;
use crate::report::SeasonReport;
use crate::season::{Dated, Lateness, Mark, Season, SeasonPlan, Told, Windows, dates_of, day_text, first_line, sown};
use crate::source::{FileKind, Files, Original, is_standard_input, is_yaml};
use crate::week::BESIDE;
use jiff::civil::Date;
use std::collections::BTreeSet;
use std::fs;
use std::io::{ErrorKind, Read};
use std::path::{Component, Path, PathBuf};

pub(super) fn run(args: &SeasonArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if let Some(on) = args.sown {
        return enter_sown(args, on, session);
    }
    let mut season = session.inputs(session.disk, &args.wanted).season(&args.season)?;
    let log_unread = with_log(&mut season);
    let today = today(&season, &args.from, session);
    session.take_units(&season.loaded.week.standing);
    if let Some(folder) = &args.write {
        return write_weeks(args, folder, &season, today, session);
    }
    let plan = SeasonPlan::of(&season, &session.inputs(session.disk, &args.wanted), today)?;
    let not_entered = season.not_entered(&plan.plantings);
    let report = SeasonReport { plan: &plan, season: &season, not_entered, log_unread };
    match session.wants_calendar() {
        true => session.calendar(&plan.name, Some(&args.season), report.events(session.style(false).units))?,
        false => session.report(&report, false)?,
    };
    Ok(if plan.fits() { DONE } else { UNMET })
}

/// Writes a week file for each day into a folder: none before all are ready.
fn write_weeks(
    args: &SeasonArgs,
    folder: &Path,
    season: &Season,
    today: Date,
    session: &mut Session<'_>,
) -> Result<u8, Failure> {
    let opened = session.open()?;
    let days = season.chosen(today)?;
    let (told, _) = season.told(&session.inputs(session.disk, &args.wanted), &days, today)?;
    if !season.has_place() && session.disk.has(&folder.join(BESIDE)) {
        return said(format!(
            "`{}` holds a `{BESIDE}` that the weeks would go by, and the season has no place: name another folder",
            shown(folder)
        ));
    }
    let made = match fs::create_dir(folder) {
        Err(error) if error.kind() != ErrorKind::AlreadyExists => return Err(output::not_written(folder, &error)),
        made => made.is_ok(),
    };
    let mut done = put_weeks(args, folder, season, (&days, &told), session).inspect_err(|_| {
        // Only an empty one goes.
        let _ = made.then(|| fs::remove_dir(folder));
    })?;
    let left = left_over(folder, season, &dates_of(&days)).into_iter();
    done.extend(left.map(|path| format!("of a day on which nothing is sown any more: {}", shown(&path))));
    session.write_to(opened, |out| done.iter().try_for_each(|path| writeln!(out, "{path}")))?;
    Ok(DONE)
}

/// Week files of the season that an earlier run wrote, of other days than these.
fn left_over(folder: &Path, season: &Season, days: &BTreeSet<Date>) -> Vec<PathBuf> {
    let is_left = |path: &PathBuf| {
        let day = path.file_stem().and_then(|stem| stem.to_str()?.parse::<Date>().ok());
        let begins = |day: Date| {
            let mut head = Vec::new();
            fs::File::open(path).ok()?.take(1024).read_to_end(&mut head).ok()?;
            head.starts_with(first_line(season, day).as_bytes()).then_some(())
        };
        day.filter(|day| !days.contains(day) && is_yaml(path) && path.is_file()).and_then(begins).is_some()
    };
    let mut left: Vec<PathBuf> =
        fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).filter(is_left).collect();
    left.sort();
    left
}

/// The week files of a folder that is there, as they are named.
fn put_weeks(
    args: &SeasonArgs,
    folder: &Path,
    season: &Season,
    (days, told): (&[Dated], &Told),
    session: &Session<'_>,
) -> Result<Vec<String>, Failure> {
    let way = way(folder, args.season.parent().unwrap_or(Path::new("")))
        .map_err(|error| output::not_written(folder, &error))?;
    let mut ready = Vec::new();
    for on in dates_of(days) {
        let path = folder.join(format!("{on}.yaml"));
        let mut prepared = session.prepared(&path)?;
        let text = day_text(season, days, told, on, &way);
        prepared.fill(|out| out.write_all(text.as_bytes())).map_err(|error| output::not_written(&path, &error))?;
        ready.push((path, prepared));
    }
    let mut done = Vec::new();
    for (path, prepared) in ready {
        match prepared.put() {
            Ok(()) => done.push(shown(&path)),
            Err(error) if done.is_empty() => return Err(output::not_written(&path, &error)),
            Err(error) => {
                done.push(format!("and then not `{}`: {error}", shown(&path)));
                return Err(Failure::Listed("only some of the weeks were written:", done));
            }
        }
    }
    Ok(done)
}

/// Writes what was sown on a day into the file of the season.
fn enter_sown(args: &SeasonArgs, on: Date, session: &mut Session<'_>) -> Result<u8, Failure> {
    let path = &args.season;
    if is_standard_input(path) {
        return Err(Failure::Said("`--sown` changes the file of the season: name it in place of `-`".to_owned()));
    }
    let original = Original::load(path, FileKind::Yaml)?;
    // The same read by the disk, which then keeps the result from being written over it.
    let source = session.disk.read(path, FileKind::Yaml)?;
    if source.text != original.source.text {
        return said(format!("{} has been changed meanwhile: run this again", shown(path)));
    }
    let season = session.inputs(session.disk, &args.wanted).season_of(path, &source)?;
    let today = today(&season, &args.from, session);
    // Without a clock every day may be over.
    if on > today && today > Date::MIN {
        return said(format!("{on} is still to come: enter a day once it is sown"));
    }
    let (windows, choice) = season.choice(today.min(on))?;
    let days = season.dated(&windows, &choice);
    is_sown_on(on, &dates_of(&days), &season).map_err(|failure| match failure {
        Failure::Said(why) => Failure::Said(format!(
            "{why}. What was sown on {on} in place of another day is entered as `sow: {on}` in its sowing, by hand; what \
             was potted on, as `on: {on}` under its `then:`"
        )),
        failure => failure,
    })?;
    let (bytes, marks) = sown(&original, &season, &days, on).map_err(|by_hand| {
        let why = match by_hand.is_table {
            true => "nothing was written: a table of sowings is edited by hand. Under its column `sow`:",
            false => {
                "nothing was written: the days cannot be put in without changing more. Days before this one are entered \
                 first; of a succession of which one was never sown, write by hand what it is without that:"
            }
        };
        Failure::Listed(why, by_hand.words)
    })?;
    let (file, name) = (shown(path), &season.loaded.week.name);
    let opened = session.open()?;
    let missed = missed(&season, &windows, on);
    let done = if marks.is_empty() {
        format!("season `{name}`: what was sown on {on} is in {file} already{missed}")
    } else {
        let entered = entered(&season, &marks, on)?;
        output::replace(path, &original.bytes, &bytes)?;
        format!("season `{name}`: what was sown on {on} is written to {file}{entered}{missed}")
    };
    session.write_to(opened, |out| writeln!(out, "{done}")).map_err(|failure| failure.after(Some(done)))?;
    Ok(DONE)
}

/// What is too late to be planned for a day, and may have been sown then all the same.
fn missed(season: &Season, windows: &Windows, on: Date) -> String {
    let missed = windows.too_late.iter().filter(|late| late.why == Lateness::Missed);
    let names: BTreeSet<String> = missed.map(|late| season.loaded.week.sowings[late.sowing].name()).collect();
    match Vec::from_iter(names).join(", ") {
        none if none.is_empty() => none,
        names => format!(
            "\nNot entered, since it is too late by its weeks: {names}. If sown then, write `sow: {on}` into it."
        ),
    }
}

/// What was entered, and which of it was planned for a day before that.
fn entered(season: &Season, marks: &[Mark], on: Date) -> Result<String, Rejected> {
    let name = |mark: &Mark| season.loaded.week.sowings[mark.sowing].name();
    let all: Vec<String> =
        marks.iter().map(|mark| name(mark) + if mark.key == "on" { " (potted on)" } else { "" }).collect();
    // As it is planned where no day is past.
    let planned = season.chosen(Date::MIN)?;
    let earlier = marks.iter().filter_map(|mark| {
        let dated = planned.iter().find(|dated| (dated.sowing, dated.number) == (mark.sowing, mark.number))?;
        let day = dated.on(mark.key == "on").filter(|day| *day < on)?;
        Some(format!("{} ({})", name(mark), day.strftime("%a %-d %b")))
    });
    let earlier: Vec<String> = earlier.collect();
    let all = all.join(", ");
    Ok(match &earlier[..] {
        [] => format!(": {all}"),
        earlier => format!(
            ": {all}\nAn earlier day would have been better for {}: if it was done then, or not at all, correct the day \
             there.",
            earlier.join(", ")
        ),
    })
}

/// The way from one folder to another.
fn way(from: &Path, to: &Path) -> std::io::Result<PathBuf> {
    let here = Path::new(".");
    let whole = |path: &Path| fs::canonicalize(if path == Path::new("") { here } else { path });
    let (from, to) = (whole(from)?, whole(to)?);
    let shared = from.components().zip(to.components()).take_while(|(one, other)| one == other).count();
    let up = from.components().skip(shared).map(|_| Component::ParentDir);
    Ok(up.chain(to.components().skip(shared)).collect())
}
