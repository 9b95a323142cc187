//! The system of a sheet, and numbers rounded for it.

use crate::exact;

/// The units a sheet is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// Litres and grams, customary measures beside them where there is room.
    #[default]
    Metric,
    /// Quarts, gallons, ounces, inches, degrees Fahrenheit, and nothing metric.
    Us,
}

/// A number with so many decimals, without trailing zeros.
///
/// ```
/// assert_eq!(trayful::units::plain(1.50, 2), "1.5");
/// assert_eq!(trayful::units::plain(-0.001, 1), "0");
/// ```
pub fn plain(value: f64, decimals: usize) -> String {
    // Most are whole, and integers are written far quicker.
    if value == exact::whole(value) as f64 {
        return exact::whole(value).to_string();
    }
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// Which way an amount is rounded where it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// An amount that must not come out short.
    Up,
    /// An amount that is there, or informs.
    Down,
    /// A fact, such as the size of a scoop: to the nearest, and finer.
    Near,
}

/// The number of whole steps that an amount is shown as. What lies above a whole step by
/// floating point alone is that step.
pub(crate) fn whole(steps: f64, rounding: Rounding) -> f64 {
    match rounding {
        _ if (steps - steps.round()).abs() < 1e-7 => steps.round(),
        Rounding::Up => steps.ceil(),
        Rounding::Down => steps.floor(),
        Rounding::Near => steps.round(),
    }
}

/// A number to so many decimals, rounded so.
pub fn rounded(value: f64, decimals: u8, rounding: Rounding) -> String {
    let steps = 10_f64.powi(decimals.into());
    plain(whole(value * steps, rounding) / steps, decimals.into())
}

impl UnitSystem {
    /// Each as it is written.
    pub const WORDS: &[(&str, Self)] = &[("metric", Self::Metric), ("us", Self::Us)];

    /// One of two words, by the system.
    pub fn either<T>(self, metric: T, us: T) -> T {
        if self == Self::Us { us } else { metric }
    }
}
