//! What to do in which order, so that no inoculant is carried over.

use super::{Base, BatchMixing, MixRef, Mixing};
use crate::units::to_litres;
use std::iter;

/// One piece of work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// Mix a base and draw off the shares of its batches.
    MixBase(usize),
    /// Put a drawn share back into the tub with what the batch alone gets.
    Finish(usize),
    /// Mix a batch that shares nothing.
    Mix(usize),
}

impl Mixing {
    /// The mixes in the order of the work: what is at hand already first, what is ready when it is
    /// drawn after its base.
    pub fn steps(&self) -> Vec<MixRef> {
        let ready = |base: Option<usize>| {
            let batches = self.batches.iter().enumerate();
            let ready = batches.filter(move |(_, made)| made.loads.is_none() && made.base == base);
            ready.map(|(index, _)| MixRef::Batch(index))
        };
        let work = self.order.iter().flat_map(|work| match *work {
            Work::MixBase(index) => iter::once(MixRef::Base(index)).chain(ready(Some(index))).collect(),
            Work::Finish(index) | Work::Mix(index) => vec![MixRef::Batch(index)],
        });
        ready(None).chain(work).collect()
    }

    /// The number of a batch: they are counted as they are made.
    pub fn number(&self, batch: usize) -> usize {
        self.made.iter().take_while(|made| **made != batch).count() + 1
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
        let mut work = self.order.iter().skip_while(|work| **work != Work::MixBase(base)).skip(1);
        let Base { draws, loads, .. } = &self.bases[base];
        let rest = draws.last().map(|draw| draw.batch).filter(|batch| self.batches[*batch].loads.is_some());
        loads.count == 1 && rest.is_some_and(|rest| work.next() != Some(&Work::Finish(rest)))
    }
}

/// All that serves every crop first, batches that share nothing before the bases, since the rest
/// of a base stays in the tub and is finished at once, of the bases those first whose rest serves
/// every crop; then what holds an ingredient, such as an inoculant, that serves some crops only,
/// from the base that was mixed last on.
pub(super) fn order(bases: &[Base], batches: &[BatchMixing], serves_some: impl Fn(usize) -> bool) -> Vec<Work> {
    let mut clean = Vec::new();
    let (mut finishes, mut last, mut alone) = (Vec::new(), Vec::new(), Vec::new());
    for (index, _) in batches.iter().enumerate().filter(|(_, batch)| batch.base.is_none() && batch.loads.is_some()) {
        let turn = if serves_some(index) { &mut alone } else { &mut clean };
        turn.push(Work::Mix(index));
    }
    let mut in_turn: Vec<(usize, &Base)> = bases.iter().enumerate().collect();
    in_turn.sort_by_key(|(_, base)| base.draws.last().is_some_and(|draw| serves_some(draw.batch)));
    for (index, base) in in_turn {
        // The rest, which is in the tub, then what was drawn first.
        let rest_first = base.draws.split_last().into_iter().flat_map(|(rest, drawn)| iter::once(rest).chain(drawn));
        let to_finish = rest_first.filter(|draw| batches[draw.batch].loads.is_some());
        let (late, early): (Vec<usize>, Vec<usize>) =
            to_finish.map(|draw| draw.batch).partition(|batch| serves_some(*batch));
        let late = late.into_iter().map(Work::Finish);
        if base.draws.iter().all(|draw| serves_some(draw.batch)) {
            last.push(Work::MixBase(index));
            last.extend(late);
        } else {
            clean.push(Work::MixBase(index));
            clean.extend(early.into_iter().map(Work::Finish));
            finishes.splice(..0, late);
        }
    }
    clean.append(&mut finishes);
    clean.append(&mut last);
    clean.append(&mut alone);
    clean
}
