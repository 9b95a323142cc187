//! The season: from days of planting out to days of sowing, and what stands where meanwhile.
//!
//! A season is read like a week whose sowings say when they are planted out (`read`). On which days each may be sown
//! then is worked out (`windows`), the days are chosen (`chosen`, `choice`), and each of them is a week (`day`). All of them
//! together, with the rack and what is bought, are a `plan`.
//!
//! ```
//! use trayful::season::{Told, dates_of};
//! use trayful::source::Memory;
//! use trayful::week::Inputs;
//! let text = "season: spring\nrecipe: everyday\nmix_days: [saturday]\n\
//!             sowings: [{crop: kale, plants: 80, tray: 50-cell, plant_out: 2027-04-17}]\n";
//! let files = Memory::default().with("season.yaml", text);
//! let inputs = Inputs::new(&files);
//! let season = inputs.season("season.yaml".as_ref()).unwrap();
//! let days = season.chosen("2027-01-01".parse()?).unwrap();
//! let on = dates_of(&days).into_iter().next().unwrap();
//! assert_eq!(on.to_string(), "2027-03-13");                 // kale takes 4 to 6 weeks
//! let day = inputs.day(&season, &days, &Told::default(), on).unwrap();
//! assert_eq!(day.week.name, "spring, 2027-03-13");
//! # Ok::<(), jiff::Error>(())
//! ```

mod buying;
pub mod choice;
mod chosen;
mod dates;
mod day;
mod frame;
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
pub use day::{Stage, Told, dates_of, day_text, first_line, is_some_of};
pub use help::Help;
pub use plan::{EntryOf, SeasonEntry, SeasonPlan};
pub use planned::{Planned, PotOn, Season};
pub use rack::{RackWeek, Standing};
pub(crate) use read::ask;
pub use remarks::{Doubt, Remark};
pub use sown::{ByHand, Mark, is_fixed, sown};
pub use sown_day::SownDay;
pub use windows::{Course, Dated, Lateness, TooLate, Windows};
