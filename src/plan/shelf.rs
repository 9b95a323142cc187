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
        for (tray, kg, count) in trays.into_iter().filter(|(.., count)| *count > 0) {
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

/// So many trays or pots of a kind, of which one weighs so much, on some of the places that they take in all: what stands in a
/// place, and how many such places there are. Carrying trays are full but for the last, unless the pots are set apart.
pub fn in_places(
    (tray, kg): (&Tray, Option<Spread>),
    count: u64,
    places: u64,
    all_places: u64,
) -> Vec<(Option<Spread>, u64)> {
    let of = |pots: f64| kg.map(|kg| kg.map(|kg| kg * pots + TRAY_KG));
    match tray.per_tray.filter(|_| tray.pot) {
        None => vec![(kg, places)],
        Some(each) if count.div_ceil(each) < all_places => vec![(of(count as f64 / all_places as f64), places)],
        Some(each) => {
            let full = (count / each).min(places);
            vec![(of(each as f64), full), (of((count % each) as f64), places - full)]
        }
    }
}

impl Plan {
    /// The shelf of its rack with the heaviest of its trays.
    pub fn shelf(&self, week: &Week) -> Option<Shelf> {
        week.rack?.load?;
        let kg = self.tray_kg(week);
        let trays = self.mixes.layout.trays.iter().filter_map(|(tray, count)| {
            let (one, places) = (*kg.get(tray)?, tray.places(*count)?);
            Some(in_places((tray, one), *count, places, places).into_iter().map(move |(kg, places)| (tray, kg, places)))
        });
        Shelf::of(week.rack, trays.flatten())
    }

    /// What each kind of tray or pot weighs, watered, as far as that is known: of those in several mixes the heaviest. Where
    /// nothing tells the water in its cells, they hold what is usual.
    pub fn tray_kg<'w>(&'w self, week: &'w Week) -> BTreeMap<&'w Handle<Tray>, Option<Spread>> {
        let mut heaviest: BTreeMap<&Handle<Tray>, Option<Spread>> = BTreeMap::new();
        for (batch, trays) in self.mixes.batches.iter().zip(self.mixes.trays_of_batches(week)) {
            let behaviour = behaviour_of(batch, None, week);
            for tray in trays {
                let kg = behaviour.kg_of(tray);
                let known = heaviest.entry(tray).or_insert(kg);
                *known = known.zip(kg).map(|(known, kg)| if kg[2] > known[2] { kg } else { known });
            }
        }
        heaviest
    }
}
