//! Quantities as the bench reads them: rounded once, at the edge.

use super::length::{inch, millimetre};
use super::mass::{gram, ounce, pound};
use super::rounding::{Rounding, UnitSystem, plain, rounded, whole};
use super::{Length, Mass, Quantity, Rate, Spoon, Volume, customary, in_litres, to_litres, volume as v};
use crate::exact::{self, Fraction};

/// What is measured, and how either system tells it: every quantity that is printed comes by here,
/// or by a [`Unit`](super::Unit).
pub trait Measure: Copy {
    /// In words, with the unit.
    fn shown(self, rounding: Rounding, units: UnitSystem) -> String {
        self.shown_like(self, rounding, units)
    }

    /// The same in the unit in which another amount is told, so that two of one row can be compared.
    fn shown_like(self, other: Self, rounding: Rounding, units: UnitSystem) -> String;
}

impl Measure for Volume {
    /// Litres to the tenth, or to the hundredth below one litre. In US units what a bench has at hand
    /// for so much: spoons, cups, from a quart on quarts, from five gallons on gallons, from four cubic
    /// feet on these.
    fn shown_like(self, other: Self, rounding: Rounding, units: UnitSystem) -> String {
        match units {
            UnitSystem::Us if other.get::<v::cubic_foot>() >= 4.0 => {
                format!("{} cu ft", rounded(self.get::<v::cubic_foot>(), 2, rounding))
            }
            _ => Liquid(self).shown_like(Liquid(other), rounding, units),
        }
    }
}

/// A volume of water, which is never told in cubic feet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Liquid(pub Volume);

impl Measure for Liquid {
    fn shown_like(self, Self(other): Self, rounding: Rounding, units: UnitSystem) -> String {
        let Self(volume) = self;
        let figure = |size: f64| rounded(size, if size < 1.0 || rounding == Rounding::Near { 2 } else { 1 }, rounding);
        let (quarts, like) = (volume.get::<v::us_liquid_quart>(), other.get::<v::us_liquid_quart>());
        // What is stated in whole gallons is told so.
        let is_gallons = like >= 20.0
            || rounding == Rounding::Near && like >= 4.0 && (like / 4.0 - (like / 4.0).round()).abs() < 1e-9;
        match units {
            UnitSystem::Metric => format!("{} L", figure(to_litres(volume))),
            UnitSystem::Us if quarts < 0.0 => format!("-{}", Self(-volume).shown(rounding, units)),
            UnitSystem::Us if is_gallons => format!("{} US gal", figure(quarts / 4.0)),
            UnitSystem::Us if like >= 1.0 || quarts == 0.0 => format!("{} US qt", figure(quarts)),
            UnitSystem::Us => by_spoon(volume, Spoon::Cup, rounding),
        }
    }
}

/// The volume of a cell or pot: millilitres, or cubic inches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell(pub Volume);

impl Measure for Cell {
    fn shown_like(self, _: Self, _: Rounding, units: UnitSystem) -> String {
        customary::MILLILITRE.shown(self.0.get::<v::millilitre>(), 1, units)
    }
}

impl Measure for Length {
    /// Millimetres, or inches: of meshes and layers.
    fn shown_like(self, _: Self, _: Rounding, units: UnitSystem) -> String {
        customary::MILLIMETRE.shown(self.get::<millimetre>(), 1, units)
    }
}

/// How deep something lies in a cell: below an inch to the nearest sixteenth of one, since nobody sows finer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deep(pub Length);

impl Measure for Deep {
    fn shown_like(self, _: Self, rounding: Rounding, units: UnitSystem) -> String {
        match customary::in_fractions(self.0) {
            None if units == UnitSystem::Us => {
                let sixteenths = (self.0.get::<inch>() * 16.0).round().max(1.0);
                Length::new::<inch>(sixteenths / 16.0).shown(rounding, units)
            }
            _ => self.0.shown(rounding, units),
        }
    }
}

impl Measure for Mass {
    /// As a scale shows it: whole grams from 100 g, tenths below, finer below one gram, so that a small
    /// dose is never shown as none; or ounces, and pounds from one pound on.
    fn shown_like(self, other: Self, rounding: Rounding, units: UnitSystem) -> String {
        let grams = self.get::<gram>();
        match units {
            UnitSystem::Metric if other.get::<gram>() >= 10_000.0 => {
                format!("{} kg", rounded(grams / 1000.0, 2, rounding))
            }
            UnitSystem::Metric if grams >= 100.0 => format!("{} g", rounded(grams, 0, rounding)),
            UnitSystem::Metric if grams >= 1.0 => format!("{} g", rounded(grams, 1, rounding)),
            UnitSystem::Metric => format!("{} g", rounded(grams, if grams.abs() >= 0.1 { 2 } else { 4 }, rounding)),
            UnitSystem::Us => {
                let (size, decimals, unit) = in_ounces(self, other);
                format!("{} {unit}", rounded(size, decimals, rounding))
            }
        }
    }
}

/// A weight in pounds if another is told in these, else in ounces; with its decimals.
fn in_ounces(mass: Mass, like: Mass) -> (f64, u8, &'static str) {
    let ounces = mass.get::<ounce>();
    if like.get::<pound>() >= 1.0 {
        (mass.get::<pound>(), 2, "lb")
    } else {
        (ounces, decimals_of_ounces(ounces.abs()), "oz")
    }
}

/// A weight rounded up to what is printed of it in US units.
pub fn printed_in_ounces(mass: Mass) -> Mass {
    let (size, decimals, _) = in_ounces(mass, mass);
    let steps = size * 10_f64.powi(decimals.into());
    if steps > 0.0 { mass * (whole(steps, Rounding::Up) / steps) } else { mass }
}

/// Hundredths; below a tenth, where no kitchen scale goes, two digits.
fn decimals_of_ounces(ounces: f64) -> u8 {
    match ounces {
        0.1.. => 2,
        0.01.. => 3,
        _ => 4,
    }
}

impl Measure for Quantity {
    fn shown_like(self, other: Self, rounding: Rounding, units: UnitSystem) -> String {
        match (self, other) {
            (Self::Volume(volume), Self::Volume(other)) => volume.shown_like(other, rounding, units),
            (Self::Mass(mass), Self::Mass(other)) => mass.shown_like(other, rounding, units),
            _ => self.shown(rounding, units),
        }
    }
}

/// A need and what is at hand, left or lacking of it, in the unit of the need.
#[derive(Clone, Copy, Debug)]
pub struct Needed {
    need: Quantity,
    like: Quantity,
    units: UnitSystem,
}

impl Needed {
    /// A need, and the other amounts that are told beside it: spoons only where all of these are small.
    pub fn beside(need: Quantity, others: &[Quantity], units: UnitSystem) -> Self {
        let quart = Quantity::Volume(Volume::new::<v::us_liquid_quart>(1.0));
        let is_small = |amount: &Quantity| !amount.is_like(quart) || amount.size() < quart.size();
        let like = if is_small(&need) && !others.iter().all(is_small) { quart } else { need };
        Self { need, like, units }
    }

    /// What must not come out short.
    pub fn up(&self, amount: Quantity) -> String {
        amount.shown_like(self.like, Rounding::Up, self.units)
    }

    /// What is there.
    pub fn down(&self, amount: Quantity) -> String {
        amount.shown_like(self.like, Rounding::Down, self.units)
    }

    /// What is at hand and is enough: told like the need where rounding alone would show it as less.
    pub fn enough(&self, at_hand: Quantity) -> String {
        let need = self.up(self.need);
        if self.up(at_hand) == need { need } else { self.down(at_hand) }
    }
}

impl Rate {
    /// A dose rate in words: by weight `g/L` or `lb/cu yd`, by measure `mL/L` or `tbsp/US gal`.
    pub fn shown(self, units: UnitSystem) -> String {
        match self.spoon() {
            None => customary::DOSE.shown(self.per_litre(), 3, units),
            Some(_) => customary::SPOONED.shown(self.per_litre() * 1000.0, 2, units),
        }
    }
}

/// Less seed than this is not weighed, g: a pocket scale shows hundredths (a judgement).
const WEIGHED_SEED_G: f64 = 0.02;

/// Seed to take by weight, without the unit: finer below a gram and a tenth of one, so that dust-fine seed is not shown as
/// more; nothing where no scale shows it and it is taken by the count or the spoon.
pub fn seed_weight(grams: f64, units: UnitSystem) -> String {
    match units {
        _ if grams < WEIGHED_SEED_G => String::new(),
        UnitSystem::Metric if grams >= 1.0 => plain(grams, 1),
        UnitSystem::Metric => plain(grams, if grams >= 0.1 { 2 } else { 3 }),
        UnitSystem::Us => {
            let ounces = Mass::new::<gram>(grams).get::<ounce>();
            plain(ounces, decimals_of_ounces(ounces).into())
        }
    }
}

/// A share in percent.
pub fn percent(share: Fraction) -> String {
    format!("{} %", plain(share.to_f64() * 100.0, 2))
}

/// Amounts in whole steps of a unit, as they are printed in a column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    amounts: Vec<u64>,
    unit: Steps,
}

/// The steps of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Steps {
    /// Tenths or hundredths of a unit.
    Decimals(u8, &'static str),
    /// Level tablespoons, told in cups and these.
    Tablespoons,
}

impl Printed {
    fn cell(&self, amount: u64) -> String {
        match self.unit {
            Steps::Decimals(decimals, unit) => {
                let size = amount as f64 / 10_f64.powi(decimals.into());
                format!("{size:.*} {unit}", usize::from(decimals))
            }
            Steps::Tablespoons if amount == 0 => "0 tbsp".to_owned(),
            Steps::Tablespoons => by_spoon(Volume::new::<v::us_tablespoon>(amount as f64), Spoon::Cup, Rounding::Near),
        }
    }

    /// The amounts in words.
    pub fn cells(&self) -> impl Iterator<Item = String> {
        self.amounts.iter().map(|amount| self.cell(*amount))
    }

    /// The sum of what is printed.
    pub fn total(&self) -> String {
        self.cell(self.amounts.iter().sum())
    }
}

/// Litres that are needed, in one unit, each rounded up. In US units in quarts; of less than two of these in all in
/// cups and tablespoons, from four cubic feet on in these.
pub fn in_column(litres: &[f64], system: UnitSystem) -> Printed {
    // Below a litre a tenth is coarse.
    let decimals = if litres.iter().all(|litres| *litres >= 1.0) { 1 } else { 2 };
    let all = in_litres(litres.iter().sum());
    let (quarts, feet) = (all.get::<v::us_liquid_quart>(), all.get::<v::cubic_foot>());
    let (size, unit): (fn(Volume) -> f64, _) = match system {
        UnitSystem::Metric => (to_litres, Steps::Decimals(decimals, "L")),
        UnitSystem::Us if feet >= 4.0 => (|volume| volume.get::<v::cubic_foot>(), Steps::Decimals(2, "cu ft")),
        UnitSystem::Us if quarts >= 2.0 => {
            (|volume| volume.get::<v::us_liquid_quart>(), Steps::Decimals(decimals, "US qt"))
        }
        UnitSystem::Us => (|volume| volume.get::<v::us_tablespoon>(), Steps::Tablespoons),
    };
    let steps = match unit {
        Steps::Decimals(decimals, _) => 10_f64.powi(decimals.into()),
        Steps::Tablespoons => 1.0,
    };
    let rounded = litres.iter().map(|litres| exact::whole(whole(size(in_litres(*litres)) * steps, Rounding::Up)));
    Printed { amounts: rounded.collect(), unit }
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

/// A volume by the spoons at hand: cups in quarters, tablespoons, teaspoons in quarters; less than a
/// teaspoon in eighths of one where that is near, else in hundredths.
///
/// ```
/// use trayful::units::{Rounding, Spoon, by_spoon, volume};
/// let volume = volume("2.6 tbsp").unwrap().value;
/// assert_eq!(by_spoon(volume, Spoon::Tablespoon, Rounding::Near), "2 tbsp + 1 3/4 tsp");
/// assert_eq!(by_spoon(volume, Spoon::Tablespoon, Rounding::Up), "2 tbsp + 2 tsp");
/// ```
pub fn by_spoon(volume: Volume, largest: Spoon, rounding: Rounding) -> String {
    /// Quarters of a teaspoon in each.
    const CUP_QUARTER: u64 = 48;
    const TABLESPOON: u64 = 12;
    let teaspoons = volume.get::<v::us_teaspoon>();
    if teaspoons < 1.0 {
        return part_of_teaspoon(teaspoons, rounding);
    }
    // Beside a cup a teaspoon is lost, and a quarter of one beside a quarter of a cup.
    let step = match teaspoons {
        _ if largest != Spoon::Cup || teaspoons < 12.0 => 1,
        _ if teaspoons < 48.0 => 4,
        _ => TABLESPOON,
    };
    let mut rest = step * exact::whole(whole(teaspoons * 4.0 / step as f64, rounding));
    let cup_quarters = if largest == Spoon::Cup { rest / CUP_QUARTER } else { 0 };
    rest -= cup_quarters * CUP_QUARTER;
    let tablespoons = if largest == Spoon::Teaspoon { 0 } else { rest / TABLESPOON };
    rest -= tablespoons * TABLESPOON;
    let cups = if cup_quarters <= 4 { "cup" } else { "cups" };
    let measures = [(cup_quarters, cups), (4 * tablespoons, "tbsp"), (rest, "tsp")];
    let measures = measures.into_iter().filter(|(count, _)| *count > 0);
    let words = measures.map(|(count, spoon)| format!("{} {spoon}", quarters(count))).collect::<Vec<_>>().join(" + ");
    if words.is_empty() { "0 tsp".to_owned() } else { words }
}

/// Less than a teaspoon: in eighths, unless that is more than 6 % off.
fn part_of_teaspoon(teaspoons: f64, rounding: Rounding) -> String {
    const NEAR: f64 = 0.06;
    let eighths = whole(teaspoons * 8.0, rounding);
    let count = usize::try_from(exact::whole(eighths)).unwrap_or(0);
    let part = ["0", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "1"].get(count);
    match part.filter(|_| (eighths / 8.0 / teaspoons - 1.0).abs() <= NEAR) {
        Some(part) => format!("{part} tsp"),
        None => format!("{} tsp", rounded(teaspoons, 2, rounding)),
    }
}

impl Quantity {
    /// To the millilitre or milligram, rounded down, as it is written into a stock file.
    pub fn written(self) -> String {
        // Floating point just below a whole thousandth is that thousandth.
        let thousandths = (self.size() * 1000.0 + 1e-6).floor() / 1000.0;
        format!("{} {}", plain(thousandths.max(0.0), 3), self.unit())
    }
}

/// A dose in the wanted units, and in the other ones beside metric, where a dose by measure is shown
/// in the spoon that its rate was written in.
pub fn dosed(amount: Quantity, spoon: Option<Spoon>, system: UnitSystem) -> (String, String) {
    let up = Rounding::Up;
    let (metric, us, us_first) = match (amount, spoon.unwrap_or(Spoon::Millilitre)) {
        (Quantity::Mass(mass), _) => (mass.shown(up, UnitSystem::Metric), mass.shown(up, UnitSystem::Us), false),
        (Quantity::Volume(volume), spoon) => {
            let us = match spoon {
                Spoon::Millilitre => volume.shown(up, UnitSystem::Us),
                Spoon::Teaspoon | Spoon::Tablespoon | Spoon::Cup => by_spoon(volume, spoon, up),
            };
            (format!("{} mL", rounded(volume.get::<v::millilitre>(), 0, up)), us, spoon != Spoon::Millilitre)
        }
    };
    match system {
        UnitSystem::Us => (amount.shown(up, system), String::new()),
        UnitSystem::Metric if us_first => (us, metric),
        UnitSystem::Metric => (metric, us),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn written_amounts_are_rounded_down() {
        assert_eq!(Quantity::Volume(in_litres(12.345_678)).written(), "12.345 L");
        assert_eq!(Quantity::Mass(Mass::new::<gram>(5.0 - 1e-12)).written(), "5 g");
        assert_eq!(Quantity::Volume(in_litres(-1e-9)).written(), "0 L");
    }

    const US: UnitSystem = UnitSystem::Us;

    fn volume(text: &str) -> Volume {
        crate::units::volume(text).unwrap().value
    }

    #[test]
    fn needs_round_up_and_fills_round_down() {
        let litres = |litres, rounding| in_litres(litres).shown(rounding, UnitSystem::Metric);
        assert_eq!(litres(12.31, Rounding::Up), "12.4 L");
        assert_eq!(litres(12.39, Rounding::Down), "12.3 L");
        assert_eq!(litres(0.301, Rounding::Up), "0.31 L");
        assert_eq!(litres(0.1 + 0.2, Rounding::Up), "0.3 L");
        assert_eq!(litres(2.345, Rounding::Near), "2.35 L");
        let us = |litres, rounding| in_litres(litres).shown(rounding, US);
        assert_eq!(us(3.785_411_784, Rounding::Up), "4 US qt");
        assert_eq!(us(37.854_117_84, Rounding::Up), "10 US gal");
        assert_eq!(us(37.9, Rounding::Up), "10.1 US gal");
        assert_eq!(us(37.9, Rounding::Down), "10 US gal");
    }

    /// NIST Handbook 44, Appendix C: 4 cups or 64 tablespoons to a quart, 4 quarts to a gallon of
    /// 231 cubic inches, 1728 of these to a cubic foot.
    #[test]
    fn us_volumes_are_told_by_what_measures_them() {
        for (written, up, down) in [
            ("1/4 tsp", "1/4 tsp", "1/4 tsp"),
            ("1.1 tsp", "1 1/4 tsp", "1 tsp"),
            ("5 tbsp", "1/4 cup + 1 tbsp", "1/4 cup + 1 tbsp"),
            ("1.01 cups", "1 cup + 1 tbsp", "1 cup"),
            ("3.999 cups", "4 cups", "3 3/4 cups + 3 tbsp"),
            ("4 cups", "1 US qt", "1 US qt"),
            ("19.91 US qt", "20 US qt", "19.9 US qt"),
            ("20 US qt", "5 US gal", "5 US gal"),
            ("3.99 cu ft", "29.9 US gal", "29.8 US gal"),
            ("4 cu ft", "4 cu ft", "4 cu ft"),
            ("5.001 cu ft", "5.01 cu ft", "5 cu ft"),
        ] {
            let volume = volume(written);
            assert_eq!([Rounding::Up, Rounding::Down].map(|way| volume.shown(way, US)), [up, down], "{written}");
        }
        assert_eq!(Liquid(volume("4 cu ft")).shown(Rounding::Up, US), "30 US gal");
        assert_eq!(in_litres(0.0).shown(Rounding::Down, US), "0 US qt");
        assert_eq!(in_litres(-3.785_411_784).shown(Rounding::Near, US), "-1 US gal");
        let stated = |text: &str| Liquid(volume(text)).shown(Rounding::Near, US);
        assert_eq!(["1 US gal", "3 US qt", "5 US qt"].map(stated), ["1 US gal", "3 US qt", "5 US qt"]);
    }

    #[test]
    fn grams_read_like_a_scale() {
        let grams = |grams| Mass::new::<gram>(grams).shown(Rounding::Near, UnitSystem::Metric);
        assert_eq!([3.26, 326.4, 0.237, 0.037_1].map(grams), ["3.3 g", "326 g", "0.24 g", "0.0371 g"]);
        assert_eq!(grams(12_340.0), "12.34 kg");
        let both = |rounding| [UnitSystem::Metric, US].map(|system| Mass::new::<gram>(25.52).shown(rounding, system));
        assert_eq!(both(Rounding::Up), ["25.6 g", "0.91 oz"]);
        assert_eq!(both(Rounding::Down), ["25.5 g", "0.9 oz"]);
        assert_eq!(Mass::new::<ounce>(-3.5274).shown(Rounding::Near, US), "-3.53 oz");
        assert_eq!(Mass::new::<pound>(1.001).shown(Rounding::Up, US), "1.01 lb");
        assert_eq!(
            ["0.0873 oz", "0.00503 oz"].map(|oz| crate::units::mass(oz).unwrap().shown(Rounding::Up, US)),
            ["0.088 oz", "0.0051 oz"]
        );
        // 0.6 g of begonia are 0.0212 oz, 0.017 g are 0.0006.
        let seed = |grams| [UnitSystem::Metric, US].map(|system| seed_weight(grams, system));
        assert_eq!([0.6, 0.0199].map(seed), [["0.6", "0.021"], ["", ""]]);
        // 4 mm are 0.157 in, 2 mm 0.079, 0.5 mm 0.02.
        let deep = |text: &str| Deep(crate::units::length(text).unwrap()).shown(Rounding::Near, US);
        assert_eq!(
            ["4 mm", "2 mm", "6 mm", "20 mm", "0.5 mm", "3 cm"].map(deep),
            ["3/16 in", "1/16 in", "1/4 in", "3/4 in", "1/16 in", "1.2 in"]
        );
    }

    #[test]
    fn a_row_has_one_unit_and_enough_is_never_shown_as_less() {
        let litres = |text: &str| Quantity::Volume(volume(text));
        let told = |need: &str, at_hand: &str| {
            let (need, at_hand) = (litres(need), litres(at_hand));
            let row = Needed::beside(need, &[at_hand], US);
            [row.up(need), row.down(at_hand)]
        };
        assert_eq!(told("4.11 cu ft", "18.4 US gal"), ["4.11 cu ft", "2.45 cu ft"]);
        assert_eq!(told("2 cups", "5 US gal"), ["0.5 US qt", "20 US qt"]);
        assert_eq!(told("2 cups", "1 tbsp"), ["2 cups", "1 tbsp"]);
        assert_eq!(told("6 US gal", "1 cup"), ["6 US gal", "0.06 US gal"]);
        let pounds = |text| Quantity::Mass(crate::units::mass(text).unwrap());
        assert_eq!(Needed::beside(pounds("2 lb"), &[], US).down(pounds("4 oz")), "0.25 lb");
        for (need, at_hand, said) in [
            ("12.61 L", "12.68 L", "12.7 L"),
            ("12.65 L", "12.65 L", "12.7 L"),
            ("12.61 L", "12.78 L", "12.7 L"),
            ("12.61 L", "12.81 L", "12.8 L"),
        ] {
            let row = Needed::beside(litres(need), &[], UnitSystem::Metric);
            assert_eq!(row.enough(litres(at_hand)), said, "{need} of {at_hand}");
        }
    }

    #[test]
    fn a_column_rounds_each_amount_up_and_sums_what_is_printed() {
        let both = |litres: &[f64]| [UnitSystem::Metric, US].map(|system| in_column(litres, system));
        let [litres, quarts] = both(&[5.0, 2.5, 2.5]);
        assert_eq!(litres.cells().collect::<Vec<_>>(), ["5.0 L", "2.5 L", "2.5 L"]);
        // 5.28 and twice 2.64 quarts.
        assert_eq!((litres.total(), quarts.total()), ("10.0 L".to_owned(), "10.7 US qt".to_owned()));
        // 18.18 L, half of it peat: no row is more than it takes to round it up.
        let [sixths, _] = both(&[9.09, 3.03, 3.03, 3.03]);
        assert_eq!(sixths.cells().collect::<Vec<_>>(), ["9.1 L", "3.1 L", "3.1 L", "3.1 L"]);
        assert_eq!(sixths.total(), "18.4 L");
        let quart = to_litres(volume("1 US qt"));
        // From two quarts on these are told.
        let quarts = in_column(&[2.0 * quart, quart], US);
        assert_eq!(quarts.cells().collect::<Vec<_>>(), ["2.00 US qt", "1.00 US qt"]);
        // A quart has 64 tablespoons: 33.8 and 30.2 of them.
        let cups = in_column(&[0.5, quart - 0.5], US);
        assert_eq!(cups.cells().collect::<Vec<_>>(), ["2 cups + 2 tbsp", "1 3/4 cups + 3 tbsp"]);
        assert_eq!(cups.total(), "4 cups + 1 tbsp");
        let foot = to_litres(volume("1 cu ft"));
        let feet = in_column(&[4.0 * foot, 2.0 * foot], US);
        assert_eq!(feet.cells().collect::<Vec<_>>(), ["4.00 cu ft", "2.00 cu ft"]);
    }

    #[test]
    fn spoons_are_those_of_the_drawer() {
        let shown = |text: &str, largest| by_spoon(volume(text), largest, Rounding::Near);
        assert_eq!(shown("1/3 cup", Spoon::Cup), "1/4 cup + 1 tbsp + 1 tsp");
        assert_eq!(shown("2 1/2 cups", Spoon::Cup), "2 1/2 cups");
        assert_eq!(shown("4 tsp", Spoon::Teaspoon), "4 tsp");
        assert_eq!(shown("0.1 tsp", Spoon::Cup), "0.1 tsp");
    }

    #[test]
    fn a_dose_is_shown_in_the_spoon_of_its_rate() {
        let both = |spoon, system| dosed(Quantity::Volume(in_litres(0.03)), spoon, system);
        assert_eq!(both(Some(Spoon::Tablespoon), UnitSystem::Metric).0, "2 tbsp + 1/4 tsp");
        assert_eq!(both(None, UnitSystem::Metric), ("30 mL".to_owned(), "2 tbsp + 1/4 tsp".to_owned()));
        assert_eq!(both(None, US), ("2 tbsp + 1/4 tsp".to_owned(), String::new()));
        let cups = Quantity::Volume(volume("12 tbsp"));
        assert_eq!(dosed(cups, Some(Spoon::Tablespoon), UnitSystem::Metric).0, "12 tbsp");
        assert_eq!(dosed(cups, Some(Spoon::Tablespoon), US).0, "3/4 cup");
        assert_eq!(dosed(Quantity::Mass(Mass::new::<pound>(2.0)), None, US).0, "2 lb");
    }

    /// 1 g/L is 764.554857984 g to the cubic yard, of 453.59237 g to the pound; a tablespoon in a
    /// gallon is 1/256 of it.
    #[test]
    fn rates_are_told_as_growers_write_them() {
        let shown = |text: &str, system| crate::units::rate(text).unwrap().value.shown(system);
        assert_eq!([UnitSystem::Metric, US].map(|system| shown("2 g/L", system)), ["2 g/L", "3.37 lb/cu yd"]);
        assert_eq!(
            [UnitSystem::Metric, US].map(|system| shown("1 tbsp/US gal", system)),
            ["3.91 mL/L", "1 tbsp/US gal"]
        );
    }
}
