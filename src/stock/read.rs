//! From a stock file to checked stock.

use super::built_in::built_in_packages;
use super::leftover::Leftover;
use super::log::{LogEntry, LogRow};
use super::package::{Package, Packages, Sold, read_packages, twice};
use super::price::Currency;
use super::scale::{EXPECTED, Scale, countable};
use super::shed::{Line, Shed};
use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Code, Problems, SourceText, Span};
use crate::exact::Fraction;
use crate::source::{Fields, Written, list, no_more_than, parse, too_many};
use crate::units::{Bounds, Fault, Quantity, Volume, in_litres, to_litres, within};
use std::path::PathBuf;
use std::sync::Arc;

/// A checked stock file.
#[derive(Clone, Debug, Default)]
pub struct Stock {
    /// Its name.
    pub name: String,
    /// The file, where it came from one.
    pub path: Option<PathBuf>,
    /// What it was read from, where that is kept.
    pub source: Option<Arc<SourceText>>,
    /// The currency of every price.
    pub currency: Option<Currency>,
    /// What is at hand.
    pub on_hand: OnHand,
    /// Finished mix that was left over.
    pub mixes: Vec<Leftover>,
    /// Where its first entry stands, before which a new one can be written.
    pub first_mix: Option<Span>,
    /// How each ingredient is sold: the user's packages, else the built-in ones.
    pub packages: Packages,
    /// A mix that could be bought in place of mixing.
    pub ready_made: Option<Package>,
}

/// The most mixes that are kept account of.
pub const MOST_MIXES: usize = 100;
/// The most lines of mixes, with those that are used up.
const MOST_LINES: usize = 10_000;

/// What is at hand, and where it stands in the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OnHand {
    /// The amounts.
    pub shed: Shed,
    /// The first name under `on_hand:`, before which a new one can be written.
    pub first: Option<Span>,
}

impl Stock {
    /// Stock of nothing, with the built-in packages.
    pub fn empty(catalogue: &Catalogue) -> Self {
        Self { packages: built_in_packages(catalogue).unwrap_or_default(), ..Self::default() }
    }

    /// The packages that an ingredient is sold in.
    pub fn packages_of(&self, ingredient: &Handle<Ingredient>) -> &[Package] {
        packages_of(&self.packages, ingredient)
    }

    /// The same with one ingredient sold in packages of that label and weight only: if it is, or if the file lists none
    /// of its own.
    #[must_use]
    pub fn sold_as(&self, ingredient: &Handle<Ingredient>, label: &str, kg: f64) -> Self {
        let mut stock = self.clone();
        let is_wanted = |package: &Package| package.is_labelled(label);
        for (_, packages) in stock.packages.iter_mut().filter(|(id, _)| id == ingredient) {
            if packages.iter().any(is_wanted) {
                packages.retain(is_wanted);
            } else if !packages.iter().any(Package::is_own) {
                let wanted = packages.iter().find_map(|package| package.of_weight(label, kg));
                *packages = wanted.map_or_else(|| std::mem::take(packages), |wanted| vec![wanted]);
            }
        }
        stock
    }

    /// Leaves unused what some entries of the log made, where it is still there: they are of one week, and what it left over
    /// itself is nothing for its plan. Says whether there was any.
    pub fn set_aside(&mut self, entries: &[LogEntry]) -> bool {
        let mut is_any = false;
        for (entry, row) in entries.iter().flat_map(|entry| entry.rows.iter().map(move |row| (entry, row))) {
            let made = -row.litres.unwrap_or_default();
            let is_of_day =
                |mix: &Leftover| mix.made.map(|made| made.to_string()).unwrap_or_default() == entry.key().day;
            match row.what.as_str() {
                LogRow::KEPT => is_any |= self.on_hand.shed.set_aside(&row.ingredient, made),
                LogRow::LEFT => {
                    let is_it = |mix: &&mut Leftover| mix.name == row.ingredient && is_of_day(mix);
                    let mut mixes: Vec<&mut Leftover> = self.mixes.iter_mut().filter(is_it).collect();
                    // Of those that other weeks left first the one of that amount.
                    mixes.sort_by(|one, other| {
                        let far = |mix: &Leftover| (to_litres(mix.amount) - made).abs();
                        far(one).total_cmp(&far(other))
                    });
                    mixes.into_iter().fold(in_litres(made), |rest, mix| {
                        let aside = (mix.amount - mix.aside).min(rest);
                        is_any |= aside > Volume::default();
                        mix.aside += aside;
                        rest - aside
                    });
                }
                _ => {}
            }
        }
        is_any
    }

    fn scale<'s>(&'s self, ingredient: &'s Handle<Ingredient>) -> Scale<'s> {
        Scale { ingredient, packages: self.packages_of(ingredient) }
    }

    /// Reads `40 L`, `2 x 5 kg block` or a sum of these as an amount at hand of an
    /// ingredient, as `on_hand:` and `--have` write it.
    pub fn amount(&self, ingredient: &Handle<Ingredient>, written: Written<'_>) -> Option<Quantity> {
        let Written { text, at, problems } = written;
        let terms = self.scale(ingredient).terms(written)?;
        let like = terms.first()?.left;
        if terms.iter().any(|term| !term.left.is_like(like)) {
            return problems.deny(Code::Quantity, at, "volumes and weights cannot be summed", "one kind of amount");
        }
        let sum = like.of_size(terms.iter().map(|term| term.left.size()).sum());
        at_hand(sum, text, at, problems)
    }

    /// Reads `1 x 100 L bag` as a number of packages of an ingredient.
    pub fn bought(&self, ingredient: &Handle<Ingredient>, written: Written<'_>) -> Option<(Package, u64)> {
        let Written { text, at, problems } = written;
        let scale = self.scale(ingredient);
        let (count, label) = Scale::counted(text).unwrap_or((Ok(Fraction::ONE), text));
        let package = scale.labelled(label);
        if package.is_none() {
            problems.push(scale.no_such_label(label, at));
        }
        let whole = count.and_then(|count| {
            const MOST: Bounds = (1.0..=1e6, "1 to 1,000,000 packages are bought at once");
            let count = within(count, count.to_f64().ceil(), MOST, &count.to_string())?;
            count.to_u64().ok_or_else(|| Fault::NotWhole(count.to_string()))
        });
        let whole = problems.quantity(at, whole, "whole packages, such as `1 x 100 L bag`")?;
        let package = package?;
        at_hand(package.gives.times(whole as f64), text, at, problems)?;
        Some((package.clone(), whole))
    }
}

/// An amount at hand that can still be counted exactly; `what` is how it is called.
fn at_hand(amount: Quantity, what: &str, at: Span, problems: &Problems) -> Option<Quantity> {
    let too_much = |most| Fault::Impossible(format!("`{}` cannot be: at hand are at most {most}", what.trim()));
    problems.quantity(at, countable(amount).map_err(too_much), EXPECTED)
}

fn packages_of<'p>(packages: &'p [Sold], ingredient: &Handle<Ingredient>) -> &'p [Package] {
    packages.iter().find(|(id, _)| id == ingredient).map_or(&[], |(_, packages)| packages.as_slice())
}

/// Reads a stock file, its own ingredients first; those of a week win.
pub fn read(source: &SourceText, catalogue: &mut Catalogue, problems: &Problems) -> Option<Stock> {
    let node = parse(&source.text, problems)?;
    let mut fields = Fields::new(&node, "a stock file", problems)?;
    catalogue.add_unless_own(&mut fields, problems);
    let name = fields.required("stock");
    // Currencies with their places; the file's own comes first.
    let own = fields.optional("currency").map(|currency: Currency| (currency, fields.place("currency")));
    let mut currencies: Vec<_> = own.into_iter().collect();
    let mut packages = read_packages(&mut fields, catalogue, false, &mut currencies, problems);
    let ready_made = fields.get("ready_made").and_then(|node| Package::read(node, None, false, problems));
    let ready_made = ready_made.map(|(package, currency)| {
        currencies.extend(currency);
        package
    });
    check_currencies(&currencies, problems);
    for (id, built_in) in built_in_packages(catalogue).unwrap_or_default() {
        if packages_of(&packages, &id).is_empty() {
            packages.push((id, built_in));
        }
    }
    let on_hand = read_on_hand(&mut fields, &packages, catalogue, problems);
    let mixes = fields.list("mixes");
    let mixes = no_more_than(mixes, MOST_LINES, "lines of mixes", fields.place("mixes"), problems);
    let first_mix = mixes.first().map(|node| node.at);
    let mixes: Vec<_> = mixes.iter().filter_map(|node| Leftover::read(node, catalogue, problems)).collect();
    // What is used up stays in the file where it stands on several lines.
    let left = mixes.iter().filter(|mix| !mix.is_used_up()).count();
    if left > MOST_MIXES {
        problems.push(too_many(left, MOST_MIXES, "mixes", fields.place("mixes")));
    }
    fields.finish()?;
    let currency = currencies.first().map(|(currency, _)| *currency);
    Some(Stock { name: name?, path: None, source: None, currency, on_hand, mixes, first_mix, packages, ready_made })
}

/// Every price in the one currency.
fn check_currencies(currencies: &[(Currency, Span)], problems: &Problems) {
    let Some((first, _)) = currencies.first() else { return };
    for (currency, at) in currencies.iter().filter(|(currency, _)| currency != first) {
        let what = format!("this price is in {currency}, the file's are in {first}");
        problems.fault(Code::Conflict, *at, what, format!("a price in {first}"));
    }
}

fn read_on_hand(fields: &mut Fields<'_>, packages: &[Sold], catalogue: &Catalogue, problems: &Problems) -> OnHand {
    let mut on_hand = OnHand::default();
    for (name, at, value) in fields.entries("on_hand", "what is at hand") {
        if on_hand.first.is_none() && at.at.end > at.at.start {
            on_hand.first = Some(at.at);
        }
        let Some(id) = catalogue.ingredient_named(name, at.at, problems) else { continue };
        if on_hand.shed.entries.iter().any(|(known, _)| *known == id) {
            problems.push(twice(&id, name, at.at));
            continue;
        }
        let scale = Scale { ingredient: &id, packages: packages_of(packages, &id) };
        let lines: Vec<Line> = list(value).iter().filter_map(|node| scale.line(node, problems)).collect();
        let terms = || lines.iter().flat_map(|line| &line.terms).map(|term| term.left);
        if let Some(like) = terms().next() {
            at_hand(like.of_size(terms().map(Quantity::size).sum()), name, value.at, problems);
        }
        on_hand.shed.entries.push((id, lines));
    }
    on_hand
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn read_text(text: &str) -> Result<(Stock, Catalogue), Vec<&'static str>> {
        let source = Arc::new(SourceText { name: "stock.yaml".to_owned(), text: text.to_owned() });
        let problems = Problems::new(Arc::clone(&source));
        let mut catalogue = Catalogue::built_in();
        let stock = read(&source, &mut catalogue, &problems);
        match problems.settle(stock) {
            Ok((stock, _)) => Ok((stock, catalogue)),
            Err(rejected) => Err(rejected.problems().map(|(_, problem)| problem.code.name()).collect()),
        }
    }

    fn at_hand(text: &str, name: &str) -> f64 {
        let (stock, catalogue) = read_text(text).unwrap_or_else(|codes| panic!("{codes:?}"));
        let id = catalogue.ingredients.find(name).unwrap();
        let like = if name == "lime" {
            Quantity::Mass(crate::units::mass("1 g").unwrap())
        } else {
            Quantity::Volume(in_litres(1.0))
        };
        stock.on_hand.shed.at_hand(&id, like).size()
    }

    const SHED: &str = "stock: s\npackages:\n  coir: [{label: 5 kg block, gives: 65 L, price: 14.90}]\n  perlite: [{label: 100 L bag, gives: 100 L}]\non_hand:\n";

    #[test]
    fn amounts_at_hand_in_every_form() {
        let of = |amount: &str| at_hand(&format!("{SHED}  coir: {amount}\n"), "coir");
        assert_eq!(of("40 L"), 40.0);
        assert_eq!(of("2 x 5 kg block"), 130.0);
        assert_eq!(of("2 x 5 kg blocks"), 130.0);
        assert_eq!(of("1/2 x 5 kg block"), 32.5);
        assert_eq!(of("1 1/2 × 5 KG BLOCK + 2 L"), 99.5);
        assert_eq!(of("5 kg block"), 65.0);
        assert_eq!(of("2 x 40 L"), 80.0);
        assert_eq!(of("[10 L, 1 x 5 kg block]"), 75.0);
        assert_eq!(of("0 L"), 0.0);
        assert_eq!(of("0"), 0.0);
        assert_eq!(of("0 x 5 kg block"), 0.0);
        assert_eq!(of("~"), 0.0);
        assert_eq!(at_hand("stock: s\non_hand: {lime: 0 g + 1 kg}\n", "dolomite"), 0.0);
        assert_eq!(at_hand("stock: s\non_hand: {lime: 0 g + 1 kg}\n", "lime"), 1000.0);
        // The packages that ship.
        assert_eq!(at_hand("stock: s\non_hand: {coir: 1 x 5 kg block}\n", "coir"), 65.0);
    }

    #[test]
    fn own_density_turns_a_mass_into_litres() {
        let own = "stock: s\ningredients: {biochar: {kind: bulk, dry_density: 200 g/L}}\non_hand: {biochar: 5 kg}\n";
        assert_eq!(at_hand(own, "biochar"), 25.0);
    }

    #[test]
    fn own_density_counts_a_dose_by_weight() {
        let lime = |more: &str| {
            at_hand(&format!("stock: s\ningredients: {{lime: {{kind: dose, dry_density: 900 g/L}}}}\n{more}"), "lime")
        };
        assert_eq!(lime("on_hand: {lime: 500 g}\n"), 500.0);
        assert_eq!(lime("on_hand: {lime: 2 L + 100 g}\n"), 1900.0);
        assert_eq!(lime("packages: {lime: [{label: tub, gives: 1 L}]}\non_hand: {lime: 2 x tub}\n"), 1800.0);
    }

    #[test]
    fn a_label_that_says_much_more_or_less_than_the_package_gives() {
        let contradicted = |ingredient: &str, package: &str| {
            let text = format!("stock: s\npackages: {{{ingredient}: [{{{package}}}]}}\n");
            let (stock, catalogue) = read_text(&text).unwrap_or_else(|codes| panic!("{codes:?}"));
            let id = catalogue.ingredients.find(ingredient).unwrap();
            stock.packages_of(&id)[0].contradicted(&id).is_some()
        };
        assert!(contradicted("perlite", "label: 100 L bag, gives: 10 L"));
        assert!(contradicted("perlite", "label: 4 cu ft bag, gives: 11.3 L"));
        assert!(contradicted("lime", "label: 1 kg box, gives: 10 kg"));
        assert!(!contradicted("perlite", "label: 100 L bag, gives: 90 L"));
        assert!(!contradicted("perlite", "label: bag, gives: 10 L"));
        assert!(!contradicted("peat", "label: 100 L bale, compressed: 100 L, loosens: 2.5"));
        assert!(!contradicted("coir", "label: 5 kg block, gives: 65 L"));
    }

    #[test]
    fn a_compressed_bale_counts_by_its_loose_litres() {
        let bale = |more: &str| {
            let text = format!(
                "stock: s\npackages: {{peat: [{{label: bale, compressed: 100 L{more}}}]}}\non_hand: {{peat: 1 x bale}}\n"
            );
            at_hand(&text, "peat")
        };
        assert_eq!(bale(""), 180.0);
        assert_eq!(bale(", loosens: 2"), 200.0);
    }

    #[test]
    fn faults() {
        let fault = |text: &str| read_text(text).err().unwrap_or_default();
        let packages = |packages: &str| fault(&format!("stock: s\npackages: {{perlite: {packages}}}\n"));
        assert_eq!(packages("[{label: bag, gives: 0 L}]"), ["quantity"]);
        assert_eq!(packages("[{label: bag, gives: 10 L, price: -3}]"), ["quantity"]);
        assert_eq!(packages("[{label: bag, gives: 10 L, price: '24,90'}]"), ["quantity"]);
        assert_eq!(packages("[{label: bag, gives: 10 L}, {label: Bag, gives: 20 L}]"), ["name-twice"]);
        assert_eq!(packages("[{label: bag}, {gives: 10 L}]"), ["missing-key", "missing-key"]);
        assert_eq!(packages("[{label: bag, gives: 10 L, cost: 3}]"), ["unknown-key"]);
        assert_eq!(packages("[{label: bag, gives: 10 kg}]"), ["quantity"]);
        assert_eq!(packages("[{label: bag, gives: 1 L, compressed: 1 L}]"), ["conflict"]);
        assert_eq!(packages("[{label: bag, gives: 1 L, loosens: 2}]"), ["conflict"]);
        assert_eq!(packages("[{label: bag, compressed: 1 L, loosens: 0.5}]"), ["quantity"]);
        assert_eq!(packages("7"), ["wrong-kind"]);
        assert_eq!(fault("stock: s\npackages: {perlit: []}\n"), ["unknown-ingredient"]);
        assert_eq!(fault("stock: s\npackages: {peat: [], peat moss: []}\n"), ["name-twice"]);
        assert_eq!(
            fault("stock: s\ncurrency: EUR\npackages: {perlite: [{label: bag, gives: 1 L, price: 3 USD}]}\n"),
            ["conflict"]
        );
        assert_eq!(fault("stock: s\ncurrency: euros\n"), ["choice"]);
        assert_eq!(fault("stock: s\nready_made: {label: bag, gives: 5 kg}\n"), ["quantity"]);
        let on_hand = |amount: &str| fault(&format!("{SHED}  perlite: {amount}\n"));
        assert_eq!(on_hand("2 x 90 L bag"), ["choice"]);
        assert_eq!(on_hand("2 x 5 kg"), ["quantity"]);
        assert_eq!(on_hand("5 kg"), ["quantity"]);
        assert_eq!(on_hand("-4 L"), ["quantity"]);
        assert_eq!(on_hand("-4 x 100 L bag"), ["quantity"]);
        assert_eq!(on_hand("some"), ["quantity"]);
        assert_eq!(on_hand("40 L +"), ["quantity"]);
        assert_eq!(on_hand("1e9 L"), ["quantity"]);
        assert_eq!(on_hand("200 x 9000000 L"), ["quantity"]);
        assert_eq!(on_hand("{a: b}"), ["wrong-kind"]);
    }
}
