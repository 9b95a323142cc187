//! Electrical conductivity at 25 °C from the free ions: the law that PHREEQC 3.7.3 uses where a species has nothing
//! but a diffusion coefficient.

use super::activity::{DEBYE_HUCKEL_A, DEBYE_HUCKEL_B, Solution};

/// Faraday constant, C/mol (exact since 2019).
const FARADAY: f64 = 96_485.332_12;
/// Gas constant, J/(mol K) (exact since 2019).
const GAS: f64 = 8.314_462_618;
const KELVIN: f64 = 298.15;

/// Molar conductivity at infinite dilution, S cm²/mol, of a charge and a diffusion coefficient: z² F² D / (R T).
pub fn limiting_conductivity_s_cm2_mol(charge: f64, diffusion_m2_s: f64) -> f64 {
    const CM2_PER_M2: f64 = 1e4;
    charge * charge * FARADAY * FARADAY * diffusion_m2_s / (GAS * KELVIN) * CM2_PER_M2
}

impl Solution {
    /// Electrical conductivity in mS/cm at 25 °C; H⁺ and OH⁻ are left out, so pure water has none.
    ///
    /// `Σ m Λ⁰ exp(-1.6 A |z| √I / (1 + 4.73 B √I / (1 + I^0.75)))`, m in mol/kg.
    pub fn ec_ms_cm(&self) -> f64 {
        let root = self.ionic_strength.sqrt();
        let slowing = 1.6 * DEBYE_HUCKEL_A * root / (1.0 + 4.73 * DEBYE_HUCKEL_B * root / (1.0 + root * root.sqrt()));
        let monovalent = libm::exp(-slowing);
        let conducts = |(charge, diffusion_m2_s, molality): (f64, f64, f64)| {
            let slowed = if charge.abs() < 1.5 { monovalent } else { monovalent * monovalent };
            molality * limiting_conductivity_s_cm2_mol(charge, diffusion_m2_s) * slowed
        };
        self.species().map(conducts).sum()
    }
}
