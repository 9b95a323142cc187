//! Crops: what they are, how fast they grow, how large their seed is.

use super::family::{Poison, exceptions, family_names, knows_family, poison_of, status_of};
use super::name::{key, other_forms};
use super::shipped::{Shipped, Table, as_cut, file_tags};
use super::source::{Reading, SourceTags};
use super::{Handle, Named, Origin, Status, StatusFrom, Trap, trap};
use crate::diagnostic::{Code, Problem, Problems, Span, did_you_mean};
use crate::exact::Fraction;
use crate::source::{Fields, Node, PerGram, PositiveShare, Stated, figures, text_of, words};
use crate::units::{Bounds, Fault, Length, celsius_range, depth_range, span_of_whole_numbers, within};
use std::collections::BTreeMap;
use std::sync::LazyLock;

const CROPS: &str = include_str!("../../recipes/catalogue/crops.yaml");

words! {
    /// How soon seedlings are ready: those of different pace do not share a tray.
    Pace {
        /// Up to four weeks or so.
        Fast = "fast",
        /// Five to seven weeks or so.
        Medium = "medium",
        /// Eight weeks and more.
        Slow = "slow",
    }

    /// How the seed is covered.
    Light {
        /// Left on the surface: it needs light.
        Light = "light",
        /// Covered thinly.
        Thin = "thin",
        /// Covered.
        Cover = "cover",
        /// Covered and kept dark.
        Dark = "dark",
    }

    /// Size of the seed.
    SeedSize {
        /// Like dust, above about 9,000 a gram.
        Dust = "dust",
        /// Fine, above about 1,500 a gram.
        Fine = "fine",
        /// Small.
        Small = "small",
        /// Medium.
        Medium = "medium",
        /// Large, a few to a gram.
        Large = "large",
    }

    /// Appetite in the field. It changes no built-in mix.
    Feeder {
        /// Modest.
        Light = "light",
        /// Middling.
        Medium = "medium",
        /// Hungry.
        Heavy = "heavy",
    }

    /// The temperature seedlings are grown on at.
    Temperature {
        /// About 10 to 16 degrees C.
        Cool = "cool",
        /// About 15 to 20 degrees C.
        Mild = "mild",
        /// 20 degrees C and above.
        Warm = "warm",
    }

    /// How much frost a plant that was hardened off stands.
    Frost {
        /// A good deal.
        Hardy = "hardy",
        /// A little, for a night.
        HalfHardy = "half-hardy",
        /// None.
        Tender = "tender",
    }

    /// What the seed wants before it is sown.
    Before {
        /// Soaked in water.
        Soak = "soak",
        /// Its coat nicked, or soaked instead.
        Nick = "nick",
        /// Kept cold and moist.
        Chill = "chill",
    }
}

/// What holds of a plant and not of another that is raised like it.
const OF_A_PLANT: [&str; 8] =
    ["species", "formerly", "family", "mycorrhiza", "confidence", "legal_minimum", "perennial", "poisonous"];

/// Whether a species or family is stated that is not the one that is known.
fn is_other(stated: Option<&String>, known: Option<&String>) -> bool {
    stated.zip(known).is_some_and(|(stated, known)| !stated.eq_ignore_ascii_case(known))
}

figures! {
    /// Weeks from sowing to planting out.
    Weeks((u32, u32)): "whole numbers such as `4-6`",
        text => span(text, (1.0..=520.0, "plants are raised for 1 to 520 weeks"));
    /// Usual cells in a tray.
    UsualCells((u32, u32)): "whole numbers such as `4-6`",
        text => span(text, (1.0..=100_000.0, "a tray has 1 to 100000 cells"));
    /// Days to emergence.
    Days((u32, u32)): "whole numbers such as `4-6`",
        text => span(text, (0.0..=1000.0, "seed comes up within 1000 days"));
    /// How deep a seed lies, from the least to the most; zero lies open.
    Depth((Length, Length)): "a depth such as `6-13 mm`", text => depth_range(text);
    /// Temperatures of the mix at which seed comes up, in degrees Celsius, lowest and highest.
    Warmth((f64, f64)): "a temperature such as `18-24 C`", text => celsius_range(text);
}

/// A span of whole numbers of which both ends are within the bounds.
fn span(text: &str, bounds: Bounds) -> Result<(u32, u32), Fault> {
    let (low, high) = span_of_whole_numbers(text)?;
    within((), f64::from(low), bounds.clone(), text)?;
    within((low, high), f64::from(high), bounds, text)
}

/// A crop and what is known of it.
#[derive(Clone, Debug)]
pub struct Crop {
    /// Its name.
    pub name: String,
    /// What the user calls it, where that is another name.
    pub called: Option<String>,
    /// Other names.
    pub also: Vec<String>,
    /// Botanical name.
    pub species: Option<String>,
    /// Botanical names that it had before.
    pub formerly: Vec<String>,
    /// Botanical family.
    pub family: Option<String>,
    /// Whether an inoculant can serve it.
    pub mycorrhiza: Status,
    /// By what that was found.
    pub mycorrhiza_from: StatusFrom,
    /// How sure that is: high, medium, low.
    pub confidence: Option<String>,
    /// The least germination that US law asks of seed sold (7 CFR 201.31).
    pub legal_minimum: Option<Fraction>,
    /// The germination to expect where neither packet nor law says anything.
    pub expected_germination: Option<Fraction>,
    /// The user's own figure.
    pub germination: Option<Fraction>,
    /// Weeks from sowing to planting out.
    pub weeks: Option<(u32, u32)>,
    /// How soon it is ready.
    pub pace: Option<Pace>,
    /// Usual cells in a tray of 10 x 20 inches.
    pub cells: Option<(u32, u32)>,
    /// How the seed is covered.
    pub light: Option<Light>,
    /// How deep the seed lies.
    pub depth: Option<Depth>,
    /// Size of the seed.
    pub seed: Option<SeedSize>,
    /// Seeds in a gram, about.
    pub seeds_per_gram: Option<Fraction>,
    /// Appetite in the field.
    pub feeder: Option<Feeder>,
    /// Temperature for growing on.
    pub temperature: Option<Temperature>,
    /// How much frost it stands.
    pub frost: Option<Frost>,
    /// Temperatures of the mix for germination.
    pub germinates_at: Option<Warmth>,
    /// Days to emergence.
    pub emerges: Option<(u32, u32)>,
    /// Those days were counted at a steady temperature.
    steady: bool,
    /// What the seed wants before it is sown.
    pub before: Option<Before>,
    /// Days that this takes.
    pub before_days: Option<(u32, u32)>,
    /// It lives for years.
    pub perennial: Option<bool>,
    /// What of it is poisonous.
    pub poisonous: Option<Poison>,
    /// A remark.
    pub note: Option<String>,
    /// Built in, or the user's own.
    pub origin: Origin,
    /// The sources behind its values.
    pub tags: SourceTags,
    /// What an own entry states, for a later one of its name; the tables have it in their text.
    stated: Option<Stated>,
}

impl Named for Crop {
    fn name(&self) -> &str {
        &self.name
    }

    fn shown(&self) -> &str {
        self.called.as_ref().unwrap_or(&self.name)
    }

    fn also(&self) -> &[String] {
        &self.also
    }
}

fn tags() -> &'static BTreeMap<String, String> {
    static TAGS: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| file_tags(CROPS, "crops"));
    &TAGS
}

impl Shipped for Crop {
    const IN_PLACE: bool = false;

    fn table() -> &'static LazyLock<Table<Handle<Self>>> {
        static TABLE: LazyLock<Table<Handle<Crop>>> = LazyLock::new(|| {
            Table::new("crops", CROPS, as_cut!("crops"), |(place, name), node, problems| {
                Crop::read(name, node, |_| None, &Reading::shipped(Some(tags), problems))
                    .map(|entry| Handle::new(place, entry))
            })
        });
        &TABLE
    }
}

/// Species and family of an entry: as it states them, or those of the plant that goes by its name, unless it is said to
/// be another.
fn plant(fields: &mut Fields<'_>, trap: Option<&Trap>) -> (Option<String>, Option<String>) {
    let (species, family): (Option<String>, Option<String>) = (fields.optional("species"), fields.optional("family"));
    let is_it = |trap: &&Trap| {
        !is_other(species.as_ref(), trap.species.as_ref()) && !is_other(family.as_ref(), trap.family.as_ref())
    };
    let trap = trap.filter(is_it);
    (species.or_else(|| trap?.species.clone()), family.or_else(|| trap?.family.clone()))
}

impl Crop {
    /// Reads an entry of `crops:`, laid over the entry of that name before it if it is the same
    /// plant, or over the crop that it is said to be like.
    pub(super) fn read(
        name: &str,
        node: &Node<'_>,
        known: impl Fn(&str) -> Option<Handle<Self>>,
        reading: &Reading<'_>,
    ) -> Option<Self> {
        let Reading { origin, problems, .. } = *reading;
        let mut fields = Fields::new(node, "a crop", problems)?;
        let trap = if origin == Origin::Own { trap(name) } else { None };
        let like = fields.get("like");
        let base = Self::base(name, trap, like, known, problems);
        let stated = |base: &Self| base.stated.clone().unwrap_or_else(|| Self::table().stated(&base.name));
        let under = base.as_deref().map(stated).unwrap_or_default();
        let base = base.filter(|base| base.lie_under(&mut fields, &under, like.is_some()));
        let (species, family) = plant(&mut fields, trap.filter(|_| base.is_none()));
        let found = fields.optional("mycorrhiza").map(|status| (status, StatusFrom::Crop));
        let found = found.or_else(|| Self::status_by_plant(name, species.as_deref(), family.as_deref()));
        let poisonous = fields.optional("poisonous").or_else(|| poison_of(species.as_deref()?));
        let (mycorrhiza, mycorrhiza_from) = found.clone().unwrap_or((Status::Variable, StatusFrom::Crop));
        let crop = Self {
            name: name.to_owned(),
            called: None,
            also: fields.optional("also").unwrap_or_default(),
            species,
            formerly: fields.optional("formerly").unwrap_or_default(),
            family,
            mycorrhiza,
            mycorrhiza_from,
            confidence: fields.optional("confidence"),
            legal_minimum: fields.optional("legal_minimum").map(|PositiveShare(share)| share),
            expected_germination: fields.optional("expected_germination").map(|PositiveShare(share)| share),
            germination: fields.optional("germination").map(|PositiveShare(share)| share),
            weeks: fields.optional("weeks").map(|Weeks(weeks)| weeks),
            pace: fields.optional("pace"),
            cells: fields.optional("cells").map(|UsualCells(cells)| cells),
            light: fields.optional("light"),
            depth: fields.optional("depth"),
            seed: fields.optional("seed"),
            seeds_per_gram: fields.optional("seeds_per_gram").map(|PerGram(seeds)| seeds),
            feeder: fields.optional("feeder"),
            temperature: fields.optional("temperature"),
            frost: fields.optional("frost"),
            germinates_at: fields.optional("germinates_at"),
            emerges: fields.optional("emerges").map(|Days(days)| days),
            steady: fields.optional("steady").unwrap_or(false),
            before: fields.optional("before"),
            before_days: fields.optional("before_days").map(|Days(days)| days),
            perennial: fields.optional("perennial"),
            poisonous,
            note: fields.prose("note"),
            origin,
            tags: reading.tags(&mut fields, base.as_ref().map(|base| &base.tags)),
            stated: (origin == Origin::Own).then(|| fields.stated()),
        };
        let family_at = fields.place("family");
        fields.finish()?;
        if found.is_none() {
            problems.push(crop.without_status(family_at));
        }
        found.map(|_| crop)
    }

    /// The status by the plant: where no species is stated, a name may hold that of an exception of its family.
    fn status_by_plant(name: &str, species: Option<&str>, family: Option<&str>) -> Option<(Status, StatusFrom)> {
        let by_name = family.filter(|_| species.is_none()).and_then(|family| Self::exception_by_name(name, family));
        by_name.or_else(|| status_of(species, family))
    }

    /// The status of an exception of a family that a name holds, by its botanical name or that of a crop of it:
    /// `Lupinus texensis`, `russell lupine mix`.
    fn exception_by_name(name: &str, family: &str) -> Option<(Status, StatusFrom)> {
        /// The names of the table have no more words.
        const MOST_WORDS: usize = 4;
        let exceptions = exceptions(family);
        if exceptions.is_empty() {
            return None;
        }
        let name = key(name);
        let words: Vec<&str> = name.split(' ').collect();
        let mut parts = (1..=MOST_WORDS).rev().flat_map(|count| words.windows(count)).map(|words| words.join(" "));
        parts.find_map(|part| {
            let mut called = std::iter::once(part.clone()).chain(other_forms(&part)).filter_map(|form| {
                let species = |is: &str| Self::table().find(is).and_then(|crop| crop.species.as_deref());
                species(&form).or_else(|| trap(&form).and_then(|trap| trap.species.as_deref()))
            });
            let found = status_of(Some(&part), None).or_else(|| status_of(Some(called.next()?), None));
            found.filter(|(_, from)| match from {
                StatusFrom::Genus(name) | StatusFrom::Species(name) => exceptions.contains(&name.as_str()),
                StatusFrom::Crop | StatusFrom::Family(_) => false,
            })
        })
    }

    /// The crop that an entry may be laid over: the one that it says to be like, or a fault; else the one of its name
    /// or, where that is often confused, the one that it is taken for.
    fn base(
        name: &str,
        trap: Option<&Trap>,
        like: Option<&Node<'_>>,
        known: impl Fn(&str) -> Option<Handle<Self>>,
        problems: &Problems,
    ) -> Option<Handle<Self>> {
        let Some(like) = like else { return known(name).or_else(|| known(trap?.is.as_ref()?)) };
        let name = text_of(like, "a crop", problems)?;
        known(name).or_else(|| {
            let what = format!("no crop is called `{name}`");
            problems.deny(Code::UnknownCrop, like.at, what, "a crop of the table, or one that stands above")
        })
    }

    /// Lays an entry over what the crop states, unless the entry is another plant. One that is
    /// only like the crop takes what does not make the plant. Whether it was laid over it.
    fn lie_under<'n>(&self, fields: &mut Fields<'n>, stated: &'n Stated, like: bool) -> bool {
        let mut other = |key, known: Option<&String>| is_other(fields.optional(key).as_ref(), known);
        let (species, family) = (other("species", self.species.as_ref()), other("family", self.family.as_ref()));
        let is_other = species || family;
        if is_other && !like {
            return false;
        }
        let mut except = vec!["also", "from"];
        if fields.states("emerges") {
            except.push("steady");
        }
        if is_other {
            except.extend(OF_A_PLANT);
        }
        fields.lay_over(stated, &except);
        true
    }

    /// The same crop as the user calls it.
    pub(super) fn known_as(&self, word: &str) -> Self {
        let called = word.split_whitespace().collect::<Vec<_>>().join(" ");
        Self { called: Some(called), ..self.clone() }
    }

    /// What the user calls it, with its name beside it where that is another: `calabrese
    /// (broccoli)`.
    pub fn in_full(&self) -> String {
        self.called.as_ref().map_or_else(|| self.name.clone(), |called| format!("{called} ({})", self.name))
    }

    fn without_status(&self, at: Span) -> Problem {
        let state = "or state `mycorrhiza: host`, `nonhost`, `variable` or `ericoid`";
        let (what, expected, help) = match &self.family {
            Some(family) if !knows_family(family) => {
                let near = did_you_mean(family, family_names());
                let help = near.unwrap_or_else(|| "check the spelling of the family,".to_owned());
                (format!("no rule is known for the family `{family}`"), "a botanical family", help)
            }
            _ => {
                let what = format!("whether `{}` can use an inoculant is not known", self.name);
                let help = "state its family, such as `family: Brassicaceae`,".to_owned();
                (what, "`family:` or `mycorrhiza:`", help)
            }
        };
        Problem::new(Code::UnknownCrop, at, what, expected).with_help(Some(format!("{help} {state}")))
    }

    /// Days to emergence in a house. Those counted at a steady temperature run to half as
    /// long again there (common practice).
    pub fn emerges_in_a_house(&self) -> Option<(u32, u32)> {
        let longer = |last: u32| if self.steady { last.saturating_add(last.div_ceil(2)) } else { last };
        self.emerges.map(|(first, last)| (first, longer(last)))
    }

    /// Whether it wants an acid, poor mix, as all do that live with ericoid fungi (common practice, no source).
    pub fn wants_acid(&self) -> bool {
        self.mycorrhiza == Status::Ericoid
    }

    /// Whether its seed stands on a mat: it germinates from 20 C on (common practice, no source).
    pub fn wants_mat(&self) -> bool {
        self.germinates_at.is_some_and(|Warmth((lowest, _))| lowest >= 20.0)
    }

    /// Days of hardening before it is planted out: ten of tender crops, else a week (common practice, no source).
    pub fn hardening_days(&self) -> u8 {
        if self.frost == Some(Frost::Tender) { 10 } else { 7 }
    }

    /// The temperature it is grown on at; brassicas are cool crops.
    pub fn grows_at(&self) -> Option<Temperature> {
        let brassica = self.family.as_deref().is_some_and(|family| family.eq_ignore_ascii_case("Brassicaceae"));
        self.temperature.or(brassica.then_some(Temperature::Cool))
    }
}
