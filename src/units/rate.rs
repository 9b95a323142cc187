//! How much of a dose goes into a volume, and densities, which are written alike.

use super::mass::gram;
use super::mass_density::gram_per_litre;
use super::named::{MASSES, Spoon, VOLUMES, find, known};
use super::parse::{bounded, quantity, range};
use super::{Bounds, Fault, Mass, MassDensity, Parsed, Quantity, Volume, to_litres, within};
use crate::exact::Fraction;
use std::hash::{Hash, Hasher};

/// Grams in a litre: no solid is denser.
const ANY_DENSITY: Bounds = (1e-3..=23_000.0, "a density is 1 mg/L to 23 kg/L");
/// Grams or millilitres in a litre.
const ANY_DOSE: Bounds = (1e-6..=1000.0, "a dose is 0.001 mg to 1 kg, or up to 1 L, in a litre");
/// How much of a dose goes into a volume of mix, exactly: two that are written in other
/// units are equal if they come to the same.
#[derive(Clone, Copy, Debug)]
pub struct Rate {
    /// Grams, or litres of the dose, in each litre.
    per_litre: Fraction,
    /// The measure it was written in; `None` for a dose by weight. Never turned into grams.
    spoon: Option<Spoon>,
}

impl PartialEq for Rate {
    fn eq(&self, other: &Self) -> bool {
        (self.per_litre, self.spoon.is_some()) == (other.per_litre, other.spoon.is_some())
    }
}

impl Eq for Rate {}

impl Hash for Rate {
    fn hash<H: Hasher>(&self, state: &mut H) {
        (self.per_litre, self.spoon.is_some()).hash(state);
    }
}

impl Rate {
    /// Grams, or litres of a dose by measure, in each litre.
    pub fn per_litre(self) -> f64 {
        self.per_litre.to_f64()
    }

    /// As it may be written in a file, exactly: of the units of its measure those that take the shortest number.
    pub fn written(self) -> String {
        let doses: &[&str] = match self.spoon {
            None => &["g", "oz", "lb"],
            Some(Spoon::Teaspoon) => &["tsp"],
            Some(Spoon::Tablespoon) => &["tbsp"],
            Some(Spoon::Cup) => &["cups"],
            Some(Spoon::Millilitre) => &["mL", "L"],
        };
        let units = ["L", "US gal", "cu ft", "cu yd"].iter().flat_map(|per| doses.iter().map(move |dose| (dose, per)));
        let texts = units.filter_map(|(dose, per)| {
            let one = rate(&format!("1 {dose}/{per}")).ok()?.value;
            let text = format!("{} {dose}/{per}", self.per_litre.over(one.per_litre)?);
            (rate(&text).ok()?.value == self).then_some(text)
        });
        let unit = if self.spoon.is_some() { "L" } else { "g" };
        texts.min_by_key(String::len).unwrap_or_else(|| format!("{} {unit}/L", self.per_litre))
    }

    /// The measure that a dose by volume was written in.
    pub const fn spoon(self) -> Option<Spoon> {
        self.spoon
    }

    /// The dose for a volume.
    pub fn of(self, volume: Volume) -> Quantity {
        match self.spoon {
            None => Quantity::Mass(Mass::new::<gram>(to_litres(volume) * self.per_litre())),
            Some(_) => Quantity::Volume(volume * self.per_litre()),
        }
    }

    /// Both together; `None` for one by weight and one by measure, or past exact digits.
    pub fn plus(self, more: Self) -> Option<Self> {
        let per_litre = self.per_litre.plus(more.per_litre)?;
        (self.spoon.is_some() == more.spoon.is_some()).then_some(Self { per_litre, ..self })
    }
}

/// A dose rate: `1 g/L`, `5 lb/cu yd`, `28 g/9 L`, `1 tbsp/gal`, `2 g per litre`.
///
/// # Errors
/// A [`Fault`] unless a mass or a volume per volume stands there.
///
/// ```
/// use trayful::units::rate;
/// // UC Davis growing-media fact sheet (2007): 5 lb per cubic yard is 3 kg per cubic metre.
/// assert_eq!(format!("{:.1}", rate("5 lb/cu yd").unwrap().value.per_litre()), "3.0");
/// // A cubic yard is 27 cubic feet: the same rate, exactly.
/// assert_eq!(rate("2 oz/cu ft"), rate("54 oz/cu yd"));
/// assert_eq!(rate("1 tbsp/US gal"), rate("3 tsp/US gal"));
/// ```
pub fn rate(text: &str) -> Result<Parsed<Rate>, Fault> {
    rate_within(ANY_DOSE, text)
}

fn rate_within(bounds: Bounds, text: &str) -> Result<Parsed<Rate>, Fault> {
    let (number, units) = quantity(text)?;
    let (dose, per) = units
        .split_once('/')
        .or_else(|| units.split_once(" per "))
        .ok_or_else(|| Fault::Shape(text.trim().to_owned()))?;
    bounded(number, text)?;
    // `5 lb/cu yd`, or `28 g/9 L` as older books print it.
    let per = per.trim();
    let (base, per) = if per.starts_with(|c: char| c.is_ascii_digit()) { quantity(per)? } else { (Fraction::ONE, per) };
    let per = find(VOLUMES, per, "volume")?;
    let (factor, spoon, assumption) = if let Some(unit) = known(MASSES, dose) {
        ((unit.of)(1.0).get::<gram>(), None, None)
    } else {
        let unit = find(VOLUMES, dose.trim(), "mass or volume")?;
        (to_litres((unit.of)(1.0)), Some(unit.spoon), unit.assumption)
    };
    let too_long = || Fault::TooLong(text.trim().to_owned());
    let exact = |number: Fraction, factor: f64| Fraction::from_literal(factor).and_then(|factor| number.times(factor));
    let base = exact(base, to_litres((per.of)(1.0))).ok_or_else(too_long)?;
    let per_litre = exact(number, factor).and_then(|dose| dose.over(base)).ok_or_else(too_long)?;
    let rate = Parsed { value: Rate { per_litre, spoon }, assumption: per.assumption.or(assumption) };
    let size = if spoon.is_some() { 1000.0 * per_litre.to_f64() } else { per_litre.to_f64() };
    within(rate, size, bounds, text)
}

/// A density: `200 g/L`.
///
/// # Errors
/// A [`Fault`] unless a mass per volume stands there.
pub fn density(text: &str) -> Result<MassDensity, Fault> {
    let rate = rate_within(ANY_DENSITY, text)?.value;
    match rate.spoon {
        None => Ok(MassDensity::new::<gram_per_litre>(rate.per_litre())),
        Some(_) => Err(Fault::Shape(text.trim().to_owned())),
    }
}

/// A range of densities, or one for both ends: `130-180 g/L`, `1600 g/L`.
///
/// # Errors
/// A [`Fault`] unless one or two masses per volume stand there, the lower first.
pub fn density_range(text: &str) -> Result<(MassDensity, MassDensity), Fault> {
    range(text, density)
}

#[cfg(test)]
mod tests {
    use super::super::Assumption;
    use super::*;

    #[test]
    fn rates_by_weight_and_by_spoon() {
        let rate_ = rate("1 g/L").unwrap().value;
        assert_eq!(rate_.per_litre(), 1.0);
        let by_spoon = rate("1 tbsp/US gal").unwrap().value;
        assert_eq!((by_spoon.per_litre(), by_spoon.spoon()), (1.0 / 256.0, Some(Spoon::Tablespoon)));
        assert_eq!(rate("5 lb/cu yd"), rate("80 oz/27 cu ft"));
        let rate_ = rate("1/2 lb per cu yd").unwrap().value;
        assert!((rate_.per_litre() - 0.296_638).abs() < 1e-6);
        assert!(rate("5 g").is_err());
        assert_eq!(rate("1 qt/cu yd").unwrap().assumption, Some(Assumption::LiquidQuart));
    }

    #[test]
    fn rates_are_written_as_they_are_given() {
        for text in ["1 tsp/L", "1 tbsp/US gal", "2 g/L", "5 lb/cu yd", "3/2 oz/cu ft", "0.75 cups/cu ft", "2.5 mL/L"] {
            let given = rate(text).unwrap().value;
            let written = given.written();
            assert_eq!((rate(&written).unwrap().value, rate(&written).unwrap().value.spoon), (given, given.spoon));
            assert_eq!(written, text.replace("3/2", "1.5"));
        }
        let odd = rate("1/7 tsp/qt").unwrap().value;
        assert_eq!(rate(&odd.written()).unwrap().value, odd);
    }

    #[test]
    fn ranges_of_densities() {
        let (low, high) = density_range("130-180 g/L").unwrap();
        assert_eq!((low.get::<gram_per_litre>(), high.get::<gram_per_litre>()), (130.0, 180.0));
        assert_eq!(density_range("1600 g/L").unwrap().0, density_range("1600 g/L").unwrap().1);
        for text in ["180-130 g/L", "130-180", "-180 g/L", "130- g/L", "1-2-3 g/L", "NaN-1 g/L", ""] {
            assert!(density_range(text).is_err(), "{text}");
        }
    }
}
