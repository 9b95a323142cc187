//! Writing what was taken to the stock file and the log, so that no crash, full disk or
//! second run can lose an entry or count it twice.
//!
//! Beside `shed.yaml` lie `shed.log.csv`, the log (of `shed.yml` it is `shed.yml.log.csv`);
//! `.shed.yaml.lock`, locked by the one run that may write (the system frees it when a run
//! dies); and, while a run writes, `.shed.yaml.pending`. The order:
//!
//! 1. the new stock file, the new log and the pending note are written beside their
//!    places and flushed to the disk: a full disk ends here, with nothing changed;
//! 2. the pending note is put in its place: it holds what was asked, the entry's lines and
//!    the fingerprints of the stock file before and after;
//! 3. the stock file is replaced, 4. the log is replaced, 5. the user is told, and 6. the
//!    note is removed ([`Ledger::close`]).
//!
//! A run that finds a note finishes what it tells of: if the stock file is still the old
//! one, nothing was taken and the note is dropped; if it is the new one, the lines are
//! added to the log unless they are there. If it is neither, someone has edited it in
//! between, and a person has to look. Whoever was not told what was done asks for the same
//! again: that is known by the note, and is told, not done again ([`Ledger::done`]). Runs for
//! other weeks in between keep what the note says of it.

use super::ledger_fault::LedgerFault;
use super::log::{self, Log, LogEntry, LogRow, WeekKey, fingerprint};
use super::logbook::{Logbook, at, log_of, read_if_there};
use super::request::{Act, Request};
use super::rewrite::NewText;
use crate::printable::shown;
use crate::source::write::{Prepared, hidden, locked, remove};
use crate::source::{FileKind, Original, edited, regular_file_if_there};
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

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
pub type Steps = fn(WriteStep) -> io::Result<()>;

/// The pending note. One of an earlier version does not say what was asked.
#[derive(Default, Serialize, Deserialize)]
struct Note {
    #[serde(default)]
    request: String,
    entry: u64,
    before: String,
    after: String,
    lines: String,
    #[serde(default)]
    untold: Vec<Untold>,
}

/// What was done in a run that could not tell it.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Untold {
    request: String,
    entry: u64,
    /// The fingerprint that tells this entry from one of its number in another log.
    after: String,
}

/// A stock file and its log, held by this run alone.
#[derive(Debug)]
pub struct Ledger {
    stock: PathBuf,
    /// The log: `shed.log.csv` beside `shed.yaml`.
    pub log_path: PathBuf,
    pending: PathBuf,
    /// The stock file as it is now.
    pub original: Original,
    /// What this run is asked to do.
    pub request: Request,
    /// The entry that this request made, now or in a run that was interrupted before it told.
    pub done: Option<LogEntry>,
    untold: Vec<Untold>,
    /// Its log.
    pub book: Logbook,
    steps: Steps,
    lock: Lock,
}

/// The most bytes of a note: what it holds is in the log, too, and its escapes at most double it.
const LONGEST_NOTE: u64 = 3 * FileKind::Csv.limit();

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
        let stock = fs::canonicalize(stock).map_err(at(stock, LedgerFault::Unreadable))?;
        Ok([log_of(&stock), hidden(&stock, "pending"), hidden(&stock, "lock"), stock])
    }

    /// Waits for the lock, finishes what an interrupted run left, and reads both files.
    ///
    /// # Errors
    /// [`LedgerFault`]; nothing is changed then.
    pub fn open(stock: &Path, request: Request, steps: Steps) -> Result<Self, LedgerFault> {
        let [log_path, pending, lock_path, stock] = Self::files(stock)?;
        let lock = Lock::wait(&stock, &lock_path)?;
        // Whatever a killed run was about to put there.
        for place in [&stock, &log_path, &pending] {
            let _ = fs::remove_file(hidden(place, "new"));
        }
        let original = Original::load(&stock, FileKind::Yaml).map_err(LedgerFault::Rejected)?;
        let book = Logbook::at(&log_path)?;
        let (done, untold) = Default::default();
        let mut ledger = Self { stock, log_path, pending, original, request, done, untold, book, steps, lock };
        ledger.recover()?;
        Ok(ledger)
    }

    /// Enters what was taken: the new stock file, then the log.
    ///
    /// # Errors
    /// [`LedgerFault`]: either nothing is changed, or ([`LedgerFault::Halfway`]) the next
    /// run finishes.
    pub fn enter(&mut self, rows: Vec<LogRow>, new: NewText) -> Result<LogEntry, LedgerFault> {
        let sowings = self.request.sowings.clone();
        self.write(LogEntry { rows, restore: new.back, sowings, ..LogEntry::default() }, &new.bytes)
    }

    /// Takes the last entry back, which must be of this week: the stock file is byte for byte
    /// what it was before it, or stays as it is where its amounts were put back by hand.
    ///
    /// # Errors
    /// [`LedgerFault`] if there is none, if it is of another week, or if the file was edited
    /// since and its amounts were not put back by hand.
    pub fn undo(&mut self) -> Result<LogEntry, LedgerFault> {
        if let Some(done) = &self.done {
            return Ok(done.clone());
        }
        let last = self.book.log.not_undone().next_back().and_then(|last| self.whole(last.number));
        let last = last.ok_or_else(|| LedgerFault::NothingToUndo(self.log_path.clone()))?;
        if last.key() != self.request.key() {
            return Err(LedgerFault::OtherWeek(self.log_path.clone(), Box::new(last)));
        }
        let now = &self.original.bytes;
        let before = edited(now, &last.restore).map(|(bytes, _)| bytes);
        let before = before.filter(|bytes| fingerprint(now) == last.after && fingerprint(bytes) == last.before);
        let (stock, number, by_hand) = (self.stock.clone(), last.number, self.request.act == Act::UndoByHand);
        let bytes = match before {
            Some(_) if by_hand => return Err(LedgerFault::NotByHand(stock, number)),
            Some(bytes) => bytes,
            None if by_hand => now.clone(),
            None => return Err(LedgerFault::ChangedSince(stock, Box::new(last))),
        };
        let rows = last.rows.iter().map(LogRow::undone).collect();
        self.write(LogEntry { rows, undoes: Some(number), ..LogEntry::default() }, &bytes)
    }

    /// Removes the note of this week: the user was told.
    ///
    /// # Errors
    /// [`LedgerFault::NoteStays`]: the next run of the same request would be taken for this one.
    pub fn close(mut self) -> Result<(), LedgerFault> {
        let before = self.untold.len();
        self.settle(&self.request.key());
        if self.done.is_some() || self.untold.len() < before {
            self.leave_note()?;
        }
        let _ = (self.steps)(WriteStep::Done);
        Ok(())
    }

    /// Writes an entry, its number, week and fingerprints filled in. The stock file is
    /// replaced only if it changes.
    fn write(&mut self, entry: LogEntry, bytes: &[u8]) -> Result<LogEntry, LedgerFault> {
        let (before, after) = (fingerprint(&self.original.bytes), fingerprint(bytes));
        let Request { date, week, mix_on, .. } = self.request.clone();
        let number = self.book.log.next_number();
        let changed = before != after;
        let entry = LogEntry { number, date, week, mix_on, before: before.clone(), after: after.clone(), ..entry };
        let lines = log::lines(&entry, &mut self.book.log.checks.clone());
        let log_text = self.log_with(&lines);
        let is_too_long = log_text.len() as u64 > FileKind::Csv.limit();
        if is_too_long || self.read_on(self.book.log.end(), &lines).is_none() {
            let error = io::Error::other("what was to be written could not be read again");
            return Err(at(&self.log_path, LedgerFault::Untouched)(error));
        }
        self.lock.made = None;
        let untold = self.untold.clone();
        let note = Note { request: self.request.words(), entry: number, before, after, lines, untold };
        let (stock, log, pending) = (&self.stock, &self.log_path, &self.pending);
        let prepare =
            |step, path: &Path, bytes: &[u8]| self.prepare(step, path, bytes).map_err(at(path, LedgerFault::Untouched));
        let new_stock = changed.then(|| prepare(WriteStep::WriteStock, stock, bytes)).transpose()?;
        let new_log = prepare(WriteStep::WriteLog, log, log_text.as_bytes())?;
        let new_note = prepare(WriteStep::WritePending, pending, json!(note).to_string().as_bytes())?;
        let put_stock =
            |new_stock| self.put(WriteStep::PlaceStock, new_stock).map_err(at(stock, LedgerFault::Untouched));
        let put_log = at(log, if changed { LedgerFault::Halfway } else { LedgerFault::Untouched });
        let all_put = self
            .put(WriteStep::PlacePending, new_note)
            .map_err(at(pending, LedgerFault::Untouched))
            .and_then(|()| new_stock.map_or(Ok(()), put_stock))
            .and_then(|()| self.put(WriteStep::PlaceLog, new_log).map_err(put_log));
        if let Err(fault) = all_put {
            if !matches!(fault, LedgerFault::Halfway { .. }) {
                // The stock file is the old one: nothing may be left that says otherwise.
                let _ = self.leave_note();
            }
            return Err(fault);
        }
        self.done = Some(entry.clone());
        Ok(entry)
    }

    fn log_with(&self, lines: &str) -> String {
        let start = if self.book.text.is_empty() { log::HEADER } else { &self.book.text };
        let gap = if start.ends_with(['\n', '\r']) { "" } else { "\n" };
        format!("{start}{gap}{lines}")
    }

    /// Finishes or drops what a pending note tells of. The note of this very request is kept
    /// until its user was told.
    fn recover(&mut self) -> Result<(), LedgerFault> {
        let Some(note) = read_if_there(&self.pending, LONGEST_NOTE)? else { return Ok(()) };
        let (stock, pending) = (self.stock.clone(), self.pending.clone());
        let edited = || LedgerFault::Edited { stock, pending };
        let Ok(note) = serde_json::from_slice::<Note>(&note) else { return Err(edited()) };
        let now = fingerprint(&self.original.bytes);
        let entries = self.book.log.entries.iter();
        let is_it =
            |entry: &&LogEntry| (entry.number, &entry.before, &entry.after) == (note.entry, &note.before, &note.after);
        let done = match entries.rev().find(is_it).cloned() {
            Some(entry) => Some(entry),
            // The log alone was to be written, or nothing yet was.
            None if note.before == note.after || now == note.before => None,
            None if now == note.after => {
                let log_text = self.log_with(&note.lines);
                let Some(log) = self.read_on(self.book.log.clone(), &note.lines) else { return Err(edited()) };
                let steps = [WriteStep::WriteLog, WriteStep::PlaceLog];
                self.replace(steps, &self.log_path, log_text.as_bytes())
                    .map_err(at(&self.log_path, LedgerFault::Halfway))?;
                self.book = Logbook { log, text: log_text };
                self.book.log.entries.last().cloned()
            }
            None => return Err(edited()),
        };
        self.untold = note.untold;
        if let Some(entry) = &done {
            self.settle(&entry.key());
            self.untold.push(Untold { request: note.request, entry: entry.number, after: entry.after.clone() });
        }
        let words = self.request.words();
        let mine = self.untold.iter().find(|untold| untold.request == words);
        self.done = mine.and_then(|untold| self.entry(untold)).and_then(|entry| self.whole(entry.number));
        // What was not done is not told of; a note of what others were not told is as it should be.
        let is_of_others = note.entry == 0;
        if done.is_some() || is_of_others { Ok(()) } else { self.leave_note() }
    }

    /// Drops what was not told of a week: its user knows, or has gone on from there.
    fn settle(&mut self, week: &WeekKey) {
        let untold = std::mem::take(&mut self.untold);
        let is_of_another = |untold: &Untold| self.entry(untold).is_some_and(|entry| entry.key() != *week);
        self.untold = untold.into_iter().filter(is_of_another).collect();
    }

    /// What was done and not told; `None` if another log lies there by now.
    fn entry(&self, untold: &Untold) -> Option<&LogEntry> {
        // Entries are numbered from one, without a gap.
        let entry = self.book.log.entries.get(usize::try_from(untold.entry.checked_sub(1)?).ok()?)?;
        (entry.after == untold.after).then_some(entry)
    }

    /// An entry with its rows.
    fn whole(&self, number: u64) -> Option<LogEntry> {
        log::whole(&self.book.text, number)
    }

    /// A log with lines behind its own; `None` where these cannot be read.
    fn read_on(&self, log: Log, lines: &str) -> Option<Log> {
        let original = Original::of(&shown(&self.log_path), format!("{}{lines}", log::HEADER).into_bytes()).ok()?;
        log.with(&original.source.text).ok()
    }

    /// Leaves a note of what was done and not told, if there is any, and of nothing else.
    fn leave_note(&self) -> Result<(), LedgerFault> {
        if self.untold.is_empty() {
            let removed = (self.steps)(WriteStep::RemovePending).and_then(|()| remove(&self.pending));
            return removed.map_err(at(&self.pending, LedgerFault::NoteStays));
        }
        let note = json!(Note { untold: self.untold.clone(), ..Note::default() }).to_string();
        let steps = [WriteStep::WritePending, WriteStep::PlacePending];
        self.replace(steps, &self.pending, note.as_bytes()).map_err(at(&self.pending, LedgerFault::NoteStays))
    }

    fn replace(&self, [write, place]: [WriteStep; 2], path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.put(place, self.prepare(write, path, bytes)?)
    }

    fn prepare(&self, step: WriteStep, path: &Path, bytes: &[u8]) -> io::Result<Prepared> {
        (self.steps)(step)?;
        Prepared::under_lock(path, bytes)
    }

    fn put(&self, step: WriteStep, prepared: Prepared) -> io::Result<()> {
        (self.steps)(step)?;
        prepared.put()
    }
}

/// The lock of a stock file, held; made for a run that writes nothing, it goes with it.
#[derive(Debug)]
struct Lock {
    _file: File,
    made: Option<PathBuf>,
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Who waits for it finds that it is not there any more, and makes another.
        let _ = self.made.as_ref().map(fs::remove_file);
    }
}

impl Lock {
    /// Waits for the lock; the system frees it when its holder ends, however it ends.
    fn wait(stock: &Path, path: &Path) -> Result<Self, LedgerFault> {
        let refused = |error| LedgerFault::NoLock { path: path.to_owned(), stock: stock.to_owned(), error };
        let started = Instant::now();
        loop {
            let mut how = OpenOptions::new();
            let existing = match regular_file_if_there(path, how.read(true).write(true)) {
                // One of another user need only be read, where the system locks it then.
                Err(error) if error.kind() == ErrorKind::PermissionDenied => {
                    regular_file_if_there(path, how.write(false))
                }
                opened => opened,
            };
            let (file, made) = match existing.map_err(refused)? {
                Some((file, _)) => (file, None),
                None => (how.write(true).create(true).open(path).map_err(refused)?, Some(path.to_owned())),
            };
            match locked(&file, path).map_err(refused)? {
                true => return Ok(Self { _file: file, made }),
                false if started.elapsed() > PATIENCE => return Err(LedgerFault::Busy(stock.to_owned())),
                false => std::thread::sleep(Duration::from_millis(10)),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where locks are made of locks on ranges, as over a network, reading is not enough.
    #[cfg(unix)]
    #[test]
    #[allow(clippy::used_underscore_binding)]
    fn a_lock_that_is_there_is_opened_for_writing() {
        use std::io::Write;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(".shed.yaml.lock");
        for _ in 0..2 {
            let mut lock = Lock::wait(&folder.path().join("shed.yaml"), &path).unwrap();
            lock.made = None;
            // Even of nothing it is refused by a file that is open for reading.
            assert_eq!(lock._file.write(b"").unwrap(), 0);
        }
        assert!(File::open(&path).unwrap().write(b"").is_err());
    }
}
