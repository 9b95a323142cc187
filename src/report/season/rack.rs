//! The rack week by week: a bar of its places, or the rack itself as it will look.

use super::{SeasonReport, in_weeks};
use crate::report::Format;
use crate::report::document::{Document, Table};
use crate::report::picture::{Drawn, Picture, Rack, Spot};
use crate::report::words::count;
use crate::season::{RackWeek, Standing};
use jiff::ToSpan;
use jiff::civil::Date;

/// A larger rack, and a longer season, is not drawn.
const MOST_PLACES: u64 = 120;
const MOST_WEEKS: usize = 80;
/// Characters of a bar at most: of a larger rack each stands for several places.
const BAR: u64 = 20;

impl SeasonReport<'_> {
    /// The rack under its heading, and what a cold spring does to it.
    pub(super) fn rack(&self, document: &mut Document, format: Format) {
        if self.plan.rack.iter().all(|week| week.contents.is_empty()) {
            return document.list(self.hardening().into_iter().collect());
        }
        document.heading("The rack, week by week");
        let picture = if format == Format::Html { self.picture() } else { None };
        let each = self.each();
        let row = |week: &RackWeek| {
            let some = |count: u64| if count > 0 { count.to_string() } else { String::new() };
            let bar = if picture.is_some() { String::new() } else { self.bar(week, each) };
            let trays = format!("{}{}", week.trays, if week.over > 0 { "!" } else { "" });
            let mats = format!("{}{}", some(week.mats), if week.mats_over > 0 { "!" } else { "" });
            [bar, trays, mats, some(week.frame), self.contents(week)]
        };
        let columns = ["week of", "places", ">trays", ">mats", ">frame", "on its fullest day"];
        let rows = self.alike(self.plan.rack.iter().map(row));
        let rows =
            rows.into_iter().map(|(weeks, [bar, trays, mats, frame, what])| [weeks, bar, trays, mats, frame, what]);
        document.table(Table::of(columns, rows).without_empty_columns());
        let each = (each > 1 && picture.is_none()).then(|| format!("A mark stands for {each} places."));
        let drawn = picture.is_some().then(|| "A bar below: on a mat. Dashed: no such place.".to_owned());
        document.blocks.extend(picture.map(crate::report::Block::Picture));
        document.list([each, drawn, self.hardening(), self.spring()].into_iter().flatten().collect());
    }

    /// What becomes of each week, once for weeks on end that are alike, from the Monday of the first to the Sunday of
    /// the last: `8-28 Feb`.
    fn alike<T: PartialEq>(&self, of_weeks: impl Iterator<Item = T>) -> Vec<(String, T)> {
        let mut all: Vec<([Date; 2], T)> = Vec::new();
        for (week, of) in self.plan.rack.iter().zip(of_weeks) {
            match all.last_mut().filter(|(_, last)| *last == of) {
                Some(([_, to], _)) => *to = week.from,
                None => all.push(([week.from; 2], of)),
            }
        }
        let words = |[from, to]: [Date; 2]| {
            let whole = |day: Date| day.strftime("%-d %b").to_string();
            let sunday = to.saturating_add(6.days());
            match (from == to, from.month() == sunday.month()) {
                (true, _) => whole(to),
                (_, true) => format!("{}-{}", from.day(), whole(sunday)),
                _ => format!("{}-{}", whole(from), whole(sunday)),
            }
        };
        all.into_iter().map(|(weeks, of)| (words(weeks), of)).collect()
    }

    /// Where trays are while they are hardened.
    fn hardening(&self) -> Option<String> {
        self.plan.hardening.map(|(from, trays)| {
            format!(
                "While they harden, trays take no place on the rack: they stand outside by day, and need cover on cold \
                 nights. At most {} in the week of {}.",
                count(trays, "tray", "trays"),
                from.strftime("%-d %b")
            )
        })
    }

    /// For how many places a mark of the bar stands.
    fn each(&self) -> u64 {
        self.plan.limits.places.map_or(1, |places| places.div_ceil(BAR)).max(1)
    }

    /// `=====.......`, with `!` for each place that there is not; nothing where no rack is stated.
    fn bar(&self, week: &RackWeek, each: u64) -> String {
        let Some(places) = self.plan.limits.places else { return String::new() };
        let taken = week.trays - week.over;
        let marks =
            [("=", taken.div_ceil(each)), (".", (places - taken) / each), ("!", week.over.div_ceil(each).min(BAR))];
        marks.iter().map(|(mark, count)| mark.repeat(usize::try_from(*count).unwrap_or(0))).collect()
    }

    /// What stands on the rack, then what in the frame, each with how many places it takes.
    fn contents(&self, week: &RackWeek) -> String {
        let of = |takes: &dyn Fn(&Standing) -> u64| {
            let mut all: Vec<(String, u64)> = Vec::new();
            for standing in week.contents.iter().filter(|standing| takes(standing) > 0) {
                let name = self.what(standing);
                match all.iter_mut().find(|(known, _)| *known == name) {
                    Some((_, places)) => *places += takes(standing),
                    None => all.push((name, takes(standing))),
                }
            }
            let words =
                all.into_iter().map(|(name, places)| if places > 1 { format!("{name} {places}") } else { name });
            words.collect::<Vec<_>>().join(", ")
        };
        let places = [
            ("on mats ", of(&|standing| if standing.on_mats { standing.places } else { 0 })),
            ("", of(&|standing| if standing.on_mats { 0 } else { standing.places })),
            ("in the frame ", of(&|standing| standing.framed)),
        ];
        let words = places.into_iter().filter(|(_, what)| !what.is_empty()).map(|(at, what)| format!("{at}{what}"));
        let is_bare = week.mats > 0 && !week.contents.iter().any(|standing| standing.on_mats);
        let other = is_bare.then(|| format!("on another day {} on mats", week.mats));
        words.chain(other).collect::<Vec<_>>().join("; ")
    }

    /// `kale`, or `kale + cabbage` where they share trays.
    fn what(&self, standing: &Standing) -> String {
        let mut names: Vec<String> = standing.sown.iter().map(|sown| self.name(sown.planting)).collect();
        names.dedup();
        names.join(" + ")
    }

    /// The rack as it will look; nothing where it is too large, or not stated.
    fn picture(&self) -> Option<Picture> {
        let rack = self.season.loaded.week.rack.filter(|rack| rack.places <= MOST_PLACES)?;
        let few = |week: &RackWeek| week.trays <= 2 * MOST_PLACES && week.frame <= MOST_PLACES;
        if self.plan.rack.len() > MOST_WEEKS || !self.plan.rack.iter().all(few) {
            return None;
        }
        let number = |count: u64| usize::try_from(count).unwrap_or(0);
        let of = |(week, settled): (&RackWeek, Vec<[Vec<usize>; 2]>)| {
            let taken = Spot { what: "taken".to_owned(), ..Spot::default() };
            let mut places = vec![taken; number(rack.occupied)];
            let (before, all) = (places.len(), number(rack.places));
            places.resize(all.max(before + number(week.trays)), Spot::default());
            let mut frame = Vec::new();
            for (standing, [at, framed]) in week.contents.iter().zip(settled) {
                let pattern = standing.sown.first().map(|sown| self.dated(*sown).sowing);
                let spot = Spot { what: self.what(standing), pattern, on_mat: standing.on_mats, beyond: false };
                for at in framed {
                    frame.resize(frame.len().max(at + 1), Spot::default());
                    frame[at] = Spot { on_mat: false, ..spot.clone() };
                }
                for at in at {
                    let at = before + at;
                    places[at] = Spot { beyond: at >= all, ..spot.clone() };
                }
            }
            let says = [(week.over, "too many"), (week.mats, "on mats"), (week.frame, "in the frame")];
            let says = says.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!(", {count} {what}"));
            let title = format!(": {}", count(week.trays, "place", "places")) + &says.collect::<String>();
            Rack { title, across: number(rack.across), places, frame }
        };
        let racks = self.alike(self.plan.rack.iter().zip(self.plan.settled()).map(of));
        let racks = racks.into_iter().map(|(weeks, rack)| Rack { title: weeks + &rack.title, ..rack });
        Some(Picture { says: "The rack as it looks in each week".to_owned(), of: Drawn::Racks(racks.collect()) })
    }

    /// What a cold spring does.
    fn spring(&self) -> Option<String> {
        let late = "A cold spring, with planting out a week late";
        let weeks = self.plan.spring.as_ref()?;
        let is_full = self.plan.rack.iter().any(|week| week.over > 0);
        Some(match (weeks.is_empty(), is_full) {
            (true, false) => format!("{late}: all still has its place."),
            (true, true) => format!("{late}, leaves no more trays without a place than now."),
            (false, false) => format!("{late}, leaves trays without a place: {}.", in_weeks(weeks)),
            (false, true) => format!("{late}, leaves more trays without a place: {}.", in_weeks(weeks)),
        })
    }
}
