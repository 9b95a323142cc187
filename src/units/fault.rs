//! Why a text is no quantity, and what would put it right.

use crate::spelling::did_you_mean;
use rust_decimal::Decimal;

/// Why a text is not the quantity asked for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// No digits where a number must stand.
    #[error("`{0}` is not a number")]
    NotANumber(String),
    /// A comma for the decimal point.
    #[error("`{0}` has a comma in the number")]
    Comma(String),
    /// Below zero.
    #[error("`{0}` is negative")]
    Negative(String),
    /// Zero where there must be something.
    #[error("`{0}` is zero")]
    Zero(String),
    /// Longer than a name or a value is written: its characters, and the most that are taken.
    #[error("this has {0} characters")]
    Long(usize, usize),
    /// Beyond every tray and tub.
    #[error("`{0}` is too large")]
    TooLarge(String),
    /// Beyond the bounds of its kind, which are given in words.
    #[error("`{0}` cannot be: {1}")]
    OutOfBounds(String, &'static str),
    /// More digits than are kept exactly.
    #[error("`{0}` has more digits than can be kept exactly")]
    TooLong(String),
    /// A number without its unit.
    #[error("`{0}` has no unit")]
    NoUnit(String),
    /// A unit of another kind, or none at all.
    #[error("`{unit}` is not a unit of {kind}")]
    UnknownUnit {
        /// As written.
        unit: String,
        /// What was wanted: volume, mass, length.
        kind: &'static str,
        /// Known spellings, of which the nearest is meant.
        known: Vec<&'static str>,
        /// The one that is meant where none is near.
        usual: Option<&'static str>,
    },
    /// A share without its percent sign.
    #[error("`{0}` has no percent sign")]
    BareShare(String),
    /// A share above the whole.
    #[error("`{0}` is more than the whole")]
    OverWhole(String),
    /// Not a whole number of things.
    #[error("`{0}` is not a whole number")]
    NotWhole(String),
    /// Not of the form asked for.
    #[error("`{0}` cannot be read")]
    Shape(String),
    /// No day of the calendar.
    #[error("`{0}` is not a day of the calendar")]
    NoDay(String),
    /// A figure that cannot be, and why, in words.
    #[error("{0}")]
    Impossible(String),
    /// A word outside its short list.
    #[error("`{word}` is not a choice here")]
    Choice {
        /// As written.
        word: String,
        /// The list.
        known: Vec<&'static str>,
    },
}

impl Fault {
    /// What would put it right, where the fault itself tells.
    pub fn help(&self) -> Option<String> {
        match self {
            // Three digits after the comma may be thousands.
            Self::Comma(text) if three_digits_after(text, ',') => Some(format!(
                "write `{}` if these are thousands, `{}` if it is a decimal point",
                text.replacen(',', "", 1),
                text.replacen(',', ".", 1)
            )),
            Self::Comma(text) => Some(format!("use a point: `{}`", text.replacen(',', ".", 1))),
            Self::BareShare(text) => match text.parse::<Decimal>() {
                Ok(share) if share < Decimal::ONE => {
                    Some(format!("write a percentage: `{} %`", (share * Decimal::ONE_HUNDRED).normalize()))
                }
                _ => Some(format!("write a percentage: `{text} %`")),
            },
            // Looked for here, since most faults are of a reading that another one follows.
            Self::UnknownUnit { unit, known, usual, .. } => did_you_mean(&spelled(unit), known.iter().copied())
                .or_else(|| usual.map(|it| format!("did you mean `{it}`?"))),
            Self::Choice { word, known } => did_you_mean(word, known.iter().copied()),
            Self::Long(_, most) => Some(format!("write it with at most {most} characters")),
            Self::NotANumber(text) if exponent(text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.')) => {
                Some("write the number out, without an exponent".to_owned())
            }
            _ => None,
        }
    }
}

fn three_digits_after(text: &str, mark: char) -> bool {
    text.split_once(mark)
        .is_some_and(|(_, after)| after.chars().position(|c| !c.is_ascii_digit()).unwrap_or(after.len()) == 3)
}

pub(super) fn exponent(rest: &str) -> bool {
    rest.strip_prefix(['e', 'E'])
        .is_some_and(|after| after.trim_start_matches(['+', '-']).starts_with(|c: char| c.is_ascii_digit()))
}

/// A unit as it is looked up: small letters, single spaces, no point behind it.
pub(super) fn spelled(written: &str) -> String {
    let small = written.trim().trim_end_matches('.').to_lowercase();
    small.split_whitespace().collect::<Vec<_>>().join(" ")
}
