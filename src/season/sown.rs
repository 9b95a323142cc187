//! What has been sown, written into the season's file.

use super::planned::{Planned, Season};
use super::windows::Dated;
use crate::diagnostic::Problems;
use crate::source::{Edit, Node, Original, Value, edited, list, parse};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Writes `sow: DATE` into the sowings of a day, and `on: DATE` into what is potted on that day; all else stays byte
/// for byte. In a succession the list of its days grows.
///
/// # Errors
/// What has to be written by hand: the sowings stand in a table, an earlier planting is not fixed yet, or the text is
/// written so that a day cannot be put in.
pub fn sown(original: &Original, season: &Season, days: &[Dated], on: Date) -> Result<Vec<u8>, NotEntered> {
    let text = &original.source.text;
    let node = parse(text, &Problems::new(Arc::clone(&original.source)));
    let marks = marks(season, days, on);
    let after = before(season, days, &marks);
    if !after.is_empty() {
        return Err(NotEntered::After(after));
    }
    let written = node.as_ref().filter(|_| marks.iter().all(|mark| mark.is_next)).and_then(|node| {
        let edits = marks.iter().map(|mark| edit(original, mark.map(node)?, mark.key, on));
        let edits = edits.collect::<Option<Vec<Edit>>>()?;
        let bytes = edited(&original.bytes, &edits)?.0;
        let source = Original::of(&original.source.name, bytes.clone()).ok()?.source;
        let new = parse(&source.text, &Problems::new(Arc::clone(&source)))?;
        // What it must say, and nothing else: an entry may be repeated elsewhere.
        same(&new, &with_days(node, &marks, on)?).then_some(bytes)
    });
    written.ok_or_else(|| NotEntered::ByHand(marks.iter().map(|mark| mark.in_words(season, on)).collect()))
}

/// Why a day was not entered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotEntered {
    /// Earlier plantings of a succession come first, on these days.
    After(BTreeSet<Date>),
    /// What has to be written by hand.
    ByHand(Vec<String>),
}

/// The days of the plantings that must be entered before some of a succession.
fn before(season: &Season, days: &[Dated], marks: &[Mark]) -> BTreeSet<Date> {
    let later: BTreeMap<(usize, &str), usize> =
        marks.iter().filter(|mark| !mark.is_next).map(|mark| ((mark.sowing, mark.key), mark.number)).collect();
    let is_before = |dated: &Dated, key, fixed: usize| {
        later.get(&(dated.sowing, key)).is_some_and(|number| (fixed..*number).contains(&dated.number))
    };
    let first = |dated: &Dated| {
        let planned = &season.sowings[dated.sowing];
        let potted = planned.then.as_ref().map_or(0, |pot| pot.on.len());
        let pot = dated.pot.filter(|_| is_before(dated, "on", potted));
        [Some(dated.sow).filter(|_| is_before(dated, "sow", planned.sow.len())), pot]
    };
    days.iter().flat_map(first).flatten().collect()
}

/// Whether all of a day is entered.
pub fn is_entered(season: &Season, days: &[Dated], on: Date) -> bool {
    marks(season, days, on).is_empty()
}

/// What of a day is not entered yet.
fn marks(season: &Season, days: &[Dated], on: Date) -> Vec<Mark> {
    let mut marks = Vec::new();
    for dated in days {
        let planned = &season.sowings[dated.sowing];
        if dated.sow == on && planned.sow.len() <= dated.number {
            let is_next = planned.sow.len() == dated.number;
            marks.push(Mark { sowing: dated.sowing, number: dated.number, key: "sow", is_next });
        }
        if let Some(pot) = planned.then.as_ref().filter(|pot| dated.pot == Some(on) && pot.on.len() <= dated.number) {
            let is_next = pot.on.len() == dated.number;
            marks.push(Mark { sowing: dated.sowing, number: dated.number, key: "on", is_next });
        }
    }
    marks
}

impl Season {
    /// Of the names of weeks that a log holds the days of this season on which nothing is entered.
    pub fn not_entered(&self, weeks: &[String]) -> BTreeSet<Date> {
        let potted = |planned: &Planned| planned.then.clone().map(|pot| pot.on).unwrap_or_default();
        let is_entered =
            |day: &Date| self.sowings.iter().any(|sown| sown.sow.contains(day) || potted(sown).contains(day));
        let out = || self.sowings.iter().flat_map(|sown| &sown.plant_out);
        // A season of last year may have had its name.
        let is_of_it = |day: &Date| out().any(|out| (1..=366).contains(&(*out - *day).get_days()));
        let of_day = |week: &String| week.strip_prefix(&self.loaded.week.name)?.strip_prefix(", ")?.parse().ok();
        weeks.iter().filter_map(of_day).filter(|day| is_of_it(day) && !is_entered(day)).collect()
    }
}

/// A day to be written.
struct Mark {
    sowing: usize,
    number: usize,
    key: &'static str,
    /// The plantings before it are fixed.
    is_next: bool,
}

impl Mark {
    /// The map that it belongs in, if the sowings are listed.
    fn map<'n>(&self, node: &'n Node<'n>) -> Option<&'n Node<'n>> {
        let entry = list(node.get("sowings")?).get(self.sowing)?;
        if self.key == "on" { entry.get("then") } else { matches!(entry.value, Value::Map(_)).then_some(entry) }
    }

    fn in_words(&self, season: &Season, on: Date) -> String {
        let name = season.loaded.week.sowings[self.sowing].name();
        let days = if self.is_next { on.to_string() } else { format!("[the days of the plantings before it, {on}]") };
        match self.key {
            "on" => format!("{name}: then: {{on: {days}}}"),
            _ => format!("{name}: sow: {days}"),
        }
    }
}

/// The season with these days in it.
fn with_days(node: &Node<'_>, marks: &[Mark], on: Date) -> Option<Node<'static>> {
    let mut new = node.to_static();
    for mark in marks {
        let sowings = value_mut(&mut new, "sowings")?;
        let mut map = if let Value::List(list) = &mut sowings.value { list.get_mut(mark.sowing)? } else { sowings };
        if mark.key == "on" {
            map = value_mut(map, "then")?;
        }
        let day = Node::of(Value::Text(on.to_string().into()));
        let days = match map.take(mark.key).map(|there| there.value) {
            Some(Value::List(days)) => Node::of(Value::List([days, vec![day]].concat())),
            Some(first @ Value::Text(_)) => Node::of(Value::List(vec![Node::of(first), day])),
            _ => day,
        };
        let Value::Map(entries) = &mut map.value else { return None };
        entries.push((Node::of(Value::Text(mark.key.into())), days));
    }
    Some(new)
}

/// The value of a key, to be changed.
fn value_mut<'n>(map: &'n mut Node<'static>, key: &str) -> Option<&'n mut Node<'static>> {
    let Value::Map(map) = &mut map.value else { return None };
    map.iter_mut().find(|(name, _)| name.text() == Some(key)).map(|(_, value)| value)
}

/// Whether two values say the same: the order of keys says nothing.
fn same(one: &Node<'_>, other: &Node<'_>) -> bool {
    match (&one.value, &other.value) {
        (Value::Map(one), Value::Map(two)) => {
            let has = |(key, value): &(Node<'_>, Node<'_>)| {
                key.text().and_then(|key| other.get(key)).is_some_and(|there| same(value, there))
            };
            one.len() == two.len() && one.iter().all(has)
        }
        (Value::List(one), Value::List(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(a, b)| same(a, b))
        }
        (one, other) => one == other,
    }
}

/// How a day is written into a map; `None` where its value is neither a day nor a list of them.
fn edit(original: &Original, map: &Node<'_>, key: &str, on: Date) -> Option<Edit> {
    let at = |place: usize| original.range(crate::diagnostic::Span::new(place, place)).start;
    let (bytes, end) = (&original.bytes, original.line_end());
    let is_end = |byte: &u8| matches!(byte, b'\n' | b'\r');
    let before = |at: usize| {
        let line = bytes[..at].iter().rposition(is_end).map_or(0, |end| end + 1);
        String::from_utf8_lossy(&bytes[line..at]).into_owned()
    };
    // Within brackets, or on lines of its own.
    let follows = |at: usize, bracket: u8| bytes[..at].trim_ascii_end().last() == Some(&bracket);
    let put = |at: usize, text: String| Some(Edit { at: at..at, text });
    match map.get(key) {
        // A day alone becomes a list.
        Some(day) if day.text().is_some() => {
            let range = original.range(day.at);
            let old = String::from_utf8_lossy(&bytes[range.clone()]).into_owned();
            Some(Edit { at: range, text: format!("[{old}, {on}]") })
        }
        Some(days) => {
            let (first, last) = (list(days).first()?, list(days).last()?);
            let (begin, stop) = (at(last.at.start), at(last.at.end));
            if !follows(at(first.at.start), b'-') {
                return put(stop, format!(", {on}"));
            }
            // Behind what else stands on its line.
            let rest = bytes[stop..].iter().position(is_end).unwrap_or(bytes.len() - stop);
            put(stop + rest, format!("{end}{}{on}", before(begin)))
        }
        None => {
            let first = at(map.at.start);
            let indent: String = before(first).chars().map(|_| ' ').collect();
            let next = if follows(first, b'{') { ", ".to_owned() } else { format!("{end}{indent}") };
            put(first, format!("{key}: {on}{next}"))
        }
    }
}
