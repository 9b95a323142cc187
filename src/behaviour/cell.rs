//! Air and water in a cell once it has drained, and what that means for seed.

use super::blend::Pores;
use super::retention::{CORE_CM, Curve, EXPONENT};
use crate::catalogue::{Frustum, Spread};
use crate::source::words;
use crate::units::length::{centimetre, millimetre};
use libm::pow;
use serde::Serialize;

words! {
    /// What the air in a drained cell means for seed: bands from memory, there is no standard.
    Verdict {
        /// Less than 3 %.
        Wet = "waterlogging risk",
        /// Less than [`ENOUGH_AIR`].
        Tight = "tight",
        /// Up to 15 %.
        Good = "good",
        /// Up to 20 %.
        Open = "open",
        /// More.
        Dry = "dries fast",
    }
}

/// The least air, as a share of the volume, that is good for a seed cell.
pub const ENOUGH_AIR: f64 = 0.05;
/// The least with which it does not drown.
pub const LEAST_AIR: f64 = 0.03;
/// Less is as good as none, however far the figures are off.
pub const NO_AIR: f64 = 0.01;

impl Verdict {
    /// Of so much air, as a share of the volume.
    pub fn of(air: f64) -> Self {
        match air {
            ..LEAST_AIR => Self::Wet,
            ..ENOUGH_AIR => Self::Tight,
            ..=0.15 => Self::Good,
            ..=0.20 => Self::Open,
            _ => Self::Dry,
        }
    }

    /// Whether there is less than [`ENOUGH_AIR`].
    pub const fn is_short_of_air(self) -> bool {
        matches!(self, Self::Wet | Self::Tight)
    }
}

/// The water in drained cells of a mix, or of a cell, of which it is not known: shares of the volume. From memory.
pub const USUALLY_HELD: [f64; 2] = [0.5, 0.8];

/// A cell of a mix that has drained; shares of its volume.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Drained {
    /// Height of the mix in it, in millimetres.
    pub height_mm: f64,
    /// Water.
    pub water: Spread,
    /// Air: with the water, the pores.
    pub air: Spread,
    /// What the usual air means.
    pub verdict: Verdict,
}

impl Pores {
    /// What a cell holds after draining. The least air is with the fewest pores and the most water that the mix may have,
    /// and both ends are wider by how far the curve may be off.
    pub fn in_cell(&self, cell: &Frustum) -> Drained {
        let [few, usual, many] = self.porosity;
        let [little, held, much] = self.water_held;
        let off = off_by(cell.depth.get::<centimetre>());
        let [wettest, water, driest] = [(few, much.min(few)), (usual, held), (many, little)]
            .map(|(pores, held)| Curve::of_core(pores, held).water_in(cell));
        let air = usual - water;
        Drained {
            height_mm: cell.depth.get::<millimetre>(),
            water: [(driest.min(water) - off).max(0.0), water, (wettest.max(water) + off).min(usual).max(water)],
            air: [(few - wettest).min(air) - off, air, (many - driest).max(air) + off].map(|air| air.clamp(0.0, many)),
            verdict: Verdict::of(air),
        }
    }

    /// Usual air that a cell has at least, without its curve: with a height the air grows no faster than by the power that
    /// it grows by near the floor, and a cell that is wider above has more of it.
    pub fn least_air_in(&self, cell: &Frustum) -> f64 {
        let tall = (cell.depth.get::<centimetre>() / CORE_CM).min(1.0);
        let is_wider_below = cell.bottom > cell.top;
        if is_wider_below { 0.0 } else { (self.porosity[1] - self.water_held[1]) * pow(tall, EXPONENT) }
    }

    /// The usual air in each of some cells after draining.
    pub fn air_in<'c>(&self, cells: impl IntoIterator<Item = &'c Frustum>) -> Vec<f64> {
        let curve = Curve::of_core(self.porosity[1], self.water_held[1]);
        cells.into_iter().map(|cell| self.porosity[1] - curve.water_in(cell)).collect()
    }
}

/// How far the curve may be off, as a share of the volume, by what exponents from 1.4 to 2.2 make of it (computed): 1.2
/// points in cells as tall as those of 72, 2 in lower ones, and ever more in those that are taller than the core.
fn off_by(height_cm: f64) -> f64 {
    if height_cm < 5.0 { 0.02 } else { (0.005 * (height_cm - 6.0)).max(0.012) }
}
