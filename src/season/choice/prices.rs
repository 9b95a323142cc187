//! What no choice can cost less than, by Lagrange's relaxation.
//!
//! Whatever may run short has a price: an item pays for the slots that it takes and for each of its days of work, and
//! the prices of what there is come back. Then each item may take the move that is cheapest for it, whatever the
//! others do, and what they cost together is never more than the best choice does. What is asked for more than there
//! is of it becomes dearer, which raises that bound (the subgradient method with Polyak's step).

use super::problem::{Cost, Problem};

/// What is made least, one after the other: each keeps to the best of those before it.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    Over,
    Days,
    Off,
}

impl Aim {
    pub fn of(self, cost: Cost) -> u64 {
        match self {
            Self::Over => cost.over,
            Self::Days => cost.days,
            Self::Off => cost.off,
        }
    }
}

pub(super) struct Prices<'p> {
    problem: &'p Problem,
    aim: Aim,
    /// The best known.
    pub best: Cost,
    pub work: u64,
    /// What an item pays for a day of work, and a tray for a slot.
    links: Vec<f64>,
    slots: Vec<f64>,
    /// What each move costs, and the cheapest of each item.
    pub costs: Vec<f64>,
    pub cheapest: Vec<usize>,
    /// What all pay for each day, and whether it is worked on.
    paid: Vec<f64>,
    worked: Vec<bool>,
}

impl<'p> Prices<'p> {
    pub fn new(problem: &'p Problem, aim: Aim, best: Cost) -> Self {
        let days = problem.days.len();
        Self {
            problem,
            aim,
            best,
            work: 0,
            links: vec![0.0; problem.links.len()],
            slots: vec![0.0; problem.slots.len()],
            costs: vec![0.0; problem.moves.len()],
            cheapest: vec![0; problem.items.len()],
            paid: vec![0.0; days],
            worked: vec![false; days],
        }
    }

    /// What no choice of the moves that are left is below.
    pub fn bound(&mut self, left: &[bool]) -> f64 {
        let problem = self.problem;
        let mut before = vec![0.0];
        before.extend(self.slots.iter().scan(0.0, |sum, price| {
            *sum += price;
            Some(*sum)
        }));
        let mut bound = 0.0;
        for (item, moves) in problem.items.iter().enumerate() {
            let mut least = f64::INFINITY;
            for index in moves.clone().filter(|&index| left[index]) {
                let each = &problem.moves[index];
                let off = if self.aim == Aim::Off { each.off as f64 } else { 0.0 };
                let days = each.links.iter().map(|&link| self.links[link]);
                let slots =
                    each.loads.iter().map(|(slots, count)| (before[slots.end] - before[slots.start]) * *count as f64);
                let cost = off + days.sum::<f64>() + slots.sum::<f64>();
                self.costs[index] = cost;
                if cost < least {
                    (least, self.cheapest[item]) = (cost, index);
                }
                self.work += (1 + each.links.len() + each.loads.len()) as u64;
            }
            bound += least;
        }
        self.work += (self.slots.len() + self.links.len() + self.paid.len()) as u64;
        bound -= problem.slots.iter().zip(&self.slots).map(|(slot, price)| price * slot.most as f64).sum::<f64>();
        if self.aim == Aim::Over {
            return bound;
        }
        bound - self.best.over as f64 * self.dearest().map_or(0.0, |slot| self.pays(slot)) - self.back_for_days()
    }

    /// The slot for which most is paid a day, if any.
    fn dearest(&self) -> Option<usize> {
        let dear = (0..self.slots.len()).filter(|&slot| self.slots[slot] > 0.0).map(|slot| self.problem.first_of(slot));
        dear.max_by(|&one, &other| self.pays(one).total_cmp(&self.pays(other)))
    }

    /// What is paid for a slot and its twin, a day.
    fn pays(&self, slot: usize) -> f64 {
        let twin = self.problem.twin_of(slot).map_or(0.0, |twin| self.slots[twin]);
        (self.slots[slot] + twin) / self.problem.slots[slot].days as f64
    }

    /// What comes back for the days: each costs one where days are counted; else there are so many of them.
    fn back_for_days(&mut self) -> f64 {
        for (day, links) in self.problem.days.iter().enumerate() {
            self.paid[day] = links.iter().map(|&link| self.links[link]).sum();
            self.worked[day] = self.aim == Aim::Days && self.paid[day] > 1.0;
        }
        if self.aim == Aim::Days {
            return self.paid.iter().map(|paid| (paid - 1.0).max(0.0)).sum();
        }
        let most = usize::try_from(self.best.days).unwrap_or(usize::MAX);
        let mut days: Vec<usize> = (0..self.paid.len()).collect();
        if most < days.len() {
            days.select_nth_unstable_by(most, |&one, &other| self.paid[other].total_cmp(&self.paid[one]));
            days.truncate(most);
        }
        days.iter().for_each(|&day| self.worked[day] = true);
        days.iter().map(|&day| self.paid[day]).sum()
    }

    /// Makes dearer what is asked for more than there is of it, and cheaper what is asked for less. False where
    /// nothing is either.
    pub fn adjust(&mut self, bound: f64, step: f64) -> bool {
        let problem = self.problem;
        let (mut days, mut slots) = (vec![0.0; self.links.len()], vec![0.0; self.slots.len()]);
        for &index in &self.cheapest {
            problem.moves[index].links.iter().for_each(|&link| days[link] = 1.0);
            for (range, count) in &problem.moves[index].loads {
                slots[range.clone()].iter_mut().for_each(|asked| *asked += *count as f64);
            }
        }
        if let Some(slot) = self.dearest().filter(|_| self.aim != Aim::Over) {
            let over = self.best.over as f64 / problem.slots[slot].days as f64;
            [Some(slot), problem.twin_of(slot)].into_iter().flatten().for_each(|slot| slots[slot] -= over);
        }
        for (link, asked) in days.iter_mut().enumerate() {
            *asked -= f64::from(u8::from(self.worked[problem.links[link].day]));
            if self.aim == Aim::Over || (*asked < 0.0 && self.links[link] == 0.0) {
                *asked = 0.0;
            }
        }
        // Relative to what there is: a tray more matters less where there are many places.
        let scale = |slot: usize| (problem.slots[slot].most as f64).max(1.0);
        for (slot, asked) in slots.iter_mut().enumerate() {
            *asked = (*asked - problem.slots[slot].most as f64) / scale(slot);
            if *asked < 0.0 && self.slots[slot] == 0.0 {
                *asked = 0.0;
            }
        }
        let norm: f64 = days.iter().chain(&slots).map(|asked| asked * asked).sum();
        let step = step * (self.aim.of(self.best) as f64 - bound).max(0.5) / norm;
        if norm == 0.0 {
            return false;
        }
        self.links.iter_mut().zip(days).for_each(|(price, asked)| *price = (*price + step * asked).max(0.0));
        for (slot, asked) in slots.into_iter().enumerate() {
            self.slots[slot] = (self.slots[slot] + step * asked / scale(slot)).max(0.0);
        }
        if self.aim == Aim::Over {
            self.keep_to_one();
        }
        true
    }

    /// A tray-day too many costs one: nobody pays more.
    fn keep_to_one(&mut self) {
        for slot in 0..self.slots.len() {
            let pays = self.pays(slot).max(1.0);
            for slot in [Some(slot), self.problem.twin_of(slot)].into_iter().flatten() {
                self.slots[slot] /= pays;
            }
        }
    }
}
