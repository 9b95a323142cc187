//! Files by what their first key says they are.

use super::Loaded;
use super::load::Inputs;
use super::recipes::{add_ingredients, read_recipe};
use crate::catalogue::Catalogue;
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::source::{Files, Kind, Node, Value, parse};
use std::path::Path;
use std::sync::Arc;

/// Checks a file by what its first key says it is: a week, a recipe, a soak or a stock file.
///
/// # Errors
/// [`Rejected`] with every fault of the file and of those it names.
pub fn check(path: &Path, files: &dyn Files) -> Result<Checked, Rejected> {
    if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv")) {
        let what = "a table of sowings is checked with the week that names it";
        let help = "`trayful check WEEK.yaml`, with `sowings: ...` in the week".to_owned();
        return Err(Rejected::file(&path.display().to_string(), Problem::of_file(Code::WrongKind, what, Some(help))));
    }
    let source = files.read(path, Kind::Yaml)?;
    let problems = Problems::new(Arc::clone(&source));
    let node = parse(&source.text, &problems);
    match node.as_ref().and_then(first_of) {
        Some("week") => Inputs { files, wanted: &[], stock: None }.week_of(path, &source).map(|loaded| Checked {
            kind: "week",
            name: loaded.week.name.clone(),
            week: Some(Box::new(loaded)),
        }),
        Some("recipe") => {
            let mut catalogue = Catalogue::built_in()?;
            add_ingredients(&source, &mut catalogue, &problems);
            let recipe = read_recipe(&source, &catalogue, &problems);
            problems.settle(recipe).map(|(recipe, _)| Checked::of("recipe", recipe.name))
        }
        Some("soak") => crate::coir::soak::check(&source).map(|soak| Checked::of("soak", soak.name)),
        Some("stock") => {
            let mut catalogue = Catalogue::built_in()?;
            let stock = crate::stock::read(&source, &mut catalogue, &problems);
            problems.settle(stock).map(|(stock, _)| Checked::of("stock", stock.name))
        }
        _ => {
            if problems.is_empty() {
                let at = node.map_or(Span::default(), |node| node.at);
                let what = "the first key does not say what the file is";
                problems.push(Problem::new(Code::WrongKind, at, what, "`week:`, `recipe:`, `soak:` or `stock:` first"));
            }
            problems.settle(None::<Checked>).map(|(checked, _)| checked)
        }
    }
}

/// The first key of a document.
pub(super) fn first_of<'n>(node: &'n Node<'_>) -> Option<&'n str> {
    let Value::Map(map) = &node.value else { return None };
    match &map.first()?.0.value {
        Value::Text(text) => Some(text),
        _ => None,
    }
}

/// The first key of a file, which says what it is; `None` for a file that cannot be read.
#[must_use]
pub fn first_key(path: &Path, files: &dyn Files) -> Option<String> {
    first_key_of(&files.read(path, Kind::Yaml).ok()?)
}

/// The first key of a text.
#[must_use]
pub fn first_key_of(source: &Arc<SourceText>) -> Option<String> {
    let problems = Problems::new(Arc::clone(source));
    parse(&source.text, &problems).as_ref().and_then(first_of).map(str::to_owned)
}

/// A file that was found to be in order.
#[derive(Debug)]
pub struct Checked {
    /// `week`, `recipe`, `soak` or `stock`.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// A week as loaded: whether it can be planned is for the plan to say.
    pub week: Option<Box<Loaded>>,
}

impl Checked {
    fn of(kind: &'static str, name: String) -> Self {
        Self { kind, name, week: None }
    }
}
