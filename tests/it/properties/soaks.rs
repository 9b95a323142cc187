//! The soak of a random week: no water is lost, and no step begins when nobody is there.

use super::some_cases;
use jiff::ZonedDateTime;
use proptest::prelude::*;
use std::path::Path;
use trayful::coir::Action;
use trayful::coir::soak::{LONGEST_BATH_HOURS, LONGEST_RINSE_HOURS};
use trayful::plan::plan_without_comparison;
use trayful::source::Memory;
use trayful::week::load;

const SOAK: [&str; 4] = [
    "sold_as: washed",
    "sold_as: none, salt: calcium nitrate",
    "sold_as: mild, hydrate: water, soaks: 2",
    "sold_as: washed, hydrate: bath, rinses: 3, trial: half",
];

proptest! {
    #![proptest_config(some_cases(24))]

    #[test]
    fn water_is_kept_and_people_sleep(
        trays in 1_u32..40,
        soak in prop::sample::select(&SOAK[..]),
        tub_l in 50_u32..400,
        (from, length) in (0_u16..1439, 120_u16..900),
        (day, hour) in (1_u8..29, 0_u8..24),
        zone in prop::sample::select(&["Europe/Paris", "America/New_York", "Australia/Lord_Howe"][..]),
    ) {
        let to = (from + length) % 1440;
        let week = format!(
            "week: one\nrecipe: everyday\nuse: coir\ntub: {tub_l} L\nscoop: 2 L\nmix_on: 2027-03-{day:02} {hour:02}:45\n\
             time_zone: {zone}\nawake: {:02}:{:02}-{:02}:{:02}\nnot_on: [2027-03-10]\n\
             soak: {{{soak}, coir: {{product: 5 kg block}}}}\n\
             sowings:\n  - {{crop: leek, trays: {trays}, tray: 72-cell}}\n",
            from / 60, from % 60, to / 60, to % 60
        );
        let Ok(loaded) = load(Path::new("w.yaml"), &Memory::default().with("w.yaml", week), &[]) else { return Ok(()) };
        let plan = plan_without_comparison(&loaded).map_err(|fault| TestCaseError::fail(fault.to_string()))?;
        let Some(soaking) = plan.soak else { return Ok(()) };
        let Some(sheet) = &soaking.sheet else { return Ok(()) };
        let holds_l = 7.0 * soaking.dry_kg;
        let into: f64 = sheet.course.steps.iter().map(|step| step.water_l).sum();
        prop_assert!((sheet.report.waste.drain_l + holds_l - into).abs() < 1e-6 * into);
        prop_assert!((sheet.report.water_l - into).abs() < 1e-6 * into);
        let Some(times) = &soaking.times else { return Ok(()) };
        let mut before: Option<&ZonedDateTime> = None;
        for run in &times.runs {
            prop_assert!(before.is_none_or(|before| *before <= run.begins));
            for (timed, step) in run.steps.iter().zip(&sheet.course.steps) {
                prop_assert!(soaking.soak.awake.holds(&timed.begins), "{}", timed.begins);
                let most = if step.action == Action::Soak { LONGEST_BATH_HOURS } else { LONGEST_RINSE_HOURS };
                prop_assert!((step.hours..=most.max(step.hours)).contains(&timed.hours), "{}", timed.hours);
            }
            before = Some(&run.ends);
        }
        prop_assert!(before.is_some_and(|before| *before <= times.ready));
    }
}
