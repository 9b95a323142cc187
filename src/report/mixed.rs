//! What was taken out of the stock, or why nothing was.

use super::buying::{self, stuff};
use super::document::{Document, Table};
use super::fill::short_json;
use super::{Report, Style, json};
use crate::plan::Purchases;
use crate::stock::{Entry, LogRow, Short, UsedFor};
use crate::units::{Litres, plain};
use serde_json::{Value, json};

/// What came of `mixed`.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The week was taken out of the stock.
    Entered(Entry),
    /// An interrupted run had taken it, and its entry is finished now.
    Finished(Entry),
    /// The last entry was taken back.
    Undone(Entry),
    /// The week was taken before; nothing was taken now.
    Already(Entry),
    /// There is not enough; nothing was taken.
    Short {
        /// What lacks.
        short: Vec<Short>,
        /// What would still have to be bought, beside what was named as bought.
        left_to_buy: Box<Purchases>,
        /// All that the plan buys was counted as bought.
        planned: bool,
    },
}

/// What something was taken for, in words.
#[must_use]
pub fn used_for(purpose: &UsedFor) -> &str {
    match purpose {
        UsedFor::Batch(name) => name,
        UsedFor::Scoops => "what the scoops add",
        UsedFor::Covering => "covering the seed",
    }
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
    fn entry(&self) -> Option<&Entry> {
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
    fn advice(&self) -> Vec<String> {
        let Outcome::Short { left_to_buy, .. } = self.outcome else { return Vec::new() };
        buying::no_package(left_to_buy)
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

fn amount(row: &LogRow) -> String {
    match (row.litres, row.grams) {
        (Some(litres), _) => format!("{} L", plain(litres, 2)),
        (None, Some(grams)) => format!("{} g", plain(grams, 1)),
        (None, None) => String::new(),
    }
}

impl Report for MixedReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(self.week);
        document.paragraph(self.summary());
        if let Outcome::Short { short, .. } = self.outcome {
            let mut table = Table::new(&["ingredient", ">needed", ">at hand", ">lacking"]);
            for short in short {
                table.row([
                    short.ingredient.name.clone(),
                    stuff(short.need, Litres::Needed, style.units),
                    stuff(short.have, Litres::Given, style.units),
                    stuff(short.lacking(), Litres::Needed, style.units),
                ]);
            }
            document.table(table);
            document.list(self.advice());
        } else if let Some(entry) = self.entry().filter(|_| !matches!(self.outcome, Outcome::Already(_))) {
            let mut table = Table::new(&["what", "batch", "ingredient", ">taken", "left"]);
            for row in &entry.rows {
                table.row([row.what.clone(), row.batch.clone(), row.ingredient.clone(), amount(row), row.left.clone()]);
            }
            document.table(table.without_empty_columns());
        }
        document
    }

    fn json(&self) -> String {
        let rows: Vec<Value> = self
            .entry()
            .map(|entry| entry.rows.as_slice())
            .unwrap_or_default()
            .iter()
            .map(|row| {
                json!({
                    "what": row.what,
                    "batch": row.batch,
                    "ingredient": row.ingredient,
                    "litres": row.litres,
                    "grams": row.grams,
                    "package": row.package,
                    "left": row.left,
                })
            })
            .collect();
        let short: Vec<Value> = match self.outcome {
            Outcome::Short { short, .. } => short.iter().map(|short| short_json(short)).collect(),
            _ => Vec::new(),
        };
        json::render(&json!({
            "format": "trayful-mixed/1",
            "outcome": self.word(),
            "week": self.week,
            "entry": self.entry().map(|entry| entry.number),
            "undoes": self.entry().and_then(|entry| entry.undoes),
            "date": self.entry().map(|entry| &entry.date),
            "rows": rows,
            "lacking": short,
            "notes": self.advice(),
            "stock": self.stock,
            "log": self.log,
            "says": self.summary(),
        }))
    }

    fn records(&self) -> Vec<Vec<String>> {
        let header = ["outcome", "what", "batch", "ingredient", "litres", "grams", "package", "left"];
        let mut records = vec![header.map(str::to_owned).to_vec()];
        let number = |amount: Option<f64>| amount.map(|amount| plain(amount, 6)).unwrap_or_default();
        for row in self.entry().map(|entry| entry.rows.as_slice()).unwrap_or_default() {
            records.push(vec![
                self.word().to_owned(),
                row.what.clone(),
                row.batch.clone(),
                row.ingredient.clone(),
                number(row.litres),
                number(row.grams),
                row.package.clone(),
                row.left.clone(),
            ]);
        }
        if let Outcome::Short { short, .. } = self.outcome {
            for short in short {
                records.push(vec![
                    self.word().to_owned(),
                    "lacking".to_owned(),
                    String::new(),
                    short.ingredient.name.clone(),
                    number(short.lacking().litres()),
                    number(short.lacking().grams()),
                    String::new(),
                    String::new(),
                ]);
            }
        }
        records
    }
}
