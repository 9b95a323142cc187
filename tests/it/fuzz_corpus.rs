//! The seeds of `tests/fuzz`, each put through its target once; `tests/fuzz/run` goes on from
//! there.

#[path = "../fuzz/harness/mod.rs"]
mod harness;

use crate::support::{project, root};
use std::fs;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};

/// Every file in a folder and those within it.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.unwrap().path())
        .flat_map(|path| if path.is_dir() { files(&path) } else { vec![path] })
        .collect();
    found.sort();
    found
}

#[test]
fn every_seed_holds() {
    let folders = project("tests/fuzz/seeds");
    for (name, target) in harness::TARGETS {
        let line = folders.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(": "));
        let seeds: Vec<PathBuf> =
            line.unwrap().split_whitespace().flat_map(|folder| files(&root().join(folder))).collect();
        assert!(seeds.len() >= 3, "{name}: {seeds:?}");
        for seed in seeds {
            let bytes = fs::read(&seed).unwrap();
            catch_unwind(|| target(&bytes)).unwrap_or_else(|_| panic!("{name}: {}", seed.display()));
        }
    }
    assert_eq!(folders.lines().count(), harness::TARGETS.len());
}
