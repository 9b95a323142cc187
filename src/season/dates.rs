//! How days and times are written in a season.

use crate::diagnostic::Problems;
use crate::moment::{Day, YEARS};
use crate::source::{Fields, FromNode, FromText, Node, Value, counts, figures, list, no_more_than};
use crate::units::{Fault, Parsed, count, within};
use jiff::Span;
use jiff::civil::Date;

/// The most further plantings of a sowing.
const MOST_AGAIN: usize = 100;

figures! {
    /// Some days.
    Interval(i32): "some days or weeks, such as `10 days` or `2 weeks`", text => interval(text);
    /// The year of the frost dates.
    Year(i16): "a year such as `2027`", text => year(text);
}

counts! {
    /// Further plantings.
    Times(u32): "a number of times", 100;
}

fn interval(text: &str) -> Result<i32, Fault> {
    let text = text.trim();
    let (number, unit) = text.split_at(text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len()));
    let each = match unit.trim().to_lowercase().as_str() {
        "" => return Err(Fault::NoUnit(text.to_owned())),
        _ if number.is_empty() => return Err(Fault::NotANumber(text.to_owned())),
        "day" | "days" => 1,
        "week" | "weeks" => 7,
        unit => {
            let (unit, known) = (unit.to_owned(), vec!["days", "weeks"]);
            return Err(Fault::UnknownUnit { unit, kind: "time", known, usual: None });
        }
    };
    let days = count(number)?.saturating_mul(each);
    let bounds = (1.0..=1000.0, "it is 1 to 1000 days");
    within(i32::try_from(days).unwrap_or(i32::MAX), days as f64, bounds, text)
}

fn year(text: &str) -> Result<i16, Fault> {
    let year = count(text)?;
    let known = i16::try_from(year).ok().filter(|year| YEARS.contains(year));
    known.ok_or_else(|| Fault::OutOfBounds(text.trim().to_owned(), "years run from 1900 to 2999"))
}

/// When plants go out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlantOut {
    /// On a day.
    On(Date),
    /// So many days after the average last frost, or the first; before it where they are negative.
    Frost {
        /// The last one.
        last: bool,
        /// Days after it.
        days: i32,
    },
}

impl FromText for PlantOut {
    const EXPECTED: &'static str = "a day such as `2027-04-17`, or `last frost + 2 weeks`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        let lower = text.trim().to_lowercase();
        let of = |words: &str| lower.strip_prefix(words).map(str::trim);
        let (last, rest) = match (of("last frost"), of("first frost")) {
            (Some(rest), _) => (true, rest),
            (_, Some(rest)) => (false, rest),
            _ => return Day::from_text(text).map(|day| Parsed::from(Self::On(day.value.0))),
        };
        let days = match (rest.strip_prefix('+'), rest.strip_prefix(['-', '−'])) {
            (Some(after), _) => interval(after)?,
            (_, Some(before)) => -interval(before)?,
            _ if rest.is_empty() => 0,
            _ => return Err(Fault::Shape(text.trim().to_owned())),
        };
        Ok(Parsed::from(Self::Frost { last, days }))
    }
}

/// The days from each planting of a succession to the next.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Again(pub Vec<i32>);

impl FromNode for Again {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        if matches!(node.value, Value::Map(_)) {
            return Fields::read(node, "a succession", problems, |fields| {
                let every = fields.required("every").map(|Interval(days)| days);
                let times = fields.required("times").map(|Times(times)| times);
                Some(Self(vec![every?; times? as usize]))
            });
        }
        let listed = no_more_than(list(node), MOST_AGAIN, "further plantings", node.at, problems);
        Some(Self(listed.iter().filter_map(|one| Interval::from_node(one, problems)).map(|one| one.0).collect()))
    }
}

/// A day so many days after another; the last or first of the calendar beyond it.
pub(super) fn after(day: Date, days: i32) -> Date {
    day.checked_add(Span::new().days(days)).unwrap_or(if days < 0 { Date::MIN } else { Date::MAX })
}

/// The number of a day, counted from 1970.
pub(super) fn number(day: Date) -> i32 {
    (day - Date::constant(1970, 1, 1)).get_days()
}

/// The day of a number.
pub(super) fn date(number: i32) -> Date {
    after(Date::constant(1970, 1, 1), number)
}
