//! Batches: sowings whose mixes come out the same are mixed together.

use super::volumes::Chain;
use crate::catalogue::{Catalogue, CropId, IngredientId, TrayId, Whom};
use crate::exact::Fraction;
use crate::recipe::{Basis, Composition, Dose, LeftOut, MixFault, Recipe, Top, Variant, Was, Why, vary};
use crate::units::length::millimetre;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Mass, Rate, Spoon, Volume, plain};
use crate::week::{RecipeId, Sowing, Week};
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
    /// The sieved top layers, out of this batch, by tray.
    pub tops: Vec<TopLayer>,
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
    pub fn serves_some(&self, catalogue: &Catalogue) -> bool {
        served(&self.composition, catalogue).next().is_some()
    }

    /// Whether it holds an inoculant: what serves crops by their mycorrhiza.
    #[must_use]
    pub fn is_inoculated(&self, catalogue: &Catalogue) -> bool {
        served(&self.composition, catalogue).any(Whom::is_by_mycorrhiza)
    }

    /// Whether the mix feeds for a while: it holds castings, compost or fertiliser.
    #[must_use]
    pub fn feeds(&self, catalogue: &Catalogue) -> bool {
        let parts = self.ingredients.iter().map(|part| part.ingredient);
        parts.chain(self.doses.iter().map(|dose| dose.ingredient)).any(|id| {
            catalogue.ingredient(id).rich || catalogue.ingredient(id).cautions.iter().any(|key| key == "fertiliser")
        })
    }
}

/// Whom the ingredients that serve only some crops are for.
pub(super) fn served<'c>(composition: &'c Composition, catalogue: &'c Catalogue) -> impl Iterator<Item = &'c Whom> {
    let parts = composition.parts.iter().map(|(id, _)| *id);
    let doses = composition.doses.iter().map(|dose| dose.ingredient);
    parts.chain(doses).filter_map(|id| catalogue.ingredient(id).serves.as_ref())
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

/// A sieved layer on top of cells of one kind, out of the batch.
#[derive(Clone, Debug, PartialEq)]
pub struct TopLayer {
    /// The tray.
    pub tray: TrayId,
    /// Mesh and depth.
    pub top: Top,
    /// The crops that want it.
    pub crops: BTreeSet<CropId>,
    /// How much of the batch; `None` where the depth of the cell is unknown.
    pub volume: Option<Volume>,
}

/// Something of the recipe that a batch goes without, and for which crops and reasons.
#[derive(Clone, Debug, PartialEq)]
pub struct Omission {
    /// What.
    pub ingredient: IngredientId,
    /// The reasons, each with the crops it holds for.
    pub why: BTreeMap<Why, BTreeSet<CropId>>,
    /// What has its share instead.
    pub instead: Option<IngredientId>,
    /// The batch holds some of it all the same, in another dose or as a part.
    pub only_less: bool,
    /// How much that is, over the sowings of this batch that would have had it.
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

impl Saved {
    /// The sum with another of its kind; `None` for another kind.
    fn plus(self, more: Self) -> Option<Self> {
        match (self, more) {
            (Self::Loose(sum), Self::Loose(more)) => Some(Self::Loose(sum + more)),
            (Self::Dose(Dosed::Mass(sum)), Self::Dose(Dosed::Mass(more))) => Some(Self::Dose(Dosed::Mass(sum + more))),
            (Self::Dose(Dosed::Measure(sum, spoon)), Self::Dose(Dosed::Measure(more, _))) => {
                Some(Self::Dose(Dosed::Measure(sum + more, spoon)))
            }
            (Self::Nothing, Self::Nothing) => Some(Self::Nothing),
            _ => None,
        }
    }

    /// A share of it.
    fn times(self, share: f64) -> Self {
        match self {
            Self::Loose(volume) => Self::Loose(volume * share),
            Self::Dose(Dosed::Mass(mass)) => Self::Dose(Dosed::Mass(mass * share)),
            Self::Dose(Dosed::Measure(volume, spoon)) => Self::Dose(Dosed::Measure(volume * share, spoon)),
            Self::Nothing => Self::Nothing,
        }
    }
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
    wanted: &'w [IngredientId],
    catalogue: &'w Catalogue,
    variants: HashMap<VariantKey, Result<Sorted, MixFault>>,
    by_composition: HashMap<CompositionKey, usize>,
    /// The batches found, not yet measured.
    pub(super) found: Vec<Found>,
}

/// Where a sowing's mix comes from.
#[derive(Clone, Copy)]
pub(super) struct Sorted {
    /// Index of the batch, as found.
    pub(super) batch: usize,
    /// The sieved layer on top.
    pub(super) top: Option<Top>,
}

/// A batch before its volumes are known.
pub(super) struct Found {
    pub(super) recipe: RecipeId,
    pub(super) composition: Composition,
    pub(super) crops: BTreeSet<CropId>,
    pub(super) left_out: Vec<Gone>,
}

/// What some of a batch's variants go without.
pub(super) struct Gone {
    left_out: LeftOut,
    why: BTreeMap<Why, BTreeSet<CropId>>,
    variants: Vec<VariantKey>,
}

/// How a sowing's mix is told from another's before it is worked out.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct VariantKey {
    pub(super) recipe: RecipeId,
    pub(super) crop: Option<CropId>,
    pub(super) tray: Option<TrayId>,
    pub(super) inoculant: Option<bool>,
}

impl VariantKey {
    pub(super) fn of(sowing: &Sowing) -> Self {
        Self { recipe: sowing.recipe, crop: sowing.crop, tray: Some(sowing.tray), inoculant: sowing.inoculant }
    }
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
    /// `wanted` where a recipe offers a choice.
    pub(super) fn new(week: &'w Week, catalogue: &'w Catalogue, wanted: &'w [IngredientId]) -> Self {
        Self { week, wanted, catalogue, variants: HashMap::new(), by_composition: HashMap::new(), found: Vec::new() }
    }

    /// The batch of a sowing and its top layer.
    pub(super) fn batch_of(&mut self, key: VariantKey) -> Result<Sorted, MixFault> {
        if let Some(known) = self.variants.get(&key) {
            return *known;
        }
        let crop = key.crop.map(|id| (id, self.catalogue.crop_of(id)));
        let tray = key.tray.map(|id| self.catalogue.tray(id));
        let recipe = self.week.recipe(key.recipe);
        let batch = vary(recipe, self.wanted, crop, tray, key.inoculant, self.catalogue)
            .and_then(|variant| self.sort(key, variant));
        self.variants.insert(key, batch);
        batch
    }

    fn sort(&mut self, key: VariantKey, variant: Variant) -> Result<Sorted, MixFault> {
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
            // The same shares, in the parts of that recipe.
            batch.composition = variant.composition.clone();
        }
        batch.crops.extend(key.crop);
        for left_out in variant.left_out {
            let why = left_out.why;
            let same = |known: &Gone| {
                let known = &known.left_out;
                (known.ingredient, &known.was, known.instead) == (left_out.ingredient, &left_out.was, left_out.instead)
            };
            let place = batch.left_out.iter().position(same).unwrap_or_else(|| {
                batch.left_out.push(Gone { left_out, why: BTreeMap::new(), variants: Vec::new() });
                batch.left_out.len() - 1
            });
            let gone = &mut batch.left_out[place];
            gone.why.entry(why).or_default().extend(key.crop);
            gone.variants.push(key);
        }
        Ok(Sorted { batch: index, top: variant.top })
    }
}

/// The volumes and amounts of a batch; `share_of` tells what share of it variants are.
pub(super) fn measure(
    found: &Found,
    name: String,
    chain: Chain,
    tops: Vec<TopLayer>,
    share_of: impl Fn(&[VariantKey]) -> f64,
) -> Batch {
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
    let doses: Vec<DoseAmount> = found
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
    let left_out = omissions(found, &chain, &ingredients, share_of);
    Batch {
        name,
        recipe: found.recipe,
        crops: found.crops.clone(),
        composition: found.composition.clone(),
        chain,
        ingredients,
        doses,
        tops,
        left_out,
    }
}

/// What a batch goes without: each ingredient once as a part and once as a dose.
fn omissions(
    found: &Found,
    chain: &Chain,
    ingredients: &[PartAmount],
    share_of: impl Fn(&[VariantKey]) -> f64,
) -> Vec<Omission> {
    let mut omissions: Vec<Omission> = Vec::new();
    for gone in &found.left_out {
        let LeftOut { ingredient, was, instead, .. } = &gone.left_out;
        let whole = match was {
            Was::Share(share) => Saved::Loose(chain.loose * *share),
            Was::Dose(dose) => dosed(dose, chain, ingredients).map_or(Saved::Nothing, Saved::Dose),
        };
        let saved = whole.times(share_of(&gone.variants));
        let same = omissions
            .iter_mut()
            .filter(|known| known.ingredient == *ingredient && known.instead == *instead)
            .find_map(|known| known.saved.plus(saved).map(|sum| (known, sum)));
        match same {
            Some((known, sum)) => {
                known.saved = sum;
                for (why, crops) in &gone.why {
                    known.why.entry(*why).or_default().extend(crops);
                }
            }
            None => omissions.push(Omission {
                ingredient: *ingredient,
                why: gone.why.clone(),
                instead: *instead,
                only_less: holds(&found.composition, *ingredient),
                saved,
            }),
        }
    }
    omissions
}

fn holds(composition: &Composition, id: IngredientId) -> bool {
    composition.parts.iter().any(|(part, _)| *part == id) || composition.doses.iter().any(|dose| dose.ingredient == id)
}

/// What sets a composition apart from its recipe: `without inoculant, sieved 6 mm`.
pub(super) fn name(found: &Found, recipe: &Recipe, wanted: &[IngredientId], catalogue: &Catalogue) -> String {
    let mut words = vec![recipe.name.clone()];
    let mut without: Vec<&str> = Vec::new();
    for gone in &found.left_out {
        // Only what the recipe of that name would have had.
        let of_recipe = gone.variants.iter().any(|variant| variant.recipe == found.recipe);
        let name = catalogue.ingredient(gone.left_out.ingredient).name.as_str();
        if of_recipe && !without.contains(&name) && !gone.why.keys().all(|why| matches!(why, Why::NoneOf(_))) {
            without.push(name);
        }
    }
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
