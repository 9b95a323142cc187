//! Small amounts per volume: lime, inoculant, fertiliser.

use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Code, Problems};
use crate::source::{Fields, FromNode, Node, Value, words};
use crate::units::Rate;

/// So much of an ingredient per volume.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// What.
    pub ingredient: Handle<Ingredient>,
    /// How much, by weight or by spoon.
    pub rate: Rate,
    /// The volume that the rate is for.
    pub basis: Basis,
}

impl Dose {
    pub(super) fn new(ingredient: &Handle<Ingredient>, rate: Rate, basis: &Basis) -> Self {
        Self { ingredient: ingredient.clone(), rate, basis: basis.clone() }
    }
}

/// The volume a dose is counted on.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Basis {
    /// The finished mix.
    Finished,
    /// The summed loose ingredients, as some printed recipes do.
    Loose,
    /// The loose volume of one ingredient.
    Of(Handle<Ingredient>),
}

words! {
    /// The volume that a dose is counted on, where it is not that of one ingredient.
    WholeVolume {
        /// The finished mix.
        Finished = "finished",
        /// The summed loose ingredients.
        Loose = "loose",
    }
}

/// Reads one dose: a rate, or `{rate:, of:}` or `{rate:, per: loose}`; the volume that it is for where that is stated.
pub(super) fn read(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<(Rate, Option<Basis>)> {
    if !matches!(node.value, Value::Map(_)) {
        return Rate::from_node(node, problems).map(|rate| (rate, None));
    }
    let mut fields = Fields::new(node, "a dose", problems)?;
    let rate = fields.required("rate");
    let of = fields.get("of").and_then(|node| catalogue.ingredient(node, problems));
    let per = fields.optional("per");
    let basis = match (of, per) {
        (Some(_), Some(_)) => {
            let what = "a dose counts on one volume only";
            problems.deny(Code::Conflict, fields.place("of"), what, "either `of:` or `per:`")
        }
        (Some(ingredient), None) => Some(Some(Basis::Of(ingredient))),
        (None, Some(WholeVolume::Loose)) => Some(Some(Basis::Loose)),
        (None, Some(WholeVolume::Finished)) => Some(Some(Basis::Finished)),
        (None, None) => Some(None),
    };
    fields.finish()?;
    rate.zip(basis)
}
