//! When trays go to the cold frame, as the rack table counts on it.

use super::dates::date;
use super::day::{Framed, Stage};
use super::occupancy::{FramePlaces, Stay, in_frame};
use super::rack::Group;
use super::windows::Dated;
use crate::plan::Plan;
use crate::week::Week;
use std::sync::Arc;

/// When all goes to the frame of which these are the trays. What leaves a shared tray before that does not go.
pub(super) fn framed(plantings: &[Dated], groups: &[Group], frame: &FramePlaces) -> Framed {
    let mut first = Framed::new();
    let begins = groups.iter().filter_map(|group| group.stay.frame_from).min();
    let ends = groups.iter().map(|group| group.stay.until).max();
    let days = begins.zip(ends).map_or(0..0, |(begins, ends)| begins..ends);
    for day in days.filter(|day| frame.on(*day) > 0) {
        let there: Vec<&Group> = groups.iter().filter(|group| group.stay.places_on(day) > 0).collect();
        let stays: Vec<&Stay> = there.iter().map(|group| &group.stay).collect();
        let comes = there.iter().zip(in_frame(&stays, frame, day)).filter(|(_, places)| *places > 0);
        let stays = |sown: &&Stage| date(day) < plantings[sown.planting].ends(sown.potted);
        for sown in comes.flat_map(|(group, _)| &group.sown).filter(stays) {
            first.entry(*sown).or_insert_with(|| date(day));
        }
    }
    first
}

/// Says of a week, of which each sowing is one of these, and of its plan when its trays go to the frame.
pub(super) fn tell_framed((week, plan): (&mut Week, &mut Plan), sown: &[Stage], framed: &Framed) {
    for (sowing, sown) in week.sowings.iter_mut().zip(sown).filter(|(_, sown)| framed.contains_key(sown)) {
        Arc::make_mut(&mut sowing.terms).to_frame = framed.get(sown).copied();
    }
    plan.date_anew(week);
}
