//! A calendar for other programs: iCalendar by RFC 5545, with times in UTC, which every importer understands
//! without a table of zones.

use crate::hash::{START, fnv};
use crate::printable::printable;
use jiff::civil::Date;
use jiff::{Timestamp, ZonedDateTime};
use std::collections::HashMap;

/// Octets of a line, without its end (RFC 5545, 3.1).
const LINE: usize = 75;

/// A calendar of what there is to do.
#[derive(Clone, Debug)]
pub struct Calendar {
    /// What it is of.
    pub title: String,
    /// What tells it from others, such as the name of its file: events of one keep their identity, whatever day they
    /// move to.
    pub file: String,
    /// When it is made: of two versions of an event the later one holds.
    pub made: Timestamp,
    /// The events.
    pub events: Vec<Event>,
}

/// Something to do or to see.
#[derive(Clone, Debug)]
pub struct Event {
    /// When.
    pub when: When,
    /// A short word for what it is, which stays the same.
    pub code: &'static str,
    /// The crop that it is for, or nothing.
    pub whose: String,
    /// What to do.
    pub what: String,
    /// Why, or how.
    pub why: String,
    /// Whether to remind of it.
    pub alarm: bool,
    /// It is over: it has its number among those like it, and is not written any more.
    pub is_over: bool,
}

/// The time of an event.
#[derive(Clone, Debug)]
pub enum When {
    /// A day, at no hour.
    Day(Date),
    /// From a time on; an hour is kept free for it.
    Hour(ZonedDateTime),
}

impl When {
    /// The day.
    pub fn day(&self) -> Date {
        self.key().0
    }

    /// The day, then the time, to sort by: what has no hour comes first.
    fn key(&self) -> (Date, Option<Timestamp>) {
        match self {
            Self::Day(day) => (*day, None),
            Self::Hour(at) => (at.date(), Some(at.timestamp())),
        }
    }
}

impl Calendar {
    /// The text of the calendar.
    ///
    /// An event that was imported before is known by its UID: of the file, its code, its crop, and its ordinal among
    /// those that have these in common, never of its time. A second import therefore moves it.
    pub fn render(&self) -> String {
        let mut text = String::new();
        let mut line = |content: &str| fold(content, &mut text);
        for content in ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//trayful//trayful//EN", "CALSCALE:GREGORIAN"] {
            line(content);
        }
        line(&format!("X-WR-CALNAME:{}", escaped(&self.title)));
        let mut events: Vec<&Event> = self.events.iter().collect();
        events.sort_by_key(|event| event.when.key());
        let mut ordinals: HashMap<(&str, &str), u32> = HashMap::new();
        for event in events {
            let ordinal = ordinals.entry((event.code, &event.whose)).or_default();
            *ordinal += 1;
            if !event.is_over {
                self.event(event, *ordinal, &mut line);
            }
        }
        line("END:VCALENDAR");
        text
    }

    fn event(&self, event: &Event, ordinal: u32, line: &mut impl FnMut(&str)) {
        line("BEGIN:VEVENT");
        let whose =
            self.file.chars().chain(['\0']).chain(event.whose.chars()).fold(START, |hash, c| fnv(hash, c.into()));
        line(&format!("UID:{}-{ordinal}-{whose:016x}@trayful", event.code));
        line(&format!("DTSTAMP:{}", utc(self.made)));
        // Importers that ask for a higher number get one: the minutes since 1970.
        line(&format!("SEQUENCE:{}", (self.made.as_second() / 60).max(0)));
        match &event.when {
            When::Day(day) => {
                line(&format!("DTSTART;VALUE=DATE:{}", day.strftime("%Y%m%d")));
                line("TRANSP:TRANSPARENT");
            }
            When::Hour(at) => {
                line(&format!("DTSTART:{}", utc(at.timestamp())));
                line("DURATION:PT1H");
            }
        }
        let summary = escaped(&event.what);
        line(&format!("SUMMARY:{summary}"));
        if !event.why.is_empty() {
            line(&format!("DESCRIPTION:{}", escaped(&event.why)));
        }
        if event.alarm {
            // On a day without an hour in its morning, else a quarter of an hour ahead.
            let trigger = if matches!(event.when, When::Day(_)) { "PT8H" } else { "-PT15M" };
            for content in ["BEGIN:VALARM", "ACTION:DISPLAY", &format!("TRIGGER:{trigger}")] {
                line(content);
            }
            line(&format!("DESCRIPTION:{summary}"));
            line("END:VALARM");
        }
        line("END:VEVENT");
    }
}

fn utc(at: Timestamp) -> String {
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// A text as a value (RFC 5545, 3.3.11).
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in printable(text).chars() {
        match c {
            '\n' => escaped.push_str("\\n"),
            '\t' => escaped.push(' '),
            '\\' | ';' | ',' => escaped.extend(['\\', c]),
            _ => escaped.push(c),
        }
    }
    escaped
}

/// Adds a line, folded where it is too long: what goes on begins with a space. No character is cut.
fn fold(content: &str, text: &mut String) {
    let mut octets = 0;
    for c in content.chars() {
        if octets + c.len_utf8() > LINE {
            text.push_str("\r\n ");
            octets = 1;
        }
        text.push(c);
        octets += c.len_utf8();
    }
    text.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(when: &str, whose: &str, what: &str) -> Event {
        let when = match when.contains('T') {
            true => When::Hour(when.parse().unwrap()),
            false => When::Day(when.parse().unwrap()),
        };
        Event {
            when,
            code: "mix",
            whose: whose.to_owned(),
            what: what.to_owned(),
            why: String::new(),
            alarm: true,
            is_over: false,
        }
    }

    fn rendered(file: &str, made: &str, events: Vec<Event>) -> String {
        let made = made.parse().unwrap();
        Calendar { title: "a; week, \u{1f345}".to_owned(), file: file.to_owned(), made, events }.render()
    }

    /// What a reader sees: lines joined again.
    fn unfolded(text: &str) -> Vec<String> {
        text.replace("\r\n ", "").split_terminator("\r\n").map(str::to_owned).collect()
    }

    fn uids(text: &str) -> Vec<String> {
        unfolded(text).into_iter().filter(|line| line.starts_with("UID:")).collect()
    }

    #[test]
    fn lines_are_folded_between_characters_and_values_escaped() {
        let what = "sow; cover, \"press\" \\ water\nthen \u{1f345}".to_owned() + &"\u{1f345}ü".repeat(60) + "\u{1b}";
        let text = rendered("week.yaml", "2027-01-01T00:00:00Z", vec![event("2027-03-06", "", &what)]);
        assert!(text.split("\r\n").all(|line| line.len() <= LINE && !line.contains(['\n', '\r'])), "{text}");
        assert!(text.split("\r\n").any(|line| line.len() > LINE - 4), "lines are filled");
        let summary = format!(
            "SUMMARY:sow\\; cover\\, \"press\" \\\\ water\\nthen \u{1f345}{}\\\\u{{1b}}",
            "\u{1f345}ü".repeat(60)
        );
        assert!(unfolded(&text).contains(&summary), "{text}");
        assert!(text.contains("X-WR-CALNAME:a\\; week\\, \u{1f345}\r\n"));
    }

    #[test]
    fn times_are_utc_and_days_are_dates() {
        let events = vec![event("2027-03-06T10:00[Europe/Paris]", "", "mix"), event("2027-03-06", "kale", "up")];
        let text = rendered("week.yaml", "1970-01-01T01:00:30Z", events);
        for line in [
            "DTSTART:20270306T090000Z",
            "DTSTART;VALUE=DATE:20270306",
            "DTSTAMP:19700101T010030Z",
            "SEQUENCE:60",
            "TRIGGER:-PT15M",
            "TRIGGER:PT8H",
        ] {
            assert!(text.contains(&format!("\r\n{line}\r\n")), "{line} in {text}");
        }
        assert_eq!((text.matches("DURATION").count(), text.matches("TRANSP:").count()), (1, 1));
    }

    #[test]
    fn an_event_is_the_same_whenever_it_is_and_another_in_another_file() {
        let of = |file: &str, made: &str, day: &str| {
            let events = vec![event(day, "kale", "a"), event("2027-03-08", "kale", "b"), event(day, "leek", "a")];
            uids(&rendered(file, made, events))
        };
        let first = of("week.yaml", "2027-01-01T00:00:00Z", "2027-03-06");
        assert_eq!(first.iter().collect::<std::collections::BTreeSet<_>>().len(), 3);
        let mut moved = of("week.yaml", "2027-02-01T00:00:00Z", "2027-03-07");
        assert_eq!(first, moved);
        // Even where one overtakes another.
        moved = of("week.yaml", "2027-02-01T00:00:00Z", "2027-03-09");
        moved.sort();
        let mut sorted = first.clone();
        sorted.sort();
        assert_eq!(sorted, moved);
        assert!(of("other.yaml", "2027-01-01T00:00:00Z", "2027-03-06").iter().all(|uid| !first.contains(uid)));
    }
}
