//! Salts for the coir baths, by formula or by the name on the bag.

use crate::catalogue::{Table, as_cut};
use crate::coir::Salt;
use crate::diagnostic::{Asked, Code, Problem, Problems, Span, did_you_mean};
use crate::source::{Fields, Node};
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

static ENTRIES: LazyLock<Table<SaltEntry>> = LazyLock::new(|| Table::new("salts", SALTS, as_cut!("salts"), read));

fn read((_, name): (usize, &str), node: &Node<'_>, problems: &Problems) -> Option<SaltEntry> {
    let mut fields = Fields::new(node, "a salt", problems)?;
    let also = fields.optional("also").unwrap_or_default();
    let formula: String = fields.optional("formula").unwrap_or_default();
    let from = fields.optional("from").unwrap_or_default();
    fields.finish()?;
    match Salt::from_formula(name, &formula) {
        Ok(salt) => Some(SaltEntry { salt, also, from }),
        Err(error) => problems.deny(Code::Soak, node.at, error.to_string(), "a formula"),
    }
}

/// Every salt of the catalogue.
pub fn salts() -> impl Iterator<Item = &'static SaltEntry> {
    ENTRIES.iter()
}

/// The salts for baths: they bring calcium and come with water in their crystals.
pub(super) fn bath_salts() -> impl Iterator<Item = &'static Salt> {
    let hydrates = (0..ENTRIES.len()).filter(|place| ENTRIES.says(*place, "H2O"));
    let salts = hydrates.filter_map(|place| ENTRIES.get(place)).map(|entry| &entry.salt);
    salts.filter(|salt| salt.has_calcium() && salt.is_hydrate())
}

/// The salt of a name or formula that stands at a place, or a fault with near names.
pub fn salt_named(name: &str, at: Span, problems: &Problems) -> Option<&'static Salt> {
    problems.ask(|| Asked::Named { at, table: "salts" });
    let name = name.trim();
    // `calcium nitrate anhydrous`, as some bags have it.
    let turned = name.rsplit_once(' ').filter(|(_, last)| last.eq_ignore_ascii_case("anhydrous"));
    let turned = turned.map(|(salt, _)| format!("anhydrous {}", salt.trim_end_matches([',', ' '])));
    let name = turned.as_deref().unwrap_or(name);
    let named = ENTRIES.find(name).filter(|entry| entry.is_called(name));
    let found = named.or_else(|| salts().find(|entry| entry.is_called(name))).map(|entry| &entry.salt);
    if found.is_none() {
        problems.push_with(|| {
            let names = salts().flat_map(SaltEntry::names);
            let help = did_you_mean(name, names).unwrap_or_else(|| "see `trayful list salts`".to_owned());
            let what = format!("no salt is called `{name}`");
            Problem::new(Code::UnknownSalt, at, what, "a salt by name or formula").with_help(Some(help))
        });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cut_salts_are_those_that_yaml_reads() {
        ENTRIES.assert_as_whole();
    }

    #[test]
    fn a_salt_is_found_by_its_name_as_among_all() {
        for name in salts().flat_map(SaltEntry::names).flat_map(|name| [name.to_owned(), name.to_uppercase()]) {
            let first = salts().find(|entry| entry.is_called(&name)).map(|entry| &entry.salt);
            let problems = Problems::new(crate::diagnostic::SourceText::argument("salt", &name));
            assert_eq!(salt_named(&name, Span::default(), &problems), first, "{name}");
        }
    }

    #[test]
    fn anhydrous_may_stand_behind() {
        let named = |name| {
            let problems = Problems::new(crate::diagnostic::SourceText::argument("salt", name));
            salt_named(name, Span::default(), &problems).map(|salt| salt.formula.as_str())
        };
        assert_eq!(named("calcium nitrate anhydrous"), Some("Ca(NO3)2"));
        assert_eq!(named("Magnesium sulfate, Anhydrous"), Some("MgSO4"));
        assert_eq!(named("calcium nitrate"), Some("5Ca(NO3)2.NH4NO3.10H2O"));
    }

    #[test]
    fn salts_for_baths_are_those_that_their_formulas_say() {
        let all = salts().map(|entry| &entry.salt).filter(|salt| salt.has_calcium() && salt.is_hydrate());
        assert!(bath_salts().count() > 3 && bath_salts().eq(all));
    }
}
