//! From a soak file, the `soak:` of a week or the command line to a checked soak.

mod lab;
mod options;
mod steps;

use super::{Amount, Product, Soak};
use crate::catalogue::salt_named;
use crate::coir::{Coir, CoirError, Convention, Salt, SoakHours, SoldAs, Solutes, Target};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::moment::{Moment, time_zone};
use crate::source::{Fields, Files, Kind, Node, Value, parse, text_of, word};
use crate::units::mass::kilogram;
use crate::units::{Fault, Parsed, Volume, count, length, mass, measured, share, to_litres, volume};
use jiff::tz::TimeZone;
use lab::{read_lab, read_tap};
pub use options::from_options;
use std::path::Path;
use std::sync::Arc;
use steps::read_steps;

/// The coir that is taken where nothing is said.
pub const DEFAULT_PRODUCT: &str = "5 kg block";
const DEFAULT_SALT: &str = "calcium nitrate tetrahydrate";

const SOLD_AS: [(&str, SoldAs); 4] =
    [("buffered", SoldAs::Buffered), ("washed", SoldAs::Washed), ("mild", SoldAs::Mild), ("none", SoldAs::Unclaimed)];
const CONDUCTIVITY: &[(&str, f64)] = &[("ms/cm", 1.0), ("ds/m", 1.0), ("us/cm", 0.001), ("µs/cm", 0.001)];
const HOURS: &[(&str, f64)] = &[("h", 1.0), ("hours", 1.0), ("hour", 1.0), ("days", 24.0), ("day", 24.0)];

/// Loads a soak file.
///
/// # Errors
/// [`Rejected`] with every fault of the file.
pub fn load(path: &Path, files: &dyn Files) -> Result<Soak, Rejected> {
    let source = files.read(path, Kind::Yaml)?;
    check(&source)
}

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
fn read_alone(node: &Node<'_>, problems: &Problems) -> Option<Soak> {
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

fn settle(problems: Problems, soak: Option<Soak>) -> Result<Soak, Rejected> {
    problems.settle(soak).map(|(soak, assumed)| Soak { units: assumed.into_iter().collect(), ..soak })
}

impl Soak {
    /// The soak of a week that says nothing: nothing claimed, blocks of 5 kg.
    #[must_use]
    pub fn unsaid() -> Option<Self> {
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
        let (coir, sold_as) = read_coir(fields, convention, problems);
        let (salt, salt_unsure) = read_salt(fields, problems);
        let tap = fields.get("water").map_or(Some(Solutes::NONE), |node| read_tap(node, problems));
        let soaks = fields.quantity("soaks", "1 to 6 soaks", |text| match count(text) {
            Ok(number) => u8::try_from(number)
                .ok()
                .filter(|number| (1..=6).contains(number))
                .ok_or(Fault::TooLarge(text.to_owned())),
            Err(fault) => Err(fault),
        });
        let hours = read_hours(fields, problems);
        let zone = time_zone(fields, problems).or_else(|| of_week.cloned());
        let ready = Moment::read(fields, "ready", zone, problems);
        let tub = fields.quantity("tub", "a volume such as `60 L`", volume);
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
            amount,
            sold_as,
            salt: salt?,
            salt_unsure,
            target,
            soaks: soaks.unwrap_or(2),
            hours: hours.unwrap_or(SoakHours::default().default),
            ready,
            tap: tap?,
            convention,
            tub_l: tub.map(|tub| litres(tub, problems)),
            trial,
            course,
            coir,
            product: product?,
            product_said,
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

/// Litres, a bare customary unit remarked on.
fn litres(parsed: Parsed<Volume>, problems: &Problems) -> f64 {
    problems.assume(parsed.assumption);
    to_litres(parsed.value)
}

fn fault(at: Span, error: &CoirError, expected: &str) -> Problem {
    Problem::new(Code::Soak, at, error.to_string(), expected)
}

/// `coir: {product:, count:}`, `{dry:}` or `{loose:}`.
fn read_amount(fields: &mut Fields<'_>, problems: &Problems) -> (Option<Product>, bool, Option<Amount>) {
    let default = || Product::of_label(DEFAULT_PRODUCT);
    let Some(node) = fields.get("coir") else { return (default(), false, None) };
    let Some(mut coir) = Fields::new(node, "an amount of coir", problems) else { return (None, false, None) };
    let said = coir.get("product");
    let product = match said {
        None => default(),
        Some(node) => text_of(node, "a product such as `5 kg block`", problems).and_then(|label| {
            let product = Product::of_label(label);
            if product.is_none() {
                let what = format!("`{label}` does not start with the weight of one piece");
                problems.push(Problem::new(
                    Code::Quantity,
                    node.at,
                    what,
                    "a label such as `5 kg block` or `650 g brick`",
                ));
            }
            product
        }),
    };
    let pieces = coir.quantity("count", "a number of pieces", |text| match count(text) {
        Ok(0) => Err(Fault::Zero(text.to_owned())),
        Ok(number) if number > 100_000 => Err(Fault::TooLarge(text.to_owned())),
        read => read,
    });
    let dry = coir.quantity("dry", "a mass such as `4.25 kg`", mass);
    let loose = coir.quantity("loose", "a volume such as `70 L`", volume);
    let given = [
        pieces.map(Amount::Pieces),
        dry.map(|mass| Amount::DryKg(mass.get::<kilogram>())),
        loose.map(|parsed| Amount::LooseL(litres(parsed, problems))),
    ];
    let amounts: Vec<Amount> = given.into_iter().flatten().collect();
    if amounts.len() > 1 {
        problems.push(Problem::new(
            Code::Conflict,
            node.at,
            "the coir is given more than once",
            "one of count, dry, loose",
        ));
    }
    coir.finish();
    (product, said.is_some(), amounts.first().copied())
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
fn read_coir(fields: &mut Fields<'_>, convention: Convention, problems: &Problems) -> (Option<Coir>, &'static str) {
    let sold_as = fields.get("sold_as");
    let lab = fields.get("lab");
    if let (Some(lab), Some(_)) = (lab, sold_as) {
        let what = "a lab report and `sold_as:` exclude each other";
        problems.push(Problem::new(Code::Conflict, lab.at, what, "one of the two"));
    }
    if let Some(lab) = lab {
        return (read_lab(lab, convention, problems), "lab report");
    }
    let said = sold_as.map_or(Some(SoldAs::Unclaimed), |node| word(node, &SOLD_AS, problems));
    let name = SOLD_AS.iter().find(|(_, kind)| Some(*kind) == said).map_or("none", |(name, _)| name);
    (said.and_then(SoldAs::coir), name)
}

fn read_salt(fields: &mut Fields<'_>, problems: &Problems) -> (Option<Salt>, bool) {
    let node = fields.get("salt");
    let name = node.map_or(Some(DEFAULT_SALT), |node| text_of(node, "a salt", problems));
    let at = node.map_or(fields.at(), |node| node.at);
    let salt = name.and_then(|name| salt_named(name, at, problems)).cloned();
    if let (Some(salt), Some(node)) = (&salt, node)
        && !salt.has_calcium()
    {
        let what = format!("{} holds no calcium", salt.name());
        problems.push(Problem::new(Code::Soak, node.at, what, "a salt of calcium"));
    }
    let label = fields.get("label_ca");
    let percent = fields.quantity("label_ca", "the label's calcium, such as `19 %`", share);
    let salt = match (salt, percent, label) {
        (Some(salt), Some(percent), Some(label)) => salt
            .with_label_ca(percent.to_f64() * 100.0)
            .map_err(|error| problems.push(fault(label.at, &error, "the calcium on the label")))
            .ok(),
        (salt, ..) => salt,
    };
    (salt, name.is_some_and(|name| name.trim().eq_ignore_ascii_case("calcium nitrate")))
}

fn read_target(node: &Node<'_>, problems: &Problems) -> Option<Target> {
    let before = problems.len();
    let mut fields = Fields::new(node, "a target", problems)?;
    let mut part =
        |key| fields.quantity(key, "a share of the sites such as `15 %`", share).map(crate::exact::Fraction::to_f64);
    let (monovalent, sodium) = (part("monovalent"), part("sodium"));
    let ec = fields.quantity("rinse_ec", "a conductivity such as `0.8 mS/cm`", |text| {
        measured(text, "conductivity", CONDUCTIVITY)
    });
    fields.finish();
    if problems.len() > before {
        return None;
    }
    let usual = Target::default();
    let target = Target::new(
        monovalent.unwrap_or(usual.monovalent()),
        sodium.unwrap_or(usual.sodium()),
        ec.unwrap_or(usual.rinse_ec_ms_cm()),
    );
    target.map_err(|error| problems.push(fault(node.at, &error, "a target that can be"))).ok()
}

/// Hours as stated, or as the particles need them.
fn read_hours(fields: &mut Fields<'_>, problems: &Problems) -> Option<f64> {
    let at = |key: &'static str, fields: &mut Fields<'_>| fields.get(key).map_or(fields.at(), |node| node.at);
    let stated = fields.quantity("hours", "hours such as `24`", hours);
    let particles = fields.quantity("particles", "a size such as `3 mm`", length);
    if let Some(hours) = stated.filter(|hours| !(1.0..=1000.0).contains(hours)) {
        let place = at("hours", fields);
        problems.push(Problem::new(Code::Soak, place, format!("a soak of {hours} hours"), "1 to 1000 hours"));
    }
    let by_size = particles.and_then(|size| {
        let place = at("particles", fields);
        let read = SoakHours::for_particles(size.get::<crate::units::length::millimetre>());
        read.map_err(|error| problems.push(fault(place, &error, "particles of coir"))).ok()
    });
    stated.or(by_size.map(|hours| hours.default))
}

/// `24`, `24 h` or `1 day`.
fn hours(text: &str) -> Result<f64, Fault> {
    crate::units::number(text).map(crate::exact::Fraction::to_f64).or_else(|_| measured(text, "time", HOURS))
}
