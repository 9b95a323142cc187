//! Words that several reports use: counts, lists, times and reasons.

use crate::catalogue::{Origin, Status, Tray};
use crate::coir::soak::{LONGEST_BATH_HOURS, LONGEST_RINSE_HOURS, Product};
use crate::coir::{Course, CourseStep, Salt, WETTING_L_PER_SOLD_KG, WaterHeld, dry_kg_of_sold};
use crate::exact::Fraction;
use crate::place::Taken;
use crate::plan::{Fitting, Soaking};
use crate::printable::within_a_line;
use crate::recipe::{Basis, Why};
use crate::stock::{Known, LogEntry};
use crate::units::mass::{gram, kilogram, pound};
use crate::units::{
    Assumption, Liquid, Mass, Measure, Rounding, Tally, UnitSystem, in_litres, plain, printed_in_ounces, quarters,
    rounded, whole_steps,
};
use jiff::ZonedDateTime;
use jiff::civil::Date;

/// What is taken where no crop is named.
pub(super) const NO_CROP: &str =
    "No crop is named: the mix is that of a host of mycorrhiza, without the recipe's changes for crops.";

/// What was taken from a place, and where that stands.
pub(super) fn from_place(taken: &Taken) -> String {
    format!("From the place `{}` ({}): {}.", taken.place, taken.file, taken.keys.join(", "))
}

/// `1 tray`, `6 trays`.
pub(super) fn count(number: u64, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `1 day`, `6 days`, `3-6 days`.
pub(super) fn span((least, most): (u32, u32), one: &str, many: &str) -> String {
    if least == most { count(most.into(), one, many) } else { format!("{least}-{most} {many}") }
}

/// What must not come out short: rounded up.
pub(super) fn needed(amount: impl Measure, units: UnitSystem) -> String {
    amount.shown(Rounding::Up, units)
}

/// What is there, or informs: rounded down.
pub(super) fn given(amount: impl Measure, units: UnitSystem) -> String {
    amount.shown(Rounding::Down, units)
}

/// A fact, to the nearest.
pub(super) fn fact(amount: impl Measure, units: UnitSystem) -> String {
    amount.shown(Rounding::Near, units)
}

/// What is lifted: tenths below ten kilograms or twenty pounds, whole ones above.
pub(super) fn lifted(mass: Mass, rounding: Rounding, units: UnitSystem) -> String {
    let (size, unit, whole_from) =
        units.either((mass.get::<kilogram>(), "kg", 10.0), (mass.get::<pound>(), "lb", 20.0));
    let decimals = [whole_from, 1.0, 0.1].into_iter().map(|from| u8::from(size < from)).sum();
    format!("{} {unit}", rounded(size, decimals, rounding))
}

/// Litres of water that must not be short.
pub(super) fn water(litres: f64, units: UnitSystem) -> String {
    needed(Liquid(in_litres(litres)), units)
}

/// Salt as it is weighed out, in grams: whole grams, tenths below ten; or as ounces and pounds are printed.
fn weighed(grams: f64, units: UnitSystem) -> f64 {
    let steps = if grams < 10.0 { 10.0 } else { 1.0 };
    match units {
        UnitSystem::Metric => whole_steps(grams * steps, Rounding::Up) / steps,
        UnitSystem::Us => printed_in_ounces(Mass::new::<gram>(grams)).get::<gram>(),
    }
}

/// Salt to weigh out.
pub(super) fn salt(grams: f64, units: UnitSystem) -> String {
    weighed_out(weighed(grams, units), units)
}

/// Grams that were rounded to be weighed.
pub(super) fn weighed_out(grams: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{} g", plain(grams, 1)),
        UnitSystem::Us => needed(Mass::new::<gram>(grams), units),
    }
}

/// The salts of a course in so many runs, by name: the grams that its baths come to, each as it is weighed out.
pub(super) fn salts_of(course: &Course, runs: u32, units: UnitSystem) -> Vec<(&str, f64)> {
    let runs = f64::from(runs);
    let baths = course.steps.iter().flat_map(CourseStep::salt_g);
    let weighed = baths.map(|(name, grams)| (name, weighed(grams / runs, units) * runs));
    weighed.collect::<Tally<_, _>>().into_iter().collect()
}

/// The grams of all of them.
pub(super) fn grams_of(course: &Course, runs: u32, units: UnitSystem) -> f64 {
    salts_of(course, runs, units).iter().fold(0.0, |sum, (_, grams)| sum + grams)
}

/// The salts in words.
pub(super) fn salts_to_weigh(course: &Course, runs: u32, units: UnitSystem) -> Option<String> {
    let salts = salts_of(course, runs, units);
    let words = salts.iter().map(|(name, grams)| format!("{} of {name}", weighed_out(*grams, units)));
    (!salts.is_empty()).then(|| and(words))
}

/// A tray by the name that it was given; that of the table is ours, and its size is told in the wanted
/// units.
pub(super) fn tray_name(tray: &Tray, units: UnitSystem) -> String {
    if tray.origin == Origin::Own { tray.name.clone() } else { units.prose(&tray.name) }
}

/// A batch by its name, of which the mesh is told in the wanted units.
pub(super) fn batch_name(name: &str, units: UnitSystem) -> String {
    match name.rsplit_once(", sieved ") {
        Some((others, mesh)) => format!("{others}, sieved {}", units.prose(mesh)),
        None => name.to_owned(),
    }
}

/// Parts as they are measured.
pub(super) fn parts_words(parts: Fraction) -> String {
    let whole = parts.times(Fraction::whole(4)).and_then(Fraction::to_u64);
    whole.map_or_else(|| parts.to_string(), quarters)
}

/// A share as `12 %`.
pub(super) fn whole_percent(share: f64) -> String {
    format!("{} %", plain(share * 100.0, 0))
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn and(items: impl IntoIterator<Item: AsRef<str>>) -> String {
    let mut words = String::new();
    let mut items = items.into_iter().peekable();
    while let Some(item) = items.next() {
        let joint = match (words.is_empty(), items.peek()) {
            (true, _) => "",
            (false, Some(_)) => ", ",
            (false, None) => " and ",
        };
        words = words + joint + item.as_ref();
    }
    words
}

/// `batch 1`, or `batches 1 and 2`, by their numbers.
pub(super) fn batches_of(batches: &[usize]) -> String {
    let numbers = and(batches.iter().map(usize::to_string));
    if batches.len() > 1 { format!("batches {numbers}") } else { format!("batch {numbers}") }
}

/// Keys of a file, as in `` `porosity:` and `water_held:` ``.
pub(crate) fn keys(names: &[&str]) -> String {
    and(names.iter().map(|name| format!("`{name}:`")))
}

/// With a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// With a small first letter, unless it is a name in capitals.
pub(super) fn uncapital(text: &str) -> String {
    let mut chars = text.chars();
    match (chars.next(), chars.next()) {
        (Some(first), Some(second)) if second.is_lowercase() || second == ' ' => {
            first.to_lowercase().chain(std::iter::once(second)).chain(chars).collect()
        }
        _ => text.to_owned(),
    }
}

/// `Sat 6 Mar 2027, 10:00`.
pub(super) fn day_and_hour(at: &ZonedDateTime) -> String {
    at.strftime("%a %-d %b %Y, %H:%M").to_string()
}

/// Why something is left out.
pub(super) fn why(why: &Why) -> String {
    let served = match why {
        Why::NotServed(Status::NonHost) => "no mycorrhiza there",
        Why::NotServed(Status::Variable) => "records of mycorrhiza disagree",
        Why::NotServed(Status::Ericoid) => "other fungi live there",
        Why::NotServed(Status::Orchid) => "orchid fungi live there",
        Why::NotServed(Status::Host) | Why::NotAmong => return "not among those it serves".to_owned(),
        Why::NotFor(Status::Ericoid) => return "an acid, poor mix is wanted".to_owned(),
        Why::NotFor(status) => return format!("{status} plants do not bear it"),
        Why::Asked => return "as the sowing says".to_owned(),
        Why::InPlugs => {
            return "the plugs have it; where not, `inoculated_plugs: no` gives it".to_owned();
        }
        Why::Change => return "as the recipe's change says".to_owned(),
        Why::NoneOf(base) => return format!("it is dosed on {}, and this mix has none", base.name),
        Why::Limed(part) => return format!("the {} is limed already", part.name),
    };
    format!("{served}, so no benefit is expected")
}

/// Per volume of what a dose is given, where that is not the finished mix.
pub(super) fn basis_words(basis: &Basis) -> Option<String> {
    match basis {
        Basis::Finished => None,
        Basis::Loose => Some(" of loose ingredients".to_owned()),
        Basis::Of(base) => Some(format!(" of {}", base.name)),
    }
}

/// What a bare unit was taken for.
pub(super) fn assumption(assumption: Assumption, units: UnitSystem) -> String {
    // By definition, in the units that are shown.
    let (unit, name, metric, us) = match assumption {
        Assumption::LiquidQuart => ("qt", "quart", "0.946 L", "57.75 cu in"),
        Assumption::LiquidGallon => ("gal", "gallon", "3.785 L", "231 cu in"),
        Assumption::LiquidPint => ("pt", "pint", "0.473 L", "28.875 cu in"),
        Assumption::UsBushel => {
            let size = units.either("35.24 L", "2150.42 cu in");
            return format!("A bare `bu` was taken as the US bushel ({size}); an imperial one is `imp bu`.");
        }
    };
    format!(
        "A bare `{unit}` was taken as the US liquid {name} ({}). A dry {name} is 16.4 % larger, an imperial one 20 %: \
         write `dry {unit}` or `imp {unit}` for these.",
        units.either(metric, us)
    )
}

/// Times at which nobody is there, and what they are of.
pub(super) fn outside_awake(what: &str, at: &ZonedDateTime) -> String {
    format!("{what} {}, when nobody is there (`awake:`, `not_on:`). It stands as stated.", day_and_hour(at))
}

/// A course that fits no day.
pub(super) fn no_time(fitting: Option<Fitting>, units: UnitSystem) -> String {
    let helps = fits(fitting, units);
    format!(
        "No times fit the course of the coir: each step and each drain must begin within `awake:`, off the days of \
         `not_on:`, with baths of at most {LONGEST_BATH_HOURS} h, and wetting, washes and rinses of at most \
         {LONGEST_RINSE_HOURS} h. {helps}"
    )
}

/// What fits the hours in which somebody is there, where a course does not.
pub(super) fn fits(fitting: Option<Fitting>, units: UnitSystem) -> String {
    match fitting {
        Some(Fitting::Course(wetting, soaks, rinses)) => {
            format!("This course fits: `hydrate: {wetting}`, `soaks: {soaks}` and `rinses: {rinses}` under `soak:`.")
        }
        Some(Fitting::Tub(litres)) => format!("A tub of {}, for one run, fits.", water(litres, units)),
        None => "Longer hours under `awake:` help, or one more day of them.".to_owned(),
    }
}

/// What to beware of with a salt, if anything.
pub(super) fn salt_safety(salt: &Salt) -> Option<String> {
    let words = salt.cautions();
    (!words.is_empty()).then(|| format!("{}: {}.", capital(&salt.name), words.join("; ")))
}

/// How coir that needs no bath is wetted: bricks or blocks of a weight each, or so much dry coir; as a mix wants it,
/// or by its label.
pub(super) fn wetting(product: Option<&Product>, dry_kg: f64, for_mix: Option<WaterHeld>, units: UnitSystem) -> String {
    let sold_kg = product.map_or(dry_kg / dry_kg_of_sold(1.0), |product| product.kg);
    let [least, most] = WETTING_L_PER_SOLD_KG.map(|litres| water(litres * sold_kg, units));
    let what = product.map_or_else(|| "it".to_owned(), |product| format!("each {}", product.label));
    let how_much = for_mix.map_or_else(
        || format!("{least} to {most} of water, by its label,"),
        |held| {
            let litres = water(held.wetting_l_per_sold_kg() * sold_kg, units);
            format!("about {litres} of water, as the mix wants it (labels say up to {most}),")
        },
    );
    format!(
        "Wet {what} with {how_much} until a squeezed handful holds together and gives no \
         water: not to dripping."
    )
}

/// A week takes coir and says nothing of it.
pub const COIR_UNSAID: &str = "The week says nothing of its coir: no bath is planned. Read the bag. Coir sold as buffered \
                               or washed may be only wetted; coir that claims nothing is full of salts and wants washes \
                               and calcium baths from two days ahead. `soak: {sold_as: none}` (or washed, mild, \
                               buffered) plans that.";

/// Coir that is ready too late.
pub(super) fn after_mix(ready: &ZonedDateTime) -> String {
    format!(
        "The coir is ready only {}, after the time to mix: start its soak earlier, or mix later.",
        day_and_hour(ready)
    )
}

/// What saves a run of the tub, where it is hardly too small for that.
pub(super) fn saves_a_run(soaking: &Soaking, units: UnitSystem) -> String {
    let tub = soaking.tub_for_a_run_less().map(|tub_l| water(tub_l, units));
    tub.map_or_else(String::new, |tub| format!(" (one of {tub}, or a little less coir, saves a run)"))
}

/// Coir that waits too long in a tub that is too small.
pub(super) fn grows_stale(runs: u32, hours: f64) -> String {
    format!(
        "{runs} runs of one tub: the coir of the first waits {} days for that of the last. Dripping in a closed tub it \
         keeps three, drained, hand-moist, loosely covered and cool about three weeks (common practice). A larger tub, or \
         a second one, takes fewer runs.",
        plain(hours / 24.0, 1)
    )
}

/// The day that an entry of the log is for.
pub(super) fn day_of(entry: &LogEntry) -> String {
    Some(entry.key().day).filter(|day| !day.is_empty()).unwrap_or_else(|| "no day".to_owned())
}

/// How a week that was mixed is taken back: its entry, after those that came later.
pub(super) fn taken_back(known: &Known) -> String {
    let later = known.later.iter().map(|entry| format!("entry {} of `{}`", entry.number, within_a_line(&entry.week)));
    let first = match known.later.len() {
        0 => return "`trayful mixed` with `--undo` puts them back.".to_owned(),
        1..=3 => and(later),
        more => format!("the {more} entries after it"),
    };
    format!("`trayful mixed` with `--undo` puts them back once it has taken back {first}, each with its own week file.")
}

/// `Sat 6 Feb`.
pub(super) fn short_date(day: Date) -> String {
    day.strftime("%a %-d %b").to_string()
}

/// That a day of a season was mixed, and not entered as sown.
pub(super) fn not_entered(day: Date) -> String {
    let words = "was taken out of the stock, and nothing says that it was sown";
    format!("{} {words}: `trayful season SEASON.yaml --sown {day}`.", short_date(day))
}

/// That the log of a stock file cannot be read.
pub(super) fn log_unread(why: &str) -> String {
    format!("The log of the stock cannot be read, and what was mixed before is not known: {why}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_that_is_lifted_is_not_rounded_down() {
        let lifted = |kg: f64, units| {
            let mass = Mass::new::<kilogram>(kg);
            [Rounding::Near, Rounding::Up].map(|rounding| lifted(mass, rounding, units))
        };
        assert_eq!(lifted(25.48, UnitSystem::Metric), ["25 kg", "26 kg"]);
        assert_eq!(lifted(2.71, UnitSystem::Metric), ["2.7 kg", "2.8 kg"]);
        assert_eq!(lifted(0.971, UnitSystem::Metric), ["0.97 kg", "0.98 kg"]);
        assert_eq!(lifted(23.8, UnitSystem::Us), ["52 lb", "53 lb"]);
    }

    #[test]
    fn counts_and_lists_read_like_speech() {
        assert_eq!(count(1, "tray", "trays"), "1 tray");
        assert_eq!(count(0, "tray", "trays"), "0 trays");
        assert_eq!(and([""; 0]), "");
        assert_eq!(and(["a"]), "a");
        assert_eq!(and(["a", "b"]), "a and b");
        assert_eq!(and(["a".to_owned(), "b".to_owned(), "c".to_owned()]), "a, b and c");
    }

    #[test]
    fn a_sentence_begins_with_a_capital() {
        assert_eq!(capital("élan"), "Élan");
        assert_eq!(capital(""), "");
    }

    #[test]
    fn amounts_round_to_the_safe_side() {
        let volume = crate::units::in_litres(12.34);
        assert_eq!(needed(volume, UnitSystem::Metric), "12.4 L");
        assert_eq!(given(volume, UnitSystem::Metric), "12.3 L");
        assert_eq!([0.0, 0.126, 1.0].map(whole_percent), ["0 %", "13 %", "100 %"]);
    }

    #[test]
    fn late_and_stale_coir_is_told_by_its_day() {
        let at: ZonedDateTime = "2027-03-06T09:05[Europe/Paris]".parse().unwrap();
        assert!(
            after_mix(&at).starts_with("The coir is ready only Sat 6 Mar 2027, 09:05, after"),
            "{}",
            after_mix(&at)
        );
        assert!(grows_stale(3, 108.0).starts_with("3 runs of one tub: the coir of the first waits 4.5 days for"));
    }
}
