//! Reports: a neutral document, and what writes it. Nothing is computed here.

mod buying;
mod catalogue;
mod csv;
mod document;
mod feed;
mod fill;
mod html;
mod json;
mod markdown;
mod mixed;
mod plan;
mod remark;
mod soak;
mod text;
mod words;

pub use catalogue::{KINDS, Listing, Several, listing, show};
pub use document::{Block, Column, Document, Table};
pub use feed::FeedReport;
pub use fill::{FillReport, WeekFillReport};
pub use mixed::{MixedReport, Outcome};
pub use plan::PlanReport;
pub use remark::Remark;
pub use soak::SoakReport;

use crate::printable::made_printable;
use crate::units::UnitSystem;
use serde_json::Value;

/// The forms a report is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// For a terminal of 80 columns.
    #[default]
    Text,
    /// Markdown with tables.
    Markdown,
    /// For scripts.
    Json,
    /// For a spreadsheet.
    Csv,
    /// A page to print.
    Html,
}

/// How a report is written.
#[derive(Clone, Copy, Debug, Default)]
pub struct Style {
    /// The form.
    pub format: Format,
    /// The units of text, Markdown and HTML.
    pub units: UnitSystem,
    /// Bold headings on a terminal.
    pub color: bool,
    /// The chain of volumes and the sources at the end.
    pub explain: bool,
}

/// A result that can be reported in every form.
pub trait Report {
    /// For people.
    fn document(&self, style: Style) -> Document;
    /// For scripts.
    fn value(&self) -> Value;
    /// The same as text, over several lines.
    fn json(&self) -> String {
        json::render(&self.value())
    }
    /// For spreadsheets: the header, then the rows.
    fn records(&self) -> Vec<Vec<String>>;
}

/// Writes a report in the wanted form, ending with a line end.
pub fn render(report: &dyn Report, style: Style) -> String {
    let document = || report.document(style).printable();
    match style.format {
        Format::Text => text::render(&document(), style.color),
        Format::Markdown => markdown::render(&document()),
        Format::Json => report.json(),
        Format::Csv => made_printable(csv::render(&report.records())),
        Format::Html => html::render(&document()),
    }
}
