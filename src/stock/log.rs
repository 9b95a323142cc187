//! The log of what was taken: a table beside the stock file, one row an amount.

use crate::source::Edit;
use crate::units::plain;
use serde::Serialize;
use serde_json::{Value, json};
use std::ops::Range;

/// The columns of the log.
const COLUMNS: [&str; 15] = [
    "entry",
    "what",
    "date",
    "week",
    "mix_on",
    "batch",
    "ingredient",
    "litres",
    "grams",
    "package",
    "left",
    "undoes",
    "stock_before",
    "stock_after",
    "restore",
];

/// One run of `mixed`: what it took, or what it put back.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Counting from one.
    pub number: u64,
    /// When it was entered.
    pub date: String,
    /// The week's name.
    pub week: String,
    /// When the week's mix was wanted; empty where the week does not say.
    pub mix_on: String,
    /// What was taken; bought packages count as taken less than nothing.
    pub rows: Vec<LogRow>,
    /// The entry that this one takes back.
    pub undoes: Option<u64>,
    /// Fingerprint of the stock file before.
    pub before: String,
    /// Fingerprint of the stock file after.
    pub after: String,
    /// The edits that turn the file back.
    pub restore: Vec<Edit>,
}

/// One amount of an entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LogRow {
    /// `mixed`, `bought` or `undone`.
    pub what: String,
    /// The batch; empty for what was bought.
    pub batch: String,
    /// The ingredient.
    pub ingredient: String,
    /// Litres taken.
    pub litres: Option<f64>,
    /// Grams taken.
    pub grams: Option<f64>,
    /// The package it came in.
    pub package: String,
    /// What is left of the ingredient.
    pub left: String,
}

impl LogRow {
    /// The row that takes this one back.
    pub(super) fn undone(&self) -> Self {
        let back = |amount: Option<f64>| amount.map(|amount| -amount);
        Self {
            what: "undone".to_owned(),
            litres: back(self.litres),
            grams: back(self.grams),
            left: String::new(),
            ..self.clone()
        }
    }
}

/// A text that a spreadsheet would take for a formula is marked as text.
pub(super) fn named(text: &str) -> String {
    if text.starts_with(['=', '@', '+', '-', '\t']) { format!("'{text}") } else { text.to_owned() }
}

/// The header line.
pub(super) fn header() -> String {
    line(&COLUMNS.map(str::to_owned))
}

fn line(cells: &[String]) -> String {
    let mut writer = ::csv::WriterBuilder::new().from_writer(Vec::new());
    // Writing to memory cannot fail.
    let _ = writer.write_record(cells);
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The lines of an entry.
pub(super) fn lines(entry: &Entry) -> String {
    let amount = |amount: Option<f64>| amount.map(|amount| plain(amount, 6)).unwrap_or_default();
    let mut text = String::new();
    for (place, row) in entry.rows.iter().enumerate() {
        let first = |cell: String| if place == 0 { cell } else { String::new() };
        text += &line(&[
            entry.number.to_string(),
            row.what.clone(),
            entry.date.clone(),
            named(&entry.week),
            entry.mix_on.clone(),
            named(&row.batch),
            named(&row.ingredient),
            amount(row.litres),
            amount(row.grams),
            named(&row.package),
            row.left.clone(),
            first(entry.undoes.map(|number| number.to_string()).unwrap_or_default()),
            first(entry.before.clone()),
            first(entry.after.clone()),
            first(restore_text(&entry.restore)),
        ]);
    }
    text
}

fn restore_text(edits: &[Edit]) -> String {
    let edits: Vec<Value> = edits.iter().map(|edit| json!([edit.at.start, edit.at.end, edit.text])).collect();
    Value::Array(edits).to_string()
}

fn restore_of(text: &str) -> Option<Vec<Edit>> {
    let Ok(Value::Array(edits)) = serde_json::from_str(text) else { return None };
    edits
        .iter()
        .map(|edit| {
            let number = |at: usize| usize::try_from(edit.get(at)?.as_u64()?).ok();
            let at: Range<usize> = number(0)?..number(1)?;
            (at.start <= at.end).then_some(Edit { at, text: edit.get(2)?.as_str()?.to_owned() })
        })
        .collect()
}

/// Reads a log; the number of the line that cannot be read.
pub(super) fn read(text: &str) -> Result<Vec<Entry>, usize> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = ::csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
    let mut entries: Vec<Entry> = Vec::new();
    for (index, record) in reader.records().enumerate() {
        let bad = index + 1;
        let record = record.map_err(|_| bad)?;
        let cell = |column: usize| record.get(column).unwrap_or_default();
        if index == 0 {
            if record.iter().eq(COLUMNS) {
                continue;
            }
            return Err(bad);
        }
        let number: u64 = cell(0).parse().map_err(|_| bad)?;
        let amount = |column: usize| match cell(column) {
            "" => Ok(None),
            text => text.parse::<f64>().ok().filter(|amount| amount.is_finite()).map(Some).ok_or(bad),
        };
        let row = LogRow {
            what: cell(1).to_owned(),
            batch: cell(5).to_owned(),
            ingredient: cell(6).to_owned(),
            litres: amount(7)?,
            grams: amount(8)?,
            package: cell(9).to_owned(),
            left: cell(10).to_owned(),
        };
        match entries.last_mut().filter(|entry| entry.number == number) {
            Some(entry) => entry.rows.push(row),
            None => entries.push(Entry {
                number,
                date: cell(2).to_owned(),
                week: cell(3).to_owned(),
                mix_on: cell(4).to_owned(),
                rows: vec![row],
                undoes: match cell(11) {
                    "" => None,
                    number => Some(number.parse().map_err(|_| bad)?),
                },
                before: cell(12).to_owned(),
                after: cell(13).to_owned(),
                restore: restore_of(cell(14)).ok_or(bad)?,
            }),
        }
    }
    Ok(entries)
}

/// A fingerprint of a file's bytes, to tell on which side of a change it is: FNV-1a of
/// 64 bits (Fowler, Noll, Vo), and the length.
pub(super) fn fingerprint(bytes: &[u8]) -> String {
    let hash = bytes
        .iter()
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3));
    format!("{hash:016x}-{}", bytes.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_again() {
        let row = LogRow {
            what: "mixed".to_owned(),
            batch: "everyday, sieved".to_owned(),
            ingredient: "coir".to_owned(),
            litres: Some(12.25),
            grams: None,
            package: "5 kg \"block\"".to_owned(),
            left: "1 x 5 kg block".to_owned(),
        };
        let entry = Entry {
            number: 1,
            date: "2027-03-06 10:00".to_owned(),
            week: "first, \"cool\"\nweek".to_owned(),
            mix_on: String::new(),
            rows: vec![row.clone(), LogRow { grams: Some(0.5), ..row }],
            undoes: None,
            before: fingerprint(b"a"),
            after: fingerprint(b"b"),
            restore: vec![Edit { at: 3..5, text: "40 L, \u{e4}".to_owned() }],
        };
        let second = Entry { number: 2, undoes: Some(1), restore: Vec::new(), ..entry.clone() };
        let text = header() + &lines(&entry) + &lines(&second);
        assert_eq!(read(&text), Ok(vec![entry, second]));
        assert_eq!(read(""), Ok(Vec::new()));
        assert_eq!(read("a,b\n1,2\n"), Err(1));
        assert_eq!(read(&(header() + "x,mixed\n")), Err(2));
    }

    #[test]
    fn fingerprints_follow_the_published_test_vectors() {
        // Fowler, Noll & Vo, FNV-1a 64-bit test vectors: "", "a", "foobar" (memory).
        assert_eq!(fingerprint(b""), "cbf29ce484222325-0");
        assert_eq!(fingerprint(b"a"), "af63dc4c8601ec8c-1");
        assert_eq!(fingerprint(b"foobar"), "85944171f73967e8-6");
    }

    #[test]
    fn formulas_are_disarmed() {
        assert_eq!(named("=1+1"), "'=1+1");
        assert_eq!(named("coir"), "coir");
    }
}
