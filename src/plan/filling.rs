//! How far what is at hand goes: trays from a recipe, or a week's batches.

use super::buying::Need;
use super::{Beside, BesideWhy, Dosed, Plan};
use crate::catalogue::IngredientId;
use crate::stock::{Shed, Short, Stuff, Use};
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
    /// What is lacking of each ingredient for all batches together.
    pub short: Vec<Short>,
    /// For each batch, in order: what is lacking of it after the batches before it that
    /// could be mixed.
    pub batches: Vec<Vec<Short>>,
}

/// Sets a week's batches against what is at hand, one after the other.
#[must_use]
pub fn week_filling(plan: &Plan, shed: &Shed, extra: &[Beside]) -> WeekFilling {
    let all: Vec<Use> = uses(plan, extra);
    let short = shed.shortfall(&all);
    let mut left = shed.clone();
    let batches =
        (0..plan.batches.len()).map(|index| left.take(&uses_of(plan, index)).err().unwrap_or_default()).collect();
    WeekFilling { short, batches }
}

/// What each batch of a plan takes, then what is in `extra`, such as covering material.
#[must_use]
pub fn uses(plan: &Plan, extra: &[Beside]) -> Vec<Use> {
    let extra = extra.iter().map(|extra| Use {
        // In place of a batch.
        batch: match extra.why {
            BesideWhy::Scoops => "(scoops)",
            BesideWhy::Covering => "(covering)",
        }
        .to_owned(),
        ingredient: extra.ingredient,
        amount: extra.amount,
    });
    (0..plan.batches.len()).flat_map(|index| uses_of(plan, index)).chain(extra).collect()
}

fn uses_of(plan: &Plan, index: usize) -> Vec<Use> {
    let batch = &plan.batches[index];
    let used = |ingredient, amount| Use { batch: batch.name.clone(), ingredient, amount };
    let parts = batch.ingredients.iter().map(|part| used(part.ingredient, Stuff::Volume(part.loose)));
    let doses = batch.doses.iter().map(|dose| {
        let amount = match dose.amount {
            Dosed::Mass(mass) => Stuff::Mass(mass),
            Dosed::Measure(volume, _) => Stuff::Volume(volume),
        };
        used(dose.ingredient, amount)
    });
    parts.chain(doses).filter(|used| used.amount.size() > 0.0).collect()
}
