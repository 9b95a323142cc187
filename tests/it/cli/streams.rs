//! Standard input and output, open, closed and full.

use super::WEEK;
use crate::support::{project, run, shell};
use std::fs::OpenOptions;
use std::io::{self, Write};
use std::process::Stdio;
use trayful::cli::{DONE, Surroundings};

#[test]
fn a_week_from_standard_input() {
    let file = run(["plan", "week.yaml"]).file("week.yaml", WEEK).result();
    assert_eq!(run(["plan", "-"]).input(WEEK).result(), file);
    // A byte-order mark and line ends of any kind make no difference.
    let windows = format!("\u{feff}{}", WEEK.replace('\n', "\r\n"));
    assert_eq!(run(["plan", "-"]).input(windows).result(), file);
    assert_eq!(run(["plan", "-"]).input(WEEK.replace('\n', "\r")).result(), file);
}

/// What is at hand is set against a week or a recipe that is piped in.
#[test]
fn fill_reads_a_week_or_a_recipe_from_standard_input() {
    let have = ["--have", "peat=90 L", "--have", "perlite=90 L"];
    let fill = |what: &str, more: &[&str]| run([&["fill", what][..], &have, more].concat());
    let week = fill("week.yaml", &[]).file("week.yaml", WEEK).done();
    let piped = fill("-", &[]).input(WEEK).done();
    assert_eq!((piped.status, &piped.stdout, piped.stderr.as_str()), (week.status, &week.stdout, ""));
    let recipe = "recipe: plain\nparts: {peat: 3, perlite: 1}\n";
    let tray = ["--tray", "72-cell"];
    let named = fill("plain.yaml", &tray).file("plain.yaml", recipe).result();
    assert_eq!(fill("-", &tray).input(recipe).result(), named);
    // What is neither is told as what it is.
    let message = fill("-", &[]).input("week: [\n").refusal();
    assert!(message.starts_with("error[syntax]: -:") || message.contains(" --> -:"), "{message}");
}

#[test]
fn faults_on_standard_input_say_so() {
    let message = run(["plan", "-"]).input(WEEK.replace("kale", "kail")).refusal();
    assert!(message.contains(" --> -:4:12\n"), "{message}");
    run(["plan", "-"]).gives(2, "", "error[syntax]: -: is empty\n\n");
}

/// Its table is looked for in the folder the program runs in.
#[test]
fn a_week_from_standard_input_finds_its_table() {
    let output = run(["plan", "-"])
        .input(project("recipes/weeks/plant-sale-2.yaml").replace("../stock/", ""))
        .file("plant-sale-2.csv", project("recipes/weeks/plant-sale-2.csv"))
        .file("club-shed.yaml", project("recipes/stock/club-shed.yaml"))
        .done();
    assert_eq!((output.status, output.stderr.as_str()), (0, ""));
}

#[test]
fn a_reader_that_has_had_enough_is_no_fault() {
    for script in ["\"$T\" list crops | true", "\"$T\" list | head -n 1", "\"$T\" list --format html | head -c 5"] {
        let script = format!("exec 3>&1; {{ {{ {script} >&4; }} 4>/dev/null; }} 2>&1");
        let output = shell(&script).done();
        assert_eq!((output.status, output.stdout.as_str(), output.stderr.as_str()), (0, "", ""));
    }
    // Closed before anything is written: status and message seen from outside.
    let week = run(["plan", "week.yaml"]).file("week.yaml", WEEK);
    let mut child = week.command().stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), output.stderr.as_slice()), (Some(0), &b""[..]));
}

#[test]
fn a_full_standard_output_is_a_fault() {
    let week = run(["plan", "week.yaml"]).file("week.yaml", WEEK);
    let full = OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = week.command().stdout(full).output().unwrap();
    let message = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(message.starts_with("error: the result could not be written: No space left on device"), "{message}");
}

#[test]
fn faults_meet_a_closed_standard_error_quietly() {
    let output = shell("\"$T\" plan none.yaml 2>&-").done();
    assert_eq!((output.status, output.stdout.as_str()), (2, ""));
}

#[test]
fn a_folder_a_missing_file_and_an_unreadable_one() {
    let message = run(["plan", "f"]).file("f/x", "").refusal();
    assert_eq!(message, "error[unreadable]: f: is a folder, not a file\n\n");
    run(["plan", "none.yaml"]).gives(2, "", "error[unreadable]: none.yaml: there is no such file\n\n");
    // Something that never ends is cut off at the limit of its kind.
    let message = run(["plan", "/dev/zero"]).refusal();
    assert!(message.starts_with("error[too-large]: /dev/zero: is larger than 2 MB"), "{message}");
}

/// The bytes written in all, and those of the longest piece.
#[derive(Default)]
struct Pieces {
    all: usize,
    longest: usize,
}

impl Write for Pieces {
    fn write(&mut self, piece: &[u8]) -> io::Result<usize> {
        self.all += piece.len();
        self.longest = self.longest.max(piece.len());
        Ok(piece.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Of a table with a million rows the result would fill the memory.
#[test]
fn a_long_result_is_written_as_it_comes() {
    let folder = tempfile::tempdir().unwrap();
    let week = folder.path().join("week.yaml");
    std::fs::write(&week, "week: long\nrecipe: everyday\nsowings: rows.csv\n").unwrap();
    let rows = "kale,72-cell,20\n".repeat(5_000);
    std::fs::write(folder.path().join("rows.csv"), format!("crop,tray,cells\n{rows}")).unwrap();
    for (format, most) in [("json", 1 << 17), ("csv", 1 << 17)] {
        let arguments = ["trayful", "plan", week.to_str().unwrap(), "--format", format].map(Into::into);
        let (mut out, mut err) = (Pieces::default(), Vec::new());
        assert_eq!(trayful::cli::run(arguments, Surroundings::default(), &mut out, &mut err), DONE);
        assert!(out.all > 2 * most && out.longest <= most, "{format}: {} of {}", out.longest, out.all);
    }
}
