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
    let (plan, _) = planned(&format!("week: w\nrecipe: everyday\nsowings:\n{sowings}"));
    for sowing in &plan.mixes.layout.sowings {
        let crop = sowing.crop.as_ref().unwrap();
        let batch = &plan.mixes.batches[sowing.batch];
        let inoculated = batch.doses.iter().any(|dose| dose.ingredient.name == "inoculant");
        assert_eq!(inoculated, crop.family.as_deref() != Some("Brassicaceae"), "{}", crop.name);
    }
    // The batch without inoculant is mixed first: nothing is carried over in the tub.
    assert!(!plan.mixes.batches[0].is_inoculated());
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
