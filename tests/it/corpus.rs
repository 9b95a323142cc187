//! Files that cannot be used: `tests/corpus/bad`, one mistake to a file, named by the
//! mistake, its message a snapshot.
//!
//! `INSTA_UPDATE=always cargo test --test it corpus` writes the messages anew; read every
//! change as someone who is no programmer.

use crate::support::{Run, root, run, shell};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

fn folder() -> PathBuf {
    root().join("tests/corpus/bad")
}

/// The names of the bad files, in order.
fn names() -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.file_type().unwrap().is_file())
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// The message of a bad file. A table is planned in a week of its own, a recipe checked,
/// a week checked and planned, with the same message.
fn message(name: &str) -> String {
    let here = |arguments: &[&str]| -> Run { run(arguments).within(folder()) };
    if Path::new(name).extension().is_some_and(|extension| extension == "csv") {
        let week = format!("week: beds\nrecipe: everyday\nsowings: {name}\n");
        return here(&["plan", "-"]).input(week).refusal();
    }
    let checked = here(&["check", name]).refusal();
    if fs::read(folder().join(name)).unwrap().starts_with(b"week:") {
        assert_eq!(here(&["plan", name]).refusal(), checked, "{name}");
    }
    checked
}

/// What every message has, whatever it says.
fn check_form(name: &str, message: &str) {
    assert!(message.starts_with("error["), "{name}: {message}");
    assert!(message.ends_with("\n\n"), "{name}: {message}");
    assert!(!message.chars().any(|c| c.is_control() && c != '\n'), "{name}: {message:?}");
    // The place, or the file at least.
    let own = message.contains(&format!("{name}:")) || message.contains("beside/") || message.contains("none.csv");
    assert!(own, "{name}: {message}");
    // A quoted line is cut around its place.
    for line in message.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())) {
        assert!(line.chars().count() <= 90, "{name}: {line}");
    }
}

#[test]
fn every_bad_file_and_its_message() {
    let names = names();
    assert!(names.len() > 200, "{}", names.len());
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.set_snapshot_path("../snapshots/bad");
    for name in names {
        let message = message(&name);
        check_form(&name, &message);
        let found = message.lines().filter(|line| line.starts_with("error[")).count();
        assert!(faults(&name).is_none_or(|expected| found == expected), "{name}: {message}");
        settings.bind(|| insta::assert_snapshot!(name.replace('.', "-"), message));
    }
}

/// How many faults a file is reported with: one, but where more are named or follow.
fn faults(name: &str) -> Option<usize> {
    match name {
        _ if name.contains("many-at-once") => None,
        // A crop and a tray of one sowing.
        "wide-characters.yaml" => Some(2),
        // What is misspelt or of the wrong kind is missing too.
        "key-unknown-in-a-sowing.yaml" | "yaml-key-is-a-list.yaml" => Some(2),
        _ => Some(1),
    }
}

/// As large as a file may be.
const LARGEST: usize = 2 << 20;

/// Nothing a file holds makes memory or work grow: all of this within 300 MB of address space and
/// a few seconds of a processor in a test build.
#[test]
fn bombs_are_refused_within_bounded_memory() {
    for name in ["yaml-alias-bomb", "yaml-nested-brackets", "yaml-nested-braces", "yaml-nested-dashes", "long-line"] {
        let script = format!("ulimit -v 200000; ulimit -t 5; \"$T\" plan {name}.yaml");
        let message = shell(&script).within(folder()).refusal();
        assert!(message.starts_with("error["), "{name}: {message}");
    }
    let long = "x".repeat(1000);
    // A beginning, and what follows it to the end.
    let texts = [
        ("", "["),
        ("", "[\n"),
        ("", "{a:\n"),
        ("", "- "),
        ("", "? "),
        ("", ": "),
        ("", "? ? ? ? ? ? ? ?\n"),
        ("[", "?,"),
        ("", "a: b\n"),
        ("", "&a "),
        ("a: |\n  \"\nb:\n", "{a:\n"),
        ("a: it's\nb:\n", "{a: \"'\",\n"),
        (&format!("a: &a {long}\nb:\n"), "- *a\n"),
        (&format!("a: &a \"\\t{long}\"\nb:\n"), "- *a\n"),
        (&format!("a: &a {long}\nb:\n"), "- {*a : c}\n"),
        ("week: w\nsowings:\n", "- {crop: kail, plant: 8}\n"),
        ("week: w\nsowings: [", "{crop: kail, plant: 8}, "),
        ("", "1e308: \"\\t\"\n"),
    ];
    for (begin, more) in texts {
        let script = "ulimit -v 300000; ulimit -t 5; \"$T\" plan week.yaml";
        let text = format!("{begin}{}", more.repeat((LARGEST - begin.len()) / more.len()));
        let message = shell(script).file("week.yaml", text).refusal();
        assert!(message.starts_with("error[") && !message.contains("too-large"), "{more}: {message}");
        assert!(message.len() < 100 * 1_000, "{more}: {}", message.len());
    }
}

/// A table of as many faults as rows is read to its end, and the first hundred are shown.
#[test]
fn the_faults_of_a_long_table_are_counted() {
    let rows = 20_000;
    let table = format!("\ncrop,tray,cells\n{}", "kail,72-cell,8\n".repeat(rows));
    let week = "week: beds\nrecipe: everyday\nsowings: sowings.csv\n";
    let message = run(["plan", "week.yaml"]).file("week.yaml", week).file("sowings.csv", table).refusal();
    assert_eq!(message.matches("error[unknown-crop]").count(), 100);
    assert!(
        message.contains("sowings.csv:3:1\n") && message.ends_with("\n\nand 19900 more in sowings.csv\n\n"),
        "{message}"
    );
}

/// Bounds that a file of one mistake would be too long to show.
#[test]
fn names_and_headers_have_a_length() {
    let name = "x".repeat(201);
    let week = format!("week: {name}\nrecipe: everyday\nsowings: [{{crop: kale, cells: 8, tray: 72-cell}}]\n");
    let message = run(["plan", "-"]).input(week).refusal();
    assert!(message.contains("error[too-large]: this has 201 characters\n --> -:1:7\n"), "{message}");
    check_form("-", &message);
    let week = "week: beds\nrecipe: everyday\nsowings: sowings.csv\n";
    let table = format!("crop{}\n", ",x".repeat(1 << 20));
    let message = run(["plan", "week.yaml"]).file("week.yaml", week).file("sowings.csv", table).refusal();
    assert!(message.contains("expected at most 100 columns"), "{message}");
}

/// A file of 1 GB, most of it a hole, is refused by its size alone.
#[test]
fn a_huge_file_is_refused_at_once() {
    for (name, limit) in [("week.yaml", "2 MB"), ("sowings.csv", "64 MB")] {
        let week = format!("week: beds\nrecipe: everyday\nsowings: {name}\n");
        let file = if name == "week.yaml" { "week.yaml" } else { "own.yaml" };
        let started = Instant::now();
        let huge = shell(&format!("ulimit -v 200000; \"$T\" plan {file}")).file("own.yaml", week);
        fs::File::create(huge.path().join(name)).unwrap().set_len(1 << 30).unwrap();
        let message = huge.refusal();
        assert!(message.starts_with(&format!("error[too-large]: {name}: is larger than {limit}")), "{message}");
        assert!(started.elapsed() < Duration::from_secs(2), "{:?}", started.elapsed());
    }
}
