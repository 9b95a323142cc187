//! The recipes that ship with the program.

use super::Recipe;
use crate::catalogue::{Catalogue, key, with_built_in};
use crate::diagnostic::Rejected;

/// Name and text of every recipe that ships.
pub const BUILT_IN: [(&str, &str); 6] = [
    ("everyday", include_str!("../../recipes/everyday.yaml")),
    ("fine seed", include_str!("../../recipes/fine-seed.yaml")),
    ("rich", include_str!("../../recipes/rich.yaml")),
    ("peat-lite A", include_str!("../../recipes/peat-lite-a.yaml")),
    ("soil blocks", include_str!("../../recipes/soil-blocks.yaml")),
    ("loam potting", include_str!("../../recipes/loam-potting.yaml")),
];

/// The text of a built-in recipe.
pub fn built_in_text(name: &str) -> Option<&'static str> {
    BUILT_IN.iter().find(|(known, _)| key(known) == key(name)).map(|(_, text)| *text)
}

/// The built-in recipe of a name, if there is one.
///
/// # Errors
/// Never with the shipped recipes, which the tests load.
pub fn built_in(name: &str, catalogue: &Catalogue) -> Option<Result<Recipe, Rejected>> {
    let text = built_in_text(name)?;
    Some(with_built_in(&format!("recipe {name}"), text, |fields, problems| Recipe::read(fields, catalogue, problems)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_built_in_recipe_loads_under_its_own_name() {
        let catalogue = Catalogue::built_in().unwrap();
        for (name, _) in BUILT_IN {
            let recipe = built_in(name, &catalogue).unwrap().unwrap_or_else(|rejected| panic!("{rejected}"));
            assert_eq!(recipe.name, name);
            assert!(recipe.about.is_some(), "{name}");
        }
    }
}
