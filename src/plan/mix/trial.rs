//! A trial of coir: each batch that holds coir is made as two of half the amounts, one with coir from the bath, one with
//! coir that is only wetted.

use super::{Batch, Half, Volumes};
use crate::catalogue::Role;
use crate::coir::soak::Soak;
use crate::units::{Quantity, Volume};
use crate::week::Week;

/// Whether a week tries coir both ways.
pub(in crate::plan) fn tries_both(week: &Week) -> bool {
    week.soak.as_ref().is_some_and(Soak::tries_half)
}

/// The batches with those that hold coir in two halves, one after the other.
pub(in crate::plan) fn halved(batches: Vec<Batch>) -> Vec<Batch> {
    let halves = batches.into_iter().flat_map(|batch| {
        if batch.composition.is_of(Role::Coir) {
            [Half::Buffered, Half::Straight].map(|half| batch.half(half)).into()
        } else {
            vec![batch]
        }
    });
    halves.collect()
}

impl Batch {
    fn half(&self, half: Half) -> Self {
        const SHARE: f64 = 0.5;
        let mut batch = self.clone();
        batch.name = format!("{}, {}", self.name, half.label());
        batch.half = Some(half);
        let Volumes { cells, settled, mix, from_stock, loose, .. } = self.volumes;
        let some = |volume: Option<Volume>| volume.map(|volume| volume * SHARE);
        batch.volumes = Volumes {
            cells: some(cells),
            settled: some(settled),
            mix: mix * SHARE,
            from_stock: from_stock * SHARE,
            loose: loose * SHARE,
            ..self.volumes
        };
        batch.ingredients.iter_mut().for_each(|part| part.loose *= SHARE);
        batch.doses.iter_mut().for_each(|dose| dose.amount = dose.amount.times(SHARE));
        batch.from_stock.iter_mut().for_each(|(_, used)| *used *= SHARE);
        batch.tops.iter_mut().for_each(|top| top.volume = some(top.volume));
        let saved = |saved: Option<Quantity>| saved.map(|saved| saved.times(SHARE));
        batch.left_out.iter_mut().for_each(|out| out.saved = saved(out.saved));
        batch
    }
}
