//! What to do in which order, so that no inoculant is carried over.

use super::{Base, BatchMixing, MixRef, Mixing};
use crate::units::to_litres;
use std::iter;

impl Mixing {
    /// The batches in the order in which they are made.
    pub fn made(&self) -> impl Iterator<Item = usize> {
        self.order.iter().filter_map(|mix| if let MixRef::Batch(index) = mix { Some(*index) } else { None })
    }

    /// The number of a batch: they are counted as they are made.
    pub fn number(&self, batch: usize) -> usize {
        self.made().take_while(|made| *made != batch).count() + 1
    }

    /// Whether the loads of a base are tipped together: not where one of them gives all that is drawn off
    /// and the rest is ready.
    pub fn tips_together(&self, base: &Base) -> bool {
        let Some((rest, drawn)) = base.draws.split_last() else { return false };
        let drawn: f64 = drawn.iter().map(|draw| to_litres(draw.amount.loose)).sum();
        let one_gives_all = self.batches[rest.batch].loads.is_none() && drawn <= to_litres(base.loads.load.loose);
        base.loads.count > 1 && !one_gives_all
    }

    /// Whether the rest of a base has to leave the tub, since other work comes before it is finished. That of
    /// several loads was tipped out anyway.
    pub fn tips_rest_out(&self, base: usize) -> bool {
        let mut work = self.all().skip_while(|(mix, ..)| *mix != MixRef::Base(base)).skip(1);
        let next = work.find(|(_, loads, _)| loads.is_some()).map(|(mix, ..)| mix);
        let Base { draws, loads, .. } = &self.bases[base];
        let rest = draws.last().map(|draw| draw.batch).filter(|batch| self.batches[*batch].loads.is_some());
        loads.count == 1 && rest.is_some_and(|rest| next != Some(MixRef::Batch(rest)))
    }
}

/// All that serves every crop first, batches that share nothing before the bases, since the rest
/// of a base stays in the tub and is finished at once, of the bases those first whose rest serves
/// every crop; then what holds an ingredient, such as an inoculant, that serves some crops only,
/// from a base whose rest is still in the tub on.
pub(super) fn order(bases: &[Base], batches: &[BatchMixing], serves_some: impl Fn(usize) -> bool) -> Vec<MixRef> {
    let alone = (0..batches.len()).filter(|index| batches[*index].base.is_none());
    let (alone, clean): (Vec<_>, Vec<_>) = alone.partition(|index| serves_some(*index));
    let [mut alone, mut clean] = [alone, clean].map(|some| some.into_iter().map(MixRef::Batch).collect::<Vec<_>>());
    let (mut finishes, mut last) = (Vec::new(), Vec::new());
    let mut in_turn: Vec<(usize, &Base)> = bases.iter().enumerate().collect();
    in_turn.sort_by_key(|(_, base)| base.draws.last().is_some_and(|draw| serves_some(draw.batch)));
    for (index, base) in in_turn {
        // The rest, which is in the tub, then what was drawn first.
        let rest_first = base.draws.split_last().into_iter().flat_map(|(rest, drawn)| iter::once(rest).chain(drawn));
        let (late, early): (Vec<usize>, Vec<usize>) =
            rest_first.map(|draw| draw.batch).partition(|batch| serves_some(*batch));
        let late = late.into_iter().map(MixRef::Batch);
        if early.is_empty() {
            last.push(MixRef::Base(index));
            last.extend(late);
        } else {
            clean.push(MixRef::Base(index));
            // What is still in the tub comes before what was drawn.
            let is_drawn = early.first() == base.draws.last().map(|rest| &rest.batch);
            let at = if is_drawn { finishes.len() } else { 0 };
            clean.extend(early.into_iter().map(MixRef::Batch));
            finishes.splice(at..at, late);
        }
    }
    clean.append(&mut finishes);
    clean.append(&mut last);
    clean.append(&mut alone);
    clean
}
