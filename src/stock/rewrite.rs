//! Changed amounts put into a stock file's text, everything else left as it is.

use super::leftover::Leftover;
use super::read::{Stock, read};
use super::shed::{Rewritten, Shed};
use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Problems, SourceText};
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
/// What has to be written by hand.
pub fn rewrite(
    original: &Original,
    stock: &Stock,
    shed: &Shed,
    mixes: &[Leftover],
    catalogue: &Catalogue,
) -> Result<NewText, Vec<String>> {
    let changed = shed.rewritten();
    let listed: Vec<&Handle<Ingredient>> = stock.on_hand.shed.ingredients().collect();
    let (new, known): (Vec<&Rewritten>, Vec<&Rewritten>) =
        changed.iter().partition(|change| !listed.contains(&&change.ingredient));
    let in_words = |change: &Rewritten| format!("{}: {}", change.ingredient.name, change.text);
    let unplaced: Vec<String> =
        known.iter().filter(|change| change.at.is_none()).map(|change| in_words(change)).collect();
    if !unplaced.is_empty() {
        return Err(unplaced);
    }
    let amounts = known.iter().filter_map(|change| Some((change.at?, change.text.clone())));
    let used = mixes.iter().filter(|mix| !stock.mixes.contains(mix));
    let mixed = used.clone().filter_map(|mix| Some((mix.at?, mix.amount_text())));
    let edits: Vec<Edit> = amounts.chain(mixed).map(|(at, text)| Edit { at: original.range(at), text }).collect();
    let new_mixes: Vec<String> = used.clone().filter(|mix| mix.at.is_none()).map(Leftover::text).collect();
    let new_amounts: Vec<String> = new.iter().map(|change| in_words(change)).collect();
    let first_mix = stock.first_mix.map(|first| before_bracket(&original.bytes, original.range(first).start));
    let first_amount = stock.on_hand.first.map(|first| original.range(first).start);
    for amounts in insertions(original, "on_hand", first_amount, &new_amounts) {
        for mixes_too in insertions(original, "mixes", first_mix, &new_mixes) {
            let all: Vec<Edit> = edits.iter().cloned().chain(together(amounts.clone(), mixes_too)).collect();
            if let Some((bytes, back)) = edited(&original.bytes, &all)
                && says(&bytes, original, &Stock { mixes: mixes.to_vec(), ..stock.clone() }, shed, catalogue)
            {
                return Ok(NewText { bytes, back });
            }
        }
    }
    Err(changed.iter().map(in_words).chain(used.map(|mix| format!("mixes: {}", mix.text()))).collect())
}

/// The ingredients of a mix that a stock file does not know without a week, or knows as something else.
pub fn unknown_alone<'m>(source: &Arc<SourceText>, mix: &'m Leftover) -> Vec<&'m str> {
    let mut alone = Catalogue::built_in().unwrap_or_default();
    let _ = read(source, &mut alone, &Problems::new(Arc::clone(source)));
    let is_known = |id: &Ingredient| alone.ingredients.find(&id.name).is_some_and(|found| found.kind == id.kind);
    mix.composition.ingredients().filter(|id| !is_known(id)).map(|id| id.name.as_str()).collect()
}

/// The place before the bracket that opens a map, where one does.
fn before_bracket(bytes: &[u8], at: usize) -> usize {
    let before = bytes[..at].trim_ascii_end();
    if before.ends_with(b"{") { before.len() - 1 } else { at }
}

/// Two insertions, which may be at one place.
fn together(one: Option<Edit>, other: Option<Edit>) -> Vec<Edit> {
    match (one, other) {
        (Some(one), Some(other)) if one.at == other.at => vec![Edit { text: one.text + &other.text, ..other }],
        (one, other) => one.into_iter().chain(other).collect(),
    }
}

/// The ways to put new entries under a key of the file, to be tried in turn: before the first one, or at the end.
fn insertions(original: &Original, key: &str, first: Option<usize>, entries: &[String]) -> Vec<Option<Edit>> {
    if entries.is_empty() {
        return vec![None];
    }
    let (bytes, end) = (&original.bytes, original.line_end());
    let Some(at) = first else {
        let at = bytes.len();
        let break_before = if bytes.ends_with(b"\n") || bytes.ends_with(b"\r") { "" } else { end };
        let dash = if key == "mixes" { "- " } else { "" };
        let lines: String = entries.iter().map(|entry| format!("  {dash}{entry}{end}")).collect();
        return vec![Some(Edit { at: at..at, text: format!("{break_before}{key}:{end}{lines}") })];
    };
    let line = bytes[..at].iter().rposition(|byte| matches!(byte, b'\n' | b'\r')).map_or(0, |end| end + 1);
    // With the dash of a list.
    let indent = String::from_utf8_lossy(&bytes[line..at]).into_owned();
    let inline: String = entries.iter().map(|entry| format!("{entry}, ")).collect();
    let block: String = entries.iter().map(|entry| format!("{entry}{end}{indent}")).collect();
    [inline, block].map(|text| Some(Edit { at: at..at, text })).into()
}

/// Whether the new text reads as the old stock with the amounts of `shed`.
fn says(bytes: &[u8], original: &Original, stock: &Stock, shed: &Shed, catalogue: &Catalogue) -> bool {
    let Ok(new) = Original::of(&original.source.name, bytes.to_vec()) else { return false };
    let problems = Problems::new(Arc::clone(&new.source));
    let Some(read) = read(&new.source, &mut catalogue.clone(), &problems) else { return false };
    let same = read.name == stock.name
        && read.currency == stock.currency
        && read.packages == stock.packages
        && read.ready_made == stock.ready_made
        && read.mixes.len() == stock.mixes.len()
        && stock.mixes.iter().all(|mix| read.mixes.iter().any(|found| found.says(mix)));
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
