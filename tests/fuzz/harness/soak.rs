//! A soak: baths whose charges sum to nothing and whose sites sum to one, or faults.

use super::{accepted, check_forms, files, number, one_of, rows};
use std::path::Path;
use trayful::coir::soak::Soak;
use trayful::plan::Soaking;
use trayful::report::SoakReport;
use trayful::source::{FileKind, Files};
use trayful::week::Inputs;

pub fn run(bytes: &[u8]) {
    let (files, path) = (files("soak.yaml", bytes), Path::new("soak.yaml"));
    let Some(source) = accepted(files.read(path, FileKind::Yaml)) else { return };
    let Some((soak, _)) = accepted(Inputs::new(&files).soak_of(path, &source)) else { return };
    match Soaking::alone(Soak { compare: one_of(4, bytes) == 0, ..soak }) {
        Ok(Some(soaking)) => check_soaking(&soaking),
        Ok(None) => {}
        Err(fault) => assert!(!fault.to_string().contains(super::is_stray), "{fault}"),
    }
}

fn check_soaking(soaking: &Soaking) {
    let json = check_forms(&SoakReport { soaking, late: true, place: None });
    let Some(sheet) = &soaking.sheet else { return };
    for result in &sheet.report.results {
        let (bath, dissolved) = (&result.bath.solution.total, result.bath.solution.total.anion_charge());
        assert!(bath.iter().all(|(_, amount)| amount >= 0.0 && amount.is_finite()), "{bath:?}");
        assert!(bath.charge().abs() <= 1e-6 * dissolved.max(1e-3), "{bath:?} has a charge of {}", bath.charge());
        let sites: f64 = result.bath.sites.iter().map(|(_, share)| share).sum();
        assert!((sites - 1.0).abs() < 1e-9, "{:?}", result.bath.sites);
        let conductivities = [result.fresh.ec_ms_cm(), result.bath.solution.ec_ms_cm()];
        assert!(conductivities.iter().all(|ec| *ec >= 0.0 && ec.is_finite()), "{conductivities:?}");
    }
    for step in rows(&json["steps"]) {
        assert!(number(&step["water_l"]) >= 0.0 && number(&step["hours"]) >= 0.0, "{step}");
    }
    assert!(number(&json["water_l"]) >= 0.0 && number(&json["dry_kg"]) > 0.0, "{json}");
}
