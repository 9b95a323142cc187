//! The worksheet in names and numbers, from which every form of it is written.

use super::SoakReport;
use crate::coir::soak::{Run, Worksheet};
use crate::coir::{Cation, Comparison, CourseStep, Ion, StepResult, Verdict, Waste};
use crate::moment::rfc3339;
use crate::report::remark::Remark;
use crate::units::to_litres;
use jiff::ZonedDateTime;
use serde::{Serialize, Serializer};

/// The worksheet for scripts.
#[derive(Default, Serialize)]
pub(super) struct SoakView<'s> {
    format: &'static str,
    name: &'s str,
    sold_as: &'static str,
    dry_kg: f64,
    coir_loose_l: f64,
    pieces: Option<u64>,
    trial: Option<&'static str>,
    water_l: f64,
    #[serde(serialize_with = "as_map")]
    pub salt_g: Vec<(&'s str, f64)>,
    tub_l: Option<f64>,
    runs: u32,
    run_times: &'s [Run],
    pub steps: Vec<StepView<'s>>,
    result: ResultView,
    waste: Waste,
    start: Option<String>,
    ready: Option<String>,
    compared: &'s [Comparison],
    pub cautions: Vec<Remark>,
    pub notes: Vec<Remark>,
}

/// One step of the course, for all of the coir.
#[derive(Serialize)]
pub(super) struct StepView<'s> {
    #[serde(rename = "do")]
    pub action: &'static str,
    pub water_l: f64,
    pub hours: f64,
    #[serde(serialize_with = "as_map")]
    pub salt_g: Vec<(&'s str, f64)>,
    pub fresh_ec_ms_cm: f64,
    pub ec_ms_cm: f64,
    #[serde(serialize_with = "as_map")]
    sites: Vec<(&'s str, f64)>,
    #[serde(serialize_with = "as_map")]
    bath_mmol_kg: Vec<(&'s str, f64)>,
    pub gypsum_dissolved_g: f64,
    /// When it begins in the first run.
    #[serde(skip)]
    pub begins: Option<&'s ZonedDateTime>,
    /// Sodium and potassium as a share of the sites.
    #[serde(skip)]
    pub monovalent: f64,
}

/// How the course ends, shares of the sites; nothing for coir that needs none.
#[derive(Default, Serialize)]
struct ResultView {
    sodium: Option<f64>,
    potassium: Option<f64>,
    monovalent: Option<f64>,
    calcium: Option<f64>,
    rinse_ec_ms_cm: Option<f64>,
    meets_target: Option<bool>,
    monovalent_range: Option<[f64; 2]>,
}

impl<'s> SoakReport<'s> {
    pub(super) fn view(&self) -> SoakView<'s> {
        let view = SoakView {
            format: "trayful-soak/1",
            name: &self.soak.name,
            sold_as: self.soak.coir.word(),
            dry_kg: self.dry_kg,
            coir_loose_l: to_litres(self.loose),
            pieces: self.pieces,
            trial: self.soak.trial.then_some("half"),
            ..SoakView::default()
        };
        let Some(sheet) = self.sheet else {
            return SoakView {
                result: ResultView { meets_target: Some(true), ..ResultView::default() },
                notes: vec![Remark::new("buffered", "sold as buffered: no bath is needed")],
                ..view
            };
        };
        let first = self.times.and_then(|times| times.runs.first());
        let steps = sheet.course.steps().iter().zip(&sheet.report.results).enumerate();
        SoakView {
            water_l: sheet.report.water_l,
            salt_g: sheet.course.salt_g(),
            tub_l: Some(sheet.report.tub.tub_l),
            runs: sheet.runs,
            run_times: self.times.map(|times| &times.runs[..]).unwrap_or_default(),
            steps: steps
                .map(|(index, (step, result))| StepView::new(step, result, first.and_then(|run| run.steps.get(index))))
                .collect(),
            result: ResultView::new(sheet),
            waste: sheet.report.waste,
            start: self.times.map(|times| rfc3339(&times.start)),
            ready: self.times.map(|times| rfc3339(&times.ready)),
            compared: &sheet.compared,
            cautions: self.cautions(sheet),
            notes: self.notes(sheet),
            ..view
        }
    }
}

impl<'s> StepView<'s> {
    fn new(step: &'s CourseStep, result: &StepResult, begins: Option<&'s ZonedDateTime>) -> Self {
        let bath = &result.bath;
        let gypsum = step.doses().iter().find(|dose| dose.salt.is_gypsum());
        Self {
            action: step.action().word(),
            water_l: step.water_l(),
            hours: step.hours(),
            salt_g: step.salt_g(),
            fresh_ec_ms_cm: result.fresh_ec_ms_cm,
            ec_ms_cm: bath.ec_ms_cm,
            sites: bath.sites.iter().map(|(cation, share)| (cation.ion().symbol(), share)).collect(),
            bath_mmol_kg: bath
                .bath_mmol_per_kg
                .iter()
                .filter(|(ion, _)| *ion != Ion::Bicarbonate)
                .map(|(ion, mmol)| (ion.symbol(), mmol))
                .collect(),
            gypsum_dissolved_g: gypsum.map_or(0.0, |dose| dose.salt.grams(bath.gypsum_dissolved_mol)),
            begins,
            monovalent: bath.sites.monovalent(),
        }
    }

    /// All salts of the step, g.
    pub fn grams(&self) -> f64 {
        self.salt_g.iter().map(|(_, grams)| grams).sum()
    }
}

impl ResultView {
    fn new(sheet: &Worksheet) -> Self {
        let sites = &sheet.report.sites;
        Self {
            sodium: Some(sites.of(Cation::Sodium)),
            potassium: Some(sites.of(Cation::Potassium)),
            monovalent: Some(sites.monovalent()),
            calcium: Some(sites.of(Cation::Calcium)),
            rinse_ec_ms_cm: Some(sheet.report.rinse_ec_ms_cm),
            meets_target: sheet.verdict.as_ref().map(|verdict| *verdict == Verdict::Met),
            monovalent_range: Some(sheet.report.monovalent_range),
        }
    }
}

/// Writes names and numbers as a map in their order.
fn as_map<S: Serializer>(numbers: &[(&str, f64)], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(numbers.iter().copied())
}
