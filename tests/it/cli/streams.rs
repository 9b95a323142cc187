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
        .input(project("recipes/weeks/plant-sale-2.yaml").replace("../places/", ""))
        .file("plant-sale-2.csv", project("recipes/weeks/plant-sale-2.csv"))
        .file("club.yaml", project("recipes/places/club.yaml").replace("../stock/", ""))
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
    let missing = "none.yaml: there is no such file\n |\n = help: `trayful new --help` tells how to start one\n\n";
    run(["plan", "none.yaml"]).gives(2, "", &format!("error[unreadable]: {missing}"));
}

/// Opening a pipe may wait for ever, a device may never end: neither is opened.
#[test]
fn pipes_and_devices_are_refused_as_files() {
    let refused = "is a pipe or a device, not a file\n";
    let help = " |\n = help: what a pipe gives is read from standard input, which is named `-`\n\n";
    run(["plan", "/dev/zero"]).gives(2, "", &format!("error[unreadable]: /dev/zero: {refused}{help}"));
    for command in [
        "plan pipe",
        "check pipe",
        "soak pipe",
        "fill pipe.yaml --tray 72-cell",
        "fill everyday --tray 72-cell --stock pipe",
    ] {
        let output = shell(&format!("mkfifo pipe pipe.yaml && timeout 20 \"$T\" {command}")).done();
        assert_eq!((output.status, output.stdout.as_str()), (2, ""), "{command}: {}", output.stderr);
        assert!(
            output.stderr.contains("pipe or a device") || output.stderr.contains("no recipe file"),
            "{}",
            output.stderr
        );
    }
    for named in ["sowings: pipe", "stock: pipe\nsowings: sowings.csv"] {
        let week = format!("week: beds\nrecipe: everyday\n{named}\n");
        let output = shell("mkfifo pipe && timeout 20 \"$T\" plan week.yaml")
            .file("week.yaml", week)
            .file("sowings.csv", "crop,tray,cells\nkale,72-cell,70\n")
            .done();
        assert!(
            output.stderr.starts_with(&format!("error[unreadable]: pipe: {refused} --> week.yaml:3:")),
            "{}",
            output.stderr
        );
        assert_eq!(output.status, 2);
    }
    // Standard input by its other name.
    let file = run(["plan", "week.yaml"]).file("week.yaml", WEEK).result();
    assert_eq!(run(["plan", "/dev/stdin"]).input(WEEK).result(), file);
}

/// Only with a terminal or a pipe behind it is there anyone to write to.
#[test]
fn a_closed_standard_output_is_a_fault() {
    for arguments in ["plan week.yaml", "check week.yaml", "list", "--help", "plan --help", "--version", "man"] {
        let message = shell(&format!("\"$T\" {arguments} >&-")).file("week.yaml", WEEK).refusal();
        assert_eq!(
            message,
            "error: standard output is closed: name a file for the result by `--output FILE`, `/dev/null` for none\n"
        );
    }
    // Given away, it is open; and a file takes the result without it.
    for arguments in
        ["plan week.yaml > /dev/null", "plan week.yaml -o sheet.txt >&-", "plan week.yaml >&- -o /dev/null"]
    {
        shell(&format!("\"$T\" {arguments}")).file("week.yaml", WEEK).gives(0, "", "");
    }
    // A caller may open the null device in any way.
    shell("\"$T\" plan week.yaml 1<>/dev/null").file("week.yaml", WEEK).gives(0, "", "");
    // Nothing is left to say it on.
    assert_eq!(shell("\"$T\" plan week.yaml >&- 2>&-").file("week.yaml", WEEK).done().status, 2);
    // With standard input closed, too, the null device takes both places.
    let message = shell("\"$T\" plan week.yaml <&- >&-").file("week.yaml", WEEK).refusal();
    assert!(message.starts_with("error: standard output is closed: "), "{message}");
    shell("\"$T\" plan week.yaml <&- >&- -o sheet.txt").file("week.yaml", WEEK).gives(0, "", "");
    let output = shell("\"$T\" plan week.yaml <&- >&- 2>&-").file("week.yaml", WEEK).done();
    assert_eq!((output.status, output.stdout.as_str(), output.stderr.as_str()), (2, "", ""));
}

#[test]
fn help_on_a_full_standard_output_is_a_fault() {
    let message = shell("\"$T\" --help > /dev/full").refusal();
    assert!(message.starts_with("error: the result could not be written: "), "{message}");
}

/// The zone of the system: nothing it may be set to hangs, grows or stops the program.
#[test]
fn a_zone_that_is_none_is_said_and_taken_as_utc() {
    let week = WEEK.replace("sowings", "mix_on: 2027-07-06 10:00\nsowings");
    let json = |zone: &str| {
        let script = format!("mkfifo pipe; TZ=\"{zone}\" timeout 20 \"$T\" plan week.yaml --format json | grep mix_on");
        shell(&script).file("week.yaml", &week).file("huge", vec![b'T'; 1 << 20]).done()
    };
    for zone in ["pipe", ":pipe", "$PWD/pipe", "/dev/zero", ":/dev/zero", "huge", ".", "no/such/zone", "\u{1b}[31m"] {
        let output = json(zone);
        assert!(output.stdout.contains("T10:00:00+00:00"), "{zone}: {}", output.stdout);
        assert!(output.stderr.starts_with("note: `TZ="), "{zone}: {}", output.stderr);
        assert!(output.stderr.ends_with("` is no time zone: times are taken as UTC\n"), "{zone}: {}", output.stderr);
        assert!(!output.stderr.contains('\u{1b}'));
    }
    for (zone, offset) in [
        ("", "+00:00"),
        ("UTC", "+00:00"),
        ("Europe/Paris", "+02:00"),
        (":Europe/Paris", "+02:00"),
        ("/usr/share/zoneinfo/Europe/Paris", "+02:00"),
        ("EST5EDT,M3.2.0,M11.1.0", "-04:00"),
    ] {
        let output = json(zone);
        assert_eq!(output.stderr, "", "{zone}");
        assert!(output.stdout.contains(&format!("T10:00:00{offset}")), "{zone}: {}", output.stdout);
    }
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

/// Of a table with hundreds of thousands of rows the result would fill the memory.
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
