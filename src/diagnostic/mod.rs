//! What is wrong with a file, where, and what would put it right.

mod code;
mod problem;
mod render;

pub use crate::spelling::{did_you_mean, nearest};
pub use code::Code;
pub use problem::{Problem, Problems, Rejected, SourceText, Span};
pub use render::render;
