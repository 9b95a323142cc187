//! Dissolved ions that are known to balance: the salts of raw coir, tap water.

use super::error::{CoirError, within};
use super::ion::{Amounts, Ion};
use super::salt::Salt;

/// Dissolved ions in mol per litre of water or per kilogram of dry coir: none negative, neutral as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Solutes(Amounts);

/// The most of any one salt or ion, mmol.
const MOST_MMOL: f64 = 10_000.0;

impl Solutes {
    /// Pure water, or coir without soluble salts.
    pub const NONE: Self = Self(Amounts::ZERO);

    pub(crate) const fn unchecked(mol: Amounts) -> Self {
        Self(mol)
    }

    /// So many mmol of each salt (per litre or per kilogram).
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] for a negative amount or more than 10 mol.
    pub fn of_salts<'a>(salts: impl IntoIterator<Item = (&'a Salt, f64)>) -> Result<Self, CoirError> {
        let mut sum = Amounts::ZERO;
        for (salt, mmol) in salts {
            sum = sum + salt.ions * (within("an amount of salt, in mmol,", mmol, 0.0..=MOST_MMOL)? * 1e-3);
        }
        Ok(Self(sum))
    }

    /// Tap water by its analysis in mmol/L. Analyses seldom balance and often leave bicarbonate out, so bicarbonate
    /// takes whatever value makes the water neutral.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] for a negative amount or more than 10 mol/L, [`CoirError::CationsMissing`] if the
    /// other anions outweigh the cations by more than 1 %.
    ///
    /// ```
    /// use trayful::coir::{Amounts, Ion, Solutes};
    /// let tap = Solutes::tap_water(Amounts::from_iter([(Ion::Calcium, 1.5), (Ion::Chloride, 1.0)]))?;
    /// assert!((tap.mol()[Ion::Bicarbonate] - 0.002).abs() < 1e-15);
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn tap_water(mmol_per_l: Amounts) -> Result<Self, CoirError> {
        let mut mmol = mmol_per_l;
        for (_, amount) in mmol_per_l.iter() {
            within("an ion of the water, in mmol/L,", amount, 0.0..=MOST_MMOL)?;
        }
        mmol[Ion::Bicarbonate] = 0.0;
        let anions = mmol.anion_charge();
        let cations = mmol.charge() + anions;
        if cations >= anions {
            mmol[Ion::Bicarbonate] = cations - anions;
        } else if cations >= 0.99 * anions {
            mmol = mmol.with_cations(mmol.cations().map(|cation| cation * anions / cations));
        } else {
            return Err(CoirError::CationsMissing(anions - cations));
        }
        Ok(Self(mmol * 1e-3))
    }

    /// The ions in mol (per litre or per kilogram).
    pub const fn mol(&self) -> &Amounts {
        &self.0
    }
}
