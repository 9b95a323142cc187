//! Commands, options and exit codes.

use super::WEEK;
use crate::support::run;

#[test]
fn check_says_what_is_in_order() {
    run(["check", "week.yaml", "own.yaml"])
        .file("week.yaml", WEEK)
        .file("own.yaml", "recipe: own\nparts: {peat: 1}\n")
        .gives(0, "week.yaml: week `beds` is in order\nown.yaml: recipe `own` is in order\n", "");
}

#[test]
fn check_reports_the_bad_file_beside_the_good_one() {
    run(["check", "week.yaml", "own.yaml"])
        .file("week.yaml", WEEK)
        .file("own.yaml", "recipe: own\nparts: {peet: 1}\n")
        .gives(
            2,
            "week.yaml: week `beds` is in order\n",
            "error[unknown-ingredient]: no ingredient is called `peet`\n --> own.yaml:2:9\n  |\n\
             2 | parts: {peet: 1}\n  |         ^^^^ expected an ingredient\n  |\n  = help: did you mean `peat`?\n\n",
        );
}

/// Its changes are tried for every crop; the last one for a crop without a mix is pointed at.
#[test]
fn check_points_at_the_change_that_leaves_nothing() {
    let own = "recipe: own\nparts: {peat: 1}\nchanges:\n  - {for: kale, sieve: 5 mm}\n  - {for: kale, drop: [peat]}\n";
    let fault = run(["check", "own.yaml"]).file("own.yaml", own).refusal();
    assert!(fault.contains("by its changes for kale, nothing is left") && fault.contains("own.yaml:5:"), "{fault}");
}

#[test]
fn new_says_at_once_that_it_writes_over_no_file() {
    let why = "error: `week.yaml` is there already, and `new` writes over no file: give another name\n";
    run(["new", "week", "-o", "week.yaml"]).file("week.yaml", WEEK).gives(2, "", why);
}

#[test]
fn check_reads_standard_input() {
    run(["check", "-"]).input(WEEK).gives(0, "-: week `beds` is in order\n", "");
    run(["check", "-"]).input("recipe: own\nparts: {peat: 1}\n").gives(0, "-: recipe `own` is in order\n", "");
}

#[test]
fn two_recipes_of_one_name_are_noticed() {
    run(["check", "a.yaml", "b.yaml"])
        .file("a.yaml", "recipe: own\nparts: {peat: 1}\n")
        .file("b.yaml", "recipe: Own\nparts: {perlite: 1}\n")
        .gives(
            2,
            "a.yaml: recipe `own` is in order\nb.yaml: recipe `Own` is in order\n",
            "error[name-twice]: b.yaml: has the recipe name `Own` that a.yaml has too\n |\n \
             = help: give each recipe a name of its own\n\n",
        );
}

#[test]
fn usage_faults_are_exit_code_two() {
    for arguments in [
        &["plan"][..],
        &["plan", "a.yaml", "b.yaml"],
        &["scale", "everyday"],
        &["scale", "everyday", "--tray", "72-cell", "--make", "60 L"],
        &["check"],
        &["list", "tools"],
        &["show"],
        &["plant", "week.yaml"],
        &["plan", "week.yaml", "--format", "pdf"],
        &["plan", "week.yaml", "--units", "imperial"],
        &["plan", "week.yaml", "--color", "sometimes"],
        &["--units", "us"],
    ] {
        let message = run(arguments).refusal();
        assert!(message.contains("Usage:") || message.contains("[possible values:"), "{arguments:?}: {message}");
    }
}

#[test]
fn a_misspelt_command_is_guessed() {
    let message = run(["plann", "week.yaml"]).refusal();
    assert!(message.contains("a similar subcommand exists: 'plan'"), "{message}");
}

#[test]
fn help_and_version_are_results() {
    for arguments in [&["--help"][..], &["plan", "--help"], &["help", "scale"], &["--version"]] {
        let help = run(arguments).result();
        assert!(help.lines().all(|line| line.chars().count() <= 80), "{help}");
    }
    assert_eq!(run(["--version"]).result(), format!("trayful {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn scale_takes_trays_or_a_volume() {
    let two = run(["scale", "everyday", "--tray", "72-cell=2", "--tray", "9 cm pot=10", "--format", "json"]).result();
    let two: serde_json::Value = serde_json::from_str(&two).unwrap();
    assert_eq!((two["totals"]["trays"].as_u64(), two["totals"]["pots"].as_u64()), (Some(2), Some(10)));
    // A kind alone is one tray.
    let one = run(["scale", "everyday", "--tray", "72-cell", "--format", "json"]).result();
    let one: serde_json::Value = serde_json::from_str(&one).unwrap();
    assert_eq!(one["totals"]["trays"].as_u64(), Some(1));
    let volume = run(["scale", "everyday", "--make", "2 cu ft", "--format", "json"]).result();
    let volume: serde_json::Value = serde_json::from_str(&volume).unwrap();
    assert!((volume["totals"]["mix_l"].as_f64().unwrap() - 56.633_693_184).abs() < 1e-9);
    assert!(volume["batches"][0]["cells_l"].is_null() && volume["batches"][0]["settled_l"].is_null());
}

#[test]
fn scale_for_a_crop_makes_its_variant() {
    let mix = |crop: &[&str]| {
        let arguments = ["scale", "everyday", "--make", "10 L", "--format", "json"].iter().chain(crop);
        let text = run(arguments).result();
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        let names = |key: &str| -> Vec<String> {
            let list = value["batches"][0][key].as_array().unwrap();
            list.iter().map(|entry| entry["name"].as_str().unwrap().to_owned()).collect()
        };
        (names("ingredients"), names("doses"))
    };
    assert_eq!(mix(&[]).1, ["lime", "inoculant"]);
    assert_eq!(mix(&["--crop", "kale"]).1, ["lime"]);
    assert_eq!(mix(&["--crop", "kale", "--use", "coir"]).1, [""; 0]);
    assert_eq!(mix(&["--crop", "lavender", "--use", "limed peat"]).0, ["limed peat", "perlite", "vermiculite"]);
}

#[test]
fn faults_of_the_command_line_point_into_it() {
    run(["scale", "everydy", "--tray", "72-sell=2", "--crop", "kail"]).gives(
        2,
        "",
        "error[unknown-recipe]: no recipe is called `everydy`\n --> RECIPE:1:1\n  |\n1 | everydy\n  | ^^^^^^^ expected a recipe\n  \
         |\n  = help: did you mean `everyday`?\n\n\
         error[unknown-crop]: no crop is called `kail`\n --> --crop:1:1\n  |\n1 | kail\n  | ^^^^ expected a crop of the table or of `crops:`\n  \
         |\n  = help: did you mean `kale`? or add it to your file: `crops: {kail:\n          {family: ...}}`\n\n\
         error[unknown-tray]: no tray or pot is called `72-sell`\n --> --tray:1:1\n  |\n1 | 72-sell=2\n  | ^^^^^^^ expected a tray such as `72-cell`\n  \
         |\n  = help: did you mean `72-cell`?\n\n",
    );
    for (arguments, says) in [
        (["--tray", "72-cell=0"], "`0` is zero"),
        (["--tray", "72-cell=-2"], "`-2` is negative"),
        (["--tray", "72-cell=1.5"], "`1.5` is not a whole number"),
        (["--tray", "72-cell=two"], "`two` is not a number"),
        (["--tray", "72-cell=99999999999"], "`99999999999` is too large"),
        (["--make", "60"], "`60` has no unit"),
        (["--make", "0 L"], "`0 L` is zero"),
        (["--make", "NaN L"], "`NaN L` is not a number"),
        (["--make", "1e308 L"], "`1e308 L` is not a number"),
        (["--make", "2,5 L"], "use a point: `2.5 L`"),
        (["--make", "2 litrs"], "did you mean `litres`?"),
    ] {
        let message = run(["scale", "everyday"].iter().chain(&arguments)).refusal();
        assert!(message.contains(says), "{message}");
    }
}

#[test]
fn a_choice_on_the_command_line_wins_over_the_weeks() {
    let week = WEEK.replace("recipe:", "use: limed peat\nrecipe:");
    let first = |arguments: &[&str]| {
        let text =
            run(["plan", "week.yaml", "--format", "json"].iter().chain(arguments)).file("week.yaml", &week).result();
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        value["batches"][0]["ingredients"][0]["name"].as_str().unwrap().to_owned()
    };
    assert_eq!(first(&[]), "limed peat");
    assert_eq!(first(&["--use", "coir"]), "coir");
    assert_eq!(first(&["--use", "coco peat"]), "coir");
}

#[test]
fn a_choice_that_nobody_offers_is_refused() {
    run(["plan", "week.yaml", "--use", "perlite"]).file("week.yaml", WEEK).gives(
        2,
        "",
        "error[recipe]: no recipe here offers `perlite` as a choice\n --> --use:1:1\n  |\n1 | perlite\n  \
         | ^^^^^^^ expected an ingredient that a recipe offers\n  |\n  = help: the choices are coir, limed peat, peat\n\n",
    );
    // Offered by one of two recipes, it is a note.
    let week = format!("{WEEK}  - {{crop: leek, cells: 72, tray: 72-cell, recipe: soil blocks}}\n");
    let sheet = run(["plan", "week.yaml", "--use", "coir"]).file("week.yaml", week).result();
    assert!(sheet.contains("The recipe `soil blocks` offers no choice of coir"), "{sheet}");
}

#[test]
fn a_recipe_file_beside_the_week_wins_and_a_path_may_be_given() {
    let own = "recipe: everyday\nparts: {perlite: 1, peat: 1}\n";
    let sheet = run(["plan", "f/week.yaml"]).file("f/week.yaml", WEEK).file("f/everyday.yaml", own).result();
    assert!(sheet.contains("The recipe `everyday` is the file beside the week, not the built-in one."), "{sheet}");
    assert!(!sheet.contains("castings"), "{sheet}");
    let sheet = run(["scale", "f/everyday.yaml", "--make", "10 L"]).file("f/everyday.yaml", own).result();
    assert!(!sheet.contains("castings"), "{sheet}");
    let sheet = run(["scale", "f/everyday", "--make", "10 L"]).file("f/everyday.yaml", own).done();
    assert_eq!(sheet.status, 2, "a path names the file whole");
}

#[test]
fn colour_is_asked_for_or_not_there() {
    let sheet = |arguments: &[&str]| {
        run(["plan", "week.yaml"].iter().chain(arguments)).file("week.yaml", WEEK).env("NO_COLOR", "1").done()
    };
    // No terminal: plain. Asked for: bold, even with NO_COLOR set, since it was asked for.
    assert!(!sheet(&[]).stdout.contains('\u{1b}'));
    assert!(!sheet(&["--color", "never"]).stdout.contains('\u{1b}'));
    let colored = sheet(&["--color", "always"]).stdout;
    assert!(colored.starts_with("\u{1b}[1mbeds\u{1b}[0m\n"), "{colored:?}");
    // What differs is the escapes only.
    assert_eq!(colored.replace("\u{1b}[1m", "").replace("\u{1b}[0m", ""), sheet(&[]).stdout);
    // Only the sheet for a terminal has them, and no file has.
    for format in ["markdown", "json", "csv", "html"] {
        assert!(!sheet(&["--color", "always", "--format", format]).stdout.contains('\u{1b}'), "{format}");
    }
    let written = sheet(&["--color", "always", "--output", "sheet.txt"]);
    assert!(!written.file("sheet.txt").unwrap().contains('\u{1b}'));
    // Messages too.
    let faults = |when: &str| run(["plan", "none.yaml", "--color", when]).refusal();
    assert!(faults("always").contains('\u{1b}') && !faults("auto").contains('\u{1b}'));
}

#[test]
fn every_format_and_unit_of_every_command() {
    let commands: [&[&str]; 8] = [
        &["plan", "week.yaml"],
        &["plan", "week.yaml", "--explain"],
        &["scale", "rich", "--tray", "9 cm pot=18"],
        &["scale", "soil blocks", "--make", "3 US gal", "--crop", "leek"],
        &["list"],
        &["list", "crops"],
        &["show", "peat-lite", "A"],
        &["show", "coir"],
    ];
    for command in commands {
        for format in ["text", "markdown", "json", "csv", "html"] {
            for units in ["metric", "us"] {
                let text =
                    run(command.iter().chain(&["--format", format, "--units", units])).file("week.yaml", WEEK).result();
                assert!(text.ends_with('\n') && !text.ends_with("\n\n"), "{command:?} {format}");
                match format {
                    "text" => assert!(text.lines().all(|line| line.chars().count() <= 80), "{command:?}: {text}"),
                    "markdown" => assert!(text.starts_with('#') || command[0] == "list", "{text}"),
                    "json" => assert!(serde_json::from_str::<serde_json::Value>(&text).is_ok(), "{text}"),
                    "html" => assert!(text.starts_with("<!DOCTYPE html>") && text.ends_with("</html>\n")),
                    _ => {
                        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
                        assert!(reader.records().all(|record| record.is_ok()) && text.lines().count() > 1);
                    }
                }
            }
        }
    }
}

#[test]
fn units_change_what_is_shown_and_nothing_else() {
    let mix = |units: &str| {
        let sheet = run(["scale", "everyday", "--make", "60 L", "--units", units]).result();
        sheet.lines().find(|line| line.starts_with("  peat ")).unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert_eq!(mix("metric"), "peat 3 34.1 L 36.1 US qt");
    assert_eq!(mix("us"), "peat 3 36.1 US qt");
    let json =
        |units: &str| run(["scale", "everyday", "--make", "60 L", "--format", "json", "--units", units]).result();
    assert_eq!(json("metric"), json("us"));
}

/// Units mean something where amounts are shown, and are refused elsewhere.
#[test]
fn units_are_shown_by_list_and_show_and_refused_where_there_are_none() {
    let shown = |arguments: &str| run(arguments.split(' ').chain(["--units", "us"])).result();
    let lines = |text: &str| text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    let tray: Vec<String> = lines(&shown("show 72-cell deep"));
    // 4.38 cubic inches, 2.38 in deep, 10 x 20 in: as its table prints it; 231 cu in to a gallon.
    for row in ["cell volume 4.38 cu in", "US qt 5.46", "depth 2.38 in", "footprint 10 x 20 in"] {
        assert!(tray.iter().any(|line| line.starts_with(row)), "{row} in {tray:#?}");
    }
    let coir: Vec<String> = lines(&shown("show coir"));
    // 70 g/L x 28.316846592 L / 453.59237 g.
    assert!(coir.iter().any(|line| line.starts_with("dry density 4.37 lb/cu ft")), "{coir:#?}");
    assert!(shown("list trays").contains("cell cu in") && shown("list ingredients").contains("dry lb/cu ft"));
    assert!(shown("show kale").contains("59-77 F"));
    // Scripts read one system.
    let json = |units: &str| run(["show", "coir", "--format", "json", "--units", units]).result();
    assert_eq!(json("metric"), json("us"));
    let yields = ["yield", "everyday", "--before", "10 L", "--after", "9 L"];
    for command in [&["check", "week.yaml"][..], &["new", "week"], &["completions", "bash"], &["man"], &yields] {
        run(command.iter().chain(&["--units", "us"])).file("week.yaml", WEEK).gives(
            2,
            "",
            "error: this command has no amounts to give in other units: leave `--units` out\n",
        );
    }
}

/// What the JSON of the catalogue says of one thing.
fn fact(shown: &serde_json::Value, what: &str) -> serde_json::Value {
    let entries = shown["entries"].as_array().unwrap().iter();
    entries.clone().find(|entry| entry["what"] == what).unwrap_or_else(|| panic!("{what}: {shown}")).clone()
}

/// Figures are numbers with a unit, sources fields of their own, keys no words of the screen.
#[test]
fn scripts_read_the_catalogue_as_numbers() {
    let json = |arguments: &str| -> serde_json::Value {
        serde_json::from_str(&run(arguments.split(' ').chain(["--format", "json"])).result()).unwrap()
    };
    let trays = json("list trays");
    let tray = &trays["entries"][1];
    assert_eq!(
        (&tray["tray"], &tray["cells"]),
        (&"72-cell deep".into(), &serde_json::json!({"value": 72, "unit": "cells"}))
    );
    // 4.38 cubic inches of 16.387064 mL.
    assert_eq!(tray["cell"]["unit"], "mL");
    assert!((tray["cell"]["value"].as_f64().unwrap() - 4.38 * 16.387_064).abs() < 1e-9);
    let kale = json("show kale");
    let weeks = fact(&kale, "weeks");
    assert_eq!((&weeks["value"], &weeks["unit"]), (&serde_json::json!([4, 6]), &"weeks".into()));
    assert_eq!(weeks["standing"], "read");
    assert!(weeks["source"].as_str().unwrap().starts_with("Iowa State"));
    let seed = fact(&kale, "seed");
    assert_eq!((&seed["value"], &seed["source"], &seed["standing"]), (&"small".into(), &().into(), &"memory".into()));
    assert_eq!(fact(&kale, "mycorrhiza")["value"], "nonhost");
    let coir = json("show coir");
    assert_eq!(fact(&coir, "ph")["value"], serde_json::json!([5.6, 6.9]));
    assert_eq!(
        (&fact(&coir, "dry_density")["value"], &fact(&coir, "dry_density")["unit"]),
        (&70.0.into(), &"g/L".into())
    );
    let dose = fact(&json("show everyday"), "dose");
    assert_eq!(dose["value"], 2.0);
    assert_eq!((&dose["unit"], &dose["ingredients"][0], &dose["of"]), (&"g/L".into(), &"lime".into(), &"peat".into()));
    for kind in trayful::report::KINDS {
        for entry in json(&format!("list {kind}"))["entries"].as_array().unwrap() {
            for (key, value) in entry.as_object().unwrap() {
                assert!(key.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{key}");
                let is_figure = |text: &str| text.parse::<f64>().is_ok();
                assert!(!value.as_str().is_some_and(is_figure), "{kind}: {key} is {value}");
            }
        }
    }
}

#[test]
fn show_finds_aliases_and_asks_about_doubtful_names() {
    assert!(run(["show", "aubergine"]).result().starts_with("Crop eggplant\n"));
    assert!(run(["show", "Tuscan", "kale"]).result().starts_with("Crop kale\n"));
    assert!(run(["show", "mustard spinach"]).result().contains("a brassica, not a spinach"));
    assert!(run(["show", "72 cell deep"]).result().contains("misprint for 71.8"));
    run(["show", "balsam"]).gives(
        2,
        "",
        "error: `balsam` is a plant that the table does not have: not busy lizzie, but of the same genus and a host too; \
         add it to your file: `crops: {balsam: {species: Impatiens balsamina}}`\n",
    );
    run(["show", "kail"]).gives(2, "", "error: nothing is known under `kail`; did you mean `kale`?\n");
    let both = "`base fertiliser for blocks` or `base fertiliser for loam`";
    let said = format!("error: nothing is known under `base fertiliser`; did you mean {both}?\n");
    run(["show", "base", "fertiliser"]).gives(2, "", &said);
    run(["show", "xyzzy"]).gives(2, "", "error: nothing is known under `xyzzy`; `trayful list` tells what is known\n");
}

#[test]
fn a_form_that_a_command_does_not_have_is_refused() {
    run(["check", "week.yaml", "--format", "json"]).file("week.yaml", WEEK).gives(
        2,
        "",
        "error: this command has no other form than text: leave `--format` out\n",
    );
}

/// What would steer the terminal, turn the reading direction or forge a line is made visible,
/// wherever an argument or the name of a file is said.
#[test]
fn stray_characters_of_arguments_and_names_are_made_visible() {
    let clean = |text: &str| {
        let stray = |c: char| (c.is_control() && c != '\n') || ('\u{202a}'..='\u{202e}').contains(&c);
        assert!(!text.contains(stray), "{text:?}");
        assert!(!text.contains("\nforged"), "{text:?}");
    };
    let evil = "a\u{1b}[31m\u{202e}b\u{9b}c\nforged";
    let shown = "a\\u{1b}[31m\\u{202e}b\\u{9b}c\\u{a}forged";
    for arguments in [
        &[evil][..],
        &["list", evil],
        &["show", evil],
        &["plan", evil],
        &["plan", "week.yaml", "--use", evil],
        &["plan", "week.yaml", evil],
        &["plan", "week.yaml", "--format", evil],
        &["scale", evil, "--make", "60 L"],
        &["scale", "everyday", "--make", evil],
        &["scale", "everyday", "--tray", evil],
        &["fill", "everyday", "--tray", "72-cell", "--have", evil],
        &["soak", "--product", evil],
        &["soak", "--dry", "1 kg", "--salt", evil],
        &["feed", "--analysis", evil, "--ppm", "60", "--water", "9 L"],
        &["feed", "--analysis", "3-1-2", "--ppm", "60", "--with", evil],
        &["check", evil],
        &["mixed", evil],
        &["yield", evil, "--before", "2 L", "--after", "1.8 L"],
        &["plan", "week.yaml", "-o", &format!("{evil}/x")],
    ] {
        let message = run(arguments).file("week.yaml", WEEK).refusal();
        clean(&message);
        // Long ones may be broken into lines.
        assert!(message.contains("\\u{1b}") && message.contains("\\u{202e}"), "{arguments:?}: {message}");
        // Our own colours stay, and are all that there is.
        let colored = run([arguments, &["--color", "always"]].concat()).file("week.yaml", WEEK).refusal();
        let own = ["0", "1", "91", "92", "94", "96"].map(|code| format!("\u{1b}[{code}m"));
        let plain = own.iter().fold(colored, |text, escape| text.replace(escape, ""));
        clean(&plain);
    }
    let recipe = "recipe: own\nparts: {peat: 1}\n";
    let result = run(["check", evil]).file(evil, recipe).result();
    assert_eq!(result, format!("{shown}: recipe `own` is in order\n"));
    let result = run(["yield", evil, "--before", "2 L", "--after", "1.8 L"]).file(evil, recipe).result();
    assert_eq!(result, format!("recipe `own`: yield 90 %, written to {shown}\n"));
    // A stock file is told with its folder; JSON gives it back as it is.
    for form in ["text", "markdown", "json", "csv", "html"] {
        let week = WEEK.replace("everyday", "own").replace("sowings", "stock: shed.yaml\nsowings");
        let evil = "a\u{1b}[31m\u{202e}b\u{9b}c";
        let output = run(["mixed", &format!("{evil}/week.yaml"), "--format", form])
            .file(&format!("{evil}/week.yaml"), week)
            .file(&format!("{evil}/own.yaml"), recipe)
            .file(&format!("{evil}/shed.yaml"), "stock: shed\non_hand: {peat: 90 L, vermiculite: 9 L}\n")
            .done();
        assert_eq!((output.status, output.stderr.as_str()), (0, ""));
        clean(&output.stdout);
        if form == "json" {
            let report: serde_json::Value = serde_json::from_str(&output.stdout).unwrap();
            assert_eq!(report["stock"], format!("{evil}/shed.yaml"));
        }
        // A label is quoted in the result as it was given.
        let output = run(["soak", "--product", "5 kg bl\u{202e}ock", "--format", form]).done();
        assert_eq!(output.stderr, "");
        clean(&output.stdout);
        assert!(form != "text" || output.stdout.contains(r"5 kg bl\u{202e}ock"), "{}", output.stdout);
    }
}
