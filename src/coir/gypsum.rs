//! Gypsum, CaSO₄·2H₂O: whether a solution is saturated with it, and how much of a supply dissolves.

use super::activity::Solution;
use super::ion::{Amounts, Ion};
use super::root::crossing;

/// log₁₀ of the solubility product at 25 °C (`phreeqc.dat`; Bennett & Adams 1972 measured -4.588).
const LOG_KSP: f64 = -4.58;

impl Solution {
    /// Ion activity product of gypsum over its solubility product: 1 at saturation.
    pub(crate) fn gypsum_saturation(&self) -> f64 {
        let water = self.water_activity();
        self.activity(Ion::Calcium) * self.activity(Ion::Sulfate) * water * water / libm::pow(10.0, LOG_KSP)
    }

    /// Saturation index of gypsum, log₁₀: above 0 it may form. `None` without calcium or without sulfate.
    pub fn gypsum_si(&self) -> Option<f64> {
        let both = self.free[Ion::Calcium] > 0.0 && self.free[Ion::Sulfate] > 0.0;
        both.then(|| libm::log10(self.gypsum_saturation()))
    }
}

/// How many of `supply_mol` dissolve before the bath is saturated to the given share (1: an equilibrium with solid
/// gypsum), where `solution` is the equilibrium after so much was [`dissolved`]. Saturation increases with it.
pub(crate) fn dissolving(supply_mol: f64, share: f64, mut solution: impl FnMut(Amounts) -> Solution) -> f64 {
    if supply_mol == 0.0 {
        return 0.0;
    }
    let mut excess = |mol| solution(dissolved(mol)).gypsum_saturation() - share;
    let at_all = excess(supply_mol);
    if at_all <= 0.0 {
        return supply_mol;
    }
    let at_none = excess(0.0);
    crossing(excess, (0.0, at_none), (supply_mol, at_all), 1e-10).unwrap_or(0.0)
}

/// The ions of so much dissolved gypsum.
pub(crate) fn dissolved(mol: f64) -> Amounts {
    Amounts::from_iter([(Ion::Calcium, mol), (Ion::Sulfate, mol)])
}

/// What one kilogram of pure water dissolves at 25 °C, mol: 15.1 mmol or 2.6 g/L.
pub fn solubility_mol_kg() -> f64 {
    const MORE_THAN_DISSOLVES: f64 = 0.1;
    dissolving(MORE_THAN_DISSOLVES, 1.0, Solution::speciate)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pure water dissolves about 15.1 mmol/kg, all of a smaller supply, and nothing up to a saturation of 0.
    #[test]
    fn a_supply_dissolves_up_to_saturation() {
        let dissolves = |supply_mol, share| dissolving(supply_mol, share, Solution::speciate);
        assert_eq!(dissolves(0.015, 1.0), 0.015);
        assert!((dissolves(0.02, 1.0) - 0.0151).abs() < 1e-4);
        assert!((dissolves(0.02, 1.0) - solubility_mol_kg()).abs() < 1e-9);
        assert_eq!((dissolves(0.02, 0.0), dissolves(0.0, 1.0)), (0.0, 0.0));
        assert!(dissolves(0.02, 0.85) < dissolves(0.02, 1.0));
    }
}
