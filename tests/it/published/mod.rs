//! The program against the outside: standards, handbook tables, worked examples.
//!
//! One module for each family of sources; every check names its source. "Read" means
//! that the figure stood in the source when it was consulted, "from memory" that it was
//! not looked up again, "common practice" that no source was found. Known misprints are
//! tested as misprints: the check that they fail is part of the test.

mod behaviour;
mod bench;
mod cells;
mod coir_practice;
mod conductivity;
mod crops;
mod densities;
mod filling;
mod gypsum;
mod phreeqc;
mod practice;
mod recipes;
mod salts;
mod sowing;
mod trays;
mod units;
mod ussl;

use trayful::coir::{Amounts, Ion, Salt, Solutes};

pub fn salt(formula: &str) -> Salt {
    Salt::from_formula(formula, formula).unwrap()
}

/// Water with those ions, mmol/L, bicarbonate making up for what is missing.
pub fn water<const COUNT: usize>(mmol_per_l: [(Ion, f64); COUNT]) -> Solutes {
    Solutes::tap_water(Amounts::from_iter(mmol_per_l)).unwrap()
}

#[track_caller]
pub fn assert_within(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{what}: {got}, published {want} ± {tolerance}");
}

#[track_caller]
pub fn assert_relative(what: &str, got: f64, want: f64, relative: f64) {
    assert_within(what, got, want, relative * want.abs());
}
