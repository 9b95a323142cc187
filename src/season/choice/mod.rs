//! The choice of days (design 9.5): which of the ways in which its days may fall each sowing takes, so that all together
//! cost least: fewest tray-days beyond the rack, the mats and the trays of a day; of those fewest days of work; of those
//! the least sum of days off the middles of the windows.
//!
//! What cannot run short is left out, and what then has nothing in common is chosen by itself (`problem`). A good
//! choice is made by moving items and whole days (`trial`); prices say how much better another can be at most
//! (`prices`); and what is left is searched in branches (`search`), exactly where the work is enough.
//! Work is counted, never timed: the same files give the same choice everywhere.

mod prices;
mod problem;
mod search;
mod trial;

pub use problem::{Cost, Item, Way};

use super::occupancy::Limits;
use problem::Problem;
use search::search;

/// Work for all items together. A unit is one look at a move, at a day of work of it, or at a slot that it takes.
pub const MOST_WORK: u64 = 3_500_000;
/// Work besides for each way.
pub const WORK_OF_WAY: u64 = 1_000;

/// The way that each item takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The place of its way in each item.
    pub ways: Vec<usize>,
    /// What they cost together.
    pub cost: Cost,
    /// No choice costs less than this, compared as costs are.
    pub bound: Cost,
    /// Whether no choice costs less than this one; else it is the best that was found.
    pub proven: bool,
    /// The work done.
    pub work: u64,
}

/// The best choice. Neither the order of the items nor that of their ways changes which ways are taken: of equal costs
/// the content decides.
///
/// ```
/// use trayful::season::choice::{Cost, Item, Way, choose};
/// use trayful::season::occupancy::{Limits, Stay};
/// // Sown on day 0 or 7 or 14, planted out on day 40; the middle of the window is day 7.
/// let tray = |from| Stay { from, until: 33, trays: 2, spaced: None, mat_until: None, frame_from: None, work: true };
/// let way = |from: i32| Way { off: u64::from(from.abs_diff(7)) * 2, stays: vec![tray(from)] };
/// let kale = Item { ways: vec![way(0), way(7), way(14)] };
/// let leek = Item { ways: vec![way(0), way(14)] };
/// // One day of work for both; three places are one too few for 19 days.
/// let choice = choose(&[kale, leek], &Limits { places: Some(3), ..Limits::default() });
/// assert_eq!(choice.ways, [2, 1]);
/// assert_eq!(choice.cost, Cost { over: 19, days: 1, off: 28 });
/// assert!(choice.proven);
/// ```
pub fn choose(items: &[Item], limits: &Limits) -> Choice {
    choose_within(items, limits, MOST_WORK)
}

/// The same with another amount of work in place of [`MOST_WORK`].
pub fn choose_within(items: &[Item], limits: &Limits, most_work: u64) -> Choice {
    // By content: neither the order of items nor that of their ways matters.
    let ways = items.iter().map(|item| item.ways.iter().enumerate().collect());
    let mut sorted: Vec<(usize, Vec<(usize, &Way)>)> = ways.enumerate().collect();
    sorted.iter_mut().for_each(|(_, ways)| ways.sort_by_key(|&(_, way)| way));
    sorted.sort_by(|(_, one), (_, other)| one.iter().map(|(_, way)| way).cmp(other.iter().map(|(_, way)| way)));
    sorted.retain(|(_, ways)| !ways.is_empty());
    let all: Vec<Vec<&Way>> = sorted.iter().map(|(_, ways)| ways.iter().map(|&(_, way)| way).collect()).collect();
    let mut choice =
        Choice { ways: vec![0; items.len()], cost: Cost::default(), bound: Cost::default(), proven: true, work: 0 };
    let total: usize = all.iter().map(Vec::len).sum();
    for part in Problem::of(&all, limits).parts() {
        let items: Vec<Vec<&Way>> = part.iter().map(|&item| all[item].clone()).collect();
        let problem = Problem::of(&items, limits);
        let ways = problem.moves.len() as u64;
        let found = search(&problem, most_work.saturating_mul(ways) / total as u64 + WORK_OF_WAY * ways);
        for (&item, index) in part.iter().zip(&found.moves) {
            let (at, ways) = &sorted[item];
            choice.ways[*at] = ways[index - problem.items[problem.moves[*index].item].start].0;
        }
        choice.cost = choice.cost + found.cost;
        choice.bound = choice.bound + found.bound;
        choice.work += found.work;
    }
    choice.proven = choice.cost == choice.bound;
    choice
}
