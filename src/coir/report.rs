//! What a course comes to: every bath, the water, the salts, the waste, the tub.

use serde::Serialize;
use std::fmt;

use super::bath::{Addition, Bath, WetCoir};
use super::course::{Course, CourseStep};
use super::exchange::SiteFractions;
use super::ion::{Amounts, Element, Ion};
use super::tub::Tub;

/// A step, with its bath before and after it met the coir.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepResult {
    /// The step.
    #[serde(flatten)]
    pub step: CourseStep,
    /// EC of the fresh bath at 25 °C, mS/cm: what a meter shows before the coir goes in.
    pub fresh_ec_ms_cm: f64,
    /// Saturation index of gypsum in the fresh bath; `None` without calcium or sulfate.
    #[serde(skip)]
    pub fresh_gypsum_si: Option<f64>,
    /// The bath at equilibrium.
    #[serde(flatten)]
    pub bath: Bath,
    /// Solid gypsum that dissolved, g.
    pub gypsum_dissolved_g: f64,
}

impl StepResult {
    fn new(step: &CourseStep, addition: &Addition, coir: &mut WetCoir) -> Self {
        let fresh = addition.fresh();
        let bath = coir.bathe(addition);
        let gypsum = step.doses().iter().find(|dose| dose.salt.is_gypsum());
        Self {
            step: step.clone(),
            fresh_ec_ms_cm: fresh.ec_ms_cm(),
            fresh_gypsum_si: fresh.gypsum_si(),
            gypsum_dissolved_g: gypsum.map_or(0.0, |dose| dose.salt.grams(bath.gypsum_dissolved_mol)),
            bath,
        }
    }
}

/// All the water that drains during a course, mixed.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Waste {
    /// Its volume, L.
    pub drain_l: f64,
    /// Nitrogen as nitrate, mg/L.
    pub nitrate_n_mg_l: f64,
    /// Nitrogen as ammonium, mg/L.
    #[serde(skip)]
    pub ammonium_n_mg_l: f64,
    /// Chloride, mg/L.
    pub chloride_mg_l: f64,
    /// Nitrogen as nitrate and as ammonium, g.
    pub nitrogen_g: f64,
}

impl Waste {
    fn of(drain_l: f64, drained_mol: &Amounts) -> Self {
        let mg_l = |ion, g_per_mol| {
            if drain_l > 0.0 { drained_mol[ion] * g_per_mol * 1e3 / drain_l } else { 0.0 }
        };
        let nitrate_n_mg_l = mg_l(Ion::Nitrate, Element::N.molar_mass_g());
        let ammonium_n_mg_l = mg_l(Ion::Ammonium, Element::N.molar_mass_g());
        Self {
            drain_l,
            nitrate_n_mg_l,
            ammonium_n_mg_l,
            chloride_mg_l: mg_l(Ion::Chloride, Element::CL.molar_mass_g()),
            nitrogen_g: (nitrate_n_mg_l + ammonium_n_mg_l) * drain_l * 1e-3,
        }
    }
}

/// What to beware of in a course, besides the [cautions of its salts](super::salt::Salt::cautions). Steps count from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CourseCaution {
    /// The fresh bath holds more calcium and sulfate than it can keep: gypsum may form. The model leaves it dissolved.
    GypsumMayForm {
        /// The step.
        step: usize,
        /// Saturation index of the fresh bath.
        si: f64,
    },
    /// Solid gypsum is left over; the model takes it to go with the bath.
    GypsumLeft {
        /// The step.
        step: usize,
        /// How much, mol.
        mol: f64,
    },
    /// A bath stronger than the activity and conductivity laws are meant for.
    OutsideModel {
        /// The step.
        step: usize,
        /// Ionic strength, mol/kg.
        ionic_strength: f64,
    },
    /// The drained water holds more nitrate than drinking water may.
    NitrateAboveLimit {
        /// Nitrogen as nitrate, mg/L.
        mg_l: f64,
    },
}

/// Highest ionic strength at which the activity law is trusted, mol/kg (from memory).
const TRUSTED_MOL_KG: f64 = 1.0;
/// Nitrogen as nitrate in drinking water, US limit, mg/L (from memory; the EU's 50 mg nitrate is 11.3 mg N).
const DRINKING_WATER_MG_L: f64 = 10.0;

impl CourseCaution {
    /// Its code in JSON.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::GypsumMayForm { .. } => "gypsum-may-form",
            Self::GypsumLeft { .. } => "gypsum-left",
            Self::OutsideModel { .. } => "outside-model",
            Self::NitrateAboveLimit { .. } => "nitrate-above-limit",
        }
    }
}

impl fmt::Display for CourseCaution {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match *self {
            Self::GypsumMayForm { step, .. } => {
                write!(
                    f,
                    "step {}: calcium and sulfate together may form gypsum; never mix their concentrated stocks",
                    step + 1
                )
            }
            Self::GypsumLeft { step, mol } => {
                write!(f, "step {}: {mol:.3} mol of gypsum stay undissolved and would keep the rinses salty", step + 1)
            }
            Self::OutsideModel { step, ionic_strength } => {
                write!(f, "step {}: at an ionic strength of {ionic_strength:.1} mol/kg the figures are rough", step + 1)
            }
            Self::NitrateAboveLimit { mg_l } => {
                write!(
                    f,
                    "the drained water holds {mg_l:.0} mg/L of nitrate nitrogen; drinking water may hold {DRINKING_WATER_MG_L:.0}"
                )
            }
        }
    }
}

/// What a course comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseReport {
    /// One for each step.
    pub results: Vec<StepResult>,
    /// The exchange sites at the end.
    pub sites: SiteFractions,
    /// EC of the last bath, mS/cm.
    pub rinse_ec_ms_cm: f64,
    /// Lowest and highest share of sodium and potassium at the end (see [`Course::monovalent_range`]).
    pub monovalent_range: [f64; 2],
    /// All fresh water, L.
    pub water_l: f64,
    /// All drained water.
    pub waste: Waste,
    /// The tub for the fullest step.
    pub tub: Tub,
    /// What to beware of.
    pub cautions: Vec<CourseCaution>,
}

impl Course {
    /// Runs the course and adds everything up.
    #[must_use]
    pub fn report(&self) -> CourseReport {
        let mut coir = self.start();
        let steps = self.steps().iter().zip(self.additions());
        let results: Vec<StepResult> =
            steps.map(|(step, addition)| StepResult::new(step, &addition, &mut coir)).collect();
        let baths = || results.iter().map(|result| &result.bath);
        let drained_mol = baths().map(|bath| bath.bath_mmol_per_kg * (bath.drained_l * 1e-3)).sum();
        let waste = Waste::of(baths().map(|bath| bath.drained_l).sum(), &drained_mol);
        CourseReport {
            sites: *coir.sites(),
            rinse_ec_ms_cm: results.last().map_or(0.0, |result| result.bath.ec_ms_cm),
            monovalent_range: self.monovalent_range(),
            water_l: self.steps().iter().map(CourseStep::water_l).sum(),
            tub: Tub::holding(baths().map(|bath| bath.total_l).fold(0.0, f64::max), self.dry_kg()),
            cautions: cautions(&results, &waste),
            waste,
            results,
        }
    }
}

fn cautions(results: &[StepResult], waste: &Waste) -> Vec<CourseCaution> {
    let mut cautions = Vec::new();
    for (step, result) in results.iter().enumerate() {
        // A bath with solid gypsum is saturated at most; rounding must not make that a warning.
        if let Some(si) = result.fresh_gypsum_si.filter(|&si| si > 1e-6) {
            cautions.push(CourseCaution::GypsumMayForm { step, si });
        }
        let bath = &result.bath;
        if bath.gypsum_left_mol > 0.0 {
            cautions.push(CourseCaution::GypsumLeft { step, mol: bath.gypsum_left_mol });
        }
        if bath.ionic_strength > TRUSTED_MOL_KG {
            cautions.push(CourseCaution::OutsideModel { step, ionic_strength: bath.ionic_strength });
        }
    }
    if waste.nitrate_n_mg_l > DRINKING_WATER_MG_L {
        cautions.push(CourseCaution::NitrateAboveLimit { mg_l: waste.nitrate_n_mg_l });
    }
    cautions
}
