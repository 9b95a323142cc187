//! Molar masses and compositions against the `molmass` library (2026.1.8), and the reading of formulas.

use trayful::coir::soak::SaltEntry;
use trayful::coir::{CoirError, Ion, Salt, atomic_weight};

use super::{assert_relative, assert_within, salt};

/// formula, g/mol, % Ca, grams per mole of charge of calcium (or magnesium)
const TABLE: [(&str, f64, f64, f64); 9] = [
    ("Ca(NO3)2", 164.088, 24.425, 82.044),
    ("Ca(NO3)2.4H2O", 236.149, 16.971, 118.075),
    ("5Ca(NO3)2.NH4NO3.10H2O", 1080.635, 18.544, 108.064),
    ("CaSO4.2H2O", 172.171, 23.278, 86.086),
    ("CaCl2.2H2O", 147.014, 27.261, 73.507),
    ("CaCl2", 110.984, 36.112, 55.492),
    ("CaCl2.6H2O", 219.076, 18.294, 109.538),
    ("MgSO4.7H2O", 246.475, 0.0, 123.237),
    ("Mg(NO3)2.6H2O", 256.407, 0.0, 128.203),
];

/// `molmass` averages over isotopes (Cl 35.453, N 14.0067, S 32.066); the abridged IUPAC values differ by up to 8e-5.
const ATOMIC_WEIGHTS: f64 = 6e-5;

#[test]
fn composition() {
    for (formula, g_per_mol, calcium_percent, g_per_charge) in TABLE {
        let salt = salt(formula);
        assert_relative(formula, salt.molar_mass_g(), g_per_mol, ATOMIC_WEIGHTS);
        assert_within(formula, salt.formula_ca_percent(), calcium_percent, 1.5e-3);
        let charge = 2.0 * (salt.ions[Ion::Calcium] + salt.ions[Ion::Magnesium]);
        assert_relative(formula, salt.grams(1.0 / charge), g_per_charge, ATOMIC_WEIGHTS);
    }
}

/// Carbon, which no salt of the table has: calcium bicarbonate 162.11 g/mol (from memory).
#[test]
fn bicarbonate() {
    assert_within("Ca(HCO3)2", salt("Ca(HCO3)2").molar_mass_g(), 162.11, 0.01);
}

/// `molmass`: 15.554 % N in the double salt, 14.258 as nitrate and 1.296 as ammonium; 11.863 % in the tetrahydrate.
#[test]
fn nitrogen() {
    let percent = |formula, ion| {
        let salt = salt(formula);
        100.0 * salt.ions[ion] * atomic_weight::N / salt.molar_mass_g()
    };
    assert_within("nitrate", percent("5Ca(NO3)2.NH4NO3.10H2O", Ion::Nitrate), 14.258, 1e-3);
    assert_within("ammonium", percent("5Ca(NO3)2.NH4NO3.10H2O", Ion::Ammonium), 1.296, 1e-3);
    assert_within("tetrahydrate", percent("Ca(NO3)2.4H2O", Ion::Nitrate), 11.863, 1e-3);
}

#[test]
fn a_formula_counts_formula_units() {
    let double = salt("5Ca(NO3)2.NH4NO3.10H2O");
    let ions: Vec<_> = double.ions.iter().filter(|&(_, count)| count > 0.0).collect();
    assert_eq!(ions, [(Ion::Ammonium, 1.0), (Ion::Calcium, 5.0), (Ion::Nitrate, 11.0)]);
    assert!(double.is_hydrate());
    assert!(!salt("5Ca(NO3)2.NH4NO3").is_hydrate());
    assert_eq!(salt("K2SO4").ions[Ion::Potassium], 2.0);
    assert_eq!(salt("Ca(HCO3)2").ions[Ion::Bicarbonate], 2.0);
    assert_eq!(salt("Ca(NO3)2·4H2O").molar_mass_g(), salt("Ca(NO3)2.4H2O").molar_mass_g());
}

#[test]
fn formulas_that_are_none() {
    for (formula, at) in [
        ("", 0),
        ("H2O", 3),
        ("Xy", 0),
        ("Ca(NO3", 6),
        ("Ca(NO3)2.", 9),
        ("Ca(NO3)2..4H2O", 9),
        ("CaNO32", 5),
        ("Ca0Cl2", 2),
        ("Ca99999Cl2", 2),
        ("((((Ca", 1),
        ("CaCl2 ", 5),
        ("Ca₂", 2),
    ] {
        match Salt::from_formula("slip", formula) {
            Err(CoirError::Formula { at: found, .. }) => assert_eq!(found, at, "{formula}"),
            other => panic!("{formula}: {other:?}"),
        }
    }
    assert!(matches!(Salt::from_formula("slip", "CaNO3"), Err(CoirError::Charged { charge: 1.0, .. })));
}

/// The label's calcium wins: the same moles of calcium, fewer grams of a richer product.
#[test]
fn label_calcium_wins() {
    let ideal = salt("5Ca(NO3)2.NH4NO3.10H2O");
    let labelled = ideal.clone().with_label_ca(19.0).unwrap();
    assert_relative("calcium", labelled.grams(2.0) * 0.19, 10.0 * atomic_weight::CA, 1e-12);
    assert!(labelled.grams(1.0) < ideal.grams(1.0));
    assert_relative("moles", labelled.moles(labelled.grams(0.7)), 0.7, 1e-12);
    for percent in [0.19, 25.0, f64::NAN, -1.0] {
        assert!(ideal.clone().with_label_ca(percent).is_err(), "{percent}");
    }
    assert!(salt("MgSO4").with_label_ca(10.0).is_err());
}

/// Safety data sheets: calcium nitrate and chloride may damage eyes (CAS 13477-34-4), anhydrous calcium chloride heats, gypsum and Epsom salt only dust.
#[test]
fn cautions_follow_from_the_composition() {
    const OXIDISER: &str = "keep dry, closed, apart from fuel";
    const EYE_DAMAGE: &str = "serious eye damage is possible: wear goggles and gloves";
    const HARMFUL: &str = "harmful if swallowed";
    const HEATS_WATER: &str = "heats the water";
    const DUST: &str = "do not breathe the dust";
    const NITRATE: &str = "keep its nitrate water from drains";
    const CHLORIDE: &str = "the drained water holds chloride";
    const SLOW: &str = "dissolves slowly";
    for (formula, expected) in [
        ("5Ca(NO3)2.NH4NO3.10H2O", &[EYE_DAMAGE, OXIDISER, HARMFUL, NITRATE][..]),
        ("Ca(NO3)2", &[EYE_DAMAGE, OXIDISER, NITRATE]),
        ("Ca(NO3)2.4H2O", &[EYE_DAMAGE, OXIDISER, NITRATE]),
        ("KNO3", &[OXIDISER, NITRATE]),
        ("CaCl2", &[EYE_DAMAGE, HEATS_WATER, CHLORIDE]),
        ("CaCl2.2H2O", &[EYE_DAMAGE, CHLORIDE]),
        ("CaSO4.2H2O", &[DUST, SLOW]),
        ("MgSO4.7H2O", &[DUST]),
    ] {
        let cautions = salt(formula).cautions();
        assert_eq!(cautions.len(), expected.len(), "{formula}: {cautions:?}");
        for (caution, start) in cautions.iter().zip(expected) {
            assert!(caution.starts_with(start), "{formula}: {caution}");
        }
    }
}

#[test]
fn a_salt_answers_to_its_names() {
    let salt = Salt::from_formula("magnesium sulfate heptahydrate", "MgSO4.7H2O").unwrap();
    let entry = SaltEntry { salt, also: vec!["Epsom salt".to_owned()], from: String::new() };
    assert!(entry.is_called("epsom salt") && entry.is_called("MgSO4.7H2O") && !entry.is_called("mgso4.7h2o"));
}

/// Every salt of the catalogue answers to one name only.
#[test]
fn catalogue() {
    let salts = trayful::coir::soak::salts;
    assert!(salts().count() >= 16);
    let mut names: Vec<String> = salts()
        .flat_map(|entry| std::iter::once(&entry.salt.name).chain(&entry.also))
        .map(|name| name.to_lowercase())
        .collect();
    names.sort();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all);
}
