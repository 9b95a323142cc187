//! A table of sowings: its rows as any reader of CSV finds them, and the same plan as the
//! sowings listed in the week.

use super::week::planned;
use super::{check_faults, files, grown, text};
use std::sync::Arc;
use trayful::diagnostic::Problems;
use trayful::source::{CsvTable, Value};
use trayful::week::SOWING_KEYS;

const WEEK: &str = "week: beds\nrecipe: everyday\ntub: 60 L\nscoop: 2 L\nsowings: ";
/// More rows are read, but not planned: that takes its time.
const PLANNED: usize = 40;

pub fn run(bytes: &[u8]) {
    let bytes = &*grown(bytes);
    let Some(source) = text("sowings.csv", bytes) else { return };
    let problems = Problems::new(Arc::clone(&source));
    let mut sowings = String::new();
    let mut count = 0;
    if let Some(mut table) = CsvTable::new(&source.text, SOWING_KEYS, &problems) {
        while let Some(row) = table.next_row(&problems) {
            let Value::Map(row) = row.value else { panic!("a row is no map") };
            sowings.push_str("\n  - {");
            for (key, value) in &row {
                let (at, key, value) = (value.at, key.text().unwrap_or_default(), value.text().unwrap_or_default());
                let place = source.text.get(at.start..at.end);
                assert!(place.is_some_and(|place| place == value || place.chars().count() == 1), "{at:?} of {value:?}");
                assert!(!value.trim().is_empty() && SOWING_KEYS.contains(&key), "{key}: {value:?}");
                // A string of JSON is one of YAML.
                sowings.push_str(&format!("{key}: {}, ", serde_json::Value::from(value)));
            }
            sowings.push('}');
            count += 1;
        }
    }
    let sound = problems.is_empty();
    if let Err(rejected) = problems.settle(sound.then_some(())) {
        check_faults(&rejected);
    } else {
        assert_eq!(count, records(&source.text), "{sowings}");
    }
    if count > PLANNED {
        return;
    }
    let of_table = planned(&files("week.yaml", format!("{WEEK}sowings.csv\n").as_bytes()).with("sowings.csv", bytes));
    if let Some((_, of_table)) = of_table {
        let of_list = planned(&files("week.yaml", format!("{WEEK}{sowings}\n").as_bytes()));
        assert_eq!(of_list.map(|(_, json)| json), Some(of_table), "{sowings}");
    }
}

/// How many records that hold anything the library finds below the header, of whatever length.
fn records(text: &str) -> usize {
    let mut lines = text.lines().enumerate().filter(|(_, line)| !line.is_empty());
    let (first, header) = lines.next().unwrap_or_default();
    // What tells a spreadsheet the separator is no record.
    let told = header.trim().trim_matches('"').to_lowercase();
    let (first, header) =
        if matches!(&*told, "sep=," | "sep=;") { lines.next().unwrap_or_default() } else { (first, header) };
    let text = text.lines().skip(first).map(|line| format!("{line}\n")).collect::<String>();
    let delimiter = if header.matches(';').count() > header.matches(',').count() { b';' } else { b',' };
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).flexible(true).from_reader(text.as_bytes());
    let records = reader.records().filter_map(Result::ok);
    records.filter(|record| record.iter().any(|value| !value.trim().is_empty())).count()
}
