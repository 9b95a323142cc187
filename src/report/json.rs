//! JSON for scripts: the fields of the plan format, numbers at full precision.

use crate::printable::is_stray;
use serde::Serialize;

/// Writes a value over several lines, with a line end.
pub fn render(value: &impl Serialize) -> String {
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    // They can stand within strings alone, where JSON has escapes of its own for them.
    if text.contains(is_stray) {
        return text.chars().map(|c| if is_stray(c) { format!("\\u{:04x}", u32::from(c)) } else { c.into() }).collect();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::render;

    #[test]
    fn stray_characters_are_escaped_and_read_back_as_they_were() {
        let text = "a\u{7f}b\u{9b}c\u{202e}d\u{1b}e\tf ü";
        let written = render(&text);
        assert_eq!(written, "\"a\\u007fb\\u009bc\\u202ed\\u001be\\tf ü\"\n");
        assert_eq!(serde_json::from_str::<String>(&written).unwrap(), text);
    }
}
