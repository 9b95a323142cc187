//! Moistening: how much water brings a load to the moisture that trays are filled at.

use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::{Coir, WaterHeld, dry_kg_of_loose};
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Mass, Volume, in_litres, to_litres};
use serde::Serialize;

/// Moisture by weight to fill trays at: 50 to 60 % (University of Florida, for mixes of peat), the
/// middle wanted.
pub const WANTED: MoistureRange = MoistureRange { low: 0.50, middle: 0.55, high: 0.60 };
/// The same of coir, which is lighter: at the same feel it stands at 65 to 75 % (from memory).
pub const WANTED_OF_COIR: MoistureRange = MoistureRange { low: 0.65, middle: 0.70, high: 0.75 };
/// Loose dry grams in a litre above which moisture by weight says nothing: the figure
/// is for mixes of peat, coir, perlite and the like, not for loam and sand (a judgement).
pub const HEAVY_G_PER_L: f64 = 250.0;
/// Litres of mix to one of water in soil blocks: of a mix as moist as from the bag (common practice).
pub const MIX_OF_WATER: f64 = 3.0;
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
        /// Of what is too much, so much can be pressed out by hand: of coir no more than what it
        /// holds beyond coir that is squeezed.
        pressed_out: Volume,
        /// The share of the load that this is of: what is filled into trays, where too much is in it and the rest is pressed
        /// into blocks as wet as it is; else 1.
        of: f64,
    },
    /// So much for a mix that is pressed into soil blocks, by the hand test.
    Blocks {
        /// One part to [`MIX_OF_WATER`] of mix, less what is in it already.
        about: Volume,
    },
    /// Too heavy for a figure by weight: by hand only.
    ByHand,
    /// Ingredients whose dry and moist densities are not both known.
    Unknown(Vec<Handle<Ingredient>>),
    /// Nothing that holds water goes in.
    Nothing,
}

impl Moistening {
    /// The same for the share of a load that is filled into trays, the rest being pressed into blocks: where too much is in
    /// it, only that share is dried.
    pub(super) fn of_trays(self, of: f64) -> Self {
        match self {
            Self::Water { least, about, most, moisture, pressed_out, .. } if of > 0.0 && about < in_litres(0.0) => {
                let [least, about, most, pressed_out] = [least, about, most, pressed_out].map(|water| water * of);
                Self::Water { least, about, most, moisture, pressed_out, of }
            }
            other => other,
        }
    }

    /// Whether it is of what is filled into trays alone.
    pub fn is_of_trays_alone(&self) -> bool {
        matches!(self, Self::Water { of, .. } if *of < 1.0)
    }
}

/// The water of a mix, in litres, if it has what it should have by weight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Moisture {
    /// In its ingredients as they usually come.
    pub present_l: f64,
    /// Wanted, usually.
    pub wanted_l: f64,
    /// To add, least, about and most; less than nothing is too much.
    pub add_l: [f64; 3],
}

/// What a moist load weighs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoistWeight {
    /// As its ingredients usually come.
    pub about: Mass,
    /// At the wet end, of ingredients as heavy as they may be.
    pub most: Mass,
}

/// Coir as it goes into the tub.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Coming {
    /// The water in it.
    pub(super) water: WaterHeld,
    /// Dry grams in a loose litre.
    pub(super) dry_g_per_l: f64,
}

impl From<WaterHeld> for Coming {
    /// Of packages that give what they usually do.
    fn from(water: WaterHeld) -> Self {
        Self { water, dry_g_per_l: dry_kg_of_loose(1.0) * 1000.0 }
    }
}

/// Dry matter and water of some loose ingredients, as they go into the tub.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Water {
    dry_g: f64,
    /// Grams of water at the dry end, in the middle and at the wet end of the ranges.
    present_g: [f64; 3],
    /// The same of what is wanted.
    wanted_g: [f64; 3],
    /// Grams of water that the coir in it brings, and of these can be squeezed out of it by hand.
    coir_g: Option<[f64; 2]>,
    /// Grams of all of it at the most that it may weigh dry: as it comes, and at the wet end of what is wanted.
    most_g: [f64; 2],
    litres: f64,
    /// Ingredients whose densities are not known.
    unknown: Vec<Handle<Ingredient>>,
}

impl Water {
    /// Of loose ingredients, coir coming so unless its entry says otherwise.
    pub(super) fn of(contents: &[(Handle<Ingredient>, Volume)], coir: impl Into<Coming>) -> Self {
        let mut sum = Self::default();
        let Coming { water: coir, dry_g_per_l } = coir.into();
        for (id, loose) in contents {
            let is_coir = id.is(Role::Coir);
            let held = |dry: f64| match id.moist_density {
                Some((low, high)) => {
                    let [low, high] = [low, high].map(|density| density.get::<gram_per_litre>() - dry);
                    Some([low, f64::midpoint(low, high), high])
                }
                None => is_coir.then_some([coir.least, coir.usual, coir.most].map(|held| held * dry)),
            };
            let dry = dry_g_per_litre(id, dry_g_per_l);
            let heavy = id.physical.dry_g_per_l.filter(|_| !is_of_soak(id)).map(|[.., most]| most);
            let Some((dry, held)) = dry.and_then(|dry| Some((dry, held(dry)?))) else {
                sum.unknown.push(id.clone());
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
            let heavy = heavy.unwrap_or(dry);
            let heaviest = [heavy.max(dry + held[2]), heavy * (1.0 + water_of_dry(high))];
            sum.most_g = [0, 1].map(|index| sum.most_g[index] + litres * heaviest[index]);
            if is_coir || id.is(Role::SoakedCoir) {
                let squeezed = (held[1] - Coir::HOLDS_RANGE_L_KG[0] * dry).max(0.0);
                let [brings, gives] = sum.coir_g.unwrap_or_default();
                sum.coir_g = Some([brings + litres * held[1], gives + litres * squeezed]);
            }
        }
        sum
    }

    /// What to do, `added` grams having been added to a part of it before, or pressed out where that
    /// is less than nothing. `blocks` is how many litres of mix it makes, where all of it is pressed
    /// into blocks.
    pub(super) fn moistening(&self, added: f64, blocks: Option<f64>) -> Moistening {
        if let Some(mix) = blocks {
            let brought = self.coir_g.map_or(0.0, |[brings, _]| brings) + added;
            return Moistening::Blocks { about: in_litres((mix / MIX_OF_WATER - brought / 1000.0).max(0.0)) };
        }
        if !self.unknown.is_empty() {
            return Moistening::Unknown(self.unknown.clone());
        }
        if self.litres <= 0.0 {
            return Moistening::Nothing;
        }
        if self.dry_g / self.litres > HEAVY_G_PER_L {
            return Moistening::ByHand;
        }
        // One gram of water is one millilitre.
        let [dry_end, about, wet_end] =
            [(0, 2), (1, 1), (2, 0)].map(|(wanted, present)| self.wanted_g[wanted] - self.present_g[present] - added);
        let too_much = (-about).max(0.0);
        let pressed_out = self.coir_g.map_or(too_much, |[_, gives]| too_much.min((gives + added.min(0.0)).max(0.0)));
        // No trace that only rounding leaves.
        let litres = |grams: f64| in_litres(if grams.abs() < 1e-9 { 0.0 } else { grams / 1000.0 });
        let [least, about, most, pressed_out] = [dry_end, about, wet_end, pressed_out].map(litres);
        let moisture = self.wanted_g[1] / (self.dry_g + self.wanted_g[1]);
        Moistening::Water { least, about, most, moisture, pressed_out, of: 1.0 }
    }

    /// Its water by weight; `None` where that is not known.
    pub(super) fn moisture(&self) -> Option<Moisture> {
        let Moistening::Water { least, about, most, .. } = self.moistening(0.0, None) else { return None };
        let [present_l, wanted_l] = [self.present_g[1], self.wanted_g[1]].map(|grams| grams / 1000.0);
        Some(Moisture { present_l, wanted_l, add_l: [least, about, most].map(to_litres) })
    }

    /// Its weight as it comes, with the water that is added; `None` where a density is not known.
    pub(super) fn weight(&self, moistening: &Moistening, added: f64) -> Option<MoistWeight> {
        if !self.unknown.is_empty() {
            return None;
        }
        let more = grams_added(moistening).max(0.0);
        let about = self.dry_g + self.present_g[1] + added + more;
        let [as_it_comes, wetted] = self.most_g;
        // Too heavy for a figure by weight, it gets no water.
        let wetted = if let Moistening::Water { .. } = moistening { wetted } else { 0.0 };
        // Blocks get theirs, however wet it comes.
        let on_top = if let Moistening::Blocks { .. } = moistening { more } else { 0.0 };
        let most = about.max(as_it_comes + added + on_top).max(wetted);
        let [about, most] = [about, most].map(Mass::new::<gram>);
        Some(MoistWeight { about, most })
    }
}

/// Kilograms of water to one of dry coir that bring a mix to what it wants, so that it takes no more; `None`
/// where that is not known.
pub(super) fn wanted_of_coir(contents: &[(Handle<Ingredient>, Volume)], dry_g_per_l: f64) -> Option<f64> {
    let coir = contents.iter().filter(|(id, _)| id.is(Role::Coir) && id.moist_density.is_none());
    let dry_g: f64 = coir.filter_map(|(id, loose)| Some(dry_g_per_litre(id, dry_g_per_l)? * to_litres(*loose))).sum();
    let Moistening::Water { about, .. } =
        Water::of(contents, Coming { water: WaterHeld::NONE, dry_g_per_l }).moistening(0.0, None)
    else {
        return None;
    };
    (dry_g > 0.0).then(|| to_litres(about) * 1000.0 / dry_g)
}

/// Dry grams in a loose litre: of coir what its soak reckons with, unless the user weighed it.
fn dry_g_per_litre(id: &Ingredient, of_coir: f64) -> Option<f64> {
    if is_of_soak(id) { Some(of_coir) } else { Some(id.dry_density?.get::<gram_per_litre>()) }
}

/// Whether its weight is what its soak reckons with.
fn is_of_soak(id: &Ingredient) -> bool {
    id.is(Role::Coir) && !id.own_density
}

/// Grams of water that a moistening adds; less than nothing where it is pressed out.
pub(super) fn grams_added(moistening: &Moistening) -> f64 {
    match moistening {
        Moistening::Water { about, pressed_out, .. } => (to_litres(*about).max(0.0) - to_litres(*pressed_out)) * 1000.0,
        Moistening::Blocks { about } => to_litres(*about) * 1000.0,
        Moistening::ByHand | Moistening::Unknown(_) | Moistening::Nothing => 0.0,
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
        let catalogue = Catalogue::built_in();
        let parts = [(base, 3.0), ("perlite", 1.0), ("vermiculite", 1.0)];
        let contents: Vec<_> = parts.iter().map(|(name, litres)| (id(&catalogue, name), in_litres(*litres))).collect();
        let water = Water::of(&contents, coir);
        let Moistening::Water { least, about, most, moisture, .. } = water.moistening(0.0, None) else { panic!() };
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
        // 3 L of coir, 0.85/13 kg dry each as in its soak, want 70/30 of it in water; 190 g of perlite and vermiculite 190 x 55/45 = 232.2 g
        // and bring 25 g in the middle.
        let dry = 3000.0 * 0.85 / 13.0;
        let wanted = dry * 70.0 / 30.0 + 190.0 * 0.55 / 0.45 - 25.0;
        for (coir, held) in [(WaterHeld::WETTED, 5.1), (drained(7.0), 7.0), (drained(5.5), 5.5), (drained(3.5), 3.5)] {
            let ([least, about, most], moisture) = load("coir", coir);
            assert!((about - (wanted - dry * held) / 1000.0).abs() < 1e-9, "{held}: {about}");
            assert!((moisture - (wanted + 25.0) / (dry + 190.0 + wanted + 25.0)).abs() < 1e-9);
            assert!(least < about && about < most);
        }
        // Drained it brings more than is wanted, wetted to its label it does not.
        assert!(load("coir", drained(7.0)).0[1] < -0.7 && load("coir", WaterHeld::WETTED).0[1].abs() < 0.4);
    }

    #[test]
    fn a_load_of_drained_coir_weighs_what_it_holds() {
        let catalogue = Catalogue::built_in();
        // 65 L are a block of 4.25 kg dry, as in its soak.
        let usual = crate::coir::SoldAs::Washed.coir().unwrap().drained();
        let water = Water::of(&[(id(&catalogue, "coir"), in_litres(65.0))], usual);
        let moistening = water.moistening(0.0, None);
        // 19.8 L too much; squeezed, coir holds 4 kg/kg still: 3 x 4.25 L come out.
        let Moistening::Water { about, pressed_out, .. } = moistening else { panic!() };
        assert!((to_litres(about) - 4.25 * (70.0 / 30.0 - 7.0)).abs() < 1e-9);
        assert!((to_litres(pressed_out) - 3.0 * 4.25).abs() < 1e-9);
        // 7 or, of fine pith, 10 kg of water to each kg dry; that a soak reckons with weighs what its packages do.
        let MoistWeight { about, most } = water.weight(&moistening, 0.0).unwrap();
        assert!((about.get::<gram>() - 8.0 * 4250.0).abs() < 1e-6, "{about:?}");
        assert!((most.get::<gram>() - 11.0 * 4250.0).abs() < 1e-6, "{most:?}");
        // What was pressed out of a base is gone: nothing more comes out of its coir.
        let Moistening::Water { about, pressed_out, .. } = water.moistening(-3.0 * 4250.0, None) else { panic!() };
        assert!((to_litres(about) - 4.25 * (70.0 / 30.0 - 4.0)).abs() < 1e-9 && to_litres(pressed_out).abs() < 1e-9);
    }

    /// By hand on the densities of the table: perlite dry is 30 to 150 g/L, and moist 100 to 115; with 60 % of water at the
    /// wet end of what a mix wants, 150 g come to 375.
    #[test]
    fn the_most_that_a_load_weighs_is_of_the_heaviest_ingredients() {
        let catalogue = Catalogue::built_in();
        let water = Water::of(&[(id(&catalogue, "perlite"), in_litres(10.0))], WaterHeld::WETTED);
        let MoistureRange { high, .. } = WANTED;
        let weight = |moistening| water.weight(&moistening, 0.0).unwrap();
        let MoistWeight { about, most } = weight(water.moistening(0.0, None));
        assert!((most.get::<gram>() - 1500.0 / (1.0 - high)).abs() < 1e-6, "{most:?}");
        assert!(about < most);
        // As it comes, no heavier than it may be dry.
        assert!((weight(Moistening::ByHand).most.get::<gram>() - 1500.0).abs() < 1e-6);
    }

    #[test]
    fn coir_may_hold_more_unless_a_lab_says_what_it_holds() {
        let most = |coir: WaterHeld| (coir.least, coir.most);
        assert_eq!(most(crate::coir::SoldAs::Washed.coir().unwrap().drained()), (4.0, 10.0));
        // Measured, and no more than usual.
        assert_eq!(most(drained(7.0)), (4.0, 7.0));
    }

    #[test]
    fn blocks_take_a_third_of_their_mix_in_water() {
        let catalogue = Catalogue::built_in();
        let of = |name| Water::of(&[(id(&catalogue, name), in_litres(39.0))], WaterHeld::WETTED);
        let litres = |water: &Water, added| match water.moistening(added, Some(33.0)) {
            Moistening::Blocks { about } => to_litres(about),
            other => panic!("{other:?}"),
        };
        let peat = of("peat");
        assert!((litres(&peat, 0.0) - 11.0).abs() < 1e-9 && (litres(&peat, 2000.0) - 9.0).abs() < 1e-9);
        let [moist, pressed] =
            [None, Some(33.0)].map(|blocks| peat.weight(&peat.moistening(0.0, blocks), 0.0).unwrap().most);
        assert!(pressed > moist);
        // Wet coir brings its own: 39 x 0.0654 x 5.1 = 13 L.
        assert!(litres(&of("coir"), 0.0).abs() < 1e-9);
    }

    #[test]
    fn loam_is_left_to_the_hand_and_the_unknown_is_named() {
        let catalogue = Catalogue::built_in();
        let of = |name, litres| Water::of(&[(id(&catalogue, name), in_litres(litres))], WaterHeld::WETTED);
        assert_eq!(of("loam", 5.0).moistening(0.0, None), Moistening::ByHand);
        let lime = of("lime", 1.0);
        assert_eq!(lime.moistening(0.0, None), Moistening::Unknown(vec![id(&catalogue, "lime")]));
        assert_eq!(lime.weight(&Moistening::Nothing, 0.0), None);
    }
}
