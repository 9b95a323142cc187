//! Quantities as the bench reads them: rounded once, at the edge.

use super::mass::{gram, ounce, pound};
use super::{Mass, Volume, to_litres, volume as v};
use crate::exact::Fraction;

/// The units a sheet is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// Litres and grams, customary measures beside them where there is room.
    #[default]
    Metric,
    /// US gallons, quarts and ounces first.
    Us,
}

/// A number with so many decimals, without trailing zeros.
///
/// ```
/// assert_eq!(trayful::units::plain(1.50, 2), "1.5");
/// assert_eq!(trayful::units::plain(-0.001, 1), "0");
/// ```
#[must_use]
pub fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// Whether an amount is needed (rounds up) or given (rounds down) when shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Litres {
    /// An amount that must not come out short.
    Needed,
    /// An amount that is there, or informs.
    Given,
}

/// Litres to the tenth, or to the hundredth below one litre, with the unit.
#[must_use]
pub fn litres(volume: Volume, rounding: Litres) -> String {
    let litres = to_litres(volume);
    let step = if litres < 1.0 { 100.0 } else { 10.0 };
    let scaled = litres * step;
    // A hair of floating point above a tenth is that tenth.
    let whole = if (scaled - scaled.round()).abs() < 1e-7 {
        scaled.round()
    } else if rounding == Litres::Needed {
        scaled.ceil()
    } else {
        scaled.floor()
    };
    format!("{} L", plain(whole / step, 2))
}

/// A volume in US liquid quarts, from five gallons on in gallons, to the tenth.
#[must_use]
pub fn us_volume(volume: Volume, rounding: Litres) -> String {
    let quarts = volume.get::<v::us_liquid_quart>();
    let (amount, unit) = if quarts >= 20.0 { (quarts / 4.0, "US gal") } else { (quarts, "US qt") };
    let tenths = amount * 10.0;
    let whole = if (tenths - tenths.round()).abs() < 1e-7 {
        tenths.round()
    } else if rounding == Litres::Needed {
        tenths.ceil()
    } else {
        tenths.floor()
    };
    format!("{} {unit}", plain(whole / 10.0, 1))
}

/// A volume in the wanted units.
#[must_use]
pub fn amount(volume: Volume, rounding: Litres, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => litres(volume, rounding),
        UnitSystem::Us => us_volume(volume, rounding),
    }
}

/// Grams as a scale shows them: whole from 100 g, tenths below, finer below one gram, so
/// that a small dose is never shown as none.
#[must_use]
pub fn grams(mass: Mass) -> String {
    let grams = mass.get::<gram>();
    if grams >= 10_000.0 {
        format!("{} kg", plain(grams / 1000.0, 2))
    } else {
        let decimals = match grams {
            _ if grams >= 100.0 => 0,
            _ if grams >= 1.0 => 1,
            _ if grams >= 0.1 => 2,
            _ => 4,
        };
        format!("{} g", plain(grams, decimals))
    }
}

/// A mass in ounces, or in pounds from one pound up.
#[must_use]
pub fn ounces(mass: Mass) -> String {
    let pounds = mass.get::<pound>();
    let ounces = mass.get::<ounce>();
    match pounds {
        _ if pounds >= 1.0 => format!("{} lb", plain(pounds, 2)),
        _ if ounces >= 0.1 => format!("{} oz", plain(ounces, 2)),
        _ => format!("{} oz", plain(ounces, 4)),
    }
}

/// A share in percent.
#[must_use]
pub fn percent(share: Fraction) -> String {
    format!("{} %", plain(share.to_f64() * 100.0, 2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::in_litres;

    #[test]
    fn needs_round_up_and_fills_round_down() {
        assert_eq!(litres(in_litres(12.31), Litres::Needed), "12.4 L");
        assert_eq!(litres(in_litres(12.39), Litres::Given), "12.3 L");
        assert_eq!(litres(in_litres(0.301), Litres::Needed), "0.31 L");
        assert_eq!(litres(in_litres(0.1 + 0.2), Litres::Needed), "0.3 L");
        assert_eq!(us_volume(in_litres(3.785_411_784), Litres::Needed), "4 US qt");
        assert_eq!(us_volume(in_litres(37.854_117_84), Litres::Needed), "10 US gal");
        assert_eq!(us_volume(in_litres(37.9), Litres::Needed), "10.1 US gal");
        assert_eq!(us_volume(in_litres(37.9), Litres::Given), "10 US gal");
    }

    #[test]
    fn grams_read_like_a_scale() {
        assert_eq!(grams(Mass::new::<gram>(3.26)), "3.3 g");
        assert_eq!(grams(Mass::new::<gram>(326.4)), "326 g");
        assert_eq!(grams(Mass::new::<gram>(0.237)), "0.24 g");
        assert_eq!(grams(Mass::new::<gram>(0.037_1)), "0.0371 g");
        assert_eq!(grams(Mass::new::<gram>(12_340.0)), "12.34 kg");
    }
}
