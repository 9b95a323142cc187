//! The days that are chosen, which stay the same while time goes by and what was planned is done.

use super::choice::{Choice, MOST_WORK, choose_within};
use super::dates::after;
use super::planned::{Known, Season};
use super::windows::{Dated, Windows};
use crate::diagnostic::Rejected;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Work after which no more of what happened is gone through.
const MUCH_WORK: u64 = 8 * MOST_WORK;

impl Season {
    /// Its plantings with the days that are chosen for them, from a day on.
    ///
    /// # Errors
    /// [`Rejected`] where they leave too much open.
    pub fn chosen(&self, today: Date) -> Result<Vec<Dated>, Rejected> {
        self.choice(today).map(|(windows, choice)| self.dated(&windows, &choice))
    }

    /// The plantings of a choice. What is entered lies where it was sown.
    pub fn dated(&self, windows: &Windows, choice: &Choice) -> Vec<Dated> {
        let mut plantings = windows.chosen(choice);
        let is_entered = |dated: &&mut Dated| dated.number < self.sowings[dated.sowing].sow.len();
        plantings.iter_mut().filter(is_entered).for_each(|dated| dated.outside = 0);
        plantings
    }

    /// The days that are possible from a day on, and what is chosen of them.
    ///
    /// Several choices may cost the same, or none be proven best. So that none of them takes the place of another when a
    /// day passes or is entered, they are made with what was known before anything was sown; and again with what was
    /// known whenever it went otherwise than was planned, as long as that takes little work.
    ///
    /// # Errors
    /// [`Rejected`] where they leave too much open.
    pub fn choice(&self, today: Date) -> Result<(Windows, Choice), Rejected> {
        let with = |known: &Known, most_work: u64| {
            let windows = Windows::knowing(self, known)?;
            let choice = choose_within(&windows.items(self)?, &windows.limits(self), most_work);
            Ok((windows, choice))
        };
        let tomorrow = after(today, 1);
        let (mut since, mut work) = ((Date::MIN, Date::MIN), 0);
        loop {
            let known = Known { from: since.0, unknown: since.1..tomorrow, today };
            let (windows, choice) = with(&known, if work == 0 { MOST_WORK } else { MOST_WORK / 4 })?;
            work += choice.work;
            match self.went_otherwise(&windows.chosen(&choice), today) {
                None => return Ok((windows, choice)),
                Some(next) if next > since && work <= MUCH_WORK => since = next,
                Some(_) => break,
            }
        }
        with(&Known::on(today), MOST_WORK)
    }

    /// The first time, before a day, at which something went otherwise than was planned: from which day on it can be
    /// planned anew, and before which all that was entered is known.
    fn went_otherwise(&self, plantings: &[Dated], today: Date) -> Option<(Date, Date)> {
        let planned: BTreeMap<(usize, usize), &Dated> =
            plantings.iter().map(|dated| ((dated.sowing, dated.number), dated)).collect();
        let missed = |day: Date| (after(day, 1), after(day, 1));
        let done = |day: Date| (day, after(day, 1));
        let turn = |planned: Option<Date>, is: Option<Date>| match (planned, is) {
            (Some(planned), Some(is)) if planned == is => None,
            (Some(planned), is) if planned < is.unwrap_or(today) => Some(missed(planned)),
            (_, is) => is.map(done),
        };
        let turns = self.sowings.iter().enumerate().flat_map(|(sowing, of)| {
            let pots = of.then.as_ref().map_or(&[][..], |pot| &pot.on);
            let planned = &planned;
            (0..of.plant_out.len()).flat_map(move |number| {
                let dated = planned.get(&(sowing, number));
                let [sown, potted] = [false, true].map(|potted| dated.and_then(|dated| dated.on(potted)));
                [turn(sown, of.sow.get(number).copied()), turn(potted, pots.get(number).copied())]
            })
        });
        turns.flatten().min()
    }
}
