//! Common practice, no source: what a grower takes for granted.

use super::bench::{catalogue, make, planned};
use rust_decimal::Decimal;
use trayful::catalogue::Pace;
use trayful::units::length::inch;
use trayful::units::to_litres;

/// Common practice, no source (and see the published records under `crops`): brassicas
/// are given no inoculant, whatever stands beside them.
#[test]
fn brassicas_take_no_inoculant() {
    let catalogue = catalogue();
    let brassicas: Vec<&str> = catalogue
        .crops
        .iter()
        .filter(|crop| crop.family.as_deref() == Some("Brassicaceae"))
        .map(|crop| crop.name.as_str())
        .collect();
    assert!(brassicas.len() >= 18, "{brassicas:?}");
    let sowings: String = brassicas
        .iter()
        .chain(&["leek", "tomato"])
        .map(|crop| format!("  - {{crop: {crop}, cells: 10, tray: 72-cell}}\n"))
        .collect();
    let (plan, loaded) = planned(&format!("week: w\nrecipe: everyday\nsowings:\n{sowings}"));
    for (sowing, planned) in plan.mixes.layout.of(&loaded.week) {
        let crop = sowing.crop.as_ref().unwrap();
        let batch = &plan.mixes.batches[planned.batch];
        let inoculated = batch.doses.iter().any(|dose| dose.ingredient.name == "inoculant");
        assert_eq!(inoculated, crop.family.as_deref() != Some("Brassicaceae"), "{}", crop.name);
    }
    // The batch without inoculant is mixed first: nothing is carried over in the tub.
    assert!(!plan.mixes.batches[0].composition.is_inoculated());
}

/// 3 to 4 g of lime a litre of peat are read (UC Davis 2007), 2 g are right only beside castings.
/// Dust-fine seed goes without castings in every recipe that ships (common practice).
#[test]
fn more_lime_where_no_castings_help_it() {
    let batch = |recipe: &str, crop: &str, wanted: &str| {
        let text = format!("week: w\nrecipe: {recipe}\n{wanted}sowings: [{{crop: {crop}, trays: 1, tray: 72-cell}}]\n");
        planned(&text).0.mixes.batches.remove(0)
    };
    let litres = |batch: &trayful::plan::Batch, name: &str| {
        let found = batch.ingredients.iter().find(|part| part.ingredient.name == name);
        found.map_or(0.0, |part| to_litres(part.loose))
    };
    let lime = |batch: &trayful::plan::Batch| {
        batch.doses.iter().find(|dose| dose.ingredient.name == "lime").map(|dose| dose.amount.grams().unwrap())
    };
    for (crop, rate) in [("kale", 2.0), ("thyme", 3.5), ("lavender", 3.5), ("rosemary", 3.5), ("begonia", 3.5)] {
        let found = batch("everyday", crop, "");
        super::bench::near(lime(&found).unwrap(), rate * litres(&found, "peat"), 1e-12);
        assert_eq!(litres(&found, "castings") > 0.0, rate < 3.0, "{crop}");
        // Coir needs none, whatever the change sets.
        assert_eq!(lime(&batch("everyday", crop, "use: coir\n")), None, "{crop}");
    }
    let fine = batch("fine seed", "begonia", "");
    super::bench::near(lime(&fine).unwrap(), 3.5 * litres(&fine, "peat"), 1e-12);
    for (recipe, _) in trayful::recipe::BUILT_IN {
        assert_eq!(litres(&batch(recipe, "begonia", ""), "castings"), 0.0, "{recipe}");
        assert_eq!(litres(&batch(recipe, "petunia", ""), "castings"), 0.0, "{recipe}");
    }
}

/// Common practice, no source: a leek wants some 7 mL of mix to stand in for eight weeks. Five
/// in a cell of 12 mL starve.
#[test]
fn the_leeks_of_the_shipped_weeks_have_room() {
    let text = include_str!("../../../recipes/weeks/plant-sale-1.yaml");
    assert!(text.contains("{crop: leek, cells: 128, tray: 128-cell, seeds: 3, clump: yes}"), "{text}");
    let tray = &catalogue().trays.find("128-cell").unwrap();
    assert!(to_litres(tray.cell) / 3.0 >= 0.007);
}

/// "Base fertiliser" is no single thing: the two compositions are asked for by name, and each
/// holds what its recipe says.
#[test]
fn base_fertiliser_is_two_things() {
    let catalogue = catalogue();
    for (name, holds) in [
        ("base fertiliser for blocks", "equal parts of blood meal, colloidal phosphate and greensand"),
        ("base fertiliser for loam", "2 of hoof and horn, 2 of superphosphate and 1 of sulphate of potash"),
    ] {
        let found = catalogue.ingredients.find(name).unwrap();
        assert!(found.note.as_deref().unwrap().contains(holds), "{:?}", found.note);
    }
    let own = "recipe: own\nparts: {peat: 1}\ndoses: {base fertiliser: 3 g/L}\n";
    let files = trayful::source::Memory::default()
        .with("week.yaml", "week: w\nrecipe: own\nsowings: [{crop: kale, trays: 1, tray: 72-cell}]\n")
        .with("own.yaml", own);
    let rejected = trayful::week::load(std::path::Path::new("week.yaml"), &files, &[]).unwrap_err().to_string();
    let rejected = rejected.split_whitespace().collect::<Vec<_>>().join(" ");
    for name in ["base fertiliser for blocks", "base fertiliser for loam"] {
        assert!(rejected.contains(name), "{rejected}");
    }
}

/// Common practice, no source: a flat of about 22 x 11 in takes one 50-cell tray. The
/// tray fits inside, a second one does not.
#[test]
fn a_flat_takes_one_fifty_cell_tray() {
    let catalogue = catalogue();
    let tray = &catalogue.trays.find("50-cell").unwrap();
    let (long, short) = tray.footprint.unwrap();
    let (long, short) = (long.get::<inch>().max(short.get::<inch>()), short.get::<inch>().min(long.get::<inch>()));
    assert!(long <= 22.0 && short <= 11.0, "{long} x {short} in");
    assert!(2.0 * short > 11.0 && 2.0 * long > 22.0);
}

/// Common practice, no source: module trays of 15, 30 and 60 cells share one footprint.
#[test]
fn module_trays_share_one_footprint() {
    let catalogue = catalogue();
    let side = |name: &str| {
        let tray = &catalogue.trays.find(name).unwrap();
        let (long, short) = tray.footprint.unwrap();
        (tray.cells, long.get::<inch>().to_bits(), short.get::<inch>().to_bits())
    };
    let (fifteen, thirty, sixty) = (side("15-cell"), side("30-cell"), side("60-cell"));
    assert_eq!((fifteen.0, thirty.0, sixty.0), (15, 30, 60));
    assert_eq!((fifteen.1, fifteen.2), (thirty.1, thirty.2));
    assert_eq!((fifteen.1, fifteen.2), (sixty.1, sixty.2));
}

/// Common practice, no source: fast and slow crops do not share a tray, nor do those
/// that want light and those that want the dark, nor cool and warm ones.
#[test]
fn fast_and_slow_crops_do_not_share_a_tray() {
    // All are hosts, of one batch; each would leave room for the other.
    for (one, other, why) in [
        ("melon", "pepper", "pace"),
        ("lettuce", "parsley", "light"),
        ("cosmos", "basil", "light and temperature"),
        ("eggplant", "parsley", "temperature"),
    ] {
        let (plan, loaded) = planned(&format!(
            "week: w\nrecipe: everyday\nsowings:\n  - {{crop: {one}, cells: 12, tray: 72-cell}}\n  \
             - {{crop: {other}, cells: 12, tray: 72-cell}}\n"
        ));
        assert_eq!(
            (plan.mixes.batches.len(), plan.mixes.totals.trays, plan.mixes.layout.maps.len()),
            (1, 2, 0),
            "{one}, {other}: {why}"
        );
        if why == "pace" {
            let pace = |index: usize| loaded.week.sowings[index].crop.as_ref().unwrap().pace;
            assert_eq!((pace(0), pace(1)), (Some(Pace::Fast), Some(Pace::Slow)));
        }
    }
    // And those that agree do share.
    let (plan, _) = planned(
        "week: w\nrecipe: everyday\nsowings: [{crop: tomato, cells: 12, tray: 72-cell}, \
         {crop: eggplant, cells: 12, tray: 72-cell}]\n",
    );
    assert_eq!((plan.mixes.totals.trays, plan.mixes.layout.maps.len()), (1, 1));
    // Unless one keeps its tray to itself.
    let (plan, _) = planned(
        "week: w\nrecipe: everyday\nsowings: [{crop: tomato, cells: 12, tray: 72-cell, share: no}, \
         {crop: eggplant, cells: 12, tray: 72-cell}]\n",
    );
    assert_eq!((plan.mixes.totals.trays, plan.mixes.layout.maps.len()), (2, 0));
}

/// Common practice, no source: a ready-made mix at 30 dollars a cubic foot is dear. The
/// same foot of the everyday mix from bags at ordinary prices (made up for the test,
/// all of them in dollars for litres) costs well under half, in exact decimals.
#[test]
fn thirty_dollars_a_cubic_foot_is_dear() {
    let decimal = |text: &str| text.parse::<Decimal>().unwrap();
    // 28.316846592 L is exact by definition.
    let foot = decimal("28.316846592");
    let ready_made = decimal("30.00") / foot;
    assert_eq!(ready_made.round_dp(4), decimal("1.0594"));
    let mix = make("everyday", "1 cu ft", &["coir"]);
    let litres = |name: &str| Decimal::from_f64_retain(to_litres(mix.loose(name))).unwrap();
    let own: Decimal = [
        ("coir", "14.90", "65"),
        ("perlite", "27.50", "100"),
        ("vermiculite", "29.90", "100"),
        ("castings", "18.00", "20"),
    ]
    .into_iter()
    .map(|(name, price, gives)| litres(name) * decimal(price) / decimal(gives))
    .sum();
    assert!(own / foot * decimal("2") < ready_made, "{own} a foot");
    assert!(own > decimal("5"), "{own} a foot");
}
