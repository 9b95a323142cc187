//! The coir's soak in a line or two, and the calendar.

use super::PlanReport;
use crate::moment::rfc3339;
use crate::plan::Task;
use crate::report::document::{Document, Table};
use crate::report::words::{and, task};
use crate::units::{Litres, UnitSystem, amount, in_litres, plain};
use serde_json::{Value, json};

impl PlanReport<'_> {
    /// The soak in a line or two: the worksheet has a sheet of its own.
    pub(super) fn soak(&self, document: &mut Document, units: UnitSystem) {
        let Some(soaking) = &self.plan.soak else { return };
        document.heading("Coir");
        let litres = |volume, rounding| amount(volume, rounding, units);
        let mut words = format!(
            "The batches take {} of loose coir: {} x {}",
            litres(soaking.need, Litres::Needed),
            soaking.pieces,
            soaking.soak.product.label
        );
        words += &format!(", {} left over.", litres(soaking.over, Litres::Given));
        if soaking.soak.trial {
            words += &format!(" Half of the coir, {}, is soaked.", litres(soaking.soaked, Litres::Given));
        }
        let Some(sheet) = &soaking.sheet else {
            document.paragraph(words + " It is sold as buffered: no calcium bath, only wet it.");
            return;
        };
        let salts: Vec<String> =
            sheet.course.salt_g().iter().map(|(name, grams)| format!("{} g of {name}", plain(*grams, 0))).collect();
        let water = in_litres(sheet.report.water_l);
        words += &format!(" Its calcium baths: {} in {} of water", and(&salts), litres(water, Litres::Needed));
        words += &match soaking.soak.tub_l {
            Some(tub) if sheet.runs > 1 => {
                format!(", in {} runs of your tub of {}", sheet.runs, litres(in_litres(tub), Litres::Given))
            }
            Some(tub) => format!(", in your tub of {}", litres(in_litres(tub), Litres::Given)),
            None => format!(", in a tub of about {}", litres(in_litres(sheet.report.tub.tub_l), Litres::Needed)),
        };
        if let Some(times) = &soaking.times {
            words += &format!(", from {}", times.start.strftime("%a %-d %b, %H:%M"));
        }
        words += &format!(
            "; {} drain off with {} mg/L nitrate nitrogen. `trayful soak WEEK.yaml`, with this week, prints the worksheet.",
            litres(in_litres(sheet.report.waste.drain_l), Litres::Given),
            plain(sheet.report.waste.nitrate_n_mg_l, 0)
        );
        document.paragraph(words);
        let mut items = Vec::new();
        if soaking.assumed {
            items.push(
                "The week says nothing of the coir: a bag that claims nothing is assumed. Say what yours claims: \
                 `soak: {sold_as: washed}` (or buffered, mild, none)."
                    .to_owned(),
            );
        }
        if soaking.soak.trial {
            items.push(
                "Trial: half of the coir is soaked, the other half only wetted. Make each batch with coir as two batches \
                 of half the amounts: `buffered` with the soaked coir, `straight` with the other. Label their trays so, \
                 feed and water them alike, and compare in three weeks."
                    .to_owned(),
            );
        } else {
            items.push(
                "Less work: coir sold as buffered (`sold_as: buffered`) needs no bath, and `trial: half` soaks half of it \
                 for a side-by-side test."
                    .to_owned(),
            );
        }
        document.list(items);
    }

    pub(super) fn calendar(&self, document: &mut Document) {
        if self.plan.calendar.is_empty() {
            return;
        }
        document.heading("Calendar");
        let mut table = Table::new(&["when", "what", "why"]);
        for entry in &self.plan.calendar {
            let (what, why) = task(&entry.task);
            let hour = match entry.task {
                Task::Emerge { .. } | Task::Feed { .. } => "%a %-d %b",
                _ => "%a %-d %b %H:%M",
            };
            table.row([entry.at.strftime(hour).to_string(), what, why]);
        }
        document.table(table);
    }

    pub(super) fn calendar_json(&self) -> Vec<Value> {
        let entries = self.plan.calendar.iter().map(|entry| {
            let (what, why) = task(&entry.task);
            json!({"at": rfc3339(&entry.at), "do": what, "why": why})
        });
        entries.collect()
    }
}
