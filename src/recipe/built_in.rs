//! The recipes that ship with the program.

use super::Recipe;
use crate::catalogue::{Catalogue, key, of_shipped};
use crate::diagnostic::Rejected;
use crate::source::Fields;

/// Name and text of every recipe that ships.
pub const BUILT_IN: [(&str, &str); 6] = [
    ("everyday", include_str!("../../recipes/everyday.yaml")),
    ("fine seed", include_str!("../../recipes/fine-seed.yaml")),
    ("rich", include_str!("../../recipes/rich.yaml")),
    ("peat-lite A", include_str!("../../recipes/peat-lite-a.yaml")),
    ("soil blocks", include_str!("../../recipes/soil-blocks.yaml")),
    ("loam potting", include_str!("../../recipes/loam-potting.yaml")),
];

/// The same recipes as the build writes them, which are read in a tenth of the time.
const AS_BUILT: [&str; BUILT_IN.len()] = [
    include_str!(concat!(env!("OUT_DIR"), "/everyday.flow")),
    include_str!(concat!(env!("OUT_DIR"), "/fine-seed.flow")),
    include_str!(concat!(env!("OUT_DIR"), "/rich.flow")),
    include_str!(concat!(env!("OUT_DIR"), "/peat-lite-a.flow")),
    include_str!(concat!(env!("OUT_DIR"), "/soil-blocks.flow")),
    include_str!(concat!(env!("OUT_DIR"), "/loam-potting.flow")),
];

/// The built-in recipe of a name, if there is one.
///
/// # Errors
/// Never with the shipped recipes, which the tests load.
pub fn built_in(name: &str, catalogue: &Catalogue) -> Option<Result<Recipe, Rejected>> {
    let place = BUILT_IN.iter().position(|(known, _)| key(known) == key(name))?;
    Some(of_shipped(&format!("built-in recipe {name}"), AS_BUILT[place], |node, problems| {
        Fields::read(node, "a recipe", problems, |fields| Recipe::read(fields, catalogue, problems))
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Problems, SourceText};
    use crate::source::parse_shipped;

    #[test]
    fn the_built_recipes_are_those_that_yaml_reads() {
        for ((name, text), built) in BUILT_IN.iter().zip(AS_BUILT) {
            let problems = Problems::new(SourceText::argument(name, text));
            let whole = parse_shipped(text, &problems).unwrap().to_static();
            let read = of_shipped(name, built, |node, _| Some(node.to_static())).unwrap();
            assert_eq!(format!("{read:?}"), format!("{whole:?}"));
        }
    }

    #[test]
    fn every_built_in_recipe_loads_under_its_own_name() {
        let catalogue = Catalogue::built_in();
        for (name, _) in BUILT_IN {
            let recipe = built_in(name, &catalogue).unwrap().unwrap_or_else(|rejected| panic!("{rejected}"));
            assert_eq!(recipe.name, name);
            assert!(recipe.about.is_some(), "{name}");
        }
    }
}
