//! The days of a season with what is worked out for each.

use super::day::{dates_of, week_on};
use super::planned::Season;
use super::windows::Dated;
use crate::catalogue::Catalogue;
use crate::diagnostic::Rejected;
use crate::plan::{Plan, PurchaseLine, plan_without_comparison};
use crate::week::{Inputs, Loaded};
use jiff::ZonedDateTime;
use jiff::civil::Date;

/// A day on which something is sown or potted on, as a week.
#[derive(Debug)]
pub struct SownDay {
    /// The day.
    pub on: Date,
    /// It lies before today: nothing of it is to be done, or bought.
    pub is_past: bool,
    /// What each sowing of its week is.
    pub sown: Vec<Sown>,
    /// The week that it is. Of its catalogue nothing is kept but what is shipped: there may be many days.
    pub loaded: Loaded,
    /// The plan of that week, with the stock as it stands.
    pub plan: Plan,
    /// Places of the trays that are filled, shared ones counted once, pots in their carrying trays.
    pub trays: u64,
    /// Of these, so many beyond the trays of a day.
    pub over: u64,
    /// What has to be bought for it by itself, with what the days before it left over; a line for each thing that is
    /// lacking. None of a day that is past.
    pub lacks: Vec<PurchaseLine>,
    /// When the coir must be begun that is to be ready on this day, for this day and those after it that it serves.
    pub coir_start: Option<ZonedDateTime>,
}

/// A sowing of a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Sown {
    /// The index of its planting in the season's plan.
    pub planting: usize,
    /// It is potted on, not sown.
    pub potted: bool,
}

impl Season {
    /// The days of some plantings, each planned.
    ///
    /// # Errors
    /// [`Rejected`] where a day cannot be planned.
    pub fn days(&self, inputs: &Inputs<'_>, plantings: &[Dated], today: Date) -> Result<Vec<SownDay>, Rejected> {
        let planned = |on: Date| {
            let loaded = inputs.day(self, plantings, on)?;
            let plan = plan_without_comparison(&loaded)?;
            let trays = plan.mixes.layout.trays.iter().filter_map(|(tray, count)| tray.places(*count)).sum();
            let most = self.loaded.week.standing.trays_a_day.unwrap_or(u64::MAX);
            let sown = week_on(plantings, on).into_iter().map(|(planting, potted)| Sown { planting, potted }).collect();
            Ok(SownDay {
                on,
                is_past: on < today,
                sown,
                trays,
                over: trays.saturating_sub(most),
                plan,
                loaded: Loaded { catalogue: Catalogue::built_in(), ..loaded },
                lacks: Vec::new(),
                coir_start: None,
            })
        };
        dates_of(plantings).into_iter().map(planned).collect()
    }
}
