//! What differs for some crops.

use super::dose;
use super::{part_amount, read_yield};
use crate::catalogue::{Catalogue, Handle, Ingredient, Whom};
use crate::diagnostic::{Code, Problem, Problems};
use crate::exact::Fraction;
use crate::source::{Fields, Node, Value, entries, list, text_of};
use crate::units::{Length, length};

/// A change to a recipe for some crops.
#[derive(Clone, Debug)]
pub struct Change {
    /// For whom.
    pub whom: Whom,
    /// Left out.
    pub drop: Vec<Handle<Ingredient>>,
    /// What takes the share of a part left out; else the other parts scale up.
    pub instead: Option<Handle<Ingredient>>,
    /// Added to what is there.
    pub add: Vec<(Handle<Ingredient>, Amount)>,
    /// Put in place of what is there.
    pub set: Vec<(Handle<Ingredient>, Amount)>,
    /// The whole batch goes through this mesh.
    pub sieve: Option<Length>,
    /// The uppermost layer goes through a mesh.
    pub top: Option<Top>,
    /// Mix kept after blending, where it differs from the recipe's.
    pub yield_: Option<Fraction>,
}

/// Parts, or a dose.
#[derive(Clone, Debug, PartialEq)]
pub enum Amount {
    /// Parts by loose volume.
    Parts(Fraction),
    /// A dose per volume.
    Dose(crate::units::Rate, super::Basis),
}

/// A sieved layer on top of each cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Top {
    /// The mesh.
    pub sieve: Length,
    /// How deep.
    pub depth: Length,
}

impl Change {
    /// Reads one entry of `changes:`.
    pub(super) fn read(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        let before = problems.len();
        let mut fields = Fields::new(node, "a change", problems)?;
        let whom = fields.require("for").and_then(|node| Whom::read(node, catalogue, problems));
        let drop_node = fields.get("drop");
        let drop = drop_node.map(|node| ingredients(node, catalogue, problems)).unwrap_or_default();
        let instead_node = fields.get("instead");
        let instead = instead_node.and_then(|node| ingredient(node, catalogue, problems));
        if let (Some(node), None) = (instead_node, drop_node) {
            problems.push(Problem::new(Code::Conflict, node.at, "`instead:` without `drop:`", "`drop:` beside it"));
        }
        if let (Some(node), Some(carrier)) = (instead_node, instead.as_ref().filter(|carrier| drop.contains(carrier))) {
            let what = format!("`{}` is dropped itself", carrier.name);
            problems.push(Problem::new(Code::Conflict, node.at, what, "an ingredient that stays in the mix"));
        }
        let mut amounts = |key, problems: &Problems| {
            fields.get(key).map(|node| read_amounts(node, catalogue, problems)).unwrap_or_default()
        };
        let (add, set) = (amounts("add", problems), amounts("set", problems));
        let sieve = fields.quantity("sieve", "a mesh such as `6 mm`", length);
        let top = fields.get("top").and_then(|node| Top::read(node, problems));
        let yield_ = read_yield(&mut fields, problems);
        let at = fields.at();
        fields.finish();
        if problems.len() > before {
            return None;
        }
        let change = Self { whom: whom?, drop, instead, add, set, sieve, top, yield_ };
        if change.is_empty() {
            problems.push(Problem::new(
                Code::Recipe,
                at,
                "this change changes nothing",
                "drop, add, set, sieve, top or yield",
            ));
            return None;
        }
        Some(change)
    }

    fn is_empty(&self) -> bool {
        self.drop.is_empty()
            && self.add.is_empty()
            && self.set.is_empty()
            && self.sieve.is_none()
            && self.top.is_none()
            && self.yield_.is_none()
    }
}

impl Top {
    fn read(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a top layer", problems)?;
        fields.require("sieve");
        let sieve = fields.quantity("sieve", "a mesh such as `5 mm`", length);
        fields.require("depth");
        let depth = fields.quantity("depth", "a depth such as `10 mm`", length);
        fields.finish();
        Some(Self { sieve: sieve?, depth: depth? })
    }
}

fn ingredient(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Handle<Ingredient>> {
    catalogue.ingredient_named(text_of(node, "an ingredient", problems)?, node.at, problems)
}

fn ingredients(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Vec<Handle<Ingredient>> {
    list(node).iter().filter_map(|entry| ingredient(entry, catalogue, problems)).collect()
}

/// Parts where a bare number or percentage stands, else a dose.
fn read_amounts(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Vec<(Handle<Ingredient>, Amount)> {
    let mut amounts = Vec::new();
    for (name, key, value) in entries(node, "ingredients with amounts", problems).unwrap_or_default() {
        let id = catalogue.ingredient_named(name, key.at, problems);
        let dosed = match &value.value {
            Value::Text(text) => text.contains(['/', ' ']) && crate::units::rate(text).is_ok(),
            _ => true,
        };
        let amount = if dosed {
            dose::read(value, catalogue, problems).map(|(rate, basis)| Amount::Dose(rate, basis))
        } else {
            const EXPECTED: &str = "parts such as `1`, or a dose such as `1 g/L`";
            text_of(value, "parts or a dose", problems)
                .and_then(|text| problems.quantity(value.at, part_amount(text), EXPECTED))
                .map(|(parts, _)| Amount::Parts(parts))
        };
        amounts.extend(id.zip(amount));
    }
    amounts
}
