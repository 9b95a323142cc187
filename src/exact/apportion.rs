//! Shares in whole units that sum to their total: the largest-remainder method.

use super::whole;

/// Splits `total` whole units over the `weights`, each share within one unit of
/// its exact size, the shares summing to `total`.
///
/// Units left after rounding down go to the largest remainders, ties to the
/// earlier entry (the method of Hamilton, used for seats in assemblies). All
/// zero where the weights sum to nothing.
///
/// ```
/// use trayful::exact::apportion;
/// assert_eq!(apportion(100, &[1.0, 1.0, 1.0]), [34, 33, 33]);
/// ```
pub fn apportion(total: u64, weights: &[f64]) -> Vec<u64> {
    let sum: f64 = weights.iter().sum();
    if !(sum > 0.0 && sum.is_finite()) {
        return vec![0; weights.len()];
    }
    let exact: Vec<f64> = weights.iter().map(|weight| total as f64 * weight / sum).collect();
    let mut shares: Vec<u64> = exact.iter().map(|share| whole(share.floor())).collect();
    let mut by_remainder: Vec<usize> = (0..weights.len()).collect();
    by_remainder.sort_by(|&a, &b| (exact[b].fract()).total_cmp(&exact[a].fract()).then(a.cmp(&b)));
    // Beyond 2^53 the floats are off by more than one; no sum may overflow then.
    let left = shares.iter().fold(total, |left, share| left.saturating_sub(*share));
    for &index in by_remainder.iter().take(usize::try_from(left).unwrap_or(usize::MAX)) {
        shares[index] += 1;
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::apportion;

    #[test]
    fn shares_sum_and_stay_near() {
        let weights = [3.0, 1.0, 1.0, 1.0, 0.333];
        for total in 0..500 {
            let shares = apportion(total, &weights);
            assert_eq!(shares.iter().sum::<u64>(), total);
            for (share, weight) in shares.iter().zip(weights) {
                let exact = total as f64 * weight / weights.iter().sum::<f64>();
                assert!((*share as f64 - exact).abs() < 1.0);
            }
        }
    }

    #[test]
    fn totals_beyond_all_measure_do_not_overflow() {
        assert_eq!(apportion(u64::MAX, &[1.0, 1.0, 1.0, 1.0]).len(), 4);
        assert_eq!(apportion(u64::MAX, &[3.0, 1.0, 1.0, 1.0]).len(), 4);
    }

    #[test]
    fn no_weights_no_shares() {
        assert_eq!(apportion(7, &[]), Vec::<u64>::new());
        assert_eq!(apportion(7, &[0.0, 0.0]), [0, 0]);
    }
}
