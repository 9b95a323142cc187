//! The shared base: what several batches have in common, mixed once and divided.
//!
//! Batch `b` holds `v[b][i]` loose litres of ingredient `i` and takes `k[b]` litres of a
//! base of proportions `r[i]`, so that `k[b] r[i] <= v[b][i]`; wanted are the proportions
//! that make the sum of `k` greatest. In logarithms the bounds are
//! `ln k[b] + ln r[i] <= ln v[b][i]`, a polyhedron, and the litres shared,
//! `(sum of k) (sum of r)` for any scale of `r`, are convex on it: the greatest value
//! lies at a corner. A corner is a tree of bounds that hold as equalities, one edge each
//! between batches and ingredients; they are walked from neighbour to neighbour.

use std::collections::{BTreeMap, HashSet, VecDeque};
use std::hash::{Hash, Hasher};

/// Corners looked at before the best so far is taken: m batches of different proportions
/// and n ingredients have at most (m + n - 2)! / ((m - 1)! (n - 1)!) of them.
const MOST_CORNERS: usize = 4_000;
/// Bounds looked at before the best so far is taken, for all bases of some mixes together.
/// A corner takes about m n of them, which is some milliseconds for a thousand batches.
const MOST_BOUNDS: usize = 8_000_000;
/// What is below this share of a batch's ingredient is floating-point noise.
const NOISE: f64 = 1e-9;

/// A base and what each batch takes of it.
#[derive(Clone, Debug, PartialEq)]
pub struct SharedBase<I> {
    /// Its ingredients with their loose litres, in the order of the first batch.
    pub ingredients: Vec<(I, f64)>,
    /// Loose litres of the base that each batch takes.
    pub taken: Vec<f64>,
    /// What each batch needs in addition to the base, in loose litres.
    pub additions: Vec<Vec<(I, f64)>>,
}

/// The largest base that all `batches` can share, each given by its ingredients in loose
/// litres; `None` for fewer than two, or where no ingredient is in all of them.
///
/// Batches of many different proportions (some ten with as many ingredients) are searched
/// in part only, and the largest base found is taken.
///
/// ```
/// use trayful::plan::largest_base;
/// // 3 peat, 1 perlite, 1 castings; and 3 peat, 2 perlite: all but the castings and one
/// // perlite is shared.
/// let base = largest_base(&[
///     vec![("peat", 30.0), ("perlite", 10.0), ("castings", 10.0)],
///     vec![("peat", 3.0), ("perlite", 2.0)],
/// ]).unwrap();
/// assert_eq!(base.taken, [40.0, 4.0]);
/// assert_eq!(base.additions, [vec![("castings", 10.0)], vec![("perlite", 1.0)]]);
/// ```
pub fn largest_base<I: Clone + Ord>(batches: &[Vec<(I, f64)>]) -> Option<SharedBase<I>> {
    largest_base_counting(batches, &mut 0)
}

/// The same with the bounds looked at so far, which are counted on: at [`MOST_BOUNDS`] the
/// search ends.
pub(super) fn largest_base_counting<I: Clone + Ord>(
    batches: &[Vec<(I, f64)>],
    looked_at: &mut usize,
) -> Option<SharedBase<I>> {
    if batches.len() < 2 {
        return None;
    }
    let held: Vec<BTreeMap<&I, f64>> =
        batches.iter().map(|batch| batch.iter().map(|(id, litres)| (id, *litres)).collect()).collect();
    let is_held =
        |id: &I| held.iter().all(|held| held.get(id).is_some_and(|litres| *litres > 0.0 && litres.is_finite()));
    let common: Vec<&I> = batches[0].iter().map(|(id, _)| id).filter(|id| is_held(id)).collect();
    if common.is_empty() {
        return None;
    }
    let volumes: Vec<Vec<f64>> = held.iter().map(|held| common.iter().map(|id| held[id]).collect()).collect();
    let (proportions, taken) = share(&volumes, looked_at);
    let total: f64 = taken.iter().sum();
    let sum: f64 = proportions.iter().sum();
    let parts: BTreeMap<&I, f64> = common.iter().copied().zip(proportions.iter().map(|part| part / sum)).collect();
    let part = |id: &I| parts.get(id).copied().unwrap_or(0.0);
    let additions = batches
        .iter()
        .zip(&taken)
        .map(|(batch, taken)| {
            let rest = batch.iter().map(|(id, litres)| (id, *litres, litres - taken * part(id)));
            rest.filter(|(_, litres, rest)| *rest > NOISE * litres).map(|(id, _, rest)| (id.clone(), rest)).collect()
        })
        .collect();
    Some(SharedBase {
        ingredients: common.iter().map(|id| ((*id).clone(), total * part(id))).collect(),
        taken,
        additions,
    })
}

/// Proportions of the base, and what each batch takes of it in litres.
fn share(volumes: &[Vec<f64>], looked_at: &mut usize) -> (Vec<f64>, Vec<f64>) {
    let classes = by_proportions(volumes);
    let proportions = if classes.len() == 1 { classes[0].clone() } else { best_corner(&classes, looked_at) };
    let sum: f64 = proportions.iter().sum();
    let taken = volumes
        .iter()
        .map(|held| {
            let bounds = held.iter().zip(&proportions).map(|(held, part)| held / part);
            bounds.fold(f64::INFINITY, f64::min) * sum
        })
        .collect();
    (proportions, taken)
}

/// The volumes with batches of equal proportions taken together: they act as one.
fn by_proportions(volumes: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut classes: Vec<Vec<f64>> = Vec::new();
    // A mean that hardly two different proportions share, so that few have to be compared.
    let mut by_mean: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
    for held in volumes {
        let scale: f64 = held.iter().sum();
        let mean = held.iter().enumerate().map(|(i, held)| (1.0 + offset(0, i)) * held).sum::<f64>() / scale;
        // The bits of positive numbers, read as whole numbers, are in the order of the numbers.
        let near = (mean * (1.0 - 4.0 * NOISE)).to_bits()..=(mean * (1.0 + 4.0 * NOISE)).to_bits();
        let is_alike = |index: &usize| {
            let sum: f64 = classes[*index].iter().sum();
            classes[*index].iter().zip(held).all(|(a, b)| (a / sum - b / scale).abs() <= NOISE * (b / scale))
        };
        match by_mean.range(near).flat_map(|(_, indexes)| indexes).copied().filter(is_alike).min() {
            Some(index) => classes[index].iter_mut().zip(held).for_each(|(sum, held)| *sum += held),
            None => {
                by_mean.entry(mean.to_bits()).or_default().push(classes.len());
                classes.push(held.clone());
            }
        }
    }
    classes
}

/// A corner by its equalities.
#[derive(Clone, PartialEq, Eq)]
struct Tree {
    /// Those of the first batch and of each other that meets several bounds, sorted: they tie
    /// all ingredients together.
    several: Vec<(usize, usize)>,
    /// The one bound that each other batch meets.
    single: Vec<Option<usize>>,
}

/// The proportions of the corner that shares the most.
fn best_corner(volumes: &[Vec<f64>], looked_at: &mut usize) -> Vec<f64> {
    // Bounds that happen to meet in one corner are set apart by less than a billionth.
    let bounds: Vec<Vec<f64>> = volumes
        .iter()
        .enumerate()
        .map(|(b, held)| held.iter().enumerate().map(|(i, held)| held * (1.0 + 1e-10 * offset(b, i))).collect())
        .collect();
    let start = Tree::first(&bounds);
    let mut seen = HashSet::from([start.clone()]);
    let mut queue = VecDeque::from([start]);
    let mut best = (f64::NEG_INFINITY, volumes[0].clone());
    while let Some(tree) = queue.pop_front() {
        let (taken, parts) = tree.corner(volumes);
        let shared = taken.iter().sum::<f64>() * parts.iter().sum::<f64>();
        if shared > best.0 {
            best = (shared, parts);
        }
        *looked_at += bounds.len();
        if *looked_at >= MOST_BOUNDS {
            break;
        }
        if seen.len() < MOST_CORNERS {
            for next in tree.neighbours(&bounds, looked_at) {
                if seen.len() < MOST_CORNERS && seen.insert(next.clone()) {
                    queue.push_back(next);
                }
            }
        }
    }
    best.1
}

/// A number between 0 and 1 of its own for each pair.
fn offset(b: usize, i: usize) -> f64 {
    ((b * 64 + i + 1) as f64 * 0.618_033_988_749_894_9).fract()
}

/// Batches that stay together when an edge is cut: those that meet one ingredient's bound
/// only, or one batch of the tree.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    Meets(usize),
    Batch(usize),
}

/// For each ingredient the narrowest room that a group of batches has, and which has it.
type Rooms = Vec<(f64, usize)>;

/// By `several` alone: it nearly always tells two corners apart, and is short.
impl Hash for Tree {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.several.hash(state);
    }
}

impl Tree {
    /// The base is the first batch's own proportions; every other batch meets one bound.
    fn first(bounds: &[Vec<f64>]) -> Self {
        let tight = |held: &Vec<f64>| {
            let most = |i: usize| held[i] / bounds[0][i];
            (0..held.len()).min_by(|x, y| most(*x).total_cmp(&most(*y)))
        };
        let single = std::iter::once(None).chain(bounds[1..].iter().map(tight));
        Self { several: (0..bounds[0].len()).map(|i| (0, i)).collect(), single: single.collect() }
    }

    /// What the batches take and the parts: the first batch takes one.
    fn corner(&self, bounds: &[Vec<f64>]) -> (Vec<f64>, Vec<f64>) {
        let mut taken = vec![0.0; bounds.len()];
        let mut parts = vec![0.0; bounds[0].len()];
        taken[0] = 1.0;
        let mut grown = true;
        while grown {
            grown = false;
            for &(b, i) in &self.several {
                let (known, new) = if parts[i] == 0.0 { (taken[b], &mut parts[i]) } else { (parts[i], &mut taken[b]) };
                if known > 0.0 && *new == 0.0 {
                    *new = bounds[b][i] / known;
                    grown |= *new > 0.0;
                }
            }
        }
        for ((held, taken), met) in bounds.iter().zip(&mut taken).zip(&self.single) {
            if let Some(i) = *met {
                *taken = held[i] / parts[i];
            }
        }
        (taken, parts)
    }

    /// The room of each group of batches.
    fn rooms(&self, bounds: &[Vec<f64>]) -> BTreeMap<Group, Rooms> {
        let (taken, parts) = self.corner(bounds);
        let mut rooms: BTreeMap<Group, Rooms> = BTreeMap::new();
        for (b, held) in bounds.iter().enumerate() {
            let group = self.single[b].map_or(Group::Batch(b), Group::Meets);
            let narrowest = rooms.entry(group).or_insert_with(|| vec![(f64::INFINITY, b); parts.len()]);
            for ((held, part), narrowest) in held.iter().zip(&parts).zip(narrowest) {
                let room = held / (taken[b] * part);
                if room < narrowest.0 {
                    *narrowest = (room, b);
                }
            }
        }
        rooms
    }

    /// The corners at the other ends of its edges: one equality is given up for another. Adds
    /// the bounds that are compared to `looked_at`.
    fn neighbours(&self, bounds: &[Vec<f64>], looked_at: &mut usize) -> Vec<Self> {
        let rooms = self.rooms(bounds);
        *looked_at += bounds.len() * bounds[0].len();
        // Where a batch that meets one bound gives it up, it takes less: that leads nowhere.
        let edges = self.several.iter().enumerate();
        edges
            .filter_map(|(given_up, edge)| {
                // On the side of the ingredient the batches take more and the parts shrink,
                // until one of these batches meets the bound of a part that does not.
                let (more, less) = side_of(&self.several, given_up, edge.1, bounds);
                let takes_more = |group: &Group| match *group {
                    Group::Meets(i) => less[i],
                    Group::Batch(b) => more[b],
                };
                *looked_at += rooms.len() * less.len();
                let (_, gained) = rooms
                    .iter()
                    .filter(|(group, _)| takes_more(group))
                    .flat_map(|(_, rooms)| rooms.iter().zip(0..).map(|((room, b), i)| (*room, (*b, i))))
                    .filter(|(_, (_, i))| !less[*i])
                    .min_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)))?;
                Some(self.exchanged(given_up, gained))
            })
            .collect()
    }

    fn exchanged(&self, given_up: usize, gained: (usize, usize)) -> Self {
        let Self { mut several, mut single } = self.clone();
        let (from, _) = several.remove(given_up);
        let mut left = several.iter().filter(|(b, _)| *b == from);
        if let (Some((1.., met)), None) = (left.next().copied(), left.next()) {
            single[from] = Some(met);
            several.retain(|(b, _)| *b != from);
        }
        several.extend(single[gained.0].take().map(|met| (gained.0, met)));
        several.push(gained);
        several.sort_unstable();
        Self { several, single }
    }
}

/// Batches and parts that hang together with an ingredient once an edge is cut.
fn side_of(tree: &[(usize, usize)], cut: usize, ingredient: usize, bounds: &[Vec<f64>]) -> (Vec<bool>, Vec<bool>) {
    let (mut batches, mut parts) = (vec![false; bounds.len()], vec![false; bounds[0].len()]);
    parts[ingredient] = true;
    let mut grown = true;
    while grown {
        grown = false;
        for (index, &(b, i)) in tree.iter().enumerate() {
            if index != cut && batches[b] != parts[i] {
                (batches[b], parts[i]) = (true, true);
                grown = true;
            }
        }
    }
    (batches, parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_work_is_bounded_and_the_base_is_sound() {
        for (count, ingredients) in [(3, 4), (40, 4), (1_000, 2), (1_000, 8), (150, 60)] {
            let litres = |b: u32, i: u32| f64::from((b * b * 7 + b * i * 3 + i * i * 13) % 101 + 1) / 7.0;
            let batches: Vec<Vec<(u32, f64)>> =
                (0..count).map(|b| (0..ingredients).map(|i| (i, litres(b, i))).collect()).collect();
            // One corner has fewer edges than twice the ingredients and one for the first batch, and
            // compares at most every bound for each.
            let bounds = batches.len() * ingredients as usize;
            let of_corner = bounds * (3 * ingredients as usize + 2);
            for before in [0, MOST_BOUNDS] {
                let mut looked_at = before;
                let base = largest_base_counting(&batches, &mut looked_at).unwrap();
                assert!(
                    looked_at > before && looked_at <= MOST_BOUNDS + of_corner,
                    "{count} x {ingredients}: {looked_at}"
                );
                let total: f64 = base.taken.iter().sum();
                for (batch, taken) in batches.iter().zip(&base.taken) {
                    let of_base = base.ingredients.iter().map(|(_, litres)| taken * litres / total);
                    let fits = batch.iter().zip(of_base).all(|((_, litres), of_base)| of_base <= litres * (1.0 + 1e-9));
                    assert!(*taken > 0.0 && fits, "{count} x {ingredients}");
                }
            }
        }
    }
}
