//! What stands on the rack, on the mats and in the frame, day by day (design 9.4).

use std::collections::BTreeSet;
use std::ops::Range;

/// A day, counted from any one day that is the same for all.
pub type Day = i32;

/// Trays that stand somewhere from one day to another: those of a planting from its sowing, or its pots from potting
/// on, which are a stay of their own.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stay {
    /// The day it is sown or potted.
    pub from: Day,
    /// The day it leaves: from then on it takes no place.
    pub until: Day,
    /// Its own whole trays; each takes a place.
    pub trays: u64,
    /// From this day it takes so many places instead.
    pub spaced: Option<(Day, u64)>,
    /// Until this day, exclusive, each tray takes a mat.
    pub mat_until: Option<Day>,
    /// From this day it may stand in the frame: hardy crops three weeks after sowing, once they are up.
    pub frame_from: Option<Day>,
    /// Whether its first day is a day of work, to be counted, on which its trays are filled; not so where it stands
    /// already.
    pub work: bool,
}

/// What there is of places and hands. What is not stated has no limit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Limits {
    /// Places of the rack.
    pub places: Option<u64>,
    /// Places with heat.
    pub mats: Option<u64>,
    /// Trays that can be filled on one day.
    pub trays_a_day: Option<u64>,
    /// The cold frame, if there is one.
    pub frame: Option<FramePlaces>,
}

/// A cold frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FramePlaces {
    /// Its places.
    pub places: u64,
    /// When it is open: for each year a range of days. What stands there when it closes comes back to the rack.
    pub open: Vec<Range<Day>>,
}

impl FramePlaces {
    /// Its places on a day: none while it is closed.
    pub fn on(&self, day: Day) -> u64 {
        if self.open.iter().any(|open| open.contains(&day)) { self.places } else { 0 }
    }
}

/// What a stay takes, each with its own limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Takes {
    /// Places, on the rack or in the frame.
    Place,
    /// Of these, places of what must not go to the frame yet.
    Indoors,
    Mat,
    /// Trays to be filled that day.
    Hands,
}

impl Stay {
    /// What it takes, how much of it, and on which days; no range is empty.
    pub(super) fn takes(&self) -> impl Iterator<Item = (Takes, Range<Day>, u64)> {
        let clip = |day: Option<Day>| day.unwrap_or(self.until).clamp(self.from, self.until.max(self.from));
        let spaced = clip(self.spaced.map(|(day, _)| day));
        let places = self.spaced.map_or(self.trays, |(_, places)| places);
        let out = clip(self.frame_from);
        let mats = clip(self.mat_until.or(Some(self.from)));
        let work = self.from + Day::from(self.work);
        [
            (Takes::Place, self.from..spaced, self.trays),
            (Takes::Place, spaced..self.until, places),
            (Takes::Indoors, self.from..spaced.min(out), self.trays),
            (Takes::Indoors, spaced..out, places),
            (Takes::Mat, self.from..mats, self.trays),
            (Takes::Hands, self.from..work, self.trays),
        ]
        .into_iter()
        .filter(|(_, days, _)| !days.is_empty())
    }

    /// The places that it takes on a day, on the rack or in the frame.
    pub fn places_on(&self, day: Day) -> u64 {
        self.takes().filter(|(takes, days, _)| *takes == Takes::Place && days.contains(&day)).map(|(.., n)| n).sum()
    }
}

/// What a day holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Held {
    /// Places taken on the rack, also those that it does not have.
    pub rack: u64,
    /// Trays on mats, also on those that there are not.
    pub mats: u64,
    /// Places taken in the frame.
    pub frame: u64,
    /// Trays filled that day.
    pub filled: u64,
}

/// What is beyond a limit, if there is one.
pub(super) fn beyond(count: u64, limit: Option<u64>) -> u64 {
    limit.map_or(0, |limit| count.saturating_sub(limit))
}

/// What each day holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Occupancy {
    /// The first of the days.
    pub first: Day,
    /// From the first day on, each until the last stay leaves.
    pub days: Vec<Held>,
}

impl Occupancy {
    /// What these stays take. The frame, while it is open, takes in all that may go there as far as it has places,
    /// tray by tray, so how much stands in it is plain; [`in_frame`] says whose trays they are.
    ///
    /// ```
    /// use trayful::season::occupancy::{FramePlaces, Limits, Occupancy, Stay};
    /// let kale = Stay { from: 0, until: 5, trays: 4, spaced: None, mat_until: None, frame_from: Some(2), work: true };
    /// let frame = FramePlaces { places: 3, open: vec![3..100] };
    /// let occupancy = Occupancy::of([&kale], &Limits { frame: Some(frame), ..Limits::default() });
    /// let rack_and_frame: Vec<_> = occupancy.days.iter().map(|day| (day.rack, day.frame)).collect();
    /// assert_eq!(rack_and_frame, [(4, 0), (4, 0), (4, 0), (1, 3), (1, 3)]);
    /// ```
    pub fn of<'s>(stays: impl IntoIterator<Item = &'s Stay>, limits: &Limits) -> Self {
        let taken: Vec<_> = stays.into_iter().flat_map(Stay::takes).collect();
        let Some(first) = taken.iter().map(|(_, days, _)| days.start).min() else { return Self::default() };
        let last = taken.iter().map(|(_, days, _)| days.end).max().unwrap_or(first);
        let at = |day: Day| usize::try_from(day - first).unwrap_or(0);
        // What comes and goes each day, of each kind.
        let mut changes = vec![[(0, 0); 4]; at(last) + 1];
        for (takes, days, count) in taken {
            changes[at(days.start)][takes as usize].0 += count;
            changes[at(days.end)][takes as usize].1 += count;
        }
        let mut held = [0_u64; 4];
        let of_day = |(day, changes): (Day, [(u64, u64); 4])| {
            held.iter_mut().zip(changes).for_each(|(held, (comes, goes))| *held = *held + comes - goes);
            let [places, indoors, mats, filled] = held;
            let frame = limits.frame.as_ref().map_or(0, |frame| frame.on(day).min(places - indoors));
            Held { rack: places - frame, mats, frame, filled }
        };
        Self { first, days: (first..last).zip(changes).map(of_day).collect() }
    }

    /// Trays beyond the rack, the mats and the trays of a day, on each day.
    pub(super) fn over_each(&self, limits: &Limits) -> impl Iterator<Item = u64> {
        self.days.iter().map(|day| {
            beyond(day.rack, limits.places) + beyond(day.mats, limits.mats) + beyond(day.filled, limits.trays_a_day)
        })
    }
}

/// The places that each stay has in the frame on a day: first come first served. Of those that come on one day, as all do
/// that wait for it to open, the first sown, then the first to leave, then the smaller goes first.
pub fn in_frame(stays: &[&Stay], frame: &FramePlaces, day: Day) -> Vec<u64> {
    let mut left = frame.on(day);
    let opened = frame.open.iter().find(|open| open.contains(&day)).map(|open| open.start);
    let mut places = vec![0; stays.len()];
    let may = |&at: &usize| stays[at].frame_from.is_some_and(|from| from <= day);
    let mut order: Vec<usize> = (0..stays.len()).filter(may).collect();
    order.sort_by_key(|&at| (stays[at].frame_from.max(opened), stays[at]));
    for at in order {
        places[at] = stays[at].places_on(day).min(left);
        left -= places[at];
    }
    places
}

/// The days of work of these stays.
pub(super) fn work_days<'s>(stays: impl IntoIterator<Item = &'s Stay>) -> BTreeSet<Day> {
    stays.into_iter().filter(|stay| stay.work).map(|stay| stay.from).collect()
}
