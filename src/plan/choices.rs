//! What a plan would cost with another of the ingredients that its recipes offer.

use super::batch::{Found, Sorter, VariantKey, measure, name};
use super::buying::{line, needs, total};
use super::sowings::{Cells, Laid, lay_out, volumes_of};
use super::{Alternative, Batch, Chain, Need, Plan, PurchaseLine, SowingPlan, Vessels};
use crate::catalogue::{IngredientId, TrayId};
use crate::recipe::Recipe;
use crate::stock::Stock;
use crate::units::{Volume, in_litres, to_litres};
use crate::week::{Loaded, RecipeId, Week};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, HashMap};

/// The purchase with each of the ingredients that the recipes offer as a choice. One that
/// comes into no mix, whatever is wanted, is no alternative.
pub(super) fn alternatives(plan: &Plan, loaded: &Loaded, stock: &Stock, lines: &[PurchaseLine]) -> Vec<Alternative> {
    let Some(choices) = offered(plan, &loaded.week) else { return Vec::new() };
    let variants = Variants::of(plan, &loaded.week);
    choices
        .iter()
        .filter_map(|other| {
            let remade = Remade::with(*other, plan, loaded, &variants)?;
            let need = remade.litres_of(*other, plan);
            let total = match &remade {
                Remade::Same => total(lines),
                Remade::Other { batches, laid } => cost(plan, batches, laid.as_deref(), loaded, stock, lines),
            };
            let chosen = matches!(remade, Remade::Same);
            (to_litres(need) > 0.0).then_some(Alternative { ingredient: *other, chosen, need, total })
        })
        .collect()
}

/// The choices that the plan's recipes offer. Several would have to be combined, and the
/// sheet shows one: then none.
fn offered<'w>(plan: &Plan, week: &'w Week) -> Option<&'w [IngredientId]> {
    let recipes: &[Recipe] = if plan.sowings.is_empty() { week.recipes.get(..1)? } else { &week.recipes };
    let mut offered = recipes.iter().flat_map(|recipe| &recipe.parts).filter(|part| part.choices.len() > 1);
    let first = offered.next()?;
    offered.all(|part| part.choices == first.choices).then_some(&first.choices)
}

/// The mixes to be made, as far as they are told apart before they are worked out.
struct Variants {
    /// Each once, in the order of the sowings.
    keys: Vec<VariantKey>,
    /// The batch of each in the plan.
    batch: Vec<usize>,
    /// Which of them each sowing is; empty where a volume was asked for.
    of_sowing: Vec<usize>,
}

impl Variants {
    fn of(plan: &Plan, week: &Week) -> Self {
        let mut variants = Self { keys: Vec::new(), batch: Vec::new(), of_sowing: Vec::new() };
        if plan.sowings.is_empty() {
            let crop = plan.batches.first().and_then(|batch| batch.crops.first().copied());
            variants.keys.push(VariantKey { recipe: RecipeId(0), crop, tray: None, inoculant: None });
            variants.batch.push(0);
        }
        let mut known = HashMap::new();
        for sowing in &plan.sowings {
            let key = VariantKey::of(&week.sowings[sowing.sowing]);
            let index = *known.entry(key).or_insert_with(|| {
                variants.keys.push(key);
                variants.batch.push(sowing.batch);
                variants.keys.len() - 1
            });
            variants.of_sowing.push(index);
        }
        variants
    }

    /// Whether other batches, one for each variant, are the plan's under other numbers.
    fn parted_alike(&self, batch_of: &[usize]) -> bool {
        let mut other_of = HashMap::new();
        let alike =
            self.batch.iter().zip(batch_of).all(|(batch, other)| other_of.entry(*batch).or_insert(other) == &other);
        let others = batch_of.iter().max().map_or(0, |last| last + 1);
        alike && other_of.len() == others
    }

    /// The cells that each of `batches` fills, by tray.
    fn filled(&self, batch_of: &[usize], sowings: &[SowingPlan], batches: usize) -> Vec<BTreeMap<TrayId, u64>> {
        let mut cells = vec![0; self.keys.len()];
        for (sowing, variant) in sowings.iter().zip(&self.of_sowing) {
            cells[*variant] += sowing.cells_filled;
        }
        let mut filled = vec![BTreeMap::new(); batches];
        for ((key, batch), cells) in self.keys.iter().zip(batch_of).zip(cells) {
            if let Some(tray) = key.tray {
                *filled[*batch].entry(tray).or_default() += cells;
            }
        }
        filled
    }
}

/// The plan's mixes made up again with something else wanted.
enum Remade {
    /// They come out as they are.
    Same,
    /// Others come out.
    Other {
        batches: Vec<Batch>,
        /// The trays, where the sowings share them otherwise.
        laid: Option<Box<Laid>>,
    },
}

impl Remade {
    /// `None` where some sowing would be left without a mix.
    fn with(other: IngredientId, plan: &Plan, loaded: &Loaded, variants: &Variants) -> Option<Self> {
        let (week, catalogue) = (&loaded.week, &loaded.catalogue);
        // As `load` puts what the command line wants before what the week does.
        let rest = week.wanted.iter().copied().filter(|id| *id != other);
        let wanted: Vec<IngredientId> = std::iter::once(other).chain(rest).collect();
        let mut sorter = Sorter::new(week, catalogue, &wanted);
        let sorted = variants.keys.iter().map(|key| sorter.batch_of(*key).map(|sorted| sorted.batch));
        let batch_of: Vec<usize> = sorted.collect::<Result<_, _>>().ok()?;
        let found = std::mem::take(&mut sorter.found);
        let alike = variants.parted_alike(&batch_of);
        let same = |(old, new): (&usize, &usize)| plan.batches[*old].composition == found[*new].composition;
        if alike && variants.batch.iter().zip(&batch_of).all(same) {
            return Some(Self::Same);
        }
        // Sowings share trays within their batch.
        let laid = (!alike).then(|| {
            let cells: Vec<Cells> = plan.sowings.iter().map(Cells::of).collect();
            let batch_of: Vec<usize> = variants.of_sowing.iter().map(|variant| batch_of[*variant]).collect();
            Box::new(lay_out(week, catalogue, &cells, &batch_of))
        });
        let sowings = laid.as_ref().map_or(&plan.sowings, |laid| &laid.sowings);
        let filled = variants.filled(&batch_of, sowings, found.len());
        let order = super::in_bench_order(&found, week, &wanted, catalogue);
        let batches = order.iter().map(|index| {
            let found = &found[*index];
            let chain = chain(found, &filled[*index], plan, loaded);
            let name = name(found, week.recipe(found.recipe), &wanted, catalogue);
            // Nothing is bought for a layer on top or for what is left out.
            measure(found, name, chain, Vec::new(), |_| 1.0)
        });
        Some(Self::Other { batches: batches.collect(), laid })
    }

    /// The loose volume of an ingredient in all its batches.
    fn litres_of(&self, ingredient: IngredientId, plan: &Plan) -> Volume {
        let batches = match self {
            Self::Same => &plan.batches,
            Self::Other { batches, .. } => batches,
        };
        let parts = batches.iter().flat_map(|batch| &batch.ingredients);
        parts.filter(|part| part.ingredient == ingredient).fold(in_litres(0.0), |sum, part| sum + part.loose)
    }
}

/// The volumes of a batch: of the cells it fills, or of the mix that was asked for.
fn chain(found: &Found, filled: &BTreeMap<TrayId, u64>, plan: &Plan, loaded: &Loaded) -> Chain {
    let allowances = &loaded.week.allowances;
    let (sieved, yield_) = (found.composition.sieve.is_some(), found.composition.yield_);
    if plan.sowings.is_empty() {
        return Chain::from_mix(plan.totals.mix, allowances, sieved, yield_);
    }
    let (cells, settled) = volumes_of(filled, &loaded.week, &loaded.catalogue);
    Chain::from_cells(cells, settled, allowances, sieved, yield_)
}

/// What has to be paid for other batches; `lines` are those of the plan.
fn cost(
    plan: &Plan,
    batches: &[Batch],
    laid: Option<&Laid>,
    loaded: &Loaded,
    stock: &Stock,
    lines: &[PurchaseLine],
) -> Option<Decimal> {
    let (week, catalogue) = (&loaded.week, &loaded.catalogue);
    let totals = super::totals(batches, laid.map_or(&plan.trays, |laid| &laid.trays), catalogue);
    let mixing = super::mixing::mixing(batches, Vessels { tub: week.tub, scoop: week.scoop }, catalogue);
    let covering = laid.map(|laid| super::covering::covering(week, &laid.sowings, catalogue));
    let beside = super::beside(&totals, &mixing, covering.as_ref().unwrap_or(&plan.covering));
    // Most lines are those of the plan.
    let same = |need: &Need| lines.iter().find(|line| line.need() == *need).cloned();
    let needs = needs(&totals, &beside, catalogue);
    let lines: Vec<PurchaseLine> = needs.iter().map(|need| same(need).unwrap_or_else(|| line(*need, stock))).collect();
    total(&lines)
}
