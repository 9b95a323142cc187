//! The plan for scripts and for a spreadsheet: names and numbers at full precision.

use super::PlanReport;
use super::calendar::EntryView;
use super::remarks::omission;
use crate::catalogue::{Crop, Handle, Ingredient, Tray};
use crate::plan::{
    Base, Batch, BatchMixing, Buy, Covering, DoseAmount, Draw, Loads, Mixing, Omission, PartAmount, SowingPlan,
    TOLERANCE, Totals, TrayMap, Volumes,
};
use crate::report::buying;
use crate::report::remark::Remark;
use crate::report::soak::{SoakReport, rfc3339};
use crate::stock::money;
use crate::units::length::millimetre;
use crate::units::{Quantity, Tally, UnitSystem, Volume, serial, to_litres};
use crate::week::Moment;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeSet;

/// The plan for scripts.
#[derive(Serialize)]
pub(super) struct PlanView<'p> {
    format: &'static str,
    title: &'p str,
    mix_on: Option<String>,
    sowings: Vec<SowingView<'p>>,
    trays: Vec<TrayView<'p>>,
    shared_trays: Vec<MapView<'p>>,
    batches: Vec<BatchView<'p>>,
    covering: &'p [Covering],
    totals: &'p Totals,
    mixing: MixingView<'p>,
    purchases: Value,
    soak: Option<Value>,
    calendar: Vec<EntryView>,
    cautions: Vec<Remark>,
    notes: Vec<Remark>,
}

#[derive(Serialize)]
struct SowingView<'p> {
    crop: Option<&'p Handle<Crop>>,
    variety: Option<&'p str>,
    tray: &'p Handle<Tray>,
    batch: &'p str,
    plants: Option<u64>,
    cells: u64,
    seeds_to_take: Option<u64>,
    seed_g: Option<f64>,
    cells_filled: u64,
    cell_ml: f64,
}

#[derive(Serialize)]
struct TrayView<'p> {
    tray: &'p Handle<Tray>,
    count: u64,
}

#[derive(Serialize)]
struct MapView<'p> {
    tray: &'p Handle<Tray>,
    number: u64,
    rows: Vec<RowsView>,
}

/// Rows of a shared tray, the first and the last.
#[derive(Serialize)]
struct RowsView {
    crop: String,
    sowing: usize,
    from: u64,
    to: u64,
}

#[derive(Serialize)]
struct BatchView<'p> {
    name: &'p str,
    recipe: &'p str,
    crops: &'p BTreeSet<Handle<Crop>>,
    sieve_mm: Option<f64>,
    top_l: Option<Volume>,
    #[serde(flatten)]
    volumes: Volumes,
    ingredients: &'p [PartAmount],
    doses: &'p [DoseAmount],
    left_out: Vec<LeftOutView<'p>>,
}

/// What a batch goes without; the code is that of the first reason.
#[derive(Serialize)]
struct LeftOutView<'p> {
    name: &'p Handle<Ingredient>,
    why: String,
    #[serde(flatten)]
    remark: Remark,
}

#[derive(Serialize)]
struct MixingView<'p> {
    tub_l: Option<Volume>,
    tub_filled_to_l: Option<Volume>,
    scoop_l: Option<Volume>,
    tolerance: f64,
    order: Vec<String>,
    work: Vec<String>,
    shared_bases: Vec<BaseView<'p>>,
    batches: Vec<BatchMixingView<'p>>,
    #[serde(serialize_with = "serial::loose")]
    measured: Tally<Handle<Ingredient>, Volume>,
}

#[derive(Serialize)]
struct BaseView<'p> {
    recipe: &'p str,
    #[serde(flatten)]
    base: &'p Base,
    made_l: Volume,
    draws: Vec<DrawView<'p>>,
}

#[derive(Serialize)]
struct DrawView<'p> {
    batch: &'p str,
    #[serde(flatten)]
    draw: &'p Draw,
}

#[derive(Serialize)]
struct BatchMixingView<'p> {
    name: &'p str,
    #[serde(flatten)]
    mixing: &'p BatchMixing,
}

/// A row of the spreadsheet.
#[derive(Default, Serialize)]
pub(super) struct Row {
    what: &'static str,
    name: String,
    batch: String,
    tray: String,
    count: Option<u64>,
    cells: Option<u64>,
    seeds: Option<u64>,
    parts: String,
    litres: Option<f64>,
    grams: Option<f64>,
    millilitres: Option<f64>,
    package: String,
    cost: String,
}

impl<'p> PlanReport<'p> {
    pub(super) fn view(&self) -> PlanView<'p> {
        let plan = self.plan;
        let mixes = &plan.mixes;
        let units = UnitSystem::Metric;
        PlanView {
            format: "trayful-plan/1",
            title: &plan.title,
            mix_on: plan.mix_on.as_ref().and_then(Moment::zoned).map(|at| rfc3339(&at)),
            sowings: mixes.sowings.iter().map(|sowing| self.sowing_view(sowing)).collect(),
            trays: mixes.trays.iter().map(|(tray, count)| TrayView { tray, count: *count }).collect(),
            shared_trays: mixes.maps.iter().map(|map| self.map_view(map)).collect(),
            batches: mixes.batches.iter().map(|batch| self.batch_view(batch)).collect(),
            covering: &mixes.covering,
            totals: &mixes.totals,
            mixing: self.mixing_view(&mixes.mixing),
            purchases: buying::purchases_json(&plan.purchases),
            soak: plan.soak.as_ref().map(|soaking| SoakReport::of(soaking).value()),
            calendar: self.calendar_view(),
            cautions: self.warnings(units).into_iter().chain(self.cautions()).collect(),
            notes: self.notes(units).into_iter().chain(buying::notes(&plan.purchases)).collect(),
        }
    }

    fn sowing_view(&self, sowing: &'p SowingPlan) -> SowingView<'p> {
        SowingView {
            crop: sowing.crop.as_ref(),
            variety: sowing.variety.as_deref(),
            tray: &sowing.tray,
            batch: self.batch_name(sowing.batch),
            plants: sowing.cells.plants,
            cells: sowing.cells.cells,
            seeds_to_take: sowing.cells.seeds,
            seed_g: sowing.seed_grams(),
            cells_filled: sowing.cells_filled,
            cell_ml: to_litres(sowing.tray.cell) * 1000.0,
        }
    }

    fn map_view(&self, map: &'p TrayMap) -> MapView<'p> {
        let rows = map.portions.iter().map(|portion| RowsView {
            crop: self.plan.mixes.sowings[portion.sowing].name(),
            sowing: portion.sowing,
            from: portion.from,
            to: portion.to,
        });
        MapView { tray: &map.tray, number: map.number, rows: rows.collect() }
    }

    fn batch_view(&self, batch: &'p Batch) -> BatchView<'p> {
        BatchView {
            name: &batch.name,
            recipe: &self.week.recipe(batch.recipe).name,
            crops: &batch.crops,
            sieve_mm: batch.composition.sieve.map(|mesh| mesh.get::<millimetre>()),
            top_l: batch.sieved_for_tops(),
            volumes: batch.volumes,
            ingredients: &batch.ingredients,
            doses: &batch.doses,
            left_out: batch.left_out.iter().map(LeftOutView::of).collect(),
        }
    }

    fn mixing_view(&self, mixing: &'p Mixing) -> MixingView<'p> {
        let draws =
            |base: &'p Base| base.draws.iter().map(|draw| DrawView { batch: self.batch_name(draw.batch), draw });
        let bases = mixing.bases.iter().map(|base| BaseView {
            recipe: &self.week.recipe(base.recipe).name,
            base,
            made_l: base.made(),
            draws: draws(base).collect(),
        });
        let batches = mixing.batches.iter().zip(&self.plan.mixes.batches);
        MixingView {
            tub_l: mixing.vessels.tub,
            tub_filled_to_l: mixing.vessels.room(),
            scoop_l: mixing.vessels.scoop,
            tolerance: TOLERANCE,
            order: self.order_in_a_load(),
            work: self.order_of_work(UnitSystem::Metric),
            shared_bases: bases.collect(),
            batches: batches.map(|(mixing, batch)| BatchMixingView { name: &batch.name, mixing }).collect(),
            measured: mixing.measured_loose(),
        }
    }

    fn batch_name(&self, index: usize) -> &'p str {
        &self.plan.mixes.batches[index].name
    }

    /// The rows of the spreadsheet.
    pub(super) fn rows(&self) -> Vec<Row> {
        let mixes = &self.plan.mixes;
        let sowings = mixes.sowings.iter().map(|sowing| Row {
            batch: self.batch_name(sowing.batch).to_owned(),
            tray: sowing.tray.name.clone(),
            cells: Some(sowing.cells.cells),
            seeds: sowing.cells.seeds,
            ..Row::new("sowing", &sowing.name())
        });
        let trays = mixes.trays.iter().map(|(tray, count)| Row {
            tray: tray.name.clone(),
            count: Some(*count),
            ..Row::new(if tray.pot { "pot" } else { "tray" }, "")
        });
        let bases = mixes.mixing.bases.iter();
        let bases =
            bases.flat_map(|base| load_rows(&format!("shared base of {}", self.recipe_of(base.recipe)), &base.loads));
        let made = mixes.mixing.batches.iter().zip(&mixes.batches);
        let made = made.filter_map(|(made, batch)| Some((&batch.name, made.loads.as_ref()?)));
        let covering = mixes.covering.iter().map(|covering| Row {
            tray: covering.tray.name.clone(),
            litres: Some(to_litres(covering.loose)),
            ..Row::new("covering", &covering.ingredient.name)
        });
        sowings
            .chain(trays)
            .chain(mixes.batches.iter().flat_map(batch_rows))
            .chain(bases)
            .chain(made.flat_map(|(name, loads)| load_rows(name, loads)))
            .chain(covering)
            .chain(self.purchase_rows())
            .collect()
    }

    fn purchase_rows(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for line in &self.plan.purchases.lines {
            let row = |amount: Quantity| Row {
                litres: amount.litres(),
                grams: amount.grams(),
                ..Row::new("buy", &line.ingredient.name)
            };
            rows.extend(line.buy.picks().iter().map(|pick| Row {
                count: Some(pick.count),
                package: pick.package.label.clone(),
                cost: pick.cost().map(money).unwrap_or_default(),
                ..row(pick.gives())
            }));
            if matches!(line.buy, Buy::Loose { .. }) {
                rows.push(row(line.lacking));
            }
        }
        rows
    }
}

impl<'p> LeftOutView<'p> {
    fn of(left_out: &'p Omission) -> Self {
        let why = omission(left_out, UnitSystem::Metric);
        let code = left_out.why.keys().next().map_or("left-out", |why| why.code());
        Self { name: &left_out.ingredient, why: why.clone(), remark: Remark::new(code, why) }
    }
}

impl Row {
    fn new(what: &'static str, name: &str) -> Self {
        Self { what, name: name.to_owned(), ..Self::default() }
    }
}

fn batch_rows(batch: &Batch) -> impl Iterator<Item = Row> {
    let row = |what, name| Row { batch: batch.name.clone(), ..Row::new(what, name) };
    let parts = batch.ingredients.iter().map(move |part| Row {
        parts: part.parts.to_string(),
        litres: Some(to_litres(part.loose)),
        ..row("ingredient", &part.ingredient.name)
    });
    let doses = batch.doses.iter().map(move |dose| Row {
        grams: dose.amount.grams(),
        millilitres: dose.amount.millilitres(),
        ..row("dose", &dose.ingredient.name)
    });
    let mix = Row { litres: Some(to_litres(batch.volumes.mix)), ..row("mix", "") };
    parts.chain(doses).chain([mix])
}

fn load_rows(name: &str, loads: &Loads) -> Vec<Row> {
    let measures = loads.load.measures.iter().map(|measure| Row {
        batch: name.to_owned(),
        count: Some(loads.count),
        litres: Some(to_litres(measure.loose)),
        ..Row::new("load", &measure.ingredient.name)
    });
    measures.collect()
}
