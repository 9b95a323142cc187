//! What is at hand and how it is sold: amounts in the shed, packages, prices.
//!
//! A stock file is read into a [`Stock`], checked; [`Shed`] is what is at hand, from
//! which amounts are taken; [`Ledger`] writes what was taken back to the file and to a
//! log beside it.

mod built_in;
mod ledger;
mod ledger_fault;
mod leftover;
mod log;
mod logbook;
mod package;
mod price;
mod read;
mod request;
mod rewrite;
mod scale;
mod shed;

pub use built_in::built_in_packages;
pub use ledger::{Ledger, Steps, WriteStep};
pub use ledger_fault::LedgerFault;
pub use leftover::{KEEPS_DAYS, Leftover};
pub use log::{LogEntry, LogRow};
pub use logbook::{Known, Logbook};
pub use package::{Package, Standing, counted};
pub(crate) use price::DEAREST;
pub use price::{Currency, money, money_or_null, price};
pub use read::{MOST_MIXES, OnHand, Stock, read};
pub use request::{Act, Request};
pub use rewrite::{NewText, rewrite, unknown_alone};
pub(crate) use scale::countable;
pub use shed::{Balance, LEAST_L, Line, Rewritten, SOAKED_KEEPS_DAYS, Shed, Taken, Use, UsedFor, is_met};
