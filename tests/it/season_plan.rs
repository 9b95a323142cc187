//! Seasons worked out: the rack week by week, what is bought and bathed, and what would help.
//!
//! What is expected is worked out by hand, or by brute force over the days; that coir keeps three weeks and that hardy
//! crops go out up to four weeks before the last frost is common practice, no source.

use jiff::civil::{Date, date};
use jiff::{Span, ToSpan};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use trayful::catalogue::Role;
use trayful::plan::{InSeason, Task, plan_without_comparison, trays_alone};
use trayful::report::{PlanReport, Report};
use trayful::season::{CoirCourse, Doubt, EntryOf, Help, RackWeek, SeasonPlan, Standing, Told};
use trayful::source::Memory;
use trayful::stock::money;
use trayful::units::to_litres;
use trayful::week::Inputs;

const WINTER: Date = date(2026, 11, 1);
/// Recipes of one ingredient each, and two that bring their own.
const RECIPES: [(&str, &str); 4] = [
    ("white.yaml", "recipe: white\nparts: {perlite: 1}\n"),
    ("brown.yaml", "recipe: brown\nparts: {coir: 1}\n"),
    ("bran.yaml", "recipe: bran\nparts: {oat bran: 1}\ningredients: {oat bran: {}}\n"),
    ("husk.yaml", "recipe: husk\nparts: {rice husk: 1}\ningredients: {rice husk: {}}\n"),
];
/// A tray of 72 cells of 50 mL, filled: 15 % settle, 5 % are spilt, a litre of loose material gives 0.88 L.
const MIX_L: f64 = 72.0 * 0.05 * 1.15 / 0.95;
const LOOSE_L: f64 = MIX_L / 0.88;

fn files(head: &str, sowings: &[&str], stock: &str) -> Memory {
    let sowings: String = sowings.iter().map(|sowing| format!("  - {{{sowing}}}\n")).collect();
    let text = format!("season: s\n{head}sowings:\n{sowings}");
    let files = Memory::default().with("season.yaml", text).with("stock.yaml", format!("stock: s\n{stock}"));
    RECIPES.iter().fold(files, |files, (name, text)| files.with(name, *text))
}

fn worked_of(files: &Memory, today: Date) -> SeasonPlan {
    let inputs = Inputs::new(files);
    let season = inputs.season(Path::new("season.yaml")).unwrap_or_else(|rejected| panic!("{rejected}"));
    SeasonPlan::of(&season, &inputs, today).unwrap_or_else(|rejected| panic!("{rejected}"))
}

fn worked(head: &str, sowings: &[&str]) -> SeasonPlan {
    worked_of(&files(&format!("recipe: everyday\nmix_days: [saturday]\n{head}"), sowings, ""), WINTER)
}

/// Trays of 72 sown on a day that is fixed.
fn sown(crop: &str, trays: u32, sow: &str, out: &str) -> String {
    format!("crop: {crop}, trays: {trays}, tray: 72-cell, sow: 2027-{sow}, plant_out: 2027-{out}")
}

fn md(day: Date) -> String {
    day.strftime("%m-%d").to_string()
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-9
}

/// Three crops fill a third of a tray each. Those that leave within a week of the first share it, and it stands until
/// the last of them leaves.
#[test]
fn the_rack_counts_trays_as_they_are_shared() {
    let third = |crop: &str, out: &str| sown(crop, 1, "03-06", out).replace("trays: 1", "cells: 24");
    let sowings = [third("kale", "04-10"), third("cabbage", "04-17"), third("collards", "04-18")];
    let sowings = [&*sowings[0], &sowings[1], &sowings[2]];
    let tight = worked("rack: {shelves: 1, trays_per_shelf: 1}\n", &sowings);
    let weeks: Vec<(String, String, u64, u64)> =
        tight.rack.iter().map(|week| (md(week.from), md(week.day), week.trays, week.over)).collect();
    let wanted = ["03-01 03-06", "03-08 03-08", "03-15 03-15", "03-22 03-22", "03-29 03-29", "04-05 04-05"];
    let wanted = wanted.map(|days| days.split_once(' ').unwrap());
    assert_eq!(weeks, wanted.map(|(from, day)| (from.to_owned(), day.to_owned(), 2, 1)));
    // The choice of days counts each sowing's own tray: three for 28 days, two for seven.
    assert_eq!((tight.cost.over, tight.fits()), (63, false));
    let crops = |week: usize| -> Vec<(Vec<usize>, u64)> {
        let contents = tight.rack[week].contents.iter();
        contents.map(|trays| (trays.sown.iter().map(|sown| sown.planting).collect(), trays.places)).collect()
    };
    assert_eq!(crops(0), [(vec![0, 1], 1), (vec![2], 1)]);
    let wide = worked("rack: {shelves: 1, trays_per_shelf: 2}\n", &sowings);
    assert_eq!((wide.cost.over, wide.fits(), wide.help.as_slice()), (28, true, &[][..]));
}

#[test]
fn mats_frame_and_pots_have_their_places() {
    let pots = |crop: &str, count: u32| {
        let sown = sown(crop, 2, "03-27", "05-22");
        format!("{sown}, then: {{tray: 9 cm pot, potted: {count}, on: 2027-04-24, recipe: rich}}")
    };
    let sowings = [pots("tomato", 10), pots("pepper", 5), sown("kale", 3, "03-06", "05-08")];
    let head = "rack: {shelves: 1, trays_per_shelf: 9, mats: 3}\nframe: {places: 2, from: 20 March}\n";
    let plan = worked(head, &[&*sowings[0], &sowings[1], &sowings[2]]);
    let week = |monday: &str| plan.rack.iter().find(|week| md(week.from) == monday).unwrap();
    // Two trays each want mats from the 27th on; kale may go out into the frame three weeks after the 6th.
    assert_eq!((week("03-22").trays, week("03-22").mats, week("03-22").mats_over, week("03-22").frame), (5, 4, 1, 2));
    let stand = |monday: &str| -> Vec<(usize, u64, u64, bool)> {
        let contents = week(monday).contents.iter();
        contents.map(|trays| (trays.sown[0].planting, trays.places, trays.framed, trays.on_mats)).collect()
    };
    assert_eq!(stand("03-22"), [(2, 2, 0, true), (1, 2, 0, true), (0, 1, 2, false)]);
    // 11 pots and 6, which leave together, stand in one carrying tray of 18.
    assert_eq!(stand("05-03"), [(1, 1, 0, false)]);
    assert_eq!((week("05-03").trays, week("05-03").contents[0].sown.len(), plan.days[2].trays), (1, 2, 1));
    assert!(plan.help.contains(&Help::Mats(1)) && !plan.fits());
    // Of two that come alike, the order of the file does not decide which goes.
    let [kale, cabbage] = ["kale", "cabbage"].map(|crop| sown(crop, 2, "03-06", "05-08"));
    let framed = |sowings: [&str; 2]| -> Vec<String> {
        let plan = worked(head, &sowings);
        let there = plan.rack.iter().flat_map(|week| &week.contents).filter(|trays| trays.framed > 0);
        there.map(|trays| sowings[plan.plantings[trays.sown[0].planting].sowing].to_owned()).collect()
    };
    assert!(!framed([&kale, &cabbage]).is_empty());
    assert_eq!(framed([&kale, &cabbage]), framed([&cabbage, &kale]));
    // Strawberries are up within 30 days, on 29 March; plugs are up, and want no mat.
    let plug = |crop: &str| format!("crop: {crop}, potted: 20, tray: 9 cm pot, sow: 2027-02-27, plant_out: 2027-05-08");
    let first =
        |sowing: &str| worked(head, &[sowing]).rack.iter().find(|week| week.frame > 0).map(|week| md(week.from));
    let firsts = [first(&sown("strawberry", 2, "02-27", "05-08")), first(&plug("strawberry")), first(&plug("tomato"))];
    assert_eq!(firsts.map(Option::unwrap_or_default), ["03-29", "03-22", ""]);
    assert!(worked(head, &[&*plug("tomato")]).rack.iter().all(|week| week.mats == 0));
}

/// The frame has more places than the rack: cabbage stays on its own there when the kale before it leaves.
#[test]
fn trays_keep_their_places_in_the_frame() {
    let head = "rack: {shelves: 1, trays_per_shelf: 3}\nframe: {places: 6, from: 1 March}\n";
    let sowings = [sown("kale", 3, "03-06", "05-01"), sown("cabbage", 3, "03-27", "05-22")];
    let plan = worked(head, &[&*sowings[0], &sowings[1]]);
    let settled = plan.settled();
    let all = plan.rack.iter().zip(&settled).flat_map(|(week, settled)| week.contents.iter().zip(settled));
    let framed = |crop: usize| -> BTreeSet<&[usize]> {
        let of_crop = all.clone().filter(|(trays, _)| trays.sown[0].planting == crop && trays.framed > 0);
        of_crop.map(|(_, [_, framed])| &framed[..]).collect()
    };
    assert_eq!([framed(0), framed(1)], [BTreeSet::from([&[0, 1, 2][..]]), BTreeSet::from([&[3, 4, 5][..]])]);
    // Of what waits for it to open the earliest sown goes first, though parsley is slower to come up.
    let sowings = [sown("parsley", 2, "01-04", "05-20"), sown("kale", 2, "01-06", "05-20")];
    let plan = worked("frame: {places: 2, from: 1 April}\n", &[&*sowings[0], &sowings[1]]);
    let framed = plan.rack.iter().flat_map(|week| &week.contents).filter(|trays| trays.framed > 0);
    assert_eq!(framed.map(|trays| trays.sown[0].planting).collect::<BTreeSet<_>>(), BTreeSet::from([0]));
}

/// It stands on its mat until the last crop is up, and goes to the frame only if all of them may.
#[test]
fn a_shared_tray_is_kept_as_all_of_its_crops_want_it() {
    let crop = |name: &str, frost: &str, emerges: &str| {
        format!(
            "  {name}: {{family: Asteraceae, pace: fast, light: cover, temperature: cool, frost: {frost}, weeks: 6-8, \
             germinates_at: 20-25 C, emerges: {emerges}}}\n"
        )
    };
    let place = "rack: {shelves: 1, trays_per_shelf: 4, mats: 4}\nframe: {places: 4, from: 1 March}\n";
    let weeks = |frost: &str| -> Vec<(u64, u64)> {
        let head = format!("{place}crops:\n{}{}", crop("alpha", "hardy", "4-6"), crop("beta", frost, "8-10"));
        let sowings = ["alpha", "beta"]
            .map(|crop| format!("crop: {crop}, cells: 24, tray: 72-cell, sow: 2027-03-06, plant_out: 2027-04-17"));
        worked(&head, &[&*sowings[0], &sowings[1]]).rack.iter().map(|week| (week.mats, week.frame)).collect()
    };
    // Up until 16 March; three weeks after the 6th is the 27th.
    assert_eq!(weeks("half-hardy"), [(1, 0), (1, 0), (1, 0), (0, 0), (0, 0), (0, 0)]);
    assert_eq!(weeks("hardy"), [(1, 0), (1, 0), (1, 0), (0, 0), (0, 1), (0, 1)]);
}

/// 6 trays a day take 29.7 L of perlite: with 5 L at hand, three bags of 10 L each day, or one of 100 L for all.
#[test]
fn a_season_is_bought_at_once_or_day_by_day() {
    let stock = "currency: EUR\non_hand: {perlite: 5 L}\npackages:\n  perlite: [{label: 100 L bag, gives: 100 L, price: 27.50}, \
                 {label: 10 L bag, gives: 10 L, price: 5.20}]\n";
    let sowings = ["03-06", "03-13", "03-20"].map(|sow| sown("lettuce", 6, sow, "04-24"));
    let sowings = [&*sowings[0], &sowings[1], &sowings[2]];
    let head = "recipe: white\nstock: stock.yaml\n";
    let plan = worked_of(&files(head, &sowings, stock), WINTER);
    assert_eq!(plan.purchases.total.map(money), Some("27.50".to_owned()));
    assert_eq!(plan.day_by_day.map(money), Some("46.80".to_owned()));
    let line = &plan.purchases.lines[0];
    assert!(near(line.need.litres().unwrap(), 18.0 * LOOSE_L) && near(line.on_hand.litres().unwrap(), 5.0));
    for day in &plan.days {
        assert_eq!((day.lacks.len(), day.lacks[0].packages[0].count), (1, 3), "{}", day.on);
        // A day's plan sees the stock as it stands.
        assert!(near(day.plan.purchases.lines[0].on_hand.litres().unwrap(), 5.0));
    }
    assert_eq!((plan.purchases.per.trays, to_litres(plan.totals.mix)), (18, 18.0 * MIX_L));
    // What is past is bought: two days are to come.
    let later = worked_of(&files(head, &sowings, stock), date(2027, 3, 7));
    assert_eq!(
        later.days.iter().map(|day| (day.is_done, day.lacks.len())).collect::<Vec<_>>(),
        [(true, 0), (false, 1), (false, 1)]
    );
    assert!(near(later.purchases.lines[0].need.litres().unwrap(), 12.0 * LOOSE_L));
    assert_eq!((to_litres(later.totals.mix), later.day_by_day.map(money)), (18.0 * MIX_L, Some("31.20".to_owned())));
    let mixing = later.calendar.iter().filter(|entry| matches!(entry.entry.task, Task::Mix { .. }));
    assert_eq!(mixing.map(|entry| entry.of).collect::<Vec<_>>(), [EntryOf::Day(1), EntryOf::Day(2)]);
    let out = later.calendar.iter().filter(|entry| entry.entry.task.code() == "plant-out");
    assert_eq!(out.count(), 3);
    // Without a price there is no sum.
    let unpriced = worked_of(
        &files(head, &sowings, "on_hand: {perlite: 5 L}\npackages: {perlite: [{label: bag, gives: 9 L}]}\n"),
        WINTER,
    );
    assert_eq!((unpriced.purchases.total, unpriced.day_by_day), (None, None));
    let enough = worked_of(&files(head, &sowings, "on_hand: {perlite: 500 L}\n"), WINTER);
    assert_eq!((enough.day_by_day.map(money), enough.days[2].lacks.len()), (Some("0.00".to_owned()), 0));
}

/// Mix that is left over is used once, by the first of the days.
#[test]
fn what_is_left_over_is_used_once() {
    let stock = "mixes: [{name: m, parts: {perlite: 1}, amount: 6 L}]\non_hand: {perlite: 1 L}\n";
    let sowings = ["03-06", "03-13", "03-20"].map(|sow| sown("lettuce", 1, sow, "04-24"));
    let white = files("recipe: white\nstock: stock.yaml\n", &[&*sowings[0], &sowings[1], &sowings[2]], stock);
    let plan = worked_of(&white, WINTER);
    let mixed = (3.0 * MIX_L - 6.0) / 0.88;
    assert!(near(to_litres(plan.totals.from_stock), 6.0) && near(to_litres(plan.totals.loose()), mixed));
    assert!(near(plan.purchases.lines[0].need.litres().unwrap(), mixed));
    let later = worked_of(&white, date(2027, 3, 7));
    assert!(near(to_litres(later.totals.from_stock), 6.0) && near(to_litres(later.totals.loose()), mixed));
    assert!(plan.days[0].lacks.is_empty() && !plan.days[1].lacks.is_empty());
    // Of coir the course begins with the first day that has none left.
    let brown = stock.replace("{perlite: 1}, amount: 6 L", "{coir: 1}, amount: 4.5 L");
    let brown = files(
        "recipe: brown\nstock: stock.yaml\nsoak: {sold_as: washed}\n",
        &sowings.each_ref().map(String::as_str),
        &brown,
    );
    let plan = worked_of(&brown, WINTER);
    assert_eq!(plan.days.iter().map(|day| day.plan.soak.is_some()).collect::<Vec<_>>(), [false, true, true]);
    assert_eq!(plan.coir.iter().map(|course| course.days.clone()).collect::<Vec<_>>(), [[1, 2]]);
}

/// Each day names only the recipes that it uses: what these bring is told apart by its name.
#[test]
fn own_ingredients_of_recipes_are_told_apart() {
    let sowings = [
        sown("lettuce", 1, "03-06", "04-24") + ", recipe: husk",
        sown("lettuce", 2, "03-13", "04-24") + ", recipe: bran",
    ];
    let stock = "ingredients: {oat bran: {}}\non_hand: {oat bran: 3 L}\n";
    for order in [[0, 1], [1, 0]] {
        let plan = worked_of(&files("stock: stock.yaml\n", &order.map(|at: usize| &*sowings[at]), stock), WINTER);
        let mut lines: Vec<_> =
            plan.purchases.lines.iter().map(|line| (line.ingredient.name.as_str(), line.need, line.on_hand)).collect();
        lines.sort_by_key(|line| line.0);
        assert_eq!(lines.iter().map(|line| line.0).collect::<Vec<_>>(), ["oat bran", "rice husk"]);
        assert!(near(lines[0].1.litres().unwrap(), 2.0 * LOOSE_L) && near(lines[1].1.litres().unwrap(), LOOSE_L));
        assert!(near(lines[0].2.litres().unwrap(), 3.0) && near(lines[1].2.litres().unwrap(), 0.0));
        assert_eq!(plan.totals.ingredients.as_slice().len(), 2);
    }
}

/// What the coir of a day is in a season, worked out from another day on.
fn coir_on(files: &Memory, plan: &SeasonPlan, on: Date, today: Date) -> InSeason {
    let inputs = Inputs::new(files);
    let season = inputs.season(Path::new("season.yaml")).unwrap();
    let mut days = season.days(&inputs, &plan.plantings, today).unwrap();
    season.coir_on(&mut days, on)
}

/// Days 0, 14 and 21 are served by one course, which is that of a week with all their sowings; day 22 has its own.
/// What is older than three weeks on the first day serves none.
#[test]
fn a_course_of_coir_serves_three_weeks() {
    let days = [("03-06", 1), ("03-20", 2), ("03-27", 3), ("03-28", 1)];
    let sowings = days.map(|(sow, trays)| sown("kale", trays, sow, "05-08"));
    let sowings: Vec<&str> = sowings.iter().map(String::as_str).collect();
    let head = "recipe: brown\nstock: stock.yaml\nsoak: {sold_as: washed, tub: 60 L}\n";
    let old = "on_hand: {soaked coir: {amount: 12 L, made: 2027-02-12}}\n";
    for (stock, soaked) in [("", 0.0), (old, 0.0), ("on_hand: {soaked coir: 12 L}\n", 12.0)] {
        let plan = worked_of(&files(head, &sowings, stock), WINTER);
        let courses: Vec<&[usize]> = plan.coir.iter().map(|course| &course.days[..]).collect();
        // With 12 L at hand the first day needs no bath, and so the course begins with the second.
        let wanted: [&[usize]; 2] = if soaked > 0.0 { [&[1, 2, 3], &[]] } else { [&[0, 1, 2], &[3]] };
        assert_eq!(courses, wanted.iter().copied().filter(|days| !days.is_empty()).collect::<Vec<_>>());
        let course = &plan.coir[0];
        let loose = courses[0].iter().map(|day| f64::from(days[*day].1)).sum::<f64>() * LOOSE_L;
        let left = (soaked - LOOSE_L).max(0.0);
        assert!(near(to_litres(course.soaking.need), loose - left), "{soaked}");
        // A day's plan sees the stock as it stands.
        let of_day = |day: usize| {
            let mut lines = plan.days[day].plan.purchases.lines.iter();
            lines.find(|line| line.ingredient.is(Role::SoakedCoir)).map_or(0.0, |line| line.need.litres().unwrap())
        };
        let used = days.map(|(_, trays)| soaked.min(f64::from(trays) * LOOSE_L));
        assert!((0..4).all(|day| near(of_day(day), used[day])), "{soaked}");
        let first = &plan.days[courses[0][0]];
        let own = first.plan.soak.as_ref().map_or(0.0, |soak| to_litres(soak.need));
        let more = coir_on(&files(head, &sowings, stock), &plan, first.on, WINTER).more.unwrap();
        assert!(near(to_litres(more.0), to_litres(course.soaking.need) - own), "{soaked}");
        let baths = |of: EntryOf| {
            plan.calendar.iter().filter(|entry| entry.of == of && matches!(entry.entry.task, Task::Soak { .. })).count()
        };
        assert!(baths(EntryOf::Course(0)) > 1 && (0..4).all(|day| baths(EntryOf::Day(day)) == 0));
        assert!(plan.calendar.is_sorted_by_key(|entry| entry.entry.at.timestamp()));
    }
    let plan = worked_of(&files(head, &sowings, ""), WINTER);
    // What each day is told of it; of days that are past as if the course had served all that it can.
    let (day, files_of) = (|at: usize| plan.days[at].on, files(head, &sowings, ""));
    let told = |at: usize, today: Date| coir_on(&files_of, &plan, day(at), today);
    let days = |at: usize, today: Date| {
        let told = told(at, today);
        (told.served_by, told.more.map(|(_, days, _)| days).unwrap_or_default())
    };
    // On the day too: it is fixed in the file.
    for today in [WINTER, day(0)] {
        assert_eq!(days(0, today), (None, vec![day(1), day(2)]));
    }
    assert_eq!((days(1, WINTER), days(2, WINTER)), ((Some(day(0)), Vec::new()), (Some(day(0)), Vec::new())));
    assert_eq!((days(3, WINTER), days(3, day(3))), ((None, Vec::new()), (None, Vec::new())));
    assert_eq!(days(1, date(2027, 3, 10)), (Some(day(0)), vec![day(2), day(3)]));
    let (more, _, whole) = told(0, WINTER).more.unwrap();
    let own = to_litres(plan.days[0].plan.soak.as_ref().unwrap().need);
    assert!(near(to_litres(whole.need), to_litres(more) + own));
    let all: Vec<String> = sowings[..3]
        .iter()
        .map(|sowing| {
            format!("{{{}}}", sowing.replace(", sow: ", ", leaves: ").replace("leaves: 2027-03", "leaves: 2027-04"))
        })
        .collect();
    let week = format!("week: s, 2027-03-06\nmix_on: 2027-03-06 08:00\n{head}sowings: [{}]\n", all.join(", "));
    let week = Inputs::new(&files(head, &sowings, "").with("week.yaml", week)).week(Path::new("week.yaml")).unwrap();
    let (course, week) = (&plan.coir[0].soaking, plan_without_comparison(&week).unwrap().soak.unwrap());
    assert!(
        (course.dry_kg - week.dry_kg).abs() < 1e-9 && course.times.as_ref().unwrap().start == week.times.unwrap().start
    );
}

/// A block for all, where the first day by itself would buy a brick.
#[test]
fn a_course_of_coir_opens_what_is_bought_at_once() {
    let head = "recipe: brown\nstock: stock.yaml\nsoak: {sold_as: washed, tub: 60 L}\n";
    let stock = "packages: {coir: [{label: 5 kg block, gives: 65 L, price: 14.90}, {label: 650 g brick, gives: 8.5 L, price: 3.20}]}\n";
    let sowings = [("03-06", 1), ("04-17", 4), ("05-22", 4)].map(|(sow, trays)| sown("kale", trays, sow, "06-26"));
    let plan = worked_of(&files(head, &sowings.each_ref().map(String::as_str), stock), WINTER);
    let labels = [&plan.coir[0].soaking.soak.product.label, &plan.days[0].lacks[0].packages[0].package.label];
    assert_eq!(labels, ["5 kg block", "650 g brick"]);
    // Coir that is sold buffered gets no bath.
    let sowings = sowings.each_ref().map(String::as_str);
    let buffered = worked_of(&files(&head.replace("washed", "buffered"), &sowings, ""), WINTER);
    assert!(buffered.coir.is_empty());
}

/// Away for weeks before the first day, it is bathed before that, and keeps for no day later on; or it cannot be.
#[test]
fn coir_is_bathed_before_days_away() {
    let head = "recipe: brown\nstock: stock.yaml\nsoak: {sold_as: washed, tub: 60 L}\n";
    let summer = [sown("kale", 1, "07-21", "09-04"), sown("kale", 2, "08-04", "09-18")];
    let away =
        |days: &str| self::files(&format!("{head}not_on: [{days}]\n"), &summer.each_ref().map(String::as_str), "");
    let spaced = worked_of(&away("2027-07-01 to 2027-07-20"), WINTER);
    assert_eq!(spaced.coir.iter().map(|course| course.days.clone()).collect::<Vec<_>>(), [[0], [1]]);
    let starts = spaced.coir.iter().map(|course| course.start().unwrap().date());
    assert!(starts.zip([date(2027, 6, 28), date(2027, 8, 1)]).all(|(start, least)| start > least));
    let long = away("2027-06-10 to 2027-07-20");
    let (inputs, plan) = (Inputs::new(&long), worked_of(&long, WINTER));
    let season = inputs.season(Path::new("season.yaml")).unwrap();
    assert!(plan.coir[0].is_unready(WINTER) && !spaced.coir[0].is_unready(WINTER));
    assert_eq!(plan.coir[0].ready_after(&season, date(2027, 7, 21), WINTER), Some(date(2027, 7, 23)));
}

/// What is said to help helps.
#[test]
fn what_would_help_helps() {
    let sowings = |trays: u32, out: &str| {
        let kale = format!("crop: kale, trays: {trays}, tray: 72-cell, weeks: 5-5, plant_out: 2027-{out}");
        [kale, "crop: cabbage, trays: 3, tray: 72-cell, weeks: 5-5, plant_out: 2027-05-08".to_owned()]
    };
    let of = |rack: u32, sowings: &[String; 2]| {
        worked(&format!("rack: {{shelves: 1, trays_per_shelf: {rack}}}\n"), &[&*sowings[0], &sowings[1]])
    };
    // Kale from 13 March until 10 April, cabbage from 3 April on: 6 trays for a week.
    let plan = of(4, &sowings(3, "04-17"));
    let moved = Help::Move { planting: 1, days: 7, left: 0 };
    assert_eq!(plan.help, [Help::Places(2), Help::Fewer(1, 2), moved]);
    // On two places each of them has one tray too many on each of its days, both together four.
    let moved = Help::Move { planting: 1, days: 7, left: 1 };
    assert_eq!(of(2, &sowings(3, "04-17")).help, [Help::Places(4), moved]);
    assert!(
        of(6, &sowings(3, "04-17")).fits() && of(4, &sowings(1, "04-17")).fits() && of(4, &sowings(3, "04-10")).fits()
    );
    assert!(!of(5, &sowings(3, "04-17")).fits() && !of(4, &sowings(2, "04-17")).fits());
    // What stood beyond the rack on days that are over is past help.
    let winter =
        [sown("lettuce", 14, "01-02", "02-20"), sown("kale", 6, "03-20", "05-01"), sowings(4, "05-01")[0].clone()];
    let winter = files(
        "recipe: everyday\nmix_days: [saturday]\nrack: {shelves: 1, trays_per_shelf: 9}\n",
        &winter.each_ref().map(String::as_str),
        "",
    );
    let help = worked_of(&winter, date(2027, 3, 1)).help;
    assert!(help.iter().any(|help| matches!(help, Help::Fewer(_, 1))), "{help:?}");
    let hands = worked("trays_a_day: 2\n", &[&*sowings(3, "04-17")[0]]);
    assert_eq!((hands.help[0], hands.days[0].over), (Help::TraysADay(date(2027, 3, 13), 1), 1));
    // From 4 to 12 May; away on the 8th, it is sown on the 15th, three days after.
    let cucumber = |out: &str| format!("crop: cucumber, plants: 8, tray: 50-cell, plant_out: 2027-{out}, weeks: 3-3");
    let away = |out: &str| worked("not_on: [2027-05-08]\n", &[&*cucumber(out)]);
    let outside = away("05-29");
    let by: Vec<(usize, i32)> = outside.outside().map(|(planting, dated)| (planting, dated.outside)).collect();
    assert_eq!((by, outside.help.as_slice()), (vec![(0, 3)], &[Help::PlantOut(0, 3)][..]));
    assert!(!outside.fits() && away("06-01").fits());
    // Six days earlier it would meet the last frost.
    let frost = "not_on: [2027-04-17, 2027-04-24]\nfrost: {last: 10 May}\n";
    let early = worked(frost, &[&*cucumber("05-11")]);
    assert_eq!((early.outside().count(), early.help.as_slice()), (1, &[][..]));
}

/// A week later, what leaves on the day on which others come is still there.
#[test]
fn a_cold_spring_keeps_all_for_a_week() {
    let sowings = [sown("kale", 3, "03-13", "04-20"), sown("cabbage", 3, "04-13", "05-15")];
    let head = |rack: u32| format!("rack: {{shelves: 1, trays_per_shelf: {rack}}}\n");
    let plan = worked(&head(4), &[&*sowings[0], &sowings[1]]);
    assert!(plan.fits() && plan.help.is_empty());
    let weeks: Vec<(String, u64)> = plan.spring.unwrap().into_iter().map(|(from, over)| (md(from), over)).collect();
    assert_eq!(weeks, [("04-12".to_owned(), 2), ("04-19".to_owned(), 2)]);
    assert_eq!(worked(&head(6), &[&*sowings[0], &sowings[1]]).spring.unwrap(), []);
    // On two places one tray is too many now in each week until 8 May; what is said is added to that.
    let narrow = worked(&head(2), &[&*sowings[0], &sowings[1]]).spring.unwrap();
    assert_eq!(
        narrow.iter().map(|(from, more)| (md(*from), *more)).collect::<Vec<_>>(),
        [("04-12".to_owned(), 3), ("04-19".to_owned(), 3), ("05-10".to_owned(), 1)]
    );
    assert_eq!(worked("", &[&*sowings[0]]).spring, None);
    let summer = sown("kale", 3, "06-12", "07-17");
    assert_eq!(worked(&format!("{}frost: {{last: 10 May}}\n", head(4)), &[&*summer]).spring, None);
    // What goes out in autumn is planted out as it would be.
    let autumn = [sown("kale", 3, "07-13", "08-20"), sown("cabbage", 3, "08-13", "09-15")];
    let autumn = [&*sowings[0], &autumn[0], &autumn[1]];
    assert_eq!(worked(&format!("{}frost: {{last: 10 May}}\n", head(4)), &autumn).spring.unwrap(), []);
    // What is out already comes back no more.
    let files = files(&format!("recipe: everyday\n{}", head(4)), &[&*sowings[0], &sowings[1]], "");
    assert_eq!(worked_of(&files, date(2027, 4, 14)).spring.unwrap(), []);
}

#[test]
fn frost_and_short_time_in_pots_are_said() {
    let doubts = |sowing: &str| -> Vec<Doubt> {
        let rack = "rack: {shelves: 3, trays_per_shelf: 4}\n";
        worked(&format!("{rack}frost: {{last: 10 May, first: 20 October}}\n"), &[sowing])
            .remarks
            .iter()
            .map(|remark| remark.of)
            .collect()
    };
    let (frost, out) = (date(2027, 5, 10), |crop: &str, day: &str| sown(crop, 1, "03-06", day));
    // Hardened for ten days, but not before the last frost.
    let short = |days: i32| Doubt::ShortlyHardened(frost, days, 10);
    assert_eq!(doubts(&out("basil", "05-08")), [Doubt::TenderBeforeFrost(frost)]);
    assert_eq!([doubts(&out("basil", "05-10")), doubts(&out("basil", "05-19"))], [[short(0)], [short(9)]]);
    assert_eq!(doubts(&out("basil", "05-20")), []);
    // 29 days before the last frost, and 28.
    assert_eq!(doubts(&out("kale", "04-11")), [Doubt::HardyEarly(frost)]);
    assert_eq!(doubts(&out("kale", "04-12")), []);
    // 42 days before the first frost, and 41; kale is no perennial.
    let first = Doubt::PerennialLate(date(2027, 10, 20));
    assert_eq!([doubts(&out("thyme", "09-08")), doubts(&out("thyme", "09-09"))], [vec![], vec![first]]);
    assert_eq!(doubts(&out("kale", "09-09")), []);
    // Out two weeks after the average first frost, 18 days before it, and 28 days before.
    let (first, late) = (date(2027, 10, 20), |out: &str| sown("basil", 1, "07-24", out));
    assert_eq!(doubts(&late("11-03")), [Doubt::TenderLate(first)]);
    assert_eq!(doubts(&late("10-02")), [Doubt::TenderLate(first)]);
    assert_eq!(doubts(&late("09-22")), []);
    // In the same winter, in January.
    assert_eq!(
        doubts(&late("11-03").replace("plant_out: 2027-11-03", "plant_out: 2028-01-10")),
        [Doubt::TenderLate(first)]
    );
    // Perennials after it, too.
    assert_eq!(doubts(&out("thyme", "11-03")), [Doubt::PerennialLate(first)]);
    // What goes out hardy in autumn is not early for the next spring.
    assert_eq!(doubts(&sown("pansy", 1, "08-14", "10-25")), []);
    // Hardened from 12 May on.
    let pots = |on: &str| out("tomato", "05-22") + &format!(", then: {{tray: 9 cm pot, potted: 9, on: 2027-{on}}}");
    assert_eq!(doubts(&pots("04-29")), [Doubt::SoonHardened(13)]);
    assert_eq!(doubts(&pots("04-28")), []);
    // Sown on 6 March in a house, all are up after 12 days.
    assert_eq!(doubts(&pots("03-18")), [Doubt::SoonPotted(12, 12), Doubt::RimToRim]);
    // In pots for longer than two weeks, which are not said to be set apart.
    assert_eq!([doubts(&pots("03-19")), doubts(&pots("04-27"))], [[Doubt::RimToRim], [Doubt::RimToRim]]);
    let rack = "frost: {last: 10 May}\nrack: {shelves: 3, trays_per_shelf: 4}\n";
    for head in [&format!("{rack}trays: {{9 cm pot: {{spaced: 10}}}}\n"), "frost: {last: 10 May}\n"] {
        assert_eq!(worked(head, &[&pots("03-19")]).remarks, []);
    }
}

/// Hardened for a week from 10 April, and for ten days from 13 April: five trays from the 13th until the 17th.
#[test]
fn trays_stand_outside_while_they_harden() {
    let sowings = [sown("kale", 3, "03-06", "04-17"), sown("tomato", 2, "03-13", "04-23")];
    let plan = |today| worked_of(&files("recipe: everyday\n", &[&*sowings[0], &sowings[1]], ""), today).hardening;
    assert_eq!(plan(WINTER), Some((date(2027, 4, 12), 5)));
    assert_eq!(plan(date(2027, 4, 17)), Some((date(2027, 4, 12), 2)));
    assert_eq!(plan(date(2027, 4, 23)), None);
    // Once they are potted on, it is the pots: ten, with spare, in a carrying tray of 18.
    let pots = sowings[1].clone() + ", then: {tray: 9 cm pot, potted: 9, on: 2027-04-05}";
    assert_eq!(worked("", &[&*pots]).hardening, Some((date(2027, 4, 12), 1)));
}

/// Days from planting out to which trays and pots may go, by brute force from the plans of the days.
fn standing(plan: &SeasonPlan, on: Date) -> u64 {
    let mut places = 0;
    for day in plan.days.iter().filter(|day| day.on <= on) {
        let week = &day.loaded.week;
        let leaves = |index: usize| week.sowings[index].leaves.unwrap();
        let layout = &day.plan.mixes.layout;
        let mut own: Vec<u64> = layout.sowings.iter().map(|sowing| sowing.trays.into()).collect();
        for map in &layout.maps {
            let members: Vec<usize> = map.portions.iter().map(|portion| portion.sowing as usize).collect();
            members.iter().for_each(|index| own[*index] -= 1);
            places += u64::from(members.iter().any(|index| on < leaves(*index)));
        }
        let mut pots: BTreeMap<(String, Date), u64> = BTreeMap::new();
        for (index, count) in own.into_iter().enumerate().filter(|(index, _)| on < leaves(*index)) {
            let tray = &week.sowings[index].tray;
            match tray.pot {
                true => *pots.entry((tray.name.clone(), leaves(index))).or_default() += count,
                false => places += count,
            }
        }
        places += pots.values().map(|count| count.div_ceil(18)).sum::<u64>();
    }
    places
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Sums are those of the days; the fullest day of each week is; a shared tray takes no more than its sowings alone;
    /// what is bought at once costs no more than what is bought day by day; each day is the plan of its week; the order
    /// of the file changes nothing.
    #[test]
    fn what_holds_of_any_season_worked_out(
        sowings in prop::collection::vec((0_usize..6, 1_u32..90, 0_i32..60, any::<bool>(), 0_u32..3), 1..9),
        places in 1_u32..12,
    ) {
        let crops = ["kale", "cabbage", "lettuce", "tomato", "basil", "leek"];
        let lines: Vec<String> = sowings.iter().enumerate().map(|(index, (crop, cells, out, more, tied))| {
            // Some take the same, and go out on the same day.
            let (cells, out) = if *tied == 0 { (&72, &14) } else { (cells, out) };
            let out = date(2027, 5, 1).checked_add(Span::new().days(*out)).unwrap();
            let more = match (*more, crops[*crop]) {
                (true, "tomato") => format!(", then: {{tray: 9 cm pot, potted: {cells}, after: 3 weeks, recipe: rich}}"),
                (true, "lettuce") => ", again: {every: 2 weeks, times: 2}".to_owned(),
                _ => String::new(),
            };
            // No two are the same.
            format!("crop: {}, variety: v{index}, cells: {cells}, tray: 72-cell, plant_out: {out}{more}", crops[*crop])
        }).collect();
        let stock = include_str!("../../recipes/stock/club-shed.yaml").replacen("stock: club shed\n", "", 1);
        let head = format!("recipe: everyday\nuse: coir\nmix_days: [saturday]\nstock: stock.yaml\nsoak: {{sold_as: washed}}\n\
                            rack: {{shelves: 1, trays_per_shelf: {places}}}\ntrays_a_day: 4\n");
        let refs: Vec<&str> = lines.iter().map(String::as_str).collect();
        let files = files(&head, &refs, &stock);
        let worked = worked_of(&files, WINTER);
        let mix: f64 = worked.days.iter().map(|day| to_litres(day.plan.mixes.totals.mix)).sum();
        prop_assert!(near(to_litres(worked.totals.mix), mix));
        for (id, loose) in worked.totals.ingredients.as_slice() {
            let days = worked.days.iter().flat_map(|day| day.plan.mixes.totals.ingredients.as_slice());
            let sum: f64 = days.filter(|(other, _)| other.name == id.name).map(|(_, loose)| to_litres(*loose)).sum();
            prop_assert!(near(to_litres(*loose), sum));
        }
        prop_assert!(worked.purchases.total.unwrap() <= worked.day_by_day.unwrap());

        let inputs = Inputs::new(&files);
        let season = inputs.season(Path::new("season.yaml")).unwrap();
        // On the day on which they are sown: what leaves last of a shared tray keeps all of it.
        for day in &worked.days {
            let alone: u64 = trays_alone(&day.loaded.week).unwrap().iter().sum();
            prop_assert!(day.plan.mixes.layout.trays.iter().map(|(_, count)| count).sum::<u64>() <= alone);
        }
        for week in &worked.rack {
            let days = (0..7).map(|day| week.from + day.days());
            let most = days.clone().map(|day| standing(&worked, day)).max().unwrap();
            let fullest = days.clone().find(|day| standing(&worked, *day) == most).unwrap();
            prop_assert_eq!((week.day, week.trays, week.over), (fullest, most, most.saturating_sub(places.into())));
            prop_assert_eq!(week.contents.iter().map(|trays| trays.places).sum::<u64>(), most);
            for trays in &week.contents {
                prop_assert!(trays.on <= week.day);
                prop_assert!(trays.sown.iter().any(|sown| week.day < worked.plantings[sown.planting].leaves));
            }
        }
        // Each tray has a place of its own, and keeps it while it stands on the rack.
        let settled = worked.settled();
        let mut before: BTreeMap<usize, &Vec<usize>> = BTreeMap::new();
        for (week, settled) in worked.rack.iter().zip(&settled) {
            let all: BTreeSet<usize> = settled.iter().flat_map(|[at, _]| at).copied().collect();
            prop_assert_eq!(all.len() as u64, week.trays);
            let now: BTreeMap<usize, &Vec<usize>> =
                week.contents.iter().zip(settled).map(|(trays, [at, _])| (trays.number, at)).collect();
            for (number, at) in &now {
                let kept = before.get(number).into_iter().flat_map(|at| at.iter()).filter(|at| **at < places as usize);
                prop_assert!(kept.zip(*at).all(|(one, other)| one == other));
            }
            before = now;
        }
        let last = worked.plantings.iter().map(|dated| dated.leaves).max().unwrap();
        prop_assert!(worked.rack.last().unwrap().from < last && standing(&worked, last) == 0);
        for day in &worked.days {
            let loaded = inputs.day(&season, &worked.plantings, &Told::default(), day.on).unwrap();
            let value = |plan| PlanReport { plan, week: &loaded.week }.value();
            prop_assert_eq!(value(&day.plan), value(&plan_without_comparison(&loaded).unwrap()));
        }

        let turned: Vec<&str> = refs.iter().rev().copied().collect();
        let turned = worked_of(&self::files(&head, &turned, &stock), WINTER);
        // The turned file has each sowing at the other end.
        let last = lines.len() - 1;
        let of = |plan: &SeasonPlan, planting: usize, turned: bool| {
            let dated = &plan.plantings[planting];
            (if turned { last - dated.sowing } else { dated.sowing }, dated.number)
        };
        let dated = |plan: &SeasonPlan, turned: bool| {
            let days = plan.plantings.iter().enumerate().map(|(at, dated)| (of(plan, at, turned), dated.sow, dated.leaves));
            days.collect::<BTreeSet<_>>()
        };
        prop_assert_eq!(dated(&worked, false), dated(&turned, true));
        let rack = |plan: &SeasonPlan, turned: bool| {
            let standing = |one: &Standing| {
                let sown: BTreeSet<_> = one.sown.iter().map(|sown| of(plan, sown.planting, turned)).collect();
                (sown, one.places, one.framed, one.on_mats)
            };
            let week = |week: &RackWeek| (week.day, week.mats, week.contents.iter().map(standing).collect::<BTreeSet<_>>());
            plan.rack.iter().map(week).collect::<Vec<_>>()
        };
        prop_assert_eq!(rack(&worked, false), rack(&turned, true));
        prop_assert_eq!((worked.purchases.total, worked.day_by_day, worked.cost), (turned.purchases.total, turned.day_by_day, turned.cost));
        // The courses bathe no more than is there.
        let lines = worked.purchases.lines.iter().filter(|line| line.ingredient.is(Role::Coir));
        let there: f64 = lines
            .map(|line| {
                let bought = line.packages.iter().filter_map(|pick| pick.gives().litres()).sum::<f64>();
                line.on_hand.litres().unwrap_or(0.0) + bought
            })
            .sum();
        let bathed: f64 = worked.coir.iter().map(|course| to_litres(course.soaking.soaked)).sum();
        prop_assert!(bathed <= there + 1e-6, "{bathed} L of {there} L");
        // They bathe what is needed, and what weighing out adds.
        let [need, over] = [|course: &CoirCourse| course.soaking.need, |course: &CoirCourse| course.soaking.over]
            .map(|of| worked.coir.iter().map(|course| to_litres(of(course))).sum::<f64>());
        let line = worked.purchases.lines.iter().find(|line| line.ingredient.is(Role::Coir));
        prop_assert!((need - line.map_or(0.0, |line| line.need.litres().unwrap())).abs() < 1e-6);
        prop_assert!((bathed - need - over).abs() < 1e-6);
        let coir = |plan: &SeasonPlan| plan.coir.iter().map(|course| course.days.clone()).collect::<Vec<_>>();
        prop_assert_eq!(coir(&worked), coir(&turned));
    }
}
