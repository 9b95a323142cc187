//! Parts by loose volume, some with a choice of ingredient.

use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Problems, Span};
use crate::exact::Fraction;

/// So many parts of an ingredient, or of one of several.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// The ingredients to choose from, the first by default; never empty.
    pub choices: Vec<Handle<Ingredient>>,
    /// How many parts, above zero.
    pub amount: Fraction,
}

impl Part {
    /// The ingredient chosen: the first that is wanted, else the first offered.
    #[must_use]
    pub fn chosen<'p>(&'p self, wanted: &'p [Handle<Ingredient>]) -> &'p Handle<Ingredient> {
        wanted.iter().find(|id| self.choices.contains(id)).unwrap_or(&self.choices[0])
    }
}

/// `peat or limed peat or coir`: the ingredients named, all known.
pub(super) fn choices(
    name: &str,
    at: Span,
    catalogue: &Catalogue,
    problems: &Problems,
) -> Option<Vec<Handle<Ingredient>>> {
    let mut choices = Vec::new();
    let mut offset = at.start;
    for name in name.split(" or ") {
        let lead = name.len() - name.trim_start().len();
        let place = Span::new(offset + lead, offset + lead + name.trim().len());
        // A quoted key stands elsewhere than its text tells: stay within it.
        let place = if place.end <= at.end { place } else { at };
        choices.push(catalogue.ingredient_named(name.trim(), place, problems));
        offset += name.len() + " or ".len();
    }
    choices.into_iter().collect()
}
