//! Markdown, with the tables of the common extension.

use super::document::{Block, Document, Table};
use crate::printable::with_code;
use std::fmt::Write;

/// Writes a document as Markdown.
pub fn render(document: &Document) -> String {
    let mut out = format!("# {}\n", escape(&document.title));
    for block in document.blocks.iter().filter(|block| !matches!(block, Block::Picture(_))) {
        out.push('\n');
        match block {
            Block::Heading(text) => out.push_str(&format!("## {}\n", escape(text))),
            Block::Subheading(text) | Block::Step(text) => out.push_str(&format!("### {}\n", escape(text))),
            Block::Paragraph(text) => out.push_str(&format!("{}\n", escape(text))),
            Block::Tasks(items) => items.iter().for_each(|item| out.push_str(&format!("- [ ] {}\n", escape(item)))),
            Block::List(items) => items.iter().for_each(|item| out.push_str(&format!("- {}\n", escape(item)))),
            Block::Table(table) => draw(&mut out, table),
            Block::Picture(_) => {}
        }
    }
    out
}

fn draw(out: &mut String, table: &Table) {
    let mut line = |cells: Vec<String>| {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    };
    line(table.columns.iter().map(|column| escape(column.name)).collect());
    line(table.columns.iter().map(|column| if column.is_number { "---:" } else { "---" }.to_owned()).collect());
    table.rows.iter().for_each(|row| line(row.iter().map(|cell| escape(cell)).collect()));
}

/// A text in which only our code is markup; a bar would end a cell even within that.
fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for (piece, is_code) in with_code(text) {
        let tick = match is_code {
            false => "",
            true if piece.is_empty() || piece.contains('|') => "\\`",
            true => "`",
        };
        escaped.push_str(tick);
        for c in piece.chars() {
            if tick != "`" && matches!(c, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '#') {
                escaped.push('\\');
            }
            escaped.push(if c == '\n' { ' ' } else { c });
        }
        escaped.push_str(tick);
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_cannot_break_their_table() {
        let mut document = Document::new("A *bold* title");
        let mut table = Table::new(&["name", ">litres"]);
        table.row(["a | b\nc".to_owned(), "1".to_owned()]);
        document.table(table);
        assert_eq!(render(&document), "# A \\*bold\\* title\n\n| name | litres |\n| --- | ---: |\n| a \\| b c | 1 |\n");
        assert_eq!(escape("_a_ `b_c` ` *"), "\\_a\\_ `b_c` \\` \\*");
        assert_eq!(escape("`a|b` ``"), "\\`a\\|b\\` \\`\\`");
    }
}
