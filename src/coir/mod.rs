//! The coir worksheet: what calcium baths do to the exchange sites of coir.
//!
//! Coir holds sodium and potassium on its exchange sites and takes calcium and magnesium from the feed instead. A
//! calcium bath before sowing swaps them. From the coir, the salt and a target, [`Brief::design`] finds the least salt
//! and lays out the course, and [`Brief::weigh`] the course that takes least time, water and salt; [`Course`] runs a
//! course that someone else laid out.
//!
//! The model is a well-mixed equilibrium at 25 °C between exchange sites of constant capacity and the water around them
//! (Gaines-Thomas, generic soil constants), with sulfate pairing, gypsum and conductivity as in PHREEQC 3.7.3. It leaves
//! out pH, phosphate, organic acids and microbes. The capacity and first composition of the coir decide most of the
//! error; conductivity cannot tell whether coir is buffered.
//!
//! Files, options and times are the business of [`soak`] alone.

mod activity;
mod bath;
mod conductivity;
mod course;
mod design;
mod error;
mod exchange;
mod formula;
mod gypsum;
mod ion;
mod material;
mod report;
mod root;
mod salt;
pub mod soak;
mod solutes;
mod timing;
mod tub;
mod weigh;

pub use activity::{Convention, Solution};
pub use bath::Bath;
pub use conductivity::limiting_conductivity_s_cm2_mol;
pub use course::{Action, Course, CourseStep, MAX_STRENGTH_MOL_L, SaltDose};
pub(crate) use design::SOAKS;
pub use design::{BATH_L_PER_KG, Brief, Design, Remedy, Verdict, Wetting};
pub use error::CoirError;
pub use exchange::{Model, Settled, SiteFractions, Suspension, sites_from_extract};
pub use gypsum::solubility_mol_kg;
pub use ion::{Amounts, Cation, Ion, atomic_weight};
pub use material::{
    BufferTarget, Coir, SoldAs, WETTING_L_PER_SOLD_KG, WaterHeld, dry_kg_of_loose, dry_kg_of_sold, loose_l_of_dry,
    loose_l_of_sold,
};
pub use report::{CourseCaution, CourseReport, StepResult, Waste};
pub use salt::Salt;
pub use solutes::Solutes;
pub use timing::{USUAL_SOAK_HOURS, diffusion_hours, soak_hours};
pub use tub::Tub;
pub(crate) use weigh::RINSES;
pub use weigh::{Days, Stated};
