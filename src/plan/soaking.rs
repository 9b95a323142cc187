//! The soak of coir: of a week's, for as much as all batches take, in whole pieces, or of coir by itself.

use super::buy::HARDLY_ANY;
use super::{Mixes, Purchases};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::soak::{CoirAmount, Product, Soak, Times, Worksheet};
use crate::coir::{CoirError, WaterHeld, dry_kg_of_sold, loose_l_of_dry, loose_l_of_sold};
use crate::moment::Moment;
use crate::source::FromText;
use crate::stock::Package;
use crate::units::{Quantity, Volume, cover, in_litres, to_litres};
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
    /// Bricks or blocks for all of it; 0 where the coir is given by mass or by volume.
    pub pieces: u64,
    /// Dry coir that is soaked, kg: all of them, or half for a trial.
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
    /// The week says nothing of the coir: nothing claimed is assumed.
    pub assumed: bool,
}

impl Soaking {
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
            assumed: false,
        })
    }
}

/// The only kind of brick or block that is to be bought, where the week does not say; else the only one of the packages
/// that the stock file lists.
fn bought(purchases: &Purchases, coir: &Handle<Ingredient>, packages: &[Package]) -> Option<Product> {
    let mut lines = purchases.lines.iter().filter(|line| line.ingredient == *coir);
    let bought = lines.find_map(|line| if let [pick] = &line.packages[..] { Some(&pick.package) } else { None });
    let listed = if let [only] = packages { Some(only) } else { None };
    Product::from_text(&bought.or(listed)?.label).ok().map(|parsed| parsed.value)
}

/// The coir that the recipes ask for, loose; the first kind of it, where they take several.
pub(super) fn asked_for(mixes: &Mixes) -> Option<(&Handle<Ingredient>, Volume)> {
    let mut kinds = mixes.totals.ingredients.iter().filter(|(id, _)| id.is(Role::Coir));
    let (coir, loose) = kinds.next()?;
    Some((coir, kinds.fold(*loose, |sum, (_, loose)| sum + *loose)))
}

/// The soak of a week's coir, if the mix holds any; the error where the amounts are beyond the model.
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
    let usual = || if week.from_command { None } else { Soak::usual() };
    let usual = || usual().map(|soak| Soak { awake: week.awake.clone(), ..soak });
    let Some(mut soak) = week.soak.clone().or_else(usual) else { return Ok(None) };
    // The one tub serves for both, unless the soak has its own.
    let own_l = soak.tub_l;
    soak.tub_l = own_l.or(week.tub.map(to_litres));
    let packages = week.stock.as_ref().map(|stock| stock.packages_of(coir)).unwrap_or_default();
    if !soak.product_said
        && let Some(product) = bought(purchases, coir, packages)
    {
        soak.product = product;
    }
    let same = packages.iter().find(|package| package.label.eq_ignore_ascii_case(&soak.product.label));
    let each = match same.map(|package| package.gives) {
        Some(Quantity::Volume(loose)) => loose,
        _ => in_litres(loose_l_of_sold(soak.product.kg)),
    };
    let Some(covered) = cover(need, each) else { return Ok(None) };
    // Half of what is bought: the other half stays dry for the straight batches.
    let share = if soak.trial { 0.5 } else { 1.0 };
    let dry_kg = dry_kg_of_sold(soak.product.kg * covered.count as f64) * share;
    let soaked = each * covered.count as f64 * share;
    let mix_on = week.mix_on.as_ref();
    let soaking = match Soaking::new(soak.clone(), dry_kg, soaked, mix_on) {
        // A tub for the mix that is far too small for this: the sheet says what tub would do.
        Err(CoirError::TooManyRuns(_)) if own_l.is_none() => {
            Soaking::new(Soak { tub_l: None, ..soak }, dry_kg, soaked, mix_on)?
        }
        soaking => soaking?,
    };
    let last_gives = Some(each - covered.over).filter(|last| *last < each * HARDLY_ANY && covered.count > 1);
    let assumed = week.soak.is_none();
    Ok(Some(Soaking {
        need,
        stands_in: all - need,
        pieces: covered.count,
        wetted: mixes.mixing.wetted,
        over: covered.over,
        last_gives,
        assumed,
        ..soaking
    }))
}
