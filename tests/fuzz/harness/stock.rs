//! A stock file: what it fills, what is bought beside it, and amounts that are taken out and
//! put back byte for byte.

use super::week::check_plan;
use super::{accepted, catalogue, check_forms, files, near};
use std::path::Path;
use std::sync::Arc;
use trayful::catalogue::Catalogue;
use trayful::diagnostic::Problems;
use trayful::plan::{RecipeFilling, fill_recipe, plan, week_filling};
use trayful::report::{FillReport, WeekFillReport};
use trayful::source::{Memory, Original, edited};
use trayful::stock::{Shed, Stock, Use, UsedFor, read, rewrite};
use trayful::units::{Quantity, in_litres, mass};
use trayful::week::{Inputs, Loaded, Request};

const WEEK: &str = "week: beds\nrecipe: everyday\nstock: stock.yaml\nscoop: 2 L\nsowings: [{crop: kale, trays: 4, tray: \
                    72-cell}, {crop: lettuce, plants: 90, tray: 50-cell}]\n";

pub fn run(bytes: &[u8]) {
    let files = files("stock.yaml", bytes).with("week.yaml", WEEK);
    accepted(Inputs::new(&files).check(Path::new("stock.yaml")));
    taken_and_put_back(bytes);
    filled(&files);
    let Some(loaded) = accepted(Inputs::new(&files).week(Path::new("week.yaml"))) else { return };
    if let (Some(stock), Some(plan)) = (&loaded.week.stock, accepted(plan(&loaded))) {
        check_plan(&plan, &loaded);
        let filling = week_filling(&plan.mixes, &stock.on_hand.shed);
        check_forms(&WeekFillReport { filling: &filling, title: &plan.title });
        for line in &filling.lines {
            assert!(line.is_short() || line.on_hand.size() >= line.need.size() * (1.0 - 2e-9), "{line:?}");
        }
    }
}

/// So many trays are filled that one more is not.
fn filled(files: &Memory) {
    let trays = ["72-cell".to_owned()];
    let request = Request { recipe: "everyday", trays: &trays, make: None, crop: None };
    let inputs = Inputs { stock: Some(Path::new("stock.yaml")), ..Inputs::new(files) };
    let Some(requested) = accepted(inputs.request(&request)) else { return };
    let loaded: Loaded = requested.loaded;
    let Some(stock) = loaded.week.stock.clone() else { return };
    let Some(found) = accepted(fill_recipe(&loaded, &stock.on_hand.shed, |_, _| true)) else { return };
    check_filling(&found, &stock.on_hand.shed);
    if let Some(sowing) = loaded.week.sowings.first().filter(|_| !found.tried.is_empty()) {
        check_forms(&FillReport { found: &found, recipe: "everyday", sowing });
    }
}

fn check_filling(found: &RecipeFilling, shed: &Shed) {
    let most = found.tried.first().map(|tried| tried.filling.trays);
    for tried in &found.tried {
        let trays = tried.filling.trays;
        assert!(Some(trays) <= most, "{trays} is more than the best, {most:?}");
        // A part in a billion less is not short.
        let fits = |trays: u64, slack: f64| {
            let mut lines = tried.filling.lines.iter();
            lines.all(|line| {
                let have = shed.at_hand(&line.ingredient, line.each).size();
                line.each.size() * trays as f64 <= have * (1.0 + slack) + slack
            })
        };
        assert!(fits(trays, 1e-8), "{trays} trays are not filled: {:?}", tried.filling);
        assert!(!fits(trays + 1, -1e-8), "one more than {trays} trays is filled: {:?}", tried.filling);
    }
}

/// A third of everything, a seventh of it loose, taken out of the file and put back.
fn taken_and_put_back(bytes: &[u8]) {
    let Some(original) = accepted(Original::of("stock.yaml", bytes.to_vec())) else { return };
    let mut catalogue = catalogue();
    let Some(stock) = of(&original, &mut catalogue) else { return };
    let likes =
        [Quantity::Volume(in_litres(1.0)), mass("1 g").map_or(Quantity::Volume(in_litres(1.0)), Quantity::Mass)];
    let mut shed = stock.on_hand.shed.clone();
    let at_hand = stock.on_hand.shed.ingredients().flat_map(|id| likes.map(|like| (id, shed.at_hand(id, like))));
    let uses: Vec<Use> = at_hand
        .filter(|(_, amount)| amount.size() > 0.0)
        .map(|(id, amount)| Use::new(UsedFor::Covering, id, amount.times(1.0 / 3.0)))
        .collect();
    let before = shed.clone();
    if shed.take(&uses).is_err() {
        // What stands twice in the file was asked for twice: more than there is.
        assert_eq!(shed, before, "refused, and taken all the same");
        return;
    }
    let Ok(new) = rewrite(&original, &stock, &shed, &stock.mixes, &catalogue) else { return };
    let back = edited(&new.bytes, &new.back).map(|(bytes, _)| bytes);
    assert!(back.as_deref() == Some(bytes), "not put back byte for byte: {:?}", String::from_utf8_lossy(&new.bytes));
    let Ok(written) = Original::of("stock.yaml", new.bytes.clone()) else { panic!("what was written is no text") };
    let read = of(&written, &mut catalogue.clone());
    let Some(read) = read else { panic!("what was written is refused: {}", written.source.text) };
    for id in shed.ingredients() {
        for like in likes {
            let (wanted, found) = (shed.at_hand(id, like).size(), read.on_hand.shed.at_hand(id, like).size());
            let written = (wanted - found).abs() < 0.01 || near(wanted, found);
            assert!(written && found <= before.at_hand(id, like).size() + 1e-6, "{}: {found}, not {wanted}", id.name);
        }
    }
}

fn of(original: &Original, catalogue: &mut Catalogue) -> Option<Stock> {
    let problems = Problems::new(Arc::clone(&original.source));
    let stock = read(&original.source, catalogue, &problems);
    accepted(problems.settle(stock)).map(|(stock, _)| stock)
}
