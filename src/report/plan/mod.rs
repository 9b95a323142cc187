//! The plan as a bench sheet, as JSON, and as records.

mod explain;
mod json;
mod measures;
mod records;
mod sheet;
mod timing;

pub(super) use measures::{by_weight_and_measure, dose_words, printed_parts, printed_shares, quartered, spoons};

use crate::plan::Plan;
use crate::report::buying;
use crate::report::document::Document;
use crate::report::remark::texts;
use crate::report::words::{caution_words, note, warning};
use crate::report::{Report, Style};
use crate::week::Week;

/// A plan with what its names stand for.
pub struct PlanReport<'p> {
    /// The plan.
    pub plan: &'p Plan,
    /// The sowings it plans; none for a plain volume.
    pub week: Option<&'p Week>,
}

impl Report for PlanReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(&self.plan.title);
        document.paragraph(self.summary(style.units));
        let warnings = self.plan.warnings.iter().map(|found| warning(found, self.plan, style.units));
        let warnings: Vec<String> = warnings.chain(texts(&buying::cautions(&self.plan.purchases))).collect();
        if !warnings.is_empty() {
            document.heading("Watch out");
            document.list(warnings);
        }
        self.trays(&mut document);
        self.mixing(&mut document, style.units);
        for (index, batch) in self.plan.mixes.batches.iter().enumerate() {
            self.batch(&mut document, index, batch, style.units);
        }
        if let Some(purchases) = Some(&self.plan.purchases).filter(|purchases| purchases.has_stock) {
            buying::section(&mut document, purchases, style.units);
        }
        self.soak(&mut document, style.units);
        self.calendar(&mut document);
        let notes: Vec<String> = self.plan.notes.iter().map(|found| note(found, style.units)).collect();
        if !notes.is_empty() {
            document.heading("Notes");
            document.list(notes);
        }
        document.heading("Take care");
        document.list(caution_words(&self.plan.cautions));
        if style.explain {
            self.cells(&mut document);
            self.chain(&mut document);
            self.packing(&mut document);
            self.sources(&mut document);
        }
        document
    }

    fn json(&self) -> String {
        self.as_json()
    }

    fn records(&self) -> Vec<Vec<String>> {
        self.as_records()
    }
}
