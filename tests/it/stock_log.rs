//! Taking a week out of its stock file: nothing lost, nothing twice, and back again.

use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use trayful::cli::{Surroundings, run};
use trayful::diagnostic::Problems;
use trayful::plan;
use trayful::source::Disk;
use trayful::stock::{Ledger, LedgerFault, LogEntry, LogRow, WriteStep, read, rewrite};
use trayful::units::Quantity;
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
        let week = self.path("week.yaml");
        let arguments = ["trayful", "mixed", week.to_str().unwrap(), "--format", "json"];
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let all = arguments.iter().chain(more).map(Into::into);
        let code = run(all, Surroundings::default(), &mut out, &mut err);
        (code, serde_json::from_slice(&out).unwrap_or(Value::Null), String::from_utf8(err).unwrap())
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
    assert_eq!(garden.mixed(&["--again"]).0, 0);
    garden.assert_accounted();
    // Another week is another matter.
    garden.put("week.yaml", week_text("second", "").as_bytes());
    let (code, found, _) = garden.mixed(&[]);
    assert_eq!((code, &found["outcome"]), (1, &"short".into()));
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

/// 37.5 L of peat are 39.63 US quarts of 0.946352946 L.
#[test]
fn what_was_taken_is_shown_in_the_wanted_units() {
    for (units, shown) in [("metric", "37.5 L"), ("us", "39.63 US qt")] {
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
    let (mut rounded, mut more_than_share) = (0, 0);
    for vessels in
        ["", "scoop: 3 L\n", "tub: 25 L\nscoop: 2 L\n", "tub: 31 L\nscoop: 1.7 L\n", "tub: 60 L\nscoop: 5 L\n"]
    {
        let garden = Garden::of(STOCK.as_bytes());
        scooped(&garden, vessels);
        let loaded = week::load(&garden.path("week.yaml"), &Disk::default(), &[]).unwrap();
        let plan = plan::plan(&loaded).unwrap();
        assert_eq!(plan.mixes.batches.len(), 2);
        rounded += usize::from(plan.mixes.extras().iter().any(|more| more.purpose == trayful::stock::UsedFor::Scoops));
        let mut in_loads: BTreeMap<String, f64> = BTreeMap::new();
        let bases = plan.mixes.mixing.bases.iter().map(|base| &base.loads);
        for loads in bases.chain(plan.mixes.mixing.batches.iter().filter_map(|batch| batch.loads.as_ref())) {
            for dose in &loads.load.doses {
                let each = dose.amount.size();
                *in_loads.entry(dose.ingredient.name.clone()).or_default() += each * loads.count as f64;
            }
        }
        assert_eq!(in_loads.len(), 3, "{in_loads:?}");
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
            let Some(loads) = in_loads.get(ingredient) else { continue };
            // Scoops may come to less of a part than its share, and of its dose with it:
            // the share is bought then.
            let (_, dose) = plan.mixes.totals.doses.iter().find(|(id, _)| id.name == *ingredient).unwrap();
            let share = dose.size();
            assert!(near(loads.max(share)), "{vessels}{ingredient}: {loads} and {share} are not {need}");
            more_than_share += usize::from(*loads > share + 0.1);
        }
    }
    assert!(rounded >= 3 && more_than_share >= 3, "{rounded} {more_than_share}");
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
    let garden = Garden::of(STOCK.replace("lime: 500 g", "lime: 3 L").as_bytes());
    let (code, found, _) = garden.mixed(&["--bought", "planned"]);
    assert_eq!((code, &found["outcome"]), (1, &"short".into()));
    let notes = found["notes"].to_string();
    assert!(found["says"].as_str().unwrap().contains("even with all the packages"), "{found}");
    assert!(notes.contains("lime is needed by weight") && notes.contains("dry_density: ... g/L"), "{notes}");
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

// Crashes: a process of its own that ends itself, without any clean-up, at a step.

/// What `mixed` does, with a hook before every step of writing.
fn take(folder: &Path, undo: bool, hook: &mut dyn FnMut(WriteStep) -> io::Result<()>) -> Result<(), LedgerFault> {
    let mut loaded = week::load(&folder.join("week.yaml"), &Disk::default(), &[]).unwrap();
    let plan = plan::plan(&loaded).unwrap();
    let (mut ledger, _) = Ledger::open(&folder.join("shed.yaml"), hook)?;
    if undo {
        return ledger.undo("2027-03-06 12:00".to_owned(), hook).map(|_| ());
    }
    let source = Arc::clone(&ledger.original.source);
    let problems = Problems::new(Arc::clone(&source));
    let stock = read(&source, &mut loaded.catalogue, &problems).unwrap();
    let mut shed = stock.on_hand.shed.clone();
    let taken = shed.take(&plan::uses(&plan.mixes)).unwrap();
    let rows = taken.iter().map(|taken| LogRow {
        what: "mixed".to_owned(),
        batch: taken.used.purpose.as_str().to_owned(),
        ingredient: taken.used.ingredient.name.clone(),
        litres: taken.used.amount.litres(),
        grams: taken.used.amount.grams(),
        package: String::new(),
        left: taken.left.clone(),
    });
    let rows = rows.collect();
    let new_stock = rewrite(&ledger.original, &stock, &shed, &loaded.catalogue).unwrap();
    let entry = LogEntry {
        date: "2027-03-06 11:00".to_owned(),
        week: "first".to_owned(),
        mix_on: "2027-03-06 10:00".to_owned(),
        rows,
        restore: new_stock.back,
        ..LogEntry::default()
    };
    ledger.enter(entry, &new_stock.bytes, hook).map(|_| ())
}

/// Not a test of its own: the process that the crash tests start and that dies.
#[test]
fn crashing_child() {
    let Ok(at) = std::env::var("TRAYFUL_TEST_CRASH") else { return };
    let (step, folder) = at.split_once(':').unwrap();
    let (undo, step) = step.strip_prefix('u').map_or((false, step), |step| (true, step));
    let step = STEPS[step.parse::<usize>().unwrap()];
    let done = take(Path::new(folder), undo, &mut |now| if now == step { std::process::abort() } else { Ok(()) });
    panic!("the step was not reached: {done:?}");
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

fn crash(garden: &Garden, step: WriteStep, undo: bool) {
    let step = STEPS.iter().position(|known| *known == step).unwrap();
    let at = format!("{}{step}:{}", if undo { "u" } else { "" }, garden.0.path().display());
    let status = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "stock_log::crashing_child", "--nocapture"])
        .env("TRAYFUL_TEST_CRASH", at)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    // Aborted, not failed: the panic above would end with 101.
    assert!(status.code() != Some(0) && status.code() != Some(101), "{status}");
}

#[test]
fn a_crash_at_any_step_loses_nothing_and_counts_nothing_twice() {
    let whole = Garden::of(STOCK.as_bytes());
    assert_eq!(whole.mixed(&[]).0, 0);
    for step in STEPS {
        let garden = Garden::of(STOCK.as_bytes());
        crash(&garden, step, false);
        // A person starts the same run again.
        let (code, found, err) = garden.mixed(&[]);
        let expected = match step {
            WriteStep::PlaceLog => (0, "finished"),
            WriteStep::RemovePending | WriteStep::Done => (1, "already"),
            _ => (0, "entered"),
        };
        assert_eq!((code, found["outcome"].as_str().unwrap_or(&err)), expected, "{step:?}");
        assert_eq!(garden.stock(), whole.stock(), "{step:?}");
        assert_eq!(garden.log().lines().count(), 4, "{step:?}\n{}", garden.log());
        garden.assert_accounted();
        assert_eq!(garden.leftovers().iter().filter(|name| name.ends_with("pending")).count(), 0);
        // And it can be undone.
        assert_eq!(garden.mixed(&["--undo"]).0, 0);
        assert_eq!(garden.stock_text(), STOCK);
    }
}

#[test]
fn a_crash_while_undoing_is_made_good() {
    for step in STEPS {
        let garden = Garden::of(STOCK.as_bytes());
        assert_eq!(garden.mixed(&[]).0, 0);
        crash(&garden, step, true);
        let (code, ..) = garden.mixed(&["--undo"]);
        // Past the log everything was done; there is nothing left to undo.
        assert_eq!(code, if matches!(step, WriteStep::RemovePending | WriteStep::Done) { 2 } else { 0 }, "{step:?}");
        assert_eq!(garden.stock_text(), STOCK, "{step:?}");
        assert!(garden.logged().values().all(|sum| sum.abs() < 1e-9));
        assert_eq!(garden.log().lines().count(), 7);
    }
}

#[test]
fn a_crash_while_making_good_is_made_good() {
    for second in [WriteStep::WriteLog, WriteStep::PlaceLog, WriteStep::RemovePending] {
        let garden = Garden::of(STOCK.as_bytes());
        crash(&garden, WriteStep::PlaceLog, false);
        crash(&garden, second, false);
        let code = garden.mixed(&[]).0;
        assert_eq!(code, u8::from(second == WriteStep::RemovePending));
        assert_eq!(garden.log().lines().count(), 4, "{second:?}");
        garden.assert_accounted();
    }
}

#[test]
fn a_write_that_fails_leaves_everything_as_it_was() {
    for failing in STEPS {
        let garden = Garden::of(STOCK.as_bytes());
        let full =
            |now: WriteStep| if now == failing { Err(io::Error::from(io::ErrorKind::StorageFull)) } else { Ok(()) };
        let done = take(garden.0.path(), false, &mut { full });
        match (failing, done) {
            (WriteStep::RemovePending | WriteStep::Done, Ok(())) => {}
            (WriteStep::PlaceLog, Err(LedgerFault::Halfway { .. })) => assert_ne!(garden.stock_text(), STOCK),
            (_, Err(LedgerFault::Untouched { .. })) => {
                assert_eq!((garden.stock_text().as_str(), garden.log().as_str()), (STOCK, ""));
                assert!(garden.leftovers().is_empty(), "{failing:?}: {:?}", garden.leftovers());
            }
            (step, done) => panic!("{step:?}: {done:?}"),
        }
        // The next run has room again.
        garden.mixed(&[]);
        assert_eq!(garden.log().lines().count(), 4, "{failing:?}");
        garden.assert_accounted();
    }
}

#[test]
fn a_note_of_an_interrupted_run_and_an_edited_file_wait_for_a_person() {
    let garden = Garden::of(STOCK.as_bytes());
    crash(&garden, WriteStep::PlaceLog, false);
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
