//! A mix in parts, with its doses, and what changes for some crops.

mod built_in;
mod change;
mod composition;
mod dose;
mod part;
mod replaced;
mod variant;

pub use built_in::{BUILT_IN, built_in};
pub use change::{Change, PartsOrDose, Top};
pub use composition::Composition;
pub use dose::{Basis, Dose};
pub use part::Part;
pub(crate) use part::parts as as_parts;
pub use replaced::{Replacement, usual_lime_g_per_l};
pub use variant::{LeftOut, MixFault, MixFor, RecipeShare, Variant, Why, Work};

use crate::catalogue::{Catalogue, Crop, Handle, Ingredient, Status};
use crate::diagnostic::{Code, Problems, Span};
use crate::exact::Fraction;
use crate::source::{Fields, FromNode, Mesh, entries, no_more_than};
use crate::units::percent;
use part::{Parts, WantedPh, Whole, Yield};

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
    /// The pH that its lime is to bring.
    pub ph: Option<f64>,
    /// Changes, in order.
    pub changes: Vec<Change>,
    /// Stated shares that do not sum to the stated whole: the sum over the whole.
    pub shares_off: Option<Fraction>,
}

/// The most parts of a recipe, and the most doses; a change names no more of either.
const MOST_PARTS: usize = 100;
/// The most changes of a recipe.
const MOST_CHANGES: usize = 1000;

/// Mix kept after blending fine and coarse parts, where no bucket test says better:
/// a judgement, not published (0.80 to 0.95).
pub fn default_yield() -> Fraction {
    Fraction::new(88, 100).unwrap_or(Fraction::ONE)
}

impl Recipe {
    /// Whether it has an inoculant that serves a host of mycorrhiza, for some mix.
    pub fn inoculates(&self, host: Option<&Handle<Crop>>) -> bool {
        let parts = self.parts.iter().flat_map(|part| &part.choices);
        let mut served =
            parts.chain(self.doses.iter().map(|dose| &dose.ingredient)).filter_map(|id| id.serves.as_ref());
        served.any(|served| served.is_by_mycorrhiza() && served.includes(host, Some(Status::Host), None))
    }

    /// Reads a recipe file whose `ingredients:` are in the catalogue already.
    pub fn read(fields: &mut Fields<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        let name = fields.required("recipe");
        let (parts, percentages) = read_parts(fields, catalogue, problems);
        let whole = fields.optional("whole").map(|Whole(whole)| whole);
        let doses = read_doses(fields, catalogue, problems);
        let changes = no_more_than(fields.list("changes"), MOST_CHANGES, "changes", fields.place("changes"), problems);
        let changes = changes.iter().filter_map(|node| Change::read(node, catalogue, problems)).collect();
        let (about, source) = (fields.prose("about"), fields.prose("source"));
        let yield_ = fields.optional("yield").map(|Yield(kept)| kept);
        let ph = fields.optional("ph").map(|WantedPh(ph)| ph);
        if !fields.is_sound() {
            return None;
        }
        let shares_off = shares_off(&parts, if percentages { Some(Fraction::ONE) } else { whole });
        check(&parts, fields.place("parts"), problems)?;
        Some(Self { name: name?, about, source, parts, doses, yield_, ph, changes, shares_off })
    }

    /// Whether one of its parts offers an ingredient as a choice.
    pub fn offers(&self, ingredient: &Handle<Ingredient>) -> bool {
        self.parts.iter().any(|part| part.choices.len() > 1 && part.choices.contains(ingredient))
    }
}

/// The `parts:` of a recipe or of a mix, and whether all are percentages.
fn read_parts(fields: &mut Fields<'_>, catalogue: &Catalogue, problems: &Problems) -> (Vec<Part>, bool) {
    let stated = fields.require("parts").and_then(|node| entries(node, "the parts", problems));
    let stated = stated.unwrap_or_default();
    let stated = no_more_than(&stated, MOST_PARTS, "parts", fields.place("parts"), problems);
    let mut parts = Vec::new();
    let mut percentages = true;
    for &(name, key, value) in stated {
        let choices = part::choices(name, key.at, catalogue, problems);
        let Some(Parts((amount, percentage))) = Parts::from_node(value, problems) else { continue };
        percentages &= percentage;
        parts.extend(choices.map(|choices| Part { choices, amount }));
    }
    (parts, percentages)
}

/// The `doses:` of a recipe or of a mix.
fn read_doses(fields: &mut Fields<'_>, catalogue: &Catalogue, problems: &Problems) -> Vec<Dose> {
    let doses = fields.entries("doses", "the doses");
    let doses = no_more_than(&doses, MOST_PARTS, "doses", fields.place("doses"), problems);
    let doses = doses.iter().filter_map(|&(name, key, value)| {
        let ingredient = catalogue.ingredient_named(name, key.at, problems);
        let (rate, basis) = dose::read(value, catalogue, problems)?;
        Some(Dose { ingredient: ingredient?, rate, basis: basis.unwrap_or(Basis::Finished) })
    });
    doses.collect()
}

/// Whether a mix can be of such parts.
fn check(parts: &[Part], at: Span, problems: &Problems) -> Option<()> {
    if parts.is_empty() {
        return problems.deny(Code::Recipe, at, "the recipe has no parts", "at least one part");
    }
    let mut seen: Vec<&Handle<Ingredient>> = Vec::new();
    for id in parts.iter().flat_map(|part| &part.choices) {
        if seen.contains(&id) {
            return problems.deny(Code::Recipe, at, format!("`{}` is a part twice", id.name), "each ingredient once");
        }
        seen.push(id);
    }
    if parts.iter().try_fold(Fraction::ZERO, |sum, part| sum.plus(part.amount)).is_none() {
        let what = "the parts have too many digits to be summed exactly";
        return problems.deny(Code::Recipe, at, what, "shorter numbers");
    }
    Some(())
}

impl Composition {
    /// Reads the `parts:`, `doses:` and `sieve:` of a mix that was made, whose yield no longer matters.
    pub fn read(fields: &mut Fields<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        let (parts, _) = read_parts(fields, catalogue, problems);
        let doses = read_doses(fields, catalogue, problems);
        let sieve = fields.optional("sieve").map(|Mesh(mesh)| mesh);
        check(&parts, fields.place("parts"), problems)?;
        if let Some(part) = parts.iter().find(|part| part.choices.len() > 1) {
            let names: Vec<&str> = part.choices.iter().map(|id| id.name.as_str()).collect();
            let what = format!("a mix that is made holds one of `{}`", names.join(" or "));
            return problems.deny(Code::Recipe, fields.place("parts"), what, "the one that is in it");
        }
        let parts = parts.into_iter().map(|part| (part.choices[0].clone(), part.amount)).collect();
        Some(Self { parts, doses, sieve, yield_: Fraction::ONE })
    }
}

/// The sum of stated shares over their stated whole, if it is off by more than the
/// rounding of thirds.
fn shares_off(parts: &[Part], whole: Option<Fraction>) -> Option<Fraction> {
    let sum = parts.iter().try_fold(Fraction::ZERO, |sum, part| sum.plus(part.amount))?;
    let ratio = sum.over(whole?)?;
    ((ratio.to_f64() - 1.0).abs() > 0.015).then_some(ratio)
}

/// The words for shares that do not sum to their whole.
pub fn shares_off_words(recipe: &str, ratio: Fraction) -> String {
    format!(
        "the shares of `{recipe}` sum to {} of the stated whole; they are used in proportion, but look for a misprint",
        percent(ratio)
    )
}
