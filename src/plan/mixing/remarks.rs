//! What the mixing gives reason to say.

use super::{LIFT_KG, Loads, MixRef, TooCoarse};
use crate::catalogue::{Catalogue, IngredientId};
use crate::plan::{Note, Plan, Warning};
use crate::units::Mass;
use crate::units::mass::kilogram;
use std::collections::BTreeSet;

/// Adds notes on the tub and on charged mixes, and warnings of coarse scoops and heavy
/// tubs.
pub(in crate::plan) fn add(plan: &mut Plan, catalogue: &Catalogue) {
    let mixing = &plan.mixing;
    if mixing.vessels.tub.is_none() {
        plan.notes.push(Note::NoTub);
    }
    let charged: BTreeSet<IngredientId> = plan
        .totals
        .ingredients
        .iter()
        .map(|(id, _)| *id)
        .filter(|id| catalogue.ingredient(*id).starter_charge)
        .collect();
    plan.notes.extend(charged.into_iter().map(Note::StarterCharge));
    let bases =
        mixing.bases.iter().enumerate().map(|(index, base)| (MixRef::Base(index), Some(&base.loads), base.too_coarse));
    let batches = mixing
        .batches
        .iter()
        .enumerate()
        .map(|(index, batch)| (MixRef::Batch(index), batch.loads.as_ref(), batch.too_coarse));
    let mixes: Vec<(MixRef, Option<&Loads>, Option<TooCoarse>)> = bases.chain(batches).collect();
    let coarse: Vec<(MixRef, TooCoarse)> =
        mixes.iter().filter_map(|(mix, _, coarse)| coarse.map(|coarse| (*mix, coarse))).collect();
    let mut warnings: Vec<Warning> = Vec::new();
    if !coarse.is_empty() {
        warnings.push(Warning::ScoopTooCoarse(coarse));
    }
    let heavy: Vec<(MixRef, Mass)> = mixes
        .iter()
        .filter_map(|(mix, loads, _)| loads.and_then(|loads| loads.load.wet).map(|wet| (*mix, wet)))
        .filter(|(_, wet)| wet.get::<kilogram>() > LIFT_KG)
        .collect();
    // Without a tub there is nothing to lift.
    if let Some(wet) = heavy.iter().map(|(_, wet)| *wet).reduce(Mass::max)
        && mixing.vessels.tub.is_some()
    {
        warnings.push(Warning::HeavyTub { mixes: heavy.into_iter().map(|(mix, _)| mix).collect(), wet });
    }
    plan.warnings.extend(warnings);
}
