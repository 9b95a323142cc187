//! Arguments of the form `INGREDIENT=AMOUNT`, read against a stock.

use super::Failure;
use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Problem, Problems, Rejected, SourceText, Span};
use crate::units::Fault;

/// Reads each argument of an option; all faults are reported together.
pub(super) fn each<T>(
    option: &str,
    texts: &[String],
    catalogue: &Catalogue,
    read: impl Fn(&Handle<Ingredient>, &str, Span, &Problems) -> Option<T>,
) -> Result<Vec<(Handle<Ingredient>, T)>, Failure> {
    let mut rejected = Rejected::default();
    let mut values = Vec::new();
    for text in texts {
        let problems = Problems::new(SourceText::argument(option, text));
        let value = pair(text, catalogue, &problems, &read);
        values.extend(rejected.accept(problems.settle(value)).map(|(value, _)| value));
    }
    Ok(rejected.or(values)?)
}

fn pair<T>(
    text: &str,
    catalogue: &Catalogue,
    problems: &Problems,
    read: impl Fn(&Handle<Ingredient>, &str, Span, &Problems) -> Option<T>,
) -> Option<(Handle<Ingredient>, T)> {
    let Some((name, amount)) = text.split_once('=') else {
        let at = Span::new(0, text.len());
        let expected = "an ingredient and an amount, as in `perlite=40 L`";
        problems.push(Problem::of_quantity(at, &Fault::Shape(text.to_owned()), expected));
        return None;
    };
    let id = catalogue.ingredient_named(name.trim(), Span::new(0, name.trim_end().len()), problems)?;
    let lead = amount.len() - amount.trim_start().len();
    let start = name.len() + 1 + lead;
    let value = read(&id, amount.trim(), Span::new(start, start + amount.trim().len()), problems)?;
    Some((id, value))
}
