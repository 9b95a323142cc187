//! What a report says beside its figures.

use serde::Serialize;

/// A note, a warning, a caution or an omission: a sentence, with a code that a script can test.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Remark {
    /// The same whatever the figures in the sentence.
    pub code: &'static str,
    /// The sentence.
    pub text: String,
}

impl Remark {
    /// A sentence with its code.
    #[must_use]
    pub fn new(code: &'static str, text: impl Into<String>) -> Self {
        Self { code, text: text.into() }
    }
}

/// The sentences alone.
#[must_use]
pub fn texts(remarks: &[Remark]) -> Vec<String> {
    remarks.iter().map(|remark| remark.text.clone()).collect()
}
