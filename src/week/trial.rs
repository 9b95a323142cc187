//! A trial of trays in pairs, as a week asks for it.

use super::loader::Loader;
use super::{Place, Sowing};
use crate::catalogue::{Crop, Handle};
use crate::diagnostic::Problems;
use crate::exact::Fraction;
use crate::source::{Fields, Node, PositiveShare, counts, figures, words};
use crate::units::count;
use std::sync::Arc;

words! {
    /// What the two arms of a trial differ in.
    Compared {
        /// The coir of their mix: soaked, or only wetted.
        Coir = "coir",
        /// The inoculant: with it, or without.
        Inoculant = "inoculant",
        /// How they are fed; their mix is the same.
        Feed = "feed",
    }
}

counts! {
    /// Pairs of trays: up to [`crate::behaviour::MOST_PAIRS`].
    Pairs(u16): "a number of pairs", 20;
}

figures! {
    /// What the sides are drawn by.
    Seed(u64): "any whole number, such as `7`", text => count(text);
}

/// A trial of trays in pairs.
#[derive(Clone, Debug)]
pub struct PairedTrial {
    /// The crop whose trays are compared.
    pub crop: Handle<Crop>,
    /// What the arms differ in.
    pub compare: Compared,
    /// How many pairs.
    pub pairs: u16,
    /// What the sides are drawn by: the same seed draws the same sides.
    pub seed: u64,
    /// The difference that one wants to see, where that is said.
    pub difference: Option<Fraction>,
    /// Where it is written.
    pub place: Place,
}

impl PairedTrial {
    /// Whether a sowing is of its crop.
    pub fn is_of(&self, sowing: &Sowing) -> bool {
        sowing.crop.as_ref().is_some_and(|crop| crop.is_same(&self.crop))
    }

    /// Reads a trial; whether the week has trays enough for it shows once they are worked out.
    pub(super) fn read(node: &Node<'_>, loader: &Loader<'_>, problems: &Problems) -> Option<Self> {
        Fields::read(node, "a trial", problems, |fields| {
            let crop = fields.require("crop").and_then(|node| loader.catalogue.crop(node, problems));
            let compare = fields.required("compare");
            let pairs = fields.required("pairs").map(|Pairs(pairs)| pairs);
            let seed = fields.required("seed").map(|Seed(seed)| seed);
            let difference = fields.optional("difference").map(|PositiveShare(share)| share);
            let place = Place::new(Arc::clone(problems.source()), fields.at());
            Some(Self { crop: crop?, compare: compare?, pairs: pairs?, seed: seed?, difference, place })
        })
    }
}
