//! Sowings whose mixes come out the same are mixed together.

use super::at_hand::places;
use super::key::MixKey;
use crate::catalogue::{Catalogue, Crop, Handle, Ingredient, Role};
use crate::coir::soak::Soak;
use crate::exact::Fraction;
use crate::plan::demand::VariantKey;
use crate::recipe::{Composition, LeftOut, MixFault, MixFor, Recipe, Top, Variant, Why, Work};
use crate::units::length::millimetre;
use crate::units::plain;
use crate::week::{Loaded, RecipeId, Week};
use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The batch that a variant belongs to.
#[derive(Clone, Copy)]
pub(in crate::plan) struct BatchOf {
    /// Index of the batch.
    pub(in crate::plan) batch: usize,
    /// The sieved layer on top.
    pub(in crate::plan) top: Option<Top>,
}

/// A batch whose amounts are not known yet.
pub(in crate::plan) struct Composed {
    pub(in crate::plan) recipe: RecipeId,
    /// The recipes that come out the same.
    pub(in crate::plan) others: BTreeSet<RecipeId>,
    pub(in crate::plan) composition: Composition,
    pub(in crate::plan) crops: BTreeSet<Handle<Crop>>,
    pub(in crate::plan) left_out: Vec<LeftOutOf>,
    /// The places of the same mix in the stock.
    pub(super) at_hand: Vec<usize>,
    /// It is not halved for a trial.
    pub(super) is_whole: bool,
}

/// What some variants of a batch go without.
pub(in crate::plan) struct LeftOutOf {
    pub(in crate::plan) left_out: LeftOut,
    pub(in crate::plan) why: BTreeMap<Why, BTreeSet<Handle<Crop>>>,
    /// Indexes of the variants, each with its recipe.
    pub(in crate::plan) variants: Vec<(usize, RecipeId)>,
}

/// Sorts the mixes of sowings into batches: the same proportions, doses, sieve and yield.
pub(in crate::plan) struct Sorting<'w> {
    pub(in crate::plan) week: &'w Week,
    wanted: &'w [Handle<Ingredient>],
    catalogue: &'w Catalogue,
    /// With the yield of each.
    by_composition: HashMap<(MixKey, Fraction), usize>,
    /// The places of the mixes in the stock.
    at_hand: HashMap<MixKey, Vec<usize>>,
    /// For all the mixes of a demand together.
    work: &'w Work,
    pub(in crate::plan) batches: Vec<Composed>,
}

impl<'w> Sorting<'w> {
    /// `wanted` where a recipe offers a choice.
    pub(in crate::plan) fn new(loaded: &'w Loaded, wanted: &'w [Handle<Ingredient>], work: &'w Work) -> Self {
        let Loaded { week, catalogue, .. } = loaded;
        let (by_composition, at_hand) = (HashMap::new(), places(week));
        Self { week, wanted, catalogue, by_composition, at_hand, work, batches: Vec::new() }
    }

    /// The batch of each variant, and its top layer.
    ///
    /// They are sorted in an order of their own, so that the order of the sowings changes
    /// nothing: a batch is named after the first of its recipes by name.
    pub(in crate::plan) fn sort(&mut self, variants: &[VariantKey<'_>]) -> Vec<Result<BatchOf, MixFault>> {
        let mut order: Vec<(usize, VariantKey<'_>)> = variants.iter().copied().enumerate().collect();
        order.sort_by_key(|(_, VariantKey { recipe, mix_for: MixFor { crop, tray, inoculant, .. }, from })| {
            (&self.week.recipe(*recipe).name, *crop, *tray, *inoculant, *from)
        });
        let mut sorted: Vec<_> = order.into_iter().map(|(index, key)| (index, self.sort_one(index, key))).collect();
        sorted.sort_unstable_by_key(|(index, _)| *index);
        sorted.into_iter().map(|(_, batch)| batch).collect()
    }

    fn sort_one(&mut self, index: usize, key: VariantKey<'_>) -> Result<BatchOf, MixFault> {
        let recipe = self.week.recipe(key.recipe);
        let Variant { composition, top, left_out } =
            recipe.variant(self.wanted, key.mix_for, self.catalogue, self.work)?;
        let mix_key = MixKey::of(&composition).ok_or(MixFault::Digits)?;
        let place = match self.by_composition.entry((mix_key, composition.yield_)) {
            Entry::Occupied(known) => *known.get(),
            Entry::Vacant(new) => {
                let at_hand = self.at_hand.get(&new.key().0).cloned().unwrap_or_default();
                let (crops, left_out, others) = (BTreeSet::new(), Vec::new(), BTreeSet::new());
                self.batches.push(Composed {
                    recipe: key.recipe,
                    others,
                    composition,
                    crops,
                    left_out,
                    at_hand,
                    is_whole: false,
                });
                *new.insert(self.batches.len() - 1)
            }
        };
        let batch = &mut self.batches[place];
        batch.crops.extend(key.mix_for.crop.cloned());
        batch.others.extend(Some(key.recipe).filter(|recipe| *recipe != batch.recipe));
        for left_out in left_out {
            batch.leave_out(left_out, index, key);
        }
        Ok(BatchOf { batch: place, top })
    }

    /// Puts the batches in an order that the sowings do not change: by recipe, those without inoculant first,
    /// then by what differs. The new place of each.
    pub(in crate::plan) fn in_order(&mut self) -> Vec<usize> {
        let mut placed: Vec<_> = std::mem::take(&mut self.batches).into_iter().enumerate().collect();
        placed.sort_by_cached_key(|(_, batch)| {
            let serves_some = batch.composition.ingredients().any(|ingredient| ingredient.serves.is_some());
            (&self.week.recipe(batch.recipe).name, serves_some, self.name(batch))
        });
        let mut rank = vec![0; placed.len()];
        for (place, (index, batch)) in placed.into_iter().enumerate() {
            rank[index] = place;
            self.batches.push(batch);
        }
        rank
    }

    /// Whether a batch is made in two halves: it holds coir, of which a trial is made.
    pub(super) fn is_halved(&self, batch: &Composed) -> bool {
        let is_tried = self.week.soak.as_ref().is_some_and(Soak::tries_half) && batch.composition.is_of(Role::Coir);
        is_tried && !batch.is_whole
    }

    /// Leaves those at some of [`Sorting::places`] out of the trial.
    pub(in crate::plan) fn keep_whole(&mut self, places: &BTreeSet<usize>) {
        let batches = self.places().into_iter().zip(&mut self.batches);
        batches.for_each(|(place, batch)| batch.is_whole |= places.contains(&place));
    }

    /// The place of each batch among all that are made.
    pub(in crate::plan) fn places(&self) -> Vec<usize> {
        let made = |batch: &Composed| if self.is_halved(batch) { 2 } else { 1 };
        let places = self.batches.iter().scan(0, |next, batch| Some(std::mem::replace(next, *next + made(batch))));
        places.collect()
    }

    /// The places of those that are made in two halves.
    pub(in crate::plan) fn tried(&self) -> BTreeSet<usize> {
        let batches = self.places().into_iter().zip(&self.batches);
        batches.filter(|(_, batch)| self.is_halved(batch)).map(|(place, _)| place).collect()
    }

    /// What sets a batch apart from its recipe: `everyday, without inoculant, sieved 6 mm`.
    pub(in crate::plan) fn name(&self, batch: &Composed) -> String {
        let recipe: &Recipe = self.week.recipe(batch.recipe);
        let mut words = vec![recipe.name.clone()];
        let mut without: Vec<&str> = Vec::new();
        for out in &batch.left_out {
            // Only what the recipe of that name would have had.
            let of_recipe = out.variants.iter().any(|(_, recipe)| *recipe == batch.recipe);
            let name = out.left_out.ingredient.name.as_str();
            if of_recipe
                && !without.contains(&name)
                && !out.why.keys().all(|why| matches!(why, Why::NoneOf(_) | Why::Limed(_)))
            {
                without.push(name);
            }
        }
        if !without.is_empty() {
            words.push(format!("without {}", without.join(" and ")));
        }
        for (id, parts) in &batch.composition.parts {
            let original = recipe.parts.iter().find(|part| part.chosen(self.wanted) == id);
            if original.map(|part| part.amount) != Some(*parts) {
                words.push(format!("{parts} {}", id.name));
            }
        }
        let added = batch.composition.doses.iter().filter(|dose| !recipe.doses.contains(dose));
        words.extend(added.map(|dose| {
            let usual = recipe.doses.iter().find(|usual| usual.ingredient == dose.ingredient);
            let how = match usual.filter(|usual| usual.basis == dose.basis) {
                Some(usual) if dose.rate.per_litre() > usual.rate.per_litre() => "more ",
                Some(usual) if dose.rate.per_litre() < usual.rate.per_litre() => "less ",
                _ => "",
            };
            format!("with {how}{}", dose.ingredient.name)
        }));
        if let Some(mesh) = batch.composition.sieve {
            words.push(format!("sieved {} mm", plain(mesh.get::<millimetre>(), 1)));
        }
        words.join(", ")
    }
}

impl Composed {
    fn leave_out(&mut self, left_out: LeftOut, variant: usize, key: VariantKey<'_>) {
        let why = left_out.why.clone();
        let same = |known: &LeftOutOf| {
            let known = &known.left_out;
            (&known.ingredient, &known.share, &known.instead)
                == (&left_out.ingredient, &left_out.share, &left_out.instead)
        };
        let place = self.left_out.iter().position(same).unwrap_or_else(|| {
            self.left_out.push(LeftOutOf { left_out, why: BTreeMap::new(), variants: Vec::new() });
            self.left_out.len() - 1
        });
        let known = &mut self.left_out[place];
        known.why.entry(why).or_default().extend(key.mix_for.crop.cloned());
        known.variants.push((variant, key.recipe));
    }
}
