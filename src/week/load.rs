//! From a week's files to a checked week.

use super::recipes::{Gathered, RecipeOrigin, carriers, check_carriers};
use super::sowing::{self, Inline, KEYS, Names};
use super::{Allowances, Fill, Rack, RecipeId, Sowing, Week};
use crate::catalogue::{Catalogue, Crop, Handle, Ingredient, Origin, Tray};
use crate::coir::soak::Soak;
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::moment::{Moment, time_zone};
use crate::recipe::Recipe;
use crate::source::{Fields, Files, Kind, Node, Table, list, parse, text_of};
use crate::stock::Stock;
use crate::units::{Assumption, Parsed, Volume, volume};
use jiff::tz::TimeZone;
use std::collections::{BTreeSet, HashMap};
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
    pub remarks: Vec<Remark>,
}

/// Something in the files that was read in one of several ways.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Remark {
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
    /// A tray without `rows:`, taken as a single row.
    OneRow(String),
    /// Shares of a recipe that do not sum to their whole, in words.
    SharesOff(String),
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
}

/// Loads a week with every file it names; `wanted` adds to its `use:`.
///
/// # Errors
/// [`Rejected`] with every fault of every file.
pub fn load(path: &Path, files: &dyn Files, wanted: &[String]) -> Result<Loaded, Rejected> {
    Inputs { files, wanted, stock: None }.week(path)
}

impl Inputs<'_> {
    /// Loads a week with every file it names.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of every file.
    pub fn week(&self, path: &Path) -> Result<Loaded, Rejected> {
        self.week_of(path, &self.files.read(path, Kind::Yaml)?)
    }

    /// Loads a week whose own file has been read: standard input can be read once only.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of every file.
    pub fn week_of(&self, path: &Path, source: &Arc<SourceText>) -> Result<Loaded, Rejected> {
        let folder = path.parent().unwrap_or(Path::new("")).to_owned();
        let mut loader = Loader::new(*self, folder)?;
        let problems = Problems::new(Arc::clone(source));
        let week = parse(&source.text, &problems).and_then(|node| {
            let other = super::check::first_of(&node).filter(|kind| ["recipe", "soak", "stock"].contains(kind));
            if let Some(kind) = other {
                let what = format!("this is a {kind} file, not a week");
                problems.push(Problem::new(Code::WrongKind, node.at, what, "`week:` first"));
                return None;
            }
            let mut fields = Fields::new(&node, "a week", &problems)?;
            let week = loader.week(&mut fields, &problems);
            fields.finish();
            week
        });
        match problems.settle(week) {
            Ok((week, assumptions)) => {
                loader.remarks.extend(assumptions.into_iter().map(Remark::Assumed));
                loader.finish(week)
            }
            // The week's own faults first.
            Err(rejected) => Err(match loader.rejected {
                Some(others) => rejected.and(others),
                None => rejected,
            }),
        }
    }
}

/// Reads files and resolves names, keeping what is to be said of them.
///
/// First the ingredients of every file are gathered, so that the catalogue is complete
/// before a name is resolved.
pub(super) struct Loader<'i> {
    pub(super) inputs: Inputs<'i>,
    pub(super) folder: PathBuf,
    pub(super) catalogue: Catalogue,
    /// Recipe files whose ingredients are in the catalogue.
    pub(super) gathered: HashMap<PathBuf, Gathered>,
    pub(super) recipes: Vec<Recipe>,
    /// Recipes by where they come from; `None` for one that was refused.
    pub(super) by_origin: HashMap<RecipeOrigin, Option<RecipeId>>,
    default_recipe: Option<RecipeId>,
    /// The week says `recipe:`, be it one that was refused.
    names_recipe: bool,
    /// Crops by the word that named them.
    crops: HashMap<String, Handle<Crop>>,
    pub(super) remarks: BTreeSet<Remark>,
    /// Faults of other files than the week's own.
    rejected: Option<Rejected>,
}

/// The sowings of a week, listed in it or in a table of their own.
enum SowingsText<'n> {
    Listed(&'n Node<'n>),
    Table(Arc<SourceText>),
}

impl<'i> Loader<'i> {
    pub(super) fn new(inputs: Inputs<'i>, folder: PathBuf) -> Result<Self, Rejected> {
        Ok(Self {
            inputs,
            folder,
            catalogue: Catalogue::built_in()?,
            gathered: HashMap::new(),
            recipes: Vec::new(),
            by_origin: HashMap::new(),
            default_recipe: None,
            names_recipe: false,
            crops: HashMap::new(),
            remarks: BTreeSet::new(),
            rejected: None,
        })
    }

    /// The week with its tables and remarks, unless some file was rejected.
    pub(super) fn finish(self, week: Week) -> Result<Loaded, Rejected> {
        match self.rejected {
            Some(rejected) => Err(rejected),
            None => Ok(Loaded { week, catalogue: self.catalogue, remarks: self.remarks.into_iter().collect() }),
        }
    }

    pub(super) fn reject(&mut self, rejected: Rejected) {
        self.rejected = Some(match self.rejected.take() {
            Some(others) => others.and(rejected),
            None => rejected,
        });
    }

    /// A value, or `None` for one that was rejected.
    pub(super) fn accept<T>(&mut self, read: Result<T, Rejected>) -> Option<T> {
        read.map_err(|rejected| self.reject(rejected)).ok()
    }

    /// Keeps a value, or the faults of its file.
    pub(super) fn settle<T>(&mut self, problems: Problems, value: Option<T>) -> Option<T> {
        let (value, assumptions) = self.accept(problems.settle(value))?;
        self.remarks.extend(assumptions.into_iter().map(Remark::Assumed));
        Some(value)
    }

    fn week(&mut self, fields: &mut Fields<'_>, problems: &Problems) -> Option<Week> {
        let before = problems.len();
        let name = fields.require("week").and_then(|node| text_of(node, "the name of the week", problems));
        let before_own = carriers(&self.catalogue);
        self.catalogue.add(fields, Origin::Own, problems);
        check_carriers(&self.catalogue, &before_own, problems);
        let recipe = fields.get("recipe");
        self.names_recipe = recipe.is_some();
        let sowings = fields.require("sowings").and_then(|node| self.sowings_text(node));
        let recipe = recipe.and_then(|node| Some((text_of(node, "the name of a recipe", problems)?, node.at)));
        self.gather(recipe.map(|(reference, _)| reference), sowings.as_ref());
        let stock = self.stock(fields.get("stock"), problems);
        self.default_recipe = recipe.and_then(|(reference, at)| self.recipe_named(reference, at, problems));
        let wanted = self.written_wanted(fields.get("use"), problems);
        let zone = time_zone(fields, problems);
        let mix_on = Moment::read(fields, "mix_on", zone.clone(), problems);
        let sowings = sowings.map(|text| self.sowings(&text, problems)).unwrap_or_default();
        let (tub, scoop) = vessels(fields, problems);
        let name = name.unwrap_or_default();
        let mut week = Week {
            mix_on,
            sowings,
            allowances: fields.get("allowances").and_then(|node| Allowances::read(node, problems)).unwrap_or_default(),
            fill: fields.choice("fill", &Fill::WORDS).unwrap_or_default(),
            tub,
            scoop,
            rack: fields.get("rack").and_then(|node| Rack::read(node, problems)),
            soak: fields.get("soak").and_then(|node| week_soak(node, name, zone.as_ref(), problems)),
            stock,
            ..Week::of_name(name)
        };
        if week.sowings.is_empty() && problems.len() == before && self.rejected.is_none() {
            let what = "this week sows nothing";
            problems.push(Problem::new(Code::Sowing, fields.at(), what, "`sowings:` with at least one"));
        }
        week.recipes = std::mem::take(&mut self.recipes);
        week.wanted = self.wanted(&wanted, &week.recipes, problems);
        self.remark_on(&week.recipes, &week.sowings);
        Some(week)
    }

    /// The listed sowings, or the table that the week names.
    fn sowings_text<'n>(&mut self, node: &'n Node<'n>) -> Option<SowingsText<'n>> {
        let Some(file) = sowing::file_name(node) else { return Some(SowingsText::Listed(node)) };
        let read = self.inputs.files.read(&self.folder.join(file.trim()), Kind::Csv);
        self.accept(read).map(SowingsText::Table)
    }

    /// Takes in the ingredients of every recipe file that the week and its sowings name.
    fn gather(&mut self, recipe: Option<&str>, sowings: Option<&SowingsText<'_>>) {
        let mut references: BTreeSet<String> = recipe.map(str::to_owned).into_iter().collect();
        match sowings {
            Some(SowingsText::Listed(node)) => {
                references.extend(list(node).iter().filter_map(sowing::recipe_of).map(str::to_owned));
            }
            Some(SowingsText::Table(source)) => references.extend(sowing::recipes_of_table(source)),
            None => {}
        }
        for reference in references {
            self.gather_recipe(reference.trim());
        }
    }

    /// Remarks on misprinted shares and on trays without rows.
    pub(super) fn remark_on(&mut self, recipes: &[Recipe], sowings: &[Sowing]) {
        for recipe in recipes {
            if let Some(ratio) = recipe.shares_off {
                self.remarks.insert(Remark::SharesOff(crate::recipe::shares_off_words(&recipe.name, ratio)));
            }
        }
        let used: BTreeSet<&Handle<Tray>> = sowings.iter().map(|sowing| &sowing.tray).collect();
        let one_row = used.into_iter().filter(|tray| !tray.rows_stated);
        self.remarks.extend(one_row.map(|tray| Remark::OneRow(tray.name.clone())));
    }

    /// The ingredients of `use:`.
    fn written_wanted(&self, node: Option<&Node<'_>>, problems: &Problems) -> Vec<(Handle<Ingredient>, Span)> {
        let named = |node: &Node<'_>| {
            let name = text_of(node, "an ingredient", problems)?;
            Some((self.catalogue.ingredient_named(name, node.at, problems)?, node.at))
        };
        node.map(list).unwrap_or_default().iter().filter_map(named).collect()
    }

    /// The ingredients wanted, the command line's first; those that no recipe offers
    /// are faults, those that some recipe does not offer are remarked on.
    pub(super) fn wanted(
        &mut self,
        written: &[(Handle<Ingredient>, Span)],
        recipes: &[Recipe],
        problems: &Problems,
    ) -> Vec<Handle<Ingredient>> {
        let mut wanted = Vec::new();
        for name in self.inputs.wanted {
            let source = SourceText::argument("--use", name);
            let at = source.whole();
            let there = Problems::new(source);
            let id = self.catalogue.ingredient_named(name, at, &there);
            if let Some(id) = &id {
                self.check_offered(id, at, recipes, &there);
                wanted.push(id.clone());
            }
            self.settle(there, id);
        }
        for (id, at) in written {
            self.check_offered(id, *at, recipes, problems);
            wanted.push(id.clone());
        }
        wanted
    }

    fn check_offered(&mut self, id: &Handle<Ingredient>, at: Span, recipes: &[Recipe], problems: &Problems) {
        let name = &id.name;
        if recipes.is_empty() || recipes.iter().any(|recipe| recipe.offers(id)) {
            for recipe in recipes.iter().filter(|recipe| !recipe.offers(id)) {
                self.remarks.insert(Remark::NotOffered { wanted: name.clone(), recipe: recipe.name.clone() });
            }
            return;
        }
        let choices: BTreeSet<&str> = recipes
            .iter()
            .flat_map(|recipe| recipe.parts.iter().filter(|part| part.choices.len() > 1))
            .flat_map(|part| part.choices.iter().map(|id| id.name.as_str()))
            .collect();
        let help = match choices.is_empty() {
            true => "no recipe here offers a choice".to_owned(),
            false => format!("the choices are {}", choices.into_iter().collect::<Vec<_>>().join(", ")),
        };
        let what = format!("no recipe here offers `{name}` as a choice");
        problems.push(Problem::new(Code::Recipe, at, what, "an ingredient that a recipe offers").with_help(Some(help)));
    }

    fn sowings(&mut self, text: &SowingsText<'_>, problems: &Problems) -> Vec<Sowing> {
        let source = match text {
            SowingsText::Table(source) => source,
            SowingsText::Listed(node) => {
                let rows = list(node).iter().filter_map(|entry| Inline::read(entry, problems));
                return rows.filter_map(|row| sowing::read(&row, self, problems)).collect();
            }
        };
        let problems = Problems::new(Arc::clone(source));
        let mut sowings = Vec::new();
        if let Some(mut table) = Table::new(&source.text, KEYS, &problems) {
            while let Some(row) = table.next_row(&problems) {
                sowings.extend(sowing::read(&row, self, &problems));
            }
            if sowings.is_empty() && problems.is_empty() {
                problems.push(Problem::of_file(Code::Sowing, "the table has no rows", None));
            }
        }
        self.settle(problems, Some(sowings)).unwrap_or_default()
    }

    /// The stock file that the command line or the week names.
    pub(super) fn stock(&mut self, node: Option<&Node<'_>>, problems: &Problems) -> Option<Stock> {
        let written = node.and_then(|node| text_of(node, "the path of a stock file", problems));
        let path = match (self.inputs.stock, written) {
            (Some(path), _) => path.to_owned(),
            (None, written) => self.folder.join(written?.trim()),
        };
        let read = self.inputs.files.read(&path, Kind::Yaml);
        let source = self.accept(read)?;
        let problems = Problems::new(Arc::clone(&source));
        let stock = crate::stock::read(&source, &mut self.catalogue, &problems);
        self.settle(problems, stock).map(|stock| Stock { path: Some(path), ..stock })
    }
}

impl Names for Loader<'_> {
    fn crop(&mut self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Crop>> {
        if let Some(crop) = self.crops.get(name) {
            return Some(crop.clone());
        }
        let crop = self.catalogue.crop_named(name, at, problems)?;
        if let Some(trap) = self.catalogue.trap(name)
            && crop.origin == Origin::BuiltIn
        {
            self.remarks.insert(Remark::Name {
                written: name.trim().to_owned(),
                crop: crop.name.clone(),
                remark: trap.remark.clone(),
            });
        }
        self.crops.insert(name.to_owned(), crop.clone());
        Some(crop)
    }

    fn tray(&mut self, name: &str, at: Span, problems: &Problems) -> Option<Handle<Tray>> {
        self.catalogue.tray_named(name, at, problems)
    }

    fn recipe(&mut self, name: Option<&str>, at: Span, problems: &Problems) -> Option<RecipeId> {
        match name {
            Some(name) => self.recipe_named(name, at, problems),
            None => {
                // A week's recipe that was refused has its fault already.
                if !self.names_recipe {
                    let what = "neither the week nor this sowing names a recipe";
                    problems.push(Problem::new(Code::MissingKey, at, what, "`recipe:` in the week"));
                }
                self.default_recipe
            }
        }
    }
}

/// `tub:` and `scoop:`, the tub no smaller than the scoop.
fn vessels(fields: &mut Fields<'_>, problems: &Problems) -> (Option<Volume>, Option<Volume>) {
    let mut read = |key, problems: &Problems| {
        let parsed: Option<Parsed<Volume>> = fields.quantity(key, "a volume such as `60 L`", volume);
        problems.assume(parsed.and_then(|parsed| parsed.assumption));
        parsed.map(|parsed| parsed.value)
    };
    let (tub, scoop) = (read("tub", problems), read("scoop", problems));
    if let (Some(tub), Some(scoop)) = (tub, scoop)
        && tub < scoop
    {
        let at = fields.get("tub").map_or(fields.at(), |node| node.at);
        problems.push(Problem::new(
            Code::Conflict,
            at,
            "the tub is smaller than one scoop",
            "a tub that holds some scoops",
        ));
    }
    (tub, scoop)
}

/// The `soak:` of a week, which knows itself how much coir it takes.
fn week_soak(node: &Node<'_>, name: &str, zone: Option<&TimeZone>, problems: &Problems) -> Option<Soak> {
    let mut fields = Fields::new(node, "a soak", problems)?;
    let soak = Soak::read(&mut fields, name, zone, problems);
    fields.finish();
    if soak.as_ref().is_some_and(|soak| soak.amount.is_some()) {
        let what = "a week works out itself how much coir it takes";
        problems.push(Problem::new(Code::Conflict, node.at, what, "`coir: {product: ...}` alone"));
    }
    if soak.as_ref().is_some_and(|soak| soak.course.is_some()) {
        let what = "a course of one's own belongs in a soak file";
        problems.push(Problem::new(Code::Conflict, node.at, what, "no `steps:` in a week"));
    }
    soak
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Memory;

    fn load_text(text: &str) -> Result<Loaded, Rejected> {
        load(Path::new("week.yaml"), &Memory::default().with("week.yaml", text), &[])
    }

    fn faults(text: &str) -> Vec<&'static str> {
        let rejected = load_text(text).unwrap_err();
        rejected.problems().map(|(_, problem)| problem.code.name()).collect()
    }

    const WEEK: &str = "week: one\nrecipe: everyday\nsowings:\n";

    #[test]
    fn a_small_week_loads() {
        let loaded = load_text(&format!("{WEEK}  - {{crop: kale, plants: 80, tray: 50-cell}}\n")).unwrap();
        assert_eq!(loaded.week.sowings.len(), 1);
        assert_eq!(loaded.week.sowings[0].amount, super::super::Amount::Plants(80));
    }

    #[test]
    fn all_faults_of_a_file_come_at_once() {
        let text = "week: one\nrecipe: everydy\nmix_on: 2027-02-30\nsowings:\n  - {crop: kail, plants: -3, tray: 51-cell}\n  - {crop: leek}\ntub: 1 L\nscoop: 2 L\nracks: 3\n";
        assert_eq!(
            faults(text),
            [
                "unknown-recipe",
                "date",
                "unknown-crop",
                "quantity",
                "unknown-tray",
                "missing-key",
                "missing-key",
                "conflict",
                "unknown-key"
            ]
        );
    }

    #[test]
    fn a_recipe_beside_the_week_wins_and_is_remarked_on() {
        let files = Memory::default()
            .with("f/week.yaml", format!("{WEEK}  - {{crop: kale, cells: 8, tray: 50-cell}}\n"))
            .with("f/everyday.yaml", "recipe: everyday\nparts: {peat: 1}\n");
        let loaded = load(Path::new("f/week.yaml"), &files, &[]).unwrap();
        assert_eq!(loaded.week.recipes[0].parts.len(), 1);
        assert_eq!(loaded.remarks, [Remark::RecipeBeside("everyday".to_owned())]);
    }

    #[test]
    fn faults_in_a_recipe_and_a_table_are_reported_with_the_week() {
        let files = Memory::default()
            .with("week.yaml", "week: one\nrecipe: own\nsowings: s.csv\ntub: 0 L\n")
            .with("own.yaml", "recipe: own\nparts: {peat: 0}\n")
            .with("s.csv", "crop,tray,cells\nkail,72-cell,4\n");
        let rejected = load(Path::new("week.yaml"), &files, &[]).unwrap_err();
        let places: Vec<_> =
            rejected.problems().map(|(source, problem)| (source.name.as_str(), problem.code.name())).collect();
        assert_eq!(places, [("week.yaml", "quantity"), ("own.yaml", "quantity"), ("s.csv", "unknown-crop")]);
    }

    #[test]
    fn no_sowing_without_a_recipe_is_passed_over() {
        let text = "week: one\nsowings:\n  - {crop: kale, cells: 8, tray: 50-cell, recipe: rich}\n  \
                    - {crop: leek, cells: 8, tray: 50-cell}\n";
        assert_eq!(faults(text), ["missing-key"]);
    }

    #[test]
    fn one_recipe_file_has_one_name_and_a_second_of_that_name_is_refused() {
        let own = "recipe: mine\nparts: {peat: 1}\n";
        let week = |recipe: &str| {
            format!(
                "week: one\nrecipe: mine\nsowings:\n  - {{crop: kale, cells: 8, tray: 50-cell}}\n  \
                 - {{crop: leek, cells: 8, tray: 50-cell, recipe: '{recipe}'}}\n"
            )
        };
        let load = |recipe: &str, file: &str, text: &str| {
            let files = Memory::default().with("week.yaml", week(recipe)).with("mine.yaml", own).with(file, text);
            load(Path::new("week.yaml"), &files, &[])
        };
        for spelling in [" mine", "mine.yaml", "./mine.yaml", "sub/../mine.yaml"] {
            let loaded = load(spelling, spelling.trim(), own).unwrap();
            assert_eq!(loaded.week.recipes.len(), 1, "{spelling}");
        }
        let rejected = load("sub/mine.yaml", "sub/mine.yaml", own).unwrap_err();
        assert!(rejected.to_string().contains("two recipes are called `mine`"), "{rejected}");
        // The same as the built-in one but for its yield is a recipe of its own.
        let everyday = crate::recipe::built_in_text("everyday").unwrap().replace("yield: 88 %", "yield: 60 %");
        let text = week("sub/everyday.yaml").replace("recipe: mine", "recipe: everyday");
        let files = Memory::default().with("week.yaml", text).with("sub/everyday.yaml", everyday);
        let rejected = super::load(Path::new("week.yaml"), &files, &[]).unwrap_err();
        assert!(rejected.to_string().contains("two recipes are called `everyday`"), "{rejected}");
    }

    #[test]
    fn a_carrier_that_is_not_there_is_reported_once() {
        let week = format!(
            "{WEEK}  - {{crop: kale, cells: 8, tray: 50-cell, recipe: mine}}\n\
             ingredients: {{x: {{serves: {{mycorrhiza: host}}, instead: nosuch}}}}\n"
        );
        let files = Memory::default().with("week.yaml", week).with("mine.yaml", "recipe: mine\nparts: {peat: 1}\n");
        let rejected = load(Path::new("week.yaml"), &files, &[]).unwrap_err();
        assert_eq!(rejected.problems().count(), 1, "{rejected}");
    }

    #[test]
    fn wanted_ingredients_must_be_offered_somewhere() {
        let week = |wanted: &str| format!("{WEEK}  - {{crop: kale, cells: 8, tray: 50-cell}}\nuse: {wanted}\n");
        assert!(load_text(&week("coir")).is_ok());
        assert_eq!(faults(&week("perlite")), ["recipe"]);
        assert_eq!(faults(&week("[coir, coyr]")), ["unknown-ingredient"]);
    }
}
