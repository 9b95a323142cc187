//! The units by every name that they are written by.

use super::fault::{Fault, spelled};
use super::length::{centimetre, inch, millimetre};
use super::mass::{gram, kilogram, milligram, ounce, pound};
use super::{Length, Mass, Volume, volume as v};

/// A bare customary unit, and what it was taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Assumption {
    /// `qt` taken as the US liquid quart (0.946 L); the dry quart is 16.4 % larger.
    LiquidQuart,
    /// `gal` taken as the US liquid gallon (3.785 L); the dry gallon is 16.4 % larger.
    LiquidGallon,
    /// `pt` taken as the US liquid pint (0.473 L); the dry pint is 16.4 % larger.
    LiquidPint,
    /// `bu` taken as the US bushel (35.24 L).
    UsBushel,
}

/// The measure in which a dose by volume is written and shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Spoon {
    /// US teaspoon, 4.93 mL.
    Teaspoon,
    /// US tablespoon, 14.79 mL.
    Tablespoon,
    /// US cup, 236.6 mL.
    Cup,
    /// Millilitres or litres, shown in millilitres.
    Millilitre,
}

/// One unit: every spelling, how to build it, and what a bare form assumes.
pub(super) struct Unit<T> {
    names: &'static [&'static str],
    pub(super) of: fn(f64) -> T,
    pub(super) assumption: Option<Assumption>,
    pub(super) spoon: Spoon,
}

impl<T> Unit<T> {
    /// Whether it is a volume of the US: neither metric nor imperial.
    pub(super) fn is_of_us(&self) -> bool {
        let name = self.names[0];
        !["l", "ml", "cl", "dl", "cm3", "m3"].contains(&name) && !name.starts_with("imp")
    }
}

const fn unit<T>(names: &'static [&'static str], of: fn(f64) -> T) -> Unit<T> {
    Unit { names, of, assumption: None, spoon: Spoon::Millilitre }
}

pub(super) fn find<T>(units: &'static [Unit<T>], written: &str, kind: &'static str) -> Result<&'static Unit<T>, Fault> {
    known(units, written).ok_or_else(|| {
        let known = units.iter().flat_map(|unit| unit.names.iter().copied()).collect();
        Fault::UnknownUnit { unit: written.to_owned(), kind, known, usual: None }
    })
}

pub(super) fn known<T>(units: &'static [Unit<T>], written: &str) -> Option<&'static Unit<T>> {
    let named = |name: &str| units.iter().find(|unit| unit.names.iter().any(|known| known.eq_ignore_ascii_case(name)));
    // Of most nothing but the case is other than it is looked up.
    named(written).or_else(|| match written.bytes().all(|byte| byte.is_ascii_alphabetic()) {
        true => None,
        false => named(&spelled(written)),
    })
}

/// Units of a kind: how each is made, what else there is to know of it, and its names.
macro_rules! units {
    ($($of:expr $(, $field:ident: $value:expr)? => $($name:literal),+;)+) => {
        &[$(Unit { $($field: $value,)? ..unit(&[$($name),+], $of) }),+]
    };
}

pub(super) static VOLUMES: &[Unit<Volume>] = units! {
    Volume::new::<v::litre> => "l", "litre", "litres", "liter", "liters";
    Volume::new::<v::millilitre> => "ml", "millilitre", "millilitres", "milliliter", "milliliters";
    Volume::new::<v::centilitre> => "cl";
    |dl| Volume::new::<v::centilitre>(10.0 * dl) => "dl";
    Volume::new::<v::millilitre> => "cm3", "cm³", "cc", "cu cm";
    Volume::new::<v::cubic_metre> => "m3", "m³", "cu m", "cubic metre", "cubic metres", "cubic meter", "cubic meters";
    Volume::new::<v::cubic_inch> => "cu in", "in3", "in³", "cubic inch", "cubic inches";
    Volume::new::<v::cubic_foot> => "cu ft", "ft3", "ft³", "cubic foot", "cubic feet";
    Volume::new::<v::cubic_yard> => "cu yd", "yd3", "yd³", "cubic yard", "cubic yards";
    Volume::new::<v::us_liquid_gallon> => "us gal", "us gallon", "us gallons", "liquid gallon", "liq gal", "us liq gal";
    Volume::new::<v::us_liquid_quart> => "us qt", "us quart", "us quarts", "liq qt",
        "liquid quart", "liquid quarts", "us liq qt";
    Volume::new::<v::us_liquid_gallon>, assumption: Some(Assumption::LiquidGallon) => "gal", "gallon", "gallons";
    Volume::new::<v::us_liquid_quart>, assumption: Some(Assumption::LiquidQuart) => "qt", "qts", "quart", "quarts";
    Volume::new::<v::us_bushel>, assumption: Some(Assumption::UsBushel) => "bu", "bushel", "bushels";
    Volume::new::<v::us_liquid_pint> => "us pt", "us pint", "us pints", "liq pt",
        "liquid pint", "liquid pints", "us liq pt";
    Volume::new::<v::us_liquid_pint>, assumption: Some(Assumption::LiquidPint) => "pt", "pint", "pints";
    Volume::new::<v::us_cup>, spoon: Spoon::Cup => "cup", "cups", "us cup", "us cups";
    Volume::new::<v::us_fluid_ounce> => "fl oz", "fluid ounce", "fluid ounces";
    Volume::new::<v::us_tablespoon>, spoon: Spoon::Tablespoon => "tbsp", "tablespoon", "tablespoons";
    Volume::new::<v::us_teaspoon>, spoon: Spoon::Teaspoon => "tsp", "teaspoon", "teaspoons";
    Volume::new::<v::us_bushel> => "us bu", "us bushel", "us bushels";
    Volume::new::<v::us_peck> => "peck", "pecks", "us peck", "us pecks";
    Volume::new::<v::us_dry_gallon> => "dry gal", "us dry gal", "dry gallon", "dry gallons";
    Volume::new::<v::us_dry_quart> => "dry qt", "us dry qt", "dry quart", "dry quarts";
    Volume::new::<v::us_dry_pint> => "dry pt", "us dry pt", "dry pint", "dry pints";
    Volume::new::<v::imperial_gallon> => "imp gal", "uk gal", "imperial gallon", "imperial gallons";
    Volume::new::<v::imperial_quart> => "imp qt", "uk qt", "imperial quart", "imperial quarts";
    Volume::new::<v::imperial_pint> => "imp pt", "uk pt", "imperial pint", "imperial pints";
    Volume::new::<v::imperial_bushel> => "imp bu", "uk bu", "imperial bushel", "imperial bushels";
};

pub(super) static MASSES: &[Unit<Mass>] = units! {
    Mass::new::<gram> => "g", "gram", "grams", "gm";
    Mass::new::<kilogram> => "kg", "kilogram", "kilograms", "kilo", "kilos";
    Mass::new::<milligram> => "mg", "milligram", "milligrams";
    Mass::new::<pound> => "lb", "lbs", "pound", "pounds";
    Mass::new::<ounce> => "oz", "ounce", "ounces";
};

pub(super) static LENGTHS: &[Unit<Length>] = units! {
    Length::new::<millimetre> => "mm", "millimetre", "millimetres", "millimeter", "millimeters";
    Length::new::<centimetre> => "cm", "centimetre", "centimetres", "centimeter", "centimeters";
    Length::new::<inch> => "in", "inch", "inches", "\"";
    |m| Length::new::<centimetre>(100.0 * m) => "m", "metre", "metres", "meter", "meters";
};
