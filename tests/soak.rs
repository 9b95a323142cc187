//! The coir worksheet from its files to its JSON.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use serde_json::Value;
use std::fmt::Write;
use std::path::Path;
use trayful::cli::{Surroundings, run};

fn trayful(arguments: &[&str]) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = ["trayful"].iter().chain(arguments).map(|argument| (*argument).into());
    let code = run(arguments, Surroundings::default(), &mut out, &mut err);
    (code, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

fn json(arguments: &[&str]) -> Value {
    let mut arguments = arguments.to_vec();
    arguments.extend(["--format", "json"]);
    let (code, out, err) = trayful(&arguments);
    assert!(code <= 1, "{err}");
    serde_json::from_str(&out).unwrap()
}

fn with_file<T>(text: &str, test: impl FnOnce(&str) -> T) -> T {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("soak.yaml");
    std::fs::write(&path, text).unwrap();
    test(path.to_str().unwrap())
}

/// A chain of `soak_cases.json` as a soak file.
fn as_file(case: &Value) -> String {
    let mut text = format!("soak: {}\ncoir: {{dry: {} kg}}\nlab:\n", case["id"].as_str().unwrap(), case["dry_kg"]);
    writeln!(text, "  exchange_capacity: {} mol/kg", case["cec_molc_per_kg"]).unwrap();
    writeln!(text, "  holds: {} kg/kg", case["retained_kg_per_kg"]).unwrap();
    text.push_str("  sites: {");
    for (ion, share) in case["beta0"].as_object().unwrap() {
        write!(text, "{ion}: {:.6} %, ", share.as_f64().unwrap() * 100.0).unwrap();
    }
    text.push_str("}\n  soluble: {");
    for (salt, mol) in case["soluble_salts_mol_per_kg"].as_object().unwrap() {
        write!(text, "{salt}: {} mol/kg, ", mol.as_f64().unwrap()).unwrap();
    }
    text.push_str("}\nsteps:\n");
    for step in case["steps"].as_array().unwrap() {
        write!(text, "  - {{do: {}, water: {} L", step["kind"].as_str().unwrap(), step["water_kg"]).unwrap();
        if let Some(salts) = step["salts_mmol_per_kg"].as_object() {
            text.push_str(", salts: {");
            for (salt, mmol) in salts {
                write!(text, "{salt}: {mmol} mmol/L, ").unwrap();
            }
            text.push('}');
        }
        if let Some(mol) = step["gypsum_mol"].as_f64() {
            write!(text, ", gypsum: {mol} mol").unwrap();
        }
        text.push_str("}\n");
    }
    text
}

/// S1 to S6 by PHREEQC 3.7.3 (phreeqpython, phreeqc.dat), through the soak file and the JSON.
#[test]
fn the_six_chains_of_phreeqc_as_files() {
    let cases: Value = serde_json::from_str(include_str!("reference/soak_cases.json")).unwrap();
    for case in cases["cases"].as_array().unwrap() {
        let text = as_file(case);
        let sheet = with_file(&text, |path| json(&["soak", path]));
        let sulfate = text.contains("gypsum") || text.contains("SO4");
        let (sites, ions) = if sulfate { (2e-4, 5e-3) } else { (1e-5, 1e-4) };
        let expected = case["expected"].as_array().unwrap();
        assert_eq!(sheet["steps"].as_array().unwrap().len(), expected.len());
        for (step, wanted) in sheet["steps"].as_array().unwrap().iter().zip(expected) {
            assert_eq!(step["do"], wanted["kind"]);
            for (ion, share) in wanted["beta"].as_object().unwrap() {
                let got = step["sites"][ion].as_f64().unwrap();
                assert!((got - share.as_f64().unwrap()).abs() < sites, "{} {ion}: {got}, PHREEQC {share}", case["id"]);
            }
            for (ion, mmol) in wanted["bath_mmol_per_kg"].as_object().unwrap() {
                let (got, mmol) = (step["bath_mmol_kg"][ion].as_f64().unwrap(), mmol.as_f64().unwrap());
                assert!(
                    (got - mmol).abs() < (ions * mmol).max(if sulfate { 0.05 } else { 1e-3 }),
                    "{ion}: {got}, {mmol}"
                );
            }
            let (got, ec) = (step["ec_ms_cm"].as_f64().unwrap(), wanted["ec_mS_cm"].as_f64().unwrap());
            assert!((got / ec - 1.0).abs() < 0.005, "EC {got}, PHREEQC {ec}");
        }
    }
}

/// The second worked sheet of the project's notes, checked there with PHREEQC: a washed block of 5 kg with
/// tetrahydrate, nothing else said.
#[test]
fn a_washed_block_by_default() {
    let sheet = json(&["soak", "--product", "5 kg block", "--count", "1", "--sold-as", "washed"]);
    let number = |value: &Value| value.as_f64().unwrap();
    assert!((number(&sheet["dry_kg"]) - 4.25).abs() < 1e-12);
    assert!((number(&sheet["salt_g"]["calcium nitrate tetrahydrate"]) - 263.0).abs() < 1.0);
    assert!((number(&sheet["water_l"]) - 200.0).abs() < 0.5);
    assert!((number(&sheet["result"]["monovalent"]) - 0.122).abs() < 1e-3);
    assert!((number(&sheet["result"]["calcium"]) - 0.815).abs() < 1e-3);
    assert!((number(&sheet["result"]["rinse_ec_ms_cm"]) - 0.48).abs() < 5e-3);
    assert!((number(&sheet["waste"]["drain_l"]) - 170.0).abs() < 0.5);
    assert!((number(&sheet["waste"]["nitrate_n_mg_l"]) - 175.0).abs() < 1.0);
    assert_eq!(sheet["result"]["meets_target"], Value::Bool(true));
    assert_eq!(number(&sheet["tub_l"]), 120.0);
    assert_eq!(sheet["start"], Value::Null);
}

/// A stated target is met with the least salt: 51 g of tetrahydrate for each kilogram of dry, washed coir, two soaks.
#[test]
fn a_stated_target_takes_the_least_salt() {
    let sheet = json(&["soak", "--dry", "1 kg", "--sold-as", "washed", "--target", "15 %"]);
    assert!((sheet["salt_g"]["calcium nitrate tetrahydrate"].as_f64().unwrap() - 51.0).abs() < 0.6);
    assert!((sheet["result"]["monovalent"].as_f64().unwrap() - 0.15).abs() < 1e-5);
}

#[test]
fn the_label_s_calcium_wins() {
    let grams = |label: &[&str]| {
        let arguments =
            [&["soak", "--dry", "1 kg", "--sold-as", "washed", "--salt", "calcium nitrate double salt"], label];
        json(&arguments.concat())["salt_g"]["calcium nitrate double salt"].as_f64().unwrap()
    };
    let (formula, label) = (grams(&[]), grams(&["--label-ca", "19 %"]));
    assert!((label / formula - 18.544 / 19.0).abs() < 1e-4, "{formula} {label}");
}

#[test]
fn a_target_out_of_reach_exits_with_one_and_says_what_would_do() {
    let (code, out, _) = trayful(&[
        "soak",
        "--dry",
        "1 kg",
        "--sold-as",
        "none",
        "--salt",
        "gypsum",
        "--target",
        "10 %",
        "--soaks",
        "1",
    ]);
    assert_eq!(code, 1);
    assert!(out.contains("NOT met") && out.contains("soaks"), "{out}");
}

#[test]
fn buffered_coir_needs_no_course() {
    let (code, out, _) = trayful(&["soak", "--dry", "1 kg", "--sold-as", "buffered"]);
    assert_eq!(code, 0);
    assert!(out.contains("no bath is needed"));
    assert_eq!(json(&["soak", "--dry", "1 kg", "--sold-as", "buffered"])["steps"], Value::Array(vec![]));
}

#[test]
fn a_start_in_the_past_is_a_caution_not_a_fault() {
    let arguments = ["soak", "recipes/soaks/spring-coir.yaml", "--now"];
    let (code, out, _) = trayful(&[&arguments[..], &["2027-03-05T00:00:00Z"]].concat());
    assert_eq!(code, 0);
    assert!(out.contains("lies in the past"), "{out}");
    let (_, out, _) = trayful(&[&arguments[..], &["2027-03-01T00:00:00Z"]].concat());
    assert!(!out.contains("lies in the past"), "{out}");
}

/// Soak and rinse, 12 to 24 hours a soak, rinsed after the last one: common practice, no source.
#[test]
fn the_course_is_what_growers_do() {
    let sheet = json(&["soak", "recipes/soaks/spring-coir.yaml"]);
    let steps: Vec<&str> = sheet["steps"].as_array().unwrap().iter().map(|step| step["do"].as_str().unwrap()).collect();
    assert_eq!(steps.first(), Some(&"hydrate"));
    assert_eq!(steps.last(), Some(&"rinse"));
    for step in sheet["steps"].as_array().unwrap().iter().filter(|step| step["do"] == "soak") {
        assert!((12.0..=24.0).contains(&step["hours"].as_f64().unwrap()));
    }
    // 1 + 24 + 24 + 1 + 1 hours, and four drains of half an hour.
    assert_eq!(sheet["start"], "2027-03-04T05:00:00+01:00");
}

/// A week's worksheet is for the coir of all its batches, in whole blocks, the rest shown.
#[test]
fn a_week_soaks_its_own_coir() {
    let plan = json(&["plan", "recipes/weeks/plant-sale-1.yaml"]);
    let coir = plan["totals"]["ingredients"].as_array().unwrap().iter().find(|one| one["name"] == "coir").unwrap();
    let soaked = plan["soak"]["coir_loose_l"].as_f64().unwrap();
    assert!(soaked >= coir["loose_l"].as_f64().unwrap());
    assert_eq!(json(&["soak", "recipes/weeks/plant-sale-1.yaml"]), plan["soak"]);
    let halves = WEEK.replace("washed", "washed, trial: half");
    let whole = with_file(WEEK, |path| json(&["plan", path]))["soak"]["pieces"].as_u64().unwrap();
    let half = with_file(&halves, |path| json(&["plan", path]))["soak"]["pieces"].as_u64().unwrap();
    assert_eq!((whole, half), (4, 2));
    let buffered = with_file(&WEEK.replace("washed", "buffered"), |path| json(&["plan", path]));
    assert_eq!(buffered["soak"]["steps"], Value::Array(vec![]));
    let peat = with_file(&WEEK.replace("use: coir", "use: peat"), |path| json(&["plan", path]));
    assert_eq!(peat["soak"], Value::Null);
}

const WEEK: &str = "week: large\nrecipe: everyday\nuse: coir\nsowings:\n  - {crop: leek, trays: 60, tray: 72-cell}\n\
                    soak: {sold_as: washed, coir: {product: 5 kg block}}\n";

#[test]
fn faults_read_well_and_come_together() {
    let text = "soak: bad\ncoir: {product: a block, count: 0}\nlab: {sites: {Na: 50 %, K: 40 %}, exchange_capacity: -1 mol/kg}\n\
                sold_as: washed\nsalt: calcium nitrat\nhours: 0\nready: 2027-02-30\nsteps:\n  - {do: soak, water: 0 L}\n  \
                - {do: boil, water: 1 L}\n  - {do: soak, water: 1 L, salts: {NaCl: 3 L, CaCl2: 900 mmol/L}}\nsoks: 2\n";
    let (code, _, err) = with_file(text, |path| trayful(&["soak", path]));
    assert_eq!(code, 2);
    for wanted in [
        "does not start with the weight",
        "`0` is zero",
        "exclude each other",
        "`-1 mol/kg` is negative",
        "no salt is called `calcium nitrat`",
        "did you mean `calcium nitrate`?",
        "not a day of the calendar",
        "`0 L` is zero",
        "`boil` is not a choice",
        "`soks` is not a key",
        "did you mean `soaks`?",
    ] {
        assert!(err.contains(wanted), "{wanted}\n{err}");
    }
}

#[test]
fn impossible_coir_and_baths_are_refused() {
    for (text, wanted) in [
        ("lab: {sites: {Na: 50 %, K: 40 %}}", "add up to"),
        ("lab: {exchange_capacity: 90 mol/kg, sites: {K: 100 %}}", "exchange capacity"),
        ("steps: [{do: soak, water: 1 L, salts: {CaCl2: 900 mmol/L}}]", "0.5"),
        ("steps: [{do: soak, water: 1 L, salts: {CaCl2: 3 g, CaCl2: 1 mmol/L}}]", "stands twice"),
        ("steps: []", "no steps"),
        ("salt: KCl", "holds no calcium"),
        ("water: {Xx: 1 mmol/L}", "no ion"),
        ("target: {monovalent: 0.15}", "percent sign"),
    ] {
        let (code, _, err) =
            with_file(&format!("soak: x\ncoir: {{dry: 1 kg}}\n{text}\n"), |path| trayful(&["soak", path]));
        assert_eq!(code, 2, "{text}");
        assert!(err.contains(wanted), "{text}\n{err}");
    }
    let (code, _, err) = with_file("soak: x\n", |path| trayful(&["soak", path]));
    assert!(code == 2 && err.contains("how much coir"), "{err}");
}

/// Gypsum forms where calcium and sulfate meet: PHREEQC gives a saturation index of +0.05 for 40 and 15 mmol/L.
#[test]
fn calcium_with_sulfate_is_warned_of() {
    let text = "soak: x\ncoir: {dry: 1 kg}\nsold_as: washed\nsteps:\n  - {do: hydrate, water: 7 L}\n  \
                - {do: soak, water: 10 L, salts: {Ca(NO3)2: 40 mmol/L, MgSO4: 15 mmol/L}}\n";
    let (code, out, _) = with_file(text, |path| trayful(&["soak", path]));
    assert_eq!(code, 0);
    assert!(out.contains("may form gypsum"), "{out}");
}

#[test]
fn the_shipped_soaks_are_in_order() {
    for entry in std::fs::read_dir(Path::new("recipes/soaks")).unwrap() {
        let path = entry.unwrap().path();
        let path = path.to_str().unwrap();
        assert_eq!(trayful(&["check", path]).0, 0, "{path}");
        for format in ["text", "markdown", "json", "csv", "html"] {
            assert_eq!(trayful(&["soak", path, "--format", format]).0, 0, "{path}");
        }
    }
}
