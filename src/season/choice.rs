//! Which way each item takes: for now each its nearest.

use super::occupancy::{Limits, Stay};

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

/// A choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The way of each item, counted from zero.
    pub ways: Vec<usize>,
}

/// The choice of the ways least off their middles.
pub fn choose(items: &[Item], _: &Limits) -> Choice {
    let least = |item: &Item| (0..item.ways.len()).min_by_key(|way| item.ways[*way].off).unwrap_or(0);
    Choice { ways: items.iter().map(least).collect() }
}
