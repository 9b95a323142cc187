//! What to do in which order, so that no inoculant is carried over.

use super::{Base, BatchMixing};

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

/// Bases and all that serves every crop first; then what holds an ingredient, such as an
/// inoculant, that serves some crops only.
pub(super) fn order(bases: &[Base], batches: &[BatchMixing], serves_some: impl Fn(usize) -> bool) -> Vec<Work> {
    let mut clean = Vec::new();
    let mut last = Vec::new();
    for (index, base) in bases.iter().enumerate() {
        let of_base = if base.draws.iter().all(|draw| serves_some(draw.batch)) { &mut last } else { &mut clean };
        of_base.push(Work::MixBase(index));
        for draw in base.draws.iter().filter(|draw| batches[draw.batch].loads.is_some()) {
            let turn = if serves_some(draw.batch) { &mut last } else { &mut clean };
            turn.push(Work::Finish(draw.batch));
        }
    }
    for (index, _) in batches.iter().enumerate().filter(|(_, batch)| batch.base.is_none() && batch.loads.is_some()) {
        let turn = if serves_some(index) { &mut last } else { &mut clean };
        turn.push(Work::Mix(index));
    }
    clean.append(&mut last);
    clean
}
