//! Texts as a terminal or a page may be given them: what would steer it is made visible.

use std::borrow::Cow;
use std::path::Path;

/// Whether a character steers the terminal or turns the reading direction instead of being
/// seen: control characters other than a line end and a tab, the line separators that some
/// programs count as line ends and others do not, the bidirectional controls of Unicode
/// (UAX 9, table 1), and marks without a width: a name with one looks like that without.
pub const fn is_stray(c: char) -> bool {
    match c {
        '\n' | '\t' => false,
        '\u{0}'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{2028}' | '\u{2029}' => true,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => true,
        // Nothing is seen of these, and no script needs them to join its letters.
        '\u{ad}' | '\u{200b}' | '\u{2060}' | '\u{feff}' => true,
        _ => false,
    }
}

/// Whether a character may not stand in a text that is read, written out or as an escape: a
/// stray one, and the two that the parser of YAML refuses without a place.
pub const fn has_no_place(c: char) -> bool {
    is_stray(c) || matches!(c, '\u{fffe}' | '\u{ffff}')
}

/// A text with every stray character written as its number. Lines and tabs stay.
///
/// ```
/// assert_eq!(trayful::printable::printable("a\u{1b}[1m\tb\u{202e}\n"), "a\\u{1b}[1m\tb\\u{202e}\n");
/// ```
pub fn printable(text: &str) -> Cow<'_, str> {
    escaped(text, is_stray)
}

/// The same for a text that stands within a line, such as an argument or the name of a file:
/// a line end or a tab in it is made visible too.
///
/// ```
/// assert_eq!(trayful::printable::within_a_line("a\nerror: b"), "a\\u{a}error: b");
/// ```
pub fn within_a_line(text: &str) -> Cow<'_, str> {
    escaped(text, |c| is_stray(c) || matches!(c, '\n' | '\t'))
}

/// The name of a file as messages and results say it.
pub fn shown(path: &Path) -> String {
    within_a_line(&path.to_string_lossy()).into_owned()
}

/// A cell of a table: a text that a spreadsheet would take for a formula is marked as text; a
/// number is none.
///
/// ```
/// assert_eq!(["=1+1", "-3.5", "-a"].map(trayful::printable::cell), ["'=1+1", "-3.5", "'-a"]);
/// ```
pub fn cell(text: &str) -> Cow<'_, str> {
    let is_number = || text.parse().is_ok_and(f64::is_finite);
    match text.starts_with(FORMULA) && !is_number() {
        true => Cow::Owned(format!("'{text}")),
        false => Cow::Borrowed(text),
    }
}

/// The text of a cell, without its mark.
pub fn unmarked(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|text| text.starts_with(FORMULA)).unwrap_or(cell)
}

/// How formulas begin.
const FORMULA: [char; 5] = ['=', '@', '+', '-', '\t'];

/// [`printable`] of a text that is owned, without a copy where nothing is stray.
pub fn made_printable(text: String) -> String {
    match printable(&text) {
        Cow::Borrowed(_) => text,
        Cow::Owned(escaped) => escaped,
    }
}

/// What sets a piece of a text apart, whatever its direction: FIRST STRONG ISOLATE and POP DIRECTIONAL ISOLATE.
pub const ISOLATE: [char; 2] = ['\u{2068}', '\u{2069}'];

/// [`made_printable`], with words that are read from right to left set apart (UAX 9), so that the numbers beside
/// them keep their order; a number at the end of such a name is of it. Code stays as it is written in a file.
///
/// ```
/// use trayful::printable::isolated;
///
/// assert_eq!(isolated("2 x כרוב, 3 x a".to_owned()), "2 x \u{2068}כרוב\u{2069}, 3 x a");
/// assert_eq!(isolated("2 x כרוב 7; `כרוב: 1`".to_owned()), "2 x \u{2068}כרוב 7\u{2069}; `כרוב: 1`");
/// ```
pub fn isolated(text: String) -> String {
    let text = made_printable(text);
    if text.is_ascii() || !text.contains(is_right_to_left) {
        return text;
    }
    let pieces = with_code(&text).into_iter();
    pieces.map(|(piece, is_code)| if is_code { format!("`{piece}`") } else { set_apart(piece) }).collect()
}

fn set_apart(mut rest: &str) -> String {
    let mut apart = String::new();
    while let Some(start) = rest.find(is_right_to_left) {
        // To the last such word: one sign stands between two.
        let mut end = start;
        for (at, c) in rest.char_indices().filter(|(_, c)| is_right_to_left(*c)) {
            if at > end && rest[end..at].chars().count() > 1 {
                break;
            }
            end = at + c.len_utf8();
        }
        let number = rest[end..].strip_prefix(' ').unwrap_or_default();
        let after = number.trim_start_matches(|c: char| c.is_ascii_digit());
        let ends = after.trim_end_matches('.').is_empty()
            || [",", ";", ":", ")", ". "].iter().any(|end| after.starts_with(end));
        if ends && after.len() < number.len() {
            end = rest.len() - after.len();
        }
        apart += &format!("{}{}{}{}", &rest[..start], ISOLATE[0], &rest[start..end], ISOLATE[1]);
        rest = &rest[end..];
    }
    apart + rest
}

/// A text in pieces, each with whether it is code: stands between backticks.
pub fn with_code(text: &str) -> Vec<(&str, bool)> {
    let (mut pieces, mut rest) = (Vec::new(), text);
    while let Some((before, after)) = rest.split_once('`')
        && let Some((code, next)) = after.split_once('`')
    {
        pieces.extend([(before, false), (code, true)]);
        rest = next;
    }
    pieces.push((rest, false));
    pieces
}

/// Letters and marks of the blocks that Unicode keeps for scripts from right to left (`DerivedBidiClass.txt`).
const fn is_right_to_left(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}')
        || matches!(c, '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}

fn escaped(text: &str, stray: impl Fn(char) -> bool) -> Cow<'_, str> {
    // Nearly every text is of printable ASCII; bytes are counted several at a time.
    let others = text.bytes().filter(|byte| !matches!(byte, b' '..=b'~')).count();
    if others == 0 || !text.contains(&stray) {
        return Cow::Borrowed(text);
    }
    let mut escaped = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if stray(c) { escaped.extend(c.escape_unicode()) } else { escaped.push(c) }
    }
    Cow::Owned(escaped)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_any_script_and_joined_signs_stay() {
        // Persian and emoji need their joiners, which do not turn the direction.
        for text in ["grünkohl, 22 °C", "کاشت\u{200c}ها", "👩\u{200d}🌾", "a\tb\n"] {
            assert!(matches!(printable(text), Cow::Borrowed(same) if same == text));
        }
    }

    #[test]
    fn stray_characters_are_those_of_the_standards() {
        let stray: Vec<u32> = ('\0'..=char::MAX).filter(|c| is_stray(*c)).map(u32::from).collect();
        let controls = ('\0'..=char::MAX).filter(|c| c.is_control() && !matches!(c, '\n' | '\t')).map(u32::from);
        let marks = [0xad, 0x61c, 0x200b, 0x200e, 0x200f, 0x2060, 0xfeff].into_iter();
        let others = marks.chain(0x2028..=0x202e).chain(0x2066..=0x2069);
        assert_eq!(
            stray,
            controls.chain(others).collect::<std::collections::BTreeSet<_>>().into_iter().collect::<Vec<_>>()
        );
    }
}
