//! What is done for crops from the treatment of the seed to planting out, and after how many days.

use super::{Mixes, SowingPlan};
use crate::catalogue::{Before, Crop, Frost, Handle};
use crate::place;
use crate::week::Sowing;
use jiff::Span;
use jiff::civil::Date;

/// Days from emergence to the first true leaves: about a week to ten days. From memory.
const TRUE_LEAF_DAYS: i64 = 8;

/// What is done for crops on a day of their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Deed {
    /// Treat the seed before it is sown.
    Treat {
        /// How.
        before: Before,
        /// For how many days, least and most, where that is known.
        days: Option<(u32, u32)>,
    },
    /// The first seedlings may be up.
    Emerge {
        /// Days from sowing, first and last.
        days: (u32, u32),
    },
    /// About half are up: they want light and air.
    Uncover {
        /// Days later than they are up, since nobody was there.
        late: i64,
    },
    /// Feed for the first time, from about now: in a mix without food at the first open cotyledons, once the
    /// dome is off; else at the true leaves of the last.
    Feed {
        /// The mix holds food already, so that feeding waits for the true leaves.
        fed_mix: bool,
        /// They are potted on, not sown.
        potted_on: bool,
    },
    /// Move the hardy ones to the cold frame, as far as it has places.
    ToFrame,
    /// Pot on what was sown.
    PotOn,
    /// Measure the pairs of a trial, while they still stand side by side.
    Measure {
        /// They were fed otherwise, for so many weeks.
        weeks_fed: Option<i32>,
        /// Days that are missing to that.
        short_days: u32,
    },
    /// Begin to harden off.
    Harden {
        /// Days before planting out.
        days: u32,
    },
    /// The first day to plant out.
    PlantOut {
        /// Weeks from sowing, least and most; none where the sowing states the day.
        weeks: Option<(u32, u32)>,
        /// They stand no frost, and one may still come.
        tender: bool,
        /// The average last frost that these wait for, where it is known.
        frost: Option<Date>,
        /// Days later than the least weeks: for the frost, or to be hardened first.
        late: u32,
    },
}

impl Deed {
    /// Whether they go out later than the most weeks of the crop table, and not for the frost: they are not hardened before.
    pub const fn is_past_its_weeks(self) -> bool {
        match self {
            Self::PlantOut { weeks: Some((least, most)), frost: None, late, .. } => late > 7 * (most - least),
            _ => false,
        }
    }

    /// Whether it is done by hand, and as well a day later. Hardening would be too short.
    pub(super) const fn can_wait(self) -> bool {
        matches!(self, Self::Uncover { .. } | Self::Feed { .. })
    }

    /// Whether it is done by hand on its very day: seed that is left in water drowns.
    pub(super) const fn has_its_day(self) -> bool {
        matches!(
            self,
            Self::Treat { .. } | Self::Measure { .. } | Self::Harden { .. } | Self::PlantOut { weeks: None, .. }
        )
    }
}

/// A crop of a week, by the names of its sowings where their days are stated: others of it may have others.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct SownCrop {
    pub crop: Handle<Crop>,
    /// Its mix holds food.
    pub fed_mix: bool,
    /// It is potted on.
    pub potted_on: bool,
    /// The day on which it leaves its place, where that is stated.
    pub leaves: Option<Date>,
    /// The day on which it goes out, where that is stated.
    pub plant_out: Option<Date>,
    /// The day on which it goes to the frame, where that is stated.
    pub to_frame: Option<Date>,
}

impl SownCrop {
    pub(super) fn of(sowing: &Sowing, plan: &SowingPlan, mixes: &Mixes) -> Option<Self> {
        let (leaves, plant_out, to_frame) = (sowing.leaves, sowing.plant_out, sowing.to_frame);
        let crop = sowing.crop.as_ref()?;
        let is_told = sowing.variety.is_some() && (leaves.is_some() || plant_out.is_some() || to_frame.is_some());
        let crop = if is_told { crop.of_sowing(&sowing.name()) } else { crop.clone() };
        let (fed_mix, potted_on) = (mixes.batches[plan.batch].feeds(), plan.cells.seeds.is_none());
        Some(Self { crop, fed_mix, potted_on, leaves, plant_out, to_frame })
    }

    /// When it is hardened and goes out, or is potted on, in days from the time to mix.
    pub(super) fn out(&self, mix: Date, frost: place::Frost) -> Vec<(i64, Deed)> {
        match (self.plant_out, self.leaves) {
            (Some(out), leaves) => planned_out(&self.crop, mix, frost, leaves, out),
            _ if self.potted_on => Vec::new(),
            (None, Some(day)) => vec![(i64::from((day - mix).get_days()), Deed::PotOn)],
            (None, None) => planting_out(&self.crop, mix, frost),
        }
    }
}

/// After how many days a crop that is sown is fed for the first time, or one that is potted on; `None` where its days are
/// unknown.
pub fn first_feed(crop: &Crop, fed_mix: bool, potted_on: bool) -> Option<(i64, Deed)> {
    let day = match (potted_on, fed_mix) {
        // The roots are there, the mix decides.
        (true, true) => 2 * TRUE_LEAF_DAYS,
        (true, false) => TRUE_LEAF_DAYS,
        (false, true) => true_leaves(crop)?,
        // The first that are up in a mix without food are hungry before the last, but not under the dome.
        (false, false) => half_up(crop)?.max(i64::from(crop.emerges_in_a_house()?.0) + 1),
    };
    Some((day, Deed::Feed { fed_mix, potted_on }))
}

/// Days from sowing until about half are up.
pub(super) fn half_up(crop: &Crop) -> Option<i64> {
    crop.emerges_in_a_house().map(|(first, last)| (i64::from(first) + i64::from(last) + 1) / 2)
}

/// Days from sowing until the last have true leaves.
fn true_leaves(crop: &Crop) -> Option<i64> {
    crop.emerges_in_a_house().map(|(_, last)| i64::from(last) + TRUE_LEAF_DAYS)
}

/// What is done for seed and seedlings until half are up, as far as its days are known.
pub(super) fn deeds_of_seed(crop: &Crop) -> Vec<(i64, Deed)> {
    let mut deeds = Vec::new();
    if let Some(before) = crop.before {
        let days = crop.before_days;
        deeds.push((-i64::from(days.map_or(1, |(_, most)| most)), Deed::Treat { before, days }));
    }
    if let Some((days, half)) = crop.emerges_in_a_house().zip(half_up(crop)) {
        deeds.push((days.0.into(), Deed::Emerge { days }));
        deeds.push((half, Deed::Uncover { late: 0 }));
    }
    deeds
}

/// When a crop that is sown may go out, by the weeks of the crop table.
fn planting_out(crop: &Crop, mix: Date, frost: place::Frost) -> Vec<(i64, Deed)> {
    let Some(weeks) = crop.weeks else { return Vec::new() };
    let earliest = 7 * i64::from(weeks.0);
    let is_tender = crop.frost == Some(Frost::Tender);
    let from = mix.checked_add(Span::new().days(earliest)).ok().filter(|_| is_tender);
    let last = from.and_then(|from| frost.last_before(from));
    let frost = last.filter(|last| *last > mix);
    let warm = frost.map_or(0, |last| (last - mix).get_days().into());
    let days = u32::from(crop.hardening_days());
    let harden = (earliest.max(warm) - i64::from(days)).max(true_leaves(crop).unwrap_or(0));
    let out = harden + i64::from(days);
    let late = u32::try_from(out - earliest).unwrap_or(0);
    let tender = is_tender && (last.is_none() || frost.is_some());
    vec![(harden, Deed::Harden { days }), (out, Deed::PlantOut { weeks: Some(weeks), tender, frost, late })]
}

/// The same of a crop whose day is stated: it is hardened from the day that it leaves its place.
fn planned_out(crop: &Crop, mix: Date, frost: place::Frost, leaves: Option<Date>, out: Date) -> Vec<(i64, Deed)> {
    let after = |day: Date| i64::from((day - mix).get_days());
    let harden = leaves.map_or(after(out) - i64::from(crop.hardening_days()), after);
    let days = u32::try_from(after(out) - harden).unwrap_or(0);
    let hardened = (days > 0).then_some((harden, Deed::Harden { days }));
    let frost = frost.for_tender(Some(crop), out).filter(|last| *last > out);
    let deed = Deed::PlantOut { weeks: None, tender: frost.is_some(), frost, late: 0 };
    hardened.into_iter().chain([(after(out), deed)]).collect()
}
