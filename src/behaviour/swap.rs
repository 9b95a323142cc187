//! What may take the place of a part of a mix, so that it behaves in the cell as before.

use super::acidity::{MUCH_ACID, WANTED_PH};
use super::blend::{Parts, Pores, dry_density, share_of, sum};
use super::packing::Kept;
use crate::catalogue::{Feeds, Frustum, Handle, Ingredient, Role, UsedAs};
use crate::exact::Fraction;
use crate::recipe::Composition;

/// Castings and compost above this share of the loose volume can harm seed: a trial, and what two of three composts brought
/// in salts (read).
pub const MOST_RICH: f64 = 0.2;
/// Above this share it should not be sown into untested.
pub const VERY_RICH: f64 = 1.0 / 3.0;

/// Mixes that are tried, as many as take half a second.
const MOST_TRIED: u64 = 20_000;
/// Of more candidates those that come nearest alone are tried in pairs.
const MOST_PAIRED: usize = 64;

/// Something that may be taken.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// What.
    pub ingredient: Handle<Ingredient>,
    /// The most parts of the mix that there may be of it, where what is at hand sets a limit.
    pub most: Option<f64>,
}

/// What takes the place of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Swap {
    /// One or two ingredients and their parts, which sum to those that are missing.
    pub takes: Vec<(Handle<Ingredient>, Fraction)>,
    /// How far the mix is from what it was, as [`swaps`] says.
    pub distance: f64,
    /// There was no food in the mix, and this brings some.
    pub brings_food: bool,
}

/// Whether `swap` takes an ingredient: no dose, nothing that serves only some crops, no raw soil or fresh bark, no bagged
/// mix, which brings lime and food of its own.
pub fn may_take_part(ingredient: &Ingredient) -> bool {
    let is_part = ingredient.serves.is_none() && ingredient.kind != Some(UsedAs::Dose);
    is_part && !ingredient.raw && ingredient.feeds != Feeds::Starter
}

/// The figures by which an ingredient behaves that are not known of it, by their keys.
pub fn lacking(ingredient: &Ingredient) -> Vec<&'static str> {
    let of = &ingredient.physical;
    let figures = [("dry_density", of.dry_g_per_l), ("porosity", of.porosity), ("water_held", of.water_held)];
    figures.into_iter().filter(|(_, figure)| figure.is_none()).map(|(key, _)| key).collect()
}

/// For each candidate, and each two of them, the parts in place of an ingredient of the mix with which it stays nearest to
/// what it was, the nearest first, but last what brings food into a mix without; none where a figure of the mix is not known.
///
/// The other parts and the yield stay. Two share the missing parts in quarters of a part; where these are no whole quarters,
/// or more than can be tried, in the largest number of equal shares that can, at least four. No castings or compost are taken
/// beyond [`MOST_RICH`].
///
/// The distance is the root of the sum of squares of these differences of the usual figures, each over what is felt at the
/// bench (a judgement): dry density 100 g/L, a tenth of the weight of a watered tray; pores, and water and air in the
/// drained cell, 5 % of the volume, as wide as the bands of a verdict; the mean pH of the parts by their shares 0.5, where
/// it is known of all, of raw peat that is limed what seed wants.
pub fn swaps(
    (mix, kept): (&Composition, Kept),
    without: &Handle<Ingredient>,
    candidates: &[Candidate],
    cell: &Frustum,
) -> Vec<Swap> {
    let parts: Vec<_> = mix.parts.iter().map(|(id, parts)| (&**id, parts.to_f64())).collect();
    let missing = mix.parts.iter().find(|(id, _)| id == without).map(|(_, parts)| *parts);
    let limed = mix.doses.iter().any(|dose| dose.ingredient.is(Role::Lime));
    let Some((missing, before)) = missing.zip(Figures::of(&parts, kept.of(&parts), cell, limed)) else {
        return Vec::new();
    };
    let rest = parts.into_iter().filter(|(id, _)| id.name != without.name).collect();
    let fed = mix.feeding().next().is_some();
    let search = Search { rest, kept, cell, before, limed, fed };
    let mut candidates: Vec<&Candidate> =
        candidates.iter().filter(|one| one.ingredient != *without && may_take_part(&one.ingredient)).collect();
    candidates.sort_by(|one, other| one.ingredient.name.cmp(&other.ingredient.name));
    candidates.dedup_by(|one, other| one.ingredient == other.ingredient);
    // Alone it may be too much of one, which two can share.
    let alone = |one: &&Candidate| search.distance(&[(one, missing)]);
    if candidates.len() > MOST_PAIRED {
        candidates.sort_by_cached_key(|one| alone(one).map_or(u64::MAX, f64::to_bits));
        candidates.truncate(MOST_PAIRED);
    }
    let count = candidates.len() as u64;
    let shares = shares_of(missing, (2 * MOST_TRIED / (count * count).max(1)).max(4));
    let mut swaps: Vec<Swap> = candidates.iter().filter_map(|one| search.swap(&[(one, missing)])).collect();
    for (at, one) in candidates.iter().enumerate() {
        for other in &candidates[at + 1..] {
            let shared =
                shares.iter().filter_map(|share| search.swap(&[(one, *share), (other, missing.minus(*share)?)]));
            swaps.extend(shared.min_by(|one, other| one.distance.total_cmp(&other.distance)));
        }
    }
    // Of equals the one with fewer, then by name.
    swaps.sort_by(|one, other| {
        let nearer = one.distance.total_cmp(&other.distance).then(one.takes.len().cmp(&other.takes.len()));
        one.brings_food.cmp(&other.brings_food).then(nearer)
    });
    swaps
}

/// What the first of two may take of the missing parts.
fn shares_of(missing: Fraction, most: u64) -> Vec<Fraction> {
    let quarters = missing.times(Fraction::whole(4)).and_then(Fraction::to_u64);
    let shares = match quarters {
        Some(quarters) if quarters <= most => quarters,
        Some(quarters) => (4..=most).rev().find(|shares| quarters % shares == 0).unwrap_or(4),
        None => 4,
    };
    (1..shares).filter_map(|share| missing.times(Fraction::whole(share).over(Fraction::whole(shares))?)).collect()
}

/// What the mixes that are tried have in common.
struct Search<'s> {
    rest: Vec<(&'s Ingredient, f64)>,
    kept: Kept,
    cell: &'s Frustum,
    before: Figures,
    limed: bool,
    fed: bool,
}

impl Search<'_> {
    fn swap(&self, takes: &[(&Candidate, Fraction)]) -> Option<Swap> {
        let distance = self.distance(takes)?;
        let brings_food = !self.fed && takes.iter().any(|(one, _)| one.ingredient.feeds != Feeds::No);
        let takes = takes.iter().map(|(one, parts)| (one.ingredient.clone(), *parts)).collect();
        Some(Swap { takes, distance, brings_food })
    }

    /// How far the mix is off with some in place of what is missing; `None` where it must not be or there is too little.
    fn distance(&self, takes: &[(&Candidate, Fraction)]) -> Option<f64> {
        let new = takes.iter().map(|(one, parts)| (&*one.ingredient, parts.to_f64()));
        let parts: Vec<_> = self.rest.iter().copied().chain(new).collect();
        let all_of =
            |id: &Ingredient| parts.iter().filter(|(one, _)| one.name == id.name).map(|(_, of)| of).sum::<f64>();
        let is_enough =
            takes.iter().all(|(one, _)| one.most.is_none_or(|most| all_of(&one.ingredient) <= most * (1.0 + 1e-9)));
        let takes_rich = takes.iter().any(|(one, _)| one.ingredient.rich);
        let is_too_rich = takes_rich && share_of(&parts, |one| one.rich) > MOST_RICH + 1e-9;
        let figures =
            Figures::of(&parts, self.kept.of(&parts), self.cell, self.limed).filter(|_| is_enough && !is_too_rich)?;
        Some(figures.distance(&self.before))
    }
}

/// What is compared: dry g/L, pores, water and air of the drained cell, mean pH.
struct Figures([Option<f64>; 5]);

impl Figures {
    fn of(parts: &Parts<'_>, kept: f64, cell: &Frustum, limed: bool) -> Option<Self> {
        let ([_, dry, _], pores) = (dry_density(parts, kept).ok()?, Pores::of(parts, kept).ok()?);
        let air = pores.air_in([cell]).pop()?;
        let ph_of = |of: &Ingredient| {
            let limed = limed && of.is_raw_peat();
            if limed { Some((WANTED_PH[0], WANTED_PH[1])) } else { of.physical.ph }
        };
        let ph = sum(parts, 1.0, |of| ph_of(of).map(|(least, most)| [f64::midpoint(least, most); 3]));
        let [_, porosity, _] = pores.porosity;
        Some(Self([Some(dry), Some(porosity), Some(porosity - air), Some(air), ph.ok().map(|[_, mean, _]| mean)]))
    }

    fn distance(&self, other: &Self) -> f64 {
        const FELT: [f64; 5] = [100.0, 0.05, 0.05, 0.05, 0.5];
        let off = self.0.iter().zip(&other.0).zip(FELT);
        off.filter_map(|((one, other), felt)| Some(((*one)? - (*other)?) / felt))
            .map(|off| off * off)
            .sum::<f64>()
            .sqrt()
    }
}

/// What of an unlimed mix is as acid as raw peat, where that is enough to make it acid.
pub fn wants_lime(mix: &Composition) -> Vec<&Handle<Ingredient>> {
    let is_limed = mix.doses.iter().any(|dose| dose.ingredient.is(Role::Lime));
    let is_acid = !is_limed && mix.share_of(Ingredient::is_acid) > MUCH_ACID;
    mix.parts.iter().map(|(id, _)| id).filter(|id| is_acid && id.is_acid()).collect()
}
