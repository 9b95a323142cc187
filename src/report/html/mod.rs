//! A page to print for the bench. Only this file and that of the labels name `maud`.

mod picture;

use super::document::{Block, Document, Table};
use crate::printable::{ISOLATE, with_code};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("sheet.css");
/// Ticks stay on the device; the page is whole without them.
const SCRIPT: &str = include_str!("ticks.js");

/// Writes a document as one page with its style inside.
pub fn render(document: &Document) -> String {
    let has = |is: fn(&Block) -> bool| document.blocks.iter().any(is);
    let is_ticked = has(|block| matches!(block, Block::Step(_) | Block::Tasks(_)));
    let content = html! {
        @if has(|block| matches!(block, Block::Picture(_))) { (picture::patterns()) }
        h1 { (words(&document.title)) }
        @for section in sections(document) {
            section class=[kind(section)] { @for block in section { (draw(block)) } }
        }
        @if is_ticked { script { (PreEscaped(SCRIPT)) } }
    };
    page(&document.title, STYLE, &content)
}

/// A page that needs nothing beside itself.
pub fn page(title: &str, style: &str, content: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { main { (content) } }
        }
    };
    // A line for each piece, so that two pages can be compared.
    let mut page = page.into_string();
    for end in ["</section>", "</tr>", "</li>", "</p>", "</h1>", "</h2>", "</h3>", "</svg>"] {
        page = page.replace(end, &format!("{end}\n"));
    }
    page.push('\n');
    page
}

/// Blocks from one heading to the next, kept together in print where they fit.
fn sections(document: &Document) -> impl Iterator<Item = &[Block]> {
    let goes_on = |_: &Block, next: &Block| !matches!(next, Block::Heading(_) | Block::Subheading(_) | Block::Step(_));
    document.blocks.chunk_by(goes_on)
}

/// What is kept on one side in print, and what takes little room in two columns: lists alone.
fn kind(section: &[Block]) -> Option<&'static str> {
    match section {
        [Block::Step(_), ..] => Some("step"),
        [Block::Heading(_), Block::List(_)] => Some("last"),
        _ => None,
    }
}

/// Tables of more columns are laid out one below the other on a phone.
const NARROW: usize = 5;

/// A text with its code.
fn words(text: &str) -> Markup {
    html! {
        @for (piece, is_code) in with_code(text) { @if is_code { code { (piece) } } @else { (apart(piece)) } }
    }
}

/// A text with what was set apart in it.
pub fn apart(text: &str) -> Markup {
    html! {
        @for (index, piece) in text.split(ISOLATE).enumerate() {
            @if index % 2 == 1 { bdi { (piece) } } @else { (piece) }
        }
    }
}

fn draw(block: &Block) -> Markup {
    match block {
        Block::Heading(text) => html! { h2 { (words(text)) } },
        Block::Subheading(text) => html! { h3 { (words(text)) } },
        Block::Step(text) => html! { h3 { (tick(text)) (words(text)) } },
        Block::Paragraph(text) => html! { p { (words(text)) } },
        Block::List(items) => html! { ul { @for item in items { li { (words(item)) } } } },
        Block::Tasks(items) => html! { ul.tasks { @for item in items { li { (tick(item)) (words(item)) } } } },
        Block::Table(table) => draw_table(table),
        Block::Picture(picture) => picture::draw(picture),
    }
}

/// A box to tick, known by what it stands for.
fn tick(of: &str) -> Markup {
    html! { input type="checkbox" aria-label=(format!("done: {of}")) data-of=(of); " " }
}

fn draw_table(table: &Table) -> Markup {
    let class = |index: usize| table.columns[index].is_number.then_some("number");
    html! {
        table class=[table.sum.then_some("sum").or((table.columns.len() > NARROW).then_some("wide"))] {
            thead { tr { @for (index, column) in table.columns.iter().enumerate() {
                th scope="col" class=[class(index)] { (column.name) }
            } } }
            tbody { @for row in &table.rows {
                tr { @for (index, cell) in row.iter().enumerate() {
                    td class=[class(index)] data-column=(table.columns[index].name) {
                        (words(cell))
                    }
                } }
            } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_sections_are_whole() {
        let mut document = Document::new("<b>week</b>");
        document.paragraph("first");
        document.heading("Trays");
        document.list(vec!["write `a < b` or `c`".to_owned(), "one ` alone".to_owned()]);
        document.paragraph("a & b");
        document.subheading("Batch");
        let page = render(&document);
        assert!(page.contains("<li>write <code>a &lt; b</code> or <code>c</code></li>"));
        assert!(page.contains("<li>one ` alone</li>"));
        assert!(page.contains("&lt;b&gt;week&lt;/b&gt;") && page.contains("a &amp; b"));
        assert_eq!(page.matches("<section>").count(), 3);
        assert!(page.starts_with("<!DOCTYPE html>"));
    }
}
