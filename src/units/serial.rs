//! How amounts are serialised where their type alone does not say it. A volume is
//! serialised as its litres and a mass as its grams, the base units of the bench.

use super::length::millimetre;
use super::mass::kilogram;
use super::{Length, Mass, Quantity, Tally, Volume};
use crate::exact::Fraction;
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

/// A mass as kilograms.
///
/// # Errors
/// Those of the serializer.
pub fn kilograms<S: Serializer>(mass: &Option<Mass>, serializer: S) -> Result<S::Ok, S::Error> {
    mass.map(|mass| mass.get::<kilogram>()).serialize(serializer)
}

/// A fraction as a number.
///
/// # Errors
/// Those of the serializer.
pub fn number<S: Serializer>(share: &Fraction, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(share.to_f64())
}

/// Anything as it is printed: parts, which are exact.
///
/// # Errors
/// Those of the serializer.
pub fn text<S: Serializer>(value: &impl Display, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(value)
}

/// One thing, or none, as a list.
///
/// # Errors
/// Those of the serializer.
pub fn list<'t, T, S>(things: &'t T, serializer: S) -> Result<S::Ok, S::Error>
where
    &'t T: IntoIterator<Item: Serialize>,
    S: Serializer,
{
    serializer.collect_seq(things)
}

/// Loose volumes by name: `[{"name", "loose_l"}]`.
///
/// # Errors
/// Those of the serializer.
pub fn loose<'t, T, K, S>(amounts: &'t T, serializer: S) -> Result<S::Ok, S::Error>
where
    &'t T: IntoIterator<Item = &'t (K, Volume)>,
    K: Serialize + 't,
    S: Serializer,
{
    #[derive(Serialize)]
    struct Loose<'t, K> {
        name: &'t K,
        loose_l: Volume,
    }
    serializer.collect_seq(amounts.into_iter().map(|(name, loose_l)| Loose { name, loose_l: *loose_l }))
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

/// Sums of doses, each name once: `[{"name", "grams", "ml"}]`.
///
/// # Errors
/// Those of the serializer.
pub fn doses<K: Serialize + PartialEq, S: Serializer>(
    sums: &Tally<K, Quantity>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Sum<'t, K> {
        name: &'t K,
        #[serde(flatten)]
        sum: Dosed,
    }
    let mut named: Vec<Sum<'_, K>> = Vec::new();
    for (name, amount) in sums {
        let (grams, ml) = (amount.grams(), amount.millilitres());
        match named.iter_mut().find(|known| known.name == name) {
            Some(Sum { sum, .. }) => *sum = Dosed { grams: sum.grams.or(grams), ml: sum.ml.or(ml) },
            None => named.push(Sum { name, sum: Dosed { grams, ml } }),
        }
    }
    named.serialize(serializer)
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
    use crate::units::in_litres;
    use crate::units::mass::gram;

    #[test]
    fn a_dose_by_weight_and_by_measure_is_named_once() {
        #[derive(Serialize)]
        struct Totals(#[serde(serialize_with = "doses")] Tally<&'static str, Quantity>);
        let lime = |amount| ("lime", amount);
        let grams = |grams: f64| Quantity::Mass(Mass::new::<gram>(grams));
        let sums = [lime(grams(2.0)), ("gypsum", grams(1.0)), lime(Quantity::Volume(in_litres(0.015)))];
        assert_eq!(
            serde_json::to_string(&Totals(sums.into_iter().collect())).unwrap(),
            r#"[{"name":"lime","grams":2.0,"ml":15.0},{"name":"gypsum","grams":1.0,"ml":null}]"#
        );
    }

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
