//! The covering of the seed, in words and a table.

use crate::plan::{AreaFrom, Covering};
use crate::report::document::{Document, Table};
use crate::report::plan::PlanReport;
use crate::report::words::{and, count};
use crate::units::length::millimetre;
use crate::units::{Litres, UnitSystem, amount, plain};

impl PlanReport<'_> {
    /// What covers the seed, tray by tray.
    pub(super) fn covering(&self, document: &mut Document, units: UnitSystem) {
        if self.plan.mixes.covering.is_empty() {
            return;
        }
        document.subheading("To cover the seed, beside the mix");
        let mut table = Table::new(&["tray", "material", ">loose", "how thick"]);
        for covering in &self.plan.mixes.covering {
            table.row([
                covering.tray.name.clone(),
                covering.ingredient.name.clone(),
                amount(covering.loose, Litres::Needed, units),
                self.layers(covering),
            ]);
        }
        document.table(table);
        let guessed: Vec<&str> = self
            .plan
            .mixes
            .covering
            .iter()
            .filter(|covering| covering.area != AreaFrom::Rim)
            .map(|covering| covering.tray.name.as_str())
            .collect();
        let mut words =
            "Over sown cells only; seed that needs light lies open. The depths are common practice.".to_owned();
        if !guessed.is_empty() {
            words += &format!(" The width of the cells of {} is not known: its surface is estimated.", and(&guessed));
        }
        document.paragraph(words);
    }

    fn layers(&self, covering: &Covering) -> String {
        let layers: Vec<String> = covering
            .layers
            .iter()
            .map(|layer| {
                let depth = plain(layer.depth.get::<millimetre>(), 1);
                let crops: Vec<&str> = layer.crops.iter().map(|id| id.name.as_str()).collect();
                if crops.is_empty() || crops.len() > 12 {
                    format!("{depth} mm over {}", count(layer.cells, "cell", "cells"))
                } else {
                    format!("{depth} mm over {}", and(&crops))
                }
            })
            .collect();
        layers.join("; ")
    }
}
