//! Which packages to buy: whole ones, at least cost, exactly.
//!
//! Of all choices that give at least the need, the cheapest counts; of those the one
//! with the least left over; of those the one with the fewest packages; of those the
//! one with more of the largest package, then of the next, and so on.
//!
//! **Large needs.** Let `b` be the kind with the best unit price, of equal ones the
//! largest. In a best choice no other kind `i` stands as often as `g_b / gcd(g_b, g_i)`
//! times: that many of it give as much as a whole number of `b`, for no less money and
//! in more packages. Nor can the others cost more than one `b` beyond the unit price of
//! `b`, since `b` alone would be cheaper. Both bound what the others give together; all
//! of the need beyond that is met with `b`, whatever its size.
//!
//! **The rest** is searched by the amount given, smallest first: for each amount that
//! some packages give, the best packages for it. An amount is left when even the best
//! unit price cannot bring it below the best choice known. Only amounts within one
//! package of the smallest wait to be looked at. A pile is added to in the order of the
//! kinds only, since what is best together is best in every part. At most half of
//! [`MOST_STEPS`] are looked at for one need; past that the best choice found so far is
//! returned, marked as not proved. It costs less than one package of the best unit price
//! beyond the cheapest, and no more than any one kind alone.

use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// Piles looked at for all needs of a purchase together. No need takes more than half of
/// what is left of them, so that something is left for each.
pub const MOST_STEPS: usize = 800_000;
/// The dearest package, in hundredths of the currency.
const DEAREST: u64 = 100 * crate::stock::DEAREST as u64;

/// A kind of package to choose from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PackageKind {
    /// What it gives, in any whole unit that the need is counted in too; above zero.
    pub gives: u64,
    /// What it costs, in whole hundredths of the currency; zero for all kinds where
    /// prices are unknown and only what is left over counts.
    pub price: u64,
}

/// How many of each kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackageChoice {
    /// In the order of the kinds.
    pub counts: Vec<u64>,
    /// Whether no better choice exists; else the search was cut short.
    pub proved: bool,
    /// Piles looked at, at most half of [`MOST_STEPS`].
    pub steps: usize,
}

/// The best choice of packages for a need; `None` if no kind gives anything.
///
/// ```
/// use trayful::plan::{PackageKind, choose};
/// // 107 L from bags of 100 L at 27.50 and 10 L at 5.20.
/// let kinds = [PackageKind { gives: 100, price: 2750 }, PackageKind { gives: 10, price: 520 }];
/// assert_eq!(choose(107, &kinds).map(|choice| choice.counts), Some(vec![1, 1]));
/// ```
pub fn choose(need: u64, kinds: &[PackageKind]) -> Option<PackageChoice> {
    choose_within(need, kinds, &mut { MOST_STEPS })
}

/// The same with half of the steps that a purchase has left, which are counted down.
pub(super) fn choose_within(need: u64, kinds: &[PackageKind], steps_left: &mut usize) -> Option<PackageChoice> {
    let worth_buying = WorthBuying::of(kinds)?;
    let need = u128::from(need);
    let certain = worth_buying.none().with(worth_buying.best, worth_buying.best(), worth_buying.certain(need));
    let (found, proved, steps) = worth_buying.search(need.saturating_sub(certain.given), *steps_left / 2);
    *steps_left -= steps;
    let found = found.and(&certain);
    let best =
        worth_buying.alone(need).fold(found, |best, alone| if alone.rank() < best.rank() { alone } else { best });
    let mut counts = vec![0; kinds.len()];
    for (item, count) in worth_buying.items.iter().zip(best.counts) {
        counts[item.index] = u64::try_from(count).unwrap_or(u64::MAX);
    }
    Some(PackageChoice { counts, proved, steps })
}

/// A kind worth buying.
#[derive(Clone, Copy)]
struct KindWorthBuying {
    index: usize,
    gives: u128,
    price: u128,
}

/// The kinds worth buying, the largest first, one of each size.
struct WorthBuying {
    items: Vec<KindWorthBuying>,
    /// The best unit price, of equal ones the largest.
    best: usize,
}

/// Packages that give so much together, and what they cost.
#[derive(Clone, PartialEq, Eq)]
struct Pile {
    cost: u128,
    given: u128,
    packages: u128,
    counts: Vec<u128>,
}

impl Pile {
    /// Ranks piles: cheapest, least given, fewest, most of the largest.
    fn rank(&self) -> (u128, u128, u128, Reverse<&[u128]>) {
        (self.cost, self.given, self.packages, Reverse(&self.counts))
    }

    fn with(&self, place: usize, item: KindWorthBuying, count: u128) -> Self {
        let mut counts = self.counts.clone();
        counts[place] += count;
        Self {
            cost: self.cost + item.price * count,
            given: self.given + item.gives * count,
            packages: self.packages + count,
            counts,
        }
    }

    fn and(&self, other: &Self) -> Self {
        Self {
            cost: self.cost + other.cost,
            given: self.given + other.given,
            packages: self.packages + other.packages,
            counts: self.counts.iter().zip(&other.counts).map(|(one, other)| one + other).collect(),
        }
    }
}

/// A pile that is still too small, as one package more than another.
struct Begun {
    cost: u128,
    packages: u128,
    /// The kind of the last package, and the pile without it.
    last: usize,
    before: usize,
}

/// Piles that are still too small; the first is empty.
struct AllBegun(Vec<Begun>);

impl AllBegun {
    /// How many of each kind a pile has, and `more`.
    fn counts(&self, mut index: usize, more: usize, kinds: usize) -> Vec<u128> {
        let mut counts = vec![0; kinds];
        counts[more] += 1;
        while index > 0 {
            counts[self.0[index].last] += 1;
            index = self.0[index].before;
        }
        counts
    }
}

impl WorthBuying {
    fn of(kinds: &[PackageKind]) -> Option<Self> {
        let mut items: Vec<KindWorthBuying> = kinds
            .iter()
            .enumerate()
            .filter(|(_, kind)| kind.gives > 0)
            .map(|(index, kind)| KindWorthBuying {
                index,
                gives: kind.gives.into(),
                price: kind.price.min(DEAREST).into(),
            })
            .collect();
        items.sort_by_key(|item| (Reverse(item.gives), item.price, item.index));
        // Of one size only the cheapest, of equal ones the first, is ever bought.
        items.dedup_by_key(|item| item.gives);
        let best = (0..items.len()).reduce(|best, next| {
            let (b, n) = (items[best], items[next]);
            if n.price * b.gives < b.price * n.gives { next } else { best }
        })?;
        Some(Self { items, best })
    }

    fn best(&self) -> KindWorthBuying {
        self.items[self.best]
    }

    /// How many of the best kind are in every best choice.
    fn certain(&self, need: u128) -> u128 {
        let b = self.best();
        let others = self.items.iter().fold(0_u128, |sum, i| {
            if i.index == b.index {
                return sum;
            }
            let by_size = b.gives / gcd(b.gives, i.gives) - 1;
            // What one of it costs beyond the unit price of `b`, times `g_b`.
            let beyond = (i.price * b.gives).saturating_sub(b.price * i.gives);
            let by_price = (b.price * b.gives).checked_div(beyond).unwrap_or(u128::MAX);
            sum.saturating_add(by_size.min(by_price).saturating_mul(i.gives))
        });
        need.saturating_sub(others).div_ceil(b.gives)
    }

    fn none(&self) -> Pile {
        Pile { cost: 0, given: 0, packages: 0, counts: vec![0; self.items.len()] }
    }

    /// The best pile for a need, whether it is proved to be, and the piles looked at.
    fn search(&self, need: u128, most_steps: usize) -> (Pile, bool, usize) {
        let none = self.none();
        if need == 0 {
            return (none, true, 0);
        }
        let mut best = self.simple(need);
        let mut begun = AllBegun(vec![Begun { cost: 0, packages: 0, last: 0, before: 0 }]);
        let mut open: BTreeMap<u128, usize> = BTreeMap::from([(0, 0)]);
        let mut steps = 0;
        while let Some((given, index)) = open.pop_first() {
            let Begun { cost, packages, last, .. } = begun.0[index];
            if self.exceeds(cost, need - given, best.cost) {
                continue;
            }
            if steps + self.items.len() - last > most_steps {
                return (best, false, steps);
            }
            steps += self.items.len() - last;
            for (place, item) in self.items.iter().enumerate().skip(last) {
                let (cost, given, packages) = (cost + item.price, given + item.gives, packages + 1);
                if self.exceeds(cost, need.saturating_sub(given), best.cost) {
                    continue;
                }
                let counts = |begun: &AllBegun| begun.counts(index, place, self.items.len());
                if given >= need {
                    if (cost, given, packages) <= (best.cost, best.given, best.packages) {
                        let pile = Pile { cost, given, packages, counts: counts(&begun) };
                        best = if pile.rank() < best.rank() { pile } else { best };
                    }
                    continue;
                }
                let next = Begun { cost, packages, last: place, before: index };
                match open.entry(given) {
                    Entry::Vacant(entry) => _ = entry.insert(begun.0.len()),
                    Entry::Occupied(mut entry) => {
                        let known = &begun.0[*entry.get()];
                        let is_better = (cost, packages).cmp(&(known.cost, known.packages)).then_with(|| {
                            begun.counts(known.before, known.last, self.items.len()).cmp(&counts(&begun))
                        });
                        if is_better.is_ge() {
                            continue;
                        }
                        entry.insert(begun.0.len());
                    }
                }
                begun.0.push(next);
            }
        }
        (best, true, steps)
    }

    /// Whether a pile of a cost, with so much still needed, must come to more than `most`.
    fn exceeds(&self, cost: u128, needed: u128, most: u128) -> bool {
        let b = self.best();
        most.checked_sub(cost).is_none_or(|left| needed * b.price > left * b.gives)
    }

    /// Enough of each kind alone.
    fn alone(&self, need: u128) -> impl Iterator<Item = Pile> {
        let items = self.items.iter().enumerate();
        items.map(move |(place, item)| self.none().with(place, *item, need.div_ceil(item.gives)))
    }

    /// The best of the piles that come to mind: one kind alone, or as many whole ones of
    /// the best unit price as fit and one other kind for the rest.
    fn simple(&self, need: u128) -> Pile {
        let b = self.best();
        let full = self.none().with(self.best, b, need / b.gives);
        let begun = [self.none(), full];
        let piles = begun.iter().flat_map(|pile| {
            let topped = self.items.iter().enumerate();
            topped.map(|(place, item)| pile.with(place, *item, need.saturating_sub(pile.given).div_ceil(item.gives)))
        });
        piles.min_by(|a, b| a.rank().cmp(&b.rank())).unwrap_or_else(|| self.none())
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b > 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counts(need: u64, kinds: &[(u64, u64)]) -> Vec<u64> {
        let kinds: Vec<PackageKind> = kinds.iter().map(|&(gives, price)| PackageKind { gives, price }).collect();
        let choice = choose(need, &kinds).unwrap();
        assert!(choice.proved);
        choice.counts
    }

    #[test]
    fn nothing_is_bought_for_nothing() {
        assert_eq!(counts(0, &[(10, 5)]), [0]);
        assert_eq!(choose(5, &[]), None);
        assert_eq!(choose(5, &[PackageKind { gives: 0, price: 1 }]), None);
    }

    #[test]
    fn ties_go_to_what_is_left_over_then_to_fewer_then_to_larger() {
        // 100 for 10, or 60 + 40 for 10: the same money, nothing left either way, fewer packages.
        assert_eq!(counts(100, &[(60, 6), (40, 4), (100, 10)]), [0, 0, 1]);
        // 120 and 110 cost the same: 110 leaves less.
        assert_eq!(counts(105, &[(120, 10), (110, 10)]), [0, 1]);
        // 5 + 3 and 4 + 4, the same in all three: more of the largest.
        assert_eq!(counts(8, &[(4, 4), (3, 3), (5, 5)]), [0, 1, 1]);
        // One size twice: the cheaper, and of equal ones the first.
        assert_eq!(counts(8, &[(4, 5), (4, 4), (4, 4)]), [0, 2, 0]);
    }

    #[test]
    fn free_packages_are_taken_first() {
        assert_eq!(counts(1_000, &[(100, 50), (7, 0)]), [0, 143]);
    }

    #[test]
    fn huge_needs_are_met_at_once() {
        let litre = 1_000_000_000;
        let need = 1_000_000_000 * litre;
        // A thousand million litres from 1 mL sachets.
        assert_eq!(counts(need, &[(litre / 1000, 3)]), [1_000_000_000_000]);
        let mixed = counts(need, &[(litre / 1000, 3), (107 * litre, 2000), (100 * litre, 1900), (7 * litre, 150)]);
        let given = mixed[0] * litre / 1000 + mixed[1] * 107 * litre + mixed[2] * 100 * litre + mixed[3] * 7 * litre;
        assert!(given >= need && given - need < 107 * litre, "{mixed:?}");
    }

    #[test]
    fn the_search_gives_up_rather_than_run_on() {
        // The same price a unit, and sizes without a common measure: every sum is a tie.
        let kinds: Vec<PackageKind> = [999_983_u64, 999_979, 999_961, 999_959, 999_953]
            .iter()
            .map(|&gives| PackageKind { gives, price: gives })
            .collect();
        let choice = choose(700_000_123_457, &kinds).unwrap();
        let given: u64 = choice.counts.iter().zip(&kinds).map(|(count, kind)| count * kind.gives).sum();
        assert!(given >= 700_000_123_457);
        assert!(!choice.proved);
    }

    #[test]
    fn cut_short_it_is_never_dearer_than_one_kind_alone() {
        let mut random: u64 = 11;
        let mut below = |bound: u64| {
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (random >> 33) % bound
        };
        let mut unproved = 0;
        for _ in 0..3_000 {
            let kinds: Vec<PackageKind> =
                (0..4).map(|_| PackageKind { gives: 50 + below(100), price: 500 + below(500) }).collect();
            let need = 100 + below(2_000);
            let choice = choose_within(need, &kinds, &mut 40).unwrap();
            let cost: u64 = choice.counts.iter().zip(&kinds).map(|(count, kind)| count * kind.price).sum();
            for kind in &kinds {
                assert!(cost <= need.div_ceil(kind.gives) * kind.price, "{need} of {kinds:?}: {:?}", choice.counts);
            }
            unproved += usize::from(!choice.proved);
        }
        assert!(unproved > 100, "{unproved}");
    }

    #[test]
    fn one_budget_holds_for_a_whole_purchase() {
        let kinds: Vec<PackageKind> =
            (0..40).map(|k| PackageKind { gives: 99_000_017 - 20_011 * k * k, price: 9_900 - 2 * k * k }).collect();
        let easy = [PackageKind { gives: 7, price: 3 }, PackageKind { gives: 5, price: 2 }];
        let (mut left, mut steps) = (MOST_STEPS, 0);
        for need in 1..=100 {
            let before = left;
            let choice = choose_within(need * 70_000_123_457, &kinds, &mut left).unwrap();
            assert!(choice.steps <= before / 2 && left == before - choice.steps);
            steps += choice.steps;
            // What is easy is proved before all is used up.
            assert!(need > 10 || choose_within(need * 11, &easy, &mut left).unwrap().proved);
        }
        assert!(steps <= MOST_STEPS && left < MOST_STEPS / 100, "{steps}, {left} left");
    }
}
