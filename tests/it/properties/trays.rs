//! Which sowings share which trays, against every way to lay them out.

use super::some_cases;
use proptest::prelude::*;
use trayful::plan::{TrayRows, arrange};

fn split(rows: &[u64], tray_rows: u64, laid: &[(u64, TrayRows)]) -> usize {
    (0..rows.len())
        .filter(|sowing| {
            let trays: u64 = laid
                .iter()
                .filter(|(_, portions)| portions.iter().any(|portion| portion.sowing == *sowing))
                .map(|(count, _)| count)
                .sum();
            trays > rows[*sowing].div_ceil(tray_rows)
        })
        .count()
}

fn check(rows: &[u64], tray_rows: u64, laid: &[(u64, TrayRows)]) {
    assert_eq!(laid.iter().map(|(count, _)| count).sum::<u64>(), rows.iter().sum::<u64>().div_ceil(tray_rows));
    let mut held = vec![0; rows.len()];
    for (count, portions) in laid {
        assert!(portions.iter().map(|portion| portion.rows).sum::<u64>() <= tray_rows);
        for portion in portions {
            held[portion.sowing] += count * portion.rows;
        }
    }
    assert_eq!(held, rows);
}

/// The fewest splits by brute force: every way to put sowings of at most one tray
/// into trays whole, the rest being filler.
fn fewest_splits(rows: &[u64], tray_rows: u64) -> usize {
    fn place(rows: &[u64], room: &mut Vec<u64>, index: usize, split: usize, best: &mut usize) {
        if split >= *best {
            return;
        }
        if index == rows.len() {
            *best = split;
            return;
        }
        for tray in 0..room.len() {
            if room[tray] >= rows[index] {
                room[tray] -= rows[index];
                place(rows, room, index + 1, split, best);
                room[tray] += rows[index];
            }
        }
        place(rows, room, index + 1, split + 1, best);
    }
    let mut room = vec![tray_rows; rows.iter().sum::<u64>().div_ceil(tray_rows) as usize];
    let mut best = rows.len() + 1;
    place(rows, &mut room, 0, 0, &mut best);
    best
}

#[test]
fn one_crop_is_split_thinly_rather_than_two() {
    // 9 + 9 + 9 + 3 in trays of 10: the crop of three rows fills the gaps.
    let rows = [9, 9, 9, 3];
    let laid = arrange(&rows, 10);
    check(&rows, 10, &laid);
    assert_eq!(split(&rows, 10, &laid), 1);
}

#[test]
fn a_large_crop_gives_way_to_small_ones() {
    let rows = [26, 6, 6, 6, 6];
    let laid = arrange(&rows, 10);
    check(&rows, 10, &laid);
    assert_eq!(split(&rows, 10, &laid), 1);
}

proptest! {
    #![proptest_config(some_cases(256))]

    #[test]
    fn fewest_trays_and_fewest_splits(rows in prop::collection::vec(1_u64..=10, 1..9)) {
        let laid = arrange(&rows, 10);
        check(&rows, 10, &laid);
        prop_assert_eq!(split(&rows, 10, &laid), fewest_splits(&rows, 10));
    }

    #[test]
    fn every_row_is_laid_out(rows in prop::collection::vec(1_u64..60, 0..80), tray_rows in 1_u64..30) {
        check(&rows, tray_rows, &arrange(&rows, tray_rows));
    }
}
