//! Quantities: finite and above zero, and what is printed of one reads back as the same.

use trayful::exact::Fraction;
use trayful::stock::{money, price};
use trayful::units::{
    Liquid, Mass, Measure, Quantity, Rounding, Spoon, UnitSystem, Volume, by_spoon, count, density, density_range,
    dosed, footprint, in_litres, length, length_ratio, mass, mass_or_volume, number, per_gram, percent, rate, share,
    span_of_whole_numbers, to_litres, volume,
};

/// The largest volume that is read, in litres.
const MOST_LITRES: f64 = 1e7;
/// The largest mass, in grams.
const MOST_GRAMS: f64 = 1e9;

pub fn run(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    exact_numbers(text);
    if let Ok(read) = volume(text) {
        assert_eq!(volume(&format!("  {text} ")).map(|again| again.value), Ok(read.value));
        check_volume(read.value);
    }
    if let Ok(read) = mass(text) {
        check_mass(read);
    }
    if let Ok(read) = mass_or_volume(text) {
        let alike = match read.value {
            Quantity::Volume(read) => volume(text).map(|known| known.value) == Ok(read),
            Quantity::Mass(read) => mass(text) == Ok(read),
        };
        assert!(alike, "{text:?}");
    }
    if let Ok(read) = rate(text) {
        let per_litre = read.value.per_litre();
        assert!(per_litre > 0.0 && per_litre <= 1000.0, "{text:?}: {per_litre}");
        let dose = read.value.of(in_litres(10.0));
        assert!((dose.size() / per_litre / 10.0 - 1.0).abs() < 1e-12);
        for system in [UnitSystem::Metric, UnitSystem::Us] {
            let (shown, other) = dosed(dose, read.value.spoon(), system);
            assert!(!shown.is_empty() && other.is_empty() == (system == UnitSystem::Us));
        }
    }
    if let Ok(read) = length(text) {
        let of_longest = length("10 m").map(|longest| length_ratio(read, longest));
        assert!(of_longest.is_ok_and(|ratio| ratio > 0.0 && ratio <= 1.0), "{text:?}");
    }
    if let Ok((long, wide)) = footprint(text) {
        assert!(length_ratio(long, wide) > 0.0);
    }
    if let Ok((low, high)) = density_range(text) {
        assert!(low <= high, "{text:?}");
        assert!(density(text).is_err() || low == high, "{text:?}");
    }
    let faults = [volume(text).err(), mass(text).err(), rate(text).err(), length(text).err(), share(text).err()];
    for fault in faults.into_iter().flatten() {
        assert!(!fault.to_string().is_empty() && fault.help().is_none_or(|help| !help.is_empty()));
    }
}

/// What is kept exactly reads back as itself.
fn exact_numbers(text: &str) {
    if let Ok(read) = number(text) {
        assert!(read >= Fraction::ZERO && read.to_f64().is_finite(), "{text:?}");
        assert_eq!(number(&read.to_string()), Ok(read), "{text:?}");
    }
    if let Ok(read) = count(text) {
        assert_eq!(count(&read.to_string()), Ok(read));
        assert_eq!(number(text).ok().and_then(Fraction::to_u64).unwrap_or(read), read, "{text:?}");
    }
    if let Ok(read) = share(text) {
        assert!(read >= Fraction::ZERO && read <= Fraction::ONE, "{text:?}");
        let again = share(&percent(read)).map(Fraction::to_f64);
        assert!(again.as_ref().is_ok_and(|again| (again - read.to_f64()).abs() <= 0.000_051), "{text:?}: {again:?}");
    }
    if let Ok((low, high)) = span_of_whole_numbers(text) {
        assert!(low <= high);
        assert_eq!(span_of_whole_numbers(&format!("{low}-{high}")), Ok((low, high)));
    }
    if let Ok(read) = per_gram(text) {
        assert!(read.is_positive(), "{text:?}");
    }
    if let Ok((amount, currency)) = price(text) {
        let again = price(&money(amount));
        assert_eq!(again.map(|(again, _)| again.normalize()), Ok(amount.normalize()), "{text:?} {currency:?}");
    }
}

/// A volume as it is printed, rounded so far at most.
fn check_volume(read: Volume) {
    let litres = to_litres(read);
    assert!(litres > 0.0 && litres <= MOST_LITRES, "{litres}");
    // Measures in a row, as `1 cup + 2 tbsp`.
    let sum = |words: &str| -> f64 {
        let measures = words.split(" + ").filter(|words| !words.starts_with("0 "));
        measures.map(|words| volume(words).map_or(f64::NAN, |read| to_litres(read.value))).sum()
    };
    let checked = |words: &str, below: f64, above: f64| {
        let read = Some(sum(words)).filter(|sum| sum.is_finite());
        shown(words, read, [below, above], litres, MOST_LITRES);
    };
    checked(&Quantity::Volume(read).written(), -0.001, 0.0);
    let step = if litres < 1.0 { 0.01 } else { 0.1 };
    // A teaspoon, a tablespoon beside cups, a tenth of a quart, of a gallon.
    let customary = match litres {
        _ if litres < 0.236_588 => 0.004_93,
        _ if litres < 0.947 => 0.014_79,
        _ if litres < 18.93 => 0.094_7,
        _ => 0.379,
    };
    for (system, step) in [(UnitSystem::Metric, step), (UnitSystem::Us, customary)] {
        for shown in
            [|read: Volume, way, system| read.shown(way, system), |read, way, system| Liquid(read).shown(way, system)]
        {
            checked(&shown(read, Rounding::Up, system), 0.0, step);
            checked(&shown(read, Rounding::Down, system), -step, 0.0);
        }
    }
    for spoon in [Spoon::Teaspoon, Spoon::Tablespoon, Spoon::Cup] {
        let words = by_spoon(read, spoon, Rounding::Near);
        let sum = sum(&words);
        // Half a tablespoon and half a quarter of a teaspoon beside cups.
        assert!((sum - litres).abs() < 0.008_2 || litres > 1e6, "{litres} L is not {words}");
    }
}

fn check_mass(read: Mass) {
    let size = Quantity::Mass(read).size();
    assert!(size > 0.0 && size <= MOST_GRAMS, "{size}");
    let within = size * 0.051 + 0.000_051;
    let checked = |words: &str, below: f64, above: f64| {
        let read = mass(words).ok().map(|read| Quantity::Mass(read).size());
        shown(words, read, [below, above], size, MOST_GRAMS);
    };
    checked(&Quantity::Mass(read).written(), -0.001, 0.0);
    for (system, step) in [(UnitSystem::Metric, within), (UnitSystem::Us, within.max(0.3))] {
        checked(&read.shown(Rounding::Near, system), -step, step);
        checked(&read.shown(Rounding::Up, system), 0.0, 2.0 * step);
        checked(&read.shown(Rounding::Down, system), -2.0 * step, 0.0);
    }
}

/// Printed words read back within their rounding; only nothing, and what a rounding brings
/// above the largest, is not read.
fn shown(words: &str, read: Option<f64>, [below, above]: [f64; 2], size: f64, most: f64) {
    let slack = 1e-7 + size * 1e-12;
    let read = read.or(words.starts_with("0 ").then_some(0.0));
    if let Some(read) = read {
        let off = read - size;
        assert!(off >= below - slack && off <= above + slack, "{size} is shown as {words}, off by {off}");
    } else {
        assert!(size > most * 0.999, "{size} is shown as {words}, which is not read");
    }
}
