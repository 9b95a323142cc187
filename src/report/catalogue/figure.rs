//! What an entry of the catalogue says: words for people, numbers with a unit for scripts.

use crate::catalogue::{Depth, Warmth};
use crate::exact::Fraction;
use crate::units::customary::{CELSIUS, GRAM_PER_LITRE, LITRE, MILLILITRE, MILLIMETRE};
use crate::units::length::millimetre;
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::millilitre;
use crate::units::{Length, MassDensity, Unit, UnitSystem, Volume, plain};
use serde_json::{Value, json};

pub(super) const PERCENT: Unit = Unit::shared("%");
pub(super) const PH: Unit = Unit::shared("pH");
pub(super) const LITRE_PER_LITRE: Unit = Unit::shared("L/L");
pub(super) const GRAM_PER_MOLE: Unit = Unit::shared("g/mol");
const CONDUCTIVITY: Unit = Unit::shared("mS/cm");

/// The units that stand behind figures in the catalogue's texts.
const WRITTEN: [Unit; 6] = [MILLILITRE, LITRE, GRAM_PER_LITRE, CELSIUS, PERCENT, CONDUCTIVITY];

/// One fact of an entry.
#[derive(Clone, Default)]
pub(super) struct Figure {
    /// As shown in metric units, and in US units.
    shown: [String; 2],
    /// A text, a list, a number, or the least and the most.
    pub(super) value: Value,
    pub(super) unit: Option<Unit>,
}

impl Figure {
    /// A value that is shown alike in all units.
    fn alike(shown: String, value: Value, unit: Option<Unit>) -> Self {
        Self { shown: [shown.clone(), shown], value, unit }
    }

    /// Words of ours, with the quantities that stand in them.
    pub(super) fn words(text: impl Into<String>) -> Self {
        let text = text.into();
        let us = UnitSystem::Us.prose(&text);
        Self::in_words(text, us)
    }

    /// Words in metric and in US units.
    pub(super) fn in_words(metric: String, us: String) -> Self {
        Self { value: json!(metric), shown: [metric, us], unit: None }
    }

    /// What a value is called.
    pub(super) fn label(metric: &str, us: &str) -> Self {
        Self { shown: [metric, us].map(str::to_owned), ..Self::default() }
    }

    /// A word of an entry, or nothing where the entry does not say.
    pub(super) fn word(word: Option<impl ToString>) -> Self {
        word.map(|word| Self::words(word.to_string())).unwrap_or_default()
    }

    /// Several words, or nothing where there are none.
    pub(super) fn names<S: AsRef<str>>(names: &[S]) -> Self {
        let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
        Self { value: json!(names), ..Self::words(names.join(", ")) }
    }

    /// A number of things.
    pub(super) fn count(number: u64, of: &'static str) -> Self {
        Self::alike(number.to_string(), json!(number), Some(Unit::shared(of)))
    }

    /// From so many to so many things, if the entry says.
    pub(super) fn counts(range: Option<(u32, u32)>, of: &'static str) -> Self {
        match range {
            None => Self::default(),
            Some((low, high)) if low == high => Self::count(low.into(), of),
            Some((low, high)) => Self::alike(format!("{low}-{high}"), json!([low, high]), Some(Unit::shared(of))),
        }
    }

    /// A share in percent, if the entry says.
    pub(super) fn percent(share: Option<Fraction>) -> Self {
        share.map(|share| Self::measured(share.to_f64() * 100.0, 2, PERCENT).with_unit()).unwrap_or_default()
    }

    /// A density of dry material, if the entry says.
    pub(super) fn density(density: Option<MassDensity>, decimals: usize) -> Self {
        let figure = |density: MassDensity| Self::measured(density.get::<gram_per_litre>(), decimals, GRAM_PER_LITRE);
        density.map(figure).unwrap_or_default()
    }

    /// A measured number, shown to so many decimals.
    pub(super) fn measured(value: f64, decimals: usize, unit: Unit) -> Self {
        Self::of_text(plain(value, decimals), &[value], "-", unit)
    }

    /// A range of depths, if the entry says.
    pub(super) fn depths(range: Option<Depth>) -> Self {
        let mm = |Depth((least, most))| [least, most].map(|depth: Length| depth.get::<millimetre>());
        range.map(|range| Self::range(mm(range), MILLIMETRE)).unwrap_or_default()
    }

    /// Temperatures of the mix, if the entry says.
    pub(super) fn warmth(range: Option<Warmth>) -> Self {
        range.map(|Warmth((low, high))| Self::range([low, high], CELSIUS)).unwrap_or_default()
    }

    /// A range of volumes, if the entry says.
    pub(super) fn volumes(range: Option<(Volume, Volume)>) -> Self {
        let ml = |(least, most)| [least, most].map(|volume: Volume| volume.get::<millilitre>());
        range.map(|range| Self::range(ml(range), MILLILITRE)).unwrap_or_default()
    }

    /// From the least to the most; once where these are the same.
    fn range(values: [f64; 2], unit: Unit) -> Self {
        let mut values = values.to_vec();
        values.dedup();
        let shown = values.iter().map(|value| plain(*value, 1)).collect::<Vec<_>>().join("-");
        Self::of_text(shown, &values, "-", unit).with_unit()
    }

    /// Two measured numbers, as in `25.4 x 50.8`.
    pub(super) fn sides(long: f64, short: f64, unit: Unit) -> Self {
        Self::of_text(format!("{} x {}", plain(long, 1), plain(short, 1)), &[long, short], " x ", unit)
    }

    /// A text of the catalogue that may be a figure or a range of them, such as `16-29 C`;
    /// `bare` is the unit of one that states none.
    pub(super) fn read(text: Option<&str>, bare: Unit) -> Self {
        let Some(text) = text else { return Self::default() };
        let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).unwrap_or(text.len());
        let (figures, name) = (&text[..end], text[end..].trim());
        let unit = if name.is_empty() { Some(bare) } else { WRITTEN.into_iter().find(|unit| unit.name == name) };
        let values: Result<Vec<f64>, _> = figures.split('-').map(str::parse).collect();
        let (Some(unit), Ok([_] | [_, _])) = (unit, values.as_deref()) else { return Self::words(text) };
        let figure = Self::of_text(figures.to_owned(), &values.unwrap_or_default(), "-", unit);
        if name.is_empty() { figure } else { figure.with_unit() }
    }

    fn of_text(metric: String, values: &[f64], between: &str, unit: Unit) -> Self {
        let us = match unit.name_in(UnitSystem::Us) {
            name if name == unit.name => metric.clone(),
            _ => values.iter().map(|value| unit.figure(*value, 0, UnitSystem::Us)).collect::<Vec<_>>().join(between),
        };
        let value = if let [value] = values { json!(value) } else { json!(values) };
        Self { shown: [metric, us], value, unit: Some(unit) }
    }

    /// The same with its unit shown behind it.
    pub(super) fn with_unit(self) -> Self {
        let Some(unit) = self.unit else { return self };
        let [metric, us] = self.shown;
        Self { shown: [format!("{metric} {}", unit.name), format!("{us} {}", unit.name_in(UnitSystem::Us))], ..self }
    }

    /// The same between other words.
    pub(super) fn between(self, before: &str, after: &str) -> Self {
        Self { shown: self.shown.map(|text| format!("{before}{text}{after}")), ..self }
    }

    /// Whether the entry does not say.
    pub(super) fn is_empty(&self) -> bool {
        self.shown[0].is_empty()
    }

    /// As shown in some units.
    pub(super) fn shown(&self, units: UnitSystem) -> &str {
        &self.shown[usize::from(units == UnitSystem::Us)]
    }

    /// Its unit as scripts read it.
    pub(super) fn unit_name(&self) -> Option<&'static str> {
        self.unit.map(|unit| unit.name)
    }

    /// For scripts: a text or a list, or `{"value", "unit"}`.
    pub(super) fn json(&self) -> Value {
        self.unit_name().map_or_else(|| self.value.clone(), |unit| json!({"value": self.value, "unit": unit}))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::customary::{CENTIMETRE, DOSE};

    fn both(figure: &Figure) -> [&str; 2] {
        [figure.shown(UnitSystem::Metric), figure.shown(UnitSystem::Us)]
    }

    #[test]
    fn texts_of_the_catalogue_are_read_as_figures() {
        let warm = Figure::read(Some("16-29 C"), PERCENT);
        assert_eq!((warm.json(), both(&warm)), (json!({"value": [16.0, 29.0], "unit": "C"}), ["16-29 C", "61-84 F"]));
        let acid = Figure::read(Some("3.0-4.5"), PH);
        assert_eq!((acid.json(), both(&acid)), (json!({"value": [3.0, 4.5], "unit": "pH"}), ["3.0-4.5"; 2]));
        for words in ["bulk", "about 5 L", "5 firkins", "1-2-3", "", "-"] {
            assert_eq!(Figure::read(Some(words), PERCENT).json(), json!(words));
        }
    }

    /// By definition a cubic inch has 16.387064 mL, an inch 2.54 cm, a quart 57.75 cubic
    /// inches; 1 g/L is 28.316846592 g to the cubic foot and 27 times that to the yard.
    #[test]
    fn us_units_are_shown_and_metric_ones_kept_for_scripts() {
        let cell = Figure::measured(59.147_059_125, 1, MILLILITRE).with_unit();
        assert_eq!(both(&cell), ["59.1 mL", "3.61 cu in"]);
        assert_eq!(cell.json(), json!({"value": 59.147_059_125, "unit": "mL"}));
        assert_eq!(
            both(&Figure::words("2-5 mm; not for acid mixes")),
            ["2-5 mm; not for acid mixes", "0.08-3/16 in; not for acid mixes"]
        );
        assert_eq!(both(&Figure::sides(25.4, 50.8, CENTIMETRE)), ["25.4 x 50.8", "10 x 20"]);
        assert_eq!(both(&Figure::measured(100.0, 0, GRAM_PER_LITRE)), ["100", "6.24"]);
        assert_eq!(both(&Figure::measured(3.0, 0, DOSE).with_unit()), ["3 g/L", "5.06 lb/cu yd"]);
        assert_eq!(both(&Figure::measured(0.946_352_946, 2, LITRE)), ["0.95", "1"]);
    }
}
