//! What would help where something does not fit.

use super::dates::{after, number};
use super::occupancy::{Limits, Occupancy, Stay};
use super::planned::Season;
use super::rack::{Group, RackWeek};
use super::sown_day::SownDay;
use super::windows::{Dated, days_outside, is_possible};
use jiff::civil::Date;
use std::cmp::Reverse;

/// Something that would help. More places, mats and trays a day are all needed together; each of the rest helps by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Help {
    /// So many more places of the rack.
    Places(u64),
    /// So many more mats.
    Mats(u64),
    /// So many trays more that can be filled on that day.
    TraysADay(Date, u64),
    /// So many trays fewer of a planting, by its index, and nothing stands or is filled beyond what there is.
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
    let fullest = days.iter().filter(|day| !day.is_done).max_by_key(|day| (day.over, Reverse(day.on)));
    help.extend(fullest.filter(|day| day.over > 0).map(|day| Help::TraysADay(day.on, day.over)));
    if !help.is_empty() {
        let trials = Trials { season, plantings, groups, limits, today };
        help.extend(trials.fewer());
        help.extend(trials.moved());
    }
    let outside = plantings.iter().enumerate().filter(|(_, dated)| dated.outside);
    help.extend(outside.map(|(planting, dated)| Help::PlantOut(planting, outside_by(season, dated))));
    help
}

/// Days that a planting is sown after its window; less than none before it.
pub(super) fn outside_by(season: &Season, dated: &Dated) -> i32 {
    days_outside(&season.sowings[dated.sowing], number(dated.sow), number(dated.plant_out))
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
    /// The groups that hold a planting alone.
    fn own(&self, planting: usize) -> Vec<usize> {
        let is_own = |at: &usize| self.groups[*at].sown.iter().all(|sown| sown.planting == planting);
        (0..self.groups.len()).filter(is_own).collect()
    }

    /// Plantings that can still be changed, those with most trays of their own first.
    fn candidates(&self) -> Vec<(usize, Vec<usize>)> {
        let is_open = |planting: &usize| {
            let dated = &self.plantings[*planting];
            dated.sow >= self.today && self.season.sowings[dated.sowing].sow.len() <= dated.number
        };
        let open = (0..self.plantings.len()).filter(is_open).map(|planting| (planting, self.own(planting)));
        let mut open: Vec<_> = open.filter(|(_, own)| !own.is_empty()).collect();
        open.sort_by_key(|(_, own)| Reverse(own.iter().map(|at| self.groups[*at].stay.trays).max()));
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
    fn fewer(&self) -> Option<Help> {
        let without = |own: &[usize], trays: u64| {
            let over = self.over(own, |stay| {
                let left = |count: u64| count.saturating_sub(trays);
                let spaced = stay.spaced.map(|(day, places)| (day, left(places)));
                (stay.trays > trays).then(|| Stay { trays: left(stay.trays), spaced, ..stay.clone() })
            });
            over.0
        };
        let fewest = |(planting, own): (usize, Vec<usize>)| {
            let all = own.iter().map(|at| self.groups[*at].stay.trays).max()?;
            let (mut few, mut enough) = (0, Some(all).filter(|all| without(&own, *all) == 0)?);
            while enough - few > 1 {
                let half = u64::midpoint(few, enough);
                if without(&own, half) == 0 { enough = half } else { few = half }
            }
            Some((enough, planting))
        };
        let (trays, planting) = self.candidates().into_iter().filter_map(fewest).min()?;
        Some(Help::Fewer(planting, trays))
    }

    /// The planting that helps most when it is moved, by the fewest days.
    fn moved(&self) -> Option<Help> {
        let now = self.over(&[], |stay| Some(stay.clone()));
        let week = &self.season.loaded.week;
        let is_possible = |dated: &Dated, days: i32| {
            let frost = week.standing.frost.for_tender(week.sowings[dated.sowing].crop.as_deref(), dated.plant_out);
            if days < 0 && frost.is_some_and(|frost| after(dated.plant_out, days) < frost) {
                return false;
            }
            let moved = [Some(dated.sow), dated.pot].into_iter().flatten().map(|day| after(day, days));
            moved.into_iter().all(|day| day >= self.today && is_possible(week, day))
        };
        let moved = |stay: &Stay, days: i32| Stay {
            from: stay.from + days,
            until: stay.until + days,
            spaced: stay.spaced.map(|(day, places)| (day + days, places)),
            mat_until: stay.mat_until.map(|day| day + days),
            frame_from: stay.frame_from.map(|day| day + days),
            ..stay.clone()
        };
        let candidates = self.candidates();
        let trials = candidates.iter().flat_map(|(planting, own)| {
            let possible = MOVES.into_iter().filter(|days| is_possible(&self.plantings[*planting], *days));
            possible.map(|days| (self.over(own, |stay| Some(moved(stay, days))), days.abs(), *planting, days))
        });
        let ((_, left), _, planting, days) = trials.min().filter(|((sum, _), ..)| *sum < now.0)?;
        Some(Help::Move { planting, days, left })
    }
}
