//! The log of what was taken: a table beside the stock file, one row an amount.
//!
//! Entries are numbered from one without a gap. Each row has a `check`: a fingerprint that runs
//! on from row to row, and how many rows of the entry are still to come. So a row that was
//! changed, removed, doubled or moved is told, whatever wrote the file again with the same
//! values. Rows without a check, of a version that wrote none, stand before all others; their
//! numbers are checked, and from the first check on their values are. What cannot be told: that
//! the last entries were removed whole; what someone changed who worked out the checks anew; and
//! any change but of the numbers where the last two columns, `sowings` and `check`, were cut off
//! with it, since such a log is one of the version without checks. They are no seal, but guard
//! against slips of an editor, a spreadsheet or a copy.

use crate::hash::{self, fnv};
use crate::printable::{cell, unmarked};
use crate::source::Edit;
use crate::units::mass::gram;
use crate::units::{Mass, Quantity, in_litres, plain};
use serde::{Deserialize, Serialize};
use std::collections::HashSet;

/// The header line.
pub(super) const HEADER: &str = "entry,what,date,week,mix_on,batch,ingredient,litres,grams,package,left,undoes,\
                                 stock_before,stock_after,restore,sowings,check\n";

/// The most entries of a log.
const MOST_ENTRIES: u64 = 100_000;
/// The columns of litres and grams.
const AMOUNTS: [usize; 2] = [7, 8];
/// The column of what turns the stock file back.
const RESTORE: usize = FIRST_COLUMNS - 1;
/// Columns that logs have had from the beginning.
const FIRST_COLUMNS: usize = 15;
/// Columns that a check covers: all but its own.
const CHECKED: usize = COLUMNS - 1;
const COLUMNS: usize = 17;

/// One run of `mixed`: what it took, or what it put back.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct LogEntry {
    /// Counting from one.
    #[serde(rename = "entry")]
    pub number: u64,
    /// When it was entered.
    pub date: String,
    /// The week's name.
    pub week: String,
    /// When the week's mix was wanted; empty where the week does not say.
    pub mix_on: String,
    /// What was taken; bought packages count as taken less than nothing. Read apart, as is `restore`: a
    /// log may hold many.
    #[serde(skip)]
    pub rows: Vec<LogRow>,
    /// The entry that this one takes back.
    pub undoes: Option<u64>,
    /// Fingerprint of the stock file before.
    #[serde(rename = "stock_before")]
    pub before: String,
    /// Fingerprint of the stock file after; the one before where only the log was written.
    #[serde(rename = "stock_after")]
    pub after: String,
    /// The edits that turn the file back.
    #[serde(skip)]
    pub restore: Vec<Edit>,
    /// Fingerprint of what was sown, whatever its order; empty where it was not kept.
    pub sowings: String,
}

/// What makes a week the same week, in the log and in what is asked: its name, whatever its
/// case and spaces, and the day it is mixed, whatever the hour.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WeekKey {
    /// The name in small letters, with single spaces.
    pub name: String,
    /// `2027-03-06`; empty where the week does not say.
    pub day: String,
}

impl WeekKey {
    /// Of a week's name and the local time of its mixing.
    pub fn new(name: &str, mix_on: &str) -> Self {
        let words: Vec<String> = unmarked(name.trim_start()).split_whitespace().map(str::to_lowercase).collect();
        let day = mix_on.split([' ', 'T']).next().unwrap_or_default().to_owned();
        Self { name: words.join(" "), day }
    }
}

impl LogEntry {
    /// Which week it is of.
    pub fn key(&self) -> WeekKey {
        WeekKey::new(&self.week, &self.mix_on)
    }
}

/// One amount of an entry.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct LogRow {
    /// `mixed`, `used mix`, `bought`, `kept`, `left`, `undone` or [`Self::NOT_TAKEN`].
    pub what: String,
    /// The batch; empty for what was bought.
    pub batch: String,
    /// The ingredient.
    pub ingredient: String,
    /// Litres taken.
    pub litres: Option<f64>,
    /// Grams taken.
    pub grams: Option<f64>,
    /// The package it came in; of what was not taken how much was used.
    pub package: String,
    /// What is left of the ingredient.
    pub left: String,
}

impl LogRow {
    /// What was used, but cannot be set against what is at hand.
    pub const NOT_TAKEN: &str = "not taken";

    /// A mix of the stock that was used.
    pub const USED_MIX: &str = "used mix";
    /// A mix that was left over.
    pub const LEFT: &str = "left";
    /// Coir that was soaked beyond the need.
    pub const KEPT: &str = "kept";

    /// How much was taken.
    pub fn amount(&self) -> Option<Quantity> {
        let volume = self.litres.map(|litres| Quantity::Volume(in_litres(litres)));
        volume.or(self.grams.map(|grams| Quantity::Mass(Mass::new::<gram>(grams))))
    }

    /// Whether it was used only.
    pub fn is_not_taken(&self) -> bool {
        self.what == Self::NOT_TAKEN
    }

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

/// The checks of the rows of a log: each covers all rows up to its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Checks(u64);

impl Default for Checks {
    fn default() -> Self {
        Self(hash::START)
    }
}

impl Checks {
    /// The check of the next row: its values, and how many rows of its entry follow.
    fn next<'r>(&mut self, row: impl Iterator<Item = &'r str>, left: u64) -> String {
        for value in row.take(CHECKED) {
            self.0 = hashed(hashed(self.0, value.as_bytes()), b"\x1f");
        }
        self.0 = hashed(self.0, &left.to_le_bytes());
        format!("{:016x}-{left}", self.0)
    }
}

/// The lines of an entry, in the order of the columns. What holds for the whole entry and is
/// only needed to undo or to know it stands in the first line.
pub(super) fn lines(entry: &LogEntry, checks: &mut Checks) -> String {
    let decimals = |amount: Option<f64>| amount.map(|amount| plain(amount, 6)).unwrap_or_default();
    let marked = |text: &str| cell(text).into_owned();
    let undoes = entry.undoes.map(|number| number.to_string()).unwrap_or_default();
    let (before, after, sowings) = (entry.before.clone(), entry.after.clone(), entry.sowings.clone());
    let mut once = [undoes, before, after, restore_text(&entry.restore), sowings];
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    for (row, left) in entry.rows.iter().zip((0..entry.rows.len() as u64).rev()) {
        let number = entry.number.to_string();
        let run = [number, row.what.clone(), entry.date.clone(), marked(&entry.week), entry.mix_on.clone()];
        let of_what = [marked(&row.batch), marked(&row.ingredient)];
        let how_much = [decimals(row.litres), decimals(row.grams), marked(&row.package), row.left.clone()];
        let each = run.into_iter().chain(of_what).chain(how_much);
        let mut record: Vec<String> = each.chain(std::mem::take(&mut once)).collect();
        record.push(checks.next(record.iter().map(String::as_str), left));
        // Writing to memory cannot fail.
        let _ = writer.write_record(&record);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn restore_text(edits: &[Edit]) -> String {
    let edits: Vec<_> = edits.iter().map(|edit| (edit.at.start, edit.at.end, &edit.text)).collect();
    serde_json::to_string(&edits).unwrap_or_default()
}

fn restore_of(text: &str) -> Option<Vec<Edit>> {
    let edits: Vec<(usize, usize, String)> = serde_json::from_str(text).ok()?;
    edits.into_iter().map(|(start, end, text)| (start <= end).then_some(Edit { at: start..end, text })).collect()
}

/// A log that was read.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Log {
    pub(super) entries: Vec<LogEntry>,
    /// Up to the last row.
    pub(super) checks: Checks,
    /// It has the first columns only.
    pub(super) is_short: bool,
    /// Rows of the last entry that are still to come; `None` before the first check.
    left: Option<u64>,
}

/// A line of the log that is not as it was written.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct BadLine {
    /// Counting from one.
    pub(super) line: usize,
    pub(super) why: &'static str,
}

const NOT_A_LINE: &str = "cannot be read as a line of the log";
const OUT_OF_TURN: &str = "is not of the entry that comes next: an entry is missing, doubled or out of place";
const CHANGED: &str = "does not fit: it was changed, or lines above it were changed, removed or doubled";
const TOO_MANY: &str = "is one entry too many: a log holds 100,000";
const CUT_SHORT: &str = "is not the last of its entry: the lines after it are missing";

/// Reads a log whose lines end in `\n`, its entries without their rows ([`whole`]).
pub(super) fn read(text: &str) -> Result<Log, BadLine> {
    Log::default().with(text)
}

/// An entry of a log that was read, with its rows.
pub(super) fn whole(text: &str, number: u64) -> Option<LogEntry> {
    let mut reader = ::csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let all: ::csv::StringRecord = HEADER.trim_end().split(',').collect();
    let mut found: Option<LogEntry> = None;
    let wanted = number.to_string();
    for mut record in reader.records().flatten().filter(|record| record.get(0) == Some(&wanted)) {
        lengthen(&mut record);
        let row = record.deserialize(Some(&all)).ok()?;
        if found.is_none() {
            let entry: LogEntry = record.deserialize(Some(&all)).ok()?;
            found = Some(LogEntry { restore: restore_of(record.get(RESTORE)?)?, ..entry });
        }
        found.as_mut()?.rows.push(row);
    }
    found
}

/// Gives a row that has the first columns only the later ones.
fn lengthen(record: &mut ::csv::StringRecord) {
    while (FIRST_COLUMNS..COLUMNS).contains(&record.len()) {
        record.push_field("");
    }
}

/// The text of a log that has the first columns only, with all columns.
pub(super) fn lengthened(text: &str) -> String {
    let mut writer = ::csv::Writer::from_writer(HEADER.as_bytes().to_vec());
    for mut record in ::csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes()).records().flatten() {
        lengthen(&mut record);
        // Writing to memory cannot fail.
        let _ = writer.write_record(&record);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// A line break within quotes makes a line, too, so that lines are counted and not records.
fn bad_line(text: &str, at: Option<&::csv::Position>, why: &'static str) -> BadLine {
    let at = at.and_then(|at| usize::try_from(at.byte()).ok()).unwrap_or_default();
    let rest = text.get(at..).unwrap_or_default();
    let before = text.len() - rest.trim_start_matches('\n').len();
    BadLine { line: text[..before].matches('\n').count() + 1, why }
}

impl Log {
    /// The log with more rows behind its own, under a header.
    pub(super) fn with(mut self, text: &str) -> Result<Self, BadLine> {
        let mut reader = ::csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
        let columns = reader.headers().map_err(|_| BadLine { line: 1, why: NOT_A_LINE })?.clone();
        if columns.is_empty() {
            return Ok(self);
        }
        let all: ::csv::StringRecord = HEADER.trim_end().split(',').collect();
        self.is_short = columns.iter().eq(all.iter().take(FIRST_COLUMNS));
        if !self.is_short && columns != all {
            return Err(BadLine { line: 1, why: NOT_A_LINE });
        }
        let mut end = None;
        let mut record = ::csv::StringRecord::new();
        while reader.read_record(&mut record).map_err(|error| bad_line(text, error.position(), NOT_A_LINE))? {
            lengthen(&mut record);
            self.add(&record, &all).map_err(|why| bad_line(text, record.position(), why))?;
            end = record.position().cloned();
        }
        if self.left.is_some_and(|left| left > 0) { Err(bad_line(text, end.as_ref(), CUT_SHORT)) } else { Ok(self) }
    }

    /// An empty one that goes on where this one ends.
    pub(super) fn end(&self) -> Self {
        Self { entries: self.entries.last().cloned().into_iter().collect(), ..*self }
    }

    /// Adds the next row, unless it is not the one that comes next.
    fn add(&mut self, record: &::csv::StringRecord, columns: &::csv::StringRecord) -> Result<(), &'static str> {
        let number: u64 = record.get(0).and_then(|number| number.parse().ok()).ok_or(NOT_A_LINE)?;
        let is_number = |amount: &str| amount.is_empty() || amount.parse().is_ok_and(f64::is_finite);
        if record.len() != COLUMNS || !AMOUNTS.into_iter().all(|at| record.get(at).is_some_and(is_number)) {
            return Err(NOT_A_LINE);
        }
        // Only the first row of an entry has what turns the file back.
        let restore = record.get(RESTORE).filter(|restore| !restore.is_empty());
        let goes_on = restore.is_none() && self.entries.last().is_some_and(|last| last.number == number);
        if let Some(restore) = restore.filter(|_| number == self.next_number()) {
            if number > MOST_ENTRIES {
                return Err(TOO_MANY);
            }
            restore_of(restore).ok_or(NOT_A_LINE)?;
            self.entries.push(record.deserialize(Some(columns)).map_err(|_| NOT_A_LINE)?);
        } else if !goes_on {
            return Err(OUT_OF_TURN);
        }
        let check = record.get(CHECKED).unwrap_or_default();
        let left = check.rsplit_once('-').and_then(|(_, left)| left.parse().ok());
        let expected = self.checks.next(record.iter(), left.unwrap_or(0));
        let fits = if check.is_empty() { self.left.is_none() } else { check == expected };
        self.left = left;
        if fits { Ok(()) } else { Err(CHANGED) }
    }

    /// Entries that are not undone and undo none.
    pub(super) fn not_undone(&self) -> impl DoubleEndedIterator<Item = &LogEntry> {
        let undone: HashSet<u64> = self.entries.iter().filter_map(|entry| entry.undoes).collect();
        self.entries.iter().filter(move |entry| entry.undoes.is_none() && !undone.contains(&entry.number))
    }

    /// The number of the entry that comes next.
    pub(super) fn next_number(&self) -> u64 {
        self.entries.last().map_or(0, |last| last.number).saturating_add(1)
    }
}

/// A hash carried on over more bytes.
fn hashed(start: u64, bytes: &[u8]) -> u64 {
    bytes.iter().fold(start, |hash, byte| fnv(hash, u64::from(*byte)))
}

/// A fingerprint of bytes, to tell whether they have changed: their hash and length.
pub(super) fn fingerprint(bytes: &[u8]) -> String {
    format!("{:016x}-{}", hashed(hash::START, bytes), bytes.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three entries of two rows, the second undoing the first; their names hold a line break.
    fn three() -> Vec<LogEntry> {
        let row = LogRow {
            what: "mixed".to_owned(),
            batch: "everyday, sieved".to_owned(),
            ingredient: "coir".to_owned(),
            litres: Some(12.25),
            grams: None,
            package: "5 kg \"block\"".to_owned(),
            left: "1 x 5 kg block".to_owned(),
        };
        let first = LogEntry {
            number: 1,
            date: "2027-03-06 10:00".to_owned(),
            week: "first, \"cool\"\nweek".to_owned(),
            mix_on: String::new(),
            rows: vec![row.clone(), LogRow { grams: Some(0.5), ..row }],
            undoes: None,
            before: fingerprint(b"a"),
            after: fingerprint(b"b"),
            restore: vec![Edit { at: 3..5, text: "40 L, \u{e4}".to_owned() }],
            sowings: fingerprint(b"kale"),
        };
        let second = LogEntry { number: 2, undoes: Some(1), restore: Vec::new(), ..first.clone() };
        let third = LogEntry { number: 3, ..first.clone() };
        vec![first, second, third]
    }

    fn text_of(entries: &[LogEntry]) -> String {
        let mut checks = Checks::default();
        HEADER.to_owned() + &entries.iter().map(|entry| lines(entry, &mut checks)).collect::<String>()
    }

    /// What is wrong with the text of a log, and in which line.
    fn fault(text: &str) -> Option<(usize, &'static str)> {
        read(text).err().map(|bad| (bad.line, bad.why))
    }

    #[test]
    fn what_is_written_is_read_again() {
        let text = text_of(&three());
        let log = read(&text).unwrap();
        let wholes: Vec<LogEntry> = (1..=3).filter_map(|number| whole(&text, number)).collect();
        assert_eq!((log.entries.len(), wholes), (3, three()));
        assert_eq!(whole(&text, 4), None);
        // It goes on as if it had been written at once.
        let mut checks = log.checks;
        let fourth = LogEntry { number: log.next_number(), ..three().remove(0) };
        let four = text.clone() + &lines(&fourth, &mut checks);
        assert_eq!(read(&four).unwrap().entries.len(), 4);
        assert_eq!(log.end().with(&(HEADER.to_owned() + &four[text.len()..])).unwrap().entries.len(), 2);
        assert_eq!(Log::default().end().with(&text), Ok(log));
        assert_eq!(read(""), Ok(Log::default()));
        assert_eq!(fault("a,b\n1,2\n"), Some((1, NOT_A_LINE)));
        assert_eq!(fault(&(HEADER.to_owned() + "x,mixed\n")), Some((2, NOT_A_LINE)));
        assert_eq!(fault(&text.replacen("12.25", "inf", 1)), Some((2, NOT_A_LINE)));
    }

    /// The rows of the three entries begin in lines 2, 4, 6, 8, 10 and 12, since each has a
    /// line break in it.
    #[test]
    fn a_log_that_was_tampered_with_is_told_with_its_line() {
        let text = text_of(&three());
        let rows: Vec<String> =
            text[HEADER.len()..].split_inclusive('\n').collect::<Vec<_>>().chunks(2).map(<[&str]>::concat).collect();
        let all: Vec<&str> = rows.iter().map(String::as_str).collect();
        let fault_of = |rows: &[&str]| fault(&(HEADER.to_owned() + &rows.concat()));
        let with = |at: usize, row: &str| fault_of(&[&all[..at], &[row], &all[at + 1..]].concat());
        let in_order = |order: &[usize]| fault_of(&order.iter().map(|at| all[*at]).collect::<Vec<_>>());
        assert_eq!(fault_of(&all), None);
        for (at, row) in all.iter().enumerate() {
            for (old, new) in [("12.25", "12.5"), ("coir", "peat"), ("everyday", "Everyday"), (":00", ":01")] {
                assert_eq!(with(at, &row.replacen(old, new, 1)), Some((2 + 2 * at, CHANGED)), "{old}");
            }
        }
        // Rows removed, doubled, moved.
        assert_eq!(in_order(&[0, 2, 3, 4, 5]), Some((4, CHANGED)));
        assert_eq!(in_order(&[0, 0, 1, 2, 3, 4, 5]), Some((4, OUT_OF_TURN)));
        assert_eq!(in_order(&[0, 1, 1, 2, 3, 4, 5]), Some((6, CHANGED)));
        assert_eq!(in_order(&[1, 0, 2, 3, 4, 5]), Some((2, OUT_OF_TURN)));
        // Entries removed, doubled, moved.
        assert_eq!(in_order(&[2, 3, 4, 5]), Some((2, OUT_OF_TURN)));
        assert_eq!(in_order(&[0, 1, 4, 5]), Some((6, OUT_OF_TURN)));
        assert_eq!(in_order(&[0, 1, 2, 3, 2, 3, 4, 5]), Some((10, OUT_OF_TURN)));
        assert_eq!(in_order(&[0, 1, 4, 5, 2, 3]), Some((6, OUT_OF_TURN)));
        // Numbered anew, they still do not fit.
        assert_eq!(fault_of(&[all[0], all[1], &all[4].replacen('3', "2", 1), all[5]]), Some((6, CHANGED)));
        // Cut short; the whole last entry cannot be missed.
        assert_eq!(in_order(&[0, 1, 2, 3, 4]), Some((10, CUT_SHORT)));
        assert_eq!(in_order(&[0, 1, 2, 3]), None);
        // A check is not simply left out.
        assert_eq!(with(5, &(all[5].rsplit_once(',').unwrap().0.to_owned() + ",\n")), Some((12, CHANGED)));
        // Blank lines and other quotes change no value.
        assert_eq!(with(3, &format!("\n\n{}", all[3].replace(",coir,", ",\"coir\","))), None);
    }

    /// Logs of earlier versions are read on, and scripts know the columns.
    #[test]
    fn the_form_of_a_log_stays() {
        let first = "entry,what,date,week,mix_on,batch,ingredient,litres,grams,package,left,undoes,stock_before,\
                     stock_after,restore";
        assert_eq!(HEADER, format!("{first},sowings,check\n"));
        let old = "1,mixed,2027-03-06 10:00,w,,b,coir,0.000001,,,1 L,3,a-1,b-1,\"[[3,5,\"\"40 L\"\"]]\"\n\
                   1,bought,2027-03-06 10:00,w,,,coir,-65,,1 x 5 kg block,,,,,\n";
        let log = read(&format!("{first}\n{old}")).unwrap();
        let entry = whole(&format!("{first}\n{old}"), 1).unwrap();
        assert_eq!((log.entries.len(), entry.rows.len(), log.entries[0].undoes), (1, 2, Some(3)));
        assert!(log.is_short);
        // The same rows are written, with two columns more.
        let new = lines(&entry, &mut Checks::default());
        let shorter = |line: &str| line.rsplitn(3, ',').last().unwrap().to_owned() + "\n";
        assert_eq!(new.lines().map(shorter).collect::<String>(), old);
        // Carried on, the checks cover the old rows, too; and their numbers are checked before.
        let second = LogEntry { number: 2, ..three().remove(0) };
        let text = lengthened(&format!("{first}\n{old}")) + &lines(&second, &mut log.checks.clone());
        assert_eq!(text.lines().nth(2), Some("1,bought,2027-03-06 10:00,w,,,coir,-65,,1 x 5 kg block,,,,,,,"));
        assert_eq!(fault(&text), None);
        assert_eq!(fault(&text.replace("-65", "-66")), Some((4, CHANGED)));
        assert_eq!(fault(&format!("{first}\n{old}{}", old.replace("\n1,", "\n2,"))), Some((4, OUT_OF_TURN)));
        assert_eq!(fault(&format!("{first}\n2{}", &old[1..])), Some((2, OUT_OF_TURN)));
    }

    #[test]
    fn a_week_is_its_name_and_its_day() {
        let key = WeekKey::new;
        assert_eq!(key("Plant  sale 1 ", "2027-03-06 10:00"), key(" plant sale 1", "2027-03-06 18:30"));
        assert_eq!(key("K\u{c4}LTE", ""), key("k\u{e4}lte", ""));
        assert_ne!(key("sale", "2027-03-06 10:00"), key("sale", "2027-03-07 10:00"));
        assert_ne!(key("sale", "2027-03-06 10:00"), key("sale", ""));
        // As the log keeps it: a spreadsheet would take the name for a formula.
        for name in ["=sale", " =sale", "'=sale", " '=sale"] {
            assert_eq!(key(name, ""), key("=sale", ""), "{name}");
            assert_eq!(key(&cell(name), ""), key("=sale", ""), "{name}");
        }
        // Earlier versions marked numbers, too.
        assert_eq!(key("-5", ""), key("'-5", ""));
        assert_ne!(key("'sale'", ""), key("sale'", ""));
    }

    #[test]
    fn fingerprints_follow_the_published_test_vectors() {
        // Fowler, Noll & Vo, FNV-1a 64-bit test vectors: "", "a", "foobar" (memory).
        assert_eq!(fingerprint(b""), "cbf29ce484222325-0");
        assert_eq!(fingerprint(b"a"), "af63dc4c8601ec8c-1");
        assert_eq!(fingerprint(b"foobar"), "85944171f73967e8-6");
    }
}
