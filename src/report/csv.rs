//! Comma-separated values, quoted per RFC 4180.

use crate::printable;
use crate::units;
use serde_json::Value;
use std::borrow::Cow;
use std::io::{self, Write};

/// Writes records as lines.
pub fn write(records: impl IntoIterator<Item = Vec<String>>, out: &mut dyn Write) -> io::Result<()> {
    let mut writer = ::csv::WriterBuilder::new().flexible(true).from_writer(out);
    for record in records {
        let fields = record.iter().try_for_each(|cell| writer.write_field(plain(cell).as_bytes()));
        let written = fields.and_then(|()| writer.write_record(None::<&[u8]>));
        written.map_err(|error| match error.into_kind() {
            ::csv::ErrorKind::Io(error) => error,
            _ => io::ErrorKind::InvalidData.into(),
        })?;
    }
    writer.flush()
}

/// The header and a record for each row of a list in a report's JSON. What a row does not
/// say of itself is the same for all of them, and stands in the report.
pub fn table(report: &Value, list: &str, columns: &str) -> Vec<Vec<String>> {
    let record = |row: &Value| columns.split(' ').map(|name| cell(row.get(name).unwrap_or(&report[name]))).collect();
    let rows = report[list].as_array().into_iter().flatten().map(record);
    std::iter::once(header(columns)).chain(rows).collect()
}

/// The names of columns, with a space between them.
pub fn header(columns: &str) -> Vec<String> {
    columns.split(' ').map(str::to_owned).collect()
}

/// The named columns of a row.
pub fn record(columns: &str, row: &Value) -> Vec<String> {
    columns.split(' ').map(|name| cell(&row[name])).collect()
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

/// A text as a spreadsheet and a terminal may be given it.
fn plain(text: &str) -> Cow<'_, str> {
    match printable::cell(text) {
        Cow::Borrowed(text) => printable::printable(text),
        Cow::Owned(text) => printable::made_printable(text).into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_table_is_taken_out_of_the_json() {
        let report = json!({"trays": 2, "rows": [{"name": "peat", "litres": 1.5, "grams": null}, {"name": "lime"}]});
        let records = table(&report, "rows", "name litres grams trays");
        assert_eq!(records[0], ["name", "litres", "grams", "trays"]);
        assert_eq!(records[1], ["peat", "1.5", "", "2"]);
        assert_eq!(records[2], ["lime", "", "", "2"]);
        assert_eq!(records.len(), 3);
    }

    #[test]
    fn a_row_stands_below_its_columns() {
        let columns = "name cells litres";
        let row = json!({"litres": 0.1 + 0.2, "cells": 72, "name": "a, \"b\"", "other": 1});
        assert_eq!(record(columns, &row), ["a, \"b\"", "72", "0.3"]);
        assert_eq!(record(columns, &json!({"name": "c"})), ["c", "", ""]);
    }

    #[test]
    fn quotes_what_needs_quotes_and_disarms_formulas() {
        let record = ["a,b", "say \"x\"", "=1+1", "-3.5"].map(str::to_owned).to_vec();
        let mut text = Vec::new();
        write([record], &mut text).unwrap();
        assert_eq!(String::from_utf8(text).unwrap(), "\"a,b\",\"say \"\"x\"\"\",'=1+1,-3.5\n");
    }
}
