//! Sowings to cells, cells to rows, rows to trays.

mod cells;
mod layout;
mod trays;
mod trial;

pub use cells::{cells_for, chance_of, chance_per_cell};
pub use layout::{FilledTrays, Layout, OnRack, TrayMap, TrayPortion, Unstated};
pub use trays::{Portion, TrayRows, arrange};
pub use trial::{Half, HalfOf, Trial, TriedRows};

pub(super) use layout::{lay_out, unstated};
pub(super) use trial::{full_trays, in_half_trays};

use crate::diagnostic::Rejected;
use crate::exact::Fraction;
use crate::week::{Faults, MOST_CELLS, Sowing, SowingAmount, Week, small, usual_spare};
use std::collections::HashMap;
use std::num::NonZeroU32;
use std::sync::Arc;

/// What is worked out for a [`Sowing`], whose crop and tray stand there.
#[derive(Clone, Debug)]
pub struct SowingPlan {
    /// Index in [`super::Mixes::batches`].
    pub batch: usize,
    /// Its cells and seeds.
    pub cells: CellCount,
    /// Cells filled with mix.
    pub cells_filled: u32,
    /// Trays or pots it lies in, shared ones counted too.
    pub trays: u32,
}

impl SowingPlan {
    /// The weight of its seed in grams, where the seed count of its crop is known.
    pub fn seed_grams(&self, sowing: &Sowing) -> Option<f64> {
        let per_gram = sowing.crop.as_ref()?.seeds_per_gram.filter(|_| !sowing.pelleted)?;
        self.cells.seeds.map(|seeds| f64::from(seeds.get()) / per_gram.to_f64())
    }
}

/// The cells of a sowing and how they came about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellCount {
    /// Plants wanted, where the sowing says so.
    pub plants: Option<NonZeroU32>,
    /// Cells sown or planted.
    pub cells: u32,
    /// Seeds; `None` for potting on, and where no crop is named.
    pub seeds: Option<NonZeroU32>,
    /// Whose germination the cells were worked out with, where that was from plants.
    pub germination: Option<Germination>,
}

/// Whose figure a germination is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Germination {
    /// The packet's, as the sowing states it.
    Packet,
    /// The user's own for the crop.
    Own,
    /// The legal minimum.
    LegalMinimum,
    /// Assumed: what the table expects of the crop.
    Expected,
    /// Assumed: 70 %.
    Assumed,
}

/// The cells of every sowing.
pub(super) fn cells(week: &Week, faults: &mut Faults) -> Vec<CellCount> {
    // Many sowings of a long list have the same terms, and many ask for the same.
    // What all differs is not kept: each takes more room than its sowing.
    const MOST_KEPT: usize = 10_000;
    let mut chances = HashMap::new();
    let mut known: HashMap<(u32, u64, u64), Option<u64>> = HashMap::new();
    let sowings = week.sowings.iter().map(|sowing| {
        let sown = CellCount { plants: None, cells: 0, seeds: None, germination: None };
        let (cells, count) = match sowing.amount {
            SowingAmount::Cells(cells) => (Some(u64::from(cells)), sown),
            SowingAmount::Trays(trays) => {
                (u64::from(trays).checked_mul(sowing.tray.cells).filter(|cells| *cells <= MOST_CELLS), sown)
            }
            SowingAmount::Potted(plants) => {
                let factor = sowing.spare.or_else(usual_spare).and_then(|spare| spare.plus(Fraction::ONE));
                let wanted = factor.and_then(|factor| factor.times(Fraction::whole(plants.into())));
                let cells = wanted.and_then(Fraction::ceil).filter(|cells| *cells <= MOST_CELLS);
                (cells, CellCount { plants: NonZeroU32::new(plants), ..sown })
            }
            SowingAmount::Plants(plants) => {
                if chances.len() > MOST_KEPT {
                    chances.clear();
                }
                if known.len() > MOST_KEPT {
                    known.clear();
                }
                let (p, surety, whose) =
                    *chances.entry((Arc::as_ptr(&sowing.terms), sowing.crop.as_ref())).or_insert_with(|| {
                        (chance_of_cell(sowing, week), week.surety(sowing).to_f64(), germination(sowing).1)
                    });
                let asked = (plants, p.to_bits(), surety.to_bits());
                let cells = *known.entry(asked).or_insert_with(|| cells_for(plants.into(), p, surety));
                (cells, CellCount { plants: NonZeroU32::new(plants), germination: Some(whose), ..sown })
            }
        };
        let cells = cells.unwrap_or_else(|| {
            let what = format!("this sowing would need more than {MOST_CELLS} cells");
            faults.push(&sowing.place, what, "fewer plants or cells, or better germination");
            0
        });
        // Without a crop nothing is said of seed.
        let is_sown = sowing.crop.is_some() && !matches!(sowing.amount, SowingAmount::Potted(_));
        let seeds = NonZeroU32::new(small(cells * sowing.seeds)).filter(|_| is_sown);
        CellCount { cells: small(cells), seeds, ..count }
    });
    sowings.collect()
}

/// The trays or pots that each sowing of a week takes by itself, without sharing any.
///
/// # Errors
/// [`Rejected`] for sowings that would need too many cells.
pub fn trays_alone(week: &Week) -> Result<Vec<u64>, Rejected> {
    let mut faults = Faults::default();
    let cells = cells(week, &mut faults);
    faults.settle()?;
    let rows = |sowing: &Sowing, cells: u32| u64::from(cells).div_ceil(sowing.tray.row_cells());
    let trays = week.sowings.iter().zip(cells);
    Ok(trays.map(|(sowing, cells)| rows(sowing, cells.cells).div_ceil(sowing.tray.rows)).collect())
}

/// The chance that a cell of a sowing gives a plant.
pub fn chance_of_cell(sowing: &Sowing, week: &Week) -> f64 {
    chance_per_cell(germination(sowing).0, sowing.seeds, week.usable(sowing))
}

/// The packet's germination, the user's for the crop, the legal minimum, what is expected of the
/// crop, or 70 %.
pub fn germination(sowing: &Sowing) -> (Fraction, Germination) {
    let crop = sowing.crop.as_ref();
    let assumed = Fraction::new(70, 100).unwrap_or(Fraction::ONE);
    let own = crop.and_then(|crop| crop.germination);
    let legal = crop.and_then(|crop| crop.legal_minimum);
    let expected = crop.and_then(|crop| crop.expected_germination);
    let known = [
        (sowing.germination, Germination::Packet),
        (own, Germination::Own),
        (legal, Germination::LegalMinimum),
        (expected, Germination::Expected),
    ];
    known.into_iter().find_map(|(share, of)| Some((share?, of))).unwrap_or((assumed, Germination::Assumed))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A table may have 200,000 rows, each of which is kept in these three forms.
    #[test]
    fn a_row_takes_few_bytes() {
        assert!(size_of::<Sowing>() + size_of::<SowingPlan>() + size_of::<CellCount>() <= 120);
    }
}
