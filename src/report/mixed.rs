//! What was taken out of the stock, or why nothing was.

use super::buying;
use super::document::{Document, Table};
use super::remark::{on, remark, texts};
use super::words::{batch_name, day_of, fact, taken_back};
use super::{Remark, Report, SoakReport, Style, csv};
use crate::plan::{Purchases, Soaking};
use crate::printable::within_a_line;
use crate::stock::{Balance, Known, LogEntry, LogRow};
use crate::units::{Quantity, UnitSystem, plain};
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
    Already(Known),
    /// The same sowings were taken before, of a week of this name on another day; nothing was
    /// taken now.
    OtherDay(Known),
    /// There is not enough; nothing was taken.
    Short {
        /// What lacks.
        short: Vec<Balance>,
        /// What would still have to be bought in addition to what was named as bought.
        left_to_buy: Box<Purchases>,
        /// All that the plan buys was counted as bought.
        planned: bool,
    },
}

/// What came of `mixed`, with what its names stand for.
pub struct MixedReport<'m> {
    /// What came of it.
    pub outcome: &'m Outcome,
    /// Mix was said to be left over.
    pub names_left: bool,
    /// The week.
    pub week: &'m str,
    /// The stock file.
    pub stock: &'m str,
    /// The log.
    pub log: &'m str,
    /// How the day is entered in its season, where it is of one and not entered.
    pub enter: Option<&'m str>,
    /// Its coir.
    pub coir: Option<&'m Soaking>,
}

impl MixedReport<'_> {
    /// The word that scripts know the outcome by, and the entry of the log, if there is one.
    fn word_and_entry(&self) -> (&'static str, Option<&LogEntry>) {
        match self.outcome {
            Outcome::Entered(entry) => ("entered", Some(entry)),
            Outcome::Finished(entry) => ("finished", Some(entry)),
            Outcome::Undone(entry) => ("undone", Some(entry)),
            Outcome::Already(known) => ("already", Some(known.entry())),
            Outcome::OtherDay(known) => ("other_day", Some(known.entry())),
            Outcome::Short { .. } => ("short", None),
        }
    }

    /// How to come by what cannot be bought in packages.
    fn advice(&self, units: UnitSystem) -> Vec<Remark> {
        match self.outcome {
            Outcome::Short { left_to_buy, .. } => buying::no_package(left_to_buy, units),
            Outcome::Undone(_) => Vec::new(),
            outcome => {
                let enter = self.enter.map(|command| remark!("enter-sown", "Once it is sown: `{command}`."));
                let new =
                    if let Outcome::Entered(entry) | Outcome::Finished(entry) = outcome { Some(entry) } else { None };
                let coir = self.coir.filter(|_| new.is_some());
                let more = coir.and_then(|coir| SoakReport::of(coir).more_is_not_entered(units));
                new.and_then(not_taken).into_iter().chain(more).chain(enter).collect()
            }
        }
    }

    /// What is lacking, where nothing was taken for that.
    fn short(&self) -> &[Balance] {
        if let Outcome::Short { short, .. } = self.outcome { short } else { &[] }
    }

    fn summary(&self) -> String {
        let [stock, log] = [self.stock, self.log].map(|path| within_a_line(file_name(path)));
        match self.outcome {
            Outcome::Entered(LogEntry { number, .. }) => format!("Taken out of {stock} as entry {number} of {log}."),
            Outcome::Finished(LogEntry { number, date, .. }) => format!(
                "A run of {date} was interrupted, but had taken this week out of {stock}; its entry {number} stands in \
                 {log}. Nothing more was taken."
            ),
            Outcome::Undone(LogEntry { undoes, week, before, after, .. }) if before == after => format!(
                "Entry {} ({week}) is taken back in {log}; its amounts were put back by hand, and {stock} was left as it is.",
                undoes.unwrap_or_default()
            ),
            Outcome::Undone(LogEntry { undoes, week, .. }) => {
                format!("Entry {} ({week}) is taken back: {stock} is what it was before.", undoes.unwrap_or_default())
            }
            Outcome::Already(known) => {
                let (LogEntry { date, number, .. }, back) = (known.entry(), taken_back(known));
                let (left, next) = match self.names_left {
                    true => (", and what is left over was not entered", "Then enter the week again with --left."),
                    false => ("", "Use --again if it was mixed a second time."),
                };
                format!(
                    "This week was taken out of {stock} on {date} (entry {number}); nothing was taken now{left}. {back} \
                     {next}"
                )
            }
            Outcome::OtherDay(known) => {
                let (LogEntry { number, date, .. }, day) = (known.entry(), day_of(known.entry()));
                format!(
                    "These sowings, or some of them, were taken out of {stock} on {date} (entry {number}), when they were \
                     for {day}; nothing was taken now. Use --again if they were mixed a second time."
                )
            }
            Outcome::Short { planned: true, .. } => {
                format!("Nothing was taken: {stock} has too little, even with all the packages that the plan says.")
            }
            Outcome::Short { .. } => format!(
                "Nothing was taken: {stock} has too little. Enter what was bought with --bought \"INGREDIENT=2 x \
                 PACKAGE\", or all that the plan says with --bought planned."
            ),
        }
    }
}

/// What was used and is still in the stock file.
fn not_taken(entry: &LogEntry) -> Option<Remark> {
    let mut names: Vec<&str> =
        entry.rows.iter().filter(|row| row.is_not_taken()).map(|row| row.ingredient.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    on("not-taken", &names, |names| {
        format!(
            "Not taken out, since it goes by the spoon or by another measure than the stock counts it in: {names}. Take it \
             off by hand, or give it a `dry_density` under `ingredients:`.",
        )
    })
}

/// The last name of a path.
fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// What a row took, in the wanted units; what was bought is taken less than nothing.
fn amount(row: &LogRow, units: UnitSystem) -> String {
    let shown = |amount| match (amount, units) {
        (_, UnitSystem::Us) => fact(amount, units),
        (Quantity::Volume(_), UnitSystem::Metric) => format!("{} L", plain(amount.size(), 2)),
        (Quantity::Mass(_), UnitSystem::Metric) => format!("{} g", plain(amount.size(), 1)),
    };
    row.amount().map(shown).unwrap_or_default()
}

/// What is at hand now, as the stock file says it, its packages by their labels.
fn at_hand(left: &str, units: UnitSystem) -> String {
    let terms = left.split(" + ").map(|term| if term.contains(" x ") { term.to_owned() } else { units.prose(term) });
    terms.collect::<Vec<_>>().join(" + ")
}

impl Report for MixedReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(self.week);
        document.paragraph(self.summary());
        document.table(buying::balances(self.short(), style.units));
        document.list(texts(&self.advice(style.units)));
        if let (word, Some(entry)) = self.word_and_entry()
            && !matches!(word, "already" | "other_day")
        {
            let row = |row: &LogRow| {
                let LogRow { what, batch, ingredient, left, package, .. } = row.clone();
                let amount = if row.is_not_taken() { package } else { amount(row, style.units) };
                [
                    what,
                    batch_name(&batch, style.units),
                    batch_name(&ingredient, style.units),
                    amount,
                    at_hand(&left, style.units),
                ]
            };
            let table = Table::of(["what", "batch", "ingredient", ">taken", "left"], entry.rows.iter().map(row));
            document.table(table.without_empty_columns());
        }
        document
    }

    fn value(&self) -> Value {
        let (outcome, entry) = self.word_and_entry();
        json!({
            "format": "trayful-mixed/1",
            "outcome": outcome,
            "week": self.week,
            "entry": entry.map(|entry| entry.number),
            "undoes": entry.and_then(|entry| entry.undoes),
            "date": entry.map(|entry| &entry.date),
            "rows": entry.map(|entry| entry.rows.as_slice()).unwrap_or_default(),
            "lacking": self.short(),
            "notes": self.advice(UnitSystem::Metric),
            "stock": self.stock,
            "log": self.log,
            "says": self.summary(),
        })
    }

    fn records(&self) -> Vec<Vec<String>> {
        let mut view = self.value();
        let lacking = |short: &Balance| {
            let (litres, grams) = (short.lacking.litres(), short.lacking.grams());
            json!({"what": "lacking", "ingredient": short.ingredient, "litres": litres, "grams": grams})
        };
        if !self.short().is_empty() {
            view["rows"] = self.short().iter().map(lacking).collect();
        }
        csv::table(&view, "rows", "outcome what batch ingredient litres grams package left")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_taken_is_told_in_the_wanted_units() {
        let row = |litres, grams| LogRow {
            what: String::new(),
            batch: String::new(),
            ingredient: String::new(),
            litres,
            grams,
            package: String::new(),
            left: String::new(),
        };
        // By definition four quarts are 3.785411784 L.
        let volume = row(Some(3.785_411_784), None);
        assert_eq!(amount(&volume, UnitSystem::Us), "1 US gal");
        assert_eq!(amount(&volume, UnitSystem::Metric), "3.79 L");
        assert_eq!(amount(&row(None, Some(-2.5)), UnitSystem::Metric), "-2.5 g");
        assert_eq!(amount(&row(None, Some(-56.699_046_25)), UnitSystem::Us), "-2 oz");
        assert_eq!(amount(&row(None, None), UnitSystem::Us), "");
    }

    /// 10 L are 10.57 quarts.
    #[test]
    fn what_is_left_is_told_by_the_labels_of_its_packages() {
        let left = "1 x 5 kg block + 10 L";
        assert_eq!(at_hand(left, UnitSystem::Metric), left);
        assert_eq!(at_hand(left, UnitSystem::Us), "1 x 5 kg block + 10.57 US qt");
    }

    #[test]
    fn only_the_name_of_a_file_is_told() {
        assert_eq!(["stock/shed.yaml", "c:\\stock\\shed.yaml", "shed.yaml"].map(file_name), ["shed.yaml"; 3]);
    }
}
