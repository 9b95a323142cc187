//! The season and its days: `season`, and the commands that take a day of it.

use crate::support::{Run, project, run};
use serde_json::Value;

/// The day on which the shipped season is planned.
const TODAY: [&str; 2] = ["--today", "2027-01-04"];

/// A run in a copy of the shipped season with its place and its stock.
fn club(arguments: &[&str]) -> Run {
    shipped(run(arguments))
}

fn shipped(run: Run) -> Run {
    ["seasons/plant-sale.yaml", "places/club.yaml", "stock/club-shed.yaml"]
        .into_iter()
        .fold(run, |run, file| run.file(file, project(&format!("recipes/{file}"))))
}

/// Runs in the folder of the shipped season.
fn in_its_folder(run: Run) -> Run {
    let folder = run.path().join("seasons");
    run.within(folder)
}

fn read_json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

/// Four small sowings on Saturdays, each on a day of its own.
const BEDS: &str = "season: beds\nrecipe: everyday\nmix_days: [saturday]\nstock: shed.yaml\nsowings:\n  \
                    - {crop: kale, cells: 70, tray: 72-cell, sow: 2027-02-13}\n  \
                    - {crop: leek, cells: 70, tray: 72-cell, sow: 2027-02-27}\n  \
                    - {crop: lettuce, cells: 70, tray: 72-cell, plant_out: 2027-05-01,\n     \
                       again: [3 weeks]}\n";
const SHED: &str = "stock: shed\non_hand: {peat: 12 L, perlite: 40 L, vermiculite: 40 L, castings: 40 L, lime: 1 kg, \
                    inoculant: 100 g}\n";

fn beds(arguments: &[&str]) -> Run {
    run(arguments).file("beds.yaml", BEDS).file("shed.yaml", SHED)
}

#[test]
fn the_sheet_of_a_season_is_that_of_its_next_day_or_of_the_one_named() {
    let title = |more: &[&str]| {
        let sheet = beds(&[&["plan", "beds.yaml", "--only", "summary"], more].concat()).result();
        sheet.lines().next().unwrap().to_owned()
    };
    assert_eq!(title(&["--today", "2027-01-04"]), "beds, 2027-02-13");
    assert_eq!(title(&["--today", "2027-02-13"]), "beds, 2027-02-13");
    assert_eq!(title(&["--today", "2027-02-14"]), "beds, 2027-02-27");
    assert_eq!(title(&["--now", "2027-02-14T00:00:00Z"]), "beds, 2027-02-27");
    assert_eq!(title(&["--day", "2027-02-13", "--today", "2027-04-01"]), "beds, 2027-02-13");
    // A day that is over is seen as it was, also where nothing fixed it.
    let open = title(&["--today", "2027-03-01"]);
    assert_eq!(title(&["--day", &open["beds, ".len()..], "--today", "2027-06-01"]), open);
}

#[test]
fn a_day_on_which_nothing_is_sown_names_its_neighbours() {
    let refused = |arguments: &[&str]| beds(arguments).refusal();
    let none = |day: &str, near: &str| {
        let said = refused(&["plan", "beds.yaml", "--today", "2027-01-04", "--day", day]);
        assert_eq!(said, format!("error: nothing is sown on {day} in `beds`: the nearest days are {near}\n"));
    };
    none("2027-02-14", "Sat 2027-02-13 and Sat 2027-02-27");
    none("2027-01-05", "Sat 2027-02-13");
    let labels = refused(&["labels", "beds.yaml", "--today", "2027-01-04", "--day", "2027-02-14"]);
    assert!(labels.contains("the nearest days are"), "{labels}");
    let bad = refused(&["plan", "beds.yaml", "--day", "2027-02-30"]);
    assert!(bad.contains("'2027-02-30' for '--day <DATE>': expected a day such as `2027-04-03`"), "{bad}");
    let over = refused(&["plan", "beds.yaml", "--today", "2029-01-01"]);
    assert!(
        over.contains("nothing is left to sow in `beds` from 2029-01-01 on: its last day was 2027-02-27"),
        "{over}"
    );
    let week = run(["plan", "week.yaml", "--day", "2027-02-13"]).file("week.yaml", super::WEEK).refusal();
    assert!(week.contains("`--day` and `--today` go with a season"), "{week}");
    let soak = run(["soak", "--product", "5 kg block", "--day", "2027-02-13"]).refusal();
    assert!(soak.contains("`--day` and `--today` go with a season"), "{soak}");
}

#[test]
fn labels_soak_and_calendar_are_those_of_the_day() {
    let day = ["--day", "2027-02-13", "--today", "2027-01-04"];
    let of = |command: &[&str]| in_its_folder(club(&[command, &day].concat())).result();
    let labels = of(&["labels", "plant-sale.yaml", "--format", "csv"]);
    assert!(labels.lines().skip(1).all(|line| line.contains(",2027-02-13,")) && labels.lines().count() > 1, "{labels}");
    let soak = of(&["soak", "plant-sale.yaml"]);
    assert!(soak.contains("plant sale 2027, 2027-02-13"), "{soak}");
    let ics = of(&["plan", "plant-sale.yaml", "--format", "ics"]);
    assert!(ics.contains("X-WR-CALNAME:plant sale 2027\\, 2027-02-13\r\n"), "{ics}");
}

#[test]
fn what_a_day_used_is_taken_out_of_the_stock_once() {
    let mixed = |done: crate::support::Output, more: &[&str]| {
        let again = beds(&[&["mixed", "beds.yaml", "--day", "2027-02-13", "--today", "2027-02-14"], more].concat());
        let kept = |name: &str| done.file(name).unwrap();
        again.file("shed.yaml", kept("shed.yaml")).file("shed.log.csv", kept("shed.log.csv")).done()
    };
    let first = beds(&["mixed", "beds.yaml", "--day", "2027-02-13", "--today", "2027-02-14"]).done();
    assert_eq!((first.status, first.stderr.as_str()), (0, ""), "{}", first.stdout);
    assert!(first.file("shed.log.csv").unwrap().contains("\"beds, 2027-02-13\""), "{:?}", first.file("shed.log.csv"));
    let (shed, log) = (first.file("shed.yaml").unwrap(), first.file("shed.log.csv").unwrap());
    assert_ne!(shed, SHED);
    let again = mixed(first, &[]);
    assert_eq!((again.status, again.file("shed.yaml").unwrap()), (1, shed));
    assert_eq!(again.file("shed.log.csv").unwrap(), log);
    let undone = mixed(again, &["--undo"]);
    assert_eq!((undone.status, undone.file("shed.yaml").unwrap().as_str()), (0, SHED));
}

#[test]
fn each_day_is_written_as_a_week_and_nothing_is_written_over() {
    let write =
        |more: &[&str]| club(&[&["season", "seasons/plant-sale.yaml", "--write", "weeks"], &TODAY[..], more].concat());
    let done = write(&[]).done();
    assert_eq!((done.status, done.stderr.as_str()), (0, ""));
    let names: Vec<&str> = done.stdout.lines().collect();
    assert!(names.len() > 5 && names[0].starts_with("weeks/2027-"), "{names:?}");
    for name in &names {
        let day = name.trim_start_matches("weeks/").trim_end_matches(".yaml");
        let of = |arguments: &[&str]| {
            read_json(&run([arguments, &["--format", "json"]].concat()).within(done.folder()).result())
        };
        let by_day = of(&[&["plan", "seasons/plant-sale.yaml", "--day", day], &TODAY[..]].concat());
        let mut by_file = of(&["plan", name]);
        // What was taken from which place is told by its path.
        by_file["notes"] = by_day["notes"].clone();
        assert_eq!(by_file, by_day, "{day}");
    }
    let last = names.last().unwrap();
    let refused = write(&[]).file(last, "mine").done();
    assert_eq!((refused.status, refused.stdout.as_str()), (2, ""));
    assert!(refused.stderr.contains("is there already: add `--replace`"), "{}", refused.stderr);
    // None was written before all were ready.
    assert_eq!(std::fs::read_dir(refused.folder().join("weeks")).unwrap().count(), 1);
    assert_eq!(refused.file(last).unwrap(), "mine");
    let replaced = write(&["--replace"]).file(last, "mine").done();
    assert_eq!(replaced.file(last), done.file(last));
    // A place that cannot be; and a file that the run works with.
    let nowhere = club(&["season", "seasons/plant-sale.yaml", "--write", "no/weeks"]).refusal();
    assert!(nowhere.contains("`no/weeks` was not written"), "{nowhere}");
    let own = "season: beds\nrecipe: everyday\nsowings: [{crop: kale, cells: 7, tray: 72-cell, sow: 2027-02-13}]\n";
    let itself = run(["season", "2027-02-13.yaml", "--write", ".", "--replace"]).file("2027-02-13.yaml", own).refusal();
    assert!(itself.contains("is a file that this command works with"), "{itself}");
}

#[test]
fn what_was_sown_is_written_once_and_nothing_else_changes() {
    let sown = |text: &str, more: &[&str]| {
        let words = [&["season", "seasons/plant-sale.yaml", "--sown"], more, &["--today", "2027-02-20"]].concat();
        shipped(run(words)).file("seasons/plant-sale.yaml", text).done()
    };
    let text = project("recipes/seasons/plant-sale.yaml").replace('\n', "\r\n");
    let first = sown(&text, &["2027-02-13"]);
    assert_eq!((first.status, first.stderr.as_str()), (0, ""));
    assert_eq!(
        first.stdout,
        "season `plant sale 2027`: what was sown on 2027-02-13 is written to seasons/plant-sale.yaml\n"
    );
    let written = first.file("seasons/plant-sale.yaml").unwrap();
    assert!(written.matches("sow: 2027-02-13, ").count() > 0);
    assert_eq!(written.replace("sow: 2027-02-13, ", ""), text);
    let again = sown(&written, &["2027-02-13"]);
    assert!(again.stdout.ends_with("is in seasons/plant-sale.yaml already\n"), "{}", again.stdout);
    assert_eq!((again.status, again.file("seasons/plant-sale.yaml").unwrap()), (0, written));
    let none = sown(&text, &["2027-02-14"]);
    assert_eq!((none.status, none.file("seasons/plant-sale.yaml").unwrap()), (2, text.clone()));
    assert!(none.stderr.contains("the nearest days are"), "{}", none.stderr);
    // Where it must be done by hand, the words are given.
    let table = "season: beds\nrecipe: everyday\nsowings: beds.csv\n";
    let by_hand = run(["season", "beds.yaml", "--sown", "2027-03-20", "--today", "2027-03-20"])
        .file("beds.csv", "crop,cells,tray,plant_out\nkale,70,72-cell,2027-04-24\n")
        .file("beds.yaml", format!("{table}mix_days: [saturday]\n"))
        .refusal();
    assert!(by_hand.contains("nothing was written") && by_hand.contains("\n  kale: sow: 2027-03-20\n"), "{by_hand}");
    let piped = run(["season", "-", "--sown", "2027-02-13"]).input(BEDS).refusal();
    assert!(piped.contains("name it in place of `-`"), "{piped}");
}
