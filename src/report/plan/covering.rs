//! The covering of the seed.

use super::PlanReport;
use crate::catalogue::{Handle, Ingredient};
use crate::report::document::Document;
use crate::report::words::{and, needed, tray_name};
use crate::units::UnitSystem;
use std::collections::BTreeSet;

impl PlanReport<'_> {
    /// What covers the seed, beside the mix.
    pub(super) fn covering(&self, document: &mut Document, units: UnitSystem) {
        let all = &self.plan.mixes.covering;
        if all.is_empty() {
            return;
        }
        let materials: BTreeSet<&Handle<Ingredient>> = all.iter().map(|covering| &covering.ingredient).collect();
        let materials = materials.into_iter().map(|material| {
            let of = all.iter().filter(|covering| covering.ingredient == *material);
            let each = of.map(|covering| format!("{} over the {}", needed(covering.loose, units), tray_name(&covering.tray, units)));
            format!("{}: {}", material.name, and(each))
        });
        let mut words = format!("Cover the seed with {}, as deep as stands below; sown cells only", materials.collect::<Vec<_>>().join("; "));
        words += &units.prose(", what lies 13 mm deep or deeper is pushed in.");
        let estimated: Vec<_> = all.iter().filter(|covering| covering.area.is_estimated()).collect();
        if !estimated.is_empty() {
            let trays = and(estimated.iter().map(|covering| tray_name(&covering.tray, units)));
            words += &format!(" The width of the cells of {trays} is not known: its surface is estimated.");
        }
        document.step("Beside the mix");
        document.paragraph(words);
    }
}
