//! Quantities as the bench reads them: rounded once, at the edge.

use super::mass::{gram, ounce, pound};
use super::{Mass, Quantity, Spoon, Volume, to_litres, volume as v};
use crate::exact::{self, Fraction, apportion};

/// The units a sheet is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// Litres and grams, customary measures beside them where there is room.
    #[default]
    Metric,
    /// US gallons, quarts and ounces first.
    Us,
}

/// A number with so many decimals, without trailing zeros.
///
/// ```
/// assert_eq!(trayful::units::plain(1.50, 2), "1.5");
/// assert_eq!(trayful::units::plain(-0.001, 1), "0");
/// ```
pub fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// Which way an amount is rounded where it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// An amount that must not come out short.
    Up,
    /// An amount that is there, or informs.
    Down,
}

/// The number of whole steps that an amount is shown as. What lies above a whole step by
/// floating point alone is that step.
fn whole(steps: f64, rounding: Rounding) -> f64 {
    if (steps - steps.round()).abs() < 1e-7 {
        steps.round()
    } else if rounding == Rounding::Up {
        steps.ceil()
    } else {
        steps.floor()
    }
}

/// Litres to the tenth, or to the hundredth below one litre, with the unit.
pub fn litres(volume: Volume, rounding: Rounding) -> String {
    let litres = to_litres(volume);
    let step = if litres < 1.0 { 100.0 } else { 10.0 };
    format!("{} L", plain(whole(litres * step, rounding) / step, 2))
}

/// A volume in US liquid quarts, from five gallons on in gallons, to the tenth.
pub fn us_volume(volume: Volume, rounding: Rounding) -> String {
    let quarts = volume.get::<v::us_liquid_quart>();
    let (amount, unit) = if quarts >= 20.0 { (quarts / 4.0, "US gal") } else { (quarts, "US qt") };
    format!("{} {unit}", plain(whole(amount * 10.0, rounding) / 10.0, 1))
}

/// A volume in the wanted units.
pub fn amount(volume: Volume, rounding: Rounding, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => litres(volume, rounding),
        UnitSystem::Us => us_volume(volume, rounding),
    }
}

/// Grams as a scale shows them: whole from 100 g, tenths below, finer below one gram, so
/// that a small dose is never shown as none.
pub fn grams(mass: Mass) -> String {
    let grams = mass.get::<gram>();
    if grams >= 10_000.0 {
        format!("{} kg", plain(grams / 1000.0, 2))
    } else {
        let decimals = match grams {
            _ if grams >= 100.0 => 0,
            _ if grams >= 1.0 => 1,
            _ if grams >= 0.1 => 2,
            _ => 4,
        };
        format!("{} g", plain(grams, decimals))
    }
}

/// Grams of seed, without the unit: finer below a gram and a tenth of one, so that
/// dust-fine seed is not shown as more or as none.
pub fn grams_of_seed(grams: f64) -> String {
    let decimals = match grams {
        _ if grams >= 1.0 => 1,
        _ if grams >= 0.1 => 2,
        _ => 3,
    };
    plain(grams, decimals)
}

/// A mass in ounces, or in pounds from one pound up.
pub fn ounces(mass: Mass) -> String {
    let pounds = mass.get::<pound>();
    let ounces = mass.get::<ounce>();
    match pounds {
        _ if pounds >= 1.0 => format!("{} lb", plain(pounds, 2)),
        _ if ounces >= 0.1 => format!("{} oz", plain(ounces, 2)),
        _ => format!("{} oz", plain(ounces, 4)),
    }
}

/// A share in percent.
pub fn percent(share: Fraction) -> String {
    format!("{} %", plain(share.to_f64() * 100.0, 2))
}

/// Shares in whole tenths or hundredths of a unit, as they are printed in a column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    shares: Vec<u64>,
    decimals: usize,
    unit: &'static str,
}

impl Printed {
    /// Shares that sum to their total, which is rounded up so far that equal weights come
    /// out equal.
    fn of(total: f64, weights: &[f64], unit: &'static str) -> Self {
        // Below a litre a tenth is coarse.
        let decimals = if weights.iter().all(|weight| *weight >= 1.0) { 1 } else { 2 };
        let least = exact::whole(whole(total * steps(decimals), Rounding::Up));
        let alike = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.max(b);
        let even = |shares: &Vec<u64>| {
            let each = weights.iter().enumerate();
            each.into_iter().all(|(i, a)| (0..i).all(|j| !alike(*a, weights[j]) || shares[i] == shares[j]))
        };
        let tried = (least..=least + weights.len() as u64).map(|total| apportion(total, weights));
        let shares = tried.into_iter().find(even).unwrap_or_else(|| apportion(least, weights));
        Self { shares, decimals, unit }
    }

    fn cell(&self, share: u64) -> String {
        format!("{:.*} {}", self.decimals, share as f64 / steps(self.decimals), self.unit)
    }

    /// The shares in words.
    pub fn cells(&self) -> impl Iterator<Item = String> {
        self.shares.iter().map(|share| self.cell(*share))
    }

    /// Their sum, which is the printed total.
    pub fn total(&self) -> String {
        self.cell(self.shares.iter().sum())
    }
}

fn steps(decimals: usize) -> f64 {
    if decimals == 1 { 10.0 } else { 100.0 }
}

/// A total shared out by weights in litres: in the wanted units, and in the other ones.
pub fn shared_out(total: Volume, weights: &[f64], system: UnitSystem) -> (Printed, Printed) {
    let metric = Printed::of(to_litres(total), weights, "L");
    let us = Printed::of(total.get::<v::us_liquid_quart>(), weights, "US qt");
    if system == UnitSystem::Us { (us, metric) } else { (metric, us) }
}

/// A number of quarters as `8 3/4`.
pub fn quarters(count: u64) -> String {
    let part = ["", "1/4", "1/2", "3/4"][usize::try_from(count % 4).unwrap_or(0)];
    match (count / 4, part) {
        (whole, "") => whole.to_string(),
        (0, part) => part.to_owned(),
        (whole, part) => format!("{whole} {part}"),
    }
}

/// A volume by the spoons at hand: cups in quarters, tablespoons, teaspoons in quarters; a
/// pinch below that in hundredths of a teaspoon.
///
/// ```
/// use trayful::units::{Spoon, by_spoon, volume};
/// assert_eq!(by_spoon(volume("2.6 tbsp").unwrap().value, Spoon::Tablespoon), "2 tbsp + 1 3/4 tsp");
/// ```
pub fn by_spoon(volume: Volume, largest: Spoon) -> String {
    /// Quarters of a teaspoon in each.
    const CUP_QUARTER: u64 = 48;
    const TABLESPOON: u64 = 12;
    let teaspoons = volume.get::<v::us_teaspoon>();
    let mut rest = exact::whole((teaspoons * 4.0).round());
    if largest == Spoon::Cup && rest >= 4 * CUP_QUARTER {
        // Beside a cup a teaspoon is lost.
        rest = (rest + TABLESPOON / 2) / TABLESPOON * TABLESPOON;
    }
    if rest == 0 {
        return format!("{} tsp", plain(teaspoons, 2));
    }
    let cup_quarters = if largest == Spoon::Cup { rest / CUP_QUARTER } else { 0 };
    rest -= cup_quarters * CUP_QUARTER;
    let tablespoons = if largest == Spoon::Teaspoon { 0 } else { rest / TABLESPOON };
    rest -= tablespoons * TABLESPOON;
    let cups = if cup_quarters <= 4 { "cup" } else { "cups" };
    let measures = [(cup_quarters, cups), (4 * tablespoons, "tbsp"), (rest, "tsp")];
    let measures = measures.into_iter().filter(|(count, _)| *count > 0);
    measures.map(|(count, spoon)| format!("{} {spoon}", quarters(count))).collect::<Vec<_>>().join(" + ")
}

impl Quantity {
    /// To the millilitre or milligram, rounded down, as it is written into a stock file.
    pub fn written(self) -> String {
        // Floating point just below a whole thousandth is that thousandth.
        let thousandths = (self.size() * 1000.0 + 1e-6).floor() / 1000.0;
        format!("{} {}", plain(thousandths.max(0.0), 3), self.unit())
    }

    /// In words, a volume in the wanted units.
    pub fn shown(self, rounding: Rounding, units: UnitSystem) -> String {
        match self {
            Self::Volume(volume) => amount(volume, rounding, units),
            Self::Mass(mass) => grams(mass),
        }
    }
}

/// A dose in the wanted units, and in the other ones. A dose by measure is shown in the
/// spoon that its rate was written in.
pub fn dosed(amount: Quantity, spoon: Option<Spoon>, system: UnitSystem) -> (String, String) {
    let (metric, us, us_first) = match (amount, spoon.unwrap_or(Spoon::Millilitre)) {
        (Quantity::Mass(mass), _) => (grams(mass), ounces(mass), false),
        (Quantity::Volume(volume), spoon) => {
            let us = match spoon {
                Spoon::Millilitre => format!("{} fl oz", plain(volume.get::<v::us_fluid_ounce>(), 1)),
                Spoon::Teaspoon | Spoon::Tablespoon | Spoon::Cup => by_spoon(volume, spoon),
            };
            (format!("{} mL", plain(volume.get::<v::millilitre>(), 0)), us, spoon != Spoon::Millilitre)
        }
    };
    if us_first || system == UnitSystem::Us { (us, metric) } else { (metric, us) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::in_litres;

    #[test]
    fn written_amounts_are_rounded_down() {
        assert_eq!(Quantity::Volume(in_litres(12.345_678)).written(), "12.345 L");
        assert_eq!(Quantity::Mass(Mass::new::<gram>(5.0 - 1e-12)).written(), "5 g");
        assert_eq!(Quantity::Volume(in_litres(-1e-9)).written(), "0 L");
    }

    #[test]
    fn needs_round_up_and_fills_round_down() {
        assert_eq!(litres(in_litres(12.31), Rounding::Up), "12.4 L");
        assert_eq!(litres(in_litres(12.39), Rounding::Down), "12.3 L");
        assert_eq!(litres(in_litres(0.301), Rounding::Up), "0.31 L");
        assert_eq!(litres(in_litres(0.1 + 0.2), Rounding::Up), "0.3 L");
        assert_eq!(us_volume(in_litres(3.785_411_784), Rounding::Up), "4 US qt");
        assert_eq!(us_volume(in_litres(37.854_117_84), Rounding::Up), "10 US gal");
        assert_eq!(us_volume(in_litres(37.9), Rounding::Up), "10.1 US gal");
        assert_eq!(us_volume(in_litres(37.9), Rounding::Down), "10 US gal");
    }

    #[test]
    fn grams_read_like_a_scale() {
        assert_eq!(grams(Mass::new::<gram>(3.26)), "3.3 g");
        assert_eq!(grams(Mass::new::<gram>(326.4)), "326 g");
        assert_eq!(grams(Mass::new::<gram>(0.237)), "0.24 g");
        assert_eq!(grams(Mass::new::<gram>(0.037_1)), "0.0371 g");
        assert_eq!(grams(Mass::new::<gram>(12_340.0)), "12.34 kg");
    }

    #[test]
    fn printed_shares_sum_to_the_total_and_equal_ones_are_equal() {
        let (litres, quarts) = shared_out(in_litres(10.0), &[5.0, 2.5, 2.5], UnitSystem::Metric);
        assert_eq!(litres.cells().collect::<Vec<_>>(), ["5.0 L", "2.5 L", "2.5 L"]);
        assert_eq!((litres.total(), quarts.total()), ("10.0 L".to_owned(), "10.7 US qt".to_owned()));
        // 10.6 US qt have no equal quarters in tenths. Thirds of 10 L are two tenths more in
        // all, so that none is less than another.
        let (thirds, _) = shared_out(in_litres(10.0), &[1.0; 3], UnitSystem::Metric);
        assert_eq!(thirds.cells().collect::<Vec<_>>(), ["3.4 L"; 3]);
        assert_eq!(thirds.total(), "10.2 L");
        let (us, _) = shared_out(in_litres(0.946_352_946), &[0.5, 0.446_352_946], UnitSystem::Us);
        assert_eq!(us.cells().collect::<Vec<_>>(), ["0.53 US qt", "0.47 US qt"]);
    }

    #[test]
    fn spoons_are_those_of_the_drawer() {
        let shown = |text: &str, largest| by_spoon(crate::units::volume(text).unwrap().value, largest);
        assert_eq!(shown("1/3 cup", Spoon::Cup), "1/4 cup + 1 tbsp + 1 tsp");
        assert_eq!(shown("2 1/2 cups", Spoon::Cup), "2 1/2 cups");
        assert_eq!(shown("4 tsp", Spoon::Teaspoon), "4 tsp");
        assert_eq!(shown("0.1 tsp", Spoon::Cup), "0.1 tsp");
    }

    #[test]
    fn a_dose_is_shown_in_the_spoon_of_its_rate() {
        let volume = Quantity::Volume(in_litres(0.03));
        let both = |spoon, system| dosed(volume, spoon, system);
        assert_eq!(both(Some(Spoon::Tablespoon), UnitSystem::Metric).0, "2 tbsp");
        assert_eq!(both(None, UnitSystem::Metric), ("30 mL".to_owned(), "1 fl oz".to_owned()));
        assert_eq!(both(None, UnitSystem::Us).0, "1 fl oz");
        assert_eq!(dosed(Quantity::Mass(Mass::new::<pound>(2.0)), None, UnitSystem::Us).0, "2 lb");
    }
}
