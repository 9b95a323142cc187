//! The soak of coir: of a week's, for as much as all batches take, in whole pieces, or of coir by itself.

use super::buy::HARDLY_ANY;
use super::{Mixes, Pick, PurchaseLine, Purchases};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::soak::{CoirAmount, KEEPS_HOURS, Product, Soak, Times, Worksheet};
use crate::coir::{CoirError, WaterHeld, dry_kg_of_loose, dry_kg_of_sold, loose_l_of_dry, loose_l_of_sold};
use crate::moment::Moment;
use crate::source::FromText;
use crate::stock::{Package, Standing, Stock};
use crate::units::{Quantity, Volume, cover, in_litres, plain, to_litres};
use crate::week::Loaded;
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
    /// Bricks or blocks for all of it; 0 where the coir is given by mass or by volume, or is no whole number of them.
    pub pieces: u64,
    /// Dry coir that is soaked, kg: all of them, or for a trial what half of the batches take.
    pub dry_kg: f64,
    /// Its loose volume.
    pub soaked: Volume,
    /// The water in what is only wetted, where it is known what the mix wants.
    pub wetted: Option<WaterHeld>,
    /// Loose coir that they give beyond the need.
    pub over: Volume,
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

    /// The last runs of the tub that cover the need by themselves, and what they give; `None` where all do.
    pub fn enough_runs(&self) -> Option<(u32, Volume)> {
        let runs = self.sheet.as_ref()?.runs;
        let each = self.soaked / f64::from(runs);
        let enough = u32::try_from(cover(self.need, each)?.count).ok().filter(|enough| *enough < runs)?;
        Some((enough, each * f64::from(enough)))
    }

    /// The soak of coir by itself; `None` where it does not say how much coir.
    ///
    /// # Errors
    /// [`CoirError`] for amounts outside what the model stands for.
    pub fn alone(soak: Soak) -> Result<Option<Self>, CoirError> {
        let Some(amount) = soak.amount else { return Ok(None) };
        let dry_kg = amount.dry_kg(&soak.product);
        let soaking = Self::new(soak, dry_kg, in_litres(loose_l_of_dry(dry_kg)), None)?;
        let pieces = if let CoirAmount::Pieces(pieces) = amount { pieces } else { 0 };
        Ok(Some(Self { pieces, ..soaking }))
    }

    /// When the coir must be ready by its own word, at an hour in which nobody is there.
    pub fn ready_outside_awake(&self) -> Option<ZonedDateTime> {
        let ready = self.soak.ready.as_ref()?.zoned()?;
        (!self.soak.awake.holds(&ready)).then_some(ready)
    }

    /// The soak of so much coir, dry and loose, ready at a time of its own or by `mix_on`.
    fn new(soak: Soak, dry_kg: f64, soaked: Volume, mix_on: Option<&Moment>) -> Result<Self, CoirError> {
        let ready = soak.ready.as_ref().or(mix_on);
        let mut sheet = soak.work_out(dry_kg, ready)?;
        let times = sheet.as_ref().zip(ready).and_then(|(sheet, ready)| sheet.times(ready, &soak.awake));
        if let Some((sheet, times)) = sheet.as_mut().zip(times.as_ref()) {
            sheet.first_waits_hours = times.first_waits_hours();
        }
        let finds_no_time = sheet.is_some() && ready.is_some() && times.is_none();
        let mix_on = mix_on.and_then(Moment::zoned);
        let waits = times.as_ref().zip(mix_on.as_ref()).map(|(times, mix_on)| times.ready.duration_until(mix_on));
        Ok(Self {
            soak,
            need: soaked,
            stands_in: in_litres(0.0),
            pieces: 0,
            dry_kg,
            soaked,
            wetted: None,
            over: in_litres(0.0),
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
fn package_of<'p>(soak: &Soak, bought: &'p [Pick], packages: &'p [Package]) -> Option<&'p Package> {
    let only = if let [pick] = bought { Some(&pick.package) } else { None };
    let mut listed = only.into_iter().chain(packages);
    let same = listed.find(|package| package.label.eq_ignore_ascii_case(&soak.product.label));
    let stands = soak.product_said && (same.is_some() || !packages.iter().any(Package::is_own));
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
    /// The fewest that cover the need; 0 where whole ones do not make up what is soaked.
    count: u64,
    /// What they give: no more than there is.
    give: Volume,
    /// The product that was stated, where the stock file sells another.
    instead_of: Option<Product>,
}

impl Pieces {
    /// What covers the need, in the product that the soak then counts in.
    fn of(
        soak: &mut Soak,
        need: Volume,
        line: Option<&PurchaseLine>,
        stock: Option<(&Stock, &Handle<Ingredient>)>,
    ) -> Option<Self> {
        let bought = line.map(|line| &line.packages[..]).unwrap_or_default();
        let package = package_of(soak, bought, stock.map(|(stock, coir)| stock.packages_of(coir)).unwrap_or_default());
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
    let soaked = if soak.tries_half() { all * 0.5 - (all - need) } else { pieces.give };
    if soaked <= in_litres(0.0) {
        return Ok(None);
    }
    let dry_kg = dry_kg_of_sold(soak.product.kg) * (to_litres(soaked) / to_litres(pieces.each));
    let mix_on = week.mix_on.as_ref();
    let soaking = match Soaking::new(soak.clone(), dry_kg, soaked, mix_on) {
        // A tub for the mix that is far too small for this: the sheet says what tub would do.
        Err(CoirError::TooManyRuns(_)) if own_l.is_none() => {
            Soaking::new(Soak { tub_l: None, ..soak }, dry_kg, soaked, mix_on)?
        }
        soaking => soaking?,
    };
    let over = pieces.give - need;
    let last_gives = Some(pieces.each - over).filter(|last| *last < pieces.each * HARDLY_ANY && pieces.count > 1);
    Ok(Some(Soaking {
        need,
        stands_in: all - need,
        pieces: pieces.count,
        instead_of: pieces.instead_of,
        wetted: mixes.mixing.wetted,
        over,
        last_gives,
        ..soaking
    }))
}
