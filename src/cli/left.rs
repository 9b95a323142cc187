//! Arguments of the form `BATCH=AMOUNT`: mix that was left over.

use super::Failure;
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::plan::{Batch, Mixes};
use crate::units::{Fault, UnitSystem, Volume, to_litres, volume};

const EXPECTED: &str = "a batch and an amount, as in `everyday=6 L` or `2=6 L`";

/// The batch, by its place, and the amount of each; all faults are reported together.
pub(super) fn read(texts: &[String], mixes: &Mixes) -> Result<Vec<(usize, Volume)>, Failure> {
    let mut rejected = Rejected::default();
    let mut values = Vec::new();
    for text in texts {
        let problems = Problems::new(SourceText::argument("--left", text));
        let value = one(text, mixes, &problems);
        values.extend(rejected.accept(problems.settle(value)).map(|(value, _)| value));
    }
    Ok(rejected.or(values)?)
}

fn one(text: &str, mixes: &Mixes, problems: &Problems) -> Option<(usize, Volume)> {
    let whole = Span::new(0, text.len());
    let Some((name, amount)) = text.rsplit_once('=') else {
        return problems.refuse(Problem::of_quantity(whole, &Fault::Shape(text.to_owned()), EXPECTED));
    };
    let wanted = name.trim();
    // By its number, or by its name as either system of units shows it.
    let is_called = |name: &str| name.eq_ignore_ascii_case(wanted);
    let is_it = |(index, batch): (usize, &Batch)| {
        wanted.parse() == Ok(index + 1) || is_called(&batch.name) || is_called(&UnitSystem::Us.prose(&batch.name))
    };
    let Some(index) = mixes.batches.iter().enumerate().position(is_it) else {
        let names: Vec<String> = mixes
            .batches
            .iter()
            .zip(1..)
            .take(12)
            .map(|(batch, number)| format!("{number} `{}`", batch.name))
            .collect();
        let at = Span::new(0, name.trim_end().len());
        let what = format!("`{wanted}` is no batch of this week");
        return problems.refuse(Problem::new(Code::Quantity, at, what, names.join(", ")));
    };
    let at = Span::new(name.len() + 1, text.len());
    let left = problems.quantity(at, volume(amount), "a volume such as `6 L`")?.value;
    let (batch, made) = (&mixes.batches[index], &mixes.mixing.batches[index]);
    // What the scoops add, and what lies in a heap more loosely than it was reckoned.
    let most = 1.5 * to_litres(made.made + batch.volumes.from_stock);
    if to_litres(left) > most {
        let what =
            format!("`{}` is not left over from a batch of {:.1} L", amount.trim(), to_litres(batch.volumes.mix));
        return problems.refuse(Problem::new(Code::Quantity, at, what, "what is left of it"));
    }
    Some((index, left))
}
