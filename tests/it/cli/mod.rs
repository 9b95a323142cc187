//! The built program: every command, its whole output, its exit code, and what it does
//! with files and streams that fail.

mod arguments;
mod behaviour;
mod calendar;
mod changes;
mod files;
mod json;
mod labels;
mod place;
mod season;
mod sheets;
mod start;
mod streams;
mod swap;
mod tables;
mod us_units;
mod r#yield;

/// A small week that plans without a note about germination.
const WEEK: &str = "week: beds\nrecipe: everyday\nsowings:\n  - {crop: kale, cells: 70, tray: 72-cell}\n";
