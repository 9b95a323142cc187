//! How amounts of an ingredient are written: `40 L`, `2 x 5 kg block`, sums of these.

use super::amount::stuff;
use super::package::{Package, no_litres, usable};
use super::shed::{Line, Term};
use crate::catalogue::{Ingredient, key};
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use crate::exact::Fraction;
use crate::source::{Node, Value, text_of};
use crate::units::{Fault, Quantity, in_litres, number};

/// The most litres or grams at hand, as everywhere.
pub(super) const LARGEST: f64 = 1e9;
/// What an amount at hand looks like.
pub(super) const EXPECTED: &str = "an amount such as `40 L`, `2 x 5 kg block` or `10 L + 1/2 x 100 L bag`";

/// What amounts of an ingredient are read by.
pub(super) struct Scale<'s> {
    pub(super) ingredient: &'s Ingredient,
    pub(super) packages: &'s [Package],
}

impl<'s> Scale<'s> {
    pub(super) fn line(&self, node: &Node<'_>, problems: &Problems) -> Option<Line> {
        let text = text_of(node, EXPECTED, problems)?;
        // A scalar with escapes or over several lines has no place of its own.
        let at = matches!(node.value, Value::Text(_)).then_some(node.at).filter(|at| at.end - at.start == text.len());
        self.terms(text, node.at, problems).map(|terms| Line { at: at.filter(|at| at.end > at.start), terms })
    }

    /// `40 L + 2 x 5 kg block`
    pub(super) fn terms(&self, text: &str, at: Span, problems: &Problems) -> Option<Vec<Term>> {
        let mut terms = Vec::new();
        let mut offset = at.start;
        for piece in self.pieces(text) {
            let lead = piece.len() - piece.trim_start().len();
            let place = Span::new(offset + lead, offset + lead + piece.trim().len());
            let place = if place.end <= at.end { place } else { at };
            terms.push(self.term(piece.trim(), place, problems));
            offset += piece.len() + 1;
        }
        terms.into_iter().collect()
    }

    /// The text between the `+`, but for a `+` within the label of a package: the longest label wins.
    fn pieces<'t>(&self, text: &'t str) -> Vec<&'t str> {
        let is_label = |piece: &str| {
            let piece = piece.trim();
            let label = self.counted(piece).map_or(piece, |(_, label)| label);
            self.labelled(label).is_some()
        };
        let within = self.packages.iter().map(|package| package.label.matches('+').count()).max().unwrap_or(0);
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

    fn term(&self, text: &str, at: Span, problems: &Problems) -> Option<Term> {
        let written = text.to_owned();
        let of_package = |count: f64, package: &Package| Term {
            written: written.clone(),
            left: package.gives.of_size(package.gives.size() * count),
            package: Some((package.label.clone(), package.gives.size())),
        };
        if let Some((count, each)) = self.counted(text) {
            let count = problems.quantity(at, count, EXPECTED)?.to_f64();
            if let Some(package) = self.labelled(each) {
                return Some(of_package(count, package));
            }
            // `2 x 40 L`, without a name for the bag.
            let Ok((each, assumption)) = stuff(each) else {
                problems.push(self.no_such_label(each, at));
                return None;
            };
            problems.assume(assumption);
            return self.loose(each.of_size(each.size() * count), text, at, problems);
        }
        if let Some(package) = self.labelled(text) {
            return Some(of_package(1.0, package));
        }
        let read = match stuff(text) {
            Err(Fault::Zero(_) | Fault::NoUnit(_)) if number(text).is_ok_and(|number| number.is_zero()) => {
                Ok((Quantity::Volume(in_litres(0.0)), None))
            }
            Err(Fault::Zero(_)) => nothing_of(text).map(|nothing| (nothing, None)),
            read => read,
        };
        match read {
            Ok((stuff, assumption)) => {
                problems.assume(assumption);
                self.loose(stuff, text, at, problems)
            }
            Err(fault) => {
                let near = did_you_mean(text, self.packages.iter().map(|package| package.label.as_str()));
                let problem = Problem::of_quantity(at, &fault, EXPECTED);
                let help = near.or_else(|| problem.help.clone());
                problems.push(problem.with_help(help));
                None
            }
        }
    }

    /// An amount without a package, in the kind that its ingredient is counted in.
    fn loose(&self, amount: Quantity, text: &str, at: Span, problems: &Problems) -> Option<Term> {
        match usable(amount, Some(self.ingredient)) {
            Ok(left) => Some(Term { written: text.to_owned(), left, package: None }),
            Err(why) => {
                problems.push(no_litres(at, text, why));
                None
            }
        }
    }

    /// Splits `2 x 5 kg block` into the number and the label; `None` without a number.
    pub(super) fn counted<'t>(&self, text: &'t str) -> Option<(Result<Fraction, Fault>, &'t str)> {
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

/// `0 L` or `0 g`: none of it, in its kind.
fn nothing_of(text: &str) -> Result<Quantity, Fault> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | ' '));
    stuff(&format!("1 {unit}")).map(|(stuff, _)| stuff.of_size(0.0))
}
