//! `trayful feed`: how much fertiliser for a wanted strength, and what a label's rate comes to.

use super::args::FeedArgs;
use super::day::{only_of_seasons, today};
use super::stocked::each;
use super::{Failure, Session, said};
use crate::behaviour::{Analysis, Feed, Fertiliser, FertiliserPack, Percentages, Product};
use crate::checked::is_a;
use crate::diagnostic::{Code, Problem, Rejected, SourceText, Span};
use crate::exact::Fraction;
use crate::plan::plan_without_comparison;
use crate::report::FeedReport;
use crate::season::{Interval, Lateness};
use crate::source::{FileKind, Files, FromText, Written, above_zero, argument_with_units, figures, value};
use crate::stock::price;
use crate::units::mass_density::gram_per_litre;
use crate::units::{
    Assumption, Bounds, Fault, MassDensity, Parsed, Quantity, Rate, Rounding, Volume, density, mass_or_volume,
    measured, number, plain, rate, rounded, within,
};
use crate::watering::Waterings;
use std::collections::BTreeSet;
use std::path::Path;

const DENSITY: &[(&str, f64)] = &[("g/ml", 1000.0), ("kg/l", 1000.0)];

figures! {
    /// What the label says.
    Label(Analysis): "three percentages such as `3-1-2`: N, P2O5, K2O", text => analysis(text);
    /// What its label asks for.
    LabelRate(Rate): Rate::EXPECTED, text => label_rate(text);
    /// Milligrams of nitrogen in a litre.
    Strength(f64): "milligrams of nitrogen in a litre, such as `50`", text => strength(text);
    /// How many times an injector thins the stock.
    Injector(f64): "a ratio such as `1:200`", text => positive(text.strip_prefix("1:").unwrap_or(text), THINNED);
    /// Density of a liquid.
    LiquidDensity(MassDensity): "a density such as `1.2 g/mL`", text => liquid_density(text);
}

fn analysis(text: &str) -> Result<Analysis, Fault> {
    let comma = |share| number(share).err().filter(|fault| matches!(fault, Fault::Comma(_)));
    if let Some(fault) = text.split('-').find_map(comma) {
        return Err(fault);
    }
    Analysis::parse(text).map_err(|why| Fault::Impossible(format!("`{text}` is no analysis: {why}")))
}

/// A rate; what labels say besides is told how to be written.
fn label_rate(text: &str) -> Result<Parsed<Rate>, Fault> {
    let text = text.trim();
    rate(text).map_err(|fault| {
        let of = |text: &str| number(text).ok().map(Fraction::to_f64).filter(|number| *number > 0.0);
        let written = |each: f64| Some(plain(each, 2)).filter(|each| rate(&format!("{each} mL/L")).is_ok());
        let thinned = text.strip_prefix("1:").and_then(of).and_then(|times| written(1000.0 / times));
        let thinned = thinned.map(|each| format!("`{text}` tells no measure: of a liquid it is about `{each} mL/L`"));
        let share = text.strip_suffix('%').and_then(of).and_then(|percent| written(10.0 * percent)).map(|each| {
            format!("`{text}` tells no measure: it is `{each} mL/L` of a liquid, `{each} g/L` of a powder")
        });
        let ends = text.split_once(['-', '\u{2013}']);
        let range = ends.filter(|(least, most)| of(least.trim_start_matches("1:")).is_some() && leading_number(most));
        let range = range.map(|_| format!("`{text}` is a range: ask for one end, then the other"));
        thinned.or(share).or(range).map_or(fault, Fault::Impossible)
    })
}

/// Whether a text begins with a number.
fn leading_number(text: &str) -> bool {
    text.trim_start().starts_with(|first: char| first.is_ascii_digit())
}

const PPM: Bounds = (1.0..=10_000.0, "a litre of feed holds 1 to 10000 mg of nitrogen");
const THINNED: Bounds = (1.0..=100_000.0, "an injector thins 1 to 100000 times");
const LIQUID: Bounds = (500.0..=5000.0, "a liquid weighs 0.5 to 5 g/mL");

fn positive(text: &str, bounds: Bounds) -> Result<f64, Fault> {
    let value = above_zero(number(text)?, text)?.to_f64();
    within(value, value, bounds, text)
}

/// `50`, `50 ppm` or `50 mg/L`.
fn strength(text: &str) -> Result<f64, Fault> {
    let text = text.trim().to_lowercase();
    positive(["ppm", "ppm n", "mg/l"].iter().find_map(|unit| text.strip_suffix(unit)).unwrap_or(&text).trim_end(), PPM)
}

fn liquid_density(text: &str) -> Result<MassDensity, Fault> {
    let liquid = measured(text, "density", DENSITY).map(MassDensity::new::<gram_per_litre>);
    let liquid = liquid.or_else(|_| density(text))?;
    within(liquid, liquid.get::<gram_per_litre>(), LIQUID, text)
}

const PACKAGE: &str = "a package and its price, such as `1 L for 12.90`";
const PIECE: &str = "a package and its price such as `1 L for 12.90`, a density such as `1.2 g/mL`, or `by volume`; each \
                     once";

/// Reads `1 L for 12.90`, of what has such percentages.
fn package(
    Written { text, at, problems }: Written<'_>,
    percentages: Percentages,
    units: &mut BTreeSet<Assumption>,
) -> Option<FertiliserPack> {
    let Some((gives, paid)) = text.split_once(" for ") else {
        return problems.refuse(Problem::of_quantity(at, &Fault::Shape(text.to_owned()), PACKAGE));
    };
    let gives_at = at.of_piece(0, gives);
    let amount = problems.quantity(gives_at, mass_or_volume(gives), PACKAGE)?;
    let (price, currency) = problems.quantity(at.of_piece(text.len() - paid.len(), paid), price(paid), PACKAGE)?;
    if !percentages.counts(matches!(amount.value, Quantity::Volume(_))) {
        return problems.refuse(otherwise(gives_at, percentages));
    }
    units.extend(amount.assumption);
    Some(FertiliserPack { label: gives.trim().to_owned(), gives: amount.value, price, currency })
}

/// Reads `fish: 5-1-1, 1 L for 12.90, 1.1 g/mL`: the name may be left out, and all but the analysis.
fn product(Written { text, at, problems }: Written<'_>, units: &mut BTreeSet<Assumption>) -> Option<Product> {
    let (name, rest) = text.split_once(':').unwrap_or(("", text));
    let mut offset = text.len() - rest.len();
    let mut pieces = rest.split(", ").map(|piece| {
        let at = at.of_piece(offset, piece);
        offset += piece.len() + 2;
        Written { text: piece.trim(), at, problems }
    });
    let label = pieces.next()?;
    let (mut percentages, mut priced) = (None, None);
    for piece in pieces {
        let is_price = piece.text.contains(" for ");
        if if is_price { priced.is_some() } else { percentages.is_some() } {
            return problems.deny(Code::Conflict, piece.at, "there is one of its kind before it", PIECE);
        } else if is_price {
            priced = Some(piece);
        } else if piece.text == "by volume" {
            percentages = Some(Percentages::OfVolume);
        } else {
            let density = problems.quantity(piece.at, liquid_density(piece.text), PIECE)?;
            percentages = Some(Percentages::OfWeight(Some(density)));
        }
    }
    let Label(analysis) = value(label.text, label.at, problems)?;
    let percentages = percentages.unwrap_or(Percentages::OfWeight(None));
    let package = match priced {
        Some(written) => Some(package(written, percentages, units)?),
        None => None,
    };
    let (name, label) = (name.trim(), label.text.to_owned());
    let name = if name.is_empty() { label.clone() } else { name.to_owned() };
    Some(Product { name, label, analysis, percentages, package })
}

/// Options that are read, and what was taken for bare units in them.
#[derive(Default)]
struct Reading {
    rejected: Rejected,
    units: BTreeSet<Assumption>,
}

impl Reading {
    fn of<T: FromText>(&mut self, option: &str, text: Option<&str>) -> Option<T> {
        let (value, units) = self.rejected.accept(argument_with_units(option, text?))?;
        self.units.extend(units);
        Some(value)
    }
}

pub(super) fn run(args: &FeedArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if args.file.is_some() && args.injector.is_some() {
        return said(
            "`--injector` goes with `--water`, the stock that is made, not with a file: ask for the one, then the other",
        );
    }
    let mut read = Reading::default();
    let analysis = read.of("--analysis", Some(&args.analysis));
    let ppm = read.of("--ppm", args.ppm.as_deref());
    let rate = read.of("--rate", args.rate.as_deref()).map(|LabelRate(rate)| rate);
    let injector = read.of("--injector", args.injector.as_deref()).map_or(1.0, |Injector(times)| times);
    let water: Option<Volume> = read.of("--water", args.water.as_deref());
    let density = read.of("--density", args.density.as_deref()).map(|LiquidDensity(density)| density);
    let each_tray = read.of("--each-tray", args.each_tray.as_deref());
    let every = read.of("--every", args.every.as_deref()).map_or(7, |Interval(days)| days);
    let Reading { mut rejected, mut units } = read;
    let others = each("--with", &args.with, |written| product(written, &mut units));
    let others = rejected.accept(others).unwrap_or_default();
    let Some(Label(analysis)) = rejected.or(analysis)? else { return said("say what its label says, as in `3-1-2`") };
    let percentages = if args.by_volume { Percentages::OfVolume } else { Percentages::OfWeight(density) };
    let package = each("--price", args.price.as_slice(), |written| package(written, percentages, &mut units))?.pop();
    let label = args.analysis.trim().to_owned();
    let name = args.name.as_ref().map(|name| name.trim().to_owned()).filter(|name| !name.is_empty());
    let name = name.unwrap_or_else(|| label.clone());
    // What the label asks for is what the plants get, however it is made.
    let of_rate =
        rate.map(|rate| percentages.nitrogen_ppm(analysis, rate).ok_or_else(|| not_counted(args, percentages)));
    let Some(ppm) = ppm.map(|Strength(ppm)| ppm).or(of_rate.transpose()?) else {
        return said("say how strong: `--ppm 50`, or `--rate \"4 mL/L\"`");
    };
    // Thirds are no exact floats.
    if let Err(fault) = within(ppm, (ppm * 1e9).round() / 1e9, PPM, "the rate") {
        return said(format!("at {} it comes to {} ppm N: {fault}", args.rate.as_deref().unwrap_or(""), plain(ppm, 3)));
    }
    let trays = match &args.file {
        Some(path) => Some(fed_trays(path, args, every, each_tray, session)?),
        None if args.from.today.is_some() => return Err(only_of_seasons()),
        None => None,
    };
    let feeds = std::iter::once(Product { name, label, analysis, percentages, package }).chain(others).map(|product| {
        let feed = Feed::of(product.analysis, product.percentages, ppm, water.map(|water| (water, injector)));
        match feed.most_thinned().filter(|most| water.is_some() && injector > *most * (1.0 + 1e-9)) {
            Some(most) => said(cannot_be_made(&product.name, feed.strength, injector, most)),
            None => Ok((product, feed)),
        }
    });
    let feeds = feeds.collect::<Result<Vec<_>, Failure>>()?;
    let mut currencies = feeds.iter().filter_map(|(product, _)| product.package.as_ref()?.currency);
    let currency = currencies.next();
    if let Some((one, other)) = currency.zip(currencies.find(|other| currency != Some(*other))) {
        return said(format!("prices in {one} and {other} cannot be compared: state all in one"));
    }
    let rate = args.rate.as_deref().map(str::trim);
    let report = FeedReport { feeds: &feeds, rate, water, injector, currency, trays: trays.as_ref(), units };
    session.report(&report, false)
}

/// What the trays of a week, or of a season, take.
fn fed_trays(
    path: &Path,
    args: &FeedArgs,
    every: i32,
    each_tray: Option<Volume>,
    session: &mut Session<'_>,
) -> Result<Waterings, Failure> {
    let source = session.disk.read(path, FileKind::Yaml)?;
    if is_a(&source, "season") {
        let inputs = session.inputs(session.disk, &[]);
        let season = inputs.season_of(path, &source)?;
        let today = today(&season, &args.from, session);
        let (windows, choice) = season.choice(today)?;
        let days = season.days(&inputs, &season.dated(&windows, &choice), today)?;
        let missed = windows.too_late.iter().filter(|late| late.why != Lateness::Over).count();
        session.take_units(&season.loaded.week.standing);
        return Ok(Waterings::of_season(&season.loaded.week.name, (&days, missed), (every, today), each_tray));
    }
    if args.every.is_some() || args.from.today.is_some() {
        return said("`--every` and `--today` go with a season: of a week one watering is told");
    }
    let loaded = session.inputs(session.disk, &[]).week_of(path, &source)?;
    session.take_units(&loaded.week.standing);
    Ok(Waterings::of_week(&plan_without_comparison(&loaded)?, &loaded.week, each_tray))
}

/// What to do where the fertiliser alone is too weak for the stock.
fn cannot_be_made(name: &str, strength: Fertiliser, injector: f64, most: f64) -> String {
    let help = if most >= 1.0 {
        format!("thin it at most {} times, `--injector 1:{0}`, or feed less", rounded(most, 0, Rounding::Down))
    } else {
        "feed less".to_owned()
    };
    let thinned = plain(injector, 1);
    let why = match strength.volume {
        Some(_) => "the fertiliser itself is too weak",
        None => "it would hold more than a litre can",
    };
    format!("so strong a stock of {name} cannot be made: thinned {thinned} times, {why}; {help}")
}

/// A rate that does not tell how much the label's percentages are of.
fn not_counted(args: &FeedArgs, percentages: Percentages) -> Rejected {
    let source = SourceText::argument("--rate", args.rate.as_deref().unwrap_or_default());
    Rejected::of(source.clone(), otherwise(source.whole(), percentages))
}

/// An amount by measure of what the label counts by weight, or the other way.
fn otherwise(at: Span, percentages: Percentages) -> Problem {
    let (what, help) = if percentages == Percentages::OfVolume {
        let help = "write it by measure, such as `4 mL/L` or `1 L`; or leave out that the label counts by volume";
        ("what is by weight does not go with percentages by volume", help)
    } else {
        let help = "weigh 100 mL of it: if that is 120 g, add `--density \"1.2 g/mL\"`, in `--with` `1.2 g/mL`; or say \
                    that its label counts grams in 100 mL (w/v), `--by-volume`, in `--with` `by volume`";
        ("what is by measure does not tell the weight", help)
    };
    Problem::new(Code::Quantity, at, what, "an amount in what the label counts").with_help(Some(help.to_owned()))
}
