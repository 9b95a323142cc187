//! Quantities as people write them: `1 1/2 cups`, `2 cu ft`, `15 %`, `5 lb/cu yd`.
//!
//! The same grammar serves files, CSV and the command line. Numbers are decimal
//! digits with an optional point, or fractions; no exponents, no infinities.

use super::fault::exponent;
use super::length::{decimetre, millimetre};
use super::mass::gram;
use super::named::{Assumption, LENGTHS, MASSES, Unit, VOLUMES, find, known};
use super::{Fault, Length, Mass, Quantity, Volume, to_litres};
use crate::exact::Fraction;
use rust_decimal::Decimal;
use std::ops::RangeInclusive;

/// The largest number taken of any unit.
const LARGEST: f64 = 1e9;

/// The sizes that something can have, and in words what it can be.
pub type Bounds = (RangeInclusive<f64>, &'static str);

/// Litres.
const ANY_VOLUME: Bounds = (1e-6..=1e7, "a volume is 1 mm3 to 10,000 m3");
/// Grams.
const ANY_MASS: Bounds = (1e-3..=1e9, "a mass is 1 mg to 1,000 t");
/// Decimetres.
const ANY_LENGTH: Bounds = (1e-3..=100.0, "a length is 0.1 mm to 10 m");

/// A quantity, and the unit that was taken where the text left it open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parsed<T> {
    /// The quantity.
    pub value: T,
    /// What was taken for a bare `qt`, `gal`, `pt` or `bu`.
    pub assumption: Option<Assumption>,
}

impl<T> Parsed<T> {
    /// The same made into something else.
    pub(crate) fn map<U>(self, what: impl FnOnce(T) -> U) -> Parsed<U> {
        Parsed { value: what(self.value), assumption: self.assumption }
    }
}

impl<T> From<T> for Parsed<T> {
    /// A value that leaves nothing open.
    fn from(value: T) -> Self {
        Self { value, assumption: None }
    }
}

/// A number: `3`, `1.5`, `1/3`, `1 1/2`. Never negative.
///
/// # Errors
/// A [`Fault`] that says why the text is no such number.
///
/// ```
/// use trayful::{exact::Fraction, units::number};
/// assert_eq!(number("1 1/2"), Ok(Fraction::new(3, 2).unwrap()));
/// assert!(number("1e308").is_err() && number("NaN").is_err() && number("-1").is_err());
/// ```
pub fn number(text: &str) -> Result<Fraction, Fault> {
    let text = text.trim();
    let (number, rest) = leading_number(text)?;
    if rest.is_empty() { Ok(number) } else { Err(Fault::NotANumber(text.to_owned())) }
}

/// One of a few words, whatever their case.
///
/// # Errors
/// [`Fault::Choice`] for any other word.
pub fn one_of<T: Copy>(text: &str, words: &[(&'static str, T)]) -> Result<T, Fault> {
    let found = words.iter().find(|(word, _)| word.eq_ignore_ascii_case(text.trim()));
    found
        .map(|(_, value)| *value)
        .ok_or_else(|| Fault::Choice { word: text.to_owned(), known: words.iter().map(|(word, _)| *word).collect() })
}

/// A whole number of things, in decimal digits only.
///
/// # Errors
/// A [`Fault`] for anything else: signs, points, exponents, `0x10`, more than `u64`.
pub fn count(text: &str) -> Result<u64, Fault> {
    let text = text.trim();
    if text.is_empty() || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(number(text).err().unwrap_or_else(|| Fault::NotWhole(text.to_owned())));
    }
    text.parse().map_err(|_| Fault::TooLarge(text.to_owned()))
}

/// A number of things, at least one and at most so many.
///
/// # Errors
/// A [`Fault`] for anything else.
pub fn count_up_to<T: TryFrom<u64>>(most: u64, text: &str) -> Result<T, Fault> {
    match count(text)? {
        0 => Err(Fault::Zero(text.trim().to_owned())),
        number => {
            T::try_from(number).ok().filter(|_| number <= most).ok_or_else(|| Fault::TooLarge(text.trim().to_owned()))
        }
    }
}

/// A value, if its size is one that its kind can have.
///
/// # Errors
/// [`Fault::OutOfBounds`], which quotes the text, for any other.
///
/// ```
/// use trayful::units::{Bounds, number, within};
/// const HOURS: Bounds = (1.0..=1000.0, "a soak takes 1 to 1000 hours");
/// assert_eq!(within(24, 24.0, HOURS, "24"), Ok(24));
/// assert_eq!(within(0, 0.0, HOURS, "0 h").unwrap_err().to_string(), "`0 h` cannot be: a soak takes 1 to 1000 hours");
/// ```
pub fn within<T>(value: T, size: f64, (bounds, words): Bounds, text: &str) -> Result<T, Fault> {
    if bounds.contains(&size) { Ok(value) } else { Err(Fault::OutOfBounds(text.trim().to_owned(), words)) }
}

/// A share of the whole, written in percent: `15 %`, `15%`, `0 %`. At most 100 %.
///
/// # Errors
/// A [`Fault`]; a bare number is refused, since 0.15 and 15 cannot be told apart.
pub fn share(text: &str) -> Result<Fraction, Fault> {
    let text = text.trim();
    let (number, rest) = match leading_number(text) {
        // `0,85`: one advice for the comma and the missing sign.
        Err(Fault::Comma(written)) if !text.contains('%') => {
            return Err(Fault::BareShare(written.replacen(',', ".", 1)));
        }
        read => read?,
    };
    if rest.is_empty() {
        return Err(Fault::BareShare(text.to_owned()));
    }
    if rest != "%" && !rest.eq_ignore_ascii_case("percent") {
        return Err(Fault::UnknownUnit { unit: rest.to_owned(), kind: "share", known: Vec::new(), usual: Some("%") });
    }
    let share = number.over(Fraction::whole(100)).ok_or_else(|| Fault::TooLong(text.to_owned()))?;
    if share > Fraction::ONE { Err(Fault::OverWhole(text.to_owned())) } else { Ok(share) }
}

/// A volume above zero: `2 cu ft`, `50 L`, `12 dry qt`.
///
/// # Errors
/// A [`Fault`] that says what is wrong with the number or the unit.
///
/// ```
/// use trayful::units::{Assumption, volume};
/// let parsed = volume("3 gal").unwrap();
/// assert_eq!(parsed.assumption, Some(Assumption::LiquidGallon));
/// ```
pub fn volume(text: &str) -> Result<Parsed<Volume>, Fault> {
    of_units(text, (VOLUMES, "volume"), to_litres, ANY_VOLUME)
}

/// Whether a volume is written in a unit of the US.
pub fn is_of_us(text: &str) -> bool {
    let unit = quantity(text).ok().and_then(|(_, unit)| known(VOLUMES, unit));
    unit.is_some_and(Unit::is_of_us)
}

/// A mass above zero: `650 g`, `5 kg`, `2 lb`.
///
/// # Errors
/// A [`Fault`] that says what is wrong with the number or the unit.
pub fn mass(text: &str) -> Result<Mass, Fault> {
    of_units(text, (MASSES, "mass"), in_grams, ANY_MASS).map(|parsed| parsed.value)
}

/// The mass that a label begins with: of `650 g brick`, of `5-kg block`.
pub fn leading_mass(label: &str) -> Option<Mass> {
    let (number, unit) = label.split_once('-').filter(|(_, unit)| unit.starts_with(char::is_alphabetic)).unzip();
    let spaced = number.zip(unit).map(|(number, unit)| format!("{number} {unit}"));
    let words: Vec<&str> = spaced.as_deref().unwrap_or(label).split_whitespace().take(3).collect();
    (1..=words.len()).find_map(|taken| mass(&words[..taken].join(" ")).ok())
}

/// A volume or a mass above zero: `40 L`, `500 g`.
///
/// # Errors
/// A [`Fault`] that says what is wrong with the number or the unit.
///
/// ```
/// use trayful::units::{Quantity, in_litres, mass_or_volume};
/// assert_eq!(mass_or_volume("40 L").unwrap().value, Quantity::Volume(in_litres(40.0)));
/// assert!(matches!(mass_or_volume("500 g").unwrap().value, Quantity::Mass(_)));
/// assert!(mass_or_volume("5 metres").unwrap_err().to_string().contains("volume or mass"));
/// assert!(mass_or_volume("2000000 kg").unwrap_err().to_string().contains("a mass is 1 mg to 1,000 t"));
/// ```
pub fn mass_or_volume(text: &str) -> Result<Parsed<Quantity>, Fault> {
    const USUAL: [&str; 9] = ["litres", "l", "ml", "cu ft", "gal", "kg", "g", "grams", "lb"];
    let (number, unit) = quantity(text)?;
    let unknown =
        || Fault::UnknownUnit { unit: unit.to_owned(), kind: "volume or mass", known: USUAL.to_vec(), usual: None };
    if let Some(unit) = known(VOLUMES, unit) {
        return sized((number, unit), text, to_litres, ANY_VOLUME).map(|parsed| parsed.map(Quantity::Volume));
    }
    let unit = known(MASSES, unit).ok_or_else(unknown)?;
    sized((number, unit), text, in_grams, ANY_MASS).map(|parsed| parsed.map(Quantity::Mass))
}

/// A length above zero: `50 mm`, `9 cm`, `2.38 in`.
///
/// # Errors
/// A [`Fault`] that says what is wrong with the number or the unit.
pub fn length(text: &str) -> Result<Length, Fault> {
    of_units(text, (LENGTHS, "length"), |length| length.get::<decimetre>(), ANY_LENGTH).map(|parsed| parsed.value)
}

/// The two sides of a tray: `54 x 28 cm`.
///
/// # Errors
/// A [`Fault`] unless two numbers and a length unit stand there.
pub fn footprint(text: &str) -> Result<(Length, Length), Fault> {
    let shape = || Fault::Shape(text.trim().to_owned());
    let (first, second) = text.split_once(['x', '×']).ok_or_else(shape)?;
    let (_, unit) = quantity(second)?;
    Ok((length(&format!("{} {unit}", first.trim()))?, length(second)?))
}

/// A figure in one of a few units that have no type of their own, such as `25 mmol/L`
/// or `0.8 mS/cm`: its size in the unit whose factor is one. Zero is taken.
///
/// # Errors
/// A [`Fault`] that says what is wrong with the number or the unit.
///
/// ```
/// use trayful::units::measured;
/// assert_eq!(measured("25 mmol/L", "concentration", &[("mol/l", 1000.0), ("mmol/l", 1.0)]), Ok(25.0));
/// ```
pub fn measured(text: &str, kind: &'static str, units: &'static [(&'static str, f64)]) -> Result<f64, Fault> {
    let text = text.trim();
    let (number, unit) = leading_number(text)?;
    if unit.is_empty() {
        return Err(Fault::NoUnit(text.to_owned()));
    }
    let wanted = unit.to_lowercase();
    match units.iter().find(|(name, _)| *name == wanted) {
        Some((_, factor)) => Ok(bounded(number, text)? * factor),
        None => {
            let known: Vec<&str> = units.iter().map(|(name, _)| *name).collect();
            let usual = known.first().copied();
            Err(Fault::UnknownUnit { unit: unit.to_owned(), kind, known, usual })
        }
    }
}

/// Reads a conductivity, in mS/cm.
///
/// # Errors
/// As [`measured`].
pub fn conductivity(text: &str) -> Result<f64, Fault> {
    const UNITS: &[(&str, f64)] =
        &[("ms/cm", 1.0), ("ds/m", 1.0), ("us/cm", 0.001), ("µs/cm", 0.001), ("μs/cm", 0.001)];
    measured(text, "conductivity", UNITS)
}

/// A range of volumes, or one for both ends: `27-33 mL`.
///
/// # Errors
/// A [`Fault`] unless one or two volumes stand there, the lower first.
pub fn volume_range(text: &str) -> Result<(Volume, Volume), Fault> {
    range(text, |text| volume(text).map(|parsed| parsed.value))
}

/// A depth of seed, or of a rim: `6 mm`, `0 mm`, `1/4 in`, at most 300 mm.
///
/// # Errors
/// A [`Fault`] that says what is wrong with the number or the unit.
pub fn depth(text: &str) -> Result<Length, Fault> {
    const UNITS: &[(&str, f64)] = &[("mm", 1.0), ("cm", 10.0), ("in", 25.4)];
    let mm = measured(text, "length", UNITS)?;
    within(Length::new::<millimetre>(mm), mm, (0.0..=300.0, "it is at most 300 mm deep"), text)
}

/// A range of depths, or one for both ends: `6-13 mm`, `0 mm`, `1/4-1/2 in`.
///
/// # Errors
/// A [`Fault`] unless one or two depths stand there, the lower first.
pub fn depth_range(text: &str) -> Result<(Length, Length), Fault> {
    range(text, depth)
}

/// A range of temperatures in degrees Celsius, or one for both ends: `15-25 C`, `60-75 F`.
///
/// # Errors
/// A [`Fault`] unless one or two temperatures of a living seed stand there, the lower first.
///
/// ```
/// use trayful::units::celsius_range;
/// assert_eq!(celsius_range("15-25 C"), Ok((15.0, 25.0)));
/// assert_eq!(celsius_range("59 °F"), Ok((15.0, 15.0)));
/// assert!(celsius_range("25-15 C").is_err() && celsius_range("200 C").is_err());
/// ```
pub fn celsius_range(text: &str) -> Result<(f64, f64), Fault> {
    const UNITS: &[(&str, f64)] = &[("c", 1.0), ("°c", 1.0), ("f", 1.0), ("°f", 1.0)];
    range(text, |text| {
        let written = measured(text, "temperature", UNITS)?;
        let celsius = if text.trim().ends_with(['f', 'F']) { (written - 32.0) / 1.8 } else { written };
        within(celsius, celsius, (0.0..=60.0, "seed comes up at 0 to 60 degrees C"), text)
    })
}

/// A range of what `one` reads, its unit, if it has one, said once: `130-180 g/L`; or one for both ends.
pub(crate) fn range<T: Copy + PartialOrd>(text: &str, one: impl Fn(&str) -> Result<T, Fault>) -> Result<(T, T), Fault> {
    let Some((low, high)) = text.split_once(['-', '–']) else { return one(text).map(|only| (only, only)) };
    let (_, unit) = leading_number(high.trim())?;
    let (low, high) = (one(format!("{} {unit}", low.trim()).trim_end())?, one(high)?);
    if low <= high { Ok((low, high)) } else { Err(Fault::Shape(text.trim().to_owned())) }
}

/// Seeds per gram: `350`, `3.5`, `350/g`.
///
/// # Errors
/// A [`Fault`] unless a number above zero stands there.
pub fn per_gram(text: &str) -> Result<Fraction, Fault> {
    let text = text.trim();
    let bare = text.strip_suffix("/g").unwrap_or(text);
    let seeds = number(bare)?;
    if seeds.is_positive() { Ok(seeds) } else { Err(Fault::Zero(text.to_owned())) }
}

/// A span of whole numbers: `4-6`, or one number for both ends.
///
/// # Errors
/// A [`Fault`] unless two whole numbers stand there, the lower first.
pub fn span_of_whole_numbers(text: &str) -> Result<(u32, u32), Fault> {
    let text = text.trim();
    let end = |part: &str| u32::try_from(count(part)?).map_err(|_| Fault::TooLarge(text.to_owned()));
    let (low, high) = text.split_once(['-', '–']).unwrap_or((text, text));
    let (low, high) = (end(low)?, end(high)?);
    let is_turned = || Fault::OutOfBounds(text.to_owned(), "the smaller number comes first");
    if low <= high { Ok((low, high)) } else { Err(is_turned()) }
}

/// A number above zero and one of the units of a kind; `size` is what is held to the bounds.
fn of_units<T: Copy>(
    text: &str,
    (units, kind): (&'static [Unit<T>], &'static str),
    size: impl Fn(T) -> f64,
    bounds: Bounds,
) -> Result<Parsed<T>, Fault> {
    let (number, unit) = quantity(text)?;
    sized((number, find(units, unit, kind)?), text, size, bounds)
}

/// So many of a unit.
fn sized<T: Copy>(
    (number, unit): (Fraction, &Unit<T>),
    text: &str,
    size: impl Fn(T) -> f64,
    bounds: Bounds,
) -> Result<Parsed<T>, Fault> {
    let value = (unit.of)(bounded(number, text)?);
    within(Parsed { value, assumption: unit.assumption }, size(value), bounds, text)
}

fn in_grams(mass: Mass) -> f64 {
    mass.get::<gram>()
}

/// Splits a text into its number and its unit, both present.
pub(super) fn quantity(text: &str) -> Result<(Fraction, &str), Fault> {
    let text = text.trim();
    let (number, unit) = leading_number(text)?;
    if unit.is_empty() {
        return Err(Fault::NoUnit(text.to_owned()));
    }
    if number.is_zero() {
        return Err(Fault::Zero(text.to_owned()));
    }
    Ok((number, unit))
}

pub(super) fn bounded(number: Fraction, text: &str) -> Result<f64, Fault> {
    let value = number.to_f64();
    if value.is_finite() && value <= LARGEST { Ok(value) } else { Err(Fault::TooLarge(text.trim().to_owned())) }
}

/// The number a text starts with (`1 1/2`, `1/3`, `2.5`) and the trimmed rest.
fn leading_number(text: &str) -> Result<(Fraction, &str), Fault> {
    let fault = |kind: fn(String) -> Fault| kind(text.to_owned());
    if let Some(rest) = text.strip_prefix('-') {
        return Err(fault(if rest.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
            Fault::Negative
        } else {
            Fault::NotANumber
        }));
    }
    let (first, rest) = decimal(text).ok_or_else(|| fault(Fault::NotANumber))??;
    if let Some(after) = rest.strip_prefix(',')
        && after.starts_with(|c: char| c.is_ascii_digit())
    {
        return Err(fault(Fault::Comma));
    }
    if let Some((number, rest)) = fraction_tail(first, rest, text)? {
        return Ok((number, rest));
    }
    // `1 1/2`: a whole number, a space, and a fraction.
    if let Some(tail) = rest.strip_prefix(' ')
        && let Some(Ok((top, after))) = decimal(tail.trim_start())
        && let Some((part, rest)) = fraction_tail(top, after, text)?
    {
        let number = first.plus(part).ok_or_else(|| fault(Fault::TooLong))?;
        return Ok((number, rest));
    }
    if rest.starts_with(|c: char| c == '.' || c.is_ascii_digit()) || exponent(rest) {
        return Err(fault(Fault::NotANumber));
    }
    Ok((first, rest.trim()))
}

/// `/2` after a numerator, with what follows.
fn fraction_tail<'a>(top: Fraction, rest: &'a str, whole_text: &str) -> Result<Option<(Fraction, &'a str)>, Fault> {
    let Some(bottom) = rest.strip_prefix('/') else { return Ok(None) };
    let Some(bottom) = decimal(bottom) else { return Ok(None) };
    let (bottom, rest) = bottom?;
    if bottom.is_zero() {
        return Err(Fault::NotANumber(whole_text.to_owned()));
    }
    let number = top.over(bottom).ok_or_else(|| Fault::TooLong(whole_text.to_owned()))?;
    Ok(Some((number, rest.trim())))
}

/// Digits with an optional point, and the rest untrimmed; `None` if there are none.
fn decimal(text: &str) -> Option<Result<(Fraction, &str), Fault>> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let mut stop = end;
    if let Some(after) = text[end..].strip_prefix('.') {
        let digits = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
        if digits > 0 || end > 0 {
            stop = end + 1 + digits;
        }
    }
    let digits = text[..stop].trim_end_matches('.');
    if !digits.bytes().any(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let exact = || Decimal::from_str_exact(digits).ok().and_then(Fraction::from_decimal);
    let read = digits.parse().ok().map(Fraction::whole).or_else(exact).ok_or_else(|| {
        if stop > 28 && end > 20 { Fault::TooLarge(text.to_owned()) } else { Fault::TooLong(text.to_owned()) }
    });
    Some(read.map(|number| (number, &text[stop..])))
}

#[cfg(test)]
mod tests {
    use super::super::length::centimetre;
    use super::*;

    fn fraction(top: i64, bottom: i64) -> Fraction {
        Fraction::new(top, bottom).unwrap()
    }

    #[test]
    fn numbers_as_written() {
        assert_eq!(number("3"), Ok(fraction(3, 1)));
        assert_eq!(number(" 1.50 "), Ok(fraction(3, 2)));
        assert_eq!(number(".5"), Ok(fraction(1, 2)));
        assert_eq!(number("1/3"), Ok(fraction(1, 3)));
        assert_eq!(number("1 1/2"), Ok(fraction(3, 2)));
        assert_eq!(number("2.5/5"), Ok(fraction(1, 2)));
    }

    #[test]
    fn what_is_no_number() {
        for text in [
            "", "-", ".", "/", "1/", "1/0", "NaN", ".inf", "inf", "1e308", "1e5", "0x10", "1..2", "1.2.3", "three",
            "+3",
        ] {
            assert!(number(text).is_err(), "{text}");
        }
        assert_eq!(number("-3"), Err(Fault::Negative("-3".to_owned())));
        assert_eq!(number("24,90"), Err(Fault::Comma("24,90".to_owned())));
        let digits = "9".repeat(400);
        assert!(matches!(number(&digits), Err(Fault::TooLarge(_))));
    }

    #[test]
    fn quantities_as_written() {
        assert!((to_litres(volume("2 cu ft").unwrap().value) - 56.633_693_184).abs() < 1e-9);
        assert!((to_litres(volume("1 1/2 cups").unwrap().value) - 0.354_882_354_75).abs() < 1e-12);
        assert_eq!(to_litres(volume("107 l").unwrap().value), 107.0);
        assert_eq!(to_litres(volume("55mL").unwrap().value), 0.055);
        assert_eq!(volume("12 dry qt").unwrap().assumption, None);
        assert_eq!(volume("12 qt").unwrap().assumption, Some(Assumption::LiquidQuart));
        assert_eq!(mass("1/2 lb").unwrap().get::<gram>(), 226.796_185);
        assert_eq!(length("9 cm").unwrap().get::<millimetre>(), 90.0);
        let (long, short) = footprint("54 x 28 cm").unwrap();
        assert!((long.get::<centimetre>() - 54.0).abs() < 1e-9 && (short.get::<centimetre>() - 28.0).abs() < 1e-9);
    }

    #[test]
    fn faults_help() {
        let fault = volume("5 litrs").unwrap_err();
        assert_eq!(fault.help().as_deref(), Some("did you mean `litres`?"));
        assert_eq!(share("0.15").unwrap_err().help().as_deref(), Some("write a percentage: `15 %`"));
        assert_eq!(number("12,5").unwrap_err().help().as_deref(), Some("use a point: `12.5`"));
        assert!(number("1,200").unwrap_err().help().unwrap().starts_with("write `1200`"));
        assert!(number("1e3").unwrap_err().help().is_some() && number("1 bucket").unwrap_err().help().is_none());
        assert_eq!(volume("0 L"), Err(Fault::Zero("0 L".to_owned())));
        assert_eq!(volume("5"), Err(Fault::NoUnit("5".to_owned())));
        assert!(matches!(share("101 %"), Err(Fault::OverWhole(_))));
        assert!(matches!(volume("99999999999 L"), Err(Fault::TooLarge(_))));
    }

    #[test]
    fn counts_are_digits_only() {
        assert_eq!(count("576"), Ok(576));
        assert_eq!(count("007"), Ok(7));
        assert!(matches!(count("1.5"), Err(Fault::NotWhole(_))));
        assert!(matches!(count("0x48"), Err(Fault::NotANumber(_) | Fault::UnknownUnit { .. })));
        assert!(matches!(count("99999999999999999999"), Err(Fault::TooLarge(_))));
    }
}
