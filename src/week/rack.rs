//! Where the trays will stand.

use crate::diagnostic::{Code, Problem, Problems};
use crate::source::{Fields, FromNode, Node};

/// Lit shelves with room for so many trays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rack {
    /// Places in all.
    pub places: u64,
    /// Places taken already.
    pub occupied: u64,
}

impl FromNode for Rack {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a rack", problems)?;
        let (shelves, each) = (fields.required::<u64>("shelves"), fields.required("trays_per_shelf"));
        let occupied = fields.optional("occupied").unwrap_or(0);
        fields.finish()?;
        let places = shelves?.checked_mul(each?).filter(|places| occupied <= *places);
        if places.is_none() {
            let what = "more places are occupied than the rack has";
            problems.push(Problem::new(Code::Conflict, node.at, what, "`occupied:` within shelves x trays_per_shelf"));
        }
        Some(Self { places: places?, occupied })
    }
}

impl Rack {
    /// Places still free.
    pub fn free(&self) -> u64 {
        self.places - self.occupied
    }
}
