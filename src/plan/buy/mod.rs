//! What to buy: what is at hand first, the rest in whole packages at least cost.

mod packages;

pub use packages::{MOST_STEPS, PackageChoice, PackageKind, choose};

use packages::choose_within;

use super::demand::Demand;
use super::mixes::{Known, Mixes, Totals};
use super::sow::chance_of_cell;
use crate::catalogue::{Handle, Ingredient, Role};
use crate::exact::whole;
use crate::stock::{Balance, Currency, Package, Stock, Use, UsedFor, counted, money, money_or_null};
use crate::units::{Quantity, Tally, Volume, cover, given_billionths, in_litres, needed_billionths, serial, to_litres};
use crate::week::{Loaded, Week};
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fmt;

/// So much of an ingredient.
pub type Need = (Handle<Ingredient>, Quantity);

/// What to buy and what it costs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Purchases {
    /// The currency of the prices, where the stock file says.
    pub currency: Option<Currency>,
    /// Whether there is a stock file.
    pub has_stock: bool,
    /// A line for each ingredient and dose needed.
    pub lines: Vec<PurchaseLine>,
    /// What all of it costs; `None` where a package or a price is missing.
    pub total: Option<Decimal>,
    /// What the lines cost whose cost is known.
    pub known: Decimal,
    /// What the mix uses up as it is measured, and the covering, each ingredient by the packages bought now, or at the best
    /// unit price of those known; `None` where a price is missing, or nothing is mixed.
    pub used: Option<Decimal>,
    /// What of that has no package with a price.
    pub used_unpriced: Vec<Handle<Ingredient>>,
    /// The trays and pots that `total` is for.
    pub per: CostShares,
    /// Packages of ready-made mix that give as much as is made.
    pub ready_made: Option<Pick>,
    /// What the plan would cost with each of the ingredients that its recipes offer; none of a
    /// plan without comparison.
    pub alternatives: Vec<Alternative>,
    /// Packages whose label says less than half or more than twice what they give.
    pub contradicted: Vec<(Handle<Ingredient>, Package)>,
    /// Packages that are bought for next to nothing.
    pub hardly_needed: Vec<HardlyNeeded>,
}

/// A package that is bought for less than a fiftieth of it, beside others or what is at hand.
#[derive(Clone, Debug, PartialEq)]
pub struct HardlyNeeded {
    /// What is in it.
    pub ingredient: Handle<Ingredient>,
    /// What it is called.
    pub label: String,
    /// How much of it is needed.
    pub amount: Quantity,
    /// No more than that is due to measuring by the scoop.
    pub for_scoops: bool,
}

/// The share of a package below which it is worth a word that one more is wanted.
pub(super) const HARDLY_ANY: f64 = 0.02;

/// What costs are shared out over.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CostShares {
    /// Trays filled.
    pub trays: u64,
    /// Pots filled.
    pub pots: u64,
    /// Plants, clumps or pots wanted; of sowings by cells or trays those to expect. None where a
    /// crop is not named.
    pub plants: u64,
    /// Litres of finished mix that is made.
    pub mix_l: f64,
}

impl CostShares {
    /// An amount for each tray, or pot where there are no trays; `None` where both share it, since no part
    /// is then that of a tray.
    pub fn per_tray(&self, amount: Option<Decimal>) -> Option<Decimal> {
        match (self.trays, self.pots) {
            (filled, 0) | (0, filled) => amount?.checked_div(Decimal::from(filled)),
            _ => None,
        }
    }

    /// An amount for a hundred plants.
    pub fn per_100_plants(&self, amount: Option<Decimal>) -> Option<Decimal> {
        amount?.checked_mul(Decimal::ONE_HUNDRED)?.checked_div(Decimal::from(self.plants))
    }

    /// An amount for a litre of finished mix.
    pub fn per_litre(&self, amount: Option<Decimal>) -> Option<Decimal> {
        amount?.checked_div(Decimal::from_f64(self.mix_l)?)
    }
}

/// One ingredient.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PurchaseLine {
    /// The ingredient that is needed.
    pub ingredient: Handle<Ingredient>,
    /// How much is needed in all.
    #[serde(flatten, serialize_with = "serial::need")]
    pub need: Quantity,
    /// How much of it is at hand.
    #[serde(flatten, serialize_with = "serial::on_hand")]
    pub on_hand: Quantity,
    /// How much has to be bought.
    #[serde(flatten, serialize_with = "serial::to_buy")]
    pub lacking: Quantity,
    /// How to buy it.
    #[serde(skip)]
    pub buy: Buy,
    /// The packages to buy.
    pub packages: Vec<Pick>,
    /// What they cost; `None` where a package or a price is missing.
    #[serde(serialize_with = "money_or_null")]
    pub cost: Option<Decimal>,
    /// What is left afterwards.
    #[serde(flatten, serialize_with = "serial::left_over")]
    pub left_over: Quantity,
}

/// So many packages of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Pick {
    /// The package.
    pub package: Package,
    /// How many.
    pub count: u64,
}

impl Pick {
    /// What they cost; `None` where the price is missing.
    pub fn cost(&self) -> Option<Decimal> {
        self.package.price?.checked_mul(Decimal::from(self.count))
    }

    /// What they give together.
    pub fn gives(&self) -> Quantity {
        self.package.gives.times(self.count as f64)
    }
}

impl fmt::Display for Pick {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} x {}", self.count, self.package.label)
    }
}

impl Serialize for Pick {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Package { label, gives, price, .. } = &self.package;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("label", label)?;
        map.serialize_entry("count", &self.count)?;
        serial::entries(&mut map, ["gives_l", "gives_g"], Some(*gives))?;
        map.serialize_entry("price", &price.map(money))?;
        map.serialize_entry("cost", &self.cost().map(money))?;
        map.end()
    }
}

/// How an ingredient is bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Buy {
    /// Enough is at hand.
    Nothing,
    /// The packages that cost least, of those with a price.
    Cheapest,
    /// The cheapest packages that were found in bounded time.
    CheapEnough,
    /// No package has a price: those that leave the least over.
    LeastLeftOver,
    /// No package has a price: of those that were found in bounded time those that leave the
    /// least over.
    LittleLeftOver,
    /// No package is known: so many litres or grams.
    Loose,
    /// The same, though there are packages, or some is at hand, that are counted the other
    /// way: by weight where litres are needed, or in litres where it is needed by weight.
    LooseUnlike,
}

/// The plan's purchases with another choice of ingredient.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    /// The ingredient.
    pub ingredient: Handle<Ingredient>,
    /// The plan uses it.
    pub chosen: bool,
    /// The litres of it.
    pub need: Volume,
    /// What the whole purchase would cost.
    pub total: Option<Decimal>,
    /// What of it has no package with a price.
    pub unpriced: Vec<Handle<Ingredient>>,
}

/// Every ingredient and dose of some mixes, with covering material and the like in `extras`,
/// each counted as the stock counts it.
///
/// What is needed both by volume and by weight has a need of each, unless the user's own
/// density tells the one from the other.
pub fn needs(totals: &Totals, extras: &[Use]) -> Vec<Need> {
    let counted = |(id, amount)| (Handle::clone(&id), counted(amount, &id));
    totals.amounts(extras).map(counted).collect::<Tally<_, _>>().into_iter().collect()
}

/// What to buy for some mixes against some stock ([`stock_of`]), and where it is `compared` what each other choice of
/// ingredient would cost.
pub(super) fn purchases(
    mixes: &Mixes,
    demand: &Demand<'_>,
    loaded: &Loaded,
    stock: &Stock,
    compared: bool,
) -> Purchases {
    let mut purchases = of_mixes(&[(mixes, &loaded.week)], stock, &Handle::clone);
    if compared {
        purchases.alternatives = alternatives(mixes, &purchases.lines, demand, loaded, stock);
    }
    purchases
}

/// The stock of a week, or nothing at hand and the built-in packages; its coir as the week's soak is for.
pub(super) fn stock_of<'l>(mixes: &Mixes, loaded: &'l Loaded) -> Cow<'l, Stock> {
    match &loaded.week.stock {
        Some(stock) => as_soaked(stock, mixes.coir(), &loaded.week),
        None => Cow::Owned(as_soaked(&Stock::empty(&loaded.catalogue), mixes.coir(), &loaded.week).into_owned()),
    }
}

/// What to buy for the mixes of some weeks together against some stock, by whose ingredients theirs are known.
pub fn to_buy(weeks: &[(&Mixes, &Week)], stock: &Stock, known: Known<'_>) -> Purchases {
    let coir = weeks.iter().find_map(|(mixes, week)| Some((known(mixes.coir()?), week)));
    let stock = coir.map_or(Cow::Borrowed(stock), |(coir, week)| as_soaked(stock, Some(&coir), week));
    of_mixes(weeks, &stock, known)
}

/// The stock with the coir in the bricks or blocks that the week's soak is for.
fn as_soaked<'s>(stock: &'s Stock, coir: Option<&Handle<Ingredient>>, week: &Week) -> Cow<'s, Stock> {
    match coir.zip(week.soak.as_ref().filter(|soak| soak.product_said)) {
        Some((coir, soak)) => Cow::Owned(stock.sold_as(coir, &soak.product.label, soak.product.kg)),
        None => Cow::Borrowed(stock),
    }
}

fn of_mixes(weeks: &[(&Mixes, &Week)], stock: &Stock, known: Known<'_>) -> Purchases {
    let totals = Totals::of_all(weeks.iter().map(|(mixes, _)| &mixes.totals), known);
    let extras = weeks.iter().flat_map(|(mixes, _)| mixes.extras());
    let extras: Vec<Use> = extras.map(|used| Use { ingredient: known(&used.ingredient), ..used }).collect();
    let straight = Mixes::straight(weeks.iter().map(|(mixes, _)| *mixes));
    let needs = stock.on_hand.shed.parted(needs(&totals, &extras), straight);
    let covering = extras.iter().filter(|used| used.purpose == UsedFor::Covering);
    let covering = covering.map(|used| (used.ingredient.clone(), used.amount));
    let measured = weeks.iter().flat_map(|(mixes, _)| mixes.mixing.measured());
    let measured = measured.map(|(id, amount)| (known(&id), amount)).chain(covering);
    let used: Tally<_, _> = measured.map(|(id, amount)| (id.clone(), counted(amount, &id))).collect();
    let used: Vec<Need> = used.into_iter().collect();
    let made = totals.mix - totals.from_stock;
    let mut steps_left = MOST_STEPS;
    let lines: Vec<PurchaseLine> = needs.iter().map(|need| line_within(need, stock, &mut steps_left)).collect();
    let worth = |need: &Need| worth(need, &lines, stock);
    Purchases {
        currency: stock.currency,
        has_stock: stock.path.is_some(),
        total: sum(lines.iter().map(|line| line.cost)),
        known: lines.iter().filter_map(|line| line.cost).fold(Decimal::ZERO, Decimal::saturating_add),
        used: sum(used.iter().map(worth)).filter(|_| !used.is_empty()),
        used_unpriced: used.iter().filter(|need| worth(need).is_none()).map(|(id, _)| id.clone()).collect(),
        per: CostShares {
            trays: totals.trays,
            pots: totals.pots,
            plants: weeks.iter().map(|(mixes, week)| plants(mixes, week, weeks.len() > 1)).sum(),
            mix_l: to_litres(made),
        },
        ready_made: stock.ready_made.as_ref().and_then(|package| ready_made(package, made)),
        contradicted: contradicted(&lines, stock),
        hardly_needed: lines.iter().filter_map(|line| hardly_needed(line, weeks, &extras)).collect(),
        lines,
        alternatives: Vec::new(),
    }
}

/// Plants, clumps or pots that are wanted, or where cells are that may be expected; none where some
/// crop is not named. Of several weeks those that are potted on count where they were sown.
fn plants(mixes: &Mixes, week: &Week, sown_before: bool) -> u64 {
    let sowings = mixes.layout.sowings.iter().zip(&week.sowings);
    let sowings = sowings.filter(|(_, written)| !(sown_before && written.from.is_some()));
    let plants = sowings.map(|(sowing, written)| match sowing.cells.plants {
        Some(plants) => Some(u64::from(plants.get())),
        None => {
            let chance = written.crop.as_ref().map(|_| chance_of_cell(written, week))?;
            Some(whole((f64::from(sowing.cells.cells) * chance).round()))
        }
    });
    plants.sum::<Option<u64>>().unwrap_or(0)
}

/// The package of a line that is bought for next to nothing. Of coir the soak of a week tells.
fn hardly_needed(line: &PurchaseLine, weeks: &[(&Mixes, &Week)], extras: &[Use]) -> Option<HardlyNeeded> {
    let given: f64 = line.packages.iter().map(|pick| pick.gives().size()).sum();
    let beside = line.on_hand.size() > 0.0 || line.packages.iter().map(|pick| pick.count).sum::<u64>() > 1;
    if !beside || line.ingredient.is(Role::Coir) && weeks.iter().any(|(_, week)| week.soak.is_some()) {
        return None;
    }
    let needed_of = |pick: &Pick| line.lacking.size() - (given - pick.package.gives.size());
    let is_hardly = |pick: &&Pick| (0.0..HARDLY_ANY).contains(&(needed_of(pick) / pick.package.gives.size()));
    let pick = line.packages.iter().find(is_hardly)?;
    let amount = line.lacking.of_size(needed_of(pick));
    let scooped = extras.iter().filter(|used| used.purpose == UsedFor::Scoops && used.ingredient == line.ingredient);
    let scooped: f64 = scooped.map(|used| counted(used.amount, &line.ingredient)).map(Quantity::size).sum();
    let (ingredient, label) = (line.ingredient.clone(), pick.package.label.clone());
    Some(HardlyNeeded { ingredient, label, amount, for_scoops: amount.size() <= scooped })
}

/// The purchase with each of the ingredients that the recipes offer as a choice. One that
/// comes into no mix, whatever is wanted, is no alternative; nor is one that leaves some
/// sowing without a mix.
fn alternatives(
    mixes: &Mixes,
    lines: &[PurchaseLine],
    demand: &Demand<'_>,
    loaded: &Loaded,
    stock: &Stock,
) -> Vec<Alternative> {
    let week = &loaded.week;
    // A volume is asked for of the first recipe.
    let recipes = week.recipes.iter().take(if mixes.layout.sowings.is_empty() { 1 } else { usize::MAX });
    // Several choices would have to be combined, and the sheet shows one: then none.
    let mut offered = recipes.flat_map(|recipe| &recipe.parts).filter(|part| part.choices.len() > 1);
    let Some(first) = offered.next() else { return Vec::new() };
    if !offered.all(|part| part.choices == first.choices) {
        return Vec::new();
    }
    // Most lines are those of the plan.
    let known = |need: &Need| lines.iter().find(|line| line.ingredient == need.0 && line.need == need.1);
    let is_priced = |need: &Need| match known(need) {
        Some(line) => line.cost.is_some(),
        None => is_priced(need, stock),
    };
    let cost = |needs: &[Need]| {
        let mut steps_left = MOST_STEPS;
        let mut cost =
            |need| known(need).map_or_else(|| line_within(need, stock, &mut steps_left).cost, |line| line.cost);
        // Without a price there is no sum, and nothing to choose.
        let unpriced: Vec<_> = needs.iter().filter(|need| !is_priced(need)).map(|(id, _)| id.clone()).collect();
        (if unpriced.is_empty() { sum(needs.iter().map(&mut cost)) } else { None }, unpriced)
    };
    let of_choice = |other: &Handle<Ingredient>| {
        // What the command line wants comes before what the week does.
        let rest = week.wanted.iter().filter(|id| *id != other);
        let wanted: Vec<_> = std::iter::once(other).chain(rest).cloned().collect();
        let is_of_plan = first.chosen(&week.wanted) == other;
        let other_mixes = if is_of_plan { None } else { Some(Mixes::make(demand, &wanted, loaded, Some(mixes)).ok()?) };
        let made = other_mixes.as_ref().unwrap_or(mixes);
        let need = made.totals.ingredients.get(other).unwrap_or(in_litres(0.0));
        let (total, unpriced) =
            cost(&stock.on_hand.shed.parted(needs(&made.totals, &made.extras()), Mixes::straight([made])));
        let chosen = made.are_alike(mixes);
        (to_litres(need) > 0.0).then(|| Alternative { ingredient: other.clone(), chosen, need, total, unpriced })
    };
    first.choices.iter().filter_map(of_choice).collect()
}

/// Packages of what is needed whose label says another amount than they give.
fn contradicted(lines: &[PurchaseLine], stock: &Stock) -> Vec<(Handle<Ingredient>, Package)> {
    let ids: BTreeSet<&Handle<Ingredient>> = lines.iter().map(|line| &line.ingredient).collect();
    ids.into_iter()
        .flat_map(|id| stock.packages_of(id).iter().map(move |package| (id, package)))
        .filter(|(id, package)| package.contradicted(id).is_some())
        .map(|(id, package)| (id.clone(), package.clone()))
        .collect()
}

/// The sum of some amounts of money; `None` where one of them is not known.
fn sum(mut amounts: impl Iterator<Item = Option<Decimal>>) -> Option<Decimal> {
    amounts.try_fold(Decimal::ZERO, |sum, amount| sum.checked_add(amount?))
}

/// What is at hand against one need, and the packages for the rest.
pub fn line(need: &Need, stock: &Stock) -> PurchaseLine {
    line_within(need, stock, &mut { MOST_STEPS })
}

/// The same with the steps that a purchase has left to choose packages.
fn line_within(need: &Need, stock: &Stock, steps_left: &mut usize) -> PurchaseLine {
    let balance = stock.on_hand.shed.balance(&need.0, need.1);
    let (packages, buy) = match balance.is_short() {
        true => buy(&balance.ingredient, balance.lacking, stock, steps_left),
        false => (Vec::new(), Buy::Nothing),
    };
    let cost = match buy {
        Buy::Loose | Buy::LooseUnlike => None,
        _ => sum(packages.iter().map(Pick::cost)),
    };
    let left_over = balance.left_with(packages.iter().map(|pick| pick.gives().size()).sum());
    let Balance { ingredient, need, on_hand, lacking, .. } = balance;
    PurchaseLine { ingredient, need, on_hand, lacking, buy, packages, cost, left_over }
}

/// Whether what is lacking of a need has a package with a price.
fn is_priced(need: &Need, stock: &Stock) -> bool {
    let balance = stock.on_hand.shed.balance(&need.0, need.1);
    let packages = offered(stock.packages_of(&need.0), balance.lacking);
    !balance.is_short() || packages.iter().any(|package| package.price.is_some())
}

/// The packages that count what is lacking as it is needed.
fn offered(known: &[Package], lacking: Quantity) -> Vec<&Package> {
    known.iter().filter(|package| package.gives.is_like(lacking) && package.gives.size() >= 1e-9).collect()
}

/// The packages for what is lacking, none where none is known.
fn buy(ingredient: &Handle<Ingredient>, lacking: Quantity, stock: &Stock, steps_left: &mut usize) -> (Vec<Pick>, Buy) {
    let known = stock.packages_of(ingredient);
    let mut packages = offered(known, lacking);
    // Packages with a price meet any need, at a cost that is known: one without counts only where none has one.
    let priced = packages.iter().any(|package| package.price.is_some());
    packages.retain(|package| package.price.is_some() || !priced);
    let kind = |package: &&Package| PackageKind {
        gives: given_billionths(package.gives.size()),
        price: package.price.and_then(hundredths).unwrap_or(0),
    };
    let kinds: Vec<PackageKind> = packages.iter().map(kind).collect();
    let Some(choice) = choose_within(needed_billionths(lacking.size()), &kinds, steps_left) else {
        let unlike = packages.len() < known.len() || stock.on_hand.shed.is_unlike(ingredient, lacking);
        return (Vec::new(), if unlike { Buy::LooseUnlike } else { Buy::Loose });
    };
    let picks = packages.into_iter().zip(choice.counts).filter(|(_, count)| *count > 0);
    let buy = match (priced, choice.proved) {
        (false, true) => Buy::LeastLeftOver,
        (false, false) => Buy::LittleLeftOver,
        (true, true) => Buy::Cheapest,
        (true, false) => Buy::CheapEnough,
    };
    (picks.map(|(package, count)| Pick { package: package.clone(), count }).collect(), buy)
}

/// A price in whole hundredths; prices have at most two decimals.
fn hundredths(price: Decimal) -> Option<u64> {
    price.checked_mul(Decimal::ONE_HUNDRED)?.to_u64()
}

/// What an amount is worth by the packages that are bought, or at the best unit price of those that are known.
fn worth((ingredient, amount): &Need, lines: &[PurchaseLine], stock: &Stock) -> Option<Decimal> {
    let of_one = |price: Option<Decimal>, gives: f64| {
        price?.checked_div(Decimal::from_f64(gives).filter(|gives| !gives.is_zero())?)
    };
    let is_bought = |line: &&PurchaseLine| line.ingredient == *ingredient && line.lacking.is_like(*amount);
    let bought = lines.iter().find(is_bought).filter(|line| !line.packages.is_empty());
    let bought = bought.and_then(|line| of_one(line.cost, line.packages.iter().map(|pick| pick.gives().size()).sum()));
    let packages = stock.packages_of(ingredient).iter().filter(|package| package.gives.is_like(*amount));
    let best = || packages.filter_map(|package| of_one(package.price, package.gives.size())).min();
    bought.or_else(best)?.checked_mul(Decimal::from_f64(amount.size())?)
}

fn ready_made(package: &Package, mix: Volume) -> Option<Pick> {
    let Quantity::Volume(each) = package.gives else { return None };
    let count = cover(mix, each)?.count;
    (count > 0).then(|| Pick { package: package.clone(), count })
}

impl Purchases {
    /// The ingredients whose cost is not known.
    pub fn without_cost(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        self.lines.iter().filter(|line| line.cost.is_none()).map(|line| &line.ingredient)
    }

    /// The ingredients that have to be bought in packages without a price.
    pub fn unpriced(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        self.lines.iter().filter(|line| !line.packages.is_empty() && line.cost.is_none()).map(|line| &line.ingredient)
    }
}
