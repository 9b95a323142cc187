//! The mixing day: shared bases, equal loads that fit the tub, scoops and water.
//!
//! What batches of one recipe have in common is mixed once and divided where that is less
//! work than each batch alone; each batch then gets what it alone holds. Doses go into the
//! base only where every batch gets exactly its own by it, and where a batch is sieved, lime
//! alone: other doses come after the sieve.
//! What serves only some crops goes in after the others have drawn their share.

mod base;
mod loads;
mod make;
mod moisture;
mod order;
mod scoops;

pub use base::{SharedBase, largest_base};
pub use loads::{FREE_SHARE, FromBase, Load, Loads, MOST_OVER, Measure, Scoop, Vessels};
pub use moisture::{
    LIFT_KG, MIX_OF_WATER, MoistWeight, Moistening, Moisture, MoistureRange, WANTED, WANTED_OF_COIR, water_of_dry,
};
pub use scoops::{LoadShare, QUARTERS, TOLERANCE, quarter_scoops};

use super::{Batch, Half};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::WaterHeld;
use crate::units::{Quantity, Tally, Volume, to_litres};
use crate::week::RecipeId;
use make::Bench;
use moisture::Coming;
use std::collections::BTreeMap;

/// How the batches are made.
#[derive(Clone, Debug, Default)]
pub struct Mixing {
    /// The tub and the scoop at hand.
    pub vessels: Vessels,
    /// The shared bases, at most one a recipe.
    pub bases: Vec<Base>,
    /// One entry for each batch of the plan.
    pub batches: Vec<BatchMixing>,
    /// What to do in which order: whatever holds an inoculant last.
    pub order: Vec<MixRef>,
    /// The batches by their numbers: as they are made where none of their mix is at hand.
    pub numbered: Vec<usize>,
    /// The water in coir that is only wetted, by what the mixes want; `None` where there is none.
    pub wetted: Option<WaterHeld>,
    /// Dry grams in a loose litre of the coir.
    pub coir_g_per_l: f64,
}

/// What the batches of one recipe have in common.
#[derive(Clone, Debug)]
pub struct Base {
    /// The recipe.
    pub recipe: RecipeId,
    /// Its ingredients as needed, exactly.
    pub ingredients: Vec<(Handle<Ingredient>, Volume)>,
    /// Loose volume needed.
    pub loose: Volume,
    /// How it is made.
    pub loads: Loads,
    /// Loose volume made.
    pub made_loose: Volume,
    /// Mix kept after blending, by the yields of its batches.
    pub kept: f64,
    /// Who draws how much, in order; the last takes the rest.
    pub draws: Vec<Draw>,
    /// Even the finest scoop is too coarse.
    pub too_coarse: bool,
}

impl Base {
    /// The work that it makes: rows measured out in all loads, loads and draws.
    pub fn work(&self) -> u64 {
        self.loads.work() + self.draws.len() as u64
    }

    /// Blended volume made.
    pub fn made(&self) -> Volume {
        self.made_loose * self.kept
    }

    /// Whether a batch is the last to draw on it, and takes the rest.
    pub fn is_last(&self, batch: usize) -> bool {
        self.draws.last().is_some_and(|draw| draw.batch == batch)
    }
}

/// What one batch draws from a base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draw {
    /// Index of the batch.
    pub batch: usize,
    /// The volume drawn, loose and blended.
    pub amount: FromBase,
    /// Its share of the base.
    pub share: f64,
}

/// How a batch is made.
#[derive(Clone, Debug, Default)]
pub struct BatchMixing {
    /// Index of the base it draws from.
    pub base: Option<usize>,
    /// Loose volume that it holds of the base, exactly.
    pub from_base: Volume,
    /// The loose volumes that it needs in addition to the base, exactly.
    pub additions: Vec<(Handle<Ingredient>, Volume)>,
    /// What goes into the tub for it; `None` where it is ready when drawn.
    pub loads: Option<Loads>,
    /// Finished mix made.
    pub made: Volume,
    /// Made beyond the need: what the rounding to scoops adds.
    pub over: Volume,
    /// Water that goes into what is pressed into soil blocks, after the rest is drawn or filled; nothing
    /// where the loads have it.
    pub blocks_water: Volume,
    /// Even the finest scoop is too coarse.
    pub too_coarse: bool,
}

impl BatchMixing {
    /// The work that it makes, the draws from its base apart.
    pub fn work(&self) -> u64 {
        self.loads.as_ref().map_or(0, Loads::work)
    }

    /// Whether it makes so much more than needed, half a hundredth of a litre, that it shows.
    pub fn makes_more(&self) -> bool {
        to_litres(self.over) >= 0.005
    }
}

/// A mix that goes into the tub, or is ready when it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MixRef {
    /// Index of a base.
    Base(usize),
    /// Index of a batch.
    Batch(usize),
}

impl Mixing {
    /// Every mix in the order of the work, with its loads and whether even the finest scoop is too coarse for it.
    pub fn all(&self) -> impl Iterator<Item = (MixRef, Option<&Loads>, bool)> {
        self.order.iter().map(|mix| match *mix {
            MixRef::Base(index) => (*mix, Some(&self.bases[index].loads), self.bases[index].too_coarse),
            MixRef::Batch(index) => (*mix, self.batches[index].loads.as_ref(), self.batches[index].too_coarse),
        })
    }

    /// The water of a batch by weight, its coir coming as it does for the loads; `None` where it is not known, of blocks and
    /// of what is not mixed.
    pub(super) fn moisture(&self, batch: &Batch, coir: Option<WaterHeld>) -> Option<Moisture> {
        let water = Half::water(batch.half, coir).or(self.wetted).unwrap_or(WaterHeld::WETTED);
        let contents: Vec<_> = batch.ingredients.iter().map(|part| (part.ingredient.clone(), part.loose)).collect();
        let water = moisture::Water::of(&contents, Coming { water, dry_g_per_l: self.coir_g_per_l });
        water.moisture().filter(|_| batch.is_mixed() && batch.pressed < 1.0)
    }

    /// What the loads measure in of ingredients alone.
    pub fn measured_loose(&self) -> Tally<Handle<Ingredient>, Volume> {
        let measures = self.all().filter_map(|(_, loads, _)| loads).flat_map(|loads| {
            let count = loads.count as f64;
            loads.load.measures.iter().map(move |measure| (measure.ingredient.clone(), measure.loose * count))
        });
        measures.collect()
    }

    /// What the loads take altogether: ingredients, and doses by weight and by measure;
    /// the need, and what the rounding to scoops adds.
    pub fn measured(&self) -> Tally<Handle<Ingredient>, Quantity> {
        let measures = self.measured_loose().into_iter().map(|(id, loose)| (id, Quantity::Volume(loose)));
        let doses = self.all().filter_map(|(_, loads, _)| loads).flat_map(|loads| {
            let count = loads.count as f64;
            loads.load.doses.iter().map(move |dose| (dose.ingredient.clone(), dose.amount.times(count)))
        });
        measures.chain(doses).collect()
    }
}

/// Of no more batches than this every set of two and more is tried for a base.
const MOST_IN_EVERY_SET: usize = 4;

/// The sets of batches that may share a base, the smaller first: of many only all of them, and all
/// that are not sieved.
fn sets_to_share(members: &[usize], is_sieved: impl Fn(usize) -> bool) -> Vec<Vec<usize>> {
    let chosen = |is_in: &dyn Fn(usize) -> bool| -> Vec<usize> {
        members.iter().enumerate().filter(|(place, _)| is_in(*place)).map(|(_, member)| *member).collect()
    };
    let mut sets: Vec<Vec<usize>> = match members.len() {
        few @ 2..=MOST_IN_EVERY_SET => (0..1_usize << few).map(|set| chosen(&|place| set >> place & 1 == 1)).collect(),
        _ => vec![chosen(&|place| !is_sieved(members[place])), members.to_vec()],
    };
    sets.retain(|set| set.len() > 1);
    sets.sort_by_key(Vec::len);
    sets.dedup();
    sets
}

/// Works out how the batches are made, with the water of coir that is soaked and the dry grams in a loose litre of it,
/// where its package tells them.
pub(super) fn mixing(
    batches: &[Batch],
    vessels: Vessels,
    (coir, dry_g_per_l): (Option<WaterHeld>, Option<f64>),
) -> Mixing {
    let dry_g_per_l = dry_g_per_l.unwrap_or(Coming::from(WaterHeld::NONE).dry_g_per_l);
    let wetted = wetted(batches.iter().filter(|batch| Half::water(batch.half, coir).is_none()), dry_g_per_l);
    let coming = |half| {
        let water = Half::water(half, coir).or(wetted).unwrap_or(WaterHeld::WETTED);
        Bench { batches, vessels, coir: Coming { water, dry_g_per_l } }
    };
    // Soaked coir and coir that is only wetted share no base; nor do trays and blocks, where water would be taken out for
    // the ones and put back for the others; nor do raw peat that is to be limed days ahead and raw peat that is not.
    let mut groups: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    // What is at hand altogether is not mixed.
    for (index, batch) in batches.iter().enumerate().filter(|(_, batch)| batch.is_mixed()) {
        let apart = (batch.pressed > 0.0 && coming(batch.half).is_too_wet(batch)).then_some(if batch.pressed < 1.0 {
            index
        } else {
            batches.len()
        });
        groups.entry((batch.recipe, batch.half, batch.limes_raw_peat(), apart)).or_default().push(index);
    }
    let mut looked_at = 0;
    let mut bases = Vec::new();
    let mut made: Vec<Option<BatchMixing>> = vec![None; batches.len()];
    for ((recipe, half, limed, _), members) in groups {
        let bench = coming(half);
        members.iter().for_each(|index| made[*index] = Some(bench.batch(*index, None)));
        let alone = |index: &usize| made[*index].as_ref().map_or(0, BatchMixing::work);
        let mut best = None;
        let mut most_saved = 0;
        for set in sets_to_share(&members, |index| batches[index].composition.sieve.is_some()) {
            let apart: u64 = set.iter().map(alone).sum();
            // Of equals the first, which has the fewest that share.
            let saved = |work: u64| apart.checked_sub(work).filter(|saved| *saved > most_saved);
            if saved(bench.least_work(&set)).is_none() {
                continue;
            }
            // Lime is mixed into peat days ahead, so it is not turned into what is drawn from a base.
            let has_its_lime = |load: &Load| !limed || load.doses.iter().any(|dose| dose.ingredient.is(Role::Lime));
            let shared = bench.shared(recipe, &set, bases.len(), &mut looked_at);
            let Some(shared) = shared.filter(|(base, _)| has_its_lime(&base.loads.load)) else { continue };
            let work = shared.0.work() + shared.1.iter().map(|(_, batch)| batch.work()).sum::<u64>();
            if let Some(saved) = saved(work) {
                (most_saved, best) = (saved, Some(shared));
            }
        }
        if let Some((base, sharing)) = best {
            bases.push(base);
            sharing.into_iter().for_each(|(index, batch)| made[index] = Some(batch));
        }
    }
    let batches_made: Vec<BatchMixing> = made.into_iter().map(Option::unwrap_or_default).collect();
    let order = order::order(&bases, &batches_made, batches);
    let made = order.iter().filter_map(|mix| if let MixRef::Batch(index) = mix { Some(*index) } else { None });
    Mixing { vessels, bases, batches: batches_made, numbered: made.collect(), order, wetted, coir_g_per_l: dry_g_per_l }
}

/// The water that makes so much of an ingredient, as it usually comes, as moist as a mix wants it; none where that is not
/// known.
pub(super) fn water_wanted(id: &Handle<Ingredient>, loose: Volume) -> Volume {
    match moisture::Water::of(&[(id.clone(), loose)], WaterHeld::WETTED).moistening(0.0, None) {
        Moistening::Water { about, .. } => about.max(Volume::default()),
        _ => Volume::default(),
    }
}

/// The water in coir that is wetted for some batches: what the one wants that takes least, so that none
/// is too wet; by its label for blocks alone. `None` where no batch holds coir.
pub(super) fn wetted<'b>(batches: impl Iterator<Item = &'b Batch>, dry_g_per_l: f64) -> Option<WaterHeld> {
    let with_coir: Vec<_> = batches.filter(|batch| batch.composition.is_of(Role::Coir)).collect();
    let wanted = with_coir.iter().filter(|batch| batch.pressed < 1.0).filter_map(|batch| {
        let parts = batch.ingredients.iter().map(|part| (part.ingredient.clone(), part.loose));
        moisture::wanted_of_coir(&parts.collect::<Vec<_>>(), dry_g_per_l)
    });
    let least = wanted.reduce(f64::min).map_or(WaterHeld::WETTED, WaterHeld::wetted);
    (!with_coir.is_empty()).then_some(least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Plan, plan};
    use crate::source::Memory;
    use crate::units::in_litres;
    use std::path::Path;

    const LIMED: &str = "recipe: limed\nparts: {peat: 3, perlite: 1, vermiculite: 1}\n\
                         doses: {lime: {rate: 3 g/L, of: peat}, inoculant: 1 g/L}\n\
                         changes: [{for: {cell: under 15 mL}, sieve: 6 mm}, {for: basil, add: {perlite: 1}}]\n";

    const THIN: &str = "recipe: thin\nparts: {peat: 1, perlite: 1}\ndoses: {inoculant: 1 g/L}\n\
                        changes: [{for: basil, add: {perlite: 1}}]\n";

    fn planned(recipe: &str, sowings: &[(&str, &str, usize)]) -> Plan {
        let sown =
            sowings.iter().map(|(crop, tray, cells)| format!("  - {{crop: {crop}, tray: {tray}, cells: {cells}}}\n"));
        let text =
            format!("week: one\nrecipe: {recipe}\ntub: 60 L\nscoop: 2 L\nsowings:\n{}", sown.collect::<String>());
        let files = Memory::default().with("week.yaml", text).with("limed.yaml", LIMED).with("thin.yaml", THIN);
        plan(&crate::week::load(Path::new("week.yaml"), &files, &[]).unwrap()).unwrap()
    }

    /// Work as it stands on the sheet: rows of all loads, loads, draws.
    fn work_of(mixing: &Mixing) -> u64 {
        let loads = mixing.all().filter_map(|(_, loads, _)| loads);
        let rows = loads.map(|loads| loads.count * (loads.load.measures.len() + loads.load.doses.len() + 1) as u64);
        rows.sum::<u64>() + mixing.bases.iter().map(|base| base.draws.len() as u64).sum::<u64>()
    }

    #[test]
    fn what_is_shared_makes_the_least_work() {
        let trays = ["72-cell", "200-cell", "50-cell"];
        let crops = ["kale", "tomato", "begonia", "lavender", "basil", "leek"];
        for seed in 0..60_usize {
            let sowing = |i: usize| {
                (crops[(seed + i * (seed % 5 + 1)) % 6], trays[(seed / 3 + i) % 3], 20 + (seed * 37 + i * 211) % 900)
            };
            let sowings: Vec<_> = (0..2 + seed % 4).map(sowing).collect();
            let plan = planned(["everyday", "limed", "rich"][seed % 3], &sowings);
            let batches = &plan.mixes.batches;
            let (vessels, coir) = (plan.mixes.mixing.vessels, WaterHeld::WETTED);
            let bench = Bench { batches, vessels, coir: coir.into() };
            let alone: Vec<u64> = (0..batches.len()).map(|index| bench.batch(index, None).work()).collect();
            let with = |set: &[usize]| {
                let (base, made) = bench.shared(RecipeId(0), set, 0, &mut 0)?;
                let work = base.work() + made.iter().map(|(_, batch)| batch.work()).sum::<u64>();
                assert!(bench.least_work(set) <= work, "{sowings:?}");
                let rest = (0..batches.len()).filter(|index| !set.contains(index)).map(|index| alone[index]);
                Some(work + rest.sum::<u64>())
            };
            let sets = (0..1_usize << batches.len())
                .map(|set| (0..batches.len()).filter(|index| set >> index & 1 == 1).collect::<Vec<_>>());
            let least = sets.filter_map(|set| with(&set)).chain([alone.iter().sum()]).min();
            let got = work_of(&plan.mixes.mixing);
            assert!(batches.len() > MOST_IN_EVERY_SET || Some(got) == least, "{sowings:?}: {got} {least:?}");
            assert!(got <= alone.iter().sum(), "{sowings:?}");
        }
    }

    // One part of water to three of mix in all (common practice): what is drawn or filled as for trays has
    // some of it already.
    #[test]
    fn blocks_get_their_water_beside_trays_and_from_a_base() {
        let added = |loads: &Loads| moisture::grams_added(&loads.load.moistening) / 1000.0 * loads.count as f64;
        let plan = planned("everyday", &[("kale", "72-cell", 144), ("kale", "5 cm block", 100)]);
        let (batch, made) = (&plan.mixes.batches[0], &plan.mixes.mixing.batches[0]);
        // 100 blocks of 125 mL that take 2.5 times as much, beside 144 cells of 50 mL and what settles.
        let blocks = 31.25 / (31.25 + 7.2 * 1.15);
        assert!((batch.pressed - blocks).abs() < 1e-9, "{}", batch.pressed);
        let more = to_litres(made.made) / moisture::MIX_OF_WATER - added(made.loads.as_ref().unwrap());
        assert!((to_litres(made.blocks_water) - blocks * more).abs() < 1e-9 && more > 1.0);

        let plan = planned("everyday", &[("tomato", "72-cell", 144), ("kale", "5 cm block", 150)]);
        let (base, made) = (&plan.mixes.mixing.bases[0], &plan.mixes.mixing.batches);
        assert!(made[0].loads.is_none());
        let share = base.draws.iter().find(|draw| draw.batch == 0).unwrap().share;
        let more = to_litres(made[0].made) / moisture::MIX_OF_WATER - share * added(&base.loads);
        assert!((to_litres(made[0].blocks_water) - more).abs() < 1e-9 && more > 1.0);
        assert!(to_litres(made[1].blocks_water).abs() < 1e-12);

        // A mix too heavy for a figure of its water has one for its blocks.
        let heavy = planned("soil blocks", &[("kale", "72-cell", 144), ("kale", "5 cm block", 100)]).mixes;
        let (batch, made) = (&heavy.batches[0], &heavy.mixing.batches[0]);
        assert_eq!(made.loads.as_ref().unwrap().load.moistening, Moistening::ByHand);
        let all = to_litres(made.made) / moisture::MIX_OF_WATER;
        assert!((to_litres(made.blocks_water) - batch.pressed * all).abs() < 1e-9 && batch.pressed < 1.0);

        // Blocks alone have it in their load.
        let made = &planned("everyday", &[("kale", "5 cm block", 100)]).mixes.mixing.batches[0];
        let water = added(made.loads.as_ref().unwrap());
        assert!((water - to_litres(made.made) / moisture::MIX_OF_WATER).abs() < 1e-9);
        assert!(to_litres(made.blocks_water).abs() < 1e-12);
    }

    // Of drained coir, 7 kg of water to a kg, trays want less and blocks a third of their mix: what is dried for trays is not
    // put back for blocks, and in all each has what it wants.
    #[test]
    fn no_water_is_taken_out_and_put_back() {
        let sowings = "[{crop: lettuce, trays: 2, tray: 72-cell}, {crop: tomato, trays: 1, tray: 5 cm block}, \
                       {crop: kale, trays: 1, tray: 5 cm block}, {crop: broccoli, trays: 3, tray: 72-cell}]";
        for recipe in ["everyday", "four"] {
            let week = format!("week: w\nrecipe: {recipe}\nuse: coir\nsoak: {{sold_as: washed}}\nsowings: {sowings}\n");
            let four = "recipe: four\nparts: {peat or coir: 4, perlite: 1}\n";
            let files = Memory::default().with("week.yaml", week).with("four.yaml", four);
            let mixes = plan(&crate::week::load(Path::new("week.yaml"), &files, &[]).unwrap()).unwrap().mixes;
            assert!(mixes.mixing.bases.is_empty() && !mixes.batches.is_empty());
            for (batch, made) in mixes.batches.iter().zip(&mixes.mixing.batches) {
                let loads = made.loads.as_ref().unwrap();
                let Moistening::Water { about, of, .. } = loads.load.moistening else { panic!() };
                assert!((of - (1.0 - batch.pressed)).abs() < 1e-9 && about < in_litres(0.0) && batch.pressed > 0.0);
                let parts = |measure: &Measure| (measure.ingredient.clone(), measure.loose);
                let contents: Vec<_> = loads.load.measures.iter().map(parts).collect();
                // By the brick of 650 g that gives 8.5 L.
                let dry_g_per_l = 650.0 * 0.85 / 8.5;
                let drained = Coming { water: crate::coir::SoldAs::Washed.coir().unwrap().drained(), dry_g_per_l };
                let whole = moisture::Water::of(&contents, drained).moistening(0.0, None);
                let Moistening::Water { about: whole, .. } = whole else { panic!() };
                assert!((to_litres(about) / to_litres(whole) - of).abs() < 1e-9);
                let coir = contents.iter().find(|(id, _)| id.is(Role::Coir)).unwrap().1;
                let holds = to_litres(coir) * dry_g_per_l / 1000.0 * 7.0;
                let blocks = (to_litres(made.made) / moisture::MIX_OF_WATER - holds).max(0.0) * batch.pressed;
                assert!((to_litres(made.blocks_water) - blocks).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn nothing_is_shared_where_each_alone_is_as_little_work() {
        // Three parts and lime, the second with inoculant: 5 + 6 alone; with a base 5, 2 draws and 2.
        let shared = planned("limed", &[("kale", "72-cell", 72), ("tomato", "72-cell", 72)]).mixes.mixing;
        assert_eq!((shared.bases.len(), work_of(&shared)), (1, 9));
        // Two parts, the second with inoculant and more perlite: 3 + 4 alone; with a base 3, 2 draws and 3.
        let alone = planned("thin", &[("kale", "72-cell", 72), ("basil", "72-cell", 72)]).mixes.mixing;
        assert_eq!((alone.bases.len(), work_of(&alone)), (0, 7));
    }

    #[test]
    fn lime_is_weighed_once_though_a_batch_is_sieved() {
        let plan =
            planned("limed", &[("kale", "72-cell", 432), ("tomato", "72-cell", 216), ("tomato", "200-cell", 400)]);
        let [base] = &plan.mixes.mixing.bases[..] else { panic!("{}", plan.mixes.mixing.bases.len()) };
        assert_eq!((base.draws.len(), plan.mixes.batches.len()), (3, 3));
        let loads = plan.mixes.mixing.all().filter_map(|(_, loads, _)| loads);
        let limed = loads.filter(|loads| loads.load.doses.iter().any(|dose| dose.ingredient.name == "lime"));
        assert_eq!(limed.count(), 1);
        let grams = base.loads.load.doses[0].amount.grams().unwrap();
        let peat = base.loads.load.measures.iter().find(|measure| measure.ingredient.name == "peat").unwrap();
        assert!((grams - 3.0 * to_litres(peat.loose)).abs() < 1e-9);
    }
}
