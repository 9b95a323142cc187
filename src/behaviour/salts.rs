//! The salts of a mix by its ingredients, and the published bound for seedlings.

use super::blend::{NotKnown, Parts, sum};
use crate::catalogue::{Ingredient, Role};
use crate::coir::SoldAs;

/// Why nothing can be said of the salts of a mix.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoSalinity {
    /// It is not known of these ingredients.
    #[error(transparent)]
    NotKnown(#[from] NotKnown),
    /// With a fertiliser or another salt in it the ingredients do not tell.
    #[error("not known with {0} in it")]
    Fertilised(String),
}

/// The conductivity of a mix, in mS/cm, least and most: that of each ingredient by its share of the loose volume, of coir by
/// how it was washed ([`of_coir`]).
///
/// # Errors
/// [`NoSalinity`] where an ingredient is not known or a fertiliser is in.
///
/// ```
/// use trayful::behaviour::{NoSalinity, of_coir, salinity};
/// use trayful::catalogue::Catalogue;
/// use trayful::coir::SoldAs;
/// let ingredients = Catalogue::built_in().ingredients;
/// let [coir, castings, meal] = ["coir", "castings", "bone meal"].map(|name| ingredients.find(name).unwrap());
/// let parts = [(&*coir, 4.0), (&*castings, 1.0)];
/// let [least, most] = salinity(&parts, &[], Some(of_coir(SoldAs::Washed))).unwrap();
/// assert!((least - (4.0 * 0.3 + 1.5) / 5.0).abs() < 1e-12 && (most - (4.0 * 1.0 + 7.0) / 5.0).abs() < 1e-12);
/// assert!(matches!(salinity(&parts, &[], None), Err(NoSalinity::NotKnown(_))));
/// assert!(matches!(salinity(&parts, &[&meal], None), Err(NoSalinity::Fertilised(_))));
/// ```
pub fn salinity(parts: &Parts<'_>, doses: &[&Ingredient], coir: Option<[f64; 2]>) -> Result<[f64; 2], NoSalinity> {
    if let Some(dose) = doses.iter().find(|dose| dose.may_fertilise || dose.physical.ec_ms_cm.is_some()) {
        return Err(NoSalinity::Fertilised(dose.name.clone()));
    }
    let [least, .., most] = sum(parts, 1.0, |of| ec_of(of, coir).map(|(least, most)| [least, least, most]))?;
    Ok([least, most])
}

/// The same at the least, of what is known of its parts.
pub fn least_salinity(parts: &Parts<'_>, coir: Option<[f64; 2]>) -> f64 {
    let least = sum(parts, 1.0, |of| Some([ec_of(of, coir).map_or(0.0, |(least, _)| least); 3]));
    least.map_or(0.0, |[least, ..]| least)
}

fn ec_of(ingredient: &Ingredient, coir: Option<[f64; 2]>) -> Option<(f64, f64)> {
    let washed = || coir.filter(|_| ingredient.is(Role::Coir)).map(|[least, most]| (least, most));
    ingredient.physical.ec_ms_cm.or_else(washed)
}

/// The conductivity of coir that was only wetted, by what its bag says, in mS/cm: buffered and rinsed as after a course,
/// washed below 1, unwashed well above (from memory).
pub const fn of_coir(sold_as: SoldAs) -> [f64; 2] {
    match sold_as {
        SoldAs::Buffered => [0.2, 0.8],
        SoldAs::Washed | SoldAs::Mild => [0.3, 1.0],
        SoldAs::Unclaimed => [1.0, 6.0],
    }
}

/// Up to where salts are low, as seedlings want them, in mS/cm: of an extract of one volume of mix in two of water, and of
/// a mix that is just saturated, and of what is poured through it (the bands read, that seedlings want the low ones from
/// memory).
pub const LOW_MS_CM: [f64; 3] = [0.8, 2.0, 2.6];
