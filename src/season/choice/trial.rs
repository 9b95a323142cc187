//! A choice that is tried out: what it costs is known at every change.

use super::problem::{Cost, Problem};
use std::mem::take;

/// One move of each item, and what they take together.
#[derive(Clone)]
pub(super) struct Trial<'p> {
    problem: &'p Problem,
    /// The move of each item that is in.
    pub moves: Vec<usize>,
    pub cost: Cost,
    /// Moves that were put in or taken out, with their slots.
    pub work: u64,
    /// How many items work on each day.
    users: Vec<u32>,
    /// What is taken of each slot.
    taken: Vec<i64>,
}

impl<'p> Trial<'p> {
    /// Every item as it adds least to those before it, the least free first.
    pub fn greedy(problem: &'p Problem) -> Self {
        let (users, taken) = (vec![0; problem.days.len()], vec![0; problem.slots.len()]);
        let mut trial =
            Self { problem, moves: vec![0; problem.items.len()], cost: Cost::default(), work: 0, users, taken };
        let mut order: Vec<usize> = (0..problem.items.len()).collect();
        order.sort_by_key(|&item| problem.items[item].len());
        order.into_iter().for_each(|item| trial.put_best(item, |_| true));
        trial
    }

    /// Puts a move of an item that is out.
    pub fn put(&mut self, index: usize) {
        let problem = self.problem;
        self.moves[problem.moves[index].item] = index;
        self.cost.off += problem.moves[index].off;
        for &link in &problem.moves[index].links {
            let users = &mut self.users[problem.links[link].day];
            self.cost.days += u64::from(*users == 0);
            *users += 1;
        }
        self.shift(index, 1);
    }

    /// Takes an item out and returns its move.
    pub fn take(&mut self, item: usize) -> usize {
        let (problem, index) = (self.problem, self.moves[item]);
        self.cost.off -= problem.moves[index].off;
        for &link in &problem.moves[index].links {
            let users = &mut self.users[problem.links[link].day];
            *users -= 1;
            self.cost.days -= u64::from(*users == 0);
        }
        self.shift(index, -1);
        index
    }

    fn shift(&mut self, index: usize, times: i64) {
        let (problem, mut over) = (self.problem, 0);
        for (slots, count) in &problem.moves[index].loads {
            self.work += slots.len() as u64;
            for slot in slots.clone() {
                over -= self.over(problem.first_of(slot));
                self.taken[slot] += times * count;
                over += self.over(problem.first_of(slot));
            }
        }
        self.work += 1;
        self.cost.over = self.cost.over.saturating_add_signed(over);
    }

    /// Tray-days beyond a slot or its twin, whichever are more.
    fn over(&self, slot: usize) -> i64 {
        let over = |slot: usize| self.taken[slot] - self.problem.slots[slot].most;
        let twin = self.problem.twin_of(slot).map_or(0, over);
        over(slot).max(twin).max(0) * self.problem.slots[slot].days
    }

    /// Puts the move of an item with which the cost is least, the earliest of equal ones, among those that may be.
    fn put_best(&mut self, item: usize, may: impl Fn(usize) -> bool) {
        let mut best = None;
        for index in self.problem.items[item].clone().filter(|&index| may(index)) {
            self.put(index);
            let this = (self.cost, self.problem.moves[index].late, index);
            best = Some(this).min(best.or(Some(this)));
            self.take(item);
        }
        best.into_iter().for_each(|(.., index)| self.put(index));
    }

    /// Gives every item the move that it has here.
    pub fn become_these(&mut self, moves: &[usize]) {
        for (item, &index) in moves.iter().enumerate() {
            if self.moves[item] != index {
                self.take(item);
                self.put(index);
            }
        }
    }

    /// Moves single items, and all items of a day to other days, for as long as that is better.
    pub fn improve(&mut self, most_work: u64) {
        let mut before = None;
        while before != Some(self.cost) {
            before = Some(self.cost);
            let mut days: Vec<usize> = (0..self.users.len()).collect();
            days.sort_by_key(|&day| self.users[day]);
            for item in 0..self.moves.len() {
                _ = self.unless_worse(&[item], most_work, |_| true);
            }
            for day in days {
                let works_then = |index: usize| self.problem.works_on(index, day);
                let users = self.users_of(day);
                if users.iter().all(|&item| !self.problem.items[item].clone().all(works_then)) {
                    _ = self.unless_worse(&users, most_work, |index| !works_then(index));
                }
            }
        }
    }

    /// Of choices that cost the same the earlier one: single items, and all items of a day, are put on earlier days for
    /// as long as that costs no more. So the days stay the same while time goes by.
    pub fn settle(&mut self, most_work: u64) {
        let mut goes_on = true;
        while take(&mut goes_on) {
            for item in 0..self.moves.len() {
                goes_on |= self.unless_worse(&[item], most_work, |_| true);
            }
            for day in 0..self.users.len() {
                let users = self.users_of(day);
                let Some(&first) = users.first() else { continue };
                let earlier = self.problem.days_of(first).into_iter().take_while(|&other| other < day);
                goes_on |= { earlier }.any(|other| {
                    let may = |index| self.problem.works_on(index, other) && !self.problem.works_on(index, day);
                    let can = |&item: &usize| self.problem.items[item].clone().any(may);
                    users.iter().all(can) && self.unless_worse(&users, most_work, may)
                });
            }
        }
    }

    /// Puts items anew one after the other, unless that is no better; of equal costs the earlier days are.
    fn unless_worse(&mut self, items: &[usize], most_work: u64, may: impl Fn(usize) -> bool) -> bool {
        if self.work > most_work {
            return false;
        }
        let late = |trial: &Self| items.iter().map(|&item| trial.problem.moves[trial.moves[item]].late).sum::<i64>();
        let before = (self.cost, late(self));
        let old: Vec<usize> = items.iter().map(|&item| self.take(item)).collect();
        items.iter().for_each(|&item| self.put_best(item, &may));
        let is_better = (self.cost, late(self)) < before;
        if !is_better {
            items.iter().for_each(|&item| _ = self.take(item));
            old.into_iter().for_each(|index| self.put(index));
        }
        is_better
    }

    /// The items that work on a day.
    fn users_of(&mut self, day: usize) -> Vec<usize> {
        let links = &self.problem.days[day];
        self.work += links.len() as u64;
        let items = links.iter().map(|&link| self.problem.links[link].item);
        items.filter(|&item| self.problem.works_on(self.moves[item], day)).collect()
    }

    /// Puts anew all items of some days on end that are drawn at random: one anyhow, the others as they add least.
    pub fn renew(&mut self, random: &mut u64) {
        let worked: Vec<usize> = (0..self.users.len()).filter(|&day| self.users[day] > 0).collect();
        self.work += 1 + self.users.len() as u64;
        let (first, days) = (draw(random, worked.len()), 2 + draw(random, 4));
        let users = worked.iter().skip(first).take(days).flat_map(|&day| self.users_of(day));
        let mut users: Vec<usize> = users.collect();
        users.sort_unstable();
        users.dedup();
        users.iter().for_each(|&item| _ = self.take(item));
        for turn in 0..users.len() {
            let item = users.swap_remove(draw(random, users.len()));
            let moves = self.problem.items[item].clone();
            match turn {
                0 => self.put(moves.start + draw(random, moves.len())),
                _ => self.put_best(item, |_| true),
            }
        }
    }
}

/// A number below `most`, or zero, from a linear congruential generator (Knuth's MMIX): the same ones in every run.
fn draw(random: &mut u64, most: usize) -> usize {
    *random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    usize::try_from(*random >> 33).unwrap_or(0) % most.max(1)
}
