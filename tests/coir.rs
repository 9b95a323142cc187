//! The coir model against published figures. Each check names its source; "from memory" marks one not re-read.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "published/coir_practice.rs"]
mod coir_practice;
#[path = "published/conductivity.rs"]
mod conductivity;
#[path = "published/gypsum.rs"]
mod gypsum;
#[path = "published/phreeqc.rs"]
mod phreeqc;
#[path = "properties/coir.rs"]
mod properties;
#[path = "published/salts.rs"]
mod salts;
#[path = "published/ussl.rs"]
mod ussl;

use trayful::coir::{Amounts, Ion, Salt, Solutes};

fn salt(formula: &str) -> Salt {
    Salt::from_formula(formula, formula).unwrap()
}

/// Water with those ions, mmol/L, bicarbonate making up for what is missing.
fn water<const COUNT: usize>(mmol_per_l: [(Ion, f64); COUNT]) -> Solutes {
    Solutes::tap_water(Amounts::from(mmol_per_l)).unwrap()
}

#[track_caller]
fn assert_within(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{what}: {got}, published {want} ± {tolerance}");
}

#[track_caller]
fn assert_relative(what: &str, got: f64, want: f64, relative: f64) {
    assert_within(what, got, want, relative * want.abs());
}
