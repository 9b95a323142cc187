//! The one rounding to whole things: trays, packages, cells, loads.
//!
//! `(need / each).ceil()` is wrong for 10 to 16 % of exact multiples, because the
//! quotient of two decimal quantities lands just above the whole number. A
//! quotient within a billionth of a whole number is taken as that number.

use super::{Volume, to_litres};
use crate::exact::whole;

/// How near to a whole number counts as whole: one part in a billion.
const SNAP: f64 = 1e-9;

/// A need met with whole things, and what the rounding added.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Covered {
    /// How many things.
    pub count: u64,
    /// What they give beyond the need.
    pub over: Volume,
}

/// The fewest things of `each` that give at least `need`.
///
/// `None` when `each` is not a positive volume or the need is not a number.
///
/// ```
/// use trayful::units::{cover, in_litres};
/// // 3.5 cubic yards from bales that fluff to 6 cubic feet: 15.75, so 16 bales.
/// let bales = cover(in_litres(3.5 * 764.554857984), in_litres(6.0 * 28.316846592));
/// assert_eq!(bales.map(|b| b.count), Some(16));
/// ```
pub fn cover(need: Volume, each: Volume) -> Option<Covered> {
    let count = snapped(need, each, f64::ceil)?;
    let over = (each * count as f64 - need).max(super::in_litres(0.0));
    Some(Covered { count, over })
}

/// How many things of `each` a given amount fills, rounded down.
///
/// ```
/// use trayful::units::{fits, in_litres};
/// // 25 L of mix fill thirteen 1.9 L pots.
/// assert_eq!(fits(in_litres(25.0), in_litres(1.9)), Some(13));
/// ```
pub fn fits(have: Volume, each: Volume) -> Option<u64> {
    snapped(have, each, f64::floor)
}

/// A needed amount (litres, grams) in whole billionths of its unit, for exact sums of
/// packages: met by anything within one part in a billion of it.
///
/// ```
/// use trayful::units::{given_billionths, needed_billionths};
/// // Twelve cubic feet are two bales of six, though neither is a whole number of litres.
/// let (need, bale) = (12.0 * 28.316846592, 6.0 * 28.316846592);
/// assert!(2 * given_billionths(bale) >= needed_billionths(need));
/// ```
pub fn needed_billionths(amount: f64) -> u64 {
    whole((amount.max(0.0) * 1e9 * (1.0 - SNAP)).ceil())
}

/// A given amount (litres, grams) in whole billionths of its unit.
pub fn given_billionths(amount: f64) -> u64 {
    whole((amount.max(0.0) * 1e9).round())
}

/// How many times one volume goes into another, rounded by `rounding` unless it is whole to a billionth.
fn snapped(amount: Volume, each: Volume, rounding: fn(f64) -> f64) -> Option<u64> {
    let (amount_l, each_l) = (to_litres(amount), to_litres(each));
    if !(each_l > 0.0 && each_l.is_finite() && amount_l.is_finite()) {
        return None;
    }
    let quotient = amount_l.max(0.0) / each_l;
    let nearest = quotient.round();
    let is_whole = (quotient - nearest).abs() <= SNAP * nearest.max(1.0);
    Some(whole(if is_whole { nearest } else { rounding(quotient) }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::in_litres;

    #[test]
    fn exact_multiples_are_counted_exactly() {
        for each_ml in 1..400_u32 {
            for count in 1..200_u32 {
                let each = in_litres(f64::from(each_ml) / 1000.0);
                let need = in_litres(f64::from(each_ml * count) / 1000.0);
                assert_eq!(cover(need, each).unwrap().count, u64::from(count));
                assert_eq!(fits(need, each).unwrap(), u64::from(count));
            }
        }
    }

    #[test]
    fn a_millilitre_more_needs_one_more() {
        let covered = cover(in_litres(10.001), in_litres(2.5)).unwrap();
        assert_eq!(covered.count, 5);
        assert!((to_litres(covered.over) - 2.499).abs() < 1e-12);
        assert_eq!(fits(in_litres(9.999), in_litres(2.5)), Some(3));
    }

    #[test]
    fn nothing_is_covered_by_nothing() {
        assert_eq!(cover(in_litres(1.0), in_litres(0.0)), None);
        assert_eq!(cover(in_litres(f64::NAN), in_litres(1.0)), None);
        assert_eq!(cover(in_litres(0.0), in_litres(1.0)).unwrap().count, 0);
    }
}
