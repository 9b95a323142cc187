//! What takes the place of a part: against a search of its own through every pair and every quarter.

use trayful::behaviour::packing::Kept;
use trayful::behaviour::{Candidate, MOST_RICH, Pores, Swap, dry_density, shape_of, swaps};
use trayful::catalogue::{Catalogue, Feeds, Frustum, Handle, Ingredient};
use trayful::exact::Fraction;
use trayful::recipe::Composition;

/// Numbers that seem random, the same in every run.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }

    /// Some of a list, each once.
    fn some<T: Clone>(&mut self, of: &[T], count: u64) -> Vec<T> {
        let mut left = of.to_vec();
        (0..count).map(|_| left.swap_remove(self.below(left.len() as u64) as usize)).collect()
    }
}

fn quarters(count: u64) -> Fraction {
    Fraction::whole(count).over(Fraction::whole(4)).unwrap()
}

type Mix = Vec<(Handle<Ingredient>, f64)>;

/// Dry density, pores, water and air in the cell, mean pH, each over what is felt.
fn felt(mix: &Mix, cell: &Frustum) -> [f64; 5] {
    let parts: Vec<(&Ingredient, f64)> = mix.iter().map(|(id, parts)| (&**id, *parts)).collect();
    let all: f64 = parts.iter().map(|(_, parts)| parts).sum();
    let ph =
        parts.iter().map(|(id, parts)| id.physical.ph.map(|(least, most)| f64::midpoint(least, most) * parts / all));
    let pores = Pores::of(&parts, 0.88).unwrap();
    let drained = pores.in_cell(cell);
    let dry = dry_density(&parts, 0.88).unwrap()[1];
    let ph: f64 = ph.sum::<Option<f64>>().unwrap();
    [dry / 100.0, pores.porosity[1] / 0.05, drained.water[1] / 0.05, drained.air[1] / 0.05, ph / 0.5]
}

fn distance(one: &Mix, other: &Mix, cell: &Frustum) -> f64 {
    felt(one, cell).iter().zip(felt(other, cell)).map(|(one, other)| (one - other).powi(2)).sum::<f64>().sqrt()
}

fn is_allowed(mix: &Mix, takes: &[(Handle<Ingredient>, f64)]) -> bool {
    let share = |is: &dyn Fn(&Ingredient) -> bool| {
        mix.iter().filter(|(id, _)| is(id)).map(|(_, parts)| parts).sum::<f64>()
            / mix.iter().map(|(_, parts)| parts).sum::<f64>()
    };
    let is_rich = |id: &Ingredient| ["castings", "compost"].contains(&id.name.as_str());
    takes.iter().all(|(id, _)| id.name != "soil")
        && (!takes.iter().any(|(id, _)| is_rich(id)) || share(&is_rich) <= 0.2 + 1e-9)
}

/// A mix, one of its parts, and what may take its place.
struct Case {
    mix: Composition,
    without: Handle<Ingredient>,
    candidates: Vec<Handle<Ingredient>>,
    cell: Frustum,
}

fn cases() -> impl Iterator<Item = Case> {
    let Catalogue { ingredients, trays, .. } = Catalogue::built_in();
    let all = [
        "peat",
        "coir",
        "perlite",
        "vermiculite",
        "castings",
        "compost",
        "leaf mould",
        "pine bark",
        "wood fibre",
        "rice hulls",
        "biochar",
        "pumice",
        "coarse sand",
        "fine sand",
        "grit",
        "loam",
        "soil",
        "limed peat",
    ];
    let all = all.map(|name| ingredients.find(name).unwrap());
    let cells =
        ["72-cell", "128-cell", "288-cell", "9 cm pot"].map(|name| shape_of(&trays.find(name).unwrap()).unwrap());
    let mut numbers = Numbers(20_270_306);
    (0..50).map(move |_| {
        let count = 2 + numbers.below(3);
        let parts = numbers.some(&all, count).into_iter().map(|id| (id, quarters(1 + numbers.below(12)))).collect();
        let mix = Composition { parts, doses: Vec::new(), sieve: None, yield_: Fraction::new(88, 100).unwrap() };
        let without = mix.parts[numbers.below(count) as usize].0.clone();
        let count = 1 + numbers.below(6);
        Case { without, candidates: numbers.some(&all, count), cell: cells[numbers.below(4) as usize], mix }
    })
}

fn found(case: &Case, candidates: &[Handle<Ingredient>]) -> Vec<Swap> {
    let candidates: Vec<_> = candidates.iter().map(|id| Candidate { ingredient: id.clone(), most: None }).collect();
    swaps((&case.mix, Kept::Said(0.88)), &case.without, &candidates, &case.cell)
}

/// The least distance of all pairs in all quarters, of those first that bring no food where there was none.
fn least(case: &Case) -> Option<(bool, f64)> {
    let fed = case.mix.parts.iter().any(|(id, _)| id.feeds != Feeds::No);
    let brings = |takes: &Mix| !fed && takes.iter().any(|(id, _)| id.feeds != Feeds::No);
    let before: Mix = case.mix.parts.iter().map(|(id, parts)| (id.clone(), parts.to_f64())).collect();
    let rest: Mix = before.iter().filter(|(id, _)| *id != case.without).cloned().collect();
    let missing = (4.0 * before.iter().find(|(id, _)| *id == case.without).unwrap().1).round() as u64;
    let mut least: Option<(bool, f64)> = None;
    for one in case.candidates.iter().filter(|id| **id != case.without) {
        for other in case.candidates.iter().filter(|id| **id != case.without && *id != one) {
            for count in 0..=missing {
                let takes =
                    [(one, count), (other, missing - count)].map(|(id, count)| (id.clone(), count as f64 / 4.0));
                let takes: Vec<_> = takes.into_iter().filter(|(_, parts)| *parts > 0.0).collect();
                let mix: Mix = rest.iter().chain(&takes).cloned().collect();
                if is_allowed(&mix, &takes) {
                    let off = (brings(&takes), distance(&mix, &before, &case.cell));
                    least = Some(least.map_or(off, |least| if off < least { off } else { least }));
                }
            }
        }
        let takes = [(one.clone(), missing as f64 / 4.0)];
        let mix: Mix = rest.iter().chain(&takes).cloned().collect();
        if is_allowed(&mix, &takes) {
            let off = (brings(&takes.to_vec()), distance(&mix, &before, &case.cell));
            least = Some(least.map_or(off, |least| if off < least { off } else { least }));
        }
    }
    least
}

/// Peat that its maker has limed is as near as can be to peat that the recipe limes.
#[test]
fn limed_peat_comes_first_in_the_place_of_peat_that_is_limed() {
    let told = crate::support::run(["swap", "everyday", "--without", "peat", "--format", "json"]).result();
    let told: serde_json::Value = serde_json::from_str(&told).unwrap();
    assert_eq!(
        told["choices"][0]["takes"],
        serde_json::json!([{"name": "limed peat", "parts": "3"}]),
        "{}",
        told["swaps"]
    );
}

#[test]
fn the_first_is_the_nearest_of_all() {
    let mut with_two = 0;
    for case in cases() {
        let (found, least) = (found(&case, &case.candidates), least(&case));
        let first = found.first().map(|swap| (swap.brings_food, swap.distance));
        match (first, least) {
            (Some((food, first)), Some((brings, least))) => {
                assert!(food == brings && (first - least).abs() < 1e-9, "{first} {least} {:?}", case.mix);
            }
            (first, least) => {
                assert_eq!(first, least, "{:?} without {:?}: {:?}", case.mix, case.without, case.candidates);
            }
        }
        with_two += usize::from(found.first().is_some_and(|swap| swap.takes.len() == 2));
    }
    // Neither is always so.
    assert!((5..45).contains(&with_two), "{with_two}");
}

#[test]
fn the_parts_stay_as_many_and_nothing_forbidden_is_taken() {
    for case in cases() {
        let missing = case.mix.parts.iter().find(|(id, _)| *id == case.without).unwrap().1;
        let found = found(&case, &case.candidates);
        for Swap { takes, .. } in &found {
            let sum = takes.iter().fold(Fraction::ZERO, |sum, (_, parts)| sum.plus(*parts).unwrap());
            assert_eq!(sum, missing);
            for (id, parts) in takes {
                assert!(parts.times(Fraction::whole(4)).unwrap().to_u64().is_some_and(|quarters| quarters > 0));
                assert!(*id != case.without && id.name != "soil" && case.candidates.contains(id), "{id:?}");
            }
            let rest = case.mix.parts.iter().filter(|(id, _)| *id != case.without).chain(takes);
            let rest: Vec<_> = rest.map(|(id, parts)| (id.clone(), parts.to_f64())).collect();
            let takes: Vec<_> = takes.iter().map(|(id, parts)| (id.clone(), parts.to_f64())).collect();
            assert!(is_allowed(&rest, &takes), "{takes:?}");
        }
        assert!(found.is_sorted_by(|one, next| (one.brings_food, one.distance) <= (next.brings_food, next.distance)));
        // Each set of ingredients once.
        let sets: std::collections::BTreeSet<Vec<_>> =
            found.iter().map(|swap| swap.takes.iter().map(|(id, _)| id.clone()).collect()).collect();
        assert_eq!(sets.len(), found.len());
    }
    assert!((MOST_RICH - 0.2).abs() < 1e-12);
}

#[test]
fn the_order_of_the_candidates_is_nothing() {
    for case in cases() {
        let reversed: Vec<_> = case.candidates.iter().rev().chain(&case.candidates).cloned().collect();
        assert_eq!(found(&case, &case.candidates), found(&case, &reversed));
    }
}

/// What does not divide into quarters of a part is shared in quarters of itself, and what has too many in fewer.
#[test]
fn odd_and_many_parts_are_shared_evenly() {
    let ingredients = Catalogue::built_in().ingredients;
    let [peat, vermiculite] = ["peat", "vermiculite"].map(|name| ingredients.find(name).unwrap());
    let case = cases().next().unwrap();
    for (parts, step) in [("1/3", "1/12"), ("20 %", "1/20"), ("1000000", "100")] {
        let mut missing = trayful::units::number(parts.trim_end_matches(" %")).unwrap();
        if parts.ends_with('%') {
            missing = missing.over(Fraction::whole(100)).unwrap();
        }
        let mix =
            Composition { parts: vec![(peat.clone(), missing), (vermiculite.clone(), missing)], ..case.mix.clone() };
        let candidates = ["perlite", "pumice"].map(|name| ingredients.find(name).unwrap());
        let found = found(&Case { mix, without: vermiculite.clone(), ..cases().next().unwrap() }, &candidates);
        let step = trayful::units::number(step).unwrap();
        let pair = found.iter().find(|swap| swap.takes.len() == 2).unwrap();
        assert!(pair.takes[0].1.over(step).unwrap().to_u64().is_some(), "{parts}: {:?}", pair.takes);
        assert_eq!(pair.takes[0].1.plus(pair.takes[1].1), Some(missing));
    }
}

/// More than are at hand are not taken, with what is in the mix already.
#[test]
fn what_is_at_hand_is_enough() {
    let ingredients = Catalogue::built_in().ingredients;
    let [peat, perlite, vermiculite, pumice] =
        ["peat", "perlite", "vermiculite", "pumice"].map(|name| ingredients.find(name).unwrap());
    let parts = [(&peat, 12), (&perlite, 4), (&vermiculite, 4)].map(|(id, count)| (id.clone(), quarters(count)));
    let case = cases().next().unwrap();
    let mix = Composition { parts: parts.to_vec(), ..case.mix };
    let takes = |most: f64| {
        let candidates = [
            Candidate { ingredient: perlite.clone(), most: Some(most) },
            Candidate { ingredient: pumice.clone(), most: None },
        ];
        let found = swaps((&mix, Kept::Said(0.88)), &vermiculite, &candidates, &case.cell);
        let of =
            |swap: &Swap| swap.takes.iter().filter(|(id, _)| *id == perlite).map(|(_, parts)| parts.to_f64()).sum();
        found.iter().map(of).fold(0.0, f64::max)
    };
    assert_eq!([2.0, 1.99, 1.5, 1.0].map(takes), [1.0, 0.75, 0.5, 0.0]);
}
