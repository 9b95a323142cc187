//! A week with its files: a plan in every form whose sums hold, or faults.

use super::{accepted, check_forms, files, near, number, rows, sum};
use serde_json::Value;
use std::path::Path;
use trayful::plan::{Plan, plan};
use trayful::report::PlanReport;
use trayful::season::{Dated, Told, Windows, dates_of};
use trayful::source::Memory;
use trayful::week::{Inputs, Loaded};

pub fn run(bytes: &[u8]) {
    let files = files("week.yaml", bytes);
    accepted(Inputs::new(&files).check(Path::new("week.yaml")));
    planned(&files);
    season(&files);
}

/// Where a season is in order, so is each of its days.
fn season(files: &Memory) {
    const FEW: usize = 4;
    let inputs = Inputs::new(files);
    let Some(season) = accepted(inputs.season(Path::new("week.yaml"))) else { return };
    let Some(windows) = accepted(Windows::of(&season, "2027-02-01".parse().unwrap())) else { return };
    let days: Vec<Dated> = windows.courses.iter().flat_map(|course| course.ways[0].clone()).collect();
    if accepted(plan(&season.loaded)).is_some() {
        for on in dates_of(&days).into_iter().take(FEW) {
            let day = inputs.day(&season, &days, &Told::default(), on).unwrap_or_else(|rejected| panic!("{rejected}"));
            accepted(plan(&day));
        }
    }
}

/// The plan of `week.yaml` and its JSON, if there is one.
pub fn planned(files: &Memory) -> Option<(Loaded, Value)> {
    let loaded = accepted(Inputs::new(files).week(Path::new("week.yaml")))?;
    let plan = accepted(plan(&loaded))?;
    let json = check_plan(&plan, &loaded);
    Some((loaded, json))
}

/// Checks a plan in every form; its JSON.
pub fn check_plan(plan: &Plan, loaded: &Loaded) -> Value {
    let json = check_forms(&PlanReport { plan, week: &loaded.week });
    let (batches, totals) = (rows(&json["batches"]), &json["totals"]);
    for batch in batches {
        let (loose, mix) = (number(&batch["loose_l"]), number(&batch["mix_l"]));
        assert!(loose > 0.0 && mix > 0.0, "{batch}");
        assert!(near(sum(rows(&batch["ingredients"]), "loose_l"), loose), "{batch}");
    }
    assert!(near(sum(batches, "mix_l"), number(&totals["mix_l"])), "{totals}");
    for (list, figures) in [("ingredients", &["loose_l"][..]), ("doses", &["grams", "ml"])] {
        for total in rows(&totals[list]) {
            let of_batches = batches.iter().flat_map(|batch| rows(&batch[list]));
            let same: Vec<&Value> = of_batches.filter(|row| row["name"] == total["name"]).collect();
            for figure in figures {
                let whole = total[figure].as_f64().unwrap_or(0.0);
                assert!(near(sum(same.iter().copied(), figure), whole), "{figure} of {total}: {same:?}");
            }
        }
    }
    let trays = number(&totals["trays"]) + number(&totals["pots"]);
    assert!(near(sum(rows(&json["trays"]), "count"), trays), "{totals}");
    for sowing in rows(&json["sowings"]) {
        assert!(number(&sowing["cells_filled"]) >= number(&sowing["cells"]), "{sowing}");
    }
    check_purchases(plan);
    json
}

/// What is bought and at hand is enough, what is over is the rest, and costs sum up.
fn check_purchases(plan: &Plan) {
    let purchases = &plan.purchases;
    for line in &purchases.lines {
        let (need, on_hand) = (line.need.size(), line.on_hand.size());
        assert!(need >= 0.0 && on_hand >= 0.0 && (need + on_hand).is_finite(), "{line:?}");
        let bought: f64 = line.packages.iter().map(|pick| pick.gives().size()).sum();
        if !line.packages.is_empty() {
            assert!(on_hand + bought >= need * (1.0 - 1e-8) - 1e-8, "too little is bought: {line:?}");
            assert!(near(line.left_over.size(), (on_hand + bought - need).max(0.0)), "{line:?}");
        }
        assert!(line.lacking.size() <= need, "{line:?}");
    }
    if let Some(total) = purchases.total {
        let costs: Option<Vec<_>> = purchases.lines.iter().map(|line| line.cost).collect();
        assert_eq!(costs.map(|costs| costs.into_iter().sum()), Some(total), "{:?}", purchases.lines);
    }
}
