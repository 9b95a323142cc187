//! A trial in pairs: which tray, or half of a tray, stands beside which, and on which side.

use super::Mixes;
use super::sow::{Half, HalfOf, full_trays, in_half_trays};
use crate::behaviour::sides;
use crate::coir::soak::Soak;
use crate::diagnostic::{Code, Problem, Rejected};
use crate::week::{Compared, PairedTrial, Sowing, Terms, Week, small};
use std::cmp::Reverse;
use std::collections::HashMap;
use std::sync::Arc;

/// The pairs of a trial.
#[derive(Clone, Debug)]
pub struct Pairs {
    /// The batches of the arms A and B; of feeds it is the same.
    pub batches: [usize; 2],
    /// The pairs, first to last.
    pub pairs: Vec<Pair>,
}

/// Two trays, or two halves of one, that stand side by side.
#[derive(Clone, Debug)]
pub struct Pair {
    /// That of A and that of B.
    pub arms: [PairedTray; 2],
    /// Whether A stands on the left.
    pub a_left: bool,
}

/// A tray of a trial, or half of one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PairedTray {
    /// The index of its sowing.
    pub sowing: u32,
    /// Its number among those of the sowing alone.
    pub tray: u64,
    /// Its first and its last row, where it is half a tray.
    pub rows: Option<(u32, u32)>,
}

/// Why there are no such pairs, and what there should be.
type Lack = (String, String);

/// Trays that would make pairs.
struct Source {
    /// The sowings of A and B.
    sowings: [u32; 2],
    /// The numbers of their first trays.
    first: [u64; 2],
    /// From a tray to the next of the same arm.
    step: u64,
    is_halved: bool,
    /// How many pairs they make.
    count: u64,
}

impl Pairs {
    /// The names of the arms.
    pub const ARMS: [&str; 2] = ["A", "B"];

    /// The pairs of a week's trial, if it asks for one.
    ///
    /// # Errors
    /// [`Rejected`] at the trial where the week has nothing to compare, or too few trays.
    pub(super) fn of(mixes: &Mixes, week: &Week) -> Result<Option<Self>, Rejected> {
        let Some(trial) = &week.trial else { return Ok(None) };
        Self::laid(trial, mixes, week).map(Some).map_err(|(what, expected)| {
            let problem = Problem::new(Code::Conflict, trial.place.span(), what, expected);
            Rejected::of(Arc::clone(&trial.place.source), problem)
        })
    }

    /// The arm of a tray or of a half, and the number of its pair.
    pub fn find(&self, tray: PairedTray) -> Option<(&'static str, usize)> {
        let of = |pair: &Pair| pair.arms.iter().position(|arm| *arm == tray);
        (1..).zip(&self.pairs).find_map(|(number, pair)| Some((Self::ARMS[of(pair)?], number)))
    }

    fn laid(trial: &PairedTrial, mixes: &Mixes, week: &Week) -> Result<Self, Lack> {
        let best = Trays::of(trial, mixes, week)?.sources()?.into_iter();
        let best = best.max_by_key(|source| (source.count, Reverse(source.sowings)));
        let count = best.as_ref().map_or(0, |source| source.count);
        let Some(best) = best.filter(|_| count >= trial.pairs.into()) else {
            let (pairs, twice) = (trial.pairs, 2 * trial.pairs);
            let expected = match trial.compare {
                Compared::Coir => format!("a sowing of {twice} full trays, or of {pairs} of an even number of rows"),
                Compared::Feed => format!("a sowing of {twice} full trays"),
                Compared::Inoculant => {
                    format!("two sowings alike, of {pairs} full trays each, one of them with `inoculant: no`")
                }
            };
            let crop = &trial.crop.name;
            let what = match (trial.compare, count) {
                (Compared::Inoculant, 0) => format!("no two sowings of `{crop}` differ in the inoculant alone"),
                _ => format!("`{crop}` has full trays for {count} of {pairs} pairs"),
            };
            return Err((what, expected));
        };
        let pairs = (0..).zip(sides(trial.seed).take(trial.pairs.into())).map(|(pair, a_left)| {
            let tray = |arm: usize| {
                let half = small(week.sowings[best.sowings[arm] as usize].tray.rows) / 2;
                let rows = [(1, half), (half + 1, 2 * half)][arm];
                let tray = best.first[arm] + pair * best.step;
                PairedTray { sowing: best.sowings[arm], tray, rows: best.is_halved.then_some(rows) }
            };
            // Of one mix, a tray is what the draw makes of it.
            let swaps = trial.compare == Compared::Feed && !a_left;
            Pair { arms: if swaps { [tray(1), tray(0)] } else { [tray(0), tray(1)] }, a_left }
        });
        let [a, b] = best.sowings.map(|sowing| mixes.layout.sowings[sowing as usize].batch);
        let b = if trial.compare == Compared::Coir { Half::Straight.batch(b) } else { b };
        Ok(Self { batches: [a, b], pairs: pairs.collect() })
    }
}

/// The sowings of a trial's crop in trays, with the trays that each fills alone.
struct Trays<'w> {
    trial: &'w PairedTrial,
    mixes: &'w Mixes,
    week: &'w Week,
    sowings: Vec<(u32, &'w Sowing, u64)>,
}

impl<'w> Trays<'w> {
    fn of(trial: &'w PairedTrial, mixes: &'w Mixes, week: &'w Week) -> Result<Self, Lack> {
        let crop = &trial.crop.name;
        let lack = |what: String, expected: &str| Err((what, expected.to_owned()));
        match (trial.compare == Compared::Coir, week.soak.as_ref().is_some_and(Soak::tries_half)) {
            (true, false) => {
                return lack(
                    "the coir of this week is not halved".to_owned(),
                    "`trial: half` within the `soak:` of the week",
                );
            }
            (false, true) => {
                let what = "this week has two trials: its mixes are halved for one of coir";
                return lack(what.to_owned(), "no `trial: half` within its `soak:`, or `compare: coir`");
            }
            _ => {}
        }
        let mut in_shared: HashMap<u32, u64> = HashMap::new();
        for portion in mixes.layout.maps.iter().flat_map(|map| map.sown()) {
            *in_shared.entry(portion.sowing).or_default() += u64::from(portion.to + 1 - portion.from);
        }
        let sown = (0..).zip(mixes.layout.of(week)).filter(|(_, (sowing, _))| trial.is_of(sowing));
        let sown: Vec<_> = sown
            .map(|(index, (sowing, plan))| {
                let in_shared = in_shared.get(&index).copied().unwrap_or_default();
                (index, sowing, full_trays(sowing, plan.cells.cells, in_shared))
            })
            .collect();
        if sown.is_empty() {
            return lack(format!("this week sows no `{crop}`"), "a crop of its sowings");
        }
        let sowings: Vec<_> = sown.into_iter().filter(|(_, sowing, _)| !sowing.tray.pot).collect();
        if sowings.is_empty() {
            return lack(format!("`{crop}` stands in pots, and pairs are of trays"), "a sowing of it in trays");
        }
        Ok(Self { trial, mixes, week, sowings })
    }

    fn sources(&self) -> Result<Vec<Source>, Lack> {
        let crop = &self.trial.crop.name;
        let alone =
            |index: u32, first, step, count| Source { sowings: [index; 2], first, step, count, is_halved: false };
        match self.trial.compare {
            Compared::Feed => {
                Ok(self.sowings.iter().map(|(index, _, full)| alone(*index, [1, 2], 2, full / 2)).collect())
            }
            Compared::Coir => {
                let halved = self.sowings.iter().filter_map(|(index, sowing, full)| {
                    let [HalfOf { whole, .. }, _] = self.mixes.trial.halves(*index)?;
                    Some(if in_half_trays(sowing, *full, self.week) {
                        Source { is_halved: true, ..alone(*index, [1, 1], 1, *full) }
                    } else {
                        alone(*index, [1, whole + 1], 1, full.saturating_sub(*whole).min(*whole))
                    })
                });
                let halved: Vec<_> = halved.collect();
                let none =
                    || (format!("no mix of `{crop}` is halved"), "a mix with coir, for two rows at least".to_owned());
                if halved.is_empty() { Err(none()) } else { Ok(halved) }
            }
            Compared::Inoculant => self.with_and_without(),
        }
    }

    /// Sowings with the inoculant beside those that are the same but for it.
    fn with_and_without(&self) -> Result<Vec<Source>, Lack> {
        let mut alike: HashMap<_, [(u64, Reverse<u32>); 2]> = HashMap::new();
        let mut serves = false;
        for (index, sowing, full) in &self.sowings {
            let batch = self.mixes.layout.sowings[*index as usize].batch;
            let with = self.mixes.batches[batch].composition.ingredients().any(|one| one.serves.is_some());
            serves |= with;
            let terms = Terms { inoculant: None, ..Terms::clone(&sowing.terms) };
            let best = &mut alike.entry((sowing.recipe, &sowing.tray, &sowing.variety, terms)).or_default()
                [usize::from(!with)];
            *best = (*best).max((*full, Reverse(*index)));
        }
        if !serves {
            let what = format!("no mix of `{}` holds an inoculant that serves it", self.trial.crop.name);
            return Err((what, "a crop that an inoculant of its recipe serves".to_owned()));
        }
        let pairs = alike.into_values().map(|[(with, Reverse(a)), (without, Reverse(b))]| Source {
            sowings: [a, b],
            first: [1, 1],
            step: 1,
            is_halved: false,
            count: with.min(without),
        });
        Ok(pairs.collect())
    }
}
