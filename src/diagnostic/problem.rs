//! One fault, the faults of one file, and the rejection of several files.

use super::Code;
use crate::units::{Assumption, Fault};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

/// A place in a text: byte offsets, end exclusive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// From one offset to another.
    pub const fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The place of a piece, without the blanks around it, that starts so many bytes into the
    /// text of this place; all of it where the text is not written as it reads (quotes, escapes).
    #[must_use]
    pub fn of_piece(self, offset: usize, piece: &str) -> Self {
        let start = self.start + offset + piece.len() - piece.trim_start().len();
        let end = start + piece.trim().len();
        if end <= self.end { Self { start, end } } else { self }
    }
}

/// A text and what to call it in messages.
pub struct SourceText {
    /// The path as the user wrote it, or a word such as `--have`.
    pub name: String,
    /// The whole text.
    pub text: String,
}

impl fmt::Debug for SourceText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({} bytes)", self.name, self.text.len())
    }
}

/// One fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Its kind.
    pub code: Code,
    /// What is wrong, in a line.
    pub what: String,
    /// Where; `None` for a fault of the file as a whole.
    pub at: Option<Span>,
    /// What was expected there.
    pub expected: String,
    /// What would put it right.
    pub help: Option<String>,
}

impl Problem {
    /// A fault at a place.
    pub fn new(code: Code, at: Span, what: impl Into<String>, expected: impl Into<String>) -> Self {
        Self { code, what: what.into(), at: Some(at), expected: expected.into(), help: None }
    }

    /// A fault of the file as a whole.
    pub fn of_file(code: Code, what: impl Into<String>, help: Option<String>) -> Self {
        Self { code, what: what.into(), at: None, expected: String::new(), help }
    }

    /// The same with advice.
    #[must_use]
    pub fn with_help(mut self, help: Option<String>) -> Self {
        self.help = help;
        self
    }

    /// A quantity that could not be read.
    pub fn of_quantity(at: Span, fault: &Fault, expected: &str) -> Self {
        let code = if matches!(fault, Fault::Choice { .. }) { Code::Choice } else { Code::Quantity };
        Self::new(code, at, fault.to_string(), expected).with_help(fault.help())
    }
}

/// The faults of one file, gathered while it is read.
///
/// Shared while reading: every reader may add to it.
#[derive(Debug)]
pub struct Problems {
    source: Arc<SourceText>,
    found: RefCell<Vec<Problem>>,
    assumptions: RefCell<BTreeSet<Assumption>>,
}

impl SourceText {
    /// An argument of the command line as a text of its own, so that a fault quotes it.
    pub fn argument(option: &str, text: &str) -> Arc<Self> {
        Arc::new(Self { name: option.to_owned(), text: text.to_owned() })
    }

    /// All of it.
    pub fn whole(&self) -> Span {
        Span::new(0, self.text.len())
    }
}

impl Problems {
    /// None yet.
    pub fn new(source: Arc<SourceText>) -> Self {
        Self { source, found: RefCell::default(), assumptions: RefCell::default() }
    }

    /// One more. Past a thousand the file is past reading, and none is kept.
    pub fn push(&self, problem: Problem) {
        const KEPT: usize = 1000;
        let mut found = self.found.borrow_mut();
        if found.len() < KEPT {
            found.push(problem);
        }
    }

    /// One more, where a value was asked for: there is none.
    pub fn refuse<T>(&self, problem: Problem) -> Option<T> {
        self.push(problem);
        None
    }

    /// A bare unit was taken for one of its meanings.
    pub fn assume(&self, assumption: Option<Assumption>) {
        self.assumptions.borrow_mut().extend(assumption);
    }

    /// The quantity that was read at a place, or its fault as one more.
    pub fn quantity<T>(&self, at: Span, read: Result<T, Fault>, expected: &str) -> Option<T> {
        read.map_err(|fault| self.push(Problem::of_quantity(at, &fault, expected))).ok()
    }

    /// How many so far.
    pub fn len(&self) -> usize {
        self.found.borrow().len()
    }

    /// Whether nothing is wrong so far.
    pub fn is_empty(&self) -> bool {
        self.found.borrow().is_empty()
    }

    /// The text that is being read.
    pub fn source(&self) -> &Arc<SourceText> {
        &self.source
    }

    /// The value and the units assumed in it, or the rejection of the file.
    ///
    /// # Errors
    /// [`Rejected`] if anything was found, or if there is no value.
    pub fn settle<T>(self, value: Option<T>) -> Result<(T, BTreeSet<Assumption>), Rejected> {
        let mut found = self.found.into_inner();
        match value {
            Some(value) if found.is_empty() => Ok((value, self.assumptions.into_inner())),
            _ => {
                found.sort_by_key(|problem| problem.at);
                found.dedup();
                Err(Rejected { files: vec![(self.source, found)] })
            }
        }
    }
}

/// Files that cannot be used, with every fault of each.
#[derive(Clone, Debug, Default)]
pub struct Rejected {
    files: Vec<(Arc<SourceText>, Vec<Problem>)>,
}

impl Rejected {
    /// A file that could not be read at all.
    pub fn file(name: &str, problem: Problem) -> Self {
        Self::of(SourceText::argument(name, ""), problem)
    }

    /// One fault of a text.
    pub fn of(source: Arc<SourceText>, problem: Problem) -> Self {
        Self { files: vec![(source, vec![problem])] }
    }

    /// A value that was read, or `None` with its faults taken in.
    pub fn accept<T>(&mut self, read: Result<T, Self>) -> Option<T> {
        read.map_err(|rejected| self.files.extend(rejected.files)).ok()
    }

    /// The value, unless something was rejected.
    ///
    /// # Errors
    /// [`Rejected`] with all that was taken in.
    pub fn or<T>(self, value: T) -> Result<T, Self> {
        if self.files.is_empty() { Ok(value) } else { Err(self) }
    }

    /// Both together.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.files.extend(other.files);
        self
    }

    /// Every fault with its file.
    pub fn problems(&self) -> impl Iterator<Item = (&SourceText, &Problem)> {
        self.files.iter().flat_map(|(source, found)| found.iter().map(move |one| (source.as_ref(), one)))
    }
}
