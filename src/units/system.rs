//! The system of units: decimetre and gram, every factor exact by definition.

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
