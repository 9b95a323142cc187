//! Comma-separated values, quoted per RFC 4180.

use serde::Serialize;

/// Rows as records, below a header of the names of their fields.
#[must_use]
pub fn records<R: Serialize + Default>(rows: impl IntoIterator<Item = R>) -> Vec<Vec<String>> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    // The empty row in front brings the header, even where there is no other row.
    for row in std::iter::once(R::default()).chain(rows) {
        // Writing to memory cannot fail.
        let _ = writer.serialize(row);
    }
    let written = writer.into_inner().unwrap_or_default();
    let mut reader = ::csv::ReaderBuilder::new().has_headers(false).from_reader(&written[..]);
    let records = reader.records().flatten().map(|record| record.iter().map(str::to_owned).collect());
    let mut records: Vec<Vec<String>> = records.collect();
    records.remove(1);
    records
}

/// Writes records as lines.
#[must_use]
pub fn render(records: &[Vec<String>]) -> String {
    let mut writer = ::csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for record in records {
        // Writing to memory cannot fail.
        let _ = writer.write_record(record.iter().map(|cell| plain(cell)));
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// A text that a spreadsheet would take for a formula is marked as text.
fn plain(cell: &str) -> String {
    if cell.starts_with(['=', '@', '+', '-', '\t']) && cell.parse::<f64>().is_err() {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::{records, render};
    use crate::units::serial;
    use serde::Serialize;

    #[test]
    fn quotes_what_needs_quotes_and_disarms_formulas() {
        let record = ["a,b", "say \"x\"", "=1+1", "-3.5"].map(str::to_owned).to_vec();
        assert_eq!(render(&[record]), "\"a,b\",\"say \"\"x\"\"\",'=1+1,-3.5\n");
    }

    #[derive(Default, Serialize)]
    struct Row {
        name: &'static str,
        #[serde(serialize_with = "serial::tidy")]
        litres: Option<f64>,
    }

    #[test]
    fn rows_stand_below_their_header() {
        let header = || ["name", "litres"].map(str::to_owned).to_vec();
        assert_eq!(records(Vec::<Row>::new()), [header()]);
        let rows = [Row { name: "a, \"b\"", litres: Some(0.1 + 0.2) }, Row { name: "c", litres: None }];
        let read = |cells: [&str; 2]| cells.map(str::to_owned).to_vec();
        assert_eq!(records(rows), [header(), read(["a, \"b\"", "0.3"]), read(["c", ""])]);
    }
}
