//! Weeks drawn at random from crops, trays and amounts of every kind.

use super::cases;
use proptest::prelude::*;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use trayful::plan::{Plan, plan, plan_for};
use trayful::source::Memory;
use trayful::units::mass::gram;

use trayful::units::{Quantity, in_litres, to_litres};
use trayful::week::{Fill, Inputs, Loaded, Request, Sowing, SowingAmount, Terms, load};

/// A host, brassicas, fine seed, a variable, an acid lover, a crop with a change of its own.
const CROPS: [&str; 12] = [
    "kale",
    "broccoli",
    "leek",
    "lettuce",
    "begonia",
    "tomato",
    "eggplant",
    "blueberry",
    "lavender",
    "poppy",
    "basil",
    "zinnia",
];
const TRAYS: [&str; 6] = ["72-cell", "50-cell", "200-cell", "288-cell", "5 cm block", "9 cm pot"];
const RECIPES: [&str; 3] = ["everyday", "fine seed", "rich"];

/// A week with every crop in every tray and by every recipe, to draw sowings from.
fn everything() -> Loaded {
    let mut text = "week: everything\nrecipe: everyday\nsowings:\n".to_owned();
    for crop in CROPS {
        for tray in TRAYS {
            for recipe in RECIPES {
                text += &format!("  - {{crop: {crop}, tray: {tray}, recipe: {recipe}, cells: 1}}\n");
            }
        }
    }
    load(Path::new("week.yaml"), &Memory::default().with("week.yaml", text), &[]).unwrap()
}

thread_local! {
    static EVERYTHING: RefCell<(Loaded, Vec<Sowing>)> = RefCell::new({
        let loaded = everything();
        let sowings = loaded.week.sowings.clone();
        (loaded, sowings)
    });
}

/// One sowing: which of everything, how many, how germinated, and how.
#[derive(Clone, Debug)]
struct Drawn {
    index: usize,
    amount: SowingAmount,
    germination: Option<u64>,
    seeds: u64,
    share: bool,
}

fn drawn() -> impl Strategy<Value = Drawn> {
    let amount = prop_oneof![
        4 => (1_u32..150).prop_map(SowingAmount::Plants),
        3 => (1_u32..300).prop_map(SowingAmount::Cells),
        2 => (1_u32..4).prop_map(SowingAmount::Trays),
        1 => (1_u32..60).prop_map(SowingAmount::Potted),
    ];
    let all = CROPS.len() * TRAYS.len() * RECIPES.len();
    (0..all, amount, prop::option::of(40_u64..=100), 1_u64..4, prop::bool::weighted(0.9))
        .prop_map(|(index, amount, germination, seeds, share)| Drawn { index, amount, germination, seeds, share })
}

fn week() -> impl Strategy<Value = (Vec<Drawn>, bool)> {
    (prop::collection::vec(drawn(), 1..14), prop::bool::ANY)
}

/// Plans the sowings drawn, and hands the plan on with its tables.
fn with_plan<T>(sowings: &[Drawn], whole: bool, then: impl FnOnce(&Plan, &Loaded) -> T) -> T {
    EVERYTHING.with_borrow_mut(|(loaded, all)| {
        loaded.week.fill = if whole { Fill::WholeTrays } else { Fill::SownCells };
        loaded.week.sowings = sowings
            .iter()
            .map(|drawn| Sowing {
                amount: drawn.amount,
                terms: Arc::new(Terms {
                    germination: drawn
                        .germination
                        .and_then(|percent| trayful::exact::Fraction::new(percent as i64, 100)),
                    seeds: drawn.seeds,
                    share: drawn.share,
                    spare: None,
                    ..Terms::clone(&all[drawn.index].terms)
                }),
                ..all[drawn.index].clone()
            })
            .collect();
        let plan = plan(loaded).unwrap();
        then(&plan, loaded)
    })
}

/// Everything that is needed, by name, in litres, grams, pieces.
fn needs(plan: &Plan) -> BTreeMap<String, f64> {
    let totals = &plan.mixes.totals;
    let mut needs: BTreeMap<String, f64> = BTreeMap::new();
    needs.insert("trays".to_owned(), totals.trays as f64);
    needs.insert("pots".to_owned(), totals.pots as f64);
    needs.insert("cells".to_owned(), to_litres(totals.cells.unwrap()));
    needs.insert("mix".to_owned(), to_litres(totals.mix));
    for (id, loose) in &totals.ingredients {
        needs.insert(format!("loose {}", id.name), to_litres(*loose));
    }
    for (id, amount) in &totals.doses {
        needs.insert(format!("dose {} {}", id.name, amount.unit()), amount.size());
    }
    for (tray, count) in &plan.mixes.layout.trays {
        needs.insert(format!("tray {}", tray.name), *count as f64);
    }
    needs
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1.0)
}

proptest! {
    #![proptest_config(cases())]

    /// Every sowing lies in one batch that is made for its crop, every batch has a
    /// sowing, and the filled cells of a tray kind are those of its trays.
    #[test]
    fn batches_partition_the_sowings((sowings, whole) in week()) {
        with_plan(&sowings, whole, |plan, loaded| {
            prop_assert_eq!(plan.mixes.layout.sowings.len(), sowings.len());
            let mut crops = vec![std::collections::BTreeSet::new(); plan.mixes.batches.len()];
            for (index, sowing) in plan.mixes.layout.sowings.iter().enumerate() {
                crops[sowing.batch].extend(loaded.week.sowings[index].crop.clone());
                prop_assert!(sowing.cells_filled >= sowing.cells.cells);
                prop_assert!(whole || sowing.cells_filled == sowing.cells.cells);
            }
            for (batch, crops) in plan.mixes.batches.iter().zip(crops) {
                prop_assert!(!crops.is_empty());
                prop_assert_eq!(&batch.crops, &crops);
            }
            let names: std::collections::BTreeSet<_> = plan.mixes.batches.iter().map(|batch| &batch.name).collect();
            prop_assert_eq!(names.len(), plan.mixes.batches.len(), "batches have names of their own");
            if whole {
                // Blocks that are not sown are not pressed.
                for (id, count) in plan.mixes.layout.trays.iter().filter(|(id, _)| id.compression.is_none()) {
                    let of_tray = plan.mixes.layout.of(&loaded.week).filter(|(sowing, _)| sowing.tray == *id);
                    let filled: u64 = of_tray.map(|(_, plan)| u64::from(plan.cells_filled)).sum();
                    prop_assert_eq!(filled, count * id.cells);
                }
            }
            Ok(())
        })?;
    }

    /// Totals are the sums over the batches, and a batch's parts sum to its loose volume.
    #[test]
    fn the_sums_over_the_batches_are_the_totals((sowings, whole) in week()) {
        with_plan(&sowings, whole, |plan, _| {
            let sum = |each: &dyn Fn(&trayful::plan::Batch) -> f64| plan.mixes.batches.iter().map(each).sum::<f64>();
            prop_assert!(close(sum(&|batch| to_litres(batch.volumes.mix)), to_litres(plan.mixes.totals.mix)));
            prop_assert!(close(
                sum(&|batch| to_litres(batch.volumes.cells.unwrap())),
                to_litres(plan.mixes.totals.cells.unwrap())
            ));
            let loose: f64 = plan.mixes.totals.ingredients.iter().map(|(_, loose)| to_litres(*loose)).sum();
            prop_assert!(close(sum(&|batch| to_litres(batch.volumes.loose)), loose));
            for batch in &plan.mixes.batches {
                let parts: f64 = batch.ingredients.iter().map(|part| to_litres(part.loose)).sum();
                prop_assert!(close(parts, to_litres(batch.volumes.loose)));
                prop_assert!(batch.ingredients.iter().all(|part| to_litres(part.loose) > 0.0));
                prop_assert!(batch.volumes.loose > batch.volumes.mix);
                prop_assert!(batch.volumes.mix > batch.volumes.settled.unwrap());
                prop_assert!(batch.volumes.settled > batch.volumes.cells);
            }
            for (id, total) in &plan.mixes.totals.doses {
                let doses = plan.mixes.batches.iter().flat_map(|batch| &batch.doses);
                let same = doses.filter(|dose| dose.ingredient == *id && dose.amount.is_like(*total));
                prop_assert!(close(same.map(|dose| dose.amount.size()).sum(), total.size()));
            }
            // The cells of the trays, batch by batch, are what the chain starts from.
            let cells: f64 = plan.mixes.layout.sowings.iter().map(|sowing| f64::from(sowing.cells_filled)).sum();
            prop_assert!(cells > 0.0);
            Ok(())
        })?;
    }

    /// The order of the lines changes neither totals nor batches.
    #[test]
    fn the_order_of_the_sowings_changes_nothing((sowings, whole) in week(), turn in 0_usize..14, mirror in prop::bool::ANY) {
        let mut turned = sowings.clone();
        let turn = turn % turned.len();
        turned.rotate_left(turn);
        if mirror {
            turned.reverse();
        }
        let batches = |plan: &Plan, _: &Loaded| {
            let mut batches: Vec<_> = plan
                .mixes
                .batches
                .iter()
                .map(|batch| {
                    let crops: Vec<_> =
                        batch.crops.iter().map(|id| id.name.clone()).collect();
                    (batch.name.clone(), crops, batch.ingredients.iter().map(|part| part.parts).collect::<Vec<_>>())
                })
                .collect();
            batches.sort();
            (batches, needs(plan))
        };
        let (one, one_needs) = with_plan(&sowings, whole, batches);
        let (other, other_needs) = with_plan(&turned, whole, batches);
        prop_assert_eq!(one, other);
        prop_assert_eq!(one_needs.keys().collect::<Vec<_>>(), other_needs.keys().collect::<Vec<_>>());
        for (name, need) in &one_needs {
            prop_assert!(close(*need, other_needs[name]), "{name}: {need} and {}", other_needs[name]);
        }
    }

    /// One sowing more never needs less of anything.
    #[test]
    fn a_sowing_more_never_needs_less((sowings, whole) in week(), more in drawn()) {
        let before = with_plan(&sowings, whole, |plan, _| needs(plan));
        let mut longer = sowings.clone();
        longer.push(more);
        let after = with_plan(&longer, whole, |plan, _| needs(plan));
        for (name, need) in before {
            let now = after.get(&name).copied().unwrap_or(0.0);
            prop_assert!(now >= need - 1e-9 * need.max(1.0), "{name}: {need}, then {now}");
        }
    }

    /// Each crop lies in whole rows, no tray holds more than its rows, and the maps name
    /// each tray of a kind at most once.
    #[test]
    fn shared_trays_hold_whole_rows((sowings, whole) in week()) {
        with_plan(&sowings, whole, |plan, loaded| {
            let mut seen = std::collections::BTreeSet::new();
            for map in &plan.mixes.layout.maps {
                let tray = &map.tray;
                prop_assert!(seen.insert((map.tray.clone(), map.number)));
                let count = plan.mixes.layout.trays.iter().find(|(id, _)| *id == map.tray).unwrap().1;
                prop_assert!((1..=count).contains(&map.number));
                let mut next = 1;
                for portion in &map.portions {
                    prop_assert_eq!(portion.from, next);
                    prop_assert!(portion.to >= portion.from && u64::from(portion.to) <= tray.rows);
                    next = portion.to + 1;
                    prop_assert_eq!(&loaded.week.sowings[portion.sowing as usize].tray, &map.tray);
                }
                let batches: std::collections::BTreeSet<_> =
                    map.portions.iter().map(|portion| plan.mixes.layout.sowings[portion.sowing as usize].batch).collect();
                prop_assert_eq!(batches.len(), 1, "one batch to a tray");
                prop_assert!(!whole || tray.compression.is_some() || u64::from(next) == tray.rows + 1);
            }
            Ok(())
        })?;
    }

    /// So many times the trays, so many times everything.
    #[test]
    fn more_trays_need_as_many_times_more(
        crop in 0..CROPS.len(), tray in 0..TRAYS.len(), recipe in 0..RECIPES.len(), trays in 1_u32..6, times in 2_u32..50,
    ) {
        let sowing = |trays| Drawn {
            index: (crop * TRAYS.len() + tray) * RECIPES.len() + recipe,
            amount: SowingAmount::Trays(trays),
            germination: None,
            seeds: 1,
            share: true,
        };
        let one = with_plan(&[sowing(trays)], true, |plan, _| needs(plan));
        let more = with_plan(&[sowing(trays * times)], true, |plan, _| needs(plan));
        for (name, need) in one {
            prop_assert!(close(need * f64::from(times), more[&name]), "{name}");
        }
    }

    /// Scaling twice is scaling by the product.
    #[test]
    fn scaling_is_linear(litres in 0.5_f64..200.0, first in 0.1_f64..20.0, second in 0.1_f64..20.0, recipe in 0..RECIPES.len()) {
        let loaded = EVERYTHING_REQUESTED.with(|all| std::rc::Rc::clone(&all[recipe]));
        let needs = |litres: f64| {
            let plan = plan_for(&loaded, Some((in_litres(litres), None)), true).unwrap();
            let batch = &plan.mixes.batches[0];
            let mut needs: Vec<f64> = batch.ingredients.iter().map(|part| to_litres(part.loose)).collect();
            needs.extend(batch.doses.iter().map(|dose| match dose.amount {
                Quantity::Mass(mass) => mass.get::<gram>(),
                Quantity::Volume(volume) => to_litres(volume),
            }));
            needs
        };
        let (base, once, twice) = (needs(litres), needs(litres * first), needs(litres * first * second));
        for ((base, once), twice) in base.iter().zip(&once).zip(&twice) {
            prop_assert!((once / (base * first) - 1.0).abs() < 1e-12);
            prop_assert!((twice / (once * second) - 1.0).abs() < 1e-12);
            prop_assert!((twice / (base * (first * second)) - 1.0).abs() < 1e-12);
        }
    }
}

thread_local! {
    static EVERYTHING_REQUESTED: Vec<std::rc::Rc<Loaded>> = ["everyday", "soil blocks", "peat-lite A"]
        .into_iter()
        .map(|recipe| {
            let request = Request { recipe, trays: &[], make: Some("1 L"), crop: None };
            let files = Memory::default();
            let inputs = Inputs::new(&files);
            std::rc::Rc::new(inputs.request(&request).unwrap().loaded)
        })
        .collect();
}

/// With rows filled whole for one crop and only where sown for another, whole trays still
/// never hold less than what is sown.
#[test]
fn mixed_filling_holds_what_is_sown() {
    let text = "week: w\nrecipe: everyday\nsowings:\n  - {crop: tomato, cells: 7, tray: 72-cell}\n  \
                - {crop: eggplant, cells: 1, tray: 72-cell, fill: sown cells}\n";
    let loaded = load(Path::new("week.yaml"), &Memory::default().with("week.yaml", text), &[]).unwrap();
    let plan = plan(&loaded).unwrap();
    assert_eq!(plan.mixes.totals.trays, 1);
    // The row of the eggplant is filled in one cell of six; the tomato takes the rest.
    assert_eq!((plan.mixes.layout.sowings[0].cells_filled, plan.mixes.layout.sowings[1].cells_filled), (66, 1));
}
