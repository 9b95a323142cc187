//! Which way each item takes: for now each its nearest.

use super::occupancy::{Limits, Occupancy, Stay, work_days};

/// A sowing, or a succession with all its plantings, whose days are chosen together.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Item {
    /// The ways in which its days may fall, at least one.
    pub ways: Vec<Way>,
}

/// One way in which the days of an item may fall.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Way {
    /// Half days off the middles of the windows, summed over the plantings.
    pub off: u64,
    /// The stays of its plantings and of their pots.
    pub stays: Vec<Stay>,
}

/// What a choice costs, compared in the order of the fields (design 9.5).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost {
    /// Tray-days beyond the rack, the mats and the trays of a day.
    pub over: u64,
    /// Days on which something is sown or potted.
    pub days: u64,
    /// Half days off the middles of the windows.
    pub off: u64,
}

/// A choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The way of each item, counted from zero.
    pub ways: Vec<usize>,
    /// What it costs.
    pub cost: Cost,
    /// Whether no choice costs less than this one.
    pub proven: bool,
}

/// The choice of the ways least off their middles.
pub fn choose(items: &[Item], limits: &Limits) -> Choice {
    let least = |item: &Item| (0..item.ways.len()).min_by_key(|way| item.ways[*way].off).unwrap_or(0);
    let ways: Vec<usize> = items.iter().map(least).collect();
    let chosen = || items.iter().zip(&ways).map(|(item, way)| &item.ways[*way]);
    let stays = || chosen().flat_map(|way| &way.stays);
    let over = Occupancy::of(stays(), limits).over(limits);
    let days = work_days(stays()).len() as u64;
    let cost = Cost { over, days, off: chosen().map(|way| way.off).sum() };
    Choice { cost, proven: false, ways }
}
