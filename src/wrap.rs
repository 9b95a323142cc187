//! Breaking text into lines.

use std::borrow::Cow;
use unicode_width::UnicodeWidthStr;

/// Breaks a text at spaces so that no line is wider than `width` columns, later lines
/// indented. A longer word is broken, behind a hyphen if it has one.
///
/// ```
/// assert_eq!(trayful::wrap::wrap("one two three", 9, "  "), ["one two", "  three"]);
/// ```
pub fn wrap(text: &str, width: usize, indent: &str) -> Vec<String> {
    if is_a_line(text, width.saturating_sub(indent.len())) {
        return vec![text.to_owned()];
    }
    let room = width.min(text.len() + indent.len());
    let mut lines = Vec::new();
    let mut line = String::with_capacity(room);
    // The columns of the line, and whether a word stands in it.
    let (mut columns, mut begun) = (0, false);
    for word in text.split_whitespace() {
        for piece in pieces(word, width.saturating_sub(indent.len()).max(1)) {
            let needed = columns_of(piece);
            if begun && columns + 1 + needed > width {
                lines.push(std::mem::replace(&mut line, String::with_capacity(room)));
                line.push_str(indent);
                columns = indent.width();
            } else if begun {
                line.push(' ');
                columns += 1;
            }
            line.push_str(piece);
            (columns, begun) = (columns + needed, true);
        }
    }
    lines.push(line);
    lines
}

/// The same as one text, without a copy of what is a line.
pub fn wrapped(text: &str, width: usize) -> Cow<'_, str> {
    if is_a_line(text, width) { Cow::Borrowed(text) } else { Cow::Owned(wrap(text, width, "").join("\n")) }
}

/// Whether a text is surely a line as it stands: its words in ASCII, with one space between them.
fn is_a_line(text: &str, width: usize) -> bool {
    let mut words = text.split(' ').map(str::as_bytes);
    text.len() <= width && words.all(|word| !word.is_empty() && word.iter().all(u8::is_ascii_graphic))
}

/// The columns of a word: of ASCII, each character takes one.
fn columns_of(word: &str) -> usize {
    if word.is_ascii() { word.len() } else { word.width() }
}

/// A word in pieces that fit, for names without a space.
fn pieces(word: &str, width: usize) -> impl Iterator<Item = &str> {
    let mut rest = word;
    std::iter::from_fn(move || {
        // No character takes more columns than bytes.
        if rest.len() <= width {
            return Some(std::mem::take(&mut rest)).filter(|piece| !piece.is_empty());
        }
        let (piece, tail) = rest.split_at(fitting(rest, width));
        let hyphen = if tail.is_empty() { None } else { piece.rfind('-').map(|at| at + 1) };
        let (piece, tail) = rest.split_at(hyphen.unwrap_or(piece.len()));
        rest = tail;
        Some(piece)
    })
}

/// How many bytes of a word fit, at least one character.
fn fitting(word: &str, width: usize) -> usize {
    // Marks without a width of their own could go on for ever.
    let most = 8 * width + 32;
    let mut end = 0;
    for (at, c) in word.char_indices().take(most) {
        let next = at + c.len_utf8();
        if end > 0 && word[..next].width() > width {
            break;
        }
        end = next;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::collection::vec;
    use proptest::prelude::*;
    use proptest::sample::select;

    /// The same by measuring the whole line at each word.
    fn measured(text: &str, width: usize, indent: &str) -> Vec<String> {
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

    const WORDS: &[&str] = &[
        "a",
        "kale",
        "grünkohl",
        "甘藍",
        "👩\u{200d}🌾",
        "e\u{301}",
        "\u{fe0f}",
        "1\u{fe0f}\u{20e3}",
        "لا",
        "\u{1b}[0m",
        "\u{7f}\u{0}",
        " ",
        "  ",
        "\n",
        "0123456789012345678901234567890123456789",
    ];

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn a_running_width_breaks_lines_as_a_measured_one(words in vec(select(WORDS), 0..40), width in 1_usize..60) {
            let text = words.concat();
            for indent in ["", "  "] {
                prop_assert_eq!(wrap(&text, width, indent), measured(&text, width, indent));
            }
        }
    }

    #[test]
    fn a_long_word_breaks_behind_its_hyphens() {
        assert_eq!(wrap("love-lies-bleeding", 16, ""), ["love-lies-", "bleeding"]);
        assert_eq!(wrap("love-lies-bleeding", 18, ""), ["love-lies-bleeding"]);
        assert_eq!(wrap("a -- b", 4, ""), ["a --", "b"]);
    }

    #[test]
    fn a_word_of_a_million_letters_is_looked_at_by_the_piece() {
        let word = "x".repeat(1_000_000);
        let lines = wrap(&word, 80, "");
        assert_eq!((lines.len(), lines[0].as_str()), (12_500, &word[..80]));
        let marks = "\u{301}".repeat(100_000);
        assert!(pieces(&marks, 80).all(|piece| piece.chars().count() <= 672));
    }
}
