//! One fault, the faults of one file, and the rejection of several files.

use super::{Asked, Code, Span};
use crate::units::{Assumption, Fault};
use std::cell::{Cell, OnceCell, Ref, RefCell};
use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

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

/// The most faults of a file that are shown; the others are counted.
pub const MOST_SHOWN: usize = 100;

/// The most that are kept where some of them may be taken back.
const MOST_KEPT: usize = 10_000;

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
        Self { code, what: readable(what.into()), at: Some(at), expected: expected.into(), help: None }
    }

    /// A fault of the file as a whole.
    pub fn of_file(code: Code, what: impl Into<String>, help: Option<String>) -> Self {
        Self { code, what: readable(what.into()), at: None, expected: String::new(), help }
    }

    /// The same with advice.
    #[must_use]
    pub fn with_help(mut self, help: Option<String>) -> Self {
        self.help = help.map(readable);
        self
    }

    /// A value that could not be read.
    pub fn of_quantity(at: Span, fault: &Fault, expected: &str) -> Self {
        let code = match fault {
            Fault::Choice { .. } => Code::Choice,
            Fault::Long(..) => Code::TooLarge,
            Fault::NoDay(_) => Code::Date,
            _ => Code::Quantity,
        };
        Self::new(code, at, fault.to_string(), expected).with_help(fault.help())
    }
}

/// A message that quotes a text of any length, cut to what a person reads.
fn readable(message: String) -> String {
    const LONGEST: usize = 1000;
    match message.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{} ...", &message[..end]),
        None => message,
    }
}

/// The faults of one file, gathered while it is read.
///
/// Shared while reading: every reader may add to it.
#[derive(Debug)]
pub struct Problems {
    source: Arc<SourceText>,
    /// A text that was laid under it: its places begin where those of the first text end.
    beside: OnceCell<Arc<SourceText>>,
    /// The first of them.
    found: RefCell<Vec<Problem>>,
    /// How many there are in all.
    count: Cell<usize>,
    /// How many are kept.
    most: Cell<usize>,
    assumptions: RefCell<BTreeSet<Assumption>>,
    /// What was asked, where that is kept.
    asked: Option<RefCell<Vec<Asked>>>,
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
        let (beside, found, count, assumptions) = Default::default();
        Self { source, beside, found, count, most: Cell::new(MOST_SHOWN), assumptions, asked: None }
    }

    /// Keeps more than are shown: some may be taken back, or it is asked of each where it stands.
    pub fn keep_more(&self) {
        self.most.set(MOST_KEPT);
    }

    /// None yet, where it is kept what the readers ask.
    #[cfg(test)]
    pub(crate) fn recording(source: Arc<SourceText>) -> Self {
        Self { asked: Some(RefCell::default()), ..Self::new(source) }
    }

    /// Something was asked.
    pub(crate) fn ask(&self, asked: impl FnOnce() -> Asked) {
        if cfg!(test)
            && let Some(all) = &self.asked
        {
            all.borrow_mut().push(asked());
        }
    }

    /// All that was asked.
    #[cfg(test)]
    pub(crate) fn into_asked(self) -> Vec<Asked> {
        self.asked.map(RefCell::into_inner).unwrap_or_default()
    }

    /// Takes in a text whose values are laid under those of the first: their places are to be moved by
    /// [`Problems::beside`], so that a fault of each is told in its own file.
    pub fn lay_beside(&self, source: &Arc<SourceText>) {
        self.beside.get_or_init(|| Arc::clone(source));
    }

    /// Where the places of the text laid under the first one begin.
    pub fn beside(&self) -> usize {
        self.source.text.len() + 1
    }

    /// Whether a place is in the text that was laid under the first one.
    pub fn is_beside(&self, at: Span) -> bool {
        self.beside.get().is_some() && at.start >= self.beside()
    }

    /// One more.
    pub fn push(&self, problem: Problem) {
        self.push_with(|| problem);
    }

    /// One more, made only if it will be shown: to look for a near name takes longer than all
    /// other reading.
    pub fn push_with(&self, problem: impl FnOnce() -> Problem) {
        self.count.set(self.count.get() + 1);
        if self.count.get() <= self.most.get() {
            let problem = problem();
            self.found.borrow_mut().push(problem);
        }
    }

    /// One more at a place.
    pub fn fault(&self, code: Code, at: Span, what: impl Into<String>, expected: impl Into<String>) {
        self.push(Problem::new(code, at, what, expected));
    }

    /// The same, where a value was asked for: there is none.
    pub fn deny<T>(&self, code: Code, at: Span, what: impl Into<String>, expected: impl Into<String>) -> Option<T> {
        self.refuse(Problem::new(code, at, what, expected))
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
        read.map_err(|fault| self.push_with(|| Problem::of_quantity(at, &fault, expected))).ok()
    }

    /// How many so far.
    pub fn len(&self) -> usize {
        self.count.get()
    }

    /// Whether nothing is wrong so far.
    pub fn is_empty(&self) -> bool {
        self.count.get() == 0
    }

    /// Those that are kept so far.
    pub fn found(&self) -> Ref<'_, Vec<Problem>> {
        self.found.borrow()
    }

    /// Takes back what turned out to be no fault.
    pub fn take_back(&self, is: impl Fn(&Problem) -> bool) {
        let mut found = self.found.borrow_mut();
        let before = found.len();
        found.retain(|problem| !is(problem));
        self.count.set(self.count.get() - (before - found.len()));
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
        let beside = self.beside();
        let mut found = self.found.into_inner();
        if let Some(value) = value.filter(|_| found.is_empty()) {
            return Ok((value, self.assumptions.into_inner()));
        }
        let mut more = self.count.get() - found.len();
        found.sort_by_key(|problem| problem.at);
        found.dedup();
        more += found.len().saturating_sub(MOST_SHOWN);
        found.truncate(MOST_SHOWN);
        let other = self.beside.into_inner();
        let is_own = |problem: &Problem| other.is_none() || problem.at.is_none_or(|at| at.start < beside);
        let mut of_other = found.split_off(found.partition_point(is_own));
        for at in of_other.iter_mut().filter_map(|problem| problem.at.as_mut()) {
            *at = Span::new(at.start - beside, at.end - beside);
        }
        let other = other.filter(|_| !of_other.is_empty());
        let other = other.map(|source| Faults { source, found: of_other, more: 0 });
        let own = Faults { source: self.source, found, more };
        Err(Rejected { files: [own].into_iter().chain(other).collect() })
    }
}

/// Files that cannot be used, with every fault of each.
#[derive(Clone, Debug, Default)]
pub struct Rejected {
    files: Vec<Faults>,
}

/// The faults of a file, in the order of their places.
#[derive(Clone, Debug)]
pub(super) struct Faults {
    pub(super) source: Arc<SourceText>,
    /// Those to be shown.
    pub(super) found: Vec<Problem>,
    /// How many there are besides.
    pub(super) more: usize,
}

impl Rejected {
    /// A file that could not be read at all.
    pub fn file(name: &str, problem: Problem) -> Self {
        Self::of(SourceText::argument(name, ""), problem)
    }

    /// One fault of a text.
    pub fn of(source: Arc<SourceText>, problem: Problem) -> Self {
        Self { files: vec![Faults { source, found: vec![problem], more: 0 }] }
    }

    /// A value that was read, or `None` with its faults taken in.
    pub fn accept<T>(&mut self, read: Result<T, Self>) -> Option<T> {
        read.map_err(|rejected| *self = std::mem::take(self).and(rejected)).ok()
    }

    /// The value, unless something was rejected.
    ///
    /// # Errors
    /// [`Rejected`] with all that was taken in.
    pub fn or<T>(self, value: T) -> Result<T, Self> {
        if self.files.is_empty() { Ok(value) } else { Err(self) }
    }

    /// Both together, each fault once: two files may name one that is at fault.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        for mut file in other.files {
            for known in self.files.iter().filter(|known| known.source.name == file.source.name) {
                file.found.retain(|fault| !known.found.contains(fault));
                file.more = file.more.saturating_sub(known.more);
            }
            self.files.push(file);
        }
        self
    }

    /// Every fault that is shown, with its file.
    pub fn problems(&self) -> impl Iterator<Item = (&SourceText, &Problem)> {
        self.files.iter().flat_map(|file| file.found.iter().map(|one| (file.source.as_ref(), one)))
    }

    pub(super) fn files(&self) -> &[Faults] {
        &self.files
    }
}
