//! Moistening: how much water brings a load to the moisture that trays are filled at.

use crate::catalogue::{Handle, Ingredient};
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Mass, Volume, in_litres, to_litres};

/// Moisture by weight to fill trays at: 50 to 60 % (University of Florida), the middle
/// wanted.
pub const WANTED: MoistureRange = MoistureRange { low: 0.50, middle: 0.55, high: 0.60 };
/// Loose dry grams in a litre above which moisture by weight says nothing: the figure
/// is for mixes of peat, coir, perlite and the like, not for loam and sand (a judgement).
pub const HEAVY_G_PER_L: f64 = 250.0;
/// NIOSH load constant: 23 kg (51 lb), for lifting under ideal conditions.
pub const LIFT_KG: f64 = 23.0;

/// A moisture by weight and its range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoistureRange {
    /// The driest that is good.
    pub low: f64,
    /// What is aimed for.
    pub middle: f64,
    /// The wettest that is good.
    pub high: f64,
}

/// Grams of water for each gram of dry matter at a moisture by weight (water over all).
///
/// ```
/// use trayful::plan::water_of_dry;
/// // A litre of 100 g dry, from 35 to 55 %: 68.4 g of water.
/// assert!((100.0 * (water_of_dry(0.55) - water_of_dry(0.35)) - 68.4).abs() < 0.05);
/// ```
pub fn water_of_dry(moisture: f64) -> f64 {
    moisture / (1.0 - moisture)
}

/// What to do about the water of a load.
#[derive(Clone, Debug, PartialEq)]
pub enum Moistening {
    /// Add so much, between a least and a most.
    Add {
        /// To be dry enough even if the ingredients are as moist as they come.
        least: Volume,
        /// For the middle of both ranges.
        about: Volume,
        /// If they are as dry as they come, to the wet end.
        most: Volume,
    },
    /// So much is in it beyond what is wanted: press or drain the wettest part.
    Press(Volume),
    /// Too heavy for a figure by weight: by hand only.
    ByHand,
    /// Ingredients whose dry and moist densities are not both known.
    Unknown(Vec<Handle<Ingredient>>),
    /// Nothing that holds water goes in.
    Nothing,
}

/// Dry matter and water of some loose ingredients, as they go into the tub.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Water {
    dry_g: f64,
    /// Grams of water at the dry end, in the middle and at the wet end of the ranges.
    present_g: [f64; 3],
    litres: f64,
}

impl Water {
    /// Of loose ingredients.
    ///
    /// # Errors
    /// The ingredients whose densities are not known.
    pub(super) fn of(contents: &[(Handle<Ingredient>, Volume)]) -> Result<Self, Vec<Handle<Ingredient>>> {
        let mut sum = Self::default();
        let mut unknown = Vec::new();
        for (id, loose) in contents {
            let (Some(dry), Some((low, high))) = (id.dry_density, id.moist_density) else {
                unknown.push(id.clone());
                continue;
            };
            let litres = to_litres(*loose);
            let [dry, low, high] = [dry, low, high].map(|density| litres * density.get::<gram_per_litre>());
            sum.dry_g += dry;
            sum.litres += litres;
            for (present, moist) in sum.present_g.iter_mut().zip([low, f64::midpoint(low, high), high]) {
                *present += moist - dry;
            }
        }
        if unknown.is_empty() { Ok(sum) } else { Err(unknown) }
    }

    /// Grams to add at the driest, the middle and the wettest: negative where too much
    /// is there.
    fn missing(&self) -> [f64; 3] {
        let [low, middle, high] = self.present_g;
        let to = |wanted: f64, present: f64| self.dry_g * water_of_dry(wanted) - present;
        [to(WANTED.low, high), to(WANTED.middle, middle), to(WANTED.high, low)]
    }

    /// What to do, `added` grams having been added to a part of it before.
    pub(super) fn moistening(&self, added: f64) -> Moistening {
        if self.litres <= 0.0 {
            return Moistening::Nothing;
        }
        if self.dry_g / self.litres > HEAVY_G_PER_L {
            return Moistening::ByHand;
        }
        // One gram of water is one millilitre.
        let [least, about, most] = self.missing().map(|grams| (grams - added) / 1000.0);
        if about <= 0.0 {
            return Moistening::Press(in_litres(-about));
        }
        Moistening::Add { least: in_litres(least.max(0.0)), about: in_litres(about), most: in_litres(most) }
    }

    /// Its weight in the middle of the ranges, with the water that is added.
    pub(super) fn weight(&self, moistening: &Moistening, added: f64) -> Mass {
        Mass::new::<gram>(self.dry_g + self.present_g[1] + added + grams_added(moistening))
    }
}

/// Grams of water that a moistening adds.
pub(super) fn grams_added(moistening: &Moistening) -> f64 {
    match moistening {
        Moistening::Add { about, .. } => to_litres(*about) * 1000.0,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn id(catalogue: &Catalogue, name: &str) -> Handle<Ingredient> {
        catalogue.ingredients.find(name).unwrap()
    }

    #[test]
    fn peat_takes_water_and_drained_coir_gives_it_up() {
        let catalogue = Catalogue::built_in().unwrap();
        let load = |base: &str| {
            let contents: Vec<_> = [(base, 3.0), ("perlite", 1.0), ("vermiculite", 1.0)]
                .iter()
                .map(|(name, litres)| (id(&catalogue, name), in_litres(*litres)))
                .collect();
            Water::of(&contents).unwrap().moistening(0.0)
        };
        let Moistening::Add { least, about, most } = load("peat") else { panic!() };
        assert!(least < about && about < most);
        // 520 g dry, 160 g of water in the middle: 520 x 55/45 - 160 = 475.6 g.
        assert!((to_litres(about) - (520.0 * 0.55 / 0.45 - 160.0) / 1000.0).abs() < 1e-9);
        assert!(matches!(load("coir"), Moistening::Press(_)));
    }

    #[test]
    fn loam_is_left_to_the_hand_and_the_unknown_is_named() {
        let catalogue = Catalogue::built_in().unwrap();
        let loam = Water::of(&[(id(&catalogue, "loam"), in_litres(5.0))]).unwrap();
        assert_eq!(loam.moistening(0.0), Moistening::ByHand);
        let lime = id(&catalogue, "lime");
        assert_eq!(Water::of(&[(lime.clone(), in_litres(1.0))]), Err(vec![lime]));
    }
}
