//! Everything that is tested from outside the crate, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "the numbers that the tests draw are small and positive"
)]

mod bounds;
mod browser;
mod buying;
mod cli;
mod corpus;
mod feed;
mod fuzz_corpus;
mod harmless;
mod house;
mod mixing;
mod names;
mod properties;
mod published;
mod readme;
mod schema;
mod season;
mod season_choice;
mod season_plan;
mod soak;
mod stock_log;
mod support;
mod swap;
mod trial;
