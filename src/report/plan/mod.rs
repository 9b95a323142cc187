//! The plan as a bench sheet, and for scripts and spreadsheets.

mod batch;
mod calendar;
mod coir;
mod covering;
mod explain;
mod load;
mod mixing;
mod remarks;
mod trays;
mod view;

use super::buying;
use super::document::Document;
use super::remark::texts;
use super::words::{and, count, given, needed};
use super::{Format, Report, Style, csv, json};
use crate::plan::{Plan, SowingPlan};
use crate::units::{UnitSystem, in_litres, plain};
use crate::week::{RecipeId, Sowing, Week};
use serde_json::Value;
use std::io::{self, Write};

/// A plan and the week it is for.
pub struct PlanReport<'p> {
    /// The plan.
    pub plan: &'p Plan,
    /// The week.
    pub week: &'p Week,
}

impl Report for PlanReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(&self.plan.title);
        document.paragraph(self.summary(style.units));
        section(&mut document, "Watch out", texts(&self.warnings(style.units)));
        self.trays(&mut document, style.units);
        self.mixing(&mut document, style.units);
        for index in 0..self.plan.mixes.batches.len() {
            self.batch(&mut document, index, style.units);
        }
        if self.plan.purchases.has_stock {
            buying::section(&mut document, &self.plan.purchases, style.units);
        }
        self.coir(&mut document, style.units);
        self.calendar(&mut document);
        section(&mut document, "Notes", texts(&self.notes(style.units)));
        section(&mut document, "Take care", texts(&self.cautions(style.units)));
        if style.explain {
            self.explain(&mut document, style.units);
        }
        document
    }

    fn value(&self) -> Value {
        serde_json::to_value(self).unwrap_or_default()
    }

    /// Written straight, not by way of a value: of sowings there may be very many.
    fn write_json(&self, out: &mut dyn Write) -> io::Result<()> {
        json::write(self, out)
    }

    fn records(&self) -> Vec<Vec<String>> {
        self.rows().collect()
    }

    fn write_csv(&self, out: &mut dyn Write) -> io::Result<()> {
        csv::write(self.rows(), out)
    }
}

/// A list under its heading, unless there is nothing in it.
fn section(document: &mut Document, heading: &str, items: Vec<String>) {
    if !items.is_empty() {
        document.heading(heading);
        document.list(items);
    }
}

impl PlanReport<'_> {
    /// Whether a report of this form compares what the week would cost with other ingredients.
    pub fn compares(week: &Week, format: Format) -> bool {
        match format {
            Format::Json => true,
            Format::Csv => false,
            // Without a stock file there is no price.
            Format::Text | Format::Markdown | Format::Html => week.stock.is_some(),
        }
    }

    /// Each sowing of the week, and what was worked out for it.
    fn sowings(&self) -> impl Iterator<Item = (&Sowing, &SowingPlan)> + Clone {
        self.plan.mixes.layout.of(self.week)
    }

    fn recipe_of(&self, recipe: RecipeId) -> &str {
        &self.week.recipe(recipe).name
    }

    /// The number of a batch; those of both its halves in a trial of coir.
    fn batch_number(&self, index: usize) -> String {
        match self.plan.mixes.batches[index].half {
            Some(_) => format!("{} and {}", index + 1, index + 2),
            None => (index + 1).to_string(),
        }
    }

    /// What to do, in a sentence or two.
    fn summary(&self, units: UnitSystem) -> String {
        let totals = &self.plan.mixes.totals;
        let mut words = String::new();
        if let Some(moment) = &self.plan.mix_on {
            words += &format!("Mix ready by {}. ", moment.local.strftime("%a %-d %b %Y, %H:%M"));
        }
        let fill = [(totals.trays, "tray", "trays"), (totals.pots, "pot", "pots")];
        let fill = and(fill.iter().filter(|(all, ..)| *all > 0).map(|(all, one, many)| count(*all, one, many)));
        if !fill.is_empty() {
            words += &format!("Fill {fill}. ");
        }
        if totals.from_stock > in_litres(0.0) {
            words += &format!("Use the {} of mix left over from earlier. ", needed(totals.from_stock, units));
        }
        if !self.plan.mixes.are_mixed() {
            return words + "Nothing is mixed.";
        }
        words += &format!("Make {} of mix", needed(totals.mix - totals.from_stock, units));
        let batches = self.plan.mixes.batches.iter().filter(|batch| batch.is_mixed()).count();
        if batches > 1 {
            words += &format!(" in {batches} batches");
        }
        words += &format!(", from {} of loose ingredients", needed(totals.loose(), units));
        if let Some((factor, cells)) = totals.factor().zip(totals.cells) {
            let trays = &self.plan.mixes.layout.trays;
            let pressed = trays.iter().filter(|(tray, _)| tray.compression.is_some()).count();
            let filling = match pressed {
                0 => "settling",
                all if all == trays.len() => "pressing",
                _ => "pressing, settling",
            };
            words += &format!(
                ": {} times the {} of the cells, for {filling}, spill and what blending loses",
                plain(factor, 2),
                given(cells, units)
            );
        }
        words + "."
    }
}
