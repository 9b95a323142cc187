//! How many cells to sow for so many plants.
//!
//! A cell gives a plant with the chance p = (1 - (1 - germination)^seeds) x usable.
//! The cells wanted are the smallest n with P(Bin(n, p) >= plants) >= surety.

use crate::exact::{Fraction, whole};
use crate::week::MOST_CELLS;

/// The chance that a cell gives a plant good enough to plant.
///
/// ```
/// use trayful::{exact::Fraction, plan::chance_per_cell};
/// let share = |percent| Fraction::new(percent, 100).unwrap();
/// assert!((chance_per_cell(share(55), 2, share(90)) - 0.71775).abs() < 1e-12);
/// ```
pub fn chance_per_cell(germination: Fraction, seeds: u64, usable: Fraction) -> f64 {
    let empty = if germination >= Fraction::ONE {
        0.0
    } else {
        // Seeds in a cell are few; a power beyond that is zero anyway.
        (1.0 - germination.to_f64()).powi(i32::try_from(seeds).unwrap_or(i32::MAX))
    };
    (1.0 - empty) * usable.to_f64()
}

/// The fewest cells that give `plants` with at least the chance `surety`, each cell
/// giving one with the chance `p`; `None` beyond [`MOST_CELLS`].
///
/// ```
/// // 100 plants at 75 % germination and 90 % usable: 149 cells on average, 159 to be 90 % sure.
/// assert_eq!(trayful::plan::cells_for(100, 0.75 * 0.90, 0.90), Some(159));
/// ```
pub fn cells_for(plants: u64, p: f64, surety: f64) -> Option<u64> {
    let possible = p > 0.0 && p <= 1.0 && surety > 0.0 && surety < 1.0;
    if !possible || plants > MOST_CELLS {
        return None;
    }
    // The chance rises with n, so the smallest n lies between plants and a bound
    // found by doubling.
    let enough = |cells: u64| chance_of(plants, cells, p) >= surety;
    let (mut low, mut high) = (plants, guess(plants, p));
    while !enough(high) {
        low = high + 1;
        high = high.saturating_mul(2);
        if low > MOST_CELLS {
            return None;
        }
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if enough(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    (low <= MOST_CELLS).then_some(low)
}

/// A number of cells near the answer for the usual sureties: mean and three deviations.
fn guess(plants: u64, p: f64) -> u64 {
    let mean = plants as f64 / p;
    let deviation = (mean * (1.0 - p) / p).sqrt();
    whole((mean + 3.0 * deviation).floor()).clamp(plants, MOST_CELLS)
}

/// P(Bin(cells, p) >= plants).
///
/// The tail is summed from the term nearest the mean outwards, each term from the one
/// before, so it costs a few deviations however many cells there are. The first term
/// is exact to about 1e-14 (Loader 2000, "Fast and accurate computation of binomial
/// probabilities"; from memory).
pub fn chance_of(plants: u64, cells: u64, p: f64) -> f64 {
    if plants == 0 {
        1.0
    } else if plants > cells {
        0.0
    } else if p >= 1.0 {
        1.0
    } else if plants as f64 > cells as f64 * p {
        upper_tail(plants, cells, p, 1.0 - p).min(1.0)
    } else {
        // The other tail is the small one: too many cells without a plant.
        (1.0 - upper_tail(cells - plants + 1, cells, 1.0 - p, p)).max(0.0)
    }
}

/// P(Bin(n, p) >= k) for a k above the mean, `q` being 1 - p.
fn upper_tail(k: u64, n: u64, p: f64, q: f64) -> f64 {
    let (mut sum, mut term) = (0.0, term(k, n, p, q));
    for k in k..=n {
        if term <= sum * 1e-18 {
            break;
        }
        sum += term;
        term *= (n - k) as f64 / (k + 1) as f64 * (p / q);
    }
    sum
}

/// P(Bin(n, p) = k) for k above zero by saddle point, without large logarithms that cancel.
fn term(k: u64, n: u64, p: f64, q: f64) -> f64 {
    let (k_, n_) = (k as f64, n as f64);
    if k == n {
        // The smaller of the two is the exact one.
        return (n_ * if p < q { p.ln() } else { (-q).ln_1p() }).exp();
    }
    let exponent = stirling_error(n_)
        - stirling_error(k_)
        - stirling_error(n_ - k_)
        - deviance(k_, n_ * p)
        - deviance(n_ - k_, n_ * q);
    (n_ / (std::f64::consts::TAU * k_ * (n_ - k_))).sqrt() * exponent.exp()
}

/// ln n! minus Stirling's formula.
fn stirling_error(n: f64) -> f64 {
    if n < 16.0 {
        // Exact enough by summing logarithms.
        let factorial: f64 = (2..=15).map(f64::from).take_while(|k| *k <= n).map(f64::ln).sum();
        return factorial - (n + 0.5) * n.ln() + n - 0.5 * std::f64::consts::TAU.ln();
    }
    let square = n * n;
    (1.0 / 12.0 - (1.0 / 360.0 - (1.0 / 1260.0 - (1.0 / 1680.0 - 1.0 / 1188.0 / square) / square) / square) / square)
        / n
}

/// x ln(x/m) + m - x, without cancellation near x = m.
fn deviance(x: f64, m: f64) -> f64 {
    if (x - m).abs() < 0.1 * (x + m) {
        let v = (x - m) / (x + m);
        let mut sum = (x - m) * v;
        let mut power = 2.0 * x * v;
        for j in 1..1000 {
            power *= v * v;
            let next = sum + power / f64::from(2 * j + 1);
            if (next - sum).abs() <= f64::EPSILON * sum.abs() {
                return next;
            }
            sum = next;
        }
        return sum;
    }
    x * (x / m).ln() + m - x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_by_hand_cases() {
        // Worked examples of the project's notes, checked with scipy.
        assert_eq!(cells_for(100, 0.75 * 0.90, 0.90), Some(159));
        assert_eq!(cells_for(72, 0.55 * 0.85, 0.90), Some(171));
        assert_eq!(cells_for(50, (1.0 - 0.45_f64.powi(2)) * 0.90, 0.90), Some(77));
    }

    #[test]
    fn small_cases_equal_the_plain_sum() {
        for n in 1..40_u64 {
            for p in [0.05_f64, 0.3, 0.5, 0.77, 0.99] {
                for plants in 0..=n {
                    let mut plain = 0.0;
                    for k in plants..=n {
                        let mut choose = 1.0;
                        for i in 0..k {
                            choose *= (n - i) as f64 / (i + 1) as f64;
                        }
                        let power = |p: f64, n: u64| p.powi(i32::try_from(n).unwrap());
                        plain += choose * power(p, k) * power(1.0 - p, n - k);
                    }
                    assert!((chance_of(plants, n, p) - plain).abs() < 1e-12, "{n} {p} {plants}");
                }
            }
        }
    }

    #[test]
    fn what_cannot_be_is_none() {
        assert_eq!(cells_for(1, 0.0, 0.9), None);
        assert_eq!(cells_for(1, f64::NAN, 0.9), None);
        assert_eq!(cells_for(1, 0.5, 1.0), None);
        assert_eq!(cells_for(MOST_CELLS, 0.5, 0.9), None);
        assert_eq!(cells_for(10, 1.0, 0.999), Some(10));
    }
}
