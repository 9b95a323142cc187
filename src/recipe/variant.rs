//! A recipe after whom it serves and its changes: what goes into the mix for a crop.

use super::change::Amount;
use super::{Basis, Change, Dose, Recipe, Top, default_yield};
use crate::catalogue::{Catalogue, Crop, CropId, IngredientId, Status, Tray};
use crate::exact::Fraction;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Length, Rate};

/// What goes into a mix, in proportion.
#[derive(Clone, Debug, PartialEq)]
pub struct Composition {
    /// Parts by loose volume, in the recipe's order; never empty.
    pub parts: Vec<(IngredientId, Fraction)>,
    /// Doses.
    pub doses: Vec<Dose>,
    /// The mesh the whole batch goes through.
    pub sieve: Option<Length>,
    /// Mix kept after blending.
    pub yield_: Fraction,
}

impl Composition {
    /// The share of each ingredient in the loose volume: exact, summing to one.
    /// `None` if the parts have too many digits for that.
    #[must_use]
    pub fn shares(&self) -> Option<Vec<(IngredientId, Fraction)>> {
        let sum = self.parts.iter().try_fold(Fraction::ZERO, |sum, (_, parts)| sum.plus(*parts))?;
        self.parts.iter().map(|(id, parts)| parts.over(sum).map(|share| (*id, share))).collect()
    }
}

/// A composition for a crop in a tray, and how it came about.
#[derive(Clone, Debug)]
pub struct Variant {
    /// What goes in.
    pub composition: Composition,
    /// A sieved layer on top.
    pub top: Option<Top>,
    /// What fell away from the recipe, and why.
    pub left_out: Vec<LeftOut>,
    /// The crop wants an acid mix, which this one is not.
    pub wants_acid: bool,
}

/// Something of the recipe that this crop's mix goes without.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// What.
    pub ingredient: IngredientId,
    /// Why.
    pub why: Why,
    /// How much it would have been.
    pub was: Was,
}

/// How much of it the recipe has.
#[derive(Clone, Debug, PartialEq)]
pub enum Was {
    /// Its share of the loose volume.
    Share(f64),
    /// Its dose.
    Dose(Dose),
}

/// Why something is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Why {
    /// The crop's way of life is not among those served.
    NotServed(Status),
    /// The crop lives in acid soil.
    NotFor(Status),
    /// The sowing says so.
    Asked,
    /// A change of the recipe says so.
    Change,
    /// The dose counts on an ingredient that is not in the mix.
    NoneOf(IngredientId),
}

/// Why no mix can be made up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MixFault {
    /// Every part was dropped.
    #[error("nothing is left of the mix: every part is dropped")]
    Empty,
    /// The fractions outgrew exact arithmetic.
    #[error("the parts have too many digits to be summed exactly")]
    Digits,
}

/// The mix of a recipe for a crop in a tray.
///
/// First what does not serve the crop falls away, then what its way of life does not
/// bear, then the recipe's changes apply in order. Without a crop: a host, and no
/// changes. `inoculant` overrides whom an ingredient serves.
///
/// # Errors
/// [`MixFault`] if no part is left or the parts cannot be summed exactly.
pub fn vary(
    recipe: &Recipe,
    wanted: &[IngredientId],
    crop: Option<(CropId, &Crop)>,
    tray: Option<&Tray>,
    inoculant: Option<bool>,
    catalogue: &Catalogue,
) -> Result<Variant, MixFault> {
    let mut mix = Mix {
        catalogue,
        total: recipe
            .parts
            .iter()
            .try_fold(Fraction::ZERO, |sum, part| sum.plus(part.amount))
            .ok_or(MixFault::Digits)?,
        parts: recipe.parts.iter().map(|part| (part.chosen(wanted), part.amount)).collect(),
        doses: recipe.doses.clone(),
        left_out: Vec::new(),
    };
    let status = crop.map_or(Status::Host, |(_, crop)| crop.mycorrhiza);
    for id in mix.ingredients() {
        let ingredient = catalogue.ingredient(id);
        let why = match (&ingredient.serves, inoculant) {
            (Some(_), Some(false)) => Why::Asked,
            (Some(whom), None) if !whom.serves(status) => Why::NotServed(status),
            _ if ingredient.not_for.contains(&status) => Why::NotFor(status),
            _ => continue,
        };
        let instead = ingredient.instead.as_deref().and_then(|name| catalogue.ingredients.find(name)).map(IngredientId);
        mix.drop(id, instead, why)?;
    }
    let mut variant = (None, None, recipe.yield_.unwrap_or_else(default_yield));
    if crop.is_some() {
        for change in recipe.changes.iter().filter(|change| change.whom.includes(crop, tray)) {
            mix.apply(change)?;
            variant.0 = change.sieve.or(variant.0);
            variant.1 = change.top.or(variant.1);
            variant.2 = change.yield_.unwrap_or(variant.2);
        }
    }
    let (sieve, top, yield_) = variant;
    mix.drop_baseless_doses()?;
    if mix.parts.is_empty() {
        return Err(MixFault::Empty);
    }
    Ok(Variant {
        composition: Composition { parts: mix.parts, doses: mix.doses, sieve, yield_ },
        top,
        left_out: mix.left_out,
        wants_acid: status == Status::Ericoid,
    })
}

/// A mix in the making.
struct Mix<'c> {
    catalogue: &'c Catalogue,
    total: Fraction,
    parts: Vec<(IngredientId, Fraction)>,
    doses: Vec<Dose>,
    left_out: Vec<LeftOut>,
}

impl Mix<'_> {
    fn ingredients(&self) -> Vec<IngredientId> {
        let parts = self.parts.iter().map(|(id, _)| *id);
        parts.chain(self.doses.iter().map(|dose| dose.ingredient)).collect()
    }

    fn drop(&mut self, id: IngredientId, instead: Option<IngredientId>, why: Why) -> Result<(), MixFault> {
        if let Some(index) = self.parts.iter().position(|(part, _)| *part == id) {
            let (_, amount) = self.parts[index];
            let share = amount.over(self.total).ok_or(MixFault::Digits)?.to_f64();
            match instead.filter(|carrier| *carrier != id) {
                Some(carrier) => {
                    self.parts.remove(index);
                    self.add_parts(carrier, amount)?;
                }
                None => {
                    self.parts.remove(index);
                }
            }
            self.left_out.push(LeftOut { ingredient: id, why, was: Was::Share(share) });
        }
        if let Some(index) = self.doses.iter().position(|dose| dose.ingredient == id) {
            let dose = self.doses.remove(index);
            self.left_out.push(LeftOut { ingredient: id, why, was: Was::Dose(dose) });
        }
        Ok(())
    }

    fn add_parts(&mut self, id: IngredientId, amount: Fraction) -> Result<(), MixFault> {
        match self.parts.iter_mut().find(|(part, _)| *part == id) {
            Some((_, parts)) => *parts = parts.plus(amount).ok_or(MixFault::Digits)?,
            None => self.parts.push((id, amount)),
        }
        Ok(())
    }

    fn apply(&mut self, change: &Change) -> Result<(), MixFault> {
        for id in &change.drop {
            self.drop(*id, change.instead, Why::Change)?;
        }
        for (id, amount) in &change.add {
            match *amount {
                Amount::Parts(parts) => self.add_parts(*id, parts)?,
                Amount::Dose(rate, basis) => self.add_dose(*id, rate, basis),
            }
        }
        for (id, amount) in &change.set {
            match *amount {
                Amount::Parts(amount) => match self.parts.iter_mut().find(|(part, _)| part == id) {
                    Some((_, parts)) => *parts = amount,
                    None => self.parts.push((*id, amount)),
                },
                Amount::Dose(rate, basis) => {
                    self.doses.retain(|dose| dose.ingredient != *id);
                    self.doses.push(Dose { ingredient: *id, rate, basis });
                }
            }
        }
        Ok(())
    }

    fn add_dose(&mut self, ingredient: IngredientId, rate: Rate, basis: Basis) {
        let same = self.doses.iter_mut().find(|dose| dose.ingredient == ingredient && dose.basis == basis);
        match (same.map(|dose| &mut dose.rate), rate) {
            (Some(Rate::Mass(there)), Rate::Mass(more)) => {
                *there = crate::units::MassDensity::new::<gram_per_litre>(
                    there.get::<gram_per_litre>() + more.get::<gram_per_litre>(),
                );
            }
            (Some(Rate::Measure { per_volume, .. }), Rate::Measure { per_volume: more, .. }) => *per_volume += more,
            _ => self.doses.push(Dose { ingredient, rate, basis }),
        }
    }

    fn drop_baseless_doses(&mut self) -> Result<(), MixFault> {
        let baseless: Vec<(IngredientId, IngredientId)> = self
            .doses
            .iter()
            .filter_map(|dose| match dose.basis {
                Basis::Of(base) if !self.parts.iter().any(|(part, _)| *part == base) => Some((dose.ingredient, base)),
                _ => None,
            })
            .collect();
        for (dose, base) in baseless {
            if !self.catalogue.ingredient(dose).name.is_empty() {
                self.drop(dose, None, Why::NoneOf(base))?;
            }
        }
        Ok(())
    }
}
