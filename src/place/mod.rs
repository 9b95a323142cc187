//! The standing facts of one grower's bench, written once: what of them a season alone uses, and how they
//! lie under the keys of a week, a season or a soak.

mod merge;
mod rack;
mod standing;

pub use merge::{lay_over, without_own_entries};
pub use rack::Rack;
pub use standing::{Frame, Frost, MixDays, Standing, Taken};
