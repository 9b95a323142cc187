//! Printed figures: rows sum to their printed total, needs are never printed short.

use super::{cases, report};
use proptest::prelude::*;
use std::path::Path;
use trayful::plan::plan;
use trayful::report::Format;
use trayful::source::Memory;
use trayful::units::{Liquid, Mass, Measure, Rounding, UnitSystem, mass, mass::gram, to_litres, volume};
use trayful::week::load;

/// What is printed, in litres: one measure, or several as in `1 cup + 2 tbsp`.
fn printed(text: &str) -> f64 {
    let measures = text.split(" + ").filter(|words| !words.starts_with("0 ") && !words.starts_with("0.0 "));
    measures.map(|words| volume(words).map_or(0.0, |read| to_litres(read.value))).sum()
}

/// A step of a column, in litres: a tablespoon beside cups, else the last decimal of its unit.
fn step(rows: &[Vec<&str>], column: usize) -> f64 {
    let decimals = rows.iter().map(|row| row[column].split(' ').next().unwrap().split('.').nth(1).map_or(0, str::len));
    let decimals = i32::try_from(decimals.max().unwrap()).unwrap();
    let unit = ["US qt", "cu ft", "L"].iter().find(|unit| rows.iter().all(|row| row[column].ends_with(*unit)));
    unit.map_or_else(|| printed("1 tbsp"), |unit| printed(&format!("1 {unit}")) * 0.1_f64.powi(decimals))
}

proptest! {
    #![proptest_config(cases())]

    /// The CSV of a text sheet would be circular: the Markdown tables are read back, and
    /// each row is what is needed rounded up, and the printed total is the sum of what is printed.
    #[test]
    fn printed_rows_sum_to_the_printed_total(
        parts in prop::collection::vec((1_u32..40, prop::sample::select(vec!["", ".5", ".25", "/3", "/7"])), 2..6),
        cells in 1_u64..500,
        kept in 60_u32..=100,
        us in prop::bool::ANY,
    ) {
        let names = ["peat", "perlite", "vermiculite", "castings", "pine bark", "compost"];
        let listed: Vec<String> =
            parts.iter().zip(names).map(|((whole, rest), name)| format!("{name}: {whole}{rest}")).collect();
        let files = Memory::default()
            .with("week.yaml", format!(
                "week: w\nrecipe: own.yaml\nfill: sown cells\nsowings: [{{crop: leek, cells: {cells}, tray: 72-cell}}]\n"
            ))
            .with("own.yaml", format!("recipe: own\nparts: {{{}}}\nyield: {kept} %\n", listed.join(", ")));
        let loaded = load(Path::new("week.yaml"), &files, &[]).unwrap();
        let plan = plan(&loaded).unwrap();
        let units = if us { UnitSystem::Us } else { UnitSystem::Metric };
        let sheet = report(&plan, &loaded, Format::Markdown, units);
        let rows: Vec<Vec<&str>> = sheet
            .lines()
            .skip_while(|line| !line.starts_with("| measure out"))
            .skip(2)
            .take_while(|line| line.starts_with('|'))
            .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
            .collect();
        let batch = &plan.mixes.batches[0];
        prop_assert!(rows.len() > parts.len(), "{}", sheet);
        let (rows, together) = (&rows[..parts.len()], &rows[parts.len()]);
        prop_assert_eq!(together[0], "together, each rounded up");
        // Beside litres stand US measures; beside these nothing.
        prop_assert_eq!(together.len(), if us { 3 } else { 4 });
        for column in 2..together.len() {
            let (sum, step) = (rows.iter().map(|row| printed(row[column])).sum::<f64>(), step(rows, column));
            prop_assert!((printed(together[column]) - sum).abs() < 1e-9, "{}", sheet);
            for (row, part) in rows.iter().zip(&batch.ingredients) {
                let more = printed(row[column]) - to_litres(part.loose);
                prop_assert!((-1e-7..step + 1e-7).contains(&more), "{more}: {sheet}");
            }
        }
    }

    /// A need is printed at least as large as it is, a fill at most, each by less than a step: in litres
    /// and in whatever US units measure so much (NIST Handbook 44, Appendix C), by weight too.
    #[test]
    fn needs_print_up_and_fills_print_down(size in prop_oneof![0.001_f64..0.02, 0.02_f64..1.0, 1.0_f64..20.0, 20.0_f64..5000.0]) {
        let exact = trayful::units::in_litres(size);
        let us_step = match size {
            // Hundredths or near eighths of a teaspoon of 4.929 mL, then its quarters.
            _ if size < 0.004_928 => 0.000_05 + 0.06 * size,
            _ if size < 0.014_786 => 0.001_233,
            _ if size < 0.2366 => 0.0050,
            _ if size < 0.9464 => 0.0148,
            _ if size < 18.92 => 0.0947,
            _ => 0.3786,
        };
        for (system, step) in [(UnitSystem::Metric, if size < 1.0 { 0.01 } else { 0.1 }), (UnitSystem::Us, us_step)] {
            for shown in [|of, way, system| Measure::shown(of, way, system), |of, way, system| Liquid(of).shown(way, system)] {
                let words = shown(exact, Rounding::Up, system);
                let needed = printed(&words);
                prop_assert!(needed >= size - 1e-7 && needed < size + step + 1e-7, "{size}: {words}");
                let words = shown(exact, Rounding::Down, system);
                let given = printed(&words);
                prop_assert!(given <= size + 1e-7 && given > size - step - 1e-7, "{size}: {words}");
            }
            let weight = Mass::new::<gram>(size);
            let read = |way| mass(&weight.shown(way, system)).map_or(0.0, |mass| mass.get::<gram>());
            prop_assert!(read(Rounding::Up) >= size - 1e-6 && read(Rounding::Down) <= size + 1e-6, "{size} g");
        }
    }
}
