//! The liquid feed on a sheet.

use super::document::Document;
use super::remark::{remark, texts};
use super::words::{assumption, fact};
use super::{Remark, Report, Style};
use crate::behaviour::{Feed, Fertiliser, STRONG_PPM};
use crate::units::customary::DISSOLVED;
use crate::units::mass::gram;
use crate::units::volume::{litre, millilitre, us_fluid_ounce, us_liquid_gallon};
use crate::units::{Assumption, Liquid, Measure, Rounding, Spoon, UnitSystem, Volume, by_spoon, plain, to_litres};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// A feed and the water it is for.
pub struct FeedReport<'f> {
    /// The feed.
    pub feed: &'f Feed,
    /// The analysis as written.
    pub analysis: &'f str,
    /// The label's rate as written, where it was asked what it comes to.
    pub rate: Option<&'f str>,
    /// The water the fertiliser is dissolved in; of a stock all of it, fertiliser and water.
    pub water: Option<Volume>,
    /// How often an injector thins it; 1 for a watering can.
    pub injector: f64,
    /// What was taken for bare units.
    pub units: BTreeSet<Assumption>,
}

/// By weight, by measure, or both, to the nearest: `18 g (15 mL, about 1 tbsp)`.
fn amount(of: Fertiliser, units: UnitSystem) -> String {
    let mass = of.mass.map(|mass| mass.shown(Rounding::Near, units));
    // More than a few quarts are no spoonfuls.
    if let Some(volume) = of.volume.filter(|volume| to_litres(*volume) >= 2.0) {
        let mass = mass.map(|mass| format!("{mass}, ")).unwrap_or_default();
        let gallons = || format!("{} US gal", plain(volume.get::<us_liquid_gallon>(), 2));
        return mass + &units.either(fact(volume, UnitSystem::Metric), gallons());
    }
    let measure = of.volume.map(|volume| {
        let (ml, ounces) = (volume.get::<millilitre>(), volume.get::<us_fluid_ounce>());
        let exact = match units {
            UnitSystem::Metric => format!("{} mL", plain(ml, if ml >= 1.0 { 1 } else { 2 })),
            UnitSystem::Us => format!("{} fl oz", plain(ounces, if ounces >= 0.1 { 2 } else { 3 })),
        };
        (exact, by_spoon(volume, Spoon::Cup, Rounding::Near))
    });
    match (mass, measure) {
        (Some(mass), Some((exact, spoons))) => format!("{mass} ({exact}, about {spoons})"),
        (None, Some((exact, spoons))) => format!("{exact} (about {spoons})"),
        (mass, None) => mass.unwrap_or_default(),
    }
}

impl FeedReport<'_> {
    /// How much to take for the water.
    fn taken(&self, units: UnitSystem) -> Option<String> {
        let fertiliser = format!("{} of {}", amount(self.feed.fertiliser?, units), self.analysis);
        // As given, not rounded down.
        let water = fact(Liquid(self.water?), units);
        Some(if self.injector > 1.0 {
            // Of a stock the fertiliser is a good part.
            let times = plain(self.injector, 1);
            format!(
                "Stir {fertiliser} into some of the water and make up to {water}; the injector thins this {times} \
                 times (1:{times})."
            )
        } else {
            format!("Dissolve {fertiliser} in {water} of water.")
        })
    }

    /// What is in each litre or gallon.
    fn strength(&self, units: UnitSystem) -> String {
        let Fertiliser { mass, volume } = self.feed.strength;
        let each = units.either(1.0, Volume::new::<us_liquid_gallon>(1.0).get::<litre>());
        let mass = mass.map(|mass| DISSOLVED.shown(mass.get::<gram>(), 3, units));
        let mass = mass.map(|shown| shown.split('/').next().unwrap_or_default().to_owned());
        let volume = volume.map(|volume| match units {
            UnitSystem::Metric => format!("{} mL", plain(volume.get::<millilitre>(), 3)),
            UnitSystem::Us => by_spoon(volume * each, Spoon::Cup, Rounding::Near),
        });
        let amounts = [mass, volume].into_iter().flatten().collect::<Vec<_>>().join(" or ");
        format!("That is {amounts} in each {} that reaches the plants.", units.either("litre", "US gallon"))
    }
}

impl Report for FeedReport<'_> {
    fn document(&self, style: Style) -> Document {
        let nitrogen = plain(self.feed.nitrogen_ppm, 1);
        let mut document = Document::new(match self.rate {
            Some(rate) => format!("Feed at {rate}: {nitrogen} ppm N"),
            None => format!("Feed at {nitrogen} ppm N"),
        });
        let taken = self.taken(style.units).into_iter().chain([self.strength(style.units)]);
        document.paragraph(taken.collect::<Vec<_>>().join(" "));
        document.paragraph(format!(
            "It brings {nitrogen} mg/L nitrogen, {} phosphorus ({} as P2O5) and {} potassium ({} as K2O).",
            plain(self.feed.phosphorus_ppm, 1),
            plain(self.feed.phosphate_ppm, 1),
            plain(self.feed.potassium_ppm, 1),
            plain(self.feed.potash_ppm, 1)
        ));
        document.heading("When to begin");
        document.list(texts(&self.notes(style.units)));
        document
    }

    fn value(&self) -> Value {
        let grams = |of: Fertiliser| of.mass.map(|mass| mass.get::<gram>());
        let millilitres = |of: Fertiliser| of.volume.map(|volume| volume.get::<millilitre>());
        json!({
            "format": "trayful-feed/1",
            "analysis": self.analysis,
            "rate": self.rate,
            "water_l": self.water.map(to_litres),
            "injector": self.injector,
            "grams": self.feed.fertiliser.and_then(grams),
            "ml": self.feed.fertiliser.and_then(millilitres),
            "g_per_l": grams(self.feed.strength),
            "ml_per_l": millilitres(self.feed.strength),
            "nitrogen_ppm": self.feed.nitrogen_ppm,
            "phosphorus_ppm": self.feed.phosphorus_ppm,
            "p2o5_ppm": self.feed.phosphate_ppm,
            "potassium_ppm": self.feed.potassium_ppm,
            "k2o_ppm": self.feed.potash_ppm,
            "notes": self.notes(UnitSystem::Metric),
        })
    }

    fn records(&self) -> Vec<Vec<String>> {
        let columns = [
            ("grams", "grams"),
            ("millilitres", "ml"),
            ("g_per_l", "g_per_l"),
            ("nitrogen_ppm", "nitrogen_ppm"),
            ("phosphorus_ppm", "phosphorus_ppm"),
            ("potassium_ppm", "potassium_ppm"),
            ("ml_per_l", "ml_per_l"),
            ("p2o5_ppm", "p2o5_ppm"),
            ("k2o_ppm", "k2o_ppm"),
        ];
        let value = self.value();
        let figure = |key: &str| value[key].as_f64().map(|figure| plain(figure, 4)).unwrap_or_default();
        vec![columns.map(|(name, _)| name.to_owned()).to_vec(), columns.map(|(_, key)| figure(key)).to_vec()]
    }
}

impl FeedReport<'_> {
    fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let too_strong = self.feed.is_too_strong().then(|| {
            remark!(
                "feed-too-strong",
                "TOO STRONG for seedlings: above about {STRONG_PPM:.0} ppm the salts can kill them. Use less."
            )
        });
        let stock = self.water.and_then(|_| self.feed.hardly_dissolves(self.injector)).map(|grams| {
            remark!(
                "stock-hardly-dissolves",
                "{} of stock is more than many dry fertilisers dissolve: see the label for the most. A lower ratio of \
                 the injector takes a weaker stock.",
                DISSOLVED.shown(grams, 0, units)
            )
        });
        let phosphorus = self.feed.hinders_mycorrhiza().then(|| {
            Remark::new(
                "phosphorus-hinders-mycorrhiza",
                "With an inoculant in the mix choose a feed with less phosphorus: above about 10 ppm it keeps \
                 mycorrhiza from forming (a synthesis of trials, no published threshold).",
            )
        });
        let begin = Remark::new(
            "when-to-begin",
            "A mix without food: 25 to 50 ppm N once cotyledons are open. A mix with castings, compost or a starter \
             charge: from the first true leaves (common practice, no source).",
        );
        let stages = Remark::new(
            "strength-by-stage",
            "By stage, from memory: none for the root, 25 to 75 ppm N for cotyledons, 100 to 150 with three leaves and \
             more.",
        );
        let label = Remark::new(
            "follow-the-label",
            "Follow the label and its safety data sheet; keep feed from children and animals.",
        );
        let bare = self.units.iter().map(|unit| Remark::new("bare-unit", assumption(*unit, units)));
        [too_strong, stock, Some(begin), Some(stages), phosphorus, Some(label)]
            .into_iter()
            .flatten()
            .chain(bare)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::behaviour::{Analysis, Percentages};
    use crate::report::{Format, render};
    use crate::units::MassDensity;
    use crate::units::mass_density::gram_per_litre;

    fn feed(label: &str, percentages: Percentages, ppm: f64, water: Option<Volume>) -> Feed {
        Feed::of(Analysis::parse(label).unwrap(), percentages, ppm, water.map(|water| (water, 1.0)))
    }

    fn report<'f>(feed: &'f Feed, analysis: &'f str, water: Option<Volume>) -> FeedReport<'f> {
        FeedReport { feed, analysis, rate: None, water, injector: 1.0, units: BTreeSet::new() }
    }

    /// 500 mg of a 20-10-20 hold 100 mg of nitrogen, 50 of P2O5 and 100 of K2O; ten litres
    /// take ten times that.
    #[test]
    fn the_spreadsheet_has_the_figures_of_the_sheet() {
        let water = Some(Volume::new::<litre>(10.0));
        let feed = feed("20-10-20", Percentages::OfWeight(None), 100.0, water);
        let records = report(&feed, "20-10-20", water).records();
        assert_eq!(records[0][..3], ["grams", "millilitres", "g_per_l"]);
        assert_eq!(records[1][..4], ["5", "", "0.5", "100"]);
        // Of P2O5 43.643 % is phosphorus, of K2O 83.015 % potassium.
        assert_eq!(records[1][4..], ["21.8215", "83.015", "", "50", "100"]);
    }

    /// By hand: 60 ppm of a 3 % liquid of 1.2 g/mL in 9 L are 18 g or 15 mL, 3 tsp of 4.929 mL; 2 g in a
    /// litre are 7.571 g in a gallon, 0.267 oz. By volume 18 mL, 2 mL in a litre.
    #[test]
    fn a_liquid_is_told_by_weight_by_measure_and_by_the_spoon() {
        let said = |percentages, units| {
            let water = Some(Volume::new::<litre>(9.0));
            let feed = feed("3-1-2", percentages, 60.0, water);
            let style = Style { format: Format::Markdown, units, ..Style::default() };
            render(&report(&feed, "3-1-2", water), style).lines().nth(2).unwrap().to_owned()
        };
        let dense = Percentages::OfWeight(Some(MassDensity::new::<gram_per_litre>(1200.0)));
        assert_eq!(
            said(dense, UnitSystem::Metric),
            "Dissolve 18 g (15 mL, about 1 tbsp) of 3-1-2 in 9 L of water. That is 2 g or 1.667 mL in each litre that \
             reaches the plants."
        );
        assert_eq!(
            said(dense, UnitSystem::Us),
            "Dissolve 0.63 oz (0.51 fl oz, about 1 tbsp) of 3-1-2 in 9.51 US qt of water. That is 0.267 oz or 1 1/4 tsp \
             in each US gallon that reaches the plants."
        );
        assert_eq!(
            said(Percentages::OfVolume, UnitSystem::Metric),
            "Dissolve 18 mL (about 1 tbsp + 3/4 tsp) of 3-1-2 in 9 L of water. That is 2 mL in each litre that reaches \
             the plants."
        );
    }
}
