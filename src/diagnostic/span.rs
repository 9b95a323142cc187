//! Places in a text.

/// A place in a text: byte offsets, end exclusive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// From one offset to another.
    pub const fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The place of a piece, without the blanks around it, that starts so many bytes into the
    /// text of this place; all of it where the text is not written as it reads (quotes, escapes).
    #[must_use]
    pub fn of_piece(self, offset: usize, piece: &str) -> Self {
        let start = self.start + offset + piece.len() - piece.trim_start().len();
        let end = start + piece.trim().len();
        if end <= self.end { Self { start, end } } else { self }
    }
}
