//! A trial in pairs, through the program: the sheet, the labels, JSON. The refusals stand in `corpus`.

use crate::support::{Run, root, run};
use serde_json::{Value, json};

/// Six full trays in two halves each.
const WEEK: &str = "week: basil\nmix_on: 2027-03-06 10:00\nrecipe: everyday\nuse: coir\nsoak: {sold_as: washed, trial: half}\n\
                    sowings:\n  - {crop: basil, variety: Genovese, trays: 6, tray: 72-cell}\n\
                    trial: {crop: basil, compare: coir, pairs: 6, seed: 7, difference: 20 %}\n";
const HALVED: &str = "soak: {sold_as: washed, trial: half}\n";

fn feed(trays: u32, pairs: u32) -> String {
    let text = WEEK.replace(HALVED, "").replace("compare: coir", "compare: feed");
    text.replace("trays: 6", &format!("trays: {trays}")).replace("pairs: 6", &format!("pairs: {pairs}"))
}

fn inoculant() -> String {
    let with = "  - {crop: basil, variety: Genovese, trays: 6, tray: 72-cell}\n";
    let text = WEEK.replace(HALVED, "").replace("compare: coir", "compare: inoculant");
    text.replace(with, &(with.to_owned() + &with.replace('}', ", inoculant: no}")))
}

fn with_week(text: &str, arguments: &[&str]) -> Run {
    run(arguments).file("week.yaml", text)
}

fn plan(text: &str) -> Value {
    serde_json::from_str(&with_week(text, &["plan", "week.yaml", "--format", "json"]).result()).unwrap()
}

/// The part of the sheet that tells of the trial.
fn sheet(text: &str) -> String {
    let sheet = with_week(text, &["plan", "week.yaml", "--only", "sowing"]).result();
    sheet[sheet.find("Trial of").unwrap_or_else(|| panic!("{sheet}"))..].to_owned()
}

#[test]
fn sheets_of_each_comparison() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(root().join("tests/snapshots"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let few = feed(8, 4).replace(", difference: 20 %", "").replace("mix_on: 2027-03-06 10:00\n", "");
    let sheets = [sheet(WEEK), sheet(&inoculant()), sheet(&few)].join("\n");
    settings.bind(|| insta::assert_snapshot!("trials-in-pairs", sheets));
    // Fewer than six pairs cannot come below 1 in 20: 0.0625 for five, 0.03125 for six.
    let concludes = |pairs| !sheet(&feed(12, pairs)).contains("Look, do not conclude");
    assert_eq!([1, 5, 6].map(concludes), [false, false, true]);
    // The order of two sowings changes no arm.
    let lines = inoculant();
    let mut sowings = lines.lines().filter(|line| line.starts_with("  - "));
    let [with, without] = [sowings.next().unwrap(), sowings.next().unwrap()];
    let turned = lines.replace(&format!("{with}\n{without}"), &format!("{without}\n{with}"));
    assert!(turned != lines && sheet(&turned) == sheet(&lines), "{turned}");
}

#[test]
fn what_a_trial_is_for_scripts() {
    let trays = |text: &str, arm: usize| {
        let trial = plan(text)["trial"].clone();
        trial["arms"][arm]["trays"].as_array().unwrap().clone()
    };
    let coir = plan(WEEK);
    assert_eq!((&coir["trial"]["pairs"], &coir["trial"]["best_p"]), (&json!(6), &json!(0.031_25)));
    let arms = [0, 1].map(|arm| &coir["trial"]["arms"][arm]);
    assert_eq!(arms.map(|arm| &arm["batch"]), ["everyday, buffered", "everyday, straight"]);
    assert_eq!(arms[0]["trays"][2], json!({"pair": 3, "sowing": 0, "tray": 3, "rows": [1, 6], "side": "right"}));
    assert_eq!(arms[1]["trays"][2], json!({"pair": 3, "sowing": 0, "tray": 3, "rows": [7, 12], "side": "left"}));
    // Of one mix, the trays of a pair follow one another, the first of them on the left.
    for tray in (0..2).flat_map(|arm| trays(&feed(12, 6), arm)) {
        let first = 2 * tray["pair"].as_u64().unwrap() - 1;
        assert_eq!(tray["tray"].as_u64().unwrap() - first, u64::from(tray["side"] == "right"), "{tray}");
    }
    let inoculant = plan(&inoculant());
    let batches = [0, 1].map(|arm| inoculant["trial"]["arms"][arm]["batch"].clone());
    assert_eq!(batches, ["everyday", "everyday, without inoculant"]);
    assert_eq!([0, 1].map(|arm| inoculant["trial"]["arms"][arm]["trays"][0]["sowing"].clone()), [0, 1]);
    // Nothing else of a week has the key, and a trial of feeds changes hardly anything else of its plan.
    let mut fed = plan(&feed(12, 6));
    let line = "trial: {crop: basil, compare: feed, pairs: 6, seed: 7, difference: 20 %}\n";
    let mut plain = plan(&feed(12, 6).replace(line, ""));
    assert!(plain.get("trial").is_none());
    fed.as_object_mut().unwrap().remove("trial");
    // But for when it is measured, and what waits for that.
    for plan in [&mut fed, &mut plain] {
        let waits = |entry: &Value| ["measure", "harden", "plant-out"].iter().any(|code| entry["code"] == *code);
        plan["calendar"].as_array_mut().unwrap().retain(|entry| !waits(entry));
    }
    assert_eq!(fed, plain);
}

/// Pots of a crop beside its trays, another variety and a shared tray are in nobody's way.
#[test]
fn labels_name_arm_and_pair() {
    let beside = "  - {crop: basil, potted: 9, tray: 9 cm pot}\n  - {crop: basil, cells: 100, tray: 50-cell}\n  \
                  - {crop: kale, cells: 30, tray: 72-cell}\n  - {crop: leek, cells: 40, tray: 72-cell}\ntrial:";
    let week = feed(13, 6).replace("trial:", beside);
    let table = with_week(&week, &["labels", "week.yaml", "--format", "csv"]).result();
    let rows: Vec<Vec<&str>> = table.lines().map(|line| line.split(',').collect()).collect();
    assert_eq!(rows[0][15..], ["arm", "pair"]);
    let basil: Vec<_> = rows.iter().filter(|row| row[1] == "Genovese").map(|row| [row[3], row[15], row[16]]).collect();
    assert_eq!(basil[..3], [["1", "A", "1"], ["2", "B", "1"], ["3", "A", "2"]]);
    assert_eq!(basil[12], ["13", "", ""]);
    assert!(rows[1..].iter().all(|row| row[1] == "Genovese" || row[15].is_empty()), "{table}");
    let page = with_week(WEEK, &["labels", "week.yaml"]).result();
    assert!(page.contains("<div>pair 3: B, straight, rows 7-12</div>"), "{page}");
}

/// When the pairs of a week are measured, hardened and planted out.
fn days_of(week: &str) -> [String; 3] {
    let calendar = plan(week)["calendar"].as_array().unwrap().clone();
    ["measure", "harden", "plant-out"].map(|code| {
        let entry = calendar.iter().find(|entry| entry["code"] == code);
        entry.map_or_else(String::new, |entry| entry["at"].as_str().unwrap().to_owned())
    })
}

/// What is told of the days of its trial.
fn doubts(week: &str) -> String {
    let plan = plan(week);
    let cautions = plan["cautions"].as_array().unwrap().iter().filter(|one| one["code"] == "trial-days");
    cautions.map(|one| one["text"].as_str().unwrap().to_owned()).collect::<Vec<_>>().join(" ")
}

/// A trial of feeds of a crop, with more keys in its sowing.
fn feed_of(crop: &str, keys: &str) -> String {
    feed(12, 6).replace("basil", crop).replace(", variety: Genovese", keys)
}

/// Days off for it.
fn away(week: &str, days: &str) -> String {
    week.replace("recipe:", &format!("not_on: {days}\nrecipe:"))
}

/// Feeds differ once they were given for a while: kale, which would be hardened on the day of its first feed, waits for that,
/// and goes out later; where its day is stated, it is hardened for less long.
#[test]
fn a_trial_of_feeds_is_measured_after_two_weeks_of_them() {
    let of = |crop: &str| sheet(&feed_of(crop, "")).split_whitespace().collect::<Vec<_>>().join(" ");
    let (kale, trial) = (of("kale"), feed_of("kale", ""));
    let told = "On Mon 12 Apr, 2 weeks after the first feed at the least and while they still stand side by side, measure height";
    assert!(kale.contains(told), "{kale}");
    // It is done afterwards, not before the mix.
    let all = with_week(&trial, &["plan", "week.yaml"]).result();
    let (before, after) = all.split_once("\nBENCH\n").unwrap();
    assert!(!before.contains("measure the pairs") && after.contains("measure  harden"), "{all}");
    assert!(!kale.contains("up A/B") && !kale.contains("count the cells"), "{kale}");
    let plain: String =
        trial.lines().filter(|line| !line.starts_with("trial:")).map(|line| line.to_owned() + "\n").collect();
    // Without the trial hardened from 29 March on and out from 5 April on.
    assert_eq!(days_of(&plain), ["", "2027-03-29", "2027-04-05"]);
    assert_eq!(days_of(&trial), ["2027-04-12", "2027-04-12", "2027-04-19"]);
    // It would go out after four to six weeks, from 10 April on.
    assert_eq!(doubts(&plain), "");
    assert!(doubts(&trial).ends_with("by the crop table after 6 weeks at the most: it may outgrow its cells."));
    let leek = of("leek");
    assert!(leek.contains("while they still stand side by side, measure height"), "{leek}");
}

#[test]
fn a_trial_of_feeds_keeps_to_the_days_that_are_stated() {
    let stated = |keys: &str| feed_of("kale", &format!(", {keys}"));
    let told = |keys: &str| days_of(&stated(keys));
    assert_eq!(told("plant_out: 2027-04-15"), ["2027-04-12", "2027-04-12", "2027-04-15"]);
    let short = "The trial leaves 3 of 7 days to harden kale: plant out from Mon 19 Apr on.";
    assert_eq!(doubts(&stated("plant_out: 2027-04-15")), short);
    assert_eq!(doubts(&stated("plant_out: 2027-04-19")), "");
    // Gone before it was fed for two weeks; whoever follows what is told has all at once.
    assert_eq!(told("plant_out: 2027-04-10"), ["2027-04-10", "", "2027-04-10"]);
    let gone = "The trial of kale is measured on Sat 10 Apr, less than two weeks after its first feed: what differs in the feed \
                shows from about Mon 12 Apr on. The trial leaves 0 of 7 days to harden kale: plant out from Mon 19 Apr on.";
    assert_eq!(doubts(&stated("plant_out: 2027-04-10")), gone);
    assert!(!sheet(&stated("plant_out: 2027-04-10")).contains("2 weeks after"));
    // What leaves its place on a stated day is measured by then, and hardened from then on.
    let leaves = "leaves: 2027-04-08, plant_out: 2027-04-20";
    assert_eq!(told(leaves), ["2027-04-08", "2027-04-08", "2027-04-20"]);
    assert!(doubts(&stated(leaves)).ends_with("shows from about Mon 12 Apr on."));
    assert_eq!(told("leaves: 2027-03-30")[0], "2027-03-30");
    assert!(doubts(&stated("leaves: 2027-03-16")).contains("before its first feed: what differs"));
    // Who says that they stand until they go out has them measured late, not early.
    assert_eq!(told("leaves: 2027-04-30, plant_out: 2027-04-30")[0], "2027-04-30");
}

/// Two weeks fed or more, before they are hardened if that can be, and else after it.
#[test]
fn a_trial_is_measured_when_somebody_is_there() {
    let stated = |keys: &str| feed_of("kale", &format!(", {keys}"));
    // To feed them, too.
    assert_eq!(days_of(&away(&feed_of("kale", ""), "2027-03-29 to 2027-04-06"))[0], "2027-04-21");
    let out = stated("plant_out: 2027-04-26");
    assert_eq!(days_of(&away(&out, "2027-04-18 to 2027-04-20")), ["2027-04-17", "2027-04-19", "2027-04-26"]);
    assert_eq!(days_of(&away(&out, "2027-04-12 to 2027-04-20")), ["2027-04-21", "2027-04-21", "2027-04-26"]);
    // Not before they are up: away from the day after sowing until they leave.
    let leaves = stated("leaves: 2027-03-16, plant_out: 2027-03-16");
    assert_eq!(days_of(&away(&leaves, "2027-03-07 to 2027-05-01"))[0], "2027-03-16");
    // Whoever follows what is told need not be there while away.
    let mut followed = 0;
    for (out, from, to) in [0, 4, 8].iter().flat_map(|out| (1..30).step_by(3).map(move |from| (*out, from, from + 7))) {
        let date = |day: i32| jiff::civil::date(2027, 4, 1).saturating_add(jiff::Span::new().days(day));
        let of = |out: &str| away(&stated(&format!("plant_out: {out}")), &format!("{} to {}", date(from), date(to)));
        let told = doubts(&of(&date(out + 6).to_string()));
        let Some((_, day)) = told.split_once("plant out from ") else { continue };
        let mut words = day.split([' ', '.']);
        let (day, month) = (words.nth(1).unwrap(), words.next().unwrap());
        let month = if month == "Apr" { 4 } else { 5 };
        let week = of(&jiff::civil::date(2027, month, day.parse().unwrap()).to_string());
        let untended = plan(&week)["cautions"].as_array().unwrap().iter().any(|one| {
            one["code"] == "while-away"
                && ["measure", "harden", "plant out"].iter().any(|deed| one["text"].as_str().unwrap().contains(deed))
        });
        assert!(doubts(&week).is_empty() && !untended, "{told}\n{week}");
        followed += 1;
    }
    assert!(followed > 20, "{followed}");
}
