//! Remarks of a plan, and its notes in words.

use super::PlanReport;
use crate::behaviour::{ENOUGH_AIR, LOW_MS_CM, Verdict, WANTED_PH};
use crate::catalogue::{Crop, Handle, Named, Tray, caution};
use crate::plan::{CropNote, Finding, Note, Omission, StandsLong, TrayNote, Unstated};
use crate::recipe::{Why, usual_lime_g_per_l};
use crate::report::behaviour::{air_percent, heavy_shelf, lime_words, ranged};
use crate::report::buying;
use crate::report::remark::{Remark, on, remark};
use crate::report::soak::SoakReport;
use crate::report::words::{
    NO_CROP, and, assumption, batch_name, batches_of, capital, count, fact, needed, span, tray_name, uncapital,
    whole_percent, why,
};
use crate::stock::{KEEPS_DAYS, SOAKED_KEEPS_DAYS};
use crate::units::customary::{DOSE, LITRE};
use crate::units::mass::gram;
use crate::units::volume::{millilitre, us_liquid_gallon};
use crate::units::{Mass, Measure, Quantity, Rounding, UnitSystem, Volume, percent, plain, rounded, to_litres};
use crate::week;
use std::collections::BTreeMap;

/// That a recipe wants a pH and doses no lime is a warning.
const NO_LIME: &str = "no-lime";
const WATERLOGGED: &str = "waterlogged";
const SALTY: &str = "salty";
const SHORT_YIELD: &str = "short-yield";
const LIME: &str =
    "Lime for the pH that the recipe wants (by a trial of limed peat; peats differ, so test with a strip)";
const SHORT: &str = "May come out short: no `yield:` is stated, and by the sizes of the parts less of them is kept on mixing than the \
                 88 % that is counted on (models, from memory)";
const UNLIMED: &str = "The recipe wants a pH and doses no lime: weigh it in (by a trial of limed peat)";
const MISSED: &str = "The recipe wants another pH than its mix has; the lime for it (by a trial of limed peat; peats differ, so test with a strip)";
const OFF_PH: &str = "off-ph";
const WANTED_PH_MISSED: &str = "wanted-ph-missed";
const LIME_FOR_PH: &str = "lime-for-ph";
const LITTLE_AIR: &str = "little-air";
const UNLIMED_PEAT: &str = "unlimed-peat";
/// What is wrong with a mix and stands at the top.
const WARNED_OF: [&str; 7] = [SHORT_YIELD, WATERLOGGED, SALTY, OFF_PH, UNLIMED_PEAT, NO_LIME, WANTED_PH_MISSED];

impl PlanReport<'_> {
    /// What to watch out for.
    pub(in crate::report) fn warnings(&self, units: UnitSystem) -> Vec<Remark> {
        let warnings = self.plan.warnings.iter();
        let warnings = warnings.map(|warning| Remark::new(warning.code(), self.warning(warning, units)));
        let findings = self.findings(units).into_iter().filter(|found| WARNED_OF.contains(&found.code));
        let shelf = self.plan.shelf(self.week).and_then(|shelf| heavy_shelf(&shelf, None, units));
        let warnings = warnings.chain(findings).chain(shelf);
        warnings.chain(buying::cautions(&self.plan.purchases)).collect()
    }

    /// What to know, without the notes on purchases, which stand with these.
    pub(super) fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let notes = self.plan.notes.iter().map(|found| Remark::new(found.code(), note(found, units)));
        let in_season = self.plan.soak.iter().flat_map(|soaking| SoakReport::of(soaking).in_season(units));
        notes.chain(in_season).chain(self.noted_findings(units)).collect()
    }

    /// What of the batches is not warned of.
    pub(super) fn noted_findings(&self, units: UnitSystem) -> impl Iterator<Item = Remark> {
        self.findings(units).into_iter().filter(|found| !WARNED_OF.contains(&found.code))
    }

    /// Whether a recipe of the week says what pH it wants.
    fn wants_ph(&self) -> bool {
        self.week.recipes.iter().any(|recipe| recipe.ph.is_some())
    }

    /// What is wrong with the air and the pH of the batches, and the lime for a wanted pH.
    fn findings(&self, units: UnitSystem) -> Vec<Remark> {
        let mut found: BTreeMap<&str, BTreeMap<String, Vec<usize>>> = BTreeMap::new();
        let [mut is_too_acid, mut is_acidified] = [false; 2];
        for (index, finding) in self.plan.findings(self.week) {
            if let Finding::OffPh { least, .. } = finding {
                is_acidified |= least.is_none();
                is_too_acid |= least.is_some_and(|least| least < WANTED_PH[0]);
            }
            let number = self.plan.mixes.mixing.number(*index);
            let of = found.entry(code_of(finding)).or_default();
            of.entry(finding_words(finding, units)).or_default().push(number);
        }
        let enough = whole_percent(ENOUGH_AIR);
        let air = format!("Little air for seed once the cells have drained ({enough} is enough; mostly from memory)");
        let drown = format!(
            "Seed is likely to drown, with so little air once the cells have drained ({enough} is enough; mostly from memory)"
        );
        let [one_in_two, saturated, poured] = LOW_MS_CM.map(|most| plain(most, 1));
        let salts = format!(
            "More salts than seedlings want, in mS/cm (at most {one_in_two} in a 1:2 extract, {saturated} in a saturated one, \
             {poured} poured through; from memory)"
        );
        let [least, most] = WANTED_PH.map(|ph| plain(ph, 1));
        let ph = format!("Not the pH that most seed wants, {least} to {most} (by a trial of limed peat)");
        let mends = " `trayful show RECIPE --tray KIND` says what mends it.";
        let doses = match is_too_acid {
            true if self.wants_ph() => "",
            true => " `ph: 5.9` in the recipe tells the lime for it.",
            false if is_acidified => " Leave out what makes it acid, or test it with a strip.",
            false => " Less of that brings it down, or more raw peat.",
        };
        let each = [
            (SHORT_YIELD, SHORT, " A bucket test tells: `trayful yield`."),
            (WATERLOGGED, &drown, mends),
            (LITTLE_AIR, &air, mends),
            (SALTY, &salts, " Sow in a poorer mix, or have an extract measured."),
            (OFF_PH, &ph, doses),
            (UNLIMED_PEAT, "Much raw peat, which is acid, and no lime", " Test the mix with a strip."),
            (LIME_FOR_PH, LIME, ""),
            (WANTED_PH_MISSED, MISSED, ""),
            (NO_LIME, UNLIMED, ""),
        ];
        let each = each.into_iter().filter_map(|(code, lead, help)| Some((code, lead, found.remove(code)?, help)));
        each.map(|(code, lead, found, help)| remark!(code, "{lead}: {}.{help}", of_batches(found))).collect()
    }

    /// The cautions, each after the ingredients that call for it.
    pub(super) fn cautions(&self, units: UnitSystem) -> Vec<Remark> {
        let called = self.plan.cautions.iter();
        let remark = called.filter_map(|(key, ids)| {
            let caution = caution(key)?;
            let text = units.prose(&caution.text);
            let of_some = on(&caution.key, ids, |names| format!("{}: {}", capital(names), uncapital(&text)));
            Some(of_some.unwrap_or_else(|| Remark::new(&caution.key, &text)))
        });
        remark.collect()
    }
}

/// What is found of batches, by its words.
fn of_batches(found: BTreeMap<String, Vec<usize>>) -> String {
    let mut found: Vec<(String, Vec<usize>)> = found.into_iter().collect();
    found.iter_mut().for_each(|(_, batches)| batches.sort_unstable());
    found.sort_by(|(_, one), (_, other)| one.cmp(other));
    let each = found.iter().map(|(words, batches)| format!("{}, {words}", batches_of(batches)));
    each.collect::<Vec<_>>().join("; ")
}

const fn code_of(finding: &Finding) -> &'static str {
    match finding {
        Finding::ShortYield(_) => SHORT_YIELD,
        Finding::Waterlogged(..) => WATERLOGGED,
        Finding::LittleAir(..) => LITTLE_AIR,
        Finding::Salty(..) => SALTY,
        Finding::OffPh { .. } => OFF_PH,
        Finding::UnlimedPeat { .. } => UNLIMED_PEAT,
        Finding::Lime { is_dosed: false, lime: Ok([_, about, _]), .. } if *about > 0.0 => NO_LIME,
        Finding::Lime { far: Some(_), .. } => WANTED_PH_MISSED,
        Finding::Lime { .. } => LIME_FOR_PH,
    }
}

fn finding_words(finding: &Finding, units: UnitSystem) -> String {
    match finding {
        Finding::ShortYield(kept) => format!("at most {}", whole_percent(*kept)),
        Finding::Salty(least, Some(most)) => ranged(&[*least, *most], |ec| plain(ec, 1)),
        Finding::Salty(least, None) => format!("at least {}", plain(*least, 1)),
        Finding::LittleAir(tray, air) | Finding::Waterlogged(tray, air) => {
            let risk = matches!(finding, Finding::LittleAir(..)) && Verdict::of(*air) == Verdict::Wet;
            let risk = if risk { " (waterlogging risk)" } else { "" };
            format!("{} % in {}{risk}", air_percent(*air), tray_name(tray, units))
        }
        Finding::OffPh { least: None, most, .. } => {
            format!("pH {} at the most, by what makes it acid", plain(*most, 1))
        }
        Finding::OffPh { least: Some(least), most, is_limed, is_rich } => {
            let of = [(*is_limed, "lime"), (*is_rich, "castings or compost")];
            let of = of.into_iter().filter(|(is, _)| *is && *least > WANTED_PH[1]).map(|(_, what)| what);
            let by = Some(and(of)).filter(|of| !of.is_empty()).map(|of| format!(", by {of}"));
            format!("pH {}{}", ranged(&[*least, *most], |ph| plain(ph, 1)), by.unwrap_or_default())
        }
        Finding::UnlimedPeat { peat, rich, why } => {
            let usual = ranged(&usual_lime_g_per_l(*rich), |grams| DOSE.figure(grams, 1, units));
            let (peat, per) = (whole_percent(*peat), DOSE.name_in(units));
            format!("{peat} of it, and its pH is not known, since {why}; as a rule it takes {usual} {per} of raw peat")
        }
        Finding::Lime { ph, lime, peat, is_dosed, far } => {
            let lime = lime.map(|lime| {
                let instead = match (is_dosed, lime[1] > 0.0) {
                    (false, _) => "",
                    (true, true) => ", in place of what is dosed",
                    (true, false) => "; leave out what is dosed",
                };
                let grams = Mass::new::<gram>(lime[1] * to_litres(*peat));
                let about = format!(", about {} for its {}", fact(grams, units), needed(*peat, units));
                lime_words(&lime, units) + if lime[1] > 0.0 { &about } else { "" } + instead
            });
            let stands = far.map(|far| format!(", and stands at {}", ranged(&far, |ph| plain(ph, 1))));
            let lime = lime.unwrap_or_else(|why| format!("not known, since {why}"));
            format!("pH {}{}: {lime}", plain(*ph, 1), stands.unwrap_or_default())
        }
    }
}

fn stands_long(all: &[StandsLong]) -> String {
    let of = all.iter().map(|StandsLong { crop, stands, weeks, sow }| {
        let (weeks, sow) = (span(*weeks, "", ""), sow.strftime("%-d %b"));
        format!("{} is {stands} weeks old, not {}: sow from {sow}", crop.shown(), weeks.trim_end())
    });
    format!("At the last frost {}, or pot on.", of.collect::<Vec<_>>().join("; "))
}

const SOAK_UNUSED: &str = "The mix holds no coir: `soak:`, in the week or its place, does nothing here (`use: coir` \
                           takes coir where a recipe offers it).";

fn lime_unneeded(why: &str, batches: &[usize], units: UnitSystem) -> String {
    format!(
        "{why} (common practice), and some is dosed on it in {}: dose it on the peat alone \
         (`lime: {{rate: {}, of: peat}}`), or leave it out.",
        batches_of(batches),
        units.either("3 g/L", "5 lb/cu yd")
    )
}

/// Coir that is to be soaked, and how the worksheet is had.
fn soak_coir(loose: Volume, units: UnitSystem) -> String {
    format!(
        "Coir that is not sold as buffered wants its calcium baths two days ahead: `trayful soak --loose \"{}\"` prints \
         the worksheet.",
        units.either(
            format!("{} L", plain(to_litres(loose), 1)),
            format!("{} US gal", rounded(loose.get::<us_liquid_gallon>(), 2, Rounding::Up))
        )
    )
}

fn no_tub(units: UnitSystem) -> String {
    format!(
        "No tub is named, so each mix is given as one load. A week file may say {}: then the sheet gives loads and \
         scoops.",
        units.either("`tub: 60 L` and `scoop: 2 L`", "`tub: 15 US gal` and `scoop: 2 US qt`")
    )
}

/// Soaked coir that is older than it keeps by so many days, or of unknown age.
fn soaked_coir_keeps() -> String {
    format!(
        "Soaked coir at hand keeps about {SOAKED_KEEPS_DAYS} days, drained, hand-moist, loosely covered and cool (common \
         practice): take no older."
    )
}

fn not_used(names: &[String], why: &str, units: UnitSystem) -> String {
    format!("Not used, though at hand: {}. {why}", and(names.iter().map(|name| batch_name(name, units))))
}

/// Whether it stands below the days of the crops: of some, none are known.
pub(super) const fn is_for_afterwards(note: &Note) -> bool {
    matches!(note, Note::Crops(CropNote::EmergenceUnknown, _))
}

/// A note in words.
pub(in crate::report) fn note(note: &Note, units: UnitSystem) -> String {
    match note {
        Note::Remark(found) => remark(found, units),
        Note::Crops(note, crops) => crop_note(*note, crops),
        Note::Trays(note, trays) => tray_note(*note, trays, units),
        Note::Unstated(found) => unstated(found),
        Note::WholeTrays(beyond) => {
            format!("Unsown cells take {} of mix; with `fill: sown cells` they stay empty.", needed(*beyond, units))
        }
        Note::NoCrop => NO_CROP.to_owned(),
        Note::SoakCoir(loose) => soak_coir(*loose, units),
        Note::SoakUnused => SOAK_UNUSED.to_owned(),
        Note::CoirSoldIn { said, sold } => format!(
            "Coir is counted by the {sold} of the stock file, not the {said} of `soak:`: list there what you have."
        ),
        Note::LastPiece(need) => format!(
            "Of the last brick or block of coir only {} is needed: a little less for spill or a few plants fewer save it, \
             and the work with it.",
            needed(*need, units)
        ),
        Note::ManyBricks { bricks, label, blocks } => format!(
            "{} would do for the {bricks} x {label} and usually cost less (common practice): `coir: {{product: 5 kg block}}` \
             under `soak:`.",
            units.prose(&count(*blocks, "block of 5 kg", "blocks of 5 kg"))
        ),
        Note::ManySowings(number) => {
            format!("The {number} sowings are listed together by crop and tray; `--format csv` and `json` list each.")
        }
        Note::SaltNotPriced(salts) => {
            format!("To pay leaves out the baths' {}: no price is known.", and(salts.iter().map(|salt| &salt.name)))
        }
        Note::StaleMix(names) => {
            let why = format!("A mix with food or an inoculant in it keeps {KEEPS_DAYS} days (common practice).");
            not_used(names, &why, units)
        }
        Note::NotCompared(crops) => {
            format!(
                "Not compared by the trial, since no mix has it in both halves: {}.",
                and(crops.iter().map(|crop| crop.in_full()))
            )
        }
        Note::MixBesideTrial(names) => not_used(names, "Both halves of a trial are made alike, on the day.", units),
        Note::NoTub => no_tub(units),
        Note::LimeOnCoir(batches) => lime_unneeded("Coir needs no lime", batches, units),
        Note::LimeOnLimedPeat(batches) => lime_unneeded("Limed peat has its lime already", batches, units),
        Note::StarterCharge(ingredient) => format!(
            "{} usually carries a starter charge and lime: add no castings, fertiliser or lime to it unless its bag says \
             so, and begin to feed later. Its phosphorus may work against an inoculant, and its lime against plants of \
             acid soil.",
            capital(&ingredient.name)
        ),
        Note::SoakedCoirKeeps => soaked_coir_keeps(),
        Note::OffMixDay(day) => format!("{} is none of the place's `mix_days`.", day.strftime("%A")),
        Note::ManyTrays { trays, a_day } => {
            format!("{trays} trays are more than the {a_day} a day of the place (`trays_a_day`).")
        }
        Note::StandsLong(all) => stands_long(all),
    }
}

fn remark(remark: &week::ReadingNote, units: UnitSystem) -> String {
    use week::ReadingNote;
    match remark {
        ReadingNote::Assumed(unit) => assumption(*unit, units),
        ReadingNote::RecipeBeside(name) => {
            format!("The recipe `{name}` is the file beside the week, not the built-in one.")
        }
        ReadingNote::NotOffered { wanted, recipe } => {
            format!("The recipe `{recipe}` offers no choice of {wanted}; `use:` does nothing there.")
        }
        ReadingNote::Name { written, crop, remark } if written == crop => format!("{crop}: {remark}."),
        ReadingNote::Name { written, crop, remark } => format!("`{written}` is taken as {crop}: {remark}."),
        ReadingNote::LastWords { written, crop } => {
            format!("`{written}` is taken for {crop} by its last words: if it is another plant, add it under `crops:`.")
        }
        ReadingNote::FamilyVaries { crop, family, others } => format!(
            "`{crop}` is taken to live as most {family} do; {} of that family do not. If it may be one of these, write its \
             `species:`.",
            and(others)
        ),
        ReadingNote::OneRow(tray) => {
            format!("The tray `{tray}` states no rows and counts as one row: it is never shared.")
        }
        ReadingNote::SharesOff(words) => format!("{}.", capital(words)),
        ReadingNote::FromPlace(place) => {
            format!("What is not stated here is from the place `{place}`.")
        }
    }
}

fn crop_note(note: CropNote, of: &[Handle<Crop>]) -> String {
    let crops = and(of);
    match note {
        CropNote::LegalMinimum => format!(
            "Cells for {crops} go by the least germination of US law; the packet's own (`germination: 90 %`) mostly sows \
             fewer."
        ),
        CropNote::ExpectedGermination => {
            let expected =
                |crop: &Handle<Crop>| Some(format!("{} {}", crop.shown(), percent(crop.expected_germination?)));
            format!(
                "Little may come up: assumed is {}. Write the packet's figure.",
                and(of.iter().filter_map(expected))
            )
        }
        CropNote::AssumedGermination => {
            format!("No germination is known for {crops}: 70 % is assumed. Write the packet's figure.")
        }
        CropNote::Spare => format!(
            "Of {crops} {} more are potted on than wanted, to spare: `spare:` says otherwise (`spare: 0 %`).",
            week::usual_spare().map(percent).unwrap_or_default()
        ),
        CropNote::ThinOut => format!("Thin {crops} to the strongest of each cell, or sow with `clump: yes`."),
        CropNote::InoculantForNonHost => format!(
            "`inoculant: yes` puts inoculant in the mix for {crops}, though no benefit is expected there: arbuscular \
             mycorrhiza is not known to serve it."
        ),
        CropNote::EmergenceUnknown => {
            let [its, each] = if of.len() == 1 { ["its ", ""] } else { ["", " of each"] };
            format!("No days to emergence are known of {crops}: write {its}`emerges: 7-14`{each} under `crops:`.")
        }
        CropNote::SmallCells => {
            let usual =
                |crop: &Handle<Crop>| Some(format!("{} ({})", crop.shown(), span(crop.cells?, "cell", "cells")));
            format!(
                "Smaller cells than the crop table has in a 10 x 20 in tray for {}: use larger ones, or pot on early.",
                and(of.iter().filter_map(usual))
            )
        }
    }
}

fn unstated(Unstated { crops, facts, trays }: &Unstated) -> String {
    let facts = and(facts.iter().map(|fact| format!("`{fact}:`")));
    format!(
        "With {facts} stated under `crops:` as others have them, {} would share trays with these: {} fewer.",
        and(crops),
        count(*trays, "tray", "trays")
    )
}

fn tray_note(note: TrayNote, trays: &[Handle<Tray>], units: UnitSystem) -> String {
    let names = and(trays.iter().map(|tray| tray_name(tray, units)));
    match note {
        TrayNote::WeighCells => format!(
            "Makers differ by 20 to 45 %: weigh the water of ten cells of {names}; write it under `trays:`, \
             `cell: {{ten_weigh: ... {}}}`.",
            units.either("g", "oz")
        ),
        TrayNote::PotRim => format!(
            "Each {} is filled to {} below its edge unless `rim:` says otherwise, in the tray or under `allowances:`.",
            names,
            units.prose("1 cm")
        ),
        TrayNote::Plugs => format!("What the plugs of {names} bring is not filled into the pots that they go into."),
        TrayNote::PressTen => format!(
            "How much loose mix each {names} takes varies from 2 to 3 times its size: press ten, note the loose mix they took, \
             and write it over the size of ten as `compression:` under `trays:`."
        ),
        TrayNote::LowConfidence => {
            format!("Volumes from memory, to weigh first: {names}.")
        }
        TrayNote::OddVolume => {
            let volumes = and(trays.iter().map(|tray| LITRE.figure(to_litres(tray.volume()), 2, units)));
            format!(
                "One tray of `{names}` works out at {volumes} {}, outside the usual {}: check its cell volume.",
                LITRE.name_in(units),
                units.prose("0.7 to 8 L")
            )
        }
        TrayNote::TopUnknown => {
            let measure = units.either("in litres", "by volume");
            format!("The sieved top layer cannot be told {measure}: the depth of `{names}` is not known.")
        }
        TrayNote::PotsUncounted => format!(
            "`{names}` does not say how many stand in a carrying tray, so its pots are not counted on the rack: count \
             them, and write `trays: {{{}: {{per_tray: ...}}}}`.",
            and(trays.iter().map(|tray| &tray.name))
        ),
    }
}

/// What a batch goes without, as a sentence.
pub(super) fn omission(omission: &Omission, units: UnitSystem) -> String {
    let reasons = omission.why.iter().map(|(reason, crops)| match reason {
        // A dose without its base is missing for every crop alike.
        Why::NoneOf(_) | Why::Limed(_) => why(reason),
        _ if crops.is_empty() => why(reason),
        _ => format!("{} ({})", and(crops), why(reason)),
    });
    let reasons = reasons.collect::<Vec<_>>().join("; ");
    // Of what is wholly left over from earlier nothing is saved.
    let saved = omission.saved.filter(|saved| saved.size() > 0.0).map(|saved| match saved {
        Quantity::Volume(volume) if !omission.as_part && units == UnitSystem::Metric => {
            format!("; saves {:.0} mL", volume.get::<millilitre>())
        }
        saved => format!("; saves {}", saved.shown(Rounding::Down, units)),
    });
    let saved = saved.unwrap_or_default();
    let instead = omission.instead.as_ref().map(|id| format!("; {} instead", id.name)).unwrap_or_default();
    let no = if omission.only_less { "Less" } else { "No" };
    format!("{no} {}: {reasons}{instead}{saved}.", omission.ingredient.name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::units::in_litres;

    #[test]
    fn names_in_capitals_stay_capitals() {
        assert_eq!(uncapital("Dust when dry"), "dust when dry");
        assert_eq!(uncapital("A nuisance dust"), "a nuisance dust");
        assert_eq!(uncapital("NIOSH sets 23 kg"), "NIOSH sets 23 kg");
        assert_eq!(["pH", ""].map(uncapital), ["pH", ""]);
    }

    #[test]
    fn what_a_batch_goes_without_is_told_with_its_reasons() {
        let catalogue = Catalogue::built_in();
        let lime = catalogue.ingredients.find("lime").unwrap();
        let kale = catalogue.crops.find("kale").unwrap();
        let without = |why, crops: &[&Handle<Crop>], saved| Omission {
            ingredient: lime.clone(),
            why: [(why, crops.iter().map(|crop| (*crop).clone()).collect())].into(),
            instead: None,
            only_less: false,
            saved,
            as_part: false,
        };
        let words = |found: Omission| omission(&found, UnitSystem::Metric);
        let grams = Quantity::Mass(Mass::new::<gram>(5.0));
        let saved = without(Why::Change, &[&kale], Some(grams));
        assert_eq!(words(saved.clone()), "No lime: kale (as the recipe's change says); saves 5 g.");
        let other = Omission { only_less: true, instead: Some(lime.clone()), ..saved };
        assert_eq!(words(other), "Less lime: kale (as the recipe's change says); lime instead; saves 5 g.");
        let spoons = Quantity::Volume(in_litres(0.02));
        assert_eq!(words(without(Why::Asked, &[], Some(spoons))), "No lime: as the sowing says; saves 20 mL.");
        let part = Omission { as_part: true, ..without(Why::NoneOf(lime.clone()), &[&kale], Some(spoons)) };
        assert_eq!(words(part), "No lime: it is dosed on lime, and this mix has none; saves 0.02 L.");
    }
}
