//! The schemas of files against what a reference validator said by them (`tests/reference/schema_verdicts.py`).

use crate::support::{project, run};

/// Every file with its verdict.
fn verdicts() -> Vec<(String, bool)> {
    let table = project("tests/reference/schema_verdicts.csv");
    let rows = table.lines().skip(1).map(|row| row.split_once(',').unwrap());
    rows.map(|(file, verdict)| (file.to_owned(), verdict == "passes")).collect()
}

/// What a name means, what contradicts what, and whether a plan comes of it are not for a schema to say.
const BEYOND_A_SCHEMA: [&str; 14] = [
    "ambiguous-crop",
    "conflict",
    "encoding",
    "key-twice",
    "name-twice",
    "recipe",
    "soak",
    "sowing",
    "syntax",
    "tray",
    "unknown-crop",
    "unknown-ingredient",
    "unknown-recipe",
    "unknown-tray",
];

/// Nor are these: a day of its month, zones by their names, sizes in whatever unit, digits, figures against each other,
/// numbers that YAML turns into others before a schema sees them, a key that may stand in the place, words of
/// days, what another file holds, and a key that another one stands in for.
const THESE_TOO: [&str; 35] = [
    "allowances-sieve-loss-nearly-all",
    "date-does-not-exist",
    "ingredient-acidity-backwards",
    "ingredient-density-of-lead",
    "ingredient-figure-outside-its-range",
    "ingredient-too-heavy-for-its-pores",
    "ingredient-water-above-porosity",
    "place-is-a-week",
    "place-missing",
    "place-mix-days-unknown",
    "place-of-the-week-bad",
    "plants-exponent",
    "plants-hexadecimal",
    "rack-without-shelves",
    "recipe-change-for-no-trait",
    "recipe-change-for-nobody",
    "recipe-dose-too-much",
    "recipe-missing",
    "recipe-missing-for-one-sowing",
    "recipe-of-the-week-bad",
    "recipe-parts-not-a-number",
    "recipe-parts-tiny",
    "recipe-parts-too-many-digits",
    "recipe-yield-tiny",
    "season-frost-not-stated",
    "season-frost-on-no-day",
    "season-name-too-long",
    "season-plant-out-30-february",
    "season-plant-out-missing",
    "season-then-without-after",
    "season-weeks-zero",
    "sowings-table-missing",
    "time-zone-unknown",
    "tub-beyond-all",
    "tub-tiny",
];

#[test]
fn what_ships_passes_and_what_is_bad_fails() {
    let verdicts = verdicts();
    let (bad, good): (Vec<_>, Vec<_>) = verdicts.iter().partition(|(file, _)| file.starts_with("tests/corpus/bad/"));
    assert!(good.len() >= 17 && bad.len() >= 170, "{} {}", good.len(), bad.len());
    for (file, passes) in good {
        assert!(passes, "{file}");
    }
    for (file, _) in bad.iter().filter(|(_, passes)| *passes) {
        let name = file.rsplit('/').next().unwrap().strip_suffix(".yaml").unwrap();
        let message = project(&format!("tests/snapshots/bad/{name}-yaml.snap"));
        let code = message.split("error[").nth(1).unwrap().split(']').next().unwrap();
        let is_judged = !BEYOND_A_SCHEMA.contains(&code) && !THESE_TOO.contains(&name);
        assert!(!is_judged, "{file} passes, though its fault is {code}");
    }
}

#[test]
fn each_kind_has_its_schema() {
    for kind in ["week", "recipe", "soak", "stock", "place", "season"] {
        let schema: serde_json::Value = serde_json::from_str(&run(["schema", kind]).result()).unwrap();
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    }
    assert!(run(["schema", "plan"]).refusal().contains("[possible values: week, recipe, soak, stock, place, season]"));
}
