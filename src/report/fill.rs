//! How far what is at hand goes.

use super::buying::{balances, unlike};
use super::document::{Document, Table};
use super::remark::{on, remark, texts};
use super::words::{NO_CROP, and, batch_name, capital, count, tray_name};
use super::{Remark, Report, Style, csv};
use crate::plan::{Buy, FillLine, FillStep, Filling, Note, PurchaseLine, RecipeFilling, Tried, WeekFilling};
use crate::season::{SeasonPlan, SownDay};
use crate::stock::Balance;
use crate::units::{Measure, Needed, Rounding, UnitSystem};
use crate::week::Sowing;
use serde_json::{Value, json};
use std::borrow::Borrow;

/// The most choices that are shown in addition to the one counted.
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
        let (with, fills, all) = (and(&counted.with), counted.filling.trays, self.found.tried.len());
        let others = others.iter().map(|other| format!("{} would fill {}", and(&other.with), other.filling.trays));
        let rest = (all > self.shown().len()).then(|| format!("no other of the {all} combinations tried fills more"));
        let rest: Vec<String> = others.chain(rest).collect();
        (all > 1).then(|| remark!("choice-counted", "Counted with {with}: it fills {fills}; {}.", rest.join("; ")))
    }

    fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let lines = &self.filling().lines;
        let no_crop = self.sowing.crop.is_none().then(|| Remark::new(Note::NoCrop.code(), NO_CROP));
        let untried = (!self.found.every).then(|| {
            remark!(
                "choices-untried",
                "There are more combinations of choices than could be tried: another may fill more. Say which to use with \
                 `--use`."
            )
        });
        let few = |line: &&FillLine| line.is_unlike && line.have.is_some_and(|have| have.size() < line.each.size());
        let otherwise = lines.iter().filter(few).map(|line| unlike(&line.ingredient, line.each, units));
        let uncounted: Vec<_> = lines.iter().filter(|line| line.have.is_none()).map(|line| &line.ingredient).collect();
        let uncounted = on("not-counted", &uncounted, |names| {
            format!(
                "Nothing was said of {names}, so it is not counted: say it with `--have {}=\"...\"`.",
                uncounted[0].name
            )
        });
        no_crop.into_iter().chain(self.counted_with()).chain(untried).chain(otherwise).chain(uncounted).collect()
    }

    fn summary(&self, units: UnitSystem) -> String {
        let (filling, tray) = (self.filling(), &self.sowing.tray);
        let (one, many) = if tray.pot { ("pot", "pots") } else { ("tray", "trays") };
        let first = self.first_out();
        let end = match &first[..] {
            [] => String::new(),
            [one] => format!(" {} runs out first.", capital(one)),
            several => format!(" {} run out first.", capital(&and(several))),
        };
        let lacking = filling.lines.iter().filter_map(|line| {
            let lacks = line.one_more_lacks.filter(|lacks| lacks.size() > 0.0)?;
            Some(format!("{} more {}", lacks.shown(Rounding::Up, units), line.ingredient.name))
        });
        let more: Vec<String> = lacking.collect();
        let more = if more.is_empty() { String::new() } else { format!(" One more would need {}.", and(&more)) };
        format!("What is at hand fills {} of `{}`.{end}{more}", count(filling.trays, one, many), tray_name(tray, units))
    }
}

impl Report for FillReport<'_> {
    fn document(&self, style: Style) -> Document {
        let crop = self.sowing.crop.as_ref().map(|crop| format!(" for {}", crop.in_full())).unwrap_or_default();
        let mut document = Document::new(format!("{}{crop}", self.recipe));
        document.paragraph(self.summary(style.units));
        let row = |line: &FillLine| {
            let amounts = Needed::beside(line.each, line.have.as_slice(), style.units);
            [
                line.ingredient.name.clone(),
                amounts.up(line.each),
                line.have.map_or_else(|| "not counted".to_owned(), |have| amounts.down(have)),
                line.fills.map(|fills| fills.to_string()).unwrap_or_default(),
                line.left.map(|left| amounts.down(left)).unwrap_or_default(),
            ]
        };
        let columns = ["ingredient", ">a tray takes", ">at hand", ">enough for", ">left"];
        document.table(Table::of(columns, self.filling().lines.iter().map(row)));
        document.list(texts(&self.notes(style.units)));
        document
    }

    fn value(&self) -> Value {
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
            "notes": self.notes(UnitSystem::Metric),
        })
    }

    fn records(&self) -> Vec<Vec<String>> {
        csv::table(&self.value(), "ingredients", "ingredient per_tray_l per_tray_g have_l have_g enough_for trays")
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
    let short = short.iter().map(Borrow::borrow);
    and(short.map(|short| format!("{} {}", short.lacking.shown(Rounding::Up, units), short.ingredient.name)))
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
        let extras = self.filling.steps.iter().filter(|step| !step.short.is_empty());
        let extras = extras.map(|step| {
            format!("{} ({} lacking)", batch_name(step.purpose.as_str(), units), shortage(&step.short, units))
        });
        format!("What is at hand is enough for the batches, but not for {}.", and(extras))
    }

    fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let otherwise = self.filling.lines.iter().filter(|line| line.is_unlike && line.is_short());
        otherwise.map(|line| unlike(&line.ingredient, line.need, units)).collect()
    }
}

impl Report for WeekFillReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(self.title);
        let units = style.units;
        document.paragraph(self.summary(units));
        document.table(balances(&self.filling.lines, units));
        let step = |step: &FillStep| {
            let short = (!step.short.is_empty()).then(|| format!("no: {} lacking", shortage(&step.short, units)));
            [batch_name(step.purpose.as_str(), units), short.unwrap_or_else(|| "yes".to_owned())]
        };
        document.table(Table::of(["in this order", "enough"], self.filling.steps.iter().map(step)));
        if self.filling.steps.iter().any(|step| !step.short.is_empty()) {
            document.paragraph(
                "What cannot be made takes nothing, and what is at hand stays for the next: these rows need not sum to \
                 what is lacking in all.",
            );
        }
        document.list(texts(&self.notes(style.units)));
        document
    }

    fn value(&self) -> Value {
        let (batches, extras): (Vec<_>, Vec<_>) = self.filling.steps.iter().partition(|step| step.is_batch());
        json!({
            "format": "trayful-fill/1",
            "week": self.title,
            "enough": self.filling.short().is_empty(),
            "enough_for_batches": self.filling.is_enough_for_batches(),
            "ingredients": self.filling.lines,
            "batches": batches,
            "other_uses": extras,
            "notes": self.notes(UnitSystem::Metric),
        })
    }

    fn records(&self) -> Vec<Vec<String>> {
        let columns = "ingredient need_l need_g on_hand_l on_hand_g lacking_l lacking_g";
        let mut records = csv::table(&self.value(), "ingredients", columns);
        // Where there is enough, nothing is written of what is lacking.
        let lines = self.filling.lines.iter().zip(&mut records[1..]).filter(|(line, _)| !line.is_short());
        lines.for_each(|(_, record)| record[5..].fill(String::new()));
        records
    }
}

/// Until which day of a season what is at hand lasts.
pub struct SeasonFillReport<'f> {
    /// The season.
    pub plan: &'f SeasonPlan,
}

impl SeasonFillReport<'_> {
    /// The days that are not done, up to the first for which something is lacking, and that.
    fn days(&self) -> (Vec<&SownDay>, Option<&SownDay>) {
        let open = || self.plan.days.iter().filter(|day| !day.is_done);
        let enough = open().take_while(|day| day.lacks.is_empty()).collect();
        (enough, open().find(|day| !day.lacks.is_empty()))
    }

    /// What that day needs beyond what is at hand.
    fn short(&self) -> Vec<Balance> {
        let lines = self.days().1.into_iter().flat_map(|day| &day.lacks).cloned();
        let balance = |PurchaseLine { ingredient, need, on_hand, lacking, buy, .. }| {
            let is_unlike = buy == Buy::LooseUnlike;
            Balance { ingredient, need, on_hand, lacking, is_unlike }
        };
        lines.map(balance).collect()
    }

    fn summary(&self, units: UnitSystem) -> String {
        let day = |day: &SownDay| day.on.strftime("%a %-d %b %Y").to_string();
        let (enough, short) = self.days();
        let lasts = match (enough.last(), short) {
            (None, None) => return "Nothing is left to sow.".to_owned(),
            (Some(_), None) => return "What is at hand is enough for all days that are left.".to_owned(),
            (None, _) => "What is at hand is not enough for the next day.".to_owned(),
            (Some(last), _) => format!("What is at hand lasts until {}.", day(last)),
        };
        let next = short.map(day).unwrap_or_default();
        format!("{lasts} Lacking on {next}: {}.", shortage(&self.short(), units))
    }
}

impl Report for SeasonFillReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(&self.plan.name);
        document.paragraph(self.summary(style.units));
        document.table(balances(&self.short(), style.units));
        document
    }

    fn value(&self) -> Value {
        let on = |day: &SownDay| day.on.to_string();
        let (enough, short) = self.days();
        json!({
            "format": "trayful-fill/1",
            "season": self.plan.name,
            "enough": short.is_none(),
            "lasts_until": enough.last().map(|day| on(day)),
            "short_on": short.map(on),
            "ingredients": self.short(),
        })
    }

    fn records(&self) -> Vec<Vec<String>> {
        csv::table(&self.value(), "ingredients", "short_on ingredient need_l need_g lacking_l lacking_g")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::stock::UsedFor;
    use crate::units::{Quantity, in_litres};

    #[test]
    fn what_is_lacking_is_told_and_what_is_enough_is_left_empty() {
        let catalogue = Catalogue::built_in();
        let balance = |name, on_hand, lacking| Balance {
            ingredient: catalogue.ingredients.find(name).unwrap(),
            need: Quantity::Volume(in_litres(5.0)),
            on_hand: Quantity::Volume(in_litres(on_hand)),
            lacking: Quantity::Volume(in_litres(lacking)),
            is_unlike: false,
        };
        let lines = vec![balance("perlite", 3.0, 2.0), balance("peat", 6.0, 0.0)];
        let step = FillStep { purpose: UsedFor::Batch("all".to_owned()), short: lines[..1].to_vec() };
        let filling = WeekFilling { lines, steps: vec![step] };
        let report = WeekFillReport { filling: &filling, title: "week" };
        assert_eq!(report.summary(UnitSystem::Metric), "Not enough is at hand. Lacking: 2 L perlite.");
        let records = report.records();
        assert_eq!(records[1], ["perlite", "5", "", "3", "", "2", ""]);
        assert_eq!(records[2], ["peat", "5", "", "6", "", "", ""]);
        let rows = balances(&filling.lines, UnitSystem::Metric).rows;
        assert_eq!(rows, [["perlite", "5 L", "3 L", "2 L", ""], ["peat", "5 L", "6 L", "", "1 L"]]);
    }
}
