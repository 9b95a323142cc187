//! Feeds side by side, and what the trays of a week or of a season take. The rule of a watering is from memory; sums by
//! hand.

use crate::support::{Run, root, run};
use serde_json::Value;

fn json(run: Run) -> Value {
    serde_json::from_str(&run.result()).unwrap()
}

fn near(got: &Value, wanted: f64) {
    assert!((got.as_f64().unwrap() / wanted - 1.0).abs() < 1e-9, "{got} {wanted}");
}

/// By hand, at 60 ppm: 5 % by weight is 1.2 g/L, at 1.1 g/mL 1.0909 mL, of 12.90 a litre 0.014073; 20 % is 0.3 g/L,
/// of 18.50 a kilogram 0.00555; 3 g in 100 mL is 2 mL/L, of 9.90 for 946.353 mL (a US quart) 0.020922. Phosphorus is
/// 0.43643 of P2O5, so that of 20-20-20 is 26.2 mg/L.
#[test]
fn feeds_stand_side_by_side_at_equal_nitrogen() {
    let first = ["feed", "--analysis", "3-1-2", "--by-volume", "--price", "1 qt for 9.90", "--water", "9 L"];
    let with = ["--with", "fish: 5-1-1, 1 L for 12.90 EUR, 1.1 g/mL", "--with", "blue: 20-20-20, 1 kg for 18.50"];
    let all = |more: &[&'static str]| run([&first[..], &["--ppm", "60"], &with, more].concat());
    let found = json(all(&["--format", "json"]));
    let costs = [("3-1-2", "0.020922"), ("fish", "0.014073"), ("blue", "0.00555")];
    for (feed, (name, cost)) in found["feeds"].as_array().unwrap().iter().zip(costs) {
        assert_eq!((&feed["name"], &feed["cost_per_l"]), (&name.into(), &cost.into()));
    }
    assert_eq!(found["cheapest"], serde_json::json!(["blue"]));
    assert_eq!((&found["cost_per_l"], &found["currency"]), (&"0.020922".into(), &"EUR".into()));
    near(&found["feeds"][1]["ml"], 9.0 * 1.2 / 1.1);
    near(&found["feeds"][2]["grams"], 2.7);
    let codes: Vec<&str> = found["notes"].as_array().unwrap().iter().filter_map(|note| note["code"].as_str()).collect();
    assert_eq!(codes[0], "phosphorus-hinders-mycorrhiza");
    assert!(codes.contains(&"bare-unit"), "{codes:?}");
    let sheet = all(&[]).result();
    assert!(
        sheet.contains("blue (20-20-20)           0.3 g") && sheet.contains("Cheapest by the litre of feed: blue."),
        "{sheet}"
    );
    let table = all(&["--format", "csv"]).result();
    assert!(table.contains(",fish,5-1-1,1 L,12.90,0.014073\n"), "{table}");
    let weak = all(&["--with", "weak: 0.5-0-0, 1 g/mL"]).result();
    assert!(weak.contains("* No price is stated of weak: what it costs is left out."), "{weak}");
    let weak = all(&["--with", "weak: 0.5-0-0, 1 g/mL", "--injector", "1:100"]).refusal();
    assert!(weak.contains("so strong a stock of weak cannot be made"), "{weak}");
}

#[test]
fn what_labels_write_is_told_how_to_be_written() {
    let told = |words: &[&str]| {
        let refusal = run([&["feed"], words].concat()).refusal();
        refusal.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for (rate, help) in [
        ("1:50", "of a liquid it is about `20 mL/L`"),
        ("0.5 %", "it is `5 mL/L` of a liquid, `5 g/L` of a powder"),
        ("2-4 mL/L", "`2-4 mL/L` is a range: ask for one end, then the other"),
        ("2\u{2013}4 mL/L", "is a range"),
        ("1:50-1:100", "is a range"),
        ("0.5-1 %", "is a range"),
        ("1:0.5", "`1:0.5` cannot be read"),
        ("1 capful/gal", "`capful` is not a unit"),
        ("-", "`-` is not a number"),
    ] {
        let told = told(&["--analysis", "3-1-2", "--by-volume", "--rate", rate]);
        assert!(told.contains(help), "{told}");
    }
    assert!(told(&["--analysis", "3,5-1-2", "--ppm", "50"]).contains("use a point: `3.5`"));
    // 3 g in 100 mL are 300 ppm at 10 mL/L: a hundredth is the fertiliser itself.
    let neat = ["feed", "--analysis", "3-1-2", "--by-volume", "--water", "1 L", "--injector", "1:100", "--ppm"];
    let neat = |ppm| run([&neat[..], &[ppm]].concat()).result().contains("as it is; the injector thins");
    assert!(neat("300") && !neat("290"));
}

/// Of one crop that is sown in one mix and potted on in another, each mix feeds from its own day on.
#[test]
fn a_plan_tells_the_day_on_which_a_batch_is_fed() {
    let week = "week: w\nmix_on: 2027-03-06 10:00\nrecipe: everyday\nsowings:\n  \
                - {crop: tomato, trays: 1, tray: 72-cell}\n  \
                - {crop: tomato, potted: 18, tray: 9 cm pot, recipe: rich}\n";
    let of = |words: &[&str]| json(run([words, &["--format", "json"]].concat()).file("w.yaml", week));
    let fed = of(&["feed", "w.yaml", "--analysis", "3-1-2", "--ppm", "50"])["trays"]["fed"].take();
    let plan = of(&["plan", "w.yaml"]);
    let begins: Vec<(&Value, &Value)> = plan["batches"]
        .as_array()
        .unwrap()
        .iter()
        .map(|batch| {
            let begin = &batch["behaviour"]["feeding"]["begin"];
            (&begin["at"], &begin["stage"])
        })
        .collect();
    for fed in fed.as_array().unwrap() {
        let stage = if fed["potted_on"] == true { "about two weeks after potting on" } else { "first true leaves" };
        assert!(begins.contains(&(&fed["first_feed"], &stage.into())), "{begins:?} {fed}");
    }
    assert_eq!((begins.len(), begins[0].0 == begins[1].0), (2, false));
}

/// What of a feed cannot be is told at its place.
#[test]
fn a_feed_that_cannot_be_read_is_told_at_its_place() {
    for (feed, place, says) in [
        ("fish: 5-1, 1 L for 3", "1:7", "three percentages with hyphens"),
        ("fish: 0-1-1", "1:7", "it tells of no nitrogen"),
        ("fish: 5-1-1, 1 L for 12,90, 1 g/mL", "1:22", "use a point: `12.90`"),
        ("fish: 5-1-1, 1 L for 12.90", "1:14", "weigh 100 mL of it"),
        ("fish: 5-1-1, by volume, 1 kg for 3", "1:25", "does not go with percentages by volume"),
        ("fish: 5-1-1, 1.1 g/mL, by volume", "1:24", "one of its kind before it"),
        ("fish: 5-1-1, cheap", "1:14", "`1 L for 12.90`, a density"),
    ] {
        let said = run(["feed", "--analysis", "3-1-2", "--ppm", "60", "--with", feed]).refusal();
        assert!(said.contains(&format!("--with:{place}\n")), "{said}");
        assert!(said.split_whitespace().collect::<Vec<_>>().join(" ").contains(says), "{says}: {said}");
    }
    let said = |more: &[&'static str]| run([&["feed", "--analysis", "3-1-2", "--ppm", "60"], more].concat()).refusal();
    assert!(said(&["--price", "1 L for 3"]).contains("--price:1:1"));
    let two = said(&["--price", "1 kg for 3 EUR", "--with", "5-1-1, 1 kg for 3 USD"]);
    assert!(two.contains("prices in EUR and USD cannot be compared"), "{two}");
    assert!(said(&["--today", "2027-01-04"]).contains("go with a season"));
}

const WEEK: &str = "week: w\nmix_on: 2027-03-06 10:00\nrecipe: everyday\nuse: coir\ntrays: {box: {cells: 10, rows: 10, cell: \
                    100 mL}}\nsowings:\n  - {crop: kale, trays: 2, tray: box}\n  - {crop: leek, trays: 1, tray: 72-cell}\n";

/// By hand: boxes of 1 L whose water is not known hold 0.5 to 0.8 L, a third of which is 0.9 or 0.85 of what is poured:
/// 0.18519 to 0.31373 L for each of two. The days are those of the plan's own calendar.
#[test]
fn one_watering_of_a_weeks_trays() {
    let feed = |more: &str| {
        let words = format!("feed week.yaml --analysis 20-20-20 --ppm 100 --format json {more}");
        json(run(words.split_whitespace().map(|word| word.replace('_', " "))).file("week.yaml", WEEK))
    };
    let found = feed("");
    let plan = json(run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", WEEK));
    let first = |crop: &str| {
        let entries = plan["calendar"].as_array().unwrap().iter();
        let mut feeds = entries.filter(|entry| entry["code"] == "feed" && entry["do"].to_string().contains(crop));
        feeds.next().unwrap()["at"].as_str().unwrap().to_owned()
    };
    let fed = found["trays"]["fed"].as_array().unwrap();
    let of = |crop: &str| fed.iter().find(|fed| fed["crop"] == crop).unwrap();
    near(&of("kale")["least_l"], 2.0 * 0.5 / 3.0 / 0.9);
    near(&of("kale")["most_l"], 2.0 * 0.8 / 3.0 / 0.85);
    for crop in ["kale", "leek"] {
        assert_eq!(of(crop)["first_feed"], first(crop)[..10], "{crop}");
    }
    // The water that the model tells of the same mix in the same tray.
    let show = ["show", "everyday", "--use", "coir", "--tray", "72-cell", "--format", "csv"];
    let table = run(show).result();
    let row: Vec<&str> = table.lines().nth(1).unwrap().split(',').collect();
    let [low, high] = [3, 5].map(|column| row[column].parse::<f64>().unwrap());
    let cells = plan["sowings"].as_array().unwrap().iter().find(|sowing| sowing["crop"] == "leek").unwrap();
    let litres = 72.0 * cells["cell_ml"].as_f64().unwrap() / 1000.0;
    for (end, wanted) in [("least_l", litres * low / 3.0 / 0.9), ("most_l", litres * high / 3.0 / 0.85)] {
        assert!((of("leek")[end].as_f64().unwrap() / wanted - 1.0).abs() < 1e-4, "{end} {wanted}");
    }
    let told = |found: &Value| found["notes"].to_string();
    assert!(told(&found).contains("There is an inoculant in the mix or the plugs of leek:"), "{found}");
    assert!(told(&found).contains("watering-assumed"), "{found}");
    // 0.5 L for each of three trays, of 0.5 g/L.
    let stated = feed("--each-tray 0.5_L");
    assert_eq!(stated["trays"]["in_all_l"], serde_json::json!([1.5, 1.5]));
    near(&stated["grams_in_all"][1], 0.75);
    assert!(!told(&stated).contains("assumed"), "{stated}");
    let undated = WEEK.replace("mix_on: 2027-03-06 10:00\n", "");
    let undated = run(["feed", "week.yaml", "--analysis", "3-1-2", "--ppm", "60"]).file("week.yaml", undated).result();
    assert!(undated.contains("not known") && undated.contains("takes 1.3-"), "{undated}");
}

/// By hand: kale sown on 2027-03-06 is fed first on 29 Mar, as the week's plan has it, and goes out on 24 Apr: four
/// waterings a week apart, two of them from 6 Apr on, seven every fourth day. Each is 0.5 L, so 2 L in all, of 100 mg N:
/// 1 g of 20 % nitrogen, which is three packages of 400 mg. Lettuce goes out before it is fed.
#[test]
fn all_waterings_of_a_season() {
    let season = "season: s\nrecipe: everyday\nuse: coir\nsowings:\n  - {crop: kale, trays: 1, tray: 72-cell, sow: \
                  2027-03-06, plant_out: 2027-04-24}\n  - {crop: lettuce, trays: 1, tray: 72-cell, sow: 2027-03-06, \
                  plant_out: 2027-03-16, harden: 3 days}\n";
    let feed = |more: &str| {
        let words = format!(
            "feed season.yaml --analysis 20-20-20 --ppm 100 --each-tray 0.5_L --price 400_mg_for_2 --format json {more}"
        );
        json(run(words.split_whitespace().map(|word| word.replace('_', " "))).file("season.yaml", season))
    };
    let times = |found: &Value| {
        found["trays"]["fed"].as_array().unwrap().iter().map(|fed| fed["waterings"].clone()).collect::<Vec<_>>()
    };
    let found = feed("--today 2027-01-04");
    assert_eq!((times(&found), &found["trays"]["fed"][0]["first_feed"]), (vec![4.into()], &"2027-03-29".into()));
    near(&found["trays"]["in_all_l"][1], 2.0);
    near(&found["grams_in_all"][1], 1.0);
    assert_eq!((&found["packages"], &found["cost_per_l"]), (&3.into(), &"2.5".into()));
    assert_eq!(times(&feed("--today 2027-04-06")), [2]);
    assert_eq!(times(&feed("--today 2027-01-04 --every 4_days")), [7]);
    assert_eq!(times(&feed("--today 2027-05-01")), [0; 0]);
    let text = ["feed", "season.yaml", "--analysis", "3-1-2", "--ppm", "60", "--today", "2027-05-01"];
    let over = run(text).file("season.yaml", season).result();
    assert!(over.contains("No feeding of them is still to come."), "{over}");
    let missed = season.replace(" sow: 2027-03-06,", "");
    let missed = run(text.map(|word| word.replace("05-01", "04-20"))).file("season.yaml", missed).result();
    assert!(missed.contains("1 planting is left out, too late to be sown."), "{missed}");
}

#[test]
fn the_trays_that_ship() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let sheet = |file: &str, more: &[&'static str]| {
        let feed = ["feed", file, "--analysis", "3-1-2", "--by-volume", "--ppm", "50", "--price", "1 L for 9.90 EUR"];
        run([&feed[..], more].concat()).within(root().join("recipes")).result()
    };
    let with =
        ["--today", "2027-01-04", "--with", "fish: 5-1-1, 1 L for 12.90, 1.1 g/mL", "--with", "20-20-20, 1 kg for 18"];
    let us = sheet("weeks/plant-sale-1.yaml", &["--units", "us"]);
    settings.bind(|| {
        insta::assert_snapshot!("feed-plant-sale-1-us", us);
        insta::assert_snapshot!("feed-plant-sale-season", sheet("seasons/plant-sale.yaml", &with));
    });
}

/// What is too strong for all is not told of the first feeds besides.
#[test]
fn what_is_too_strong_is_told_once() {
    let codes = |ppm: &str| {
        let feed = ["feed", "weeks/plant-sale-1.yaml", "--analysis", "20-0-0", "--ppm", ppm, "--format", "json"];
        let told = run(feed).within(root().join("recipes")).result();
        ["feed-too-strong", "strong-at-first"].map(|code| told.matches(code).count())
    };
    assert_eq!((codes("200"), codes("400")), ([0, 1], [1, 0]));
}

/// A mix is held against the pH that seed wants, but for crops that want it acid.
#[test]
fn crops_of_acid_soil_are_not_held_to_the_ph_of_seed() {
    let told = |crop: &str| run(["show", "peat-lite-a", "--tray", "72-cell", "--crop", crop]).result();
    let [kale, blueberry] = ["kale", "blueberry"].map(|crop| told(crop).contains("for seed 5.7-6.2"));
    assert!(kale && !blueberry);
}

/// A plug of a host was inoculated when it was sown: phosphorus hinders it in its pot, too.
#[test]
fn phosphorus_is_warned_of_beside_inoculated_plugs() {
    let told = |sowing: &str| {
        let week = format!("week: w\nrecipe: rich\nsowings: [{{{sowing}}}]\n");
        let feed = ["feed", "w.yaml", "--analysis", "20-20-20", "--ppm", "50"];
        run(feed).file("w.yaml", week).result().contains("There is an inoculant in the mix or the plugs of pepper")
    };
    let potted = "potted: 20, tray: 9 cm pot, from: 72-cell";
    assert!(told(&format!("crop: pepper, {potted}")) && told("crop: pepper, trays: 1, tray: 72-cell"));
    assert!(!told(&format!("crop: kale, {potted}")));
    let told = |sowing: &str| told(&format!("crop: pepper, {potted}, {sowing}"));
    assert!(!told("inoculant: no, inoculated_plugs: no") && told("inoculant: no, inoculated_plugs: yes"));
    assert!(told("recipe: loam potting") && !told("recipe: loam potting, inoculated_plugs: no"));
    // Others of the crop are sown without it, and cabbage has no use for it.
    let inoculated = |sowings: &str| {
        let week = format!("week: w\nrecipe: rich\nsowings:\n{sowings}");
        let feed = ["feed", "w.yaml", "--analysis", "20-20-20", "--ppm", "50", "--format", "json"];
        let fed = json(run(feed).file("w.yaml", week))["trays"]["fed"].as_array().unwrap().clone();
        fed.iter().map(|fed| fed["inoculated"] == true).collect::<Vec<_>>()
    };
    let both = "  - {crop: leek, trays: 1, tray: 72-cell, inoculant: no}\n  - {crop: leek, potted: 9, tray: 9 cm pot, from: 72-cell}\n";
    assert_eq!(inoculated(both).into_iter().filter(|is| *is).count(), 1);
    let cabbage = "  - {crop: cabbage, potted: 9, tray: 9 cm pot, from: 72-cell, inoculated_plugs: yes}\n";
    assert_eq!(inoculated(cabbage), [false]);
}

/// The plugs of a season hold what the mix that they were sown into holds, whatever they are potted into.
#[test]
fn a_season_knows_which_plugs_are_inoculated() {
    let season = |sown: &str, potted: &str| {
        format!(
            "season: s\nyear: 2027\nsowings:\n  \
             - {{crop: pepper, trays: 1, tray: 72-cell, recipe: {sown}, sow: 2027-03-01, plant_out: 2027-05-20, \
             then: {{tray: 9 cm pot, potted: 20, recipe: {potted}, on: 2027-03-29}}}}\n"
        )
    };
    let plain = "recipe: plain\nparts: {peat: 3, perlite: 1}\ndoses: {superphosphate: 1 g/L}\n";
    let of = |words: &str, sown: &str, potted: &str| {
        let words = words.split(' ').chain(["--format", "json", "--today"]).chain(["2027-03-20"]);
        let words: Vec<&str> = words.collect();
        run(words).file("s.yaml", season(sown, potted)).file("plain.yaml", plain).result()
    };
    let feed = "feed s.yaml --analysis 20-20-20 --ppm 50";
    let is_inoculated = |sown: &str, potted: &str| {
        let fed: Value = serde_json::from_str(&of(feed, sown, potted)).unwrap();
        let fed = fed["trays"]["fed"].as_array().unwrap().clone();
        fed.iter().find(|fed| fed["potted_on"] == true).unwrap()["inoculated"] == true
    };
    assert!(is_inoculated("rich", "plain") && !is_inoculated("plain", "plain"));
    // Plugs without it are potted into a mix with it.
    assert!(is_inoculated("plain", "rich") && is_inoculated("rich", "rich"));
    let day = |sown: &str, potted: &str| of("plan s.yaml", sown, potted);
    let warned = |sown: &str, potted: &str| day(sown, potted).contains("phosphorus-with-inoculant");
    assert!(warned("rich", "plain") && !warned("plain", "plain"));
    let holds = |sown: &str| day(sown, "rich").contains("in-plugs");
    assert!(holds("rich") && !holds("plain"));
}

/// By hand: 1-0-30 at 100 ppm N brings 3,000 mg/L of potash, .83 of it potassium; 46-0-0 at 200 is for older plants; of
/// 0.2-0-0 a litre that is thinned a hundred times would hold ten kilograms.
#[test]
fn what_seedlings_cannot_take_is_told_whatever_it_is_of() {
    let codes = |words: &str| {
        let words = ["feed", "--format", "json"].into_iter().chain(words.split(' '));
        let told: Value = serde_json::from_str(&run(words.collect::<Vec<_>>()).result()).unwrap();
        let codes = told["notes"].as_array().unwrap().iter().map(|note| note["code"].as_str().unwrap().to_owned());
        codes.filter(|code| code.starts_with("feed-")).collect::<Vec<_>>()
    };
    assert_eq!(codes("--analysis 1-0-30 --ppm 100"), ["feed-too-strong"]);
    assert_eq!(codes("--analysis 46-0-0 --ppm 200"), ["feed-for-older"]);
    assert!(codes("--analysis 3-1-4 --ppm 150").is_empty());
    let stock =
        run(["feed", "--analysis", "0.2-0-0", "--ppm", "200", "--injector", "1:100", "--water", "1 L"]).refusal();
    assert!(stock.contains("cannot be made") && stock.contains("`--injector 1:15`"), "{stock}");
    let by_ounce = |rate: &str| {
        let words = ["feed", "--analysis", "4-1-1", "--density", "1.2 g/mL", "--rate", rate, "--format", "json"];
        run(words).result().contains("weight-ounce")
    };
    assert!(by_ounce("1 oz/gal") && by_ounce("1 ounce/gal") && !by_ounce("1 fl oz/gal"));
    // What is potted on has leaves.
    let potted = "week: w\nrecipe: own.yaml\nsowings: [{crop: pepper, potted: 20, tray: 9 cm pot, from: 72-cell}]\n";
    let strong = |ppm: &str| {
        let feed = ["feed", "w.yaml", "--analysis", "3-0-2", "--ppm", ppm, "--format", "json"];
        let own = "recipe: own\nparts: {peat: 3, perlite: 1}\n";
        run(feed).file("w.yaml", potted).file("own.yaml", own).result().contains("strong-at-first")
    };
    assert!(!strong("150") && strong("151"));
    // As it is said.
    assert_eq!(codes("--analysis 3-1-4 --ppm 50PPM"), codes("--analysis 3-1-4 --ppm 50mg/L"));
}

/// Phosphorus and potassium alone feed no seedling, and a pinch of castings does not either.
#[test]
fn food_is_nitrogen_in_an_amount_that_matters() {
    let begins = |parts: &str, doses: &str| {
        let own = format!("recipe: own\nparts: {{peat: 3, vermiculite: 1{parts}}}\ndoses: {{lime: 1 g/L{doses}}}\n");
        let week = "week: w\nrecipe: own.yaml\nmix_on: 2027-03-06\nsowings: [{crop: kale, trays: 1, tray: 72-cell}]\n";
        let plan = json(run(["plan", "w.yaml", "--format", "json"]).file("w.yaml", week).file("own.yaml", own));
        plan["batches"][0]["behaviour"]["feeding"]["begin"]["stage"].as_str().unwrap().to_owned()
    };
    for dose in ["", ", superphosphate: 1 g/L", ", potassium sulfate: 1 g/L", ", rock phosphate: 1 g/L"] {
        assert_eq!(begins("", dose), "open cotyledons", "{dose}");
    }
    assert_eq!(begins(", castings: 0.01", ""), "open cotyledons");
    assert_eq!(begins(", castings: 1/2", ""), "first true leaves");
    assert_eq!(begins("", ", calcium nitrate: 0.5 g/L"), "first true leaves");
    // By what they bring together: of 13 % .15 g/L is 19.5 mg, with kelp of 1 % 21.5; .15 of each litre of peat less.
    assert_eq!(begins("", ", kelp meal: 1 g/L"), "open cotyledons");
    assert_eq!(begins("", ", potassium nitrate: 0.15 g/L"), "open cotyledons");
    assert_eq!(begins("", ", potassium nitrate: 0.15 g/L, kelp meal: 0.2 g/L"), "first true leaves");
    assert_eq!(begins("", ", blood meal: {rate: 0.2 g/L, of: peat}"), "first true leaves");
    assert_eq!(begins("", ", blood meal: {rate: 0.17 g/L, of: peat}"), "open cotyledons");
}
