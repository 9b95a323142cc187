//! Scoops: whole quarters of the measure that keep the proportions.

use crate::units::{cover, fits, in_litres};

/// How far each ingredient's share of a load may be from the recipe's, as a share of it:
/// 16.7 % may be 15.8 to 17.5 %. A scoop struck off by hand is hardly truer (common
/// practice, no source).
pub const TOLERANCE: f64 = 0.05;
/// Scoops are split in quarters, which the eye still tells.
pub const QUARTERS: f64 = 4.0;
/// Sums tried for one load; each one rules out all that fail for the same reason.
const MOST_TRIED: usize = 5_000;
/// Beyond this floats no longer tell one quarter from the next.
const MOST_QUARTERS: u64 = 1 << 53;

/// One ingredient of a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Its share of the load; the shares of a load sum to one.
    pub share: f64,
    /// Litres of it that are in the load already, with the shared base.
    pub given: f64,
    /// Whether more of it may be measured in.
    pub measured: bool,
}

impl Wanted {
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
/// use trayful::plan::{Wanted, quarter_scoops};
/// let want = |parts: f64| Wanted { share: parts / 6.0, given: 0.0, measured: true };
/// // 3 : 1 : 1 : 1, 17 L from quarters of a 2 L scoop: half a litre more keeps the shares.
/// let wanted = [want(3.0), want(1.0), want(1.0), want(1.0)];
/// assert_eq!(quarter_scoops(&wanted, 17.0, None, 0.5, 0.05), Some(vec![17, 6, 6, 6]));
/// ```
#[must_use]
pub fn quarter_scoops(wanted: &[Wanted], need: f64, most: Option<f64>, step: f64, tolerance: f64) -> Option<Vec<u64>> {
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

fn bounds(wanted: &[Wanted], total: f64, step: f64, tolerance: f64) -> Bounds {
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
fn nearest(wanted: &[Wanted], bounds: &[(u64, u64)], sum: u64, step: f64) -> Vec<u64> {
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
        let next = if reached < sum {
            let open = (0..quarters.len()).filter(|index| quarters[*index] < bounds[*index].1);
            open.min_by(|a, b| off(*a, 1.0).total_cmp(&off(*b, 1.0))).map(|index| (index, true))
        } else if reached > sum {
            let open = (0..quarters.len()).filter(|index| quarters[*index] > bounds[*index].0);
            open.max_by(|a, b| off(*a, -1.0).total_cmp(&off(*b, -1.0))).map(|index| (index, false))
        } else {
            None
        };
        match next {
            Some((index, true)) => quarters[index] += 1,
            Some((index, false)) => quarters[index] -= 1,
            None => return quarters,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The smallest sum of quarters by trying every choice.
    fn fewest(wanted: &[Wanted], need: f64, step: f64, tolerance: f64, most: u64) -> Option<u64> {
        fn tried(wanted: &[Wanted], chosen: &mut Vec<u64>, left: u64, check: &dyn Fn(&[u64]) -> bool) -> bool {
            if chosen.len() + 1 == wanted.len() {
                chosen.push(left);
                let good = check(chosen);
                chosen.pop();
                return good;
            }
            (0..=left).any(|count| {
                chosen.push(count);
                let good = tried(wanted, chosen, left - count, check);
                chosen.pop();
                good
            })
        }
        (0..=most)
            .find(|sum| tried(wanted, &mut Vec::new(), *sum, &|chosen| good(wanted, chosen, need, step, tolerance)))
    }

    fn good(wanted: &[Wanted], chosen: &[u64], need: f64, step: f64, tolerance: f64) -> bool {
        let litres: Vec<f64> = wanted.iter().zip(chosen).map(|(want, n)| want.given + *n as f64 * step).collect();
        let total: f64 = litres.iter().sum();
        total >= need - 1e-9
            && wanted
                .iter()
                .zip(&litres)
                .all(|(want, litres)| (litres - want.share * total).abs() <= tolerance * want.share * total + 1e-9)
            && wanted.iter().zip(chosen).all(|(want, chosen)| want.measured || *chosen == 0)
    }

    fn wants() -> impl Strategy<Value = Vec<Wanted>> {
        prop::collection::vec((1_u32..7, 0_u32..4, prop::bool::ANY), 2..5).prop_map(|parts| {
            let sum: u32 = parts.iter().map(|(parts, ..)| parts).sum();
            let share = |parts: u32| f64::from(parts) / f64::from(sum);
            parts
                .iter()
                .map(|(parts, given, measured)| Wanted {
                    share: share(*parts),
                    given: share(*parts) * f64::from(*given),
                    measured: *measured || *given == 0,
                })
                .collect()
        })
    }

    proptest! {
        #[test]
        fn no_smaller_load_would_do(wanted in wants(), need in 0.1..9.0_f64, tolerance in 0.03..0.25_f64) {
            const MOST: u64 = 30;
            let step = 0.5;
            let given: f64 = wanted.iter().map(|want| want.given).sum();
            let most = given + MOST as f64 * step;
            let found = quarter_scoops(&wanted, need, Some(most), step, tolerance);
            let expected = fewest(&wanted, need, step, tolerance, MOST);
            prop_assert_eq!(found.as_ref().map(|found| found.iter().sum::<u64>()), expected);
            if let Some(found) = found {
                prop_assert!(good(&wanted, &found, need, step, tolerance));
            }
        }
    }

    #[test]
    fn great_loads_and_tiny_shares_end() {
        let want = |share: f64| Wanted { share, given: 0.0, measured: true };
        let wanted = [want(1.0 - 1e-7), want(1e-7)];
        // A quarter scoop of the rare one asks for millions of litres: no tub holds that.
        assert_eq!(quarter_scoops(&wanted, 50.0, Some(54.0), 0.5, TOLERANCE), None);
        assert!(quarter_scoops(&wanted, 50.0, None, 0.5, TOLERANCE).is_some());
        assert!(quarter_scoops(&[want(0.5), want(0.5)], 1e9, None, 1e-3, TOLERANCE).is_some());
    }
}
