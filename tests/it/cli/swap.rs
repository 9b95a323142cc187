//! What may take the place of a part: `swap RECIPE --without INGREDIENT`.

use crate::support::{Run, project, run};
use serde_json::{Value, json};

fn swap(arguments: &[&str]) -> Run {
    run([&["swap"], arguments].concat())
}

fn told(run: Run) -> Value {
    serde_json::from_str(&run.done().stdout).unwrap()
}

/// How a mix that is shown behaves, without what would mend it.
fn behaviour(mut shown: Value) -> Value {
    let mut behaviour = shown["mixes"][0]["behaviour"].take();
    behaviour["cells"][0].as_object_mut().unwrap().remove("remedies");
    behaviour
}

/// The codes of its notes.
fn codes(told: &Value) -> Vec<&str> {
    told["notes"].as_array().unwrap().iter().map(|note| note["code"].as_str().unwrap()).collect()
}

#[test]
fn every_form_tells_the_same() {
    let words = ["everyday", "--without", "perlite", "--have", "pumice", "--have", "rice hulls", "--tray", "128-cell"];
    let shown =
        |format: &str, units: &str| swap(&[&words, &["--format", format, "--units", units][..]].concat()).result();
    let told: Value = serde_json::from_str(&shown("json", "us")).unwrap();
    assert_eq!(
        (&told["format"], &told["parts"], &told["written"]),
        (&json!("trayful-swap/1"), &json!("1"), &Value::Null)
    );
    assert_eq!(told["at_hand"], json!(["pumice", "rice hulls"]));
    let choices = told["choices"].as_array().unwrap();
    assert_eq!((choices.len(), &told["would_do"]), (3, &json!([])));
    let cell = &choices[0]["mix"]["behaviour"]["cells"][0];
    assert_eq!((&cell["tray"], cell["air"].as_array().unwrap().len()), (&json!("128-cell"), 3));
    let rows: Vec<Vec<String>> =
        shown("csv", "metric").lines().map(|line| line.split(',').map(str::to_owned).collect()).collect();
    assert_eq!((rows.len(), rows[0][0].as_str(), rows[1][0].as_str()), (5, "in_its_place", "1 perlite"));
    assert!(rows.iter().all(|row| row.len() == rows[0].len()));
    for format in ["text", "markdown", "html"] {
        for units in ["metric", "us"] {
            let text = shown(format, units);
            assert!(text.contains("1 pumice") && text.contains("try one tray first"), "{text}");
            assert!(format != "text" || text.lines().all(|line| line.chars().count() <= 80), "{text}");
            assert_eq!(text.contains("lb/cu ft"), units == "us");
        }
    }
}

/// What was written is a recipe like another, and behaves as was told.
#[test]
fn the_recipe_that_is_kept_can_be_used() {
    let words =
        ["everyday", "--without", "vermiculite", "--have", "pine bark", "--write", "new.yaml", "--format", "json"];
    swap(&[&words[..], &["--choice", "2"]].concat()).gives(2, "", "error: there is no choice 2: the last is 1\n");
    let kept = swap(&words).done();
    let told: Value = serde_json::from_str(&kept.stdout).unwrap();
    assert_eq!((kept.status, &told["written"]), (0, &json!("new.yaml")));
    let text = kept.file("new.yaml").unwrap();
    let with = |run: Run| run.file("new.yaml", &text);
    with(run(["check", "new.yaml"])).gives(0, "new.yaml: recipe `everyday without vermiculite` is in order\n", "");
    let shown = with(run(["show", "new.yaml", "--tray", "72-cell", "--format", "json"])).result();
    let shown: Value = serde_json::from_str(&shown).unwrap();
    assert_eq!(behaviour(shown), told["choices"][0]["mix"]["behaviour"]);
    let week = "week: w\nrecipe: new\nsowings:\n  - {crop: begonia, cells: 72, tray: 72-cell}\n";
    let plan = with(run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", week)).result();
    assert!(plan.contains("\"pine bark\"") && !plan.contains("\"vermiculite\": 1"), "{plan}");
    // The rest stays as it was written, but for what the change has for the part.
    let old = project("recipes/everyday.yaml");
    for line in ["recipe: 88", "yield: 88 %", "lime: {rate: 2 g/L, of: peat}"] {
        assert_eq!(text.contains(line), old.contains(line), "{text}");
    }
}

#[test]
fn any_choice_can_be_kept() {
    let words = ["everyday", "--without", "vermiculite", "--write", "new.yaml", "--format", "json", "--choice"];
    for number in ["1", "2", "3"] {
        let kept = swap(&[&words[..], &[number]].concat()).done();
        let told: Value = serde_json::from_str(&kept.stdout).unwrap();
        let shown = run(["show", "new.yaml", "--tray", "72-cell", "--format", "json"]);
        let shown = shown.file("new.yaml", kept.file("new.yaml").unwrap()).result();
        let shown: Value = serde_json::from_str(&shown).unwrap();
        let index = number.parse::<usize>().unwrap() - 1;
        assert_eq!(behaviour(shown), told["choices"][index]["mix"]["behaviour"]);
        // It is alkaline, and nobody says that it is at hand.
        assert!(!told.to_string().contains("biochar"), "{told}");
    }
}

/// Changes go by what has the place of the part, and nothing is said of doses that are gone.
#[test]
fn changes_follow() {
    let recipe = "recipe: own\nsource: a book\nwhole: 6\nparts: {peat or coir: 3, perlite or pumice: 2, fluff: 1}\n\
                  doses: {lime: {rate: 2 g/L, of: peat}, chalk: 1 g/L, kelp meal: {rate: 1 g/L, of: fluff}}\nyield: 90 %\n\
                  changes:\n  - {for: [kale], drop: [perlite], instead: fluff, set: {chalk: 2 g/L}}\n  \
                  - {for: [leek], drop: [fluff], instead: peat, add: {lime: 1 g/L}}\n  - {for: [basil], add: {fluff: 1/2}}\n  - {for: [onion], set: {chalk: 3 g/L}}\n\
                  ingredients:\n  fluff: {dry_density: 90 g/L, porosity: 0.9, water_held: 0.5, ph: '6.5'}\n";
    let kept = |without: &str, have: &[&str]| {
        let have: Vec<&str> = have.iter().flat_map(|have| ["--have", have]).collect();
        let words = [&["own.yaml", "--without", without, "--write", "new.yaml"], &have[..]].concat();
        let done = swap(&words).file("own.yaml", recipe).done();
        assert_eq!((done.status, done.stderr.as_str()), (0, ""), "{}", done.stdout);
        done.file("new.yaml").unwrap()
    };
    super::sheets::settings().bind(|| {
        insta::assert_snapshot!("swap-for-fluff", kept("fluff", &["pumice"]));
        insta::assert_snapshot!("swap-for-peat", kept("peat", &["coir", "perlite"]));
    });
}

/// What a change made of the mix it makes of the new one, with what has the place of the part in it: a crop that went
/// without the part keeps its mix.
#[test]
fn a_change_comes_to_the_mix_that_it_came_to() {
    let change = |change: &str, without: &str, takes: &str, choice: &str| {
        let recipe = format!(
            "recipe: own\nparts: {{peat: 3, perlite: 1, vermiculite: 1}}\nyield: 88 %\nchanges: [{{for: [leek], {change}}}]\n"
        );
        let have: Vec<&str> = takes.split(", ").flat_map(|have| ["--have", have]).collect();
        let words =
            [&["own.yaml", "--without", without, "--choice", choice, "--write", "new.yaml"], &have[..]].concat();
        let new = swap(&words).file("own.yaml", recipe).done().file("new.yaml").unwrap();
        let told = new.split_once("changes:").map_or("nothing", |(_, told)| told.trim());
        let told = told.strip_prefix("- {for: [leek], ").unwrap_or(told);
        told.strip_suffix("}").unwrap_or(told).to_owned()
    };
    // 3 peat and 2 vermiculite, of which none is perlite.
    let moved = "drop: [perlite], add: {vermiculite: 1}";
    assert_eq!(change(moved, "perlite", "peat", "1"), "add: {vermiculite: 1}, set: {peat: 3}");
    assert_eq!(change(moved, "perlite", "pumice", "1"), "drop: [pumice], add: {vermiculite: 1}");
    // Both vermiculites are peat and perlite by halves, or peat: 4 peat and 1 perlite, or 5 peat.
    assert_eq!(change(moved, "vermiculite", "peat, perlite", "1"), "add: {peat: 0.5}, set: {perlite: 1}");
    assert_eq!(change(moved, "vermiculite", "peat", "1"), "drop: [perlite], add: {peat: 1}");
    // 3 peat and 2 perlite, as the others have it now.
    assert_eq!(change("drop: [vermiculite], add: {perlite: 1}", "vermiculite", "perlite", "1"), "nothing");
    // What is as good as it was is not touched, in whatever words it is.
    let other = "drop: [peat], instead: coir, set: {perlite: 1/2}";
    assert_eq!(change(other, "vermiculite", "pumice", "1"), other);
    // A dose of the same name stays as it was, where only the part is gone.
    let doses = |doses: &str, without: &str, takes: &str, change: &str| {
        let recipe = format!(
            "recipe: own\nparts: {{peat: 3, perlite: 1, castings: 1}}\ndoses: {{{doses}}}\nyield: 88 %\nchanges: [{{for: [leek], {change}}}]\n"
        );
        let words = ["own.yaml", "--without", without, "--have", takes, "--write", "new.yaml"];
        let new = swap(&words).file("own.yaml", recipe).done().file("new.yaml").unwrap();
        new.split_once("changes:\n  - {for: [leek], ").map_or_else(|| new.clone(), |(_, told)| told.trim().to_owned())
    };
    let castings = "castings: 5 g/L, lime: {rate: 2 g/L, of: peat}";
    assert_eq!(doses(castings, "castings", "compost", "drop: [castings]"), "drop: [compost, castings]}");
    let on_perlite = "castings: {rate: 5 g/L, of: perlite}";
    assert_eq!(doses(on_perlite, "perlite", "pumice", "drop: [castings]"), "drop: [castings]}");
    // Where changes dose lime, the mix is given none: it is told how much it wants.
    let none = "recipe: own\nparts: {peat: 4, perlite: 1, compost: 1}\nph: 5.9\nyield: 88 %\nchanges:\n  \
                - {for: [leek], set: {chalk: 3 g/L}}\n  - {for: [leek, kale], add: {lime: {rate: 4 g/L, of: peat}}}\n";
    let words = ["own.yaml", "--without", "compost", "--have", "castings", "--write", "new.yaml"];
    let done = swap(&words).file("own.yaml", none).done();
    let new = done.file("new.yaml").unwrap();
    assert!(!new.contains("doses:") && new.contains("{for: [leek], set: {chalk: 3 g/L}}"), "{new}");
    assert!(new.contains("{for: [leek, kale], add: {lime: {rate: 4 g/L, of: peat}}}"), "{new}");
    assert!(
        done.stdout.replace("\n  ", " ").contains("lime for 5.9, in all: 0.4 (0-2.9) g/L of raw peat"),
        "{}",
        done.stdout
    );
    // Nor is more compost taken for what was added of something else.
    assert_eq!(change("add: {vermiculite: 2}", "vermiculite", "compost", "1"), "nothing");
    assert_eq!(change("add: {vermiculite: 2}", "vermiculite", "pumice", "1"), "add: {pumice: 2}");
}

/// All limes count together, and what a change says of them stays what it was.
#[test]
fn several_limes_are_limed_anew_together() {
    let recipe = "recipe: own\nparts: {peat: 3, perlite: 1, castings: 1}\n\
                  doses: {lime: 0.8 g/L, chalk: {rate: 0.6 g/L, of: peat}}\nyield: 90 %\n\
                  changes:\n  - {for: [leek], drop: [castings], add: {perlite: 1}}\n  \
                  - {for: [kale], drop: [lime], add: {coarse sand: 1}}\n  - {for: [basil], set: {lime: 2 g/L, chalk: 1 g/L}}\n";
    let words = ["own.yaml", "--without", "castings", "--have", "perlite", "--write", "new.yaml", "--format", "json"];
    let done = swap(&words).file("own.yaml", recipe).done();
    let new = done.file("new.yaml").unwrap();
    let told: Value = serde_json::from_str(&done.stdout).unwrap();
    // 0.8 g in a finished litre are 1.2 of its peat, three fifths of the loose litres of which 0.9 are kept: with 0.6 of
    // chalk 1.8, and 3.5 are usual.
    let doses = "doses:\n  lime: {rate: 2.33 g/L, of: peat}\n  chalk: {rate: 1.17 g/L, of: peat}\n";
    assert!(new.contains(doses), "{new}");
    let note = told["notes"][0]["text"].as_str().unwrap();
    let limes = "takes lime at 2.33 g/L of peat and chalk at 1.17 g/L of peat, not lime at 0.8 g/L of the mix and chalk at 0.6 g/L of peat";
    assert!(note.contains(limes), "{note}");
    assert!(!new.contains("leek") && new.contains("coarse sand"), "{new}");
    assert!(new.contains("set: {lime: {rate: 2 g/L, per: finished}, chalk: {rate: 1 g/L, of: peat}}"), "{new}");
    let basil = |recipe: &str| {
        let shown = run(["show", "own.yaml", "--tray", "72-cell", "--crop", "basil"]);
        let shown = shown.file("own.yaml", recipe).result();
        let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        shown.contains("lime at 2 g/L and chalk at 1 g/L of peat")
    };
    assert!(basil(recipe) && basil(&new));
}

/// What is kept is of the choice that was taken.
#[test]
fn what_is_kept_is_what_was_told() {
    let kept = |words: &[&str]| {
        let done = swap(&[words, &["--write", "new.yaml"]].concat()).done();
        done.file("new.yaml").unwrap_or_else(|| panic!("{}", done.stderr))
    };
    let coir = kept(&["everyday", "--use", "coir", "--without", "perlite", "--have", "pumice"]);
    assert!(coir.contains("coir or peat or limed peat: 3"), "{coir}");
    let without = kept(&["everyday", "--without", "castings", "--have", "peat"]);
    // 3 peat, 2 perlite and 1 vermiculite, as it was; so the peat is no choice any more.
    assert!(
        without.contains("  peat: 4\n") && without.contains("{seed: dust}, add: {perlite: 1}, set: {"),
        "{without}"
    );
    assert!(without.contains(", peat: 3}"), "{without}");
}

/// Where the changes of a crop come to another mix, it is told.
#[test]
fn what_changes_for_a_crop_is_told() {
    let told = |changes: &str, without: &str, takes: &str| {
        let recipe =
            format!("recipe: own\nparts: {{peat: 4, perlite: 2, castings: 1, vermiculite: 1}}\nchanges: [{changes}]\n");
        let words = ["own.yaml", "--without", without, "--have", takes, "--write", "new.yaml", "--format", "json"];
        let told = told(swap(&words).file("own.yaml", recipe));
        let notes = told["notes"].as_array().unwrap().clone();
        let note = notes.into_iter().find(|note| note["code"] == "changes-differ");
        note.map_or_else(String::new, |note| note["text"].as_str().unwrap().to_owned())
    };
    let [fine, thyme] =
        ["{for: [leek, kale], drop: [perlite], add: {vermiculite: 1}}", "{for: [kale], set: {perlite: 1}}"];
    assert_eq!(told(fine, "vermiculite", "perlite"), "");
    let both = told(&format!("{fine}, {thyme}"), "vermiculite", "perlite");
    assert_eq!(both, "Look through the changes in it: for kale they do not come to what they came to before.");
    assert!(told("{for: [tomato], add: {castings: 2}}", "castings", "leaf mould").contains(" for tomato they"));
    // What a crop goes without for its own sake changes nothing of that.
    let own = "recipe: own\nparts: {peat: 4, perlite: 2, vermiculite: 1, inoc: 1}\nchanges:\n  \
               - {for: [leek, kale], drop: [perlite], add: {vermiculite: 1}}\n  - {for: [kale, leek], set: {perlite: 1}}\n\
               ingredients:\n  inoc: {serves: {mycorrhiza: host}, kind: bulk, dry_density: 90 g/L, porosity: 0.9, water_held: 0.5, ph: '6.5'}\n";
    let words = ["own.yaml", "--without", "vermiculite", "--have", "perlite", "--write", "new.yaml"];
    let both = swap(&words).file("own.yaml", own).done().stdout.replace("\n  ", " ");
    assert!(both.contains("for kale and leek they do not") || both.contains("for leek and kale they do not"), "{both}");
    // Whoever drops castings for others of their kind has these.
    assert_eq!(told("{for: [tomato], drop: [castings], add: {compost: 1}}", "castings", "compost"), "");
}

/// Two choices of one part may both be taken, a long name is cut, and a bagged mix, which brings lime and food, is not.
#[test]
fn what_is_taken_makes_a_recipe() {
    assert_eq!(swap(&["everyday", "--without", "perlite", "--have", "peat", "--have", "coir"]).done().status, 0);
    let long = format!("recipe: {}\nparts: {{peat: 3, perlite: 1}}\n", "a".repeat(200));
    let kept = swap(&["own.yaml", "--without", "perlite", "--have", "pumice", "--write", "new.yaml"]);
    let kept = kept.file("own.yaml", long).done();
    let new = kept.file("new.yaml").unwrap();
    assert!((kept.status, kept.stderr.as_str()) == (0, "") && new.contains("a without perlite\n"), "{new}");
    assert_eq!(swap(&["everyday", "--without", "peat", "--have", "ready-made mix"]).done().status, 1);
}

#[test]
fn lime_food_and_the_first_feed_are_worked_out_anew() {
    // Without castings more lime, as is read of peat alone (corrections.md: UC Davis).
    let castings =
        swap(&["everyday", "--without", "castings", "--have", "peat", "--write", "new.yaml", "--format", "json"]);
    let castings = castings.done();
    assert!(
        castings.file("new.yaml").unwrap().contains("lime: {rate: 3.5 g/L, of: peat}"),
        "{:?}",
        castings.file("new.yaml")
    );
    let castings: Value = serde_json::from_str(&castings.stdout).unwrap();
    assert_eq!(codes(&castings), ["lime-anew", "first-feed", "written"]);
    let anew = castings["notes"][0]["text"].as_str().unwrap();
    assert_eq!(
        anew,
        "Choice 1 takes lime at 3.5 g/L of peat, not lime at 2 g/L of peat: no castings or compost raise the pH now."
    );
    // By the spoon its weight is not known; where it says its pH, it is limed for that.
    for lime in ["{rate: 2 tbsp/US gal, of: peat}", "{rate: 3.8 g/L, of: peat}}\nph: 5.9\n#"] {
        let own = format!("recipe: own\nparts: {{peat: 3, perlite: 1, castings: 1}}\ndoses: {{lime: {lime}}}\n");
        let kept = swap(&["own.yaml", "--without", "castings", "--have", "peat", "--write", "new.yaml"]);
        let kept = kept.file("own.yaml", own).done();
        let new = kept.file("new.yaml").unwrap_or_else(|| panic!("{}", kept.stderr));
        assert!(!new.contains("3.5 g/L") && !kept.stdout.contains("takes lime at"), "{new}");
    }
    // Compost where there was none.
    let peat = "recipe: own\nparts: {peat: 3, perlite: 1, vermiculite: 1}\ndoses: {lime: {rate: 3.5 g/L, of: peat}}\n";
    let rich = swap(&["own.yaml", "--without", "vermiculite", "--have", "compost", "--write", "new.yaml"]);
    let rich = rich.file("own.yaml", peat).done();
    assert!(rich.file("new.yaml").unwrap().contains("lime: {rate: 2 g/L, of: peat}"), "{:?}", rich.file("new.yaml"));
    let of = |words: &[&str]| told(swap(&[words, &["--format", "json"]].concat()));
    let coir = of(&["everyday", "--without", "peat", "--have", "coir"]);
    assert_eq!(codes(&coir), ["dose-out", "of-ingredient", "first-feed", "offered"]);
    let peat = of(&["everyday", "--use", "coir", "--without", "perlite", "--have", "peat"]);
    // The recipe doses it on peat by itself.
    assert_eq!(codes(&peat), ["of-ingredient", "first-feed"]);
    let unlimed = told(
        swap(&["own.yaml", "--without", "coir", "--have", "peat", "--format", "json"])
            .file("own.yaml", "recipe: own\nparts: {coir: 3, perlite: 1}\n"),
    );
    let lime = unlimed["notes"][0]["text"].as_str().unwrap();
    assert_eq!(lime, "Choice 1 holds peat, which is acid, and no lime: add ground limestone, 3-4 g/L of raw peat.");
    let hungry = of(&["everyday", "--without", "castings", "--have", "loam"]);
    let feed = hungry["notes"].as_array().unwrap().iter().find(|note| note["code"] == "first-feed").unwrap();
    assert!(feed["text"].as_str().unwrap().contains("25-50 ppm N"), "{feed}");
    let rich = of(&["everyday", "--without", "castings", "--have", "compost"]);
    assert_eq!(rich["choices"][0]["takes"], json!([{"name": "compost", "parts": "1"}]));
}

#[test]
fn lime_on_the_mix_and_for_a_ph_is_worked_out_anew() {
    // Dosed on the mix it is dosed on the peat, where that is no more what it was for: 1 g in a finished litre was 1.76 to a
    // litre of peat, and with four parts of it is 1.32; without castings 3.5 is usual.
    let plain = |lime: &str, more: &str| {
        format!("recipe: own\nparts: {{peat: 3, perlite: 1, vermiculite: 1{more}}}\ndoses: {{lime: {lime}}}\n")
    };
    let note = |recipe: &str, without: &str, have: &str, code: &str| {
        let told = swap(&["own.yaml", "--without", without, "--have", have, "--format", "json"]);
        let told: Value = serde_json::from_str(&told.file("own.yaml", recipe).done().stdout).unwrap();
        let note = told["notes"].as_array().unwrap().iter().find(|note| note["code"] == code).cloned();
        note.map(|note| note["text"].as_str().unwrap().to_owned())
    };
    let anew = |recipe: &str, without: &str, have: &str| note(recipe, without, have, "lime-anew").unwrap_or_default();
    let told = anew(&plain("1 g/L", ", castings: 1"), "castings", "peat");
    assert!(
        told.starts_with("Choice 1 takes lime at 3.5 g/L of peat, not lime at 1 g/L of the mix: no castings"),
        "{told}"
    );
    // 2.1 g in a finished litre are 3.08 of its peat, three fifths of the loose litres; of four fifths 2.31.
    let told = anew(&plain("2.1 g/L", ""), "vermiculite", "peat");
    assert!(told.ends_with("not lime at 2.1 g/L of the mix: there is more raw peat than before."), "{told}");
    assert_eq!(anew(&plain("2.8 g/L", ""), "vermiculite", "peat"), "");
    assert_eq!(anew(&plain("{rate: 3.1 g/L, of: peat}", ""), "vermiculite", "peat"), "");
    // A recipe that says its pH is given the lime for it: by the fit 2.5 g in a finished litre for pH 5.7, 0.88 of the loose
    // litres kept, of which two thirds are peat: 3.3 g/L of it.
    let wanted = plain("{rate: 2 g/L, of: peat}", ", castings: 1") + "ph: 5.7\n";
    let told = anew(&wanted, "castings", "peat");
    assert!(told.starts_with("Choice 1 takes lime at 3.28 g/L of peat, not lime at 2 g/L of peat: its"), "{told}");
    assert!(told.ends_with(": its recipe wants pH 5.7."), "{told}");
    // By the spoon it cannot be.
    let spoon = wanted.replace("2 g/L", "1 tsp/L");
    let told = note(&spoon, "castings", "peat", "lime-for-ph").unwrap();
    assert!(told.ends_with("lime for 5.7, in all: 3.3 (1.7-4.8) g/L of raw peat."), "{told}");
    // Where there was none it is given some: by the fit .324 g in a finished litre for pH 5.9 beside a sixth of castings, .88
    // of the loose litres kept, of which two thirds are peat.
    let none = "recipe: own\nparts: {peat: 4, perlite: 1, compost: 1}\nph: 5.9\nyield: 88 %\n";
    let told = anew(none, "compost", "castings");
    assert!(told.starts_with("Choice 1 takes lime at 0.43 g/L of peat, where it took none: its recipe"), "{told}");
    let told = note(&wanted, "castings", "loam", "lime-for-ph").unwrap();
    assert_eq!(
        told,
        "The pH of choice 1 is not known, since a part keeps a pH of its own, as soil does: look to its lime."
    );
}

#[test]
fn what_is_at_hand_is_taken_from_where_other_commands_find_it() {
    let place = "place: p\nstock: stock.yaml\n";
    let stock =
        "stock: s\non_hand: {perlite: 10 L, pumice: 0 L, lime: 1 kg, soaked coir: {amount: 40 L, made: 2027-02-01}}\n";
    let of = |more: &[&str]| {
        let words = [&["everyday", "--without", "vermiculite", "--format", "json"], more].concat();
        told(swap(&words).file("p.yaml", place).file("stock.yaml", stock))
    };
    assert_eq!(of(&[])["at_hand"], Value::Null);
    for stated in [["--place", "p.yaml"], ["--stock", "stock.yaml"]] {
        assert_eq!(of(&stated)["at_hand"], json!(["perlite", "coir"]), "{stated:?}");
    }
    assert_eq!(of(&["--place", "p.yaml", "--have", "bark"])["at_hand"], json!(["pine bark"]));
    assert_eq!(
        of(&["--stock", "stock.yaml", "--have", "sand=3 L"])["at_hand"],
        json!(["perlite", "coir", "coarse sand"])
    );
    // So much of it is enough or not for a mix that is asked for.
    let told = |more: &[&str]| {
        let words = [&["everyday", "--without", "vermiculite", "--have", "perlite=10 L"], more].concat();
        swap(&words).result().contains("enough is told with `--make`")
    };
    assert!(told(&[]) && !told(&["--make", "5 L"]));
    // A part of 6 L of mix is 6 / 0.88 / 6 L, and perlite is one already.
    let perlite = |make: &str| of(&["--place", "p.yaml", "--have", "perlite=10 L", "--make", make])["choices"].clone();
    assert_eq!(perlite("26.4 L")[0]["takes"], json!([{"name": "perlite", "parts": "1"}]));
    assert_eq!(perlite("26.5 L"), json!([]));
}

#[test]
fn nothing_at_hand_will_do() {
    let done =
        swap(&["everyday", "--without", "vermiculite", "--have", "compost", "--have", "soil", "--write", "n.yaml"])
            .done();
    assert_eq!((done.status, done.stderr.as_str(), done.file("n.yaml")), (1, "", None));
    for words in
        ["nothing can take", "1 vermiculite in everyday. Of all that is known this would:", "20 %", "soil, which"]
    {
        assert!(done.stdout.replace('\n', " ").contains(words), "{}", done.stdout);
    }
    let place = "place: p\ningredients: {fluff: {dry_density: 90 g/L}}\n";
    let fluff = swap(&["everyday", "--without", "perlite", "--have", "fluff", "--place", "p.yaml"])
        .file("p.yaml", place)
        .done();
    assert_eq!(fluff.status, 1);
    let text = fluff.stdout.replace("\n  ", " ");
    assert!(text.contains("Not tried: fluff. State its `porosity:` and `water_held:` under `ingredients:`."), "{text}");
}

#[test]
fn what_cannot_be_swapped() {
    let refused = |words: &[&str]| swap(words).refusal();
    assert!(refused(&["evryday", "--without", "perlite"]).contains("did you mean `everyday`?"));
    assert!(refused(&["everyday", "--without", "perlit"]).contains("did you mean `perlite`?"));
    assert!(refused(&["everyday", "--without", "limed peat"]).contains("`--use limed-peat` makes it a part"));
    assert!(refused(&["everyday", "--without", "lime"]).contains("it is a dose"));
    let said = refused(&["everyday", "--without", "pumice"]);
    assert!(said.contains("one of its parts: peat, perlite, vermiculite, castings"), "{said}");
    assert!(refused(&["everyday", "--without", "perlite", "--have", "pumise"]).contains("did you mean `pumice`?"));
    assert!(refused(&["everyday", "--without", "perlite", "--tray", "72-cell=2"]).contains("the kind of tray only"));
    assert!(refused(&["everyday", "--without", "perlite", "--tray", "5 cm block"]).contains("pressed blocks"));
    assert!(refused(&["everyday", "--without", "perlite", "--write", "new"]).contains("`NAME.yaml`"));
    let own = "recipe: own\nparts: {peat: 1, fluff: 1}\ningredients: {fluff: {dry_density: 90 g/L}}\n";
    let of_own = |words: &[&str]| swap(&[&["own.yaml", "--without", "peat"], words].concat()).file("own.yaml", own);
    assert!(of_own(&[]).refusal().contains("without `porosity:` and `water_held:` of `fluff`"));
    let own = "recipe: own\nparts: {peat: 1, perlite: 1}\n";
    let of_own = |words: &[&str]| swap(&[&["own.yaml", "--without", "peat"], words].concat()).file("own.yaml", own);
    let twice =
        "recipe: own\nparts: {peat: 5, perlite: 1}\nchanges: [{for: [leek], add: {pumice: 5 g/L, perlite: 1}}]\n";
    let twice = swap(&["own.yaml", "--without", "perlite", "--have", "pumice"]).file("own.yaml", twice).refusal();
    assert!(twice.contains("its changes dose what would be a part of it"), "{twice}");
    assert!(of_own(&["--write", "own.yaml"]).refusal().contains("is there already"));
    assert!(of_own(&["--write", "own.yaml", "--replace"]).refusal().contains("works with"));
    assert!(of_own(&["--write", "a.yaml", "--output", "a.yaml"]).refusal().contains("two names"));
}
