//! From a soak file, the `soak:` of a week, or options, to a checked soak.

use super::{Amount, Product, Soak};
use crate::catalogue::salt_named;
use crate::coir::{
    Action, Amounts, Cation, Coir, CoirError, Convention, Ion, Model, Salt, SiteFractions, SoakHours, SoldAs, Solutes,
    Step, Target, sites_from_extract,
};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::source::{Fields, Files, Kind, Node, Value, entries, list, parse, text_of, word};
use crate::units::mass::kilogram;
use crate::units::{Fault, count, length, mass, measured, share, to_litres, volume};
use crate::week::{Moment, moment, zone};
use std::path::Path;
use std::sync::Arc;

/// The coir that is taken where nothing is said.
pub const DEFAULT_PRODUCT: &str = "5 kg block";
const DEFAULT_SALT: &str = "calcium nitrate tetrahydrate";

const SOLD_AS: [(&str, SoldAs); 4] =
    [("buffered", SoldAs::Buffered), ("washed", SoldAs::Washed), ("mild", SoldAs::Mild), ("none", SoldAs::Unclaimed)];
const CONCENTRATION: &[(&str, f64)] = &[("mmol/l", 1.0), ("mol/l", 1000.0), ("mmol/kg", 1.0)];
const CAPACITY: &[(&str, f64)] = &[("mol/kg", 1.0), ("mmol/kg", 0.001), ("cmol/kg", 0.01), ("meq/100 g", 0.01)];
const SOLUBLE: &[(&str, f64)] = &[("mmol/kg", 1.0), ("mol/kg", 1000.0)];
const HELD: &[(&str, f64)] = &[("kg/kg", 1.0), ("l/kg", 1.0)];
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
    let mut problems = Problems::new(Arc::clone(source));
    let soak = parse(&source.text, &mut problems).and_then(|node| {
        let mut fields = Fields::new(&node, "a soak", &mut problems)?;
        let name = fields.require("soak", &mut problems).and_then(|node| text_of(node, "its name", &mut problems));
        let soak = Soak::read(&mut fields, name.unwrap_or_default(), &mut problems);
        let at = fields.at();
        fields.finish(&mut problems);
        if soak.as_ref().is_some_and(|soak| soak.amount.is_none()) {
            let what = "the soak does not say how much coir";
            let expected = "`coir: {product: 5 kg block, count: 1}`, or `dry:` or `loose:` in it";
            problems.push(Problem::new(Code::MissingKey, at, what, expected));
        }
        soak
    });
    problems.settle(soak).map(|(soak, _)| soak)
}

/// What is asked for on the command line, as written.
#[derive(Clone, Copy, Debug, Default)]
pub struct Asked<'a> {
    /// `--product`
    pub product: Option<&'a str>,
    /// `--count`
    pub count: Option<&'a str>,
    /// `--dry`
    pub dry: Option<&'a str>,
    /// `--loose`
    pub loose: Option<&'a str>,
    /// `--sold-as`
    pub sold_as: Option<&'a str>,
    /// `--salt`
    pub salt: Option<&'a str>,
    /// `--label-ca`
    pub label_ca: Option<&'a str>,
    /// `--target`
    pub target: Option<&'a str>,
    /// `--soaks`
    pub soaks: Option<&'a str>,
    /// `--hours`
    pub hours: Option<&'a str>,
    /// `--particles`
    pub particles: Option<&'a str>,
    /// `--ready`
    pub ready: Option<&'a str>,
    /// `--tub`
    pub tub: Option<&'a str>,
}

/// Checks what is asked for on the command line, by the rules of the file.
///
/// # Errors
/// [`Rejected`] with every fault.
pub fn from_options(asked: &Asked<'_>) -> Result<Soak, Rejected> {
    // The same reader serves both: each option is a line of a small file, so that a
    // fault quotes the option.
    let mut lines = vec!["soak: coir".to_owned()];
    let quoted = |text: &str| format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', " "));
    let mut line = |key: &str, value: Option<&str>| {
        if let Some(value) = value {
            lines.push(format!("{key}: {}", quoted(value)));
        }
    };
    line("sold_as", asked.sold_as);
    line("salt", asked.salt);
    line("label_ca", asked.label_ca);
    line("soaks", asked.soaks);
    line("hours", asked.hours);
    line("particles", asked.particles);
    line("ready", asked.ready);
    line("tub", asked.tub);
    let mut nested = |key: &str, values: &[(&str, Option<&str>)]| {
        if values.iter().any(|(_, value)| value.is_some()) {
            lines.push(format!("{key}:"));
            let given = values.iter().filter_map(|(key, value)| value.map(|value| (key, value)));
            lines.extend(given.map(|(key, value)| format!("  {key}: {}", quoted(value))));
        }
    };
    let pieces = asked.count.or(asked.product.map(|_| "1"));
    nested("coir", &[("product", asked.product), ("count", pieces), ("dry", asked.dry), ("loose", asked.loose)]);
    nested("target", &[("monovalent", asked.target)]);
    let text = lines.join("\n") + "\n";
    check(&Arc::new(SourceText { name: "options".to_owned(), text }))
}

impl Soak {
    /// The soak of a week that says nothing: nothing claimed, blocks of 5 kg.
    #[must_use]
    pub fn unsaid() -> Option<Self> {
        let text = "soak: coir\ncoir: {count: 1}\n".to_owned();
        let soak = check(&Arc::new(SourceText { name: "defaults".to_owned(), text })).ok()?;
        Some(Self { amount: None, ..soak })
    }

    /// Reads the keys of a soak, in a file of its own or in a week.
    pub fn read(fields: &mut Fields<'_, '_>, name: &str, problems: &mut Problems) -> Option<Self> {
        let before = problems.len();
        let (product, product_said, amount) = read_amount(fields, problems);
        let convention = fields
            .choice("convention", &[("molal", Convention::Molal), ("activity", Convention::Activity)], problems)
            .unwrap_or(Convention::Molal);
        let (coir, sold_as) = read_coir(fields, convention, problems);
        let (salt, salt_unsure) = read_salt(fields, problems);
        let tap = fields.get("water").map_or(Some(Solutes::NONE), |node| read_tap(node, problems));
        let soaks = fields.quantity("soaks", "1 to 6 soaks", problems, |text| match count(text) {
            Ok(number) => u8::try_from(number)
                .ok()
                .filter(|number| (1..=6).contains(number))
                .ok_or(Fault::TooLarge(text.to_owned())),
            Err(fault) => Err(fault),
        });
        let hours = read_hours(fields, problems);
        let zone = fields
            .get("time_zone")
            .and_then(|node| text_of(node, "a time zone", problems).and_then(|text| zone(text, node.at, problems)));
        let ready = fields.get("ready").and_then(|node| {
            let text = text_of(node, "a date and time", problems)?;
            moment(text, node.at, problems)
        });
        let tub = fields.quantity("tub", "a volume such as `60 L`", problems, volume);
        let target = fields.get("target").and_then(|node| read_target(node, problems));
        let trial = fields.choice("trial", &[("half", true), ("no", false)], problems).unwrap_or(false);
        let course = fields.get("steps").map(|node| read_steps(node, problems));
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
            ready: ready.map(|local| Moment { local, zone }),
            tap: tap?,
            convention,
            tub_l: tub.map(|tub| to_litres(tub.value)),
            trial,
            course,
            coir,
            product: product?,
            product_said,
        })
    }
}

fn fault(at: Span, error: &CoirError, expected: &str) -> Problem {
    Problem::new(Code::Soak, at, error.to_string(), expected)
}

/// `coir: {product:, count:}`, `{dry:}` or `{loose:}`.
fn read_amount(fields: &mut Fields<'_, '_>, problems: &mut Problems) -> (Option<Product>, bool, Option<Amount>) {
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
    let pieces = coir.quantity("count", "a number of pieces", problems, |text| match count(text) {
        Ok(0) => Err(Fault::Zero(text.to_owned())),
        Ok(number) if number > 100_000 => Err(Fault::TooLarge(text.to_owned())),
        read => read,
    });
    let dry = coir.quantity("dry", "a mass such as `4.25 kg`", problems, mass);
    let loose = coir.quantity("loose", "a volume such as `70 L`", problems, volume);
    let given = [
        pieces.map(Amount::Pieces),
        dry.map(|mass| Amount::DryKg(mass.get::<kilogram>())),
        loose.map(|parsed| Amount::LooseL(to_litres(parsed.value))),
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
    coir.finish(problems);
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
fn read_coir(
    fields: &mut Fields<'_, '_>,
    convention: Convention,
    problems: &mut Problems,
) -> (Option<Coir>, &'static str) {
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

fn read_lab(node: &Node<'_>, convention: Convention, problems: &mut Problems) -> Option<Coir> {
    let before = problems.len();
    let mut fields = Fields::new(node, "a lab report", problems)?;
    let capacity = fields.quantity("exchange_capacity", "a capacity such as `0.5 mol/kg`", problems, |text| {
        measured(text, "exchange capacity", CAPACITY)
    });
    let holds =
        fields.quantity("holds", "water held such as `7 kg/kg`", problems, |text| measured(text, "water held", HELD));
    let sites_node = fields.get("sites");
    let extract = fields.get("extract");
    let sites = match (sites_node, extract) {
        (Some(node), None) => read_sites(node, problems),
        (None, Some(node)) => read_extract(node, convention, problems),
        (Some(_), Some(node)) => {
            let what = "sites and an extract exclude each other";
            problems.push(Problem::new(Code::Conflict, node.at, what, "one of the two"));
            None
        }
        (None, None) => {
            let what = "a lab report needs the sites or a saturated extract";
            problems.push(Problem::new(Code::MissingKey, node.at, what, "`sites:` or `extract:`"));
            None
        }
    };
    let soluble = fields.get("soluble").map_or(Some(Solutes::NONE), |node| read_soluble(node, problems));
    fields.finish(problems);
    if problems.len() > before {
        return None;
    }
    let capacity = capacity.unwrap_or(Coir::CAPACITY_MOL_KG);
    let read = Coir::measured(capacity, sites?, soluble?, holds.unwrap_or(Coir::HOLDS_L_KG));
    read.map_err(|error| problems.push(fault(node.at, &error, "figures of coir"))).ok()
}

/// Shares of the sites in percent, summing to 100.
fn read_sites(node: &Node<'_>, problems: &mut Problems) -> Option<SiteFractions> {
    let before = problems.len();
    let mut shares = Vec::new();
    for (name, key, value) in entries(node, "shares of the sites", problems)? {
        let cation = Cation::ALL.into_iter().find(|cation| cation.ion().symbol() == name);
        if cation.is_none() {
            let what = format!("`{name}` is no ion of the exchange sites");
            problems.push(Problem::new(Code::UnknownSalt, key.at, what, "Na, K, NH4, Ca or Mg"));
        }
        let share = text_of(value, "a share", problems).and_then(|text| match share(text) {
            Ok(share) => Some(share.to_f64()),
            Err(found) => {
                problems.push(Problem::of_quantity(value.at, &found, "a share such as `25 %`"));
                None
            }
        });
        shares.extend(cation.zip(share));
    }
    if problems.len() > before {
        return None;
    }
    SiteFractions::new(shares).map_err(|error| problems.push(fault(node.at, &error, "shares that sum to 100 %"))).ok()
}

/// Ions of a saturated extract, in mmol/L or mg/L.
fn read_extract(node: &Node<'_>, convention: Convention, problems: &mut Problems) -> Option<SiteFractions> {
    let ions = read_ions(node, problems)?;
    let model = Model { convention, ..Model::default() };
    sites_from_extract(ions, &model).map_err(|error| problems.push(fault(node.at, &error, "ions of an extract"))).ok()
}

/// A map of ions to concentrations, mmol/L.
fn read_ions(node: &Node<'_>, problems: &mut Problems) -> Option<Amounts> {
    let before = problems.len();
    let mut amounts = Vec::new();
    for (name, key, value) in entries(node, "ions in water", problems)? {
        let ion = Ion::from_symbol(name);
        if ion.is_none() {
            let what = format!("`{name}` is no ion that is known here");
            problems.push(Problem::new(Code::UnknownSalt, key.at, what, "Na, K, NH4, Ca, Mg, Cl, NO3, SO4 or HCO3"));
        }
        let Some(text) = text_of(value, "a concentration such as `1.5 mmol/L`", problems) else { continue };
        let mg = ion
            .and_then(|ion| measured(text, "concentration", &[("mg/l", 1.0)]).ok().map(|mg| mg / ion.molar_mass_g()));
        match mg.map_or_else(|| measured(text, "concentration", CONCENTRATION), Ok) {
            Ok(mmol) => amounts.extend(ion.map(|ion| (ion, mmol))),
            Err(found) => problems.push(Problem::of_quantity(value.at, &found, "mmol/L or mg/L")),
        }
    }
    (problems.len() == before).then(|| amounts.into_iter().collect())
}

fn read_tap(node: &Node<'_>, problems: &mut Problems) -> Option<Solutes> {
    let ions = read_ions(node, problems)?;
    Solutes::tap_water(ions).map_err(|error| problems.push(fault(node.at, &error, "the ions of the water"))).ok()
}

fn read_soluble(node: &Node<'_>, problems: &mut Problems) -> Option<Solutes> {
    let before = problems.len();
    let mut salts = Vec::new();
    for (name, key, value) in entries(node, "soluble salts", problems)? {
        let salt = salt_named(name, key.at, problems);
        let Some(text) = text_of(value, "an amount such as `8 mmol/kg`", problems) else { continue };
        match measured(text, "soluble salts", SOLUBLE) {
            Ok(mmol) => salts.extend(salt.map(|salt| (salt, mmol))),
            Err(found) => problems.push(Problem::of_quantity(value.at, &found, "mmol per kg of dry coir")),
        }
    }
    if problems.len() > before {
        return None;
    }
    Solutes::of_salts(salts).map_err(|error| problems.push(fault(node.at, &error, "soluble salts"))).ok()
}

fn read_salt(fields: &mut Fields<'_, '_>, problems: &mut Problems) -> (Option<Salt>, bool) {
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
    let percent = fields.quantity("label_ca", "the label's calcium, such as `19 %`", problems, share);
    let salt = match (salt, percent, label) {
        (Some(salt), Some(percent), Some(label)) => salt
            .with_label_ca(percent.to_f64() * 100.0)
            .map_err(|error| problems.push(fault(label.at, &error, "the calcium on the label")))
            .ok(),
        (salt, ..) => salt,
    };
    (salt, name.is_some_and(|name| name.trim().eq_ignore_ascii_case("calcium nitrate")))
}

fn read_target(node: &Node<'_>, problems: &mut Problems) -> Option<Target> {
    let before = problems.len();
    let mut fields = Fields::new(node, "a target", problems)?;
    let mut part = |key, problems: &mut Problems| {
        fields.quantity(key, "a share of the sites such as `15 %`", problems, share).map(crate::exact::Fraction::to_f64)
    };
    let (monovalent, sodium) = (part("monovalent", problems), part("sodium", problems));
    let ec = fields.quantity("rinse_ec", "a conductivity such as `0.8 mS/cm`", problems, |text| {
        measured(text, "conductivity", CONDUCTIVITY)
    });
    fields.finish(problems);
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
fn read_hours(fields: &mut Fields<'_, '_>, problems: &mut Problems) -> Option<f64> {
    let at = |key: &'static str, fields: &mut Fields<'_, '_>| fields.get(key).map_or(fields.at(), |node| node.at);
    let stated = fields.quantity("hours", "hours such as `24`", problems, hours);
    let particles = fields.quantity("particles", "a size such as `3 mm`", problems, length);
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

fn read_steps(node: &Node<'_>, problems: &mut Problems) -> Vec<Step> {
    if list(node).is_empty() {
        problems.push(Problem::new(Code::Soak, node.at, "the course has no steps", "at least one step"));
    }
    list(node).iter().filter_map(|entry| read_step(entry, problems)).collect()
}

fn read_step(node: &Node<'_>, problems: &mut Problems) -> Option<Step> {
    const ACTIONS: [(&str, Action); 4] =
        [("hydrate", Action::Hydrate), ("wash", Action::Wash), ("soak", Action::Soak), ("rinse", Action::Rinse)];
    let before = problems.len();
    let mut fields = Fields::new(node, "a step", problems)?;
    let action = fields.require("do", problems).and_then(|node| word(node, &ACTIONS, problems));
    let water_node = fields.require("water", problems);
    let water = fields.quantity("water", "water such as `10 L`", problems, volume);
    let hours = fields.quantity("hours", "hours such as `24`", problems, hours);
    let water_l = water.map(|water| to_litres(water.value));
    let mut doses = Vec::new();
    if let Some(salts) = fields.get("salts") {
        for (name, key, value) in entries(salts, "salts", problems).unwrap_or_default() {
            if let Some(salt) = salt_named(name, key.at, problems)
                && let Some(mol) = read_dose(value, salt, water_l.unwrap_or(1.0), problems)
            {
                doses.push((salt, mol, value.at));
            }
        }
    }
    if let Some(value) = fields.get("gypsum")
        && let Some(gypsum) = salt_named("gypsum", value.at, problems)
        && let Some(mol) = read_dose(value, gypsum, water_l.unwrap_or(1.0), problems)
    {
        doses.push((gypsum, mol, value.at));
    }
    fields.finish(problems);
    if problems.len() > before {
        return None;
    }
    let at = water_node?.at;
    let mut step = Step::new(action?, water_l?).map_err(|error| problems.push(fault(at, &error, "a bath"))).ok()?;
    if let Some(hours) = hours {
        step = step.with_hours(hours).map_err(|error| problems.push(fault(node.at, &error, "hours of a step"))).ok()?;
    }
    for (salt, mol, at) in doses {
        step = step
            .with_salt(salt.clone(), mol)
            .map_err(|error| problems.push(fault(at, &error, "a bath that the model can stand for")))
            .ok()?;
    }
    Some(step)
}

/// Moles of a salt: by `mmol/L` or `g/L` of the step's water, or by `g` or `mol` outright.
fn read_dose(node: &Node<'_>, salt: &Salt, water_l: f64, problems: &mut Problems) -> Option<f64> {
    const EXPECTED: &str = "an amount such as `25 mmol/L`, `3 g/L`, `130 g` or `0.3 mol`";
    const PER_LITRE: &[(&str, f64)] = &[("mmol/l", 0.001), ("mol/l", 1.0), ("mmol/kg", 0.001)];
    const GRAMS_PER_LITRE: &[(&str, f64)] = &[("g/l", 1.0), ("mg/l", 0.001)];
    const GRAMS: &[(&str, f64)] = &[("g", 1.0), ("kg", 1000.0), ("mg", 0.001)];
    const MOLES: &[(&str, f64)] = &[("mol", 1.0), ("mmol", 0.001)];
    let Value::Text(text) = &node.value else {
        text_of(node, EXPECTED, problems);
        return None;
    };
    let read = |units| measured(text, "amount of salt", units);
    let mol = read(PER_LITRE)
        .map(|mol| mol * water_l)
        .or_else(|_| read(GRAMS_PER_LITRE).map(|grams| salt.moles(grams * water_l)))
        .or_else(|_| read(GRAMS).map(|grams| salt.moles(grams)))
        .or_else(|_| read(MOLES));
    mol.map_err(|found| problems.push(Problem::of_quantity(node.at, &found, EXPECTED))).ok()
}
