//! What was taken out of the stock, or why nothing was.

use super::buying;
use super::document::{Document, Table};
use super::remark::texts;
use super::{Remark, Report, Style, csv, json};
use crate::plan::Purchases;
use crate::stock::{Balance, LogEntry, LogRow};
use crate::units::mass::gram;
use crate::units::volume::us_liquid_quart;
use crate::units::{Litres, Quantity, UnitSystem, plain, to_litres};
use serde_json::{Value, json};

/// What came of `mixed`.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The week was taken out of the stock.
    Entered(LogEntry),
    /// An interrupted run had taken it, and its entry is finished now.
    Finished(LogEntry),
    /// The last entry was taken back.
    Undone(LogEntry),
    /// The week was taken before; nothing was taken now.
    Already(LogEntry),
    /// There is not enough; nothing was taken.
    Short {
        /// What lacks.
        short: Vec<Balance>,
        /// What would still have to be bought, beside what was named as bought.
        left_to_buy: Box<Purchases>,
        /// All that the plan buys was counted as bought.
        planned: bool,
    },
}

/// What came of `mixed`, with what its names stand for.
pub struct MixedReport<'m> {
    /// What came of it.
    pub outcome: &'m Outcome,
    /// The week.
    pub week: &'m str,
    /// The stock file.
    pub stock: &'m str,
    /// The log.
    pub log: &'m str,
}

impl MixedReport<'_> {
    fn entry(&self) -> Option<&LogEntry> {
        match self.outcome {
            Outcome::Entered(entry) | Outcome::Finished(entry) | Outcome::Undone(entry) | Outcome::Already(entry) => {
                Some(entry)
            }
            Outcome::Short { .. } => None,
        }
    }

    const fn word(&self) -> &'static str {
        match self.outcome {
            Outcome::Entered(_) => "entered",
            Outcome::Finished(_) => "finished",
            Outcome::Undone(_) => "undone",
            Outcome::Already(_) => "already",
            Outcome::Short { .. } => "short",
        }
    }

    /// How to come by what cannot be bought in packages.
    fn advice(&self) -> Vec<Remark> {
        let Outcome::Short { left_to_buy, .. } = self.outcome else { return Vec::new() };
        buying::no_package(left_to_buy)
    }

    /// What is lacking, where nothing was taken for that.
    fn short(&self) -> &[Balance] {
        if let Outcome::Short { short, .. } = self.outcome { short } else { &[] }
    }

    fn summary(&self) -> String {
        let (stock, log) = (file_name(self.stock), file_name(self.log));
        match self.outcome {
            Outcome::Entered(entry) => format!("Taken out of {} as entry {} of {}.", stock, entry.number, log),
            Outcome::Finished(entry) => format!(
                "An interrupted run had taken this week out of {} already; its entry {} now stands in {}. Nothing more \
                 was taken.",
                stock, entry.number, log
            ),
            Outcome::Undone(entry) => format!(
                "Entry {} ({}) is taken back: {} is what it was before.",
                entry.undoes.unwrap_or_default(),
                entry.week,
                stock
            ),
            Outcome::Already(entry) => format!(
                "This week was taken out of {} on {} (entry {}); nothing was taken now. Use --undo to take that back, or \
                 --again if it was mixed a second time.",
                stock, entry.date, entry.number
            ),
            Outcome::Short { planned: true, .. } => {
                format!("Nothing was taken: {stock} has too little, even with all the packages that the plan says.")
            }
            Outcome::Short { .. } => format!(
                "Nothing was taken: {} has too little. Enter what was bought with --bought \"INGREDIENT=2 x PACKAGE\", or \
                 all that the plan says with --bought planned.",
                stock
            ),
        }
    }
}

/// The last name of a path.
fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// What a row took, in the wanted units; what was bought is taken less than nothing.
fn amount(row: &LogRow, units: UnitSystem) -> String {
    match (row.amount(), units) {
        (Some(Quantity::Volume(volume)), UnitSystem::Us) => {
            format!("{} US qt", plain(volume.get::<us_liquid_quart>(), 2))
        }
        (Some(Quantity::Volume(volume)), UnitSystem::Metric) => format!("{} L", plain(to_litres(volume), 2)),
        (Some(Quantity::Mass(mass)), _) => format!("{} g", plain(mass.get::<gram>(), 1)),
        (None, _) => String::new(),
    }
}

impl MixedReport<'_> {
    fn view(&self) -> Value {
        let entry = self.entry();
        json!({
            "format": "trayful-mixed/1",
            "outcome": self.word(),
            "week": self.week,
            "entry": entry.map(|entry| entry.number),
            "undoes": entry.and_then(|entry| entry.undoes),
            "date": entry.map(|entry| &entry.date),
            "rows": entry.map(|entry| entry.rows.as_slice()).unwrap_or_default(),
            "lacking": self.short(),
            "notes": self.advice(),
            "stock": self.stock,
            "log": self.log,
            "says": self.summary(),
        })
    }
}

impl Report for MixedReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(self.week);
        document.paragraph(self.summary());
        let mut table = Table::new(&["ingredient", ">needed", ">at hand", ">lacking"]);
        for Balance { ingredient, need, on_hand, lacking, .. } in self.short() {
            table.row([
                ingredient.name.clone(),
                need.shown(Litres::Needed, style.units),
                on_hand.shown(Litres::Given, style.units),
                lacking.shown(Litres::Needed, style.units),
            ]);
        }
        document.table(table);
        document.list(texts(&self.advice()));
        let mut table = Table::new(&["what", "batch", "ingredient", ">taken", "left"]);
        for row in self
            .entry()
            .filter(|_| !matches!(self.outcome, Outcome::Already(_)))
            .into_iter()
            .flat_map(|entry| &entry.rows)
        {
            let LogRow { what, batch, ingredient, left, .. } = row.clone();
            table.row([what, batch, ingredient, amount(row, style.units), left]);
        }
        document.table(table.without_empty_columns());
        document
    }

    fn json(&self) -> String {
        json::render(&self.view())
    }

    fn records(&self) -> Vec<Vec<String>> {
        let mut view = self.view();
        let lacking = |short: &Balance| {
            let (litres, grams) = (short.lacking.litres(), short.lacking.grams());
            json!({"what": "lacking", "ingredient": short.ingredient, "litres": litres, "grams": grams})
        };
        if !self.short().is_empty() {
            view["rows"] = self.short().iter().map(lacking).collect();
        }
        let columns = ["outcome", "what", "batch", "ingredient", "litres", "grams", "package", "left"];
        csv::table(&view, "rows", &columns)
    }
}
