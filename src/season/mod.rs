//! The season: from days of planting out to days of sowing, and what stands where meanwhile.
//!
//! A season is read like a week whose sowings say when they are planted out (`read`). On which days each may be sown
//! then is worked out (`windows`), the days are chosen (`choice`), and each of them is a week (`day`). All of them
//! together, with the rack and what is bought, are a `plan`.

mod buying;
pub mod choice;
mod dates;
mod day;
mod help;
pub mod occupancy;
mod plan;
mod planned;
mod rack;
mod read;
mod remarks;
mod sown;
mod sown_day;
mod windows;

pub use buying::CoirCourse;
pub use dates::{Again, Interval, PlantOut};
pub use day::{dates_of, day_text};
pub use help::Help;
pub use plan::{EntryOf, SeasonEntry, SeasonPlan};
pub use planned::{MOST_PLANTINGS, Planned, PotOn, Season};
pub use rack::{ColdSpring, RackWeek, Standing};
pub(crate) use read::ask;
pub use remarks::{Doubt, Remark};
pub use sown::sown;
pub use sown_day::{Sown, SownDay};
pub use windows::{Course, Dated, Windows};
