//! How amounts are serialised where their type alone does not say it. A volume is
//! serialised as its litres and a mass as its grams, the base units of the bench.

use super::length::millimetre;
use super::{Length, Quantity};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use std::fmt::Display;

/// A length as millimetres.
///
/// # Errors
/// Those of the serializer, as in all of this module.
pub fn millimetres<S: Serializer>(length: &Length, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(length.get::<millimetre>())
}

/// Anything as it is printed: parts, which are exact.
///
/// # Errors
/// Those of the serializer.
pub fn text<S: Serializer>(value: &impl Display, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(value)
}

/// What is dosed: `"grams"` by weight, `"ml"` by measure.
#[derive(Serialize)]
struct Dosed {
    grams: Option<f64>,
    ml: Option<f64>,
}

/// A dose: `"grams"` or `"ml"`, the other null.
///
/// # Errors
/// Those of the serializer.
pub fn dose<S: Serializer>(amount: &Quantity, serializer: S) -> Result<S::Ok, S::Error> {
    Dosed { grams: amount.grams(), ml: amount.millilitres() }.serialize(serializer)
}

/// Adds the litres and the grams of an amount to a map; null for the one that it is not
/// counted in.
///
/// # Errors
/// Those of the serializer.
pub fn entries<M: SerializeMap>(map: &mut M, names: [&str; 2], amount: Option<Quantity>) -> Result<(), M::Error> {
    map.serialize_entry(names[0], &amount.and_then(Quantity::litres))?;
    map.serialize_entry(names[1], &amount.and_then(Quantity::grams))
}

/// Functions for `#[serde(flatten, serialize_with = "...")]` that write an amount as two
/// fields: its name with `_l` and with `_g`.
macro_rules! fields {
    ($($name:ident)+) => {$(
        #[doc = concat!("An amount as `", stringify!($name), "_l` and `", stringify!($name), "_g`.")]
        ///
        /// # Errors
        /// Those of the serializer.
        pub fn $name<S, A>(amount: &A, serializer: S) -> Result<S::Ok, S::Error>
        where
            S: Serializer,
            A: Copy + Into<Option<Quantity>>,
        {
            let mut map = serializer.serialize_map(Some(2))?;
            let names = [concat!(stringify!($name), "_l"), concat!(stringify!($name), "_g")];
            entries(&mut map, names, (*amount).into())?;
            map.end()
        }
    )+};
}

fields! { need on_hand lacking to_buy left_over per_tray left one_more_lacks }

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::mass::gram;
    use crate::units::{Mass, in_litres};

    #[test]
    fn base_units_are_litres_and_grams() {
        let both = (in_litres(2.5), Some(Mass::new::<gram>(3.0)));
        assert_eq!(serde_json::to_string(&both).unwrap(), "[2.5,3.0]");
    }

    #[derive(Serialize)]
    struct Row {
        #[serde(flatten, serialize_with = "need")]
        need: Quantity,
        #[serde(flatten, serialize_with = "left")]
        left: Option<Quantity>,
    }

    #[test]
    fn an_amount_has_a_field_for_each_way_to_count() {
        let row = Row { need: Quantity::Volume(in_litres(2.5)), left: None };
        let json = serde_json::to_string(&row).unwrap();
        assert_eq!(json, r#"{"need_l":2.5,"need_g":null,"left_l":null,"left_g":null}"#);
    }
}
