//! What to measure out: printed shares that sum to their total, doses, rates.

use super::PlanReport;
use crate::exact::apportion;
use crate::plan::{Batch, DoseAmount, Dosed};
use crate::recipe::Basis;
use crate::report::document::Table;
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::{litre, millilitre, us_cup, us_fluid_ounce, us_liquid_quart, us_tablespoon, us_teaspoon};
use crate::units::{Rate, Spoon, UnitSystem, Volume, grams, ounces, plain, to_litres};

impl PlanReport<'_> {
    /// The table of what to measure out; the rows sum to the printed total.
    pub(in crate::report) fn measures(&self, batch: &Batch, units: UnitSystem) -> Table {
        let mut table = Table::new(&["measure out", ">parts", ">amount", ">or"]);
        let (main, other) = printed_shares(batch, units);
        for (part, (main, other)) in batch.ingredients.iter().zip(main.iter().zip(&other)) {
            table.row([self.name(part.ingredient).to_owned(), part.parts.to_string(), main.clone(), other.clone()]);
        }
        if batch.ingredients.len() > 1 {
            let (main, other) = (together(&main), together(&other));
            table.row(["together, loose".to_owned(), String::new(), main, other]);
        }
        for dose in &batch.doses {
            let (main, other) = dose_words(dose.amount, units);
            table.row([format!("{} ({})", self.name(dose.ingredient), self.rate(dose)), String::new(), main, other]);
        }
        table
    }

    pub(in crate::report) fn rate(&self, dose: &DoseAmount) -> String {
        let rate = match dose.rate {
            Rate::Mass(rate) => format!("{} g/L", plain(rate.get::<gram_per_litre>(), 3)),
            Rate::Measure { per_volume, .. } => format!("{} mL/L", plain(per_volume * 1000.0, 2)),
        };
        match dose.basis {
            Basis::Finished => rate,
            Basis::Loose => format!("{rate} of loose ingredients"),
            Basis::Of(base) => format!("{rate} of {}", self.name(base)),
        }
    }
}

/// Grams or millilitres of a dose.
pub(in crate::report) fn by_weight_and_measure(amount: Dosed) -> (Option<f64>, Option<f64>) {
    match amount {
        Dosed::Mass(mass) => (Some(mass.get::<gram>()), None),
        Dosed::Measure(volume, _) => (None, Some(volume.get::<millilitre>())),
    }
}

/// The parts of a batch in tenths of a litre and of a quart, the wanted unit first:
/// the total is rounded up, the rows sum to it.
pub(in crate::report) fn printed_shares(batch: &Batch, units: UnitSystem) -> (Vec<String>, Vec<String>) {
    let weights: Vec<f64> = batch.ingredients.iter().map(|part| to_litres(part.loose)).collect();
    printed_parts(batch.chain.loose, &weights, units)
}

/// The same for any total, shared out by weights in litres.
pub(in crate::report) fn printed_parts(
    total: Volume,
    weights: &[f64],
    units: UnitSystem,
) -> (Vec<String>, Vec<String>) {
    // Below a litre a tenth is coarse.
    let decimals = if weights.iter().all(|weight| *weight >= 1.0) { 1 } else { 2 };
    let metric = column(total.get::<litre>(), weights, decimals, "L");
    let us = column(total.get::<us_liquid_quart>(), weights, decimals, "US qt");
    match units {
        UnitSystem::Metric => (metric, us),
        UnitSystem::Us => (us, metric),
    }
}

/// Shares in tenths (or hundredths) that sum to the total, which is rounded up so far that
/// equal parts come out equal.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a positive number of tenths, within the bounds of the inputs"
)]
fn column(total: f64, weights: &[f64], decimals: usize, unit: &str) -> Vec<String> {
    let scale = if decimals == 1 { 10.0 } else { 100.0 };
    let exact = total * scale;
    let least = (if (exact - exact.round()).abs() < 1e-7 { exact.round() } else { exact.ceil() }) as u64;
    let even = |shares: &[u64]| {
        let alike = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.max(b);
        weights
            .iter()
            .enumerate()
            .all(|(i, weight)| (0..i).all(|j| !alike(*weight, weights[j]) || shares[i] == shares[j]))
    };
    let tried = (least..=least + weights.len() as u64).map(|tenths| apportion(tenths, weights));
    let shares = tried.into_iter().find(|shares| even(shares)).unwrap_or_else(|| apportion(least, weights));
    shares.into_iter().map(|share| format!("{:.decimals$} {unit}", share as f64 / scale)).collect()
}

/// The sum of a printed column, in its unit.
fn together(column: &[String]) -> String {
    let split = |cell: &str| cell.split_once(' ').map(|(number, unit)| (number.to_owned(), unit.to_owned()));
    let cells: Vec<(String, String)> = column.iter().filter_map(|cell| split(cell)).collect();
    let decimals = cells.iter().filter_map(|(number, _)| number.split_once('.')).map(|(_, tail)| tail.len()).max();
    let sum: f64 = cells.iter().filter_map(|(number, _)| number.parse::<f64>().ok()).sum();
    let unit = cells.first().map(|(_, unit)| unit.as_str()).unwrap_or_default();
    format!("{sum:.*} {unit}", decimals.unwrap_or(0))
}

/// A dose by the spoon it is written in, or by a smaller one where that is more than a
/// quarter of it.
fn spoons(volume: Volume, spoon: Spoon) -> String {
    let (cups, tablespoons, teaspoons) =
        (volume.get::<us_cup>(), volume.get::<us_tablespoon>(), volume.get::<us_teaspoon>());
    match spoon {
        Spoon::Cup if cups >= 0.25 => format!("{} cups", plain(cups, 2)),
        Spoon::Cup | Spoon::Tablespoon if tablespoons >= 1.0 => format!("{} tbsp", plain(tablespoons, 1)),
        _ => format!("{} tsp", plain(teaspoons, if teaspoons < 1.0 { 2 } else { 1 })),
    }
}

/// A dose in the wanted units, and in the other ones.
pub(in crate::report) fn dose_words(amount: Dosed, units: UnitSystem) -> (String, String) {
    match amount {
        Dosed::Mass(mass) => {
            let (metric, us) = (grams(mass), ounces(mass));
            if units == UnitSystem::Us { (us, metric) } else { (metric, us) }
        }
        Dosed::Measure(volume, spoon) => {
            let measure = match spoon {
                Spoon::Teaspoon | Spoon::Tablespoon | Spoon::Cup => spoons(volume, spoon),
                Spoon::Millilitre => format!("{} fl oz", plain(volume.get::<us_fluid_ounce>(), 1)),
            };
            let metric = format!("{} mL", plain(volume.get::<millilitre>(), 0));
            if spoon == Spoon::Millilitre && units == UnitSystem::Metric {
                (metric, measure)
            } else {
                (measure, metric)
            }
        }
    }
}
