//! From the keys of a soak to a checked soak.

use super::super::salt_named;
use super::lab::{read_lab, read_tap};
use super::steps::read_steps;
use super::values::{Conductivity, Pieces, Rinses, SoakHours, Soaks, accept};
use super::{CoirAmount, CoirKind, Product, Soak};
use crate::awake::Awake;
use crate::coir::{BufferTarget, Model, Salt, SoldAs, Solutes, Stated, USUAL_SOAK_HOURS, soak_hours};
use crate::diagnostic::{Code, Problems, Rejected};
use crate::moment::Moment;
use crate::source::{Fields, FromNode, FromText, Node, Share, Tub, words};
use crate::units::length::millimetre;
use crate::units::mass::kilogram;
use crate::units::{Fault, Length, Mass, Parsed, leading_mass, to_litres};
use jiff::tz::TimeZone;

const DEFAULT_SALT: &str = "calcium nitrate tetrahydrate";

words! {
    /// Whether half of the coir only is treated, to compare.
    Trial {
        /// Half of it.
        Half = "half",
        /// All of it.
        No = "no",
    }
}

/// Reads a soak outside a week, which must say how much coir it is for; the hours in which somebody is there and the
/// zone hold where it states none. The place that it may name is the reader's to lay under it.
pub fn read(node: &Node<'_>, awake: &Awake, zone: &dyn Fn() -> TimeZone, problems: &Problems) -> Option<Soak> {
    let mut fields = Fields::new(node, "a soak", problems)?;
    let name: Option<String> = fields.required("soak");
    fields.get("place");
    let soak = Soak::read(&mut fields, &name.unwrap_or_default(), awake, zone, problems);
    let (at, trial_at) = (fields.at(), fields.place("trial"));
    fields.finish();
    let soak = soak?;
    if soak.trial {
        let what = "a trial of half the coir belongs in a week, which knows how much coir there is";
        problems.fault(Code::Conflict, trial_at, what, "`trial:` within the `soak:` of a week");
    }
    if soak.amount.is_none() {
        let what = "the soak does not say how much coir";
        let expected = "`coir: {product: 5 kg block, count: 1}`, or `dry:` or `loose:` in it";
        problems.fault(Code::MissingKey, at, what, expected);
    }
    Some(soak)
}

/// The soak with the units assumed in it, or its faults.
///
/// # Errors
/// As [`Problems::settle`].
pub fn settle(problems: Problems, soak: Option<Soak>) -> Result<Soak, Rejected> {
    problems.settle(soak).map(|(soak, assumed)| Soak { units: assumed.into_iter().collect(), ..soak })
}

impl Soak {
    /// Reads the keys of a soak, in a file of its own or in a week; the hours in which somebody is there and the zone
    /// hold where the soak states none.
    pub fn read(
        fields: &mut Fields<'_>,
        name: &str,
        awake: &Awake,
        zone: &dyn Fn() -> TimeZone,
        problems: &Problems,
    ) -> Option<Self> {
        let (product, amount) = fields.get("coir").map_or((None, None), |node| read_amount(node, problems));
        let product_said = product.is_some();
        let model = Model { convention: fields.optional("convention").unwrap_or_default(), ..Model::default() };
        let coir = read_coir(fields, &model, problems);
        let (salt, salt_unsure) = read_salt(fields, problems);
        let tap = fields.get("water").map_or(Some(Solutes::NONE), |node| read_tap(node, problems));
        let stated = Stated {
            wetting: fields.optional("hydrate"),
            soaks: fields.optional("soaks").map(|Soaks(soaks)| soaks),
            rinses: fields.optional("rinses").map(|Rinses(rinses)| rinses),
        };
        let hours = fields.optional("hours").map(|SoakHours(hours)| hours);
        let particles = fields.optional("particles").and_then(|size: Length| {
            let hours = soak_hours(size.get::<millimetre>());
            accept(hours, fields.place("particles"), "particles of coir", problems)
        });
        let own_zone = fields.optional("time_zone");
        let zone = || own_zone.clone().unwrap_or_else(zone);
        let awake = Awake::read(fields, awake, problems);
        let ready = Moment::read(fields, "ready", &|day| awake.usual_hour(day), &zone, problems);
        let tub_l = fields.optional("tub").map(|Tub(tub)| to_litres(tub));
        let target = fields.optional("target");
        let trial = read_trial(fields, coir, problems);
        let course = fields.get("steps").map(|node| read_steps(node, problems));
        if course.is_some() {
            refuse_beside_steps(fields, problems);
        }
        if !fields.is_sound() {
            return None;
        }
        Some(Self {
            name: name.to_owned(),
            product: product.unwrap_or_default(),
            product_said,
            amount,
            coir: coir?,
            salt: salt?,
            salt_unsure,
            target,
            stated,
            hours: hours.or(particles).unwrap_or(USUAL_SOAK_HOURS),
            ready,
            awake,
            tap: tap?,
            model,
            tub_l,
            compare: false,
            trial,
            course,
            units: Vec::new(),
        })
    }
}

/// Whether half of the coir is soaked, to compare it with the rest.
fn read_trial(fields: &mut Fields<'_>, coir: Option<CoirKind>, problems: &Problems) -> bool {
    let trial = fields.optional("trial") == Some(Trial::Half);
    if trial && coir.is_some_and(|coir| coir.coir().is_none()) {
        let what = "coir that is sold as buffered needs no bath, so there is nothing to compare";
        problems.fault(Code::Conflict, fields.place("trial"), what, "no `trial:`, or another `sold_as:`");
    }
    trial
}

/// Keys that shape a designed course have no say in one of the grower's own.
fn refuse_beside_steps(fields: &mut Fields<'_>, problems: &Problems) {
    for key in ["hydrate", "soaks", "rinses", "hours", "particles", "salt", "label_ca"] {
        if let Some(node) = fields.get(key) {
            let what = format!("`steps:` and `{key}:` exclude each other");
            problems.fault(Code::Conflict, node.at, what, "`steps:` that say it themselves, or no `steps:`");
        }
    }
}

/// `coir: {product:, count:}`, `{dry:}` or `{loose:}`.
fn read_amount(node: &Node<'_>, problems: &Problems) -> (Option<Product>, Option<CoirAmount>) {
    let Some(mut coir) = Fields::new(node, "an amount of coir", problems) else { return (None, None) };
    let product = coir.optional("product");
    let amounts = [
        coir.optional("count").map(|Pieces(pieces)| CoirAmount::Pieces(pieces)),
        coir.optional("dry").map(|mass: Mass| CoirAmount::DryKg(mass.get::<kilogram>())),
        coir.optional("loose").map(|volume| CoirAmount::LooseL(to_litres(volume))),
    ];
    coir.finish();
    let mut amounts = amounts.into_iter().flatten();
    let amount = amounts.next();
    if amounts.next().is_some() {
        problems.fault(Code::Conflict, node.at, "the coir is given more than once", "one of count, dry, loose");
    }
    (product, amount)
}

impl FromText for Product {
    const EXPECTED: &'static str = "a label such as `5 kg block` or `650 g brick`";

    fn from_text(text: &str) -> Result<Parsed<Self>, Fault> {
        match leading_mass(text).map(|weight| weight.get::<kilogram>()) {
            Some(kg) if (0.01..=10_000.0).contains(&kg) => Ok(Parsed::from(Self { label: text.trim().to_owned(), kg })),
            _ => Err(Fault::Impossible(format!("`{text}` does not start with the weight of one piece"))),
        }
    }
}

impl Default for Product {
    /// The block that is taken where nothing is said.
    fn default() -> Self {
        Self { label: "5 kg block".to_owned(), kg: 5.0 }
    }
}

/// What the bag says, or a lab report.
fn read_coir(fields: &mut Fields<'_>, model: &Model, problems: &Problems) -> Option<CoirKind> {
    let sold_as = fields.optional("sold_as");
    let Some(lab) = fields.get("lab") else {
        return Some(CoirKind::SoldAs(sold_as.unwrap_or(SoldAs::Unclaimed)));
    };
    if fields.states("sold_as") {
        problems.fault(Code::Conflict, lab.at, "a lab report and `sold_as:` exclude each other", "one of the two");
    }
    read_lab(lab, model, problems).map(CoirKind::Measured)
}

/// The salt, and whether its name is one that two products share.
fn read_salt(fields: &mut Fields<'_>, problems: &Problems) -> (Option<Salt>, bool) {
    let name = fields.optional("salt").unwrap_or_else(|| DEFAULT_SALT.to_owned());
    let at = fields.place("salt");
    let mut salt = salt_named(&name, at, problems).cloned();
    if let Some(salt) = salt.as_ref().filter(|salt| !salt.has_calcium()) {
        problems.fault(Code::Soak, at, format!("{} holds no calcium", salt.name), "a salt of calcium");
    }
    if let Some(Share(calcium)) = fields.optional("label_ca") {
        salt = salt.and_then(|salt| {
            let labelled = salt.with_label_ca(calcium.to_f64() * 100.0);
            accept(labelled, fields.place("label_ca"), "the calcium on the label", problems)
        });
    }
    (salt, name.trim().eq_ignore_ascii_case("calcium nitrate"))
}

impl FromNode for BufferTarget {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a target", problems)?;
        let usual = Self::default();
        let target = Self::new(
            fields.optional("monovalent").map_or(usual.monovalent, |Share(share)| share.to_f64()),
            fields.optional("sodium").map_or(usual.sodium, |Share(share)| share.to_f64()),
            fields.optional("rinse_ec").map_or(usual.rinse_ec_ms_cm, |Conductivity(ec)| ec),
        );
        fields.finish()?;
        accept(target, node.at, "a target that can be", problems)
    }
}
