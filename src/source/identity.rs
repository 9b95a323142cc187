//! Which file on the disk a name stands for.

use std::fs::{self, Metadata};
use std::path::Path;

/// A file itself, by whatever name, link or hard link it is reached: its device and number
/// there, or its full path on systems that number no files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identity(#[cfg(unix)] (u64, u64), #[cfg(not(unix))] std::path::PathBuf);

impl Identity {
    /// The file that a path leads to; `None` where there is none.
    pub fn of(path: &Path) -> Option<Self> {
        Some(Self::known(&fs::metadata(path).ok()?, path))
    }

    /// The file that these facts are of.
    #[cfg(unix)]
    pub(super) fn known(meta: &Metadata, _: &Path) -> Self {
        use std::os::unix::fs::MetadataExt;
        Self((meta.dev(), meta.ino()))
    }

    /// The file that is open under a path.
    #[cfg(not(unix))]
    pub(super) fn known(_: &Metadata, path: &Path) -> Self {
        Self(fs::canonicalize(path).unwrap_or_else(|_| path.to_owned()))
    }
}

/// The folder that a path stands in.
pub(super) fn folder(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Whether two paths lead to one file, or, where there is none yet, to one name in one folder.
pub fn one_place(a: &Path, b: &Path) -> bool {
    let of_folder = |path: &Path| Some((Identity::of(folder(path))?, path.file_name()?.to_owned()));
    match (Identity::of(a), Identity::of(b)) {
        (Some(a), Some(b)) => a == b,
        (None, None) => of_folder(a).is_some_and(|place| of_folder(b) == Some(place)),
        _ => false,
    }
}
