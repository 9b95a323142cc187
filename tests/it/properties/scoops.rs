//! Quarter scoops, against every choice of them.

use super::some_cases;
use proptest::prelude::*;
use trayful::plan::{LoadShare, TOLERANCE, quarter_scoops};

/// The smallest sum of quarters by trying every choice.
fn fewest(wanted: &[LoadShare], need: f64, step: f64, tolerance: f64, most: u64) -> Option<u64> {
    fn tried(wanted: &[LoadShare], chosen: &mut Vec<u64>, left: u64, check: &dyn Fn(&[u64]) -> bool) -> bool {
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
    (0..=most).find(|sum| tried(wanted, &mut Vec::new(), *sum, &|chosen| good(wanted, chosen, need, step, tolerance)))
}

fn good(wanted: &[LoadShare], chosen: &[u64], need: f64, step: f64, tolerance: f64) -> bool {
    let litres: Vec<f64> = wanted.iter().zip(chosen).map(|(want, n)| want.given + *n as f64 * step).collect();
    let total: f64 = litres.iter().sum();
    total >= need - 1e-9
        && wanted
            .iter()
            .zip(&litres)
            .all(|(want, litres)| (litres - want.share * total).abs() <= tolerance * want.share * total + 1e-9)
        && wanted.iter().zip(chosen).all(|(want, chosen)| want.measured || *chosen == 0)
}

fn wants() -> impl Strategy<Value = Vec<LoadShare>> {
    prop::collection::vec((1_u32..7, 0_u32..4, prop::bool::ANY), 2..5).prop_map(|parts| {
        let sum: u32 = parts.iter().map(|(parts, ..)| parts).sum();
        let share = |parts: u32| f64::from(parts) / f64::from(sum);
        parts
            .iter()
            .map(|(parts, given, measured)| LoadShare {
                share: share(*parts),
                given: share(*parts) * f64::from(*given),
                measured: *measured || *given == 0,
            })
            .collect()
    })
}

proptest! {
    #![proptest_config(some_cases(256))]

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
    let want = |share: f64| LoadShare { share, given: 0.0, measured: true };
    let wanted = [want(1.0 - 1e-7), want(1e-7)];
    // A quarter scoop of the rare one asks for millions of litres: no tub holds that.
    assert_eq!(quarter_scoops(&wanted, 50.0, Some(54.0), 0.5, TOLERANCE), None);
    assert!(quarter_scoops(&wanted, 50.0, None, 0.5, TOLERANCE).is_some());
    assert!(quarter_scoops(&[want(0.5), want(0.5)], 1e9, None, 1e-3, TOLERANCE).is_some());
}
