//! What to do in which order, so that no inoculant is carried over.

use super::{Base, BatchMixing, MixRef, Mixing};
use crate::plan::Batch;
use crate::units::to_litres;
use std::iter;

impl Mixing {
    /// The number of a batch.
    pub fn number(&self, batch: usize) -> usize {
        self.numbered.iter().take_while(|numbered| **numbered != batch).count() + 1
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

/// What is made in which order.
///
/// First what serves every crop: batches that share nothing, then the bases, so that the rest of one stays in the tub
/// and is finished at once. Bases whose rest serves some crops only, by an inoculant for instance, come last of these.
/// Then what serves some crops only: the rest in the tub, its other half in a trial, all
/// else that was drawn; bases that serve nothing else; batches that share nothing.
pub(super) fn order(bases: &[Base], made: &[BatchMixing], batches: &[Batch]) -> Vec<MixRef> {
    let serves_some = |index: usize| batches[index].serves_some();
    let pair = |index: usize| index - usize::from(batches[index].is_straight());
    let alone = (0..made.len()).filter(|index| made[*index].base.is_none());
    let (alone, clean): (Vec<_>, Vec<_>) = alone.partition(|index| serves_some(*index));
    let mut order: Vec<MixRef> = clean.into_iter().map(MixRef::Batch).collect();
    let (mut waiting, mut in_tub, mut last) = (Vec::new(), None, Vec::new());
    let mut in_turn: Vec<(usize, &Base)> = bases.iter().enumerate().collect();
    in_turn.sort_by_key(|(_, base)| base.draws.last().is_some_and(|draw| serves_some(draw.batch)));
    for (index, base) in in_turn {
        // The rest, which is in the tub, then what was drawn first.
        let rest_first = base.draws.split_last().into_iter().flat_map(|(rest, drawn)| iter::once(rest).chain(drawn));
        let (late, early): (Vec<usize>, Vec<usize>) =
            rest_first.map(|draw| draw.batch).partition(|batch| serves_some(*batch));
        if early.is_empty() && late.iter().all(|batch| batches[*batch].half.is_none()) {
            last.push(MixRef::Base(index));
            last.extend(late.into_iter().map(MixRef::Batch));
        } else {
            order.push(MixRef::Base(index));
            order.extend(early.into_iter().map(MixRef::Batch));
            in_tub = late.first().copied().filter(|batch| base.is_last(*batch));
            waiting.extend(late);
        }
    }
    waiting.sort_by_key(|batch| (in_tub.map(pair) != Some(pair(*batch)), Some(*batch) != in_tub, *batch));
    order.extend(waiting.into_iter().map(MixRef::Batch));
    order.append(&mut last);
    order.extend(alone.into_iter().map(MixRef::Batch));
    order
}
