//! A course: hydrate, wash, soak, rinse, each followed by draining.
//!
//! Before a step the coir holds some water with its ions. The step adds water with its salts; sites and water come to
//! equilibrium; then the bath drains to the water that the coir holds. Draining is no step of its own. The soluble
//! salts of the coir dissolve in the first step. Solid gypsum that a bath leaves undissolved is taken to go with it.

use std::collections::HashSet;
use std::ops::RangeInclusive;

use super::bath::{Addition, WetCoir};
use super::error::within;
use super::{Amounts, Bath, Cation, Coir, CoirError, Model, Salt, Solutes};
use crate::source::words;
use crate::units::Tally;

/// The strongest bath, in moles of cations per litre of added water. Gypsum, which limits itself, does not count.
pub const MAX_STRENGTH_MOL_L: f64 = 0.5;

/// Dry coir that a course may be for, kg.
pub(crate) const DRY_KG: RangeInclusive<f64> = 1e-6..=1e6;

/// Hours of a step that does not say how long it takes.
const UNSTATED_HOURS: f64 = 1.0;

words! {
    /// What is done in a step.
    Action {
        /// Water to swell the dry coir.
        Hydrate = "hydrate",
        /// Plain water before the soaks.
        Wash = "wash",
        /// The calcium bath.
        Soak = "soak",
        /// Plain water after the soaks.
        Rinse = "rinse",
    }
}

/// So many moles (formula units) of a salt.
#[derive(Debug, Clone, PartialEq)]
pub struct SaltDose {
    /// The salt.
    pub salt: Salt,
    /// Moles of formula units.
    pub mol: f64,
}

impl SaltDose {
    /// Grams to weigh, by the label's calcium if the salt has one.
    pub fn grams(&self) -> f64 {
        self.salt.grams(self.mol)
    }
}

/// One step of a course, built by [`CourseStep::new`] and [`CourseStep::with_salt`].
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct CourseStep {
    /// What is done.
    pub action: Action,
    /// Fresh water, L.
    pub water_l: f64,
    /// Duration without draining, hours; one where none was given.
    pub hours: f64,
    /// The salts in the water.
    pub doses: Vec<SaltDose>,
}

impl CourseStep {
    /// A step with so many litres of fresh water.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless the water is 1e-6 to 1e9 L.
    pub fn new(action: Action, water_l: f64) -> Result<Self, CoirError> {
        within("the water of a step, in L,", water_l, 1e-6..=1e9)?;
        Ok(Self { action, water_l, hours: UNSTATED_HOURS, doses: Vec::new() })
    }

    /// The same step with so many moles of a salt in its water; of gypsum, so many moles of the solid.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] for a negative amount, or for a bath beyond [`MAX_STRENGTH_MOL_L`].
    ///
    /// ```
    /// use trayful::coir::{Action, Salt, CourseStep};
    /// let salt = Salt::from_formula("calcium nitrate tetrahydrate", "Ca(NO3)2.4H2O")?;
    /// let soak = CourseStep::new(Action::Soak, 10.0)?.with_salt(salt.clone(), 0.25)?;     // 25 mmol/L
    /// assert!(CourseStep::new(Action::Soak, 10.0)?.with_salt(salt, 6.0).is_err());        // 0.6 mol/L
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn with_salt(mut self, salt: Salt, mol: f64) -> Result<Self, CoirError> {
        within("the salt of a step, in mol,", mol, 0.0..=1e9)?;
        self.doses.push(SaltDose { salt, mol });
        let strength = self.strength_mol_l();
        if strength > MAX_STRENGTH_MOL_L * (1.0 + 1e-12) {
            within("the salts dissolved in a bath, in mol/L of their cations,", strength, 0.0..=MAX_STRENGTH_MOL_L)?;
        }
        Ok(self)
    }

    /// The same step with its duration.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless it is 0 to 2000 hours.
    pub fn with_hours(mut self, hours: f64) -> Result<Self, CoirError> {
        self.hours = within("the hours of a step", hours, 0.0..=2000.0)?;
        Ok(self)
    }

    /// Each salt in the water, by name, with its grams.
    pub fn salt_g(&self) -> Vec<(&str, f64)> {
        grams_of(&self.doses)
    }

    /// All salts in the water, g.
    pub fn grams(&self) -> f64 {
        self.doses.iter().fold(0.0, |sum, dose| sum + dose.grams())
    }

    /// Moles of cations per litre of fresh water, gypsum left out.
    pub fn strength_mol_l(&self) -> f64 {
        self.soluble_doses().map(|dose| dose.mol * dose.salt.cations()).sum::<f64>() / self.water_l
    }

    fn soluble_doses(&self) -> impl Iterator<Item = &SaltDose> {
        self.doses.iter().filter(|dose| !dose.salt.is_gypsum())
    }

    fn addition(&self, tap: &Solutes) -> Addition {
        let salts = self.soluble_doses().fold(Amounts::ZERO, |sum, dose| sum + dose.salt.ions * dose.mol);
        let gypsum = self.doses.iter().filter(|dose| dose.salt.is_gypsum());
        Addition {
            water_l: self.water_l,
            dissolved_mol: *tap.mol() * self.water_l + salts,
            gypsum_mol: gypsum.fold(0.0, |sum, dose| sum + dose.mol),
        }
    }
}

/// The grams of each salt, by name, in the order of first use.
fn grams_of<'d>(doses: impl IntoIterator<Item = &'d SaltDose>) -> Vec<(&'d str, f64)> {
    let grams = doses.into_iter().map(|dose| (dose.salt.name.as_str(), dose.grams()));
    grams.collect::<Tally<_, _>>().into_iter().collect()
}

/// Coir, water and steps: everything that a course needs.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Course {
    /// Dry coir, kg.
    pub dry_kg: f64,
    pub(super) coir: Coir,
    tap: Solutes,
    /// The steps, at least one.
    pub steps: Vec<CourseStep>,
    model: Model,
}

impl Course {
    /// A course of `steps` for `dry_kg` kilograms of dry coir, with tap water of those ions.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless there is 1e-6 to 1e6 kg of coir, [`CoirError::NoSteps`].
    ///
    /// ```
    /// use trayful::coir::{Action, Cation, Course, Model, Salt, SoldAs, Solutes, CourseStep};
    /// let Some(coir) = SoldAs::Washed.coir() else { unreachable!() };
    /// let salt = Salt::from_formula("calcium nitrate tetrahydrate", "Ca(NO3)2.4H2O")?;
    /// let steps = vec![
    ///     CourseStep::new(Action::Hydrate, 7.0)?,
    ///     CourseStep::new(Action::Soak, 10.0)?.with_salt(salt, 0.25)?,
    ///     CourseStep::new(Action::Rinse, 10.0)?,
    /// ];
    /// let baths = Course::new(1.0, coir, Solutes::NONE, steps, Model::default())?.run();
    /// assert!((baths[1].sites.of(Cation::Calcium) - 0.727).abs() < 0.001);   // PHREEQC: 0.7273
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn new(dry_kg: f64, coir: Coir, tap: Solutes, steps: Vec<CourseStep>, model: Model) -> Result<Self, CoirError> {
        within("the dry coir, in kg,", dry_kg, DRY_KG)?;
        if steps.is_empty() {
            return Err(CoirError::NoSteps);
        }
        Ok(Self { dry_kg, coir, tap, steps, model })
    }

    /// Each salt of the course, by name, with its grams, in the order of first use.
    pub fn salt_g(&self) -> Vec<(&str, f64)> {
        grams_of(self.steps.iter().flat_map(|step| &step.doses))
    }

    /// The salts of all steps together, g.
    pub fn grams(&self) -> f64 {
        self.steps.iter().fold(0.0, |sum, step| sum + step.grams())
    }

    /// The salts of the course, each once by its name, in the order of first use.
    pub fn salts(&self) -> impl Iterator<Item = &Salt> {
        let mut named = HashSet::new();
        let doses = self.steps.iter().flat_map(|step| &step.doses);
        doses.map(|dose| &dose.salt).filter(move |salt| named.insert(&salt.name))
    }

    /// The bath of each step.
    pub fn run(&self) -> Vec<Bath> {
        self.baths(self.coir, self.model).map(|(_, bath)| bath).collect()
    }

    /// What each step adds, and its bath.
    pub(crate) fn results(&self) -> impl Iterator<Item = (Addition, Bath)> {
        self.baths(self.coir, self.model)
    }

    /// The same for other coir or by another model.
    fn baths(&self, coir: Coir, model: Model) -> impl Iterator<Item = (Addition, Bath)> {
        let mut coir = WetCoir::new(self.dry_kg, &coir, model);
        self.steps.iter().map(move |step| {
            let addition = step.addition(&self.tap);
            (addition, coir.bathe(&addition))
        })
    }

    /// Sodium and potassium at the end as a share of the sites, lowest and highest, over what is not known about coir:
    /// log K of potassium ±0.3, log K of calcium and magnesium ±0.5, the range of the exchange capacity, and the first
    /// composition of the sites, one at a time with the same baths.
    pub fn monovalent_range(&self) -> [f64; 2] {
        let [potassium, divalent]: [&[Cation]; 2] = [&[Cation::Potassium], &[Cation::Calcium, Cation::Magnesium]];
        let models = [(potassium, -0.3), (potassium, 0.3), (divalent, -0.5), (divalent, 0.5)]
            .map(|(cations, delta)| (self.coir, self.model.with_moved_log_k(cations, delta)));
        let capacities = self.coir.capacity_range_mol_kg;
        let coirs = capacities.map(|capacity_mol_kg| (Coir { capacity_mol_kg, ..self.coir }, self.model));
        let others = self.coir.sites_range().map(|sites| (Coir { sites, ..self.coir }, self.model));
        // Of coir by a lab report both ends are itself.
        let coirs = coirs.into_iter().chain(others).filter(|(coir, _)| *coir != self.coir);
        let end_of = |(coir, model): (Coir, Model)| {
            self.baths(coir, model).last().map_or(coir.sites, |(_, bath)| bath.sites).monovalent()
        };
        let ends = models.into_iter().chain(coirs).map(end_of);
        ends.fold([end_of((self.coir, self.model)); 2], |[low, high], end| [low.min(end), high.max(end)])
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// A salt named twice in a step is one amount to weigh; gypsum, a solid, makes no bath stronger.
    #[test]
    fn doses_of_one_salt_add_up() {
        let salt = |name, formula| Salt::from_formula(name, formula).unwrap();
        let (chloride, gypsum) = (salt("chloride", "CaCl2"), salt("gypsum", "CaSO4.2H2O"));
        let step = CourseStep::new(Action::Soak, 10.0).unwrap().with_salt(chloride.clone(), 1.0).unwrap();
        let step = step.with_salt(gypsum.clone(), 9.0).unwrap().with_salt(chloride.clone(), 2.0).unwrap();
        assert_eq!(
            step.salt_g(),
            [("chloride", chloride.grams(1.0) + chloride.grams(2.0)), ("gypsum", gypsum.grams(9.0))]
        );
        assert!((step.strength_mol_l() - 0.3).abs() < 1e-12);
        let addition = step.addition(&Solutes::NONE);
        assert_eq!((addition.gypsum_mol, addition.water_l), (9.0, 10.0));
    }
}
