//! What a report says in addition to its figures.

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
    pub fn new(code: &'static str, text: impl Into<String>) -> Self {
        Self { code, text: text.into() }
    }
}

/// A sentence with its code, written like `format!`.
macro_rules! remark {
    ($code:expr, $($text:tt)+) => { $crate::report::Remark::new($code, format!($($text)+)) };
}
pub(super) use remark;

/// A sentence on some ingredients, if there are any.
pub fn on<T: AsRef<str>>(code: &'static str, names: &[T], text: impl FnOnce(&str) -> String) -> Option<Remark> {
    (!names.is_empty()).then(|| Remark::new(code, text(&super::words::and(names))))
}

/// The sentences alone.
pub fn texts(remarks: &[Remark]) -> Vec<String> {
    remarks.iter().map(|remark| remark.text.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_said_of_no_ingredient() {
        let say = |names: &[&str]| on("missing", names, |names| format!("Missing: {names}."));
        assert_eq!(say(&[]), None);
        assert_eq!(say(&["peat", "lime"]), Some(remark!("missing", "Missing: {} and {}.", "peat", "lime")));
    }
}
