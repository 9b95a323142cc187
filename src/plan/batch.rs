//! Batches: sowings whose mixes come out the same are mixed together.

use super::volumes::Chain;
use crate::catalogue::{Catalogue, CropId, IngredientId, TrayId};
use crate::exact::Fraction;
use crate::recipe::{Basis, Composition, Dose, LeftOut, MixFault, Recipe, Top, Variant, Was, Why, vary};
use crate::units::length::millimetre;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Mass, Rate, Spoon, Volume, plain};
use crate::week::{RecipeId, Week};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// One mix, and what to put into it.
#[derive(Clone, Debug)]
pub struct Batch {
    /// Its name: the recipe's, and what differs from it.
    pub name: String,
    /// The first recipe it comes from.
    pub recipe: RecipeId,
    /// The crops it is for.
    pub crops: BTreeSet<CropId>,
    /// What goes in, in proportion.
    pub composition: Composition,
    /// The volumes.
    pub chain: Chain,
    /// The parts with their loose volumes.
    pub ingredients: Vec<PartAmount>,
    /// The doses.
    pub doses: Vec<DoseAmount>,
    /// The sieved top layers, out of this batch; `None` where a cell's depth is unknown.
    pub top: TopLayer,
    /// The crops that want a top layer.
    pub topped: BTreeSet<CropId>,
    /// What fell away from the recipe.
    pub left_out: Vec<Omission>,
}

impl Batch {
    /// Its ingredients, without the doses.
    pub(super) fn ingredients_ids(&self) -> Vec<IngredientId> {
        self.ingredients.iter().map(|part| part.ingredient).collect()
    }

    /// Whether something in it serves only some crops, so that it is mixed last.
    #[must_use]
    pub fn is_inoculated(&self, catalogue: &Catalogue) -> bool {
        let parts = self.composition.parts.iter().map(|(id, _)| *id);
        parts
            .chain(self.composition.doses.iter().map(|dose| dose.ingredient))
            .any(|id| catalogue.ingredient(id).serves.is_some())
    }
}

impl Batch {
    /// Whether the mix feeds for a while: it holds castings, compost or fertiliser.
    #[must_use]
    pub fn feeds(&self, catalogue: &Catalogue) -> bool {
        let parts = self.ingredients.iter().map(|part| part.ingredient);
        parts.chain(self.doses.iter().map(|dose| dose.ingredient)).any(|id| {
            catalogue.ingredient(id).rich || catalogue.ingredient(id).cautions.iter().any(|key| key == "fertiliser")
        })
    }
}

/// One part of a batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartAmount {
    /// What.
    pub ingredient: IngredientId,
    /// Parts.
    pub parts: Fraction,
    /// Loose volume.
    pub loose: Volume,
}

/// One dose of a batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoseAmount {
    /// What.
    pub ingredient: IngredientId,
    /// The recipe's rate.
    pub rate: Rate,
    /// Per volume of what.
    pub basis: Basis,
    /// By weight or by measure.
    pub amount: Dosed,
}

/// How much of a dose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Dosed {
    /// By weight.
    Mass(Mass),
    /// By measure, shown in the spoon it was written in.
    Measure(Volume, Spoon),
}

/// The sieved layers on top of the cells of a batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TopLayer {
    /// No crop of the batch wants one.
    None,
    /// So much of the batch, through the finest mesh asked for.
    Of(Volume, Top),
    /// Some cell's depth is unknown.
    Unknown(Top),
}

/// Something of the recipe that a batch goes without, and for which crops and reasons.
#[derive(Clone, Debug, PartialEq)]
pub struct Omission {
    /// What.
    pub ingredient: IngredientId,
    /// The reasons, each with the crops it holds for.
    pub why: BTreeMap<Why, BTreeSet<CropId>>,
    /// How much that is in this batch.
    pub saved: Saved,
}

/// How much an omission saves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Saved {
    /// Loose volume of a part.
    Loose(Volume),
    /// A dose.
    Dose(Dosed),
    /// Nothing that could be counted: the dose is on an ingredient that is not there.
    Nothing,
}

/// Amounts of a dose for a chain of volumes; `None` where it counts on an absent part.
pub(super) fn dosed(dose: &Dose, chain: &Chain, ingredients: &[PartAmount]) -> Option<Dosed> {
    let volume = match dose.basis {
        Basis::Finished => chain.mix,
        Basis::Loose => chain.loose,
        Basis::Of(base) => ingredients.iter().find(|part| part.ingredient == base)?.loose,
    };
    Some(match dose.rate {
        Rate::Mass(rate) => Dosed::Mass(volume * rate),
        Rate::Measure { per_volume, spoon } => Dosed::Measure(volume * per_volume, spoon),
    })
}

/// Sorts compositions into batches: the same proportions, doses, sieve and yield.
pub(super) struct Sorter<'w> {
    week: &'w Week,
    catalogue: &'w Catalogue,
    variants: HashMap<VariantKey, Result<usize, MixFault>>,
    by_composition: HashMap<CompositionKey, usize>,
    /// The batches found, not yet measured.
    pub(super) found: Vec<Found>,
}

/// A batch before its volumes are known.
pub(super) struct Found {
    pub(super) recipe: RecipeId,
    pub(super) composition: Composition,
    pub(super) crops: BTreeSet<CropId>,
    pub(super) left_out: Vec<(LeftOut, BTreeMap<Why, BTreeSet<CropId>>)>,
}

/// How a sowing's mix is told from another's before it is worked out.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct VariantKey {
    pub(super) recipe: RecipeId,
    pub(super) crop: Option<CropId>,
    pub(super) tray: Option<TrayId>,
    pub(super) inoculant: Option<bool>,
}

/// A composition with its proportions reduced, so that equal mixes are equal keys.
#[derive(PartialEq, Eq, Hash)]
struct CompositionKey {
    shares: Vec<(IngredientId, Fraction)>,
    doses: Vec<(IngredientId, Basis, Option<Spoon>, u64)>,
    sieve: Option<u64>,
    yield_: Fraction,
}

impl CompositionKey {
    fn of(composition: &Composition) -> Option<Self> {
        let mut shares = composition.shares()?;
        shares.sort_by_key(|(id, _)| *id);
        let mut doses: Vec<_> = composition
            .doses
            .iter()
            .map(|dose| {
                let (spoon, size) = match dose.rate {
                    Rate::Mass(rate) => (None, rate.get::<gram_per_litre>()),
                    Rate::Measure { per_volume, spoon } => (Some(spoon), per_volume),
                };
                (dose.ingredient, dose.basis, spoon, size.to_bits())
            })
            .collect();
        doses.sort_by_key(|(id, ..)| *id);
        let sieve = composition.sieve.map(|mesh| mesh.get::<millimetre>().to_bits());
        Some(Self { shares, doses, sieve, yield_: composition.yield_ })
    }
}

impl<'w> Sorter<'w> {
    pub(super) fn new(week: &'w Week, catalogue: &'w Catalogue) -> Self {
        Self { week, catalogue, variants: HashMap::new(), by_composition: HashMap::new(), found: Vec::new() }
    }

    /// The batch of a sowing, and the variant where it is a new one.
    pub(super) fn batch_of(&mut self, key: VariantKey) -> Result<usize, MixFault> {
        if let Some(known) = self.variants.get(&key) {
            return *known;
        }
        let crop = key.crop.map(|id| (id, self.catalogue.crop_of(id)));
        let tray = key.tray.map(|id| self.catalogue.tray(id));
        let recipe = self.week.recipe(key.recipe);
        let batch = vary(recipe, &self.week.wanted, crop, tray, key.inoculant, self.catalogue)
            .and_then(|variant| self.sort(key, variant));
        self.variants.insert(key, batch);
        batch
    }

    fn sort(&mut self, key: VariantKey, variant: Variant) -> Result<usize, MixFault> {
        let composition_key = CompositionKey::of(&variant.composition).ok_or(MixFault::Digits)?;
        let found = &mut self.found;
        let index = *self.by_composition.entry(composition_key).or_insert_with(|| {
            found.push(Found {
                recipe: key.recipe,
                composition: variant.composition.clone(),
                crops: BTreeSet::new(),
                left_out: Vec::new(),
            });
            found.len() - 1
        });
        let batch = &mut self.found[index];
        // The first by name, so that the order of the file changes nothing.
        let name = |id: RecipeId| &self.week.recipe(id).name;
        if name(key.recipe) < name(batch.recipe) {
            batch.recipe = key.recipe;
        }
        batch.crops.extend(key.crop);
        for left_out in variant.left_out {
            let place = batch.left_out.iter().position(|(known, _)| known.ingredient == left_out.ingredient);
            let place = place.unwrap_or_else(|| {
                batch.left_out.push((left_out.clone(), BTreeMap::new()));
                batch.left_out.len() - 1
            });
            batch.left_out[place].1.entry(left_out.why).or_default().extend(key.crop);
        }
        Ok(index)
    }
}

/// The volumes and amounts of a batch.
pub(super) fn measure(found: &Found, name: String, chain: Chain, top: TopLayer, topped: BTreeSet<CropId>) -> Batch {
    // Every composition was shared out when it was sorted, so this one can be too.
    let shares = found.composition.shares().unwrap_or_default();
    let ingredients: Vec<PartAmount> = found
        .composition
        .parts
        .iter()
        .zip(shares)
        .map(|((ingredient, parts), (_, share))| PartAmount {
            ingredient: *ingredient,
            parts: *parts,
            loose: chain.loose * share.to_f64(),
        })
        .collect();
    let doses = found
        .composition
        .doses
        .iter()
        .filter_map(|dose| {
            dosed(dose, &chain, &ingredients).map(|amount| DoseAmount {
                ingredient: dose.ingredient,
                rate: dose.rate,
                basis: dose.basis,
                amount,
            })
        })
        .collect();
    let left_out = found
        .left_out
        .iter()
        .map(|(left_out, why)| Omission {
            ingredient: left_out.ingredient,
            why: why.clone(),
            saved: match &left_out.was {
                Was::Share(share) => Saved::Loose(chain.loose * *share),
                Was::Dose(dose) => dosed(dose, &chain, &ingredients).map_or(Saved::Nothing, Saved::Dose),
            },
        })
        .collect();
    Batch {
        name,
        recipe: found.recipe,
        crops: found.crops.clone(),
        composition: found.composition.clone(),
        chain,
        ingredients,
        doses,
        top,
        topped,
        left_out,
    }
}

/// What sets a composition apart from its recipe: `without inoculant, sieved 6 mm`.
pub(super) fn name(found: &Found, recipe: &Recipe, wanted: &[IngredientId], catalogue: &Catalogue) -> String {
    let mut words = vec![recipe.name.clone()];
    let without: Vec<&str> = found
        .left_out
        .iter()
        .filter(|(_, why)| !why.keys().all(|why| matches!(why, Why::NoneOf(_))))
        .map(|(left_out, _)| catalogue.ingredient(left_out.ingredient).name.as_str())
        .collect();
    if !without.is_empty() {
        words.push(format!("without {}", without.join(" and ")));
    }
    let original = |id| recipe.parts.iter().find(|part| part.chosen(wanted) == id).map(|part| part.amount);
    for (id, parts) in &found.composition.parts {
        if original(*id) != Some(*parts) {
            words.push(format!("{parts} {}", catalogue.ingredient(*id).name));
        }
    }
    for dose in &found.composition.doses {
        if !recipe.doses.contains(dose) {
            words.push(format!("with {}", catalogue.ingredient(dose.ingredient).name));
        }
    }
    if let Some(mesh) = found.composition.sieve {
        words.push(format!("sieved {} mm", plain(mesh.get::<millimetre>(), 1)));
    }
    words.join(", ")
}
