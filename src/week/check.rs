//! Files by what their first key says they are.

use super::loader::{Inputs, Loaded};
use super::recipes::{add_ingredients, read_recipe};
use crate::catalogue::Catalogue;
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::printable::shown;
use crate::source::{FileKind, parse};
use std::path::Path;
use std::sync::Arc;

impl Inputs<'_> {
    /// Checks a file by what its first key says it is: a week, a recipe, a soak or a stock file.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of the file and of those it names.
    pub fn check(&self, path: &Path) -> Result<Checked, Rejected> {
        if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv")) {
            let what = "a table of sowings is checked with the week that names it";
            let help = "`trayful check WEEK.yaml`, with `sowings: ...` in the week".to_owned();
            let problem = Problem::of_file(Code::WrongKind, what, Some(help));
            return Err(Rejected::file(&shown(path), problem));
        }
        let source = self.files.read(path, FileKind::Yaml)?;
        let problems = Problems::new(Arc::clone(&source));
        let node = parse(&source.text, &problems);
        let (kind, name) = match node.as_ref().and_then(|node| node.first_key()) {
            Some("week") => {
                let loaded = self.week_of(path, &source)?;
                let name = loaded.week.name.clone();
                return Ok(Checked { kind: "week", name, week: Some(Box::new(loaded)) });
            }
            Some("soak") => {
                let soak = crate::coir::soak::check(&source, &self.zone)?;
                return Ok(Checked { kind: "soak", name: soak.name, week: None });
            }
            Some("recipe") => {
                let mut catalogue = Catalogue::built_in()?;
                add_ingredients(&mut catalogue, &problems);
                ("recipe", read_recipe(&catalogue, &problems).map(|recipe| recipe.name))
            }
            Some("stock") => {
                let stock = crate::stock::read(&source, &mut Catalogue::built_in()?, &problems);
                ("stock", stock.map(|stock| stock.name))
            }
            _ => {
                if problems.is_empty() {
                    let at = node.map_or(Span::default(), |node| node.at);
                    let what = "the first key does not say what the file is";
                    let expected = "`week:`, `recipe:`, `soak:` or `stock:` first";
                    problems.push(Problem::new(Code::WrongKind, at, what, expected));
                }
                ("", None)
            }
        };
        problems.settle(name).map(|(name, _)| Checked { kind, name, week: None })
    }
}

/// The first key of a text.
pub fn first_key(source: &Arc<SourceText>) -> Option<String> {
    parse(&source.text, &Problems::new(Arc::clone(source)))?.first_key().map(str::to_owned)
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
