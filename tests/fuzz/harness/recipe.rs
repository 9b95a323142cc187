//! A recipe: mixes of several volumes for several crops are the same mix, only more of it.

use super::week::check_plan;
use super::{accepted, files, near, number, one_of, rows};
use serde_json::Value;
use std::path::Path;
use trayful::plan::{plan, plan_for};
use trayful::report::{PlanReport, Report};
use trayful::source::Memory;
use trayful::units::in_litres;
use trayful::week::{Inputs, Request};

pub fn run(bytes: &[u8]) {
    let files = files("own.yaml", bytes);
    accepted(Inputs::new(&files).check(Path::new("own.yaml")));
    let crop = [None, Some("kale"), Some("lavender")][one_of(3, bytes)];
    scaled(&files, crop);
    let trays = ["72-cell=4".to_owned(), "9 cm pot=30".to_owned()];
    let request = Request { recipe: "own.yaml", trays: &trays, make: None, crop };
    if let Some(requested) = accepted(Inputs::new(&files).request(&request))
        && let Some(plan) = accepted(plan(&requested.loaded))
    {
        check_plan(&plan, &requested.loaded);
    }
}

/// To make it seven times as much, twice, is to make it 49 times as much.
fn scaled(files: &Memory, crop: Option<&str>) {
    let request = Request { recipe: "own.yaml", trays: &[], make: Some("3 L"), crop };
    let Some(requested) = accepted(Inputs::new(files).request(&request)) else { return };
    let made = |litres: f64| {
        let plan = accepted(plan_for(&requested.loaded, Some((in_litres(litres), requested.crop.as_ref())), true))?;
        Some(PlanReport { plan: &plan, week: &requested.loaded.week }.value())
    };
    let made = [3.0, 21.0, 147.0].map(made);
    assert!(made.iter().all(Option::is_some) || made.iter().all(Option::is_none), "one volume of it is refused");
    let made: Vec<&Value> = made.iter().flatten().collect();
    for pair in made.windows(2) {
        let (less, more) = (pair[0], pair[1]);
        let (less, more) = (rows(&less["batches"]), rows(&more["batches"]));
        assert_eq!(less.len(), more.len());
        for (less, more) in less.iter().zip(more) {
            assert!(near(number(&less["mix_l"]) * 7.0, number(&more["mix_l"])), "{less}{more}");
            check_seven_times(&less["ingredients"], &more["ingredients"], &["loose_l"]);
            check_seven_times(&less["doses"], &more["doses"], &["grams", "ml"]);
        }
    }
}

fn check_seven_times(less: &Value, more: &Value, figures: &[&str]) {
    assert_eq!(rows(less).len(), rows(more).len(), "{less}{more}");
    for (less, more) in rows(less).iter().zip(rows(more)) {
        assert_eq!(less["name"], more["name"]);
        for figure in figures {
            let size = |row: &Value| row[figure].as_f64().unwrap_or(0.0);
            assert!(near(size(less) * 7.0, size(more)), "{less}{more}");
        }
    }
}
