//! The JSON of `plan` and `scale`: the names and types that scripts rely on. Fields of
//! what is mixed, bought, soaked and covered have tests of their own.

use crate::support::{project, run};
use serde_json::Value;

fn plan(name: &str) -> Value {
    let week = format!("weeks/{name}");
    let text = run(["plan", &week, "--format", "json"])
        .file("weeks/plant-sale-1.yaml", project("recipes/weeks/plant-sale-1.yaml"))
        .file("weeks/plant-sale-2.yaml", project("recipes/weeks/plant-sale-2.yaml"))
        .file("weeks/plant-sale-2.csv", project("recipes/weeks/plant-sale-2.csv"))
        .file("places/club.yaml", project("recipes/places/club.yaml"))
        .file("stock/club-shed.yaml", project("recipes/stock/club-shed.yaml"))
        .result();
    serde_json::from_str(&text).unwrap()
}

/// Every field is there and of its type: `s` text, `n` number, `i` whole number, `l` list,
/// `?` may be null, `t` list of texts, `r` list of remarks: each a code and a text.
#[track_caller]
fn fields(value: &Value, wanted: &str) {
    for field in wanted.split_whitespace() {
        let (name, kind) = field.split_once(':').unwrap();
        let found = value.get(name).unwrap_or_else(|| panic!("no {name} in {value}"));
        let right = match kind.trim_end_matches('?') {
            "s" => found.is_string(),
            "n" => found.as_f64().is_some_and(|number| number.is_finite() && number >= 0.0),
            "i" => found.is_u64(),
            "l" => found.is_array(),
            "t" => found.as_array().is_some_and(|list| list.iter().all(Value::is_string)),
            "r" => found
                .as_array()
                .is_some_and(|list| list.iter().all(|one| one["code"].is_string() && one["text"].is_string())),
            "o" => found.is_object(),
            _ => panic!("{kind}"),
        };
        assert!(right || (kind.ends_with('?') && found.is_null()), "{name}: {found} is not {kind}");
    }
}

fn each<'v>(value: &'v Value, name: &str) -> &'v Vec<Value> {
    value[name].as_array().unwrap_or_else(|| panic!("{name}: {}", value[name]))
}

#[track_caller]
fn check(plan: &Value) {
    fields(plan, "format:s sowings:l trays:l batches:l covering:l totals:o calendar:l cautions:r notes:r");
    for later in ["mixing", "purchases", "soak"] {
        assert!(plan.get(later).is_some(), "{later}");
    }
    assert_eq!(plan["format"], "trayful-plan/1");
    for sowing in each(plan, "sowings") {
        fields(sowing, "crop:s? tray:s batch:s plants:i? cells:i seeds_to_take:i? cells_filled:i cell_ml:n");
    }
    for tray in each(plan, "trays") {
        fields(tray, "tray:s count:i");
    }
    for batch in each(plan, "batches") {
        fields(
            batch,
            "name:s recipe:s crops:t sieve_mm:n? top_l:n? cells_l:n? settled_l:n? mix_l:n loose_l:n ingredients:l \
             doses:l left_out:l",
        );
        for part in each(batch, "ingredients") {
            fields(part, "name:s parts:s loose_l:n");
            assert!(trayful::units::number(part["parts"].as_str().unwrap()).is_ok(), "{part}");
        }
        for dose in each(batch, "doses") {
            fields(dose, "name:s grams:n? ml:n?");
            assert!(dose["grams"].is_null() != dose["ml"].is_null(), "{dose}");
            // A dose that falls away is left out, never zero.
            assert!(dose["grams"].as_f64().or(dose["ml"].as_f64()).unwrap() > 0.0);
        }
        for left_out in each(batch, "left_out") {
            fields(left_out, "name:s why:s code:s text:s");
        }
    }
    let totals = &plan["totals"];
    fields(totals, "trays:i pots:i cells_l:n? mix_l:n ingredients:l doses:l");
    for part in each(totals, "ingredients") {
        fields(part, "name:s loose_l:n");
    }
    for dose in each(totals, "doses") {
        fields(dose, "name:s grams:n? ml:n?");
    }
}

#[test]
fn the_demo_weeks() {
    for name in ["plant-sale-1.yaml", "plant-sale-2.yaml"] {
        let plan = plan(name);
        check(&plan);
        // Sums agree at full precision.
        let sum = |field: &str| each(&plan, "batches").iter().map(|batch| batch[field].as_f64().unwrap()).sum::<f64>();
        assert!((sum("mix_l") / plan["totals"]["mix_l"].as_f64().unwrap() - 1.0).abs() < 1e-12);
        assert!((sum("cells_l") / plan["totals"]["cells_l"].as_f64().unwrap() - 1.0).abs() < 1e-12);
        // Every batch that a sowing names is there, and every batch is named.
        let named: std::collections::BTreeSet<_> =
            each(&plan, "sowings").iter().map(|sowing| sowing["batch"].as_str().unwrap()).collect();
        let there: std::collections::BTreeSet<_> =
            each(&plan, "batches").iter().map(|batch| batch["name"].as_str().unwrap()).collect();
        assert_eq!(named, there);
    }
}

/// The first demo week by hand: trays, and the chain of its cells.
#[test]
fn the_first_demo_week_by_hand() {
    let plan = plan("plant-sale-1.yaml");
    let tray = |name: &str| {
        each(&plan, "trays").iter().find(|tray| tray["tray"] == name).and_then(|tray| tray["count"].as_u64()).unwrap()
    };
    // Kale 108 cells of 50; a tray of 128 leeks and one of 200 begonias; broccoli 51, chard 48
    // (8 rows) with candytuft 22 (4 rows), lettuce 115, parsley 94, tomato 54 of 72.
    assert_eq!((tray("50-cell"), tray("128-cell"), tray("200-cell"), tray("72-cell")), (3, 1, 1, 7));
    assert_eq!(plan["totals"]["trays"], 12);
    // 7 x 72 x 50 mL, 3 x 50 x 6.14 cubic inches, 128 x 22 and 200 x 12 mL.
    let cells = 25.2 + 0.016_387_064 * 3.0 * 50.0 * 6.14 + 2.816 + 2.4;
    let near = |value: &Value, wanted: f64| assert!((value.as_f64().unwrap() / wanted - 1.0).abs() < 1e-12, "{value}");
    near(&plan["totals"]["cells_l"], cells);
    near(&plan["totals"]["mix_l"], cells * 1.15 / 0.95);
    // Cells of 12 mL are sieved whole: a tenth more of the loose ingredients.
    let sieved = each(&plan, "batches").iter().find(|batch| batch["sieve_mm"] == 6.0).unwrap();
    near(&sieved["loose_l"], 2.4 * 1.15 / 0.95 / 0.9 / 0.88);
    near(&sieved["doses"][0]["grams"], 2.4 * 1.15 / 0.95);
    // Begonia seed is dust: 10 mm on top of cells 35 mm deep.
    near(&sieved["top_l"], 2.4 * 10.0 / 35.0);
    // Kale, broccoli, chard and candytuft go without inoculant.
    let without = each(&plan, "batches").iter().find(|batch| batch["crops"].as_array().unwrap().len() == 4).unwrap();
    assert_eq!(without["doses"].as_array().unwrap().len(), 0);
    let left_out: Vec<_> = each(without, "left_out").iter().map(|one| one["name"].as_str().unwrap()).collect();
    assert_eq!(left_out, ["inoculant", "lime"]);
    // Leek in clumps: three seeds to a cell.
    let leek = each(&plan, "sowings").iter().find(|sowing| sowing["crop"] == "leek").unwrap();
    assert_eq!((leek["cells"].as_u64(), leek["seeds_to_take"].as_u64()), (Some(128), Some(384)));
}

#[test]
fn a_volume_has_no_cells_and_no_sowings() {
    let text = run(["scale", "soil blocks", "--make", "10 US gal", "--format", "json"]).result();
    let plan: Value = serde_json::from_str(&text).unwrap();
    check(&plan);
    assert_eq!((each(&plan, "sowings").len(), each(&plan, "trays").len()), (0, 0));
    assert!(plan["totals"]["cells_l"].is_null());
    let lime = &plan["batches"][0]["doses"][0];
    assert!(lime["grams"].is_null() && lime["ml"].is_number(), "cups stay a measure: {lime}");
}

#[test]
fn trays_without_a_crop() {
    let text = run(["scale", "peat-lite A", "--tray", "72-cell=3", "--format", "json"]).result();
    let plan: Value = serde_json::from_str(&text).unwrap();
    check(&plan);
    assert!(plan["sowings"][0]["crop"].is_null());
    assert_eq!(plan["batches"][0]["ingredients"][0]["parts"], "0.5");
}

/// `top_l` is null where the depth of a cell is not known, and a note says so.
#[test]
fn an_unknown_depth_is_null() {
    let week = "week: w\nrecipe: everyday\ntrays: {flat: {cells: 100, rows: 10, cell: 20 mL}}\n\
                sowings: [{crop: begonia, trays: 1, tray: flat}]\n";
    let text = run(["plan", "-", "--format", "json"]).input(week).result();
    let plan: Value = serde_json::from_str(&text).unwrap();
    check(&plan);
    assert!(plan["batches"][0]["top_l"].is_null());
    assert!(
        each(&plan, "notes")
            .iter()
            .any(|note| note["code"] == "top-unknown" && note["text"].as_str().unwrap().contains("depth of `flat`")),
        "{}",
        plan["notes"]
    );
}

/// What is said beside the figures has a code for scripts, and every time its offset; what
/// has no hour is a date.
#[test]
fn remarks_have_codes_and_times_their_offset() {
    let plan = plan("plant-sale-1.yaml");
    let codes = |list: &Value| -> Vec<String> {
        list.as_array().unwrap().iter().map(|one| one["code"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(
        codes(&plan["notes"]),
        [
            "from-place",
            "salt-not-priced",
            "legal-minimum",
            "emergence-unknown",
            "thin-out",
            "whole-trays",
            "weigh-cells",
            "low-confidence",
            "stands-long"
        ]
    );
    let cautions = codes(&plan["cautions"]);
    assert_eq!(cautions[..4], ["salt-safety", "heavy-tub", "legionella", "lifting"]);
    assert_eq!(codes(&plan["batches"][0]["left_out"]), ["not-served", "no-base"]);
    assert_eq!(plan["mix_on"], "2027-03-06T10:00:00+01:00");
    let at = |words: &str| {
        let mut entries = each(&plan, "calendar").iter();
        entries.find(|entry| entry["do"].as_str().unwrap().starts_with(words)).map(|entry| entry["at"].clone()).unwrap()
    };
    assert_eq!(at("mix, fill and sow"), "2027-03-06T10:00:00+01:00");
    assert_eq!(at("first feed of leek"), "2027-03-26");
    let codes: Vec<_> = each(&plan, "calendar").iter().map(|entry| entry["code"].as_str().unwrap()).collect();
    for code in ["coir", "soak-seed", "scrub", "mix", "emerge", "uncover", "feed", "harden", "plant-out"] {
        assert!(codes.contains(&code), "{code} among {codes:?}");
    }
    assert!(at("first kale").as_str().unwrap().len() == "2027-03-10".len(), "{}", plan["calendar"]);
}

/// Parts are exact: a third stays a third.
#[test]
fn parts_are_exact_texts() {
    let text = run(["scale", "own.yaml", "--make", "10 L", "--format", "json"])
        .file("own.yaml", "recipe: own\nparts: {peat: 1/3, perlite: 0.50, castings: 1 1/2, compost: 2}\n")
        .result();
    let plan: Value = serde_json::from_str(&text).unwrap();
    let parts: Vec<_> =
        each(&plan["batches"][0], "ingredients").iter().map(|part| part["parts"].as_str().unwrap()).collect();
    assert_eq!(parts, ["1/3", "0.5", "1.5", "2"]);
}
