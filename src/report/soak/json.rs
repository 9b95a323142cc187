//! The worksheet for scripts.

use super::{SoakReport, action, gypsum_g, rfc3339};
use crate::coir::{Cation, Comparison, Ion, Stage, Step, Verdict};
use crate::soak::{Outcome, Run, Sheet, hours_of};
use crate::units::to_litres;
use serde_json::{Map, Value, json};

impl SoakReport<'_> {
    /// The worksheet as JSON, for a file of its own or within a plan.
    #[must_use]
    pub fn value(&self) -> Value {
        let mut value = json!({
            "format": "trayful-soak/1",
            "name": self.soak.name,
            "sold_as": self.soak.sold_as,
            "dry_kg": self.dry_kg,
            "coir_loose_l": to_litres(self.loose),
            "pieces": self.pieces,
            "trial": self.soak.trial.then_some("half"),
        });
        let Some(fields) = value.as_object_mut() else { return value };
        let rest = match self.sheet {
            Some(sheet) => self.sheet_json(sheet),
            None => json!({
                "water_l": 0.0, "salt_g": {}, "tub_l": null, "runs": 0, "run_times": [], "steps": [],
                "result": {
                    "sodium": null, "potassium": null, "monovalent": null, "calcium": null, "rinse_ec_ms_cm": null,
                    "meets_target": true, "monovalent_range": null,
                },
                "waste": {"drain_l": 0.0, "nitrate_n_mg_l": 0.0, "chloride_mg_l": 0.0, "nitrogen_g": 0.0},
                "start": null, "ready": null, "compared": [], "cautions": [],
                "notes": ["sold as buffered: no bath is needed"],
            }),
        };
        if let Value::Object(rest) = rest {
            fields.extend(rest);
        }
        value
    }

    fn sheet_json(&self, sheet: &Sheet) -> Value {
        let report = &sheet.report;
        let steps: Vec<Value> =
            sheet.course.steps().iter().zip(&report.stages).map(|(step, stage)| step_json(step, stage)).collect();
        json!({
            "water_l": report.water_l,
            "salt_g": salt_json(sheet.course.salt_g()),
            "tub_l": report.tub.tub_l,
            "runs": sheet.runs,
            "run_times": self.times.iter().flat_map(|times| &times.runs).map(run_json).collect::<Vec<_>>(),
            "steps": steps,
            "result": {
                "sodium": report.sites.of(Cation::Sodium),
                "potassium": report.sites.of(Cation::Potassium),
                "monovalent": report.sites.monovalent(),
                "calcium": report.sites.of(Cation::Calcium),
                "rinse_ec_ms_cm": report.rinse_ec_ms_cm,
                "meets_target": match &sheet.outcome {
                    Outcome::Met => Some(true),
                    Outcome::OutOfReach(_) => Some(false),
                    Outcome::NotAsked => None,
                },
                "monovalent_range": report.monovalent_range,
            },
            "waste": {
                "drain_l": report.waste.drain_l,
                "nitrate_n_mg_l": report.waste.nitrate_n_mg_l,
                "chloride_mg_l": report.waste.chloride_mg_l,
                "nitrogen_g": report.waste.nitrogen_g(),
            },
            "start": self.times.map(|times| rfc3339(&times.start)),
            "ready": self.times.map(|times| rfc3339(&times.ready)),
            "compared": sheet.compared.iter().map(compared_json).collect::<Vec<_>>(),
            "cautions": self.cautions(sheet),
            "notes": self.notes(sheet),
        })
    }
}

fn compared_json(one: &Comparison) -> Value {
    json!({
        "salt": one.salt,
        "salt_g": one.salt_g,
        "soaks": one.soaks,
        "rinses": one.rinses,
        "fresh_ec_ms_cm": one.fresh_ec_ms_cm,
        "rinse_ec_ms_cm": one.rinse_ec_ms_cm,
        "monovalent": one.monovalent,
        "nitrogen_g": one.nitrogen_g,
        "nitrate_n_mg_l": one.nitrate_n_mg_l,
        "chloride_mg_l": one.chloride_mg_l,
        "meets_target": one.verdict == Verdict::Met,
    })
}

fn step_json(step: &Step, stage: &Stage) -> Value {
    let sites: Map<String, Value> =
        stage.bath.sites.iter().map(|(cation, share)| (cation.ion().symbol().to_owned(), json!(share))).collect();
    let bath: Map<String, Value> = stage
        .bath
        .bath_mmol_per_kg
        .iter()
        .filter(|(ion, _)| *ion != Ion::Bicarbonate)
        .map(|(ion, mmol)| (ion.symbol().to_owned(), json!(mmol)))
        .collect();
    json!({
        "do": action(step.action()),
        "water_l": step.water_l(),
        "hours": hours_of(step),
        "salt_g": salt_json(step.doses().iter().map(|dose| (dose.salt.name(), dose.grams()))),
        "fresh_ec_ms_cm": stage.fresh_ec_ms_cm,
        "ec_ms_cm": stage.bath.ec_ms_cm,
        "sites": sites,
        "bath_mmol_kg": bath,
        "gypsum_dissolved_g": gypsum_g((step, stage)),
    })
}

fn run_json(run: &Run) -> Value {
    json!({"begins": rfc3339(&run.begins), "ends": rfc3339(&run.ends)})
}

fn salt_json<'s>(salts: impl IntoIterator<Item = (&'s str, f64)>) -> Value {
    Value::Object(salts.into_iter().map(|(name, grams)| (name.to_owned(), json!(grams))).collect())
}
