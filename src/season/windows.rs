//! On which days each planting may be sown, and what it then takes of the rack.

use super::choice::{Choice, Item, Way};
use super::dates::{after, date, number};
use super::occupancy::{Day, FramePlaces, Limits, Stay};
use super::planned::{Known, Planned, Season};
use crate::catalogue::Frost;
use crate::diagnostic::Rejected;
use crate::plan::trays_alone;
use crate::source::flow;
use crate::week::{Faults, SowingAmount, Week};
use jiff::civil::Date;
use std::ops::{Range, RangeInclusive};

/// So many days before the first window the nearest possible day is looked for.
const DAYS_BACK: i32 = 400;
/// The most looks at days of plantings, each as many as the days from there to planting out, and [`LOOK`] more: what
/// comes of them is held in memory, and the rack is gone through for each.
const MOST_LOOKS: usize = 50_000_000;
const LOOK: usize = 50;
/// Days from sowing until hardy crops may stand in a frame, once they are up. Common practice, no source.
const FRAMED_AFTER: i32 = 21;
/// Days from potting on until pots are set apart. Common practice, no source.
pub(super) const SPACED_AFTER: i32 = 14;

/// A planting with its days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dated {
    /// The index of its sowing in the season.
    pub sowing: usize,
    /// Its number in the succession, from zero.
    pub number: usize,
    /// The day it is sown.
    pub sow: Date,
    /// The day it is potted on.
    pub pot: Option<Date>,
    /// The day from which it is hardened.
    pub leaves: Date,
    /// The day it is planted out.
    pub plant_out: Date,
    /// Days that it is sown after its window, less than none before it, since no possible day lies in that.
    pub outside: i32,
}

impl Dated {
    /// The day on which it is sown, or potted on.
    pub fn on(&self, potted: bool) -> Option<Date> {
        if potted { self.pot } else { Some(self.sow) }
    }

    /// The day on which its trays leave their place, or its pots: potted on, or to be hardened.
    pub fn ends(&self, potted: bool) -> Date {
        self.pot.filter(|_| !potted).unwrap_or(self.leaves)
    }
}

/// A sowing with the ways in which the days of its plantings may fall; at least one.
#[derive(Clone, Debug)]
pub struct Course {
    /// The index of the sowing in the season.
    pub sowing: usize,
    /// The plantings in each way, in the order of their days.
    pub ways: Vec<Vec<Dated>>,
}

/// A planting that cannot be sown or potted on any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooLate {
    /// The index of the sowing in the season.
    pub sowing: usize,
    /// The number of the planting in the succession, from zero.
    pub number: usize,
    /// Why.
    pub why: Lateness,
}

/// Why something cannot be done any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lateness {
    /// No day is left on which it could be sown.
    Missed,
    /// No day was ever possible on which it could be sown, and potted on, before it is planted out.
    NoDay,
    /// It is sown, and no day is left on which it could be potted on.
    NotPotted,
    /// It should be out already, and no day is entered on which it was sown.
    Over,
}

/// The days that are possible in a season.
#[derive(Clone, Debug)]
pub struct Windows {
    /// Of each sowing of which something is left to do, in the order of their words.
    pub courses: Vec<Course>,
    /// What cannot be done any more.
    pub too_late: Vec<TooLate>,
    known: Known,
}

impl Windows {
    /// The possible days from a day on; what is fixed may lie before it.
    ///
    /// # Errors
    /// [`Rejected`] where there would be more to look at than can be.
    pub fn of(season: &Season, today: Date) -> Result<Self, Rejected> {
        Self::knowing(season, &Known::on(today))
    }

    /// The same with what is known.
    pub(super) fn knowing(season: &Season, known: &Known) -> Result<Self, Rejected> {
        let Known { from, unknown, today } = known;
        let possible = Possible::of(season, *from, unknown.clone());
        let ever = Possible::of(season, Date::MIN, unknown.clone());
        let (mut windows, mut looks) = (Self { courses: Vec::new(), too_late: Vec::new(), known: known.clone() }, 0);
        for (sowing, planned) in season.sowings.iter().enumerate() {
            let mut late: Vec<bool> =
                (0..planned.plant_out.len()).map(|number| possible.is_missed(planned, number)).collect();
            let [days, most] = [planned.days[1] - planned.days[0] + 1, planned.days[1]];
            let each = [days, most].map(|days| usize::try_from(days).unwrap_or(0));
            looks += each[0] * (each[1] + LOOK) * late.iter().filter(|late| !**late).count();
            if looks > MOST_LOOKS {
                let what = "the days of the season leave too much open".to_owned();
                let expected = "fewer sowings, or `weeks:` that are fewer, or less apart";
                let mut faults = Faults::default();
                faults.push(&season.loaded.week.sowings[sowing].place, what, expected);
                faults.settle()?;
            }
            let missed = late.clone();
            let ways = possible.ways_of_most(season, sowing, &mut late);
            // What would be given up if no day were past.
            let mut never = missed.clone();
            if late != missed {
                ever.ways_of_most(season, sowing, &mut never);
            }
            let why = |number: usize| if never[number] && !missed[number] { Lateness::NoDay } else { Lateness::Missed };
            let given_up = (0..late.len()).filter(|number| late[*number]).map(|number| (number, why(number)));
            let sown = ways.first().into_iter().flatten();
            let unpotted = sown.filter(|dated| planned.then.is_some() && dated.pot.is_none());
            let too_late = unpotted.map(|dated| (dated.number, Lateness::NotPotted)).chain(given_up);
            // What should be out already is over.
            let late = |(number, why): (usize, Lateness)| match planned.plant_out[number] < *today {
                true => {
                    (number >= planned.fixed(unknown).len()).then_some(TooLate { sowing, number, why: Lateness::Over })
                }
                false => Some(TooLate { sowing, number, why }),
            };
            windows.too_late.extend(too_late.filter_map(late));
            windows.courses.extend((!ways.iter().all(Vec::is_empty)).then_some(Course { sowing, ways }));
        }
        // Of sowings that take the same, their words decide: the order of the file changes nothing.
        windows.courses.sort_by_cached_key(|course| flow(&season.sowings[course.sowing].entry));
        Ok(windows)
    }

    /// What is to be chosen from: an item for each course.
    ///
    /// # Errors
    /// [`Rejected`] for sowings that would need too many cells.
    pub fn items(&self, season: &Season) -> Result<Vec<Item>, Rejected> {
        let trays = trays_alone(&season.loaded.week)?;
        let item = |course: &Course| {
            let planned = &season.sowings[course.sowing];
            let ways = course.ways.iter().map(|way| Way {
                off: way.iter().map(|dated| off(planned, dated, &self.known.unknown)).sum(),
                stays: way.iter().flat_map(|dated| self.stays(season, dated, &trays)).collect(),
            });
            Item { ways: ways.collect() }
        };
        Ok(self.courses.iter().map(item).collect())
    }

    /// The plantings of a choice, by their days.
    pub fn chosen(&self, choice: &Choice) -> Vec<Dated> {
        let ways = self.courses.iter().zip(&choice.ways).filter_map(|(course, way)| course.ways.get(*way));
        let mut chosen: Vec<Dated> = ways.flatten().cloned().collect();
        chosen.sort_by_key(|dated| (dated.sow, dated.sowing));
        chosen
    }

    /// What there is of places and hands while the season lasts.
    pub fn limits(&self, season: &Season) -> Limits {
        limits(season, self.courses.iter().flat_map(|course| course.ways.iter().flatten()))
    }

    /// What a planting takes of the places, and its pots.
    fn stays(&self, season: &Season, dated: &Dated, trays: &[u64]) -> Vec<Stay> {
        let pots = season.sowings[dated.sowing].then.as_ref().filter(|_| dated.pot.is_some());
        let pots = pots.map(|pot| stay(season, dated, true, trays[pot.sowing], self.known.from));
        std::iter::once(stay(season, dated, false, trays[dated.sowing], self.known.from)).chain(pots).collect()
    }
}

/// What there is of places and hands while some plantings last.
pub(super) fn limits<'d>(season: &Season, plantings: impl Iterator<Item = &'d Dated> + Clone) -> Limits {
    let (standing, rack) = (&season.loaded.week.standing, season.loaded.week.rack);
    let first = plantings.clone().map(|dated| dated.sow.year()).min();
    let years = first.zip(plantings.map(|dated| dated.plant_out.year()).max());
    let open = |year: i16| {
        let from = standing.frame?.from.in_year(year)?;
        Some(number(from)..number(Date::new(year, 12, 31).ok()?) + 1)
    };
    let frame = standing.frame.zip(years).map(|(frame, (first, last))| FramePlaces {
        places: frame.places,
        open: (first..=last).filter_map(open).collect(),
    });
    Limits {
        places: rack.map(|rack| rack.free()),
        mats: rack.and_then(|rack| rack.mats),
        trays_a_day: standing.trays_a_day,
        frame,
    }
}

/// What so many trays of a planting take of the places; or so many pots, once they are potted on.
pub(super) fn stay(season: &Season, dated: &Dated, potted: bool, count: u64, today: Date) -> Stay {
    let week = &season.loaded.week;
    let pot = dated.pot.zip(season.sowings[dated.sowing].then.as_ref()).filter(|_| potted);
    let sowing = &week.sowings[pot.map_or(dated.sowing, |(_, pot)| pot.sowing)];
    let (crop, sow) = (sowing.crop.as_ref(), number(dated.sow));
    let is_hardy = crop.is_some_and(|crop| crop.frost == Some(Frost::Hardy));
    let is_seed = !matches!(week.sowings[dated.sowing].amount, SowingAmount::Potted(_));
    let emerges = crop.filter(|_| is_seed).and_then(|crop| crop.emerges_in_a_house());
    let emerges = emerges.map(|(_, last)| i32::try_from(last).unwrap_or(0));
    let wants_mat = !potted && crop.is_some_and(|crop| crop.wants_mat());
    let spaced = |(on, _): (Date, _)| Some((number(on) + SPACED_AFTER, count.div_ceil(sowing.tray.spaced?)));
    let from = pot.map_or(dated.sow, |(on, _)| on);
    Stay {
        from: number(from),
        until: number(dated.ends(potted)),
        trays: sowing.tray.places(count).unwrap_or(0),
        spaced: pot.and_then(spaced),
        mat_until: emerges.filter(|_| wants_mat).map(|days| sow + days),
        frame_from: is_hardy.then_some(sow + emerges.unwrap_or(0).max(FRAMED_AFTER)),
        work: from >= today,
    }
}

/// Days that a day of sowing lies after the window of a planting; less than none where it lies before.
fn days_outside(planned: &Planned, sow: Day, out: Day) -> i32 {
    let [least, most] = planned.days;
    (sow - (out - least)).max(0) - (out - most - sow).max(0)
}

/// Half days off the middle of the window; none of a day that is fixed.
fn off(planned: &Planned, dated: &Dated, unknown: &Range<Date>) -> u64 {
    let middle = 2 * number(dated.plant_out) - planned.days.iter().sum::<i32>();
    let is_fixed = dated.number < planned.fixed(unknown).len();
    if is_fixed { 0 } else { u64::from((2 * number(dated.sow) - middle).unsigned_abs()) }
}

/// The day on which a planting leaves its place to be hardened; tender plants no earlier than the last frost.
fn leaving(season: &Season, sowing: usize, out: Date) -> Date {
    let planned = &season.sowings[sowing];
    let week = &season.loaded.week;
    let frost = week.standing.frost.for_tender(week.sowings[sowing].crop.as_deref(), out);
    after(out, -planned.harden).max(frost.unwrap_or(Date::MIN)).min(out)
}

/// Whether one mixes and sows on a day.
pub(super) fn is_possible(week: &Week, day: Date) -> bool {
    week.standing.mix_days.is_none_or(|days| days.holds(day.weekday())) && !week.awake.is_away(day)
}

/// Which of the days before and after some days is nearer; the later of two.
fn nearer(days: RangeInclusive<Day>, before: Option<Day>, after: Option<Day>) -> Option<Day> {
    match (before, after) {
        (Some(before), Some(after)) if days.start() - before < after - days.end() => Some(before),
        (before, after) => after.or(before),
    }
}

/// The days on which one mixes and sows, in order.
struct Possible {
    all: Vec<Day>,
    today: Day,
    /// Where those from today on begin.
    open: usize,
    unknown: Range<Date>,
}

impl Possible {
    fn of(season: &Season, today: Date, unknown: Range<Date>) -> Self {
        let week = &season.loaded.week;
        let begins = season.sowings.iter().map(|planned| number(planned.plant_out[0]) - planned.days[1]).min();
        let ends = season.sowings.iter().flat_map(|planned| &planned.plant_out).copied().map(number).max();
        let days = begins.unwrap_or(0) - DAYS_BACK..ends.unwrap_or(0);
        let all: Vec<Day> = days.filter(|day| is_possible(week, date(*day))).collect();
        let today = number(today);
        Self { open: all.partition_point(|day| *day < today), all, today, unknown }
    }

    /// The first day at or after one.
    fn from(&self, day: Day) -> Option<Day> {
        let open = &self.all[self.open..];
        open.get(open.partition_point(|possible| *possible < day)).copied()
    }

    /// The day nearest to one, after another; the later of two.
    fn nearest(&self, day: Day, last: Day) -> Option<Day> {
        let open = &self.all[self.open..];
        let open = &open[open.partition_point(|possible| *possible <= last)..];
        let next = open.partition_point(|possible| *possible < day);
        nearer(day..=day, next.checked_sub(1).map(|at| open[at]), open.get(next).copied())
    }

    /// The same of all days, those that are past too; the day itself where there is none.
    fn nearest_ever(&self, day: Day) -> Day {
        let next = self.all.partition_point(|possible| *possible < day);
        let [before, from] = [next.checked_sub(1), Some(next)].map(|at| self.all.get(at?).copied());
        nearer(day..=day, before, from).unwrap_or(day)
    }

    /// Whether a planting that is not fixed had its days, and none is left.
    fn is_missed(&self, planned: &Planned, planting: usize) -> bool {
        let [least, most] = planned.days;
        let out = number(planned.plant_out[planting]);
        let (from, to) = (out - most, out - least);
        let [first, end] = [from, to + 1].map(|day| self.all.partition_point(|possible| *possible < day));
        // Of a window without a possible day the nearest counts.
        let [before, within, next] =
            [first.checked_sub(1), (first < end).then(|| end - 1), Some(end)].map(|at| self.all.get(at?).copied());
        let nearest = within.or_else(|| nearer(from..=to, before, next));
        planting >= planned.fixed(&self.unknown).len() && nearest.is_none_or(|day| day < self.today)
    }

    /// The ways of a sowing. Where nothing fits, those plantings are too late, too, that have no day even alone, and of
    /// the rest the first ones, no more of them than must be.
    fn ways_of_most(&self, season: &Season, sowing: usize, late: &mut Vec<bool>) -> Vec<Vec<Dated>> {
        let ways = |late: &[bool]| self.ways(season, sowing, late);
        let found = ways(late);
        if !found.is_empty() {
            return found;
        }
        let fixed = season.sowings[sowing].fixed(&self.unknown).len();
        let has_day = |number: &usize| {
            let others: Vec<bool> = (0..late.len()).map(|other| other >= fixed && other != *number).collect();
            !ways(&others).is_empty()
        };
        let open = (fixed..late.len()).filter(|number| !late[*number]);
        let (rest, lost): (Vec<usize>, Vec<usize>) = open.partition(has_day);
        lost.into_iter().for_each(|number| late[number] = true);
        // Each planting that is left out leaves the days after it to the others.
        let without = |count: usize| {
            let mut late = late.clone();
            rest[..count].iter().for_each(|number| late[*number] = true);
            late
        };
        let counts: Vec<usize> = (0..rest.len()).collect();
        *late = without(counts.partition_point(|count| ways(&without(*count)).is_empty()));
        ways(late)
    }

    /// The ways of a sowing without those plantings that are too late: as many weeks for all, each on the day that is
    /// nearest to them. Only those that lie outside their windows by the fewest days.
    fn ways(&self, season: &Season, sowing: usize, late: &[bool]) -> Vec<Vec<Dated>> {
        let planned = &season.sowings[sowing];
        let ([least, most], sown) = (planned.days, planned.fixed(&self.unknown));
        // What is fixed of a succession was raised so long, and so is the rest; where that can be, no day of it is past.
        let day = |out: &Date, raised: i32| self.nearest_ever(number(*out) - raised);
        let is_kept =
            |raised: &i32| sown.iter().zip(&planned.plant_out).all(|(sow, out)| day(out, *raised) == number(*sow));
        let is_ahead = |raised: &i32| {
            let open = planned.plant_out.iter().zip(late).skip(sown.len()).filter(|(_, late)| !**late);
            open.map(|(out, _)| day(out, *raised)).all(|day| day >= self.today)
        };
        let all = || least..=most;
        let kept: [Vec<i32>; 3] = [
            all().filter(|raised| is_kept(raised) && is_ahead(raised)).collect(),
            all().filter(is_kept).collect(),
            all().filter(is_ahead).collect(),
        ];
        let raised = kept.into_iter().find(|kept| !kept.is_empty()).unwrap_or_else(|| all().collect());
        let mut ways: Vec<(i32, Vec<Dated>)> =
            raised.into_iter().filter_map(|raised| self.way(season, sowing, raised, late)).collect();
        let nearest = ways.iter().map(|(outside, _)| *outside).min().unwrap_or(0);
        ways.retain(|(outside, _)| *outside == nearest);
        let mut ways: Vec<Vec<Dated>> = ways.into_iter().map(|(_, way)| way).rev().collect();
        ways.dedup();
        let open = late.iter().skip(sown.len()).filter(|late| !**late).count();
        if nearest > 0 && open == 1 {
            ways.drain(..ways.len() - 1);
        }
        ways
    }

    /// The plantings so many days before they are planted out, and the days outside their windows.
    fn way(&self, season: &Season, sowing: usize, raised: i32, late: &[bool]) -> Option<(i32, Vec<Dated>)> {
        let planned = &season.sowings[sowing];
        let sown = planned.fixed(&self.unknown);
        let (mut beyond, mut last, mut way) = (0, Day::MIN, Vec::new());
        for (planting, out) in planned.plant_out.iter().enumerate().filter(|(planting, _)| !late[*planting]) {
            let fixed = sown.get(planting).map(|day| number(*day));
            let at = number(*out);
            let sow = fixed.or_else(|| self.nearest(at - raised, last))?;
            let outside = if fixed.is_some() { 0 } else { days_outside(planned, sow, at) };
            let pot = planned.then.as_ref().and_then(|pot| match pot.fixed(&self.unknown).get(planting) {
                Some(on) => Some(number(*on)),
                None => self.from(sow + pot.after?),
            });
            let pot = pot.filter(|pot| *pot > sow && *pot < at);
            // What is sown already stays, potted on or not.
            if fixed.is_none() && (sow >= at || (pot.is_none() && planned.then.is_some())) {
                return None;
            }
            (beyond, last) = (beyond + outside.abs(), sow);
            way.push(Dated {
                sowing,
                number: planting,
                sow: date(sow),
                pot: pot.map(date),
                // It leaves as it was sown or potted last, where it would be hardened before.
                leaves: leaving(season, sowing, *out).max(date(pot.unwrap_or(sow))).min(*out),
                plant_out: *out,
                outside,
            });
        }
        Some((beyond, way))
    }
}
