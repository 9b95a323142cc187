//! The place of a file: the one it names, or `place.yaml` beside it; and a place by itself.

use super::Week;
use super::loader::{Inputs, Loader};
use super::recipes::{add_own, plain_path};
use crate::awake::Awake;
use crate::catalogue::{Catalogue, Handle, Ingredient};
use crate::coir::soak::{self, Soak};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::place::{Standing, Taken, lay_over, without_own_entries};
use crate::printable::shown;
use crate::source::{Fields, FileKind, Node, Scoop, Tolerance, Tub, Value, is_yaml, parse, text_of};
use crate::units::Volume;
use jiff::tz::TimeZone;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The name under which the place of a file is found beside it.
pub(crate) const BESIDE: &str = "place.yaml";

/// The text of a place.
pub(super) struct PlaceFile {
    path: PathBuf,
    pub(super) source: Arc<SourceText>,
}

/// A place that is in order: its keys, and what they say.
pub(super) struct Base<'t> {
    node: Node<'t>,
    /// A week that sows nothing, with the facts of the place.
    pub(super) week: Week,
}

/// Faults of what is not there, which a place may state.
const OF_WHAT_LACKS: [Code; 4] = [Code::MissingKey, Code::Tray, Code::UnknownCrop, Code::Recipe];
/// Faults by which any key may be lacking; by the first two it is not known what a file says at all.
const OF_A_FORM: [Code; 4] = [Code::Syntax, Code::WrongKind, Code::UnknownKey, Code::TwiceKey];

/// The ingredients that a file wants, and where it says so.
pub(super) type Wanted = Vec<(Handle<Ingredient>, Span)>;

impl PlaceFile {
    fn folder(&self) -> PathBuf {
        self.path.parent().unwrap_or(Path::new("")).to_owned()
    }
}

impl Inputs<'_> {
    /// Reads a soak file with the place that it names, or that lies beside it; what it took from the place.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of both.
    pub fn soak_of(&self, path: &Path, source: &Arc<SourceText>) -> Result<(Soak, Standing), Rejected> {
        let mut loader = Loader::new(*self, path.parent().unwrap_or(Path::new("")).to_owned());
        let problems = Problems::new(Arc::clone(source));
        let mut standing = Standing::default();
        let soak = parse(&source.text, &problems).and_then(|node| {
            let place = loader.place_of(&node, &problems);
            let base = place.as_ref().and_then(|place| Some((place, loader.base(place)?)));
            let (mut node, mut week) = (node, Week::default());
            let keys = base.and_then(|(place, Base { node: mut base, week: of_place })| {
                problems.lay_beside(&place.source);
                base.shift(problems.beside());
                week = of_place;
                base.take("soak").map(|soak| lay_over(&mut node, soak))
            });
            let soak = soak::read(&node, &week.awake, &|| week.standing.zone(self.zone), &problems);
            let is_of_place = |fault: &Problem| key_of(&node, fault) != Some("steps");
            problems.take_back(|fault| loader.lacks("soak") && fault.code == Code::MissingKey && is_of_place(fault));
            standing = of_a_soak(week.standing, &node, keys.unwrap_or_default());
            soak
        });
        match soak::settle(problems, soak) {
            Ok(soak) => loader.rejected.or((soak, standing)),
            Err(rejected) => Err(rejected.and(loader.rejected)),
        }
    }

    /// Checks a soak asked for on the command line, over the place that is named there: see
    /// [`soak::from_options`].
    ///
    /// # Errors
    /// [`Rejected`] with every fault, each under the name of its option.
    pub fn soak_asked(&self, asked: &[(&str, &str, Option<&str>)]) -> Result<(Soak, Standing), Rejected> {
        let mut loader = Loader::new(*self, PathBuf::new());
        let place = loader.place_named();
        let base = place.as_ref().and_then(|place| loader.base(place));
        loader.rejected.or(())?;
        let Some(Base { mut node, week }) = base else {
            let (soak, _) = soak::from_options(asked, None, &Awake::default(), &self.zone)?;
            return Ok((soak, Standing::default()));
        };
        let zone = || week.standing.zone(self.zone);
        let (soak, keys) = soak::from_options(asked, node.take("soak"), &week.awake, &zone)?;
        Ok((soak, of_a_soak(week.standing, &Node::of(Value::Null), keys)))
    }

    /// A place by itself, with all that it names.
    pub(crate) fn place_alone(&self, path: &Path, source: Arc<SourceText>) -> Result<Week, Rejected> {
        let mut loader = Loader::new(*self, PathBuf::new());
        let place = loader.whole_place(&PlaceFile { path: path.to_owned(), source }, true);
        loader.rejected.or(place.unwrap_or_default().0)
    }

    /// The tables that ship with the program, those of the place named on the command line over them, and what else
    /// that place says.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of the place.
    pub fn tables(&self) -> Result<(Catalogue, Standing), Rejected> {
        let mut loader = Loader::new(*self, PathBuf::new());
        let place = loader.place_named();
        let base = place.as_ref().and_then(|place| loader.base(place));
        let standing = base.map(|base| base.week.standing).unwrap_or_default();
        loader.rejected.or((loader.catalogue, standing))
    }
}

impl Loader<'_> {
    /// The place that a file names, or that lies beside it, if there is one that can be read.
    pub(super) fn place_of(&mut self, node: &Node<'_>, problems: &Problems) -> Option<PlaceFile> {
        let named = node.get("place").filter(|node| node.value != Value::Null);
        if named.is_none() && !self.inputs.files.has(&self.folder.join(BESIDE)) {
            return None;
        }
        let path = named.map_or(Some(BESIDE), |node| text_of(node, "the path of a place file", problems));
        let place = path.and_then(|path| {
            let path = plain_path(&self.folder.join(path.trim()));
            let read = self.inputs.files.read(&path, FileKind::Yaml);
            let source = match named {
                Some(node) => self.named(read, node.at, problems),
                None => self.rejected.accept(read),
            };
            Some(PlaceFile { path, source: source? })
        });
        if place.is_none() {
            self.lack_place();
        }
        place
    }

    fn lack_place(&mut self) {
        self.lacks_place = true;
        self.catalogue.lack_some();
    }

    /// Whether what is not found under a key may stand in the place.
    pub(super) fn lacks(&self, key: &str) -> bool {
        self.lacks_place || self.lacking.contains(key)
    }

    /// Takes back the faults that may only follow from a place that cannot be read.
    pub(super) fn forgive(&self, node: &Node<'_>, problems: &Problems) {
        // What a place cannot state.
        let own = [node.first_key().unwrap_or_default(), "sowings"];
        let is_lacking =
            |fault: &Problem| key_of(node, fault).is_some_and(|key| !own.contains(&key) && self.lacks(key));
        problems.take_back(|fault| OF_WHAT_LACKS.contains(&fault.code) && is_lacking(fault));
    }

    /// The place that the command line names.
    pub(super) fn place_named(&mut self) -> Option<PlaceFile> {
        let path = self.inputs.place?;
        let source = self.rejected.accept(self.inputs.files.read(path, FileKind::Yaml))?;
        Some(PlaceFile { path: path.to_owned(), source })
    }

    /// A place with its own trays, crops and ingredients in the catalogue, without the keys that
    /// are at fault. What it names is not looked at: a file that is laid over it may name something else.
    pub(super) fn base<'t>(&mut self, place: &'t PlaceFile) -> Option<Base<'t>> {
        self.place_folder = place.folder();
        let problems = Problems::new(Arc::clone(&place.source));
        problems.keep_more();
        let node = parse(&place.source.text, &problems);
        let named = |_: &mut Self, fields: &mut Fields<'_>| {
            for key in ["recipe", "use", "stock"] {
                fields.get(key);
            }
        };
        let week = node.as_ref().and_then(|node| self.read_place(node, place, &problems, named));
        // A key that is wrong within the value of another takes that one away alone.
        let is_own = |at: Option<Span>| match node.as_ref().map(|node| &node.value) {
            Some(Value::Map(map)) => map.iter().any(|(key, _)| Some(key.at) == at),
            _ => true,
        };
        let has = |codes: &[Code]| problems.found().iter().any(|fault| codes.contains(&fault.code) && is_own(fault.at));
        let is_read = !has(&OF_A_FORM[..2]);
        if has(&OF_A_FORM) {
            self.lack_place();
        }
        let Some(mut node) = node.filter(|_| is_read) else {
            self.settle(problems, week);
            return None;
        };
        let faulty = problems.found().iter().filter_map(|fault| key_of(&node, fault).map(str::to_owned)).collect();
        self.lacking = faulty;
        for key in &self.lacking {
            node.take(key);
        }
        Some(Base { node, week: self.settle(problems, week).unwrap_or_default() })
    }

    /// A place with all that it names. Its ingredients are yet to be held against recipes.
    pub(super) fn whole_place(&mut self, place: &PlaceFile, with_recipe: bool) -> Option<(Week, Wanted)> {
        self.place_folder = place.folder();
        let problems = Problems::new(Arc::clone(&place.source));
        let all = self.all_of(place, with_recipe, &problems);
        self.settle(problems, all)
    }

    /// Reads the text of a place for what is asked of it.
    pub(crate) fn ask_place(&mut self, problems: &Problems) {
        let place = PlaceFile { path: PathBuf::new(), source: Arc::clone(problems.source()) };
        self.all_of(&place, true, problems);
    }

    fn all_of(&mut self, place: &PlaceFile, with_recipe: bool, problems: &Problems) -> Option<(Week, Wanted)> {
        let (mut stock, mut wanted) = (None, Vec::new());
        let week = parse(&place.source.text, problems).and_then(|node| {
            self.read_place(&node, place, problems, |loader, fields| {
                let recipe = fields.get("recipe").filter(|_| with_recipe);
                loader.at_place(|loader| {
                    recipe.and_then(Node::text).into_iter().for_each(|name| loader.gather_recipe(name.trim()));
                    stock = loader.stock(fields.get("stock"), problems);
                    let _ = recipe.and_then(|node| loader.recipe(node, problems));
                });
                wanted = loader.wanted_of(fields, problems);
            })
        });
        Some((Week { stock, ..week? }, wanted))
    }

    fn read_place(
        &mut self,
        node: &Node<'_>,
        place: &PlaceFile,
        problems: &Problems,
        files: impl FnOnce(&mut Self, &mut Fields<'_>),
    ) -> Option<Week> {
        if let Some(kind) = node.first_key().filter(|kind| ["week", "season", "recipe", "soak", "stock"].contains(kind))
        {
            let what = format!("this is a {kind} file, not a place");
            return problems.refuse(Problem::new(Code::WrongKind, node.at, what, "`place:` first"));
        }
        Fields::read(node, "a place", problems, |fields| {
            let name: String = fields.required("place").unwrap_or_default();
            if is_yaml(Path::new(&name)) {
                let what = "a place takes its facts from no other place: here `place:` is its name";
                let help = Some("in a week, `week:` stands first and `place:` after it".to_owned());
                problems.push(Problem::new(Code::Conflict, fields.place("place"), what, "a name").with_help(help));
            }
            add_own(&mut self.catalogue, problems, |catalogue| catalogue.add(fields, problems));
            let mut week = self.bench(fields, &name, problems);
            let keys = fields.keys().filter(|key| *key != "place").map(str::to_owned).collect();
            week.name.clone_from(&name);
            week.standing.taken = Some(Taken { place: name, file: shown(&place.path), keys });
            files(self, fields);
            Some(week)
        })
    }

    /// Does something with the folder of the place as the one that paths start from.
    pub(super) fn at_place<T>(&mut self, work: impl FnOnce(&mut Self) -> T) -> T {
        std::mem::swap(&mut self.folder, &mut self.place_folder);
        let done = work(self);
        std::mem::swap(&mut self.folder, &mut self.place_folder);
        done
    }

    /// The same if what is read stands in the place, be it laid under another file.
    pub(super) fn where_written<T>(&mut self, at: Span, problems: &Problems, work: impl FnOnce(&mut Self) -> T) -> T {
        if problems.is_beside(at) { self.at_place(work) } else { work(self) }
    }

    /// What of a bench holds whatever is sown: a week without sowings, whose zone is that of its times.
    pub(super) fn bench(&self, fields: &mut Fields<'_>, name: &str, problems: &Problems) -> Week {
        let standing = Standing::read(fields);
        let zone = || standing.zone(self.inputs.zone);
        let awake = Awake::read(fields, &Awake::default(), problems).with_mix_at(fields.optional("mix_at"));
        let (tub, scoop) = vessels(fields, problems);
        Week {
            allowances: fields.optional("allowances").unwrap_or_default(),
            tub,
            scoop,
            tolerance: fields.optional("tolerance").map(|Tolerance(share)| share),
            rack: fields.optional("rack"),
            soak: fields.get("soak").and_then(|node| inner_soak(node, name, &awake, &zone, problems)),
            awake,
            standing,
            ..Week::default()
        }
    }
}

impl<'t> Base<'t> {
    /// Lays it under the keys of a file; what the file took.
    pub(super) fn lie_under(self, node: &mut Node<'t>, problems: &Problems) -> Option<Taken> {
        let (mut base, mut own) = without_own_entries(self.node);
        base.shift(problems.beside());
        own.splice(0..0, lay_over(node, base));
        Some(Taken { keys: own, ..self.week.standing.taken? })
    }
}

/// The key of a file in whose value a fault stands.
fn key_of<'n>(node: &'n Node<'_>, fault: &Problem) -> Option<&'n str> {
    let (Value::Map(map), Some(at)) = (&node.value, fault.at) else { return None };
    let before = map.iter().map(|(key, _)| key).filter(|key| key.at.start <= at.start);
    before.max_by_key(|key| key.at.start)?.text()
}

/// The same with what a soak took: keys of the place's `soak:`, and of its times those that the file does not state.
fn of_a_soak(mut standing: Standing, node: &Node<'_>, keys: Vec<String>) -> Standing {
    let is_of_times = |key: &str| ["time_zone", "awake", "not_on", "mix_at"].contains(&key) && node.get(key).is_none();
    if let Some(taken) = &mut standing.taken {
        taken.keys.retain(|key| is_of_times(key));
        taken.keys.extend(keys);
    }
    standing
}

/// `tub:` and `scoop:`, the tub no smaller than the scoop.
fn vessels(fields: &mut Fields<'_>, problems: &Problems) -> (Option<Volume>, Option<Scoop>) {
    let tub = fields.optional("tub").map(|Tub(tub)| tub);
    let scoop: Option<Scoop> = fields.optional("scoop");
    if tub.zip(scoop.as_ref()).is_some_and(|(tub, scoop)| tub < scoop.volume) {
        let what = "the tub is smaller than one scoop";
        problems.push(Problem::new(Code::Conflict, fields.place("tub"), what, "a tub that holds some scoops"));
    }
    (tub, scoop)
}

/// The `soak:` of a week or a place: how much coir it takes, a week knows itself.
fn inner_soak(
    node: &Node<'_>,
    name: &str,
    awake: &Awake,
    zone: &dyn Fn() -> TimeZone,
    problems: &Problems,
) -> Option<Soak> {
    let (soak, coir_at, steps_at) = Fields::read(node, "a soak", problems, |fields| {
        let soak = Soak::read(fields, name, awake, zone, problems)?;
        Some((soak, fields.place("coir"), fields.place("steps")))
    })?;
    if soak.amount.is_some() {
        let what = "a week works out itself how much coir it takes";
        problems.push(Problem::new(Code::Conflict, coir_at, what, "`coir: {product: ...}` alone"));
    }
    if soak.course.is_some() {
        let what = "`steps:` of one's own belong in a soak file, which says how much coir they are for";
        problems.push(Problem::new(Code::Conflict, steps_at, what, "no `steps:` here: a week designs its course"));
    }
    Some(soak)
}
