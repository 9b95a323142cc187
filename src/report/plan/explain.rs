//! `--explain`: every step of the volumes, and where the figures come from.

use super::PlanReport;
use crate::catalogue::citation;
use crate::plan::{Germination, LISTED};
use crate::report::document::{Document, Table};
use crate::units::{Volume, percent, plain, to_litres};

impl PlanReport<'_> {
    /// From plants wanted to cells sown.
    pub(super) fn cells(&self, document: &mut Document) {
        let mut table = Table::new(&[
            "crop",
            ">plants",
            ">germination",
            ">seeds a cell",
            ">usable",
            ">chance",
            ">surety",
            ">cells",
        ]);
        let mut rows = 0;
        let Some(week) = self.week else { return };
        for (sowing, written) in self.plan.mixes.layout.sowings.iter().zip(&week.sowings) {
            let cells = &sowing.cells;
            let (Some(plants), Some((germination, _)), Some(chance)) = (cells.plants, cells.germination, cells.chance)
            else {
                continue;
            };
            rows += 1;
            if rows > LISTED {
                continue;
            }
            table.row([
                sowing.name(),
                plants.to_string(),
                percent(germination),
                written.seeds.to_string(),
                percent(week.usable(written)),
                format!("{} %", plain(chance * 100.0, 1)),
                percent(week.surety(written)),
                cells.cells.to_string(),
            ]);
        }
        if rows == 0 {
            return;
        }
        document.heading("How the cells come about");
        document.paragraph(
            "Sown are the fewest cells that give the plants with the surety asked for. A cell gives a plant with the \
             chance that one of its seeds comes up, times the share of seedlings good enough to plant (usable)."
                .to_owned(),
        );
        document.table(table);
        if rows > LISTED {
            document.paragraph(format!("And {} more sowings.", rows - LISTED));
        }
    }

    /// Every step from cells to loose ingredients.
    pub(super) fn chain(&self, document: &mut Document) {
        document.heading("How the volumes come about");
        let allowances = &self.plan.allowances;
        document.paragraph(format!(
            "Settling adds {} to the cells (overfill, drop the tray twice, strike off; never press). Spill: {} of the mix \
             ends up elsewhere. Yield: mix kept after blending, since fine parts fill the gaps between coarse ones; \
             measure yours with a bucket test.",
            percent(allowances.settling),
            percent(allowances.spill)
        ));
        let mut table =
            Table::new(&["batch", ">cells L", ">settled L", ">mix L", ">sieve loss", ">yield", ">loose L", ">factor"]);
        for batch in &self.plan.mixes.batches {
            let step = |volume: Option<Volume>| volume.map(|volume| plain(to_litres(volume), 3)).unwrap_or_default();
            table.row([
                batch.name.clone(),
                step(batch.volumes.cells),
                step(batch.volumes.settled),
                step(Some(batch.volumes.mix)),
                if batch.volumes.sieve_loss.is_zero() { String::new() } else { percent(batch.volumes.sieve_loss) },
                percent(batch.volumes.yield_),
                step(Some(batch.volumes.loose)),
                batch.volumes.factor().map(|factor| plain(factor, 3)).unwrap_or_default(),
            ]);
        }
        document.table(table.without_empty_columns());
    }

    /// Where the figures come from.
    pub(super) fn sources(&self, document: &mut Document) {
        let cite = |key: Option<&str>, standing: Option<&str>| match key.and_then(citation) {
            Some(source) => format!("{} ({})", source.cite, source.standing),
            None => key.or(standing).unwrap_or("own figure").to_owned(),
        };
        let mut items = Vec::new();
        for (id, _) in &self.plan.mixes.layout.trays {
            let tray = id;
            let range = tray.range.as_ref().map(|range| format!(", sold as {range}")).unwrap_or_default();
            items.push(format!("{}: {}{range}", tray.name, cite(tray.from.as_deref(), Some(&tray.standing))));
        }
        let mut seen = std::collections::BTreeSet::new();
        for sowing in &self.plan.mixes.layout.sowings {
            let Some(crop) = &sowing.crop else { continue };
            if !seen.insert(crop) || seen.len() > LISTED {
                continue;
            }
            let mut words = format!(
                "{}: {} by {}, {}",
                crop.name,
                crop.mycorrhiza,
                crop.mycorrhiza_from,
                cite(crop.source_of("mycorrhiza"), None)
            );
            if let Some((share, from)) = sowing.cells.germination {
                let from = match from {
                    Germination::Packet => "the packet's",
                    Germination::Own => "your own figure",
                    Germination::LegalMinimum => "the legal minimum, 7 CFR 201.31",
                    Germination::Assumed => "assumed",
                };
                words += &format!("; germination {} ({from})", percent(share));
            }
            items.push(words);
        }
        for batch in &self.plan.mixes.batches {
            if let Some(source) = self.week.and_then(|week| week.recipe(batch.recipe).source.as_ref()) {
                items.push(format!("{}: {source}", batch.name));
            }
        }
        if !items.is_empty() {
            document.heading("Sources");
            document.list(items);
        }
    }
}
