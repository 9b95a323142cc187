//! What goes into a mix, in proportion.

use super::{Basis, Dose};
use crate::catalogue::{CropChoice, Feeds, Handle, Ingredient, Role};
use crate::exact::{Fraction, whole};
use crate::units::Length;
use crate::units::length::millimetre;

/// What goes into a mix, in proportion.
#[derive(Clone, Debug, PartialEq)]
pub struct Composition {
    /// Parts by loose volume, in the recipe's order; never empty.
    pub parts: Vec<(Handle<Ingredient>, Fraction)>,
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
    pub fn shares(&self) -> Option<Vec<(Handle<Ingredient>, Fraction)>> {
        let sum = self.parts.iter().try_fold(Fraction::ZERO, |sum, (_, parts)| sum.plus(*parts))?;
        self.parts.iter().map(|(id, parts)| parts.over(sum).map(|share| (id.clone(), share))).collect()
    }

    /// How many parts there are of an ingredient.
    pub fn parts_of(&self, id: &Handle<Ingredient>) -> Option<Fraction> {
        self.parts.iter().find(|(part, _)| part == id).map(|(_, parts)| *parts)
    }

    /// The share of the loose volume that ingredients of some property make.
    pub fn share_of(&self, property: impl Fn(&Ingredient) -> bool) -> f64 {
        let some = self.parts.iter().filter(|(id, _)| property(id));
        some.map(|(_, parts)| parts.to_f64()).sum::<f64>()
            / self.parts.iter().map(|(_, parts)| parts.to_f64()).sum::<f64>()
    }

    /// The mesh in whole nanometres: finer than it is written into a file.
    pub fn mesh_nm(&self) -> Option<u64> {
        self.sieve.map(|mesh| whole((mesh.get::<millimetre>() * 1e6).round()))
    }

    /// Whether one of its parts is treated as that.
    pub fn is_of(&self, role: Role) -> bool {
        self.parts.iter().any(|(id, _)| id.is(role))
    }

    /// What seedlings find food in: food itself, or what was charged with some, in an amount that matters.
    pub fn feeding(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        let all: f64 = self.parts.iter().map(|(_, parts)| parts.to_f64()).sum();
        let parts = self.parts.iter().filter(move |(_, parts)| parts.to_f64() >= LEAST_FOOD * all);
        let feeds = |id: &&Handle<Ingredient>| id.feeds != Feeds::No;
        let doses = self.doses.iter().filter(move |dose| feeds(&&dose.ingredient));
        let nitrogen = doses.clone().map(|dose| {
            let share = dose.ingredient.nitrogen.unwrap_or(USUAL_NITROGEN);
            Some(self.grams_per_litre(dose, self.yield_.to_f64())? * share)
        });
        let is_food = nitrogen.sum::<Option<f64>>().is_none_or(|grams| grams >= LEAST_NITROGEN_G_PER_L);
        let doses = doses.filter(move |_| is_food).map(|dose| &dose.ingredient);
        parts.map(|(id, _)| id).filter(feeds).chain(doses)
    }

    /// What a dose comes to in a litre of the finished mix, of which so much is kept on blending; `None` where it is measured
    /// by the spoon, of which no weight is known.
    pub fn grams_per_litre(&self, dose: &Dose, kept: f64) -> Option<f64> {
        let litres = match &dose.basis {
            Basis::Finished => 1.0,
            Basis::Loose => 1.0 / kept,
            Basis::Of(id) => self.share_of(|part| part.name == id.name) / kept,
        };
        dose.rate.spoon().is_none().then(|| dose.rate.per_litre() * litres)
    }

    /// Whether it holds an inoculant: what serves crops by their mycorrhiza.
    pub fn is_inoculated(&self) -> bool {
        self.ingredients().filter_map(|id| id.serves.as_ref()).any(CropChoice::is_by_mycorrhiza)
    }

    /// Every ingredient: the parts, then the doses.
    pub fn ingredients(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        self.parts.iter().map(|(id, _)| id).chain(self.doses.iter().map(|dose| &dose.ingredient))
    }
}

/// The least share of a mix, and the least grams of nitrogen that doses bring to a litre, that seedlings find food in
/// (judgements), and the nitrogen of a fertiliser of which that is not known (from memory).
const LEAST_FOOD: f64 = 0.02;
const LEAST_NITROGEN_G_PER_L: f64 = 0.02;
const USUAL_NITROGEN: f64 = 0.2;
