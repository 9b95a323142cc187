//! What to measure out: printed shares that sum to their total, doses, rates.

use super::PlanReport;
use crate::exact::apportion;
use crate::plan::{Batch, DoseAmount};
use crate::recipe::Basis;
use crate::report::document::Table;
use crate::units::mass::gram;
use crate::units::volume::{litre, millilitre, us_fluid_ounce, us_liquid_quart, us_teaspoon};
use crate::units::{Quantity, Spoon, UnitSystem, Volume, grams, ounces, plain, to_litres};

impl PlanReport<'_> {
    /// The table of what to measure out; the rows sum to the printed total.
    pub(in crate::report) fn measures(&self, batch: &Batch, units: UnitSystem) -> Table {
        let mut table = Table::new(&["measure out", ">parts", ">amount", ">or"]);
        let (main, other) = printed_shares(batch, units);
        for (part, (main, other)) in batch.ingredients.iter().zip(main.iter().zip(&other)) {
            table.row([part.ingredient.name.clone(), part.parts.to_string(), main.clone(), other.clone()]);
        }
        if batch.ingredients.len() > 1 {
            let (main, other) = (together(&main), together(&other));
            table.row(["together, loose".to_owned(), String::new(), main, other]);
        }
        for dose in &batch.doses {
            let (main, other) = dose_words(dose.amount, dose.rate.spoon(), units);
            table.row([format!("{} ({})", dose.ingredient.name.as_str(), self.rate(dose)), String::new(), main, other]);
        }
        table
    }

    pub(in crate::report) fn rate(&self, dose: &DoseAmount) -> String {
        let rate = match dose.rate.spoon() {
            None => format!("{} g/L", plain(dose.rate.per_litre(), 3)),
            Some(_) => format!("{} mL/L", plain(dose.rate.per_litre() * 1000.0, 2)),
        };
        match &dose.basis {
            Basis::Finished => rate,
            Basis::Loose => format!("{rate} of loose ingredients"),
            Basis::Of(base) => format!("{rate} of {}", base.name.as_str()),
        }
    }
}

/// Grams or millilitres of a dose.
pub(in crate::report) fn by_weight_and_measure(amount: Quantity) -> (Option<f64>, Option<f64>) {
    match amount {
        Quantity::Mass(mass) => (Some(mass.get::<gram>()), None),
        Quantity::Volume(volume) => (None, Some(volume.get::<millilitre>())),
    }
}

/// The parts of a batch in tenths of a litre and of a quart, the wanted unit first:
/// the total is rounded up, the rows sum to it.
pub(in crate::report) fn printed_shares(batch: &Batch, units: UnitSystem) -> (Vec<String>, Vec<String>) {
    let weights: Vec<f64> = batch.ingredients.iter().map(|part| to_litres(part.loose)).collect();
    printed_parts(batch.volumes.loose, &weights, units)
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

/// A dose by the spoons at hand: cups in quarters, tablespoons, teaspoons in quarters; a
/// pinch below that in hundredths of a teaspoon.
pub(in crate::report) fn spoons(volume: Volume, largest: Spoon) -> String {
    /// Quarters of a teaspoon in each.
    const CUP_QUARTER: u64 = 48;
    const TABLESPOON: u64 = 12;
    let teaspoons = volume.get::<us_teaspoon>();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "positive, and a cast saturates")]
    let mut quarters = (teaspoons * 4.0).round() as u64;
    if largest == Spoon::Cup && quarters >= 4 * CUP_QUARTER {
        // Beside a cup a teaspoon is lost.
        quarters = (quarters + TABLESPOON / 2) / TABLESPOON * TABLESPOON;
    }
    if quarters == 0 {
        return format!("{} tsp", plain(teaspoons, 2));
    }
    let by_cup = if largest == Spoon::Cup { quarters / CUP_QUARTER } else { 0 };
    let rest = quarters - by_cup * CUP_QUARTER;
    let by_tablespoon = if largest == Spoon::Teaspoon { 0 } else { rest / TABLESPOON };
    let rest = rest - by_tablespoon * TABLESPOON;
    let cups = if by_cup <= 4 { "cup" } else { "cups" };
    [(by_cup, cups), (4 * by_tablespoon, "tbsp"), (rest, "tsp")]
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, spoon)| format!("{} {spoon}", quartered(count)))
        .collect::<Vec<_>>()
        .join(" + ")
}

/// A number of quarters as `8 3/4`.
pub(in crate::report) fn quartered(quarters: u64) -> String {
    let part = ["", "1/4", "1/2", "3/4"][usize::try_from(quarters % 4).unwrap_or(0)];
    match (quarters / 4, part) {
        (whole, "") => whole.to_string(),
        (0, part) => part.to_owned(),
        (whole, part) => format!("{whole} {part}"),
    }
}

/// A dose in the wanted units, and in the other ones.
pub(in crate::report) fn dose_words(amount: Quantity, spoon: Option<Spoon>, units: UnitSystem) -> (String, String) {
    match amount {
        Quantity::Mass(mass) => {
            let (metric, us) = (grams(mass), ounces(mass));
            if units == UnitSystem::Us { (us, metric) } else { (metric, us) }
        }
        Quantity::Volume(volume) => {
            let spoon = spoon.unwrap_or(Spoon::Millilitre);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::volume;

    #[test]
    fn spoons_are_those_of_the_drawer() {
        let shown = |text: &str, largest| spoons(volume(text).unwrap().value, largest);
        assert_eq!(shown("2.6 tbsp", Spoon::Tablespoon), "2 tbsp + 1 3/4 tsp");
        assert_eq!(shown("1/3 cup", Spoon::Cup), "1/4 cup + 1 tbsp + 1 tsp");
        assert_eq!(shown("2 1/2 cups", Spoon::Cup), "2 1/2 cups");
        assert_eq!(shown("4 tsp", Spoon::Teaspoon), "4 tsp");
        assert_eq!(shown("0.1 tsp", Spoon::Cup), "0.1 tsp");
    }
}
