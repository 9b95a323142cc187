//! How far what is at hand goes.

use super::buying::{self, stuff};
use super::document::{Document, Table};
use super::mixed::used_for;
use super::words::{and, capital, count};
use super::{Report, Style, json};
use crate::catalogue::{Handle, Ingredient};
use crate::plan::{Filling, RecipeFilling, Tried, WeekFilling, WeekLine};
use crate::stock::{Short, UsedFor};
use crate::units::{Litres, Quantity, UnitSystem, plain};
use crate::week::Sowing;
use serde_json::{Value, json};

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

fn litres(amount: Option<Quantity>) -> Option<f64> {
    amount.and_then(Quantity::litres)
}

fn grams(amount: Option<Quantity>) -> Option<f64> {
    amount.and_then(Quantity::grams)
}

impl FillReport<'_> {
    fn filling(&self) -> &Filling {
        &self.found.tried[0].filling
    }

    fn crop(&self) -> Option<&str> {
        self.sowing.crop.as_ref().map(|crop| crop.name.as_str())
    }

    /// The choice counted and the best of the others.
    fn shown(&self) -> &[Tried] {
        &self.found.tried[..self.found.tried.len().min(1 + MOST_OTHERS)]
    }

    fn first_out(&self) -> Vec<&str> {
        self.filling().runs_out_first().map(|line| line.ingredient.name.as_str()).collect()
    }

    fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.sowing.crop.is_none() {
            notes.push(
                "No crop is named: the mix is that of a host of mycorrhiza, without the recipe's changes for crops."
                    .to_owned(),
            );
        }
        if let [counted, others @ ..] = &self.found.tried[..]
            && !others.is_empty()
        {
            let best = self.shown().iter().skip(1);
            let best: Vec<String> =
                best.map(|other| format!("{} would fill {}", and(&other.with), other.filling.trays)).collect();
            let rest = match others.len() - best.len() {
                0 => String::new(),
                _ => format!("; no other of the {} combinations tried fills more", self.found.tried.len()),
            };
            notes.push(format!(
                "Counted with {}: it fills {}; {}{rest}.",
                and(&counted.with),
                counted.filling.trays,
                best.join("; ")
            ));
        }
        if !self.found.every {
            notes.push(
                "There are more combinations of choices than could be tried: another may fill more. Say which to \
                 use with `--use`."
                    .to_owned(),
            );
        }
        notes.extend(
            self.filling()
                .lines
                .iter()
                .filter(|line| line.unlike && line.have.is_some_and(|have| have.size() < line.each.size()))
                .map(|line| buying::unlike(&line.ingredient, line.each)),
        );
        let uncounted: Vec<&str> = self
            .filling()
            .lines
            .iter()
            .filter(|line| line.have.is_none())
            .map(|line| line.ingredient.name.as_str())
            .collect();
        if !uncounted.is_empty() {
            notes.push(format!(
                "Nothing was said of {}, so it is not counted: say it with `--have {}=\"...\"`.",
                and(&uncounted),
                uncounted[0]
            ));
        }
        notes
    }

    fn summary(&self, units: UnitSystem) -> String {
        let tray = &self.sowing.tray;
        let thing = if tray.pot { ("pot", "pots") } else { ("tray", "trays") };
        let filled = count(self.filling().trays, thing.0, thing.1);
        let first = self.first_out();
        let more: Vec<String> = self
            .filling()
            .lines
            .iter()
            .filter_map(|line| {
                let lacks = line.one_more_lacks.filter(|lacks| lacks.size() > 0.0)?;
                Some(format!("{} more {}", stuff(lacks, Litres::Needed, units), line.ingredient.name.as_str()))
            })
            .collect();
        let runs = if first.len() == 1 { "runs" } else { "run" };
        let end =
            if first.is_empty() { String::new() } else { format!(" {} {runs} out first.", capital(&and(&first))) };
        let more = if more.is_empty() { String::new() } else { format!(" One more would need {}.", and(&more)) };
        format!("What is at hand fills {filled} of `{}`.{end}{more}", tray.name)
    }
}

impl Report for FillReport<'_> {
    fn document(&self, style: Style) -> Document {
        let crop = self.crop().map(|crop| format!(" for {crop}")).unwrap_or_default();
        let mut document = Document::new(format!("{}{crop}", self.recipe));
        document.paragraph(self.summary(style.units));
        let mut table = Table::new(&["ingredient", ">a tray takes", ">at hand", ">enough for", ">left"]);
        for line in &self.filling().lines {
            let shown = |amount: Option<Quantity>| amount.map(|amount| stuff(amount, Litres::Given, style.units));
            table.row([
                line.ingredient.name.clone(),
                stuff(line.each, Litres::Needed, style.units),
                shown(line.have).unwrap_or_else(|| "not counted".to_owned()),
                line.fills.map(|fills| fills.to_string()).unwrap_or_default(),
                shown(line.left).unwrap_or_default(),
            ]);
        }
        document.table(table);
        document.list(self.notes());
        document
    }

    fn json(&self) -> String {
        let lines: Vec<Value> = self
            .filling()
            .lines
            .iter()
            .map(|line| {
                json!({
                    "ingredient": line.ingredient.name.as_str(),
                    "per_tray_l": line.each.litres(),
                    "per_tray_g": line.each.grams(),
                    "counted": line.have.is_some(),
                    "have_l": litres(line.have),
                    "have_g": grams(line.have),
                    "enough_for": line.fills,
                    "left_l": litres(line.left),
                    "left_g": grams(line.left),
                    "one_more_lacks_l": litres(line.one_more_lacks),
                    "one_more_lacks_g": grams(line.one_more_lacks),
                })
            })
            .collect();
        json::render(&json!({
            "format": "trayful-fill/1",
            "recipe": self.recipe,
            "crop": self.crop(),
            "tray": self.sowing.tray.name,
            "trays": self.filling().trays,
            "runs_out_first": self.first_out(),
            "ingredients": lines,
            "choices": self
                .shown()
                .iter()
                .map(|tried| json!({"use": tried.with, "trays": tried.filling.trays}))
                .collect::<Vec<_>>(),
            "notes": self.notes(),
        }))
    }

    fn records(&self) -> Vec<Vec<String>> {
        let header = ["ingredient", "per_tray_l", "per_tray_g", "have_l", "have_g", "enough_for", "trays"];
        let mut records = vec![header.map(str::to_owned).to_vec()];
        let number = |amount: Option<f64>| amount.map(|amount| plain(amount, 6)).unwrap_or_default();
        for line in &self.filling().lines {
            records.push(vec![
                line.ingredient.name.clone(),
                number(line.each.litres()),
                number(line.each.grams()),
                number(litres(line.have)),
                number(grams(line.have)),
                line.fills.map(|fills| fills.to_string()).unwrap_or_default(),
                self.filling().trays.to_string(),
            ]);
        }
        records
    }
}

/// Whether what is at hand is enough for a week.
pub struct WeekFillReport<'f> {
    /// What was worked out.
    pub filling: &'f WeekFilling,
    /// The week's name.
    pub title: &'f str,
}

impl WeekFillReport<'_> {
    fn short_of(&self, ingredient: &Handle<Ingredient>, like: Quantity) -> Option<Quantity> {
        let mut short = self.filling.short.iter();
        let found = short.find(|short| short.ingredient == *ingredient && short.need.is_like(like));
        found.map(Short::lacking)
    }

    fn summary(&self, units: UnitSystem) -> String {
        let filling = self.filling;
        if filling.short.is_empty() {
            return "What is at hand is enough for the whole week.".to_owned();
        }
        if !filling.is_enough_for_batches() {
            return format!("Not enough is at hand. Lacking: {}.", self.shortage(&filling.short, units));
        }
        let beside = filling.steps.iter().filter(|(_, short)| !short.is_empty());
        let beside: Vec<String> = beside
            .map(|(purpose, short)| format!("{} ({} lacking)", used_for(purpose), self.shortage(short, units)))
            .collect();
        format!("What is at hand is enough for the batches, but not for {}.", and(&beside))
    }

    fn notes(&self) -> Vec<String> {
        let lines = self.filling.lines.iter();
        lines
            .filter(|line| line.unlike && self.short_of(&line.ingredient, line.need).is_some())
            .map(|line| buying::unlike(&line.ingredient, line.need))
            .collect()
    }

    fn shortage(&self, short: &[Short], units: UnitSystem) -> String {
        let words: Vec<String> = short
            .iter()
            .map(|short| {
                format!("{} {}", stuff(short.lacking(), Litres::Needed, units), short.ingredient.name.as_str())
            })
            .collect();
        and(&words)
    }
}

impl Report for WeekFillReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(self.title);
        let units = style.units;
        document.paragraph(self.summary(units));
        let mut table = Table::new(&["ingredient", ">needed", ">at hand", ">lacking", ">left"]);
        for WeekLine { ingredient: id, need, have, .. } in &self.filling.lines {
            let short = self.short_of(id, *need);
            let left = have.of_size((have.size() - need.size()).max(0.0));
            table.row([
                id.name.clone(),
                stuff(*need, Litres::Needed, units),
                stuff(*have, Litres::Given, units),
                short.map(|short| stuff(short, Litres::Needed, units)).unwrap_or_default(),
                if short.is_none() { stuff(left, Litres::Given, units) } else { String::new() },
            ]);
        }
        document.table(table.without_empty_columns());
        let mut steps = Table::new(&["in this order", "enough"]);
        for (purpose, short) in &self.filling.steps {
            let words = match short.is_empty() {
                true => "yes".to_owned(),
                false => format!("no: {} lacking", self.shortage(short, units)),
            };
            steps.row([used_for(purpose).to_owned(), words]);
        }
        document.table(steps);
        if self.filling.steps.iter().any(|(_, short)| !short.is_empty()) {
            document.paragraph(
                "What cannot be made takes nothing, and what is at hand stays for the next: these rows need not sum to \
                 what is lacking in all.",
            );
        }
        document.list(self.notes());
        document
    }

    fn json(&self) -> String {
        let lines: Vec<Value> = self
            .filling
            .lines
            .iter()
            .map(|WeekLine { ingredient: id, need, have, .. }| {
                let short = self.short_of(id, *need).unwrap_or(need.of_size(0.0));
                json!({
                    "ingredient": id.name.as_str(),
                    "need_l": need.litres(),
                    "need_g": need.grams(),
                    "on_hand_l": have.litres(),
                    "on_hand_g": have.grams(),
                    "lacking_l": short.litres(),
                    "lacking_g": short.grams(),
                })
            })
            .collect();
        let step = |(purpose, short): &(UsedFor, Vec<Short>)| {
            let lacking: Vec<Value> = short.iter().map(|short| short_json(short)).collect();
            json!({"name": used_for(purpose), "enough": short.is_empty(), "lacking": lacking})
        };
        let is_batch = |(purpose, _): &&(UsedFor, Vec<Short>)| matches!(purpose, UsedFor::Batch(_));
        let (batches, beside): (Vec<_>, Vec<_>) = self.filling.steps.iter().partition(is_batch);
        json::render(&json!({
            "format": "trayful-fill/1",
            "week": self.title,
            "enough": self.filling.short.is_empty(),
            "enough_for_batches": self.filling.is_enough_for_batches(),
            "ingredients": lines,
            "batches": batches.into_iter().map(step).collect::<Vec<_>>(),
            "beside": beside.into_iter().map(step).collect::<Vec<_>>(),
            "notes": self.notes(),
        }))
    }

    fn records(&self) -> Vec<Vec<String>> {
        let header = ["ingredient", "need_l", "need_g", "on_hand_l", "on_hand_g", "lacking_l", "lacking_g"];
        let mut records = vec![header.map(str::to_owned).to_vec()];
        let number = |amount: Option<f64>| amount.map(|amount| plain(amount, 6)).unwrap_or_default();
        for WeekLine { ingredient: id, need, have, .. } in &self.filling.lines {
            let short = self.short_of(id, *need);
            records.push(vec![
                id.name.clone(),
                number(need.litres()),
                number(need.grams()),
                number(have.litres()),
                number(have.grams()),
                number(litres(short)),
                number(grams(short)),
            ]);
        }
        records
    }
}

/// A shortage for scripts.
pub(super) fn short_json(short: &Short) -> Value {
    json!({
        "ingredient": short.ingredient.name,
        "need_l": short.need.litres(),
        "need_g": short.need.grams(),
        "on_hand_l": short.have.litres(),
        "on_hand_g": short.have.grams(),
        "lacking_l": short.lacking().litres(),
        "lacking_g": short.lacking().grams(),
    })
}
