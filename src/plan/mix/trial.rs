//! A trial of coir: each batch that holds coir is made as two of half the amounts, one with coir from the bath, one with
//! coir that is only wetted.

use super::{Batch, Half, Volumes};
use crate::units::{Quantity, Volume};

impl Half {
    /// The share of a batch that it is.
    pub const SHARE: f64 = 0.5;
}

impl Batch {
    /// Both its halves, one after the other; mix at hand goes into neither.
    pub(super) fn halves(&self) -> Vec<Self> {
        [Half::Buffered, Half::Straight].map(|half| self.half(half)).into()
    }

    fn half(&self, half: Half) -> Self {
        let mut batch = self.clone();
        batch.name = format!("{}, {}", self.name, half.label());
        batch.half = Some(half);
        let Volumes { cells, settled, mix, loose, .. } = self.volumes;
        let some = |volume: Option<Volume>| volume.map(|volume| volume * Half::SHARE);
        batch.volumes = Volumes {
            cells: some(cells),
            settled: some(settled),
            mix: mix * Half::SHARE,
            loose: loose * Half::SHARE,
            ..self.volumes
        };
        batch.ingredients.iter_mut().for_each(|part| part.loose *= Half::SHARE);
        batch.doses.iter_mut().for_each(|dose| dose.amount = dose.amount.times(Half::SHARE));
        batch.tops.iter_mut().for_each(|top| top.volume = some(top.volume));
        let saved = |saved: Option<Quantity>| saved.map(|saved| saved.times(Half::SHARE));
        batch.left_out.iter_mut().for_each(|out| out.saved = saved(out.saved));
        batch
    }
}
