//! One batch: what to measure out, by the load, and what is left out.

use super::PlanReport;
use super::load::{Sieving, blocks_water, dose_name, drawn, load_picture, load_table, load_words, loads_of, water};
use super::remarks::omission;
use crate::catalogue::{Crop, Handle, Role};
use crate::plan::{Base, Batch, BatchMixing, DoseAmount, FilledTrays, MixRef, Omission, TopLayer};
use crate::report::document::{Document, Table};
use crate::report::words::{and, batch_name, fact, needed, tray_name};
use crate::units::{Deep, Printed, UnitSystem, dosed, in_column, in_litres, percent, to_litres};
use std::collections::BTreeSet;

impl PlanReport<'_> {
    /// One batch: how it is made, what it fills, what it goes without.
    pub(super) fn batch(&self, document: &mut Document, index: usize, filled: &[FilledTrays], units: UnitSystem) {
        let batch = &self.plan.mixes.batches[index];
        let mixing = &self.plan.mixes.mixing;
        let made = &mixing.batches[index];
        let name = batch_name(&batch.name, units);
        // Where no trays are listed, the crops are told here.
        let are_told = filled.is_empty() && (1..=30).contains(&batch.crops.len());
        let crops = are_told.then(|| format!(" for {}", and(batch.crops.iter().map(|crop| crop.in_full()))));
        let (words, crops) = (made_words(batch, made, units), crops.unwrap_or_default());
        document.step(format!("Batch {}, {name}: {words}{crops}", mixing.number(index)));
        let others = and(batch.others.iter().map(|recipe| self.recipe_of(*recipe)));
        document.paragraph(if others.is_empty() { others } else { format!("That of {others} comes out the same.") });
        document.paragraph(left_over(batch, units));
        let sieving = self.sieving(index, units);
        match (made.base, &made.loads) {
            (Some(base), _) => self.on_base(document, (index, &mixing.bases[base]), sieving.as_ref(), units),
            (None, None) => {}
            (None, Some(loads)) => {
                if mixing.vessels.tub.is_none() && mixing.vessels.scoop.is_none() {
                    document.table(measures(batch, sieving.as_ref(), units));
                } else {
                    document.paragraph(format!("{}:", loads_of(loads, " loose", units)));
                    document.picture(|| load_picture(loads, None, units));
                    document.table(load_table(loads, Some(batch), sieving.as_ref(), units));
                }
                document.paragraph((water(loads, units) + &self.limed(MixRef::Batch(index), units)).trim_start());
            }
        }
        let blocks = blocks_water(made, made.base.map(|base| &mixing.bases[base]), batch, units);
        blocks.into_iter().for_each(|words| document.paragraph(words));
        let fills = match self.fills(filled, index, units) {
            fills if fills.is_empty() => fills,
            fills => format!(" Fills {fills}."),
        };
        document.paragraph((tops(batch, units) + &fills).trim_start());
    }

    /// What a batch goes without, but for what all do; its crops by name where no trays are listed.
    pub(super) fn omissions(&self, index: usize, is_filled: bool, common: &[String], units: UnitSystem) -> Vec<String> {
        let batch = &self.plan.mixes.batches[index];
        let omissions = batch.left_out.iter().filter(|left_out| !common.contains(&omission(left_out, units)));
        let named = |left_out: &Omission| if is_filled { of_all(left_out, &batch.crops) } else { left_out.clone() };
        omissions.map(|left_out| omission(&named(left_out), units)).collect()
    }

    /// What every batch goes without for the same reason, which is then said once.
    pub(super) fn common(&self, units: UnitSystem) -> Vec<String> {
        let omitted = |batch: &Batch| batch.left_out.iter().map(|left_out| omission(left_out, units)).collect();
        let [first, others @ ..] = &self.plan.mixes.batches[..] else { return Vec::new() };
        let mut common: Vec<String> = if others.is_empty() { Vec::new() } else { omitted(first) };
        others.iter().map(omitted).for_each(|other| common.retain(|text| other.contains(text)));
        common
    }

    /// The sieve that all of a batch goes through, and the doses that wait for it: not what is in
    /// the base, nor lime that was mixed into the peat days ahead.
    fn sieving(&self, index: usize, units: UnitSystem) -> Option<Sieving<'_>> {
        let batch = &self.plan.mixes.batches[index];
        let mesh = batch.composition.sieve.filter(|_| batch.is_mixed())?;
        let is_limed = self.plan.mix_on.is_some() && batch.limes_raw_peat();
        let doses = batch.doses.iter().map(|dose| &dose.ingredient);
        let waiting = doses.filter(|id| !(is_limed && id.is(Role::Lime))).collect();
        let through = format!("through a {} sieve", fact(mesh, units));
        Some(Sieving { through, loss: percent(batch.volumes.sieve_loss), waiting })
    }

    /// A batch that draws on a shared base.
    fn on_base(
        &self,
        document: &mut Document,
        (index, base): (usize, &Base),
        sieving: Option<&Sieving<'_>>,
        units: UnitSystem,
    ) {
        let (batch, mixing) = (&self.plan.mixes.batches[index], &self.plan.mixes.mixing);
        let made = &mixing.batches[index];
        let share = share(base, index, units);
        let Some(loads) = &made.loads else {
            return document.paragraph(match sieving {
                None => format!("Add nothing to {share} of the base."),
                Some(Sieving { through, loss, .. }) => {
                    format!("Put {share} of the base {through} ({loss} stays on it).")
                }
            });
        };
        let each = loads.load.from_base.map(|share| drawn(share, units)).unwrap_or_default();
        let each = if loads.count > 1 { format!(", in {} loads with {each} each", loads.count) } else { String::new() };
        let share = format!("{share} of the base{each}");
        let of_base = || loads.load.from_base.map(|share| (drawn(share, units), share.loose));
        document.picture(|| load_picture(loads, of_base(), units));
        match load_words(loads, sieving, units) {
            Some(what) => {
                document.paragraph(format!("{} {}", turned_in(&share, &what, sieving), water(loads, units)));
            }
            None => {
                document.paragraph(format!("To {share}, turn in what stands below."));
                document.table(load_table(loads, Some(batch), sieving, units));
                document.paragraph(water(loads, units));
            }
        }
    }
}

/// What is turned into a share of a base, by way of the sieve where it has one.
fn turned_in(share: &str, [parts, doses]: &[String; 2], sieving: Option<&Sieving<'_>>) -> String {
    let Some(Sieving { through, loss, .. }) = sieving else { return format!("To {share}, turn in {parts}.") };
    let then = if doses.is_empty() { String::new() } else { format!("; then turn in {doses}") };
    match parts.is_empty() {
        true => format!("Put {share} {through} ({loss} stays on it){then}."),
        false => format!("To {share}, turn in {parts}; put all {through} ({loss} stays on it){then}."),
    }
}

/// The same without the crops where they are all that the batch is for.
fn of_all(left_out: &Omission, all: &BTreeSet<Handle<Crop>>) -> Omission {
    let why = left_out.why.iter();
    let why = why.map(|(why, crops)| (why.clone(), if crops == all { BTreeSet::new() } else { crops.clone() }));
    Omission { why: why.collect(), ..left_out.clone() }
}

/// What is used first.
fn left_over(batch: &Batch, units: UnitSystem) -> String {
    match (batch.volumes.from_stock, batch.is_mixed()) {
        (from_stock, _) if from_stock <= in_litres(0.0) => String::new(),
        (from_stock, true) => format!("Use the {} left over from earlier first.", needed(from_stock, units)),
        (_, false) => "All of it is left over from earlier; nothing is mixed.".to_owned(),
    }
}

/// What of a batch goes on top of its cells through another sieve.
fn tops(batch: &Batch, units: UnitSystem) -> String {
    let top = |layer: &TopLayer| {
        let litres = layer.volume.map_or_else(|| "some".to_owned(), |volume| needed(volume, units));
        let tray = if batch.tops.len() > 1 { format!(" in {}", tray_name(&layer.tray, units)) } else { String::new() };
        format!(
            " Of this, put {litres} through a {} sieve, and top each cell of {}{tray} with {} of it; sow on it.",
            fact(layer.top.sieve, units),
            and(&layer.crops),
            fact(Deep(layer.top.depth), units)
        )
    };
    batch.tops.iter().map(top).collect()
}

/// What a batch has of a shared base.
fn share(base: &Base, batch: usize, units: UnitSystem) -> String {
    let draw = base.draws.iter().find(|draw| draw.batch == batch);
    match draw {
        Some(draw) if !base.is_last(batch) => format!("its {}", drawn(draw.amount, units)),
        _ => "the rest".to_owned(),
    }
}

/// `27.3 L, 0.31 L over`: what is made, and how much of it is more than needed.
fn made_words(batch: &Batch, made: &BatchMixing, units: UnitSystem) -> String {
    let over = made.makes_more().then(|| format!(", {} over", needed(made.over, units)));
    let amount = if batch.is_mixed() { made.made + batch.volumes.from_stock } else { batch.volumes.mix };
    format!("{}{}", needed(amount, units), over.unwrap_or_default())
}

/// The loose litres of its parts.
fn shares(batch: &Batch, units: UnitSystem) -> Printed {
    in_column(&batch.ingredients.iter().map(|part| to_litres(part.loose)).collect::<Vec<_>>(), units)
}

/// What to measure out without tub and scoop; beside litres in US units too.
fn measures(batch: &Batch, sieving: Option<&Sieving<'_>>, units: UnitSystem) -> Table {
    let (main, us) = (shares(batch, units), shares(batch, UnitSystem::Us));
    let other = |us: String| units.either(us, String::new());
    let parts = batch.ingredients.iter().zip(main.cells().zip(us.cells()));
    let parts = parts.map(|(part, (main, us))| [part.ingredient.name.clone(), part.parts.to_string(), main, other(us)]);
    let together = ["together, each rounded up".to_owned(), String::new(), main.total(), other(us.total())];
    let together = (batch.ingredients.len() > 1).then_some(together);
    let waits = |dose: &&DoseAmount| sieving.is_some_and(|sieving| sieving.waiting.contains(&dose.ingredient));
    let (after, before): (Vec<_>, Vec<_>) = batch.doses.iter().partition(waits);
    let dosed = |dose: &DoseAmount| {
        let (main, other) = dosed(dose.amount, dose.rate.spoon(), units);
        [dose_name(dose, units), String::new(), main, other]
    };
    let before = parts.chain(together).chain(before.into_iter().map(dosed));
    let rows = before.chain(sieving.map(Sieving::row)).chain(after.into_iter().map(dosed));
    let table = Table::of(["measure out", ">parts", ">amount", ">or"], rows);
    units.either(table.clone(), table.without_empty_columns())
}
