//! The bucket test: `trayful yield`.

use crate::support::run;

/// 12 L in and 10.5 L out keep 87.5 %.
#[test]
fn the_yield_is_put_in_its_place_and_nothing_else_changes() {
    let recipe =
        "# ours\nrecipe: own\nparts: {peat: 3, perlite: 1}   # loose\nyield: 88 %\ndoses: {inoculant: 1 g/L}\n";
    let arguments = ["yield", "own.yaml", "--before", "12L", "--after", "10.5L"];
    let output = run(arguments).file("own.yaml", recipe).done();
    assert_eq!((output.status, output.stderr.as_str()), (0, ""));
    assert_eq!(output.stdout, "recipe `own`: yield 87.5 %, written to own.yaml\n");
    assert_eq!(output.file("own.yaml").unwrap(), recipe.replace("88 %", "87.5 %"));
}

#[test]
fn a_recipe_without_a_yield_gets_a_line() {
    for (recipe, end) in [("recipe: own\nparts: {peat: 1}", "\n"), ("recipe: own\r\nparts: {peat: 1}\r\n", "\r\n")] {
        let output =
            run(["yield", "own.yaml", "--before", "2 US gal", "--after", "7 US qt"]).file("own.yaml", recipe).done();
        assert_eq!(output.status, 0, "{}", output.stderr);
        let text = output.file("own.yaml").unwrap();
        assert!(text.starts_with(recipe.trim_end()) && text.contains("yield: 87.5 %"), "{text}");
        assert!(text.ends_with(end), "{text:?}");
    }
}

/// Outside 60 to 100 % a slip is likelier than such a mix: said, and written only with `--anyway`; a
/// recipe cannot hold more than 100 % at all. By hand: 6 of 10 L are 60 %, 5.9 are 59 %, 2.5 are 25 %.
#[test]
fn an_odd_yield_is_asked_about_and_written_only_when_told_to() {
    let recipe = "recipe: own\nparts: {peat: 1}\nyield: 88 %\n";
    let yields = |after: &str, more: &[&str]| {
        let arguments = ["yield", "own.yaml", "--before", "10 L", "--after", after];
        let output = run(arguments.iter().chain(more)).file("own.yaml", recipe).done();
        let text = output.file("own.yaml").unwrap();
        (output.status, output.stdout, output.stderr, text)
    };
    for (after, kept) in [("6 L", "60 %"), ("10 L", "100 %")] {
        let (status, said, _, text) = yields(after, &[]);
        assert_eq!((status, said), (0, format!("recipe `own`: yield {kept}, written to own.yaml\n")));
        assert_eq!(text, recipe.replace("88 %", kept));
    }
    for (after, kept) in [("5.9 L", "59 %"), ("2.5 L", "25 %")] {
        let (status, said, faults, text) = yields(after, &[]);
        assert_eq!((status, said.as_str(), text.as_str()), (2, "", recipe));
        assert!(faults.contains(&format!("{kept} is less than mixes keep")) && faults.contains("--anyway"), "{faults}");
        let (status, said, _, text) = yields(after, &["--anyway"]);
        assert_eq!((status, text), (0, recipe.replace("88 %", kept)));
        assert!(said.contains(&format!("yield {kept}")) && said.contains("60 to 100 %"), "{said}");
    }
    for after in ["10.1 L", "0.9 L"] {
        let (status, _, _, text) = yields(after, &["--anyway"]);
        assert_eq!((status, text.as_str()), (2, recipe));
    }
    let shown = run(["yield", "everyday", "--before", "10 L", "--after", "2.5 L"]).result();
    assert!(shown.contains("25 % is less than mixes keep"), "{shown}");
}

#[test]
fn what_cannot_be_is_refused_and_leaves_the_file_alone() {
    let recipe = "recipe: own\nparts: {peat: 1}\n";
    for (before, after, says) in [
        ("10 L", "11 L", "more came out"),
        ("10 L", "0.5 L", "less than a tenth"),
        ("10", "9 L", "has no unit"),
        ("0 L", "9 L", "is zero"),
    ] {
        let output = run(["yield", "own.yaml", "--before", before, "--after", after]).file("own.yaml", recipe).done();
        assert_eq!(output.status, 2);
        assert!(output.stderr.contains(says), "{}", output.stderr);
        assert_eq!(output.file("own.yaml").unwrap(), recipe);
    }
    let message =
        run(["yield", "own.yaml", "--before", "10 L", "--after", "9 L"]).file("own.yaml", "recipe: own\n").refusal();
    assert!(message.contains("needs `parts:`"), "{message}");
    let shown = run(["yield", "everyday", "--before", "10 L", "--after", "9 L"]).result();
    assert!(shown.contains("90 %") && shown.contains("not changed"), "{shown}");
}
