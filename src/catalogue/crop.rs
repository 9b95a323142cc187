//! Crops: what they are, how fast they grow, how large their seed is.

use super::family::{family_names, knows_family, status_of};
use super::layout;
use super::source::{Reading, SourceTags};
use super::{Origin, Status, StatusFrom};
use crate::diagnostic::{Code, Problem, Span, did_you_mean};
use crate::exact::Fraction;
use crate::source::{Fields, Node, PerGram, PositiveShare, Stated, figures, words};
use crate::units::{Length, depth_range};

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

figures! {
    /// How deep a seed lies, from the least to the most; zero lies open.
    Depth((Length, Length)): "a depth such as `6-13 mm`, at most 300 mm", text => depth_range(text);
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
    /// Soil temperatures for germination, as text.
    pub germinates_at: Option<String>,
    /// Days to emergence.
    pub emerges: Option<(u32, u32)>,
    /// Those days were counted at a steady temperature.
    steady: bool,
    /// What the seed wants before it is sown.
    pub before: Option<Before>,
    /// Days that this takes.
    pub before_days: Option<(u32, u32)>,
    /// A remark.
    pub note: Option<String>,
    /// Built in, or the user's own.
    pub origin: Origin,
    /// The sources behind its values.
    pub tags: SourceTags,
    /// What an own entry states, for a later one of its name; the tables have it in their text.
    stated: Option<Stated>,
}

impl Crop {
    /// Reads an entry of `crops:`, laid over the entry of that name before it, the base, if
    /// it is the same plant.
    pub(super) fn read(name: &str, node: &Node<'_>, base: Option<&Self>, reading: &Reading<'_>) -> Option<Self> {
        let Reading { origin, tags, problems } = *reading;
        let stated = |base: &Self| base.stated.clone().unwrap_or_else(|| layout::stated(CROPS, "crops", &base.name));
        let under = base.map(stated).unwrap_or_default();
        let mut fields = Fields::new(node, "a crop", problems)?;
        let mut is_other = |key, known: Option<&String>| {
            let stated: Option<String> = fields.optional(key);
            stated.zip(known).is_some_and(|(stated, known)| !stated.eq_ignore_ascii_case(known))
        };
        let base = base
            .filter(|base| !is_other("species", base.species.as_ref()) && !is_other("family", base.family.as_ref()));
        if base.is_some() {
            let days = if fields.states("emerges") { "steady" } else { "" };
            fields.lay_over(&under, &["also", "from", days]);
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
            formerly: fields.optional("formerly").unwrap_or_default(),
            family,
            mycorrhiza,
            mycorrhiza_from,
            confidence: fields.optional("confidence"),
            legal_minimum: fields.optional("legal_minimum").map(|PositiveShare(share)| share),
            expected_germination: fields.optional("expected_germination").map(|PositiveShare(share)| share),
            germination: fields.optional("germination").map(|PositiveShare(share)| share),
            weeks: fields.optional("weeks"),
            pace: fields.optional("pace"),
            cells: fields.optional("cells"),
            light: fields.optional("light"),
            depth: fields.optional("depth"),
            seed: fields.optional("seed"),
            seeds_per_gram: fields.optional("seeds_per_gram").map(|PerGram(seeds)| seeds),
            feeder: fields.optional("feeder"),
            temperature: fields.optional("temperature"),
            frost: fields.optional("frost"),
            germinates_at: fields.optional("germinates_at"),
            emerges: fields.optional("emerges"),
            steady: fields.optional("steady").unwrap_or(false),
            before: fields.optional("before"),
            before_days: fields.optional("before_days"),
            note: fields.optional("note"),
            origin,
            tags: tags.of_entry(&mut fields, base.map(|base| &base.tags)),
            stated: (origin == Origin::Own).then(|| fields.stated()),
        };
        let family_at = fields.place("family");
        fields.finish()?;
        if found.is_none() {
            problems.push(crop.without_status(family_at));
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

    /// Days to emergence in a house. Those counted at a steady temperature run to half as
    /// long again there (common practice).
    pub fn emerges_in_a_house(&self) -> Option<(u32, u32)> {
        let longer = |last: u32| if self.steady { last.saturating_add(last.div_ceil(2)) } else { last };
        self.emerges.map(|(first, last)| (first, longer(last)))
    }

    /// The temperature it is grown on at; brassicas are cool crops.
    pub fn grows_at(&self) -> Option<Temperature> {
        let brassica = self.family.as_deref().is_some_and(|family| family.eq_ignore_ascii_case("Brassicaceae"));
        self.temperature.or(brassica.then_some(Temperature::Cool))
    }
}
