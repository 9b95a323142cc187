//! One argument of the command line, read with the faults of a file.

use crate::diagnostic::{Problems, Rejected, SourceText, Span};

/// Reads an argument; its place is all of it.
pub(super) fn argument<T>(
    option: &str,
    text: &str,
    read: impl FnOnce(Span, &Problems) -> Option<T>,
) -> Result<T, Rejected> {
    let source = SourceText::argument(option, text);
    let at = source.whole();
    let problems = Problems::new(source);
    let value = read(at, &problems);
    problems.settle(value).map(|(value, _)| value)
}
