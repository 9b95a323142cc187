//! From the keys of a soak to a checked soak.

use super::super::salt_named;
use super::lab::{read_lab, read_tap};
use super::steps::read_steps;
use super::values::{HOURS_EXPECTED, accept, figure, hours, litres};
use super::{CoirAmount, CoirKind, Product, Soak};
use crate::coir::{BufferTarget, Convention, Salt, SoldAs, Solutes, USUAL_SOAK_HOURS, soak_hours};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::exact::Fraction;
use crate::moment::{Moment, time_zone};
use crate::source::{Fields, Node, Value, parse, text_of, word};
use crate::units::length::millimetre;
use crate::units::mass::kilogram;
use crate::units::{Fault, count, length, mass, measured, share};
use jiff::tz::TimeZone;
use std::sync::Arc;

/// The coir that is taken where nothing is said.
pub const DEFAULT_PRODUCT: &str = "5 kg block";
const DEFAULT_SALT: &str = "calcium nitrate tetrahydrate";

const CONDUCTIVITY: &[(&str, f64)] = &[("ms/cm", 1.0), ("ds/m", 1.0), ("us/cm", 0.001), ("µs/cm", 0.001)];

/// Checks the text of a soak file.
///
/// # Errors
/// [`Rejected`] with every fault of the file.
pub fn check(source: &Arc<SourceText>) -> Result<Soak, Rejected> {
    let problems = Problems::new(Arc::clone(source));
    let soak = parse(&source.text, &problems).and_then(|node| read_alone(&node, &problems));
    settle(problems, soak)
}

/// A soak outside a week, which must say how much coir it is for.
pub(super) fn read_alone(node: &Node<'_>, problems: &Problems) -> Option<Soak> {
    let mut fields = Fields::new(node, "a soak", problems)?;
    let name = fields.require("soak").and_then(|node| text_of(node, "its name", problems));
    let soak = Soak::read(&mut fields, name.unwrap_or_default(), None, problems);
    if soak.as_ref().is_some_and(|soak| soak.trial) {
        let at = fields.get("trial").map_or(fields.at(), |node| node.at);
        let what = "a trial of half the coir belongs in a week, which knows how much coir there is";
        problems.push(Problem::new(Code::Conflict, at, what, "`trial:` within the `soak:` of a week"));
    }
    let at = fields.at();
    fields.finish();
    if soak.as_ref().is_some_and(|soak| soak.amount.is_none()) {
        let what = "the soak does not say how much coir";
        let expected = "`coir: {product: 5 kg block, count: 1}`, or `dry:` or `loose:` in it";
        problems.push(Problem::new(Code::MissingKey, at, what, expected));
    }
    soak
}

pub(super) fn settle(problems: Problems, soak: Option<Soak>) -> Result<Soak, Rejected> {
    problems.settle(soak).map(|(soak, assumed)| Soak { units: assumed.into_iter().collect(), ..soak })
}

impl Soak {
    /// The soak of a week that says nothing: nothing claimed, blocks of 5 kg.
    #[must_use]
    pub fn usual() -> Option<Self> {
        let problems = Problems::new(SourceText::argument("soak", ""));
        let nothing = Node { at: Span::default(), value: Value::Map(Vec::new()) };
        Self::read(&mut Fields::new(&nothing, "a soak", &problems)?, "coir", None, &problems)
    }

    /// Reads the keys of a soak, in a file of its own or in a week, whose time zone holds
    /// where the soak names none.
    pub fn read(fields: &mut Fields<'_>, name: &str, of_week: Option<&TimeZone>, problems: &Problems) -> Option<Self> {
        let before = problems.len();
        let (product, product_said, amount) = read_amount(fields, problems);
        let convention = fields
            .choice("convention", &[("molal", Convention::Molal), ("activity", Convention::Activity)])
            .unwrap_or(Convention::Molal);
        let coir = read_coir(fields, convention, problems);
        let (salt, salt_unsure) = read_salt(fields, problems);
        let tap = fields.get("water").map_or(Some(Solutes::NONE), |node| read_tap(node, problems));
        let soaks = fields.quantity("soaks", "1 to 6 soaks", soaks);
        let hours = read_hours(fields, problems);
        let zone = time_zone(fields, problems).or_else(|| of_week.cloned());
        let ready = Moment::read(fields, "ready", zone, problems);
        let tub_l = fields.get("tub").and_then(|node| litres(node, "a volume such as `60 L`", problems));
        let target = fields.get("target").and_then(|node| read_target(node, problems));
        let trial = fields.choice("trial", &[("half", true), ("no", false)]).unwrap_or(false);
        let course = fields.get("steps").map(|node| read_steps(node, problems));
        if course.is_some() {
            refuse_beside_steps(fields, problems);
        }
        if problems.len() > before {
            return None;
        }
        Some(Self {
            name: name.to_owned(),
            product: product?,
            product_said,
            amount,
            coir: coir?,
            salt: salt?,
            salt_unsure,
            target,
            soaks: soaks.unwrap_or(2),
            hours: hours.unwrap_or(USUAL_SOAK_HOURS),
            ready,
            tap: tap?,
            convention,
            tub_l,
            trial,
            course,
            units: Vec::new(),
        })
    }
}

/// Keys that shape a designed course have no say in one of the grower's own.
fn refuse_beside_steps(fields: &mut Fields<'_>, problems: &Problems) {
    for key in ["soaks", "hours", "particles", "salt", "label_ca"] {
        if let Some(node) = fields.get(key) {
            let what = format!("`steps:` and `{key}:` exclude each other");
            let expected = "`steps:` that say it themselves, or no `steps:`";
            problems.push(Problem::new(Code::Conflict, node.at, what, expected));
        }
    }
}

/// `coir: {product:, count:}`, `{dry:}` or `{loose:}`.
fn read_amount(fields: &mut Fields<'_>, problems: &Problems) -> (Option<Product>, bool, Option<CoirAmount>) {
    let default = || Product::of_label(DEFAULT_PRODUCT);
    let Some(node) = fields.get("coir") else { return (default(), false, None) };
    let Some(mut coir) = Fields::new(node, "an amount of coir", problems) else { return (None, false, None) };
    let said = coir.get("product");
    let product = said.map_or_else(default, |node| read_product(node, problems));
    let pieces = coir.quantity("count", "a number of pieces", |text| match count(text)? {
        0 => Err(Fault::Zero(text.to_owned())),
        100_001.. => Err(Fault::TooLarge(text.to_owned())),
        pieces => Ok(pieces),
    });
    let dry = coir.quantity("dry", "a mass such as `4.25 kg`", mass);
    let loose = coir.get("loose").and_then(|node| litres(node, "a volume such as `70 L`", problems));
    coir.finish();
    let amounts: Vec<CoirAmount> = [
        pieces.map(CoirAmount::Pieces),
        dry.map(|mass| CoirAmount::DryKg(mass.get::<kilogram>())),
        loose.map(CoirAmount::LooseL),
    ]
    .into_iter()
    .flatten()
    .collect();
    if amounts.len() > 1 {
        let what = "the coir is given more than once";
        problems.push(Problem::new(Code::Conflict, node.at, what, "one of count, dry, loose"));
    }
    (product, said.is_some(), amounts.first().copied())
}

fn read_product(node: &Node<'_>, problems: &Problems) -> Option<Product> {
    let label = text_of(node, "a product such as `5 kg block`", problems)?;
    let product = Product::of_label(label);
    if product.is_none() {
        let what = format!("`{label}` does not start with the weight of one piece");
        let expected = "a label such as `5 kg block` or `650 g brick`";
        problems.push(Problem::new(Code::Quantity, node.at, what, expected));
    }
    product
}

impl Product {
    /// A product from its label, which starts with the weight of a piece.
    #[must_use]
    pub fn of_label(label: &str) -> Option<Self> {
        let words: Vec<&str> = label.split_whitespace().collect();
        let kg = (1..=words.len().min(3)).find_map(|taken| mass(&words[..taken].join(" ")).ok())?.get::<kilogram>();
        (0.01..=10_000.0).contains(&kg).then(|| Self { label: label.trim().to_owned(), kg })
    }
}

/// What the bag says, or a lab report.
fn read_coir(fields: &mut Fields<'_>, convention: Convention, problems: &Problems) -> Option<CoirKind> {
    let sold_as = fields.get("sold_as");
    let Some(lab) = fields.get("lab") else {
        let claims = SoldAs::ALL.map(|claim| (claim.word(), claim));
        return sold_as.map_or(Some(SoldAs::Unclaimed), |node| word(node, &claims, problems)).map(CoirKind::SoldAs);
    };
    if sold_as.is_some() {
        let what = "a lab report and `sold_as:` exclude each other";
        problems.push(Problem::new(Code::Conflict, lab.at, what, "one of the two"));
    }
    read_lab(lab, convention, problems).map(CoirKind::Measured)
}

/// The salt, and whether its name is one that two products share.
fn read_salt(fields: &mut Fields<'_>, problems: &Problems) -> (Option<Salt>, bool) {
    let node = fields.get("salt");
    let name = node.map_or(Some(DEFAULT_SALT), |node| text_of(node, "a salt", problems));
    let at = node.map_or(fields.at(), |node| node.at);
    let mut salt = name.and_then(|name| salt_named(name, at, problems)).cloned();
    if let Some(salt) = salt.as_ref().filter(|salt| !salt.has_calcium()) {
        let what = format!("{} holds no calcium", salt.name());
        problems.push(Problem::new(Code::Soak, at, what, "a salt of calcium"));
    }
    if let Some(label) = fields.get("label_ca")
        && let Some(percent) = figure(label, "the label's calcium, such as `19 %`", problems, share)
    {
        salt = salt.and_then(|salt| {
            let labelled = salt.with_label_ca(percent.to_f64() * 100.0);
            accept(labelled, label.at, "the calcium on the label", problems)
        });
    }
    (salt, name.is_some_and(|name| name.trim().eq_ignore_ascii_case("calcium nitrate")))
}

fn read_target(node: &Node<'_>, problems: &Problems) -> Option<BufferTarget> {
    let before = problems.len();
    let mut fields = Fields::new(node, "a target", problems)?;
    let mut part = |key| fields.quantity(key, "a share of the sites such as `15 %`", share).map(Fraction::to_f64);
    let (monovalent, sodium) = (part("monovalent"), part("sodium"));
    let ec = fields.quantity("rinse_ec", "a conductivity such as `0.8 mS/cm`", |text| {
        measured(text, "conductivity", CONDUCTIVITY)
    });
    fields.finish();
    if problems.len() > before {
        return None;
    }
    let usual = BufferTarget::default();
    let target = BufferTarget::new(
        monovalent.unwrap_or(usual.monovalent()),
        sodium.unwrap_or(usual.sodium()),
        ec.unwrap_or(usual.rinse_ec_ms_cm()),
    );
    accept(target, node.at, "a target that can be", problems)
}

fn soaks(text: &str) -> Result<u8, Fault> {
    let number = count(text)?;
    let soaks = (1..=6).find(|soaks| u64::from(*soaks) == number);
    soaks.ok_or_else(|| if number == 0 { Fault::Zero(text.to_owned()) } else { Fault::TooLarge(text.to_owned()) })
}

/// Hours of a soak as stated, or as the particles need them.
fn read_hours(fields: &mut Fields<'_>, problems: &Problems) -> Option<f64> {
    let stated = fields.get("hours").and_then(|node| {
        let hours = figure(node, HOURS_EXPECTED, problems, hours)?;
        if !(1.0..=1000.0).contains(&hours) {
            let what = format!("a soak of {hours} hours");
            problems.push(Problem::new(Code::Soak, node.at, what, "1 to 1000 hours"));
        }
        Some(hours)
    });
    let by_size = fields.get("particles").and_then(|node| {
        let size = figure(node, "a size such as `3 mm`", problems, length)?;
        accept(soak_hours(size.get::<millimetre>()), node.at, "particles of coir", problems)
    });
    stated.or(by_size)
}
