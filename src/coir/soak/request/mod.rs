//! A soak as it is asked for: in a file of its own, in a week, or by options.

mod lab;
mod options;
mod read;
mod steps;
mod values;

pub use options::from_options;
pub use read::{read, settle};

use crate::awake::Awake;
use crate::coir::{
    BufferTarget, Coir, CourseStep, Model, Salt, SoldAs, Solutes, Stated, WaterHeld, dry_kg_of_loose, dry_kg_of_sold,
};
use crate::moment::Moment;
use crate::units::Assumption;

/// A soak as asked for, checked.
#[derive(Clone, Debug)]
pub struct Soak {
    /// Its name.
    pub name: String,
    /// What the coir is sold in.
    pub product: Product,
    /// Whether that was said, or is the usual block.
    pub product_said: bool,
    /// How much coir; `None` inside a week, which knows.
    pub amount: Option<CoirAmount>,
    /// The coir as it comes.
    pub coir: CoirKind,
    /// The salt of the baths.
    pub salt: Salt,
    /// The salt was named in a way that two products share.
    pub salt_unsure: bool,
    /// The target, if one is stated.
    pub target: Option<BufferTarget>,
    /// What of the course is stated; the rest is found.
    pub stated: Stated,
    /// Hours of each soak.
    pub hours: f64,
    /// When the coir must be ready, in local time.
    pub ready: Option<Moment>,
    /// When somebody is there for its steps.
    pub awake: Awake,
    /// The ions of the water, mol/L.
    pub tap: Solutes,
    /// The exchange model, by the convention that is asked for.
    pub model: Model,
    /// The grower's own tub, litres.
    pub tub_l: Option<f64>,
    /// The same is to be designed with every other salt too.
    pub compare: bool,
    /// Half of the coir only, to compare: in a week.
    pub trial: bool,
    /// The steps of the grower's own course, in place of a designed one.
    pub course: Option<Vec<CourseStep>>,
    /// What bare customary units of a file of its own were taken for; those of a week are
    /// among its remarks.
    pub units: Vec<Assumption>,
}

impl Soak {
    /// Half of the coir is soaked, to compare: it is wanted, and there is a bath to try.
    pub fn tries_half(&self) -> bool {
        self.trial && self.coir.coir().is_some()
    }
}

/// The coir as it comes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CoirKind {
    /// As the bag says.
    SoldAs(SoldAs),
    /// By a laboratory's report.
    Measured(Coir),
}

impl CoirKind {
    /// Its composition; `None` where it needs no course.
    pub fn coir(self) -> Option<Coir> {
        match self {
            Self::SoldAs(claim) => claim.coir(),
            Self::Measured(coir) => Some(coir),
        }
    }

    /// The water in it as it comes from its course to the mix; `None` where it needs none and is only wetted.
    pub fn water_held(self) -> Option<WaterHeld> {
        self.coir().map(|coir| coir.drained())
    }

    /// What the bag says, in its own word; `lab report` for a measured one.
    pub const fn word(self) -> &'static str {
        match self {
            Self::SoldAs(claim) => claim.word(),
            Self::Measured(_) => "lab report",
        }
    }
}

/// A brick or block of coir.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// As the label says: `5 kg block`.
    pub label: String,
    /// Its weight, kg.
    pub kg: f64,
}

/// How much coir.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CoirAmount {
    /// So many bricks or blocks.
    Pieces(u64),
    /// Dry mass, kg.
    DryKg(f64),
    /// Loose litres.
    LooseL(f64),
}

impl CoirAmount {
    /// Dry coir, kg.
    pub fn dry_kg(self, product: &Product) -> f64 {
        match self {
            Self::Pieces(count) => dry_kg_of_sold(product.kg * count as f64),
            Self::DryKg(kg) => kg,
            Self::LooseL(litres) => dry_kg_of_loose(litres),
        }
    }
}
