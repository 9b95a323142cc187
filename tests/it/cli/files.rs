//! `--output`: whole or not at all.

use super::WEEK;
use crate::support::{PROGRAM, run, shell};
use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};

#[test]
fn the_file_holds_what_would_have_been_printed() {
    for format in ["text", "json", "html"] {
        let printed = run(["plan", "week.yaml", "--format", format]).file("week.yaml", WEEK).result();
        let output = run(["plan", "week.yaml", "--format", format, "--output", "sheet"])
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
    let week = || run(["plan", "week.yaml", "-o", "sheet"]).file("week.yaml", WEEK);
    // As the umask leaves it.
    let umask = |expected: u32| expected & 0o600 == 0o600 && expected & 0o111 == 0;
    assert!(umask(mode(week())));
    let old = week().file("sheet", "old");
    fs::set_permissions(old.path().join("sheet"), fs::Permissions::from_mode(0o640)).unwrap();
    assert_eq!(mode(old), 0o640);
}

#[test]
fn a_bad_week_leaves_the_older_sheet_alone() {
    let output = run(["plan", "week.yaml", "--output", "sheet.txt"])
        .file("week.yaml", WEEK.replace("kale", "kail"))
        .file("sheet.txt", "an older sheet")
        .done();
    assert_eq!((output.status, output.stdout.as_str()), (2, ""));
    assert_eq!(output.file("sheet.txt").as_deref(), Some("an older sheet"));
    let output = run(["plan", "week.yaml", "--output", "sheet.txt"]).file("week.yaml", "week:").done();
    assert_eq!((output.status, output.names()), (2, vec!["week.yaml".to_owned()]));
}

#[test]
fn a_link_is_followed() {
    let week = run(["plan", "week.yaml", "--output", "link.txt"]).file("week.yaml", WEEK).file("f/sheet.txt", "old");
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
    let week = run(["plan", "week.yaml", "--output", "sheet.txt"]).file("week.yaml", WEEK).file("sheet.txt", "old");
    fs::set_permissions(week.path().join("sheet.txt"), fs::Permissions::from_mode(0o444)).unwrap();
    let output = week.gives(2, "", "error: `sheet.txt` was not written: it is read-only\n");
    assert_eq!(output.file("sheet.txt").as_deref(), Some("old"));
}

#[test]
fn a_read_only_folder_is_left_as_it_was() {
    let week = run(["plan", "week.yaml", "--output", "f/sheet.txt"]).file("week.yaml", WEEK).file("f/sheet.txt", "old");
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
        let script = "ulimit -f 0; trap '' XFSZ; \"$T\" plan week.yaml --output sheet.txt";
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
    let script = "for i in 1 2 3 4; do \"$T\" plan week.yaml -o sheet.txt & done; wait";
    let output = shell(script).file("week.yaml", WEEK).gives(0, "", "");
    let alone = run(["plan", "week.yaml"]).file("week.yaml", WEEK).result();
    assert_eq!(output.file("sheet.txt"), Some(alone));
    assert_eq!(output.names(), ["sheet.txt", "week.yaml"]);
    assert!(std::path::Path::new(PROGRAM).exists());
}
