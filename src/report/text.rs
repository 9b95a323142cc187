//! Text for a terminal of 80 columns. The only file that names `prettytable`.

use super::document::{Block, Document, Table};
use crate::wrap::{wrap, wrapped};
use prettytable::format::{Alignment, FormatBuilder, LinePosition, LineSeparator};
use prettytable::{Cell, Row};
use unicode_width::UnicodeWidthStr;

const COLUMNS: usize = 80;
const GAP: usize = 2;
/// What belongs to a step stands so far in.
const STEP: usize = 2;
/// A column is not wrapped below this; one of words is where the numbers leave no more.
const NARROWEST: usize = 12;
const NARROWEST_WORDS: usize = 5;

/// Writes a document as plain text, headings bold if `color`.
pub fn render(document: &Document, color: bool) -> String {
    let mut out = String::new();
    let bold = |text: &str| if color { format!("\x1b[1m{text}\x1b[0m") } else { text.to_owned() };
    if !document.title.is_empty() {
        out.push_str(&bold(&document.title));
        out.push_str(&format!("\n{}\n", "=".repeat(document.title.width().min(COLUMNS))));
    }
    let (mut after_heading, mut in_step, mut after_table) = (true, false, false);
    for block in document.blocks.iter().filter(|block| !matches!(block, Block::Picture(_))) {
        let begins = matches!(block, Block::Heading(_) | Block::Subheading(_) | Block::Step(_));
        let tight = match block {
            Block::Heading(_) => false,
            Block::Step(_) => after_heading || in_step,
            _ if begins => after_heading,
            Block::List(_) | Block::Tasks(_) => after_heading || in_step || after_table,
            _ => after_heading || in_step,
        };
        if !tight && !out.is_empty() {
            out.push('\n');
        }
        after_heading = matches!(block, Block::Heading(_) | Block::Subheading(_));
        in_step = matches!(block, Block::Step(_)) || in_step && !begins;
        after_table = matches!(block, Block::Table(_) | Block::List(_));
        let indent = if in_step { STEP } else { 0 };
        match block {
            Block::Heading(text) => lines(&mut out, vec![bold(&wrapped(&text.to_uppercase(), COLUMNS))]),
            Block::Subheading(text) | Block::Step(text) => {
                lines(&mut out, vec![bold(&wrapped(text, COLUMNS))]);
            }
            Block::Paragraph(text) => lines(&mut out, indented(wrap(text, COLUMNS - indent, ""), indent)),
            Block::Tasks(items) => {
                items.iter().for_each(|item| lines(&mut out, wrap(&format!("[ ] {item}"), COLUMNS, "    ")));
            }
            Block::List(items) => items.iter().for_each(|item| {
                lines(&mut out, indented(wrap(&format!("* {item}"), COLUMNS - indent, "  "), indent));
            }),
            Block::Table(table) => lines(&mut out, indented(draw(table, COLUMNS - indent), indent)),
            Block::Picture(_) => {}
        }
    }
    out
}

/// Lines that stand under a step.
fn indented(mut lines: Vec<String>, by: usize) -> Vec<String> {
    if by > 0 {
        lines.iter_mut().for_each(|line| line.insert_str(0, &" ".repeat(by)));
    }
    lines
}

fn lines(out: &mut String, lines: Vec<String>) {
    for line in lines {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

fn draw(table: &Table, columns: usize) -> Vec<String> {
    let widths = fitting_widths(table, columns);
    let mut drawn = prettytable::Table::new();
    // Two spaces between columns, a rule under the header.
    let format = FormatBuilder::new()
        .padding(0, GAP)
        .separator(LinePosition::Title, LineSeparator::new('-', '-', '-', '-'))
        .build();
    drawn.set_format(format);
    let cell = |text: &str, index: usize| {
        let align = if table.columns[index].is_number { Alignment::RIGHT } else { Alignment::LEFT };
        Cell::new_align(&wrapped(text, widths[index]), align)
    };
    drawn.set_titles(Row::new(table.columns.iter().enumerate().map(|(i, column)| cell(column.name, i)).collect()));
    for row in &table.rows {
        drawn.add_row(Row::new(row.iter().enumerate().map(|(index, text)| cell(text, index)).collect()));
    }
    let mut text: Vec<String> = drawn.to_string().lines().map(|line| line.trim_end().to_owned()).collect();
    let rule = widths.iter().map(|width| width + GAP).sum::<usize>() - GAP;
    for line in &mut text {
        if line.len() > rule && line.bytes().all(|byte| byte == b'-') {
            line.truncate(rule);
        }
    }
    if table.sum && table.rows.len() > 1 {
        // The rule above a sum, before its (one-line) row.
        let at = text.len() - 1;
        text.insert(at, "-".repeat(rule));
    }
    text
}

/// The widths of the columns, the widest narrowed until the table fits into so many.
fn fitting_widths(table: &Table, most: usize) -> Vec<usize> {
    let cells = |index: usize| table.rows.iter().map(move |row| row[index].width());
    let columns = table.columns.iter().enumerate();
    let mut widths: Vec<usize> =
        columns.map(|(index, column)| cells(index).fold(column.name.width(), usize::max).min(COLUMNS)).collect();
    let gaps = GAP * widths.len().saturating_sub(1);
    for (narrowest, numbers_too) in [(NARROWEST, true), (NARROWEST_WORDS, false)] {
        while widths.iter().sum::<usize>() + gaps > most {
            let columns = table.columns.iter().zip(&mut widths).filter(|(column, _)| numbers_too || !column.is_number);
            let Some(widest) = columns.map(|(_, width)| width).max().filter(|width| **width > narrowest) else { break };
            *widest -= 1;
        }
    }
    widths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_tables_stay_within_eighty_columns() {
        let mut document = Document::new("Title");
        document.paragraph("word ".repeat(60));
        document.list(vec!["x".repeat(200), "short".to_owned()]);
        let mut table = Table::new(&["name", ">litres"]);
        table.row(["a long name ".repeat(20), "12.3".to_owned()]);
        table.row(["total".to_owned(), "12.3".to_owned()]);
        table.sum = true;
        document.table(table);
        let text = render(&document, false);
        assert!(text.lines().all(|line| line.width() <= COLUMNS), "{text}");
        assert!(text.lines().all(|line| line == line.trim_end()));
    }

    #[test]
    fn a_table_has_its_rules_and_sides() {
        let mut table = Table::new(&["measure", ">litres"]);
        table.row(["peat".to_owned(), "3".to_owned()]);
        table.row(["perlite".to_owned(), "10.5".to_owned()]);
        table.row(["together".to_owned(), "13.5".to_owned()]);
        table.sum = true;
        assert_eq!(
            draw(&table, COLUMNS).join("\n"),
            "measure   litres\n----------------\npeat           3\nperlite     10.5\n----------------\ntogether    13.5"
        );
    }

    #[test]
    fn the_widest_column_is_narrowed_and_no_other() {
        let widths =
            |cells: [&str; 2]| fitting_widths(&Table::of(["name", "note"], [cells.map(str::to_owned)]), COLUMNS);
        assert_eq!(widths(["peat", "x"]), [4, 4]);
        assert_eq!(widths(["peat", &"x".repeat(100)]), [4, COLUMNS - GAP - 4]);
        assert_eq!(widths([&"x".repeat(100), &"y".repeat(100)]), [39, 39]);
        // Numbers that leave no more to the words.
        let columns = ["name", ">1", ">2", ">3", ">4", ">5", ">6"];
        let cells = ["x".repeat(40)].into_iter().chain((1..=6).map(|_| "1".repeat(10)));
        let mut table = Table::new(&columns);
        table.row(cells);
        assert_eq!(fitting_widths(&table, COLUMNS), [8, 10, 10, 10, 10, 10, 10]);
    }
}
