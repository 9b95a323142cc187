//! What to fill: trays, sowings, and the maps of shared trays.

use super::PlanReport;
use crate::catalogue::{Handle, Tray};
use crate::plan::{CropSum, LISTED, SowingPlan, TrayMap, TrayPortion};
use crate::report::document::{Document, Table};
use crate::report::words::{fact, tray_name};
use crate::units::{Cell, UnitSystem, seed_weight};
use crate::week::Sowing;
use std::num::NonZeroU32;

/// Shared trays beyond this are not mapped in print.
const MAPPED: usize = 60;

/// The columns of the sowings.
fn columns(units: UnitSystem) -> [&'static str; 8] {
    let seed = units.either(">seed g", ">seed oz");
    ["crop", "tray", ">trays", ">plants", ">cells", ">seeds", seed, ">batch"]
}

impl PlanReport<'_> {
    /// What to fill: a row for each sowing, then the maps of shared trays.
    pub(super) fn trays(&self, document: &mut Document, units: UnitSystem) {
        let mixes = &self.plan.mixes;
        if mixes.layout.sowings.is_empty() {
            return;
        }
        document.heading("Trays to fill");
        let kind = |(tray, count): &(Handle<Tray>, u64)| {
            let about = if tray.is_about() { "about " } else { "" };
            let holds = format!("{about}{}", fact(Cell(tray.cell), units));
            [tray_name(tray, units), count.to_string(), holds]
        };
        document.table(Table::of(["tray or pot", ">how many", ">one cell holds"], mixes.layout.trays.iter().map(kind)));
        let sowings =
            if mixes.layout.sowings.len() <= LISTED { self.each_sowing(units) } else { self.sowings_by_crop(units) };
        document.table(sowings.without_empty_columns());
        if mixes.layout.maps.is_empty() {
            return;
        }
        document.subheading("Shared trays, rows across the short side");
        let map = |map: &TrayMap| {
            let rows: Vec<String> = map.portions.iter().map(|portion| self.rows_of(portion)).collect();
            let all = mixes.layout.trays.iter().find(|(tray, _)| *tray == map.tray);
            let which = format!("{} of {}", map.number, all.map_or(map.number, |(_, count)| *count));
            [tray_name(&map.tray, units), which, rows.join(" | ")]
        };
        document.table(Table::of(["tray", "which", "rows"], mixes.layout.maps.iter().take(MAPPED).map(map)));
        if mixes.layout.maps.len() > MAPPED {
            document.paragraph(format!("... and {} more shared trays.", mixes.layout.maps.len() - MAPPED));
        }
    }

    /// `1-8 Swiss chard`.
    fn rows_of(&self, portion: &TrayPortion) -> String {
        let crop = self.week.sowings[portion.sowing as usize].name();
        let TrayPortion { from, to, .. } = portion;
        if from == to { format!("{from} {crop}") } else { format!("{from}-{to} {crop}") }
    }

    fn each_sowing(&self, units: UnitSystem) -> Table {
        let number = |count: Option<NonZeroU32>| count.map(|count| count.to_string()).unwrap_or_default();
        let row = |(sowing, plan): (&Sowing, &SowingPlan)| {
            [
                sowing.full_name(),
                tray_name(&sowing.tray, units),
                plan.trays.to_string(),
                number(plan.cells.plants),
                plan.cells.cells.to_string(),
                number(plan.cells.seeds),
                plan.seed_grams(sowing).map(|grams| seed_weight(grams, units)).unwrap_or_default(),
                self.batch_number(plan.batch),
            ]
        };
        Table::of(columns(units), self.sowings().map(row))
    }

    /// The sowings of one crop in one kind of tray together.
    fn sowings_by_crop(&self, units: UnitSystem) -> Table {
        let rows =
            self.plan.mixes.layout.by_crop(self.week).into_iter().map(|CropSum { first, batch, cells, seeds }| {
                let (cells, seeds, batch) = (cells.to_string(), seeds.to_string(), self.batch_number(batch));
                let crop = first.crop.as_ref().map(|crop| crop.in_full()).unwrap_or_default();
                [&crop, &tray_name(&first.tray, units), "", "", &cells, &seeds, "", &batch].map(str::to_owned)
            });
        Table::of(columns(units), rows)
    }
}
