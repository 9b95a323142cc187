//! A mix as a recipe makes it, and how it behaves in a tray.

use super::acidity::{NoPh, WANTED_PH, lime_for, moved_by, ph};
use super::blend::{NotKnown, Pores, dry_density, share_of};
use super::cell::{Drained, ENOUGH_AIR, USUALLY_HELD};
use super::packing::{Kept, expected_yield};
use super::remedy::{Remedy, remedies};
use super::retention::{NoCell, shape_of};
use super::salts::{LOW_MS_CM, NoSalinity, least_salinity, salinity};
use super::weight::{empty_kg, tray_kg};
use crate::catalogue::{Frustum, FrustumKind, Ingredient, Role, Spread, Tray, citation};
use crate::exact::Fraction;
use crate::recipe::{Composition, default_yield};
use crate::units::Length;
use crate::units::length::decimetre;
use serde::Serialize;
use std::collections::BTreeMap;

/// How a mix behaves, as far as its ingredients tell.
#[derive(Clone, Debug)]
pub struct Behaviour<'m> {
    parts: Vec<(&'m Ingredient, f64)>,
    rule: Kept,
    /// The pH by its lime alone, and what else moves that.
    by_lime: Result<[f64; 2], NoPh>,
    moved_by: Option<NoPh>,
    /// The share of the loose volume that is kept after blending.
    pub kept: f64,
    /// The same by the sizes of its parts, least and most.
    pub expected: [f64; 2],
    /// Dry grams in a litre.
    pub dry_g_per_l: Result<Spread, NotKnown>,
    /// Its pores.
    pub pores: Result<Pores, NotKnown>,
    /// Lime in a litre of it; `None` where that is measured by the spoon, of which no weight is known.
    pub lime_g_per_l: Option<f64>,
    /// pH, least and most, where the trial tells of such a mix.
    pub ph: Result<[f64; 2], NoPh>,
    /// Conductivity, mS/cm, least and most.
    pub ec_ms_cm: Result<[f64; 2], NoSalinity>,
    /// Its least conductivity, mS/cm, by what is known of its parts.
    pub least_ec_ms_cm: f64,
}

/// A mix in the cells of a tray that has drained.
#[derive(Clone, Debug, Serialize)]
pub struct InTray {
    /// Air and water.
    #[serde(flatten)]
    pub drained: Drained,
    /// What the filled tray weighs, in kilograms, a pot without itself; `None` where the weight of an ingredient is unknown.
    pub tray_kg: Option<Spread>,
}

impl<'m> Behaviour<'m> {
    /// Of a composition, coir having such a conductivity, in mS/cm, where that is known. Where its recipe does not say what
    /// is kept, the usual is, as far as the sizes of the parts let expect that.
    pub fn of(mix: &'m Composition, coir: Option<[f64; 2]>, yield_is_said: bool) -> Self {
        let parts: Vec<(&Ingredient, f64)> = mix.parts.iter().map(|(id, parts)| (&**id, parts.to_f64())).collect();
        let expected = expected_yield(share_of(&parts, |ingredient| ingredient.coarse));
        let rule = kept_of(mix, yield_is_said);
        let kept = rule.of(&parts);
        let grams = |dose| mix.grams_per_litre(dose, kept);
        let limes = mix.doses.iter().filter(|dose| dose.ingredient.is(Role::Lime));
        let lime = limes.map(grams).sum();
        let doses_of: Vec<_> = mix.doses.iter().map(|dose| (&*dose.ingredient, grams(dose))).collect();
        let doses: Vec<&Ingredient> = doses_of.iter().map(|(of, _)| *of).collect();
        let (by_lime, moved_by) = (ph(&parts, lime), moved_by(&doses_of));
        Self {
            rule,
            kept,
            expected,
            dry_g_per_l: dry_density(&parts, kept),
            pores: Pores::of(&parts, kept),
            lime_g_per_l: lime,
            ph: moved_by.map_or(by_lime, Err),
            by_lime,
            moved_by,
            ec_ms_cm: salinity(&parts, &doses, coir),
            least_ec_ms_cm: least_salinity(&parts, coir),
            parts,
        }
    }

    /// Its pH where that is all outside what most seed wants, least and most; no least beside a dose that makes it more acid.
    pub fn off_ph(&self) -> Option<(Option<f64>, f64)> {
        match (self.by_lime, self.moved_by) {
            (Ok([_, most]), Some(NoPh::Acidified)) => (most < WANTED_PH[0]).then_some((None, most)),
            (Ok([least, most]), None) => (least > WANTED_PH[1] || most < WANTED_PH[0]).then_some((Some(least), most)),
            _ => None,
        }
    }

    /// Its conductivity where that is more than seedlings want by any extract: least and most, as far as that is known.
    pub fn salty(&self) -> Option<(f64, Option<f64>)> {
        let [.., wanted] = LOW_MS_CM;
        let most = self.ec_ms_cm.as_ref().ok().map(|[_, most]| *most);
        (self.least_ec_ms_cm > wanted).then_some((self.least_ec_ms_cm, most))
    }

    /// Whether a dose that is no lime makes it less acid.
    pub fn is_made_alkaline(&self) -> bool {
        self.moved_by == Some(NoPh::Alkaline)
    }

    /// Whether a tall pot of it would keep air enough for seed.
    pub fn drains_when_tall(&self) -> bool {
        let side = Length::new::<decimetre>(1.5);
        let pot = Frustum { kind: FrustumKind::Round, top: side, bottom: side, depth: side };
        self.pores.as_ref().is_ok_and(|pores| pores.air_in([&pot]).iter().all(|air| *air >= ENOUGH_AIR))
    }

    /// The share of its loose volume that is castings and compost.
    pub fn rich(&self) -> f64 {
        share_of(&self.parts, |ingredient| ingredient.rich)
    }

    /// The share of its loose volume that is raw peat.
    pub fn raw_peat(&self) -> f64 {
        share_of(&self.parts, Ingredient::is_raw_peat)
    }

    /// Whether it stands at a pH, as far as a dose tells.
    pub fn is_at_ph(&self, wanted_ph: f64) -> bool {
        self.ph.is_ok_and(|[least, most]| (f64::midpoint(least, most) - wanted_ph).abs() <= 0.1)
    }

    /// Lime that brings it to a pH, in grams for a loose litre of its raw peat, least, about and most within the trial.
    ///
    /// # Errors
    /// As those of [`lime_for`].
    pub fn lime_for(&self, wanted_ph: f64) -> Result<Spread, NoPh> {
        if let Some(why) = self.moved_by {
            return Err(why);
        }
        Ok(lime_for(&self.parts, wanted_ph)?.map(|finished| finished * self.kept / self.raw_peat()))
    }

    /// In a tray.
    ///
    /// # Errors
    /// [`NoCell`] where the cell or the pores are not known.
    pub fn in_tray(&self, tray: &Tray) -> Result<InTray, NoCell> {
        let drained = self.pores.as_ref().map_err(NotKnown::clone)?.in_cell(&shape_of(tray)?);
        let weight = |dry: &Spread| tray_kg(tray.volume(), *dry, drained.water, empty_kg(tray));
        Ok(InTray { drained, tray_kg: self.dry_g_per_l.as_ref().ok().map(weight) })
    }

    /// What a tray of it weighs, watered, in kilograms, a pot without itself: where nothing tells the water in its cells, these
    /// hold what is usual. `None` where the weight of an ingredient is not known.
    pub fn kg_of(&self, tray: &Tray) -> Option<Spread> {
        if let Ok(cell) = self.in_tray(tray) {
            return cell.tray_kg;
        }
        let dry = self.dry_g_per_l.as_ref().ok()?.map(|dry| dry * tray.compression.map_or(1.0, Fraction::to_f64));
        let most = self.pores.as_ref().map_or(1.0, |pores| pores.porosity[2]);
        let [least, most] = USUALLY_HELD.map(|held| held.min(most));
        Some(tray_kg(tray.volume(), dry, [least, f64::midpoint(least, most), most], empty_kg(tray)))
    }

    /// With more of which candidates it would keep air enough in a tray where it keeps too little, those that are in it
    /// first.
    pub fn remedies<'i>(&self, tray: &Tray, candidates: &[&'i Ingredient]) -> Vec<Remedy<'i>>
    where
        'm: 'i,
    {
        let cell = shape_of(tray).ok();
        let mut found = cell.map_or_else(Vec::new, |cell| remedies(&self.parts, self.rule, &cell, candidates));
        found.sort_by_key(|more| self.parts.iter().all(|(ingredient, _)| ingredient.name != more.ingredient.name));
        found
    }
}

/// What is kept of a mix, whose recipe says that or does not.
pub fn kept_of(mix: &Composition, yield_is_said: bool) -> Kept {
    let share = mix.yield_.to_f64();
    if yield_is_said || mix.yield_ != default_yield() { Kept::Said(share) } else { Kept::Usual(share) }
}

/// How well the sources stand behind a figure of some ingredients: each standing with those it is of.
pub fn standings<'m>(mix: &'m Composition, figure: &str) -> BTreeMap<&'m str, Vec<&'m str>> {
    let mut standings: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (id, _) in &mix.parts {
        let key = id.tags.of(figure).unwrap_or("own figure");
        let standing = citation(key).map_or(key, |citation| &citation.standing);
        standings.entry(standing).or_default().push(&id.name);
    }
    standings
}
