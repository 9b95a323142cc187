//! What to do in which order, so that no inoculant is carried over.

use super::{Base, BatchMixing, Mixing};
use crate::units::to_litres;

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
    /// Whether the loads of a base are tipped together: not where one of them gives all that is drawn off
    /// and the rest is ready.
    pub fn tips_together(&self, base: &Base) -> bool {
        let Some((rest, drawn)) = base.draws.split_last() else { return false };
        let drawn: f64 = drawn.iter().map(|draw| to_litres(draw.amount.loose)).sum();
        let one_gives_all = self.batches[rest.batch].loads.is_none() && drawn <= to_litres(base.loads.load.loose);
        base.loads.count > 1 && !one_gives_all
    }

    /// Whether the rest of the base that is mixed at a place of the order has to leave the tub,
    /// since other work comes before it is finished. That of several loads was tipped out anyway.
    pub fn tips_rest_out(&self, place: usize) -> bool {
        let Some(Work::MixBase(index)) = self.order.get(place) else { return false };
        let base = &self.bases[*index];
        let rest = base.draws.last().map(|draw| draw.batch).filter(|batch| self.batches[*batch].loads.is_some());
        base.loads.count == 1 && rest.is_some_and(|rest| self.order.get(place + 1) != Some(&Work::Finish(rest)))
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
        let to_finish = base.draws.iter().rev().filter(|draw| batches[draw.batch].loads.is_some());
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
