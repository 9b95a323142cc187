//! Crops: what they are, how fast they grow, how large their seed is.

use super::entries::Named;
use super::family::{family_names, knows_family, status_of};
use super::source::SourceTags;
use super::tray::words;
use super::{Origin, Status, StatusFrom};
use crate::diagnostic::{Code, Problem, Problems, did_you_mean};
use crate::exact::Fraction;
use crate::source::{Fields, Node};
use crate::units::{Fault, per_gram, share, span_of_whole_numbers};
use std::fmt;

/// A trait with a few values, each with its word.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$each:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[$each])* $variant),+ }

        impl $name {
            /// The words for it in files.
            pub const WORDS: &'static [(&'static str, Self)] = &[$(($word, Self::$variant)),+];
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(match self { $(Self::$variant => $word),+ })
            }
        }
    };
}

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
}

words! {
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
}

words! {
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
}

words! {
    /// Appetite in the field. It changes no built-in mix.
    Feeder {
        /// Modest.
        Light = "light",
        /// Middling.
        Medium = "medium",
        /// Hungry.
        Heavy = "heavy",
    }
}

words! {
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
    tags: SourceTags,
}

impl Named for Crop {
    fn name(&self) -> &str {
        &self.name
    }
    fn also(&self) -> &[String] {
        &self.also
    }
}

impl Crop {
    /// Reads an entry of `crops:`; what it does not state stays as in the entry of that
    /// name before it, the base, if it is the same plant.
    pub(super) fn read(
        name: &str,
        node: &Node<'_>,
        origin: Origin,
        defaults: &SourceTags,
        base: Option<&Self>,
        problems: &Problems,
    ) -> Option<Self> {
        let mut fields = Fields::new(node, "a crop", problems)?;
        let before = problems.len();
        let at = fields.at();
        let species = fields.text("species").map(str::to_owned);
        let family_at = fields.get("family").map_or(at, |node| node.at);
        let family = fields.text("family").map(str::to_owned);
        let other = |stated: Option<&String>, known: Option<&String>| {
            stated.zip(known).is_some_and(|(stated, known)| !stated.eq_ignore_ascii_case(known))
        };
        let base = base.filter(|base| {
            !other(species.as_ref(), base.species.as_ref()) && !other(family.as_ref(), base.family.as_ref())
        });
        let stated = fields.choice("mycorrhiza", &Status::WORDS);
        let mut span = |key, what| fields.quantity(key, what, span_of_whole_numbers);
        let weeks = span("weeks", "weeks such as `4-6`");
        let cells = span("cells", "cells such as `72-128`");
        let emerges = span("emerges", "days such as `4-7`");
        let positive_share = |text: &str| match share(text) {
            Ok(share) if share.is_zero() => Err(Fault::Zero(text.trim().to_owned())),
            read => read,
        };
        let legal_minimum = fields.quantity("legal_minimum", "a share such as `75 %`", positive_share);
        let germination = fields.quantity("germination", "a share such as `85 %`", positive_share);
        let mut crop = Self {
            name: name.to_owned(),
            also: fields.get("also").map(|node| words(node, problems)).unwrap_or_default(),
            mycorrhiza: Status::Variable,
            mycorrhiza_from: StatusFrom::Crop,
            confidence: fields
                .text("confidence")
                .map(str::to_owned)
                .or_else(|| base.and_then(|base| base.confidence.clone())),
            legal_minimum: legal_minimum.or(base.and_then(|base| base.legal_minimum)),
            germination: germination.or(base.and_then(|base| base.germination)),
            weeks: weeks.or(base.and_then(|base| base.weeks)),
            pace: fields.choice("pace", Pace::WORDS).or(base.and_then(|base| base.pace)),
            cells: cells.or(base.and_then(|base| base.cells)),
            light: fields.choice("light", Light::WORDS).or(base.and_then(|base| base.light)),
            seed: fields.choice("seed", SeedSize::WORDS).or(base.and_then(|base| base.seed)),
            seeds_per_gram: fields
                .quantity("seeds_per_gram", "seeds in a gram", per_gram)
                .or(base.and_then(|base| base.seeds_per_gram)),
            feeder: fields.choice("feeder", Feeder::WORDS).or(base.and_then(|base| base.feeder)),
            temperature: fields.choice("temperature", Temperature::WORDS).or(base.and_then(|base| base.temperature)),
            germinates_at: fields
                .text("germinates_at")
                .map(str::to_owned)
                .or_else(|| base.and_then(|base| base.germinates_at.clone())),
            emerges: emerges.or(base.and_then(|base| base.emerges)),
            note: fields.text("note").map(str::to_owned).or_else(|| base.and_then(|base| base.note.clone())),
            origin,
            tags: defaults.with(fields.get("from"), problems).over(base.map(|base| &base.tags), node),
            species: species.or_else(|| base.and_then(|base| base.species.clone())),
            family: family.or_else(|| base.and_then(|base| base.family.clone())),
        };
        fields.finish();
        if problems.len() > before {
            return None;
        }
        match stated
            .map(|status| (status, StatusFrom::Crop))
            .or(base.map(|base| (base.mycorrhiza, base.mycorrhiza_from.clone())))
            .or_else(|| status_of(crop.species.as_deref(), crop.family.as_deref()))
        {
            Some((status, from)) => {
                (crop.mycorrhiza, crop.mycorrhiza_from) = (status, from);
                Some(crop)
            }
            None => {
                problems.push(crop.without_status(family_at));
                None
            }
        }
    }

    fn without_status(&self, at: crate::diagnostic::Span) -> Problem {
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
    #[must_use]
    pub fn grows_at(&self) -> Option<Temperature> {
        let brassica = self.family.as_deref().is_some_and(|family| family.eq_ignore_ascii_case("Brassicaceae"));
        self.temperature.or(brassica.then_some(Temperature::Cool))
    }

    /// The key of the source behind a value.
    #[must_use]
    pub fn source_of(&self, value: &str) -> Option<&str> {
        self.tags.of(value)
    }
}
