//! The week's plan: cells, trays, batches and their amounts. Pure computation.
//!
//! For one choice of the ingredients that recipes offer, [`Mixes`] are made: sowings to
//! cells and trays (`sow`), mixes to batches (`mix`), batches to loads (`bench`). The plan
//! makes them for the choice that is wanted, `buy` prices the others, and `fill` looks for
//! the one that goes furthest.

mod behaviour;
mod bench;
mod buy;
mod calendar;
mod covering;
mod deeds;
mod demand;
mod fill;
mod measuring;
mod mix;
mod mixes;
mod note;
mod notes;
mod pairs;
mod shelf;
mod soaking;
mod sow;
mod strong;

pub use behaviour::{BatchBehaviour, Feeding, Finding, behaviour_of, salts_of_coir};
pub use bench::{
    Base, BatchMixing, Draw, FREE_SHARE, FromBase, LIFT_KG, Load, LoadShare, Loads, MIX_OF_WATER, MOST_OVER, Measure,
    MixRef, Mixing, MoistWeight, Moistening, Moisture, MoistureRange, QUARTERS, Scoop, SharedBase, TOLERANCE, Vessels,
    WANTED, WANTED_OF_COIR, largest_base, quarter_scoops, water_of_dry,
};
pub use buy::{
    Alternative, Buy, CostShares, HardlyNeeded, MOST_STEPS, Need, PackageChoice, PackageKind, Pick, PurchaseLine,
    Purchases, choose, line, needs, to_buy,
};
pub use calendar::{Entry, Limed, Task, Wetted, soak_entries};
pub use covering::{AreaFrom, Covering, Layer, depth_over, rim_area};
pub use deeds::{Deed, first_feed};
pub use fill::{
    FillLine, FillStep, Filling, RecipeFilling, Tried, WeekFilling, fill_recipe, filling, uses, week_filling,
};
pub use mix::{Batch, DoseAmount, Omission, PartAmount, TopLayer, Volumes};
pub use mixes::{CropSum, Known, Mixes, Totals};
pub use note::{
    BatchWarning, CropNote, DoseLimit, Note, SoakWarning, StandsLong, TrayNote, TrialDoubt, Untended, Warning,
};
pub use pairs::{Pair, PairedTray, Pairs};
pub use shelf::{Shelf, in_places};
pub use soaking::{Fitting, InSeason, Soaking, of_weeks as soaked_together};
pub use sow::{
    CellCount, FilledTrays, Germination, Half, HalfOf, Layout, OnRack, Portion, SowingPlan, TrayMap, TrayPortion,
    TrayRows, Trial, TriedRows, Unstated, arrange, cells_for, chance_of, chance_of_cell, chance_per_cell, germination,
    trays_alone,
};

use crate::catalogue::{Crop, Handle, Ingredient};
use crate::diagnostic::Rejected;
use crate::moment::Moment;
use crate::units::Volume;
use crate::week::{Allowances, Loaded, Week};
use demand::Demand;
use jiff::{RoundMode, Timestamp, Unit, ZonedDateTime, ZonedDateTimeRound};
use std::sync::OnceLock;

/// Sowings beyond this are listed together in print.
pub(crate) const LISTED: usize = 200;

/// What to fill, what to mix, and what to know.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The week's name; the recipe's for a single mix.
    pub title: String,
    /// When the mix must be ready.
    pub mix_on: Option<Moment>,
    /// The allowances used.
    pub allowances: Allowances,
    /// What is filled and mixed.
    pub mixes: Mixes,
    /// The pairs of its trial, if it asks for one.
    pub pairs: Option<Pairs>,
    /// What it takes of the rack, if there is one.
    pub rack: Option<OnRack>,
    /// The soak of the coir, if the mix holds any.
    pub soak: Option<Soaking>,
    /// What to do when, in order of time.
    pub calendar: Vec<Entry>,
    /// What to buy.
    pub purchases: Purchases,
    /// What to know.
    pub notes: Vec<Note>,
    /// What to take care of.
    pub warnings: Vec<Warning>,
    /// Cautions by their key, with the ingredients that call for them; those that hold
    /// for every mix come first, without any.
    pub cautions: Vec<(String, Vec<Handle<Ingredient>>)>,
    /// What is wrong with its batches, once it was asked for.
    found: OnceLock<Vec<(usize, Finding)>>,
}

/// Plans a week.
///
/// # Errors
/// [`Rejected`] for sowings that cannot be worked out: too many cells, nothing left of
/// a mix, too few trays for the pairs of a trial.
pub fn plan(loaded: &Loaded) -> Result<Plan, Rejected> {
    plan_for(loaded, None, true)
}

/// Plans a week without comparing what it would cost with the other ingredients that its
/// recipes offer: each of these is a plan of its own.
///
/// # Errors
/// As for [`plan`].
pub fn plan_without_comparison(loaded: &Loaded) -> Result<Plan, Rejected> {
    plan_for(loaded, None, false)
}

/// Plans a week, or in its place one volume of the first recipe's mix, for a crop or for any host; and compares
/// what it would cost with the other ingredients that its recipes offer, or not.
///
/// # Errors
/// As for [`plan`].
pub fn plan_for(
    loaded: &Loaded,
    volume: Option<(Volume, Option<&Handle<Crop>>)>,
    compared: bool,
) -> Result<Plan, Rejected> {
    let demand = volume.map_or_else(|| Demand::of_week(loaded), |(mix, crop)| Ok(Demand::of_volume(mix, crop)))?;
    of_demand(&demand, loaded, compared)
}

fn of_demand(demand: &Demand<'_>, loaded: &Loaded, compared: bool) -> Result<Plan, Rejected> {
    let week = &loaded.week;
    let mut mixes = Mixes::make(demand, &week.wanted, loaded, None)?;
    let pairs = Pairs::of(&mixes, week)?;
    let stock = buy::stock_of(&mixes, loaded);
    let purchases = buy::purchases(&mixes, demand, loaded, &stock, compared);
    mixes.with_coir_of(soaking::dry_g_per_l(mixes.coir(), &purchases, &stock, week.soak.as_ref()), week);
    // A choice that cannot be made is not offered; one that was not tried is not kept quiet.
    demand.within_work(week)?;
    let soak = soaking::of_weeks(&[&mixes], &purchases, &stock, (week, week.coir_for_later), &Handle::clone);
    let rack = mixes.layout.on_rack(week);
    let mut remarks = notes::of(&mixes, &soak, rack.as_ref(), demand, loaded);
    let soak = soak.unwrap_or_default();
    let calendar = calendar::calendar(&mixes, pairs.as_ref(), soak.as_ref(), week);
    let warnings = notes::beyond_a_bench(&mixes, &purchases).into_iter().chain(remarks.warnings);
    let warnings = warnings.chain(notes::while_away(&calendar, week));
    let warnings = warnings.chain(notes::of_trial(&calendar, week)).collect();
    remarks.notes.extend(notes::stand_long(&calendar));
    Ok(Plan {
        title: week.name.clone(),
        mix_on: week.mix_on.clone(),
        allowances: week.allowances,
        calendar,
        purchases,
        pairs,
        rack,
        soak,
        mixes,
        notes: remarks.notes,
        warnings,
        cautions: remarks.cautions,
        found: OnceLock::new(),
    })
}

impl Plan {
    /// The soak of its coir, if that gets a bath.
    pub fn bath(&self) -> Option<&Soaking> {
        self.soak.as_ref().filter(|soaking| soaking.sheet.is_some())
    }

    /// Makes the calendar anew: of its week another day is known.
    pub fn date_anew(&mut self, week: &Week) {
        self.calendar = calendar::calendar(&self.mixes, self.pairs.as_ref(), self.soak.as_ref(), week);
    }

    /// Warns if the first thing that must be done lies in the past, or the day to lime: that is then for today, or falls
    /// away on the day of the mix.
    pub fn warn_if_late(&mut self, now: Timestamp) {
        let passed = |is: fn(&Task) -> bool| {
            let first = self.calendar.iter().find(|entry| is(&entry.task));
            first.filter(|first| first.at.timestamp() < now).map(|first| first.at.clone())
        };
        let lime = passed(|task| matches!(task, Task::Lime(_)));
        let first = passed(|task| !task.is_optional()).map(Warning::Late);
        let hour = ZonedDateTimeRound::new().smallest(Unit::Hour).mode(RoundMode::Ceil);
        let today = lime.as_ref().and_then(|by| now.to_zoned_datetime(by.time_zone().clone()).round(hour).ok());
        let is_late = |task: &Task| matches!(task, Task::Lime(_) | Task::WetPeat(Wetted::ToLime(_)));
        let mix = self.mix_on.as_ref().map(|mix| mix.local.date());
        let today = today.filter(|today| Some(today.date()) < mix);
        if lime.is_some() {
            let for_today = |at: &mut ZonedDateTime| today.clone().map(|today| *at = today).is_some();
            self.calendar.retain_mut(|entry| !is_late(&entry.task) || for_today(&mut entry.at));
            self.calendar.sort_by(|one, other| one.at.cmp(&other.at));
        }
        let lime = lime.map(|by| Warning::LimeLate { by, today: today.is_some() });
        self.warnings.extend(first.into_iter().chain(lime));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recipe::Work;
    use crate::source::Memory;
    use crate::week::load;
    use std::path::Path;

    #[test]
    fn what_a_recipe_offers_is_compared_within_the_work_of_one_plan() {
        let week = "week: w\nrecipe: everyday\nsowings: [{crop: kale, plants: 50, tray: 72-cell}]\n";
        let loaded = load(Path::new("week.yaml"), &Memory::default().with("week.yaml", week), &[]).unwrap();
        let planned = |work: u64, compared| {
            let demand = Demand { work: Work::of(work), ..Demand::of_week(&loaded).unwrap() };
            of_demand(&demand, &loaded, compared).map(|plan| (plan, work - demand.work.left().unwrap()))
        };
        let (_, one) = planned(1 << 20, false).unwrap();
        let (plan, all) = planned(1 << 20, true).unwrap();
        assert!(all > one && !plan.purchases.alternatives.is_empty());
        assert!(planned(one, false).is_ok() && planned(all, true).is_ok());
        // One choice fewer would be shown as if it could not be made.
        for work in [one, all - 1] {
            let refused = planned(work, true).unwrap_err();
            assert!(refused.to_string().contains("name too much to try them"), "{refused}");
        }
    }
}
