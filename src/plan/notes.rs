//! What the figures of a plan give reason to say.

use super::bench::{LIFT_KG, MixRef};
use super::demand::Demand;
use super::mix::mix_of_cells;
use super::note::{BatchWarning, CropNote, Note, SoakWarning, StandsLong, TrayNote, TrialDoubt, Untended, Warning};
use super::soaking::CoirNeed;
use super::sow::{Germination, OnRack, SowingPlan, unstated};
use super::strong::strong_doses;
use super::{Batch, Deed, Entry, LISTED, Mixes, Purchases, Soaking, Task, TopLayer};
use crate::behaviour::{MOST_RICH, VERY_RICH};
use crate::catalogue::{
    Crop, Feeds, Handle, Ingredient, Origin, Role, SeedSize, Status, Tray, UsedAs, cautions_for_all,
};
use crate::coir::soak::{KEEPS_HOURS, Product};
use crate::coir::{CoirError, loose_l_of_sold};
use crate::moment::Moment;
use crate::recipe::Why;
use crate::stock::Stock;
use crate::units::mass::kilogram;
use crate::units::{Mass, Volume, cover, in_litres, to_litres};
use crate::week::{Compared, Loaded, Sowing, SowingAmount, Week};
use jiff::Span;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// A tray outside these litres works out oddly small or large.
const PLAUSIBLE_TRAY_L: std::ops::RangeInclusive<f64> = 0.7..=8.0;
/// So many days from sowing or potting on, new trays are watered. A judgement.
const WATERED_DAYS: i64 = 2;
/// More mix than this, in litres, is said to be much: a hundred cubic metres.
const MUCH_MIX_L: f64 = 1e5;
/// More packages of one kind than this are said to be many.
const MANY_PACKAGES: u64 = 100_000;
/// Above a fifth of castings and compost emergence suffered (Atiyeh et al. 2000 and
/// HortTechnology 20:361), in one trial from a tenth on: so much is said to be much for dust-fine seed (a judgement);
/// above a third do not sow untested.
const RICH: [f64; 3] = [0.1, MOST_RICH, VERY_RICH];

/// So many bricks of no more than that weight are many for a bench: common practice, no source.
const MANY_BRICKS: u64 = 8;
const SMALL_KG: f64 = 1.0;

/// More days in a tray beyond the most weeks of the crop table than these are said to be long (a judgement).
const DAYS_LONG: u32 = 7;

/// What there is to say of a plan.
#[derive(Default)]
pub(super) struct Remarks {
    pub(super) notes: Vec<Note>,
    pub(super) warnings: Vec<Warning>,
    pub(super) cautions: Vec<(String, Vec<Handle<Ingredient>>)>,
}

/// Notes, warnings and cautions of some mixes.
pub(super) fn of(
    mixes: &Mixes,
    soak: &Result<Option<Soaking>, CoirError>,
    rack: Option<&OnRack>,
    demand: &Demand<'_>,
    loaded: &Loaded,
) -> Remarks {
    let mut remarks = Remarks::default();
    remarks.notes.extend(loaded.remarks.iter().cloned().map(Note::Remark));
    remarks.warnings.extend(soak.as_ref().err().cloned().map(Warning::SoakFails));
    let soak = soak.as_ref().ok().and_then(Option::as_ref);
    remarks.notes.extend(demand.lacks_crop().then_some(Note::NoCrop));
    // The soak of a mix that was asked for without a week is the asker's to plan.
    let coir = CoirNeed::of(&[mixes], loaded.week.stock.as_ref(), &Handle::clone);
    match coir.as_ref().filter(|coir| loaded.week.soak.is_none() && coir.is_needed()) {
        Some(coir) if loaded.week.from_command => remarks.notes.push(Note::SoakCoir(coir.need)),
        Some(_) => remarks.warnings.push(Warning::Soak(SoakWarning::Unsaid)),
        None => {}
    }
    let stock = loaded.week.stock.as_ref().filter(|_| coir.is_some());
    let unfit = stock.iter().flat_map(|stock| stock.on_hand.shed.unfit());
    let (old, to_come): (Vec<_>, Vec<_>) =
        unfit.partition(|(_, made)| loaded.week.day().is_none_or(|day| *made <= day));
    let unfit = [old, to_come].into_iter().filter(|unfit| !unfit.is_empty());
    remarks.warnings.extend(unfit.map(Warning::SoakedCoirUnused));
    let is_undated = |stock: &Stock| loaded.week.mix_on.is_none() || stock.on_hand.shed.soaked_on().contains(&None);
    let is_told = stock.is_some_and(is_undated) && coir.as_ref().is_some_and(CoirNeed::is_helped);
    remarks.notes.extend(is_told.then_some(Note::SoakedCoirKeeps));
    let mix_on = loaded.week.mix_on.as_ref().and_then(Moment::zoned).filter(|at| !loaded.week.awake.holds(at));
    remarks.warnings.extend(mix_on.map(Warning::MixOutsideAwake));
    let sheet = soak.and_then(|soak| soak.sheet.as_ref()).filter(|_| loaded.week.stock.is_some());
    let salts: Vec<_> = sheet.map(|sheet| sheet.course.salts().cloned().collect()).unwrap_or_default();
    remarks.notes.extend((!salts.is_empty()).then_some(Note::SaltNotPriced(salts)));
    remarks.notes.extend(soak.map(|soak| piece_notes(soak, &loaded.week)).unwrap_or_default());
    if demand.volume.is_none() {
        remarks.on_sowings(mixes, &loaded.week, coir.is_some());
        remarks.on_trays(mixes, &loaded.week, rack);
        remarks.on_place(mixes, &loaded.week);
    }
    remarks.warnings.extend(soak.map(soak_warnings).unwrap_or_default().into_iter().map(Warning::Soak));
    remarks.on_mixes(mixes, &loaded.week);
    remarks.on_loads(mixes, loaded.week.stock.as_ref());
    remarks.cautions = called_cautions(mixes);
    remarks
}

/// Amounts that no bench makes or buys: a slip of a unit or a zero, most likely.
pub(super) fn beyond_a_bench(mixes: &Mixes, purchases: &Purchases) -> Vec<Warning> {
    let much = (to_litres(mixes.totals.mix) > MUCH_MIX_L).then_some(Warning::MuchMix(mixes.totals.mix));
    let many = purchases.lines.iter().flat_map(|line| {
        let many = line.packages.iter().filter(|pick| pick.count > MANY_PACKAGES);
        many.map(|pick| Warning::ManyPackages(line.ingredient.clone(), pick.count))
    });
    much.into_iter().chain(many).collect()
}

/// The finished mix that the unsown cells of whole trays take.
fn mix_beyond_sown(mixes: &Mixes, week: &Week) -> Volume {
    let unsown = mixes.layout.of(week).map(|(sowing, plan)| {
        let count = plan.cells_filled.saturating_sub(plan.cells.cells);
        (&sowing.tray, sowing.from.as_ref(), u64::from(count))
    });
    mix_of_cells(unsown, &week.allowances)
}

/// The distinct crops among some, in their order.
fn distinct<'p>(crops: impl Iterator<Item = &'p Handle<Crop>>) -> Vec<Handle<Crop>> {
    let mut distinct = BTreeSet::new();
    // Of a long list of sowings: one by one, where collecting makes a list of all first.
    distinct.extend(crops);
    distinct.into_iter().cloned().collect()
}

impl Remarks {
    /// A note on some trays, unless there are none.
    fn note_trays(&mut self, trays: Vec<Handle<Tray>>, note: TrayNote) {
        self.notes.extend((!trays.is_empty()).then_some(Note::Trays(note, trays)));
    }

    fn on_sowings(&mut self, mixes: &Mixes, week: &Week, holds_coir: bool) {
        let note_crops = |notes: &mut Vec<Note>, note: CropNote, wanted: &dyn Fn(&Sowing, &SowingPlan) -> bool| {
            let sowings = mixes.layout.of(week).filter(|(sowing, plan)| wanted(sowing, plan));
            let crops = distinct(sowings.filter_map(|(sowing, _)| sowing.crop.as_ref()));
            notes.extend((!crops.is_empty()).then_some(Note::Crops(note, crops)));
        };
        let is_by = |plan: &SowingPlan, whose: Germination| plan.cells.germination == Some(whose);
        let is_sown = |plan: &SowingPlan| plan.cells.seeds.is_some();
        let is_potted = |sowing: &Sowing| matches!(sowing.amount, SowingAmount::Potted(_));
        let is = |sowing: &Sowing, what: fn(&Crop) -> bool| sowing.crop.as_deref().is_some_and(what);
        let notes = &mut self.notes;
        note_crops(notes, CropNote::InoculantForNonHost, &|sowing, plan| {
            let inoculated = sowing.inoculant == Some(true) && mixes.batches[plan.batch].composition.is_inoculated();
            inoculated && !is(sowing, |crop| crop.mycorrhiza == Status::Host)
        });
        notes.extend((week.soak.is_some() && !holds_coir && mixes.are_mixed()).then_some(Note::SoakUnused));
        note_crops(notes, CropNote::LegalMinimum, &|_, plan| is_by(plan, Germination::LegalMinimum));
        note_crops(notes, CropNote::ExpectedGermination, &|_, plan| is_by(plan, Germination::Expected));
        note_crops(notes, CropNote::AssumedGermination, &|_, plan| is_by(plan, Germination::Assumed));
        if week.mix_on.is_some() {
            let is_unknown = |sowing: &Sowing| is(sowing, |crop| crop.emerges.is_none());
            note_crops(notes, CropNote::EmergenceUnknown, &|sowing, plan| is_sown(plan) && is_unknown(sowing));
        }
        note_crops(notes, CropNote::SmallCells, &|sowing, plan| {
            let most = sowing.crop.as_ref().and_then(|crop| crop.cells).map(|(_, most)| most);
            is_sown(plan) && most.is_some_and(|most| sowing.tray.has_smaller_cells_than(most))
        });
        note_crops(notes, CropNote::Spare, &|sowing, _| is_potted(sowing) && sowing.spare.is_none());
        note_crops(notes, CropNote::ThinOut, &|sowing, plan| sowing.seeds > 1 && !sowing.clump && is_sown(plan));
    }

    /// What the place says of its days and shelves, held against this week.
    fn on_place(&mut self, mixes: &Mixes, week: &Week) {
        let off = week.day().filter(|day| week.standing.mix_days.is_some_and(|days| !days.holds(day.weekday())));
        self.notes.extend(off.map(Note::OffMixDay));
        let trays = mixes.totals.trays;
        let a_day = week.standing.trays_a_day.filter(|a_day| trays > *a_day);
        self.notes.extend(a_day.map(|a_day| Note::ManyTrays { trays, a_day }));
        let crops = mixes.layout.of(week).filter_map(|(sowing, _)| sowing.crop.as_ref());
        let poisonous = distinct(crops.filter(|crop| crop.poisonous.is_some()));
        self.warnings.extend((!poisonous.is_empty()).then_some(Warning::Poisonous(poisonous)));
    }

    fn on_trays(&mut self, mixes: &Mixes, week: &Week, rack: Option<&OnRack>) {
        let beyond = Some(mix_beyond_sown(mixes, week)).filter(|beyond| to_litres(*beyond) > 0.0);
        self.notes.extend(beyond.map(Note::WholeTrays));
        let trays = || mixes.layout.trays.iter().map(|(tray, _)| tray);
        let from_table = trays().filter(|tray| tray.origin == Origin::BuiltIn).cloned();
        let (blocks, unweighed): (Vec<Handle<Tray>>, Vec<_>) = from_table.partition(|tray| tray.compression.is_some());
        let low = unweighed.iter().filter(|tray| tray.low_confidence).cloned().collect();
        self.note_trays(unweighed, TrayNote::WeighCells);
        self.note_trays(low, TrayNote::LowConfidence);
        self.note_trays(blocks, TrayNote::PressTen);
        let rims = trays().filter(|tray| tray.pot && tray.is_filled_below_rim()).cloned().collect();
        self.note_trays(rims, TrayNote::PotRim);
        let plugs: BTreeSet<_> = week.sowings.iter().filter_map(|sowing| sowing.from.clone()).collect();
        self.note_trays(plugs.into_iter().collect(), TrayNote::Plugs);
        self.notes.extend(unstated(&mixes.layout, week).into_iter().map(Note::Unstated));
        let odd = trays().filter(|tray| !tray.pot && !PLAUSIBLE_TRAY_L.contains(&to_litres(tray.volume())));
        self.notes.extend(odd.map(|tray| Note::Trays(TrayNote::OddVolume, vec![tray.clone()])));
        let tops = mixes.batches.iter().flat_map(|batch| &batch.tops);
        let no_depth: BTreeSet<_> =
            tops.clone().filter(|top| top.volume.is_none()).map(|top| top.tray.clone()).collect();
        self.notes.extend(no_depth.into_iter().map(|tray| Note::Trays(TrayNote::TopUnknown, vec![tray])));
        let is_deeper = |top: &&TopLayer| top.tray.depth.is_some_and(|depth| top.top.depth > depth);
        let too_deep: BTreeSet<_> = tops.clone().filter(is_deeper).map(|top| top.tray.clone()).collect();
        self.warnings.extend((!too_deep.is_empty()).then(|| Warning::TopTooDeep(too_deep.into_iter().collect())));
        self.warnings.extend(trays().filter_map(|tray| {
            let usual = tray.usual_cell()?;
            let ratio = to_litres(tray.cell) / to_litres(usual);
            (!(0.1..10.0).contains(&ratio)).then(|| Warning::OddCell(tray.clone(), usual))
        }));
        let many = Some(mixes.layout.sowings.len()).filter(|sowings| *sowings > LISTED);
        self.notes.extend(many.map(Note::ManySowings));
        let Some(needs) = rack else { return };
        let uncounted = trays().filter(|tray| tray.places(1).is_none());
        self.notes.extend(uncounted.map(|tray| Note::Trays(TrayNote::PotsUncounted, vec![tray.clone()])));
        if let Some(mats) = needs.mats.filter(|mats| needs.for_mats > *mats) {
            self.warnings.push(Warning::MatsOutgrown { trays: needs.for_mats, mats });
        }
        self.warnings.extend((needs.needed > needs.free).then(|| Warning::RackOutgrown(needs.clone())));
    }

    fn on_mixes(&mut self, mixes: &Mixes, week: &Week) {
        self.notes.extend(Some(mixes.not_compared(week)).filter(|crops| !crops.is_empty()).map(Note::NotCompared));
        // Potted on, seedlings have emerged already.
        let mut sown = vec![BTreeSet::new(); mixes.batches.len()];
        for (sowing, plan) in mixes.layout.of(week).filter(|(_, plan)| plan.cells.seeds.is_some()) {
            sown[plan.batch].extend(sowing.crop.as_ref().map(|crop| (crop.seed.is_none(), crop.seed, crop.clone())));
        }
        let inoculated = mixes.layout.of(week).map(|(sowing, plan)| (plan.batch, sowing));
        let inoculated = inoculated.filter(|(batch, sowing)| mixes.batches[*batch].is_inoculated_for(sowing, week));
        let of_volume = (0..).zip(&mixes.batches).filter(|(_, batch)| batch.composition.is_inoculated());
        let inoculated: BTreeSet<usize> =
            inoculated.map(|(batch, _)| batch).chain(of_volume.map(|(index, _)| index)).collect();
        for (index, batch) in mixes.batches.iter().enumerate() {
            let rich = batch.composition.share_of(|ingredient| ingredient.rich);
            let [for_dust, for_seed, strongly] = RICH.map(|most| rich > most + 1e-9);
            // Those first that it harms most.
            let crops: Vec<_> = std::mem::take(&mut sown[index])
                .into_iter()
                .filter(|(_, seed, _)| for_seed || *seed == Some(SeedSize::Dust))
                .map(|(.., crop)| crop)
                .collect();
            let mut warnings = Vec::new();
            if for_seed && mixes.layout.sowings.is_empty() || for_dust && !crops.is_empty() {
                warnings.push(BatchWarning::Rich { share: rich, strongly, crops });
            }
            warnings.extend(strong_doses(batch));
            for part in batch.ingredients.iter().filter(|part| part.ingredient.kind == Some(UsedAs::Dose)) {
                let share = batch.composition.share_of(|ingredient| ingredient.name == part.ingredient.name);
                warnings.push(BatchWarning::DoseAsPart(part.ingredient.clone(), share));
            }
            let phosphorus = batch.composition.ingredients().filter(|id| id.soluble_phosphorus).cloned();
            let phosphorus =
                Some(phosphorus.collect::<Vec<_>>()).filter(|of| !of.is_empty() && inoculated.contains(&index));
            warnings.extend(phosphorus.map(BatchWarning::PhosphorusWithInoculant));
            self.warnings.extend(warnings.into_iter().map(|warning| Warning::Batch(index, warning)));
        }
        self.warnings.extend(wants_acid(&mixes.batches));
        let covered = mixes.covering.iter().flat_map(|covering| &covering.layers).flat_map(|layer| &layer.crops);
        let unknown = distinct(covered.filter(|crop| crop.light.is_none()));
        if !unknown.is_empty() {
            self.warnings.push(Warning::TakenAsCovered(unknown));
        }
    }

    /// Notes on the tub and on charged mixes, warnings of coarse scoops and heavy tubs.
    fn on_loads(&mut self, mixes: &Mixes, stock: Option<&Stock>) {
        let mixing = &mixes.mixing;
        for (is_half, note) in [(false, Note::StaleMix as fn(_) -> _), (true, Note::MixBesideTrial)] {
            let batches = mixes.batches.iter().filter(|batch| batch.half.is_some() == is_half);
            let unused: BTreeSet<usize> = batches.flat_map(|batch| batch.unused.iter().copied()).collect();
            let named = stock.filter(|_| !unused.is_empty());
            let names = |stock: &Stock| unused.iter().map(|index| stock.mixes[*index].name.clone()).collect();
            self.notes.extend(named.map(|stock| note(names(stock))));
        }
        self.notes.extend((mixing.vessels.tub.is_none() && mixes.are_mixed()).then_some(Note::NoTub));
        let limed = |is_part: fn(&Ingredient) -> bool| {
            Some(mixes.numbers(|index| mixes.batches[index].limes(is_part))).filter(|limed| !limed.is_empty())
        };
        self.notes.extend(limed(|id| id.is(Role::Coir)).map(Note::LimeOnCoir));
        self.notes.extend(limed(Ingredient::is_limed_peat).map(Note::LimeOnLimedPeat));
        let charged = mixes.totals.ingredients.iter().map(|(id, _)| id).filter(|id| id.feeds == Feeds::Starter);
        let charged: BTreeSet<_> = charged.cloned().collect();
        self.notes.extend(charged.into_iter().map(Note::StarterCharge));
        let coarse: Vec<_> = mixing.all().filter(|(.., coarse)| *coarse).map(|(mix, ..)| mix).collect();
        if !coarse.is_empty() {
            self.warnings.push(Warning::ScoopTooCoarse(coarse));
        }
        let wet = mixing.all().filter_map(|(mix, loads, _)| Some((mix, loads?.load.wet?)));
        let heavy: Vec<(MixRef, Mass)> =
            wet.map(|(mix, wet)| (mix, wet.most)).filter(|(_, wet)| wet.get::<kilogram>() > LIFT_KG).collect();
        if let Some(wet) = heavy.iter().map(|(_, wet)| *wet).reduce(Mass::max) {
            self.warnings.push(Warning::HeavyTub { mixes: heavy.into_iter().map(|(mix, _)| mix).collect(), wet });
        }
    }
}

/// What to know of the bricks or blocks that are bought.
fn piece_notes(soaking: &Soaking, week: &Week) -> Vec<Note> {
    let product = &soaking.soak.product;
    let small = week.stock.is_none() && product.kg <= SMALL_KG && soaking.pieces >= MANY_BRICKS;
    let bricks = small.then(|| Note::ManyBricks {
        bricks: soaking.pieces,
        label: product.label.clone(),
        blocks: cover(soaking.need, in_litres(loose_l_of_sold(Product::default().kg))).map_or(1, |blocks| blocks.count),
    });
    let sold = || product.label.clone();
    let other = soaking.instead_of.as_ref().map(|said| Note::CoirSoldIn { said: said.label.clone(), sold: sold() });
    other.into_iter().chain(soaking.last_gives.map(Note::LastPiece)).chain(bricks).collect()
}

fn soak_warnings(soaking: &Soaking) -> Vec<SoakWarning> {
    let mut warnings: Vec<_> = soaking.ready_outside_awake().map(SoakWarning::ReadyOutsideAwake).into_iter().collect();
    warnings.extend(soaking.finds_no_time.then_some(SoakWarning::NoTime(soaking.fitting)));
    if let Some(times) = soaking.times.as_ref().filter(|_| soaking.waits_hours < 0.0) {
        warnings.push(SoakWarning::AfterMix(times.ready.clone()));
    }
    if let Some(sheet) = &soaking.sheet {
        if sheet.misses_target() {
            warnings.push(SoakWarning::OutOfReach);
        }
        if soaking.grows_stale() {
            warnings.push(SoakWarning::GrowsStale { runs: sheet.runs, hours: sheet.first_waits_hours });
        } else if !soaking.finds_no_time && sheet.first_waits_hours + soaking.waits_hours > KEEPS_HOURS {
            warnings.push(SoakWarning::Waits(sheet.first_waits_hours + soaking.waits_hours));
        }
        let cautions = sheet.report.cautions.iter().filter(|caution| caution.is_of_course());
        warnings.extend(cautions.cloned().map(SoakWarning::Course));
        let salts = sheet.course.salts().filter(|salt| !salt.cautions().is_empty());
        warnings.extend(salts.cloned().map(SoakWarning::Salt));
    }
    warnings
}

/// The crops that would wait so long for the last frost that they outgrow their trays.
pub(super) fn stand_long(calendar: &[Entry]) -> Option<Note> {
    let all = calendar.iter().flat_map(|entry| {
        let Task::Crops { deed: Deed::PlantOut { weeks: Some(weeks), frost: Some(_), late, .. }, crops } = &entry.task
        else {
            return Vec::new();
        };
        let (stands, sow) = (weeks.0 + late / 7, entry.at.date().checked_sub(Span::new().weeks(weeks.1)));
        let long = sow.ok().filter(|_| weeks.0 * 7 + late > weeks.1 * 7 + DAYS_LONG);
        let of = |crop: &Handle<Crop>| Some(StandsLong { crop: crop.clone(), stands, weeks: *weeks, sow: long? });
        crops.iter().filter_map(of).collect()
    });
    let all: Vec<_> = all.collect();
    (!all.is_empty()).then_some(Note::StandsLong(all))
}

/// What the day of measuring does to the crop of a trial, and to a trial of feeds.
pub(super) fn of_trial(calendar: &[Entry], week: &Week) -> Vec<Warning> {
    let Some(trial) = &week.trial else { return Vec::new() };
    let mut of_crop = Vec::new();
    for Entry { at, task } in calendar {
        let Task::Crops { deed, crops } = task else { continue };
        of_crop.extend(crops.iter().any(|crop| crop.is_same(&trial.crop)).then_some((at.date(), *deed)));
    }
    let find = |is: fn(&Deed) -> bool| of_crop.iter().find(|(_, deed)| is(deed)).copied();
    let Some((day, Deed::Measure { weeks_fed, short_days })) = find(|deed| matches!(deed, Deed::Measure { .. })) else {
        return Vec::new();
    };
    let later = |days: u32| day.checked_add(Span::new().days(i64::from(days))).ok();
    let shortly_fed = (trial.compare == Compared::Feed && weeks_fed.is_none()).then(|| TrialDoubt::ShortlyFed {
        on: day,
        unfed: !of_crop.iter().any(|(fed, deed)| matches!(deed, Deed::Feed { .. }) && *fed < day),
        from: later(short_days).filter(|from| *from > day),
    });
    let wanted = u32::from(trial.crop.hardening_days());
    let left = match find(|deed| matches!(deed, Deed::Harden { .. })) {
        Some((_, Deed::Harden { days })) => days,
        _ => 0,
    };
    // Who states when they leave has hardened them as he wants.
    let is_told = week.sowings.iter().any(|sowing| trial.is_of(sowing) && sowing.leaves.is_some());
    // Somebody is there to harden them, and to plant out, within a year (a judgement).
    let is_there = |days: u32| later(days).is_some_and(|on| !week.awake.is_away(on));
    let from = (short_days..).take(366).find(|days| is_there(*days) && is_there(days + wanted)).unwrap_or(short_days);
    let from = later(from + wanted).filter(|_| !is_told);
    let out = match find(|deed| matches!(deed, Deed::PlantOut { .. })) {
        Some((_, Deed::PlantOut { weeks: None, .. })) if left < wanted || shortly_fed.is_some() => {
            from.map(|from| TrialDoubt::ShortlyHardened { left, wanted, from })
        }
        Some((out, deed @ Deed::PlantOut { weeks: Some((_, most)), .. })) if deed.is_past_its_weeks() => {
            Some(TrialDoubt::Outgrown(out, most))
        }
        _ => None,
    };
    let doubts = shortly_fed.into_iter().chain(out);
    doubts.map(|doubt| Warning::Trial(trial.crop.clone(), doubt)).collect()
}

/// What is to be done on days when nobody is there: for seed, to harden, to plant out on the day that a week states; and
/// over several days away, to water what is filled shortly before them, and to look after the first seedlings.
pub(super) fn while_away(calendar: &[Entry], week: &Week) -> Option<Warning> {
    let awake = &week.awake;
    let mut away: Vec<(Date, Untended)> = Vec::new();
    for Entry { at, task } in calendar {
        let (on, later) = (at.date(), |days: i64| at.date().checked_add(Span::new().days(days)).ok());
        match task {
            Task::Mix { sown, potted, .. } if *sown || *potted => {
                let until = |day: Date| Some((day, Untended::Water(awake.away_until(day)?)));
                away.extend((1..=WATERED_DAYS).filter_map(later).find_map(until));
            }
            Task::Crops { deed: Deed::Emerge { .. }, crops } => {
                let Some(until) = [0, -1].into_iter().filter_map(later).find_map(|day| awake.away_until(day)) else {
                    continue;
                };
                let of_these =
                    |(_, what): &&mut (Date, Untended)| matches!(what, Untended::Seedlings(_, last) if *last == until);
                match away.iter_mut().find(of_these) {
                    Some((_, Untended::Seedlings(known, _))) => known.extend(crops.iter().cloned()),
                    _ => away.push((on, Untended::Seedlings(crops.clone(), until))),
                }
            }
            Task::Crops { deed, crops } if deed.has_its_day() && awake.is_away(on) => {
                away.push((on, Untended::Deed(*deed, crops.clone())));
            }
            _ => {}
        }
    }
    (!away.is_empty()).then_some(Warning::WhileAway(away))
}

/// The crops that want acid soil, with what their batches go without for it.
fn wants_acid(batches: &[Batch]) -> Option<Warning> {
    let crops = distinct(batches.iter().flat_map(|batch| &batch.crops).filter(|crop| crop.wants_acid()));
    let omissions = batches.iter().flat_map(|batch| &batch.left_out);
    let for_acid = omissions.filter(|out| out.why.contains_key(&Why::NotFor(Status::Ericoid)) && !out.only_less);
    let left_out: BTreeSet<_> = for_acid.map(|out| out.ingredient.clone()).collect();
    let for_acid = batches.iter().filter(|batch| batch.crops.iter().any(|crop| crop.wants_acid()));
    let mild = for_acid.flat_map(|batch| {
        let parts = || batch.composition.parts.iter().map(|(id, _)| id);
        // Limed peat is left out for them, and raw peat has its place where there is some.
        let left_out = batch.left_out.iter().map(|out| &out.ingredient).filter(|_| !parts().any(|id| id.is_raw_peat()));
        parts().chain(left_out.collect::<Vec<_>>()).filter(|id| id.is_mild_base())
    });
    let [left_out, mild] = [left_out, mild.cloned().collect()].map(|of: BTreeSet<_>| of.into_iter().collect());
    (!crops.is_empty()).then_some(Warning::WantsAcid { crops, left_out, mild })
}

/// The cautions that hold for every mix, then those that ingredients call for.
fn called_cautions(mixes: &Mixes) -> Vec<(String, Vec<Handle<Ingredient>>)> {
    let mixed = mixes.batches.iter().filter(|batch| batch.is_mixed());
    let mixed = mixed.flat_map(|batch| batch.composition.ingredients());
    let mut called: BTreeMap<&str, BTreeSet<&Handle<Ingredient>>> = BTreeMap::new();
    for id in mixed.chain(mixes.covering.iter().map(|covering| &covering.ingredient)) {
        for key in &id.cautions {
            called.entry(key).or_default().insert(id);
        }
    }
    let always = cautions_for_all().map(|key| (key.to_owned(), Vec::new()));
    let called = called.into_iter().map(|(key, ids)| (key.to_owned(), ids.into_iter().cloned().collect()));
    always.chain(called).collect()
}
