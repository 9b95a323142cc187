//! The packages that ship with the program: what a bale, a block or a brick gives.

use super::package::{Packages, read_packages};
use crate::catalogue::{Catalogue, Table, as_cut};
use crate::diagnostic::{Problems, Rejected, SourceText};
use crate::source::{Fields, Node, Value};
use std::sync::{Arc, LazyLock};

const TEXT: &str = include_str!("../../recipes/catalogue/packages.yaml");

static PACKAGES: LazyLock<Table<Node<'static>>> =
    LazyLock::new(|| Table::new("packages", TEXT, as_cut!("packages"), |_, node, _| Some(node.to_static())));

/// Packages by ingredient, without prices; a user's own packages of an ingredient win.
///
/// # Errors
/// Never with the shipped table, which the tests load, unless the catalogue lacks one
/// of its ingredients.
pub fn built_in_packages(catalogue: &Catalogue) -> Result<Packages, Rejected> {
    let problems = Problems::new(Arc::new(SourceText { name: "built-in packages".to_owned(), text: String::new() }));
    let entries =
        PACKAGES.names().zip(PACKAGES.iter()).map(|(name, list)| (Node::of(Value::Text(name.into())), list.clone()));
    let table = (Node::of(Value::Text("packages".into())), Node::of(Value::Map(entries.collect())));
    let packages = Fields::read(&Node::of(Value::Map(vec![table])), "a table of packages", &problems, |fields| {
        Some(read_packages(fields, catalogue, true, &mut Vec::new(), &problems))
    });
    problems.settle(packages).map(|(packages, _)| packages)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::citation;
    use crate::stock::Standing;
    use crate::units::Quantity;

    #[test]
    fn every_built_in_package_has_a_range_and_a_source() {
        let catalogue = Catalogue::built_in();
        let packages = built_in_packages(&catalogue).unwrap_or_else(|rejected| panic!("{rejected}"));
        assert!(packages.iter().any(|(id, _)| id.name == "coir"));
        for package in packages.iter().flat_map(|(_, packages)| packages) {
            let Standing::BuiltIn { range, from } = &package.standing else { panic!() };
            assert!(!range.is_empty() && citation(from).is_some(), "{}", package.label);
            assert!(matches!(package.gives, Quantity::Volume(_)) && package.price.is_none());
        }
    }

    #[test]
    fn the_cut_packages_are_those_that_yaml_reads() {
        PACKAGES.assert_as_whole();
    }

    #[test]
    fn a_bale_loosens_by_the_factor_of_printed_bales() {
        // Printed bales (read): 3.6 cu ft compressed give 6 loose, a factor of 1.67; coverage
        // tables give 1.89 to 2.00. The default lies within.
        let catalogue = Catalogue::built_in();
        let packages = built_in_packages(&catalogue).unwrap();
        let (_, bales) = packages.iter().find(|(id, _)| id.name == "peat").unwrap();
        for bale in bales {
            let compressed: f64 = bale.label.split_whitespace().next().unwrap().parse().unwrap();
            let factor = bale.gives.size() / (compressed * 28.316_846_592);
            assert!((1.67..=2.0).contains(&factor), "{}: {factor}", bale.label);
        }
    }
}
