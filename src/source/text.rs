//! Reading a file within bounds: size, encoding, line ends.

use crate::diagnostic::{Code, Problem, Rejected, SourceText, Span};
use std::fs::File;
use std::io::{self, Read};
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
    const fn limit(self) -> u64 {
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

/// Reads a whole text file, `-` for standard input, with line ends made `\n`.
///
/// # Errors
/// [`Rejected`] if it cannot be opened, is too large, is not UTF-8 (with the line),
/// or holds a control character.
pub fn load(path: &Path, kind: FileKind) -> Result<Arc<SourceText>, Rejected> {
    checked(&path.display().to_string(), bytes_of(path, kind)?)
}

/// The bytes of a file within its size limit.
pub(super) fn bytes_of(path: &Path, kind: FileKind) -> Result<Vec<u8>, Rejected> {
    let name = path.display().to_string();
    if name == "-" {
        bounded(&mut io::stdin().lock(), kind, &name)
    } else {
        let mut file = File::open(path).map_err(|error| unreadable(&name, &error))?;
        let meta = file.metadata().map_err(|error| unreadable(&name, &error))?;
        if meta.is_dir() {
            return Err(Rejected::file(&name, Problem::of_file(Code::Unreadable, "is a folder, not a file", None)));
        }
        if meta.len() > kind.limit() {
            return Err(too_large(&name, kind));
        }
        bounded(&mut file, kind, &name)
    }
}

fn bounded(reader: &mut dyn Read, kind: FileKind, name: &str) -> Result<Vec<u8>, Rejected> {
    let mut bytes = Vec::new();
    reader.take(kind.limit() + 1).read_to_end(&mut bytes).map_err(|error| unreadable(name, &error))?;
    if bytes.len() as u64 > kind.limit() { Err(too_large(name, kind)) } else { Ok(bytes) }
}

fn too_large(name: &str, kind: FileKind) -> Rejected {
    let what = format!("is larger than {} MB", kind.limit() >> 20);
    let help =
        (kind == FileKind::Yaml).then(|| "long lists of sowings go into a CSV file: `sowings: sowings.csv`".to_owned());
    Rejected::file(name, Problem::of_file(Code::TooLarge, what, help))
}

fn unreadable(name: &str, error: &io::Error) -> Rejected {
    let what = match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
        _ => format!("cannot be read: {error}"),
    };
    Rejected::file(name, Problem::of_file(Code::Unreadable, what, None))
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
    let stray = |c: char| (c.is_control() && !matches!(c, '\n' | '\t')) || matches!(c, '\u{2028}' | '\u{2029}');
    if let Some((at, c)) = text.char_indices().find(|(_, c)| stray(*c)) {
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
        assert!(checked("x", b"a\0b".to_vec()).is_err());
    }
}
