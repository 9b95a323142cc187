//! The mixing day in words and tables.

mod covering;
mod json;

use crate::behaviour::packing::expected_yield;
use crate::catalogue::{Handle, Ingredient, Stage};
use crate::plan::{
    Base, Batch, BatchMixing, FREE_SHARE, FromBase, LIFT_KG, LoadDose, Loads, MixRef, Moistening, Plan, TOLERANCE,
    TooCoarse, WANTED, Work,
};
use crate::report::document::{Document, Table};
use crate::report::plan::{PlanReport, dose_words, printed_parts, printed_shares, quartered, spoons};
use crate::report::words::{and, capital, count};
use crate::units::mass::{gram, kilogram};
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::{litre, us_liquid_quart};
use crate::units::{Litres, Mass, Quantity, Spoon, UnitSystem, Volume, amount, in_litres, plain, to_litres};

/// The note where no tub is named.
pub(in crate::report) const NO_TUB: &str = "No tub is named, so each mix is given as one load. A week file may say `tub: 60 L` and \
                                 `scoop: 2 L`: then the sheet gives loads and scoops.";

/// The note on a bought mix.
pub(in crate::report) fn starter_charge(name: &str) -> String {
    format!(
        "{} usually carries a starter charge and lime: add no castings, fertiliser or lime to it unless its bag says \
         so, and begin to feed later. Its phosphorus may work against an inoculant, and its lime against plants of acid soil.",
        capital(name)
    )
}

/// The name of a mix in running text.
fn mix_name(mix: MixRef, plan: &Plan) -> String {
    match mix {
        MixRef::Base(index) => {
            let batches: Vec<String> =
                plan.mixes.mixing.bases[index].draws.iter().map(|draw| number(draw.batch)).collect();
            format!("the shared base of batches {}", and(&batches))
        }
        MixRef::Batch(index) => format!("batch {}", number(index)),
    }
}

fn number(batch: usize) -> String {
    (batch + 1).to_string()
}

/// The warning of a scoop that is too coarse, once for all the mixes it is too coarse for.
pub(in crate::report) fn too_coarse(mixes: &[(MixRef, TooCoarse)], plan: &Plan, units: UnitSystem) -> String {
    let each: Vec<String> = mixes
        .iter()
        .map(|(mix, coarse)| match coarse.over {
            Some(over) => format!("{} ({} % more than needed)", mix_name(*mix, plan), plain(over * 100.0, 0)),
            None => format!("{} (given in litres)", mix_name(*mix, plan)),
        })
        .collect();
    // The finest scoop that any of them asks for does for all.
    let finest = mixes.iter().map(|(_, coarse)| coarse.would_do).collect::<Option<Vec<Volume>>>();
    let finer = match finest.and_then(|scoops| scoops.into_iter().reduce(Volume::min)) {
        Some(scoop) => format!("A scoop of {} would do.", amount(scoop, Litres::Given, units)),
        None => "Measure in litres with a jug.".to_owned(),
    };
    format!("The scoop is too coarse for {}. {finer}", and(&each))
}

/// The warning of a tub too heavy to lift.
pub(in crate::report) fn heavy_tub(mixes: &[MixRef], wet: Mass, plan: &Plan) -> String {
    let names: Vec<String> = mixes.iter().map(|mix| mix_name(*mix, plan)).collect();
    format!(
        "A moist load of {} weighs up to about {} kg without the tub, more than the {LIFT_KG} kg (51 lb) that NIOSH sets \
         for lifting under ideal conditions: mix where it is used, empty it by the scoop, or lift it in twos.",
        and(&names),
        plain(wet.get::<kilogram>(), 0)
    )
}

fn scoops_of(quarters: u64) -> String {
    format!("{} {}", quartered(quarters), if quarters <= 4 { "scoop" } else { "scoops" })
}

/// A share and how far it is off: `49.4 %`.
fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

impl PlanReport<'_> {
    fn names(&self, ids: &[Handle<Ingredient>]) -> String {
        and(&ids.iter().map(|id| id.name.as_str()).collect::<Vec<_>>())
    }

    /// How to mix: vessels, order, hand test, the order of work, and the shared bases.
    pub(in crate::report) fn mixing(&self, document: &mut Document, units: UnitSystem) {
        document.heading("Mixing");
        document.paragraph(self.vessels(units));
        document.paragraph("Into a load goes what its own table lists and nothing else, in this order:");
        document.list(self.order_in_a_load());
        let mixing = &self.plan.mixes.mixing;
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
                "Strike the scoop of {} off level; tell its quarters by eye. The scoops make the least that is not short, \
                 and keep each share within {} % of the recipe's (of 50 %: 47.5 to 52.5); struck off by hand, a scoop is hardly truer.",
                scoop,
                plain(TOLERANCE * 100.0, 0)
            ));
        }
        let measured =
            self.plan.mixes.mixing.measured_loose().iter().fold(in_litres(0.0), |sum, (_, loose)| sum + *loose);
        let need = self.plan.mixes.totals.loose();
        if to_litres(measured - need) > 0.05 {
            words.push(format!(
                "So measured, all of it takes {} of loose ingredients, {} more than reckoned: have that much more at hand.",
                amount(measured, Litres::Needed, units),
                amount(measured - need, Litres::Needed, units)
            ));
        }
        words.join(" ")
    }

    /// What goes in first and what last, for the ingredients of this plan.
    fn order_in_a_load(&self) -> Vec<String> {
        let totals = &self.plan.mixes.totals;
        let parts = totals.ingredients.iter().map(|(id, _)| (id.clone(), false));
        let doses = totals.doses.iter().map(|(id, _)| (id.clone(), true));
        let all: Vec<(Handle<Ingredient>, bool)> = parts.chain(doses).collect();
        let in_stage = |stage: Stage| {
            let found = all.iter().filter(move |(id, dose)| id.stage(*dose) == stage);
            found.map(|(id, _)| id.clone())
        };
        let named = |ids: Vec<Handle<Ingredient>>| (!ids.is_empty()).then(|| self.names(&ids));
        let at = |stage: Stage| named(in_stage(stage).collect());
        let mut steps = Vec::new();
        let (wet, dry): (Vec<Handle<Ingredient>>, Vec<Handle<Ingredient>>) =
            in_stage(Stage::Wetted).partition(|id| id.comes_wet());
        steps.extend(named(wet).map(|names| format!("First {names}, soaked and drained.")));
        steps.extend(named(dry).map(|names| {
            format!(
                "First {names}, wetted with most of the water that the load takes, warm and hours ahead: what is dry \
                 now sheds water later."
            )
        }));
        let mut then = if steps.is_empty() { "First" } else { "Then" };
        steps.extend(at(Stage::Strewn).map(|names| format!("Strew {names} over it and turn until none is seen.")));
        for (stage, how) in [
            (Stage::Body, "lumps broken up"),
            (Stage::Damped, "damped in the bag to lay the dust"),
            (Stage::Gently, "turned in gently: crushed, it loses air"),
        ] {
            if let Some(names) = at(stage) {
                steps.push(format!("{then} {names}, {how}."));
                then = "Then";
            }
        }
        let others =
            if self.plan.mixes.batches.len() > 1 { ", after every batch without it has been drawn off" } else { "" };
        steps.extend(at(Stage::AtTheEnd).map(|names| format!("{} at the very end{others}.", capital(&names))));
        steps.push(
            "Hand test: squeeze a handful. It must hold together and give a drop or two; poked, it breaks apart. Too \
             dry: sprinkle water. Too wet: press it, or spread it out a while (common practice)."
                .to_owned(),
        );
        steps
    }

    fn order_of_work(&self, units: UnitSystem) -> Vec<String> {
        let mixing = &self.plan.mixes.mixing;
        let loads = |loads: &Loads| count(loads.count, "load", "loads");
        let mut items: Vec<String> = Vec::new();
        for work in &mixing.order {
            match *work {
                Work::MixBase(index) => {
                    let base = &mixing.bases[index];
                    let draws: Vec<String> = base
                        .draws
                        .iter()
                        .enumerate()
                        .map(|(place, draw)| {
                            let last = place + 1 == base.draws.len();
                            let much = if last { "the rest".to_owned() } else { self.drawn(draw.amount, units) };
                            let ready = mixing.batches[draw.batch].loads.is_none();
                            format!("{much} for batch {}{}", number(draw.batch), if ready { " (ready)" } else { "" })
                        })
                        .collect();
                    items.push(format!(
                        "Mix the shared base of {}, {}, and draw off {}.",
                        self.recipe_name(base),
                        loads(&base.loads),
                        and(&draws)
                    ));
                }
                Work::Draw { .. } => {}
                Work::Finish(index) => {
                    if let Some(found) = &mixing.batches[index].loads {
                        let loads = if found.count > 1 { format!(", {}", loads(found)) } else { String::new() };
                        items.push(format!("Finish batch {} from its share of the base{loads}.", number(index)));
                    }
                }
                Work::Mix(index) => {
                    if let Some(found) = &mixing.batches[index].loads {
                        items.push(format!("Mix batch {}: {}.", number(index), loads(found)));
                    }
                }
            }
        }
        items
    }

    fn recipe_name(&self, base: &Base) -> &str {
        self.week.map_or(&self.plan.title, |week| &week.recipe(base.recipe).name)
    }

    /// `15 1/2 scoops (31 L)`.
    fn drawn(&self, share: FromBase, units: UnitSystem) -> String {
        let litres = amount(share.mixed, Litres::Needed, units);
        share.quarters.map_or(litres.clone(), |quarters| format!("{} ({litres})", scoops_of(quarters)))
    }

    fn base(&self, document: &mut Document, base: &Base, units: UnitSystem) {
        let batches: Vec<String> = base.draws.iter().map(|draw| number(draw.batch)).collect();
        document.subheading(format!("Shared base of {}, for batches {}", self.recipe_name(base), and(&batches)));
        let load = &base.loads.load;
        let loose = amount(load.loose, Litres::Needed, units);
        document.paragraph(match base.loads.count {
            1 => format!("One load of {loose}."),
            many => format!("{many} loads of {loose} each, tipped together on a clean sheet."),
        });
        document.table(self.load_table(&base.loads, None, units));
        document.paragraph(self.water(&base.loads, units));
        let mut table = Table::new(&["draw off, in this order", ">scoops", ">about", ">share of the heap", "then"]);
        for (place, draw) in base.draws.iter().enumerate() {
            let last = place + 1 == base.draws.len();
            let scoops = draw.amount.quarters.map(quartered).unwrap_or_default();
            table.row([
                format!("batch {}", number(draw.batch)),
                if last { "the rest".to_owned() } else { scoops },
                amount(draw.amount.mixed, Litres::Needed, units),
                percent(draw.share),
                if self.plan.mixes.mixing.batches[draw.batch].loads.is_some() { "to be finished" } else { "ready" }
                    .to_owned(),
            ]);
        }
        document.table(table);
        document.paragraph(format!(
            "Blended, the heap comes to about {}. If it comes to less or more, keep to the shares.",
            amount(base.made_loose * base.kept, Litres::Given, units)
        ));
    }

    /// What one load takes, in the order of mixing.
    fn load_table(&self, loads: &Loads, batch: Option<&Batch>, units: UnitSystem) -> Table {
        let mut table =
            Table::new(&["in this order", ">parts", ">scoops", ">a load", ">or", ">in all", ">share", ">wanted"]);
        let in_all = |text: String| if loads.count > 1 { text } else { String::new() };
        let mut rows: Vec<(Stage, [String; 8])> = Vec::new();
        let weights: Vec<f64> = loads.load.measures.iter().map(|measure| to_litres(measure.loose)).collect();
        let sum = in_litres(weights.iter().sum());
        let (each, _) = printed_parts(sum, &weights, units);
        let (all, _) = printed_parts(sum * loads.count as f64, &weights, units);
        for ((measure, each), all) in loads.load.measures.iter().zip(each).zip(all) {
            let parts = batch.and_then(|batch| {
                batch.ingredients.iter().find(|part| part.ingredient == measure.ingredient).map(|part| part.parts)
            });
            let exact = measure.off().abs() < 5e-4;
            rows.push((
                measure.ingredient.stage(false),
                [
                    measure.ingredient.name.clone(),
                    parts.map(|parts| parts.to_string()).unwrap_or_default(),
                    measure.quarters.map(quartered).unwrap_or_default(),
                    each,
                    String::new(),
                    in_all(all),
                    if exact { String::new() } else { percent(measure.share) },
                    if exact { String::new() } else { percent(measure.wanted) },
                ],
            ));
        }
        for dose in &loads.load.doses {
            let (main, other) = dose_words(dose.amount, dose.spoon, units);
            let spoons = self.spoons(dose);
            let all = dose_words(dose.amount.times(loads.count as f64), dose.spoon, units).0;
            let rate = batch.and_then(|batch| batch.doses.iter().find(|known| known.ingredient == dose.ingredient));
            let name = dose.ingredient.name.as_str();
            rows.push((
                dose.ingredient.stage(true),
                [
                    rate.map_or(name.to_owned(), |rate| format!("{name} ({})", self.rate(rate))),
                    String::new(),
                    String::new(),
                    main,
                    spoons.unwrap_or(other),
                    in_all(all),
                    String::new(),
                    String::new(),
                ],
            ));
        }
        rows.sort_by_key(|(stage, _)| *stage);
        rows.into_iter().for_each(|(_, row)| table.row(row));
        table.without_empty_columns()
    }

    /// A dose by weight in spoons, where its density is known.
    fn spoons(&self, dose: &LoadDose) -> Option<String> {
        let Quantity::Mass(mass) = dose.amount else { return None };
        let density = dose.ingredient.dry_density?;
        let volume = in_litres(mass.get::<gram>() / density.get::<gram_per_litre>());
        Some(spoons(volume, Spoon::Tablespoon))
    }

    /// Water and weight of a load.
    fn water(&self, loads: &Loads, units: UnitSystem) -> String {
        let each = if loads.count > 1 { " a load" } else { "" };
        let target = format!("{} % moisture by weight", plain(WANTED.middle * 100.0, 0));
        let mut words = match &loads.load.moistening {
            Moistening::Nothing => String::new(),
            Moistening::ByHand => "Water: by the hand test; a mix this heavy has no figure by weight.".to_owned(),
            Moistening::Unknown(ids) => {
                format!("Water: by the hand test; the dry and moist densities of {} are not known.", self.names(ids))
            }
            Moistening::Press(over) => format!(
                "Water: none. As the ingredients usually come, about {}{each} too much is in them for {target}: press or \
                 drain the wettest first.",
                amount(*over, Litres::Given, units)
            ),
            Moistening::Add { least, about, most } => format!(
                "Water: about {}{each} for {target} ({} to {}, depending on how moist the ingredients are); add the last of it bit by \
                 bit.",
                amount(*about, Litres::Given, units),
                if to_litres(*least) > 0.0 { amount(*least, Litres::Given, units) } else { "none".to_owned() },
                amount(*most, Litres::Given, units)
            ),
        };
        if let Some(wet) = loads.load.wet {
            let gap = if words.is_empty() { "" } else { " " };
            let kilograms = plain(wet.get::<kilogram>(), if wet.get::<kilogram>() < 10.0 { 1 } else { 0 });
            words += &format!("{gap}Moist, a load weighs about {kilograms} kg.");
        }
        words
    }

    /// How one batch is made.
    pub(in crate::report) fn making(&self, document: &mut Document, index: usize, batch: &Batch, units: UnitSystem) {
        let mixing = &self.plan.mixes.mixing;
        let made = &mixing.batches[index];
        let vessels = mixing.vessels;
        let Some(base) = made.base else {
            if vessels.tub.is_none() && vessels.scoop.is_none() {
                document.table(self.measures(batch, units));
            } else if let Some(loads) = &made.loads {
                document.paragraph(load_words(loads, made, units));
                document.table(self.load_table(loads, Some(batch), units));
            }
            if let Some(loads) = &made.loads {
                document.paragraph(self.water(loads, units));
            }
            return;
        };
        let draw = mixing.bases[base].draws.iter().find(|draw| draw.batch == index);
        let last = mixing.bases[base].draws.last().is_some_and(|draw| draw.batch == index);
        let drawn = draw.map(|draw| self.drawn(draw.amount, units)).unwrap_or_default();
        let drawn = if last { format!("the rest, about {drawn}") } else { drawn };
        match &made.loads {
            None => {
                document.paragraph(format!("All of it is shared base: draw off {drawn}. {}", over_words(made, units)))
            }
            Some(loads) => {
                let share = if loads.count > 1 {
                    let each = loads.load.from_base.map(|share| self.drawn(share, units)).unwrap_or_default();
                    format!(", in {} loads with {each} each", loads.count)
                } else {
                    String::new()
                };
                let turn = match (batch.composition.sieve, loads.load.measures.is_empty()) {
                    (None, _) => ", and turn in what stands below",
                    (Some(_), true) => ", sieve it, and turn in what stands below",
                    (Some(_), false) => {
                        ", turn in the parts that stand below, sieve all of it, and then turn in the doses"
                    }
                };
                document.paragraph(format!(
                    "Of the shared base draw off {drawn}{share}{turn}. {}",
                    over_words(made, units)
                ));
                document.table(self.load_table(loads, Some(batch), units));
                document.paragraph(self.water(loads, units));
            }
        }
        let (shares, _) = printed_shares(batch, units);
        let held: Vec<String> = batch
            .ingredients
            .iter()
            .zip(shares)
            .map(|(part, share)| format!("{share} {} ({})", part.ingredient.name.as_str(), part.parts))
            .collect();
        document.paragraph(format!("It holds, loose and in parts: {}.", and(&held)));
    }

    /// What packing models expect of the yield.
    pub(in crate::report) fn packing(&self, document: &mut Document) {
        let items: Vec<String> = self
            .plan
            .mixes
            .batches
            .iter()
            .map(|batch| {
                let coarse: f64 = batch
                    .ingredients
                    .iter()
                    .filter(|part| part.ingredient.coarse)
                    .map(|part| to_litres(part.loose))
                    .sum::<f64>()
                    / to_litres(batch.volumes.loose);
                let kept = expected_yield(coarse);
                let whole = |share: f64| plain(share * 100.0, 0);
                format!(
                    "{}: {} % is coarse, so models of packing expect {} to {} % to be kept; reckoned with is {} %.",
                    batch.name,
                    whole(coarse),
                    whole(kept.least),
                    whole(kept.most),
                    whole(batch.volumes.yield_.to_f64())
                )
            })
            .collect();
        document.subheading("What packing says of the yield");
        document.list(items);
        document.paragraph(
            "The lower figure is the limit model (Furnas; Spomer 1974, from memory), with 40 % of gaps between coarse \
             grains; the upper the linear packing model with fine grains a third as wide. Moisture and pressing are in \
             neither: a bucket test wins over both.",
        );
    }
}

fn over_words(made: &BatchMixing, units: UnitSystem) -> String {
    let all = amount(made.made, Litres::Needed, units);
    if to_litres(made.over) < 0.005 {
        format!("It makes {all}.")
    } else {
        format!("It makes {all}, {} more than needed.", amount(made.over, Litres::Needed, units))
    }
}

fn load_words(loads: &Loads, made: &BatchMixing, units: UnitSystem) -> String {
    let loose = amount(loads.load.loose, Litres::Needed, units);
    let loads = match loads.count {
        1 => format!("One load of {loose} loose."),
        many => format!("{many} loads of {loose} loose each."),
    };
    format!("{loads} {}", over_words(made, units))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarters_read_like_speech() {
        let all: Vec<String> = [0, 1, 2, 4, 5, 35].into_iter().map(scoops_of).collect();
        assert_eq!(all, ["0 scoop", "1/4 scoop", "1/2 scoop", "1 scoop", "1 1/4 scoops", "8 3/4 scoops"]);
    }
}
