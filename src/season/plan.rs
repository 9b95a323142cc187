//! The season worked out: its days, its rack, what it takes, and what to do when.

use super::buying::{Bought, CoirCourse};
use super::choice::Cost;
use super::dates::number;
use super::day::Told;
use super::frame::{framed, tell_framed};
use super::help::{Help, help};
use super::occupancy::{FramePlaces, Limits};
use super::planned::Season;
use super::rack::{Group, RackWeek, cold_spring, contents, groups, hardening, settled, weeks};
use super::remarks::{Remark, remarks};
use super::sown_day::SownDay;
use super::windows::{Dated, Lateness, TooLate, limits};
use crate::diagnostic::Rejected;
use crate::place::Rack;
use crate::plan::{Entry, Note, Purchases, Shelf, Task, Totals, Unstated, in_places, soak_entries};
use crate::week::Inputs;
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// A season worked out, as on one day.
#[derive(Debug)]
pub struct SeasonPlan {
    /// Its name.
    pub name: String,
    /// The day from which on it is planned.
    pub today: Date,
    /// Every planting with its days, in their order.
    pub plantings: Vec<Dated>,
    /// The days on which something is sown or potted on, those that are past too.
    pub days: Vec<SownDay>,
    /// What there is of places and hands.
    pub limits: Limits,
    /// The rack from the week of today on.
    pub rack: Vec<RackWeek>,
    /// The heaviest shelf of the days on which something is filled and of the fullest of each week, on the first of these days,
    /// and what is of unknown weight on any of them.
    pub shelf: Option<(Date, Shelf)>,
    /// The most trays that are hardened on one day, when they take no place on the rack: the Monday before it, and their
    /// number.
    pub hardening: Option<(Date, u64)>,
    /// No choice of days costs less.
    pub proven: bool,
    /// What the choice of days costs, each sowing with its own whole trays.
    pub cost: Cost,
    /// What cannot be sown or potted on any more.
    pub too_late: Vec<TooLate>,
    /// What would help where something does not fit.
    pub help: Vec<Help>,
    /// The weeks in which a cold spring leaves more trays beyond the rack, and how many more; `None` where nothing is known
    /// of a rack, or all goes out later.
    pub spring: Option<Vec<(Date, u64)>>,
    /// What of the days is doubtful.
    pub remarks: Vec<Remark>,
    /// What keeps sowings of a day apart only because it is not stated, summed over the days that are not done.
    pub unstated: Vec<Unstated>,
    /// The sums over all days, in the season's own ingredients.
    pub totals: Totals,
    /// What to buy at once for all days that are not done, against the stock.
    pub purchases: Purchases,
    /// What it costs to buy for each of these days by itself, with what was left over; `None` where a price is missing.
    pub day_by_day: Option<Decimal>,
    /// The courses of coir, each for the days within three weeks of it; none where the coir gets no bath.
    pub coir: Vec<CoirCourse>,
    /// What to do when, in order of time: all of the days that are to come, and of those that are done what is still to
    /// be done.
    pub calendar: Vec<SeasonEntry>,
}

/// An entry of the calendar.
#[derive(Clone, Debug)]
pub struct SeasonEntry {
    /// The entry.
    pub entry: Entry,
    /// Whose it is: what an entry says of batches is of the plan of that day.
    pub of: EntryOf,
}

/// What an entry of the calendar belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EntryOf {
    /// A day, by its index.
    Day(usize),
    /// A course of coir, by its index.
    Course(usize),
}

impl Season {
    /// What the week of each day says of its season, as some plantings are chosen; and the days, if it says anything.
    ///
    /// # Errors
    /// [`Rejected`] where a day cannot be planned.
    pub fn told(
        &self,
        inputs: &Inputs<'_>,
        plantings: &[Dated],
        today: Date,
    ) -> Result<(Told, Vec<SownDay>), Rejected> {
        let week = &self.loaded.week;
        if week.standing.frame.is_none() && week.soak.is_none() && week.rack.is_none() {
            return Ok(Default::default());
        }
        let days = match self.days(inputs, plantings, today) {
            // What stands on a rack is told where it can be.
            Err(_) if week.standing.frame.is_none() && week.soak.is_none() => return Ok(Default::default()),
            days => days?,
        };
        let (frame, groups) = (limits(self, plantings.iter()).frame, groups(self, plantings, &days, today));
        let taken = |day: &SownDay| {
            let rack = week.rack?;
            let taken = occupied(rack, &groups, frame.as_ref(), day.on);
            (taken > rack.occupied).then_some((day.on, taken))
        };
        let occupied = days.iter().filter_map(taken).collect();
        let framed = frame.as_ref().map(|frame| framed(plantings, &groups, frame)).unwrap_or_default();
        Ok((Told { framed, coir_after: self.coir_after(&days), occupied }, days))
    }
}

impl SeasonPlan {
    /// Works a season out from a day on.
    ///
    /// # Errors
    /// [`Rejected`] where the days leave too much open, or a day cannot be planned.
    pub fn of(season: &Season, inputs: &Inputs<'_>, today: Date) -> Result<Self, Rejected> {
        let (windows, choice) = season.choice(today)?;
        let limits = windows.limits(season);
        let plantings = season.dated(&windows, &choice);
        let mut days = season.days(inputs, &plantings, today)?;
        let bought = Bought::of(season, &mut days);
        let groups = groups(season, &plantings, &days, today);
        if let Some(frame) = &limits.frame {
            let framed = framed(&plantings, &groups, frame);
            days.iter_mut().for_each(|day| tell_framed((&mut day.loaded.week, &mut day.plan), &day.sown, &framed));
        }
        let mut rack = weeks(&groups, &limits, today);
        rack.iter_mut().for_each(|week| week.contents = contents(&groups, limits.frame.as_ref(), number(week.day)));
        Ok(Self {
            name: season.loaded.week.name.clone(),
            today,
            help: help(season, &plantings, (&days, &groups, &rack), &limits, today),
            spring: limits.places.and_then(|_| cold_spring(season, &plantings, (&days, &rack), &limits, today)),
            unstated: unstated(&days),
            shelf: heaviest_shelf(season, &groups, &limits, (&days, &rack), today),
            hardening: hardening(&plantings, &groups, today),
            remarks: remarks(season, &plantings, today),
            totals: bought.totals,
            calendar: calendar(&days, &bought.coir, today),
            purchases: bought.purchases,
            day_by_day: bought.day_by_day,
            coir: bought.coir,
            too_late: windows.too_late,
            proven: choice.proven,
            cost: choice.cost,
            rack,
            limits,
            days,
            plantings,
        })
    }

    /// Whether all has its place and its day.
    pub fn fits(&self) -> bool {
        let fits = |week: &RackWeek| week.over == 0 && week.mats_over == 0;
        self.rack.iter().all(fits)
            && self.days.iter().all(|day| day.over == 0)
            && self.outside().next().is_none()
            && (self.too_late.is_empty() || self.is_over())
    }

    /// Plantings that are sown outside their windows, with their indexes.
    pub fn outside(&self) -> impl Iterator<Item = (usize, &Dated)> {
        self.plantings.iter().enumerate().filter(|(_, dated)| dated.outside != 0)
    }

    /// Whether all of it is planted out, or should be.
    pub fn is_over(&self) -> bool {
        self.too_late.iter().all(|late| late.why == Lateness::Over)
            && self.plantings.iter().all(|dated| dated.plant_out < self.today)
    }

    /// Whether nothing is left to sow or to pot on.
    pub fn is_sown(&self) -> bool {
        self.days.iter().all(|day| day.is_done && day.on <= self.today)
    }

    /// How many plantings are sown, and how many potted on.
    pub fn sown(&self) -> [u64; 2] {
        let potted = self.plantings.iter().filter(|dated| dated.pot.is_some());
        [self.plantings.len() as u64, potted.count() as u64]
    }

    /// Where the trays of each week stand, each with its places on the rack and in the frame, counted from zero.
    pub fn settled(&self) -> Vec<Vec<[Vec<usize>; 2]>> {
        settled(&self.rack, &self.limits)
    }
}

/// The places of a rack that are taken on a day before it fills any.
fn occupied(rack: Rack, groups: &[Group], frame: Option<&FramePlaces>, on: Date) -> u64 {
    let before = contents(groups, frame, number(on)).into_iter().filter(|standing| standing.on != on);
    rack.places.min(rack.occupied + before.map(|standing| standing.places).sum::<u64>())
}

/// See [`SeasonPlan::shelf`]. Pots stand close when they are filled; the fullest day of a week may be that on which a frame
/// closes.
fn heaviest_shelf(
    season: &Season,
    groups: &[Group],
    limits: &Limits,
    (days, weeks): (&[SownDay], &[RackWeek]),
    today: Date,
) -> Option<(Date, Shelf)> {
    let rack = season.loaded.week.rack.filter(|rack| rack.load.is_some());
    rack?;
    let weights: BTreeMap<Date, _> = days.iter().map(|day| (day.on, day.plan.tray_kg(&day.loaded.week))).collect();
    let filled = days.iter().map(|day| day.on.max(today));
    let on: BTreeSet<Date> = filled.chain(weeks.iter().map(|week| week.day)).collect();
    let shelves = on.into_iter().filter_map(|on| {
        let contents = contents(groups, limits.frame.as_ref(), number(on));
        let trays = contents.iter().flat_map(|one| {
            let kg = weights.get(&one.on).and_then(|of| of.get(&one.tray).copied().flatten());
            let (count, all) = (groups[one.number].count, one.places + one.framed);
            in_places((&one.tray, kg), count, one.places, all).into_iter().map(|(kg, places)| (&one.tray, kg, places))
        });
        Some((on, Shelf::of(rack, trays)?))
    });
    let weighs = |(_, shelf): &(Date, Shelf)| shelf.kg.map(|[.., most]| most);
    shelves.reduce(|one, other| {
        let (mut heavier, lighter) = if weighs(&other) > weighs(&one) { (other, one) } else { (one, other) };
        heavier.1.unknown.extend(lighter.1.unknown);
        heavier
    })
}

fn unstated(days: &[SownDay]) -> Vec<Unstated> {
    let mut all: Vec<Unstated> = Vec::new();
    for note in days.iter().filter(|day| !day.is_done).flat_map(|day| &day.plan.notes) {
        let Note::Unstated(one) = note else { continue };
        match all.iter_mut().find(|known| (&known.crops, &known.facts) == (&one.crops, &one.facts)) {
            Some(known) => known.trays += one.trays,
            None => all.push(one.clone()),
        }
    }
    all
}

/// What there is to do on all days, with the courses of coir in place of the baths of each day.
fn calendar(days: &[SownDay], coir: &[CoirCourse], today: Date) -> Vec<SeasonEntry> {
    let is_open = |day: &SownDay, entry: &Entry| !day.is_done || entry.at.date() >= today;
    let is_bath = |entry: &Entry| matches!(entry.task, Task::Soak { .. });
    let of_days = days.iter().enumerate().flat_map(|(at, day)| {
        let entries = day.plan.calendar.iter().filter(move |entry| is_open(day, entry) && !is_bath(entry));
        entries.map(move |entry| SeasonEntry { entry: entry.clone(), of: EntryOf::Day(at) })
    });
    let of_coir = coir.iter().enumerate().flat_map(|(at, course)| {
        let entries = soak_entries(&course.soaking).into_iter();
        entries.map(move |entry| SeasonEntry { entry, of: EntryOf::Course(at) })
    });
    let mut entries: Vec<SeasonEntry> = of_coir.chain(of_days).collect();
    entries.sort_by(|one, other| one.entry.at.cmp(&other.entry.at));
    entries
}
