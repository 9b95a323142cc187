//! Values written as YAML in one line.

use super::yaml::{Node, Value};

/// A text as YAML reads it back: plain where that is sure, else in quotes.
pub fn scalar(text: &str) -> String {
    let is_plain = text.starts_with(|c: char| c.is_alphanumeric() || c == '.')
        && !text.contains(": ")
        && !text.contains(" #")
        && !text.ends_with([':', ' '])
        && !text.contains(['{', '}', '[', ']', ',', '"', '\\'])
        && !text.contains(char::is_control)
        && !text.eq_ignore_ascii_case("null");
    if is_plain { text.to_owned() } else { serde_json::json!(text).to_string() }
}

/// A value with all that is in it.
pub fn flow(node: &Node<'_>) -> String {
    match &node.value {
        Value::Null => "~".to_owned(),
        Value::Text(text) => scalar(text),
        Value::List(list) => format!("[{}]", list.iter().map(flow).collect::<Vec<_>>().join(", ")),
        Value::Map(map) => {
            let entries = map.iter().map(|(key, value)| format!("{}: {}", flow(key), flow(value)));
            format!("{{{}}}", entries.collect::<Vec<_>>().join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Problems, SourceText};
    use crate::source::parse;

    /// What is written reads as what was read.
    #[test]
    fn values_read_as_they_are_written() {
        let text = "{a: [1/2, x y, \"null\", '- b', ~, \": \", 'a: b', 'c #d', \"e\\tf\", '', \"k \", 'über, so'], \
                    '{b': {c: 'it''s', d: [], e: {}}}";
        let read = |text: &str| {
            let problems = Problems::new(SourceText::argument("x", text));
            parse(text, &problems).unwrap().to_static()
        };
        assert_eq!(read(&flow(&read(text))), read(text), "{}", flow(&read(text)));
    }
}
