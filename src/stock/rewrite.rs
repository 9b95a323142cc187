//! Changed amounts put into a stock file's text, everything else left as it is.

use super::read::{Stock, read};
use super::shed::{Rewritten, Shed};
use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::Problems;
use crate::source::{Edit, Original, edited};
use crate::units::mass::gram;
use crate::units::{Mass, Quantity, in_litres};
use std::sync::Arc;

/// A stock file with new amounts, and the edits that turn it back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewText {
    /// The new bytes.
    pub bytes: Vec<u8>,
    /// What turns them into the old ones.
    pub back: Vec<Edit>,
}

/// Writes the amounts of `shed` into the file that `stock` was read from.
///
/// The new text is read again, and refused unless it says what is meant and nothing
/// else has changed: an amount may be shared by an alias, or a label may not stand
/// unquoted.
///
/// # Errors
/// The ingredients whose amount has to be written by hand, with the new text.
pub fn rewrite(
    original: &Original,
    stock: &Stock,
    shed: &Shed,
    catalogue: &Catalogue,
) -> Result<NewText, Vec<Rewritten>> {
    let changed = shed.rewritten();
    let listed: Vec<&Handle<Ingredient>> = stock.on_hand.shed.ingredients().collect();
    let (new, known): (Vec<&Rewritten>, Vec<&Rewritten>) =
        changed.iter().partition(|change| !listed.contains(&&change.ingredient));
    let unplaced: Vec<Rewritten> = known.iter().filter(|change| change.at.is_none()).copied().cloned().collect();
    if !unplaced.is_empty() {
        return Err(unplaced);
    }
    let edits: Vec<Edit> = known
        .iter()
        .filter_map(|change| Some(Edit { at: original.range(change.at?), text: change.text.clone() }))
        .collect();
    for more in insertions(original, stock, &new) {
        let all: Vec<Edit> = edits.iter().cloned().chain(more).collect();
        if let Some((bytes, back)) = edited(&original.bytes, &all)
            && says(&bytes, original, stock, shed, catalogue)
        {
            return Ok(NewText { bytes, back });
        }
    }
    Err(changed)
}

/// The ways to put new names into the file, to be tried in turn.
fn insertions(original: &Original, stock: &Stock, new: &[&Rewritten]) -> Vec<Vec<Edit>> {
    if new.is_empty() {
        return vec![Vec::new()];
    }
    let end = original.line_end();
    let entries: Vec<String> =
        new.iter().map(|change| format!("{}: {}", change.ingredient.name, change.text)).collect();
    let Some(first) = stock.on_hand.first else {
        let bytes = &original.bytes;
        let at = bytes.len();
        let break_before = if bytes.ends_with(b"\n") || bytes.ends_with(b"\r") { "" } else { end };
        let lines: String = entries.iter().map(|entry| format!("  {entry}{end}")).collect();
        return vec![vec![Edit { at: at..at, text: format!("{break_before}on_hand:{end}{lines}") }]];
    };
    let at = original.range(first).start;
    let line = original.bytes[..at].iter().rposition(|byte| matches!(byte, b'\n' | b'\r')).map_or(0, |end| end + 1);
    let indent = String::from_utf8_lossy(&original.bytes[line..at]).into_owned();
    let inline: String = entries.iter().map(|entry| format!("{entry}, ")).collect();
    let block: String = entries.iter().map(|entry| format!("{entry}{end}{indent}")).collect();
    vec![vec![Edit { at: at..at, text: inline }], vec![Edit { at: at..at, text: block }]]
}

/// Whether the new text reads as the old stock with the amounts of `shed`.
fn says(bytes: &[u8], original: &Original, stock: &Stock, shed: &Shed, catalogue: &Catalogue) -> bool {
    let Ok(new) = Original::of(&original.source.name, bytes.to_vec()) else { return false };
    let problems = Problems::new(Arc::clone(&new.source));
    let Some(read) = read(&new.source, &mut catalogue.clone(), &problems) else { return false };
    let same = read.name == stock.name
        && read.currency == stock.currency
        && read.packages == stock.packages
        && read.ready_made == stock.ready_made;
    // Each amount is written to the thousandth, rounded down.
    let near = |wanted: f64, found: f64| wanted - found > -1e-6 && wanted - found < 0.01;
    let (litres, grams) = (Quantity::Volume(in_litres(1.0)), Quantity::Mass(Mass::new::<gram>(1.0)));
    let ingredients = || shed.ingredients().chain(read.on_hand.shed.ingredients());
    problems.is_empty()
        && same
        && ingredients().all(|id| {
            [litres, grams]
                .into_iter()
                .all(|like| near(shed.at_hand(id, like).size(), read.on_hand.shed.at_hand(id, like).size()))
        })
}
