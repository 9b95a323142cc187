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
mod format;
mod parse;

pub use cover::{Covered, cover, fits, given_billionths, needed_billionths};
pub use format::{Litres, UnitSystem, amount, grams, litres, ounces, percent, plain, us_volume};
pub use parse::{
    Assumption, Fault, Parsed, Rate, Spoon, count, density, density_range, footprint, length, mass, measured, number,
    one_of, per_gram, rate, share, span_of_whole_numbers, volume,
};

/// Lengths: cell and pot measures, sieve meshes, trays.
pub mod length {
    quantity! {
        /// Length, base unit decimetre.
        quantity: Length; "length";
        /// Dimension of length.
        dimension: Q<P1, Z0>;
        units {
            @decimetre: 1.0; "dm", "decimetre", "decimetres";
            @millimetre: 0.01; "mm", "millimetre", "millimetres";
            @centimetre: 0.1; "cm", "centimetre", "centimetres";
            @inch: 0.254; "in", "inch", "inches";
        }
    }
}

/// Areas: the top of a cell.
pub mod area {
    quantity! {
        /// Area, base unit square decimetre.
        quantity: Area; "area";
        /// Dimension of area.
        dimension: Q<P2, Z0>;
        units {
            @square_decimetre: 1.0; "dm²", "square decimetre", "square decimetres";
        }
    }
}

/// Masses: doses, water weighed, bags.
pub mod mass {
    quantity! {
        /// Mass, base unit gram.
        quantity: Mass; "mass";
        /// Dimension of mass.
        dimension: Q<Z0, P1>;
        units {
            @gram: 1.0; "g", "gram", "grams";
            @milligram: 0.001; "mg", "milligram", "milligrams";
            @kilogram: 1000.0; "kg", "kilogram", "kilograms";
            @pound: 453.592_37; "lb", "pound", "pounds";
            @ounce: 28.349_523_125; "oz", "ounce", "ounces";
        }
    }
}

/// Volumes: cells, mixes, packages, scoops. All loose unless a name says otherwise.
pub mod volume {
    quantity! {
        /// Volume, base unit litre (one cubic decimetre).
        quantity: Volume; "volume";
        /// Dimension of volume.
        dimension: Q<P3, Z0>;
        units {
            @litre: 1.0; "L", "litre", "litres";
            @millilitre: 0.001; "mL", "millilitre", "millilitres";
            @centilitre: 0.01; "cL", "centilitre", "centilitres";
            @cubic_metre: 1000.0; "m³", "cubic metre", "cubic metres";
            @cubic_inch: 0.016_387_064; "cu in", "cubic inch", "cubic inches";
            @cubic_foot: 28.316_846_592; "cu ft", "cubic foot", "cubic feet";
            @cubic_yard: 764.554_857_984; "cu yd", "cubic yard", "cubic yards";
            @us_liquid_gallon: 3.785_411_784; "US gal", "US gallon", "US gallons";
            @us_liquid_quart: 0.946_352_946; "US liq qt", "US liquid quart", "US liquid quarts";
            @us_liquid_pint: 0.473_176_473; "US pt", "US liquid pint", "US liquid pints";
            @us_cup: 0.236_588_236_5; "cup", "cup", "cups";
            @us_fluid_ounce: 0.029_573_529_562_5; "fl oz", "fluid ounce", "fluid ounces";
            @us_tablespoon: 0.014_786_764_781_25; "tbsp", "tablespoon", "tablespoons";
            @us_teaspoon: 0.004_928_921_593_75; "tsp", "teaspoon", "teaspoons";
            @us_bushel: 35.239_070_166_88; "US bu", "US bushel", "US bushels";
            @us_peck: 8.809_767_541_72; "peck", "peck", "pecks";
            @us_dry_gallon: 4.404_883_770_86; "dry gal", "dry gallon", "dry gallons";
            @us_dry_quart: 1.101_220_942_715; "dry qt", "dry quart", "dry quarts";
            @us_dry_pint: 0.550_610_471_357_5; "dry pt", "dry pint", "dry pints";
            @imperial_gallon: 4.546_09; "imp gal", "imperial gallon", "imperial gallons";
            @imperial_quart: 1.136_522_5; "imp qt", "imperial quart", "imperial quarts";
            @imperial_pint: 0.568_261_25; "imp pt", "imperial pint", "imperial pints";
            @imperial_bushel: 36.368_72; "imp bu", "imperial bushel", "imperial bushels";
        }
    }
}

/// Mass per volume: dose rates, bulk densities.
pub mod mass_density {
    quantity! {
        /// Mass per volume, base unit gram per litre.
        quantity: MassDensity; "mass density";
        /// Dimension of mass per volume.
        dimension: Q<N3, P1>;
        units {
            @gram_per_litre: 1.0; "g/L", "gram per litre", "grams per litre";
        }
    }
}

system! {
    /// The bench system: decimetre and gram.
    quantities: Q {
        length: decimetre, L;
        mass: gram, M;
    }
    /// Units of the bench system.
    units: U {
        mod length::Length,
        mod area::Area,
        mod mass::Mass,
        mod volume::Volume,
        mod mass_density::MassDensity,
    }
}

/// The bench quantities over `f64`.
pub mod of_f64 {
    mod bench {
        pub use super::super::*;
    }
    Q!(self::bench, f64);
}

pub use self::of_f64::{Area, Length, Mass, MassDensity, Volume};

/// A volume of so many litres.
#[must_use]
pub fn in_litres(litres: f64) -> Volume {
    Volume::new::<volume::litre>(litres)
}

/// The litres of a volume.
#[must_use]
pub fn to_litres(volume: Volume) -> f64 {
    volume.get::<volume::litre>()
}

/// How many times one length goes into another.
#[must_use]
pub fn length_ratio(length: Length, unit: Length) -> f64 {
    length.get::<length::decimetre>() / unit.get::<length::decimetre>()
}

#[cfg(test)]
mod tests {
    use super::length::{centimetre, inch, millimetre};
    use super::mass::{gram, kilogram, milligram, ounce, pound};
    use super::of_f64::{Length, Mass, Volume};
    use super::to_litres;
    use super::volume::{
        centilitre, cubic_foot, cubic_inch, cubic_metre, cubic_yard, imperial_bushel, imperial_gallon, imperial_pint,
        imperial_quart, litre, millilitre, us_bushel, us_cup, us_dry_gallon, us_dry_pint, us_dry_quart, us_fluid_ounce,
        us_liquid_gallon, us_liquid_pint, us_liquid_quart, us_peck, us_tablespoon, us_teaspoon,
    };

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
