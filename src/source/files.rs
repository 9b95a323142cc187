//! Where files come from: the disk, or memory in tests.

use super::Identity;
use super::text::{FileKind, bytes_of, checked};
use crate::diagnostic::{Code, Problem, Rejected, SourceText};
use crate::printable::shown;
use std::cell::RefCell;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A place that files are read from.
pub trait Files {
    /// Reads a text file within its size limit.
    ///
    /// # Errors
    /// [`Rejected`] if it is not there, too large or not text.
    fn read(&self, path: &Path, kind: FileKind) -> Result<Arc<SourceText>, Rejected>;

    /// Whether there is such a file.
    fn has(&self, path: &Path) -> bool;
}

/// The file system; `-` is standard input. It remembers which files were read, so that no
/// result is written over one of them.
#[derive(Debug, Default)]
pub struct Disk {
    read: RefCell<Vec<Identity>>,
}

impl Disk {
    /// Whether this file was read.
    pub fn has_read(&self, file: &Identity) -> bool {
        self.read.borrow().contains(file)
    }
}

impl Files for Disk {
    fn read(&self, path: &Path, kind: FileKind) -> Result<Arc<SourceText>, Rejected> {
        let (bytes, identity) = bytes_of(path, kind)?;
        self.read.borrow_mut().extend(identity);
        checked(&shown(path), bytes)
    }

    fn has(&self, path: &Path) -> bool {
        path.is_file()
    }
}

/// Files held in memory.
#[derive(Clone, Debug, Default)]
pub struct Memory(pub HashMap<PathBuf, Vec<u8>>);

impl Memory {
    /// One file of a name.
    #[must_use]
    pub fn with(mut self, path: &str, bytes: impl Into<Vec<u8>>) -> Self {
        self.0.insert(PathBuf::from(path), bytes.into());
        self
    }
}

impl Files for Memory {
    fn read(&self, path: &Path, _: FileKind) -> Result<Arc<SourceText>, Rejected> {
        let name = shown(path);
        match self.0.get(path) {
            Some(bytes) => checked(&name, bytes.clone()),
            None => Err(Rejected::file(&name, Problem::of_file(Code::Unreadable, "there is no such file", None))),
        }
    }

    fn has(&self, path: &Path) -> bool {
        self.0.contains_key(path)
    }
}
