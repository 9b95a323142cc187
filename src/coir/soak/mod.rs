//! The soak of the coir: what is asked for, the worksheet it comes to, and when to start.

mod request;
mod salts;
mod times;
mod worksheet;

pub use request::{CoirAmount, CoirKind, Product, Soak, from_options, read, settle};
pub use salts::{SaltEntry, salt_named, salts};
pub use times::{KEEPS_HOURS, LONGEST_BATH_HOURS, LONGEST_RINSE_HOURS, Run, TimedStep, Times};
pub use worksheet::{Compared, Worksheet};
