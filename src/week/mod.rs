//! A week's sowings: what is sown in which trays, for when, and with what at hand.

mod allowances;
mod load;
mod loader;
mod place;
mod recipes;
mod request;
mod sowing;
mod terms;
mod trial;

pub use allowances::Allowances;
pub use load::load;
pub(crate) use load::{MOST_WANTED, WeekFile};
pub(crate) use loader::Loader;
pub use loader::{Inputs, Loaded, ReadingNote};
pub(crate) use place::BESIDE;
pub(crate) use recipes::{add_ingredients, plain_path, read_recipe};
pub use request::{Request, Requested};
pub use sowing::{MOST_CELLS, SOWING_KEYS, Sowing, SowingAmount, usual_spare, without_plug};
pub use terms::{Fill, Terms};
pub use trial::{Compared, PairedTrial};

pub(crate) use sowing::{Sown, small};

use crate::awake::Awake;
use crate::catalogue::{Handle, Ingredient};
use crate::coir::WaterHeld;
use crate::coir::soak::Soak;
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::exact::Fraction;
use crate::moment::Moment;
use crate::place::{Rack, Standing};
use crate::recipe::Recipe;
use crate::source::Scoop;
use crate::stock::Stock;
use crate::units::Volume;
use jiff::civil::Date;
use std::sync::Arc;

/// Index of a recipe in [`Week::recipes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RecipeId(pub usize);

/// A place in a file.
#[derive(Clone, Debug)]
pub struct Place {
    /// The file.
    pub source: Arc<SourceText>,
    /// Where in it; in few bytes, since each row of a table has its place.
    from: u32,
    to: u32,
}

impl Place {
    /// A place in a file, none of which is longer than 64 MB.
    pub fn new(source: Arc<SourceText>, span: Span) -> Self {
        let [from, to] = [span.start, span.end].map(|at| u32::try_from(at).unwrap_or(u32::MAX));
        Self { source, from, to }
    }

    /// Where in the file.
    pub fn span(&self) -> Span {
        Span { start: self.from as usize, end: self.to as usize }
    }
}

/// Faults of sowings, by their files.
#[derive(Default)]
pub(crate) struct Faults(Vec<Problems>);

impl Faults {
    /// One more.
    pub(crate) fn push(&mut self, place: &Place, what: String, expected: impl Into<String>) {
        let known = self.0.iter().position(|file| Arc::ptr_eq(file.source(), &place.source));
        let index = known.unwrap_or_else(|| {
            self.0.push(Problems::new(Arc::clone(&place.source)));
            self.0.len() - 1
        });
        self.0[index].push(Problem::new(Code::Sowing, place.span(), what, expected));
    }

    /// Nothing, or the rejection of the files with them.
    pub(crate) fn settle(self) -> Result<(), Rejected> {
        let rejected = self.0.into_iter().filter_map(|problems| problems.settle(None::<()>).err());
        rejected.reduce(Rejected::and).map_or(Ok(()), Err)
    }
}

/// A checked week: every name resolved, every figure within bounds.
#[derive(Clone, Debug, Default)]
pub struct Week {
    /// Its name.
    pub name: String,
    /// Made up from a command line: nothing is assumed of what it does not say.
    pub from_command: bool,
    /// When the mix must be ready, in local time.
    pub mix_on: Option<Moment>,
    /// When somebody is there for what needs hands.
    pub awake: Awake,
    /// The recipes that the sowings use.
    pub recipes: Vec<Recipe>,
    /// The ingredients wanted where a recipe offers a choice.
    pub wanted: Vec<Handle<Ingredient>>,
    /// The sowings, at least one.
    pub sowings: Vec<Sowing>,
    /// Settling, spill and the chances that hold for the week.
    pub allowances: Allowances,
    /// Whether whole trays are filled, where a sowing does not say.
    pub fill: Fill,
    /// The tub the mix is made in.
    pub tub: Option<Volume>,
    /// The measure the tub is filled with.
    pub scoop: Option<Scoop>,
    /// How far a share of what is scooped may lie from the recipe's, where the week says.
    pub tolerance: Option<Fraction>,
    /// Where the trays will stand.
    pub rack: Option<Rack>,
    /// How the coir is to be soaked, where the week says.
    pub soak: Option<Soak>,
    /// Coir, loose, that later days need of what is at hand or bought: it stays dry.
    pub coir_for_later: Volume,
    /// A trial of some of its trays, in pairs.
    pub trial: Option<PairedTrial>,
    /// What is at hand and how it is sold.
    pub stock: Option<Stock>,
    /// Facts of the bench that a season uses, and what was taken from a place file.
    pub standing: Standing,
}

impl Week {
    /// The recipe of an index that this week gave.
    pub fn recipe(&self, id: RecipeId) -> &Recipe {
        &self.recipes[id.0]
    }

    /// The day of the mix.
    pub fn day(&self) -> Option<Date> {
        self.mix_on.as_ref().map(|moment| moment.local.date())
    }

    /// The water in the coir when it comes to the tub from its course; `None` where it is only wetted.
    pub fn water_of_coir(&self) -> Option<WaterHeld> {
        self.soak.as_ref().and_then(|soak| soak.coir.water_held())
    }

    /// The share of a sowing's seedlings that is good enough to plant: its own, or the week's.
    pub fn usable(&self, sowing: &Sowing) -> Fraction {
        sowing.usable.unwrap_or(self.allowances.usable)
    }

    /// The chance of enough plants that is asked for: the sowing's own, or the week's.
    pub fn surety(&self, sowing: &Sowing) -> Fraction {
        sowing.surety.unwrap_or(self.allowances.surety)
    }
}
