//! The soak of the coir: what the file says, the sheet it comes to, and when to start.

mod read;
mod sheet;
mod times;

pub use read::{DEFAULT_PRODUCT, check, from_options, load};
pub use sheet::{Outcome, Sheet, work_out};
pub use times::{KEEPS_HOURS, Run, Times, hours_of};

use crate::coir::{Coir, Convention, Salt, Solutes, Step, Target};
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
    pub amount: Option<Amount>,
    /// The coir as it comes; `None` if it is sold as buffered.
    pub coir: Option<Coir>,
    /// What the bag says, in its own word; `lab report` for a measured one.
    pub sold_as: &'static str,
    /// The salt of the baths.
    pub salt: Salt,
    /// The salt was named in a way that two products share.
    pub salt_unsure: bool,
    /// The target, if one is stated.
    pub target: Option<Target>,
    /// Number of soaks.
    pub soaks: u8,
    /// Hours of each soak.
    pub hours: f64,
    /// When the coir must be ready, in local time.
    pub ready: Option<Moment>,
    /// The ions of the water.
    pub tap: Solutes,
    /// How mass action is written.
    pub convention: Convention,
    /// The grower's own tub, litres.
    pub tub_l: Option<f64>,
    /// Half of the coir only, to compare: in a week.
    pub trial: bool,
    /// An explicit course in place of a designed one.
    pub course: Option<Vec<Step>>,
    /// What bare customary units of a file of its own were taken for; those of a week are
    /// among its remarks.
    pub units: Vec<Assumption>,
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
pub enum Amount {
    /// So many bricks or blocks.
    Pieces(u64),
    /// Dry mass, kg.
    DryKg(f64),
    /// Loose litres.
    LooseL(f64),
}

impl Amount {
    /// Dry coir, kg.
    #[must_use]
    pub fn dry_kg(self, product: &Product) -> f64 {
        match self {
            Self::Pieces(count) => crate::coir::dry_kg_of_sold(product.kg * count as f64),
            Self::DryKg(kg) => kg,
            Self::LooseL(litres) => crate::coir::dry_kg_of_loose(litres),
        }
    }
}
