//! YAML as a tree of texts with their places. The only file that names `serde_yaml`.
//!
//! The parser tells the place of an error only, reads `1.50` as a float and keeps
//! the last of two equal keys. A scalar that is borrowed from the text shows its place by
//! where it lies in it, and a number stands after the scalar before it. Where a number is
//! not found so, the text is read again: following the shape of the first reading, for
//! every scalar as it was written.

use crate::diagnostic::{Code, Problem, Problems, Span};
use crate::printable::has_no_place;
use serde::Deserialize;
use serde::de::{self, DeserializeSeed, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::cmp::Reverse;
use std::fmt;
use std::str::FromStr;

/// More commas, colons, dashes, question marks and opening brackets than any week, catalogue
/// or recipe has. Each gives up to four entries of a hundred bytes to the parser, which reads
/// the whole file before it hands anything on.
const MOST_MARKS: usize = 400_000;
/// What a file may take up as it is read, what it repeats (`&`, `*`) counted each time.
const MOST_BYTES: usize = 32 << 20;
/// What an entry takes up besides its text.
const BYTES_OF_ENTRY: usize = 64;
/// Entries within entries that a file may have.
const DEEPEST: usize = 40;
/// The parser looks at every open bracket again for each word, so that its time grows with
/// the square of nested brackets. The sum of what is open over the bytes of a file is held to
/// what the largest file has that is nested as deep as it may be, which takes a fifth of a second.
const MOST_OPEN: usize = 100_000_000;

/// What to do with more sowings than a file may list.
pub(crate) const INTO_A_TABLE: &str = "long lists of sowings go into a CSV file: `sowings: sowings.csv`";

const TOO_DEEP: &str = "the entries are nested too deep";
const TOO_MANY: &str = "more entries than a file may have";

// The parser's words for faults that it gives without their place.
const SEVERAL: &str = "more than one document";
const REPEATS: &str = "repetition limit";

/// A value and where it stands (a map or list: its first entry).
#[derive(Clone, Debug, PartialEq)]
pub struct Node<'t> {
    /// Its place.
    pub at: Span,
    /// What stands there.
    pub value: Value<'t>,
}

impl<'t> Node<'t> {
    /// The text of a scalar.
    pub fn text(&self) -> Option<&str> {
        if let Value::Text(text) = &self.value { Some(text) } else { None }
    }

    /// The keys and values of a map; none of anything else.
    pub fn pairs(&self) -> &[(Self, Self)] {
        if let Value::Map(map) = &self.value { map } else { &[] }
    }

    /// The first key of a map, which says what a file is.
    pub fn first_key(&self) -> Option<&str> {
        self.pairs().first()?.0.text()
    }

    /// The value of a key of a map.
    pub fn get(&self, key: &str) -> Option<&Self> {
        self.pairs().iter().find(|(name, _)| name.text() == Some(key)).map(|(_, value)| value)
    }

    /// The value of a key of a map, taken out of it.
    pub(crate) fn take(&mut self, key: &str) -> Option<Self> {
        let Value::Map(map) = &mut self.value else { return None };
        let place = map.iter().position(|(name, _)| name.text() == Some(key))?;
        Some(map.swap_remove(place).1)
    }

    /// Moves its place and all places in it, where its text is laid beside another.
    pub(crate) fn shift(&mut self, by: usize) {
        self.at = Span::new(self.at.start + by, self.at.end + by);
        match &mut self.value {
            Value::Null | Value::Text(_) => {}
            Value::List(list) => list.iter_mut().for_each(|node| node.shift(by)),
            Value::Map(map) => map.iter_mut().flat_map(|(key, value)| [key, value]).for_each(|node| node.shift(by)),
        }
    }

    /// Something that was not read in a text of the user's.
    pub(crate) fn of(value: Value<'t>) -> Self {
        Self { at: Span::default(), value }
    }

    /// The same apart from its text, with no place in it.
    pub(crate) fn to_static(&self) -> Node<'static> {
        let value = match &self.value {
            Value::Null => Value::Null,
            Value::Text(text) => Value::Text(Cow::Owned(text.as_ref().to_owned())),
            Value::List(list) => Value::List(list.iter().map(Node::to_static).collect()),
            Value::Map(map) => {
                Value::Map(map.iter().map(|(key, value)| (key.to_static(), value.to_static())).collect())
            }
        };
        Node::of(value)
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
    if let Some(problem) = too_costly(text) {
        return problems.refuse(problem);
    }
    if text.lines().all(is_blank) {
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

/// Reads a document that ships with the program, against which the tests hold what the build made of it.
#[cfg(test)]
pub(crate) fn parse_shipped<'t>(text: &'t str, problems: &Problems) -> Option<Node<'t>> {
    first_reading(text).map(|(node, _)| node).map_err(|error| problems.push(syntax(text, &error))).ok()
}

/// The document, and whether the text or place of something in it was not found.
fn first_reading(text: &str) -> Result<(Node<'_>, bool), serde_yaml::Error> {
    let mut state = Reading::of(text);
    let node = First(&mut state).deserialize(serde_yaml::Deserializer::from_str(text))?;
    // Where an empty value stands in a list is seen in the second reading only.
    Ok((node, state.rewritten || (state.sought > 0 && state.empty)))
}

/// The document of that shape with every scalar as it is written.
fn second_reading<'t>(text: &'t str, shape: &Node<'t>) -> Result<Node<'t>, serde_yaml::Error> {
    let mut state = Reading::of(text);
    AsWritten { shape, state: &mut state }.deserialize(serde_yaml::Deserializer::from_str(text))
}

fn syntax(text: &str, error: &serde_yaml::Error) -> Problem {
    let message = error.to_string();
    // The parser puts the path before its message and the place behind it; the place is shown anyway.
    let message = message.split(" at line ").next().unwrap_or(&message).trim_start_matches(". ").to_owned();
    let at = match error.location() {
        Some(place) => place.index().min(text.len()),
        None if message.contains(SEVERAL) => match second_document(text) {
            Ok(at) => at,
            Err(Some(error)) => return syntax(text, &error),
            Err(None) => text.len(),
        },
        None if message.contains(REPEATS) => first_alias(text),
        // It ends before anything is said.
        None => text.trim_end().len(),
    };
    if message.ends_with(TOO_DEEP) {
        return nested_too_deep(at);
    }
    if message.ends_with(TOO_MANY) {
        return too_many(at);
    }
    let tab = text[at..].starts_with('\t');
    let help = advice(&message, tab).map(str::to_owned);
    let what = format!("cannot be read as YAML: {message}");
    Problem::new(Code::Syntax, Span::new(at, at + 1), what, "").with_help(help)
}

/// Where a second document begins; where no line says so, the error of what follows the first.
fn second_document(text: &str) -> Result<usize, Option<serde_yaml::Error>> {
    let (mut at, mut begun) = (0, false);
    for line in text.split_inclusive('\n') {
        let marker =
            line.strip_prefix("---").is_some_and(|rest| rest.starts_with([' ', '\t', '\n']) || rest.is_empty());
        if marker && begun {
            return Ok(at);
        }
        // What stands before a document are its directives.
        begun |= marker || !(is_blank(line) || line.starts_with('%'));
        at += line.len();
    }
    let second = serde_yaml::Deserializer::from_str(text).nth(1);
    Err(second.and_then(|second| IgnoredAny::deserialize(second).err()).filter(|error| error.location().is_some()))
}

/// Where something written before is first repeated.
fn first_alias(text: &str) -> usize {
    let bytes = text.as_bytes();
    let begins = |at: usize| at == 0 || matches!(bytes[at - 1], b' ' | b'\n' | b'[' | b'{' | b',' | b':');
    let is_alias = |at: usize| begins(at) && bytes.get(at + 1).is_some_and(u8::is_ascii_alphanumeric);
    text.match_indices('*').map(|(at, _)| at).find(|at| is_alias(*at)).unwrap_or(0)
}

/// Whether a line says nothing.
fn is_blank(line: &str) -> bool {
    line.trim().is_empty() || line.trim_start().starts_with('#')
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
        (SEVERAL, "take out the line `---`: a file holds one week or one recipe"),
        (REPEATS, "it repeats itself (`&` and `*`) without bound: write the entries out"),
        ("unknown anchor", "a `*` at the start stands for a repetition: put the text in quotes"),
        ("invalid type: enum", "a `!` at the start stands for a tag: put the text in quotes"),
    ];
    if tab {
        return Some("a tab cannot set a line in: use spaces");
    }
    ADVICE.iter().find(|(words, _)| message.contains(words)).map(|(_, advice)| *advice)
}

fn nested_too_deep(at: usize) -> Problem {
    let expected = format!("at most {DEEPEST} within each other");
    Problem::new(Code::Syntax, Span::new(at, at + 1), TOO_DEEP, expected)
}

fn too_many(at: usize) -> Problem {
    Problem::new(Code::Syntax, Span::new(at, at + 1), TOO_MANY, "fewer").with_help(Some(INTO_A_TABLE.to_owned()))
}

/// What in a text is more than the parser can take.
fn too_costly(text: &str) -> Option<Problem> {
    let brackets = text.bytes().filter(|byte| matches!(byte, b'[' | b'{')).count();
    // All of them open at every byte, and every byte a mark.
    if brackets <= DEEPEST && text.len() <= MOST_MARKS.min(MOST_OPEN / DEEPEST) {
        return None;
    }
    let (mut open, mut marks, mut cost, mut previous) = (Open::default(), 0, 0, b'\n');
    // Where the brackets begin that are nested too deep.
    let mut deep = 0;
    for (at, byte) in text.bytes().enumerate() {
        let next = text.as_bytes().get(at + 1).copied().unwrap_or(b'\n');
        open.pass(previous, byte, next);
        let most = open.most();
        if most <= DEEPEST {
            deep = at + 1;
        }
        cost += most;
        marks += match byte {
            b',' | b':' | b'?' | b'[' | b'{' => 1,
            b'-' => usize::from(is_space(next)),
            _ => 0,
        };
        if cost > MOST_OPEN {
            return Some(nested_too_deep(deep));
        }
        if marks > MOST_MARKS {
            return Some(too_many(at));
        }
        previous = byte;
    }
    None
}

/// What the parser reads within brackets.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Within {
    /// Between words.
    Between,
    /// A word without quotes.
    Plain,
    Double,
    /// Behind a backslash in double quotes.
    Escaped,
    Single,
    Comment,
    /// The name of something repeated.
    Anchor,
    Tag,
    /// A tag such as `!<[a]>`, which may hold brackets.
    Verbatim,
}

/// The most brackets that may be open, by what the parser reads; none where it cannot read that.
///
/// Outside of brackets nothing is told apart, neither quotes nor comments nor lines of text:
/// any bracket there may be the first one. Within brackets each byte leads the parser from one
/// state to one other, so that its true way is among those followed; where two ways meet, the
/// one with more brackets is kept. So no count is below the true one, and a row whose brackets
/// and quotes are closed leaves none behind.
#[derive(Default)]
struct Open(Vec<(Within, usize)>);

impl Open {
    fn most(&self) -> usize {
        self.0.iter().map(|(_, open)| *open).max().unwrap_or(0)
    }

    fn pass(&mut self, previous: u8, byte: u8, next: u8) {
        for (within, open) in &mut self.0 {
            *within = within.after(previous, byte, next);
            match byte {
                b'[' | b'{' if *within == Within::Between => *open += 1,
                b']' | b'}' if *within == Within::Between => *open -= 1,
                _ => {}
            }
        }
        match byte {
            b'[' | b'{' => self.0.push((Within::Between, 1)),
            b']' | b'}' => self.0.retain(|(_, open)| *open > 0),
            _ => {}
        }
        if self.0.len() > 1 {
            self.0.sort_unstable_by_key(|(within, open)| (*within, Reverse(*open)));
            self.0.dedup_by_key(|(within, _)| *within);
        }
    }
}

fn is_space(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\n')
}

impl Within {
    /// What is read behind a byte. A bracket is one only where it leads between words.
    fn after(self, previous: u8, byte: u8, next: u8) -> Self {
        match self {
            Self::Between => match byte {
                b'"' => Self::Double,
                b'\'' => Self::Single,
                b'#' => Self::Comment,
                b'&' | b'*' => Self::Anchor,
                b'!' if next == b'<' => Self::Verbatim,
                b'!' => Self::Tag,
                b'-' if is_space(next) => Self::Between,
                b',' | b':' | b'?' | b'[' | b']' | b'{' | b'}' | b' ' | b'\t' | b'\n' => Self::Between,
                _ => Self::Plain,
            },
            Self::Plain => match byte {
                b',' | b'[' | b']' | b'{' | b'}' => Self::Between,
                b'#' if is_space(previous) => Self::Comment,
                _ if is_space(byte) && previous == b':' => Self::Between,
                _ => Self::Plain,
            },
            Self::Double => match byte {
                b'"' => Self::Between,
                b'\\' => Self::Escaped,
                _ => Self::Double,
            },
            Self::Escaped => Self::Double,
            // A doubled quote ends one text and begins another, with the same brackets open.
            Self::Single if byte == b'\'' => Self::Between,
            Self::Comment if byte == b'\n' => Self::Between,
            Self::Anchor if byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-') => Self::Anchor,
            Self::Anchor => Self::Between.after(previous, byte, next),
            Self::Tag if is_space(byte) || byte == b',' => Self::Between,
            Self::Verbatim if byte == b'>' => Self::Tag,
            Self::Verbatim if is_space(byte) => Self::Between,
            Self::Single | Self::Comment | Self::Tag | Self::Verbatim => self,
        }
    }
}

/// The state of a reading.
struct Reading<'t> {
    text: &'t str,
    /// Bytes that may still be taken up.
    budget: usize,
    /// Lists and maps that are open around the value being read.
    depth: usize,
    /// Where the last scalar with a known place ended: the best guess for one without.
    last: usize,
    /// Whether it may hold repetitions.
    repeats: bool,
    /// Whether the last scalar ended there: not one that the parser put together.
    found: bool,
    /// How many numbers or booleans were sought in the text, since the parser does not hand theirs on.
    sought: usize,
    /// Whether there are empty values.
    empty: bool,
    /// The text or place of a number was not found.
    rewritten: bool,
}

impl<'t> Reading<'t> {
    fn of(text: &'t str) -> Self {
        let repeats = text.contains(['&', '*']);
        let (found, sought, empty, rewritten) = (true, 0, false, false);
        Self { text, budget: MOST_BYTES, depth: 0, last: 0, found, repeats, sought, empty, rewritten }
    }

    /// An entry with so many bytes of text.
    fn take<E: de::Error>(&mut self, bytes: usize) -> Result<(), E> {
        self.budget = self.budget.checked_sub(BYTES_OF_ENTRY + bytes).ok_or_else(|| E::custom(TOO_MANY))?;
        Ok(())
    }

    /// The word that stands where the next scalar begins, if the last one has been found.
    ///
    /// Between two scalars stand only closing quotes, white space, comments, marks, empty
    /// values and what names a repetition or a tag; of these the marks and comments are
    /// passed over, and no other begins as a number does. A text that repeats itself is
    /// left to the second reading, since a repeated scalar stands elsewhere. After the first
    /// that was not found none is sought: `last` stays, and all behind it would be passed again.
    fn next_word(&mut self) -> Option<Span> {
        if self.rewritten {
            return None;
        }
        self.sought += 1;
        if !self.found || self.repeats {
            return None;
        }
        let mut rest = self.text[self.last..].trim_start_matches(['"', '\'']);
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

/// Written as an escape such a character is not seen in the file, but would reach the terminal,
/// or the log, which then could not be read.
fn all_have_a_place<E: de::Error>(value: &str) -> Result<(), E> {
    match value.chars().find(|c| has_no_place(*c)) {
        Some(c) => {
            Err(E::custom(format_args!("a text holds the character U+{:04X}, which has no place there", u32::from(c))))
        }
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
    fn number<N: FromStr + PartialEq + ToString, E: de::Error>(self, value: &N) -> Result<Node<'t>, E> {
        if let Some(at) = self.0.next_word() {
            let word = &self.0.text[at.start..at.end];
            if word.parse::<N>().is_ok_and(|same| same == *value) {
                self.0.take(word.len())?;
                self.0.last = at.end;
                return Ok(Node { at, value: Value::Text(Cow::Borrowed(word)) });
            }
        }
        self.0.rewritten = true;
        let value = value.to_string();
        self.0.take(value.len())?;
        Ok(Node { at: Span::new(self.0.last, self.0.last), value: Value::Text(Cow::Owned(value)) })
    }

    fn null<E: de::Error>(self) -> Result<Node<'t>, E> {
        self.0.take(0)?;
        self.0.empty = true;
        Ok(Node { at: Span::new(self.0.last, self.0.last), value: Value::Null })
    }

    /// A list or map begins; the document itself is the first.
    fn deeper<E: de::Error>(&mut self) -> Result<(), E> {
        self.0.take(0)?;
        self.0.depth += 1;
        if self.0.depth > DEEPEST + 1 { Err(E::custom(TOO_DEEP)) } else { Ok(()) }
    }
}

impl<'t> DeserializeSeed<'t> for First<'_, 't> {
    type Value = Node<'t>;

    fn deserialize<D: de::Deserializer<'t>>(self, deserializer: D) -> Result<Node<'t>, D::Error> {
        deserializer.deserialize_any(self)
    }
}

/// Scalars that the parser does not hand on as they are written.
macro_rules! scalars {
    ($($visit:ident($type:ty)),+) => {
        $(fn $visit<E: de::Error>(self, value: $type) -> Result<Node<'t>, E> {
            self.number(&value)
        })+
    };
}

impl<'t> Visitor<'t> for First<'_, 't> {
    type Value = Node<'t>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a word, a number, a list or a map (no tags)")
    }

    fn visit_unit<E: de::Error>(self) -> Result<Node<'t>, E> {
        self.null()
    }

    fn visit_none<E: de::Error>(self) -> Result<Node<'t>, E> {
        self.null()
    }

    scalars!(visit_bool(bool), visit_i64(i64), visit_i128(i128), visit_u64(u64), visit_u128(u128), visit_f64(f64));

    fn visit_borrowed_str<E: de::Error>(self, value: &'t str) -> Result<Node<'t>, E> {
        self.0.take(value.len())?;
        let known = place(value, self.0.text);
        self.0.found = known.is_some();
        let at = known.unwrap_or(Span::new(self.0.last, self.0.last));
        self.0.last = at.end;
        Ok(Node { at, value: Value::Text(Cow::Borrowed(value)) })
    }

    fn visit_str<E: de::Error>(self, value: &str) -> Result<Node<'t>, E> {
        all_have_a_place(value)?;
        self.0.take(value.len())?;
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
    state: &'s mut Reading<'t>,
}

impl<'t> AsWritten<'_, 't> {
    fn scalar(self, value: Cow<'t, str>, known: Option<Span>) -> Node<'t> {
        let at = known.unwrap_or(Span::new(self.state.last, self.state.last));
        self.state.last = at.end;
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
        let known = place(value, self.state.text);
        Ok(self.scalar(Cow::Borrowed(value), known))
    }

    fn visit_str<E: de::Error>(self, value: &str) -> Result<Node<'t>, E> {
        all_have_a_place(value)?;
        // A tag may make a number of a long text.
        self.state.take(value.len())?;
        Ok(self.scalar(Cow::Owned(value.to_owned()), None))
    }

    fn visit_seq<A: SeqAccess<'t>>(self, mut entries: A) -> Result<Node<'t>, A::Error> {
        let Value::List(shapes) = &self.shape.value else { return Err(de::Error::custom("the document changed")) };
        let mut list = Vec::with_capacity(shapes.len());
        for shape in shapes {
            list.extend(entries.next_element_seed(AsWritten { shape, state: &mut *self.state })?);
        }
        // The parser wants to be asked past the end.
        entries.next_element::<IgnoredAny>()?;
        Ok(Node { at: place_of(list.first(), self.state.last), value: Value::List(list) })
    }

    fn visit_map<A: MapAccess<'t>>(self, mut entries: A) -> Result<Node<'t>, A::Error> {
        let Value::Map(shapes) = &self.shape.value else { return Err(de::Error::custom("the document changed")) };
        let mut map = Vec::with_capacity(shapes.len());
        for (key, value) in shapes {
            let seed = AsWritten { shape: key, state: &mut *self.state };
            let Some(key) = entries.next_key_seed(seed)? else { break };
            let seed = AsWritten { shape: value, state: &mut *self.state };
            map.push(at_its_key(key, entries.next_value_seed(seed)?));
        }
        entries.next_key::<IgnoredAny>()?;
        Ok(Node { at: place_of(map.first().map(|(key, _)| key), self.state.last), value: Value::Map(map) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use proptest::collection::vec;
    use proptest::prelude::*;
    use proptest::sample::select;
    use std::cell::Cell;
    use std::sync::Arc;

    fn faults(text: &str) -> usize {
        let problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: String::new() }));
        let parsed = parse(text, &problems);
        assert_eq!(parsed.is_none(), !problems.is_empty());
        problems.len()
    }

    fn refused(text: &str) -> Problem {
        let problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: String::new() }));
        assert!(parse(text, &problems).is_none(), "{}", &text[..text.len().min(80)]);
        let rejected = problems.settle(None::<()>).unwrap_err();
        rejected.problems().next().unwrap().1.clone()
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
    fn after_one_that_is_not_found_no_number_is_sought() {
        let sought = |text: &str| {
            let mut state = Reading::of(text);
            First(&mut state).deserialize(serde_yaml::Deserializer::from_str(text)).unwrap();
            (state.sought, state.rewritten)
        };
        let numbers = "- 5 # five\n".repeat(1_000);
        assert_eq!(sought(&numbers), (1_000, false));
        // A number that is written otherwise, one behind a text that the parser put together, and a repetition.
        for before in ["- 0x10\n", "- \"\\t\"\n", "- &a b\n"] {
            assert_eq!(sought(&format!("{before}{numbers}")), (1, true), "{before}");
        }
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
        // Also from behind a quote that closes nothing.
        for (before, nested) in [
            ("", "{a: "),
            ("", "{a:\n"),
            ("a: |\n  \"\nb:\n", "{a:\n"),
            ("a: it's\nb:\n", "{a:\n"),
            ("", "{a: \"}\", b: "),
            ("", "{a: # }\n"),
            ("", "[a: "),
            ("", "{a: !<]> "),
            ("", "{&a "),
        ] {
            let text = |times: usize| format!("{before}{}", nested.repeat(times));
            assert!(too_costly(&text(30_000)).is_some(), "{nested}");
            assert!(too_costly(&text(1_000)).is_none(), "{nested}");
        }
        assert!(too_costly(&format!("a{0}: {1}", "]".repeat(10_000), "{b: ".repeat(30_000))).is_some());
        for marks in ["- ", "? ", ": ", "? ? ? ? \n", "[?,", "{a,", "- - - a\n"] {
            assert!(too_costly(&marks.repeat(2 * MOST_MARKS)).is_some(), "{marks}");
        }
    }

    #[test]
    fn rows_with_closed_quotes_leave_no_bracket_open() {
        let rows = [
            r#"- {crop: "kale", plants: 80, tray: "50-cell"}"#,
            "- {crop: 'sow''s ear', plants: 80} # it's [one",
            "- \"in a line {\"",
            "- it's 5\" deep, [see below]",
            "- {a: [*b, &c d], 'e': \"\\\"}\"}",
            "- {size: 5\", name: it's}",
        ];
        let mut open = Open::default();
        for row in (0..100).flat_map(|_| rows) {
            let bytes = row.as_bytes();
            for (at, byte) in bytes.iter().enumerate() {
                let neighbour = |at: usize| bytes.get(at).copied().unwrap_or(b'\n');
                open.pass(neighbour(at.wrapping_sub(1)), *byte, neighbour(at + 1));
                assert!(open.most() <= 5, "{row}");
            }
            open.pass(b'}', b'\n', b'-');
        }
        assert_eq!(faults(&format!("{}\n", rows[0]).repeat(40_000)), 0);
        assert_eq!(faults(&format!("{}\n{}\n", rows[0], rows[2]).repeat(10_000)), 0);
    }

    /// How many lists and maps the parser has open at most.
    struct Depth<'d>(usize, &'d Cell<usize>);

    impl<'de> DeserializeSeed<'de> for Depth<'_> {
        type Value = ();

        fn deserialize<D: de::Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
            deserializer.deserialize_any(self)
        }
    }

    impl<'de> Visitor<'de> for Depth<'_> {
        type Value = ();

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("anything")
        }

        fn visit_unit<E>(self) -> Result<(), E> {
            Ok(())
        }

        fn visit_none<E>(self) -> Result<(), E> {
            Ok(())
        }

        fn visit_str<E>(self, _: &str) -> Result<(), E> {
            Ok(())
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut entries: A) -> Result<(), A::Error> {
            self.1.set(self.1.get().max(self.0 + 1));
            while entries.next_element_seed(Depth(self.0 + 1, self.1))?.is_some() {}
            Ok(())
        }

        fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<(), A::Error> {
            self.1.set(self.1.get().max(self.0 + 1));
            while entries.next_key_seed(Depth(self.0 + 1, self.1))?.is_some() {
                entries.next_value_seed(Depth(self.0 + 1, self.1))?;
            }
            Ok(())
        }
    }

    /// What the parser has open at most up to the first fault, and what the count says.
    fn depths(text: &str) -> (usize, usize) {
        let depth = Cell::new(0);
        // A fault ends it.
        let _ = Depth(0, &depth).deserialize(serde_yaml::Deserializer::from_str(text));
        let (mut open, mut most) = (Open::default(), 0);
        for (at, byte) in text.bytes().enumerate() {
            let neighbour = |at: usize| text.as_bytes().get(at).copied().unwrap_or(b'\n');
            open.pass(neighbour(at.wrapping_sub(1)), byte, neighbour(at + 1));
            most = most.max(open.most());
        }
        (depth.get(), most)
    }

    const PIECES: &[&str] = &[
        "[", "[", "[", "[", "]", "{", "{", "}", "\"", "\"", "'", "'", "''", "\\", "#", " #", "\n", "\n", " ", " ", "a",
        "a ", ",", ", ", "!a ", "!<]> ", "!<[> ", "&a ", "*b", "|", ">", "]'", "\"]",
    ];
    const OF_MAPS: &[&str] = &[
        "{", "{", "{a: ", "{a: ", "}", ":", ": ", "a: ", "\"a\":", "?", "? ", "\"", "\"", "'", "'", "\\", " #", "\n",
        " ", "a", ", ", ", ", "!a ", "&a ", "*b ",
    ];

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

        /// Without colons, dashes and question marks every list and map has its bracket, but for
        /// those of the beginning.
        #[test]
        fn the_count_of_brackets_is_never_below_the_parsers(
            (before, around) in select(&[("", 0), ("a: ", 1), ("- ", 1), ("a: |\n  \"\nb: ", 1), ("a: it's\nb: [a, ", 1)][..]),
            pieces in vec(select(PIECES), 0..25),
        ) {
            let text = format!("{before}{}", pieces.concat());
            let (depth, most) = depths(&text);
            prop_assert!(depth <= most + around, "{text:?}: {depth}, {most}");
        }

        /// The same of maps within maps, whose brackets may be keys; the two maps around them are not counted.
        #[test]
        fn nor_within_maps(pieces in vec(select(OF_MAPS), 0..25)) {
            let text = format!("{{a: {}", pieces.concat());
            let (depth, most) = depths(&text);
            prop_assert!(depth <= most + 2, "{text:?}: {depth}, {most}");
        }
    }

    #[test]
    fn what_is_repeated_is_counted_each_time() {
        let text = |length: usize, times: usize| {
            format!("a: &a \"\\t{}\"\nb: [{}]\n", "x".repeat(length), "*a, ".repeat(times))
        };
        assert_eq!(faults(&text(1_000, 20_000)), 0);
        let problem = refused(&text(1_000, 40_000));
        assert!(problem.what.ends_with(TOO_MANY), "{problem:?}");
        // As keys, and as a number that is written long.
        let keys = format!("a: &a {}\nb:\n{}", "x".repeat(1_000), "- {*a : c}\n".repeat(40_000));
        assert!(refused(&keys).what.ends_with(TOO_MANY));
        let number = format!("a: &a !!int \"0x{}\\x31\"\nb: [{}]\n", "0".repeat(1_000), "*a, ".repeat(40_000));
        assert!(refused(&number).what.ends_with(TOO_MANY));
        let long = format!("a: &a 1\nb:\n{}", "- 1e308\n".repeat(100_000));
        assert!(refused(&long).what.ends_with(TOO_MANY));
    }

    #[test]
    fn every_fault_has_its_place() {
        let at = |text: &str| refused(text).at.map(|at| text[at.start..].to_owned());
        for (text, wanted) in [
            ("a: 1\n---\nb: 2\n", "---\nb: 2\n"),
            ("--- # one\n# two\n--- {b: 2}\n", "--- {b: 2}\n"),
            ("%YAML 1.1\n---\na: 1\n...\n---\n", "---\n"),
            ("{a: 1}\nb: 2\n", "b: 2\n"),
            ("a: [1, 2\nb: 3\n", ": 3\n"),
            ("a: *nobody\n", "*nobody\n"),
            ("a: &a [*a]\n", "&a [*a]\n"),
        ] {
            assert_eq!(at(text).as_deref(), Some(wanted), "{text}");
        }
        // Each of nine repeats the nine before it.
        let mut bomb = "a: 2 * 3 ** 4\na0: &a0 [x, x, x, x, x, x, x, x, x]\n".to_owned();
        for level in 1..12 {
            let star = format!("*a{}", level - 1);
            bomb += &format!("a{level}: &a{level} [{}]\n", [star.as_str(); 9].join(", "));
        }
        assert_eq!(at(&bomb).as_deref(), bomb.find("*a0").map(|at| &bomb[at..]));
        assert!(at("a: \"\\e[31m\"\n").is_some() && at("a: !tag 1\n").is_some());
    }

    #[test]
    fn characters_that_turn_the_direction_are_refused() {
        let problem = refused("a: \"b\\u202Ec\"\n");
        assert!(problem.what.contains("U+202E"), "{problem:?}");
    }

    #[test]
    fn long_lists_are_no_nesting() {
        assert_eq!(faults(&format!("a: [{}]\n", "{b: c}, ".repeat(9_000))), 0);
        assert_eq!(faults(&"- {a: \"b\"}  # [\n".repeat(2_000)), 0);
        assert_eq!(faults(&"- {crop: kale, plants: 80, tray: 50-cell}\n".repeat(40_000)), 0);
    }
}
