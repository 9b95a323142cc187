//! How far what is at hand goes: trays from a recipe, or a week's batches.

use super::demand::Demand;
use super::mixes::Scooped;
use super::{Mixes, Need, needs};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::diagnostic::Rejected;
use crate::recipe::Part;
use crate::stock::{Balance, Shed, Use, UsedFor, counted};
use crate::units::{Quantity, fits, in_litres, serial};
use crate::week::Loaded;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use std::cmp::Reverse;
use std::collections::HashSet;

/// The most combinations of choices that are tried.
const MOST_TRIED: usize = 256;

/// Beyond this floats no longer tell one tray from the next.
const MOST_COUNTED: u64 = 1 << 53;

/// The most trays that what is at hand fills.
#[derive(Clone, Debug, PartialEq)]
pub struct Filling {
    /// Trays, rounded down.
    pub trays: u64,
    /// Each ingredient of the mix.
    pub lines: Vec<FillLine>,
}

/// One ingredient of a tray's mix.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FillLine {
    /// The ingredient that the mix takes.
    pub ingredient: Handle<Ingredient>,
    /// What one tray takes.
    #[serde(flatten, serialize_with = "serial::per_tray")]
    pub each: Quantity,
    /// What is at hand; `None` for a dose that nothing was said of, which is not counted.
    #[serde(flatten, serialize_with = "counted_and_have")]
    pub have: Option<Quantity>,
    /// The trays it would be enough for.
    #[serde(rename = "enough_for")]
    pub fills: Option<u64>,
    /// What is left once the trays are filled.
    #[serde(flatten, serialize_with = "serial::left")]
    pub left: Option<Quantity>,
    /// What one tray more would lack of it.
    #[serde(flatten, serialize_with = "serial::one_more_lacks")]
    pub one_more_lacks: Option<Quantity>,
    /// There is some that is counted the other way, by weight or by volume.
    #[serde(skip)]
    pub is_unlike: bool,
}

/// What is at hand, and whether it is counted at all.
#[expect(clippy::ref_option, reason = "serde hands on the field")]
fn counted_and_have<S: Serializer>(have: &Option<Quantity>, serializer: S) -> Result<S::Ok, S::Error> {
    let mut map = serializer.serialize_map(Some(3))?;
    map.serialize_entry("counted", &have.is_some())?;
    serial::entries(&mut map, ["have_l", "have_g"], *have)?;
    map.end()
}

impl Filling {
    /// The ingredients that run out first.
    pub fn runs_out_first(&self) -> impl Iterator<Item = &FillLine> {
        self.lines.iter().filter(|line| line.fills == Some(self.trays))
    }

    /// The trays that each ingredient is enough for, the scarcest first, so that of two
    /// that fill as many the one with less of what ends it counts as better.
    fn reach(&self) -> Vec<u64> {
        let mut fills: Vec<u64> = self.lines.iter().filter_map(|line| line.fills).collect();
        fills.sort_unstable();
        // An ingredient that a mix does without never runs out.
        fills.push(u64::MAX);
        fills
    }
}

/// How many trays what is at hand fills, `each` being the needs of one tray.
///
/// `counts` says whether an ingredient of which nothing is at hand ends it, or whether
/// nothing was said of it.
pub fn filling(each: &[Need], shed: &Shed, counts: impl Fn(&Need) -> bool) -> Filling {
    // What is enough for more trays than can be told apart never ends it.
    let enough_for = |have: Quantity, need: Quantity| {
        fits(in_litres(have.size()), in_litres(need.size())).filter(|trays| *trays < MOST_COUNTED)
    };
    let needs = each.iter().filter(|(_, each)| each.size() > 0.0);
    let at_hand: Vec<_> = needs
        .map(|need| {
            let have = counts(need).then(|| shed.serving(&need.0, need.1));
            (need, have, have.and_then(|have| enough_for(have, need.1)))
        })
        .collect();
    let trays = at_hand.iter().filter_map(|(.., fills)| *fills).min().unwrap_or(0);
    let line = |((ingredient, each), have, fills): (&Need, Option<Quantity>, Option<u64>)| {
        let used = each.size() * trays as f64;
        let lacks = |have: Quantity| if fills == Some(trays) { used + each.size() - have.size() } else { 0.0 };
        FillLine {
            ingredient: ingredient.clone(),
            each: *each,
            have,
            fills,
            left: have.map(|have| have.of_size((have.size() - used).max(0.0))),
            one_more_lacks: have.map(|have| have.of_size(lacks(have).max(0.0))),
            is_unlike: shed.is_unlike(ingredient, *each),
        }
    };
    Filling { trays, lines: at_hand.into_iter().map(line).collect() }
}

/// A recipe's mix with one choice of its ingredients, and how far it goes.
#[derive(Clone, Debug)]
pub struct Tried {
    /// What the mix really holds of the choices offered: a crop may not bear the one wanted.
    pub with: Vec<Handle<Ingredient>>,
    /// How far it goes.
    pub filling: Filling,
}

/// How far a recipe's mix goes with each choice of what is at hand.
#[derive(Clone, Debug)]
pub struct RecipeFilling {
    /// Each mix once, the one that fills most first; never empty.
    pub tried: Vec<Tried>,
    /// Whether every combination of choices was tried.
    pub every: bool,
}

/// Looks for the choice of ingredients at hand that fills the most trays.
///
/// Every combination is tried, up to 256 of them; beyond that, one choice is changed at a
/// time for as long as it gets better. `counts` as for [`filling`], told whether the
/// ingredient is dosed.
///
/// # Errors
/// [`Rejected`] where nothing is left of a mix.
pub fn fill_recipe<'l>(
    loaded: &'l Loaded,
    shed: &Shed,
    counts: impl Fn(&Need, bool) -> bool,
) -> Result<RecipeFilling, Rejected> {
    let demand = Demand::of_week(loaded)?;
    let litres = |id: &Handle<Ingredient>| shed.serving(id, Quantity::Volume(in_litres(1.0))).size();
    let is_open =
        |part: &&Part| part.choices.len() > 1 && !loaded.week.wanted.iter().any(|wanted| part.choices.contains(wanted));
    let parts = loaded.week.recipes.iter().flat_map(|recipe| &recipe.parts).filter(is_open);
    // What each part offers, and what of that is at hand.
    let at_hand = |part: &'l Part| part.choices.iter().filter(|id| litres(id) > 0.0).collect::<Vec<_>>();
    let open = parts.map(|part| (&part.choices, at_hand(part))).filter(|(_, at_hand)| !at_hand.is_empty());
    let (offered, mut choices): (Vec<_>, Vec<_>) = open.unzip();
    let offered: HashSet<&Handle<Ingredient>> = offered.into_iter().flatten().collect();
    let fill = |with: &[&Handle<Ingredient>]| -> Result<Tried, Rejected> {
        let wanted: Vec<_> = loaded.week.wanted.iter().chain(with.iter().copied()).cloned().collect();
        let totals = Mixes::make(&demand, &wanted, loaded, None)?.totals;
        let is_dosed = |need: &Need| totals.doses.get(&need.0).is_some();
        let filling = filling(&needs(&totals, &[]), shed, |need| counts(need, is_dosed(need)));
        let held = totals.ingredients.iter().map(|(id, _)| id).filter(|id| offered.contains(id));
        Ok(Tried { with: held.cloned().collect(), filling })
    };
    let ways = every_way(&choices);
    let every = ways.is_some();
    let mut tried = match ways {
        Some(ways) => ways.iter().map(|way| fill(way)).collect::<Result<_, _>>()?,
        None => {
            for some in &mut choices {
                some.sort_by(|one, other| litres(other).total_cmp(&litres(one)));
            }
            improved(&choices, fill)?
        }
    };
    // The most trays first, of equal ones the one that was tried first.
    tried.sort_by_key(|tried| Reverse(tried.filling.trays));
    let mut mixes = HashSet::new();
    tried.retain(|tried| mixes.insert(tried.with.clone()));
    Ok(RecipeFilling { tried, every })
}

/// Every combination of one of each; `None` if there are too many to try.
fn every_way<T: Copy>(choices: &[Vec<T>]) -> Option<Vec<Vec<T>>> {
    choices.iter().try_fold(1_usize, |ways, some| ways.checked_mul(some.len()).filter(|ways| *ways <= MOST_TRIED))?;
    Some(choices.iter().fold(vec![Vec::new()], |ways, some| {
        ways.iter().flat_map(|way| some.iter().map(|id| [way.as_slice(), &[*id]].concat())).collect()
    }))
}

/// Begins with the first of each, and changes one at a time for as long as it gets better.
fn improved<'w>(
    choices: &[Vec<&'w Handle<Ingredient>>],
    mut fill: impl FnMut(&[&'w Handle<Ingredient>]) -> Result<Tried, Rejected>,
) -> Result<Vec<Tried>, Rejected> {
    let mut way: Vec<&Handle<Ingredient>> = choices.iter().filter_map(|some| some.first().copied()).collect();
    let mut seen = HashSet::from([way.clone()]);
    let mut tried = vec![fill(&way)?];
    let mut reach = tried[0].filling.reach();
    loop {
        let before = reach.clone();
        for (part, some) in choices.iter().enumerate() {
            for id in some {
                let mut other = way.clone();
                other[part] = *id;
                if !seen.insert(other.clone()) {
                    continue;
                }
                if tried.len() == MOST_TRIED {
                    return Ok(tried);
                }
                let next = fill(&other)?;
                if next.filling.reach() > reach {
                    (way, reach) = (other, next.filling.reach());
                }
                tried.push(next);
            }
        }
        if reach == before {
            return Ok(tried);
        }
    }
}

/// Whether what is at hand is enough for a week.
#[derive(Clone, Debug, PartialEq)]
pub struct WeekFilling {
    /// Everything that is needed, with what scoops add and the covering, all together.
    pub lines: Vec<Balance>,
    /// The batches in order, then what scoops add and the covering, where there are such.
    pub steps: Vec<FillStep>,
}

/// One batch of a week, or what is used in addition to the batches.
#[derive(Clone, Debug, PartialEq)]
pub struct FillStep {
    /// The batch, or what it is used for otherwise.
    pub purpose: UsedFor,
    /// What is lacking of it after the steps before it for which there was enough.
    pub short: Vec<Balance>,
}

impl Serialize for FillStep {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(3))?;
        map.serialize_entry("name", self.purpose.as_str())?;
        map.serialize_entry("enough", &self.short.is_empty())?;
        map.serialize_entry("lacking", &self.short)?;
        map.end()
    }
}

impl FillStep {
    /// Whether it is a batch.
    pub fn is_batch(&self) -> bool {
        matches!(self.purpose, UsedFor::Batch(_))
    }
}

impl WeekFilling {
    /// What is lacking of each ingredient, all together.
    pub fn short(&self) -> Vec<&Balance> {
        self.lines.iter().filter(|line| line.is_short()).collect()
    }

    /// Whether each batch can be mixed, whatever else is lacking.
    pub fn is_enough_for_batches(&self) -> bool {
        self.steps.iter().all(|step| step.short.is_empty() || !step.is_batch())
    }
}

/// Sets a week's batches against what is at hand, one after the other.
pub fn week_filling(mixes: &Mixes, shed: &Shed) -> WeekFilling {
    let lines = shed.parted(needs(&mixes.totals, &mixes.extras()), Mixes::straight([mixes]));
    let lines = lines.into_iter().map(|(id, need)| shed.balance(&id, need));
    let mut left = shed.clone();
    let steps = uses(mixes)
        .chunk_by(|one, next| one.purpose == next.purpose)
        .map(|uses| FillStep { purpose: uses[0].purpose.clone(), short: left.take(uses).err().unwrap_or_default() })
        .collect();
    WeekFilling { lines: lines.collect(), steps }
}

/// What some mixes take: each batch, less what measuring by the scoop saves, then what it adds, then covering material,
/// each counted as the stock counts it.
pub fn uses(mixes: &Mixes) -> Vec<Use> {
    let scooped = mixes.scooped();
    let batches = mixes.mixing.numbered.iter().map(|index| &mixes.batches[*index]).flat_map(|batch| {
        let parts = batch.ingredients.iter().map(|part| (&part.ingredient, Quantity::Volume(part.loose)));
        let doses = batch.doses.iter().map(|dose| (&dose.ingredient, dose.amount));
        let used = |(id, amount): (&Handle<Ingredient>, Quantity)| {
            let is_straight = batch.is_straight() && id.is(Role::Coir);
            let is_one =
                |one: &&Scooped| one.ingredient == *id && one.need.is_like(amount) && one.is_straight == is_straight;
            let share = scooped.iter().find(is_one).map_or(1.0, |one| (one.measured.size() / one.need.size()).min(1.0));
            Use {
                straight: f64::from(is_straight),
                ..Use::new(UsedFor::Batch(batch.name.clone()), id, amount.times(share))
            }
        };
        parts.chain(doses).map(used).collect::<Vec<_>>()
    });
    let counted = |used: Use| Use { amount: counted(used.amount, &used.ingredient), ..used };
    batches.chain(mixes.extras()).map(counted).filter(|used| used.amount.size() > 0.0).collect()
}
