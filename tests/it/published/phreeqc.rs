//! PHREEQC 3.7.3 (`phreeqc.dat` as shipped): six courses computed with it, and Example 11 of its manual.

use serde_json::Value;
use trayful::coir::{
    Action, Amounts, Bath, Cation, Coir, Convention, Course, CourseStep, Ion, Model, SiteFractions, Solutes,
    Suspension, sites_from_extract,
};

use super::{assert_relative, assert_within, salt, water};

const CASES: &str = include_str!("../../reference/soak_cases.json");

fn entries(object: &Value) -> impl Iterator<Item = (&str, f64)> {
    object.as_object().into_iter().flatten().map(|(name, value)| (name.as_str(), value.as_f64().unwrap()))
}

fn cation(symbol: &str) -> Cation {
    Cation::ALL.into_iter().find(|cation| cation.ion().word() == symbol).unwrap()
}

fn coir(case: &Value) -> Coir {
    let sites = entries(&case["beta0"]).map(|(symbol, share)| (cation(symbol), share));
    let salts: Vec<_> =
        entries(&case["soluble_salts_mol_per_kg"]).map(|(formula, mol)| (salt(formula), mol * 1e3)).collect();
    Coir::measured(
        case["cec_molc_per_kg"].as_f64().unwrap(),
        SiteFractions::new(sites).unwrap(),
        Solutes::of_salts(salts.iter().map(|(salt, mmol)| (salt, *mmol))).unwrap(),
        case["retained_kg_per_kg"].as_f64().unwrap(),
    )
    .unwrap()
}

fn step(json: &Value) -> CourseStep {
    let action = match json["kind"].as_str().unwrap() {
        "hydrate" => Action::Hydrate,
        "wash" => Action::Wash,
        "soak" => Action::Soak,
        "rinse" => Action::Rinse,
        other => panic!("{other}"),
    };
    let water_l = json["water_kg"].as_f64().unwrap();
    let mut step = CourseStep::new(action, water_l).unwrap();
    for (formula, mmol_per_kg) in entries(&json["salts_mmol_per_kg"]) {
        step = step.with_salt(salt(formula), mmol_per_kg * 1e-3 * water_l).unwrap();
    }
    if let Some(mol) = json["gypsum_mol"].as_f64() {
        step = step.with_salt(salt("CaSO4.2H2O"), mol).unwrap();
    }
    step
}

/// The tolerances of a step: of shares of the sites, relative of ions (or absolute, mmol/kg, if that is more).
struct Tolerance {
    sites: f64,
    relative: f64,
    mmol_per_kg: f64,
}

fn check(id: &str, bath: &Bath, expected: &Value) {
    let bath_json = &expected["bath_mmol_per_kg"];
    let gypsum = expected["gypsum_dissolved_mol"].as_f64().unwrap();
    let has_sulfate = bath_json["SO4"].as_f64().unwrap() > 0.0;
    let tolerance = if has_sulfate {
        Tolerance { sites: 2e-4, relative: 5e-3, mmol_per_kg: 0.05 }
    } else {
        Tolerance { sites: 1e-5, relative: 1e-4, mmol_per_kg: 1e-3 }
    };
    for (symbol, share) in entries(&expected["beta"]) {
        assert_within(&format!("{id} {symbol} of sites"), bath.sites.of(cation(symbol)), share, tolerance.sites);
    }
    for (symbol, mmol) in entries(bath_json) {
        let got = bath.solution.total[Ion::from_formula(symbol).unwrap()] * 1e3;
        let allowed = tolerance.mmol_per_kg.max(tolerance.relative * mmol);
        assert_within(&format!("{id} {symbol} in the bath"), got, mmol, allowed);
    }
    assert_relative(&format!("{id} EC"), bath.solution.ec_ms_cm(), expected["ec_mS_cm"].as_f64().unwrap(), 5e-3);
    // PHREEQC turns the water of dissolved gypsum into water; here a litre stays a litre (at most 0.07 %).
    assert_relative(&format!("{id} water"), bath.total_l, expected["water_total_kg"].as_f64().unwrap(), 1e-3);
    assert_within(&format!("{id} gypsum"), bath.gypsum_dissolved_mol, gypsum, 5e-4);
    match expected["SI_gypsum"].as_f64() {
        Some(si) => assert_within(&format!("{id} SI"), bath.solution.gypsum_si().unwrap(), si, 5e-3),
        None => assert_eq!(bath.solution.gypsum_si(), None, "{id} SI"),
    }
}

fn cases() -> Vec<Value> {
    let json: Value = serde_json::from_str(CASES).unwrap();
    let cases = json["cases"].as_array().unwrap().clone();
    assert_eq!(cases.len(), 8);
    cases
}

fn course(case: &Value, model: Model) -> Course {
    let steps = case["steps"].as_array().unwrap().iter().map(step).collect();
    Course::new(case["dry_kg"].as_f64().unwrap(), coir(case), Solutes::NONE, steps, model).unwrap()
}

/// S1 to S8 of `soak_cases.json`, made by `soak_chains.py` beside it.
#[test]
fn courses_of_phreeqc() {
    for case in cases() {
        let baths = course(&case, Model::default()).run();
        let expected = case["expected"].as_array().unwrap();
        assert_eq!(baths.len(), expected.len());
        for (number, (bath, expected)) in baths.iter().zip(expected).enumerate() {
            check(&format!("{} step {number}", case["id"]), bath, expected);
        }
    }
}

/// PHREEQC 3.7.3 with exchange species without activity coefficients (`soak_chains.py --activity`): Na, K, NH4, Ca, Mg
/// after the last step of S1 to S6.
#[test]
fn six_courses_by_activities() {
    const PRINTED: [[f64; 5]; 6] = [
        [0.019_696, 0.154_458_2, 0.0, 0.760_731_1, 0.065_114_62],
        [0.009_089_9, 0.138_768_3, 0.0, 0.811_127_3, 0.041_014_49],
        [0.014_146_44, 0.129_761_9, 0.0, 0.804_514_3, 0.051_577_4],
        [0.010_192_02, 0.099_797_29, 0.0, 0.862_403_8, 0.027_606_91],
        [0.019_208_02, 0.151_073_1, 0.026_049_05, 0.740_639_1, 0.063_030_7],
        [0.007_129_879, 0.095_037_55, 0.0, 0.695_475_2, 0.202_357_3],
    ];
    let model = Model { convention: Convention::Activity, ..Model::default() };
    for (case, printed) in cases().iter().zip(PRINTED) {
        let last = *course(case, model).run().last().unwrap();
        for ((cation, share), printed) in last.sites.iter().zip(printed) {
            let tolerance = if last.solution.total[Ion::Sulfate] > 0.0 { 1e-4 } else { 2e-6 };
            assert_within(&format!("{} {cation:?}", case["id"]), share, printed, tolerance);
        }
    }
}

/// PHREEQC manual, Example 11, initial exchange composition: `examples/ex11.out` of the USGS repository.
#[test]
fn example_11_initial_exchanger() {
    let extract = Amounts::from_iter([(Ion::Sodium, 1.0), (Ion::Potassium, 0.2), (Ion::Nitrate, 1.2)]);
    let sites = sites_from_extract(extract, &Model::default()).unwrap();
    assert_within("KX", sites.of(Cation::Potassium) * 1.1e-3, 5.507e-4, 0.5e-7);
    assert_within("NaX", sites.of(Cation::Sodium) * 1.1e-3, 5.493e-4, 0.5e-7);
}

/// PHREEQC manual, Example 11: 40 cells flushed with 0.6 mmol/kg `CaCl2`, at the last cell (`examples/ex11adv.sel`).
#[test]
fn example_11_column() {
    const CELLS: usize = 40;
    // shift, Na, K, Ca in mol/kg as printed
    const PRINTED: [(usize, f64, f64, f64); 5] = [
        (60, 8.8947e-4, 3.1053e-4, 0.0),
        (62, 3.1876e-4, 8.8124e-4, 0.0),
        (75, 6.7673e-12, 1.1890e-3, 5.4946e-6),
        (76, 8.0510e-13, 7.0494e-4, 2.4753e-4),
        (77, 2.1968e-14, 9.6078e-5, 5.5196e-4),
    ];
    let initial = water([(Ion::Sodium, 1.0), (Ion::Potassium, 0.2), (Ion::Nitrate, 1.2)]);
    let flush = water([(Ion::Calcium, 0.6), (Ion::Chloride, 1.2)]);
    let model = Model::default();
    let sites = sites_from_extract(*initial.mol() * 1e3, &model).unwrap();
    let mut column = [(sites, initial); CELLS];
    let mut last_cell = vec![*initial.mol()];
    for _ in 0..PRINTED[4].0 {
        let mut incoming = flush;
        for (sites, held) in &mut column {
            let settled = Suspension::new(1.1e-3, sites, 1.0, &incoming).unwrap().settle(&model);
            incoming = std::mem::replace(held, Solutes::tap_water(settled.solution.total * 1e3).unwrap());
            *sites = settled.sites;
        }
        last_cell.push(*column[CELLS - 1].1.mol());
    }
    for (shift, sodium, potassium, calcium) in PRINTED {
        for (ion, printed) in [(Ion::Sodium, sodium), (Ion::Potassium, potassium), (Ion::Calcium, calcium)] {
            // Five digits are printed; below 1e-9 mol/kg the relative error grows with the shifts.
            let tolerance = (2e-5 * printed).max(1e-12);
            assert_within(&format!("{ion:?} at shift {shift}"), last_cell[shift][ion], printed, tolerance);
        }
    }
}
