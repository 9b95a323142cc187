//! The soak that a week's coir needs: for as much as all batches take, in whole pieces.

use super::{Buy, Plan};
use crate::catalogue::{Catalogue, IngredientId, salts};
use crate::coir::{CoirError, Salt, dry_kg_of_sold, loose_l_of_sold};
use crate::soak::{Product, Sheet, Soak, Times, work_out};
use crate::stock::Stuff;
use crate::units::{Volume, cover, in_litres};
use crate::week::{Moment, Week};

/// The soak of a week's coir.
#[derive(Clone, Debug)]
pub struct Soaking {
    /// What was asked for.
    pub soak: Soak,
    /// The worksheet; `None` for coir that is sold as buffered.
    pub sheet: Option<Sheet>,
    /// Coir that the batches take, loose.
    pub need: Volume,
    /// Of which this much is soaked: all, or half for a trial.
    pub soaked: Volume,
    /// Bricks or blocks.
    pub pieces: u64,
    /// Dry coir in them, kg.
    pub dry_kg: f64,
    /// Coir that they give beyond what is soaked for.
    pub over: Volume,
    /// When to do what, if the week says when to mix.
    pub times: Option<Times>,
    /// The coir is to be ready only after the time to mix.
    pub after_mix: bool,
    /// The week says nothing of the coir: nothing claimed is assumed.
    pub assumed: bool,
}

/// Loose litres of one brick or block: as the week's stock file says of a package of this
/// label, else by its weight.
fn piece(soak: &Soak, week: &Week, coir: IngredientId) -> Volume {
    let packages = week.stock.as_ref().map(|stock| stock.packages_of(coir)).unwrap_or_default();
    let same = packages.iter().find(|package| package.label.eq_ignore_ascii_case(&soak.product.label));
    match same.map(|package| package.gives) {
        Some(Stuff::Volume(loose)) => loose,
        _ => in_litres(loose_l_of_sold(soak.product.kg)),
    }
}

/// The only kind of brick or block that is to be bought, where the week does not say.
fn bought(plan: &Plan, coir: IngredientId) -> Option<Product> {
    let lines = &plan.purchases.as_ref()?.lines;
    match &lines.iter().find(|line| line.ingredient == coir)?.buy {
        Buy::Packages { picks, .. } => match &picks[..] {
            [(package, _)] => Product::of_label(&package.label),
            _ => None,
        },
        _ => None,
    }
}

/// Loose coir that the batches are reckoned to take.
pub(super) fn reckoned(plan: &Plan, catalogue: &Catalogue) -> Option<Volume> {
    let coir = catalogue.coir()?;
    plan.totals.ingredients.iter().find(|(id, _)| *id == coir).map(|(_, loose)| *loose)
}

/// The soak, if the mix holds coir; the error where the amounts are beyond the model.
pub(super) fn soaking(plan: &Plan, week: &Week, catalogue: &Catalogue) -> Option<Result<Soaking, CoirError>> {
    let coir = catalogue.coir()?;
    let reckoned = reckoned(plan, catalogue)?;
    let beside = plan.beside().into_iter().filter(|more| more.ingredient == coir);
    let need = beside.fold(reckoned, |sum, more| sum + in_litres(more.amount.size()));
    let mut soak = match &week.soak {
        Some(soak) => soak.clone(),
        None if week.asked => return None,
        None => Soak::unsaid()?,
    };
    if !soak.product_said
        && let Some(product) = bought(plan, coir)
    {
        soak.product = product;
    }
    let soaked = if soak.trial { need / 2.0 } else { need };
    let each = piece(&soak, week, coir);
    let covered = cover(soaked, each)?;
    let dry_kg = dry_kg_of_sold(soak.product.kg * covered.count as f64);
    let others: Vec<Salt> = salts().iter().map(|entry| entry.salt.clone()).filter(Salt::is_for_baths).collect();
    let sheet = match work_out(&soak, dry_kg, &others, false) {
        Ok(sheet) => sheet,
        Err(error) => return Some(Err(error)),
    };
    let ready = soak.ready.as_ref().or(week.mix_on.as_ref());
    let times = sheet.as_ref().zip(ready).and_then(|(sheet, ready)| Times::of(&sheet.course, sheet.runs, ready));
    let mix_on = week.mix_on.as_ref().and_then(Moment::zoned);
    Some(Ok(Soaking {
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
