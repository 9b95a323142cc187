//! The log of what was taken: a table beside the stock file, one row an amount.

use crate::source::Edit;
use crate::units::mass::gram;
use crate::units::{Mass, Quantity, in_litres, plain};
use serde::{Deserialize, Serialize};

/// The header line.
pub(super) const HEADER: &str = "entry,what,date,week,mix_on,batch,ingredient,litres,grams,package,left,undoes,\
                                 stock_before,stock_after,restore\n";

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
    /// What was taken; bought packages count as taken less than nothing.
    #[serde(skip)]
    pub rows: Vec<LogRow>,
    /// The entry that this one takes back.
    pub undoes: Option<u64>,
    /// Fingerprint of the stock file before.
    #[serde(rename = "stock_before")]
    pub before: String,
    /// Fingerprint of the stock file after.
    #[serde(rename = "stock_after")]
    pub after: String,
    /// The edits that turn the file back.
    #[serde(skip)]
    pub restore: Vec<Edit>,
}

/// One amount of an entry.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
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
    /// How much was taken.
    pub fn amount(&self) -> Option<Quantity> {
        let volume = self.litres.map(|litres| Quantity::Volume(in_litres(litres)));
        volume.or(self.grams.map(|grams| Quantity::Mass(Mass::new::<gram>(grams))))
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

/// A text that a spreadsheet would take for a formula is marked as text.
pub(super) fn plain_text(text: &str) -> String {
    if text.starts_with(['=', '@', '+', '-', '\t']) { format!("'{text}") } else { text.to_owned() }
}

/// The lines of an entry, in the order of the columns. What holds for the whole entry and is
/// only needed to undo it stands in the first line.
pub(super) fn lines(entry: &LogEntry) -> String {
    let decimals = |amount: Option<f64>| amount.map(|amount| plain(amount, 6)).unwrap_or_default();
    let mut undo = (entry.undoes, entry.before.clone(), entry.after.clone(), restore_text(&entry.restore));
    let mut writer = ::csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
    for row in &entry.rows {
        let run = (entry.number, &row.what, &entry.date, plain_text(&entry.week), &entry.mix_on);
        let taken = (plain_text(&row.batch), plain_text(&row.ingredient), decimals(row.litres), decimals(row.grams));
        // Writing to memory cannot fail.
        let _ = writer.serialize((run, taken, plain_text(&row.package), &row.left, std::mem::take(&mut undo)));
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

/// Reads a log; the number of the line that cannot be read.
pub(super) fn read(text: &str) -> Result<Vec<LogEntry>, usize> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = ::csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let columns = reader.headers().map_err(|_| 1_usize)?.clone();
    if columns.is_empty() {
        return Ok(Vec::new());
    }
    if !columns.iter().eq(HEADER.trim_end().split(',')) {
        return Err(1);
    }
    let mut entries: Vec<LogEntry> = Vec::new();
    for (index, record) in reader.records().enumerate() {
        let bad = index + 2;
        let record = record.map_err(|_| bad)?;
        let mut entry: LogEntry = record.deserialize(Some(&columns)).map_err(|_| bad)?;
        let row: LogRow = record.deserialize(Some(&columns)).map_err(|_| bad)?;
        if ![row.litres, row.grams].into_iter().flatten().all(f64::is_finite) {
            return Err(bad);
        }
        match entries.last_mut().filter(|known| known.number == entry.number) {
            Some(known) => known.rows.push(row),
            None => {
                entry.restore = record.iter().nth(columns.len() - 1).and_then(restore_of).ok_or(bad)?;
                entry.rows.push(row);
                entries.push(entry);
            }
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
        let entry = LogEntry {
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
        let second = LogEntry { number: 2, undoes: Some(1), restore: Vec::new(), ..entry.clone() };
        let text = HEADER.to_owned() + &lines(&entry) + &lines(&second);
        assert_eq!(read(&text), Ok(vec![entry, second]));
        assert_eq!(read(""), Ok(Vec::new()));
        assert_eq!(read("a,b\n1,2\n"), Err(1));
        assert_eq!(read(&(HEADER.to_owned() + "x,mixed\n")), Err(2));
        let endless =
            lines(&LogEntry { restore: Vec::new(), ..read(&text).unwrap().remove(0) }).replace("12.25", "inf");
        assert_eq!(read(&(HEADER.to_owned() + &endless)), Err(2));
    }

    /// Logs of earlier versions are read on, and scripts know the columns.
    #[test]
    fn the_form_of_a_log_stays() {
        assert_eq!(
            HEADER.to_owned(),
            "entry,what,date,week,mix_on,batch,ingredient,litres,grams,package,left,undoes,stock_before,stock_after,\
             restore\n"
        );
        let old = "7,mixed,2027-03-06 10:00,w,,b,coir,0.000001,,,1 L,3,a-1,b-1,\"[[3,5,\"\"40 L\"\"]]\"\n\
                   7,bought,2027-03-06 10:00,w,,,coir,-65,,1 x 5 kg block,,,,,\n";
        let entries = read(&(HEADER.to_owned() + old)).unwrap();
        assert_eq!((entries.len(), entries[0].rows.len(), entries[0].undoes), (1, 2, Some(3)));
        assert_eq!(lines(&entries[0]), old);
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
        assert_eq!(plain_text("=1+1"), "'=1+1");
        assert_eq!(plain_text("coir"), "coir");
    }
}
