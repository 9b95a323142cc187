//! Local times as people write them, and the zones that fix what they mean.

use crate::diagnostic::{Asked, Code, Looks, Problems};
use crate::printable::{shown, within_a_line};
use crate::source::{Fields, FromNode, FromText, Node, figures, regular_file, text_of};
use crate::units::{Fault, Parsed};
use jiff::ZonedDateTime;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, TimeZone, TimeZoneDatabase};
use serde::Serializer;
use std::ops::RangeInclusive;
use std::path::Path;

/// A local date and time, and the zone that fixes what it means.
#[derive(Clone, Debug)]
pub struct Moment {
    /// On the clock of the place.
    pub local: DateTime,
    /// The place's zone.
    pub zone: TimeZone,
}

/// What is wrong with a text, and what was expected.
type Misread = (String, &'static str);

impl Moment {
    /// The time in its zone; `None` beyond the calendar.
    pub fn zoned(&self) -> Option<ZonedDateTime> {
        self.local.to_zoned_datetime(self.zone.clone()).ok()
    }

    /// Reads a key: `2027-03-06 10:00`, `2027-03-06T10:00` or a date alone, at the hour that is usual on that day; a
    /// time that the clocks of the zone show. The zone is asked for only if the key is there.
    pub fn read(
        fields: &mut Fields<'_>,
        key: &'static str,
        usual_hour: &dyn Fn(Date) -> Time,
        zone: &dyn Fn() -> TimeZone,
        problems: &Problems,
    ) -> Option<Self> {
        let node = fields.get(key)?;
        problems.ask(|| Asked::Value { at: node.at, looks: Looks::Text { expected: EXPECTED, reads: is_moment } });
        let moment = Self::from_text(text_of(node, EXPECTED, problems)?, usual_hour, zone());
        moment.map_err(|(what, expected)| problems.fault(Code::Date, node.at, what, expected)).ok()
    }

    /// The moment of a text, or what is wrong with it and what was expected.
    fn from_text(text: &str, usual_hour: &dyn Fn(Date) -> Time, zone: TimeZone) -> Result<Self, Misread> {
        let local = local_time(text.trim(), usual_hour)?;
        if matches!(zone.to_ambiguous_timestamp(local).offset(), AmbiguousOffset::Gap { .. }) {
            let what = format!("`{}`: this time is skipped when clocks go forward", text.trim());
            return Err((what, "an hour earlier or later"));
        }
        Ok(Self { local, zone })
    }
}

fn is_moment(text: &str) -> Result<(), Fault> {
    local_time(text.trim(), &|_| Time::midnight()).map(|_| ()).map_err(|_| Fault::Shape(text.to_owned()))
}

figures! {
    /// A day of the calendar.
    Day(Date): "a day such as `2027-04-03`", text => day(text);
}

fn day(text: &str) -> Result<Date, Fault> {
    let day = text.trim();
    let read = day.parse::<Date>().ok().filter(|date| looks_like_a_date(day) && YEARS.contains(&date.year()));
    read.ok_or_else(|| Fault::NoDay(day.to_owned()))
}

/// A day of any year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct YearDay {
    month: i8,
    day: i8,
}

impl YearDay {
    /// The day in a year; `None` outside the calendar.
    pub fn in_year(self, year: i16) -> Option<Date> {
        Date::new(year, self.month, self.day).ok()
    }
}

impl FromText for YearDay {
    const EXPECTED: &'static str = "a day without its year, such as `10 May`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        const MONTHS: &str = "january february march april may june july august september october november december";
        let unknown = || Fault::Impossible(format!("`{}` is not a day of every year", text.trim()));
        let (one, other) = text.trim().split_once(' ').ok_or_else(unknown)?;
        let is_day = one.starts_with(|c: char| c.is_ascii_digit());
        let (day, month) = if is_day { (one, other.trim()) } else { (other.trim(), one) };
        let (day, month) = (day.parse().map_err(|_| unknown())?, month.to_lowercase());
        let known = MONTHS.split(' ').position(|name| month.len() >= 3 && name.starts_with(&month));
        let month = known.and_then(|place| i8::try_from(place + 1).ok()).ok_or_else(unknown)?;
        // 2001 has no 29 February, and neither have most.
        let found = Self { month, day };
        found.in_year(2001).map(|_| Parsed::from(found)).ok_or_else(unknown)
    }
}

/// `time_zone:`, by its name.
impl FromNode for TimeZone {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        const EXPECTED: &str = "a zone such as `Europe/Paris` or `America/New_York`";
        let name = text_of(node, EXPECTED, problems)?;
        let zone = zone_named(name);
        if zone.is_none() {
            problems.fault(Code::Date, node.at, format!("no time zone is called `{name}`"), EXPECTED);
        }
        zone
    }
}

/// A time by RFC 3339, with its offset.
pub fn rfc3339(at: &ZonedDateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// Serialises a time by RFC 3339, with its offset.
///
/// # Errors
/// Those of the serialiser.
pub fn serialize_rfc3339<S: Serializer>(at: &ZonedDateTime, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&rfc3339(at))
}

/// The years that dates may have.
pub(crate) const YEARS: RangeInclusive<i16> = 1900..=2999;
const EXPECTED: &str = "a date and time such as `2027-03-06 10:00`";

fn local_time(text: &str, usual_hour: &dyn Fn(Date) -> Time) -> Result<DateTime, Misread> {
    let (day, hour) = match text.split_once(['T', ' ']) {
        Some((day, hour)) => (day, Some(hour.trim())),
        None => (text, None),
    };
    if !looks_like_a_date(day) {
        return Err((format!("`{text}` is not a date"), EXPECTED));
    }
    let date: Date = day.parse().map_err(|_| (format!("`{day}` is not a day of the calendar"), EXPECTED))?;
    // Whatever is reckoned forward or back from it stays within the calendar.
    if !YEARS.contains(&date.year()) {
        return Err((format!("`{day}` lies outside the years {} to {}", YEARS.start(), YEARS.end()), EXPECTED));
    }
    let Some(hour) = hour else { return Ok(date.to_datetime(usual_hour(date))) };
    let beyond = hour.trim_start_matches(|c: char| c.is_ascii_digit() || c == ':' || c == '.').trim();
    if names_a_zone(beyond) {
        let what = format!("`{beyond}` is an offset or a zone: a time is what the local clock shows");
        return Err((what, "the time alone; a file says whose clock by `time_zone: America/New_York`"));
    }
    // `9:30` as people write it.
    let time = format!("{hour:0>5}").parse::<Time>().ok().filter(|_| hour.contains(':'));
    time.map(|time| date.to_datetime(time)).ok_or_else(|| (format!("`{hour}` is not a time of day"), EXPECTED))
}

/// Whether what stands after a time is `+05:00`, `Z`, `[Europe/Paris]` or `Europe/Paris`.
fn names_a_zone(text: &str) -> bool {
    text.starts_with(['+', '-', '−', '[']) || text.eq_ignore_ascii_case("z") || zone_named(text).is_some()
}

fn looks_like_a_date(day: &str) -> bool {
    let parts: Vec<&str> = day.split('-').collect();
    matches!(parts[..], [year, month, day]
        if (year.len(), month.len(), day.len()) == (4, 2, 2)
            && [year, month, day].iter().all(|part| part.bytes().all(|byte| byte.is_ascii_digit())))
}

/// The zone of the system, or why what names it cannot be used: the variable `TZ`, or else the
/// file `/etc/localtime`; UTC where there is neither. The file of a zone is read within
/// bounds, and only if it is a file.
///
/// # Errors
/// In words; the zone is then best taken as UTC.
#[cfg(unix)]
pub fn system_zone() -> Result<TimeZone, String> {
    let local = Path::new("/etc/localtime");
    let (stated, found) = match std::env::var_os("TZ") {
        Some(stated) if stated.is_empty() => return Ok(TimeZone::UTC),
        Some(stated) => {
            let stated = stated.to_string_lossy().into_owned();
            // POSIX: behind a colon stands whatever the system likes.
            let name = stated.strip_prefix(':').unwrap_or(&stated);
            let posix = || TimeZone::posix(name).ok();
            let found = zone_named(name).or_else(posix).or_else(|| zone_of(&Path::new(ZONES).join(name)));
            (format!("TZ={stated}"), found)
        }
        None if !local.exists() => return Ok(TimeZone::UTC),
        None => (shown(local), zone_of(local)),
    };
    found.ok_or_else(|| format!("`{}` is no time zone", within_a_line(&stated)))
}

/// The zone of the system.
///
/// # Errors
/// None: the system knows it.
#[cfg(not(unix))]
pub fn system_zone() -> Result<TimeZone, String> {
    Ok(TimeZone::system())
}

/// Where systems keep the files of zones.
#[cfg(unix)]
const ZONES: &str = "/usr/share/zoneinfo";

/// The zone of a file, by the name that it, or what it is a link to, has among the files of
/// zones, or else by what it holds.
#[cfg(unix)]
fn zone_of(path: &Path) -> Option<TimeZone> {
    // The largest are of 4 kB.
    const LIMIT: u64 = 64 << 10;
    let named = |path: &Path| zone_named(path.to_str()?.split_once("zoneinfo/")?.1);
    let linked = || named(&std::fs::read_link(path).ok()?);
    named(path).or_else(linked).or_else(|| {
        let (bytes, _) = regular_file(path, LIMIT).ok()?;
        TimeZone::tzif("", &bytes).ok()
    })
}

fn zone_named(name: &str) -> Option<TimeZone> {
    // The bundled rules: the same on every machine, and no folder to search.
    TimeZoneDatabase::bundled().get(name.trim()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<String> {
        Moment::from_text(text, &at_eight, TimeZone::UTC).ok().map(|moment| moment.local.to_string())
    }

    fn at_eight(_: Date) -> Time {
        Time::constant(8, 0, 0, 0)
    }

    /// Clocks go forward in the EU on 28 March 2027 at 01:00 UTC (Directive 2000/84/EC),
    /// in New York on 14 March 2027 at 02:00 (15 USC 260a).
    #[test]
    fn times_that_no_clock_shows() {
        let exists = |text: &str, name: &str| Moment::from_text(text, &at_eight, zone_named(name).unwrap()).is_ok();
        assert!(!exists("2027-03-28 02:30", "Europe/Paris"));
        assert!(!exists("2027-03-28 02:00", "Europe/Paris"));
        assert!(exists("2027-03-28 01:59", "Europe/Paris"));
        assert!(exists("2027-03-28 03:00", "Europe/Paris"));
        assert!(exists("2027-03-28 02:30", "America/New_York"));
        assert!(!exists("2027-03-14 02:30", "America/New_York"));
        // Shown twice: the first of the two is taken.
        assert!(exists("2027-10-31 02:30", "Europe/Paris"));
    }

    #[test]
    fn dates_as_written() {
        assert_eq!(read("2027-03-06 10:00").as_deref(), Some("2027-03-06T10:00:00"));
        assert_eq!(read("2027-03-06T09:30").as_deref(), Some("2027-03-06T09:30:00"));
        assert_eq!(read("2027-03-06 9:30").as_deref(), Some("2027-03-06T09:30:00"));
        assert_eq!(read("2027-03-06").as_deref(), Some("2027-03-06T08:00:00"));
    }

    /// A zone that is dropped without a word would shift every time of the calendar by hours.
    #[test]
    fn offsets_and_zones_are_refused() {
        for zone in
            ["+05:00", "-0500", "Z", " z", "[America/New_York]", "-05:00[America/New_York]", " Europe/Paris", " UTC"]
        {
            let text = format!("2027-03-06 10:00{zone}");
            let (what, expected) = Moment::from_text(&text, &at_eight, TimeZone::UTC).unwrap_err();
            assert!(what.contains(zone.trim()) && expected.contains("time_zone:"), "{what}");
        }
    }

    #[test]
    fn dates_that_do_not_exist() {
        for text in [
            "2027-02-29",
            "2027-13-01",
            "2027-03-06 25:00",
            "2027-03-06 10",
            "2027-03-06 10:00 am",
            "6 March",
            "06-03-2027",
            "",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
