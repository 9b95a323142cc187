//! `trayful feed`: how much fertiliser for a wanted strength.

use super::args::FeedArgs;
use super::argument::argument;
use super::{DONE, Failure, Session};
use crate::behaviour::{Analysis, Feed};
use crate::diagnostic::{Code, Problem, Rejected};
use crate::report::FeedReport;
use crate::units::{Fault, density, measured, number, volume};

const DENSITY: &[(&str, f64)] = &[("g/ml", 1000.0), ("kg/l", 1000.0)];

pub(super) fn run(args: &FeedArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let analysis = argument("--analysis", &args.analysis, |at, problems| {
        let analysis = Analysis::parse(&args.analysis);
        if analysis.is_none() {
            let what = format!("`{}` is no analysis with nitrogen", args.analysis);
            problems.push(Problem::new(Code::Quantity, at, what, "three percentages such as `4-1-1`: N, P2O5, K2O"));
        }
        analysis
    });
    let quantity = |name, text: &str, expected: &str, read: &dyn Fn(&str) -> Result<f64, Fault>| {
        argument(name, text, |at, problems| problems.quantity(at, read(text), expected))
    };
    let positive = |text: &str| match number(text).map(crate::exact::Fraction::to_f64) {
        Ok(value) if value > 0.0 && value <= 1e5 => Ok(value),
        Ok(value) if value > 0.0 => Err(Fault::TooLarge(text.to_owned())),
        Ok(_) => Err(Fault::Zero(text.to_owned())),
        Err(fault) => Err(fault),
    };
    let ppm = quantity("--ppm", &args.ppm, "milligrams of nitrogen in a litre, such as `50`", &positive);
    let injector = match &args.injector {
        None => Ok(1.0),
        Some(text) => quantity("--injector", text, "a ratio such as `1:200`", &|text| {
            positive(text.strip_prefix("1:").unwrap_or(text))
        }),
    };
    let water = argument("--water", &args.water, |at, problems| {
        problems.measured(at, volume(&args.water), "a volume such as `1 US gal`")
    });
    let density = match &args.density {
        None => Ok(None),
        Some(text) => argument("--density", text, |at, problems| {
            let read = measured(text, "density", DENSITY)
                .map(crate::units::MassDensity::new::<crate::units::mass_density::gram_per_litre>)
                .or_else(|_| density(text));
            problems.quantity(at, read.map(Some), "a density such as `1.2 g/mL`")
        }),
    };
    let (analysis, ppm, injector, water, density) = match (analysis, ppm, injector, water, density) {
        (Ok(analysis), Ok(ppm), Ok(injector), Ok(water), Ok(density)) => (analysis, ppm, injector, water, density),
        (analysis, ppm, injector, water, density) => {
            let all = [analysis.err(), ppm.err(), injector.err(), water.err(), density.err()];
            return Err(all.into_iter().flatten().reduce(Rejected::and).unwrap_or_default().into());
        }
    };
    let feed = Feed::of(analysis, ppm, water, injector, density);
    let report = FeedReport { feed: &feed, analysis: args.analysis.trim(), water, injector };
    session.report(&report, false)?;
    Ok(DONE)
}
