//! The mixing day: vessels, what goes in first, the order of work and the shared bases.

use super::PlanReport;
use super::batch::{load_table, water};
use crate::catalogue::{Handle, Ingredient, Stage};
use crate::plan::{Base, Draw, FREE_SHARE, FromBase, Loads, MixRef, Mixing, Plan, TOLERANCE, Work};
use crate::report::document::{Document, Table};
use crate::report::words::{and, capital, count};
use crate::units::volume::{litre, us_liquid_quart};
use crate::units::{Litres, UnitSystem, amount, plain, quarters};

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

fn scoops(count: u64) -> String {
    format!("{} {}", quarters(count), if count <= 4 { "scoop" } else { "scoops" })
}

/// `15 1/2 scoops (31 L)`.
pub(super) fn drawn(share: FromBase, units: UnitSystem) -> String {
    let litres = amount(share.mixed, Litres::Needed, units);
    share.quarters.map_or(litres.clone(), |quarters| format!("{} ({litres})", scoops(quarters)))
}

impl PlanReport<'_> {
    /// How to mix: vessels, order, hand test, the order of work, the shared bases, and what
    /// covers the seed.
    pub(super) fn mixing(&self, document: &mut Document, units: UnitSystem) {
        let mixing = &self.plan.mixes.mixing;
        document.heading("Mixing");
        document.paragraph(self.vessels(units));
        document.paragraph("Into a load goes what its own table lists and nothing else, in this order:");
        document.list(self.order_in_a_load());
        if mixing.batches.len() > 1 {
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
            words.push(format!(
                "The tub of {} takes {} of loose ingredients at once: {} % of it stays free, to turn them.",
                amount(tub, Litres::Given, units),
                amount(room, Litres::Given, units),
                plain(FREE_SHARE * 100.0, 0)
            ));
        }
        if let Some(scoop) = vessels.scoop {
            // To the hundredth: every measure of the sheet counts on it.
            let scoop = match units {
                UnitSystem::Metric => format!("{} L", plain(scoop.get::<litre>(), 2)),
                UnitSystem::Us => format!("{} US qt", plain(scoop.get::<us_liquid_quart>(), 2)),
            };
            words.push(format!(
                "Strike the scoop of {scoop} off level; tell its quarters by eye. The scoops make the least that is not \
                 short, and keep each share within {} % of the recipe's (of 50 %: 47.5 to 52.5); struck off by hand, a \
                 scoop is hardly truer.",
                plain(TOLERANCE * 100.0, 0)
            ));
        }
        if let Some((measured, more)) = self.plan.mixes.measured_beyond_need() {
            words.push(format!(
                "So measured, all of it takes {} of loose ingredients, {} more than reckoned: have that much more at hand.",
                amount(measured, Litres::Needed, units),
                amount(more, Litres::Needed, units)
            ));
        }
        words.join(" ")
    }

    /// What goes in first and what last, for the ingredients of this plan.
    pub(super) fn order_in_a_load(&self) -> Vec<String> {
        let totals = &self.plan.mixes.totals;
        let parts = totals.ingredients.iter().map(|(id, _)| (id.stage(false), id));
        let doses = totals.doses.iter().map(|(id, _)| (id.stage(true), id));
        let all: Vec<(Stage, &Handle<Ingredient>)> = parts.chain(doses).collect();
        let at = |wanted: Stage| all.iter().filter(move |(stage, _)| *stage == wanted).map(|(_, id)| *id);
        let named = |ids: Vec<&Handle<Ingredient>>| (!ids.is_empty()).then(|| and(ids));
        let (wet, dry) = at(Stage::Wetted).partition(|id| id.comes_wet());
        let mut steps = Vec::new();
        steps.extend(named(wet).map(|names| format!("First {names}, soaked and drained.")));
        steps.extend(named(dry).map(|names| {
            format!(
                "First {names}, wetted with most of the water that the load takes, warm and hours ahead: what is dry \
                 now sheds water later."
            )
        }));
        let mut then = if steps.is_empty() { "First" } else { "Then" };
        let strewn = named(at(Stage::Strewn).collect());
        steps.extend(strewn.map(|names| format!("Strew {names} over it and turn until none is seen.")));
        for (stage, how) in [
            (Stage::Body, "lumps broken up"),
            (Stage::Damped, "damped in the bag to lay the dust"),
            (Stage::Gently, "turned in gently: crushed, it loses air"),
        ] {
            if let Some(names) = named(at(stage).collect()) {
                steps.push(format!("{then} {names}, {how}."));
                then = "Then";
            }
        }
        let several = self.plan.mixes.batches.len() > 1;
        let others = if several { ", after every batch without it has been drawn off" } else { "" };
        let last = named(at(Stage::AtTheEnd).collect());
        steps.extend(last.map(|names| format!("{} at the very end{others}.", capital(&names))));
        steps.push(
            "Hand test: squeeze a handful. It must hold together and give a drop or two; poked, it breaks apart. Too \
             dry: sprinkle water. Too wet: press it, or spread it out a while (common practice)."
                .to_owned(),
        );
        steps
    }

    /// What to mix and draw in which order.
    pub(super) fn order_of_work(&self, units: UnitSystem) -> Vec<String> {
        let mixing = &self.plan.mixes.mixing;
        let loads = |loads: &Loads| count(loads.count, "load", "loads");
        let step = |work: &Work| match *work {
            Work::MixBase(index) => {
                let base = &mixing.bases[index];
                let draws = base.draws.iter().map(|draw| draw_words(draw, base, mixing, units));
                let (recipe, loads) = (self.recipe_of(base.recipe), loads(&base.loads));
                Some(format!("Mix the shared base of {recipe}, {loads}, and draw off {}.", and(draws)))
            }
            Work::Draw { .. } => None,
            Work::Finish(index) => mixing.batches[index].loads.as_ref().map(|found| {
                let loads = if found.count > 1 { format!(", {}", loads(found)) } else { String::new() };
                format!("Finish batch {} from its share of the base{loads}.", index + 1)
            }),
            Work::Mix(index) => {
                let found = mixing.batches[index].loads.as_ref();
                found.map(|found| format!("Mix batch {}: {}.", index + 1, loads(found)))
            }
        };
        mixing.order.iter().filter_map(step).collect()
    }

    fn base(&self, document: &mut Document, base: &Base, units: UnitSystem) {
        let recipe = self.recipe_of(base.recipe);
        document.subheading(format!("Shared base of {recipe}, for batches {}", drawing(base)));
        let loose = amount(base.loads.load.loose, Litres::Needed, units);
        document.paragraph(match base.loads.count {
            1 => format!("One load of {loose}."),
            many => format!("{many} loads of {loose} each, tipped together on a clean sheet."),
        });
        document.table(load_table(&base.loads, None, units));
        document.paragraph(water(&base.loads, units));
        let mut table = Table::new(&["draw off, in this order", ">scoops", ">about", ">share of the heap", "then"]);
        for draw in &base.draws {
            let ready = self.plan.mixes.mixing.batches[draw.batch].loads.is_none();
            table.row([
                format!("batch {}", draw.batch + 1),
                if base.is_last(draw.batch) {
                    "the rest".to_owned()
                } else {
                    draw.amount.quarters.map(quarters).unwrap_or_default()
                },
                amount(draw.amount.mixed, Litres::Needed, units),
                format!("{:.1} %", draw.share * 100.0),
                if ready { "ready" } else { "to be finished" }.to_owned(),
            ]);
        }
        document.table(table);
        document.paragraph(format!(
            "Blended, the heap comes to about {}. If it comes to less or more, keep to the shares.",
            amount(base.made(), Litres::Given, units)
        ));
    }
}

/// `15 1/2 scoops (31 L) for batch 1 (ready)`.
fn draw_words(draw: &Draw, base: &Base, mixing: &Mixing, units: UnitSystem) -> String {
    let much = if base.is_last(draw.batch) { "the rest".to_owned() } else { drawn(draw.amount, units) };
    let ready = if mixing.batches[draw.batch].loads.is_none() { " (ready)" } else { "" };
    format!("{much} for batch {}{ready}", draw.batch + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::in_litres;

    #[test]
    fn quarters_read_like_speech() {
        let all: Vec<String> = [0, 1, 2, 4, 5, 35].into_iter().map(scoops).collect();
        assert_eq!(all, ["0 scoop", "1/4 scoop", "1/2 scoop", "1 scoop", "1 1/4 scoops", "8 3/4 scoops"]);
    }

    #[test]
    fn a_share_without_a_scoop_is_given_in_litres() {
        let share = FromBase { loose: in_litres(12.0), mixed: in_litres(10.0), quarters: None };
        assert_eq!(drawn(share, UnitSystem::Metric), "10 L");
        assert_eq!(drawn(FromBase { quarters: Some(22), ..share }, UnitSystem::Metric), "5 1/2 scoops (10 L)");
    }
}
