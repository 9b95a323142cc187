//! Where results go: a stream that may close, or a file, whole or not at all. A file that
//! the run reads or keeps its state in is never written over.

use super::{DONE, Failure, Session, said};
use crate::printable::shown;
use crate::source::write::Prepared;
use std::fs;
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// What writes a result.
pub(super) trait Writing: FnOnce(&mut dyn Write) -> io::Result<()> {}
impl<F: FnOnce(&mut dyn Write) -> io::Result<()>> Writing for F {}

/// A place that is ready to take a result.
pub(super) enum Opened {
    Stream,
    File { path: PathBuf, prepared: Prepared },
}

/// What can be said of the place of a result before any work: a folder, or a file that is
/// there already.
pub(super) fn check(path: &Path, replace: bool) -> Result<(), Failure> {
    match fs::metadata(path) {
        Ok(meta) if meta.is_dir() => Err(not_written(path, &ErrorKind::IsADirectory.into())),
        Ok(meta) if meta.is_file() && !replace => Err(there_already(path)),
        _ => Ok(()),
    }
}

impl Session<'_> {
    /// Makes the place of the result ready, before a command changes anything. What it changes it
    /// has read, or it is kept beside that.
    pub(super) fn open(&self) -> Result<Opened, Failure> {
        let Some(path) = &self.common.output else { return Ok(Opened::Stream) };
        Ok(Opened::File { path: path.clone(), prepared: self.prepared(path)? })
    }

    /// Makes the place of a file ready. One that is there is replaced only by `--replace`, and one that the run works
    /// with never.
    pub(super) fn prepared(&self, path: &Path) -> Result<Prepared, Failure> {
        if self.disk.works_with(path) {
            let path = shown(path);
            return said(format!("`{path}` is a file that this command works with: give the result another name"));
        }
        let prepared = prepared(path)?;
        if prepared.replaces() && !self.common.replace {
            return Err(there_already(path));
        }
        Ok(prepared)
    }

    /// Writes a result to its place as it comes: of a long table it is longer still.
    pub(super) fn write_to(&mut self, opened: Opened, write: impl Writing) -> Result<u8, Failure> {
        self.progress = None;
        match opened {
            Opened::Stream => to_stream(self.out, write),
            Opened::File { path, prepared } => put(prepared, &path, write),
        }
    }
}

/// To a stream; a reader that has had enough is no fault.
pub(super) fn to_stream(out: &mut dyn Write, write: impl Writing) -> Result<u8, Failure> {
    let mut out = BufWriter::with_capacity(1 << 14, out);
    match write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            said(format!("the result could not be written: {error}"))
        }
        _ => Ok(DONE),
    }
}

/// Replaces a file of the user's that held `old`, whole or not at all.
pub(super) fn replace(path: &Path, old: &[u8], bytes: &[u8]) -> Result<(), Failure> {
    let mut prepared = prepared(path)?;
    let done = prepared.fill(|out| out.write_all(bytes)).and_then(|()| prepared.put_over(old));
    done.map_err(|error| not_written(path, &error))
}

/// A place that is ready to take new contents.
pub(super) fn prepared(path: &Path) -> Result<Prepared, Failure> {
    Prepared::beside(path).map_err(|error| not_written(path, &error))
}

/// Fills it, whole or not at all.
pub(super) fn put(mut prepared: Prepared, path: &Path, write: impl Writing) -> Result<u8, Failure> {
    let filled = match prepared.fill(write) {
        // A pipe whose reader has had enough, as with a stream.
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        filled => filled.and_then(|()| prepared.put()),
    };
    filled.map(|()| DONE).map_err(|error| not_written(path, &error))
}

/// The refusal of a file for `new` where there is one.
pub(super) fn there_for_new<T>(path: &Path) -> Result<T, Failure> {
    said(format!("`{}` is there already, and `new` writes over no file: give another name", shown(path)))
}

fn there_already(path: &Path) -> Failure {
    let path = shown(path);
    Failure::Said(format!("`{path}` is there already: add `--replace` to write over it, or give another name"))
}

pub(super) fn not_written(path: &Path, error: &io::Error) -> Failure {
    let path = shown(path);
    Failure::Said(match error.kind() {
        ErrorKind::IsADirectory => format!("`{path}` is a folder"),
        ErrorKind::NotFound => format!("`{path}` was not written: its folder does not exist"),
        _ => format!("`{path}` was not written: {error}"),
    })
}
