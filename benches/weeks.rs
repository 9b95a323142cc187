//! Whole-process times and peak memory: `cargo bench --bench weeks`.
//!
//! Prints each figure with the limit that is wanted of it and whether it is met. Told to
//! `plan`, the bench itself is the program to compare with: it parses the same arguments
//! with clap and reads the same files, and does nothing with them.
#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

use clap::{Parser, Subcommand};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const TRAYFUL: &str = env!("CARGO_BIN_EXE_trayful");
const DEMO: &str = "recipes/weeks/plant-sale-1.yaml";
const DEMO_READS: [&str; 3] = [DEMO, "recipes/places/club.yaml", "recipes/stock/club-shed.yaml"];

/// A program of nothing but arguments and files.
#[derive(Parser)]
struct Bare {
    #[command(subcommand)]
    command: BareCommand,
}

#[derive(Subcommand)]
enum BareCommand {
    /// Reads a week, its place and its stock.
    Plan { files: Vec<PathBuf> },
}

fn main() {
    if std::env::args().nth(1).is_some_and(|argument| argument == "plan") {
        let BareCommand::Plan { files } = Bare::parse().command;
        let files: Vec<Vec<u8>> = files.into_iter().map(|file| std::fs::read(file).unwrap()).collect();
        std::hint::black_box(files);
        return;
    }
    of_demo();
    of_large_weeks();
}

/// The demo week, compared with the bare program.
fn of_demo() {
    // As installed: what a linker has written is mapped in smaller pieces than a copy is.
    let folder = tempfile::tempdir().unwrap();
    let copy = |from: &Path, name: &str| {
        let to = folder.path().join(name);
        std::fs::copy(from, &to).unwrap();
        to
    };
    let bare = copy(&std::env::current_exe().unwrap(), "bare");
    let installed = copy(Path::new(TRAYFUL), "trayful");
    let (mut bare_times, mut version_times, mut demo_times) = (Vec::new(), Vec::new(), Vec::new());
    // In turn, so that all are measured under the same load.
    for _ in 0..201 {
        bare_times.push(time(Command::new(&bare).arg("plan").args(DEMO_READS)));
        version_times.push(time(Command::new(&installed).arg("--version")));
        demo_times.push(time(Command::new(&installed).args(["plan", DEMO])));
    }
    let [bare, version, demo] = [bare_times, version_times, demo_times].map(median);
    println!("a bare clap program      {bare:>10.2?}");
    println!("--version                {version:>10.2?}");
    println!("demo week                {demo:>10.2?}");
    wanted("times the bare program", demo.as_secs_f64() / bare.as_secs_f64(), 2.5);
    // A run this short can end between two readings: the highest of many.
    let peak = (0..50).map(|_| peak_mb(&["plan", DEMO])).fold(0.0, f64::max);
    wanted("MB at its peak", peak, 20.0);
}

/// Tables of many sowings over 200 crops and 20 trays.
fn of_large_weeks() {
    const BYTES_A_ROW: f64 = 200.0;
    let folder = tempfile::tempdir().unwrap();
    for format in ["text", "json", "csv", "markdown", "html"] {
        let mut seconds = Vec::new();
        for (sowings, most_seconds) in [(10_000, 0.04), (100_000, 0.3), (200_000, 2.0)] {
            write_week(folder.path(), sowings);
            let week = folder.path().join("week.yaml");
            let arguments = ["plan", week.to_str().unwrap(), "--format", format];
            let runs = if sowings > 100_000 { 1 } else { 5 };
            let took = median((0..runs).map(|_| time(&mut command(&arguments))).collect()).as_secs_f64();
            println!("{sowings} sowings as {format}");
            wanted("s", took, most_seconds);
            let table = std::fs::metadata(folder.path().join("sowings.csv")).unwrap().len() as f64;
            let peak = peak_mb(&arguments);
            if sowings > 100_000 {
                wanted("MB at its peak", peak, 300.0);
                wanted("bytes a row besides the table", (peak * 1_048_576.0 - table) / sowings as f64, BYTES_A_ROW);
            }
            seconds.push(took);
        }
        wanted("of the time of 100,000 takes a tenth of them", seconds[0] / seconds[1], 0.13);
    }
}

/// Prints a figure with the most that is wanted of it.
fn wanted(of: &str, figure: f64, most: f64) {
    let met = if figure <= most { "met" } else { "NOT MET" };
    println!("{figure:>20.2} {of} (wanted: at most {most}; {met})");
}

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(TRAYFUL);
    command.args(arguments);
    command
}

fn time(command: &mut Command) -> Duration {
    let start = Instant::now();
    assert!(command.stdout(Stdio::null()).status().unwrap().success());
    start.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

/// The high-water mark of a run's memory, read while it runs (Linux; else zero).
fn peak_mb(arguments: &[&str]) -> f64 {
    let mut child = command(arguments).stdout(Stdio::null()).spawn().unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak: f64 = 0.0;
    while child.try_wait().unwrap().is_none() {
        if let Ok(text) = std::fs::read_to_string(&status)
            && let Some(line) = text.lines().find_map(|line| line.strip_prefix("VmHWM:"))
        {
            peak = peak.max(line.trim().trim_end_matches(" kB").parse().unwrap_or(0.0));
        }
    }
    peak / 1024.0
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
