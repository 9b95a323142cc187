//! How an amount of an ingredient is written: by volume or by weight.

use crate::diagnostic::nearest;
use crate::units::{Assumption, Fault, Quantity, mass, volume};

/// A volume or a mass above zero, and what was taken for a bare unit.
pub(super) fn stuff(text: &str) -> Result<(Quantity, Option<Assumption>), Fault> {
    match (volume(text), mass(text)) {
        (Ok(parsed), _) => Ok((Quantity::Volume(parsed.value), parsed.assumption)),
        (_, Ok(mass)) => Ok((Quantity::Mass(mass), None)),
        (Err(Fault::UnknownUnit { unit, .. }), Err(_)) => {
            let near = nearest(&unit.to_lowercase(), ["litres", "l", "ml", "cu ft", "gal", "kg", "g", "grams", "lb"]);
            Err(Fault::UnknownUnit { unit, kind: "volume or mass", near })
        }
        (Err(fault), _) => Err(fault),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::mass::gram;
    use crate::units::{Mass, in_litres};

    #[test]
    fn volumes_and_masses_as_written() {
        assert_eq!(stuff("40 L").unwrap().0, Quantity::Volume(in_litres(40.0)));
        assert_eq!(stuff("500 g").unwrap().0, Quantity::Mass(Mass::new::<gram>(500.0)));
        assert!(matches!(stuff("0 L"), Err(Fault::Zero(_))));
        assert!(matches!(stuff("5 metres"), Err(Fault::UnknownUnit { kind: "volume or mass", .. })));
    }
}
