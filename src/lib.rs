//! Sowing mix for the trays of a sowing day.
#![forbid(unsafe_code)]

#[cfg(not(doctest))]
#[macro_use]
extern crate uom;
pub mod awake;
pub mod behaviour;
pub mod catalogue;
pub mod checked;
pub mod cli;
pub mod coir;
pub mod diagnostic;
pub mod exact;
mod hash;
pub mod moment;
pub mod place;
pub mod plan;
pub mod printable;
pub mod recipe;
pub mod report;
pub mod schema;
pub mod season;
pub mod source;
pub mod spelling;
pub mod stock;
pub mod units;
pub mod watering;
pub mod week;
pub mod wrap;
