//! Sowings to cells, cells to rows, rows to trays, trays to volumes.

use super::batch::TopLayer;
use super::cells::{cells_for, chance_per_cell};
use super::trays::arrange;
use super::volumes::{of_cells, settled};
use super::{Faults, volumes};
use crate::catalogue::{Catalogue, Crop, CropId, Light, Pace, Temperature, TrayId};
use crate::exact::Fraction;
use crate::recipe::Top;
use crate::units::length::millimetre;
use crate::units::{Length, Volume, in_litres};
use crate::week::{Amount, Fill, MOST_CELLS, Sowing, Week};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// One sowing, worked out.
#[derive(Clone, Debug)]
pub struct SowingPlan {
    /// Index in [`Week::sowings`].
    pub sowing: usize,
    /// Index in [`super::Plan::batches`].
    pub batch: usize,
    /// Plants wanted, where the sowing says so.
    pub plants: Option<u64>,
    /// Cells sown or planted.
    pub cells: u64,
    /// Seeds; `None` for potting on.
    pub seeds: Option<u64>,
    /// Their weight in grams, where the crop's seed count is known.
    pub seed_grams: Option<f64>,
    /// The germination that the cells were worked out with.
    pub germination: Option<(Fraction, Germination)>,
    /// The chance that a cell gives a plant, where the cells were worked out from plants.
    pub chance: Option<f64>,
    /// Cells filled with mix.
    pub cells_filled: u64,
    /// Trays or pots it lies in, shared ones counted too.
    pub trays: u64,
}

/// Whose figure a germination is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Germination {
    /// The packet's, as the sowing states it.
    Packet,
    /// The user's own for the crop.
    Own,
    /// The legal minimum.
    LegalMinimum,
    /// Assumed: 70 %.
    Assumed,
}

/// A tray that holds more than one crop, or a part of one: what lies in which rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrayMap {
    /// The tray.
    pub tray: TrayId,
    /// Its number among the trays of its kind.
    pub number: u64,
    /// From the first row on.
    pub portions: Vec<TrayPortion>,
}

/// Rows of a tray that one sowing takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TrayPortion {
    /// Index of the sowing.
    pub sowing: usize,
    /// First row, from one.
    pub from: u64,
    /// Last row.
    pub to: u64,
}

/// The cells of a sowing and how they came about.
pub(super) struct Cells {
    plants: Option<u64>,
    cells: u64,
    seeds: Option<u64>,
    germination: Option<(Fraction, Germination)>,
    chance: Option<f64>,
}

impl Cells {
    /// Those of a sowing that has been worked out.
    pub(super) fn of(sowing: &SowingPlan) -> Self {
        let SowingPlan { plants, cells, seeds, germination, chance, .. } = *sowing;
        Self { plants, cells, seeds, germination, chance }
    }
}

/// The cells of every sowing.
pub(super) fn cells(week: &Week, catalogue: &Catalogue, faults: &mut Faults) -> Vec<Cells> {
    let mut known: HashMap<(u64, u64, Fraction), Option<u64>> = HashMap::new();
    week.sowings
        .iter()
        .map(|sowing| {
            let too_many = || {
                let what = format!("this sowing would need more than {MOST_CELLS} cells");
                faults.push(&sowing.place, what, "fewer plants or cells, or better germination");
                0
            };
            let tray = catalogue.tray(sowing.tray);
            let sown = |cells: u64, plants, germination| Cells {
                plants,
                cells,
                // Without a crop nothing is said of seed.
                seeds: sowing.crop.map(|_| cells * sowing.seeds),
                germination,
                chance: None,
            };
            match sowing.amount {
                Amount::Cells(cells) => sown(cells, None, None),
                Amount::Trays(trays) => {
                    let cells = trays.checked_mul(tray.cells).filter(|cells| *cells <= MOST_CELLS);
                    sown(cells.unwrap_or_else(too_many), None, None)
                }
                Amount::Potted { plants, spare } => {
                    let wanted = spare.plus(Fraction::ONE).and_then(|factor| factor.times(Fraction::whole(plants)));
                    let cells = wanted.and_then(Fraction::ceil).filter(|cells| *cells <= MOST_CELLS);
                    Cells {
                        plants: Some(plants),
                        cells: cells.unwrap_or_else(too_many),
                        seeds: None,
                        germination: None,
                        chance: None,
                    }
                }
                Amount::Plants(plants) => {
                    let germination = germination(sowing, catalogue);
                    let (usable, surety) = (week.usable(sowing), week.surety(sowing));
                    let p = chance_per_cell(germination.0, sowing.seeds, usable);
                    let cells = *known
                        .entry((plants, p.to_bits(), surety))
                        .or_insert_with(|| cells_for(plants, p, surety.to_f64()));
                    Cells { chance: Some(p), ..sown(cells.unwrap_or_else(too_many), Some(plants), Some(germination)) }
                }
            }
        })
        .collect()
}

/// The packet's germination, the user's for the crop, the legal minimum, or 70 %.
fn germination(sowing: &Sowing, catalogue: &Catalogue) -> (Fraction, Germination) {
    let crop = sowing.crop.map(|id| catalogue.crop_of(id));
    let own = crop.and_then(|crop| crop.germination);
    let legal = crop.and_then(|crop| crop.legal_minimum);
    let assumed = Fraction::new(70, 100).unwrap_or(Fraction::ONE);
    None.or(sowing.germination.map(|share| (share, Germination::Packet)))
        .or(own.map(|share| (share, Germination::Own)))
        .or(legal.map(|share| (share, Germination::LegalMinimum)))
        .unwrap_or((assumed, Germination::Assumed))
}

/// Sowings in trays.
pub(super) struct Laid {
    pub(super) sowings: Vec<SowingPlan>,
    pub(super) trays: Vec<(TrayId, u64)>,
    pub(super) maps: Vec<TrayMap>,
    /// Volume that filling whole trays adds to the sown cells.
    pub(super) beyond_sown: Volume,
}

/// What sowings must have in common to share a tray. What is not known of a crop is a
/// class of its own.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct Company {
    tray: TrayId,
    batch: usize,
    pace: Option<Pace>,
    light: Option<LightClass>,
    temperature: Option<Temperature>,
    /// A sowing that shares with nobody.
    alone: Option<usize>,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum LightClass {
    Light,
    Covered,
    Dark,
}

impl Company {
    fn of(index: usize, sowing: &Sowing, batch: usize, catalogue: &Catalogue) -> Self {
        let crop = sowing.crop.map(|id| catalogue.crop_of(id));
        Self {
            tray: sowing.tray,
            batch,
            pace: crop.and_then(|crop| crop.pace),
            light: crop.and_then(|crop| crop.light).map(|light| match light {
                Light::Light => LightClass::Light,
                Light::Thin | Light::Cover => LightClass::Covered,
                Light::Dark => LightClass::Dark,
            }),
            temperature: crop.and_then(Crop::grows_at),
            alone: (!sowing.share).then_some(index),
        }
    }
}

/// Lays every sowing out in trays.
pub(super) fn lay_out(week: &Week, catalogue: &Catalogue, cells: &[Cells], batch_of: &[usize]) -> Laid {
    let mut groups: BTreeMap<Company, Vec<usize>> = BTreeMap::new();
    for (index, sowing) in week.sowings.iter().enumerate() {
        groups.entry(Company::of(index, sowing, batch_of[index], catalogue)).or_default().push(index);
    }
    let mut sowings: Vec<SowingPlan> = cells
        .iter()
        .enumerate()
        .map(|(index, cells)| {
            let per_gram = week.sowings[index].crop.and_then(|id| catalogue.crop_of(id).seeds_per_gram);
            SowingPlan {
                sowing: index,
                batch: batch_of[index],
                plants: cells.plants,
                cells: cells.cells,
                seeds: cells.seeds,
                seed_grams: cells.seeds.zip(per_gram).map(|(seeds, per_gram)| seeds as f64 / per_gram.to_f64()),
                germination: cells.germination,
                chance: cells.chance,
                cells_filled: 0,
                trays: 0,
            }
        })
        .collect();
    let mut trays: BTreeMap<TrayId, u64> = BTreeMap::new();
    let mut maps = Vec::new();
    let mut beyond_sown = in_litres(0.0);
    for (company, mut members) in groups {
        // An order of their own, so that the order of the file changes nothing.
        members.sort_by_cached_key(|index| {
            let sowing = &week.sowings[*index];
            let name = sowing.crop.map(|id| catalogue.crop_of(id).name.clone());
            (name, sowing.variety.clone(), Reverse(cells[*index].cells), *index)
        });
        let group = Group { week, catalogue, company, members: &members };
        let before = *trays.get(&company.tray).unwrap_or(&0);
        let used = group.lay_out(before, &mut sowings, &mut maps);
        *trays.entry(company.tray).or_default() += used;
        let tray = catalogue.tray(company.tray);
        for index in &members {
            let more = sowings[*index].cells_filled.saturating_sub(sowings[*index].cells);
            beyond_sown += volumes::of_cells(more, tray);
        }
    }
    let mut trays: Vec<(TrayId, u64)> = trays.into_iter().collect();
    trays.sort_by_key(|(id, _)| (catalogue.tray(*id).pot, *id));
    Laid { sowings, trays, maps, beyond_sown }
}

/// Sowings that may share trays.
struct Group<'w> {
    week: &'w Week,
    catalogue: &'w Catalogue,
    company: Company,
    members: &'w [usize],
}

impl Group<'_> {
    fn fills_whole(&self, index: usize) -> bool {
        self.week.sowings[index].fill.unwrap_or(self.week.fill) == Fill::WholeTrays
    }

    /// Trays used, after `before` of the same kind.
    fn lay_out(&self, before: u64, sowings: &mut [SowingPlan], maps: &mut Vec<TrayMap>) -> u64 {
        let tray = self.catalogue.tray(self.company.tray);
        let rows: Vec<u64> =
            self.members.iter().map(|index| sowings[*index].cells.div_ceil(tray.row_cells())).collect();
        let mut used = 0;
        for (count, mut portions) in arrange(&rows, tray.rows) {
            // The empty rows go to the last crop, so one that fills whole trays comes last.
            portions.sort_by_key(|portion| self.fills_whole(self.members[portion.sowing]));
            let sown: u64 = portions.iter().map(|portion| portion.rows).sum();
            let empty = tray.rows - sown;
            let mut map = TrayMap { tray: self.company.tray, number: before + used + 1, portions: Vec::new() };
            let mut from = 1;
            for (place, portion) in portions.iter().enumerate() {
                let index = self.members[portion.sowing];
                let last = place + 1 == portions.len();
                let filled = portion.rows + if last && self.fills_whole(index) { empty } else { 0 };
                sowings[index].cells_filled += count * filled * tray.row_cells();
                sowings[index].trays += count;
                map.portions.push(TrayPortion { sowing: index, from, to: from + filled - 1 });
                from += filled;
            }
            if map.portions.len() > 1 {
                maps.push(map);
            }
            used += count;
        }
        for index in self.members {
            if !self.fills_whole(*index) {
                // Only the cells that are sown, not their whole rows.
                sowings[*index].cells_filled = sowings[*index].cells;
            }
        }
        used
    }
}

/// What a batch fills.
pub(super) struct BatchVolumes {
    pub(super) cells: Volume,
    pub(super) settled: Volume,
    pub(super) tops: Vec<TopLayer>,
}

/// A kind of top layer: tray, mesh and depth, the measures by their bits.
type TopKey = (TrayId, u64, u64);

/// Cells with a layer of one kind, and their crops.
type Topped = (u64, Top, BTreeSet<CropId>);

/// The volumes that the batches fill, with the top layer of each sowing.
pub(super) fn batch_volumes(
    week: &Week,
    catalogue: &Catalogue,
    laid: &Laid,
    tops: &[Option<Top>],
    batches: usize,
) -> Vec<BatchVolumes> {
    // Whole numbers of cells by batch and tray first: the sum is then the same in any order.
    let mut filled: Vec<BTreeMap<TrayId, u64>> = vec![BTreeMap::new(); batches];
    let mut topped: Vec<BTreeMap<TopKey, Topped>> = vec![BTreeMap::new(); batches];
    for plan in &laid.sowings {
        let sowing = &week.sowings[plan.sowing];
        *filled[plan.batch].entry(sowing.tray).or_default() += plan.cells_filled;
        if let Some(top) = tops[plan.sowing] {
            let bits = |length: Length| length.get::<millimetre>().to_bits();
            let key = (sowing.tray, bits(top.sieve), bits(top.depth));
            let (cells, _, crops) = topped[plan.batch].entry(key).or_insert((0, top, BTreeSet::new()));
            *cells += plan.cells_filled;
            crops.extend(sowing.crop);
        }
    }
    filled
        .into_iter()
        .zip(topped)
        .map(|(filled, topped)| {
            let (cells, settled) = volumes_of(&filled, week, catalogue);
            let layer = |((tray, ..), (count, top, crops)): (TopKey, Topped)| {
                let slice = catalogue.tray(tray).top_slice(top.depth);
                TopLayer { tray, top, crops, volume: slice.map(|slice| slice * count as f64) }
            };
            BatchVolumes { cells, settled, tops: topped.into_iter().map(layer).collect() }
        })
        .collect()
}

/// The volume of cells, and with what sinks in.
pub(super) fn volumes_of(filled: &BTreeMap<TrayId, u64>, week: &Week, catalogue: &Catalogue) -> (Volume, Volume) {
    let mut sums = (in_litres(0.0), in_litres(0.0));
    for (id, count) in filled {
        let tray = catalogue.tray(*id);
        let cells = of_cells(*count, tray);
        sums.0 += cells;
        sums.1 += settled(cells, tray, week.allowances.settling);
    }
    sums
}
