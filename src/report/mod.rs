//! Reports: a neutral document, and what writes it. Nothing is computed here.

mod behaviour;
mod buying;
mod catalogue;
mod course;
mod csv;
mod document;
mod feed;
mod fill;
mod html;
mod ics;
mod json;
mod labels;
mod markdown;
mod mixed;
mod picture;
mod plan;
mod remark;
mod season;
mod soak;
mod swap;
mod text;
mod words;

pub use behaviour::{BehaviourReport, MixInTrays};
pub use catalogue::{KINDS, Listing, Several, listing, show};
pub use document::{Block, Column, Document, Table};
pub use feed::FeedReport;
pub use fill::{FillReport, SeasonFillReport, WeekFillReport};
pub use ics::{Calendar, Event, When};
pub use labels::{Label, Labels, MOST_LABELS};
pub use mixed::{MixedReport, Outcome};
pub use plan::PlanReport;
pub use remark::Remark;
pub use season::SeasonReport;
pub use soak::SoakReport;
pub use swap::SwapReport;
pub(crate) use words::{COIR_UNSAID, keys};

use crate::units::UnitSystem;
use serde_json::Value;
use std::io::{self, Write};

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

impl Format {
    /// Whether it is read by people, part by part.
    pub const fn is_a_sheet(self) -> bool {
        matches!(self, Self::Text | Self::Markdown | Self::Html)
    }
}

/// The parts of the sheet of a plan, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What it comes to, and what to watch out for.
    Summary,
    /// What to buy and to prepare.
    Beforehand,
    /// The mixes.
    Bench,
    /// The trays.
    Sowing,
    /// What follows.
    Afterwards,
    /// What to know.
    Notes,
    /// Cautions.
    Care,
}

/// Which parts of a sheet are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parts(u8);

impl Default for Parts {
    fn default() -> Self {
        Self(u8::MAX)
    }
}

impl Parts {
    /// Some of them; all where none is named.
    pub fn of(parts: &[Part]) -> Self {
        let some = parts.iter().fold(0, |some, part| some | 1 << *part as u8);
        if parts.is_empty() { Self::default() } else { Self(some) }
    }

    /// Whether a part is wanted.
    pub const fn hold(self, part: Part) -> bool {
        self.0 & 1 << part as u8 != 0
    }
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
    /// The parts of a plan's sheet.
    pub only: Parts,
}

/// A result that can be reported in every form.
pub trait Report {
    /// For people.
    fn document(&self, style: Style) -> Document;
    /// For scripts.
    fn value(&self) -> Value;
    /// The same as text, over several lines.
    ///
    /// # Errors
    /// Where it cannot be written.
    fn write_json(&self, out: &mut dyn Write) -> io::Result<()> {
        json::write(&self.value(), out)
    }
    /// For spreadsheets: the header, then the rows.
    fn records(&self) -> Vec<Vec<String>>;
    /// The same as lines.
    ///
    /// # Errors
    /// Where they cannot be written.
    fn write_csv(&self, out: &mut dyn Write) -> io::Result<()> {
        csv::write(self.records(), out)
    }
}

/// Writes a report in the wanted form, ending with a line end.
///
/// # Errors
/// Where it cannot be written.
pub fn write(report: &dyn Report, style: Style, out: &mut dyn Write) -> io::Result<()> {
    let document = || report.document(style).printable();
    let text = match style.format {
        Format::Json => return report.write_json(out),
        Format::Csv => return report.write_csv(out),
        Format::Text => text::render(&document(), style.color),
        Format::Markdown => markdown::render(&document()),
        Format::Html => html::render(&document()),
    };
    out.write_all(text.as_bytes())
}

/// The same as a text.
pub fn render(report: &dyn Report, style: Style) -> String {
    let mut text = Vec::new();
    // Writing to memory cannot fail.
    let _ = write(report, style, &mut text);
    String::from_utf8(text).unwrap_or_default()
}
