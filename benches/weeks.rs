//! Whole-process times and peak memory: `cargo bench --bench weeks`.
//!
//! Wanted: the demo week within 6 times `trayful --version` and under 20 MB; 100,000
//! sowings over 200 crops and 20 trays within 1 s and 200 MB, 10,000 in about a tenth.
#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const TRAYFUL: &str = env!("CARGO_BIN_EXE_trayful");

fn main() {
    let version = median(101, &["--version"]);
    let demo = median(101, &["plan", "recipes/weeks/plant-sale-1.yaml"]);
    println!("--version                {version:>10.2?}");
    let times = demo.as_secs_f64() / version.as_secs_f64();
    println!("demo week                {demo:>10.2?}  {times:.1} times --version (wanted: at most 6)");
    // A run this short can end between two readings: the highest of many.
    let peak = (0..50).map(|_| peak_kb(&["plan", "recipes/weeks/plant-sale-1.yaml"])).fold(0.0, f64::max);
    println!("                         {:>7.1} MB (wanted: under 20)", peak / 1024.0);
    let folder = tempfile::tempdir().unwrap();
    for sowings in [10_000, 100_000] {
        write_week(folder.path(), sowings);
        let week = folder.path().join("week.yaml");
        let week = week.to_str().unwrap();
        for format in ["text", "json"] {
            let arguments = ["plan", week, "--format", format];
            let took = median(5, &arguments);
            let peak = peak_kb(&arguments) / 1024.0;
            println!("{sowings:>7} sowings, {format:<7} {took:>10.2?} {peak:>7.1} MB");
        }
    }
}

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(TRAYFUL);
    command.args(arguments).stdout(Stdio::null());
    command
}

fn median(runs: usize, arguments: &[&str]) -> Duration {
    let mut times: Vec<Duration> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            assert!(command(arguments).status().unwrap().success());
            start.elapsed()
        })
        .collect();
    times.sort();
    times[runs / 2]
}

/// The high-water mark of a run's memory, read while it runs (Linux; else zero).
fn peak_kb(arguments: &[&str]) -> f64 {
    let mut child = command(arguments).spawn().unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak: f64 = 0.0;
    while child.try_wait().unwrap().is_none() {
        if let Ok(text) = std::fs::read_to_string(&status)
            && let Some(line) = text.lines().find_map(|line| line.strip_prefix("VmHWM:"))
        {
            peak = peak.max(line.trim().trim_end_matches(" kB").parse().unwrap_or(0.0));
        }
    }
    peak
}

/// A week of so many sowings over 200 crops and 20 trays.
fn write_week(folder: &Path, sowings: usize) {
    let mut week = "week: large\nrecipe: everyday\nuse: coir\nsowings: sowings.csv\ncrops:\n".to_owned();
    let families = ["Asteraceae", "Brassicaceae", "Lamiaceae", "Solanaceae"];
    for crop in 0..200 {
        writeln!(
            week,
            "  crop {crop}: {{family: {}, pace: {}, light: {}, temperature: {}}}",
            families[crop % 4],
            ["fast", "medium", "slow"][crop % 3],
            ["light", "cover", "dark"][crop / 3 % 3],
            ["cool", "warm"][crop / 9 % 2],
        )
        .unwrap();
    }
    week.push_str("trays:\n");
    for tray in 0..20 {
        writeln!(week, "  tray {tray}: {{cells: {}, rows: 8, cell: {} mL}}", 8 * (tray + 4), 10 + 3 * tray).unwrap();
    }
    let mut table = "crop,tray,plants,germination\n".to_owned();
    for sowing in 0..sowings {
        writeln!(
            table,
            "crop {},tray {},{},{} %",
            sowing * 7 % 200,
            sowing * 13 % 20,
            10 + sowing * 31 % 400,
            50 + sowing * 17 % 50
        )
        .unwrap();
    }
    std::fs::write(folder.join("week.yaml"), week).unwrap();
    std::fs::write(folder.join("sowings.csv"), table).unwrap();
}
