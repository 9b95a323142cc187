//! Sowing mix for the trays of a sowing day.
#[macro_use]
extern crate uom;
pub mod catalogue;
pub mod diagnostic;
pub mod exact;
pub mod recipe;
pub mod source;
pub mod units;
pub mod week;
