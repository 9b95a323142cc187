//! One batch: what to measure out, by the load, and what is left out.

use super::PlanReport;
use super::load::{blocks_water, dose_name, drawn, load_table, loads_of, water};
use super::remarks::omission;
use crate::catalogue::{Named, Role};
use crate::plan::{Base, Batch, BatchMixing, Vessels};
use crate::report::document::{Document, Table};
use crate::report::words::{and, batch_name, fact, needed, tray_name};
use crate::units::{Printed, UnitSystem, dosed, in_column, in_litres, percent, to_litres};
use std::collections::BTreeSet;

impl PlanReport<'_> {
    /// One batch: what it is for, how it is made, what it goes without.
    pub(super) fn batch(&self, document: &mut Document, index: usize, units: UnitSystem) {
        let batch = &self.plan.mixes.batches[index];
        document.heading(format!("Batch {}: {}", index + 1, batch_name(&batch.name, units)));
        let others = and(batch.others.iter().map(|recipe| self.recipe_of(*recipe)));
        let others = if others.is_empty() { others } else { format!(" That of {others} comes out the same.") };
        // Where no sowings are listed above, the table's name is told here.
        let is_first = self.plan.mixes.layout.sowings.is_empty();
        let crops = batch.crops.iter().map(|crop| if is_first { crop.in_full() } else { crop.shown().to_owned() });
        let crops = if batch.crops.len() <= 30 { and(crops) } else { String::new() };
        document.paragraph(purpose(batch, &crops, &(others + &self.sieved(index, units)), units));
        let mixing = &self.plan.mixes.mixing;
        let made = &mixing.batches[index];
        match (made.base, &made.loads) {
            (Some(base), _) => self.on_base(document, index, &mixing.bases[base], units),
            (None, None) => {}
            (None, Some(loads)) => {
                if mixing.vessels.tub.is_none() && mixing.vessels.scoop.is_none() {
                    document.table(measures(batch, units));
                } else {
                    document.paragraph(format!("{}. {}", loads_of(loads, " loose", units), makes(made, units)));
                    document.table(load_table(loads, Some(batch), &mixing.vessels, units));
                }
                document.paragraph(water(loads, units));
            }
        }
        blocks_water(made, batch, units).into_iter().for_each(|words| document.paragraph(words));
        document.list(batch.left_out.iter().map(|left_out| omission(left_out, units)).collect());
    }

    /// The sieve that all of a batch goes through, and the doses that wait for it: not what is in
    /// the base, nor lime that was mixed into the peat days ahead.
    fn sieved(&self, index: usize, units: UnitSystem) -> String {
        let batch = &self.plan.mixes.batches[index];
        let Some(mesh) = batch.composition.sieve.filter(|_| batch.is_mixed()) else { return String::new() };
        let is_limed = self.plan.mix_on.is_some() && self.plan.mixes.is_limed_ahead(index);
        let loads = self.plan.mixes.mixing.batches[index].loads.iter();
        let doses = loads.flat_map(|loads| &loads.load.doses).map(|dose| &dose.ingredient);
        let waiting: BTreeSet<_> = doses.filter(|id| !(is_limed && id.is(Role::Lime))).collect();
        let all: BTreeSet<_> = batch.doses.iter().map(|dose| &dose.ingredient).collect();
        let before = match waiting.len() {
            0 => String::new(),
            _ if waiting == all => " before the doses go in".to_owned(),
            1 => format!(" before the {} goes in", and(waiting)),
            _ => format!(" before the {} go in", and(waiting)),
        };
        let (mesh, loss) = (fact(mesh, units), percent(batch.volumes.sieve_loss));
        format!(" Put the whole batch through a {mesh} sieve{before} ({loss} stays on it).")
    }

    /// A batch that draws on a shared base.
    fn on_base(&self, document: &mut Document, index: usize, base: &Base, units: UnitSystem) {
        let (batch, mixing) = (&self.plan.mixes.batches[index], &self.plan.mixes.mixing);
        let (made, vessels) = (&mixing.batches[index], &mixing.vessels);
        let share = share(base, index, vessels, units);
        match &made.loads {
            None => document.paragraph(format!("All of it is shared base: draw off {share}. {}", makes(made, units))),
            Some(loads) => {
                let each = loads.load.from_base.map(|share| drawn(share, vessels, units)).unwrap_or_default();
                let each = if loads.count > 1 {
                    format!(", in {} loads with {each} each", loads.count)
                } else {
                    String::new()
                };
                let turn = match (batch.composition.sieve, loads.load.measures.is_empty()) {
                    (None, _) => "and turn in what stands below",
                    (Some(_), true) => "sieve it, and turn in what stands below",
                    (Some(_), false) => {
                        "turn in the parts that stand below, sieve all of it, and then turn in the doses"
                    }
                };
                document
                    .paragraph(format!("Of the shared base draw off {share}{each}, {turn}. {}", makes(made, units)));
                document.table(load_table(loads, Some(batch), vessels, units));
                document.paragraph(water(loads, units));
            }
        }
        let shares = shares(batch, units);
        let held = batch.ingredients.iter().zip(shares.cells());
        let held = held.map(|(part, share)| format!("{share} {} ({})", part.ingredient.name, part.parts));
        document.paragraph(format!("It holds, loose and in parts: {}.", and(held)));
    }
}

/// How much of it is made for which crops, the `rest` that is to be said, and what is sieved for the top.
fn purpose(batch: &Batch, crops: &str, rest: &str, units: UnitSystem) -> String {
    let mut words = format!("{} of mix", needed(batch.volumes.mix, units));
    if !crops.is_empty() {
        words += &format!(" for {crops}");
    }
    let (from_stock, loose) = (batch.volumes.from_stock, batch.volumes.loose);
    words += &match (from_stock > in_litres(0.0), batch.is_mixed()) {
        (false, _) => format!(", from {} of loose ingredients.", needed(loose, units)),
        (true, true) => format!(
            ": use the {} left over from earlier first; the rest comes from {} of loose ingredients.",
            needed(from_stock, units),
            needed(loose, units)
        ),
        (true, false) => ": all of it is left over from earlier, and nothing is mixed.".to_owned(),
    };
    words += rest;
    for layer in &batch.tops {
        let litres = layer.volume.map_or_else(|| "some".to_owned(), |volume| needed(volume, units));
        let tray = if batch.tops.len() > 1 { format!(" in {}", tray_name(&layer.tray, units)) } else { String::new() };
        words += &format!(
            " Of this, put {litres} through a {} sieve for the top {} over {}{tray}.",
            fact(layer.top.sieve, units),
            fact(layer.top.depth, units),
            and(&layer.crops)
        );
    }
    words
}

/// What a batch draws off a shared base.
fn share(base: &Base, batch: usize, vessels: &Vessels, units: UnitSystem) -> String {
    let draw = base.draws.iter().find(|draw| draw.batch == batch);
    match draw {
        Some(draw) if !base.is_last(batch) => drawn(draw.amount, vessels, units),
        _ => "the rest".to_owned(),
    }
}

/// What is made, and how much of it is more than needed.
fn makes(made: &BatchMixing, units: UnitSystem) -> String {
    let over = made.makes_more().then(|| format!(", {} more than needed", needed(made.over, units)));
    format!("It makes {}{}.", needed(made.made, units), over.unwrap_or_default())
}

/// The loose litres of its parts.
fn shares(batch: &Batch, units: UnitSystem) -> Printed {
    in_column(&batch.ingredients.iter().map(|part| to_litres(part.loose)).collect::<Vec<_>>(), units)
}

/// What to measure out without tub and scoop; beside litres in US units too.
fn measures(batch: &Batch, units: UnitSystem) -> Table {
    let (main, us) = (shares(batch, units), shares(batch, UnitSystem::Us));
    let other = |us: String| units.either(us, String::new());
    let parts = batch.ingredients.iter().zip(main.cells().zip(us.cells()));
    let parts = parts.map(|(part, (main, us))| [part.ingredient.name.clone(), part.parts.to_string(), main, other(us)]);
    let together = ["together, each rounded up".to_owned(), String::new(), main.total(), other(us.total())];
    let together = (batch.ingredients.len() > 1).then_some(together);
    let doses = batch.doses.iter().map(|dose| {
        let (main, other) = dosed(dose.amount, dose.rate.spoon(), units);
        [dose_name(dose, units), String::new(), main, other]
    });
    let table = Table::of(["measure out", ">parts", ">amount", ">or"], parts.chain(together).chain(doses));
    units.either(table.clone(), table.without_empty_columns())
}
