//! The place file: found by itself or named, laid under what a file states, and taken by every command.

use crate::support::{Run, project, run, shell};
use serde_json::Value;

const PLACE: &str = "place: barn\ntub: 40 L\nscoop: 1 L\nrack: {shelves: 2, trays_per_shelf: 3}\n\
    allowances: {spill: 4 %}\nuse: coir\nsoak: {sold_as: washed, salt: calcium nitrate double salt, label_ca: 19 %}\n\
    trays: {flat 60: {cells: 60, rows: 10, cell: 55 mL}}\n";
const WEEK: &str =
    "week: beds\nrecipe: everyday\nmix_on: 2027-03-06\nsowings: [{crop: kale, cells: 40, tray: flat 60}]\n";

fn json(run: Run) -> Value {
    serde_json::from_str(&run.result()).unwrap()
}

fn plan(week: &str, place: &str) -> Value {
    json(run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", week).file("place.yaml", place))
}

fn mix_l(plan: &Value) -> f64 {
    plan["totals"]["mix_l"].as_f64().unwrap()
}

fn codes(plan: &Value) -> Vec<&str> {
    plan["notes"].as_array().unwrap().iter().filter_map(|note| note["code"].as_str()).collect()
}

/// 40 cells in whole trays of 60, 55 mL, settled by 15 %, with 4 % spilt by the place or 10 % by the week.
#[test]
fn what_a_week_states_wins_key_by_key() {
    let near = |plan: &Value, wanted: f64| assert!((mix_l(plan) / wanted - 1.0).abs() < 1e-12, "{}", mix_l(plan));
    let found = plan(WEEK, PLACE);
    near(&found, 60.0 * 0.055 * 1.15 / 0.96);
    assert!(codes(&found).contains(&"from-place"), "{found}");
    near(&plan(&format!("{WEEK}allowances: {{settling: 10 %}}\n"), PLACE), 60.0 * 0.055 * 1.10 / 0.96);
    near(&plan(&format!("{WEEK}allowances: {{spill: 10 %}}\n"), PLACE), 60.0 * 0.055 * 1.15 / 0.90);
    // By name, and of an entry only what is stated.
    near(&plan(&format!("{WEEK}trays: {{flat 60: {{cell: 50 mL}}}}\n"), PLACE), 60.0 * 0.050 * 1.15 / 0.96);
}

#[test]
fn the_same_facts_in_the_week_give_the_same_plan() {
    let facts = PLACE.split_once('\n').unwrap().1;
    let (mut placed, whole) = (plan(WEEK, PLACE), plan(&format!("{WEEK}{facts}"), "place: bare\n"));
    assert!(!codes(&whole).contains(&"from-place"));
    placed["notes"].as_array_mut().unwrap().retain(|note| note["code"] != "from-place");
    assert_eq!(placed, whole);
}

#[test]
fn a_rack_and_a_soak_are_merged_within() {
    let outgrown = |more: &str| {
        let plan = plan(&format!("{WEEK}{more}"), PLACE);
        plan.to_string().contains("rack-outgrown")
    };
    assert_eq!([outgrown(""), outgrown("rack: {occupied: 6}\n")], [false, true]);
    let salts = |soak: &str| {
        let plan = plan(&format!("{WEEK}{soak}"), PLACE);
        plan["soak"]["salt_g"].as_object().unwrap().keys().cloned().collect::<Vec<_>>().join(", ")
    };
    assert!(salts("").contains("double salt"), "{}", salts(""));
    assert!(salts("soak: {soaks: 1}\n").contains("double salt"));
    // The calcium on the label of another salt falls away.
    let other = "soak: {salt: calcium nitrate tetrahydrate}\n";
    assert_eq!(salts(other), "calcium nitrate tetrahydrate");
    let fresh = plan(&format!("{WEEK}{other}"), &PLACE.replace(", label_ca: 19 %", ""));
    assert_eq!(plan(&format!("{WEEK}{other}"), PLACE)["soak"]["salt_g"], fresh["soak"]["salt_g"]);
}

#[test]
fn paths_start_from_the_file_that_writes_them() {
    let placed = |name: &str| {
        run(["plan", "weeks/week.yaml", "--format", "json"])
            .file("weeks/week.yaml", WEEK.replace("recipe: everyday", &format!("place: ../bench/{name}")))
            .file("bench/here.yaml", format!("{PLACE}recipe: ours\nstock: shed.yaml\nmix_at: 9:30\n"))
            .file(
                "bench/ours.yaml",
                "recipe: of the bench\nparts: {coir or peat: 1, grit: 1}\n".to_owned()
                    + "ingredients: {grit: {dry_density: 1500 g/L}}\n",
            )
            .file("bench/shed.yaml", "stock: of the bench\non_hand: {grit: 9 L}\n")
            .file("weeks/ours.yaml", "recipe: of the weeks\nparts: {peat: 1}\n")
            .file("weeks/place.yaml", "place: not this\nrecipe: ours\n")
    };
    let plan = json(placed("here.yaml"));
    assert_eq!(plan["batches"][0]["recipe"], "of the bench");
    let grit = plan["purchases"]["lines"].as_array().unwrap().iter().find(|line| line["ingredient"] == "grit").unwrap();
    assert_eq!(grit["on_hand_l"], 9.0);
    // A date alone means the hour at which the place mixes.
    assert!(plan["mix_on"].as_str().unwrap().starts_with("2027-03-06T09:30"), "{}", plan["mix_on"]);
    let refused = placed("nowhere.yaml").refusal();
    assert!(refused.contains("weeks/week.yaml:2:8") && refused.contains("bench/nowhere.yaml"), "{refused}");
}

#[test]
fn a_fault_is_told_where_it_stands() {
    let refusal = |week: &str, place: &str| {
        run(["plan", "week.yaml"]).file("week.yaml", week).file("place.yaml", place).refusal()
    };
    for (place, wanted) in [
        ("place: barn\ntub: 40 litters\n", "place.yaml:2:6"),
        ("place: barn\nsowings: []\n", "`sowings` is not a key of a place"),
        ("", "place.yaml: is empty"),
        ("place: [\n", "error[syntax]"),
        ("place: barn\ntubs: 40 L\n", "did you mean `tub`"),
        ("place: ../other.yaml\n", "a place takes its facts from no other place"),
        ("week: barn\n", "this is a week file, not a place"),
        ("place: barn\ntub: 1 L\nscoop: 2 L\n", "place.yaml:2:6"),
        ("place: barn\nrack: {shelves: 2, trays_per_shelf: 2, mats: 5}\n", "more places have heat than the rack has"),
        ("place: barn\nsoak: {coir: {count: 2}}\n", "place.yaml:2"),
    ] {
        let trays = "trays: {flat 60: {cells: 60, rows: 10, cell: 55 mL}}\n";
        let place = &if place.starts_with("place: ") && !place.contains("[\n") {
            format!("{place}{trays}")
        } else {
            place.to_owned()
        };
        let refused = refusal(WEEK, place);
        assert!(refused.contains(wanted) && !refused.contains("week.yaml"), "{refused}");
    }
    // The faults of a week come with those of its place, and none that only follow from these.
    let week = "week: w\nmix_on: 2027-02-30\nrack: {occupied: 2}\nuse: coir\ntrays: {flat 60: {cell: 50 mL}}\nsowings:\n  \
                - {crop: kail, cells: 40, tray: flat 60}\n  - {crop: kale, cells: 40, tray: flat 61}\n  - {crop: leek}\n";
    let faults = |place: &str| {
        let refused = refusal(week, place);
        let places = refused.lines().filter_map(|line| line.trim_start().strip_prefix("--> "));
        places.map(str::to_owned).collect::<Vec<_>>().join(" ")
    };
    let own = "week.yaml:2:9 week.yaml:9:6 week.yaml:9:12";
    assert_eq!(faults("place: [\n"), format!("{own} place.yaml:2:1"));
    assert_eq!(faults("place: barn\nrecipes: everyday\n"), format!("{own} place.yaml:2:1"));
    let place = "place: barn\nrecipe: everyday\nrack: {shelves: 2, trays_per_shelf: 3, mats: 9}\n\
                 trays: {flat 60: {cells: 60, rows: 10, cell: 0 mL}, flat 61: {cells: 61, cell: 5 mL}}\n";
    assert_eq!(
        faults(place),
        "week.yaml:2:9 week.yaml:7:12 week.yaml:9:6 week.yaml:9:12 place.yaml:3:8 place.yaml:4:46"
    );
    let refused =
        run(["plan", "week.yaml"]).file("week.yaml", week.replace("week: w", "week: w\nplace: no.yaml")).refusal();
    assert_eq!(refused.matches("error[").count(), 4, "{refused}");
    let refused =
        run(["soak", "s.yaml"]).file("s.yaml", "soak: s\nhours: 90\n").file("place.yaml", "place: [\n").refusal();
    assert!(refused.matches("error[").count() == 2 && refused.contains("s.yaml:2:8"), "{refused}");
    // Between both: the week's scoop in the place's tub, and a recipe that is only looked for now.
    let week = WEEK.replace("flat 60", "72-cell");
    let refused = refusal(&format!("{week}scoop: 41 L\n"), "# the barn's\nplace: barn\ntub: 40 L\n");
    assert!(refused.contains("--> place.yaml:3:6\n") && refused.contains("tub: 40 L"), "{refused}");
    let week = week.replace("recipe: everyday\n", "");
    let refused = refusal(&week.replace("kale", "kail"), "place: barn\nrecipe: nowhere\n");
    assert!(refused.contains("--> place.yaml:2:9\n") && refused.contains("--> week.yaml:3:"), "{refused}");
    // What the week displaces is checked all the same.
    let refused = refusal(&format!("{WEEK}tub: 60 L\n"), "place: barn\ntub: 40 litters\n");
    assert!(refused.contains("--> place.yaml:2:6\n"), "{refused}");
}

/// A preference holds for the recipes that offer it.
/// What is at fault within a key of the place takes this key away, not the place; of a soak file nothing is forgiven that
/// no place could give.
#[test]
fn a_fault_deep_in_a_place_hides_no_fault_of_the_file() {
    let told = |command: &str, file: &str, place: &str| {
        let refused = run([command, "file.yaml"]).file("file.yaml", file).file("place.yaml", place).refusal();
        let places = refused.lines().filter_map(|line| line.trim_start().strip_prefix("--> "));
        places.map(|at| at.replace(".yaml", "")).collect::<Vec<_>>().join(" ")
    };
    let place = "place: barn\nrecipe: everyday\nrack: {trays_per_shelf: 3, shelfs: 2}\ntub: 60 L\n";
    let week = "week: w\nscoop: 70 L\nsowings:\n  - {crop: kail, cells: 3, tray: 72-sell}\n";
    assert_eq!(told("plan", week, place), "file:4:12 file:4:34 place:4:6 place:3:8 place:3:28");
    // What a misspelt key should be is not known, what the others say is.
    assert_eq!(told("plan", week, "place: barn\nrecipe: everydy\ntubb: 60 L\n"), "place:2:9 place:3:1");
    let place = "place: barn\nsoak: {coir: {product: 5 kg block}, sold_as: washed, hours: 900}\n";
    assert_eq!(told("soak", "soak: s\n", place), "place:2:61");
    let steps = told("soak", "soak: s\nsteps:\n  - {water: 7 L}\n", place);
    assert!(steps.starts_with("file:3:"), "{steps}");
    // More of them than are shown.
    let many = |keys: &str| (0..150).map(|tray| format!("  t{tray}: {{{keys}}}\n")).collect::<String>();
    let week = format!("week: w\nrecipe: everyday\ntrays:\n{}", many("cell: 50 mL"));
    let sowings = "sowings:\n  - {crop: kale, cells: 3, tray: t1}\n";
    assert_eq!(told("plan", &(week + sowings), "place: [\n"), "place:2:1");
    let place = format!("place: barn\ntrays:\n{}rack: {{shelves: 2}}\n", many("cells: 60, cell: 0 mL"));
    let week = format!("week: w\nrecipe: everyday\nrack: {{occupied: 1}}\n{}", sowings.replace("t1", "72-cell"));
    assert!(!told("plan", &week, &place).contains("file:"));
}

#[test]
fn what_a_place_wants_is_no_fault_of_a_recipe_without_it() {
    let week = "week: beds\nrecipe: own\nsowings: [{crop: kale, cells: 40, tray: 72-cell}]\n";
    let plan = |place: &str, more: &str| {
        let week = format!("{week}{more}");
        let own = "recipe: own\nparts: {peat: 3, perlite: 1}\n";
        run(["plan", "week.yaml"]).file("week.yaml", week).file("own.yaml", own).file("place.yaml", place)
    };
    assert!(plan(PLACE, "").result().contains("offers no choice of coir"));
    assert!(plan("place: barn\n", "use: coir\n").refusal().contains("no recipe here offers `coir`"));
}

#[test]
fn check_knows_a_place_and_says_which_a_week_has() {
    let files = |arguments: &[&str]| {
        run(arguments.iter())
            .file("week.yaml", WEEK)
            .file("place.yaml", PLACE)
            .file("own.yaml", "place: mine\nstock: no.yaml\n")
    };
    let said = "week.yaml: week `beds` is in order, with the place `barn` (place.yaml)\nplace.yaml: place `barn` is in order\n";
    files(&["check", "week.yaml", "place.yaml"]).gives(0, said, "");
    // What is at fault in a place is told once, whichever files take it.
    let faulty = files(&["check", "./place.yaml", "place.yaml", "week.yaml"])
        .file("place.yaml", "place: barn\ntub: 4 litters\n");
    assert_eq!(faulty.refusal().matches("place.yaml:2:6\n").count(), 1);
    let refused = files(&["check", "own.yaml"]).refusal();
    assert!(refused.contains("own.yaml:2:8"), "{refused}");
    assert!(files(&["plan", "place.yaml"]).refusal().contains("this is a place file, not a week"));
    // A week that bears the name of its recipe, whatever key it begins with: one fault.
    let week = "use: peat\nrecipe: rich\nweek: w\nsowings: [{crop: kale, trays: 1, tray: 72-cell}]\n";
    let refused = run(["plan", "rich.yaml"]).file("rich.yaml", week).refusal();
    assert!(
        refused.matches("error[").count() == 1 && refused.contains("this is a week file, not a recipe"),
        "{refused}"
    );
    // The starter is in order, as it is and with its comments taken away.
    let starter = run(["new", "place"]).result();
    run(["check", "place.yaml"]).file("place.yaml", &starter).gives(
        0,
        "place.yaml: place `my bench` is in order\n",
        "",
    );
    let bare = |line: &str| {
        line.strip_prefix("# ").filter(|line| line.contains(": ") && !line.starts_with("For")).map(str::to_owned)
    };
    let all = starter.lines().filter(|line| !line.starts_with("rack: ") && !line.contains("stock.yaml"));
    let all: String = all.skip(3).map(|line| bare(line).unwrap_or_else(|| line.to_owned()) + "\n").collect();
    run(["check", "place.yaml"]).file("place.yaml", &all).gives(0, "place.yaml: place `my bench` is in order\n", "");
}

#[test]
fn commands_without_a_file_take_a_place() {
    let placed = |words: &[&str]| run([words, &["--place", "bench/here.yaml"]].concat()).file("bench/here.yaml", PLACE);
    let scaled = json(placed(&["scale", "everyday", "--tray", "flat 60", "--format", "json"]));
    assert!((mix_l(&scaled) / (60.0 * 0.055 * 1.15 / 0.96) - 1.0).abs() < 1e-12);
    assert!(scaled["soak"]["salt_g"].is_object() && codes(&scaled).contains(&"from-place"), "{scaled}");
    let text = placed(&["scale", "everyday", "--tray", "flat 60", "--explain"]).result();
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let from = "From the place `barn` (bench/here.yaml): tub, scoop, rack, allowances, use, soak, trays.";
    assert!(words.contains(from), "{text}");
    assert!(words.contains("The worksheet: `trayful soak --loose VOLUME --place PLACE.yaml`."), "{text}");
    // Pots too are filled as they are at the place.
    let pots = |rim: &str| {
        let place = format!("place: p\nallowances: {{rim: {rim}}}\n");
        let scale = run(["scale", "everyday", "--tray", "9 cm pot=9", "--place", "p.yaml", "--format", "json"]);
        mix_l(&json(scale.file("p.yaml", place)))
    };
    assert!(pots("3 cm") < pots("1 cm"));
    // A recipe without a choice is no fault.
    placed(&["scale", "peat-lite A", "--make", "9 L"]).result();
    let soaked = json(placed(&["soak", "--dry", "1 kg", "--format", "json"]));
    assert!(soaked["salt_g"].as_object().unwrap().keys().any(|salt| salt.contains("double salt")), "{soaked}");
    assert_eq!(soaked["sold_as"], "washed");
    assert!(soaked["notes"].to_string().contains("(bench/here.yaml): sold_as, salt, label_ca."), "{soaked}");
    let other = json(placed(&["soak", "--dry", "1 kg", "--sold-as", "none", "--format", "json"]));
    assert_eq!(other["sold_as"], "none");
    assert!(placed(&["show", "flat", "60"]).result().contains("flat 60"));
    assert!(placed(&["list", "trays"]).result().contains("flat 60"));
    let recipe = "recipe: r\nparts: {peat: 1, chaff: 1}\n";
    let chaff = |words: &[&str]| {
        run(words.iter())
            .file("r.yaml", recipe)
            .file("p.yaml", "place: p\ningredients: {chaff: {dry_density: 100 g/L}}\n")
    };
    assert!(chaff(&["check", "r.yaml"]).refusal().contains("chaff"));
    chaff(&["check", "r.yaml", "--place", "p.yaml"]).gives(0, "r.yaml: recipe `r` is in order\n", "");
    chaff(&["yield", "r.yaml", "--before", "9 L", "--after", "8 L", "--place", "p.yaml"]).result();
    let refused = placed(&["scale", "everyday", "--tray", "flat 61"]).refusal();
    assert!(refused.contains("did you mean `flat 60`"), "{refused}");
}

#[test]
fn what_is_at_hand_replaces_the_stock_of_the_place() {
    let place = "place: p\nstock: shed.yaml\nuse: peat\n";
    let shed = "stock: s\non_hand: {peat: 900 L, perlite: 300 L, vermiculite: 300 L, castings: 300 L, lime: 9 kg, inoculant: 9 kg}\n\
        packages: {peat: [{label: tall bale, gives: 60 L}]}\n";
    let trays = |have: &[&str]| {
        let words =
            [&["fill", "everyday", "--tray", "72-cell", "--place", "p.yaml", "--format", "json"], have].concat();
        let filled = json(run(words).file("p.yaml", place).file("shed.yaml", shed));
        filled["trays"].as_u64().unwrap()
    };
    let have = |peat: &'static str| {
        ["--have", peat, "--have", "perlite=20 L", "--have", "vermiculite=20 L", "--have", "castings=20 L"]
    };
    let (all, litres) = (trays(&[]), trays(&have("peat=60 L")));
    assert!(all > 10 * litres && litres > 0, "{all} {litres}");
    // Its packages are known all the same.
    assert_eq!(trays(&have("peat=1 x tall bale")), litres);
}

#[test]
fn a_soak_file_lies_over_its_place() {
    let soak = |text: &str| {
        let place = "place: barn\ntime_zone: Europe/Paris\nmix_at: 9:00\nsoak: {sold_as: none, coir: {product: 650 g brick}, salt: gypsum}\n";
        let soak = run(["soak", "soak.yaml", "--format", "json"]).file("soak.yaml", text);
        json(soak.file("place.yaml", place).file("p/other.yaml", "place: other\nsoak: {sold_as: mild}\n"))
    };
    let merged = soak("soak: s\ncoir: {count: 2}\nready: 2027-03-06\n");
    assert_eq!((&merged["sold_as"], merged["pieces"].as_u64()), (&"none".into(), Some(2)));
    assert!((merged["dry_kg"].as_f64().unwrap() - 1.3 * 0.85).abs() < 1e-9, "{}", merged["dry_kg"]);
    assert!(merged["ready"].as_str().unwrap().starts_with("2027-03-06T09:00:00+01:00"), "{}", merged["ready"]);
    assert!(merged["notes"].to_string().contains("(place.yaml): time_zone, mix_at, sold_as, coir, salt."), "{merged}");
    assert_eq!(soak("soak: s\ncoir: {count: 2}\nplace: p/other.yaml\n")["sold_as"], "mild");
    // A report of a laboratory instead of what the bag says, a course instead of the usual salt.
    let lab = "soak: s\ncoir: {dry: 1 kg}\nlab: {exchange_capacity: 0.5 mol/kg, sites: {Na: 25 %, K: 45 %, Ca: 18 %, Mg: 12 %}}\n";
    assert_eq!(soak(lab)["sold_as"], "lab report");
    let steps = soak("soak: s\ncoir: {dry: 1 kg}\nsteps:\n  - {do: soak, water: 10 L, salts: {CaCl2: 5 mmol/L}}\n");
    assert_eq!(steps["steps"].as_array().unwrap().len(), 1);
}

#[test]
fn units_of_the_place_are_those_of_the_results() {
    let place = format!("{PLACE}units: us\n");
    let sheet = |more: &[&str]| {
        run([&["plan", "week.yaml"], more].concat()).file("week.yaml", WEEK).file("place.yaml", &place).result()
    };
    assert_eq!(sheet(&[]), sheet(&["--units", "us"]));
    assert_ne!(sheet(&[]), sheet(&["--units", "metric"]));
}

#[test]
fn no_result_is_written_over_the_place() {
    for command in ["plan week.yaml", "check week.yaml", "scale everyday --tray 72-cell --place place.yaml"] {
        let script = format!("\"$T\" {command} --replace -o place.yaml");
        let output = shell(&script).file("week.yaml", WEEK).file("place.yaml", PLACE).done();
        assert!(output.stderr.contains("is a file that this command works with"), "{}", output.stderr);
        assert_eq!((output.status, output.file("place.yaml").as_deref()), (2, Some(PLACE)));
    }
}

/// Two sowing days of one club: neither says what its place says.
#[test]
fn the_shipped_weeks_leave_to_the_place_what_it_says() {
    for number in [1, 2] {
        let week = project(&format!("recipes/weeks/plant-sale-{number}.yaml"));
        for key in ["\ntub:", "\nscoop:", "\nstock:", "\nrecipe:", "\ntime_zone:", "\nuse:"] {
            assert!(!week.contains(key), "{key} in {week}");
        }
    }
}
