//! The mixing day: the kit, what goes in first, the order of work and the shared bases.

use super::load::{drawn, load_picture, load_table, loads_of, of_other, water};
use super::{Filled, PlanReport};
use crate::catalogue::{Handle, Ingredient, Role, Stage};
use crate::plan::{Draw, Loads, MixRef, Mixing, Plan};
use crate::report::document::Document;
use crate::report::words::{and, batches_of, capital, count, fact, given, needed, uncapital};
use crate::units::mass::{kilogram, pound};
use crate::units::{Liquid, Mass, UnitSystem, in_litres};
use std::collections::BTreeSet;

/// The name of a mix in running text.
pub(super) fn mix_name(mix: MixRef, plan: &Plan) -> String {
    match mix {
        MixRef::Base(_) if plan.mixes.mixing.bases.len() == 1 => "the shared base".to_owned(),
        MixRef::Base(index) => format!("the shared base of {}", drawing(index, plan)),
        MixRef::Batch(index) => format!("batch {}", plan.mixes.mixing.number(index)),
    }
}

/// The batches that draw on a base.
fn drawing(base: usize, Plan { mixes, .. }: &Plan) -> String {
    batches_of(&mixes.numbers(|batch| mixes.mixing.batches[batch].base == Some(base)))
}

impl PlanReport<'_> {
    /// The bench: the kit, then the mixes in the order in which they are made.
    pub(super) fn bench(&self, document: &mut Document, filled: &Filled, common: &[String], units: UnitSystem) {
        let mixes = &self.plan.mixes;
        if mixes.batches.is_empty() {
            return;
        }
        document.heading("Bench");
        if mixes.are_mixed() {
            let (kit, order, test) = (self.kit(units), self.order(units), self.hand_test().join(" "));
            document.paragraph(format!("{kit} {order} {test}{}", self.how_to_fill()));
        }
        for mix in &mixes.mixing.order {
            match *mix {
                MixRef::Base(index) => self.base(document, index, units),
                MixRef::Batch(index) => {
                    // What the first half of a trial fills is listed for both.
                    let of = mixes.batches[..=index].iter().rposition(|batch| !batch.is_straight());
                    let filled = of.and_then(|of| filled.get(&of)).map(Vec::as_slice);
                    let filled = filled.unwrap_or_default();
                    self.batch(document, index, filled, units);
                    document.list(self.omissions(index, !filled.is_empty(), common, units));
                }
            }
        }
    }

    /// What to lay out: vessels, sieves, scale, mask and gloves.
    fn kit(&self, units: UnitSystem) -> String {
        let (vessels, batches) = (&self.plan.mixes.mixing.vessels, &self.plan.mixes.batches);
        let tub = vessels.tub.zip(vessels.room()).map(|(tub, room)| {
            let [tub, room] = [tub, room].map(|volume| given(Liquid(volume), units));
            format!("tub of {tub}, filled to {room}")
        });
        let scoop = self.week.scoop.as_ref();
        let scoop = scoop.map(|scoop| format!("scoop of {}, struck off level, its quarters by eye", scoop.written));
        let tops = batches.iter().flat_map(|batch| &batch.tops).map(|layer| layer.top.sieve);
        let meshes = batches.iter().filter_map(|batch| batch.composition.sieve).chain(tops);
        let meshes: BTreeSet<String> = meshes.map(|mesh| fact(mesh, units)).collect();
        let sieves = (!meshes.is_empty()).then(|| format!("{} sieve", and(&meshes)));
        let is_weighed = self.plan.mixes.totals.doses.iter().any(|(_, amount)| amount.grams().is_some());
        let scale = is_weighed.then(|| "scale".to_owned());
        let measures = tub.into_iter().chain(scoop).chain(self.finer_scoops());
        let kit: Vec<String> = measures.chain(sieves).chain(scale).chain(self.for_draws()).collect();
        let worn = "Mask and gloves on; damp what raises dust, pour low.";
        let kit = if kit.is_empty() { String::new() } else { format!("Kit: {}. ", kit.join("; ")) };
        format!("{kit}{worn}")
    }

    /// The scoops besides the one at hand.
    fn finer_scoops(&self) -> BTreeSet<String> {
        let mixing = &self.plan.mixes.mixing;
        let loads = self.all_loads().map(|(_, loads)| loads);
        let measured = loads.filter(|loads| loads.load.measures.iter().any(|measure| measure.quarters.is_some()));
        let draws = mixing.bases.iter().flat_map(|base| base.draws.iter().filter(|draw| !base.is_last(draw.batch)));
        let draws = draws.filter(|draw| draw.amount.quarters.is_some()).map(|draw| draw.amount.scoop);
        let all = measured.map(|loads| loads.load.scoop).chain(draws);
        let all = all.map(of_other).filter(|other| !other.is_empty());
        all.map(|other| format!("scoop{other}")).collect()
    }

    /// What takes what is drawn off the bases, and what is tipped out.
    fn for_draws(&self) -> impl Iterator<Item = String> {
        let mixing = &self.plan.mixes.mixing;
        let draws: usize = mixing.bases.iter().map(|base| base.draws.len().saturating_sub(1)).sum();
        let buckets = (draws > 0).then(|| count(draws as u64, "bucket to draw into", "buckets to draw into"));
        let is_tipped = (0..mixing.bases.len()).any(|base| mixing.tips_rest_out(base))
            || mixing.bases.iter().any(|base| mixing.tips_together(base));
        buckets.into_iter().chain(is_tipped.then(|| "clean sheet".to_owned()))
    }

    /// The same in a sentence.
    fn order(&self, units: UnitSystem) -> String {
        let steps = self.order_in_a_load(units);
        let bare = |step: &String| {
            let rest = step.strip_prefix("First ").or_else(|| step.strip_prefix("Then ")).unwrap_or(step);
            uncapital(rest.trim_end_matches('.'))
        };
        format!("In a load, of what its step lists: {}.", steps.iter().map(bare).collect::<Vec<_>>().join("; "))
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
        steps
    }

    /// Whether it is moist enough, for trays and for blocks.
    pub(super) fn hand_test(&self) -> Vec<String> {
        if !self.plan.mixes.are_mixed() {
            return Vec::new();
        }
        let is_pressed = self.plan.mixes.layout.trays.iter().any(|(tray, _)| tray.compression.is_some());
        let blocks = "Soil blocks alone are wetter: about 1 part of water to 3 of mix, like soft putty, so that a little \
                      water shows when they are pressed (common practice).";
        let trays = "Hand test: a squeezed handful holds as a ball, gives no water, and breaks apart at a finger; else \
                     sprinkle, press or spread it.";
        [trays].into_iter().chain(is_pressed.then_some(blocks)).map(str::to_owned).collect()
    }

    /// How trays are filled.
    fn how_to_fill(&self) -> String {
        let mixes = &self.plan.mixes;
        if mixes.layout.trays.iter().all(|(tray, _)| tray.compression.is_some()) {
            return String::new();
        }
        let room = if mixes.covering.is_empty() { "" } else { "; leave room for the covering" };
        format!(" To fill: heap, drop the tray twice, strike off, never press{room}.")
    }

    /// How the coir comes to the tub.
    fn how_coir_comes(&self, units: UnitSystem) -> String {
        let is_bathed = self.plan.bath().is_some();
        let at_hand = self.plan.purchases.lines.iter().any(|line| line.ingredient.is(Role::SoakedCoir));
        // Beside soaked coir at hand, the rest of it gets no bath.
        let rest = self.plan.purchases.lines.iter().any(|line| line.ingredient.is(Role::Coir));
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
        match (is_bathed || at_hand, is_tried) {
            (true, false) if !is_bathed && rest => {
                format!("what is at hand soaked and drained, the rest wetted {wetted}, not to dripping")
            }
            (true, true) => {
                format!("soaked and drained for {}, only wetted {wetted} for `straight`", self.soaked_for())
            }
            (true, false) => "soaked and drained".to_owned(),
            (false, _) => format!("wetted {wetted}, not to dripping"),
        }
    }

    /// What to mix and draw in which order.
    pub(super) fn order_of_work(&self, units: UnitSystem) -> Vec<String> {
        let mixing = &self.plan.mixes.mixing;
        let loads = |loads: &Loads| count(loads.count, "load", "loads");
        let step = |mix: &MixRef| match *mix {
            MixRef::Base(index) => {
                let base = &mixing.bases[index];
                let draws = base.draws.iter().map(|draw| draw_words(draw, index, mixing, units));
                let (recipe, loads) = (self.recipe_of(base.recipe), loads(&base.loads));
                Some(format!("Mix the shared base of {recipe}, {loads}, and draw off {}.", and(draws)))
            }
            MixRef::Batch(index) => mixing.batches[index].loads.as_ref().map(|found| {
                let number = mixing.number(index);
                let more = if found.count > 1 { format!(", {}", loads(found)) } else { String::new() };
                match mixing.batches[index].base {
                    None => format!("Mix batch {number}: {}.", loads(found)),
                    Some(_) => format!("Finish batch {number} from its share of the base{more}."),
                }
            }),
        };
        mixing.order.iter().filter_map(step).collect()
    }

    fn base(&self, document: &mut Document, index: usize, units: UnitSystem) {
        let mixing = &self.plan.mixes.mixing;
        let base = &mixing.bases[index];
        let recipes = self.plan.mixes.batches.iter().any(|batch| batch.recipe != base.recipe);
        let of = if recipes { format!(" of {}", self.recipe_of(base.recipe)) } else { String::new() };
        let tipped = match base.loads.count {
            1 => "",
            _ if mixing.tips_together(base) => ", tipped together on a clean sheet",
            _ => "; all but the rest is drawn off the first",
        };
        let loads = uncapital(&loads_of(&base.loads, "", units));
        document.step(format!("Shared base{of} for {}: {loads}{tipped}", drawing(index, self.plan)));
        document.picture(|| load_picture(&base.loads, None, units));
        document.table(load_table(&base.loads, None, None, units));
        document.paragraph((water(&base.loads, units) + &self.limed(MixRef::Base(index), units)).trim_start());
        let draws = base.draws.iter().map(|draw| draw_words(draw, index, mixing, units));
        let (made, draws) = (given(base.made(), units), and(draws));
        document.paragraph(format!("Blended, it comes to about {made}. Draw off {draws}."));
    }
}

/// `15 1/2 scoops (31 L) for batch 1 (ready)`.
fn draw_words(draw: &Draw, base: usize, mixing: &Mixing, units: UnitSystem) -> String {
    let much = match (mixing.bases[base].is_last(draw.batch), mixing.tips_rest_out(base)) {
        (true, true) => "the rest, tipped out on a clean sheet,".to_owned(),
        (true, false) => "the rest".to_owned(),
        (false, _) => drawn(draw.amount, units),
    };
    let ready = if mixing.batches[draw.batch].loads.is_none() { " (ready)" } else { "" };
    format!("{much} for batch {}{ready}", mixing.number(draw.batch))
}
