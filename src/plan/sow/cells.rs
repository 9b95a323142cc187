//! How many cells to sow for so many plants.
//!
//! A cell gives a plant with the chance p = (1 - (1 - germination)^seeds) x usable.
//! The cells wanted are the smallest n with P(Bin(n, p) >= plants) >= surety.

use crate::exact::{Fraction, whole};
use crate::week::MOST_CELLS;
use libm::{exp, log, log1p};

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
    fewest(plants, p, surety, |cells| chance_of(plants, cells, p) >= surety)
}

/// The fewest cells that are `enough`, which is asked only where an estimate leaves it open.
fn fewest(plants: u64, p: f64, surety: f64, mut enough: impl FnMut(u64) -> bool) -> Option<u64> {
    let possible = p > 0.0 && p <= 1.0 && surety > 0.0 && surety < 1.0;
    if !possible || plants > MOST_CELLS {
        return None;
    }
    if plants == 0 || p >= 1.0 {
        return Some(plants);
    }
    let near = estimate(plants, p, surety);
    let cells = whole(near.ceil().max(0.0)).clamp(plants, MOST_CELLS + 1);
    // Where most cells live and many may not, the estimate is right to less than a hundredth of a cell
    // (a test says so), so it decides unless it lies close to a whole number.
    let varies = near * p * (1.0 - p);
    if p > 0.1 && varies > 50.0 && (0.02..0.98).contains(&near.fract()) && (1e-6..1.0 - 1e-6).contains(&surety) {
        return (cells <= MOST_CELLS).then_some(cells);
    }
    // The chance rises with the cells: from the estimate outwards by doubled steps to a
    // number that is too few and one that is enough, then halfway between them.
    let (mut low, mut high, mut step) = (cells, cells, 1);
    if enough(cells) {
        low = cells.saturating_sub(1);
        while low >= plants && enough(low) {
            high = low;
            low = low.saturating_sub(step);
            step *= 2;
        }
        low = low.max(plants - 1);
    } else {
        high += 1;
        while !enough(high) {
            if high > MOST_CELLS {
                return None;
            }
            low = high;
            high += step;
            step *= 2;
        }
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        *(if enough(middle) { &mut high } else { &mut low }) = middle;
    }
    (high <= MOST_CELLS).then_some(high)
}

/// The number of cells, with its fraction, at which the chance of `plants` is `surety`:
/// the normal approximation of Peizer and Pratt (1968, "A normal approximation for
/// binomial, F, beta, and other common, related tail probabilities"; from memory),
/// solved for the cells by Newton's steps.
fn estimate(plants: u64, p: f64, surety: f64) -> f64 {
    let (q, wanted) = (1.0 - p, deviations(surety));
    let few = plants as f64 - 1.0;
    // The fewest cells for which the formula is defined.
    let least = few + 0.75;
    let mut cells = ((few + 0.5) / p + wanted * (few + 1.0).sqrt() * q.sqrt() / p).max(least);
    for _ in 0..8 {
        let deviation = (cells * p * q).sqrt();
        let (lived, failed) = (few + 0.5, cells - few - 0.5);
        let beyond = lived - cells * p;
        let skew = 0.02 * (q / (few + 1.0) - p / (cells - few) + (q - 0.5) / (cells + 1.0));
        let distance = few + 2.0 / 3.0 - (cells + 1.0 / 3.0) * p + skew;
        let spread = 2.0 * (deviance(lived, cells * p) + deviance(failed, cells * q)) / (1.0 + 1.0 / (6.0 * cells));
        let scale = if beyond.abs() < 1e-6 * deviation { 1.0 / deviation } else { spread.sqrt() / beyond.abs() };
        let step = (wanted + distance * scale) * deviation / p;
        cells = (cells + step).max(least);
        if step.abs() < 1e-4 {
            break;
        }
    }
    cells
}

/// The number of standard deviations below which a normal variable lies with a chance, to
/// about 1e-9 (the rational approximations of Acklam 2003; from memory, tested).
fn deviations(chance: f64) -> f64 {
    let polynomial = |x: f64, factors: &[f64]| factors.iter().fold(0.0, |sum, factor| sum * x + factor);
    let away = chance - 0.5;
    if away.abs() <= 0.475_75 {
        return away * polynomial(away * away, &CENTRE.0) / polynomial(away * away, &CENTRE.1);
    }
    let root = (-2.0 * log(chance.min(1.0 - chance))).sqrt();
    -away.signum() * polynomial(root, &TAIL.0) / polynomial(root, &TAIL.1)
}

const CENTRE: ([f64; 6], [f64; 6]) = (
    [
        -39.696_830_286_653_76,
        220.946_098_424_520_5,
        -275.928_510_446_968_7,
        138.357_751_867_269,
        -30.664_798_066_147_16,
        2.506_628_277_459_239,
    ],
    [
        -54.476_098_798_224_06,
        161.585_836_858_040_9,
        -155.698_979_859_886_6,
        66.801_311_887_719_72,
        -13.280_681_552_885_72,
        1.0,
    ],
);
const TAIL: ([f64; 6], [f64; 5]) = (
    [
        -0.007_784_894_002_430_293,
        -0.322_396_458_041_136_5,
        -2.400_758_277_161_838,
        -2.549_732_539_343_734,
        4.374_664_141_464_968,
        2.938_163_982_698_783,
    ],
    [0.007_784_695_709_041_462, 0.322_467_129_070_039_8, 2.445_134_137_142_996, 3.754_408_661_907_416, 1.0],
);

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
        return exp(n_ * if p < q { log(p) } else { log1p(-q) });
    }
    let exponent = stirling_error(n_)
        - stirling_error(k_)
        - stirling_error(n_ - k_)
        - deviance(k_, n_ * p)
        - deviance(n_ - k_, n_ * q);
    (n_ / (std::f64::consts::TAU * k_ * (n_ - k_))).sqrt() * exp(exponent)
}

/// ln n! minus Stirling's formula.
fn stirling_error(n: f64) -> f64 {
    if n < 16.0 {
        // Exact enough by summing logarithms.
        let factorial: f64 = (2..=15).map(f64::from).take_while(|k| *k <= n).map(log).sum();
        return factorial - (n + 0.5) * log(n) + n - 0.5 * log(std::f64::consts::TAU);
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
    x * log(x / m) + m - x
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

    /// The same by halving from the mean and three deviations, each chance summed anew.
    fn searched(plants: u64, p: f64, surety: f64) -> Option<u64> {
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

    fn guess(plants: u64, p: f64) -> u64 {
        let mean = plants as f64 / p;
        let deviation = (mean * (1.0 - p) / p).sqrt();
        whole((mean + 3.0 * deviation).floor()).clamp(plants, MOST_CELLS)
    }

    /// Numbers from 0 to 1, the same in every run.
    fn numbers() -> impl FnMut() -> f64 {
        let mut state: u64 = 7;
        move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        }
    }

    #[test]
    fn the_estimate_changes_no_answer() {
        let mut number = numbers();
        for (most, cases) in [(4.0, 3_000), (40.0, 3_000), (400.0, 3_000), (4e3, 300), (1e6, 10)] {
            for case in 0..cases {
                let plants = whole(1.0 + number() * most);
                let p = match case % 4 {
                    1 => 1.0 - 0.1 * number().powi(4),
                    2 => 1e-6 + 0.1 * number().powi(3),
                    _ => number(),
                };
                let surety = match case % 3 {
                    0 => 1.0 - 1e-9 - 0.1 * number().powi(6),
                    1 => 1e-9 + number().powi(4) * 0.9,
                    _ => 0.5 + 0.499 * number(),
                };
                assert_eq!(cells_for(plants, p, surety), searched(plants, p, surety), "{plants} {p} {surety}");
            }
        }
        for (plants, p, surety) in [(0, 0.5, 0.9), (1, 0.5, 0.5), (2, 0.5, 0.5), (50, 0.5, 0.5), (9_999_999, 1.0, 0.9)]
        {
            assert_eq!(cells_for(plants, p, surety), searched(plants, p, surety), "{plants} {p} {surety}");
        }
    }

    #[test]
    fn where_it_decides_the_estimate_is_right_to_a_hundredth_of_a_cell() {
        let mut number = numbers();
        for case in 0..4_000 {
            let plants = whole(6.0 + number() * if case % 2 == 0 { 300.0 } else { 5_000.0 });
            let (p, surety) = (0.1 + 0.9 * number(), 1e-6 + (1.0 - 2e-6) * number());
            let near = estimate(plants, p, surety);
            if near * p * (1.0 - p) > 50.0 {
                let cells = searched(plants, p, surety).unwrap() as f64;
                assert!(near < cells + 0.01 && near > cells - 1.01, "{plants} {p} {surety}: {near}, {cells}");
            }
        }
    }

    #[test]
    fn few_chances_are_summed() {
        let (mut number, mut summed) = (numbers(), 0);
        let mut count = |most: f64, cases: usize| {
            summed = 0;
            for _ in 0..cases {
                let (plants, p) = (whole(most * (0.5 + number())), 0.5 + 0.49 * number());
                let surety = 0.5 + 0.499 * number();
                fewest(plants, p, surety, |cells| {
                    summed += 1;
                    chance_of(plants, cells, p) >= surety
                });
            }
            f64::from(summed) / cases as f64
        };
        let (few, many) = (count(30.0, 1_000), count(1e6, 1_000));
        assert!(few < 2.5 && many < 0.1, "{few}, {many}");
    }

    #[test]
    fn deviations_are_those_of_tables() {
        let known =
            [(0.5, 0.0), (0.9, 1.281_551_565_544_6), (0.975, 1.959_963_984_540_1), (0.999, 3.090_232_306_167_8)];
        for (chance, expected) in known {
            assert!((deviations(chance) - expected).abs() < 1e-8 && (deviations(1.0 - chance) + expected).abs() < 1e-8);
        }
    }
}
