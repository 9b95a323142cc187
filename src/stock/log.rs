//! The log of what was taken: a table beside the stock file, one row an amount.

use crate::source::Edit;
use crate::units::mass::gram;
use crate::units::{Mass, Quantity, in_litres, plain};
use serde::{Deserialize, Serialize, Serializer};

/// The header line.
pub(super) const HEADER: &str = "entry,what,date,week,mix_on,batch,ingredient,litres,grams,package,left,undoes,\
                                 stock_before,stock_after,restore\n";

/// A line of the log, its fields in the order of the columns. What holds for a whole entry
/// and is only needed to undo it stands in the entry's first line.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
struct Line {
    entry: u64,
    what: String,
    date: String,
    week: String,
    mix_on: String,
    batch: String,
    ingredient: String,
    #[serde(serialize_with = "six_decimals")]
    litres: Option<f64>,
    #[serde(serialize_with = "six_decimals")]
    grams: Option<f64>,
    package: String,
    left: String,
    undoes: Option<u64>,
    stock_before: String,
    stock_after: String,
    restore: String,
}

fn six_decimals<S: Serializer>(amount: &Option<f64>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&amount.map(|amount| plain(amount, 6)).unwrap_or_default())
}

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
    /// How much was taken.
    #[must_use]
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
pub(super) fn named(text: &str) -> String {
    if text.starts_with(['=', '@', '+', '-', '\t']) { format!("'{text}") } else { text.to_owned() }
}

/// The lines of an entry.
pub(super) fn lines(entry: &Entry) -> String {
    let mut first = Line {
        undoes: entry.undoes,
        stock_before: entry.before.clone(),
        stock_after: entry.after.clone(),
        restore: restore_text(&entry.restore),
        ..Line::default()
    };
    let lines = entry.rows.iter().map(|row| Line {
        entry: entry.number,
        what: row.what.clone(),
        date: entry.date.clone(),
        week: named(&entry.week),
        mix_on: entry.mix_on.clone(),
        batch: named(&row.batch),
        ingredient: named(&row.ingredient),
        litres: row.litres,
        grams: row.grams,
        package: named(&row.package),
        left: row.left.clone(),
        ..std::mem::take(&mut first)
    });
    let mut writer = ::csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
    for line in lines {
        // Writing to memory cannot fail.
        let _ = writer.serialize(line);
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
pub(super) fn read(text: &str) -> Result<Vec<Entry>, usize> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = ::csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let columns = reader.headers().map_err(|_| 1_usize)?;
    if columns.is_empty() {
        return Ok(Vec::new());
    }
    if !columns.iter().eq(HEADER.trim_end().split(',')) {
        return Err(1);
    }
    let mut entries: Vec<Entry> = Vec::new();
    for (index, line) in reader.into_deserialize::<Line>().enumerate() {
        let bad = index + 2;
        let line = line.map_err(|_| bad)?;
        if ![line.litres, line.grams].into_iter().flatten().all(f64::is_finite) {
            return Err(bad);
        }
        let row = LogRow {
            what: line.what,
            batch: line.batch,
            ingredient: line.ingredient,
            litres: line.litres,
            grams: line.grams,
            package: line.package,
            left: line.left,
        };
        match entries.last_mut().filter(|entry| entry.number == line.entry) {
            Some(entry) => entry.rows.push(row),
            None => entries.push(Entry {
                number: line.entry,
                date: line.date,
                week: line.week,
                mix_on: line.mix_on,
                rows: vec![row],
                undoes: line.undoes,
                before: line.stock_before,
                after: line.stock_after,
                restore: restore_of(&line.restore).ok_or(bad)?,
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
        let text = HEADER.to_owned() + &lines(&entry) + &lines(&second);
        assert_eq!(read(&text), Ok(vec![entry, second]));
        assert_eq!(read(""), Ok(Vec::new()));
        assert_eq!(read("a,b\n1,2\n"), Err(1));
        assert_eq!(read(&(HEADER.to_owned() + "x,mixed\n")), Err(2));
        let endless = lines(&Entry { restore: Vec::new(), ..read(&text).unwrap().remove(0) }).replace("12.25", "inf");
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
        assert_eq!(named("=1+1"), "'=1+1");
        assert_eq!(named("coir"), "coir");
    }
}
