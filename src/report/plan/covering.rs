//! The covering of the seed.

use super::PlanReport;
use crate::catalogue::{Handle, Ingredient};
use crate::report::words::{and, tray_name};
use crate::units::{UnitSystem, in_column, to_litres};
use std::collections::BTreeSet;

impl PlanReport<'_> {
    /// What covers the seed, beside the mix.
    pub(super) fn covering(&self, units: UnitSystem) -> Option<String> {
        let all = &self.plan.mixes.covering;
        if all.is_empty() {
            return None;
        }
        let litres: Vec<f64> = all.iter().map(|covering| to_litres(covering.loose)).collect();
        let litres: Vec<String> = in_column(&litres, units).cells().collect();
        let materials: BTreeSet<&Handle<Ingredient>> = all.iter().map(|covering| &covering.ingredient).collect();
        let materials = materials.into_iter().map(|material| {
            let of = all.iter().zip(&litres).filter(|(covering, _)| covering.ingredient == *material);
            let each = of.map(|(covering, loose)| format!("{loose} over the {}", tray_name(&covering.tray, units)));
            format!("{}, {}", material.name, and(each))
        });
        let materials = materials.collect::<Vec<_>>().join("; ");
        let mut words = format!("Cover the seed, sown cells only, as deep as the table says, with {materials}.");
        let estimated: Vec<_> = all.iter().filter(|covering| covering.area.is_estimated()).collect();
        if !estimated.is_empty() {
            let trays = and(estimated.iter().map(|covering| tray_name(&covering.tray, units)));
            words += &format!(" The width of the cells of {trays} is not known: its surface is estimated.");
        }
        Some(words)
    }
}
