//! Reading a file within bounds: size, encoding, line ends.

use super::Identity;
use super::regular::regular_file_if_there;
use super::yaml::INTO_A_TABLE;
use crate::diagnostic::{Code, Problem, Rejected, SourceText, Span};
use crate::printable::{has_no_place, shown};
use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Read};
use std::path::Path;
use std::sync::Arc;

/// What a file holds, for its size limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// A file a person writes.
    Yaml,
    /// A table of sowings.
    Csv,
}

impl FileKind {
    /// The most bytes of a file.
    pub const fn limit(self) -> u64 {
        match self {
            Self::Yaml => 2 << 20,
            Self::Csv => 64 << 20,
        }
    }
}

/// Whether a path names a YAML file, whatever the case of its ending.
pub fn is_yaml(path: &Path) -> bool {
    path.extension().is_some_and(|end| end.eq_ignore_ascii_case("yaml") || end.eq_ignore_ascii_case("yml"))
}

/// The bytes of a file within its size limit, `-` for standard input, and which file it is.
///
/// # Errors
/// [`Rejected`] if it cannot be opened, is no regular file or is too large.
pub(super) fn bytes_of(path: &Path, kind: FileKind) -> Result<(Vec<u8>, Option<Identity>), Rejected> {
    let read = if is_standard_input(path) { standard_input(kind.limit()) } else { regular_file(path, kind.limit()) };
    read.map_err(|error| unreadable(path, kind, &error))
}

/// Whether a path stands for standard input.
pub fn is_standard_input(path: &Path) -> bool {
    path == Path::new("-") || path == Path::new("/dev/stdin")
}

fn standard_input(limit: u64) -> io::Result<(Vec<u8>, Option<Identity>)> {
    #[cfg(unix)]
    let identity = {
        use std::os::fd::AsFd;
        let input = File::from(io::stdin().as_fd().try_clone_to_owned()?);
        Some(Identity::known(&input.metadata()?, Path::new("-")))
    };
    #[cfg(not(unix))]
    let identity = None;
    Ok((bounded(&mut io::stdin().lock(), 0, limit)?, identity))
}

/// The bytes of a regular file of at most so many, and which file it is.
pub(crate) fn regular_file(path: &Path, limit: u64) -> io::Result<(Vec<u8>, Option<Identity>)> {
    let (mut file, meta) =
        regular_file_if_there(path, OpenOptions::new().read(true))?.ok_or(io::Error::from(ErrorKind::NotFound))?;
    if meta.len() > limit {
        return Err(io::Error::from(ErrorKind::FileTooLarge));
    }
    let size = usize::try_from(meta.len()).unwrap_or(0);
    Ok((bounded(&mut file, size, limit)?, Some(Identity::known(&meta, path))))
}

/// What a reader gives, which is about of a size: with room for it, it is read at once.
fn bounded(reader: &mut dyn Read, size: usize, limit: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::with_capacity(size + 1);
    reader.take(limit + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit { Err(io::Error::from(ErrorKind::FileTooLarge)) } else { Ok(bytes) }
}

fn unreadable(path: &Path, kind: FileKind, error: &io::Error) -> Rejected {
    let of_yaml = |help: &str| (kind == FileKind::Yaml).then(|| help.to_owned());
    let (what, help) = match error.kind() {
        ErrorKind::NotFound => ("there is no such file", of_yaml("`trayful new --help` tells how to start one")),
        ErrorKind::PermissionDenied => ("may not be read", None),
        ErrorKind::IsADirectory => ("is a folder, not a file", None),
        ErrorKind::Unsupported => {
            let help = "what a pipe gives is read from standard input, which is named `-`";
            ("is a pipe or a device, not a file", Some(help.to_owned()))
        }
        ErrorKind::FileTooLarge => (&*format!("is larger than {} MB", kind.limit() >> 20), of_yaml(INTO_A_TABLE)),
        _ => (&*format!("cannot be read: {error}"), None),
    };
    let code = if error.kind() == ErrorKind::FileTooLarge { Code::TooLarge } else { Code::Unreadable };
    Rejected::file(&shown(path), Problem::of_file(code, what, help))
}

/// Text from bytes: UTF-8, no byte-order mark, `\n` line ends, no control characters.
pub(super) fn checked(name: &str, bytes: Vec<u8>) -> Result<Arc<SourceText>, Rejected> {
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            let help = "save the file as UTF-8 (plain text)";
            return Err(bad_character(name, text, at, "this is not UTF-8".to_owned(), help));
        }
    };
    let mut text = text;
    if text.starts_with('\u{feff}') {
        text.drain(..'\u{feff}'.len_utf8());
    }
    if text.contains('\r') {
        text = text.replace("\r\n", "\n").replace('\r', "\n");
    }
    // YAML counts U+0085, U+2028 and U+2029 as line ends, other programs do not:
    // the line numbers of messages would differ from the user's editor.
    let is_plain = text.bytes().all(|byte| matches!(byte, b' '..=b'~' | b'\n'));
    if !is_plain && let Some((at, c)) = text.char_indices().find(|(_, c)| has_no_place(*c)) {
        let what = format!("the character U+{:04X} has no place in a text", u32::from(c));
        return Err(bad_character(name, text, at, what, "delete it"));
    }
    Ok(Arc::new(SourceText { name: name.to_owned(), text }))
}

fn bad_character(name: &str, text: String, at: usize, what: String, help: &str) -> Rejected {
    let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
    let problem = Problem::new(Code::Encoding, Span::new(at, end), what, "printable text");
    Rejected::of(Arc::new(SourceText { name: name.to_owned(), text }), problem.with_help(Some(help.to_owned())))
}

#[cfg(test)]
mod tests {
    use super::checked;

    #[test]
    fn line_ends_and_byte_order_mark_are_evened_out() {
        let source = checked("x", b"\xEF\xBB\xBFa\r\nb\rc\n".to_vec()).unwrap();
        assert_eq!(source.text, "a\nb\nc\n");
    }

    #[test]
    fn bad_bytes_are_refused_with_their_line() {
        let rejected = checked("x", b"a\nb\n\xFF\n".to_vec()).unwrap_err();
        assert!(rejected.to_string().contains("x:3:1"), "{rejected}");
        for stray in ["a\0b", "a: \u{ffff}", "a: 1\n\u{feff}b: 2", "ka\u{200b}le: 1", "a: l\u{ad}ek"] {
            assert!(checked("x", stray.as_bytes().to_vec()).is_err(), "{stray:?}");
        }
    }
}
