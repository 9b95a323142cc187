//! Writing results: to a stream that may close, to a file whole or not at all.

use super::Failure;
use super::args::FormatName;
use crate::source::is_yaml;
use crate::source::write::Prepared;
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::Path;

/// To a stream; a reader that has had enough is no fault.
pub(super) fn to_stream(
    out: &mut dyn Write,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), Failure> {
    let mut out = BufWriter::with_capacity(1 << 16, out);
    match write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::Said(format!("the result could not be written: {error}")))
        }
        _ => Ok(()),
    }
}

/// Whether a file is there that could be one that trayful reads: a text file of the
/// user's, a table, a log. No result is written over it.
pub(super) fn is_input(path: &Path, format: FormatName) -> bool {
    let name = path.file_name().map(|name| name.to_string_lossy().to_lowercase()).unwrap_or_default();
    let is_table = path.extension().is_some_and(|end| end.eq_ignore_ascii_case("csv"));
    (is_yaml(path) || is_table && format != FormatName::Csv || name.ends_with(".log.csv")) && path.is_file()
}

/// To a file, whole or not at all.
pub(super) fn to_file(path: &Path, text: &str) -> Result<(), Failure> {
    Prepared::beside(path, text.as_bytes()).and_then(Prepared::put).map_err(|error| {
        Failure::Said(match error.kind() {
            ErrorKind::IsADirectory => format!("`{}` is a folder", path.display()),
            ErrorKind::NotFound => format!("`{}` was not written: its folder does not exist", path.display()),
            _ => format!("`{}` was not written: {error}", path.display()),
        })
    })
}
