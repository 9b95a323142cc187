//! Weighs courses: of those that meet the target, the one of the fewest days, then of the least water, then of the least
//! salt.
//!
//! A course is wetted with water or in its first bath, and has one to three soaks and up to four rinses; the strength is
//! solved for each. Days do not depend on the strength, so the courses are tried by days and water, and the first that
//! meets the target ends the search.

use super::design::{Search, Wetting};
use super::{Action, Brief, CoirError, Course, CourseStep, Design, Remedy, Verdict};
use crate::exact::whole;
use std::collections::HashSet;
use std::ops::RangeInclusive;

/// Soaks that are weighed where none are asked for.
const SOAKS: RangeInclusive<u8> = 1..=3;
/// Rinses that are weighed, and that may be asked for.
pub(crate) const RINSES: RangeInclusive<u8> = 0..=4;

/// What of a course the grower states; what is not stated is weighed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stated {
    /// What the dry coir is wetted with.
    pub wetting: Option<Wetting>,
    /// Soaks, 1 to 6.
    pub soaks: Option<u8>,
    /// Rinses after the last soak.
    pub rinses: Option<u8>,
}

/// A course without its strength.
struct Outline {
    days: u32,
    /// Baths after the wetting, of equal water each: the measure of its water.
    baths: u8,
    /// The brief that has its wetting and soaks, by its place.
    brief: usize,
    rinses: u8,
}

impl Brief {
    /// The course of the fewest days that meets the target, then of the least water, then of the least salt. `days` tells
    /// how long such steps take, or that they fit no time. Where no course meets the target, what is shown is as for
    /// [`Brief::design`], with three soaks.
    ///
    /// # Errors
    /// As for [`Brief::design`].
    ///
    /// ```
    /// use trayful::coir::{Brief, Salt, SoldAs, Stated, Wetting, dry_kg_of_sold};
    /// let Some(coir) = SoldAs::Washed.coir() else { unreachable!() };
    /// let salt = Salt::from_formula("calcium nitrate tetrahydrate", "Ca(NO3)2.4H2O")?;
    /// let brief = Brief::new(dry_kg_of_sold(5.0), coir, salt);
    /// let days = |steps: &[trayful::coir::CourseStep]| Some(steps.iter().map(|step| step.hours / 24.0).sum::<f64>() as u32);
    /// let quick = brief.weigh(Stated::default(), &days)?;
    /// let wetted = brief.weigh(Stated { wetting: Some(Wetting::Water), soaks: Some(2), ..Stated::default() }, &days)?;
    /// assert!(quick.report.water_l < wetted.report.water_l && quick.salt_g() > wetted.salt_g());
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn weigh(&self, stated: Stated, days: &dyn Fn(&[CourseStep]) -> Option<u32>) -> Result<Design, CoirError> {
        let briefs = self.with_wettings_and_soaks(stated);
        let outlines = outlines(&briefs, stated, days)?;
        let searches = briefs.iter().map(Search::new).collect::<Result<Vec<_>, _>>()?;
        // Wetted with water or in the bath, a course comes to the same.
        let mut failed = HashSet::new();
        for alike in outlines.chunk_by(|one, other| (one.days, one.baths) == (other.days, other.baths)) {
            let mut met = Vec::new();
            for Outline { brief, rinses, .. } in alike {
                let of = &briefs[*brief];
                let chemistry = (of.washes, of.soaks, *rinses);
                if failed.contains(&chemistry) {
                    continue;
                }
                match searches[*brief].least_that_meets(*rinses) {
                    Some(layout) => met.push(of.course(&layout)?),
                    None => _ = failed.insert(chemistry),
                }
            }
            // The same but for rounding.
            let grams = |course: &Course| whole((course.grams() / self.dry_kg * 1e4).round());
            if let Some(course) = met.into_iter().min_by_key(grams) {
                return Ok(Design { report: course.report(), course, verdict: Verdict::Met });
            }
        }
        self.out_of_reach(stated)
    }

    /// The same with each wetting and number of soaks that may be.
    fn with_wettings_and_soaks(&self, stated: Stated) -> Vec<Self> {
        // What is washed first is wetted with water; of two that come to the same, the one with fewer steps stands first.
        let by_itself = if self.washes == 0 { &[Wetting::Bath, Wetting::Water][..] } else { &[Wetting::Water][..] };
        let wettings = stated.wetting.map_or_else(|| by_itself.to_vec(), |wetting| vec![wetting]);
        let soaks = stated.soaks.map_or(SOAKS, |soaks| soaks..=soaks);
        let of = |wetting: Wetting, soaks| Self { wetting, soaks, ..self.clone() }.without_washes_in_the_bath();
        wettings.into_iter().flat_map(|wetting| soaks.clone().map(move |soaks| of(wetting, soaks))).collect()
    }

    fn without_washes_in_the_bath(self) -> Self {
        let washes = if self.wetting == Wetting::Bath { 0 } else { self.washes };
        Self { washes, ..self }
    }

    /// What comes nearest to what is stated, and what would reach the target.
    fn out_of_reach(&self, stated: Stated) -> Result<Design, CoirError> {
        let brief = Self {
            wetting: stated.wetting.unwrap_or_default(),
            soaks: stated.soaks.unwrap_or(*SOAKS.end()),
            ..self.clone()
        };
        let brief = brief.without_washes_in_the_bath();
        let design = brief.design()?;
        let Some(rinses) = stated.rinses.filter(|rinses| design.count(Action::Rinse) != usize::from(*rinses)) else {
            return Ok(design);
        };
        let remedies = match design.verdict {
            Verdict::Met => vec![Remedy::Rinses(design.count(Action::Rinse))],
            Verdict::OutOfReach(remedies) => remedies,
        };
        let course = brief.course(&Search::new(&brief)?.usual(Some(rinses)))?;
        Ok(Design { report: course.report(), course, verdict: Verdict::OutOfReach(remedies) })
    }
}

/// The courses to try, in the order of their days and their water. Those that fit no time come last.
fn outlines(
    briefs: &[Brief],
    stated: Stated,
    days: &dyn Fn(&[CourseStep]) -> Option<u32>,
) -> Result<Vec<Outline>, CoirError> {
    let rinses = stated.rinses.map_or(RINSES, |rinses| rinses..=rinses);
    let mut outlines = Vec::new();
    for (place, brief) in briefs.iter().enumerate() {
        for rinses in rinses.clone() {
            let steps = brief.steps(&vec![0.0; brief.soaks.into()], rinses)?;
            let days = days(&steps).unwrap_or(u32::MAX);
            outlines.push(Outline { days, baths: brief.washes + brief.soaks + rinses, brief: place, rinses });
        }
    }
    outlines.sort_by_key(|outline| (outline.days, outline.baths));
    Ok(outlines)
}
