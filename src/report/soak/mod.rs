//! The coir worksheet: what to weigh, when to do what, what it comes to.

mod events;
mod remarks;
mod view;

pub(super) use events::soak_step;
pub(super) use remarks::bathed_in;

use super::course;
use super::document::{Document, Table};
use super::remark::texts;
use super::words::{
    count, day_and_hour, given, grams_of, salt, salts_to_weigh, saves_a_run, water, weighed_out, wetting,
};
use super::{Format, Report, Style, csv};
use crate::coir::soak::{CoirKind, Compared, TimedStep, Worksheet};
use crate::coir::{Action, Cation, Remedy, SoldAs, StepResult, Verdict, WETTING_L_PER_SOLD_KG, dry_kg_of_sold};
use crate::moment::rfc3339;
use crate::place::Taken;
use crate::plan::Soaking;
use crate::units::customary::{GRAM, KILOGRAM};
use crate::units::{Liquid, UnitSystem, in_litres, plain};
use jiff::ZonedDateTime;
use serde_json::Value;

/// The worksheet of a soak.
#[derive(Clone, Copy)]
pub struct SoakReport<'s> {
    /// The soak, worked out.
    pub soaking: &'s Soaking,
    /// The start lies in the past.
    pub late: bool,
    /// What a soak file or a command line took from its place.
    pub place: Option<&'s Taken>,
}

impl Report for SoakReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(format!("Coir worksheet: {}", self.soaking.soak.name));
        document.is_page = style.format == Format::Html;
        document.paragraph(self.coir(style.units));
        let Some(sheet) = &self.soaking.sheet else {
            let wetting = self.wetting(style.units);
            document.paragraph(format!("It is {}. {wetting} Rinse it if a test says so.", self.no_bath()));
            document.heading("Take care");
            document.list(texts(&self.cautions(style.units)));
            return document;
        };
        if let Some(wet_only) = &sheet.wet_only {
            document.paragraph(format!(
                "Less work: only wet it, and use it as a part of a mix. {} Sources differ: a consultant and a coir maker \
                 take washed coir so, and want it buffered only where it is used alone. Sodium and potassium then stay on \
                 {} of the sites, and hold back calcium and magnesium of the first feeds. With a bath:",
                self.wetting(style.units),
                percent(wet_only.report.sites.monovalent())
            ));
        }
        document.paragraph(self.outlay(sheet, style.units));
        document.heading("Course");
        document.picture(|| course::picture(self.soaking));
        self.course(&mut document, sheet, style.units);
        document.heading("What it comes to");
        document.list(result(sheet, style.units));
        if !sheet.compared.is_empty() {
            document.heading("Other salts, each with the least that meets the target");
            document.table(comparison(sheet, style.units));
            document.heading("Courses side by side");
            document.table(courses(sheet, style.units));
        }
        document.heading("What to know");
        document.list(texts(&self.notes(sheet, style.units)));
        document.heading("Take care");
        document.list(texts(&self.cautions(style.units)));
        document
    }

    fn value(&self) -> Value {
        self.view()
    }

    fn records(&self) -> Vec<Vec<String>> {
        const COLUMNS: &str = "step do begins water_l salt salt_g hours fresh_ec_ms_cm ec_ms_cm monovalent run";
        let mut records = vec![csv::header(COLUMNS)];
        let Some(sheet) = &self.soaking.sheet else { return records };
        if !sheet.courses.is_empty() {
            return course_records(sheet);
        }
        let share = 1.0 / f64::from(sheet.runs);
        for run in 0..sheet.runs as usize {
            for (index, StepResult { step, fresh, bath, .. }) in sheet.report.results.iter().enumerate() {
                let salts: Vec<&str> = step.salt_g().iter().map(|(name, _)| *name).collect();
                let timed = self.timed(run, index);
                records.push(vec![
                    (index + 1).to_string(),
                    step.action.word().to_owned(),
                    timed.map(|timed| rfc3339(&timed.begins)).unwrap_or_default(),
                    plain(step.water_l * share, 3),
                    salts.join(" + "),
                    plain(step.grams() * share, 3),
                    plain(timed.map_or(step.hours, |timed| timed.hours), 2),
                    plain(fresh.ec_ms_cm(), 4),
                    plain(bath.solution.ec_ms_cm(), 4),
                    plain(bath.sites.monovalent(), 6),
                    (run + 1).to_string(),
                ]);
            }
        }
        records
    }
}

impl<'s> SoakReport<'s> {
    /// The worksheet of a soak, at no time in particular.
    pub const fn of(soaking: &'s Soaking) -> Self {
        Self { soaking, late: false, place: None }
    }

    /// How many bricks or blocks, where the coir comes in these.
    fn pieces(&self) -> Option<u64> {
        Some(self.soaking.pieces).filter(|pieces| *pieces > 0)
    }

    /// How the coir is wetted for a mix.
    fn wetting(&self, units: UnitSystem) -> String {
        wetting(
            self.soaking.whole_pieces().map(|_| &self.soaking.soak.product),
            self.soaking.dry_kg,
            self.soaking.wetted,
            units,
        )
    }

    /// A step of a run on the clock, both counted from none.
    fn timed(&self, run: usize, step: usize) -> Option<&'s TimedStep> {
        self.soaking.times.as_ref()?.runs.get(run)?.steps.get(step)
    }

    /// Which coir.
    fn coir(&self, units: UnitSystem) -> String {
        let Soaking { soak, soaked, dry_kg, .. } = self.soaking;
        let loose = given(*soaked, units);
        let of = match self.soaking.whole_pieces() {
            None => KILOGRAM.shown(dry_kg / dry_kg_of_sold(1.0), 2, units) + " of ",
            Some(_) => String::new(),
        };
        let pieces = self.pieces().map(|pieces| format!("{of}{pieces} x {}", soak.product.label));
        let what = pieces.unwrap_or_else(|| "coir".to_owned());
        let said = match soak.coir {
            CoirKind::SoldAs(SoldAs::Unclaimed) => "nothing claimed on the bag, taken as unwashed".to_owned(),
            CoirKind::SoldAs(claim) => format!("sold as {}", claim.word()),
            CoirKind::Measured(_) => "by its lab report".to_owned(),
        };
        format!("{what}: {} dry, about {loose} loose; {said}.", KILOGRAM.shown(*dry_kg, 2, units))
    }

    /// What to have ready and when to start.
    fn outlay(&self, sheet: &Worksheet, units: UnitSystem) -> String {
        let report = &sheet.report;
        let litres = |litres| water(litres, units);
        let salts = salts_to_weigh(&sheet.course, sheet.runs, units).map(|salts| salts + " and ").unwrap_or_default();
        let mut words = format!("Have ready: {salts}{} of water", litres(report.water_l));
        words += &match self.soaking.soak.tub_l {
            Some(tub) if sheet.runs > 1 => format!(
                ". Your tub of {} takes {}{}, each with {}; the figures below are for one run.",
                litres(tub),
                count(sheet.runs.into(), "run", "runs"),
                saves_a_run(self.soaking, units),
                self.coir_of_a_run(sheet, units)
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
        words + &self.parting(sheet, units).unwrap_or_default()
    }

    /// The coir of one run, in bricks or blocks or as it is weighed.
    fn coir_of_a_run(&self, sheet: &Worksheet, units: UnitSystem) -> String {
        let Soaking { soak, dry_kg, .. } = self.soaking;
        let dry_kg = dry_kg / f64::from(sheet.runs);
        match (self.pieces(), self.whole_in_a_run(sheet)) {
            (None, _) => format!("{} of dry coir", KILOGRAM.shown(dry_kg, 2, units)),
            (_, Some(pieces)) => format!("{} x {}", plain(pieces, 0), soak.product.label),
            _ => format!("{} of coir as bought", KILOGRAM.shown(dry_kg / dry_kg_of_sold(1.0), 2, units)),
        }
    }

    /// The bricks or blocks of a run, where these are whole.
    fn whole_in_a_run(&self, sheet: &Worksheet) -> Option<f64> {
        let Soaking { soak, dry_kg, .. } = self.soaking;
        let pieces = dry_kg / f64::from(sheet.runs) / dry_kg_of_sold(soak.product.kg);
        ((pieces - pieces.round()).abs() < 1e-9).then_some(pieces)
    }

    /// How a brick or block is parted, by weight or wetted whole, with the water that then goes with its coir into a run.
    fn parting(&self, sheet: &Worksheet, units: UnitSystem) -> Option<String> {
        let Soaking { soak, dry_kg, .. } = self.soaking;
        self.pieces().filter(|_| self.whole_in_a_run(sheet).is_none())?;
        let [wet_l, _] = WETTING_L_PER_SOLD_KG;
        let part_l = wet_l * dry_kg / f64::from(sheet.runs) / dry_kg_of_sold(1.0);
        let first = sheet.course.steps.first()?;
        let rest_l = first.water_l / f64::from(sheet.runs) - part_l;
        let salt = if first.doses.is_empty() { "" } else { ", with all of its salt" };
        let [whole, part, rest] = [wet_l * soak.product.kg, part_l, rest_l].map(|l| water(l, units));
        let run = if sheet.runs > 1 { "a run" } else { "the bath" };
        let wetted = (rest_l > 0.0).then(|| {
            format!("; or wet it whole with {whole} of water and share out the heap: {part} go with the coir of {run}, {rest} into its step 1{salt}")
        });
        let label = &soak.product.label;
        Some(format!(" Share a {label} out by weight, sawn or broken dry{}.", wetted.unwrap_or_default()))
    }

    /// The runs, where there are several, and the steps of one.
    fn course(&self, document: &mut Document, sheet: &Worksheet, units: UnitSystem) {
        // Several runs have their times in a table of their own: the steps then stand for each.
        let once = sheet.runs == 1;
        if let Some(times) = self.soaking.times.as_ref().filter(|_| !once) {
            let mut runs = Table::new(&["run", "step", "begins", ">hours"]);
            for (run, timed) in (1..).zip(&times.runs) {
                for (step, (taken, timed)) in (1..).zip(sheet.course.steps.iter().zip(&timed.steps)) {
                    let step = format!("{step} {}", taken.action.word());
                    runs.row([format!("{run}"), step, short_clock(&timed.begins), plain(timed.hours, 1)]);
                }
                runs.row([format!("{run}"), "drained".to_owned(), short_clock(&timed.ends), String::new()]);
            }
            document.table(runs);
            document.paragraph("The steps of each run:");
        }
        let share = 1.0 / f64::from(sheet.runs);
        let mut table =
            Table::new(&["step", "begins", ">water", ">salt", ">hours", ">EC fresh", ">EC after", ">Na+K left"]);
        for (index, StepResult { step, fresh, bath, .. }) in sheet.report.results.iter().enumerate() {
            let timed = self.timed(0, index).filter(|_| once);
            let grams = step.grams() * share;
            table.row([
                format!("{} {}", index + 1, step.action.word()),
                timed.map(|timed| short_clock(&timed.begins)).unwrap_or_default(),
                water(step.water_l * share, units),
                if grams > 0.0 { salt(grams, units) } else { String::new() },
                plain(timed.map_or(step.hours, |timed| timed.hours), 1),
                plain(fresh.ec_ms_cm(), 2),
                plain(bath.solution.ec_ms_cm(), 2),
                percent(bath.sites.monovalent()),
            ]);
        }
        document.table(table.without_empty_columns());
        if sheet.course.steps.first().is_some_and(|step| step.action == Action::Soak) {
            document.paragraph("Step 1 wets the dry coir: break it into the bath.");
        }
        let is_washed = sheet.course.steps.iter().any(|step| step.action == Action::Wash);
        if is_washed && self.soaking.soak.course.is_none() {
            document.paragraph(
                "The plain washes carry off salts that would use up the baths (common practice). `hydrate: bath` leaves \
                 them out: that may take fewer days, and takes more salt.",
            );
        }
        document.paragraph(units.prose(
            "Dissolve the salt in the water first (gypsum: stir it in as a fine powder). Stir each bath when the coir goes \
             in and at least twice more: an unstirred bed takes months. Drain after each step until it hardly drips \
             (about half an hour). EC in mS/cm at 25 C, before the coir goes in and at the end of the step.",
        ));
    }
}

/// What the course comes to, and whether that is enough.
fn result(sheet: &Worksheet, units: UnitSystem) -> Vec<String> {
    let report = &sheet.report;
    let [low, high] = sheet.course.monovalent_range();
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
        "The last {} drains at {} mS/cm. In all {} drain off, with {} mg/L nitrate nitrogen ({} of nitrogen) and {} \
         mg/L chloride.",
        match sheet.course.steps.last().map(|step| step.action) {
            Some(last @ (Action::Wash | Action::Rinse)) => last.word(),
            _ => "bath",
        },
        plain(report.rinse_ec_ms_cm, 2),
        given(Liquid(in_litres(report.waste.drain_l)), units),
        plain(report.waste.nitrate_n_mg_l, 0),
        GRAM.shown(report.waste.nitrogen_g, 1, units),
        plain(report.waste.chloride_mg_l, 0)
    ));
    let dissolved_g = report.gypsum_dissolved_g();
    if dissolved_g > 0.0 {
        items.push(format!("{} of gypsum dissolve over the course.", GRAM.shown(dissolved_g, 0, units)));
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
        Remedy::Rinses(rinses) => format!("{rinses} rinses"),
        Remedy::PureWater => "rain or purified water".to_owned(),
    });
    format!("Any one of these would: {}.", words.collect::<Vec<_>>().join("; "))
}

fn courses(sheet: &Worksheet, units: UnitSystem) -> Table {
    let mut table = Table::new(&["course", ">days", ">water", ">salt", ">drain N", ">Na+K", "range, %", "target"]);
    for Compared { name, days, design } in &sheet.courses {
        let [low, high] = design.course.monovalent_range();
        table.row([
            units.prose(name),
            days.map(|days| days.to_string()).unwrap_or_default(),
            water(design.report.water_l, units),
            weighed_out(grams_of(&design.course, sheet.runs, units), units),
            GRAM.shown(design.report.waste.nitrogen_g, 1, units),
            percent(design.report.sites.monovalent()),
            format!("{}-{}", plain(low * 100.0, 1), plain(high * 100.0, 1)),
            if design.verdict == Verdict::Met { "met" } else { "not met" }.to_owned(),
        ]);
    }
    table
}

/// Courses side by side, for a table of CSV.
fn course_records(sheet: &Worksheet) -> Vec<Vec<String>> {
    const COLUMNS: &str =
        "course days water_l salt salt_g nitrogen_g monovalent monovalent_low monovalent_high meets_target";
    let records = sheet.courses.iter().map(|Compared { name, days, design }| {
        let (report, [low, high]) = (&design.report, design.course.monovalent_range());
        let salts = design.course.salts().map(|salt| salt.name.as_str());
        vec![
            name.clone(),
            days.map(|days| days.to_string()).unwrap_or_default(),
            plain(report.water_l, 3),
            salts.collect::<Vec<_>>().join(" + "),
            plain(grams_of(&design.course, sheet.runs, UnitSystem::Metric), 3),
            plain(report.waste.nitrogen_g, 3),
            plain(report.sites.monovalent(), 6),
            plain(low, 6),
            plain(high, 6),
            (design.verdict == Verdict::Met).to_string(),
        ]
    });
    std::iter::once(csv::header(COLUMNS)).chain(records).collect()
}

fn comparison(sheet: &Worksheet, units: UnitSystem) -> Table {
    let mut table =
        Table::new(&["salt", ">weigh", ">soaks", ">rinses", ">EC", ">Na+K", ">drain N", ">drain Cl", "target"]);
    for (name, design) in &sheet.compared {
        let report = &design.report;
        table.row([
            name.clone(),
            weighed_out(grams_of(&design.course, sheet.runs, units), units),
            design.count(Action::Soak).to_string(),
            design.count(Action::Rinse).to_string(),
            plain(design.strongest_ec_ms_cm(), 1),
            percent(report.sites.monovalent()),
            GRAM.shown(report.waste.nitrogen_g, 1, units),
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
        let soak = from_options(&asked.concat(), None, &crate::awake::Awake::default(), &|| jiff::tz::TimeZone::UTC)
            .unwrap()
            .0;
        let soaking = Soaking::alone(soak).unwrap().unwrap();
        test(&SoakReport::of(&soaking));
    }

    /// What the forms say is one set of figures: each step of the table is one of the JSON and of the sheet.
    #[test]
    fn every_form_has_the_same_steps() {
        let course = [
            ("--sold-as", "sold_as", Some("washed")),
            ("--hydrate", "hydrate", Some("water")),
            ("--soaks", "soaks", Some("2")),
        ];
        with_report(&course, |report| {
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
            let remarks = [report.notes(sheet, UnitSystem::Metric), report.cautions(UnitSystem::Metric)].concat();
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
            assert_eq!(report.value()["cautions"][0]["code"], "dust-and-weight");
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
