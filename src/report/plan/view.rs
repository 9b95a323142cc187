//! The plan for scripts and for a spreadsheet: names and numbers at full precision.

use super::PlanReport;
use super::calendar::entry_json;
use super::remarks::omission;
use super::sowing::Facts;
use super::trial::pairs_json;
use crate::catalogue::{Crop, Handle, Ingredient, Tray, names};
use crate::moment::{Moment, rfc3339};
use crate::plan::{
    Base, Batch, BatchBehaviour, BatchMixing, Buy, CropSum, Draw, Half, Loads, Moistening, Omission, PurchaseLine,
    SowingPlan, TrayMap, TrayPortion,
};
use crate::recipe::Why;
use crate::report::remark::Remark;
use crate::report::soak::SoakReport;
use crate::report::words::and;
use crate::report::{Report, buying, csv};
use crate::stock::{Currency, money};
use crate::units::length::millimetre;
use crate::units::mass::kilogram;
use crate::units::{UnitSystem, Volume, to_litres};
use crate::week::Sowing;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use serde_json::{Value, json};
use std::collections::HashMap;
use std::num::NonZeroU32;

/// The columns of the spreadsheet.
const COLUMNS: &str = "what name batch tray count cells seeds parts litres grams millilitres package \
                       cost currency plants trays";

/// A list that is written one by one: of sowings there may be very many.
struct Each<I>(I);

impl<I: Iterator<Item: Serialize> + Clone> Serialize for Each<I> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.clone())
    }
}

/// A sowing for scripts. Of sowings and shared trays there may be so many that it is worth
/// to serialise them straight, not by way of a value of JSON.
#[derive(Serialize)]
struct SowingView<'p> {
    crop: Option<&'p Handle<Crop>>,
    /// What the user calls it, where that is another name.
    #[serde(skip_serializing_if = "Option::is_none")]
    called: Option<&'p str>,
    variety: Option<&'p str>,
    tray: &'p Handle<Tray>,
    batch: &'p str,
    plants: Option<NonZeroU32>,
    cells: u32,
    seeds_to_take: Option<NonZeroU32>,
    seed_g: Option<f64>,
    cells_filled: u32,
    cell_ml: f64,
    /// Of a trial, what either half has of it; its `batch` is then the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    halves: Option<[HalfView<'p>; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sowing: Option<Facts>,
}

#[derive(Serialize)]
struct HalfView<'p> {
    batch: &'p str,
    cells: u64,
    cells_filled: u64,
}

#[derive(Serialize)]
struct MapView<'p> {
    tray: &'p Handle<Tray>,
    number: u64,
    rows: Vec<PortionView<'p>>,
}

#[derive(Serialize)]
struct PortionView<'p> {
    crop: String,
    #[serde(flatten)]
    portion: &'p TrayPortion,
}

/// The plan for scripts.
impl Serialize for PlanReport<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let plan = self.plan;
        let mixes = &plan.mixes;
        let layout = &mixes.layout;
        let units = UnitSystem::Metric;
        let soak = plan.soak.as_ref().map(|soaking| SoakReport::of(soaking).value());
        let cautions: Vec<Remark> = self.warnings(units).into_iter().chain(self.cautions(units)).collect();
        let notes: Vec<Remark> = self.notes(units).into_iter().chain(buying::notes(&plan.purchases, units)).collect();
        let tray = |(tray, count): &(Handle<Tray>, u64)| json!({"tray": tray, "count": count});
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("format", "trayful-plan/1")?;
        map.serialize_entry("title", &plan.title)?;
        map.serialize_entry("mix_on", &plan.mix_on.as_ref().and_then(Moment::zoned).map(|at| rfc3339(&at)))?;
        map.serialize_entry(
            "sowings",
            &Each((0..).zip(self.sowings()).map(|(index, of)| self.sowing_view(index, of))),
        )?;
        map.serialize_entry("trays", &Each(layout.trays.iter().map(tray)))?;
        map.serialize_entry("shared_trays", &Each(layout.maps.iter().map(|map| self.map_view(map))))?;
        let fills = self.fills_json();
        let batches = fills.iter().zip(plan.behaviour(self.week)).enumerate();
        let batches: Value = batches.map(|(index, of)| self.batch_json(index, of)).collect();
        map.serialize_entry("batches", &batches)?;
        map.serialize_entry("covering", &mixes.covering)?;
        map.serialize_entry("totals", &self.totals_json())?;
        if let Some(pairs) = &plan.pairs {
            map.serialize_entry("trial", &pairs_json(pairs, pairs.batches.map(|batch| self.batch_name(batch))))?;
        }
        map.serialize_entry("rack", &plan.rack)?;
        map.serialize_entry("shelf_kg", &plan.shelf(self.week).and_then(|shelf| shelf.kg))?;
        map.serialize_entry("mixing", &self.mixing_json())?;
        map.serialize_entry("purchases", &buying::purchases_json(&plan.purchases))?;
        map.serialize_entry("soak", &soak)?;
        map.serialize_entry("calendar", &Each(plan.calendar.iter().map(entry_json)))?;
        map.serialize_entry("cautions", &cautions)?;
        map.serialize_entry("notes", &notes)?;
        map.end()
    }
}

impl PlanReport<'_> {
    fn sowing_view<'s>(&'s self, index: u32, (sowing, plan): (&'s Sowing, &SowingPlan)) -> SowingView<'s> {
        let half = |half: Half| {
            let of = &self.plan.mixes.trial.halves(index)?[half as usize];
            let batch = self.batch_name(half.batch(plan.batch));
            Some(HalfView { batch, cells: of.sown, cells_filled: of.filled })
        };
        SowingView {
            crop: sowing.crop.as_ref(),
            called: sowing.crop.as_ref().and_then(|crop| crop.called.as_deref()),
            variety: sowing.variety.as_deref().map(String::as_str),
            tray: &sowing.tray,
            batch: self.batch_name(plan.batch),
            plants: plan.cells.plants,
            cells: plan.cells.cells,
            seeds_to_take: plan.cells.seeds,
            seed_g: plan.seed_grams(sowing),
            cells_filled: plan.cells_filled,
            cell_ml: to_litres(sowing.cell()) * 1000.0,
            halves: half(Half::Buffered).zip(half(Half::Straight)).map(Into::into),
            sowing: Facts::of(sowing, plan),
        }
    }

    fn map_view<'s>(&self, map: &'s TrayMap) -> MapView<'s> {
        let crop = |portion: &TrayPortion| self.week.sowings[portion.sowing as usize].name();
        let rows = map.portions.iter().map(|portion| PortionView { crop: crop(portion), portion });
        MapView { tray: &map.tray, number: map.number, rows: rows.collect() }
    }

    /// What each batch fills: the cells of each crop in each kind of tray, sown or planted.
    fn fills_json(&self) -> Vec<Value> {
        let mixes = &self.plan.mixes;
        let mut fills = vec![Vec::new(); mixes.batches.len()];
        for CropSum { first, batch, cells, halves, .. } in mixes.by_crop(self.week) {
            let of =
                halves.map_or_else(|| vec![cells], Vec::from).into_iter().zip(batch..).filter(|(cells, _)| *cells > 0);
            of.for_each(|(cells, batch)| {
                fills[batch].push(json!({"tray": first.tray, "crop": first.crop, "cells": cells}));
            });
        }
        fills.into_iter().map(Value::from).collect()
    }

    fn batch_json(&self, index: usize, (fills, behaviour): (&Value, BatchBehaviour<'_>)) -> Value {
        let batch = &self.plan.mixes.batches[index];
        json!({
            "number": self.plan.mixes.mixing.number(index),
            "fills": fills,
            "name": batch.name,
            "half": batch.half.map(Half::word),
            "recipe": self.recipe_of(batch.recipe),
            "other_recipes": batch.others.iter().map(|recipe| self.recipe_of(*recipe)).collect::<Value>(),
            "crops": names(&batch.crops),
            "sieve_mm": batch.composition.sieve.map(|mesh| mesh.get::<millimetre>()),
            "top_l": batch.sieved_for_tops(),
            "cells_l": batch.volumes.cells,
            "settled_l": batch.volumes.settled,
            "mix_l": batch.volumes.mix,
            "from_stock_l": batch.volumes.from_stock,
            "loose_l": batch.volumes.loose,
            "yield": batch.volumes.yield_.to_f64(),
            "ingredients": batch.ingredients,
            "doses": batch.doses,
            "left_out": batch.left_out.iter().map(left_out_json).collect::<Value>(),
            "behaviour": self.behaviour_json(index, behaviour),
        })
    }

    /// How a batch behaves, with its water, the weight of a load and its food.
    fn behaviour_json(&self, index: usize, of: BatchBehaviour<'_>) -> Value {
        let BatchBehaviour { behaviour, cells, moisture, load_kg, feeding } = of;
        let mut value = self.mix_in_trays(index, behaviour, cells).behaviour_value();
        value["moisture"] = json!(moisture);
        value["load_kg"] = json!(load_kg);
        value["feeding"] = json!({
            "holds_food": !feeding.food.is_empty(),
            "why": if feeding.food.is_empty() { "nothing in it feeds".to_owned() } else { and(&feeding.food) + " in it" },
            "begin": {"at": feeding.begins.map(|day| day.to_string()), "stage": feeding.stage()},
            "ppm_n": feeding.nitrogen_ppm(),
        });
        value
    }

    fn totals_json(&self) -> Value {
        let totals = &self.plan.mixes.totals;
        // Each dose once, by weight and by measure.
        let (mut places, mut doses) = (HashMap::new(), Vec::new());
        for (id, amount) in totals.doses.as_slice() {
            let place = *places.entry(id).or_insert_with(|| {
                doses.push((id, None, None));
                doses.len() - 1
            });
            let (_, grams, millilitres) = &mut doses[place];
            *grams = grams.or(amount.grams());
            *millilitres = millilitres.or(amount.millilitres());
        }
        let doses = doses.iter().map(|(id, grams, ml)| json!({"name": id, "grams": grams, "ml": ml}));
        json!({
            "trays": totals.trays,
            "pots": totals.pots,
            "cells_l": totals.cells,
            "mix_l": totals.mix,
            "ingredients": loose_json(&totals.ingredients),
            "doses": doses.collect::<Value>(),
        })
    }

    fn mixing_json(&self) -> Value {
        let order = [self.order_in_a_load(UnitSystem::Metric), self.hand_test()].concat();
        let mixing = &self.plan.mixes.mixing;
        let made = mixing.batches.iter().zip(&self.plan.mixes.batches);
        json!({
            "tub_l": mixing.vessels.tub,
            "tub_filled_to_l": mixing.vessels.room(),
            "scoop_l": mixing.vessels.scoop,
            "tolerance": mixing.vessels.tolerance,
            "order": order,
            "work": self.order_of_work(UnitSystem::Metric),
            "shared_bases": mixing.bases.iter().map(|base| self.base_json(base)).collect::<Value>(),
            "batches": made.map(|(made, batch)| made_json(made, &batch.name)).collect::<Value>(),
            "measured": loose_json(&mixing.measured_loose()),
        })
    }

    fn base_json(&self, base: &Base) -> Value {
        let draw = |draw: &Draw| {
            json!({
                "batch": self.batch_name(draw.batch),
                "loose_l": draw.amount.loose,
                "mixed_l": draw.amount.mixed,
                "scoops": draw.amount.scoops(),
                "scoop_l": draw.amount.scoop,
                "share": draw.share,
            })
        };
        json!({
            "recipe": self.recipe_of(base.recipe),
            "ingredients": loose_json(&base.ingredients),
            "loose_l": base.loose,
            "loads": [loads_json(&base.loads)],
            "made_loose_l": base.made_loose,
            "made_l": base.made(),
            "draws": base.draws.iter().map(draw).collect::<Value>(),
        })
    }

    pub(super) fn batch_name(&self, index: usize) -> &str {
        &self.plan.mixes.batches[index].name
    }

    /// The rows of the spreadsheet, below its columns.
    pub(super) fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        let mixes = &self.plan.mixes;
        let header = csv::header(COLUMNS);
        let columns = header.len();
        let sowings = (0..).zip(self.sowings()).map(move |(index, of)| self.sowing_row(columns, index, of));
        let trays =
            mixes.layout.trays.iter().map(
                |(tray, count)| json!({"what": if tray.pot { "pot" } else { "tray" }, "tray": tray, "count": count}),
            );
        let bases = mixes.mixing.bases.iter();
        let bases = bases.map(|base| (format!("shared base of {}", self.recipe_of(base.recipe)), &base.loads));
        let made = mixes.mixing.batches.iter().zip(&mixes.batches);
        let made = made.filter_map(|(made, batch)| Some((batch.name.clone(), made.loads.as_ref()?)));
        let currency = self.plan.purchases.currency;
        let covering = mixes.covering.iter().map(|covering| {
            json!({"what": "covering", "name": covering.ingredient, "tray": covering.tray, "litres": covering.loose})
        });
        let others = trays
            .chain(mixes.batches.iter().flat_map(batch_rows))
            .chain(bases.chain(made).flat_map(|(name, loads)| load_rows(name, loads)))
            .chain(covering)
            .chain(self.plan.purchases.lines.iter().flat_map(move |line| purchase_rows(line, currency)));
        [header].into_iter().chain(sowings).chain(others.map(|row| csv::record(COLUMNS, &row)))
    }

    /// A sowing in the first of so many columns, straight for the same reason as [`SowingView`].
    fn sowing_row(&self, columns: usize, index: u32, (sowing, plan): (&Sowing, &SowingPlan)) -> Vec<String> {
        let batch = match self.plan.mixes.trial.halves(index) {
            Some(_) => Half::BOTH.map(|half| self.batch_name(half.batch(plan.batch))).join("; "),
            None => self.batch_name(plan.batch).to_owned(),
        };
        let cells = &plan.cells;
        let seeds = cells.seeds.map(|seeds| seeds.to_string()).unwrap_or_default();
        let (tray, count) = (sowing.tray.name.clone(), String::new());
        let mut row = Vec::with_capacity(columns);
        row.extend(["sowing".to_owned(), sowing.name(), batch, tray, count, cells.cells.to_string(), seeds]);
        row.resize(columns - 2, String::new());
        row.extend([cells.plants.map(|plants| plants.to_string()).unwrap_or_default(), plan.trays.to_string()]);
        row
    }
}

/// What a batch goes without; the code is that of the first reason.
fn left_out_json(left_out: &Omission) -> Value {
    let text = omission(left_out, UnitSystem::Metric);
    let code = left_out.why.keys().next().map(Why::code);
    json!({"name": left_out.ingredient, "why": text, "code": code, "text": text})
}

pub(in crate::report) fn loose_json<'t>(amounts: impl IntoIterator<Item = &'t (Handle<Ingredient>, Volume)>) -> Value {
    amounts.into_iter().map(|(id, loose)| json!({"name": id, "loose_l": loose})).collect()
}

fn made_json(made: &BatchMixing, name: &str) -> Value {
    json!({
        "name": name,
        "from_base_l": made.from_base,
        "additions": loose_json(&made.additions),
        "loads": made.loads.iter().map(loads_json).collect::<Value>(),
        "made_l": made.made,
        "over_l": made.over,
        "blocks_water_l": made.blocks_water,
    })
}

fn loads_json(loads: &Loads) -> Value {
    let load = &loads.load;
    // What is too much and has to be pressed out is less than nothing to add.
    let (water, range) = match &load.moistening {
        Moistening::Water { least, about, most, .. } => (Some(*about), Some([*least, *most])),
        Moistening::Blocks { about } => (Some(*about), None),
        Moistening::ByHand | Moistening::Unknown(_) | Moistening::Nothing => (None, None),
    };
    json!({
        "count": loads.count,
        "loose_l": load.loose,
        "from_base_l": load.from_base.map(|share| share.loose),
        "from_base_mixed_l": load.from_base.map(|share| share.mixed),
        "measures": load.measures,
        "scoop_l": load.scoop,
        "doses": load.doses,
        "water_l": water,
        "water_range_l": range,
        "wet_kg": load.wet.map(|wet| wet.about.get::<kilogram>()),
        "wet_most_kg": load.wet.map(|wet| wet.most.get::<kilogram>()),
    })
}

fn batch_rows(batch: &Batch) -> impl Iterator<Item = Value> {
    let parts = batch.ingredients.iter().map(|part| {
        json!({"what": "ingredient", "name": part.ingredient, "batch": batch.name, "parts": part.parts.to_string(),
               "litres": part.loose})
    });
    let doses = batch.doses.iter().map(|dose| {
        let (grams, millilitres) = (dose.amount.grams(), dose.amount.millilitres());
        json!({"what": "dose", "name": dose.ingredient, "batch": batch.name, "grams": grams,
               "millilitres": millilitres})
    });
    let mix = json!({"what": "mix", "batch": batch.name, "litres": batch.volumes.mix});
    parts.chain(doses).chain([mix])
}

fn load_rows(batch: String, loads: &Loads) -> impl Iterator<Item = Value> {
    loads.load.measures.iter().map(move |measure| {
        json!({"what": "load", "name": measure.ingredient, "batch": batch, "count": loads.count,
               "litres": measure.loose})
    })
}

fn purchase_rows(line: &PurchaseLine, currency: Option<Currency>) -> impl Iterator<Item = Value> {
    let packages = line.packages.iter().map(move |pick| {
        let (gives, cost) = (pick.gives(), pick.cost().map(money));
        json!({"what": "buy", "name": line.ingredient, "count": pick.count, "litres": gives.litres(),
               "grams": gives.grams(), "package": pick.package.label, "cost": cost,
               "currency": currency.map(|currency| currency.to_string())})
    });
    let (litres, grams) = (line.lacking.litres(), line.lacking.grams());
    let loose = matches!(line.buy, Buy::Loose | Buy::LooseUnlike);
    let loose = loose.then(|| json!({"what": "buy", "name": line.ingredient, "litres": litres, "grams": grams}));
    packages.chain(loose)
}
