//! What differs for some crops.

use super::MOST_PARTS;
use super::dose::{self, Basis};
use super::part::{Yield, parts};
use crate::catalogue::{Catalogue, CropChoice, Handle, Ingredient};
use crate::diagnostic::{Code, Problems, Span};
use crate::exact::Fraction;
use crate::source::{Fields, FromNode, FromText, LayerDepth, Mesh, Node, Value, no_more_than};
use crate::units::{Fault, Length, Parsed, Rate, rate};

/// A change to a recipe for some crops.
#[derive(Clone, Debug)]
pub struct Change {
    /// Its place in the file of its recipe.
    pub at: Span,
    /// The crops that it is for.
    pub crops: CropChoice,
    /// Left out.
    pub drop: Vec<Handle<Ingredient>>,
    /// What takes the share of a part left out; else the other parts scale up.
    pub instead: Option<Handle<Ingredient>>,
    /// Added to what is there.
    pub add: Vec<(Handle<Ingredient>, PartsOrDose)>,
    /// Put in place of what is there.
    pub set: Vec<(Handle<Ingredient>, PartsOrDose)>,
    /// The whole batch goes through this mesh.
    pub sieve: Option<Length>,
    /// The uppermost layer goes through a mesh.
    pub top: Option<Top>,
    /// Mix kept after blending, where it differs from the recipe's.
    pub yield_: Option<Fraction>,
}

/// Parts, or a dose.
#[derive(Clone, Debug, PartialEq)]
pub enum PartsOrDose {
    /// Parts by loose volume.
    Parts(Fraction),
    /// A dose per volume.
    Dose(Rate, Option<Basis>),
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
        let mut fields = Fields::new(node, "a change", problems)?;
        let at = fields.at();
        let crops = fields.require("for").and_then(|node| CropChoice::read(node, catalogue, problems));
        let drop = no_more_than(fields.list("drop"), MOST_PARTS, "ingredients", fields.place("drop"), problems);
        let drop: Vec<_> = drop.iter().filter_map(|entry| catalogue.ingredient(entry, problems)).collect();
        let instead = fields.get("instead").and_then(|node| catalogue.ingredient(node, problems));
        let conflict = |what: &str, expected| problems.fault(Code::Conflict, fields.place("instead"), what, expected);
        match &instead {
            Some(_) if !fields.states("drop") => conflict("`instead:` without `drop:`", "`drop:` beside it"),
            Some(carrier) if drop.contains(carrier) => {
                conflict(&format!("`{}` is dropped itself", carrier.name), "an ingredient that stays in the mix");
            }
            _ => {}
        }
        let mut amounts = |key| {
            let entries = fields.entries(key, "ingredients with amounts");
            let entries = no_more_than(&entries, MOST_PARTS, "ingredients", fields.place(key), problems);
            let read = entries.iter().map(|&(name, key, value)| {
                catalogue.ingredient_named(name, key.at, problems).zip(PartsOrDose::read(value, catalogue, problems))
            });
            read.flatten().collect()
        };
        let (add, set) = (amounts("add"), amounts("set"));
        let sieve = fields.optional("sieve").map(|Mesh(mesh)| mesh);
        let top = fields.optional("top");
        let yield_ = fields.optional("yield").map(|Yield(kept)| kept);
        fields.finish()?;
        let change = Self { at, crops: crops?, drop, instead, add, set, sieve, top, yield_ };
        if change.is_empty() {
            let expected = "drop, add, set, sieve, top or yield";
            return problems.deny(Code::Recipe, at, "this change changes nothing", expected);
        }
        Some(change)
    }

    /// What it names.
    pub(super) fn ingredients(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        let amounts = self.add.iter().chain(&self.set).map(|(id, _)| id);
        amounts.chain(&self.drop).chain(&self.instead)
    }

    /// Whether it leaves out castings or compost, and adds none.
    pub(super) fn drops_rich(&self) -> bool {
        let added = self.add.iter().chain(&self.set).map(|(id, _)| id).chain(&self.instead);
        self.drop.iter().any(|id| id.rich) && !added.into_iter().any(|id| id.rich)
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

impl FromNode for Top {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        Fields::read(node, "a top layer", problems, |fields| {
            let sieve = fields.required("sieve").map(|Mesh(mesh)| mesh);
            let depth = fields.required("depth").map(|LayerDepth(depth)| depth);
            Some(Self { sieve: sieve?, depth: depth? })
        })
    }
}

impl PartsOrDose {
    fn read(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        match node.value {
            Value::Text(_) => Self::from_node(node, problems),
            _ => dose::read(node, catalogue, problems).map(|(rate, basis)| Self::Dose(rate, basis)),
        }
    }
}

/// Parts where a bare number or percentage stands, else a dose.
impl FromText for PartsOrDose {
    const EXPECTED: &'static str = "parts such as `1`, or a dose such as `1 g/L`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        if text.contains(['/', ' '])
            && let Ok(rate) = rate(text)
        {
            return Ok(rate.map(|rate| Self::Dose(rate, None)));
        }
        parts(text).map(|(parts, _)| Self::Parts(parts).into())
    }
}
