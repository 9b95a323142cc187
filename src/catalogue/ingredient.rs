//! Ingredients: bulk parts and doses, whom they serve, what to take care of.

use super::crops::Crops;
use super::entries::Named;
use super::family::Status;
use super::source::SourceTags;
use super::tray::words;
use super::{Origin, Whom, with_built_in};
use crate::diagnostic::{Code, Problem, Problems, Span};
use crate::source::{Fields, Node, entries, list, word};
use crate::units::{MassDensity, density, density_range};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// When an ingredient goes into the tub: the order within a load.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stage {
    /// What holds the water, wetted beforehand: peat, coir.
    Wetted,
    /// Strewn over the wetted: lime, fertiliser.
    Strewn,
    /// Moist, heavy or crumbly: castings, compost, loam, bark, sand.
    Body,
    /// Damped to lay the dust: perlite and its like.
    Damped,
    /// Last and turned gently: vermiculite, which loses air when crushed.
    Gently,
    /// After everything: the inoculant.
    AtTheEnd,
}

impl Stage {
    /// The words for it in files.
    pub const WORDS: [(&'static str, Self); 6] = [
        ("wetted", Self::Wetted),
        ("strewn", Self::Strewn),
        ("body", Self::Body),
        ("damped", Self::Damped),
        ("gently", Self::Gently),
        ("at the end", Self::AtTheEnd),
    ];
}

/// How an ingredient is measured, as a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UsedAs {
    /// As parts by volume.
    Bulk,
    /// A little per volume of mix.
    Dose,
}

impl UsedAs {
    /// The words for it in files.
    pub const WORDS: [(&'static str, Self); 2] = [("bulk", Self::Bulk), ("dose", Self::Dose)];
}

/// An ingredient and what is known of it.
#[derive(Clone, Debug)]
pub struct Ingredient {
    /// Its name.
    pub name: String,
    /// Other names.
    pub also: Vec<String>,
    /// How it is measured; `None` where nothing is said.
    pub kind: Option<UsedAs>,
    /// Dry bulk density, loose.
    pub dry_density: Option<MassDensity>,
    /// The user weighed that density.
    pub own_density: bool,
    /// Bulk density as bought or as it goes into the tub, water included: low and high.
    pub moist_density: Option<(MassDensity, MassDensity)>,
    /// Its place in the order of mixing; `None` where nothing is said.
    pub stage: Option<Stage>,
    /// Its grains are coarse: fine ones slip between them.
    pub coarse: bool,
    /// It usually carries a starter charge of fertiliser and lime.
    pub starter_charge: bool,
    /// Whom it serves; everybody where nothing is said.
    pub serves: Option<Whom>,
    /// What takes its share where it is left out as a part.
    pub instead: Option<String>,
    /// Where that stands in its file.
    pub(crate) instead_at: Span,
    /// Plants of these ways of life go without it.
    pub not_for: Vec<Status>,
    /// It brings salts and nutrients (castings, compost).
    pub rich: bool,
    /// It brings phosphorus that dissolves at once, which works against mycorrhiza.
    pub soluble_phosphorus: bool,
    /// Keys of the cautions it calls for.
    pub cautions: Vec<String>,
    /// Other properties as shown by `trayful show`, in order.
    pub properties: Vec<(&'static str, String)>,
    /// A remark.
    pub note: Option<String>,
    /// Built in, or the user's own.
    pub origin: Origin,
    tags: SourceTags,
}

impl Named for Ingredient {
    fn name(&self) -> &str {
        &self.name
    }
    fn also(&self) -> &[String] {
        &self.also
    }
}

/// Properties that are shown, not computed with, so far.
const SHOWN: [&str; 7] = ["kind", "dry_density_range", "moist_density", "porosity", "water_held", "ph", "ec"];

impl Ingredient {
    /// Reads an entry of `ingredients:`; what it does not state stays as in the entry of
    /// that name before it, the base.
    pub(super) fn read(
        name: &str,
        node: &Node<'_>,
        origin: Origin,
        defaults: &SourceTags,
        crops: &Crops,
        base: Option<&Self>,
        problems: &Problems,
    ) -> Option<Self> {
        let mut fields = Fields::new(node, "an ingredient", problems)?;
        let before = problems.len();
        let of_base =
            |key: &'static str| base.and_then(|base| base.properties.iter().find(|(known, _)| *known == key).cloned());
        let properties = SHOWN
            .into_iter()
            .filter_map(|key| fields.text(key).map(|text| (key, text.to_owned())).or_else(|| of_base(key)))
            .collect();
        let not_for = fields.get("not_for").map(list);
        let not_for = not_for
            .map(|words| words.iter().filter_map(|entry| word(entry, &Status::WORDS, problems)).collect())
            .or_else(|| base.map(|base| base.not_for.clone()));
        let dry_density = fields.quantity("dry_density", "a density such as `200 g/L`", density);
        let moist_density =
            fields.quantity("moist_density", "a range of densities such as `130-180 g/L`", density_range);
        let stated_moist = moist_density.is_some();
        let grain = fields.choice("grain", &[("coarse", true), ("fine", false)]);
        let salts = fields.choice("salts", &[("rich", true), ("low", false)]);
        let phosphorus = fields.choice("phosphorus", &[("soluble", true), ("slow", false)]);
        let mut ingredient = Self {
            name: name.to_owned(),
            also: fields.get("also").map(|node| words(node, problems)).unwrap_or_default(),
            kind: fields.choice("kind", &UsedAs::WORDS).or(base.and_then(|base| base.kind)),
            own_density: (origin == Origin::Own && dry_density.is_some()) || base.is_some_and(|base| base.own_density),
            dry_density: dry_density.or(base.and_then(|base| base.dry_density)),
            moist_density: moist_density.or(base.and_then(|base| base.moist_density)),
            stage: fields.choice("goes_in", &Stage::WORDS).or(base.and_then(|base| base.stage)),
            coarse: grain.or(base.map(|base| base.coarse)).unwrap_or(false),
            starter_charge: fields.yes_no("starter_charge").or(base.map(|base| base.starter_charge)).unwrap_or(false),
            serves: match fields.get("serves") {
                Some(node) => Whom::read_traits(node, crops, problems),
                None => base.and_then(|base| base.serves.clone()),
            },
            instead_at: fields.get("instead").map(|node| node.at).unwrap_or_default(),
            instead: fields.text("instead").map(str::to_owned).or_else(|| base.and_then(|base| base.instead.clone())),
            not_for: not_for.unwrap_or_default(),
            rich: salts.or(base.map(|base| base.rich)).unwrap_or(false),
            soluble_phosphorus: phosphorus.or(base.map(|base| base.soluble_phosphorus)).unwrap_or(false),
            cautions: fields
                .get("cautions")
                .map(|node| words(node, problems))
                .or_else(|| base.map(|base| base.cautions.clone()))
                .unwrap_or_default(),
            properties,
            note: fields.text("note").map(str::to_owned).or_else(|| base.and_then(|base| base.note.clone())),
            origin,
            tags: defaults.with(fields.get("from"), problems).over(base.map(|base| &base.tags), node),
        };
        if let (Some(dry), Some((moist, _))) = (ingredient.dry_density, ingredient.moist_density)
            && moist < dry
        {
            if stated_moist || base.is_none() {
                let at = fields.get("moist_density").map_or(fields.at(), |node| node.at);
                let what = format!("`{name}` would be lighter moist than dry");
                problems.push(Problem::new(Code::Quantity, at, what, "a moist density of the dry one or more"));
            } else {
                // The table's was not of this material.
                ingredient.moist_density = None;
            }
        }
        fields.finish();
        (problems.len() == before).then_some(ingredient)
    }

    /// Whether it comes to the tub wet, as coir does from its soak: at least twice its dry
    /// weight in water.
    #[must_use]
    pub fn comes_wet(&self) -> bool {
        self.dry_density.zip(self.moist_density).is_some_and(|(dry, (low, _))| low >= dry * 3.0)
    }

    /// Its place in the order of mixing, as a part or as a dose: what serves only some
    /// crops at the end; where nothing is said, parts with the castings, doses with the lime.
    #[must_use]
    pub fn stage(&self, dose: bool) -> Stage {
        let usual = match (self.serves.is_some(), dose) {
            (true, _) => Stage::AtTheEnd,
            (false, true) => Stage::Strewn,
            (false, false) => Stage::Body,
        };
        self.stage.unwrap_or(usual)
    }

    /// The key of the source behind a value.
    #[must_use]
    pub fn source_of(&self, value: &str) -> Option<&str> {
        self.tags.of(value)
    }
}

/// A caution and its source.
#[derive(Clone, Debug)]
pub struct Caution {
    /// A sentence or two for the sheet.
    pub text: String,
    /// Key of the source.
    pub from: Option<String>,
    /// It stands on every sheet.
    pub always: bool,
}

const CAUTIONS_TEXT: &str = include_str!("../../recipes/catalogue/cautions.yaml");

static CAUTIONS: LazyLock<BTreeMap<String, Caution>> = LazyLock::new(|| {
    with_built_in("cautions.yaml", CAUTIONS_TEXT, |fields, problems| {
        let mut found = BTreeMap::new();
        let listed = fields.get("cautions").and_then(|node| entries(node, "the cautions", problems));
        for (key, _, node) in listed.unwrap_or_default() {
            if let Some(caution) = read_caution(node, problems) {
                found.insert(key.to_owned(), caution);
            }
        }
        found
    })
    .unwrap_or_default()
});

fn read_caution(node: &Node<'_>, problems: &Problems) -> Option<Caution> {
    let mut fields = Fields::new(node, "a caution", problems)?;
    let text = fields.text("text")?.to_owned();
    let from = fields.text("from").map(str::to_owned);
    let always = fields.yes_no("always").unwrap_or(false);
    fields.finish();
    Some(Caution { text, from, always })
}

/// Every caution by its key.
#[must_use]
pub fn cautions() -> &'static BTreeMap<String, Caution> {
    &CAUTIONS
}
