//! Printed figures: rows sum to their printed total, needs are never printed short.

use super::{cases, report};
use proptest::prelude::*;
use std::path::Path;
use trayful::plan::plan;
use trayful::report::Format;
use trayful::source::Memory;
use trayful::units::volume::us_liquid_quart;
use trayful::units::{Rounding, UnitSystem, litres, to_litres, us_volume};
use trayful::week::load;

/// The tenths or hundredths of a printed litre or quart, as a whole number of hundredths.
fn hundredths(text: &str) -> u64 {
    let number = text.split(' ').next().unwrap();
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    whole.parse::<u64>().unwrap() * 100 + format!("{decimals:0<2}").parse::<u64>().unwrap()
}

proptest! {
    #![proptest_config(cases())]

    /// The CSV of a text sheet would be circular: the Markdown tables are read back, and
    /// each batch's rows sum to the printed total, which is the loose volume rounded up.
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
        prop_assert_eq!(together[0], "together, loose");
        for (column, exact) in [(2, to_litres(batch.volumes.loose)), (3, batch.volumes.loose.get::<us_liquid_quart>())] {
            let exact = if us { [batch.volumes.loose.get::<us_liquid_quart>(), to_litres(batch.volumes.loose)][column - 2] } else { exact };
            let sum: u64 = rows.iter().map(|row| hundredths(row[column])).sum();
            let step = if rows.iter().all(|row| row[column].split(' ').next().unwrap().split('.').nth(1).is_none_or(|d| d.len() == 1)) { 10 } else { 1 };
            let short = exact * 100.0 - sum as f64;
            prop_assert!(short <= 1e-5, "printed {sum} of {exact}: {sheet}");
            // Equal parts print equal, for at most a step a row.
            prop_assert!(-short < f64::from(step) * (1 + parts.len()) as f64, "printed {sum} of {exact}: {sheet}");
            prop_assert_eq!(hundredths(together[column]), sum, "{}", sheet);
            // Each row is within a step of its share of the printed total.
            for (row, part) in rows.iter().zip(&batch.ingredients) {
                let share = sum as f64 * to_litres(part.loose) / to_litres(batch.volumes.loose);
                prop_assert!((hundredths(row[column]) as f64 - share).abs() < f64::from(step) + 1e-6, "{sheet}");
            }
        }
    }

    /// A need is printed at least as large as it is, a fill at most, each by less than a
    /// step.
    #[test]
    fn needs_print_up_and_fills_print_down(volume in 0.001_f64..5000.0) {
        let exact = trayful::units::in_litres(volume);
        let read = |text: String| trayful::units::volume(&text).map(|parsed| to_litres(parsed.value));
        let step = if volume < 1.0 { 0.01 } else { 0.1 };
        let needed = read(litres(exact, Rounding::Up)).unwrap();
        prop_assert!(needed >= volume - 1e-8 && needed < volume + step + 1e-8);
        if volume > step {
            let given = read(litres(exact, Rounding::Down)).unwrap();
            prop_assert!(given <= volume + 1e-8 && given > volume - step - 1e-8);
        }
        // Tenths of a quart, and of a gallon where there are many.
        let step = if volume < 18.9 { 0.0947 } else { 0.3786 };
        let needed = read(us_volume(exact, Rounding::Up)).unwrap();
        prop_assert!(needed >= volume - 1e-7 && needed < volume + step, "{}", us_volume(exact, Rounding::Up));
        if volume > step {
            let given = read(us_volume(exact, Rounding::Down)).unwrap();
            prop_assert!(given <= volume + 1e-7 && given > volume - step, "{}", us_volume(exact, Rounding::Down));
        }
    }
}
