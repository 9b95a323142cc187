//! How mixes behave in trays, on a sheet.

use super::document::{Block, Document, Table};
use super::picture::{Drawn, Picture, Share};
use super::remark::{on, remark, texts};
use super::words::{and, basis_words, keys, parts_words, short_date, tray_name, whole_percent};
use super::{Format, Remark, Report, Style, csv};
use crate::behaviour::{
    Behaviour, ENOUGH_AIR, InTray, LOW_MS_CM, MOST_RICH, NoCell, NoSalinity, Remedy, VERY_RICH, Verdict, WANTED_PH,
    lacking, standings,
};
use crate::catalogue::{Crop, Handle, Role, Spread, Tray};
use crate::exact::whole;
use crate::plan::Shelf;
use crate::recipe::{Composition, Recipe};
use crate::units::customary::{DOSE, GRAM_PER_LITRE, KILOGRAM, MILLIMETRE};
use crate::units::{Unit, UnitSystem, plain, quarters};
use jiff::civil::Date;
use serde_json::{Map, Value, json};

/// Mixes of recipes in trays, side by side.
pub struct BehaviourReport<'b> {
    /// The mixes.
    pub mixes: Vec<MixInTrays<'b>>,
    /// The crop that they are made for; without one no change of a recipe holds.
    pub crop: Option<&'b Handle<Crop>>,
}

/// A mix, in each tray.
pub struct MixInTrays<'b> {
    /// The recipe's name, or the batch's.
    pub name: &'b str,
    /// Whether the recipe says what is kept on mixing.
    pub yield_is_said: bool,
    /// The pH that the recipe wants.
    pub wanted_ph: Option<f64>,
    /// Whether it is for crops alone that want it acid.
    pub for_acid: bool,
    /// What it is of.
    pub mix: &'b Composition,
    /// How it behaves.
    pub behaviour: Behaviour<'b>,
    /// How it does in each tray, or why that is not known.
    pub trays: InTrays<'b>,
    /// What brings air enough in each of these trays, where that was asked.
    pub remedies: Vec<Vec<Remedy<'b>>>,
}

/// A mix in each of some trays, or why that is not known.
pub type InTrays<'b> = Vec<(&'b Handle<Tray>, Result<InTray, NoCell>)>;

/// How long the bar of a cell is, in characters.
const BAR: u32 = 40;
/// No more remedies than this are told.
const REMEDIES: usize = 3;
/// The columns of the table: of a range its ends and the middle.
const COLUMNS: &str = "recipe tray height_mm water_low water water_high air_low air air_high verdict why tray_kg_low tray_kg \
                       tray_kg_high dry_density_g_l porosity ph_low ph_high ec_ms_cm_low ec_ms_cm_high yield \
                       expected_yield_low expected_yield_high";
/// What holds for every mix.
pub(super) const ALWAYS: [&str; 3] = [
    "Physics, mostly of remembered figures: try one tray first.",
    "Air under 5 % of the cell is little for seed, over 20 % dries fast (from memory; there is no standard).",
    "A bucket test tells what is kept: measure the parts, mix them moist, measure again; `trayful yield` enters it.",
];

/// What usually is, with its range where there is one: `71 (62-78)`.
pub(super) fn ranged(values: &[f64], shown: impl Fn(f64) -> String) -> String {
    let texts: Vec<String> = values.iter().map(|value| shown(*value)).collect();
    match &texts[..] {
        [least, usual, most] if least != most => format!("{usual} ({least}-{most})"),
        [least, most] if least != most => format!("{least}-{most}"),
        texts => texts.last().cloned().unwrap_or_default(),
    }
}

pub(super) fn percents(shares: &[f64]) -> String {
    ranged(shares, |share| plain(share * 100.0, 0))
}

/// The air in a cell in per cent: what usually is, with its range.
pub(super) fn air_percents(air: &Spread) -> String {
    ranged(air, |share| if share == air[1] { air_percent(share) } else { plain(share * 100.0, 0) })
}

/// Air in per cent: whole, unless that would mean something else for seed.
pub(super) fn air_percent(air: f64) -> String {
    let is_of = |text: &String| text.parse().is_ok_and(|shown: f64| Verdict::of(shown / 100.0) == Verdict::of(air));
    let mut finer = (0..=3).map(|decimals| plain(air * 100.0, decimals));
    finer.find(is_of).unwrap_or_else(|| plain(air * 100.0, 0))
}

pub(super) fn in_unit(values: &[f64], decimals: usize, unit: Unit, units: UnitSystem) -> String {
    format!("{} {}", ranged(values, |value| unit.figure(value, decimals, units)), unit.name_in(units))
}

/// Lime for a pH, in grams for a litre of raw peat.
pub(super) fn lime_words(lime: &Spread, units: UnitSystem) -> String {
    match lime {
        [_, 0.0, 0.0] => "no lime, since it stands above that without any".to_owned(),
        [_, 0.0, most] => format!("mostly none (at most {} of raw peat)", DOSE.shown(*most, 1, units)),
        lime => format!("{} of raw peat", in_unit(lime, 1, DOSE, units)),
    }
}

/// A shelf that may carry less than it would, on some day, or of which that is not known.
pub(super) fn heavy_shelf(shelf: &Shelf, on: Option<Date>, units: UnitSystem) -> Option<Remark> {
    let bears = match shelf.holds {
        0 => "to be safe put none of them on it".to_owned(),
        most => format!("to be safe put at most {most} of them on one"),
    };
    let load = in_unit(&[shelf.load_kg], 1, KILOGRAM, units);
    let heavy = shelf.kg.filter(|_| shelf.is_heavy()).map(|kg| {
        let kg = in_unit(&kg, 0, KILOGRAM, units);
        let a = on.map_or_else(|| "A".to_owned(), |on| format!("On {} a", short_date(on)));
        let known = if shelf.unknown.is_empty() { "" } else { " of known weight" };
        format!("{a} shelf full of the heaviest trays{known}, watered, carries {kg} (computed), and may carry {load}: {bears}.")
    });
    let unknown = (!shelf.unknown.is_empty()).then(|| {
        let trays = and(shelf.unknown.iter().map(|tray| tray_name(tray, units)));
        format!("A shelf may carry {load}, and what a watered tray of {trays} weighs is not known: weigh one.")
    });
    let told: Vec<String> = heavy.into_iter().chain(unknown).collect();
    (!told.is_empty()).then(|| Remark::new("heavy-shelf", told.join(" ")))
}

/// Solid, water and air of a cell: together the whole.
fn shares(InTray { drained, .. }: &InTray) -> [(&'static str, f64); 3] {
    let (water, air) = (drained.water[1], drained.air[1]);
    [("solid", 1.0 - water - air), ("water", water), ("air", air)]
}

fn bar(cell: &InTray) -> String {
    let [(_, solid), (_, water), _] = shares(cell);
    let sign = |at: u32| match (f64::from(at) + 0.5) / f64::from(BAR) {
        share if share < solid => '#',
        share if share < solid + water => '~',
        _ => '.',
    };
    (0..BAR).map(sign).collect()
}

impl<'b> MixInTrays<'b> {
    /// The mix of a recipe.
    pub fn of_recipe(recipe: &'b Recipe, mix: &'b Composition, behaviour: Behaviour<'b>, trays: InTrays<'b>) -> Self {
        let (yield_is_said, wanted_ph) = (recipe.yield_.is_some(), recipe.ph);
        let (name, for_acid, remedies) = (&recipe.name, false, Vec::new());
        MixInTrays { name, yield_is_said, wanted_ph, for_acid, mix, behaviour, trays, remedies }
    }
}

impl MixInTrays<'_> {
    /// What it is of, in words.
    pub(super) fn words(&self, units: UnitSystem) -> String {
        let parts = self.mix.parts.iter().map(|(id, parts)| format!("{} {}", parts_words(*parts), id.name));
        let doses = self.mix.doses.iter().map(|dose| {
            let of = basis_words(&dose.basis).unwrap_or_default();
            format!("{} at {}{of}", dose.ingredient.name, dose.rate.shown(units))
        });
        and(parts.chain(doses))
    }

    /// What is known of the mix in any cell: the figure in words, and where it is from.
    fn figures(&self, units: UnitSystem) -> Vec<[String; 3]> {
        let of = &self.behaviour;
        let computed = |what: &str, figure: Result<String, String>, from: &str| match figure {
            Ok(figure) => [what.to_owned(), figure, format!("computed; {from}")],
            Err(why) => [what.to_owned(), why, String::new()],
        };
        let from = |figure: &str| {
            let each = standings(self.mix, figure).into_iter().map(|(standing, of)| format!("{standing}: {}", and(of)));
            each.collect::<Vec<_>>().join("; ")
        };
        let dry = of.dry_g_per_l.as_ref().map(|dry| in_unit(dry, 0, GRAM_PER_LITRE, units));
        let pores = of.pores.as_ref().map(|pores| format!("{} %", percents(&pores.porosity)));
        let ph = of.ph.map(|ph| {
            let [shown, wanted] = [ph, WANTED_PH].map(|ph| ranged(&ph, |ph| plain(ph, 1)));
            if self.for_acid { shown } else { format!("{shown}; for seed {wanted}") }
        });
        let [one_in_two, saturated, _] = LOW_MS_CM.map(|most| plain(most, 1));
        let low = format!("seed wants at most {one_in_two} (1:2) or {saturated} (saturated)");
        let ec = of
            .ec_ms_cm
            .as_ref()
            .map(|ec| format!("{} mS/cm (of an extract that is not said); {low}", ranged(ec, |ec| plain(ec, 1))));
        let [kept, expected] = [&[of.kept][..], &of.expected].map(percents);
        let said = if self.yield_is_said { "the recipe's" } else { "not stated: volumes count on 88 %" };
        let kept = format!("{kept} %, {said}; {expected} % by the sizes of its parts");
        let limed = self.wanted_ph.map(|wanted| {
            let grams = of.lime_for(wanted).map(|grams| match of.is_at_ph(wanted) {
                true if of.lime_g_per_l == Some(0.0) => "none".to_owned(),
                true => "what it doses".to_owned(),
                false => lime_words(&grams, units),
            });
            let what = format!("lime for pH {}", plain(wanted, 1));
            computed(&what, grams.map_err(|why| format!("not known: {why}")), "the same fit, no further than the trial")
        });
        let figures = [
            computed("dry density", dry.map_err(ToString::to_string), &from("dry_density")),
            computed("pores", pores.map_err(ToString::to_string), &from("porosity")),
            computed("pH", ph.map_err(|why| format!("not known: {why}")), "a fit to a trial that was read"),
            computed("salts", ec.map_err(ToString::to_string), &from("ec")),
            computed("mix kept", Ok(kept), "models of packing, from memory"),
        ];
        figures.into_iter().chain(limed).collect()
    }

    /// What to state of ingredients of which something is not known.
    fn to_state(&self, why: &NoCell) -> String {
        let NoCell::NotKnown(of) = why else { return String::new() };
        let parts = self.mix.parts.iter().filter(|(id, _)| of.0.contains(&id.name));
        let lacks = and(parts.map(|(id, _)| format!("{} of {}", keys(&lacking(id)), id.name)));
        format!("; state {lacks} under `ingredients:`")
    }

    fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let (name, of, enough) = (self.name, &self.behaviour, whole_percent(ENOUGH_AIR));
        let is_mended_by_height = of.drains_when_tall();
        let cells = self.trays.iter().enumerate().filter_map(|(at, (tray, cell))| {
            let tray = tray_name(tray, units);
            let remedies = match cell {
                Err(why) => return Some(remark!("cell-not-known", "{name} in {tray}: {why}{}.", self.to_state(why))),
                Ok(cell) if cell.drained.verdict.is_short_of_air() => {
                    self.remedies.get(at).into_iter().flatten().take(REMEDIES)
                }
                Ok(_) => return None,
            };
            let more = remedies.map(|Remedy { ingredient, parts, .. }| {
                format!("{} of {}", quarters(whole(parts * 4.0)), ingredient.name)
            });
            let help = match more.collect::<Vec<_>>().join(", or ") {
                none if none.is_empty() && !is_mended_by_height => {
                    "Neither more of a coarse ingredient nor a taller cell mends that: too little is kept of its parts \
                     (`yield:`), or they are too fine."
                        .to_owned()
                }
                none if none.is_empty() && self.remedies.is_empty() => "Take a taller cell.".to_owned(),
                none if none.is_empty() => "No more of a coarse ingredient mends that; take a taller cell.".to_owned(),
                more => {
                    let taller = if is_mended_by_height { " Or take a taller cell." } else { "" };
                    format!("Added to its parts, one of these brings {enough}: {more}.{taller}")
                }
            };
            Some(remark!("too-little-air", "{name} in {tray} keeps too little air. {help}"))
        });
        let is_likely = (of.expected[0]..=of.expected[1]).contains(&of.kept);
        let is_of_coir = matches!(of.ec_ms_cm, Err(NoSalinity::NotKnown(_))) && self.mix.is_of(Role::Coir);
        let more = [
            (of.salty().is_some(), "salty", "its salts are more than seedlings want by any extract."),
            (!is_likely, "yield-unlikely", "what is kept is not what the sizes of the parts let expect: measure it."),
            (is_of_coir, "coir-salts", "coir is as salty as its washing left it: `soak:` in a `--place` tells that."),
        ];
        let more = more.into_iter().filter(|(holds, ..)| *holds);
        let rich = (of.rich() > MOST_RICH + 1e-9).then(|| {
            let most = whole_percent(MOST_RICH);
            let untested =
                if of.rich() > VERY_RICH + 1e-9 { ", and over a third: do not sow into it untested" } else { "" };
            remark!(
                "rich",
                "{name}: castings and compost are over {most} of its loose volume, which can harm seed{untested}."
            )
        });
        cells.chain(more.map(|(_, code, text)| remark!(code, "{name}: {text}"))).chain(rich).collect()
    }

    /// The object `behaviour` of scripts.
    pub(super) fn behaviour_value(&self) -> Value {
        const OF_CELL: [&str; 5] = ["height_mm", "water", "air", "verdict", "tray_kg"];
        let of = &self.behaviour;
        let cells = self.trays.iter().enumerate().map(|(at, (tray, cell))| {
            let (known, why) = (json!(cell.as_ref().ok()), cell.as_ref().err().map(ToString::to_string));
            let mut all = json!({"tray": tray.name, "standing": tray.standing, "why": why});
            // Of a cell that is not known they are null.
            OF_CELL.into_iter().for_each(|key| all[key] = known[key].clone());
            if let Some(remedies) = self.remedies.get(at) {
                all["remedies"] = json!(remedies);
            }
            all
        });
        let pores = of.pores.as_ref().ok();
        json!({
            "dry_density_g_l": of.dry_g_per_l.as_ref().ok(),
            "porosity": pores.map(|pores| pores.porosity),
            "water_held": pores.map(|pores| pores.water_held),
            "cells": cells.collect::<Vec<_>>(),
            "ph": of.ph.ok(),
            "ph_why": of.ph.err().map(|why| why.to_string()),
            "lime_for_ph": self.wanted_ph.map(|ph| {
                let lime = of.lime_for(ph);
                json!({"ph": ph, "g_per_l_of_peat": lime.ok(), "why": lime.err().map(|why| why.to_string())})
            }),
            "ec_ms_cm": of.ec_ms_cm.as_ref().ok(),
            "ec_why": of.ec_ms_cm.as_ref().err().map(ToString::to_string),
            "yield": of.kept,
            "expected_yield": of.expected,
        })
    }

    fn value(&self) -> Value {
        let parts = self.mix.parts.iter().map(|(id, parts)| json!({"name": id, "parts": parts.to_string()}));
        let figure =
            |[what, text, from]: [String; 3]| json!({"code": what.replace(' ', "-"), "text": text, "from": from});
        json!({
            "recipe": self.name,
            "parts": parts.collect::<Vec<_>>(),
            "behaviour": self.behaviour_value(),
            "figures": self.figures(UnitSystem::Metric).into_iter().map(figure).collect::<Vec<_>>(),
            "notes": self.notes(UnitSystem::Metric),
        })
    }
}

/// The table of some mixes in cells: the tray, the mix by its name where there are several, and how it does there.
pub(super) fn cell_table<'c>(
    mix_column: &'static str,
    cells: impl Iterator<Item = (&'c Tray, String, &'c Result<InTray, NoCell>)>,
    units: UnitSystem,
) -> Table {
    let cells = cells.map(|(tray, mix, cell)| {
        let cell = cell.as_ref().ok();
        let of = |words: &dyn Fn(&InTray) -> String| cell.map_or_else(|| "not known".to_owned(), words);
        let kg = |kg: &[f64; 3]| in_unit(kg, if kg[1] < 1.0 { 2 } else { 1 }, KILOGRAM, units);
        [
            tray_name(tray, units),
            mix,
            of(&|cell| MILLIMETRE.shown(cell.drained.height_mm, 0, units)),
            of(&|cell| percents(&cell.drained.water)),
            of(&|cell| air_percents(&cell.drained.air)),
            of(&|cell| cell.drained.verdict.word().to_owned()),
            of(&|cell| cell.tray_kg.as_ref().map(kg).unwrap_or_default()),
        ]
    });
    let columns = ["tray", mix_column, ">tall", ">water %", ">air %", "air for seed", ">tray, watered"];
    Table::of(columns, cells).without_empty_columns()
}

/// The table of what is known of some mixes in any cell: those of which the same is known together, by their names in
/// `of`.
pub(super) fn mix_table<'m>(
    of: &'static str,
    mixes: impl Iterator<Item = (String, &'m MixInTrays<'m>)>,
    units: UnitSystem,
) -> Table {
    let figures: Vec<_> = mixes.map(|(name, mix)| (name, mix.figures(units))).collect();
    let mut rows: Vec<(&[String; 3], Vec<&str>)> = Vec::new();
    let most = figures.iter().map(|(_, figures)| figures.len()).max().unwrap_or(0);
    for at in 0..most {
        let first = rows.len();
        for (name, figure) in figures.iter().filter_map(|(name, figures)| Some((name, figures.get(at)?))) {
            match rows[first..].iter_mut().find(|(known, _)| *known == figure) {
                Some((_, names)) => names.push(name),
                None => rows.push((figure, vec![name])),
            }
        }
    }
    let rows =
        rows.into_iter().map(|([what, figure, from], names)| [what.clone(), and(names), figure.clone(), from.clone()]);
    Table::of(["what", of, "usually (from-to)", "from"], rows).without_empty_columns()
}

impl BehaviourReport<'_> {
    /// Each mix in each tray, tray by tray.
    fn cells(&self) -> impl Iterator<Item = (&MixInTrays<'_>, &Tray, &Result<InTray, NoCell>)> {
        let trays = self.mixes.first().map_or(0, |mix| mix.trays.len());
        (0..trays).flat_map(|at| self.mixes.iter().map(move |mix| (mix, &**mix.trays[at].0, &mix.trays[at].1)))
    }

    /// A mix by its name where there are several.
    fn named(&self, mix: &MixInTrays<'_>) -> String {
        if self.mixes.len() > 1 { mix.name.to_owned() } else { String::new() }
    }

    /// The bars of the cells that are known: drawn on a page, else of characters.
    fn bars(&self, style: Style) -> Option<Block> {
        let known = self
            .cells()
            .filter_map(|(mix, tray, cell)| Some((tray_name(tray, style.units), self.named(mix), cell.as_ref().ok()?)));
        if style.format == Format::Html {
            let share = |(name, size): (&str, f64)| Share { name: name.to_owned(), amount: whole_percent(size), size };
            let bars = known.map(|(tray, mix, cell)| (format!("{tray} {mix}"), shares(cell).map(share).to_vec()));
            let says = "solid, water and air of a cell".to_owned();
            return Some(Block::Picture(Picture { says, of: Drawn::Bars(bars.collect()) }));
        }
        let tick = if style.format == Format::Markdown { "`" } else { "" };
        let rows = known.map(|(tray, mix, cell)| [tray, mix, format!("{tick}{}{tick}", bar(cell))]);
        let table = Table::of(["tray", "mix", "solid #, water ~, air ."], rows).without_empty_columns();
        (!table.rows.is_empty()).then_some(Block::Table(table))
    }
}

impl Report for BehaviourReport<'_> {
    fn document(&self, style: Style) -> Document {
        let units = style.units;
        let mut document = Document::new(format!("{} in the cell", and(self.mixes.iter().map(|mix| mix.name))));
        self.mixes.iter().for_each(|mix| document.paragraph(format!("{}: {}.", mix.name, mix.words(units))));
        document.heading("Once it has drained");
        document.table(cell_table("mix", self.cells().map(|(mix, tray, cell)| (tray, self.named(mix), cell)), units));
        document.blocks.extend(self.bars(style));
        let about = self.mixes.first().into_iter().flat_map(|mix| &mix.trays).filter(|(tray, _)| tray.is_about());
        let about: Vec<String> = about.map(|(tray, _)| tray_name(tray, units)).collect();
        let about = on("trays-about", &about, |trays| format!("Makers differ in {trays}: measure the depth of yours."));
        let notes = self.mixes.iter().flat_map(|mix| mix.notes(units)).chain(about);
        document.list(texts(&notes.collect::<Vec<_>>()));
        document.heading("The mix");
        document.table(mix_table("mix", self.mixes.iter().map(|mix| (self.named(mix), mix)), units));
        let whose = self.crop.map_or_else(
            || "Of the recipe without its changes for some crops: `--crop` names one.".to_owned(),
            |crop| format!("As the recipe makes it for {}, in cells of any size.", crop.in_full()),
        );
        document.list([whose].into_iter().chain(ALWAYS.map(str::to_owned)).collect());
        document
    }

    fn value(&self) -> Value {
        json!({"format": "trayful-behaviour/1", "mixes": self.mixes.iter().map(MixInTrays::value).collect::<Vec<_>>()})
    }

    fn records(&self) -> Vec<Vec<String>> {
        let mut records = vec![csv::header(COLUMNS)];
        for mix in self.mixes.iter().map(MixInTrays::value) {
            let of = &mix["behaviour"];
            records.extend(of["cells"].as_array().into_iter().flatten().map(|cell| {
                let at = |name: &str| {
                    let (key, place) = match name.rsplit_once('_') {
                        Some((key, "low")) => (key, 0),
                        Some((key, "high")) => (key, usize::MAX),
                        _ => (name, 1),
                    };
                    let value = [cell, of, &mix].into_iter().find_map(|of| of.get(key)).cloned().unwrap_or_default();
                    let in_range = value.as_array().and_then(|range| range.get(place).or(range.last()).cloned());
                    (name.to_owned(), in_range.unwrap_or(value))
                };
                csv::record(COLUMNS, &COLUMNS.split(' ').map(at).collect::<Map<_, _>>().into())
            }));
        }
        records
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shown_air_means_what_the_air_means() {
        let shown = [0.026, 0.0299, 0.02999, 0.049, 0.05, 0.072, 0.15, 0.153, 0.2004, 0.31].map(air_percent);
        assert_eq!(shown, ["2.6", "2.99", "2.999", "4.9", "5", "7", "15", "15.3", "20.04", "31"]);
        assert_eq!(air_percents(&[0.014, 0.026, 0.049]), "2.6 (1-5)");
        let shown = |air: f64| Verdict::of(air_percent(air).parse::<f64>().unwrap() / 100.0);
        assert!((0..100_000).map(|share| f64::from(share) / 100_000.0).all(|air| shown(air) == Verdict::of(air)));
    }
}
