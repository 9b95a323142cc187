//! Exact fractions: parts of a recipe, shares, and every number a person writes.

use rust_decimal::Decimal;
use std::cmp::Ordering;
use std::fmt;

/// An exact fraction in lowest terms, its denominator positive.
///
/// Numerator and denominator are whole numbers that a [`Decimal`] could hold, of at most 28 digits; an
/// operation that would need more gives `None`.
///
/// ```
/// use trayful::exact::Fraction;
/// let third = Fraction::new(1, 3).unwrap();
/// let sum = third.plus(third).and_then(|two| two.plus(third)).unwrap();
/// assert_eq!(sum, Fraction::ONE);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Fraction {
    numerator: i128,
    denominator: i128,
}

/// The largest numerator and denominator.
const MOST: u128 = (1 << 96) - 1;

impl Fraction {
    /// Nothing.
    pub const ZERO: Self = Self::whole(0);
    /// The whole.
    pub const ONE: Self = Self::whole(1);

    /// `numerator / denominator`; `None` if the denominator is zero.
    pub fn new(numerator: i64, denominator: i64) -> Option<Self> {
        Self::reduced(i128::from(numerator), i128::from(denominator))
    }

    /// A decimal as a fraction.
    pub fn from_decimal(decimal: Decimal) -> Option<Self> {
        Self::reduced(decimal.mantissa(), 10_i128.checked_pow(decimal.scale())?)
    }

    /// A number as it is written in the source of the program: a float prints the shortest
    /// digits that stand for it, which are those it was written with.
    pub fn from_literal(number: f64) -> Option<Self> {
        if number == 1.0 {
            return Some(Self::ONE);
        }
        Decimal::from_str_exact(&number.to_string()).ok().and_then(Self::from_decimal)
    }

    /// Whole number.
    pub const fn whole(number: u64) -> Self {
        Self { numerator: number as i128, denominator: 1 }
    }

    fn reduced(numerator: i128, denominator: i128) -> Option<Self> {
        let divisor = match denominator {
            0 => return None,
            1 => 1,
            _ => greatest_common_divisor(numerator.unsigned_abs(), denominator.unsigned_abs()),
        };
        let divisor = i128::try_from(divisor).ok()? * denominator.signum();
        let (numerator, denominator) = (numerator / divisor, denominator / divisor);
        (numerator.unsigned_abs().max(denominator.unsigned_abs()) <= MOST).then_some(Self { numerator, denominator })
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
    pub const fn is_positive(self) -> bool {
        self.numerator > 0
    }

    /// Whether it is zero.
    pub const fn is_zero(self) -> bool {
        self.numerator == 0
    }

    /// The whole number, if it is one and fits.
    pub fn to_u64(self) -> Option<u64> {
        (self.denominator == 1).then(|| self.numerator.try_into().ok()).flatten()
    }

    /// The smallest whole number that is not below it, if it fits and is not negative.
    pub fn ceil(self) -> Option<u64> {
        (self.numerator + self.denominator - 1).div_euclid(self.denominator).try_into().ok()
    }

    /// The nearest `f64`.
    pub fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }
}

/// Of two numbers of which the second is not zero.
fn greatest_common_divisor(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Self) -> Ordering {
        match self.minus(*other) {
            Some(difference) => difference.numerator.cmp(&0),
            // Too long to subtract: the floats differ or the two are as good as equal.
            None => self.to_f64().total_cmp(&other.to_f64()),
        }
    }
}

/// A decimal where that is exact and short (`0.5`, `3`), else `1/3`.
impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const SHORT: u128 = 1_000_000;
        let sign = if self.numerator < 0 { "-" } else { "" };
        let (top, bottom) = (self.numerator.unsigned_abs(), self.denominator.unsigned_abs());
        f.pad(&if (top * SHORT).is_multiple_of(bottom) {
            let decimals = format!(".{:06}", top * SHORT / bottom % SHORT);
            format!("{sign}{}{}", top / bottom, decimals.trim_end_matches('0').trim_end_matches('.'))
        } else {
            format!("{sign}{top}/{bottom}")
        })
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
        assert_eq!([fraction(-1, 2), fraction(1, 1_000_000)].map(|it| it.to_string()), ["-0.5", "0.000001"]);
        assert_eq!([fraction(1, 10_000_000), fraction(-4, 3)].map(|it| it.to_string()), ["1/10000000", "-4/3"]);
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
    fn rounds_up_to_whole_numbers() {
        let up = [(7, 2), (6, 2), (-1, 2), (-3, 2)].map(|(top, bottom)| fraction(top, bottom).ceil());
        assert_eq!(up, [Some(4), Some(3), Some(0), None]);
    }

    #[test]
    fn orders_by_value() {
        assert!(fraction(1, 3) < fraction(1, 2));
        assert!(fraction(2, 3) > fraction(1, 2));
        assert_eq!(fraction(2, 4).cmp(&fraction(1, 2)), Ordering::Equal);
    }
}
