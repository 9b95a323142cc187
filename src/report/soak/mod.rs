//! The coir worksheet: what to weigh, when to do what, what it comes to.

mod json;

use super::document::{Document, Table};
use super::words::{after_mix, and, assumption, capital, count, grows_stale};
use super::{Report, Style, json::render};
use crate::coir::{Action, Cation, Comparison, Remedy, SaltCaution, Stage, Step, Verdict};
use crate::plan::Soaking;
use crate::soak::{Amount, Outcome, Sheet, Soak, Times, hours_of};
use crate::units::{Litres, UnitSystem, Volume, amount, in_litres, plain};
use jiff::ZonedDateTime;

/// A worksheet with what it was asked for.
pub struct SoakReport<'s> {
    /// What was asked for.
    pub soak: &'s Soak,
    /// What it comes to; `None` for coir sold as buffered.
    pub sheet: Option<&'s Sheet>,
    /// Dry coir, kg.
    pub dry_kg: f64,
    /// Its loose volume.
    pub loose: Volume,
    /// How many bricks or blocks, where the coir comes in these.
    pub pieces: Option<u64>,
    /// When to do what, if it must be ready at a time.
    pub times: Option<&'s Times>,
    /// The start lies in the past.
    pub late: bool,
    /// The coir is ready only after the week's time to mix.
    pub after_mix: bool,
}

impl Report for SoakReport<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(format!("Coir worksheet: {}", self.soak.name));
        document.paragraph(self.coir(style.units));
        let Some(sheet) = self.sheet else {
            document.paragraph("It is sold as buffered: no bath is needed. Wet it, and rinse if a test says so.");
            return document;
        };
        document.paragraph(self.outlay(sheet, style.units));
        document.heading("Course");
        self.course(&mut document, sheet, style.units);
        document.heading("What it comes to");
        document.list(self.result(sheet, style.units));
        if !sheet.compared.is_empty() {
            document.heading("Other salts, each with the least that meets the target");
            document.table(comparison(&sheet.compared));
        }
        document.heading("What to know");
        document.list(self.notes(sheet));
        document.heading("Take care");
        document.list(self.cautions(sheet));
        document
    }

    fn json(&self) -> String {
        render(&self.value())
    }

    fn records(&self) -> Vec<Vec<String>> {
        let header =
            ["step", "do", "begins", "water_l", "salt", "salt_g", "hours", "fresh_ec_ms_cm", "ec_ms_cm", "monovalent"];
        let mut records = vec![header.map(str::to_owned).to_vec()];
        let Some(sheet) = self.sheet else { return records };
        for (index, (step, stage)) in sheet.course.steps().iter().zip(&sheet.report.stages).enumerate() {
            let salts: Vec<&str> = step.doses().iter().map(|dose| dose.salt.name()).collect();
            let grams: f64 = step.doses().iter().map(crate::coir::Dose::grams).sum();
            records.push(vec![
                (index + 1).to_string(),
                action(step.action()).to_owned(),
                self.begins(index).map(rfc3339).unwrap_or_default(),
                plain(step.water_l(), 3),
                salts.join(" + "),
                plain(grams, 3),
                plain(hours_of(step), 2),
                plain(stage.fresh_ec_ms_cm, 4),
                plain(stage.bath.ec_ms_cm, 4),
                plain(stage.bath.sites.monovalent(), 6),
            ]);
        }
        records
    }
}

impl<'s> SoakReport<'s> {
    /// The worksheet of a week's coir.
    #[must_use]
    pub fn of(soaking: &'s Soaking) -> Self {
        Self {
            soak: &soaking.soak,
            sheet: soaking.sheet.as_ref(),
            dry_kg: soaking.dry_kg,
            loose: soaking.soaked,
            pieces: Some(soaking.pieces),
            times: soaking.times.as_ref(),
            late: false,
            after_mix: soaking.after_mix,
        }
    }
}

impl SoakReport<'_> {
    /// When a step of the first run begins.
    fn begins(&self, step: usize) -> Option<&ZonedDateTime> {
        self.times.and_then(|times| times.runs.first()).and_then(|run| run.steps.get(step))
    }

    /// Which coir.
    fn coir(&self, units: UnitSystem) -> String {
        let loose = amount(self.loose, Litres::Given, units);
        let what = match (self.pieces, self.soak.amount) {
            (Some(pieces), _) | (None, Some(Amount::Pieces(pieces))) => {
                let half = if self.soak.trial { "half of " } else { "" };
                format!("{half}{pieces} x {}", self.soak.product.label)
            }
            _ => "coir".to_owned(),
        };
        let said = match self.soak.sold_as {
            "none" => "nothing claimed on the bag, taken as unwashed".to_owned(),
            "lab report" => "by its lab report".to_owned(),
            said => format!("sold as {said}"),
        };
        format!("{what}: {} kg dry, about {loose} loose; {said}.", plain(self.dry_kg, 2))
    }

    /// What to have ready and when to start.
    fn outlay(&self, sheet: &Sheet, units: UnitSystem) -> String {
        let report = &sheet.report;
        let litres = |litres| amount(in_litres(litres), Litres::Needed, units);
        let salts: Vec<String> =
            sheet.course.salt_g().iter().map(|(name, grams)| format!("{} g of {name}", plain(*grams, 0))).collect();
        let mut words = match salts.is_empty() {
            true => format!("Have ready: {} of water", litres(report.water_l)),
            false => format!("Have ready: {} and {} of water", and(&salts), litres(report.water_l)),
        };
        match self.soak.tub_l {
            Some(tub) if sheet.runs > 1 => {
                words += &format!(
                    ". Your tub of {} takes {} of an equal share each; the figures below are for one run.",
                    litres(tub),
                    count(sheet.runs.into(), "run", "runs")
                );
            }
            Some(tub) => words += &format!("; your tub of {} takes it at once.", litres(tub)),
            None => {
                words += &format!(
                    ", and a tub of about {} (it will hold {}, with room to stir).",
                    litres(report.tub.tub_l),
                    litres(report.tub.contents_l)
                );
            }
        }
        if let Some(times) = self.times {
            words += &format!(" Start {}; ready {}.", clock(&times.start), clock(&times.ready));
            if sheet.runs > 1 {
                words += " The runs follow each other in the one tub.";
            }
        }
        words
    }

    /// The runs, where there are several, and the steps of one.
    fn course(&self, document: &mut Document, sheet: &Sheet, units: UnitSystem) {
        // Several runs have their times in a table of their own: the steps then stand for each.
        let once = sheet.runs == 1;
        if let Some(times) = self.times.filter(|_| !once) {
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
        for (index, (step, stage)) in sheet.course.steps().iter().zip(&sheet.report.stages).enumerate() {
            let grams: f64 = step.doses().iter().map(crate::coir::Dose::grams).sum();
            table.row([
                format!("{} {}", index + 1, action(step.action())),
                self.begins(index).filter(|_| once).map(short_clock).unwrap_or_default(),
                amount(in_litres(step.water_l() * share), Litres::Needed, units),
                if grams > 0.0 {
                    format!("{} g", plain(grams * share, if grams * share < 10.0 { 1 } else { 0 }))
                } else {
                    String::new()
                },
                plain(hours_of(step), 1),
                plain(stage.fresh_ec_ms_cm, 2),
                plain(stage.bath.ec_ms_cm, 2),
                format!("{} %", plain(stage.bath.sites.monovalent() * 100.0, 1)),
            ]);
        }
        document.table(table.without_empty_columns());
        document.paragraph(
            "Dissolve the salt in the water first (gypsum: stir it in as a fine powder). Stir each bath when the coir goes in and at least twice more: an \
             unstirred bed takes months. Drain after each step until it hardly drips (about half an hour). EC in mS/cm \
             at 25 C, before the coir goes in and at the end of the step.",
        );
    }

    fn result(&self, sheet: &Sheet, units: UnitSystem) -> Vec<String> {
        let report = &sheet.report;
        let percent = |share: f64| format!("{} %", plain(share * 100.0, 1));
        let [low, high] = report.monovalent_range;
        let mut items = vec![format!(
            "Sodium and potassium hold {} of the exchange sites in the end (sodium {}), by an honest range {} to {}: the \
             exchange constants are those of soils, and capacities of coir differ threefold.",
            percent(report.sites.monovalent()),
            percent(report.sites.of(Cation::Sodium)),
            percent(low),
            percent(high)
        )];
        if let Some(target) = sheet.target {
            let limits = format!(
                "at most {} of the sites (sodium {}) and {} mS/cm in the last rinse",
                percent(target.monovalent()),
                percent(target.sodium()),
                plain(target.rinse_ec_ms_cm(), 2)
            );
            items.push(match &sheet.outcome {
                Outcome::OutOfReach(remedies) => {
                    format!("The target ({limits}) is NOT met. {}", remedy_words(remedies))
                }
                _ => format!("The target is met: {limits}."),
            });
        }
        items.push(format!(
            "The last bath drains at {} mS/cm. In all {} drain off, with {} mg/L nitrate nitrogen ({} g of nitrogen) and \
             {} mg/L chloride.",
            plain(report.rinse_ec_ms_cm, 2),
            amount(in_litres(report.waste.drain_l), Litres::Given, units),
            plain(report.waste.nitrate_n_mg_l, 0),
            plain(report.waste.nitrogen_g(), 1),
            plain(report.waste.chloride_mg_l, 0)
        ));
        let dissolved_g: f64 = sheet.course.steps().iter().zip(&report.stages).map(gypsum_g).sum();
        if dissolved_g > 0.0 {
            items.push(format!("{} g of gypsum dissolve over the course.", plain(dissolved_g, 0)));
        }
        items
    }

    fn notes(&self, sheet: &Sheet) -> Vec<String> {
        let mut notes = vec![
            "A conductivity meter shows salts, not whether coir is buffered; nor does a water extract. A CAT or BaCl2 \
             extract by a laboratory does."
                .to_owned(),
            "A second bath whose EC stays near that of a fresh bath, thinned by the water the coir held, says that the \
             exchange is nearly done."
                .to_owned(),
            "Weigh once: (wet, drained coir - dry coir) / dry coir is the water it holds; 7 kg/kg is taken (4 squeezed, \
             10 fine pith). A laboratory's saturated extract sharpens the rest: put both under `lab:`."
                .to_owned(),
            "The model is a well stirred equilibrium at 25 C. It leaves out pH, phosphate, organic acids and microbes. \
             Hard or salty water changes the result: state its ions under `water:`."
                .to_owned(),
            "Use the coir within about three days of the last drain, or spread it to dry (common practice, no source)."
                .to_owned(),
        ];
        if self.soak.salt_unsure {
            notes.insert(
                0,
                "`calcium nitrate` was taken as the tetrahydrate (17 % Ca). What is sold for feeding is often the double \
                 salt with ammonium (about 19 % Ca): look at the label, and name the salt or state `label_ca:`."
                    .to_owned(),
            );
        }
        notes.extend(self.soak.units.iter().map(|unit| assumption(*unit).to_owned()));
        if !matches!(self.soak.sold_as, "lab report") && sheet.target.is_some() {
            notes.push(
                "What the bag claims is translated by judgement into a starting composition, pessimistic about sodium: \
                 no published table for raw coir was found."
                    .to_owned(),
            );
        }
        notes
    }

    fn cautions(&self, sheet: &Sheet) -> Vec<String> {
        let mut cautions: Vec<String> = Vec::new();
        if self.late {
            cautions.push("The start lies in the past: the coir will not be ready in time.".to_owned());
        }
        if let Some(times) = self.times.filter(|_| self.after_mix) {
            cautions.push(after_mix(&times.ready));
        }
        if sheet.grows_stale() {
            cautions.push(grows_stale(sheet.runs, sheet.first_waits_hours));
        }
        cautions.extend(sheet.report.cautions.iter().map(|caution| sentence(&caution.to_string())));
        let mut named: Vec<(String, Vec<SaltCaution>)> = Vec::new();
        for dose in sheet.course.steps().iter().flat_map(Step::doses) {
            if !named.iter().any(|(name, _)| name == dose.salt.name()) {
                named.push((dose.salt.name().to_owned(), dose.salt.cautions()));
            }
        }
        for (name, salt_cautions) in named {
            let words: Vec<String> = salt_cautions.iter().map(ToString::to_string).collect();
            if !words.is_empty() {
                cautions.push(format!("{}: {}.", sentence(&name), words.join("; ")));
            }
        }
        cautions.push(
            "Keep drain water from drains, ditches, ponds, wells and septic fields. Where local rules allow, thin it and \
             give it to established grass or beds that are not eaten from, within their need of nitrogen."
                .to_owned(),
        );
        cautions.push(
            "Follow the salt's label and safety data sheet. Label the tubs, keep children and animals off, use no food \
             vessels. Dry coir raises dust: wear a mask. Wet coir is heavy: lift small loads."
                .to_owned(),
        );
        cautions
    }
}

/// With a capital, and a full stop after what is long enough for a sentence.
fn sentence(text: &str) -> String {
    let capital = capital(text);
    if capital.ends_with(['.', '!']) || capital.len() < 40 { capital } else { format!("{capital}.") }
}

fn remedy_words(remedies: &[Remedy]) -> String {
    if remedies.is_empty() {
        return "Nothing that was tried would meet it: the target may be too strict.".to_owned();
    }
    let words: Vec<String> = remedies
        .iter()
        .map(|remedy| match remedy {
            Remedy::MoreSoaks(soaks) => format!("{soaks} soaks"),
            Remedy::WashFirst(washes) => format!("{washes} plain washes first"),
            Remedy::AnotherSalt(name) => format!("{name} as the salt"),
            Remedy::PureWater => "rain or purified water".to_owned(),
        })
        .collect();
    format!("Any one of these would: {}.", words.join("; "))
}

fn comparison(compared: &[Comparison]) -> Table {
    let mut table =
        Table::new(&["salt", ">grams", ">soaks", ">rinses", ">EC", ">Na+K", ">drain N", ">drain Cl", "target"]);
    for one in compared {
        table.row([
            one.salt.clone(),
            plain(one.salt_g, 0),
            one.soaks.to_string(),
            one.rinses.to_string(),
            plain(one.fresh_ec_ms_cm, 1),
            format!("{} %", plain(one.monovalent * 100.0, 1)),
            format!("{} g", plain(one.nitrogen_g, 1)),
            format!("{} mg/L", plain(one.chloride_mg_l, 0)),
            if one.verdict == Verdict::Met { "met" } else { "not met" }.to_owned(),
        ]);
    }
    table
}

/// Grams of solid gypsum that dissolve in a step.
fn gypsum_g((step, stage): (&Step, &Stage)) -> f64 {
    let gypsum = step.doses().iter().find(|dose| dose.salt.is_gypsum());
    gypsum.map_or(0.0, |dose| dose.salt.grams(stage.bath.gypsum_dissolved_mol))
}

fn action(action: Action) -> &'static str {
    match action {
        Action::Hydrate => "hydrate",
        Action::Wash => "wash",
        Action::Soak => "soak",
        Action::Rinse => "rinse",
    }
}

fn clock(at: &ZonedDateTime) -> String {
    at.strftime("%a %-d %b %Y, %H:%M").to_string()
}

fn short_clock(at: &ZonedDateTime) -> String {
    at.strftime("%a %-d %b %H:%M").to_string()
}

/// RFC 3339 with the offset.
pub(in crate::report) fn rfc3339(at: &ZonedDateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}
