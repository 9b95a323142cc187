//! Writing a file whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// New contents of a file, on the disk beside it, yet to be put in its place.
///
/// Dropped, it leaves nothing behind.
#[derive(Debug)]
pub struct Prepared {
    /// `None` where the place is a device or a pipe, which cannot be replaced.
    file: Option<NamedTempFile>,
    target: PathBuf,
    bytes: Vec<u8>,
}

impl Prepared {
    /// Writes the bytes beside a file and flushes them to the disk: a full disk shows here,
    /// with the file as it was. A link is followed, so that what it points to is replaced.
    ///
    /// # Errors
    /// If the place is a folder or read-only, or cannot be written to.
    pub fn beside(path: &Path, bytes: &[u8]) -> io::Result<Self> {
        Self::new(followed(path), bytes, ".trayful-", None)
    }

    /// The same under one name, `.FILE.new`, for a writer that holds a lock: what a killed
    /// run left there is used up.
    ///
    /// # Errors
    /// As [`Self::beside`].
    pub fn under_lock(path: &Path, bytes: &[u8]) -> io::Result<Self> {
        let target = followed(path);
        let name = hidden(&target, "new");
        absent(fs::remove_file(&name))?;
        Self::new(target, bytes, &name.file_name().unwrap_or_default().to_string_lossy(), Some(0))
    }

    fn new(target: PathBuf, bytes: &[u8], prefix: &str, random: Option<usize>) -> io::Result<Self> {
        let old = fs::metadata(&target).ok();
        match &old {
            Some(meta) if meta.is_dir() => return Err(io::Error::new(ErrorKind::IsADirectory, "it is a folder")),
            Some(meta) if !meta.is_file() => return Ok(Self { file: None, target, bytes: bytes.to_vec() }),
            Some(meta) if meta.permissions().readonly() => {
                return Err(io::Error::new(ErrorKind::PermissionDenied, "it is read-only"));
            }
            _ => {}
        }
        let mut builder = tempfile::Builder::new();
        builder.prefix(prefix);
        if let Some(letters) = random {
            builder.rand_bytes(letters);
        }
        #[cfg(unix)]
        {
            // As a file of the user's own would be, not as private as a temporary one.
            use std::os::unix::fs::PermissionsExt;
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        let mut file = builder.tempfile_in(folder(&target)).map_err(|error| without_path(&error))?;
        file.write_all(bytes)?;
        if let Some(meta) = old {
            // Keep the permissions of a file that is replaced, where that is allowed.
            let _ = file.as_file().set_permissions(meta.permissions());
        }
        file.as_file().sync_all()?;
        Ok(Self { file: Some(file), target, bytes: Vec::new() })
    }

    /// Puts the new contents in their place in one step.
    ///
    /// # Errors
    /// If the file cannot be replaced; it is as it was then.
    pub fn put(self) -> io::Result<()> {
        match self.file {
            Some(file) => {
                file.persist(&self.target)?;
                sync_folder(&self.target);
                Ok(())
            }
            None => OpenOptions::new().write(true).open(&self.target)?.write_all(&self.bytes),
        }
    }
}

/// An error without the name of the temporary file.
fn without_path(error: &io::Error) -> io::Error {
    let why = error.to_string();
    io::Error::new(error.kind(), why.split(" at path ").next().unwrap_or_default())
}

/// The file that a path points to, through links; the path itself where there is none yet.
fn followed(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

/// `.shed.yaml.lock` beside `shed.yaml`.
pub fn hidden(path: &Path, what: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{}.{what}", name.trim_start_matches('.')))
}

/// Removes a file for good; one that is not there is no fault.
///
/// # Errors
/// If it cannot be removed.
pub fn remove(path: &Path) -> io::Result<()> {
    absent(fs::remove_file(path))?;
    sync_folder(path);
    Ok(())
}

fn absent(removed: io::Result<()>) -> io::Result<()> {
    removed.or_else(|error| if error.kind() == ErrorKind::NotFound { Ok(()) } else { Err(error) })
}

fn folder(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A name is safe on the disk once its folder is. A system that cannot do this has done the
/// change all the same.
fn sync_folder(path: &Path) {
    if cfg!(unix) {
        let _ = File::open(folder(path)).and_then(|folder| folder.sync_all());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> usize {
        fs::read_dir(folder).unwrap().count()
    }

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.txt");
        for text in ["one", "two"] {
            Prepared::beside(&path, text.as_bytes()).unwrap().put().unwrap();
            assert_eq!(fs::read_to_string(&path).unwrap(), text);
        }
        let prepared = Prepared::beside(&path, b"three").unwrap();
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (2, "two".to_owned()));
        drop(prepared);
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (1, "two".to_owned()));
        assert!(Prepared::beside(folder.path(), b"x").is_err());
        assert!(Prepared::beside(&folder.path().join("no/such/folder"), b"x").is_err());
    }

    #[test]
    fn what_a_killed_run_left_is_used_up() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shed.yaml");
        fs::write(folder.path().join(".shed.yaml.new"), "half").unwrap();
        Prepared::under_lock(&path, b"whole").unwrap().put().unwrap();
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (1, "whole".to_owned()));
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_and_permissions_kept() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (folder.path().join("shed.yaml"), folder.path().join("link.yaml"));
        fs::write(&path, "old").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        symlink(&path, &link).unwrap();
        // What a killed run left lies beside the file, not beside the link.
        fs::write(folder.path().join(".shed.yaml.new"), "half").unwrap();
        Prepared::under_lock(&link, b"whole").unwrap().put().unwrap();
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (2, "whole".to_owned()));
        Prepared::beside(&link, b"new").unwrap().put().unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&path).unwrap(), "new");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
        Prepared::beside(Path::new("/dev/null"), b"x").unwrap().put().unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o440)).unwrap();
        assert_eq!(Prepared::beside(&path, b"x").unwrap_err().kind(), ErrorKind::PermissionDenied);
    }
}
