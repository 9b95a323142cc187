//! Parts by loose volume, some with a choice of ingredient.

use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Problems, Span};
use crate::exact::Fraction;
use crate::source::{above_zero, figures, no_more_than};
use crate::units::{Bounds, Fault, number, share, within};

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
    pub fn chosen<'p>(&'p self, wanted: &'p [Handle<Ingredient>]) -> &'p Handle<Ingredient> {
        wanted.iter().find(|id| self.choices.contains(id)).unwrap_or(&self.choices[0])
    }
}

/// The most ingredients to choose from for one part.
const MOST_CHOICES: usize = 12;

/// `peat or limed peat or coir`: the ingredients named, all known.
pub(super) fn choices(
    name: &str,
    at: Span,
    catalogue: &Catalogue,
    problems: &Problems,
) -> Option<Vec<Handle<Ingredient>>> {
    let mut choices = Vec::new();
    let mut offset = 0;
    let names: Vec<&str> = name.split(" or ").collect();
    for name in no_more_than(&names, MOST_CHOICES, "choices for a part", at, problems) {
        choices.push(catalogue.ingredient_named(name.trim(), at.of_piece(offset, name), problems));
        offset += name.len() + " or ".len();
    }
    choices.into_iter().collect()
}

figures! {
    /// How many parts, and whether they are written as a percentage.
    Parts((Fraction, bool)): "parts, such as `3`, `0.5` or `1/3`", text => parts(text);
    /// What the parts are said to sum to.
    Whole(Fraction): "a number above zero, at most 1000000", text => amount(text);
    /// Mix kept after blending, as a share of the loose ingredients.
    Yield(Fraction): "mix kept after blending, at least 50 %, such as `88 %`", text => kept(share(text)?, text);
    /// What lime is to bring the mix to.
    WantedPh(f64): "a pH such as `5.8`",
        text => number(text).and_then(|ph| within(ph.to_f64(), ph.to_f64(), WANTED_PH, text));
}

const WANTED_PH: Bounds = (3.0..=9.0, "a mix for plants has pH 3 to 9");

/// By the limit model of packing (Furnas) fine and coarse parts keep 71 % at least: far less
/// than that is a slip.
fn kept(share: Fraction, text: &str) -> Result<Fraction, Fault> {
    let share = above_zero(share, text)?;
    if Fraction::new(1, 2).is_some_and(|least| share < least) {
        return Err(Fault::Impossible("more of the mix is left, whatever its parts".to_owned()));
    }
    Ok(share)
}

/// A part as a number above zero and within reason (`3`, `1/3`) or a percentage; whether it
/// was one.
pub(crate) fn parts(text: &str) -> Result<(Fraction, bool), Fault> {
    let percentage = text.trim_end().ends_with('%');
    let value = if percentage { positive(share(text)?, text)? } else { amount(text)? };
    Ok((value, percentage))
}

fn amount(text: &str) -> Result<Fraction, Fault> {
    positive(number(text)?, text)
}

fn positive(parts: Fraction, text: &str) -> Result<Fraction, Fault> {
    const PARTS: Bounds = (1e-4..=1e6, "parts are 0.0001 to 1000000");
    let parts = above_zero(parts, text)?;
    within(parts, parts.to_f64(), PARTS, text)
}
