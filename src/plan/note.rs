//! What the plan has to say beside its figures. The words are the report's.

use super::bench::{MixRef, TooCoarse};
use crate::catalogue::{Crop, Handle, Ingredient, Tray};
use crate::coir::CoirError;
use crate::units::{Mass, Volume};
use crate::week::ReadingNote;
use jiff::ZonedDateTime;

/// Something to know about the plan.
#[derive(Clone, Debug, PartialEq)]
pub enum Note {
    /// How the files were read.
    Remark(ReadingNote),
    /// Sowings that ask for an inoculant although the crops are no hosts of it.
    InoculantForNonHost(Vec<Handle<Crop>>),
    /// Cells worked out from the legal minimum: a packet's figure would sow fewer.
    LegalMinimum(Vec<Handle<Crop>>),
    /// Cells worked out from an assumed germination of 70 %.
    AssumedGermination(Vec<Handle<Crop>>),
    /// More than one seed a cell, and no clump: thin.
    ThinOut(Vec<Handle<Crop>>),
    /// Whole trays are filled: so much beyond the sown cells.
    WholeTrays(Volume),
    /// Trays whose cell volume is the catalogue's: weigh ten cells.
    WeighCells(Vec<Handle<Tray>>),
    /// Of those, the ones whose figure is from memory.
    LowConfidence(Vec<Handle<Tray>>),
    /// A tray that works out very small or very large.
    OddTray(Handle<Tray>),
    /// A top layer whose litres cannot be told: the cell's depth is unknown.
    TopUnknown(Handle<Tray>),
    /// No crop was named: a host is assumed, and no changes apply.
    NoCrop,
    /// So much loose coir is in the mix, and nothing is said of its soak.
    SoakCoir(Volume),
    /// The week says how to soak coir, and its mix holds none.
    SoakUnused,
    /// Sown crops that the calendar leaves out: their days to emergence are not known.
    EmergenceUnknown(Vec<Handle<Crop>>),
    /// Pots without a known number to a carrying tray are not counted on the rack.
    PotsUncounted(Handle<Tray>),
    /// Sowings a week that are listed together in print.
    ManySowings(usize),
    /// No tub is named: each mix is given as one load.
    NoTub,
    /// A bought mix, fertilised and limed as a rule.
    StarterCharge(Handle<Ingredient>),
}

/// Which limit a strong dose passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoseLimit {
    /// Of lime and chalk.
    Lime,
    /// Of a fertiliser.
    Fertiliser,
}

/// Something to take care of.
#[derive(Clone, Debug, PartialEq)]
pub enum Warning {
    /// More trays than the rack has places.
    RackOutgrown {
        /// Trays to be placed.
        trays: u64,
        /// Places free.
        free: u64,
    },
    /// Castings and compost above a fifth of the loose volume.
    Rich {
        /// Index of the batch.
        batch: usize,
        /// Their share.
        share: f64,
        /// Above a third.
        strongly: bool,
    },
    /// The first thing to do lies in the past.
    Late(ZonedDateTime),
    /// The coir's course does not reach its target.
    SoakOutOfReach,
    /// The coir's course cannot be worked out.
    SoakFails(CoirError),
    /// The coir is to be ready only after the time to mix.
    SoakAfterMix(ZonedDateTime),
    /// The coir is ready so many hours before the mix is made that it grows stale.
    SoakWaits(f64),
    /// So many runs of one tub take so long that the coir of the first grows stale.
    SoakGrowsStale {
        /// Runs.
        runs: u32,
        /// Hours that the coir of the first run waits.
        hours: f64,
    },
    /// Crops that want acid soil.
    WantsAcid {
        /// The crops.
        crops: Vec<Handle<Crop>>,
        /// What was left out for them.
        left_out: Vec<Handle<Ingredient>>,
    },
    /// A dose far above what is published or used.
    StrongDose {
        /// Index of the batch.
        batch: usize,
        /// What; lime and chalk are taken together.
        what: Vec<Handle<Ingredient>>,
        /// Grams in a litre of finished mix.
        grams_per_litre: f64,
        /// Why that is much.
        limit: DoseLimit,
    },
    /// Something that is dosed as a rule is a part of the mix.
    DoseAsPart {
        /// Index of the batch.
        batch: usize,
        /// What.
        ingredient: Handle<Ingredient>,
        /// Its share of the loose volume.
        share: f64,
    },
    /// Nothing is known of the light these crops want: they are taken to be covered.
    TakenAsCovered(Vec<Handle<Crop>>),
    /// Soluble phosphorus in a batch with an inoculant.
    PhosphorusWithInoculant {
        /// Index of the batch.
        batch: usize,
        /// The fertiliser.
        with: Handle<Ingredient>,
    },
    /// A scoop whose quarters are too coarse for some mixes: what its quarters come to in
    /// each, and what would do.
    ScoopTooCoarse(Vec<(MixRef, TooCoarse)>),
    /// Moist loads of more than one person should lift, and the weight of the heaviest.
    HeavyTub {
        /// The mixes.
        mixes: Vec<MixRef>,
        /// The greatest weight.
        wet: Mass,
    },
}
