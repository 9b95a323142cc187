//! Worked sheets and grams per kilogram computed by the authors of the model (`computed` in the reference, with an
//! implementation of its own), and what growers do.

use trayful::coir::{
    Action, Amounts, BATH_L_PER_KG, Brief, BufferTarget, Cation, Coir, Course, CourseCaution, CourseReport, CourseStep,
    Ion, Model, Remedy, Salt, SiteFractions, SoldAs, Solutes, USUAL_SOAK_HOURS, Verdict, diffusion_hours,
    dry_kg_of_loose, dry_kg_of_sold, loose_l_of_dry, sites_from_extract, soak_hours,
};

use super::{assert_relative, assert_within, salt, water};

const TETRAHYDRATE: &str = "Ca(NO3)2.4H2O";
const DOUBLE: &str = "5Ca(NO3)2.NH4NO3.10H2O";
const CHLORIDE: &str = "CaCl2.2H2O";
const GYPSUM: &str = "CaSO4.2H2O";

fn brief(dry_kg: f64, sold_as: SoldAs, formula: &str) -> Brief {
    Brief::new(dry_kg, sold_as.coir().unwrap(), salt(formula))
}

fn target(monovalent: f64) -> BufferTarget {
    BufferTarget::new(monovalent, 0.05, 0.8).unwrap()
}

/// The course of so many equivalents of calcium per equivalent of sodium and potassium on the raw sites, rinsed until
/// the EC is that of the target.
fn of_charge(brief: &Brief, charge: f64) -> Course {
    let Brief { dry_kg, coir, salt, soaks, .. } = brief;
    let mol = charge * coir.sites.monovalent() * coir.capacity_mol_kg * dry_kg;
    let mol = mol / (f64::from(*soaks) * salt.ions[Ion::Calcium] * Cation::Calcium.charge());
    let step = |action, l_per_kg: f64| CourseStep::new(action, l_per_kg * dry_kg).unwrap();
    let soak = || step(Action::Soak, BATH_L_PER_KG).with_salt(salt.clone(), mol).unwrap();
    let mut steps = vec![step(Action::Hydrate, coir.holds_l_kg)];
    steps.extend((0..brief.washes).map(|_| step(Action::Wash, BATH_L_PER_KG)));
    steps.extend((0..*soaks).map(|_| soak()));
    loop {
        let course = Course::new(*dry_kg, *coir, brief.tap, steps.clone(), brief.model).unwrap();
        if course.report().rinse_ec_ms_cm <= brief.target.rinse_ec_ms_cm {
            return course;
        }
        steps.push(step(Action::Rinse, BATH_L_PER_KG));
    }
}

/// Grams of tetrahydrate per kg dry by target and by 1, 2 and 3 soaks. One figure is not the printed one (146): see
/// [`one_rinse_more_saves_salt`].
#[test]
fn grams_per_kilogram() {
    #[rustfmt::skip]
    const TABLE: [(SoldAs, f64, [f64; 3]); 12] = [
        (SoldAs::Washed,    0.20, [46.0, 41.0, 37.0]),
        (SoldAs::Washed,    0.15, [65.0, 51.0, 48.0]),
        (SoldAs::Washed,    0.10, [97.0, 77.0, 63.0]),
        (SoldAs::Washed,    0.05, [206.0, 149.0, 122.0]),
        (SoldAs::Unclaimed, 0.20, [54.0, 44.0, 41.0]),
        (SoldAs::Unclaimed, 0.15, [72.0, 59.0, 54.0]),
        (SoldAs::Unclaimed, 0.10, [121.0, 93.0, 73.0]),
        (SoldAs::Unclaimed, 0.05, [264.0, 188.0, 130.0]),
        (SoldAs::Mild,      0.20, [17.0, 16.0, 15.0]),
        (SoldAs::Mild,      0.15, [29.0, 23.0, 22.0]),
        (SoldAs::Mild,      0.10, [49.0, 41.0, 33.0]),
        (SoldAs::Mild,      0.05, [120.0, 91.0, 66.0]),
    ];
    for (sold_as, monovalent, printed) in TABLE {
        for (soaks, grams) in (1..).zip(printed) {
            let brief = Brief { soaks, target: target(monovalent), ..brief(1.0, sold_as, TETRAHYDRATE) };
            let sheet = brief.design().unwrap();
            assert_eq!(sheet.verdict, Verdict::Met);
            let what = format!("{sold_as:?} to {monovalent} in {soaks}: {}", sheet.salt_g());
            // Printed to a gram.
            assert_within(&what, sheet.salt_g(), grams, 0.55);
        }
    }
}

/// Printed: unwashed coir to 0.05 in three soaks takes 146 g/kg. That is where "rinse until 0.8 mS/cm" flips from two
/// rinses (Na + K just above 0.05) to three (0.045); a third rinse from the start reaches 0.05 with 130 g.
#[test]
fn one_rinse_more_saves_salt() {
    let brief = Brief { soaks: 3, target: target(0.05), ..brief(1.0, SoldAs::Unclaimed, TETRAHYDRATE) };
    let outcome = |grams: f64| {
        let equivalents = 2.0 * salt(TETRAHYDRATE).moles(grams);
        let course = of_charge(&brief, equivalents / (0.70 * 0.5));
        (course.steps.len() - 6, course.report().sites.monovalent())
    };
    let (rinses_below, below) = outcome(145.0);
    let (rinses_above, above) = outcome(147.0);
    assert_eq!((rinses_below, rinses_above), (2, 3));
    assert!(below > 0.05 && above < 0.046);
    let sheet = brief.design().unwrap();
    assert_eq!(sheet.course.steps.len() - 6, 3);
    assert_within("Na + K", sheet.report.sites.monovalent(), 0.05, 1e-6);
}

/// The course of a worked sheet: 1.5 equivalents of calcium per equivalent of sodium and potassium.
fn report(sheet: &Brief) -> (Course, CourseReport) {
    let course = of_charge(sheet, 1.5);
    let report = course.report();
    (course, report)
}

fn soak_g(course: &Course) -> Vec<f64> {
    let soaks = course.steps.iter().filter(|step| step.action == Action::Soak);
    soaks.map(|step| step.doses[0].grams()).collect()
}

#[track_caller]
fn assert_ecs(report: &CourseReport, printed: &[f64]) {
    let ecs: Vec<f64> = report.results.iter().map(|result| result.bath.solution.ec_ms_cm()).collect();
    assert_eq!(ecs.len(), printed.len());
    for (got, want) in ecs.into_iter().zip(printed) {
        assert_within("EC", got, *want, 0.006);
    }
}

/// Worked sheet 1: 650 g brick, washed, double salt.
#[test]
fn sheet_1_brick_with_double_salt() {
    let dry_kg = dry_kg_of_sold(0.65);
    let (course, report) = report(&brief(dry_kg, SoldAs::Washed, DOUBLE));
    assert_within("dry", dry_kg, 0.55, 0.005);
    assert_within("hydrate", course.steps[0].water_l, 3.9, 0.05);
    for grams in soak_g(&course) {
        assert_within("salt", grams, 16.0, 0.5);
    }
    assert_ecs(&report, &[0.44, 2.21, 2.85, 1.24, 0.53]);
    let soak = &report.results[1];
    assert_within("fresh EC", soak.fresh.ec_ms_cm(), 3.19, 0.006);
    let dose = &course.steps[1].doses[0];
    let calcium_mmol_l = dose.mol * dose.salt.ions[Ion::Calcium] * 1e3 / course.steps[1].water_l;
    assert_within("calcium", calcium_mmol_l, 13.1, 0.05);
    assert_within("g/L", dose.grams() / course.steps[1].water_l, 2.84, 0.005);
    for (cation, share) in
        [(Cation::Sodium, 0.010), (Cation::Potassium, 0.109), (Cation::Ammonium, 0.023), (Cation::Calcium, 0.797)]
    {
        assert_within(cation.ion().word(), report.sites.of(cation), share, 6e-4);
    }
    // PHREEQC on the same course: Na + K .1190, EC .534.
    assert_within("PHREEQC", report.sites.monovalent(), 0.1190, 6e-5);
    assert_relative("PHREEQC EC", report.rinse_ec_ms_cm, 0.534, 2e-3);
    assert_within("water", report.water_l, 26.0, 0.5);
    assert_within("drain", report.waste.drain_l, 22.0, 0.5);
    assert_within("nitrogen", report.waste.nitrogen_g, 4.5, 0.06);
    assert_relative("N mg/L", report.waste.nitrogen_g * 1e3 / report.waste.drain_l, 206.0, 0.01);
    assert_eq!(report.tub.tub_l, 15.0);
}

/// Worked sheet 2: 5 kg block, washed, tetrahydrate.
#[test]
fn sheet_2_block_with_tetrahydrate() {
    let (course, report) = report(&brief(dry_kg_of_sold(5.0), SoldAs::Washed, TETRAHYDRATE));
    for grams in soak_g(&course) {
        assert_within("salt", grams, 132.0, 0.6);
    }
    assert_within("all", course.salt_g()[0].1, 263.0, 0.6);
    assert_within("fresh EC", report.results[1].fresh.ec_ms_cm(), 2.87, 0.006);
    assert_ecs(&report, &[0.44, 2.02, 2.59, 1.13, 0.48]);
    for (cation, share) in [(Cation::Sodium, 0.010), (Cation::Potassium, 0.112), (Cation::Calcium, 0.815)] {
        assert_within(cation.ion().word(), report.sites.of(cation), share, 6e-4);
    }
    assert_within("water", report.water_l, 200.0, 0.5);
    assert_within("drain", report.waste.drain_l, 170.0, 0.5);
    assert_within("N mg/L", report.waste.nitrate_n_mg_l, 175.0, 1.0);
    assert_within("N", report.waste.nitrogen_g, 29.7, 0.1);
    assert_within("contents", report.tub.contents_l, 75.0, 0.5);
    assert_eq!(report.tub.tub_l, 120.0);
    assert_eq!(report.tub.runs(120.0), Ok(1));
    assert_eq!(report.tub.runs(60.0), Ok(2));
    assert!(report.tub.runs(0.0).is_err());
}

/// Worked sheet 3: 5 kg block, unwashed, double salt.
#[test]
fn sheet_3_unwashed_block() {
    let (course, report) = report(&brief(dry_kg_of_sold(5.0), SoldAs::Unclaimed, DOUBLE));
    for grams in soak_g(&course) {
        assert_within("salt", grams, 121.0, 0.6);
    }
    assert_ecs(&report, &[4.13, 1.77, 0.75, 2.36, 2.93, 1.27, 0.55]);
    assert_within("Na", report.sites.of(Cation::Sodium), 0.007, 6e-4);
    assert_within("K", report.sites.of(Cation::Potassium), 0.132, 6e-4);
    assert_within("water", report.water_l, 285.0, 0.5);
    assert_within("N", report.waste.nitrogen_g, 35.0, 0.5);
}

/// Worked sheet 4: 5 kg block, washed, calcium chloride dihydrate. Also PHREEQC's Na + K .122 and no nitrate.
#[test]
fn sheet_4_calcium_chloride() {
    let (course, report) = report(&brief(dry_kg_of_sold(5.0), SoldAs::Washed, CHLORIDE));
    for grams in soak_g(&course) {
        assert_within("salt", grams, 82.0, 0.6);
        assert_within("g/L", grams / 42.5, 1.93, 0.006);
    }
    assert_ecs(&report, &[0.44, 2.09, 2.69, 1.17, 0.50]);
    assert_within("Na + K", report.sites.monovalent(), 0.122, 6e-4);
    assert_eq!(report.waste.nitrate_n_mg_l, 0.0);
    assert_within("Cl, g", report.waste.chloride_mg_l * report.waste.drain_l * 1e-3, 80.0, 2.0);
}

/// Worked sheet 5: the brick in one soak, designed for 0.15.
#[test]
fn sheet_5_one_soak() {
    let sheet = Brief { soaks: 1, ..brief(dry_kg_of_sold(0.65), SoldAs::Washed, DOUBLE) }.design().unwrap();
    assert_within("salt", sheet.salt_g(), 32.0, 0.5);
    assert_within("fresh EC", sheet.report.results[1].fresh.ec_ms_cm(), 6.13, 0.06);
    let ecs: Vec<f64> = sheet.report.results.iter().map(|result| result.bath.solution.ec_ms_cm()).collect();
    for (got, want) in ecs.iter().zip([0.44, 4.09, 1.79, 0.77]) {
        assert_within("EC", *got, want, 0.03);
    }
}

/// Splitting the same 62 g/kg: .156, .122, .102 in 1, 2, 3 soaks (two rinses).
#[test]
fn splitting_beats_strength() {
    for (soaks, printed) in [(1, 0.156), (2, 0.122), (3, 0.102)] {
        let brief = Brief { soaks, ..brief(1.0, SoldAs::Washed, TETRAHYDRATE) };
        assert_within("Na + K", of_charge(&brief, 1.5).report().sites.monovalent(), printed, 6e-4);
    }
}

/// 62 g/kg in two soaks: how the result moves with what is not known (log K of K .4 and 1.0, of Ca and Mg ±.5; capacity
/// .3 and .95).
#[test]
fn sensitivity() {
    let model = |cations: &[Cation], delta| Model::default().with_moved_log_k(cations, delta);
    let divalent = [Cation::Calcium, Cation::Magnesium];
    let base = brief(1.0, SoldAs::Washed, TETRAHYDRATE);
    for (model, printed) in [
        (model(&[Cation::Potassium], -0.3), 0.072),
        (model(&[Cation::Potassium], 0.3), 0.191),
        (model(&divalent, -0.5), 0.186),
        (model(&divalent, 0.5), 0.074),
        (model(&divalent, 1.0), 0.042),
    ] {
        let course = of_charge(&Brief { model, ..base.clone() }, 1.5);
        assert_within("Na + K", course.report().sites.monovalent(), printed, 6e-4);
    }
    let [low, high] = of_charge(&base, 1.5).monovalent_range();
    assert_within("capacity .3", low, 0.061, 6e-4);
    assert_within("capacity .95", high, 0.266, 6e-4);
    // With a measured capacity only the constants are in doubt.
    let washed = SoldAs::Washed.coir().unwrap();
    let soluble = Solutes::of_salts([(&salt("NaCl"), 8.0), (&salt("KCl"), 16.0)]).unwrap();
    let measured = Coir::measured(0.5, washed.sites, soluble, 7.0).unwrap();
    let [low, high] = of_charge(&Brief::new(1.0, measured, salt(TETRAHYDRATE)), 1.5).monovalent_range();
    assert_within("log K of K .4", low, 0.072, 6e-4);
    assert_within("log K of K 1.0", high, 0.191, 6e-4);
}

/// What a saturated extract says of the sites: low, mid, high; Na, K, Ca, Mg.
#[test]
fn sites_from_extracts() {
    for ([potassium, sodium, calcium, magnesium], printed) in [
        ([3.0, 1.5, 0.3, 0.2], [0.025, 0.247, 0.512, 0.216]),
        ([15.0, 4.0, 0.5, 0.4], [0.034, 0.631, 0.223, 0.112]),
        ([50.0, 8.0, 1.0, 0.8], [0.027, 0.861, 0.074, 0.038]),
    ] {
        let extract = Amounts::from_iter([
            (Ion::Potassium, potassium),
            (Ion::Sodium, sodium),
            (Ion::Calcium, calcium),
            (Ion::Magnesium, magnesium),
        ]);
        let sites = sites_from_extract(extract, &Model::default()).unwrap();
        let cations = [Cation::Sodium, Cation::Potassium, Cation::Calcium, Cation::Magnesium];
        for (cation, printed) in cations.into_iter().zip(printed) {
            assert_within(cation.ion().word(), sites.of(cation), printed, 6e-4);
        }
    }
    assert!(sites_from_extract(Amounts::ZERO, &Model::default()).is_err());
}

/// Gypsum, excess solid, washed coir: g dissolved per kg and Na + K after 1 to 4 baths, and their EC.
#[test]
fn gypsum_in_excess() {
    for (bath_l, monovalent) in [
        (10.0, [0.194, 0.118, 0.071, 0.043]),
        (5.0, [0.241, 0.182, 0.137, 0.103]),
        (15.0, [0.163, 0.082, 0.042, 0.021]),
    ] {
        let mut steps = vec![CourseStep::new(Action::Hydrate, 7.0).unwrap()];
        steps.extend(
            (0..4).map(|_| CourseStep::new(Action::Soak, bath_l).unwrap().with_salt(salt(GYPSUM), 1.0).unwrap()),
        );
        let coir = SoldAs::Washed.coir().unwrap();
        let baths = Course::new(1.0, coir, Solutes::NONE, steps, Model::default()).unwrap().run();
        for (bath, printed) in baths[1..].iter().zip(monovalent) {
            assert_within("Na + K", bath.sites.monovalent(), printed, 6e-4);
        }
        if bath_l == 10.0 {
            let printed = [(63.0, 3.64), (28.0, 3.01), (28.0, 2.68), (27.0, 2.50)];
            for (bath, (grams, ec_ms_cm)) in baths[1..].iter().zip(printed) {
                assert_within("g dissolved", salt(GYPSUM).grams(bath.gypsum_dissolved_mol), grams, 0.6);
                assert_within("EC", bath.solution.ec_ms_cm(), ec_ms_cm, 0.006);
            }
        }
    }
}

/// As a designed salt gypsum is supplied so that none is left, or the EC of the rinses could not fall below 2.26 mS/cm:
/// 55 to 60 g/kg in the first bath, 25 to 28 g in later ones.
#[test]
fn designed_gypsum_leaves_no_solid() {
    let strict = Brief { target: target(0.05), ..brief(1.0, SoldAs::Washed, GYPSUM) };
    // Out of reach in two soaks: then as much is supplied as dissolves.
    let at_most = strict.design().unwrap().course;
    let grams = soak_g(&at_most);
    assert!((55.0..60.0).contains(&grams[0]) && (24.0..28.0).contains(&grams[1]), "{grams:?}");
    for result in at_most.report().results {
        assert_eq!(result.bath.gypsum_left_mol, 0.0);
    }
    let usual = brief(1.0, SoldAs::Washed, GYPSUM).design().unwrap();
    assert_eq!(usual.verdict, Verdict::Met);
    assert_eq!(usual.report.waste.nitrate_n_mg_l, 0.0);
    assert!(usual.report.cautions.is_empty());
}

/// What does not reach a target names what does, and that does.
#[test]
fn out_of_reach() {
    fn tetrahydrate() -> Salt {
        Salt::from_formula("calcium nitrate tetrahydrate", TETRAHYDRATE).unwrap()
    }
    let strict = Brief { soaks: 1, target: target(0.08), ..brief(1.0, SoldAs::Washed, GYPSUM) };
    let sheet = Brief { alternatives: || vec![tetrahydrate()], ..strict.clone() }.design().unwrap();
    let Verdict::OutOfReach(remedies) = &sheet.verdict else { panic!("reached") };
    assert!(sheet.report.sites.monovalent() > 0.08);
    let soaks = remedies.iter().find_map(|remedy| match remedy {
        Remedy::MoreSoaks(soaks) => Some(*soaks),
        _ => None,
    });
    let soaks = soaks.unwrap();
    assert!(remedies.contains(&Remedy::AnotherSalt("calcium nitrate tetrahydrate".to_owned())));
    assert_eq!(Brief { soaks, ..strict.clone() }.design().unwrap().verdict, Verdict::Met);
    assert_ne!(Brief { soaks: soaks - 1, ..strict.clone() }.design().unwrap().verdict, Verdict::Met);
    assert_eq!(Brief { salt: tetrahydrate(), ..strict }.design().unwrap().verdict, Verdict::Met);
}

/// Tap water that is saltier than the target can be rinsed for ever.
#[test]
fn salty_tap_water() {
    let salty = water([(Ion::Sodium, 10.0), (Ion::Chloride, 10.0)]);
    let sheet = Brief { tap: salty, ..brief(1.0, SoldAs::Washed, TETRAHYDRATE) }.design().unwrap();
    assert_eq!(sheet.verdict, Verdict::OutOfReach(vec![Remedy::PureWater]));
    assert!(sheet.course.steps.len() < 10);
}

/// The charge of calcium in hard tap water helps.
#[test]
fn hard_tap_water_saves_salt() {
    let hard = water([(Ion::Calcium, 1.5), (Ion::Chloride, 1.0)]);
    let soft = brief(1.0, SoldAs::Washed, TETRAHYDRATE);
    let with_hard = Brief { tap: hard, ..soft.clone() }.design().unwrap();
    assert_eq!(with_hard.verdict, Verdict::Met);
    assert!(with_hard.salt_g() < soft.design().unwrap().salt_g());
}

/// A target that the coir meets as it is needs no salt.
#[test]
fn nothing_to_do() {
    assert!(SoldAs::Buffered.coir().is_none());
    let sites = SiteFractions::new([(Cation::Potassium, 0.1), (Cation::Calcium, 0.9)]).unwrap();
    let coir = Coir::measured(0.5, sites, Solutes::NONE, 7.0).unwrap();
    let sheet = Brief::new(1.0, coir, salt(TETRAHYDRATE)).design().unwrap();
    assert_eq!((&sheet.verdict, sheet.course.steps.len()), (&Verdict::Met, 1));
    assert!(sheet.salt_g() == 0.0 && sheet.salt_g().is_sign_positive());
}

#[test]
fn salts_side_by_side() {
    let salts = [TETRAHYDRATE, DOUBLE, CHLORIDE, GYPSUM].map(salt);
    let washed = brief(4.25, SoldAs::Washed, TETRAHYDRATE);
    let rows = salts.map(|salt| Brief { salt, ..washed.clone() }.design().unwrap());
    // Grams against the tetrahydrate: x .623 for the chloride, x .915 for the double salt at equal calcium. Its ammonium
    // helps (Na + K .119 for .122 at equal calcium), so for an equal result it takes a little less.
    let ratio = |row: usize| rows[row].salt_g() / rows[0].salt_g();
    assert_relative("chloride", ratio(2), 0.623, 2e-3);
    assert!((0.88..0.915).contains(&ratio(1)), "{}", ratio(1));
    assert!(rows[..2].iter().all(|row| row.report.waste.nitrate_n_mg_l > 100.0));
    assert!(rows[2..].iter().all(|row| row.report.waste.nitrogen_g == 0.0));
    assert!(rows.iter().all(|row| row.verdict == Verdict::Met && row.report.rinse_ec_ms_cm <= 0.8));
    assert!(rows.iter().all(|row| row.report.sites.monovalent() <= 0.15));
    assert!(brief(1.0, SoldAs::Washed, "KNO3").design().is_err());
}

/// Diffusion hours by radius in mm, printed to two figures.
#[test]
fn soak_hours_of_particles() {
    for (radius_mm, fast, slow, rounding) in [
        (0.5, 0.1, 0.14, 0.006),
        (1.0, 0.4, 0.6, 0.05),
        (3.0, 3.5, 5.1, 0.06),
        (5.0, 10.0, 14.0, 0.5),
        (10.0, 39.0, 57.0, 0.5),
    ] {
        let [least, most] = diffusion_hours(2.0 * radius_mm).unwrap();
        assert_within("fast", least, fast, rounding);
        assert_within("slow", most, slow, rounding);
    }
}

/// Common practice: fines 8 to 12 h, mixed fibre 24 h, chips of 10 to 20 mm 36 to 48 h; 12 to 48 h in all. (Gbollie,
/// Mwonga & Kibe 2021 found 36 h best of 12 to 72.)
#[test]
fn soak_hours_of_common_practice() {
    assert_eq!(USUAL_SOAK_HOURS, 24.0);
    assert_eq!(soak_hours(2.0).unwrap(), USUAL_SOAK_HOURS);
    assert!((36.0..=48.0).contains(&soak_hours(15.0).unwrap()));
    assert!(soak_hours(0.0).is_err() && soak_hours(f64::NAN).is_err());
}

/// Common practice: every soak is followed by a rinse, for what the calcium drove off is in the water held.
#[test]
fn a_course_ends_with_a_rinse() {
    for sold_as in [SoldAs::Washed, SoldAs::Unclaimed, SoldAs::Mild] {
        let sheet = brief(1.0, sold_as, TETRAHYDRATE).design().unwrap();
        let actions: Vec<Action> = sheet.course.steps.iter().map(|step| step.action).collect();
        assert_eq!(actions.first(), Some(&Action::Hydrate));
        assert_eq!(actions.last(), Some(&Action::Rinse));
        let washes = actions.iter().filter(|&&action| action == Action::Wash).count();
        assert_eq!(washes, if sold_as == SoldAs::Unclaimed { 2 } else { 0 });
        assert!(sheet.report.rinse_ec_ms_cm <= 0.8);
    }
}

/// Gbollie, Mwonga & Kibe 2021 (abstract): 10 L/kg, 67 g/kg, one soak, then washed; K -78 %, Na -92 % were observed.
/// With two rinses the model loses K -56 to -71 %, Na -80 to -84 %: the same order, on the cautious side.
#[test]
fn observed_losses_are_larger_than_modelled() {
    for sold_as in [SoldAs::Washed, SoldAs::Unclaimed] {
        let coir = sold_as.coir().unwrap();
        let nitrate = salt(TETRAHYDRATE);
        let mol = nitrate.moles(67.0);
        let plain = |action, water_l| CourseStep::new(action, water_l).unwrap();
        let steps = vec![
            plain(Action::Hydrate, 7.0),
            plain(Action::Soak, 10.0).with_salt(nitrate, mol).unwrap(),
            plain(Action::Rinse, 10.0),
            plain(Action::Rinse, 10.0),
        ];
        let report = Course::new(1.0, coir, Solutes::NONE, steps, Model::default()).unwrap().report();
        let lost = |cation| 100.0 * (1.0 - report.sites.of(cation) / coir.sites.of(cation));
        let (potassium, sodium) = (lost(Cation::Potassium), lost(Cation::Sodium));
        assert!((56.0..78.0).contains(&potassium) && (80.0..97.0).contains(&sodium), "K {potassium} Na {sodium}");
    }
}

/// 13 L per kg as sold at 85 % dry: 0.0654 kg dry per loose litre, both ways.
#[test]
fn loose_litres() {
    assert_within("dry", dry_kg_of_loose(1.0), 0.0654, 5e-5);
    assert_within("block", loose_l_of_dry(dry_kg_of_sold(5.0)), 65.0, 1e-9);
}

/// PHREEQC: fresh calcium 25 with sulfate 15 or 20 mmol/L is below and above the saturation of gypsum (-.06, +.02).
#[test]
fn sulfate_with_calcium_is_warned_of() {
    let cautions = |sulfate_mol: f64| {
        let mixed = CourseStep::new(Action::Soak, 10.0).unwrap().with_salt(salt("Ca(NO3)2"), 0.25).unwrap();
        let steps =
            vec![CourseStep::new(Action::Hydrate, 7.0).unwrap(), mixed.with_salt(salt("MgSO4"), sulfate_mol).unwrap()];
        let coir = SoldAs::Washed.coir().unwrap();
        Course::new(1.0, coir, Solutes::NONE, steps, Model::default()).unwrap().report().cautions
    };
    let warned = |cautions: &[CourseCaution]| {
        cautions.iter().any(|caution| caution.code == "gypsum-may-form" && caution.text.starts_with("step 2:"))
    };
    assert!(!warned(&cautions(0.15)));
    assert!(warned(&cautions(0.20)));
    // Drinking water may hold 10 mg/L of nitrate nitrogen (US).
    assert!(cautions(0.15).iter().any(|caution| caution.code == "nitrate-above-limit"));
}

/// No bath is made stronger than the law of conductivity and activity can follow.
#[test]
fn strong_baths_are_refused() {
    let soak = || CourseStep::new(Action::Soak, 10.0).unwrap();
    assert!(soak().with_salt(salt("Ca(NO3)2"), 5.0).is_ok());
    assert!(soak().with_salt(salt("Ca(NO3)2"), 5.1).is_err());
    assert!(soak().with_salt(salt("Ca(NO3)2"), 3.0).unwrap().with_salt(salt("MgSO4"), 3.0).is_err());
    assert!(soak().with_salt(salt(GYPSUM), 20.0).is_ok(), "a solid limits itself");
    let rich = Coir::measured(50.0, SoldAs::Washed.coir().unwrap().sites, Solutes::NONE, 7.0).unwrap();
    let sheet = Brief::new(1.0, rich, salt(TETRAHYDRATE)).design().unwrap();
    assert!(sheet.course.steps.iter().all(|step| step.strength_mol_l() <= 0.5 + 1e-9));
    assert_ne!(sheet.verdict, Verdict::Met);
}
