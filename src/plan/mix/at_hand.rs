//! Mix that was left over from earlier, used first where its composition is the same.

use super::sorting::same_mix;
use crate::recipe::Composition;
use crate::stock::{KEEPS_DAYS, Leftover};
use crate::units::{Volume, in_litres};
use crate::week::Week;
use jiff::civil::Date;

/// The mixes of the stock file, and what of them is not used yet.
pub(super) struct AtHand<'w> {
    mixes: &'w [Leftover],
    left: Vec<Volume>,
    day: Option<Date>,
}

/// What of the mixes at hand is used for a batch.
#[derive(Default)]
pub(super) struct Served {
    /// Its place in the stock file, and how much of it.
    pub(super) used: Vec<(usize, Volume)>,
    /// What is of the same composition, but too old.
    pub(super) stale: Vec<usize>,
}

impl Served {
    pub(super) fn mix(&self) -> Volume {
        self.used.iter().fold(in_litres(0.0), |sum, (_, mix)| sum + *mix)
    }
}

impl<'w> AtHand<'w> {
    /// Of a week; of a volume that is asked for nothing is taken from the stock.
    pub(super) fn new(week: &'w Week) -> Self {
        let mixes = week.stock.as_ref().filter(|_| !week.from_command).map_or(&[][..], |stock| &stock.mixes);
        let day = week.mix_on.as_ref().map(|moment| moment.local.date());
        Self { mixes, left: mixes.iter().map(|mix| mix.amount).collect(), day }
    }

    /// Takes what there is of a mix, up to so much.
    pub(super) fn serve(&mut self, composition: &Composition, mut wanted: Volume) -> Served {
        let mut served = Served::default();
        let none = in_litres(0.0);
        for (index, mix) in self.mixes.iter().enumerate().filter(|(_, mix)| same_mix(&mix.composition, composition)) {
            let age = self.day.and_then(|day| mix.age_on(day)).unwrap_or(0);
            let taken = wanted.min(self.left[index]);
            if age < 0 || taken <= none {
                continue;
            }
            if age > KEEPS_DAYS && mix.perishes() {
                served.stale.push(index);
                continue;
            }
            wanted -= taken;
            self.left[index] -= taken;
            served.used.push((index, taken));
        }
        served
    }
}
