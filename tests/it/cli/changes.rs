//! What the sheet says of a mix that differs for some crops.

use crate::support::run;
use serde_json::Value;

/// The one volume of a recipe as a sheet, and as JSON.
fn scale(recipe: &str, arguments: &[&str]) -> (String, Value) {
    let with = |format: &str| {
        let arguments = [&["scale", "own.yaml", "--make", "100 L", "--format", format], arguments].concat();
        run(arguments).file("own.yaml", format!("recipe: own\nyield: 100 %\n{recipe}")).env("COLUMNS", "1000").result()
    };
    (with("text"), serde_json::from_str(&with("json")).unwrap())
}

/// The week of a recipe as a sheet on long lines, and as JSON.
fn week(recipe: &str, rest: &str) -> (String, Value) {
    let week = format!("week: beds\nrecipe: own\n{rest}");
    let with = |format: &str| {
        run(["plan", "-", "--format", format])
            .file("own.yaml", format!("recipe: own\n{recipe}"))
            .input(&week)
            .env("COLUMNS", "1000")
            .result()
    };
    (one_line(&with("text")), serde_json::from_str(&with("json")).unwrap())
}

/// Wrapped lines as one.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The sentences of a list of remarks.
fn texts<'v>(value: &'v Value, key: &str) -> Vec<&'v str> {
    value[key].as_array().unwrap().iter().map(|remark| remark["text"].as_str().unwrap()).collect()
}

fn near(value: &Value, wanted: f64) {
    assert!((value.as_f64().unwrap() / wanted - 1.0).abs() < 1e-12, "{value} {wanted}");
}

#[track_caller]
fn says(text: &str, words: &str) {
    assert!(text.contains(words), "{words}\n\n{text}");
}

#[test]
fn a_dose_without_its_base_takes_nothing_of_its_name_along() {
    let recipe = "parts: {peat or coir: 3, castings: 1, perlite: 1}\n\
                  doses: {lime: 1 g/L, castings: {rate: 5 g/L, of: peat}}\n\
                  changes: [{for: kale, add: {lime: {rate: 2 g/L, of: peat}}}]\n";
    let (sheet, plan) = scale(recipe, &["--crop", "kale", "--use", "coir"]);
    let batch = &plan["batches"][0];
    let parts: Vec<_> = batch["ingredients"].as_array().unwrap().iter().map(|part| part["name"].clone()).collect();
    assert_eq!(parts, ["coir", "castings", "perlite"]);
    let doses = batch["doses"].as_array().unwrap();
    assert_eq!(doses.len(), 1);
    near(&doses[0]["grams"], 100.0);
    let sheet = one_line(&sheet);
    says(&sheet, "Less castings: it is dosed on peat, and this mix has none.");
    says(&sheet, "Less lime: it is dosed on peat, and this mix has none.");
}

#[test]
fn the_sheet_says_what_stands_in_for_a_choice() {
    let recipe = "parts: {peat or limed peat: 3, perlite: 1}\n";
    let (sheet, plan) = scale(recipe, &["--crop", "blueberry", "--use", "limed peat"]);
    assert_eq!(plan["batches"][0]["ingredients"][0]["name"], "peat");
    near(&plan["batches"][0]["ingredients"][0]["loose_l"], 75.0);
    says(&one_line(&sheet), "No limed peat: blueberry (an acid, poor mix is wanted); peat instead");
}

#[test]
fn an_own_crop_stands_for_the_other_names_of_the_built_in_one() {
    let rest = "crops: {broccoli: {family: Brassicaceae, germination: 100 %}}\n\
                sowings: [{crop: calabrese, plants: 50, tray: 72-cell, usable: 100 %}]\n";
    let (_, plan) = week("parts: {peat: 1}\n", rest);
    assert_eq!(
        (plan["sowings"][0]["crop"].as_str(), plan["sowings"][0]["cells"].as_u64()),
        (Some("broccoli"), Some(50))
    );
}

/// Two crops of one tray with layers of their own, and a tray whose depth is not known.
#[test]
fn every_top_layer_is_printed() {
    let recipe = "parts: {peat: 1}\nchanges:\n  - {for: begonia, top: {sieve: 5 mm, depth: 10 mm}}\n  \
                  - {for: leek, top: {sieve: 8 mm, depth: 7 mm}}\n";
    let both = "trays: {flat: {cells: 100, rows: 10, cell: 20 mL}}\n\
                sowings: [{crop: begonia, cells: 200, tray: 200-cell}, {crop: leek, cells: 200, tray: 200-cell}";
    let (sheet, plan) = week(recipe, &format!("{both}]\n"));
    // Cells of 12 mL, 35 mm deep.
    near(&plan["batches"][0]["top_l"], 2.4 * 10.0 / 35.0 + 2.4 * 7.0 / 35.0);
    says(
        &sheet,
        "put 0.69 L through a 5 mm sieve, and top each cell of begonia in 200-cell with 10 mm of it; sow on it.",
    );
    says(&sheet, "put 0.48 L through a 8 mm sieve, and top each cell of leek in 200-cell with 7 mm of it; sow on it.");
    let (sheet, plan) = week(recipe, &format!("{both}, {{crop: begonia, cells: 100, tray: flat}}]\n"));
    assert!(plan["batches"][0]["top_l"].is_null());
    says(
        &sheet,
        "put 0.69 L through a 5 mm sieve, and top each cell of begonia in 200-cell with 10 mm of it; sow on it.",
    );
    says(&sheet, "put some through a 5 mm sieve, and top each cell of begonia in flat with 10 mm of it; sow on it.");
    says(&sheet, "the depth of `flat` is not known");
    let (_, plan) = week(recipe, "sowings: [{crop: kale, trays: 1, tray: 200-cell}]\n");
    assert_eq!(plan["batches"][0]["top_l"], 0.0);
}

/// A layer deeper than its cell, and a cell that is far from the usual one of its tray, are planned and warned of.
#[test]
fn slips_in_trays_are_warned_of() {
    let recipe = |depth: &str| {
        format!("parts: {{peat: 1}}\nchanges: [{{for: begonia, top: {{sieve: 5 mm, depth: {depth}}}}}]\n")
    };
    let codes = |depth: &str, cell: &str| {
        let trays =
            format!("trays: {{50-cell: {{cell: {cell}}}}}\nsowings: [{{crop: begonia, cells: 200, tray: 200-cell}}");
        let (_, plan) = week(&recipe(depth), &format!("{trays}, {{crop: kale, cells: 50, tray: 50-cell}}]\n"));
        let cautions = plan["cautions"].as_array().unwrap().clone();
        let code = |caution: &Value| caution["code"].as_str().unwrap().to_owned();
        cautions.iter().map(code).filter(|code| code == "top-too-deep" || code == "odd-cell").collect::<Vec<_>>()
    };
    assert!(codes("35 mm", "90 mL").is_empty());
    assert_eq!(codes("36 mm", "90 mL"), ["top-too-deep"]);
    for cell in ["1.1 L", "10 mL"] {
        assert_eq!(codes("5 mm", cell), ["odd-cell"]);
    }
    let own = recipe("10 m");
    let fault = run(["check", "own.yaml"]).file("own.yaml", format!("recipe: own\n{own}")).refusal();
    assert!(fault.contains("a layer in a cell is 0.1 to 300 mm deep"), "{fault}");
}

/// Two recipes that come out the same: only what the one leaves out is saved, and the
/// name of the batch is the other's own.
#[test]
fn only_the_sowings_concerned_save_something() {
    let rest = "sowings:\n  - {crop: kale, trays: 3, tray: 72-cell, recipe: dosed}\n  \
                - {crop: leek, trays: 1, tray: 72-cell, recipe: bare}\n";
    let text = run(["plan", "-", "--format", "json"])
        .file("dosed.yaml", "recipe: dosed\nparts: {peat: 1}\ndoses: {inoculant: 10 g/L}\n")
        .file("bare.yaml", "recipe: bare\nparts: {peat: 1}\n")
        .input(format!("week: beds\n{rest}"))
        .result();
    let plan: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(plan["batches"].as_array().unwrap().len(), 1);
    let batch = &plan["batches"][0];
    assert_eq!(batch["name"], "bare");
    // Three trays of four: 10 g/L of three quarters of the mix.
    let grams = (batch["mix_l"].as_f64().unwrap() * 7.5).floor();
    let why = batch["left_out"][0]["why"].as_str().unwrap();
    let saved: f64 = why.split("saves ").nth(1).unwrap().split(' ').next().unwrap().replace(',', "").parse().unwrap();
    assert!((saved - grams).abs() <= 1.0, "{why} {grams}");
}

#[test]
fn strong_doses_and_doses_as_parts_are_warned_of() {
    let warnings = |recipe: &str| {
        let (_, plan) = scale(recipe, &[]);
        let cautions = texts(&plan, "cautions").into_iter();
        cautions.filter(|words| words.starts_with("The batch")).collect::<Vec<_>>().join("\n")
    };
    // Common rates, and the strongest published ones, pass.
    let usual = "parts: {peat: 1}\ndoses: {lime: 7 g/L, base fertiliser for loam: 9 g/L}\n";
    assert_eq!(warnings(usual), "");
    let of = |doses: &str| warnings(&format!("parts: {{peat: 1}}\ndoses: {{{doses}}}\n"));
    let lime = warnings("parts: {peat: 1}\ndoses: {lime: 5 g/L, chalk: {rate: 4 g/L, per: loose}}\n");
    says(&lime, "holds 9 g of lime and chalk to the litre, and 3 to 7 g are published for peat");
    // Of the peat, too, where it is dosed on that: half of the mix.
    let of_peat = warnings("parts: {peat: 1, perlite: 1}\ndoses: {lime: {rate: 12 g/L, of: peat}}\n");
    says(&of_peat, "holds 12 g of lime to the litre of peat, and 3 to 7 g are published for peat");
    let fertiliser = of("blood meal: 11 g/L, gypsum: 5 g/L");
    says(&fertiliser, "holds 11 g of blood meal to the litre, and above about 10 g salts");
    // By the spoon as much as water weighs; fertilisers count together, and what harms sooner for more.
    let spoon = of("lime: 9 mL/L");
    says(&spoon, "holds 9 g of lime to the litre (what is by the spoon taken to weigh as much as water), and");
    let meals = of("blood meal: 6 g/L, hoof and horn: 5 g/L");
    says(&meals, "holds 11 g of blood meal and hoof and horn to the litre, and above about 10 g salts");
    let spoons = of("blood meal: 14 mL/L, hoof and horn: 15 mL/L");
    says(&spoons, "holds 29 g of blood meal and hoof and horn to the litre (what");
    let potash = of("potassium nitrate: 1.9 g/L, potassium sulfate: 3 g/L");
    says(&potash, "holds 4.9 g of potassium nitrate and potassium sulfate to the litre, and above about 2 g salts");
    // Four fifths of one and all of the other: 10 g of such salts, of which 10 / 1.8 are enough.
    let both = of("complete fertiliser: 8 g/L, calcium nitrate: 2 g/L");
    says(&both, "holds 10 g of complete fertiliser and calcium nitrate to the litre, and above about 5.6 g salts");
    // One more takes nothing back.
    says(&of("potassium nitrate: 1.9 g/L, potassium sulfate: 0.3 g/L, superphosphate: 1 g/L"), "holds 3.2 g of");
    let told = [lime, of_peat, fertiliser, spoon, meals, spoons, potash, both];
    assert!(told.iter().all(|told| told.lines().count() == 1));
    // Granules of trace elements at 1.5 lb to a cubic yard, iron sulfate as in the Cornell foliage mix (Mott, read), gypsum, and
    // ten pounds of bone meal with five of blood meal (Cornell, organic; all but the foliage mix from memory).
    for usual in [
        "trace elements: 1.01 g/L, iron sulfate: 0.4 g/L, gypsum: 3 g/L, superphosphate: 1.2 g/L, potassium nitrate: 0.6 g/L",
        "bone meal: 6.7 g/L, blood meal: 3.4 g/L",
    ] {
        assert_eq!(of(usual), "", "{usual}");
    }
    let harmful = [
        ("calcium nitrate: 2.5 g/L", "2 g"),
        ("trace elements: 1.1 g/L", "1 g"),
        ("iron sulfate: 2 g/L", "1.5 g"),
        ("gypsum: 6 g/L", "5 g"),
    ];
    for (dose, most) in harmful {
        says(&of(dose), &format!("above about {most} salts can"));
    }
    let part = warnings("parts: {peat: 9, inoculant: 1}\n");
    says(&part, "is 10 % inoculant, which is dosed by the gram as a rule");
}

#[test]
fn the_acid_warning_claims_only_what_was_left_out() {
    let warning = |recipe: &str| {
        let (_, plan) = scale(recipe, &["--crop", "blueberry"]);
        texts(&plan, "cautions").join("\n")
    };
    says(&warning("parts: {peat: 3, castings: 1}\ndoses: {lime: 1 g/L}\n"), "left out for that: castings and lime.");
    let ready = warning("parts: {ready-made mix: 1}\n");
    says(&ready, "blueberry; nothing of the recipe was left out for that. Check the rest");
}

#[test]
fn inoculant_asked_for_where_it_does_nothing() {
    let recipe = "parts: {peat: 1}\ndoses: {inoculant: 1 g/L}\n";
    let with = |crop: &str| {
        let rest = format!("sowings: [{{crop: {crop}, cells: 70, tray: 72-cell, inoculant: yes}}]\n");
        texts(&week(recipe, &rest).1, "notes").join("\n")
    };
    says(&with("kale"), "puts inoculant in the mix for kale");
    assert!(!with("leek").contains("puts inoculant"));
}

#[test]
fn what_is_not_known_of_the_light_is_a_warning() {
    let rest = "crops: {oca: {family: Brassicaceae}}\nsowings: [{crop: oca, cells: 70, tray: 72-cell, seeds: 3}]\n";
    let (_, plan) = week("parts: {peat: 1}\n", rest);
    says(&texts(&plan, "cautions").join("\n"), "Nothing is known of the light that oca wants");
    says(&texts(&plan, "notes").join("\n"), "Thin oca to the strongest of each cell");
}

/// A family of no rule is no misspelling where an own crop has it.
#[test]
fn a_family_of_an_own_crop_may_be_named() {
    let rest = "crops: {oca: {family: Oxalidaceae-own, mycorrhiza: host}}\n\
                ingredients: {tea: {serves: {family: oxalidaceae-own}}}\n\
                sowings: [{crop: oca, cells: 70, tray: 72-cell}, {crop: leek, cells: 70, tray: 72-cell}]\n";
    let recipe = "parts: {peat: 1}\ndoses: {tea: 1 g/L}\nchanges: [{for: {family: Oxalidaceae-own}, sieve: 6 mm}]\n";
    let (sheet, plan) = week(recipe, rest);
    assert_eq!(plan["batches"].as_array().unwrap().len(), 2);
    says(&sheet, "Fills 1 x 72-cell leek. * No tea: not among those it serves; saves 4.3 g.");
}

/// An own entry of a known name states what differs; above all, a weighed inoculant is
/// still kept from what cannot use it.
#[test]
fn an_own_entry_changes_only_what_it_states() {
    let rest = "trays: {72-cell: {cell: {ten_weigh: 700 g}}}\n\
                crops: {kale: {pace: fast}}\n\
                ingredients: {inoculant: {dry_density: 500 g/L}}\n\
                sowings: [{crop: kale, trays: 1, tray: 72-cell}, {crop: tomato, trays: 1, tray: 72-cell}]\n";
    let (sheet, plan) = week("parts: {peat: 1}\ndoses: {inoculant: 1 g/L}\n", rest);
    says(&sheet, "Fills 1 x 72-cell kale. * No inoculant: no mycorrhiza there, so no benefit is expected");
    assert_eq!(plan["sowings"][0]["cell_ml"], 70.0);
    says(&sheet, "Inoculant: dose and handle as the label says.");
    assert!(!texts(&plan, "notes").join("\n").contains("Cell volumes of 72-cell"), "{}", plan["notes"]);
    near(&plan["totals"]["cells_l"], 2.0 * 72.0 * 0.07);
}

/// Another family under a known name is another plant.
#[test]
fn an_own_crop_of_another_family_takes_nothing_over() {
    let rest = "crops: {rocket: {family: Solanaceae}}\nsowings: [{crop: rocket, cells: 72, tray: 72-cell}]\n";
    let (_, plan) = week("parts: {peat: 1}\ndoses: {inoculant: 1 g/L}\n", rest);
    assert_eq!(plan["batches"][0]["doses"].as_array().unwrap().len(), 1, "{}", plan["batches"]);
    says(&texts(&plan, "cautions").join("\n"), "Nothing is known of the light that rocket wants");
}

/// A part that falls away is told even where a dose of it comes back.
#[test]
fn a_dose_does_not_make_up_for_a_part() {
    let recipe = "parts: {peat: 3, castings: 1}\nchanges: [{for: kale, drop: castings, instead: perlite}, \
                  {for: kale, add: {castings: 2 g/L}}]\n";
    let (sheet, _) = scale(recipe, &["--crop", "kale"]);
    says(&one_line(&sheet), "Less castings: kale");
}

/// What serves crops by their seed is no inoculant.
#[test]
fn only_what_serves_by_mycorrhiza_is_an_inoculant() {
    let recipe = |serves: &str| {
        format!(
            "ingredients: {{dust: {{kind: bulk, serves: {serves}}}, tsp: {{kind: dose, phosphorus: soluble}}}}\n\
             parts: {{peat: 3, dust: 1}}\ndoses: {{tsp: 1 g/L}}\n"
        )
    };
    let told = |serves: &str| {
        let (_, scaled) = scale(&recipe(serves), &["--crop", "tomato"]);
        scaled["cautions"].to_string().contains("beside an inoculant")
    };
    assert!(!told("{seed: [fine, small, medium, large]}"));
    assert!(told("{mycorrhiza: host}"));
}

/// Two recipes of the same shares are one batch, told by the first name in its own parts.
#[test]
fn a_batch_is_named_alike_in_any_order_of_the_file() {
    let sowings =
        ["{crop: kale, trays: 2, tray: 72-cell, recipe: aaa}", "{crop: kale, trays: 2, tray: 72-cell, recipe: bbb}"];
    let name = |order: [&str; 2]| {
        let week = format!("week: beds\nsowings: [{}]\n", order.join(", "));
        let text = run(["plan", "-", "--format", "json"])
            .file("aaa.yaml", "recipe: aaa\nparts: {peat: 3, perlite: 1}\n")
            .file("bbb.yaml", "recipe: bbb\nparts: {peat: 6, perlite: 2}\n")
            .input(&week)
            .result();
        serde_json::from_str::<Value>(&text).unwrap()["batches"].clone()
    };
    assert_eq!(name([sowings[0], sowings[1]]), name([sowings[1], sowings[0]]));
    assert_eq!(name([sowings[1], sowings[0]])[0]["name"], "aaa");
}

#[test]
fn rates_in_other_units_are_one_batch_if_they_come_to_the_same() {
    // A cubic yard is 27 cubic feet.
    let recipe = "parts: {peat: 3, perlite: 1}\ndoses: {lime: 2 oz/cu ft}\n\
                  changes: [{for: kale, set: {lime: 54 oz/cu yd}}]\n";
    let sowings = "sowings: [{crop: kale, trays: 1, tray: 72-cell}, {crop: leek, trays: 1, tray: 72-cell}]\n";
    assert_eq!(week(recipe, sowings).1["batches"].as_array().unwrap().len(), 1);
    let other = recipe.replace("54 oz", "55 oz");
    assert_eq!(week(&other, sowings).1["batches"].as_array().unwrap().len(), 2);
}

#[test]
fn what_a_mix_feeds_is_a_fact_of_its_ingredients() {
    let when = "mix_on: 2027-03-06\nsowings: [{crop: lettuce, trays: 1, tray: 72-cell}]\n";
    let charged = week("parts: {ready-made mix: 3, perlite: 1}\n", when).0;
    assert!(charged.contains("starter charge") && charged.contains("the mix feeds till then"), "{charged}");
    let traces = week("parts: {peat: 3, perlite: 1}\ndoses: {trace elements: 0.1 g/L}\n", when).0;
    assert!(traces.contains("the mix holds no food"), "{traces}");
    let own = "ingredients: {meadow pellets: {kind: bulk, feeds: yes}}\n";
    let fed = week(&format!("{own}parts: {{peat: 3, meadow pellets: 1}}\n"), when).0;
    assert!(fed.contains("the mix feeds till then"), "{fed}");
}

#[test]
fn an_own_dose_far_above_what_is_usual_is_warned_of() {
    let strong = |entry: &str| {
        let recipe = format!(
            "ingredients: {{pellets: {{kind: dose{entry}}}}}\nparts: {{peat: 1}}\ndoses: {{pellets: 60 g/L}}\n"
        );
        scale(&recipe, &[]).0.contains("holds 60 g of pellets to the litre")
    };
    assert!(strong("") && strong(", cautions: [fertiliser]") && strong(", most: 57 g/L"));
    assert!(!strong(", feeds: no") && !strong(", most: 60 g/L"));
}

#[test]
fn a_dose_by_weight_and_by_measure_is_one_ingredient() {
    let sowings = "{crop: kale, trays: 1, tray: 72-cell}, {crop: leek, trays: 1, tray: 72-cell, recipe: spoons}";
    let text = run(["plan", "-", "--format", "json"])
        .file("own.yaml", "recipe: own\nparts: {peat: 1}\ndoses: {lime: 2 g/L, gypsum: 1 g/L}\n")
        .file("spoons.yaml", "recipe: spoons\nparts: {peat: 1}\ndoses: {lime: 1 tsp/L}\n")
        .input(format!("week: beds\nrecipe: own\nsowings: [{sowings}]\n"))
        .result();
    let found: Value = serde_json::from_str(&text).unwrap();
    let order = found["mixing"]["order"].to_string();
    assert!(order.contains("Strew lime and gypsum over it"), "{order}");
    // What is needed of it by weight and by volume stands together.
    let lines = found["purchases"]["lines"].as_array().unwrap();
    let names: Vec<&str> = lines.iter().map(|line| line["ingredient"].as_str().unwrap()).collect();
    assert_eq!(names, ["peat", "vermiculite", "lime", "lime", "gypsum"]);
}

/// An entry that says a name twice is no reason to stop; one that takes another's is refused, and keeps none.
#[test]
fn own_names_said_twice() {
    let own = |ingredients: &str| format!("recipe: own\nparts: {{x: 1}}\ningredients: {{{ingredients}}}\n");
    let scaled = |file: String| run(["scale", "own.yaml", "--make", "5 L"]).file("own.yaml", file);
    assert!(scaled(own("x: {kind: bulk, also: [y, y, x]}")).result().contains("5 L of mix"));
    let fault = scaled(own("x: {kind: bulk}, z: {kind: bulk, also: [w, x]}")).refusal();
    assert!(fault.starts_with("error[name-twice]: the name `x` is taken"), "{}", fault);
}

#[test]
fn two_doses_of_one_ingredient_keep_their_rates() {
    let (sheet, _) = scale(
        "parts: {peat: 1}\ndoses: {lime: 1 g/L}\nchanges: [{for: [leek], add: {lime: {rate: 2 g/L, of: peat}}}]\n",
        &["--crop", "leek"],
    );
    assert!(sheet.contains("lime (1 g/L)") && sheet.contains("lime (2 g/L of peat)"), "{sheet}");
}

#[test]
fn a_dose_in_other_spoons_is_the_same_dose() {
    let recipe = |name: &str, dose: &str| format!("recipe: {name}\nparts: {{peat: 1}}\ndoses: {{gypsum: {dose}}}\n");
    let sowings = "{crop: kale, trays: 1, tray: 72-cell}, {crop: leek, trays: 1, tray: 72-cell, recipe: spoons}";
    let text = run(["plan", "-", "--format", "json"])
        .file("own.yaml", recipe("own", "1 tbsp/US gal"))
        .file("spoons.yaml", recipe("spoons", "3 tsp/US gal"))
        .input(format!("week: beds\nrecipe: own\nsowings: [{sowings}]\n"))
        .result();
    let found: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(found["batches"].as_array().unwrap().len(), 1);
}
