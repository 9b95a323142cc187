//! Liquid feed: how much fertiliser for a wanted strength of nitrogen.
//!
//! `g/L = ppm / (10 x %N)`, since one ppm is one milligram in a litre. In US measure
//! ounces per 100 gallons are `ppm / (75 N)` with N as a fraction (75 is 74.892 rounded).
//! Phosphorus is 0.4364 of P2O5 and potassium 0.8301 of K2O by their atomic weights.

use crate::units::mass::gram;
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::litre;
use crate::units::{Mass, MassDensity, Volume};

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
    /// Reads `3-1-2` or `2.5 - 0.8 - 1.6`; `None` unless there is nitrogen, at least a hundredth of a
    /// per cent, and no more than the whole.
    ///
    /// ```
    /// use trayful::behaviour::Analysis;
    /// assert!(Analysis::parse("3-1-2").is_some());
    /// assert!(Analysis::parse("0-10-10").is_none() && Analysis::parse("20-20").is_none());
    /// ```
    pub fn parse(text: &str) -> Option<Self> {
        let shares: Vec<f64> = text
            .split('-')
            .map(|share| crate::units::number(share).ok().map(crate::exact::Fraction::to_f64))
            .collect::<Option<_>>()?;
        let [nitrogen, phosphate, potash] = shares[..] else { return None };
        let possible =
            nitrogen >= 0.01 && shares.iter().all(|share| *share >= 0.0) && shares.iter().sum::<f64>() <= 100.0;
        possible.then_some(Self { nitrogen, phosphate, potash })
    }
}

/// Nitrogen above this is more than any stage of a seedling takes (100 to 150, from memory;
/// growers' tables go to 250 for plants in flower).
pub const STRONG_PPM: f64 = 250.0;
/// Soluble phosphorus above this keeps an inoculant from working: a synthesis of trials
/// (Douds 2009: fine at 0.3 to 3 mg/L, next to nothing at 31), no published threshold.
const PHOSPHORUS_PPM: f64 = 10.0;

/// A feed worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// Fertiliser in each litre of feed.
    pub strength: MassDensity,
    /// Fertiliser for the water at hand.
    pub fertiliser: Mass,
    /// The same by volume, where the density of a liquid is known.
    pub measure: Option<Volume>,
    /// Nitrogen, mg/L.
    pub nitrogen_ppm: f64,
    /// Phosphorus, mg/L.
    pub phosphorus_ppm: f64,
    /// Potassium, mg/L.
    pub potassium_ppm: f64,
}

impl Feed {
    /// The feed of a strength: `ppm` of nitrogen in the water that reaches the plants, the
    /// fertiliser being dissolved in `water`, which an injector then thins `injector` times
    /// (1 for a watering can). `density` is that of a liquid fertiliser.
    pub fn of(analysis: Analysis, ppm: f64, water: Volume, injector: f64, density: Option<MassDensity>) -> Self {
        let strength = MassDensity::new::<gram_per_litre>(ppm / (10.0 * analysis.nitrogen));
        let fertiliser = Mass::new::<gram>(strength.get::<gram_per_litre>() * injector * water.get::<litre>());
        let measure =
            density.map(|density| Volume::new::<litre>(fertiliser.get::<gram>() / density.get::<gram_per_litre>()));
        Self {
            strength,
            fertiliser,
            measure,
            nitrogen_ppm: ppm,
            phosphorus_ppm: ppm * analysis.phosphate * P_IN_P2O5 / analysis.nitrogen,
            potassium_ppm: ppm * analysis.potash * K_IN_K2O / analysis.nitrogen,
        }
    }

    /// Whether its salts can kill seedlings.
    pub fn is_too_strong(&self) -> bool {
        self.nitrogen_ppm > STRONG_PPM
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
    use crate::units::volume::us_liquid_gallon;

    fn ounces(analysis: &str, ppm: f64, gallons: f64, injector: f64) -> f64 {
        let water = Volume::new::<us_liquid_gallon>(gallons);
        Feed::of(Analysis::parse(analysis).unwrap(), ppm, water, injector, None).fertiliser.get::<ounce>()
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
        let feed = |ppm| Feed::of(Analysis::parse("4-1-1").unwrap(), ppm, Volume::new::<litre>(1.0), 1.0, None);
        assert!(!feed(91.0).hinders_mycorrhiza() && feed(92.0).hinders_mycorrhiza());
        assert!(!feed(250.0).is_too_strong() && feed(250.1).is_too_strong());
    }

    #[test]
    fn one_gram_of_twenty_percent_in_a_litre_is_two_hundred_ppm() {
        let feed = Feed::of(Analysis::parse("20-20-20").unwrap(), 200.0, Volume::new::<litre>(1.0), 1.0, None);
        assert!((feed.fertiliser.get::<gram>() - 1.0).abs() < 1e-12);
        // Published as 0.44 and 0.83.
        assert!((feed.phosphorus_ppm / 200.0 - 0.44).abs() < 0.005);
        assert!((feed.potassium_ppm / 200.0 - 0.83).abs() < 0.005);
    }
}
