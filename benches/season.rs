//! The choice of a season's days, and whole seasons: `cargo bench --bench season`.
//!
//! Prints each figure with the limit that is wanted of it and whether it is met.
#![allow(clippy::panic, clippy::print_stdout, missing_docs)]

use jiff::civil::date;
use jiff::{Span, civil::Date};
use std::path::Path;
use std::time::Instant;
use trayful::season::SeasonPlan;
use trayful::season::choice::{Item, Way, choose};
use trayful::season::occupancy::{FramePlaces, Limits, Stay};
use trayful::source::Memory;
use trayful::week::Inputs;

fn main() {
    let mut seconds = Vec::new();
    for (count, most_seconds) in [(60, 0.05), (1_000, 1.5)] {
        for (kind, step) in [("on Saturdays", 7), ("on any day", 1)] {
            let items: Vec<Item> = (0..count).map(|at| item(at, step)).collect();
            let trays = count.unsigned_abs().into();
            let frame = FramePlaces { places: trays / 4, open: vec![70..300, 435..665] };
            let tight =
                Limits { places: Some(trays), mats: Some(trays / 5), trays_a_day: Some(trays / 4), frame: Some(frame) };
            for (limited, limits) in [("without limits", Limits::default()), ("with limits", tight)] {
                let start = Instant::now();
                let choice = choose(&items, &limits);
                let took = start.elapsed().as_secs_f64();
                let proven = if choice.proven { "proven" } else { "not proven" };
                println!("{count} items {kind}, {limited}: {:?}, {proven}, work {}", choice.cost, choice.work);
                wanted("s", took, most_seconds);
                seconds.push(took);
            }
        }
    }
    let (few, many) = seconds.split_at(seconds.len() / 2);
    wanted("times as long for each item", many.iter().sum::<f64>() / few.iter().sum::<f64>() / (1_000.0 / 60.0), 1.2);
    for (sowings, most_seconds) in [(60, 0.1), (1_000, 2.0)] {
        for (days, mix_days, places) in [
            ("on Saturdays", "mix_days: [saturday]\n", sowings),
            ("on any day", "", sowings),
            ("on any day, with few places", "", 12),
        ] {
            let text = season(sowings, mix_days, places);
            let start = Instant::now();
            let plan = worked_out(&text);
            let took = start.elapsed().as_secs_f64();
            println!("a season of {sowings} sowings {days}: {} days, {:?}", plan.days.len(), plan.cost);
            wanted("s", took, most_seconds);
        }
    }
    // Every day a recipe with coir, bathed or not; and nothing but coir.
    let daily = |recipe: &str, soak: &str| {
        let head = season(1_000, "", 1_000)
            .replace("recipe: everyday\nuse: coir\n", recipe)
            .replace("soak: {sold_as: washed}\n", soak);
        let (head, _) = head.split_once("sowings:\n").unwrap_or_default();
        let sowing = |at: i32| {
            let sow: Date = date(2027, 1, 1).saturating_add(Span::new().days(at));
            format!("  - {{crop: kale, trays: 1, tray: 72-cell, sow: {sow}, weeks: 6-6}}\n")
        };
        format!("{head}sowings:\n{}", (0..1_000).map(sowing).collect::<String>())
    };
    for recipe in ["recipe: everyday\nuse: coir\n", "recipe: brown.yaml\n"] {
        for soak in ["", "soak: {sold_as: buffered}\n", "soak: {sold_as: washed}\n"] {
            let text = daily(recipe, soak);
            let start = Instant::now();
            let plan = worked_out(&text);
            let took = start.elapsed().as_secs_f64();
            println!("{} days in a row, {recipe:?}, {soak:?}: {} courses", plan.days.len(), plan.coir.len());
            wanted("s", took, 2.0);
        }
    }
    wanted("MB at its peak", peak_mb(), 100.0);
}

/// A season, read and worked out.
fn worked_out(text: &str) -> SeasonPlan {
    let stock = include_str!("../recipes/stock/club-shed.yaml");
    let files = Memory::default().with("season.yaml", text).with("stock.yaml", stock);
    let files = files.with("brown.yaml", "recipe: brown\nparts: {coir: 1}\n");
    let inputs = Inputs::new(&files);
    let season = inputs.season(Path::new("season.yaml")).unwrap_or_else(|rejected| panic!("{rejected}"));
    let today = date(2026, 11, 1);
    SeasonPlan::of(&season, &inputs, today).unwrap_or_else(|rejected| panic!("{rejected}"))
}

/// The text of a season of so many sowings, on a rack of so many places.
fn season(sowings: i32, mix_days: &str, places: i32) -> String {
    let crops = ["kale", "tomato", "lettuce", "basil", "leek", "zinnia", "begonia", "cabbage"];
    let sowing = |at: i32| {
        let out: Date = date(2027, 3, 1).saturating_add(Span::new().days(at * 37 % 120));
        let crop = crops[usize::try_from(at).unwrap_or(0) % crops.len()];
        let more = match crop {
            "tomato" => ", then: {tray: 9 cm pot, potted: 10, after: 3 weeks, recipe: rich}",
            "lettuce" => ", again: {every: 2 weeks, times: 2}",
            _ => "",
        };
        format!("  - {{crop: {crop}, plants: {}, tray: 72-cell, plant_out: {out}{more}}}\n", 10 + at * 31 % 90)
    };
    let rows: String = (0..sowings).map(sowing).collect();
    format!(
        "season: s\nrecipe: everyday\nuse: coir\nstock: stock.yaml\nsoak: {{sold_as: washed}}\ntub: 60 L\nscoop: 2 L\n{mix_days}\
         frost: {{last: 10 May}}\nframe: {{places: {}, from: 15 March}}\n\
         rack: {{shelves: 4, trays_per_shelf: {}, mats: {}}}\nsowings:\n{rows}",
        places / 4,
        places / 4,
        places / 5,
    )
}

/// A sowing: every fourth in succession, every fifth potted on, every third on a mat, every other hardy.
fn item(at: i32, step: i32) -> Item {
    let spread = |by: i32, most: i32| (at * by).rem_euclid(most);
    let least = 28 + spread(11, 21);
    let (out, most) = (60 + spread(37, 150), least + 14);
    let near = |day: i32| (day + step / 2).div_euclid(step) * step;
    let trays = 1 + u64::from(spread(7, 3).unsigned_abs());
    let stay = |from: i32, until: i32, trays: u64, mat_until: Option<i32>| Stay {
        from,
        until,
        trays,
        spaced: None,
        mat_until,
        frame_from: (at % 2 == 0).then_some(from + 21),
        work: true,
    };
    let planting = |from: i32, leaves: i32| {
        let potted = if at % 5 == 0 { near(from + 24) } else { leaves };
        let plugs = stay(from, potted.min(leaves), trays, (at % 3 == 0).then_some(from + 8));
        let pots = (potted < leaves).then(|| stay(potted, leaves, 2 * trays, None));
        [plugs].into_iter().chain(pots)
    };
    let way = |from: i32| Way {
        off: u64::from((2 * (from - out) + least + most).unsigned_abs()),
        stays: (0..if at % 4 == 0 { 3 } else { 1 })
            .flat_map(|again| planting(near(from + 14 * again), out - 7 + 14 * again))
            .collect(),
    };
    Item { ways: (near(out - most)..=out - least).step_by(usize::try_from(step).unwrap_or(1)).map(way).collect() }
}

/// Prints a figure with the most that is wanted of it.
fn wanted(of: &str, figure: f64, most: f64) {
    let met = if figure <= most { "met" } else { "NOT MET" };
    println!("{figure:>20.3} {of} (wanted: at most {most}; {met})");
}

/// The high-water mark of this process's memory (Linux; else zero).
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<f64>().ok()).unwrap_or(0.0) / 1024.0
}
