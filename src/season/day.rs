//! A day of a season is a week: its text, and what is read of that.

use super::planned::Season;
use super::windows::Dated;
use crate::diagnostic::{Rejected, SourceText};
use crate::recipe::Recipe;
use crate::source::{Node, Value, flow, list, scalar};
use crate::units::{Volume, plain, to_litres};
use crate::week::{Inputs, Loaded, Sowing, plain_path};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A planting on the day on which it is sown, or potted on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stage {
    /// The index of its planting in the season's plan.
    pub planting: usize,
    /// It is potted on, not sown.
    pub potted: bool,
}

/// The first day on which some of the trays of each sowing stand in the frame.
pub type Framed = BTreeMap<Stage, Date>;

/// What the week of a day says of its season, besides what its sowings say.
#[derive(Clone, Debug, Default)]
pub struct Told {
    /// When its trays go to the frame.
    pub framed: Framed,
    /// The coir that later days need of what is at hand or bought, by the day.
    pub coir_after: BTreeMap<Date, Volume>,
    /// The places of the rack that are taken before a day fills any, where these are more than the season states.
    pub occupied: BTreeMap<Date, u64>,
}

/// The days on which something is sown or potted on.
pub fn dates_of(days: &[Dated]) -> BTreeSet<Date> {
    days.iter().flat_map(|dated| [Some(dated.sow), dated.pot]).flatten().collect()
}

/// The first line of the file of a day.
pub fn first_line(season: &Season, on: Date) -> String {
    format!("week: {}\n", scalar(&format!("{}, {on}", season.loaded.week.name)))
}

/// The file of the week that is one day of a season, as it stands in a folder from which `way` leads to the folder of
/// the season. Read there, it gives the plan of that day.
pub fn day_text(season: &Season, days: &[Dated], told: &Told, on: Date, way: &Path) -> String {
    let week = &season.loaded.week;
    let at = on.to_datetime(week.awake.usual_hour(on));
    // An hour that is skipped when clocks go forward is the one after it.
    let at = at.to_zoned_datetime(week.standing.zone(season.zone)).map_or(at, |at| at.datetime());
    let at = at.strftime("%Y-%m-%d %H:%M");
    let mut text = first_line(season, on) + &format!("mix_on: {at}\n");
    if week.soak.is_some() {
        text += "# It bathes its own coir alone: `trayful season` says which days one course serves.\n";
        let later = told.coir_after.get(&on).map(|after| to_litres(*after)).filter(|after| *after > 0.0);
        text.extend(later.map(|later| format!("coir_for_later: {} L\n", plain(later, 1))));
    }
    text.extend(season.place.iter().map(|place| format!("place: {}\n", path_from(way, place))));
    let sown = sown_on(season, days, on);
    let used: Vec<&Recipe> = sown.iter().map(|sown| week.recipe(sown.sowing.recipe)).collect();
    let rack = rack_on(season, told, on);
    text.extend(rack.as_ref().map(|rack| format!("rack: {}\n", flow(rack))));
    for (key, value) in season.head.iter().filter(|(key, _)| rack.is_none() || key != "rack") {
        let value = match (key.as_str(), value.text()) {
            ("stock", Some(path)) => path_from(way, path),
            ("use", _) => {
                let offered =
                    list(value).iter().filter(|name| name.text().is_some_and(|name| is_offered(season, name, &used)));
                flow(&Node::of(Value::List(offered.cloned().collect())))
            }
            _ => written(season, key, value, way),
        };
        text += &format!("{key}: {value}\n");
    }
    text += "sowings:\n";
    for sown in sown {
        let keys = sown.keys.iter().map(|(key, value)| format!("{key}: {}", written(season, key, value, way)));
        let frame = told.framed.get(&sown.of).map(|day| format!("to_frame: {day}"));
        text += &format!("  - {{{}}}\n", keys.chain(sown.days).chain(frame).collect::<Vec<_>>().join(", "));
    }
    text
}

/// What a day says of its rack: what the season says, with the places that are taken then.
fn rack_on(season: &Season, told: &Told, on: Date) -> Option<Node<'static>> {
    let taken = told.occupied.get(&on)?;
    let occupied = Node::of(Value::Text(taken.to_string().into()));
    let stated = season.head.iter().find(|(key, _)| key == "rack").map(|(_, rack)| rack);
    let others = stated.into_iter().flat_map(Node::pairs).filter(|(key, _)| key.text() != Some("occupied")).cloned();
    let occupied = (Node::of(Value::Text("occupied".into())), occupied);
    Some(Node::of(Value::Map(others.chain([occupied]).collect())))
}

impl Inputs<'_> {
    /// One day of a season as a week, checked and ready to be planned.
    ///
    /// # Errors
    /// [`Rejected`] where nothing is sown on that day, or a file is not what it was when the season was read.
    pub fn day(&self, season: &Season, days: &[Dated], told: &Told, on: Date) -> Result<Loaded, Rejected> {
        let week = &season.loaded.week;
        let used: Vec<&Recipe> = sown_on(season, days, on).iter().map(|sown| week.recipe(sown.sowing.recipe)).collect();
        let wanted: Vec<String> = self.wanted.iter().filter(|name| is_offered(season, name, &used)).cloned().collect();
        let text = day_text(season, days, told, on, Path::new(""));
        let source = SourceText::argument(&format!("{}, {on}", week.name), &text);
        Inputs { wanted: &wanted, ..*self }.week_of(&season.folder.join("week.yaml"), &source)
    }
}

/// What is sown or potted on a day.
struct SownOn<'s> {
    of: Stage,
    sowing: &'s Sowing,
    /// What the file says of it.
    keys: Vec<(&'s str, &'s Node<'static>)>,
    /// Whether its plugs hold an inoculant, when it leaves and is planted out.
    days: Vec<String>,
}

/// The sowings of the week that a day is: in the order of the file, what is potted on last.
pub(super) fn week_on(days: &[Dated], on: Date) -> Vec<Stage> {
    let of = |planting: usize| [false, true].map(|potted| Stage { planting, potted });
    let is_then = |stage: &Stage| days[stage.planting].on(stage.potted) == Some(on);
    let mut sown: Vec<Stage> = (0..days.len()).flat_map(of).filter(is_then).collect();
    sown.sort_by_key(|one| (one.potted, days[one.planting].sowing, days[one.planting].number));
    sown
}

/// Whether something of a day is sown or potted on, by another choice of days, on the other.
pub fn is_some_of(one: (&[Dated], Date), other: (&[Dated], Date)) -> bool {
    let sown = |(days, on): (&[Dated], Date)| {
        let each = |one: Stage| (days[one.planting].sowing, days[one.planting].number, one.potted);
        week_on(days, on).into_iter().map(each).collect::<BTreeSet<_>>()
    };
    !sown(one).is_disjoint(&sown(other))
}

/// What each of them says.
fn sown_on<'s>(season: &'s Season, days: &[Dated], on: Date) -> Vec<SownOn<'s>> {
    let sowings = &season.loaded.week.sowings;
    let ends = |dated: &Dated| vec![format!("plant_out: {}", dated.plant_out), format!("leaves: {}", dated.leaves)];
    let sown = |of: Stage| {
        let dated = &days[of.planting];
        let entry = &season.sowings[dated.sowing].entry;
        if !of.potted {
            let days = dated.pot.map_or_else(|| ends(dated), |pot| vec![format!("leaves: {pot}")]);
            return Some(SownOn { of, sowing: &sowings[dated.sowing], keys: keys(entry).collect(), days });
        }
        let pot = season.sowings[dated.sowing].then.as_ref()?;
        let named = keys(entry).filter(|(key, _)| ["crop", "variety"].contains(key));
        let plug = entry.get("tray").map(|tray| ("from", tray));
        let keys = named.chain(keys(&pot.entry)).chain(plug).collect();
        let sowing = &sowings[pot.sowing];
        let plugs = pot.inoculated.map(|is| format!("inoculated_plugs: {}", if is { "yes" } else { "no" }));
        Some(SownOn { of, sowing, keys, days: plugs.into_iter().chain(ends(dated)).collect() })
    };
    week_on(days, on).into_iter().filter_map(sown).collect()
}

/// The keys of a map with their values.
fn keys<'n>(map: &'n Node<'static>) -> impl Iterator<Item = (&'n str, &'n Node<'static>)> {
    map.pairs().iter().filter_map(|(key, value)| Some((key.text()?, value)))
}

/// Whether one of these recipes offers an ingredient as a choice.
fn is_offered(season: &Season, name: &str, recipes: &[&Recipe]) -> bool {
    let id = season.loaded.catalogue.ingredients.find(name);
    id.is_some_and(|id| recipes.iter().any(|recipe| recipe.offers(&id)))
}

/// A value; that of a recipe which is a file as its path.
fn written(season: &Season, key: &str, value: &Node<'_>, way: &Path) -> String {
    let file = value.text().filter(|_| key == "recipe").and_then(|name| season.recipes.get(name));
    file.map_or_else(|| flow(value), |file| path_from(way, file))
}

/// A path from the folder of a season as it is from another.
fn path_from(way: &Path, path: &str) -> String {
    scalar(&plain_path(&way.join(path.trim())).to_string_lossy())
}
