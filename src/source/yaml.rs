//! YAML as a tree of texts with their places. The only file that names `serde_yaml`.
//!
//! The parser tells the place of an error only, reads `1.50` as a float and keeps
//! the last of two equal keys. So the text is read twice: once for its shape,
//! once, following the shape, for every scalar as it was written. A scalar that is
//! borrowed from the text shows its place by where it lies in it.

use crate::diagnostic::{Code, Problem, Problems, Span};
use serde::de::{self, DeserializeSeed, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::fmt;

/// More entries than any week, catalogue or recipe has; an alias bomb has more.
const MOST_NODES: usize = 400_000;
/// Brackets within brackets: the parser's time grows with the square of these.
const DEEPEST: usize = 40;

/// A value and where it stands (a map or list: its first entry).
#[derive(Clone, Debug, PartialEq)]
pub struct Node<'t> {
    /// Its place.
    pub at: Span,
    /// What stands there.
    pub value: Value<'t>,
}

/// What stands at a place. Numbers and booleans are texts here.
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'t> {
    /// Nothing, or `~`.
    Null,
    /// A scalar as written, without its quotes.
    Text(Cow<'t, str>),
    /// A list.
    List(Vec<Node<'t>>),
    /// A map, in order, with equal keys still in it.
    Map(Vec<(Node<'t>, Node<'t>)>),
}

/// Reads one YAML document; a syntax fault goes to `problems`.
pub fn parse<'t>(text: &'t str, problems: &mut Problems) -> Option<Node<'t>> {
    if let Some(at) = too_deep(text) {
        problems.push(Problem::new(
            Code::Syntax,
            Span::new(at, at + 1),
            "brackets are nested too deep",
            format!("at most {DEEPEST} within each other"),
        ));
        return None;
    }
    let mut budget = MOST_NODES;
    let shape = match (ShapeSeed { budget: &mut budget }).deserialize(serde_yaml::Deserializer::from_str(text)) {
        Ok(shape) => shape,
        Err(error) => {
            problems.push(syntax(text, &error));
            return None;
        }
    };
    let mut last = 0;
    let seed = NodeSeed { shape: &shape, text, last: &mut last };
    match seed.deserialize(serde_yaml::Deserializer::from_str(text)) {
        Ok(node) => Some(node),
        Err(error) => {
            problems.push(syntax(text, &error));
            None
        }
    }
}

fn syntax(text: &str, error: &serde_yaml::Error) -> Problem {
    let message = error.to_string();
    // The parser appends the place to its message; the place is shown anyway.
    let message = message.split(" at line ").next().unwrap_or(&message).trim_start_matches(". ").to_owned();
    match error.location() {
        Some(place) => {
            let at = offset(text, place.line(), place.column());
            Problem::new(Code::Syntax, Span::new(at, at + 1), format!("cannot be read as YAML: {message}"), "here")
        }
        None => Problem::of_file(Code::Syntax, format!("cannot be read as YAML: {message}"), None),
    }
}

/// The byte at a line and column that count from one, columns in characters.
fn offset(text: &str, line: usize, column: usize) -> usize {
    let begin: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let within = text[begin..].char_indices().nth(column.saturating_sub(1)).map_or(text.len() - begin, |(at, _)| at);
    begin + within
}

/// The bracket that goes too deep, quotes and comments left out.
fn too_deep(text: &str) -> Option<usize> {
    let mut depth = 0_usize;
    let mut quote = None;
    let mut previous = b'\n';
    let mut comment = false;
    for (at, byte) in text.bytes().enumerate() {
        match (byte, quote) {
            (b'\n', _) => comment = false,
            _ if comment => {}
            (b'\\', Some(b'"')) if previous == b'\\' => {
                previous = b' ';
                continue;
            }
            (_, Some(open)) if byte == open && !(open == b'"' && previous == b'\\') => quote = None,
            (_, Some(_)) => {}
            (b'"' | b'\'', None) if matches!(previous, b' ' | b'\n' | b'[' | b'{' | b',' | b':') => quote = Some(byte),
            (b'#', None) if matches!(previous, b' ' | b'\t' | b'\n') => comment = true,
            (b'[' | b'{', None) => {
                depth += 1;
                if depth > DEEPEST {
                    return Some(at);
                }
            }
            (b']' | b'}', None) => depth = depth.saturating_sub(1),
            _ => {}
        }
        previous = byte;
    }
    None
}

/// The shape of a document, enough to ask for every scalar as text.
enum Shape {
    Null,
    Scalar,
    List(Vec<Shape>),
    Map(Vec<(Shape, Shape)>),
}

struct ShapeSeed<'b> {
    budget: &'b mut usize,
}

impl<'de> DeserializeSeed<'de> for ShapeSeed<'_> {
    type Value = Shape;

    fn deserialize<D: de::Deserializer<'de>>(self, deserializer: D) -> Result<Shape, D::Error> {
        match self.budget.checked_sub(1) {
            Some(left) => *self.budget = left,
            None => return Err(de::Error::custom("more entries than a file may have")),
        }
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for ShapeSeed<'_> {
    type Value = Shape;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a word, a number, a list or a map (no tags)")
    }

    fn visit_unit<E>(self) -> Result<Shape, E> {
        Ok(Shape::Null)
    }

    fn visit_none<E>(self) -> Result<Shape, E> {
        Ok(Shape::Null)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Shape, E> {
        Ok(Shape::Scalar)
    }

    fn visit_i64<E>(self, _: i64) -> Result<Shape, E> {
        Ok(Shape::Scalar)
    }

    fn visit_i128<E>(self, _: i128) -> Result<Shape, E> {
        Ok(Shape::Scalar)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Shape, E> {
        Ok(Shape::Scalar)
    }

    fn visit_u128<E>(self, _: u128) -> Result<Shape, E> {
        Ok(Shape::Scalar)
    }

    fn visit_f64<E>(self, _: f64) -> Result<Shape, E> {
        Ok(Shape::Scalar)
    }

    fn visit_str<E>(self, _: &str) -> Result<Shape, E> {
        Ok(Shape::Scalar)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut entries: A) -> Result<Shape, A::Error> {
        let mut list = Vec::new();
        while let Some(entry) = entries.next_element_seed(ShapeSeed { budget: self.budget })? {
            list.push(entry);
        }
        Ok(Shape::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Shape, A::Error> {
        let mut map = Vec::new();
        while let Some(key) = entries.next_key_seed(ShapeSeed { budget: self.budget })? {
            map.push((key, entries.next_value_seed(ShapeSeed { budget: self.budget })?));
        }
        Ok(Shape::Map(map))
    }
}

struct NodeSeed<'s, 't> {
    shape: &'s Shape,
    text: &'t str,
    /// Where the last scalar with a known place ended: the best guess for one without.
    last: &'s mut usize,
}

impl<'t> NodeSeed<'_, 't> {
    fn scalar(self, value: Cow<'t, str>, known: Option<usize>) -> Node<'t> {
        let at = match known {
            Some(start) => Span::new(start, start + value.len()),
            None => Span::new(*self.last, *self.last),
        };
        *self.last = at.end;
        let value = if matches!(self.shape, Shape::Null) { Value::Null } else { Value::Text(value) };
        Node { at, value }
    }
}

impl<'t> DeserializeSeed<'t> for NodeSeed<'_, 't> {
    type Value = Node<'t>;

    fn deserialize<D: de::Deserializer<'t>>(self, deserializer: D) -> Result<Node<'t>, D::Error> {
        match self.shape {
            Shape::Null | Shape::Scalar => deserializer.deserialize_str(self),
            Shape::List(_) => deserializer.deserialize_seq(self),
            Shape::Map(_) => deserializer.deserialize_map(self),
        }
    }
}

impl<'t> Visitor<'t> for NodeSeed<'_, 't> {
    type Value = Node<'t>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the same document again")
    }

    fn visit_borrowed_str<E>(self, value: &'t str) -> Result<Node<'t>, E> {
        let start = (value.as_ptr() as usize).checked_sub(self.text.as_ptr() as usize);
        let known = start.filter(|start| start + value.len() <= self.text.len());
        Ok(self.scalar(Cow::Borrowed(value), known))
    }

    fn visit_str<E>(self, value: &str) -> Result<Node<'t>, E> {
        Ok(self.scalar(Cow::Owned(value.to_owned()), None))
    }

    fn visit_seq<A: SeqAccess<'t>>(self, mut entries: A) -> Result<Node<'t>, A::Error> {
        let Shape::List(shapes) = self.shape else { return Err(de::Error::custom("the document changed")) };
        let mut list = Vec::with_capacity(shapes.len());
        for shape in shapes {
            let seed = NodeSeed { shape, text: self.text, last: &mut *self.last };
            list.extend(entries.next_element_seed(seed)?);
        }
        // The parser wants to be asked past the end.
        entries.next_element::<de::IgnoredAny>()?;
        let at = list.first().map_or(Span::new(*self.last, *self.last), |first: &Node<'_>| first.at);
        Ok(Node { at, value: Value::List(list) })
    }

    fn visit_map<A: MapAccess<'t>>(self, mut entries: A) -> Result<Node<'t>, A::Error> {
        let Shape::Map(shapes) = self.shape else { return Err(de::Error::custom("the document changed")) };
        let mut map = Vec::with_capacity(shapes.len());
        for (key_shape, shape) in shapes {
            let seed = NodeSeed { shape: key_shape, text: self.text, last: &mut *self.last };
            let Some(key) = entries.next_key_seed(seed)? else { break };
            let seed = NodeSeed { shape, text: self.text, last: &mut *self.last };
            let mut value = entries.next_value_seed(seed)?;
            let empty = match &value.value {
                Value::Null => true,
                Value::List(list) => list.is_empty(),
                Value::Map(map) => map.is_empty(),
                Value::Text(_) => false,
            };
            if empty {
                // Nothing to point at: point at its key.
                value.at = key.at;
            }
            map.push((key, value));
        }
        entries.next_key::<de::IgnoredAny>()?;
        let at = map.first().map_or(Span::new(*self.last, *self.last), |(key, _): &(Node<'_>, _)| key.at);
        Ok(Node { at, value: Value::Map(map) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use std::sync::Arc;

    fn faults(text: &str) -> usize {
        let mut problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: String::new() }));
        let parsed = parse(text, &mut problems);
        assert_eq!(parsed.is_none(), !problems.is_empty());
        problems.len()
    }

    fn tree(text: &str) -> Node<'_> {
        let mut problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: String::new() }));
        parse(text, &mut problems).unwrap()
    }

    fn place<'t>(text: &'t str, node: &Node<'_>) -> &'t str {
        &text[node.at.start..node.at.end]
    }

    #[test]
    fn every_scalar_keeps_its_text_and_place() {
        let text = "price: 24.90\nhex: 0x10\nyes: [~, 'a b', \"c\\td\"]\nmap: {k: v}\n";
        let Value::Map(map) = tree(text).value else { panic!() };
        assert_eq!(map[0].1.value, Value::Text("24.90".into()));
        assert_eq!(place(text, &map[0].1), "24.90");
        assert_eq!(map[1].1.value, Value::Text("0x10".into()));
        let Value::List(list) = &map[2].1.value else { panic!() };
        assert_eq!(list[0].value, Value::Null);
        assert_eq!(place(text, &list[1]), "a b");
        assert_eq!(list[2].value, Value::Text("c\td".into()));
        assert_eq!(place(text, &map[3].1), "k");
    }

    #[test]
    fn equal_keys_and_aliases_are_kept() {
        let Value::Map(map) = tree("a: &x 1\nb: *x\na: 2\n").value else { panic!() };
        assert_eq!(map.len(), 3);
        assert_eq!(map[1].1.value, Value::Text("1".into()));
    }

    #[test]
    fn bombs_and_broken_texts_are_refused() {
        let mut bomb = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n".to_owned();
        for level in 1..12 {
            let star = format!("*a{}", level - 1);
            bomb += &format!("a{level}: &a{level} [{}]\n", [star.as_str(); 9].join(", "));
        }
        assert_eq!(faults(&bomb), 1);
        assert_eq!(faults(&"[".repeat(10_000)), 1);
        assert_eq!(faults(&"- ".repeat(10_000)), 1);
        assert_eq!(faults(&"{a: ".repeat(10_000)), 1);
        assert_eq!(faults("a: [1, 2\nb: 3\n"), 1);
        assert_eq!(faults("a: 1\n---\nb: 2\n"), 1);
        assert_eq!(faults("a: !tag 1\n"), 1);
        assert_eq!(faults("a: *nobody\n"), 1);
    }

    #[test]
    fn brackets_in_quotes_and_comments_do_not_nest() {
        let text = format!("a: \"{}\" # {}\n", "[".repeat(60), "{".repeat(60));
        assert_eq!(faults(&text), 0);
    }
}
