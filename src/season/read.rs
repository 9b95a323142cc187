//! A season's file: read as a week is, whose sowings say more.

use super::dates::{Again, Interval, PlantOut, Year};
use super::planned::{Season, Stated, StatedPot, planned};
use crate::catalogue::{Catalogue, Weeks, key};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText};
use crate::moment::Day;
use crate::place::Frost;
use crate::source::{Fields, FileKind, Files, Node, Value, parse};
use crate::week::{BESIDE, Inputs, Loader, Place, Sowing, Sown, Week};
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

impl Inputs<'_> {
    /// Loads a season with every file it names.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of every file.
    pub fn season(&self, path: &Path) -> Result<Season, Rejected> {
        self.season_of(path, &self.files.read(path, FileKind::Yaml)?)
    }

    /// Loads a season whose own file has been read: standard input can be read once only.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of every file.
    pub fn season_of(&self, path: &Path, source: &Arc<SourceText>) -> Result<Season, Rejected> {
        let folder = path.parent().unwrap_or(Path::new("")).to_owned();
        let mut loader = Loader::new(*self, folder.clone());
        let problems = Problems::new(Arc::clone(source));
        let mut file = SeasonFile::default();
        let week = loader.read(&mut file, &problems);
        let head = parse(&source.text, &Problems::new(Arc::clone(source))).map(|node| head_of(&node));
        let (mut head, place) = head.unwrap_or_default();
        let place = place.or_else(|| self.files.has(&folder.join(BESIDE)).then(|| BESIDE.to_owned()));
        let entries =
            file.stated.iter().flat_map(|stated| [Some(&stated.entry), stated.then.as_ref().map(|pot| &pot.entry)]);
        let recipes = entries.flatten().filter_map(|entry| entry.get("recipe"));
        let recipes = recipes.chain(head.iter().filter(|(key, _)| key == "recipe").map(|(_, node)| node));
        let recipes = recipes.filter_map(Node::text);
        let recipes: BTreeMap<String, String> =
            recipes.filter_map(|name| Some((name.to_owned(), loader.recipe_beside(name.trim())?))).collect();
        let loaded = loader.finish(problems, week)?;
        if loaded.week.stock.is_some() {
            // The stock may name what only the recipe of another day brings.
            recipes
                .values()
                .for_each(|path| bring(&mut head, self.files.read(&folder.join(path), FileKind::Yaml).ok()));
        }
        let (sowings, zone) = (Vec::new(), self.zone);
        planned(Season { loaded, sowings, taken: None, zone, folder, head, place, recipes }, file.stated, file.year)
    }
}

/// Reads the text of a season for what its readers ask, whatever is wrong with it.
pub(crate) fn ask(problems: &Problems, files: &dyn Files, folder: &Path) {
    let _ = Loader::new(Inputs::new(files), folder.to_owned()).read(&mut SeasonFile::default(), problems);
}

/// The keys of a season that its weeks have too, and its place.
fn head_of(node: &Node<'_>) -> (Vec<(String, Node<'static>)>, Option<String>) {
    const OF_ITS_OWN: [&str; 4] = ["season", "year", "place", "sowings"];
    let named = node.pairs().iter().filter_map(|(key, value)| Some((key.text()?, value)));
    let shared = named.filter(|(key, value)| !OF_ITS_OWN.contains(key) && value.value != Value::Null);
    let shared = shared.map(|(key, value)| (key.to_owned(), value.to_static()));
    (shared.collect(), node.get("place").and_then(Node::text).map(str::to_owned))
}

/// Adds the ingredients of a recipe file to those of a season, unless they are known.
fn bring(head: &mut Vec<(String, Node<'static>)>, recipe: Option<Arc<SourceText>>) {
    let Some(source) = recipe else { return };
    let Some(node) = parse(&source.text, &Problems::new(Arc::clone(&source))) else { return };
    let Some(Value::Map(brought)) = node.get("ingredients").map(|own| &own.value) else { return };
    let known = Catalogue::built_in().ingredients;
    let at = head.iter().position(|(name, _)| name == "ingredients").unwrap_or(head.len());
    if at == head.len() {
        head.push(("ingredients".to_owned(), Node::of(Value::Map(Vec::new()))));
    }
    let Value::Map(own) = &mut head[at].1.value else { return };
    for (name, entry) in brought {
        let Some(text) = name.text().filter(|text| known.find(text).is_none()) else { continue };
        if own.iter().all(|(other, _)| other.text().is_none_or(|other| key(other) != key(text))) {
            own.push((name.to_static(), entry.to_static()));
        }
    }
}

/// The longest name: that of a day adds the day, and is a name as well.
const LONGEST_NAME: usize = 180;

/// A season.
#[derive(Default)]
struct SeasonFile {
    year: Option<i16>,
    frost: Frost,
    /// Whether the last frost stands in the file, and the first, right or wrong.
    has_frost: [bool; 2],
    stated: Vec<Stated>,
}

impl Sown for SeasonFile {
    fn key(&self) -> &'static str {
        "season"
    }

    fn what(&self) -> &'static str {
        "a season"
    }

    fn more_columns(&self) -> &'static [&'static str] {
        &["plant_out", "sow", "weeks", "harden"]
    }

    fn head(&mut self, _: &Loader<'_>, week: &mut Week, fields: &mut Fields<'_>, problems: &Problems) {
        self.year = fields.optional("year").map(|Year(year)| year);
        self.frost = week.standing.frost;
        let frost = fields.get("frost");
        self.has_frost = ["last", "first"].map(|key| frost.is_some_and(|frost| frost.get(key).is_some()));
        if fields.get("mix_on").is_some() {
            let what = "a season works out its days itself";
            let expected = "no `mix_on:` here, but `plant_out:` or `sow:` in each sowing";
            problems.push(Problem::new(Code::Conflict, fields.place("mix_on"), what, expected));
        }
        if week.soak.as_ref().is_some_and(|soak| soak.ready.is_some()) {
            let expected = "no `ready:` there: the coir is ready when a day's mix is";
            let what = "each course of a season has its own day";
            problems.push(Problem::new(Code::Conflict, fields.place("soak"), what, expected));
        }
        if week.name.chars().count() > LONGEST_NAME {
            let (what, expected) =
                ("the days of a season bear its name, too", format!("at most {LONGEST_NAME} characters"));
            problems.push(Problem::new(Code::TooLarge, fields.place("season"), what, expected));
        }
        if week.rack.is_some_and(|rack| rack.places == 0) {
            let expected = "`shelves:` and `trays_per_shelf:` of one and more, or no `rack:`";
            problems.push(Problem::new(Code::Conflict, fields.place("rack"), "the rack has no places", expected));
        }
    }

    fn sowing(
        &mut self,
        loader: &mut Loader<'_>,
        sowing: Option<Sowing>,
        (node, fields): (&Node<'_>, &mut Fields<'_>),
        problems: &Problems,
    ) -> Option<Sowing> {
        let place = |fields: &Fields<'_>, key: &str| Place::new(Arc::clone(problems.source()), fields.place(key));
        let out: Option<PlantOut> = fields.optional("plant_out");
        let sow = days(fields, "sow");
        let stated = Stated {
            out,
            out_at: place(fields, "plant_out"),
            sow_at: place(fields, "sow"),
            weeks: fields.optional("weeks").map(|Weeks(weeks)| weeks),
            weeks_at: place(fields, "weeks"),
            harden: fields.optional("harden").map(|Interval(days)| days),
            harden_at: place(fields, "harden"),
            again: fields.optional("again").map(|Again(again)| again).unwrap_or_default(),
            then: fields.get("then").and_then(|node| potted(loader, sowing.as_ref(), node, problems)),
            entry: without(node, &["plant_out", "sow", "weeks", "harden", "again", "then"]),
            sow,
        };
        if let Some(PlantOut::Frost { last, .. }) = out
            && (if last { self.frost.last } else { self.frost.first }).is_none()
            && !self.has_frost[usize::from(!last)]
        {
            let which = if last { "last" } else { "first" };
            let what = format!("no {which} frost is stated");
            let expected = format!("a day, or `frost: {{{which}: ...}}` in the place or here");
            let help =
                Some("the average day of your region, as in `frost: {last: 10 May, first: 5 October}`".to_owned());
            problems.push(Problem::new(Code::MissingKey, fields.place("plant_out"), what, expected).with_help(help));
        }
        if ["plant_out", "sow"].iter().all(|key| fields.place(key) == fields.at()) {
            let what = "this sowing does not say when it is planted out";
            problems.push(Problem::new(Code::MissingKey, fields.at(), what, "`plant_out:`, or `sow:` for a fixed day"));
        }
        self.stated.push(stated);
        sowing
    }
}

/// Reads `then:`.
fn potted(loader: &mut Loader<'_>, of: Option<&Sowing>, node: &Node<'_>, problems: &Problems) -> Option<StatedPot> {
    Fields::read(node, "what is potted on", problems, |fields| {
        let sowing = loader.potted(of, "season", fields, problems);
        let on = days(fields, "on");
        let after = if on.is_empty() { fields.required("after") } else { fields.optional("after") };
        let at = |key: &str| Place::new(Arc::clone(problems.source()), fields.place(key));
        let entry = without(node, &["after", "on"]);
        let (after_at, on_at) = (at("after"), at("on"));
        Some(StatedPot { sowing: sowing?, after: after.map(|Interval(days)| days), after_at, on, on_at, entry })
    })
}

/// One day or several.
fn days(fields: &mut Fields<'_>, key: &'static str) -> Vec<Date> {
    let days: Option<Vec<Day>> = fields.optional(key);
    days.unwrap_or_default().into_iter().map(|Day(day)| day).collect()
}

/// A map without some keys and those that are empty, apart from its text.
fn without(node: &Node<'_>, keys: &[&str]) -> Node<'static> {
    let mut node = node.to_static();
    if let Value::Map(map) = &mut node.value {
        map.retain(|(key, value)| key.text().is_none_or(|key| !keys.contains(&key)) && value.value != Value::Null);
    }
    node
}
