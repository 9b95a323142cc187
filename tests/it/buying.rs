//! What is bought, what it costs and how far what is at hand goes.

use rust_decimal::Decimal;
use serde_json::Value;
use std::cell::RefCell;
use std::path::Path;
use trayful::catalogue::{Catalogue, Handle, Ingredient};
use trayful::cli::{Surroundings, run};
use trayful::diagnostic::{Problems, SourceText};
use trayful::plan::{
    MOST_STEPS, PackageKind, Pick, PurchaseLine, Purchases, choose, filling, line, plan, plan_without_comparison,
};
use trayful::report::{Format, PlanReport, Style, render};
use trayful::source::Memory;
use trayful::stock::{Stock, read};
use trayful::units::{Quantity, fits, in_litres, volume};
use trayful::week::load;

/// A small generator of numbers, the same on every machine (xorshift, Marsaglia 2003).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, bound: u64) -> u64 {
        self.next() % bound
    }
}

fn kinds(of: &[(u64, u64)]) -> Vec<PackageKind> {
    of.iter().map(|&(gives, price)| PackageKind { gives, price }).collect()
}

/// Cost, amount given and number of packages.
fn sums(counts: &[u64], of: &[(u64, u64)]) -> (u64, u64, u64) {
    let pairs = || counts.iter().zip(of);
    (
        pairs().map(|(count, (_, price))| count * price).sum(),
        pairs().map(|(count, (gives, _))| count * gives).sum(),
        counts.iter().sum(),
    )
}

thread_local! {
    /// The tables, read once a test.
    static CATALOGUE: RefCell<Catalogue> = RefCell::new(Catalogue::built_in());
}

fn id_of(ingredient: &str) -> Handle<Ingredient> {
    CATALOGUE.with_borrow(|catalogue| catalogue.ingredients.find(ingredient).unwrap())
}

fn stock_of(text: &str) -> Stock {
    let source = std::sync::Arc::new(SourceText { name: "stock.yaml".to_owned(), text: text.to_owned() });
    let problems = Problems::new(std::sync::Arc::clone(&source));
    let stock = CATALOGUE.with_borrow_mut(|catalogue| read(&source, catalogue, &problems));
    problems.settle(stock).unwrap_or_else(|rejected| panic!("{rejected}")).0
}

fn litres(litres: f64) -> Quantity {
    Quantity::Volume(in_litres(litres))
}

fn buy_line(stock: &str, ingredient: &str, amount: Quantity) -> PurchaseLine {
    line(&(id_of(ingredient), amount), &stock_of(stock))
}

fn counts(line: &PurchaseLine) -> Vec<(String, u64)> {
    line.packages.iter().map(|pick| (pick.package.label.clone(), pick.count)).collect()
}

// Published worked examples, as read in extension leaflets and a textbook.

#[test]
fn three_and_a_half_cubic_yards_of_peat_take_sixteen_bales() {
    // Bales of 3 cubic feet that fluff 2:1: 94.5 / 6 = 15.75, buy 16.
    let need = Quantity::Volume(volume("3.5 cu yd").unwrap().value);
    for bale in ["gives: 6 cu ft", "compressed: 3 cu ft, loosens: 2"] {
        let bought = buy_line(&format!("stock: s\npackages: {{peat: [{{label: bale, {bale}}}]}}\n"), "peat", need);
        assert_eq!(counts(&bought), [("bale".to_owned(), 16)]);
    }
}

#[test]
fn two_thousand_four_hundred_square_feet_take_27_bales() {
    // At 90 square feet a bale.
    assert_eq!(choose(2400, &kinds(&[(90, 1)])).unwrap().counts, [27]);
}

#[test]
fn twenty_five_litres_fill_thirteen_pots() {
    // Of 1.9 litres.
    assert_eq!(fits(in_litres(25.0), in_litres(1.9)), Some(13));
    let stock = stock_of("stock: s\non_hand: {peat: 25 L}\n");
    let each = [(id_of("peat"), litres(1.9))];
    let found = filling(&each, &stock.on_hand.shed, |_| true);
    assert_eq!(found.trays, 13);
    let more = found.lines[0].one_more_lacks.unwrap().size();
    assert!((more - (14.0 * 1.9 - 25.0)).abs() < 1e-9);
}

#[test]
fn exact_multiples_of_customary_packages_are_not_rounded_up() {
    for count in 1..200_u64 {
        for bale in ["1 cu ft", "2.2 cu ft", "3.8 cu ft", "40 dry qt", "3 US gal"] {
            let each = volume(bale).unwrap().value;
            let stock = format!(
                "stock: s\npackages: {{peat: [{{label: bale, gives: {bale}, price: 9}}, {{label: sack, gives: 700 L, price: 9000}}]}}\n"
            );
            let bought = buy_line(&stock, "peat", Quantity::Volume(each * count as f64));
            assert_eq!(counts(&bought), [("bale".to_owned(), count)], "{count} x {bale}");
            assert!(bought.left_over.size() < 1e-6);
        }
    }
}

// Against scipy.optimize.milp: tests/reference/packages_milp.py wrote the table.

#[test]
fn packages_agree_with_the_integer_programme_in_every_row() {
    let table = include_str!("../reference/packages_milp.csv");
    let mut rows = 0;
    for row in table.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let number = |text: &str| text.parse::<u64>().unwrap();
        let of: Vec<(u64, u64)> = cells[1]
            .split(';')
            .map(|package| package.split_once(':').unwrap())
            .map(|(gives, price)| (number(gives), number(price)))
            .collect();
        let need = number(cells[0]);
        let choice = choose(need, &kinds(&of)).unwrap();
        let (cost, given, packages) = sums(&choice.counts, &of);
        assert!(choice.proved, "{row}");
        assert_eq!((cost, given - need, packages), (number(cells[2]), number(cells[3]), number(cells[4])), "{row}");
        rows += 1;
    }
    assert_eq!(rows, 300);
}

/// Cost, amount given, number of packages, and more of the larger ones.
type Rank = (u64, u64, u64, Vec<std::cmp::Reverse<u64>>);

/// Tries every combination; ranks as documented, ties to more of the larger packages.
fn by_trying(need: u64, of: &[(u64, u64)]) -> Vec<u64> {
    let mut order: Vec<usize> = (0..of.len()).collect();
    order.sort_by_key(|&index| (std::cmp::Reverse(of[index].0), of[index].1, index));
    let mut best: Option<(Rank, Vec<u64>)> = None;
    let mut counts = vec![0_u64; of.len()];
    loop {
        let (cost, given, packages) = sums(&counts, of);
        if given >= need {
            let tie = order.iter().map(|&index| std::cmp::Reverse(counts[index])).collect();
            let rank = (cost, given, packages, tie);
            if best.as_ref().is_none_or(|(known, _)| rank < *known) {
                best = Some((rank, counts.clone()));
            }
        }
        // The next combination; none of a kind is ever needed more often than alone.
        let mut place = 0;
        loop {
            if place == of.len() {
                return best.map(|(_, counts)| counts).unwrap_or_default();
            }
            counts[place] += 1;
            if counts[place] <= need.div_ceil(of[place].0) {
                break;
            }
            counts[place] = 0;
            place += 1;
        }
    }
}

#[test]
fn packages_agree_with_trying_every_combination() {
    let mut random = Random(20_270_306);
    for case in 0..4000 {
        let of: Vec<(u64, u64)> = (0..=random.below(3))
            .map(|_| {
                let gives = 1 + random.below(if case % 2 == 0 { 12 } else { 60 });
                // Every third case: prices in step, so that many choices tie; some are free.
                let price = if case % 3 == 0 { gives * 10 } else { random.below(90) };
                (gives, price)
            })
            .collect();
        let need = random.below(140);
        let choice = choose(need, &kinds(&of)).unwrap();
        assert!(choice.proved);
        assert_eq!(choice.counts, by_trying(need, &of), "{need} of {of:?}");
    }
}

/// The least (cost, given, packages) for a need, by a table over every amount.
fn by_table(need: u64, of: &[(u64, u64)]) -> (u64, u64, u64) {
    let mut best = vec![(0, 0, 0); need as usize + 1];
    for level in 1..=need {
        best[level as usize] = of
            .iter()
            .map(|&(gives, price)| {
                let (cost, given, packages) = best[level.saturating_sub(gives) as usize];
                (cost + price, given + gives, packages + 1)
            })
            .min()
            .unwrap();
    }
    best[need as usize]
}

#[test]
fn large_needs_are_reduced_without_losing_the_optimum() {
    let mut random = Random(7);
    for case in 0..400 {
        let of: Vec<(u64, u64)> = (0..=1 + random.below(3))
            .map(|_| {
                let gives = 1 + random.below(40);
                (gives, if case % 3 == 0 { gives * 7 } else { 1 + random.below(300) })
            })
            .collect();
        let need = 3_000 + random.below(20_000);
        let choice = choose(need, &kinds(&of)).unwrap();
        assert!(choice.proved);
        assert_eq!(sums(&choice.counts, &of), by_table(need, &of), "{need} of {of:?}");
    }
}

#[test]
fn no_input_takes_long() {
    let mut random = Random(99);
    for _ in 0..3 {
        let of: Vec<(u64, u64)> = (0..40)
            .map(|_| {
                let gives = 1 + random.below(200_000_000_000);
                (gives, gives / 1_000_000)
            })
            .collect();
        let need = random.below(1_000_000_000_000_000_000);
        let choice = choose(need, &kinds(&of)).unwrap();
        let given: u128 =
            choice.counts.iter().zip(&of).map(|(count, (gives, _))| u128::from(*count) * u128::from(*gives)).sum();
        assert!(given >= u128::from(need));
        assert!(choice.steps > 0 && choice.steps <= MOST_STEPS, "{}", choice.steps);
    }
}

// Properties of a purchase.

/// Ways a person might choose packages: none may be cheaper.
fn greedy_costs(need: u64, of: &[(u64, u64)]) -> Vec<u64> {
    let mut costs: Vec<u64> = of.iter().map(|(gives, price)| need.div_ceil(*gives) * price).collect();
    for by in 0..3 {
        let mut order = of.to_vec();
        // The largest first, the smallest first, the best unit price first.
        order.sort_by_key(|(gives, price)| match by {
            0 => u64::MAX - gives,
            1 => *gives,
            _ => price * 1_000_000 / gives,
        });
        let (mut rest, mut cost) = (need, 0);
        for (place, (gives, price)) in order.iter().enumerate() {
            let count = if place + 1 == order.len() { rest.div_ceil(*gives) } else { rest / gives };
            cost += count * price;
            rest = rest.saturating_sub(count * gives);
        }
        costs.push(cost);
    }
    costs
}

#[test]
fn a_purchase_is_never_short_and_never_dearer_than_a_greedy_one() {
    let mut random = Random(4);
    for _ in 0..1500 {
        let of: Vec<(u64, u64)> =
            (0..=random.below(4)).map(|_| (1 + random.below(200_000), 1 + random.below(6_000))).collect();
        let packages: Vec<String> = of
            .iter()
            .enumerate()
            .map(|(index, (ml, cents))| {
                format!("{{label: k{index}, gives: {ml} mL, price: {}}}", Decimal::new(*cents as i64, 2))
            })
            .collect();
        let have = random.below(300_000);
        let stock =
            format!("stock: s\npackages: {{perlite: [{}]}}\non_hand: {{perlite: {have} mL}}\n", packages.join(", "))
                .replace("perlite: 0 mL", "perlite: 0 L");
        let need = 1 + random.below(600_000);
        let found = buy_line(&stock, "perlite", litres(need as f64 / 1000.0));
        let mut given = have;
        let mut paid = Decimal::ZERO;
        for Pick { package, count } in &found.packages {
            given += of[package.label[1..].parse::<usize>().unwrap()].0 * count;
            paid += package.price.unwrap() * Decimal::from(*count);
        }
        assert_eq!(found.cost, Some(paid));
        assert!(given >= need, "{need} from {stock}");
        assert!((found.left_over.size() - (given - need) as f64 / 1000.0).abs() < 1e-6);
        let lacking = need.saturating_sub(have);
        for greedy in greedy_costs(lacking, &of) {
            assert!(paid <= Decimal::new(greedy as i64, 2), "{lacking} of {of:?}: {paid} against {greedy}");
        }
    }
}

// A week's purchases, to the cent.

const WEEK: &str = "week: w\nrecipe: plain\nstock: shed.yaml\nallowances: {settling: 0 %, spill: 0 %}\ntrays:\n  \
                    box: {cells: 10, rows: 1, cell: 1 L}\nsowings:\n  - {crop: lettuce, trays: 4, tray: box}\n";
const RECIPE: &str = "recipe: plain\nparts: {peat or coir: 3, perlite: 1}\ndoses:\n  lime: {rate: 2 g/L, of: peat}\n  \
                      inoculant: 1 g/L\nyield: 80 %\n";

fn purchases(week: &str, stock: &str) -> Value {
    whole_plan(week, stock)["purchases"].clone()
}

/// The sheet as text, on one line.
fn sheet_of(week: &str, stock: &str) -> String {
    let files =
        Memory::default().with("week.yaml", week).with("plain.yaml", RECIPE).with("shed.yaml", stock.to_owned());
    let loaded = load(Path::new("week.yaml"), &files, &[]).unwrap_or_else(|rejected| panic!("{rejected}"));
    let plan = plan(&loaded).unwrap();
    let report = PlanReport { plan: &plan, week: &loaded.week };
    let text = render(&report, Style { format: Format::Text, ..Style::default() });
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn whole_plan(week: &str, stock: &str) -> Value {
    let files =
        Memory::default().with("week.yaml", week).with("plain.yaml", RECIPE).with("shed.yaml", stock.to_owned());
    let loaded = load(Path::new("week.yaml"), &files, &[]).unwrap_or_else(|rejected| panic!("{rejected}"));
    let plan = plan(&loaded).unwrap();
    let report = PlanReport { plan: &plan, week: &loaded.week };
    // Every form tells what is bought.
    let bought = plan.purchases.lines.iter().flat_map(|line| &line.packages);
    let labels: Vec<&str> = bought.map(|pick| pick.package.label.as_str()).collect();
    for format in [Format::Text, Format::Markdown, Format::Csv, Format::Html] {
        let text = render(&report, Style { format, ..Style::default() });
        assert!(labels.iter().all(|label| text.contains(label)), "{labels:?}\n{text}");
    }
    serde_json::from_str(&render(&report, Style { format: Format::Json, ..Style::default() })).unwrap()
}

#[test]
fn money_agrees_with_a_sum_by_hand() {
    // 40 L of cells = 40 L of mix; / 0.8 = 50 L loose: 37.5 L peat, 12.5 L perlite,
    // 75 g lime, 40 g inoculant.
    let found = purchases(
        WEEK,
        "stock: shed\ncurrency: EUR\non_hand: {perlite: 2.5 L, lime: 100 g}\npackages:\n  \
         peat: [{label: 20 L bag, gives: 20 L, price: 6.35}, {label: 50 L bag, gives: 50 L, price: 13.10}]\n  \
         perlite: [{label: 10 L bag, gives: 10 L, price: 5.20}]\n  lime: [{label: box, gives: 2 kg, price: 4.50}]\n  \
         inoculant: [{label: tub, gives: 25 g, price: 3.33}]\n  coir: [{label: block, gives: 40 L, price: 9.90}]\n\
         ready_made: {label: bag, gives: 30 L, price: 11.15}\n",
    );
    // Two 20 L bags are 12.70, one of 50 L 13.10.
    assert_eq!(found["lines"][0]["packages"][0]["label"], "20 L bag");
    assert_eq!(found["lines"][0]["packages"][0]["count"], 2);
    assert_eq!(found["lines"][0]["packages"][0]["price"], "6.35");
    assert_eq!(found["lines"][0]["packages"][0]["cost"], "12.70");
    assert_eq!(found["lines"][0]["left_over_l"], 2.5);
    assert_eq!(found["lines"][1]["on_hand_l"], 2.5);
    assert_eq!(found["lines"][1]["packages"][0]["count"], 1);
    assert_eq!(found["lines"][1]["left_over_l"], 0.0);
    let lime = &found["lines"][2];
    assert_eq!(
        (&lime["ingredient"], &lime["need_g"], &lime["left_over_g"]),
        (&"lime".into(), &75.0.into(), &25.0.into())
    );
    assert_eq!(found["lines"][3]["packages"][0]["cost"], "6.66");
    // 12.70 + 5.20 + 0 + 6.66
    assert_eq!(found["total"], "24.56");
    assert_eq!(found["currency"], "EUR");
    assert_eq!(found["per_tray"], "6.14");
    // 40 cells, of which 80 % x 90 % give a plant, so 29: 24.56 / 29 x 100.
    assert_eq!(found["per_100_plants"], "84.69");
    // 24.56 / 40 L = 0.614
    assert_eq!(found["per_litre"], "0.61");
    // By what is bought, the lime at its best price:
    // 37.5 x 12.70 / 40 + 12.5 x 0.52 + 75 x 4.50 / 2000 + 40 x 3.33 / 25 = 11.90625 + 6.5 + 0.16875 + 5.328
    assert_eq!(found["used_total"], "23.90");
    // 40 L of mix from bags of 30 L.
    assert_eq!(found["ready_made_total"], "22.30");
    // With coir: 37.5 L from one block, no lime: 9.90 + 5.20 + 6.66.
    let other = &found["alternatives"][1];
    assert_eq!((&other["use"], &other["chosen"], &other["total"]), (&"coir".into(), &false.into(), &"21.76".into()));
    assert_eq!(found["alternatives"][0]["total"], "24.56");
}

#[test]
fn the_other_choice_costs_what_its_own_plan_costs() {
    let stock = "stock: shed\npackages:\n  peat: [{label: bag, gives: 20 L, price: 6}]\n  \
                 perlite: [{label: bag, gives: 1/2 L, price: 3}]\n  lime: [{label: box, gives: 1 g, price: 1.10}]\n  \
                 inoculant: [{label: tub, gives: 25 g, price: 3}]\n  coir: [{label: block, gives: 11 L, price: 4}]\n";
    let mut totals = Vec::new();
    for more in ["", "scoop: 2 L\n", "scoop: 3 L\n", "tub: 30 L\nscoop: 3.5 L\n"] {
        let with_peat = purchases(&format!("{WEEK}{more}"), stock);
        let with_coir = purchases(&format!("{WEEK}{more}use: coir\n"), stock);
        for place in [0, 1] {
            let (one, other) = (&with_peat["alternatives"][place], &with_coir["alternatives"][place]);
            assert_eq!((&one["total"], &one["need_l"]), (&other["total"], &other["need_l"]), "{more}");
        }
        assert_eq!(with_peat["alternatives"][0]["total"], with_peat["total"], "{more}");
        assert_eq!(with_coir["alternatives"][1]["total"], with_coir["total"], "{more}");
        totals.push((with_peat["total"].clone(), with_coir["total"].clone()));
    }
    // The scoops do cost something here.
    assert!(totals.iter().any(|total| *total != totals[0]), "{totals:?}");
}

/// The purchases of a week that wants some ingredient, with `more` wanted on the command line.
fn purchases_by(recipe: &str, sowings: &str, wanted: &str, more: &[&str]) -> Value {
    let stock = "stock: shed\npackages:\n  peat: [{label: bag, gives: 10 L, price: 5}]\n  \
                 limed peat: [{label: bag, gives: 10 L, price: 1}]\n  coir: [{label: block, gives: 65 L, price: 15}]\n  \
                 perlite: [{label: bag, gives: 10 L, price: 3}]\n  bark: [{label: bag, gives: 10 L, price: 9}]\n  \
                 lime: [{label: box, gives: 1 kg, price: 100}]\n  vermiculite: [{label: bag, gives: 1 L, price: 2}]\n";
    let week = format!("week: w\nrecipe: plain\nstock: shed.yaml\nuse: {wanted}\nsowings:\n{sowings}");
    let files =
        Memory::default().with("week.yaml", week).with("plain.yaml", recipe.to_owned()).with("shed.yaml", stock);
    let more: Vec<String> = more.iter().map(|id| (*id).to_owned()).collect();
    let loaded = load(Path::new("week.yaml"), &files, &more).unwrap_or_else(|rejected| panic!("{rejected}"));
    let plan = plan(&loaded).unwrap();
    let report = PlanReport { plan: &plan, week: &loaded.week };
    let json = render(&report, Style { format: Format::Json, ..Style::default() });
    serde_json::from_str::<Value>(&json).unwrap()["purchases"].clone()
}

#[test]
fn another_choice_is_varied_for_the_crop_as_its_own_plan_is() {
    let borne = "recipe: plain\nparts: {peat or limed peat or coir: 3, perlite: 1}\n";
    let added = "recipe: plain\nparts: {coir or peat: 3, perlite: 1}\n\
                 changes: [{for: kale, add: {coir: 1, lime: {rate: 2 g/L, of: peat}}}]\n";
    let dropped = "recipe: plain\nparts: {peat or coir: 3, bark: 1, perlite: 1}\n\
                   changes: [{for: kale, drop: peat, instead: bark}]\n";
    let sieved = "recipe: plain\nparts: {peat or coir: 3, perlite: 1}\n\
                  changes: [{for: kale, drop: coir, sieve: 6 mm}]\n";
    // With limed peat wanted, kale and lettuce share no tray with blueberry; with peat they do.
    let sowings = ["kale", "blueberry"].map(|crop| format!("- {{crop: {crop}, trays: 10, tray: 72-cell}}\n"));
    let shared = "- {crop: kale, cells: 20, tray: 72-cell}\n- {crop: pak choi, cells: 20, tray: 72-cell}\n\
                  - {crop: blueberry, cells: 20, tray: 72-cell}\n";
    let weeks = [sowings[0].clone(), sowings[1].clone(), sowings.concat(), shared.to_owned()];
    let choices = ["peat", "limed peat", "coir"];
    let mut others = 0;
    for recipe in [borne, added, dropped, sieved] {
        for week in &weeks {
            for wanted in choices
                .iter()
                .filter(|choice| recipe.contains(*choice) && (**choice != "limed peat" || recipe == borne))
            {
                let found = purchases_by(recipe, week, wanted, &[]);
                for other in found["alternatives"].as_array().unwrap() {
                    let own = purchases_by(recipe, week, wanted, &[other["use"].as_str().unwrap()]);
                    assert_eq!(other["total"], own["total"], "{other} where {wanted} is wanted\n{recipe}{week}");
                    // It is bought, and the amount is that of its own plan.
                    let again = own["alternatives"].as_array().unwrap().iter().find(|same| same["use"] == other["use"]);
                    let again = again.unwrap();
                    assert_eq!((&again["need_l"], &again["chosen"]), (&other["need_l"], &true.into()));
                    assert!(own["lines"].as_array().unwrap().iter().any(|line| line["ingredient"] == other["use"]));
                    others += usize::from(other["chosen"] == false);
                }
            }
        }
    }
    assert!(others > 20, "{others}");

    let offers = |recipe, week: &str, wanted| -> Vec<(String, bool, String)> {
        let found = purchases_by(recipe, week, wanted, &[]);
        let text = |value: &Value| value.as_str().unwrap().to_owned();
        let offer = |other: &Value| (text(&other["use"]), other["chosen"] == true, text(&other["total"]));
        found["alternatives"].as_array().unwrap().iter().map(offer).collect()
    };
    let named = |offers: &[(String, bool, String)]| -> Vec<(String, bool)> {
        offers.iter().map(|(name, chosen, _)| (name.clone(), *chosen)).collect()
    };
    // Blueberry bears no lime: limed peat is no choice, even when it is wanted.
    let blueberry = offers(borne, &sowings[1], "limed peat");
    assert_eq!(named(&blueberry), [("peat".to_owned(), true), ("coir".to_owned(), false)]);
    // Its peat is dropped for bark: only coir can be had.
    for (wanted, chosen) in [("peat", false), ("coir", true)] {
        assert_eq!(named(&offers(dropped, &sowings[0], wanted)), [("coir".to_owned(), chosen)]);
    }
    // The change counts its lime on peat.
    let kale = offers(added, &sowings[0], "coir");
    assert_eq!(named(&kale), [("coir".to_owned(), true), ("peat".to_owned(), false)]);
    let total = |place: usize| kale[place].2.parse::<f64>().unwrap();
    assert!(total(1) > total(0) + 100.0, "{kale:?}");
}

#[test]
fn a_missing_package_or_price_leaves_the_total_open_and_says_so() {
    let priced = "peat: [{label: bag, gives: 50 L, price: 9}], inoculant: [{label: tub, gives: 50 g, price: 9}], lime: \
                  [{label: box, gives: 1 kg, price: 3}]";
    let stock = format!("stock: s\npackages: {{{priced}}}\n");
    let found = purchases(WEEK, &stock);
    assert_eq!(found["total"], Value::Null);
    assert_eq!(found["per_tray"], Value::Null);
    // One bag of peat, a box of lime and a tub of inoculant.
    assert_eq!(found["known_so_far"], "21.00");
    assert!(sheet_of(WEEK, &stock).contains("known so far: 21.00"));
    let perlite = &found["lines"][1];
    assert_eq!(perlite["packages"].as_array().unwrap().len(), 0);
    assert_eq!((&perlite["need_l"], &perlite["to_buy_l"]), (&12.5.into(), &12.5.into()));
    assert!(found["notes"][0]["text"].as_str().unwrap().contains("No package of perlite"), "{}", found["notes"]);

    // Two sizes without prices: 12.5 L from 5 L bags leaves 2.5 L, from a 20 L bag 7.5 L.
    let stock = format!(
        "stock: s\npackages: {{{priced}, perlite: [{{label: large, gives: 20 L}}, {{label: small, gives: 5 L}}]}}\n"
    );
    let plan = whole_plan(WEEK, &stock);
    let perlite = &plan["purchases"]["lines"][1];
    assert_eq!((&perlite["packages"][0]["label"], &perlite["packages"][0]["count"]), (&"small".into(), &3.into()));
    assert_eq!((&perlite["cost"], &plan["purchases"]["total"]), (&Value::Null, &Value::Null));
    let cautions = plan["cautions"].as_array().unwrap();
    assert!(cautions.iter().any(|caution| caution["text"].as_str().unwrap().contains("price of")), "{cautions:?}");
}

/// A package without a price would make a cost that was known unknown, and may be dear.
#[test]
fn what_has_no_price_is_bought_only_where_nothing_has() {
    let stock =
        |odd: &str| format!("stock: s\npackages: {{perlite: [{{label: large, gives: 100 L, price: 20}}{odd}]}}\n");
    let without = buy_line(&stock(""), "perlite", litres(61.0));
    let with = buy_line(&stock(", {label: odd, gives: 61 L}"), "perlite", litres(61.0));
    assert_eq!((counts(&with), with.cost, with.buy), (counts(&without), Some(20.into()), trayful::plan::Buy::Cheapest));
    let unpriced = "stock: s\npackages: {perlite: [{label: large, gives: 100 L}, {label: odd, gives: 61 L}]}\n";
    let line = buy_line(unpriced, "perlite", litres(61.0));
    assert_eq!(
        (counts(&line), line.cost, line.buy),
        (vec![("odd".to_owned(), 1)], None, trayful::plan::Buy::LeastLeftOver)
    );
}

/// The codes of a list of remarks, each with a sentence.
fn codes(remarks: &Value) -> Vec<&str> {
    let remarks = remarks.as_array().unwrap().iter();
    let code = |remark: &'_ Value| {
        let fields: Vec<&String> = remark.as_object().unwrap().keys().collect();
        assert_eq!(fields, ["code", "text"], "{remark}");
        assert!(remark["text"].as_str().unwrap().ends_with('.'), "{remark}");
        let code = remark["code"].as_str().unwrap();
        assert!(code.split('-').all(|word| !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase())), "{code}");
    };
    remarks.clone().for_each(code);
    remarks.map(|remark| remark["code"].as_str().unwrap()).collect()
}

/// Scripts tell remarks by their codes, which stay whatever the figures are.
#[test]
fn remarks_have_codes() {
    let packages = "packages: {peat: [{label: bale, compressed: 50 L}], perlite: [{label: 100 L bag, gives: 10 L, \
                    price: 5}], lime: [{label: sack, gives: 2 L, price: 9}]}\n";
    let found = purchases(WEEK, &format!("stock: s\n{packages}"));
    assert_eq!(
        codes(&found["notes"]),
        ["no-package", "counted-otherwise", "label-contradicts", "least-left-over", "loosening-assumed"]
    );
    let (_, plan) = json(&["scale", "everyday", "--make", "60 L"]);
    assert_eq!(codes(&plan["purchases"]["notes"]), ["no-stock-file", "contents-assumed"]);

    let at_hand = ["peat=40 L", "coir=9 L", "perlite=9 L", "lime=1 tbsp"];
    let have = at_hand.iter().flat_map(|have| ["--have", have]);
    let everyday = ["fill", "everyday", "--tray", "72-cell"];
    let (_, found) = json(&everyday.into_iter().chain(have).collect::<Vec<_>>());
    assert_eq!(codes(&found["notes"]), ["no-crop", "choice-counted", "counted-otherwise", "not-counted"]);
    let strong = crate::support::run(["feed", "--analysis", "60-60-60", "--water", "1 L", "--ppm", "50"]).refusal();
    assert!(strong.contains("its shares come to more than 100 %"), "{strong}");
    let feed = ["feed", "--analysis", "4-1-1", "--water", "1 L", "--ppm"];
    let told = |ppm: &'static str| {
        let (_, found) = json(&[&feed[..], &[ppm]].concat());
        codes(&found["notes"]).into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    let always = ["when-to-begin", "strength-by-stage", "follow-the-label"];
    assert_eq!(told("50"), always);
    let [begin, stages, label] = always;
    assert_eq!(told("300"), ["feed-too-strong", "phosphorus-hinders-mycorrhiza", begin, stages, label]);
}

#[test]
fn weight_is_not_taken_for_volume() {
    let stock = "stock: s\npackages: {inoculant: [{label: sack, gives: 2 L, price: 9}]}\non_hand: {lime: 3 L}\n";
    let found = purchases(WEEK, stock);
    assert_eq!(found["lines"][2]["on_hand_g"], 0.0);
    assert_eq!(found["lines"][3]["packages"].as_array().unwrap().len(), 0);
    let notes = found["notes"].to_string();
    assert!(notes.contains("Lime is needed by weight") && notes.contains("Inoculant is needed by weight"), "{notes}");
}

/// Lime by weight in one recipe and by the spoon in another.
const SPOONED: &str = "week: w\nstock: shed.yaml\nallowances: {settling: 0 %, spill: 0 %}\nrecipe: plain\ntrays:\n  box: \
                       {cells: 10, rows: 1, cell: 1 L}\nsowings:\n  - {crop: lettuce, trays: 4, tray: box}\n  - {crop: \
                       tomato, trays: 4, tray: box, recipe: spooned}\n";
const BY_SPOON: &str = "recipe: spooned\nparts: {peat: 1, perlite: 1}\ndoses: {lime: 2 mL/L}\nyield: 80 %\n";

fn spooned(stock: &str) -> Value {
    let files = Memory::default()
        .with("week.yaml", SPOONED)
        .with("plain.yaml", RECIPE)
        .with("spooned.yaml", BY_SPOON)
        .with("shed.yaml", stock.to_owned());
    let loaded = load(Path::new("week.yaml"), &files, &[]).unwrap_or_else(|rejected| panic!("{rejected}"));
    let plan = plan(&loaded).unwrap();
    let report = PlanReport { plan: &plan, week: &loaded.week };
    let text = render(&report, Style { format: Format::Json, ..Style::default() });
    serde_json::from_str::<Value>(&text).unwrap()["purchases"].clone()
}

#[test]
fn an_own_density_makes_one_need_of_spoons_and_grams() {
    let packages = "packages: {lime: [{label: 1 kg box, gives: 1 kg, price: 3}]}\n";
    let lime = |found: &Value| -> Vec<Value> {
        let lines = found["lines"].as_array().unwrap().iter();
        lines.filter(|line| line["ingredient"] == "lime").cloned().collect()
    };
    let found = spooned(&format!("stock: s\n{packages}on_hand: {{lime: 100 g}}\n"));
    assert_eq!(lime(&found).len(), 2);
    assert_eq!(found["total"], Value::Null);
    // The note gives the entry that cures it, and the entry does.
    let notes = found["notes"].as_array().unwrap().iter();
    let note = notes
        .map(|note| note["text"].as_str().unwrap())
        .find(|note| note.contains("Lime is needed by volume"))
        .unwrap();
    let entry = note.split('`').find(|words| words.starts_with("ingredients:")).unwrap();
    let entry = entry.replace("...", "900");
    let found = spooned(&format!("stock: s\n{entry}\n{packages}on_hand: {{lime: 100 g}}\n"));
    let lines = lime(&found);
    assert_eq!(lines.len(), 1, "{lines:?}");
    // 37.5 L of peat at 2 g/L, and 40 L of mix at 2 mL/L of 900 g/L: 75 g and 72 g.
    let need = lines[0]["need_g"].as_f64().unwrap();
    assert!((need - 147.0).abs() < 1e-9, "{need}");
    assert_eq!(lines[0]["packages"][0]["count"], 1);
}

#[test]
fn a_label_that_contradicts_its_package_is_told_and_no_fault() {
    let found = purchases(WEEK, "stock: s\npackages: {perlite: [{label: 100 L bag, gives: 10 L}]}\n");
    assert!(found["notes"].to_string().contains("its label says 100 L: check `gives:`"), "{}", found["notes"]);
    let found = purchases(WEEK, "stock: s\npackages: {perlite: [{label: 100 L bag, gives: 100 L}]}\n");
    assert!(!found["notes"].to_string().contains("its label says"), "{}", found["notes"]);
}

#[test]
fn a_share_of_the_cost_is_a_trays_only_where_nothing_else_is_filled() {
    let stock = "stock: s\npackages: {peat: [{label: bag, gives: 20 L, price: 6}], perlite: [{label: bag, gives: 7 L, \
                 price: 3}], lime: [{label: box, gives: 1 kg, price: 1}], inoculant: [{label: tub, gives: 1 kg, price: 3}]}\n";
    assert!(sheet_of(WEEK, stock).contains(" a tray, "));
    let pot = "{crop: lettuce, potted: 4, tray: 9 cm pot}";
    let both = sheet_of(&format!("{WEEK}  - {pot}\n"), stock);
    assert!(both.contains("To pay:") && !both.contains(" a tray, ") && !both.contains(" a pot, "), "{both}");
}

#[test]
fn a_users_packages_win_over_the_built_in_ones() {
    let need = litres(30.0);
    assert_eq!(counts(&buy_line("stock: s\n", "coir", need)), [("650 g brick".to_owned(), 4)]);
    let own = "stock: s\npackages: {coir: [{label: big block, gives: 50 L, price: 9}]}\n";
    assert_eq!(counts(&buy_line(own, "coir", need)), [("big block".to_owned(), 1)]);
}

// The command line.

fn trayful(arguments: &[&str]) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let all = std::iter::once("trayful").chain(arguments.iter().copied()).map(Into::into);
    let code = run(all, Surroundings::default(), &mut out, &mut err);
    (code, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

fn json(arguments: &[&str]) -> (u8, Value) {
    let (code, out, err) = trayful(&[arguments, &["--format", "json"]].concat());
    (code, serde_json::from_str(&out).unwrap_or_else(|_| panic!("{err}")))
}

#[test]
fn so_many_trays_as_are_filled_can_be_made_and_one_more_cannot() {
    let mut random = Random(11);
    for _ in 0..25 {
        let amounts: Vec<(&str, f64)> = ["peat", "perlite", "vermiculite", "castings"]
            .into_iter()
            .map(|name| (name, 1.0 + random.below(9000) as f64 / 100.0))
            .collect();
        let have: Vec<String> = amounts.iter().map(|(name, litres)| format!("--have={name}={litres} L")).collect();
        let mut arguments = vec!["fill", "everyday", "--tray", "72-cell", "--crop", "kale", "--have", "lime=9 kg"];
        arguments.extend(have.iter().map(String::as_str));
        let (code, found) = json(&arguments);
        let trays = found["trays"].as_u64().unwrap();
        assert_eq!(code, u8::from(trays == 0));
        let needs = |trays: u64| -> Vec<f64> {
            let plan = json(&["scale", "everyday", "--crop", "kale", "--tray", &format!("72-cell={trays}")]).1;
            let named = |name: &str| {
                let all = plan["totals"]["ingredients"].as_array().unwrap().clone();
                all.iter().find(|one| one["name"] == name).unwrap()["loose_l"].as_f64().unwrap()
            };
            amounts.iter().map(|(name, _)| named(name)).collect()
        };
        let enough = |trays: u64| needs(trays).iter().zip(&amounts).all(|(need, (_, have))| *need <= have + 1e-9);
        assert!(trays == 0 || enough(trays));
        assert!(!enough(trays + 1));
        // What one more tray lacks, brought along, fills one more.
        let mut more = arguments.clone();
        let lacks: Vec<String> = found["ingredients"]
            .as_array()
            .unwrap()
            .iter()
            .filter_map(|line| {
                let lacks = line["one_more_lacks_l"].as_f64().filter(|lacks| *lacks > 0.0)?;
                Some(format!("--have={}={:.6} L", line["ingredient"].as_str().unwrap(), lacks + 1e-6))
            })
            .collect();
        more.extend(lacks.iter().map(String::as_str));
        assert_eq!(json(&more).1["trays"], trays + 1);
    }
}

#[test]
fn a_part_that_is_not_at_hand_fills_nothing() {
    let (code, found) = json(&["fill", "everyday", "--tray", "72-cell", "--have", "peat=90 L"]);
    assert_eq!((code, &found["trays"]), (1, &0.into()));
    assert_eq!(found["runs_out_first"], serde_json::json!(["perlite", "vermiculite", "castings"]));
    // A dose that nothing is said of is not counted, and the output says so.
    assert!(found["notes"].to_string().contains("lime and inoculant"), "{}", found["notes"]);
}

#[test]
fn the_choice_at_hand_is_the_one_meant() {
    let coir = ["fill", "fine seed", "--tray", "72-cell", "--have", "coir=90 L", "--have", "vermiculite=90 L"];
    let (code, found) = json(&[&coir[..], &["--have", "perlite=2 x 40 L"]].concat());
    assert_eq!(code, 0);
    assert_eq!(found["ingredients"][0]["ingredient"], "coir");
}

#[test]
fn of_a_choice_only_what_is_at_hand_is_tried_and_the_one_that_fills_most_kept() {
    let rest = ["fill", "everyday", "--tray", "72-cell", "--have=perlite=900 L", "--have=vermiculite=900 L"];
    let rest = [&rest[..], &["--have=castings=900 L", "--have=lime=9 kg", "--have=inoculant=9 kg"]].concat();
    let fill = |more: &[&str]| json(&[&rest[..], more].concat()).1;
    let used = |found: &Value| found["ingredients"][0]["ingredient"].as_str().unwrap().to_owned();
    // Named, but there is none.
    let found = fill(&["--have=coir=0 L", "--have=peat=100 L"]);
    assert_eq!(used(&found), "peat");
    assert!(found["trays"].as_u64().unwrap() > 0);
    // The order in which they are named means nothing.
    for more in [["--have=coir=10 L", "--have=peat=100 L"], ["--have=peat=100 L", "--have=coir=10 L"]] {
        let found = fill(&more);
        assert_eq!(used(&found), "peat");
        assert!(found["notes"].to_string().contains("coir would fill"), "{}", found["notes"]);
    }
    let found = fill(&["--have=coir=100 L", "--have=peat=10 L"]);
    assert_eq!(used(&found), "coir");
    let (most, other) = (found["choices"][0]["trays"].as_u64(), found["choices"][1]["trays"].as_u64());
    assert_eq!(most, found["trays"].as_u64());
    assert_eq!(other, fill(&["--have=peat=10 L"])["trays"].as_u64());
    // What is wanted is not asked again.
    assert_eq!(used(&fill(&["--have=coir=100 L", "--have=peat=10 L", "--use=peat"])), "peat");
}

/// Parts of two choices each, of which little is at hand of the first.
const PAIRS: [[&str; 2]; 9] = [
    ["peat", "coir"],
    ["perlite", "pumice"],
    ["pine bark", "leaf mould"],
    ["castings", "compost"],
    ["coarse sand", "grit"],
    ["vermiculite", "rice hulls"],
    ["soil", "loam"],
    ["wood fibre", "biochar"],
    ["fine sand", "limed peat"],
];

/// What fills of a recipe of `parts`, with so many litres at hand.
fn fill_of(parts: &[[&str; 2]], more: &[&str], litres: &[(&str, u32)]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pairs.yaml");
    let parts: Vec<String> = parts.iter().map(|[one, other]| format!("{one} or {other}: 1")).collect();
    std::fs::write(&path, format!("recipe: pairs\nparts: {{{}}}\n", parts.join(", "))).unwrap();
    let have: Vec<String> = litres.iter().map(|(name, litres)| format!("--have={name}={litres} L")).collect();
    let mut arguments = vec!["fill", path.to_str().unwrap(), "--tray", "72-cell"];
    arguments.extend(more);
    arguments.extend(have.iter().map(String::as_str));
    json(&arguments).1
}

/// The answer is held against that where only the plentiful ones are at hand, so that
/// there is nothing to choose.
#[test]
fn choices_in_many_parts_fill_what_the_best_of_them_fill() {
    for (parts, every) in [(2, true), (7, true), (8, true), (9, false)] {
        let pairs = &PAIRS[..parts];
        let much: Vec<(&str, u32)> = pairs.iter().map(|pair| (pair[1], 500)).collect();
        let both: Vec<(&str, u32)> = pairs.iter().map(|pair| (pair[0], 5)).chain(much.clone()).collect();
        let found = fill_of(pairs, &[], &both);
        let alone = fill_of(pairs, &[], &much);
        assert_eq!(found["trays"], alone["trays"], "{parts}");
        assert_eq!(found["ingredients"], alone["ingredients"], "{parts}");
        // A share of each tray's mix, so that the littlest amounts fill a hundredth.
        let trays = found["trays"].as_u64().unwrap();
        let few = fill_of(pairs, &[], &both[..parts])["trays"].as_u64().unwrap();
        assert!((few * 100..=few * 100 + 100).contains(&trays), "{parts}: {trays}, {few}");
        let choices = found["choices"].as_array().unwrap();
        assert_eq!(choices.len(), 4, "{parts}");
        let counts: Vec<u64> = choices.iter().map(|choice| choice["trays"].as_u64().unwrap()).collect();
        assert!(counts.is_sorted_by(|one, next| one >= next) && counts[0] == trays, "{counts:?}");
        let used: std::collections::HashSet<String> = choices.iter().map(|choice| choice["use"].to_string()).collect();
        assert_eq!(used.len(), 4);
        let notes = found["notes"].to_string();
        assert_eq!(notes.matches("would fill").count(), 3, "{notes}");
        assert_eq!(notes.contains("more combinations of choices than could be tried"), !every, "{notes}");
    }
}

/// With too many combinations to try all: most is at hand of peat, but little of the
/// lime that goes with it.
#[test]
fn a_choice_that_wants_a_scarce_dose_is_changed_for_another() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pairs.yaml");
    let parts: Vec<String> = PAIRS.iter().map(|[one, other]| format!("{one} or {other}: 1")).collect();
    let text = format!("recipe: pairs\nparts: {{{}}}\ndoses: {{lime: {{rate: 2 g/L, of: peat}}}}\n", parts.join(", "));
    std::fs::write(&path, text).unwrap();
    let mut have: Vec<String> =
        PAIRS[1..].iter().flat_map(|[one, other]| [format!("{one}=5 L"), format!("{other}=500 L")]).collect();
    have.extend(["peat=500 L", "coir=400 L", "lime=20 g"].map(str::to_owned));
    let mut arguments = vec!["fill", path.to_str().unwrap(), "--tray", "72-cell"];
    arguments.extend(have.iter().flat_map(|have| ["--have", have.as_str()]));
    let found = json(&arguments).1;
    assert!(found["notes"].to_string().contains("more combinations of choices"), "{}", found["notes"]);
    assert_eq!(found["runs_out_first"], serde_json::json!(["coir"]));
    // 20 g of lime go with 10 L of peat, a fortieth of 400 L of coir.
    arguments.push("--use=peat");
    let limed = json(&arguments).1;
    assert_eq!(limed["runs_out_first"], serde_json::json!(["lime"]));
    let (trays, limed) = (found["trays"].as_u64().unwrap(), limed["trays"].as_u64().unwrap());
    assert!((limed * 40..limed * 40 + 40).contains(&trays), "{trays}, {limed}");
}

/// Blueberry does not bear limed peat: both choices come to the same mix of peat.
#[test]
fn a_choice_that_the_crop_does_not_bear_is_not_counted_with() {
    let parts = [["limed peat", "peat"], ["perlite", "pumice"]];
    let litres = [("limed peat", 200), ("peat", 50), ("perlite", 200)];
    let found = fill_of(&parts, &["--crop", "blueberry"], &litres);
    assert_eq!(found["choices"].as_array().unwrap().len(), 1, "{}", found["choices"]);
    assert_eq!(found["choices"][0]["use"], serde_json::json!(["peat", "perlite"]));
    assert!(!found["notes"].to_string().contains("Counted with"), "{}", found["notes"]);
    // Another crop bears it.
    let found = fill_of(&parts, &["--crop", "kale"], &litres);
    assert_eq!(found["choices"][0]["use"], serde_json::json!(["limed peat", "perlite"]));
    assert_eq!(found["choices"][1]["use"], serde_json::json!(["peat", "perlite"]));
}

#[test]
fn what_fill_refuses() {
    for arguments in [
        &["fill"][..],
        &["fill", "everyday"],
        &["fill", "everyday", "--tray", "72-cell"],
        &["fill", "everyday", "--tray", "72-cell=4", "--have", "peat=4 L"],
        &["fill", "everyday", "--tray", "72-cell", "--have", "peat"],
        &["fill", "everyday", "--tray", "72-cell", "--have", "peet=4 L"],
        &["fill", "everyday", "--tray", "72-cell", "--have", "peat=-4 L"],
        &["fill", "everyday", "--tray", "72-cell", "--have", "castings=4 kg"],
        &["fill", "everyday", "--tray", "72-cell", "--stock", "no-such.yaml"],
        &["fill", "no-such.yaml", "--tray", "72-cell", "--have", "peat=4 L"],
    ] {
        let (code, out, err) = trayful(arguments);
        assert_eq!(code, 2, "{arguments:?}");
        assert!(out.is_empty() && err.contains("error"), "{arguments:?}: {err}");
    }
    let (_, _, err) = trayful(&["fill", "everyday", "--tray", "72-cell", "--have", "peet=4 L", "--have", "coir=some"]);
    assert!(err.contains("did you mean `peat`?") && err.contains("coir=some"), "{err}");
}

#[test]
fn a_week_has_its_own_trays_and_crops() {
    let week = format!("{}/recipes/weeks/plant-sale-1.yaml", env!("CARGO_MANIFEST_DIR"));
    for more in [["--tray", "72-cell"], ["--crop", "kale"]] {
        for week in [&["fill", &week][..], &["fill", "--week", &week]] {
            let (code, out, err) = trayful(&[week, &more].concat());
            assert_eq!((code, out.as_str()), (2, ""));
            assert_eq!(err, "error: `--tray` and `--crop` go with a recipe: a week has its own\n");
        }
    }
}

#[test]
fn enough_for_the_batches_is_not_enough_for_all() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    put("plain.yaml", RECIPE);
    put("week.yaml", &format!("{WEEK}scoop: 3 L\n"));
    // 37.5 L peat, 12.5 L perlite, 75 g lime and 40 g inoculant for the batch alone.
    put(
        "shed.yaml",
        "stock: s\non_hand: {peat: 37.5 L, perlite: 12.5 L, lime: 1 kg, inoculant: 1 kg, vermiculite: 9 L}\n",
    );
    let week = folder.path().join("week.yaml");
    let week = week.to_str().unwrap();
    let (code, found) = json(&["fill", week]);
    assert_eq!((code, &found["enough"], &found["enough_for_batches"]), (1, &false.into(), &true.into()));
    assert_eq!((&found["batches"][0]["enough"], &found["other_uses"][0]["enough"]), (&true.into(), &false.into()));
    // Both tables lack the same.
    let lacking = &found["other_uses"][0]["lacking"][0];
    let line = found["ingredients"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["ingredient"] == lacking["ingredient"])
        .unwrap();
    let (one, other) = (lacking["lacking_l"].as_f64().unwrap(), line["lacking_l"].as_f64().unwrap());
    assert!(one > 0.0 && (one - other).abs() < 1e-9, "{one} {other}");
    let text = trayful(&["fill", week]).1.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("enough for the batches, but not for what the scoops add"), "{text}");
}

#[test]
fn a_week_is_set_against_its_stock() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    put("week.yaml", WEEK);
    put("plain.yaml", RECIPE);
    put("shed.yaml", "stock: s\non_hand: {peat: 40 L, perlite: 10 L, lime: 1 kg, inoculant: 40 g}\n");
    let week = folder.path().join("week.yaml");
    let week = week.to_str().unwrap();
    let (code, found) = json(&["fill", week]);
    assert_eq!(code, 1);
    assert_eq!(found["ingredients"][1]["lacking_l"], 2.5);
    assert_eq!(found["ingredients"][0]["lacking_l"], 0.0);
    assert_eq!(found["batches"][0]["enough"], false);
    let (code, found) = json(&["fill", "--week", week, "--have", "perlite=2.5 L"]);
    assert_eq!((code, &found["enough"]), (0, &true.into()));
    for format in ["text", "markdown", "csv", "html"] {
        assert_eq!(trayful(&["fill", week, "--format", format]).0, 1);
        assert_eq!(trayful(&["fill", "everyday", "--tray", "72-cell", "--have", "peat=4 L", "--format", format]).0, 1);
    }
}

#[test]
fn what_is_not_proved_is_said_with_prices_and_without() {
    let kinds = |price: &dyn Fn(u64) -> String| {
        let kinds = (0..40_u64).map(|k| {
            let gives = 99_000_017 - 20_011 * k * k;
            format!("{{label: k{k}, gives: {}.{:06} L{}}}", gives / 1_000_000, gives % 1_000_000, price(gives))
        });
        kinds.collect::<Vec<_>>().join(", ")
    };
    let priced = kinds(&|gives| format!(", price: {}.{:02}", gives / 5_000_000, gives / 50_000 % 100));
    let unpriced = kinds(&|_| String::new());
    let week = WEEK.replace("trays: 4", "trays: 90001");
    let notes = |packages: &str| {
        let stock = format!("stock: s\npackages: {{peat: [{packages}], perlite: [{packages}]}}\n");
        let found = purchases(&week, &stock);
        let codes = found["notes"].as_array().unwrap().iter().map(|note| note["code"].as_str().unwrap().to_owned());
        codes.collect::<Vec<_>>()
    };
    assert!(notes(&priced).contains(&"cheapest-not-proved".to_owned()));
    assert!(notes(&unpriced).contains(&"least-left-over-not-proved".to_owned()));
    assert!(notes("{label: bag, gives: 50 L}").contains(&"least-left-over".to_owned()));
}

#[test]
fn other_ingredients_are_compared_where_that_shows() {
    let stock = "stock: shed\npackages: {peat: [{label: bag, gives: 50 L, price: 9}]}\n";
    let files = Memory::default().with("week.yaml", WEEK).with("plain.yaml", RECIPE).with("shed.yaml", stock);
    let loaded = load(Path::new("week.yaml"), &files, &[]).unwrap();
    let compared = plan(&loaded).unwrap().purchases;
    assert_eq!(compared.alternatives.len(), 2);
    let alone = plan_without_comparison(&loaded).unwrap().purchases;
    assert_eq!(alone, Purchases { alternatives: Vec::new(), ..compared });
    let shown = |format| PlanReport::compares(&loaded.week, format);
    assert_eq!([Format::Text, Format::Json, Format::Csv].map(shown), [true, true, false]);
}

/// The purchases of a week of two litres of mix and more, by its stock file.
fn bought_for(sowings: &str, scoop: &str, stock: &str) -> Value {
    let week = format!("week: one\nrecipe: own\nsowings:\n{sowings}stock: stock.yaml\n{scoop}");
    let recipe = "recipe: own\nparts: {peat or coir: 1, perlite: 1}\nyield: 100 %\n";
    let files = Memory::default().with("week.yaml", week).with("own.yaml", recipe).with("stock.yaml", stock);
    let loaded = load(Path::new("week.yaml"), &files, &[]).unwrap();
    let plan = plan(&loaded).unwrap();
    let report = PlanReport { plan: &plan, week: &loaded.week };
    let text = render(&report, Style { format: Format::Json, ..Style::default() });
    serde_json::from_str::<Value>(&text).unwrap()["purchases"].clone()
}

#[test]
fn what_costs_are_shared_over_is_plants_and_not_cells() {
    let stock = "stock: s\npackages: {peat: [{label: bag, gives: 1000 L, price: 50}], perlite: [{label: bag, gives: 1000 L, price: 50}]}\n\
                 on_hand: {vermiculite: 100 L}\n";
    let per_100 = |sowings: &str| bought_for(sowings, "", stock)["per_100_plants"].clone();
    // 80 plants are 80, whatever cells they take; clumps by cells what may be expected: with 10 seeds that
    // come up at 70 %, 90 of 100 cells give a clump; 40 pots are 40 plants, the spare ones apart.
    assert_eq!(per_100("  - {crop: kale, plants: 80, tray: 72-cell}\n"), "125.00");
    assert_eq!(
        per_100("  - {crop: leek, cells: 100, tray: 72-cell, seeds: 10, clump: yes, germination: 70 %}\n"),
        "111.11"
    );
    assert_eq!(per_100("  - {crop: tomato, potted: 40, tray: 9 cm pot}\n"), "250.00");
}

#[test]
fn a_cost_that_cannot_be_told_says_why() {
    let sowings = "  - {crop: kale, plants: 80, tray: 72-cell}\n";
    let stock = "stock: s\npackages: {peat: [{label: bag, gives: 1000 L, price: 50}], coir: [{label: bag, gives: 1000 L}]}\n\
                 on_hand: {perlite: 100 L, vermiculite: 100 L}\n";
    let bought = bought_for(sowings, "", stock);
    assert_eq!(bought["total"], "50.00");
    assert_eq!(bought["used_unpriced"], serde_json::json!(["perlite", "vermiculite"]));
    let coir = &bought["alternatives"][1];
    assert_eq!(
        (&coir["use"], &coir["total"], &coir["unpriced"]),
        (&"coir".into(), &Value::Null, &serde_json::json!(["coir"]))
    );
    let none = bought_for(sowings, "", "stock: s\npackages: {}\non_hand: {perlite: 100 L, vermiculite: 100 L}\n");
    assert_eq!((&none["total"], &none["unpriced"]), (&Value::Null, &serde_json::json!(["peat"])));
}

#[test]
fn what_is_used_up_is_what_is_measured_and_the_covering() {
    // 100 L of cells are 2 x 60.53 L of loose peat and perlite by 1.15 / .95, and 1.63 L of vermiculite over it.
    let stock = "stock: s\npackages: {peat: [{label: bag, gives: 1 L, price: 1}], perlite: [{label: bag, gives: 1 L, price: 1}],\
                 vermiculite: [{label: bag, gives: 1 L, price: 1}]}\n";
    let bought = bought_for(
        "  - {crop: kale, cells: 100, tray: mine}\ntrays: {mine: {cells: 100, rows: 10, cell: 100 mL}}\n",
        "",
        stock,
    );
    assert_eq!(bought["used_total"], "13.74");
    assert!(bought["lines"].as_array().unwrap().iter().any(|line| line["ingredient"] == "vermiculite"));
}

#[test]
fn a_package_that_is_hardly_needed_is_told_with_what_saves_it() {
    // 12.105 L of mix, 6.053 L of each; by quarters of 2 L they are 6.5 L and 6 L.
    let sowings = "  - {crop: kale, cells: 100, tray: mine}\ntrays: {mine: {cells: 100, rows: 10, cell: 100 mL}}\n";
    let told = |scoop: &str, at_hand: &str, gives: &str| {
        let stock = format!(
            "stock: s\npackages: {{peat: [{{label: bag, gives: {gives}, price: 9}}]}}\non_hand: {{peat: {at_hand}, perlite: 99 L, vermiculite: 9 L}}\n"
        );
        let bought = bought_for(sowings, scoop, &stock);
        let notes = bought["notes"].as_array().unwrap().clone();
        notes.iter().find(|note| note["code"] == "hardly-needed").map(|note| note["text"].as_str().unwrap().to_owned())
    };
    let scooped = told("scoop: 2 L\n", "6.1 L", "40 L").unwrap();
    assert!(
        scooped.starts_with("Of one bag of peat only 0.4 L is needed: no more than measuring by the scoop adds."),
        "{scooped}"
    );
    let needed = told("", "6 L", "40 L").unwrap();
    assert_eq!(
        needed,
        "Of one bag of peat only 0.06 L is needed: a little less for spill (`spill:`) or a few plants fewer save it."
    );
    // A fiftieth of the bag is worth buying it, and where none is at hand there is nothing to save.
    assert_eq!(told("", "6 L", "2 L"), None);
    assert_eq!(told("", "0 L", "400 L"), None);
}
