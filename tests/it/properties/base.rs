//! What batches have in common, against a grid of proportions.

use super::some_cases;
use proptest::prelude::*;
use trayful::plan::largest_base;

/// Litres shared with proportions `r`.
fn shared(volumes: &[Vec<f64>], r: &[f64]) -> f64 {
    let sum: f64 = r.iter().sum();
    let taken = volumes.iter().map(|held| {
        held.iter().zip(r).filter(|(_, r)| **r > 0.0).map(|(held, r)| held / r).fold(f64::INFINITY, f64::min)
    });
    taken.sum::<f64>() * sum
}

/// Every set of proportions in `steps` equal steps.
fn grid(parts: usize, steps: u32) -> Vec<Vec<f64>> {
    if parts == 1 {
        return vec![vec![f64::from(steps)]];
    }
    (0..=steps)
        .flat_map(|first| {
            grid(parts - 1, steps - first).into_iter().map(move |mut rest| {
                rest.insert(0, f64::from(first));
                rest
            })
        })
        .collect()
}

fn batches() -> impl Strategy<Value = Vec<Vec<f64>>> {
    (2_usize..4, 2_usize..5).prop_flat_map(|(ingredients, batches)| {
        prop::collection::vec(prop::collection::vec((1_u32..9).prop_map(f64::from), ingredients), batches)
    })
}

fn named(volumes: &[Vec<f64>]) -> Vec<Vec<(usize, f64)>> {
    volumes.iter().map(|held| held.iter().copied().enumerate().collect()).collect()
}

proptest! {
    #![proptest_config(some_cases(256))]

    #[test]
    fn no_proportions_share_more(volumes in batches()) {
        let base = largest_base(&named(&volumes)).unwrap();
        let found: f64 = base.taken.iter().sum();
        for r in grid(volumes[0].len(), 48) {
            let tried = shared(&volumes, &r);
            prop_assert!(tried <= found * (1.0 + 1e-9), "{tried} with {r:?} is more than {found}");
        }
    }

    #[test]
    fn base_and_additions_are_the_batch(volumes in batches()) {
        let batches = named(&volumes);
        let base = largest_base(&batches).unwrap();
        let total: f64 = base.taken.iter().sum();
        for (b, batch) in batches.iter().enumerate() {
            for (i, litres) in batch {
                let from_base = base.taken[b] * base.ingredients[*i].1 / total;
                let added = base.additions[b].iter().find(|(id, _)| id == i).map_or(0.0, |(_, l)| *l);
                prop_assert!(added >= 0.0 && (from_base + added - litres).abs() < 1e-8 * litres);
            }
        }
    }
}

#[test]
fn equal_proportions_are_shared_whole_whatever_their_size() {
    let base = largest_base(&named(&[vec![30.0, 10.0, 10.0], vec![0.3, 0.1, 0.1], vec![9.0, 3.0, 3.0]])).unwrap();
    assert!(base.additions.iter().all(Vec::is_empty));
    assert!((base.taken.iter().sum::<f64>() - 65.5).abs() < 1e-9);
}

#[test]
fn nothing_in_common_is_no_base() {
    assert_eq!(largest_base(&[vec![("peat", 1.0)], vec![("coir", 1.0)]]), None);
    assert_eq!(largest_base(&[vec![("peat", 1.0)]]), None);
}

#[test]
fn many_batches_are_searched_within_bounds() {
    let volumes: Vec<Vec<f64>> =
        (1..=16_u32).map(|b| (1..=9_u32).map(|i| f64::from((b * b * 7 + i * i * 13) % 31 + 1)).collect()).collect();
    let base = largest_base(&named(&volumes)).unwrap();
    let least = volumes.iter().map(|own| shared(&volumes, own)).fold(0.0, f64::max);
    assert!(base.taken.iter().sum::<f64>() >= least * (1.0 - 1e-9));
}
