//! `--explain`: every step of the volumes, and where the figures come from.

use super::load::water_range;
use super::mixing::mix_name;
use super::{PlanReport, section};
use crate::behaviour::Behaviour;
use crate::catalogue::{Named, citation};
use crate::plan::{
    Batch, BatchBehaviour, Covering, Germination, LISTED, Layer, Loads, SowingPlan, chance_of_cell, germination,
};
use crate::report::behaviour::{InTrays, MixInTrays, cell_table, mix_table};
use crate::report::document::{Document, Table};
use crate::report::words::{and, batch_name, batches_of, capital, count, fact, needed, tray_name};
use crate::units::customary::MILLILITRE;
use crate::units::volume::{litre, millilitre, us_liquid_quart};
use crate::units::{Cell, Deep, UnitSystem, Volume, percent, plain};
use crate::week::Sowing;
use std::collections::{BTreeMap, BTreeSet};

impl PlanReport<'_> {
    /// From plants to cells, from cells to loose ingredients, what packing says, sources.
    pub(super) fn explain(&self, document: &mut Document, units: UnitSystem) {
        self.cells(document);
        self.volumes(document, units);
        self.measured(document, units);
        self.covered(document, units);
        self.behaving(document, units);
        section(
            document,
            "Sources",
            self.place_sources()
                .chain(self.tray_sources(units))
                .chain(self.crop_sources(units))
                .chain(self.recipe_sources(units))
                .collect(),
        );
    }

    /// What was taken from the place.
    fn place_sources(&self) -> impl Iterator<Item = String> {
        let taken = self.week.standing.taken.iter().filter(|taken| !taken.keys.is_empty());
        taken.map(crate::report::words::from_place)
    }

    /// From plants wanted to cells sown.
    fn cells(&self, document: &mut Document) {
        let columns = ["crop", ">plants", ">germination", ">seeds a cell", ">usable", ">chance", ">surety", ">cells"];
        let row = |(written, plan): (&Sowing, &SowingPlan)| {
            let cells = &plan.cells;
            Some([
                written.name(),
                cells.plants.filter(|_| cells.germination.is_some())?.to_string(),
                percent(germination(written).0),
                written.seeds.to_string(),
                percent(self.week.usable(written)),
                format!("{} %", plain(chance_of_cell(written, self.week) * 100.0, 1)),
                percent(self.week.surety(written)),
                cells.cells.to_string(),
            ])
        };
        let mut table = Table::of(columns, self.sowings().filter_map(row));
        if table.rows.is_empty() {
            return;
        }
        document.heading("How the cells come about");
        document.paragraph(
            "Sown are the fewest cells that give the plants with the surety asked for. A cell gives a plant with the \
             chance that one of its seeds comes up, times the share of seedlings good enough to plant (usable).",
        );
        let more = table.rows.len().saturating_sub(LISTED);
        table.rows.truncate(LISTED);
        document.table(table);
        if more > 0 {
            document.paragraph(format!("And {more} more sowings."));
        }
    }

    /// Every step from cells to loose ingredients.
    fn volumes(&self, document: &mut Document, units: UnitSystem) {
        document.heading("How the volumes come about");
        let allowances = &self.plan.allowances;
        document.paragraph(format!(
            "Settling adds {} to the cells (overfill, drop the tray twice, strike off; never press). Spill: {} of the mix \
             ends up elsewhere. Yield: mix kept after blending, since fine parts fill the gaps between coarse ones; \
             measure yours with a bucket test.",
            percent(allowances.settling),
            percent(allowances.spill)
        ));
        let [cells, settled, mix, loose] = units.either(
            [">cells L", ">settled L", ">mix L", ">loose L"],
            [">cells qt", ">settled qt", ">mix qt", ">loose qt"],
        );
        let columns = ["batch", cells, settled, mix, ">sieve loss", ">yield", loose, ">factor"];
        let size = |volume: Volume| units.either(volume.get::<litre>(), volume.get::<us_liquid_quart>());
        // Beyond any bench the figures alone take all the columns that there are.
        let decimals = |size: f64| if size < 1e5 { 3 } else { 0 };
        let step = |volume: Option<Volume>| volume.map(size).map(|size| plain(size, decimals(size)));
        let step = |volume| step(volume).unwrap_or_default();
        let row = |Batch { name, volumes, .. }: &Batch| {
            [
                batch_name(name, units),
                step(volumes.cells),
                step(volumes.settled),
                step(Some(volumes.mix)),
                if volumes.sieve_loss.is_zero() { String::new() } else { percent(volumes.sieve_loss) },
                percent(volumes.yield_),
                step(Some(volumes.loose)),
                volumes.factor().map(|factor| plain(factor, 3)).unwrap_or_default(),
            ]
        };
        document.table(Table::of(columns, self.plan.mixes.batches.iter().map(row)).without_empty_columns());
    }

    /// The loads of bases and of batches, by name.
    pub(super) fn all_loads(&self) -> impl Iterator<Item = (String, &Loads)> {
        self.plan.mixes.mixing.all().filter_map(|(mix, loads, _)| Some((mix_name(mix, self.plan), loads?)))
    }

    /// What the scoops make of the recipe's shares.
    fn measured(&self, document: &mut Document, units: UnitSystem) {
        let mixing = &self.plan.mixes.mixing;
        let mut table = Table::new(&["mix", "ingredient", ">share", ">wanted"]);
        for (mix, loads) in self.all_loads() {
            for measure in loads.load.measures.iter().filter(|measure| !measure.is_exact()) {
                let [share, wanted] = [measure.share, measure.wanted].map(|share| format!("{:.1} %", share * 100.0));
                table.row([mix.clone(), measure.ingredient.name.clone(), share, wanted]);
            }
        }
        if let Some((measured, more)) = self.plan.mixes.measured_beyond_need().filter(|_| !table.rows.is_empty()) {
            document.subheading("What measuring by the scoop does");
            let tolerance = plain(mixing.vessels.tolerance * 100.0, 1);
            document.paragraph(format!(
                "The scoops make the least that is not short, and keep each share within {tolerance} % of the recipe's; struck \
                 off by hand, a scoop is hardly truer. All of it takes {} of loose ingredients, {} more than calculated.",
                needed(measured, units),
                needed(more, units)
            ));
            document.table(table);
        }
        let held = |batch: &Batch| {
            let parts = batch.ingredients.iter();
            let parts =
                parts.map(|part| format!("{} {} ({})", needed(part.loose, units), part.ingredient.name, part.parts));
            format!("{}: {}.", batch_name(&batch.name, units), and(parts))
        };
        document.subheading("What the batches hold, loose and in parts");
        document.list(self.plan.mixes.batches.iter().map(held).collect());
        let water = self.all_loads().filter_map(|(mix, loads)| Some(format!("{mix}: {}.", water_range(loads, units)?)));
        let water: Vec<String> = water.collect();
        if !water.is_empty() {
            document.subheading("What water the loads want");
            document.list(water);
        }
    }

    /// A batch in its trays.
    pub(super) fn mix_in_trays<'b>(&'b self, index: usize, mix: Behaviour<'b>, trays: InTrays<'b>) -> MixInTrays<'b> {
        let batch = &self.plan.mixes.batches[index];
        let recipe = self.week.recipe(batch.recipe);
        MixInTrays {
            name: &batch.name,
            for_acid: batch.is_for_acid(),
            ..MixInTrays::of_recipe(recipe, &batch.composition, mix, trays)
        }
    }

    /// How the batches behave in their cells, and when they are to be fed.
    fn behaving(&self, document: &mut Document, units: UnitSystem) {
        let mut mixes = Vec::new();
        let mut fed: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (index, BatchBehaviour { behaviour, cells, feeding, .. }) in self.plan.behaviour(self.week).enumerate() {
            let number = self.plan.mixes.mixing.number(index);
            let food = if feeding.food.is_empty() { "no food".to_owned() } else { and(&feeding.food) };
            let ([least, most], stage) = (feeding.nitrogen_ppm(), feeding.stage());
            let words = format!("{food} in it, so feed from {stage}, {least:.0} to {most:.0} ppm N (from memory).");
            fed.entry(words).or_default().push(number);
            mixes.push((number, self.mix_in_trays(index, behaviour, cells)));
        }
        if mixes.is_empty() {
            return;
        }
        mixes.sort_by_key(|(number, _)| *number);
        document.heading("How the mixes behave");
        let cells = mixes
            .iter()
            .flat_map(|(number, mix)| mix.trays.iter().map(|(tray, cell)| (&***tray, number.to_string(), cell)));
        document.table(cell_table("batch", cells, units));
        let known = mixes.iter().map(|(number, mix)| (number.to_string(), mix));
        document.table(mix_table("batch", known, units));
        document.list(fed.into_iter().map(|(words, of)| format!("{}: {words}", capital(&batches_of(&of)))).collect());
    }

    /// How deep the seed is covered.
    fn covered(&self, document: &mut Document, units: UnitSystem) {
        let layer = |layer: &Layer| format!("{} over {}", fact(Deep(layer.depth), units), over(layer));
        let row = |covering: &Covering| {
            let layers = covering.layers.iter().map(layer).collect::<Vec<_>>().join("; ");
            [tray_name(&covering.tray, units), covering.ingredient.name.clone(), needed(covering.loose, units), layers]
        };
        let table = Table::of(["tray", "material", ">loose", "how thick"], self.plan.mixes.covering.iter().map(row));
        if !table.rows.is_empty() {
            document.subheading("How deep the seed is covered");
            document.table(table);
            document.paragraph(
                "The depths are the least of those that `trayful show CROP` tells, or common practice; seed that needs \
                 light lies open.",
            );
        }
    }

    fn tray_sources(&self, units: UnitSystem) -> impl Iterator<Item = String> {
        self.plan.mixes.layout.trays.iter().map(move |(tray, _)| {
            let ml = |volume: Volume| MILLILITRE.figure(volume.get::<millilitre>(), 1, units);
            let range = tray
                .range
                .map(|(least, most)| format!(", sold as {}-{} {}", ml(least), ml(most), MILLILITRE.name_in(units)));
            let source = units.prose(&cite(tray.from.as_deref(), Some(&tray.standing)));
            let about = if tray.is_about() { "about " } else { "" };
            format!(
                "{}: one cell {about}{}, {source}{}",
                tray_name(tray, units),
                fact(Cell(tray.cell), units),
                range.unwrap_or_default()
            )
        })
    }

    /// A line for each crop, by its first sowing.
    fn crop_sources(&self, units: UnitSystem) -> impl Iterator<Item = String> {
        let mut seen = BTreeSet::new();
        let named = self.sowings().filter_map(|(written, plan)| Some((written, plan, written.crop.as_ref()?)));
        let first = named.filter(move |(.., crop)| seen.insert(*crop)).take(LISTED);
        first.map(move |(written, plan, crop)| {
            let source = units.prose(&cite(crop.tags.of("mycorrhiza"), None));
            let words = format!("{}: {} by {}, {source}", crop.shown(), crop.mycorrhiza, crop.mycorrhiza_from);
            let Some(from) = plan.cells.germination else { return words };
            let from = match from {
                Germination::Packet => "the packet's",
                Germination::Own => "your own figure",
                Germination::LegalMinimum => "the legal minimum, 7 CFR 201.31",
                Germination::Expected => "assumed, as the table expects",
                Germination::Assumed => "assumed",
            };
            format!("{words}; germination {} ({from})", percent(germination(written).0))
        })
    }

    fn recipe_sources(&self, units: UnitSystem) -> impl Iterator<Item = String> {
        let source = |batch: &Batch| self.week.recipe(batch.recipe).source.as_ref();
        self.plan
            .mixes
            .batches
            .iter()
            .filter_map(move |batch| Some(format!("{}: {}", batch_name(&batch.name, units), source(batch)?)))
    }
}

/// The crops that a layer covers, or how many cells.
fn over(layer: &Layer) -> String {
    match layer.crops.len() {
        1..=12 => and(&layer.crops),
        _ => count(layer.cells, "cell", "cells"),
    }
}

/// A source by its key, or else how a figure stands.
fn cite(key: Option<&str>, standing: Option<&str>) -> String {
    match key.and_then(citation) {
        Some(source) => format!("{} ({})", source.cite, source.standing),
        None => key.or(standing).unwrap_or("own figure").to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_without_a_source_is_told_by_its_standing() {
        assert_eq!(cite(None, None), "own figure");
        assert_eq!(cite(None, Some("estimate")), "estimate");
        assert_eq!(cite(Some("no key of the catalogue"), Some("estimate")), "no key of the catalogue");
    }
}
