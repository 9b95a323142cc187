//! A bag, bale, brick or tub as it is sold.

use super::amount::stuff;
use super::price::{Currency, price};
use crate::catalogue::{Ingredient, UsedAs};
use crate::diagnostic::{Code, Problem, Problems};
use crate::exact::Fraction;
use crate::source::{Fields, Node, text_of};
use crate::units::{Quantity, Volume, number, percent, volume};
use rust_decimal::Decimal;

/// A package and the loose litres, or grams, it gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Package {
    /// What it is called: `100 L bag`.
    pub label: String,
    /// What it gives.
    pub gives: Quantity,
    /// What it costs.
    pub price: Option<Decimal>,
    /// Whose figure `gives` is.
    pub standing: Standing,
}

/// Whose figure the contents of a package are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The user's own.
    Own,
    /// Worked out from the compressed volume and so many loose litres for each of it.
    Loosened(Fraction),
    /// The program's, with its range and the key of its source.
    BuiltIn {
        /// What such a package may give.
        range: String,
        /// Key of the source.
        from: String,
    },
}

/// Loose litres for each litre of a compressed bale, where the user does not say:
/// between the 1.67 and 2.00 of printed bales (read).
pub fn default_loosening() -> Fraction {
    Fraction::new(18, 10).unwrap_or(Fraction::ONE)
}

impl Package {
    /// What its label starts with, where that is less than half or more than twice what
    /// it gives: one of the two may be a slip.
    #[must_use]
    pub fn contradicted(&self, ingredient: &Ingredient) -> Option<Quantity> {
        // A compressed bale gives more than its label says.
        if matches!(self.standing, Standing::Loosened(_)) {
            return None;
        }
        let words: Vec<&str> = self.label.split_whitespace().take(4).collect();
        let says = (1..=words.len()).rev().find_map(|count| stuff(&words[..count].join(" ")).ok())?.0;
        let says = counted(says, ingredient);
        let ratio = says.size() / self.gives.size();
        (says.is_like(self.gives) && !(0.5..=2.0).contains(&ratio)).then_some(says)
    }

    /// Reads `{label:, gives:, price:}`; a bale may say `compressed:`, and `loosens:`,
    /// in place of `gives:`. `ingredient` is what is in it, `None` for a ready-made mix.
    pub(super) fn read(
        node: &Node<'_>,
        ingredient: Option<&Ingredient>,
        built_in: bool,
        problems: &Problems,
    ) -> Option<(Self, Option<(Currency, crate::diagnostic::Span)>)> {
        let mut fields = Fields::new(node, "a package", problems)?;
        let before = problems.len();
        let label = fields.require("label").and_then(|node| text_of(node, "the package's name", problems));
        let contents = read_contents(&mut fields, ingredient, problems);
        let paid = fields.quantity("price", "a price such as `24.90`", price);
        let at = fields.get("price").map(|node| node.at);
        let mut standing =
            contents.map_or(Standing::Own, |(_, factor)| factor.map_or(Standing::Own, Standing::Loosened));
        if built_in {
            let mut text = |key| fields.text(key).unwrap_or_default().to_owned();
            standing = Standing::BuiltIn { range: text("range"), from: text("from") };
        }
        fields.finish();
        if problems.len() > before {
            return None;
        }
        let (paid, currency) = paid.map_or((None, None), |(paid, currency)| (Some(paid), currency.zip(at)));
        Some((Self { label: label?.trim().to_owned(), gives: contents?.0, price: paid, standing }, currency))
    }
}

/// What a package gives, and the factor if it was loosened.
fn read_contents(
    fields: &mut Fields<'_>,
    ingredient: Option<&Ingredient>,
    problems: &Problems,
) -> Option<(Quantity, Option<Fraction>)> {
    let gives = fields.get("gives");
    let compressed = fields.get("compressed");
    let factor = fields.quantity("loosens", "loose litres for each compressed one, such as `1.8`", number);
    let loosens_at = fields.get("loosens").map(|node| node.at);
    let Some(compressed) = compressed else {
        if let Some(at) = loosens_at {
            let what = "`loosens:` belongs to a compressed bale";
            problems.push(Problem::new(Code::Conflict, at, what, "`compressed:` beside it"));
        }
        let node = fields.require("gives")?;
        return read_stuff(node, ingredient, problems).map(|gives| (gives, None));
    };
    if let Some(gives) = gives {
        let what = "`gives:` and `compressed:` exclude each other";
        problems.push(Problem::new(Code::Conflict, gives.at, what, "one of them"));
        return None;
    }
    let factor_is_odd = |factor: Fraction| factor < Fraction::ONE || factor > Fraction::whole(20);
    if let (Some(factor), Some(at)) = (factor, loosens_at)
        && factor_is_odd(factor)
    {
        let what = format!("a bale does not loosen to {} of its volume", percent(factor));
        problems.push(Problem::new(Code::Quantity, at, what, "1 to 20, for peat about 1.8"));
        return None;
    }
    let text = text_of(compressed, "a volume", problems)?;
    let bale: Volume = problems.measured(compressed.at, volume(text), "the volume of the bale")?;
    let factor = factor.unwrap_or_else(default_loosening);
    Some((Quantity::Volume(bale * factor.to_f64()), Some(factor)))
}

/// A volume, or a mass where the ingredient is counted by mass or its density is the
/// user's own.
fn read_stuff(node: &Node<'_>, ingredient: Option<&Ingredient>, problems: &Problems) -> Option<Quantity> {
    const EXPECTED: &str = "what it gives, such as `100 L`, or `500 g` of a dose";
    let text = text_of(node, EXPECTED, problems)?;
    let (stuff, assumption) = problems.quantity(node.at, stuff(text), EXPECTED)?;
    problems.assume(assumption);
    usable(stuff, ingredient).map_err(|what| problems.push(no_litres(node.at, text, what))).ok()
}

/// The amount in the kind that its ingredient is counted in, where the user's own
/// `dry_density` tells weight from volume: doses by weight, everything else in litres.
///
/// The table's densities vary by half and more with moisture and pressing, so that an
/// amount turned by them could leave a batch short: they are not used.
#[must_use]
pub fn counted(amount: Quantity, ingredient: &Ingredient) -> Quantity {
    let own = ingredient.dry_density.filter(|_| ingredient.own_density);
    match (amount, own, ingredient.kind == Some(UsedAs::Dose)) {
        (Quantity::Mass(mass), Some(density), false) => Quantity::Volume(mass / density),
        (Quantity::Volume(volume), Some(density), true) => Quantity::Mass(volume * density),
        _ => amount,
    }
}

/// The amount as counted, or why it cannot be.
pub(super) fn usable(amount: Quantity, ingredient: Option<&Ingredient>) -> Result<Quantity, NoLitres> {
    let counted = ingredient.map_or(amount, |ingredient| counted(amount, ingredient));
    match (counted, ingredient) {
        (Quantity::Mass(_), None) => Err(NoLitres::Mix),
        (Quantity::Mass(_), Some(ingredient)) if ingredient.kind == Some(UsedAs::Bulk) => {
            Err(NoLitres::Bulk(ingredient.name.clone()))
        }
        _ => Ok(counted),
    }
}

/// Why a mass cannot be told in litres.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NoLitres {
    /// A bulk ingredient without a density of its own.
    Bulk(String),
    /// A ready-made mix.
    Mix,
}

/// The fault of a mass where litres are needed.
pub(super) fn no_litres(at: crate::diagnostic::Span, text: &str, what: NoLitres) -> Problem {
    let help = match &what {
        NoLitres::Bulk(name) => format!(
            "write litres, or a package with what it gives, or the density yours has: `ingredients: {{{name}: \
             {{kind: bulk, dry_density: ... g/L}}}}`"
        ),
        NoLitres::Mix => "write the litres it gives".to_owned(),
    };
    let name = if let NoLitres::Bulk(name) = what { name } else { "a mix".to_owned() };
    let what = format!("`{text}` of {name} cannot be turned into litres: no density is known for it as bought");
    Problem::new(Code::Quantity, at, what, "a volume such as `40 L`").with_help(Some(help))
}
