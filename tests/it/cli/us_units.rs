//! `--units us`: nothing metric on the screen, and nothing else in JSON and CSV.

use crate::support::{project, root, run};
use std::path::PathBuf;

/// Labels of packages that ship, and what is no measure of the bench: a target of chemistry, a form of
/// input that has no US unit.
const AS_WRITTEN: [&str; 14] = [
    "5 kg block",
    "650 g brick",
    "40 L bag",
    "100 L bag",
    "10 L bag",
    "10 L bucket",
    "25 L sack",
    "50 L bag",
    "2 kg bag",
    "500 g tub",
    "100 g tub",
    "g/mol",
    "g/mL",
    "mg/L",
];

const UNITS: [&str; 17] = [
    "mL",
    "L",
    "mm",
    "cm",
    "g",
    "kg",
    "C",
    "litre",
    "litres",
    "grams",
    "gram",
    "g/L",
    "mL/L",
    "kg/kg",
    "ml",
    "cm3",
    "millilitres",
];

/// The metric words of a text; lines are joined, so that a number and its unit are never apart.
fn metric(text: &str) -> Vec<String> {
    let joined = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = AS_WRITTEN.iter().fold(joined, |text, label| text.replace(label, "..."));
    let words: Vec<&str> = plain.split(|c: char| !(c.is_alphanumeric() || "./-".contains(c))).collect();
    let is_metric = |word: &str| {
        let bare = word.trim_matches(|c: char| c == '.' || c == '-').trim_start_matches(|c: char| c.is_ascii_digit());
        UNITS.contains(&bare)
    };
    // `L. angustifolia` is a plant.
    let begins = |at: usize, of: fn(char) -> bool| words.get(at).is_some_and(|word: &&str| word.starts_with(of));
    let is_genus = |at: usize| {
        let numbered = at > 0 && begins(at - 1, |c| c.is_ascii_digit());
        ["L.", "C."].contains(&words[at]) && begins(at + 1, char::is_lowercase) && !numbered
    };
    let found = words.iter().enumerate().filter(|(at, word)| is_metric(word) && !is_genus(*at));
    found.map(|(at, _)| words[at.saturating_sub(4)..words.len().min(at + 4)].join(" ")).collect()
}

/// Every file of a folder of recipes.
fn files(folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(root().join("recipes").join(folder)).unwrap().map(|file| file.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|extension| extension == "yaml"));
    files.sort();
    files
}

fn shipped() -> Vec<Vec<String>> {
    let words = |line: &str| line.split('|').map(str::to_owned).collect::<Vec<_>>();
    let mut commands: Vec<Vec<String>> = [
        "scale|everyday|--tray|9 cm pot=4|--tray|72-cell=1",
        "scale|everyday|--make|1 L|--use|peat",
        "scale|soil blocks|--tray|5 cm block=50",
        "scale|loam potting|--make|500 L",
        "scale|rich|--make|20 L|--crop|tomato",
        "scale|fine seed|--tray|200-cell=1|--crop|begonia",
        "fill|everyday|--tray|9 cm pot|--have|peat=40 L",
        "feed|--analysis|3-1-2|--ppm|60|--water|9 L|--density|1.2 g/mL",
        "feed|--analysis|3-1-2|--rate|1 tbsp/US gal|--by-volume",
        "feed|--analysis|20-20-20|--ppm|60|--water|9 L|--injector|1:100|--with|fish: 5-1-1, 1 kg for 9, 1.1 g/mL",
        "soak|--product|5 kg block|--count|3|--sold-as|none|--tub|60 L",
        "soak|--dry|1 kg|--sold-as|washed|--compare",
        "soak|--loose|70 L|--sold-as|buffered",
        "list",
        "show|9 cm pot",
    ]
    .map(words)
    .to_vec();
    for (folder, command) in [("weeks", "plan"), ("weeks", "fill"), ("weeks", "feed"), ("soaks", "soak")] {
        commands.extend(files(folder).iter().map(|file| vec![command.to_owned(), file.to_str().unwrap().to_owned()]));
    }
    let feed = words("--analysis|3-1-2|--ppm|60");
    commands
        .iter_mut()
        .filter(|command| command[0] == "feed" && command.len() == 2)
        .for_each(|command| command.extend(feed.clone()));
    commands.iter_mut().filter(|command| command[0] == "plan").for_each(|command| command.push("--explain".to_owned()));
    let catalogue = run(["list", "--format", "json"]).result();
    let catalogue: serde_json::Value = serde_json::from_str(&catalogue).unwrap();
    for kind in catalogue.as_array().unwrap() {
        let (key, entries) = (kind["kind"].as_str().unwrap(), kind["entries"].as_array().unwrap());
        let key = key.strip_suffix('s').unwrap_or(key);
        let names = entries.iter().map(|entry| entry[key].as_str().unwrap().to_owned());
        // Crops are alike: those whose remarks have figures, and every tenth.
        let names = names.enumerate().filter(|(at, _)| key != "crop" || at % 10 == 0).map(|(_, name)| name);
        commands.extend(names.map(|name| vec!["show".to_owned(), name]));
    }
    commands.extend(["lettuce", "asparagus", "runner bean"].map(|crop| vec!["show".to_owned(), crop.to_owned()]));
    commands
}

/// The text without what scoops are called: after `scoop of`, and after the number in a row of a load.
fn without_scoops(text: &str) -> String {
    const NAMES: [&str; 3] = ["2 L", "1 L", "1/2 L"];
    let bare = text.split_inclusive('\n').map(|line| {
        let row = line.split("  ").map(|cell| {
            let (count, name) = cell.split_once(" of ").unwrap_or((cell, ""));
            let is_count = count.trim_start().starts_with(|c: char| c.is_ascii_digit());
            if is_count && NAMES.contains(&name) { count } else { cell }
        });
        row.collect::<Vec<_>>().join("  ")
    });
    NAMES.iter().fold(bare.collect::<String>(), |all, name| {
        ["scoop of ", "scoops of ", "scoops of\n  ", "scoops\n  of "]
            .iter()
            .fold(all, |all, before| all.replace(&format!("{before}{name}"), "scoop"))
    })
}

/// NIST Handbook 44, Appendix C, names what is customary; none of what ships shows anything else.
#[test]
fn nothing_metric_is_shown() {
    let mut found = Vec::new();
    for command in shipped() {
        let output = run(command.iter().chain(&["--units".to_owned(), "us".to_owned()])).done();
        assert!(output.status < 2, "{command:?}: {}", output.stderr);
        let wide = output.stdout.lines().find(|line| line.chars().count() > 80);
        assert_eq!(wide, None, "{command:?}");
        // A scoop keeps its owner's name for it, and a finer one is of its kind.
        let words = without_scoops(&output.stdout);
        found.extend(metric(&words).into_iter().map(|words| (command.join(" "), words)));
    }
    assert!(found.is_empty(), "{found:#?}");
}

/// Scripts and spreadsheets read one system.
#[test]
fn json_and_csv_stay_metric() {
    let week = root().join("recipes/weeks/plant-sale-1.yaml");
    let lab = root().join("recipes/soaks/lab-report.yaml");
    let (week, lab) = (week.to_str().unwrap(), lab.to_str().unwrap());
    for command in [
        &["plan", week][..],
        &["fill", week],
        &["soak", lab, "--compare"],
        &["feed", "--analysis", "3-1-2", "--rate", "1 tbsp/gal", "--by-volume"],
        &["show", "9 cm pot"],
        &["list"],
    ] {
        for format in ["json", "csv"] {
            let of = |units| run([command, &["--format", format, "--units", units]].concat()).done().stdout;
            assert_eq!(of("us"), of("metric"), "{command:?}");
        }
    }
}

/// A week with nearly all there is to remark on.
#[test]
fn remarks_are_in_us_units_too() {
    let week = "week: odd\nrecipe: own\nmix_on: 2027-03-06 10:00\nsowings:\n  - {crop: kale, trays: 9, tray: 72-cell}\n  \
                - {crop: tomato, trays: 2, tray: odd}\n  - {crop: begonia, trays: 2, tray: 288-cell}\n  \
                - {crop: leek, trays: 1, tray: 5 cm block}\n  - {crop: pepper, potted: 300, tray: 9 cm pot, from: 72-cell}\n\
                trays: {odd: {cells: 72, rows: 12, cell: 300 mL}, 72-cell: {cell: 250 mL}}\nscoop: 3 pt\nstock: s.yaml\n";
    let own = "recipe: own\nparts: {coir: 3, perlite: 1, castings: 2, lime: 0.5}\n\
               doses: {inoculant: 1 tbsp/gal, superphosphate: 20 lb/cu yd, chalk: 12 g/L}\n\
               changes: [{for: {seed: [dust, fine]}, top: {sieve: 3 mm, depth: 90 mm}}, {for: {cell: under 15 mL}, \
               sieve: 7 mm}, {for: leek, drop: [inoculant]}]\n";
    let stock = "stock: s\non_hand: {perlite: 3 pt}\npackages: {perlite: [{label: 4 cu ft bag, gives: 10 L, price: 10}], \
                 inoculant: [{label: tub, gives: 500 g, price: 3}], castings: [{label: sack, compressed: 20 L}]}\n";
    for more in ["", "tub: 3 cu ft\n", "soak: {sold_as: washed, coir: {product: 650 g brick}, tub: 4 gal}\n"] {
        let sheet = run(["plan", "week.yaml", "--explain", "--units", "us", "--format", "markdown"])
            .file("week.yaml", format!("{week}{more}"))
            .file("own.yaml", own)
            .file("s.yaml", stock)
            .result();
        assert_eq!(metric(&sheet), [""; 0], "{sheet}");
        for words in ["to the cubic yard", "oz/cup", "loose cubic feet", "outside the usual 0.74 to 8.45 US qt"] {
            assert!(sheet.contains(words), "{words}: {sheet}");
        }
    }
}

/// The scan itself finds what it looks for.
#[test]
fn the_scan_finds_metric_words() {
    for text in
        ["about 50 mL each", "6 mm", "(23 kg)", "at 25 C.", "10-16 C", "5\nL", "litres", "12L", "2 g/L", "at 25 C. is"]
    {
        assert_eq!(metric(text).len(), 1, "{text}");
    }
    for text in ["256 mg/L", "a 5 kg block", "2 lb", "25 F", "0.8 mS/cm", "C3", "4.3 US gal", "also L. angustifolia"] {
        assert_eq!(metric(text), [""; 0], "{text}");
    }
}

/// The user's own words stay as written: names of trays, recipes and packages.
#[test]
fn the_users_own_words_stay_as_written() {
    let week = "week: 5 L of it\nsowings: [{crop: kale, trays: 1, tray: my 55 mL tray}]\nrecipe: own 3 L\nstock: s.yaml\n\
                trays: {my 55 mL tray: {cells: 60, rows: 10, cell: 55 mL}}\n";
    let sheet = run(["plan", "week.yaml", "--units", "us"])
        .file("week.yaml", week)
        .file("own 3 L.yaml", "recipe: own 3 L\nparts: {peat: 3, perlite: 1}\n")
        .file("s.yaml", "stock: s\npackages: {peat: [{label: 7 L sack, gives: 7 L, price: 1}]}\n")
        .result();
    for words in ["5 L of it", "Batch 1, own 3 L", "my 55 mL tray", "x 7 L sack"] {
        assert!(sheet.contains(words), "{words}: {sheet}");
    }
}

/// What the screen calls a tray of the table can be written.
#[test]
fn names_in_inches_are_names() {
    let listed = run(["list", "trays", "--units", "us", "--format", "markdown"]).result();
    let names = listed.lines().filter_map(|line| line.strip_prefix("| ")?.split(" |").next());
    let pots: Vec<&str> = names.filter(|name| name.contains(" in ")).collect();
    assert_eq!(pots.len(), 14, "{listed}");
    for pot in pots {
        assert_eq!(run(["show", pot, "--units", "us"]).done().status, 0, "{pot}");
    }
    let json = |units: &str| {
        run(["scale", "everyday", "--tray", "3.5 in pot=4", "--format", "json", "--units", units]).result()
    };
    assert_eq!(json("us"), json("metric"));
    assert!(json("us").contains("9 cm pot"));
}

/// By definition: 4 quarts to a gallon, 2 pints to a quart, 7.48 gallons to a cubic foot, 454 g to a pound.
/// The batch of begonias is sieved through 6 mm, 0.236 in.
#[test]
fn the_sheet_reads_in_us_measures() {
    let week = project("recipes/weeks/plant-sale-1.yaml") + "scoop: 2 pints\n";
    let shed = project("recipes/stock/club-shed.yaml");
    let sheet = run(["plan", "weeks/week.yaml", "--units", "us"])
        .file("weeks/week.yaml", week)
        .file("places/club.yaml", project("recipes/places/club.yaml"))
        .file("stock/club-shed.yaml", shed)
        .result();
    let joined = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "A bare `pt` was taken as the US liquid pint (28.875 cu in)",
        "scoop of 2 pints, struck off level",
        "sieved 1/4 in",
        "through a 1/4 in sieve",
        "with 3/8 in of it; sow on it",
        " 1/2 in covered",
        "past the 51 lb that NIOSH sets",
        "for a cubic foot of mix",
        " oz ",
        "`cell: {ten_weigh: ... oz}`",
    ] {
        assert!(joined.contains(words), "{words}: {sheet}");
    }
}

/// By hand: 3 g of nitrogen in 100 mL are 30 mg a mL, so 4 mL/L bring 120 ppm; 2 US gallons are 7.571 L,
/// which take 30.3 mL, 6.14 tsp. A rate by measure of what is counted by weight needs its density.
#[test]
fn a_labels_rate_is_told_by_what_it_brings() {
    let feed = |arguments: &str| run(arguments.split('|').collect::<Vec<_>>()).done();
    let told = feed("feed|--analysis|3-1-2|--rate|4 mL/L|--by-volume|--water|2 gal");
    for words in
        ["Feed at 4 mL/L: 120 ppm N", "Dissolve 30.3 mL (about 2 tbsp + 1/4 tsp) of 3-1-2 in 7.57 L", "A bare `gal`"]
    {
        assert!(told.stdout.contains(words), "{words}: {}", told.stdout);
    }
    // Of 40 mg P2O5 43.64 % are phosphorus, of 80 mg K2O 83.01 % potassium.
    let joined = told.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(joined.contains("17.5 phosphorus (40 as P2O5) and 66.4 potassium (80 as K2O)"), "{joined}");
    for (arguments, says) in [
        ("feed|--analysis|3-1-2|--rate|4 mL/L", "--density"),
        ("feed|--analysis|3-1-2|--rate|4 g/L|--by-volume", "by measure"),
        ("feed|--analysis|3-1-2|--rate|4 mL/L|--ppm|60|--water|9 L", "cannot be used with"),
        ("feed|--analysis|3-1-2|--rate|4 mL", "cannot be read"),
        ("feed|--analysis|3-1-2|--ppm|60|--injector|1:100", "--water"),
        ("feed|--analysis|3-1-2", "--rate"),
    ] {
        let output = feed(arguments);
        assert_eq!((output.status, output.stdout.as_str()), (2, ""), "{arguments}");
        assert!(output.stderr.contains(says), "{arguments}: {}", output.stderr);
    }
}

/// By hand: 100 ppm of 30 mg in a mL are 3.333 mL/L, 200 times that 666.7 mL in each litre of stock, not beside
/// it. Through an injector, too, the label's rate is what the plants get: 2 g/L of 20 % are 400 ppm, and 200
/// times that 400 g in a litre of stock.
#[test]
fn a_stock_is_made_up_to_its_volume() {
    let feed = |arguments: &str| {
        let output = run(arguments.split('|').collect::<Vec<_>>()).done();
        (output.status, (output.stdout + &output.stderr).split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let hardly = "is more than many dry fertilisers dissolve: see the label";
    let liquid = "feed|--analysis|3-1-2|--by-volume|--water|10 L|--injector|1:";
    let (status, said) = feed(&format!("{liquid}200|--ppm|100"));
    let stock = "of 3-1-2 into some of the water and make up to 10 L; the injector thins this 200 times (1:200) to 2000 L of \
                 feed. In a can take 5 mL of this stock for each litre.";
    assert!(status == 0 && said.contains("Stir 6.67 L") && said.contains(stock), "{said}");
    assert!(!said.contains(hardly), "{said}");
    // 6.667 mL/L are thinned from the bottle 150 times.
    assert_eq!(feed(&format!("{liquid}150|--ppm|200")).0, 0);
    let (status, said) = feed(&format!("{liquid}200|--ppm|200"));
    assert!(status == 2 && said.contains("cannot be made") && said.contains("`--injector 1:150`"), "{said}");
    let dry = |injector| feed(&format!("feed|--analysis|20-20-20|--rate|2 g/L|--water|10 L|--injector|1:{injector}"));
    let (status, said) = dry(100);
    assert!(status == 0 && said.contains("Feed at 2 g/L: 400 ppm N") && said.contains("Stir 2000 g of"), "{said}");
    assert!(!said.contains(hardly), "{said}");
    let (status, said) = dry(200);
    assert!(status == 0 && said.contains(&format!("400 g/L of stock {hardly}")), "{said}");
}

/// By hand: 0.65 g of 0.9 g/mL is 0.7222 mL, 0.1465 of a teaspoon of 4.929 mL; 1.67 mL are 0.339, and
/// 0.62 mL 0.02096 of a fluid ounce of 29.574 mL.
#[test]
fn a_little_feed_is_not_told_as_much() {
    let told = |arguments: &str| run(arguments.split('|').collect::<Vec<_>>()).result();
    let powder = told("feed|--analysis|20-20-20|--ppm|130|--water|1 L|--density|0.9 g/mL");
    assert!(powder.contains("Dissolve 0.65 g (0.72 mL, about 0.15 tsp) of"), "{powder}");
    let liquid = told("feed|--analysis|3-1-2|--ppm|50|--water|1 L|--by-volume");
    assert!(liquid.contains("Dissolve 1.7 mL (about 0.34 tsp) of"), "{liquid}");
    let ounces = told("feed|--analysis|3-1-2|--ppm|18.6|--water|1 L|--by-volume|--units|us");
    assert!(ounces.contains("Dissolve 0.021 fl oz (about 1/8 tsp) of"), "{ounces}");
}

/// A finer scoop beside one of US measure is a quart, a pint or a cup on any sheet, and beside one in litres a part of
/// a litre.
#[test]
fn small_us_measures_are_named_and_dust_is_counted() {
    let week = "week: w\nrecipe: everyday\nuse: peat\ntub: 15 US gal\nscoop: 1 US gal\nsowings:\n  \
                - {crop: lettuce, trays: 1, tray: 72-cell}\n  - {crop: begonia, trays: 1, tray: 200-cell}\n  \
                - {crop: kale, trays: 1, tray: 128-cell}\n  - {crop: leek, trays: 1, tray: 72-cell}\n  - {crop: pea, trays: 1, tray: 72-cell}\n";
    let sheet = |units: &str| run(["plan", "week.yaml", "--units", units]).file("week.yaml", week).result();
    let (us, metric) = (sheet("us"), sheet("metric"));
    assert!(us.contains("4 of 1 pint") && !us.contains(" of 2 cups"), "{us}");
    assert!(metric.contains("4 of 1 pint") && metric.contains("scoop of 1 US gal, struck off level"), "{metric}");
    let litres = week.replace("1 US gal", "2 L");
    let litres = run(["plan", "week.yaml", "--units", "us"]).file("week.yaml", litres).result();
    assert!(litres.contains("scoop of 2 L, struck off level") && litres.contains(" of 1/2 L"), "{litres}");
    assert!(!litres.contains("2.11 ") && litres.contains(" US qt"), "{litres}");
    let flat = us.split_whitespace().collect::<Vec<_>>().join(" ");
    // Each has its weight beside its count, but for what no scale shows.
    assert!(flat.contains("begonia 1 x 200-cell 200 x 3 600 open") && flat.contains(" 72 0.63 3/4 in "), "{us}");
    // One unit for all that covers the seed.
    assert!(flat.contains("2 1/2 cups + 3 tbsp over the 72-cell and 3 cups + 2 tbsp over the 128-cell"), "{us}");
}

#[test]
fn much_feed_is_told_in_gallons() {
    let feed = |water: &str, units: &str| {
        let label = ["feed", "--analysis", "3-1-2", "--ppm", "250", "--by-volume"];
        run(label.into_iter().chain(["--water", water, "--units", units])).result()
    };
    // 250 ppm of 3 % by volume is 1 in 120.
    assert!(feed("200 US gal", "us").contains("Dissolve 1.67 US gal of 3-1-2 in 200 US gal"));
    assert!(feed("1200 L", "metric").contains("Dissolve 10 L of 3-1-2 in 1200 L"));
    assert!(feed("12 L", "metric").contains("Dissolve 100 mL (about 1/4 cup + 2 tbsp + 2 tsp) of 3-1-2"));
}

/// A scoop of a dry quart holds no whole spoons, but is of the US all the same; an imperial one is not.
#[test]
fn a_finer_scoop_is_of_the_kind_of_the_scoop_at_hand() {
    let of = |scoop: &str| {
        let week = format!(
            "week: w\nrecipe: everyday\nuse: peat\ntub: 60 L\nscoop: {scoop}\nsowings: [{{crop: kale, cells: 40, tray: 72-cell}}]\n"
        );
        let sheet = run(["plan", "week.yaml", "--units", "us", "--only", "bench"]).file("week.yaml", week).result();
        sheet.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let is_us = |sheet: &str| {
        ["1 quart", "1 pint", "1 cup"].map(|name| sheet.contains(&format!("; scoop of {name};"))).contains(&true)
    };
    for us in ["2 dry qt", "2 US qt", "4 dry pt", "1/16 cu ft"] {
        assert!(is_us(&of(us)), "{us}: {}", of(us));
    }
    for other in ["2 L", "2 imp qt", "2000 cm3"] {
        assert!(!is_us(&of(other)) && of(other).contains("; scoop of 1 L;"), "{other}: {}", of(other));
    }
}
