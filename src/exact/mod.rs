//! Exact arithmetic: parts as fractions.

mod fraction;

pub use fraction::Fraction;

/// A float without a fraction as a whole number: zero below zero, the greatest beyond it.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates")]
pub const fn whole(number: f64) -> u64 {
    number as u64
}
