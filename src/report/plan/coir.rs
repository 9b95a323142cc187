//! The coir's soak in a line or two: the worksheet has a sheet of its own.

use super::PlanReport;
use crate::coir::soak::Worksheet;
use crate::plan::Soaking;
use crate::report::course;
use crate::report::document::Document;
use crate::report::words::{and, given, needed, salt, water, wetting};
use crate::units::{Liquid, UnitSystem, in_litres, plain};

const ASSUMED: &str = "The week says nothing of the coir: a bag that claims nothing is assumed. Say what yours claims: \
                       `soak: {sold_as: washed}` (or buffered, mild, none).";
const TRIAL: &str = "Trial: half of the coir is soaked, the other half only wetted; share a block out by weight. Each batch \
                     with coir is made as two of half the amounts, `buffered` with the soaked coir, `straight` with the \
                     other: fill half of each sowing's trays with either and label them so. Feed and water them alike, \
                     and compare in three weeks.";
const WASHED: &str =
    "Washed coir may also be only wetted and used as a part of the mix: the worksheet says what that leaves.";
const LESS_WORK: &str = "Less work: coir sold as buffered (`sold_as: buffered`) needs no bath, and `trial: half` soaks \
                         half of it for a side-by-side test.";

impl PlanReport<'_> {
    /// How much coir is soaked in what, and from when.
    pub(super) fn coir(&self, document: &mut Document, units: UnitSystem) {
        let Some(soaking) = &self.plan.soak else { return };
        document.heading("Coir");
        let mut words = format!(
            "The batches take {} of loose coir{}: {} x {}, {} left over.",
            needed(soaking.need, units),
            if soaking.stands_in > in_litres(0.0) {
                format!(" beyond the {} of soaked coir at hand", given(soaking.stands_in, units))
            } else {
                String::new()
            },
            soaking.pieces,
            soaking.soak.product.label,
            given(soaking.over, units)
        );
        if soaking.soak.trial {
            words += &format!(" Half of the coir, {}, is soaked.", given(soaking.soaked, units));
        }
        let Some(sheet) = &soaking.sheet else {
            let wetting = wetting(Some(&soaking.soak.product), soaking.dry_kg, soaking.wetted, units);
            document.paragraph(format!("{words} It is sold as buffered: no calcium bath. {wetting}"));
            return;
        };
        document.paragraph(words + &baths(soaking, sheet, units));
        let times = soaking.times.as_ref();
        let course = times.and_then(|times| course::picture(times, sheet, &self.week.awake));
        course.into_iter().for_each(|picture| document.picture(picture));
        let last = if soaking.soak.trial { TRIAL } else { LESS_WORK };
        let washed = sheet.wet_only.is_some() && !soaking.soak.trial;
        let items = soaking.assumed.then_some(ASSUMED).into_iter().chain(washed.then_some(WASHED));
        document.list(items.chain([last]).map(str::to_owned).collect());
    }
}

fn baths(soaking: &Soaking, sheet: &Worksheet, units: UnitSystem) -> String {
    let given = |litres| given(Liquid(in_litres(litres)), units);
    let salts = sheet.course.salt_g();
    let tub = match soaking.soak.tub_l {
        Some(tub) if sheet.runs > 1 => format!("in {} runs of your tub of {}", sheet.runs, given(tub)),
        Some(tub) => format!("in your tub of {}", given(tub)),
        None => format!("in a tub of about {}", water(sheet.report.tub.tub_l, units)),
    };
    let from = soaking.times.as_ref().map(|times| times.start.strftime(", from %a %-d %b, %H:%M").to_string());
    let (water, drained) = (water(sheet.report.water_l, units), given(sheet.report.waste.drain_l));
    format!(
        " Its calcium baths: {} in {water} of water, {tub}{}; {drained} drain off with {} mg/L nitrate nitrogen. `trayful \
         soak WEEK.yaml`, with this week, prints the worksheet.",
        and(salts.iter().map(|(name, grams)| format!("{} of {name}", salt(*grams, units)))),
        from.unwrap_or_default(),
        plain(sheet.report.waste.nitrate_n_mg_l, 0)
    )
}
