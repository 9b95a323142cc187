//! What is measured of a loose ingredient: its weight, pores and the water they hold, acidity and salts.

use crate::diagnostic::{Code, Problems};
use crate::source::{Fields, figures};
use crate::units::mass_density::gram_per_litre;
use crate::units::{Bounds, Fault, MassDensity, conductivity, density, density_range, number, range, share, within};

/// The least that a figure may be, what it usually is, and the most.
pub type Spread = [f64; 3];

figures! {
    /// Loose and dry.
    DryDensity(MassDensity): "a density such as `200 g/L`", text => density(text).and_then(|dry| possible(dry, text));
    /// The same from the least to the most.
    DryDensities((MassDensity, MassDensity)): "a range of densities such as `60-120 g/L`",
        text => density_range(text).and_then(|(low, high)| Ok((possible(low, text)?, possible(high, text)?)));
    /// A share of the volume: no other share may be written as a bare fraction.
    OfVolume(f64): "a share of the volume such as `0.85` or `85 %`", text => of_volume(text);
    /// The same from the least to the most.
    SharesOfVolume((f64, f64)): "shares of the volume such as `0.80-0.88`", text => range(text, of_volume);
    /// From the most to the least acid.
    Acidity((f64, f64)): "a pH such as `5.5-6.5`",
        text => range(text, |text| number(text).and_then(|ph| within(ph.to_f64(), ph.to_f64(), ANY_PH, text)));
    /// How much its extract conducts, in mS/cm.
    Salinity((f64, f64)): "a range of conductivities such as `0.3-1.5 mS/cm`",
        text => range(text, |text| conductivity(text).and_then(|ec| within(ec, ec, ANY_EC, text)));
}

const DRY: Bounds = (1.0..=23_000.0, "what is dry and loose has a density of 1 g/L to 23 kg/L");
const OF_VOLUME: Bounds = (0.0..=1.0, "a share of the volume is 0 to 1, or 0 to 100 %");
const ANY_PH: Bounds = (1.0..=14.0, "a pH is 1 to 14");
const ANY_EC: Bounds = (0.0..=50.0, "what is mixed for plants has 0 to 50 mS/cm");

fn possible(dry: MassDensity, text: &str) -> Result<MassDensity, Fault> {
    within(dry, dry.get::<gram_per_litre>(), DRY, text)
}

fn of_volume(text: &str) -> Result<f64, Fault> {
    let read = number(text).or_else(|fault| match share(text) {
        Err(Fault::BareShare(_)) => Err(fault),
        read => read,
    });
    read.and_then(|share| within(share.to_f64(), share.to_f64(), OF_VOLUME, text))
}

/// Grams in a litre of what the grains are made of: of quartz 2,650, of peat about 1,500.
const SOLID_G_PER_L: f64 = 2700.0;

/// Each figure with the key of its range.
const FIGURES: [(&str, &str); 3] =
    [("dry_density", "dry_density_range"), ("porosity", "porosity_range"), ("water_held", "water_held_range")];

/// The measured figures of an ingredient, as far as they are known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Physical {
    /// Dry grams in a loose litre.
    pub dry_g_per_l: Option<Spread>,
    /// The share of the loose volume that is no solid.
    pub porosity: Option<Spread>,
    /// The share of the loose volume that is water in a core 7.6 cm tall that has drained.
    pub water_held: Option<Spread>,
    /// pH, least and most.
    pub ph: Option<(f64, f64)>,
    /// Conductivity of its extract, mS/cm, least and most.
    pub ec_ms_cm: Option<(f64, f64)>,
}

impl Physical {
    /// The keys of an earlier entry that one does not take over: a figure that is stated displaces its range, and a range
    /// its figure.
    pub(super) fn displaced<'k>(fields: &'k Fields<'_>) -> impl Iterator<Item = &'static str> + 'k {
        let stated = FIGURES.into_iter().filter(|(figure, range)| fields.states(figure) || fields.states(range));
        stated.flat_map(|(figure, range)| [figure, range])
    }

    /// Reads them; figures that cannot be are faults. Where an entry states one of two that contradict each other, the other
    /// was of another material and is not known of this one, but for the weight.
    pub(super) fn read(fields: &mut Fields<'_>, name: &str, problems: &Problems) -> Self {
        let grams = |density: MassDensity| density.get::<gram_per_litre>();
        let dry = fields.optional("dry_density").map(|DryDensity(dry)| grams(dry));
        let dry_range = fields.optional("dry_density_range").map(|DryDensities((low, high))| (grams(low), grams(high)));
        let mut share = |figure, range| {
            let figure = fields.optional(figure).map(|OfVolume(share)| share);
            (figure, fields.optional(range).map(|SharesOfVolume(range)| range))
        };
        let (porosity, water_held) = (share("porosity", "porosity_range"), share("water_held", "water_held_range"));
        let mut of =
            [(dry, dry_range), porosity, water_held].into_iter().zip(FIGURES).map(|((figure, range), keys)| {
                let (least, most) = range.or(figure.zip(figure))?;
                let usual = figure.unwrap_or(f64::midpoint(least, most));
                if !(least..=most).contains(&usual) {
                    let what = format!("the {} of `{name}` lies outside its range", keys.0.replace('_', " "));
                    problems.fault(
                        Code::Quantity,
                        fields.place(keys.0),
                        what,
                        format!("a figure within `{}:`", keys.1),
                    );
                }
                Some([least, usual, most])
            });
        let mut physical = Self {
            dry_g_per_l: of.next().flatten(),
            porosity: of.next().flatten(),
            water_held: of.next().flatten(),
            ..Self::default()
        };
        drop(of);
        physical.ph = fields.optional("ph").map(|Acidity(range)| range);
        physical.ec_ms_cm = fields.optional("ec").map(|Salinity(range)| range);
        physical.check(fields, name, problems);
        physical
    }

    fn check(&mut self, fields: &Fields<'_>, name: &str, problems: &Problems) {
        let states = |(figure, range): (&'static str, &'static str)| {
            [figure, range].into_iter().find(|key| fields.states(key)).map(|key| fields.place(key))
        };
        let [dry_at, pores_at, water_at] = FIGURES.map(states);
        let (Some([least_pores, .., most_pores]), water) = (self.porosity, self.water_held) else { return };
        if let Some([least_dry, ..]) = self.dry_g_per_l.filter(|dry| dry[0] > SOLID_G_PER_L * (1.0 - least_pores)) {
            let Some(at) = pores_at else { return self.porosity = None };
            let what = format!("`{name}` of {least_dry} g/L dry has no room for pores of {least_pores}");
            let expected = "grains of no more than 2.7 kg to their own litre: less `porosity:`, or less `dry_density:`";
            problems.fault(Code::Quantity, dry_at.map_or(at, |dry_at| at.max(dry_at)), what, expected);
        }
        if let Some([least_water, ..]) = water.filter(|water| water[0] > most_pores) {
            match (pores_at, water_at) {
                (Some(_), Some(at)) => {
                    let what = format!("`{name}` would hold {least_water} of water in pores of {most_pores}");
                    problems.fault(Code::Quantity, at, what, "`water_held:` of no more than `porosity:`");
                }
                (Some(_), None) => self.water_held = None,
                (None, _) => self.porosity = None,
            }
        }
    }
}
