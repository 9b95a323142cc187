//! The coir worksheet: what to weigh, when to do what, what it comes to.

mod remarks;
mod view;

pub(in crate::report) use remarks::salt_cautions;

use super::document::{Document, Table};
use super::remark::texts;
use super::words::{and, count, day_and_hour};
use super::{Report, Style};
use crate::coir::soak::{CoirKind, Worksheet};
use crate::coir::{Action, Cation, Design, Remedy, SoldAs, StepResult, Verdict};
use crate::moment::rfc3339;
use crate::plan::Soaking;
use crate::units::{Rounding, UnitSystem, amount, in_litres, plain};
use jiff::ZonedDateTime;
use serde_json::Value;

/// The worksheet of a soak.
#[derive(Clone, Copy)]
pub struct SoakReport<'s> {
    /// The soak, worked out.
    pub soaking: &'s Soaking,
    /// The start lies in the past.
    pub late: bool,
}

impl Report for SoakReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(format!("Coir worksheet: {}", self.soaking.soak.name));
        document.paragraph(self.coir(style.units));
        let Some(sheet) = &self.soaking.sheet else {
            document.paragraph("It is sold as buffered: no bath is needed. Wet it, and rinse if a test says so.");
            return document;
        };
        document.paragraph(self.outlay(sheet, style.units));
        document.heading("Course");
        self.course(&mut document, sheet, style.units);
        document.heading("What it comes to");
        document.list(result(sheet, style.units));
        if !sheet.compared.is_empty() {
            document.heading("Other salts, each with the least that meets the target");
            document.table(comparison(&sheet.compared));
        }
        document.heading("What to know");
        document.list(texts(&self.notes(sheet)));
        document.heading("Take care");
        document.list(texts(&self.cautions(sheet)));
        document
    }

    fn value(&self) -> Value {
        self.view()
    }

    fn records(&self) -> Vec<Vec<String>> {
        let header =
            ["step", "do", "begins", "water_l", "salt", "salt_g", "hours", "fresh_ec_ms_cm", "ec_ms_cm", "monovalent"];
        let mut records = vec![header.map(str::to_owned).to_vec()];
        let steps = self.soaking.sheet.iter().flat_map(|sheet| &sheet.report.results);
        for (index, StepResult { step, fresh, bath, .. }) in steps.enumerate() {
            let salts: Vec<&str> = step.salt_g().iter().map(|(name, _)| *name).collect();
            records.push(vec![
                (index + 1).to_string(),
                step.action.word().to_owned(),
                self.begins(index).map(rfc3339).unwrap_or_default(),
                plain(step.water_l, 3),
                salts.join(" + "),
                plain(step.grams(), 3),
                plain(step.hours, 2),
                plain(fresh.ec_ms_cm(), 4),
                plain(bath.solution.ec_ms_cm(), 4),
                plain(bath.sites.monovalent(), 6),
            ]);
        }
        records
    }
}

impl<'s> SoakReport<'s> {
    /// The worksheet of a soak, at no time in particular.
    pub const fn of(soaking: &'s Soaking) -> Self {
        Self { soaking, late: false }
    }

    /// How many bricks or blocks, where the coir comes in these.
    fn pieces(&self) -> Option<u64> {
        Some(self.soaking.pieces).filter(|pieces| *pieces > 0)
    }

    /// When a step of the first run begins.
    fn begins(&self, step: usize) -> Option<&'s ZonedDateTime> {
        self.soaking.times.as_ref()?.runs.first()?.steps.get(step)
    }

    /// Which coir.
    fn coir(&self, units: UnitSystem) -> String {
        let Soaking { soak, soaked, dry_kg, .. } = self.soaking;
        let loose = amount(*soaked, Rounding::Down, units);
        let half = if soak.trial { "half of " } else { "" };
        let pieces = self.pieces().map(|pieces| format!("{half}{pieces} x {}", soak.product.label));
        let what = pieces.unwrap_or_else(|| "coir".to_owned());
        let said = match soak.coir {
            CoirKind::SoldAs(SoldAs::Unclaimed) => "nothing claimed on the bag, taken as unwashed".to_owned(),
            CoirKind::SoldAs(claim) => format!("sold as {}", claim.word()),
            CoirKind::Measured(_) => "by its lab report".to_owned(),
        };
        format!("{what}: {} kg dry, about {loose} loose; {said}.", plain(*dry_kg, 2))
    }

    /// What to have ready and when to start.
    fn outlay(&self, sheet: &Worksheet, units: UnitSystem) -> String {
        let report = &sheet.report;
        let litres = |litres| amount(in_litres(litres), Rounding::Up, units);
        let salts: Vec<String> =
            sheet.course.salt_g().iter().map(|(name, grams)| format!("{} g of {name}", plain(*grams, 0))).collect();
        let salts = if salts.is_empty() { String::new() } else { and(&salts) + " and " };
        let mut words = format!("Have ready: {salts}{} of water", litres(report.water_l));
        words += &match self.soaking.soak.tub_l {
            Some(tub) if sheet.runs > 1 => format!(
                ". Your tub of {} takes {} of an equal share each; the figures below are for one run.",
                litres(tub),
                count(sheet.runs.into(), "run", "runs")
            ),
            Some(tub) => format!("; your tub of {} takes it at once.", litres(tub)),
            None => format!(
                ", and a tub of about {} (it will hold {}, with room to stir).",
                litres(report.tub.tub_l),
                litres(report.tub.contents_l)
            ),
        };
        if let Some(times) = &self.soaking.times {
            words += &format!(" Start {}; ready {}.", day_and_hour(&times.start), day_and_hour(&times.ready));
            if sheet.runs > 1 {
                words += " The runs follow each other in the one tub.";
            }
        }
        words
    }

    /// The runs, where there are several, and the steps of one.
    fn course(&self, document: &mut Document, sheet: &Worksheet, units: UnitSystem) {
        // Several runs have their times in a table of their own: the steps then stand for each.
        let once = sheet.runs == 1;
        if let Some(times) = self.soaking.times.as_ref().filter(|_| !once) {
            let mut runs = Table::new(&["run", "begins", "ends"]);
            for (index, run) in times.runs.iter().enumerate() {
                runs.row([(index + 1).to_string(), short_clock(&run.begins), short_clock(&run.ends)]);
            }
            document.table(runs);
            document.paragraph("The steps of each run:");
        }
        let share = 1.0 / f64::from(sheet.runs);
        let mut table =
            Table::new(&["step", "begins", ">water", ">salt", ">hours", ">EC fresh", ">EC after", ">Na+K left"]);
        for (index, StepResult { step, fresh, bath, .. }) in sheet.report.results.iter().enumerate() {
            let grams = step.grams() * share;
            let salt = format!("{} g", plain(grams, usize::from(grams < 10.0)));
            table.row([
                format!("{} {}", index + 1, step.action.word()),
                self.begins(index).filter(|_| once).map(short_clock).unwrap_or_default(),
                amount(in_litres(step.water_l * share), Rounding::Up, units),
                if grams > 0.0 { salt } else { String::new() },
                plain(step.hours, 1),
                plain(fresh.ec_ms_cm(), 2),
                plain(bath.solution.ec_ms_cm(), 2),
                percent(bath.sites.monovalent()),
            ]);
        }
        document.table(table.without_empty_columns());
        document.paragraph(
            "Dissolve the salt in the water first (gypsum: stir it in as a fine powder). Stir each bath when the coir goes \
             in and at least twice more: an unstirred bed takes months. Drain after each step until it hardly drips \
             (about half an hour). EC in mS/cm at 25 C, before the coir goes in and at the end of the step.",
        );
    }
}

/// What the course comes to, and whether that is enough.
fn result(sheet: &Worksheet, units: UnitSystem) -> Vec<String> {
    let report = &sheet.report;
    let [low, high] = report.monovalent_range;
    let mut items = vec![format!(
        "Sodium and potassium hold {} of the exchange sites in the end (sodium {}), by an honest range {} to {}: the \
         exchange constants are those of soils, and capacities of coir differ threefold.",
        percent(report.sites.monovalent()),
        percent(report.sites.of(Cation::Sodium)),
        percent(low),
        percent(high)
    )];
    if let Some((target, verdict)) = &sheet.target {
        let limits = format!(
            "at most {} of the sites (sodium {}) and {} mS/cm in the last rinse",
            percent(target.monovalent),
            percent(target.sodium),
            plain(target.rinse_ec_ms_cm, 2)
        );
        items.push(match verdict {
            Verdict::OutOfReach(remedies) => {
                format!("The target ({limits}) is NOT met. {}", remedy_words(remedies))
            }
            Verdict::Met => format!("The target is met: {limits}."),
        });
    }
    items.push(format!(
        "The last bath drains at {} mS/cm. In all {} drain off, with {} mg/L nitrate nitrogen ({} g of nitrogen) and \
         {} mg/L chloride.",
        plain(report.rinse_ec_ms_cm, 2),
        amount(in_litres(report.waste.drain_l), Rounding::Down, units),
        plain(report.waste.nitrate_n_mg_l, 0),
        plain(report.waste.nitrogen_g, 1),
        plain(report.waste.chloride_mg_l, 0)
    ));
    let dissolved_g: f64 = report.results.iter().map(|step| step.gypsum_dissolved_g).sum();
    if dissolved_g > 0.0 {
        items.push(format!("{} g of gypsum dissolve over the course.", plain(dissolved_g, 0)));
    }
    items
}

fn remedy_words(remedies: &[Remedy]) -> String {
    if remedies.is_empty() {
        return "Nothing that was tried would meet it: the target may be too strict.".to_owned();
    }
    let words = remedies.iter().map(|remedy| match remedy {
        Remedy::MoreSoaks(soaks) => format!("{soaks} soaks"),
        Remedy::WashFirst(washes) => format!("{washes} plain washes first"),
        Remedy::AnotherSalt(name) => format!("{name} as the salt"),
        Remedy::PureWater => "rain or purified water".to_owned(),
    });
    format!("Any one of these would: {}.", words.collect::<Vec<_>>().join("; "))
}

fn comparison(compared: &[(String, Design)]) -> Table {
    let mut table =
        Table::new(&["salt", ">grams", ">soaks", ">rinses", ">EC", ">Na+K", ">drain N", ">drain Cl", "target"]);
    for (salt, design) in compared {
        let report = &design.report;
        table.row([
            salt.clone(),
            plain(design.salt_g(), 0),
            design.count(Action::Soak).to_string(),
            design.count(Action::Rinse).to_string(),
            plain(design.strongest_ec_ms_cm(), 1),
            percent(report.sites.monovalent()),
            format!("{} g", plain(report.waste.nitrogen_g, 1)),
            format!("{} mg/L", plain(report.waste.chloride_mg_l, 0)),
            if design.verdict == Verdict::Met { "met" } else { "not met" }.to_owned(),
        ]);
    }
    table
}

/// A share in percent, to a tenth.
fn percent(share: f64) -> String {
    format!("{} %", plain(share * 100.0, 1))
}

fn short_clock(at: &ZonedDateTime) -> String {
    at.strftime("%a %-d %b %H:%M").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coir::soak::from_options;
    use crate::report::Format;
    use crate::units::to_litres;

    /// The worksheet of a kilogram of dry coir, with the options beside it.
    fn with_report(options: &[(&str, &str, Option<&str>)], test: impl FnOnce(&SoakReport<'_>)) {
        let asked = [&[("--dry", "coir/dry", Some("1 kg")), ("--ready", "ready", Some("2027-03-06 10:00"))], options];
        let soak = from_options(&asked.concat(), &|| jiff::tz::TimeZone::UTC).unwrap();
        let soaking = Soaking::alone(soak).unwrap().unwrap();
        test(&SoakReport::of(&soaking));
    }

    /// What the forms say is one set of figures: each step of the table is one of the JSON and of the sheet.
    #[test]
    fn every_form_has_the_same_steps() {
        with_report(&[("--sold-as", "sold_as", Some("washed"))], |report| {
            let (records, value) = (report.records(), report.value());
            let steps = value["steps"].as_array().unwrap();
            assert_eq!((records.len() - 1, steps.len()), (5, 5));
            for (record, step) in records[1..].iter().zip(steps) {
                assert_eq!(record[1], step["do"].as_str().unwrap());
                assert_eq!(record[3], plain(step["water_l"].as_f64().unwrap(), 3));
                assert_eq!(record[8], plain(step["ec_ms_cm"].as_f64().unwrap(), 4));
                let grams: f64 =
                    step["salt_g"].as_object().unwrap().values().map(|grams| grams.as_f64().unwrap()).sum();
                assert_eq!(record[5], plain(grams, 3));
            }
            assert_eq!(records[1][2], value["start"].as_str().unwrap());
            assert_eq!(value["coir_loose_l"].as_f64().unwrap(), to_litres(report.soaking.soaked));
            let style = Style { format: Format::Text, ..Style::default() };
            let text = crate::report::render(report, style);
            assert!(["1 hydrate", "3 soak", "5 rinse"].iter().all(|step| text.contains(step)), "{text}");
        });
    }

    /// Every note and caution has a code of its own, in words joined by hyphens.
    #[test]
    fn remarks_have_codes() {
        let odd = [
            ("--salt", "salt", Some("calcium nitrate")),
            ("--tub", "tub", Some("2 gal")),
            ("--soaks", "soaks", Some("1")),
        ];
        with_report(&odd, |report| {
            let sheet = report.soaking.sheet.as_ref().unwrap();
            let remarks = [report.notes(sheet), report.cautions(sheet)].concat();
            let codes: Vec<&str> = remarks.iter().map(|remark| remark.code).collect();
            for (index, code) in codes.iter().enumerate() {
                assert!(!codes[..index].contains(code), "{codes:?}");
                assert!(code.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'-'), "{code}");
            }
            for wanted in ["salt-name", "bare-unit", "claim", "grows-stale", "nitrate-above-limit", "salt-safety"] {
                assert!(codes.contains(&wanted), "{wanted}: {codes:?}");
            }
        });
        with_report(&[("--sold-as", "sold_as", Some("buffered"))], |report| {
            assert_eq!(report.value()["notes"][0]["code"], "buffered");
            assert_eq!(report.records().len(), 1);
        });
    }

    #[test]
    fn remedies_read_as_choices() {
        assert!(remedy_words(&[]).contains("too strict"));
        let words = remedy_words(&[Remedy::MoreSoaks(3), Remedy::AnotherSalt("gypsum".to_owned()), Remedy::PureWater]);
        assert_eq!(words, "Any one of these would: 3 soaks; gypsum as the salt; rain or purified water.");
        assert_eq!(percent(0.12345), "12.3 %");
    }
}
