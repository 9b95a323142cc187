//! What a sowing says besides its crop, its tray and how many.

use crate::catalogue::{Handle, Tray};
use crate::exact::Fraction;
use crate::source::words;
use jiff::civil::Date;

words! {
    /// What of a tray is filled.
    #[derive(Default)]
    Fill {
        /// Whole trays.
        #[default]
        WholeTrays = "whole trays",
        /// Only the cells that are sown.
        SownCells = "sown cells",
    }
}

/// How a sowing is sown and filled.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Terms {
    /// The packet's germination.
    pub germination: Option<Fraction>,
    /// Share of seedlings good enough to plant, where it differs from the week's.
    pub usable: Option<Fraction>,
    /// Chance of enough plants, where it differs from the week's.
    pub surety: Option<Fraction>,
    /// Seeds to a cell.
    pub seeds: u64,
    /// Its seed is pelleted.
    pub pelleted: bool,
    /// The seedlings of a cell stay together and count as one plant.
    pub clump: bool,
    /// Overrides which crops an inoculant serves.
    pub inoculant: Option<bool>,
    /// Whether its plugs hold an inoculant, where that is stated.
    pub inoculated_plugs: Option<bool>,
    /// Whether it may share a tray.
    pub share: bool,
    /// Whether whole trays are filled, where it differs from the week's.
    pub fill: Option<Fill>,
    /// The tray whose plugs are potted on: what a plug brings is not filled.
    pub from: Option<Handle<Tray>>,
    /// Plants to spare in potting on, as a share of those wanted, where that is stated.
    pub spare: Option<Fraction>,
    /// The day on which it is planted out, where a season says.
    pub plant_out: Option<Date>,
    /// The day on which it leaves its place on the rack, where a season says.
    pub leaves: Option<Date>,
    /// The day on which it goes to the cold frame, where a season says.
    pub to_frame: Option<Date>,
}

impl Default for Terms {
    /// A seed to a cell, and all else as is usual or as the week says.
    fn default() -> Self {
        Self {
            germination: None,
            usable: None,
            surety: None,
            seeds: 1,
            pelleted: false,
            clump: false,
            inoculant: None,
            inoculated_plugs: None,
            share: true,
            fill: None,
            from: None,
            spare: None,
            plant_out: None,
            leaves: None,
            to_frame: None,
        }
    }
}
