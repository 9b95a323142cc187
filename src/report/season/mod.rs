//! The season as a sheet, for scripts and spreadsheets, and for a calendar.

mod rack;
mod remarks;
mod view;

use super::buying;
use super::document::{Document, Table};
use super::ics::{Event, When};
use super::plan::PlanReport;
use super::remark::texts;
use super::soak::SoakReport;
use super::words::{and, count, needed, short_date, tray_name};
use super::{Report, Style, csv};
use crate::season::{CoirCourse, Dated, EntryOf, Season, SeasonEntry, SeasonPlan, SownDay, Stage};
use crate::stock::money;
use crate::units::{UnitSystem, in_litres};
use jiff::civil::Date;
use serde_json::Value;
use std::collections::BTreeSet;

/// A season that was worked out.
pub struct SeasonReport<'s> {
    /// What was worked out.
    pub plan: &'s SeasonPlan,
    /// What it is of.
    pub season: &'s Season,
    /// Days that were taken out of the stock and are not entered in the season.
    pub not_entered: BTreeSet<Date>,
    /// Why the log of the stock cannot be read, where it cannot.
    pub log_unread: Option<String>,
}

impl Report for SeasonReport<'_> {
    fn document(&self, style: Style) -> Document {
        let (mut document, units) = (Document::new(&self.plan.name), style.units);
        document.paragraph(self.summary(units));
        document.list(texts(&self.cautions(units)));
        if !self.plan.days.is_empty() {
            document.heading("Sowing days");
            document.table(self.days(units));
        }
        self.rack(&mut document, style.format);
        if !self.plan.is_sown() {
            document.heading("Beforehand");
            let mut items = buying::section(&mut document, &self.plan.purchases, units);
            items.extend(self.day_by_day());
            items.extend(self.plan.coir.iter().map(|course| self.course(course, units)));
            document.list(items);
        }
        let notes = texts(&self.notes(units));
        if !notes.is_empty() {
            document.heading("Notes");
            document.list(notes);
        }
        document
    }

    fn value(&self) -> Value {
        self.json()
    }

    fn records(&self) -> Vec<Vec<String>> {
        csv::table(&serde_json::json!({"plantings": self.plantings_json()}), "plantings", view::COLUMNS)
    }
}

/// `Sat 6 Feb 2027`.
fn long(day: &SownDay) -> String {
    day.on.strftime("%a %-d %b %Y").to_string()
}

/// `3 in the week of 8 Mar and 1 in the weeks from 15 Mar to 29 Mar`.
fn in_weeks(weeks: &[(Date, u64)]) -> String {
    let follows = |one: &(Date, u64), next: &(Date, u64)| one.1 == next.1 && (next.0 - one.0).get_days() == 7;
    and(weeks.chunk_by(follows).map(|alike| {
        let [(from, count), (last, _)] =
            [alike[0], alike[alike.len() - 1]].map(|(from, count)| (from.strftime("%-d %b"), count));
        match alike.len() {
            1 => format!("{count} in the week of {from}"),
            _ => format!("{count} in the weeks from {from} to {last}"),
        }
    }))
}

impl SeasonReport<'_> {
    /// The calendar for other programs: every day's, with the courses of coir in place of the baths of each day.
    ///
    /// What is over has its number among those like it, so that the rest keep theirs.
    pub fn events(&self, units: UnitSystem) -> Vec<Event> {
        let of_days = self.plan.days.iter().flat_map(|day| {
            let events = PlanReport { plan: &day.plan, week: &day.loaded.week }.events_but_coir(units);
            let is_over = |event: &Event| day.is_done && event.when.day() < self.plan.today;
            // What is potted on has its own day.
            let events = events.into_iter().filter(|event| event.code != "pot-on");
            events.map(move |event| Event { is_over: is_over(&event), ..event })
        });
        let of_coir = self.plan.coir.iter().flat_map(|course| {
            let whose = course.days[0].to_string();
            let events = SoakReport::of(&course.soaking).events(units);
            events.into_iter().map(move |event| Event { whose: whose.clone(), ..event })
        });
        let bought = self
            .plan
            .purchases
            .lines
            .iter()
            .flat_map(|line| line.packages.iter().map(move |pick| format!("{pick}, {}", line.ingredient.name)));
        let bought: Vec<String> = bought.collect();
        // What is still to be done of days whose mix is made is not bought for.
        let is_open = |entry: &&SeasonEntry| match entry.of {
            EntryOf::Day(day) => !self.plan.days[day].is_done,
            EntryOf::Course(_) => true,
        };
        let first = self.plan.calendar.iter().find(is_open).filter(|_| !bought.is_empty());
        let buy = first.and_then(|first| first.entry.at.date().yesterday().ok()).map(|day| Event {
            when: When::Day(day.max(self.plan.today)),
            code: "buy",
            whose: String::new(),
            what: "buy for the season".to_owned(),
            why: bought.join("\n"),
            alarm: true,
            is_over: false,
        });
        buy.into_iter().chain(of_days).chain(of_coir).collect()
    }

    fn summary(&self, units: UnitSystem) -> String {
        let SeasonPlan { days, totals, rack, limits, .. } = self.plan;
        let mut words = match (self.plan.is_over(), self.plan.is_sown()) {
            (true, _) => "The season is over. ".to_owned(),
            (_, true) => "Nothing is left to sow. ".to_owned(),
            _ => String::new(),
        };
        let when = match &days[..] {
            [] => return words.trim_end().to_owned(),
            [day] => format!("1 sowing day, {}", long(day)),
            [first, .., last] => {
                let from = if first.on.year() == last.on.year() { short_date(first.on) } else { long(first) };
                format!("{} sowing days from {from} to {}", days.len(), long(last))
            }
        };
        let [sown, potted] = self.plan.sown();
        let works = [count(sown, "sowing", "sowings"), format!("{potted} of potting on")];
        let filled = [(totals.trays, "tray", "trays"), (totals.pots, "pot", "pots")];
        let filled = and(filled.iter().filter(|(all, ..)| *all > 0).map(|(all, one, many)| count(*all, one, many)));
        words += &format!(
            "{when}: {} {} {filled} with {} of mix.",
            and(&works[..=usize::from(potted > 0)]),
            if sown + potted == 1 { "fills" } else { "fill" },
            needed(totals.mix, units),
        );
        if let Some(week) = rack.iter().rev().max_by_key(|week| week.trays).filter(|week| week.trays > 0) {
            let taken = match limits.places {
                Some(places) => format!("{} of {}", week.trays, count(places, "place", "places")),
                None => count(week.trays, "place", "places"),
            };
            let from = if days[0].is_done { " From now on the rack" } else { " The rack" };
            words += &format!("{from} is fullest on {}: {taken}.", short_date(week.day));
        }
        words
    }

    /// What is sown and potted on, day by day.
    fn days(&self, units: UnitSystem) -> Table {
        let mut years = self.plan.days.iter().map(|day| day.on.year());
        let first = years.next();
        let is_of_one_year = years.all(|year| Some(year) == first);
        let row = |day: &SownDay| {
            let trays = day.plan.mixes.layout.trays.iter();
            let trays = trays.map(|(tray, count)| format!("{count} x {}", tray_name(tray, units)));
            let of = |potted: bool| {
                let sown = day.sown.iter().filter(|sown| sown.potted == potted).map(|sown| {
                    let out = self.dated(*sown).plant_out.strftime("%-d %b");
                    format!("{} ({out})", self.name(sown.planting))
                });
                sown.collect::<Vec<_>>().join(", ")
            };
            let (sown, potted) = (of(false), of(true));
            let potted = if potted.is_empty() { potted } else { format!("pot on: {potted}") };
            let all: Vec<String> = [sown, potted].into_iter().filter(|words| !words.is_empty()).collect();
            let mix = day.plan.mixes.totals.mix;
            let on = if is_of_one_year { short_date(day.on) } else { long(day) };
            let on = if day.is_done { on + ", done" } else { on };
            [on, trays.collect::<Vec<_>>().join(", "), needed(mix, units), all.join("; ")]
        };
        Table::of(["day", "trays", ">mix", "what is sown (and planted out)"], self.plan.days.iter().map(row))
    }

    /// What it costs to buy for each day by itself.
    fn day_by_day(&self) -> Option<String> {
        let (purchases, each) = (&self.plan.purchases, self.plan.day_by_day?);
        let currency = purchases.currency.map(|currency| format!(" {currency}")).unwrap_or_default();
        let more = purchases.total.and_then(|total| each.checked_sub(total)).filter(|more| !more.is_zero());
        let more = more.map_or_else(String::new, |more| format!(", {} more", money(more)));
        (purchases.has_stock && purchases.total.is_some())
            .then(|| format!("Bought day by day, each with what was left over: {}{currency}{more}.", money(each)))
    }

    /// When a course of coir begins, and for which days.
    fn course(&self, course: &CoirCourse, units: UnitSystem) -> String {
        let days = and(course.days.iter().map(|day| short_date(self.plan.days[*day].on)));
        let begin = course.start().map_or_else(
            || "no times fit its course (`awake:`)".to_owned(),
            |at| format!("begin its course on {}", at.strftime("%a %-d %b, %H:%M")),
        );
        let over = course.soaking.over > in_litres(0.05);
        let needed_of =
            over.then(|| format!(" as it is weighed out ({} needed)", needed(course.soaking.bathed(), units)));
        format!(
            "Coir for {days}, {} loose{}: {begin}.",
            needed(course.soaking.soaked, units),
            needed_of.unwrap_or_default()
        )
    }

    /// A planting with its days.
    fn dated(&self, sown: Stage) -> &Dated {
        &self.plan.plantings[sown.planting]
    }

    /// What a planting is called.
    fn name(&self, planting: usize) -> String {
        self.season.loaded.week.sowings[self.plan.plantings[planting].sowing].name()
    }
}
