//! Values of a soak, read the same wherever they stand.

use crate::coir::CoirError;
use crate::diagnostic::{Code, Problem, Problems, Span};
use crate::exact::Fraction;
use crate::source::{Node, entries, text_of};
use crate::units::{Fault, measured, number, to_litres, volume};

pub(super) const HOURS_EXPECTED: &str = "hours such as `24`";
const HOURS: &[(&str, f64)] = &[("h", 1.0), ("hours", 1.0), ("hour", 1.0), ("days", 24.0), ("day", 24.0)];

/// The value of a key, read as a figure.
pub(super) fn figure<T>(
    node: &Node<'_>,
    expected: &str,
    problems: &Problems,
    read: impl FnOnce(&str) -> Result<T, Fault>,
) -> Option<T> {
    problems.quantity(node.at, read(text_of(node, expected, problems)?), expected)
}

/// Litres, a bare customary unit remarked on.
pub(super) fn litres(node: &Node<'_>, expected: &str, problems: &Problems) -> Option<f64> {
    let parsed = figure(node, expected, problems, volume)?;
    problems.assume(parsed.assumption);
    Some(to_litres(parsed.value))
}

/// What was built from figures that stand at a place, or its fault.
pub(super) fn accept<T>(built: Result<T, CoirError>, at: Span, expected: &str, problems: &Problems) -> Option<T> {
    built.map_err(|error| problems.push(Problem::new(Code::Soak, at, error.to_string(), expected))).ok()
}

/// The entries of a map, each read from its name, the place of that and its value; `None` where one is at fault.
pub(super) fn map<T>(
    node: &Node<'_>,
    what: &str,
    problems: &Problems,
    read: impl Fn(&str, Span, &Node<'_>) -> Option<T>,
) -> Option<Vec<T>> {
    let before = problems.len();
    let found = entries(node, what, problems)?;
    let read: Vec<T> = found.into_iter().filter_map(|(name, key, value)| read(name, key.at, value)).collect();
    (problems.len() == before).then_some(read)
}

/// `24`, `24 h` or `1 day`.
pub(super) fn hours(text: &str) -> Result<f64, Fault> {
    number(text).map(Fraction::to_f64).or_else(|_| measured(text, "time", HOURS))
}
