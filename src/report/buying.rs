//! What to buy, for the sheet and for scripts.

use super::document::{Document, Table};
use super::words::{and, count};
use crate::catalogue::{Ingredient, citation};
use crate::plan::{Buy, Chosen, Filled, PurchaseLine, Purchases};
use crate::stock::{Package, Standing, money};
use crate::units::{Litres, Quantity, UnitSystem, amount, grams, plain};
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// An amount by volume or by weight, in words.
pub(super) fn stuff(stuff: Quantity, rounding: Litres, units: UnitSystem) -> String {
    match stuff {
        Quantity::Volume(volume) => amount(volume, rounding, units),
        Quantity::Mass(mass) => grams(mass),
    }
}

/// The section "To buy".
pub(super) fn section(document: &mut Document, purchases: &Purchases, units: UnitSystem) {
    if purchases.lines.is_empty() {
        return;
    }
    document.heading("To buy");
    let mut table = Table::new(&["ingredient", ">needed", ">at hand", "buy", ">cost", ">left over"]);
    for line in &purchases.lines {
        table.row([
            line.ingredient.name.clone(),
            stuff(line.need, Litres::Needed, units),
            if line.on_hand.size() > 0.0 { stuff(line.on_hand, Litres::Given, units) } else { String::new() },
            what_to_buy(line, units),
            match &line.buy {
                Buy::Nothing => String::new(),
                Buy::Packages { cost: Some(cost), .. } => money(*cost),
                Buy::Packages { .. } | Buy::Loose { .. } => "?".to_owned(),
            },
            stuff(line.left_over, Litres::Given, units),
        ]);
    }
    if let Some(total) = purchases.total {
        table.row([String::from("total"), String::new(), String::new(), String::new(), money(total)]);
        table.sum = true;
    }
    document.table(table.without_empty_columns());
    document.paragraph(costs(purchases));
    document.list(notes(purchases));
}

fn what_to_buy(line: &PurchaseLine, units: UnitSystem) -> String {
    match &line.buy {
        Buy::Nothing => "nothing".to_owned(),
        Buy::Packages { picks, .. } => {
            let picks: Vec<String> =
                picks.iter().map(|(package, count)| format!("{count} x {}", package.label)).collect();
            picks.join(" + ")
        }
        Buy::Loose { .. } => stuff(line.lacking, Litres::Needed, units),
    }
}

/// What it comes to, shared out and compared.
fn costs(purchases: &Purchases) -> String {
    let currency = purchases.currency.map(|currency| format!(" {currency}")).unwrap_or_default();
    let with_currency = |amount: Decimal| format!("{}{currency}", money(amount));
    let mut words = Vec::new();
    // Where trays and pots share the cost, no part of it is that of a tray.
    let filled = match purchases.per.filled {
        Filled::Trays => Some("a tray"),
        Filled::Pots => Some("a pot"),
        Filled::Both => None,
    };
    let each = |share: Option<Decimal>| Some(format!("{} {}", money(share?), filled?));
    if let Some(total) = purchases.total {
        let shares: Vec<String> = [
            each(purchases.per_tray()),
            purchases.per_100_plants().map(|share| format!("{} for 100 plants", money(share))),
            purchases.per_litre().map(|share| format!("{} for a litre of mix", money(share))),
        ]
        .into_iter()
        .flatten()
        .collect();
        words.push(format!("To pay: {}, which is {}.", with_currency(total), and(&shares)));
    } else if purchases.known > Decimal::ZERO {
        words.push(format!("To pay: not known in full; known so far: {}.", with_currency(purchases.known)));
    }
    if let Some(used) = purchases.used {
        let tray = each(purchases.used_per_tray());
        let litre = purchases.used_per_litre().map(|share| format!("{} for a litre of mix", money(share)));
        let shares: Vec<String> = tray.into_iter().chain(litre).collect();
        words.push(format!("The mix itself uses up {}: {}.", with_currency(used), and(&shares)));
    }
    if let Some(ready) = &purchases.ready_made {
        let cost = ready.cost.map_or_else(|| "an unknown price".to_owned(), with_currency);
        words.push(format!("As much bought ready-made: {} x {} for {cost}.", ready.count, ready.package.label));
    }
    let known = purchases.alternatives.iter().filter(|other| other.total.is_some()).count();
    if purchases.alternatives.iter().any(|other| !other.chosen) && known > 0 {
        let each: Vec<String> = purchases
            .alternatives
            .iter()
            .map(|other| {
                let cost = other.total.map_or_else(|| "unknown".to_owned(), with_currency);
                format!("{cost} with {}", other.ingredient.name)
            })
            .collect();
        words.push(format!("To pay by choice: {}.", and(&each)));
    }
    words.join(" ")
}

/// What to know about the purchases.
pub(super) fn notes(purchases: &Purchases) -> Vec<String> {
    let mut notes = Vec::new();
    if !purchases.has_stock {
        notes.push(
            "No stock file is named, so nothing counts as at hand and no price is known: write one and name it as \
             `stock:` in the week."
                .to_owned(),
        );
    }
    if purchases.has_stock {
        notes.extend(no_package(purchases));
    }
    for (id, package) in &purchases.contradicted {
        let ingredient = id;
        let Some(says) = package.contradicted(ingredient) else { continue };
        let shown = |amount: Quantity| format!("{} {}", plain(amount.size(), 1), amount.unit());
        notes.push(format!(
            "The {} of {} is said to give {}, but its label says {}: check `gives:`.",
            package.label,
            ingredient.name,
            shown(package.gives),
            shown(says)
        ));
    }
    let chosen = |by: Chosen| -> Vec<&str> {
        let lines = purchases.lines.iter();
        let lines = lines.filter(|line| matches!(&line.buy, Buy::Packages { by: how, .. } if *how == by));
        lines.map(|line| line.ingredient.name.as_str()).collect()
    };
    let (close, unpriced) = (chosen(Chosen::CheapEnough), chosen(Chosen::LeastLeftOver));
    if !close.is_empty() {
        notes.push(format!(
            "There are more ways to buy {} than could be tried: a cheaper one may exist, by less than one package.",
            and(&close)
        ));
    }
    if !unpriced.is_empty() && purchases.has_stock {
        notes.push(format!(
            "Prices of {} are missing: the packages are those that leave the least over.",
            and(&unpriced)
        ));
    }
    for line in &purchases.lines {
        if let Buy::Packages { picks, .. } = &line.buy {
            notes.extend(picks.iter().filter_map(|(package, _)| standing(package, &line.ingredient.name)));
        }
    }
    notes
}

/// What cannot be bought in packages, and what to do about it.
pub(super) fn no_package(purchases: &Purchases) -> Vec<String> {
    let of = |wanted: bool| {
        purchases.unpackaged().filter(move |line| matches!(line.buy, Buy::Loose { unlike } if unlike == wanted))
    };
    let none: Vec<&str> = of(false).map(|line| line.ingredient.name.as_str()).collect();
    let mut notes = Vec::new();
    if !none.is_empty() {
        notes.push(format!(
            "No package of {} is known, so the total cannot be told: add {} under `packages:` of the stock file, or \
             write what you have under `on_hand:`.",
            and(&none),
            if none.len() == 1 { "one" } else { "them" }
        ));
    }
    notes.extend(of(true).map(|line| unlike(&line.ingredient, line.need)));
    notes
}

/// A need by weight of what is counted by volume, or the other way, and what cures it.
pub(super) fn unlike(ingredient: &Ingredient, need: Quantity) -> String {
    let (needed, known) =
        if need.grams().is_some() { ("weight", "volume") } else { ("volume, by the spoon or scoop", "weight") };
    let name = &ingredient.name;
    format!(
        "{name} is needed by {needed}, but the stock file counts it by {known}. Weigh ten level tablespoons of yours \
         (150 mL); the grams divided by 0.15 are its density. Write `ingredients: {{{name}: {{dry_density: ... g/L}}}}` \
         in the stock file, and the two are counted together."
    )
}

/// Whose figure the contents of a package are, where it is not the user's.
fn standing(package: &Package, ingredient: &str) -> Option<String> {
    match &package.standing {
        Standing::Own => None,
        Standing::Loosened(factor) => Some(format!(
            "A {} of {ingredient} is counted at {factor} loose litres for each compressed one (1.67 to 2 is printed): \
             measure yours.",
            package.label
        )),
        Standing::BuiltIn { range, from } => {
            let source = citation(from).map(|found| found.standing.as_str()).unwrap_or("no source");
            Some(format!(
                "A {} of {ingredient} is taken to give {} {}; {range} are said ({source}). Write what yours gives under \
                 `packages:` of a stock file.",
                package.label,
                plain(package.gives.size(), 1),
                package.gives.unit()
            ))
        }
    }
}

/// Missing prices, to watch out for.
pub(super) fn cautions(purchases: &Purchases) -> Vec<String> {
    let unpriced: Vec<&str> = purchases.unpriced().map(|id| id.name.as_str()).collect();
    if unpriced.is_empty() || !purchases.has_stock {
        return Vec::new();
    }
    vec![format!(
        "The price of {} is missing for {}: the total cannot be told.",
        count(unpriced.len() as u64, "package", "packages"),
        and(&unpriced)
    )]
}

/// The purchases for scripts.
pub(super) fn purchases_json(purchases: &Purchases) -> Value {
    let paid = |amount: Option<Decimal>| amount.map(money);
    let lines: Vec<Value> = purchases.lines.iter().map(|line| line_json(line)).collect();
    let alternatives: Vec<Value> = purchases
        .alternatives
        .iter()
        .map(|other| {
            json!({
                "use": other.ingredient.name,
                "chosen": other.chosen,
                "need_l": crate::units::to_litres(other.need),
                "total": paid(other.total),
            })
        })
        .collect();
    let ready = purchases.ready_made.as_ref();
    json!({
        "currency": purchases.currency.map(|currency| currency.to_string()),
        "lines": lines,
        "total": paid(purchases.total),
        "known_so_far": money(purchases.known),
        "per_tray": paid(purchases.per_tray()),
        "per_100_plants": paid(purchases.per_100_plants()),
        "per_litre": paid(purchases.per_litre()),
        "used_total": paid(purchases.used),
        "used_per_tray": paid(purchases.used_per_tray()),
        "used_per_litre": paid(purchases.used_per_litre()),
        "ready_made_total": ready.and_then(|ready| paid(ready.cost)),
        "ready_made": ready.map(|ready| package_json(&ready.package, ready.count)),
        "alternatives": alternatives,
        "notes": notes(purchases),
    })
}

fn line_json(line: &PurchaseLine) -> Value {
    let (packages, cost) = match &line.buy {
        Buy::Packages { picks, cost, .. } => {
            (picks.iter().map(|(package, count)| package_json(package, *count)).collect(), cost.map(money))
        }
        Buy::Nothing => (Vec::new(), Some(money(Decimal::ZERO))),
        Buy::Loose { .. } => (Vec::new(), None),
    };
    json!({
        "ingredient": line.ingredient.name,
        "need_l": line.need.litres(),
        "need_g": line.need.grams(),
        "on_hand_l": line.on_hand.litres(),
        "on_hand_g": line.on_hand.grams(),
        "to_buy_l": line.lacking.litres(),
        "to_buy_g": line.lacking.grams(),
        "packages": packages,
        "cost": cost,
        "left_over_l": line.left_over.litres(),
        "left_over_g": line.left_over.grams(),
    })
}

fn package_json(package: &Package, count: u64) -> Value {
    let cost = package.price.and_then(|price| price.checked_mul(Decimal::from(count)));
    json!({
        "label": package.label,
        "count": count,
        "gives_l": package.gives.litres(),
        "gives_g": package.gives.grams(),
        "price": package.price.map(money),
        "cost": cost.map(money),
    })
}

/// The purchases for a spreadsheet: ingredient, package, count, litres, grams, cost.
pub(super) fn rows(purchases: &Purchases) -> Vec<[String; 6]> {
    let mut rows = Vec::new();
    for line in &purchases.lines {
        let name = line.ingredient.name.clone();
        let number = |amount: Option<f64>| amount.map(|amount| plain(amount, 6)).unwrap_or_default();
        match &line.buy {
            Buy::Nothing => {}
            Buy::Packages { picks, .. } => {
                for (package, count) in picks {
                    let total = package.gives.of_size(package.gives.size() * *count as f64);
                    let cost = package.price.and_then(|price| price.checked_mul(Decimal::from(*count)));
                    rows.push([
                        name.clone(),
                        package.label.clone(),
                        count.to_string(),
                        number(total.litres()),
                        number(total.grams()),
                        cost.map(money).unwrap_or_default(),
                    ]);
                }
            }
            Buy::Loose { .. } => rows.push([
                name,
                String::new(),
                String::new(),
                number(line.lacking.litres()),
                number(line.lacking.grams()),
                String::new(),
            ]),
        }
    }
    rows
}
