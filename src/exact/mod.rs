//! Exact arithmetic: parts as fractions, and shares that sum to their total.

mod apportion;
mod fraction;

pub use apportion::apportion;
pub use fraction::Fraction;
