//! From the cells to the loose ingredients, step by step.
//!
//! `settled = cells x (1 + settling)`: mix sinks into a cell that is overfilled, dropped
//! and struck off. `mix = settled / (1 - spill)`. `loose = mix / yield`, and for a batch
//! that is sieved whole `mix / (1 - sieve loss) / yield`. Settling is an addition to the
//! cells; shrinkage on blending is a loss from the ingredients.

use crate::catalogue::{Handle, Tray};
use crate::exact::Fraction;
use crate::units::{Volume, in_litres, to_litres};
use crate::week::{Allowances, without_plug};
use std::collections::BTreeMap;

/// The volumes of a batch, step by step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Volumes {
    /// Filled cells, level full; `None` where a volume was asked for, not cells.
    pub cells: Option<Volume>,
    /// With what sinks in.
    pub settled: Option<Volume>,
    /// Finished mix that is wanted.
    pub mix: Volume,
    /// Of this, what is at hand, left over from earlier.
    pub from_stock: Volume,
    /// What stays on the sieve, as a share of the mix made; zero for an unsieved batch.
    pub sieve_loss: Fraction,
    /// Mix kept after blending.
    pub yield_: Fraction,
    /// Ingredients before blending.
    pub loose: Volume,
}

impl Volumes {
    /// The chain from filled cells, `settled` counting what sinks into them.
    pub fn from_cells(cells: Volume, settled: Volume, allowances: &Allowances, sieved: bool, yield_: Fraction) -> Self {
        let mix = with_spill(settled, allowances);
        Self { cells: Some(cells), settled: Some(settled), ..Self::from_mix(mix, allowances, sieved, yield_) }
    }

    /// The chain from a wanted volume of finished mix.
    pub fn from_mix(mix: Volume, allowances: &Allowances, sieved: bool, yield_: Fraction) -> Self {
        let sieve_loss = if sieved { allowances.sieve_loss } else { Fraction::ZERO };
        let loose = mix / (1.0 - sieve_loss.to_f64()) / yield_.to_f64();
        Self { cells: None, settled: None, mix, from_stock: in_litres(0.0), sieve_loss, yield_, loose }
    }

    /// The same with some of the mix at hand.
    #[must_use]
    pub fn with(self, from_stock: Volume) -> Self {
        let loose = (self.mix - from_stock) / (1.0 - self.sieve_loss.to_f64()) / self.yield_.to_f64();
        Self { from_stock, loose, ..self }
    }

    /// Finished mix to make.
    pub fn to_make(&self) -> Volume {
        self.mix - self.from_stock
    }

    /// Loose ingredients for each litre of cells: the one factor on the sheet.
    pub fn factor(&self) -> Option<f64> {
        loose_per_cells(self.loose, self.cells.filter(|_| self.from_stock <= in_litres(0.0)))
    }
}

/// Loose ingredients for each litre of filled cells; `None` where no cells are filled.
pub(in crate::plan) fn loose_per_cells(loose: Volume, cells: Option<Volume>) -> Option<f64> {
    let cells = to_litres(cells?);
    (cells > 0.0).then(|| to_litres(loose) / cells)
}

/// Cells that are filled: their tray, the tray of the plugs that are set into them, how many.
pub(in crate::plan) type Cells<'t> = (&'t Handle<Tray>, Option<&'t Handle<Tray>>, u64);

/// What the cells of some trays hold beside the plugs that are set into them, and the mix they
/// take: pressed soil blocks by their compression, everything else by the settling.
pub(super) fn of_cells<'t>(filled: impl IntoIterator<Item = Cells<'t>>, settling: Fraction) -> (Volume, Volume) {
    // Whole numbers first: the sum of volumes is then the same in any order.
    let mut by_tray: BTreeMap<(&Handle<Tray>, Option<&Handle<Tray>>), u64> = BTreeMap::new();
    for (tray, plug, count) in filled {
        *by_tray.entry((tray, plug)).or_default() += count;
    }
    let mut sums = (in_litres(0.0), in_litres(0.0));
    for ((tray, plug), count) in by_tray {
        let cells = without_plug(tray, plug) * count as f64;
        sums.0 += cells;
        sums.1 += cells * tray.compression.map_or(1.0 + settling.to_f64(), Fraction::to_f64);
    }
    sums
}

fn with_spill(settled: Volume, allowances: &Allowances) -> Volume {
    settled / (1.0 - allowances.spill.to_f64())
}

/// The finished mix that some cells take, with what is spilt.
pub(in crate::plan) fn mix_of_cells<'t>(
    filled: impl IntoIterator<Item = Cells<'t>>,
    allowances: &Allowances,
) -> Volume {
    with_spill(of_cells(filled, allowances.settling).1, allowances)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_defaults_ask_for_a_third_and_more_on_top_of_the_cells() {
        let cells = in_litres(10.0);
        let allowances = Allowances::default();
        let yield_ = Fraction::new(88, 100).unwrap();
        let volumes = Volumes::from_cells(cells, cells * 1.15, &allowances, false, yield_);
        assert!((to_litres(volumes.mix) - 11.5 / 0.95).abs() < 1e-12);
        assert!((to_litres(volumes.loose) - 11.5 / 0.95 / 0.88).abs() < 1e-12);
        let sieved = Volumes::from_cells(cells, cells * 1.15, &allowances, true, yield_);
        assert!((to_litres(sieved.loose) - 11.5 / 0.95 / 0.90 / 0.88).abs() < 1e-12);
        assert!((volumes.factor().unwrap() - 1.15 / 0.95 / 0.88).abs() < 1e-12);
    }
}
