//! So much of an ingredient, by volume or by weight.

use crate::diagnostic::nearest;
use crate::units::mass::gram;
use crate::units::{Assumption, Fault, Mass, Volume, in_litres, mass, plain, to_litres, volume};

/// An amount by loose volume, or by weight for what is dosed by weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stuff {
    /// Loose volume.
    Volume(Volume),
    /// Weight.
    Mass(Mass),
}

impl Stuff {
    /// Litres or grams.
    #[must_use]
    pub fn size(self) -> f64 {
        match self {
            Self::Volume(volume) => to_litres(volume),
            Self::Mass(mass) => mass.get::<gram>(),
        }
    }

    /// So many litres or grams, of the kind of this one.
    #[must_use]
    pub fn of_size(self, size: f64) -> Self {
        match self {
            Self::Volume(_) => Self::Volume(in_litres(size)),
            Self::Mass(_) => Self::Mass(Mass::new::<gram>(size)),
        }
    }

    /// Whether both are volumes or both weights.
    #[must_use]
    pub fn is_like(self, other: Self) -> bool {
        matches!((self, other), (Self::Volume(_), Self::Volume(_)) | (Self::Mass(_), Self::Mass(_)))
    }

    /// The litres, of a volume.
    #[must_use]
    pub fn litres(self) -> Option<f64> {
        matches!(self, Self::Volume(_)).then(|| self.size())
    }

    /// The grams, of a weight.
    #[must_use]
    pub fn grams(self) -> Option<f64> {
        matches!(self, Self::Mass(_)).then(|| self.size())
    }

    /// To the millilitre or milligram, rounded down, as it is written into a stock file.
    #[must_use]
    pub fn written(self) -> String {
        // A hair below a whole thousandth is that thousandth.
        let thousandths = (self.size() * 1000.0 + 1e-6).floor() / 1000.0;
        format!("{} {}", plain(thousandths.max(0.0), 3), self.unit())
    }

    /// `L` or `g`.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Volume(_) => "L",
            Self::Mass(_) => "g",
        }
    }
}

/// A volume or a mass above zero, and what was taken for a bare unit.
pub(super) fn stuff(text: &str) -> Result<(Stuff, Option<Assumption>), Fault> {
    match (volume(text), mass(text)) {
        (Ok(parsed), _) => Ok((Stuff::Volume(parsed.value), parsed.assumption)),
        (_, Ok(mass)) => Ok((Stuff::Mass(mass), None)),
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

    #[test]
    fn volumes_and_masses_as_written() {
        assert_eq!(stuff("40 L").unwrap().0, Stuff::Volume(in_litres(40.0)));
        assert_eq!(stuff("500 g").unwrap().0, Stuff::Mass(Mass::new::<gram>(500.0)));
        assert!(matches!(stuff("0 L"), Err(Fault::Zero(_))));
        assert!(matches!(stuff("5 metres"), Err(Fault::UnknownUnit { kind: "volume or mass", .. })));
    }

    #[test]
    fn written_amounts_round_down_to_the_thousandth() {
        assert_eq!(Stuff::Volume(in_litres(27.300_9)).written(), "27.3 L");
        assert_eq!(Stuff::Volume(in_litres(0.1 + 0.2)).written(), "0.3 L");
        assert_eq!(Stuff::Mass(Mass::new::<gram>(3.0 - 1e-12)).written(), "3 g");
        assert_eq!(Stuff::Volume(in_litres(0.0004)).written(), "0 L");
    }
}
