//! What a trial of trays in pairs can tell: the exact test that flips the signs of their differences.

/// More pairs than a bench holds; their signs can be flipped in a million ways.
pub const MOST_PAIRS: usize = 20;

/// The chance that pairs which differ by chance alone would differ in the mean by as much as these, either way: of all ways
/// to flip the signs of the differences, the share that does. `None` without pairs, with more than [`MOST_PAIRS`], and with
/// a difference that is no number.
///
/// ```
/// use trayful::behaviour::{least_p, sign_flip_p};
/// // Of eight ways only +++ and --- reach a sum of six.
/// assert_eq!(sign_flip_p(&[1.0, 2.0, 3.0]), Some(0.25));
/// assert_eq!((least_p(4), least_p(6)), (0.125, 0.03125));
/// ```
pub fn sign_flip_p(differences: &[f64]) -> Option<f64> {
    let sum_of_all: f64 = differences.iter().map(|difference| difference.abs()).sum();
    if differences.is_empty() || differences.len() > MOST_PAIRS || !sum_of_all.is_finite() {
        return None;
    }
    // Sums that are the same but for rounding count.
    let reached = differences.iter().sum::<f64>().abs() - 1e-12 * sum_of_all;
    let ways = 1_u32 << differences.len();
    let sum = |way: u32| {
        let flipped = differences.iter().enumerate();
        flipped.map(|(pair, difference)| if way >> pair & 1 == 1 { -difference } else { *difference }).sum::<f64>()
    };
    let as_far = (0..ways).filter(|way| sum(*way).abs() >= reached).count();
    Some(as_far as f64 / f64::from(ways))
}

/// The least that [`sign_flip_p`] can give for so many pairs: where all differ the same way.
pub fn least_p(pairs: u16) -> f64 {
    0.5_f64.powi(i32::from(pairs) - 1)
}
