//! Quantities of the bench and how people write them.
//!
//! The system of units is our own, in [`uom`]: decimetre and gram, so that one
//! cubic decimetre is one litre and every factor below is exact by definition.
//! (The ready-made system carries seven digits for the customary units: one
//! gallon would be 5 quarts when rounded up.)
//!
//! Definitions: NIST Handbook 44, Appendix C (inch, pound, US gallon of 231 cubic
//! inches, US bushel of 2150.42 cubic inches, dry quart of 67.200625 cubic
//! inches), and the UK Weights and Measures Act 1985 for the imperial gallon of
//! 4.54609 L.

mod cover;
pub mod customary;
mod fault;
mod format;
mod named;
mod parse;
mod quantity;
mod rate;
mod rounding;
pub mod serial;
#[cfg(doctest)]
#[macro_use]
mod unit_names;
#[cfg_attr(doctest, allow(missing_docs, non_camel_case_types))]
mod system;

pub use cover::{Covered, cover, fits, given_billionths, needed_billionths};
pub use customary::{Unit, inches};
pub use fault::Fault;
pub use format::{
    Cell, Deep, Liquid, Measure, Needed, Printed, by_spoon, dosed, in_column, percent, printed_in_ounces, quarters,
    seed_weight,
};
pub use named::{Assumption, Spoon};
pub(crate) use parse::range;
pub use parse::{
    Bounds, Parsed, celsius_range, conductivity, count, count_up_to, depth, depth_range, footprint, is_of_us,
    leading_mass, length, mass, mass_or_volume, measured, number, one_of, per_gram, share, span_of_whole_numbers,
    volume, volume_range, within,
};
pub use quantity::{Quantity, Sum, Tally};
pub use rate::{Rate, density, density_range, rate};
pub(crate) use rounding::whole as whole_steps;
pub use rounding::{Rounding, UnitSystem, plain, rounded};
pub use system::of_f64::{Area, Length, Mass, MassDensity, Volume};
pub use system::{area, length, mass, mass_density, volume};

/// A volume of so many litres.
pub fn in_litres(litres: f64) -> Volume {
    Volume::new::<volume::litre>(litres)
}

/// The litres of a volume.
pub fn to_litres(volume: Volume) -> f64 {
    volume.get::<volume::litre>()
}

/// How many times one length goes into another.
pub fn length_ratio(length: Length, unit: Length) -> f64 {
    length.get::<length::decimetre>() / unit.get::<length::decimetre>()
}

#[cfg(test)]
mod tests {
    use super::length::{centimetre, inch, millimetre};
    use super::mass::{gram, kilogram, milligram, ounce, pound};
    use super::to_litres;
    use super::volume::{
        centilitre, cubic_foot, cubic_inch, cubic_metre, cubic_yard, imperial_bushel, imperial_gallon, imperial_pint,
        imperial_quart, litre, millilitre, us_bushel, us_cup, us_dry_gallon, us_dry_pint, us_dry_quart, us_fluid_ounce,
        us_liquid_gallon, us_liquid_pint, us_liquid_quart, us_peck, us_tablespoon, us_teaspoon,
    };
    use super::{Length, Mass, Volume};

    // Relations, not copied numbers: NIST Handbook 44 Appendix C.
    fn same(a: f64, b: f64) {
        assert!((a / b - 1.0).abs() < 1e-14, "{a} is not {b}");
    }

    #[test]
    fn customary_volumes_stand_in_their_defined_relations() {
        let side = Length::new::<inch>(1.0);
        let cube: Volume = side * side * side;
        same(to_litres(cube), Volume::new::<cubic_inch>(1.0).get::<litre>());
        same(Volume::new::<cubic_foot>(1.0).get::<cubic_inch>(), 1728.0);
        same(Volume::new::<cubic_yard>(1.0).get::<cubic_foot>(), 27.0);
        same(Volume::new::<us_liquid_gallon>(1.0).get::<cubic_inch>(), 231.0);
        same(Volume::new::<us_liquid_gallon>(1.0).get::<us_liquid_quart>(), 4.0);
        same(Volume::new::<us_liquid_quart>(1.0).get::<us_liquid_pint>(), 2.0);
        same(Volume::new::<us_liquid_pint>(1.0).get::<us_cup>(), 2.0);
        same(Volume::new::<us_cup>(1.0).get::<us_fluid_ounce>(), 8.0);
        same(Volume::new::<us_cup>(1.0).get::<us_tablespoon>(), 16.0);
        same(Volume::new::<us_tablespoon>(1.0).get::<us_teaspoon>(), 3.0);
        same(Volume::new::<us_bushel>(1.0).get::<cubic_inch>(), 2150.42);
        same(Volume::new::<us_bushel>(1.0).get::<us_peck>(), 4.0);
        same(Volume::new::<us_peck>(1.0).get::<us_dry_quart>(), 8.0);
        same(Volume::new::<us_dry_gallon>(1.0).get::<us_dry_quart>(), 4.0);
        same(Volume::new::<us_dry_quart>(1.0).get::<us_dry_pint>(), 2.0);
        same(Volume::new::<us_dry_quart>(1.0).get::<cubic_inch>(), 67.200_625);
        same(Volume::new::<imperial_bushel>(1.0).get::<imperial_gallon>(), 8.0);
        same(Volume::new::<imperial_gallon>(1.0).get::<imperial_quart>(), 4.0);
        same(Volume::new::<imperial_quart>(1.0).get::<imperial_pint>(), 2.0);
        same(Volume::new::<cubic_metre>(1.0).get::<litre>(), 1000.0);
        same(Volume::new::<litre>(1.0).get::<centilitre>(), 100.0);
        same(Volume::new::<centilitre>(1.0).get::<millilitre>(), 10.0);
    }

    #[test]
    fn masses_and_lengths_stand_in_their_defined_relations() {
        same(Mass::new::<pound>(1.0).get::<ounce>(), 16.0);
        same(Mass::new::<kilogram>(1.0).get::<gram>(), 1000.0);
        same(Mass::new::<gram>(1.0).get::<milligram>(), 1000.0);
        same(Mass::new::<kilogram>(0.453_592_37).get::<pound>(), 1.0);
        same(Length::new::<inch>(1.0).get::<centimetre>(), 2.54);
        same(Length::new::<centimetre>(1.0).get::<millimetre>(), 10.0);
    }
}
