//! The ions of coir, its baths and its tap water, and the constants of each.

use std::ops::{Add, Index, IndexMut, Mul};

use self::atomic_weight::{C, CA, CL, H, K, MG, N, NA, O, S};
use crate::source::words;

words! {
    /// An ion of the bath, by its formula without charge. The first five are exchangeable (see [`Cation`]).
    Ion {
        /// Na⁺
        Sodium = "Na",
        /// K⁺
        Potassium = "K",
        /// NH₄⁺
        Ammonium = "NH4",
        /// Ca²⁺
        Calcium = "Ca",
        /// Mg²⁺
        Magnesium = "Mg",
        /// Cl⁻
        Chloride = "Cl",
        /// NO₃⁻
        Nitrate = "NO3",
        /// SO₄²⁻
        Sulfate = "SO4",
        /// HCO₃⁻: here only an inert anion that balances tap water.
        Bicarbonate = "HCO3",
    }
}

/// What is constant for an ion at 25 °C, in the order of [`Ion`].
///
/// Diffusion coefficients and WATEQ pairs (a, b) are those of `phreeqc.dat` (PHREEQC 3.7.3).
pub(crate) struct Constants {
    /// Each element by its atomic weight, and how many atoms of it.
    atoms: &'static [(f64, u8)],
    charge: f64,
    /// Tracer diffusion coefficient in water, in 1e-9 m²/s.
    diffusion_1e9_m2_s: f64,
    /// The a (Å) and b of the WATEQ activity law.
    pub wateq: (f64, f64),
}

#[rustfmt::skip]
const CONSTANTS: [Constants; 9] = [
    Constants { atoms: &[(NA, 1)],                  charge: 1.0,  diffusion_1e9_m2_s: 1.33,  wateq: (4.08, 0.082) },
    Constants { atoms: &[(K, 1)],                   charge: 1.0,  diffusion_1e9_m2_s: 1.96,  wateq: (3.5, 0.015) },
    Constants { atoms: &[(N, 1), (H, 4)],           charge: 1.0,  diffusion_1e9_m2_s: 1.98,  wateq: (2.5, 0.0) },
    Constants { atoms: &[(CA, 1)],                  charge: 2.0,  diffusion_1e9_m2_s: 0.793, wateq: (5.0, 0.165) },
    Constants { atoms: &[(MG, 1)],                  charge: 2.0,  diffusion_1e9_m2_s: 0.705, wateq: (5.5, 0.20) },
    Constants { atoms: &[(CL, 1)],                  charge: -1.0, diffusion_1e9_m2_s: 2.03,  wateq: (3.63, 0.017) },
    Constants { atoms: &[(N, 1), (O, 3)],           charge: -1.0, diffusion_1e9_m2_s: 1.90,  wateq: (3.0, 0.0) },
    Constants { atoms: &[(S, 1), (O, 4)],           charge: -2.0, diffusion_1e9_m2_s: 1.07,  wateq: (5.0, -0.04) },
    Constants { atoms: &[(H, 1), (C, 1), (O, 3)],   charge: -1.0, diffusion_1e9_m2_s: 1.18,  wateq: (5.4, 0.0) },
];

impl Ion {
    pub(crate) const fn constants(self) -> &'static Constants {
        &CONSTANTS[self as usize]
    }

    /// Every ion, exchangeable ones first, in the order of the JSON output.
    pub fn all() -> impl Iterator<Item = Self> {
        Self::WORDS.iter().map(|(_, ion)| *ion)
    }

    /// The ion of that formula, in capitals and small letters as chemists write it.
    pub fn from_formula(formula: &str) -> Option<Self> {
        Self::all().find(|ion| ion.word() == formula)
    }

    /// Charge number, signed.
    pub const fn charge(self) -> f64 {
        self.constants().charge
    }

    /// Molar mass in g/mol from the [atomic weights](atomic_weight).
    pub fn molar_mass_g(self) -> f64 {
        self.constants().atoms.iter().map(|&(weight, count)| weight * f64::from(count)).sum()
    }

    /// Whether the ion is a single atom.
    pub(crate) fn is_one_atom(self) -> bool {
        self.constants().atoms.iter().map(|&(_, count)| count).sum::<u8>() == 1
    }

    /// Tracer diffusion coefficient in water at 25 °C, m²/s.
    pub const fn diffusion_m2_s(self) -> f64 {
        self.constants().diffusion_1e9_m2_s * 1e-9
    }
}

/// An exchangeable ion: what the sites of coir can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cation {
    /// Na⁺
    Sodium,
    /// K⁺
    Potassium,
    /// NH₄⁺
    Ammonium,
    /// Ca²⁺
    Calcium,
    /// Mg²⁺
    Magnesium,
}

impl Cation {
    /// Every exchangeable ion, in the order of [`Ion::all`].
    pub const ALL: [Self; 5] = [Self::Sodium, Self::Potassium, Self::Ammonium, Self::Calcium, Self::Magnesium];

    /// The same as an [`Ion`].
    pub const fn ion(self) -> Ion {
        Ion::WORDS[self as usize].1
    }

    /// Charge number.
    pub const fn charge(self) -> f64 {
        self.ion().charge()
    }
}

/// A number for each exchangeable ion.
pub(crate) type PerCation = [f64; 5];

/// IUPAC standard atomic weights 2021, abridged values, g/mol (Prohaska et al. 2022, Pure Appl. Chem. 94:573; from
/// memory).
pub mod atomic_weight {
    /// Hydrogen
    pub const H: f64 = 1.008;
    /// Carbon
    pub const C: f64 = 12.011;
    /// Nitrogen
    pub const N: f64 = 14.007;
    /// Oxygen
    pub const O: f64 = 15.999;
    /// Sodium
    pub const NA: f64 = 22.990;
    /// Magnesium
    pub const MG: f64 = 24.305;
    /// Sulfur
    pub const S: f64 = 32.06;
    /// Chlorine
    pub const CL: f64 = 35.45;
    /// Potassium
    pub const K: f64 = 39.098;
    /// Calcium
    pub const CA: f64 = 40.078;
}

/// Molar mass of water in g/mol.
pub(crate) const WATER_G_PER_MOL: f64 = 2.0 * H + O;

/// An amount of each ion; the unit is that of the name it is bound to (`mol`, `mmol_per_kg` ...).
///
/// ```
/// use trayful::coir::{Amounts, Ion};
/// let hard = Amounts::from_iter([(Ion::Calcium, 1.5), (Ion::Chloride, 3.0)]);
/// assert_eq!(hard[Ion::Calcium], 1.5);
/// assert_eq!(hard.charge(), 0.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Amounts([f64; 9]);

impl Amounts {
    /// Nothing of any ion.
    pub const ZERO: Self = Self([0.0; 9]);

    /// The ions and their amounts, in the order of [`Ion::all`].
    pub fn iter(&self) -> impl Iterator<Item = (Ion, f64)> {
        Ion::all().zip(self.0)
    }

    /// Moles of charge, signed: zero for a neutral solution.
    pub fn charge(&self) -> f64 {
        self.iter().map(|(ion, amount)| ion.charge() * amount).sum()
    }

    /// Moles of negative charge, as a positive number.
    pub fn anion_charge(&self) -> f64 {
        self.iter().map(|(ion, amount)| (-ion.charge()).max(0.0) * amount).sum()
    }

    /// The exchangeable ones alone.
    pub(crate) fn cations(&self) -> PerCation {
        Cation::ALL.map(|cation| self[cation.ion()])
    }

    /// The same anions with other cations.
    pub(crate) fn with_cations(mut self, cations: PerCation) -> Self {
        self.0[..cations.len()].copy_from_slice(&cations);
        self
    }
}

/// Entries of the same ion add up.
impl FromIterator<(Ion, f64)> for Amounts {
    fn from_iter<I: IntoIterator<Item = (Ion, f64)>>(entries: I) -> Self {
        let mut amounts = Self::ZERO;
        for (ion, amount) in entries {
            amounts[ion] += amount;
        }
        amounts
    }
}

impl Index<Ion> for Amounts {
    type Output = f64;

    fn index(&self, ion: Ion) -> &f64 {
        &self.0[ion as usize]
    }
}

impl IndexMut<Ion> for Amounts {
    fn index_mut(&mut self, ion: Ion) -> &mut f64 {
        &mut self.0[ion as usize]
    }
}

impl Add for Amounts {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(std::array::from_fn(|ion| self.0[ion] + other.0[ion]))
    }
}

impl Mul<f64> for Amounts {
    type Output = Self;

    fn mul(self, factor: f64) -> Self {
        Self(self.0.map(|amount| amount * factor))
    }
}
