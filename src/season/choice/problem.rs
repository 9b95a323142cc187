//! The choice of days in numbers: what each way takes of what may run short.

use super::super::occupancy::{Day, Limits, Stay, Takes, work_days};
use std::collections::BTreeSet;
use std::mem::take;
use std::ops::{Add, Range};

/// A sowing, or a succession with all its plantings (design 9.2), whose days are chosen together.
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

impl Add for Cost {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { over: self.over + other.over, days: self.days + other.days, off: self.off + other.off }
    }
}

/// Something that may run short for some days on end: places of the rack or the frame, of the rack alone, mats, hands.
#[derive(Clone, Copy)]
pub(super) struct Slot {
    /// How much there is of it.
    pub most: i64,
    /// For so many days.
    pub days: i64,
}

/// An item and a day on which some way of it works.
#[derive(Clone, Copy)]
pub(super) struct Link {
    pub item: usize,
    pub day: usize,
}

/// A way in numbers.
pub(super) struct Move {
    pub item: usize,
    pub off: u64,
    /// The days of its stays, summed.
    pub late: i64,
    /// Its days of work, each as a link.
    pub links: Vec<usize>,
    /// So much of each of a range of slots.
    pub loads: Vec<(Range<usize>, i64)>,
}

/// The items in numbers.
pub(super) struct Problem {
    /// The moves of each item.
    pub items: Vec<Range<usize>>,
    pub moves: Vec<Move>,
    pub links: Vec<Link>,
    /// The links of each day of work.
    pub days: Vec<Vec<usize>>,
    /// Only those that can run short. The first `twins` are places of rack and frame together; as many follow for the
    /// rack alone, and of each pair only the greater excess counts.
    pub slots: Vec<Slot>,
    pub twins: usize,
}

/// Counts are far below 2^63.
fn signed(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// How much there is on a day, if there is a limit.
fn limit(takes: Takes, day: Day, limits: &Limits) -> Option<u64> {
    match takes {
        Takes::Place => limits.places.map(|places| places + limits.frame.as_ref().map_or(0, |frame| frame.on(day))),
        Takes::Indoors => limits.places.filter(|_| limits.frame.is_some()),
        Takes::Mat => limits.mats,
        Takes::Hands => limits.trays_a_day,
    }
}

/// The days on which something may change: those between two of them are one slot.
fn cuts(all: &[Vec<&Way>], limits: &Limits) -> Vec<Day> {
    let takes = all.iter().flatten().flat_map(|way| &way.stays).flat_map(Stay::takes);
    let limited = takes.filter(|&(takes, ref days, _)| limit(takes, days.start, limits).is_some());
    let open = limits.frame.iter().flat_map(|frame| frame.open.clone());
    let cuts: BTreeSet<Day> =
        limited.map(|(_, days, _)| days).chain(open).flat_map(|days| [days.start, days.end]).collect();
    cuts.into_iter().collect()
}

impl Problem {
    pub fn of(all: &[Vec<&Way>], limits: &Limits) -> Self {
        let cuts = cuts(all, limits);
        let slot = |takes, day| takes as usize * cuts.len() + cuts.partition_point(|&cut| cut < day);
        let loads = |way: &Way| -> Vec<(Range<usize>, i64)> {
            let takes = way.stays.iter().flat_map(Stay::takes);
            let limited = takes.filter(|&(takes, ref days, _)| limit(takes, days.start, limits).is_some());
            limited
                .map(|(takes, days, count)| (slot(takes, days.start)..slot(takes, days.end), signed(count)))
                .collect()
        };
        let work: BTreeSet<Day> = all.iter().flatten().flat_map(|way| work_days(&way.stays)).collect();
        let work = Vec::from_iter(work);
        let mut days = vec![Vec::new(); work.len()];
        let (mut items, mut moves, mut links) = (Vec::new(), Vec::new(), Vec::new());
        for (item, ways) in all.iter().enumerate() {
            let (first, first_link) = (moves.len(), links.len());
            let linked = Vec::from_iter(ways.iter().flat_map(|way| work_days(&way.stays)).collect::<BTreeSet<_>>());
            for (link, day) in linked.iter().enumerate() {
                let day = work.partition_point(|other| other < day);
                days[day].push(first_link + link);
                links.push(Link { item, day });
            }
            moves.extend(ways.iter().map(|way| {
                let link = |day| first_link + linked.partition_point(|&other| other < day);
                let links = work_days(&way.stays).into_iter().map(link).collect();
                let late = way.stays.iter().map(|stay| i64::from(stay.from)).sum();
                Move { item, off: way.off, late, links, loads: loads(way) }
            }));
            items.push(first..moves.len());
        }
        let mut problem = Self { items, moves, links, days, slots: Vec::new(), twins: cuts.len() };
        for takes in [Takes::Place, Takes::Indoors, Takes::Mat, Takes::Hands] {
            let ends = cuts.iter().skip(1).chain(cuts.last());
            problem.slots.extend(cuts.iter().zip(ends).map(|(&day, end)| Slot {
                most: limit(takes, day, limits).map_or(i64::MAX, signed),
                days: i64::from(end - day),
            }));
        }
        problem.keep_scarce();
        problem
    }

    /// Leaves only the slots that can run short.
    fn keep_scarce(&mut self) {
        // What all take at most, the moves of one item, and one move.
        let [mut all, mut one, mut each] = [const { Vec::new() }; 3].map(|_: Vec<i64>| vec![0; self.slots.len()]);
        for moves in &self.items {
            let loads = || self.moves[moves.clone()].iter().map(|each| &each.loads);
            for loads in loads() {
                let slots = || loads.iter().flat_map(|(slots, count)| slots.clone().map(move |slot| (slot, count)));
                slots().for_each(|(slot, count)| each[slot] += count);
                slots().for_each(|(slot, _)| one[slot] = one[slot].max(take(&mut each[slot])));
            }
            let slots = loads().flatten().flat_map(|(slots, _)| slots.clone());
            slots.for_each(|slot| all[slot] += take(&mut one[slot]));
        }
        let short: Vec<bool> = all.iter().zip(&self.slots).map(|(&all, slot)| all > slot.most).collect();
        let scarce = |slot: usize| {
            let first = self.first_of(slot);
            short[first] || self.twin_of(first).is_some_and(|twin| short[twin])
        };
        let kept: Vec<usize> = (0..self.slots.len()).filter(|&slot| scarce(slot)).collect();
        let before = |slot: usize| kept.partition_point(|&kept| kept < slot);
        for each in &mut self.moves {
            each.loads.iter_mut().for_each(|(slots, _)| *slots = before(slots.start)..before(slots.end));
            each.loads.retain(|(slots, _)| !slots.is_empty());
        }
        self.twins = before(self.twins);
        self.slots = kept.iter().map(|&slot| self.slots[slot]).collect();
    }

    /// The first of a slot and its twin.
    pub fn first_of(&self, slot: usize) -> usize {
        if slot < 2 * self.twins { slot % self.twins } else { slot }
    }

    /// The twin of a slot that is the first of two.
    pub fn twin_of(&self, slot: usize) -> Option<usize> {
        (slot < self.twins).then(|| slot + self.twins)
    }

    /// The days on which some way of an item works.
    pub fn days_of(&self, item: usize) -> BTreeSet<usize> {
        let links = self.items[item].clone().flat_map(|index| &self.moves[index].links);
        links.map(|&link| self.links[link].day).collect()
    }

    pub fn works_on(&self, index: usize, day: usize) -> bool {
        self.moves[index].links.iter().any(|&link| self.links[link].day == day)
    }

    /// The items in groups that share neither a day of work nor anything that can run short: each is a choice by
    /// itself, and the costs add up.
    pub fn parts(&self) -> Vec<Vec<usize>> {
        // Of each day of work and each slot, with its twin, the first item that met it.
        let mut met = vec![usize::MAX; self.days.len() + self.slots.len()];
        let mut group: Vec<usize> = (0..self.items.len()).collect();
        for each in &self.moves {
            let slots = each.loads.iter().flat_map(|(slots, _)| slots.clone());
            let slots = slots.map(|slot| self.days.len() + self.first_of(slot));
            for at in each.links.iter().map(|&link| self.links[link].day).chain(slots) {
                if met[at] == usize::MAX {
                    met[at] = each.item;
                }
                let (one, other) = (root(&mut group, each.item), root(&mut group, met[at]));
                group[one.max(other)] = one.min(other);
            }
        }
        let mut parts = vec![Vec::new(); self.items.len()];
        (0..self.items.len()).for_each(|item| parts[root(&mut group, item)].push(item));
        parts.retain(|part| !part.is_empty());
        parts
    }
}

/// The least item of a group.
fn root(group: &mut [usize], mut item: usize) -> usize {
    while group[item] != item {
        group[item] = group[group[item]];
        item = group[item];
    }
    item
}
