//! Arguments of the form `BATCH=AMOUNT`: mix that was left over.

use super::stocked::each;
use crate::diagnostic::{Code, Problem, Rejected, Span};
use crate::plan::Mixes;
use crate::source::Written;
use crate::units::{Fault, UnitSystem, Volume, count, in_litres, to_litres, volume};
use std::collections::BTreeMap;

const EXPECTED: &str = "a batch and an amount, as in `everyday=6 L` or `2=6 L`";

/// Of what a batch made and used there may be left so many times: what the scoops add, and what lies in a heap more
/// loosely than it was reckoned.
const MOST_LEFT: f64 = 1.5;

/// The batch, by its place, and the amount of each; all faults are reported together.
pub(super) fn read(texts: &[String], mixes: &Mixes) -> Result<Vec<(usize, Volume)>, Rejected> {
    let mut sums = BTreeMap::new();
    each("--left", texts, |written| one(written, mixes, &mut sums))
}

/// One of them, added to the sum of its batch.
fn one(
    Written { text, at, problems }: Written<'_>,
    mixes: &Mixes,
    sums: &mut BTreeMap<usize, Volume>,
) -> Option<(usize, Volume)> {
    let Some((name, amount)) = text.rsplit_once('=') else {
        return problems.refuse(Problem::of_quantity(at, &Fault::Shape(text.to_owned()), EXPECTED));
    };
    let at = Span::new(0, name.trim_end().len());
    let index = match batch(name.trim(), mixes, at) {
        Ok(index) => index,
        Err(problem) => return problems.refuse(problem),
    };
    if mixes.batches[index].is_straight() {
        let what = format!("the coir of `{}` was not soaked: a later week would take it as if it was", name.trim());
        return problems.deny(Code::Quantity, at, what, "a batch with soaked coir; use up the other");
    }
    let at = Span::new(name.len() + 1, text.len());
    let left = problems.quantity(at, volume(amount), "a volume such as `6 L`")?.value;
    let (batch, made) = (&mixes.batches[index], &mixes.mixing.batches[index]);
    let sum = sums.entry(index).or_insert_with(|| in_litres(0.0));
    let (before, most) = (to_litres(*sum), MOST_LEFT * to_litres(made.made + batch.volumes.from_stock));
    *sum += left;
    // The first that is too much is told.
    if before <= most && to_litres(*sum) > most {
        let all = if before > 0.0 { format!(", {:.1} L in all,", to_litres(*sum)) } else { String::new() };
        let mix = to_litres(batch.volumes.mix);
        let what = format!("`{}`{all} is not left over from a batch of {mix:.1} L", amount.trim());
        return problems.deny(Code::Quantity, at, what, "what is left of it");
    }
    Some((index, left))
}

/// The place of the batch of a name or a number.
fn batch(wanted: &str, Mixes { batches, mixing, .. }: &Mixes, at: Span) -> Result<usize, Problem> {
    // As either system of units shows it.
    let is_called = |name: &str| name.eq_ignore_ascii_case(wanted);
    let named =
        batches.iter().position(|batch| is_called(&batch.name) || is_called(&UnitSystem::Us.prose(&batch.name)));
    let number = count(wanted).ok().and_then(|number| usize::try_from(number).ok());
    let numbered = number.and_then(|number| mixing.numbered.get(number.checked_sub(1)?).copied());
    let what = match (named, numbered) {
        (Some(named), Some(numbered)) if named != numbered => {
            format!("`{wanted}` is the name of batch {} and the number of another", mixing.number(named))
        }
        (Some(index), _) | (None, Some(index)) => return Ok(index),
        (None, None) => format!("`{wanted}` is no batch of this week"),
    };
    let names =
        (1..).zip(&mixing.numbered).take(12).map(|(number, index)| format!("{number} `{}`", batches[*index].name));
    Err(Problem::new(Code::Quantity, at, what, names.collect::<Vec<_>>().join(", ")))
}
