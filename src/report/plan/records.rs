//! The plan for a spreadsheet.

use super::{PlanReport, by_weight_and_measure};
use crate::report::buying;
use crate::units::{plain, to_litres};

impl PlanReport<'_> {
    pub(super) fn as_records(&self) -> Vec<Vec<String>> {
        let header = [
            "what",
            "name",
            "batch",
            "tray",
            "count",
            "cells",
            "seeds",
            "parts",
            "litres",
            "grams",
            "millilitres",
            "package",
            "cost",
        ];
        let mut records = vec![header.map(str::to_owned).to_vec()];
        let mut record = |cells: &[(&str, String)]| {
            let row = header.iter().map(|column| {
                cells.iter().find(|(name, _)| name == column).map(|(_, value)| value.clone()).unwrap_or_default()
            });
            records.push(row.collect());
        };
        for sowing in &self.plan.mixes.layout.sowings {
            record(&[
                ("what", "sowing".to_owned()),
                ("name", sowing.name()),
                ("batch", self.plan.mixes.batches[sowing.batch].name.clone()),
                ("tray", sowing.tray.name.clone()),
                ("cells", sowing.cells.cells.to_string()),
                ("seeds", sowing.cells.seeds.map(|seeds| seeds.to_string()).unwrap_or_default()),
            ]);
        }
        for (id, count) in &self.plan.mixes.layout.trays {
            let tray = id;
            record(&[
                ("what", if tray.pot { "pot" } else { "tray" }.to_owned()),
                ("tray", tray.name.clone()),
                ("count", count.to_string()),
            ]);
        }
        for batch in &self.plan.mixes.batches {
            for part in &batch.ingredients {
                record(&[
                    ("what", "ingredient".to_owned()),
                    ("name", part.ingredient.name.clone()),
                    ("batch", batch.name.clone()),
                    ("parts", part.parts.to_string()),
                    ("litres", plain(to_litres(part.loose), 6)),
                ]);
            }
            for dose in &batch.doses {
                let (grams, millilitres) = by_weight_and_measure(dose.amount);
                record(&[
                    ("what", "dose".to_owned()),
                    ("name", dose.ingredient.name.clone()),
                    ("batch", batch.name.clone()),
                    ("grams", grams.map(|grams| plain(grams, 6)).unwrap_or_default()),
                    ("millilitres", millilitres.map(|ml| plain(ml, 6)).unwrap_or_default()),
                ]);
            }
            record(&[
                ("what", "mix".to_owned()),
                ("batch", batch.name.clone()),
                ("litres", plain(to_litres(batch.volumes.mix), 6)),
            ]);
        }
        self.mixing_records().iter().for_each(|cells| record(cells));
        let bought = buying::rows(&self.plan.purchases);
        for [name, package, count, litres, grams, cost] in bought {
            let what = ("what", "buy".to_owned());
            let cells = [("name", name), ("package", package), ("count", count), ("cost", cost)];
            record(&[&[what], &cells[..], &[("litres", litres), ("grams", grams)]].concat());
        }
        records
    }
}
