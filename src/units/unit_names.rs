//! The names of quantities and units alone, for the examples of the docs: what [`uom`] makes of them has examples of its
//! own, beside which ours could not be compiled as one program.

macro_rules! quantity {
    (
        $(#[$_of_quantity:meta])* quantity: $quantity:ident; $_words:literal;
        $(#[$_of_dimension:meta])* dimension: Q<$_length:ident, $_mass:ident>;
        units { $(@$unit:ident: $_factor:literal; $_short:literal, $_one:literal, $_many:literal;)* }
    ) => {
        pub struct $quantity;
        $(pub struct $unit;)*
    };
}

macro_rules! system {
    ($($_of_system:tt)*) => {};
}

macro_rules! Q {
    (self::$bench:ident, f64) => {
        pub use $bench::{area::Area, length::Length, mass::Mass, mass_density::MassDensity, volume::Volume};
    };
}
