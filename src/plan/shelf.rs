//! What a shelf of the rack would carry.

use super::Plan;
use super::behaviour::behaviour_of;
use crate::behaviour::TRAY_KG;
use crate::catalogue::{Handle, Spread, Tray};
use crate::place::Rack;
use crate::units::mass::kilogram;
use crate::units::{fits, in_litres};
use crate::week::Week;
use std::collections::{BTreeMap, BTreeSet};

/// A shelf with the heaviest of some trays on it, watered.
#[derive(Clone, Debug, PartialEq)]
pub struct Shelf {
    /// What it may carry, in kilograms.
    pub load_kg: f64,
    /// What it carries when it is full, in kilograms, as far as the weights are known; `None` where none is.
    pub kg: Option<Spread>,
    /// The trays of which no weight is known.
    pub unknown: BTreeSet<Handle<Tray>>,
    /// How many of these trays it may carry at the most that they weigh, the heaviest first.
    pub holds: u64,
}

impl Shelf {
    /// Of a rack, with trays that weigh so much, as far as that is known, and take so many places; `None` where it is not stated
    /// what a shelf may carry, or there are no trays.
    pub fn of<'t>(
        rack: Option<Rack>,
        trays: impl IntoIterator<Item = (&'t Handle<Tray>, Option<Spread>, u64)>,
    ) -> Option<Self> {
        let rack = rack?;
        let load_kg = rack.load?.get::<kilogram>();
        let (mut known, mut unknown) = (Vec::new(), BTreeSet::new());
        for (tray, kg, count) in trays {
            match kg {
                Some(kg) => known.push((kg, count)),
                None => unknown.extend([tray.clone()]),
            }
        }
        if known.is_empty() && unknown.is_empty() {
            return None;
        }
        known.sort_by(|([.., one], _), ([.., other], _)| other.total_cmp(one));
        let kg = (!known.is_empty()).then_some([0.0; 3]);
        let mut shelf = Self { load_kg, kg, unknown, holds: 0 };
        let (mut room, mut left) = (rack.across, Some(load_kg));
        for (kg, count) in known {
            let here = count.min(room);
            room -= here;
            shelf.kg = shelf.kg.map(|all| [0, 1, 2].map(|end| all[end] + kg[end] * here as f64));
            // Litres or kilograms alike.
            let held = left.map(|left| here.min(fits(in_litres(left), in_litres(kg[2])).unwrap_or(here)));
            shelf.holds += held.unwrap_or_default();
            left = left.filter(|_| held == Some(here)).map(|left| left - kg[2] * here as f64);
        }
        Some(shelf)
    }

    /// Whether it may carry less than it would, at the most that the trays weigh.
    pub fn is_heavy(&self) -> bool {
        self.kg.is_some_and(|[.., most]| most > self.load_kg)
    }
}

impl Plan {
    /// The shelf of its rack with the heaviest of its trays.
    pub fn shelf(&self, week: &Week) -> Option<Shelf> {
        week.rack?.load?;
        let counted = |tray| self.mixes.layout.trays.iter().find(|(known, _)| known == tray).map(|(_, count)| *count);
        let trays = self.tray_kg(week).into_iter();
        Shelf::of(week.rack, trays.filter_map(|(tray, kg)| Some((tray, kg, tray.places(counted(tray)?)?))))
    }

    /// What what stands in one place weighs, watered, for each kind of tray, as far as that is known: of those in several mixes
    /// the heaviest, of pots with the tray that carries them. Where nothing tells the water in its cells, they hold what is
    /// usual.
    pub fn tray_kg<'w>(&'w self, week: &'w Week) -> BTreeMap<&'w Handle<Tray>, Option<Spread>> {
        let mut heaviest: BTreeMap<&Handle<Tray>, Option<Spread>> = BTreeMap::new();
        for (batch, trays) in self.mixes.batches.iter().zip(self.mixes.trays_of_batches(week)) {
            let behaviour = behaviour_of(batch, None, week);
            for tray in trays {
                let (pots, empty_kg) = tray.per_tray.map_or((1, 0.0), |each| (each, TRAY_KG));
                let kg = behaviour.kg_of(tray).map(|kg| kg.map(|kg| kg * pots as f64 + empty_kg));
                let known = heaviest.entry(tray).or_insert(kg);
                *known = known.zip(kg).map(|(known, kg)| if kg[2] > known[2] { kg } else { known });
            }
        }
        heaviest
    }
}
