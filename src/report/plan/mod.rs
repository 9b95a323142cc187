//! The plan as a bench sheet, and for scripts and spreadsheets.

mod batch;
mod calendar;
mod coir;
mod covering;
mod explain;
mod findings;
mod load;
mod mixing;
mod remarks;
mod sowing;
mod trial;
mod view;
mod warnings;

pub(super) use calendar::{entry_json, feed as first_feed};
pub(super) use remarks::note;
pub(super) use view::loose_json;

use super::buying;
use super::course;
use super::document::Document;
use super::remark::{Remark, texts};
use super::words::{and, count, given, needed};
use super::{Format, Part, Report, Style, csv, json};
use crate::plan::{FilledTrays, Plan, SowingPlan};
use crate::units::{UnitSystem, in_litres, plain};
use crate::week::{RecipeId, Sowing, Week};
use remarks::is_for_afterwards;
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::{self, Write};

/// What each batch fills.
type Filled = BTreeMap<usize, Vec<FilledTrays>>;

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
        document.is_page = style.format == Format::Html;
        let wants = |part| style.only.hold(part);
        let (filled, common) = (self.plan.mixes.layout.filled_trays(self.week), self.common(units));
        let (foremost, mut care) = self.warned(units);
        if wants(Part::Summary) {
            document.paragraph(self.summary(units));
            document.list(texts(&foremost));
        }
        if wants(Part::Beforehand) {
            self.beforehand(&mut document, units);
        }
        if wants(Part::Bench) {
            self.bench(&mut document, &filled, &common, units);
        }
        if wants(Part::Sowing) {
            self.sowing(&mut document, &filled, units);
        }
        if wants(Part::Afterwards) {
            self.afterwards(&mut document, units);
        }
        if wants(Part::Notes) {
            section(&mut document, "Notes", self.all_notes(common, units));
        }
        if wants(Part::Care) {
            let lifts = foremost.iter().any(|warning| warning.code == "heavy-tub");
            // Of dust the kit speaks.
            let is_said = |code: &str| lifts && code == "lifting" || matches!(code, "dust" | "perlite-dust");
            care.extend(self.cautions(units).into_iter().filter(|caution| !is_said(caution.code)));
            section(&mut document, "Take care", texts(&care));
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
        let mut part = Document { is_page: document.is_page, ..Document::default() };
        let mut items = match self.plan.purchases.has_stock {
            true => buying::section(&mut part, &self.plan.purchases, units),
            false => Vec::new(),
        };
        if !self.plan.purchases.has_stock && !self.week.from_command && !self.plan.purchases.lines.is_empty() {
            buying::needed_in_all(&mut part, &self.plan.purchases, units);
        }
        items.extend(self.coir(units));
        part.list(items);
        part.picture(|| self.plan.soak.as_ref().and_then(course::picture));
        self.preparing(&mut part, units);
        if !part.blocks.is_empty() {
            document.heading("Beforehand");
            document.blocks.append(&mut part.blocks);
        }
    }

    /// The warnings that stand on top, and what salts and poisonous plants do, which stands with the cautions.
    fn warned(&self, units: UnitSystem) -> (Vec<Remark>, Vec<Remark>) {
        self.warnings(units).into_iter().partition(|warning| !matches!(warning.code, "salt-safety" | "poisonous"))
    }

    /// The notes that stand nowhere else, those on the purchases and what no batch gets.
    fn all_notes(&self, common: Vec<String>, units: UnitSystem) -> Vec<String> {
        let notes = self.plan.notes.iter().filter(|found| !is_for_afterwards(found)).map(|found| note(found, units));
        let bought = self.plan.purchases.has_stock.then(|| buying::notes(&self.plan.purchases, units));
        let findings = texts(&self.noted_findings(units).collect::<Vec<_>>());
        notes.chain(findings).chain(texts(&bought.unwrap_or_default())).chain(common).collect()
    }

    fn recipe_of(&self, recipe: RecipeId) -> &str {
        &self.week.recipe(recipe).name
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
