//! The README is true: what it shows is what the program prints.

use crate::support::{project, root, run};

/// Every `$ trayful ...` with the lines below it; `...` stands for lines left out.
fn shown() -> Vec<(Vec<String>, Vec<String>)> {
    let readme = project("README.md");
    let blocks = readme.split("```console\n").skip(1).map(|rest| rest.split("```").next().unwrap());
    blocks
        .map(|block| {
            let mut lines = block.lines().map(str::to_owned);
            let command = lines.next().unwrap();
            let words = command.strip_prefix("$ trayful ").unwrap().split_whitespace().map(str::to_owned);
            (words.collect(), lines.collect())
        })
        .collect()
}

#[test]
fn the_console_shows_what_is_printed() {
    let shown = shown();
    assert!(!shown.is_empty());
    for (words, lines) in shown {
        let printed = run(&words).within(root()).result();
        let mut printed = printed.lines();
        let mut skipping = false;
        for line in &lines {
            if line == "..." {
                skipping = true;
                continue;
            }
            let found = if skipping { printed.any(|printed| printed == line) } else { printed.next() == Some(line) };
            assert!(found, "{words:?} does not print {line:?} there");
            skipping = false;
        }
    }
}

/// The week it quotes is a week.
#[test]
fn the_quoted_week_plans() {
    let readme = project("README.md");
    let week = readme.split("```yaml\n").nth(1).unwrap().split("```").next().unwrap();
    let sheet = run(["plan", "week.yaml"]).file("week.yaml", week).result();
    assert!(sheet.contains("without inoculant"), "{sheet}");
}

/// The season it quotes is a season.
#[test]
fn the_quoted_season_is_in_order() {
    let readme = project("README.md");
    let season = readme.split("```yaml\n").nth(2).unwrap().split("```").next().unwrap();
    let folder = ["places/club.yaml", "stock/club-shed.yaml"];
    let run = folder
        .iter()
        .fold(run(["check", "seasons/s.yaml"]), |run, file| run.file(file, project(&format!("recipes/{file}"))));
    assert!(run.file("seasons/s.yaml", season).result().contains("season `plant sale 2027` is in order"));
}

/// The commands of its table are there.
#[test]
fn the_commands_exist() {
    for line in project("README.md").lines().filter(|line| line.starts_with("| `trayful ")) {
        for command in line.split('`').filter_map(|code| code.strip_prefix("trayful ")) {
            let name = command.split_whitespace().next().unwrap();
            assert_eq!(run([name, "--help"]).done().status, 0, "{name}");
        }
    }
    assert!(root().join("recipes/weeks/plant-sale-1.yaml").is_file());
}
