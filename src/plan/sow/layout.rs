//! Every sowing in its trays: which share them, and which rows each takes.

use super::trays::arrange;
use super::{CellCount, SowingPlan};
use crate::catalogue::{Crop, Handle, Light, Pace, Temperature, Tray, Warmth};
use crate::plan::LISTED;
use crate::week::{Fill, Sowing, Week, small};
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// A tray that holds more than one crop, or a part of one: what lies in which rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrayMap {
    /// The tray.
    pub tray: Handle<Tray>,
    /// Its number among the trays of its kind.
    pub number: u64,
    /// From the first row on.
    pub portions: Vec<TrayPortion>,
    /// Of the rows of the last portion, so many at the end are not sown.
    pub empty: u32,
}

impl TrayMap {
    /// Its portions without the rows that are not sown.
    pub fn sown(&self) -> impl Iterator<Item = TrayPortion> {
        (1..=self.portions.len()).zip(&self.portions).map(|(place, portion)| {
            let empty = if place == self.portions.len() { self.empty } else { 0 };
            TrayPortion { to: portion.to - empty, ..*portion }
        })
    }
}

/// Rows of a tray that one sowing takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct TrayPortion {
    /// Index of the sowing.
    pub sowing: u32,
    /// First row, from one.
    pub from: u32,
    /// Last row.
    pub to: u32,
}

/// Sowings in trays.
#[derive(Clone, Debug, Default)]
pub struct Layout {
    /// The sowings, in the order of the file.
    pub sowings: Vec<SowingPlan>,
    /// Trays and pots to fill, by kind, pots last.
    pub trays: Vec<(Handle<Tray>, u64)>,
    /// Trays that hold more than one crop or a part of one, row by row.
    pub maps: Vec<TrayMap>,
}

impl FilledTrays {
    /// The places that they take on a rack, pots in their carrying trays; nothing where none is known.
    pub fn places(&self) -> u64 {
        self.tray.places(self.count).unwrap_or(0)
    }
}

/// What sowings take of a rack. Pots of which nothing is known to carry them are not counted.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct OnRack {
    /// Places: trays, those that carry pots too.
    pub needed: u64,
    /// Pots that are carried.
    pub pots: u64,
    /// The trays that carry them.
    pub carrying_trays: u64,
    /// Its places in all.
    pub places: u64,
    /// Those that are free before.
    pub free: u64,
    /// Those with heat from below, where that is stated.
    pub mats: Option<u64>,
    /// Trays that want such heat.
    pub for_mats: u64,
    /// The crops in these, those first that germinate only where it is warmest.
    #[serde(skip)]
    pub warm: Vec<Handle<Crop>>,
}

/// Trays or pots of one kind that hold the same sowings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FilledTrays {
    /// The kind.
    pub tray: Handle<Tray>,
    /// How many.
    pub count: u64,
    /// The sowings, by their indexes, as they lie in it.
    pub sowings: Vec<u32>,
}

impl Layout {
    /// What each batch fills, in the order of the sowings, a shared tray at its first one; of a long list the
    /// trays of each kind alone.
    pub fn filled_trays(&self, week: &Week) -> BTreeMap<usize, Vec<FilledTrays>> {
        if self.sowings.len() > LISTED {
            let mut kinds: BTreeMap<(usize, &Handle<Tray>), u64> = BTreeMap::new();
            for (sowing, plan) in self.of(week) {
                *kinds.entry((plan.batch, &sowing.tray)).or_default() += u64::from(plan.trays);
            }
            // Counted once only.
            for map in &self.maps {
                for portion in map.portions.iter().skip(1) {
                    let batch = self.sowings[portion.sowing as usize].batch;
                    kinds.entry((batch, &map.tray)).and_modify(|count| *count -= 1);
                }
            }
            let mut filled: BTreeMap<usize, Vec<FilledTrays>> = BTreeMap::new();
            for ((batch, tray), count) in kinds {
                let trays = FilledTrays { tray: tray.clone(), count, sowings: Vec::new() };
                filled.entry(batch).or_default().push(trays);
            }
            return filled;
        }
        let mut all: Vec<(Vec<u32>, u64)> = self.by_sowings().into_iter().collect();
        all.sort_by_key(|(sowings, _)| (sowings.iter().min().copied(), sowings.len()));
        let mut filled: BTreeMap<usize, Vec<FilledTrays>> = BTreeMap::new();
        for (sowings, count) in all {
            let Some(first) = sowings.first().map(|sowing| *sowing as usize) else { continue };
            let tray = week.sowings[first].tray.clone();
            filled.entry(self.sowings[first].batch).or_default().push(FilledTrays { tray, count, sowings });
        }
        filled
    }

    /// How many trays or pots hold the same sowings, by the indexes of these as they lie in them.
    pub fn by_sowings(&self) -> BTreeMap<Vec<u32>, u64> {
        let own = (0..).zip(&self.sowings).map(|(sowing, plan)| (vec![sowing], plan.trays.into()));
        let mut trays: BTreeMap<Vec<u32>, u64> = own.collect();
        for map in &self.maps {
            let sowings: Vec<u32> = map.portions.iter().map(|portion| portion.sowing).collect();
            sowings.iter().for_each(|sowing| *trays.entry(vec![*sowing]).or_default() -= 1);
            *trays.entry(sowings).or_default() += 1;
        }
        trays.retain(|_, count| *count > 0);
        trays
    }

    /// What it takes of the rack of the week, if there is one.
    pub(in crate::plan) fn on_rack(&self, week: &Week) -> Option<OnRack> {
        let rack = week.rack?;
        let mut on_rack = OnRack { places: rack.places, free: rack.free(), mats: rack.mats, ..OnRack::default() };
        for (tray, count) in &self.trays {
            let places = tray.places(*count).unwrap_or(0);
            on_rack.needed = on_rack.needed.saturating_add(places);
            if tray.pot && places > 0 {
                on_rack.pots += count;
                on_rack.carrying_trays += places;
            }
        }
        let is_warm = |(sowing, plan): &(&Sowing, &SowingPlan)| {
            plan.cells.seeds.is_some() && sowing.crop.as_ref().is_some_and(|crop| crop.wants_mat())
        };
        let mut warm: BTreeMap<&Handle<Tray>, u64> = BTreeMap::new();
        for (sowing, plan) in self.of(week).filter(is_warm) {
            *warm.entry(&sowing.tray).or_default() += u64::from(plan.trays);
            on_rack.warm.extend(sowing.crop.clone());
        }
        let lowest = |crop: &Handle<Crop>| crop.germinates_at.map_or(0.0, |Warmth((low, _))| low);
        on_rack.warm.sort_by(|one, other| lowest(other).total_cmp(&lowest(one)).then_with(|| one.cmp(other)));
        on_rack.warm.dedup();
        // Counted once only.
        for map in &self.maps {
            let sowings = map.portions.iter().map(|portion| portion.sowing as usize);
            let of_map = sowings.filter(|sowing| is_warm(&(&week.sowings[*sowing], &self.sowings[*sowing]))).count();
            warm.entry(&map.tray).and_modify(|count| *count -= of_map.saturating_sub(1) as u64);
        }
        on_rack.for_mats = warm.into_iter().filter_map(|(tray, count)| tray.places(count)).sum();
        Some(on_rack)
    }

    /// The sowings of the week that it is for, each with what was worked out for it.
    pub fn of<'l>(&'l self, week: &'l Week) -> impl Iterator<Item = (&'l Sowing, &'l SowingPlan)> + Clone {
        week.sowings.iter().zip(&self.sowings)
    }
}

/// What sowings must have in common to share a tray. What is not known of a crop is a
/// class of its own.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct SharingClass<'w> {
    tray: &'w Handle<Tray>,
    batch: usize,
    pace: Option<Pace>,
    /// What is covered thinly is covered.
    light: Option<Light>,
    temperature: Option<Temperature>,
}

impl<'w> SharingClass<'w> {
    fn of(sowing: &'w Sowing, batch: usize) -> Self {
        let crop = sowing.crop.as_ref();
        Self {
            tray: &sowing.tray,
            batch,
            pace: crop.and_then(|crop| crop.pace),
            light: crop
                .and_then(|crop| crop.light)
                .map(|light| if light == Light::Thin { Light::Cover } else { light }),
            temperature: crop.and_then(|crop| Crop::grows_at(crop)),
        }
    }
}

impl SharingClass<'_> {
    /// The facts that this lacks and another has, where no other fact keeps them apart.
    fn lacks(&self, other: &Self) -> Option<Vec<&'static str>> {
        fn lacks<T: Copy + PartialEq>(one: Option<T>, other: Option<T>) -> Option<bool> {
            if one == other { Some(false) } else { one.is_none().then_some(true) }
        }
        let facts = [
            ("pace", lacks(self.pace, other.pace)?),
            ("light", lacks(self.light, other.light)?),
            ("temperature", lacks(self.temperature, other.temperature)?),
        ];
        let lacking = facts.into_iter().filter(|(_, lacks)| *lacks).map(|(fact, _)| fact);
        Some(lacking.collect())
    }
}

/// Crops that share no trays with others only because facts of theirs are not stated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unstated {
    /// The crops.
    pub crops: Vec<Handle<Crop>>,
    /// The facts, by their keys.
    pub facts: Vec<&'static str>,
    /// Trays that would be saved, at most.
    pub trays: u64,
}

/// What keeps sowings apart only because it is not stated: of each such class that with which most trays are saved.
pub(in crate::plan) fn unstated(layout: &Layout, week: &Week) -> Vec<Unstated> {
    let mut groups: BTreeMap<_, BTreeMap<SharingClass<'_>, Vec<u32>>> = BTreeMap::new();
    let may = |sowing: &Sowing| sowing.share && !sowing.tray.pot && sowing.crop.is_some();
    // In a long list each pair of classes would be looked at for long.
    let listed = if layout.sowings.len() > LISTED { 0 } else { LISTED };
    for (index, (sowing, plan)) in (0..).zip(layout.of(week)).take(listed).filter(|(_, (sowing, _))| may(sowing)) {
        let class = SharingClass::of(sowing, plan.batch);
        groups.entry((class.tray, class.batch)).or_default().entry(class).or_default().push(index);
    }
    let trays = |tray: &Tray, members: &[u32]| -> u64 {
        let rows = |index: &u32| u64::from(layout.sowings[*index as usize].cells.cells).div_ceil(tray.row_cells());
        let mut members = members.to_vec();
        let classes = by_leaving(&mut members, week).into_iter();
        classes.map(|class| class.iter().map(rows).sum::<u64>().div_ceil(tray.rows)).sum()
    };
    let mut all = Vec::new();
    for classes in groups.values() {
        all.extend(classes.iter().filter_map(|(class, members)| {
            let with = classes.iter().filter_map(|(other, others)| {
                let facts = class.lacks(other).filter(|facts| !facts.is_empty())?;
                let apart = trays(class.tray, members) + trays(class.tray, others);
                Some((apart.saturating_sub(trays(class.tray, &[&members[..], others].concat())), facts))
            });
            let (trays, facts) = with.max_by_key(|(saved, _)| *saved).filter(|(saved, _)| *saved > 0)?;
            let crops: BTreeSet<_> =
                members.iter().filter_map(|index| week.sowings[*index as usize].crop.clone()).collect();
            Some(Unstated { crops: crops.into_iter().collect(), facts, trays })
        }));
    }
    all
}

/// Lays every sowing out in trays.
pub(in crate::plan) fn lay_out<B: Iterator<Item = usize>>(
    week: &Week,
    cells: &[CellCount],
    batch_of: impl Fn() -> B,
) -> Layout {
    // Those that share, and those that lie in trays of their own.
    let mut groups: BTreeMap<SharingClass<'_>, [Vec<u32>; 2]> = BTreeMap::new();
    for (index, (sowing, batch)) in (0..).zip(week.sowings.iter().zip(batch_of())) {
        groups.entry(SharingClass::of(sowing, batch)).or_default()[usize::from(!sowing.share)].push(index);
    }
    let sowings = cells.iter().zip(batch_of()).map(|(cells, batch)| SowingPlan {
        batch,
        cells: *cells,
        cells_filled: 0,
        trays: 0,
    });
    let mut layout = Layout { sowings: sowings.collect(), ..Layout::default() };
    let mut trays: BTreeMap<&Handle<Tray>, u64> = BTreeMap::new();
    for (class, [mut together, alone]) in groups {
        // An order of their own, so that the order of the file changes nothing.
        together.sort_by_cached_key(|index| {
            let (sowing, cells) = (&week.sowings[*index as usize], cells[*index as usize].cells);
            let name = sowing.crop.as_ref().map(|crop| (&crop.name, crop));
            (name, sowing.variety.as_deref(), Reverse(cells), fills_whole(sowing, week), *index)
        });
        let used = trays.entry(class.tray).or_default();
        for members in by_leaving(&mut together, week).into_iter().chain(alone.chunks(1)) {
            lay_out_together(week, class.tray, members, used, &mut layout);
        }
    }
    layout.trays = trays.into_iter().map(|(tray, count)| (tray.clone(), count)).collect();
    layout.trays.sort_by_key(|(tray, _)| tray.pot);
    layout
}

/// Sowings that may share a tray, by the day on which they leave: the earliest takes all that leave within a week of
/// it, since a tray leaves in one piece. Those of which no day is stated are apart.
fn by_leaving<'m>(members: &'m mut [u32], week: &Week) -> Vec<&'m [u32]> {
    const NEAR_DAYS: i32 = 7;
    let leaves = |index: &u32| week.sowings[*index as usize].leaves;
    members.sort_by_key(leaves);
    let (mut rest, mut classes) = (&*members, Vec::new());
    while let Some(first) = rest.first().map(leaves) {
        let near = |index: &&u32| match (first, leaves(index)) {
            (Some(first), Some(leaves)) => (leaves - first).get_days() <= NEAR_DAYS,
            (first, leaves) => first == leaves,
        };
        let (class, others) = rest.split_at(rest.iter().take_while(near).count());
        classes.push(class);
        rest = others;
    }
    classes
}

/// Whether rows that are not sown are filled too; blocks that are not sown are not pressed.
pub(super) fn fills_whole(sowing: &Sowing, week: &Week) -> bool {
    sowing.tray.compression.is_none() && sowing.fill.unwrap_or(week.fill) == Fill::WholeTrays
}

/// Lays sowings that may share trays out in them, and counts these.
fn lay_out_together(week: &Week, tray: &Handle<Tray>, members: &[u32], used: &mut u64, layout: &mut Layout) {
    let fills_whole = |index: u32| fills_whole(&week.sowings[index as usize], week);
    let rows = |index: &u32| u64::from(layout.sowings[*index as usize].cells.cells).div_ceil(tray.row_cells());
    let rows: Vec<u64> = members.iter().map(rows).collect();
    for (count, mut portions) in arrange(&rows, tray.rows) {
        // The empty rows go to the last crop, so one that fills whole trays comes last.
        portions.sort_by_key(|portion| fills_whole(members[portion.sowing]));
        let empty = tray.rows - portions.iter().map(|portion| portion.rows).sum::<u64>();
        let mut map =
            TrayMap { tray: tray.clone(), number: *used + 1, portions: Vec::with_capacity(portions.len()), empty: 0 };
        let mut from = 1;
        for (place, portion) in portions.iter().enumerate() {
            let index = members[portion.sowing];
            let last = place + 1 == portions.len();
            let unsown = if last && fills_whole(index) { empty } else { 0 };
            let filled = portion.rows + unsown;
            map.empty = small(unsown);
            let plan = &mut layout.sowings[index as usize];
            plan.cells_filled += small(count * filled * tray.row_cells());
            plan.trays += small(count);
            let [first, to] = [from, from + filled - 1].map(small);
            map.portions.push(TrayPortion { sowing: index, from: first, to });
            from += filled;
        }
        if map.portions.len() > 1 {
            layout.maps.push(map);
        }
        *used += count;
    }
    for index in members.iter().filter(|index| !fills_whole(**index)) {
        // Only the cells that are sown, not their whole rows.
        let plan = &mut layout.sowings[*index as usize];
        plan.cells_filled = plan.cells.cells;
    }
}
