//! Exact fractions: parts of a recipe, shares, and every number a person writes.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};

/// An exact fraction in lowest terms, its denominator positive.
///
/// Numerator and denominator are whole [`Decimal`]s of at most 28 digits; an
/// operation that would need more gives `None`.
///
/// ```
/// use trayful::exact::Fraction;
/// let third = Fraction::new(1, 3).unwrap();
/// let sum = third.plus(third).and_then(|two| two.plus(third)).unwrap();
/// assert_eq!(sum, Fraction::ONE);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fraction {
    numerator: Decimal,
    denominator: Decimal,
}

impl Fraction {
    /// Nothing.
    pub const ZERO: Self = Self { numerator: Decimal::ZERO, denominator: Decimal::ONE };
    /// The whole.
    pub const ONE: Self = Self { numerator: Decimal::ONE, denominator: Decimal::ONE };

    /// `numerator / denominator`; `None` if the denominator is zero.
    pub fn new(numerator: i64, denominator: i64) -> Option<Self> {
        Self::reduced(Decimal::from(numerator), Decimal::from(denominator))
    }

    /// A decimal as a fraction; `None` if it has more digits than fit.
    pub fn from_decimal(decimal: Decimal) -> Option<Self> {
        let decimal = decimal.normalize();
        let mut scale = Decimal::ONE;
        for _ in 0..decimal.scale() {
            scale = scale.checked_mul(Decimal::TEN)?;
        }
        let mut numerator = decimal;
        numerator.set_scale(0).ok()?;
        Self::reduced(numerator, scale)
    }

    /// A number as it is written in the source of the program: a float prints the shortest
    /// digits that stand for it, which are those it was written with.
    pub fn from_literal(number: f64) -> Option<Self> {
        Decimal::from_str_exact(&number.to_string()).ok().and_then(Self::from_decimal)
    }

    /// Whole number.
    pub fn whole(number: u64) -> Self {
        Self { numerator: Decimal::from(number), denominator: Decimal::ONE }
    }

    // Both are whole, and integers are far quicker to divide than decimals.
    fn reduced(numerator: Decimal, denominator: Decimal) -> Option<Self> {
        // A product beyond 28 digits is rounded by `Decimal`, not refused: with a scale above zero it is no
        // longer exact.
        if denominator.is_zero() || numerator.scale() != 0 || denominator.scale() != 0 {
            return None;
        }
        let (numerator, denominator) = (numerator.mantissa(), denominator.mantissa());
        let divisor = greatest_common_divisor(numerator.unsigned_abs(), denominator.unsigned_abs());
        let divisor = i128::try_from(divisor).ok()? * denominator.signum();
        let whole = |number: i128| Decimal::try_from_i128_with_scale(number / divisor, 0).ok();
        Some(Self { numerator: whole(numerator)?, denominator: whole(denominator)? })
    }

    /// Sum, or `None` if it does not fit.
    pub fn plus(self, other: Self) -> Option<Self> {
        let left = self.numerator.checked_mul(other.denominator)?;
        let right = other.numerator.checked_mul(self.denominator)?;
        Self::reduced(left.checked_add(right)?, self.denominator.checked_mul(other.denominator)?)
    }

    /// Difference, or `None` if it does not fit.
    pub fn minus(self, other: Self) -> Option<Self> {
        self.plus(Self { numerator: -other.numerator, ..other })
    }

    /// Product, or `None` if it does not fit.
    pub fn times(self, other: Self) -> Option<Self> {
        Self::reduced(self.numerator.checked_mul(other.numerator)?, self.denominator.checked_mul(other.denominator)?)
    }

    /// Quotient, or `None` if it does not fit or the divisor is zero.
    pub fn over(self, other: Self) -> Option<Self> {
        Self::reduced(self.numerator.checked_mul(other.denominator)?, self.denominator.checked_mul(other.numerator)?)
    }

    /// Whether it is above zero.
    pub fn is_positive(self) -> bool {
        self.numerator > Decimal::ZERO
    }

    /// Whether it is zero.
    pub fn is_zero(self) -> bool {
        self.numerator.is_zero()
    }

    /// The whole number, if it is one and fits.
    pub fn to_u64(self) -> Option<u64> {
        (self.denominator == Decimal::ONE).then(|| self.numerator.to_u64()).flatten()
    }

    /// The smallest whole number that is not below it, if it fits and is not negative.
    pub fn ceil(self) -> Option<u64> {
        let whole = (self.numerator / self.denominator).floor();
        let up = if Self::from_decimal(whole) == Some(self) { whole } else { whole.checked_add(Decimal::ONE)? };
        up.to_u64()
    }

    /// The nearest `f64`.
    pub fn to_f64(self) -> f64 {
        // Both are whole numbers a Decimal holds, so both conversions succeed.
        self.numerator.to_f64().unwrap_or(f64::NAN) / self.denominator.to_f64().unwrap_or(f64::NAN)
    }
}

/// Of two numbers of which the second is not zero.
fn greatest_common_divisor(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// Both are whole numbers, of which equal ones have equal mantissas.
impl Hash for Fraction {
    fn hash<H: Hasher>(&self, state: &mut H) {
        (self.numerator.mantissa(), self.denominator.mantissa()).hash(state);
    }
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Self) -> Ordering {
        match self.minus(*other) {
            Some(difference) => difference.numerator.cmp(&Decimal::ZERO),
            // Too long to subtract: the floats differ or the two are as good as equal.
            None => self.to_f64().total_cmp(&other.to_f64()),
        }
    }
}

/// A decimal where that is exact and short (`0.5`, `3`), else `1/3`.
impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shown = match self.numerator.checked_div(self.denominator) {
            Some(decimal)
                if decimal.normalize().scale() <= 6 && Self::from_decimal(decimal.normalize()) == Some(*self) =>
            {
                decimal.normalize().to_string()
            }
            _ => format!("{}/{}", self.numerator, self.denominator),
        };
        f.pad(&shown)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fraction(numerator: i64, denominator: i64) -> Fraction {
        Fraction::new(numerator, denominator).unwrap()
    }

    #[test]
    fn thirds_sum_to_one() {
        let third = fraction(1, 3);
        assert_eq!(third.plus(third).unwrap().plus(third).unwrap(), Fraction::ONE);
    }

    #[test]
    fn shows_the_shorter_exact_form() {
        assert_eq!(fraction(1, 2).to_string(), "0.5");
        assert_eq!(fraction(1, 3).to_string(), "1/3");
        assert_eq!(fraction(6, 2).to_string(), "3");
        assert_eq!(fraction(1, 8).to_string(), "0.125");
        assert_eq!(fraction(-5, -10), fraction(1, 2));
    }

    #[test]
    fn decimals_are_exact() {
        assert_eq!(Fraction::from_decimal("0.125".parse().unwrap()).unwrap(), fraction(1, 8));
        assert_eq!(Fraction::from_decimal("40.00".parse().unwrap()).unwrap(), fraction(40, 1));
    }

    #[test]
    fn what_does_not_fit_is_refused_not_rounded() {
        let long = Fraction::from_decimal("0.1234567890123456789".parse().unwrap()).unwrap();
        assert_eq!(long.times(long), None);
        let tiny = fraction(1, i64::MAX);
        assert_eq!(tiny.plus(fraction(1, i64::MAX - 1)), None);
        assert_eq!(Fraction::new(1, 0), None);
        assert_eq!(Fraction::ONE.over(Fraction::ZERO), None);
    }

    #[test]
    fn orders_by_value() {
        assert!(fraction(1, 3) < fraction(1, 2));
        assert!(fraction(2, 3) > fraction(1, 2));
        assert_eq!(fraction(2, 4).cmp(&fraction(1, 2)), Ordering::Equal);
    }
}
