//! From a laboratory's saturated-media extract to the shares of the exchange sites.

use super::activity::Solution;
use super::error::{CoirError, each_within, within};
use super::exchange::{Model, SiteFractions};
use super::ion::Amounts;

/// The shares of the exchange sites in equilibrium with a saturated extract of those ions (mmol/L).
///
/// Anions matter only through sulfate pairing and, with activities, ionic strength; leave out what was not measured.
///
/// # Errors
/// [`CoirError::OutOfRange`] for a negative amount, more than 2 mol/L, or an extract without exchangeable ions.
///
/// ```
/// use trayful::coir::{Amounts, Cation, Ion, Model, sites_from_extract};
/// let extract = Amounts::from([
///     (Ion::Potassium, 15.0), (Ion::Sodium, 4.0), (Ion::Calcium, 0.5), (Ion::Magnesium, 0.4),
/// ]);
/// let sites = sites_from_extract(extract, &Model::default())?;
/// assert!((sites.of(Cation::Potassium) - 0.631).abs() < 0.001);
/// # Ok::<(), trayful::coir::CoirError>(())
/// ```
pub fn sites_from_extract(mmol_per_l: Amounts, model: &Model) -> Result<SiteFractions, CoirError> {
    const TRACE_MMOL_L: f64 = 1e-9;
    const MOST_MMOL_L: f64 = 2000.0;
    let extract = each_within("an ion of the extract, in mmol/L,", mmol_per_l, &(0.0..=MOST_MMOL_L))?;
    let cations = extract.cations().iter().sum();
    within("the cations of the extract, in mmol/L,", cations, TRACE_MMOL_L..=5.0 * MOST_MMOL_L)?;
    Ok(SiteFractions::in_equilibrium_with(&Solution::speciate(extract * 1e-3), model))
}
