//! What must hold for every week: volumes scale, batches partition, sums agree, nothing
//! is lost in rounding, no order of lines matters, and no bytes make it panic.
//!
//! 64 cases each, or as `PROPTEST_CASES` says.

mod base;
mod behaviour;
mod bytes;
mod coir;
mod numbers;
mod printed;
mod scoops;
mod soaks;
mod trays;
mod trial;
mod weeks;

use proptest::prelude::{ProptestConfig, TestCaseError};
use proptest::test_runner::{FileFailurePersistence, TestRunner};
use std::path::Path;
use trayful::diagnostic::{Rejected, render as render_faults};
use trayful::plan::{Plan, plan};
use trayful::report::{Format, PlanReport, Style, render};
use trayful::source::Memory;
use trayful::units::UnitSystem;
use trayful::week::{Loaded, load};

/// 64 cases, or as `PROPTEST_CASES` says.
pub fn cases() -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(64);
    some_cases(cases)
}

/// So many cases; a counterexample is kept beside the test and tried first from then on.
pub fn some_cases(cases: u32) -> ProptestConfig {
    let kept = FileFailurePersistence::WithSource("regressions");
    ProptestConfig { cases, failure_persistence: Some(Box::new(kept)), ..ProptestConfig::default() }
}

/// Every format, twice where units make a difference.
pub const STYLES: [(Format, UnitSystem); 7] = [
    (Format::Text, UnitSystem::Metric),
    (Format::Text, UnitSystem::Us),
    (Format::Markdown, UnitSystem::Metric),
    (Format::Json, UnitSystem::Metric),
    (Format::Csv, UnitSystem::Metric),
    (Format::Html, UnitSystem::Us),
    (Format::Html, UnitSystem::Metric),
];

/// A plan in one form.
pub fn report(plan: &Plan, loaded: &Loaded, format: Format, units: UnitSystem) -> String {
    let report = PlanReport { plan, week: &loaded.week };
    render(&report, Style { format, units, explain: true, ..Style::default() })
}

/// The whole of the program but the terminal: load, plan, report in every form; the
/// faults rendered plain and in colour.
pub fn pipeline(files: &Memory) -> Result<(), String> {
    let faults = |rejected: Rejected| {
        let colored = render_faults(&rejected, true);
        let plain = render_faults(&rejected, false);
        assert!(plain.lines().count() == colored.lines().count(), "{plain}");
        assert!(!plain.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\t')), "{plain:?}");
        plain
    };
    let is_written = |word: &str| files.0.values().any(|bytes| String::from_utf8_lossy(bytes).contains(word));
    let loaded = load(Path::new("week.yaml"), files, &[]).map_err(faults)?;
    let plan = plan(&loaded).map_err(faults)?;
    for (format, units) in STYLES {
        let text = report(&plan, &loaded, format, units);
        assert!(text.ends_with('\n'));
        if format == Format::Json {
            let value: serde_json::Value = serde_json::from_str(&text).unwrap();
            // JSON has no infinity: it would be null.
            assert!(value["totals"]["mix_l"].as_f64().is_some_and(|mix| mix > 0.0), "{}", value["totals"]);
        }
        for figure in [" inf ", "NaN"] {
            // What a user wrote may hold any letters.
            assert!(is_written(figure) || !text.contains(figure), "{text}");
        }
        assert!(!text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\t')), "{text:?}");
    }
    Ok(())
}

/// What a failing property leaves, so that its counterexample is not lost.
#[test]
fn a_counterexample_is_kept_beside_its_test() {
    let folder = tempfile::tempdir().unwrap();
    let source: &'static str = folder.path().join("odd.rs").into_os_string().into_string().unwrap().leak();
    let mut runner = TestRunner::new(ProptestConfig { source_file: Some(source), ..cases() });
    runner
        .run(&(0..100_u8), |number| if number < 50 { Ok(()) } else { Err(TestCaseError::fail("large")) })
        .unwrap_err();
    let kept = std::fs::read_to_string(folder.path().join("odd.regressions")).unwrap();
    assert!(kept.contains("shrinks to 50"), "{kept}");
}
