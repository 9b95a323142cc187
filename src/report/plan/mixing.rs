//! The mixing day: vessels, what goes in first, the order of work and the shared bases.

use super::PlanReport;
use super::load::{drawn, load_table, loads_of, of_other, water};
use crate::catalogue::{Handle, Ingredient, Role, Stage};
use crate::plan::{Base, Draw, FREE_SHARE, Loads, MixRef, Mixing, Plan, Work};
use crate::report::document::{Document, Table};
use crate::report::words::{and, capital, count, fact, given, needed, whole_percent};
use crate::units::mass::{kilogram, pound};
use crate::units::{Liquid, Mass, UnitSystem, in_litres, plain, quarters};

/// The name of a mix in running text.
pub(super) fn mix_name(mix: MixRef, plan: &Plan) -> String {
    match mix {
        MixRef::Base(index) => format!("the shared base of batches {}", drawing(&plan.mixes.mixing.bases[index])),
        MixRef::Batch(index) => format!("batch {}", index + 1),
    }
}

/// The numbers of the batches that draw on a base.
fn drawing(base: &Base) -> String {
    and(base.draws.iter().map(|draw| (draw.batch + 1).to_string()))
}

impl PlanReport<'_> {
    /// How to mix: vessels, order, hand test, the order of work, the shared bases, and what
    /// covers the seed.
    pub(super) fn mixing(&self, document: &mut Document, units: UnitSystem) {
        let mixing = &self.plan.mixes.mixing;
        let is_mixed = self.plan.mixes.are_mixed();
        if !is_mixed && self.plan.mixes.covering.is_empty() {
            return;
        }
        document.heading("Mixing");
        if is_mixed {
            document.paragraph(self.vessels(units));
            document.paragraph("Into a load goes what its own table lists and nothing else, in this order:");
            document.list(self.order_in_a_load(units));
        }
        if mixing.batches.len() > 1 && is_mixed {
            document.subheading("One after the other, what holds an inoculant last");
            document.list(self.order_of_work(units));
        }
        for base in &mixing.bases {
            self.base(document, base, units);
        }
        self.covering(document, units);
    }

    fn vessels(&self, units: UnitSystem) -> String {
        let vessels = &self.plan.mixes.mixing.vessels;
        let mut words = Vec::new();
        if let (Some(tub), Some(room)) = (vessels.tub, vessels.room()) {
            let (tub, room, free) = (given(Liquid(tub), units), given(Liquid(room), units), whole_percent(FREE_SHARE));
            words.push(format!(
                "The tub of {tub} takes {room} of loose ingredients at once: {free} of it stays free, to turn them."
            ));
        }
        if let Some(scoop) = vessels.scoop {
            // To the hundredth: every measure of the sheet counts on it.
            let scoop = fact(scoop, units);
            let [within, least, most] =
                [vessels.tolerance, 0.5 - vessels.tolerance / 2.0, 0.5 + vessels.tolerance / 2.0]
                    .map(|share| plain(share * 100.0, 1));
            words.push(format!(
                "Strike the scoop of {scoop} off level; tell its quarters by eye. The scoops make the least that is \
                 not short, and keep each share within {within} % of the recipe's (of 50 %: {least} to {most}); struck off \
                 by hand, a scoop is hardly truer."
            ));
        }
        if let Some((measured, more)) = self.plan.mixes.measured_beyond_need() {
            let (measured, more) = (needed(measured, units), needed(more, units));
            words.push(format!(
                "So measured, all of it takes {measured} of loose ingredients, {more} more than calculated: have that much \
                 more at hand."
            ));
        }
        words.join(" ")
    }

    /// What goes in first and what last, for the ingredients of this plan.
    pub(super) fn order_in_a_load(&self, units: UnitSystem) -> Vec<String> {
        if !self.plan.mixes.are_mixed() {
            return Vec::new();
        }
        let totals = &self.plan.mixes.totals;
        let parts = totals.ingredients.iter().map(|(id, _)| (id.stage(false), id));
        let doses = totals.doses.iter().map(|(id, _)| (id.stage(true), id));
        let mut all: Vec<(Stage, &Handle<Ingredient>)> = parts.chain(doses).collect();
        // A dose by weight and by measure is one ingredient.
        all.dedup();
        let named = |wanted: Stage, is: fn(&Handle<Ingredient>) -> bool| {
            let names = and(all.iter().filter(|(stage, id)| *stage == wanted && is(id)).map(|(_, id)| id));
            (!names.is_empty()).then_some(names)
        };
        let any = |stage| named(stage, |_| true);
        let mut steps = Vec::new();
        let wet = self.how_coir_comes(units);
        for (names, how) in [
            (named(Stage::Wetted, |id| id.comes_wet()), &*wet),
            (
                named(Stage::Wetted, |id| !id.comes_wet()),
                "wetted with most of the water that the load takes, warm and hours ahead: what is dry now sheds water later",
            ),
        ] {
            steps.extend(names.map(|names| format!("First {names}, {how}.")));
        }
        let mut then = if steps.is_empty() { "First" } else { "Then" };
        steps.extend(any(Stage::Strewn).map(|names| format!("Strew {names} over it and turn until none is seen.")));
        for (stage, how) in [
            (Stage::Body, "lumps broken up"),
            (Stage::Damped, "damped in the bag to lay the dust"),
            (Stage::Gently, "turned in gently: crushed, it loses air"),
        ] {
            if let Some(names) = any(stage) {
                steps.push(format!("{then} {names}, {how}."));
                then = "Then";
            }
        }
        let several = self.plan.mixes.batches.len() > 1;
        let others = if several { ", after every batch without it has been drawn off" } else { "" };
        steps.extend(any(Stage::AtTheEnd).map(|names| format!("{} at the very end{others}.", capital(&names))));
        steps.push(
            "Hand test: squeeze a handful. It must hold as a ball and give no water; opened with a finger, it breaks \
             apart. Too dry: sprinkle water. A drop or two is too wet for trays: press it, or spread it out a while."
                .to_owned(),
        );
        if self.plan.mixes.layout.trays.iter().any(|(tray, _)| tray.compression.is_some()) {
            let blocks = "Soil blocks alone are wetter: about 1 part of water to 3 of mix, like soft putty, so that a \
                          little water shows when they are pressed (common practice).";
            steps.push(blocks.to_owned());
        }
        steps
    }

    /// How the coir comes to the tub.
    fn how_coir_comes(&self, units: UnitSystem) -> String {
        let is_soaked = self.plan.soak.as_ref().is_some_and(|soaking| soaking.sheet.is_some())
            || self.plan.purchases.lines.iter().any(|line| line.ingredient.is(Role::SoakedCoir));
        let is_tried = self.plan.mixes.batches.iter().any(|batch| batch.half.is_some());
        let wetted = self.plan.mixes.mixing.wetted.map_or_else(
            || "by its label".to_owned(),
            |held| {
                let (kg, each) = match units {
                    UnitSystem::Metric => (1.0, "kilogram"),
                    UnitSystem::Us => (Mass::new::<pound>(1.0).get::<kilogram>(), "pound"),
                };
                let litres = in_litres(held.wetting_l_per_sold_kg() * kg);
                format!("with {} for each {each} as sold", needed(Liquid(litres), units))
            },
        );
        match (is_soaked, is_tried) {
            (true, true) => format!("soaked and drained for `buffered`, only wetted {wetted} for `straight`"),
            (true, false) => "soaked and drained".to_owned(),
            (false, _) => format!("wetted {wetted}, not to dripping"),
        }
    }

    /// What to mix and draw in which order.
    pub(super) fn order_of_work(&self, units: UnitSystem) -> Vec<String> {
        let mixing = &self.plan.mixes.mixing;
        let loads = |loads: &Loads| count(loads.count, "load", "loads");
        let step = |(place, work): (usize, &Work)| match *work {
            Work::MixBase(index) => {
                let base = &mixing.bases[index];
                let tipped = mixing.tips_rest_out(place);
                let draws = base.draws.iter().map(|draw| draw_words(draw, base, tipped, mixing, units));
                let (recipe, loads) = (self.recipe_of(base.recipe), loads(&base.loads));
                Some(format!("Mix the shared base of {recipe}, {loads}, and draw off {}.", and(draws)))
            }
            Work::Finish(index) => mixing.batches[index].loads.as_ref().map(|found| {
                let loads = if found.count > 1 { format!(", {}", loads(found)) } else { String::new() };
                format!("Finish batch {} from its share of the base{loads}.", index + 1)
            }),
            Work::Mix(index) => {
                mixing.batches[index].loads.as_ref().map(|found| format!("Mix batch {}: {}.", index + 1, loads(found)))
            }
        };
        mixing.order.iter().enumerate().filter_map(step).collect()
    }

    fn base(&self, document: &mut Document, base: &Base, units: UnitSystem) {
        let recipe = self.recipe_of(base.recipe);
        document.subheading(format!("Shared base of {recipe}, for batches {}", drawing(base)));
        let tipped = match base.loads.count {
            1 => "",
            _ if self.plan.mixes.mixing.tips_together(base) => ", tipped together on a clean sheet",
            _ => "; all but the rest is drawn off the first",
        };
        document.paragraph(format!("{}{tipped}.", loads_of(&base.loads, "", units)));
        document.table(load_table(&base.loads, None, &self.plan.mixes.mixing.vessels, units));
        document.paragraph(water(&base.loads, units));
        let row = |draw: &Draw| {
            let mixing = &self.plan.mixes.mixing;
            let other = of_other(draw.amount.scoop, &mixing.vessels, units);
            let scoops = || draw.amount.quarters.map(|count| quarters(count) + &other).unwrap_or_default();
            let ready = mixing.batches[draw.batch].loads.is_none();
            [
                format!("batch {}", draw.batch + 1),
                if base.is_last(draw.batch) { "the rest".to_owned() } else { scoops() },
                if base.is_last(draw.batch) { given } else { needed }(draw.amount.mixed, units),
                format!("{:.1} %", draw.share * 100.0),
                if ready { "ready" } else { "to be finished" }.to_owned(),
            ]
        };
        let columns = ["draw off, in this order", ">scoops", ">about", ">of the heap", "then"];
        document.table(Table::of(columns, base.draws.iter().map(row)));
        document.paragraph(format!(
            "Blended, the heap comes to about {}. If it comes to less or more, keep to the shares.",
            given(base.made(), units)
        ));
    }
}

/// `15 1/2 scoops (31 L) for batch 1 (ready)`.
fn draw_words(draw: &Draw, base: &Base, tipped: bool, mixing: &Mixing, units: UnitSystem) -> String {
    let much = match (base.is_last(draw.batch), tipped) {
        (true, true) => "the rest, tipped out on a clean sheet,".to_owned(),
        (true, false) => "the rest".to_owned(),
        (false, _) => drawn(draw.amount, &mixing.vessels, units),
    };
    let ready = if mixing.batches[draw.batch].loads.is_none() { " (ready)" } else { "" };
    format!("{much} for batch {}{ready}", draw.batch + 1)
}
