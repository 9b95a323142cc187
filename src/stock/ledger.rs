//! Writing what was taken to the stock file and the log, so that no crash, full disk or
//! second run can lose an entry or count it twice.
//!
//! Beside `shed.yaml` lie `shed.log.csv`, the log; `.shed.yaml.lock`, locked by the one
//! run that may write (the system frees it when a run dies); and, while a run writes,
//! `.shed.yaml.pending`. The order:
//!
//! 1. the new stock file, the new log and the pending note are written beside their
//!    places and flushed to the disk: a full disk ends here, with nothing changed;
//! 2. the pending note is put in its place: it holds the entry's lines and the
//!    fingerprints of the stock file before and after;
//! 3. the stock file is replaced, 4. the log is replaced, 5. the note is removed.
//!
//! A run that finds a note finishes what it tells of: if the stock file is still the old
//! one, nothing was taken and the note is dropped; if it is the new one, the lines are
//! added to the log unless they are there. If it is neither, someone has edited it in
//! between, and a person has to look.

use super::log::{self, fingerprint};
use crate::diagnostic::Rejected;
use crate::source::write::{Prepared, hidden, remove};
use crate::source::{FileKind, Original, edited};
use serde_json::{Value, json};
use std::collections::HashSet;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

pub use super::log::{LogEntry, LogRow};

/// A step of writing; tests stop at each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WriteStep {
    /// Before the new stock file is written beside the old one.
    WriteStock,
    /// Before the new log is written beside the old one.
    WriteLog,
    /// Before the pending note is written beside its place.
    WritePending,
    /// Before the pending note is put in its place.
    PlacePending,
    /// Before the stock file is replaced.
    PlaceStock,
    /// Before the log is replaced.
    PlaceLog,
    /// Before the pending note is removed.
    RemovePending,
    /// After everything.
    Done,
}

/// Called before every step. The program's does nothing; a test's may fail or end the
/// process there.
pub type Steps<'s> = &'s mut dyn FnMut(WriteStep) -> io::Result<()>;

/// What an earlier, interrupted run had left.
#[derive(Clone, Debug, PartialEq)]
pub enum Recovered {
    /// Its entry was finished.
    Finished(LogEntry),
    /// It had taken nothing yet.
    Dropped,
}

/// Why nothing could be entered, or not all of it.
#[derive(Debug, thiserror::Error)]
pub enum LedgerFault {
    /// A file could not be written or read.
    #[error("`{}` was not written, and nothing was taken: {error}", path.display())]
    Untouched {
        /// The file.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// The stock file is the new one, the log is not.
    #[error(
        "the stock file is changed, but the log `{}` could not be written: {error}. The next run adds the missing lines",
        path.display()
    )]
    Halfway {
        /// The log.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// Another run holds the lock.
    #[error("another run is writing to `{}`; try again when it has ended", .0.display())]
    Busy(PathBuf),
    /// The log is not one of ours any more.
    #[error(
        "line {line} of `{}` cannot be read as a line of the log: put it right, or move the file away to start a new one",
        path.display()
    )]
    Log {
        /// The log.
        path: PathBuf,
        /// The line, counting from one.
        line: usize,
    },
    /// A run was interrupted, and the stock file edited since.
    #[error(
        "a run was interrupted while it wrote `{}`, and the file was edited since: see whether its amounts are right, \
         then delete `{}`",
        stock.display(),
        pending.display()
    )]
    Edited {
        /// The stock file.
        stock: PathBuf,
        /// The note.
        pending: PathBuf,
    },
    /// Undoing a file that was edited since.
    #[error("`{}` was edited since entry {}: put its amounts back by hand", stock.display(), entry.number)]
    ChangedSince {
        /// The stock file.
        stock: PathBuf,
        /// The entry that stays.
        entry: Box<LogEntry>,
    },
    /// Every entry is undone, or there is none.
    #[error("there is no entry to undo in `{}`", .0.display())]
    NothingToUndo(PathBuf),
    /// The stock file is no stock file.
    #[error("{0}")]
    Rejected(Rejected),
}

/// A stock file and its log, held by this run alone.
#[derive(Debug)]
pub struct Ledger {
    stock: PathBuf,
    /// The log: `shed.log.csv` beside `shed.yaml`.
    pub log: PathBuf,
    pending: PathBuf,
    /// The stock file as it is now.
    pub original: Original,
    entries: Vec<LogEntry>,
    log_text: String,
    _lock: File,
}

/// How long to wait for another run.
const PATIENCE: Duration = Duration::from_secs(10);

impl Ledger {
    /// The files of a ledger: the stock file, through links, its log, its pending note and
    /// its lock.
    ///
    /// # Errors
    /// [`LedgerFault`] if there is no stock file.
    pub fn files(stock: &Path) -> Result<[PathBuf; 4], LedgerFault> {
        // A link is followed, so that what it points to is replaced, not the link.
        let stock = fs::canonicalize(stock).map_err(untouched(stock))?;
        Ok([stock.with_extension("log.csv"), hidden(&stock, "pending"), hidden(&stock, "lock"), stock])
    }

    /// Waits for the lock, finishes what an interrupted run left, and reads both files.
    ///
    /// # Errors
    /// [`LedgerFault`]; nothing is changed then.
    pub fn open(stock: &Path, steps: Steps<'_>) -> Result<(Self, Option<Recovered>), LedgerFault> {
        let [log, pending, lock_file, stock] = Self::files(stock)?;
        let lock = lock(&stock, &lock_file)?;
        let original = Original::load(&stock, FileKind::Yaml).map_err(LedgerFault::Rejected)?;
        let (log_text, entries) = read_log(&log)?;
        let mut ledger = Self { stock, log, pending, original, entries, log_text, _lock: lock };
        let recovered = ledger.recover(steps)?;
        Ok((ledger, recovered))
    }

    /// The entry of a week that was taken and not undone.
    pub fn entry_of(&self, week: &str, mix_on: &str) -> Option<&LogEntry> {
        self.not_undone().rev().find(|entry| entry.week == log::plain_text(week) && entry.mix_on == mix_on)
    }

    /// Entries that are not undone and undo none.
    fn not_undone(&self) -> impl DoubleEndedIterator<Item = &LogEntry> {
        let undone: HashSet<u64> = self.entries.iter().filter_map(|entry| entry.undoes).collect();
        self.entries.iter().filter(move |entry| entry.undoes.is_none() && !undone.contains(&entry.number))
    }

    /// Enters what was taken: the new bytes of the stock file, then the log. The entry's number
    /// and fingerprints are filled in.
    ///
    /// # Errors
    /// [`LedgerFault`]: either nothing is changed, or ([`LedgerFault::Halfway`]) the next
    /// run finishes.
    pub fn enter(&mut self, new: LogEntry, bytes: &[u8], steps: Steps<'_>) -> Result<LogEntry, LedgerFault> {
        let (before, after) = (fingerprint(&self.original.bytes), fingerprint(bytes));
        let number = self.entries.iter().map(|entry| entry.number).max().unwrap_or(0).saturating_add(1);
        let entry = LogEntry { number, before, after, ..new };
        self.write(&entry, bytes, steps)?;
        Ok(entry)
    }

    /// Takes the last entry back: the stock file is byte for byte what it was before it.
    ///
    /// # Errors
    /// [`LedgerFault`] if there is none or the file was edited since.
    pub fn undo(&mut self, date: String, steps: Steps<'_>) -> Result<LogEntry, LedgerFault> {
        let last = self.not_undone().next_back().cloned();
        let last = last.ok_or_else(|| LedgerFault::NothingToUndo(self.log.clone()))?;
        let before = edited(&self.original.bytes, &last.restore).map(|(bytes, _)| bytes);
        let unchanged = fingerprint(&self.original.bytes) == last.after;
        let Some(bytes) = before.filter(|bytes| unchanged && fingerprint(bytes) == last.before) else {
            return Err(LedgerFault::ChangedSince { stock: self.stock.clone(), entry: Box::new(last) });
        };
        let rows = last.rows.iter().map(LogRow::undone).collect();
        let (undoes, week, mix_on) = (Some(last.number), last.week, last.mix_on);
        self.enter(LogEntry { date, week, mix_on, rows, undoes, ..LogEntry::default() }, &bytes, steps)
    }

    fn write(&mut self, entry: &LogEntry, bytes: &[u8], steps: Steps<'_>) -> Result<(), LedgerFault> {
        let lines = log::lines(entry);
        let log_text = self.log_with(&lines);
        let note = json!({"entry": entry.number, "before": entry.before, "after": entry.after, "lines": lines});
        let mut prepare = |step, path: &Path, bytes: &[u8]| {
            let prepared = steps(step).and_then(|()| Prepared::under_lock(path, bytes));
            prepared.map_err(untouched(path))
        };
        let new_stock = prepare(WriteStep::WriteStock, &self.stock, bytes)?;
        let new_log = prepare(WriteStep::WriteLog, &self.log, log_text.as_bytes())?;
        let new_note = prepare(WriteStep::WritePending, &self.pending, note.to_string().as_bytes())?;
        let mut put = |step, prepared: Prepared, path: &Path| {
            let done = steps(step).and_then(|()| prepared.put());
            done.map_err(untouched(path))
        };
        let replaced = put(WriteStep::PlacePending, new_note, &self.pending)
            .and_then(|()| put(WriteStep::PlaceStock, new_stock, &self.stock));
        if let Err(fault) = replaced {
            // The stock file is the old one: nothing may be left that says otherwise.
            let _ = fs::remove_file(&self.pending);
            return Err(fault);
        }
        let placed = steps(WriteStep::PlaceLog).and_then(|()| new_log.put());
        placed.map_err(|error| LedgerFault::Halfway { path: self.log.clone(), error })?;
        // What is left of the note says what the log says already.
        let _ = steps(WriteStep::RemovePending).and_then(|()| remove(&self.pending));
        let _ = steps(WriteStep::Done);
        self.log_text = log_text;
        self.entries.push(entry.clone());
        Ok(())
    }

    fn log_with(&self, lines: &str) -> String {
        let start = if self.log_text.is_empty() { log::HEADER } else { &self.log_text };
        let gap = if start.ends_with(['\n', '\r']) { "" } else { "\n" };
        format!("{start}{gap}{lines}")
    }

    /// Finishes or drops what a pending note tells of.
    fn recover(&mut self, steps: Steps<'_>) -> Result<Option<Recovered>, LedgerFault> {
        let Ok(note) = fs::read(&self.pending) else { return Ok(None) };
        let edited = || LedgerFault::Edited { stock: self.stock.clone(), pending: self.pending.clone() };
        let note: Value = serde_json::from_slice(&note).map_err(|_| edited())?;
        let text = |key: &str| note.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
        let number = note.get("entry").and_then(Value::as_u64);
        let now = fingerprint(&self.original.bytes);
        let logged = self.entries.iter().any(|entry| {
            Some(entry.number) == number && entry.before == text("before") && entry.after == text("after")
        });
        let recovered = if logged {
            None
        } else if now == text("after") {
            let log_text = self.log_with(&text("lines"));
            let entries = log::read(&log_text).map_err(|_| edited())?;
            let halfway = |error| LedgerFault::Halfway { path: self.log.clone(), error };
            let new_log =
                steps(WriteStep::WriteLog).and_then(|()| Prepared::under_lock(&self.log, log_text.as_bytes()));
            let placed = new_log.and_then(|new_log| steps(WriteStep::PlaceLog).and_then(|()| new_log.put()));
            placed.map_err(halfway)?;
            self.log_text = log_text;
            self.entries = entries;
            self.entries.last().cloned().map(Recovered::Finished)
        } else if now == text("before") {
            Some(Recovered::Dropped)
        } else {
            return Err(edited());
        };
        let removed = steps(WriteStep::RemovePending).and_then(|()| remove(&self.pending));
        removed.map_err(untouched(&self.pending))?;
        Ok(recovered)
    }
}

/// What an error means before the stock file is replaced.
fn untouched(path: &Path) -> impl FnOnce(io::Error) -> LedgerFault {
    move |error| LedgerFault::Untouched { path: path.to_owned(), error }
}

/// Waits for the lock; the system frees it when its holder ends, however it ends.
fn lock(stock: &Path, path: &Path) -> Result<File, LedgerFault> {
    let file = OpenOptions::new().create(true).truncate(false).write(true).open(path).map_err(untouched(path))?;
    let started = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(file),
            Err(TryLockError::Error(error)) => return Err(untouched(path)(error)),
            Err(TryLockError::WouldBlock) if started.elapsed() > PATIENCE => {
                return Err(LedgerFault::Busy(stock.to_owned()));
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(10)),
        }
    }
}

fn read_log(path: &Path) -> Result<(String, Vec<LogEntry>), LedgerFault> {
    if !path.exists() {
        return Ok((String::new(), Vec::new()));
    }
    let source = Original::load(path, FileKind::Csv).map_err(LedgerFault::Rejected)?;
    let text = String::from_utf8_lossy(&source.bytes).into_owned();
    let entries = log::read(&text).map_err(|line| LedgerFault::Log { path: path.to_owned(), line })?;
    Ok((text, entries))
}
