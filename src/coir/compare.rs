//! Several salts side by side for the same coir.

use serde::Serialize;

use super::course::Action;
use super::design::{Brief, Verdict};
use super::error::CoirError;
use super::salt::Salt;

/// What a course with one salt comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Name of the salt.
    pub salt: String,
    /// Salt of all soaks, g.
    pub salt_g: f64,
    /// Number of soaks.
    pub soaks: usize,
    /// Number of rinses.
    pub rinses: usize,
    /// EC of the strongest fresh bath, mS/cm.
    pub fresh_ec_ms_cm: f64,
    /// EC of the last bath, mS/cm.
    pub rinse_ec_ms_cm: f64,
    /// Sodium and potassium at the end, as a share of the sites.
    pub monovalent: f64,
    /// Nitrogen in all the drained water, as nitrate and as ammonium, g.
    pub nitrogen_g: f64,
    /// Nitrogen as nitrate in the drained water, mg/L.
    pub nitrate_n_mg_l: f64,
    /// Chloride in the drained water, mg/L.
    pub chloride_mg_l: f64,
    /// Whether the target is met.
    pub meets_target: bool,
}

/// Designs the same course with each salt, in the order given.
///
/// # Errors
/// [`CoirError::NoCalcium`] for a salt without calcium, or as for [`Brief::design`].
///
/// ```
/// use trayful::coir::{Brief, Salt, SoldAs, compare};
/// let Some(coir) = SoldAs::Washed.coir() else { unreachable!() };
/// let salts = [
///     Salt::from_formula("calcium nitrate tetrahydrate", "Ca(NO3)2.4H2O")?,
///     Salt::from_formula("calcium chloride dihydrate", "CaCl2.2H2O")?,
/// ];
/// let rows = compare(&Brief::new(1.0, coir, salts[0].clone()), &salts)?;
/// assert!(rows[1].salt_g < rows[0].salt_g && rows[1].nitrogen_g == 0.0);
/// # Ok::<(), trayful::coir::CoirError>(())
/// ```
pub fn compare(brief: &Brief, salts: &[Salt]) -> Result<Vec<Comparison>, CoirError> {
    salts.iter().map(|salt| Comparison::new(brief, salt)).collect()
}

impl Comparison {
    fn new(brief: &Brief, salt: &Salt) -> Result<Self, CoirError> {
        let sheet = Brief { salt: salt.clone(), ..brief.clone() }.design()?;
        let count = |action| sheet.course.steps.iter().filter(|step| step.action == action).count();
        let report = &sheet.report;
        Ok(Self {
            salt: salt.name().to_owned(),
            salt_g: sheet.salt_g(),
            soaks: count(Action::Soak),
            rinses: count(Action::Rinse),
            fresh_ec_ms_cm: report.results.iter().map(|result| result.fresh_ec_ms_cm).fold(0.0, f64::max),
            rinse_ec_ms_cm: report.rinse_ec_ms_cm,
            monovalent: report.sites.monovalent(),
            nitrogen_g: report.waste.nitrogen_g,
            nitrate_n_mg_l: report.waste.nitrate_n_mg_l,
            chloride_mg_l: report.waste.chloride_mg_l,
            meets_target: sheet.verdict == Verdict::Met,
        })
    }
}
