//! The soak that a week's coir needs: for as much as all batches take, in whole pieces.

use super::{Buy, Plan};
use crate::catalogue::{Catalogue, IngredientId, salts};
use crate::coir::{Salt, dry_kg_of_sold};
use crate::soak::{Product, Sheet, Soak, Times, work_out};
use crate::stock::Stuff;
use crate::units::{Volume, cover, in_litres};
use crate::week::Week;

/// Loose litres of a kilogram of coir as sold, where no package says better
/// (9 to 15 by trade pages).
const LOOSE_L_PER_KG: f64 = 13.0;

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
        _ => in_litres(LOOSE_L_PER_KG * soak.product.kg),
    }
}

/// Coir among the ingredients.
pub(super) fn coir(catalogue: &Catalogue) -> Option<IngredientId> {
    catalogue.ingredients.find("coir").map(IngredientId)
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

/// The soak, if the mix holds coir; `None` too where the amounts are beyond the model.
pub(super) fn soaking(plan: &Plan, week: &Week, catalogue: &Catalogue) -> Option<Soaking> {
    let coir = coir(catalogue)?;
    let reckoned = plan.totals.ingredients.iter().find(|(id, _)| *id == coir).map(|(_, loose)| *loose)?;
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
    let sheet = work_out(&soak, dry_kg, &others, false).ok()?;
    let ready = soak.ready.as_ref().or(week.mix_on.as_ref());
    let times = sheet.as_ref().zip(ready).and_then(|(sheet, ready)| Times::of(&sheet.course, ready));
    Some(Soaking {
        assumed: week.soak.is_none(),
        soak,
        sheet,
        need,
        soaked,
        pieces: covered.count,
        dry_kg,
        over: covered.over,
        times,
    })
}
