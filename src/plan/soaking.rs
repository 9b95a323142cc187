//! The soak of coir: of a week's, for as much as all batches take, by weight, or of coir by itself.

use super::bench::wetted;
use super::buy::HARDLY_ANY;
use super::{Mixes, PurchaseLine, Purchases};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::soak::{CoirAmount, KEEPS_HOURS, Lot, Product, Soak, Times, Worksheet};
use crate::coir::{CoirError, WaterHeld, dry_kg_of_loose, dry_kg_of_sold, loose_l_of_dry, loose_l_of_sold};
use crate::moment::Moment;
use crate::source::FromText;
use crate::stock::{Package, Standing, Stock};
use crate::units::{Quantity, Volume, cover, in_litres, plain, to_litres};
use crate::week::{Loaded, Week};
use jiff::ZonedDateTime;

/// The soak of some coir.
#[derive(Clone, Debug)]
pub struct Soaking {
    /// What was asked for.
    pub soak: Soak,
    /// The worksheet; `None` for coir that is sold as buffered.
    pub sheet: Option<Worksheet>,
    /// Coir that is needed, loose: in a week, what the batches take beyond the soaked coir at hand.
    pub need: Volume,
    /// Soaked coir at hand that stands in for the rest.
    pub stands_in: Volume,
    /// Bricks or blocks that it is taken from; 0 where the coir is given by mass or by volume, or these are not whole.
    pub pieces: u64,
    /// Dry coir that is soaked, kg: what the batches take, or half of them in a trial, as it is weighed.
    pub dry_kg: f64,
    /// Its loose volume.
    pub soaked: Volume,
    /// The water in what is only wetted, where it is known what the mix wants.
    pub wetted: Option<WaterHeld>,
    /// Loose coir that is soaked beyond what the batches take of it.
    pub over: Volume,
    /// In a trial, dry coir that is only wetted, kg.
    pub straight_kg: Option<f64>,
    /// Loose coir of the last brick or block that stays dry.
    pub stays_dry: Volume,
    /// Of the last brick or block, so much is needed, where that is hardly anything.
    pub last_gives: Option<Volume>,
    /// When to do what, if it is known when the coir must be ready.
    pub times: Option<Times>,
    /// It is known when the coir must be ready, and no times fit the hours in which somebody is there.
    pub finds_no_time: bool,
    /// The coir is to be ready only after the time to mix.
    pub after_mix: bool,
    /// Hours from when all of it is ready to the time to mix, where both are known.
    pub waits_hours: f64,
    /// What the soak says that the coir is sold in, where the stock file sells it otherwise and is followed.
    pub instead_of: Option<Product>,
}

impl Soaking {
    /// The coir of the first of several runs is older than it keeps when that of the last is ready.
    pub fn grows_stale(&self) -> bool {
        let stale = |sheet: &Worksheet| sheet.runs > 1 && sheet.first_waits_hours > KEEPS_HOURS;
        !self.finds_no_time && self.sheet.as_ref().is_some_and(stale)
    }

    /// Bricks or blocks that are soaked whole; `None` where coir is weighed out of the last.
    pub fn whole_pieces(&self) -> Option<u64> {
        let kg = dry_kg_of_sold(self.soak.product.kg * self.pieces as f64);
        (self.pieces > 0 && (self.dry_kg / kg - 1.0).abs() < 1e-9).then_some(self.pieces)
    }

    /// The soak of coir by itself; `None` where it does not say how much coir.
    ///
    /// # Errors
    /// [`CoirError`] for amounts outside what the model stands for.
    pub fn alone(soak: Soak) -> Result<Option<Self>, CoirError> {
        let Some(amount) = soak.amount else { return Ok(None) };
        let dry_kg = amount.dry_kg(&soak.product);
        let soaking = Self::new(soak, Lot { dry_kg, loose_l: loose_l_of_dry(dry_kg), wetted: None }, None)?;
        let pieces = if let CoirAmount::Pieces(pieces) = amount { pieces } else { 0 };
        Ok(Some(Self { pieces, ..soaking }))
    }

    /// When the coir must be ready by its own word, at an hour in which nobody is there.
    pub fn ready_outside_awake(&self) -> Option<ZonedDateTime> {
        let ready = self.soak.ready.as_ref()?.zoned()?;
        (!self.soak.awake.holds(&ready)).then_some(ready)
    }

    /// The soak of some coir, ready at a time of its own or by `mix_on`.
    fn new(soak: Soak, lot: Lot, mix_on: Option<&Moment>) -> Result<Self, CoirError> {
        let ready = soak.ready.as_ref().or(mix_on);
        let mut sheet = soak.work_out(lot, ready)?;
        let times = sheet.as_ref().zip(ready).and_then(|(sheet, ready)| sheet.times(ready, &soak.awake));
        if let Some((sheet, times)) = sheet.as_mut().zip(times.as_ref()) {
            sheet.first_waits_hours = times.first_waits_hours();
        }
        let finds_no_time = sheet.is_some() && ready.is_some() && times.is_none();
        let mix_on = mix_on.and_then(Moment::zoned);
        let soaked = in_litres(lot.loose_l);
        let waits = times.as_ref().zip(mix_on.as_ref()).map(|(times, mix_on)| times.ready.duration_until(mix_on));
        Ok(Self {
            soak,
            need: soaked,
            stands_in: in_litres(0.0),
            pieces: 0,
            dry_kg: lot.dry_kg,
            soaked,
            wetted: lot.wetted,
            over: in_litres(0.0),
            straight_kg: None,
            stays_dry: in_litres(0.0),
            last_gives: None,
            finds_no_time,
            sheet,
            times,
            after_mix: waits.is_some_and(|waits| waits.is_negative()),
            waits_hours: waits.map_or(0.0, |waits| waits.as_secs_f64() / 3600.0),
            instead_of: None,
        })
    }
}

/// The package that the coir comes in: that of the soak's own product where it is stated and the stock file sells it or
/// no other, else the only kind that is bought, the usual block, or the first.
fn package_of<'p>(soak: Option<&Soak>, line: Option<&'p PurchaseLine>, packages: &'p [Package]) -> Option<&'p Package> {
    let bought = line.map(|line| &line.packages[..]).unwrap_or_default();
    let only = if let [pick] = bought { Some(&pick.package) } else { None };
    let product = soak.map_or_else(Product::default, |soak| soak.product.clone());
    let mut listed = only.into_iter().chain(packages);
    let same = listed.find(|package| package.label.eq_ignore_ascii_case(&product.label));
    let stands =
        soak.is_some_and(|soak| soak.product_said) && (same.is_some() || !packages.iter().any(Package::is_own));
    if stands { same } else { only.or(same).or(packages.first()) }
}

impl Product {
    /// What a package of coir holds: the weight that its label begins with, else that of its litres.
    fn of(package: &Package) -> Option<Self> {
        let labelled = Self::from_text(&package.label).ok().map(|parsed| parsed.value);
        let kg = || Some(dry_kg_of_loose(package.gives.litres()?) / dry_kg_of_sold(1.0));
        labelled.or_else(|| Some(Self { label: package.label.clone(), kg: kg()? }))
    }

    /// As a package of which no file says what it gives: 9 to 15 L a kilogram by trade pages.
    pub(super) fn package(&self) -> Package {
        let range = [9.0, 15.0].map(|litres| plain(litres * self.kg, 1)).join("-") + " L";
        Package {
            label: self.label.clone(),
            gives: Quantity::Volume(in_litres(loose_l_of_sold(self.kg))),
            price: None,
            standing: Standing::BuiltIn { range, from: "coir-trade".to_owned() },
        }
    }
}

/// The coir of a week in what it is bought and held in.
struct Pieces {
    each: Volume,
    /// The fewest that cover the need; 0 where whole ones do not make up what there is.
    count: u64,
    /// What they give: no more than there is.
    give: Volume,
    /// The product that was stated, where the stock file sells another.
    instead_of: Option<Product>,
}

/// Coir is weighed to so much, as bought, kg (a judgement).
const WEIGHED_KG: f64 = 0.1;
/// Of a brick or block no less than this share is left dry, nor so many kilograms (a judgement).
const LEAST_LEFT: (f64, f64) = (0.1, 0.25);

impl Pieces {
    /// So much coir as it is weighed out; all that is left where hardly any would stay.
    fn weighed(&self, need: Volume, left: Volume, product: &Product) -> Volume {
        let step = self.each * (WEIGHED_KG / product.kg);
        let weighed = cover(need, step).map_or(need, |covered| step * covered.count as f64);
        let least = self.each * LEAST_LEFT.0.max(LEAST_LEFT.1 / product.kg);
        if left - weighed < least { left } else { weighed }
    }

    /// What covers the need, in the product that the soak then counts in.
    fn of(
        soak: &mut Soak,
        need: Volume,
        line: Option<&PurchaseLine>,
        stock: Option<(&Stock, &Handle<Ingredient>)>,
    ) -> Option<Self> {
        let bought = line.map(|line| &line.packages[..]).unwrap_or_default();
        let packages = stock.map(|(stock, coir)| stock.packages_of(coir)).unwrap_or_default();
        let package = package_of(Some(soak), line, packages);
        let product = package.and_then(Product::of).unwrap_or_else(|| soak.product.clone());
        let said = std::mem::replace(&mut soak.product, product);
        let each = match package.map(|package| package.gives) {
            Some(Quantity::Volume(loose)) => loose,
            _ => in_litres(loose_l_of_sold(soak.product.kg)),
        };
        let count = cover(need, each)?.count;
        let whole = each * count as f64;
        let there = line.filter(|_| stock.is_some()).and_then(|line| {
            let bought = bought.iter().map(|pick| pick.gives().litres()).sum::<Option<f64>>()?;
            Some(in_litres(line.on_hand.litres()? + bought))
        });
        let give = match there {
            // Of several kinds as much as is needed, by weight.
            Some(_) if bought.len() > 1 => need,
            Some(there) => whole.min(there).max(need),
            None => whole,
        };
        let count = if give < whole { 0 } else { count };
        let instead_of =
            Some(said).filter(|said| soak.product_said && !said.label.eq_ignore_ascii_case(&soak.product.label));
        Some(Self { each, count, give, instead_of })
    }
}

/// The coir that the recipes ask for, loose; the first kind of it, where they take several.
pub(super) fn asked_for(mixes: &Mixes) -> Option<(&Handle<Ingredient>, Volume)> {
    let mut kinds = mixes.totals.ingredients.iter().filter(|(id, _)| id.is(Role::Coir));
    let (coir, loose) = kinds.next()?;
    Some((coir, kinds.fold(*loose, |sum, (_, loose)| sum + *loose)))
}

/// Dry coir in a loose litre, g, by the package that the coir of some mixes comes in.
pub(super) fn dry_g_per_l(mixes: &Mixes, purchases: &Purchases, week: &Week) -> f64 {
    let of_package = || {
        let ((coir, _), stock) = asked_for(mixes).zip(week.stock.as_ref())?;
        let line = purchases.lines.iter().find(|line| line.ingredient == *coir);
        let package = package_of(week.soak.as_ref(), line, stock.packages_of(coir))?;
        Some(dry_kg_of_sold(Product::of(package)?.kg) / package.gives.litres()?)
    };
    of_package().unwrap_or_else(|| dry_kg_of_loose(1.0)) * 1000.0
}

/// The soak of a week's coir, if the week says how and the mix holds any; the error where the amounts are beyond the model.
pub(super) fn of_week(mixes: &Mixes, purchases: &Purchases, loaded: &Loaded) -> Result<Option<Soaking>, CoirError> {
    let week = &loaded.week;
    let Some((coir, asked_for)) = asked_for(mixes) else { return Ok(None) };
    let extras = mixes.extras().into_iter().filter(|more| more.ingredient.is(Role::Coir));
    let all = extras.filter_map(|more| more.amount.litres()).fold(asked_for, |sum, litres| sum + in_litres(litres));
    let parted = week.stock.as_ref().map(|stock| stock.on_hand.shed.parted([(coir.clone(), Quantity::Volume(all))]));
    let rest =
        parted.map(|parted| parted.into_iter().filter(|(id, _)| id == coir).filter_map(|(_, rest)| rest.litres()));
    let need = rest.map_or(all, |rest| in_litres(rest.sum()));
    if need <= in_litres(0.0) {
        return Ok(None);
    }
    let Some(mut soak) = week.soak.clone() else { return Ok(None) };
    // The one tub serves for both, unless the soak has its own.
    let own_l = soak.tub_l;
    soak.tub_l = own_l.or(week.tub.map(to_litres));
    let line = purchases.lines.iter().find(|line| line.ingredient == *coir);
    let stock = week.stock.as_ref().map(|stock| (stock, coir));
    let Some(pieces) = Pieces::of(&mut soak, need, line, stock) else { return Ok(None) };
    // Of a trial the batches that are made with soaked coir; the other half is only wetted.
    let tries_half = soak.tries_half();
    let wanted = if tries_half { all * 0.5 - (all - need) } else { need };
    if wanted <= in_litres(0.0) {
        return Ok(None);
    }
    let rest = need - wanted;
    let soaked = pieces.weighed(wanted, pieces.give - rest, &soak.product);
    let straight = tries_half.then(|| pieces.weighed(rest, pieces.give - soaked, &soak.product));
    let dry_kg = |loose: Volume| dry_kg_of_sold(soak.product.kg) * (to_litres(loose) / to_litres(pieces.each));
    let straight_kg = straight.map(dry_kg);
    let wetted = wetted(mixes.batches.iter(), dry_g_per_l(mixes, purchases, week));
    let lot = Lot { dry_kg: dry_kg(soaked), loose_l: to_litres(soaked), wetted };
    let mix_on = week.mix_on.as_ref();
    let soaking = match Soaking::new(soak.clone(), lot, mix_on) {
        // A tub for the mix that is far too small for this: the sheet says what tub would do.
        Err(CoirError::TooManyRuns(_)) if own_l.is_none() => Soaking::new(Soak { tub_l: None, ..soak }, lot, mix_on)?,
        soaking => soaking?,
    };
    let last = pieces.each - (pieces.give - need);
    Ok(Some(Soaking {
        need,
        stands_in: all - need,
        pieces: pieces.count,
        instead_of: pieces.instead_of,
        over: soaked - wanted,
        straight_kg,
        stays_dry: pieces.give - soaked - straight.unwrap_or(in_litres(0.0)),
        last_gives: Some(last).filter(|last| *last < pieces.each * HARDLY_ANY && pieces.count > 1),
        ..soaking
    }))
}
