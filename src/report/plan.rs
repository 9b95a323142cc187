//! The plan as a bench sheet, as JSON, and as records.

use super::buying;
use super::document::{Document, Table};
use super::soak::{SoakReport, rfc3339};
use super::words::{and, caution_words, count, note, task, warning, why};
use super::{Report, Style, json};
use crate::catalogue::{Catalogue, IngredientId, citation};
use crate::exact::apportion;
use crate::plan::{
    Batch, DoseAmount, Dosed, Germination, Omission, Plan, Purchases, Saved, SowingPlan, Task, TopLayer, TrayMap,
};
use crate::recipe::{Basis, Why};
use crate::units::length::millimetre;
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::{litre, millilitre, us_cup, us_fluid_ounce, us_liquid_quart, us_tablespoon, us_teaspoon};
use crate::units::{
    Litres, Rate, Spoon, UnitSystem, Volume, amount, grams, in_litres, ounces, percent, plain, to_litres,
};
use crate::week::{Sowing, Week};
use serde::{Serialize, Serializer};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A plan with what its names stand for.
pub struct PlanReport<'p> {
    /// The plan.
    pub plan: &'p Plan,
    /// The sowings it plans; none for a plain volume.
    pub week: Option<&'p Week>,
    /// The tables of names.
    pub catalogue: &'p Catalogue,
}

/// The plan for scripts; its sowings are written one by one, for there may be many.
#[derive(Serialize)]
struct PlanJson<'p> {
    format: &'static str,
    title: &'p str,
    mix_on: Option<String>,
    sowings: Sowings<'p>,
    trays: Vec<Value>,
    shared_trays: Maps<'p>,
    batches: Vec<Value>,
    covering: Vec<Value>,
    totals: Value,
    mixing: Value,
    purchases: Value,
    soak: Value,
    calendar: Vec<Value>,
    cautions: Vec<String>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct SowingJson<'p> {
    crop: Option<&'p str>,
    variety: Option<&'p str>,
    tray: Option<&'p str>,
    batch: &'p str,
    plants: Option<u64>,
    cells: u64,
    seeds_to_take: Option<u64>,
    seed_g: Option<f64>,
    cells_filled: u64,
    cell_ml: Option<f64>,
}

struct Sowings<'p>(&'p PlanReport<'p>);

impl Serialize for Sowings<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.plan.sowings.iter().map(|sowing| self.0.sowing_json(sowing)))
    }
}

#[derive(Serialize)]
struct MapJson<'p> {
    tray: &'p str,
    number: u64,
    rows: Vec<RowsJson>,
}

#[derive(Serialize)]
struct RowsJson {
    crop: String,
    sowing: usize,
    from: u64,
    to: u64,
}

struct Maps<'p>(&'p PlanReport<'p>);

impl Serialize for Maps<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.plan.maps.iter().map(|map| self.0.map_json(map)))
    }
}

/// Sowings beyond this are listed together in print.
const LISTED: usize = 200;
/// Shared trays beyond this are not mapped in print.
const MAPPED: usize = 60;

impl Report for PlanReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(&self.plan.title);
        document.paragraph(self.summary(style.units));
        self.trays(&mut document);
        self.mixing(&mut document, style.units);
        for (index, batch) in self.plan.batches.iter().enumerate() {
            self.batch(&mut document, index, batch, style.units);
        }
        if let Some(purchases) = &self.plan.purchases {
            buying::section(&mut document, purchases, self.catalogue, style.units);
        }
        self.soak(&mut document, style.units);
        self.calendar(&mut document);
        let warnings = self.plan.warnings.iter().map(|found| warning(found, self.plan, self.catalogue));
        let warnings: Vec<String> = warnings.chain(self.buying(buying::cautions)).collect();
        let notes: Vec<String> = self.plan.notes.iter().map(|found| note(found, self.catalogue, style.units)).collect();
        if !warnings.is_empty() {
            document.heading("Watch out");
            document.list(warnings);
        }
        if !notes.is_empty() {
            document.heading("Notes");
            document.list(notes);
        }
        document.heading("Take care");
        document.list(caution_words(&self.plan.cautions, self.catalogue));
        if style.explain {
            self.chain(&mut document);
            self.packing(&mut document);
            self.sources(&mut document);
        }
        document
    }

    fn json(&self) -> String {
        let warnings = self.plan.warnings.iter().map(|found| warning(found, self.plan, self.catalogue));
        let notes = self.plan.notes.iter().map(|found| note(found, self.catalogue, UnitSystem::Metric));
        json::render(&PlanJson {
            format: "trayful-plan/1",
            title: &self.plan.title,
            mix_on: self.plan.mix_on.as_ref().map(|moment| moment.local.to_string()),
            sowings: Sowings(self),
            trays: self
                .plan
                .trays
                .iter()
                .map(|(id, count)| json!({"tray": self.catalogue.tray(*id).name, "count": count}))
                .collect(),
            shared_trays: Maps(self),
            batches: self.plan.batches.iter().map(|batch| self.batch_json(batch)).collect(),
            covering: self.covering_json(),
            totals: self.totals_json(),
            mixing: self.mixing_json(),
            purchases: self
                .plan
                .purchases
                .as_ref()
                .map_or(Value::Null, |found| buying::purchases_json(found, self.catalogue)),
            soak: self.plan.soak.as_ref().map_or(Value::Null, |soaking| SoakReport::of(soaking).value()),
            calendar: self.calendar_json(),
            cautions: warnings
                .chain(self.buying(buying::cautions))
                .chain(caution_words(&self.plan.cautions, self.catalogue))
                .collect(),
            notes: notes.chain(self.buying(buying::notes)).collect(),
        })
    }

    fn records(&self) -> Vec<Vec<String>> {
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
        for sowing in &self.plan.sowings {
            record(&[
                ("what", "sowing".to_owned()),
                ("name", self.crop_name(sowing)),
                ("batch", self.plan.batches[sowing.batch].name.clone()),
                ("tray", self.tray_name(sowing).to_owned()),
                ("cells", sowing.cells.to_string()),
                ("seeds", sowing.seeds.map(|seeds| seeds.to_string()).unwrap_or_default()),
            ]);
        }
        for (id, count) in &self.plan.trays {
            let tray = self.catalogue.tray(*id);
            record(&[
                ("what", if tray.pot { "pot" } else { "tray" }.to_owned()),
                ("tray", tray.name.clone()),
                ("count", count.to_string()),
            ]);
        }
        for batch in &self.plan.batches {
            for part in &batch.ingredients {
                record(&[
                    ("what", "ingredient".to_owned()),
                    ("name", self.name(part.ingredient).to_owned()),
                    ("batch", batch.name.clone()),
                    ("parts", part.parts.to_string()),
                    ("litres", plain(to_litres(part.loose), 6)),
                ]);
            }
            for dose in &batch.doses {
                let (grams, millilitres) = by_weight_and_measure(dose.amount);
                record(&[
                    ("what", "dose".to_owned()),
                    ("name", self.name(dose.ingredient).to_owned()),
                    ("batch", batch.name.clone()),
                    ("grams", grams.map(|grams| plain(grams, 6)).unwrap_or_default()),
                    ("millilitres", millilitres.map(|ml| plain(ml, 6)).unwrap_or_default()),
                ]);
            }
            record(&[
                ("what", "mix".to_owned()),
                ("batch", batch.name.clone()),
                ("litres", plain(to_litres(batch.chain.mix), 6)),
            ]);
        }
        self.mixing_records().iter().for_each(|cells| record(cells));
        let bought = self.plan.purchases.as_ref().map(|found| buying::rows(found, self.catalogue)).unwrap_or_default();
        for [name, package, count, litres, grams, cost] in bought {
            let what = ("what", "buy".to_owned());
            let cells = [("name", name), ("package", package), ("count", count), ("cost", cost)];
            record(&[&[what], &cells[..], &[("litres", litres), ("grams", grams)]].concat());
        }
        records
    }
}

/// Grams or millilitres of a dose.
pub(super) fn by_weight_and_measure(amount: Dosed) -> (Option<f64>, Option<f64>) {
    match amount {
        Dosed::Mass(mass) => (Some(mass.get::<gram>()), None),
        Dosed::Measure(volume, _) => (None, Some(volume.get::<millilitre>())),
    }
}

impl PlanReport<'_> {
    pub(super) fn name(&self, id: IngredientId) -> &str {
        &self.catalogue.ingredient(id).name
    }

    /// Words about the purchases.
    fn buying(&self, words: fn(&Purchases, &Catalogue) -> Vec<String>) -> Vec<String> {
        self.plan.purchases.as_ref().map(|found| words(found, self.catalogue)).unwrap_or_default()
    }

    fn sowing(&self, plan: &SowingPlan) -> Option<&Sowing> {
        self.week.and_then(|week| week.sowings.get(plan.sowing))
    }

    fn crop_name(&self, plan: &SowingPlan) -> String {
        let Some(sowing) = self.sowing(plan) else { return String::new() };
        let crop = sowing.crop.map_or("any host", |id| &self.catalogue.crop_of(id).name);
        match &sowing.variety {
            Some(variety) => format!("{crop} '{variety}'"),
            None => crop.to_owned(),
        }
    }

    fn tray_name(&self, plan: &SowingPlan) -> &str {
        self.sowing(plan).map_or("", |sowing| &self.catalogue.tray(sowing.tray).name)
    }

    /// What to do, in a sentence or two.
    fn summary(&self, units: UnitSystem) -> String {
        let totals = &self.plan.totals;
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
        if self.plan.batches.len() > 1 {
            words += &format!(" in {} batches", self.plan.batches.len());
        }
        let loose = totals.ingredients.iter().fold(in_litres(0.0), |sum, (_, loose)| sum + *loose);
        words += &format!(", from {} of loose ingredients", amount(loose, Litres::Needed, units));
        if let Some(cells) = totals.cells.filter(|cells| to_litres(*cells) > 0.0) {
            words += &format!(
                ": the cells' {} x {}",
                amount(cells, Litres::Given, units),
                plain(to_litres(loose) / to_litres(cells), 2)
            );
        }
        words + "."
    }

    /// What to fill: a row for each sowing, then the maps of shared trays.
    fn trays(&self, document: &mut Document) {
        if self.plan.sowings.is_empty() {
            return;
        }
        document.heading("Trays to fill");
        let mut kinds = Table::new(&["tray or pot", ">how many", ">one cell holds"]);
        for (id, count) in &self.plan.trays {
            let tray = self.catalogue.tray(*id);
            let holds = format!(
                "{} mL{}",
                plain(tray.cell.get::<millilitre>(), 1),
                if tray.low_confidence { " ?" } else { "" }
            );
            kinds.row([tray.name.clone(), count.to_string(), holds]);
        }
        document.table(kinds);
        document.table(self.sowings_table().without_empty_columns());
        if !self.plan.maps.is_empty() {
            document.subheading("Shared trays, rows across the short side");
            let mut maps = Table::new(&["tray", ">no.", "rows"]);
            for map in self.plan.maps.iter().take(MAPPED) {
                let rows: Vec<String> = map
                    .portions
                    .iter()
                    .map(|portion| {
                        let crop = self.crop_name(&self.plan.sowings[portion.sowing]);
                        if portion.from == portion.to {
                            format!("{} {crop}", portion.from)
                        } else {
                            format!("{}-{} {crop}", portion.from, portion.to)
                        }
                    })
                    .collect();
                maps.row([self.catalogue.tray(map.tray).name.clone(), map.number.to_string(), rows.join(" | ")]);
            }
            document.table(maps);
            if self.plan.maps.len() > MAPPED {
                document.paragraph(format!("... and {} more shared trays.", self.plan.maps.len() - MAPPED));
            }
        }
    }

    fn sowings_table(&self) -> Table {
        let mut table = Table::new(&["crop", "tray", ">plants", ">cells", ">seeds", ">seed g", ">batch"]);
        let grams = |sowing: &SowingPlan| sowing.seed_grams.map(|grams| plain(grams, if grams < 1.0 { 2 } else { 1 }));
        if self.plan.sowings.len() <= LISTED {
            for sowing in &self.plan.sowings {
                table.row([
                    self.crop_name(sowing),
                    self.tray_name(sowing).to_owned(),
                    sowing.plants.map(|plants| plants.to_string()).unwrap_or_default(),
                    sowing.cells.to_string(),
                    sowing.seeds.map(|seeds| seeds.to_string()).unwrap_or_default(),
                    grams(sowing).unwrap_or_default(),
                    (sowing.batch + 1).to_string(),
                ]);
            }
            return table;
        }
        let mut together: BTreeMap<(String, &str, usize), (u64, u64)> = BTreeMap::new();
        for sowing in &self.plan.sowings {
            let crop = self.sowing(sowing).and_then(|sowing| sowing.crop);
            let crop = crop.map_or_else(String::new, |id| self.catalogue.crop_of(id).name.clone());
            let sums = together.entry((crop, self.tray_name(sowing), sowing.batch)).or_default();
            sums.0 += sowing.cells;
            sums.1 += sowing.seeds.unwrap_or(0);
        }
        for ((crop, tray, batch), (cells, seeds)) in together {
            let none = String::new();
            table.row([
                crop,
                tray.to_owned(),
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
    fn batch(&self, document: &mut Document, index: usize, batch: &Batch, units: UnitSystem) {
        document.heading(format!("Batch {}: {}", index + 1, batch.name));
        let crops: Vec<&str> = batch.crops.iter().map(|id| self.catalogue.crop_of(*id).name.as_str()).collect();
        let mut words = format!("{} of mix", amount(batch.chain.mix, Litres::Needed, units));
        if !crops.is_empty() && crops.len() <= 30 {
            words += &format!(" for {}", and(&crops));
        }
        words += ".";
        if let Some(mesh) = batch.composition.sieve {
            words += &format!(
                " Put the whole batch through a {} mm sieve before the doses go in ({} stays on it).",
                plain(mesh.get::<millimetre>(), 1),
                percent(batch.chain.sieve_loss)
            );
        }
        if let TopLayer::Of(volume, top) = batch.top {
            words += &format!(
                " Of this, put {} through a {} mm sieve for the top {} mm.",
                amount(volume, Litres::Needed, units),
                plain(top.sieve.get::<millimetre>(), 1),
                plain(top.depth.get::<millimetre>(), 1)
            );
        }
        document.paragraph(words);
        self.making(document, index, batch, units);
        document.list(batch.left_out.iter().map(|omission| self.omission(omission)).collect());
    }

    /// The table of what to measure out; the rows sum to the printed total.
    pub(super) fn measures(&self, batch: &Batch, units: UnitSystem) -> Table {
        let mut table = Table::new(&["measure out", ">parts", ">amount", ">or"]);
        let (main, other) = printed_shares(batch, units);
        for (part, (main, other)) in batch.ingredients.iter().zip(main.iter().zip(&other)) {
            table.row([self.name(part.ingredient).to_owned(), part.parts.to_string(), main.clone(), other.clone()]);
        }
        for dose in &batch.doses {
            let (main, other) = dose_words(dose.amount, units);
            table.row([format!("{} ({})", self.name(dose.ingredient), self.rate(dose)), String::new(), main, other]);
        }
        table
    }

    pub(super) fn rate(&self, dose: &DoseAmount) -> String {
        let rate = match dose.rate {
            Rate::Mass(rate) => format!("{} g/L", plain(rate.get::<gram_per_litre>(), 3)),
            Rate::Measure { per_volume, .. } => format!("{} mL/L", plain(per_volume * 1000.0, 2)),
        };
        match dose.basis {
            Basis::Finished => rate,
            Basis::Loose => format!("{rate} of loose ingredients"),
            Basis::Of(base) => format!("{rate} of {}", self.name(base)),
        }
    }

    fn omission(&self, omission: &Omission) -> String {
        let reasons: Vec<String> = omission
            .why
            .iter()
            .map(|(reason, crops)| {
                let names: Vec<&str> = crops.iter().map(|id| self.catalogue.crop_of(*id).name.as_str()).collect();
                let words = why(*reason, self.catalogue);
                // A dose without its base is missing for every crop alike.
                if names.is_empty() || matches!(reason, Why::NoneOf(_)) {
                    words
                } else {
                    format!("{} ({words})", and(&names))
                }
            })
            .collect();
        let saved = match omission.saved {
            Saved::Loose(loose) => format!("; saves {}", amount(loose, Litres::Given, UnitSystem::Metric)),
            Saved::Dose(Dosed::Mass(mass)) => format!("; saves {}", grams(mass)),
            Saved::Dose(Dosed::Measure(volume, _)) => format!("; saves {} mL", plain(volume.get::<millilitre>(), 0)),
            Saved::Nothing => String::new(),
        };
        format!("No {}: {}{saved}.", self.name(omission.ingredient), reasons.join("; "))
    }

    /// The soak in a line or two: the worksheet has a sheet of its own.
    fn soak(&self, document: &mut Document, units: UnitSystem) {
        let Some(soaking) = &self.plan.soak else { return };
        document.heading("Coir");
        let litres = |volume, rounding| amount(volume, rounding, units);
        let mut words = format!(
            "The batches take {} of loose coir: {} x {}",
            litres(soaking.need, Litres::Needed),
            soaking.pieces,
            soaking.soak.product.label
        );
        if soaking.soak.trial {
            words += " to soak half of it";
        }
        words += &format!(", {} left over.", litres(soaking.over, Litres::Given));
        let Some(sheet) = &soaking.sheet else {
            document.paragraph(words + " It is sold as buffered: no calcium bath, only wet it.");
            return;
        };
        let salts: Vec<String> =
            sheet.course.salt_g().iter().map(|(name, grams)| format!("{} g of {name}", plain(*grams, 0))).collect();
        let water = in_litres(sheet.report.water_l);
        words += &format!(" Its calcium baths: {} in {} of water", and(&salts), litres(water, Litres::Needed));
        if let Some(times) = &soaking.times {
            words += &format!(", from {}", times.start.strftime("%a %-d %b, %H:%M"));
        }
        words += &format!(
            "; {} drain off with {} mg/L nitrate nitrogen. `trayful soak WEEK.yaml`, with this week, prints the worksheet.",
            litres(in_litres(sheet.report.waste.drain_l), Litres::Given),
            plain(sheet.report.waste.nitrate_n_mg_l, 0)
        );
        document.paragraph(words);
        let mut items = Vec::new();
        if soaking.assumed {
            items.push(
                "The week says nothing of the coir: a bag that claims nothing is assumed. Say what yours claims: \
                 `soak: {sold_as: washed}` (or buffered, mild, none)."
                    .to_owned(),
            );
        }
        if soaking.soak.trial {
            items.push(
                "Trial: make each batch in two halves and label the trays `buffered` and `straight`; feed and water them \
                 alike, and compare in three weeks."
                    .to_owned(),
            );
        } else {
            items.push(
                "Less work: coir sold as buffered (`sold_as: buffered`) needs no bath, and `trial: half` soaks half of it \
                 for a side-by-side test."
                    .to_owned(),
            );
        }
        document.list(items);
    }

    fn calendar(&self, document: &mut Document) {
        if self.plan.calendar.is_empty() {
            return;
        }
        document.heading("Calendar");
        let mut table = Table::new(&["when", "what", "why"]);
        for entry in &self.plan.calendar {
            let (what, why) = task(&entry.task, self.catalogue);
            let hour = match entry.task {
                Task::Emerge { .. } | Task::Feed { .. } => "%a %-d %b",
                _ => "%a %-d %b %H:%M",
            };
            table.row([entry.at.strftime(hour).to_string(), what, why]);
        }
        document.table(table);
    }

    fn calendar_json(&self) -> Vec<Value> {
        let entries = self.plan.calendar.iter().map(|entry| {
            let (what, why) = task(&entry.task, self.catalogue);
            json!({"at": rfc3339(&entry.at), "do": what, "why": why})
        });
        entries.collect()
    }

    /// Every step from cells to loose ingredients.
    fn chain(&self, document: &mut Document) {
        document.heading("How the volumes come about");
        let allowances = &self.plan.allowances;
        document.paragraph(format!(
            "Settling adds {} to the cells (overfill, drop the tray twice, strike off; never press). Spill: {} of the mix \
             ends up elsewhere. Yield: mix kept after blending, since fine parts fill the gaps between coarse ones; \
             measure yours with a bucket test.",
            percent(allowances.settling),
            percent(allowances.spill)
        ));
        let mut table =
            Table::new(&["batch", ">cells L", ">settled L", ">mix L", ">sieve loss", ">yield", ">loose L", ">factor"]);
        for batch in &self.plan.batches {
            let step = |volume: Option<Volume>| volume.map(|volume| plain(to_litres(volume), 3)).unwrap_or_default();
            table.row([
                batch.name.clone(),
                step(batch.chain.cells),
                step(batch.chain.settled),
                step(Some(batch.chain.mix)),
                if batch.chain.sieve_loss.is_zero() { String::new() } else { percent(batch.chain.sieve_loss) },
                percent(batch.chain.yield_),
                step(Some(batch.chain.loose)),
                batch.chain.factor().map(|factor| plain(factor, 3)).unwrap_or_default(),
            ]);
        }
        document.table(table.without_empty_columns());
    }

    /// Where the figures come from.
    fn sources(&self, document: &mut Document) {
        let cite = |key: Option<&str>, standing: Option<&str>| match key.and_then(citation) {
            Some(source) => format!("{} ({})", source.cite, source.standing),
            None => key.or(standing).unwrap_or("own figure").to_owned(),
        };
        let mut items = Vec::new();
        for (id, _) in &self.plan.trays {
            let tray = self.catalogue.tray(*id);
            let range = tray.range.as_ref().map(|range| format!(", sold as {range}")).unwrap_or_default();
            items.push(format!("{}: {}{range}", tray.name, cite(tray.from.as_deref(), Some(&tray.standing))));
        }
        let mut seen = std::collections::BTreeSet::new();
        for sowing in &self.plan.sowings {
            let Some(id) = self.sowing(sowing).and_then(|sowing| sowing.crop) else { continue };
            if !seen.insert(id) || seen.len() > LISTED {
                continue;
            }
            let crop = self.catalogue.crop_of(id);
            let mut words = format!(
                "{}: {} by {}, {}",
                crop.name,
                crop.mycorrhiza,
                crop.mycorrhiza_from,
                cite(crop.source_of("mycorrhiza"), None)
            );
            if let Some((share, from)) = sowing.germination {
                let from = match from {
                    Germination::Packet => "the packet's",
                    Germination::Own => "your own figure",
                    Germination::LegalMinimum => "the legal minimum, 7 CFR 201.31",
                    Germination::Assumed => "assumed",
                };
                words += &format!("; germination {} ({from})", percent(share));
            }
            items.push(words);
        }
        for batch in &self.plan.batches {
            if let Some(source) = self.week.and_then(|week| week.recipe(batch.recipe).source.as_ref()) {
                items.push(format!("{}: {source}", batch.name));
            }
        }
        if !items.is_empty() {
            document.heading("Sources");
            document.list(items);
        }
    }

    fn sowing_json<'s>(&'s self, plan: &'s SowingPlan) -> SowingJson<'s> {
        let sowing = self.sowing(plan);
        let tray = sowing.map(|sowing| self.catalogue.tray(sowing.tray));
        let crop = sowing.and_then(|sowing| sowing.crop).map(|id| self.catalogue.crop_of(id));
        SowingJson {
            crop: crop.map(|crop| crop.name.as_str()),
            variety: sowing.and_then(|sowing| sowing.variety.as_deref()),
            tray: tray.map(|tray| tray.name.as_str()),
            batch: &self.plan.batches[plan.batch].name,
            plants: plan.plants,
            cells: plan.cells,
            seeds_to_take: plan.seeds,
            seed_g: plan.seed_grams,
            cells_filled: plan.cells_filled,
            cell_ml: tray.map(|tray| tray.cell.get::<millilitre>()),
        }
    }

    fn map_json<'s>(&'s self, map: &'s TrayMap) -> MapJson<'s> {
        let rows = map.portions.iter().map(|portion| RowsJson {
            crop: self.crop_name(&self.plan.sowings[portion.sowing]),
            sowing: portion.sowing,
            from: portion.from,
            to: portion.to,
        });
        MapJson { tray: &self.catalogue.tray(map.tray).name, number: map.number, rows: rows.collect() }
    }

    fn batch_json(&self, batch: &Batch) -> Value {
        let litres = |volume: Option<Volume>| volume.map(to_litres);
        let ingredients: Vec<Value> = batch
            .ingredients
            .iter()
            .map(|part| {
                json!({
                    "name": self.name(part.ingredient),
                    "parts": part.parts.to_string(),
                    "loose_l": to_litres(part.loose),
                })
            })
            .collect();
        let doses: Vec<Value> = batch
            .doses
            .iter()
            .map(|dose| {
                let (grams, ml) = by_weight_and_measure(dose.amount);
                json!({"name": self.name(dose.ingredient), "grams": grams, "ml": ml})
            })
            .collect();
        let left_out: Vec<Value> = batch
            .left_out
            .iter()
            .map(|omission| json!({"name": self.name(omission.ingredient), "why": self.omission(omission)}))
            .collect();
        json!({
            "name": batch.name,
            "recipe": self.week.map_or(&self.plan.title, |week| &week.recipe(batch.recipe).name),
            "crops": batch.crops.iter().map(|id| &self.catalogue.crop_of(*id).name).collect::<Vec<_>>(),
            "sieve_mm": batch.composition.sieve.map(|mesh| mesh.get::<millimetre>()),
            "top_l": match batch.top {
                TopLayer::None => Some(0.0),
                TopLayer::Of(volume, _) => Some(to_litres(volume)),
                TopLayer::Unknown(_) => None,
            },
            "cells_l": litres(batch.chain.cells),
            "settled_l": litres(batch.chain.settled),
            "mix_l": to_litres(batch.chain.mix),
            "loose_l": to_litres(batch.chain.loose),
            "yield": batch.chain.yield_.to_f64(),
            "ingredients": ingredients,
            "doses": doses,
            "left_out": left_out,
        })
    }

    fn totals_json(&self) -> Value {
        let totals = &self.plan.totals;
        json!({
            "trays": totals.trays,
            "pots": totals.pots,
            "cells_l": totals.cells.map(to_litres),
            "mix_l": to_litres(totals.mix),
            "ingredients": totals
                .ingredients
                .iter()
                .map(|(id, loose)| json!({"name": self.name(*id), "loose_l": to_litres(*loose)}))
                .collect::<Vec<_>>(),
            "doses": totals
                .doses
                .iter()
                .map(|dose| {
                    json!({
                        "name": self.name(dose.ingredient),
                        "grams": dose.mass.map(|mass| mass.get::<gram>()),
                        "ml": dose.measure.map(|measure| measure.get::<millilitre>()),
                    })
                })
                .collect::<Vec<_>>(),
        })
    }
}

/// The parts of a batch in tenths of a litre and of a quart, the wanted unit first:
/// the total is rounded up, the rows sum to it.
pub(super) fn printed_shares(batch: &Batch, units: UnitSystem) -> (Vec<String>, Vec<String>) {
    let weights: Vec<f64> = batch.ingredients.iter().map(|part| to_litres(part.loose)).collect();
    printed_parts(batch.chain.loose, &weights, units)
}

/// The same for any total, shared out by weights in litres.
pub(super) fn printed_parts(total: Volume, weights: &[f64], units: UnitSystem) -> (Vec<String>, Vec<String>) {
    // Below a litre a tenth is coarse.
    let decimals = if weights.iter().all(|weight| *weight >= 1.0) { 1 } else { 2 };
    let metric = column(total.get::<litre>(), weights, decimals, "L");
    let us = column(total.get::<us_liquid_quart>(), weights, decimals, "US qt");
    match units {
        UnitSystem::Metric => (metric, us),
        UnitSystem::Us => (us, metric),
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a positive number of tenths, within the bounds of the inputs"
)]
fn column(total: f64, weights: &[f64], decimals: usize, unit: &str) -> Vec<String> {
    let scale = if decimals == 1 { 10.0 } else { 100.0 };
    let exact = total * scale;
    let tenths = if (exact - exact.round()).abs() < 1e-7 { exact.round() } else { exact.ceil() };
    apportion(tenths as u64, weights)
        .into_iter()
        .map(|share| format!("{:.decimals$} {unit}", share as f64 / scale))
        .collect()
}

/// A dose in the wanted units, and in the other ones.
pub(super) fn dose_words(amount: Dosed, units: UnitSystem) -> (String, String) {
    match amount {
        Dosed::Mass(mass) => {
            let (metric, us) = (grams(mass), ounces(mass));
            if units == UnitSystem::Us { (us, metric) } else { (metric, us) }
        }
        Dosed::Measure(volume, spoon) => {
            let measure = match spoon {
                Spoon::Teaspoon => format!("{} tsp", plain(volume.get::<us_teaspoon>(), 1)),
                Spoon::Tablespoon => format!("{} tbsp", plain(volume.get::<us_tablespoon>(), 1)),
                Spoon::Cup => format!("{} cups", plain(volume.get::<us_cup>(), 2)),
                Spoon::Millilitre => format!("{} fl oz", plain(volume.get::<us_fluid_ounce>(), 1)),
            };
            let metric = format!("{} mL", plain(volume.get::<millilitre>(), 0));
            if spoon == Spoon::Millilitre && units == UnitSystem::Metric {
                (metric, measure)
            } else {
                (measure, metric)
            }
        }
    }
}
