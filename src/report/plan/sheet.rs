//! What to fill and what to make: the body of the bench sheet.

use super::PlanReport;
use crate::plan::{Batch, LISTED, Omission, SowingPlan};
use crate::recipe::Why;
use crate::report::document::{Document, Table};
use crate::report::words::{and, count, why};
use crate::units::length::millimetre;
use crate::units::volume::millilitre;
use crate::units::{Litres, Quantity, UnitSystem, amount, grams, in_litres, percent, plain, to_litres};
use std::collections::BTreeMap;

/// Shared trays beyond this are not mapped in print.
const MAPPED: usize = 60;

impl PlanReport<'_> {
    /// What to do, in a sentence or two.
    pub(super) fn summary(&self, units: UnitSystem) -> String {
        let totals = &self.plan.mixes.totals;
        let mut words = String::new();
        if let Some(moment) = &self.plan.mix_on {
            words += &format!("Mix ready by {}. ", moment.local.strftime("%a %-d %b %Y, %H:%M"));
        }
        let mut fill = Vec::new();
        if totals.trays > 0 {
            fill.push(count(totals.trays, "tray", "trays"));
        }
        if totals.pots > 0 {
            fill.push(count(totals.pots, "pot", "pots"));
        }
        if !fill.is_empty() {
            words += &format!("Fill {}. ", and(&fill));
        }
        words += &format!("Make {} of mix", amount(totals.mix, Litres::Needed, units));
        if self.plan.mixes.batches.len() > 1 {
            words += &format!(" in {} batches", self.plan.mixes.batches.len());
        }
        let loose = totals.ingredients.iter().fold(in_litres(0.0), |sum, (_, loose)| sum + *loose);
        words += &format!(", from {} of loose ingredients", amount(loose, Litres::Needed, units));
        if let Some(cells) = totals.cells.filter(|cells| to_litres(*cells) > 0.0) {
            words += &format!(
                ": {} times the {} of the cells, for settling, spill and what blending loses",
                plain(to_litres(loose) / to_litres(cells), 2),
                amount(cells, Litres::Given, units)
            );
        }
        words + "."
    }

    /// What to fill: a row for each sowing, then the maps of shared trays.
    pub(super) fn trays(&self, document: &mut Document) {
        if self.plan.mixes.layout.sowings.is_empty() {
            return;
        }
        document.heading("Trays to fill");
        let mut kinds = Table::new(&["tray or pot", ">how many", ">one cell holds"]);
        for (id, count) in &self.plan.mixes.layout.trays {
            let tray = id;
            let holds = format!(
                "{}{} mL",
                if tray.low_confidence { "about " } else { "" },
                plain(tray.cell.get::<millilitre>(), 1)
            );
            kinds.row([tray.name.clone(), count.to_string(), holds]);
        }
        document.table(kinds);
        document.table(self.sowings_table().without_empty_columns());
        if !self.plan.mixes.layout.maps.is_empty() {
            document.subheading("Shared trays, rows across the short side");
            let mut maps = Table::new(&["tray", "which", "rows"]);
            for map in self.plan.mixes.layout.maps.iter().take(MAPPED) {
                let rows: Vec<String> = map
                    .portions
                    .iter()
                    .map(|portion| {
                        let crop = self.plan.mixes.layout.sowings[portion.sowing].name();
                        if portion.from == portion.to {
                            format!("{} {crop}", portion.from)
                        } else {
                            format!("{}-{} {crop}", portion.from, portion.to)
                        }
                    })
                    .collect();
                let of = self
                    .plan
                    .mixes
                    .layout
                    .trays
                    .iter()
                    .find(|(id, _)| *id == map.tray)
                    .map_or(map.number, |(_, count)| *count);
                maps.row([map.tray.name.clone(), format!("{} of {of}", map.number), rows.join(" | ")]);
            }
            document.table(maps);
            if self.plan.mixes.layout.maps.len() > MAPPED {
                document
                    .paragraph(format!("... and {} more shared trays.", self.plan.mixes.layout.maps.len() - MAPPED));
            }
        }
    }

    fn sowings_table(&self) -> Table {
        let mut table = Table::new(&["crop", "tray", ">trays", ">plants", ">cells", ">seeds", ">seed g", ">batch"]);
        let grams = |sowing: &SowingPlan| sowing.seed_grams().map(seed_grams);
        if self.plan.mixes.layout.sowings.len() <= LISTED {
            for sowing in &self.plan.mixes.layout.sowings {
                table.row([
                    sowing.name(),
                    sowing.tray.name.clone(),
                    sowing.trays.to_string(),
                    sowing.cells.plants.map(|plants| plants.to_string()).unwrap_or_default(),
                    sowing.cells.cells.to_string(),
                    sowing.cells.seeds.map(|seeds| seeds.to_string()).unwrap_or_default(),
                    grams(sowing).unwrap_or_default(),
                    (sowing.batch + 1).to_string(),
                ]);
            }
            return table;
        }
        let mut together: BTreeMap<(String, &str, usize), (u64, u64)> = BTreeMap::new();
        for sowing in &self.plan.mixes.layout.sowings {
            let crop = sowing.crop.as_ref().map(|crop| crop.name.clone()).unwrap_or_default();
            let sums = together.entry((crop, sowing.tray.name.as_str(), sowing.batch)).or_default();
            sums.0 += sowing.cells.cells;
            sums.1 += sowing.cells.seeds.unwrap_or(0);
        }
        for ((crop, tray, batch), (cells, seeds)) in together {
            let none = String::new();
            table.row([
                crop,
                tray.to_owned(),
                none.clone(),
                none.clone(),
                cells.to_string(),
                seeds.to_string(),
                none,
                (batch + 1).to_string(),
            ]);
        }
        table
    }

    /// One batch: what to measure out, what is left out.
    pub(super) fn batch(&self, document: &mut Document, index: usize, batch: &Batch, units: UnitSystem) {
        document.heading(format!("Batch {}: {}", index + 1, batch.name));
        let crops: Vec<&str> = batch.crops.iter().map(|id| id.name.as_str()).collect();
        let mut words = format!("{} of mix", amount(batch.volumes.mix, Litres::Needed, units));
        if !crops.is_empty() && crops.len() <= 30 {
            words += &format!(" for {}", and(&crops));
        }
        let loose = amount(batch.volumes.loose, Litres::Needed, units);
        words += &format!(", from {loose} of loose ingredients.");
        if let Some(mesh) = batch.composition.sieve {
            words += &format!(
                " Put the whole batch through a {} mm sieve before the doses go in ({} stays on it).",
                plain(mesh.get::<millimetre>(), 1),
                percent(batch.volumes.sieve_loss)
            );
        }
        for layer in &batch.tops {
            let litres = layer.volume.map(|volume| amount(volume, Litres::Needed, units));
            let topped: Vec<&str> = layer.crops.iter().map(|id| id.name.as_str()).collect();
            let tray = if batch.tops.len() > 1 { format!(" in {}", layer.tray.name) } else { String::new() };
            words += &format!(
                " Of this, put {} through a {} mm sieve for the top {} mm over {}{tray}.",
                litres.as_deref().unwrap_or("some"),
                plain(layer.top.sieve.get::<millimetre>(), 1),
                plain(layer.top.depth.get::<millimetre>(), 1),
                and(&topped)
            );
        }
        document.paragraph(words);
        self.making(document, index, batch, units);
        document.list(batch.left_out.iter().map(|omission| self.omission(omission, units)).collect());
    }

    pub(super) fn omission(&self, omission: &Omission, units: UnitSystem) -> String {
        let reasons: Vec<String> = omission
            .why
            .iter()
            .map(|(reason, crops)| {
                let names: Vec<&str> = crops.iter().map(|id| id.name.as_str()).collect();
                let words = why(reason);
                // A dose without its base is missing for every crop alike.
                if names.is_empty() || matches!(reason, Why::NoneOf(_)) {
                    words
                } else {
                    format!("{} ({words})", and(&names))
                }
            })
            .collect();
        let saved = match (omission.saved, omission.as_part) {
            (Some(Quantity::Volume(loose)), true) => format!("; saves {}", amount(loose, Litres::Given, units)),
            (Some(Quantity::Volume(volume)), false) => format!("; saves {} mL", plain(volume.get::<millilitre>(), 0)),
            (Some(Quantity::Mass(mass)), _) => format!("; saves {}", grams(mass)),
            (None, _) => String::new(),
        };
        let instead =
            omission.instead.as_ref().map_or_else(String::new, |id| format!("; {} instead", id.name.as_str()));
        let no = if omission.only_less { "Less" } else { "No" };
        format!("{no} {}: {}{instead}{saved}.", omission.ingredient.name.as_str(), reasons.join("; "))
    }
}

/// Grams of seed: finer below a tenth of a gram, so that dust-fine seed is not shown as
/// more or as none.
fn seed_grams(grams: f64) -> String {
    let decimals = match grams {
        _ if grams >= 1.0 => 1,
        _ if grams >= 0.1 => 2,
        _ => 3,
    };
    plain(grams, decimals)
}
