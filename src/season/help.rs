//! What would help where something does not fit.

use super::dates::{after, number};
use super::occupancy::{Limits, Occupancy, Stay};
use super::planned::Season;
use super::rack::{Group, RackWeek};
use super::remarks::EARLIEST;
use super::sown_day::SownDay;
use super::windows::{Dated, is_possible};
use crate::source::flow;
use jiff::civil::Date;
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// Something that would help. More places, mats and trays a day are all needed together; each of the rest helps by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Help {
    /// So many more places of the rack.
    Places(u64),
    /// So many more mats.
    Mats(u64),
    /// So many trays more that can be filled on that day.
    TraysADay(Date, u64),
    /// So many places fewer of a planting, by its index, and nothing stands or is filled beyond what there is.
    Fewer(usize, u64),
    /// A planting, by its index, planted out and so sown so many days later, or earlier: on the worst day `left` trays
    /// beyond what there is remain.
    Move {
        /// The planting.
        planting: usize,
        /// Days later; earlier where less than none.
        days: i32,
        /// Trays beyond what there is that remain on the day that has most of them.
        left: u64,
    },
    /// A planting, by its index, that has no possible day in its window: planted out so many days later, or earlier, it
    /// is sown within it on the day on which it is sown now.
    PlantOut(usize, i32),
}

/// So many plantings are tried, those with most trays first.
const MOST_TRIED: usize = 40;
/// Days by which a planting is moved, in this order.
const MOVES: [i32; 8] = [7, -7, 14, -14, 21, -21, 28, -28];

/// What would help.
pub(super) fn help(
    season: &Season,
    plantings: &[Dated],
    (days, groups, weeks): (&[SownDay], &[Group], &[RackWeek]),
    limits: &Limits,
    today: Date,
) -> Vec<Help> {
    let most = |over: fn(&RackWeek) -> u64| weeks.iter().map(over).max().filter(|over| *over > 0);
    let mut help: Vec<Help> = most(|week| week.over).map(Help::Places).into_iter().collect();
    help.extend(most(|week| week.mats_over).map(Help::Mats));
    let fullest = days.iter().max_by_key(|day| (day.over, Reverse(day.on)));
    help.extend(fullest.filter(|day| day.over > 0).map(|day| Help::TraysADay(day.on, day.over)));
    if !help.is_empty() {
        let trials = Trials { season, plantings, groups, limits, today };
        let candidates = trials.candidates();
        help.extend(trials.fewer(&candidates));
        help.extend(trials.moved(&candidates));
    }
    let outside = plantings.iter().enumerate().filter(|(_, dated)| dated.outside != 0);
    let outside = outside.filter(|(_, dated)| !meets_frost(season, dated, dated.outside));
    help.extend(outside.map(|(planting, dated)| Help::PlantOut(planting, dated.outside)));
    help
}

/// Whether a planting would go out too long before the last frost, a tender one at all, if it went out so many days later.
fn meets_frost(season: &Season, dated: &Dated, days: i32) -> bool {
    let week = &season.loaded.week;
    let (crop, frost) = (week.sowings[dated.sowing].crop.as_deref(), week.standing.frost);
    let hardy = || frost.last_of_spring(dated.plant_out).map(|last| after(last, -EARLIEST));
    let earliest = frost.for_tender(crop, dated.plant_out).or_else(hardy);
    days < 0 && earliest.is_some_and(|earliest| after(dated.plant_out, days) < earliest)
}

/// Changes that are tried.
struct Trials<'s> {
    season: &'s Season,
    plantings: &'s [Dated],
    groups: &'s [Group],
    limits: &'s Limits,
    today: Date,
}

impl Trials<'_> {
    /// Plantings that can still be changed, each with the groups that hold it alone, those with most trays of their own
    /// first; of those that would help alike the first is told.
    fn candidates(&self) -> Vec<(usize, Vec<usize>)> {
        let is_open = |planting: usize| {
            let dated = &self.plantings[planting];
            dated.sow >= self.today && self.season.sowings[dated.sowing].sow.len() <= dated.number
        };
        let mut own: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (at, group) in self.groups.iter().enumerate() {
            let planting = group.sown[0].planting;
            if is_open(planting) && group.sown.iter().all(|sown| sown.planting == planting) {
                own.entry(planting).or_default().push(at);
            }
        }
        let mut open: Vec<_> = own.into_iter().collect();
        let most = |own: &[usize]| own.iter().map(|at| self.groups[*at].stay.trays).max();
        // Of equals the words decide, not the order of the file.
        open.sort_by_cached_key(|(planting, own)| {
            let dated = &self.plantings[*planting];
            (Reverse(most(own)), flow(&self.season.sowings[dated.sowing].entry), dated.number)
        });
        open.truncate(MOST_TRIED);
        open
    }

    /// Tray-days beyond what there is from today on, and the most on a day, with some groups changed; a group may fall
    /// away.
    fn over(&self, own: &[usize], change: impl Fn(&Stay) -> Option<Stay>) -> (u64, u64) {
        let all = self.groups.iter().enumerate();
        let stays: Vec<Stay> = all
            .filter_map(|(at, group)| if own.contains(&at) { change(&group.stay) } else { Some(group.stay.clone()) })
            .collect();
        let occupancy = Occupancy::of(&stays, self.limits);
        let past = usize::try_from(number(self.today) - occupancy.first).unwrap_or(0);
        occupancy.over_each(self.limits).skip(past).fold((0, 0), |(sum, most), over| (sum + over, most.max(over)))
    }

    /// The fewest trays of one planting without which all fits.
    fn fewer(&self, candidates: &[(usize, Vec<usize>)]) -> Option<Help> {
        let without = |own: &[usize], trays: u64| {
            let over = self.over(own, |stay| {
                let left = |count: u64| count.saturating_sub(trays);
                let spaced = stay.spaced.map(|(day, places)| (day, left(places)));
                (stay.trays > trays).then(|| Stay { trays: left(stay.trays), spaced, ..stay.clone() })
            });
            over.0
        };
        let fewest = |(place, (planting, own)): (usize, &(usize, Vec<usize>))| {
            let all = own.iter().map(|at| self.groups[*at].stay.trays).max()?;
            let (mut few, mut enough) = (0, Some(all).filter(|all| without(own, *all) == 0)?);
            while enough - few > 1 {
                let half = u64::midpoint(few, enough);
                if without(own, half) == 0 { enough = half } else { few = half }
            }
            Some((enough, place, *planting))
        };
        let (trays, _, planting) = candidates.iter().enumerate().filter_map(fewest).min()?;
        Some(Help::Fewer(planting, trays))
    }

    /// The planting that helps most when it is moved, by the fewest days.
    fn moved(&self, candidates: &[(usize, Vec<usize>)]) -> Option<Help> {
        let now = self.over(&[], |stay| Some(stay.clone()));
        let week = &self.season.loaded.week;
        let is_possible = |dated: &Dated, days: i32| {
            let mut moved = [Some(dated.sow), dated.pot].into_iter().flatten().map(|day| after(day, days));
            !meets_frost(self.season, dated, days) && moved.all(|day| day >= self.today && is_possible(week, day))
        };
        let moved = |stay: &Stay, days: i32| Stay {
            from: stay.from + days,
            until: stay.until + days,
            spaced: stay.spaced.map(|(day, places)| (day + days, places)),
            mat_until: stay.mat_until.map(|day| day + days),
            frame_from: stay.frame_from.map(|day| day + days),
            ..stay.clone()
        };
        let trials = candidates.iter().enumerate().flat_map(|(place, (planting, own))| {
            let possible = MOVES.into_iter().filter(|days| is_possible(&self.plantings[*planting], *days));
            possible
                .map(move |days| (self.over(own, |stay| Some(moved(stay, days))), days.abs(), place, *planting, days))
        });
        let ((_, left), _, _, planting, days) = trials.min().filter(|((sum, _), ..)| *sum < now.0)?;
        Some(Help::Move { planting, days, left })
    }
}
