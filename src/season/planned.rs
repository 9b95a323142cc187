//! What a season plans: its sowings with the days on which their plants go out.

use super::dates::{PlantOut, after};
use crate::catalogue::{Handle, Ingredient, Status};
use crate::diagnostic::Rejected;
use crate::moment::YEARS;
use crate::place::Frost;
use crate::recipe::{MixFor, Work};
use crate::source::Node;
use crate::week::{Faults, Loaded, Place, Sowing, SowingAmount};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::PathBuf;

/// The most plantings of a season: the days of each are looked at one by one.
const MOST_PLANTINGS: usize = 10_000;
/// The years that a season may last: each of its weeks is looked at.
const MOST_YEARS: i16 = 10;
/// The widest window, in days: none is so uncertain.
const WIDEST: i32 = 366;
/// Days either way of the middle where a range of weeks has less than one.
const NEAR: i32 = 4;

/// A checked season, and the tables it was checked against.
#[derive(Debug)]
pub struct Season {
    /// As a week that has no day: its sowings, in the order of the file, and after them what is potted on.
    pub loaded: Loaded,
    /// What is planned of each sowing, in the order of the file.
    pub sowings: Vec<Planned>,
    /// Its days whose mixes were taken out of the stock, where there is a log of that.
    pub taken: Option<BTreeSet<Date>>,
    /// The zone of its times, where it names none.
    pub(super) zone: fn() -> TimeZone,
    /// Its folder.
    pub(super) folder: PathBuf,
    /// The keys that its weeks have too.
    pub(super) head: Vec<(String, Node<'static>)>,
    /// The path of its place, from its folder.
    pub(super) place: Option<String>,
    /// The recipe files that it names, by how it names them, as paths from its folder.
    pub(super) recipes: BTreeMap<String, String>,
}

impl Season {
    /// Whether it goes by a place.
    pub fn has_place(&self) -> bool {
        self.place.is_some()
    }

    /// An ingredient of one of its days, as the season's own catalogue has it.
    pub(super) fn known(&self, id: &Handle<Ingredient>) -> Handle<Ingredient> {
        self.loaded.catalogue.ingredients.find(&id.name).unwrap_or_else(|| id.clone())
    }
}

/// A sowing with its days, all its plantings if it is a succession.
#[derive(Clone, Debug)]
pub struct Planned {
    /// When each planting goes out, in order.
    pub plant_out: Vec<Date>,
    /// It is stated: else it follows from the first day on which it is sown.
    pub(super) out_stated: bool,
    /// Days from sowing to planting out, least and most.
    pub days: [i32; 2],
    /// The days on which its first plantings are sown, whatever else may be.
    pub sow: Vec<Date>,
    /// Days of hardening before it is planted out.
    pub harden: i32,
    /// What is potted on of it.
    pub then: Option<PotOn>,
    /// What its weeks say of it.
    pub(super) entry: Node<'static>,
}

/// Plants that are potted on.
#[derive(Clone, Debug)]
pub struct PotOn {
    /// The index of the pots among the sowings of the season's week.
    pub sowing: usize,
    /// Days after sowing, at the least; known unless every day is fixed.
    pub after: Option<i32>,
    /// The days on which the first plantings are potted on, whatever else may be.
    pub on: Vec<Date>,
    /// Whether its plugs hold an inoculant, of a crop that may have one, where the file does not say.
    pub(super) inoculated: Option<bool>,
    /// What its weeks say of it.
    pub(super) entry: Node<'static>,
}

/// What is known of a season when its days are chosen.
#[derive(Clone, Debug)]
pub(super) struct Known {
    /// The first day on which anything can be done.
    pub from: Date,
    /// Of what was entered on these days nothing is known.
    pub unknown: Range<Date>,
    /// The day on which that is told.
    pub today: Date,
}

impl Known {
    /// All that is known on a day.
    pub fn on(today: Date) -> Self {
        Self { from: today, unknown: today..today, today }
    }
}

impl Planned {
    /// The days on which its first plantings are sown, but for what was entered on some days.
    pub(super) fn fixed(&self, unknown: &Range<Date>) -> &[Date] {
        if self.out_stated { before(&self.sow, unknown) } else { &self.sow }
    }
}

impl PotOn {
    /// The days on which the first plantings are potted on, but for what was entered on some days.
    pub(super) fn fixed(&self, unknown: &Range<Date>) -> &[Date] {
        if self.after.is_some() { before(&self.on, unknown) } else { &self.on }
    }
}

/// The first of some days in order, up to those that are not known; all, if it goes on after them.
fn before<'d>(days: &'d [Date], unknown: &Range<Date>) -> &'d [Date] {
    let goes_on = days.last().is_some_and(|day| *day >= unknown.end);
    if goes_on { days } else { &days[..days.partition_point(|day| *day < unknown.start)] }
}

/// What the file says of the days of a sowing.
pub(super) struct Stated {
    pub out: Option<PlantOut>,
    pub out_at: Place,
    pub sow: Vec<Date>,
    pub sow_at: Place,
    pub weeks: Option<(u32, u32)>,
    pub weeks_at: Place,
    pub harden: Option<i32>,
    pub harden_at: Place,
    pub again: Vec<i32>,
    pub then: Option<StatedPot>,
    pub entry: Node<'static>,
}

/// The same of what is potted on.
pub(super) struct StatedPot {
    pub sowing: Sowing,
    pub after: Option<i32>,
    pub after_at: Place,
    pub on: Vec<Date>,
    pub on_at: Place,
    pub entry: Node<'static>,
}

impl Stated {
    /// Days from sowing to planting out: as stated, or those of the crop table, which are not for plants that come
    /// as plugs.
    fn days(&self, sowing: &Sowing) -> Option<[i32; 2]> {
        let of_crop = || sowing.crop.as_ref()?.weeks.filter(|_| !matches!(sowing.amount, SowingAmount::Potted(_)));
        let (least, most) = self.weeks.or_else(of_crop)?;
        let [least, most] = [least, most].map(|weeks| i32::try_from(7 * weeks).unwrap_or(i32::MAX));
        let middle = i32::midpoint(least, most);
        Some(if most - least < 7 { [middle - NEAR, middle + NEAR] } else { [least, most] })
    }

    /// Every full day that it names.
    fn days_named(&self) -> impl Iterator<Item = Date> + '_ {
        let out = match self.out {
            Some(PlantOut::On(day)) => Some(day),
            _ => None,
        };
        out.into_iter().chain(self.sow.iter().chain(self.then.iter().flat_map(|pot| &pot.on)).copied())
    }
}

/// The season with its plans, or what of them cannot be.
///
/// # Errors
/// [`Rejected`] with every fault.
pub(super) fn planned(mut season: Season, stated: Vec<Stated>, year: Option<i16>) -> Result<Season, Rejected> {
    let mut faults = Faults::default();
    let frost = season.loaded.week.standing.frost;
    let year = year.or_else(|| stated.iter().flat_map(Stated::days_named).map(Date::year).min());
    let (mut plantings, work) = (0, Work::default());
    for (index, stated) in stated.into_iter().enumerate() {
        let before = plantings;
        plantings += 1 + stated.again.len();
        if before <= MOST_PLANTINGS && plantings > MOST_PLANTINGS {
            let what = format!("this is the planting after the first {MOST_PLANTINGS}");
            faults.push(&season.loaded.week.sowings[index].place, what, "fewer, or a second season");
        }
        let sowing = &season.loaded.week.sowings[index];
        let Some(mut planned) = plan(&stated, sowing, frost, year, &mut faults) else { continue };
        if let Some(pot) = stated.then {
            check_pot(&pot, &planned, &mut faults);
            let index = season.loaded.week.sowings.len();
            let inoculated = match pot.sowing.inoculated_plugs {
                Some(_) => None,
                None => has_inoculant(&season.loaded, sowing, &work),
            };
            planned.then = Some(PotOn { sowing: index, after: pot.after, on: pot.on, inoculated, entry: pot.entry });
            season.loaded.week.sowings.push(pot.sowing);
        }
        season.sowings.push(planned);
    }
    check_years(&season, &mut faults);
    faults.settle().map(|()| season)
}

/// Whether a crop that may have an inoculant is sown into a mix with one.
fn has_inoculant(Loaded { week, catalogue, .. }: &Loaded, sowing: &Sowing, work: &Work) -> Option<bool> {
    let crop = sowing.crop.as_ref().filter(|crop| crop.mycorrhiza == Status::Host)?;
    let mix_for = MixFor { crop: Some(crop), tray: Some(&sowing.tray), inoculant: sowing.inoculant, in_plugs: false };
    let mix = week.recipe(sowing.recipe).variant(&week.wanted, mix_for, catalogue, work);
    Some(mix.ok()?.composition.is_inoculated())
}

/// The days of one sowing; `None` where they are not known.
fn plan(stated: &Stated, sowing: &Sowing, frost: Frost, year: Option<i16>, faults: &mut Faults) -> Option<Planned> {
    let days = stated.days(sowing);
    let first = match (stated.out, stated.sow.first()) {
        (Some(PlantOut::On(day)), _) => Some(day),
        (Some(PlantOut::Frost { last, days }), _) => {
            let Some(year) = year else {
                let what = "no year is known for the frost".to_owned();
                faults.push(&stated.out_at, what, "`year: 2027` in the season, or a full day in one of its sowings");
                return None;
            };
            let frost = if last { frost.last } else { frost.first };
            frost.and_then(|frost| frost.in_year(year)).map(|frost| after(frost, days))
        }
        (None, Some(sow)) => days.map(|[least, most]| after(*sow, i32::midpoint(least, most))),
        (None, None) => None,
    };
    let all_fixed = stated.out.is_some() && stated.sow.len() > stated.again.len();
    let days = days.or_else(|| all_fixed.then_some([1, 1]));
    let (Some([least, most]), Some(first)) = (days, first) else {
        let what = format!("how long {} is raised is not known", sowing.name());
        faults.push(&sowing.place, what, "`weeks:` from sowing to planting out, such as `weeks: 6-8`");
        return None;
    };
    let plant_out: Vec<Date> = std::iter::once(first)
        .chain(stated.again.iter().scan(first, |day, days| {
            *day = after(*day, *days);
            Some(*day)
        }))
        .collect();
    let of_crop = sowing.crop.as_ref().map_or(0, |crop| crop.hardening_days());
    let harden = stated.harden.unwrap_or(of_crop.into());
    let entry = stated.entry.clone();
    let (days, sow) = ([least, most], stated.sow.clone());
    let planned = Planned { plant_out, out_stated: stated.out.is_some(), days, sow, harden, then: None, entry };
    check(stated, &planned, faults);
    Some(planned)
}

/// That it lasts no longer than it may.
fn check_years(season: &Season, faults: &mut Faults) {
    let mut years: Option<(i16, i16)> = None;
    for (planned, sowing) in season.sowings.iter().zip(&season.loaded.week.sowings) {
        let (out, sow) = (&planned.plant_out, planned.sow.first().copied());
        let first = sow.unwrap_or_else(|| after(out[0], -planned.days[1])).year();
        let last = out[out.len() - 1].year();
        let (first, last) = years.map_or((first, last), |(from, to)| (from.min(first), to.max(last)));
        if last - first > MOST_YEARS {
            let what = format!("with this the season runs from {first} to {last}");
            return faults.push(&sowing.place, what, "no more than ten years: a season for each");
        }
        years = Some((first, last));
    }
}

/// What of the days of a sowing cannot be.
fn check(stated: &Stated, planned: &Planned, faults: &mut Faults) {
    let [least, most] = planned.days;
    let ends = [after(planned.plant_out[0], -most), *planned.plant_out.last().unwrap_or(&planned.plant_out[0])];
    if ends.iter().any(|day| !YEARS.contains(&day.year())) {
        let what = format!("this is raised from {} to {}", ends[0], ends[1]);
        faults.push(&stated.out_at, what, format!("days within the years {} to {}", YEARS.start(), YEARS.end()));
    }
    if most - least > WIDEST {
        let what = format!("between {least} and {most} days of raising lies more than a year");
        faults.push(&stated.weeks_at, what, "`weeks:` that are less apart");
    }
    if stated.harden.is_some_and(|days| days >= least) && planned.sow.is_empty() {
        let what =
            format!("{} days of hardening leave none of the {least} from sowing to planting out", planned.harden);
        faults.push(&stated.harden_at, what, "fewer days");
    }
    check_fixed(&planned.sow, "sow", &stated.sow_at, planned, faults);
    if let Some((sow, out)) = planned.sow.iter().zip(&planned.plant_out).find(|(sow, out)| sow >= out) {
        let what = format!("this is planted out on {out}, and not sown before {sow}");
        faults.push(&stated.out_at, what, "a day after it is sown");
    }
}

/// What of the days that are fixed for the first plantings cannot be.
fn check_fixed(days: &[Date], key: &str, at: &Place, planned: &Planned, faults: &mut Faults) {
    let plantings = planned.plant_out.len();
    if days.len() > plantings {
        let are =
            if plantings == 1 { "is only 1 planting".to_owned() } else { format!("are only {plantings} plantings") };
        let what = format!("`{key}:` has {} days, and there {are}", days.len());
        faults.push(at, what, "a day for each of the first plantings, or more of them by `again:`");
    }
    // What was sown on two days may be potted on on one.
    if days.windows(2).any(|pair| pair[0] > pair[1] || pair[0] == pair[1] && key == "sow") {
        faults.push(at, format!("the days of `{key}:` are not in order"), "each day after the one before it");
    }
}

/// What of potting on cannot be.
fn check_pot(pot: &StatedPot, planned: &Planned, faults: &mut Faults) {
    check_fixed(&pot.on, "on", &pot.on_at, planned, faults);
    let fixed = pot.on.iter().zip(&planned.plant_out).enumerate();
    for (index, (on, out)) in fixed {
        if on >= out || planned.sow.get(index).is_some_and(|sow| on <= sow) {
            let what = format!("{on} is no day between sowing and planting out on {out}");
            faults.push(&pot.on_at, what, "a day after sowing and before planting out");
        }
    }
    let open = planned.plant_out.iter().enumerate().skip(pot.on.len());
    for (index, out) in open {
        let Some(days) = pot.after else {
            let what = format!(
                "of {} plantings, `then:` says of {} when they are potted on",
                planned.plant_out.len(),
                pot.on.len()
            );
            faults.push(&pot.on_at, what, "`after: 4 weeks` beside it, or a day for each");
            return;
        };
        // What is sown already stays: a plan tells that it cannot be potted on.
        if planned.sow.get(index).is_none() && planned.days[1] <= days {
            let what = format!("potting on {days} days after sowing comes after planting out on {out}");
            faults.push(&pot.after_at, what, "fewer days, or more `weeks:` from sowing to planting out");
            return;
        }
    }
}
