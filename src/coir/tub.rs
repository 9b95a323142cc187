//! How large a tub a course needs, or how many runs in a tub at hand.

use super::error::{CoirError, MOST_RUNS, within};
use crate::units::{cover, in_litres};

/// What a tub must hold for each litre of water and coir, so that they can be stirred.
const ROOM_TO_STIR: f64 = 1.4;
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
        let decade = libm::pow(10.0, libm::log10(need_l).floor());
        let fitting = SIZES.into_iter().map(|size| size * decade).find(|&size_l| size_l >= need_l);
        Self { contents_l, tub_l: fitting.unwrap_or(need_l) }
    }

    /// The tub that so many runs would take, L.
    pub fn for_runs(&self, runs: u32) -> f64 {
        self.contents_l * ROOM_TO_STIR / f64::from(runs)
    }

    /// Runs, each with an equal share of the coir, in a tub of one's own.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless the tub holds 0.1 to 1e6 L, and [`CoirError::TooManyRuns`] where it would have
    /// to be filled more than a hundred times.
    pub fn runs(&self, own_l: f64) -> Result<u32, CoirError> {
        within("the tub, in L,", own_l, 0.1..=1e6)?;
        let runs = cover(in_litres(self.for_runs(1)), in_litres(own_l)).map_or(u64::MAX, |runs| runs.count);
        let few = u32::try_from(runs.max(1)).ok().filter(|runs| *runs <= MOST_RUNS);
        few.ok_or(CoirError::TooManyRuns(runs as f64))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// 80 L of water on 14.85 kg of coir (10 L of solids) are 90 L, and 126 L with room to stir.
    #[test]
    fn a_tub_of_a_size_that_is_sold() {
        let tub = Tub::holding(80.0, 14.85);
        assert!((tub.contents_l - 90.0).abs() < 1e-9);
        assert_eq!(tub.tub_l, 150.0);
        assert_eq!(Tub::holding(42.0, 1e-9).tub_l, 60.0);
        // The largest size of one power of ten is the smallest of the next.
        assert_eq!(Tub::holding(6.5, 1e-9).tub_l, 10.0);
    }

    #[test]
    fn runs_of_a_tub_at_hand() {
        let tub = Tub::holding(80.0, 14.85);
        assert_eq!([200.0, 126.0, 125.9, 63.0, 62.9, 42.0].map(|own_l| tub.runs(own_l).unwrap()), [1, 1, 2, 2, 3, 3]);
        assert_eq!(tub.runs(1.26).unwrap(), 100);
        // Rounding of one part in 1e9 is no run more, but a thousandth is; a tub may be smaller than its coir.
        assert_eq!(
            [126.0 * (1.0 - 1e-10), 126.0 * (1.0 - 1e-3), 12.6].map(|own_l| tub.runs(own_l).unwrap()),
            [1, 2, 10]
        );
        assert!(matches!(tub.runs(1.25), Err(CoirError::TooManyRuns(_))));
        assert!(matches!(tub.runs(0.05), Err(CoirError::OutOfRange { .. })));
    }
}
