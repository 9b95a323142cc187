//! What is to be said of the days of a season: frost, and little time in pots or for hardening.

use super::planned::Season;
use super::windows::{Dated, SPACED_AFTER};
use crate::catalogue::{Frost, Handle, Tray};
use crate::week::SowingAmount;
use jiff::civil::Date;

/// Hardy crops go out up to so many days before the last frost. Common practice, no source.
pub(super) const EARLIEST: i32 = 28;
/// Tender crops go out for so many days at the least before the average first frost. Common practice, no source.
const TO_CROP: i32 = 28;
/// Perennials take root for so many days before the average first frost. Common practice, no source.
const TO_ROOT: i32 = 42;
/// Days from potting on to hardening, at the least. Common practice, no source.
const IN_POTS: i32 = 14;

/// A remark on a planting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Remark {
    /// The index of the planting.
    pub planting: usize,
    /// What is to be said of it.
    pub of: Doubt,
}

/// What is doubtful of a planting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// It stands no frost and goes out before the average last one, on that day.
    TenderBeforeFrost(Date),
    /// It stands no frost and goes out less than four weeks before the average first one, on that day, or after it.
    TenderLate(Date),
    /// It is hardy, but goes out more than four weeks before the average last frost, on that day.
    HardyEarly(Date),
    /// It is a hardy perennial and goes out less than six weeks before the average first frost, on that day, or after it.
    PerennialLate(Date),
    /// It stands no frost, and is hardened only from the average last one on, that day: so many days, of so many wanted.
    ShortlyHardened(Date, i32, i32),
    /// It is hardened only so many days after it is potted on: fewer than fourteen.
    SoonHardened(i32),
    /// It is potted on so many days after sowing, when the last may not be up: they take so many.
    SoonPotted(i32, i32),
    /// Its pots stand for more than two weeks, and how many stand on a tray once they are set apart is not stated.
    RimToRim,
}

/// The remarks on some plantings that are not out yet.
pub(super) fn remarks(season: &Season, plantings: &[Dated], today: Date) -> Vec<Remark> {
    let frost = season.loaded.week.standing.frost;
    let doubts = |dated: &Dated| {
        let crop = season.loaded.week.sowings[dated.sowing].crop.as_ref();
        let hardiness = crop.and_then(|crop| crop.frost);
        let last = frost.last_of_spring(dated.plant_out);
        let ahead = last.map(|last| (last, (last - dated.plant_out).get_days()));
        let early = ahead.and_then(|(last, days)| match hardiness {
            Some(Frost::Tender) if days > 0 => Some(Doubt::TenderBeforeFrost(last)),
            Some(Frost::Hardy) if days > EARLIEST => Some(Doubt::HardyEarly(last)),
            _ => None,
        });
        let is_perennial = hardiness == Some(Frost::Hardy) && crop.is_some_and(|crop| crop.perennial == Some(true));
        let is_tender = hardiness == Some(Frost::Tender);
        let is_autumn = last.is_none_or(|last| last <= dated.plant_out);
        let first = |days: i32, is: bool| frost.first_within(days, dated.plant_out).filter(|_| is && is_autumn);
        let late = first(TO_ROOT, is_perennial).map(Doubt::PerennialLate);
        let tender_late = first(TO_CROP, is_tender).map(Doubt::TenderLate);
        let last = last.filter(|last| is_tender && dated.leaves <= *last);
        let [hardened, wanted] = [(dated.plant_out - dated.leaves).get_days(), season.sowings[dated.sowing].harden];
        let short = last
            .filter(|last| hardened < wanted && *last <= dated.plant_out)
            .map(|last| Doubt::ShortlyHardened(last, hardened, wanted));
        let in_pots = dated.pot.map(|pot| (dated.leaves - pot).get_days()).filter(|days| *days < IN_POTS);
        let sowing = &season.loaded.week.sowings[dated.sowing];
        let up = crop.filter(|_| !matches!(sowing.amount, SowingAmount::Potted(_)));
        let up = up.and_then(|crop| i32::try_from(crop.emerges_in_a_house()?.1).ok());
        let soon = dated.pot.map(|pot| (pot - dated.sow).get_days()).zip(up).filter(|(days, up)| days <= up);
        let soon = soon.map(|(days, up)| Doubt::SoonPotted(days, up));
        let then = season.sowings[dated.sowing].then.as_ref();
        let pot = dated.pot.zip(then).map(|(on, then)| (on, &season.loaded.week.sowings[then.sowing].tray));
        let is_close = |(on, pot): &(Date, &Handle<Tray>)| {
            pot.per_tray.is_some() && pot.spaced.is_none() && (dated.leaves - *on).get_days() > SPACED_AFTER
        };
        let close = pot.filter(is_close).filter(|_| season.loaded.week.rack.is_some()).map(|_| Doubt::RimToRim);
        [early, soon, tender_late, late, short, in_pots.map(Doubt::SoonHardened), close].into_iter().flatten()
    };
    let open = plantings.iter().enumerate().filter(|(_, dated)| dated.plant_out >= today);
    open.flat_map(|(planting, dated)| doubts(dated).map(move |of| Remark { planting, of })).collect()
}
