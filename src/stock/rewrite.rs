//! Changed amounts put into a stock file's text, everything else left as it is.

use super::leftover::Leftover;
use super::read::{Stock, read};
use super::shed::{Rewritten, Shed};
use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::diagnostic::{Problems, SourceText, Span};
use crate::source::{Edit, Original, edited};
use crate::units::mass::gram;
use crate::units::{Mass, Quantity, in_litres};
use std::ops::Range;
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
    let in_words = |change: &Rewritten| format!("{}: {}", change.ingredient.name, shed.written(&change.ingredient));
    let unplaced: Vec<&Rewritten> = known.iter().copied().filter(|change| change.at.is_none()).collect();
    let amounts = known.iter().filter_map(|change| Some((change.at?, change.text.clone())));
    let amounts: Vec<Edit> = amounts.map(|(at, text)| Edit { at: original.range(at), text }).collect();
    let new_amounts: Vec<String> = new.iter().map(|change| in_words(change)).collect();
    let first_amount = stock.on_hand.first.map(|first| original.range(first).start);
    let first_mix = stock.first_mix.map(|first| before_bracket(&original.bytes, original.range(first).start));
    let told = || [Told::in_used_up(original, mixes), Told::new(mixes.iter().collect())];
    for (told, beside) in beside(original, stock, &unplaced).iter().flat_map(|way| told().map(|told| (told, way))) {
        let edits: Vec<Edit> = amounts.iter().chain(beside).cloned().chain(told.edits(original, stock)).collect();
        let means = Stock { mixes: told.mixes().cloned().collect(), ..stock.clone() };
        for amounts_too in insertions(original, "on_hand", first_amount, &new_amounts) {
            for mixes_too in insertions(original, "mixes", first_mix, &told.new_entries()) {
                let all: Vec<Edit> = edits.iter().cloned().chain(together(amounts_too.clone(), mixes_too)).collect();
                if let Some((bytes, back)) = edited(&original.bytes, &all)
                    && says(&bytes, original, &means, shed, catalogue)
                {
                    return Ok(NewText { bytes, back });
                }
            }
        }
    }
    let mixes = mixes.iter().filter(|mix| !stock.mixes.contains(mix)).map(|mix| format!("mixes: {}", mix.text()));
    let mut by_hand: Vec<String> = changed.iter().map(in_words).collect();
    by_hand.dedup();
    Err(by_hand.into_iter().chain(mixes).collect())
}

/// The ways to put an amount beside the first of its ingredient, which is a map on one line: one of a list, or alone.
fn beside(original: &Original, stock: &Stock, new: &[&Rewritten]) -> Vec<Vec<Edit>> {
    let Some(change) = new.first() else { return vec![Vec::new()] };
    let first = stock.on_hand.shed.place_of(&change.ingredient).filter(|_| new.len() == 1);
    let Some(braces) = first.and_then(|at| braces(original, at)) else { return Vec::new() };
    let put = |at: usize, text: String| Edit { at: at..at, text };
    let alone = vec![put(braces.start, "[".to_owned()), put(braces.end, format!(", {}]", change.text))];
    vec![vec![put(braces.end, format!(", {}", change.text))], alone]
}

/// How the mixes are told in the file: some of the new ones in the place of those that are used up.
struct Told<'m> {
    listed: Vec<&'m Leftover>,
    in_place: Vec<(Range<usize>, &'m Leftover)>,
}

impl<'m> Told<'m> {
    fn new(listed: Vec<&'m Leftover>) -> Self {
        Self { listed, in_place: Vec::new() }
    }

    fn in_used_up(original: &Original, mixes: &'m [Leftover]) -> Self {
        let (mut new, mut told) = (mixes.iter().filter(|mix| mix.at.is_none()), Self::new(Vec::new()));
        for mix in mixes.iter().filter(|mix| mix.at.is_some()) {
            let place = mix.at.filter(|_| mix.is_used_up()).and_then(|at| braces(original, at));
            match place.and_then(|place| Some((place, new.next()?))) {
                Some(in_place) => told.in_place.push(in_place),
                None => told.listed.push(mix),
            }
        }
        told.listed.extend(new);
        told
    }

    fn mixes(&self) -> impl Iterator<Item = &'m Leftover> {
        self.listed.iter().copied().chain(self.in_place.iter().map(|(_, mix)| *mix))
    }

    fn edits(&self, original: &Original, stock: &Stock) -> Vec<Edit> {
        let changed = self.listed.iter().filter(|mix| !stock.mixes.contains(mix));
        let amounts = changed.filter_map(|mix| Some((original.range(mix.at?), mix.amount_text())));
        let in_place = self.in_place.iter().map(|(at, mix)| (at.clone(), mix.text()));
        amounts.chain(in_place).map(|(at, text)| Edit { at, text }).collect()
    }

    fn new_entries(&self) -> Vec<String> {
        self.listed.iter().filter(|mix| mix.at.is_none()).map(|mix| mix.text()).collect()
    }
}

/// The braces around a place, on one line.
fn braces(original: &Original, at: Span) -> Option<Range<usize>> {
    let (bytes, at) = (&original.bytes, original.range(at).start);
    let depth = |byte: u8, opens: u8, closes: u8| i32::from(byte == opens) - i32::from(byte == closes);
    let of_line = |byte: &u8| !matches!(byte, b'\n' | b'\r');
    let outer = |depths: &mut dyn Iterator<Item = i32>| {
        depths
            .scan(0, |sum, depth| {
                *sum += depth;
                Some(*sum)
            })
            .position(|sum| sum == 1)
    };
    let back = bytes[..at].iter().rev().take_while(|byte| of_line(byte));
    let on = bytes[at..].iter().take_while(|byte| of_line(byte));
    let start = at - 1 - outer(&mut back.map(|byte| depth(*byte, b'{', b'}')))?;
    Some(start..at + 1 + outer(&mut on.map(|byte| depth(*byte, b'}', b'{')))?)
}

/// The ingredients of a mix that a stock file does not know without a week, or knows as something else.
pub fn unknown_alone<'m>(source: &Arc<SourceText>, mix: &'m Leftover) -> Vec<&'m str> {
    let mut alone = Catalogue::built_in();
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
        let dash = if key == "mixes" { "- " } else { "" };
        let lines: String = entries.iter().map(|entry| format!("{end}  {dash}{entry}")).collect();
        if let Some((rest, comment)) = empty_key(&original.bytes, key) {
            return vec![Some(Edit { at: rest, text: comment + &lines })];
        }
        let at = document_end(bytes);
        let break_before = if at == 0 || matches!(bytes[at - 1], b'\n' | b'\r') { "" } else { end };
        return vec![Some(Edit { at: at..at, text: format!("{break_before}{key}:{lines}{end}") })];
    };
    let line = bytes[..at].iter().rposition(|byte| matches!(byte, b'\n' | b'\r')).map_or(0, |end| end + 1);
    // With the dash of a list.
    let indent = String::from_utf8_lossy(&bytes[line..at]).into_owned();
    let inline: String = entries.iter().map(|entry| format!("{entry}, ")).collect();
    let block: String = entries.iter().map(|entry| format!("{entry}{end}{indent}")).collect();
    let mut ways: Vec<_> = [inline, block].map(|text| Some(Edit { at: at..at, text })).into();
    // A dash on the line above, by itself.
    let above = bytes[..line].trim_ascii_end();
    if let Some(before) = above.strip_suffix(b"-").filter(|_| indent.trim().is_empty()) {
        let start = before.trim_ascii_end().len();
        let indent = String::from_utf8_lossy(&before[start..]).into_owned();
        let text = entries.iter().map(|entry| format!("- {entry}{indent}")).collect();
        ways.push(Some(Edit { at: before.len()..before.len(), text }));
    }
    ways
}

/// What stands after a key of the file that has nothing under it, as `mixes: []`, and the comment in that.
fn empty_key(bytes: &[u8], key: &str) -> Option<(Range<usize>, String)> {
    let mut at = 0;
    for line in bytes.split_inclusive(|byte| matches!(byte, b'\n' | b'\r')) {
        let start = at + key.len() + 1;
        at += line.len();
        let Some(rest) = line.strip_prefix(key.as_bytes()).and_then(|rest| rest.strip_prefix(b":")) else { continue };
        let rest = String::from_utf8_lossy(rest.trim_ascii_end()).into_owned();
        let (value, comment) = rest.find(" #").map_or((&rest[..], ""), |comment| rest.split_at(comment));
        if ["", "[]", "{}", "~", "null"].contains(&value.trim()) {
            return Some((start..start + rest.len(), comment.to_owned()));
        }
    }
    None
}

/// Where the document ends: before a last line of `...`.
fn document_end(bytes: &[u8]) -> usize {
    let text = bytes.trim_ascii_end();
    let before = text.strip_suffix(b"...").filter(|before| before.ends_with(b"\n") || before.ends_with(b"\r"));
    before.map_or(bytes.len(), <[u8]>::len)
}

/// Whether the new text reads as the old stock with the amounts of `shed`.
fn says(bytes: &[u8], original: &Original, stock: &Stock, shed: &Shed, catalogue: &Catalogue) -> bool {
    let Ok(new) = Original::of(&original.source.name, bytes.to_vec()) else { return false };
    let problems = Problems::new(Arc::clone(&new.source));
    let Some(read) = read(&new.source, &mut catalogue.clone(), &problems) else { return false };
    // All that is there, whatever of it may be used.
    let mut shed = shed.clone();
    shed.on(None);
    let same = read.name == stock.name
        && read.currency == stock.currency
        && read.packages == stock.packages
        && read.ready_made == stock.ready_made
        && read.on_hand.shed.soaked_on() == shed.soaked_on()
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
