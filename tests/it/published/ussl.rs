//! US Salinity Laboratory Staff 1954, USDA Handbook 60: exchangeable sodium of soils from the sodium adsorption ratio.
//! Measured, and independent of PHREEQC. (Formula read.)

use trayful::coir::{Amounts, Cation, Convention, Ion, Model, sites_from_extract};

use super::assert_within;

/// ESP = 100 ESR / (1 + ESR), ESR = -0.0126 + 0.01475 SAR.
fn handbook_esp(sar: f64) -> f64 {
    let esr = 0.014_75 * sar - 0.0126;
    100.0 * esr / (1.0 + esr)
}

/// SAR = Na / √((Ca + Mg) / 2) in meq/L, at a total of `meq_l`.
fn modelled_esp(sar: f64, meq_l: f64, model: &Model) -> f64 {
    let calcium_meq_l = {
        // c + sar √(c/2) = total, solved for √c
        let half = sar / 2f64.sqrt() / 2.0;
        ((half * half + meq_l).sqrt() - half).powi(2)
    };
    let sodium = meq_l - calcium_meq_l;
    let extract =
        Amounts::from_iter([(Ion::Sodium, sodium), (Ion::Calcium, calcium_meq_l / 2.0), (Ion::Chloride, meq_l)]);
    100.0 * sites_from_extract(extract, model).unwrap().of(Cation::Sodium)
}

#[test]
fn sodium_follows_the_handbook_line() {
    for sar in [5.0, 10.0, 15.0, 20.0] {
        for meq_l in [39.0, 110.0] {
            assert_within(
                &format!("ESP at SAR {sar}"),
                modelled_esp(sar, meq_l, &Model::default()),
                handbook_esp(sar),
                0.35,
            );
        }
    }
    assert_within("ESP at SAR 30", modelled_esp(30.0, 39.0, &Model::default()), handbook_esp(30.0), 1.25);
}

/// Activities instead of molalities miss the line and move away from it with strength: why molalities are the default.
#[test]
fn activities_miss_the_line() {
    let model = Model { convention: Convention::Activity, ..Model::default() };
    for sar in [5.0, 10.0, 15.0, 20.0, 30.0] {
        let (weak, strong) = (modelled_esp(sar, 39.0, &model), modelled_esp(sar, 110.0, &model));
        assert!(weak > handbook_esp(sar) + 1.0 && strong > weak, "SAR {sar}: {weak}, {strong}");
    }
}
