//! When the mix must be ready.

use crate::diagnostic::{Code, Problem, Problems, Span};
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{TimeZone, TimeZoneDatabase};

/// A local date and time, and the zone that fixes what it means.
#[derive(Clone, Debug)]
pub struct Moment {
    /// On the clock of the place.
    pub local: DateTime,
    /// The place's zone; the system's where the file names none.
    pub zone: Option<TimeZone>,
}

/// A date alone means this hour.
const MORNING: i8 = 8;
const EXPECTED: &str = "a date and time such as `2027-03-06 10:00`";

/// Reads `2027-03-06 10:00`, `2027-03-06T10:00` or a date alone (08:00).
pub fn moment(text: &str, at: Span, problems: &mut Problems) -> Option<DateTime> {
    let text = text.trim();
    let (day, hour) = match text.split_once(['T', ' ']) {
        Some((day, hour)) => (day, Some(hour.trim())),
        None => (text, None),
    };
    let date = match day.parse::<Date>() {
        Ok(date) if looks_like_a_date(day) => date,
        _ => {
            let what = if looks_like_a_date(day) {
                format!("`{day}` is not a day of the calendar")
            } else {
                format!("`{text}` is not a date")
            };
            problems.push(Problem::new(Code::Date, at, what, EXPECTED));
            return None;
        }
    };
    let time = match hour {
        None => Time::new(MORNING, 0, 0, 0).ok(),
        // `9:30` as people write it.
        Some(hour) => format!("{hour:0>5}").parse::<Time>().ok().filter(|_| hour.contains(':')),
    };
    if time.is_none() {
        let what = format!("`{}` is not a time of day", hour.unwrap_or_default());
        problems.push(Problem::new(Code::Date, at, what, EXPECTED));
    }
    time.map(|time| date.to_datetime(time))
}

fn looks_like_a_date(day: &str) -> bool {
    let parts: Vec<&str> = day.split('-').collect();
    matches!(parts[..], [year, month, day]
        if (year.len(), month.len(), day.len()) == (4, 2, 2)
            && [year, month, day].iter().all(|part| part.bytes().all(|byte| byte.is_ascii_digit())))
}

/// The zone of a name.
pub fn zone(name: &str, at: Span, problems: &mut Problems) -> Option<TimeZone> {
    // The bundled rules: the same on every machine, and no folder to search.
    let zone = TimeZoneDatabase::bundled().get(name.trim()).ok();
    if zone.is_none() {
        let what = format!("no time zone is called `{name}`");
        problems.push(Problem::new(Code::Date, at, what, "a zone such as `Europe/Paris` or `America/New_York`"));
    }
    zone
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use std::sync::Arc;

    fn read(text: &str) -> Option<String> {
        let mut problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: text.to_owned() }));
        moment(text, Span::new(0, text.len()), &mut problems).map(|moment| moment.to_string())
    }

    #[test]
    fn dates_as_written() {
        assert_eq!(read("2027-03-06 10:00").as_deref(), Some("2027-03-06T10:00:00"));
        assert_eq!(read("2027-03-06T09:30").as_deref(), Some("2027-03-06T09:30:00"));
        assert_eq!(read("2027-03-06 9:30").as_deref(), Some("2027-03-06T09:30:00"));
        assert_eq!(read("2027-03-06").as_deref(), Some("2027-03-06T08:00:00"));
    }

    #[test]
    fn dates_that_do_not_exist() {
        for text in ["2027-02-29", "2027-13-01", "2027-03-06 25:00", "2027-03-06 10", "6 March", "06-03-2027", ""] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
