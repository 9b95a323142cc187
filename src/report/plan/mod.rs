//! The plan as a bench sheet, and for scripts and spreadsheets.

mod batch;
mod calendar;
mod coir;
mod covering;
mod explain;
mod load;
mod mixing;
mod remarks;
mod sowing;
mod view;

pub(super) use calendar::entry_json;
use remarks::omission;
pub(super) use view::loose_json;

use super::buying;
use super::document::{Block, Document};
use super::remark::{Remark, texts};
use super::words::{and, count, given, needed};
use super::{Format, Part, Report, Style, csv, json};
use crate::plan::{Plan, SowingPlan};
use crate::units::{UnitSystem, in_litres, plain};
use crate::week::{RecipeId, Sowing, Week};
use serde_json::Value;
use std::io::{self, Write};

/// What a salt does stands with the cautions, not on top.
const SALT_SAFETY: &str = "salt-safety";

/// A plan and the week it is for.
pub struct PlanReport<'p> {
    /// The plan.
    pub plan: &'p Plan,
    /// The week.
    pub week: &'p Week,
}

impl Report for PlanReport<'_> {
    fn document(&self, style: Style) -> Document {
        let (mut document, units) = (Document::new(&self.plan.title), style.units);
        let wants = |part| style.only.hold(part);
        if wants(Part::Summary) {
            document.paragraph(self.summary(units));
            document.list(texts(&self.foremost(units)));
        }
        if wants(Part::Beforehand) {
            self.beforehand(&mut document, units);
        }
        if wants(Part::Bench) {
            self.bench(&mut document, units);
        }
        if wants(Part::Sowing) {
            self.sowing(&mut document, units);
        }
        if wants(Part::Afterwards) {
            self.afterwards(&mut document);
        }
        if wants(Part::Notes) {
            // Where the days are not known, the tables have none.
            let notes = self.all_notes(units).into_iter().filter(|note| note.code != "emergence-unknown");
            section(&mut document, "Notes", notes.map(|note| note.text).collect());
        }
        if wants(Part::Care) {
            section(&mut document, "Take care", texts(&self.care(units)));
        }
        if style.explain {
            self.explain(&mut document, units);
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

    /// What to buy and to prepare before the day.
    fn beforehand(&self, document: &mut Document, units: UnitSystem) {
        let mut part = Document::default();
        let mut items = match self.plan.purchases.has_stock {
            true => buying::section(&mut part, &self.plan.purchases, units),
            false => Vec::new(),
        };
        items.extend(self.coir(units));
        part.list(items);
        part.blocks.extend(self.course().map(Block::Picture));
        self.preparing(&mut part);
        if !part.blocks.is_empty() {
            document.heading("Beforehand");
            document.blocks.append(&mut part.blocks);
        }
    }

    /// The warnings that stand on top.
    fn foremost(&self, units: UnitSystem) -> Vec<Remark> {
        let mut warned = self.warnings(units);
        warned.retain(|warning| warning.code != SALT_SAFETY);
        warned
    }

    /// The cautions that were not given above, those of the salts first.
    fn care(&self, units: UnitSystem) -> Vec<Remark> {
        let warned = self.warnings(units);
        let is_lifting = warned.iter().any(|warning| warning.code == "heavy-tub");
        // Of dust the kit speaks.
        let is_said = |code: &str| is_lifting && code == "lifting" || matches!(code, "dust" | "perlite-dust");
        let cautions = self.cautions(units).into_iter().filter(|caution| !is_said(caution.code));
        warned.into_iter().filter(|warning| warning.code == SALT_SAFETY).chain(cautions).collect()
    }

    /// The notes, those on the purchases and what no batch gets among them.
    fn all_notes(&self, units: UnitSystem) -> Vec<Remark> {
        let common = self.plan.mixes.batches.iter().take(1).flat_map(|batch| &batch.left_out);
        let common = common
            .filter(|left_out| self.is_common(left_out))
            .map(|left_out| Remark::new("none-of-it", omission(left_out, units)));
        let bought = self.plan.purchases.has_stock.then(|| buying::notes(&self.plan.purchases, units));
        self.notes(units).into_iter().chain(bought.into_iter().flatten()).chain(common).collect()
    }

    fn recipe_of(&self, recipe: RecipeId) -> &str {
        &self.week.recipe(recipe).name
    }

    /// The number of a batch; those of both its halves in a trial of coir.
    pub(super) fn batch_number(&self, index: usize) -> String {
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
            words += &format!(" ({} times the {} of the cells)", plain(factor, 2), given(cells, units));
        }
        words + "."
    }
}
