//! What a path leads to, and files alone opened.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, ErrorKind};
use std::path::Path;

/// Opens a regular file; `None` only if nothing has its name, not even a link. Nothing else is
/// opened: a pipe may keep its reader waiting for ever, and a device may never end.
pub(crate) fn regular_file_if_there(path: &Path, how: &OpenOptions) -> io::Result<Option<(File, Metadata)>> {
    let regular = |meta: &Metadata| match meta {
        meta if meta.is_file() => Ok(()),
        meta => {
            not_a_folder(meta).and(Err(io::Error::new(ErrorKind::Unsupported, "it is a pipe or a device, not a file")))
        }
    };
    let Some(meta) = if_there(path)? else { return Ok(None) };
    regular(&meta)?;
    let file = how.open(path)?;
    let meta = file.metadata()?;
    regular(&meta)?;
    Ok(Some((file, meta)))
}

/// Refuses a folder.
pub(super) fn not_a_folder(meta: &Metadata) -> io::Result<()> {
    if meta.is_dir() { Err(io::Error::new(ErrorKind::IsADirectory, "it is a folder")) } else { Ok(()) }
}

/// What a path leads to; `None` only if nothing has its name, not even a link.
pub(super) fn if_there(path: &Path) -> io::Result<Option<Metadata>> {
    let absent = |error: &io::Error| error.kind() == ErrorKind::NotFound;
    match fs::metadata(path) {
        Err(error) if absent(&error) => match fs::symlink_metadata(path) {
            Err(error) if absent(&error) => Ok(None),
            Err(error) => Err(error),
            Ok(meta) if !meta.is_symlink() => Ok(Some(meta)),
            Ok(_) => Err(io::Error::new(ErrorKind::InvalidInput, "it is a link to a file that is not there")),
        },
        found => found.map(Some),
    }
}
