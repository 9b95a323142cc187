//! Weighs courses: of those that meet the target, the one of the fewest days, then of the least
//! water, then of the least salt.
//!
//! A course is wetted with water or in its first bath, and has one to three soaks and up to four
//! rinses. Days do not depend on the strength, so the courses are tried by days and water, the strength is
//! solved for each that is tried, and the first that meets the target ends the search.

use super::design::{SOAKS, Search, Wetting};
use super::{Action, Brief, CoirError, Course, CourseStep, Design, Remedy, Verdict};
use crate::exact::whole;
use std::collections::HashSet;
use std::iter;
use std::ops::RangeInclusive;

/// Rinses that are weighed, and that may be asked for.
pub(crate) const RINSES: RangeInclusive<u8> = 0..=4;

/// What of a course the grower states; what is not stated is weighed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stated {
    /// What the dry coir is wetted with.
    pub wetting: Option<Wetting>,
    /// Soaks.
    pub soaks: Option<u8>,
    /// Rinses after the last soak.
    pub rinses: Option<u8>,
}

/// A course without its strength, ordered as it is tried: by days, then by baths.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Outline {
    days: u32,
    /// Baths after the wetting, of equal water each: the measure of its water.
    baths: u8,
    /// The brief that has its wetting and soaks, by its place.
    brief: usize,
    rinses: u8,
}

impl Brief {
    /// The course of the fewest days that meets the target, then of the least water, then of the
    /// least salt. `days` tells how long such steps take, or that they fit no time; one rinse more
    /// never takes fewer. Where no course meets the target, what is shown is as for
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
    pub fn weigh(&self, stated: Stated, days: Days<'_>) -> Result<Design, CoirError> {
        let briefs = self.with_wettings_and_soaks(stated);
        let searches = briefs.iter().map(Search::new).collect::<Result<Vec<_>, _>>()?;
        // Wetted with water or in the bath, a course comes to the same: the first of the two is tried.
        let mut tried = HashSet::new();
        let mut outlines = outlines(&briefs, stated, days).peekable();
        while let Some(first) = outlines.next() {
            let alike = iter::successors(Some(first), |one| {
                outlines.next_if(|next| (next.days, next.baths) == (one.days, one.baths))
            });
            let mut met = Vec::new();
            for Outline { brief, rinses, .. } in alike {
                let of = &briefs[brief];
                if tried.insert((of.washes, of.soaks, rinses))
                    && let Some(layout) = searches[brief].least_that_meets(rinses)
                {
                    met.push(of.course(&layout)?);
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
        // What is washed first, which raw coir wants, is wetted with water; of two that come to the same, the one with fewer steps stands first.
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

/// Calendar days that such steps take; `None` where they fit no time.
pub type Days<'d> = &'d dyn Fn(&[CourseStep]) -> Option<u32>;

/// The courses to try, in the order of their days and their water. Those that fit no time come last.
///
/// Only what could come next is timed: one rinse more never takes fewer days.
fn outlines<'b>(briefs: &'b [Brief], stated: Stated, days: Days<'b>) -> impl Iterator<Item = Outline> + 'b {
    let rinses = stated.rinses.map_or(RINSES, |rinses| rinses..=rinses);
    let of_brief = |(brief, of): (usize, &'b Brief)| {
        let outline = move |rinses| {
            let steps = of.steps(&vec![0.0; of.soaks.into()], rinses).ok();
            let days = steps.and_then(|steps| days(&steps)).unwrap_or(u32::MAX);
            Outline { days, baths: of.washes + of.soaks + rinses, brief, rinses }
        };
        rinses.clone().map(outline).peekable()
    };
    let mut open: Vec<_> = briefs.iter().enumerate().map(of_brief).collect();
    iter::from_fn(move || {
        let nexts = open.iter_mut().filter_map(|of_brief| Some((*of_brief.peek()?, of_brief)));
        nexts.min_by_key(|(next, _)| *next)?.1.next()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coir::{Salt, SoldAs};
    use std::cell::Cell;

    fn brief() -> Brief {
        let salt = Salt::from_formula("calcium nitrate tetrahydrate", "Ca(NO3)2.4H2O").unwrap();
        Brief::new(4.25, SoldAs::Washed.coir().unwrap(), salt)
    }

    /// Whole days of their hours; none where they are more than that.
    fn days_up_to(most: u32) -> impl Fn(&[CourseStep]) -> Option<u32> {
        move |steps| {
            let hours = steps.iter().map(|step| step.hours).sum::<f64>();
            u32::try_from(whole((hours / 24.0).floor())).ok().filter(|days| *days <= most)
        }
    }

    #[test]
    fn courses_come_by_their_days_and_water() {
        let briefs = brief().with_wettings_and_soaks(Stated::default());
        for most in [0, 1, 2, 9] {
            let days = days_up_to(most);
            let all: Vec<Outline> = outlines(&briefs, Stated::default(), &days).collect();
            assert_eq!(all.len(), 30);
            assert!(all.is_sorted());
            for Outline { days: taken, brief, rinses, .. } in all {
                let of = &briefs[brief];
                assert_eq!(taken, days(&of.steps(&vec![0.0; of.soaks.into()], rinses).unwrap()).unwrap_or(u32::MAX));
            }
        }
    }

    #[test]
    fn what_could_only_be_longer_is_not_timed() {
        let (timed, days) = (Cell::new(0), days_up_to(9));
        let counted = |steps: &[CourseStep]| {
            timed.set(timed.get() + 1);
            days(steps)
        };
        let design = brief().weigh(Stated::default(), &counted).unwrap();
        assert_eq!((design.count(Action::Soak), timed.get()), (1, 12));
    }
}
