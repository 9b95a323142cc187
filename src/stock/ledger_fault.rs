//! Why nothing could be entered into the log, in words.

use super::log::LogEntry;
use crate::diagnostic::Rejected;
use crate::printable::shown;
use std::io;
use std::path::PathBuf;

/// Why nothing could be entered, or not all of it.
#[derive(Debug, thiserror::Error)]
pub enum LedgerFault {
    /// A file could not be written or read.
    #[error("`{path}` was not written, and nothing was taken: {error}", path = shown(.0), error = .1)]
    Untouched(PathBuf, io::Error),
    /// The stock file is the new one, the log is not.
    #[error(
        "the stock file is changed, but the log `{path}` could not be written: {error}. The next run adds the missing lines",
        path = shown(.0), error = .1
    )]
    Halfway(PathBuf, io::Error),
    /// The note of a run that is settled is still there.
    #[error(
        "the note `{path}` of a run that has ended could not be removed, and nothing more was done: {error}. Run the same \
         again, or delete the note",
        path = shown(.0), error = .1
    )]
    NoteStays(PathBuf, io::Error),
    /// Another run holds the lock.
    #[error("another run is writing to `{}`; try again when it has ended", shown(.0))]
    Busy(PathBuf),
    /// The lock cannot be had.
    #[error(
        "`{}` keeps two runs apart and cannot be opened, so nothing was changed: {error}. Whoever takes from `{}` must \
         be allowed to read it and to write to its folder",
        shown(path),
        shown(stock)
    )]
    NoLock {
        /// The lock.
        path: PathBuf,
        /// The stock file.
        stock: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// A file is there, but cannot be read.
    #[error("`{path}` cannot be read: {error}", path = shown(.0), error = .1)]
    Unreadable(PathBuf, io::Error),
    /// The log is not one of ours any more.
    #[error(
        "line {line} of `{}` {why}. Put the log back as it was; or move it away to start a new one, which knows of no \
         earlier week",
        shown(path)
    )]
    Log {
        /// The log.
        path: PathBuf,
        /// The line, counting from one.
        line: usize,
        /// What is wrong with it.
        why: &'static str,
    },
    /// A run was interrupted, and a file edited since.
    #[error(
        "a run was interrupted while it wrote `{}`, and the file or its log was edited since: see whether its amounts \
         are right, then delete `{}`",
        shown(stock),
        shown(pending)
    )]
    Edited {
        /// The stock file.
        stock: PathBuf,
        /// The note.
        pending: PathBuf,
    },
    /// Undoing a file that was edited since.
    #[error("`{}` was edited since entry {}: put its amounts back by hand", shown(.0), .1.number)]
    ChangedSince(PathBuf, Box<LogEntry>),
    /// Undoing by hand what the program can undo.
    #[error("`{path}` is as entry {number} left it: `--undo` without `--by-hand` puts its amounts back", path = shown(.0), number = .1)]
    NotByHand(PathBuf, u64),
    /// The last entry is of another week.
    #[error(
        "the last entry of `{}` is number {}, of the week `{}`{}: entries are taken back from the last, each with its \
         own week file, of that name and day",
        shown(.0),
        .1.number,
        .1.week,
        on_day(.1)
    )]
    OtherWeek(PathBuf, Box<LogEntry>),
    /// Every entry is undone, or there is none.
    #[error("there is no entry to undo in `{}`", shown(.0))]
    NothingToUndo(PathBuf),
    /// The stock file is no stock file.
    #[error("{0}")]
    Rejected(Rejected),
}

impl LedgerFault {
    /// What it is, in a line.
    pub fn in_a_line(&self) -> String {
        let first = if let Self::Rejected(rejected) = self { rejected.problems().next() } else { None };
        first.map_or_else(|| self.to_string(), |(file, problem)| format!("`{}`: {}", file.name, problem.what))
    }
}

/// ` for 2027-03-06`, where the week says so.
fn on_day(entry: &LogEntry) -> String {
    let day = entry.key().day;
    if day.is_empty() { day } else { format!(" for {day}") }
}
