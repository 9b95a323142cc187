//! The days that are chosen, which stay the same while time goes by and what was planned is done.

use super::choice::{Choice, MOST_WORK, choose};
use super::planned::Season;
use super::windows::{Dated, Windows};
use crate::diagnostic::Rejected;
use jiff::civil::Date;

impl Season {
    /// Its plantings with the days that are chosen for them, from a day on.
    ///
    /// # Errors
    /// [`Rejected`] where they leave too much open.
    pub fn chosen(&self, today: Date) -> Result<Vec<Dated>, Rejected> {
        let windows = Windows::of(self, today)?;
        Ok(windows.chosen(&self.choice(&windows, today)?))
    }

    /// What is chosen of the days that are possible from a day on.
    ///
    /// Several choices may cost the same, or none be proven best. So that none of them takes the place of another when a
    /// day passes or is entered, they are made as they were before anything was sown; and once more as on the day after
    /// each one on which it went otherwise than was planned, as long as that takes little work.
    ///
    /// # Errors
    /// [`Rejected`] where they leave too much open.
    pub(super) fn choice(&self, windows: &Windows, today: Date) -> Result<Choice, Rejected> {
        let (mut from, mut work) = (Date::MIN, 0);
        while from < today && work <= MOST_WORK {
            let then = Windows::without(self, from..today.tomorrow().unwrap_or(today))?;
            let choice = choose(&then.items(self)?, &then.limits(self));
            let plantings = then.chosen(&choice);
            work += choice.work;
            match self.went_otherwise(&plantings, today) {
                Some(day) if day >= from => from = day.tomorrow().unwrap_or(today),
                Some(_) => break,
                None => match windows.ways_of(&plantings) {
                    Some(ways) => return Ok(Choice { ways, ..choice }),
                    None => break,
                },
            }
        }
        Ok(choose(&windows.items(self)?, &windows.limits(self)))
    }

    /// The first day before another on which it went otherwise than was planned: not sown, not potted on, or what was
    /// for another day.
    fn went_otherwise(&self, plantings: &[Dated], today: Date) -> Option<Date> {
        let days = plantings.iter().flat_map(|dated| {
            let planned = &self.sowings[dated.sowing];
            let pots = planned.then.as_ref().and_then(|pot| pot.on.get(dated.number));
            let both = [(Some(dated.sow), planned.sow.get(dated.number)), (dated.pot, pots)];
            both.map(|(planned, done)| match (planned, done) {
                (Some(planned), Some(done)) => (planned != *done).then_some(planned.min(*done)),
                (planned, done) => done.copied().or(planned.filter(|planned| *planned < today)),
            })
        });
        days.flatten().min()
    }
}
