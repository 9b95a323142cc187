//! Writing results: to a stream that may close, to a file whole or not at all.

use super::Failure;
use super::args::FormatName;
use std::fs::{self, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::Path;

/// To a stream; a reader that has had enough is no fault.
pub(super) fn to_stream(out: &mut dyn Write, text: &str) -> Result<(), Failure> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
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
    let yaml = name.ends_with(".yaml") || name.ends_with(".yml");
    let table = name.ends_with(".csv") && format != FormatName::Csv;
    (yaml || table || name.ends_with(".log.csv")) && path.is_file()
}

/// To a file: written beside it, then put in its place in one step.
pub(super) fn to_file(path: &Path, text: &str) -> Result<(), Failure> {
    let failed = |error: io::Error| {
        let why = match error.kind() {
            ErrorKind::NotFound => "its folder does not exist".to_owned(),
            // Without the name of the temporary file.
            _ => error.to_string().split(" at path ").next().unwrap_or_default().to_owned(),
        };
        Failure::Said(format!("`{}` was not written: {why}", path.display()))
    };
    // A link is followed, so that what it points to is replaced, not the link.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    match fs::metadata(&target) {
        Ok(meta) if meta.is_dir() => {
            return Err(Failure::Said(format!("`{}` is a folder", path.display())));
        }
        // A device or a pipe cannot be replaced.
        Ok(meta) if !meta.is_file() => {
            return OpenOptions::new()
                .write(true)
                .open(&target)
                .and_then(|mut file| file.write_all(text.as_bytes()))
                .map_err(failed);
        }
        Ok(meta) if meta.permissions().readonly() => {
            return Err(Failure::Said(format!("`{}` was not written: it is read-only", path.display())));
        }
        _ => {}
    }
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".trayful-");
    #[cfg(unix)]
    {
        // As a file of the user's own would be, not as private as a temporary one.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(failed)?;
    file.write_all(text.as_bytes()).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    if let Ok(meta) = fs::metadata(&target) {
        // Keep the permissions of a file that is replaced, where that is allowed.
        let _ = file.as_file().set_permissions(meta.permissions());
    }
    file.persist(&target).map(|_| ()).map_err(|error| failed(error.error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.txt");
        assert!(to_file(&path, "one").is_ok());
        assert!(to_file(&path, "two").is_ok());
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        assert!(to_file(folder.path(), "x").is_err());
        assert!(to_file(&folder.path().join("no/such/folder"), "x").is_err());
    }
}
