//! The built program: every command, its whole output, its exit code, and what it does
//! with files and streams that fail.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

#[path = "cli/arguments.rs"]
mod arguments;
#[path = "cli/bucket.rs"]
mod bucket;
#[path = "cli/changes.rs"]
mod changes;
#[path = "cli/files.rs"]
mod files;
#[path = "cli/json.rs"]
mod json;
#[path = "cli/sheets.rs"]
mod sheets;
#[path = "cli/streams.rs"]
mod streams;
#[path = "cli/tables.rs"]
mod tables;

/// A small week that plans without a note about germination.
const WEEK: &str = "week: beds\nrecipe: everyday\nsowings:\n  - {crop: kale, cells: 70, tray: 72-cell}\n";
