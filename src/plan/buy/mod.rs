//! What to buy: what is at hand first, the rest in whole packages at least cost.

mod packages;

pub use packages::{Choice, Kind, MOST_STEPS, choose};

use super::mixes::Demand;
use super::{Extra, ExtraUse, Mixes, Totals};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::stock::{Currency, Package, Stock, counted};
use crate::units::{Quantity, Tally, Volume, cover, given_billionths, in_litres, needed_billionths, to_litres};
use crate::week::Loaded;
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use std::borrow::Cow;
use std::collections::BTreeSet;

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
    /// What the plan uses up, at the best unit price of each ingredient, whether it is
    /// bought now or at hand; `None` where a price is missing.
    pub used: Option<Decimal>,
    /// The trays and pots that `total` is for.
    pub per: CostShares,
    /// The same mix bought ready-made.
    pub ready_made: Option<ReadyMade>,
    /// What the plan would cost with each of the ingredients that its recipes offer.
    pub alternatives: Vec<Alternative>,
    /// Packages whose label says less than half or more than twice what they give.
    pub contradicted: Vec<(Handle<Ingredient>, Package)>,
}

/// What costs are shared out over.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CostShares {
    /// What is filled.
    pub filled: Filled,
    /// Trays filled, or pots where there are no trays.
    pub trays: u64,
    /// Plants wanted; of sowings by cells or trays, a plant a cell.
    pub plants: u64,
    /// Litres of finished mix.
    pub mix_l: f64,
}

/// What a plan fills.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Filled {
    /// Trays alone, or nothing but a volume.
    #[default]
    Trays,
    /// Pots alone.
    Pots,
    /// Trays and pots: no share of the cost is that of a tray.
    Both,
}

impl Filled {
    fn of(totals: &Totals) -> Self {
        match (totals.trays, totals.pots) {
            (_, 0) => Self::Trays,
            (0, _) => Self::Pots,
            _ => Self::Both,
        }
    }
}

/// One ingredient.
#[derive(Clone, Debug, PartialEq)]
pub struct PurchaseLine {
    /// What.
    pub ingredient: Handle<Ingredient>,
    /// How much is needed in all.
    pub need: Quantity,
    /// How much of it is at hand.
    pub on_hand: Quantity,
    /// How much has to be bought.
    pub lacking: Quantity,
    /// What to buy.
    pub buy: Buy,
    /// What is left afterwards.
    pub left_over: Quantity,
}

/// What to buy of an ingredient.
#[derive(Clone, Debug, PartialEq)]
pub enum Buy {
    /// Enough is at hand.
    Nothing,
    /// Whole packages.
    Packages {
        /// Each kind and how many.
        picks: Vec<(Package, u64)>,
        /// What they cost; `None` where a price is missing.
        cost: Option<Decimal>,
        /// Why they were chosen.
        by: Chosen,
    },
    /// No package is known: so many litres or grams.
    Loose {
        /// There are packages, or some is at hand, but counted the other way: by weight
        /// where litres are needed, or in litres where it is needed by weight.
        unlike: bool,
    },
}

/// Why packages were chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chosen {
    /// They are the cheapest.
    Cheapest,
    /// They are the cheapest that were found in bounded time.
    CheapEnough,
    /// Prices are missing: they leave the least over.
    LeastLeftOver,
}

/// A ready-made mix in place of the plan's.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadyMade {
    /// The package.
    pub package: Package,
    /// How many give the same finished mix.
    pub count: u64,
    /// What they cost.
    pub cost: Option<Decimal>,
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
}

/// Every ingredient and dose of some mixes, with covering material and the like in `extras`,
/// each counted as the stock counts it.
///
/// What is needed both by volume and by weight has a need of each, unless the user's own
/// density tells the one from the other.
#[must_use]
pub fn needs(totals: &Totals, extras: &[Extra]) -> Vec<Need> {
    let of_mix = |extra: &&Extra| totals.ingredients.get(&extra.ingredient).is_some();
    let amount = |extra: &Extra| (extra.ingredient.clone(), extra.amount);
    let parts = totals.ingredients.iter().map(|(id, loose)| (id.clone(), Quantity::Volume(*loose)));
    // Covering that no mix holds comes before the doses, too.
    let early = extras.iter().filter(|extra| of_mix(extra) || extra.why == ExtraUse::Covering).map(amount);
    let late = extras.iter().filter(|extra| !of_mix(extra) && extra.why == ExtraUse::Scoops).map(amount);
    let all = parts.chain(early).chain(totals.doses.iter().cloned()).chain(late);
    let tally: Tally<_, _> = all.map(|(id, amount)| (id.clone(), counted(amount, &id))).collect();
    tally.into_iter().collect()
}

/// What to buy for some mixes against the week's stock file or the packages that ship, and
/// what each other choice of ingredient would cost.
pub(super) fn purchases(mixes: &Mixes, demand: &Demand<'_>, loaded: &Loaded) -> Purchases {
    let shipped = loaded.week.stock.is_none().then(|| Stock::empty(&loaded.catalogue));
    let Some(stock) = loaded.week.stock.as_ref().or(shipped.as_ref()) else { return Purchases::default() };
    let stock = as_soaked(stock, mixes, loaded);
    let purchases = of_mixes(mixes, &stock);
    Purchases { alternatives: alternatives(mixes, &purchases.lines, demand, loaded, &stock), ..purchases }
}

/// What to buy for some mixes against some stock.
#[must_use]
pub fn to_buy(mixes: &Mixes, loaded: &Loaded, stock: &Stock) -> Purchases {
    of_mixes(mixes, &as_soaked(stock, mixes, loaded))
}

/// The stock with the coir in the bricks or blocks that the week's soak is for.
fn as_soaked<'s>(stock: &'s Stock, mixes: &Mixes, loaded: &Loaded) -> Cow<'s, Stock> {
    let coir = mixes.totals.ingredients.iter().map(|(id, _)| id).find(|id| id.is(Role::Coir));
    match coir.zip(loaded.week.soak.as_ref().filter(|soak| soak.product_said)) {
        Some((coir, soak)) => Cow::Owned(stock.sold_as(coir, &soak.product.label)),
        None => Cow::Borrowed(stock),
    }
}

fn of_mixes(mixes: &Mixes, stock: &Stock) -> Purchases {
    let totals = &mixes.totals;
    let needs = needs(totals, &mixes.extras());
    let lines: Vec<PurchaseLine> = needs.iter().map(|need| line(need, stock)).collect();
    let plants = |cells: &super::CellCount| cells.plants.unwrap_or(cells.cells);
    Purchases {
        currency: stock.currency,
        has_stock: stock.path.is_some(),
        total: total(&lines),
        known: lines.iter().filter_map(cost).fold(Decimal::ZERO, |sum, cost| sum.saturating_add(cost)),
        used: needs.iter().try_fold(Decimal::ZERO, |sum, need| sum.checked_add(worth(need, stock)?)),
        per: CostShares {
            filled: Filled::of(totals),
            trays: if totals.trays > 0 { totals.trays } else { totals.pots },
            plants: mixes.layout.sowings.iter().map(|sowing| plants(&sowing.cells)).sum(),
            mix_l: to_litres(totals.mix),
        },
        ready_made: stock.ready_made.as_ref().and_then(|package| ready_made(package, totals.mix)),
        contradicted: contradicted(&lines, stock),
        lines,
        alternatives: Vec::new(),
    }
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
    let recipes =
        if mixes.layout.sowings.is_empty() { &week.recipes[..week.recipes.len().min(1)] } else { &week.recipes[..] };
    // Several choices would have to be combined, and the sheet shows one: then none.
    let mut offered = recipes.iter().flat_map(|recipe| &recipe.parts).filter(|part| part.choices.len() > 1);
    let Some(first) = offered.next() else { return Vec::new() };
    if !offered.all(|part| part.choices == first.choices) {
        return Vec::new();
    }
    // Most lines are those of the plan.
    let price = |need: &Need| {
        let known = lines.iter().find(|line| line.ingredient == need.0 && line.need == need.1);
        known.cloned().unwrap_or_else(|| line(need, stock))
    };
    let of_choice = |other: &Handle<Ingredient>| {
        // What the command line wants comes before what the week does.
        let rest = week.wanted.iter().filter(|id| *id != other);
        let wanted: Vec<_> = std::iter::once(other).chain(rest).cloned().collect();
        let made = Mixes::make(demand, &wanted, loaded, Some(mixes)).ok()?;
        let need = made.totals.ingredients.get(other).unwrap_or(in_litres(0.0));
        let lines: Vec<PurchaseLine> = needs(&made.totals, &made.extras()).iter().map(price).collect();
        let (total, chosen) = (total(&lines), made.are_alike(mixes));
        (to_litres(need) > 0.0).then(|| Alternative { ingredient: other.clone(), chosen, need, total })
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

/// What a line costs; `None` where a package or a price is missing.
fn cost(line: &PurchaseLine) -> Option<Decimal> {
    match &line.buy {
        Buy::Nothing => Some(Decimal::ZERO),
        Buy::Packages { cost, .. } => *cost,
        Buy::Loose { .. } => None,
    }
}

fn total(lines: &[PurchaseLine]) -> Option<Decimal> {
    lines.iter().try_fold(Decimal::ZERO, |sum, line| sum.checked_add(cost(line)?))
}

/// What is at hand against one need, and the packages for the rest.
#[must_use]
pub fn line(need: &Need, stock: &Stock) -> PurchaseLine {
    let (ingredient, amount) = (&need.0, need.1);
    let on_hand = stock.on_hand.shed.at_hand(ingredient, amount);
    // A part in a billion short is not short.
    let short = (amount.size() * (1.0 - 1e-9) - on_hand.size()).max(0.0);
    let lacking = if short > 0.0 { amount.size() - on_hand.size() } else { 0.0 };
    let mut bought = 0.0;
    let buy = if short > 0.0 {
        let buy = buy(ingredient, amount.of_size(lacking), stock);
        if let Buy::Packages { picks, .. } = &buy {
            bought = picks.iter().map(|(package, count)| package.gives.size() * *count as f64).sum();
        }
        buy
    } else {
        Buy::Nothing
    };
    let left_over = match buy {
        Buy::Loose { .. } => 0.0,
        _ => on_hand.size() + bought - amount.size(),
    };
    PurchaseLine {
        ingredient: ingredient.clone(),
        need: amount,
        on_hand,
        lacking: amount.of_size(lacking),
        buy,
        left_over: amount.of_size(left_over.max(0.0)),
    }
}

fn buy(ingredient: &Handle<Ingredient>, lacking: Quantity, stock: &Stock) -> Buy {
    let known = stock.packages_of(ingredient);
    let packages: Vec<&Package> =
        known.iter().filter(|package| package.gives.is_like(lacking) && package.gives.size() >= 1e-9).collect();
    let unlike = packages.len() < known.len() || stock.on_hand.shed.is_unlike(ingredient, lacking);
    let prices: Option<Vec<u64>> = packages.iter().map(|package| hundredths(package.price?)).collect();
    let kinds: Vec<Kind> = packages
        .iter()
        .enumerate()
        .map(|(index, package)| Kind {
            gives: given_billionths(package.gives.size()),
            price: prices.as_ref().map_or(0, |prices| prices[index]),
        })
        .collect();
    let Some(choice) = choose(needed_billionths(lacking.size()), &kinds) else { return Buy::Loose { unlike } };
    let picks: Vec<(Package, u64)> = packages
        .iter()
        .zip(&choice.counts)
        .filter(|(_, count)| **count > 0)
        .map(|(package, count)| ((*package).clone(), *count))
        .collect();
    let cost = picks.iter().try_fold(Decimal::ZERO, |sum, (package, count)| {
        sum.checked_add(package.price?.checked_mul(Decimal::from(*count))?)
    });
    let by = match (prices.is_some(), choice.proved) {
        (false, _) => Chosen::LeastLeftOver,
        (true, true) => Chosen::Cheapest,
        (true, false) => Chosen::CheapEnough,
    };
    Buy::Packages { picks, cost, by }
}

/// A price in whole hundredths; prices have at most two decimals.
fn hundredths(price: Decimal) -> Option<u64> {
    price.checked_mul(Decimal::ONE_HUNDRED)?.to_u64()
}

/// What an amount is worth at the best unit price of its packages.
fn worth((ingredient, amount): &Need, stock: &Stock) -> Option<Decimal> {
    let packages = stock.packages_of(ingredient).iter().filter(|package| package.gives.is_like(*amount));
    let unit = packages.filter_map(|package| {
        let gives = Decimal::from_f64(package.gives.size()).filter(|gives| !gives.is_zero())?;
        package.price?.checked_div(gives)
    });
    unit.min()?.checked_mul(Decimal::from_f64(amount.size())?)
}

fn ready_made(package: &Package, mix: Volume) -> Option<ReadyMade> {
    let Quantity::Volume(each) = package.gives else { return None };
    let count = cover(mix, each)?.count;
    let cost = package.price.and_then(|price| price.checked_mul(Decimal::from(count)));
    Some(ReadyMade { package: package.clone(), count, cost })
}

impl Purchases {
    /// An amount of money shared out; `None` where there is nothing to share over.
    fn shared(amount: Option<Decimal>, over: f64) -> Option<Decimal> {
        amount?.checked_div(Decimal::from_f64(over)?)
    }

    /// The total for each tray, or pot where there are no trays.
    #[must_use]
    pub fn per_tray(&self) -> Option<Decimal> {
        self.total?.checked_div(Decimal::from(self.per.trays))
    }

    /// The total for a hundred plants.
    #[must_use]
    pub fn per_100_plants(&self) -> Option<Decimal> {
        self.total?.checked_mul(Decimal::ONE_HUNDRED)?.checked_div(Decimal::from(self.per.plants))
    }

    /// The total for a litre of finished mix.
    #[must_use]
    pub fn per_litre(&self) -> Option<Decimal> {
        Self::shared(self.total, self.per.mix_l)
    }

    /// What is used up, for each tray.
    #[must_use]
    pub fn used_per_tray(&self) -> Option<Decimal> {
        self.used?.checked_div(Decimal::from(self.per.trays))
    }

    /// What is used up, for a litre of finished mix.
    #[must_use]
    pub fn used_per_litre(&self) -> Option<Decimal> {
        Self::shared(self.used, self.per.mix_l)
    }

    /// The ingredients that have to be bought in packages without a price.
    pub fn unpriced(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        self.lines
            .iter()
            .filter(|line| matches!(line.buy, Buy::Packages { cost: None, .. }))
            .map(|line| &line.ingredient)
    }

    /// The ingredients that have to be bought and of which no package is known.
    pub fn unpackaged(&self) -> impl Iterator<Item = &PurchaseLine> {
        self.lines.iter().filter(|line| matches!(line.buy, Buy::Loose { .. }))
    }
}
