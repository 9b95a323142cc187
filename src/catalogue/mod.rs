//! What is known of trays, crops and ingredients, each value with its source.
//!
//! The built-in tables are YAML under `recipes/catalogue/`, embedded in the binary
//! and read by the same loader, with the same checks, as a user's own entries.

mod crop;
mod crop_choice;
mod cut;
mod entries;
mod family;
mod handle;
mod ingredient;
mod meaning;
mod name;
mod physical;
mod shipped;
mod source;
mod tray;

pub(crate) use crop::Weeks;
pub use crop::{Before, Crop, Depth, Feeder, Frost, Light, Pace, SeedSize, Temperature, Warmth};
pub use crop_choice::{CellBound, Clause, CropChoice, Traits};
pub use entries::Entries;
pub use family::{Poison, Status, StatusFrom, exceptions, status_of};
pub use handle::{Handle, Named, names};
#[cfg(test)]
pub(crate) use ingredient::caution_keys;
pub use ingredient::{Caution, Feeds, Ingredient, Role, Stage, UsedAs, caution, cautions_for_all};
pub use meaning::{By, Doubt};
pub use name::key;
pub use physical::{Physical, Spread};
pub(crate) use shipped::{Table, as_cut, of_shipped};
pub use source::{Citation, SourceTags, citation};
pub use tray::{Frustum, FrustumKind, Rim, Tray};

use crate::diagnostic::{Asked, Code, Problem, Problems, Span, did_you_mean};
use crate::source::{Fields, Node, no_more_than, text_of};
use handle::named;
use shipped::Shipped;
use source::Reading;
use std::collections::HashSet;
use std::sync::LazyLock;

named!(Ingredient, Tray);

/// Where an entry comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The tables that ship with the program.
    BuiltIn,
    /// The user's own file.
    Own,
}

/// A name that is confused with a crop's.
#[derive(Clone, Debug, PartialEq)]
pub struct Trap {
    /// The name of the crop it stands for, if there is no doubt.
    pub is: Option<String>,
    /// The crops that it may stand for.
    pub could_be: Vec<String>,
    /// A plant of that name that the table does not have.
    pub species: Option<String>,
    /// Its family.
    pub family: Option<String>,
    /// What it is grown from, where that is not seed in trays.
    pub grown_from: Option<String>,
    /// Other names of the same last word still mean the crop.
    pub apart: bool,
    /// What to know about the name.
    pub remark: String,
}

impl Trap {
    fn read(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        Fields::read(node, "a trap", problems, |fields| {
            Some(Self {
                is: fields.optional("is"),
                could_be: fields.optional("could_be").unwrap_or_default(),
                species: fields.optional("species"),
                family: fields.optional("family"),
                grown_from: fields.optional("grown_from"),
                apart: fields.optional("apart").unwrap_or(false),
                remark: fields.prose("remark").unwrap_or_default(),
            })
        })
    }
}

/// Trays, crops and ingredients by name; a user's own entries win.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    /// Trays and pots.
    pub trays: Entries<Tray>,
    /// Crops.
    pub crops: Entries<Crop>,
    /// Bulk ingredients and doses.
    pub ingredients: Entries<Ingredient>,
}

const TRAPS_TEXT: &str = include_str!("../../recipes/catalogue/traps.yaml");

static TRAPS: LazyLock<Table<Trap>> =
    LazyLock::new(|| Table::new("traps", TRAPS_TEXT, as_cut!("traps"), |_, node, problems| Trap::read(node, problems)));

/// What to know of a name that is often confused.
pub fn trap(name: &str) -> Option<&'static Trap> {
    TRAPS.find(name)
}

/// Every name that is often confused.
fn traps() -> impl Iterator<Item = (&'static str, &'static Trap)> {
    TRAPS.names().filter_map(|name| Some((name, TRAPS.exact(name)?)))
}

impl Catalogue {
    /// The tables that ship with the program; each entry is read when it is first asked for.
    pub fn built_in() -> Self {
        Self::default()
    }

    /// Some file of own entries could not be read: a name that is not found is no fault.
    pub fn lack_some(&mut self) {
        (self.trays.lacks_some, self.crops.lacks_some, self.ingredients.lacks_some) = (true, true, true);
    }

    /// Takes in the `trays:`, `crops:` and `ingredients:` of a user's file.
    pub fn add(&mut self, fields: &mut Fields<'_>, problems: &Problems) {
        let reading = &Reading::own(problems);
        add(&mut self.trays, &fields.entries("trays", "the trays"), problems, |name, node, trays| {
            Tray::read(name, node, trays.find(name).as_deref(), reading)
        });
        add(&mut self.crops, &fields.entries("crops", "the crops"), problems, |name, node, crops| {
            Crop::read(name, node, |name| crops.find(name), reading)
        });
        self.add_ingredients(fields, reading, |_| true);
    }

    /// Takes in the `ingredients:` of a recipe or stock file; those of the week win.
    pub fn add_unless_own(&mut self, fields: &mut Fields<'_>, problems: &Problems) {
        let own: HashSet<String> = self.ingredients.own().map(|ingredient| key(&ingredient.name)).collect();
        self.add_ingredients(fields, &Reading::own(problems), |name| !own.contains(&key(name)));
    }

    /// Takes in the ingredients whose names are wanted.
    fn add_ingredients(&mut self, fields: &mut Fields<'_>, reading: &Reading<'_>, wanted: impl Fn(&str) -> bool) {
        let entries = fields.entries("ingredients", "the ingredients");
        add(&mut self.ingredients, &entries, reading.problems, |name, node, known| {
            let base = known.find(name);
            Ingredient::read(name, node, base.as_deref(), &self.crops, reading).filter(|_| wanted(name))
        });
    }

    /// The crop that a node names, or a fault with near spellings. The last words of a named
    /// sort do not do.
    pub fn crop(&self, node: &Node<'_>, problems: &Problems) -> Option<Handle<Crop>> {
        let name = text_of(node, "a crop", problems)?;
        let meant = self.meant(name).and_then(|(crop, by)| match by {
            By::Name => Ok(crop),
            By::LastWords => Err(Doubt::Unknown),
        });
        self.settle(name, meant, node.at, problems)
    }

    /// What a name that stands at a place means, or its fault; a crop that was refused has its
    /// fault already.
    pub fn settle<T>(&self, name: &str, meant: Result<T, Doubt>, at: Span, problems: &Problems) -> Option<T> {
        problems.ask(|| Asked::Named { at, table: "crops" });
        if let Err(doubt) = &meant
            && !self.crops.is_refused(name)
        {
            problems.push_with(|| self.doubtful(name, doubt, at));
        }
        meant.ok()
    }

    /// The tray or pot that a node names, or a fault with near spellings.
    pub fn tray(&self, node: &Node<'_>, problems: &Problems) -> Option<Handle<Tray>> {
        self.tray_named(text_of(node, "a tray such as `72-cell`", problems)?, node.at, problems)
    }

    /// The ingredient that a node names, or a fault with near spellings.
    pub fn ingredient(&self, node: &Node<'_>, problems: &Problems) -> Option<Handle<Ingredient>> {
        self.ingredient_named(text_of(node, "an ingredient", problems)?, node.at, problems)
    }

    /// The tray or pot of a name that stands at a place, or a fault.
    pub fn tray_named(&self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Tray>> {
        let fault = |what| Problem::new(Code::UnknownTray, at, what, "a tray such as `72-cell`");
        problems.ask(|| Asked::Named { at, table: "trays" });
        named(&self.trays, name, ("trays", "tray or pot"), fault, problems)
    }

    /// The ingredient of a name that stands at a place, or a fault.
    pub fn ingredient_named(&self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Ingredient>> {
        let fault = |what| Problem::new(Code::UnknownIngredient, at, what, "an ingredient");
        problems.ask(|| Asked::Named { at, table: "ingredients" });
        named(&self.ingredients, name, ("ingredients", "ingredient"), fault, problems)
    }
}

/// The entry of a name, or its fault; one that was refused has its fault already.
fn named<T: Shipped>(
    known: &Entries<T>,
    name: &str,
    (table, kind): (&str, &str),
    fault: impl Fn(String) -> Problem,
    problems: &Problems,
) -> Option<Handle<T>> {
    let found = known.find(name);
    if found.is_none() && !known.is_refused(name) {
        problems.push_with(|| {
            let help = fuller_names(name, known.names())
                .or_else(|| did_you_mean(name, known.names()))
                .unwrap_or_else(|| format!("see `trayful list {table}`, or add it under `{table}:`"));
            fault(format!("no {kind} is called `{name}`")).with_help(Some(help))
        });
    }
    found
}

/// Advice where several names begin with one that is not known.
pub(crate) fn fuller_names<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<String> {
    let begins = key(name) + " ";
    let fuller: Vec<String> =
        known.filter(|known| key(known).starts_with(&begins)).map(|known| format!("`{known}`")).collect();
    (fuller.len() > 1).then(|| format!("did you mean {}?", fuller.join(" or ")))
}

/// The most trays, crops or ingredients that a file may bring.
const MOST_OWN: usize = 10_000;

/// Reads the entries of a map, each with what is known before it.
fn add<T: Shipped>(
    known: &mut Entries<T>,
    entries: &[(&str, &Node<'_>, &Node<'_>)],
    problems: &Problems,
    read: impl Fn(&str, &Node<'_>, &Entries<T>) -> Option<T>,
) {
    let Some((_, first, _)) = entries.first() else { return };
    for &(name, at, value) in no_more_than(entries, MOST_OWN, T::table().section(), first.at, problems) {
        let before = problems.len();
        match read(name, value, known) {
            Some(item) => {
                if let Err(taken) = known.put(item) {
                    let what = format!("the name `{taken}` is taken by another entry of this file");
                    problems.fault(Code::TwiceName, at.at, what, "a name of its own");
                }
            }
            None if problems.len() > before => known.refuse(name),
            None => {}
        }
    }
    known.seal();
}

#[cfg(test)]
mod tests {
    use super::TRAPS;

    #[test]
    fn the_cut_traps_are_those_that_yaml_reads() {
        TRAPS.assert_as_whole();
    }
}
