//! The pairs of a trial: which tray stands where, what to measure, and how to judge it.

use super::PlanReport;
use crate::behaviour::least_p;
use crate::plan::{Deed, Pair, PairedTray, Pairs, Task};
use crate::report::document::{Document, Table};
use crate::report::words::{capital, short_date, tray_name};
use crate::units::{UnitSystem, plain};
use crate::week::{Compared, PairedTrial, Sowing};
use jiff::Span;
use serde_json::{Value, json};

/// Fewer pairs cannot bring the chance below 1 in 20.
const ENOUGH_PAIRS: usize = 6;
/// Room for the figures of A and B.
const ROOM: &str = "..../....";

impl PlanReport<'_> {
    /// The pairs with room for their figures, and what to do with them.
    pub(super) fn pairs(&self, document: &mut Document, units: UnitSystem) {
        let Some((pairs, trial)) = self.plan.pairs.as_ref().zip(self.week.trial.as_ref()) else { return };
        let Some(first) = pairs.pairs.first() else { return };
        let [a, _] = first.arms;
        let sowing = &self.week.sowings[a.sowing as usize];
        let of = format!("{}, {}", sowing.full_name(), tray_name(&sowing.tray, units));
        document.subheading(format!("Trial of {}: {of}", trial.compare));
        let rows = (1..).zip(&pairs.pairs).map(|(number, pair): (usize, &Pair)| {
            let whole = if a.rows.is_some() { pair.arms[0].tray.to_string() } else { String::new() };
            let [a, b] = [0, 1].map(|arm| format!("{}, {}", Pairs::ARMS[arm], place(pair.arms[arm])));
            let [left, right] = if pair.a_left { [a, b] } else { [b, a] };
            // What is fed is up already.
            let up = if trial.compare == Compared::Feed { "" } else { ROOM };
            [number.to_string(), whole, left, right, up.to_owned(), ROOM.to_owned(), ROOM.to_owned()]
        });
        let [height, weight] = units.either(["cm A/B", "g A/B"], ["in A/B", "oz A/B"]);
        let columns = ["pair", "tray", "left", "right", "up A/B", height, weight];
        document.table(Table::of(columns, rows).without_empty_columns());
        let items =
            [self.arms(pairs, trial), standing(trial, a), self.measuring(trial, sowing, a), judging(pairs, trial)];
        document.list(items.into_iter().chain(doubts(pairs, trial)).collect());
    }

    fn arms(&self, pairs: &Pairs, trial: &PairedTrial) -> String {
        match trial.compare {
            Compared::Feed => format!(
                "Feed A and B differently and change nothing else. Write down how: A {0}, B {0}",
                ".".repeat(20)
            ),
            Compared::Coir | Compared::Inoculant => {
                let [a, b] = pairs.batches.map(|batch| {
                    let number = self.plan.mixes.mixing.number(batch);
                    format!("batch {number}, {}", self.batch_name(batch))
                });
                let apart = match trial.compare {
                    Compared::Inoculant => {
                        " Fill the trays without inoculant first, with clean hands and tools, and let none drain into another."
                    }
                    _ => "",
                };
                format!("A is {a}; B is {b}. Sow, water and feed both alike.{apart}")
            }
        }
    }

    /// What is measured, and when.
    fn measuring(&self, trial: &PairedTrial, sowing: &Sowing, a: PairedTray) -> String {
        let (each, cells) =
            if a.rows.is_some() { ("half", sowing.tray.cells / 2) } else { ("tray", sowing.tray.cells) };
        let emerges = sowing.crop.as_ref().and_then(|crop| crop.emerges_in_a_house());
        let last_up =
            self.week.day().zip(emerges).and_then(|(day, (_, last))| day.checked_add(Span::new().days(last)).ok());
        let up_on =
            last_up.map_or_else(|| "When no more come up,".to_owned(), |day| day.strftime("On %a %-d %b").to_string());
        let at_size = self.at_size(trial);
        let first = match trial.compare {
            Compared::Feed => capital(&at_size),
            _ => {
                format!("{up_on} count the cells of each {each} in which something is up, of {cells}. Then, {at_size}")
            }
        };
        format!(
            "{first}, measure height and fresh weight of up to ten plants cut from the middle, and take their mean. Decide \
             beforehand which figure is to count. Measure all pairs on one day, A and B one after the other (common practice)."
        )
    }

    /// When the plants are measured.
    fn at_size(&self, trial: &PairedTrial) -> String {
        let measured = self.plan.calendar.iter().find_map(|entry| match &entry.task {
            Task::Crops { deed: Deed::Measure { weeks_fed, .. }, crops } => {
                crops.iter().any(|crop| crop.is_same(&trial.crop)).then(|| (short_date(entry.at.date()), *weeks_fed))
            }
            _ => None,
        });
        match measured {
            Some((day, Some(weeks))) => {
                format!(
                    "on {day}, {weeks} weeks after the first feed at the least and while they still stand side by side"
                )
            }
            Some((day, None)) => format!("on {day}, while they still stand side by side"),
            None => "when the first are fit to plant out".to_owned(),
        }
    }
}

/// `tray 3`, `rows 1-6`.
fn place(PairedTray { tray, rows, .. }: PairedTray) -> String {
    rows.map_or_else(|| format!("tray {tray}"), |(from, to)| format!("rows {from}-{to}"))
}

/// How the sides are drawn, and that the pairs move.
fn standing(trial: &PairedTrial, a: PairedTray) -> String {
    let how = match a.rows {
        Some(_) => "Turn each tray so that A and B lie",
        None => "Stand the trays of a pair side by side",
    };
    format!(
        "{how} as the table says: the sides are drawn by the seed {}. Every week move each pair on to the place of the next, A \
         and B together and each on its side.",
        trial.seed
    )
}

/// How the figures are judged.
fn judging(pairs: &Pairs, trial: &PairedTrial) -> String {
    let (all, least) = (pairs.pairs.len(), least_p(trial.pairs));
    let ways = 1_u64 << all;
    let is_of_halves = pairs.pairs.iter().any(|pair| pair.arms[0].rows.is_some());
    let one = if is_of_halves { "Half a tray" } else { "A tray" };
    let other = match all {
        0 | 1 => String::new(),
        2 => ", 1 if one goes the other way".to_owned(),
        _ => format!(", {} or more if one goes the other way", plain(2.0 * least, 6)),
    };
    format!(
        "{one} is one figure, however many plants it holds. Take A - B of each pair. How often chance alone makes pairs differ \
         as yours do is the share of the {ways} ways to set the signs of your differences whose sum lies as far from zero as \
         yours, or further. It is {} if all go the same way, the least there can be{other}.",
        plain(least, 6)
    )
}

/// What so few pairs cannot tell.
fn doubts(pairs: &Pairs, trial: &PairedTrial) -> Vec<String> {
    let few = (pairs.pairs.len() < ENOUGH_PAIRS).then(|| {
        format!("Look, do not conclude: fewer than {ENOUGH_PAIRS} pairs cannot bring that share below 1 in 20.")
    });
    let difference = trial.difference.map(|share| {
        let percent = plain(share.to_f64() * 100.0, 1);
        format!(
            "The {percent} % that you want to see will not show where A - B differs by as much from pair to pair: look at that \
             first."
        )
    });
    few.into_iter().chain(difference).collect()
}

/// The pairs for scripts.
pub(super) fn pairs_json(pairs: &Pairs, batches: [&str; 2]) -> Value {
    let arms = (0..2).map(|arm| {
        let trays = (1..).zip(&pairs.pairs).map(|(number, pair): (usize, &Pair)| {
            let PairedTray { sowing, tray, rows } = pair.arms[arm];
            let side = if pair.a_left == (arm == 0) { "left" } else { "right" };
            json!({"pair": number, "sowing": sowing, "tray": tray, "rows": rows, "side": side})
        });
        json!({"arm": Pairs::ARMS[arm], "batch": batches[arm], "trays": trays.collect::<Value>()})
    });
    let best_p = u16::try_from(pairs.pairs.len()).map(least_p).ok();
    json!({"arms": arms.collect::<Value>(), "pairs": pairs.pairs.len(), "best_p": best_p})
}
