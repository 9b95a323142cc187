//! The covering of the seed.

use super::PlanReport;
use crate::plan::{Covering, Layer};
use crate::report::document::{Document, Table};
use crate::report::words::{and, count, fact, tray_name};
use crate::units::{UnitSystem, in_column, to_litres};

impl PlanReport<'_> {
    /// What covers the seed, tray by tray.
    pub(super) fn covering(&self, document: &mut Document, units: UnitSystem) {
        let all = &self.plan.mixes.covering;
        if all.is_empty() {
            return;
        }
        document.subheading("To cover the seed, beside the mix");
        let litres: Vec<f64> = all.iter().map(|covering| to_litres(covering.loose)).collect();
        let row = |(covering, loose): (&Covering, String)| {
            let layers: Vec<String> = covering.layers.iter().map(|layer| layer_words(layer, units)).collect();
            let (tray, material) = (tray_name(&covering.tray, units), covering.ingredient.name.clone());
            [tray, material, loose, layers.join("; ")]
        };
        document.table(Table::of(
            ["tray", "material", ">loose", "how thick"],
            all.iter().zip(in_column(&litres, units).cells()).map(row),
        ));
        let mut words = units.prose(
            "Over sown cells only; seed that needs light lies open, and seed that lies 13 mm deep or deeper is pushed \
             in and covered by the mix. The depths are the least of those that `trayful show CROP` tells, or common practice.",
        );
        let estimated: Vec<_> = all.iter().filter(|covering| covering.area.is_estimated()).collect();
        if !estimated.is_empty() {
            let trays = and(estimated.iter().map(|covering| tray_name(&covering.tray, units)));
            words += &format!(" The width of the cells of {trays} is not known: its surface is estimated.");
        }
        document.paragraph(words);
    }
}

fn layer_words(layer: &Layer, units: UnitSystem) -> String {
    let over = if layer.crops.is_empty() || layer.crops.len() > 12 {
        count(layer.cells, "cell", "cells")
    } else {
        and(&layer.crops)
    };
    format!("{} over {over}", fact(layer.depth, units))
}
