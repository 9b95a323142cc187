//! Shrinkage on blending: fine grains slip into the gaps between coarse ones.
//!
//! Two models of two sizes of grain, with loose volumes in and the blended volume out.
//! They know nothing of moisture and pressing, so a bucket test always wins over them.

use libm::pow;

/// Share of a bed of loose grains that is gaps between them, where nothing better is
/// known: with it the limit model turns 1 + 1 into 1.6.
pub const GAPS: f64 = 0.4;

/// Volume of `coarse` and `fine` blended, where the fine grains are so small that they
/// fill every gap: `max(coarse, fine + (1 - gaps) coarse)`.
///
/// The limit model of Furnas, used for potting mixes by Spomer 1974, HortScience 9:532
/// (from memory).
///
/// ```
/// use trayful::behaviour::packing::{GAPS, limit};
/// assert!((limit(1.0, 1.0, GAPS) - 1.6).abs() < 1e-12);
/// ```
pub fn limit(coarse: f64, fine: f64, gaps: f64) -> f64 {
    coarse.max(fine + (1.0 - gaps) * coarse)
}

/// Volume of `coarse` and `fine` blended, `ratio` being fine over coarse diameter:
/// the linear packing model for two sizes.
///
/// Either the coarse grains touch, and a share `f` of the fine ones vanishes between
/// them, or the fine ones surround them, and a share `g` of the coarse grains' own gaps
/// is filled. At a ratio of 0 this is [`limit`]; at 1 nothing shrinks. `f` and `g` after
/// Yu & Standish 1987, Powder Technology 52:233 (from memory).
pub fn linear(coarse: f64, fine: f64, gaps: f64, ratio: f64) -> f64 {
    let rest = 1.0 - ratio;
    let f = pow(rest, 3.3) + 2.8 * ratio * pow(rest, 2.7);
    let g = rest.powi(2) + 0.4 * ratio * pow(rest, 3.7);
    (coarse + (1.0 - f) * fine).max(fine + (1.0 - gaps * g) * coarse)
}

/// Mix kept after blending, for a share of coarse grains by loose volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedYield {
    /// If the fine grains fill every gap they can.
    pub least: f64,
    /// If they are a third as wide as the coarse ones.
    pub most: f64,
}

/// How much of the loose volume should be kept: the limit model, and the linear one with
/// grains a third as wide, as perlite or bark have among peat or coir (a judgement).
///
/// ```
/// use trayful::behaviour::packing::expected_yield;
/// // A third of perlite and vermiculite among coir and castings.
/// let kept = expected_yield(1.0 / 3.0);
/// assert!(kept.least < 0.88 && 0.88 < kept.most);
/// ```
pub fn expected_yield(coarse: f64) -> ExpectedYield {
    let coarse = coarse.clamp(0.0, 1.0);
    ExpectedYield { least: limit(coarse, 1.0 - coarse, GAPS), most: linear(coarse, 1.0 - coarse, GAPS, 1.0 / 3.0) }
}
