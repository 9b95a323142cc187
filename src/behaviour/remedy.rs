//! What to add to a mix that keeps too little air in a cell.

use super::blend::{Parts, Pores};
use super::cell::ENOUGH_AIR;
use super::packing::Kept;
use crate::catalogue::{Frustum, Ingredient};
use serde::{Serialize, Serializer};

/// Of more candidates the first are tried.
const MOST_TRIED: usize = 100;

/// More of one ingredient, with which a cell keeps enough air.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Remedy<'i> {
    /// The ingredient.
    #[serde(rename = "name", serialize_with = "by_name")]
    pub ingredient: &'i Ingredient,
    /// So many parts more than the recipe has, in quarters of a part.
    pub parts: f64,
    /// The usual air in the cell then, as a share of its volume.
    pub air: f64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands on a reference to whatever the field is")]
fn by_name<S: Serializer>(ingredient: &&Ingredient, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&ingredient.name)
}

/// For each candidate the fewest quarters of a part that bring the air in a drained cell to [`ENOUGH_AIR`], the other parts
/// and the yield staying; the least change first. Left out are those that do not even as half of the mix, and all where
/// there is air enough, or where the pores of an ingredient are not known.
///
/// ```
/// use trayful::behaviour::packing::Kept;
/// use trayful::behaviour::{ENOUGH_AIR, remedies, shape_of};
/// use trayful::catalogue::Catalogue;
/// let Catalogue { ingredients, trays, .. } = Catalogue::built_in();
/// let [peat, castings, perlite] = ["peat", "castings", "perlite"].map(|name| ingredients.find(name).unwrap());
/// let cell = shape_of(&trays.find("288-cell").unwrap()).unwrap();
/// let found = remedies(&[(&peat, 3.0), (&castings, 1.0)], Kept::Said(0.88), &cell, &[&castings, &perlite]);
/// assert_eq!((found.len(), found[0].ingredient.name.as_str()), (1, "perlite"));
/// assert!(found[0].air >= ENOUGH_AIR);
/// ```
pub fn remedies<'i>(parts: &Parts<'i>, kept: Kept, cell: &Frustum, candidates: &[&'i Ingredient]) -> Vec<Remedy<'i>> {
    let air_with = |more: Option<(&'i Ingredient, f64)>| {
        let parts: Vec<_> = parts.iter().copied().chain(more).collect();
        Pores::of(&parts, kept.of(&parts)).ok()?.air_in([cell]).pop()
    };
    if air_with(None).is_none_or(|air| air >= ENOUGH_AIR) {
        return Vec::new();
    }
    let most: f64 = parts.iter().map(|(_, parts)| parts).sum();
    let remedy = |ingredient: &'i Ingredient| {
        let enough = |quarters: f64| {
            air_with(Some((ingredient, quarters / 4.0))).filter(|air| *air >= ENOUGH_AIR).map(|air| (quarters, air))
        };
        let mut found = enough((4.0 * most).floor())?;
        let mut too_few = 0.0;
        while found.0 - too_few > 1.0 {
            let middle = f64::midpoint(too_few, found.0).floor();
            match enough(middle) {
                Some(fewer) => found = fewer,
                None => too_few = middle,
            }
        }
        Some(Remedy { ingredient, parts: found.0 / 4.0, air: found.1 })
    };
    let mut found: Vec<_> = candidates.iter().take(MOST_TRIED).filter_map(|ingredient| remedy(ingredient)).collect();
    found.sort_by(|one, other| one.parts.total_cmp(&other.parts));
    found
}
