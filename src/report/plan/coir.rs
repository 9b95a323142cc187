//! The coir's soak in a line or two: the worksheet has a sheet of its own.

use super::PlanReport;
use crate::coir::dry_kg_of_sold;
use crate::coir::soak::Worksheet;
use crate::plan::Soaking;
use crate::report::words::{given, needed, salts_to_weigh, saves_a_run, water, wetting};
use crate::units::customary::KILOGRAM;
use crate::units::{Liquid, UnitSystem, in_litres, plain};

const TRIAL: &str = "Trial: half of the coir is soaked, the other half only wetted; share a block out by weight. Each mix \
                     with coir is two batches, `buffered` with the soaked coir, `straight` with the other, each with its \
                     own amounts and trays; the labels tell which tray or rows get which. Feed and water them alike, and \
                     compare in three weeks.";

impl PlanReport<'_> {
    /// How much coir is soaked in what, and from when.
    pub(super) fn coir(&self, units: UnitSystem) -> Vec<String> {
        let Some(soaking) = &self.plan.soak else { return Vec::new() };
        let Soaking { soak, pieces, need, .. } = soaking;
        let bought = |dry_kg: f64| KILOGRAM.shown(dry_kg / dry_kg_of_sold(1.0), 2, units);
        let taken = bought(soaking.dry_kg + soaking.straight_kg.unwrap_or(0.0));
        let dry = Some(soaking.stays_dry).filter(|dry| *dry > in_litres(0.05));
        let dry = dry.map(|dry| format!("; {} of it stays dry", given(dry, units))).unwrap_or_default();
        let beyond = Some(soaking.stands_in).filter(|soaked| *soaked > in_litres(0.0));
        let beyond = beyond.map(|soaked| format!(" beyond the {} of soaked coir at hand", given(soaked, units)));
        let beyond = beyond.unwrap_or_default();
        let mut words = format!(
            "Coir: {} loose{beyond}{}.",
            needed(*need, units),
            match pieces {
                0 => format!(": {taken} as bought{dry}"),
                _ if dry.is_empty() => format!(": {pieces} x {}", soak.product.label),
                _ => format!(": {taken} of {pieces} x {}{dry}", soak.product.label),
            }
        );
        if soak.tries_half() {
            words += &match soaking.sheet {
                Some(_) => format!(" Of this {} is soaked, for `buffered`.", bought(soaking.dry_kg)),
                None => " The soaked coir does for `buffered`: no bath.".to_owned(),
            };
            let straight = soaking.straight_kg.unwrap_or(0.0);
            let water_l = soaking.wetted.map_or(0.0, |held| held.usual * straight);
            words += &format!(" {} stays straight: wet it with {}.", bought(straight), water(water_l, units));
        }
        let trial = soak.tries_half().then(|| TRIAL.to_owned());
        let Some(sheet) = &soaking.sheet else {
            if let Some(trial) = trial {
                return vec![words, trial];
            }
            let product = soaking.whole_pieces().map(|_| &soak.product);
            let wetting = wetting(product, soaking.dry_kg, soaking.wetted, units);
            return vec![format!("{words} It is sold as buffered: no calcium bath. {wetting}")];
        };
        let file = if self.week.from_command { "--loose VOLUME --place PLACE.yaml`" } else { "WEEK.yaml`" };
        let baths = baths(soaking, sheet, units);
        let words = format!("{words}{baths} The worksheet: `trayful soak {file}.");
        [words].into_iter().chain(trial).collect()
    }
}

fn baths(soaking: &Soaking, sheet: &Worksheet, units: UnitSystem) -> String {
    let given = |litres| given(Liquid(in_litres(litres)), units);
    let salts = salts_to_weigh(&sheet.course, sheet.runs, units).map(|salts| salts + " in ").unwrap_or_default();
    let tub = match soaking.soak.tub_l {
        Some(tub) if sheet.runs > 1 => {
            format!("in {} runs of your tub of {}{}", sheet.runs, given(tub), saves_a_run(soaking, units))
        }
        Some(tub) => format!("in your tub of {}", given(tub)),
        None => format!("in a tub of about {}", water(sheet.report.tub.tub_l, units)),
    };
    let from = match &soaking.times {
        Some(times) => times.start.strftime(", from %a %-d %b, %H:%M").to_string(),
        None if soaking.finds_no_time => ", for which no times fit (see above)".to_owned(),
        None => String::new(),
    };
    let (water, drained) = (water(sheet.report.water_l, units), given(sheet.report.waste.drain_l));
    format!(
        " Its calcium baths: {salts}{water} of water, {tub}{}; {drained} drain off with {} mg/L nitrate nitrogen.",
        from,
        plain(sheet.report.waste.nitrate_n_mg_l, 0)
    )
}
