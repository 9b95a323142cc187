//! A mix in parts, with its doses, and what changes for some crops.

mod built_in;
mod change;
mod dose;
mod part;
mod variant;

pub use built_in::{BUILT_IN, built_in, built_in_text};
pub use change::{Amount, Change, Top};
pub use dose::{Basis, Dose};
pub use part::Part;
pub use variant::{Composition, LeftOut, MixFault, MixFor, RecipeShare, Variant, Why};

use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Code, Problem, Problems, Span};
use crate::exact::Fraction;
use crate::source::{Fields, Node, entries, text_of};
use crate::units::{Fault, number, percent, share};

/// A mix: parts by loose volume, doses, and changes for some crops.
#[derive(Clone, Debug)]
pub struct Recipe {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub about: Option<String>,
    /// Where it was published, if it was.
    pub source: Option<String>,
    /// The parts, at least one.
    pub parts: Vec<Part>,
    /// The doses.
    pub doses: Vec<Dose>,
    /// Mix kept after blending, as a share of the loose ingredients; the measured figure.
    pub yield_: Option<Fraction>,
    /// Changes, in order.
    pub changes: Vec<Change>,
    /// Stated shares that do not sum to the stated whole: the sum over the whole.
    pub shares_off: Option<Fraction>,
}

/// Mix kept after blending fine and coarse parts, where no bucket test says better:
/// a judgement, not published (0.80 to 0.95).
#[must_use]
pub fn default_yield() -> Fraction {
    Fraction::new(88, 100).unwrap_or(Fraction::ONE)
}

impl Recipe {
    /// Reads a recipe file whose `ingredients:` are in the catalogue already.
    pub fn read(fields: &mut Fields<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        let before = problems.len();
        let name = fields.require("recipe").and_then(|node| text_of(node, "the name of the recipe", problems));
        let parts_node = fields.require("parts");
        let parts_at = parts_node.map_or(fields.at(), |node| node.at);
        let (parts, percentages) = parts_node.map(|node| read_parts(node, catalogue, problems)).unwrap_or_default();
        let whole = fields.quantity("whole", "the whole that the parts sum to", positive);
        let doses = fields.get("doses").map(|node| dose::read_all(node, catalogue, problems)).unwrap_or_default();
        let recipe = Self {
            name: name.unwrap_or_default().to_owned(),
            about: fields.text("about").map(str::to_owned),
            source: fields.text("source").map(str::to_owned),
            yield_: read_yield(fields, problems),
            changes: fields
                .get("changes")
                .map(crate::source::list)
                .unwrap_or_default()
                .iter()
                .filter_map(|node| Change::read(node, catalogue, problems))
                .collect(),
            shares_off: shares_off(&parts, percentages.then_some(Fraction::ONE).or(whole)),
            parts,
            doses,
        };
        if problems.len() > before {
            return None;
        }
        recipe.check(parts_at, problems)
    }

    fn check(self, at: Span, problems: &Problems) -> Option<Self> {
        if self.parts.is_empty() {
            problems.push(Problem::new(Code::Recipe, at, "the recipe has no parts", "at least one part"));
            return None;
        }
        let mut seen: Vec<&Handle<Ingredient>> = Vec::new();
        for id in self.parts.iter().flat_map(|part| &part.choices) {
            if seen.contains(&id) {
                let what = format!("`{}` is a part twice", id.name);
                problems.push(Problem::new(Code::Recipe, at, what, "each ingredient once"));
                return None;
            }
            seen.push(id);
        }
        let sum = self.parts.iter().try_fold(Fraction::ZERO, |sum, part| sum.plus(part.amount));
        if sum.is_none() {
            problems.push(Problem::new(
                Code::Recipe,
                at,
                "the parts have too many digits to be summed exactly",
                "shorter numbers",
            ));
            return None;
        }
        Some(self)
    }

    /// Whether one of its parts offers an ingredient as a choice.
    #[must_use]
    pub fn offers(&self, ingredient: &Handle<Ingredient>) -> bool {
        self.parts.iter().any(|part| part.choices.len() > 1 && part.choices.contains(ingredient))
    }
}

/// Reads `yield:`, a share above zero.
fn read_yield(fields: &mut Fields<'_>, problems: &Problems) -> Option<Fraction> {
    let kept = fields.quantity("yield", "mix kept after blending, such as `88 %`", |text| match share(text) {
        Ok(kept) if kept.is_zero() => Err(Fault::Zero(text.trim().to_owned())),
        read => read,
    })?;
    // By the limit model of packing (Furnas) fine and coarse parts keep 71 % at least.
    if Fraction::new(1, 10).is_some_and(|least| kept < least) {
        let at = fields.get("yield").map_or(fields.at(), |node| node.at);
        let what = "next to nothing would be left of the mix";
        problems.push(Problem::new(Code::Quantity, at, what, "mix kept after blending, at least 10 %"));
        return None;
    }
    Some(kept)
}

/// A number above zero and within reason, for parts.
fn positive(text: &str) -> Result<Fraction, Fault> {
    const LARGEST_PART: u64 = 1_000_000;
    let value = number(text)?;
    if value.is_zero() {
        Err(Fault::Zero(text.trim().to_owned()))
    } else if value > Fraction::whole(LARGEST_PART) {
        Err(Fault::TooLarge(text.trim().to_owned()))
    } else {
        Ok(value)
    }
}

/// A part as a number (`3`, `1/3`) or a percentage; whether it was one.
fn part_amount(text: &str) -> Result<(Fraction, bool), Fault> {
    if text.trim_end().ends_with('%') {
        let value = share(text)?;
        return if value.is_zero() { Err(Fault::Zero(text.trim().to_owned())) } else { Ok((value, true)) };
    }
    positive(text).map(|value| (value, false))
}

/// The parts, and whether they are all percentages.
fn read_parts(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> (Vec<Part>, bool) {
    let mut parts = Vec::new();
    let mut percentages = true;
    for (name, key, value) in entries(node, "the parts", problems).unwrap_or_default() {
        let choices = part::choices(name, key.at, catalogue, problems);
        let Some(text) = text_of(value, "a number of parts", problems) else { continue };
        let read = problems.quantity(value.at, part_amount(text), "parts, such as `3`, `0.5` or `1/3`");
        let Some((amount, percentage)) = read else { continue };
        percentages &= percentage;
        parts.extend(choices.map(|choices| Part { choices, amount }));
    }
    let percentages = percentages && !parts.is_empty();
    (parts, percentages)
}

/// The sum of stated shares over their stated whole, if it is off by more than the
/// rounding of thirds.
fn shares_off(parts: &[Part], whole: Option<Fraction>) -> Option<Fraction> {
    let sum = parts.iter().try_fold(Fraction::ZERO, |sum, part| sum.plus(part.amount))?;
    let ratio = sum.over(whole?)?;
    ((ratio.to_f64() - 1.0).abs() > 0.015).then_some(ratio)
}

/// The words for shares that do not sum to their whole.
#[must_use]
pub fn shares_off_words(recipe: &str, ratio: Fraction) -> String {
    format!(
        "the shares of `{recipe}` sum to {} of the stated whole; they are used in proportion, but look for a misprint",
        percent(ratio)
    )
}
