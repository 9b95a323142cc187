//! What a worksheet says to know and to beware of.

use super::SoakReport;
use crate::coir::Salt;
use crate::coir::soak::{CoirKind, Worksheet};
use crate::report::remark::Remark;
use crate::report::words::{after_mix, assumption, capital, grows_stale};

/// Notes on every worksheet.
const NOTES: [(&str, &str); 5] = [
    (
        "meter",
        "A conductivity meter shows salts, not whether coir is buffered; nor does a water extract. A CAT or BaCl2 \
      extract by a laboratory does.",
    ),
    (
        "second-bath",
        "A second bath whose EC stays near that of a fresh bath, thinned by the water the coir held, says that \
      the exchange is nearly done.",
    ),
    (
        "water-held",
        "Weigh once: (wet, drained coir - dry coir) / dry coir is the water it holds; 7 kg/kg is taken (4 \
      squeezed, 10 fine pith). A laboratory's saturated extract sharpens the rest: put both under `lab:`.",
    ),
    (
        "model",
        "The model is a well stirred equilibrium at 25 C. It leaves out pH, phosphate, organic acids and microbes. \
      Hard or salty water changes the result: state its ions under `water:`.",
    ),
    (
        "keeps",
        "Use the coir within about three days of the last drain, or spread it to dry (common practice, no source).",
    ),
];
const SALT_NAME: &str = "`calcium nitrate` was taken as the tetrahydrate (17 % Ca). What is sold for feeding is often the \
    double salt with ammonium (about 19 % Ca): look at the label, and name the salt or state `label_ca:`.";
const CLAIM: &str = "What the bag claims is translated by judgement into a starting composition, pessimistic about sodium: \
    no published table for raw coir was found.";
const LATE: &str = "The start lies in the past: the coir will not be ready in time.";
/// Cautions of every worksheet.
const CAUTIONS: [(&str, &str); 2] = [
    (
        "drain-water",
        "Keep drain water from drains, ditches, ponds, wells and septic fields. Where local rules allow, thin it \
      and give it to established grass or beds that are not eaten from, within their need of nitrogen.",
    ),
    (
        "handling",
        "Follow the salt's label and safety data sheet. Label the tubs, keep children and animals off, use no food \
      vessels. Dry coir raises dust: wear a mask. Wet coir is heavy: lift small loads.",
    ),
];

impl SoakReport<'_> {
    pub(super) fn notes(&self, sheet: &Worksheet) -> Vec<Remark> {
        let soak = &self.soaking.soak;
        let mut notes: Vec<Remark> =
            soak.salt_unsure.then(|| Remark::new("salt-name", SALT_NAME)).into_iter().collect();
        notes.extend(NOTES.map(|(code, text)| Remark::new(code, text)));
        notes.extend(soak.units.iter().map(|unit| Remark::new("bare-unit", assumption(*unit))));
        if matches!(soak.coir, CoirKind::SoldAs(_)) && sheet.target.is_some() {
            notes.push(Remark::new("claim", CLAIM));
        }
        notes
    }

    pub(super) fn cautions(&self, sheet: &Worksheet) -> Vec<Remark> {
        let mut cautions = Vec::new();
        if self.late {
            cautions.push(Remark::new("late", LATE));
        }
        if let Some(times) = self.soaking.times.as_ref().filter(|_| self.soaking.after_mix) {
            cautions.push(Remark::new("after-mix", after_mix(&times.ready)));
        }
        if sheet.grows_stale() {
            cautions.push(Remark::new("grows-stale", grows_stale(sheet.runs, sheet.first_waits_hours)));
        }
        cautions.extend(sheet.report.cautions.iter().map(|one| Remark::new(one.code, sentence(&one.text))));
        let mut salts: Vec<&Salt> = Vec::new();
        for dose in sheet.course.steps.iter().flat_map(|step| &step.doses) {
            let words = dose.salt.cautions();
            if !words.is_empty() && !salts.iter().any(|salt| salt.name == dose.salt.name) {
                salts.push(&dose.salt);
                let text = format!("{}: {}.", sentence(&dose.salt.name), words.join("; "));
                cautions.push(Remark::new("salt-safety", text));
            }
        }
        cautions.extend(CAUTIONS.map(|(code, text)| Remark::new(code, text)));
        cautions
    }
}

/// With a capital, and a full stop after what is long enough for a sentence.
fn sentence(text: &str) -> String {
    let capital = capital(text);
    if capital.ends_with(['.', '!']) || capital.len() < 40 { capital } else { format!("{capital}.") }
}
