//! What reads the files of a week: the names found so far, and what is to be said of them.

use super::terms::Terms;
use super::{RecipeId, Week};
use crate::catalogue::{By, Catalogue, Crop, Handle, Origin, StatusFrom, Tray, exceptions, trap};
use crate::diagnostic::{Problem, Problems, Rejected, Span};
use crate::recipe::Recipe;
use crate::source::{Files, Node, text_of};
use crate::stock::Ledger;
use crate::units::{Assumption, Length};
use jiff::tz::TimeZone;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::hash::Hash;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A checked week and the tables it was checked against.
#[derive(Debug)]
pub struct Loaded {
    /// The week.
    pub week: Week,
    /// Built-in entries with the user's own over them.
    pub catalogue: Catalogue,
    /// What the reader should know about how the files were read.
    pub remarks: Vec<ReadingNote>,
}

/// Something in the files that was read in one of several ways.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReadingNote {
    /// A bare customary unit.
    Assumed(Assumption),
    /// A recipe file that stands in for a built-in recipe of its name.
    RecipeBeside(String),
    /// A wanted ingredient that a recipe does not offer as a choice.
    NotOffered {
        /// The ingredient.
        wanted: String,
        /// The recipe.
        recipe: String,
    },
    /// A name that is often confused, and what it was taken for.
    Name {
        /// As written.
        written: String,
        /// The crop.
        crop: String,
        /// What to know.
        remark: String,
    },
    /// A named sort, and the crop that its last words say.
    LastWords {
        /// As written.
        written: String,
        /// The crop.
        crop: String,
    },
    /// An own crop known by its family alone, which holds plants of other ways of life.
    FamilyVaries {
        /// The crop.
        crop: String,
        /// Its family.
        family: String,
        /// The plants that differ from it.
        others: Vec<&'static str>,
    },
    /// A tray without `rows:`, taken as a single row.
    OneRow(String),
    /// Shares of a recipe that do not sum to their whole, in words.
    SharesOff(String),
    /// Some facts are those of the place of this name.
    FromPlace(String),
}

/// Where files come from, and what the command line adds to them.
#[derive(Clone, Copy)]
pub struct Inputs<'i> {
    /// The files.
    pub files: &'i dyn Files,
    /// Ingredients wanted where a recipe offers a choice, before those of the week.
    pub wanted: &'i [String],
    /// A stock file in place of the week's.
    pub stock: Option<&'i Path>,
    /// A place for what is asked for on the command line.
    pub place: Option<&'i Path>,
    /// The zone of times in files that name none; asked for only where there is such a time.
    pub zone: fn() -> TimeZone,
}

impl<'i> Inputs<'i> {
    /// Files alone; their times are UTC where they name no zone.
    pub fn new(files: &'i dyn Files) -> Self {
        Self { files, wanted: &[], stock: None, place: None, zone: || TimeZone::UTC }
    }

    /// A stock file is read: no result is written over what the program keeps beside it.
    pub(crate) fn keep_ledger(&self, stock: &Path) {
        Ledger::files(stock).into_iter().flatten().for_each(|file| self.files.keep(file));
    }
}

/// Where a recipe comes from.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum RecipeOrigin {
    /// A file.
    File(PathBuf),
    /// The built-in one of this name.
    BuiltIn(&'static str),
}

/// Reads files and resolves names, keeping what is to be said of them.
///
/// First the ingredients of every file are gathered, so that the catalogue is complete
/// before a name is resolved.
pub(crate) struct Loader<'i> {
    pub(crate) inputs: Inputs<'i>,
    pub(crate) folder: PathBuf,
    /// The folder of the place.
    pub(super) place_folder: PathBuf,
    pub(super) catalogue: Catalogue,
    /// Recipe files that are named: those read, whose ingredients are in the catalogue, with
    /// the faults found so far.
    pub(super) gathered: HashMap<PathBuf, Result<Problems, Rejected>>,
    pub(super) recipes: Vec<Recipe>,
    /// Their names, as names are compared.
    pub(super) recipe_names: HashSet<String>,
    /// Recipes by where they come from; `None` for one that was refused.
    pub(super) by_origin: HashMap<RecipeOrigin, Option<RecipeId>>,
    pub(super) default_recipe: Option<RecipeId>,
    /// The week says `recipe:`, be it one that was refused.
    pub(super) names_recipe: bool,
    /// The place of the file cannot be read: what is not found may stand there.
    pub(super) lacks_place: bool,
    /// Keys of the place that cannot be read.
    pub(super) lacking: BTreeSet<String>,
    /// How far below their edges pots are filled, where the week says so.
    pub(super) rim: Option<Length>,
    /// Crops by the word that named them.
    crops: HashMap<String, Handle<Crop>>,
    /// Trays by the word that named them.
    trays: HashMap<String, Handle<Tray>>,
    /// What sowings say of themselves, each once.
    pub(super) terms: HashSet<Arc<Terms>>,
    /// Varieties, each once.
    pub(super) varieties: HashSet<Arc<String>>,
    pub(super) remarks: BTreeSet<ReadingNote>,
    /// Faults of other files than the week's own.
    pub(crate) rejected: Rejected,
}

impl<'i> Loader<'i> {
    pub(crate) fn new(inputs: Inputs<'i>, folder: PathBuf) -> Self {
        Self {
            inputs,
            folder,
            place_folder: PathBuf::new(),
            catalogue: Catalogue::built_in(),
            gathered: HashMap::new(),
            recipes: Vec::new(),
            recipe_names: HashSet::new(),
            by_origin: HashMap::new(),
            default_recipe: None,
            names_recipe: false,
            lacks_place: false,
            lacking: BTreeSet::new(),
            rim: None,
            crops: HashMap::new(),
            trays: HashMap::new(),
            terms: HashSet::new(),
            varieties: HashSet::new(),
            remarks: BTreeSet::new(),
            rejected: Rejected::default(),
        }
    }

    /// The week that was read with its tables and remarks, unless some file was rejected.
    pub(crate) fn finish(mut self, problems: Problems, week: Option<Week>) -> Result<Loaded, Rejected> {
        match problems.settle(week) {
            Ok((week, assumptions)) => {
                self.assume(assumptions);
                self.loaded(week)
            }
            // The week's own faults first.
            Err(rejected) => Err(rejected.and(self.rejected)),
        }
    }

    /// The week with its tables and remarks, unless some file was rejected.
    pub(super) fn loaded(mut self, week: Week) -> Result<Loaded, Rejected> {
        let taken = week.standing.taken.iter().filter(|taken| !taken.keys.is_empty());
        self.remarks.extend(taken.map(|taken| ReadingNote::FromPlace(taken.place.clone())));
        let loaded = Loaded { week, catalogue: self.catalogue, remarks: self.remarks.into_iter().collect() };
        self.rejected.or(loaded)
    }

    /// Keeps a value, or the faults of its file.
    pub(super) fn settle<T>(&mut self, problems: Problems, value: Option<T>) -> Option<T> {
        let (value, assumptions) = self.rejected.accept(problems.settle(value))?;
        self.assume(assumptions);
        Some(value)
    }

    /// What was read of a file, or the fault of the file as a whole at the place that names it.
    pub(super) fn named<T>(&mut self, read: Result<T, Rejected>, at: Span, problems: &Problems) -> Option<T> {
        let rejected = match read {
            Ok(read) => return Some(read),
            Err(rejected) => rejected,
        };
        let whole = rejected.problems().find(|(_, problem)| problem.at.is_none()).map(|(source, problem)| {
            let what = format!("{}: {}", source.name, problem.what);
            Problem::new(problem.code, at, what, "a file that can be read").with_help(problem.help.clone())
        });
        match whole {
            Some(problem) => problems.refuse(problem),
            // What the file holds is at fault.
            None => self.rejected.accept(Err(rejected)),
        }
    }

    /// Notes what bare units were taken for.
    pub(super) fn assume(&mut self, assumptions: BTreeSet<Assumption>) {
        self.remarks.extend(assumptions.into_iter().map(ReadingNote::Assumed));
    }

    /// The tray that a node names.
    pub(crate) fn tray(&mut self, node: &Node<'_>, problems: &Problems) -> Option<Handle<Tray>> {
        if let Some(tray) = node.text().and_then(|name| self.trays.get(name)) {
            return Some(tray.clone());
        }
        let tray = self.catalogue.tray(node, problems)?;
        let tray = self.below_rim(&tray);
        self.trays.extend(node.text().map(|name| (name.to_owned(), tray.clone())));
        Some(tray)
    }

    /// A tray as it is filled here.
    pub(super) fn below_rim(&self, tray: &Handle<Tray>) -> Handle<Tray> {
        self.rim.map_or(tray.clone(), |rim| tray.filled_below(rim))
    }

    /// The crop that a node names.
    pub(super) fn crop(&mut self, node: &Node<'_>, problems: &Problems) -> Option<Handle<Crop>> {
        let name = text_of(node, "a crop", problems)?;
        if let Some(crop) = self.crops.get(name) {
            return Some(crop.clone());
        }
        let meant = self.catalogue.meant(name);
        let (crop, by) = self.catalogue.settle(name, meant, node.at, problems)?;
        self.remarks.extend(on_name(name.trim(), &crop, by));
        let crop = crop.called(name);
        self.crops.insert(name.to_owned(), crop.clone());
        Some(crop)
    }
}

/// The same as that of an earlier sowing, if there is one that has it.
pub(super) fn shared<T: Eq + Hash>(known: &mut HashSet<Arc<T>>, new: Arc<T>) -> Arc<T> {
    if let Some(known) = known.get(&new) {
        return Arc::clone(known);
    }
    known.insert(Arc::clone(&new));
    new
}

/// What is to be said of a name that was taken for a crop.
fn on_name(written: &str, crop: &Crop, by: By) -> Option<ReadingNote> {
    let (written, name) = (written.to_owned(), crop.name.clone());
    if crop.origin == Origin::Own {
        let StatusFrom::Family(family) = &crop.mycorrhiza_from else { return None };
        let others = exceptions(family);
        let varies = crop.species.is_none() && !others.is_empty();
        return varies.then(|| ReadingNote::FamilyVaries { crop: name, family: family.clone(), others });
    }
    match (trap(&written), by) {
        (Some(trap), _) => Some(ReadingNote::Name { written, crop: name, remark: trap.remark.clone() }),
        (None, By::LastWords) => Some(ReadingNote::LastWords { written, crop: name }),
        (None, By::Name) => None,
    }
}
