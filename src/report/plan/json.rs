//! The plan for scripts.

use super::{PlanReport, by_weight_and_measure};
use crate::plan::{Batch, SowingPlan, Totals, TrayMap};
use crate::report::buying;
use crate::report::json::render;
use crate::report::remark::texts;
use crate::report::soak::SoakReport;
use crate::report::words::{caution_words, note, warning};
use crate::units::length::millimetre;
use crate::units::volume::millilitre;
use crate::units::{UnitSystem, Volume, to_litres};
use serde::{Serialize, Serializer};
use serde_json::{Value, json};

/// The plan for scripts; its sowings are written one by one, for there may be many.
#[derive(Serialize)]
struct PlanJson<'p> {
    format: &'static str,
    title: &'p str,
    mix_on: Option<String>,
    sowings: Sowings<'p>,
    trays: Vec<Value>,
    shared_trays: Maps<'p>,
    batches: Vec<Value>,
    covering: Vec<Value>,
    totals: Value,
    mixing: Value,
    purchases: Value,
    soak: Value,
    calendar: Vec<Value>,
    cautions: Vec<String>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct SowingJson<'p> {
    crop: Option<&'p str>,
    variety: Option<&'p str>,
    tray: Option<&'p str>,
    batch: &'p str,
    plants: Option<u64>,
    cells: u64,
    seeds_to_take: Option<u64>,
    seed_g: Option<f64>,
    cells_filled: u64,
    cell_ml: Option<f64>,
}

struct Sowings<'p>(&'p PlanReport<'p>);

impl Serialize for Sowings<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.plan.mixes.sowings.iter().map(|sowing| self.0.sowing_json(sowing)))
    }
}

#[derive(Serialize)]
struct MapJson<'p> {
    tray: &'p str,
    number: u64,
    rows: Vec<RowsJson>,
}

#[derive(Serialize)]
struct RowsJson {
    crop: String,
    sowing: usize,
    from: u64,
    to: u64,
}

struct Maps<'p>(&'p PlanReport<'p>);

impl Serialize for Maps<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.plan.mixes.maps.iter().map(|map| self.0.map_json(map)))
    }
}

impl PlanReport<'_> {
    pub(super) fn as_json(&self) -> String {
        let warnings = self.plan.warnings.iter().map(|found| warning(found, self.plan, UnitSystem::Metric));
        let notes = self.plan.notes.iter().map(|found| note(found, UnitSystem::Metric));
        render(&PlanJson {
            format: "trayful-plan/1",
            title: &self.plan.title,
            mix_on: self.plan.mix_on.as_ref().map(|moment| moment.local.to_string()),
            sowings: Sowings(self),
            trays: self.plan.mixes.trays.iter().map(|(id, count)| json!({"tray": id.name, "count": count})).collect(),
            shared_trays: Maps(self),
            batches: self.plan.mixes.batches.iter().map(|batch| self.batch_json(batch)).collect(),
            covering: self.covering_json(),
            totals: self.totals_json(),
            mixing: self.mixing_json(),
            purchases: buying::purchases_json(&self.plan.purchases),
            soak: self.plan.soak.as_ref().map_or(Value::Null, |soaking| SoakReport::of(soaking).value()),
            calendar: self.calendar_json(),
            cautions: warnings
                .chain(texts(&buying::cautions(&self.plan.purchases)))
                .chain(caution_words(&self.plan.cautions))
                .collect(),
            notes: notes.chain(texts(&buying::notes(&self.plan.purchases))).collect(),
        })
    }

    fn sowing_json<'s>(&'s self, plan: &'s SowingPlan) -> SowingJson<'s> {
        SowingJson {
            crop: plan.crop.as_ref().map(|crop| crop.name.as_str()),
            variety: plan.variety.as_deref(),
            tray: Some(&plan.tray.name),
            batch: &self.plan.mixes.batches[plan.batch].name,
            plants: plan.cells.plants,
            cells: plan.cells.cells,
            seeds_to_take: plan.cells.seeds,
            seed_g: plan.seed_grams(),
            cells_filled: plan.cells_filled,
            cell_ml: Some(plan.tray.cell.get::<millilitre>()),
        }
    }

    fn map_json<'s>(&'s self, map: &'s TrayMap) -> MapJson<'s> {
        let rows = map.portions.iter().map(|portion| RowsJson {
            crop: self.plan.mixes.sowings[portion.sowing].name(),
            sowing: portion.sowing,
            from: portion.from,
            to: portion.to,
        });
        MapJson { tray: &map.tray.name, number: map.number, rows: rows.collect() }
    }

    fn batch_json(&self, batch: &Batch) -> Value {
        let litres = |volume: Option<Volume>| volume.map(to_litres);
        let ingredients: Vec<Value> = batch
            .ingredients
            .iter()
            .map(|part| {
                json!({
                    "name": part.ingredient.name.as_str(),
                    "parts": part.parts.to_string(),
                    "loose_l": to_litres(part.loose),
                })
            })
            .collect();
        let doses: Vec<Value> = batch
            .doses
            .iter()
            .map(|dose| {
                let (grams, ml) = by_weight_and_measure(dose.amount);
                json!({"name": dose.ingredient.name.as_str(), "grams": grams, "ml": ml})
            })
            .collect();
        let left_out: Vec<Value> = batch
            .left_out
            .iter()
            .map(|omission| json!({"name": omission.ingredient.name.as_str(), "why": self.omission(omission, UnitSystem::Metric)}))
            .collect();
        json!({
            "name": batch.name,
            "recipe": self.week.map_or(&self.plan.title, |week| &week.recipe(batch.recipe).name),
            "crops": batch.crops.iter().map(|id| &id.name).collect::<Vec<_>>(),
            "sieve_mm": batch.composition.sieve.map(|mesh| mesh.get::<millimetre>()),
            "top_l": batch.tops.iter().try_fold(0.0, |sum, top| top.volume.map(|volume| sum + to_litres(volume))),
            "cells_l": litres(batch.volumes.cells),
            "settled_l": litres(batch.volumes.settled),
            "mix_l": to_litres(batch.volumes.mix),
            "loose_l": to_litres(batch.volumes.loose),
            "yield": batch.volumes.yield_.to_f64(),
            "ingredients": ingredients,
            "doses": doses,
            "left_out": left_out,
        })
    }

    fn totals_json(&self) -> Value {
        let totals = &self.plan.mixes.totals;
        json!({
            "trays": totals.trays,
            "pots": totals.pots,
            "cells_l": totals.cells.map(to_litres),
            "mix_l": to_litres(totals.mix),
            "ingredients": totals
                .ingredients
                .iter()
                .map(|(id, loose)| json!({"name": id.name.as_str(), "loose_l": to_litres(*loose)}))
                .collect::<Vec<_>>(),
            "doses": doses_json(totals),
        })
    }
}

/// Each dose once, by weight and by measure.
fn doses_json(totals: &Totals) -> Vec<Value> {
    let mut names: Vec<&str> = Vec::new();
    for (id, _) in &totals.doses {
        if !names.contains(&id.name.as_str()) {
            names.push(&id.name);
        }
    }
    let dose = |name: &str| {
        let grams = totals.doses.iter().filter(|(id, _)| id.name == name).find_map(|(_, amount)| amount.grams());
        let litres = totals.doses.iter().filter(|(id, _)| id.name == name).find_map(|(_, amount)| amount.litres());
        json!({"name": name, "grams": grams, "ml": litres.map(|litres| litres * 1000.0)})
    };
    names.into_iter().map(dose).collect()
}
