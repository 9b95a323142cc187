//! Tables of sowings: comma or semicolon, quotes per RFC 4180, every place known.

use super::yaml::{Node, Value};
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use std::borrow::Cow;

/// The rows of a table with a header, read one at a time.
pub struct CsvTable<'t> {
    text: &'t str,
    columns: Vec<&'static str>,
    reader: csv::Reader<&'t [u8]>,
    record: csv::StringRecord,
}

impl<'t> CsvTable<'t> {
    /// Reads the header; faults for unknown and repeated columns.
    pub fn new(text: &'t str, known: &[&'static str], problems: &Problems) -> Option<Self> {
        let header = text.lines().next().unwrap_or_default();
        if header.contains('\t') && !header.contains([',', ';']) {
            let place = Span::new(0, header.len().max(1));
            let what = "the columns are separated by tabs";
            return problems.refuse(Problem::new(Code::Syntax, place, what, "commas or semicolons between them"));
        }
        let semicolons = header.matches(';').count() > header.matches(',').count();
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(if semicolons { b';' } else { b',' })
            .has_headers(true)
            .flexible(false)
            .from_reader(text.as_bytes());
        let names = match reader.headers() {
            Ok(names) => names.clone(),
            Err(error) => {
                return problems.refuse(syntax(text, &error));
            }
        };
        let mut columns: Vec<&'static str> = Vec::new();
        let mut from = 0;
        for name in &names {
            // A name with escapes is not found as it reads: the rest of the line stands for it.
            let found = header.get(from..).and_then(|rest| rest.find(name)).map(|at| from + at);
            let place = found.map_or(Span::new(from, header.len()), |at| Span::new(at, at + name.len().max(1)));
            from = found.map_or(from, |at| at + name.len());
            let name = name.trim().to_lowercase().replace(' ', "_");
            match known.iter().find(|column| **column == name) {
                Some(column) if columns.contains(column) => {
                    let what = format!("the column `{name}` stands twice");
                    problems.push(Problem::new(Code::TwiceKey, place, what, "each column once"));
                }
                Some(column) => columns.push(column),
                None => {
                    let what = match name.is_empty() {
                        true => "a column has no name".to_owned(),
                        false => format!("`{name}` is not a column of a sowings table"),
                    };
                    let help = did_you_mean(&name, known.iter().copied())
                        .or_else(|| Some(format!("it may have: {}", known.join(", "))));
                    problems.push(Problem::new(Code::UnknownKey, place, what, "a known column").with_help(help));
                }
            }
        }
        (columns.len() == names.len()).then(|| Self { text, columns, reader, record: csv::StringRecord::new() })
    }

    /// Whether there is such a column.
    pub fn has(&self, column: &str) -> bool {
        self.columns.contains(&column)
    }

    /// The next row as a map of its columns, an empty value not in it; `None` at the end or
    /// after a fault in the table's form.
    pub fn next_row(&mut self, problems: &Problems) -> Option<Node<'_>> {
        loop {
            match self.reader.read_record(&mut self.record) {
                // Spreadsheets end a table with rows of separators alone.
                Ok(true) if self.record.iter().all(|value| value.trim().is_empty()) => {}
                Ok(true) => break,
                Ok(false) => return None,
                Err(error) => {
                    return problems.refuse(syntax(self.text, &error));
                }
            }
        }
        Some(self.row())
    }

    /// The record that was read.
    fn row(&self) -> Node<'_> {
        let start = start_of(self.record.position(), self.text);
        let end = offset(self.reader.position()).min(self.text.len());
        let whole = Span::new(start, start + 1);
        let mut map = Vec::with_capacity(self.columns.len());
        // Quotes and doubled quotes shift bytes: each value is looked for from where the
        // values before it end at the earliest, and no further than the row goes.
        let mut from = start;
        for (name, written) in self.columns.iter().zip(&self.record) {
            let value = written.trim();
            if !value.is_empty() {
                let found = self.text.get(from..end).and_then(|rest| rest.find(value)).map(|found| from + found);
                let at = found.map_or(whole, |start| Span::new(start, start + value.len()));
                let node = |text| Node { at, value: Value::Text(Cow::Borrowed(text)) };
                map.push((node(*name), node(value)));
            }
            from += written.len() + 1;
        }
        Node { at: whole, value: Value::Map(map) }
    }
}

fn offset(position: &csv::Position) -> usize {
    usize::try_from(position.byte()).unwrap_or(usize::MAX)
}

/// Where a record starts: the reader counts the line end before it to the record.
fn start_of(position: Option<&csv::Position>, text: &str) -> usize {
    let at = position.map_or(0, offset).min(text.len());
    at + text[at..].bytes().take_while(|byte| *byte == b'\n').count()
}

fn syntax(text: &str, error: &csv::Error) -> Problem {
    let what = match error.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            format!("this row has {len} values, the header {expected_len}")
        }
        _ => format!("cannot be read as CSV: {error}"),
    };
    let at = start_of(error.position(), text);
    Problem::new(Code::Syntax, Span::new(at, at + 1), what, "one value for each column")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use crate::source::Fields;
    use std::sync::Arc;

    const KNOWN: &[&str] = &["crop", "tray", "plants"];

    fn problems() -> Problems {
        Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: String::new() }))
    }

    #[test]
    fn rows_with_their_places() {
        let text = "crop;tray;plants\n\nkale;50-cell;80\n;;\n ; ;\n\"sweet \"\"pea\"\"\";72-cell;\nsweet \"pea\";x;\n";
        let problems = problems();
        let mut table = CsvTable::new(text, KNOWN, &problems).unwrap();
        let mut row = || {
            let node = table.next_row(&problems)?;
            let mut fields = Fields::new(&node, "a row", &problems)?;
            let place = |span: Span| &text[span.start..span.end];
            let places = ["crop", "tray", "plants"].map(|key| place(fields.place(key)).to_owned());
            Some((fields.optional("crop"), fields.optional("plants"), places))
        };
        assert_eq!(row(), Some((Some("kale".to_owned()), Some(80_u64), ["kale", "50-cell", "80"].map(str::to_owned))));
        // Doubled quotes are not found as they read: the row stands for them.
        let second = (Some("sweet \"pea\"".to_owned()), None, ["\"", "72-cell", "\""].map(str::to_owned));
        assert_eq!(row(), Some(second));
        assert_eq!(row().map(|(_, _, places)| places[0].clone()).as_deref(), Some("sweet \"pea\""));
        assert_eq!(row(), None);
        assert!(problems.is_empty());
    }

    #[test]
    fn faults_in_the_form() {
        let found = problems();
        assert!(CsvTable::new("crop,trey\n", KNOWN, &found).is_none());
        assert_eq!(found.len(), 1);
        let found = problems();
        let mut table = CsvTable::new("crop,tray\nkale\n", KNOWN, &found).unwrap();
        assert!(table.next_row(&found).is_none());
        assert_eq!(found.len(), 1);
    }
}
