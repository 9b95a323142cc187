//! Sowings from a table: commas or semicolons, marks, line ends, quotes.

use crate::support::{Output, run};

const WEEK: &str = "week: w\nrecipe: everyday\nsowings: sowings.csv\n";

fn plan(table: impl AsRef<[u8]>) -> Output {
    run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", WEEK).file("sowings.csv", table).done()
}

/// The faults without their quoted lines: code, place, what.
fn faults(output: &Output) -> Vec<String> {
    assert_eq!((output.status, output.stdout.as_str()), (2, ""));
    let mut faults = Vec::new();
    let mut what = "";
    for line in output.stderr.lines() {
        if line.starts_with("error[") {
            what = line;
        } else if let Some(place) = line.trim_start().strip_prefix("--> ") {
            faults.push(format!("{place} {what}"));
        }
    }
    faults
}

#[test]
fn every_form_of_table_gives_the_same_plan() {
    let plain = plan("crop,tray,plants,germination\nkale,50-cell,80,88 %\nleek,72-cell,40,\n");
    assert_eq!((plain.status, plain.stderr.as_str()), (0, ""));
    for table in [
        "crop;tray;plants;germination\nkale;50-cell;80;88 %\nleek;72-cell;40;\n",
        "\u{feff}crop,tray,plants,germination\r\nkale,50-cell,80,88 %\r\nleek,72-cell,40,\r\n",
        "crop,tray,plants,germination\rkale,50-cell,80,88 %\rleek,72-cell,40,\r",
        "\"crop\",\"tray\",\"plants\",\"germination\"\n\"kale\",\"50-cell\",\"80\",\"88 %\"\nleek,72-cell,40,\"\"\n",
        "\n\ncrop,tray,plants,germination\n\nkale,50-cell,80,88 %\n\n\nleek,72-cell,40,",
        "Crop, Tray ,PLANTS,germination\n kale , 50 cell , 80 , 88% \nLeek,72_cell,40,\n",
        "germination,plants,tray,crop\n88 %,80,50-cell,kale\n,40,72-cell,leek\n",
        "crop,variety,tray,plants,cells,trays,germination,surety,recipe\nkale,,50-cell,80,,,88 %,90 %,everyday\nleek,,72-cell,40,,,,,\n",
    ] {
        let other = plan(table);
        assert_eq!(other.stderr, "", "{table:?}");
        assert_eq!(other.stdout, plain.stdout, "{table:?}");
    }
}

#[test]
fn quotes_may_hold_commas_quotes_and_line_ends() {
    let table = "crop,variety,tray,cells\ntomato,\"early, \"\"red\"\"\",72-cell,6\n\"kale\",\"two\nlines\",72-cell,6\n";
    let output = plan(table);
    assert_eq!(output.stderr, "");
    let value: serde_json::Value = serde_json::from_str(&output.stdout).unwrap();
    assert_eq!(value["sowings"][0]["variety"], "early, \"red\"");
    assert_eq!(value["sowings"][1]["variety"], "two\nlines");
}

#[test]
fn every_fault_of_a_table_at_its_place() {
    let output =
        plan("crop;tray;plants;germination\nkail;50-cell;80;88 %\nleek;72-cell;;\nkale;73-cell;12,5;0.9\nkale;;7;\n");
    assert_eq!(
        faults(&output),
        [
            "sowings.csv:2:1 error[unknown-crop]: no crop is called `kail`",
            "sowings.csv:3:1 error[missing-key]: this sowing does not say how many",
            "sowings.csv:4:6 error[unknown-tray]: no tray or pot is called `73-cell`",
            "sowings.csv:4:14 error[quantity]: `12,5` has a comma in the number",
            "sowings.csv:4:19 error[quantity]: `0.9` has no percent sign",
            "sowings.csv:5:1 error[missing-key]: a sowing needs `tray:`",
        ]
    );
}

#[test]
fn a_decimal_comma_gets_advice() {
    let output = plan("crop;tray;plants;germination\nkale;72-cell;80;88,5 %\n");
    assert_eq!(
        output.stderr,
        "error[quantity]: `88,5 %` has a comma in the number\n --> sowings.csv:2:17\n  |\n2 | kale;72-cell;80;88,5 %\n  \
         |                 ^^^^^^ expected a share above 0 %, such as `85 %`\n  |\n  = help: use a point: `88.5 %`\n\n"
    );
    // Between commas it makes one value too many.
    let output = plan("crop,tray,plants,germination\nkale,72-cell,80,88,5 %\n");
    assert_eq!(faults(&output), ["sowings.csv:2:1 error[syntax]: this row has 5 values, the header 4"]);
}

#[test]
fn columns_that_are_not_known_or_stand_twice() {
    let output = plan("crop,trey,plants,plants,colour\nkale,72-cell,80,80,green\n");
    assert_eq!(
        faults(&output),
        [
            "sowings.csv:1:6 error[unknown-key]: `trey` is not a column of a sowings table",
            "sowings.csv:1:18 error[key-twice]: the column `plants` stands twice",
            "sowings.csv:1:25 error[unknown-key]: `colour` is not a column of a sowings table",
        ]
    );
    assert!(output.stderr.contains("did you mean `tray`?"), "{}", output.stderr);
}

#[test]
fn tables_with_nothing_in_them() {
    for table in ["", "\n", "crop,tray,plants\n"] {
        let output = plan(table);
        assert_eq!((output.status, output.stdout.as_str()), (2, ""), "{table:?}");
        assert!(!output.stderr.is_empty());
    }
    let output = run(["plan", "week.yaml"]).file("week.yaml", WEEK).done();
    assert_eq!(
        output.stderr,
        "error[unreadable]: sowings.csv: there is no such file\n --> week.yaml:3:10\n  |\n3 | sowings: sowings.csv\n  |          \
         ^^^^^^^^^^^ expected a file that can be read\n\n"
    );
}

/// A spreadsheet reads the result without taking a name for a formula.
#[test]
fn names_in_the_csv_are_no_formulas() {
    let week = "week: w\nrecipe: everyday\nsowings:\n  - {crop: leek, variety: x, cells: 6, tray: \"=1+1\"}\n\
                trays: {\"=1+1\": {cells: 72, rows: 12, cell: 50 mL}}\n";
    let table = run(["plan", "week.yaml", "--format", "csv"]).file("week.yaml", week).result();
    assert!(table.contains(",'=1+1,") && !table.contains(",=1+1"), "{table}");
}

/// The table that comes out names the same figures as the JSON.
#[test]
fn the_csv_says_what_the_json_says() {
    let table = "crop,tray,plants,germination\nkale,50-cell,80,88 %\nleek,72-cell,40,\n";
    let csv = run(["plan", "week.yaml", "--format", "csv"]).file("week.yaml", WEEK).file("sowings.csv", table).result();
    let json: serde_json::Value = serde_json::from_str(&plan(table).stdout).unwrap();
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let column =
        |row: &csv::StringRecord, name: &str| row[header.iter().position(|column| column == name).unwrap()].to_owned();
    for sowing in json["sowings"].as_array().unwrap() {
        let row =
            rows.iter().find(|row| column(row, "what") == "sowing" && column(row, "name") == sowing["crop"]).unwrap();
        assert_eq!(column(row, "cells"), sowing["cells"].to_string());
        assert_eq!(column(row, "batch"), sowing["batch"]);
        assert_eq!(column(row, "tray"), sowing["tray"]);
    }
    for batch in json["batches"].as_array().unwrap() {
        let mine = |what: &str| -> Vec<&csv::StringRecord> {
            rows.iter().filter(|row| column(row, "what") == what && column(row, "batch") == batch["name"]).collect()
        };
        let mix: f64 = column(mine("mix")[0], "litres").parse().unwrap();
        assert!((mix - batch["mix_l"].as_f64().unwrap()).abs() < 1e-5);
        for (row, part) in mine("ingredient").iter().zip(batch["ingredients"].as_array().unwrap()) {
            assert_eq!(column(row, "name"), part["name"]);
            let litres: f64 = column(row, "litres").parse().unwrap();
            assert!((litres - part["loose_l"].as_f64().unwrap()).abs() < 1e-5);
        }
        assert_eq!(mine("ingredient").len(), batch["ingredients"].as_array().unwrap().len());
    }
}
