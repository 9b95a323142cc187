//! A salt: its ions per formula unit, what a mole of it weighs, and what to beware of.

use super::error::{CoirError, within};
use super::formula::FormulaUnit;
use super::ion::{Amounts, Ion, WATER_G_PER_MOL};

/// A salt, built from its formula by [`Salt::from_formula`].
///
/// An amount in moles counts formula units: one `5Ca(NO3)2.NH4NO3` is 5 Ca, 1 NH4 and 11 NO3.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Salt {
    /// The name given to [`Salt::from_formula`].
    pub name: String,
    /// The formula as given.
    pub formula: String,
    /// Ions per formula unit.
    pub ions: Amounts,
    /// Water of hydration per formula unit.
    waters: f64,
    label_ca_percent: Option<f64>,
}

impl Salt {
    /// A salt by its formula. The name may be any word people use for it, the formula's own text included.
    ///
    /// # Errors
    /// [`CoirError::Formula`] where the formula cannot be read, [`CoirError::Charged`] where its ions do not balance.
    ///
    /// ```
    /// use trayful::coir::{Ion, Salt};
    /// let salt = Salt::from_formula("calcium nitrate double salt", "5Ca(NO3)2.NH4NO3.10H2O")?;
    /// assert_eq!(salt.ions[Ion::Nitrate], 11.0);
    /// assert!((salt.molar_mass_g() - 1080.6).abs() < 0.05);
    /// assert!(Salt::from_formula("typing slip", "CaNO3").is_err());
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn from_formula(name: impl Into<String>, formula: &str) -> Result<Self, CoirError> {
        let FormulaUnit { ions, waters } = FormulaUnit::parse(formula)?;
        Ok(Self { name: name.into(), formula: formula.to_owned(), ions, waters, label_ca_percent: None })
    }

    /// The same salt with the calcium its label declares, in percent by mass. The label wins over the formula
    /// wherever grams and moles are converted; the proportions of the ions stay those of the formula.
    ///
    /// # Errors
    /// [`CoirError::NoCalcium`], and [`CoirError::OutOfRange`] below 1 % or above what the salt without any water holds.
    ///
    /// ```
    /// use trayful::coir::Salt;
    /// let bag = Salt::from_formula("calcium nitrate double salt", "5Ca(NO3)2.NH4NO3.10H2O")?.with_label_ca(19.0)?;
    /// assert!((bag.grams(1.0) - 5.0 * 40.078 / 0.19).abs() < 1e-9);
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn with_label_ca(mut self, percent: f64) -> Result<Self, CoirError> {
        if !self.has_calcium() {
            return Err(CoirError::NoCalcium(self.name));
        }
        let dry = 100.0 * self.calcium_g() / self.ions_g();
        self.label_ca_percent = Some(within("the calcium on the label, in %,", percent, 1.0..=dry)?);
        Ok(self)
    }

    /// Whether the formula holds water of hydration.
    pub fn is_hydrate(&self) -> bool {
        self.waters > 0.0
    }

    /// Molar mass in g/mol of formula units, by the formula.
    pub fn molar_mass_g(&self) -> f64 {
        self.ions_g() + self.waters * WATER_G_PER_MOL
    }

    /// Calcium by the formula, in percent by mass.
    pub fn formula_ca_percent(&self) -> f64 {
        100.0 * self.calcium_g() / self.molar_mass_g()
    }

    /// What to weigh for so many moles of formula units: by the label's calcium if there is one, else by the formula.
    pub fn grams(&self, mol: f64) -> f64 {
        mol * self.label_ca_percent.map_or_else(|| self.molar_mass_g(), |percent| 100.0 * self.calcium_g() / percent)
    }

    /// Moles of formula units in so many grams: the inverse of [`Salt::grams`].
    pub fn moles(&self, grams: f64) -> f64 {
        grams / self.grams(1.0)
    }

    /// Grams of a formula unit without its water of hydration.
    fn ions_g(&self) -> f64 {
        self.ions.iter().map(|(ion, count)| ion.molar_mass_g() * count).sum()
    }

    fn calcium_g(&self) -> f64 {
        self.ions[Ion::Calcium] * Ion::Calcium.molar_mass_g()
    }

    /// Whether the salt brings calcium.
    pub fn has_calcium(&self) -> bool {
        self.ions[Ion::Calcium] > 0.0
    }

    /// Whether it brings ammonium, which makes poisonous gas with bleach.
    pub fn has_ammonium(&self) -> bool {
        self.ions[Ion::Ammonium] > 0.0
    }

    /// Whether it is calcium sulfate and nothing else, which dissolves only so far (see [`solubility_mol_kg`](super::solubility_mol_kg)).
    pub fn is_gypsum(&self) -> bool {
        self.ions == Amounts::from_iter([(Ion::Calcium, 1.0), (Ion::Sulfate, 1.0)])
    }

    /// Moles of cations per formula unit: the measure of a bath's strength.
    pub fn cations(&self) -> f64 {
        self.ions.cations().iter().sum()
    }

    /// What to beware of, from safety data sheets; the label and the sheet of the product at hand come first.
    pub fn cautions(&self) -> Vec<&'static str> {
        let has = |ion| self.ions[ion] > 0.0;
        let calcium_chloride = has(Ion::Calcium) && has(Ion::Chloride);
        let cautions = [
            // Safety data sheets for CAS 13477-34-4 and 10043-52-4, the double salt and the anhydrous salts alike.
            (
                calcium_chloride || has(Ion::Calcium) && has(Ion::Nitrate),
                "serious eye damage is possible: wear goggles and gloves",
            ),
            // The class of an oxidiser depends on the grade.
            (has(Ion::Nitrate), "keep dry, closed, apart from fuel, acids and heat"),
            (has(Ion::Calcium) && has(Ion::Ammonium), "harmful if swallowed"),
            (
                calcium_chloride && !self.is_hydrate(),
                "heats the water it dissolves in: add the salt to the water slowly, never water to the salt",
            ),
            (has(Ion::Sulfate), "do not breathe the dust"),
            (has(Ion::Nitrate), "keep its nitrate water from drains, ditches, ponds and wells"),
            (has(Ion::Chloride), "the drained water holds chloride: keep it from salt-sensitive plants"),
            (self.is_gypsum(), "dissolves slowly: use fine powder and stir; grains left over keep the water salty"),
        ];
        cautions.into_iter().filter(|(applies, _)| *applies).map(|(_, text)| text).collect()
    }
}
