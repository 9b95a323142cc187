//! One load: its table, its water, and shares of a base by the scoop.

use crate::catalogue::{Role, Stage};
use crate::exact::whole;
use crate::plan::{
    Batch, BatchMixing, DoseAmount, FromBase, Loads, MIX_OF_WATER, Measure, Moistening, QUARTERS, Vessels,
};
use crate::report::document::Table;
use crate::report::words::{and, basis_words, fact, given, needed, whole_percent};
use crate::units::customary::KILOGRAM;
use crate::units::mass::kilogram;
use crate::units::volume::us_cup;
use crate::units::{
    Liquid, Rounding, Spoon, UnitSystem, Volume, by_spoon, dosed, in_column, plain, quarters, to_litres,
};

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

/// ` of 1/4 L`: a scoop that is not the one at hand.
pub(super) fn of_other(scoop: Option<Volume>, vessels: &Vessels, units: UnitSystem) -> String {
    let other = scoop.filter(|scoop| Some(*scoop) != vessels.scoop);
    other.map_or_else(String::new, |scoop| match units {
        UnitSystem::Metric if to_litres(scoop) < 0.2 => format!(" of {} mL", plain(to_litres(scoop) * 1000.0, 0)),
        UnitSystem::Metric => format!(" of {} L", quarters(whole((to_litres(scoop) * QUARTERS).round()))),
        UnitSystem::Us if scoop.get::<us_cup>() < 4.0 => format!(" of {} cups", plain(scoop.get::<us_cup>(), 2)),
        UnitSystem::Us => format!(" of {}", fact(scoop, units)),
    })
}

/// `15 1/2 scoops (31 L)`.
pub(super) fn drawn(share: FromBase, vessels: &Vessels, units: UnitSystem) -> String {
    let litres = needed(share.mixed, units);
    let other = of_other(share.scoop, vessels, units);
    share.quarters.map_or(litres.clone(), |quarters| format!("{}{other} ({litres})", scoops(quarters)))
}

/// `lime (2 g/L of peat)`.
pub(super) fn dose_name(dose: &DoseAmount, units: UnitSystem) -> String {
    let rate = dose.rate.shown(units);
    format!("{} ({rate}{})", dose.ingredient.name, basis_words(&dose.basis).unwrap_or_default())
}

/// What one load takes, in the order of mixing.
pub(super) fn load_table(loads: &Loads, batch: Option<&Batch>, vessels: &Vessels, units: UnitSystem) -> Table {
    let column = |times: f64| {
        let litres = loads.load.measures.iter().map(|measure| to_litres(measure.loose) * times);
        in_column(&litres.collect::<Vec<_>>(), units)
    };
    let (each, all) = (column(1.0), column(loads.count as f64));
    let measures = loads.load.measures.iter().zip(each.cells().zip(all.cells()));
    let other = of_other(loads.load.scoop, vessels, units);
    let row = |measure, cells| part_row(measure, batch, &other, cells);
    let measures = measures.map(|(measure, cells)| (measure.ingredient.stage(false), row(measure, cells)));
    let doses = loads.load.doses.iter();
    let doses = doses.map(|dose| (dose.ingredient.stage(true), dose_row(dose, batch, loads.count, units)));
    let mut rows: Vec<(Stage, [String; 8])> = measures.chain(doses).collect();
    rows.sort_by_key(|(stage, _)| *stage);
    if loads.count == 1 {
        rows.iter_mut().for_each(|(_, row)| row[5].clear());
    }
    let columns = ["in this order", ">parts", ">scoops", ">a load", ">or", ">in all", ">share", ">wanted"];
    Table::of(columns, rows.into_iter().map(|(_, row)| row)).without_empty_columns()
}

fn part_row(measure: &Measure, batch: Option<&Batch>, other: &str, (each, all): (String, String)) -> [String; 8] {
    let part = batch.and_then(|batch| batch.ingredients.iter().find(|part| part.ingredient == measure.ingredient));
    let percent = |share: f64| if measure.is_exact() { String::new() } else { format!("{:.1} %", share * 100.0) };
    [
        measure.ingredient.name.clone(),
        part.map(|part| part.parts.to_string()).unwrap_or_default(),
        measure.quarters.map(|count| quarters(count) + other).unwrap_or_default(),
        each,
        String::new(),
        all,
        percent(measure.share),
        percent(measure.wanted),
    ]
}

fn dose_row(dose: &DoseAmount, batch: Option<&Batch>, count: u64, units: UnitSystem) -> [String; 8] {
    let (main, other) = dosed(dose.amount, dose.rate.spoon(), units);
    let (all, _) = dosed(dose.amount.times(count as f64), dose.rate.spoon(), units);
    // What is weighed is told in spoons where its density is known.
    let other = dose.loose().map_or(other, |loose| by_spoon(loose, Spoon::Tablespoon, Rounding::Up));
    let name = batch.map_or_else(|| dose.ingredient.name.clone(), |_| dose_name(dose, units));
    [name, String::new(), String::new(), main, other, all, String::new(), String::new()]
}

/// Water that does not matter, of the loose volume of a load.
const NO_MATTER: f64 = 0.005;
/// The same of what is left when the coir is squeezed.
const NO_MATTER_BEYOND: f64 = 0.02;

/// How to take water out of a load that has so much too much, and what a hand can press out of it.
fn press_words(pressed_out: Volume, (too_much, hardly_any): (Volume, Volume), how: &str, units: UnitSystem) -> String {
    let stays = too_much - pressed_out;
    if to_litres(pressed_out) <= 0.0 {
        "by hand it gives no more; spread it out a while".to_owned()
    } else if stays < hardly_any {
        how.to_owned()
    } else {
        format!(
            "{how} (about {} come out); about {} too much stays in it: spread it out a while",
            litres(pressed_out, units),
            litres(stays, units)
        )
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

/// Water of what a batch presses into blocks, where no load has it.
pub(super) fn blocks_water(made: &BatchMixing, batch: &Batch, units: UnitSystem) -> Option<String> {
    let wet = made.loads.as_ref().is_some_and(|loads| loads.load.moistening.is_of_trays_alone());
    let first = if wet {
        "The blocks take"
    } else if batch.pressed < 1.0 {
        "Fill the trays first; the rest then takes"
    } else {
        "Drawn off, it takes"
    };
    let about = made.blocks_water;
    (to_litres(about) >= 0.005)
        .then(|| format!("{first} about {} more water, in all {}", litres(about, units), as_blocks_want()))
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
        Moistening::Water { least, about, most, moisture, pressed_out, of } => {
            let target = format!("{} moisture by weight", whole_percent(moisture));
            let is_coir = loads.load.measures.iter().any(|measure| measure.ingredient.is(Role::Coir));
            let is_right = to_litres(about).abs() < NO_MATTER * to_litres(loads.load.loose);
            Some(if is_right {
                format!("Water: none. As it comes it is at about {target}; the hand test has the last word.")
            } else if to_litres(about) > 0.0 {
                let least = if to_litres(least) > 0.0 { litres(least) } else { "none".to_owned() };
                format!(
                    "Water: about {}{each} for {target} ({least} to {}, as the ingredients come); add the last of it bit \
                     by bit.",
                    litres(about),
                    litres(most)
                )
            } else {
                let (how, for_what) = match (of < 1.0, is_coir) {
                    (true, _) => {
                        ("squeeze it by the handful", "Take off first what is pressed into blocks; of the rest, for")
                    }
                    (false, true) => ("squeeze the coir by hand as it goes in", "For"),
                    (false, false) => ("press the wettest first", "For"),
                };
                let hardly_any = loads.load.loose * (NO_MATTER_BEYOND * of);
                let press = press_words(pressed_out, (-about, hardly_any), how, units);
                let to = if to_litres(most) > 0.0 { "to none" } else { &format!("to {}", litres(most)) };
                format!(
                    "Water: none. {for_what} {target} about {}{each} too much is in it ({} {to}, as the ingredients come): \
                     {press}.",
                    litres(about),
                    litres(least)
                )
            })
        }
    };
    let weight = loads.load.wet.map(|wet| {
        let [about, most] = [wet.about, wet.most].map(|wet| {
            let kilograms = wet.get::<kilogram>();
            KILOGRAM.shown(kilograms, [10.0, 1.0, 0.1].into_iter().filter(|kg| kilograms < *kg).count(), units)
        });
        let range = if most == about { String::new() } else { format!(", at most {most}") };
        format!("Moist, a load weighs about {about}{range}.")
    });
    water.into_iter().chain(weight).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
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
        let press = |pressed_out: f64, too_much: f64| {
            press_words(in_litres(pressed_out), (in_litres(too_much), in_litres(1.0)), "squeeze it", UnitSystem::Metric)
        };
        assert_eq!([press(5.0, 5.0), press(5.0, 5.9)], ["squeeze it", "squeeze it"]);
        assert_eq!(
            press(5.0, 6.5),
            "squeeze it (about 5 L come out); about 1.5 L too much stays in it: spread it out a while"
        );
        assert!(press(0.0, 0.4).starts_with("by hand it gives no more"));
    }

    #[test]
    fn a_share_without_a_scoop_is_given_in_litres() {
        let share = FromBase { loose: in_litres(12.0), mixed: in_litres(10.0), quarters: None, scoop: None };
        let vessels = Vessels { scoop: Some(in_litres(2.0)), ..Vessels::default() };
        let words = |share| drawn(share, &vessels, UnitSystem::Metric);
        assert_eq!(words(share), "10 L");
        let by = |scoop| FromBase { quarters: Some(22), scoop: Some(in_litres(scoop)), ..share };
        assert_eq!(words(by(2.0)), "5 1/2 scoops (10 L)");
        assert_eq!(words(by(0.25)), "5 1/2 scoops of 1/4 L (10 L)");
        assert_eq!(words(by(0.1)), "5 1/2 scoops of 100 mL (10 L)");
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
