//! How a mix and its feed behave. Pure models, each with its source.

mod acidity;
mod blend;
mod cell;
mod feeding;
mod mixed;
pub mod packing;
mod remedy;
mod retention;
mod salts;
mod swap;
mod trial;
mod weight;

pub use acidity::{MOST_PH, MOSTLY_PEAT, NoPh, WANTED_PH, lime_for, ph};
pub use blend::{NotKnown, Parts, Pores, dry_density};
pub use cell::{Drained, ENOUGH_AIR, LEAST_AIR, NO_AIR, USUALLY_HELD, Verdict};
pub use feeding::{
    Analysis, COTYLEDONS_PPM, Feed, Fertiliser, FertiliserPack, LEAVES_PPM, PHOSPHORUS_PPM, Percentages, Product,
    STRONG_POTASSIUM_PPM, STRONG_PPM, UNFED_PPM,
};
pub use mixed::{Behaviour, InTray, kept_of, standings};
pub use remedy::{Remedy, remedies};
pub use retention::{CORE_CM, Curve, NoCell, shape_of};
pub use salts::{LOW_MS_CM, NoSalinity, least_salinity, of_coir, salinity};
pub use swap::{Candidate, MOST_RICH, Swap, VERY_RICH, lacking, may_take_part, swaps, wants_lime};
pub use trial::{MOST_PAIRS, least_p, sides, sign_flip_p};
pub use weight::{TRAY_KG, tray_kg};
