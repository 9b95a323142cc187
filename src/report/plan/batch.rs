//! One batch: what to measure out, by the load, and what is left out.

use super::PlanReport;
use super::mixing::drawn;
use super::remarks::omission;
use crate::catalogue::Stage;
use crate::plan::{Base, Batch, BatchMixing, DoseAmount, LoadDose, Loads, Measure, Moistening, WANTED};
use crate::recipe::Basis;
use crate::report::document::{Document, Table};
use crate::report::words::and;
use crate::units::length::millimetre;
use crate::units::mass::kilogram;
use crate::units::{
    Litres, Spoon, UnitSystem, amount, by_spoon, dosed, in_litres, percent, plain, quarters, shared_out, to_litres,
};

impl PlanReport<'_> {
    /// One batch: what it is for, how it is made, what it goes without.
    pub(super) fn batch(&self, document: &mut Document, index: usize, units: UnitSystem) {
        let batch = &self.plan.mixes.batches[index];
        document.heading(format!("Batch {}: {}", index + 1, batch.name));
        document.paragraph(purpose(batch, units));
        let mixing = &self.plan.mixes.mixing;
        let made = &mixing.batches[index];
        match (made.base, &made.loads) {
            (Some(base), _) => from_base(document, (index, batch), &mixing.bases[base], made, units),
            (None, None) => {}
            (None, Some(loads)) => {
                if mixing.vessels.tub.is_none() && mixing.vessels.scoop.is_none() {
                    document.table(measures(batch, units));
                } else {
                    let loose = amount(loads.load.loose, Litres::Needed, units);
                    let count = match loads.count {
                        1 => format!("One load of {loose} loose."),
                        many => format!("{many} loads of {loose} loose each."),
                    };
                    document.paragraph(format!("{count} {}", makes(made, units)));
                    document.table(load_table(loads, Some(batch), units));
                }
                document.paragraph(water(loads, units));
            }
        }
        document.list(batch.left_out.iter().map(|left_out| omission(left_out, units)).collect());
    }
}

/// How much of it is made for which crops, and what is sieved.
fn purpose(batch: &Batch, units: UnitSystem) -> String {
    let mut words = format!("{} of mix", amount(batch.volumes.mix, Litres::Needed, units));
    if !batch.crops.is_empty() && batch.crops.len() <= 30 {
        words += &format!(" for {}", and(&batch.crops));
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
        let tray = if batch.tops.len() > 1 { format!(" in {}", layer.tray.name) } else { String::new() };
        words += &format!(
            " Of this, put {} through a {} mm sieve for the top {} mm over {}{tray}.",
            litres.as_deref().unwrap_or("some"),
            plain(layer.top.sieve.get::<millimetre>(), 1),
            plain(layer.top.depth.get::<millimetre>(), 1),
            and(&layer.crops)
        );
    }
    words
}

/// A batch that draws on a shared base.
fn from_base(
    document: &mut Document,
    (index, batch): (usize, &Batch),
    base: &Base,
    made: &BatchMixing,
    units: UnitSystem,
) {
    let draw = base.draws.iter().find(|draw| draw.batch == index);
    let share = draw.map(|draw| drawn(draw.amount, units)).unwrap_or_default();
    let share = if base.is_last(index) { format!("the rest, about {share}") } else { share };
    match &made.loads {
        None => document.paragraph(format!("All of it is shared base: draw off {share}. {}", makes(made, units))),
        Some(loads) => {
            let each = loads.load.from_base.map(|share| drawn(share, units)).unwrap_or_default();
            let each =
                if loads.count > 1 { format!(", in {} loads with {each} each", loads.count) } else { String::new() };
            let turn = match (batch.composition.sieve, loads.load.measures.is_empty()) {
                (None, _) => "and turn in what stands below",
                (Some(_), true) => "sieve it, and turn in what stands below",
                (Some(_), false) => "turn in the parts that stand below, sieve all of it, and then turn in the doses",
            };
            document.paragraph(format!("Of the shared base draw off {share}{each}, {turn}. {}", makes(made, units)));
            document.table(load_table(loads, Some(batch), units));
            document.paragraph(water(loads, units));
        }
    }
    let (shares, _) = shared_out(batch.volumes.loose, &weights(batch), units);
    let held = batch.ingredients.iter().zip(shares.cells());
    let held = held.map(|(part, share)| format!("{share} {} ({})", part.ingredient.name, part.parts));
    document.paragraph(format!("It holds, loose and in parts: {}.", and(held)));
}

/// What is made, and how much of it is more than needed.
fn makes(made: &BatchMixing, units: UnitSystem) -> String {
    let all = amount(made.made, Litres::Needed, units);
    if made.makes_more() {
        format!("It makes {all}, {} more than needed.", amount(made.over, Litres::Needed, units))
    } else {
        format!("It makes {all}.")
    }
}

fn weights(batch: &Batch) -> Vec<f64> {
    batch.ingredients.iter().map(|part| to_litres(part.loose)).collect()
}

/// What to measure out without tub and scoop; the rows sum to the printed total.
fn measures(batch: &Batch, units: UnitSystem) -> Table {
    let mut table = Table::new(&["measure out", ">parts", ">amount", ">or"]);
    let (main, other) = shared_out(batch.volumes.loose, &weights(batch), units);
    for (part, (main, other)) in batch.ingredients.iter().zip(main.cells().zip(other.cells())) {
        table.row([part.ingredient.name.clone(), part.parts.to_string(), main, other]);
    }
    if batch.ingredients.len() > 1 {
        table.row(["together, loose".to_owned(), String::new(), main.total(), other.total()]);
    }
    for dose in &batch.doses {
        let (main, other) = dosed(dose.amount, dose.rate.spoon(), units);
        table.row([dose_name(dose), String::new(), main, other]);
    }
    table
}

/// `lime (2 g/L of peat)`.
fn dose_name(dose: &DoseAmount) -> String {
    let rate = match dose.rate.spoon() {
        None => format!("{} g/L", plain(dose.rate.per_litre(), 3)),
        Some(_) => format!("{} mL/L", plain(dose.rate.per_litre() * 1000.0, 2)),
    };
    let of = match &dose.basis {
        Basis::Finished => String::new(),
        Basis::Loose => " of loose ingredients".to_owned(),
        Basis::Of(base) => format!(" of {}", base.name),
    };
    format!("{} ({rate}{of})", dose.ingredient.name)
}

/// What one load takes, in the order of mixing.
pub(super) fn load_table(loads: &Loads, batch: Option<&Batch>, units: UnitSystem) -> Table {
    let weights: Vec<f64> = loads.load.measures.iter().map(|measure| to_litres(measure.loose)).collect();
    let sum = in_litres(weights.iter().sum());
    let (each, _) = shared_out(sum, &weights, units);
    let (all, _) = shared_out(sum * loads.count as f64, &weights, units);
    let measures = loads.load.measures.iter().zip(each.cells().zip(all.cells()));
    let measures = measures.map(|(measure, cells)| (measure.ingredient.stage(false), part_row(measure, batch, cells)));
    let doses = loads.load.doses.iter();
    let doses = doses.map(|dose| (dose.ingredient.stage(true), dose_row(dose, batch, loads.count, units)));
    let mut rows: Vec<(Stage, [String; 8])> = measures.chain(doses).collect();
    rows.sort_by_key(|(stage, _)| *stage);
    let mut table =
        Table::new(&["in this order", ">parts", ">scoops", ">a load", ">or", ">in all", ">share", ">wanted"]);
    for (_, mut row) in rows {
        if loads.count == 1 {
            row[5].clear();
        }
        table.row(row);
    }
    table.without_empty_columns()
}

fn part_row(measure: &Measure, batch: Option<&Batch>, (each, all): (String, String)) -> [String; 8] {
    let part = batch.and_then(|batch| batch.ingredients.iter().find(|part| part.ingredient == measure.ingredient));
    let percent = |share: f64| if measure.is_exact() { String::new() } else { format!("{:.1} %", share * 100.0) };
    [
        measure.ingredient.name.clone(),
        part.map(|part| part.parts.to_string()).unwrap_or_default(),
        measure.quarters.map(quarters).unwrap_or_default(),
        each,
        String::new(),
        all,
        percent(measure.share),
        percent(measure.wanted),
    ]
}

fn dose_row(dose: &LoadDose, batch: Option<&Batch>, count: u64, units: UnitSystem) -> [String; 8] {
    let (main, other) = dosed(dose.amount, dose.spoon, units);
    let (all, _) = dosed(dose.amount.times(count as f64), dose.spoon, units);
    let recipe = batch.and_then(|batch| batch.doses.iter().find(|known| known.ingredient == dose.ingredient));
    let name = recipe.map_or_else(|| dose.ingredient.name.clone(), dose_name);
    // What is weighed is told in spoons where its density is known.
    let other = dose.loose().map_or(other, |loose| by_spoon(loose, Spoon::Tablespoon));
    [name, String::new(), String::new(), main, other, all, String::new(), String::new()]
}

/// Water and weight of a load.
pub(super) fn water(loads: &Loads, units: UnitSystem) -> String {
    let each = if loads.count > 1 { " a load" } else { "" };
    let target = format!("{} % moisture by weight", plain(WANTED.middle * 100.0, 0));
    let litres = |volume| amount(volume, Litres::Given, units);
    let water = match &loads.load.moistening {
        Moistening::Nothing => None,
        Moistening::ByHand => Some("Water: by the hand test; a mix this heavy has no figure by weight.".to_owned()),
        Moistening::Unknown(ids) => {
            Some(format!("Water: by the hand test; the dry and moist densities of {} are not known.", and(ids)))
        }
        Moistening::Press(over) => Some(format!(
            "Water: none. As the ingredients usually come, about {}{each} too much is in them for {target}: press or \
             drain the wettest first.",
            litres(*over)
        )),
        Moistening::Add { least, about, most } => Some(format!(
            "Water: about {}{each} for {target} ({} to {}, depending on how moist the ingredients are); add the last of \
             it bit by bit.",
            litres(*about),
            if to_litres(*least) > 0.0 { litres(*least) } else { "none".to_owned() },
            litres(*most)
        )),
    };
    let weight = loads.load.wet.map(|wet| {
        let kilograms = wet.get::<kilogram>();
        format!("Moist, a load weighs about {} kg.", plain(kilograms, usize::from(kilograms < 10.0)))
    });
    water.into_iter().chain(weight).collect::<Vec<_>>().join(" ")
}
