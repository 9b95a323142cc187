//! Writing a file whole or not at all.

use super::identity::{Identity, folder};
use super::regular::{if_there, not_a_folder, regular_file_if_there};
use crate::hash;
use std::fs::{self, File, Metadata, OpenOptions, TryLockError};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// A place that is ready to take new contents, which it shows only once they are whole.
///
/// Dropped, it leaves nothing behind.
#[derive(Debug)]
pub struct Prepared {
    draft: Draft,
    target: PathBuf,
    /// There is a file, which is to be replaced.
    replaces: bool,
}

/// What takes the contents first.
#[derive(Debug)]
enum Draft {
    /// A file beside the target.
    Beside(NamedTempFile),
    /// A device or a pipe, which cannot be replaced.
    Open(File),
}

impl Prepared {
    /// Makes a file beside another, to be filled and then put in its place. A link is
    /// followed, so that what it points to is replaced.
    ///
    /// # Errors
    /// If the place is a folder, read-only or a link that leads nowhere, or cannot be
    /// written to.
    pub fn beside(path: &Path) -> io::Result<Self> {
        let target = followed(path);
        // Runs that write one result at the same time have a draft each.
        for number in 0..MOST_DRAFTS {
            let draft = draft_of(&target, number);
            if !is_free(&draft) {
                continue;
            }
            let name = draft.file_name().unwrap_or_default().to_string_lossy();
            let prepared = match Self::new(target.clone(), &name, Some(0)) {
                Err(error) if error.kind() == ErrorKind::AlreadyExists => continue,
                prepared => prepared?,
            };
            match prepared.draft {
                // Another run took it for one left over, and the name may be a third one's by now.
                Draft::Beside(file) if !locked(file.as_file(), &draft).unwrap_or(true) => drop(file.keep()),
                draft => return Ok(Self { draft, ..prepared }),
            }
        }
        Self::new(target, ".trayful-", None)
    }

    /// The same filled, under one name, `.FILE.new`, for a writer that holds a lock: what a
    /// killed run left there is used up.
    ///
    /// # Errors
    /// As [`Self::beside`] and [`Self::fill`].
    pub fn under_lock(path: &Path, bytes: &[u8]) -> io::Result<Self> {
        let target = followed(path);
        let name = hidden(&target, "new");
        absent(fs::remove_file(&name))?;
        let mut prepared = Self::new(target, &name.file_name().unwrap_or_default().to_string_lossy(), Some(0))?;
        prepared.fill(|out| out.write_all(bytes))?;
        Ok(prepared)
    }

    fn new(target: PathBuf, prefix: &str, random: Option<usize>) -> io::Result<Self> {
        let old = if_there(&target)?;
        old.as_ref().map_or(Ok(()), not_a_folder)?;
        match &old {
            Some(meta) if !meta.is_file() => {
                let draft = Draft::Open(OpenOptions::new().write(true).open(&target)?);
                return Ok(Self { draft, target, replaces: false });
            }
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
        let draft = builder.tempfile_in(folder(&target)).map_err(|error| without_path(&error))?;
        if let Some(meta) = &old {
            keep_owner(draft.as_file(), meta);
            // Where that is allowed.
            let _ = draft.as_file().set_permissions(meta.permissions());
        }
        Ok(Self { draft: Draft::Beside(draft), target, replaces: old.is_some() })
    }

    /// Whether there is a file, which is to be replaced.
    pub fn replaces(&self) -> bool {
        self.replaces
    }

    /// Writes the new contents and flushes them to the disk: a full disk shows here, with the
    /// file as it was.
    ///
    /// # Errors
    /// If they cannot be written.
    pub fn fill(&mut self, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
        let file = match &mut self.draft {
            Draft::Beside(file) => file.as_file_mut(),
            Draft::Open(device) => device,
        };
        let mut out = BufWriter::with_capacity(1 << 16, &mut *file);
        write(&mut out)?;
        out.flush()?;
        drop(out);
        if let Draft::Beside(file) = &self.draft { file.as_file().sync_all() } else { Ok(()) }
    }

    /// Puts the new contents in the place of a file that held `old`; one run at a time where files can be locked.
    ///
    /// # Errors
    /// As [`Self::put`]; if the file holds something else by now.
    pub fn put_over(self, old: &[u8]) -> io::Result<()> {
        let file = File::open(&self.target)?;
        if locked(&file, &self.target).unwrap_or(true) && fs::read(&self.target)? == old {
            return self.put();
        }
        Err(io::Error::other("it has been changed meanwhile: run this again"))
    }

    /// Puts the new contents in their place in one step. A file that has come to be there
    /// since is not replaced.
    ///
    /// # Errors
    /// If the file cannot be replaced; it is as it was then.
    pub fn put(self) -> io::Result<()> {
        let Draft::Beside(file) = self.draft else { return Ok(()) };
        if self.replaces {
            file.persist(&self.target)?;
        } else if let Err(failed) = file.persist_noclobber(&self.target) {
            if fs::symlink_metadata(&self.target).is_ok() {
                return Err(io::Error::new(ErrorKind::AlreadyExists, "a file has come to be there meanwhile"));
            }
            // Some file systems cannot name a file only where there is none.
            failed.file.persist(&self.target)?;
        }
        sync_folder(&self.target);
        Ok(())
    }
}

/// The names of drafts that are tried before one at random.
const MOST_DRAFTS: u8 = 20;

/// `.trayful-4f1d7c3a90b2e586-0` beside a file: as long for a long name as for a short one.
fn draft_of(target: &Path, number: u8) -> PathBuf {
    let name = target.file_name().unwrap_or_default().as_encoded_bytes();
    let hash = name.iter().fold(hash::START, |hash, byte| hash::fnv(hash, u64::from(*byte)));
    target.with_file_name(format!(".trayful-{hash:016x}-{number}"))
}

/// Whether a draft may have this name, after one that a killed run left there was removed: the draft of
/// a run that lives is locked.
fn is_free(draft: &Path) -> bool {
    // For writing, since locks over a network ask for that.
    match regular_file_if_there(draft, OpenOptions::new().read(true).write(true)) {
        Ok(None) => true,
        Ok(Some((left, _))) => locked(&left, draft).unwrap_or(false) && fs::remove_file(draft).is_ok(),
        Err(_) => false,
    }
}

/// Locks a file, unless another run has locked it or given its name to another; an error where files
/// cannot be locked, and so none is ever taken for one left over.
///
/// # Errors
/// Whatever else keeps it from being locked.
pub fn locked(file: &File, path: &Path) -> io::Result<bool> {
    match file.try_lock() {
        Ok(()) => Ok(Identity::of(path) == Some(Identity::known(&file.metadata()?, path))),
        Err(TryLockError::WouldBlock) => Ok(false),
        Err(TryLockError::Error(error)) => Err(error),
    }
}

/// Gives a file the owner and the group of the one that it is to replace, where they differ
/// and it is allowed: the superuser may write to another's file.
#[cfg(unix)]
fn keep_owner(file: &File, old: &Metadata) {
    use std::os::unix::fs::{MetadataExt, fchown};
    let Ok(new) = file.metadata() else { return };
    if new.gid() != old.gid() {
        let _ = fchown(file, None, Some(old.gid()));
    }
    if new.uid() != old.uid() {
        let _ = fchown(file, Some(old.uid()), None);
    }
}

#[cfg(not(unix))]
fn keep_owner(_: &File, _: &Metadata) {}

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

    fn beside(path: &Path, text: &str) -> Prepared {
        let mut prepared = Prepared::beside(path).unwrap();
        prepared.fill(|out| out.write_all(text.as_bytes())).unwrap();
        prepared
    }

    fn names(folder: &Path) -> usize {
        fs::read_dir(folder).unwrap().count()
    }

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.txt");
        for text in ["one", "two"] {
            beside(&path, text).put().unwrap();
            assert_eq!(fs::read_to_string(&path).unwrap(), text);
        }
        let prepared = beside(&path, "three");
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (2, "two".to_owned()));
        drop(prepared);
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (1, "two".to_owned()));
        assert!(Prepared::beside(folder.path()).is_err());
        assert!(Prepared::beside(&folder.path().join("no/such/folder")).is_err());
    }

    #[test]
    fn what_was_changed_meanwhile_is_not_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("season.yaml");
        fs::write(&path, "old").unwrap();
        // Two runs that have read the same.
        let [one, other] = ["one", "two"].map(|text| beside(&path, text));
        one.put_over(b"old").unwrap();
        assert!(other.put_over(b"old").unwrap_err().to_string().contains("meanwhile"));
        // And one that writes at the moment.
        let file = File::open(&path).unwrap();
        file.lock().unwrap();
        assert!(beside(&path, "three").put_over(b"one").is_err());
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (1, "one".to_owned()));
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
        beside(&link, "new").put().unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&path).unwrap(), "new");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
        beside(Path::new("/dev/null"), "x").put().unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o440)).unwrap();
        assert_eq!(Prepared::beside(&path).unwrap_err().kind(), ErrorKind::PermissionDenied);
        // A link that leads nowhere would be lost.
        fs::remove_file(&path).unwrap();
        assert_eq!(Prepared::beside(&link).unwrap_err().kind(), ErrorKind::InvalidInput);
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    }

    #[test]
    fn what_a_killed_run_left_is_removed_and_what_another_writes_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.txt");
        let one = beside(&path, "one");
        let two = beside(&path, "two");
        assert_eq!(names(folder.path()), 2);
        // A killed run leaves its draft, and the system unlocks it.
        let killed = |prepared: Prepared| match prepared.draft {
            Draft::Beside(file) => drop(file.keep().unwrap()),
            Draft::Open(_) => panic!("it is a device"),
        };
        killed(one);
        assert_eq!(names(folder.path()), 2);
        let three = beside(&path, "three");
        assert_eq!(names(folder.path()), 2);
        two.put().unwrap();
        killed(three);
        // The draft of another result is none of its own.
        killed(beside(&folder.path().join("other.txt"), "other"));
        assert_eq!(names(folder.path()), 3);
        beside(&path, "four").put().unwrap();
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (2, "four".to_owned()));
    }

    #[test]
    fn a_file_that_came_to_be_there_since_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.txt");
        let prepared = beside(&path, "late");
        fs::write(&path, "early").unwrap();
        assert_eq!(prepared.put().unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!((names(folder.path()), fs::read_to_string(&path).unwrap()), (1, "early".to_owned()));
    }

    #[cfg(unix)]
    #[test]
    fn a_replaced_file_keeps_its_owner_and_its_group() {
        use std::os::unix::fs::{MetadataExt, chown};
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shed.yaml");
        fs::write(&path, "old").unwrap();
        if let Err(error) = chown(&path, Some(4321), Some(1234)) {
            writeln!(io::stderr(), "SKIPPED: only the superuser may give a file to another: {error}").unwrap();
            return;
        }
        beside(&path, "new").put().unwrap();
        let meta = fs::metadata(&path).unwrap();
        assert_eq!((meta.uid(), meta.gid(), fs::read_to_string(&path).unwrap().as_str()), (4321, 1234, "new"));
    }
}
