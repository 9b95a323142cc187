//! Salts for the coir baths, by formula or by the name on the bag.

use crate::catalogue::with_built_in;
use crate::coir::Salt;
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use crate::source::Fields;
use std::sync::LazyLock;

const SALTS: &str = include_str!("../../../recipes/catalogue/salts.yaml");

/// A salt of the catalogue.
#[derive(Clone, Debug)]
pub struct SaltEntry {
    /// The salt.
    pub salt: Salt,
    /// Its other names.
    pub also: Vec<String>,
    /// Where its composition comes from.
    pub from: String,
}

impl SaltEntry {
    /// Its name, its other names and its formula.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        [&self.salt.name, &self.salt.formula].into_iter().chain(&self.also).map(String::as_str)
    }

    /// Whether it answers to that name or formula, whatever the case of a name.
    pub fn is_called(&self, name: &str) -> bool {
        let same = |own: &String| own.eq_ignore_ascii_case(name);
        self.salt.formula == name || same(&self.salt.name) || self.also.iter().any(same)
    }
}

static ENTRIES: LazyLock<Vec<SaltEntry>> = LazyLock::new(|| {
    with_built_in("salts.yaml", SALTS, |fields, problems| {
        let mut found = Vec::new();
        for (name, at, node) in fields.entries("salts", "the salts") {
            let Some(mut fields) = Fields::new(node, "a salt", problems) else { continue };
            let also = fields.optional("also").unwrap_or_default();
            let formula: String = fields.optional("formula").unwrap_or_default();
            let from = fields.optional("from").unwrap_or_default();
            match Salt::from_formula(name, &formula) {
                Ok(salt) => found.push(SaltEntry { salt, also, from }),
                Err(error) => problems.push(Problem::new(Code::Soak, at.at, error.to_string(), "a formula")),
            }
            fields.finish();
        }
        Some(found)
    })
    .unwrap_or_default()
});

/// Every salt of the catalogue.
pub fn salts() -> &'static [SaltEntry] {
    &ENTRIES
}

/// The salt of a name or formula that stands at a place, or a fault with near names.
pub fn salt_named(name: &str, at: Span, problems: &Problems) -> Option<&'static Salt> {
    let name = name.trim();
    let found = salts().iter().find(|entry| entry.is_called(name)).map(|entry| &entry.salt);
    if found.is_none() {
        problems.push_with(|| {
            let names = salts().iter().flat_map(SaltEntry::names);
            let help = did_you_mean(name, names).unwrap_or_else(|| "see `trayful list salts`".to_owned());
            let what = format!("no salt is called `{name}`");
            Problem::new(Code::UnknownSalt, at, what, "a salt by name or formula").with_help(Some(help))
        });
    }
    found
}
