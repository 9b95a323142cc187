//! The liquid feed on a sheet.

use super::document::Document;
use super::remark::{remark, texts};
use super::{Remark, Report, Style};
use crate::behaviour::{Feed, STRONG_PPM};
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::{litre, millilitre, us_liquid_gallon};
use crate::units::{UnitSystem, Volume, grams, plain};
use serde_json::{Value, json};

/// A feed and the water it is for.
pub struct FeedReport<'f> {
    /// The feed.
    pub feed: &'f Feed,
    /// The analysis as written.
    pub analysis: &'f str,
    /// The water the fertiliser is dissolved in.
    pub water: Volume,
    /// How often an injector thins it; 1 for a watering can.
    pub injector: f64,
}

impl Report for FeedReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(format!("Feed at {} ppm N", plain(self.feed.nitrogen_ppm, 1)));
        let measure = self.feed.measure.map(|volume| format!(" ({} mL)", plain(volume.get::<millilitre>(), 1)));
        // As given, not rounded down.
        let water = match style.units {
            UnitSystem::Metric => format!("{} L", plain(self.water.get::<litre>(), 2)),
            UnitSystem::Us => format!("{} US gal", plain(self.water.get::<us_liquid_gallon>(), 2)),
        };
        let thinned = (self.injector > 1.0).then(|| format!(", thinned 1:{} by the injector", plain(self.injector, 1)));
        document.paragraph(format!(
            "Dissolve {}{} of {} in {water} of water{}. That is {} g in each litre that reaches the plants.",
            grams(self.feed.fertiliser),
            measure.unwrap_or_default(),
            self.analysis,
            thinned.unwrap_or_default(),
            plain(self.feed.strength.get::<gram_per_litre>(), 3)
        ));
        document.paragraph(format!(
            "It brings {} mg/L nitrogen, {} phosphorus and {} potassium.",
            plain(self.feed.nitrogen_ppm, 1),
            plain(self.feed.phosphorus_ppm, 1),
            plain(self.feed.potassium_ppm, 1)
        ));
        document.heading("When to begin");
        document.list(texts(&self.notes()));
        document
    }

    fn value(&self) -> Value {
        json!({
            "format": "trayful-feed/1",
            "analysis": self.analysis,
            "water_l": self.water.get::<litre>(),
            "injector": self.injector,
            "grams": self.feed.fertiliser.get::<gram>(),
            "ml": self.feed.measure.map(|volume| volume.get::<millilitre>()),
            "g_per_l": self.feed.strength.get::<gram_per_litre>(),
            "nitrogen_ppm": self.feed.nitrogen_ppm,
            "phosphorus_ppm": self.feed.phosphorus_ppm,
            "potassium_ppm": self.feed.potassium_ppm,
            "notes": self.notes(),
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
        ];
        let value = self.value();
        let figure = |key: &str| value[key].as_f64().map(|figure| plain(figure, 4)).unwrap_or_default();
        vec![columns.map(|(name, _)| name.to_owned()).to_vec(), columns.map(|(_, key)| figure(key)).to_vec()]
    }
}

impl FeedReport<'_> {
    fn notes(&self) -> Vec<Remark> {
        let too_strong = self.feed.is_too_strong().then(|| {
            remark!(
                "feed-too-strong",
                "TOO STRONG for seedlings: above about {STRONG_PPM:.0} ppm the salts can kill them. Use less."
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
        [too_strong, Some(begin), Some(stages), phosphorus, Some(label)].into_iter().flatten().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::behaviour::Analysis;

    /// 500 mg of a 20-10-20 hold 100 mg of nitrogen, 50 of P2O5 and 100 of K2O; ten litres
    /// take ten times that.
    #[test]
    fn the_spreadsheet_has_the_figures_of_the_sheet() {
        let water = Volume::new::<litre>(10.0);
        let feed = Feed::of(Analysis::parse("20-10-20").unwrap(), 100.0, water, 1.0, None);
        let report = FeedReport { feed: &feed, analysis: "20-10-20", water, injector: 1.0 };
        let records = report.records();
        assert_eq!(records[0][..3], ["grams", "millilitres", "g_per_l"]);
        assert_eq!(records[1][..4], ["5", "", "0.5", "100"]);
        // Of P2O5 43.643 % is phosphorus, of K2O 83.015 % potassium.
        assert_eq!(records[1][4..], ["21.8215", "83.015"]);
    }
}
