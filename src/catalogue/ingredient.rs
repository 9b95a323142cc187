//! Ingredients: bulk parts and doses, which crops they serve, what to take care of.

use super::entries::Entries;
use super::family::Status;
use super::physical::Physical;
use super::shipped::{Shipped, Table, as_cut, file_tags};
use super::source::{Reading, SourceTags};
use super::{Crop, CropChoice, Handle, Origin};
use crate::diagnostic::{Code, Problems, Span};
use crate::source::{Fields, Node, PositiveShare, Prose, Stated, figures, words};
use crate::units::mass_density::gram_per_litre;
use crate::units::{MassDensity, one_of};
use std::collections::BTreeMap;
use std::sync::LazyLock;

const INGREDIENTS: &str = include_str!("../../recipes/catalogue/ingredients.yaml");

words! {
    /// When an ingredient goes into the tub: the order within a load.
    Stage {
        /// What holds the water, wetted beforehand: peat, coir.
        Wetted = "wetted",
        /// Strewn over the wetted: lime, fertiliser.
        Strewn = "strewn",
        /// Moist, heavy or crumbly: castings, compost, loam, bark, sand.
        Body = "body",
        /// Damped to lay the dust: perlite and its like.
        Damped = "damped",
        /// Last and turned gently: vermiculite, which loses air when crushed.
        Gently = "gently",
        /// After everything: the inoculant.
        AtTheEnd = "at the end",
    }

    /// How an ingredient is measured, as a rule.
    UsedAs {
        /// As parts by volume.
        Bulk = "bulk",
        /// A little per volume of mix.
        Dose = "dose",
    }

    /// What the program treats in a way of its own.
    Role {
        /// Soaked and rinsed before it is mixed.
        Coir = "coir",
        /// Stands in for coir, and needs no soak any more.
        SoakedCoir = "soaked coir",
        /// Wetted ahead; raw or limed by its maker.
        Peat = "peat",
        /// Ground limestone or dolomite, which acts in a moist mix.
        Lime = "lime",
        /// Of use to the crops it serves only.
        Inoculant = "inoculant",
        /// Strewn over the sown seed.
        Covering = "covering",
    }

    /// Whether seedlings find food in it.
    Feeds {
        /// For weeks, with nitrogen: castings, compost, fertiliser.
        Yes = "yes",
        /// For a while: the charge that the maker of a bagged mix adds.
        Starter = "starter",
        /// Not to speak of.
        No = "no",
    }
}

figures! {
    /// Whether it brings as many salts and nutrients as castings or compost.
    Rich(bool): "one of rich, low", text => one_of(text, &[("rich", true), ("low", false)]);
    /// Whether fine grains slip between its own.
    Coarse(bool): "one of coarse, fine", text => one_of(text, &[("coarse", true), ("fine", false)]);
    /// Whether the phosphorus that it brings dissolves at once.
    Soluble(bool): "one of soluble, slow", text => one_of(text, &[("soluble", true), ("slow", false)]);
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
    /// Dry bulk density, loose, as it usually is.
    pub dry_density: Option<MassDensity>,
    /// What else is measured of it.
    pub physical: Physical,
    /// The user weighed that density.
    pub own_density: bool,
    /// Bulk density as bought or as it goes into the tub, water included: low and high.
    pub moist_density: Option<(MassDensity, MassDensity)>,
    /// Its place in the order of mixing; `None` where nothing is said.
    pub stage: Option<Stage>,
    /// Its grains are coarse: fine ones slip between them.
    pub coarse: bool,
    /// What the program treats it as.
    pub role: Option<Role>,
    /// Whether seedlings find food in it.
    pub feeds: Feeds,
    /// The share of its weight that is nitrogen, where that is known.
    pub nitrogen: Option<f64>,
    /// As a dose it is a fertiliser, as far as is known: its salts count.
    pub may_fertilise: bool,
    /// A dose by mass per volume of finished mix above which a warning is due. All doses of
    /// lime count together.
    pub most: Option<MassDensity>,
    /// Which crops it serves; all where nothing is said.
    pub serves: Option<CropChoice>,
    /// What takes its share where it is left out as a part.
    pub instead: Option<String>,
    /// Where that stands in its file.
    pub(crate) instead_at: Span,
    /// Plants of these ways of life go without it.
    pub not_for: Vec<Status>,
    /// It brings salts and nutrients (castings, compost).
    pub rich: bool,
    /// It brings what harms seedlings, as soil and fresh bark do, and stands in for nothing.
    pub raw: bool,
    /// It keeps a pH of its own against that of peat, as soil does.
    pub keeps_ph: bool,
    /// It brings phosphorus that dissolves at once, which works against mycorrhiza.
    pub soluble_phosphorus: bool,
    /// Keys of the cautions it calls for.
    pub cautions: Vec<String>,
    /// Other properties as shown by `trayful show`, in order.
    pub properties: Vec<(&'static str, String)>,
    /// A remark.
    pub note: Option<String>,
    /// The sources behind its values.
    pub tags: SourceTags,
    /// What an own entry states, for a later one of its name; the tables have it in their text.
    stated: Option<Stated>,
}

/// Lime for peat is published at 3 to 7 kg a cubic metre (UC Davis 2007; Maher et al. 2008).
const MOST_LIME_G_PER_L: f64 = 8.0;
/// From memory; the strongest published loam mix has about 9 g of base a litre.
const MOST_FERTILISER_G_PER_L: f64 = 10.0;

/// Properties that are shown as they are written.
const SHOWN: [&str; 10] = [
    "kind",
    "dry_density_range",
    "moist_density",
    "porosity",
    "porosity_range",
    "water_held",
    "water_held_range",
    "ph",
    "ec",
    "nitrogen",
];

fn tags() -> &'static BTreeMap<String, String> {
    static TAGS: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| file_tags(INGREDIENTS, "ingredients"));
    &TAGS
}

impl Shipped for Ingredient {
    const IN_PLACE: bool = true;

    fn table() -> &'static LazyLock<Table<Handle<Self>>> {
        static TABLE: LazyLock<Table<Handle<Ingredient>>> = LazyLock::new(|| {
            Table::new("ingredients", INGREDIENTS, as_cut!("ingredients"), |(place, name), node, problems| {
                let reading = Reading::shipped(Some(tags), problems);
                // What is shipped serves families that ship as well.
                Ingredient::read(name, node, None, &Entries::default(), &reading).map(|entry| Handle::new(place, entry))
            })
        });
        &TABLE
    }
}

impl Ingredient {
    /// Reads an entry of `ingredients:`, laid over the entry of that name before it, the base.
    pub(super) fn read(
        name: &str,
        node: &Node<'_>,
        base: Option<&Self>,
        crops: &Entries<Crop>,
        reading: &Reading<'_>,
    ) -> Option<Self> {
        let Reading { origin, problems, .. } = *reading;
        let under = base.map(Self::as_stated).unwrap_or_default();
        let mut fields = Fields::new(node, "an ingredient", problems)?;
        let except: Vec<&str> = ["also", "from"].into_iter().chain(Physical::displaced(&fields)).collect();
        let own_density = origin == Origin::Own && states_weight(&fields);
        fields.lay_over(&under, &except);
        let physical = Physical::read(&mut fields, name, problems);
        let properties = SHOWN.into_iter().filter_map(|key| fields.optional(key).map(|text| (key, text))).collect();
        let kind = fields.optional("kind");
        let rich = fields.optional("salts").is_some_and(|Rich(rich)| rich);
        let cautions: Vec<String> = fields.optional("cautions").unwrap_or_default();
        let fertiliser = cautions.iter().any(|key| key == "fertiliser");
        let said = fields.optional("feeds");
        let feeds = said.unwrap_or(if rich || fertiliser { Feeds::Yes } else { Feeds::No });
        // A dose of which nothing is known may be a fertiliser.
        let may_fertilise =
            fertiliser || feeds == Feeds::Yes || (origin == Origin::Own && base.is_none() && said.is_none());
        let serves = fields.get("serves").and_then(|node| CropChoice::read_traits(node, crops, problems));
        let by_mycorrhiza = serves.as_ref().is_some_and(CropChoice::is_by_mycorrhiza);
        let role = fields.optional("role").or(by_mycorrhiza.then_some(Role::Inoculant));
        let ingredient = Self {
            name: name.to_owned(),
            also: fields.optional("also").unwrap_or_default(),
            kind,
            own_density: own_density || base.is_some_and(|base| base.own_density),
            dry_density: physical.dry_g_per_l.map(|[_, usual, _]| MassDensity::new::<gram_per_litre>(usual)),
            physical,
            moist_density: fields.optional("moist_density"),
            stage: fields.optional("goes_in"),
            coarse: fields.optional("grain").is_some_and(|Coarse(coarse)| coarse),
            role,
            feeds,
            nitrogen: fields.optional("nitrogen").map(|PositiveShare(share)| share.to_f64()),
            may_fertilise,
            most: fields.optional("most").or(usual_most(role, kind, may_fertilise)),
            serves,
            instead_at: fields.get("instead").map(|node| node.at).unwrap_or_default(),
            instead: fields.optional("instead"),
            not_for: fields.optional("not_for").unwrap_or_default(),
            rich,
            raw: fields.optional("raw").unwrap_or_default(),
            keeps_ph: fields.optional("keeps_ph").unwrap_or_default(),
            soluble_phosphorus: fields.optional("phosphorus").is_some_and(|Soluble(soluble)| soluble),
            cautions,
            properties,
            note: fields.prose("note"),
            tags: reading.tags(&mut fields, base.map(|base| &base.tags)),
            stated: (origin == Origin::Own).then(|| fields.stated()),
        };
        let moist_at = (base.is_none() || fields.states("moist_density")).then(|| fields.place("moist_density"));
        fields.finish()?;
        ingredient.check_moist(moist_at, problems)
    }

    /// What its entry states, for a later one that is laid over it.
    fn as_stated(&self) -> Stated {
        self.stated.clone().unwrap_or_else(|| Self::table().stated(&self.name))
    }

    /// Material that is lighter moist than dry is a fault where its moist density is stated;
    /// else the table's was not of this material, and nothing is known of it.
    fn check_moist(mut self, stated_at: Option<Span>, problems: &Problems) -> Option<Self> {
        if self.dry_density.zip(self.moist_density).is_some_and(|(dry, (moist, _))| moist < dry) {
            if let Some(at) = stated_at {
                let what = format!("`{}` would be lighter moist than dry", self.name);
                return problems.deny(Code::Quantity, at, what, "a moist density of the dry one or more");
            }
            self.moist_density = None;
        }
        Some(self)
    }

    /// Whether the program treats it as that.
    pub fn is(&self, role: Role) -> bool {
        self.role == Some(role)
    }

    /// Whether it is peat that its maker has not limed: limed, it is not for plants of acid soil.
    pub fn is_raw_peat(&self) -> bool {
        self.is(Role::Peat) && !self.not_for.contains(&Status::Ericoid)
    }

    /// Whether it is peat that its maker has limed.
    pub fn is_limed_peat(&self) -> bool {
        self.is(Role::Peat) && !self.is_raw_peat()
    }

    /// Whether it is coir, soaked already or not.
    pub fn is_any_coir(&self) -> bool {
        self.is(Role::Coir) || self.is(Role::SoakedCoir)
    }

    /// Whether it stands in the place of raw peat and is not acid: coir, limed peat.
    pub fn is_mild_base(&self) -> bool {
        self.is_any_coir() || self.is_limed_peat()
    }

    /// Whether it is so acid that it wants lime for seed: raw peat, bark, wood fibre (a judgement).
    pub fn is_acid(&self) -> bool {
        self.physical.ph.is_some_and(|(least, _)| least <= 4.5)
    }

    /// Whether it comes to the tub wet, as coir does: at least twice its dry weight in water.
    pub fn comes_wet(&self) -> bool {
        self.is(Role::Coir) || self.dry_density.zip(self.moist_density).is_some_and(|(dry, (low, _))| low >= dry * 3.0)
    }

    /// Its place in the order of mixing, as a part or as a dose: what serves only some
    /// crops at the end; where nothing is said, parts with the castings, doses with the lime.
    pub fn stage(&self, dose: bool) -> Stage {
        let usual = match (self.serves.is_some(), dose) {
            (true, _) => Stage::AtTheEnd,
            (false, true) => Stage::Strewn,
            (false, false) => Stage::Body,
        };
        self.stage.unwrap_or(usual)
    }
}

/// Whether an entry says what it weighs dry.
fn states_weight(fields: &Fields<'_>) -> bool {
    ["dry_density", "dry_density_range"].iter().any(|key| fields.states(key))
}

/// The dose above which a warning is due where nothing is said of it.
fn usual_most(role: Option<Role>, kind: Option<UsedAs>, may_fertilise: bool) -> Option<MassDensity> {
    let most = match (role, kind) {
        (Some(Role::Lime), _) => Some(MOST_LIME_G_PER_L),
        (Some(_), _) | (_, Some(UsedAs::Bulk)) => None,
        _ => may_fertilise.then_some(MOST_FERTILISER_G_PER_L),
    };
    most.map(MassDensity::new::<gram_per_litre>)
}

/// A caution and its source.
#[derive(Clone, Debug)]
pub struct Caution {
    /// Its key, which scripts know it by.
    pub key: String,
    /// A sentence or two for the sheet.
    pub text: String,
    /// Key of the source.
    pub from: Option<String>,
}

const CAUTIONS_TEXT: &str = include_str!("../../recipes/catalogue/cautions.yaml");

static CAUTIONS: LazyLock<Table<Caution>> = LazyLock::new(|| {
    Table::new("cautions", CAUTIONS_TEXT, as_cut!("cautions"), |(_, key), node, problems| {
        Caution::read(key, node, problems)
    })
});

impl Caution {
    fn read(key: &str, node: &Node<'_>, problems: &Problems) -> Option<Self> {
        Fields::read(node, "a caution", problems, |fields| {
            // Which stand on every sheet is asked for before they are read.
            fields.optional::<bool>("always");
            let Prose(text) = fields.required("text")?;
            Some(Self { key: key.to_owned(), from: fields.optional("from"), text })
        })
    }
}

/// The caution of a key.
pub fn caution(key: &str) -> Option<&'static Caution> {
    CAUTIONS.exact(key)
}

/// The keys of the cautions that stand on every sheet.
pub fn cautions_for_all() -> impl Iterator<Item = &'static str> {
    (0..CAUTIONS.len()).filter(|place| CAUTIONS.says(*place, "always: yes")).map(|place| CAUTIONS.name(place))
}

/// The keys of all cautions.
#[cfg(test)]
pub(crate) fn caution_keys() -> impl Iterator<Item = &'static str> {
    CAUTIONS.names()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::diagnostic::SourceText;
    use crate::source::parse;
    use std::sync::Arc;

    #[test]
    fn the_cut_entries_are_those_that_yaml_reads() {
        Ingredient::table().assert_as_whole();
        CAUTIONS.assert_as_whole();
    }

    /// The shipped ingredients with a week's own over them.
    fn with_own(ingredients: &str) -> Catalogue {
        let text = format!("ingredients:\n{ingredients}");
        let problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: text.clone() }));
        let node = parse(&text, &problems).unwrap();
        let mut catalogue = Catalogue::built_in();
        let mut fields = Fields::new(&node, "a week", &problems).unwrap();
        catalogue.add(&mut fields, &problems);
        fields.finish();
        problems.settle(Some(catalogue)).unwrap().0
    }

    fn facts(catalogue: &Catalogue, name: &str) -> (Option<Role>, Feeds, Option<f64>) {
        let found = catalogue.ingredients.find(name).unwrap();
        (found.role, found.feeds, found.most.map(|most| most.get::<gram_per_litre>()))
    }

    #[test]
    fn what_feeds_and_what_is_too_much() {
        let table = Catalogue::built_in();
        for (name, expected) in [
            ("castings", (None, Feeds::Yes, None)),
            ("ready-made mix", (None, Feeds::Starter, None)),
            ("limed peat", (Some(Role::Peat), Feeds::No, None)),
            ("chalk", (Some(Role::Lime), Feeds::No, Some(8.0))),
            ("inoculant", (Some(Role::Inoculant), Feeds::No, None)),
            ("bone meal", (None, Feeds::Yes, Some(20.0))),
            ("blood meal", (None, Feeds::Yes, Some(10.0))),
            ("trace elements", (None, Feeds::No, Some(1.0))),
            ("gypsum", (None, Feeds::No, Some(5.0))),
        ] {
            assert_eq!(facts(&table, name), expected, "{name}");
        }
    }

    #[test]
    fn own_entries_state_facts_of_their_own() {
        let catalogue = with_own(
            "  feather meal: {kind: dose, feeds: yes}\n  horn: {kind: dose, cautions: [fertiliser]}\n  \
             strong: {kind: dose, feeds: yes, most: 3 g/L}\n  grit: {feeds: starter}\n  \
             own lime: {kind: dose, role: lime}\n  bulk inoculum: {serves: {mycorrhiza: host}}\n  \
             castings: {feeds: no}\n  chalk: {most: 5 g/L}\n",
        );
        for (name, expected) in [
            ("feather meal", (None, Feeds::Yes, Some(10.0))),
            ("horn", (None, Feeds::Yes, Some(10.0))),
            ("strong", (None, Feeds::Yes, Some(3.0))),
            ("grit", (None, Feeds::Starter, None)),
            ("own lime", (Some(Role::Lime), Feeds::No, Some(8.0))),
            ("bulk inoculum", (Some(Role::Inoculant), Feeds::No, None)),
            ("castings", (None, Feeds::No, None)),
            ("chalk", (Some(Role::Lime), Feeds::No, Some(5.0))),
        ] {
            assert_eq!(facts(&catalogue, name), expected, "{name}");
        }
    }

    #[test]
    fn what_an_own_entry_does_not_state_stays() {
        let catalogue = with_own(
            "  coir: {dry_density: 500 g/L}\n  peat: {dry_density: 500 g/L}\n  perlite: {note: mine, from: {ph: a book}}\n",
        );
        let coir = catalogue.ingredients.find("coir").unwrap();
        assert!(coir.own_density && coir.also.is_empty());
        assert_eq!((coir.kind, coir.stage), (Some(UsedAs::Bulk), Some(Stage::Wetted)));
        // The table's peat is lighter moist than this one is dry, and its pores are too wide.
        let peat = catalogue.ingredients.find("peat").unwrap();
        assert_eq!((peat.moist_density, peat.physical.porosity), (None, None));
        assert_eq!(peat.physical.dry_g_per_l, Some([500.0; 3]));
        let perlite = catalogue.ingredients.find("perlite").unwrap();
        assert!(perlite.coarse && !perlite.own_density);
        assert_eq!(perlite.note.as_deref(), Some("mine"));
        assert_eq!(
            (perlite.tags.of("ph"), perlite.tags.of("dry_density_range")),
            (Some("a book"), Some("media-tables"))
        );
    }

    #[test]
    fn a_figure_displaces_its_range_and_a_range_its_figure() {
        let physical = |own: &str, name: &str| with_own(own).ingredients.find(name).unwrap().physical.clone();
        let table = physical("  x: {}\n", "coir");
        let figure = physical("  coir: {porosity: 88 %}\n", "coir");
        assert_eq!(figure, Physical { porosity: Some([0.88; 3]), ..table.clone() });
        let range = physical("  coir: {water_held_range: 0.5-0.75, dry_density_range: 60-80 g/L}\n", "coir");
        assert_eq!((range.water_held, range.dry_g_per_l), (Some([0.5, 0.625, 0.75]), Some([60.0, 70.0, 80.0])));
        assert_eq!((range.porosity, range.ph), (table.porosity, Some((5.6, 6.9))));
        // Of two that contradict each other what the table says is of another material.
        assert_eq!(physical("  coir: {porosity: 0.7}\n", "coir").water_held, None);
        let wet = physical("  perlite: {water_held: 0.79}\n", "perlite");
        assert_eq!((wet.porosity, wet.water_held), (None, Some([0.79; 3])));
        let both = physical("  y: {porosity: 1/2, porosity_range: 40-60 %, ec: 0-0.5 mS/cm, ph: 7}\n", "y");
        assert_eq!(
            (both.porosity, both.ec_ms_cm, both.ph),
            (Some([0.4, 0.5, 0.6]), Some((0.0, 0.5)), Some((7.0, 7.0)))
        );
    }
}
