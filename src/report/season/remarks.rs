//! What is to be said of a season: what does not fit and what would help, and what else to know.

use super::{SeasonReport, in_weeks};
use crate::catalogue::{Frost, Role};
use crate::plan::{Note, Warning};
use crate::report::behaviour::heavy_shelf;
use crate::report::buying;
use crate::report::plan::{PlanReport, note};
use crate::report::remark::{Remark, remark};
use crate::report::words::{and, count, day_and_hour, fits, log_unread, not_entered, short_date};
use crate::season::{CoirCourse, Dated, Doubt, Help, Lateness, RackWeek, TooLate};
use crate::units::UnitSystem;
use jiff::civil::Date;

const PROVEN: [&str; 2] = [
    "proven",
    "Proven best: first the least overflow, then the fewest days, then each sowing nearest to the middle of its weeks.",
];
const NOT_PROVEN: [&str; 2] =
    ["not-proven", "These days are the best that were found; that no others are better is not proven."];
const NO_FROST: &str = "No last frost is stated, so nothing tells whether tender plants go out too early: `frost: {last: 10 May}` in the place or \
                        the season.";
const NO_RACK: &str =
    "No rack is stated, so nothing can overflow: `rack: {shelves: 3, trays_per_shelf: 4}` in the place or the season.";

/// So many plantings that are over are named; JSON names all.
const NAMED: usize = 3;

/// A season says that soaked coir is too old where no day uses any, or the first that is left cannot use it.
const SOAKED_UNUSED: &str = "soaked-coir-unused";
/// What a day warns of that is to be known before it: the rest is of its bench, or said of the season by itself.
const OF_DAYS: [&str; 21] = [
    "dose-as-part",
    "much-mix",
    "no-lime",
    "odd-cell",
    "off-ph",
    "phosphorus-with-inoculant",
    "rich",
    "salty",
    "short-yield",
    "soak-fails",
    "soak-out-of-reach",
    "soak-unsaid",
    SOAKED_UNUSED,
    "strong-dose",
    "taken-as-covered",
    "top-too-deep",
    "unlimed-peat",
    "wanted-ph-missed",
    "wants-acid",
    "waterlogged",
    "while-away",
];

impl SeasonReport<'_> {
    /// What is over, outside its window or too late, and what would help; what stands no frost.
    pub(super) fn cautions(&self, units: UnitSystem) -> Vec<Remark> {
        let plan = self.plan;
        let unread = self.log_unread.as_ref().map(|why| Remark::new("log-unread", log_unread(why)));
        let not_entered = self.not_entered.iter().map(|day| Remark::new("not-entered", not_entered(*day)));
        let mut cautions: Vec<Remark> = unread.into_iter().chain(not_entered).chain(self.unready(units)).collect();
        let mut over = |code, what: &str, over: fn(&RackWeek) -> u64| {
            let weeks = plan.rack.iter().map(|week| (week.from, over(week))).filter(|(_, over)| *over > 0);
            let weeks: Vec<(Date, u64)> = weeks.collect();
            if !weeks.is_empty() {
                cautions.push(remark!(code, "Too few {what}: short by {}.", in_weeks(&weeks)));
            }
        };
        over("rack-overflow", "places on the rack", |week| week.over);
        over("mats-overflow", "mats", |week| week.mats_over);
        cautions.extend(plan.shelf.as_ref().and_then(|(day, shelf)| heavy_shelf(shelf, Some(*day), units)));
        for day in plan.days.iter().filter(|day| day.over > 0) {
            let (trays, over) = (count(day.trays, "tray is", "trays are"), day.over);
            cautions.push(remark!(
                "trays-a-day",
                "On {} {trays} filled, {over} more than `trays_a_day:`.",
                short_date(day.on)
            ));
        }
        cautions.extend(plan.outside().map(|(planting, dated)| {
            let (name, sow, out) = (self.name(planting), short_date(dated.sow), short_date(dated.plant_out));
            let far = by(dated.outside, "after", "before");
            remark!(
                "outside-weeks",
                "{name} for {out} has no possible day in its weeks: it is sown on {sow}, {far} them."
            )
        }));
        let late = together(plan.too_late.iter().map(|late| self.late(late))).into_iter();
        cautions.extend(late.map(|(late, mut names)| {
            // What is over wants no hands.
            if late.code == "over" && names.len() > 1 + NAMED {
                let more = names.split_off(NAMED).len();
                names.push(format!("{more} more"));
            }
            Remark::new(late.code, late.text.replace("{}", &and(names)))
        }));
        cautions.extend(self.helps());
        cautions.extend(self.doubts(is_caution));
        cautions.extend(self.of_days(units));
        cautions
    }

    /// Why something cannot be done any more, and what to do, with `{}` for what it is; and what it is.
    pub(super) fn late(&self, late: &TooLate) -> (Remark, String) {
        let name = self.season.loaded.week.sowings[late.sowing].name();
        let planned = &self.season.sowings[late.sowing];
        let out = planned.plant_out[late.number];
        let name = format!("{name} for {}", short_date(out));
        let [and_pot, or_on] =
            if planned.then.is_some() { [" and potting on", ", with one under `then:` (`on: DATE`)"] } else { [""; 2] };
        let is_ahead = (out - self.plan.today).get_days() >= planned.days[0];
        let (code, text) = match late.why {
            Lateness::Missed if is_ahead => (
                "missed",
                "It is too late for {}: none of the days for sowing that are left is one of `mix_days:` and off \
                 `not_on:`. Change these, name a day under `sow:`, or plant out later. If it was sown as planned, enter \
                 that (`season SEASON.yaml --sown DATE`); on another day, write `sow: DATE` into it."
                    .to_owned(),
            ),
            Lateness::Missed => (
                "missed",
                "It is too late for {}: the days for sowing are past. If it was sown as planned, enter that (`season \
                 SEASON.yaml --sown DATE`); on another day, write `sow: DATE` into it; else give it a later \
                 `plant_out:`, or fewer `weeks:`."
                    .to_owned(),
            ),
            Lateness::NoDay => (
                "no-day",
                format!(
                    "No day is possible for {{}}: sowing{and_pot} does not fit on mix days of its own before planting \
                     out. More days under `mix_days:`, or a day under `sow:`{or_on}, would help."
                ),
            ),
            Lateness::NotPotted => {
                let sow = planned.sow.get(late.number).map(|day| short_date(*day)).unwrap_or_default();
                let text = format!(
                    "No mix day is left to pot on {{}}, as it is sown on {sow}. If it was potted on, enter the day \
                     (`season SEASON.yaml --sown DATE`); else give it a day under `then:`, such as `on: {}`.",
                    out.yesterday().unwrap_or_default()
                );
                ("not-potted", text)
            }
            Lateness::Over => {
                let text = "Planting out is over, and no day of sowing is entered, for {}: nothing of it is planned. If \
                            another year is meant, write it: in `plant_out:`, or as `year:` for a frost date.";
                return (Remark::new("over", text), format!("{name} {}", out.year()));
            }
        };
        (Remark::new(code, text), name)
    }

    /// What the plans of the days warn of that is still to come, each once.
    fn of_days(&self, units: UnitSystem) -> Vec<Remark> {
        let uses_soaked = self.plan.purchases.lines.iter().any(|line| line.ingredient.is(Role::SoakedCoir));
        let first = self.plan.days.iter().find(|day| !day.is_done).map(|day| day.on);
        let warnings = self.plan.days.iter().flat_map(|day| {
            // What earlier days leave grows too old for later ones; what the first cannot use any more none can.
            let is_old = |one: &Warning| matches!(one, Warning::SoakedCoirUnused(unfit) if unfit.iter().all(|(_, made)| *made <= day.on));
            let is_spoilt = Some(day.on) == first && day.plan.warnings.iter().any(is_old);
            let warnings = PlanReport { plan: &day.plan, week: &day.loaded.week }.warnings(units).into_iter();
            let is_said = move |one: &Remark| {
                OF_DAYS.contains(&one.code) && (is_spoilt || !uses_soaked || one.code != SOAKED_UNUSED)
            };
            // The hour alone, so that all days are named together.
            let outside = day.plan.warnings.iter().find_map(|warning| {
                let Warning::MixOutsideAwake(at) = warning else { return None };
                let at = at.strftime("%H:%M");
                let words = "the mix is to be made when nobody is there (`awake:`): another `mix_at:` helps";
                Some(remark!("mix-outside-awake", "At {at} {words}."))
            });
            let warnings = warnings.filter(is_said).chain(outside);
            warnings.map(|one| (one, short_date(day.on)))
        });
        let warnings = together(warnings).into_iter();
        let warnings = warnings.map(|(Remark { code, text }, days)| remark!(code, "{}: {text}", and(days)));
        warnings.collect()
    }

    /// Of the days on which coir cannot be ready: when it can, and what else would help.
    fn unready(&self, units: UnitSystem) -> impl Iterator<Item = Remark> {
        let (plan, today) = (self.plan, self.plan.today);
        let on = |course: &CoirCourse| plan.days[course.days[0]].on;
        let open = plan.coir.iter().filter(move |course| course.is_unready(today));
        open.map(move |course| {
            let (day, of) = (on(course), short_date(on(course)));
            let why = course.start().map_or_else(
                || format!("The coir for {of} cannot be ready: no times fit its course (`awake:`, `not_on:`)"),
                |start| {
                    let start = day_and_hour(start);
                    format!("Unless the coir for {of} stands in its course already, which was due to begin {start}, it cannot be ready")
                },
            );
            let first = course.ready_after(self.season, day, today);
            // A list in the season takes the place of that of its place.
            let not_on = match self.season.loaded.week.awake.names_days_away() {
                true => format!("{day} besides the other days of `not_on:`, or "),
                false => format!("`not_on: [{day}]`, or "),
            };
            let [first, not_on] = first.map_or_else(Default::default, |first| {
                [format!("; the next day on which it can is {}", short_date(first)), not_on]
            });
            let has_no_time = course.soaking.finds_no_time;
            let fits = if has_no_time { fits(course.soaking.fitting, units) + " " } else { String::new() };
            remark!(
                "late",
                "{why}{first}. {fits}What would help: {not_on}coir that stands ready (`soaked coir` under `on_hand:` of the \
                 stock file)."
            )
        })
    }

    /// What would help of what does not fit: all limits together, or something else; and what is outside its weeks.
    fn helps(&self) -> impl Iterator<Item = Remark> {
        let of = |is_one: fn(&Help) -> bool| {
            self.plan.help.iter().filter(move |help| is_one(help)).map(|help| self.help(*help))
        };
        let more = and(of(|help| matches!(help, Help::Places(_) | Help::Mats(_) | Help::TraysADay(..))));
        let moves = of(|help| matches!(help, Help::Fewer(..) | Help::Move { .. }));
        let fits: Vec<String> = Some(more).filter(|more| !more.is_empty()).into_iter().chain(moves).collect();
        let outside: Vec<String> = of(|help| matches!(help, Help::PlantOut(..))).collect();
        let all = [fits.join("; or "), outside.join("; and ")].into_iter().filter(|words| !words.is_empty());
        all.map(|words| remark!("help", "What would help: {words}."))
    }

    fn help(&self, help: Help) -> String {
        match help {
            Help::Places(more) => count(more, "more place on the rack", "more places on the rack"),
            Help::Mats(more) => count(more, "more mat", "more mats"),
            Help::TraysADay(on, more) => format!("{more} more under `trays_a_day:`, for {}", short_date(on)),
            // What carries pots are no trays of it.
            Help::Fewer(planting, places) => {
                let words = match self.plan.plantings[planting].pot {
                    Some(_) => ["place fewer", "places fewer"],
                    None => ["tray fewer", "trays fewer"],
                };
                format!("{} of {}", count(places, words[0], words[1]), self.for_day(planting))
            }
            Help::Move { planting, days, left } => {
                let rest = match left {
                    0 => String::new(),
                    left => {
                        format!(" (then still {} on the worst day)", count(left, "tray too many", "trays too many"))
                    }
                };
                format!("{} sown and planted out {}{rest}", self.for_day(planting), by(days, "later", "earlier"))
            }
            Help::PlantOut(planting, days) => format!(
                "{} planted out {}: then its day lies in its weeks",
                self.for_day(planting),
                by(days, "later", "earlier")
            ),
        }
    }

    /// What else to know.
    pub(super) fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let [code, words] = if self.plan.proven { PROVEN } else { NOT_PROVEN };
        let is_open = !self.plan.is_sown();
        let proven = is_open.then(|| Remark::new(code, words));
        let doubts = self.doubts(|doubt| !is_caution(doubt));
        let no_rack = (is_open && self.plan.limits.places.is_none()).then(|| Remark::new("no-rack", NO_RACK));
        let is_unchecked = |dated: &Dated| {
            let crop = self.season.loaded.week.sowings[dated.sowing].crop.as_ref();
            dated.plant_out >= self.plan.today && crop.is_some_and(|crop| crop.frost == Some(Frost::Tender))
        };
        let has_frost = self.season.loaded.week.standing.frost.last.is_some();
        let no_frost =
            (!has_frost && self.plan.plantings.iter().any(is_unchecked)).then(|| Remark::new("no-frost", NO_FROST));
        let of_days = self.plan.days.iter().flat_map(|day| &day.plan.notes);
        let of_days = of_days.filter(|found| found.code() == "pots-uncounted");
        let unstated: Vec<Note> = self.plan.unstated.iter().cloned().map(Note::Unstated).collect();
        let of_days = of_days.chain(&unstated);
        let mut of_days: Vec<Remark> = of_days.map(|found| Remark::new(found.code(), note(found, units))).collect();
        of_days.sort_by(|one, other| one.text.cmp(&other.text));
        of_days.dedup();
        let day = self.plan.days.iter().find(|day| !day.is_done);
        let day =
            day.map(|day| remark!("day-sheet", "The sheet of a day: `trayful plan SEASON.yaml --day {}`.", day.on));
        let bought = if is_open { buying::notes(&self.plan.purchases, units) } else { Vec::new() };
        proven
            .into_iter()
            .chain(no_rack)
            .chain(no_frost)
            .chain(of_days)
            .chain(doubts)
            .chain(bought)
            .chain(day)
            .collect()
    }

    /// The doubts of some kinds, those of one kind together.
    fn doubts(&self, is_wanted: fn(&Doubt) -> bool) -> Vec<Remark> {
        let doubts = self.plan.remarks.iter().filter(|doubt| is_wanted(&doubt.of)).map(|doubt| {
            let name = self.for_day(doubt.planting);
            let (code, words, of) = match doubt.of {
                Doubt::TenderBeforeFrost(last) => (
                    "tender-before-frost",
                    format!("Tender, but out before the average last frost ({}; half of the years are later)", short_date(last)),
                    name,
                ),
                Doubt::TenderLate(first) => (
                    "tender-late",
                    format!("Tender, but out less than four weeks before the average first frost ({}), or after it", short_date(first)),
                    name,
                ),
                Doubt::HardyEarly(last) => (
                    "hardy-early",
                    format!("Hardy, but out over four weeks before the average last frost ({})", short_date(last)),
                    name,
                ),
                Doubt::PerennialLate(first) => (
                    "perennial-late",
                    format!(
                        "Perennials want six weeks to take root before the average first frost ({}): plant out earlier, \
                         or keep in pots under cover until spring",
                        short_date(first)
                    ),
                    name,
                ),
                Doubt::ShortlyHardened(last, days, wanted) => (
                    "shortly-hardened",
                    format!(
                        "Few days are left for hardening after the average last frost ({}): plant out later, or set out \
                         by day and take in at night before that",
                        short_date(last)
                    ),
                    format!("{name} ({days} of {wanted} days)"),
                ),
                Doubt::SoonPotted(days, up) => (
                    "soon-potted",
                    "Potted on before all seedlings are up: a later day under `then:`, or an earlier day of sowing".to_owned(),
                    format!("{name} (after {days} days; the last are up after {up})"),
                ),
                Doubt::SoonHardened(days) => (
                    "soon-hardened",
                    "Potted on less than two weeks before they are hardened, which is short".to_owned(),
                    format!("{name} ({days} days)"),
                ),
                Doubt::RimToRim => (
                    "rim-to-rim",
                    "Pots count as rim to rim till they leave; where they are set apart after two weeks, say how many stand on \
                     a tray then, as `spaced:` of the pot under `trays:`"
                        .to_owned(),
                    name,
                ),
            };
            (Remark::new(code, words), of)
        });
        let doubts = together(doubts).into_iter();
        doubts.map(|(Remark { code, text }, names)| remark!(code, "{text}: {}.", and(names))).collect()
    }

    /// `kale for Sat 17 Apr`.
    fn for_day(&self, planting: usize) -> String {
        format!("{} for {}", self.name(planting), short_date(self.plan.plantings[planting].plant_out))
    }
}

/// What would kill plants, or leave none to pot on.
fn is_caution(doubt: &Doubt) -> bool {
    matches!(doubt, Doubt::TenderBeforeFrost(_) | Doubt::TenderLate(_) | Doubt::SoonPotted(..))
}

/// What is said of several things, once with all of them.
fn together(said: impl Iterator<Item = (Remark, String)>) -> Vec<(Remark, Vec<String>)> {
    said.fold(Vec::new(), |mut all: Vec<(Remark, Vec<String>)>, (words, of)| {
        match all.iter_mut().find(|(known, _)| *known == words) {
            Some((_, known)) => known.push(of),
            None => all.push((words, vec![of])),
        }
        all
    })
}

/// `3 days later`, `a week earlier`.
fn by(days: i32, after: &str, before: &str) -> String {
    let (far, which) = (u64::from(days.unsigned_abs()), if days < 0 { before } else { after });
    let far = if far > 0 && far % 7 == 0 { count(far / 7, "week", "weeks") } else { count(far, "day", "days") };
    format!("{far} {which}")
}
