//! Taking a week out of its stock file: nothing lost, nothing twice, and back again.

use serde_json::Value;
use std::cell::Cell;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::Arc;
use trayful::cli::{Surroundings, run};
use trayful::diagnostic::Problems;
use trayful::plan;
use trayful::source::Disk;
use trayful::stock::{Ledger, LedgerFault, LogRow, NewText, Request, WriteStep, read};
use trayful::units::{Quantity, to_litres};
use trayful::week;

const STOCK: &str = "# The shed.\nstock: shed   # not the garage\ncurrency: EUR\non_hand:\n  perlite: 40 L   # open bag\n  \
                     peat: 2 x bale + 3 L\n  lime: 500 g\npackages:\n  peat: [{label: bale, gives: 50 L, price: 9.90}]\n  \
                     perlite: [{label: 100 L bag, gives: 100 L}]\n  inoculant: [{label: tub, gives: 100 g, price: 7}]\n";
/// 50 L loose: 37.5 L peat and 12.5 L perlite, and 75 g lime.
const RECIPE: &str =
    "recipe: plain\nparts: {peat: 3, perlite: 1}\ndoses: {lime: {rate: 2 g/L, of: peat}}\nyield: 80 %\n";

fn week_text(name: &str, more: &str) -> String {
    format!(
        "week: {name}\nmix_on: 2027-03-06 10:00\nrecipe: plain\nstock: shed.yaml\nallowances: {{settling: 0 %, spill: 0 %}}\n\
         trays: {{box: {{cells: 10, rows: 1, cell: 1 L}}}}\n{more}sowings: [{{crop: lettuce, trays: 4, tray: box}}]\n"
    )
}

/// A folder with a week, its recipe and its stock.
struct Garden(tempfile::TempDir);

impl Garden {
    fn of(stock: &[u8]) -> Self {
        let garden = Self(tempfile::tempdir().unwrap());
        garden.put("shed.yaml", stock);
        garden.put("plain.yaml", RECIPE.as_bytes());
        garden.put("week.yaml", week_text("first", "").as_bytes());
        garden
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn put(&self, name: &str, bytes: &[u8]) {
        fs::write(self.path(name), bytes).unwrap();
    }

    fn stock(&self) -> Vec<u8> {
        fs::read(self.path("shed.yaml")).unwrap()
    }

    fn stock_text(&self) -> String {
        String::from_utf8(self.stock()).unwrap()
    }

    fn log(&self) -> String {
        fs::read_to_string(self.path("shed.log.csv")).unwrap_or_default()
    }

    /// Runs `trayful mixed` in this process.
    fn mixed(&self, more: &[&str]) -> (u8, Value, String) {
        self.stopped("week.yaml", more, None)
    }

    /// What `trayful plan` prints as JSON.
    fn planned(&self) -> Value {
        self.told("plan")
    }

    /// What another command prints of the week as JSON.
    fn told(&self, command: &str) -> Value {
        let week = self.path("week.yaml");
        let arguments = ["trayful", command, week.to_str().unwrap(), "--format", "json"].map(Into::into);
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = run(arguments, Surroundings::default(), &mut out, &mut err);
        assert_eq!(code, 0, "{}", String::from_utf8_lossy(&err));
        serde_json::from_slice(&out).unwrap()
    }

    /// The same, stopped at a step; the code is [`DIED`] where the run died.
    fn stopped(&self, week: &str, more: &[&str], stop: Option<(WriteStep, Stop)>) -> (u8, Value, String) {
        let mut out = Vec::new();
        STOP.set(stop);
        let done = catch_unwind(AssertUnwindSafe(|| self.run(week, more, &mut out)));
        STOP.set(None);
        let (code, err) = done.unwrap_or((DIED, String::new()));
        (code, serde_json::from_slice(&out).unwrap_or(Value::Null), err)
    }

    fn run(&self, week: &str, more: &[&str], out: &mut dyn io::Write) -> (u8, String) {
        let week = self.path(week);
        let arguments = ["trayful", "mixed", week.to_str().unwrap(), "--format", "json"];
        let mut err = Vec::new();
        let all = arguments.iter().chain(more).map(Into::into);
        let code = run(all, Surroundings { steps: stop_at, ..Surroundings::default() }, out, &mut err);
        (code, String::from_utf8(err).unwrap())
    }

    /// The entries of the log: the week of each, and which one it undoes.
    fn entries(&self) -> Vec<(String, Option<u64>)> {
        let log = self.log();
        let mut reader = csv::Reader::from_reader(log.as_bytes());
        let records = reader.records().map(Result::unwrap).filter(|record| !record[14].is_empty());
        records.map(|record| (record[3].to_owned(), record[11].parse().ok())).collect()
    }

    /// The sums that the log says were taken, by ingredient.
    fn logged(&self) -> BTreeMap<String, f64> {
        let log = self.log();
        let mut sums: BTreeMap<String, f64> = BTreeMap::new();
        for record in csv::Reader::from_reader(log.as_bytes()).records() {
            let record = record.unwrap();
            let taken: f64 = record[7].parse().or_else(|_| record[8].parse()).unwrap();
            *sums.entry(record[6].to_owned()).or_default() += taken;
        }
        sums
    }

    /// The log accounts for the stock: what was there less what it says was taken.
    fn assert_accounted(&self) {
        let at_hand = |text: &str, name: &str| {
            let loaded = week::load(&self.path("week.yaml"), &Disk::default(), &[]).unwrap();
            let problems = Problems::new(Arc::new(trayful::diagnostic::SourceText {
                name: "s".to_owned(),
                text: text.to_owned(),
            }));
            let mut catalogue = loaded.catalogue;
            let source = Arc::clone(problems.source());
            let stock = read(&source, &mut catalogue, &problems).unwrap();
            let id = catalogue.ingredients.find(name).unwrap();
            let like = if name == "lime" {
                Quantity::Mass(trayful::units::mass("1 g").unwrap())
            } else {
                Quantity::Volume(trayful::units::in_litres(1.0))
            };
            stock.on_hand.shed.at_hand(&id, like).size()
        };
        let (now, sums) = (self.stock_text(), self.logged());
        for name in ["peat", "perlite", "lime"] {
            let expected = at_hand(STOCK, name) - sums.get(name).copied().unwrap_or(0.0);
            let found = at_hand(&now, name);
            assert!((found - expected).abs() < 0.01, "{name}: {found} is not {expected}\n{now}\n{}", self.log());
            assert!(found >= 0.0);
        }
    }

    /// Files that only a run in progress may leave, the lock apart.
    fn leftovers(&self) -> Vec<String> {
        let names = fs::read_dir(self.0.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
        names.filter(|name| name.starts_with('.') && !name.ends_with("lock")).collect()
    }
}

#[test]
fn takes_out_what_was_used_and_changes_nothing_else() {
    let garden = Garden::of(STOCK.as_bytes());
    let (code, found, err) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
    let expected = STOCK
        .replace("perlite: 40 L ", "perlite: 27.5 L ")
        .replace("2 x bale + 3 L", "1 x bale + 15.5 L")
        .replace("500 g", "425 g");
    assert_eq!(garden.stock_text(), expected);
    let log = garden.log();
    let lines: Vec<&str> = log.lines().collect();
    assert_eq!(lines.len(), 4);
    assert!(lines[0].starts_with("entry,what,date,week,mix_on,batch,ingredient,litres,grams,package,left"));
    assert!(lines[1].contains(",first,2027-03-06 10:00,plain,peat,37.5,,bale,1 x bale + 15.5 L,"), "{}", lines[1]);
    assert!(lines[3].contains(",lime,,75,,425 g,"), "{}", lines[3]);
    garden.assert_accounted();
    assert!(garden.leftovers().is_empty());
}

/// Coir is soaked as it is weighed, of blocks to 0.1 kg or 1.3 L, loose to a tenth of that: what is left of it serves the next weeks first, the rest of a
/// block is coir still.
#[test]
fn coir_soaked_beyond_the_need_is_kept_and_used_first() {
    let stock = "stock: shed\non_hand:\n  coir: 2 x 5 kg block\n  perlite: 90 L\n\
                 packages: {coir: [{label: 5 kg block, gives: 65 L, price: 9}]}\n";
    let garden = Garden::of(stock.as_bytes());
    garden.put("plain.yaml", b"recipe: plain\nparts: {coir: 3, perlite: 1}\nyield: 80 %\n");
    let soak = "soak: {sold_as: washed, coir: {product: 5 kg block}, salt: calcium nitrate tetrahydrate}\n";
    // 37.5 L of coir a week, from blocks of 65 L: 37.7 L are bathed, at last of what is loose.
    let mut before = Vec::new();
    for (number, coir, soaked) in
        [(1, "1 x 5 kg block + 27.3 L", "0.2 L"), (2, "54.6 L", "0.4 L"), (3, "17.03 L", "0.07 L")]
    {
        // It keeps three weeks, and is as old as its day; beside what is too old it is an amount of its own.
        let day = ["2027-03-06", "2027-03-27", "2027-04-18"][number - 1];
        let week = week_text(&format!("week {number}"), soak).replace("2027-03-06", day);
        garden.put("week.yaml", week.as_bytes());
        before.push((week, garden.stock()));
        let planned = garden.planned();
        let old = planned["cautions"].to_string();
        let says = "0.4 L of soaked coir, made 2027-03-27, is not used: it keeps 21 days";
        assert_eq!((old.contains(says), old.contains("soaked-coir-unused")), (number == 3, number == 3), "{old}");
        let line = |name: &str| {
            let mut lines = planned["purchases"]["lines"].as_array().unwrap().iter();
            lines
                .find(|line| line["ingredient"] == name)
                .map(|line| (line["need_l"].as_f64().unwrap(), line["packages"].clone()))
        };
        let expected = [(None, 37.5), (Some(0.2), 37.3), (None, 37.5)][number - 1];
        let need = |name| {
            line(name).map(|(need, packages)| {
                assert_eq!(packages, Value::Array(Vec::new()), "{name} of week {number}");
                need
            })
        };
        assert_eq!(need("soaked coir"), expected.0, "{number}");
        assert!((need("coir").unwrap() - expected.1).abs() < 1e-9, "{number}");
        // Only the rest is bathed.
        let bathed = [37.7, 37.7, 37.57][number - 1];
        assert!((planned["soak"]["coir_loose_l"].as_f64().unwrap() - bathed).abs() < 1e-9);
        assert_eq!(planned["batches"][0]["ingredients"][0]["name"], "coir");
        let (code, found, err) = garden.mixed(&[]);
        assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
        let text = garden.stock_text();
        assert!(
            text.contains(&format!("coir: {coir}\n"))
                && text.contains(&format!("{{amount: {soaked}, made: {day}}}"))
                && text.contains("coir: [{amount: 0.4 L, made: 2027-03-27}, {") == (number == 3),
            "{text}"
        );
    }
    let logged = garden.logged().into_iter().map(|(name, sum)| (name, (sum * 1e3).round() / 1e3));
    assert_eq!(
        logged.collect::<BTreeMap<String, f64>>(),
        [("coir".into(), 112.97), ("perlite".into(), 37.5), ("soaked coir".into(), -0.47)].into()
    );
    for (week, stock) in before.into_iter().rev() {
        garden.put("week.yaml", week.as_bytes());
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(garden.stock(), stock);
    }
}

const OF_COIR: &[u8] = b"recipe: plain\nparts: {coir: 3, perlite: 1}\nyield: 80 %\n";

/// A garden with so much soaked coir, and a week that takes 37.5 L of coir and bathes 37.7 L of what is not soaked.
fn with_soaked(soaked: &str) -> Garden {
    let stock = format!("stock: shed\non_hand:\n  coir: 4 x 5 kg block\n  perlite: 90 L\n  soaked coir: {soaked}\n");
    let garden = Garden::of(stock.as_bytes());
    garden.put("plain.yaml", OF_COIR);
    let soak = "soak: {sold_as: washed, coir: {product: 5 kg block}, salt: calcium nitrate tetrahydrate}\n";
    garden.put("week.yaml", week_text("first", soak).as_bytes());
    garden
}

#[test]
fn soaked_coir_has_its_day_whatever_is_left_of_it() {
    for (soaked, after) in [
        // Less than a millilitre is left.
        ("{amount: 37.5005 L, made: 2027-03-01}", "{amount: 0 L, made: 2027-03-01}"),
        // The oldest goes first, of unknown age last; what is too old or not made yet stays.
        (
            "[{amount: 20 L, made: 2027-03-01}, {amount: 30 L, made: 2027-02-13}, 9 L]",
            "[{amount: 12.5 L, made: 2027-03-01}, {amount: 0 L, made: 2027-02-13}, 9 L]",
        ),
        (
            "[{amount: 40 L, made: 2027-02-12}, {amount: 40 L, made: 2027-03-07}]",
            "[{amount: 40 L, made: 2027-02-12}, {amount: 0.2 L, made: 2027-03-06}, {amount: 40 L, made: 2027-03-07}]",
        ),
        ("{amount: 0.2 L, made: 2027-03-01}", "{amount: 0.4 L, made: 2027-03-06}"),
        ("{amount: 0.3 L, made: 2027-02-12}", "[{amount: 0.3 L, made: 2027-02-12}, {amount: 0.2 L, made: 2027-03-06}]"),
    ] {
        let garden = with_soaked(soaked);
        let bathes = soaked.contains("2027-02-12") || soaked.contains("0.2 L");
        let planned = garden.planned();
        assert_eq!(planned["soak"].is_null(), !bathes, "{soaked}");
        let told = planned["cautions"].to_string().matches("soaked-coir-unused").count();
        // What is too old is told together, and so is what is still to come.
        assert_eq!(told, ["02-12", "03-07"].iter().filter(|day| soaked.contains(**day)).count(), "{soaked}");
        let is_used = !soaked.contains("2027-02-12");
        assert_eq!(garden.told("fill").to_string().contains("soaked coir"), is_used, "{soaked}");
        let (code, _, err) = garden.mixed(&[]);
        assert_eq!(code, 0, "{soaked}: {err}");
        let text = garden.stock_text();
        assert!(text.ends_with(&format!("  soaked coir: {after}\n")), "{text}");
    }
    // Without a day of its mix it is that of the entry, and the age of what is there is not known.
    let garden = with_soaked("{amount: 0.2 L, made: 2020-03-01}");
    let undated = fs::read_to_string(garden.path("week.yaml")).unwrap().replace("mix_on: 2027-03-06 10:00\n", "");
    garden.put("week.yaml", undated.as_bytes());
    assert!(garden.planned()["notes"].to_string().contains("soaked-coir-keeps"));
    let (code, _, err) = garden.mixed(&[]);
    assert_eq!(code, 0, "{err}");
    let (text, log) = (garden.stock_text(), garden.log());
    let entered = log.split(',').find_map(|value| value.get(..10).filter(|day| day.starts_with("20"))).unwrap();
    assert!(text.ends_with(&format!("soaked coir: {{amount: 0.4 L, made: {entered}}}\n")), "{text}");
    // What has to be written by hand is told whole.
    let garden = with_soaked("\n    amount: 12 L\n    made: 2026-12-01");
    let (code, _, err) = garden.mixed(&[]);
    let whole = "soaked coir: [{amount: 12 L, made: 2026-12-01}, {amount: 0.2 L, made: 2027-03-06}]\n";
    assert!(code == 2 && err.contains(whole), "{err}");
}

/// What a week that was mixed left over and kept itself is nothing for its plan, nor where it is mixed again; what
/// another left on its day is.
#[test]
fn what_a_week_made_itself_is_nothing_for_it() {
    for (day, made) in [("mix_on: 2027-03-06 10:00\n", ", made: 2027-03-06"), ("", "")] {
        let garden = Garden::of(STOCK.replace("2 x bale", "9 x bale").as_bytes());
        let recipe = "recipe: plain\nparts: {peat: 3, perlite: 1}\nyield: 80 %\n";
        garden.put("plain.yaml", recipe.as_bytes());
        let week = week_text("first", "").replace("mix_on: 2027-03-06 10:00\n", day);
        garden.put("week.yaml", week.as_bytes());
        assert_eq!(garden.mixed(&["--left", "1=4 L"]).0, 0);
        let other = format!("  - {{name: plain, parts: {{peat: 3, perlite: 1}}, amount: 3 L{made}}}\n");
        garden.put("shed.yaml", (garden.stock_text() + &other).as_bytes());
        let planned = garden.planned();
        let line = planned["purchases"]["lines"][0].clone();
        assert_eq!((&planned["batches"][0]["from_stock_l"], &line["ingredient"]), (&3.0.into(), &"peat".into()));
        let (code, found, err) = garden.mixed(&["--again"]);
        assert_eq!(code, 0, "{err}");
        let taken: f64 = found["rows"].as_array().unwrap().iter().map(|row| row["litres"].as_f64().unwrap()).sum();
        assert!((taken - 37.0 / 0.8 - 3.0).abs() < 1e-9 && line["need_l"] == 37.0 / 0.8 * 0.75, "{taken}");
        let text = garden.stock_text();
        assert!(text.contains(&format!("amount: 4 L{made}}}")) && text.contains("amount: 0 L"), "{text}");
    }
    let garden = with_soaked("0 L");
    assert_eq!(garden.mixed(&[]).0, 0);
    assert!(!garden.planned()["purchases"].to_string().contains("soaked coir"));
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    assert!(garden.stock_text().contains("soaked coir: {amount: 0.4 L, made: 2027-03-06}"), "{}", garden.stock_text());
}

/// A plan changes nothing: it goes on without the log.
#[test]
fn a_plan_says_that_its_log_cannot_be_read() {
    let garden = Garden::of(STOCK.as_bytes());
    for log in ["entry,what\n", "\u{0}"] {
        garden.put("shed.log.csv", log.as_bytes());
        let cautions = garden.planned()["cautions"].clone();
        assert!(
            cautions[0]["code"] == "log-unread" && cautions.to_string().contains("The log of the stock cannot be read"),
            "{cautions}"
        );
        assert_eq!(garden.mixed(&[]).0, 2);
    }
}

/// Where soaked coir is enough, nothing is bathed.
#[test]
fn soaked_coir_at_hand_may_be_enough() {
    let garden = Garden::of(b"stock: shed\non_hand: {soaked coir: 40 L, perlite: 90 L}\n");
    garden.put("plain.yaml", b"recipe: plain\nparts: {coir: 3, perlite: 1}\nyield: 80 %\n");
    garden.put("week.yaml", week_text("week", "soak: {sold_as: washed}\n").as_bytes());
    assert!(garden.planned()["soak"].is_null());
    let week = garden.path("week.yaml");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = ["trayful", "soak", week.to_str().unwrap()].map(Into::into);
    assert_eq!(run(arguments, Surroundings::default(), &mut out, &mut err), 2);
    assert!(String::from_utf8(err).unwrap().contains("needs no bath: the soaked coir at hand does"));
}

/// A dose by the spoon is used, though nothing tells how much of the tub that is.
#[test]
fn what_cannot_be_weighed_is_logged_and_left() {
    let stock =
        format!("{STOCK}  yeast: [{{label: bag, gives: 1 kg}}]\ningredients: {{yeast: {{kind: dose, feeds: no}}}}\n");
    for at_hand in ["", "  yeast: 1 kg\n"] {
        let garden = Garden::of(stock.replace("  lime: 500 g\n", &format!("  lime: 500 g\n{at_hand}")).as_bytes());
        let recipe = format!("{RECIPE}ingredients: {{yeast: {{kind: dose, feeds: no}}}}\n");
        garden.put("plain.yaml", recipe.replace("doses: {", "doses: {yeast: 1 tsp/L, ").as_bytes());
        let (code, found, err) = garden.mixed(&[]);
        assert_eq!(
            (code, &found["outcome"], &found["notes"][0]["code"]),
            (0, &"entered".into(), &"not-taken".into()),
            "{err}"
        );
        let row = found["rows"].as_array().unwrap().iter().find(|row| row["ingredient"] == "yeast").unwrap();
        // A teaspoon to each of 40 L of finished mix, three to a tablespoon.
        assert_eq!((&row["what"], &row["package"]), (&"not taken".into(), &"13 tbsp + 1 tsp".into()));
        assert!(row["litres"].is_null() && row["grams"].is_null());
        let text = garden.stock_text();
        assert!(text.contains("lime: 425 g") && text.contains("  yeast: 1 kg\n") != at_hand.is_empty(), "{text}");
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
    }
}

/// What was left of a mix is used first by the next batch of the same composition.
#[test]
fn mix_that_was_left_over_is_kept_and_used_first() {
    let more = "  # the last line\n";
    let flow = "{stock: shed, on_hand: {perlite: 40 L, peat: 90 L, lime: 500 g}}\n";
    for stock in [STOCK.to_owned(), STOCK.replace('\n', "\r\n"), format!("{STOCK}{more}")] {
        let garden = Garden::of(stock.as_bytes());
        let (code, found, err) = garden.mixed(&["--left", "plain=6 L"]);
        assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
        let entry = "- {name: plain, parts: {peat: 3, perlite: 1}, doses: {lime: {rate: 2 g/L, of: peat}}, \
                     amount: 6 L, made: 2027-03-06}";
        assert!(garden.stock_text().contains(entry), "{}", garden.stock_text());
        let before = garden.stock();
        // The next week needs 40 L: six are there, and 34 come from 34 / 0.8 L.
        garden.put("week.yaml", week_text("next", "").replace("2027-03-06", "2027-03-13").as_bytes());
        let planned = garden.planned();
        let batch = &planned["batches"][0];
        let litres = |value: &Value| value.as_f64().unwrap();
        assert_eq!((litres(&batch["mix_l"]), litres(&batch["from_stock_l"])), (40.0, 6.0));
        assert!((litres(&batch["loose_l"]) - 42.5).abs() < 1e-9);
        assert!((litres(&batch["doses"][0]["grams"]) - 2.0 * 42.5 * 0.75).abs() < 1e-9);
        assert_eq!(planned["notes"].to_string().matches("stale-mix").count(), 0);
        let (code, found, err) = garden.mixed(&["--left", "1=500 mL"]);
        assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
        let text = garden.stock_text();
        assert!(!text.contains("made: 2027-03-06") && text.contains("amount: 0.5 L, made: 2027-03-13"), "{text}");
        let taken: Vec<_> =
            found["rows"].as_array().unwrap().iter().filter(|row| row["ingredient"] == "plain").collect();
        assert_eq!(taken.len(), 2);
        assert_eq!((litres(&taken[0]["litres"]), litres(&taken[1]["litres"])), (6.0, -0.5));
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(garden.stock(), before);
        // All of a small batch: nothing is mixed, and it is taken all the same.
        let small = week_text("small", "").replace("trays: 4", "cells: 5, fill: sown cells");
        garden.put("week.yaml", small.replace("2027-03-06", "2027-03-13").as_bytes());
        let planned = garden.planned();
        assert_eq!(litres(&planned["batches"][0]["loose_l"]), 0.0);
        assert_eq!(planned["mixing"]["batches"][0]["loads"], Value::Array(Vec::new()));
        assert_eq!(planned["purchases"]["used_total"], Value::Null);
        let (code, found, err) = garden.mixed(&[]);
        assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
        assert!(garden.stock_text().contains("amount: 1 L, made: 2027-03-06"), "{}", garden.stock_text());
    }
    let garden = Garden::of(flow.as_bytes());
    let (code, _, err) = garden.mixed(&["--left", "plain=6 L"]);
    assert!(code == 2 && err.contains("mixes: {name: plain,"), "{err}");
    assert_eq!(garden.stock_text(), flow);
}

/// A stock file is read for other weeks, too, which do not know what is this one's own.
#[test]
fn mix_of_an_ingredient_that_the_stock_does_not_know_is_refused() {
    let own = "ingredients: {yeast: {kind: dose, feeds: no}}\n";
    let recipe = format!("{RECIPE}{own}").replace("doses: {", "doses: {yeast: 1 tsp/L, ");
    let garden = Garden::of(STOCK.as_bytes());
    garden.put("plain.yaml", recipe.as_bytes());
    let (code, _, err) = garden.mixed(&["--left", "1=3 L"]);
    assert!(code == 2 && err.contains("yeast") && err.contains("under `ingredients:` of the stock file"), "{err}");
    assert_eq!((garden.stock_text(), garden.log()), (STOCK.to_owned(), String::new()));
    garden.put("shed.yaml", format!("{STOCK}{own}").as_bytes());
    let (code, found, err) = garden.mixed(&["--left", "1=3 L"]);
    assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
    assert!(garden.stock_text().contains("doses: {yeast: 1 tsp/L, lime: "), "{}", garden.stock_text());
    garden.put("plain.yaml", RECIPE.as_bytes());
    garden.put("week.yaml", week_text("other", "").as_bytes());
    assert_eq!(garden.planned()["batches"][0]["from_stock_l"], 0.0);
}

/// Amounts are written to the thousandth, rounded down: what that takes off is neither mixed nor soaked.
#[test]
fn what_rounding_takes_off_is_not_made_anew() {
    let plain = "recipe: plain\nparts: {coir: 3, perlite: 1}\nyield: 80 %\n";
    let stock = "stock: shed\non_hand:\n  soaked coir: 37.499 L\n  coir: 2 x 5 kg block\n  perlite: 90 L\n\
                 packages: {coir: [{label: 5 kg block, gives: 65 L, price: 9}]}\n";
    let garden = Garden::of(stock.as_bytes());
    garden.put("plain.yaml", plain.as_bytes());
    let soak = "soak: {sold_as: washed, coir: {product: 5 kg block}, salt: calcium nitrate tetrahydrate}\n";
    garden.put("week.yaml", week_text("first", soak).as_bytes());
    assert!(garden.planned()["soak"].is_null());
    let (code, _, err) = garden.mixed(&[]);
    assert_eq!(code, 0, "{err}");
    let text = garden.stock_text();
    assert!(text.contains("soaked coir: 0 L\n  coir: 2 x 5 kg block\n"), "{text}");
    // Of a need that is small itself the same rest is a part that counts.
    for (cells, at_hand, loose) in [(4, "3.999 L", 0.0), (4, "3.94 L", 0.075), (4, "3.97 L", 0.0)] {
        let mix = format!("mixes: [{{name: plain, parts: {{coir: 3, perlite: 1}}, amount: {at_hand}}}]\n");
        garden.put("shed.yaml", format!("{stock}{mix}").as_bytes());
        let small = week_text(at_hand, soak).replace("trays: 4", &format!("cells: {cells}, fill: sown cells"));
        garden.put("week.yaml", small.as_bytes());
        let planned = garden.planned();
        let found = planned["batches"][0]["loose_l"].as_f64().unwrap();
        assert!((found - loose).abs() < 1e-9, "{at_hand}: {found}");
        let (code, found, err) = garden.mixed(&[]);
        assert_eq!(code, 0, "{err}");
        assert_eq!(found["rows"].as_array().unwrap().len() > 1, loose > 0.0);
        assert!(garden.stock_text().contains("amount: 0 L"), "{}", garden.stock_text());
    }
}

/// Whatever is soaked coir by its role stands in for coir.
#[test]
fn every_kind_of_soaked_coir_is_counted() {
    let own = "ingredients: {washed coir: {kind: bulk, role: soaked coir}}\n";
    let stock = format!(
        "stock: shed\n{own}on_hand:\n  washed coir: 20 L\n  soaked coir: 20 L\n  coir: 65 L\n  perlite: 90 L\n"
    );
    let garden = Garden::of(stock.as_bytes());
    garden.put("plain.yaml", b"recipe: plain\nparts: {coir: 3, perlite: 1}\nyield: 80 %\n");
    assert!(garden.planned()["soak"].is_null());
    let (code, _, err) = garden.mixed(&[]);
    assert_eq!(code, 0, "{err}");
    let now = stock.replace("washed coir: 20 L", "washed coir: 0 L").replace("soaked coir: 20 L", "soaked coir: 2.5 L");
    assert_eq!(garden.stock_text(), now.replace("perlite: 90 L", "perlite: 77.5 L"));
}

/// Less than is worth keeping of a block stays in the stock, and no coir goes without a row of the log.
#[test]
fn next_to_nothing_of_a_block_stays_where_it_is() {
    let garden = Garden::of(
        b"stock: shed\non_hand:\n  coir: 2 x 5 kg block\n  perlite: 90 L\n\
          packages: {coir: [{label: 5 kg block, gives: 65 L, price: 9}]}\n",
    );
    garden.put("plain.yaml", b"recipe: plain\nparts: {coir: 3, perlite: 1}\nyield: 80 %\n");
    let soak = "soak: {sold_as: washed, coir: {product: 5 kg block}, salt: calcium nitrate tetrahydrate}\n";
    // Of 130 L of coir 129.97 L are needed: 34.6587 L x 4 / 0.8 x 3 / 4.
    let week = week_text("first", soak).replace("cell: 1 L", "cell: 3.465867 L");
    garden.put("week.yaml", week.as_bytes());
    let (code, found, err) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
    assert!(garden.stock_text().contains("coir: 0.029 L\n") || garden.stock_text().contains("coir: 0.03 L\n"));
    assert!((garden.logged()["coir"] - 129.97).abs() < 0.001);
}

/// The mix that was made first goes first; one of unknown age last.
#[test]
fn the_oldest_mix_is_used_first() {
    let mix = |amount: &str, made: &str| {
        format!("  - {{name: feed, parts: {{peat: 3, perlite: 1}}, amount: {amount}{made}}}\n")
    };
    let mixes = [mix("5 L", ""), mix("6 L", ", made: 2027-03-01"), mix("7 L", ", made: 2027-02-20")];
    let garden = Garden::of(format!("{STOCK}mixes:\n{}", mixes.concat()).as_bytes());
    garden.put("plain.yaml", b"recipe: plain\nparts: {peat: 3, perlite: 1}\nyield: 80 %\n");
    for (cells, left) in [(8, ["5 L", "5 L", "0 L"]), (7, ["3 L", "0 L", "0 L"])] {
        let week =
            week_text(&format!("week {cells}"), "").replace("trays: 4", &format!("cells: {cells}, fill: sown cells"));
        garden.put("week.yaml", week.as_bytes());
        let (code, _, err) = garden.mixed(&[]);
        assert_eq!(code, 0, "{err}");
        let text = garden.stock_text();
        let amounts: Vec<&str> =
            text.split("amount: ").skip(1).map(|rest| rest.split([',', '}']).next().unwrap()).collect();
        assert_eq!(amounts, left);
    }
}

/// Meshes of no whole micrometre, and parts beyond the numbers that are read.
#[test]
fn what_is_left_reads_back_whatever_its_numbers() {
    for mesh in ["1/16 in", "3/32 in", "1/12 in", "3.3333 mm"] {
        let garden = Garden::of(STOCK.as_bytes());
        let changes = format!("changes: [{{for: [lettuce], sieve: {mesh}}}]\n");
        garden.put("plain.yaml", format!("recipe: plain\nparts: {{peat: 3, perlite: 1}}\n{changes}").as_bytes());
        let (code, _, err) = garden.mixed(&["--left", "1=6 L", "--bought", "planned"]);
        assert_eq!(code, 0, "{mesh}: {err}");
        garden.put("week.yaml", week_text("next", "").as_bytes());
        assert_eq!(garden.planned()["batches"][0]["from_stock_l"], 6.0, "{mesh}");
    }
}

/// Another run writes to the stock between the planning of this one and its turn: it is planned anew.
#[test]
fn a_stock_that_has_changed_since_the_planning_is_planned_anew() {
    let mixes = "mixes:\n  - {name: old, parts: {peat: 3, perlite: 1}, amount: 6 L}\n";
    let garden = Garden::of(format!("{STOCK}{mixes}").as_bytes());
    garden.put("plain.yaml", b"recipe: plain\nparts: {peat: 3, perlite: 1}\nyield: 80 %\n");
    let lock = fs::File::create(garden.path(".shed.yaml.lock")).unwrap();
    lock.lock().unwrap();
    let (code, found, err) = std::thread::scope(|scope| {
        let run = scope.spawn(|| garden.mixed(&[]));
        // By now it waits for its turn; where it does not yet, it reads the new file at once.
        std::thread::sleep(std::time::Duration::from_millis(700));
        garden.put("shed.yaml", format!("{STOCK}{}", mixes.replace("6 L", "2 L")).as_bytes());
        lock.unlock().unwrap();
        run.join().unwrap()
    });
    assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
    assert_eq!(found["rows"][0]["litres"], 38.0 / 0.8 * 0.75);
    assert!(garden.stock_text().contains("amount: 0 L"), "{}", garden.stock_text());
}

/// A mix goes into the place of one that is used up, so that the list does not grow for ever.
#[test]
fn what_is_left_takes_the_place_of_what_is_used_up() {
    let recipe = "recipe: plain\nparts: {peat: 3, perlite: 1}\n";
    for mixes in [
        "mixes:\n  - {name: 'a {', parts: {peat: 1}, amount: 0 L}\n  - {name: b, parts: {peat: 1}, amount: 0 L}  # b\n",
        "mixes: [{name: a, parts: {peat: 1}, amount: 0 L}, {name: b, parts: {peat: 1}, amount: 0 L}]\n",
        "mixes:\n  - name: a\n    parts: {peat: 1}\n    amount: 0 L\n  - {amount: 0 L, name: b, parts: {peat: 1}}\n",
    ] {
        let stock = format!("{STOCK}{mixes}").replace("peat: 2 x bale", "peat: 9 x bale");
        let garden = Garden::of(stock.as_bytes());
        garden.put("plain.yaml", recipe.as_bytes());
        let (code, _, err) = garden.mixed(&["--left", "1=6 L"]);
        assert_eq!(code, 0, "{err}");
        let text = garden.stock_text();
        assert_eq!(text.matches("name: ").count(), if mixes.contains('\'') { 3 } else { 2 }, "{text}");
        assert!(text.contains("amount: 6 L") && text.contains("amount: 0 L"), "{text}");
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(garden.stock_text(), stock);
    }
    // Of those that are used up any number may stand on several lines.
    let used_up = "  - name: a\n    parts: {peat: 1}\n    amount: 0 L\n".repeat(101);
    let garden = Garden::of(format!("{STOCK}mixes:\n{used_up}").replace("peat: 2 x bale", "peat: 9 x bale").as_bytes());
    garden.put("plain.yaml", recipe.as_bytes());
    let (code, _, err) = garden.mixed(&["--left", "1=6 L"]);
    assert_eq!(code, 0, "{err}");
    let many = "  - {name: a, parts: {peat: 1}, amount: 1 L}\n".repeat(100);
    let garden = Garden::of(format!("{STOCK}mixes:\n{many}").as_bytes());
    garden.put("plain.yaml", recipe.as_bytes());
    let (code, _, err) = garden.mixed(&["--left", "1=6 L", "--bought", "planned"]);
    assert!(code == 2 && err.contains("at most 100 are kept"), "{err}");
}

/// A stock file may end in `...`, and its list of mixes may be empty in several ways.
#[test]
fn a_mix_is_put_into_every_form_of_list() {
    let entry = "- {name: plain, parts: {peat: 3, perlite: 1}, amount: 6 L, made: 2027-03-06}\n";
    let old = "name: x\n    parts: {peat: 1}\n    amount: 1 L\n";
    for (mixes, after) in [
        ("mixes: []\n".to_owned(), format!("mixes:\n  {entry}")),
        ("mixes:\n".to_owned(), format!("mixes:\n  {entry}")),
        ("mixes: ~ # none\n".to_owned(), format!("mixes: # none\n  {entry}")),
        ("...\n".to_owned(), format!("mixes:\n  {entry}...\n")),
        (format!("mixes:\n  -\n    {old}"), format!("mixes:\n  {entry}  -\n    {old}")),
        (format!("mixes:\n  - {old}"), format!("mixes:\n  {entry}  - {old}")),
    ] {
        for stock in [format!("{STOCK}{mixes}"), format!("{STOCK}{mixes}").replace('\n', "\r\n")] {
            let garden = Garden::of(stock.as_bytes());
            garden.put("plain.yaml", b"recipe: plain\nparts: {peat: 3, perlite: 1}\nyield: 80 %\n");
            let (code, _, err) = garden.mixed(&["--left", "1=6 L"]);
            assert_eq!(code, 0, "{mixes}: {err}");
            assert!(garden.stock_text().replace("\r\n", "\n").ends_with(&after), "{}", garden.stock_text());
            assert_eq!(garden.mixed(&["--undo"]).0, 0);
            assert_eq!(garden.stock_text(), stock);
        }
    }
}

/// Food and inoculant do not keep in a moist mix; peat and perlite do.
#[test]
fn an_old_mix_with_food_in_it_is_named_and_not_used() {
    for (parts, days, used) in [
        ("{peat: 3, perlite: 1}", 60, true),
        ("{peat: 6, perlite: 2}", 1, true),
        ("{peat: 3, perlite: 2}", 1, false),
        ("{peat: 3, castings: 1}", 14, true),
        ("{peat: 3, castings: 1}", 15, false),
        ("{peat: 3, castings: 1}", -1, false),
    ] {
        let made = jiff::civil::date(2027, 3, 6).checked_sub(jiff::Span::new().days(days)).unwrap();
        let mix = format!("mixes: [{{name: old, parts: {parts}, amount: 6 L, made: {made}}}]\n");
        let garden = Garden::of(format!("{STOCK}{mix}").as_bytes());
        let of_week = if parts.contains("castings") { "{peat: 3, castings: 1}" } else { "{peat: 3, perlite: 1}" };
        garden.put("plain.yaml", format!("recipe: plain\nparts: {of_week}\n").as_bytes());
        let planned = garden.planned();
        let from_stock = if used { 6.0 } else { 0.0 };
        assert_eq!(planned["batches"][0]["from_stock_l"].as_f64(), Some(from_stock), "{parts} {days}");
        let told = planned["notes"].to_string().contains("stale-mix");
        assert_eq!(told, days > 14 && parts.contains("castings"), "{parts} {days}");
    }
}

#[test]
fn what_is_said_to_be_left_must_be_of_a_batch() {
    let garden = Garden::of(STOCK.as_bytes());
    for (left, expected) in [
        ("everyday=6 L", "is no batch of this week"),
        ("2=6 L", "1 `plain`"),
        ("plain", "a batch and an amount"),
        ("plain=6 g", "a volume such as"),
        ("plain=0 L", "`0 L` is zero"),
        ("+1=6 L", "is no batch of this week"),
        ("0=6 L", "is no batch of this week"),
        ("plain=61 L", "is not left over from a batch of 40.0 L"),
        ("1=59 L & plain=2 L & 1=3 L", "`2 L`, 61.0 L in all, is not left over"),
    ] {
        let all: Vec<&str> = left.split(" & ").flat_map(|left| ["--left", left]).collect();
        let (code, _, err) = garden.mixed(&all);
        assert_eq!(err.matches("error").count(), 1, "{err}");
        assert!(code == 2 && err.contains(expected), "{left}: {err}");
        assert_eq!(garden.stock_text(), STOCK);
    }
    // A batch of the name of another's number.
    garden.put("2.yaml", RECIPE.replace("plain", "0 1").replace("3,", "1,").as_bytes());
    garden.put("1.yaml", RECIPE.replace("plain", "1").as_bytes());
    let two = week_text("two", "").replace("recipe: plain", "recipe: 2.yaml");
    let two = two.replace("tray: box}", "tray: box}, {crop: lettuce, trays: 4, tray: box, recipe: 1.yaml}");
    garden.put("week.yaml", two.as_bytes());
    let (code, _, err) = garden.mixed(&["--left", "1=6 L"]);
    assert!(code == 2 && err.contains("`1` is the name of batch 2 and the number of another"), "{err}");
    garden.put("week.yaml", week_text("first", "").as_bytes());
    let choices = "mixes: [{name: m, parts: {peat or coir: 1}, amount: 1 L}]\n";
    garden.put("shed.yaml", format!("{STOCK}{choices}").as_bytes());
    let (code, _, err) = garden.mixed(&[]);
    assert!(code == 2 && err.contains("holds one of `peat or coir`"), "{err}");
}

#[test]
fn mix_left_of_a_week_that_was_taken_is_told_to_be_left_out() {
    let garden = Garden::of(STOCK.as_bytes());
    garden.mixed(&[]);
    let (code, found, _) = garden.mixed(&["--left", "plain=6 L"]);
    let says = found["says"].as_str().unwrap();
    assert!(code == 1 && says.contains("was not entered") && says.contains("--undo"), "{says}");
    assert!(!garden.stock_text().contains("mixes:"));
}

/// A recipe may have the name of an ingredient: what is to be put back by hand tells the two apart.
#[test]
fn mixes_and_ingredients_of_one_name_are_put_back_apart() {
    let garden = Garden::of(STOCK.as_bytes());
    garden.put("plain.yaml", RECIPE.replace("plain", "perlite").as_bytes());
    garden.put("week.yaml", week_text("first", "").replace("recipe: plain", "recipe: plain.yaml").as_bytes());
    let (code, _, err) = garden.mixed(&["--left", "1=6 L"]);
    assert_eq!(code, 0, "{err}");
    garden.put("shed.yaml", format!("{}# edited\n", garden.stock_text()).as_bytes());
    let (code, _, err) = garden.mixed(&["--undo"]);
    assert!(code == 2 && err.contains("12.5 L perlite, 75 g lime; under `mixes:` take off 6 L perlite"), "{err}");
}

/// What is at hand is not bought ready-made, nor paid for by the litre.
#[test]
fn costs_are_of_the_mix_that_is_made() {
    let ready = "ready_made: {label: bag, gives: 20 L, price: 5}\n";
    let mix = "mixes: [{name: plain, parts: {peat: 3, perlite: 1}, amount: 21 L}]\n";
    let garden = Garden::of(format!("{STOCK}{ready}{mix}").as_bytes());
    garden.put("plain.yaml", b"recipe: plain\nparts: {peat: 3, perlite: 1}\nyield: 80 %\n");
    let planned = garden.planned();
    assert_eq!(planned["purchases"]["ready_made"]["count"], 1);
    garden.put("shed.yaml", format!("{STOCK}{ready}{}", mix.replace("21 L", "40 L")).as_bytes());
    let planned = garden.planned();
    assert!(planned["purchases"]["ready_made"].is_null());
}

#[test]
fn a_label_may_hold_the_sign_of_a_sum() {
    let stock =
        STOCK.replace("label: bale,", "label: bale + 10 %,").replace("2 x bale + 3 L", "3 L + 2 x bale + 10 % + 1 L");
    let garden = Garden::of(stock.as_bytes());
    let (code, found, err) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}");
    // 37.5 L of 104 L: the loose litres first, then from one bale.
    assert!(garden.stock_text().contains("  peat: 1 x bale + 10 % + 16.5 L\n"), "{}", garden.stock_text());
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    assert_eq!(garden.stock_text(), stock);
}

#[test]
fn undo_restores_the_file_byte_for_byte() {
    let flow = "stock: s\non_hand: {perlite: \"40 L\", peat: 'bale + 1 1/2 x bale', lime: [100 g, 400 g]}\n\
                packages: {peat: [{label: bale, gives: 50 L}]}";
    let cubic = STOCK.replace("perlite: 40 L", "perlite: 1 1/2 cu ft");
    let texts = [
        STOCK.to_owned(),
        STOCK.replace('\n', "\r\n"),
        format!("\u{feff}{}", STOCK.replace('\n', "\r\n")),
        STOCK.replace('\n', "\r"),
        STOCK.trim_end().to_owned(),
        flow.to_owned(),
        cubic,
        format!("# \u{fc}ber dem Schuppen \u{1f331}\n{STOCK}"),
    ];
    for text in texts {
        let garden = Garden::of(text.as_bytes());
        let (code, found, err) = garden.mixed(&[]);
        assert_eq!((code, &found["outcome"]), (0, &"entered".into()), "{err}\n{text:?}");
        let taken = garden.stock();
        assert_ne!(taken, text.as_bytes());
        // Only the amounts differ: the same marks and line ends.
        let ends = |bytes: &[u8]| bytes.iter().filter(|byte| matches!(byte, b'\r' | b'\n')).count();
        assert_eq!(ends(&taken), ends(text.as_bytes()));
        let (code, found, err) = garden.mixed(&["--undo"]);
        assert_eq!((code, &found["outcome"]), (0, &"undone".into()), "{err}");
        assert_eq!(garden.stock(), text.as_bytes());
        assert!(garden.logged().values().all(|sum| sum.abs() < 1e-9));
        // And once more: it may be taken again, and undone again.
        assert_eq!(garden.mixed(&[]).0, 0);
        assert_eq!(garden.stock(), taken);
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(garden.stock(), text.as_bytes());
        assert_eq!(garden.mixed(&["--undo"]).0, 2);
    }
}

#[test]
fn undo_goes_back_entry_by_entry() {
    let garden = Garden::of(STOCK.as_bytes());
    let mut stages = vec![garden.stock()];
    for _ in 0..2 {
        assert_eq!(garden.mixed(&["--again"]).0, 0);
        stages.push(garden.stock());
    }
    for stage in stages.iter().rev().skip(1) {
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(&garden.stock(), stage);
    }
}

#[test]
fn a_week_is_not_taken_twice_by_mistake() {
    let garden = Garden::of(STOCK.as_bytes());
    assert_eq!(garden.mixed(&[]).0, 0);
    let (stock, log) = (garden.stock(), garden.log());
    let (code, found, _) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"]), (1, &"already".into()));
    assert_eq!((garden.stock(), garden.log()), (stock, log));
    // Its plan says so, and does not take what it left over itself.
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    assert!(!garden.planned()["cautions"].to_string().contains("already-mixed"));
    assert_eq!(garden.mixed(&["--left", "1=2 L"]).0, 0);
    let planned = garden.planned();
    assert_eq!(planned["cautions"][0]["code"], "already-mixed");
    assert!(planned["cautions"][0]["text"].as_str().unwrap().contains("(entry 3)"));
    assert_eq!(planned["batches"][0]["from_stock_l"], 0.0);
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    assert_eq!(garden.mixed(&[]).0, 0);
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    garden.assert_accounted();
    // Another week is another matter.
    garden.put("week.yaml", week_text("second", "").as_bytes());
    let (code, found, _) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"]), (1, &"short".into()));
    // Entries are taken back from the last.
    let back = |last: bool| {
        let way = if last { "puts them back." } else { "once it has taken back entry 7 of `second`, each with" };
        garden.put("week.yaml", week_text("first", "").as_bytes());
        let (planned, (_, found, _)) = (garden.planned(), garden.mixed(&[]));
        let says = [&planned["cautions"][0]["text"], &found["says"]].map(|says| says.as_str().unwrap().contains(way));
        assert_eq!(says, [true; 2], "{planned}");
    };
    back(true);
    garden.put("week.yaml", week_text("second", "").as_bytes());
    assert_eq!(garden.mixed(&["--bought", "planned"]).0, 0, "{}", garden.log());
    back(false);
    assert_eq!(found["lacking"][0]["ingredient"], "peat");
}

/// The clock of a run is handed in, so that what it writes can be foreseen.
#[test]
fn an_entry_has_the_date_of_the_clock_that_is_given() {
    let garden = Garden::of(STOCK.as_bytes());
    let local = |text: &str| {
        // The zone of a run in a test.
        let time: jiff::Timestamp = text.parse().unwrap();
        time.to_zoned_datetime(jiff::tz::TimeZone::UTC).strftime("%Y-%m-%d %H:%M").to_string()
    };
    let at = ["2027-03-06T09:30:00Z", "2031-12-05T17:00:00Z"];
    let (_, found, _) = garden.mixed(&["--now", at[0]]);
    assert_eq!(found["date"], local(at[0]).as_str());
    let (_, found, _) = garden.mixed(&["--undo", "--now", at[1]]);
    assert_eq!(found["date"], local(at[1]).as_str());
    assert!(garden.log().contains(&format!("1,mixed,{},", local(at[0]))), "{}", garden.log());
}

/// 37.5 L of peat are 9.91 US gallons of 3.785411784 L.
#[test]
fn what_was_taken_is_shown_in_the_wanted_units() {
    for (units, shown) in [("metric", "37.5 L"), ("us", "9.91 US gal")] {
        let garden = Garden::of(STOCK.as_bytes());
        let week = garden.path("week.yaml");
        let all = ["trayful", "mixed", week.to_str().unwrap(), "--units", units].map(Into::into);
        let (mut out, mut err) = (Vec::new(), Vec::new());
        assert_eq!(run(all, Surroundings::default(), &mut out, &mut err), 0);
        let text = String::from_utf8(out).unwrap();
        let peat = text.lines().find(|line| line.contains("peat")).unwrap();
        assert!(peat.contains(shown), "{text}");
    }
}

#[test]
fn too_little_takes_nothing_and_says_what_is_lacking() {
    let text = STOCK.replace("2 x bale + 3 L", "30 L").replace("500 g", "0 g");
    let garden = Garden::of(text.as_bytes());
    let (code, found, _) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"]), (1, &"short".into()));
    assert_eq!(found["lacking"][0]["lacking_l"], 7.5);
    assert_eq!(found["lacking"][1]["lacking_g"], 75.0);
    assert_eq!(garden.stock(), text.as_bytes());
    assert_eq!(garden.log(), "");
}

#[test]
fn what_was_bought_is_put_in_first() {
    for on_hand in
        ["on_hand: {lime: 1 kg}\n", "on_hand:\n    lime: 1 kg # in the tin\n", "on_hand:\n  lime:\n  - 1 kg\n"]
    {
        let start = STOCK.find("on_hand").unwrap();
        let end = STOCK.find("packages").unwrap();
        let text = format!("{}{on_hand}{}", &STOCK[..start], &STOCK[end..]);
        let garden = Garden::of(text.as_bytes());
        assert_eq!(garden.mixed(&[]).0, 1);
        let (code, found, err) = garden.mixed(&["--bought", "peat=1 x bale", "--bought", "perlite=2 x 100 L bag"]);
        assert_eq!(code, 0, "{err}\n{text}");
        assert_eq!(found["rows"][0]["what"], "bought");
        assert_eq!(found["rows"][0]["litres"], -50.0);
        let now = garden.stock_text();
        assert!(now.contains("peat: 12.5 L") && now.contains("perlite: 1 x 100 L bag + 87.5 L"), "{now}");
        assert!(now.contains("925 g"), "{now}");
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(garden.stock(), text.as_bytes());
    }
    // All that the plan says, into a file without any `on_hand:`.
    let text = "stock: s\npackages: {peat: [{label: bale, gives: 30 L}], perlite: [{label: bag, gives: 10 L}], lime: \
                [{label: box, gives: 70 g}]}";
    let garden = Garden::of(text.as_bytes());
    let (code, _, err) = garden.mixed(&["--bought", "planned"]);
    assert_eq!(code, 0, "{err}");
    assert!(garden.stock_text().ends_with("\non_hand:\n  peat: 22.5 L\n  perlite: 7.5 L\n  lime: 65 g\n"));
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    assert_eq!(garden.stock(), text.as_bytes());
    for wrong in ["peat=2 x crate", "peat=1/2 x bale", "peat=0 x bale", "peet=1 x bale", "everything"] {
        assert_eq!(garden.mixed(&["--bought", wrong]).0, 2, "{wrong}");
    }
    let bounds = "cannot be: 1 to 1,000,000 packages are bought at once";
    for (count, why) in [("0.5", "is not a whole number"), ("0", bounds), ("1000001", bounds), ("2000000", bounds)] {
        let (_, _, err) = garden.mixed(&["--bought", &format!("perlite={count} x bag")]);
        assert!(err.contains(&format!("`{count}` {why}")), "{err}");
    }
}

#[test]
fn what_cannot_be_edited_safely_is_refused() {
    // An alias: two amounts in one place. An amount over two lines. One with escapes.
    for amounts in [
        "  perlite: &some 400 L\n  peat: *some\n  lime: 500 g\n",
        "  perlite: 40\n    L\n  peat: 60 L\n  lime: 500 g\n",
        "  perlite: \"40\\u0020L\"\n  peat: 60 L\n  lime: 500 g\n",
    ] {
        let text = format!("stock: s\non_hand:\n{amounts}");
        let garden = Garden::of(text.as_bytes());
        let (code, _, err) = garden.mixed(&[]);
        assert_eq!(code, 2, "{amounts}");
        assert!(err.contains("nothing was taken") && err.contains("perlite: "), "{err}");
        assert_eq!(garden.stock(), text.as_bytes());
        assert_eq!(garden.log(), "");
    }
}

#[test]
fn an_edited_file_is_not_undone_over() {
    let garden = Garden::of(STOCK.as_bytes());
    assert_eq!(garden.mixed(&[]).0, 0);
    let edited = garden.stock_text().replace("27.5 L", "20 L");
    garden.put("shed.yaml", edited.as_bytes());
    let (code, _, err) = garden.mixed(&["--undo"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("was edited since entry 1") && err.contains("add 37.5 L peat, 12.5 L perlite, 75 g lime"),
        "{err}"
    );
    assert_eq!(garden.stock_text(), edited);
}

#[test]
fn an_entry_is_closed_in_the_log_where_its_amounts_were_put_back_by_hand() {
    let garden = Garden::of(STOCK.as_bytes());
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    let first = garden.stock_text();
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    // Only where the program cannot do it.
    let (code, _, err) = garden.mixed(&["--undo", "--by-hand"]);
    assert!(code == 2 && err.contains("is as entry 2 left it: `--undo` without `--by-hand`"), "{err}");
    assert_eq!(garden.mixed(&["--by-hand"]).0, 2);
    let edited = first.replace("# The shed.", "# My shed.");
    garden.put("shed.yaml", edited.as_bytes());
    let (code, _, err) = garden.mixed(&["--undo"]);
    assert!(code == 2 && err.contains("`--undo --by-hand`, which changes the log alone"), "{err}");
    let (code, found, err) = garden.mixed(&["--undo", "--by-hand"]);
    assert_eq!((code, &found["outcome"], &found["undoes"]), (0, &"undone".into(), &2.into()), "{err}");
    assert!(found["says"].as_str().unwrap().contains("put back by hand, and shed.yaml was left as it is"), "{found}");
    assert_eq!(garden.stock_text(), edited);
    garden.assert_accounted();
    // The entry before it no longer fits the file, either, and is closed in the same way.
    assert_eq!(garden.mixed(&["--undo"]).0, 2);
    garden.put("shed.yaml", STOCK.replace("# The shed.", "# My shed.").as_bytes());
    assert_eq!(garden.mixed(&["--undo", "--by-hand"]).0, 0);
    garden.assert_accounted();
    // The week may be taken anew, and that be taken back by the program.
    assert_eq!(garden.mixed(&[]).0, 0);
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    assert_eq!(garden.mixed(&["--undo", "--by-hand"]).0, 2);
    garden.assert_accounted();
}

/// The log alone is written: a run that is stopped has done all of it or nothing.
#[test]
fn closing_an_entry_by_hand_may_be_stopped_at_any_step() {
    for (step, how) in STEPS.into_iter().flat_map(|step| [(step, Stop::Fails), (step, Stop::Dies)]) {
        let garden = garden_for(true);
        let log = garden.log();
        let edited = STOCK.replace("# The shed.", "# My shed.");
        garden.put("shed.yaml", edited.as_bytes());
        garden.stopped("week.yaml", &["--undo", "--by-hand"], Some((step, how)));
        let done = !matches!(
            step,
            WriteStep::WriteLog | WriteStep::WritePending | WriteStep::PlacePending | WriteStep::PlaceLog
        );
        assert_eq!(garden.log() != log, done, "{step:?} {how:?}");
        let told = matches!(step, WriteStep::WriteStock | WriteStep::PlaceStock | WriteStep::Done);
        if !told {
            let (code, found, err) = garden.mixed(&["--undo", "--by-hand"]);
            assert_eq!((code, &found["undoes"]), (0, &1.into()), "{step:?} {how:?} {err}");
        }
        assert_eq!(garden.entries().len(), 2, "{step:?} {how:?}");
        assert_eq!(garden.stock_text(), edited);
        assert!(garden.leftovers().iter().all(|name| !name.ends_with("pending")));
    }
}

#[test]
fn only_the_last_entry_is_undone_and_only_with_its_own_week() {
    let garden = Garden::of(STOCK.as_bytes());
    garden.put("second.yaml", week_text("second", "").as_bytes());
    assert_eq!(garden.mixed(&[]).0, 0);
    assert_eq!(garden.stopped("second.yaml", &[], None).0, 0);
    let (stock, log) = (garden.stock(), garden.log());
    let (code, _, err) = garden.mixed(&["--undo"]);
    assert!(code == 2 && err.contains("is number 2, of the week `second` for 2027-03-06"), "{err}");
    // The same name on another day is another week.
    garden.put("later.yaml", week_text("second", "").replace("03-06", "03-07").as_bytes());
    for more in [&["--undo"][..], &["--undo", "--by-hand"]] {
        assert_eq!(garden.stopped("later.yaml", more, None).0, 2);
    }
    assert_eq!((garden.stock(), garden.log()), (stock, log));
    assert_eq!(garden.stopped("second.yaml", &["--undo"], None).0, 0);
    assert_eq!(garden.stopped("second.yaml", &["--undo"], None).0, 2);
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    assert_eq!(garden.stock_text(), STOCK);
}

#[test]
fn a_week_is_its_name_and_its_day_and_the_same_sowings_on_another_day_are_said() {
    let garden =
        Garden::of(STOCK.replace("2 x bale + 3 L", "900 L\n  vermiculite: 9 L").replace("40 L ", "900 L ").as_bytes());
    assert_eq!(garden.mixed(&[]).0, 0);
    let as_it_was = (garden.stock(), garden.log());
    let outcome = |text: String, more: &[&str]| {
        garden.put("other.yaml", text.as_bytes());
        let (code, found, err) = garden.stopped("other.yaml", more, None);
        (code, found["outcome"].as_str().unwrap_or(&err).to_owned(), found["says"].as_str().unwrap_or(&err).to_owned())
    };
    let two = "sowings: [{crop: kale, cells: 9, tray: box}, {crop: lettuce, cells: 8, tray: box}]";
    let swapped = "sowings: [{crop: lettuce, cells: 8, tray: box}, {crop: kale, cells: 9, tray: box}]";
    let one = "sowings: [{crop: lettuce, trays: 4, tray: box}]";
    let first = week_text("first", "");
    // Another hour, other letters and spaces, other sowings: the same week.
    for same in
        [first.replace("10:00", "18:00"), first.replace("week: first", "week: ' First '"), first.replace(one, two)]
    {
        let (code, found, _) = outcome(same, &[]);
        assert_eq!((code, found.as_str()), (1, "already"));
    }
    let (code, found, says) = outcome(first.replace("03-06", "03-07"), &[]);
    assert_eq!((code, found.as_str()), (1, "other_day"));
    garden.put("week.yaml", first.replace("03-06", "03-07").as_bytes());
    let caution = garden.planned()["cautions"][0].to_string();
    assert!(caution.contains("already-mixed") && caution.contains("when they were for 2027-03-06"), "{caution}");
    assert!(says.contains("for 2027-03-06") && says.contains("--again"), "{says}");
    assert_eq!((garden.stock(), garden.log()), as_it_was);
    // On another day and other sowings: another week. Its sowings in another order are the same.
    assert_eq!(outcome(first.replace("03-06", "03-08").replace(one, two), &[]).1, "entered");
    assert_eq!(outcome(first.replace("03-06", "03-09").replace(one, swapped), &[]).1, "other_day");
    assert_eq!(outcome(first.replace("03-06", "03-09").replace(one, swapped), &["--again"]).1, "entered");
    assert_eq!(outcome(first.replace("03-06", "03-09").replace(one, swapped), &[]).1, "already");
    // Another name is another week, whatever it sows.
    assert_eq!(outcome(week_text("second", "").replace(one, two), &[]).1, "entered");
}

#[test]
fn what_is_to_be_put_back_by_hand_is_told_once_and_rounded() {
    let garden = Garden::of(STOCK.as_bytes());
    // Two batches, of a third of a litre more than whole ones, and two bales for them.
    let week = week_text("first", "")
        .replace("trays: 4, tray: box}", "trays: 4, tray: box}, {crop: lettuce, trays: 3, tray: box, recipe: other}");
    garden.put("week.yaml", week.as_bytes());
    garden.put("other.yaml", b"recipe: other\nparts: {peat: 2, perlite: 1}\nyield: 80 %\n");
    assert_eq!(garden.mixed(&["--bought", "peat=2 x bale"]).0, 0);
    garden.put("shed.yaml", garden.stock_text().replace("# The shed.", "# My shed.").as_bytes());
    let (code, _, err) = garden.mixed(&["--undo"]);
    assert_eq!(code, 2);
    // 37.5 L and 25 L of peat less 100 L; 12.5 L and 12.5 L of perlite; the covering is not in the shed.
    assert!(err.contains("add 25 L perlite") && err.contains("take off 37.5 L peat"), "{err}");
    assert_eq!(err.matches("perlite").count(), 1, "{err}");
}

/// Kale goes without the inoculant: two batches out of one base.
fn two_crops(vessels: &str) -> String {
    let more = "trays: 4, tray: box}, {crop: kale, trays: 3, tray: box}";
    week_text("first", vessels).replace("trays: 4, tray: box}", more)
}

/// A week whose doses count on several bases, measured by the scoop in several loads.
fn scooped(garden: &Garden, vessels: &str) {
    garden.put(
        "plain.yaml",
        b"recipe: plain\nparts: {peat: 3, perlite: 1}\ndoses:\n  lime: {rate: 2 g/L, of: peat}\n  inoculant: 1 g/L\n  \
          kelp meal: {rate: 3 mL/L, per: loose}\nyield: 80 %\n",
    );
    garden.put("week.yaml", two_crops(vessels).as_bytes());
    garden.put(
        "shed.yaml",
        b"stock: s\ncurrency: EUR\non_hand:\n  peat: 3 L\npackages:\n  peat: [{label: bale, gives: 50 L, price: 9}]\n  \
          perlite: [{label: bag, gives: 10 L, price: 5}]\n  lime: [{label: box, gives: 30 g, price: 1}]\n  inoculant: \
          [{label: tub, gives: 25 g, price: 7}]\n  vermiculite: [{label: bag, gives: 8 L, price: 3}]\n  kelp meal: \
          [{label: bag, gives: 100 mL, price: 3}]\n",
    );
}

#[test]
fn loads_purchases_and_what_is_taken_are_the_same_amounts() {
    let (mut rounded, mut more_than_share, mut less_than_share) = (0, 0, 0);
    for vessels in [
        "",
        "scoop: 3 L\n",
        "tub: 25 L\nscoop: 2 L\n",
        "tub: 31 L\nscoop: 1.7 L\n",
        "tub: 60 L\nscoop: 5 L\n",
        "tub: 50 L\nscoop: 10 L\n",
    ] {
        let garden = Garden::of(STOCK.as_bytes());
        scooped(&garden, vessels);
        let loaded = week::load(&garden.path("week.yaml"), &Disk::default(), &[]).unwrap();
        let plan = plan::plan(&loaded).unwrap();
        assert_eq!(plan.mixes.batches.len(), 2);
        rounded += usize::from(plan.mixes.extras().iter().any(|more| more.purpose == trayful::stock::UsedFor::Scoops));
        let mut in_loads: BTreeMap<String, f64> = BTreeMap::new();
        let bases = plan.mixes.mixing.bases.iter().map(|base| &base.loads);
        for loads in bases.chain(plan.mixes.mixing.batches.iter().filter_map(|batch| batch.loads.as_ref())) {
            let doses = loads.load.doses.iter().map(|dose| (&dose.ingredient, dose.amount.size()));
            let measures = loads.load.measures.iter().map(|measure| (&measure.ingredient, to_litres(measure.loose)));
            for (ingredient, each) in doses.chain(measures) {
                *in_loads.entry(ingredient.name.clone()).or_default() += each * loads.count as f64;
            }
        }
        for layer in &plan.mixes.covering {
            *in_loads.entry(layer.ingredient.name.clone()).or_default() += to_litres(layer.loose);
        }
        let lines = &plan.purchases.lines;
        let needs: BTreeMap<String, f64> =
            lines.iter().map(|line| (line.ingredient.name.clone(), line.need.size())).collect();
        let (code, found, err) = garden.mixed(&["--bought", "planned"]);
        assert_eq!(code, 0, "{err}{found}");
        let mut taken: BTreeMap<String, f64> = BTreeMap::new();
        for row in found["rows"].as_array().unwrap().iter().filter(|row| row["what"] == "mixed") {
            let amount = row["litres"].as_f64().or(row["grams"].as_f64()).unwrap();
            *taken.entry(row["ingredient"].as_str().unwrap().to_owned()).or_default() += amount;
        }
        assert_eq!(taken.keys().collect::<Vec<_>>(), needs.keys().collect::<Vec<_>>());
        for (ingredient, need) in &needs {
            // Less than a thousandth is not told from nothing.
            let near = |found: f64| (found - need).abs() < 2e-3;
            assert!(near(taken[ingredient]), "{ingredient}: {} is not {need}", taken[ingredient]);
            let loads = in_loads[ingredient];
            assert!(near(loads), "{vessels}{ingredient}: {loads} is not {need}");
            let totals = &plan.mixes.totals;
            let dose = totals.doses.iter().find(|(id, _)| id.name == *ingredient).map(|(_, dose)| dose.size());
            let part = totals.ingredients.iter().find(|(id, _)| id.name == *ingredient);
            let share = dose.or(part.map(|(_, loose)| to_litres(*loose))).unwrap_or(loads);
            more_than_share += usize::from(loads > share + 0.1);
            less_than_share += usize::from(loads < share - 0.1);
        }
    }
    assert!(
        rounded >= 3 && more_than_share >= 3 && less_than_share >= 3,
        "{rounded} {more_than_share} {less_than_share}"
    );
}

/// What the plan buys, by ingredient and package.
fn planned(garden: &Garden) -> Vec<(String, String)> {
    let loaded = week::load(&garden.path("week.yaml"), &Disk::default(), &[]).unwrap();
    let plan = plan::plan(&loaded).unwrap();
    let lines = plan.purchases.lines;
    let picks = lines.iter().flat_map(|line| line.packages.iter().map(move |pick| (&line.ingredient, pick)));
    picks.map(|(id, pick)| (id.name.clone(), pick.to_string())).collect()
}

fn bought(found: &Value) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let rows = found["rows"].as_array().unwrap().iter().filter(|row| row["what"] == "bought");
    rows.map(|row| (text(&row["ingredient"]), text(&row["package"]))).collect()
}

#[test]
fn planned_buys_what_the_plan_says() {
    let garden = Garden::of(STOCK.as_bytes());
    scooped(&garden, "tub: 25 L\nscoop: 2 L\n");
    let wanted = planned(&garden);
    assert!(wanted.len() >= 5, "{wanted:?}");
    let (code, found, err) = garden.mixed(&["--bought", "planned"]);
    assert_eq!((code, bought(&found)), (0, wanted.clone()), "{err}");
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    // What is named is not bought again: a bag for the covering, and the rest as planned.
    let (code, found, err) = garden.mixed(&["--bought", "planned", "--bought", "perlite=9 x bag"]);
    assert_eq!(code, 0, "{err}");
    let mut rest: Vec<_> = wanted.into_iter().filter(|(ingredient, _)| ingredient != "perlite").collect();
    rest.insert(0, ("perlite".to_owned(), "9 x bag".to_owned()));
    assert_eq!(bought(&found), rest);
}

#[test]
fn planned_buys_coir_in_the_pieces_that_are_soaked() {
    let garden = Garden::of(STOCK.as_bytes());
    garden.put("plain.yaml", b"recipe: plain\nparts: {coir: 3, perlite: 1}\nyield: 80 %\n");
    garden.put("week.yaml", week_text("first", "soak: {coir: {product: 650 g brick}}\n").as_bytes());
    garden.put(
        "shed.yaml",
        b"stock: s\non_hand: {perlite: 90 L, vermiculite: 9 L}\npackages:\n  coir: [{label: 650 g brick, gives: 8 L, price: 4}, \
          {label: 5 kg block, gives: 65 L, price: 14}]\n",
    );
    let wanted = planned(&garden);
    assert_eq!(wanted, [("coir".to_owned(), "5 x 650 g brick".to_owned())]);
    let (code, found, err) = garden.mixed(&["--bought", "planned"]);
    assert_eq!((code, bought(&found)), (0, wanted), "{err}");
}

#[test]
fn what_cannot_be_bought_in_packages_is_told_with_its_cure() {
    // Of nothing at hand and in no package.
    let garden = Garden::of(STOCK.replace("  lime: 500 g\n", "").as_bytes());
    let (code, found, _) = garden.mixed(&["--bought", "planned"]);
    assert_eq!((code, &found["outcome"]), (1, &"short".into()));
    let notes = found["notes"].to_string();
    assert!(found["says"].as_str().unwrap().contains("even with all the packages"), "{found}");
    assert!(notes.contains("lime"), "{notes}");
    // At hand by volume where it is needed by weight: the rest is taken.
    let garden = Garden::of(STOCK.replace("lime: 500 g", "lime: 3 L").as_bytes());
    let (code, found, _) = garden.mixed(&["--bought", "planned"]);
    assert_eq!((code, &found["outcome"]), (0, &"entered".into()));
    let notes = found["notes"].to_string();
    assert!(notes.contains("than the stock counts it in: lime.") && notes.contains("dry_density"), "{notes}");
    assert!(garden.stock_text().contains("lime: 3 L"), "{}", garden.stock_text());
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    // With the density, the three litres are enough.
    let entry = "ingredients: {lime: {kind: dose, dry_density: 900 g/L}}\n";
    garden.put("shed.yaml", format!("{}{entry}", garden.stock_text()).as_bytes());
    let (code, found, err) = garden.mixed(&["--bought", "planned"]);
    assert_eq!(code, 0, "{err}{found}");
    assert!(garden.stock_text().contains("lime: 2625 g"), "{}", garden.stock_text());
}

#[test]
fn a_log_that_is_not_ours_is_left_alone() {
    let garden = Garden::of(STOCK.as_bytes());
    for log in ["my notes\n", "entry,what\n1,mixed\n"] {
        garden.put("shed.log.csv", log.as_bytes());
        let (code, _, err) = garden.mixed(&[]);
        assert_eq!(code, 2);
        assert!(err.contains("line 1 of"), "{err}");
        assert_eq!((garden.stock_text().as_str(), garden.log().as_str()), (STOCK, log));
    }
}

/// What the program writes it must be able to read.
#[test]
fn nothing_reaches_the_log_that_could_not_be_read_there() {
    for mark in ["\\ufeff", "\\ufffe", "\\uffff"] {
        let garden = Garden::of(STOCK.as_bytes());
        garden.put("week.yaml", week_text(&format!("\"first{mark}\""), "").as_bytes());
        let (code, _, err) = garden.mixed(&[]);
        assert!(code == 2 && err.contains("which has no place there"), "{err}");
        garden.put("week.yaml", week_text("first", "").as_bytes());
        garden.put("shed.yaml", STOCK.replace("bale", &format!("\"bale{mark}\"")).as_bytes());
        assert_eq!((garden.mixed(&[]).0, garden.log().as_str()), (2, ""));
    }
    // And whatever comes another way is found before anything is changed.
    let garden = Garden::of(STOCK.as_bytes());
    let request = Request { week: "sale\u{feff}".to_owned(), ..Request::default() };
    let mut ledger = Ledger::open(&garden.path("shed.yaml"), request, |_| Ok(())).unwrap();
    let row = LogRow { what: "mixed".to_owned(), litres: Some(1.0), ..LogRow::default() };
    let new = NewText { bytes: b"stock: other\n".to_vec(), back: Vec::new() };
    let fault = ledger.enter(vec![row], new).unwrap_err();
    assert!(matches!(fault, LedgerFault::Untouched { .. }), "{fault}");
    assert_eq!((garden.stock_text().as_str(), garden.log().as_str()), (STOCK, ""));
    assert!(garden.leftovers().is_empty());
}

/// Two stock files whose names differ in their endings are two stocks.
#[test]
fn each_stock_file_has_a_log_of_its_own() {
    let garden = Garden::of(STOCK.as_bytes());
    garden.put("shed.yml", STOCK.as_bytes());
    garden.put("other.yaml", week_text("first", "").replace("shed.yaml", "shed.yml").as_bytes());
    assert_eq!(garden.mixed(&[]).0, 0);
    let log = garden.log();
    let (code, found, err) = garden.stopped("other.yaml", &[], None);
    assert_eq!((code, found["entry"].as_u64()), (0, Some(1)), "{err}");
    assert!(found["log"].as_str().unwrap().ends_with("shed.yml.log.csv"), "{found}");
    assert_eq!(garden.log(), log);
    assert_eq!(garden.stopped("other.yaml", &["--undo"], None).0, 0);
    assert_eq!(fs::read_to_string(garden.path("shed.yml")).unwrap(), STOCK);
    // A log that an earlier version began is carried on.
    let garden = garden_for(true);
    fs::rename(garden.path("shed.yaml"), garden.path("shed.yml")).unwrap();
    garden.put("week.yaml", week_text("first", "").replace("shed.yaml", "shed.yml").as_bytes());
    assert_eq!(garden.mixed(&[]).1["outcome"], "already");
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
    assert_eq!((garden.entries().len(), garden.path("shed.yml.log.csv").exists()), (2, false));
}

/// A line end in a name makes no second line of a message.
#[cfg(unix)]
#[test]
fn a_name_with_a_line_end_forges_no_line() {
    let garden = Garden::of(STOCK.as_bytes());
    let name = "sh\nerror: all is lost\ned.yaml";
    garden.put(name, STOCK.as_bytes());
    let week = week_text("first", "").replace("shed.yaml", &format!("{name:?}"));
    garden.put("week.yaml", week.as_bytes());
    let one_line = |(code, _, err): (u8, Value, String)| {
        assert!(code == 2 && err.lines().count() == 1 && err.contains("\\u{a}"), "{err}");
    };
    one_line(garden.mixed(&["--undo"]));
    let (code, found, _) = garden.mixed(&[]);
    assert!(code == 0 && !found["says"].as_str().unwrap().contains('\n'), "{found}");
    garden.put(name, STOCK.replace("# The shed", "# My shed").as_bytes());
    one_line(garden.mixed(&["--undo"]));
    // Nor does one in the name of a week.
    garden.put("other.yaml", week.replace("week: first", "week: \"last\\nerror: all is lost\"").as_bytes());
    assert_eq!(garden.stopped("other.yaml", &[], None).0, 0);
    one_line(garden.mixed(&["--undo"]));
}

/// The text of a log as the version before wrote it.
fn as_before(log: &str) -> String {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for record in csv::ReaderBuilder::new().has_headers(false).from_reader(log.as_bytes()).records() {
        writer.write_record(record.unwrap().iter().take(15)).unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

#[test]
fn a_log_of_an_earlier_version_is_carried_on() {
    for (mark, end) in [("", "\n"), ("\u{feff}", "\r\n")] {
        let garden = garden_for(true);
        let taken = garden.stock();
        let old = as_before(&garden.log());
        garden.put("shed.log.csv", format!("{mark}{}", old.replace('\n', end)).as_bytes());
        assert_eq!(garden.mixed(&[]).0, 1);
        assert_eq!(garden.mixed(&["--again"]).0, 0);
        let log = garden.log();
        assert!(
            log.lines().next().unwrap().ends_with(",restore,sowings,check")
                && log.contains(&old[old.find("\n1,").unwrap()..][..40])
        );
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(garden.stock(), taken);
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!((garden.stock_text().as_str(), garden.entries().len()), (STOCK, 4));
    }
}

#[test]
fn an_edited_log_is_refused_with_its_line_and_what_to_do() {
    let garden = Garden::of(STOCK.as_bytes());
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    let (stock, log) = (garden.stock(), garden.log());
    let lines: Vec<&str> = log.split_inclusive('\n').collect();
    let amount = log.replacen("37.5", "3.75", 1);
    let doubled = [&lines[..4], &lines[1..]].concat().concat();
    let gone = [&lines[..1], &lines[4..]].concat().concat();
    for (edited, line) in [(amount, 2), (lines[..6].concat(), 6), (doubled, 5), (gone, 2)] {
        garden.put("shed.log.csv", edited.as_bytes());
        for request in [&[][..], &["--again"], &["--undo"]] {
            let (code, _, err) = garden.mixed(request);
            assert_eq!(code, 2);
            assert!(err.contains(&format!("line {line} of")) && err.contains("Put the log back as it was"), "{err}");
        }
        assert_eq!((garden.stock(), garden.log()), (stock.clone(), edited));
    }
    garden.put("shed.log.csv", log.as_bytes());
    assert_eq!(garden.mixed(&["--undo"]).0, 0);
}

/// What is there but cannot be read is not taken for absent.
#[cfg(unix)]
#[test]
fn only_what_is_not_there_is_absent() {
    use std::os::unix::fs::symlink;
    for name in ["shed.log.csv", ".shed.yaml.pending", ".shed.yaml.lock"] {
        for dangling in [true, false] {
            let garden = Garden::of(STOCK.as_bytes());
            let path = garden.path(name);
            if dangling { symlink("nowhere", &path) } else { fs::create_dir(&path) }.unwrap();
            for request in [&[][..], &["--again"], &["--undo"]] {
                let (code, _, err) = garden.mixed(request);
                let why = if dangling { "a link to a file that is not there" } else { "it is a folder" };
                assert!(code == 2 && err.contains(why) && err.contains(name), "{err}");
            }
            assert_eq!(garden.stock_text(), STOCK);
            assert_eq!(fs::symlink_metadata(&path).unwrap().is_symlink(), dangling);
        }
    }
}

#[cfg(unix)]
#[test]
fn a_linked_log_is_written_through_its_link() {
    use std::os::unix::fs::symlink;
    let garden = Garden::of(STOCK.as_bytes());
    fs::create_dir(garden.path("logs")).unwrap();
    garden.put("logs/all.csv", b"");
    symlink("logs/all.csv", garden.path("shed.log.csv")).unwrap();
    let (code, found, err) = garden.mixed(&[]);
    assert_eq!(code, 0, "{err}");
    assert!(found["log"].as_str().unwrap().ends_with("shed.log.csv"), "{found}");
    assert_eq!(garden.mixed(&[]).0, 1);
    // A run that was killed before the log was replaced finds its way, too.
    assert_eq!(garden.stopped("week.yaml", &["--again"], Some((WriteStep::PlaceLog, Stop::Dies))).0, DIED);
    assert_eq!(garden.mixed(&["--again"]).1["outcome"], "finished");
    assert!(fs::symlink_metadata(garden.path("shed.log.csv")).unwrap().is_symlink());
    assert_eq!(fs::read_to_string(garden.path("logs/all.csv")).unwrap().lines().count(), 7);
    assert_eq!(fs::read_dir(garden.path("logs")).unwrap().count(), 1);
}

#[test]
fn a_week_without_stock_is_told_so() {
    let garden = Garden::of(STOCK.as_bytes());
    garden.put("week.yaml", week_text("first", "").replace("stock: shed.yaml\n", "").as_bytes());
    let (code, _, err) = garden.mixed(&[]);
    assert_eq!(code, 2);
    assert!(err.contains("names no stock file"), "{err}");
}

#[test]
fn every_form_of_report_is_written() {
    let garden = Garden::of(STOCK.as_bytes());
    for format in ["text", "markdown", "csv", "html"] {
        for more in [&[][..], &["--undo"]] {
            assert_eq!(garden.mixed(&[&["--format", format], more].concat()).0, 2, "an option twice");
            let week = garden.path("week.yaml");
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let arguments = ["trayful", "mixed", week.to_str().unwrap(), "--format", format];
            let all = arguments.iter().chain(more).map(Into::into);
            assert_eq!(run(all, Surroundings::default(), &mut out, &mut err), 0);
            assert!(String::from_utf8(out).unwrap().contains("perlite"));
        }
    }
}

// Runs that are stopped.

/// How a run is stopped before a step of writing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stop {
    /// The step fails, as on a full disk.
    Fails,
    /// The run ends there: nothing after it is done, whatever the step.
    Dies,
    /// A process of its own ends itself there, without any clean-up.
    Aborts,
}

/// Not a code of the program.
const DIED: u8 = 255;

thread_local! {
    /// Where a run of this thread is stopped.
    static STOP: Cell<Option<(WriteStep, Stop)>> = const { Cell::new(None) };
}

fn stop_at(now: WriteStep) -> io::Result<()> {
    let Some((_, how)) = STOP.get().filter(|(step, _)| *step == now) else { return Ok(()) };
    match how {
        Stop::Fails => Err(io::ErrorKind::StorageFull.into()),
        // A panic without its message.
        Stop::Dies => std::panic::resume_unwind(Box::new(())),
        Stop::Aborts => std::process::abort(),
    }
}

/// A standard output that is full, as `/dev/full` is.
struct Full;

impl io::Write for Full {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::StorageFull.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Not a test of its own: the process that the crash tests start and that dies.
#[test]
fn crashing_child() {
    let Ok(at) = std::env::var("TRAYFUL_TEST_CRASH") else { return };
    let words: Vec<&str> = at.split('\n').collect();
    let step = STEPS[words[0].parse::<usize>().unwrap()];
    STOP.set(Some((step, Stop::Aborts)));
    let all = words[1..].iter().map(Into::into);
    let surroundings = Surroundings { steps: stop_at, ..Surroundings::default() };
    let code = run(all, surroundings, &mut io::sink(), &mut io::sink());
    panic!("the step was not reached: {code}");
}

/// Every step of writing, in order.
const STEPS: [WriteStep; 8] = [
    WriteStep::WriteStock,
    WriteStep::WriteLog,
    WriteStep::WritePending,
    WriteStep::PlacePending,
    WriteStep::PlaceStock,
    WriteStep::PlaceLog,
    WriteStep::RemovePending,
    WriteStep::Done,
];

fn crash(garden: &Garden, step: WriteStep, more: &[&str]) {
    let step = STEPS.iter().position(|known| *known == step).unwrap();
    let week = garden.path("week.yaml");
    let words = [&["trayful", "mixed", week.to_str().unwrap()], more].concat().join("\n");
    let status = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "stock_log::crashing_child", "--nocapture"])
        .env("TRAYFUL_TEST_CRASH", format!("{step}\n{words}"))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    // Aborted, not failed: the panic above would end with 101.
    assert!(status.code() != Some(0) && status.code() != Some(101), "{status}");
}

/// The requests, and whether the week is taken before.
const REQUESTS: [(&[&str], bool); 3] = [(&[], false), (&["--again"], true), (&["--undo"], true)];

fn garden_for(before: bool) -> Garden {
    let garden = Garden::of(STOCK.as_bytes());
    if before {
        assert_eq!(garden.mixed(&[]).0, 0);
    }
    garden
}

/// Whoever was not told what was done runs the same command again.
#[test]
fn a_run_stopped_at_any_step_is_made_good_by_running_it_again() {
    for (request, before) in REQUESTS {
        let whole = garden_for(before);
        assert_eq!(whole.mixed(request).0, 0);
        for (step, how) in
            STEPS.into_iter().flat_map(|step| [Stop::Fails, Stop::Dies, Stop::Aborts].map(|how| (step, how)))
        {
            let told = format!("{request:?} {step:?} {how:?}");
            let garden = garden_for(before);
            let (stock, log) = (garden.stock(), garden.log());
            let stopped = match how {
                Stop::Aborts => {
                    crash(&garden, step, request);
                    None
                }
                _ => Some(garden.stopped("week.yaml", request, Some((step, how)))),
            };
            let last_steps = matches!(step, WriteStep::RemovePending | WriteStep::Done);
            if how == Stop::Fails && step != WriteStep::PlaceLog && !last_steps {
                // Nothing is changed, and nothing is left.
                assert_eq!(stopped.map(|(code, ..)| code), Some(2), "{told}");
                assert_eq!((garden.stock(), garden.log()), (stock, log), "{told}");
                assert!(garden.leftovers().is_empty(), "{told}: {:?}", garden.leftovers());
            }
            if step == WriteStep::Done {
                // All is done and told.
                assert_eq!((garden.stock(), garden.leftovers().len()), (whole.stock(), 0), "{told}");
                continue;
            }
            let (code, found, err) = garden.mixed(request);
            let begun = step == WriteStep::PlaceLog || last_steps;
            let expected = match request {
                ["--undo"] => "undone",
                _ if begun => "finished",
                _ => "entered",
            };
            assert_eq!((code, found["outcome"].as_str().unwrap_or(&err)), (0, expected), "{told}");
            assert_eq!(garden.stock(), whole.stock(), "{told}");
            assert_eq!(garden.log().lines().count(), whole.log().lines().count(), "{told}\n{}", garden.log());
            garden.assert_accounted();
            assert!(garden.leftovers().iter().all(|name| !name.ends_with("pending")), "{told}");
            // That was the end of it: the next one is a request of its own.
            let (code, found, _) = garden.mixed(request);
            let expected = match request {
                [] => (1, "already"),
                ["--undo"] => (2, ""),
                _ => (1, "short"),
            };
            assert_eq!((code, found["outcome"].as_str().unwrap_or_default()), expected, "{told}");
        }
    }
}

/// A note that stays would have the next honest request taken for the one that is done.
#[test]
fn a_note_that_cannot_be_removed_is_said() {
    let stuck = Some((WriteStep::RemovePending, Stop::Fails));
    let garden = Garden::of(STOCK.as_bytes());
    let (code, found, err) = garden.stopped("week.yaml", &[], stuck);
    assert_eq!((code, &found["outcome"]), (2, &"entered".into()), "{err}");
    assert!(
        err.contains("entry 1 is in the log") && err.contains(".shed.yaml.pending` of a run that has ended"),
        "{err}"
    );
    // Another request goes on from there, and says what it did.
    let (code, _, err) = garden.stopped("week.yaml", &["--undo"], stuck);
    assert!(code == 2 && err.contains("entry 1 is undone by entry 2") && !err.contains("nothing was taken"), "{err}");
    assert_eq!(garden.mixed(&["--undo"]).1["entry"], 2);
    assert_eq!(garden.entries().len(), 2);
    assert!(garden.leftovers().is_empty());
    garden.assert_accounted();
    // The same where that request has just finished the entry of another.
    let garden = Garden::of(STOCK.as_bytes());
    assert_eq!(garden.stopped("week.yaml", &["--again"], Some((WriteStep::PlaceLog, Stop::Dies))).0, DIED);
    let (code, found, err) = garden.stopped("week.yaml", &[], stuck);
    assert_eq!((code, &found["outcome"]), (2, &"already".into()), "{err}");
    assert!(err.contains("nothing more was done") && !err.contains("nothing was taken"), "{err}");
    assert_eq!(garden.entries().len(), 1);
    garden.assert_accounted();
}

/// An entry of the same number in a new log is not the one that was not told.
#[test]
fn a_lost_report_is_not_looked_for_in_another_log() {
    let garden = Garden::of(STOCK.replace("2 x bale + 3 L", "900 L").replace("40 L ", "900 L ").as_bytes());
    let other = |week: &str| {
        garden.put("other.yaml", week_text(week, "").as_bytes());
        garden.stopped("other.yaml", &[], None)
    };
    assert_eq!(garden.run("week.yaml", &[], &mut Full).0, 2);
    assert_eq!(other("second").0, 0);
    fs::rename(garden.path("shed.log.csv"), garden.path("old.csv")).unwrap();
    let (code, found, err) = other("third");
    assert_eq!((code, &found["outcome"], &found["entry"]), (0, &"entered".into(), &1.into()), "{err}");
    let (code, found, err) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"], &found["entry"]), (0, &"entered".into(), &2.into()), "{err}");
    assert!(garden.leftovers().is_empty());
}

/// The note holds what each week was not told, whatever is asked of the others.
#[test]
fn a_lost_report_is_told_after_runs_for_other_weeks() {
    let stock = STOCK.replace("2 x bale + 3 L", "900 L").replace("40 L ", "900 L ").replace("500 g", "9 kg");
    for request in [&[][..], &["--again"], &["--undo"]] {
        let garden = Garden::of(stock.as_bytes());
        let other = |week: &str, request: &[&str]| {
            garden.put("other.yaml", week_text(week, "").as_bytes());
            garden.stopped("other.yaml", request, None).0
        };
        assert_eq!(other("second", &[]), 0);
        if !request.is_empty() {
            assert_eq!(garden.mixed(&[]).0, 0);
        }
        let before = garden.entries().len();
        assert_eq!(garden.run("week.yaml", request, &mut Full).0, 2);
        // Taken, refused, refused, lost, died and failed.
        assert_eq!(other("second", &[]), 1);
        assert_eq!(other("third", &["--undo"]), 2);
        assert_eq!(other("third", &[]), 0);
        assert_eq!(garden.run("other.yaml", &["--again"], &mut Full).0, 2);
        for how in [Stop::Dies, Stop::Fails] {
            assert_ne!(garden.stopped("other.yaml", &["--undo"], Some((WriteStep::PlaceStock, how))).0, 0);
        }
        let (code, found, err) = garden.mixed(request);
        let told = if request == ["--undo"] { "undone" } else { "finished" };
        assert_eq!((code, &found["outcome"], &found["entry"]), (0, &told.into(), &(before + 1).into()), "{err}");
        let (code, found, err) = garden.stopped("other.yaml", &["--again"], None);
        assert_eq!((code, &found["outcome"]), (0, &"finished".into()), "{err}");
        assert_eq!(garden.entries().len(), before + 3, "{request:?}");
        assert!(garden.leftovers().is_empty());
    }
}

#[test]
fn a_crash_while_making_good_is_made_good() {
    for second in [WriteStep::WriteLog, WriteStep::PlaceLog, WriteStep::RemovePending] {
        let garden = Garden::of(STOCK.as_bytes());
        crash(&garden, WriteStep::PlaceLog, &[]);
        crash(&garden, second, &[]);
        assert_eq!(garden.mixed(&[]).0, 0);
        assert_eq!(garden.log().lines().count(), 4, "{second:?}");
        garden.assert_accounted();
    }
}

/// Neither twice nor unsaid: a report that could not be written is given by the same command.
#[test]
fn what_was_done_is_told_again_where_its_report_was_lost() {
    for (request, before) in REQUESTS {
        let garden = garden_for(before);
        let whole = garden_for(before);
        assert_eq!(whole.mixed(request).0, 0);
        for _ in 0..2 {
            assert_eq!(garden.run("week.yaml", request, &mut Full).0, 2);
            assert_eq!(garden.stock(), whole.stock(), "{request:?}");
            assert_eq!(garden.log().lines().count(), whole.log().lines().count(), "{request:?}");
        }
        let (code, found, err) = garden.mixed(request);
        let expected = if request == ["--undo"] { "undone" } else { "finished" };
        assert_eq!((code, &found["outcome"]), (0, &expected.into()), "{err}");
        assert_eq!(found["rows"].as_array().unwrap().len(), 3);
        assert_eq!((garden.stock(), garden.leftovers().len()), (whole.stock(), 0), "{request:?}");
    }
}

/// Another request than the one whose report was lost is carried out.
#[test]
fn another_request_is_carried_out_after_a_lost_report() {
    let bought: &[&str] = &["--again", "--bought", "peat=2 x bale"];
    for (first, second, code, entries) in [
        (&[][..], &["--undo"][..], 0, 2),
        (&[], &["--again"], 0, 2),
        (&["--again"], bought, 0, 2),
        (&[], &["--bought", "peat=2 x bale"], 1, 1),
    ] {
        let garden = Garden::of(STOCK.as_bytes());
        assert_eq!(garden.run("week.yaml", first, &mut Full).0, 2);
        assert_eq!(garden.mixed(second).0, code, "{first:?} {second:?}");
        assert_eq!(garden.entries().len(), entries, "{first:?} {second:?}");
        garden.assert_accounted();
        assert!(garden.leftovers().is_empty());
    }
    // Other sowings of the same week are another request.
    let garden = garden_for(true);
    assert_eq!(garden.run("week.yaml", &["--again"], &mut Full).0, 2);
    garden.put("week.yaml", week_text("first", "").replace("trays: 4, tray: box", "trays: 1, tray: box").as_bytes());
    let (code, found, err) = garden.mixed(&["--again"]);
    assert_eq!((code, &found["entry"]), (0, &3.into()), "{err}");
}

/// A pending note as the version before wrote it: without what was asked.
#[test]
fn a_note_of_an_earlier_version_is_finished() {
    let garden = Garden::of(STOCK.as_bytes());
    crash(&garden, WriteStep::PlaceLog, &[]);
    let note: Value = serde_json::from_slice(&fs::read(garden.path(".shed.yaml.pending")).unwrap()).unwrap();
    let keys = ["entry", "before", "after", "lines"];
    let old: serde_json::Map<_, _> = keys.into_iter().map(|key| (key.to_owned(), note[key].clone())).collect();
    garden.put(".shed.yaml.pending", Value::from(old).to_string().as_bytes());
    assert_eq!(garden.mixed(&[]).1["outcome"], "already");
    assert_eq!(garden.entries(), [("first".to_owned(), None)]);
    garden.assert_accounted();
}

#[test]
fn a_note_of_an_interrupted_run_and_an_edited_file_wait_for_a_person() {
    let garden = Garden::of(STOCK.as_bytes());
    crash(&garden, WriteStep::PlaceLog, &[]);
    let edited = garden.stock_text().replace("27.5 L", "20 L");
    garden.put("shed.yaml", edited.as_bytes());
    let (code, _, err) = garden.mixed(&[]);
    assert_eq!(code, 2);
    assert!(err.contains("was interrupted") && err.contains(".shed.yaml.pending"), "{err}");
    assert_eq!(garden.stock_text(), edited);
    fs::remove_file(garden.path(".shed.yaml.pending")).unwrap();
    assert_eq!(garden.mixed(&[]).0, 0);
}

// The program itself.

fn program(garden: &Garden, week: &str, more: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_trayful"));
    command.arg("mixed").arg(garden.path(week)).args(more).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

#[test]
fn runs_at_once_take_each_week_once() {
    let stock = STOCK.replace("2 x bale + 3 L", "900 L").replace("40 L ", "900 L ").replace("500 g", "9 kg");
    let garden = Garden::of(stock.as_bytes());
    for number in 0..4 {
        garden.put(&format!("w{number}.yaml"), week_text(&format!("week {number}"), "").as_bytes());
    }
    // Every week twice, all at once.
    let runs: Vec<_> =
        (0..8).map(|run| program(&garden, &format!("w{}.yaml", run % 4), &[]).spawn().unwrap()).collect();
    let mut codes: Vec<_> = runs.into_iter().map(|mut run| run.wait().unwrap().code().unwrap()).collect();
    codes.sort_unstable();
    assert_eq!(codes, [0, 0, 0, 0, 1, 1, 1, 1]);
    assert_eq!(garden.log().lines().count(), 1 + 4 * 3);
    assert_eq!(garden.logged()["peat"], 150.0);
    assert!(garden.stock_text().contains("peat: 750 L") && garden.stock_text().contains("perlite: 850 L"));
    // The same week on purpose, at once.
    let runs: Vec<_> = (0..4).map(|_| program(&garden, "w0.yaml", &["--again"]).spawn().unwrap()).collect();
    assert!(runs.into_iter().all(|mut run| run.wait().unwrap().success()));
    assert_eq!(garden.logged()["peat"], 300.0);
    assert!(garden.stock_text().contains("peat: 600 L"));
}

#[cfg(unix)]
#[test]
fn runs_killed_at_any_moment_leave_an_account_that_holds() {
    let stock = STOCK.replace("2 x bale + 3 L", "9000 L").replace("40 L ", "9000 L ").replace("500 g", "90 kg");
    let garden = Garden::of(stock.as_bytes());
    for delay in 0..40 {
        let mut run = program(&garden, "week.yaml", &["--again"]).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_micros(delay * 1500));
        let _ = run.kill();
        run.wait().unwrap();
    }
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    let entries = (garden.log().lines().count() - 1) / 3;
    let taken = garden.logged()["peat"];
    assert_eq!(taken, 37.5 * entries as f64);
    assert!(garden.stock_text().contains(&format!("peat: {} L", 9000.0 - taken)), "{}", garden.stock_text());
}

#[cfg(unix)]
#[test]
fn a_limit_on_file_size_stops_the_program_cleanly() {
    // `ulimit -f` makes real writes fail, as a full disk does; the signal is ignored so
    // that the program sees the failure.
    for blocks in [0, 1] {
        let garden = Garden::of(format!("{STOCK}# {}\n", "a long remark ".repeat(100)).as_bytes());
        let before = garden.stock();
        let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" mixed \"$1\"");
        let done = Command::new("sh")
            .args(["-c", &script, env!("CARGO_BIN_EXE_trayful")])
            .arg(garden.path("week.yaml"))
            .output()
            .unwrap();
        assert_eq!(done.status.code(), Some(2), "{}", String::from_utf8_lossy(&done.stderr));
        assert!(String::from_utf8_lossy(&done.stderr).contains("nothing was taken"));
        assert_eq!((garden.stock(), garden.log().as_str()), (before, ""));
        assert!(garden.leftovers().is_empty(), "{:?}", garden.leftovers());
        assert_eq!(garden.mixed(&[]).0, 0);
    }
}

#[cfg(unix)]
#[test]
fn links_and_permissions_are_kept() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let garden = Garden::of(STOCK.as_bytes());
    fs::rename(garden.path("shed.yaml"), garden.path("real.yaml")).unwrap();
    symlink("real.yaml", garden.path("shed.yaml")).unwrap();
    fs::set_permissions(garden.path("real.yaml"), fs::Permissions::from_mode(0o640)).unwrap();
    assert_eq!(garden.mixed(&[]).0, 0);
    assert!(fs::symlink_metadata(garden.path("shed.yaml")).unwrap().is_symlink());
    assert!(garden.stock_text().contains("27.5 L") && garden.path("real.log.csv").exists());
    assert_eq!(fs::metadata(garden.path("real.yaml")).unwrap().permissions().mode() & 0o777, 0o640);
    fs::set_permissions(garden.path("real.yaml"), fs::Permissions::from_mode(0o440)).unwrap();
    let (code, _, err) = garden.mixed(&["--undo"]);
    assert_eq!(code, 2);
    assert!(err.contains("read-only"), "{err}");
}

/// The program as another user would run it.
#[cfg(unix)]
#[test]
fn another_user_is_let_in_or_told_why_not() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    let garden = Garden::of(STOCK.as_bytes());
    if fs::metadata(garden.0.path()).unwrap().uid() != 0 {
        writeln!(io::stderr(), "SKIPPED: only root can run the program as another user").unwrap();
        return;
    }
    let mode = |name: &str, mode| fs::set_permissions(garden.path(name), fs::Permissions::from_mode(mode)).unwrap();
    let other = || program(&garden, "week.yaml", &[]).uid(65534).gid(65534).stderr(Stdio::piped()).output();
    let refused = |why: &str| {
        let done = other().unwrap();
        let err = String::from_utf8(done.stderr).unwrap();
        assert!(done.status.code() == Some(2) && err.contains(why) && err.contains("Permission denied"), "{err}");
        assert_eq!((garden.stock_text().as_str(), garden.log().as_str()), (STOCK, ""));
    };
    // May read all, and write nothing.
    mode("", 0o755);
    if let Err(error) = other() {
        writeln!(io::stderr(), "SKIPPED: another user cannot start the program: {error}").unwrap();
        return;
    }
    refused(".shed.yaml.lock` keeps two runs apart");
    garden.put(".shed.yaml.lock", b"");
    mode(".shed.yaml.lock", 0o644);
    refused("was not written, and nothing was taken");
    // May write to the folder, but not read the lock.
    mode("", 0o777);
    mode(".shed.yaml.lock", 0o600);
    refused(".shed.yaml.lock` keeps two runs apart");
    // Reading it is enough.
    mode(".shed.yaml.lock", 0o644);
    let done = other().unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    garden.assert_accounted();
}

// Many broken runs, against what a person means by them.

/// Numbers that look random and are the same every time (Knuth's MMIX generator).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % bound
    }
}

/// What is true of the shed: what was taken of it, and how often its owner wrote in it.
#[derive(Clone, Debug, Default, PartialEq)]
struct Shed {
    /// Of each entry that took something: its week, whether that was taken back, and the stock
    /// file after it.
    taken: Vec<(usize, bool, String)>,
    /// How the log should read: the week of each entry, and which one it undoes.
    log: Vec<(String, Option<u64>)>,
    edits: usize,
}

const WEEKS: [&str; 3] = ["w0", "w1", "w2"];

/// What may be asked, and how the note names it.
const REQUESTED: [(&str, &[&str]); 4] =
    [("Take", &[]), ("Again", &["--again"]), ("Undo", &["--undo"]), ("UndoByHand", &["--undo", "--by-hand"])];

impl Shed {
    /// The stock file, with so many weeks taken out of it.
    fn text(&self) -> String {
        let weeks = self.taken.iter().filter(|(_, undone, _)| !undone).count() as f64;
        format!(
            "stock: shed\non_hand:\n  perlite: {} L\n  peat: {} L\n  lime: {} g\n# edited {} times\n",
            9000.0 - 12.5 * weeks,
            9000.0 - 37.5 * weeks,
            90000.0 - 75.0 * weeks,
            self.edits
        )
    }

    /// The last entry that was not taken back.
    fn last(&self) -> Option<usize> {
        self.taken.iter().rposition(|(_, undone, _)| !undone)
    }

    /// The code of a request for a week, and the shed after it.
    fn asked(&self, week: usize, request: &[&str], now: &str) -> (u8, Self) {
        let mut shed = self.clone();
        if let ["--undo", by_hand @ ..] = request {
            let last = self.last().filter(|last| self.taken[*last].0 == week);
            // The program undoes what nobody has edited since, a person the rest.
            let Some(last) = last.filter(|last| (self.taken[*last].2 == now) == by_hand.is_empty()) else {
                return (2, shed);
            };
            shed.taken[last].1 = true;
            // Entries are numbered as they stand in the log.
            let taking: Vec<usize> = (0..self.log.len()).filter(|at| self.log[*at].1.is_none()).collect();
            shed.log.push((WEEKS[week].to_owned(), Some(taking[last] as u64 + 1)));
        } else if request.is_empty() && self.taken.iter().any(|(known, undone, _)| *known == week && !undone) {
            return (1, shed);
        } else {
            shed.taken.push((week, false, String::new()));
            shed.log.push((WEEKS[week].to_owned(), None));
            let after = shed.text();
            shed.taken.last_mut().unwrap().2 = after;
        }
        (0, shed)
    }
}

/// Up to two runs that fail or die on the way; what one of them told, though it may have died
/// then.
fn broken_runs(garden: &Garden, numbers: &mut Numbers, file: &str, request: &[&str]) -> Option<(u8, Value, String)> {
    (0..numbers.below(3)).find_map(|_| {
        let step = STEPS[numbers.below(STEPS.len())];
        let how = [Stop::Fails, Stop::Dies][numbers.below(2)];
        if numbers.below(4) == 0 {
            assert_ne!(garden.run(file, request, &mut Full).0, 0);
            return None;
        }
        // Where the note could not be removed the user is told to run it again.
        let ran = garden.stopped(file, request, Some((step, how)));
        Some(ran).filter(|(code, report, _)| !report.is_null() && *code != 2)
    })
}

/// What the note in the shed says of what was done: the week and the request of each.
fn untold(garden: &Garden, shed: &Shed) -> Vec<(usize, &'static [&'static str])> {
    let Ok(note) = fs::read(garden.path(".shed.yaml.pending")) else { return Vec::new() };
    let note: Value = serde_json::from_slice(&note).unwrap();
    let of = |said: &Value| {
        let request: Value = serde_json::from_str(said["request"].as_str()?).ok()?;
        let request = REQUESTED.into_iter().find(|(act, _)| request[0] == *act).unwrap().1;
        // One that was not done has a number beyond the log's.
        let (week, _) = shed.log.get((said["entry"].as_u64()? as usize).checked_sub(1)?)?;
        Some((WEEKS.iter().position(|known| known == week).unwrap(), request))
    };
    let own = of(&note);
    let earlier = note["untold"].as_array().unwrap().iter().filter_map(of);
    earlier.filter(|(week, _)| own.is_none_or(|(own, _)| own != *week)).chain(own).collect()
}

/// One person's dealings with the shed: takes, takes again, undoes, edits; runs fail or die on
/// the way and are repeated until they tell what they did, or given up.
fn deal(seed: u64) {
    let mut numbers = Numbers(seed);
    let mut shed = Shed::default();
    let garden = Garden::of(shed.text().as_bytes());
    for week in WEEKS {
        garden.put(&format!("{week}.yaml"), week_text(week, "").as_bytes());
    }
    // What was done and not told.
    let mut open: Vec<(usize, &[&str])> = Vec::new();
    // A note of what is not yet finished, which a person may not edit away.
    let unfinished = || {
        let note = fs::read(garden.path(".shed.yaml.pending")).ok();
        note.is_some_and(|note| serde_json::from_slice::<Value>(&note).unwrap()["entry"] != 0)
    };
    for turn in 0..12 {
        let week = numbers.below(WEEKS.len());
        let request = [0, 0, 1, 2, 2, 3].map(|at| REQUESTED[at].1)[numbers.below(6)];
        let by_hand = request.len() == 2;
        let is_open = open.contains(&(week, request));
        if by_hand && unfinished() && !is_open {
            continue;
        }
        // Whoever does it by hand puts the amounts back first.
        let put_back = shed.last().filter(|last| by_hand && shed.taken[*last].0 == week && !is_open);
        if !unfinished() && (put_back.is_some() || numbers.below(8) == 0) {
            shed.edits += 1;
            let mut edited = shed.clone();
            put_back.into_iter().for_each(|last| edited.taken[last].1 = true);
            garden.put("shed.yaml", edited.text().as_bytes());
        }
        let file = format!("{}.yaml", WEEKS[week]);
        let now = garden.stock_text();
        let at = format!("seed {seed}, turn {turn}: {week} {request:?}");
        let (mut code, mut after) = shed.asked(week, request, &now);
        if is_open {
            (code, after) = (0, shed.clone());
        }
        let told = broken_runs(&garden, &mut numbers, &file, request);
        let gives_up = told.is_none() && !by_hand && numbers.below(4) == 0;
        let settled = if gives_up {
            // It was done or not, as the stock file says.
            after != shed && garden.stock_text() == after.text()
        } else {
            let (found, _, err) = told.unwrap_or_else(|| garden.stopped(&file, request, None));
            let found = if found == DIED { code } else { found };
            assert_eq!((found, garden.entries()), (code, after.log.clone()), "{at}: {err}");
            code != 2
        };
        if settled {
            open.retain(|(known, _)| *known != week);
        }
        if settled && gives_up {
            open.push((week, request));
        }
        if settled || !gives_up {
            shed = after;
        }
        assert_eq!(garden.stock_text(), shed.text(), "{at}");
        let noted = untold(&garden, &shed);
        assert!(open.iter().all(|known| noted.contains(known)), "{at}: {open:?} is not in {noted:?}");
        // Whoever was told, but whose note could not be removed, is told once more.
        assert!(noted.iter().all(|(known, _)| *known == week || open.iter().any(|(open, _)| open == known)), "{at}");
        open = noted;
    }
}

#[test]
fn broken_runs_count_no_week_twice_and_lose_none() {
    (0..40).for_each(deal);
}
