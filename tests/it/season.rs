//! Seasons: on which days each planting may be sown, what it takes meanwhile, and the weeks that come of it.
//!
//! The days follow from the rules of the season alone, worked out by hand. Hardening off for a week or ten days,
//! potting on at about four weeks, hardy crops out before the last frost and tender ones after it, a mat for what
//! germinates warm, a shared tray that leaves in one piece: common practice, no source.

use crate::support::{project, root, run};
use jiff::civil::{Date, date};
use jiff::{Span, ToSpan};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::Path;
use trayful::diagnostic::Rejected;
use trayful::plan::plan;
use trayful::report::{Format, PlanReport, Report, Style, render};
use trayful::season::occupancy::{Limits, Stay};
use trayful::season::{ByHand, Dated, Lateness, Season, Told, TooLate, Windows, dates_of, day_text, sown};
use trayful::source::{Disk, Memory, Original};
use trayful::week::{Inputs, Loaded};

const WINTER: Date = date(2026, 11, 1);
const SATURDAYS: &str = "mix_days: [saturday]\n";
const FROST: &str = "year: 2027\nfrost: {last: 10 May, first: 20 October}\n";

/// A season of such sowings, one a line, with more keys before them.
fn text(head: &str, sowings: &[&str]) -> String {
    let sowings: String = sowings.iter().map(|sowing| format!("  - {{{sowing}}}\n")).collect();
    format!("season: s\nrecipe: everyday\n{head}sowings:\n{sowings}")
}

fn read(text: &str) -> Result<Season, Rejected> {
    let files = Memory::default().with("season.yaml", text);
    Inputs::new(&files).season(Path::new("season.yaml"))
}

fn season(head: &str, sowings: &[&str]) -> Season {
    read(&text(head, sowings)).unwrap_or_else(|rejected| panic!("{rejected}"))
}

fn windows(season: &Season, today: Date) -> Windows {
    Windows::of(season, today).unwrap()
}

fn chosen(season: &Season, today: Date) -> Vec<Dated> {
    season.chosen(today).unwrap()
}

/// The days on which the plantings of each way of the only sowing are sown, as `02-13 02-27`.
fn ways(season: &Season, today: Date) -> Vec<String> {
    let courses = windows(season, today).courses;
    let sown = |way: &Vec<Dated>| way.iter().map(|dated| md(dated.sow)).collect::<Vec<_>>().join(" ");
    courses.iter().flat_map(|course| &course.ways).map(sown).collect()
}

fn md(day: Date) -> String {
    day.strftime("%m-%d").to_string()
}

/// The stays of the first way of the only sowing.
fn stays(season: &Season) -> Vec<Stay> {
    windows(season, WINTER).items(season).unwrap()[0].ways[0].stays.clone()
}

/// The first planting of the only sowing cannot be done any more.
fn late(why: Lateness) -> Vec<TooLate> {
    vec![TooLate { sowing: 0, number: 0, why }]
}

/// A day of the calendar by its number, counted from 1970.
fn md_of(day: i32) -> String {
    md(date(1970, 1, 1) + day.days())
}

/// The days in the window of the crop, those of mixing alone, and not those away; all of them where no day is.
#[test]
fn a_sowing_has_the_mix_days_of_its_window() {
    let kale = "crop: kale, plants: 80, tray: 50-cell, plant_out: 2027-04-17";
    assert_eq!(ways(&season(SATURDAYS, &[kale]), WINTER), ["03-06", "03-13", "03-20"]);
    assert_eq!(
        ways(&season(&format!("{SATURDAYS}not_on: 2027-03-07 to 2027-03-13\n"), &[kale]), WINTER),
        ["03-06", "03-20"]
    );
    let away = "not_on: [2027-03-13]\nmix_days: [saturday, wednesday]\n";
    assert_eq!(ways(&season(away, &[kale]), WINTER), ["03-06", "03-10", "03-17", "03-20"]);
    assert_eq!(ways(&season("", &[kale]), WINTER).len(), 15);
    // Of nobody's days none.
    assert_eq!(ways(&season("awake: {weekdays: no, sunday: no}\n", &[kale]), WINTER), ["03-06", "03-13", "03-20"]);
    // A range of less than a week is its middle with four days either way.
    let narrow = format!("{kale}, weeks: 5-5");
    let days = ways(&season("", &[&narrow]), WINTER);
    assert_eq!((days.first().unwrap().as_str(), days.last().unwrap().as_str(), days.len()), ("03-09", "03-17", 9));
}

#[test]
fn the_middle_of_a_window_keeps_its_half_day() {
    let off = |weeks: &str, out: &str| {
        let sowing = format!("crop: kale, plants: 8, tray: 72-cell, plant_out: {out}, weeks: {weeks}");
        let season = season("", &[&sowing]);
        let ways = windows(&season, WINTER).items(&season).unwrap().remove(0).ways;
        ways.iter().map(|way| way.off).min().unwrap()
    };
    // 38 1/2 days before: either neighbour is half a day off.
    assert_eq!([off("5-6", "2027-04-17"), off("4-6", "2027-04-17")], [1, 0]);
}

#[test]
fn frost_dates_stand_for_days() {
    let out = |words: &str, head: &str| {
        let sowing = format!("crop: kale, plants: 8, tray: 72-cell, plant_out: {words}");
        season(head, &[&sowing, "crop: leek, cells: 8, tray: 72-cell, sow: 2028-02-12"]).sowings[0].plant_out[0]
            .to_string()
    };
    assert_eq!(out("last frost + 2 weeks", FROST), "2027-05-24");
    assert_eq!(out("Last Frost-10 days", FROST), "2027-04-30");
    assert_eq!(out("first frost - 1 week", FROST), "2027-10-13");
    // Without a year, that of the earliest full day of the file.
    assert_eq!(out("last frost", "frost: {last: 10 May}\n"), "2028-05-10");
    // What is over then is told, unless it was sown.
    let over = |kale: &str, today: Date| {
        let sowings = ["last frost", "2026-10-25", "2027-02-20"].map(|out| format!("{kale}, plant_out: {out}"));
        let season = season("frost: {last: 15 April}\n", &sowings.each_ref().map(String::as_str));
        windows(&season, today).too_late
    };
    let kale = "crop: kale, plants: 8, tray: 72-cell";
    assert_eq!(over(kale, date(2026, 9, 1)), late(Lateness::Over));
    assert_eq!(over(&format!("{kale}, sow: 2026-03-07"), date(2026, 9, 1)), []);
    assert_eq!(over(kale, date(2026, 2, 1)), []);
}

#[test]
fn outside_its_window_a_sowing_takes_the_nearest_day_the_later_of_two() {
    let sowing = "crop: cucumber, plants: 8, tray: 50-cell, plant_out: 2027-05-29, weeks: 3-3";
    let head = |away: &str| format!("{SATURDAYS}not_on: [{away}]\n");
    // From 4 to 12 May; away on the 8th, the 1st is three days off, the 15th three.
    let both = season(&head("2027-05-08"), &[sowing]);
    assert_eq!(ways(&both, WINTER), ["05-15"]);
    assert!(chosen(&both, WINTER)[0].outside != 0);
    assert_eq!(ways(&season(&head("2027-05-08, 2027-05-15"), &[sowing]), WINTER), ["05-01"]);
    // What comes after planting out is no day.
    let gone = season(&head("2027-05-08, 2027-05-15, 2027-05-22"), &[sowing]);
    assert_eq!(windows(&gone, date(2027, 5, 2)).too_late, late(Lateness::Missed));
}

#[test]
fn today_is_the_earliest_day_but_for_what_is_fixed() {
    let kale = "crop: kale, plants: 8, tray: 72-cell, plant_out: 2027-04-17";
    let season_of = |more: &str| season(SATURDAYS, &[&format!("{kale}{more}")]);
    let open = season_of("");
    assert_eq!(ways(&open, date(2027, 3, 13)), ["03-13", "03-20"]);
    // Missed on the 13th, it goes to the next day in its window; after that it is too late.
    assert_eq!(ways(&open, date(2027, 3, 14)), ["03-20"]);
    let too_late = |today| (ways(&open, today), windows(&open, today).too_late);
    assert_eq!(too_late(date(2027, 3, 21)), (vec![], late(Lateness::Missed)));
    // Once it should be out, it is over.
    assert_eq!(too_late(date(2027, 4, 17)).1, late(Lateness::Missed));
    assert_eq!(too_late(date(2027, 4, 18)), (vec![], late(Lateness::Over)));
    let fixed = season_of(", sow: 2027-03-10");
    assert_eq!(ways(&fixed, date(2027, 6, 1)), ["03-10"]);
    let planted = season(SATURDAYS, &["crop: kale, plants: 8, tray: 72-cell, sow: 2027-03-13"]);
    assert_eq!(planted.sowings[0].plant_out, [date(2027, 4, 17)]);
    // What stands already is no work.
    let work = |today| {
        let windows = windows(&fixed, today);
        windows.items(&fixed).unwrap()[0].ways[0].stays[0].work
    };
    assert!(work(date(2027, 3, 10)) && !work(date(2027, 3, 11)));
}

#[test]
fn a_succession_keeps_its_weeks() {
    let lettuce = "crop: lettuce, plants: 30, tray: 72-cell, weeks: 4-5, plant_out: 2027-04-17, again: ";
    let every = season(SATURDAYS, &[&format!("{lettuce}{{every: 2 weeks, times: 2}}")]);
    assert_eq!(ways(&every, WINTER), ["03-13 03-27 04-10", "03-20 04-03 04-17"]);
    // Ten days apart, each on the Saturday nearest to the same 28 to 35 days before.
    let listed = season(SATURDAYS, &[&format!("{lettuce}[10 days, 18 days]")]);
    let days = ways(&listed, WINTER);
    assert!(
        days.contains(&"03-20 03-27 04-17".to_owned()) && days.contains(&"03-13 03-27 04-10".to_owned()),
        "{days:?}"
    );
    // Never two on one day.
    let close = season(SATURDAYS, &[&format!("{lettuce}{{every: 2 days, times: 2}}")]);
    for way in &windows(&close, WINTER).courses[0].ways {
        assert_eq!(way.iter().map(|dated| dated.sow).collect::<BTreeSet<_>>().len(), 3, "{way:?}");
    }
    // Days that are fixed are those of the first plantings; one that is too late keeps none of the others.
    let sown = season(SATURDAYS, &[&format!("{lettuce}{{every: 2 weeks, times: 2}}, sow: [2027-03-16]")]);
    assert_eq!(ways(&sown, date(2027, 3, 20)), ["03-16 03-27 04-10", "03-16 04-03 04-17"]);
    let missed = windows(&every, date(2027, 3, 21));
    assert_eq!((missed.too_late, missed.courses[0].ways.len()), (late(Lateness::Missed), 2));
    // A day for each: the first ones have none where there are fewer Saturdays than plantings.
    let daily =
        format!("{}, again: {{every: 1 day, times: 100}}", lettuce.replace("4-5", "10-60").replace(", again: ", ""));
    let daily = windows(&season(SATURDAYS, &[&daily]), WINTER);
    let none = daily.too_late.iter().filter(|late| late.why == Lateness::NoDay).count();
    // Of the Saturdays some are past: begun in time, they would have given more of them a day.
    assert!((1..daily.too_late.len()).contains(&none), "{none}");
    assert_eq!(daily.courses[0].ways[0].len(), 101 - daily.too_late.len());
    assert_eq!(windows(&season("", &[&format!("{lettuce}{{every: 1 day, times: 100}}")]), WINTER).too_late, []);
}

const TOMATO: &str = "crop: tomato, plants: 40, tray: 72-cell, weeks: 8-8, plant_out: 2027-05-22, \
                      then: {tray: 9 cm pot, potted: 36, after: 4 weeks, recipe: rich";

#[test]
fn plants_are_potted_on_at_the_first_mix_day_after_their_weeks() {
    let pots = |more: &str, today| {
        let season = season(SATURDAYS, &[&format!("{TOMATO}{more}}}")]);
        let dated = chosen(&season, today).remove(0);
        (md(dated.sow), dated.pot.map(md), season)
    };
    let (sow, pot, season) = pots("", WINTER);
    assert_eq!((sow.as_str(), pot.as_deref()), ("03-27", Some("04-24")));
    assert_eq!(pots(", on: 2027-04-22", WINTER).1.as_deref(), Some("04-22"));
    let pots_in = &season.loaded.week.sowings[1];
    assert_eq!(
        (pots_in.name(), pots_in.from.as_ref().map(|plug| plug.name.clone())),
        ("tomato".to_owned(), Some("72-cell".to_owned()))
    );
    // The plugs stand until potting day, then 38 pots (5 % to spare) in three carrying trays of 18.
    let [plugs, potted] = &stays(&season)[..] else { panic!() };
    assert_eq!((plugs.until, potted.from, potted.trays), (potted.from, plugs.until, 3));
    assert_eq!((md_of(potted.until), md_of(plugs.from)), ("05-12".to_owned(), "03-27".to_owned()));
    // Sown and not potted on in time.
    let sown = format!("{TOMATO}}}, sow: 2027-03-27");
    let sown = self::season(SATURDAYS, &[&sown]);
    let sown = windows(&sown, date(2027, 5, 20));
    assert_eq!((sown.too_late, sown.courses[0].ways[0][0].pot), (late(Lateness::NotPotted), None));
    // Sown about eight weeks before 22 May, it would be potted on seven weeks later, when nobody is there until 21 May.
    let never = TOMATO.replace("4 weeks", "7 weeks");
    let never = self::season("mix_days: [saturday]\nnot_on: [2027-05-01 to 2027-05-21]\n", &[&format!("{never}}}")]);
    assert_eq!(windows(&never, WINTER).too_late, late(Lateness::NoDay));
    // Of four plantings the last, sown from 1 May on, would be potted on from 19 June on; on 3 July it is planted out.
    let four_times = TOMATO.replace("4 weeks", "7 weeks") + "}, again: {every: 2 weeks, times: 3}";
    let away = "mix_days: [saturday]\nnot_on: [2027-06-19 to 2027-06-26]\n";
    let four = windows(&self::season(away, &[&four_times]), WINTER);
    assert_eq!(four.too_late, [TooLate { number: 3, ..late(Lateness::NoDay)[0] }]);
    assert!(four.courses[0].ways.iter().all(|way| way.len() == 3));
    // Each for itself: the first could be sown on 27 March and potted on on 15 May, but no more on 31 March and 19 May.
    let away = "mix_days: [wednesday, saturday]\nnot_on: [2027-05-19, 2027-06-19 to 2027-06-30]\n";
    let four = windows(&self::season(away, &[&four_times]), date(2027, 3, 28));
    let why: Vec<_> = four.too_late.iter().map(|late| (late.number, late.why)).collect();
    assert_eq!(why, [(0, Lateness::Missed), (3, Lateness::NoDay)]);
}

#[test]
fn a_planting_takes_its_places_until_it_is_hardened() {
    let stay = |head: &str, sowing: &str| stays(&season(&format!("{SATURDAYS}{head}"), &[sowing])).remove(0);
    let leaves = |head: &str, sowing: &str| md_of(stay(head, sowing).until);
    // A week before, ten days of tender crops, and these not before the last frost.
    assert_eq!(leaves(FROST, "crop: kale, plants: 8, tray: 72-cell, plant_out: 2027-04-17"), "04-10");
    let basil = |day: &str| format!("crop: basil, plants: 8, tray: 72-cell, plant_out: {day}");
    assert_eq!(leaves(FROST, &basil("2027-05-29")), "05-19");
    assert_eq!(leaves(FROST, &basil("2027-05-15")), "05-10");
    assert_eq!(leaves("", &basil("2027-05-15")), "05-05");
    assert_eq!(leaves(FROST, &basil("2027-05-08")), "05-08");
    assert_eq!(leaves(FROST, &(basil("2027-05-29") + ", harden: 2 weeks")), "05-15");
    // Its own whole trays, whatever else is sown.
    let two = [TOMATO.to_owned() + "}", "crop: kale, cells: 30, tray: 72-cell, plant_out: 2027-04-17".to_owned()];
    let two = season(SATURDAYS, &[&two[0], &two[1]]);
    assert_eq!(windows(&two, WINTER).items(&two).unwrap()[1].ways[0].stays[0].trays, 1);
    // Warm seed stands on a mat until it is up; hardy plants may go to the frame after three weeks.
    let tomato = stay("", "crop: tomato, plants: 8, tray: 72-cell, plant_out: 2027-05-22");
    assert_eq!((tomato.mat_until.map(|until| until - tomato.from > 5), tomato.frame_from), (Some(true), None));
    let kale = stay("", "crop: kale, plants: 8, tray: 72-cell, plant_out: 2027-04-17");
    assert_eq!((kale.mat_until, kale.frame_from), (None, Some(kale.from + 21)));
    let spaced = "trays: {9 cm pot: {spaced: 12}}\n";
    let pots = stays(&season(&format!("{SATURDAYS}{spaced}"), &[&format!("{TOMATO}}}")])).remove(1);
    assert_eq!((pots.trays, pots.spaced), (3, Some((pots.from + 14, 4))));
}

#[test]
fn limits_are_those_of_the_place() {
    let head = "rack: {shelves: 3, trays_per_shelf: 4, mats: 4, occupied: 2}\ntrays_a_day: 9\n\
                frame: {places: 6, from: 20 March}\n";
    let autumn = "crop: kale, plants: 8, tray: 72-cell, plant_out: 2027-01-20, weeks: 8-10";
    let season_of = season(head, &[autumn]);
    // Over the turn of the year, days are days.
    assert_eq!(chosen(&season_of, date(2026, 10, 1))[0].sow, date(2026, 11, 18));
    let Limits { places, mats, trays_a_day, frame } = windows(&season_of, date(2026, 10, 1)).limits(&season_of);
    assert_eq!((places, mats, trays_a_day), (Some(10), Some(4), Some(9)));
    let frame = frame.unwrap();
    let open: Vec<String> = frame.open.iter().flat_map(|open| [md_of(open.start), md_of(open.end)]).collect();
    assert_eq!((frame.places, open), (6, ["03-20", "01-01", "03-20", "01-01"].map(str::to_owned).to_vec()));
}

fn value(loaded: &Loaded) -> serde_json::Value {
    PlanReport { plan: &plan(loaded).unwrap(), week: &loaded.week }.value()
}

const OWN_MIX: &str = "recipe: own mix\nparts: {peat or coir: 3, perlite: 1}\n";
const BARKY: &str = "recipe: barky\nparts: {pine bark or compost: 1, bran: 1}\ningredients: {bran: {}}\n";

/// Each day is the week that its file says, wherever that lies.
#[test]
fn each_day_is_a_week() {
    let club = "place: club\nrecipe: house mix\nuse: coir\nmix_days: [saturday]\nmix_at: 10:00\nstock: shed.yaml\n\
                time_zone: Europe/Paris\nsoak: {sold_as: washed}\n";
    let text = "season: 'sale: 2027'\nplace: ../club/place.yaml\nrecipe: own mix\nuse: [peat, pine bark]\nstock: shed.yaml\n\
                crops: {candytuft: {species: Iberis umbellata, family: Brassicaceae, weeks: 4-6}}\n\
                soak: {coir: {product: 5 kg block}}\nsowings: sowings.csv\n";
    let listed = text.replace("sowings: sowings.csv\n", "sowings:\n")
        + &format!("  - {{{TOMATO}}}}}\n")
        + "  - {crop: tomato, variety: 'it''s, red', plants: 9, tray: 72-cell, plant_out: 2027-05-22, recipe: barky}\n\
           \x20 - {crop: candytuft, plants: 9, tray: 72-cell, plant_out: 2027-04-24, again: [4 weeks]}\n";
    let table =
        "crop,tray,plants,plant_out,sow,recipe\nkale,72-cell,40,2027-05-29,,\nleek,128-cell,40,,2027-03-06,barky\n";
    for season_text in [text.to_owned(), listed] {
        let files = Memory::default()
            .with("club/place.yaml", club)
            .with("club/house-mix.yaml", "recipe: house mix\nparts: {coir or peat: 1}\n")
            .with("club/shed.yaml", "stock: club\npackages: {coir: [{label: 5 kg block, gives: 65 L, price: 9.00}]}\n")
            .with("2027/season.yaml", season_text.as_str())
            .with("2027/shed.yaml", "stock: own\non_hand: {peat: 30 L}\n")
            .with("2027/own-mix.yaml", OWN_MIX)
            .with("2027/barky.yaml", BARKY)
            .with("2027/sowings.csv", table)
            // The same from beside: in memory a name is all that a file has.
            .with("weeks/../2027/shed.yaml", "stock: own\non_hand: {peat: 30 L}\n")
            .with("weeks/../2027/own-mix.yaml", OWN_MIX)
            .with("weeks/../2027/barky.yaml", BARKY);
        let inputs = Inputs::new(&files);
        let season = inputs.season(Path::new("2027/season.yaml")).unwrap_or_else(|rejected| panic!("{rejected}"));
        let days = chosen(&season, WINTER);
        let dates = dates_of(&days);
        assert!(dates.len() >= 2, "{dates:?}");
        let (told, _) = season.told(&inputs, &days, WINTER).unwrap();
        let mut sown = 0;
        for on in dates {
            let day = inputs.day(&season, &days, &told, on).unwrap_or_else(|rejected| panic!("{rejected}"));
            assert_eq!(day.week.name, format!("sale: 2027, {on}"));
            assert_eq!(day.week.mix_on.as_ref().unwrap().local, on.at(10, 0, 0, 0));
            sown += day.week.sowings.len();
            let written = day_text(&season, &days, &told, on, Path::new("../2027"));
            let files = files.clone().with("weeks/day.yaml", written.as_str());
            let again = Inputs::new(&files)
                .week(Path::new("weeks/day.yaml"))
                .unwrap_or_else(|rejected| panic!("{rejected}\n{written}"));
            assert_eq!(value(&day), value(&again), "{written}");
            assert_eq!(day.remarks, again.remarks);
        }
        let pots = days.iter().filter(|dated| dated.pot.is_some()).count();
        assert_eq!(sown, days.len() + pots);
    }
}

/// What leaves within a week of the first shares its tray; what is planted out stands in the calendar.
#[test]
fn sowings_of_a_day_share_trays_that_leave_together() {
    let trays = |leaves: [&str; 3]| {
        let sowings: Vec<String> = ["kale", "cabbage", "collards"]
            .iter()
            .zip(leaves)
            .map(|(crop, leaves)| format!("{{crop: {crop}, cells: 24, tray: 72-cell{leaves}}}"))
            .collect();
        let text = format!("week: w\nrecipe: everyday\nmix_on: 2027-03-06\nsowings: [{}]\n", sowings.join(", "));
        let loaded = trayful::week::load(Path::new("w.yaml"), &Memory::default().with("w.yaml", text), &[]).unwrap();
        let plan = plan(&loaded).unwrap();
        plan.mixes.layout.trays[0].1
    };
    let leaves = ["", ", leaves: 2027-04-10", ", leaves: 2027-04-17", ", leaves: 2027-04-18"];
    assert_eq!(trays([leaves[0]; 3]), 1);
    assert_eq!(trays([leaves[1], leaves[2], leaves[1]]), 1);
    assert_eq!(trays([leaves[2], leaves[1], leaves[3]]), 2);
    assert_eq!(trays([leaves[0], leaves[1], leaves[2]]), 2);
}

/// Kale and an own crop fill a third of a tray each, and may lie in one as soon as it is known that they want the same.
#[test]
fn what_keeps_sowings_apart_unstated_is_said_with_the_trays_that_it_costs() {
    let sowing = |crop: &str, sow: &str| format!("  - {{crop: {crop}, cells: 24, tray: 72-cell{sow}}}\n");
    let own =
        |facts: &str| format!("crops: {{candytuft: {{species: Iberis umbellata, family: Brassicaceae{facts}}}}}\n");
    let notes = |arguments: &[&str], head: &str, days: &[&str], facts: &str| -> Vec<String> {
        let sowings = days.iter().flat_map(|day| [sowing("kale", day), sowing("candytuft", day)]).collect::<String>();
        let text = format!("{head}recipe: everyday\n{}sowings:\n{sowings}", own(facts));
        let json = run([arguments, &["--format", "json"]].concat()).file("s.yaml", text).result();
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        let notes = json["notes"].as_array().unwrap().iter().filter(|note| note["code"] == "unstated-apart");
        notes.map(|note| note["text"].as_str().unwrap().to_owned()).collect()
    };
    let week = |facts: &str| notes(&["plan", "s.yaml"], "week: w\nmix_on: 2027-03-06\n", &[""], facts);
    let said = |trays: &str, facts: &str| {
        vec![format!(
            "With {facts} stated under `crops:` as others have them, candytuft would share trays with these: {trays} fewer."
        )]
    };
    assert_eq!(week(""), said("1 tray", "`pace:` and `light:`"));
    assert_eq!(week(", pace: medium"), said("1 tray", "`light:`"));
    // As kale; and otherwise, so that nothing would help.
    assert_eq!([week(", pace: medium, light: cover"), week(", pace: slow")], [Vec::<String>::new(), Vec::new()]);
    // A season says it once for all of its days.
    let days = ["2027-03-06", "2027-03-13"].map(|day| format!(", sow: {day}, plant_out: 2027-04-17"));
    let season = ["season", "s.yaml", "--today", "2027-01-04"];
    let season = notes(&season, "season: s\n", &days.each_ref().map(String::as_str), "");
    assert_eq!(season, said("2 trays", "`pace:` and `light:`"));
}

#[test]
fn a_week_hardens_and_plants_out_on_the_days_that_it_states() {
    let week = "week: w\nrecipe: everyday\nmix_on: 2027-03-06\nsowings:\n\
                \x20 - {crop: kale, cells: 24, tray: 72-cell, plant_out: 2027-04-17, leaves: 2027-04-12}\n\
                \x20 - {crop: tomato, potted: 8, tray: 9 cm pot, from: 72-cell, plant_out: 2027-05-22}\n\
                \x20 - {crop: basil, cells: 24, tray: 72-cell, plant_out: 2027-05-01}\nfrost: {last: 10 May}\n";
    let files = Memory::default().with("w.yaml", week);
    let loaded = trayful::week::load(Path::new("w.yaml"), &files, &[]).unwrap();
    let value = value(&loaded);
    let days = |code: &str| -> Vec<String> {
        let entries = value["calendar"].as_array().unwrap().iter().filter(|entry| entry["code"] == code);
        entries.map(|entry| format!("{} {}", entry["at"].as_str().unwrap(), entry["do"].as_str().unwrap())).collect()
    };
    let [kale, basil, tomato] = &days("plant-out")[..] else { panic!() };
    assert_eq!([kale, tomato], ["2027-04-17 kale may go out", "2027-05-22 tomato may go out"]);
    // Frost may come after that day.
    assert!(basil.starts_with("2027-05-01 basil may go out; ") && basil.contains("10 May"), "{basil}");
    let harden = days("harden");
    assert!(harden[0].starts_with("2027-04-12") && harden[2].starts_with("2027-05-12"), "{harden:?}");
    // They stay on days away, which is said; and so is that nobody waters what was sown, unless it is one day, or those of
    // each week.
    let of_days = |away: &str| {
        let files = Memory::default().with("w.yaml", format!("{week}{away}\n"));
        let loaded = trayful::week::load(Path::new("w.yaml"), &files, &[]).unwrap();
        self::value(&loaded)
    };
    for (away, water) in [
        ("not_on: [2027-03-07 to 2027-03-09]", true),
        ("not_on: [2027-03-09]\nawake: {sunday: no, monday: no}", true),
        ("not_on: [2027-03-07]", false),
        ("awake: {sunday: no, monday: no}", false),
        ("not_on: [2027-03-08 to 2027-03-20]", false),
    ] {
        let unwatered = "Nobody is there (`awake:`, `not_on:`) to water the new trays from Sun 7 Mar to Tue 9 Mar";
        assert_eq!(of_days(away)["cautions"].to_string().contains(unwatered), water, "{away}");
    }
    // What waits until somebody is there falls away once kale is out; basil stays until May.
    let back = of_days("not_on: [2027-03-08 to 2027-04-20]");
    let waiting = back["calendar"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|entry| ["feed", "uncover"].contains(&entry["code"].as_str().unwrap()));
    let waiting: Vec<String> = waiting.map(|entry| format!("{} {}", entry["at"], entry["do"])).collect();
    assert!(waiting.iter().any(|it| it.starts_with("\"2027-04-21") && it.contains("basil")), "{waiting:?}");
    assert!(waiting.iter().all(|it| !it.contains("kale")), "{waiting:?}");
    let away = Memory::default().with("w.yaml", format!("{week}not_on: [2027-04-10 to 2027-04-17]\n"));
    let loaded = trayful::week::load(Path::new("w.yaml"), &away, &[]).unwrap();
    let away = self::value(&loaded);
    let of = |value: &serde_json::Value, code: &str| {
        value["calendar"].as_array().unwrap().iter().filter(|entry| entry["code"] == code).cloned().collect::<Vec<_>>()
    };
    assert_eq!(
        ["harden", "plant-out"].map(|code| of(&away, code)),
        ["harden", "plant-out"].map(|code| of(&value, code))
    );
    let said =
        "Nobody is there (`awake:`, `not_on:`) to harden off kale from Mon 12 Apr and to plant out kale on Sat 17 Apr.";
    assert!(away["cautions"].to_string().contains(said), "{}", away["cautions"]);
}

fn write(text: &str, on: Date) -> Result<String, ByHand> {
    let original = Original::of("season.yaml", text.as_bytes().to_vec()).unwrap();
    let season = read(&original.source.text).unwrap_or_else(|rejected| panic!("{rejected}"));
    let written = sown(&original, &season, &chosen(&season, WINTER), on);
    written.map(|(bytes, _)| String::from_utf8(bytes).unwrap())
}

#[test]
fn what_is_potted_on_on_one_day_has_a_line_each() {
    let dashes = "season: s\nrecipe: everyday\nmix_days: [saturday]\nnot_on: [2027-05-01]\nsowings:\n- crop: tomato\n  \
                  plants: 9\n  tray: 72-cell\n  weeks: 8-8\n  plant_out: 2027-05-22\n  again: [1 week, 1 week]\n  \
                  sow: [2027-03-27, 2027-04-03, 2027-04-10]\n  then:\n    tray: 9 cm pot\n    potted: 9\n    \
                  after: 4 weeks\n    on:\n      - 2027-04-24   # warm\n";
    let grown = format!("{dashes}      - 2027-05-08\n      - 2027-05-08\n");
    assert_eq!(write(dashes, date(2027, 5, 8)).unwrap(), grown);
}

/// What was sown is written into the file; nothing else in it changes.
#[test]
fn what_is_sown_is_written_into_the_season() {
    let kale = "crop: kale, plants: 8, tray: 72-cell, plant_out: 2027-04-17";
    let flow =
        text(SATURDAYS, &[kale, "crop: kale, plants: 8, tray: 72-cell, plant_out: 2027-07-17"]).replace('\n', "\r\n");
    assert_eq!(write(&flow, date(2027, 3, 13)).unwrap(), flow.replacen("{crop", "{sow: 2027-03-13, crop", 1));
    let block = "season: s\nrecipe: everyday\nsowings:\n  - crop: kale   # curly\n    plants: 8\n    tray: 72-cell\n    plant_out: 2027-04-17\n";
    let expected = block.replace("- crop", "- sow: 2027-03-13\n    crop");
    assert_eq!(write(block, date(2027, 3, 13)).unwrap(), expected);
    // The days of a succession become a list that grows; all of it is raised for five weeks.
    let lettuce = "crop: lettuce, plants: 9, tray: 72-cell, weeks: 4-5, plant_out: 2027-04-17, again: {every: 2 weeks, times: 2}, sow: ";
    let one = text(SATURDAYS, &[&format!("{lettuce}2027-03-13")]);
    let two = one.replace("sow: 2027-03-13", "sow: [2027-03-13, 2027-03-27]");
    assert_eq!(write(&one, date(2027, 3, 27)).unwrap(), two);
    let third = chosen(&read(&two).unwrap(), WINTER)[2].sow;
    assert_eq!(write(&two, third).unwrap(), two.replace("03-27]", &format!("03-27, {third}]")));
    // What stands behind a day stays there.
    let dashes = "season: s\nrecipe: everyday\nsowings:\n- crop: lettuce\n  plants: 9\n  tray: 72-cell\n  weeks: 4-5\n\
                  \x20 plant_out: 2027-04-17\n  again: [2 weeks, 2 weeks]\n  sow:\n    - 2027-03-13   # in rain\n  seeds: 1\n\
                  mix_days: [saturday]\n";
    let grown = dashes.replace("rain\n", "rain\n    - 2027-03-27\n");
    assert_eq!(write(dashes, date(2027, 3, 27)).unwrap(), grown);
    // Potting on has a day of its own.
    let tomato = text(SATURDAYS, &[&format!("{TOMATO}}}, sow: 2027-03-27")]);
    assert_eq!(write(&tomato, date(2027, 4, 24)).unwrap(), tomato.replace("{tray", "{on: 2027-04-24, tray"));
    // Nothing is sown, nothing changes; what cannot be written is told.
    assert_eq!(write(&flow, date(2027, 3, 14)).unwrap(), flow);
    let open = one.replace(", sow: 2027-03-13", "");
    let three = chosen(&read(&open).unwrap(), WINTER);
    let by_hand =
        |words: &[&str]| ByHand { is_table: false, words: words.iter().map(|words| (*words).to_owned()).collect() };
    let third = three[2].sow;
    let before = format!("lettuce: sow: [{third}], plant_out: {}", three[2].plant_out);
    assert_eq!(write(&open, third).unwrap_err(), by_hand(&[&before]));
    // So it reads, without the second planting.
    let skipped = write(&one, third).unwrap_err().words.concat();
    let skipped = skipped.strip_prefix("lettuce: ").unwrap();
    let entry = format!("crop: lettuce, plants: 9, tray: 72-cell, weeks: 4-5, {skipped}");
    let left = [three[0].plant_out, three[2].plant_out]
        .map(|out| (three.iter().find(|one| one.plant_out == out).unwrap().sow, out));
    let read_again = chosen(&read(&text(SATURDAYS, &[&entry])).unwrap(), WINTER);
    assert_eq!(read_again.iter().map(|dated| (dated.sow, dated.plant_out)).collect::<Vec<_>>(), left);
    // What was sown on two days and is potted on on one goes into one list, and is read.
    let two = format!(
        "{kale}, again: [1 week], sow: [2027-03-06, 2027-03-08], then: {{tray: 9 cm pot, potted: 8, after: 2 days"
    );
    let two = text(SATURDAYS, &[&format!("{two}}}")]);
    let both = two.replace("{tray", "{on: [2027-03-13, 2027-03-13], tray");
    assert_eq!(write(&two, date(2027, 3, 13)).unwrap(), both);
    assert_eq!(chosen(&read(&both).unwrap(), WINTER), chosen(&read(&two).unwrap(), WINTER));
    let dashes = both.replace("sow: [2027-03-06, 2027-03-08]", "sow: [2027-03-06, 2027-03-06]");
    assert!(read(&dashes).unwrap_err().to_string().contains("the days of `sow:` are not in order"));
    let twice = text(SATURDAYS, &[&format!("{TOMATO}}}, sow: 2027-03-27"), &kale.replace("04-17", "05-29")]);
    let both = twice.replace("{tray", "{on: 2027-04-24, tray").replace("{crop: kale", "{sow: 2027-04-24, crop: kale");
    assert_eq!(write(&twice, date(2027, 4, 24)).unwrap(), both);
    // Two that share an entry cannot be told apart.
    let alias = text(SATURDAYS, &[kale]).replace("- {", "- &k {") + "  - *k\n";
    assert_eq!(write(&alias, date(2027, 3, 13)).unwrap_err(), by_hand(&["kale: sow: 2027-03-13"; 2]));
    let table = Memory::default()
        .with("season.yaml", "season: s\nrecipe: everyday\nsowings: s.csv\n")
        .with("s.csv", "crop,tray,plants,plant_out\nkale,72-cell,8,2027-04-17\n");
    let season = Inputs::new(&table).season(Path::new("season.yaml")).unwrap();
    let original = Original::of("season.yaml", b"season: s\nrecipe: everyday\nsowings: s.csv\n".to_vec()).unwrap();
    let days = chosen(&season, WINTER);
    let words = format!("kale: {}, in line 2 of s.csv", days[0].sow);
    let table = ByHand { is_table: true, ..by_hand(&[&words]) };
    assert_eq!(sown(&original, &season, &days, days[0].sow).unwrap_err(), table);
}

/// A log tells of a season's own days, however long before planting out they lie, and of no others.
#[test]
fn the_days_of_a_season_are_known_in_a_log() {
    let season =
        read(&text("", &["crop: kale, plants: 8, tray: 72-cell, weeks: 60-62, plant_out: 2028-04-29"])).unwrap();
    let of = |day: &str| season.days_among(&[format!("s, {day}")]).len();
    assert_eq!(["2027-02-20", "2027-04-30", "2027-02-18", "2028-04-29"].map(of), [1, 1, 0, 0]);
    assert_eq!(season.days_among(&["other, 2027-04-30".to_owned(), "s, soon".to_owned()]).len(), 0);
}

/// What is fixed of a succession was raised so long, and so is the rest: to enter a day as it was planned moves none.
#[test]
fn a_day_entered_as_planned_moves_no_other() {
    let lettuce = "crop: lettuce, plants: 20, tray: 72-cell, plant_out: 2027-05-01, again: [3 weeks, 2 weeks]";
    let kale = "crop: kale, plants: 20, tray: 72-cell, plant_out: 2027-05-13";
    let days = |sow: &str| -> Vec<Date> {
        let season = read(&text(SATURDAYS, &[&format!("{lettuce}{sow}"), kale])).unwrap();
        chosen(&season, date(2027, 4, 10)).iter().map(|dated| dated.sow).collect()
    };
    let planned = [date(2027, 3, 20), date(2027, 4, 10), date(2027, 4, 10), date(2027, 4, 24)];
    assert_eq!(days(", sow: 2027-03-20"), planned);
    assert_eq!(days(", sow: [2027-03-20, 2027-04-10]"), planned);
    // Nor does a day that passes before anything is sown, though it leaves another raising for the first.
    let kale = "crop: kale, plants: 20, tray: 72-cell, plant_out: 2027-05-03, again: [2 weeks]";
    let leek = "crop: leek, plants: 20, tray: 72-cell, plant_out: 2027-06-12";
    let season = read(&text(SATURDAYS, &[kale, leek])).unwrap();
    let of = |today: Date| chosen(&season, today).iter().map(|dated| dated.sow).collect::<Vec<_>>();
    assert!([27, 28, 31].into_iter().all(|day| of(date(2027, 3, day)) == of(WINTER)));
    // One that was sown at another time does not bind the rest.
    assert_eq!(days(", sow: 2027-03-18").len(), 4);
}

/// Of choices that cost the same one is kept: 24 April and 8 May are as far from the middles as 1 and 15 May, and no day
/// before them makes the others the better ones by being over.
#[test]
fn a_day_that_passes_puts_no_equal_choice_in_the_place_of_another() {
    let sowings = [("lettuce", "06-19"), ("tomato", "06-23"), ("zinnia", "05-29"), ("Swiss chard", "06-08")];
    let sowings = sowings.map(|(crop, out)| format!("crop: {crop}, cells: 50, tray: 50-cell, plant_out: 2027-{out}"));
    let season = season("mix_days: [saturday, wednesday]\n", &sowings.each_ref().map(String::as_str));
    let days = |today: Date| dates_of(&chosen(&season, today));
    let planned = days(WINTER);
    assert_eq!(Vec::from_iter(planned.clone()), [date(2027, 4, 24), date(2027, 5, 8)]);
    assert!((10..=24).all(|day| days(date(2027, 4, day)) == planned));
    // What is missed goes to another day.
    assert!(!days(date(2027, 4, 25)).contains(&date(2027, 4, 24)));
}

/// Written day by day, the season keeps its days, and without what was written it is what it was.
#[test]
fn a_season_that_is_sown_day_by_day_keeps_its_days() {
    let (path, files) = (root().join("recipes/seasons/plant-sale.yaml"), Disk::default());
    let shipped = project("recipes/seasons/plant-sale.yaml");
    let mut text = shipped.clone();
    let read = |text: &str| {
        let original = Original::of("season.yaml", text.as_bytes().to_vec()).unwrap();
        let season =
            Inputs::new(&files).season_of(&path, &original.source).unwrap_or_else(|rejected| panic!("{rejected}"));
        (original, season)
    };
    let planned = chosen(&read(&text).1, WINTER);
    for on in dates_of(&planned) {
        let (original, season) = read(&text);
        let done = |days: &[Dated]| days.iter().filter(|dated| dated.sow < on).cloned().collect::<Vec<_>>();
        assert_eq!(done(&chosen(&season, on)), done(&planned), "{on}");
        text = String::from_utf8(sown(&original, &season, &planned, on).unwrap().0).unwrap();
    }
    let (_, season) = read(&text);
    assert_eq!(chosen(&season, date(2028, 1, 1)), planned);
    for key in ["sow: ", "on: "] {
        while let Some(at) = text.find(&format!("{{{key}")) {
            let value = &text[at + 1 + key.len()..];
            let end =
                if value.starts_with('[') { value.find("], ").unwrap() + 3 } else { value.find(", ").unwrap() + 2 };
            text.replace_range(at + 1..at + 1 + key.len() + end, "");
        }
    }
    assert_eq!(text, shipped);
}

#[test]
fn check_schema_and_starter_know_a_season() {
    let said = "season.yaml: season `my season` is in order\n";
    let starter = run(["new", "season"]).result();
    run(["check", "season.yaml"]).file("season.yaml", &starter).gives(0, said, "");
    let bare = |line: &str| line.strip_prefix("# ").filter(|line| line.contains(": ")).map(str::to_owned);
    let all = starter.lines().filter(|line| {
        !["stock.yaml", "place: ", "A sowing may", "and `harden", "A whole", "What holds"]
            .iter()
            .any(|out| line.contains(out))
    });
    let all: String = all.map(|line| bare(line).unwrap_or_else(|| line.to_owned()) + "\n").collect();
    run(["check", "season.yaml"]).file("season.yaml", &all).gives(0, said, "");
    let sheet = ["plan", "season.yaml", "--today", "2027-01-04", "--only", "summary"];
    let sheet = run(sheet).file("season.yaml", &starter).result();
    assert!(sheet.starts_with("my season, 2027-02-13\n"), "{sheet}");
    let schema: serde_json::Value = serde_json::from_str(&run(["schema", "season"]).result()).unwrap();
    let succession = &schema["$defs"]["succession"];
    assert_eq!(succession["required"], serde_json::json!(["every", "times"]));
    assert_eq!(schema["$defs"]["season"]["properties"]["mix_on"], false);
    // Faults of a table are told in it.
    let season = "season: s\nrecipe: everyday\nsowings: s.csv\n";
    let table = "crop,tray,plants,plant_out,weeks\nkale,72-cell,8,2027-04-17,0-0\n";
    let refused = run(["check", "season.yaml"]).file("season.yaml", season).file("s.csv", table).refusal();
    assert!(refused.contains("s.csv:2:27"), "{refused}");
}

/// The season that ships is in order from its first day on, and needs no day outside a window.
#[test]
fn the_season_of_the_club_has_its_days() {
    let path = root().join("recipes/seasons/plant-sale.yaml");
    let files = Disk::default();
    let season = Inputs::new(&files).season(&path).unwrap_or_else(|rejected| panic!("{rejected}"));
    let days = chosen(&season, WINTER);
    assert!(season.sowings.len() >= 20 && windows(&season, WINTER).too_late.is_empty());
    assert!(days.iter().all(|dated| dated.outside == 0));
    let (told, planned) = season.told(&Inputs::new(&files), &days, WINTER).unwrap();
    assert_eq!((planned.len(), told.coir_after.len()), (dates_of(&days).len(), dates_of(&days).len()));
    for on in dates_of(&days) {
        let day = Inputs::new(&files).day(&season, &days, &told, on).unwrap_or_else(|rejected| panic!("{rejected}"));
        let style = Style { format: Format::Json, ..Style::default() };
        let plan = render(&PlanReport { plan: &plan(&day).unwrap(), week: &day.week }, style);
        let file = run(["plan", "day.yaml", "--format", "json"]);
        let written = file.file("day.yaml", day_text(&season, &days, &told, on, path.parent().unwrap())).result();
        assert_eq!(written, plan, "{on}");
    }
    assert!(project("recipes/seasons/plant-sale.yaml").lines().count() < 60);
}

/// No number of a season makes its days panic; where the season is in order, each of its days is.
#[test]
fn any_number_of_a_season() {
    let head = "year: <2027>\nfrost: {last: <10> May}\nmix_days: saturday\nnot_on: [2027-03-<13>]\ntrays_a_day: <9>\n\
                rack: {shelves: <3>, trays_per_shelf: <4>, mats: <4>}\nframe: {places: <6>, from: <20> March}\n";
    let sowings = [
        "crop: kale, plants: <8>, tray: 72-cell, plant_out: 2027-04-<17>, weeks: <4>-<6>, harden: <7> days",
        "crop: leek, cells: <8>, tray: 72-cell, sow: [2027-<02>-13], again: {every: <2> weeks, times: <3>}",
        "crop: tomato, plants: 8, tray: 72-cell, plant_out: last frost + <2> weeks, then: {tray: 9 cm pot, potted: <8>, \
         after: <4> weeks, spare: <5> %}",
    ];
    let marked = text(head, &sowings);
    let plain = |text: &str| text.replace(['<', '>'], "");
    let mut in_order = 0;
    for (start, _) in marked.match_indices('<') {
        let end = start + marked[start..].find('>').unwrap();
        for number in ["1", "0", "-1", "60", "1000", "1e308", "99999999999999999999"] {
            let text = plain(&format!("{}{number}{}", &marked[..start], &marked[end..]));
            let files = Memory::default().with("season.yaml", text.as_str());
            let Ok(season) = Inputs::new(&files).season(Path::new("season.yaml")) else { continue };
            let Ok(_) = plan(&season.loaded) else { continue };
            let days = chosen(&season, date(2027, 3, 1));
            in_order += 1;
            for on in dates_of(&days) {
                let day = Inputs::new(&files)
                    .day(&season, &days, &Told::default(), on)
                    .unwrap_or_else(|rejected| panic!("{text}{rejected}"));
                plan(&day).unwrap_or_else(|rejected| panic!("{text}{rejected}"));
            }
        }
    }
    assert!(in_order > 30, "{in_order}");
}

/// What is left open is bounded.
#[test]
fn too_many_ways_are_refused() {
    let sowing =
        "crop: kale, cells: 4, tray: 72-cell, plant_out: 2027-04-17, weeks: 10-60, again: {every: 1 day, times: 99}";
    // Each is 351 days wide, 100 times, and up to 420 days long: 16.5 million looks, three of which are allowed.
    let windows = |count: usize| Windows::of(&season("", &[sowing; 20][..count]), date(2026, 1, 1));
    let refused = windows(20).unwrap_err().to_string();
    assert!(refused.contains("leave too much open") && refused.contains("season.yaml:7:"), "{refused}");
    assert!(windows(3).is_ok());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    /// While time goes by, and what is planned is entered when it is done, all stays as it was planned; also where other
    /// days cost the same, or the best ones are not found, and after a day that was missed.
    #[test]
    fn what_is_planned_stays(
        sowings in prop::collection::vec((0_usize..6, 1_u32..5, 0_i32..90, 0_u32..6), 5..11),
        days in prop::sample::select(vec!["weekends", "[friday, saturday, sunday]", "[saturday, wednesday]"]),
        places in 8_u32..60,
        away in 0_i32..90,
        missed in 1_usize..20,
    ) {
        let crops = ["kale", "zinnia", "lettuce", "tomato", "basil", "leek"];
        let sowings: Vec<String> = sowings.iter().enumerate().map(|(index, (crop, trays, out, more))| {
            let out = date(2027, 4, 10) + if out % 3 == 0 { *out } else { out / 7 * 7 }.days();
            let more = match (*more, crops[*crop]) {
                (0, "tomato") => ", then: {tray: 9 cm pot, potted: 20, after: 3 weeks}",
                (1, "lettuce") => ", again: {every: 2 weeks, times: 2}",
                _ => "",
            };
            let crop = crops[*crop];
            format!("crop: {crop}, variety: v{index}, trays: {trays}, tray: 72-cell, plant_out: {out}{more}")
        }).collect();
        let away = date(2027, 3, 1) + away.days();
        let head = format!(
            "mix_days: {days}\nnot_on: [{away} to {}]\nrack: {{shelves: 1, trays_per_shelf: {places}}}\n", away + 7.days()
        );
        let mut text = text(&head, &sowings.iter().map(String::as_str).collect::<Vec<_>>());
        let mut planned = chosen(&read(&text).unwrap(), WINTER);
        // What is entered is outside no window any more.
        let days = |plan: &[Dated]| plan.iter().map(|dated| Dated { outside: 0, ..dated.clone() }).collect::<Vec<_>>();
        let mut last = WINTER;
        for turn in 1.. {
            let Some(on) = dates_of(&planned).into_iter().find(|day| *day > last) else { break };
            let season = read(&text).unwrap();
            for today in [5, 2, 0].map(|before| on - before.days()).into_iter().filter(|today| *today > last) {
                prop_assert_eq!(days(&chosen(&season, today)), days(&planned), "on {} for {}", today, on);
            }
            last = on;
            if turn == missed {
                planned = chosen(&season, on + 1.day());
                continue;
            }
            let original = Original::of("season.yaml", text.into_bytes()).unwrap();
            // Of a succession of which one was missed the others are entered by hand.
            let Ok((bytes, _)) = sown(&original, &season, &planned, on) else { return Ok(()) };
            text = String::from_utf8(bytes).unwrap();
        }
        prop_assert_eq!(days(&chosen(&read(&text).unwrap(), date(2028, 1, 1))), days(&planned));
    }
}

proptest! {
    /// A sowing that stands alone moves no earlier when its planting out moves later; nothing stands on the rack
    /// before it is sown or after it has left; plantings of a succession never share a day, nor do their places
    /// depend on the order of the file.
    #[test]
    fn what_holds_of_any_season(
        out in 0_i32..200,
        later in 1_i32..30,
        weeks in (2_u32..12, 0_u32..5),
        every in 1_i32..30,
        times in 1_u32..6,
        days in prop::sample::select(vec!["saturday", "weekends", "[monday, friday]", "weekdays"]),
        away in prop::collection::vec(0_i32..200, 0..6),
    ) {
        let first = date(2027, 1, 30);
        let day = |days: i32| first.checked_add(Span::new().days(days)).unwrap();
        let away: Vec<String> = away.iter().map(|days| day(*days).to_string()).collect();
        let head = format!("mix_days: {days}\nnot_on: [{}]\nfrost: {{last: 10 May}}\n", away.join(", "));
        let range = format!("{}-{}", weeks.0, weeks.0 + weeks.1);
        let alone = |out: i32| format!("crop: basil, cells: 90, tray: 72-cell, weeks: {range}, harden: 3 days, plant_out: {}", day(out));
        let early = chosen(&season(&head, &[&alone(out)]), first - 400.days());
        let late = chosen(&season(&head, &[&alone(out + later)]), first - 400.days());
        prop_assert!(early[0].sow <= late[0].sow);

        let again = format!("{}, again: {{every: {every} days, times: {times}}}", alone(out));
        let (one, other) = (alone(out + later), again.as_str());
        let season_of = season(&head, &[&one, other]);
        let windows = windows(&season_of, first - 400.days());
        for course in &windows.courses {
            for way in &course.ways {
                let sown: BTreeSet<Date> = way.iter().map(|dated| dated.sow).collect();
                prop_assert_eq!(sown.len(), way.len());
                for dated in way {
                    prop_assert!(dated.sow < dated.plant_out && dated.leaves <= dated.plant_out);
                }
            }
        }
        for (course, item) in windows.courses.iter().zip(windows.items(&season_of).unwrap()) {
            for (way, stays) in course.ways.iter().zip(item.ways) {
                for (dated, stay) in way.iter().zip(&stays.stays) {
                    let number = |day: Date| (day - date(1970, 1, 1)).get_days();
                    prop_assert_eq!((stay.from, stay.until, stay.trays), (number(dated.sow), number(dated.leaves), 2));
                    prop_assert_eq!([stay.from - 1, stay.until].map(|day| stay.places_on(day)), [0, 0]);
                }
            }
        }
        // What is potted on is potted between sowing and hardening.
        let pots = format!("{}, then: {{tray: 9 cm pot, potted: 90, after: {every} days}}", alone(out));
        if let Ok(potted) = read(&text(&head, &[&pots])) {
            for dated in self::windows(&potted, first - 400.days()).courses.iter().flat_map(|course| course.ways.concat()) {
                prop_assert!(dated.pot.is_some_and(|pot| dated.sow < pot && pot <= dated.leaves), "{dated:?}");
                prop_assert!(dated.leaves <= dated.plant_out && dated.sow <= dated.leaves);
            }
        }
        let turned = season(&head, &[other, &one]);
        let turned = self::windows(&turned, first - 400.days());
        let days = |windows: &Windows| -> BTreeSet<Vec<Vec<Date>>> {
            let sown = |way: &Vec<Dated>| way.iter().map(|dated| dated.sow).collect();
            windows.courses.iter().map(|course| course.ways.iter().map(sown).collect()).collect()
        };
        prop_assert_eq!(days(&windows), days(&turned));
    }
}
