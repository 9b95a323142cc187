//! The mix of each sowing, sorted into batches of equal composition, with their amounts.

mod at_hand;
mod batch;
mod key;
mod sorting;
mod volumes;

pub use batch::{Batch, DoseAmount, Omission, PartAmount, TopLayer};
pub use volumes::Volumes;

pub(in crate::plan) use batch::filled;
pub(in crate::plan) use sorting::{BatchOf, Sorting};
pub(in crate::plan) use volumes::{loose_per_cells, mix_of_cells};
