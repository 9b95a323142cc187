//! What a worksheet says to know and to beware of.

use super::SoakReport;
use crate::coir::Stated;
use crate::coir::soak::{CoirKind, Worksheet};
use crate::plan::{InSeason, Soaking};
use crate::report::remark::{Remark, remark};
use crate::report::words::{
    after_mix, and, assumption, capital, from_place, given, grows_stale, needed, no_time, outside_awake, salt_safety,
    salts_to_weigh, saves_a_run, short_date, water,
};
use crate::units::customary::SQUARE_METRE;
use crate::units::{Liquid, UnitSystem, in_litres};

const METER: &str = "A conductivity meter shows salts, not whether coir is buffered; nor does a water extract. A CAT or \
    BaCl2 extract by a laboratory does.";
const SECOND_BATH: &str = "A second bath whose EC stays near that of a fresh bath, thinned by the water the coir held, \
    says that the exchange is nearly done.";
const WATER_HELD: &str = "Weigh once: (wet, drained coir - dry coir) / dry coir is the water it holds; 7 kg/kg is taken \
    (4 squeezed, 10 fine pith). A laboratory's saturated extract sharpens the rest: put both under `lab:`.";
const MODEL: &str = "The model is a well stirred equilibrium at 25 C. It leaves out pH, phosphate, organic acids and \
    microbes. Hard or salty water changes the result: state its ions under `water:`.";
const KEEPS: &str = "Wet coir keeps three days dripping in a closed tub; about three weeks drained, hand-moist, loosely \
    covered and cool (common practice, no source).";
/// Notes on every worksheet.
const NOTES: [(&str, &str); 5] =
    [("meter", METER), ("second-bath", SECOND_BATH), ("water-held", WATER_HELD), ("model", MODEL), ("keeps", KEEPS)];
const SALT_NAME: &str = "`calcium nitrate` was taken as the double salt with ammonium (about 19 % Ca), as a bag marked \
    15.5-0-0 is (common practice). The tetrahydrate (17 % Ca) has a name of its own: `calcium nitrate tetrahydrate`.";
const CLAIM: &str = "What the bag claims is translated by judgement into a starting composition, pessimistic about sodium: \
    no published table for raw coir was found. The range holds coir as raw and partly treated alike.";
const LATE: &str = "The start lies in the past: the coir will not be ready in time.";
const HANDLING: &str = "Follow the salt's label and safety data sheet. Label the tubs, keep children and animals off, use \
    no food vessels.";
const DUST_AND_WEIGHT: &str = "Dry coir raises dust: wear a mask. Wet coir is heavy: lift small loads.";
/// Nitrogen that a square metre of grass takes, g: from memory, no source.
const GRASS_TAKES_G: [f64; 2] = [10.0, 5.0];

/// Where drain water may go, and how much grass takes its nitrogen.
fn drain_water(nitrogen_g: f64, units: UnitSystem) -> String {
    let [least, most] = GRASS_TAKES_G.map(|each| (nitrogen_g / each).ceil());
    let grass = match SQUARE_METRE.shown(most, 0, units) {
        _ if nitrogen_g <= 0.0 => String::new(),
        most if least <= 1.0 => format!("; up to {most} of grass take its nitrogen (from memory)"),
        most => {
            format!("; {} to {most} of grass take its nitrogen (from memory)", SQUARE_METRE.figure(least, 0, units))
        }
    };
    format!(
        "Keep drain water from drains, ditches, ponds, wells and septic fields. Where local rules allow, thin it and give \
         it to established grass or beds that are not eaten from{grass}."
    )
}

impl SoakReport<'_> {
    pub(super) fn notes(&self, sheet: &Worksheet, system: UnitSystem) -> Vec<Remark> {
        let soak = &self.soaking.soak;
        let claimed = matches!(soak.coir, CoirKind::SoldAs(_)) && sheet.target.is_some();
        let salt_name = soak.salt_unsure.then_some(("salt-name", SALT_NAME));
        let units = soak.units.iter().map(|unit| Remark::new("bare-unit", assumption(*unit, system)));
        let place = self.place.filter(|taken| !taken.keys.is_empty());
        let place = place.map(|taken| Remark::new("from-place", from_place(taken)));
        let ours = |(code, text): (&'static str, &str)| Remark::new(code, system.prose(text));
        let first = salt_name.into_iter().chain(NOTES).map(ours);
        self.in_season(system)
            .into_iter()
            .chain(first)
            .chain(place)
            .chain(units)
            .chain(claimed.then_some(("claim", CLAIM)).map(ours))
            .collect()
    }

    /// That coir wants no bath, and what is stated of baths in vain.
    pub(super) fn no_bath(&self) -> String {
        let is_plain = self.soaking.soak.stated == Stated::default();
        let unused = if is_plain { "" } else { ", so `hydrate:`, `soaks:` and `rinses:` do nothing" };
        format!("sold as buffered: no bath is needed{unused}")
    }

    /// What the course is in a season: coir for later days, or of an earlier day's course.
    pub(in crate::report) fn in_season(&self, units: UnitSystem) -> Vec<Remark> {
        let Soaking { stands_in, in_season, .. } = self.soaking;
        let Some(InSeason { served_by, more }) = in_season else { return Vec::new() };
        let served = served_by.as_ref().map(|first| {
            let all = needed(self.soaking.bathed() + *stands_in, units);
            remark!(
                "soaked-before",
                "The course for {} was to serve this day too: if its coir stands ready, write it under `on_hand:` of the \
                 stock file as `soaked coir: {all}`, take as much off `coir:`, and nothing is bathed.",
                short_date(*first)
            )
        });
        let more = more.as_ref().and_then(|(more, days, whole)| {
            let baths = bathed_in(whole, whole.sheet.as_ref()?, units);
            let bathe = if served_by.is_some() { "Else bathe" } else { "Bathe" };
            Some(remark!(
                "soak-more",
                "{bathe} {} more in the same course, for {}: {} in all ({} as it is weighed out), with {baths}. What of it is \
                 not at hand is bought for the season (`trayful season SEASON.yaml`). Drained and cool it keeps about three \
                 weeks (common practice): {}",
                needed(*more, units),
                and(days.iter().copied().map(short_date)),
                needed(whole.bathed(), units),
                needed(whole.soaked, units),
                write_soaked("what is left of it")
            ))
        });
        served.into_iter().chain(more).collect()
    }

    /// That coir for later days, once it is in the course, is in no file yet.
    pub(in crate::report) fn more_is_not_entered(&self, units: UnitSystem) -> Option<Remark> {
        let (more, days, _) = self.soaking.in_season.as_ref()?.more.as_ref()?;
        Some(remark!(
            "soaked-more",
            "Coir that was soaked beside it ({} for {}) is not entered by this: {}",
            needed(*more, units),
            and(days.iter().copied().map(short_date)),
            write_soaked("it")
        ))
    }

    pub(super) fn cautions(&self, units: UnitSystem) -> Vec<Remark> {
        let mut cautions: Vec<Remark> = self.late.then(|| Remark::new("late", LATE)).into_iter().collect();
        let outside = self.soaking.ready_outside_awake();
        let outside =
            outside.map(|at| Remark::new("ready-outside-awake", outside_awake("The coir is to be ready", &at)));
        cautions.extend(outside);
        cautions
            .extend(self.soaking.finds_no_time.then(|| Remark::new("no-time", no_time(self.soaking.fitting, units))));
        if let Some(times) = self.soaking.times.as_ref().filter(|_| self.soaking.waits_hours < 0.0) {
            cautions.push(Remark::new("after-mix", after_mix(&times.ready)));
        }
        if let Some(sheet) = &self.soaking.sheet {
            if self.soaking.grows_stale() {
                cautions.push(Remark::new("grows-stale", grows_stale(sheet.runs, sheet.first_waits_hours)));
            }
            cautions.extend(sheet.report.cautions.iter().map(|one| Remark::new(one.code, sentence(&one.text))));
            cautions.extend(sheet.course.salts().filter_map(salt_safety).map(|text| Remark::new("salt-safety", text)));
            cautions.push(Remark::new("drain-water", drain_water(sheet.report.waste.nitrogen_g, units)));
            cautions.push(Remark::new("handling", HANDLING));
        }
        cautions.push(Remark::new("dust-and-weight", DUST_AND_WEIGHT));
        cautions
    }
}

/// How soaked coir comes into the stock.
fn write_soaked(what: &str) -> String {
    format!("write {what} under `on_hand:` of the stock file, as `soaked coir`, and take as much off `coir:`.")
}

/// The salts and the water of a course, its tub, and when it begins.
pub(in crate::report) fn bathed_in(soaking: &Soaking, sheet: &Worksheet, units: UnitSystem) -> String {
    let salts = salts_to_weigh(&sheet.course, sheet.runs, units).map(|salts| salts + " in ").unwrap_or_default();
    let tub = match soaking.soak.tub_l.map(|tub| given(Liquid(in_litres(tub)), units)) {
        Some(tub) if sheet.runs > 1 => {
            format!("in {} runs of your tub of {tub}{}", sheet.runs, saves_a_run(soaking, units))
        }
        Some(tub) => format!("in your tub of {tub}"),
        None => format!("in a tub of about {}", water(sheet.report.tub.tub_l, units)),
    };
    let from = match &soaking.times {
        Some(times) => times.start.strftime(", from %a %-d %b, %H:%M").to_string(),
        None if soaking.finds_no_time => ", for which no times fit (see above)".to_owned(),
        None => String::new(),
    };
    format!("{salts}{} of water, {tub}{from}", water(sheet.report.water_l, units))
}

/// With a capital, and a full stop after what is long enough for a sentence.
fn sentence(text: &str) -> String {
    let capital = capital(text);
    if capital.ends_with(['.', '!']) || capital.len() < 40 { capital } else { format!("{capital}.") }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 30 g of nitrogen suit 3 to 6 m2 of grass (memory); a square metre has 10.764 square feet.
    #[test]
    fn the_nitrogen_of_the_drain_is_told_as_grass() {
        let told = |grams, units| drain_water(grams, units);
        assert!(told(30.0, UnitSystem::Metric).ends_with("; 3 to 6 m2 of grass take its nitrogen (from memory)."));
        assert!(told(30.0, UnitSystem::Us).contains("; 30 to 60 sq ft of grass"));
        assert!(told(2.0, UnitSystem::Metric).contains("; up to 1 m2 of grass take"));
        assert!(told(0.0, UnitSystem::Metric).ends_with("that are not eaten from."));
    }

    /// A name stays a name; what is as long as a sentence ends as one, once.
    #[test]
    fn long_texts_end_as_sentences() {
        assert_eq!(sentence("gypsum"), "Gypsum");
        let long = "step 2: 0.100 mol of gypsum stay undissolved";
        assert_eq!(sentence(long), "Step 2: 0.100 mol of gypsum stay undissolved.");
        assert_eq!(sentence(&format!("{long}!")), format!("S{}!", &long[1..]));
        assert_eq!(sentence(&sentence(long)), sentence(long));
        assert_eq!(sentence(""), "");
    }
}
