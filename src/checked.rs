//! Files by what their first key says they are.

use crate::awake::Awake;
use crate::catalogue::Catalogue;
use crate::coir::soak::{self, Soak};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::printable::shown;
use crate::recipe::Recipe;
use crate::season::{self, Season};
use crate::source::{FileKind, Files, parse};
use crate::week::{Inputs, Loaded, Loader, Week, WeekFile, add_ingredients, read_recipe};
use jiff::tz::TimeZone;
use std::path::Path;
use std::sync::Arc;

impl Inputs<'_> {
    /// Checks a file by what its first key says it is: a week, a season, a recipe, a soak, a stock or a place file.
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
        let (kind, found) = match node.as_ref().and_then(|node| node.first_key()) {
            Some("week") => {
                let loaded = self.week_of(path, &source)?;
                let name = loaded.week.name.clone();
                return Ok(Checked { kind: "week", name, contents: Contents::Week(Box::new(loaded)) });
            }
            Some("season") => {
                let season = self.season_of(path, &source)?;
                let name = season.loaded.week.name.clone();
                return Ok(Checked { kind: "season", name, contents: Contents::Season(Box::new(season)) });
            }
            Some("soak") => {
                let (soak, _) = self.soak_of(path, &source)?;
                return Ok(Checked { kind: "soak", name: soak.name.clone(), contents: Contents::Soak(Box::new(soak)) });
            }
            Some("recipe") => {
                let (mut catalogue, _) = self.tables()?;
                add_ingredients(&mut catalogue, &problems);
                let recipe = read_recipe(&catalogue, &problems);
                ("recipe", recipe.map(|recipe| (recipe.name.clone(), Contents::of_recipe(recipe, catalogue, &source))))
            }
            Some("stock") => {
                self.keep_ledger(path);
                let stock = crate::stock::read(&source, &mut self.tables()?.0, &problems);
                ("stock", stock.map(|stock| (stock.name, Contents::Stock)))
            }
            Some("place") => {
                let place = self.place_alone(path, source)?;
                return Ok(Checked { kind: "place", name: place.name, contents: Contents::Place });
            }
            _ => {
                if problems.is_empty() {
                    let at = node.map_or(Span::default(), |node| node.at);
                    let what = "the first key does not say what the file is";
                    let expected = "`week:`, `season:`, `recipe:`, `soak:`, `stock:` or `place:` first";
                    let help =
                        "`trayful new week` prints a file to start from; also season, place, recipe, soak, stock";
                    problems.push(Problem::new(Code::WrongKind, at, what, expected).with_help(Some(help.to_owned())));
                }
                ("", None)
            }
        };
        problems.settle(found).map(|((name, contents), _)| Checked { kind, name, contents })
    }
}

/// Reads the text of a file for what its readers ask, whatever is wrong with it; `false` for a kind that no file has.
pub(crate) fn ask(kind: &str, problems: &Problems, files: &dyn Files, folder: &Path) -> bool {
    match kind {
        "week" => drop(Loader::new(Inputs::new(files), folder.to_owned()).read(&mut WeekFile::default(), problems)),
        "season" => season::ask(problems, files, folder),
        "soak" => drop(
            parse(&problems.source().text, problems)
                .and_then(|node| soak::read(&node, &Awake::default(), &|| TimeZone::UTC, problems)),
        ),
        "recipe" => {
            let mut catalogue = Catalogue::built_in();
            add_ingredients(&mut catalogue, problems);
            read_recipe(&catalogue, problems);
        }
        "stock" => drop(crate::stock::read(problems.source(), &mut Catalogue::built_in(), problems)),
        "place" => Loader::new(Inputs::new(files), folder.to_owned()).ask_place(problems),
        _ => return false,
    }
    true
}

/// The first key of a text.
pub fn first_key(source: &Arc<SourceText>) -> Option<String> {
    parse(&source.text, &Problems::new(Arc::clone(source)))?.first_key().map(str::to_owned)
}

/// Whether the first key of a text is this. A long week is not read twice to find that it is no season.
pub fn is_a(source: &Arc<SourceText>, kind: &str) -> bool {
    source.text.contains(kind) && first_key(source).as_deref() == Some(kind)
}

/// A file that was read without a fault.
#[derive(Debug)]
pub struct Checked {
    /// `week`, `season`, `recipe`, `soak`, `stock` or `place`.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// What it holds: whether it can be carried out is for the plan or the course to say.
    pub contents: Contents,
}

/// What a file holds.
#[derive(Debug)]
pub enum Contents {
    /// A week, with every file that it names.
    Week(Box<Loaded>),
    /// A season, with every file that it names.
    Season(Box<Season>),
    /// A recipe, as the only one of a week without sowings, and its text.
    Recipe(Box<Loaded>, Arc<SourceText>),
    /// A soak of its own.
    Soak(Box<Soak>),
    /// What is at hand and how it is sold.
    Stock,
    /// The standing facts of a bench.
    Place,
}

impl Contents {
    fn of_recipe(recipe: Recipe, catalogue: Catalogue, source: &Arc<SourceText>) -> Self {
        let week = Week { from_command: true, name: recipe.name.clone(), recipes: vec![recipe], ..Week::default() };
        Self::Recipe(Box::new(Loaded { week, catalogue, remarks: Vec::new() }), Arc::clone(source))
    }
}
