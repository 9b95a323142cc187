//! Liquid feed: how much fertiliser for a wanted strength of nitrogen.
//!
//! `g/L = ppm / (10 x %N)`, since one ppm is one milligram in a litre. In US measure
//! ounces per 100 gallons are `ppm / (75 N)` with N as a fraction (75 is 74.892 rounded). A liquid
//! whose label counts by volume, grams in 100 mL, takes `mL/L = ppm / (10 x %N)`; by weight it takes
//! that over its density.
//! Phosphorus is 0.4364 of P2O5 and potassium 0.8301 of K2O by their atomic weights.

use crate::stock::Currency;
use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Mass, MassDensity, Quantity, Rate, Volume, cover, in_litres, number, to_litres};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

/// A fertiliser's declared analysis: nitrogen, phosphate (P2O5) and potash (K2O), in percent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Analysis {
    nitrogen: f64,
    phosphate: f64,
    potash: f64,
}

/// Phosphorus in phosphate: 2 x 30.974 / 141.943 (IUPAC atomic weights).
const P_IN_P2O5: f64 = 0.436_43;
/// Potassium in potash: 2 x 39.098 / 94.195 (IUPAC atomic weights).
const K_IN_K2O: f64 = 0.830_15;

impl Analysis {
    /// Reads `3-1-2` or `2.5 - 0.8 - 1.6`.
    ///
    /// # Errors
    /// Why it is none: each a number, at least a hundredth of a per cent of nitrogen, no more than the whole.
    ///
    /// ```
    /// use trayful::behaviour::Analysis;
    /// assert!(Analysis::parse("3-1-2").is_ok());
    /// assert!(["0-10-10", "20-20", "60-30-20"].map(Analysis::parse).iter().all(Result::is_err));
    /// ```
    pub fn parse(text: &str) -> Result<Self, &'static str> {
        let shares: Option<Vec<f64>> = text.split('-').map(|share| Some(number(share).ok()?.to_f64())).collect();
        match shares.as_deref() {
            Some([nitrogen, ..]) if *nitrogen < 0.01 => Err("it tells of no nitrogen, by which a feed is dosed"),
            Some(shares) if shares.iter().sum::<f64>() > 100.0 => Err("its shares come to more than 100 %"),
            Some(&[nitrogen, phosphate, potash]) => Ok(Self { nitrogen, phosphate, potash }),
            _ => Err("it is not three percentages with hyphens between them"),
        }
    }
}

/// Nitrogen in mg/L, least and most, for the open cotyledons of seedlings in a mix without food (common practice, no source).
pub const UNFED_PPM: [f64; 2] = [25.0, 50.0];
/// The same for cotyledons in any mix (from memory).
pub const COTYLEDONS_PPM: [f64; 2] = [25.0, 75.0];
/// Nitrogen for three leaves and more (from memory).
pub const LEAVES_PPM: [f64; 2] = [100.0, 150.0];
/// Nitrogen above this is more than any stage of a seedling takes (growers' tables go to 250 for plants in flower).
pub const STRONG_PPM: f64 = 250.0;
/// Potassium above this is as salty, in a feed of little nitrogen (from memory).
pub const STRONG_POTASSIUM_PPM: f64 = 400.0;
/// Soluble phosphorus above this keeps an inoculant from working: a synthesis of trials
/// (Douds 2009: fine at 0.3 to 3 mg/L, next to nothing at 31), no published threshold.
pub const PHOSPHORUS_PPM: f64 = 10.0;

/// Above so many grams in a litre a stock is more than many dry fertilisers dissolve (labels say 300 to
/// 500 at 20 C, potassium nitrate dissolves about 310; from memory).
const DISSOLVES_G_PER_L: f64 = 300.0;
/// A litre of solution holds no more of any (from memory).
const MOST_G_PER_L: f64 = 1500.0;

/// What the percentages of a label are of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Percentages {
    /// Of its weight; with the density, where that is known: of a liquid, or of a powder by the spoon.
    OfWeight(Option<MassDensity>),
    /// Grams in 100 mL of a liquid (`w/v`).
    OfVolume,
}

/// So much fertiliser, by weight and by measure, as far as each is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fertiliser {
    /// By weight.
    pub mass: Option<Mass>,
    /// By measure.
    pub volume: Option<Volume>,
}

impl Fertiliser {
    /// So many times as much.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { mass: self.mass.map(|mass| mass * factor), volume: self.volume.map(|volume| volume * factor) }
    }
}

/// A fertiliser as its label tells of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// What it is called, by its analysis if nothing else.
    pub name: String,
    /// Its analysis as written.
    pub label: String,
    /// The analysis.
    pub analysis: Analysis,
    /// What its percentages are of.
    pub percentages: Percentages,
    /// A package of it, where its price is known.
    pub package: Option<FertiliserPack>,
}

/// A package of a fertiliser.
#[derive(Clone, Debug, PartialEq)]
pub struct FertiliserPack {
    /// What is in it, as written.
    pub label: String,
    /// What is in it.
    pub gives: Quantity,
    /// What it costs.
    pub price: Decimal,
    /// In what, where that is stated.
    pub currency: Option<Currency>,
}

impl FertiliserPack {
    /// How much of it that is, counted as the package counts.
    fn counted(&self, of: Fertiliser) -> Option<f64> {
        match self.gives {
            Quantity::Mass(_) => of.mass.map(|mass| mass.get::<gram>()),
            Quantity::Volume(_) => of.volume.map(to_litres),
        }
    }

    /// What so much of it costs, as a share of the package; `None` where the package counts by weight what is only known
    /// by measure, or the other way.
    pub fn cost_of(&self, of: Fertiliser) -> Option<Decimal> {
        let all = self.price.checked_mul(Decimal::from_f64(self.counted(of)?)?)?;
        all.checked_div(Decimal::from_f64(self.gives.size())?)
    }

    /// How many packages hold so much.
    pub fn count_for(&self, of: Fertiliser) -> Option<u64> {
        // Litres or grams of both.
        Some(cover(in_litres(self.counted(of)?), in_litres(self.gives.size()))?.count)
    }
}

impl Percentages {
    /// So much of it that its percentages are of `hundreds` grams or millilitres.
    fn amount(self, hundreds: f64) -> Fertiliser {
        match self {
            Self::OfVolume => Fertiliser { mass: None, volume: Some(in_litres(hundreds / 1000.0)) },
            Self::OfWeight(density) => Fertiliser {
                mass: Some(Mass::new::<gram>(hundreds)),
                volume: density.map(|density| in_litres(hundreds / density.get::<gram_per_litre>())),
            },
        }
    }

    /// Whether an amount by measure, or else by weight, tells how much of these it holds.
    pub const fn counts(self, by_measure: bool) -> bool {
        match self {
            Self::OfVolume => by_measure,
            Self::OfWeight(density) => density.is_some() || !by_measure,
        }
    }

    /// The nitrogen, in mg/L, that a label's rate brings of an analysis; `None` for a rate by measure of
    /// what is only known by weight, or the other way.
    pub fn nitrogen_ppm(self, analysis: Analysis, rate: Rate) -> Option<f64> {
        let hundreds = match (self, rate.spoon()) {
            (Self::OfWeight(_), None) => rate.per_litre(),
            (Self::OfWeight(Some(density)), Some(_)) => rate.per_litre() * density.get::<gram_per_litre>(),
            (Self::OfVolume, Some(_)) => rate.per_litre() * 1000.0,
            (Self::OfWeight(None), Some(_)) | (Self::OfVolume, None) => return None,
        };
        Some(hundreds * 10.0 * analysis.nitrogen)
    }
}

/// A feed worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// Fertiliser in each litre that reaches the plants.
    pub strength: Fertiliser,
    /// Fertiliser for the water at hand.
    pub fertiliser: Option<Fertiliser>,
    /// Nitrogen, mg/L.
    pub nitrogen_ppm: f64,
    /// Phosphate (P2O5), mg/L.
    pub phosphate_ppm: f64,
    /// Phosphorus, mg/L.
    pub phosphorus_ppm: f64,
    /// Potash (K2O), mg/L.
    pub potash_ppm: f64,
    /// Potassium, mg/L.
    pub potassium_ppm: f64,
}

impl Feed {
    /// The feed of a strength: `ppm` of nitrogen in the water that reaches the plants. The fertiliser
    /// is in `water`, all in all, which an injector then thins so many times (1 for a watering can).
    pub fn of(analysis: Analysis, percentages: Percentages, ppm: f64, water: Option<(Volume, f64)>) -> Self {
        let hundreds = ppm / (10.0 * analysis.nitrogen);
        let (phosphate_ppm, potash_ppm) =
            (ppm * analysis.phosphate / analysis.nitrogen, ppm * analysis.potash / analysis.nitrogen);
        Self {
            strength: percentages.amount(hundreds),
            fertiliser: water.map(|(water, injector)| percentages.amount(hundreds * injector * to_litres(water))),
            nitrogen_ppm: ppm,
            phosphate_ppm,
            phosphorus_ppm: phosphate_ppm * P_IN_P2O5,
            potash_ppm,
            potassium_ppm: potash_ppm * K_IN_K2O,
        }
    }

    /// How many times the fertiliser itself can be thinned to the feed, or of what is known by weight alone the strongest
    /// solution.
    pub fn most_thinned(&self) -> Option<f64> {
        let by_weight = self.strength.mass.map(|mass| MOST_G_PER_L / mass.get::<gram>());
        self.strength.volume.map(|volume| 1.0 / to_litres(volume)).or(by_weight)
    }

    /// Grams in a litre of the stock that is thinned so many times, where that is more than many dry
    /// fertilisers dissolve. Heavier than water by measure is a liquid, which only has to mix.
    pub fn hardly_dissolves(&self, injector: f64) -> Option<f64> {
        let grams = self.strength.mass?.get::<gram>();
        Some(grams * injector).filter(|stock| !self.is_liquid() && *stock > DISSOLVES_G_PER_L)
    }

    /// Whether it is known for a liquid: as heavy as water by its density.
    pub fn is_liquid(&self) -> bool {
        let of = self.strength.mass.zip(self.strength.volume);
        of.is_some_and(|(mass, volume)| mass.get::<gram>() >= 1000.0 * to_litres(volume))
    }

    /// Whether its salts can kill seedlings.
    pub fn is_too_strong(&self) -> bool {
        self.nitrogen_ppm > STRONG_PPM || self.potassium_ppm > STRONG_POTASSIUM_PPM
    }

    /// Whether it is more than seedlings take that have leaves.
    pub fn is_for_older(&self) -> bool {
        self.nitrogen_ppm > LEAVES_PPM[1] && !self.is_too_strong()
    }

    /// Whether its phosphorus keeps an inoculant from working.
    pub fn hinders_mycorrhiza(&self) -> bool {
        self.phosphorus_ppm > PHOSPHORUS_PPM
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::mass::ounce;
    use crate::units::rate;
    use crate::units::volume::{litre, millilitre, us_liquid_gallon};

    const BY_WEIGHT: Percentages = Percentages::OfWeight(None);

    fn analysis(text: &str) -> Analysis {
        Analysis::parse(text).unwrap()
    }

    fn ounces(analysis: &str, ppm: f64, gallons: f64, injector: f64) -> f64 {
        let water = Volume::new::<us_liquid_gallon>(gallons);
        let feed = Feed::of(Analysis::parse(analysis).unwrap(), BY_WEIGHT, ppm, Some((water, injector)));
        feed.fertiliser.unwrap().mass.unwrap().get::<ounce>()
    }

    // Printed figures round the factor 74.892 to 75: they are good to about 0.5 %.
    fn near(got: f64, printed: f64) {
        assert!((got / printed - 1.0).abs() < 0.02, "{got}, printed {printed}");
    }

    #[test]
    fn university_of_massachusetts_tables() {
        near(ounces("20-10-20", 200.0, 100.0, 1.0), 13.5);
        near(ounces("15-0-15", 200.0, 100.0, 1.0), 18.0);
    }

    #[test]
    fn texas_a_and_m_tables() {
        near(ounces("15-5-15", 250.0, 100.0, 1.0), 22.0);
        near(ounces("15-5-15", 11.25, 100.0, 1.0), 1.0);
    }

    #[test]
    fn cornell_stock_through_an_injector() {
        near(ounces("20-10-20", 150.0, 1.0, 200.0), 20.25);
    }

    /// 4-1-1 brings 0.436 mg of phosphorus to every 4 mg of nitrogen: 10 mg/L at 92 ppm.
    #[test]
    fn strong_feeds_and_much_phosphorus_are_told() {
        let feed = |ppm| Feed::of(analysis("4-1-1"), BY_WEIGHT, ppm, None);
        assert!(!feed(91.0).hinders_mycorrhiza() && feed(92.0).hinders_mycorrhiza());
        assert!(!feed(250.0).is_too_strong() && feed(250.1).is_too_strong());
    }

    #[test]
    fn one_gram_of_twenty_percent_in_a_litre_is_two_hundred_ppm() {
        let feed = Feed::of(analysis("20-20-20"), BY_WEIGHT, 200.0, Some((Volume::new::<litre>(1.0), 1.0)));
        assert!((feed.fertiliser.unwrap().mass.unwrap().get::<gram>() - 1.0).abs() < 1e-12);
        // Published as 0.44 and 0.83.
        assert!((feed.phosphorus_ppm / 200.0 - 0.44).abs() < 0.005);
        assert!((feed.potassium_ppm / 200.0 - 0.83).abs() < 0.005);
        assert_eq!((feed.phosphate_ppm, feed.potash_ppm), (200.0, 200.0));
    }

    /// By hand: 3 % of 1.2 g/mL is 36 mg of nitrogen in a millilitre, so 60 ppm in 9 L are 540 mg or
    /// 15 mL; 3 g in 100 mL are 30 mg in a millilitre, so 18 mL.
    #[test]
    fn a_liquid_is_measured_by_its_density_or_by_a_label_that_counts_by_volume() {
        let density = Some(MassDensity::new::<gram_per_litre>(1200.0));
        let ml = |percentages| {
            let feed = Feed::of(analysis("3-1-2"), percentages, 60.0, Some((Volume::new::<litre>(9.0), 1.0)));
            feed.fertiliser.unwrap().volume.map(|volume| volume.get::<millilitre>().round())
        };
        assert_eq!([Percentages::OfWeight(density), Percentages::OfVolume].map(ml), [Some(15.0), Some(18.0)]);
        assert_eq!(ml(BY_WEIGHT), None);
    }

    /// By hand: 1.2 g at 18.50 a kilogram is 0.0222; 2 kg are two packages, and a gram more three. What is known by weight
    /// alone is not told by measure.
    #[test]
    fn a_package_costs_by_what_is_taken_of_it() {
        let (label, gives) = ("1 kg".to_owned(), Quantity::Mass(Mass::new::<gram>(1000.0)));
        let pack = FertiliserPack { label, gives, price: Decimal::new(1850, 2), currency: None };
        let grams = |grams| Fertiliser { mass: Some(Mass::new::<gram>(grams)), volume: None };
        assert_eq!(pack.cost_of(grams(1.2)), Some(Decimal::new(222, 4)));
        assert_eq!([2000.0, 2001.0].map(|all| pack.count_for(grams(all))), [Some(2), Some(3)]);
        let bottle = FertiliserPack { gives: Quantity::Volume(Volume::new::<litre>(1.0)), ..pack };
        assert_eq!((bottle.cost_of(grams(1.2)), bottle.count_for(grams(1.2))), (None, None));
    }

    /// By hand: 4 mL/L of 3 g in 100 mL are 120 mg of nitrogen; with 1.2 g/mL of 3 % by weight 144; 1 g/L
    /// of 20 % is 200 ppm (published); a tablespoon in a gallon is 1/256 of it, 3.90625 mL/L.
    #[test]
    fn a_rate_is_told_by_what_it_brings() {
        let ppm = |percentages: Percentages, label: &str, text: &str| {
            percentages.nitrogen_ppm(analysis(label), rate(text).unwrap().value)
        };
        let near = |got: Option<f64>, wanted: f64| assert!((got.unwrap() - wanted).abs() < 1e-9, "{got:?} {wanted}");
        near(ppm(Percentages::OfVolume, "3-1-2", "4 mL/L"), 120.0);
        near(ppm(Percentages::OfVolume, "3-1-2", "1 tbsp/US gal"), 117.1875);
        near(ppm(Percentages::OfWeight(Some(MassDensity::new::<gram_per_litre>(1200.0))), "3-1-2", "4 mL/L"), 144.0);
        near(ppm(BY_WEIGHT, "20-20-20", "1 g/L"), 200.0);
        assert_eq!(ppm(BY_WEIGHT, "3-1-2", "4 mL/L"), None);
        assert_eq!(ppm(Percentages::OfVolume, "3-1-2", "4 g/L"), None);
    }
}
