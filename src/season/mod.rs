//! The season: from days of planting out to days of sowing, and what stands where meanwhile.
//!
//! A season is read like a week whose sowings say when they are planted out (`read`). On which days each may be sown
//! then is worked out (`windows`), the days are chosen (`choice`), and each of them is a week (`day`).

pub mod choice;
mod dates;
mod day;
pub mod occupancy;
mod planned;
mod read;
mod sown;
mod windows;

pub use dates::{Again, Interval, PlantOut};
pub use day::{dates_of, day_text};
pub use planned::{MOST_PLANTINGS, Planned, PotOn, Season};
pub(crate) use read::ask;
pub use sown::sown;
pub use windows::{Course, Dated, Windows};
