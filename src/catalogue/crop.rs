//! Crops: what they are, how fast they grow, how large their seed is.

use super::family::{family_names, knows_family, status_of};
use super::shipped::{Shipped, Table};
use super::source::{Reading, SourceTags, file_tags};
use super::{Handle, Origin, Status, StatusFrom};
use crate::diagnostic::{Code, Problem, Span, did_you_mean};
use crate::exact::Fraction;
use crate::source::{Fields, Node, PerGram, PositiveShare, Stated, figures, words};
use crate::units::{Bounds, Fault, span_of_whole_numbers, within};
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
    /// Other names.
    pub also: Vec<String>,
    /// Botanical name.
    pub species: Option<String>,
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
    /// Size of the seed.
    pub seed: Option<SeedSize>,
    /// Seeds in a gram, about.
    pub seeds_per_gram: Option<Fraction>,
    /// Appetite in the field.
    pub feeder: Option<Feeder>,
    /// Temperature for growing on.
    pub temperature: Option<Temperature>,
    /// Soil temperatures for germination, as text.
    pub germinates_at: Option<String>,
    /// Days to emergence.
    pub emerges: Option<(u32, u32)>,
    /// A remark.
    pub note: Option<String>,
    /// Built in, or the user's own.
    pub origin: Origin,
    /// The sources behind its values.
    pub tags: SourceTags,
    /// What an own entry states, for a later one of its name; the tables have it in their text.
    stated: Option<Stated>,
}

fn tags() -> &'static BTreeMap<String, String> {
    static TAGS: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| file_tags(CROPS, "crops"));
    &TAGS
}

impl Shipped for Crop {
    const IN_PLACE: bool = false;

    fn table() -> &'static LazyLock<Table<Handle<Self>>> {
        static TABLE: LazyLock<Table<Handle<Crop>>> = LazyLock::new(|| {
            Table::new("crops", CROPS, |(place, name), node, problems| {
                Crop::read(name, node, None, &Reading::shipped(Some(tags), problems))
                    .map(|entry| Handle::new(place, entry))
            })
        });
        &TABLE
    }
}

impl Crop {
    /// Reads an entry of `crops:`, laid over the entry of that name before it, the base, if
    /// it is the same plant.
    pub(super) fn read(name: &str, node: &Node<'_>, base: Option<&Self>, reading: &Reading<'_>) -> Option<Self> {
        let Reading { origin, problems, .. } = *reading;
        let stated = |base: &Self| base.stated.clone().unwrap_or_else(|| Self::table().stated(&base.name));
        let under = base.map(stated).unwrap_or_default();
        let mut fields = Fields::new(node, "a crop", problems)?;
        let mut is_other = |key, known: Option<&String>| {
            let stated: Option<String> = fields.optional(key);
            stated.zip(known).is_some_and(|(stated, known)| !stated.eq_ignore_ascii_case(known))
        };
        let base = base
            .filter(|base| !is_other("species", base.species.as_ref()) && !is_other("family", base.family.as_ref()));
        if base.is_some() {
            fields.lay_over(&under, &["also", "from"]);
        }
        let species: Option<String> = fields.optional("species");
        let family: Option<String> = fields.optional("family");
        let stated = fields.optional("mycorrhiza").map(|status| (status, StatusFrom::Crop));
        let found = stated.or_else(|| status_of(species.as_deref(), family.as_deref()));
        let (mycorrhiza, mycorrhiza_from) = found.clone().unwrap_or((Status::Variable, StatusFrom::Crop));
        let crop = Self {
            name: name.to_owned(),
            also: fields.optional("also").unwrap_or_default(),
            species,
            family,
            mycorrhiza,
            mycorrhiza_from,
            confidence: fields.optional("confidence"),
            legal_minimum: fields.optional("legal_minimum").map(|PositiveShare(share)| share),
            germination: fields.optional("germination").map(|PositiveShare(share)| share),
            weeks: fields.optional("weeks").map(|Weeks(weeks)| weeks),
            pace: fields.optional("pace"),
            cells: fields.optional("cells").map(|UsualCells(cells)| cells),
            light: fields.optional("light"),
            seed: fields.optional("seed"),
            seeds_per_gram: fields.optional("seeds_per_gram").map(|PerGram(seeds)| seeds),
            feeder: fields.optional("feeder"),
            temperature: fields.optional("temperature"),
            germinates_at: fields.optional("germinates_at"),
            emerges: fields.optional("emerges").map(|Days(days)| days),
            note: fields.prose("note"),
            origin,
            tags: reading.tags(&mut fields, base.map(|base| &base.tags)),
            stated: (origin == Origin::Own).then(|| fields.stated()),
        };
        let family_at = fields.place("family");
        fields.finish()?;
        if found.is_none() {
            problems.push_with(|| crop.without_status(family_at));
        }
        found.map(|_| crop)
    }

    fn without_status(&self, at: Span) -> Problem {
        let state = "or state `mycorrhiza: host`, `nonhost`, `variable` or `ericoid`";
        match &self.family {
            Some(family) if !knows_family(family) => {
                let help = match did_you_mean(family, family_names()) {
                    Some(near) => format!("{near} {state}"),
                    None => format!("check the spelling of the family, {state}"),
                };
                let what = format!("no rule is known for the family `{family}`");
                Problem::new(Code::UnknownCrop, at, what, "a botanical family").with_help(Some(help))
            }
            _ => {
                let what = format!("whether `{}` can use an inoculant is not known", self.name);
                Problem::new(Code::UnknownCrop, at, what, "`family:` or `mycorrhiza:`")
                    .with_help(Some(format!("state its family, such as `family: Brassicaceae`, {state}")))
            }
        }
    }

    /// The temperature it is grown on at; brassicas are cool crops.
    pub fn grows_at(&self) -> Option<Temperature> {
        let brassica = self.family.as_deref().is_some_and(|family| family.eq_ignore_ascii_case("Brassicaceae"));
        self.temperature.or(brassica.then_some(Temperature::Cool))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cut_entries_are_those_that_yaml_reads() {
        Crop::table().assert_as_whole();
    }
}
