//! Gypsum: solubility, and the saturation of fresh baths.

use trayful::coir::{Salt, Solutes, Solution, solubility_mol_kg};

use super::{assert_relative, assert_within, salt};

fn bath<const COUNT: usize>(salts: [(&str, f64); COUNT]) -> Solution {
    let salts = salts.map(|(formula, mmol)| (salt(formula), mmol));
    Solution::of(&Solutes::of_salts(salts.iter().map(|(salt, mmol)| (salt, *mmol))).unwrap())
}

/// PHREEQC 3.7.3: 15.09 mmol/kg = 2.60 g/L at 25 °C, saturated EC 2.26 mS/cm. Handbook: 2.05 g/L as `CaSO4` (from
/// memory), 2.59 g/L of the dihydrate; EC 2.2 dS/m (from memory).
#[test]
fn solubility() {
    let mol_kg = solubility_mol_kg();
    assert_relative("PHREEQC", mol_kg, 15.09e-3, 2e-3);
    let gypsum: Salt = salt("CaSO4.2H2O");
    assert_within("g/L", gypsum.grams(mol_kg), 2.60, 0.005);
    assert_relative("handbook", salt("CaSO4").grams(mol_kg), 2.05, 0.01);
    let saturated = bath([("CaSO4", mol_kg * 1e3)]);
    assert_within("EC", saturated.ec_ms_cm(), 2.26, 0.006);
    assert_relative("EC by handbook", saturated.ec_ms_cm(), 2.2, 0.03);
    assert_within("SI", saturated.gypsum_si().unwrap(), 0.0, 1e-8);
}

/// PHREEQC 3.7.3: saturation index of fresh baths of calcium nitrate and magnesium sulfate, mmol/L.
#[test]
fn fresh_baths_with_sulfate() {
    for (calcium, sulfate, si) in
        [(25.0, 5.0, -0.41), (25.0, 10.0, -0.18), (25.0, 15.0, -0.06), (25.0, 20.0, 0.02), (40.0, 15.0, 0.05)]
    {
        let fresh = bath([("Ca(NO3)2", calcium), ("MgSO4", sulfate)]);
        assert_within(&format!("{calcium} + {sulfate}"), fresh.gypsum_si().unwrap(), si, 0.006);
    }
    assert_eq!(bath([("Ca(NO3)2", 25.0)]).gypsum_si(), None);
}
