//! A choice of crops, by name or by trait, as in `for:` of a change and `serves:`.

use super::crops::Crops;
use super::family::{family_names, knows_family};
use super::{Catalogue, Crop, Feeder, Handle, Light, Pace, SeedSize, Status, Temperature, Tray};
use crate::diagnostic::{Code, Problem, Problems, did_you_mean};
use crate::source::{Fields, FromText, Node, Value, list, text_of};
use crate::units::volume::millilitre;
use crate::units::{Fault, Parsed, Volume, plain, volume};

/// A choice of crops: any clause may match.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CropChoice(pub Vec<Clause>);

/// One crop, or all that share traits.
#[derive(Clone, Debug, PartialEq)]
pub enum Clause {
    /// A crop by name.
    Crop(Handle<Crop>),
    /// Every trait named must match.
    Traits(Box<Traits>),
}

/// Traits, each with the values that match; an empty list matches all.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Traits {
    family: Vec<String>,
    mycorrhiza: Vec<Status>,
    seed: Vec<SeedSize>,
    feeder: Vec<Feeder>,
    pace: Vec<Pace>,
    light: Vec<Light>,
    temperature: Vec<Temperature>,
    cell: Option<CellBound>,
}

/// A bound on the volume of a tray's cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CellBound {
    /// Smaller than this.
    Under(Volume),
    /// Larger than this.
    Over(Volume),
}

impl CropChoice {
    /// Whether a crop in a tray is meant. Without a crop nothing is known of it, so
    /// only the cell can match.
    #[must_use]
    pub fn includes(&self, crop: Option<&Handle<Crop>>, tray: Option<&Tray>) -> bool {
        self.matches(crop, None, tray)
    }

    /// In the words of the file: `seed dust or fine`, `lavender`.
    #[must_use]
    pub fn in_words(&self) -> String {
        let clauses = self.0.iter().map(|clause| match clause {
            Clause::Crop(id) => id.name.clone(),
            Clause::Traits(traits) => traits.in_words(),
        });
        clauses.collect::<Vec<_>>().join(", ")
    }

    /// Whether a mycorrhizal status is among those served, whatever else is asked.
    #[must_use]
    pub fn serves_status(&self, status: Status) -> bool {
        self.0.iter().any(|clause| match clause {
            Clause::Crop(_) => true,
            Clause::Traits(traits) => traits.mycorrhiza.is_empty() || traits.mycorrhiza.contains(&status),
        })
    }

    /// Whether it asks for a mycorrhizal status: then it is for an inoculant.
    #[must_use]
    pub fn is_by_mycorrhiza(&self) -> bool {
        self.0.iter().any(|clause| matches!(clause, Clause::Traits(traits) if !traits.mycorrhiza.is_empty()))
    }

    /// Whether a crop in a tray is served. Without a crop: a host of mycorrhiza of which
    /// nothing else is known.
    #[must_use]
    pub fn serves(&self, crop: Option<&Handle<Crop>>, tray: Option<&Tray>) -> bool {
        self.matches(crop, Some(Status::Host), tray)
    }

    /// `unnamed` is the way of life to take for a crop that is not named.
    fn matches(&self, crop: Option<&Handle<Crop>>, unnamed: Option<Status>, tray: Option<&Tray>) -> bool {
        self.0.iter().any(|clause| match clause {
            Clause::Crop(id) => crop == Some(id),
            Clause::Traits(traits) => traits.include(crop.map(|crop| &**crop), unnamed, tray),
        })
    }

    /// Reads `for:`: a crop, a map of traits, or a list of these.
    pub fn read(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        let entries = list(node);
        if entries.is_empty() {
            let what = "this is for no crop at all";
            return problems.refuse(Problem::new(
                Code::MissingKey,
                node.at,
                what,
                "a crop, or a trait such as `{seed: fine}`",
            ));
        }
        let clauses = entries.iter().map(|entry| match entry.value {
            Value::Map(_) => {
                Traits::read(entry, &catalogue.crops, problems).map(|traits| Clause::Traits(Box::new(traits)))
            }
            _ => catalogue.crop(entry, problems).map(Clause::Crop),
        });
        // All are read, so that each fault is found.
        let clauses: Vec<_> = clauses.collect();
        clauses.into_iter().collect::<Option<_>>().map(Self)
    }

    /// Reads a map of traits only, as in `serves:`.
    pub(super) fn read_traits(node: &Node<'_>, crops: &Crops, problems: &Problems) -> Option<Self> {
        Traits::read(node, crops, problems).map(|traits| Self(vec![Clause::Traits(Box::new(traits))]))
    }
}

impl Traits {
    fn read(node: &Node<'_>, crops: &Crops, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a choice of crops", problems)?;
        let traits = Self {
            family: families(fields.list("family"), crops, problems),
            mycorrhiza: fields.optional("mycorrhiza").unwrap_or_default(),
            seed: fields.optional("seed").unwrap_or_default(),
            feeder: fields.optional("feeder").unwrap_or_default(),
            pace: fields.optional("pace").unwrap_or_default(),
            light: fields.optional("light").unwrap_or_default(),
            temperature: fields.optional("temperature").unwrap_or_default(),
            cell: fields.optional("cell"),
        };
        fields.finish()?;
        if traits == Self::default() {
            return problems.refuse(Problem::new(
                Code::MissingKey,
                node.at,
                "no trait is named",
                "a trait such as `seed: fine`",
            ));
        }
        Some(traits)
    }

    fn in_words(&self) -> String {
        fn among<T: ToString>(key: &str, values: &[T]) -> Option<String> {
            let values: Vec<String> = values.iter().map(ToString::to_string).collect();
            (!values.is_empty()).then(|| format!("{key} {}", values.join(" or ")))
        }
        let cell = self.cell.map(|bound| {
            let (word, volume) = match bound {
                CellBound::Under(volume) => ("under", volume),
                CellBound::Over(volume) => ("over", volume),
            };
            format!("cell {word} {} mL", plain(volume.get::<millilitre>(), 2))
        });
        let traits = [
            among("family", &self.family),
            among("mycorrhiza", &self.mycorrhiza),
            among("seed", &self.seed),
            among("feeder", &self.feeder),
            among("pace", &self.pace),
            among("light", &self.light),
            among("temperature", &self.temperature),
            cell,
        ];
        traits.into_iter().flatten().collect::<Vec<_>>().join(" and ")
    }

    /// `unnamed` is the way of life to take for a crop that is not named.
    fn include(&self, crop: Option<&Crop>, unnamed: Option<Status>, tray: Option<&Tray>) -> bool {
        fn among<T: PartialEq>(wanted: &[T], has: Option<T>) -> bool {
            wanted.is_empty() || has.is_some_and(|has| wanted.contains(&has))
        }
        let cell = match (self.cell, tray) {
            (None, _) => true,
            (Some(_), None) => false,
            (Some(CellBound::Under(bound)), Some(tray)) => tray.cell < bound,
            (Some(CellBound::Over(bound)), Some(tray)) => tray.cell > bound,
        };
        let family = self.family.is_empty()
            || crop
                .and_then(|crop| crop.family.as_deref())
                .is_some_and(|family| self.family.iter().any(|wanted| wanted.eq_ignore_ascii_case(family)));
        cell && family
            && among(&self.mycorrhiza, crop.map(|crop| crop.mycorrhiza).or(unnamed))
            && among(&self.seed, crop.and_then(|crop| crop.seed))
            && among(&self.feeder, crop.and_then(|crop| crop.feeder))
            && among(&self.pace, crop.and_then(|crop| crop.pace))
            && among(&self.light, crop.and_then(|crop| crop.light))
            && among(&self.temperature, crop.and_then(|crop| crop.temperature))
    }
}

/// Families that there are rules for, or that a crop of the user's own has.
fn families(entries: &[Node<'_>], crops: &Crops, problems: &Problems) -> Vec<String> {
    let mut known = Vec::new();
    for entry in entries {
        let Some(family) = text_of(entry, "a botanical family", problems).map(str::trim) else { continue };
        let is_family = |crop: &Crop| crop.family.as_deref().is_some_and(|own| own.eq_ignore_ascii_case(family));
        if knows_family(family) || crops.added.iter().any(is_family) {
            known.push(family.to_owned());
            continue;
        }
        let what = format!("no family is called `{family}`");
        let help = did_you_mean(family, family_names());
        problems
            .push(Problem::new(Code::UnknownCrop, entry.at, what, "a family such as `Brassicaceae`").with_help(help));
    }
    known
}

impl FromText for CellBound {
    const EXPECTED: &'static str = "`under` or `over` a volume, such as `under 15 mL`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        let (bound, volume): (fn(Volume) -> Self, _) = match text.trim().split_once(' ') {
            Some(("under", rest)) => (Self::Under, volume(rest)?),
            Some(("over", rest)) => (Self::Over, volume(rest)?),
            _ => return Err(Fault::Shape(text.trim().to_owned())),
        };
        Ok(Parsed { value: bound(volume.value), assumption: volume.assumption })
    }
}
