//! The log as it is read: what it knows of a week.

use super::ledger_fault::LedgerFault;
use super::log::{self, BadLine, Log, LogEntry};
use super::request::Request;
use crate::printable::shown;
use crate::source::{FileKind, Original, regular_file};
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

/// What the log of a stock file says.
#[derive(Debug, Default)]
pub struct Logbook {
    pub(super) log: Log,
    /// To be carried on, with all the columns of today.
    pub(super) text: String,
}

/// A week that was taken out of the stock and not put back.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// Its entries with their rows; never empty.
    pub entries: Vec<LogEntry>,
    /// It has the same name and day, not the same sowings on another one.
    pub is_same: bool,
    /// Entries that must be taken back before its last can be, the last first.
    pub later: Vec<LogEntry>,
}

impl Known {
    /// Its last entry.
    pub fn entry(&self) -> &LogEntry {
        &self.entries[self.entries.len() - 1]
    }
}

impl Logbook {
    /// The log of a stock file as it is now; an empty one where there is none.
    ///
    /// # Errors
    /// [`LedgerFault`] for a log that cannot be read.
    pub fn of(stock: &Path) -> Result<Self, LedgerFault> {
        let stock = fs::canonicalize(stock).map_err(at(stock, LedgerFault::Unreadable))?;
        Self::at(&log_of(&stock))
    }

    pub(super) fn at(path: &Path) -> Result<Self, LedgerFault> {
        let Some(bytes) = read_if_there(path, FileKind::Csv.limit())? else { return Ok(Self::default()) };
        let Original { bytes, source, .. } = Original::of(&shown(path), bytes).map_err(LedgerFault::Rejected)?;
        let bad = |BadLine { line, why }| LedgerFault::Log { path: path.to_owned(), line, why };
        let log = log::read(&source.text).map_err(bad)?;
        if log.is_short {
            return Ok(Self { text: log::lengthened(&source.text), log });
        }
        drop(source);
        let text =
            String::from_utf8(bytes).unwrap_or_else(|bytes| String::from_utf8_lossy(bytes.as_bytes()).into_owned());
        Ok(Self { log, text })
    }

    /// The week that is asked for; or else one of its name and with its sowings, on another day.
    pub fn known(&self, asked: &Request) -> Option<Known> {
        let key = asked.key();
        let is_like = |entry: &LogEntry| entry.key().name == key.name && entry.sowings == asked.sowings;
        self.found(true, |entry| entry.key() == key).or_else(|| self.found(false, is_like))
    }

    /// A week by its name.
    pub fn named(&self, week: &str) -> Option<Known> {
        self.found(false, |entry| entry.week == week)
    }

    fn found(&self, is_same: bool, is_it: impl Fn(&LogEntry) -> bool) -> Option<Known> {
        let numbers = self.log.not_undone().filter(|entry| is_it(entry)).map(|entry| entry.number);
        let entries: Vec<LogEntry> = numbers.filter_map(|number| log::whole(&self.text, number)).collect();
        let last = entries.last()?.number;
        let later = self.log.not_undone().rev().take_while(|entry| entry.number > last).cloned().collect();
        Some(Known { entries, is_same, later })
    }

    /// The names of the weeks that were taken out of the stock and not put back.
    pub fn weeks_taken(&self) -> Vec<String> {
        self.log.not_undone().map(|entry| entry.week.clone()).collect()
    }
}

/// What a file holds; `None` where there is none.
pub(super) fn read_if_there(path: &Path, limit: u64) -> Result<Option<Vec<u8>>, LedgerFault> {
    match regular_file(path, limit) {
        Ok((bytes, _)) => Ok(Some(bytes)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(at(path, LedgerFault::Unreadable)(error)),
    }
}

/// A fault of a file.
pub(super) fn at(path: &Path, fault: fn(PathBuf, io::Error) -> LedgerFault) -> impl FnOnce(io::Error) -> LedgerFault {
    move |error| fault(path.to_owned(), error)
}

/// The log of a stock file: `shed.log.csv` of `shed.yaml`. One with another ending has a log of its
/// whole name, so that two stock files never share one, unless an earlier version began
/// `shed.log.csv` for it.
pub(super) fn log_of(stock: &Path) -> PathBuf {
    let (yaml, short) = (stock.with_extension("yaml"), stock.with_extension("log.csv"));
    let mut whole = stock.as_os_str().to_owned();
    whole.push(".log.csv");
    let whole = PathBuf::from(whole);
    let is_there = |path: &Path| fs::symlink_metadata(path).is_ok();
    let began = || is_there(&short) && !is_there(&whole) && !is_there(&yaml);
    if stock == yaml || began() { short } else { whole }
}
