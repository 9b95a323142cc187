//! Breaking text into lines.

use unicode_width::UnicodeWidthStr;

/// Breaks a text at spaces so that no line is wider than `width` columns, later lines
/// indented. A longer word is broken.
///
/// ```
/// assert_eq!(trayful::wrap::wrap("one two three", 9, "  "), ["one two", "  three"]);
/// ```
pub fn wrap(text: &str, width: usize, indent: &str) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        for piece in pieces(word, width.saturating_sub(indent.len()).max(1)) {
            let gap = usize::from(!line.trim().is_empty());
            if line.width() + gap + piece.width() > width && !line.trim().is_empty() {
                lines.push(std::mem::replace(&mut line, indent.to_owned()));
            } else if gap == 1 {
                line.push(' ');
            }
            line.push_str(piece);
        }
    }
    lines.push(line);
    lines
}

/// A word in pieces that fit, for names without a space.
fn pieces(word: &str, width: usize) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut rest = word;
    while rest.width() > width {
        let mut end = 0;
        for (at, c) in rest.char_indices() {
            if rest[..at + c.len_utf8()].width() > width && end > 0 {
                break;
            }
            end = at + c.len_utf8();
        }
        let (piece, tail) = rest.split_at(end);
        pieces.push(piece);
        rest = tail;
    }
    pieces.push(rest);
    pieces
}
