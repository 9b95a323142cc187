//! What can be wrong with the inputs of a course.

use std::ops::RangeInclusive;

use crate::units::plain;
use thiserror::Error;

/// More runs of one tub than this are refused.
pub(crate) const MOST_RUNS: u32 = 100;

/// Why a value could not be built. The wording is here and nowhere else.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CoirError {
    /// A quantity lies outside the range the model can stand for (or is not a number).
    #[error("{what} must be from {} to {}, not {}", .range.start(), .range.end(), outside(*value, range))]
    OutOfRange {
        /// The quantity, with its unit.
        what: &'static str,
        /// What was given.
        value: f64,
        /// What is accepted.
        range: RangeInclusive<f64>,
    },
    /// The shares of the exchange sites do not make a whole, but this.
    #[error("the shares of the exchange sites add up to {0}, not 1")]
    SitesDoNotSum(f64),
    /// A chemical formula could not be read.
    #[error("cannot read the formula `{formula}` at character {}: expected {expected}", .at + 1)]
    Formula {
        /// The formula as given.
        formula: String,
        /// Characters before the fault.
        at: usize,
        /// What would have been accepted there.
        expected: &'static str,
    },
    /// The ions of a formula do not balance.
    #[error("`{formula}` is not neutral: its charges add up to {charge:+}")]
    Charged {
        /// The formula as given.
        formula: String,
        /// Sum of its charges.
        charge: f64,
    },
    /// A water analysis has more anions than cations, by so many mmol/L of charge: something was left out.
    #[error("the water has {0} mmol/L more anion than cation charge: a cation is missing")]
    CationsMissing(f64),
    /// A calcium percentage was given for the salt of that name, which has none, or a bath was to be made of it.
    #[error("{0} has no calcium")]
    NoCalcium(String),
    /// A tub that would have to be filled over and over: so many runs of an equal share each.
    #[error("the tub is too small: {0} runs would be needed, and {MOST_RUNS} are the most")]
    TooManyRuns(f64),
    /// A course without a single step.
    #[error("a course needs at least one step")]
    NoSteps,
}

/// To two decimals, unless it would then seem to lie in the range.
fn outside(value: f64, range: &RangeInclusive<f64>) -> String {
    let near = (value * 100.0).round() / 100.0;
    if range.contains(&near) { value.to_string() } else { plain(value, 2) }
}

/// `value`, if it lies within `range`; NaN never does.
pub(crate) fn within(what: &'static str, value: f64, range: RangeInclusive<f64>) -> Result<f64, CoirError> {
    if range.contains(&value) { Ok(value) } else { Err(CoirError::OutOfRange { what, value, range }) }
}
