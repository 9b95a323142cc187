//! What the figures of a plan give reason to say.

use super::batch::Dosed;
use super::sowings::Germination;
use super::{Batch, DoseLimit, LISTED, Note, Plan, Soaking, Warning, soaking};
use crate::catalogue::{Catalogue, CropId, IngredientId, Origin, Status, TrayId, UsedAs, cautions};
use crate::coir::soak::KEEPS_HOURS;
use crate::recipe::Why;
use crate::units::mass::gram;
use crate::units::{Volume, to_litres};
use crate::week::Loaded;
use std::collections::{BTreeMap, BTreeSet};

/// Lime for peat is published at 3 to 7 kg a cubic metre (UC Davis 2007; Maher et al. 2008).
const MOST_LIME_G_PER_L: f64 = 8.0;
/// From memory; the strongest published loam mix has about 9 g of base a litre.
const MOST_FERTILISER_G_PER_L: f64 = 10.0;
/// A tray outside these litres works out oddly small or large.
const PLAUSIBLE_TRAY_L: std::ops::RangeInclusive<f64> = 0.7..=8.0;

/// Notes, warnings and cautions of a week's plan.
///
/// `beyond_sown` is what filling whole trays adds to the sown cells.
pub(super) fn add(plan: &mut Plan, loaded: &Loaded, beyond_sown: Volume) {
    let (week, catalogue) = (&loaded.week, &loaded.catalogue);
    let mut notes: Vec<Note> = loaded.remarks.iter().cloned().map(Note::Remark).collect();
    if week.sowings.iter().any(|sowing| sowing.crop.is_none()) {
        notes.push(Note::NoCrop);
    }
    notes.extend(unsaid_coir(plan, loaded));
    let asked: BTreeSet<CropId> = week
        .sowings
        .iter()
        .zip(&plan.sowings)
        .filter(|(sowing, plan_of)| {
            sowing.inoculant == Some(true) && plan.batches[plan_of.batch].is_inoculated(catalogue)
        })
        .filter_map(|(sowing, _)| sowing.crop)
        .filter(|id| catalogue.crop_of(*id).mycorrhiza != Status::Host)
        .collect();
    push_some(&mut notes, asked.into_iter().collect(), Note::InoculantForNonHost);
    if week.soak.is_some() && soaking::reckoned(plan, catalogue).is_none() {
        notes.push(Note::SoakUnused);
    }
    let by = |wanted: Germination| -> Vec<CropId> {
        let crops: BTreeSet<CropId> = plan
            .sowings
            .iter()
            .filter(|sowing| sowing.germination.is_some_and(|(_, from)| from == wanted))
            .filter_map(|sowing| week.sowings[sowing.sowing].crop)
            .collect();
        crops.into_iter().collect()
    };
    push_some(&mut notes, by(Germination::LegalMinimum), Note::LegalMinimum);
    push_some(&mut notes, by(Germination::Assumed), Note::AssumedGermination);
    let thin: BTreeSet<CropId> = week
        .sowings
        .iter()
        .zip(&plan.sowings)
        .filter(|(sowing, plan)| sowing.seeds > 1 && !sowing.clump && plan.seeds.is_some())
        .filter_map(|(sowing, _)| sowing.crop)
        .collect();
    push_some(&mut notes, emergence_unknown(plan, loaded), Note::EmergenceUnknown);
    push_some(&mut notes, thin.into_iter().collect(), Note::ThinOut);
    if to_litres(beyond_sown) > 0.0 {
        notes.push(Note::WholeTrays(beyond_sown));
    }
    tray_notes(plan, catalogue, &mut notes);
    let tops = plan.batches.iter().flat_map(|batch| &batch.tops);
    let shallow: BTreeSet<TrayId> = tops.filter(|top| top.volume.is_none()).map(|top| top.tray).collect();
    notes.extend(shallow.into_iter().map(Note::TopUnknown));
    if plan.sowings.len() > LISTED {
        notes.push(Note::ManySowings(plan.sowings.len()));
    }
    if let Some(rack) = week.rack {
        let (needed, uncounted) = places(plan, catalogue);
        notes.extend(uncounted.into_iter().map(Note::PotsUncounted));
        if needed > rack.free() {
            plan.warnings.push(Warning::RackOutgrown { trays: needed, free: rack.free() });
        }
    }
    plan.notes = notes;
    let warnings = plan.soak.as_ref().map(soak_warnings).unwrap_or_default();
    plan.warnings.extend(warnings);
    add_mix_warnings(plan, catalogue);
}

fn soak_warnings(soaking: &Soaking) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if let Some(times) = soaking.times.as_ref().filter(|_| soaking.after_mix) {
        warnings.push(Warning::SoakAfterMix(times.ready.clone()));
    }
    if let Some(sheet) = &soaking.sheet {
        if sheet.misses_target() {
            warnings.push(Warning::SoakOutOfReach);
        }
        if sheet.grows_stale() {
            warnings.push(Warning::SoakGrowsStale { runs: sheet.runs, hours: sheet.first_waits_hours });
        } else if sheet.first_waits_hours + soaking.waits_hours > KEEPS_HOURS {
            warnings.push(Warning::SoakWaits(sheet.first_waits_hours + soaking.waits_hours));
        }
    }
    warnings
}

/// Sown crops whose days to emergence are not known, where there is a calendar.
fn emergence_unknown(plan: &Plan, loaded: &Loaded) -> Vec<CropId> {
    if loaded.week.mix_on.is_none() {
        return Vec::new();
    }
    let sown = plan.sowings.iter().filter(|sown| sown.seeds.is_some());
    let crops: BTreeSet<CropId> = sown
        .filter_map(|sown| loaded.week.sowings[sown.sowing].crop)
        .filter(|id| loaded.catalogue.crop_of(*id).emerges.is_none())
        .collect();
    crops.into_iter().collect()
}

/// Notes, warnings and cautions of a single mix.
pub(super) fn add_for_mix(plan: &mut Plan, loaded: &Loaded, no_crop: bool) {
    plan.notes = loaded.remarks.iter().cloned().map(Note::Remark).collect();
    if no_crop {
        plan.notes.push(Note::NoCrop);
    }
    let coir = unsaid_coir(plan, loaded);
    plan.notes.extend(coir);
    add_mix_warnings(plan, &loaded.catalogue);
}

/// The coir of a mix that was asked for without a week: its soak is the asker's to plan.
fn unsaid_coir(plan: &Plan, loaded: &Loaded) -> Option<Note> {
    soaking::reckoned(plan, &loaded.catalogue).filter(|_| loaded.week.asked).map(Note::SoakCoir)
}

fn push_some<T>(notes: &mut Vec<Note>, found: Vec<T>, note: impl Fn(Vec<T>) -> Note) {
    if !found.is_empty() {
        notes.push(note(found));
    }
}

fn tray_notes(plan: &Plan, catalogue: &Catalogue, notes: &mut Vec<Note>) {
    let trays = || plan.trays.iter().map(|(id, _)| *id);
    let unweighed: Vec<TrayId> = trays()
        .filter(|id| {
            let tray = catalogue.tray(*id);
            tray.origin == Origin::BuiltIn && tray.compression.is_none()
        })
        .collect();
    let low = unweighed.iter().copied().filter(|id| catalogue.tray(*id).low_confidence).collect();
    push_some(notes, unweighed, Note::WeighCells);
    push_some(notes, low, Note::LowConfidence);
    let odd = trays().filter(|id| {
        let tray = catalogue.tray(*id);
        !tray.pot && !PLAUSIBLE_TRAY_L.contains(&to_litres(tray.volume()))
    });
    notes.extend(odd.map(Note::OddTray));
}

/// Places on the rack: trays, and the trays that carry the pots.
fn places(plan: &Plan, catalogue: &Catalogue) -> (u64, Vec<TrayId>) {
    let mut needed = 0_u64;
    let mut uncounted = Vec::new();
    for (id, count) in &plan.trays {
        let tray = catalogue.tray(*id);
        match (tray.pot, tray.per_tray) {
            (false, _) => needed = needed.saturating_add(*count),
            (true, Some(each)) => needed = needed.saturating_add(count.div_ceil(each)),
            (true, None) => uncounted.push(*id),
        }
    }
    (needed, uncounted)
}

fn add_mix_warnings(plan: &mut Plan, catalogue: &Catalogue) {
    let mut warnings = Vec::new();
    let mut wanted: BTreeMap<&str, BTreeSet<IngredientId>> = BTreeMap::new();
    for (index, batch) in plan.batches.iter().enumerate() {
        let rich: f64 = batch
            .ingredients
            .iter()
            .filter(|part| catalogue.ingredient(part.ingredient).rich)
            .map(|part| to_litres(part.loose))
            .sum::<f64>()
            / to_litres(batch.chain.loose);
        // Potted on, seedlings have emerged already.
        let sown = plan.sowings.is_empty()
            || plan.sowings.iter().any(|sowing| sowing.batch == index && sowing.seeds.is_some());
        // Atiyeh et al. 2000 and HortTechnology 20:361: above a fifth emergence suffered.
        if sown && rich > 0.2 + 1e-9 {
            warnings.push(Warning::Rich { batch: index, share: rich, strongly: rich > 1.0 / 3.0 + 1e-9 });
        }
        strong_doses(index, batch, catalogue, &mut warnings);
        for part in &batch.ingredients {
            if catalogue.ingredient(part.ingredient).kind == Some(UsedAs::Dose) {
                let share = to_litres(part.loose) / to_litres(batch.chain.loose);
                warnings.push(Warning::DoseAsPart { batch: index, ingredient: part.ingredient, share });
            }
        }
        let phosphorus = batch.doses.iter().find(|dose| catalogue.ingredient(dose.ingredient).soluble_phosphorus);
        if let Some(dose) = phosphorus
            && batch.is_inoculated(catalogue)
        {
            warnings.push(Warning::PhosphorusWithInoculant { batch: index, with: dose.ingredient });
        }
        let used = batch.ingredients.iter().map(|part| part.ingredient);
        for id in used.chain(batch.doses.iter().map(|dose| dose.ingredient)) {
            for key in &catalogue.ingredient(id).cautions {
                wanted.entry(key).or_default().insert(id);
            }
        }
    }
    for covering in &plan.covering {
        for key in &catalogue.ingredient(covering.ingredient).cautions {
            wanted.entry(key).or_default().insert(covering.ingredient);
        }
    }
    warnings.extend(wants_acid(&plan.batches, catalogue));
    let covered = plan.covering.iter().flat_map(|covering| &covering.layers).flat_map(|layer| &layer.crops);
    let unsaid: BTreeSet<CropId> = covered.copied().filter(|id| catalogue.crop_of(*id).light.is_none()).collect();
    if !unsaid.is_empty() {
        warnings.push(Warning::TakenAsCovered(unsaid.into_iter().collect()));
    }
    plan.warnings.extend(warnings);
    let always = cautions().iter().filter(|(_, caution)| caution.always).map(|(key, _)| (key.clone(), Vec::new()));
    let called = wanted.into_iter().map(|(key, ids)| (key.to_owned(), ids.into_iter().collect()));
    plan.cautions = always.chain(called).collect();
}

/// Lime and chalk taken together, and each fertiliser, far above what is in use. Doses by
/// the spoon have no known weight.
fn strong_doses(index: usize, batch: &Batch, catalogue: &Catalogue, warnings: &mut Vec<Warning>) {
    let mut grams: BTreeMap<IngredientId, f64> = BTreeMap::new();
    for dose in &batch.doses {
        if let Dosed::Mass(mass) = dose.amount {
            *grams.entry(dose.ingredient).or_default() += mass.get::<gram>();
        }
    }
    let limed = ["lime", "chalk"].map(|name| catalogue.ingredients.find(name).map(IngredientId));
    let is_fertiliser = |id: IngredientId| catalogue.ingredient(id).cautions.iter().any(|key| key == "fertiliser");
    let (limes, others): (Vec<_>, Vec<_>) = grams.into_iter().partition(|(id, _)| limed.contains(&Some(*id)));
    let mut warn = |what: Vec<IngredientId>, grams: f64, most: f64, limit: DoseLimit| {
        let grams_per_litre = grams / to_litres(batch.chain.mix);
        if grams_per_litre > most + 1e-9 {
            warnings.push(Warning::StrongDose { batch: index, what, grams_per_litre, limit });
        }
    };
    let lime = limes.iter().map(|(_, grams)| grams).sum();
    warn(limes.into_iter().map(|(id, _)| id).collect(), lime, MOST_LIME_G_PER_L, DoseLimit::Lime);
    for (id, grams) in others.into_iter().filter(|(id, _)| is_fertiliser(*id)) {
        warn(vec![id], grams, MOST_FERTILISER_G_PER_L, DoseLimit::Fertiliser);
    }
}

/// The crops that want acid soil, with what their batches go without for it.
fn wants_acid(batches: &[Batch], catalogue: &Catalogue) -> Option<Warning> {
    let is_acid = |id: &CropId| catalogue.crop_of(*id).mycorrhiza == Status::Ericoid;
    let crops: BTreeSet<CropId> = batches.iter().flat_map(|batch| &batch.crops).copied().filter(is_acid).collect();
    let omissions = batches.iter().flat_map(|batch| &batch.left_out);
    let for_acid = omissions.filter(|out| out.why.contains_key(&Why::NotFor(Status::Ericoid)) && !out.only_less);
    let left_out: BTreeSet<IngredientId> = for_acid.map(|out| out.ingredient).collect();
    let (crops, left_out) = (Vec::from_iter(crops), Vec::from_iter(left_out));
    (!crops.is_empty()).then_some(Warning::WantsAcid { crops, left_out })
}
