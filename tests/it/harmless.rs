//! What scripts read, of everything that ships: a redesign shows itself harmless by
//! leaving these snapshots as they are.
//!
//! Figures are compared to ten digits: a sum taken in another order is the same figure.

use crate::support::{Run, project, root, run};
use std::fs;

const NOW: &str = "2027-02-01T08:00:00Z";

/// Numbers to ten significant digits, in JSON and in tables alike.
fn ten_digits(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find(|c: char| c.is_ascii_digit()) {
        let digits = &rest[start..];
        let end = digits
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == 'e'))
            .map_or(digits.len(), |end| if digits[..end].ends_with('e') { end + 1 } else { end });
        let (number, tail) = digits.split_at(end);
        out.push_str(&rest[..start]);
        match number.parse::<f64>() {
            Ok(value) if number.len() > 11 && number.contains('.') => {
                let rounded: f64 = format!("{value:.9e}").parse().unwrap();
                out.push_str(&rounded.to_string());
            }
            _ => out.push_str(number),
        }
        rest = tail;
    }
    out + rest
}

/// Every file of the shipped recipes, so that nothing is written into the project.
fn shipped(mut run: Run) -> Run {
    for folder in ["", "weeks", "places", "stock", "soaks"] {
        for entry in fs::read_dir(root().join("recipes").join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                let name = path.strip_prefix(root().join("recipes")).unwrap().to_str().unwrap().to_owned();
                run = run.file(&name, fs::read(&path).unwrap());
            }
        }
    }
    run
}

fn settings() -> insta::Settings {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots/harmless");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings
}

/// The JSON and the table of a command line.
fn check(name: &str, arguments: &str) {
    for format in ["json", "csv"] {
        let words = shlex(arguments).into_iter().chain(["--format", format, "--now", NOW].map(str::to_owned));
        let output = shipped(run(words)).done();
        let text = format!("exit {}\n{}{}", output.status, output.stderr, output.stdout);
        settings().bind(|| insta::assert_snapshot!(format!("{name}-{format}"), ten_digits(&text)));
    }
}

/// Words at spaces, those in quotes together.
fn shlex(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words
}

#[test]
fn weeks() {
    for number in [1, 2] {
        let week = format!("weeks/plant-sale-{number}.yaml");
        check(&format!("plan-{number}"), &format!("plan {week}"));
        check(&format!("plan-{number}-peat"), &format!("plan {week} --use peat"));
        check(&format!("soak-week-{number}"), &format!("soak {week} --use coir"));
        check(&format!("fill-week-{number}"), &format!("fill {week} --stock stock/club-shed.yaml"));
    }
}

#[test]
fn mixes() {
    for recipe in ["everyday", "fine seed", "rich", "peat-lite A", "soil blocks", "loam potting"] {
        let name = recipe.replace(' ', "-");
        check(&format!("scale-{name}"), &format!("scale \"{recipe}\" --tray 72-cell=3 --tray \"9 cm pot=20\""));
        check(&format!("scale-{name}-make"), &format!("scale \"{recipe}\" --make \"60 L\""));
        check(&format!("show-{name}"), &format!("show {recipe}"));
    }
    for crop in ["kale", "leek", "begonia", "lavender", "blueberry"] {
        check(&format!("scale-everyday-{crop}"), &format!("scale everyday --tray 128-cell=2 --crop {crop} --use coir"));
        check(&format!("scale-everyday-{crop}-make"), &format!("scale everyday --make \"25 L\" --crop {crop}"));
    }
}

#[test]
fn coir() {
    for file in ["spring-coir", "lab-report", "own-course"] {
        check(&format!("soak-{file}"), &format!("soak soaks/{file}.yaml"));
    }
    check("soak-compare", "soak soaks/spring-coir.yaml --compare");
    check("soak-options", "soak --product \"5 kg block\" --count 2 --sold-as washed --ready \"2027-03-06 10:00\"");
    check("soak-buffered", "soak --loose \"70 L\" --sold-as buffered");
    check("soak-gypsum", "soak --dry \"2 kg\" --sold-as none --salt gypsum --tub \"30 L\"");
}

#[test]
fn stock() {
    check("fill-stock", "fill everyday --tray 72-cell --stock stock/club-shed.yaml --crop basil");
    check(
        "fill-have",
        "fill everyday --tray 50-cell --have \"peat=3 x 3.8 cu ft bale\" --have \"coir=40 L\" --have \
                        \"perlite=20 L\" --have vermiculite=\"20 L\" --have castings=\"20 L\"",
    );
    check("mixed-short", "mixed weeks/plant-sale-1.yaml");
    check("feed", "feed --analysis 4-1-1 --ppm 50 --water \"1 US gal\"");
    check("feed-week", "feed weeks/plant-sale-1.yaml --analysis 3-1-2 --ppm 50 --with \"fish: 5-1-1, 1 kg for 12.90\"");
    check(
        "feed-injector",
        "feed --analysis 20-10-20 --ppm 150 --water \"9 L\" --injector 1:100 --density \"1.2 g/mL\"",
    );
}

#[test]
fn catalogue() {
    for kind in ["recipes", "trays", "crops", "ingredients", "salts"] {
        check(&format!("list-{kind}"), &format!("list {kind}"));
    }
    for name in ["72-cell", "9 cm pot", "kale", "lupin", "rosemary", "coir", "inoculant", "lime", "gypsum", "castings"]
    {
        check(&format!("show-{}", name.replace(' ', "-")), &format!("show {name}"));
    }
}

#[test]
fn taken_out_and_put_back() {
    let script = "for c in '--bought planned' '' '--again' '--undo' '--undo'; do \
                  $T mixed weeks/plant-sale-1.yaml $c --format json; echo \"exit $?\"; done 2>&1; cat stock/club-shed.yaml";
    let output = shipped(crate::support::shell(script)).done();
    // The date of an entry is the clock's, the folder the system's.
    let stdout = output.stdout.replace(output.folder().to_str().unwrap(), "");
    let text: String = stdout
        .lines()
        .map(|line| if line.trim_start().starts_with("\"date\"") || line.contains(" on 20") { "(date)" } else { line })
        .map(|line| format!("{line}\n"))
        .collect();
    settings().bind(|| insta::assert_snapshot!("mixed", ten_digits(&text)));
    assert!(text.ends_with(&project("recipes/stock/club-shed.yaml")));
}
