//! Where the trays will stand.

use crate::diagnostic::{Code, Problem, Problems};
use crate::source::{Fields, Node};
use crate::units::count;

/// Lit shelves with room for so many trays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rack {
    /// Places in all.
    pub places: u64,
    /// Places taken already.
    pub occupied: u64,
}

impl Rack {
    /// Reads `rack:`.
    pub(super) fn read(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a rack", problems)?;
        let before = problems.len();
        fields.require("shelves");
        let shelves = fields.quantity("shelves", "a number of shelves", count);
        fields.require("trays_per_shelf");
        let each = fields.quantity("trays_per_shelf", "trays on one shelf", count);
        let occupied = fields.quantity("occupied", "places taken already", count).unwrap_or(0);
        fields.finish();
        if problems.len() > before {
            return None;
        }
        let places = shelves?.checked_mul(each?).filter(|places| occupied <= *places);
        if places.is_none() {
            let what = "more places are occupied than the rack has";
            problems.push(Problem::new(Code::Conflict, node.at, what, "`occupied:` within shelves x trays_per_shelf"));
        }
        Some(Self { places: places?, occupied })
    }

    /// Places still free.
    #[must_use]
    pub fn free(&self) -> u64 {
        self.places - self.occupied
    }
}
