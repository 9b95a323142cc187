//! Comma-separated values, quoted per RFC 4180.

use crate::units;
use serde::Serialize;
use serde_json::{Map, Value};

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

/// The header and a record for each row of a list in a report's JSON. What a row does not
/// say of itself is the same for all of them, and stands in the report.
#[must_use]
pub fn table(report: &Value, list: &str, columns: &[&str]) -> Vec<Vec<String>> {
    let record = |row: &Value| columns.iter().map(|name| cell(row.get(*name).unwrap_or(&report[*name]))).collect();
    let rows = report[list].as_array().into_iter().flatten().map(record);
    std::iter::once(columns.iter().map(|name| (*name).to_owned()).collect()).chain(rows).collect()
}

/// A record for each row, below a header of the names of their fields.
#[must_use]
pub fn records<R: Serialize + Default>(rows: impl IntoIterator<Item = R>) -> Vec<Vec<String>> {
    let fields = |row: R| match serde_json::to_value(row) {
        Ok(Value::Object(fields)) => fields,
        _ => Map::new(),
    };
    let header = fields(R::default()).into_iter().map(|(name, _)| name).collect();
    let rows = rows.into_iter().map(|row| fields(row).values().map(cell).collect());
    std::iter::once(header).chain(rows).collect()
}

/// A value of JSON as a cell: numbers to six decimals, nothing for null.
fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Number(number) if number.is_f64() => number.as_f64().map(|it| units::plain(it, 6)).unwrap_or_default(),
        other => other.to_string(),
    }
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
    use super::*;
    use serde_json::json;

    #[test]
    fn a_table_is_taken_out_of_the_json() {
        let report = json!({"trays": 2, "rows": [{"name": "peat", "litres": 1.5, "grams": null}, {"name": "lime"}]});
        let records = table(&report, "rows", &["name", "litres", "grams", "trays"]);
        assert_eq!(records[0], ["name", "litres", "grams", "trays"]);
        assert_eq!(records[1], ["peat", "1.5", "", "2"]);
        assert_eq!(records[2], ["lime", "", "", "2"]);
        assert_eq!(records.len(), 3);
    }

    #[test]
    fn rows_stand_below_the_names_of_their_fields() {
        #[derive(Default, Serialize)]
        struct Row {
            name: &'static str,
            cells: Option<u64>,
            litres: Option<f64>,
        }
        assert_eq!(records(Vec::<Row>::new()), [["name", "cells", "litres"]]);
        let rows =
            [Row { name: "a, \"b\"", cells: Some(72), litres: Some(0.1 + 0.2) }, Row { name: "c", ..Row::default() }];
        assert_eq!(records(rows), [["name", "cells", "litres"], ["a, \"b\"", "72", "0.3"], ["c", "", ""]]);
    }

    #[test]
    fn quotes_what_needs_quotes_and_disarms_formulas() {
        let record = ["a,b", "say \"x\"", "=1+1", "-3.5"].map(str::to_owned).to_vec();
        assert_eq!(render(&[record]), "\"a,b\",\"say \"\"x\"\"\",'=1+1,-3.5\n");
    }
}
