//! The soak that a week's coir needs: for as much as all batches take, in whole pieces.

use super::{Mixes, Purchases};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::soak::{Product, Soak, Times, Worksheet};
use crate::coir::{CoirError, dry_kg_of_sold, loose_l_of_sold};
use crate::moment::Moment;
use crate::units::{Quantity, Volume, cover, in_litres};
use crate::week::{Loaded, Week};

/// The soak of a week's coir.
#[derive(Clone, Debug)]
pub struct Soaking {
    /// What was asked for.
    pub soak: Soak,
    /// The worksheet; `None` for coir that is sold as buffered.
    pub sheet: Option<Worksheet>,
    /// Coir that the batches take, loose.
    pub need: Volume,
    /// Bricks or blocks for all of it.
    pub pieces: u64,
    /// Dry coir that is soaked, kg: all of them, or half for a trial.
    pub dry_kg: f64,
    /// Its loose volume.
    pub soaked: Volume,
    /// Coir that they give beyond what the batches take.
    pub over: Volume,
    /// When to do what, if the week says when to mix.
    pub times: Option<Times>,
    /// The coir is to be ready only after the time to mix.
    pub after_mix: bool,
    /// Hours from when all of it is ready to the time to mix, where both are known.
    pub waits_hours: f64,
    /// The week says nothing of the coir: nothing claimed is assumed.
    pub assumed: bool,
}

/// Loose litres of one brick or block: as the week's stock file says of a package of this
/// label, else by its weight.
fn piece(soak: &Soak, week: &Week, coir: &Handle<Ingredient>) -> Volume {
    let packages = week.stock.as_ref().map(|stock| stock.packages_of(coir)).unwrap_or_default();
    let same = packages.iter().find(|package| package.label.eq_ignore_ascii_case(&soak.product.label));
    match same.map(|package| package.gives) {
        Some(Quantity::Volume(loose)) => loose,
        _ => in_litres(loose_l_of_sold(soak.product.kg)),
    }
}

/// The only kind of brick or block that is to be bought, where the week does not say; else
/// the only one that the stock file lists.
fn bought(purchases: &Purchases, week: &Week, coir: &Handle<Ingredient>) -> Option<Product> {
    let mut lines = purchases.lines.iter().filter(|line| line.ingredient == *coir);
    let bought = lines.find_map(|line| match &line.packages[..] {
        [pick] => Some(&pick.package),
        _ => None,
    });
    let listed = week.stock.as_ref().and_then(|stock| match stock.packages_of(coir) {
        [package] => Some(package),
        _ => None,
    });
    Product::of_label(&bought.or(listed)?.label)
}

/// The coir that the recipes ask for, loose; the first kind of it, where they take several.
pub(super) fn asked_for(mixes: &Mixes) -> Option<(&Handle<Ingredient>, Volume)> {
    let mut kinds = mixes.totals.ingredients.iter().filter(|(id, _)| id.is(Role::Coir));
    let (coir, loose) = kinds.next()?;
    Some((coir, kinds.fold(*loose, |sum, (_, loose)| sum + *loose)))
}

/// The soak, if the mix holds coir; the error where the amounts are beyond the model.
pub(super) fn soaking(mixes: &Mixes, purchases: &Purchases, loaded: &Loaded) -> Option<Result<Soaking, CoirError>> {
    let week = &loaded.week;
    let (coir, asked_for) = asked_for(mixes)?;
    let extras = mixes.extras().into_iter().filter(|more| more.ingredient.is(Role::Coir));
    let need = extras.fold(asked_for, |sum, more| sum + in_litres(more.amount.size()));
    let mut soak = match &week.soak {
        Some(soak) => soak.clone(),
        None if week.from_command => return None,
        None => Soak::usual()?,
    };
    if !soak.product_said
        && let Some(product) = bought(purchases, week, coir)
    {
        soak.product = product;
    }
    let each = piece(&soak, week, coir);
    let covered = cover(need, each)?;
    // Half of what is bought: the other half stays dry for the straight batches.
    let share = if soak.trial { 0.5 } else { 1.0 };
    let dry_kg = dry_kg_of_sold(soak.product.kg * covered.count as f64) * share;
    let soaked = each * covered.count as f64 * share;
    let sheet = match soak.work_out(dry_kg, false) {
        Ok(sheet) => sheet,
        Err(error) => return Some(Err(error)),
    };
    let ready = soak.ready.as_ref().or(week.mix_on.as_ref());
    let times = sheet.as_ref().zip(ready).and_then(|(sheet, ready)| sheet.times(ready));
    let mix_on = week.mix_on.as_ref().and_then(Moment::zoned);
    let waits = times.as_ref().zip(mix_on.as_ref()).map(|(times, mix_on)| times.ready.duration_until(mix_on));
    Some(Ok(Soaking {
        waits_hours: waits.map_or(0.0, |waits| waits.as_secs_f64() / 3600.0),
        after_mix: times.as_ref().zip(mix_on).is_some_and(|(times, mix_on)| times.ready > mix_on),
        assumed: week.soak.is_none(),
        soak,
        sheet,
        need,
        soaked,
        pieces: covered.count,
        dry_kg,
        over: covered.over,
        times,
    }))
}
