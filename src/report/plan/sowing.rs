//! The sowing: a row for each sowing, the maps of shared trays, and what to do after it.

use super::{Filled, PlanReport};
use crate::catalogue::{Crop, Depth, Handle, Light, Tray, Warmth};
use crate::plan::{CropSum, FilledTrays, Half, HalfOf, LISTED, OnRack, SowingPlan, TrayMap, TrayPortion, depth_over};
use crate::report::document::{Document, Table};
use crate::report::picture::{Drawn, Map, Picture, Rack, Spot};
use crate::report::words::{and, count, fact, tray_name};
use crate::units::customary::CELSIUS;
use crate::units::length::millimetre;
use crate::units::{Deep, Length, UnitSystem, seed_weight};
use crate::week::Sowing;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::iter;
use std::num::NonZeroU32;

/// A larger rack is not drawn.
const MOST_PLACES: usize = 120;
/// Shared trays beyond this are not mapped in print.
const MAPPED: usize = 60;

/// The columns of the sowings.
fn columns(units: UnitSystem) -> [&'static str; 9] {
    let [weight, warm] = units.either([">g", ">warm C"], [">oz", ">warm F"]);
    ["crop", "trays", ">cells", ">seeds", weight, ">deep", "light", warm, ">days"]
}

/// How a seed is sown, for scripts.
#[derive(Serialize)]
pub(super) struct Facts {
    /// Whether it lies open.
    surface: Option<bool>,
    /// How deep it is covered.
    depth_mm: Option<f64>,
    light: Option<&'static str>,
    temp_c: Option<(f64, f64)>,
    days: Option<(u32, u32)>,
}

impl Facts {
    /// What is known of a crop; nothing for what is potted on.
    pub(super) fn of(sowing: &Sowing, plan: &SowingPlan) -> Option<Self> {
        let crop = sowing.crop.as_ref().filter(|_| plan.cells.seeds.is_some())?;
        Some(Self {
            surface: crop.light.map(|light| light == Light::Light),
            depth_mm: depth_of(crop).map(|depth| depth.get::<millimetre>()),
            light: crop.light.map(light_words),
            temp_c: crop.germinates_at.map(|Warmth(range)| range),
            days: crop.emerges_in_a_house(),
        })
    }
}

/// How deep a seed lies: under its covering, or pushed in.
pub(super) fn depth_of(crop: &Crop) -> Option<Length> {
    let stated = crop.depth.map(|Depth((least, _))| least);
    depth_over(crop).or(stated).filter(|_| crop.light != Some(Light::Light))
}

const fn light_words(light: Light) -> &'static str {
    match light {
        Light::Light => "light",
        Light::Thin | Light::Cover => "covered",
        Light::Dark => "dark till up",
    }
}

impl PlanReport<'_> {
    /// A row for each sowing, then the maps of shared trays, and what to do after it.
    pub(super) fn sowing(&self, document: &mut Document, filled: &Filled, units: UnitSystem) {
        let layout = &self.plan.mixes.layout;
        if layout.sowings.is_empty() {
            return;
        }
        document.heading("Sowing");
        let sowings =
            if layout.sowings.len() <= LISTED { self.each_sowing(units) } else { self.sowings_by_crop(units) };
        document.table(sowings.without_empty_columns());
        if !layout.maps.is_empty() {
            let maps = || layout.maps.iter().take(MAPPED).map(|map| self.map(map, units)).collect();
            document.picture(|| Picture { says: "Shared trays".to_owned(), of: Drawn::Trays(maps()) });
        }
        let mut items: Vec<String> = layout.maps.iter().take(MAPPED).map(|map| self.map_words(map, units)).collect();
        if layout.maps.len() > MAPPED {
            items.push(format!("And {} more shared trays.", layout.maps.len() - MAPPED));
        }
        items.extend(self.covering(units));
        items.extend(layout.sowings.iter().any(|plan| plan.cells.seeds.is_some()).then(|| self.after_sowing()));
        let on_rack = self.plan.rack.as_ref().filter(|on_rack| on_rack.pots > 0 && on_rack.needed <= on_rack.free);
        items.extend(on_rack.map(|on_rack| format!("On the rack: {}.", carried(on_rack))));
        document.list(items);
        document.picture(|| self.rack(filled, units));
        self.pairs(document, units);
    }

    /// The rack with what stands on it: what was there, then the trays of this sowing; nothing where it is full.
    fn rack(&self, filled: &Filled, units: UnitSystem) -> Option<Picture> {
        let rack = self.week.rack?;
        let drawn = |all: u64| usize::try_from(all).ok().filter(|all| *all <= MOST_PLACES);
        let spot = |what: String| Spot { what, ..Spot::default() };
        let mut places = vec![spot("taken".to_owned()); drawn(rack.occupied)?];
        let mut pots: BTreeMap<&Handle<Tray>, u64> = BTreeMap::new();
        for trays in filled.values().flatten() {
            let what = match &trays.sowings[..] {
                [] => tray_name(&trays.tray, units),
                sowings => and(sowings.iter().map(|sowing| self.week.sowings[*sowing as usize].name())),
            };
            // Pots of one kind stand together.
            let before = pots.entry(&trays.tray).or_default();
            let taken = |count: u64| trays.tray.places(count).unwrap_or(0);
            let more = taken(*before + trays.count) - taken(*before);
            *before += trays.count;
            places.extend(iter::repeat_n(spot(what), drawn(more)?));
        }
        let all = drawn(rack.places).filter(|all| places.len() <= *all)?;
        let says = format!("The rack: {} of its {all} places are taken then", places.len());
        places.resize(all, Spot::default());
        let title = format!("{says}, a shelf in each row.");
        let rack = Rack { title, across: usize::try_from(rack.across).ok()?, places, frame: Vec::new() };
        Some(Picture { says, of: Drawn::Racks(vec![rack]) })
    }

    /// A shared tray to be drawn.
    fn map(&self, map: &TrayMap, units: UnitSystem) -> Map {
        let crop = |portion: &TrayPortion| self.week.sowings[portion.sowing as usize].name();
        Map {
            title: format!("{} number {}", tray_name(&map.tray, units), map.number),
            grid: (map.tray.rows, map.tray.row_cells()),
            crops: map.sown().map(|portion| (crop(&portion), portion.from, portion.to)).collect(),
        }
    }

    /// `Shared*: 72-cell, 2 of 7, rows across: 1-8 Swiss chard, 9-12 candytuft.`
    fn map_words(&self, map: &TrayMap, units: UnitSystem) -> String {
        let crop = |portion: TrayPortion| {
            rows_of((portion.from, portion.to), &self.week.sowings[portion.sowing as usize].name())
        };
        let last = map.portions.last().map_or(0, |portion| portion.to);
        let empty = (map.empty > 0).then(|| rows_of((last + 1 - map.empty, last), "empty"));
        let rows = map.sown().map(crop).chain(empty).collect::<Vec<_>>().join(", ");
        let all = self.plan.mixes.layout.trays.iter().find(|(tray, _)| *tray == map.tray);
        let all = all.map_or(map.number, |(_, count)| *count);
        format!("Shared*: {}, {} of {all}, rows across: {rows}.", tray_name(&map.tray, units), map.number)
    }

    /// Water, labels and cover; who wants it dark.
    fn after_sowing(&self) -> String {
        let dark = self.sowings().filter_map(|(sowing, _)| sowing.crop.as_ref());
        let dark: BTreeSet<&Handle<Crop>> = dark.filter(|crop| crop.light == Some(Light::Dark)).collect();
        let dark = match dark.len() {
            0 => String::new(),
            1..=12 => format!(" Keep {} dark till it is up.", and(dark)),
            _ => " Keep dark, till it is up, what the table says.".to_owned(),
        };
        let sown = if self.sowings().all(|(_, plan)| plan.cells.seeds.is_some()) { "" } else { " what is sown" };
        format!(
            "Then label, water by a fine rose or from below, and cover{sown} with a dome or glass; a mat where the mix would be \
             colder than the table says{}.{dark}",
            self.on_mats()
        )
    }

    /// What wants a mat most, where the rack has such places.
    fn on_mats(&self) -> String {
        let on_rack = self.plan.rack.as_ref().filter(|on_rack| !on_rack.warm.is_empty());
        let Some(&OnRack { mats: Some(mats), for_mats, ref warm, .. }) = on_rack else { return String::new() };
        let crops = if warm.len() <= 12 { and(warm) } else { "what germinates warmest".to_owned() };
        let mats_short = for_mats > mats;
        let [trays, mats] =
            [(for_mats, "tray", "trays"), (mats, "place", "places")].map(|(all, one, many)| count(all, one, many));
        let order =
            if mats_short && warm.len() > 1 { "what germinates warmest first, so in this order" } else { "first" };
        format!(", {order} for {crops}: {trays}; the rack has {mats} with heat")
    }

    fn each_sowing(&self, units: UnitSystem) -> Table {
        let maps = &self.plan.mixes.layout.maps;
        let shared: HashSet<u32> = maps.iter().flat_map(|map| &map.portions).map(|portion| portion.sowing).collect();
        let row = |(index, (sowing, plan)): (u32, (&Sowing, &SowingPlan))| {
            let mark = if shared.contains(&index) { "*" } else { "" };
            let trays = format!("{} x {}{mark}", plan.trays, tray_name(&sowing.tray, units));
            let seeds = plan.cells.seeds.map_or(0, NonZeroU32::get);
            let each = if sowing.seeds > 1 && seeds > 0 { format!(" x {}", sowing.seeds) } else { String::new() };
            let cells = format!("{}{each}", plan.cells.cells);
            row((sowing, sowing.full_name(), trays), (cells, seeds.into()), plan.seed_grams(sowing), units)
        };
        Table::of(columns(units), (0..).zip(self.sowings()).map(row))
    }

    /// The sowings of one crop in one kind of tray together.
    fn sowings_by_crop(&self, units: UnitSystem) -> Table {
        let rows = self.plan.mixes.by_crop(self.week).into_iter().map(|CropSum { first, cells, seeds, .. }| {
            let crop = first.crop.as_ref().map(|crop| crop.in_full()).unwrap_or_default();
            row((first, crop, tray_name(&first.tray, units)), (cells.to_string(), seeds), None, units)
        });
        Table::of(columns(units), rows)
    }

    /// `3 x 50-cell kale; 1 x 72-cell Swiss chard and candytuft`: what a batch fills.
    pub(super) fn fills(&self, filled: &[FilledTrays], batch: usize, units: UnitSystem) -> String {
        let half = self.plan.mixes.batches[batch].half;
        let own = filled.iter().flat_map(|FilledTrays { tray, count, sowings }| {
            let names = and(sowings.iter().map(|sowing| self.week.sowings[*sowing as usize].name()));
            let trays = |count| format!("{count} x {} {names}", tray_name(tray, units)).trim_end().to_owned();
            match (half, &sowings[..]) {
                (None, _) => vec![trays(*count)],
                (Some(_), []) => vec![format!("about half of {}", trays(*count))],
                (Some(half), [sowing]) => {
                    let Some(halves) = self.plan.mixes.trial.halves(*sowing) else { return Vec::new() };
                    let HalfOf { whole, rows, .. } = &halves[half as usize];
                    let mut by_tray: BTreeMap<u64, Vec<_>> = BTreeMap::new();
                    rows.iter().filter(|rows| !rows.is_shared).for_each(|rows| {
                        by_tray.entry(rows.tray).or_default().push(rows.rows);
                    });
                    let rows = by_tray.into_iter().filter_map(|(number, rows)| Some((number, rows_in_words(rows)?)));
                    let rows: Vec<_> = rows.collect();
                    // Trays of which it gets the same rows are named together.
                    let rows = rows.chunk_by(|(_, one), (_, other)| one == other).map(|alike| {
                        let numbers = range([0, alike.len() - 1].map(|end| alike[end].0.to_string()));
                        let trays = if alike.len() > 1 { "trays" } else { "tray" };
                        format!("{} of {trays} {numbers}, {} {names}", alike[0].1, tray_name(tray, units))
                    });
                    Some(*whole).filter(|whole| *whole > 0).map(trays).into_iter().chain(rows).collect()
                }
                // Row by row, below.
                _ => Vec::new(),
            }
        });
        let lists_shared = filled.iter().any(|trays| trays.sowings.len() > 1);
        let shared = half.filter(|_| lists_shared).into_iter().flat_map(|half| self.shared_rows(batch, half, units));
        own.chain(shared).collect::<Vec<_>>().join("; ")
    }

    /// `rows 1-4 and 9 of shared 72-cell 1`: the rows of shared trays that get one half of a trial.
    fn shared_rows(&self, batch: usize, half: Half, units: UnitSystem) -> impl Iterator<Item = String> {
        let mixes = &self.plan.mixes;
        mixes.layout.maps.iter().filter_map(move |map| {
            let sowings = map.portions.iter().map(|portion| portion.sowing);
            let halves = sowings.filter(|sowing| half.batch(mixes.layout.sowings[*sowing as usize].batch) == batch);
            let rows =
                halves.filter_map(|sowing| mixes.trial.halves(sowing)).flat_map(|halves| &halves[half as usize].rows);
            let rows = rows.filter(|rows| rows.is_shared && rows.tray == map.number).map(|rows| rows.rows);
            Some(format!("{} of shared {} {}", rows_in_words(rows)?, tray_name(&map.tray, units), map.number))
        })
    }
}

/// `rows 1-4 and 9`; `None` where there are none.
fn rows_in_words(rows: impl IntoIterator<Item = (u32, u32)>) -> Option<String> {
    let mut rows: Vec<_> = rows.into_iter().collect();
    rows.sort_unstable();
    let runs = rows.chunk_by(|one, next| one.1 + 1 == next.0).map(|run| (run[0].0, run[run.len() - 1].1));
    let runs: Vec<(u32, u32)> = runs.collect();
    let one = matches!(runs[..], [(from, to)] if from == to);
    let words = and(runs.iter().map(|(from, to)| range([from, to].map(u32::to_string))));
    (!runs.is_empty()).then(|| format!("{} {words}", if one { "row" } else { "rows" }))
}

/// `42 pots in 3 carrying trays`.
pub(super) fn carried(on_rack: &OnRack) -> String {
    let trays = count(on_rack.carrying_trays, "carrying tray", "carrying trays");
    format!("{} in {trays}", count(on_rack.pots, "pot", "pots"))
}

/// A row of a sowing, or of several that are alike.
fn row(
    (sowing, name, trays): (&Sowing, String, String),
    (cells, seeds): (String, u64),
    grams: Option<f64>,
    units: UnitSystem,
) -> [String; 9] {
    let crop = sowing.crop.as_ref().filter(|_| seeds > 0);
    let depth = crop.and_then(|crop| depth_of(crop)).map(|depth| fact(Deep(depth), units));
    let open = crop.filter(|crop| crop.light == Some(Light::Light)).map(|_| "open".to_owned());
    let warm = crop.and_then(|crop| crop.germinates_at);
    let warm = warm.map(|Warmth((low, high))| range([low, high].map(|celsius| CELSIUS.figure(celsius, 0, units))));
    let days = crop.and_then(|crop| crop.emerges_in_a_house());
    [
        name,
        trays,
        cells,
        if seeds > 0 { seeds.to_string() } else { String::new() },
        grams.map(|grams| seed_weight(grams, units)).unwrap_or_default(),
        open.or(depth).unwrap_or_default(),
        crop.and_then(|crop| crop.light).map(light_words).unwrap_or_default().to_owned(),
        warm.unwrap_or_default(),
        days.map(|(first, last)| range([first.to_string(), last.to_string()])).unwrap_or_default(),
    ]
}

/// `1-8 Swiss chard`.
fn rows_of((from, to): (u32, u32), crop: &str) -> String {
    format!("{} {crop}", range([from, to].map(|row| row.to_string())))
}

/// `16-29`; once where both are the same.
fn range([low, high]: [String; 2]) -> String {
    if low == high { low } else { format!("{low}-{high}") }
}
