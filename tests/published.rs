//! The program against the outside: standards, handbook tables, worked examples.
//!
//! One module for each family of sources; every check names its source. "Read" means
//! that the figure stood in the source when it was consulted, "from memory" that it was
//! not looked up again, "common practice" that no source was found. Known misprints are
//! tested as misprints: the check that they fail is part of the test.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "published/bench.rs"]
mod bench;
#[path = "published/cells.rs"]
mod cells;
#[path = "published/crops.rs"]
mod crops;
#[path = "published/densities.rs"]
mod densities;
#[path = "published/filling.rs"]
mod filling;
#[path = "published/practice.rs"]
mod practice;
#[path = "published/recipes.rs"]
mod recipes;
#[path = "published/trays.rs"]
mod trays;
#[path = "published/units.rs"]
mod units;
