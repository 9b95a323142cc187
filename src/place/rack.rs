//! Where the trays will stand.

use crate::diagnostic::{Code, Problem, Problems};
use crate::source::{Fields, FromNode, Node, figures};
use crate::units::mass::kilogram;
use crate::units::{Bounds, Mass, count, mass, within};

/// Lit shelves with room for so many trays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rack {
    /// Places in all.
    pub places: u64,
    /// Of these, on one shelf.
    pub across: u64,
    /// Places taken already.
    pub occupied: u64,
    /// Places with heat from below, where stated.
    pub mats: Option<u64>,
    /// What a shelf may carry, where stated.
    pub load: Option<Mass>,
}

figures! {
    /// Shelves, or trays on them.
    Places(u64): "a whole number",
        text => count(text).and_then(|places| within(places, places as f64, PLACES, text));
    /// What a shelf may carry.
    Load(Mass): "a mass such as `45 kg`",
        text => mass(text).and_then(|load| within(load, load.get::<kilogram>(), LOAD_KG, text));
}

const PLACES: Bounds = (0.0..=1e6, "a rack has at most 1000000 places");
const LOAD_KG: Bounds = (0.1..=1e4, "a shelf carries 100 g to 10 t");

impl FromNode for Rack {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a rack", problems)?;
        let shelves = fields.required("shelves").map(|Places(shelves)| shelves);
        let each = fields.required("trays_per_shelf").map(|Places(each)| each);
        let Places(occupied) = fields.optional("occupied").unwrap_or(Places(0));
        let mats = fields.optional("mats").map(|Places(mats)| mats);
        let load = fields.optional("load").map(|Load(load)| load);
        fields.finish()?;
        let (shelves, each) = (shelves?, each?);
        // A million times a million does not wrap.
        let (places, text) = (shelves * each, format!("{shelves} x {each}"));
        let places =
            problems.quantity(node.at, within(places, places as f64, PLACES, &text), "fewer shelves or trays")?;
        for (taken, what, expected) in [
            (occupied, "more places are occupied than the rack has", "`occupied:` within shelves x trays_per_shelf"),
            (mats.unwrap_or(0), "more places have heat than the rack has", "`mats:` within shelves x trays_per_shelf"),
        ] {
            if taken > places {
                return problems.refuse(Problem::new(Code::Conflict, node.at, what, expected));
            }
        }
        Some(Self { places, across: each, occupied, mats, load })
    }
}

impl Rack {
    /// Places still free.
    pub fn free(&self) -> u64 {
        self.places - self.occupied
    }
}
