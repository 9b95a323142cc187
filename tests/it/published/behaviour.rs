//! Air and water in cells, acidity, salts and weight of mixes.

use super::assert_within;
use trayful::behaviour::{
    CORE_CM, Curve, Drained, NoCell, NoPh, Pores, TRAY_KG, Verdict, WANTED_PH, dry_density, least_p, lime_for, ph,
    shape_of, sign_flip_p, tray_kg,
};
use trayful::catalogue::{Catalogue, Frustum, FrustumKind, Handle, Ingredient};
use trayful::plan::water_of_dry;
use trayful::units::length::centimetre;
use trayful::units::{Length, in_litres};

/// Top, bottom and height in centimetres.
fn cell(kind: FrustumKind, [top, bottom, depth]: [f64; 3]) -> Frustum {
    let [top, bottom, depth] = [top, bottom, depth].map(Length::new::<centimetre>);
    Frustum { kind, top, bottom, depth }
}

fn square(measures: [f64; 3]) -> Frustum {
    cell(FrustumKind::Square, measures)
}

fn core(height: f64) -> Frustum {
    square([5.0, 5.0, height])
}

fn ingredient(name: &str) -> Handle<Ingredient> {
    Catalogue::built_in().ingredients.find(name).unwrap()
}

/// A mix of the table: name and parts, and how much is kept of it.
fn pores(parts: &[(&str, f64)], kept: f64) -> Pores {
    let handles: Vec<_> = parts.iter().map(|(name, parts)| (ingredient(name), *parts)).collect();
    Pores::of(&handles.iter().map(|(handle, parts)| (&**handle, *parts)).collect::<Vec<_>>(), kept).unwrap()
}

fn drained(parts: &[(&str, f64)], kept: f64, tray: &str) -> Drained {
    pores(parts, kept).in_cell(&shape_of(&Catalogue::built_in().trays.find(tray).unwrap()).unwrap())
}

/// Closed forms of the curve: in a prism with the exponent 2 the mean is `asinh(aH) / (aH)`; in a square frustum
/// `∫ (p + q z)² / sqrt(1 + (a z)²) dz` is elementary (solved by hand).
#[test]
fn closed_forms_of_the_curve() {
    let curve = |saturated, residual, per_cm, exponent| Curve { saturated, residual, per_cm, exponent };
    let steep = curve(1.0, 0.0, 0.2, 2.0);
    let mean = steep.water_in(&core(10.0));
    assert_within("prism", mean, 2.0_f64.asinh() / 2.0, 1e-12);
    assert_within("prism", mean, 0.721_817_737_4, 1e-9);
    let [top, bottom, height, a] = [3.8, 2.5, 5.7, 0.2];
    let (p, q) = (bottom, (top - bottom) / height);
    let (x, root) = (a * height, f64::hypot(1.0, a * height));
    let area = p * p / a * x.asinh()
        + 2.0 * p * q / (a * a) * (root - 1.0)
        + q * q / (2.0 * a.powi(3)) * (x * root - x.asinh());
    let volume = height / 3.0 * (top * top + top * bottom + bottom * bottom);
    let narrow = square([top, bottom, height]);
    assert_within("frustum", steep.water_in(&narrow), area / volume, 1e-12);
    assert_within("frustum", steep.water_in(&narrow), 0.831_540_630_9, 1e-10);
    // As wide all the way, or round, it is all one.
    assert_eq!(steep.water_in(&cell(FrustumKind::Round, [top, bottom, height])), steep.water_in(&narrow));
    // Computed beforehand for a mix of peat.
    assert_within("peat", curve(0.87, 0.20, 0.1658, 1.721).water_in(&narrow), 0.789_375, 1e-6);
    assert_within("full", curve(0.87, 0.20, 0.0, 1.7).water_in(&narrow), 0.87, 1e-12);
}

/// Fifty cells and mixes by scipy's quadrature and root finder: `tests/reference/retention.py`.
#[test]
fn scipy_agrees_on_fifty_cells() {
    let cases: Vec<serde_json::Value> = serde_json::from_str(include_str!("../../reference/retention.json")).unwrap();
    assert_eq!(cases.len(), 50);
    for case in &cases {
        let of = |key: &str| case[key].as_f64().unwrap();
        let kind = if case["shape"] == "round" { FrustumKind::Round } else { FrustumKind::Square };
        let curve = Curve::of_core(of("porosity"), of("water_held"));
        assert_within("scale", curve.per_cm / of("per_cm"), 1.0, 1e-8);
        let cell = cell(kind, ["top_cm", "bottom_cm", "height_cm"].map(of));
        assert_within(&case.to_string(), curve.water_in(&cell), of("water"), 1e-9);
    }
}

/// Bilderback & Fonteno 1987, J. Environ. Hort. 5:180 (read): from a #1 pot to a bedding-plant cell the air of a mix fell
/// from 28 to 12 % and its water rose from 43 to 59 %. The heights of pot and cell, 16 and 4.8 cm, are from memory.
#[test]
fn a_pot_and_a_cell_of_one_mix() {
    let pot = cell(FrustumKind::Round, [16.5, 13.5, 16.0]);
    let (mut low, mut high) = (0.3, 0.71);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if Curve::of_core(0.71, middle).water_in(&pot) < 0.43 { low = middle } else { high = middle }
    }
    let mix = Pores { porosity: [0.71; 3], water_held: [low; 3] };
    let (pot, cell) = (mix.in_cell(&pot), mix.in_cell(&square([3.8, 2.6, 4.8])));
    assert_within("air in the pot", pot.air[1], 0.28, 1e-6);
    assert_within("water in the cell", cell.water[1], 0.59, 0.02);
    assert_within("air in the cell", cell.air[1], 0.12, 0.02);
    assert_eq!((pot.verdict, cell.verdict), (Verdict::Dry, Verdict::Good));
}

/// Owen & Altland 2008, HortScience 43:505 (read): between cores 3.8 and 15.2 cm tall the water held fell by 20 and 42 %,
/// in mixes of bark.
#[test]
fn tall_cores_hold_less() {
    for name in ["pine bark", "peat", "coir", "compost", "vermiculite"] {
        let held = |height| pores(&[(name, 1.0)], 1.0).in_cell(&core(height)).water[1];
        let ratio = held(15.2) / held(3.8);
        assert!((0.58..=0.95).contains(&ratio), "{name}: {ratio}");
        assert!([3.8, 7.6, 15.2, 30.0].windows(2).all(|pair| held(pair[0]) > held(pair[1])), "{name}");
    }
}

/// A porometer's table, Int. J. Agronomy 2012, 978528 (read): air and water of peat 11 + 87, of bark 31 + 48; wood chip
/// 28 + 57 = 85 and 48 + 42 = 90 are not in our table.
#[test]
fn rows_of_a_porometer() {
    for (name, air, water) in [("peat", 0.11, 0.87), ("pine bark", 0.31, 0.48)] {
        let found = pores(&[(name, 1.0)], 1.0).in_cell(&core(CORE_CM));
        assert_within(name, found.air[1], air, 1e-9);
        assert_within(name, found.water[1], water, 1e-9);
    }
    for (air, water, porosity) in [(0.28, 0.57, 0.85), (0.48, 0.42, 0.90)] {
        let found = Pores { porosity: [porosity; 3], water_held: [water; 3] }.in_cell(&core(CORE_CM));
        assert_within("chip", found.air[1], air, 1e-9);
    }
}

/// Computed beforehand for pure peat: air in a cell of 72 (3.8, 2.5, 5.7 cm), and by the heights of the table's cells.
#[test]
fn peat_in_smaller_and_smaller_cells() {
    let peat = pores(&[("peat", 1.0)], 1.0);
    assert_within("72", peat.in_cell(&square([3.8, 2.5, 5.7])).air[1], 0.090, 5e-4);
    let air = ["12 cm pot", "72-cell", "128-cell", "512-cell"].map(|tray| drained(&[("peat", 1.0)], 1.0, tray));
    assert!(air.windows(2).all(|pair| pair[0].air[1] > pair[1].air[1]), "{air:?}");
    assert_eq!(air.map(|cell| cell.verdict), [Verdict::Open, Verdict::Good, Verdict::Tight, Verdict::Wet]);
    // 1.2 points about the usual at 72 cells and 2 in smaller ones, where nothing else is in doubt.
    for (height, off) in [(5.7, 0.012), (3.5, 0.02)] {
        let sure = Pores { porosity: [0.9; 3], water_held: [0.75; 3] }.in_cell(&square([3.8, 2.5, height]));
        assert_within("least air", sure.air[0], sure.air[1] - off, 1e-12);
        assert_within("most water", sure.water[2], sure.water[1] + off, 1e-12);
    }
}

/// By hand: dry matter and solids of the loose litres are all there in the blended ones, and shrinkage is paid out of air.
#[test]
fn what_shrinks_is_air() {
    let parts = [("peat", 3.0), ("perlite", 1.0), ("vermiculite", 1.0), ("castings", 1.0)];
    let handles = parts.map(|(name, parts)| (ingredient(name), parts));
    let borrowed: Vec<_> = handles.iter().map(|(handle, parts)| (&**handle, *parts)).collect();
    let [least, usual, most] = dry_density(&borrowed, 0.88).unwrap();
    assert_within("dry", usual, (3.0 * 110.0 + 100.0 + 90.0 + 380.0) / 6.0 / 0.88, 1e-9);
    // What the parts are off by themselves adds up as random errors do: three of peat 150 g below and 30 above, perlite 70
    // and 50, vermiculite 20 and 10, castings 80 and 170.
    let root = |off: [f64; 4]| off.map(|off| off * off).iter().sum::<f64>().sqrt() / 6.0 / 0.88;
    assert_within("least", usual - least, root([150.0, 70.0, 20.0, 80.0]), 1e-9);
    assert_within("most", most - usual, root([30.0, 50.0, 10.0, 170.0]), 1e-9);
    let found = pores(&parts, 0.88);
    let solid = (3.0 * 0.02 + 0.28 + 0.18 + 0.22) / 6.0 / 0.88;
    assert_within("porosity", found.porosity[1], 1.0 - solid, 1e-12);
    assert_within("water", found.water_held[1], (3.0 * 0.87 + 0.30 + 0.58 + 0.66) / 6.0 / 0.88, 1e-12);
    // Pressed to so little that the pores are full, it has no air.
    let pressed = pores(&parts, 0.6);
    assert_eq!(pressed.porosity[1], pressed.water_held[1]);
    assert_eq!(drained(&parts, 0.6, "72-cell").verdict, Verdict::Wet);
}

/// The cells of the tables: by shape, by volume, width and depth, by volume and depth alone, and without a depth.
#[test]
fn cells_of_the_tables() {
    let trays = Catalogue::built_in().trays;
    let shape = |name: &str| shape_of(&trays.find(name).unwrap());
    let litres = |cell: &Frustum| trayful::units::to_litres(cell.volume());
    for name in ["72-cell", "50-cell", "512-cell", "128-cell transplanter", "9 cm pot"] {
        assert_within(
            name,
            litres(&shape(name).unwrap()),
            trayful::units::to_litres(trays.find(name).unwrap().cell),
            1e-12,
        );
    }
    let cell = shape("72-cell").unwrap();
    assert!(cell.bottom < cell.top && cell.kind == FrustumKind::Square);
    assert_eq!(shape("128-cell transplanter").unwrap().kind, FrustumKind::Round);
    assert_eq!(shape("60-cell"), Err(NoCell::NoDepth));
    assert_eq!(shape("5 cm block"), Err(NoCell::Pressed));
}

/// Sixty trials by scipy's permutation test: `tests/reference/sign_flip.py`.
#[test]
fn scipy_agrees_on_sixty_trials() {
    let cases: Vec<serde_json::Value> = serde_json::from_str(include_str!("../../reference/sign_flip.json")).unwrap();
    assert_eq!(cases.len(), 60);
    for case in &cases {
        let differences: Vec<f64> =
            case["differences"].as_array().unwrap().iter().map(|one| one.as_f64().unwrap()).collect();
        assert_within(&case.to_string(), sign_flip_p(&differences).unwrap(), case["p"].as_f64().unwrap(), 1e-12);
    }
}

/// The trial in HortTechnology (read): lime in g/L without and with 40 % compost.
#[test]
fn acidity_of_a_trial() {
    let [peat, compost, castings, perlite, coir, limed] =
        ["peat", "compost", "castings", "perlite", "coir", "limed peat"].map(ingredient);
    let rows = [(0.0, 4.5, 6.7), (1.2, 5.2, 6.9), (2.4, 5.6, 7.0), (3.6, 6.1, 7.1)];
    for (lime, without, with) in rows {
        for (parts, read) in [(vec![(&*peat, 1.0)], without), (vec![(&*peat, 3.0), (&*compost, 2.0)], with)] {
            let [least, most] = ph(&parts, Some(lime)).unwrap();
            assert_within("pH", f64::midpoint(least, most), read, 0.15);
            assert_within("either way", most - least, 1.0, 1e-12);
            // And back.
            if let Ok([least, about, most]) = lime_for(&parts, f64::midpoint(least, most)) {
                assert_within("lime", about, lime, 1e-9);
                assert!(least <= about && about <= most && (0.0..=3.6).contains(&least) && most <= 3.6);
            }
        }
    }
    // 3 kg/m3 (Cornell peat-lite, read) and 3 to 4 (UC Davis 2007, read) are what peat takes to a germination mix.
    let [low, high] = WANTED_PH.map(|ph| lime_for(&[(&peat, 1.0)], ph).map(|[_, about, _]| about));
    assert!(low.is_ok_and(|about| (2.0..3.0).contains(&about)) && high.is_err(), "{low:?} {high:?}");
    assert_within("3 g/L", ph(&[(&peat, 1.0)], Some(3.0)).unwrap()[0] + 0.5, 5.9, 0.05);
    // 2 g to a litre of peat beside castings land nearer 6 than 3 (computed beforehand): half of it in the mix.
    let everyday = [(&*peat, 3.0), (&*castings, 1.0), (&*perlite, 2.0)];
    let [least, most] = ph(&everyday, Some(2.0 * 0.5 / 0.88)).unwrap();
    assert_within("everyday", f64::midpoint(least, most), 6.1, 0.1);
    // Beyond the trial, or of another stuff than raw peat, nothing is said.
    for (parts, lime) in [
        (vec![(&*peat, 1.0), (&*compost, 1.0)], 1.0),
        (vec![(&*peat, 1.0)], 3.7),
        (vec![(&*coir, 1.0)], 0.0),
        (vec![(&*peat, 3.0), (&*coir, 1.0)], 1.0),
        (vec![(&*peat, 3.0), (&*limed, 1.0)], 1.0),
        (vec![(&*peat, 3.0), (&*ingredient("loam"), 1.0)], 1.0),
    ] {
        assert!(ph(&parts, Some(lime)).is_err() && (lime > 3.0 || lime_for(&parts, 5.8).is_err()));
    }
    assert_eq!(lime_for(&[(&peat, 1.0)], 8.0), Err(NoPh::OutOfReach));
}

/// Water that a cubic metre of 100 g/L takes from 35 to 55 and to 60 % by weight (derived): 68.4 and 96.2 L.
#[test]
fn water_by_weight() {
    for (to, litres) in [(0.55, 68.4), (0.60, 96.2)] {
        assert_within("L/m3", 100.0 * (water_of_dry(to) - water_of_dry(0.35)), litres, 0.05);
    }
}

/// A regression, Acta Hort. 294:2 (read): porosity 96.72 - 0.038 VW and air 96.72 + 0.062 VW - 100 DD, in per cent, by the
/// dry weight in g/L and the drained one in g/mL. With 100 and .80: 92.92, 22.92, and water 70.0; a drained litre of them
/// weighs .80 kg.
#[test]
fn weights() {
    let (dry, drained) = (100.0, 0.80);
    let (porosity, air) = (96.72 - 0.038 * dry, 96.72 + 0.062 * dry - 100.0 * drained);
    assert_within("water", porosity - air, 70.0, 1e-9);
    let kg = |litres: f64, dry: f64, water: f64, empty: f64| tray_kg(in_litres(litres), [dry; 3], [water; 3], empty)[1];
    assert_within("a drained litre", kg(1.0, dry, (porosity - air) / 100.0, 0.0), drained, 1e-9);
    // 72 cells of 57.4 mL, dry 130 g/L, water .75, the tray .20 kg (derived).
    assert_within("a tray", kg(72.0 * 0.0574, 130.0, 0.75, TRAY_KG), 3.84, 0.005);
}

/// Bands of air from memory.
#[test]
fn bands_of_air() {
    use Verdict::{Dry, Good, Open, Tight, Wet};
    let verdicts = [0.0, 0.0299, 0.03, 0.0499, 0.05, 0.15, 0.151, 0.20, 0.201].map(Verdict::of);
    assert_eq!(verdicts, [Wet, Wet, Tight, Tight, Good, Good, Open, Open, Dry]);
}

/// Fisher 1935, The Design of Experiments, chapter 3 (from memory): the fifteen pairs of maize of Darwin, in eighths of an
/// inch; of 32,768 ways to set the signs 1,726 reach the sum, 5.267 %.
#[test]
fn pairs_of_maize() {
    let maize = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48].map(f64::from);
    assert_within("p", sign_flip_p(&maize).unwrap(), 1726.0 / 32768.0, 1e-12);
    // Four pairs reach .125 at best, six .031.
    for pairs in [1, 4, 6] {
        let alike = vec![0.3; usize::from(pairs)];
        assert_eq!(sign_flip_p(&alike), Some(least_p(pairs)));
    }
    assert_eq!((least_p(4), least_p(6)), (0.125, 0.031_25));
    assert_eq!(sign_flip_p(&[0.0; 5]), Some(1.0));
    assert_eq!((sign_flip_p(&[]), sign_flip_p(&[f64::NAN]), sign_flip_p(&[1.0; 21])), (None, None, None));
}
