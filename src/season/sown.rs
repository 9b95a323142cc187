//! What has been sown, written into the season's file.

use super::day::dates_of;
use super::planned::{Planned, Season};
use super::windows::Dated;
use crate::diagnostic::Problems;
use crate::source::{Edit, Node, Original, Value, edited, list, parse};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Writes `sow: DATE` into the sowings of a day, and `on: DATE` into what is potted on that day; all else stays byte
/// for byte. In a succession the list of its days grows. Gives the text and what was entered.
///
/// # Errors
/// What has to be written by hand: the sowings stand in a table, a planting before these is not entered, or the text is
/// written so that a day cannot be put in.
pub fn sown(original: &Original, season: &Season, days: &[Dated], on: Date) -> Result<(Vec<u8>, Vec<Mark>), ByHand> {
    let text = &original.source.text;
    let node = parse(text, &Problems::new(Arc::clone(&original.source)));
    let marks = marks(season, days, on);
    let written = node.as_ref().filter(|_| marks.iter().all(|mark| mark.is_next)).and_then(|node| {
        // All that is potted on of a sowing goes into one list.
        let mut maps: BTreeMap<(usize, &str), (&Mark, usize)> = BTreeMap::new();
        for mark in &marks {
            maps.entry((mark.sowing, mark.key)).or_insert((mark, 0)).1 += 1;
        }
        let edits = maps
            .into_values()
            .map(|(mark, count)| edit(original, mark.map(node)?, mark.key, &vec![on.to_string(); count].join(", ")));
        let edits = edits.collect::<Option<Vec<Edit>>>()?;
        let bytes = edited(&original.bytes, &edits)?.0;
        let source = Original::of(&original.source.name, bytes.clone()).ok()?.source;
        let new = parse(&source.text, &Problems::new(Arc::clone(&source)))?;
        // What it must say, and nothing else: an entry may be repeated elsewhere.
        (new.to_static() == with_days(node, &marks, on)?).then_some(bytes)
    });
    match written {
        Some(bytes) => Ok((bytes, marks)),
        None => {
            let is_table = node.is_some_and(|node| node.get("sowings").is_some_and(|sowings| sowings.text().is_some()));
            Err(ByHand { is_table, words: marks.iter().map(|mark| mark.in_words(season, is_table, on)).collect() })
        }
    }
}

/// What has to be written by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ByHand {
    /// The sowings stand in a table.
    pub is_table: bool,
    /// What is to be written of each.
    pub words: Vec<String>,
}

/// Whether something is sown or potted on on a day, and all of it is fixed in the file.
pub fn is_fixed(season: &Season, days: &[Dated], on: Date) -> bool {
    dates_of(days).contains(&on) && marks(season, days, on).is_empty()
}

/// What of a day is not entered yet.
fn marks(season: &Season, days: &[Dated], on: Date) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let mut mark = |dated: &Dated, key, day: Option<Date>, fixed: usize| {
        if day == Some(on) && fixed <= dated.number {
            let before = marks.iter().filter(|mark| (mark.sowing, mark.key) == (dated.sowing, key)).count();
            let is_next = fixed + before == dated.number;
            marks.push(Mark { sowing: dated.sowing, number: dated.number, key, is_next });
        }
    };
    for dated in days {
        let planned = &season.sowings[dated.sowing];
        mark(dated, "sow", Some(dated.sow), planned.sow.len());
        mark(dated, "on", dated.pot, planned.then.as_ref().map_or(0, |pot| pot.on.len()));
    }
    marks
}

impl Season {
    /// The days of this season among the names of weeks that a log holds.
    pub fn days_among(&self, weeks: &[String]) -> BTreeSet<Date> {
        // A season of last year may have had its name.
        let is_raised = |sown: &Planned, day: Date| {
            let days = 1..=sown.days[1].max(366);
            sown.sow.contains(&day) || sown.plant_out.iter().any(|out| days.contains(&(*out - day).get_days()))
        };
        let is_of_it = |day: &Date| self.sowings.iter().any(|sown| is_raised(sown, *day));
        let of_day = |week: &String| week.strip_prefix(&self.loaded.week.name)?.strip_prefix(", ")?.parse().ok();
        weeks.iter().filter_map(of_day).filter(is_of_it).collect()
    }

    /// The days that were taken out of the stock and are not entered in the file, with the days of its plantings.
    pub fn not_entered(&self, days: &[Dated]) -> BTreeSet<Date> {
        self.taken.iter().flatten().filter(|day| !is_fixed(self, days, **day)).copied().collect()
    }

    /// Whether the mix of a day is made: it is past, or the log of the stock says so. A day that is fixed in the file may
    /// be so because it was sown or because it shall be.
    pub(super) fn is_done(&self, on: Date, today: Date) -> bool {
        on < today || self.taken.as_ref().is_some_and(|taken| taken.contains(&on))
    }
}

/// A day to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The index of the sowing in the season.
    pub sowing: usize,
    /// The number of the planting in the succession, from zero.
    pub number: usize,
    /// `sow`, or `on` of what is potted on.
    pub key: &'static str,
    /// The plantings before it are fixed.
    is_next: bool,
}

impl Mark {
    /// The map that it belongs in, if the sowings are listed.
    fn map<'n>(&self, node: &'n Node<'n>) -> Option<&'n Node<'n>> {
        let entry = list(node.get("sowings")?).get(self.sowing)?;
        if self.key == "on" { entry.get("then") } else { matches!(entry.value, Value::Map(_)).then_some(entry) }
    }

    fn in_words(&self, season: &Season, is_table: bool, on: Date) -> String {
        let sowing = &season.loaded.week.sowings[self.sowing];
        let (name, place) = (sowing.name(), &sowing.place);
        if is_table {
            let line = place.source.text.get(..place.span().start).map_or(0, |text| text.matches('\n').count()) + 1;
            return format!("{name}: {on}, in line {line} of {}", place.source.name);
        }
        match (self.key, self.is_next) {
            ("on", true) => format!("{name}: then: {{on: {on}}}"),
            (_, true) => format!("{name}: sow: {on}"),
            ("on", false) => format!("{name}: then: {{on: [the days of the plantings before it, {on}]}}"),
            (_, false) => format!("{name}: {}", self.without_those_before(&season.sowings[self.sowing], on)),
        }
    }

    /// A succession as it is without the plantings before this one that are not entered.
    fn without_those_before(&self, planned: &Planned, on: Date) -> String {
        let days: Vec<String> = planned.sow.iter().chain([&on]).map(Date::to_string).collect();
        let entered = &planned.plant_out[..planned.sow.len()];
        let outs: Vec<Date> = entered.iter().chain(&planned.plant_out[self.number..]).copied().collect();
        let apart = outs.windows(2).map(|pair| format!("{} days", (pair[1] - pair[0]).get_days()));
        let again = apart.collect::<Vec<_>>().join(", ");
        let again = if again.is_empty() { again } else { format!(", again: [{again}]") };
        format!("sow: [{}], plant_out: {}{again}", days.join(", "), outs[0])
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
        let Value::Map(entries) = &mut map.value else { return None };
        // A key that is new comes first.
        match entries.iter_mut().find(|(key, _)| key.text() == Some(mark.key)) {
            None => entries.insert(0, (Node::of(Value::Text(mark.key.into())), day)),
            Some((_, Node { value: Value::List(days), .. })) => days.push(day),
            Some((_, days)) => *days = Node::of(Value::List(vec![days.clone(), day])),
        }
    }
    Some(new)
}

/// The value of a key, to be changed.
fn value_mut<'n>(map: &'n mut Node<'static>, key: &str) -> Option<&'n mut Node<'static>> {
    let Value::Map(map) = &mut map.value else { return None };
    map.iter_mut().find(|(name, _)| name.text() == Some(key)).map(|(_, value)| value)
}

/// How a day, or several, are written into a map; `None` where its value is neither a day nor a list of them.
fn edit(original: &Original, map: &Node<'_>, key: &str, on: &str) -> Option<Edit> {
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
            let lines = on.split(", ").map(|on| format!("{end}{}{on}", before(begin)));
            put(stop + rest, lines.collect())
        }
        None => {
            let first = at(map.at.start);
            let indent: String = before(first).chars().map(|_| ' ').collect();
            let next = if follows(first, b'{') { ", ".to_owned() } else { format!("{end}{indent}") };
            let on = if on.contains(',') { format!("[{on}]") } else { on.to_owned() };
            put(first, format!("{key}: {on}{next}"))
        }
    }
}
