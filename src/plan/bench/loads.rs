//! Loads: what goes into the tub at once, equal ones that fit it.

use super::moisture::{MoistWeight, Moistening};
use super::scoops::{LoadShare, QUARTERS, TOLERANCE, quarter_scoops};
use crate::catalogue::{Handle, Ingredient};
use crate::plan::DoseAmount;
use crate::units::{Volume, cover, in_litres, to_litres};
use serde::{Serialize, Serializer};

/// Share of the tub that stays free, so that the mix can be turned: a tenth (common
/// practice, no source).
pub const FREE_SHARE: f64 = 0.10;
/// More over than this share of the need, and a finer scoop is taken (a judgement).
pub const MOST_OVER: f64 = 0.05;
/// So many loads more than fit are tried before the scoop is given up.
const MORE_LOADS: u64 = 3;
/// Measures, in litres, for what the scoop at hand is too coarse for, the largest first, each with what it is called.
const FINER: [(f64, &str); 4] = [(1.0, "1 L"), (0.5, "1/2 L"), (0.25, "1/4 L"), (0.1, "100 mL")];
/// The same beside a scoop of US measure.
const US_FINER: [(f64, &str); 4] =
    [(0.946_352_946, "1 quart"), (0.473_176_473, "1 pint"), (0.236_588_236_5, "1 cup"), (0.118_294_118_25, "1/2 cup")];

/// What is measured with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Scoop {
    /// What it holds.
    pub volume: Volume,
    /// What it is called; `None` for the one at hand.
    #[serde(skip)]
    pub name: Option<&'static str>,
}

/// The tub and the scoop at hand, and how true it must measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vessels {
    /// The tub, full to the brim.
    pub tub: Option<Volume>,
    /// The scoop.
    pub scoop: Option<Scoop>,
    /// It is of a US measure, and so are those that are finer.
    pub is_us: bool,
    /// How far a share may be off, as a share of it.
    pub tolerance: f64,
}

impl Default for Vessels {
    fn default() -> Self {
        Self { tub: None, scoop: None, is_us: false, tolerance: TOLERANCE }
    }
}

impl Vessels {
    /// What the tub takes when a share of it stays free for turning.
    pub fn room(&self) -> Option<Volume> {
        self.tub.map(|tub| tub * (1.0 - FREE_SHARE))
    }

    /// The scoop at hand, then the measures that are finer.
    pub(super) fn scoops(&self) -> impl Iterator<Item = Scoop> {
        let finer = if self.is_us { US_FINER } else { FINER }.into_iter();
        let finer = finer.map(|(litres, name)| Scoop { volume: in_litres(litres), name: Some(name) });
        let is_finer = move |scoop: &Scoop, finer: &Scoop| finer.volume < scoop.volume * (1.0 - 1e-9);
        self.scoop.into_iter().chain(finer.filter(move |finer| self.scoop.is_some_and(|scoop| is_finer(&scoop, finer))))
    }
}

/// Equal loads.
#[derive(Clone, Debug, PartialEq)]
pub struct Loads {
    /// How many.
    pub count: u64,
    /// Each of them.
    pub load: Load,
}

impl Loads {
    /// The work that they make: each load, and each row measured out in each.
    pub fn work(&self) -> u64 {
        self.count.saturating_mul((self.load.measures.len() + self.load.doses.len() + 1) as u64)
    }
}

/// What goes into the tub at once, in the order of mixing.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Everything loose, before blending: what must fit the tub.
    pub loose: Volume,
    /// What of the shared base goes in first.
    pub from_base: Option<FromBase>,
    /// The ingredients measured in.
    pub measures: Vec<Measure>,
    /// The scoop that they are measured with; `None` where litres are measured.
    pub scoop: Option<Scoop>,
    /// The doses.
    pub doses: Vec<DoseAmount>,
    /// What to do about its water.
    pub moistening: Moistening,
    /// Its weight when moist; `None` where a density is not known.
    pub wet: Option<MoistWeight>,
}

/// Litres of an ingredient that are measured in.
pub(super) fn litres_of(measures: &[Measure], id: &Handle<Ingredient>) -> f64 {
    let same = measures.iter().filter(|measure| measure.ingredient == *id);
    same.map(|measure| to_litres(measure.loose)).sum()
}

/// A share of a base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FromBase {
    /// As loose ingredients.
    pub loose: Volume,
    /// As it lies there, blended.
    pub mixed: Volume,
    /// Quarter scoops of it, where it is measured by the scoop.
    pub quarters: Option<u64>,
    /// That scoop.
    pub scoop: Option<Scoop>,
}

impl FromBase {
    /// So many loose litres of a base of which a share is kept on blending, in quarters of a
    /// scoop: no fewer than wanted.
    pub(super) fn by_scoop(loose: f64, kept: f64, scoop: Scoop) -> Option<Self> {
        let covered = cover(in_litres(loose * kept), scoop.volume / QUARTERS)?;
        let mixed = scoop.volume * covered.count as f64 / QUARTERS;
        let (quarters, scoop) = (Some(covered.count), Some(scoop));
        Some(Self { loose: mixed / kept, mixed, quarters, scoop })
    }

    /// So many loose litres of it, by the share of the heap.
    pub(super) fn exactly(loose: f64, kept: f64) -> Self {
        Self { loose: in_litres(loose), mixed: in_litres(loose * kept), quarters: None, scoop: None }
    }

    /// Scoops of it, where it is measured by the scoop.
    pub fn scoops(&self) -> Option<f64> {
        in_scoops(self.quarters)
    }
}

/// One ingredient of a load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measure {
    /// The ingredient.
    #[serde(rename = "name")]
    pub ingredient: Handle<Ingredient>,
    /// Quarter scoops; `None` where litres are measured.
    #[serde(rename = "scoops", serialize_with = "scoops")]
    pub quarters: Option<u64>,
    /// Loose volume.
    #[serde(rename = "loose_l")]
    pub loose: Volume,
    /// Its share of the load, with what the base brings of it.
    pub share: f64,
    /// The share wanted.
    #[serde(rename = "wanted_share")]
    pub wanted: f64,
}

fn scoops<S: Serializer, Q: Copy + Into<Option<u64>>>(quarters: &Q, serializer: S) -> Result<S::Ok, S::Error> {
    in_scoops((*quarters).into()).serialize(serializer)
}

fn in_scoops(quarters: Option<u64>) -> Option<f64> {
    quarters.map(|quarters| quarters as f64 / QUARTERS)
}

impl Measure {
    /// How far its share is off, as a share of it.
    pub fn off(&self) -> f64 {
        self.share / self.wanted - 1.0
    }

    /// Whether its share is the wanted one, to the tenths of a per cent that are printed.
    pub fn is_exact(&self) -> bool {
        self.off().abs() < 5e-4
    }
}

/// What is to be divided into loads.
pub(super) struct UndividedMix {
    /// Each ingredient with its share, and the loose litres of it that a base brings.
    pub(super) wanted: Vec<(Handle<Ingredient>, LoadShare)>,
    /// Loose litres needed altogether.
    pub(super) need: f64,
    /// So many loose litres more may be made.
    pub(super) most_over: f64,
    /// How far shares may be off.
    pub(super) tolerance: f64,
}

/// Loads with their measures.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Divided {
    pub(super) count: u64,
    pub(super) measures: Vec<Measure>,
    /// Loose litres of one load.
    pub(super) each: f64,
    /// The scoop that they are measured with; `None` where litres are measured.
    pub(super) scoop: Option<Scoop>,
    /// Even the finest scoop is too coarse.
    pub(super) too_coarse: bool,
}

impl Divided {
    /// Loose litres of all loads.
    pub(super) fn made(&self) -> f64 {
        self.each * self.count as f64
    }
}

impl UndividedMix {
    /// Divides it into the fewest equal loads that fit the tub, by the coarsest scoop that makes
    /// hardly more than needed.
    pub(super) fn divide(&self, vessels: &Vessels) -> Divided {
        let room = vessels.room().map(to_litres);
        vessels
            .scoops()
            .find_map(|scoop| self.by_scoop(room, scoop))
            .unwrap_or_else(|| Divided { too_coarse: vessels.scoop.is_some(), ..self.in_litres(room) })
    }

    fn given(&self) -> f64 {
        self.wanted.iter().map(|(_, want)| want.given).sum()
    }

    /// The fewest loads that the tub allows.
    fn fewest(total: f64, room: Option<f64>) -> u64 {
        let covered = room.and_then(|room| cover(in_litres(total), in_litres(room)));
        covered.map_or(1, |covered| covered.count.max(1))
    }

    /// Loads in quarters of a scoop that keep the proportions and make hardly more than needed,
    /// if there are such.
    pub(super) fn by_scoop(&self, room: Option<f64>, scoop: Scoop) -> Option<Divided> {
        let quarter = to_litres(scoop.volume) / QUARTERS;
        let fewest = Self::fewest(self.need.max(self.given()), room);
        let found = (fewest..=fewest.saturating_add(MORE_LOADS)).find_map(|count| {
            let loads = count as f64;
            let wanted = self.wanted.iter().map(|(_, want)| LoadShare { given: want.given / loads, ..*want });
            let wanted: Vec<LoadShare> = wanted.collect();
            let quarters = quarter_scoops(&wanted, self.need / loads, room, quarter, self.tolerance)?;
            let litres = quarters.iter().map(|quarters| *quarters as f64 * quarter).collect::<Vec<_>>();
            Some(Divided { scoop: Some(scoop), ..self.measured(count, &litres, Some(&quarters)) })
        });
        found.filter(|found| found.made() <= self.need * (1.0 + 1e-9) + self.most_over)
    }

    /// The exact litres; where the base brings too much of something, the rest follows it.
    fn in_litres(&self, room: Option<f64>) -> Divided {
        let follow = self.wanted.iter().map(|(_, want)| want.given / want.share).fold(self.need, f64::max);
        let mut total = if follow > self.need * (1.0 + 1e-9) { follow } else { self.need };
        // What comes from the base alone may be less than its share: the rest makes up for it.
        let more = |total: f64| {
            let more = move |want: &LoadShare| (want.share * total - want.given).max(0.0);
            self.wanted.iter().map(move |(_, want)| if want.measured { more(want) } else { 0.0 })
        };
        let short = self.need - self.given() - more(total).sum::<f64>();
        let share: f64 = self.wanted.iter().filter(|(_, want)| want.measured).map(|(_, want)| want.share).sum();
        if short > self.need * 1e-9 && share > 0.0 {
            total += short / share;
        }
        let count = Self::fewest(total, room);
        self.measured(count, &more(total).map(|litres| litres / count as f64).collect::<Vec<_>>(), None)
    }

    /// Loads of so many litres of each ingredient, in addition to what a base brings.
    fn measured(&self, count: u64, litres: &[f64], quarters: Option<&[u64]>) -> Divided {
        let each = self.given() / count as f64 + litres.iter().sum::<f64>();
        let measure = |(index, (ingredient, want)): (usize, &(Handle<Ingredient>, LoadShare))| Measure {
            ingredient: ingredient.clone(),
            quarters: quarters.map(|quarters| quarters[index]),
            loose: in_litres(litres[index]),
            share: (want.given / count as f64 + litres[index]) / each,
            wanted: want.share,
        };
        let measured = self.wanted.iter().enumerate().filter(|(_, (_, want))| want.measured);
        Divided { count, measures: measured.map(measure).collect(), each, scoop: None, too_coarse: false }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::exact::whole;

    /// As many ingredients as wanted.
    fn some(wanted: impl Iterator<Item = LoadShare>) -> Vec<(Handle<Ingredient>, LoadShare)> {
        let catalogue = Catalogue::built_in();
        let names = ["peat", "perlite", "vermiculite", "castings"];
        names.iter().map(|name| catalogue.ingredients.find(name).unwrap()).zip(wanted).collect()
    }

    fn mix(parts: &[f64], need: f64) -> UndividedMix {
        let sum: f64 = parts.iter().sum();
        let wanted = some(parts.iter().map(|parts| LoadShare::of_share(parts / sum)));
        UndividedMix { wanted, need, most_over: MOST_OVER * need, tolerance: TOLERANCE }
    }

    fn vessels(tub: Option<f64>, scoop: Option<f64>) -> Vessels {
        let scoop = scoop.map(|litres| Scoop { volume: in_litres(litres), name: None });
        Vessels { tub: tub.map(in_litres), scoop, ..Vessels::default() }
    }

    #[test]
    fn equal_loads_fit_the_tub_and_are_never_short() {
        for need in [1.0, 7.3, 53.9, 54.0, 54.1, 77.9, 500.0, 16_000.0] {
            let divided = mix(&[3.0, 1.0, 1.0, 1.0], need).divide(&vessels(Some(60.0), Some(2.0)));
            assert!(divided.each <= 54.0 + 1e-9, "{need}");
            assert!(divided.each * divided.count as f64 >= need - 1e-9, "{need}");
            assert!(divided.measures.iter().all(|measure| measure.off().abs() <= TOLERANCE + 1e-9), "{need}");
            let exact = mix(&[3.0, 1.0, 1.0, 1.0], need).divide(&vessels(Some(60.0), None));
            assert!((exact.each * exact.count as f64 - need).abs() < 1e-9 * need);
        }
    }

    #[test]
    fn without_a_tub_there_is_one_load() {
        let divided = mix(&[1.0, 1.0], 300.0).divide(&vessels(None, Some(2.0)));
        assert_eq!((divided.count, divided.each), (1, 300.0));
    }

    #[test]
    fn what_is_in_a_load_sums_to_it_over_a_base_too() {
        // 12 L of base bring 7 of the first and 5 of the second, which is too much of it;
        // the first comes from the base alone.
        let part = |share: f64, given: f64, measured: bool| LoadShare { share, given, measured };
        let wanted = [part(0.5, 7.0, false), part(0.25, 5.0, true), part(0.25, 0.0, true)];
        for need in [14.0, 18.0, 40.0] {
            let wanted = some(wanted.iter().copied());
            let divided =
                UndividedMix { wanted, need, most_over: need, tolerance: 0.0 }.divide(&vessels(Some(16.0), None));
            let litres: f64 = divided.measures.iter().map(|measure| to_litres(measure.loose)).sum();
            let count = divided.count as f64;
            assert!((12.0 + litres * count - divided.each * count).abs() < 1e-9, "{need} {litres} {}", divided.each);
            assert!(divided.each * count >= need - 1e-9, "{need}");
        }
    }

    #[test]
    fn a_coarse_scoop_gives_way_to_a_finer_one() {
        let by = |parts: &[f64], need, scoop| mix(parts, need).divide(&vessels(Some(60.0), Some(scoop)));
        // Halves of 7.3 L from quarters of 2 L: 7.5 L, in 7 and 8 quarters.
        assert_eq!(by(&[1.0, 1.0], 7.3, 2.0).each, 7.5);
        // 1.1 L from quarters of 2 L are 1.5 or 2 L; from quarters of 1 L 1.25 L; of 1/2 L 1.125 L.
        let fine = by(&[1.0], 1.1, 2.0);
        let name = |divided: &Divided| divided.scoop.and_then(|scoop| scoop.name);
        assert_eq!((name(&fine), fine.each, fine.too_coarse), (Some("1/2 L"), 1.125, false));
        // 1.1 qt from quarters of a gallon are 2 qt, of a quart 1 1/4, of a pint 1 1/8.
        let quart = 0.946_352_946;
        let us = Vessels { is_us: true, ..vessels(Some(60.0), Some(4.0 * quart)) };
        let of_pints = mix(&[1.0], 1.1 * quart).divide(&us);
        assert_eq!(name(&of_pints), Some("1 pint"));
        assert!((of_pints.each - 1.125 * quart).abs() < 1e-9);
        // The scoop at hand is the coarsest, whatever it holds.
        assert_eq!(by(&[1.0], 1.1, 0.25).scoop, Some(Scoop { volume: in_litres(0.25), name: None }));
        // A hundredth part of a litre cannot be told in quarters of 100 mL.
        let hopeless = by(&[99.0, 1.0], 1.0, 5.0);
        assert!(hopeless.too_coarse && hopeless.scoop.is_none());
        assert!(hopeless.measures.iter().all(|measure| measure.quarters.is_none()));
        assert!((hopeless.each - 1.0).abs() < 1e-12);
    }

    /// The scoop and the quarters in all by trying every choice of three numbers.
    fn by_brute_force(parts: [f64; 3], need: f64, tolerance: f64) -> Option<(f64, u64)> {
        let sum: f64 = parts.iter().sum();
        [2.0, 1.0, 0.5, 0.25, 0.1].into_iter().find_map(|scoop| {
            let step = scoop / 4.0;
            let mut least: Option<u64> = None;
            let most = whole((need * 1.05 / step).ceil());
            for counts in (0..=most).flat_map(|a| (0..=most - a).map(move |b| (a, b))) {
                for c in 0..=most - counts.0 - counts.1 {
                    let all = counts.0 + counts.1 + c;
                    let total = all as f64 * step;
                    let is_true = [counts.0, counts.1, c].iter().zip(parts).all(|(count, parts)| {
                        let wanted = parts / sum * total;
                        (*count as f64 * step - wanted).abs() <= tolerance * wanted + 1e-9
                    });
                    if is_true && total >= need - 1e-9 && total <= need * 1.05 + 1e-9 {
                        least = Some(least.map_or(all, |least| least.min(all)));
                    }
                }
            }
            Some((scoop, least?))
        })
    }

    #[test]
    fn the_largest_scoop_that_does_and_the_least_surplus() {
        for need in [0.31, 0.6, 0.97, 1.3, 1.9, 2.45] {
            for parts in [[3.0, 1.0, 1.0], [1.0, 1.0, 1.0], [5.0, 2.0, 1.0], [8.0, 1.0, 1.0]] {
                for tolerance in [0.03, 0.1, 0.2] {
                    let mix = UndividedMix { tolerance, ..mix(&parts, need) };
                    let found = mix.divide(&vessels(None, Some(2.0)));
                    let quarters: Option<u64> = found.measures.iter().map(|measure| measure.quarters).sum();
                    let got = found.scoop.map(|scoop| to_litres(scoop.volume)).zip(quarters);
                    assert_eq!(got, by_brute_force(parts, need, tolerance), "{need} {parts:?} {tolerance}");
                    assert_eq!(found.too_coarse, got.is_none());
                }
            }
        }
    }
}
