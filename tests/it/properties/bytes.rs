//! Bytes of every kind in place of a week, a recipe, a table: a plan or faults, never a
//! panic.

use super::{cases, pipeline};
use proptest::prelude::*;
use trayful::source::Memory;
use trayful::week::Inputs;

const FIRST: &str = include_str!("../../../recipes/weeks/plant-sale-1.yaml");
const SECOND: &str = include_str!("../../../recipes/weeks/plant-sale-2.yaml");
const TABLE: &str = include_str!("../../../recipes/weeks/plant-sale-2.csv");
const RECIPE: &str = include_str!("../../../recipes/everyday.yaml");
const CLUB: &str = include_str!("../../../recipes/places/club.yaml");
const SHED: &str = include_str!("../../../recipes/stock/club-shed.yaml");

/// The place that both demo weeks name, and its stock.
fn shed() -> Memory {
    Memory::default().with("../places/club.yaml", CLUB).with("../places/../stock/club-shed.yaml", SHED)
}

/// The second demo week with its table and recipes of its own beside it.
fn demo(week: Vec<u8>, table: Vec<u8>, recipe: Vec<u8>) -> Memory {
    shed().with("week.yaml", week).with("plant-sale-2.csv", table).with("everyday.yaml", recipe)
}

/// Words that turn a valid file into a strange one.
const WORDS: &[&str] = &[
    "",
    " ",
    "\n",
    "\r\n",
    "\t",
    ":",
    "- ",
    "[",
    "]",
    "{",
    "}",
    "{}",
    "[]",
    "~",
    "null",
    "yes",
    "-1",
    "0",
    "1e308",
    ".inf",
    ".nan",
    "NaN",
    "1/3",
    "1/0",
    "100 %",
    "0 %",
    "0.15",
    "15,5 %",
    "99999999999999999999999999999",
    "\"",
    "'",
    "'",
    "&a ",
    "*a",
    "!t ",
    "---\n",
    "...\n",
    "# ",
    "|",
    ">",
    "%",
    "@",
    "\\",
    "ü",
    "\u{feff}",
    "\u{2028}",
    "\u{0}",
    "\u{1b}[31m",
    "\u{202e}",
    "é",
    ",",
    ";",
    "crop",
    "kale",
    "72-cell",
    "1 cell",
    "1000000000 L",
    "1 mL",
    "10000000",
    "for:",
    "drop: [peat, coir]",
    "for: {cell: under 15 mL}",
    "changes:",
    "rows: 7",
    "cells: 0",
    "recipe: everyday",
    "sowings:",
    "week: w",
    "2027-02-30",
    "clump: yes",
    "seeds: 100",
];

fn word() -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![
        3 => prop::sample::select(WORDS).prop_map(|word| word.as_bytes().to_vec()),
        1 => prop::collection::vec(any::<u8>(), 1..4),
    ]
}

/// Some places of a text replaced by other bytes.
fn mutated(text: &'static str) -> impl Strategy<Value = Vec<u8>> {
    let edit = (0..=text.len(), 0_usize..12, word());
    prop::collection::vec(edit, 1..5).prop_map(move |edits| {
        let mut bytes = text.as_bytes().to_vec();
        for (at, gone, word) in edits {
            let at = at.min(bytes.len());
            let to = (at + gone).min(bytes.len());
            bytes.splice(at..to, word);
        }
        bytes
    })
}

/// One byte of a text is another.
fn one_byte(text: &'static str) -> impl Strategy<Value = Vec<u8>> {
    (0..text.len(), any::<u8>()).prop_map(move |(at, byte)| {
        let mut bytes = text.as_bytes().to_vec();
        bytes[at] = byte;
        bytes
    })
}

fn check_all(files: &Memory) {
    for name in ["week.yaml", "everyday.yaml"] {
        let _ = Inputs::new(files).check(std::path::Path::new(name)).map_err(|rejected| rejected.to_string());
    }
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn any_bytes_as_a_week(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = pipeline(&Memory::default().with("week.yaml", bytes));
    }

    #[test]
    fn any_text_as_a_week(text in "(\\PC|[\n:{}\\[\\]&*!#'\", -]){0,200}") {
        let _ = pipeline(&Memory::default().with("week.yaml", text));
    }

    #[test]
    fn any_bytes_as_a_table_and_a_recipe(
        table in prop::collection::vec(any::<u8>(), 0..200),
        recipe in prop::collection::vec(any::<u8>(), 0..200),
    ) {
        let files = demo(SECOND.into(), table, recipe);
        let _ = pipeline(&files);
        check_all(&files);
    }

    #[test]
    fn the_first_demo_week_mutated(week in prop_oneof![mutated(FIRST), one_byte(FIRST)]) {
        let files = shed().with("week.yaml", week);
        let _ = pipeline(&files);
    }

    #[test]
    fn the_second_demo_week_mutated(week in prop_oneof![mutated(SECOND), one_byte(SECOND)]) {
        let _ = pipeline(&demo(week, TABLE.into(), RECIPE.into()));
    }

    #[test]
    fn the_demo_table_mutated(table in prop_oneof![mutated(TABLE), one_byte(TABLE)]) {
        let _ = pipeline(&demo(SECOND.into(), table, RECIPE.into()));
    }

    #[test]
    fn the_everyday_recipe_mutated(recipe in prop_oneof![mutated(RECIPE), one_byte(RECIPE)]) {
        let files = demo(SECOND.into(), TABLE.into(), recipe);
        let _ = pipeline(&files);
        check_all(&files);
    }

    /// Cut off anywhere: as a file half saved.
    #[test]
    fn files_cut_short(at in 0..FIRST.len(), table in 0..TABLE.len()) {
        let _ = pipeline(&shed().with("week.yaml", &FIRST.as_bytes()[..at]));
        let _ = pipeline(&demo(SECOND.into(), TABLE.as_bytes()[..table].into(), RECIPE.into()));
    }
}

/// The weeks themselves are in order, so that the mutations start from something sound.
#[test]
fn the_demo_weeks_are_in_order() {
    assert_eq!(pipeline(&shed().with("week.yaml", FIRST)), Ok(()));
    assert_eq!(pipeline(&demo(SECOND.into(), TABLE.into(), RECIPE.into())), Ok(()));
}

/// The worst that the bounds allow still prints, the largest parts and the most lost on the way:
/// a little less than a million cubic metres. What is more is refused.
#[test]
fn the_largest_week_prints() {
    let sown = |cells: &str| {
        let sowings = format!("  - {{crop: kale, cells: {cells}, tray: big}}\n").repeat(300);
        let week = format!(
            "week: w\nrecipe: r.yaml\nallowances: {{settling: 100 %, spill: 90 %, sieve_loss: 90 %}}\n\
             trays: {{big: {{cells: 1, cell: 1 mL, compression: 10}}}}\nsowings:\n{sowings}"
        );
        let recipe = "recipe: r\nparts: {peat: 1000000, perlite: 0.0001}\ndoses: {lime: 10 g/L}\nyield: 50 %\n\
                      changes: [{for: kale, sieve: 1 mm}]\n";
        pipeline(&Memory::default().with("week.yaml", week).with("r.yaml", recipe))
    };
    assert_eq!(sown("1665000"), Ok(()));
    let refused = sown("1670000").unwrap_err();
    assert!(refused.contains("more than 1,000,000 m3 of peat"), "{refused}");
}
