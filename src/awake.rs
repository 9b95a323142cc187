//! The hours in which somebody is there: whatever needs hands begins within them.

use crate::diagnostic::{Code, Problems};
use crate::moment::Day;
use crate::source::{Fields, FromNode, FromText, Node, Value, entries, figures, list, no_more_than};
use crate::units::{Fault, Parsed, within};
use jiff::civil::{Date, Time, Weekday};
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp, ZonedDateTime};
use std::cell::RefCell;
use std::collections::BTreeSet;

/// Minutes of a day.
const DAY: u16 = 24 * 60;
/// The most days away that a file may list.
const MOST_DAYS_AWAY: usize = 1000;
/// When to mix where nothing is said and somebody is there.
const MORNING: u16 = 8 * 60;

/// The hours of each weekday in which somebody is there, and the days away.
///
/// ```
/// use trayful::awake::Awake;
/// let at = |text: &str| text.parse::<jiff::ZonedDateTime>();
/// assert!(Awake::default().holds(&at("2027-03-06T21:00[Europe/Paris]")?));      // 07:00-21:00 unless stated
/// assert!(!Awake::default().holds(&at("2027-03-06T21:01[Europe/Paris]")?));
/// # Ok::<(), jiff::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Awake {
    /// Monday first.
    hours: [Hours; 7],
    not_on: BTreeSet<Date>,
    mix_at: Option<ClockTime>,
}

figures! {
    /// A day away, or all from one to another.
    Away((Date, Date)): "a day such as `2027-04-03`, or days such as `2027-04-03 to 2027-04-10`", text => away(text);
}

fn away(text: &str) -> Result<(Date, Date), Fault> {
    let (from, to) = text.split_once(" to ").unwrap_or((text, text));
    let [from, to] = [Day::from_text(from)?.value.0, Day::from_text(to)?.value.0];
    let days = (to - from).get_days();
    let bounds = (0.0..=366.0, "days away run from one to a later one, for a year at most");
    within((from, to), days.into(), bounds, text)
}

/// The hours of a day in minutes from its midnight: the end may lie in the next day. Nobody is there where both are one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Hours {
    from: u16,
    to: u16,
}

/// A time of day, in minutes from midnight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClockTime(u16);

impl Default for Awake {
    fn default() -> Self {
        Self { hours: [Hours { from: 7 * 60, to: 21 * 60 }; 7], not_on: BTreeSet::new(), mix_at: None }
    }
}

impl Awake {
    /// Reads `awake:` and `not_on:`; what is not stated is that of `base`.
    pub fn read(fields: &mut Fields<'_>, base: &Self, problems: &Problems) -> Self {
        let mut awake = base.clone();
        if let Some(node) = fields.get("awake") {
            awake.hours = Self::default().hours;
            awake.read_hours(node, problems);
        }
        if let Some(node) = fields.get("not_on") {
            let days = no_more_than(list(node), MOST_DAYS_AWAY, "days away", node.at, problems);
            let days = days.iter().filter_map(|days| Away::from_node(days, problems));
            awake.not_on = days
                .flat_map(|Away((from, to))| from.series(Span::new().days(1)).take_while(move |day| *day <= to))
                .collect();
        }
        awake
    }

    /// The same with the hour to mix at where a date alone is given.
    #[must_use]
    pub fn with_mix_at(self, mix_at: Option<ClockTime>) -> Self {
        Self { mix_at: mix_at.or(self.mix_at), ..self }
    }

    fn read_hours(&mut self, node: &Node<'_>, problems: &Problems) {
        if !matches!(node.value, Value::Map(_)) {
            if let Some(hours) = Hours::from_node(node, problems) {
                self.hours = [hours; 7];
            }
            return;
        }
        let mut all = Vec::new();
        for (name, key, value) in entries(node, "hours of days", problems).unwrap_or_default() {
            let Some(days) = days_of(name) else {
                problems.fault(Code::Choice, key.at, format!("`{name}` is no day of the week"), DAYS_EXPECTED);
                continue;
            };
            all.extend(Hours::from_node(value, problems).map(|hours| (days, hours)));
        }
        // What is said of one day wins over what is said of several.
        all.sort_by_key(|(days, _)| days.len() == 1);
        for (days, hours) in all {
            days.iter().for_each(|day| self.hours[place_of(*day)] = hours);
        }
    }

    /// Whether somebody is there at that time.
    pub fn holds(&self, at: &ZonedDateTime) -> bool {
        let (day, instant) = (at.date(), at.timestamp());
        let spells = day.yesterday().into_iter().chain([day]).filter_map(|day| self.spell(day, at.time_zone()));
        spells.into_iter().any(|[from, to]| (from..=to).contains(&instant))
    }

    /// The same hours up to a time, by the clocks of its zone.
    pub fn until(&self, ready: ZonedDateTime) -> Attendance<'_> {
        let days = Days { next: Some(ready.date()), spells: Vec::new() };
        Attendance { awake: self, ready, days: RefCell::new(days) }
    }

    /// The hours of a day in a zone; those after midnight end with the day where the next one is a day away.
    fn spell(&self, day: Date, zone: &TimeZone) -> Option<[Timestamp; 2]> {
        if self.is_away(day) {
            return None;
        }
        let Hours { from, to } = self.hours[place_of(day.weekday())];
        let next_away = day.tomorrow().is_ok_and(|next| self.not_on.contains(&next));
        let to = if next_away { to.min(DAY - 1) } else { to };
        let at = |minutes: u16| {
            let day = if minutes < DAY { day } else { day.tomorrow().ok()? };
            let local = day.to_datetime(ClockTime(minutes % DAY).time());
            local.to_zoned_datetime(zone.clone()).ok().map(|at| at.timestamp())
        };
        Some([at(from)?, at(to)?])
    }

    /// Whether it names days away.
    pub fn names_days_away(&self) -> bool {
        !self.not_on.is_empty()
    }

    /// Whether nobody is there on that day.
    pub fn is_away(&self, day: Date) -> bool {
        let Hours { from, to } = self.hours[place_of(day.weekday())];
        from == to || self.not_on.contains(&day)
    }

    /// A day, or the first after it on which somebody is there; the day itself where that is none.
    pub fn day_from(&self, day: Date) -> Date {
        // Each day away puts off the one day of a week that is kept by a week.
        let most = 7 * (self.not_on.len() + 1);
        day.series(Span::new().days(1)).take(most).find(|day| !self.is_away(*day)).unwrap_or(day)
    }

    /// The last of the days away that begin on a day, if these are several and not only those of each week.
    pub fn away_until(&self, day: Date) -> Option<Date> {
        let last = self.day_from(day).yesterday().ok().filter(|last| *last > day)?;
        self.not_on.range(day..=last).next().map(|_| last)
    }

    /// The hour that a date alone means: that to mix at, else 08:00, else the first at which somebody is there.
    pub fn usual_hour(&self, day: Date) -> Time {
        let Hours { from, to } = self.hours[place_of(day.weekday())];
        let is_there = from == to || (from..=to).contains(&MORNING);
        self.mix_at.unwrap_or(ClockTime(if is_there { MORNING } else { from })).time()
    }
}

/// When somebody is there up to a time. Each day is worked out once, however often spells are asked for.
#[derive(Debug)]
pub struct Attendance<'a> {
    awake: &'a Awake,
    ready: ZonedDateTime,
    days: RefCell<Days>,
}

/// From one second of the calendar to another.
pub type Spell = [i64; 2];

/// The days that were asked for so far.
#[derive(Debug)]
struct Days {
    /// The day before them.
    next: Option<Date>,
    /// Their spells, the last one first and apart.
    spells: Vec<Spell>,
}

impl Attendance<'_> {
    /// The time up to which it is known.
    pub fn ready(&self) -> &ZonedDateTime {
        &self.ready
    }

    /// That second in its zone; `None` beyond the calendar.
    pub fn at(&self, second: i64) -> Option<ZonedDateTime> {
        Some(Timestamp::from_second(second).ok()?.to_zoned_datetime(self.ready.time_zone().clone()))
    }

    /// When nobody is there between two seconds up to that time, in order; `None` beyond the calendar.
    pub fn absences(&self, from: i64, to: i64) -> Option<Vec<Spell>> {
        let there = self.spells(from, to)?;
        let begins = [from].into_iter().chain(there.iter().map(|[_, ends]| *ends));
        let ends = there.iter().map(|[begins, _]| *begins).chain([to]);
        Some(begins.zip(ends).map(|(begins, ends)| [begins.max(from), ends.min(to)]).filter(|[a, b]| a < b).collect())
    }

    /// When somebody is there between two seconds up to that time, in order and apart; `None` beyond the calendar.
    pub fn spells(&self, from: i64, to: i64) -> Option<Vec<Spell>> {
        let mut days = self.days.borrow_mut();
        // The hours of a day may end in the next one.
        let first = self.at(from)?.date();
        let first = first.yesterday().unwrap_or(first);
        while let Some(day) = days.next.filter(|day| *day >= first) {
            days.next = day.yesterday().ok();
            let spell = self.awake.spell(day, self.ready.time_zone());
            days.spells.extend(spell.map(|spell| spell.map(Timestamp::as_second)));
            days.join_last();
        }
        let within = days.spells.iter().map(|[begins, ends]| [*begins.max(&from), *ends.min(&to)]);
        Some(within.rev().filter(|[begins, ends]| begins <= ends).collect())
    }
}

impl Days {
    /// Makes one of the earliest spell and those that begin before it ends.
    fn join_last(&mut self) {
        while let [.., [begins, ends], [earlier, until]] = self.spells[..]
            && begins <= until
        {
            self.spells.truncate(self.spells.len() - 2);
            self.spells.push([earlier.min(begins), ends.max(until)]);
        }
    }
}

impl ClockTime {
    fn time(self) -> Time {
        let [hour, minute] = [self.0 / 60 % 24, self.0 % 60].map(|part| i8::try_from(part).unwrap_or(0));
        Time::new(hour, minute, 0, 0).unwrap_or(Time::midnight())
    }
}

pub(crate) fn place_of(day: Weekday) -> usize {
    usize::from(day.to_monday_zero_offset().unsigned_abs())
}

/// What names days of the week, for messages.
pub(crate) const DAYS_EXPECTED: &str = "weekdays, weekends, monday ... sunday";

/// The days that a key means.
pub(crate) fn days_of(name: &str) -> Option<&'static [Weekday]> {
    use Weekday::{Friday, Monday, Saturday, Sunday, Thursday, Tuesday, Wednesday};
    const WEEK: [Weekday; 7] = [Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday];
    const NAMES: &str = "monday tuesday wednesday thursday friday saturday sunday";
    match name.to_ascii_lowercase().as_str() {
        "weekdays" => Some(&WEEK[..5]),
        "weekends" => Some(&WEEK[5..]),
        name => NAMES.split(' ').position(|known| known == name).map(|place| &WEEK[place..=place]),
    }
}

/// Minutes of `7:30`, up to 24:00.
fn minutes(text: &str) -> Result<u16, Fault> {
    let parts = text.trim().split_once(':');
    let number = |text: &str| text.parse::<u16>().ok().filter(|_| text.bytes().all(|byte| byte.is_ascii_digit()));
    let read = parts.and_then(|(hour, minute)| Some((number(hour)?, number(minute).filter(|_| minute.len() == 2)?)));
    let minutes = read.filter(|(hour, minute)| *hour <= 24 && *minute < 60).map(|(hour, minute)| hour * 60 + minute);
    let minutes = minutes.filter(|minutes| *minutes <= DAY);
    minutes.ok_or_else(|| Fault::Impossible(format!("`{}` is not a time of day", text.trim())))
}

impl FromText for ClockTime {
    const EXPECTED: &'static str = "a time of day such as `10:00`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        match minutes(text)? {
            DAY => Err(Fault::Impossible("`24:00` is the next day".to_owned())),
            minutes => Ok(Parsed::from(Self(minutes))),
        }
    }
}

impl FromText for Hours {
    const EXPECTED: &'static str = "hours such as `07:00-21:00`, or `no`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        if text.trim().eq_ignore_ascii_case("no") {
            return Ok(Parsed::from(Self { from: 0, to: 0 }));
        }
        let parts = text.split_once(['-', '–']);
        let (from, to) =
            parts.ok_or_else(|| Fault::Impossible(format!("`{}` is not from one time to another", text.trim())))?;
        match (minutes(from)?, minutes(to)?) {
            (DAY, _) => Err(Fault::Impossible("hours do not begin at 24:00".to_owned())),
            (from, to) if from == to => Err(Fault::Impossible(format!("`{}` is no time at all", text.trim()))),
            (from, to) => Ok(Parsed::from(Self { from, to: if to > from { to } else { to + DAY } })),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use crate::source::parse;
    use std::sync::Arc;

    fn read(text: &str) -> Result<Awake, String> {
        let source = Arc::new(SourceText { name: "x".to_owned(), text: text.to_owned() });
        let problems = Problems::new(source);
        let node = parse(text, &problems).unwrap();
        let awake =
            Fields::read(&node, "a week", &problems, |fields| Some(Awake::read(fields, &Awake::default(), &problems)));
        problems.settle(awake).map(|(awake, _)| awake).map_err(|rejected| rejected.to_string())
    }

    fn at(text: &str) -> ZonedDateTime {
        format!("{text}[Europe/Paris]").parse().unwrap()
    }

    /// 6 March 2027 is a Saturday.
    #[test]
    fn hours_are_those_of_the_day() {
        let awake =
            read("awake: {saturday: 09:00-12:00, weekdays: 18:00-21:00, sunday: no, friday: 22:00-1:30}\n").unwrap();
        for (time, there) in [
            ("2027-03-06T08:59", false),
            ("2027-03-06T09:00", true),
            ("2027-03-06T12:00", true),
            ("2027-03-06T12:01", false),
            ("2027-03-07T12:00", false),
            ("2027-03-04T19:00", true),
            ("2027-03-04T12:00", false),
            ("2027-03-05T21:59", false),
            ("2027-03-05T23:59", true),
            ("2027-03-06T01:30", true),
            ("2027-03-06T01:31", false),
        ] {
            assert_eq!(awake.holds(&at(time)), there, "{time}");
        }
        assert_eq!(awake.usual_hour(at("2027-03-04T00:00").date()), Time::constant(18, 0, 0, 0));
        assert_eq!(Awake::default().usual_hour(at("2027-03-04T00:00").date()), Time::constant(8, 0, 0, 0));
    }

    #[test]
    fn nobody_is_there_on_days_away() {
        let awake = read("awake: 20:00-02:00\nnot_on: [2027-03-06]\n").unwrap();
        assert!(awake.holds(&at("2027-03-05T23:59")) && !awake.holds(&at("2027-03-06T00:00")));
        assert!(!awake.holds(&at("2027-03-06T21:00")) && awake.holds(&at("2027-03-07T20:00")));
    }

    #[test]
    fn what_falls_on_a_day_away_waits_for_the_next() {
        let day = |text: &str| at(&format!("{text}T00:00")).date();
        let awake = read("awake: {sunday: no}\nnot_on: [2027-03-06, 2027-03-08]\n").unwrap();
        assert_eq!(awake.day_from(day("2027-03-06")), day("2027-03-09"));
        assert_eq!(awake.day_from(day("2027-03-09")), day("2027-03-09"));
        let mondays = day("2027-03-08").series(Span::new().days(7)).take(MOST_DAYS_AWAY);
        let away: Vec<_> = mondays.map(|day| day.to_string()).collect();
        let weekly =
            format!("awake: {{weekdays: no, weekends: no, monday: 9:00-12:00}}\nnot_on: [{}]\n", away.join(", "));
        // A thousand weeks on.
        assert_eq!(read(&weekly).unwrap().day_from(day("2027-03-06")), day("2046-05-07"));
        let never = read("awake: {weekdays: no, weekends: no}\n").unwrap();
        assert_eq!(never.day_from(day("2027-03-06")), day("2027-03-06"));
    }

    #[test]
    fn spells_of_whole_days_are_one() {
        let awake = read("awake: 00:00-24:00\n").unwrap();
        let [from, to] = [at("2027-03-27T10:00"), at("2027-03-29T10:00")];
        let [first, last] = [&from, &to].map(|at| at.timestamp().as_second());
        assert_eq!(awake.until(to).spells(first, last), Some(vec![[first, last]]));
    }

    #[test]
    fn faults_say_what_to_write() {
        for (text, wanted) in [
            ("awake: 7-21\n", "`7` is not a time of day"),
            ("awake: 07:00\n", "not from one time to another"),
            ("awake: 07:00-07:00\n", "no time at all"),
            ("awake: {funday: 07:00-09:00}\n", "no day of the week"),
            ("not_on: [2027-02-30]\n", "not a day of the calendar"),
        ] {
            let fault = read(text).unwrap_err();
            assert!(fault.contains(wanted), "{fault}");
        }
    }
}
