//! What the plan has to say in addition to its figures. The words are the report's; each kind has
//! a code that stays, whatever the words.

use super::bench::MixRef;
use super::deeds::Deed;
use super::soaking::Fitting;
use super::sow::{OnRack, Unstated};
use crate::catalogue::{Crop, Handle, Ingredient, Tray};
use crate::coir::{CoirError, CourseCaution, Salt};
use crate::recipe::Why;
use crate::stock::Known;
use crate::units::{Mass, Volume};
use crate::week::ReadingNote;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use std::collections::BTreeSet;

/// Something to know about the plan.
#[derive(Clone, Debug, PartialEq)]
pub enum Note {
    /// How the files were read.
    Remark(ReadingNote),
    /// On the seed of some crops.
    Crops(CropNote, Vec<Handle<Crop>>),
    /// On some trays.
    Trays(TrayNote, Vec<Handle<Tray>>),
    /// Crops that share no trays only because facts of theirs are not stated.
    Unstated(Unstated),
    /// Whole trays are filled: so much finished mix beyond what the sown cells take.
    WholeTrays(Volume),
    /// No crop was named: a host is assumed, and no changes apply.
    NoCrop,
    /// So much loose coir is in the mix, and nothing is said of its soak.
    SoakCoir(Volume),
    /// The week says how to soak coir, and its mix holds none.
    SoakUnused,
    /// The soak says that the coir is sold in one thing, the stock file sells it in another, which is followed.
    CoirSoldIn {
        /// As the soak says.
        said: String,
        /// As the stock file does.
        sold: String,
    },
    /// Of the last brick or block of coir hardly anything is needed: so much.
    LastPiece(Volume),
    /// So many small bricks of coir, and the blocks that would cover the same need.
    ManyBricks {
        /// Bricks.
        bricks: u64,
        /// As their label says.
        label: String,
        /// Blocks of 5 kg.
        blocks: u64,
    },
    /// Sowings a week that are listed together in print.
    ManySowings(usize),
    /// The salts of the coir's baths, which no stock file prices.
    SaltNotPriced(Vec<Salt>),
    /// Mixes at hand that would serve, but are too old: their names.
    StaleMix(Vec<String>),
    /// Mixes at hand that would serve batches that are made in two halves for a trial: their names.
    MixBesideTrial(Vec<String>),
    /// Crops that a trial of coir does not compare.
    NotCompared(BTreeSet<Handle<Crop>>),
    /// No tub is named: each mix is given as one load.
    NoTub,
    /// Lime is dosed on coir in these batches, by their numbers.
    LimeOnCoir(Vec<usize>),
    /// The same on peat that is limed already.
    LimeOnLimedPeat(Vec<usize>),
    /// A bought mix, fertilised and limed as a rule.
    StarterCharge(Handle<Ingredient>),
    /// Soaked coir at hand is used of which nobody says how old it is.
    SoakedCoirKeeps,
    /// The week is mixed on a day that is none of its place's `mix_days`.
    OffMixDay(Date),
    /// More trays are sown than the place can sow on one day.
    ManyTrays {
        /// Trays of this week.
        trays: u64,
        /// As many as one day's work can be.
        a_day: u64,
    },
    /// Crops that wait for the last frost in their trays for weeks longer than the crop table says.
    StandsLong(Vec<StandsLong>),
}

/// A crop that would outgrow its tray before it may go out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StandsLong {
    /// Which.
    pub crop: Handle<Crop>,
    /// Whole weeks in which it would stand.
    pub stands: u32,
    /// Weeks of the crop table, least and most.
    pub weeks: (u32, u32),
    /// The first day on which to sow it instead.
    pub sow: Date,
}

/// Something to know about the seed of some crops.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CropNote {
    /// They are sown with an inoculant although they are no hosts of it.
    InoculantForNonHost,
    /// Cells worked out from the legal minimum: a packet's figure would sow fewer.
    LegalMinimum,
    /// Cells worked out from the germination that the table expects.
    ExpectedGermination,
    /// Cells worked out from an assumed germination of 70 %.
    AssumedGermination,
    /// More are potted on than are wanted: what is usual to spare.
    Spare,
    /// More than one seed a cell, and no clump: thin.
    ThinOut,
    /// The calendar leaves them out: their days to emergence are not known.
    EmergenceUnknown,
    /// Sown in more cells to a tray than is usual for them.
    SmallCells,
}

/// Something to know about some trays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrayNote {
    /// Their cell volume is the catalogue's: weigh ten cells.
    WeighCells,
    /// Blocks whose compression is the catalogue's: press ten.
    PressTen,
    /// Pots are filled to below their edge.
    PotRim,
    /// What their plugs bring is taken off the pots that these go into.
    Plugs,
    /// Their figure is from memory.
    LowConfidence,
    /// A tray that works out very small or very large.
    OddVolume,
    /// A top layer whose litres cannot be told: the cell's depth is unknown.
    TopUnknown,
    /// Pots without a known number to a carrying tray are not counted on the rack.
    PotsUncounted,
}

/// Which limit a strong dose passes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DoseLimit {
    /// Of lime and chalk, in a litre of the mix or of the peat that they are dosed on.
    Lime {
        /// The grams are those in a litre of peat.
        of_peat: bool,
    },
    /// Of a fertiliser, or of several in these proportions: grams in a litre.
    Fertiliser(f64),
}

/// What there is to do on days on which nobody is there.
#[derive(Clone, Debug, PartialEq)]
pub enum Untended {
    /// To water what was filled shortly before that day, until this one.
    Water(Date),
    /// To look after seedlings of which the first are up that day, until this one.
    Seedlings(Vec<Handle<Crop>>, Date),
    /// What is done for crops that day.
    Deed(Deed, Vec<Handle<Crop>>),
}

/// Something to take care of.
#[derive(Clone, Debug, PartialEq)]
pub enum Warning {
    /// The log of the stock has the week as mixed.
    AlreadyMixed(Known),
    /// The log of the stock has a day of this season as mixed of which nothing is entered as sown.
    NotEntered(Date),
    /// The log of the stock cannot be read, and why.
    LogUnread(String),
    /// Soaked coir at hand that is not used: so much of each day, too old on the day of the mix, or all made only after it.
    SoakedCoirUnused(Vec<(Volume, Date)>),
    /// More trays than the rack has places.
    RackOutgrown(OnRack),
    /// An own cell of a tray of the tables that holds ten times as much as theirs or more, or a tenth or less;
    /// and what theirs holds.
    OddCell(Handle<Tray>, Volume),
    /// A sieved layer deeper than the cells of some trays.
    TopTooDeep(Vec<Handle<Tray>>),
    /// So much mix as no bench makes.
    MuchMix(Volume),
    /// So many packages of one kind as nobody carries home, of an ingredient.
    ManyPackages(Handle<Ingredient>, u64),
    /// What one batch holds, by its index.
    Batch(usize, BatchWarning),
    /// The first thing to do lies in the past.
    Late(ZonedDateTime),
    /// The day on which lime is better mixed into the peat lies in the past.
    LimeLate {
        /// When it was.
        by: ZonedDateTime,
        /// It can still be done today, before the day of the mix.
        today: bool,
    },
    /// More trays want heat from below than the rack has places with it.
    MatsOutgrown {
        /// Trays that want it.
        trays: u64,
        /// Places that have it.
        mats: u64,
    },
    /// The mix is to be made when nobody is there.
    MixOutsideAwake(ZonedDateTime),
    /// Nobody is there on days on which something is to be done.
    WhileAway(Vec<(Date, Untended)>),
    /// The coir's course cannot be worked out.
    SoakFails(CoirError),
    /// The coir's course does not do all that it should.
    Soak(SoakWarning),
    /// Crops that are poisonous.
    Poisonous(Vec<Handle<Crop>>),
    /// Crops that want acid soil.
    WantsAcid {
        /// The crops.
        crops: Vec<Handle<Crop>>,
        /// What was left out for them.
        left_out: Vec<Handle<Ingredient>>,
        /// What stands in the place of raw peat in their mixes, and is not acid.
        mild: Vec<Handle<Ingredient>>,
    },
    /// What the days of a trial do to its crop, or to the trial.
    Trial(Handle<Crop>, TrialDoubt),
    /// Nothing is known of the light these crops want: they are taken to be covered.
    TakenAsCovered(Vec<Handle<Crop>>),
    /// Even the finest scoop is too coarse for some mixes.
    ScoopTooCoarse(Vec<MixRef>),
    /// Moist loads of more than one person should lift, and the weight of the heaviest.
    HeavyTub {
        /// The mixes.
        mixes: Vec<MixRef>,
        /// The greatest weight.
        wet: Mass,
    },
}

/// What to take care of in a batch.
#[derive(Clone, Debug, PartialEq)]
pub enum BatchWarning {
    /// Castings and compost above a fifth of the loose volume, for dust-fine seed above a tenth.
    Rich {
        /// Their share.
        share: f64,
        /// Above a third.
        strongly: bool,
        /// The crops that are sown into it, those of the finest seed first.
        crops: Vec<Handle<Crop>>,
    },
    /// A dose far above what is published or used.
    StrongDose {
        /// The ingredients; lime and chalk are taken together.
        what: Vec<Handle<Ingredient>>,
        /// Grams in a litre of finished mix.
        grams_per_litre: f64,
        /// Why that is much.
        limit: DoseLimit,
        /// Some dose of the batch is by the spoon, of which the weight is a guess.
        by_spoon: bool,
    },
    /// Something that is dosed as a rule is a part of the mix, with so large a share of the
    /// loose volume.
    DoseAsPart(Handle<Ingredient>, f64),
    /// Soluble phosphorus, of these fertilisers, together with an inoculant.
    PhosphorusWithInoculant(Vec<Handle<Ingredient>>),
}

/// What is doubtful of the days of a trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrialDoubt {
    /// Its plants were fed otherwise for too short a time.
    ShortlyFed {
        /// The day on which they are measured.
        on: Date,
        /// They are not fed by then.
        unfed: bool,
        /// The first day on which they were fed for long enough; `None` where the day of their first feed is not known.
        from: Option<Date>,
    },
    /// So many days are left to harden them, of so many, or to feed them before that; and the first day to plant out with all.
    ShortlyHardened {
        /// Days left.
        left: u32,
        /// Days wanted.
        wanted: u32,
        /// The first day to plant out after all of these.
        from: Date,
    },
    /// They go out on this day, and after so many weeks at the most by the crop table.
    Outgrown(Date, u32),
}

/// What to take care of in the soak of the coir.
#[derive(Clone, Debug, PartialEq)]
pub enum SoakWarning {
    /// It does not reach its target.
    OutOfReach,
    /// The coir is to be ready only after the time to mix.
    AfterMix(ZonedDateTime),
    /// The coir is ready so many hours before the mix is made that it grows stale.
    Waits(f64),
    /// So many runs of one tub take so long that the coir of the first grows stale.
    GrowsStale {
        /// Runs.
        runs: u32,
        /// Hours that the coir of the first run waits.
        hours: f64,
    },
    /// The coir is to be ready when nobody is there.
    ReadyOutsideAwake(ZonedDateTime),
    /// No times fit the hours in which somebody is there; and what would.
    NoTime(Option<Fitting>),
    /// The week does not say how to soak its coir: none is planned.
    Unsaid,
    /// A salt of its baths is to be handled with care.
    Salt(Salt),
    /// Its course would do harm, or no good.
    Course(CourseCaution),
}

/// Codes for scripts: those of the variants, and for a variant that holds an enum of its
/// own kind the code of that.
macro_rules! codes {
    ($name:ident { $($variant:pat => $code:literal,)+ } $(else { $($inner:pat => $of_inner:expr,)+ })?) => {
        impl $name {
            /// Every code of its own.
            pub const CODES: &[&str] = &[$($code),+];

            /// A word for scripts that stays the same, whatever the figures and the wording.
            pub fn code(&self) -> &'static str {
                match self {
                    $($variant => $code,)+
                    $($($inner => $of_inner.code(),)+)?
                }
            }
        }
    };
}

codes!(Note {
    Self::Unstated(_) => "unstated-apart",
    Self::WholeTrays(_) => "whole-trays",
    Self::NoCrop => "no-crop",
    Self::SoakCoir(_) => "soak-coir",
    Self::SoakUnused => "soak-unused",
    Self::CoirSoldIn { .. } => "coir-sold-in",
    Self::LastPiece(_) => "last-piece",
    Self::ManyBricks { .. } => "many-bricks",
    Self::ManySowings(_) => "many-sowings",
    Self::SaltNotPriced(_) => "salt-not-priced",
    Self::StaleMix(_) => "stale-mix",
    Self::MixBesideTrial(_) => "mix-beside-trial",
    Self::NotCompared(_) => "not-compared",
    Self::NoTub => "no-tub",
    Self::LimeOnCoir(_) => "lime-on-coir",
    Self::LimeOnLimedPeat(_) => "lime-on-limed-peat",
    Self::StarterCharge(_) => "starter-charge",
    Self::SoakedCoirKeeps => "soaked-coir-keeps",
    Self::OffMixDay(_) => "off-mix-day",
    Self::ManyTrays { .. } => "many-trays",
    Self::StandsLong(_) => "stands-long",
} else {
    Self::Remark(remark) => remark,
    Self::Crops(note, _) => note,
    Self::Trays(note, _) => note,
});

codes!(CropNote {
    Self::InoculantForNonHost => "inoculant-for-non-host",
    Self::LegalMinimum => "legal-minimum",
    Self::ExpectedGermination => "expected-germination",
    Self::AssumedGermination => "assumed-germination",
    Self::Spare => "spare",
    Self::ThinOut => "thin-out",
    Self::EmergenceUnknown => "emergence-unknown",
    Self::SmallCells => "small-cells",
});

codes!(TrayNote {
    Self::WeighCells => "weigh-cells",
    Self::PressTen => "press-ten",
    Self::PotRim => "pot-rim",
    Self::Plugs => "plugs",
    Self::LowConfidence => "low-confidence",
    Self::OddVolume => "odd-volume",
    Self::TopUnknown => "top-unknown",
    Self::PotsUncounted => "pots-uncounted",
});

codes!(ReadingNote {
    Self::Assumed(_) => "bare-unit",
    Self::RecipeBeside(_) => "own-recipe-file",
    Self::NotOffered { .. } => "choice-not-offered",
    Self::Name { .. } => "name-taken-as",
    Self::LastWords { .. } => "name-by-last-words",
    Self::FamilyVaries { .. } => "family-varies",
    Self::OneRow(_) => "no-rows",
    Self::SharesOff(_) => "shares-off",
    Self::FromPlace(_) => "from-place",
});

codes!(Warning {
    Self::AlreadyMixed(_) => "already-mixed",
    Self::NotEntered(_) => "not-entered",
    Self::LogUnread(_) => "log-unread",
    Self::SoakedCoirUnused(..) => "soaked-coir-unused",
    Self::RackOutgrown(_) => "rack-outgrown",
    Self::OddCell(..) => "odd-cell",
    Self::TopTooDeep(_) => "top-too-deep",
    Self::MuchMix(_) => "much-mix",
    Self::ManyPackages(..) => "many-packages",
    Self::Late(_) => "late",
    Self::LimeLate { .. } => "lime-late",
    Self::MatsOutgrown { .. } => "mats-outgrown",
    Self::MixOutsideAwake(_) => "mix-outside-awake",
    Self::WhileAway(_) => "while-away",
    Self::SoakFails(_) => "soak-fails",
    Self::Poisonous(_) => "poisonous",
    Self::WantsAcid { .. } => "wants-acid",
    Self::Trial(..) => "trial-days",
    Self::TakenAsCovered(_) => "taken-as-covered",
    Self::ScoopTooCoarse(_) => "scoop-too-coarse",
    Self::HeavyTub { .. } => "heavy-tub",
} else {
    Self::Batch(_, warning) => warning,
    Self::Soak(warning) => warning,
});

codes!(BatchWarning {
    Self::Rich { .. } => "rich",
    Self::StrongDose { .. } => "strong-dose",
    Self::DoseAsPart(..) => "dose-as-part",
    Self::PhosphorusWithInoculant(_) => "phosphorus-with-inoculant",
});

codes!(SoakWarning {
    Self::OutOfReach => "soak-out-of-reach",
    Self::AfterMix(_) => "after-mix",
    Self::Waits(_) => "soak-waits",
    Self::GrowsStale { .. } => "grows-stale",
    Self::ReadyOutsideAwake(_) => "ready-outside-awake",
    Self::NoTime(_) => "no-time",
    Self::Unsaid => "soak-unsaid",
    Self::Salt(_) => "salt-safety",
} else {
    Self::Course(caution) => caution,
});

codes!(Why {
    Self::NotServed(_) | Self::NotAmong => "not-served",
    Self::NotFor(_) => "not-borne",
    Self::Asked => "asked",
    Self::InPlugs => "in-plugs",
    Self::Change => "change",
    Self::NoneOf(_) | Self::Limed(_) => "no-base",
});

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::caution_keys;
    use std::collections::BTreeSet;

    /// One list holds warnings and cautions, another notes of every kind: all codes differ,
    /// those of cautions, which are the keys of the catalogue, as well.
    #[test]
    fn codes_are_unique_and_in_kebab_case() {
        let cautions: Vec<&str> = caution_keys().collect();
        let notes = [Note::CODES, CropNote::CODES, TrayNote::CODES, ReadingNote::CODES];
        let warnings = [Warning::CODES, BatchWarning::CODES, SoakWarning::CODES];
        let all = [&notes[..], &warnings[..], &[Why::CODES, &cautions[..]]].concat().concat();
        assert_eq!(all.iter().collect::<BTreeSet<_>>().len(), all.len(), "{all:?}");
        for code in all {
            let parts = code.split('-');
            let plain = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_lowercase());
            assert!(parts.into_iter().all(plain), "{code}");
        }
    }

    #[test]
    fn what_holds_another_note_has_its_code() {
        assert_eq!(Note::Remark(ReadingNote::OneRow("flat".to_owned())).code(), "no-rows");
        assert_eq!(Note::Crops(CropNote::ThinOut, Vec::new()).code(), "thin-out");
        assert_eq!(Warning::Soak(SoakWarning::Waits(80.0)).code(), "soak-waits");
    }
}
