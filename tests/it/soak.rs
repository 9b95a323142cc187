//! The coir worksheet from its files to its JSON.

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

/// The salt of all steps, before it is rounded to be weighed.
fn weighed(sheet: &Value) -> f64 {
    let steps = sheet["steps"].as_array().unwrap().iter();
    steps.flat_map(|step| step["salt_g"].as_object().unwrap().values()).map(|grams| grams.as_f64().unwrap()).sum()
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

/// S1 to S8 by PHREEQC 3.7.3 (phreeqpython, phreeqc.dat), through the soak file and the JSON.
#[test]
fn the_chains_of_phreeqc_as_files() {
    let cases: Value = serde_json::from_str(include_str!("../reference/soak_cases.json")).unwrap();
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

/// A washed block of 5 kg with tetrahydrate, nothing else said: wetted in its one bath, as S7 of `soak_cases.json` is,
/// with the salt that the target needs (263 g leave .156 there).
#[test]
fn a_washed_block_by_default() {
    let sheet = json(&["soak", "--product", "5 kg block", "--count", "1", "--sold-as", "washed"]);
    let number = |value: &Value| value.as_f64().unwrap();
    assert!((number(&sheet["dry_kg"]) - 4.25).abs() < 1e-12);
    let grams = number(&sheet["salt_g"]["calcium nitrate tetrahydrate"]);
    assert!((263.0..300.0).contains(&grams), "{grams}");
    assert!((number(&sheet["water_l"]) - 157.0).abs() < 0.5);
    assert!((number(&sheet["result"]["monovalent"]) - 0.15).abs() < 1e-6);
    assert!(number(&sheet["result"]["rinse_ec_ms_cm"]) <= 0.8);
    assert_eq!(sheet["result"]["meets_target"], Value::Bool(true));
    assert_eq!(number(&sheet["tub_l"]), 120.0);
    assert_eq!(sheet["start"], Value::Null);
    // What drains and what the coir holds is all the water there was.
    assert!((number(&sheet["waste"]["drain_l"]) + 7.0 * 4.25 - number(&sheet["water_l"])).abs() < 1e-9);
}

/// Wetted with water, two soaks: 51 g of tetrahydrate for each kilogram of dry, washed coir to 15 %.
#[test]
fn what_is_stated_of_a_course_holds() {
    let soak = |more: &str| {
        let text = format!("soak: x\ncoir: {{dry: 1 kg}}\nsold_as: washed\n{more}");
        with_file(&text, |path| json(&["soak", path]))
    };
    let steps = |sheet: &Value| -> Vec<String> {
        sheet["steps"].as_array().unwrap().iter().map(|step| step["do"].as_str().unwrap().to_owned()).collect()
    };
    let sheet = soak("hydrate: water\nsoaks: 2\n");
    assert!((weighed(&sheet) - 51.0).abs() < 0.6);
    assert!((sheet["result"]["monovalent"].as_f64().unwrap() - 0.15).abs() < 1e-5);
    assert_eq!(steps(&sheet), ["hydrate", "soak", "soak", "rinse", "rinse"]);
    assert_eq!(steps(&soak("hydrate: bath\nsoaks: 1\nrinses: 3\n")), ["soak", "rinse", "rinse", "rinse"]);
    let options = ["soak", "--dry", "1 kg", "--sold-as", "washed", "--hydrate", "bath", "--rinses", "3"];
    assert_eq!(steps(&json(&options)), ["soak", "rinse", "rinse", "rinse"]);
    let without = soak("hydrate: bath\nrinses: 0\n");
    assert_eq!(without["result"]["meets_target"], Value::Bool(false));
    assert!(!steps(&without).contains(&"rinse".to_owned()));
    for (odd, wanted) in [("rinses: 5\n", "rinses from 0 to 4"), ("hydrate: milk\n", "water, bath")] {
        let text = format!("soak: x\ncoir: {{dry: 1 kg}}\n{odd}");
        let (code, _, err) = with_file(&text, |path| trayful(&["soak", path]));
        assert!(code == 2 && err.contains(wanted), "{err}");
    }
}

/// No other course that meets the target takes fewer days, or as many with less water, or with as much water less salt.
#[test]
fn the_design_is_the_least_of_all_courses() {
    for (start, salts) in [("sold_as: washed\n", ""), ("sold_as: mild\n", "salt: gypsum\n"), ("sold_as: none\n", "")] {
        let soak = |more: &str| {
            let text = format!(
                "soak: x\ncoir: {{dry: 1 kg}}\n{start}{salts}ready: 2027-03-06 10:00\ntime_zone: Europe/Paris\n{more}"
            );
            let sheet = with_file(&text, |path| json(&["soak", path]));
            let met = sheet["result"]["meets_target"] == Value::Bool(true);
            let day: i64 = sheet["start"].as_str().unwrap()[8..10].parse().unwrap();
            // 6 March less the day in March, or in February of 28 days.
            let days = if sheet["start"].as_str().unwrap().starts_with("2027-02") { 34 - day } else { 6 - day };
            let grams: f64 = sheet["salt_g"].as_object().unwrap().values().filter_map(Value::as_f64).sum();
            let water = (sheet["water_l"].as_f64().unwrap() * 1e6).round();
            met.then_some((days, water, (grams * 1e6).round()))
        };
        let designed = soak("").unwrap();
        let wettings = if start.contains("none") { &["water"][..] } else { &["water", "bath"] };
        for wetting in wettings {
            for (soaks, rinses) in (1..4).flat_map(|soaks| (0..5).map(move |rinses| (soaks, rinses))) {
                let other = soak(&format!("hydrate: {wetting}\nsoaks: {soaks}\nrinses: {rinses}\n"));
                assert!(
                    other.is_none_or(|other| designed <= other),
                    "{designed:?} {other:?} {wetting} {soaks} {rinses}"
                );
            }
        }
    }
}

/// The trade's rule on washed coir: 200 L of 8 g/L for a cubic metre, 13 L and 104 g for the 65 L of a block, leave
/// about .31 (S8 of `soak_cases.json`, PHREEQC).
#[test]
fn courses_stand_side_by_side() {
    let options = ["soak", "--product", "5 kg block", "--count", "1", "--sold-as", "washed", "--compare"];
    let sheet = json(&options);
    let course = |name: &str| {
        let courses = sheet["courses"].as_array().unwrap();
        courses.iter().find(|course| course["course"] == name).unwrap().clone()
    };
    let number = |value: &Value| value.as_f64().unwrap();
    let trade = course("the trade's 8 g/L");
    assert!((number(&trade["monovalent"]) - 0.31).abs() < 0.005, "{trade}");
    assert!((number(&trade["salt_g"]["calcium nitrate double salt"]) - 104.0).abs() < 0.1);
    assert!((number(&trade["water_l"]) - (29.75 + 13.0 + 85.0)).abs() < 1e-9);
    let wetted = course("wetted only");
    assert!((number(&wetted["monovalent"]) - 0.70).abs() < 0.005 && number(&wetted["nitrogen_g"]) == 0.0);
    assert_eq!(number(&course("as designed here")["monovalent"]), number(&sheet["result"]["monovalent"]));
    assert!(number(&wetted["days"]) <= number(&course("as designed here")["days"]));
    // Washed coir is taken as raw, and may be partly treated as mild coir is.
    let mild = json(&["soak", "--dry", "1 kg", "--sold-as", "mild", "--compare"])["courses"][0].clone();
    let [low, high] = [0, 1].map(|end| number(&wetted["monovalent_range"][end]));
    assert!(low <= number(&mild["monovalent"]) + 0.01 && high >= number(&wetted["monovalent"]), "{wetted} {mild}");
    // Each course once: the one designed is wetted in its bath, with its own salt.
    let names: Vec<&str> =
        sheet["courses"].as_array().unwrap().iter().map(|one| one["course"].as_str().unwrap()).collect();
    assert_eq!(names.len(), 2 + sheet["compared"].as_array().unwrap().len(), "{names:?}");
    assert!(
        !names.contains(&"wetted in its bath") && !names.contains(&"with calcium nitrate tetrahydrate"),
        "{names:?}"
    );
    let (_, csv, _) = trayful(&[&options[..], &["--format", "csv"]].concat());
    assert_eq!(csv.lines().count() - 1, sheet["courses"].as_array().unwrap().len());
    assert!(csv.contains("the trade's 8 g/L,"), "{csv}");
    let (_, out, _) = trayful(&options);
    assert!(out.contains("COURSES SIDE BY SIDE") && out.contains("part of a mix"), "{out}");
    // Only washed coir is offered as it is.
    let (_, out, _) = trayful(&["soak", "--dry", "1 kg", "--sold-as", "none"]);
    assert!(!out.contains("part of a mix"), "{out}");
}

/// A week's soak is compared like any other, own steps stand among the courses, and no word is cut in either system.
#[test]
fn weeks_and_own_steps_are_compared() {
    let own = "soak: x\ncoir: {count: 1}\nsold_as: washed\nsteps:\n  - {do: hydrate, water: 60 L}\n  \
               - {do: soak, water: 90 L, salts: {CaCl2: 9 mmol/L}}\n";
    let sheet = with_file(own, |path| json(&["soak", path, "--compare"]));
    let courses = sheet["courses"].as_array().unwrap();
    let steps = courses.iter().find(|course| course["course"] == "your own steps").unwrap();
    assert_eq!((&steps["monovalent"], &steps["water_l"]), (&sheet["result"]["monovalent"], &150.0.into()));
    let week = with_file(WEEK, |path| json(&["soak", path, "--compare"]));
    let designed =
        week["courses"].as_array().unwrap().iter().find(|course| course["course"] == "as designed here").unwrap();
    assert_eq!(designed["salt_g"], week["salt_g"]);
    let unsaid = with_file(&WEEK.replace("soak:", "#"), |path| trayful(&["soak", path, "--compare"]));
    assert!(unsaid.0 == 2 && unsaid.2.contains("`soak: {sold_as: none}` (or washed"), "{}", unsaid.2);
    let (_, us, _) = with_file(WEEK, |path| trayful(&["soak", path, "--compare", "--units", "us"]));
    let salts = us.split("COURSES SIDE").nth(1).unwrap();
    assert!(salts.contains("dihydrate\n") && salts.contains("hexahydrate\n"), "{us}");
    assert!(us.lines().all(|line| line.len() <= 80), "{us}");
}

#[test]
fn the_label_s_calcium_wins() {
    let grams = |label: &[&str]| {
        let arguments =
            [&["soak", "--dry", "1 kg", "--sold-as", "washed", "--salt", "calcium nitrate double salt"], label];
        weighed(&json(&arguments.concat()))
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
    assert!(
        out.contains("no bath is needed") && out.contains("raises dust") && out.contains("lift small loads"),
        "{out}"
    );
    assert!(!out.contains("salt's label"), "{out}");
    assert_eq!(json(&["soak", "--dry", "1 kg", "--sold-as", "buffered"])["steps"], Value::Array(vec![]));
    let vain = "so `hydrate:`, `soaks:` and `rinses:` do nothing";
    let (_, stated, _) = trayful(&["soak", "--dry", "1 kg", "--sold-as", "buffered", "--soaks", "1"]);
    assert!(!out.contains(vain) && stated.split_whitespace().collect::<Vec<_>>().join(" ").contains(vain), "{stated}");
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
    assert!(matches!(steps.first(), Some(&("hydrate" | "soak"))));
    assert_eq!(steps.last(), Some(&"rinse"));
    for step in sheet["steps"].as_array().unwrap().iter().filter(|step| step["do"] == "soak") {
        assert!((12.0..=24.0).contains(&step["hours"].as_f64().unwrap()));
    }
    // 24 + 24 + 1 + 1 hours, and four drains of half an hour, twice over: the tub takes half of the coir. The first
    // rinse of the second run waits for the morning.
    assert_eq!(sheet["runs"], 2);
    assert_eq!(sheet["start"], "2027-03-01T16:00:00+01:00");
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
    // A trial buys as much and soaks what half of the batches take.
    let soak = |week: &str| with_file(week, |path| json(&["plan", path]))["soak"].clone();
    let (whole, half) = (soak(WEEK), soak(&halves));
    assert_eq!((whole["pieces"].as_u64(), half["pieces"].as_u64()), (Some(3), Some(3)));
    let need =
        with_file(WEEK, |path| json(&["plan", path]))["purchases"]["lines"].as_array().unwrap()[0]["need_l"].clone();
    let number = |value: &Value| value.as_f64().unwrap();
    // Weighed to 0.1 kg as bought, 1.3 L.
    let more = number(&half["coir_loose_l"]) - number(&need) / 2.0;
    assert!((0.0..1.3).contains(&more), "{half} {need}");
    assert!((number(&half["dry_kg"]) / 0.085).fract().min(1.0 - (number(&half["dry_kg"]) / 0.085).fract()) < 1e-6);
    // As much is only wetted, with what the mix wants: 3 to 5 L for a kilogram as bought.
    assert!((number(&half["straight_dry_kg"]) - number(&half["dry_kg"])).abs() < 1e-9);
    let wet_l = number(&half["wet_with_l"][0]) / (number(&half["straight_dry_kg"]) / 0.85);
    assert!((3.0..=5.0).contains(&wet_l) && whole["straight_dry_kg"].is_null(), "{half}");
    let (_, words, _) = said("plan", &halves);
    assert!(words.split_whitespace().collect::<Vec<_>>().join(" ").contains("wet it with 20.4 L."), "{words}");
    assert!((number(&half["dry_kg"]) / number(&half["coir_loose_l"]) - 4.25 / 65.0).abs() < 1e-12);
    let (_, words, _) = said("soak", &halves);
    assert!(words.contains(" kg of 3 x 5 kg block: "), "{words}");
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

/// Writes a week or soak, gives what a command says of it: exit code, output, messages.
fn said(command: &str, text: &str) -> (u8, String, String) {
    with_file(text, |path| trayful(&[command, path]))
}

/// One tub for four blocks: the runs follow each other, the last ends when the coir must be ready.
#[test]
fn several_runs_follow_each_other() {
    let soak = |tub: &str| {
        format!(
            "soak: large\ncoir: {{product: 5 kg block, count: 2}}\nsold_as: washed\nready: 2027-03-06 10:00\n\
             time_zone: Europe/Paris\nhydrate: water\nsoaks: 2\nrinses: 2\ntub: {tub}\n"
        )
    };
    let once = with_file(&soak("400 L"), |path| json(&["soak", path]));
    let twice = with_file(&soak("120 L"), |path| json(&["soak", path]));
    assert_eq!((&once["runs"], &twice["runs"]), (&Value::from(1), &Value::from(2)));
    // 1 + 24 + 24 + 1 + 1 hours and four drains of half an hour are 53 hours, twice; the rinse begun at 21:00 drains at
    // 08:00, ten hours later than it might.
    assert_eq!(once["start"], "2027-03-03T19:00:00+01:00");
    assert_eq!(twice["start"], "2027-03-01T14:00:00+01:00");
    assert_eq!(twice["run_times"][0]["ends"], twice["run_times"][1]["begins"]);
    assert_eq!(twice["run_times"][1]["begins"], once["start"]);
    assert_eq!(twice["run_times"][1]["ends"], twice["ready"]);
    let stale = |sheet: &Value| sheet["cautions"].to_string().contains("of the first waits");
    assert!(!stale(&once) && !stale(&twice));
    // The coir of the first of three waits twice 53 hours: more than about three days (common practice, no source).
    let thrice = with_file(&soak("80 L"), |path| json(&["soak", path]));
    assert_eq!(thrice["runs"], 3);
    assert!(stale(&thrice), "{}", thrice["cautions"]);
    let (_, out, _) = said("soak", &soak("120 L"));
    let runs: Vec<&str> = out.lines().filter(|line| line.contains("Wed 3 Mar 19:00")).collect();
    assert_eq!(runs.len(), 2, "{out}");
    assert!(out.contains("The runs follow") && out.contains("steps of each run"), "{out}");
}

#[test]
fn a_tub_far_too_small_is_refused() {
    for command in ["soak", "check"] {
        let soak = |tub: &str| said(command, &format!("soak: x\ncoir: {{count: 2}}\nsold_as: washed\ntub: {tub}\n"));
        assert_eq!(soak("20 L").0, 0);
        for (tub, wanted) in [("0.5 L", "the tub is too small"), ("0.01 L", "a tub holds 0.1 L")] {
            let (code, _, err) = soak(tub);
            assert!(code == 2 && err.contains(wanted), "{err}");
        }
    }
    // In a week it is a caution of the plan, and no worksheet is printed.
    let (tub, wanted) = ("0.5 L", "the tub is too small");
    let week = WEEK.replace("washed,", &format!("washed, tub: {tub},"));
    let (code, out, _) = said("plan", &week);
    assert!(code == 0 && out.contains("cannot be worked out") && out.contains(wanted), "{out}");
    let (code, out, err) = said("soak", &week);
    assert!(code == 2 && out.is_empty() && err.contains(wanted) && !err.contains("holds no coir"), "{err}");
    // `check` does what `plan` does, and tells what `soak` will say.
    let (code, out, err) = said("check", &week);
    assert!(code == 0 && out.contains("is in order, but `trayful soak` refuses it: ") && err.is_empty(), "{err}");
    assert!(out.contains(wanted), "{out}");
}

const DATED: &str = "week: dated\nrecipe: everyday\nuse: coir\nmix_on: 2027-03-06 10:00\ntime_zone: America/New_York\n\
                     sowings:\n  - {crop: leek, trays: 8, tray: 72-cell}\nsoak: {sold_as: washed, coir: {product: 5 kg block}, ready: 2027-03-05 10:00}\n";

#[test]
fn the_zone_of_a_week_holds_for_its_soak() {
    let ready = |text: &str| with_file(text, |path| json(&["plan", path]))["soak"]["ready"].clone();
    assert_eq!(ready(DATED), "2027-03-05T10:00:00-05:00");
    let own = DATED.replace("washed,", "washed, time_zone: Europe/Paris,");
    assert_eq!(ready(&own), "2027-03-05T10:00:00+01:00");
}

#[test]
fn coir_that_is_ready_after_the_mix_is_cautioned() {
    let late = DATED.replace("ready: 2027-03-05 10:00", "ready: 2027-03-06 10:30");
    for command in ["plan", "soak"] {
        assert!(!said(command, DATED).1.contains("after the time to mix"));
        let (code, out, _) = said(command, &late);
        assert!(code == 0 && out.contains("after the time to mix"), "{out}");
    }
}

/// Clocks go forward in the EU on 28 March 2027 at 01:00 UTC (Directive 2000/84/EC).
#[test]
fn times_that_clocks_skip_are_faults() {
    let week = |from: &str, to: &str| DATED.replace("America/New_York", "Europe/Paris").replace(from, to);
    let soak = "soak: x\ncoir: {count: 1}\ntime_zone: Europe/Paris\nready: 2027-03-28 02:30\n";
    for text in [&week("2027-03-06 10:00", "2027-03-28 02:30"), &week("2027-03-05 10:00", "2027-03-28 02:30"), soak] {
        let (code, _, err) = said("check", text);
        assert!(code == 2 && err.contains("skipped when clocks go forward"), "{err}");
        assert!(err.contains("error[date]"), "{err}");
        assert_eq!(said("check", &text.replace("02:30", "03:30")).0, 0);
    }
}

/// Every fault of the options at once, each under its option and with what stands there.
#[test]
fn faults_of_options_name_the_option() {
    let arguments = "soak --product block --count 2 --sold-as wasched --target 0.15 --tub 30 --hours 0";
    let (code, out, err) = trayful(&arguments.split(' ').collect::<Vec<_>>());
    assert!(code == 2 && out.is_empty());
    for (option, text) in
        [("product", "block"), ("sold-as", "wasched"), ("target", "0.15"), ("tub", "30"), ("hours", "0")]
    {
        let quoted = format!(" --> --{option}:1:1\n  |\n1 | {text}\n  | {} expected ", "^".repeat(text.len()));
        assert!(err.contains(&quoted), "{quoted}\n{err}");
    }
    assert_eq!(err.matches("error[").count(), 5, "{err}");
    // What would be syntax in a file is a value like any other.
    for odd in ["\"", "a: b", "{", "#", "a\nsoaks: 9"] {
        let (code, _, err) = trayful(&["soak", "--dry", "1 kg", "--salt", odd]);
        assert!(code == 2 && err.contains("error[unknown-salt]") && err.contains(" --> --salt:1:1"), "{odd}\n{err}");
    }
}

#[test]
fn an_offset_in_ready_is_refused() {
    let (code, _, err) = trayful(&["soak", "--dry", "1 kg", "--ready", "2027-03-06 10:00+05:00"]);
    assert!(code == 2 && err.contains("`+05:00` is an offset") && err.contains("time_zone: America/New_York"), "{err}");
}

#[test]
fn what_the_steps_leave_no_say_is_a_conflict() {
    let steps = "steps: [{do: hydrate, water: 7 L}]\n";
    for key in ["soaks: 3", "hours: 12", "particles: 3 mm", "salt: calcium chloride dihydrate", "label_ca: 19 %"] {
        let (code, _, err) = said("soak", &format!("soak: x\ncoir: {{dry: 1 kg}}\n{steps}{key}\n"));
        assert!(code == 2 && err.contains("exclude each other"), "{key}\n{err}");
    }
    let (code, _, err) = said("soak", "soak: x\ncoir: {dry: 1 kg}\ntrial: half\n");
    assert!(code == 2 && err.contains("error[conflict]") && err.contains("belongs in a week"), "{err}");
}

#[test]
fn a_soak_without_coir_in_the_mix_is_noted() {
    let noted =
        |text: &str| with_file(text, |path| json(&["plan", path]))["notes"].to_string().contains("holds no coir");
    assert!(!noted(WEEK));
    assert!(noted(&WEEK.replace("use: coir", "use: peat")));
}

#[test]
fn buffered_coir_has_a_result_and_no_waste() {
    let sheet = json(&["soak", "--dry", "1 kg", "--sold-as", "buffered"]);
    assert_eq!(sheet["result"]["meets_target"], true);
    assert_eq!(sheet["result"]["sodium"], Value::Null);
    assert_eq!(sheet["waste"]["drain_l"], 0.0);
}

/// Half of every amount with soaked coir, half with coir that is only wetted; nothing more and nothing less.
#[test]
fn a_trial_makes_two_batches() {
    let week = WEEK.replace("recipe:", "mix_on: 2027-03-06 10:00\nrecipe:");
    let trial = week.replace("washed,", "washed, trial: half,");
    let (whole, halves) =
        (with_file(&week, |path| json(&["plan", path])), with_file(&trial, |path| json(&["plan", path])));
    assert_eq!((&halves["soak"]["trial"], &whole["soak"]["trial"]), (&"half".into(), &Value::Null));
    let batches = |plan: &Value| plan["batches"].as_array().unwrap().clone();
    let with_coir = |batch: &&Value| batch["ingredients"].to_string().contains("coir");
    let before: Vec<Value> = batches(&whole).iter().filter(with_coir).cloned().collect();
    let pairs: Vec<Value> = batches(&halves).into_iter().filter(|batch| !batch["half"].is_null()).collect();
    assert!(!before.is_empty() && pairs.len() == 2 * before.len());
    let litres = |value: &Value| value.as_f64().unwrap();
    for (batch, pair) in before.iter().zip(pairs.chunks(2)) {
        assert_eq!((&pair[0]["half"], &pair[1]["half"]), (&"buffered".into(), &"straight".into()));
        assert_eq!(pair[0]["name"], format!("{}, buffered", batch["name"].as_str().unwrap()));
        for half in pair {
            for key in ["mix_l", "loose_l", "cells_l"] {
                assert!((2.0 * litres(&half[key]) - litres(&batch[key])).abs() < 1e-9, "{key}");
            }
            for (list, amount) in [("ingredients", "loose_l"), ("doses", "grams")] {
                for (part, all) in half[list].as_array().unwrap().iter().zip(batch[list].as_array().unwrap()) {
                    assert!((2.0 * litres(&part[amount]) - litres(&all[amount])).abs() < 1e-9, "{list}");
                }
            }
        }
    }
    assert_eq!(halves["totals"]["mix_l"], whole["totals"]["mix_l"]);
    // Only wetted, a load of the same size holds less water and weighs less.
    let wet: Vec<f64> = halves["mixing"]["batches"]
        .as_array()
        .unwrap()
        .iter()
        .map(|made| litres(&made["loads"][0]["wet_kg"]))
        .collect();
    assert!(wet[0] > 1.1 * wet[1], "{wet:?}");
    let (_, out, _) = said("plan", &trial);
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        out.contains("`buffered` with the soaked coir") && out.matches("Fills 30 x 72-cell leek.").count() == 2,
        "{out}"
    );
    // The other half is wetted the day before, and that is told once.
    let calendar = |plan: &Value| plan["calendar"].to_string().matches("wet the coir for `straight`").count();
    assert_eq!((calendar(&halves), calendar(&whole)), (1, 0));
    assert_eq!(out.matches("only wetted").count(), 2, "{out}");
    // Coir that gets no bath has no two halves.
    let (code, _, err) = said("plan", &WEEK.replace("washed,", "buffered, trial: half,"));
    assert!(code == 2 && err.contains("nothing to compare"), "{err}");
}

/// No step is without hours: those that say none take one on the clock.
#[test]
fn steps_have_hours() {
    for arguments in [&["soak", "--dry", "1 kg"][..], &["soak", "recipes/soaks/own-course.yaml"]] {
        for step in json(arguments)["steps"].as_array().unwrap() {
            assert!(step["hours"].as_f64().unwrap() >= 1.0, "{step}");
        }
    }
}

#[test]
fn bare_quarts_and_gallons_are_remarked_on() {
    let soak = "soak: x\ncoir: {loose: 4 qt}\nsold_as: washed\nsteps: [{do: hydrate, water: 2 gal}]\n";
    let notes = with_file(soak, |path| json(&["soak", path]))["notes"].to_string();
    assert!(notes.contains("bare `qt`") && notes.contains("bare `gal`"), "{notes}");
    let tub = "soak: x\ncoir: {dry: 1 kg}\ntub: 30 gal\n";
    assert!(with_file(tub, |path| json(&["soak", path]))["notes"].to_string().contains("bare `gal`"));
    let week = WEEK.replace("washed,", "washed, tub: 30 gal,");
    assert!(with_file(&week, |path| json(&["plan", path]))["notes"].to_string().contains("bare `gal`"));
}

/// A soak and a week from standard input, which can be read once only.
#[test]
fn standard_input_is_read_once() {
    use std::io::Write as _;
    use std::process::{Command, Stdio};
    let soak = "soak: x\ncoir: {dry: 1 kg}\nsold_as: washed\n";
    for text in [soak, WEEK] {
        let mut child = Command::new(env!("CARGO_BIN_EXE_trayful"))
            .args(["soak", "-"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(0));
        assert_eq!(String::from_utf8(output.stdout).unwrap(), said("soak", text).1);
    }
}

/// What there is to do by the calendar of a week.
fn calendar(text: &str) -> Vec<(String, String)> {
    let plan = with_file(text, |path| json(&["plan", path]));
    let word = |value: &Value| value.as_str().unwrap().to_owned();
    plan["calendar"].as_array().unwrap().iter().map(|entry| (word(&entry["at"]), word(&entry["do"]))).collect()
}

#[test]
fn the_calendar_carries_runs() {
    let of = |tub: &str| calendar(&DATED.replace("washed,", &format!("washed, tub: {tub},")));
    let runs = |tub: &str| of(tub).into_iter().filter(|(_, what)| what.starts_with("run ")).collect::<Vec<_>>();
    assert_eq!(runs("1000 L").len(), 0);
    let two = runs("30 L");
    assert!(two.iter().any(|(_, what)| what == "run 1 of 2: wet the coir in its calcium bath"), "{two:?}");
    assert!(two.iter().any(|(_, what)| what == "run 2 of 2: rinse the coir"), "{two:?}");
    let many = runs("15 L");
    // All steps of all runs, up to 60.
    let starts = many.iter().filter(|(_, what)| what.ends_with(": wet the coir in its calcium bath")).count();
    assert!(starts > 2 && many.len() == 3 * starts, "{many:?}");
    let hundreds = runs("1 L");
    assert!(
        hundreds.len() * 3 > 60 && hundreds[1..].iter().all(|(_, what)| what.ends_with("bath, then the same 2 steps")),
        "{hundreds:?}"
    );
    assert!(hundreds[0].1.ends_with("in its calcium bath, then rinse and rinse by the worksheet"), "{hundreds:?}");
}

/// Lime takes about a week to act, and goes into wet peat (common practice, no source). Neither is owed: only what
/// must be done can be late.
#[test]
fn peat_is_wet_before_it_is_limed() {
    let week = "week: w\nrecipe: everyday\nuse: peat\nmix_on: 2027-03-16 10:00\ntime_zone: UTC\nsowings:\n  \
                - {crop: leek, trays: 8, tray: 72-cell}\n";
    let entries = calendar(week);
    assert_eq!(entries[0].0, "2027-03-08T10:00:00+00:00");
    assert_eq!(entries[1].0, "2027-03-09T10:00:00+00:00");
    let plan = with_file(week, |path| json(&["plan", path]));
    let of = |list: &str| plan["batches"][0][list].as_array().unwrap().clone();
    let peat = of("ingredients").into_iter().find(|part| part["name"] == "peat").unwrap()["loose_l"].as_f64().unwrap();
    let lime = of("doses").into_iter().find(|dose| dose["name"] == "lime").unwrap()["grams"].as_f64().unwrap();
    let up = |amount: f64| (amount * 10.0).ceil() / 10.0;
    let what = format!("now mix {} g of lime into the wetted {} L of peat for batch 1", up(lime), up(peat));
    assert!(entries[1].1.contains(&what), "{what}: {entries:?}");
    // A litre of peat, 110 g dry with 45 g of water as it comes, wants 110 x 55/45 g (of the table, and 55 % of memory).
    let peat_water = peat * (110.0 * 55.0 / 45.0 - 45.0) / 1000.0;
    let what = format!(
        "wet the peat to be limed, measured as bought, with warm water: {} L with {} L for batch 1",
        up(peat),
        up(peat_water)
    );
    assert!(entries[0].1.contains(&what), "{what}: {entries:?}");
    // Where that was passed over, the peat is wetted for the mix, and the bench says when the lime stays out.
    assert_eq!(entries[2].0, "2027-03-15T19:00:00+00:00");
    assert!(entries[2].1.starts_with("wet the peat that is not limed yet"), "{entries:?}");
    let sheet = |now: &str| {
        let (_, out, _) = with_file(week, |path| trayful(&["plan", path, "--now", now]));
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(
        sheet("2027-03-01T00:00:00Z")
            .contains("If the lime has been in the peat since Tue 9 Mar, leave out the lime and the")
    );
    let warned =
        |now: &str| ["was due", "too late to lime the peat a week ahead"].map(|words| sheet(now).contains(words));
    assert_eq!(warned("2027-03-09T00:00:00Z"), [false, false]);
    assert_eq!(warned("2027-03-12T00:00:00Z"), [false, true]);
    assert_eq!(warned("2027-03-16T11:00:00Z"), [true, true]);
    // What is past is no box to tick: it is for today, or falls away on the day of the mix.
    let late = sheet("2027-03-12T08:30:00Z");
    assert!(late.contains("[ ] Fri 12 Mar 09:00: better: wet the peat") && late.contains("since Fri 12 Mar"), "{late}");
    let last = sheet("2027-03-16T08:00:00Z");
    assert!(!last.contains("better: ") && !last.contains("leave out the lime"), "{last}");
}

#[test]
fn the_calendar_tells_sown_from_potted_on() {
    let week = "week: w\nrecipe: everyday\nmix_on: 2027-03-16\ntime_zone: UTC\n\
                crops: {moonwort: {family: Asteraceae}}\nsowings:\n  - {crop: tomato, trays: 1, tray: 72-cell}\n  \
                - {crop: tomato, potted: 40, tray: 9 cm pot}\n  - {crop: moonwort, cells: 20, tray: 72-cell}\n";
    let plan = with_file(week, |path| json(&["plan", path]));
    let calendar = plan["calendar"].to_string();
    assert!(calendar.contains("feed the potted-on tomato") && calendar.contains("first feed"), "{calendar}");
    let notes = plan["notes"].to_string();
    assert!(notes.contains("No days to emergence are known of moonwort: write its `emerges: 7-14`"), "{notes}");
    let two = week
        .replace("crops: {", "crops: {sunwort: {family: Asteraceae}, ")
        .replace("sowings:\n", "sowings:\n  - {crop: sunwort, cells: 20, tray: 72-cell}\n");
    let (_, sheet, _) = with_file(&two, |path| trayful(&["plan", path, "--only", "afterwards"]));
    let sheet = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(sheet.contains("known of sunwort and moonwort: write `emerges: 7-14` of each under `crops:`."), "{sheet}");
    let (_, sheet, _) = with_file(week, |path| trayful(&["plan", path, "--only", "afterwards"]));
    let row = |name: &str| sheet.lines().find_map(|line| line.strip_prefix(name)).unwrap().trim().to_owned();
    // What is potted on has come up long since.
    assert_eq!(row("tomato, potted on"), "1 Apr");
    assert!(row("tomato ").starts_with("22 Mar"), "{sheet}");
    assert!(sheet.split_whitespace().collect::<Vec<_>>().join(" ").contains("are known of moonwort:"), "{sheet}");
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

/// Wet coir keeps about three days, so being ready twelve days early is no help.
#[test]
fn coir_that_is_ready_long_before_the_mix_is_told() {
    let week = WEEK.replace("recipe: everyday", "mix_on: 2027-03-20 09:00\ntime_zone: Europe/Paris\nrecipe: everyday");
    let early = week.replace("sold_as: washed,", "sold_as: washed, ready: 2027-03-08 09:00,");
    let cautions = |week: &str| with_file(week, |path| json(&["plan", path]))["cautions"].to_string();
    assert!(cautions(&early).contains("Soaked coir would wait 12 days"), "{}", cautions(&early));
    assert!(!cautions(&week).contains("Soaked coir would wait"), "{}", cautions(&week));
}

/// Safety data sheets for CAS 13477-34-4 (published): every calcium nitrate, and the chlorides alike, whether the
/// worksheet or the plan of a week tells of the bath.
#[test]
fn salts_that_may_hurt_the_eyes_say_so() {
    for salt in [
        "Ca(NO3)2",
        "calcium nitrate",
        "calcium nitrate tetrahydrate",
        "5Ca(NO3)2.NH4NO3",
        "calcium nitrate double salt",
        "CaCl2",
        "calcium chloride dihydrate",
        "calcium chloride hexahydrate",
    ] {
        let week = WEEK.replace("washed,", &format!("washed, salt: {salt},"));
        for command in ["plan", "soak"] {
            let cautions = with_file(&week, |path| json(&[command, path]))["cautions"].to_string();
            assert_eq!(
                cautions.matches("serious eye damage is possible: wear goggles").count(),
                1,
                "{salt} {cautions}"
            );
        }
    }
    let gypsum = with_file(&WEEK.replace("washed,", "washed, salt: gypsum,"), |path| json(&["plan", path]));
    assert!(!gypsum["cautions"].to_string().contains("eye damage"));
}

/// A bag marked 15.5-0-0 is the double salt (common practice).
#[test]
fn calcium_nitrate_by_its_bag_is_the_double_salt() {
    let sheet = json(&["soak", "--dry", "1 kg", "--sold-as", "washed", "--salt", "calcium nitrate"]);
    let named: Vec<&String> = sheet["salt_g"].as_object().unwrap().keys().collect();
    assert_eq!(named, ["calcium nitrate double salt"]);
    assert!(sheet["notes"].to_string().contains("15.5-0-0"));
}

/// Whatever needs hands begins while somebody is there; a bath waits longer for that, never shorter.
#[test]
fn steps_keep_to_the_hours_of_a_person() {
    let week = DATED.replace("sowings:", "awake: {weekdays: 18:00-20:00, weekends: 08:00-20:00}\nsowings:");
    let steps = |text: &str| {
        let soak = with_file(text, |path| json(&["plan", path]))["soak"].clone();
        let steps = soak["run_times"][0]["steps"].as_array().unwrap().clone();
        let begins = steps.iter().map(|step| step["begins"].as_str().unwrap()[11..16].to_owned()).collect::<Vec<_>>();
        let hours = steps.iter().map(|step| step["hours"].as_f64().unwrap()).collect::<Vec<_>>();
        (begins, hours, soak["steps"].clone())
    };
    let saturday = week.replace("ready: 2027-03-05 10:00", "ready: 2027-03-06 10:00");
    let (begins, hours, course) = steps(&saturday);
    for (begin, (hours, step)) in begins.iter().zip(hours.iter().zip(course.as_array().unwrap())) {
        assert!(("08:00".."20:01").contains(&begin.as_str()), "{begin}");
        let least = step["hours"].as_f64().unwrap();
        let most = if step["do"] == "soak" { 48.0 } else { 12.0 };
        assert!((least..=most).contains(hours), "{hours} {step}");
    }
    let unless_stated = steps(&DATED.replace("ready: 2027-03-05 10:00", "ready: 2027-03-06 10:00")).0;
    assert_ne!(begins, unless_stated);
    // What a soak says itself wins.
    assert_eq!(steps(&saturday.replace("washed,", "washed, awake: 07:00-21:00,")).0, unless_stated);
}

/// What is weighed out for each bath of each run is what is to be ready, in the text and in JSON.
#[test]
fn the_salt_is_the_sum_of_what_is_weighed() {
    let weighed = |arguments: &[&str], system: &str| {
        let sheet = json(arguments);
        let (_, out, _) = trayful(&[arguments, &["--units", system]].concat());
        let unit = if system == "us" { " oz" } else { " g" };
        let weight =
            |words: &str| words.split(unit).next().unwrap().rsplit(' ').next().unwrap().parse::<f64>().unwrap();
        let baths =
            out.lines().filter(|line| line.contains(" soak ") && line.contains(&format!("{unit} "))).map(weight);
        let total = weight(out.split("Have ready: ").nth(1).unwrap());
        assert!((baths.sum::<f64>() * sheet["runs"].as_f64().unwrap() - total).abs() < 1e-9, "{out}");
        (sheet["salt_g"]["calcium nitrate tetrahydrate"].as_f64().unwrap(), total)
    };
    for tub in ["20 L", "60 L", "400 L"] {
        let soak = format!(
            "soak: x\ncoir: {{product: 5 kg block, count: 1}}\nsold_as: washed\nhydrate: water\nsoaks: 2\ntub: {tub}\n"
        );
        let (json, text) = with_file(&soak, |path| weighed(&["soak", path], "metric"));
        assert!((json - text).abs() < 1e-9);
    }
    for dry in ["4 g", "40 g", "400 g", "1 kg"] {
        for system in ["metric", "us"] {
            weighed(&["soak", "--dry", dry, "--sold-as", "none", "--soaks", "3"], system);
        }
    }
}

/// What lies loose in a bag can stay there, however little that is.
#[test]
fn of_loose_coir_no_more_is_bathed_than_is_weighed_out() {
    let folder = tempfile::tempdir().unwrap();
    for at_hand in ["3.5 L", "8 L"] {
        std::fs::write(folder.path().join("s.yaml"), format!("stock: s\non_hand: {{coir: {at_hand}}}\n")).unwrap();
        let week = folder.path().join("w.yaml");
        std::fs::write(&week, DATED.replace("trays: 8", "trays: 1") + "stock: s.yaml\n").unwrap();
        let plan = json(&["plan", week.to_str().unwrap()]);
        // 2.2 L of it are needed; 0.2 kg give 2.6 L.
        assert!((plan["soak"]["coir_loose_l"].as_f64().unwrap() - 2.6).abs() < 1e-9, "{}", plan["soak"]);
    }
}

/// What the batches take is bathed, by weight; a block of which less than a tenth would stay dry is taken whole.
#[test]
fn a_week_bathes_what_its_batches_take() {
    let number = |value: &Value| value.as_f64().unwrap();
    for (trays, kg) in [(1, 0.2), (8, 1.6), (23, 4.4), (24, 5.0), (26, 5.0), (30, 5.8)] {
        let week = DATED.replace("trays: 8", &format!("trays: {trays}"));
        let plan = with_file(&week, |path| json(&["plan", path]));
        let line = &plan["purchases"]["lines"][0];
        let (soaked, dry) = (number(&plan["soak"]["coir_loose_l"]), number(&plan["soak"]["stays_dry_l"]));
        assert!(
            (number(&plan["soak"]["dry_kg"]) - kg * 0.85).abs() < 1e-9 && (soaked - kg * 13.0).abs() < 1e-9,
            "{plan}"
        );
        assert!(
            soaked >= number(&line["need_l"])
                && (number(&line["need_l"]) + number(&line["left_over_l"]) - soaked - dry).abs() < 1e-9
        );
        // 22.2 g of salt and 31.5 L of water a kilogram, whatever is opened.
        let water = number(&plan["soak"]["water_l"]) / number(&plan["soak"]["dry_kg"]);
        assert!((water / 37.0 - 1.0).abs() < 0.01, "{water}");
    }
    // Of a brick 50 g would stay: it is taken whole.
    let bricks = with_file(&DATED.replace("5 kg block", "650 g brick").replace("trays: 8", "trays: 3"), |path| {
        json(&["plan", path])
    });
    assert_eq!(
        (number(&bricks["soak"]["stays_dry_l"]), bricks["soak"]["pieces"].as_u64()),
        (0.0, Some(1)),
        "{}",
        bricks["soak"]
    );
    let words = |command| said(command, DATED).1.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words("plan").contains("19.9 L loose: 1.6 kg of 1 x 5 kg block; 44.2 L of it stays dry."));
    // 4 L a kilogram for a block of 5 kg, of which 1.6 kg are bathed.
    let sheet = words("soak");
    assert!(
        sheet.starts_with("Coir worksheet: dated ===================== 1.6 kg of 1 x 5 kg block: 1.36 kg dry"),
        "{sheet}"
    );
    assert!(
        sheet.contains("Share a 5 kg block out by weight, sawn or broken dry; or wet it whole with 20 L of water and share out the heap: 6.4 L go with the coir of the bath, 16.8 L into its step 1, with all of its salt."),
        "{sheet}"
    );
}

/// A bale of 4.5 kg that gives 70 L holds 54.6 g of dry coir in a litre: in the soak, in the load and by the trade's rule,
/// 200 L of 8 g/L for a cubic metre (common practice).
#[test]
fn a_bale_holds_what_its_label_says() {
    let stock = "stock: s\npackages: {coir: [{label: 650 g brick, gives: 8.5 L, price: 9}, {label: 4.5 kg bale, gives: 70 L, price: 1}]}\n";
    let week = format!("{}stock: s.yaml\n", DATED.replace(", coir: {product: 5 kg block}", ""));
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(path("s.yaml"), stock).unwrap();
    let number = |value: &Value| value.as_f64().unwrap();
    let planned = |week: &str| {
        std::fs::write(path("w.yaml"), week).unwrap();
        json(&["plan", &path("w.yaml")])
    };
    let (bale, block) = (planned(&week), planned(DATED));
    assert_eq!(bale["purchases"]["lines"][0]["packages"][0]["label"], "4.5 kg bale");
    let per_l = |plan: &Value| number(&plan["soak"]["dry_kg"]) / number(&plan["soak"]["coir_loose_l"]);
    assert!((per_l(&bale) - 4.5 * 0.85 / 70.0).abs() < 1e-9 && (per_l(&block) - 0.85 / 13.0).abs() < 1e-9);
    // Of each gram of coir less there are 8 g less to carry, drained, and 4.67 g less water too much.
    let load = |plan: &Value| plan["mixing"]["batches"][0]["loads"][0].clone();
    let coir_l = number(&load(&bale)["measures"][0]["loose_l"]);
    let less_kg = coir_l * (per_l(&block) - per_l(&bale));
    let apart = |of: fn(&Value) -> &Value| number(of(&load(&bale))) - number(of(&load(&block)));
    assert!((apart(|load| &load["water_l"]) - less_kg * (7.0 - 70.0 / 30.0)).abs() < 1e-6);
    assert!((apart(|load| &load["wet_kg"]) + 8.0 * less_kg).abs() < 1e-6, "{}", load(&bale));
    std::fs::write(path("w.yaml"), &week).unwrap();
    let courses = json(&["soak", "--compare", &path("w.yaml")])["courses"].clone();
    let trade = courses.as_array().unwrap().iter().find(|one| one["course"] == "the trade's 8 g/L").unwrap();
    let salt: f64 = trade["salt_g"].as_object().unwrap().values().map(|grams| grams.as_f64().unwrap()).sum();
    assert!((salt / (1.6 * number(&bale["soak"]["coir_loose_l"])) - 1.0).abs() < 0.02, "{salt}");
    // Coir that is only wetted is wetted the day before, with what the mix wants: less than the label says.
    let wetted = &courses[0];
    assert_eq!((&wetted["course"], &wetted["days"]), (&"wetted only".into(), &1.into()));
    assert!(number(&wetted["water_l"]) < 4.0 * number(&bale["soak"]["dry_kg"]) / 0.85, "{wetted}");
    let words = trayful(&["soak", &path("w.yaml")]).1.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("of water, as the mix wants it (labels say up to"), "{words}");
}

/// Baths are known up to 48 hours; steps of one's own belong in a soak file, and the mark stands at them.
#[test]
fn what_a_soak_cannot_be_is_marked() {
    let soak = |hours: u32| format!("soak: x\ncoir: {{dry: 1 kg}}\nsold_as: washed\nhours: {hours}\n");
    let (code, _, err) = said("soak", &soak(60));
    assert!(code == 2 && err.contains("a soak takes 1 to 48 hours"), "{err}");
    assert_eq!(said("soak", &soak(48)).0, 0);
    let week = DATED.replace("ready: 2027-03-05 10:00}", "\n  steps: [{do: wash, water: 5 L}]}");
    let (code, _, err) = said("plan", &week);
    assert!(code == 2 && err.contains("soak.yaml:9:12") && err.contains("belong in a soak file, which"), "{err}");
}

/// A week that says nothing of its coir gets no bath, and is told what to write.
#[test]
fn no_bath_is_planned_that_was_not_asked_for() {
    let week: String =
        DATED.lines().filter(|line| !line.starts_with("soak:")).map(|line| format!("{line}\n")).collect();
    let plan = with_file(&week, |path| json(&["plan", path]));
    assert_eq!(plan["soak"], Value::Null);
    assert!(plan["cautions"].to_string().contains("`soak: {sold_as: none}`"), "{}", plan["cautions"]);
    let tasks: Vec<String> = calendar(&week).into_iter().map(|(_, what)| what).collect();
    assert!(tasks.contains(&"wet the coir, not to dripping".to_owned()), "{tasks:?}");
    assert!(!tasks.iter().any(|what| what.contains("bath") || what.contains("rinse the coir")), "{tasks:?}");
    let peat = week.replace("use: coir", "use: peat");
    assert!(!with_file(&peat, |path| json(&["plan", path]))["cautions"].to_string().contains("soak-unsaid"));
}

/// Coir that is opened beyond the need, soaked or dry, and what the purchase leaves over, L.
fn over(plan: &Value) -> (f64, f64) {
    let number = |value: &Value| value.as_f64().unwrap();
    let line = plan["purchases"]["lines"].as_array().unwrap().iter().find(|line| line["ingredient"] == "coir").unwrap();
    let soaked = number(&plan["soak"]["coir_loose_l"]) - number(&line["need_l"]);
    (soaked + number(&plan["soak"]["stays_dry_l"]), number(&line["left_over_l"]))
}

/// What is bathed is what is bought and held: pieces of the stock file, an opened one as it is, several kinds by weight.
#[test]
fn the_coir_bathed_is_the_coir_bought() {
    let week = DATED.replace("5 kg block", "650 g brick");
    let planned = |stock: &str, week: &str| {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("s.yaml"), format!("stock: s\n{stock}\n")).unwrap();
        let path = folder.path().join("w.yaml");
        std::fs::write(&path, format!("{week}stock: s.yaml\n")).unwrap();
        let path = path.to_str().unwrap();
        (json(&["plan", path]), trayful(&["plan", path]).1.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let number = |value: &Value| value.as_f64().unwrap();
    let block = "packages: {coir: [{label: 5 kg block, gives: 70 L}]}";
    for (stock, pieces, noted, words) in [
        (block, Some(1), true, "loose: 1.5 kg of 1 x 5 kg block; 49 L of it stays dry"),
        (
            &format!("{block}\non_hand: {{coir: 1 x 5 kg block}}"),
            Some(1),
            true,
            "loose: 1.5 kg of 1 x 5 kg block; 49 L of it stays dry",
        ),
        // Loose coir goes first, and nothing is opened where it is enough.
        (&format!("{block}\non_hand: {{coir: 10 L}}"), None, true, "loose: 1.5 kg as bought; 59 L of it stays dry"),
        (&format!("{block}\non_hand: {{coir: 30 L}}"), None, true, "loose: 1.42 kg as bought. Its"),
        (
            "packages: {coir: [{label: 650-g Brick, gives: 9 L}]}\non_hand: {coir: 10 L}",
            None,
            false,
            "loose: 1.5 kg as bought; 7.2 L of it stays dry",
        ),
        (
            "packages: {coir: [{label: sack, gives: 40 L}]}",
            Some(1),
            true,
            "loose: 1.6 kg of 1 x sack; 19.2 L of it stays dry",
        ),
        (
            "packages: {coir: [{label: 650 g brick, gives: 9 L}]}",
            Some(3),
            false,
            "loose: 1.5 kg of 3 x 650 g brick; 6.2 L of it stays dry",
        ),
        ("on_hand: {perlite: 1 L}", Some(3), false, "loose: 1.6 kg of 3 x 650 g brick; "),
    ] {
        let (plan, text) = planned(stock, &week);
        assert_eq!(plan["soak"]["pieces"].as_u64(), pieces, "{stock}");
        assert_eq!(plan["notes"].to_string().contains("coir-sold-in"), noted, "{stock}");
        assert!(text.contains(words), "{stock}\n{text}");
        let (soaked, left) = over(&plan);
        assert!((soaked - left).abs() < 1e-9 || stock.contains("30 L"), "{stock}: {soaked} {left}");
    }
    // 1.6 kg of a sack of loose coir by the trade's 13 L a kilogram, of which 0.85 are dry.
    let sack = planned("packages: {coir: [{label: sack, gives: 40 L}]}", &week).0;
    assert!((number(&sack["soak"]["dry_kg"]) - 1.6 * 0.85).abs() < 1e-9);
    // A size that neither the stock file nor the table lists is bought as it is soaked.
    let (plan, text) = planned("on_hand: {perlite: 1 L}", &week.replace("650 g brick", "4.5 kg bale"));
    assert!(text.contains("1 x 4.5 kg bale") && plan["purchases"].to_string().contains("\"4.5 kg bale\""), "{text}");
    // A block and a brick: as much as is needed, by weight.
    let two = "currency: EUR\npackages: {coir: [{label: 5 kg block, gives: 18 L, price: 1.00}, {label: 650 g brick, gives: 4 L, price: 0.40}]}";
    let (plan, text) = planned(two, &week.replace(", coir: {product: 650 g brick}", ""));
    let kinds =
        plan["purchases"]["lines"].as_array().unwrap().iter().find(|line| line["ingredient"] == "coir").unwrap();
    assert_eq!((kinds["packages"].as_array().unwrap().len(), &plan["soak"]["pieces"]), (2, &Value::Null), "{text}");
    assert!((over(&plan).0 - over(&plan).1).abs() < 1e-9, "{plan}");
}

/// Without a stock file too, whatever is needed: a block and bricks are by weight.
#[test]
fn the_coir_bathed_is_that_of_the_built_in_packages() {
    for trays in 1..40 {
        let week = DATED.replace("trays: 8", &format!("trays: {trays}")).replace(", coir: {product: 5 kg block}", "");
        let (opened, left) = over(&with_file(&week, |path| json(&["plan", path])));
        assert!((opened - left).abs() < 1e-9, "{trays}: {opened} {left}");
    }
}

/// Soaked coir at hand does for the batches, and then nothing more is to be said or done about coir; in a trial it does for
/// the half that is bathed.
#[test]
fn soaked_coir_at_hand_is_counted_once() {
    let planned = |command: &str, soaked_l: f64, week: &str| {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("s.yaml"), format!("stock: s\non_hand: {{soaked coir: {soaked_l} L}}\n"))
            .unwrap();
        let path = folder.path().join("w.yaml");
        std::fs::write(&path, format!("{week}stock: s.yaml\n")).unwrap();
        let path = path.to_str().unwrap();
        let (_, out, err) = trayful(&[command, path]);
        (if command == "plan" { json(&["plan", path]) } else { Value::Null }, out + &err)
    };
    let number = |value: &Value| value.as_f64().unwrap();
    let unsaid: String =
        DATED.lines().filter(|line| !line.starts_with("soak:")).map(|line| format!("{line}\n")).collect();
    for (soaked_l, told) in [(200.0, false), (10.0, true)] {
        let (plan, text) = planned("plan", soaked_l, &unsaid);
        assert_eq!(plan["cautions"].to_string().contains("soak-unsaid"), told);
        assert_eq!(text.contains("wet the coir, not to dripping"), told, "{text}");
        let said = planned("soak", soaked_l, &unsaid).1;
        assert_eq!(said.contains("the soaked coir at hand does"), !told, "{said}");
    }
    let trial = DATED.replace("sold_as: washed", "sold_as: washed, trial: half");
    let bare = planned("plan", 0.001, &trial).0;
    let coir = bare["purchases"]["lines"].as_array().unwrap().iter().find(|line| line["ingredient"] == "coir").unwrap();
    let half = number(&coir["need_l"]) / 2.0;
    // Down to a hundred grams as bought, and less than a tenth of what is wanted, nothing is bathed. However much is at
    // hand, the straight half gets none of it.
    for (lacking, bathed) in [(-5.0 * half, false), (-0.2, false), (0.4, false), (2.0, true)] {
        let (plan, text) = planned("plan", half - lacking, &trial);
        let needed = |name: &str| {
            let mut lines = plan["purchases"]["lines"].as_array().unwrap().iter();
            number(&lines.find(|line| line["ingredient"] == name).unwrap()["need_l"])
        };
        let soaked_l = half - lacking.max(0.0);
        assert!((needed("soaked coir") - soaked_l).abs() < 0.01, "{lacking}: {}", needed("soaked coir"));
        assert!((needed("coir") - (2.0 * half - soaked_l)).abs() < 0.01, "{lacking}: {}", needed("coir"));
        if lacking < -half {
            let filled = planned("fill", half - lacking, &trial).1;
            let row = |half: &str| filled.split(half).nth(1).unwrap().split("\neveryday").next().unwrap().to_owned();
            assert!(row(", straight").contains("coir") && !row(", buffered").contains(" coir"), "{filled}");
        }
        let (soak, text) = (&plan["soak"], text.split_whitespace().collect::<Vec<_>>().join(" "));
        assert_eq!(soak["steps"].as_array().unwrap().is_empty(), !bathed, "{soak}");
        assert_eq!(text.contains("The soaked coir does for `buffered`: no bath."), !bathed, "{text}");
        assert!(text.contains("Trial: half of the coir") && text.contains("wet the coir for `straight`"), "{text}");
        let (need, straight_l) =
            (if bathed { half } else { half + lacking.max(0.0) }, number(&soak["straight_dry_kg"]) / 0.85 * 13.0);
        assert!(
            (need..need + 1.31).contains(&(straight_l + 0.01)) && !text.contains("sold as buffered"),
            "{straight_l}"
        );
    }
}

/// A mix that is all left over from earlier holds coir, and none to soak.
#[test]
fn a_mix_at_hand_needs_no_soak() {
    let stock = "stock: s\nmixes: [{name: m, parts: {coir: 3, perlite: 1}, amount: 90 L}]\n";
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("s.yaml"), stock).unwrap();
    std::fs::write(folder.path().join("r.yaml"), "recipe: r\nparts: {coir: 3, perlite: 1}\n").unwrap();
    let path = folder.path().join("w.yaml");
    std::fs::write(
        &path,
        DATED.replace("recipe: everyday", "recipe: r.yaml").replace("use: coir\n", "") + "stock: s.yaml\n",
    )
    .unwrap();
    let (code, _, err) = trayful(&["soak", path.to_str().unwrap()]);
    assert!(code == 2 && err.contains("is all at hand: nothing is mixed"), "{err}");
}

#[test]
fn hours_in_which_nothing_fits_say_so() {
    let week = DATED.replace("sowings:", "awake: 10:00-10:05\nsowings:");
    let plan = with_file(&week, |path| json(&["plan", path]));
    assert!(plan["cautions"].to_string().contains("no-time"), "{}", plan["cautions"]);
    assert_eq!(plan["soak"]["start"], Value::Null);
    let (code, out, _) = said("soak", &week);
    assert!(code == 1 && out.contains("No times fit") && out.contains("Longer hours under `awake:`"), "{out}");
    // No run waits for another where none is made.
    let runs = with_file(&week.replace("washed,", "washed, tub: 10 L,"), |path| json(&["plan", path]));
    let cautions = [&runs["cautions"], &runs["soak"]["cautions"]].map(Value::to_string).concat();
    assert!(runs["soak"]["runs"].as_u64() > Some(2) && !cautions.contains("of the first waits"), "{cautions}");
    let away = DATED.replace("sowings:", "not_on: [2027-03-04, 2027-03-03]\nsowings:");
    let soak = with_file(&away, |path| json(&["plan", path]))["soak"].clone();
    for step in soak["run_times"][0]["steps"].as_array().unwrap() {
        let begins = step["begins"].as_str().unwrap();
        assert!(!begins.starts_with("2027-03-04") && !begins.starts_with("2027-03-03"), "{begins}");
    }
}

/// A mixing or ready time that is stated stands, and is cautioned; a date alone means an hour in which somebody is there.
#[test]
fn stated_hours_stand() {
    let night = DATED.replace("2027-03-06 10:00", "2027-03-06 05:00").replace("2027-03-05 10:00", "2027-03-05 23:00");
    let plan = with_file(&night, |path| json(&["plan", path]));
    let cautions = plan["cautions"].to_string();
    assert!(cautions.contains("mix-outside-awake") && cautions.contains("ready-outside-awake"), "{cautions}");
    assert_eq!(
        (&plan["mix_on"], &plan["soak"]["ready"]),
        (&"2027-03-06T05:00:00-05:00".into(), &"2027-03-05T23:00:00-05:00".into())
    );
    let mix_on = |more: &str| {
        let week = DATED.replace("2027-03-06 10:00", "2027-03-06").replace("sowings:", &format!("{more}sowings:"));
        with_file(&week, |path| json(&["plan", path]))["mix_on"].as_str().unwrap()[11..16].to_owned()
    };
    assert_eq!(mix_on(""), "08:00");
    assert_eq!(mix_on("awake: 09:00-21:00\n"), "09:00");
    assert_eq!(mix_on("mix_at: 14:30\n"), "14:30");
}

/// The week's tub takes the coir too, a block that runs share is shared out as the sheet says, and every run has times
/// of its own.
#[test]
fn the_week_s_tub_serves_for_the_soak() {
    let week = DATED.replace("trays: 8", "trays: 24").replace("sowings:", "tub: 75 L\nscoop: 2 L\nsowings:");
    let plan = with_file(&week, |path| json(&["plan", path]));
    assert_eq!((&plan["soak"]["tub_l"], &plan["soak"]["runs"]), (&75.0.into(), &2.into()));
    let (_, sheet, _) = said("soak", &week);
    let words = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("2.5 kg of coir as bought; the figures below are for one run."), "{words}");
    let csv = with_file(&week, |path| trayful(&["soak", path, "--format", "csv"])).1;
    let rows: Vec<Vec<&str>> = csv.lines().skip(1).map(|line| line.split(',').collect()).collect();
    let steps = plan["soak"]["steps"].as_array().unwrap().len();
    assert_eq!(rows.len(), 2 * steps);
    for (index, row) in rows.iter().enumerate() {
        let timed = &plan["soak"]["run_times"][index / steps]["steps"][index % steps];
        assert_eq!((row[2], row[10]), (timed["begins"].as_str().unwrap(), if index < steps { "1" } else { "2" }));
    }
    let water: f64 = rows.iter().map(|row| row[3].parse::<f64>().unwrap()).sum();
    assert!((water - plan["soak"]["water_l"].as_f64().unwrap()).abs() < 0.01);
    // A tub for the mix alone, far too small for the coir, is no fault of the soak.
    let large = WEEK.replace("sowings:", "tub: 1 L\nscoop: 1 L\nsowings:");
    assert_eq!(with_file(&large, |path| json(&["plan", path]))["soak"]["runs"], 1);
}

/// Blocks of 65 L for what is needed, however much more the bricks of 8.5 L give.
#[test]
fn many_bricks_are_told() {
    let plan = |week: &str| with_file(week, |path| json(&["plan", path]));
    let notes = |week: &str| plan(week)["notes"].to_string();
    let bricks = WEEK.replace("5 kg block", "650 g brick");
    for trays in 1..70 {
        let plan = plan(&bricks.replace("60", &trays.to_string()));
        let need = plan["purchases"]["lines"][0]["need_l"].as_f64().unwrap();
        let blocks = (need / 65.0).ceil();
        let said = format!("{blocks} block{} of 5 kg would do for the ", if blocks > 1.0 { "s" } else { "" });
        let notes = plan["notes"].to_string();
        assert_eq!(notes.contains("many-bricks"), plan["soak"]["pieces"].as_u64() >= Some(8));
        assert!(!notes.contains("many-bricks") || notes.contains(&said), "{said} {notes}");
    }
    assert!(!notes(WEEK).contains("many-bricks"));
}

/// By its label a block of 5 kg takes 20 to 25 L, for a mix what the mix wants: then the load has no water too much.
#[test]
fn buffered_coir_is_wetted_the_day_before() {
    let week = DATED.replace("sold_as: washed", "sold_as: buffered").replace(", ready: 2027-03-05 10:00", "");
    assert!(
        calendar(&week).contains(&("2027-03-05T10:00:00-05:00".to_owned(), "wet the coir, not to dripping".to_owned()))
    );
    for command in ["plan", "soak"] {
        let words = said(command, &week).1.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("Wet it with about 5.7 L of water, as the mix wants it"), "{words}");
        assert!(!words.contains("squeeze the coir"), "{words}");
    }
    assert!(!calendar(DATED).iter().any(|(_, what)| what.contains("not to dripping")));
}

/// A second block for less than 2 % of it is told, with what saves it.
#[test]
fn a_last_block_that_is_hardly_needed_is_told() {
    let plan = with_file(WEEK, |path| json(&["plan", path]));
    let coir = plan["totals"]["ingredients"].as_array().unwrap().iter().find(|one| one["name"] == "coir").unwrap();
    let need = coir["loose_l"].as_f64().unwrap();
    let notes = |share: f64| {
        let folder = tempfile::tempdir().unwrap();
        let file = |name: &str, text: &str| {
            let path = folder.path().join(name);
            std::fs::write(&path, text).unwrap();
            path.to_str().unwrap().to_owned()
        };
        let package = format!("{{label: 5 kg block, gives: {:.3} L, price: 10.00}}", need * share);
        file("s.yaml", &format!("stock: s\npackages: {{coir: [{package}]}}\n"));
        let week = file("w.yaml", &format!("{WEEK}stock: s.yaml\n"));
        json(&["plan", &week])["notes"].to_string()
    };
    assert!(notes(0.99).contains("last-piece"), "{}", notes(0.99));
    assert!(!notes(0.9).contains("last-piece") && !notes(1.01).contains("last-piece"));
}

/// Where a tub is less than 2 % too small for a run fewer, the sheet says which would do.
#[test]
fn a_tub_that_is_hardly_too_small_is_told() {
    let sheet = |tub_l: u32, form: &str| {
        let tub = format!("{tub_l} L");
        let block = ["soak", "--product", "5 kg block", "--count", "1", "--sold-as", "washed", "--tub", &tub];
        trayful(&[&block[..], &["--format", form]].concat()).1
    };
    let runs = |tub_l| serde_json::from_str::<Value>(&sheet(tub_l, "json")).unwrap()["runs"].as_u64();
    let enough = (60..200).find(|tub_l| runs(*tub_l) == Some(1)).unwrap();
    let told = |tub_l| sheet(tub_l, "text").split_whitespace().collect::<Vec<_>>().join(" ").contains("saves a run");
    assert_eq!([enough, enough - 1, enough - 3].map(told), [false, true, false], "{enough}");
}

/// A course that ends in its bath leaves the coir full of its salt.
#[test]
fn a_course_that_ends_salty_is_warned_of() {
    let soak = "soak: s\ncoir: {dry: 1 kg}\nsold_as: washed\nsteps:\n  - {do: hydrate, water: 7 L}\n  \
                - {do: soak, water: 10 L, salts: {calcium nitrate tetrahydrate: 80 g/L}, hours: 24}\n";
    let told = |more: &str| {
        let sheet = crate::support::run(["soak", "s.yaml"]).file("s.yaml", format!("{soak}{more}")).result();
        sheet.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let salty = told("");
    assert!(
        salty.contains("The last bath drains at") && salty.contains("seedlings would burn: rinse until"),
        "{salty}"
    );
    let rinse = "  - {do: rinse, water: 40 L}\n".repeat(4);
    let rinsed = told(&rinse);
    assert!(rinsed.contains("The last rinse drains at") && !rinsed.contains("would burn"), "{rinsed}");
}

/// In the evenings alone the washes and baths of raw coir fit no days, those of coir that is wetted in its bath do.
#[test]
fn where_no_times_fit_the_course_that_does_is_named() {
    let week = "week: w\nrecipe: everyday\nuse: coir\nmix_on: 2027-03-06 18:00\ntime_zone: UTC\nawake: 18:00-21:00\n\
                soak: {sold_as: none, coir: {product: 5 kg block}, tub: 20 L}\ntub: 20 L\nsowings:\n  \
                - {crop: kale, plants: 80, tray: 50-cell, germination: 88 %}\n  \
                - {crop: tomato, plants: 200, tray: 72-cell, germination: 90 %}\n";
    let sheet = |week: &str| {
        let (_, out, _) = with_file(week, |path| trayful(&["plan", path]));
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let none = sheet(week);
    assert!(none.contains("for which no times fit (see above)") && !none.contains("Soaked coir would wait"), "{none}");
    let (_, rest) = none.split_once("This course fits: ").unwrap();
    let (keys, _) = rest.split_once(" under `soak:`").unwrap();
    let keys = keys.replace('`', "").replace(" and", ",");
    let fits = sheet(&week.replace("tub: 20 L}", &format!("tub: 20 L, {keys}}}")));
    assert!(!fits.contains("No times fit") && fits.contains("wet the coir"), "{keys}: {fits}");
}
