//! The day on which the pairs of a trial are measured: before its plants leave, and those that are fed otherwise once they
//! were for a while.

use super::deeds::{Deed, SownCrop, first_feed, half_up};
use super::{Mixes, Pairs};
use crate::catalogue::{Crop, Handle};
use crate::week::{Compared, Week};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// Weeks of feeding after which plants that are fed otherwise may differ (a judgement).
const WEEKS_FED: i32 = 2;
/// How much earlier plants are measured at the most where nobody is there on their day (a judgement).
const EARLIER_DAYS: i64 = 14;

/// The day of a trial, in days from the time to mix.
pub(super) struct Measuring {
    /// What its pairs are sown of.
    of: BTreeSet<SownCrop>,
    /// The day.
    day: i64,
    /// They are fed otherwise, for so many weeks by then.
    weeks_fed: Option<i32>,
    /// Days that are missing to that.
    short_days: u32,
}

impl Measuring {
    /// Of the trial of a week that mixes on a day; `None` without one, and where nothing tells. What is done by hand is done
    /// when somebody is there.
    pub(super) fn of(
        mixes: &Mixes,
        pairs: Option<&Pairs>,
        week: &Week,
        mix: Date,
        when_there: impl Fn(i64) -> i64,
    ) -> Option<Self> {
        let (trial, pairs) = week.trial.as_ref().zip(pairs)?;
        let arms = pairs.pairs.iter().flat_map(|pair| pair.arms).map(|arm| arm.sowing as usize);
        let of: BTreeSet<SownCrop> =
            arms.filter_map(|index| SownCrop::of(&week.sowings[index], &mixes.layout.sowings[index], mixes)).collect();
        let hardened = of.iter().filter_map(|sown| hardened(&sown.out(mix, week.standing.frost))).max();
        let feed = |sown: &SownCrop| first_feed(&sown.crop, sown.fed_mix, false).map(|(day, _)| when_there(day));
        let fed = of.iter().filter_map(feed).max().filter(|_| trial.compare == Compared::Feed);
        let fed = fed.map(|day| when_there(day + 7 * i64::from(WEEKS_FED)));
        let leaves = of.iter().filter_map(|sown| sown.leaves.or(sown.plant_out)).min();
        let leaves = leaves.map(|day| i64::from((day - mix).get_days()));
        let day = hardened.or(leaves).max(fed)?.min(leaves.unwrap_or(i64::MAX));
        // Where nobody is there, earlier, once they are up and fed if that can be, or else later.
        let up = of.iter().filter_map(|sown| half_up(&sown.crop)).max().unwrap_or(day);
        let first = fed.filter(|fed| *fed <= day).unwrap_or(up).max(day - EARLIER_DAYS);
        let later = Some(when_there(day)).filter(|later| leaves.is_none_or(|leaves| *later <= leaves));
        let day = (first..=day).rev().find(|day| when_there(*day) == *day).or(later).unwrap_or(day);
        let weeks_fed = fed.filter(|fed| *fed <= day).map(|_| WEEKS_FED);
        Some(Self { of, day, weeks_fed, short_days: fed.map_or(0, |fed| days_of(fed - day)) })
    }

    /// The deed on its day.
    pub(super) fn deed(&self) -> (i64, Deed) {
        (self.day, Deed::Measure { weeks_fed: self.weeks_fed, short_days: self.short_days })
    }

    /// The crops that are measured.
    pub(super) fn crops(&self) -> impl Iterator<Item = &Handle<Crop>> {
        self.of.iter().map(|sown| &sown.crop)
    }

    /// When a crop is hardened and goes out: what is measured, not before that, unless its day is stated.
    pub(super) fn before(&self, sown: &SownCrop, mut out: Vec<(i64, Deed)>) -> Vec<(i64, Deed)> {
        let later = hardened(&out).map_or(0, |hardened| self.day - hardened);
        if later <= 0 || !self.of.contains(sown) {
            return out;
        }
        let stated =
            out.iter().find(|(_, deed)| matches!(deed, Deed::PlantOut { weeks: None, .. })).map(|(day, _)| *day);
        for (on, deed) in &mut out {
            match deed {
                Deed::Harden { days } => {
                    (*on, *days) = (self.day, stated.map_or(*days, |stated| days_of(stated - self.day)));
                }
                Deed::PlantOut { weeks: Some(_), late, .. } => (*on, *late) = (*on + later, *late + days_of(later)),
                _ => {}
            }
        }
        out.retain(|(_, deed)| *deed != Deed::Harden { days: 0 });
        out
    }
}

/// Zero where they are negative.
fn days_of(days: i64) -> u32 {
    u32::try_from(days).unwrap_or(0)
}

/// The day on which plants are hardened.
fn hardened(out: &[(i64, Deed)]) -> Option<i64> {
    out.iter().find(|(_, deed)| matches!(deed, Deed::Harden { .. })).map(|(day, _)| *day)
}
