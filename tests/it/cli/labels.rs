//! Labels to cut out.

use super::WEEK;
use crate::support::{project, root, run};

fn labels(week: &str, format: &str) -> String {
    let place = project("recipes/places/club.yaml");
    let shed = project("recipes/stock/club-shed.yaml");
    let week = run(["labels", "weeks/week.yaml", "--format", format]).file("weeks/week.yaml", week);
    week.file("places/club.yaml", place).file("stock/club-shed.yaml", shed).result()
}

fn rows(week: &str) -> Vec<Vec<String>> {
    let table = labels(week, "csv");
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect()
}

fn week(more: &str, sowings: &[&str]) -> String {
    let sowings: String = sowings.iter().map(|sowing| format!("  - {{{sowing}}}\n")).collect();
    format!("week: w\ntime_zone: Europe/Paris\nrecipe: everyday\n{more}sowings:\n{sowings}")
}

#[test]
fn every_crop_has_a_label_for_each_of_its_trays() {
    let of = |format: &str| {
        run(["labels", "plant-sale-1.yaml", "--format", format]).within(root().join("recipes/weeks")).result()
    };
    let table = of("csv");
    assert!(table.starts_with(
        "crop,variety,tray,number,of,shared_tray,row_from,row_to,sown_on,batch,up_from,up_to,plants,cells,half,arm,pair\n"
    ));
    for line in [
        "kale,,50-cell,3,3,,,,2027-03-06,1,2027-03-11,2027-03-21,80,108,",
        "Swiss chard,,72-cell,1,1,2,1,8,2027-03-06,1,2027-03-11,2027-03-21,24,48,",
        "candytuft,,72-cell,1,1,2,9,12,2027-03-06,1,,,12,22,",
        "tomato,early red,72-cell,1,1,,,,2027-03-06,2,2027-03-12,2027-03-18,40,54,",
    ] {
        assert!(table.contains(&format!("\n{line},,\n")), "{line} in {table}");
    }
    // Twelve trays, one of which two crops share.
    assert_eq!(table.lines().count(), 1 + 13);
    let page = of("html");
    assert_eq!(page.matches("<li>").count(), 13);
    for words in [
        "<bdi>kale</bdi></div><div>50-cell, tray 3 of 3</div><div>sown 6 Mar 2027, up 11-21 Mar</div><div>batch 1, 80 plants wanted in all</div>",
        "<div>72-cell</div><div>rows 9-12 of shared tray 2</div><div>sown 6 Mar 2027</div>",
        "<bdi>tomato</bdi></div><div class=\"variety\"><bdi>early red</bdi></div>",
        "up 19 Mar-1 Apr",
        "batch 2, 128 cells<",
    ] {
        assert!(page.contains(words), "{words} in {page}");
    }
    // Without a form it is the page.
    let plain = run(["labels", "plant-sale-1.yaml"]).within(root().join("recipes/weeks")).result();
    assert_eq!(plain, page);
    assert!(!page.contains("http") && !page.contains("<script"));
}

#[test]
fn a_crop_split_over_shared_trays_counts_all_of_them() {
    // Three crops of six rows in trays of ten: one is split.
    let sowings = [
        "crop: kale, cells: 30, tray: 50-cell",
        "crop: cabbage, cells: 30, tray: 50-cell",
        "crop: broccoli, cells: 30, tray: 50-cell",
    ];
    let rows = rows(&week("", &sowings));
    assert_eq!(rows.len(), 4);
    let split: Vec<_> = rows.iter().filter(|row| row[4] == "2").collect();
    assert_eq!((split.len(), &split[0][3][..], &split[1][3][..]), (2, "1", "2"));
    assert_ne!(split[0][5], split[1][5]);
}

#[test]
fn pots_are_labelled_by_the_tray_that_carries_them() {
    let rows = rows(&week("", &["crop: tomato, potted: 60, tray: 9 cm pot"]));
    // 63 pots, 18 in a tray.
    assert_eq!(rows.iter().filter(|row| row[0] == "tomato" && row[4] == "4").count(), 4);
    let page = labels(&week("mix_on: 2027-03-06\n", &["crop: tomato, potted: 60, tray: 9 cm pot"]), "html");
    assert!(page.contains("9 cm pot, tray 4 of 4, up to 18 pots") && page.contains("potted on 6 Mar 2027<"), "{page}");
    let own = "trays: {crock: {cells: 1, cell: 2 L, pot: yes}}\n";
    let page = labels(&week(own, &["crop: tomato, potted: 60, tray: crock"]), "html");
    assert_eq!((page.matches("<li>").count(), page.contains("crock, 63 pots")), (1, true), "{page}");
}

#[test]
fn without_a_day_there_is_room_to_write_it() {
    let page = labels(&week("", &["crop: lettuce, cells: 70, tray: 72-cell"]), "html");
    assert!(page.contains("sown ................, up in 3-6 days"), "{page}");
}

#[test]
fn names_of_any_kind_stay_text() {
    let crops = "crops: {\"<b>Lollo</b> & co\": {like: lettuce}, \"=1+1\": {like: lettuce}, \"خس\": {like: lettuce}}\n";
    let sowings = [
        "crop: \"<b>Lollo</b> & co\", variety: \"'a' \\\"b\\\"\", cells: 70, tray: 72-cell",
        "crop: \"=1+1\", cells: 70, tray: 72-cell",
        "crop: \"خس\", variety: 🥬, cells: 70, tray: 72-cell",
    ];
    let page = labels(&week(crops, &sowings), "html");
    assert!(page.contains("<bdi>&lt;b&gt;Lollo&lt;/b&gt; &amp; co</bdi>") && page.contains("<bdi>خس</bdi>"), "{page}");
    assert!(!page.contains("<b>"));
    assert_eq!(rows(&week(crops, &sowings))[1][0], "'=1+1");
}

#[test]
fn both_halves_of_a_trial_of_coir_are_named() {
    let text = project("recipes/weeks/plant-sale-1.yaml").replace("5 kg block}", "5 kg block}, trial: half");
    assert!(labels(&text, "html").contains("<div>buffered</div>"));
    let all = rows(&text);
    for crop in all.iter().map(|row| &row[0]).collect::<std::collections::BTreeSet<_>>() {
        let [buffered, straight] = ["buffered", "straight"].map(|half| {
            let own: Vec<_> = all.iter().filter(|row| row[0] == *crop && row[14] == half).collect();
            assert!(own.iter().all(|row| row[9] == own[0][9]), "{own:?}");
            own
        });
        // Two batches, as many trays of each; where there is one tray too many, or it is shared, some rows of it.
        assert!(buffered.len() == straight.len() && buffered[0][9] != straight[0][9], "{crop}");
    }
    let three = "week: w\nrecipe: everyday\nuse: coir\nsoak: {sold_as: washed, trial: half}\nsowings:\n  \
                 - {crop: kale, trays: 3, tray: 50-cell}\n";
    let parts: Vec<_> =
        rows(three).iter().map(|row| [3, 6, 7, 14].map(|column| row[column].clone()).join(" ")).collect();
    assert_eq!(parts, ["1   buffered", "2   straight", "3 1 5 buffered", "3 6 10 straight"]);
    // No row and no pot belongs to both: what is odd goes to the half that has less.
    let odd = |sowing: &str| {
        let week = three.replace("crop: kale, trays: 3, tray: 50-cell", sowing);
        rows(&week).iter().map(|row| [6, 7, 14].map(|column| row[column].clone()).join(" ")).collect::<Vec<_>>()
    };
    assert_eq!(odd("crop: leek, cells: 64, tray: 72-cell, fill: sown cells"), ["1 6 buffered", "7 11 straight"]);
    let shared = odd("crop: leek, cells: 64, tray: 72-cell}\n  - {crop: onion, cells: 1, tray: 72-cell");
    assert_eq!(shared, ["1 6 buffered", "7 11 straight", "12 12 straight"]);
    assert_eq!(odd("crop: leek, potted: 1, spare: 0 %, tray: 15 cm pot"), ["  "]);
    assert_eq!(odd("crop: leek, potted: 3, spare: 0 %, tray: 15 cm pot"), ["  buffered", "  straight"]);
}

#[test]
fn other_forms_and_too_many_labels_are_refused() {
    let refused = |arguments: &[&str]| run(arguments).file("week.yaml", WEEK).refusal();
    for form in ["text", "markdown", "json", "ics"] {
        let said = refused(&["labels", "week.yaml", "--format", form]);
        assert!(said.contains("(`--format html`, as without it) or a table (`--format csv`)"), "{said}");
    }
    let trays = |count: u32| week("", &[&format!("crop: kale, trays: {count}, tray: 50-cell")]);
    assert_eq!(rows(&trays(10_000)).len(), 10_000);
    let said = run(["labels", "week.yaml"]).file("week.yaml", trays(10_001)).refusal();
    assert_eq!(said, "error: `w` takes 10001 labels, more than 10000: print them for fewer sowings at a time\n");
    // As everywhere, nothing is written over by mistake.
    let twice = run(["labels", "week.yaml", "-o", "x.html"]).file("week.yaml", WEEK).file("x.html", "mine").done();
    assert_eq!((twice.status, twice.file("x.html").as_deref()), (2, Some("mine")));
}
