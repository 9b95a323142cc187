//! What the readers ask of a file: kept in tests, for the schemas that they make of it.

use super::Span;
use crate::units::Fault;

/// What a value may look like, by what its type reads.
#[derive(Clone, Debug)]
pub enum Looks {
    /// More than one text: as it is read of a file that has it.
    Unknown,
    /// One text.
    Text {
        /// What is expected, in words.
        expected: &'static str,
        /// Whether a text would do.
        reads: fn(&str) -> Result<(), Fault>,
    },
    /// A list of these, or one alone.
    List(Box<Self>),
    /// Names with one each.
    Names(Box<Self>),
}

/// A question that was asked of a file.
#[derive(Debug)]
#[cfg_attr(not(test), expect(dead_code, reason = "the schemas are made of it, by the tests"))]
pub(crate) enum Asked {
    /// A map was opened for its keys; `what` says what it is.
    Map { at: Span, what: &'static str },
    /// A key of such a map.
    Key { at: Span, what: &'static str, key: &'static str, required: bool, looks: Looks },
    /// Keys of such a map of which one stands there.
    OneOf { what: &'static str, keys: Vec<&'static str> },
    /// A value of a type.
    Value { at: Span, looks: Looks },
    /// A text.
    Text { at: Span, expected: String },
    /// A name of a table.
    Named { at: Span, table: &'static str },
}
