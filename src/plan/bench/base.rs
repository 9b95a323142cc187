//! The shared base: what several batches have in common, mixed once and divided.
//!
//! Batch `b` holds `v[b][i]` loose litres of ingredient `i` and takes `k[b]` litres of a
//! base of proportions `r[i]`, so that `k[b] r[i] <= v[b][i]`; wanted are the proportions
//! that make the sum of `k` greatest. In logarithms the bounds are
//! `ln k[b] + ln r[i] <= ln v[b][i]`, a polyhedron, and the litres shared,
//! `(sum of k) (sum of r)` for any scale of `r`, are convex on it: the greatest value
//! lies at a corner. A corner is a tree of bounds that hold as equalities, one edge each
//! between batches and ingredients; they are walked from neighbour to neighbour.

use std::collections::{HashSet, VecDeque};

/// Corners looked at before the best so far is taken: m batches of different proportions
/// and n ingredients have at most (m + n - 2)! / ((m - 1)! (n - 1)!) of them.
const MOST_CORNERS: usize = 4_000;
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
pub fn largest_base<I: Clone + PartialEq>(batches: &[Vec<(I, f64)>]) -> Option<SharedBase<I>> {
    if batches.len() < 2 {
        return None;
    }
    let held = |batch: &[(I, f64)], id: &I| batch.iter().find(|(known, _)| known == id).map_or(0.0, |(_, l)| *l);
    let common: Vec<&I> = batches[0]
        .iter()
        .map(|(id, _)| id)
        .filter(|id| batches.iter().all(|batch| held(batch, id) > 0.0 && held(batch, id).is_finite()))
        .collect();
    if common.is_empty() {
        return None;
    }
    let volumes: Vec<Vec<f64>> =
        batches.iter().map(|batch| common.iter().map(|id| held(batch, id)).collect()).collect();
    let (proportions, taken) = share(&volumes);
    let total: f64 = taken.iter().sum();
    let sum: f64 = proportions.iter().sum();
    let part = |id: &I| common.iter().position(|known| *known == id).map_or(0.0, |index| proportions[index] / sum);
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
fn share(volumes: &[Vec<f64>]) -> (Vec<f64>, Vec<f64>) {
    // Batches of equal proportions act as one.
    let mut classes: Vec<Vec<f64>> = Vec::new();
    let mut class_of = Vec::with_capacity(volumes.len());
    for held in volumes {
        let scale: f64 = held.iter().sum();
        let alike = classes.iter().position(|class| {
            let sum: f64 = class.iter().sum();
            class.iter().zip(held).all(|(a, b)| (a / sum - b / scale).abs() <= NOISE * (b / scale))
        });
        match alike {
            Some(index) => classes[index].iter_mut().zip(held).for_each(|(sum, held)| *sum += held),
            None => classes.push(held.clone()),
        }
        class_of.push(alike.unwrap_or(classes.len() - 1));
    }
    let proportions = if classes.len() == 1 { classes[0].clone() } else { best_corner(&classes) };
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

/// A corner: its equalities, sorted.
type Tree = Vec<(usize, usize)>;

/// The proportions of the corner that shares the most.
fn best_corner(volumes: &[Vec<f64>]) -> Vec<f64> {
    // Bounds that happen to meet in one corner are set apart by less than a billionth.
    let bounds: Vec<Vec<f64>> = volumes
        .iter()
        .enumerate()
        .map(|(b, held)| held.iter().enumerate().map(|(i, held)| held * (1.0 + 1e-10 * nudge(b, i))).collect())
        .collect();
    let start = first_corner(&bounds);
    let mut seen = HashSet::from([start.clone()]);
    let mut queue = VecDeque::from([start]);
    let mut best = (f64::NEG_INFINITY, volumes[0].clone());
    while let Some(tree) = queue.pop_front() {
        let (taken, parts) = corner(&tree, volumes);
        let shared = taken.iter().sum::<f64>() * parts.iter().sum::<f64>();
        if shared > best.0 {
            best = (shared, parts);
        }
        for next in neighbours(&tree, &bounds) {
            if seen.len() < MOST_CORNERS && seen.insert(next.clone()) {
                queue.push_back(next);
            }
        }
    }
    best.1
}

/// A number between 0 and 1 of its own for each pair.
fn nudge(b: usize, i: usize) -> f64 {
    ((b * 64 + i + 1) as f64 * 0.618_033_988_749_894_9).fract()
}

/// The base is the first batch's own proportions; every other batch meets one bound.
fn first_corner(bounds: &[Vec<f64>]) -> Tree {
    let mut tree: Tree = (0..bounds[0].len()).map(|i| (0, i)).collect();
    for (b, held) in bounds.iter().enumerate().skip(1) {
        let most = |i: usize| held[i] / bounds[0][i];
        let tight = (0..held.len()).min_by(|x, y| most(*x).total_cmp(&most(*y)));
        tree.extend(tight.map(|i| (b, i)));
    }
    tree.sort_unstable();
    tree
}

/// What the batches take and the parts, from the equalities of a tree: the first batch
/// takes one.
fn corner(tree: &Tree, bounds: &[Vec<f64>]) -> (Vec<f64>, Vec<f64>) {
    let mut taken = vec![0.0; bounds.len()];
    let mut parts = vec![0.0; bounds[0].len()];
    taken[0] = 1.0;
    // Each pass settles at least one more edge of the tree.
    for _ in 0..tree.len() {
        for &(b, i) in tree {
            if taken[b] > 0.0 && parts[i] == 0.0 {
                parts[i] = bounds[b][i] / taken[b];
            } else if taken[b] == 0.0 && parts[i] > 0.0 {
                taken[b] = bounds[b][i] / parts[i];
            }
        }
    }
    (taken, parts)
}

/// The corners at the other ends of a corner's edges: one equality is given up for
/// another.
fn neighbours(tree: &Tree, bounds: &[Vec<f64>]) -> Vec<Tree> {
    let (taken, parts) = corner(tree, bounds);
    let room = |(b, i): (usize, usize)| bounds[b][i] / (taken[b] * parts[i]);
    tree.iter()
        .enumerate()
        .filter_map(|(given_up, edge)| {
            // On the side of the ingredient the batches take more and the parts shrink,
            // until one of these batches meets the bound of a part that does not.
            let (more, less) = side_of(tree, given_up, edge.1, bounds);
            let gained = (0..bounds.len())
                .filter(|b| more[*b])
                .flat_map(|b| (0..bounds[0].len()).map(move |i| (b, i)))
                .filter(|(_, i)| !less[*i])
                .min_by(|x, y| room(*x).total_cmp(&room(*y)))?;
            let mut next = tree.clone();
            next[given_up] = gained;
            next.sort_unstable();
            Some(next)
        })
        .collect()
}

/// Batches and parts that hang together with an ingredient once an edge is cut.
fn side_of(tree: &Tree, cut: usize, ingredient: usize, bounds: &[Vec<f64>]) -> (Vec<bool>, Vec<bool>) {
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
