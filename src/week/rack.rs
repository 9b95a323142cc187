//! Where the trays will stand.

use crate::diagnostic::{Code, Problem, Problems};
use crate::source::{Fields, FromNode, Node, figures};
use crate::units::{Bounds, count, within};

/// Lit shelves with room for so many trays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rack {
    /// Places in all.
    pub places: u64,
    /// Places taken already.
    pub occupied: u64,
}

figures! {
    /// Shelves, or trays on them.
    Places(u64): "a whole number",
        text => count(text).and_then(|places| within(places, places as f64, PLACES, text));
}

const PLACES: Bounds = (0.0..=1e6, "a rack has at most 1000000 places");

impl FromNode for Rack {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a rack", problems)?;
        let shelves = fields.required("shelves").map(|Places(shelves)| shelves);
        let each = fields.required("trays_per_shelf").map(|Places(each)| each);
        let Places(occupied) = fields.optional("occupied").unwrap_or(Places(0));
        fields.finish()?;
        let (shelves, each) = (shelves?, each?);
        // A million times a million does not wrap.
        let (places, text) = (shelves * each, format!("{shelves} x {each}"));
        let places =
            problems.quantity(node.at, within(places, places as f64, PLACES, &text), "fewer shelves or trays")?;
        if occupied > places {
            let what = "more places are occupied than the rack has";
            return problems.refuse(Problem::new(
                Code::Conflict,
                node.at,
                what,
                "`occupied:` within shelves x trays_per_shelf",
            ));
        }
        Some(Self { places, occupied })
    }
}

impl Rack {
    /// Places still free.
    pub fn free(&self) -> u64 {
        self.places - self.occupied
    }
}
