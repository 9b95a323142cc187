//! Labels to cut out, one for each crop and tray.

use super::words::{count, span, tray_name};
use super::{csv, html};
use crate::catalogue::Named as _;
use crate::moment::Moment;
use crate::plan::{Half, HalfOf, PairedTray, Plan, SowingPlan, TrayMap, TrayPortion};
use crate::printable::{isolated, printable};
use crate::units::UnitSystem;
use crate::week::{Sowing, Week, small};
use jiff::Span;
use jiff::civil::Date;
use maud::{Markup, html};
use std::collections::{BTreeMap, HashMap};
use std::io::{self, Write};

/// The most labels that are made at once: more than four hundred pages.
pub const MOST_LABELS: u64 = 10_000;

/// Labels of a page: three across and eight down, 63 x 30 mm each, within 190 x 250 mm.
const OF_A_PAGE: usize = 24;

/// The columns of the table.
const COLUMNS: &str = "crop variety tray number of shared_tray row_from row_to sown_on batch up_from \
                       up_to plants cells half arm pair";

/// The labels of a week.
#[derive(Clone, Debug)]
pub struct Labels {
    title: String,
    labels: Vec<Label>,
}

/// What stands on a label.
#[derive(Clone, Debug)]
pub struct Label {
    crop: String,
    variety: Option<String>,
    tray: String,
    /// Which of the trays of its sowing it is, and how many there are.
    number: (u64, u64),
    /// Pots in all and in a tray, where it is for pots.
    pots: Option<(u64, Option<u64>)>,
    /// Its number among the trays of its kind, where it is shared.
    shared: Option<u64>,
    /// The rows of it that this is for, where it is not all.
    rows: Option<(u32, u32)>,
    potted_on: bool,
    /// The number of its batch.
    batch: usize,
    /// Which half of a trial it is.
    half: Option<Half>,
    /// The arm of a trial in pairs that it is of, and the number of its pair.
    paired: Option<(&'static str, usize)>,
    day: Option<Date>,
    up: Option<(u32, u32)>,
    plants: Option<u32>,
    cells: u32,
}

impl Labels {
    /// The labels of a week's trays.
    ///
    /// # Errors
    /// How many there would be, where they are more than [`MOST_LABELS`].
    pub fn of(plan: &Plan, week: &Week, units: UnitSystem) -> Result<Self, u64> {
        let layout = &plan.mixes.layout;
        // Pots count by the trays that carry them, or together where these are not known.
        let trays = |(sowing, plan): (&Sowing, &SowingPlan)| {
            sowing.tray.places(plan.trays.into()).unwrap_or_else(|| plan.trays.min(1).into())
        };
        let all = layout.of(week).map(trays).fold(0_u64, u64::saturating_add);
        if all > MOST_LABELS {
            return Err(all);
        }
        let mut shared: HashMap<u32, Vec<(&TrayMap, TrayPortion)>> = HashMap::new();
        for (map, portion) in layout.maps.iter().flat_map(|map| map.sown().map(move |portion| (map, portion))) {
            shared.entry(portion.sowing).or_default().push((map, portion));
        }
        let mixes = &plan.mixes;
        let paired = |sowing, tray, rows| plan.pairs.as_ref()?.find(PairedTray { sowing, tray, rows });
        let day = plan.mix_on.as_ref().and_then(Moment::zoned).map(|at| at.date());
        let mut labels = Vec::new();
        for (index, of) in (0..).zip(layout.of(week)) {
            let all = trays(of);
            let shared = shared.remove(&index).unwrap_or_default();
            let own = all.saturating_sub(shared.len() as u64);
            let places = shared.into_iter().map(|(map, rows)| (Some(map.number), Some((rows.from, rows.to))));
            let places = std::iter::repeat_n((None, None), usize::try_from(own).unwrap_or_default()).chain(places);
            let Some(halves) = mixes.trial.halves(index) else {
                labels.extend((1..).zip(places).map(|(number, (shared, rows))| {
                    let batch = mixes.mixing.number(of.1.batch);
                    let paired = paired(index, number, rows);
                    Label { day, number: (number, all), shared, rows, batch, paired, ..Label::of(of, units) }
                }));
                continue;
            };
            // Pots by the trays that carry them, or together.
            let each = if of.0.tray.pot { of.0.tray.per_tray.unwrap_or(u64::MAX) } else { 1 };
            let parts = halves_of(halves, own, each);
            labels.extend(parts.into_iter().map(|Part { half, number, shared, rows }| {
                let batch = mixes.mixing.number(half.batch(of.1.batch));
                let cells = small(halves[half as usize].sown);
                Label {
                    day,
                    paired: paired(index, number, rows),
                    number: (number, all),
                    shared,
                    rows,
                    half: Some(half),
                    batch,
                    cells,
                    plants: None,
                    ..Label::of(of, units)
                }
            }));
        }
        Ok(Self { title: plan.title.clone(), labels })
    }

    /// Writes the page to print.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub fn write_page(&self, out: &mut dyn Write) -> io::Result<()> {
        let title = printable(&self.title);
        let content = html! {
            h1 { "Labels: " bdi { (title) } }
            p { (count(self.labels.len() as u64, "label", "labels")) ", 63 x 30 mm. Print at 100 %, and cut along the lines." }
            @for page in self.labels.chunks(OF_A_PAGE) { ul { @for label in page { (label.drawn()) } } }
        };
        out.write_all(html::page(&title, include_str!("labels.css"), &content).as_bytes())
    }

    /// Writes the table for a label printer.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub fn write_csv(&self, out: &mut dyn Write) -> io::Result<()> {
        csv::write(std::iter::once(csv::header(COLUMNS)).chain(self.labels.iter().map(Label::record)), out)
    }
}

/// A label of one half of a trial.
struct Part {
    half: Half,
    number: u64,
    shared: Option<u64>,
    rows: Option<(u32, u32)>,
}

/// The labels of both halves of a sowing that has so many `own` trays, whole ones `each` to a label: by their number,
/// then by their rows.
fn halves_of(halves: &[HalfOf; 2], own: u64, each: u64) -> Vec<Part> {
    let mut shared_number = BTreeMap::new();
    let shared = halves.iter().flat_map(|of| &of.rows).filter(|rows| rows.is_shared);
    shared.for_each(|rows| {
        shared_number.entry(rows.tray).or_insert(0);
    });
    (own + 1..).zip(shared_number.values_mut()).for_each(|(number, of)| *of = number);
    let mut parts = Vec::new();
    let mut first = 0;
    for (half, of) in Half::BOTH.into_iter().zip(halves) {
        let last = if of.whole > 0 { (first + of.whole).div_ceil(each) } else { 0 };
        parts.extend((first / each..last).map(|number| Part { half, number: number + 1, shared: None, rows: None }));
        first += of.whole;
        let rows = of.rows.iter().filter(|rows| rows.is_sown);
        parts.extend(rows.map(|rows| Part {
            half,
            number: if rows.is_shared { shared_number[&rows.tray] } else { rows.tray },
            shared: rows.is_shared.then_some(rows.tray),
            rows: Some(rows.rows),
        }));
    }
    parts.sort_by_key(|part| (part.number, part.rows));
    parts
}

impl Label {
    /// What all labels of a sowing have in common; the rest is left open.
    fn of((sowing, plan): (&Sowing, &SowingPlan), units: UnitSystem) -> Self {
        let potted_on = plan.cells.seeds.is_none();
        let up = sowing.crop.as_ref().filter(|_| !potted_on).and_then(|crop| crop.emerges_in_a_house());
        Self {
            crop: sowing.crop.as_ref().map(|crop| crop.shown().to_owned()).unwrap_or_default(),
            variety: sowing.variety.as_deref().cloned(),
            tray: tray_name(&sowing.tray, units),
            number: (1, 1),
            pots: sowing.tray.pot.then_some((plan.trays.into(), sowing.tray.per_tray)),
            shared: None,
            rows: None,
            potted_on,
            batch: 0,
            half: None,
            paired: None,
            day: None,
            up,
            plants: plan.cells.plants.map(std::num::NonZeroU32::get),
            cells: plan.cells.cells,
        }
    }

    fn drawn(&self) -> Markup {
        let shown = |text: String| html::apart(&isolated(text));
        html! {
            li {
                div.crop.one[self.variety.is_some()] { bdi { (printable(&self.crop)) } }
                @if let Some(variety) = &self.variety { div.variety { bdi { (printable(variety)) } } }
                div { (shown(self.place())) }
                @if self.half.is_some() || self.rows.is_some() || self.paired.is_some() { div { (self.part()) } }
                div { (self.sown()) }
                div { (self.wanted()) }
            }
        }
    }

    /// Which tray.
    fn place(&self) -> String {
        let (tray, (number, all)) = (&self.tray, self.number);
        match self.pots {
            // Its number is that of the shared tray.
            None if self.shared.is_some() && all == 1 => tray.clone(),
            None => format!("{tray}, tray {number} of {all}"),
            Some((_, Some(each))) => format!("{tray}, tray {number} of {all}, up to {each} pots"),
            Some((pots, None)) => format!("{tray}, {}", count(pots, "pot", "pots")),
        }
    }

    /// Which pair, which half of a trial, and which rows.
    fn part(&self) -> String {
        let paired = self.paired.map(|(arm, pair)| format!("pair {pair}: {arm}"));
        let half = self.half.map(|half| half.word().to_owned());
        let rows =
            self.rows.map(|(from, to)| if from == to { format!("row {from}") } else { format!("rows {from}-{to}") });
        let of = self.shared.map(|tray| format!(" of shared tray {tray}")).unwrap_or_default();
        paired.into_iter().chain(half).chain(rows.map(|rows| rows + &of)).collect::<Vec<_>>().join(", ")
    }

    /// When it was sown, or room to write it, and when to look for it.
    fn sown(&self) -> String {
        let what = if self.potted_on { "potted on" } else { "sown" };
        let day = self.day.map_or_else(|| "................".to_owned(), |day| day.strftime("%-d %b %Y").to_string());
        let up = match (self.up_on(), self.up) {
            (Some((from, to)), _) if from == to => format!(", up {}", from.strftime("%-d %b")),
            (Some((from, to)), _) => {
                let month = if from.month() == to.month() { "%-d" } else { "%-d %b" };
                format!(", up {}-{}", from.strftime(month), to.strftime("%-d %b"))
            }
            (None, Some(days)) => format!(", up in {}", span(days, "day", "days")),
            (None, None) => String::new(),
        };
        format!("{what} {day}{up}")
    }

    /// Its batch and what is wanted of it, of all its trays.
    fn wanted(&self) -> String {
        let wanted = match self.plants {
            Some(plants) => count(plants.into(), "plant wanted", "plants wanted"),
            None => count(self.cells.into(), "cell", "cells"),
        };
        let in_all = if self.number.1 > 1 { " in all" } else { "" };
        format!("batch {}, {wanted}{in_all}", self.batch)
    }

    /// The days on which the first seedlings are up.
    fn up_on(&self) -> Option<(Date, Date)> {
        let (day, (from, to)) = (self.day?, self.up?);
        let after = |days: u32| -> Option<Date> { day.checked_add(Span::new().days(days)).ok() };
        Some((after(from)?, after(to)?))
    }

    fn record(&self) -> Vec<String> {
        let text = |value: Option<String>| value.unwrap_or_default();
        let row = |of: fn((u32, u32)) -> u32| text(self.rows.map(|rows| of(rows).to_string()));
        let up = self.up_on();
        vec![
            self.crop.clone(),
            text(self.variety.clone()),
            self.tray.clone(),
            self.number.0.to_string(),
            self.number.1.to_string(),
            text(self.shared.map(|number| number.to_string())),
            row(|(from, _)| from),
            row(|(_, to)| to),
            text(self.day.map(|day| day.to_string())),
            self.batch.to_string(),
            text(up.map(|(from, _)| from.to_string())),
            text(up.map(|(_, to)| to.to_string())),
            text(self.plants.map(|plants| plants.to_string())),
            self.cells.to_string(),
            text(self.half.map(|half| half.word().to_owned())),
            text(self.paired.map(|(arm, _)| arm.to_owned())),
            text(self.paired.map(|(_, pair)| pair.to_string())),
        ]
    }
}
