//! The calendar for other programs: `--format ics`.

use super::WEEK;
use crate::support::{project, root, run};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use trayful::report::{Calendar, Event, When};

const SOAK: &str =
    "soak: \"spring; coir, 🥥\"\ncoir: {product: 5 kg block, count: 2}\nsold_as: washed\ntime_zone: Europe/Paris\n";

/// The events, each with its properties unfolded; of those of its alarm, the trigger alone.
fn events(text: &str) -> Vec<BTreeMap<String, String>> {
    assert!(text.ends_with("END:VCALENDAR\r\n"), "{text}");
    let lines = text.replace("\r\n ", "");
    assert!(text.split("\r\n").all(|line| line.len() <= 75 && !line.contains(['\n', '\r'])), "{text}");
    let events = lines.split("BEGIN:VEVENT\r\n").skip(1).map(|event| {
        let (event, alarm) = event.split_once("BEGIN:VALARM").unwrap_or((event, ""));
        let trigger = alarm.lines().filter(|line| line.starts_with("TRIGGER"));
        let pairs = event.lines().chain(trigger).filter_map(|line| line.split_once(':'));
        pairs.map(|(name, value)| (name.to_owned(), value.to_owned())).collect()
    });
    events.collect()
}

fn of<'e>(events: &'e [BTreeMap<String, String>], code: &str) -> Vec<&'e BTreeMap<String, String>> {
    let uid = format!("{code}-");
    events.iter().filter(|event| event["UID"].starts_with(&uid)).collect()
}

fn plan(week: &str, more: &[&str]) -> Vec<BTreeMap<String, String>> {
    let arguments = ["plan", "weeks/week.yaml", "--format", "ics"].iter().chain(more);
    events(
        &run(arguments)
            .file("weeks/week.yaml", week)
            .file("places/club.yaml", project("recipes/places/club.yaml"))
            .file("stock/club-shed.yaml", project("recipes/stock/club-shed.yaml"))
            .result(),
    )
}

fn shipped(arguments: &[&str]) -> String {
    run(arguments).within(root().join("recipes/weeks")).result()
}

#[test]
fn a_plan_moves_its_events_and_never_doubles_them() {
    let week = |day: &str, usable: &str| {
        format!(
            "week: w\nmix_on: {day} 10:00\ntime_zone: Europe/Paris\nrecipe: everyday\nuse: peat\n{usable}sowings:\n  \
             - {{crop: kale, plants: 40, tray: 72-cell}}\n  - {{crop: parsley, plants: 40, tray: 72-cell}}\n"
        )
    };
    let ids = |events: &[BTreeMap<String, String>]| events.iter().map(|e| e["UID"].clone()).collect::<BTreeSet<_>>();
    let first = plan(&week("2027-03-06", ""), &["--now", "2027-01-01T00:00:00Z"]);
    assert_eq!(ids(&first).len(), first.len());
    // Another day in other hours, and a crop that comes up on other days.
    let other = "awake: {weekdays: 18:00-21:00}\ncrops: {parsley: {emerges: 5-10}}\n";
    let moved = plan(&week("2027-04-10", other), &["--now", "2027-01-02T00:00:00Z"]);
    assert_eq!(ids(&first), ids(&moved));
    let stamps = |events: &[BTreeMap<String, String>]| {
        (events[0]["DTSTAMP"].clone(), events[0]["SEQUENCE"].parse::<u64>().unwrap())
    };
    assert!(stamps(&first) < stamps(&moved));
    assert_eq!(plan(&week("2027-03-06", ""), &["--now", "2027-01-01T00:00:00Z"]), first);
    // One of another name is another week, and so is another file.
    let named = plan(&week("2027-03-06", "").replace("week: w\n", "week: v\n"), &[]);
    assert!(ids(&first).is_disjoint(&ids(&named)));
    let other = run(["plan", "other.yaml", "--format", "ics"]).file("other.yaml", week("2027-03-06", "")).result();
    assert!(ids(&first).is_disjoint(&ids(&events(&other))));
}

/// What is potted on is fed before what is sown, and peat is wetted for two ends: each is an event of its own, which
/// stays when the other falls away.
#[test]
fn events_of_two_kinds_are_never_taken_for_each_other() {
    let week = |more: &str| {
        format!(
            "week: w\nmix_on: 2027-03-06 10:00\nrecipe: everyday\nuse: peat\nsowings:\n  \
             - {{crop: tomato, plants: 40, tray: 72-cell}}\n{more}"
        )
    };
    let ids = |more: &str, what: &str| {
        let all = plan(&week(more), &[]);
        all.iter().filter(|event| event["SUMMARY"].contains(what)).map(|event| event["UID"].clone()).collect::<Vec<_>>()
    };
    let potted = "  - {crop: tomato, potted: 20, tray: 9 cm pot}\n";
    assert_eq!((ids(potted, "first feed of").len(), ids(potted, "feed the potted-on").len()), (1, 1));
    assert_eq!(ids("", "first feed of"), ids(potted, "first feed of"));
    // Peat of a mix without lime is wetted the evening before, that of the other is limed days ahead.
    let unlimed = "  - {crop: lettuce, cells: 72, tray: 72-cell, recipe: bare.yaml}\n";
    let plan = run(["plan", "week.yaml", "--format", "ics"])
        .file("week.yaml", week(unlimed))
        .file("bare.yaml", "recipe: bare\nparts: {peat: 1, perlite: 1}\n");
    let all = events(&plan.result());
    assert_eq!((of(&all, "wet-peat-to-lime").len(), of(&all, "wet-peat-unlimed").len()), (1, 1), "{all:?}");
}

#[test]
fn hours_are_utc_days_are_dates_and_only_hands_are_called() {
    let week = "week: w\nmix_on: 2027-03-06 10:00\ntime_zone: Europe/Paris\nrecipe: everyday\nuse: peat\nsowings:\n  \
                - {crop: parsley, plants: 40, tray: 72-cell}\n  - {crop: tomato, plants: 40, tray: 72-cell}\n";
    let events = plan(week, &[]);
    let one = |code: &str, which: usize| of(&events, code)[which].clone();
    let mix = one("mix", 0);
    assert_eq!((mix["DTSTART"].as_str(), mix["DURATION"].as_str()), ("20270306T090000Z", "PT1H"));
    assert_eq!(one("soak-seed", 0)["DTSTART;VALUE=DATE"], "20270305");
    assert_eq!(one("scrub", 0)["DTSTART"], "20270305T180000Z");
    for event in &events {
        assert_eq!(event.contains_key("TRIGGER"), !event["UID"].starts_with("emerge"), "{event:?}");
        assert_eq!(event.contains_key("TRANSP"), event.contains_key("DTSTART;VALUE=DATE"), "{event:?}");
    }
    // Each crop has its own, at the days of the plan.
    let json: Value =
        serde_json::from_str(&run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", week).result()).unwrap();
    for code in ["emerge", "uncover", "feed", "harden", "plant-out"] {
        let listed = json["calendar"].as_array().unwrap().iter().filter(|entry| entry["code"] == code);
        let days: Vec<String> = listed.map(|entry| entry["at"].as_str().unwrap().replace('-', "")).collect();
        let entered: Vec<String> = of(&events, code).iter().map(|event| event["DTSTART;VALUE=DATE"].clone()).collect();
        assert_eq!(days, entered, "{code}");
        assert_eq!(days.len(), 2, "{code}");
    }
    assert_eq!(of(&events, "plant-out")[0]["DTSTART;VALUE=DATE"], "20270417");
}

#[test]
fn the_calendar_carries_the_figures_of_the_plan_and_every_step_of_the_coir() {
    let json: Value = serde_json::from_str(&shipped(&["plan", "plant-sale-1.yaml", "--format", "json"])).unwrap();
    let ics = events(&shipped(&["plan", "plant-sale-1.yaml", "--format", "ics"]));
    let litres = (json["totals"]["mix_l"].as_f64().unwrap() * 10.0).ceil() / 10.0;
    let mix = &of(&ics, "mix")[0]["DESCRIPTION"];
    assert!(mix.contains(&format!("Make {litres} L of mix in 3 batches")) && mix.contains("\\nA moist load"), "{mix}");
    let begin = |events: &[BTreeMap<String, String>]| {
        of(events, "coir").iter().map(|event| (event["UID"].clone(), event["DTSTART"].clone())).collect::<Vec<_>>()
    };
    let runs = json["soak"]["run_times"].as_array().unwrap();
    let mut steps = Vec::new();
    for run in runs {
        let begins = run["steps"].as_array().unwrap().iter().map(|step| step["begins"].as_str().unwrap());
        steps.extend(begins.map(|at| at.parse::<jiff::Timestamp>().unwrap()));
        // The drain takes half an hour.
        steps.push(run["ends"].as_str().unwrap().parse::<jiff::Timestamp>().unwrap() - jiff::Span::new().minutes(30));
    }
    steps.sort();
    let times: Vec<String> = begin(&ics).into_iter().map(|(_, at)| at).collect();
    assert_eq!(times, steps.iter().map(|at| at.strftime("%Y%m%dT%H%M%SZ").to_string()).collect::<Vec<_>>());
    assert!(of(&ics, "coir")[0]["DESCRIPTION"].contains("L of water and 120 g of calcium nitrate double salt"));
    assert!(of(&ics, "coir")[0]["DESCRIPTION"].contains("wear goggles"));
    // The worksheet of the same week gives the same events.
    assert_eq!(begin(&events(&shipped(&["soak", "plant-sale-1.yaml", "--format", "ics"]))), begin(&ics));
    // In a small tub no step is left out.
    let week = project("recipes/weeks/plant-sale-1.yaml").replace("5 kg block}", "5 kg block}, tub: 15 L");
    let many = plan(&week, &[]);
    assert_eq!(of(&many, "coir").len(), 4 * 4, "{many:?}");
}

#[test]
fn what_has_no_time_is_refused_with_what_to_write() {
    let soak = |text: &str| run(["soak", "soak.yaml", "--format", "ics", "-o", "x.ics"]).file("soak.yaml", text);
    let refused = soak(SOAK).refusal();
    assert!(refused.contains("write `ready: 2027-03-06 10:00` in its file"), "{refused}");
    let buffered = soak(&(SOAK.replace("washed", "buffered") + "ready: 2027-03-06\n")).refusal();
    assert!(buffered.contains("takes no course"), "{buffered}");
    let away = soak(&format!("{SOAK}ready: 2027-03-06\nawake: {{weekdays: no, weekends: no}}\n")).refusal();
    assert!(away.contains("no times fit its course"), "{away}");
    let week = run(["plan", "week.yaml", "--format", "ics"]).file("week.yaml", WEEK).refusal();
    assert!(week.contains("write `mix_on: 2027-03-06 10:00` in it"), "{week}");
    for command in
        ["scale everyday --make 10L", "list crops", "feed --analysis 5-5-5 --rate 1mL/L", "fill --have perlite=9L"]
    {
        let refused = run(command.split(' ').chain(["--format", "ics"])).refusal();
        assert!(refused.contains("`--format ics` goes with `plan`, `season` and `soak`"), "{command}: {refused}");
    }
}

#[test]
fn a_name_is_escaped_and_options_make_a_calendar_too() {
    let text =
        run(["soak", "soak.yaml", "--format", "ics"]).file("soak.yaml", format!("{SOAK}ready: 2027-03-06\n")).result();
    assert!(text.contains("X-WR-CALNAME:spring\\; coir\\, 🥥\r\n"), "{text}");
    let ready = ["--ready", "2027-03-06 10:00", "--format", "ics"];
    let options = run(["soak", "--loose", "70 L", "--sold-as", "washed"].iter().chain(&ready)).result();
    assert!(events(&options).len() >= 3);
}

/// A calendar with what is hard to write, and what the library `icalendar` reads of it: tests/reference/calendar.py
/// wrote the values.
#[test]
fn another_program_reads_what_was_meant() {
    let event = |when: &str, code: &'static str, what: &str, why: &str| Event {
        when: match when.contains('T') {
            true => When::Hour(when.parse().unwrap()),
            false => When::Day(when.parse().unwrap()),
        },
        code,
        whose: what.to_owned(),
        what: what.to_owned(),
        why: why.to_owned(),
        alarm: code != "emerge",
        is_over: false,
    };
    let long = "Lollo; rosso, \"the red\" \\ salad 🥬 of Müller's garden, ".repeat(4);
    let calendar = Calendar {
        title: "plants; sale, 🍅".to_owned(),
        file: "week; 1, ü.yaml".to_owned(),
        made: "2027-01-02T03:04:05Z".parse().unwrap(),
        events: vec![
            event("2027-03-28T01:30[Europe/Paris]", "mix", "mix, fill and sow", "first\nsecond; third, fourth\\n"),
            event("2027-03-28T03:30[Europe/Paris]", "coir", &long, ""),
            event("2027-11-07T01:30-05:00[America/New_York]", "coir", "خس 🌱🌱🌱", &"🌱ü".repeat(50)),
            event("2028-02-29", "emerge", "first کاشت\u{200c}ها up", "3-6 days"),
        ],
    };
    let text = calendar.render();
    assert_eq!(text, include_str!("../../reference/calendar.ics"));
    let read: Vec<Value> = serde_json::from_str(include_str!("../../reference/calendar.json")).unwrap();
    assert_eq!(read.len(), calendar.events.len());
    for (read, event) in read.iter().zip(&calendar.events) {
        assert_eq!(read["summary"], event.what);
        assert_eq!(read["description"], event.why);
        let start = match &event.when {
            When::Day(day) => day.to_string(),
            When::Hour(at) => at.timestamp().strftime("%Y-%m-%dT%H:%M:%S+00:00").to_string(),
        };
        assert_eq!(read["start"], start);
        assert_eq!(read["alarms"], u64::from(event.alarm));
    }
}
