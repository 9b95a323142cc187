//! `trayful feed`: how much fertiliser for a wanted strength, and what a label's rate comes to.

use super::args::FeedArgs;
use super::{Failure, Session, said};
use crate::behaviour::{Analysis, Feed, Percentages};
use crate::diagnostic::{Code, Problem, Rejected, SourceText};
use crate::report::FeedReport;
use crate::source::{above_zero, argument, argument_with_units, figures};
use crate::units::mass_density::gram_per_litre;
use crate::units::{
    Bounds, Fault, MassDensity, Rate, Rounding, Volume, density, measured, number, plain, rounded, within,
};

const DENSITY: &[(&str, f64)] = &[("g/ml", 1000.0), ("kg/l", 1000.0)];

figures! {
    /// What the label says.
    Label(Analysis): "three percentages such as `3-1-2`: N, P2O5, K2O", text => analysis(text);
    /// Milligrams of nitrogen in a litre.
    Strength(f64): "milligrams of nitrogen in a litre, such as `50`", text => positive(text, PPM);
    /// How many times an injector thins the stock.
    Injector(f64): "a ratio such as `1:200`", text => positive(text.strip_prefix("1:").unwrap_or(text), THINNED);
    /// Density of a liquid.
    LiquidDensity(MassDensity): "a density such as `1.2 g/mL`", text => liquid_density(text);
}

fn analysis(text: &str) -> Result<Analysis, Fault> {
    let what = "no analysis with nitrogen whose shares come to 100 % at most";
    Analysis::parse(text).ok_or_else(|| Fault::Impossible(format!("`{text}` is {what}")))
}

const PPM: Bounds = (0.01..=100_000.0, "a litre of feed holds 0.01 to 100000 mg of nitrogen");
const THINNED: Bounds = (1.0..=100_000.0, "an injector thins 1 to 100000 times");
const LIQUID: Bounds = (500.0..=5000.0, "a liquid weighs 0.5 to 5 g/mL");

fn positive(text: &str, bounds: Bounds) -> Result<f64, Fault> {
    let value = above_zero(number(text)?, text)?.to_f64();
    within(value, value, bounds, text)
}

fn liquid_density(text: &str) -> Result<MassDensity, Fault> {
    let liquid = measured(text, "density", DENSITY).map(MassDensity::new::<gram_per_litre>);
    let liquid = liquid.or_else(|_| density(text))?;
    within(liquid, liquid.get::<gram_per_litre>(), LIQUID, text)
}

pub(super) fn run(args: &FeedArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut rejected = Rejected::default();
    let analysis = rejected.accept(argument("--analysis", &args.analysis));
    let ppm = rejected.accept(args.ppm.as_deref().map(|text| argument("--ppm", text)).transpose());
    let rate =
        rejected.accept(args.rate.as_deref().map(|text| argument_with_units::<Rate>("--rate", text)).transpose());
    let injector = args.injector.as_deref().map_or(Ok(Injector(1.0)), |text| argument("--injector", text));
    let injector = rejected.accept(injector);
    let water =
        rejected.accept(args.water.as_deref().map(|text| argument_with_units::<Volume>("--water", text)).transpose());
    let density = rejected.accept(args.density.as_deref().map(|text| argument("--density", text)).transpose());
    let (Some(Label(analysis)), Some(ppm), Some(rate), Some(Injector(injector)), Some(water), Some(density)) =
        (analysis, ppm, rate, injector, water, density)
    else {
        return Err(rejected.into());
    };
    let density = density.map(|LiquidDensity(density)| density);
    let percentages = if args.by_volume { Percentages::OfVolume } else { Percentages::OfWeight(density) };
    let ppm = match (ppm, &rate) {
        (Some(Strength(ppm)), _) => ppm,
        (None, Some((rate, _))) => {
            // What the label asks for is what the plants get, however it is made.
            percentages.nitrogen_ppm(analysis, *rate).ok_or_else(|| otherwise(args))?
        }
        (None, None) => return said("say how strong: `--ppm 50`, or `--rate \"4 mL/L\"`"),
    };
    let units = rate.iter().flat_map(|(_, units)| units).chain(water.iter().flat_map(|(_, units)| units)).copied();
    let units = units.collect();
    let water = water.map(|(water, _)| water);
    let feed = Feed::of(analysis, percentages, ppm, water.map(|water| (water, injector)));
    if let Some(most) = feed.most_thinned().filter(|most| water.is_some() && injector > *most * (1.0 + 1e-9)) {
        return said(cannot_be_made(injector, most));
    }
    let rate = args.rate.as_deref().map(str::trim);
    let report = FeedReport { feed: &feed, analysis: args.analysis.trim(), rate, water, injector, units };
    session.report(&report, false)
}

/// What to do where the fertiliser alone is too weak for the stock.
fn cannot_be_made(injector: f64, most: f64) -> String {
    let help = if most >= 1.0 {
        format!("thin it at most {} times, `--injector 1:{0}`, or feed less", rounded(most, 0, Rounding::Down))
    } else {
        "feed less".to_owned()
    };
    let thinned = plain(injector, 1);
    format!("so strong a stock cannot be made: thinned {thinned} times, the fertiliser itself is too weak; {help}")
}

/// A rate by measure of what the label counts by weight, or the other way.
fn otherwise(args: &FeedArgs) -> Rejected {
    let source = SourceText::argument("--rate", args.rate.as_deref().unwrap_or_default());
    let (what, help) = if args.by_volume {
        let help = "write the rate by measure, such as `4 mL/L`; or leave `--by-volume` out";
        ("a rate by weight does not go with percentages by volume", help)
    } else {
        let help = "add what a millilitre of it weighs, `--density \"1.2 g/mL\"`; or `--by-volume`, if its label counts \
                    grams in 100 mL (w/v)";
        ("a rate by measure does not tell the weight", help)
    };
    let expected = "a rate in what the label counts";
    let problem = Problem::new(Code::Quantity, source.whole(), what, expected).with_help(Some(help.to_owned()));
    Rejected::of(source, problem)
}
