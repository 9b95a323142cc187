//! Mix that was left over from earlier, used first where its composition is the same.

use super::key::MixKey;
use crate::stock::{KEEPS_DAYS, Leftover, is_met};
use crate::units::{Volume, in_litres, to_litres};
use crate::week::Week;
use jiff::civil::Date;
use std::collections::HashMap;

/// The mixes of a week's stock file; of a volume that is asked for none is taken from the stock.
fn mixes(week: &Week) -> &[Leftover] {
    week.stock.as_ref().filter(|_| !week.from_command).map_or(&[], |stock| &stock.mixes)
}

/// The places of mixes that are the same and not used up, in the order in which they are used: the oldest first, those
/// of unknown age last.
pub(in crate::plan) fn places(week: &Week) -> HashMap<MixKey, Vec<usize>> {
    let mixes = mixes(week);
    let mut order: Vec<usize> = (0..mixes.len()).filter(|index| !mixes[*index].is_used_up()).collect();
    order.sort_by_key(|index| (mixes[*index].made.is_none(), mixes[*index].made));
    let mut places: HashMap<MixKey, Vec<usize>> = HashMap::new();
    for index in order {
        if let Some(key) = MixKey::of(&mixes[index].composition) {
            places.entry(key).or_default().push(index);
        }
    }
    places
}

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
    /// What is of the same composition, but too old, or for a batch that is halved.
    pub(super) unused: Vec<usize>,
}

impl<'w> AtHand<'w> {
    /// Of a week.
    pub(super) fn new(week: &'w Week) -> Self {
        let mixes = mixes(week);
        Self { mixes, left: mixes.iter().map(|mix| mix.amount - mix.aside).collect(), day: week.day() }
    }

    /// Takes what there is of the mixes at some places, up to so much, and says how much of the need that meets.
    /// Of what is halved for a trial both halves are made alike: nothing that is at hand.
    pub(super) fn serve(&mut self, places: &[usize], need: Volume, is_halved: bool) -> (Volume, Served) {
        let mut served = Served::default();
        let (none, mut wanted) = (in_litres(0.0), need);
        let met = |need, lacking| is_met(to_litres(need), to_litres(lacking));
        for &index in places {
            let mix = &self.mixes[index];
            let age = self.day.and_then(|day| mix.age_on(day)).unwrap_or(0);
            let taken = wanted.min(self.left[index]);
            if age < 0 || taken <= none || met(need, wanted) || met(mix.amount, self.left[index]) {
                continue;
            }
            if is_halved || age > KEEPS_DAYS && mix.perishes() {
                served.unused.push(index);
                continue;
            }
            wanted -= taken;
            self.left[index] -= taken;
            served.used.push((index, taken));
        }
        (if met(need, wanted) { need } else { need - wanted }, served)
    }
}

#[cfg(test)]
mod tests {
    use super::super::Sorting;
    use crate::plan::demand::Demand;
    use crate::recipe::Work;
    use crate::source::Memory;
    use crate::stock::MOST_MIXES;
    use std::path::Path;

    /// Those of one composition that pack differently are given each mix of it once, others none, and none
    /// what is used up.
    #[test]
    fn a_batch_is_given_the_mixes_of_its_composition_that_are_not_used_up() {
        const CROPS: [&str; 5] = ["kale", "leek", "tomato", "basil", "lettuce"];
        let yields = (80..).zip(&CROPS[1..]).map(|(kept, crop)| format!("{{for: {crop}, yield: {kept} %}}"));
        let recipe = format!(
            "recipe: own\nparts: {{peat: 3, perlite: 1}}\nchanges: [{}, {{for: kale, drop: [perlite]}}]\n",
            yields.collect::<Vec<_>>().join(", ")
        );
        let mix = |amount| format!("- {{name: m, parts: {{peat: 3, perlite: 1}}, amount: {amount}}}\n");
        let stock = format!("stock: s\nmixes:\n{}{}", mix("1 L").repeat(MOST_MIXES), mix("0 L").repeat(300));
        let sowings = CROPS.map(|crop| format!("- {{crop: {crop}, cells: 72, tray: 72-cell}}\n")).concat();
        let week = format!("week: w\nrecipe: own.yaml\nstock: s.yaml\nsowings:\n{sowings}");
        let files = Memory::default().with("week.yaml", week).with("own.yaml", recipe).with("s.yaml", stock);
        let loaded = crate::week::load(Path::new("week.yaml"), &files, &[]).unwrap();
        let (demand, work) = (Demand::of_week(&loaded).unwrap(), Work::default());
        let mut sorting = Sorting::new(&loaded, &[], &work);
        assert!(sorting.sort(&demand.variants).iter().all(Result::is_ok));
        let mut given: Vec<usize> = sorting.batches.iter().map(|batch| batch.at_hand.len()).collect();
        given.sort_unstable();
        assert_eq!(given, [0, MOST_MIXES, MOST_MIXES, MOST_MIXES, MOST_MIXES]);
    }
}
