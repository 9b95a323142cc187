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

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a positive number of tenths, within the bounds of the inputs"
)]
fn column(total: f64, weights: &[f64], decimals: usize, unit: &str) -> Vec<String> {
    let scale = if decimals == 1 { 10.0 } else { 100.0 };
    let exact = total * scale;
    let tenths = if (exact - exact.round()).abs() < 1e-7 { exact.round() } else { exact.ceil() };
    apportion(tenths as u64, weights)
        .into_iter()
        .map(|share| format!("{:.decimals$} {unit}", share as f64 / scale))
        .collect()
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
                Spoon::Teaspoon => format!("{} tsp", plain(volume.get::<us_teaspoon>(), 1)),
                Spoon::Tablespoon => format!("{} tbsp", plain(volume.get::<us_tablespoon>(), 1)),
                Spoon::Cup => format!("{} cups", plain(volume.get::<us_cup>(), 2)),
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
