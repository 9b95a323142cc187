//! The linear packing model between its two limits.

use super::some_cases;
use proptest::prelude::*;
use trayful::behaviour::packing::{limit, linear};

proptest! {
    #![proptest_config(some_cases(256))]

    #[test]
    fn the_linear_model_lies_between_the_limit_and_no_shrinkage(
        coarse in 0.0..=1.0_f64, gaps in 0.2..=0.7_f64, ratio in 0.0..=1.0_f64,
    ) {
        let fine = 1.0 - coarse;
        let blended = linear(coarse, fine, gaps, ratio);
        prop_assert!(limit(coarse, fine, gaps) <= blended + 1e-12);
        prop_assert!(blended <= 1.0 + 1e-12);
        prop_assert!((linear(coarse, fine, gaps, 0.0) - limit(coarse, fine, gaps)).abs() < 1e-12);
        prop_assert!((linear(coarse, fine, gaps, 1.0) - 1.0).abs() < 1e-12);
    }
}
