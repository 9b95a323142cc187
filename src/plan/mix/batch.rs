//! Batches: one mix for all sowings of the same composition, with its amounts.

use super::sorting::{Composed, Sorting, VariantKey};
use super::volumes::{Volumes, of_cells};
use crate::behaviour::packing::{ExpectedYield, expected_yield};
use crate::catalogue::{Crop, Handle, Ingredient, Tray, Whom};
use crate::exact::Fraction;
use crate::plan::sow::SowingPlan;
use crate::recipe::{Basis, Composition, Dose, LeftOut, RecipeShare, Top, Why};
use crate::units::length::millimetre;
use crate::units::{Length, Quantity, Rate, Sum, Volume, in_litres, serial, to_litres};
use crate::week::{RecipeId, Week};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// One mix, and what to put into it.
#[derive(Clone, Debug)]
pub struct Batch {
    /// Its name: the recipe's, and what differs from it.
    pub name: String,
    /// The first recipe it comes from.
    pub recipe: RecipeId,
    /// The crops it is for.
    pub crops: BTreeSet<Handle<Crop>>,
    /// What goes in, in proportion.
    pub composition: Composition,
    /// The volumes.
    pub volumes: Volumes,
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
    /// Whether something in it serves only some crops, so that it is mixed last.
    #[must_use]
    pub fn serves_some(&self) -> bool {
        self.composition.ingredients().any(|ingredient| ingredient.serves.is_some())
    }

    /// Whether it holds an inoculant: what serves crops by their mycorrhiza.
    #[must_use]
    pub fn is_inoculated(&self) -> bool {
        self.composition.ingredients().filter_map(|id| id.serves.as_ref()).any(Whom::is_by_mycorrhiza)
    }

    /// Whether the mix feeds for a while: it holds castings, compost or fertiliser.
    #[must_use]
    pub fn feeds(&self) -> bool {
        self.composition.ingredients().any(|id| id.rich || id.cautions.iter().any(|key| key == "fertiliser"))
    }

    /// The share of its loose volume that is coarse.
    #[must_use]
    pub fn coarse_share(&self) -> f64 {
        self.share_of(|ingredient| ingredient.coarse)
    }

    /// What models of packing expect to be kept of it after blending.
    #[must_use]
    pub fn expected_yield(&self) -> ExpectedYield {
        expected_yield(self.coarse_share())
    }

    /// What of it goes through a sieve for the tops of cells; `None` where the depth of a
    /// cell is unknown.
    #[must_use]
    pub fn sieved_for_tops(&self) -> Option<Volume> {
        self.tops.iter().try_fold(in_litres(0.0), |sum, top| top.volume.map(|volume| sum + volume))
    }

    /// The share of its loose volume that ingredients of some property make.
    #[must_use]
    pub fn share_of(&self, property: impl Fn(&Ingredient) -> bool) -> f64 {
        let parts = self.ingredients.iter().filter(|part| property(&part.ingredient));
        parts.map(|part| to_litres(part.loose)).sum::<f64>() / to_litres(self.volumes.loose)
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
    /// Per volume of what.
    #[serde(skip)]
    pub basis: Basis,
    /// How much, by weight or by measure.
    #[serde(flatten, serialize_with = "serial::dose")]
    pub amount: Quantity,
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
    /// What.
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

/// What a batch fills.
pub(super) enum BatchFill<'w> {
    /// Cells by tray, the share of them that is of each variant, and layers on top.
    Cells {
        filled: BTreeMap<&'w Handle<Tray>, u64>,
        of_variant: HashMap<VariantKey<'w>, u64>,
        tops: Vec<TopLayer>,
        week: &'w Week,
    },
    /// A volume of finished mix.
    Volume(Volume),
}

/// A kind of top layer: tray, mesh and depth, the measures by their bits.
type TopKey<'w> = (&'w Handle<Tray>, u64, u64);

impl<'w> BatchFill<'w> {
    pub(super) fn of_volume(mix: Volume) -> Self {
        Self::Volume(mix)
    }

    /// What the sowings of each batch fill, each with the top layer of its mix.
    pub(super) fn of_sowings(
        week: &'w Week,
        sowings: &[SowingPlan],
        tops: impl Iterator<Item = Option<Top>>,
        batches: usize,
    ) -> Vec<Self> {
        // Whole numbers of cells by batch and tray first: the sum is then the same in any order.
        let mut filled: Vec<BTreeMap<&Handle<Tray>, u64>> = vec![BTreeMap::new(); batches];
        let mut of_variant: Vec<HashMap<VariantKey<'_>, u64>> = vec![HashMap::new(); batches];
        let mut topped: Vec<BTreeMap<TopKey<'_>, (u64, Top, BTreeSet<Handle<Crop>>)>> = vec![BTreeMap::new(); batches];
        for ((sowing, plan), top) in week.sowings.iter().zip(sowings).zip(tops) {
            *filled[plan.batch].entry(&sowing.tray).or_default() += plan.cells_filled;
            *of_variant[plan.batch].entry(VariantKey::of(sowing)).or_default() += plan.cells_filled;
            if let Some(top) = top {
                let bits = |length: Length| length.get::<millimetre>().to_bits();
                let key = (&sowing.tray, bits(top.sieve), bits(top.depth));
                let (cells, _, crops) = topped[plan.batch].entry(key).or_insert((0, top, BTreeSet::new()));
                *cells += plan.cells_filled;
                crops.extend(sowing.crop.clone());
            }
        }
        let layer = |((tray, ..), (count, top, crops)): (TopKey<'_>, (u64, Top, BTreeSet<Handle<Crop>>))| {
            let slice = tray.top_slice(top.depth);
            TopLayer { tray: tray.clone(), top, crops, volume: slice.map(|slice| slice * count as f64) }
        };
        let all = filled.into_iter().zip(of_variant).zip(topped);
        all.map(|((filled, of_variant), topped)| Self::Cells {
            filled,
            of_variant,
            tops: topped.into_iter().map(layer).collect(),
            week,
        })
        .collect()
    }

    fn volumes(&self, week: &Week, composed: &Composed<'_>) -> Volumes {
        let (sieved, yield_) = (composed.composition.sieve.is_some(), composed.composition.yield_);
        match self {
            Self::Volume(mix) => Volumes::from_mix(*mix, &week.allowances, sieved, yield_),
            Self::Cells { filled, .. } => {
                let filled = filled.iter().map(|(tray, cells)| (*tray, *cells));
                let (cells, settled) = of_cells(filled, week.allowances.settling);
                Volumes::from_cells(cells, settled, &week.allowances, sieved, yield_)
            }
        }
    }

    /// The share of the batch's mix that some of its variants take.
    fn share_of(&self, variants: &[VariantKey<'_>], volumes: &Volumes) -> f64 {
        let (Self::Cells { of_variant, week, .. }, Some(settled)) = (self, volumes.settled) else { return 1.0 };
        let filled = variants.iter().filter_map(|key| Some((key.mix_for.tray?, *of_variant.get(key)?)));
        let (_, some) = of_cells(filled, week.allowances.settling);
        if some < settled { to_litres(some) / to_litres(settled) } else { 1.0 }
    }
}

/// Every batch with its name, its volumes and its amounts.
pub(super) fn measured(sorting: &Sorting<'_>, fills: &[BatchFill<'_>]) -> Vec<Batch> {
    let mut seen: HashMap<String, usize> = HashMap::new();
    let batches = sorting.batches.iter().zip(fills).map(|(composed, fill)| {
        let name = sorting.name(composed);
        // Batches that differ only in what their names leave out get numbers.
        let count = seen.entry(name.clone()).or_default();
        *count += 1;
        let name = if *count > 1 { format!("{name} ({count})") } else { name };
        measure(composed, name, fill, sorting.week)
    });
    batches.collect()
}

fn measure(composed: &Composed<'_>, name: String, fill: &BatchFill<'_>, week: &Week) -> Batch {
    let volumes = fill.volumes(week, composed);
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
        dosed(dose, &volumes, &ingredients).map(|amount| DoseAmount {
            ingredient: dose.ingredient.clone(),
            rate: dose.rate,
            basis: dose.basis.clone(),
            amount,
        })
    });
    Batch {
        name,
        recipe: composed.recipe,
        crops: composed.crops.clone(),
        composition: composed.composition.clone(),
        doses: doses.collect(),
        tops: match fill {
            BatchFill::Cells { tops, .. } => tops.clone(),
            BatchFill::Volume(_) => Vec::new(),
        },
        left_out: omissions(composed, &volumes, &ingredients, |variants| fill.share_of(variants, &volumes)),
        ingredients,
        volumes,
    }
}

/// The amount of a dose; `None` where it counts on an absent part.
fn dosed(dose: &Dose, volumes: &Volumes, ingredients: &[PartAmount]) -> Option<Quantity> {
    let volume = match &dose.basis {
        Basis::Finished => volumes.mix,
        Basis::Loose => volumes.loose,
        Basis::Of(base) => ingredients.iter().find(|part| part.ingredient == *base)?.loose,
    };
    Some(dose.rate.of(volume))
}

/// What a batch goes without: each ingredient once as a part and once as a dose.
fn omissions(
    composed: &Composed<'_>,
    volumes: &Volumes,
    ingredients: &[PartAmount],
    share_of: impl Fn(&[VariantKey<'_>]) -> f64,
) -> Vec<Omission> {
    let mut omissions: Vec<Omission> = Vec::new();
    for out in &composed.left_out {
        let LeftOut { ingredient, share, instead, .. } = &out.left_out;
        let (whole, as_part) = match share {
            RecipeShare::Part(share) => (Some(Quantity::Volume(volumes.loose * *share)), true),
            RecipeShare::Dose(dose) => (dosed(dose, volumes, ingredients), false),
        };
        let saved = whole.map(|whole| whole.times(share_of(&out.variants)));
        let same = omissions.iter_mut().find_map(|known| {
            let alike = known.ingredient == *ingredient && known.instead == *instead && known.as_part == as_part;
            let sum = match (known.saved, saved) {
                (Some(sum), Some(more)) => sum.plus(more).map(Some),
                (None, None) => Some(None),
                _ => None,
            };
            sum.filter(|_| alike).map(|sum| (known, sum))
        });
        match same {
            Some((known, sum)) => {
                known.saved = sum;
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
