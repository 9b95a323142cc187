//! Trays, pots and packages: how many, rounded which way.

use super::bench::{make, near, planned, volume};
use trayful::exact::Fraction;
use trayful::plan::{cells_for, chance_per_cell};
use trayful::units::{cover, fits, share, to_litres};

fn trays(text: &str) -> u64 {
    let (plan, _) = planned(text);
    plan.mixes.totals.trays
}

/// University of Kentucky AGR-156 (read): a 200-cell tray at 90 % usable gives 180
/// plants; 7,200 plants take 40 trays, 4,400 take 25 (24.44, rounded up).
#[test]
fn tobacco_trays_of_kentucky() {
    let usable = share("90 %").unwrap();
    assert_eq!(usable.times(Fraction::whole(200)).and_then(Fraction::to_u64), Some(180));
    for (plants, count) in [(7_200, 40), (4_400, 25)] {
        // The bulletin counts on the average, so: every seed comes up, and the chance
        // of enough plants is even.
        let text = format!(
            "week: float beds\nrecipe: everyday\nallowances: {{usable: 90 %, surety: 50 %}}\nsowings:\n  \
             - {{crop: flowering tobacco, plants: {plants}, tray: 200-cell, germination: 100 %}}\n"
        );
        assert_eq!(trays(&text), count, "{plants} plants");
    }
    let p = chance_per_cell(Fraction::ONE, 1, usable);
    assert_eq!(cells_for(7_200, p, 0.5), Some(8_000));
}

/// 46,656 cubic inches of a yard over cells of 14 cubic inches: 3,332, printed "about
/// 3,300" (read).
#[test]
fn cells_from_a_cubic_yard() {
    assert_eq!(fits(volume("1 cu yd"), volume("14 cu in")), Some(3_332));
    assert_eq!(fits(volume("1 cu yd"), volume("1 cu in")), Some(46_656));
}

/// Worked examples (read): containers from a given amount round down, packages needed
/// round up.
#[test]
fn pots_round_down_and_bales_round_up() {
    // 25 L over 1.9 L: 13.16 pots.
    assert_eq!(fits(volume("25 L"), volume("1.9 L")), Some(13));
    // 3.5 yd3 of peat from bales of 3 ft3 that fluff up two to one: 94.5 / 6 = 15.75.
    let bales = cover(volume("3.5 cu yd"), volume("6 cu ft")).unwrap();
    assert_eq!(bales.count, 16);
    near(to_litres(bales.over), to_litres(volume("1.5 cu ft")), 1e-9);
    // 2,400 ft2 at 90 ft2 a bale, an inch deep: 200 / 7.5 = 26.67.
    assert_eq!(cover(volume("200 cu ft"), volume("7.5 cu ft")).unwrap().count, 27);
}

/// A worked rule for container mixes (read): 3 + 1 + 1 yards of bark, peat and sand make
/// "about four", a loss of a fifth. To end up with 4 yards one needs 4 / 0.80 = 5.0, not
/// 4 x 1.2 = 4.8.
#[test]
fn shrinkage_is_divided_out_not_added_on() {
    let recipe = "recipe: container\nparts:\n  pine bark: 3\n  peat: 1\n  coarse sand: 1\nyield: 80 %\n";
    let mix = make(recipe, "4 cu yd", &[]);
    let loose = mix.plan.mixes.batches[0].volumes.loose;
    near(to_litres(loose), to_litres(volume("5 cu yd")), 1e-12);
    assert!((to_litres(loose) / to_litres(volume("4.8 cu yd")) - 1.0).abs() > 0.04);
    for (name, yards) in [("pine bark", "3 cu yd"), ("peat", "1 cu yd"), ("coarse sand", "1 cu yd")] {
        near(to_litres(mix.loose(name)), to_litres(volume(yards)), 1e-12);
    }
}

/// Settling is an addition to the cells and shrinkage a loss from the ingredients: the
/// whole chain by hand for one tray of 72 cells of 50 mL (derived).
#[test]
fn the_chain_of_one_tray_by_hand() {
    let (plan, loaded) = planned(
        "week: one\nrecipe: fine seed\ntrays: {plain: {cells: 72, rows: 12, cell: 50 mL}}\n\
         allowances: {settling: 10 %, spill: 4 %, sieve_loss: 20 %}\n\
         sowings: [{crop: dahlia, trays: 1, tray: plain}, {crop: lettuce, trays: 1, tray: plain}]\n",
    );
    // Dahlia seed is not fine: no sieve.
    let plain = &plan.mixes.batches[plan.mixes.layout.sowings[0].batch].volumes;
    near(to_litres(plain.cells.unwrap()), 3.6, 1e-12);
    near(to_litres(plain.settled.unwrap()), 3.96, 1e-12);
    near(to_litres(plain.mix), 4.125, 1e-12);
    near(to_litres(plain.loose), 4.6875, 1e-12);
    // Lettuce seed is small: the whole batch is sieved, and a fifth stays behind.
    let sieved = &plan.mixes.batches[plan.mixes.layout.sowings[1].batch].volumes;
    near(to_litres(sieved.mix), 4.125, 1e-12);
    near(to_litres(sieved.loose), 5.859_375, 1e-12);
    assert_eq!(plan.mixes.layout.trays, [(loaded.catalogue.trays.find("plain").unwrap(), 2)]);
}
