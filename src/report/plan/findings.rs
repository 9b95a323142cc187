//! What is found of the batches of a plan, in words.

use super::PlanReport;
use crate::behaviour::{ENOUGH_AIR, LOW_MS_CM, Verdict, WANTED_PH};
use crate::plan::Finding;
use crate::recipe::usual_lime_g_per_l;
use crate::report::behaviour::{air_percent, lime_words, ranged};
use crate::report::remark::{Remark, remark};
use crate::report::words::{and, batches_of, fact, needed, tray_name, whole_percent};
use crate::units::customary::DOSE;
use crate::units::mass::gram;
use crate::units::{Mass, UnitSystem, plain, to_litres};
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
    /// What of the batches is warned of.
    pub(super) fn warned_findings(&self, units: UnitSystem) -> impl Iterator<Item = Remark> {
        self.findings(units).into_iter().filter(|found| WARNED_OF.contains(&found.code))
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
