//! From a week's files to a checked week.

use super::loader::{Inputs, Loaded, Loader, ReadingNote, shared};
use super::place::Wanted;
use super::recipes::{add_own, refuse_other_kind};
use super::sowing::{Sown, recipes_of_table};
use super::terms::Terms;
use super::{PairedTrial, Sowing, Week};
use crate::catalogue::{Handle, Ingredient, Tray};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::moment::{Day, Moment};
use crate::place::Taken;
use crate::recipe::Recipe;
use crate::source::{
    CsvTable, Fields, FileKind, Files, FromNode, INTO_A_TABLE, Node, list, no_more_than, parse, too_many,
};
use crate::stock::Stock;
use jiff::civil::Date;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

/// Loads a week with every file it names; `wanted` adds to its `use:`. Its times are UTC
/// where it names no zone.
///
/// # Errors
/// [`Rejected`] with every fault of every file.
pub fn load(path: &Path, files: &dyn Files, wanted: &[String]) -> Result<Loaded, Rejected> {
    Inputs { wanted, ..Inputs::new(files) }.week(path)
}

impl Inputs<'_> {
    /// Loads a week with every file it names.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of every file.
    pub fn week(&self, path: &Path) -> Result<Loaded, Rejected> {
        self.week_of(path, &self.files.read(path, FileKind::Yaml)?)
    }

    /// Loads a week whose own file has been read: standard input can be read once only.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of every file.
    pub fn week_of(&self, path: &Path, source: &Arc<SourceText>) -> Result<Loaded, Rejected> {
        let folder = path.parent().unwrap_or(Path::new("")).to_owned();
        let mut loader = Loader::new(*self, folder);
        let problems = Problems::new(Arc::clone(source));
        let week = loader.read(&mut WeekFile::default(), &problems);
        loader.finish(problems, week)
    }
}

/// The most sowings that a week may list; a table may have more.
const MOST_LISTED: usize = 50_000;
/// The most ingredients that may be wanted.
pub(crate) const MOST_WANTED: usize = 100;

/// A week.
#[derive(Default)]
pub(crate) struct WeekFile {
    mix_on: Option<Date>,
}

/// Facts of a place that do nothing in a week.
const OF_A_SEASON: [&str; 4] = ["mix_days", "trays_a_day", "frost", "frame"];

impl Sown for WeekFile {
    fn key(&self) -> &'static str {
        "week"
    }

    fn what(&self) -> &'static str {
        "a week"
    }

    fn more_columns(&self) -> &'static [&'static str] {
        &["plant_out", "leaves", "to_frame"]
    }

    fn head(&mut self, loader: &Loader<'_>, week: &mut Week, fields: &mut Fields<'_>, problems: &Problems) {
        let zone = || week.standing.zone(loader.inputs.zone);
        week.mix_on = Moment::read(fields, "mix_on", &|day| week.awake.usual_hour(day), &zone, problems);
        week.trial = fields.get("trial").and_then(|node| PairedTrial::read(node, loader, problems));
        week.coir_for_later = fields.optional("coir_for_later").unwrap_or_default();
        let day = week.day();
        self.mix_on = day;
        week.stock.iter_mut().for_each(|stock| stock.on_hand.shed.on(day));
        if let Some(taken) = &mut week.standing.taken {
            taken.keys.retain(|key| !OF_A_SEASON.contains(&key.as_str()));
        }
    }

    fn sowing(
        &mut self,
        loader: &mut Loader<'_>,
        sowing: Option<Sowing>,
        (_, fields): (&Node<'_>, &mut Fields<'_>),
        problems: &Problems,
    ) -> Option<Sowing> {
        let [plant_out, leaves, to_frame] =
            ["plant_out", "leaves", "to_frame"].map(|key| fields.optional(key).map(|Day(day)| day));
        let is_after = |day: Option<Date>, end: Option<Date>| day.zip(end).is_some_and(|(day, end)| day > end);
        let leaves_late =
            (is_after(leaves, plant_out), "this leaves its place after it is planted out", "an earlier day");
        let frames_off = (
            is_after(self.mix_on, to_frame) || is_after(to_frame, leaves.or(plant_out)),
            "this goes to the frame before it is sown, or after it leaves its place",
            "a day from `mix_on:` to `leaves:` or `plant_out:`",
        );
        for (key, (is_wrong, what, expected)) in [("leaves", leaves_late), ("to_frame", frames_off)] {
            if is_wrong {
                problems.push(Problem::new(Code::Conflict, fields.place(key), what, expected));
            }
        }
        let mut sowing = sowing?;
        if plant_out.or(leaves).or(to_frame).is_some() {
            let terms = Terms { plant_out, leaves, to_frame, ..Terms::clone(&sowing.terms) };
            sowing.terms = shared(&mut loader.terms, Arc::new(terms));
        }
        Some(sowing)
    }
}

/// The sowings of a week, listed in it or in a table of their own.
enum SowingsText<'n> {
    Listed(&'n Node<'n>),
    Table(Arc<SourceText>),
}

impl Loader<'_> {
    /// Reads the text of a week, or of what is read like one, with its place laid under it.
    pub(crate) fn read(&mut self, file: &mut dyn Sown, problems: &Problems) -> Option<Week> {
        let mut node = parse(&problems.source().text, problems)?;
        refuse_other_kind(&node, file.key(), problems)?;
        let place = self.place_of(&node, problems);
        let base = place.as_ref().and_then(|place| Some((place, self.base(place)?)));
        if self.lacks_place || !self.lacking.is_empty() {
            problems.keep_more();
        }
        let taken = base.and_then(|(place, base)| {
            problems.lay_beside(&place.source);
            base.lie_under(&mut node, problems)
        });
        let week = Fields::read(&node, file.what(), problems, |fields| Some(self.week(file, fields, taken, problems)));
        self.forgive(&node, problems);
        week
    }

    fn week(
        &mut self,
        file: &mut dyn Sown,
        fields: &mut Fields<'_>,
        taken: Option<Taken>,
        problems: &Problems,
    ) -> Week {
        let name: String = fields.required(file.key()).unwrap_or_default();
        fields.get("place");
        add_own(&mut self.catalogue, problems, |catalogue| catalogue.add(fields, problems));
        let recipe = fields.get("recipe");
        self.names_recipe = recipe.is_some() || self.lacks("recipe");
        let sowings = fields.require("sowings").and_then(|node| self.sowings_text(node, problems));
        self.gather(file, recipe, sowings.as_ref(), problems);
        let stock = fields.get("stock");
        let at = fields.place("stock");
        let stock = self.where_written(at, problems, |loader| loader.stock(stock, problems));
        let default = |node: &Node<'_>| self.where_written(node.at, problems, |loader| loader.recipe(node, problems));
        self.default_recipe = recipe.and_then(default);
        let wanted = self.wanted_of(fields, problems);
        let bench = self.bench(fields, &name, problems);
        self.rim = bench.allowances.rim;
        let mut week = Week { fill: fields.optional("fill").unwrap_or_default(), stock, name, ..bench };
        week.standing.taken = taken;
        file.head(self, &mut week, fields, problems);
        week.sowings = sowings.map(|text| self.sowings(file, &text, problems)).unwrap_or_default();
        if week.sowings.is_empty() && fields.is_sound() && self.rejected.problems().next().is_none() {
            let what = format!("this {} sows nothing", file.key());
            problems.push(Problem::new(Code::Sowing, fields.at(), what, "`sowings:` with at least one"));
        }
        week.recipes = std::mem::take(&mut self.recipes);
        week.wanted = self.wanted(&wanted, &week.recipes, problems);
        self.remark_on(&week.recipes, &week.sowings);
        week
    }

    /// The ingredients under `use:`.
    pub(super) fn wanted_of(&self, fields: &mut Fields<'_>, problems: &Problems) -> Wanted {
        let wanted = no_more_than(fields.list("use"), MOST_WANTED, "ingredients", fields.place("use"), problems);
        wanted.iter().filter_map(|node| Some((self.catalogue.ingredient(node, problems)?, node.at))).collect()
    }

    /// The listed sowings, or the table that the week names.
    fn sowings_text<'n>(&mut self, node: &'n Node<'n>, problems: &Problems) -> Option<SowingsText<'n>> {
        let Some(file) = node.text() else { return Some(SowingsText::Listed(node)) };
        let read = self.inputs.files.read(&self.folder.join(file.trim()), FileKind::Csv);
        self.named(read, node.at, problems).map(SowingsText::Table)
    }

    /// Takes in the ingredients of every recipe file that the week and its sowings name.
    fn gather(
        &mut self,
        file: &dyn Sown,
        recipe: Option<&Node<'_>>,
        sowings: Option<&SowingsText<'_>>,
        problems: &Problems,
    ) {
        let (of_place, recipe) = recipe.map_or((None, None), |node| match problems.is_beside(node.at) {
            true => (node.text(), None),
            false => (None, Some(node)),
        });
        if let Some(reference) = of_place {
            self.at_place(|loader| loader.gather_recipe(reference.trim()));
        }
        let mut references: BTreeSet<String> = recipe.and_then(Node::text).map(str::to_owned).into_iter().collect();
        match sowings {
            Some(SowingsText::Listed(node)) => {
                let entries = list(node).iter().flat_map(|entry| [Some(entry), entry.get("then")]).flatten();
                references.extend(entries.filter_map(|entry| entry.get("recipe")?.text()).map(str::to_owned));
            }
            Some(SowingsText::Table(source)) => references.extend(recipes_of_table(source, file)),
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
                self.remarks.insert(ReadingNote::SharesOff(crate::recipe::shares_off_words(&recipe.name, ratio)));
            }
        }
        let used: BTreeSet<&Handle<Tray>> = sowings.iter().map(|sowing| &sowing.tray).collect();
        let one_row = used.into_iter().filter(|tray| !tray.rows_stated);
        self.remarks.extend(one_row.map(|tray| ReadingNote::OneRow(tray.name.clone())));
    }

    /// The ingredients wanted, the command line's first; those that no recipe offers
    /// are faults, those that some recipe does not offer are remarked on. What a place wants is for recipes that
    /// offer it.
    pub(super) fn wanted(
        &mut self,
        written: &[(Handle<Ingredient>, Span)],
        recipes: &[Recipe],
        problems: &Problems,
    ) -> Vec<Handle<Ingredient>> {
        let mut wanted = Vec::new();
        for name in self.inputs.wanted {
            wanted.extend(self.argument("--use", name, |loader, node, problems| {
                let id = loader.catalogue.ingredient(node, problems)?;
                loader.check_offered(&id, node.at, recipes, problems);
                Some(id)
            }));
        }
        for (id, at) in written {
            self.check_offered(id, *at, recipes, problems);
            wanted.push(id.clone());
        }
        wanted
    }

    fn check_offered(&mut self, id: &Handle<Ingredient>, at: Span, recipes: &[Recipe], problems: &Problems) {
        let name = &id.name;
        if problems.is_beside(at) || recipes.is_empty() || recipes.iter().any(|recipe| recipe.offers(id)) {
            for recipe in recipes.iter().filter(|recipe| !recipe.offers(id)) {
                self.remarks.insert(ReadingNote::NotOffered { wanted: name.clone(), recipe: recipe.name.clone() });
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

    fn sowings(&mut self, file: &mut dyn Sown, text: &SowingsText<'_>, problems: &Problems) -> Vec<Sowing> {
        let source = match text {
            SowingsText::Table(source) => source,
            SowingsText::Listed(node) => {
                let listed = list(node);
                if listed.len() > MOST_LISTED {
                    let fault = too_many(listed.len(), MOST_LISTED, "sowings", node.at);
                    problems.push(fault.with_help(Some(INTO_A_TABLE.to_owned())));
                    return Vec::new();
                }
                return listed.iter().filter_map(|entry| self.sowing(file, entry, problems)).collect();
            }
        };
        let problems = Problems::new(Arc::clone(source));
        let mut sowings = Vec::new();
        if let Some(mut table) = CsvTable::new(&source.text, &file.columns(), &problems) {
            // Growing as they come they would lie in memory twice.
            sowings.reserve_exact(table.most_rows());
            while let Some(row) = table.next_row(&problems) {
                sowings.extend(self.sowing(file, &row, &problems));
            }
            if sowings.is_empty() && problems.is_empty() {
                problems.push(Problem::of_file(Code::Sowing, "the table has no rows", None));
            }
        }
        self.settle(problems, Some(sowings)).unwrap_or_default()
    }

    /// The stock file that the command line or the week names.
    pub(super) fn stock(&mut self, node: Option<&Node<'_>>, problems: &Problems) -> Option<Stock> {
        let written: Option<String> = node.and_then(|node| FromNode::from_node(node, problems));
        let read = |path: &Path| self.inputs.files.read(path, FileKind::Yaml);
        let (path, source) = match self.inputs.stock {
            Some(path) => (path.to_owned(), self.rejected.accept(read(path))?),
            None => {
                let path = self.folder.join(written?.trim());
                let read = read(&path);
                (path, self.named(read, node?.at, problems)?)
            }
        };
        self.inputs.keep_ledger(&path);
        let problems = Problems::new(Arc::clone(&source));
        let stock = crate::stock::read(&source, &mut self.catalogue, &problems);
        self.settle(problems, stock).map(|stock| Stock { path: Some(path), source: Some(source), ..stock })
    }
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
        assert_eq!(loaded.week.sowings[0].amount, super::super::SowingAmount::Plants(80));
    }

    #[test]
    fn equal_terms_and_varieties_are_kept_once() {
        let row = |crop: &str, more: &str| format!("  - {{crop: {crop}, cells: 80, tray: 50-cell{more}}}\n");
        let text = [
            WEEK,
            &row("kale", ", seeds: 2, variety: red"),
            &row("leek", ", variety: red, seeds: 2"),
            &row("leek", ""),
        ]
        .concat();
        let sowings = load_text(&text).unwrap().week.sowings;
        assert!(Arc::ptr_eq(&sowings[0].terms, &sowings[1].terms));
        assert_eq!(
            sowings.iter().map(|sowing| sowing.variety.as_deref().cloned()).collect::<Vec<_>>(),
            [Some("red"), Some("red"), None].map(|name| name.map(str::to_owned))
        );
        assert!(
            sowings[0]
                .variety
                .as_ref()
                .zip(sowings[1].variety.as_ref())
                .is_some_and(|(one, other)| Arc::ptr_eq(one, other))
        );
        assert_eq!([sowings[0].seeds, sowings[2].seeds], [2, 1]);
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
        assert_eq!(loaded.remarks, [ReadingNote::RecipeBeside("everyday".to_owned())]);
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
        let everyday = crate::recipe::BUILT_IN[0].1.replace("yield: 88 %", "yield: 60 %");
        let text = week("sub/everyday.yaml").replace("recipe: mine", "recipe: everyday");
        let files = Memory::default().with("week.yaml", text).with("sub/everyday.yaml", everyday);
        let rejected = super::load(Path::new("week.yaml"), &files, &[]).unwrap_err();
        assert!(rejected.to_string().contains("two recipes are called `everyday`"), "{rejected}");
    }

    #[test]
    fn the_ending_of_a_recipe_file_may_be_of_any_case() {
        let files = Memory::default()
            .with("week.yaml", "week: one\nrecipe: Own.YAML\nsowings: [{crop: kale, cells: 8, tray: 50-cell}]\n")
            .with("Own.YAML", "recipe: mine\nparts: {peat: 1}\n");
        let loaded = load(Path::new("week.yaml"), &files, &[]).unwrap_or_else(|rejected| panic!("{rejected}"));
        assert_eq!(loaded.week.recipes[0].name, "mine");
        let missing = Memory::default().with("week.yaml", "week: one\nrecipe: Own.YAML\nsowings: []\n");
        let rejected = load(Path::new("week.yaml"), &missing, &[]).unwrap_err();
        assert!(rejected.to_string().contains("there is no recipe file `Own.YAML`"), "{rejected}");
    }

    /// Clocks go forward in New York on 14 March 2027 at 02:00 (15 USC 260a).
    #[test]
    fn times_are_of_the_zone_that_is_handed_in_unless_the_file_names_one() {
        let mix_on = |lines: &str| {
            let text = format!("{WEEK}  - {{crop: kale, cells: 8, tray: 50-cell}}\n{lines}");
            let files = Memory::default().with("week.yaml", text);
            let zone = || jiff::tz::TimeZoneDatabase::bundled().get("America/New_York").unwrap();
            let loaded = Inputs { zone, ..Inputs::new(&files) }.week(Path::new("week.yaml"));
            loaded.ok().map(|loaded| crate::moment::rfc3339(&loaded.week.mix_on.unwrap().zoned().unwrap()))
        };
        assert_eq!(mix_on("mix_on: 2027-03-06 10:00\n").as_deref(), Some("2027-03-06T10:00:00-05:00"));
        assert_eq!(mix_on("mix_on: 2027-03-14 02:30\n"), None);
        let named = mix_on("mix_on: 2027-03-14 02:30\ntime_zone: Europe/Paris\n");
        assert_eq!(named.as_deref(), Some("2027-03-14T02:30:00+01:00"));
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
