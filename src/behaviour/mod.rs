//! How a mix and its feed behave. Pure models, each with its source.

mod feeding;
pub mod packing;

pub use feeding::{Analysis, Feed, Fertiliser, Percentages, STRONG_PPM};
