//! What to buy, for the sheet and for scripts.

use super::Remark;
use super::document::{Document, Table};
use super::remark::{on, remark};
use super::words::{and, capital, count, fact};
use crate::catalogue::{Handle, Ingredient, Role, citation};
use crate::coir::{dry_kg_of_loose, dry_kg_of_sold};
use crate::plan::{Alternative, Buy, HardlyNeeded, PurchaseLine, Purchases};
use crate::stock::{Balance, Package, Standing, money};
use crate::units::customary::KILOGRAM;
use crate::units::volume::{cubic_foot, litre, us_liquid_quart};
use crate::units::{Measure, Needed, Quantity, Rounding, UnitSystem, Volume, plain, to_litres};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use serde_json::{Value, json};

/// The table of what to buy; and what is there and what it comes to, in words.
pub(super) fn section(document: &mut Document, purchases: &Purchases, units: UnitSystem) -> Vec<String> {
    if purchases.lines.is_empty() {
        return Vec::new();
    }
    let row = |line: &PurchaseLine| {
        let amounts = Needed::beside(line.need, &[line.on_hand, line.left_over], units);
        let cost = line.cost.map_or_else(|| "?".to_owned(), money);
        let buy = match line.buy {
            Buy::Loose | Buy::LooseUnlike => amounts.up(line.lacking),
            _ => line.packages.iter().map(ToString::to_string).collect::<Vec<_>>().join(" + "),
        };
        let on_hand = if line.on_hand.size() > 0.0 { amounts.down(line.on_hand) } else { String::new() };
        [format!("{buy}, {}", line.ingredient.name), amounts.up(line.need), on_hand, cost, amounts.down(line.left_over)]
    };
    let (enough, lacking): (Vec<_>, Vec<_>) = purchases.lines.iter().partition(|line| line.buy == Buy::Nothing);
    let table = Table::of(["buy", ">needed", ">at hand", ">cost", ">left over"], lacking.into_iter().map(row));
    document.table(table.without_empty_columns());
    let enough = enough.into_iter().map(|line| {
        let amounts = Needed::beside(line.need, &[line.on_hand], units);
        let (need, there) = (amounts.up(line.need), amounts.enough(line.on_hand));
        // The unit that both have is told once.
        let unit = there.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        format!("{} {} of {there}", line.ingredient.name, need.strip_suffix(unit).unwrap_or(&need))
    });
    let enough = enough.collect::<Vec<_>>().join(", ");
    let enough = (!enough.is_empty()).then(|| format!("At hand: {enough}."));
    enough.into_iter().chain(Some(costs(purchases, units)).filter(|costs| !costs.is_empty())).collect()
}

/// What is needed in all, where nothing is known of what is at hand; coir also as it is weighed.
pub(super) fn needed_in_all(document: &mut Document, purchases: &Purchases, units: UnitSystem) {
    let row = |line: &PurchaseLine| {
        let litres = line.need.litres().filter(|_| line.ingredient.is(Role::Coir));
        let kg = litres.map(|litres| dry_kg_of_loose(litres) / dry_kg_of_sold(1.0));
        let kg = kg.map(|kg| format!("about {} as sold", KILOGRAM.shown(kg, 1, units))).unwrap_or_default();
        [line.ingredient.name.clone(), line.need.shown(Rounding::Up, units), kg]
    };
    let table = Table::of(["needed in all", ">amount", "dry"], purchases.lines.iter().map(row));
    document.table(table.without_empty_columns());
}

/// What is needed set against what is at hand, and what is lacking or left.
pub(super) fn balances(lines: &[Balance], units: UnitSystem) -> Table {
    let row = |line: &Balance| {
        let amounts = Needed::beside(line.need, &[line.on_hand], units);
        let [on_hand, lacking, left] = if line.is_short() {
            [amounts.down(line.on_hand), amounts.up(line.lacking), String::new()]
        } else {
            [amounts.enough(line.on_hand), String::new(), amounts.down(line.left_with(0.0))]
        };
        [line.ingredient.name.clone(), amounts.up(line.need), on_hand, lacking, left]
    };
    Table::of(["ingredient", ">needed", ">at hand", ">lacking", ">left"], lines.iter().map(row)).without_empty_columns()
}

/// What it comes to, shared out and compared.
fn costs(purchases: &Purchases, units: UnitSystem) -> String {
    let currency = purchases.currency.map(|currency| format!(" {currency}")).unwrap_or_default();
    let with_currency = |amount: Decimal| format!("{}{currency}", money(amount));
    let mut words = Vec::new();
    let per = &purchases.per;
    let filled = Some(if per.trays > 0 { "a tray" } else { "a pot" });
    let (litres, of_mix) = match units {
        UnitSystem::Metric => (1.0, "for a litre of mix"),
        UnitSystem::Us if per.mix_l < Volume::new::<cubic_foot>(1.0).get::<litre>() => {
            (Volume::new::<us_liquid_quart>(1.0).get::<litre>(), "for a quart of mix")
        }
        UnitSystem::Us => (Volume::new::<cubic_foot>(1.0).get::<litre>(), "for a cubic foot of mix"),
    };
    let shares = |tray: Option<Decimal>, plants: Option<Decimal>, mix: Option<Decimal>| {
        let mix = mix.and_then(|a_litre| a_litre.checked_mul(Decimal::from_f64(litres)?));
        let each = [(tray, filled), (plants, Some("for 100 plants")), (mix, Some(of_mix))];
        let shares = each.into_iter().filter_map(|(share, of)| Some(format!("{} {}", money(share?), of?)));
        let shares = and(shares);
        if shares.is_empty() { shares } else { format!(" ({shares})") }
    };
    if purchases.total.is_some_and(|total| total.is_zero()) {
        words.push("To pay: nothing.".to_owned());
    } else if let Some(total) = purchases.total {
        let shares = shares(per.per_tray(Some(total)), per.per_100_plants(Some(total)), per.per_litre(Some(total)));
        words.push(format!("To pay: {}{shares}.", with_currency(total)));
    } else if purchases.has_stock {
        let why = no_price(&purchases.without_cost().collect::<Vec<_>>());
        let known = Some(purchases.known).filter(|known| *known > Decimal::ZERO);
        let known = known.map(|known| format!("; known so far: {}", with_currency(known))).unwrap_or_default();
        words.push(format!("To pay: not known in full, since {why}{known}."));
    }
    if let Some(used) = purchases.used {
        let shares = shares(per.per_tray(Some(used)), None, None);
        words.push(format!("Used up: {}{shares}.", with_currency(used)));
    } else if purchases.has_stock && purchases.total.is_some() && !purchases.used_unpriced.is_empty() {
        words.push(format!("What the mix uses up is not known: {}.", no_price(&purchases.used_unpriced)));
    }
    if let Some(ready) = &purchases.ready_made {
        let cost = ready.cost().map_or_else(|| "an unknown price".to_owned(), with_currency);
        words.push(format!("Ready-made: {ready} for {cost}."));
    }
    let others = &purchases.alternatives;
    if others.iter().any(|other| !other.chosen && other.total.is_some()) {
        let others = others.iter().filter(|other| !other.chosen);
        let each = others.map(|other| match other.total {
            Some(total) => format!("{} with {}", with_currency(total), other.ingredient.name),
            None => format!("unknown with {}", other.ingredient.name),
        });
        words.push(format!("Instead: {}.", and(each)));
    }
    words.join(" ")
}

/// Why a cost cannot be told.
fn no_price(of: &[impl AsRef<str>]) -> String {
    format!("no price is known of {}", and(of))
}

/// What is bought in some way.
fn bought(purchases: &Purchases, how: Buy) -> Vec<&Handle<Ingredient>> {
    purchases.lines.iter().filter(|line| line.buy == how).map(|line| &line.ingredient).collect()
}

/// What to know about the purchases.
pub(super) fn notes(purchases: &Purchases, units: UnitSystem) -> Vec<Remark> {
    let mut notes = Vec::new();
    if purchases.has_stock {
        notes.extend(no_package(purchases, units));
    } else {
        notes.push(Remark::new(
            "no-stock-file",
            "No stock file is named, so nothing counts as at hand and no price is known: write one and name it as \
             `stock:`.",
        ));
    }
    notes.extend(purchases.contradicted.iter().filter_map(|(id, package)| contradicted(id, package, units)));
    notes.extend(on("cheapest-not-proved", &bought(purchases, Buy::CheapEnough), |names| {
        format!(
            "There are more ways to buy {names} than could be tried: a cheaper one may exist, by less than one package."
        )
    }));
    let unpriced = |how| if purchases.has_stock { bought(purchases, how) } else { Vec::new() };
    notes.extend(on("least-left-over", &unpriced(Buy::LeastLeftOver), |names| {
        format!("Prices of {names} are missing: the packages are those that leave the least over.")
    }));
    notes.extend(on("least-left-over-not-proved", &unpriced(Buy::LittleLeftOver), |names| {
        format!(
            "Prices of {names} are missing, and there are more ways to buy them than could be tried: others may leave \
             less over."
        )
    }));
    notes.extend(purchases.hardly_needed.iter().map(|package| hardly_needed(package, units)));
    for line in &purchases.lines {
        notes.extend(line.packages.iter().filter_map(|pick| standing(&pick.package, &line.ingredient.name, units)));
    }
    notes
}

/// A package that is bought for next to nothing, and what saves it.
fn hardly_needed(package: &HardlyNeeded, units: UnitSystem) -> Remark {
    let HardlyNeeded { ingredient, label, amount, for_scoops } = package;
    let saves = match for_scoops {
        true => "no more than measuring by the scoop adds. Fill the last scoops a little scant, and you save it",
        false => "a little less for spill (`spill:`) or a few plants fewer save it",
    };
    remark!(
        "hardly-needed",
        "Of one {label} of {} only {} is needed: {saves}.",
        ingredient.name,
        amount.shown(Rounding::Up, units)
    )
}

/// A package whose label says another amount than it is said to give.
fn contradicted(ingredient: &Ingredient, package: &Package, units: UnitSystem) -> Option<Remark> {
    let says = package.contradicted(ingredient)?;
    Some(remark!(
        "label-contradicts",
        "The {} of {} is said to give {}, but its label says {}: check `gives:`.",
        package.label,
        ingredient.name,
        holds(package.gives, units),
        holds(says, units)
    ))
}

/// What a package holds, to the tenth.
fn holds(amount: Quantity, units: UnitSystem) -> String {
    let metric = || format!("{} {}", plain(amount.size(), 1), amount.unit());
    if units == UnitSystem::Metric { metric() } else { fact(amount, units) }
}

/// What cannot be bought in packages, and what to do about it.
pub(super) fn no_package(purchases: &Purchases, units: UnitSystem) -> Vec<Remark> {
    let none = bought(purchases, Buy::Loose);
    let none = on("no-package", &none, |names| {
        let them = if none.len() == 1 { "one" } else { "them" };
        format!(
            "No package of {names} is known, so the total cannot be told: add {them} under `packages:` of the stock file, \
             or write what you have under `on_hand:`."
        )
    });
    let otherwise = purchases.lines.iter().filter(|line| line.buy == Buy::LooseUnlike);
    none.into_iter().chain(otherwise.map(|line| unlike(&line.ingredient, line.need, units))).collect()
}

/// A need by weight of what is counted by volume, or the other way, and what cures it.
pub(super) fn unlike(ingredient: &Ingredient, need: Quantity, units: UnitSystem) -> Remark {
    let (needed, known) =
        if need.grams().is_some() { ("weight", "volume") } else { ("volume, by the spoon or scoop", "weight") };
    let name = &ingredient.name;
    let (weighed, density) = units.either(
        ("(150 mL); the grams divided by 0.15 are its density", "g/L"),
        ("(5/8 cup); the ounces divided by 0.625 are its density", "oz/cup"),
    );
    remark!(
        "counted-otherwise",
        "{} is needed by {needed}, but the stock file counts it by {known}. Weigh ten level tablespoons of yours \
         {weighed}. Write `ingredients: {{{name}: {{dry_density: ... {density}}}}}` in the stock file, and the two are counted together.",
        capital(name)
    )
}

/// Whose figure the contents of a package are, where it is not the user's.
fn standing(package: &Package, ingredient: &str, units: UnitSystem) -> Option<Remark> {
    let label = &package.label;
    let litres = units.either("litres", "cubic feet");
    match &package.standing {
        Standing::Own => None,
        Standing::Loosened(factor) => Some(remark!(
            "loosening-assumed",
            "A {label} of {ingredient} is counted at {factor} loose {litres} for each compressed one (1.67 to 2 is \
             printed): measure yours."
        )),
        Standing::BuiltIn { range, from } => Some(remark!(
            "contents-assumed",
            "A {label} of {ingredient} is taken to give {}; {} are said ({}). Write what yours gives under \
             `packages:` of a stock file.",
            holds(package.gives, units),
            units.prose(range),
            citation(from).map_or("no source", |found| found.standing.as_str())
        )),
    }
}

/// Missing prices, to watch out for.
pub(super) fn cautions(purchases: &Purchases) -> Option<Remark> {
    let unpriced: Vec<_> = purchases.unpriced().filter(|_| purchases.has_stock).collect();
    on("price-missing", &unpriced, |names| {
        let packages = count(unpriced.len() as u64, "package", "packages");
        format!("The price of {packages} is missing for {names}: the total cannot be told.")
    })
}

/// The purchases for scripts.
pub(super) fn purchases_json(purchases: &Purchases) -> Value {
    let paid = |amount: Option<Decimal>| amount.map(money);
    let alternative = |other: &Alternative| {
        let (need_l, total) = (to_litres(other.need), paid(other.total));
        json!({"use": other.ingredient, "chosen": other.chosen, "need_l": need_l, "total": total, "unpriced": other.unpriced})
    };
    json!({
        "currency": purchases.currency.map(|currency| currency.to_string()),
        "lines": purchases.lines,
        "total": paid(purchases.total),
        "known_so_far": money(purchases.known),
        "unpriced": purchases.without_cost().collect::<Vec<_>>(),
        "per_tray": paid(purchases.per.per_tray(purchases.total)),
        "per_100_plants": paid(purchases.per.per_100_plants(purchases.total)),
        "per_litre": paid(purchases.per.per_litre(purchases.total)),
        "used_total": paid(purchases.used),
        "used_unpriced": purchases.used_unpriced,
        "used_per_tray": paid(purchases.per.per_tray(purchases.used)),
        "used_per_litre": paid(purchases.per.per_litre(purchases.used)),
        "ready_made_total": purchases.ready_made.as_ref().and_then(|ready| paid(ready.cost())),
        "ready_made": purchases.ready_made,
        "alternatives": purchases.alternatives.iter().map(alternative).collect::<Vec<_>>(),
        "notes": notes(purchases, UnitSystem::Metric),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{CostShares, Pick};
    use crate::units::in_litres;

    fn money_of(hundredths: i64) -> Decimal {
        Decimal::new(hundredths, 2)
    }

    /// 24.00 over trays and pots, 96 plants and 20 L; the mix uses up 10.00 of it.
    fn purchases(trays: u64, pots: u64) -> Purchases {
        let per = CostShares { trays, pots, plants: 96, mix_l: 20.0 };
        Purchases {
            has_stock: true,
            total: Some(money_of(2400)),
            used: Some(money_of(1000)),
            per,
            ..Purchases::default()
        }
    }

    #[test]
    fn costs_are_shared_out_in_words() {
        assert_eq!(
            costs(&purchases(0, 4), UnitSystem::Metric),
            "To pay: 24.00 (6.00 a pot, 25.00 for 100 plants and 1.20 for a litre of mix). Used up: 10.00 (2.50 a \
             pot)."
        );
        let both = costs(&purchases(2, 2), UnitSystem::Metric);
        assert!(both.starts_with("To pay: 24.00 (25.00 for 100 plants and 1.20 for a litre"), "{both}");
        assert!(both.ends_with(" Used up: 10.00."), "{both}");
        let each = |trays, pots| {
            let json = purchases_json(&purchases(trays, pots));
            ["per_tray", "used_per_tray"].map(|key| json[key].as_str().map(str::to_owned))
        };
        assert_eq!(each(2, 2), [None, None]);
        assert_eq!(each(4, 0), [Some("6.00".to_owned()), Some("2.50".to_owned())]);
        // 0.946352946 L to a quart, 28.316846592 L to a cubic foot: 1.20 a litre is 33.98 a cubic foot.
        assert!(costs(&purchases(0, 4), UnitSystem::Us).contains("and 1.14 for a quart of mix). Used"));
        let more = Purchases { per: CostShares { mix_l: 40.0, ..purchases(0, 4).per }, ..purchases(0, 4) };
        assert!(costs(&more, UnitSystem::Us).contains("and 16.99 for a cubic foot of mix). Used"));
        let peat = crate::catalogue::Catalogue::built_in().ingredients.find("peat").unwrap();
        let used_unpriced = vec![peat.clone()];
        let unused = Purchases { used: None, used_unpriced, ..purchases(4, 0) };
        assert!(
            costs(&unused, UnitSystem::Metric)
                .ends_with("What the mix uses up is not known: no price is known of peat."),
            "{}",
            costs(&unused, UnitSystem::Metric)
        );
        let none = Quantity::Volume(in_litres(0.0));
        let line = PurchaseLine {
            ingredient: peat.clone(),
            need: none,
            on_hand: none,
            lacking: none,
            buy: Buy::Loose,
            packages: Vec::new(),
            cost: None,
            left_over: none,
        };
        let other = |chosen, total, unpriced| Alternative {
            ingredient: peat.clone(),
            chosen,
            need: in_litres(1.0),
            total,
            unpriced,
        };
        let alternatives = vec![other(true, Some(money_of(100)), Vec::new()), other(false, None, vec![peat.clone()])];
        let lines = vec![line];
        let unknown = Purchases { total: None, known: money_of(310), lines, alternatives, ..unused };
        assert_eq!(
            costs(&unknown, UnitSystem::Metric),
            "To pay: not known in full, since no price is known of peat; known so far: 3.10."
        );
    }

    #[test]
    fn what_costs_nothing_is_not_shared_out() {
        let at_hand = Purchases { total: Some(Decimal::ZERO), used: None, ..purchases(4, 0) };
        assert_eq!(costs(&at_hand, UnitSystem::Metric), "To pay: nothing.");
    }

    #[test]
    fn ready_made_mix_is_told_by_its_packages() {
        let gives = Quantity::Volume(in_litres(30.0));
        let package = Package { label: "bag".to_owned(), gives, price: None, standing: Standing::Own };
        let ready_made = Some(Pick { package, count: 2 });
        let told = costs(&Purchases { ready_made, ..Purchases::default() }, UnitSystem::Metric);
        assert_eq!(told, "Ready-made: 2 x bag for an unknown price.");
    }

    #[test]
    fn what_has_no_package_or_no_price_is_named() {
        let catalogue = crate::catalogue::Catalogue::built_in();
        let volume = Quantity::Volume(in_litres(5.0));
        let line = |name, buy, packages| PurchaseLine {
            ingredient: catalogue.ingredients.find(name).unwrap(),
            need: volume,
            on_hand: volume.times(0.0),
            lacking: volume,
            buy,
            packages,
            cost: None,
            left_over: volume.times(0.0),
        };
        let standing = Standing::Loosened(crate::exact::Fraction::whole(2));
        let package = Package { label: "bale".to_owned(), gives: volume, price: None, standing };
        let lines = vec![
            line("peat", Buy::LeastLeftOver, vec![Pick { package, count: 1 }]),
            line("perlite", Buy::Loose, Vec::new()),
        ];
        let purchases = Purchases { has_stock: true, lines, ..Purchases::default() };
        let codes: Vec<&str> = notes(&purchases, UnitSystem::Metric).iter().map(|note| note.code).collect();
        assert_eq!(codes, ["no-package", "least-left-over", "loosening-assumed"]);
        let missing = cautions(&purchases).unwrap().text;
        assert_eq!(missing, "The price of 1 package is missing for peat: the total cannot be told.");
        let none = Purchases { has_stock: false, ..purchases };
        assert_eq!(cautions(&none), None);
    }
}
