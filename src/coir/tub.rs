//! How large a tub a course needs, or how many runs in a tub at hand.

use super::error::{CoirError, within};

/// What a tub must hold for each litre of water and coir, so that they can be stirred.
const ROOM_TO_STIR: f64 = 1.4;
/// More runs of one tub than this are refused.
const MOST_RUNS: u32 = 100;
/// Real density of coir, kg/L.
const SOLIDS_KG_L: f64 = 1.485;
/// Sizes that tubs come in, within each power of ten.
const SIZES: [f64; 11] = [1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];

/// The tub for the fullest step of a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tub {
    /// Water and solids at the fullest, L.
    pub contents_l: f64,
    /// With room to stir, rounded up to a size that tubs come in, L.
    pub tub_l: f64,
}

impl Tub {
    /// The tub for `water_l` litres of water with `dry_kg` kilograms of coir in them, both above 0.
    pub(crate) fn holding(water_l: f64, dry_kg: f64) -> Self {
        let contents_l = water_l + dry_kg / SOLIDS_KG_L;
        let need_l = contents_l * ROOM_TO_STIR;
        let decade = 10f64.powf(need_l.log10().floor());
        let fitting = SIZES.into_iter().map(|size| size * decade).find(|&size_l| size_l >= need_l);
        Self { contents_l, tub_l: fitting.unwrap_or(need_l) }
    }

    /// Runs, each with an equal share of the coir, in a tub of one's own.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless the tub holds 0.1 to 1e6 L, and [`CoirError::TooManyRuns`] where it would have
    /// to be filled more than a hundred times.
    pub fn runs(&self, own_l: f64) -> Result<u32, CoirError> {
        within("the tub, in L,", own_l, 0.1..=1e6)?;
        // An exact multiple must not round up to one run more.
        let runs = (self.contents_l * ROOM_TO_STIR / own_l - 1e-9).ceil();
        if runs > f64::from(MOST_RUNS) {
            return Err(CoirError::TooManyRuns { runs, limit: MOST_RUNS });
        }
        Ok(runs.max(1.0) as u32)
    }
}
