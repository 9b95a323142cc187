//! What is wrong with a file, where, and what would put it right.

mod asked;
mod code;
mod problem;
mod render;
mod span;

pub use crate::spelling::{did_you_mean, nearest};
pub(crate) use asked::Asked;
pub use asked::Looks;
pub use code::Code;
pub use problem::{Problem, Problems, Rejected, SourceText};
pub use render::render;
pub use span::Span;
