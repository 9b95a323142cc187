//! The plan as a bench sheet, as JSON, and as records.

mod explain;
mod json;
mod measures;
mod records;
mod sheet;
mod timing;

pub(super) use measures::{by_weight_and_measure, dose_words, printed_parts, printed_shares, quartered, spoons};

use crate::catalogue::{Catalogue, IngredientId};
use crate::plan::{Plan, Purchases, SowingPlan};
use crate::report::buying;
use crate::report::document::Document;
use crate::report::words::{caution_words, note, warning};
use crate::report::{Report, Style};
use crate::week::{Sowing, Week};

/// A plan with what its names stand for.
pub struct PlanReport<'p> {
    /// The plan.
    pub plan: &'p Plan,
    /// The sowings it plans; none for a plain volume.
    pub week: Option<&'p Week>,
    /// The tables of names.
    pub catalogue: &'p Catalogue,
}

impl Report for PlanReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(&self.plan.title);
        document.paragraph(self.summary(style.units));
        let warnings = self.plan.warnings.iter().map(|found| warning(found, self.plan, self.catalogue, style.units));
        let warnings: Vec<String> = warnings.chain(self.buying(buying::cautions)).collect();
        if !warnings.is_empty() {
            document.heading("Watch out");
            document.list(warnings);
        }
        self.trays(&mut document);
        self.mixing(&mut document, style.units);
        for (index, batch) in self.plan.batches.iter().enumerate() {
            self.batch(&mut document, index, batch, style.units);
        }
        if let Some(purchases) = self.plan.purchases.as_ref().filter(|purchases| purchases.has_stock) {
            buying::section(&mut document, purchases, self.catalogue, style.units);
        }
        self.soak(&mut document, style.units);
        self.calendar(&mut document);
        let notes: Vec<String> = self.plan.notes.iter().map(|found| note(found, self.catalogue, style.units)).collect();
        if !notes.is_empty() {
            document.heading("Notes");
            document.list(notes);
        }
        document.heading("Take care");
        document.list(caution_words(&self.plan.cautions, self.catalogue));
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

impl PlanReport<'_> {
    pub(in crate::report) fn name(&self, id: IngredientId) -> &str {
        &self.catalogue.ingredient(id).name
    }

    /// Words about the purchases.
    pub(super) fn buying(&self, words: fn(&Purchases, &Catalogue) -> Vec<String>) -> Vec<String> {
        self.plan.purchases.as_ref().map(|found| words(found, self.catalogue)).unwrap_or_default()
    }

    pub(super) fn sowing(&self, plan: &SowingPlan) -> Option<&Sowing> {
        self.week.and_then(|week| week.sowings.get(plan.sowing))
    }

    pub(super) fn crop_name(&self, plan: &SowingPlan) -> String {
        let Some(sowing) = self.sowing(plan) else { return String::new() };
        let crop = sowing.crop.map_or("any host", |id| &self.catalogue.crop_of(id).name);
        match &sowing.variety {
            Some(variety) => format!("{crop} '{variety}'"),
            None => crop.to_owned(),
        }
    }

    pub(super) fn tray_name(&self, plan: &SowingPlan) -> &str {
        self.sowing(plan).map_or("", |sowing| &self.catalogue.tray(sowing.tray).name)
    }
}
