//! What is known of trays, crops and ingredients, each value with its source.
//!
//! The built-in tables are YAML under `recipes/catalogue/`, embedded in the binary
//! and read by the same loader, with the same checks, as a user's own entries.

mod crop;
mod crops;
mod cut;
mod entries;
mod family;
mod handle;
mod ingredient;
mod source;
mod tray;
mod whom;

pub use crop::{Crop, Feeder, Light, Pace, SeedSize, Temperature};
pub use crops::Crops;
pub use entries::{Entries, Named, key};
pub use family::{Status, StatusFrom, status_of};
pub use handle::Handle;
pub use ingredient::{Caution, Feeds, Ingredient, Role, Stage, UsedAs, cautions};
pub use source::{Citation, citation, citations};
pub use tray::{Frustum, FrustumKind, Tray};
pub use whom::{CellBound, Clause, Traits, Whom};

use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span, did_you_mean};
use crate::source::{Fields, Node, parse_shipped};
use std::collections::HashMap;
use std::sync::Arc;

/// Where an entry comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The tables that ship with the program.
    BuiltIn,
    /// The user's own file.
    Own,
}

/// A name that is confused with a crop's.
#[derive(Clone, Debug)]
pub struct Trap {
    /// The name of the crop it stands for, if there is no doubt.
    pub is: Option<String>,
    /// What to know about the name.
    pub remark: String,
}

/// Trays, crops and ingredients by name; a user's own entries win.
#[derive(Clone, Debug)]
pub struct Catalogue {
    /// Trays and pots.
    pub trays: Entries<Tray>,
    /// Crops.
    pub crops: Crops,
    /// Bulk ingredients and doses.
    pub ingredients: Entries<Ingredient>,
    traps: HashMap<String, Trap>,
}

const BUILT_IN: [(&str, &str); 3] = [
    ("trays.yaml", include_str!("../../recipes/catalogue/trays.yaml")),
    ("traps.yaml", include_str!("../../recipes/catalogue/traps.yaml")),
    ("ingredients.yaml", include_str!("../../recipes/catalogue/ingredients.yaml")),
];

impl Catalogue {
    /// The tables that ship with the program.
    ///
    /// # Errors
    /// Never with the shipped tables, which the tests load; the signature is that
    /// of the loader for users' files.
    pub fn built_in() -> Result<Self, Rejected> {
        let mut catalogue = Self {
            trays: Entries::default(),
            crops: Crops::default(),
            ingredients: Entries::default(),
            traps: HashMap::new(),
        };
        for (name, text) in BUILT_IN {
            with_built_in(name, text, |fields, problems| {
                catalogue.add(fields, Origin::BuiltIn, problems);
                if let Some(traps) = fields.get("traps") {
                    catalogue.add_traps(traps, problems);
                }
            })?;
        }
        Ok(catalogue)
    }

    /// Takes in the `trays:`, `crops:` and `ingredients:` of a file.
    pub fn add(&mut self, fields: &mut Fields<'_>, origin: Origin, problems: &Problems) {
        if let Some(node) = fields.get("trays") {
            add(&mut self.trays, node, "the trays", problems, |name, node, trays, problems| {
                Tray::read(name, node, origin, trays.find(name).as_deref(), problems)
            });
        }
        // Only the shipped tables state their sources once for a whole file.
        let shipped = if origin == Origin::BuiltIn { fields.get("unless_said") } else { None };
        let defaults = source::SourceTags::of_file(shipped, problems);
        if let Some(node) = fields.get("crops") {
            add(&mut self.crops.own, node, "the crops", problems, |name, node, own, problems| {
                let base = own.find(name);
                let base = base.as_deref().or_else(|| Crops::shipped(name));
                Crop::read(name, node, origin, &defaults, base, problems)
            });
        }
        if let Some(node) = fields.get("ingredients") {
            add(&mut self.ingredients, node, "the ingredients", problems, |name, node, known, problems| {
                let base = known.find(name);
                Ingredient::read(name, node, origin, &defaults, &self.crops, base.as_deref(), problems)
            });
        }
    }

    /// Takes in the `ingredients:` of a recipe file; those of the week win.
    pub fn add_unless_own(&mut self, fields: &mut Fields<'_>, problems: &Problems) {
        let Some(node) = fields.get("ingredients") else { return };
        let defaults = source::SourceTags::default();
        let own: Vec<String> = self
            .ingredients
            .iter()
            .filter(|ingredient| ingredient.origin == Origin::Own)
            .map(|ingredient| key(&ingredient.name))
            .collect();
        add(&mut self.ingredients, node, "the ingredients", problems, |name, node, known, problems| {
            let base = known.find(name);
            let read = Ingredient::read(name, node, Origin::Own, &defaults, &self.crops, base.as_deref(), problems)?;
            (!own.contains(&key(name))).then_some(read)
        });
    }

    fn add_traps(&mut self, node: &Node<'_>, problems: &Problems) {
        for (name, _, value) in crate::source::entries(node, "the traps", problems).unwrap_or_default() {
            let Some(mut fields) = Fields::new(value, "a trap", problems) else { continue };
            let is = fields.text("is").map(str::to_owned);
            let remark = fields.text("remark").unwrap_or_default().to_owned();
            // For the reader of the file only.
            for key in ["could_be", "species", "family"] {
                fields.get(key);
            }
            fields.finish();
            self.traps.insert(key(name), Trap { is, remark });
        }
    }

    /// The remark on a name that is often confused.
    #[must_use]
    pub fn trap(&self, name: &str) -> Option<&Trap> {
        self.traps.get(&key(name))
    }

    /// The crop a name stands for, or a fault with near spellings.
    pub fn crop(&self, node: &Node<'_>, problems: &Problems) -> Option<Handle<Crop>> {
        let name = crate::source::text_of(node, "a crop", problems)?;
        self.crop_named(name, node.at, problems)
    }

    /// The crop of a name that stands at a place, or a fault with near spellings.
    pub fn crop_named(&self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Crop>> {
        if let Some(crop) = self.crops.find(name) {
            return Some(crop);
        }
        if self.crops.own.is_refused(name) {
            return None;
        }
        if let Some(trap) = self.trap(name) {
            if let Some(crop) = trap.is.as_ref().and_then(|is| self.crops.find(is)) {
                return Some(crop);
            }
            let what = format!("`{name}` can mean more than one plant");
            let help = format!("{}; write the crop you mean, or add it under `crops:` with its family", trap.remark);
            problems.push(Problem::new(Code::AmbiguousCrop, at, what, "one crop").with_help(Some(help)));
            return None;
        }
        let own = format!("or add it to the week file: `crops: {{{name}: {{family: ...}}}}`");
        let help = match did_you_mean(name, self.crops.names()) {
            Some(near) => format!("{near} {own}"),
            None => format!("see `trayful list crops`, {own}"),
        };
        let what = format!("no crop is called `{name}`");
        problems.push(
            Problem::new(Code::UnknownCrop, at, what, "a crop of the table or of `crops:`").with_help(Some(help)),
        );
        None
    }

    /// The tray or pot of a name that stands at a place, or a fault.
    pub fn tray_named(&self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Tray>> {
        let found = self.trays.find(name);
        if found.is_none() && !self.trays.is_refused(name) {
            let help = did_you_mean(name, self.trays.names())
                .unwrap_or_else(|| "see `trayful list trays`, or add it under `trays:`".to_owned());
            let what = format!("no tray or pot is called `{name}`");
            problems.push(Problem::new(Code::UnknownTray, at, what, "a tray such as `72-cell`").with_help(Some(help)));
        }
        found
    }

    /// The ingredient of a name that stands at a place, or a fault.
    pub fn ingredient_named(&self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Ingredient>> {
        let found = self.ingredients.find(name);
        if found.is_none() && !self.ingredients.is_refused(name) {
            let help = did_you_mean(name, self.ingredients.names())
                .unwrap_or_else(|| "see `trayful list ingredients`, or add it under `ingredients:`".to_owned());
            let what = format!("no ingredient is called `{name}`");
            problems.push(Problem::new(Code::UnknownIngredient, at, what, "an ingredient").with_help(Some(help)));
        }
        found
    }
}

/// Reads every entry of a map into a table, which the reader sees as it stands.
fn add<T: Named>(
    entries: &mut Entries<T>,
    node: &Node<'_>,
    what: &str,
    problems: &Problems,
    read: impl Fn(&str, &Node<'_>, &Entries<T>, &Problems) -> Option<T>,
) {
    for (name, at, value) in crate::source::entries(node, what, problems).unwrap_or_default() {
        let before = problems.len();
        match read(name, value, entries, problems) {
            Some(item) => {
                if let Err(taken) = entries.put(item) {
                    let what = format!("the name `{taken}` is taken by another entry of this file");
                    problems.push(Problem::new(Code::TwiceName, at.at, what, "a name of its own"));
                }
            }
            None if problems.len() > before => entries.refuse(name),
            None => {}
        }
    }
    entries.seal();
}

/// Parses an embedded file and hands its top-level keys on.
pub(crate) fn with_built_in<T>(
    name: &str,
    text: &'static str,
    read: impl FnOnce(&mut Fields<'_>, &Problems) -> T,
) -> Result<T, Rejected> {
    let source = SourceText { name: format!("built-in {name}"), text: text.to_owned() };
    let problems = Problems::new(Arc::new(source));
    let value = parse_shipped(text, &problems).and_then(|node| {
        let mut fields = Fields::new(&node, "a catalogue", &problems)?;
        let value = read(&mut fields, &problems);
        fields.finish();
        Some(value)
    });
    problems.settle(value).map(|(value, _)| value)
}
