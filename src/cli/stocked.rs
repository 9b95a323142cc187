//! Arguments of the form `INGREDIENT=AMOUNT`, read against a stock.

use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Problem, Problems, Rejected, SourceText, Span};
use crate::source::Written;
use crate::units::Fault;

/// Reads each argument of an option; all faults are reported together.
pub(super) fn each<T>(
    option: &str,
    texts: &[String],
    mut read: impl FnMut(Written<'_>) -> Option<T>,
) -> Result<Vec<T>, Rejected> {
    let mut rejected = Rejected::default();
    let mut values = Vec::new();
    for text in texts {
        let source = SourceText::argument(option, text);
        let (at, problems) = (source.whole(), Problems::new(source));
        let value = read(Written { text, at, problems: &problems });
        values.extend(rejected.accept(problems.settle(value)).map(|(value, _)| value));
    }
    rejected.or(values)
}

/// An ingredient and what is written of it.
pub(super) fn of_ingredient<T>(
    Written { text, at, problems }: Written<'_>,
    catalogue: &Catalogue,
    read: impl Fn(&Handle<Ingredient>, Written<'_>) -> Option<T>,
) -> Option<(Handle<Ingredient>, T)> {
    let Some((name, amount)) = text.split_once('=') else {
        let expected = "an ingredient and an amount, as in `perlite=40 L`";
        return problems.refuse(Problem::of_quantity(at, &Fault::Shape(text.to_owned()), expected));
    };
    let id = catalogue.ingredient_named(name.trim(), Span::new(0, name.trim_end().len()), problems)?;
    let start = name.len() + 1 + amount.len() - amount.trim_start().len();
    let at = Span::new(start, start + amount.trim().len());
    let value = read(&id, Written { text: amount.trim(), at, problems })?;
    Some((id, value))
}
