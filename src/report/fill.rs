//! How far what is at hand goes.

use super::buying::unlike;
use super::document::{Document, Table};
use super::remark::texts;
use super::words::{NO_CROP, and, capital, count};
use super::{Remark, Report, Style, csv, json};
use crate::plan::{Filling, Note, RecipeFilling, Tried, WeekFilling};
use crate::stock::Balance;
use crate::units::{Litres, Quantity, UnitSystem};
use crate::week::Sowing;
use serde_json::{Value, json};
use std::borrow::Borrow;

/// The most choices that are shown beside the one counted.
const MOST_OTHERS: usize = 3;

/// Trays that a recipe's mix fills.
pub struct FillReport<'f> {
    /// What was worked out.
    pub found: &'f RecipeFilling,
    /// The recipe.
    pub recipe: &'f str,
    /// The tray, and the crop if one was named.
    pub sowing: &'f Sowing,
}

impl FillReport<'_> {
    fn filling(&self) -> &Filling {
        &self.found.tried[0].filling
    }

    /// The choice counted and the best of the others.
    fn shown(&self) -> &[Tried] {
        &self.found.tried[..self.found.tried.len().min(1 + MOST_OTHERS)]
    }

    fn first_out(&self) -> Vec<&str> {
        self.filling().runs_out_first().map(|line| line.ingredient.name.as_str()).collect()
    }

    /// The choice that is counted, where there are others, and what those would fill.
    fn counted_with(&self) -> Option<Remark> {
        let [counted, others @ ..] = self.shown() else { return None };
        if others.is_empty() {
            return None;
        }
        let each = others.iter().map(|other| format!("{} would fill {}", and(&other.with), other.filling.trays));
        let each: Vec<String> = each.collect();
        let all = self.found.tried.len();
        let rest = if all == self.shown().len() {
            String::new()
        } else {
            format!("; no other of the {all} combinations tried fills more")
        };
        let (with, fills) = (and(&counted.with), counted.filling.trays);
        let text = format!("Counted with {with}: it fills {fills}; {}{rest}.", each.join("; "));
        Some(Remark::new("choice-counted", text))
    }

    fn notes(&self) -> Vec<Remark> {
        let lines = &self.filling().lines;
        let mut notes = Vec::new();
        if self.sowing.crop.is_none() {
            notes.push(Remark::new(Note::NoCrop.code(), NO_CROP));
        }
        notes.extend(self.counted_with());
        if !self.found.every {
            notes.push(Remark::new(
                "choices-untried",
                "There are more combinations of choices than could be tried: another may fill more. Say which to \
                 use with `--use`.",
            ));
        }
        let otherwise =
            lines.iter().filter(|line| line.is_unlike && line.have.is_some_and(|have| have.size() < line.each.size()));
        notes.extend(otherwise.map(|line| unlike(&line.ingredient, line.each)));
        let uncounted = lines.iter().filter(|line| line.have.is_none());
        let uncounted: Vec<&str> = uncounted.map(|line| line.ingredient.name.as_str()).collect();
        if let [first, ..] = &uncounted[..] {
            let all = and(&uncounted);
            let text =
                format!("Nothing was said of {all}, so it is not counted: say it with `--have {first}=\"...\"`.");
            notes.push(Remark::new("not-counted", text));
        }
        notes
    }

    fn summary(&self, units: UnitSystem) -> String {
        let (filling, tray) = (self.filling(), &self.sowing.tray);
        let (one, many) = if tray.pot { ("pot", "pots") } else { ("tray", "trays") };
        let first = self.first_out();
        let runs = if first.len() == 1 { "runs" } else { "run" };
        let end =
            if first.is_empty() { String::new() } else { format!(" {} {runs} out first.", capital(&and(&first))) };
        let lacking = filling.lines.iter().filter_map(|line| {
            let lacks = line.one_more_lacks.filter(|lacks| lacks.size() > 0.0)?;
            Some(format!("{} more {}", lacks.shown(Litres::Needed, units), line.ingredient.name))
        });
        let more: Vec<String> = lacking.collect();
        let more = if more.is_empty() { String::new() } else { format!(" One more would need {}.", and(&more)) };
        format!("What is at hand fills {} of `{}`.{end}{more}", count(filling.trays, one, many), tray.name)
    }

    fn view(&self) -> Value {
        let choice = |tried: &Tried| json!({"use": tried.with, "trays": tried.filling.trays});
        json!({
            "format": "trayful-fill/1",
            "recipe": self.recipe,
            "crop": self.sowing.crop,
            "tray": self.sowing.tray.name,
            "trays": self.filling().trays,
            "runs_out_first": self.first_out(),
            "ingredients": self.filling().lines,
            "choices": self.shown().iter().map(choice).collect::<Vec<_>>(),
            "notes": self.notes(),
        })
    }
}

impl Report for FillReport<'_> {
    fn document(&self, style: Style) -> Document {
        let crop = self.sowing.crop.as_ref().map(|crop| format!(" for {}", crop.name)).unwrap_or_default();
        let mut document = Document::new(format!("{}{crop}", self.recipe));
        document.paragraph(self.summary(style.units));
        let mut table = Table::new(&["ingredient", ">a tray takes", ">at hand", ">enough for", ">left"]);
        for line in &self.filling().lines {
            let shown = |amount: Option<Quantity>| amount.map(|amount| amount.shown(Litres::Given, style.units));
            table.row([
                line.ingredient.name.clone(),
                line.each.shown(Litres::Needed, style.units),
                shown(line.have).unwrap_or_else(|| "not counted".to_owned()),
                line.fills.map(|fills| fills.to_string()).unwrap_or_default(),
                shown(line.left).unwrap_or_default(),
            ]);
        }
        document.table(table);
        document.list(texts(&self.notes()));
        document
    }

    fn json(&self) -> String {
        json::render(&self.view())
    }

    fn records(&self) -> Vec<Vec<String>> {
        let columns = ["ingredient", "per_tray_l", "per_tray_g", "have_l", "have_g", "enough_for", "trays"];
        csv::table(&self.view(), "ingredients", &columns)
    }
}

/// Whether what is at hand is enough for a week.
pub struct WeekFillReport<'f> {
    /// What was worked out.
    pub filling: &'f WeekFilling,
    /// The week's name.
    pub title: &'f str,
}

/// What is lacking, in words.
fn shortage(short: &[impl Borrow<Balance>], units: UnitSystem) -> String {
    let words = short
        .iter()
        .map(Borrow::borrow)
        .map(|short: &Balance| format!("{} {}", short.lacking.shown(Litres::Needed, units), short.ingredient.name));
    and(words)
}

impl WeekFillReport<'_> {
    fn summary(&self, units: UnitSystem) -> String {
        let short = self.filling.short();
        if short.is_empty() {
            return "What is at hand is enough for the whole week.".to_owned();
        }
        if !self.filling.is_enough_for_batches() {
            return format!("Not enough is at hand. Lacking: {}.", shortage(&short, units));
        }
        let beside = self.filling.steps.iter().filter(|step| !step.short.is_empty());
        let beside: Vec<String> = beside
            .map(|step| format!("{} ({} lacking)", step.purpose.as_str(), shortage(&step.short, units)))
            .collect();
        format!("What is at hand is enough for the batches, but not for {}.", and(&beside))
    }

    fn notes(&self) -> Vec<Remark> {
        let otherwise = self.filling.lines.iter().filter(|line| line.is_unlike && line.is_short());
        otherwise.map(|line| unlike(&line.ingredient, line.need)).collect()
    }

    fn view(&self) -> Value {
        let (batches, beside): (Vec<_>, Vec<_>) = self.filling.steps.iter().partition(|step| step.is_batch());
        json!({
            "format": "trayful-fill/1",
            "week": self.title,
            "enough": self.filling.short().is_empty(),
            "enough_for_batches": self.filling.is_enough_for_batches(),
            "ingredients": self.filling.lines,
            "batches": batches,
            "beside": beside,
            "notes": self.notes(),
        })
    }
}

impl Report for WeekFillReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(self.title);
        let units = style.units;
        document.paragraph(self.summary(units));
        let mut table = Table::new(&["ingredient", ">needed", ">at hand", ">lacking", ">left"]);
        for line in &self.filling.lines {
            let (lacking, left) = if line.is_short() {
                (line.lacking.shown(Litres::Needed, units), String::new())
            } else {
                let left = line.on_hand.of_size((line.on_hand.size() - line.need.size()).max(0.0));
                (String::new(), left.shown(Litres::Given, units))
            };
            let (need, on_hand) = (line.need.shown(Litres::Needed, units), line.on_hand.shown(Litres::Given, units));
            table.row([line.ingredient.name.clone(), need, on_hand, lacking, left]);
        }
        document.table(table.without_empty_columns());
        let mut steps = Table::new(&["in this order", "enough"]);
        for step in &self.filling.steps {
            let words = match step.short.is_empty() {
                true => "yes".to_owned(),
                false => format!("no: {} lacking", shortage(&step.short, units)),
            };
            steps.row([step.purpose.as_str().to_owned(), words]);
        }
        document.table(steps);
        if self.filling.steps.iter().any(|step| !step.short.is_empty()) {
            document.paragraph(
                "What cannot be made takes nothing, and what is at hand stays for the next: these rows need not sum to \
                 what is lacking in all.",
            );
        }
        document.list(texts(&self.notes()));
        document
    }

    fn json(&self) -> String {
        json::render(&self.view())
    }

    fn records(&self) -> Vec<Vec<String>> {
        let columns = ["ingredient", "need_l", "need_g", "on_hand_l", "on_hand_g", "lacking_l", "lacking_g"];
        let mut records = csv::table(&self.view(), "ingredients", &columns);
        // Where there is enough, nothing is written of what is lacking.
        let lines = self.filling.lines.iter().zip(&mut records[1..]).filter(|(line, _)| !line.is_short());
        lines.for_each(|(_, record)| record[5..].fill(String::new()));
        records
    }
}
