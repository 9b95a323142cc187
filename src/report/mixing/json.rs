//! The mixing day and the covering in JSON and as records.

use crate::catalogue::{Handle, Ingredient};
use crate::plan::{AreaFrom, LoadDose, Loads, Measure, Moistening, TOLERANCE};
use crate::report::plan::{PlanReport, by_weight_and_measure};
use crate::units::length::millimetre;
use crate::units::mass::kilogram;
use crate::units::{UnitSystem, Volume, plain, to_litres};
use serde_json::{Value, json};

impl PlanReport<'_> {
    /// `mixing` of the plan's JSON.
    pub(in crate::report) fn mixing_json(&self) -> Value {
        let mixing = &self.plan.mixes.mixing;
        let named = |parts: &[(Handle<Ingredient>, Volume)]| -> Vec<Value> {
            parts.iter().map(|(id, loose)| json!({"name": id.name.as_str(), "loose_l": to_litres(*loose)})).collect()
        };
        let bases: Vec<Value> = mixing
            .bases
            .iter()
            .map(|base| {
                let draws: Vec<Value> = base
                    .draws
                    .iter()
                    .map(|draw| {
                        json!({
                            "batch": self.plan.mixes.batches[draw.batch].name,
                            "loose_l": to_litres(draw.amount.loose),
                            "mixed_l": to_litres(draw.amount.mixed),
                            "scoops": draw.amount.quarters.map(|quarters| quarters as f64 / 4.0),
                            "share": draw.share,
                        })
                    })
                    .collect();
                json!({
                    "recipe": self.recipe_name(base),
                    "ingredients": named(&base.ingredients),
                    "loose_l": to_litres(base.loose),
                    "loads": [self.loads_json(&base.loads)],
                    "made_loose_l": to_litres(base.made_loose),
                    "made_l": to_litres(base.made_loose) * base.kept,
                    "draws": draws,
                })
            })
            .collect();
        let batches: Vec<Value> = mixing
            .batches
            .iter()
            .zip(&self.plan.mixes.batches)
            .map(|(made, batch)| {
                json!({
                    "name": batch.name,
                    "from_base_l": to_litres(made.from_base),
                    "additions": named(&made.additions),
                    "loads": made.loads.iter().map(|loads| self.loads_json(loads)).collect::<Vec<_>>(),
                    "made_l": to_litres(made.made),
                    "over_l": to_litres(made.over),
                })
            })
            .collect();
        json!({
            "tub_l": mixing.vessels.tub.map(to_litres),
            "tub_filled_to_l": mixing.vessels.room().map(to_litres),
            "scoop_l": mixing.vessels.scoop.map(to_litres),
            "tolerance": TOLERANCE,
            "order": self.order_in_a_load(),
            "work": self.order_of_work(UnitSystem::Metric),
            "shared_bases": bases,
            "batches": batches,
            "measured": named(mixing.measured_loose().as_slice()),
        })
    }

    fn loads_json(&self, loads: &Loads) -> Value {
        let measure = |measure: &Measure| {
            json!({
                "name": measure.ingredient.name.as_str(),
                "scoops": measure.scoops(),
                "loose_l": to_litres(measure.loose),
                "share": measure.share,
                "wanted_share": measure.wanted,
            })
        };
        let dose = |dose: &LoadDose| {
            let (grams, ml) = by_weight_and_measure(dose.amount);
            json!({"name": dose.ingredient.name.as_str(), "grams": grams, "ml": ml})
        };
        let load = &loads.load;
        let (water, range) = match &load.moistening {
            Moistening::Add { least, about, most } => {
                (Some(to_litres(*about)), Some([to_litres(*least), to_litres(*most)]))
            }
            Moistening::Press(over) => (Some(-to_litres(*over)), None),
            _ => (None, None),
        };
        json!({
            "count": loads.count,
            "loose_l": to_litres(load.loose),
            "from_base_l": load.from_base.map(|share| to_litres(share.loose)),
            "from_base_mixed_l": load.from_base.map(|share| to_litres(share.mixed)),
            "measures": load.measures.iter().map(measure).collect::<Vec<_>>(),
            "doses": load.doses.iter().map(dose).collect::<Vec<_>>(),
            "water_l": water,
            "water_range_l": range,
            "wet_kg": load.wet.map(|wet| wet.get::<kilogram>()),
        })
    }

    /// `covering` of the plan's JSON.
    pub(in crate::report) fn covering_json(&self) -> Vec<Value> {
        self.plan
            .mixes
            .covering
            .iter()
            .map(|covering| {
                let layers: Vec<Value> = covering
                    .layers
                    .iter()
                    .map(|layer| {
                        json!({
                            "depth_mm": layer.depth.get::<millimetre>(),
                            "crops": layer.crops.iter().map(|id| &id.name).collect::<Vec<_>>(),
                            "cells": layer.cells,
                            "loose_l": to_litres(layer.loose),
                        })
                    })
                    .collect();
                json!({
                    "tray": covering.tray.name,
                    "ingredient": covering.ingredient.name.as_str(),
                    "loose_l": to_litres(covering.loose),
                    "layers": layers,
                    "estimated": covering.area != AreaFrom::Rim,
                })
            })
            .collect()
    }

    /// Loads and covering as records.
    pub(in crate::report) fn mixing_records(&self) -> Vec<Vec<(&'static str, String)>> {
        let mixing = &self.plan.mixes.mixing;
        let mut records = Vec::new();
        let bases =
            mixing.bases.iter().map(|base| (format!("shared base of {}", self.recipe_name(base)), Some(&base.loads)));
        let batches = mixing.batches.iter().zip(&self.plan.mixes.batches);
        let batches = batches.map(|(made, batch)| (batch.name.clone(), made.loads.as_ref()));
        for (name, loads) in bases.chain(batches) {
            let Some(loads) = loads else { continue };
            for measure in &loads.load.measures {
                records.push(vec![
                    ("what", "load".to_owned()),
                    ("name", measure.ingredient.name.clone()),
                    ("batch", name.clone()),
                    ("count", loads.count.to_string()),
                    ("litres", plain(to_litres(measure.loose), 6)),
                ]);
            }
        }
        for covering in &self.plan.mixes.covering {
            records.push(vec![
                ("what", "covering".to_owned()),
                ("name", covering.ingredient.name.clone()),
                ("tray", covering.tray.name.clone()),
                ("litres", plain(to_litres(covering.loose), 6)),
            ]);
        }
        records
    }
}
