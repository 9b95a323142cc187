//! A text file as it lies on the disk, for changing a few words of it and nothing else.

use super::text::{FileKind, bytes_of, checked};
use crate::diagnostic::{Rejected, SourceText, Span};
use crate::printable::shown;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

const BOM: &[u8] = b"\xEF\xBB\xBF";

/// A file's bytes, and the checked text that places are counted in.
#[derive(Debug)]
pub struct Original {
    /// The bytes as they lie on the disk.
    pub bytes: Vec<u8>,
    /// The text: line ends made `\n`, no byte-order mark.
    pub source: Arc<SourceText>,
    /// Where in the text a line ends that takes two bytes.
    pairs: Vec<usize>,
}

/// New words for a range of bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// Where; empty for words put in.
    pub at: Range<usize>,
    /// What is to stand there.
    pub text: String,
}

impl Original {
    /// Reads a file within its size limit.
    ///
    /// # Errors
    /// [`Rejected`] if it cannot be opened, is too large or is not text.
    pub fn load(path: &Path, kind: FileKind) -> Result<Self, Rejected> {
        Self::of(&shown(path), bytes_of(path, kind)?.0)
    }

    /// Bytes of a name.
    ///
    /// # Errors
    /// [`Rejected`] if they are not text.
    pub fn of(name: &str, bytes: Vec<u8>) -> Result<Self, Rejected> {
        let source = checked(name, bytes.clone())?;
        let body = bytes.strip_prefix(BOM).unwrap_or(&bytes);
        let both = body.windows(2).enumerate().filter(|(_, two)| two == b"\r\n");
        let pairs = both.zip(0..).map(|((at, _), before)| at - before).collect();
        Ok(Self { bytes, source, pairs })
    }

    /// The bytes of a place in the text.
    pub fn range(&self, place: Span) -> Range<usize> {
        self.offset(place.start)..self.offset(place.end)
    }

    fn offset(&self, wanted: usize) -> usize {
        let mark = if self.bytes.starts_with(BOM) { BOM.len() } else { 0 };
        let at = mark + wanted + self.pairs.partition_point(|pair| *pair < wanted);
        at.min(self.bytes.len())
    }

    /// The line end the file uses.
    pub fn line_end(&self) -> &'static str {
        match self.bytes.iter().position(|byte| matches!(byte, b'\r' | b'\n')) {
            Some(at) if self.bytes[at..].starts_with(b"\r\n") => "\r\n",
            Some(at) if self.bytes[at] == b'\r' => "\r",
            _ => "\n",
        }
    }
}

/// Applies edits, none overlapping; the new bytes, and the edits that turn them back.
///
/// `None` if an edit reaches outside the bytes or into another.
pub fn edited(bytes: &[u8], edits: &[Edit]) -> Option<(Vec<u8>, Vec<Edit>)> {
    let mut order: Vec<&Edit> = edits.iter().collect();
    order.sort_by_key(|edit| (edit.at.start, edit.at.end));
    let mut out = Vec::with_capacity(bytes.len());
    let mut back = Vec::with_capacity(edits.len());
    let mut done = 0;
    for edit in order {
        out.extend_from_slice(bytes.get(done..edit.at.start)?);
        let was = bytes.get(edit.at.clone())?;
        back.push(Edit { at: out.len()..out.len() + edit.text.len(), text: String::from_utf8(was.to_vec()).ok()? });
        out.extend_from_slice(edit.text.as_bytes());
        done = edit.at.end;
    }
    out.extend_from_slice(bytes.get(done..)?);
    Some((out, back))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_found_behind_marks_and_line_ends() {
        for bytes in ["\u{feff}a: 1\r\nb: 22\r\n", "a: 1\rb: 22\r", "a: 1\r\r\nb: 22", "ä: 1\nb: 22\n"] {
            let original = Original::of("x", bytes.as_bytes().to_vec()).unwrap();
            let start = original.source.text.find("22").unwrap();
            let range = original.range(Span::new(start, start + 2));
            assert_eq!(&original.bytes[range], b"22", "{bytes:?}");
            let end = original.source.text.len();
            assert_eq!(original.range(Span::new(end, end + 9)), bytes.len()..bytes.len());
        }
    }

    #[test]
    fn edits_can_be_turned_back() {
        let bytes = b"one two three";
        let edits = [Edit { at: 8..13, text: "3".to_owned() }, Edit { at: 0..0, text: "and ".to_owned() }];
        let (new, back) = edited(bytes, &edits).unwrap();
        assert_eq!(new, b"and one two 3");
        assert_eq!(edited(&new, &back).unwrap().0, bytes);
        assert_eq!(edited(bytes, &[Edit { at: 5..99, text: String::new() }]), None);
        let overlapping = [Edit { at: 0..5, text: String::new() }, Edit { at: 3..6, text: String::new() }];
        assert_eq!(edited(bytes, &overlapping), None);
    }
}
