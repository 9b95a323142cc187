//! How far what is at hand goes: trays from a recipe, or a week's batches.

use super::buying::{Need, needs};
use super::{BesideWhy, Plan};
use crate::catalogue::{Catalogue, IngredientId};
use crate::stock::{Shed, Short, Stuff, Use, UsedFor, counted};
use crate::units::{fits, in_litres};

/// The most trays that what is at hand fills.
#[derive(Clone, Debug, PartialEq)]
pub struct Filling {
    /// Trays, rounded down.
    pub trays: u64,
    /// Each ingredient of the mix.
    pub lines: Vec<FillLine>,
}

/// One ingredient of a tray's mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FillLine {
    /// What.
    pub ingredient: IngredientId,
    /// What one tray takes.
    pub each: Stuff,
    /// What is at hand; `None` for a dose that nothing was said of, which is not counted.
    pub have: Option<Stuff>,
    /// The trays it would be enough for.
    pub fills: Option<u64>,
    /// What is left once the trays are filled.
    pub left: Option<Stuff>,
    /// What one tray more would lack of it.
    pub one_more_lacks: Option<Stuff>,
    /// There is some that is counted the other way, by weight or by volume.
    pub unlike: bool,
}

impl FillLine {
    /// Whether this ingredient is what ends it.
    #[must_use]
    pub fn runs_out_first(&self, filling: &Filling) -> bool {
        self.fills == Some(filling.trays)
    }
}

/// How many trays what is at hand fills, `each` being the needs of one tray.
///
/// `counts` says whether an ingredient of which nothing is at hand ends it, or whether
/// nothing was said of it.
#[must_use]
pub fn filling(each: &[Need], shed: &Shed, counts: impl Fn(Need) -> bool) -> Filling {
    let enough_for = |have: Stuff, need: Stuff| fits(in_litres(have.size()), in_litres(need.size()));
    let mut lines: Vec<FillLine> = each
        .iter()
        .filter(|need| need.amount.size() > 0.0)
        .map(|need| {
            let have = counts(*need).then(|| shed.at_hand(need.ingredient, need.amount));
            FillLine {
                ingredient: need.ingredient,
                each: need.amount,
                have,
                fills: have.and_then(|have| enough_for(have, need.amount)),
                left: None,
                one_more_lacks: None,
                unlike: shed.is_unlike(need.ingredient, need.amount),
            }
        })
        .collect();
    let trays = lines.iter().filter_map(|line| line.fills).min().unwrap_or(0);
    for line in &mut lines {
        let Some(have) = line.have else { continue };
        let used = line.each.size() * trays as f64;
        line.left = Some(have.of_size((have.size() - used).max(0.0)));
        let lacks = if line.fills == Some(trays) { (used + line.each.size() - have.size()).max(0.0) } else { 0.0 };
        line.one_more_lacks = Some(have.of_size(lacks));
    }
    Filling { trays, lines }
}

/// Whether what is at hand is enough for a week.
#[derive(Clone, Debug, PartialEq)]
pub struct WeekFilling {
    /// Everything that is needed, all together.
    pub lines: Vec<WeekLine>,
    /// What is lacking of each ingredient, all together.
    pub short: Vec<Short>,
    /// Each batch in order, then what scoops add and the covering, where there are such:
    /// what is lacking of it after those before it for which there was enough.
    pub steps: Vec<(UsedFor, Vec<Short>)>,
}

impl WeekFilling {
    /// Whether each batch can be mixed, whatever lacks beside them.
    #[must_use]
    pub fn is_enough_for_batches(&self) -> bool {
        self.steps.iter().all(|(purpose, short)| short.is_empty() || !matches!(purpose, UsedFor::Batch(_)))
    }
}

/// One ingredient of a week.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeekLine {
    /// What.
    pub ingredient: IngredientId,
    /// How much is needed, with what scoops add and the covering.
    pub need: Stuff,
    /// How much is at hand.
    pub have: Stuff,
    /// There is some that is counted the other way, by weight or by volume.
    pub unlike: bool,
}

/// Sets a week's batches against what is at hand, one after the other.
#[must_use]
pub fn week_filling(plan: &Plan, shed: &Shed, catalogue: &Catalogue) -> WeekFilling {
    let all: Vec<Use> = uses(plan, catalogue);
    let lines =
        needs(&plan.totals, &plan.beside(), catalogue).into_iter().map(|Need { ingredient, amount }| WeekLine {
            ingredient,
            need: amount,
            have: shed.at_hand(ingredient, amount),
            unlike: shed.is_unlike(ingredient, amount),
        });
    let mut left = shed.clone();
    let steps = all.chunk_by(|one, next| one.purpose == next.purpose).map(|uses| {
        let short = left.take(uses).err().unwrap_or_default();
        (uses[0].purpose.clone(), short)
    });
    WeekFilling { lines: lines.collect(), short: shed.shortfall(&all), steps: steps.collect() }
}

/// What a plan takes: each batch, then what scoops add, then covering material, each
/// counted as the stock counts it.
#[must_use]
pub fn uses(plan: &Plan, catalogue: &Catalogue) -> Vec<Use> {
    let used = |purpose: UsedFor, ingredient: IngredientId, amount: Stuff| Use {
        purpose,
        ingredient,
        amount: counted(amount, catalogue.ingredient(ingredient)),
    };
    let batches = plan.batches.iter().flat_map(|batch| {
        let parts = batch.ingredients.iter().map(|part| (part.ingredient, Stuff::Volume(part.loose)));
        let doses = batch.doses.iter().map(|dose| (dose.ingredient, Stuff::from(dose.amount)));
        parts.chain(doses).map(|(ingredient, amount)| used(UsedFor::Batch(batch.name.clone()), ingredient, amount))
    });
    let beside = plan.beside().into_iter().map(|beside| {
        let purpose = match beside.why {
            BesideWhy::Scoops => UsedFor::Scoops,
            BesideWhy::Covering => UsedFor::Covering,
        };
        used(purpose, beside.ingredient, beside.amount)
    });
    batches.chain(beside).filter(|used| used.amount.size() > 0.0).collect()
}
