//! How long a worksheet takes, and a sweep of 10,000 courses: `cargo bench --bench coir`.
#![allow(clippy::print_stdout)]

use std::{error::Error, hint::black_box, time::Instant};

use trayful::coir::{Action, Brief, BufferTarget, CoirError, Course, CourseStep, Model, Salt, SoldAs, Solutes, Stated};

fn main() -> Result<(), Box<dyn Error>> {
    let salt = |formula| Salt::from_formula(formula, formula);
    let brief = |formula| -> Result<Brief, Box<dyn Error>> {
        Ok(Brief::new(4.25, SoldAs::Washed.coir().ok_or("buffered")?, salt(formula)?))
    };
    let (nitrate, gypsum) = (brief("Ca(NO3)2.4H2O")?, brief("CaSO4.2H2O")?);
    let out_of_reach = Brief { soaks: 1, target: BufferTarget::new(0.005, 0.005, 0.8)?, ..nitrate.clone() };
    let salts = [salt("Ca(NO3)2.4H2O")?, salt("5Ca(NO3)2.NH4NO3.10H2O")?, salt("CaCl2.2H2O")?, salt("CaSO4.2H2O")?];
    measure("worksheet, calcium nitrate", 1000, || nitrate.design())?;
    measure("worksheet, gypsum", 200, || gypsum.design())?;
    let days = |steps: &[CourseStep]| u32::try_from(steps.len()).ok();
    measure("courses weighed, calcium nitrate", 200, || nitrate.weigh(Stated::default(), &days))?;
    measure("courses weighed, gypsum", 50, || gypsum.weigh(Stated::default(), &days))?;
    measure("worksheet, out of reach", 50, || out_of_reach.design())?;
    measure("four salts compared", 100, || {
        salts.iter().map(|salt| Brief { salt: salt.clone(), ..nitrate.clone() }.design()).collect::<Result<Vec<_>, _>>()
    })?;
    measure("10,000 courses without sulfate", 1, || sweep("Ca(NO3)2", 0.025))?;
    measure("10,000 courses with sulfate", 1, || sweep("MgSO4", 0.004))?;
    measure("10,000 courses with gypsum in excess", 1, || sweep("CaSO4.2H2O", 0.1))?;
    Ok(())
}

/// The best of five, per call.
fn measure<T>(what: &str, calls: u32, job: impl Fn() -> Result<T, CoirError>) -> Result<(), Box<dyn Error>> {
    let mut best = f64::INFINITY;
    for _ in 0..5 {
        let start = Instant::now();
        for _ in 0..calls {
            black_box(job()?);
        }
        best = best.min(start.elapsed().as_secs_f64() / f64::from(calls));
    }
    println!("{what:40} {:10.3} ms", best * 1e3);
    Ok(())
}

/// Hydrate, two soaks of 1 to 2 times the strength (calcium nitrate beside the salt), two rinses.
fn sweep(formula: &str, mol_per_l: f64) -> Result<f64, CoirError> {
    let (salt, nitrate) = (Salt::from_formula(formula, formula)?, Salt::from_formula("Ca(NO3)2", "Ca(NO3)2")?);
    let coir = SoldAs::Washed.coir().ok_or(CoirError::NoSteps)?;
    let mut sum = 0.0;
    for number in 0..10_000 {
        let strength = mol_per_l * (1.0 + f64::from(number) * 1e-4);
        let soak = CourseStep::new(Action::Soak, 10.0)?
            .with_salt(salt.clone(), 10.0 * strength)?
            .with_salt(nitrate.clone(), 0.1)?;
        let rinse = CourseStep::new(Action::Rinse, 10.0)?;
        let steps = vec![CourseStep::new(Action::Hydrate, 7.0)?, soak.clone(), soak, rinse.clone(), rinse];
        let baths = Course::new(1.0, coir, Solutes::NONE, steps, Model::default())?.run();
        sum += baths.iter().map(|bath| bath.solution.ec_ms_cm()).sum::<f64>();
    }
    Ok(sum)
}
