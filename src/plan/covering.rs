//! Covering material: a thin layer over the sown seed, in addition to the mix.

use super::Layout;
use crate::catalogue::{Crop, Depth, FrustumKind, Handle, Ingredient, Light, Role, SeedSize, Tray, names};
use crate::units::length::millimetre;
use crate::units::{Area, Length, Volume, in_litres, serial, to_litres};
use crate::week::Loaded;
use serde::{Serialize, Serializer};
use std::collections::{BTreeMap, BTreeSet};

/// A cell holds about so much of the straight prism of its rim and depth: real cells
/// hold 0.60 to 0.78 of it (worked out from a plug nursery's table of sizes).
const OF_PRISM: f64 = 0.7;

/// Covering material for the trays of one kind.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Covering {
    /// The tray.
    pub tray: Handle<Tray>,
    /// What covers.
    pub ingredient: Handle<Ingredient>,
    /// Loose volume.
    #[serde(rename = "loose_l")]
    pub loose: Volume,
    /// Layers of one depth each, the thinnest first.
    pub layers: Vec<Layer>,
    /// How the area of a cell is known.
    #[serde(rename = "estimated")]
    pub area: AreaFrom,
}

/// A layer of one depth.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Layer {
    /// Its depth.
    #[serde(rename = "depth_mm", serialize_with = "serial::millimetres")]
    pub depth: Length,
    /// The crops it is for; none where no crop is named.
    #[serde(serialize_with = "each_once")]
    pub crops: BTreeSet<Handle<Crop>>,
    /// Cells covered.
    pub cells: u64,
    /// Loose volume.
    #[serde(rename = "loose_l")]
    pub loose: Volume,
}

fn each_once<S: Serializer>(crops: &BTreeSet<Handle<Crop>>, serializer: S) -> Result<S::Ok, S::Error> {
    names(crops).serialize(serializer)
}

/// How the area of a cell is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum AreaFrom {
    /// From its width at the rim.
    Rim,
    /// Estimated from its volume and depth.
    VolumeAndDepth,
    /// Estimated: the tray's outside measures, divided by its cells.
    Footprint,
    /// Estimated from its volume alone, as if it were as deep as wide.
    Volume,
}

impl AreaFrom {
    /// Whether the width at the rim is not known.
    pub fn is_estimated(self) -> bool {
        self != Self::Rim
    }
}

/// Scripts are told whether it is estimated.
impl Serialize for AreaFrom {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_bool(self.is_estimated())
    }
}

/// Seed that lies half an inch deep or deeper is pushed in, and the mix itself covers it (common
/// practice).
const PUSHED_IN_MM: f64 = 13.0;

/// How deep a crop's seed is covered: not at all for light, 2 mm for thin, else by the least
/// depth that the crop states, unless the seed is pushed in. Where none is stated, 4 to 6 mm
/// by the size of the seed (common practice, no source). Where nothing is known of the light,
/// the seed is taken to be covered.
pub fn depth_over(crop: &Crop) -> Option<Length> {
    let least = crop.depth.map(|Depth((least, _))| least);
    let mm = match (crop.light, crop.seed) {
        (Some(Light::Light), _) => return None,
        (Some(Light::Thin), _) => 2.0,
        _ if least.is_some() => {
            return least.filter(|least| *least < Length::new::<millimetre>(PUSHED_IN_MM - 0.001));
        }
        (_, Some(SeedSize::Dust)) => return None,
        (_, Some(SeedSize::Fine | SeedSize::Small)) => 4.0,
        (_, Some(SeedSize::Large)) => 6.0,
        (_, Some(SeedSize::Medium) | None) => 5.0,
    };
    Some(Length::new::<millimetre>(mm))
}

/// Area of the rim of one cell, and how it is known.
pub fn rim_area(tray: &Tray) -> (Area, AreaFrom) {
    let round = tray.shape.is_some_and(|shape| shape.kind == FrustumKind::Round);
    if let Some(top) = tray.top {
        let square: Area = top * top;
        let area = if round { square * std::f64::consts::FRAC_PI_4 } else { square };
        return (area, AreaFrom::Rim);
    }
    // A pressed block has no taper.
    let of_prism = if tray.compression.is_some() { 1.0 } else { OF_PRISM };
    if let Some(depth) = tray.depth {
        let area: Area = tray.cell / (depth * of_prism);
        return (area, AreaFrom::VolumeAndDepth);
    }
    if let Some((long, short)) = tray.footprint {
        let whole: Area = long * short;
        return (whole / tray.cells as f64, AreaFrom::Footprint);
    }
    let side = (to_litres(tray.cell) / of_prism).cbrt();
    (Area::new::<crate::units::area::square_decimetre>(side * side), AreaFrom::Volume)
}

/// The covering of sowings; potted plants have none.
pub(super) fn covering(layout: &Layout, loaded: &Loaded) -> Vec<Covering> {
    let Some(ingredient) =
        loaded.catalogue.ingredients.first("role: covering", |ingredient| ingredient.is(Role::Covering))
    else {
        return Vec::new();
    };
    let mut sown: BTreeMap<&Handle<Tray>, BTreeMap<u64, Layer>> = BTreeMap::new();
    for (sowing, plan) in layout.of(&loaded.week).filter(|(_, plan)| plan.cells.seeds.is_some()) {
        let Some((crop, depth)) = sowing.crop.as_ref().and_then(|crop| Some((crop, depth_over(crop)?))) else {
            continue;
        };
        let layers = sown.entry(&sowing.tray).or_default();
        // Positive depths, so their bits are in their order.
        let key = depth.get::<millimetre>().to_bits();
        let nothing = in_litres(0.0);
        let layer = layers.entry(key).or_insert(Layer { depth, crops: BTreeSet::new(), cells: 0, loose: nothing });
        layer.crops.insert(crop.clone());
        layer.cells += u64::from(plan.cells.cells);
    }
    let covering = sown.into_iter().map(|(tray, layers)| {
        let (rim, area) = rim_area(tray);
        let loose = |layer: &Layer| -> Volume { rim * layer.depth * layer.cells as f64 };
        let layers = layers.into_values().map(|layer| Layer { loose: loose(&layer), ..layer });
        let layers: Vec<Layer> = layers.collect();
        let loose = layers.iter().fold(in_litres(0.0), |sum, layer| sum + layer.loose);
        Covering { tray: tray.clone(), ingredient: ingredient.clone(), loose, layers, area }
    });
    covering.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::units::area::square_decimetre;

    #[test]
    fn light_and_dust_lie_open_and_large_seed_is_pushed_in() {
        let catalogue = Catalogue::built_in();
        let depth = |name: &str| {
            let crop = &catalogue.crops.find(name).unwrap();
            depth_over(crop).map(|depth| depth.get::<millimetre>().round())
        };
        assert_eq!(depth("begonia"), None);
        // Kale lies 6 to 13 mm deep, beet 13 to 19, pumpkin 20 to 30.
        assert_eq!(depth("beet"), None);
        assert_eq!(depth("kale"), Some(6.0));
        assert_eq!(depth("pumpkin"), None);
        let mut own = Crop::clone(&catalogue.crops.find("pumpkin").unwrap());
        own.depth = None;
        assert_eq!(depth_over(&own).map(|depth| depth.get::<millimetre>().round()), Some(6.0));
    }

    #[test]
    fn estimates_of_the_rim_stay_near_the_known_width() {
        let catalogue = Catalogue::built_in();
        // A plug nursery's table of sizes (read): rim, depth and volume of five trays.
        for name in ["72-cell", "50-cell", "32-cell", "18-cell", "50-cell deep"] {
            let tray = (*catalogue.trays.find(name).unwrap()).clone();
            let (known, from) = rim_area(&tray);
            assert_eq!(from, AreaFrom::Rim);
            let guessed = rim_area(&Tray { top: None, ..tray.clone() });
            assert_eq!(guessed.1, AreaFrom::VolumeAndDepth);
            let ratio = guessed.0.get::<square_decimetre>() / known.get::<square_decimetre>();
            assert!((0.8..1.25).contains(&ratio), "{name}: {ratio}");
            let outside = rim_area(&Tray { top: None, depth: None, ..tray });
            assert_eq!(outside.1, AreaFrom::Footprint);
            // The webs between the cells count as well.
            assert!(outside.0 > known * 0.999);
        }
    }
}
