//! How amounts stand in JSON: litres and grams, each under a name of its own.

use super::Quantity;
use serde::ser::{SerializeMap, Serializer};

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
    use super::super::{Quantity, in_litres};

    #[derive(serde::Serialize)]
    struct Row {
        #[serde(flatten, serialize_with = "super::need")]
        need: Quantity,
        #[serde(flatten, serialize_with = "super::left")]
        left: Option<Quantity>,
    }

    #[test]
    fn an_amount_has_a_field_for_each_way_to_count() {
        let row = Row { need: Quantity::Volume(in_litres(2.5)), left: None };
        let json = serde_json::to_string(&row).unwrap();
        assert_eq!(json, r#"{"need_l":2.5,"need_g":null,"left_l":null,"left_g":null}"#);
    }
}
