//! How the batches are made: what goes into each base and each load.

use super::base::{SharedBase, largest_base_counting};
use super::loads::{Divided, FromBase, Load, Loads, MOST_OVER, UndividedMix, Vessels, litres_of};
use super::moisture::{Coming, Moistening, Water, grams_added};
use super::scoops::LoadShare;
use super::{Base, BatchMixing, Draw};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::plan::{Batch, DoseAmount, PartAmount};
use crate::recipe::Basis;
use crate::units::{Quantity, Sum, Volume, in_litres, to_litres};
use crate::week::RecipeId;

fn held(batch: &Batch) -> Vec<(Handle<Ingredient>, f64)> {
    batch.ingredients.iter().map(|part| (part.ingredient.clone(), to_litres(part.loose))).collect()
}

/// The batches, and what they are mixed with.
pub(super) struct Bench<'p> {
    pub(super) batches: &'p [Batch],
    pub(super) vessels: Vessels,
    /// The coir as it comes to the tub.
    pub(super) coir: Coming,
}

/// What a batch has of a base that it shares with others.
pub(super) struct Sharing<'b> {
    /// The base, with its index.
    base: (usize, &'b Base),
    /// Loose litres that the batch holds of the base, exactly.
    taken: f64,
    /// What it needs in addition to the base, in loose litres, exactly.
    additions: &'b [(Handle<Ingredient>, f64)],
    /// What it draws.
    drawn: FromBase,
}

/// What is pressed into soil blocks.
#[derive(Clone, Copy, Debug)]
struct Pressed {
    /// As a share of the mix.
    share: f64,
    /// Mix kept after blending.
    kept: f64,
    /// Its water is no part of the load: the rest is filled first, or all is ready when drawn.
    apart: bool,
}

impl Sharing<'_> {
    /// Its share of one load of the base.
    fn of_load(&self) -> f64 {
        to_litres(self.drawn.loose) / to_litres(self.base.1.loads.load.loose)
    }

    /// Whether the dose of an ingredient is in the base.
    fn is_dosed(&self, id: &Handle<Ingredient>) -> bool {
        self.base.1.loads.load.doses.iter().any(|dose| dose.ingredient == *id)
    }

    /// Litres of an ingredient that come with it.
    fn brings(&self, id: &Handle<Ingredient>) -> f64 {
        litres_of(&self.base.1.loads.load.measures, id) * self.of_load()
    }
}

impl Bench<'_> {
    /// Whether a batch brings more water than trays want.
    pub(super) fn is_too_wet(&self, batch: &Batch) -> bool {
        let parts = batch.ingredients.iter().map(|part| (part.ingredient.clone(), part.loose));
        let moistening = Water::of(&parts.collect::<Vec<_>>(), self.coir).moistening(0.0, None);
        matches!(moistening, Moistening::Water { about, .. } if about < in_litres(0.0))
    }

    /// The base that some batches of a recipe share, to be that of an index, and how each of them is
    /// made with it; `None` where they have nothing in common. The bounds that are compared to find
    /// it are added to `looked_at`.
    pub(super) fn shared(
        &self,
        recipe: RecipeId,
        members: &[usize],
        index: usize,
        looked_at: &mut usize,
    ) -> Option<(Base, Vec<(usize, BatchMixing)>)> {
        let (shared, base) = self.base(recipe, members, looked_at)?;
        let batches = base.draws.iter().map(|draw| {
            let place = members.partition_point(|member| *member < draw.batch);
            let (taken, additions) = (shared.taken[place], &shared.additions[place]);
            let sharing = Sharing { base: (index, &base), taken, additions, drawn: draw.amount };
            (draw.batch, self.batch(draw.batch, Some(&sharing)))
        });
        let batches = batches.collect();
        Some((base, batches))
    }

    /// No base of some batches makes less work than this: what all of them hold is measured once,
    /// the rest and what serves some crops for each.
    pub(super) fn least_work(&self, members: &[usize]) -> u64 {
        let batches = || members.iter().map(|index| &self.batches[*index]);
        let holds =
            |batch: &Batch, id: &Handle<Ingredient>| batch.ingredients.iter().any(|part| part.ingredient == *id);
        let is_common = |part: &&PartAmount| batches().all(|batch| holds(batch, &part.ingredient));
        let common = batches().take(1).flat_map(|batch| &batch.ingredients).filter(is_common).count();
        let own = batches().map(|batch| {
            let late = batch.doses.iter().filter(|dose| dose.ingredient.serves.is_some()).count();
            let rows = batch.ingredients.len() - common + late;
            rows + usize::from(rows > 0)
        });
        (1 + common + members.len() + own.sum::<usize>()) as u64
    }

    fn base(
        &self,
        recipe: RecipeId,
        members: &[usize],
        looked_at: &mut usize,
    ) -> Option<(SharedBase<Handle<Ingredient>>, Base)> {
        let held: Vec<_> = members.iter().map(|index| held(&self.batches[*index])).collect();
        let shared = largest_base_counting(&held, looked_at)?;
        let taken: f64 = shared.taken.iter().sum();
        let yields =
            members.iter().zip(&shared.taken).map(|(index, l)| l * self.batches[*index].volumes.yield_.to_f64());
        let kept = yields.sum::<f64>() / taken;
        let order = Self::drawing_order(members, &shared.taken);
        let ((last, last_litres), others) = order.split_last()?;
        let drawn = others.iter().map(|(batch, litres)| {
            let place = members.partition_point(|member| member < batch);
            self.draw(*batch, (*litres, kept), &shared, &shared.additions[place])
        });
        let drawn: Vec<FromBase> = drawn.collect();
        let before: f64 = drawn.iter().map(|drawn| to_litres(drawn.loose)).sum();
        let wanted = shared.ingredients.iter().map(|(id, litres)| (id.clone(), LoadShare::of_share(litres / taken)));
        // What is measured in afterwards is off as well: half the tolerance for each.
        let whole = shared.additions.iter().all(Vec::is_empty);
        let tolerance = self.vessels.tolerance / if whole { 1.0 } else { 2.0 };
        // What is too much comes to the last.
        let (need, most_over) = (before + last_litres, MOST_OVER * last_litres);
        let mix = UndividedMix { wanted: wanted.collect(), need, most_over, tolerance };
        let divided = mix.divide(&self.vessels);
        let made = divided.made();
        let rest = FromBase::exactly(made - before, kept);
        let draws = others.iter().zip(drawn).map(|((batch, _), amount)| (*batch, amount));
        let draw = |(batch, amount): (usize, FromBase)| Draw { batch, amount, share: to_litres(amount.loose) / made };
        let in_base = self.doses_of_base(members, &shared.taken);
        let doses = in_base.iter().map(|(dose, total)| {
            let factor = match &dose.basis {
                Basis::Of(id) => {
                    let shared = shared.ingredients.iter().find(|(known, _)| known == id);
                    let litres = litres_of(&divided.measures, id) * divided.count as f64;
                    litres / shared.map_or(f64::INFINITY, |(_, litres)| *litres)
                }
                Basis::Finished | Basis::Loose => made / taken,
            };
            DoseAmount { amount: total.times(factor / divided.count as f64), ..(*dose).clone() }
        });
        let doses = doses.collect();
        let are_blocks = members.iter().all(|index| self.batches[*index].pressed >= 1.0);
        let base = Base {
            recipe,
            ingredients: shared.ingredients.iter().map(|(id, litres)| (id.clone(), in_litres(*litres))).collect(),
            loose: in_litres(taken),
            made_loose: in_litres(made),
            kept,
            draws: draws.chain([(*last, rest)]).map(draw).collect(),
            too_coarse: divided.too_coarse,
            loads: self.loads(divided, None, doses, Pressed { share: 1.0, kept, apart: !are_blocks }).0,
        };
        Some((shared, base))
    }

    /// Who draws on a base, in order, and how much. The largest last: it takes what is left, and a guess of the
    /// yield that is off by a few litres matters least to it.
    fn drawing_order(members: &[usize], taken: &[f64]) -> Vec<(usize, f64)> {
        let mut order: Vec<(usize, f64)> = members.iter().copied().zip(taken.iter().copied()).collect();
        let largest = order.iter().rev().max_by(|(_, one), (_, other)| one.total_cmp(other)).map(|(batch, _)| *batch);
        order.sort_by_key(|(batch, _)| Some(*batch) == largest);
        order
    }

    /// So many loose litres of a base, of which a share is kept, for a batch: by the coarsest scoop
    /// by which what the batch adds comes out right too.
    fn draw(
        &self,
        index: usize,
        (litres, kept): (f64, f64),
        shared: &SharedBase<Handle<Ingredient>>,
        additions: &[(Handle<Ingredient>, f64)],
    ) -> FromBase {
        let taken: f64 = shared.taken.iter().sum();
        let room = self.vessels.room().map(to_litres);
        let drawn = self.vessels.scoops().find_map(|scoop| {
            let drawn = FromBase::by_scoop(litres, kept, scoop)?;
            let brings = |id: &Handle<Ingredient>| {
                let of_base = shared.ingredients.iter().find(|(known, _)| known == id);
                of_base.map_or(0.0, |(_, litres)| litres / taken * to_litres(drawn.loose))
            };
            self.undivided(index, Some(additions), brings).by_scoop(room, scoop).map(|_| drawn)
        });
        drawn.unwrap_or_else(|| FromBase::exactly(litres, kept))
    }

    /// A batch before it is divided, with what a base brings of each ingredient.
    fn undivided(
        &self,
        index: usize,
        additions: Option<&[(Handle<Ingredient>, f64)]>,
        brings: impl Fn(&Handle<Ingredient>) -> f64,
    ) -> UndividedMix {
        let need = to_litres(self.batches[index].volumes.loose);
        let wanted = held(&self.batches[index]).into_iter().map(|(id, litres)| {
            let measured = additions.is_none_or(|additions| additions.iter().any(|(added, _)| *added == id));
            let given = brings(&id);
            (id, LoadShare { share: litres / need, given, measured })
        });
        UndividedMix { wanted: wanted.collect(), need, most_over: MOST_OVER * need, tolerance: self.vessels.tolerance }
    }

    /// The doses that every batch gets exactly by its share of the base, with their sums. Before
    /// a sieve goes only the lime of an ingredient: as a powder it passes, in the same proportion
    /// as what it is for.
    fn doses_of_base(&self, members: &[usize], taken: &[f64]) -> Vec<(&DoseAmount, Quantity)> {
        let batches = || members.iter().map(|index| &self.batches[*index]);
        let is_sieved = batches().any(|batch| batch.composition.sieve.is_some());
        let passes =
            |dose: &&DoseAmount| !is_sieved || dose.ingredient.is(Role::Lime) && matches!(dose.basis, Basis::Of(_));
        let sum = |dose: &DoseAmount| {
            let mut total = dose.amount.times(0.0);
            for (batch, taken_here) in batches().zip(taken) {
                let mut same = batch.doses.iter().filter(|other| other.ingredient == dose.ingredient);
                let (Some(here), None) = (same.next(), same.next()) else { return None };
                let exact = dose.amount.times(taken_here / taken[0]);
                let is_exact = here.amount.is_like(exact)
                    && (here.amount.size() - exact.size()).abs() <= 1e-9 * exact.size().abs();
                if here.basis != dose.basis || !is_exact {
                    return None;
                }
                total = total.plus(here.amount)?;
            }
            Some(total)
        };
        let for_all = self.batches[members[0]].doses.iter().filter(|dose| dose.ingredient.serves.is_none());
        for_all.filter(passes).filter_map(|dose| sum(dose).map(|total| (dose, total))).collect()
    }

    /// How a batch is made, with what it shares or alone.
    pub(super) fn batch(&self, index: usize, sharing: Option<&Sharing<'_>>) -> BatchMixing {
        let batch = &self.batches[index];
        let total = to_litres(batch.volumes.loose);
        let additions = sharing.map(|sharing| sharing.additions);
        let brings = |id: &Handle<Ingredient>| sharing.map_or(0.0, |sharing| sharing.brings(id));
        // What is drawn and what is added are measured alike.
        let scoop = sharing.and_then(|sharing| sharing.drawn.scoop).or(self.vessels.scoop);
        let divided = self.undivided(index, additions, brings).divide(&Vessels { scoop, ..self.vessels });
        let count = divided.count as f64;
        let in_base = |dose: &&DoseAmount| sharing.is_some_and(|sharing| sharing.is_dosed(&dose.ingredient));
        let doses = batch.doses.iter().filter(|dose| !in_base(dose)).map(|dose| {
            // Per volume of what is really made, so that rounding never makes it stronger.
            let factor = match &dose.basis {
                Basis::Of(id) => {
                    let exact = batch.ingredients.iter().find(|part| part.ingredient == *id);
                    let there = litres_of(&divided.measures, id) * count + brings(id);
                    exact.map_or(1.0, |part| there / to_litres(part.loose))
                }
                Basis::Finished | Basis::Loose => divided.made() / total,
            };
            DoseAmount { amount: dose.amount.times(factor / count), ..dose.clone() }
        });
        let doses: Vec<DoseAmount> = doses.collect();
        let blended = in_litres(divided.made()) * batch.volumes.yield_.to_f64();
        let made = blended * (1.0 - batch.volumes.sieve_loss.to_f64());
        let is_ready = sharing.is_some() && divided.measures.is_empty() && doses.is_empty();
        let addition = |(id, litres): &(Handle<Ingredient>, f64)| (id.clone(), in_litres(*litres));
        let too_coarse = divided.too_coarse;
        let kept = batch.volumes.yield_.to_f64();
        let pressed = Pressed { share: batch.pressed, kept, apart: is_ready || batch.pressed < 1.0 };
        let (loads, blocks_water) = self.loads(divided, sharing.map(|sharing| (sharing, batch)), doses, pressed);
        BatchMixing {
            base: sharing.map(|sharing| sharing.base.0),
            from_base: in_litres(sharing.map_or(0.0, |sharing| sharing.taken)),
            additions: additions.unwrap_or_default().iter().map(addition).collect(),
            made,
            over: (made - batch.volumes.to_make()).max(in_litres(0.0)),
            too_coarse,
            blocks_water,
            loads: (!is_ready).then_some(loads),
        }
    }

    /// Loads in the order of mixing, with their water and weight, of a base or of a batch
    /// that shares nothing, or of what a batch adds to the base that it shares; and the water of what is
    /// pressed apart, of all of them.
    fn loads(
        &self,
        divided: Divided,
        sharing: Option<(&Sharing<'_>, &Batch)>,
        mut doses: Vec<DoseAmount>,
        pressed: Pressed,
    ) -> (Loads, Volume) {
        let count = divided.count as f64;
        let mut measures = divided.measures;
        measures.sort_by_key(|measure| measure.ingredient.stage(false));
        doses.sort_by_key(|dose| dose.ingredient.stage(true));
        let brought = sharing.iter().flat_map(|(sharing, batch)| {
            let brought = |id: &Handle<Ingredient>| (id.clone(), in_litres(sharing.brings(id) / count));
            batch.ingredients.iter().map(move |part| brought(&part.ingredient))
        });
        let measured = measures.iter().map(|measure| (measure.ingredient.clone(), measure.loose));
        let contents: Vec<(Handle<Ingredient>, Volume)> =
            brought.filter(|(_, loose)| to_litres(*loose) > 0.0).chain(measured).collect();
        let added = sharing
            .map_or(0.0, |(sharing, _)| grams_added(&sharing.base.1.loads.load.moistening) * sharing.of_load() / count);
        let water = Water::of(&contents, self.coir);
        let mix = pressed.kept * divided.each;
        let moistening = water.moistening(added, (!pressed.apart).then_some(mix));
        let wet = water.weight(&moistening, added);
        let moistening = if pressed.apart { moistening.of_trays(1.0 - pressed.share) } else { moistening };
        // A base alone was moistened, or pressed, before.
        let moistening = if measures.is_empty() && pressed.apart { Moistening::Nothing } else { moistening };
        // What is dried for trays is no water of what is pressed.
        let before = if moistening.is_of_trays_alone() { 0.0 } else { grams_added(&moistening) };
        let blocks = pressed.apart.then(|| water.moistening(added + before, Some(mix)));
        let blocks_water = blocks.map_or(0.0, |more| grams_added(&more) / 1000.0 * pressed.share * count);
        let from_base = sharing.map(|(Sharing { drawn, .. }, _)| FromBase {
            loose: drawn.loose / count,
            mixed: drawn.mixed / count,
            quarters: drawn.quarters.filter(|_| divided.count == 1),
            scoop: drawn.scoop,
        });
        let (loose, scoop) = (in_litres(divided.each), divided.scoop);
        let load = Load { loose, from_base, measures, scoop, doses, moistening, wet };
        (Loads { count: divided.count, load }, in_litres(blocks_water))
    }
}
