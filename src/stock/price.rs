//! Money: exact decimals of one currency.

use crate::source::FromText;
use crate::units::{Fault, Parsed, number};
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Serialize, Serializer};
use std::fmt;

/// A currency by its three letters, as in ISO 4217.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Currency([u8; 3]);

impl Currency {
    /// Reads `EUR` or `eur`.
    pub fn read(text: &str) -> Option<Self> {
        let bytes: [u8; 3] = text.trim().as_bytes().try_into().ok()?;
        bytes.iter().all(u8::is_ascii_alphabetic).then(|| Self(bytes.map(|byte| byte.to_ascii_uppercase())))
    }
}

impl FromText for Currency {
    const EXPECTED: &'static str = "three letters such as `EUR`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        Self::read(text).map(Parsed::from).ok_or_else(|| Fault::Choice { word: text.to_owned(), known: Vec::new() })
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{}", char::from(*byte)))
    }
}

/// The dearest package: ten million of any currency.
pub(crate) const DEAREST: u32 = 10_000_000;

/// A price of at most two decimals, with its currency where it carries one: `24.90`,
/// `24.90 EUR`, `EUR 24.90`.
///
/// # Errors
/// A [`Fault`] that says what is wrong with it.
pub fn price(text: &str) -> Result<(Decimal, Option<Currency>), Fault> {
    let text = text.trim();
    let first = text.split_whitespace().next().and_then(Currency::read);
    let last = text.split_whitespace().next_back().and_then(Currency::read);
    let digits = match (first, last) {
        (Some(_), _) => text.get(3..),
        (None, Some(_)) => text.get(..text.len() - 3),
        (None, None) => Some(text),
    };
    let digits = digits.unwrap_or(text).trim();
    number(digits)?;
    let price = Decimal::from_str_exact(digits).map_err(|_| Fault::NotANumber(digits.to_owned()))?.normalize();
    if price.scale() > 2 {
        return Err(Fault::TooLong(digits.to_owned()));
    }
    if price > Decimal::from(DEAREST) {
        return Err(Fault::TooLarge(digits.to_owned()));
    }
    Ok((price, first.or(last)))
}

/// Money as it is printed: two decimals, halves rounded up.
///
/// ```
/// assert_eq!(trayful::stock::money(rust_decimal::Decimal::new(249, 1)), "24.90");
/// ```
pub fn money(amount: Decimal) -> String {
    format!("{:.2}", amount.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero))
}

/// Writes money as it is printed, null where it is not known.
///
/// # Errors
/// Those of the serializer.
pub fn money_or_null<S: Serializer>(amount: &Option<Decimal>, serializer: S) -> Result<S::Ok, S::Error> {
    amount.map(money).serialize(serializer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_as_written() {
        let euro = Currency::read("EUR");
        assert_eq!(price("24.90"), Ok((Decimal::new(2490, 2).normalize(), None)));
        assert_eq!(price("24.90 EUR").unwrap().1, euro);
        assert_eq!(price("eur 24.90").unwrap().1, euro);
        assert_eq!(price("0").unwrap().0, Decimal::ZERO);
        assert_eq!(price("24,90"), Err(Fault::Comma("24,90".to_owned())));
        assert!(matches!(price("-3"), Err(Fault::Negative(_))));
        for text in ["", "EUR", "free", "1e3", "1/2", "4.999", "99999999999", "3 4", "\u{20ac} 3", "NaN"] {
            assert!(price(text).is_err(), "{text}");
        }
    }

    #[test]
    fn money_has_two_decimals() {
        assert_eq!(money(Decimal::new(5, 0)), "5.00");
        assert_eq!(money(Decimal::new(10_005, 3)), "10.01");
        assert_eq!(Currency::read("eur").unwrap().to_string(), "EUR");
        assert_eq!(Currency::read("\u{20ac}"), None);
    }
}
