//! The season: from days of planting out to days of sowing, and what stands where meanwhile.

pub mod choice;
pub mod occupancy;
