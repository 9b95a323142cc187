//! What a filled tray weighs.

use crate::catalogue::{Spread, Tray};
use crate::units::{Volume, to_litres};

/// An empty tray of 10 x 20 inches, in kilograms (from memory).
pub const TRAY_KG: f64 = 0.2;

/// Kilograms of a tray with so much mix in it: its dry grams in a litre, its water as a share of the volume, and the empty
/// tray. A litre of water is a kilogram.
///
/// ```
/// use trayful::behaviour::{TRAY_KG, tray_kg};
/// use trayful::units::in_litres;
/// // 72 cells of 57.4 mL, 130 g/L dry and three quarters water: 3.84 kg.
/// let [_, usual, _] = tray_kg(in_litres(72.0 * 0.0574), [100.0, 130.0, 160.0], [0.70, 0.75, 0.80], TRAY_KG);
/// assert!((usual - 3.84).abs() < 0.005);
/// ```
pub fn tray_kg(mix: Volume, dry_g_per_l: Spread, water: Spread, empty_kg: f64) -> Spread {
    [0, 1, 2].map(|index| to_litres(mix) * (dry_g_per_l[index] / 1000.0 + water[index]) + empty_kg)
}

/// What a tray weighs without its mix, in kilograms: a pot nothing to speak of.
pub(super) const fn empty_kg(tray: &Tray) -> f64 {
    if tray.pot { 0.0 } else { TRAY_KG }
}
