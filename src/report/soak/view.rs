//! The worksheet for scripts: names and numbers.

use super::SoakReport;
use crate::coir::soak::{Compared, Worksheet};
use crate::coir::{Action, Cation, Design, Ion, StepResult, Verdict, WETTING_L_PER_SOLD_KG, dry_kg_of_sold};
use crate::moment::rfc3339;
use crate::report::remark::Remark;
use crate::report::words::{grams_of, salts_of};
use crate::units::{UnitSystem, to_litres};
use serde_json::{Map, Value, json};

impl SoakReport<'_> {
    /// The worksheet as JSON, by itself or within that of a plan; zero and nothing where coir needs no course.
    pub(super) fn view(&self) -> Value {
        let soaking = self.soaking;
        let sheet = soaking.sheet.as_ref();
        let times = soaking.times.as_ref();
        let report = sheet.map(|sheet| &sheet.report);
        let wet_only_kg = soaking.straight_kg.or(sheet.is_none().then_some(soaking.dry_kg));
        let share = |cation| report.map(|report| report.sites.of(cation));
        let met = |sheet: &Worksheet| sheet.target.as_ref().map(|(_, verdict)| *verdict == Verdict::Met);
        let is_buffered = soaking.straight_kg.is_none();
        let buffered = || is_buffered.then(|| Remark::new("buffered", self.no_bath()));
        json!({
            "format": "trayful-soak/1",
            "name": soaking.soak.name,
            "sold_as": soaking.soak.coir.word(),
            "dry_kg": soaking.dry_kg,
            "coir_loose_l": to_litres(soaking.soaked),
            "stays_dry_l": to_litres(soaking.stays_dry),
            "pieces": self.pieces(),
            "trial": soaking.soak.tries_half().then_some("half"),
            "water_l": report.map_or(0.0, |report| report.water_l),
            "straight_dry_kg": soaking.straight_kg,
            "wet_with_l": wet_only_kg.map(|dry_kg| {
                let wetted = soaking.wetted.map(|held| [held.wetting_l_per_sold_kg(); 2]);
                wetted.unwrap_or(WETTING_L_PER_SOLD_KG).map(|litres| litres * dry_kg / dry_kg_of_sold(1.0))
            }),
            "salt_g": by_name(sheet.map(|sheet| salts_of(&sheet.course, sheet.runs, UnitSystem::Metric)).unwrap_or_default()),
            "tub_l": report.map(|report| soaking.soak.tub_l.unwrap_or(report.tub.tub_l)),
            "runs": sheet.map_or(0, |sheet| sheet.runs),
            "run_times": times.map(|times| &times.runs[..]).unwrap_or_default(),
            "steps": report.map(|report| report.results.iter().map(step).collect::<Vec<_>>()).unwrap_or_default(),
            "result": {
                "sodium": share(Cation::Sodium),
                "potassium": share(Cation::Potassium),
                "monovalent": report.map(|report| report.sites.monovalent()),
                "calcium": share(Cation::Calcium),
                "rinse_ec_ms_cm": report.map(|report| report.rinse_ec_ms_cm),
                "meets_target": sheet.map_or(Some(true), met),
                "monovalent_range": sheet.map(|sheet| sheet.course.monovalent_range()),
            },
            "waste": report.map(|report| report.waste).unwrap_or_default(),
            "start": times.map(|times| rfc3339(&times.start)),
            "ready": times.map(|times| rfc3339(&times.ready)),
            "compared": sheet.map(|sheet| sheet.compared.iter().map(|one| compared(one, sheet.runs)).collect::<Vec<_>>()).unwrap_or_default(),
            "courses": sheet.map(|sheet| sheet.courses.iter().map(|one| course(one, sheet.runs)).collect::<Vec<_>>()).unwrap_or_default(),
            "cautions": self.cautions(UnitSystem::Metric),
            "notes": sheet.map_or_else(|| Vec::from_iter(buffered()), |sheet| self.notes(sheet, UnitSystem::Metric)),
        })
    }
}

/// A step; of the ions without bicarbonate, which only balances the rest.
fn step(StepResult { step, fresh, bath, gypsum_dissolved_g }: &StepResult) -> Value {
    let mmol_per_kg = bath.solution.total * 1e3;
    let ions = mmol_per_kg.iter().filter(|(ion, _)| *ion != Ion::Bicarbonate);
    json!({
        "do": step.action.word(),
        "water_l": step.water_l,
        "hours": step.hours,
        "salt_g": by_name(step.salt_g()),
        "fresh_ec_ms_cm": fresh.ec_ms_cm(),
        "ec_ms_cm": bath.solution.ec_ms_cm(),
        "sites": by_name(bath.sites.iter().map(|(cation, share)| (cation.ion().word(), share))),
        "bath_mmol_kg": by_name(ions.map(|(ion, mmol)| (ion.word(), mmol))),
        "gypsum_dissolved_g": gypsum_dissolved_g,
    })
}

/// The course with another salt.
fn compared((salt, design): &(String, Design), runs: u32) -> Value {
    let report = &design.report;
    json!({
        "salt": salt,
        "salt_g": grams_of(&design.course, runs, UnitSystem::Metric),
        "soaks": design.count(Action::Soak),
        "rinses": design.count(Action::Rinse),
        "fresh_ec_ms_cm": design.strongest_ec_ms_cm(),
        "rinse_ec_ms_cm": report.rinse_ec_ms_cm,
        "monovalent": report.sites.monovalent(),
        "nitrogen_g": report.waste.nitrogen_g,
        "nitrate_n_mg_l": report.waste.nitrate_n_mg_l,
        "chloride_mg_l": report.waste.chloride_mg_l,
        "meets_target": design.verdict == Verdict::Met,
    })
}

/// A course beside others.
fn course(Compared { name, days, design }: &Compared, runs: u32) -> Value {
    let report = &design.report;
    json!({
        "course": name,
        "days": days,
        "water_l": report.water_l,
        "salt_g": by_name(salts_of(&design.course, runs, UnitSystem::Metric)),
        "nitrogen_g": report.waste.nitrogen_g,
        "monovalent": report.sites.monovalent(),
        "monovalent_range": design.course.monovalent_range(),
        "meets_target": design.verdict == Verdict::Met,
    })
}

/// Names and numbers as a map, in their order.
fn by_name<'n>(numbers: impl IntoIterator<Item = (&'n str, f64)>) -> Map<String, Value> {
    numbers.into_iter().map(|(name, number)| (name.to_owned(), number.into())).collect()
}
