//! Batches: one mix for all sowings of the same composition, with its amounts.

use super::at_hand::{AtHand, Served};
use super::sorting::{BatchOf, Composed, Sorting};
use super::volumes::{Cells, Volumes, of_cells};
use crate::catalogue::{Crop, Handle, Ingredient, Role, Status, Tray};
use crate::exact::Fraction;
use crate::plan::demand::Demand;
use crate::plan::sow::{Half, SowingPlan};
use crate::recipe::{Basis, Composition, Dose, LeftOut, RecipeShare, Top, Why};
use crate::units::length::millimetre;
use crate::units::mass_density::gram_per_litre;
use crate::units::{Length, Quantity, Rate, Sum, Volume, in_litres, serial, to_litres};
use crate::week::{RecipeId, Sowing, Week};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// One mix, and what to put into it.
#[derive(Clone, Debug)]
pub struct Batch {
    /// Its name: the recipe's, and what differs from it.
    pub name: String,
    /// Which half of it, in a trial of coir.
    pub half: Option<Half>,
    /// The first recipe it comes from.
    pub recipe: RecipeId,
    /// The others that come out the same.
    pub others: BTreeSet<RecipeId>,
    /// The crops it is for.
    pub crops: BTreeSet<Handle<Crop>>,
    /// What goes in, in proportion.
    pub composition: Composition,
    /// The share of its mix that is pressed into soil blocks.
    pub pressed: f64,
    /// The volumes.
    pub volumes: Volumes,
    /// The parts with their loose volumes.
    pub ingredients: Vec<PartAmount>,
    /// The doses.
    pub doses: Vec<DoseAmount>,
    /// Mix of the stock that is used first: its place there, and how much of it.
    pub from_stock: Vec<(usize, Volume)>,
    /// Mix of the stock that is not used, since it is too old or the batch is one half of two: its place there.
    pub unused: Vec<usize>,
    /// The sieved top layers, out of this batch, by tray.
    pub tops: Vec<TopLayer>,
    /// What fell away from the recipe.
    pub left_out: Vec<Omission>,
}

impl Batch {
    /// Whether it is for crops alone that want it acid.
    pub fn is_for_acid(&self) -> bool {
        !self.crops.is_empty() && self.crops.iter().all(|crop| crop.wants_acid())
    }

    /// Whether its coir is only wetted: of a trial.
    pub fn is_straight(&self) -> bool {
        self.half == Some(Half::Straight)
    }

    /// Whether any of it is mixed: not all of it is left over from earlier.
    pub fn is_mixed(&self) -> bool {
        self.volumes.loose > in_litres(0.0)
    }

    /// Whether lime is dosed on its raw peat, or on the whole of it with raw peat in it.
    pub fn limes_raw_peat(&self) -> bool {
        self.limes(Ingredient::is_raw_peat)
    }

    /// Whether lime is mixed in that is dosed on some part, or on the whole with that part in it.
    pub(in crate::plan) fn limes(&self, is_part: impl Fn(&Ingredient) -> bool) -> bool {
        let is_for_part = |dose: &DoseAmount| match &dose.basis {
            Basis::Of(id) => is_part(id),
            Basis::Finished | Basis::Loose => self.ingredients.iter().any(|part| is_part(&part.ingredient)),
        };
        self.is_mixed() && self.doses.iter().any(|dose| dose.ingredient.is(Role::Lime) && is_for_part(dose))
    }

    /// Whether something in it serves only some crops, so that it is mixed last.
    pub fn serves_some(&self) -> bool {
        self.composition.ingredients().any(|ingredient| ingredient.serves.is_some())
    }

    /// Whether a sowing grows in it with an inoculant, its own or that of the plugs. Those of one's own are taken to hold one
    /// where some recipe of the week has one that serves the crop.
    pub fn is_inoculated_for(&self, sowing: &Sowing, week: &Week) -> bool {
        let host = sowing.crop.as_ref().filter(|crop| crop.mycorrhiza == Status::Host);
        let is_served = || week.recipes.iter().any(|recipe| recipe.inoculates(host));
        let in_plugs =
            || host.is_some() && sowing.has_inoculated_plugs() && (sowing.inoculated_plugs.is_some() || is_served());
        self.composition.is_inoculated() || in_plugs()
    }

    /// Whether the mix feeds for a while: something in it is food, or was charged with some.
    pub fn feeds(&self) -> bool {
        self.composition.feeding().next().is_some()
    }

    /// What of it goes through a sieve for the tops of cells; `None` where the depth of a
    /// cell is unknown.
    pub fn sieved_for_tops(&self) -> Option<Volume> {
        self.tops.iter().try_fold(in_litres(0.0), |sum, top| top.volume.map(|volume| sum + volume))
    }
}

/// One part of a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartAmount {
    /// The ingredient.
    #[serde(rename = "name")]
    pub ingredient: Handle<Ingredient>,
    /// Its parts, of all that the mix has.
    #[serde(serialize_with = "serial::text")]
    pub parts: Fraction,
    /// Loose volume.
    #[serde(rename = "loose_l")]
    pub loose: Volume,
}

/// One dose of a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DoseAmount {
    /// The ingredient.
    #[serde(rename = "name")]
    pub ingredient: Handle<Ingredient>,
    /// The recipe's rate.
    #[serde(skip)]
    pub rate: Rate,
    /// The volume that the rate is for.
    #[serde(skip)]
    pub basis: Basis,
    /// How much, by weight or by measure.
    #[serde(flatten, serialize_with = "serial::dose")]
    pub amount: Quantity,
}

impl DoseAmount {
    /// The loose volume of a dose by weight, where its density is known.
    pub fn loose(&self) -> Option<Volume> {
        Some(in_litres(self.amount.grams()? / self.ingredient.dry_density?.get::<gram_per_litre>()))
    }
}

/// A sieved layer on top of cells of one kind, out of the batch.
#[derive(Clone, Debug, PartialEq)]
pub struct TopLayer {
    /// The tray.
    pub tray: Handle<Tray>,
    /// Mesh and depth.
    pub top: Top,
    /// The crops that want it.
    pub crops: BTreeSet<Handle<Crop>>,
    /// How much of the batch; `None` where the depth of the cell is unknown.
    pub volume: Option<Volume>,
}

/// Something of the recipe that a batch goes without, and for which crops and reasons.
#[derive(Clone, Debug, PartialEq)]
pub struct Omission {
    /// The ingredient that is left out.
    pub ingredient: Handle<Ingredient>,
    /// The reasons, each with the crops it holds for.
    pub why: BTreeMap<Why, BTreeSet<Handle<Crop>>>,
    /// What has its share instead.
    pub instead: Option<Handle<Ingredient>>,
    /// The batch holds some of it all the same, in another dose or as a part.
    pub only_less: bool,
    /// How much that saves, over the sowings of this batch that would have had it; `None`
    /// where it cannot be counted: the dose is on an ingredient that is not there.
    pub saved: Option<Quantity>,
    /// It would have been a part, not a dose.
    pub as_part: bool,
}

/// The cells that a batch fills: none where a volume is asked for.
#[derive(Default)]
pub(in crate::plan) struct FilledCells<'w> {
    /// The cells of each variant, by the index of that.
    by_variant: BTreeMap<usize, Cells<'w>>,
    tops: Vec<TopLayer>,
}

/// What each batch fills of so many cells of each sowing, `rank` being the place of a batch.
pub(in crate::plan) fn filled<'w>(
    demand: &Demand<'w>,
    sorted: &[BatchOf],
    rank: &[usize],
    sowings: impl Iterator<Item = (&'w SowingPlan, u64)>,
) -> Vec<FilledCells<'w>> {
    let mut cells = vec![0_u64; demand.variants.len()];
    let mut sown = cells.clone();
    for ((sowing, filled), variant) in sowings.zip(&demand.variant_of) {
        cells[*variant as usize] += filled;
        sown[*variant as usize] += if sowing.cells.seeds.is_some() { filled } else { 0 };
    }
    let mut filled: Vec<FilledCells<'_>> = rank.iter().map(|_| FilledCells::default()).collect();
    let mut topped: BTreeMap<_, (u64, Top, BTreeSet<Handle<Crop>>)> = BTreeMap::new();
    for (index, (key, BatchOf { batch, top })) in demand.variants.iter().zip(sorted).enumerate() {
        let Some(tray) = key.mix_for.tray else { continue };
        let (batch, cells) = (rank[*batch], cells[index]);
        filled[batch].by_variant.insert(index, (tray, key.from, cells));
        // No seed lies on what is only potted on.
        if let Some(top) = top.filter(|_| sown[index] > 0) {
            // Lengths are positive, so their bits are in their order.
            let bits = |length: Length| length.get::<millimetre>().to_bits();
            let layer = (batch, tray, bits(top.sieve), bits(top.depth));
            let layer = topped.entry(layer).or_insert((0, top, BTreeSet::new()));
            layer.0 += sown[index];
            layer.2.extend(key.mix_for.crop.cloned());
        }
    }
    for ((batch, tray, ..), (count, top, crops)) in topped {
        let volume = tray.top_slice(top.depth).map(|slice| slice * count as f64);
        filled[batch].tops.push(TopLayer { tray: tray.clone(), top, crops, volume });
    }
    filled
}

impl Sorting<'_> {
    /// Every batch with its name, its volumes and its amounts: for the cells it fills, or for
    /// the volume of finished mix that is asked for; with the mixes of the stock file used first, or as if there
    /// were none. Those of a trial are made twice, each for its `halves` of the cells.
    pub(in crate::plan) fn measured(
        &self,
        (filled, halves): (&[FilledCells<'_>], &[Vec<FilledCells<'_>>]),
        volume: Option<Volume>,
        from_stock: bool,
    ) -> Vec<Batch> {
        let mut seen: HashMap<String, usize> = HashMap::new();
        let mut at_hand = AtHand::new(self.week);
        let batches = self.batches.iter().zip(filled).enumerate().flat_map(|(index, (composed, filled))| {
            let name = self.name(composed);
            // Batches that differ only in what their names leave out get numbers.
            let count = seen.entry(name.clone()).or_default();
            *count += 1;
            let name = if *count > 1 { format!("{name} ({count})") } else { name };
            let (volumes, is_halved) = (self.volumes(composed, filled, volume), self.is_halved(composed));
            let places = if from_stock { &composed.at_hand[..] } else { &[] };
            let (met, Served { used, unused }) = at_hand.serve(places, volumes.mix, is_halved);
            if !is_halved {
                let batch = self.batch(name, composed, filled, volumes.with(met));
                return vec![Batch { from_stock: used, unused, ..batch }];
            }
            let half = |half: Half| {
                let filled = halves.get(half as usize).map_or(filled, |halves| &halves[index]);
                let volumes = self.volumes(composed, filled, volume.map(|volume| volume / 2.0));
                let batch = self.batch(format!("{name}, {}", half.word()), composed, filled, volumes);
                Batch { half: Some(half), unused: unused.clone(), ..batch }
            };
            vec![half(Half::Buffered), half(Half::Straight)]
        });
        batches.collect()
    }

    fn volumes(&self, composed: &Composed, filled: &FilledCells<'_>, volume: Option<Volume>) -> Volumes {
        let allowances = &self.week.allowances;
        let (sieved, yield_) = (composed.composition.sieve.is_some(), composed.composition.yield_);
        match volume {
            Some(mix) => Volumes::from_mix(mix, allowances, sieved, yield_),
            None => {
                let (cells, settled) = of_cells(filled.by_variant.values().copied(), allowances.settling);
                Volumes::from_cells(cells, settled, allowances, sieved, yield_)
            }
        }
    }

    fn batch(&self, name: String, composed: &Composed, filled: &FilledCells<'_>, volumes: Volumes) -> Batch {
        let allowances = &self.week.allowances;
        // The share of the mix that some variants take.
        let share_of = |some: &[(usize, RecipeId)]| {
            let filled = some.iter().filter_map(|(index, _)| filled.by_variant.get(index).copied());
            let (_, some) = of_cells(filled, allowances.settling);
            volumes.settled.filter(|all| some < *all).map_or(1.0, |all| to_litres(some) / to_litres(all))
        };
        // Every composition was shared out when it was sorted, so this one can be too.
        let shares = composed.composition.shares().unwrap_or_default();
        let parts = composed.composition.parts.iter().zip(shares);
        let ingredients: Vec<PartAmount> = parts
            .map(|((ingredient, parts), (_, share))| PartAmount {
                ingredient: ingredient.clone(),
                parts: *parts,
                loose: volumes.loose * share.to_f64(),
            })
            .collect();
        let doses = composed.composition.doses.iter().filter_map(|dose| {
            let amount = dosed(dose, &volumes, &ingredients)?;
            let (ingredient, basis) = (dose.ingredient.clone(), dose.basis.clone());
            Some(DoseAmount { ingredient, rate: dose.rate, basis, amount })
        });
        let blocks = filled.by_variant.values().copied().filter(|(tray, ..)| tray.compression.is_some());
        let (_, pressed) = of_cells(blocks, allowances.settling);
        let pressed = volumes.settled.filter(|all| pressed < *all).map_or_else(
            || if pressed > in_litres(0.0) { 1.0 } else { 0.0 },
            |all| to_litres(pressed) / to_litres(all),
        );
        Batch {
            name,
            half: None,
            pressed,
            recipe: composed.recipe,
            others: composed.others.clone(),
            crops: composed.crops.clone(),
            composition: composed.composition.clone(),
            doses: doses.collect(),
            from_stock: Vec::new(),
            unused: Vec::new(),
            left_out: omissions(composed, &volumes, &ingredients, share_of),
            tops: filled.tops.clone(),
            ingredients,
            volumes,
        }
    }
}

/// The amount of a dose; `None` where it counts on an absent part.
fn dosed(dose: &Dose, volumes: &Volumes, ingredients: &[PartAmount]) -> Option<Quantity> {
    let volume = match &dose.basis {
        Basis::Finished => volumes.to_make(),
        Basis::Loose => volumes.loose,
        Basis::Of(base) => ingredients.iter().find(|part| part.ingredient == *base)?.loose,
    };
    Some(dose.rate.of(volume))
}

/// What a batch goes without: each ingredient once as a part and once as a dose.
fn omissions(
    composed: &Composed,
    volumes: &Volumes,
    ingredients: &[PartAmount],
    share_of: impl Fn(&[(usize, RecipeId)]) -> f64,
) -> Vec<Omission> {
    let mut omissions: Vec<Omission> = Vec::new();
    for out in &composed.left_out {
        let LeftOut { ingredient, share, instead, .. } = &out.left_out;
        let (whole, as_part) = match share {
            RecipeShare::Part(share) => (Some(Quantity::Volume(volumes.loose * *share)), true),
            RecipeShare::Dose(dose) => (dosed(dose, volumes, ingredients), false),
        };
        let saved = whole.map(|whole| whole.times(share_of(&out.variants)));
        let same = omissions.iter_mut().find(|known| {
            (&known.ingredient, &known.instead, known.as_part) == (ingredient, instead, as_part)
                && match (known.saved, saved) {
                    (Some(sum), Some(more)) => sum.is_like(more),
                    (sum, more) => sum.is_none() && more.is_none(),
                }
        });
        match same {
            Some(known) => {
                known.saved = known.saved.zip(saved).and_then(|(sum, more)| sum.plus(more));
                for (why, crops) in &out.why {
                    known.why.entry(why.clone()).or_default().extend(crops.iter().cloned());
                }
            }
            None => omissions.push(Omission {
                ingredient: ingredient.clone(),
                why: out.why.clone(),
                instead: instead.clone(),
                only_less: composed.composition.ingredients().any(|id| id == ingredient),
                saved,
                as_part,
            }),
        }
    }
    omissions
}
