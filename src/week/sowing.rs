//! One crop in one kind of tray.

use super::allowances::impossible_chance;
use super::{Place, RecipeId};
use crate::catalogue::{Crop, Handle, Tray};
use crate::diagnostic::{Code, Problem, Problems, SourceText, Span, did_you_mean};
use crate::exact::Fraction;
use crate::source::{Fields, Node, Table, TableRow, Value, text_of};
use crate::units::{Fault, count, share};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The most cells one sowing may have.
pub const MOST_CELLS: u64 = 10_000_000;

/// One crop in one kind of tray.
#[derive(Clone, Debug)]
pub struct Sowing {
    /// The crop; `None` only in `scale` without `--crop`.
    pub crop: Option<Handle<Crop>>,
    /// Its variety.
    pub variety: Option<Arc<str>>,
    /// The tray.
    pub tray: Handle<Tray>,
    /// How many.
    pub amount: Amount,
    /// The packet's germination.
    pub germination: Option<Fraction>,
    /// Share of seedlings good enough to plant, where it differs from the week's.
    pub usable: Option<Fraction>,
    /// Chance of enough plants, where it differs from the week's.
    pub surety: Option<Fraction>,
    /// Seeds to a cell.
    pub seeds: u64,
    /// The seedlings of a cell stay together and count as one plant.
    pub clump: bool,
    /// Overrides whom an inoculant serves.
    pub inoculant: Option<bool>,
    /// Whether it may share a tray.
    pub share: bool,
    /// Whether whole trays are filled, where it differs from the week's.
    pub fill: Option<Fill>,
    /// Its recipe.
    pub recipe: RecipeId,
    /// Where it is written.
    pub place: Place,
}

impl Sowing {
    /// Whole trays asked for on the command line: nothing else is said of them.
    pub(super) fn of_trays(
        crop: Option<Handle<Crop>>,
        tray: Handle<Tray>,
        trays: u64,
        recipe: RecipeId,
        place: Place,
    ) -> Self {
        Self {
            crop,
            variety: None,
            tray,
            amount: Amount::Trays(trays),
            germination: None,
            usable: None,
            surety: None,
            seeds: 1,
            clump: false,
            inoculant: None,
            share: true,
            fill: None,
            recipe,
            place,
        }
    }
}

/// How many are wanted, and of what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// Plants good enough to plant.
    Plants(u64),
    /// Cells.
    Cells(u64),
    /// Whole trays.
    Trays(u64),
    /// Plants to pot on, with so many spare in a hundred.
    Potted {
        /// Plants.
        plants: u64,
        /// Spare in a hundred, a fraction of one.
        spare: Fraction,
    },
}

/// What of a tray is filled.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Fill {
    /// Whole trays.
    #[default]
    WholeTrays,
    /// Only the cells that are sown.
    SownCells,
}

impl Fill {
    /// The words for it in files.
    pub const WORDS: [(&'static str, Self); 2] = [("whole trays", Self::WholeTrays), ("sown cells", Self::SownCells)];
}

/// The keys of a sowing, in a map or as columns of a table.
pub(super) const KEYS: &[&str] = &[
    "crop",
    "variety",
    "tray",
    "plants",
    "cells",
    "trays",
    "potted",
    "germination",
    "usable",
    "surety",
    "seeds",
    "clump",
    "spare",
    "inoculant",
    "share",
    "fill",
    "recipe",
];

/// One sowing as text: a map of a file, or a row of a table.
pub(super) trait Written {
    /// The text under a key, if there is any.
    fn get(&self, key: &'static str) -> Option<&str>;
    /// Where it stands, or the sowing itself.
    fn place(&self, key: &'static str) -> Span;
}

impl Written for TableRow<'_> {
    fn get(&self, key: &'static str) -> Option<&str> {
        Self::get(self, key)
    }
    fn place(&self, key: &'static str) -> Span {
        Self::place(self, key)
    }
}

/// A sowing written as a map of single values.
pub(super) struct Inline<'n> {
    at: Span,
    values: Vec<(&'static str, &'n str, Span)>,
}

impl<'n> Inline<'n> {
    pub(super) fn read(node: &'n Node<'n>, problems: &'n Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a sowing", problems)?;
        let mut values = Vec::new();
        for key in KEYS {
            if let Some(node) = fields.get(key)
                && let Some(text) = text_of(node, key, problems)
            {
                values.push((*key, text, node.at));
            }
        }
        fields.finish();
        Some(Self { at: node.at, values })
    }
}

impl Written for Inline<'_> {
    fn get(&self, key: &'static str) -> Option<&str> {
        self.values.iter().find(|(name, ..)| *name == key).map(|(_, text, _)| *text)
    }
    fn place(&self, key: &'static str) -> Span {
        self.values.iter().find(|(name, ..)| *name == key).map_or(self.at, |(_, _, at)| *at)
    }
}

/// Resolves the names of a sowing; faults go to the problems.
pub(super) trait Names {
    fn crop(&mut self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Crop>>;
    fn tray(&mut self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Tray>>;
    fn recipe(&mut self, name: Option<&str>, at: Span, problems: &Problems) -> Option<RecipeId>;
}

/// Checks one sowing.
pub(super) fn read(row: &impl Written, names: &mut impl Names, problems: &Problems) -> Option<Sowing> {
    let before = problems.len();
    let name = required(row, "crop", "a crop", problems);
    let crop = name.and_then(|name| names.crop(name, row.place("crop"), problems));
    let tray = required(row, "tray", "a tray such as `72-cell`", problems)
        .and_then(|name| names.tray(name, row.place("tray"), problems));
    let recipe = names.recipe(row.get("recipe"), row.place("recipe"), problems);
    let amount = amount(row, problems);
    let germination = chance(row, "germination", problems);
    let usable = chance(row, "usable", problems);
    let surety = chance(row, "surety", problems);
    let seeds = number(row, "seeds", 1, 100, problems).unwrap_or(1);
    let choice = |key, problems: &Problems| words(row, key, &YES_NO, problems);
    let clump = choice("clump", problems).unwrap_or(false);
    let inoculant = choice("inoculant", problems);
    let share = choice("share", problems).unwrap_or(true);
    let fill = words(row, "fill", &Fill::WORDS, problems);
    if problems.len() > before {
        return None;
    }
    Some(Sowing {
        crop: Some(crop?),
        variety: row.get("variety").map(Into::into),
        tray: tray?,
        amount: amount?,
        germination,
        usable,
        surety,
        seeds,
        clump,
        inoculant,
        share,
        fill,
        recipe: recipe?,
        place: Place { source: Arc::clone(problems.source()), span: row.place("crop") },
    })
}

const YES_NO: [(&str, bool); 4] = [("yes", true), ("no", false), ("true", true), ("false", false)];

fn required<'r>(row: &'r impl Written, key: &'static str, expected: &str, problems: &Problems) -> Option<&'r str> {
    let found = row.get(key);
    if found.is_none() {
        let at = row.place(if key == "crop" { "tray" } else { "crop" });
        let what = format!("this sowing has no {key}");
        problems.push(Problem::new(Code::MissingKey, at, what, format!("`{key}:` with {expected}")));
    }
    found
}

/// Exactly one of plants, cells, trays and potted.
fn amount(row: &impl Written, problems: &Problems) -> Option<Amount> {
    let given: Vec<&'static str> =
        ["plants", "cells", "trays", "potted"].into_iter().filter(|key| row.get(key).is_some()).collect();
    let [key] = given[..] else {
        let (code, what, at) = match given.get(1) {
            None => (Code::MissingKey, "this sowing does not say how many".to_owned(), row.place("crop")),
            Some(second) => {
                (Code::Conflict, format!("`{}` and `{second}` exclude each other", given[0]), row.place(second))
            }
        };
        problems.push(Problem::new(code, at, what, "one of plants, cells, trays or potted"));
        return None;
    };
    let count = number(row, key, 1, MOST_CELLS, problems)?;
    if key != "potted" {
        if row.get("spare").is_some() {
            let what = "`spare` belongs to potting on";
            problems.push(Problem::new(Code::Conflict, row.place("spare"), what, "`potted:` beside it"));
        }
        return Some(match key {
            "plants" => Amount::Plants(count),
            "cells" => Amount::Cells(count),
            _ => Amount::Trays(count),
        });
    }
    let five = Fraction::new(5, 100)?;
    let spare = match row.get("spare") {
        None => Some(five),
        Some(text) => problems.quantity(row.place("spare"), spare(text), "spare plants such as `5 %`"),
    };
    Some(Amount::Potted { plants: count, spare: spare? })
}

/// `5 %`, or the bare 5 that counts plants in a hundred.
fn spare(text: &str) -> Result<Fraction, Fault> {
    match count(text) {
        Ok(number) if number <= 100 => {
            Fraction::whole(number).over(Fraction::whole(100)).ok_or_else(|| Fault::TooLong(text.to_owned()))
        }
        Ok(_) => Err(Fault::OverWhole(text.to_owned())),
        Err(_) => share(text),
    }
}

fn number(row: &impl Written, key: &'static str, least: u64, most: u64, problems: &Problems) -> Option<u64> {
    let text = row.get(key)?;
    let expected = format!("a whole number from {least} to {most}");
    let read = match count(text) {
        Ok(number) if number < least => Err(Fault::Zero(text.to_owned())),
        Ok(number) if number > most => Err(Fault::TooLarge(text.to_owned())),
        read => read,
    };
    problems.quantity(row.place(key), read, &expected)
}

fn chance(row: &impl Written, key: &'static str, problems: &Problems) -> Option<Fraction> {
    let text = row.get(key)?;
    let value = problems.quantity(row.place(key), share(text), "a share such as `85 %`")?;
    match impossible_chance(key, value) {
        None => Some(value),
        Some((what, expected)) => {
            problems.push(Problem::new(Code::Quantity, row.place(key), what, expected));
            None
        }
    }
}

fn words<T: Copy>(
    row: &impl Written,
    key: &'static str,
    choices: &[(&'static str, T)],
    problems: &Problems,
) -> Option<T> {
    let text = row.get(key)?;
    let found = choices.iter().find(|(word, _)| word.eq_ignore_ascii_case(text.trim()));
    if found.is_none() {
        let words = || choices.iter().map(|(word, _)| *word);
        let expected = format!("one of {}", words().collect::<Vec<_>>().join(", "));
        let what = format!("`{text}` is not a choice here");
        problems
            .push(Problem::new(Code::Choice, row.place(key), what, expected).with_help(did_you_mean(text, words())));
    }
    found.map(|(_, value)| *value)
}

/// The recipe that a listed sowing names.
pub(super) fn recipe_of<'n>(node: &'n Node<'_>) -> Option<&'n str> {
    let Value::Map(map) = &node.value else { return None };
    let (_, value) = map.iter().find(|(key, _)| key.value == Value::Text("recipe".into()))?;
    file_name(value)
}

/// The recipes that the rows of a table name.
pub(super) fn recipes_of_table(source: &Arc<SourceText>) -> BTreeSet<String> {
    // Its faults are found when the rows are read.
    let faults = Problems::new(Arc::clone(source));
    let mut recipes = BTreeSet::new();
    let Some(mut table) = Table::new(&source.text, KEYS, &faults).filter(|table| table.has("recipe")) else {
        return recipes;
    };
    while let Some(row) = table.next_row(&faults) {
        recipes.extend(row.get("recipe").filter(|name| !recipes.contains(*name)).map(str::to_owned));
    }
    recipes
}

/// Whether a node names a file of sowings rather than listing them.
pub(super) fn file_name<'n>(node: &'n Node<'_>) -> Option<&'n str> {
    match &node.value {
        Value::Text(text) => Some(text),
        _ => None,
    }
}
