//! The batches at the bench: what goes into each base and each load.

use super::loads::{Divided, FromBase, Load, LoadDose, Loads, Mixture, Vessels};
use super::moisture::{Moistening, Water, grams_added};
use super::scoops::{TOLERANCE, Wanted};
use super::{Base, BatchMixing, Draw, SharedBase};
use crate::catalogue::{Catalogue, IngredientId};
use crate::plan::{Batch, DoseAmount, Dosed};
use crate::recipe::Basis;
use crate::units::mass::gram;
use crate::units::{Volume, cover, in_litres, to_litres};
use crate::week::RecipeId;

pub(super) fn held(batch: &Batch) -> Vec<(IngredientId, f64)> {
    batch.ingredients.iter().map(|part| (part.ingredient, to_litres(part.loose))).collect()
}

/// The batches, and what they are mixed with.
pub(super) struct Bench<'p> {
    pub(super) batches: &'p [Batch],
    pub(super) vessels: Vessels,
    pub(super) catalogue: &'p Catalogue,
}

impl Bench<'_> {
    /// A batch that shares nothing.
    pub(super) fn alone(&self, index: usize) -> BatchMixing {
        let batch = &self.batches[index];
        let total = to_litres(batch.chain.loose);
        let wanted = held(batch)
            .into_iter()
            .map(|(id, litres)| (id, Wanted { share: litres / total, given: 0.0, measured: true }))
            .collect();
        let divided = Mixture { wanted, need: total, tolerance: TOLERANCE }.divide(&self.vessels);
        self.batch(index, None, in_litres(0.0), &[], divided, &[])
    }

    /// The base of some batches, and the ingredients whose doses are in it.
    pub(super) fn base(
        &self,
        recipe: RecipeId,
        members: &[usize],
        shared: &SharedBase<IngredientId>,
    ) -> (Base, Vec<IngredientId>) {
        let taken: f64 = shared.taken.iter().sum();
        let yields = members.iter().zip(&shared.taken).map(|(index, l)| l * self.batches[*index].chain.yield_.to_f64());
        let kept = yields.sum::<f64>() / taken;
        let mut order: Vec<usize> = (0..members.len()).collect();
        // Before the inoculant, then small ones first: the last takes what is left, and
        // a guess of the yield that is off by a few litres matters least to a large one.
        order.sort_by(|a, b| {
            let key = |place: usize| self.batches[members[place]].serves_some(self.catalogue);
            key(*a).cmp(&key(*b)).then(shared.taken[*a].total_cmp(&shared.taken[*b]))
        });
        let mut draws: Vec<Draw> = order
            .iter()
            .map(|place| Draw { batch: members[*place], amount: self.draw(shared.taken[*place], kept), share: 0.0 })
            .collect();
        let last = order.last().map_or(0.0, |place| shared.taken[*place]);
        let drawn = |draws: &[Draw]| draws.iter().map(|draw| to_litres(draw.amount.loose)).sum::<f64>();
        let but_last = draws.len() - 1;
        let need = drawn(&draws[..but_last]) + last;
        let whole = shared.additions.iter().all(Vec::is_empty);
        let wanted = shared
            .ingredients
            .iter()
            .map(|(id, litres)| (*id, Wanted { share: litres / taken, given: 0.0, measured: true }))
            .collect();
        // What is measured in afterwards is off as well: half the tolerance for each.
        let tolerance = if whole { TOLERANCE } else { TOLERANCE / 2.0 };
        let divided = Mixture { wanted, need, tolerance }.divide(&self.vessels);
        let made = divided.each * divided.count as f64;
        let rest = made - drawn(&draws[..but_last]);
        draws[but_last].amount = FromBase { loose: in_litres(rest), mixed: in_litres(rest * kept), quarters: None };
        for draw in &mut draws {
            draw.share = to_litres(draw.amount.loose) / made;
        }
        let in_base = self.doses_of_base(members, &shared.taken);
        let doses = in_base.iter().map(|(dose, total)| {
            let factor = match dose.basis {
                Basis::Of(id) => of(&divided, id) * divided.count as f64 / litres_of(&shared.ingredients, id),
                Basis::Finished | Basis::Loose => made / taken,
            };
            LoadDose { ingredient: dose.ingredient, amount: scaled(*total, factor / divided.count as f64) }
        });
        let doses: Vec<LoadDose> = doses.collect();
        let dosed = in_base.iter().map(|(dose, _)| dose.ingredient).collect();
        let too_coarse = divided.too_coarse;
        let base = Base {
            recipe,
            ingredients: shared.ingredients.iter().map(|(id, litres)| (*id, in_litres(*litres))).collect(),
            loose: in_litres(taken),
            loads: self.loads(divided, None, &[], doses),
            made_loose: in_litres(made),
            kept,
            draws,
            too_coarse,
        };
        (base, dosed)
    }

    /// So many loose litres of a base, drawn in whole quarter scoops where there is one.
    fn draw(&self, loose: f64, kept: f64) -> FromBase {
        let mixed = in_litres(loose * kept);
        match self.vessels.quarter().and_then(|quarter| cover(mixed, quarter)) {
            Some(covered) => {
                let mixed = mixed + covered.over;
                FromBase { loose: mixed / kept, mixed, quarters: Some(covered.count) }
            }
            None => FromBase { loose: in_litres(loose), mixed, quarters: None },
        }
    }

    /// The doses that every batch gets exactly by its share of the base, with their sums.
    fn doses_of_base(&self, members: &[usize], taken: &[f64]) -> Vec<(DoseAmount, Dosed)> {
        let first = &self.batches[members[0]];
        if members.iter().any(|index| self.batches[*index].composition.sieve.is_some()) {
            return Vec::new();
        }
        first
            .doses
            .iter()
            .filter(|dose| self.catalogue.ingredient(dose.ingredient).serves.is_none())
            .filter_map(|dose| {
                let mut total = scaled(dose.amount, 0.0);
                for (index, taken_here) in members.iter().zip(taken) {
                    let mut same =
                        self.batches[*index].doses.iter().filter(|other| other.ingredient == dose.ingredient);
                    let (Some(here), None) = (same.next(), same.next()) else { return None };
                    let exact = scaled(dose.amount, taken_here / taken[0]);
                    if here.basis != dose.basis || !alike(here.amount, exact) {
                        return None;
                    }
                    total = plus(total, here.amount)?;
                }
                Some((*dose, total))
            })
            .collect()
    }

    /// A batch that draws on a base.
    pub(super) fn sharing(
        &self,
        index: usize,
        base_index: usize,
        base: &Base,
        additions: &[(IngredientId, f64)],
        taken: f64,
        dosed: &[IngredientId],
    ) -> BatchMixing {
        let batch = &self.batches[index];
        let draw = base.draws.iter().find(|draw| draw.batch == index).map(|draw| draw.amount);
        let drawn = draw.map_or(taken, |draw| to_litres(draw.loose));
        let made: f64 = to_litres(base.loads.load.loose);
        let brings = |id: IngredientId| of_load(&base.loads.load, id) / made * drawn;
        let total = to_litres(batch.chain.loose);
        let wanted: Vec<(IngredientId, Wanted)> = held(batch)
            .into_iter()
            .map(|(id, litres)| {
                let measured = additions.iter().any(|(added, _)| *added == id);
                (id, Wanted { share: litres / total, given: brings(id), measured })
            })
            .collect();
        let divided = Mixture { wanted, need: total, tolerance: TOLERANCE }.divide(&self.vessels);
        let given = draw.map(|draw| (draw, base));
        let mut mixing = self.batch(index, given, in_litres(taken), dosed, divided, additions);
        mixing.base = Some(base_index);
        mixing
    }

    /// A batch from its loads.
    fn batch(
        &self,
        index: usize,
        draw: Option<(FromBase, &Base)>,
        from_base: Volume,
        dosed: &[IngredientId],
        divided: Divided,
        additions: &[(IngredientId, f64)],
    ) -> BatchMixing {
        let batch = &self.batches[index];
        let count = divided.count;
        let loose = divided.each * count as f64;
        let brought = |id: IngredientId| {
            draw.map_or(0.0, |(draw, base)| {
                of_load(&base.loads.load, id) / to_litres(base.loads.load.loose) * to_litres(draw.loose)
            })
        };
        let doses: Vec<LoadDose> = batch
            .doses
            .iter()
            .filter(|dose| !dosed.contains(&dose.ingredient))
            .map(|dose| {
                // Per volume of what is really made, so that rounding never makes it stronger.
                let factor = match dose.basis {
                    Basis::Of(id) => {
                        let exact = batch.ingredients.iter().find(|part| part.ingredient == id);
                        let there = of(&divided, id) * count as f64 + brought(id);
                        exact.map_or(1.0, |part| there / to_litres(part.loose))
                    }
                    Basis::Finished | Basis::Loose => loose / to_litres(batch.chain.loose),
                };
                LoadDose { ingredient: dose.ingredient, amount: scaled(dose.amount, factor / count as f64) }
            })
            .collect();
        let made = in_litres(loose) * batch.chain.yield_.to_f64() * (1.0 - batch.chain.sieve_loss.to_f64());
        let over = (made - batch.chain.mix).max(in_litres(0.0));
        let too_coarse = divided.too_coarse;
        let ready = draw.is_some() && divided.measures.is_empty() && doses.is_empty();
        BatchMixing {
            base: None,
            from_base,
            additions: additions.iter().map(|(id, litres)| (*id, in_litres(*litres))).collect(),
            loads: (!ready).then(|| self.loads(divided, draw, &batch.ingredients_ids(), doses)),
            made,
            over,
            too_coarse,
        }
    }

    /// Loads in the order of mixing, with their water and weight.
    fn loads(
        &self,
        divided: Divided,
        draw: Option<(FromBase, &Base)>,
        ids: &[IngredientId],
        mut doses: Vec<LoadDose>,
    ) -> Loads {
        let count = divided.count as f64;
        let mut measures = divided.measures;
        measures.sort_by_key(|measure| self.catalogue.ingredient(measure.ingredient).stage(false));
        doses.sort_by_key(|dose| self.catalogue.ingredient(dose.ingredient).stage(true));
        let share = |draw: FromBase| FromBase {
            loose: draw.loose / count,
            mixed: draw.mixed / count,
            quarters: draw.quarters.filter(|_| divided.count == 1),
        };
        let from_base = draw.map(|(draw, base)| (share(draw), base));
        let brought: Vec<(IngredientId, Volume)> = from_base.map_or_else(Vec::new, |(share, base)| {
            let scale = to_litres(share.loose) / to_litres(base.loads.load.loose);
            ids.iter().map(|id| (*id, in_litres(of_load(&base.loads.load, *id) * scale))).collect()
        });
        let added = from_base.map_or(0.0, |(share, base)| {
            grams_added(&base.loads.load.moistening) * to_litres(share.loose) / to_litres(base.loads.load.loose)
        });
        let contents: Vec<(IngredientId, Volume)> = brought
            .into_iter()
            .filter(|(_, loose)| to_litres(*loose) > 0.0)
            .chain(measures.iter().map(|measure| (measure.ingredient, measure.loose)))
            .collect();
        let (moistening, wet) = match Water::of(&contents, self.catalogue) {
            Err(unknown) => (Moistening::Unknown(unknown), None),
            Ok(water) => {
                let moistening = water.moistening(added);
                let wet = water.weight(&moistening, added);
                (moistening, Some(wet))
            }
        };
        // The base was moistened, or pressed: only what is measured in may ask for more.
        let settled = draw.is_some() && matches!(moistening, Moistening::Press(_));
        let moistening = if measures.is_empty() || settled { Moistening::Nothing } else { moistening };
        let load = Load {
            from_base: from_base.map(|(share, _)| share),
            measures,
            doses,
            loose: in_litres(divided.each),
            moistening,
            wet,
        };
        Loads { count: divided.count, load }
    }
}

/// Litres of an ingredient that one load measures in.
fn of(divided: &Divided, id: IngredientId) -> f64 {
    divided.measures.iter().filter(|measure| measure.ingredient == id).map(|measure| to_litres(measure.loose)).sum()
}

fn of_load(load: &Load, id: IngredientId) -> f64 {
    load.measures.iter().filter(|measure| measure.ingredient == id).map(|measure| to_litres(measure.loose)).sum()
}

fn litres_of(ingredients: &[(IngredientId, f64)], id: IngredientId) -> f64 {
    ingredients.iter().find(|(known, _)| *known == id).map_or(f64::INFINITY, |(_, litres)| *litres)
}

fn scaled(amount: Dosed, factor: f64) -> Dosed {
    match amount {
        Dosed::Mass(mass) => Dosed::Mass(mass * factor),
        Dosed::Measure(volume, spoon) => Dosed::Measure(volume * factor, spoon),
    }
}

fn plus(a: Dosed, b: Dosed) -> Option<Dosed> {
    match (a, b) {
        (Dosed::Mass(a), Dosed::Mass(b)) => Some(Dosed::Mass(a + b)),
        (Dosed::Measure(a, spoon), Dosed::Measure(b, other)) if spoon == other => Some(Dosed::Measure(a + b, spoon)),
        _ => None,
    }
}

/// Whether two amounts are the same but for floating-point noise.
fn alike(a: Dosed, b: Dosed) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs();
    match (a, b) {
        (Dosed::Mass(a), Dosed::Mass(b)) => near(a.get::<gram>(), b.get::<gram>()),
        (Dosed::Measure(a, spoon), Dosed::Measure(b, other)) => spoon == other && near(to_litres(a), to_litres(b)),
        _ => false,
    }
}
