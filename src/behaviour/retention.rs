//! The water that a mix keeps in a cell once it has drained, by the height of the cell.
//!
//! At a height above the floor the water hangs by that suction, so a low cell stays wetter than a tall one of the same
//! mix. Milks, Fonteno & Larson 1989, J. Amer. Soc. Hort. Sci. 114:48-61 (abstract read: accurate for porosity, water and
//! air).

use super::blend::NotKnown;
use crate::catalogue::{Frustum, FrustumKind, Tray};
use crate::units::length::{centimetre, decimetre};
use crate::units::{Length, to_litres};
use libm::{cosh, exp, log, pow, sinh};
use std::f64::consts::PI;
use std::sync::LazyLock;

/// Height of the core in which the water of an ingredient is measured, in centimetres.
pub const CORE_CM: f64 = 7.6;
/// The exponent of the curve of a mix, and the water that no height drains, as a share of what its core holds: judgements
/// for mixes of peat, bark and the like.
pub(super) const EXPONENT: f64 = 1.7;
const RESIDUAL: f64 = 0.25;

/// Water by suction: `r + (s - r) (1 + (a h)^n)^(1/n - 1)` (van Genuchten 1980), as shares of the volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    /// With every pore full.
    pub saturated: f64,
    /// What stays at any suction.
    pub residual: f64,
    /// How soon it drains, for each centimetre of suction.
    pub per_cm: f64,
    /// How steeply.
    pub exponent: f64,
}

impl Curve {
    /// Of a mix whose core of 7.6 cm holds so much water, porosity and water being shares of the volume; all pores are
    /// full where it would hold more.
    ///
    /// ```
    /// use trayful::behaviour::Curve;
    /// use trayful::catalogue::{Frustum, FrustumKind};
    /// use trayful::units::length;
    /// let [wide, deep] = ["40 mm", "76 mm"].map(|side| length(side).unwrap());
    /// let core = Frustum { kind: FrustumKind::Round, top: wide, bottom: wide, depth: deep };
    /// assert!((Curve::of_core(0.98, 0.87).water_in(&core) - 0.87).abs() < 1e-9);
    /// ```
    pub fn of_core(porosity: f64, water_held: f64) -> Self {
        let residual = RESIDUAL * water_held;
        let wanted = (water_held - residual) / (porosity - residual);
        let with = |per_cm| Self { saturated: porosity, residual, per_cm, exponent: EXPONENT };
        if water_held >= porosity {
            return with(0.0);
        }
        // Where a core is `x = a h` tall, its mean changes by `f(x) - mean` for each unit of ln x.
        let (mut low, mut high) = (log(1e-6), log(1e9));
        let mut log = 0.0;
        for _ in 0..MOST_STEPS {
            let tall = exp(log);
            let mean = mean(|height| saturation(tall * height, EXPONENT));
            *(if mean > wanted { &mut low } else { &mut high }) = log;
            let next = log - (mean - wanted) / (saturation(tall, EXPONENT) - mean);
            let next = if (low..=high).contains(&next) { next } else { f64::midpoint(low, high) };
            if (next - log).abs() < 1e-13 {
                break;
            }
            log = next;
        }
        with(exp(log) / CORE_CM)
    }

    /// Water at a suction in centimetres, as a share of the volume.
    pub fn water_at(&self, suction_cm: f64) -> f64 {
        self.residual + (self.saturated - self.residual) * saturation(self.per_cm * suction_cm, self.exponent)
    }

    /// Water in a cell that has drained, as a share of its volume: the mean over its heights, each by its width.
    pub fn water_in(&self, cell: &Frustum) -> f64 {
        let [top, bottom, tall] = [cell.top, cell.bottom, cell.depth].map(|length| length.get::<centimetre>());
        let all = (top * top + top * bottom + bottom * bottom) / 3.0;
        mean(|height| (bottom + (top - bottom) * height).powi(2) / all * self.water_at(tall * height))
    }
}

/// Enough for any curve: a test looks at where they end.
const MOST_STEPS: u32 = 60;

/// The share of the pores that drain which is still full, where the suction is so many times `1/a`.
fn saturation(suction: f64, exponent: f64) -> f64 {
    pow(1.0 + pow(suction, exponent), 1.0 / exponent - 1.0)
}

/// The mean of a function from 0 to 1 by double exponential quadrature of 63 points: `u = 1 / (1 + e^(-π sinh t))` in
/// steps of 0.1 crowds them where a curve falls, near the floor. Off by less than 1e-9 where the fall is within a
/// thousandth of the height.
fn mean(of: impl Fn(f64) -> f64) -> f64 {
    static POINTS: LazyLock<[(f64, f64); 63]> = LazyLock::new(|| {
        std::array::from_fn(|index| {
            let t = 0.1 * (index as f64 - 31.0);
            let u = 1.0 / (1.0 + exp(-PI * sinh(t)));
            let down = 1.0 / (1.0 + exp(PI * sinh(t)));
            (u, 0.1 * PI * cosh(t) * u * down)
        })
    });
    POINTS.iter().map(|(u, weight)| weight * of(*u)).sum()
}

/// Why nothing can be said of the air and water in a cell.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoCell {
    /// Blocks are pressed, and every figure is of loose mix.
    #[error("air and water are not known of pressed blocks: the figures are of loose mix")]
    Pressed,
    /// Its depth is unknown.
    #[error("air and water are not known without its depth: state `depth:` of your own tray")]
    NoDepth,
    /// It is no cell for plants, or its depth or volume is a slip.
    #[error("nothing is worked out for a cell more than {MOST_SLENDER:.0} times as deep as wide")]
    Slender,
    /// Pores or water of an ingredient are unknown.
    #[error(transparent)]
    NotKnown(#[from] NotKnown),
}

/// The deepest that a cell may be, in its own widths (a judgement): tubes for trees are eight.
const MOST_SLENDER: f64 = 20.0;

/// The inside of a cell as it is filled: its shape where it was given; else by volume, width and depth a square that
/// narrows evenly, and without a width as wide below as above.
///
/// # Errors
/// [`NoCell`] where its shape is not known or is none for plants.
pub fn shape_of(tray: &Tray) -> Result<Frustum, NoCell> {
    if tray.compression.is_some() {
        return Err(NoCell::Pressed);
    }
    let (shape, depth) = (tray.shape, tray.depth.ok_or(NoCell::NoDepth)?);
    let dm = |length: Length| length.get::<decimetre>();
    let area = to_litres(tray.cell) / dm(depth);
    let top = tray.top.map_or(area.sqrt(), dm);
    // The positive root of `b² + t b + t² = 3 V / h`; below a pyramid there is none.
    let bottom = ((12.0 * area - 3.0 * top * top).max(top * top).sqrt() - top) / 2.0;
    let [top, bottom] = [top, bottom].map(Length::new::<decimetre>);
    let shape = shape.unwrap_or(Frustum { kind: FrustumKind::Square, top, bottom, depth });
    let is_slender = dm(shape.depth) > MOST_SLENDER * dm(shape.top).max(dm(shape.bottom));
    if is_slender { Err(NoCell::Slender) } else { Ok(shape) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_curve_gives_its_core_its_water() {
        let [wide, tall] = [5.0, CORE_CM].map(Length::new::<centimetre>);
        let core = Frustum { kind: FrustumKind::Round, top: wide, bottom: wide, depth: tall };
        for porosity in [0.0, 1e-6, 0.02, 0.4, 0.9, 1.0] {
            for share in [0.0, 1e-9, 1e-4, 0.01, 0.1, 0.3, 0.6, 0.9, 0.999, 1.0 - 1e-12, 1.0] {
                let held = porosity * share;
                let curve = Curve::of_core(porosity, held);
                // What holds next to nothing would drain faster than is looked for.
                let off = if share < 0.01 { 1e-5 } else { 1e-9 };
                assert!((curve.water_in(&core) - held).abs() < off, "{porosity} {share} {curve:?}");
                // Empty or full, a taller cell is no wetter and nothing leaves the range.
                let water = [0.0, 1.0, 10.0, 1000.0].map(|suction| curve.water_at(suction));
                assert!(water.windows(2).all(|pair| pair[0] >= pair[1]) && water[0] <= porosity + 1e-12, "{water:?}");
            }
        }
    }
}
