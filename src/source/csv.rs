//! Tables of sowings: comma or semicolon, quotes per RFC 4180, every place known.

use super::yaml::{Node, Value};
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use std::borrow::Cow;
use std::io::{Read, Take};

/// The most columns a table may have.
const MOST_COLUMNS: usize = 100;
/// The most rows: so many that all differ are planned within two seconds and 300 MB in every form.
const MOST_ROWS: usize = 200_000;
/// The most bytes of a row, line ends in quotes counted in.
const LONGEST_ROW: usize = 1 << 16;
/// What the reader takes from a table at a time, and so beyond the end of a row.
const AHEAD: usize = 1 << 13;

/// The rows of a table with a header, read one at a time.
pub struct CsvTable<'t> {
    text: &'t str,
    columns: Vec<&'static str>,
    /// Of the rows, handed on no further than one row may go and the reader ahead of it.
    reader: csv::Reader<Take<&'t [u8]>>,
    record: csv::StringRecord,
    /// Where the rows begin in the text.
    begin: usize,
    /// How many were read.
    rows: usize,
}

impl<'t> CsvTable<'t> {
    /// Reads the header, the first line that is not empty; faults for unknown and repeated columns.
    pub fn new(text: &'t str, known: &[&'static str], problems: &Problems) -> Option<Self> {
        let (start, header) = match line_from(text, 0) {
            // What some spreadsheets write above the header for others to read.
            (start, line) if is_separator(line) => line_from(text, start + line.len()),
            first => first,
        };
        let begin = start + header.len();
        let place = Span::new(start, begin.max(start + 1));
        if header.contains('\t') && !header.contains([',', ';']) {
            let what = "the columns are separated by tabs";
            return problems.deny(Code::Syntax, place, what, "commas or semicolons between them");
        }
        if header.len() > LONGEST_ROW || header.matches([',', ';']).nth(MOST_COLUMNS - 1).is_some() {
            let expected = format!("at most {MOST_COLUMNS} columns");
            return problems.deny(Code::TooLarge, place, "this header is too long", expected);
        }
        if header.matches('"').count() % 2 == 1 {
            let help = "a quote is left open: each needs its second one".to_owned();
            let fault = Problem::new(Code::Syntax, place, "the header does not end", "the columns in one line");
            return problems.refuse(fault.with_help(Some(help)));
        }
        let semicolons = header.matches(';').count() > header.matches(',').count();
        let delimiter = if semicolons { b';' } else { b',' };
        let names = match names_of(header, delimiter) {
            Ok(names) => names,
            Err(error) => return problems.refuse(syntax(text, start, &error)),
        };
        // Spreadsheets write columns at the end that hold nothing.
        let named = (1..=names.len()).rfind(|count| !names[count - 1].trim().is_empty()).unwrap_or(names.len());
        let mut columns: Vec<&'static str> = Vec::new();
        let mut from = 0;
        for name in names.iter().take(named) {
            // A name with escapes is not found as it reads: the rest of the line stands for it.
            let found = header.get(from..).and_then(|rest| rest.find(name)).map(|at| from + at);
            let place = found.map_or(Span::new(from, header.len()), |at| Span::new(at, at + name.len().max(1)));
            from = found.map_or(from, |at| at + name.len());
            columns.extend(column(name, Span::new(start + place.start, start + place.end), &columns, known, problems));
        }
        let reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .has_headers(false)
            .flexible(true)
            .buffer_capacity(AHEAD)
            .from_reader(text.as_bytes()[begin..].take(0));
        let record = csv::StringRecord::new();
        (columns.len() == named).then_some(Self { text, columns, reader, record, begin, rows: 0 })
    }

    /// No more rows than this are read.
    pub fn most_rows(&self) -> usize {
        self.text.bytes().filter(|byte| *byte == b'\n').count().min(MOST_ROWS)
    }

    /// Whether there is such a column.
    pub fn has(&self, column: &str) -> bool {
        self.columns.contains(&column)
    }

    /// The next row as a map of its columns, an empty value not in it; `None` at the end or
    /// after a fault in the table's form.
    pub fn next_row(&mut self, problems: &Problems) -> Option<Node<'_>> {
        loop {
            self.reader.get_mut().set_limit((LONGEST_ROW + AHEAD) as u64);
            match self.reader.read_record(&mut self.record) {
                // Spreadsheets end a table with rows of separators alone.
                Ok(true) if self.is_whole() && self.record.iter().all(|value| value.trim().is_empty()) => {}
                Ok(true) => break,
                // Cut off within empty lines, it ends with less than the table.
                Ok(false) if !self.reader.get_ref().get_ref().is_empty() => break,
                Ok(false) => return None,
                Err(error) => return problems.refuse(syntax(self.text, self.begin, &error)),
            }
        }
        self.rows += 1;
        let fault = if !self.is_whole() {
            let what = "this row does not end: is a quote left open?".to_owned();
            Some((Code::TooLarge, what, "at most 64 kB in a row"))
        } else if self.record.len() < self.columns.len()
            || self.record.iter().skip(self.columns.len()).any(|value| !value.trim().is_empty())
        {
            let what = format!("this row has {} values, the header {}", self.record.len(), self.columns.len());
            Some((Code::Syntax, what, "one value for each column"))
        } else if self.rows > MOST_ROWS {
            let what = format!("this is the row after the first {MOST_ROWS}");
            Some((Code::TooLarge, what, "no more rows in a table; part it in two weeks"))
        } else {
            None
        };
        if let Some((code, what, expected)) = fault {
            let at = start_of(self.record.position(), self.begin, self.text);
            return problems.deny(code, Span::new(at, at + 1), what, expected);
        }
        Some(self.row())
    }

    /// Whether the record is no longer than a row may be: one that was cut off is.
    fn is_whole(&self) -> bool {
        offset(self.reader.position()) - self.record.position().map_or(0, offset) <= LONGEST_ROW
    }

    /// The record that was read.
    fn row(&self) -> Node<'_> {
        let start = start_of(self.record.position(), self.begin, self.text);
        let end = (self.begin + offset(self.reader.position())).min(self.text.len());
        let whole = Span::new(start, start + 1);
        let mut map = Vec::with_capacity(self.columns.len());
        // Quotes and doubled quotes shift bytes: each value is looked for from where the
        // values before it end at the earliest, and no further than the row goes.
        let mut from = start;
        for (name, written) in self.columns.iter().zip(&self.record) {
            let value = written.trim();
            if !value.is_empty() {
                let rest = self.text.get(from..end).unwrap_or_default();
                // Nearly every value stands there right away, and a search is dear.
                let found = if rest.starts_with(value) { Some(from) } else { rest.find(value).map(|at| from + at) };
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
fn start_of(position: Option<&csv::Position>, begin: usize, text: &str) -> usize {
    let at = (begin + position.map_or(0, offset)).min(text.len());
    at + text[at..].bytes().take_while(|byte| *byte == b'\n').count()
}

/// The first line from an offset on that is not empty, and where it starts.
fn line_from(text: &str, from: usize) -> (usize, &str) {
    let rest = text[from..].trim_start_matches([' ', '\n']);
    (text.len() - rest.len(), rest.lines().next().unwrap_or_default())
}

/// Whether a line tells a spreadsheet what separates the columns: `sep=;`.
fn is_separator(line: &str) -> bool {
    matches!(line.trim().trim_matches('"').as_bytes(), [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', b',' | b';'])
}

/// The names in a header.
fn names_of(header: &str, delimiter: u8) -> Result<csv::StringRecord, csv::Error> {
    csv::ReaderBuilder::new().delimiter(delimiter).from_reader(header.as_bytes()).headers().cloned()
}

/// The column that a name stands for, if it is known and not there yet.
fn column(
    name: &str,
    at: Span,
    before: &[&'static str],
    known: &[&'static str],
    problems: &Problems,
) -> Option<&'static str> {
    let name = name.trim().to_lowercase().replace(' ', "_");
    match known.iter().find(|column| **column == name) {
        Some(column) if before.contains(column) => {
            problems.deny(Code::TwiceKey, at, format!("the column `{name}` stands twice"), "each column once")
        }
        Some(column) => Some(column),
        None => {
            let what = match name.is_empty() {
                true => "a column has no name".to_owned(),
                false => format!("`{name}` is not a column of a sowings table"),
            };
            let help = did_you_mean(&name, known.iter().copied())
                .or_else(|| Some(format!("it may have: {}", known.join(", "))));
            problems.refuse(Problem::new(Code::UnknownKey, at, what, "a known column").with_help(help))
        }
    }
}

fn syntax(text: &str, begin: usize, error: &csv::Error) -> Problem {
    let at = start_of(error.position(), begin, text);
    let what = format!("cannot be read as CSV: {error}");
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
    fn the_header_is_the_first_line_that_is_not_empty() {
        let (text, found) = ("\n \ncrop;tray\n\nkale;50-cell\n", problems());
        let mut table = CsvTable::new(text, KNOWN, &found).unwrap();
        let row = table.next_row(&found).unwrap();
        let tray = row.get("tray").unwrap();
        assert_eq!((tray.text(), &text[tray.at.start..tray.at.end]), (Some("50-cell"), "50-cell"));
        assert!(table.next_row(&found).is_none() && found.is_empty());
    }

    /// The first fault, and how far the table was read.
    fn refused(text: &str) -> (String, usize) {
        let found = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: text.to_owned() }));
        let mut read = 0;
        if let Some(mut table) = CsvTable::new(text, KNOWN, &found) {
            while table.next_row(&found).is_some() {}
            read = text.len() - table.reader.get_ref().get_ref().len();
        }
        let rejected = found.settle(None::<()>).unwrap_err();
        assert!(rejected.problems().count() <= MOST_COLUMNS);
        (rejected.problems().next().unwrap().1.what.clone(), read)
    }

    #[test]
    fn a_table_is_read_within_its_bounds() {
        let columns = |count: usize| format!("crop{}\n", ",x".repeat(count - 1));
        assert_eq!(refused(&columns(MOST_COLUMNS)).0, "`x` is not a column of a sowings table");
        for header in [columns(MOST_COLUMNS + 1), columns(1 << 20), format!("{}\n", "a".repeat(1 << 20))] {
            assert_eq!(refused(&header).0, "this header is too long");
        }
        assert_eq!(refused("\"crop,tray\nkale,50-cell\n").0, "the header does not end");
        // A row that never ends is read as far as a row may go.
        for row in [",".repeat(1 << 20), format!("\"{}", "a\n".repeat(1 << 20)), "\",\n\",".repeat(1 << 18)] {
            let (what, read) = refused(&format!("crop,tray\n{row}"));
            assert_eq!(what, "this row does not end: is a quote left open?");
            assert!(read <= 2 * LONGEST_ROW, "{read}");
        }
        // With more behind it or not, each as long as it may be, a row is taken; a line end goes with each.
        for rows in [1, 3] {
            let of = |length: usize| format!("crop\n{}", format!("{}\n", "a".repeat(length)).repeat(rows));
            let (text, found) = (of(LONGEST_ROW - 2), problems());
            let mut table = CsvTable::new(&text, KNOWN, &found).unwrap();
            let read = (0..=rows).take_while(|_| table.next_row(&found).is_some()).count();
            assert_eq!((read, found.len()), (rows, 0));
            assert_eq!(refused(&of(LONGEST_ROW + 2)).0, "this row does not end: is a quote left open?");
        }
        // No row behind any number of empty lines is lost in silence.
        let (what, _) = refused(&format!("crop\na\n{}b\n", "\n".repeat(2 * LONGEST_ROW)));
        assert_eq!(what, "this row does not end: is a quote left open?");
        let (what, _) = refused(&format!("crop\n{}", "a\n".repeat(MOST_ROWS + 1)));
        assert_eq!(what, "this is the row after the first 200000");
    }

    #[test]
    fn what_spreadsheets_add_is_passed_over() {
        for (text, last) in [
            ("sep=;\ncrop;tray\nkale;50-cell\n", None),
            ("\"SEP=,\"\n\ncrop,tray,,,\nkale,50-cell,,,\nkale,50-cell\nkale,50-cell, ,\n", None),
            ("crop,tray,,\nkale,50-cell,,9\n", Some("this row has 4 values, the header 2")),
            ("crop,,tray\n", Some("a column has no name")),
        ] {
            let found = problems();
            let mut table = CsvTable::new(text, KNOWN, &found);
            while let Some(row) = table.as_mut().and_then(|table| table.next_row(&found)) {
                let tray = row.get("tray").unwrap();
                assert_eq!((tray.text(), &text[tray.at.start..tray.at.end]), (Some("50-cell"), "50-cell"));
            }
            let fault = found.settle(None::<()>).err();
            assert_eq!(fault.as_ref().and_then(|f| f.problems().next()).map(|(_, f)| f.what.as_str()), last, "{text}");
        }
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
