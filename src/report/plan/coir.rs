//! The coir's soak in a line or two: the worksheet has a sheet of its own.

use super::PlanReport;
use crate::coir::dry_kg_of_sold;
use crate::plan::Soaking;
use crate::report::remark::texts;
use crate::report::soak::{SoakReport, bathed_in};
use crate::report::words::{and, batches_of, given, needed, water, wetting};
use crate::units::customary::KILOGRAM;
use crate::units::{Liquid, UnitSystem, in_litres, plain};

const TRIAL: &str = "Trial: half of the coir is soaked, the other half only wetted; share a block out by weight. Each mix \
                     with coir that is enough for it is two batches, `buffered` with the soaked coir, `straight` with the \
                     other, each with its own amounts and trays; the labels tell which tray or rows get which. Feed and \
                     water them alike, and compare in three weeks.";

impl PlanReport<'_> {
    /// What of a trial gets soaked coir.
    pub(super) fn soaked_for(&self) -> String {
        let whole = Some(self.plan.mixes.kept_whole()).filter(|whole| !whole.is_empty());
        let whole = whole.map(|whole| format!("{} (too little to halve)", batches_of(&whole)));
        and(["`buffered`".to_owned()].into_iter().chain(whole))
    }

    /// How much coir is soaked in what, and from when.
    pub(super) fn coir(&self, units: UnitSystem) -> Vec<String> {
        let Some(soaking) = &self.plan.soak else { return Vec::new() };
        let Soaking { soak, pieces, need, .. } = soaking;
        let bought = |dry_kg: f64| KILOGRAM.shown(dry_kg / dry_kg_of_sold(1.0), 2, units);
        let taken = bought(soaking.dry_kg + soaking.straight_kg.unwrap_or(0.0));
        let dry = Some(soaking.stays_dry).filter(|dry| *dry > in_litres(0.05));
        let dry = dry.map(|dry| format!("; {} of it stays dry", given(dry, units))).unwrap_or_default();
        let beyond = Some(soaking.stands_in).filter(|soaked| *soaked > in_litres(0.0));
        let beyond = beyond.map(|soaked| format!(" beyond the {} of soaked coir at hand", needed(soaked, units)));
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
        if soaking.is_halved() {
            words += &match soaking.sheet {
                Some(_) => format!(" Of this {} is soaked, for {}.", bought(soaking.dry_kg), self.soaked_for()),
                None => format!(" The soaked coir does for {}: no bath.", self.soaked_for()),
            };
            let straight = soaking.straight_kg.unwrap_or(0.0);
            let water_l = soaking.wetted.map_or(0.0, |held| held.usual * straight);
            words += &format!(" {} stays straight: wet it with {}.", bought(straight), water(water_l, units));
        }
        let trial = soaking.is_halved().then(|| TRIAL.to_owned());
        let Some(sheet) = &soaking.sheet else {
            if let Some(trial) = trial {
                return vec![words, trial];
            }
            let product = soaking.whole_pieces().map(|_| &soak.product);
            let wetting = wetting(product, soaking.dry_kg, soaking.wetted, units);
            return vec![format!("{words} It is sold as buffered: no calcium bath. {wetting}")];
        };
        let file = if self.week.from_command { "--loose VOLUME --place PLACE.yaml`" } else { "WEEK.yaml`" };
        let (waste, drained) = (sheet.report.waste, given(Liquid(in_litres(sheet.report.waste.drain_l)), units));
        let words = format!(
            "{words} Its calcium baths: {}; {drained} drain off with {} mg/L nitrate nitrogen. The worksheet: `trayful soak \
             {file}.",
            bathed_in(soaking, sheet, units),
            plain(waste.nitrate_n_mg_l, 0)
        );
        let in_season = texts(&SoakReport::of(soaking).in_season(units));
        [words].into_iter().chain(in_season).chain(trial).collect()
    }
}
