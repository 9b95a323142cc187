//! JSON for scripts: the fields of the plan format, numbers at full precision.

use serde::Serialize;

/// Writes a value over several lines, with a line end.
pub fn render(value: &impl Serialize) -> String {
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text
}
