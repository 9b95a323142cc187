//! Moistening: how much water brings a load to the moisture that trays are filled at.

use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::WaterHeld;
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Mass, Volume, in_litres, to_litres};

/// Moisture by weight to fill trays at: 50 to 60 % (University of Florida, for mixes of peat), the
/// middle wanted.
pub const WANTED: MoistureRange = MoistureRange { low: 0.50, middle: 0.55, high: 0.60 };
/// The same of coir, which is lighter: at the same feel it stands at 65 to 75 % (from memory).
pub const WANTED_OF_COIR: MoistureRange = MoistureRange { low: 0.65, middle: 0.70, high: 0.75 };
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
    /// Add so much, or take so much away where it is less than nothing.
    Water {
        /// If the ingredients come as moist as they may, for the dry end of what is wanted.
        least: Volume,
        /// For the middle of both ranges.
        about: Volume,
        /// If they come as dry as they may, for the wet end.
        most: Volume,
        /// Moisture by weight that this aims at.
        moisture: f64,
    },
    /// Too heavy for a figure by weight: by hand only.
    ByHand,
    /// Ingredients whose dry and moist densities are not both known.
    Unknown(Vec<Handle<Ingredient>>),
    /// Nothing that holds water goes in.
    Nothing,
}

impl Moistening {
    /// Whether it holds too much water as it usually comes.
    pub fn is_too_wet(&self) -> bool {
        matches!(self, Self::Water { about, .. } if to_litres(*about) <= 0.0)
    }
}

/// What a moist load weighs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoistWeight {
    /// As its ingredients usually come.
    pub about: Mass,
    /// At the wet end.
    pub most: Mass,
}

/// Dry matter and water of some loose ingredients, as they go into the tub.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Water {
    dry_g: f64,
    /// Grams of water at the dry end, in the middle and at the wet end of the ranges.
    present_g: [f64; 3],
    /// The same of what is wanted.
    wanted_g: [f64; 3],
    litres: f64,
}

impl Water {
    /// Of loose ingredients, coir holding so much water unless its entry says otherwise.
    ///
    /// # Errors
    /// The ingredients whose densities are not known.
    pub(super) fn of(
        contents: &[(Handle<Ingredient>, Volume)],
        coir: WaterHeld,
    ) -> Result<Self, Vec<Handle<Ingredient>>> {
        let mut sum = Self::default();
        let mut unknown = Vec::new();
        for (id, loose) in contents {
            let is_coir = id.is(Role::Coir);
            let held = |dry: f64| match id.moist_density {
                Some((low, high)) => {
                    let [low, high] = [low, high].map(|density| density.get::<gram_per_litre>() - dry);
                    Some([low, f64::midpoint(low, high), high])
                }
                None => is_coir.then_some([coir.least, coir.usual, coir.most].map(|held| held * dry)),
            };
            let dry = id.dry_density.map(|dry| dry.get::<gram_per_litre>());
            let Some((dry, held)) = dry.and_then(|dry| Some((dry, held(dry)?))) else {
                unknown.push(id.clone());
                continue;
            };
            let litres = to_litres(*loose);
            let MoistureRange { low, middle, high } = if is_coir { WANTED_OF_COIR } else { WANTED };
            sum.dry_g += litres * dry;
            sum.litres += litres;
            for (index, moisture) in [low, middle, high].into_iter().enumerate() {
                sum.present_g[index] += litres * held[index];
                sum.wanted_g[index] += litres * dry * water_of_dry(moisture);
            }
        }
        if unknown.is_empty() { Ok(sum) } else { Err(unknown) }
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
        let [dry_end, about, wet_end] =
            [(0, 2), (1, 1), (2, 0)].map(|(wanted, present)| self.wanted_g[wanted] - self.present_g[present] - added);
        let [least, about, most] = [dry_end, about, wet_end].map(|grams| in_litres(grams / 1000.0));
        let moisture = self.wanted_g[1] / (self.dry_g + self.wanted_g[1]);
        Moistening::Water { least, about, most, moisture }
    }

    /// Its weight with the water that is added.
    pub(super) fn weight(&self, moistening: &Moistening, added: f64) -> MoistWeight {
        let about = self.present_g[1] + added + grams_added(moistening);
        // Too heavy for a figure by weight, it gets no water.
        let wettest = if let Moistening::Water { .. } = moistening { self.wanted_g[2] } else { 0.0 };
        let most = about.max(self.present_g[2] + added).max(wettest);
        let [about, most] = [about, most].map(|water| Mass::new::<gram>(self.dry_g + water));
        MoistWeight { about, most }
    }
}

/// Grams of water that a moistening adds.
pub(super) fn grams_added(moistening: &Moistening) -> f64 {
    match moistening {
        Moistening::Water { about, .. } => to_litres(*about).max(0.0) * 1000.0,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::coir::Coir;

    fn id(catalogue: &Catalogue, name: &str) -> Handle<Ingredient> {
        catalogue.ingredients.find(name).unwrap()
    }

    fn drained(holds_l_kg: f64) -> WaterHeld {
        let usual = crate::coir::SoldAs::Washed.coir().unwrap();
        Coir::measured(0.5, usual.sites, usual.soluble, holds_l_kg).unwrap().drained()
    }

    /// Least, about and most litres for 3 L of a base, 1 L of perlite and 1 L of vermiculite.
    fn load(base: &str, coir: WaterHeld) -> ([f64; 3], f64) {
        let catalogue = Catalogue::built_in().unwrap();
        let parts = [(base, 3.0), ("perlite", 1.0), ("vermiculite", 1.0)];
        let contents: Vec<_> = parts.iter().map(|(name, litres)| (id(&catalogue, name), in_litres(*litres))).collect();
        let water = Water::of(&contents, coir).unwrap();
        let Moistening::Water { least, about, most, moisture } = water.moistening(0.0) else { panic!() };
        ([least, about, most].map(to_litres), moisture)
    }

    // By hand on the densities of the table. Water held by coir: drained 7 kg/kg, squeezed by hand 4,
    // fine pith 10, wetted to the label 5.1 (common practice); wanted 55 %, of coir 70 % (memory).
    #[test]
    fn water_follows_the_state_the_coir_is_in() {
        let ([least, about, most], moisture) = load("peat", WaterHeld::WETTED);
        assert!(least < about && about < most);
        // 520 g dry, 160 g of water in the middle: 520 x 55/45 - 160 = 475.6 g.
        assert!((about - (520.0 * 0.55 / 0.45 - 160.0) / 1000.0).abs() < 1e-9);
        assert!((moisture - 0.55).abs() < 1e-9);
        // 210 g of dry coir want 210 x 70/30 = 490 g; 190 g of perlite and vermiculite 190 x 55/45 = 232.2 g
        // and bring 25 g in the middle.
        let wanted = 490.0 + 190.0 * 0.55 / 0.45 - 25.0;
        for (coir, held) in [(WaterHeld::WETTED, 5.1), (drained(7.0), 7.0), (drained(5.5), 5.5), (drained(3.5), 3.5)] {
            let ([least, about, most], moisture) = load("coir", coir);
            assert!((about - (wanted - 210.0 * held) / 1000.0).abs() < 1e-9, "{held}: {about}");
            assert!((moisture - (wanted + 25.0) / (400.0 + wanted + 25.0)).abs() < 1e-9);
            assert!(least < about && about < most);
        }
        // Drained it brings more than is wanted, wetted to its label it does not.
        assert!(load("coir", drained(7.0)).0[1] < -0.7 && load("coir", WaterHeld::WETTED).0[1].abs() < 0.4);
    }

    #[test]
    fn a_load_of_drained_coir_weighs_what_it_holds() {
        let catalogue = Catalogue::built_in().unwrap();
        let water = Water::of(&[(id(&catalogue, "coir"), in_litres(50.0))], drained(7.0)).unwrap();
        let moistening = water.moistening(0.0);
        assert!(moistening.is_too_wet());
        // 3.5 kg dry with 7 or, of fine pith, 10 kg of water to each.
        let MoistWeight { about, most } = water.weight(&moistening, 0.0);
        assert!((about.get::<gram>() - 28_000.0).abs() < 1e-6 && (most.get::<gram>() - 38_500.0).abs() < 1e-6);
    }

    #[test]
    fn loam_is_left_to_the_hand_and_the_unknown_is_named() {
        let catalogue = Catalogue::built_in().unwrap();
        let of = |name, litres| Water::of(&[(id(&catalogue, name), in_litres(litres))], WaterHeld::WETTED);
        assert_eq!(of("loam", 5.0).unwrap().moistening(0.0), Moistening::ByHand);
        assert_eq!(of("lime", 1.0), Err(vec![id(&catalogue, "lime")]));
    }
}
