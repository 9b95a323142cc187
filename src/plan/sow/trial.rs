//! A trial of coir: which trays, rows and pots get which half. Nobody halves a row or a pot.

use super::layout::fills_whole;
use super::{Layout, SowingPlan};
use crate::coir::WaterHeld;
use crate::source::words;
use crate::units::to_litres;
use crate::week::{Compared, Sowing, Week, small};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

words! {
    /// Which half of a batch it is, in a trial of coir.
    Half {
        /// With soaked coir.
        Buffered = "buffered",
        /// With coir that is only wetted.
        Straight = "straight",
    }
}

impl Half {
    /// Both, the first batch first.
    pub const BOTH: [Self; 2] = [Self::Buffered, Self::Straight];

    /// The batch of this half, where that of the first half is known.
    pub const fn batch(self, first: usize) -> usize {
        first + self as usize
    }

    /// The water in its coir, where that of a whole batch holds so much; `None` where it is only wetted.
    pub fn water(half: Option<Self>, of_whole: Option<WaterHeld>) -> Option<WaterHeld> {
        of_whole.filter(|_| half != Some(Self::Straight))
    }
}

/// The sowings whose mix is made in two halves, by their indexes.
#[derive(Clone, Debug, Default)]
pub struct Trial(BTreeMap<u32, [HalfOf; 2]>);

/// What of a sowing gets one half.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HalfOf {
    /// Trays and pots of its own, whole; those of the first half come first.
    pub whole: u64,
    /// Rows of other trays.
    pub rows: Vec<TriedRows>,
    /// Cells that are sown or planted.
    pub sown: u64,
    /// Cells that are filled.
    pub filled: u64,
}

/// Rows of one tray that get one half.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TriedRows {
    /// The number of a shared tray, or of a tray among those of the sowing alone.
    pub tray: u64,
    /// Whether it is shared.
    pub is_shared: bool,
    /// The first and the last row.
    pub rows: (u32, u32),
    /// Whether they are sown; else they are only filled.
    pub is_sown: bool,
}

impl Trial {
    /// Parts the trays of the sowings whose batch is tried. Of each tray either half gets as many rows; the odd ones
    /// go to that half of their batch which has less so far, in an order that that of the file does not change.
    pub(in crate::plan) fn of(layout: &Layout, week: &Week, tried: &BTreeSet<usize>) -> Self {
        let mut order: Vec<u32> = (0..)
            .zip(&layout.sowings)
            .filter(|(_, plan)| tried.contains(&plan.batch))
            .map(|(index, _)| index)
            .collect();
        order.sort_by_cached_key(|index| {
            let (sowing, plan) = (&week.sowings[*index as usize], &layout.sowings[*index as usize]);
            let Sowing { crop, variety, tray, .. } = sowing;
            let name = crop.as_ref().map(|crop| &crop.name);
            // Sowings alike in all of this get rows that are alike.
            let fill = (fills_whole(sowing, week), sowing.share, to_litres(sowing.cell()).to_bits());
            (plan.batch, tray, name, variety.as_deref(), Reverse(plan.cells.cells), fill)
        });
        let mut shared: BTreeMap<u32, Vec<TriedRows>> = BTreeMap::new();
        for map in layout.maps.iter().filter(|_| !order.is_empty()) {
            let rows = |rows, is_sown| TriedRows { tray: map.number, is_shared: true, rows, is_sown };
            for portion in map.sown() {
                shared.entry(portion.sowing).or_default().push(rows((portion.from, portion.to), true));
            }
            if let Some(last) = map.portions.last().filter(|_| map.empty > 0) {
                shared.entry(last.sowing).or_default().push(rows((last.to + 1 - map.empty, last.to), false));
            }
        }
        let mut ahead: BTreeMap<usize, f64> = BTreeMap::new();
        let parted = order.into_iter().map(|index| {
            let ahead = ahead.entry(layout.sowings[index as usize].batch).or_default();
            (index, halves(layout, week, index, shared.remove(&index).unwrap_or_default(), ahead))
        });
        Self(parted.collect())
    }

    /// What either half of a sowing's mix fills, where it is tried.
    pub fn halves(&self, sowing: u32) -> Option<&[HalfOf; 2]> {
        self.0.get(&sowing)
    }

    /// The first batches of pairs of which one fills nothing, so that nobody can compare them.
    pub(in crate::plan) fn too_small(&self, layout: &Layout) -> BTreeSet<usize> {
        let mut filled: BTreeMap<usize, [u64; 2]> = BTreeMap::new();
        for (sowing, halves) in &self.0 {
            let sums = filled.entry(layout.sowings[*sowing as usize].batch).or_default();
            sums.iter_mut().zip(halves).for_each(|(sum, half)| *sum += half.filled);
        }
        filled.into_iter().filter(|(_, sums)| sums.contains(&0)).map(|(batch, _)| batch).collect()
    }

    /// The cells of a sowing that are filled, with one half or with the whole of its mix.
    pub(in crate::plan) fn filled(&self, sowing: u32, plan: &SowingPlan, half: Option<Half>) -> u64 {
        let of = half.and_then(|half| Some(&self.halves(sowing)?[half as usize]));
        of.map_or(plan.cells_filled.into(), |of| of.filled)
    }

    pub(in crate::plan) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// Both halves of one sowing, the first half of its batch being so many litres `ahead`.
fn halves(layout: &Layout, week: &Week, index: u32, shared: Vec<TriedRows>, ahead: &mut f64) -> [HalfOf; 2] {
    let (sowing, plan) = (&week.sowings[index as usize], &layout.sowings[index as usize]);
    let (across, tray_rows) = (sowing.tray.row_cells(), sowing.tray.rows);
    let sown_rows = u64::from(plan.cells.cells).div_ceil(across);
    let in_shared: u64 = shared.iter().filter(|rows| rows.is_sown).map(TriedRows::count).sum();
    let own_rows = sown_rows.saturating_sub(in_shared);
    let (full, rest) = (own_rows / tray_rows, own_rows % tray_rows);
    let own = |tray, from: u64, to: u64, is_sown| TriedRows {
        tray,
        is_shared: false,
        rows: (small(from), small(to)),
        is_sown,
    };
    let is_split = in_half_trays(sowing, full_trays(sowing, plan.cells.cells, in_shared), week);
    let whole = if is_split { 0 } else { full / 2 };
    let odd = (2 * whole + 1..=full).map(|tray| own(tray, 1, tray_rows, true));
    let last = (rest > 0).then(|| own(full + 1, 1, rest, true));
    let empty = last.filter(|_| fills_whole(sowing, week)).map(|_| own(full + 1, rest + 1, tray_rows, false));
    let of_whole = whole * tray_rows * across;
    let whole = HalfOf { whole, rows: Vec::new(), sown: of_whole, filled: of_whole };
    let mut halves = [whole.clone(), whole];
    let mut last_sown = Half::Straight;
    for parted in odd.chain(last).chain(empty).chain(shared) {
        let odd_first = parted.count() % 2 == 1 && *ahead <= 0.0;
        let first = match (parted.is_sown, last_sown) {
            (true, _) => parted.count() / 2 + u64::from(odd_first),
            // Unsown rows go with the last row that is sown.
            (false, Half::Buffered) => parted.count(),
            (false, Half::Straight) => 0,
        };
        let rest = parted.count() - first;
        *ahead += (first as f64 - rest as f64) * across as f64 * to_litres(sowing.cell());
        let (from, to) = parted.rows;
        let middle = from + small(first);
        for (half, rows) in [(Half::Buffered, from..middle), (Half::Straight, middle..to + 1)] {
            if rows.is_empty() {
                continue;
            }
            let (of, cells) = (&mut halves[half as usize], rows.len() as u64 * across);
            of.filled += cells;
            of.sown += if parted.is_sown { cells } else { 0 };
            // A pot, or a tray of one row, is whole.
            if tray_rows == 1 {
                of.whole += 1;
            } else {
                of.rows.push(TriedRows { rows: (rows.start, rows.end - 1), ..parted });
            }
            last_sown = if parted.is_sown { half } else { last_sown };
        }
    }
    // The last row that is sown may not be full.
    let short = (sown_rows * across).saturating_sub(plan.cells.cells.into());
    let of = &mut halves[last_sown as usize];
    of.sown = of.sown.saturating_sub(short);
    of.filled = of.filled.saturating_sub(if fills_whole(sowing, week) { 0 } else { short });
    halves
}

/// The trays of a sowing that it fills alone and sows to the last cell, some of its rows being in shared ones.
pub(in crate::plan) fn full_trays(sowing: &Sowing, cells: u32, in_shared: u64) -> u64 {
    let (cells, tray) = (u64::from(cells), &sowing.tray);
    if in_shared == 0 {
        return cells / tray.cells;
    }
    // What is not full is shared.
    cells.div_ceil(tray.row_cells()).saturating_sub(in_shared) / tray.rows
}

/// Whether so many trays of a sowing are parted into halves, row by row, since whole ones are too few for the pairs of its
/// trial.
pub(in crate::plan) fn in_half_trays(sowing: &Sowing, full: u64, week: &Week) -> bool {
    let trial = week.trial.as_ref().filter(|trial| trial.compare == Compared::Coir && trial.is_of(sowing));
    let pairs = trial.map_or(0, |trial| u64::from(trial.pairs));
    sowing.tray.rows.is_multiple_of(2) && (pairs..2 * pairs).contains(&full)
}

impl TriedRows {
    fn count(&self) -> u64 {
        u64::from(self.rows.1 + 1 - self.rows.0)
    }
}
