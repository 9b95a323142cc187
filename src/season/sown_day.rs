//! The days of a season with what is worked out for each.

use super::day::{Sown, dates_of, week_on};
use super::planned::Season;
use super::sown::is_entered;
use super::windows::Dated;
use crate::catalogue::{Catalogue, Role};
use crate::diagnostic::Rejected;
use crate::plan::{Plan, PurchaseLine, Warning, plan_without_comparison};
use crate::stock::{Stock, Use, UsedFor};
use crate::units::{Volume, in_litres};
use crate::week::{Inputs, Loaded};
use jiff::ZonedDateTime;
use jiff::civil::Date;
use std::ops::Range;

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
    /// The plan of that week, with the stock as it stands, less the soaked coir and the mixes that earlier days use.
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

/// What days take of the soaked coir and the mixes at hand.
#[derive(Default)]
struct Used {
    soaked: Vec<(Date, Use)>,
    /// By the index of the mix in the stock.
    mixes: Vec<(usize, Volume)>,
}

impl Used {
    fn add(&mut self, plan: &Plan, on: Date) {
        let soaked = plan.purchases.lines.iter().filter(|line| line.ingredient.is(Role::SoakedCoir));
        self.soaked.extend(soaked.map(|line| (on, Use::new(UsedFor::Scoops, &line.ingredient, line.need))));
        self.mixes.extend(plan.mixes.batches.iter().flat_map(|batch| &batch.from_stock));
    }

    /// Takes it out of the stock of a later day.
    fn leave(&self, stock: &mut Stock, on: Date) {
        let shed = &mut stock.on_hand.shed;
        for (day, used) in &self.soaked {
            shed.on(Some(*day));
            let _ = shed.take(std::slice::from_ref(used));
        }
        shed.on(Some(on));
        for (index, used) in &self.mixes {
            stock
                .mixes
                .get_mut(*index)
                .into_iter()
                .for_each(|mix| mix.amount = (mix.amount - *used).max(in_litres(0.0)));
        }
    }
}

impl Season {
    /// The days of some plantings, each planned.
    ///
    /// # Errors
    /// [`Rejected`] where a day cannot be planned.
    pub fn days(&self, inputs: &Inputs<'_>, plantings: &[Dated], today: Date) -> Result<Vec<SownDay>, Rejected> {
        Ok(self.planned(inputs, plantings, today, Date::MIN..Date::MAX)?.0)
    }

    /// A day as a week, with the soaked coir and the mixes at hand that the days before it leave.
    ///
    /// # Errors
    /// [`Rejected`] where one of these days cannot be planned.
    pub fn day_left(
        &self,
        inputs: &Inputs<'_>,
        plantings: &[Dated],
        today: Date,
        on: Date,
    ) -> Result<Loaded, Rejected> {
        let mut loaded = inputs.day(self, plantings, on)?;
        let has_some =
            |stock: &&mut Stock| !stock.mixes.is_empty() || stock.on_hand.shed.soaked_coir().next().is_some();
        if let Some(stock) = loaded.week.stock.as_mut().filter(has_some) {
            self.planned(inputs, plantings, today, today..on)?.1.leave(stock, on);
        }
        Ok(loaded)
    }

    /// Those of the days that lie within some, and what they take of what is at hand.
    fn planned(
        &self,
        inputs: &Inputs<'_>,
        plantings: &[Dated],
        today: Date,
        within: Range<Date>,
    ) -> Result<(Vec<SownDay>, Used), Rejected> {
        let mut used = Used::default();
        let mut planned = |on: Date| {
            let mut loaded = inputs.day(self, plantings, on)?;
            let is_past = on < today;
            if let Some(stock) = &mut loaded.week.stock {
                used.leave(stock, on);
                // What is at hand today was not there.
                stock.mixes.iter_mut().filter(|_| is_past).for_each(|mix| mix.amount = in_litres(0.0));
            }
            let mut plan = plan_without_comparison(&loaded)?;
            // What was entered today is taken out of the stock.
            if on > today || on == today && !is_entered(self, plantings, on) {
                used.add(&plan, on);
            }
            // What is over is over.
            plan.warnings.retain_mut(|warning| {
                let Warning::WhileAway(away) = warning else { return !is_past };
                away.retain(|(day, _)| *day >= today);
                !away.is_empty()
            });
            let trays = plan.mixes.layout.trays.iter().filter_map(|(tray, count)| tray.places(*count)).sum();
            let most = self.loaded.week.standing.trays_a_day.unwrap_or(u64::MAX);
            Ok(SownDay {
                on,
                is_past,
                sown: week_on(plantings, on),
                trays,
                over: trays.saturating_sub(most),
                plan,
                loaded: Loaded { catalogue: Catalogue::built_in(), ..loaded },
                lacks: Vec::new(),
                coir_start: None,
            })
        };
        let days = dates_of(plantings).range(within).map(|on| planned(*on)).collect::<Result<_, Rejected>>()?;
        Ok((days, used))
    }
}
