//! A trial in pairs: which tray, or half of a tray, stands beside which, and on which side.

use super::Mixes;
use super::sow::{Half, TrayMap, full_trays, in_half_trays};
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

/// Full trays that would make pairs.
struct Source {
    /// The sowings of A and B.
    sowings: [u32; 2],
    /// The numbers of their first trays.
    first: [u64; 2],
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
        let (compare, crop, pairs) = (trial.compare, &trial.crop.name, trial.pairs);
        let sources = sources(compare, &full(trial, mixes, week)?, mixes, week).into_iter();
        let best = sources.max_by_key(|source| (source.count, Reverse(source.sowings)));
        let count = best.as_ref().map(|source| source.count);
        let Some(Source { sowings, first, .. }) = best.filter(|source| source.count >= pairs.into()) else {
            let found = format!("`{crop}` has full trays for {} of {pairs} pairs", count.unwrap_or(0));
            let trays = format!("a sowing of {} full trays", 2 * pairs);
            let alike = format!("two sowings alike, of {pairs} full trays each, one of them with `inoculant: no`");
            return match (compare, count) {
                (Compared::Feed, _) => lack(found, trays),
                (Compared::Coir, None) => {
                    lack(format!("no mix of `{crop}` is halved"), "one with coir, for two rows at least")
                }
                (Compared::Coir, _) => lack(found, format!("{trays}, or of {pairs} of an even number of rows")),
                (Compared::Inoculant, None) => lack(
                    format!("no mix of `{crop}` holds an inoculant that serves it"),
                    "a crop that an inoculant of its recipe serves",
                ),
                (Compared::Inoculant, Some(0)) => {
                    lack(format!("no two sowings of `{crop}` differ in the inoculant alone"), alike)
                }
                (Compared::Inoculant, _) => lack(found, alike),
            };
        };
        let half = small(week.sowings[sowings[0] as usize].tray.rows) / 2;
        let is_halved = sowings[0] == sowings[1] && first[0] == first[1];
        let sides = sides(trial.seed).take(pairs.into());
        let pairs = (0..).zip(sides).map(|(pair, a_left)| {
            let (step, swapped) = if compare == Compared::Feed { (2, !a_left) } else { (1, false) };
            let arms = [0, 1].map(|arm| {
                // Of one mix, a tray is what the draw makes of it.
                let tray = first[if swapped { 1 - arm } else { arm }] + step * pair;
                let rows = is_halved.then_some([(1, half), (half + 1, 2 * half)][arm]);
                PairedTray { sowing: sowings[arm], tray, rows }
            });
            Pair { arms, a_left }
        });
        let [a, b] = sowings.map(|sowing| mixes.layout.sowings[sowing as usize].batch);
        let b = if compare == Compared::Coir { Half::Straight.batch(b) } else { b };
        Ok(Self { batches: [a, b], pairs: pairs.collect() })
    }
}

fn lack<T>(what: impl Into<String>, expected: impl Into<String>) -> Result<T, Lack> {
    Err((what.into(), expected.into()))
}

/// The sowings of the trial's crop in trays, with the number of those that each fills alone.
fn full<'w>(trial: &PairedTrial, mixes: &'w Mixes, week: &'w Week) -> Result<Vec<(u32, &'w Sowing, u64)>, Lack> {
    match (trial.compare == Compared::Coir, week.soak.as_ref().is_some_and(Soak::tries_half)) {
        (true, false) => {
            return lack("the coir of this week is not halved", "`trial: half` within the `soak:` of the week");
        }
        (false, true) => {
            let what = "this week has two trials: its mixes are halved for one of coir";
            return lack(what, "no `trial: half` within its `soak:`, or `compare: coir`");
        }
        _ => {}
    }
    let mut in_shared: HashMap<u32, u64> = HashMap::new();
    for portion in mixes.layout.maps.iter().flat_map(TrayMap::sown) {
        *in_shared.entry(portion.sowing).or_default() += u64::from(portion.to + 1 - portion.from);
    }
    let in_trays = (0..).zip(mixes.layout.of(week)).filter(|(_, (sowing, _))| trial.is_of(sowing) && !sowing.tray.pot);
    let full: Vec<_> = in_trays
        .map(|(index, (sowing, plan))| {
            let in_shared = in_shared.get(&index).copied().unwrap_or_default();
            (index, sowing, full_trays(sowing, plan.cells.cells, in_shared))
        })
        .collect();
    if full.is_empty() {
        return lack(format!("this week sows no `{}` in trays", trial.crop.name), "a crop that it sows in trays");
    }
    Ok(full)
}

/// What of these trays would make pairs.
fn sources(compare: Compared, full: &[(u32, &Sowing, u64)], mixes: &Mixes, week: &Week) -> Vec<Source> {
    let alone = |index: u32, first, count| Source { sowings: [index; 2], first, count };
    match compare {
        Compared::Feed => full.iter().map(|(index, _, full)| alone(*index, [1, 2], full / 2)).collect(),
        Compared::Coir => {
            let halved = full.iter().filter_map(|(index, sowing, full)| {
                let whole = mixes.trial.halves(*index)?[0].whole;
                let is_split = in_half_trays(sowing, *full, week);
                let count = if is_split { *full } else { full.saturating_sub(whole).min(whole) };
                Some(alone(*index, if is_split { [1, 1] } else { [1, whole + 1] }, count))
            });
            halved.collect()
        }
        Compared::Inoculant => with_and_without(full, mixes),
    }
}

/// Sowings with the inoculant beside those that are the same but for it; nothing where none has it.
fn with_and_without(full: &[(u32, &Sowing, u64)], mixes: &Mixes) -> Vec<Source> {
    let mut alike: HashMap<_, [(u64, Reverse<u32>); 2]> = HashMap::new();
    let mut are_served = false;
    for (index, sowing, full) in full {
        let batch = mixes.layout.sowings[*index as usize].batch;
        let is_served = mixes.batches[batch].serves_some();
        are_served |= is_served;
        let terms = Terms { inoculant: None, ..Terms::clone(&sowing.terms) };
        let key = (sowing.recipe, &sowing.tray, &sowing.variety, terms);
        let best = &mut alike.entry(key).or_default()[usize::from(!is_served)];
        *best = (*best).max((*full, Reverse(*index)));
    }
    let pairs = alike.into_values().filter(|_| are_served).map(|[(with, Reverse(a)), (without, Reverse(b))]| Source {
        sowings: [a, b],
        first: [1, 1],
        count: with.min(without),
    });
    pairs.collect()
}
