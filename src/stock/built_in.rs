//! The packages that ship with the program: what a bale, a block or a brick gives.

use super::package::{Packages, read_packages};
use crate::catalogue::{Catalogue, with_built_in};
use crate::diagnostic::Rejected;

const TEXT: &str = include_str!("../../recipes/catalogue/packages.yaml");

/// Packages by ingredient, without prices; a user's own packages of an ingredient win.
///
/// # Errors
/// Never with the shipped table, which the tests load, unless the catalogue lacks one
/// of its ingredients.
pub fn built_in_packages(catalogue: &Catalogue) -> Result<Packages, Rejected> {
    with_built_in("packages.yaml", TEXT, |fields, problems| {
        Some(read_packages(fields, catalogue, true, &mut Vec::new(), problems))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::citation;
    use crate::stock::Standing;
    use crate::units::Quantity;

    #[test]
    fn every_built_in_package_has_a_range_and_a_source() {
        let catalogue = Catalogue::built_in().unwrap();
        let packages = built_in_packages(&catalogue).unwrap_or_else(|rejected| panic!("{rejected}"));
        assert!(packages.iter().any(|(id, _)| id.name == "coir"));
        for package in packages.iter().flat_map(|(_, packages)| packages) {
            let Standing::BuiltIn { range, from } = &package.standing else { panic!() };
            assert!(!range.is_empty() && citation(from).is_some(), "{}", package.label);
            assert!(matches!(package.gives, Quantity::Volume(_)) && package.price.is_none());
        }
    }

    #[test]
    fn a_bale_loosens_by_the_factor_of_printed_bales() {
        // Printed bales (read): 3.6 cu ft compressed give 6 loose, a factor of 1.67; coverage
        // tables give 1.89 to 2.00. The default lies within.
        let catalogue = Catalogue::built_in().unwrap();
        let packages = built_in_packages(&catalogue).unwrap();
        let (_, bales) = packages.iter().find(|(id, _)| id.name == "peat").unwrap();
        for bale in bales {
            let compressed: f64 = bale.label.split_whitespace().next().unwrap().parse().unwrap();
            let factor = bale.gives.size() / (compressed * 28.316_846_592);
            assert!((1.67..=2.0).contains(&factor), "{}: {factor}", bale.label);
        }
    }
}
