//! What must hold for any bytes, one module a target. libFuzzer calls it from `tests/fuzz`,
//! `cargo test` with the seeds alone (`tests/it/fuzz_corpus.rs`).

mod ledger;
mod parse;
mod recipe;
mod soak;
mod stock;
mod table;
mod units;
mod week;

use serde_json::Value;
use std::borrow::Cow;
use std::path::Path;
use std::sync::Arc;
use trayful::catalogue::Catalogue;
use trayful::diagnostic::{Rejected, SourceText, render as render_faults};
use trayful::report::{Format, Report, Style, render};
use trayful::source::{FileKind, Files, Memory};
use trayful::units::UnitSystem;
use unicode_width::UnicodeWidthStr;

/// What takes any bytes and panics where something does not hold.
pub type Target = fn(&[u8]);

/// Every target by its name.
pub const TARGETS: [(&str, Target); 8] = [
    ("parse", parse::run),
    ("units", units::run),
    ("week", week::run),
    ("recipe", recipe::run),
    ("soak", soak::run),
    ("stock", stock::run),
    ("table", table::run),
    ("ledger", ledger::run),
];

/// The bytes as files: the first of a name, each further one below a line `%%% NAME`; beside
/// them what the shipped weeks name.
fn files(first: &str, bytes: &[u8]) -> Memory {
    let mut files = Memory::default()
        .with("../places/club.yaml", include_str!("../../../recipes/places/club.yaml"))
        .with("../places/../stock/club-shed.yaml", include_str!("../../../recipes/stock/club-shed.yaml"))
        .with("plant-sale-2.csv", include_str!("../../../recipes/weeks/plant-sale-2.csv"));
    let (mut name, mut text) = (first.to_owned(), Vec::new());
    for line in bytes.split_inclusive(|byte| *byte == b'\n') {
        match line.strip_prefix(b"%%% ") {
            Some(next) => {
                files = files.with(&name, std::mem::take(&mut text));
                String::from_utf8_lossy(next).trim().clone_into(&mut name);
            }
            None => text.extend(line),
        }
    }
    files.with(&name, text)
}

/// What is built in; made once, since making it takes longer than most inputs.
fn catalogue() -> Catalogue {
    thread_local!(static BUILT_IN: Catalogue = Catalogue::built_in());
    BUILT_IN.with(Catalogue::clone)
}

/// The bytes as one checked text; none where they are refused, in words.
fn text(name: &str, bytes: &[u8]) -> Option<Arc<SourceText>> {
    let files = Memory::default().with(name, bytes);
    accepted(files.read(Path::new(name), FileKind::Yaml))
}

/// What was read; none where it was refused, in words that may be shown.
fn accepted<T>(read: Result<T, Rejected>) -> Option<T> {
    read.map_err(|rejected| check_faults(&rejected)).ok()
}

/// A character that steers a terminal or turns the order of a line.
fn is_stray(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\t'))
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Faults have a place in their text, and words that may be shown.
fn check_faults(rejected: &Rejected) {
    assert!(rejected.problems().count() > 0, "refused without a word");
    for (source, problem) in rejected.problems() {
        let Some(at) = problem.at else { continue };
        // One past the end stands for what is missing there.
        let end = source.text.len() + 1;
        assert!(at.start <= at.end && at.end <= end, "{at:?} lies outside {} bytes: {problem:?}", source.text.len());
        assert!(source.text.is_char_boundary(at.start.min(source.text.len())), "{at:?} cuts a character: {problem:?}");
    }
    let plain = render_faults(rejected, false);
    assert!(!plain.contains(is_stray), "{plain:?}");
    assert_eq!(plain.lines().count(), render_faults(rejected, true).lines().count(), "{plain}");
    for line in plain.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())) {
        assert!(line.width() <= 120, "a quoted line is not cut: {line}");
    }
}

/// One of so many, the same for the same bytes, where to try all would take too long.
fn one_of(many: usize, bytes: &[u8]) -> usize {
    bytes.iter().fold(0, |sum: usize, byte| sum.wrapping_mul(31).wrapping_add(usize::from(*byte))) % many
}

/// The bytes; of some as much as a large file holds, since what takes too long shows there.
fn grown(bytes: &[u8]) -> Cow<'_, [u8]> {
    const LARGE: usize = 500_000;
    if bytes.is_empty() || one_of(16, bytes) > 0 { bytes.into() } else { bytes.repeat(LARGE / bytes.len()).into() }
}

/// A report in every form, in units and with or without explanations as its JSON happens to
/// say; its JSON.
fn check_forms(report: &dyn Report) -> Value {
    let style = |format| Style { format, ..Style::default() };
    let json = render(report, style(Format::Json));
    assert!(!json.contains(is_stray), "{json:?}");
    let value: Value = serde_json::from_str(&json).unwrap_or_else(|error| panic!("{error}: {json}"));
    let units = [UnitSystem::Metric, UnitSystem::Us][one_of(2, json.as_bytes())];
    let explain = one_of(3, json.as_bytes()) == 0;
    for format in [Format::Text, Format::Markdown, Format::Html] {
        let text = render(report, Style { format, units, explain, ..Style::default() });
        assert!(text.ends_with('\n') && !text.contains(is_stray), "{format:?}: {text:?}");
        match format {
            Format::Text => check_widths(&text, &value),
            Format::Markdown => check_pipes(&text),
            _ => {}
        }
    }
    let table = render(report, style(Format::Csv));
    assert!(!table.contains(is_stray), "{table:?}");
    // Rows of another length than the header are an error of the reader.
    for record in csv::Reader::from_reader(table.as_bytes()).records() {
        record.unwrap_or_else(|error| panic!("{error}: {table}"));
    }
    value
}

/// No line of a text but its title is wider than a terminal; figures beyond any bench may
/// widen a table.
fn check_widths(text: &str, value: &Value) {
    let beyond = value["totals"]["mix_l"].as_f64().is_some_and(|litres| litres > 100_000.0);
    for line in text.lines().skip(1) {
        assert!(line.width() <= if beyond { 110 } else { 80 }, "{} columns: {line}\n{text}", line.width());
    }
}

/// Every row of a table in Markdown has as many cells as its header.
fn check_pipes(text: &str) {
    let cells = |line: &str| {
        let mut escaped = false;
        let bars = line.chars().filter(|c| {
            let bar = *c == '|' && !escaped;
            escaped = *c == '\\' && !escaped;
            bar
        });
        bars.count()
    };
    let lines: Vec<&str> = text.lines().collect();
    for pair in lines.windows(2).filter(|pair| pair.iter().all(|line| line.starts_with('|'))) {
        assert_eq!(cells(pair[0]), cells(pair[1]), "{text}");
    }
}

/// Whether two figures are the same but for floating point.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-6)
}

/// A figure of a report.
fn number(value: &Value) -> f64 {
    value.as_f64().filter(|number| number.is_finite()).unwrap_or_else(|| panic!("no number: {value}"))
}

/// The sum of a figure over the rows of a list; a row without it counts as none.
fn sum<'v>(rows: impl IntoIterator<Item = &'v Value>, key: &str) -> f64 {
    rows.into_iter().filter(|row| !row[key].is_null()).map(|row| number(&row[key])).sum()
}

/// The rows of a list.
fn rows(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}
