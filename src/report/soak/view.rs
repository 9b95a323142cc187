//! The worksheet for scripts: names and numbers.

use super::SoakReport;
use crate::coir::soak::{Run, Worksheet};
use crate::coir::{Cation, Comparison, StepResult, Verdict, Waste};
use crate::moment::rfc3339;
use crate::report::remark::Remark;
use crate::units::to_litres;
use serde::{Serialize, Serializer};

/// The worksheet; zero and nothing where coir needs no course.
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
    salt_g: Vec<(&'s str, f64)>,
    tub_l: Option<f64>,
    runs: u32,
    run_times: &'s [Run],
    steps: &'s [StepResult],
    result: ResultView,
    waste: Waste,
    start: Option<String>,
    ready: Option<String>,
    compared: &'s [Comparison],
    cautions: Vec<Remark>,
    notes: Vec<Remark>,
}

/// How the course ends: shares of the sites.
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
        SoakView {
            water_l: sheet.report.water_l,
            salt_g: sheet.course.salt_g(),
            tub_l: Some(sheet.report.tub.tub_l),
            runs: sheet.runs,
            run_times: self.times.map(|times| &times.runs[..]).unwrap_or_default(),
            steps: &sheet.report.results,
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

/// Writes names and numbers as a map, in their order.
fn as_map<S: Serializer>(numbers: &[(&str, f64)], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(numbers.iter().copied())
}
