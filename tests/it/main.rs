//! Everything that is tested from outside the crate, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod buying;
mod cli;
mod corpus;
mod harmless;
mod mixing;
mod properties;
mod published;
mod readme;
mod soak;
mod stock_log;
mod support;
