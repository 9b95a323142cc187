//! What a plan would cost with another of the ingredients that its recipes offer.

use super::batch::{Found, measure};
use super::buying::{line, needs, total};
use super::{Alternative, Batch, Need, Plan, PurchaseLine, Vessels};
use crate::catalogue::IngredientId;
use crate::recipe::{Basis, Why};
use crate::stock::Stock;
use crate::units::{Volume, in_litres, to_litres};
use crate::week::{Loaded, Week};

/// The purchase with each of the ingredients that the recipes offer as a choice.
pub(super) fn alternatives(plan: &Plan, loaded: &Loaded, stock: &Stock, lines: &[PurchaseLine]) -> Vec<Alternative> {
    let (week, catalogue) = (&loaded.week, &loaded.catalogue);
    let mut offered: Vec<&[IngredientId]> = Vec::new();
    for batch in &plan.batches {
        for part in week.recipe(batch.recipe).parts.iter().filter(|part| part.choices.len() > 1) {
            if !offered.contains(&part.choices.as_slice()) {
                offered.push(&part.choices);
            }
        }
    }
    // Several choices would have to be combined: the sheet shows one.
    let [choices] = offered[..] else { return Vec::new() };
    choices
        .iter()
        .map(|other| {
            let swaps: Vec<Swap> = plan.batches.iter().map(|batch| swap(batch, choices, *other, week)).collect();
            let litres = swaps.iter().map(|swap| swap.loose).fold(in_litres(0.0), |sum, loose| sum + loose);
            let chosen = swaps.iter().any(|swap| swap.chosen);
            let batches: Vec<Batch> = swaps.into_iter().map(|swap| swap.batch).collect();
            let totals = super::totals(&batches, &plan.trays, catalogue);
            let vessels = Vessels { tub: week.tub, scoop: week.scoop };
            let mixing = super::mixing::mixing(&batches, vessels, catalogue);
            let needs = needs(&totals, &super::beside(&totals, &mixing, &plan.covering), catalogue);
            // Most lines are those of the plan.
            let same = |need: &Need| lines.iter().find(|line| line.need() == *need).cloned();
            let lines: Vec<PurchaseLine> =
                needs.iter().map(|need| same(need).unwrap_or_else(|| line(*need, stock))).collect();
            Alternative { ingredient: *other, chosen, need: litres, total: total(&lines) }
        })
        .filter(|alternative| to_litres(alternative.need) > 0.0)
        .collect()
}

/// A batch with another choice.
struct Swap {
    batch: Batch,
    /// Litres of the choice; none where the batch has no choice of it.
    loose: Volume,
    /// It is the choice already.
    chosen: bool,
}

/// The batch with another of the choices, where its recipe offers it. Doses that count
/// on one of them leave with it, or come with the other.
fn swap(batch: &Batch, choices: &[IngredientId], other: IngredientId, week: &Week) -> Swap {
    let recipe = week.recipe(batch.recipe);
    let used = batch.ingredients.iter().find(|part| choices.contains(&part.ingredient));
    let Some(used) = used.filter(|_| recipe.offers(other)) else {
        return Swap { batch: batch.clone(), loose: in_litres(0.0), chosen: false };
    };
    if used.ingredient == other {
        return Swap { batch: batch.clone(), loose: used.loose, chosen: true };
    }
    let mut composition = batch.composition.clone();
    for (id, _) in composition.parts.iter_mut().filter(|(id, _)| *id == used.ingredient) {
        *id = other;
    }
    composition.doses.retain(|dose| dose.basis != Basis::Of(used.ingredient));
    let for_want_of_it = |ingredient: IngredientId| {
        let missing = batch.left_out.iter().find(|omission| omission.ingredient == ingredient);
        missing.is_some_and(|missing| missing.why.keys().all(|why| matches!(why, Why::NoneOf(base) if *base == other)))
    };
    let come = recipe.doses.iter().filter(|dose| dose.basis == Basis::Of(other) && for_want_of_it(dose.ingredient));
    composition.doses.extend(come.cloned());
    let found = Found { recipe: batch.recipe, composition, crops: batch.crops.clone(), left_out: Vec::new() };
    let batch = measure(&found, batch.name.clone(), batch.chain, batch.tops.clone(), |_| 1.0);
    Swap { batch, loose: used.loose, chosen: false }
}
