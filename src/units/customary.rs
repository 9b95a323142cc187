//! Units in which figures are kept, and what US units show in their place: every conversion that is
//! printed stands here.
//!
//! Factors: NIST Handbook 44, Appendix C, by way of the units themselves; Fahrenheit by NIST
//! Special Publication 811, Appendix B.9.

use super::length::{centimetre, inch, millimetre};
use super::mass::{gram, kilogram, ounce, pound};
use super::rounding::{UnitSystem, plain};
use super::volume::{
    cubic_foot, cubic_inch, cubic_yard, litre, millilitre, us_liquid_gallon, us_liquid_quart, us_tablespoon,
};
use super::{Length, Mass, Volume};

/// The name of a US unit, and how a figure in the metric unit is shown in it.
type Customary = (&'static str, fn(f64) -> String);

/// A unit that figures are kept in.
#[derive(Clone, Copy, Debug)]
pub struct Unit {
    /// As files and scripts write it.
    pub name: &'static str,
    us: Option<Customary>,
}

impl Unit {
    /// A unit that both systems share.
    pub const fn shared(name: &'static str) -> Self {
        Self { name, us: None }
    }

    const fn metric(name: &'static str, us: &'static str, shown: fn(f64) -> String) -> Self {
        Self { name, us: Some((us, shown)) }
    }

    /// Its name in a system, as it stands behind a figure.
    pub fn name_in(self, system: UnitSystem) -> &'static str {
        self.customary(system).map_or(self.name, |(name, _)| name)
    }

    /// A figure in this unit, to so many decimals, or as the US unit is read.
    pub fn figure(self, value: f64, decimals: usize, system: UnitSystem) -> String {
        self.customary(system).map_or_else(|| plain(value, decimals), |(_, shown)| shown(value))
    }

    /// The same with the unit behind it.
    pub fn shown(self, value: f64, decimals: usize, system: UnitSystem) -> String {
        format!("{} {}", self.figure(value, decimals, system), self.name_in(system))
    }

    fn customary(self, system: UnitSystem) -> Option<Customary> {
        self.us.filter(|_| system == UnitSystem::Us)
    }
}

/// The cell of a tray.
pub const MILLILITRE: Unit =
    Unit::metric("mL", "cu in", |ml| plain(Volume::new::<millilitre>(ml).get::<cubic_inch>(), 2));
/// Up to a few gallons.
pub const LITRE: Unit = Unit::metric("L", "US qt", |l| plain(Volume::new::<litre>(l).get::<us_liquid_quart>(), 2));
/// More than that.
pub const LITRES: Unit = Unit::metric("L", "US gal", |l| plain(Volume::new::<litre>(l).get::<us_liquid_gallon>(), 1));
/// Trays and pots.
pub const CENTIMETRE: Unit = Unit::metric("cm", "in", |cm| plain(Length::new::<centimetre>(cm).get::<inch>(), 2));
/// Lawns, to ten square feet.
pub const SQUARE_METRE: Unit = Unit::metric("m2", "sq ft", |m2| {
    let feet = Length::new::<centimetre>(100.0).get::<inch>() / 12.0;
    plain((m2 * feet * feet / 10.0).round() * 10.0, 0)
});
/// Layers of seed, meshes.
pub const MILLIMETRE: Unit = Unit::metric("mm", "in", |mm| inches(Length::new::<millimetre>(mm)));
/// What is weighed on a scale.
pub const GRAM: Unit = Unit::metric("g", "oz", |g| plain(Mass::new::<gram>(g).get::<ounce>(), 2));
/// What is lifted.
pub const KILOGRAM: Unit = Unit::metric("kg", "lb", |kg| {
    let pounds = Mass::new::<kilogram>(kg).get::<pound>();
    plain(pounds, [20.0, 1.0, 0.1].into_iter().filter(|below| pounds < *below).count())
});
/// Densities.
pub const GRAM_PER_LITRE: Unit = Unit::metric("g/L", "lb/cu ft", |g| {
    plain(Mass::new::<gram>(g * Volume::new::<cubic_foot>(1.0).get::<litre>()).get::<pound>(), 2)
});
/// Doses by weight are told by the cubic yard in US units, densities by the cubic foot.
pub const DOSE: Unit = Unit::metric("g/L", "lb/cu yd", |g| {
    plain(Mass::new::<gram>(g * Volume::new::<cubic_yard>(1.0).get::<litre>()).get::<pound>(), 2)
});
/// Doses by the spoon.
pub const SPOONED: Unit = Unit::metric("mL/L", "tbsp/US gal", |ml| {
    plain(Volume::new::<millilitre>(ml * Volume::new::<us_liquid_gallon>(1.0).get::<litre>()).get::<us_tablespoon>(), 3)
});
/// What is dissolved in water.
pub const DISSOLVED: Unit = Unit::metric("g/L", "oz/US gal", |g| {
    let ounces = Mass::new::<gram>(g * Volume::new::<us_liquid_gallon>(1.0).get::<litre>()).get::<ounce>();
    plain(ounces, if ounces >= 1.0 { 2 } else { 3 })
});
/// A rough count of seeds: to two digits.
pub const SEEDS: Unit = Unit::metric("seeds/g", "seeds/oz", |seeds| {
    let an_ounce = seeds * Mass::new::<ounce>(1.0).get::<gram>();
    let digit = libm::pow(10.0, libm::log10(an_ounce).floor() - 1.0);
    plain((an_ounce / digit).round() * digit, 0)
});
/// Temperatures.
pub const CELSIUS: Unit = Unit::metric("C", "F", |celsius| plain(celsius * 1.8 + 32.0, 0));

/// Inches as a rule reads them: below one in the fraction that is within 6 % of it, else in decimals.
///
/// ```
/// use trayful::units::{inches, length};
/// assert_eq!(["6 mm", "13 mm", "4 mm", "90 mm"].map(|text| inches(length(text).unwrap())), ["1/4", "1/2", "0.16", "3.5"]);
/// ```
pub fn inches(length: Length) -> String {
    in_fractions(length).unwrap_or_else(|| plain(length.get::<inch>(), 2))
}

/// The same where a fraction is near, or from an inch on.
pub(super) fn in_fractions(length: Length) -> Option<String> {
    const NEAR: f64 = 0.06;
    let inches = length.get::<inch>();
    if inches >= 1.0 {
        return Some(plain(inches, 1));
    }
    let near = |parts: &u32| {
        let parts = f64::from(*parts);
        let count = (inches * parts).round();
        (count > 0.0 && (count / parts / inches - 1.0).abs() <= NEAR).then_some(count)
    };
    let (count, parts) = [1, 2, 4, 8, 16].iter().find_map(|parts| Some((near(parts)?, parts)))?;
    Some(if *parts == 1 { plain(count, 0) } else { format!("{count}/{parts}") })
}

impl UnitSystem {
    /// A text of our own, its metric quantities in this system. Never a text of the user's, nor the
    /// label of a package: these stay as written.
    ///
    /// ```
    /// use trayful::units::UnitSystem;
    /// let text = "at 10-16 C, 13 mm deep; tubs pass 23 kg (51 lb)";
    /// assert_eq!(UnitSystem::Us.prose(text), "at 50-61 F, 1/2 in deep; tubs pass 51 lb");
    /// assert_eq!(UnitSystem::Metric.prose(text), text);
    /// ```
    pub fn prose(self, text: &str) -> String {
        if self == Self::Metric {
            return text.to_owned();
        }
        let mut words = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
            let (before, from) = rest.split_at(at);
            words += before;
            let inside = words.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '.' | '-' | '/'));
            let (shown, after) = quantity(from).filter(|_| !inside).unwrap_or_else(|| {
                let (_, after) = number(from);
                (from[..from.len() - after.len()].to_owned(), after)
            });
            words += &shown;
            rest = after;
        }
        words + rest
    }
}

/// The number that a text begins with, and what follows.
fn number(text: &str) -> (f64, &str) {
    let is_digit = |c: char| c.is_ascii_digit();
    let whole = text.trim_start_matches(is_digit);
    let decimals = whole.strip_prefix('.').filter(|decimals| decimals.starts_with(is_digit));
    let after = decimals.map_or(whole, |decimals| decimals.trim_start_matches(is_digit));
    (text[..text.len() - after.len()].parse().unwrap_or_default(), after)
}

/// The metric quantity that a text begins with, one number or two, in US units; and what follows.
fn quantity(text: &str) -> Option<(String, &str)> {
    let (first, after) = number(text);
    let joined = ["-", " to ", " x "].into_iter().find_map(|joint| {
        let next = after.strip_prefix(joint).filter(|next| next.starts_with(|c: char| c.is_ascii_digit()))?;
        Some((joint, number(next)))
    });
    let (last, after) = joined.map_or((first, after), |(_, second)| second);
    let after = after.strip_prefix(' ').unwrap_or(after);
    let end = after.find(|c: char| !(c.is_alphanumeric() || c == '/')).unwrap_or(after.len());
    let (name, after) = after.split_at(end);
    let unit = match name {
        "cm3" => MILLILITRE,
        "kg/kg" => Unit::metric("kg/kg", "lb/lb", |ratio| plain(ratio, 2)),
        "g/L" if last < 30.0 => DISSOLVED,
        "L" if last >= 20.0 => LITRES,
        _ => {
            let known = [MILLILITRE, LITRE, CENTIMETRE, MILLIMETRE, GRAM, KILOGRAM, GRAM_PER_LITRE, CELSIUS];
            known.into_iter().find(|unit| unit.name == name)?
        }
    };
    // A quantity that already stands beside it: `23 kg (51 lb)`.
    let beside = after.strip_prefix(" (").and_then(|more| more.split_once(')'));
    if let Some((beside, after)) = beside
        && [" lb", " in"].iter().any(|unit| beside.ends_with(unit))
        && beside.starts_with(|c: char| c.is_ascii_digit())
    {
        return Some((beside.to_owned(), after));
    }
    let figure = |value| {
        // A rule is read in fractions, whatever the metric unit.
        if name == "cm" { inches(Length::new::<centimetre>(value)) } else { unit.figure(value, 0, UnitSystem::Us) }
    };
    let figures = match joined {
        Some((joint, (second, _))) => format!("{}{joint}{}", figure(first), figure(second)),
        None => figure(first),
    };
    Some((format!("{figures} {}", unit.name_in(UnitSystem::Us)), after))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn us(unit: Unit, value: f64) -> String {
        unit.shown(value, 1, UnitSystem::Us)
    }

    /// NIST Handbook 44, Appendix C: 1 in = 2.54 cm, 1 cu in = 16.387064 mL, 1 qt = 0.946352946 L,
    /// 1 lb = 453.59237 g, 1 oz = 28.349523125 g, 1 cu ft = 28.316846592 L.
    #[test]
    fn figures_are_those_of_the_handbook() {
        assert_eq!(us(MILLILITRE, 163.870_64), "10 cu in");
        assert_eq!(us(LITRE, 1.892_705_892), "2 US qt");
        assert_eq!(us(LITRES, 37.854_117_84), "10 US gal");
        assert_eq!(us(CENTIMETRE, 25.4), "10 in");
        assert_eq!(us(GRAM, 56.699_046_25), "2 oz");
        assert_eq!(us(KILOGRAM, 22.679_618_5), "50 lb");
        assert_eq!(us(GRAM_PER_LITRE, 16.018_463_373_960_14), "1 lb/cu ft");
        assert_eq!(us(DOSE, 0.593_276_421_257_783), "1 lb/cu yd");
        // 1 oz in a gallon of 3.785411784 L is 7.489152 g/L.
        assert_eq!(us(DISSOLVED, 7.489_151_707), "1 oz/US gal");
    }

    /// 28.35 g to the ounce: 300 seeds a gram are 8505 an ounce.
    #[test]
    fn seeds_are_counted_roughly() {
        assert_eq!(
            [300.0, 4.0, 6500.0].map(|seeds| us(SEEDS, seeds)),
            ["8500 seeds/oz", "110 seeds/oz", "180000 seeds/oz"]
        );
    }

    /// NIST SP 811, B.9: degrees Fahrenheit are 1.8 times degrees Celsius, plus 32.
    #[test]
    fn temperatures_are_in_fahrenheit() {
        assert_eq!([0.0, 25.0, 100.0].map(|celsius| us(CELSIUS, celsius)), ["32 F", "77 F", "212 F"]);
    }

    #[test]
    fn what_stands_in_a_text_is_converted_where_it_is_a_quantity() {
        for (text, said) in [
            ("9 cm pot", "3.5 in pot"),
            ("common inserts hold 38-50 mL", "common inserts hold 2.32-3.05 cu in"),
            ("plug trays of 28 x 55 cm, recalled", "plug trays of 11 x 21.7 in, recalled"),
            ("outside the usual 0.7 to 8 L: check", "outside the usual 0.74 to 8.45 US qt: check"),
            ("6-13 mm deep as a rule (1/4-1/2 in)", "1/4-1/2 in deep as a rule (1/4-1/2 in)"),
            ("at 25 C.", "at 77 F."),
            ("7 kg/kg is taken", "7 lb/lb is taken"),
            ("a misprint for 71.8 cm3", "a misprint for 4.38 cu in"),
        ] {
            assert_eq!(UnitSystem::Us.prose(text), said);
        }
        for text in [
            "HortScience 31:965-967: pH 5.6-6.9",
            "a bag marked 15.5-0-0",
            "15 mg/m3",
            "200 mg/L",
            "0.8 mS/cm",
            "256 mol/kg",
            "1.0, 2.2 and 3.8 cu ft",
            "5Ca(NO3)2.NH4NO3",
            "10-20 %",
            "2027",
            "C3 3.",
            "",
        ] {
            assert_eq!(UnitSystem::Us.prose(text), text);
        }
    }
}
