//! YAML as a tree of texts with their places. The only file that names `serde_yaml`.
//!
//! The parser tells the place of an error only, reads `1.50` as a float and keeps
//! the last of two equal keys. A scalar that is borrowed from the text shows its place by
//! where it lies in it, and a number stands after the scalar before it. Where a number is
//! not found so, the text is read again: following the shape of the first reading, for
//! every scalar as it was written.

use crate::diagnostic::{Code, Problem, Problems, Span};
use serde::de::{self, DeserializeSeed, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

/// More entries than any week, catalogue or recipe has; an alias bomb has more.
const MOST_NODES: usize = 400_000;
/// Entries within entries that a file may have.
const DEEPEST: usize = 40;
/// The parser looks at every open brace again for each word, so that its time grows with
/// the square of nested braces: the sum of what is open over the bytes of a file is held
/// to what takes about a second.
const MOST_OPEN: usize = 500_000_000;
/// It keeps hundreds of bytes for each dash or question mark of a line of them.
const MOST_MARKS: usize = 10_000;

const TOO_DEEP: &str = "the entries are nested too deep";

/// A value and where it stands (a map or list: its first entry).
#[derive(Clone, Debug, PartialEq)]
pub struct Node<'t> {
    /// Its place.
    pub at: Span,
    /// What stands there.
    pub value: Value<'t>,
}

impl Node<'_> {
    /// The text of a scalar.
    pub fn text(&self) -> Option<&str> {
        if let Value::Text(text) = &self.value { Some(text) } else { None }
    }

    /// The first key of a map, which says what a file is.
    pub fn first_key(&self) -> Option<&str> {
        if let Value::Map(map) = &self.value { map.first()?.0.text() } else { None }
    }

    /// The value of a key of a map.
    pub fn get(&self, key: &str) -> Option<&Self> {
        let Value::Map(map) = &self.value else { return None };
        map.iter().find(|(name, _)| name.text() == Some(key)).map(|(_, value)| value)
    }

    /// The same apart from its text, with no place in it.
    pub(super) fn to_static(&self) -> Node<'static> {
        let value = match &self.value {
            Value::Null => Value::Null,
            Value::Text(text) => Value::Text(Cow::Owned(text.as_ref().to_owned())),
            Value::List(list) => Value::List(list.iter().map(Node::to_static).collect()),
            Value::Map(map) => {
                Value::Map(map.iter().map(|(key, value)| (key.to_static(), value.to_static())).collect())
            }
        };
        Node { at: Span::default(), value }
    }
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
pub fn parse<'t>(text: &'t str, problems: &Problems) -> Option<Node<'t>> {
    if let Some(at) = too_costly(text) {
        let what = "more brackets or dashes are open here than can be read in time";
        let help = "long lists of sowings go into a CSV file: `sowings: sowings.csv`".to_owned();
        let problem = Problem::new(Code::Syntax, Span::new(at, at + 1), what, "fewer within each other");
        return problems.refuse(problem.with_help(Some(help)));
    }
    let blank = |line: &str| line.trim().is_empty() || line.trim_start().starts_with('#');
    if text.lines().all(blank) {
        return problems.refuse(Problem::of_file(Code::Syntax, "is empty", None));
    }
    let read = first_reading(text).and_then(|(node, rewritten)| {
        if !rewritten {
            return Ok(node);
        }
        second_reading(text, &node)
    });
    read.map_err(|error| problems.push(syntax(text, &error))).ok()
}

/// Reads a document that ships with the program: its numbers are plain, and their
/// places are not needed.
pub fn parse_shipped<'t>(text: &'t str, problems: &Problems) -> Option<Node<'t>> {
    first_reading(text).map(|(node, _)| node).map_err(|error| problems.push(syntax(text, &error))).ok()
}

/// The document, and whether the text or place of something in it was not found.
fn first_reading(text: &str) -> Result<(Node<'_>, bool), serde_yaml::Error> {
    let repeats = text.contains(['&', '*']);
    let mut state = Reading {
        text,
        budget: MOST_NODES,
        depth: 0,
        last: 0,
        found: true,
        repeats,
        numbers: false,
        empty: false,
        rewritten: false,
    };
    let node = First(&mut state).deserialize(serde_yaml::Deserializer::from_str(text))?;
    // Where an empty value stands in a list is seen in the second reading only.
    Ok((node, state.rewritten || (state.numbers && state.empty)))
}

/// The document of that shape with every scalar as it is written.
fn second_reading<'t>(text: &'t str, shape: &Node<'t>) -> Result<Node<'t>, serde_yaml::Error> {
    AsWritten { shape, text, last: &mut 0 }.deserialize(serde_yaml::Deserializer::from_str(text))
}

fn syntax(text: &str, error: &serde_yaml::Error) -> Problem {
    let message = error.to_string();
    // The parser puts the path before its message and the place behind it; the place is shown anyway.
    let message = message.split(" at line ").next().unwrap_or(&message).trim_start_matches(". ").to_owned();
    let at = error.location().map(|place| offset(text, place.line(), place.column()));
    if let Some(at) = at.filter(|_| message.ends_with(TOO_DEEP)) {
        return nested_too_deep(at);
    }
    let tab = at.is_some_and(|at| text[at..].starts_with('\t'));
    let help = advice(&message, tab).map(str::to_owned);
    let what = format!("cannot be read as YAML: {message}");
    match at {
        Some(at) => Problem::new(Code::Syntax, Span::new(at, at + 1), what, "").with_help(help),
        None => Problem::of_file(Code::Syntax, what, help),
    }
}

/// What the parser's words mean for someone who writes a list of sowings.
fn advice(message: &str, tab: bool) -> Option<&'static str> {
    const ADVICE: [(&str, &str); 9] = [
        (
            "mapping values are not allowed",
            "is there a space after each colon, and is this line set in as those around it?",
        ),
        ("expected ',' or", "a bracket or brace is left open here or in the line before, or a comma is missing"),
        ("did not find expected", "is this line set in as those around it, with a space after each colon and dash?"),
        ("unexpected end of stream", "a quote is left open: each needs its second one"),
        ("while parsing a quoted scalar", "a quote is left open: each needs its second one"),
        ("more than one document", "take out the line `---`: a file holds one week or one recipe"),
        ("repetition limit", "it repeats itself (`&` and `*`) without bound: write the entries out"),
        ("unknown anchor", "a `*` at the start stands for a repetition: put the text in quotes"),
        ("invalid type: enum", "a `!` at the start stands for a tag: put the text in quotes"),
    ];
    if tab {
        return Some("a tab cannot set a line in: use spaces");
    }
    ADVICE.iter().find(|(words, _)| message.contains(words)).map(|(_, advice)| *advice)
}

/// The byte at a line and column that count from one, columns in characters.
fn offset(text: &str, line: usize, column: usize) -> usize {
    let begin: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let within = text[begin..].char_indices().nth(column.saturating_sub(1)).map_or(text.len() - begin, |(at, _)| at);
    begin + within
}

fn nested_too_deep(at: usize) -> Problem {
    let expected = format!("at most {DEEPEST} within each other");
    Problem::new(Code::Syntax, Span::new(at, at + 1), TOO_DEEP, expected)
}

/// Where more brackets may be open, or more dashes in a line, than the parser can take.
///
/// It assumes the worst, since an exact count would need a second parser: between
/// quotes, hashes and line ends either all brackets count or none, so a bracket is taken
/// as closed only within such a stretch. How deep the entries really lie is seen while
/// they are read.
fn too_costly(text: &str) -> Option<usize> {
    let (mut open, mut here, mut cost) = (0_usize, 0_usize, 0_usize);
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        // A tag may hold brackets that close nothing.
        let tagged = line.contains('!');
        let (mut marks, mut previous) = (0, b'\n');
        for (at, byte) in line.bytes().enumerate() {
            match byte {
                b'[' | b'{' => (open, here) = (open + 1, here + 1),
                b']' | b'}' if here > 0 && !tagged => (open, here) = (open - 1, here - 1),
                b'"' | b'\'' | b'#' | b'\n' => here = 0,
                b' ' if matches!(previous, b'-' | b'?') => marks += 1,
                _ => {}
            }
            (cost, previous) = (cost + open, byte);
            if cost > MOST_OPEN || marks > MOST_MARKS {
                return Some(start + at);
            }
        }
        start += line.len();
    }
    None
}

/// The state of the first reading.
struct Reading<'t> {
    text: &'t str,
    budget: usize,
    /// Lists and maps that are open around the value being read.
    depth: usize,
    /// Where the last scalar with a known place ended: the best guess for one without.
    last: usize,
    /// Whether it may hold repetitions.
    repeats: bool,
    /// Whether the last scalar ended there: not one that the parser put together.
    found: bool,
    /// Whether there are numbers or booleans, whose text the parser does not hand on.
    numbers: bool,
    /// Whether there are empty values.
    empty: bool,
    /// The text or place of a number was not found.
    rewritten: bool,
}

impl Reading<'_> {
    /// The word that stands where the next scalar begins, if the last one has been found.
    ///
    /// Between two scalars stand only closing quotes, white space, comments, marks, empty
    /// values and what names a repetition or a tag; of these the marks and comments are
    /// passed over, and no other begins as a number does. A text that repeats itself is
    /// left to the second reading, since a repeated scalar stands elsewhere.
    fn next_word(&self) -> Option<Span> {
        let mut rest = self.text[self.last..].trim_start_matches(['"', '\'']);
        rest = if self.found && !self.repeats { rest } else { return None };
        loop {
            rest = rest.trim_start_matches(|c: char| c.is_ascii_whitespace() || ":,[]{}?".contains(c));
            rest = match rest.strip_prefix('#') {
                Some(comment) => comment.split_once('\n')?.1,
                None => match rest.strip_prefix("- ").or_else(|| rest.strip_prefix("-\n")) {
                    Some(entry) => entry,
                    None => break,
                },
            };
        }
        let start = self.text.len() - rest.len();
        let ends = |c: char| !c.is_ascii_alphanumeric() && !matches!(c, '.' | '+' | '-' | '_');
        Some(Span::new(start, start + rest.find(ends).unwrap_or(rest.len())))
    }
}

/// Where a text borrowed from the document stands in it.
fn place(value: &str, text: &str) -> Option<Span> {
    let start = (value.as_ptr() as usize).checked_sub(text.as_ptr() as usize)?;
    (start + value.len() <= text.len()).then(|| Span::new(start, start + value.len()))
}

/// Written as an escape a control character is not seen in the file, but would reach
/// the terminal.
fn no_control<E: de::Error>(value: &str) -> Result<(), E> {
    match value.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t')) {
        Some(c) => Err(E::custom(format_args!("a text holds the control character U+{:04X}", u32::from(c)))),
        None => Ok(()),
    }
}

/// The place of a list or map: its first entry's.
fn place_of(first: Option<&Node<'_>>, last: usize) -> Span {
    first.map_or(Span::new(last, last), |first| first.at)
}

/// An empty value has nothing to point at: point at its key.
fn at_its_key<'t>(key: Node<'t>, mut value: Node<'t>) -> (Node<'t>, Node<'t>) {
    let empty = match &value.value {
        Value::Null => true,
        Value::List(list) => list.is_empty(),
        Value::Map(map) => map.is_empty(),
        Value::Text(_) => false,
    };
    if empty {
        value.at = key.at;
    }
    (key, value)
}

struct First<'r, 't>(&'r mut Reading<'t>);

impl<'t> First<'_, 't> {
    fn number<N: FromStr + PartialEq + ToString>(self, value: &N) -> Node<'t> {
        self.0.numbers = true;
        if let Some(at) = self.0.next_word().filter(|_| !self.0.rewritten) {
            let word = &self.0.text[at.start..at.end];
            if word.parse::<N>().is_ok_and(|same| same == *value) {
                self.0.last = at.end;
                return Node { at, value: Value::Text(Cow::Borrowed(word)) };
            }
        }
        self.0.rewritten = true;
        Node { at: Span::new(self.0.last, self.0.last), value: Value::Text(Cow::Owned(value.to_string())) }
    }

    fn null(self) -> Node<'t> {
        self.0.empty = true;
        Node { at: Span::new(self.0.last, self.0.last), value: Value::Null }
    }

    /// A list or map begins; the document itself is the first.
    fn deeper<E: de::Error>(&mut self) -> Result<(), E> {
        self.0.depth += 1;
        if self.0.depth > DEEPEST + 1 { Err(E::custom(TOO_DEEP)) } else { Ok(()) }
    }
}

impl<'t> DeserializeSeed<'t> for First<'_, 't> {
    type Value = Node<'t>;

    fn deserialize<D: de::Deserializer<'t>>(self, deserializer: D) -> Result<Node<'t>, D::Error> {
        match self.0.budget.checked_sub(1) {
            Some(left) => self.0.budget = left,
            None => return Err(de::Error::custom("more entries than a file may have")),
        }
        deserializer.deserialize_any(self)
    }
}

/// Scalars that the parser does not hand on as they are written.
macro_rules! scalars {
    ($($visit:ident($type:ty)),+) => {
        $(fn $visit<E>(self, value: $type) -> Result<Node<'t>, E> {
            Ok(self.number(&value))
        })+
    };
}

impl<'t> Visitor<'t> for First<'_, 't> {
    type Value = Node<'t>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a word, a number, a list or a map (no tags)")
    }

    fn visit_unit<E>(self) -> Result<Node<'t>, E> {
        Ok(self.null())
    }

    fn visit_none<E>(self) -> Result<Node<'t>, E> {
        Ok(self.null())
    }

    scalars!(visit_bool(bool), visit_i64(i64), visit_i128(i128), visit_u64(u64), visit_u128(u128), visit_f64(f64));

    fn visit_borrowed_str<E>(self, value: &'t str) -> Result<Node<'t>, E> {
        let known = place(value, self.0.text);
        self.0.found = known.is_some();
        let at = known.unwrap_or(Span::new(self.0.last, self.0.last));
        self.0.last = at.end;
        Ok(Node { at, value: Value::Text(Cow::Borrowed(value)) })
    }

    fn visit_str<E: de::Error>(self, value: &str) -> Result<Node<'t>, E> {
        no_control(value)?;
        self.0.found = false;
        let at = Span::new(self.0.last, self.0.last);
        Ok(Node { at, value: Value::Text(Cow::Owned(value.to_owned())) })
    }

    fn visit_seq<A: SeqAccess<'t>>(mut self, mut entries: A) -> Result<Node<'t>, A::Error> {
        self.deeper()?;
        let mut list = Vec::new();
        while let Some(entry) = entries.next_element_seed(First(&mut *self.0))? {
            list.push(entry);
        }
        self.0.depth -= 1;
        Ok(Node { at: place_of(list.first(), self.0.last), value: Value::List(list) })
    }

    fn visit_map<A: MapAccess<'t>>(mut self, mut entries: A) -> Result<Node<'t>, A::Error> {
        self.deeper()?;
        let mut map = Vec::new();
        while let Some(key) = entries.next_key_seed(First(&mut *self.0))? {
            map.push(at_its_key(key, entries.next_value_seed(First(&mut *self.0))?));
        }
        self.0.depth -= 1;
        Ok(Node { at: place_of(map.first().map(|(key, _)| key), self.0.last), value: Value::Map(map) })
    }
}

/// The second reading: every scalar as text, where the first one says a scalar stands.
struct AsWritten<'s, 't> {
    shape: &'s Node<'t>,
    text: &'t str,
    last: &'s mut usize,
}

impl<'t> AsWritten<'_, 't> {
    fn scalar(self, value: Cow<'t, str>, known: Option<Span>) -> Node<'t> {
        let at = known.unwrap_or(Span::new(*self.last, *self.last));
        *self.last = at.end;
        let value = if self.shape.value == Value::Null { Value::Null } else { Value::Text(value) };
        Node { at, value }
    }
}

impl<'t> DeserializeSeed<'t> for AsWritten<'_, 't> {
    type Value = Node<'t>;

    fn deserialize<D: de::Deserializer<'t>>(self, deserializer: D) -> Result<Node<'t>, D::Error> {
        match self.shape.value {
            Value::Null | Value::Text(_) => deserializer.deserialize_str(self),
            Value::List(_) => deserializer.deserialize_seq(self),
            Value::Map(_) => deserializer.deserialize_map(self),
        }
    }
}

impl<'t> Visitor<'t> for AsWritten<'_, 't> {
    type Value = Node<'t>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the same document again")
    }

    fn visit_borrowed_str<E>(self, value: &'t str) -> Result<Node<'t>, E> {
        let known = place(value, self.text);
        Ok(self.scalar(Cow::Borrowed(value), known))
    }

    fn visit_str<E: de::Error>(self, value: &str) -> Result<Node<'t>, E> {
        no_control(value)?;
        Ok(self.scalar(Cow::Owned(value.to_owned()), None))
    }

    fn visit_seq<A: SeqAccess<'t>>(self, mut entries: A) -> Result<Node<'t>, A::Error> {
        let Value::List(shapes) = &self.shape.value else { return Err(de::Error::custom("the document changed")) };
        let mut list = Vec::with_capacity(shapes.len());
        for shape in shapes {
            list.extend(entries.next_element_seed(AsWritten { shape, text: self.text, last: &mut *self.last })?);
        }
        // The parser wants to be asked past the end.
        entries.next_element::<de::IgnoredAny>()?;
        Ok(Node { at: place_of(list.first(), *self.last), value: Value::List(list) })
    }

    fn visit_map<A: MapAccess<'t>>(self, mut entries: A) -> Result<Node<'t>, A::Error> {
        let Value::Map(shapes) = &self.shape.value else { return Err(de::Error::custom("the document changed")) };
        let mut map = Vec::with_capacity(shapes.len());
        for (key, value) in shapes {
            let seed = AsWritten { shape: key, text: self.text, last: &mut *self.last };
            let Some(key) = entries.next_key_seed(seed)? else { break };
            let seed = AsWritten { shape: value, text: self.text, last: &mut *self.last };
            map.push(at_its_key(key, entries.next_value_seed(seed)?));
        }
        entries.next_key::<de::IgnoredAny>()?;
        Ok(Node { at: place_of(map.first().map(|(key, _)| key), *self.last), value: Value::Map(map) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use std::sync::Arc;

    fn faults(text: &str) -> usize {
        let problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: String::new() }));
        let parsed = parse(text, &problems);
        assert_eq!(parsed.is_none(), !problems.is_empty());
        problems.len()
    }

    fn tree(text: &str) -> Node<'_> {
        let problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: String::new() }));
        parse(text, &problems).unwrap()
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
    fn one_reading_finds_what_two_readings_find() {
        const PIECES: [&str; 34] = [
            "- ", "a: ", "b: ", "? ", ": ", "5", "-5", "+5", "1.50", "1e3", "0x10", "true", ".5", "~", "null", "kale",
            "a-5", "'5'", "\"5\"", "\"\\t5\"", "|\n  5\n", "5\n  6", "\n", "\n  ", " # 5\n", "#5", "{", "}", "[", "]",
            ", ", "&x ", "*x", "a: 5\n",
        ];
        let mut random = 7_u64;
        let (mut read, mut once) = (0, 0);
        while once < 2_000 {
            let mut text = String::new();
            for _ in 0..8 {
                random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                let most = if random >> 63 == 0 { 34 } else { 9 };
                text += PIECES[(random >> 33) as usize % most];
            }
            let Ok((node, rewritten)) = first_reading(&text) else { continue };
            let Ok(again) = second_reading(&text, &node) else { continue };
            read += 1;
            // Empty values count only where there are numbers as well.
            if !rewritten && text.contains(|c: char| c.is_ascii_digit()) && !format!("{node:?}").contains("Null") {
                once += 1;
                assert_eq!(node, again, "{text:?}");
            }
        }
        assert!(once * 4 > read, "{once} of {read}");
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
        assert_eq!(faults("# nothing yet\n\n"), 1);
        assert_eq!(faults("a: \"\\e[31m\"\n"), 1);
        assert_eq!(faults("a: \"b\\tc\\nd\"\n"), 0);
    }

    #[test]
    fn brackets_in_quotes_comments_and_prose_do_not_nest() {
        assert_eq!(faults(&format!("a: |\n  {}\n  {}\n", "-".repeat(60), "- ".repeat(60))), 0);
        assert_eq!(faults(&format!("a: |\n  {0}\n  {0}\nb: >\n  {0}\n", "[".repeat(60))), 0);
        assert_eq!(faults(&format!("a: it is {}\n", "[".repeat(60))), 0);
        let text = format!("a: \"{}\" # {}\n", "[".repeat(60), "{".repeat(60));
        assert_eq!(faults(&text), 0);
    }

    #[test]
    fn nesting_is_counted_whatever_hides_it() {
        let nested = |depth: usize| format!("a: {}{}\n", "[".repeat(depth), "]".repeat(depth));
        assert_eq!((faults(&nested(DEEPEST)), faults(&nested(DEEPEST + 1))), (0, 1));
        // Quote marks within words, quoted closings, and a line for each bracket.
        assert_eq!(faults(&format!("[a 'b {}", "[a 'b, \"]\", ".repeat(DEEPEST))), 1);
        assert_eq!(faults(&"[\n".repeat(100_000)), 1);
    }

    #[test]
    fn what_would_take_the_parser_minutes_is_refused_at_once() {
        for nested in ["{a: ", "{a:\n", "{a: \"}\", b: ", "{a: # }\n", "[a: ", "{a: !<]> "] {
            assert!(too_costly(&nested.repeat((2 << 20) / nested.len())).is_some(), "{nested}");
            assert!(too_costly(&nested.repeat(5_000)).is_none(), "{nested}");
        }
        for marks in ["- ", "? "] {
            assert!(too_costly(&marks.repeat(1 << 20)).is_some(), "{marks}");
        }
        assert!(too_costly(&format!("a{0}: {1}", "]".repeat(1 << 20), "{b: ".repeat(1 << 18))).is_some());
    }

    #[test]
    fn long_lists_are_no_nesting() {
        assert_eq!(faults(&format!("a: [{}]\n", "{b: c}, ".repeat(9_000))), 0);
        assert_eq!(faults(&"- {a: \"b\"}  # [\n".repeat(2_000)), 0);
        assert_eq!(faults(&"- {crop: kale, plants: 80, tray: 50-cell}\n".repeat(40_000)), 0);
    }
}
