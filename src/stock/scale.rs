//! How amounts of an ingredient are written: `40 L`, `2 x 5 kg block`, sums of these.

use super::package::{Package, usable};
use super::shed::{Line, Term};
use crate::catalogue::{Ingredient, Role, key};
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use crate::exact::Fraction;
use crate::moment::Day;
use crate::source::{Fields, Node, Value, Written, no_more_than, text_of};
use crate::units::{Fault, Parsed, Quantity, in_litres, mass_or_volume, number};

/// The most litres or grams of an ingredient, at hand or needed: in billionths they still are counted
/// exactly (up to 1.8e10 of them fit).
const LARGEST: f64 = 1e9;

/// An amount of an ingredient, or in words the most that there may be.
pub(crate) fn countable(amount: Quantity) -> Result<Quantity, &'static str> {
    match amount.size() <= LARGEST {
        true => Ok(amount),
        false if amount.litres().is_some() => Err("1,000,000 m3"),
        false => Err("1,000 t"),
    }
}

/// What an amount at hand looks like.
pub(super) const EXPECTED: &str = "an amount such as `40 L`, `2 x 5 kg block` or `10 L + 1/2 x 100 L bag`";

/// The most amounts in a sum.
const MOST_TERMS: usize = 100;

/// What amounts of an ingredient are read by.
pub(super) struct Scale<'s> {
    pub(super) ingredient: &'s Ingredient,
    pub(super) packages: &'s [Package],
}

impl<'s> Scale<'s> {
    pub(super) fn line(&self, node: &Node<'_>, problems: &Problems) -> Option<Line> {
        if !matches!(node.value, Value::Map(_)) || !self.ingredient.is(Role::SoakedCoir) {
            return self.amount_line(node, problems);
        }
        Fields::read(node, "an amount of soaked coir", problems, |fields| {
            let (amount, made) = (fields.require("amount"), fields.required("made").map(|Day(day)| day));
            let line = self.amount_line(amount?, problems)?;
            Some(Line { made, made_at: Some(fields.place("made")), ..line })
        })
    }

    fn amount_line(&self, node: &Node<'_>, problems: &Problems) -> Option<Line> {
        let text = text_of(node, EXPECTED, problems)?;
        // A scalar with escapes or over several lines has no place of its own.
        let at = matches!(node.value, Value::Text(_)).then_some(node.at).filter(|at| at.end - at.start == text.len());
        self.terms(Written { text, at: node.at, problems }).map(|terms| Line {
            at: at.filter(|at| at.end > at.start),
            terms,
            ..Line::default()
        })
    }

    /// `40 L + 2 x 5 kg block`
    pub(super) fn terms(&self, written: Written<'_>) -> Option<Vec<Term>> {
        let Written { text, at, problems } = written;
        let mut terms = Vec::new();
        let mut offset = 0;
        for &piece in no_more_than(&self.pieces(text), MOST_TERMS, "amounts in a sum", at, problems) {
            terms.push(self.term(Written { text: piece.trim(), at: at.of_piece(offset, piece), problems }));
            offset += piece.len() + 1;
        }
        terms.into_iter().collect()
    }

    /// The text between the `+`, but for a `+` within the label of a package: the longest label wins.
    fn pieces<'t>(&self, text: &'t str) -> Vec<&'t str> {
        let is_label = |piece: &str| {
            let piece = piece.trim();
            let label = Self::counted(piece).map_or(piece, |(_, label)| label);
            self.labelled(label).is_some()
        };
        let within = self.packages.iter().map(|package| package.label.matches('+').count()).max().unwrap_or(0).min(8);
        let (mut pieces, mut rest) = (Vec::new(), text);
        while let Some(first) = rest.find('+') {
            let later = rest.match_indices('+').map(|(at, _)| at).chain([rest.len()]).skip(1).take(within);
            let end = later.filter(|&end| is_label(&rest[..end])).last().unwrap_or(first);
            pieces.push(&rest[..end]);
            match rest.get(end + 1..) {
                Some(after) => rest = after,
                None => return pieces,
            }
        }
        pieces.push(rest);
        pieces
    }

    fn term(&self, written: Written<'_>) -> Option<Term> {
        let Written { text, at, problems } = written;
        let counted = Self::counted(text);
        let is_counted = counted.is_some();
        let (count, each) = counted.unwrap_or((Ok(Fraction::ONE), text));
        let count = problems.quantity(at, count, EXPECTED)?.to_f64();
        let times = |amount: Quantity| amount.of_size(amount.size() * count);
        let term = |left, package| Term { written: text.to_owned(), left, package };
        if let Some(package) = self.labelled(each) {
            let gives = package.gives;
            return Some(term(times(gives), Some((package.label.clone(), gives.size()))));
        }
        let fault = match amount(each) {
            // `2 x 40 L`, without a name for the bag, or `40 L`.
            Ok(amount) => {
                problems.assume(amount.assumption);
                let left = usable(times(amount.value), Some(self.ingredient), written)?;
                return Some(term(left, None));
            }
            Err(fault) => fault,
        };
        problems.push_with(|| {
            if is_counted {
                return self.no_such_label(each, at);
            }
            let near = did_you_mean(text, self.packages.iter().map(|package| package.label.as_str()));
            let problem = Problem::of_quantity(at, &fault, EXPECTED);
            let help = near.or_else(|| problem.help.clone());
            problem.with_help(help)
        });
        None
    }

    /// Splits `2 x 5 kg block` into the number and the label; `None` without a number.
    pub(super) fn counted(text: &str) -> Option<(Result<Fraction, Fault>, &str)> {
        let (count, label) = text.split_once(['x', '×'])?;
        let count = count.trim();
        if !count.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-'))
            || count.chars().any(char::is_alphabetic)
        {
            return None;
        }
        let count = number(count).and_then(|number| {
            if number.to_f64() > LARGEST { Err(Fault::TooLarge(text.to_owned())) } else { Ok(number) }
        });
        Some((count, label.trim()))
    }

    /// The package of a label, in the singular or the plural.
    pub(super) fn labelled(&self, label: &str) -> Option<&'s Package> {
        let wanted = key(label);
        self.packages.iter().find(|package| {
            let known = key(&package.label);
            known == wanted || wanted.strip_suffix('s') == Some(known.as_str())
        })
    }

    pub(super) fn no_such_label(&self, label: &str, at: Span) -> Problem {
        let name = &self.ingredient.name;
        let labels = || self.packages.iter().map(|package| package.label.as_str());
        let help = did_you_mean(label, labels()).unwrap_or_else(|| {
            let known: Vec<&str> = labels().collect();
            if known.is_empty() {
                format!("say what it gives: `packages: {{{name}: [{{label: {label}, gives: ... L}}]}}`")
            } else {
                format!("the packages of {name} are: {}", known.join(", "))
            }
        });
        let what = format!("no package of {name} is called `{label}`");
        Problem::new(Code::Choice, at, what, "the label of a package").with_help(Some(help))
    }
}

/// An amount, which may be nothing: `40 L`, `500 g`, `0 g`, `0`.
fn amount(text: &str) -> Result<Parsed<Quantity>, Fault> {
    match mass_or_volume(text) {
        Err(Fault::Zero(_) | Fault::NoUnit(_)) if number(text).is_ok_and(Fraction::is_zero) => {
            Ok(Parsed::from(Quantity::Volume(in_litres(0.0))))
        }
        Err(Fault::Zero(_)) => {
            let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | ' '));
            mass_or_volume(&format!("1 {unit}")).map(|amount| amount.value.of_size(0.0).into())
        }
        read => read,
    }
}
