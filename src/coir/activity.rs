//! Activity coefficients, sulfate ion pairs, and the speciation of one solution.
//!
//! All molalities are mol per kilogram of water, at 25 °C; one litre of water counts as one kilogram.

use std::f64::consts::LN_10;

use super::ion::{Amounts, Cation, Ion, PerCation};
use super::root::crossing;
use super::solutes::Solutes;
use crate::source::words;
use libm::exp;

/// Debye-Hückel A at 25 °C (PHREEQC 3.7.3).
pub(crate) const DEBYE_HUCKEL_A: f64 = 0.51002;
/// Debye-Hückel B at 25 °C, 1/Å (PHREEQC 3.7.3).
pub(crate) const DEBYE_HUCKEL_B: f64 = 0.32849;

words! {
    /// How the activity of an ion enters mass action with the sites.
    #[derive(Default)]
    Convention {
        /// Free-ion molalities (Γ = 1): PHREEQC with `phreeqc.dat` as shipped, where the activity coefficients of the
        /// exchange species and of the ions cancel. Closest to the US Salinity Laboratory relation, hence the default.
        #[default]
        Molal = "molal",
        /// Activities (Γ = γ of the ion): the textbook form, PHREEQC without `-gamma` for exchange species.
        Activity = "activity",
    }
}

/// An ionic strength, ready for the WATEQ activity law (Truesdell & Jones 1974, as in PHREEQC).
#[derive(Clone, Copy)]
struct Strength {
    mol_kg: f64,
    root: f64,
}

impl Strength {
    /// The law says nothing above 3 mol/kg and is held at its value there.
    fn new(mol_kg: f64) -> Self {
        const STRONGEST: f64 = 3.0;
        let mol_kg = mol_kg.min(STRONGEST);
        Self { mol_kg, root: mol_kg.sqrt() }
    }

    /// log₁₀ of an activity coefficient.
    fn log_gamma(self, charge: f64, (a, b): (f64, f64)) -> f64 {
        b * self.mol_kg - DEBYE_HUCKEL_A * charge * charge * self.root / (1.0 + DEBYE_HUCKEL_B * a * self.root)
    }

    fn log_gamma_of(self, ion: Ion) -> f64 {
        self.log_gamma(ion.charge(), ion.constants().wateq)
    }

    fn gamma_of(self, ion: Ion) -> f64 {
        exp(self.log_gamma_of(ion) * LN_10)
    }
}

/// An ion pair of a cation with sulfate, from `phreeqc.dat`.
struct Pair {
    cation: Cation,
    charge: f64,
    log_k: f64,
    wateq: (f64, f64),
    diffusion_m2_s: f64,
}

/// `CaSO₄⁰`, `MgSO₄⁰`, `NaSO₄⁻` and `KSO₄⁻`. The neutral ones have log γ = 0.1 I and carry no current.
#[rustfmt::skip]
const PAIRS: [Pair; 4] = [
    Pair { cation: Cation::Calcium,   charge: 0.0,  log_k: 2.25, wateq: (0.0, 0.1), diffusion_m2_s: 0.471e-9 },
    Pair { cation: Cation::Magnesium, charge: 0.0,  log_k: 2.37, wateq: (0.0, 0.1), diffusion_m2_s: 0.445e-9 },
    Pair { cation: Cation::Sodium,    charge: -1.0, log_k: 0.7,  wateq: (5.4, 0.0), diffusion_m2_s: 0.618e-9 },
    Pair { cation: Cation::Potassium, charge: -1.0, log_k: 0.85, wateq: (5.4, 0.0), diffusion_m2_s: 0.746e-9 },
];

impl Pair {
    /// Pair molality over the product of the free molalities.
    fn apparent_constant(&self, strength: Strength) -> f64 {
        let ions = strength.log_gamma_of(self.cation.ion()) + strength.log_gamma_of(Ion::Sulfate);
        exp((self.log_k + ions - strength.log_gamma(self.charge, self.wateq)) * LN_10)
    }
}

/// One solution at equilibrium with itself, in mol/kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solution {
    /// All that is dissolved, free or paired.
    pub total: Amounts,
    /// The free ions.
    pub free: Amounts,
    /// `CaSO₄`, `MgSO₄`, `NaSO₄⁻` and `KSO₄⁻`, in the order of the table of pairs.
    pub pairs: [f64; 4],
    /// Half the sum of molality times charge squared over all species.
    pub ionic_strength: f64,
}

impl Solution {
    /// The speciation of water with those ions (mol/L).
    ///
    /// ```
    /// use trayful::coir::{Ion, Salt, Solutes, Solution};
    /// let gypsum = Salt::from_formula("gypsum", "CaSO4.2H2O")?;
    /// let gypsum = Solution::of(&Solutes::of_salts([(&gypsum, 15.1)])?);
    /// assert!(gypsum.free[Ion::Calcium] < 0.0115);        // a third of it is paired
    /// assert!((gypsum.ec_ms_cm() - 2.26).abs() < 0.01);
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn of(solutes: &Solutes) -> Self {
        Self::speciate(*solutes.mol())
    }

    /// The speciation of those totals, mol/kg.
    pub(crate) fn speciate(total: Amounts) -> Self {
        settle(&total, Convention::Molal, |_| total.cations())
    }

    /// Activity of water, by PHREEQC's approximation 1 - 0.017 × (molality of all that is dissolved).
    pub(crate) fn water_activity(&self) -> f64 {
        (1.0 - 0.017 * self.species().map(|(.., molality)| molality).sum::<f64>()).max(0.0)
    }

    /// Charge, diffusion coefficient (m²/s) and molality of each free ion, then of each pair.
    pub(crate) fn species(&self) -> impl Iterator<Item = (f64, f64, f64)> {
        let ions = self.free.iter().map(|(ion, molality)| (ion.charge(), ion.diffusion_m2_s(), molality));
        ions.chain(PAIRS.iter().zip(self.pairs).map(|(pair, molality)| (pair.charge, pair.diffusion_m2_s, molality)))
    }

    /// Activity of a free ion.
    pub(crate) fn activity(&self, ion: Ion) -> f64 {
        self.free[ion] * Strength::new(self.ionic_strength).gamma_of(ion)
    }
}

/// What a medium of a given ionic strength and free sulfate does to the cations in it.
pub(crate) struct Medium {
    apparent: [f64; 4],
    /// Free over total molality.
    pub free_share: PerCation,
    /// Activity coefficients; 1 where nothing needs them.
    pub gamma: PerCation,
}

impl Medium {
    /// With the free sulfate given; without any sulfate in all, nothing is paired.
    fn new(ionic_strength: f64, free_sulfate: f64, sulfate: f64, convention: Convention) -> Self {
        let strength = Strength::new(ionic_strength);
        let mut medium = Self { apparent: [0.0; 4], free_share: [1.0; 5], gamma: [1.0; 5] };
        if sulfate > 0.0 {
            for (pair, apparent) in PAIRS.iter().zip(&mut medium.apparent) {
                *apparent = pair.apparent_constant(strength);
                medium.free_share[pair.cation as usize] = 1.0 / (1.0 + *apparent * free_sulfate);
            }
        }
        if convention == Convention::Activity {
            medium.gamma = Cation::ALL.map(|cation| strength.gamma_of(cation.ion()));
        }
        medium
    }

    fn speciate(&self, total: Amounts) -> Solution {
        let mut free = total;
        for cation in Cation::ALL {
            free[cation.ion()] *= self.free_share[cation as usize];
        }
        let bound: [f64; 4] = std::array::from_fn(|i| self.apparent[i] * free[PAIRS[i].cation.ion()]);
        let free_sulfate = total[Ion::Sulfate] / (1.0 + bound.iter().sum::<f64>());
        free[Ion::Sulfate] = free_sulfate;
        let pairs = bound.map(|per_sulfate| per_sulfate * free_sulfate);
        let mut solution = Solution { total, free, pairs, ionic_strength: 0.0 };
        let doubled: f64 = solution.species().map(|(charge, _, molality)| charge * charge * molality).sum();
        solution.ionic_strength = 0.5 * doubled;
        solution
    }
}

/// Rounds of the fixed point before bisection takes over; 26 were the most over 400 random courses.
const ROUNDS: usize = 100;
const RELATIVE: f64 = 1e-13;

/// Finds the solution whose ionic strength and free sulfate reproduce themselves. `anions` gives the anions (mol/kg);
/// `cations` says how much of each cation (free and paired) is dissolved in a medium.
///
/// Without sulfate and with molal exchange nothing depends on the medium and one round is all.
pub(crate) fn settle(
    anions: &Amounts,
    convention: Convention,
    mut cations: impl FnMut(&Medium) -> PerCation,
) -> Solution {
    let sulfate = anions[Ion::Sulfate];
    let mut round = |ionic_strength, free_sulfate| {
        let medium = Medium::new(ionic_strength, free_sulfate, sulfate, convention);
        medium.speciate(anions.with_cations(cations(&medium)))
    };
    // A guess at the two numbers that everything else follows from.
    let (mut ionic_strength, mut free_sulfate) = (anions.anion_charge(), 0.5 * sulfate);
    if sulfate == 0.0 && convention == Convention::Molal {
        return round(ionic_strength, free_sulfate);
    }
    for _ in 0..ROUNDS {
        let solution = round(ionic_strength, free_sulfate);
        let next = (solution.ionic_strength, solution.free[Ion::Sulfate]);
        if close(next.0, ionic_strength) && close(next.1, free_sulfate) {
            return solution;
        }
        (ionic_strength, free_sulfate) = next;
    }
    settle_by_bracket(anions, round)
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= RELATIVE * a.abs()
}

/// The sure way: free sulfate lies between nothing and all of it, ionic strength between 0 and twice the charge of
/// the anions (all ions divalent and free), and both errors change sign in between.
fn settle_by_bracket(anions: &Amounts, mut round: impl FnMut(f64, f64) -> Solution) -> Solution {
    let sulfate = anions[Ion::Sulfate];
    let mut at_strength = |ionic_strength| {
        let mut error = |free_sulfate| free_sulfate - round(ionic_strength, free_sulfate).free[Ion::Sulfate];
        let ends = [0.0, sulfate].map(|free_sulfate| (free_sulfate, error(free_sulfate)));
        let free_sulfate = crossing(error, ends[0], ends[1], RELATIVE).unwrap_or(0.0);
        round(ionic_strength, free_sulfate)
    };
    let mut error = |ionic_strength| ionic_strength - at_strength(ionic_strength).ionic_strength;
    let most = 2.0 * anions.anion_charge();
    let ends = [0.0, most].map(|ionic_strength| (ionic_strength, error(ionic_strength)));
    let strength = crossing(error, ends[0], ends[1], RELATIVE).unwrap_or(most);
    at_strength(strength)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fallback_agrees_with_the_fixed_point() {
        for scale in [1e-9, 1e-3, 0.02, 0.3, 2.0] {
            let total = Amounts::from_iter([
                (Ion::Sodium, 0.2 * scale),
                (Ion::Potassium, 0.4 * scale),
                (Ion::Calcium, 0.9 * scale),
                (Ion::Magnesium, 0.3 * scale),
                (Ion::Sulfate, 1.5 * scale),
            ]);
            let fixed_point = Solution::speciate(total);
            let bracket = settle_by_bracket(&total, |ionic_strength, free_sulfate| {
                Medium::new(ionic_strength, free_sulfate, total[Ion::Sulfate], Convention::Molal).speciate(total)
            });
            for (ion, molality) in fixed_point.free.iter() {
                assert!((molality - bracket.free[ion]).abs() <= 1e-11 * molality, "{ion:?} at {scale}");
            }
        }
    }
}
