//! When trays go to the cold frame, as the rack table counts on it.

use super::dates::date;
use super::occupancy::{FramePlaces, Stay, in_frame};
use super::planned::Season;
use super::rack::{Group, groups};
use super::sown_day::SownDay;
use super::windows::{Dated, Windows};
use crate::catalogue::{Crop, Handle};
use crate::diagnostic::Rejected;
use crate::moment::Moment;
use crate::plan::{Deed, Entry, Task};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

impl Season {
    /// When what is sown or potted on on a day goes to the cold frame, with the days of all plantings.
    ///
    /// # Errors
    /// [`Rejected`] where the days leave too much open.
    pub fn to_frame_on(
        &self,
        plantings: &[Dated],
        days: &[SownDay],
        on: Date,
        today: Date,
    ) -> Result<Vec<Entry>, Rejected> {
        let Some(frame) = Windows::of(self, today)?.limits(self).frame else { return Ok(Vec::new()) };
        let groups = groups(self, plantings, days, today);
        let day = days.iter().find(|day| day.on == on);
        Ok(day.map(|day| entries(day, &groups, &first_framed(&groups, &frame))).unwrap_or_default())
    }
}

/// Enters into the calendars of all days when their trays go to the frame.
pub(super) fn enter_to_frame(days: &mut [SownDay], groups: &[Group], frame: &FramePlaces) {
    let first = first_framed(groups, frame);
    for day in days {
        let entries = entries(day, groups, &first);
        day.plan.enter(entries);
    }
}

/// The first day on which some of the trays of a group stand in the frame, by the index of the group.
fn first_framed(groups: &[Group], frame: &FramePlaces) -> BTreeMap<usize, Date> {
    let mut first = BTreeMap::new();
    let begins = groups.iter().filter_map(|group| group.stay.frame_from).min();
    let ends = groups.iter().map(|group| group.stay.until).max();
    let days = begins.zip(ends).map_or(0..0, |(begins, ends)| begins..ends);
    for day in days.filter(|day| frame.on(*day) > 0) {
        let there = groups.iter().enumerate().filter(|(_, group)| group.stay.places_on(day) > 0);
        let (at, stays): (Vec<usize>, Vec<&Stay>) = there.map(|(at, group)| (at, &group.stay)).unzip();
        for (at, _) in at.into_iter().zip(in_frame(&stays, frame, day)).filter(|(_, places)| *places > 0) {
            first.entry(at).or_insert_with(|| date(day));
        }
    }
    first
}

/// The same of what is sown or potted on on a day.
fn entries(day: &SownDay, groups: &[Group], first: &BTreeMap<usize, Date>) -> Vec<Entry> {
    let Some(mix) = day.plan.mix_on.as_ref().and_then(Moment::zoned) else { return Vec::new() };
    let mut moved: BTreeMap<Date, BTreeSet<Handle<Crop>>> = BTreeMap::new();
    for (at, on) in first.iter().filter(|(at, _)| date(groups[**at].stay.from) == day.on) {
        let sown = day.sown.iter().zip(&day.loaded.week.sowings);
        let crops =
            sown.filter(|(sown, _)| groups[*at].sown.contains(sown)).filter_map(|(_, sowing)| sowing.crop.clone());
        moved.entry(*on).or_default().extend(crops);
    }
    let entry = |(on, crops): (Date, BTreeSet<Handle<Crop>>)| {
        let at = mix.checked_add(on - day.on).ok()?;
        Some(Entry { at, task: Task::Crops { deed: Deed::ToFrame, crops: crops.into_iter().collect() } })
    };
    moved.into_iter().filter(|(_, crops)| !crops.is_empty()).filter_map(entry).collect()
}
