//! The day of a season, for the commands that take a week.

use super::args::{DayArgs, FromArgs};
use super::{Failure, Session};
use crate::checked::is_a;
use crate::diagnostic::{Rejected, SourceText};
use crate::plan::Plan;
use crate::printable::shown;
use crate::season::{Dated, Season, SownDay, dates_of, is_fixed, is_some_of};
use crate::source::{FileKind, Files};
use crate::stock::{Known, Logbook};
use crate::week::Loaded;
use jiff::civil::Date;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

/// A day of a season, and what it was asked of.
pub(super) struct OfSeason {
    season: Season,
    days: Vec<Dated>,
    on: Date,
    today: Date,
    /// All of its days, where the week of one says something of the season.
    planned: Vec<SownDay>,
}

/// Reads a week, or the day of a season that is asked for.
pub(super) fn week_or_day(
    path: &Path,
    asked: &DayArgs,
    wanted: &[String],
    session: &Session<'_>,
) -> Result<(Loaded, Option<OfSeason>), Failure> {
    week_or_day_of(path, &session.disk.read(path, FileKind::Yaml)?, asked, wanted, session)
}

/// The same of a file that has been read: standard input can be read once only.
pub(super) fn week_or_day_of(
    path: &Path,
    source: &Arc<SourceText>,
    asked: &DayArgs,
    wanted: &[String],
    session: &Session<'_>,
) -> Result<(Loaded, Option<OfSeason>), Failure> {
    let inputs = session.inputs(session.disk, wanted);
    if !is_a(source, "season") {
        return match asked.day.or(asked.from.today) {
            Some(_) => Err(only_of_seasons()),
            None => Ok((inputs.week_of(path, source)?, None)),
        };
    }
    let mut season = inputs.season_of(path, source)?;
    // Whoever needs the log more says that it cannot be read.
    let _ = with_log(&mut season);
    // A day that is over is seen as it was.
    let today = today(&season, &asked.from, session).min(asked.day.unwrap_or(Date::MAX));
    let days = season.chosen(today)?;
    let dates = dates_of(&days);
    let on = match asked.day {
        Some(day) => is_sown_on(day, &dates, &season)?,
        None => *dates.range(today..).next().ok_or_else(|| {
            let last = dates.last().map_or_else(String::new, |last| format!(": its last day was {last}"));
            Failure::Said(format!("nothing is left to sow in `{}` from {today} on{last}", season.loaded.week.name))
        })?,
    };
    let (told, planned) = season.told(&inputs, &days, today)?;
    Ok((inputs.day(&season, &days, &told, on)?, Some(OfSeason { season, days, on, today, planned })))
}

impl OfSeason {
    /// The command that enters the day, or another one, in the file of its season, unless all of it is.
    pub(super) fn enter(&self, path: &Path, other: Option<Date>) -> Option<String> {
        let on = other.unwrap_or(self.on);
        let is_open = other.is_some() || !is_fixed(&self.season, &self.days, on);
        is_open.then(|| format!("trayful season {} --sown {on}", shown(path)))
    }

    /// The days that were taken out of the stock and are not entered in the season.
    pub(super) fn not_entered(&self) -> BTreeSet<Date> {
        self.season.not_entered(&self.days)
    }

    /// A week of the log that is another of these days, and some of whose sowings have moved to this one.
    ///
    /// # Errors
    /// [`Rejected`] where the days cannot be chosen as they were then.
    pub(super) fn taken_before(&self, book: &Logbook) -> Result<Option<Known>, Rejected> {
        for day in self.not_entered().into_iter().filter(|day| *day != self.on) {
            let then = self.season.chosen(self.today.min(day))?;
            if is_some_of((&then, day), (&self.days, self.on)) {
                return Ok(book.named(&format!("{}, {day}", self.season.loaded.week.name)));
            }
        }
        Ok(None)
    }

    /// Says of the plan of this day what its course of coir is in the season.
    pub(super) fn tell(&mut self, plan: &mut Plan) {
        if let Some(soaking) = plan.soak.as_mut().filter(|soaking| soaking.sheet.is_some()) {
            soaking.in_season = Some(self.season.coir_on(&mut self.planned, self.on));
        }
    }
}

/// A day, if something is sown on it; else the nearest days are named.
pub(super) fn is_sown_on(day: Date, dates: &BTreeSet<Date>, season: &Season) -> Result<Date, Failure> {
    if dates.contains(&day) {
        return Ok(day);
    }
    let near = [dates.range(..day).next_back(), dates.range(day..).next()].into_iter().flatten();
    let near: Vec<String> = near.map(|day| day.strftime("%a %Y-%m-%d").to_string()).collect();
    let near = match &near[..] {
        [] => "there is no day left".to_owned(),
        [near] => format!("the nearest day is {near}"),
        near => format!("the nearest days are {}", near.join(" and ")),
    };
    Err(Failure::Said(format!("nothing is sown on {day} in `{}`: {near}", season.loaded.week.name)))
}

/// An option that a week does not take.
pub(super) fn only_of_seasons() -> Failure {
    Failure::Said("`--day` and `--today` go with a season: a week says its day itself, by `mix_on:`".to_owned())
}

/// Enters in a season which of its days the log of its stock holds; or says why that cannot be read.
pub(super) fn with_log(season: &mut Season) -> Option<String> {
    let path = season.loaded.week.stock.as_ref()?.path.as_deref()?;
    match Logbook::of(path) {
        Ok(book) => {
            season.taken = Some(season.days_among(&book.weeks_taken()));
            None
        }
        Err(fault) => Some(fault.in_a_line()),
    }
}

/// The day that a season is planned from: that of the command line, or of the clock where the season is.
pub(super) fn today(season: &Season, asked: &FromArgs, session: &Session<'_>) -> Date {
    let zone = || season.loaded.week.standing.zone(session.around.zone);
    let now = || session.around.now.map(|now| now.to_zoned_datetime(zone()).date());
    asked.today.or_else(now).unwrap_or(Date::MIN)
}
