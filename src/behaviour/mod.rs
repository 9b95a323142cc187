//! How a mix and its feed behave.

mod feeding;

pub use feeding::{Analysis, Feed};
