//! The rack week by week, with its trays as they are shared.

use super::dates::{after, date, number};
use super::day::Stage;
use super::occupancy::{Day, FramePlaces, Limits, Occupancy, Stay, beyond, in_frame};
use super::planned::Season;
use super::sown_day::SownDay;
use super::windows::{Dated, stay};
use crate::catalogue::{Handle, Tray};
use crate::source::flow;
use jiff::civil::Date;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// A week of the rack, by its fullest day.
#[derive(Clone, Debug)]
pub struct RackWeek {
    /// Its Monday.
    pub from: Date,
    /// Its fullest day: the first on which most places of the rack are taken.
    pub day: Date,
    /// Places of the rack that are taken on that day, also those that it does not have.
    pub trays: u64,
    /// Of these, so many beyond the rack.
    pub over: u64,
    /// Trays on mats, on the day of the week that has most of them.
    pub mats: u64,
    /// Of these, so many beyond the mats.
    pub mats_over: u64,
    /// Places of the frame that are taken on the fullest day.
    pub frame: u64,
    /// What stands there on the fullest day, as it stands: what is on mats first, then by the day on which it was sown.
    pub contents: Vec<Standing>,
}

/// Trays that stand together: those of one sowing, or those that some sowings share.
#[derive(Clone, Debug)]
pub struct Standing {
    /// The same trays have the same number in each week.
    pub number: usize,
    /// What is in them.
    pub sown: Vec<Stage>,
    /// The kind of tray, or pot.
    pub tray: Handle<Tray>,
    /// The day on which they were filled.
    pub on: Date,
    /// Places that they take on the rack.
    pub places: u64,
    /// Places that they take in the frame.
    pub framed: u64,
    /// They stand on mats.
    pub on_mats: bool,
}

/// A cold spring is so many days late.
const LATE: i32 = 7;
/// A cold spring holds up what goes out up to so many days after the average last frost. A judgement.
const SPRING_DAYS: i32 = 28;

/// Trays that come and go together, with what they take.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub sown: Vec<Stage>,
    pub tray: Handle<Tray>,
    /// Trays, or pots.
    pub count: u64,
    pub stay: Stay,
}

/// The trays of all days. A shared tray stands until the last crop in it leaves.
pub(super) fn groups(season: &Season, plantings: &[Dated], days: &[SownDay], today: Date) -> Vec<Group> {
    let words: Vec<String> = season.sowings.iter().map(|planned| flow(&planned.entry)).collect();
    let mut groups: Vec<Group> = days.iter().flat_map(|day| groups_of(season, plantings, day, today)).collect();
    // The order of the file decides nothing.
    groups.sort_by_cached_key(|group| {
        let of =
            group.sown.iter().map(|sown| (&words[plantings[sown.planting].sowing], plantings[sown.planting].number));
        (group.stay.from, of.min())
    });
    groups
}

/// A kind of pot, the day on which it leaves, and whether plants are potted on in it.
type LeavingPots<'d> = (&'d Handle<Tray>, Option<Date>, bool);

fn groups_of(season: &Season, plantings: &[Dated], day: &SownDay, today: Date) -> Vec<Group> {
    let sowings = &day.loaded.week.sowings;
    let mut trays: BTreeMap<(Vec<u32>, Option<Date>), u64> = BTreeMap::new();
    // Pots of a kind stand in the same carrying trays where they leave together.
    let mut pots: BTreeMap<LeavingPots<'_>, (Vec<u32>, u64)> = BTreeMap::new();
    for (members, count) in day.plan.mixes.layout.by_sowings() {
        let first = members[0] as usize;
        let sowing = &sowings[first];
        if sowing.tray.pot {
            let (all, pots) = pots.entry((&sowing.tray, sowing.leaves, day.sown[first].potted)).or_default();
            all.extend(members);
            *pots += count;
        } else {
            trays.insert((members, None), count);
        }
    }
    trays.extend(pots.into_iter().map(|((_, leaves, _), (members, count))| ((members, leaves), count)));
    let group = |((members, _), count): ((Vec<u32>, Option<Date>), u64)| {
        let sown: Vec<Stage> = members.iter().map(|index| day.sown[*index as usize]).collect();
        let stays = sown.iter().map(|sown| stay(season, &plantings[sown.planting], sown.potted, count, today));
        let stay = stays.reduce(|one, other| Stay {
            until: one.until.max(other.until),
            mat_until: one.mat_until.max(other.mat_until),
            frame_from: one.frame_from.zip(other.frame_from).map(|(one, other)| one.max(other)),
            ..one
        })?;
        Some(Group { sown, tray: sowings[members[0] as usize].tray.clone(), count, stay })
    };
    trays.into_iter().filter_map(group).filter(|group| group.stay.trays > 0).collect()
}

/// The weeks of the rack from a day on, those in between with nothing on it too, without what stands there.
pub(super) fn weeks(groups: &[Group], limits: &Limits, today: Date) -> Vec<RackWeek> {
    let occupancy = Occupancy::of(groups.iter().map(|group| &group.stay), limits);
    let end = occupancy.first + Day::try_from(occupancy.days.len()).unwrap_or(0);
    let first = monday(date(occupancy.first.max(number(today).min(end))));
    let held = |day: Day| usize::try_from(day - occupancy.first).ok().and_then(|at| occupancy.days.get(at).copied());
    let week = |from: Day| {
        // What is over is over.
        let days = (from.max(number(today).min(end - 1))..from + 7).filter_map(|day| Some((day, held(day)?)));
        let (day, fullest) = days.clone().rev().max_by_key(|(_, held)| held.rack)?;
        let mats = days.map(|(_, held)| held.mats).max()?;
        Some(RackWeek {
            from: date(from),
            day: date(day),
            trays: fullest.rack,
            over: beyond(fullest.rack, limits.places),
            mats,
            mats_over: beyond(mats, limits.mats),
            frame: fullest.frame,
            contents: Vec::new(),
        })
    };
    (number(first)..end).step_by(7).filter_map(week).collect()
}

/// What stands on a day.
pub(super) fn contents(groups: &[Group], frame: Option<&FramePlaces>, day: Day) -> Vec<Standing> {
    let there = groups.iter().enumerate().filter(|(_, group)| group.stay.places_on(day) > 0);
    let there: Vec<(usize, &Group)> = there.collect();
    let stays: Vec<&Stay> = there.iter().map(|(_, group)| &group.stay).collect();
    let framed = frame.map_or_else(|| vec![0; stays.len()], |frame| in_frame(&stays, frame, day));
    let standing = |((number, group), framed): (&(usize, &Group), u64)| Standing {
        number: *number,
        sown: group.sown.clone(),
        tray: group.tray.clone(),
        on: date(group.stay.from),
        places: group.stay.places_on(day) - framed,
        framed,
        on_mats: group.stay.mat_until.is_some_and(|until| day < until),
    };
    let mut contents: Vec<Standing> = there.iter().zip(framed).map(standing).collect();
    contents.sort_by_key(|standing| (!standing.on_mats, standing.on));
    contents
}

/// Where the trays of each week stand, each with its places on the rack and in the frame, counted from zero. They keep
/// their places for as long as they stand there; what comes takes the first that are free.
pub(super) fn settled(weeks: &[RackWeek], limits: &Limits) -> Vec<Vec<[Vec<usize>; 2]>> {
    let places = [limits.places, limits.frame.as_ref().map(|frame| frame.places)];
    let places = places.map(|places| places.and_then(|places| usize::try_from(places).ok()).unwrap_or(usize::MAX));
    let mut held = [const { BTreeMap::new() }; 2];
    let week = |week: &RackWeek| {
        let each = |standing: &Standing| (standing.number, [standing.places, standing.framed]);
        let wanted: Vec<(usize, [u64; 2])> = week.contents.iter().map(each).collect();
        for (at, held) in held.iter_mut().enumerate() {
            let wanted = wanted.iter().map(|(number, counts)| (*number, usize::try_from(counts[at]).unwrap_or(0)));
            *held = settle(held, wanted.collect(), places[at]);
        }
        wanted.iter().map(|(number, _)| held.each_ref().map(|held| held[number].clone())).collect()
    };
    weeks.iter().map(week).collect()
}

/// The places of trays that want so many, by their numbers. What stands beyond the places there are moves up.
fn settle(
    held: &BTreeMap<usize, Vec<usize>>,
    wanted: Vec<(usize, usize)>,
    places: usize,
) -> BTreeMap<usize, Vec<usize>> {
    let kept = |(number, count): &(usize, usize)| {
        let kept = held.get(number).into_iter().flatten().copied().filter(|at| *at < places);
        kept.take(*count).collect::<Vec<usize>>()
    };
    let kept: Vec<Vec<usize>> = wanted.iter().map(kept).collect();
    let taken: BTreeSet<usize> = kept.iter().flatten().copied().collect();
    let mut free = (0..).filter(|at| !taken.contains(at));
    let all = wanted.into_iter().zip(kept);
    all.map(|((number, count), mut at)| {
        let more = count - at.len();
        at.extend(free.by_ref().take(more));
        (number, at)
    })
    .collect()
}

/// The weeks, by their Mondays, in which a cold spring leaves more trays beyond the rack than there are now, and how many
/// more: what is planted out in spring, up to four weeks after the average last frost, is planted out a week later. Without
/// frost dates that is everything. `None` where all goes out long after it.
pub(super) fn cold_spring(
    season: &Season,
    plantings: &[Dated],
    (days, rack): (&[SownDay], &[RackWeek]),
    limits: &Limits,
    today: Date,
) -> Option<Vec<(Date, u64)>> {
    let frost = season.loaded.week.standing.frost;
    let is_of_spring = |dated: &Dated| match frost.last_of_spring(dated.plant_out) {
        Some(last) => (dated.plant_out - last).get_days() < SPRING_DAYS,
        None => frost.last.is_none(),
    };
    plantings.iter().find(|dated| dated.plant_out > today && is_of_spring(dated))?;
    let late = |leaves: Date| if leaves > today { after(leaves, LATE) } else { leaves };
    let mut plantings = plantings.to_vec();
    plantings.iter_mut().filter(|dated| is_of_spring(dated)).for_each(|dated| dated.leaves = late(dated.leaves));
    let weeks = weeks(&groups(season, &plantings, days, today), limits, today);
    let more = |week: RackWeek| {
        let now = rack.iter().find(|now| now.from == week.from).map_or(0, |now| now.over);
        (week.over > now).then(|| (week.from, week.over - now))
    };
    Some(weeks.into_iter().filter_map(more).collect())
}

/// The most trays that are hardened on one day from a day on: the Monday before the first such day, and their places.
pub(super) fn hardening(plantings: &[Dated], groups: &[Group], today: Date) -> Option<(Date, u64)> {
    let outside = |Group { sown, stay, .. }: &Group| {
        let of = sown.iter().map(|sown| (&plantings[sown.planting], sown.potted));
        let out = of.filter(|(dated, potted)| *potted || dated.pot.is_none()).map(|(dated, _)| number(dated.plant_out));
        let until = out.max().filter(|out| stay.until < *out)?;
        let trays = stay.spaced.filter(|(day, _)| *day < stay.until).map_or(stay.trays, |(_, places)| places);
        let outside =
            Stay { from: stay.until, until, trays, spaced: None, mat_until: None, frame_from: None, work: false };
        Some(outside)
    };
    let stays: Vec<Stay> = groups.iter().filter_map(outside).collect();
    let occupancy = Occupancy::of(&stays, &Limits::default());
    let days = (occupancy.first..).zip(&occupancy.days).filter(|(day, _)| *day >= number(today));
    let (most, Reverse(day)) = days.map(|(day, held)| (held.rack, Reverse(day))).max()?;
    (most > 0).then(|| (monday(date(day)), most))
}

/// The Monday of the week of a day.
fn monday(day: Date) -> Date {
    after(day, -i32::from(day.weekday().to_monday_zero_offset()))
}
