//! The rack week by week: a bar of its places, or the rack itself as it will look.

use super::SeasonReport;
use crate::report::Format;
use crate::report::document::{Document, Table};
use crate::report::picture::{Drawn, Picture, Rack, Spot};
use crate::report::words::{and, count};
use crate::season::{RackWeek, Standing};

/// A larger rack, and a longer season, is not drawn.
const MOST_PLACES: u64 = 120;
const MOST_WEEKS: usize = 80;
/// Characters of a bar at most: of a larger rack each stands for several places.
const BAR: u64 = 20;

impl SeasonReport<'_> {
    /// The rack under its heading, and what a cold spring does to it.
    pub(super) fn rack(&self, document: &mut Document, format: Format) {
        document.heading("The rack, week by week");
        let picture = self.picture().filter(|_| format == Format::Html);
        let each = self.each();
        let mut last = String::new();
        let row = |week: &RackWeek| {
            let some = |count: u64| if count > 0 { count.to_string() } else { String::new() };
            let bar = if picture.is_some() { String::new() } else { self.bar(week, each) };
            let trays = format!("{}{}", week.trays, if week.over > 0 { "!" } else { "" });
            let mats = format!("{}{}", some(week.mats), if week.mats_over > 0 { "!" } else { "" });
            let contents = self.contents(week);
            let what = if contents == last { "the same".to_owned() } else { contents.clone() };
            last = contents;
            [week.from.strftime("%-d %b").to_string(), bar, trays, mats, some(week.frame), what]
        };
        let columns = ["week of", "places", ">trays", ">mats", ">frame", "what stands there on its fullest day"];
        document.table(Table::of(columns, self.plan.rack.iter().map(row)).without_empty_columns());
        let each = (each > 1 && picture.is_none()).then(|| format!("A mark stands for {each} places."));
        let drawn = picture.is_some().then(|| "A bar below: on a mat. Dashed: no such place.".to_owned());
        document.blocks.extend(picture.map(crate::report::Block::Picture));
        document.list(each.into_iter().chain(drawn).chain(self.spring()).collect());
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
        words.collect::<Vec<_>>().join("; ")
    }

    /// `kale`, or `kale + cabbage` where they share trays.
    fn what(&self, standing: &Standing) -> String {
        let mut names: Vec<String> = standing.sown.iter().map(|sown| self.name(*sown)).collect();
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
        let of = |week: &RackWeek| {
            let taken = Spot { what: "taken".to_owned(), ..Spot::default() };
            let mut places = vec![taken; number(rack.occupied)];
            let mut frame = Vec::new();
            for standing in &week.contents {
                let pattern = standing.sown.first().map(|sown| self.dated(*sown).sowing);
                let spot = Spot { what: self.what(standing), pattern, on_mat: standing.on_mats, beyond: false };
                frame.extend(vec![Spot { on_mat: false, ..spot.clone() }; number(standing.framed)]);
                places.extend(vec![spot; number(standing.places)]);
            }
            let all = number(rack.places);
            places.iter_mut().skip(all).for_each(|spot| spot.beyond = true);
            places.resize(all.max(places.len()), Spot::default());
            let says = [(week.over, "too many"), (week.mats, "on mats"), (week.frame, "in the frame")];
            let says = says.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!(", {count} {what}"));
            let title = format!(": {}", count(week.trays, "place", "places")) + &says.collect::<String>();
            Rack { title, across: number(rack.across), places, frame }
        };
        // Weeks that look alike are drawn once.
        let mut racks: Vec<(Rack, Vec<String>)> = Vec::new();
        for week in &self.plan.rack {
            let (rack, from) = (of(week), week.from.strftime("%-d %b").to_string());
            match racks.last_mut().filter(|(last, _)| *last == rack) {
                Some((_, weeks)) => weeks.push(from),
                None => racks.push((rack, vec![from])),
            }
        }
        let titled = racks.into_iter().map(|(rack, weeks)| Rack { title: and(weeks) + &rack.title, ..rack });
        Some(Picture { says: "The rack as it looks in each week".to_owned(), of: Drawn::Racks(titled.collect()) })
    }

    /// What a cold spring does.
    fn spring(&self) -> Option<String> {
        let late = "A cold spring, all planted out a week later";
        let weeks = &self.plan.spring.as_ref()?.weeks;
        let each = weeks.iter().map(|(from, over)| format!("{over} in the week of {}", from.strftime("%-d %b")));
        Some(match weeks.is_empty() {
            true => format!("{late}: all still has its place."),
            false => format!("{late}, leaves trays without a place: {}.", and(each)),
        })
    }
}
