//! Small amounts per volume: lime, inoculant, fertiliser.

use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Problem, Problems};
use crate::source::{Fields, Node, Value, entries, text_of};
use crate::units::{Rate, rate};

/// So much of an ingredient per volume.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// What.
    pub ingredient: Handle<Ingredient>,
    /// How much, by weight or by spoon.
    pub rate: Rate,
    /// Per volume of what.
    pub basis: Basis,
}

impl Dose {
    pub(super) fn new(ingredient: &Handle<Ingredient>, rate: Rate, basis: &Basis) -> Self {
        Self { ingredient: ingredient.clone(), rate, basis: basis.clone() }
    }
}

/// The volume a dose is counted on.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Basis {
    /// The finished mix.
    Finished,
    /// The summed loose ingredients, as some printed recipes do.
    Loose,
    /// The loose volume of one ingredient.
    Of(Handle<Ingredient>),
}

const EXPECTED: &str = "a dose such as `1 g/L`, `5 lb/cu yd` or `1 tbsp/gal`";

/// Reads `doses:`.
pub(super) fn read_all(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Vec<Dose> {
    let mut doses = Vec::new();
    for (name, key, value) in entries(node, "the doses", problems).unwrap_or_default() {
        let ingredient = catalogue.ingredient_named(name, key.at, problems);
        let dose = read(value, catalogue, problems);
        if let (Some(ingredient), Some((rate, basis))) = (ingredient, dose) {
            doses.push(Dose { ingredient, rate, basis });
        }
    }
    doses
}

/// Reads one dose: a rate, or `{rate:, of:}` or `{rate:, per: loose}`.
pub(super) fn read(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<(Rate, Basis)> {
    if !matches!(node.value, Value::Map(_)) {
        return read_rate(node, problems).map(|rate| (rate, Basis::Finished));
    }
    let before = problems.len();
    let mut fields = Fields::new(node, "a dose", problems)?;
    let rate = fields.require("rate").and_then(|node| read_rate(node, problems));
    let of = fields.get("of");
    let of_ingredient = of.and_then(|node| {
        let name = text_of(node, "an ingredient", problems)?;
        catalogue.ingredient_named(name, node.at, problems)
    });
    let loose = fields.choice("per", &[("loose", true), ("finished", false)]);
    if let (Some(of), Some(_)) = (of, loose) {
        problems.push(Problem::new(
            crate::diagnostic::Code::Conflict,
            of.at,
            "a dose counts on one volume only",
            "either `of:` or `per:`",
        ));
    }
    fields.finish();
    let basis = match (of_ingredient, loose) {
        (Some(ingredient), _) => Basis::Of(ingredient),
        (None, Some(true)) => Basis::Loose,
        (None, _) => Basis::Finished,
    };
    if problems.len() > before { None } else { rate.map(|rate| (rate, basis)) }
}

fn read_rate(node: &Node<'_>, problems: &Problems) -> Option<Rate> {
    let text = text_of(node, EXPECTED, problems)?;
    problems.measured(node.at, rate(text), EXPECTED)
}
