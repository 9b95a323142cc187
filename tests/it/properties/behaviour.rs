//! Mixes of any parts: how they pack, and the air and water in their cells.

use super::some_cases;
use proptest::prelude::*;
use trayful::behaviour::packing::{Kept, linear};
use trayful::behaviour::{ENOUGH_AIR, Pores, Verdict, remedies};
use trayful::catalogue::{Catalogue, Frustum, FrustumKind, Handle, Ingredient};
use trayful::units::Length;
use trayful::units::length::centimetre;

/// Parts of any ingredients of the table whose pores are known.
fn parts(may: fn(&Ingredient) -> bool) -> impl Strategy<Value = Vec<(Handle<Ingredient>, f64)>> {
    let known = |name: &str| Catalogue::built_in().ingredients.find(name);
    let names: Vec<String> = Catalogue::built_in()
        .ingredients
        .iter()
        .filter(|ingredient| {
            ingredient.physical.porosity.is_some() && ingredient.physical.water_held.is_some() && may(ingredient)
        })
        .map(|ingredient| ingredient.name.clone())
        .collect();
    assert!(names.len() > 8, "{names:?}");
    let one = (proptest::sample::select(names), 0.25..6.0_f64);
    proptest::collection::vec(one.prop_map(move |(name, parts)| (known(&name).unwrap(), parts)), 1..6)
}

/// Whether most of its pores hold water in the core.
fn holds_water(ingredient: &Ingredient) -> bool {
    ingredient
        .physical
        .porosity
        .zip(ingredient.physical.water_held)
        .is_some_and(|(pores, held)| held[1] > 0.7 * pores[1])
}

/// Cells of any shape.
fn cell() -> impl Strategy<Value = Frustum> {
    (any::<bool>(), 1.0..20.0_f64, 0.0..1.3_f64, 1.0..30.0_f64).prop_map(|(round, top, taper, height)| {
        let kind = if round { FrustumKind::Round } else { FrustumKind::Square };
        let [top, bottom, depth] = [top, top * taper, height].map(Length::new::<centimetre>);
        Frustum { kind, top, bottom, depth }
    })
}

fn lent(parts: &[(Handle<Ingredient>, f64)]) -> Vec<(&Ingredient, f64)> {
    parts.iter().map(|(ingredient, parts)| (&**ingredient, *parts)).collect()
}

proptest! {
    #![proptest_config(some_cases(256))]

    #[test]
    fn the_linear_model_lies_between_the_limit_and_no_shrinkage(
        coarse in 0.0..=1.0_f64, gaps in 0.2..=0.7_f64, ratio in 0.0..=1.0_f64,
    ) {
        let fine = 1.0 - coarse;
        let blended = linear(coarse, fine, gaps, ratio);
        let limit = coarse.max(fine + (1.0 - gaps) * coarse);
        prop_assert!(limit <= blended + 1e-12);
        prop_assert!(blended <= 1.0 + 1e-12);
        prop_assert!((linear(coarse, fine, gaps, 0.0) - limit).abs() < 1e-12);
        prop_assert!((linear(coarse, fine, gaps, 1.0) - 1.0).abs() < 1e-12);
    }

    /// Air, water and solids make the whole, each within its range; a taller cell of the same kind holds no more water.
    #[test]
    fn air_water_and_solids_make_the_whole(parts in parts(|_| true), kept in 0.75..=1.0_f64, cell in cell(), taller in 1.0..3.0_f64) {
        let parts = lent(&parts);
        let pores = Pores::of(&parts, kept).unwrap();
        let found = pores.in_cell(&cell);
        prop_assert!((found.air[1] + found.water[1] - pores.porosity[1]).abs() < 1e-12);
        for range in [pores.porosity, pores.water_held, found.air, found.water] {
            prop_assert!(0.0 <= range[0] && range[0] <= range[1] && range[1] <= range[2] && range[2] <= 1.0, "{range:?}");
        }
        let tall = pores.in_cell(&Frustum { depth: cell.depth * taller, ..cell });
        prop_assert!(tall.water[1] <= found.water[1] + 1e-9, "{found:?} {tall:?}");
        prop_assert_eq!(found.verdict, Verdict::of(found.air[1]));
        prop_assert!(pores.least_air_in(&cell) <= found.air[1] + 1e-9, "{pores:?} {found:?}");
    }

    /// More perlite never takes air from a mix of what holds water.
    #[test]
    fn perlite_brings_air(parts in parts(holds_water), kept in 0.85..=1.0_f64, cell in cell(), more in 0.25..4.0_f64) {
        let perlite = Catalogue::built_in().ingredients.find("perlite").unwrap();
        let air = |parts: &[(&Ingredient, f64)]| Pores::of(parts, kept).unwrap().in_cell(&cell).air[1];
        let parts = lent(&parts);
        let with: Vec<_> = parts.iter().copied().chain([(&*perlite, more)]).collect();
        prop_assert!(air(&with) >= air(&parts) - 1e-9, "{} {}", air(&parts), air(&with));
    }

    /// A remedy, made, brings air enough, and a quarter less of it does not.
    #[test]
    fn remedies_are_the_least_that_help(parts in parts(|_| true), kept in 0.85..=1.0_f64, cell in cell()) {
        let perlite = Catalogue::built_in().ingredients.find("perlite").unwrap();
        let parts = lent(&parts);
        let air = |more: f64| {
            let with: Vec<_> = parts.iter().copied().chain([(&*perlite, more)]).collect();
            Pores::of(&with, kept).unwrap().in_cell(&cell).air[1]
        };
        match remedies(&parts, Kept::Said(kept), &cell, &[&perlite])[..] {
            [] => {
                let all = parts.iter().map(|(_, parts)| parts).sum::<f64>();
                prop_assert!(air(0.0) >= ENOUGH_AIR || air((4.0 * all).floor() / 4.0) < ENOUGH_AIR);
            }
            [remedy] => {
                prop_assert!((air(remedy.parts) - remedy.air).abs() < 1e-12 && remedy.air >= ENOUGH_AIR);
                prop_assert!(air(remedy.parts - 0.25) < ENOUGH_AIR, "{remedy:?}");
            }
            _ => unreachable!(),
        }
    }
}
