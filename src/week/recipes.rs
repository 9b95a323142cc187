//! The recipes a week names: files beside it, paths, or built in.

use super::RecipeId;
use super::loader::{Inputs, Loader, ReadingNote, RecipeOrigin};
use crate::catalogue::{Catalogue, key};
use crate::diagnostic::{Asked, Code, Problem, Problems, Rejected, SourceText, Span, did_you_mean};
use crate::printable::shown;
use crate::recipe::{BUILT_IN, Recipe, built_in};
use crate::source::{Fields, FileKind, Node, is_yaml, parse, text_of};
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

impl Inputs<'_> {
    /// The text of the recipe that a word stands for on the command line, which is known.
    ///
    /// # Errors
    /// [`Rejected`] where its file cannot be read.
    pub fn recipe_text(&self, reference: &str) -> Result<Arc<SourceText>, Rejected> {
        let shipped = || BUILT_IN.iter().find(|(name, _)| key(name) == key(reference)).map_or("", |(_, text)| text);
        match Loader::new(*self, PathBuf::new()).recipe_path(reference.trim()) {
            Some(path) => self.files.read(&path, FileKind::Yaml),
            None => Ok(SourceText::argument(reference, shipped())),
        }
    }
}

impl Loader<'_> {
    /// The recipe that a node names: a file beside the week, a path, or a built-in one.
    pub(crate) fn recipe(&mut self, node: &Node<'_>, problems: &Problems) -> Option<RecipeId> {
        let reference = text_of(node, "the name of a recipe", problems)?;
        problems.ask(|| Asked::Named { at: node.at, table: "recipes" });
        let origin = self.recipe_origin(reference.trim(), node.at, problems)?;
        if let Some(known) = self.by_origin.get(&origin) {
            return *known;
        }
        let id = self.read_origin(&origin, node.at, problems).and_then(|recipe| self.keep(recipe, node.at, problems));
        self.by_origin.insert(origin, id);
        id
    }

    /// Takes in the ingredients of the file that a word stands for, if it is one.
    pub(super) fn gather_recipe(&mut self, reference: &str) {
        let Some(path) = self.recipe_path(reference).filter(|path| !self.gathered.contains_key(path)) else { return };
        let read = self.inputs.files.read(&path, FileKind::Yaml).map(|source| {
            let problems = Problems::new(source);
            add_ingredients(&mut self.catalogue, &problems);
            problems
        });
        self.gathered.insert(path, read);
    }

    /// The file that a word stands for: a path, or a recipe beside the week.
    fn recipe_path(&self, reference: &str) -> Option<PathBuf> {
        self.recipe_beside(reference).map(|beside| plain_path(&self.folder.join(beside)))
    }

    /// The same as a path from the folder of the week.
    pub(crate) fn recipe_beside(&self, reference: &str) -> Option<String> {
        let beside = if is_path(reference) { reference.to_owned() } else { format!("{reference}.yaml") };
        let dashed = beside.replace(' ', "-");
        [beside, dashed].into_iter().find(|path| self.inputs.files.has(&self.folder.join(path)))
    }

    /// Names are compared in the output, so two recipes may not share one.
    fn keep(&mut self, recipe: Recipe, at: Span, problems: &Problems) -> Option<RecipeId> {
        if !self.recipe_names.insert(key(&recipe.name)) {
            let what = format!("two recipes are called `{}`", recipe.name);
            return problems.refuse(Problem::new(Code::TwiceName, at, what, "recipes with names of their own"));
        }
        self.recipes.push(recipe);
        Some(RecipeId(self.recipes.len() - 1))
    }

    fn recipe_origin(&self, reference: &str, at: Span, problems: &Problems) -> Option<RecipeOrigin> {
        if let Some(path) = self.recipe_path(reference) {
            return Some(RecipeOrigin::File(path));
        }
        let is_path = is_path(reference);
        let shipped = BUILT_IN.iter().map(|(name, _)| *name).find(|name| !is_path && key(name) == key(reference));
        if let Some(name) = shipped {
            return Some(RecipeOrigin::BuiltIn(name));
        }
        problems.push_with(|| {
            let what = if is_path {
                format!("there is no recipe file `{}`", shown(&self.folder.join(reference)))
            } else {
                format!("no recipe is called `{reference}`")
            };
            let help =
                did_you_mean(reference, BUILT_IN.iter().map(|(name, _)| *name)).unwrap_or_else(|| match is_path {
                    true => "`trayful list recipes` tells those that ship".to_owned(),
                    false => format!("see `trayful list recipes`, or put `{reference}.yaml` beside the week"),
                });
            Problem::new(Code::UnknownRecipe, at, what, "a recipe").with_help(Some(help))
        });
        None
    }

    fn read_origin(&mut self, origin: &RecipeOrigin, at: Span, problems: &Problems) -> Option<Recipe> {
        match origin {
            RecipeOrigin::File(path) => {
                let gathered = self.gathered.remove(path)?;
                let own = self.named(gathered, at, problems)?;
                let recipe = read_recipe(&self.catalogue, &own);
                let recipe = self.settle(own, recipe)?;
                if BUILT_IN.iter().any(|(name, _)| key(name) == key(&recipe.name)) {
                    self.remarks.insert(ReadingNote::RecipeBeside(recipe.name.clone()));
                }
                Some(recipe)
            }
            RecipeOrigin::BuiltIn(name) => {
                let read = built_in(name, &self.catalogue)?;
                self.rejected.accept(read)
            }
        }
    }
}

/// Whether a word names a file rather than a recipe.
fn is_path(reference: &str) -> bool {
    reference.contains(['/', '\\']) || is_yaml(Path::new(reference))
}

/// A path without `.` and without what `..` takes back, so that one file has one name.
pub(crate) fn plain_path(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(plain.components().next_back(), Some(Component::Normal(_))) => {
                plain.pop();
            }
            part => plain.push(part),
        }
    }
    plain
}

/// Takes the ingredients of a recipe file into the catalogue.
pub(crate) fn add_ingredients(catalogue: &mut Catalogue, problems: &Problems) {
    let Some(node) = parse(&problems.source().text, problems) else { return };
    if refuse_other_kind(&node, "recipe", problems).is_none() {
        return;
    }
    let Some(mut fields) = Fields::new(&node, "a recipe", problems) else { return };
    add_own(catalogue, problems, |catalogue| catalogue.add_unless_own(&mut fields, problems));
}

/// Reads a recipe file whose ingredients are in the catalogue.
pub(crate) fn read_recipe(catalogue: &Catalogue, problems: &Problems) -> Option<Recipe> {
    let node = parse(&problems.source().text, problems)?;
    refuse_other_kind(&node, "recipe", problems)?;
    Fields::read(&node, "a recipe", problems, |fields| {
        fields.get("ingredients");
        Recipe::read(fields, catalogue, problems)
    })
}

/// Refuses a file whose first key says that it is of another kind.
pub(super) fn refuse_other_kind(node: &Node<'_>, key: &str, problems: &Problems) -> Option<()> {
    let kinds = ["week", "season", "recipe", "soak", "stock", "place"];
    let first = node.first_key().filter(|kind| kinds.contains(kind));
    // A week may begin with another of its keys, and holds `recipe:`.
    let within = || ["week", "season"].into_iter().find(|kind| node.get(kind).is_some());
    let Some(kind) = first.or_else(within).filter(|kind| *kind != key) else { return Some(()) };
    let help = match kind {
        "week" => {
            "`trayful plan` works it out; `recipe: NAME` in a week is first of all the file `NAME.yaml` beside it"
        }
        "season" => "`trayful season` works out its days, each of which is a week",
        "recipe" => "`trayful scale` makes a recipe up, as in `--make \"60 L\"`; a week names it by `recipe:`",
        "soak" => "`trayful soak` works it out",
        "stock" => "a week names it by `stock:`",
        _ => "a week beside it finds `place.yaml` by itself; else it names it by `place:`",
    };
    let what = format!("this is a {kind} file, not a {key}");
    let fault = Problem::new(Code::WrongKind, node.at, what, format!("`{key}:` first"));
    problems.refuse(fault.with_help(Some(help.to_owned())))
}

/// Adds a file's own entries; every `instead:` that they bring must name an ingredient.
pub(super) fn add_own(catalogue: &mut Catalogue, problems: &Problems, add: impl FnOnce(&mut Catalogue)) {
    let named = catalogue.ingredients.own().filter_map(|one| Some((one.name.clone(), one.instead.clone()?)));
    let before: BTreeMap<String, String> = named.collect();
    add(catalogue);
    for ingredient in catalogue.ingredients.own() {
        if let Some(carrier) =
            ingredient.instead.as_ref().filter(|carrier| before.get(&ingredient.name) != Some(carrier))
        {
            catalogue.ingredient_named(carrier, ingredient.instead_at, problems);
        }
    }
}
