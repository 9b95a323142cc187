//! Values of a soak, read the same wherever they stand.

use super::super::LONGEST_BATH_HOURS;
use crate::coir::{CoirError, Ion, RINSES, SOAKS, Salt};
use crate::diagnostic::{Code, Problems, Span};
use crate::exact::Fraction;
use crate::source::{FromText, Node, counts, entries, figures};
use crate::units::{Bounds, Fault, Parsed, conductivity, count, measured, number, within};
use std::ops::RangeInclusive;

figures! {
    /// Hours of a step.
    Hours(f64): "hours such as `24`", text => hours(text);
    /// Hours of a soak.
    SoakHours(f64): "hours such as `24`", text => soak_hours(text);
    /// Number of soaks.
    Soaks(u8): "a number of soaks from 1 to 3", text => up_to(text, &SOAKS);
    /// Number of rinses.
    Rinses(u8): "a number of rinses from 0 to 4", text => up_to(text, &RINSES);
    /// Electric conductivity, mS/cm.
    Conductivity(f64): "a conductivity such as `0.8 mS/cm`", text => conductivity(text);
    /// Exchange capacity, mol of charge per kg of dry coir.
    Capacity(f64): "a capacity such as `0.5 mol/kg`", text => measured(text, "exchange capacity", CAPACITY);
    /// Water held, litres per kg of dry coir.
    Held(f64): "water held such as `7 kg/kg`", text => measured(text, "water held", HELD);
    /// A soluble salt, mmol per kg of dry coir.
    Soluble(f64): "mmol per kg of dry coir, such as `8 mmol/kg`", text => measured(text, "soluble salts", SOLUBLE);
}

counts! {
    /// Bricks or blocks of coir.
    Pieces(u64): "a number of pieces", 100_000;
}

const HOURS: &[(&str, f64)] = &[("h", 1.0), ("hours", 1.0), ("hour", 1.0), ("days", 24.0), ("day", 24.0)];
const CAPACITY: &[(&str, f64)] = &[("mol/kg", 1.0), ("mmol/kg", 0.001), ("cmol/kg", 0.01), ("meq/100 g", 0.01)];
const HELD: &[(&str, f64)] = &[("kg/kg", 1.0), ("lb/lb", 1.0), ("l/kg", 1.0)];
const SOLUBLE: &[(&str, f64)] = &[("mmol/kg", 1.0), ("mol/kg", 1000.0)];

/// `24`, `24 h` or `1 day`.
fn hours(text: &str) -> Result<f64, Fault> {
    number(text).map(Fraction::to_f64).or_else(|_| measured(text, "time", HOURS))
}

const SOAK_H: Bounds = (1.0..=LONGEST_BATH_HOURS, "a soak takes 1 to 48 hours");

fn soak_hours(text: &str) -> Result<f64, Fault> {
    hours(text).and_then(|hours| within(hours, hours, SOAK_H, text))
}

/// So many of a step, as a course may have.
fn up_to(text: &str, range: &RangeInclusive<u8>) -> Result<u8, Fault> {
    let number = u8::try_from(count(text)?).ok().filter(|number| range.contains(number));
    let [least, most] = [range.start(), range.end()];
    number.ok_or_else(|| Fault::Impossible(format!("`{}` is not from {least} to {most}", text.trim())))
}

/// A concentration of an ion, in a litre.
pub(super) struct Concentration {
    number: f64,
    /// Milligrams, not millimoles.
    in_mg: bool,
}

impl FromText for Concentration {
    const EXPECTED: &'static str = "a concentration such as `1.5 mmol/L` or `60 mg/L`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        let read = |in_mg, units| measured(text, "concentration", units).map(|number| Self { number, in_mg });
        read(true, &[("mg/l", 1.0)])
            .or_else(|_| read(false, &[("mmol/l", 1.0), ("mol/l", 1000.0), ("mmol/kg", 1.0)]))
            .map(Parsed::from)
    }
}

impl Concentration {
    /// Millimoles of an ion in a litre.
    pub(super) fn of(self, ion: Ion) -> f64 {
        if self.in_mg { self.number / ion.molar_mass_g() } else { self.number }
    }
}

/// How much of a salt goes into the water of a step.
pub(super) struct SaltAmount {
    number: f64,
    /// Grams, not moles.
    in_grams: bool,
    /// In each litre of the water, not in all.
    per_litre: bool,
}

impl FromText for SaltAmount {
    const EXPECTED: &'static str = "an amount such as `25 mmol/L`, `3 g/L`, `130 g` or `0.3 mol`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        let read = |in_grams, per_litre, units| {
            measured(text, "amount of salt", units).map(|number| Self { number, in_grams, per_litre })
        };
        read(false, true, &[("mmol/l", 0.001), ("mol/l", 1.0), ("mmol/kg", 0.001)])
            .or_else(|_| read(true, true, &[("g/l", 1.0), ("mg/l", 0.001)]))
            .or_else(|_| read(true, false, &[("g", 1.0), ("kg", 1000.0), ("mg", 0.001)]))
            .or_else(|_| read(false, false, &[("mol", 1.0), ("mmol", 0.001)]))
            .map(Parsed::from)
    }
}

impl SaltAmount {
    /// Moles of a salt in so much water.
    pub(super) fn moles(self, salt: &Salt, water_l: f64) -> f64 {
        let number = if self.per_litre { self.number * water_l } else { self.number };
        if self.in_grams { salt.moles(number) } else { number }
    }
}

/// What was built from figures that stand at a place, or its fault.
pub(super) fn accept<T>(built: Result<T, CoirError>, at: Span, expected: &str, problems: &Problems) -> Option<T> {
    built.map_err(|error| problems.fault(Code::Soak, at, error.to_string(), expected)).ok()
}

/// The entries of a map, each read from its name, the place of that and its value; `None` where one is at fault.
pub(super) fn map<T>(
    node: &Node<'_>,
    what: &str,
    problems: &Problems,
    read: impl Fn(&str, Span, &Node<'_>) -> Option<T>,
) -> Option<Vec<T>> {
    let before = problems.len();
    let found = entries(node, what, problems)?;
    let read: Vec<T> = found.into_iter().filter_map(|(name, key, value)| read(name, key.at, value)).collect();
    (problems.len() == before).then_some(read)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Digits only, as the schema has it, and no more than what the words say.
    #[test]
    fn soaks_and_rinses_are_what_they_are_said_to_be() {
        let says = |range: &RangeInclusive<u8>| format!(" from {} to {}", range.start(), range.end());
        assert!(Soaks::EXPECTED.ends_with(&says(&SOAKS)) && Rinses::EXPECTED.ends_with(&says(&RINSES)));
        for text in ["+2", "two", "2.0", "9", "-1", ""] {
            assert!(Soaks::from_text(text).is_err() && Rinses::from_text(text).is_err(), "{text}");
        }
        assert!(Soaks::from_text("0").is_err() && Soaks::from_text(" 3 ").is_ok() && Rinses::from_text("0").is_ok());
    }
}
