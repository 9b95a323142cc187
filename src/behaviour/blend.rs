//! What its ingredients make of a mix: dry matter, pores and water in a litre after blending.
//!
//! Dry matter and solids stay what they are when the litres shrink, so shrinkage is paid out of air.

use crate::catalogue::{Ingredient, Spread};

/// Ingredients with their parts by loose volume, in any unit.
pub type Parts<'p> = [(&'p Ingredient, f64)];

/// The ingredients of which a figure is not known.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not known of {}", .0.join(", "))]
pub struct NotKnown(pub Vec<String>);

/// The share of the loose volume that some ingredients make.
pub(super) fn share_of(parts: &Parts<'_>, is: impl Fn(&Ingredient) -> bool) -> f64 {
    let all: f64 = parts.iter().map(|(_, parts)| parts).sum();
    parts.iter().filter(|(ingredient, _)| is(ingredient)).map(|(_, parts)| parts).sum::<f64>() / all
}

/// The sum of a figure over the ingredients of a litre, of which `kept` litres are left after blending.
pub(super) fn sum(
    parts: &Parts<'_>,
    kept: f64,
    figure: impl Fn(&Ingredient) -> Option<Spread>,
) -> Result<Spread, NotKnown> {
    let all: f64 = parts.iter().map(|(_, parts)| parts).sum();
    let (mut sum, mut unknown) = ([0.0; 3], Vec::new());
    for (ingredient, parts) in parts {
        match figure(ingredient) {
            Some(figure) => sum = [0, 1, 2].map(|index| sum[index] + figure[index] * parts / all / kept),
            None => unknown.push(ingredient.name.clone()),
        }
    }
    if unknown.is_empty() { Ok(sum) } else { Err(NotKnown(unknown)) }
}

/// The same of a figure that is off of each ingredient by itself: the ends are the root of the sum of squares away.
fn blended(parts: &Parts<'_>, kept: f64, figure: impl Fn(&Ingredient) -> Option<Spread>) -> Result<Spread, NotKnown> {
    let [_, usual, _] = sum(parts, kept, &figure)?;
    let all: f64 = parts.iter().map(|(_, parts)| parts).sum();
    let off = |end: usize| {
        let each = parts.iter().filter_map(|(of, parts)| Some((figure(of)?, parts / all / kept)));
        each.map(|(figure, share)| ((figure[end] - figure[1]) * share).powi(2)).sum::<f64>().sqrt()
    };
    Ok([usual - off(0), usual, usual + off(2)])
}

/// Dry grams in a litre of blended mix, of which `kept` litres are made of a loose one.
///
/// # Errors
/// [`NotKnown`] with the ingredients whose weight is not known.
///
/// ```
/// use trayful::behaviour::dry_density;
/// use trayful::catalogue::Catalogue;
/// let ingredients = Catalogue::built_in().ingredients;
/// let [peat, perlite] = ["peat", "perlite"].map(|name| ingredients.find(name).unwrap());
/// // 3 x 110 + 100 g in four litres, which shrink to 3.6.
/// let [_, usual, _] = dry_density(&[(&peat, 3.0), (&perlite, 1.0)], 0.9).unwrap();
/// assert!((usual - 430.0 / 3.6).abs() < 1e-9);
/// ```
pub fn dry_density(parts: &Parts<'_>, kept: f64) -> Result<Spread, NotKnown> {
    blended(parts, kept, |ingredient| ingredient.physical.dry_g_per_l)
}

/// The pores of a blended mix, and the water in them in a core 7.6 cm tall, as shares of the volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pores {
    /// What is no solid.
    pub porosity: Spread,
    /// Water after draining: no more than the usual porosity.
    pub water_held: Spread,
}

impl Pores {
    /// Of a mix of which `kept` litres are made of a loose one.
    ///
    /// # Errors
    /// [`NotKnown`] with the ingredients whose pores or water are not known.
    pub fn of(parts: &Parts<'_>, kept: f64) -> Result<Self, NotKnown> {
        let both = |of: &Ingredient| of.physical.porosity.zip(of.physical.water_held);
        let pores = blended(parts, kept, |of| both(of).map(|(pores, _)| pores))?;
        let water = blended(parts, kept, |of| both(of).map(|(_, water)| water))?;
        // The solids of `1 / kept` loose litres are in each.
        let porosity = pores.map(|pores| (1.0 - 1.0 / kept + pores).max(0.0));
        Ok(Self { porosity, water_held: water.map(|water| water.min(porosity[1])) })
    }
}
