//! What a course comes to: every bath, the water, the salts, the waste, the tub.

use serde::Serialize;

use super::{Action, Amounts, Bath, Course, CourseStep, Ion, SiteFractions, Solution, Tub, atomic_weight};

/// A step, with its bath before and after it met the coir.
#[derive(Debug, Clone, PartialEq)]
pub struct StepResult {
    /// The step.
    pub step: CourseStep,
    /// The bath as mixed: what a meter shows before the coir goes in.
    pub fresh: Solution,
    /// The bath at equilibrium.
    pub bath: Bath,
    /// Solid gypsum that dissolved, g.
    pub gypsum_dissolved_g: f64,
}

/// All the water that drains during a course, mixed.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Waste {
    /// Its volume, L.
    pub drain_l: f64,
    /// Nitrogen as nitrate, mg/L.
    pub nitrate_n_mg_l: f64,
    /// Chloride, mg/L.
    pub chloride_mg_l: f64,
    /// Nitrogen as nitrate and as ammonium, g.
    pub nitrogen_g: f64,
}

impl Waste {
    fn of(drain_l: f64, drained_mol: &Amounts) -> Self {
        let mg_l = |ion, g_per_mol| {
            if drain_l > 0.0 { drained_mol[ion] * g_per_mol * 1e3 / drain_l } else { 0.0 }
        };
        let nitrate_n_mg_l = mg_l(Ion::Nitrate, atomic_weight::N);
        let ammonium_n_mg_l = mg_l(Ion::Ammonium, atomic_weight::N);
        Self {
            drain_l,
            nitrate_n_mg_l,
            chloride_mg_l: mg_l(Ion::Chloride, atomic_weight::CL),
            nitrogen_g: (nitrate_n_mg_l + ammonium_n_mg_l) * drain_l * 1e-3,
        }
    }
}

/// What to beware of in a course, besides the [cautions of its salts](super::salt::Salt::cautions).
#[derive(Debug, Clone, PartialEq)]
pub struct CourseCaution {
    /// The same whatever the figures in the sentence.
    pub code: &'static str,
    /// The sentence, without a capital or a full stop. Its steps count from 1.
    pub text: String,
}

impl CourseCaution {
    /// Its word for scripts.
    pub const fn code(&self) -> &'static str {
        self.code
    }

    /// Whether the course as it stands would do harm, or no good.
    pub fn is_of_course(&self) -> bool {
        matches!(self.code, "short-bath" | "salty-end")
    }
}

/// Highest ionic strength at which the activity law is trusted, mol/kg (from memory).
const TRUSTED_MOL_KG: f64 = 1.0;
/// Nitrogen as nitrate in drinking water, US limit, mg/L (from memory; the EU's 50 mg nitrate is 11.3 mg N).
const DRINKING_WATER_MG_L: f64 = 10.0;

/// A bath shorter than this, h, is far from equilibrium: common practice, no source.
const SHORTEST_BATH_HOURS: f64 = 12.0;
/// What a rinse is to reach, mS/cm.
const RINSED_MS_CM: f64 = 0.8;
/// Coir that drains with more salt than this, mS/cm, burns seedlings: twice that (a judgement).
const SALTY_MS_CM: f64 = 1.6;

/// What a course comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseReport {
    /// One for each step.
    pub results: Vec<StepResult>,
    /// The exchange sites at the end.
    pub sites: SiteFractions,
    /// EC of the last bath, mS/cm.
    pub rinse_ec_ms_cm: f64,
    /// All fresh water, L.
    pub water_l: f64,
    /// All drained water.
    pub waste: Waste,
    /// The tub for the fullest step.
    pub tub: Tub,
    /// What to beware of.
    pub cautions: Vec<CourseCaution>,
}

impl CourseReport {
    /// Grams of gypsum that dissolve in all baths.
    pub fn gypsum_dissolved_g(&self) -> f64 {
        self.results.iter().map(|step| step.gypsum_dissolved_g).sum()
    }
}

impl Course {
    /// Runs the course and adds everything up.
    pub fn report(&self) -> CourseReport {
        let results = self.steps.iter().zip(self.results()).map(|(step, (addition, bath))| {
            let gypsum = step.doses.iter().find(|dose| dose.salt.is_gypsum());
            let gypsum_dissolved_g = gypsum.map_or(0.0, |dose| dose.salt.grams(bath.gypsum_dissolved_mol));
            StepResult { step: step.clone(), fresh: addition.fresh(), bath, gypsum_dissolved_g }
        });
        let results: Vec<_> = results.collect();
        let baths = || results.iter().map(|result| &result.bath);
        let drained_mol = baths().fold(Amounts::ZERO, |sum, bath| sum + bath.solution.total * bath.drained_l);
        let waste = Waste::of(baths().map(|bath| bath.drained_l).sum(), &drained_mol);
        let sites = baths().next_back().map_or(self.coir.sites, |bath| bath.sites);
        CourseReport {
            sites,
            rinse_ec_ms_cm: baths().next_back().map_or(0.0, |bath| bath.solution.ec_ms_cm()),
            water_l: self.steps.iter().map(|step| step.water_l).sum(),
            tub: Tub::holding(baths().map(|bath| bath.total_l).fold(0.0, f64::max), self.dry_kg),
            cautions: cautions(&results, &waste),
            waste,
            results,
        }
    }
}

fn cautions(results: &[StepResult], waste: &Waste) -> Vec<CourseCaution> {
    let mut cautions = Vec::new();
    let mut caution = |code, text| cautions.push(CourseCaution { code, text });
    for (number, StepResult { bath, fresh, .. }) in (1..).zip(results) {
        // A bath with solid gypsum is saturated at most; rounding must not make that a warning.
        // What forms is left dissolved in the model.
        if fresh.gypsum_si().is_some_and(|si| si > 1e-6) {
            let text = "calcium and sulfate together may form gypsum; never mix their concentrated stocks";
            caution("gypsum-may-form", format!("step {number}: {text}"));
        }
        if bath.gypsum_left_mol > 0.0 {
            let text = "mol of gypsum stay undissolved and would keep the rinses salty";
            caution("gypsum-left", format!("step {number}: {:.3} {text}", bath.gypsum_left_mol));
        }
        if bath.solution.ionic_strength > TRUSTED_MOL_KG {
            let strength = format!("an ionic strength of {:.1} mol/kg", bath.solution.ionic_strength);
            caution("outside-model", format!("step {number}: at {strength} the figures are rough"));
        }
    }
    let is_short = |step: &CourseStep| step.action == Action::Soak && step.hours < SHORTEST_BATH_HOURS;
    if let Some(short) = results.iter().map(|result| &result.step).find(|step| is_short(step)) {
        let text = "too short for the exchange to settle: 12 to 24 h (common practice). Do not rely on these figures";
        caution("short-bath", format!("a bath of {} h is {text}", short.hours));
    }
    let last = results.last().map(|last| (last, last.bath.solution.ec_ms_cm(), last.fresh.ec_ms_cm()));
    if let Some((last, ec, water_ec)) = last.filter(|(_, ec, _)| *ec > SALTY_MS_CM) {
        let text = if last.step.doses.is_empty() && water_ec > RINSED_MS_CM {
            format!("your water is at {water_ec:.1} itself: too salty to rinse with, take rain water or another")
        } else {
            format!("seedlings would burn: rinse until it drains at {RINSED_MS_CM} or less (common practice)")
        };
        caution("salty-end", format!("the last bath drains at {ec:.1} mS/cm, and {text}"));
    }
    let nitrogen_mg_l = waste.nitrate_n_mg_l;
    if nitrogen_mg_l > DRINKING_WATER_MG_L {
        let holds = format!("the drained water holds {nitrogen_mg_l:.0} mg/L of nitrate nitrogen");
        caution("nitrate-above-limit", format!("{holds}; drinking water may hold {DRINKING_WATER_MG_L:.0}"));
    }
    cautions
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::coir::{Action, Model, SoldAs, Solutes};

    /// Each caution begins just above its threshold.
    #[test]
    fn cautions_have_thresholds() {
        let steps = vec![CourseStep::new(Action::Hydrate, 7.0).unwrap()];
        let coir = SoldAs::Washed.coir().unwrap();
        let mut report = Course::new(1.0, coir, Solutes::NONE, steps, Model::default()).unwrap().report();
        let mut codes = |nitrate_n_mg_l, left_mol, strength| {
            report.results[0].bath.gypsum_left_mol = left_mol;
            report.results[0].bath.solution.ionic_strength = strength;
            let waste = Waste { nitrate_n_mg_l, ..Waste::default() };
            cautions(&report.results, &waste).iter().map(|caution| caution.code).collect::<Vec<_>>()
        };
        assert!(codes(10.0, 0.0, 1.0).is_empty());
        assert_eq!(codes(10.001, 0.0, 1.0), ["nitrate-above-limit"]);
        assert_eq!(codes(10.0, 1e-9, 1.001), ["gypsum-left", "outside-model"]);
        // 12 to 24 h in the bath: common practice, no source.
        let mut bathed = |hours| {
            report.results[0].bath.gypsum_left_mol = 0.0;
            report.results[0].bath.solution.ionic_strength = 0.0;
            report.results[0].step = CourseStep::new(Action::Soak, 7.0).unwrap().with_hours(hours).unwrap();
            cautions(&report.results, &Waste::default()).iter().map(|caution| caution.code).collect::<Vec<_>>()
        };
        assert!(bathed(12.0).is_empty());
        assert_eq!(bathed(11.9), ["short-bath"]);
    }

    /// Salty water rinses no salt out: it is said of the water. 20 mmol/L of table salt stand at more than 2 mS/cm.
    #[test]
    fn water_that_is_too_salty_to_rinse_with_is_told_so() {
        let salty = |mmol: f64| {
            let tap = Solutes::tap_water(Amounts::from_iter([(Ion::Sodium, mmol), (Ion::Chloride, mmol)])).unwrap();
            let rinse = vec![CourseStep::new(Action::Rinse, 12.0).unwrap()];
            let coir = SoldAs::Unclaimed.coir().unwrap();
            let report = Course::new(1.0, coir, tap, rinse, Model::default()).unwrap().report();
            let said = report.cautions.iter().find(|caution| caution.code == "salty-end");
            said.map(|caution| caution.text.contains("too salty to rinse with"))
        };
        assert_eq!([0.0, 20.0].map(salty).map(|said| said == Some(true)), [false, true]);
    }

    /// 1 mol of nitrate and 1 mol of ammonium in 100 L: 28.014 g of nitrogen, half of it as nitrate.
    #[test]
    fn drained_nitrogen() {
        let drained = Amounts::from_iter([(Ion::Nitrate, 1.0), (Ion::Ammonium, 1.0), (Ion::Chloride, 2.0)]);
        let waste = Waste::of(100.0, &drained);
        assert!((waste.nitrogen_g - 28.014).abs() < 1e-9 && (waste.nitrate_n_mg_l - 140.07).abs() < 1e-9);
        assert!((waste.chloride_mg_l - 709.0).abs() < 1e-9);
        assert_eq!(Waste::of(0.0, &drained), Waste::default());
    }
}
