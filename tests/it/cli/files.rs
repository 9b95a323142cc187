//! `--output`: whole or not at all, and never over a file that the run works with.

use super::WEEK;
use crate::support::{PROGRAM, run, shell};
use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};

#[test]
fn the_file_holds_what_would_have_been_printed() {
    for format in ["text", "json", "html"] {
        let printed = run(["plan", "week.yaml", "--format", format]).file("week.yaml", WEEK).result();
        let output = run(["plan", "week.yaml", "--format", format, "--replace", "--output", "sheet"])
            .file("week.yaml", WEEK)
            .file("sheet", "an older sheet")
            .gives(0, "", "");
        assert_eq!(output.file("sheet"), Some(printed));
        assert_eq!(output.names(), ["sheet", "week.yaml"]);
    }
}

#[test]
fn a_new_file_may_be_read_by_others_and_an_old_one_keeps_its_permissions() {
    let mode = |run: crate::support::Run| {
        let path = run.path().join("sheet");
        let folder = run.path().to_owned();
        let output = run.gives(0, "", "");
        assert!(folder.exists());
        let mode = fs::metadata(&path).unwrap().permissions().mode() & 0o777;
        drop(output);
        mode
    };
    let week = || run(["plan", "week.yaml", "--replace", "-o", "sheet"]).file("week.yaml", WEEK);
    // As the umask leaves it.
    let umask = |expected: u32| expected & 0o600 == 0o600 && expected & 0o111 == 0;
    assert!(umask(mode(week())));
    let old = week().file("sheet", "old");
    fs::set_permissions(old.path().join("sheet"), fs::Permissions::from_mode(0o640)).unwrap();
    assert_eq!(mode(old), 0o640);
}

#[test]
fn a_bad_week_leaves_the_older_sheet_alone() {
    let output = run(["plan", "week.yaml", "--replace", "--output", "sheet.txt"])
        .file("week.yaml", WEEK.replace("kale", "kail"))
        .file("sheet.txt", "an older sheet")
        .done();
    assert_eq!((output.status, output.stdout.as_str()), (2, ""));
    assert_eq!(output.file("sheet.txt").as_deref(), Some("an older sheet"));
    let output = run(["plan", "week.yaml", "--replace", "--output", "sheet.txt"]).file("week.yaml", "week:").done();
    assert_eq!((output.status, output.names()), (2, vec!["week.yaml".to_owned()]));
}

#[test]
fn a_link_is_followed() {
    let week = run(["plan", "week.yaml", "--replace", "--output", "link.txt"])
        .file("week.yaml", WEEK)
        .file("f/sheet.txt", "old");
    symlink("f/sheet.txt", week.path().join("link.txt")).unwrap();
    let folder = week.path().to_owned();
    let output = week.gives(0, "", "");
    assert!(fs::symlink_metadata(folder.join("link.txt")).unwrap().is_symlink());
    assert!(output.file("f/sheet.txt").unwrap().starts_with("beds\n"));
}

#[test]
fn folders_that_are_not_there_or_are_no_file() {
    run(["plan", "week.yaml", "--output", "no/such/sheet"]).file("week.yaml", WEEK).refusal();
    let output = run(["plan", "week.yaml", "--output", "f"]).file("week.yaml", WEEK).file("f/x", "").done();
    assert_eq!((output.status, output.stderr.as_str()), (2, "error: `f` is a folder\n"));
    let message = run(["plan", "week.yaml", "--output", ""]).file("week.yaml", WEEK).refusal();
    assert!(!message.is_empty());
}

#[test]
fn a_read_only_file_is_not_replaced() {
    let week = run(["plan", "week.yaml", "--replace", "--output", "sheet.txt"])
        .file("week.yaml", WEEK)
        .file("sheet.txt", "old");
    fs::set_permissions(week.path().join("sheet.txt"), fs::Permissions::from_mode(0o444)).unwrap();
    let output = week.gives(2, "", "error: `sheet.txt` was not written: it is read-only\n");
    assert_eq!(output.file("sheet.txt").as_deref(), Some("old"));
}

#[test]
fn a_read_only_folder_is_left_as_it_was() {
    let week = run(["plan", "week.yaml", "--replace", "--output", "f/sheet.txt"])
        .file("week.yaml", WEEK)
        .file("f/sheet.txt", "old");
    let folder = week.path().join("f");
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    // The superuser writes everywhere: then there is nothing to see.
    if fs::write(folder.join("probe"), "").is_ok() {
        return;
    }
    let output = week.done();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(output.status, 2);
    assert!(output.stderr.starts_with("error: `f/sheet.txt` was not written: "), "{}", output.stderr);
    assert_eq!(output.file("f/sheet.txt").as_deref(), Some("old"));
}

/// A full disk, as far as a test can make one: a device that is always full, and a limit
/// of no bytes to a file.
#[test]
fn a_full_disk_leaves_nothing_behind() {
    let full = run(["plan", "week.yaml", "--output", "/dev/full"]).file("week.yaml", WEEK).refusal();
    assert!(full.starts_with("error: `/dev/full` was not written: No space left on device"), "{full}");
    for old in [None, Some("old")] {
        let script = "ulimit -f 0; trap '' XFSZ; \"$T\" plan week.yaml --replace --output sheet.txt";
        let mut limited = shell(script).file("week.yaml", WEEK);
        if let Some(old) = old {
            limited = limited.file("sheet.txt", old);
        }
        let output = limited.done();
        assert_eq!((output.status, output.stdout.as_str()), (2, ""), "{}", output.stderr);
        assert!(output.stderr.starts_with("error: `sheet.txt` was not written: File too large"), "{}", output.stderr);
        assert_eq!(output.file("sheet.txt").as_deref(), old);
        let names = if old.is_some() { vec!["sheet.txt", "week.yaml"] } else { vec!["week.yaml"] };
        assert_eq!(output.names(), names);
    }
}

/// Two at once: one whole sheet or the other, and nothing beside it.
#[test]
fn two_at_once_leave_one_whole_sheet() {
    let script = "for i in 1 2 3 4; do \"$T\" plan week.yaml --replace -o sheet.txt & done; wait";
    let output = shell(script).file("week.yaml", WEEK).file("sheet.txt", "old").gives(0, "", "");
    let alone = run(["plan", "week.yaml"]).file("week.yaml", WEEK).result();
    assert_eq!(output.file("sheet.txt"), Some(alone));
    assert_eq!(output.names(), ["sheet.txt", "week.yaml"]);
    assert!(std::path::Path::new(PROGRAM).exists());
}

#[test]
fn a_file_that_is_there_is_replaced_only_where_that_is_asked_for() {
    let sheet = |more: &[&str]| run([&["plan", "week.yaml", "-o", "sheet.txt"], more].concat());
    let refused = "error: `sheet.txt` is there already: add `--replace` to write over it, or give another name\n";
    let output = sheet(&[]).file("week.yaml", WEEK).file("sheet.txt", "old").gives(2, "", refused);
    assert_eq!(output.file("sheet.txt").as_deref(), Some("old"));
    // Before any work: the week is not even looked for.
    sheet(&[]).file("sheet.txt", "old").gives(2, "", refused);
    let output = sheet(&["--replace"]).file("week.yaml", WEEK).file("sheet.txt", "old").gives(0, "", "");
    assert!(output.file("sheet.txt").unwrap().starts_with("beds\n"));
    // Where there is none, the flag does no harm; without a file it says nothing.
    sheet(&["--replace"]).file("week.yaml", WEEK).gives(0, "", "");
    let alone = run(["plan", "week.yaml", "--replace"]).file("week.yaml", WEEK).refusal();
    assert_eq!(alone, "error: `--replace` goes with a file for the result: `--output FILE`\n");
}

/// A starter is filled in by hand: writing over it would lose that.
#[test]
fn new_writes_over_no_file() {
    for more in [&["--replace"][..], &[]] {
        let new = run([&["new", "week", "-o", "week.yaml"], more].concat());
        let output = new.file("week.yaml", WEEK).done();
        assert_eq!((output.status, output.file("week.yaml").as_deref()), (2, Some(WEEK)), "{}", output.stderr);
    }
    let output = run(["new", "week", "-o", "week.yaml"]).gives(0, "", "");
    assert!(output.file("week.yaml").unwrap().contains("week:"));
}

/// A week that names a recipe, a table and a stock file, and its files.
const SHED_WEEK: &str = "week: beds\nrecipe: own\nstock: shed.yaml\nsowings: sowings.csv\n";
const SHED: [(&str, &str); 4] = [
    ("week.yaml", SHED_WEEK),
    ("own.yaml", "recipe: own\nparts: {peat: 3, perlite: 1}\n"),
    ("shed.yaml", "stock: shed\non_hand: {peat: 90 L, perlite: 90 L, vermiculite: 9 L}\n"),
    ("sowings.csv", "crop,tray,cells\nkale,72-cell,70\n"),
];

fn with_shed(run: crate::support::Run) -> crate::support::Run {
    SHED.into_iter().fold(run, |run, (name, text)| run.file(name, text))
}

/// Every file of a folder with what it holds.
fn holdings(folder: &std::path::Path) -> Vec<(String, Vec<u8>)> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut holdings: Vec<_> = entries.map(|path| (path.display().to_string(), fs::read(&path).unwrap())).collect();
    holdings.sort();
    holdings
}

/// Whatever the form, the ending and the way to the file: a slip of the pen must not cost a
/// week, a table, a stock file or its log.
#[test]
fn a_file_that_the_run_works_with_is_never_written_over() {
    let works_with =
        |name: &str| format!("error: `{name}` is a file that this command works with: give the result another name\n");
    let refused = |arguments: &[&str], target: &str| {
        let run = with_shed(run([arguments, &["--replace", "-o", target]].concat())).input(SHED_WEEK);
        for name in ["week.yaml", "own.yaml", "shed.yaml", "sowings.csv"] {
            let path = |kind: &str| run.path().join(format!("{kind}-{name}"));
            symlink(name, path("link")).unwrap();
            fs::hard_link(run.path().join(name), path("hard")).unwrap();
        }
        let before = holdings(run.path());
        let output = run.done();
        assert_eq!(
            (output.status, output.stdout.as_str(), output.stderr.as_str()),
            (2, "", works_with(target).as_str()),
            "{target}"
        );
        assert_eq!(holdings(output.folder()), before, "{target}");
    };
    for name in ["own.yaml", "shed.yaml", "sowings.csv"] {
        for way in ["", "link-", "hard-", "./"] {
            refused(&["plan", "-", "--format", "csv"], &format!("{way}{name}"));
        }
    }
    for (format, target) in [("text", "week.yaml"), ("json", "link-week.yaml"), ("csv", "hard-week.yaml")] {
        refused(&["plan", "week.yaml", "--format", format], target);
        refused(&["fill", "week.yaml", "--format", format], target);
    }
    refused(&["check", "week.yaml"], "hard-week.yaml");
    // What a command changes, be it there yet or not.
    for target in ["shed.log.csv", "./shed.log.csv", ".shed.yaml.lock", ".shed.yaml.pending", "hard-shed.yaml"] {
        refused(&["mixed", "week.yaml", "--format", "csv"], target);
        refused(&["mixed", "week.yaml", "--undo"], target);
    }
    refused(&["yield", "own.yaml", "--before", "12 L", "--after", "10 L"], "link-own.yaml");
    // Standard input may be a file, too.
    let output = shell("\"$T\" plan - --replace -o week.yaml < week.yaml").file("week.yaml", WEEK);
    let output = output.gives(2, "", &works_with("week.yaml"));
    assert_eq!(output.file("week.yaml").as_deref(), Some(WEEK));
}

#[test]
fn a_log_that_is_there_is_no_place_for_a_report() {
    let script = "\"$T\" mixed week.yaml > first && cp shed.log.csv log && cp shed.yaml shed && \
                  ln shed.log.csv other && \"$T\" mixed week.yaml --again --format csv --replace -o other";
    let output = with_shed(shell(script)).done();
    assert_eq!(output.status, 2, "{}", output.stderr);
    assert_eq!(output.file("shed.log.csv"), output.file("log"));
    assert_eq!(output.file("shed.yaml"), output.file("shed"));
}

#[test]
fn devices_and_pipes_take_a_result_without_more() {
    run(["plan", "week.yaml", "-o", "/dev/null"]).file("week.yaml", WEEK).gives(0, "", "");
    let script = "mkfifo pipe && { cat pipe > sheet.txt & } && \"$T\" plan week.yaml -o pipe; wait";
    let output = shell(script).file("week.yaml", WEEK).gives(0, "", "");
    let printed = run(["plan", "week.yaml"]).file("week.yaml", WEEK).result();
    assert_eq!(output.file("sheet.txt"), Some(printed.clone()));
    // A hyphen is standard output, as it is standard input.
    let output = run(["plan", "week.yaml", "-o", "-"]).file("week.yaml", WEEK).gives(0, &printed, "");
    assert_eq!(output.names(), ["week.yaml"]);
}

#[test]
fn a_link_that_leads_nowhere_is_not_lost() {
    let week = run(["plan", "week.yaml", "-o", "link.txt"]).file("week.yaml", WEEK);
    symlink("none.txt", week.path().join("link.txt")).unwrap();
    let output = week.gives(2, "", "error: `link.txt` was not written: it is a link to a file that is not there\n");
    assert!(fs::symlink_metadata(output.folder().join("link.txt")).unwrap().is_symlink());
}

/// The place of the report is made ready first: where there is none, nothing is changed.
#[test]
fn nothing_is_changed_whose_report_has_no_place() {
    for command in [
        "mixed week.yaml",
        "mixed week.yaml --undo",
        "mixed week.yaml --again",
        "yield own.yaml --before 12L --after 10L",
    ] {
        for (place, says) in [
            ("-o no/such/sheet", "error: `no/such/sheet` was not written: its folder does not exist\n"),
            ("-o f --replace", "error: `f` is a folder\n"),
            (">&-", "error: standard output is closed: "),
        ] {
            let script = format!(
                "\"$T\" mixed week.yaml > first; mkdir kept f; cp *.yaml *.csv kept; \"$T\" {command} {place}; \
                 code=$?; for file in *.yaml *.csv; do cmp $file kept/$file; done; exit $code"
            );
            let output = with_shed(shell(&script)).done();
            assert_eq!((output.status, output.stdout.as_str()), (2, ""), "{command} {place}: {}", output.stderr);
            assert!(output.stderr.starts_with(says), "{command} {place}: {}", output.stderr);
        }
    }
}

/// A disk that is full only when the report is written: what was done is said.
#[test]
fn what_was_done_is_said_where_its_report_cannot_be_written() {
    let entered = "entry 1 is in the log, its amounts taken out of the stock";
    let undone = "entry 1 is undone by entry 2";
    let tested = "recipe `own`: yield 83.3 %, written to own.yaml";
    for (before, command, done) in [
        ("", "mixed week.yaml", entered),
        ("mixed week.yaml", "mixed week.yaml --undo", undone),
        ("", "yield own.yaml --before 12L --after 10L", tested),
    ] {
        for place in ["-o /dev/full", "> /dev/full"] {
            let first = if before.is_empty() { String::new() } else { format!("\"$T\" {before} > first; ") };
            let output = with_shed(shell(&format!("{first}\"$T\" {command} {place}"))).done();
            assert_eq!((output.status, output.stdout.as_str()), (2, ""), "{command} {place}");
            let says = format!("error: {done}; only the report is missing, run this again for it: ");
            assert!(output.stderr.starts_with(&says), "{command} {place}: {}", output.stderr);
            match command {
                "mixed week.yaml" => assert_ne!(output.file("shed.yaml").as_deref(), Some(SHED[2].1)),
                "mixed week.yaml --undo" => assert_eq!(output.file("shed.yaml").as_deref(), Some(SHED[2].1)),
                _ => assert!(output.file("own.yaml").unwrap().contains("yield: 83.3 %")),
            }
        }
    }
}
