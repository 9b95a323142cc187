//! The covering of the seed.

use super::PlanReport;
use super::sowing::depth_of;
use crate::catalogue::{Handle, Ingredient, Named as _};
use crate::plan::depth_over;
use crate::report::words::{and, fact, tray_name};
use crate::units::{Deep, UnitSystem, in_column, to_litres};
use std::collections::BTreeSet;

impl PlanReport<'_> {
    /// What covers the seed, beside the mix.
    pub(super) fn covering(&self, units: UnitSystem) -> Option<String> {
        let all = &self.plan.mixes.covering;
        let pushed = self.pushed_in(units);
        if all.is_empty() {
            return (!pushed.is_empty()).then(|| format!("Push {pushed} into the mix."));
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
        let first = match pushed.is_empty() {
            true => "Cover the seed".to_owned(),
            false => format!("Push {pushed} into the mix; cover the others"),
        };
        let mut words = format!("{first}, sown cells only, as deep as the table says, with {materials}.");
        let estimated: Vec<_> = all.iter().filter(|covering| covering.area.is_estimated()).collect();
        if !estimated.is_empty() {
            let trays = and(estimated.iter().map(|covering| tray_name(&covering.tray, units)));
            words += &format!(" The width of the cells of {trays} is not known: its surface is estimated.");
        }
        Some(words)
    }

    /// `Swiss chard 13 mm and pea 20 mm`: the seed that goes deeper than a covering.
    fn pushed_in(&self, units: UnitSystem) -> String {
        const NAMED: usize = 12;
        let sown = self.sowings().filter(|(_, plan)| plan.cells.seeds.is_some());
        let crops: BTreeSet<_> = sown.filter_map(|(sowing, _)| sowing.crop.as_ref()).collect();
        let deep: Vec<String> = crops
            .into_iter()
            .filter(|crop| depth_over(crop).is_none())
            .filter_map(|crop| Some(format!("{} ({})", crop.shown(), fact(Deep(depth_of(crop)?), units))))
            .collect();
        if deep.len() > NAMED { format!("seed of {} or more", units.prose("13 mm")) } else { and(deep) }
    }
}
