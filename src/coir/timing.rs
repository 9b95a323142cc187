//! How long to soak: diffusion into the particles, and the wetting of blocks.
//!
//! Exchange itself takes minutes. For a sphere of radius r in a stirred bath, 95 % of the change takes
//! `t = T r² R / (τ D)` (Crank's sphere in a limited volume).

use super::error::{CoirError, within};

/// Dimensionless time to 95 % for a bath a few times the sphere's own water (0.15 to 0.25).
const T95: f64 = 0.2;
/// Mean diffusion coefficient of calcium nitrate in water, m²/s.
const DIFFUSION_M2_S: f64 = 1.30e-9;
/// Free path through wet coir as a share of that in water: an estimate.
const TORTUOSITY: f64 = 0.3;
/// Retardation by exchange, 1 + site charge per inner water over charge of the bath: an estimate.
const RETARDATION: [f64; 2] = [2.75, 4.0];

/// Hours of a soak of mixed fibre: common practice, of 12 to 48.
pub const USUAL_SOAK_HOURS: f64 = 24.0;

/// Hours of a soak for particles of a diameter in mm: the usual ones, or the slow estimate of diffusion rounded up to
/// six hours where that is longer.
///
/// # Errors
/// [`CoirError::OutOfRange`] unless the diameter is 0.01 to 50 mm.
///
/// ```
/// use trayful::coir::soak_hours;
/// assert_eq!(soak_hours(3.0)?, 24.0);
/// assert_eq!(soak_hours(16.0)?, 42.0);
/// # Ok::<(), trayful::coir::CoirError>(())
/// ```
pub fn soak_hours(diameter_mm: f64) -> Result<f64, CoirError> {
    const MULTIPLE: f64 = 6.0;
    let [_, slow] = diffusion_hours(diameter_mm)?;
    Ok(USUAL_SOAK_HOURS.max((slow / MULTIPLE).ceil() * MULTIPLE))
}

/// Hours until a particle of that diameter has taken up 95 % in a stirred bath, by the fast and by the slow estimate.
///
/// # Errors
/// [`CoirError::OutOfRange`] unless the diameter is 0.01 to 50 mm.
pub fn diffusion_hours(diameter_mm: f64) -> Result<[f64; 2], CoirError> {
    let radius_m = within("the particles, in mm,", diameter_mm, 0.01..=50.0)? * 0.5e-3;
    Ok(RETARDATION.map(|retardation| T95 * radius_m * radius_m * retardation / (TORTUOSITY * DIFFUSION_M2_S) / 3600.0))
}

/// Hours of the other steps beside a soak of that length: an hour with a day's soak, longer for chips.
pub(crate) fn short_step_hours(soak_hours: f64) -> f64 {
    (soak_hours / USUAL_SOAK_HOURS).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// For 2 mm: 0.2 x (1e-3)² x 2.75 / (0.3 x 1.3e-9) = 1410 s by the fast estimate, 2051 s by the slow one; four times
    /// that for 4 mm.
    #[test]
    fn hours_grow_with_the_square_of_the_diameter() {
        let [fast, slow] = diffusion_hours(2.0).unwrap();
        assert!((fast * 3600.0 - 1410.256).abs() < 1e-3 && (slow * 3600.0 - 2051.282).abs() < 1e-3);
        let [_, slow_4] = diffusion_hours(4.0).unwrap();
        assert!((slow_4 / slow - 4.0).abs() < 1e-12);
        assert!([0.0, -1.0, 50.1, f64::NAN].into_iter().all(|diameter_mm| diffusion_hours(diameter_mm).is_err()));
    }
}
