//! Scoops: whole quarters of the measure that keep the proportions.

use crate::units::{cover, fits, in_litres};
use std::cmp::Ordering;

/// How far each ingredient's share of a load may be from the recipe's, as a share of it, where
/// the week does not say: 16.7 % may be 15 to 18.3 %. A scoop struck off by hand is hardly truer
/// (common practice, no source).
pub const TOLERANCE: f64 = 0.10;
/// Scoops are split in quarters, which the eye still tells.
pub const QUARTERS: f64 = 4.0;
/// Sums tried for one load; each one rules out all that fail for the same reason.
const MOST_TRIED: usize = 5_000;
/// Beyond this floats no longer tell one quarter from the next.
const MOST_QUARTERS: u64 = 1 << 53;

/// One ingredient of a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadShare {
    /// Its share of the load; the shares of a load sum to one.
    pub share: f64,
    /// Litres of it that are in the load already, with the shared base.
    pub given: f64,
    /// Whether more of it may be measured in.
    pub measured: bool,
}

impl LoadShare {
    /// A share of which nothing is there yet.
    pub(super) const fn of_share(share: f64) -> Self {
        Self { share, given: 0.0, measured: true }
    }
}

/// Quarter scoops for each ingredient of a load: the smallest load of at least `need`
/// and at most `most` litres whose shares all stay within `tolerance`, `step` being the
/// litres of a quarter scoop. Of equally small ones the nearest to the shares.
///
/// ```
/// use trayful::plan::{LoadShare, quarter_scoops};
/// let want = |parts: f64| LoadShare { share: parts / 6.0, given: 0.0, measured: true };
/// // 3 : 1 : 1 : 1, 17 L from quarters of a 2 L scoop: half a litre more keeps the shares.
/// let wanted = [want(3.0), want(1.0), want(1.0), want(1.0)];
/// assert_eq!(quarter_scoops(&wanted, 17.0, None, 0.5, 0.05), Some(vec![17, 6, 6, 6]));
/// ```
pub fn quarter_scoops(
    wanted: &[LoadShare],
    need: f64,
    most: Option<f64>,
    step: f64,
    tolerance: f64,
) -> Option<Vec<u64>> {
    let given: f64 = wanted.iter().map(|want| want.given).sum();
    let each = in_litres(step);
    let quarters = |litres: f64| cover(in_litres(litres), each).map(|covered| covered.count);
    let last = match most {
        Some(most) if most + 1e-9 < given => return None,
        Some(most) => fits(in_litres(most - given), each)?.min(MOST_QUARTERS),
        None => MOST_QUARTERS,
    };
    let mut sum = quarters(need - given)?;
    for _ in 0..MOST_TRIED {
        if sum > last {
            return None;
        }
        let total = given + sum as f64 * step;
        match bounds(wanted, total, step, tolerance) {
            Bounds::Within(bounds) => {
                let low = bounds.iter().try_fold(0_u64, |sum, (low, _)| sum.checked_add(*low))?;
                let high = bounds.iter().try_fold(0_u64, |sum, (_, high)| sum.checked_add(*high))?;
                if low <= sum && sum <= high {
                    return Some(nearest(wanted, &bounds, sum, step));
                }
                sum += 1;
            }
            Bounds::Larger(total) => sum = quarters(total - given)?.max(sum + 1),
            Bounds::Never => return None,
        }
    }
    None
}

/// What a total allows each ingredient.
enum Bounds {
    /// The fewest and the most quarters of each.
    Within(Vec<(u64, u64)>),
    /// Not before this total can every ingredient be within its bounds.
    Larger(f64),
    /// Neither with this total nor with a larger one.
    Never,
}

fn bounds(wanted: &[LoadShare], total: f64, step: f64, tolerance: f64) -> Bounds {
    let each = in_litres(step);
    let mut bounds = Vec::with_capacity(wanted.len());
    let mut larger: Option<f64> = None;
    for want in wanted {
        let share = want.share * total;
        let (least, most) = (share * (1.0 - tolerance), share * (1.0 + tolerance));
        if !want.measured && want.given < least * (1.0 - 1e-9) {
            return Bounds::Never;
        }
        let Some(low) = cover(in_litres(least - want.given), each) else { return Bounds::Never };
        let low = if want.measured { low.count } else { 0 };
        let filled = want.given + low as f64 * step;
        if filled > most * (1.0 + 1e-9) {
            let total = filled / (want.share * (1.0 + tolerance));
            larger = Some(larger.map_or(total, |known: f64| known.max(total)));
            continue;
        }
        let high = if want.measured { fits(in_litres(most - want.given), each).unwrap_or(low) } else { 0 };
        bounds.push((low, high.max(low)));
    }
    larger.map_or(Bounds::Within(bounds), Bounds::Larger)
}

/// Quarters within their bounds that sum to `sum`, as near to the shares as can be.
fn nearest(wanted: &[LoadShare], bounds: &[(u64, u64)], sum: u64, step: f64) -> Vec<u64> {
    let total = wanted.iter().map(|want| want.given).sum::<f64>() + sum as f64 * step;
    let ideal: Vec<f64> = wanted.iter().map(|want| (want.share * total - want.given) / step).collect();
    let mut quarters: Vec<u64> = ideal
        .iter()
        .zip(bounds)
        .map(|(ideal, (low, high))| fits(in_litres(ideal.max(0.0)), in_litres(1.0)).unwrap_or(0).clamp(*low, *high))
        .collect();
    loop {
        let reached: u64 = quarters.iter().sum();
        // How much a quarter more or less would be off the share, in parts of the share.
        let off = |index: usize, more: f64| (quarters[index] as f64 + more - ideal[index]) / wanted[index].share;
        let places = 0..quarters.len();
        let next = match reached.cmp(&sum) {
            Ordering::Less => places
                .filter(|index| quarters[*index] < bounds[*index].1)
                .min_by(|a, b| off(*a, 1.0).total_cmp(&off(*b, 1.0))),
            Ordering::Greater => places
                .filter(|index| quarters[*index] > bounds[*index].0)
                .max_by(|a, b| off(*a, -1.0).total_cmp(&off(*b, -1.0))),
            Ordering::Equal => None,
        };
        let Some(index) = next else { return quarters };
        quarters[index] = if reached < sum { quarters[index] + 1 } else { quarters[index] - 1 };
    }
}
