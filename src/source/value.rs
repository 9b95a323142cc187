//! Values as people write them. Files, tables and the command line ask for a value by its
//! type, which knows how it is read and what to expect of it.

use super::yaml::{Node, Value};
use crate::diagnostic::{Asked, Code, Looks, Problem, Problems, Rejected, SourceText, Span};
use crate::exact::Fraction;
use crate::units::length::millimetre;
use crate::units::{
    Assumption, Bounds, Fault, Length, Mass, MassDensity, Parsed, Quantity, Rate, UnitSystem, Volume, count, density,
    density_range, footprint, is_of_us, length, mass, mass_or_volume, one_of, per_gram, rate, share, to_litres, volume,
    volume_range, within,
};
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// The most characters of a name: a key, or a value that is read as a `String`.
pub(crate) const LONGEST_NAME: usize = 200;
/// The most characters of any other value in one piece, be it a sum or the path of a file.
const LONGEST_VALUE: usize = 1000;

/// A text for people only, such as `about:`, of any length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prose(pub String);

impl FromNode for Prose {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        match &node.value {
            Value::Text(text) => Some(Self(text.as_ref().to_owned())),
            _ => text_of(node, String::EXPECTED, problems).map(|text| Self(text.to_owned())),
        }
    }

    fn looks() -> Looks {
        Looks::Text { expected: "a text", reads: |_| Ok(()) }
    }
}

/// A text of no more than so many characters.
fn within_length(text: &str, most: usize) -> Result<&str, Fault> {
    // No character is shorter than a byte.
    match text.len() > most && text.chars().count() > most {
        true => Err(Fault::Long(text.chars().count(), most)),
        false => Ok(text),
    }
}

/// A value that is written in one piece.
pub trait FromText: Sized {
    /// What is expected where it stands, for messages.
    const EXPECTED: &'static str;

    /// Reads it, and notes what a bare unit was taken for.
    ///
    /// # Errors
    /// A [`Fault`] that says why the text is no such value.
    fn from_text(text: &str) -> Result<Parsed<Self>, Fault>;
}

/// A value of a file: in one piece, a list, or a set of keys.
pub trait FromNode: Sized {
    /// Reads it; what is wrong goes to `problems`.
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self>;

    /// What it may look like, as far as its type tells.
    fn looks() -> Looks {
        Looks::Unknown
    }
}

impl<T: FromText> FromNode for T {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        problems.ask(|| Asked::Value { at: node.at, looks: T::looks() });
        value(text_of(node, T::EXPECTED, problems)?, node.at, problems)
    }

    fn looks() -> Looks {
        Looks::Text { expected: T::EXPECTED, reads: |text| T::from_text(text).map(|_| ()) }
    }
}

/// A list; a single value counts as a list of one.
impl<T: FromNode> FromNode for Vec<T> {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        Some(list(node).iter().filter_map(|entry| T::from_node(entry, problems)).collect())
    }

    fn looks() -> Looks {
        Looks::List(Box::new(T::looks()))
    }
}

/// Names with a value each.
impl<T: FromNode> FromNode for BTreeMap<String, T> {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let read = |(name, _, value): (&str, _, _)| Some((name.to_owned(), T::from_node(value, problems)?));
        Some(entries(node, "names", problems)?.into_iter().filter_map(read).collect())
    }

    fn looks() -> Looks {
        Looks::Names(Box::new(T::looks()))
    }
}

/// A text at its place, and where its faults go.
#[derive(Clone, Copy)]
pub struct Written<'w> {
    /// What is written.
    pub text: &'w str,
    /// Where.
    pub at: Span,
    /// The faults of the file.
    pub problems: &'w Problems,
}

/// Reads the text that stands at a place; what is wrong, or what a bare unit was taken for,
/// goes to `problems`.
pub fn value<T: FromText>(text: &str, at: Span, problems: &Problems) -> Option<T> {
    let parsed = problems.quantity(at, T::from_text(text), T::EXPECTED)?;
    problems.assume(parsed.assumption);
    Some(parsed.value)
}

/// Reads an argument of the command line as a text of its own, so that a fault quotes it.
///
/// # Errors
/// [`Rejected`] with the option's name where the text is no such value.
///
/// ```
/// use trayful::source::argument;
/// use trayful::units::{Volume, to_litres};
/// assert_eq!(argument::<Volume>("--make", "40 L").map(to_litres).unwrap(), 40.0);
/// assert!(argument::<Volume>("--make", "40").unwrap_err().to_string().contains("--make:1:1"));
/// ```
pub fn argument<T: FromText>(option: &str, text: &str) -> Result<T, Rejected> {
    argument_with_units(option, text).map(|(value, _)| value)
}

/// The same, with what was taken for bare units in it.
///
/// # Errors
/// As [`argument`].
pub fn argument_with_units<T: FromText>(option: &str, text: &str) -> Result<(T, BTreeSet<Assumption>), Rejected> {
    let source = SourceText::argument(option, text);
    let (at, problems) = (source.whole(), Problems::new(source));
    let read = value(text, at, &problems);
    problems.settle(read)
}

/// Types that hold one value: what each holds, what is expected of it, and how its text is read.
macro_rules! figures {
    ($($(#[$doc:meta])* $name:ident($type:ty): $expected:expr, $text:ident => $read:expr;)+) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Copy, Debug, PartialEq)]
            pub struct $name(pub $type);

            impl crate::source::FromText for $name {
                const EXPECTED: &'static str = $expected;

                fn from_text($text: &str) -> Result<crate::units::Parsed<Self>, crate::units::Fault> {
                    Ok(crate::units::Parsed::<$type>::from($read?).map(Self))
                }
            }
        )+
    };
}
pub(crate) use figures;

/// The same for types that hold a number of things, from one to a bound: what each holds, what is counted,
/// and the bound.
macro_rules! counts {
    ($($(#[$doc:meta])* $name:ident($type:ty): $what:literal, $most:literal;)+) => {
        crate::source::figures! {
            $(
                $(#[$doc])*
                $name($type): concat!($what, " from 1 to ", $most), text => crate::units::count_up_to::<$type>($most, text);
            )+
        }
    };
}
pub(crate) use counts;

figures! {
    /// A share of the whole, from 0 to 100 %.
    Share(Fraction): "a share such as `15 %`", text => share(text);
    /// A share of the whole above zero.
    PositiveShare(Fraction): "a share above 0 %, such as `85 %`", text => above_zero(share(text)?, text);
    /// Seeds in a gram.
    PerGram(Fraction): "seeds in a gram, such as `350`",
        text => per_gram(text).and_then(|seeds| within(seeds, seeds.to_f64(), SEEDS_PER_GRAM, text));
    /// A tub, full to the brim.
    Tub(Volume): "a volume such as `60 L`", text => vessel(text, TUB_L);
    /// How far a scooped share may lie from the recipe's, as a share of it.
    Tolerance(Fraction): "a share such as `10 %`",
        text => share(text).and_then(|share| within(share, share.to_f64(), TOLERANCE, text));
    /// The openings of a sieve.
    Mesh(Length): "a length such as `50 mm`",
        text => length(text).and_then(|mesh| within(mesh, mesh.get::<millimetre>(), MESH_MM, text));
    /// How deep a layer in a cell is: no deeper than the deepest of cells.
    LayerDepth(Length): "a length such as `50 mm`",
        text => length(text).and_then(|depth| within(depth, depth.get::<millimetre>(), LAYER_MM, text));
}

/// From a nut to the finest dust: a coconut has a thousandth, an orchid millions.
const SEEDS_PER_GRAM: Bounds = (1e-4..=1e7, "a gram is 0.0001 to 10,000,000 seeds");
const TUB_L: Bounds = (0.1..=1e6, "a tub holds 0.1 L to 1,000 m3");
const SCOOP_L: Bounds = (0.001..=1000.0, "a scoop holds 1 mL to 1 m3");
/// The eye tells no less, and beyond it the recipe would be another.
const TOLERANCE: Bounds = (0.01..=0.5, "a tolerance is 1 to 50 %");
const LAYER_MM: Bounds = (0.1..=300.0, "a layer in a cell is 0.1 to 300 mm deep");
const MESH_MM: Bounds = (0.1..=200.0, "a sieve has meshes of 0.1 to 200 mm");

fn vessel(text: &str, bounds: Bounds) -> Result<Parsed<Volume>, Fault> {
    volume(text).and_then(|vessel| within(vessel, to_litres(vessel.value), bounds, text))
}

/// A scoop.
#[derive(Clone, Debug, PartialEq)]
pub struct Scoop {
    /// What it holds.
    pub volume: Volume,
    /// What it is called: as it is written.
    pub written: String,
    /// It is of a US measure, and so are those that are finer.
    pub is_us: bool,
}

impl FromText for Scoop {
    const EXPECTED: &'static str = Volume::EXPECTED;

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        let (written, is_us) = (text.trim().to_owned(), is_of_us(text));
        Ok(vessel(text, SCOOP_L)?.map(|volume| Self { volume, written, is_us }))
    }
}

/// A number that is not zero.
///
/// # Errors
/// [`Fault::Zero`], which quotes the text, for zero.
pub(crate) fn above_zero(number: Fraction, text: &str) -> Result<Fraction, Fault> {
    if number.is_zero() { Err(Fault::Zero(text.trim().to_owned())) } else { Ok(number) }
}

/// What is expected of a type, and how its text is read.
macro_rules! from_text {
    ($($type:ty: $expected:literal, $read:expr;)+) => {
        $(impl FromText for $type {
            const EXPECTED: &'static str = $expected;

            fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
                $read(text).map(Parsed::from)
            }
        })+
    };
}

from_text! {
    Volume: "a volume such as `60 L`", volume;
    Quantity: "an amount such as `40 L` or `500 g`", mass_or_volume;
    Rate: "a dose such as `1 g/L`, `5 lb/cu yd` or `1 tbsp/gal`", rate;
    Mass: "a mass such as `650 g`", mass;
    Length: "a length such as `50 mm`", length;
    MassDensity: "a density such as `200 g/L`", density;
    (MassDensity, MassDensity): "a range of densities such as `130-180 g/L`", density_range;
    (Volume, Volume): "a range of volumes such as `27-33 mL`", volume_range;
    (Length, Length): "two sides such as `54 x 28 cm`", footprint;
    u64: "a whole number", count;
    bool: "one of yes, no, true, false",
        |text| one_of(text, &[("yes", true), ("no", false), ("true", true), ("false", false)]);
    UnitSystem: "one of metric, us", |text| one_of(text, UnitSystem::WORDS);
    String: "a word or a line of text", |text: &str| within_length(text, LONGEST_NAME).map(str::to_owned);
}

/// Choices between a few words: the types, their words, how they are read and printed.
macro_rules! words {
    ($(
        $(#[$doc:meta])* $name:ident {
            $(#[$first_doc:meta])* $first:ident = $first_word:literal
            $(, $(#[$each:meta])* $variant:ident = $word:literal)* $(,)?
        }
    )+) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
            pub enum $name { $(#[$first_doc])* $first $(, $(#[$each])* $variant)* }
            impl $name {
                /// Every value with its word in files.
                pub const WORDS: &'static [(&'static str, Self)] =
                    &[($first_word, Self::$first) $(, ($word, Self::$variant))*];
                /// Its word in files and results.
                pub const fn word(self) -> &'static str {
                    match self { Self::$first => $first_word $(, Self::$variant => $word)* }
                }
            }
            impl serde::Serialize for $name {
                fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                    serializer.serialize_str(self.word())
                }
            }
            impl std::fmt::Display for $name {
                fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                    f.pad(self.word())
                }
            }
            impl crate::source::FromText for $name {
                const EXPECTED: &'static str = concat!("one of ", $first_word $(, ", ", $word)*);
                fn from_text(text: &str) -> Result<crate::units::Parsed<Self>, crate::units::Fault> {
                    crate::units::one_of(text, Self::WORDS).map(crate::units::Parsed::from)
                }
            }
        )+
    };
}
pub(crate) use words;

/// The entries of a map in order: name, key, value. A name that stands twice is a fault.
pub fn entries<'n>(
    node: &'n Node<'n>,
    what: &str,
    problems: &Problems,
) -> Option<Vec<(&'n str, &'n Node<'n>, &'n Node<'n>)>> {
    let Value::Map(map) = &node.value else {
        let expected = format!("{what}, as keys with values");
        return problems.deny(Code::WrongKind, node.at, format!("this is {}", kind_of(node)), expected);
    };
    // Of a row of a table or an entry of the catalogue, comparing is cheaper than hashing.
    let mut seen = (map.len() > 64).then(|| HashSet::with_capacity(map.len()));
    let mut entries: Vec<(&str, _, _)> = Vec::with_capacity(map.len());
    for (key, value) in map {
        let Value::Text(name) = &key.value else {
            problems.fault(Code::WrongKind, key.at, "this key is no word", "a key");
            continue;
        };
        if let Err(fault) = within_length(name, LONGEST_NAME) {
            problems.push(Problem::of_quantity(key.at, &fault, "a name"));
            continue;
        }
        let is_known = || entries.iter().any(|(known, ..)| known == name);
        if seen.as_mut().map_or_else(|| !is_known(), |seen| seen.insert(name.as_ref())) {
            entries.push((name.as_ref(), key, value));
        } else {
            problems.fault(Code::TwiceKey, key.at, format!("`{name}` stands twice"), "each key once");
        }
    }
    Some(entries)
}

/// What a value is, for messages.
pub fn kind_of(node: &Node<'_>) -> &'static str {
    match node.value {
        Value::Null => "empty",
        Value::Text(_) => "a single value",
        Value::List(_) => "a list",
        Value::Map(_) => "a set of keys",
    }
}

/// The text of a scalar; a fault if it is a list or a map, or longer than any value.
pub fn text_of<'n>(node: &'n Node<'_>, expected: &str, problems: &Problems) -> Option<&'n str> {
    problems.ask(|| Asked::Text { at: node.at, expected: expected.to_owned() });
    match &node.value {
        Value::Text(text) => problems.quantity(node.at, within_length(text, LONGEST_VALUE), expected),
        _ => {
            let what = format!("this is {}", kind_of(node));
            problems.deny(Code::WrongKind, node.at, what, format!("{expected}, as a single value"))
        }
    }
}

/// The entries, unless they are more than `most`: then one fault says so, and none is read.
pub(crate) fn no_more_than<'e, T>(entries: &'e [T], most: usize, what: &str, at: Span, problems: &Problems) -> &'e [T] {
    if entries.len() <= most {
        return entries;
    }
    problems.push(too_many(entries.len(), most, what, at));
    &[]
}

/// The fault of so many entries where only `most` may be.
pub(crate) fn too_many(count: usize, most: usize, what: &str, at: Span) -> Problem {
    Problem::new(Code::TooMany, at, format!("{count} {what} are too many"), format!("at most {most} {what}"))
}

/// The entries of a list; a single value counts as a list of one.
pub fn list<'n>(node: &'n Node<'n>) -> &'n [Node<'n>] {
    match &node.value {
        Value::List(list) => list,
        Value::Null => &[],
        _ => std::slice::from_ref(node),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Code, Problem};
    use crate::source::parse;
    use std::sync::Arc;

    words! {
        /// Sizes.
        Size {
            /// Small.
            Small = "small",
            /// Large.
            Large = "quite large",
        }
    }

    fn read<T: FromNode>(text: &str) -> (Option<T>, Vec<Problem>, Option<Assumption>) {
        let problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: text.to_owned() }));
        let node = parse(text, &problems).unwrap();
        let value = T::from_node(&node, &problems);
        match problems.settle(Some(())) {
            Ok(((), assumed)) => (value, Vec::new(), assumed.into_iter().next()),
            Err(rejected) => (value, rejected.problems().map(|(_, problem)| problem.clone()).collect(), None),
        }
    }

    #[test]
    fn a_type_knows_its_words_and_its_expectation() {
        assert_eq!(read::<Size>("Quite Large").0, Some(Size::Large));
        assert_eq!(Size::Large.to_string(), "quite large");
        let (none, found, _) = read::<Size>("smal");
        assert_eq!((none, found[0].code), (None, Code::Choice));
        assert_eq!(found[0].expected, "one of small, quite large");
        assert_eq!(found[0].help.as_deref(), Some("did you mean `small`?"));
    }

    #[test]
    fn lists_are_read_entry_by_entry() {
        assert_eq!(read::<Vec<Size>>("small").0, Some(vec![Size::Small]));
        let (sizes, found, _) = read::<Vec<Size>>("[small, tiny, quite large, [small]]");
        assert_eq!(sizes, Some(vec![Size::Small, Size::Large]));
        assert_eq!(found.iter().map(|problem| problem.code).collect::<Vec<_>>(), [Code::Choice, Code::WrongKind]);
    }

    #[test]
    fn names_and_values_have_a_length() {
        let of = |length: usize| "ä".repeat(length);
        assert_eq!(read::<String>(&of(200)).0, Some(of(200)));
        let (none, found, _) = read::<String>(&of(201));
        assert_eq!((none, found[0].code, found[0].what.as_str()), (None, Code::TooLarge, "this has 201 characters"));
        assert_eq!(read::<BTreeMap<String, u64>>(&format!("{}: 1", of(200))).0.map(|map| map.len()), Some(1));
        assert_eq!(read::<BTreeMap<String, u64>>(&format!("{}: 1", of(201))).1[0].code, Code::TooLarge);
        assert_eq!(read::<Volume>(&format!("1{}L", " ".repeat(1_000))).1[0].code, Code::TooLarge);
        assert_eq!(read::<Prose>(&of(5_000)).0, Some(Prose(of(5_000))));
    }

    #[test]
    fn what_a_bare_unit_was_taken_for_is_kept() {
        assert_eq!(read::<Volume>("3 gal").2, Some(Assumption::LiquidGallon));
        assert_eq!(read::<Rate>("1 tbsp/gal").2, Some(Assumption::LiquidGallon));
        assert_eq!(read::<Volume>("3 US gal").2, None);
    }

    #[test]
    fn zero_is_no_share_to_divide_by() {
        assert_eq!(read::<Share>("0 %").0, Some(Share(Fraction::ZERO)));
        assert_eq!(read::<PositiveShare>("0 %").1[0].what, "`0 %` is zero");
    }
}
