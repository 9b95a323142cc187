//! The days of a season with what is worked out for each.

use super::day::{Stage, Told, dates_of, week_on};
use super::planned::Season;
use super::windows::Dated;
use crate::catalogue::Catalogue;
use crate::diagnostic::Rejected;
use crate::plan::{Plan, PurchaseLine, Warning, plan_without_comparison};
use crate::units::{Tally, Volume, in_litres};
use crate::week::{Inputs, Loaded};
use jiff::civil::Date;

/// A day on which something is sown or potted on, as a week.
#[derive(Debug)]
pub struct SownDay {
    /// The day.
    pub on: Date,
    /// Its mix is made: nothing is bought for it any more.
    pub is_done: bool,
    /// What each sowing of its week is.
    pub sown: Vec<Stage>,
    /// The week that it is. Of its catalogue nothing is kept but what is shipped: there may be many days.
    pub loaded: Loaded,
    /// The plan of that week, with the stock as it stands, but for mixes at hand, which the first days use up.
    pub plan: Plan,
    /// Places of the trays that are filled, shared ones counted once, pots in their carrying trays.
    pub trays: u64,
    /// Of these, so many beyond the trays of a day; none of a day that is done.
    pub over: u64,
    /// What has to be bought for it by itself, with what the days before it left over; a line for each thing that is
    /// lacking. None of a day that is done.
    pub lacks: Vec<PurchaseLine>,
}

impl Season {
    /// The days of some plantings, each planned.
    ///
    /// # Errors
    /// [`Rejected`] where a day cannot be planned.
    pub fn days(&self, inputs: &Inputs<'_>, plantings: &[Dated], today: Date) -> Result<Vec<SownDay>, Rejected> {
        let mut used: Tally<usize, Volume> = Tally::default();
        let mut planned = |on: Date| {
            let mut loaded = inputs.day(self, plantings, &Told::default(), on)?;
            let is_done = self.is_done(on, today);
            for (index, mix) in loaded.week.stock.iter_mut().flat_map(|stock| stock.mixes.iter_mut().enumerate()) {
                // What is at hand today was not there, or is what this day left.
                let used = if is_done { mix.amount } else { used.get(&index).unwrap_or_default() };
                mix.amount = (mix.amount - used).max(in_litres(0.0));
            }
            let mut plan = plan_without_comparison(&loaded)?;
            plan.mixes
                .batches
                .iter()
                .flat_map(|batch| &batch.from_stock)
                .for_each(|(mix, amount)| used.add(*mix, *amount));
            // What is over is over.
            plan.warnings.retain_mut(|warning| {
                let Warning::WhileAway(away) = warning else { return !is_done };
                away.retain(|(day, _)| *day >= today);
                !away.is_empty()
            });
            let trays = plan.mixes.layout.trays.iter().filter_map(|(tray, count)| tray.places(*count)).sum();
            let most = self.loaded.week.standing.trays_a_day.unwrap_or(u64::MAX);
            Ok(SownDay {
                on,
                is_done,
                sown: week_on(plantings, on),
                trays,
                over: if is_done { 0 } else { trays.saturating_sub(most) },
                plan,
                loaded: Loaded { catalogue: Catalogue::built_in(), ..loaded },
                lacks: Vec::new(),
            })
        };
        dates_of(plantings).into_iter().map(&mut planned).collect()
    }
}
