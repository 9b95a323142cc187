//! Each bound: at it a number is taken, beyond it refused in words.

use super::Bench;

const RECIPE: &str = "recipe: own\nparts: {peat: 3, perlite: 1}\n";

/// In the text `#` is the number; each of `taken` is in order there, each of `refused` is not, for the
/// reason given.
#[track_caller]
fn bounded(text: &str, taken: &[&str], refused: &[&str], why: &str) {
    let bench = Bench::new(&[("own.yaml", RECIPE)]);
    let check = |number: &str| {
        bench.write("file.yaml", &text.replace('#', number));
        bench.run("check @file.yaml")
    };
    for number in taken {
        let said = check(number);
        assert_eq!(said.code, 0, "{number}: {}", said.err);
    }
    for number in refused {
        let said = check(number);
        assert!(said.code == 2 && said.err.contains(why), "{number}: {}{}", said.out, said.err);
    }
}

fn week(more: &str) -> String {
    format!("week: w\nrecipe: own\nsowings: [{{crop: kale, cells: 4, tray: 50-cell}}]\n{more}\n")
}

#[test]
fn of_a_week() {
    bounded(&week("tub: # L"), &["0.1", "1000000"], &["0.09", "1000001"], "a tub holds 0.1 L to 1,000 m3");
    bounded(&week("tolerance: # %"), &["1", "50"], &["0.9", "51"], "a tolerance is 1 to 50 %");
    let trial = week("trial: {crop: kale, compare: feed, #}").replace("cells: 4", "trays: 40");
    let seed = "a number of pairs from 1 to 20";
    bounded(&trial, &["pairs: 1, seed: 0", "pairs: 20, seed: 0"], &["pairs: 0, seed: 0", "pairs: 21, seed: 0"], seed);
    let largest = u64::MAX.to_string();
    let [seed, beyond] = [format!("pairs: 1, seed: {largest}"), format!("pairs: 1, seed: {largest}0")];
    bounded(&trial, &[&seed], &[&beyond, "pairs: 1, seed: 1.5"], "any whole number");
    bounded(&week("scoop: # mL"), &["1", "1000000"], &["0.9", "1000001"], "a scoop holds 1 mL to 1 m3");
    let rack = week("rack: {shelves: #, trays_per_shelf: 1000}");
    bounded(&rack, &["1", "1000"], &["1001", "1000001", "9999999999999"], "a rack has at most 1000000 places");
    let place = |more: &str| format!("place: p\n{more}\n");
    bounded(&place("trays_a_day: #"), &["1", "1000000"], &["0", "1000001"], "a number of trays from 1 to 1000000");
    let rack = place("rack: {shelves: 10, trays_per_shelf: 10, #}");
    bounded(&rack, &["mats: 0", "mats: 100"], &["mats: 101"], "more places have heat than the rack has");
    bounded(
        &rack,
        &["load: 100 g", "load: 10000 kg"],
        &["load: 99 g", "load: 10001 kg"],
        "a shelf carries 100 g to 10 t",
    );
    let frame = place("frame: {places: #, from: 1 May}");
    bounded(&frame, &["0", "1000000"], &["1000001"], "a rack has at most 1000000 places");
    let surety = week("allowances: {surety: # %}");
    bounded(&surety, &["0.01", "99.9999"], &["99.99999"], "a chance to count on is at most 99.9999 %");
    bounded(&week("mix_on: #-12-31"), &["1900", "2999"], &["1899", "3000", "9999"], "outside the years 1900 to 2999");
}

#[test]
fn of_a_season() {
    let season = |sowings: usize, more: &str| {
        let sowing = format!("{{crop: kale, cells: 4, tray: 50-cell{more}}}");
        format!("season: s\nrecipe: own\nsowings: [{}]\n", vec![sowing; sowings].join(", "))
    };
    let out = ", plant_out: 2027-04-17";
    let times = season(1, &format!("{out}, again: {{every: 1 day, times: #}}"));
    bounded(&times, &["1", "100"], &["0", "101"], "a number of times from 1 to 100");
    let every = season(1, &format!("{out}, again: [# days]"));
    bounded(&every, &["1", "1000"], &["0", "1001", "99999999999999999999"], "1");
    bounded(&season(1, ", plant_out: #-12-31"), &["1901", "2999"], &["1899", "3000"], "not a day of the calendar");
    bounded(&season(1, ", plant_out: 2999-12-#, again: [1 day]"), &["30"], &["31"], "within the years 1900 to 2999");
    bounded(&season(1, &format!("{out}, weeks: 4-#")), &["56"], &["57"], "lies more than a year");
    bounded(&season(1, &format!("{out}, weeks: 4-4, harden: # days")), &["23"], &["24"], "of hardening leave none");
    // A hundred sowings of a hundred plantings.
    let plantings = season(100, &format!("{out}, again: {{every: 1 day, times: #}}"));
    bounded(&plantings, &["99"], &["100"], "this is the planting after the first 10000");
}

#[test]
fn of_a_crop() {
    let crop = |keys: &str| {
        let own = format!("crops: {{x: {{family: Lamiaceae, {keys}}}}}");
        week(&own).replace("kale", "x") + "mix_on: 2999-12-31\n"
    };
    let days = "seed comes up within 1000 days";
    bounded(&crop("emerges: #"), &["0", "3-1000"], &["1001", "9999999", "4-4294967295"], days);
    bounded(&crop("weeks: #"), &["1", "6-520"], &["0", "6-521"], "plants are raised for 1 to 520 weeks");
    bounded(&crop("cells: #"), &["1-100000"], &["0-7", "100001"], "a tray has 1 to 100000 cells");
    let seeds = "a gram is 0.0001 to 10,000,000 seeds";
    bounded(&crop("seeds_per_gram: #"), &["0.0001", "10000000"], &["0.00009", "10000001"], seeds);
}

#[test]
fn of_an_ingredient_and_a_recipe() {
    let dry = week("ingredients: {grit: {dry_density: # g/L}}");
    bounded(&dry, &["1", "23000"], &["0.9"], "a density of 1 g/L to 23 kg/L");
    bounded(&dry, &[], &["23001"], "a density is 1 mg/L to 23 kg/L");
    let of = |key: &str| week(&format!("ingredients: {{ash: {{{key}}}}}"));
    let share = "a share of the volume is 0 to 1, or 0 to 100 %";
    bounded(&of("porosity: #"), &["0", "1", "100 %"], &["1.01"], share);
    bounded(&of("water_held_range: 0-#"), &["1"], &["1.01"], share);
    bounded(&of("ph: #"), &["1", "6-14"], &["0.9", "6-14.1"], "a pH is 1 to 14");
    bounded(&of("ec: 0-# mS/cm"), &["0", "50"], &["50.1"], "what is mixed for plants has 0 to 50 mS/cm");
    // Quartz is 2.65 kg to its own litre.
    bounded(&of("porosity: 0.5, dry_density: # g/L"), &["1350"], &["1351"], "has no room for pores of 0.5");
    bounded(&of("porosity: 0.5, water_held: #"), &["0.5"], &["0.51"], "in pores of 0.5");
    let recipe = |parts: &str, more: &str| format!("recipe: r\nparts: {{peat: {parts}}}\n{more}\n");
    bounded(&recipe("#", ""), &["0.0001", "1/3", "1000000"], &["0.00009", "1000001", "0.001 %"], "parts are 0.0001 to");
    let dose = recipe("1", "doses: {lime: #}");
    let dosed = "a dose is 0.001 mg to 1 kg, or up to 1 L, in a litre";
    bounded(&dose, &["0.001 mg/L", "1 kg/L", "1 L/L"], &["0.0009 mg/L", "1001 g/L", "1001 mL/L"], dosed);
    let mesh = recipe("1", "changes: [{for: kale, sieve: # mm}]");
    bounded(&mesh, &["0.1", "200"], &["201"], "a sieve has meshes of 0.1 to 200 mm");
    let layer = recipe("1", "changes: [{for: kale, top: {sieve: 3 mm, depth: # mm}}]");
    bounded(&layer, &["0.1", "300"], &["301"], "a layer in a cell is 0.1 to 300 mm deep");
    bounded(&layer, &[], &["0.09"], "a length is 0.1 mm to 10 m");
}

#[test]
fn of_a_package_and_what_is_at_hand() {
    let package = |gives: &str| format!("stock: s\npackages: {{lime: [{{label: bag, {gives}}}]}}\n");
    let gives = package("gives: #");
    bounded(&gives, &["1 mL", "1000 m3"], &["0.9 mL", "1001 m3"], "a package gives 1 mL to 1,000 m3");
    bounded(&gives, &["0.1 g", "100000 kg"], &["0.09 g", "100001 kg"], "a package gives 0.1 g to 100 t");
    bounded(&package("gives: 1 L, price: #"), &["0", "10000000"], &["10000001", "1e9"], "`1");
    let at_hand = "stock: s\non_hand: {peat: #}\n";
    bounded(
        at_hand,
        &["0", "10000000 L", "100 x 10000000 L"],
        &["101 x 10000000 L"],
        "at hand are at most 1,000,000 m3",
    );
    bounded(at_hand, &[], &["10000001 L"], "a volume is 1 mm3 to 10,000 m3");
    let bench = Bench::new(&[("own.yaml", RECIPE)]);
    let fill = |have: &str| bench.run(&format!("fill @own.yaml --tray 72-cell --have perlite=9_L --have peat={have}"));
    assert_eq!(fill("100_x_10000000_L").code, 0);
    assert!(fill("101_x_10000000_L").err.contains("at hand are at most"));
}

#[test]
fn of_the_command_line() {
    let bench = Bench::new(&[("own.yaml", RECIPE)]);
    let code = |line: &str| bench.run(line).code;
    let feed = |more: &str| code(&format!("feed --analysis 4-1-1 --water 9_L {more}"));
    assert_eq!(["1", "10000", "0.9", "10001"].map(|ppm| feed(&format!("--ppm {ppm}"))), [0, 0, 2, 2]);
    // Weak enough for any stock.
    let thinned = |ratio: &str| code(&format!("feed --analysis 46-0-0 --water 9_L --ppm 1 --injector {ratio}"));
    assert_eq!(["1:1", "1:100000", "1:0.9", "1:100001"].map(thinned), [0, 0, 2, 2]);
    let dense = |density: &str| feed(&format!("--ppm 50 --density {density}_g/mL"));
    assert_eq!(["0.5", "5", "0.4", "5.1"].map(dense), [0, 0, 2, 2]);
    let analysis = |share: &str| code(&format!("feed --analysis {share}-0-0 --water 9_L --ppm 50"));
    assert_eq!(["0.01", "100", "0.009", "101"].map(analysis), [0, 0, 2, 2]);
    let make = |litres: &str| code(&format!("scale @own.yaml --make {litres}_L"));
    assert_eq!(["0.000001", "10000000", "0.0000009", "10000001"].map(make), [0, 0, 2, 2]);
}

/// What a cell holds must be what its measures can hold, and what stands on its tray.
#[test]
fn of_a_tray() {
    let tray = |keys: &str| week(&format!("trays: {{own: {{{keys}}}}}")).replace("50-cell", "own");
    // A block of 50 x 50 x 60 mm is 150 mL.
    let cell = tray("cells: 50, cell: # mL, top: 50 mm, depth: 60 mm");
    let block = "but a block 50 mm wide and 60 mm deep holds 150 mL";
    bounded(&cell, &["30.1", "187.4"], &["29.9", "187.6", "5"], block);
    let measures = "cells: 50, cell: 60 mL, ";
    bounded(
        &tray(&format!("{measures}top: #, depth: 60 mm")),
        &["38 mm", "3.8 cm", "1.5 in"],
        &["3.8 m", "9 mm"],
        "but a block ",
    );
    bounded(&tray(&format!("{measures}top: #")), &["38 mm"], &["38 m"], "a length is 0.1 mm to 10 m");
    bounded(&tray(&format!("{measures}top: #")), &["200 mm"], &["3.8 m"], "3800 mm wide would be 0.004 mm deep");
    bounded(&tray(&format!("{measures}depth: #")), &["60 mm"], &["0.5 mm", "9 m"], "`own` has cells of 60 mL");
    let shape = tray("cells: 28, shape: {square: {top: 50 mm, bottom: #, depth: 90 mm}}");
    bounded(&shape, &["1 mm", "35 mm", "55 mm"], &["35 cm"], "but a block ");
    let stands = tray("cells: 50, cell: 60 mL, top: 45 mm, footprint: #");
    bounded(&stands, &["54 x 28 cm", "30 x 25 cm"], &["5.4 x 2.8 cm"], "do not stand on 54 x 28 mm");
    let row_trays = [
        "cells: 1, rows: 1, cell: 5 L, top: 11 cm, depth: 5 cm",
        "cells: 12, rows: 12, cell: 500 mL, top: 40 mm, depth: 60 mm",
        "cells: 20, rows: 20, cell: 250 mL, top: 250 mm, depth: 50 mm, footprint: 10 x 20 in",
        "cells: 13, rows: 13, cell: 400 mL, top: 30 mm, depth: 30 mm, footprint: 40 x 60 cm",
    ];
    let slips = [
        "cells: 12, rows: 12, cell: 500 mL, top: 40 cm, depth: 60 mm",
        "cells: 12, rows: 12, cell: 50 L, top: 40 mm, depth: 60 mm",
        "cells: 20, rows: 20, cell: 25 mL, top: 250 mm, depth: 50 mm, footprint: 10 x 20 in",
        "cells: 20, rows: 20, cell: 250 mL, top: 250 mm, depth: 50 cm, footprint: 10 x 20 in",
        "pot: yes, cell: 6 L, top: 87 mm, depth: 80 mm",
        "cells: 72, rows: 12, cell: 72 mL, top: 38 cm, depth: 60 mm, footprint: 10 x 20 in",
        "cells: 72, rows: 12, cell: 6 L, top: 41 mm, depth: 60 mm, footprint: 10 x 20 in",
        "cells: 84, rows: 12, cell: 4 L, footprint: 54 x 28 cm",
        "cells: 84, rows: 12, cell: 400 mL, top: 38 mm",
        "cells: 84, rows: 12, cell: 40 mL, depth: 45 cm",
    ];
    bounded(&tray("#"), &row_trays, &slips, "`own` has cells of ");
    bounded(&tray("cells: 72, cell: #"), &["13 L"], &["40 L"], "a tray of `own` would hold 2880 L");
    bounded(&tray("pot: yes, cell: #"), &["0.05 mL", "1000 L"], &["0.04 mL"], "less than 0.05 mL");
}

/// The table's measures are of the table's cell: with another cell they are no fault.
#[test]
fn of_a_cell_in_place_of_the_tables() {
    let own = |name: &str, cell: &str| week(&format!("trays: {{{name}: {{cell: {cell}}}}}")).replace("50-cell", name);
    bounded(&own("50-cell", "#"), &["100 mL", "195 mL", "20 mL"], &["20 L"], "would lie");
    // Nothing is left that tells how wide it is: the area is that of the footprint.
    let bench = Bench::new(&[("own.yaml", RECIPE), ("week.yaml", &own("50-cell", "195 mL"))]);
    assert!(bench.run("plan @week.yaml --format json").out.contains("\"estimated\": true"));
    bench.write("week.yaml", &own("50-cell", "100 mL"));
    assert!(bench.run("plan @week.yaml --format json").out.contains("\"estimated\": false"));
}

/// More than any bench makes or buys is said first, and planned; what could no longer be counted is refused.
#[test]
fn of_all_together() {
    let bench = Bench::new(&[("own.yaml", RECIPE)]);
    let make = |litres: &str| bench.run(&format!("scale @own.yaml --make {litres}_L"));
    assert!(!make("100000").out.contains("more than any bench makes"));
    let much = make("100001");
    assert_eq!(much.code, 0);
    let first = much.out.lines().position(|line| line.contains("more than any bench makes")).unwrap();
    let trays = much.out.lines().position(|line| line.starts_with("BENCH")).unwrap();
    assert!(first < trays, "{}", much.out);
    let stock = "stock: s\npackages: {perlite: [{label: sachet, gives: 1 mL}], peat: [{label: bag, gives: 40 L}]}\n";
    bench.write("shed.yaml", stock);
    let sown = |cells: u64| {
        bench.write(
            "week.yaml",
            &format!("{}stock: shed.yaml\n", week("").replace("cells: 4", &format!("cells: {cells}"))),
        );
        bench.run("plan @week.yaml --format json")
    };
    assert!(!sown(500).out.contains("many-packages"));
    let many = sown(50_000);
    assert!(many.code == 0 && many.out.contains("many-packages"), "{}", many.err);
    assert!(sown(10_000_000).out.contains("much-mix"));
}
