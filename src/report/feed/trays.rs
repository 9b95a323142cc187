//! The trays that are fed, and what they take of it.

use super::{FeedReport, amount, in_full};
use crate::behaviour::{STRONG_PPM, USUALLY_HELD};
use crate::catalogue::Named;
use crate::report::Remark;
use crate::report::behaviour::ranged;
use crate::report::document::{Document, Table};
use crate::report::remark::{on, remark, texts};
use crate::report::words::{and, count, tray_name};
use crate::units::volume::{litre, us_liquid_gallon, us_liquid_quart};
use crate::units::{UnitSystem, Volume, plain, to_litres};
use crate::watering::{RUNS_THROUGH, Watering};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// More rows than this are summed, and not printed.
const LISTED: usize = 200;

/// `0.9-1.4 L`: an estimate, to the nearest.
fn litres(range: [Volume; 2], units: UnitSystem) -> String {
    let is_small = to_litres(range[1]) < 10.0;
    let (each, unit) = match units {
        UnitSystem::Metric => (Volume::new::<litre>(1.0), "L"),
        UnitSystem::Us if is_small => (Volume::new::<us_liquid_quart>(1.0), "US qt"),
        UnitSystem::Us => (Volume::new::<us_liquid_gallon>(1.0), "US gal"),
    };
    let ends = range.map(|volume| to_litres(volume) / to_litres(each));
    format!("{} {unit}", ranged(&ends, |size| plain(size, usize::from(is_small || size < 10.0))))
}

impl FeedReport<'_> {
    /// The trays, and what they take.
    pub(super) fn trays(&self, document: &mut Document, units: UnitSystem) {
        let Some(trays) = self.trays else { return };
        document.heading(format!("The trays of {}", trays.title));
        let (product, feed) = &self.feeds[0];
        let Some(in_all) = self.in_all(feed).filter(|_| !trays.fed.is_empty()) else {
            document.paragraph("No feeding of them is still to come.");
            return document.list(texts(&self.of_trays(units)));
        };
        let row = |fed: &Watering| {
            let all = trays.season.map(|_| [fed.times.to_string(), litres(fed.all(), units)]);
            let [times, all] = all.unwrap_or_default();
            [
                fed.crop.shown().to_owned() + if fed.potted_on { ", potted on" } else { "" },
                format!("{} x {}", plain(fed.trays, 1), tray_name(&fed.tray, units)),
                fed.begins.map_or_else(|| "not known".to_owned(), |day| day.strftime("%-d %b").to_string()),
                litres(fed.each, units),
                times,
                all,
            ]
        };
        let columns = ["crop", "trays", ">first feed", ">one watering", ">times", ">in all"];
        document.table(Table::of(columns, trays.fed.iter().take(LISTED).map(row)).without_empty_columns());
        let how = match trays.season {
            None => "One watering of all of them takes".to_owned(),
            Some((every, today)) => {
                let from = if today > Date::MIN { format!(", from {today} on") } else { String::new() };
                let every = count(every.unsigned_abs().into(), "day", "days");
                format!("Fed every {every}{from}, until they are potted on or planted out, they take")
            }
        };
        let [least, most] = in_all.map(|end| amount(end, units));
        let of = if least == most { most } else { format!("{least} to {most}") };
        let bought = self.bought(&self.feeds[0]).filter(|_| self.feeds.len() == 1);
        let bought = bought.map(|bought| format!(" {bought} is enough.")).unwrap_or_default();
        let litres = litres(trays.in_all(), units);
        document.paragraph(format!("{how} {litres} of feed: {of} of {}.{bought}", in_full(product)));
        document.list(texts(&self.of_trays(units)));
    }

    /// By what rule trays take so much.
    pub(super) fn of_trays(&self, units: UnitSystem) -> Vec<Remark> {
        let Some(trays) = self.trays else { return Vec::new() };
        let unknown: BTreeSet<&str> =
            trays.fed.iter().filter(|fed| fed.begins.is_none()).map(|fed| fed.crop.shown()).collect();
        let rule = trays.fed.iter().any(|fed| fed.each[0] < fed.each[1]).then(|| {
            let [through, held] =
                [RUNS_THROUGH, USUALLY_HELD].map(|ends| ends.map(|share| plain(100.0 * share, 0)).join(" to "));
            remark!(
                "watering-assumed",
                "One watering gives back a third of the water that the drained cells hold ({held} % of their volume, where \
                 that is not known), and {through} % of what is poured runs through (from memory). Weigh a tray before and \
                 after you water it, and state your own figure: `--each-tray \"{}\"`.",
                units.either("0.5 L", "1 US pt")
            )
        });
        let begins = on("first-feed-unknown", &unknown.into_iter().collect::<Vec<_>>(), |names| {
            let counted = if trays.season.is_some() { " Its feed is not counted." } else { "" };
            format!("When feeding begins is not known of {names}.{counted}")
        });
        let missed = (trays.missed > 0).then(|| {
            remark!(
                "not-sown",
                "{} left out, too late to be sown. What was sown is entered by `trayful season FILE --sown DATE`.",
                count(trays.missed as u64, "planting is", "plantings are")
            )
        });
        // From the weakest that some want.
        // What is too strong for all is told with the feed.
        let feed = &self.feeds[0].1;
        let strong =
            trays.fed.iter().filter(|fed| fed.first_ppm < feed.nitrogen_ppm && feed.nitrogen_ppm <= STRONG_PPM);
        let strong: BTreeSet<(String, &str)> =
            strong.map(|fed| (format!("{:.0} ppm", fed.first_ppm), fed.crop.shown())).collect();
        let mut of_strength: BTreeMap<String, Vec<&str>> = BTreeMap::new();
        strong.into_iter().for_each(|(ppm, crop)| of_strength.entry(ppm).or_default().push(crop));
        let strong = of_strength.into_iter().map(|(ppm, crops)| format!("at most {ppm} for {}", and(crops)));
        let strong = Some(and(strong.collect::<Vec<_>>())).filter(|strong| !strong.is_empty());
        let strong = strong
            .map(|strong| remark!("strong-at-first", "Strong for the first feeds: begin with {strong} (from memory)."));
        strong.into_iter().chain(rule).chain(begins).chain(missed).collect()
    }
}
