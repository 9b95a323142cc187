//! Shrinkage on blending: fine grains slip into the gaps between coarse ones.
//!
//! Two models of two sizes of grain, with loose volumes in and the blended volume out.
//! They know nothing of moisture and pressing, so a bucket test always wins over them.

use super::blend::{Parts, share_of};
use libm::pow;

/// Share of a bed of loose grains that is gaps between them, where nothing better is
/// known: with it the limit model turns 1 + 1 into 1.6.
pub const GAPS: f64 = 0.4;

/// Volume of `coarse` and `fine` blended, `ratio` being fine over coarse diameter:
/// the linear packing model for two sizes.
///
/// Either the coarse grains touch, and a share `f` of the fine ones vanishes between
/// them, or the fine ones surround them, and a share `g` of the coarse grains' own gaps
/// is filled. At a ratio of 0 the fine grains fill every gap, `max(coarse, fine + (1 - gaps) coarse)`: the limit model of
/// Furnas, used for potting mixes by Spomer 1974, HortScience 9:532 (from memory). At 1 nothing shrinks. `f` and `g` after
/// Yu & Standish 1987, Powder Technology 52:233 (from memory).
///
/// ```
/// use trayful::behaviour::packing::{GAPS, linear};
/// assert!((linear(1.0, 1.0, GAPS, 0.0) - 1.6).abs() < 1e-12);
/// ```
pub fn linear(coarse: f64, fine: f64, gaps: f64, ratio: f64) -> f64 {
    let rest = 1.0 - ratio;
    let f = pow(rest, 3.3) + 2.8 * ratio * pow(rest, 2.7);
    let g = rest.powi(2) + 0.4 * ratio * pow(rest, 3.7);
    (coarse + (1.0 - f) * fine).max(fine + (1.0 - gaps * g) * coarse)
}

/// How much of the loose volume should be kept after blending, for a share of coarse grains in it, least and most: by the
/// limit model, and by the linear one with grains a third as wide, as perlite or bark have among peat or coir (a judgement).
///
/// ```
/// use trayful::behaviour::packing::expected_yield;
/// // A third of perlite and vermiculite among coir and castings.
/// let [least, most] = expected_yield(1.0 / 3.0);
/// assert!(least < 0.88 && 0.88 < most);
/// ```
pub fn expected_yield(coarse: f64) -> [f64; 2] {
    let coarse = coarse.clamp(0.0, 1.0);
    [0.0, 1.0 / 3.0].map(|ratio| linear(coarse, 1.0 - coarse, GAPS, ratio))
}

/// What is kept of loose parts after blending, as a share of their volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kept {
    /// As the recipe says.
    Said(f64),
    /// The usual share, as far as the sizes of the parts let expect it.
    Usual(f64),
}

impl Kept {
    /// Of some parts.
    pub fn of(self, parts: &Parts<'_>) -> f64 {
        match self {
            Self::Said(share) => share,
            Self::Usual(share) => {
                let [least, most] = expected_yield(share_of(parts, |ingredient| ingredient.coarse));
                share.clamp(least, most)
            }
        }
    }
}
