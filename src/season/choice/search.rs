//! The search for the best choice: a good one first, then branches, each left where nothing in it can be better.

use super::prices::{Aim, Prices};
use super::problem::{Cost, Problem};
use super::trial::Trial;
use rust_decimal::prelude::ToPrimitive;

/// Rounds of prices for all moves, and in each branch.
const ROUNDS: [u32; 2] = [300, 8];
/// The same where the choices are few enough to look at each.
const ROUNDS_OF_FEW: [u32; 2] = [8, 1];
/// Work for each way to make a choice better before the branches.
const SHAKES: u64 = 1_000;

/// The best choice found.
pub(super) struct Found {
    pub moves: Vec<usize>,
    pub cost: Cost,
    /// No choice costs less.
    pub bound: Cost,
    pub work: u64,
}

struct Search<'p> {
    problem: &'p Problem,
    aim: Aim,
    best: Trial<'p>,
    trial: Trial<'p>,
    /// The moves that are left in a branch, and how many of each item.
    left: Vec<bool>,
    of_item: Vec<usize>,
    /// The others, in the order in which they were ruled out.
    ruled_out: Vec<usize>,
    prices: Prices<'p>,
    random: u64,
    /// Work for former aims.
    spent: u64,
    most_work: u64,
}

/// Searches with about so much work.
pub(super) fn search(problem: &Problem, most_work: u64) -> Found {
    let mut trial = Trial::greedy(problem);
    trial.improve(most_work / 4);
    let mut search = Search {
        problem,
        aim: Aim::Over,
        best: trial.clone(),
        left: vec![true; problem.moves.len()],
        of_item: problem.items.iter().map(ExactSizeIterator::len).collect(),
        ruled_out: Vec::new(),
        prices: Prices::new(problem, Aim::Over, trial.cost),
        trial,
        random: 1,
        spent: 0,
        most_work,
    };
    let mut bound = [0; 3];
    // Part of what is left of the work for each; later ones need more prices.
    for (aim, share) in [(Aim::Over, 3), (Aim::Days, 2), (Aim::Off, 1)] {
        search.most_work = search.work() + most_work.saturating_sub(search.work()) / share;
        let least = search.least(aim);
        bound[aim as usize] = least;
        if least < aim.of(search.best.cost) {
            search.shake(most_work);
            break;
        }
    }
    let before = search.best.work;
    search.best.settle(before + SHAKES * problem.moves.len() as u64);
    let work = search.work() + search.best.work - before;
    let bound = Cost { over: bound[0], days: bound[1], off: bound[2] };
    Found { moves: search.best.moves, cost: search.best.cost, bound, work }
}

impl Search<'_> {
    fn work(&self) -> u64 {
        self.spent + self.prices.work + self.trial.work
    }

    fn exhausted(&self) -> bool {
        self.work() > self.most_work
    }

    /// What no choice is below, given the best of the aims before; the best known itself if it is proved best.
    fn least(&mut self, aim: Aim) -> u64 {
        self.spent += self.prices.work;
        self.prices = Prices::new(self.problem, aim, self.best.cost);
        self.aim = aim;
        if aim == Aim::Over && self.best.cost.over == 0 {
            return 0;
        }
        let is_few = self.are_few();
        let [rounds, of_branch] = if is_few { ROUNDS_OF_FEW } else { ROUNDS };
        // Before any branch, what is as good as the best known stays for the aims that follow.
        let Some(bound) = self.prove(rounds, 1) else { return aim.of(self.best.cost) };
        if !is_few {
            let part = self.most_work.saturating_sub(self.work()) / 8;
            self.shake(self.work() + part.min(SHAKES * self.problem.moves.len() as u64));
        }
        let mark = self.ruled_out.len();
        self.branch(of_branch);
        self.undo(mark);
        if self.exhausted() { bound.min(aim.of(self.best.cost)) } else { aim.of(self.best.cost) }
    }

    /// Whether all choices that are left can be looked at with half of the work.
    fn are_few(&self) -> bool {
        let Problem { moves, links, slots, .. } = self.problem;
        let look = 6 * moves.len() + links.len() + slots.len();
        let work = usize::try_from(self.most_work.saturating_sub(self.work()) / 2).unwrap_or(usize::MAX);
        let most = work / look.max(1);
        self.of_item.iter().try_fold(1, |all, ways| Some(all * ways).filter(|all| *all <= most)).is_some()
    }

    /// Raises prices for so many rounds. `None` where nothing that is left is better than the best known, or not so much
    /// worse; else what nothing that is left is below.
    fn prove(&mut self, rounds: u32, worse_by: u64) -> Option<u64> {
        let (mut step, mut in_vain, mut highest) = (1.0, 0, 0.0);
        for round in 0..rounds {
            let bound = self.prices.bound(&self.left);
            in_vain = if bound > highest + 1e-3 { 0 } else { in_vain + 1 };
            highest = bound.max(highest);
            if round % 16 == 0 {
                self.attempt(worse_by > 0);
            }
            if whole(highest) >= self.aim.of(self.best.cost) || !self.rule_out(bound, worse_by) {
                return None;
            }
            if in_vain == 10 {
                (step, in_vain) = (step / 2.0, 0);
            }
            if self.exhausted() || !self.prices.adjust(bound, step) {
                break;
            }
        }
        Some(whole(highest))
    }

    /// Rules out the moves with which everything is so much worse than the best known. False if an item has none left.
    fn rule_out(&mut self, bound: f64, worse_by: u64) -> bool {
        let least = self.aim.of(self.best.cost) + worse_by;
        for (index, each) in self.problem.moves.iter().enumerate() {
            let more = self.prices.costs[index] - self.prices.costs[self.prices.cheapest[each.item]];
            if self.left[index] && whole(bound + more) >= least {
                self.rule_out_move(index);
            }
        }
        !self.of_item.contains(&0)
    }

    fn rule_out_move(&mut self, index: usize) {
        self.left[index] = false;
        self.of_item[self.problem.moves[index].item] -= 1;
        self.ruled_out.push(index);
    }

    /// Takes back what was ruled out after so many others.
    fn undo(&mut self, after: usize) {
        for index in self.ruled_out.drain(after..) {
            self.left[index] = true;
            self.of_item[self.problem.moves[index].item] += 1;
        }
    }

    fn moves_left(&self, item: usize) -> Vec<usize> {
        self.problem.items[item].clone().filter(|&index| self.left[index]).collect()
    }

    /// Tries the cheapest moves as a choice.
    fn attempt(&mut self, improve: bool) {
        self.trial.become_these(&self.prices.cheapest);
        if improve {
            self.trial.improve(self.trial.work + self.most_work.saturating_sub(self.work()) / 8);
        }
        self.keep_if_best();
    }

    fn keep_if_best(&mut self) {
        if self.trial.cost < self.best.cost {
            self.best.become_these(&self.trial.moves);
            self.prices.best = self.best.cost;
        }
    }

    /// Puts the items of some days anew, over and over. A choice that is little worse is gone on from, at first also
    /// one with a day more; now and then the best known.
    fn shake(&mut self, most_work: u64) {
        for turn in 0_u32.. {
            if self.work() >= most_work {
                return;
            }
            if turn % 200 == 0 {
                self.trial.become_these(&self.best.moves);
            }
            let old = self.trial.moves.clone();
            self.trial.renew(&mut self.random);
            self.keep_if_best();
            let (cost, best) = (self.trial.cost, self.best.cost);
            let more_days = u64::from(turn % 200 < 100);
            if cost.over > best.over || cost.days > best.days + more_days || cost.off > best.off + best.off / 8 {
                self.trial.become_these(&old);
            }
        }
    }

    /// Searches all that is left, but for branches in which the bound leaves nothing better.
    fn branch(&mut self, rounds: u32) {
        let open = (0..self.of_item.len()).filter(|&item| self.of_item[item] > 1);
        let Some(item) = open.min_by_key(|&item| self.of_item[item]) else {
            let only: Vec<usize> = (0..self.of_item.len()).flat_map(|item| self.moves_left(item)).collect();
            self.trial.become_these(&only);
            return self.keep_if_best();
        };
        let mut moves = self.moves_left(item);
        moves.sort_by(|&one, &other| self.prices.costs[one].total_cmp(&self.prices.costs[other]));
        let mark = self.ruled_out.len();
        for &index in &moves {
            moves.iter().filter(|&&other| other != index).for_each(|&other| self.rule_out_move(other));
            if !self.exhausted() && self.prove(rounds, 0).is_some() {
                self.branch(rounds);
            }
            self.undo(mark);
        }
    }
}

/// The least whole number that is not below a bound, but for what rounding may have added to it.
fn whole(bound: f64) -> u64 {
    let least = (bound - 1e-6 * (1.0 + bound.abs() * 1e-6)).ceil();
    least.max(0.0).to_u64().unwrap_or(u64::MAX)
}
