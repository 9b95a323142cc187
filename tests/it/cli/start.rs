//! What a first-timer meets: the first steps, help, completions.

use super::WEEK;
use crate::support::{PROGRAM, project, run, shell};
use std::process::Command;

#[test]
fn alone_it_says_what_to_type_first() {
    let steps = run([""; 0]).result();
    assert!(steps.lines().count() <= 24 && steps.lines().all(|line| line.chars().count() <= 80), "{steps}");
    let commands: Vec<&str> = steps.lines().filter_map(|line| line.strip_prefix("  trayful ")).collect();
    assert_eq!(commands.len(), 7);
    // In that order, from an empty folder.
    let script: String = commands.iter().map(|command| format!("\"$T\" {command} >/dev/null &&\n")).collect();
    let done = shell(&format!("{script}true")).done();
    assert_eq!(
        (done.status, done.stderr.as_str(), done.names()),
        (0, "", vec!["season.yaml".to_owned(), "week.yaml".to_owned()])
    );
    run([""; 0]).env("TRAYFUL", "").gives(0, &steps, "");
}

#[cfg(target_os = "linux")]
#[test]
fn alone_it_says_that_standard_output_is_closed() {
    assert!(shell("\"$T\" >&-").refusal().contains("standard output is closed"));
}

/// The commands that help lists, but for itself.
fn commands() -> Vec<String> {
    let help = run(["help"]).result();
    let listed = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let names = listed.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    names.map(|line| line.split_whitespace().next().unwrap().to_owned()).filter(|name| name != "help").collect()
}

/// Each command's help begins with what the command does, and ends with two examples, which work one after the other.
#[test]
fn the_examples_of_help_work() {
    let commands = commands();
    assert!(commands.len() >= 13, "{commands:?}");
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let listed = words(&run(["help"]).result());
    for command in commands {
        let help = run([command.as_str(), "--help"]).result();
        let head = words(help.split("\n\n").next().unwrap());
        assert!(listed.contains(&format!(" {command} {} ", head.trim_end_matches('.'))), "{head}");
        let examples: Vec<&str> = help.split("\nExamples:\n").nth(1).unwrap_or_default().lines().collect();
        assert_eq!(examples.len(), 2, "{help}");
        let lines = examples.iter().map(|line| line.strip_prefix("  trayful ").unwrap());
        let lines = lines.map(|line| format!("\"$T\" {line} >/dev/null\n")).collect::<String>();
        let mut run = shell(&format!("set -e\n{lines}"));
        if command != "new" {
            let stock = project("recipes/starters/stock.yaml");
            let week = project("recipes/starters/week.yaml").replace("# stock: stock.yaml", "stock: stock.yaml");
            let stock = stock.replace("  perlite: 40 L", "  castings: 20 L\n  vermiculite: 20 L\n  perlite: 40 L");
            run = run.file("week.yaml", week).file("stock.yaml", stock);
            for file in ["soak.yaml", "recipe.yaml", "season.yaml"] {
                run = run.file(file, project(&format!("recipes/starters/{file}")));
            }
        }
        let done = run.done();
        assert_eq!((done.status, done.stderr.as_str()), (0, ""), "{command}");
    }
}

#[test]
fn completions_know_names() {
    for name in ["bash", "zsh", "fish"] {
        let script = run(["completions", name]).result();
        for word in ["kale", "72-cell", "9-cm-pot", "limed-peat"] {
            assert!(script.contains(word), "{name}: {word}");
        }
        // Help stays short.
        assert!(!run(["scale", "--help"]).result().contains("9-cm-pot"));
    }
    // What is completed is what the program takes.
    run(["scale", "fine-seed", "--tray", "9-cm-pot=2", "--crop", "brussels-sprouts", "--use", "limed-peat"]).result();
}

/// In the shell itself, where it is there.
#[test]
fn bash_completes_names_and_files() {
    let complete = |words: &str, count: usize| {
        let script = format!(
            "source <(\"$T\" completions bash); COMP_WORDS=({words}); COMP_CWORD={count}; \
             _trayful trayful \"${{COMP_WORDS[{count}]}}\" \"${{COMP_WORDS[{count} - 1]}}\"; \
             echo ${{COMPREPLY[@]}}"
        );
        let bash = Command::new("bash").args(["-c", &script]).env("T", PROGRAM).output().ok()?;
        Some(String::from_utf8(bash.stdout).unwrap().trim().to_owned())
    };
    let Some(crops) = complete("trayful scale --crop calab", 3) else { return };
    assert_eq!(crops, "calabrese");
    assert_eq!(complete("trayful scale --tray 9-cm", 3).unwrap(), "9-cm-pot");
    assert_eq!(complete("trayful scale fine", 2).unwrap(), "fine-seed");
    // Nothing known begins so: bash then looks among the files.
    assert_eq!(complete("trayful scale ./", 2).unwrap(), "");
}

/// Questions are for a terminal; the answers are tested beside the code.
#[test]
fn nothing_is_asked_where_there_is_no_terminal() {
    let done = run(["new", "week", "--ask"]).input("my week\n").done();
    assert_eq!((done.status, done.stdout.as_str(), done.names().len()), (2, "", 0));
    assert!(done.stderr.contains("here is none: `trayful new week` prints a file to fill in"), "{}", done.stderr);
    let taken = run(["new", "week", "--ask", "-o", "week.yaml"]).file("week.yaml", WEEK).refusal();
    assert!(taken.contains("`new` writes over no file"), "{taken}");
}

/// However long it takes, nothing is drawn where there is no terminal.
#[test]
fn long_work_is_quiet_without_a_terminal() {
    let rows: String = (0..20_000).map(|row| format!("kale,72-cell,{}\n", 40 + row % 60)).collect();
    let week = "week: long\nrecipe: everyday\nsowings: t.csv\n";
    let done = run(["plan", "week.yaml", "--format", "csv"])
        .file("week.yaml", week)
        .file("t.csv", format!("crop,tray,plants\n{rows}"))
        .done();
    assert_eq!((done.status, done.stderr.as_str()), (0, ""));
    assert!(!done.stdout.contains('\r') && !done.stdout.contains("still working"));
}

/// A file of another kind is sent to the command that takes it.
#[test]
fn a_file_that_is_no_week_names_its_command() {
    let starters = [("recipe", "`trayful scale`"), ("soak", "`trayful soak`"), ("stock", "`stock:`")];
    for (kind, wanted) in starters {
        let starter = project(&format!("recipes/starters/{kind}.yaml"));
        let fault = run(["plan", "x.yaml"]).file("x.yaml", starter).refusal();
        assert!(fault.contains(&format!("this is a {kind} file, not a week")) && fault.contains(wanted), "{fault}");
    }
}
