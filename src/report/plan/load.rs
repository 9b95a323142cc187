//! One load: its table, its water, and shares of a base by the scoop.

use crate::catalogue::{Handle, Ingredient, Role, Stage};
use crate::plan::{Base, Batch, BatchMixing, DoseAmount, FromBase, Loads, MIX_OF_WATER, Moistening, Scoop};
use crate::report::document::Table;
use crate::report::picture::{Drawn, Picture, Share};
use crate::report::words::{and, basis_words, given, lifted, needed, whole_percent};
use crate::units::mass::kilogram;
use crate::units::{
    Liquid, Rounding, Spoon, UnitSystem, Volume, by_spoon, dosed, in_column, plain, quarters, to_litres,
};
use std::collections::BTreeSet;

/// `One load of 5 L loose`, `3 loads of 5 L loose each`.
pub(super) fn loads_of(loads: &Loads, loose: &str, units: UnitSystem) -> String {
    let litres = needed(loads.load.loose, units);
    match loads.count {
        1 => format!("One load of {litres}{loose}"),
        many => format!("{many} loads of {litres}{loose} each"),
    }
}

fn scoops(count: u64) -> String {
    format!("{} {}", quarters(count), if count <= 4 { "scoop" } else { "scoops" })
}

/// ` of 1/4 L`: a scoop that is not the one at hand, by the name of what is measured with it, whatever the units.
pub(super) fn of_other(scoop: Option<Scoop>) -> String {
    scoop.and_then(|scoop| scoop.name).map_or_else(String::new, |name| format!(" of {name}"))
}

/// `15 1/2 scoops (31 L)`.
pub(super) fn drawn(share: FromBase, units: UnitSystem) -> String {
    let litres = needed(share.mixed, units);
    let other = of_other(share.scoop);
    share.quarters.map_or(litres.clone(), |quarters| format!("{}{other} ({litres})", scoops(quarters)))
}

/// `lime (2 g/L of peat)`.
pub(super) fn dose_name(dose: &DoseAmount, units: UnitSystem) -> String {
    let rate = dose.rate.shown(units);
    format!("{} ({rate}{})", dose.ingredient.name, basis_words(&dose.basis).unwrap_or_default())
}

/// The sieve that all of a batch goes through once its parts are in.
pub(super) struct Sieving<'b> {
    /// `through a 6 mm sieve`.
    pub through: String,
    /// What stays on it.
    pub loss: String,
    /// The doses that go in after it.
    pub waiting: BTreeSet<&'b Handle<Ingredient>>,
}

impl Sieving<'_> {
    /// The work as a row of so many cells.
    pub fn row<const CELLS: usize>(&self) -> [String; CELLS] {
        let mut row = [const { String::new() }; CELLS];
        row[0] = format!("put all {}", self.through);
        row
    }
}

/// What one load takes, in the order of mixing: the ingredient, scoops as they are written, amounts
/// of a load and of all. The first list is what goes in before the sieve, the second what waits for it.
fn rows(
    loads: &Loads,
    batch: Option<&Batch>,
    sieving: Option<&Sieving<'_>>,
    written: impl Fn(u64) -> String,
    units: UnitSystem,
) -> [Vec<[String; 5]>; 2] {
    let column = |times: f64| {
        let litres = loads.load.measures.iter().map(|measure| to_litres(measure.loose) * times);
        in_column(&litres.collect::<Vec<_>>(), units)
    };
    let (each, all) = (column(1.0), column(loads.count as f64));
    let measures = loads.load.measures.iter().zip(each.cells().zip(all.cells()));
    let measures = measures.map(|(measure, (each, all))| {
        let scoops = measure.quarters.map(&written).unwrap_or_default();
        let id = &measure.ingredient;
        ((false, id.stage(false)), [id.name.clone(), scoops, each, String::new(), all])
    });
    let doses = loads.load.doses.iter();
    let waits = |dose: &DoseAmount| sieving.is_some_and(|sieving| sieving.waiting.contains(&dose.ingredient));
    let doses =
        doses.map(|dose| ((waits(dose), dose.ingredient.stage(true)), dose_row(dose, batch, loads.count, units)));
    let mut rows: Vec<((bool, Stage), [String; 5])> = measures.chain(doses).collect();
    rows.sort_by_key(|(stage, _)| *stage);
    if loads.count == 1 {
        rows.iter_mut().for_each(|(_, row)| row[4].clear());
    }
    let after = rows.split_off(rows.partition_point(|((waits, _), _)| !waits));
    [rows, after].map(|rows| rows.into_iter().map(|(_, row)| row).collect())
}

/// What one load takes as a table.
pub(super) fn load_table(
    loads: &Loads,
    batch: Option<&Batch>,
    sieving: Option<&Sieving<'_>>,
    units: UnitSystem,
) -> Table {
    let columns = ["in this order", ">scoops", ">a load", ">or", ">in all"];
    let other = of_other(loads.load.scoop);
    let [rows, after] = rows(loads, batch, sieving, |count| quarters(count) + &other, units);
    Table::of(columns, rows.into_iter().chain(sieving.map(Sieving::row)).chain(after)).without_empty_columns()
}

/// A load as a bar: what comes off a base first, then what is added.
pub(super) fn load_picture(loads: &Loads, base: Option<(String, Volume)>, units: UnitSystem) -> Picture {
    let other = of_other(loads.load.scoop);
    let base = base.map(|(amount, loose)| Share { name: "base".to_owned(), amount, size: to_litres(loose) });
    let parts = loads.load.measures.iter().map(|measure| Share {
        name: measure.ingredient.name.clone(),
        amount: measure.quarters.map_or_else(|| needed(measure.loose, units), |count| quarters(count) + &other),
        size: to_litres(measure.loose),
    });
    let shares: Vec<Share> = base.into_iter().chain(parts).collect();
    let says = and(shares.iter().map(|share| format!("{} {}", share.name, share.amount)));
    Picture { says: format!("A load: {says}"), of: Drawn::Load(shares) }
}

/// The same in words, where it is one load of little more than a base: `2 1/2 scoops (5.0 L) of castings`, and what
/// waits for the sieve.
pub(super) fn load_words(loads: &Loads, sieving: Option<&Sieving<'_>>, units: UnitSystem) -> Option<[String; 2]> {
    const FEW: usize = 3;
    let other = of_other(loads.load.scoop);
    let rows = rows(loads, None, sieving, |count| scoops(count) + &other, units);
    let words = |[name, scoops, each, or, _]: &[String; 5]| match (scoops.is_empty(), or.is_empty()) {
        (false, _) => format!("{scoops} ({each}) of {name}"),
        (true, true) => format!("{each} of {name}"),
        (true, false) => format!("{each} ({or}) of {name}"),
    };
    let is_short = loads.count == 1 && rows.iter().flatten().count() <= FEW;
    is_short.then(|| rows.each_ref().map(|rows| and(rows.iter().map(words))))
}

fn dose_row(dose: &DoseAmount, batch: Option<&Batch>, count: u64, units: UnitSystem) -> [String; 5] {
    let (main, other) = dosed(dose.amount, dose.rate.spoon(), units);
    let (all, _) = dosed(dose.amount.times(count as f64), dose.rate.spoon(), units);
    // What is weighed is told in spoons where its density is known.
    let other = dose.loose().map_or(other, |loose| by_spoon(loose, Spoon::Tablespoon, Rounding::Up));
    let name = batch.map_or_else(|| dose.ingredient.name.clone(), |_| dose_name(dose, units));
    [name, String::new(), main, other, all]
}

/// A lighter load is lifted without a thought.
const TOLD_KG: f64 = 5.0;
/// Water that does not matter, of the loose volume of a load.
const NO_MATTER: f64 = 0.005;
/// The same of what is too much, or left when the coir is squeezed.
const NO_MATTER_BEYOND: f64 = 0.02;

/// How to take water out of a load that has so much too much, as far as a hand can press it out.
fn press_words(
    pressed_out: Volume,
    (too_much, hardly_any): (Volume, Volume),
    how: impl Fn(Volume) -> String,
) -> String {
    if to_litres(pressed_out) <= 0.0 {
        "by hand it gives no more; spread it out a while".to_owned()
    } else if too_much - pressed_out < hardly_any {
        how(pressed_out)
    } else {
        format!("{}; if the mix still fails the hand test, spread it out", how(pressed_out))
    }
}

/// Litres of water; a pinch of mix takes a spoon of it.
fn litres(volume: Volume, units: UnitSystem) -> String {
    match (units, to_litres(volume.abs())) {
        (UnitSystem::Metric, litres) if litres < 0.1 => format!("{} mL", plain(litres * 1000.0, 0)),
        _ => given(Liquid(volume.abs()), units),
    }
}

fn as_blocks_want() -> String {
    format!("one part to {MIX_OF_WATER:.0} of mix, as soil blocks want it; the last of it by the hand test.")
}

/// What of a batch to take off for soil blocks, and its water, where no load has it; `base` is what it shares with others.
pub(super) fn blocks_water(
    made: &BatchMixing,
    base: Option<&Base>,
    batch: &Batch,
    units: UnitSystem,
) -> Option<String> {
    let mut loads = made.loads.as_ref().into_iter().chain(base.map(|base| &base.loads));
    let by_hand = loads.any(|loads| matches!(loads.load.moistening, Moistening::ByHand | Moistening::Unknown(_)));
    let wet = made.loads.as_ref().filter(|loads| loads.load.moistening.is_of_trays_alone());
    let for_blocks = |loads: &Loads| {
        let each = given(made.made * (batch.pressed / loads.count as f64), units);
        let of = if loads.count > 1 { " of each load" } else { "" };
        format!("First take off {each}{of} for the blocks")
    };
    let about = made.blocks_water;
    if to_litres(about) < 0.005 {
        return wet.map(|loads| for_blocks(loads) + ".");
    }
    let first = match wet {
        Some(loads) => for_blocks(loads) + ": they take",
        None if batch.pressed < 1.0 => "Fill the trays first; the rest then takes".to_owned(),
        None => "Drawn off, it takes".to_owned(),
    };
    let how_much = match litres(about, units) {
        about if by_hand => format!("up to {about} of water, with what it had by hand,"),
        about => format!("about {about} more water, in all"),
    };
    Some(format!("{first} {how_much} {}", as_blocks_want()))
}

/// The water of a load by weight, with its range, and the moisture that it is for.
pub(super) fn water_range(loads: &Loads, units: UnitSystem) -> Option<String> {
    let Moistening::Water { least, about, most, moisture, pressed_out, .. } = loads.load.moistening else {
        return None;
    };
    let by_hand = Some(pressed_out).filter(|pressed| to_litres(*pressed) > 0.0 && to_litres(*pressed + about) < -0.005);
    let by_hand = by_hand.map(|pressed| format!("; by hand {} comes out, the rest dries off", litres(pressed, units)));
    let by_hand = by_hand.unwrap_or_default();
    let each = if loads.count > 1 { " a load" } else { "" };
    let is_too_much = to_litres(about) < 0.0;
    let to_do = if is_too_much { "too much is in it" } else { "to add" };
    let end = |end: Volume| match (to_litres(end) < 0.0) == is_too_much {
        true => litres(end, units),
        false => "none".to_owned(),
    };
    let (moisture, about) = (whole_percent(moisture), litres(about, units));
    Some(format!(
        "{moisture} moisture by weight, about {about}{each} {to_do} ({} to {}){by_hand}",
        end(least),
        end(most)
    ))
}

/// Water and weight of a load.
pub(super) fn water(loads: &Loads, units: UnitSystem) -> String {
    let each = if loads.count > 1 { " a load" } else { "" };
    let litres = |volume| litres(volume, units);
    let by_hand = |why: String| Some(format!("Water: by the hand test; {why}."));
    let water = match loads.load.moistening {
        Moistening::Nothing => None,
        Moistening::ByHand => by_hand("a mix this heavy has no figure by weight".to_owned()),
        Moistening::Unknown(ref ids) => by_hand(format!("the dry and moist densities of {} are not known", and(ids))),
        Moistening::Blocks { about } => Some(format!("Water: about {}{each}, {}", litres(about), as_blocks_want())),
        Moistening::Water { least, about, most, pressed_out, of, .. } => {
            let is_coir = loads.load.measures.iter().any(|measure| measure.ingredient.is(Role::Coir));
            let matters = if to_litres(about) < 0.0 { NO_MATTER_BEYOND } else { NO_MATTER };
            let is_right = to_litres(about).abs() < matters * to_litres(loads.load.loose);
            Some(if is_right {
                "Water: none.".to_owned()
            } else if to_litres(about) > 0.0 {
                let least = if to_litres(least) > 0.0 { litres(least) } else { "none".to_owned() };
                format!("Water: about {}{each} ({least} to {}), the last bit by bit.", litres(about), litres(most))
            } else {
                let [what, of_what] = match (of < 1.0, is_coir) {
                    (true, _) => ["squeeze", "what is filled into trays, by the handful"],
                    (false, true) => ["squeeze", "the coir as it goes in"],
                    (false, false) => ["press", "it, the wettest first"],
                };
                let how = |much: Volume| format!("{what} about {}{each} out of {of_what}", litres(much));
                let hardly_any = loads.load.loose * (NO_MATTER_BEYOND * of);
                format!("Add no water: {}.", press_words(pressed_out, (-about, hardly_any), how))
            })
        }
    };
    let heavy = loads.load.wet.filter(|wet| wet.most.get::<kilogram>() >= TOLD_KG);
    let weight = heavy.map(|wet| {
        let (about, most) = (lifted(wet.about, Rounding::Near, units), lifted(wet.most, Rounding::Up, units));
        let about = match wet.most == wet.about {
            true => about,
            false => format!("{} to {most}", about.split(' ').next().unwrap_or_default()),
        };
        format!("Moist: {about}{each}.")
    });
    water.into_iter().chain(weight).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::plan::Load;
    use crate::recipe::Basis;
    use crate::units::{Quantity, in_litres};
    #[test]
    fn quarters_read_like_speech() {
        let all: Vec<String> = [0, 1, 2, 4, 5, 35].into_iter().map(scoops).collect();
        assert_eq!(all, ["0 scoop", "1/4 scoop", "1/2 scoop", "1 scoop", "1 1/4 scoops", "8 3/4 scoops"]);
    }

    /// Of 50 L less than 1 L, 2 %, is not spoken of.
    #[test]
    fn what_hardly_stays_is_not_told() {
        let how = |_| "squeeze it".to_owned();
        let press = |pressed_out: f64, too_much: f64| {
            press_words(in_litres(pressed_out), (in_litres(too_much), in_litres(1.0)), how)
        };
        assert_eq!([press(5.0, 5.0), press(5.0, 5.9)], ["squeeze it", "squeeze it"]);
        assert_eq!(press(5.0, 6.5), "squeeze it; if the mix still fails the hand test, spread it out");
        assert!(press(0.0, 0.4).starts_with("by hand it gives no more"));
        // Of a load of 10 L: less than 2 % too much, less than 0.5 % too little.
        let load = |about: f64| {
            let (about, pressed_out) = (in_litres(about), in_litres(-about));
            let moistening =
                Moistening::Water { least: about, about, most: about, moisture: 0.6, pressed_out, of: 1.0 };
            let (loose, measures, doses) = (in_litres(10.0), Vec::new(), Vec::new());
            let load = Load { loose, from_base: None, measures, scoop: None, doses, moistening, wet: None };
            water(&Loads { count: 1, load }, UnitSystem::Metric)
        };
        assert_eq!([load(-0.19), load(0.04)], ["Water: none.", "Water: none."]);
        assert!(load(-0.21).starts_with("Add no water: ") && load(0.06).starts_with("Water: about "));
    }

    #[test]
    fn a_share_without_a_scoop_is_given_in_litres() {
        let share = FromBase { loose: in_litres(12.0), mixed: in_litres(10.0), quarters: None, scoop: None };
        let words = |share| drawn(share, UnitSystem::Metric);
        assert_eq!(words(share), "10 L");
        let scoop = |name| Some(Scoop { volume: in_litres(0.25), name });
        let by = |name| FromBase { quarters: Some(22), scoop: scoop(name), ..share };
        assert_eq!(words(by(None)), "5 1/2 scoops (10 L)");
        assert_eq!(words(by(Some("1/4 L"))), "5 1/2 scoops of 1/4 L (10 L)");
    }

    #[test]
    fn a_dose_is_named_with_its_rate() {
        let catalogue = Catalogue::built_in();
        let [lime, peat] = ["lime", "peat"].map(|name| catalogue.ingredients.find(name).unwrap());
        let name = |rate: &str, basis| {
            let rate = crate::units::rate(rate).unwrap().value;
            let amount = Quantity::Volume(in_litres(0.0));
            dose_name(&DoseAmount { ingredient: lime.clone(), rate, basis, amount }, UnitSystem::Metric)
        };
        assert_eq!(name("2 g/L", Basis::Finished), "lime (2 g/L)");
        assert_eq!(name("2 g/L", Basis::Of(peat)), "lime (2 g/L of peat)");
        assert_eq!(name("3 mL/L", Basis::Loose), "lime (3 mL/L of loose ingredients)");
    }
}
