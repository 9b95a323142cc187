//! What may take the place of a part of a recipe, figure by figure.

use super::behaviour::{ALWAYS, BehaviourReport, MixInTrays, air_percents, lime_words, percents, ranged};
use super::document::{Document, Table};
use super::plan::first_feed;
use super::remark::{on, remark, texts};
use super::words::{and, basis_words, capital, keys, parts_words, tray_name, whole_percent};
use super::{Remark, Report, Style};
use crate::behaviour::{Candidate, InTray, MOST_RICH, Swap, WANTED_PH, lacking, wants_lime};
use crate::catalogue::{Crop, Feeds, Handle, Ingredient, Named, Role};
use crate::exact::Fraction;
use crate::recipe::{Recipe, usual_lime_g_per_l};
use crate::units::customary::{DOSE, GRAM_PER_LITRE, KILOGRAM};
use crate::units::{Measure, Rounding, Unit, UnitSystem, Volume, plain, to_litres};
use serde_json::{Value, json};

/// The most crops that are named of those whose changes come to another mix.
const MOST_NAMED: usize = 5;

/// The mix of a recipe, and what may take the place of one of its parts.
pub struct SwapReport<'s> {
    /// The mix as it is, then with each choice, in one tray.
    pub mixes: BehaviourReport<'s>,
    /// The recipe as it was.
    pub recipe: &'s Recipe,
    /// The part that is left out.
    pub without: &'s Handle<Ingredient>,
    /// The choices, the nearest first.
    pub swaps: &'s [Swap],
    /// What was chosen from; `None` for all that is known.
    pub at_hand: Option<&'s [Candidate]>,
    /// How much of some is at hand was said.
    pub has_amounts: bool,
    /// What would do where nothing at hand does.
    pub would_do: &'s [Swap],
    /// The volume of mix that it must be enough for.
    pub make: Option<Volume>,
    /// The number of the choice whose recipe is written, and to which file.
    pub written: Option<(usize, String)>,
    /// The crops for which its changes come to another mix.
    pub differing: &'s [Handle<Crop>],
}

impl SwapReport<'_> {
    fn before(&self) -> &MixInTrays<'_> {
        &self.mixes.mixes[0]
    }

    fn parts_before(&self, id: &Handle<Ingredient>) -> Option<Fraction> {
        self.before().mix.parts_of(id)
    }

    /// `3/4 pine bark and 1/4 more perlite`.
    fn taken(&self, swap: &Swap) -> String {
        and(swap.takes.iter().map(|(id, parts)| {
            let more = if self.parts_before(id).is_some() { "more " } else { "" };
            format!("{} {more}{}", parts_words(*parts), id.name)
        }))
    }

    fn left_out(&self) -> String {
        format!("{} {}", self.parts_before(self.without).map(parts_words).unwrap_or_default(), self.without.name)
    }

    /// What is at hand in place of the part, if anything.
    fn named(&self) -> Option<Vec<&str>> {
        let others = self.at_hand?.iter().map(|one| &one.ingredient).filter(|id| *id != self.without);
        Some(others.map(|id| id.name.as_str()).collect()).filter(|names: &Vec<_>| !names.is_empty())
    }

    fn summary(&self, units: UnitSystem) -> String {
        let (part, recipe) = (self.left_out(), &self.recipe.name);
        let make = self.make.map(|make| make.shown(Rounding::Down, units));
        if self.swaps.is_empty() {
            let none = match self.named() {
                Some(names) => format!("Of what is at hand, {}, nothing can", and(names)),
                None => "Nothing is at hand that can".to_owned(),
            };
            let make = make.map(|make| format!("{make} of ")).unwrap_or_default();
            let would = self.would_do.iter().map(|swap| self.taken(swap)).collect::<Vec<_>>().join(", or ");
            let would = if would.is_empty() { would } else { format!(" Of all that is known this would: {would}.") };
            return format!("{none} take the place of {part} in {make}{recipe}.{would}");
        }
        let from = match self.named() {
            Some(names) => format!("what is at hand ({})", and(names)),
            None => "all that is known, since nothing was said of what is at hand (`--have`, `--stock`)".to_owned(),
        };
        let make = make.map(|make| format!(" and is itself enough for {make} of mix")).unwrap_or_default();
        let tray = tray_name(self.before().trays[0].0, units);
        format!(
            "In place of {part}: what behaves nearest in a {tray}{make}, from {from}. First what is nearest in weight, pores, \
             water, air and the pH of its parts together."
        )
    }

    /// The figures of every mix, one a row.
    fn rows(&self, units: UnitSystem) -> Vec<Vec<String>> {
        type Figure<'f> = &'f dyn Fn(&MixInTrays<'_>) -> Option<String>;
        fn cell<'m>(mix: &'m MixInTrays<'_>) -> Option<&'m InTray> {
            mix.trays[0].1.as_ref().ok()
        }
        let in_unit = |unit: Unit, decimals, of: &[f64]| ranged(of, |one| unit.figure(one, decimals, units));
        let food = |mix: &MixInTrays<'_>| and(mix.mix.feeding().map(|id| &id.name));
        let figures: [(&str, &str, Figure<'_>); 10] = [
            ("air", "%", &|mix| Some(air_percents(&cell(mix)?.drained.air))),
            ("water", "%", &|mix| Some(percents(&cell(mix)?.drained.water))),
            ("for seed", "", &|mix| Some(cell(mix)?.drained.verdict.word().to_owned())),
            ("pores", "%", &|mix| Some(percents(&mix.behaviour.pores.as_ref().ok()?.porosity))),
            ("dry", GRAM_PER_LITRE.name_in(units), &|mix| {
                Some(in_unit(GRAM_PER_LITRE, 0, mix.behaviour.dry_g_per_l.as_ref().ok()?))
            }),
            ("tray", KILOGRAM.name_in(units), &|mix| Some(in_unit(KILOGRAM, 1, &cell(mix)?.tray_kg?))),
            ("pH", "", &|mix| Some(ranged(&mix.behaviour.ph.ok()?, |ph| plain(ph, 1)))),
            ("salts", "mS/cm", &|mix| Some(ranged(mix.behaviour.ec_ms_cm.as_ref().ok()?, |ec| plain(ec, 1)))),
            ("lime in it", DOSE.name_in(units), &|mix| Some(in_unit(DOSE, 1, &[mix.behaviour.lime_g_per_l?]))),
            ("food", "", &|mix| Some(food(mix)).map(|food| if food.is_empty() { "none".to_owned() } else { food })),
        ];
        let places = [self.left_out()].into_iter().chain(self.swaps.iter().map(|swap| self.taken(swap)));
        let first = ["in its place".to_owned()].into_iter().chain(places).collect();
        let rows = figures.into_iter().map(|(what, unit, figure)| {
            let known = |mix| figure(mix).unwrap_or_else(|| "not known".to_owned());
            let what = if unit.is_empty() { what.to_owned() } else { format!("{what}, {unit}") };
            [what].into_iter().chain(self.mixes.mixes.iter().map(known)).collect()
        });
        [first].into_iter().chain(rows).collect()
    }

    /// What is to be done otherwise than before, and what to know.
    fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let (before, mut notes) = (self.before(), Vec::new());
        let feeds = |mix: &MixInTrays<'_>| mix.mix.feeding().next().is_some();
        for (number, (mix, swap)) in (1..).zip(self.mixes.mixes[1..].iter().zip(self.swaps)) {
            let is_known = mix.wanted_ph.is_some() && mix.behaviour.ph.is_ok();
            let is_new = !is_known && wants_lime(before.mix).is_empty();
            let acid = if is_new { wants_lime(mix.mix) } else { Vec::new() };
            notes.extend(self.doses_out(number, mix, &acid));
            notes.extend(lime_anew(number, mix, before, units));
            notes.extend(off_ph(number, mix, units).filter(|_| acid.is_empty()));
            let much = ranged(&usual_lime_g_per_l(mix.behaviour.rich()), |grams| DOSE.figure(grams, 1, units));
            let [are, help] = match acid.iter().any(|id| id.is_raw_peat()) {
                true => ["is acid", &format!("add ground limestone, {much} {} of raw peat", DOSE.name_in(units))],
                false => ["may be as acid as peat", "test its pH with a strip before you sow"],
            };
            notes.extend(on("lime-in", &acid, |names| {
                format!("Choice {number} holds {names}, which {are}, and no lime: {help}.")
            }));
            let (how, why) = first_feed(feeds(mix), false);
            let differs = feeds(mix) != feeds(before);
            notes.extend(differs.then(|| remark!("first-feed", "First feed of choice {number}: {how}; {why}.")));
            let new = swap.takes.iter().filter(|(id, _)| self.parts_before(id).is_none());
            for (id, note) in new.filter_map(|(id, _)| Some((id, id.note.as_ref()?))) {
                let note = remark!("of-ingredient", "{}: {note}.", capital(&id.name));
                notes.extend((!notes.contains(&note)).then_some(note));
            }
        }
        let is_as_before = !self.swaps.is_empty() && notes.iter().all(|note| note.code != "first-feed");
        let (how, why) = first_feed(feeds(before), false);
        notes.extend(is_as_before.then(|| remark!("first-feed", "First feed as before: {how}; {why}.")));
        let left_out = self.recipe.parts.iter().find(|part| part.choices.contains(self.without));
        let offered = self.swaps.iter().flat_map(|swap| &swap.takes).map(|(id, _)| id);
        let offered = offered.filter(|id| left_out.is_some_and(|part| part.choices.contains(id)));
        notes.extend(offered.take(1).map(|id| {
            let (recipe, word) = (&self.recipe.name, id.name.replace(' ', "-"));
            remark!("offered", "{recipe} offers {} itself, with its changes: `--use {word}`.", id.name)
        }));
        notes.extend(self.without.is(Role::Covering).then(|| {
            let name = &self.without.name;
            remark!("covering", "Seed is covered with {name} besides: a plan says how much that takes.")
        }));
        notes.extend(self.at_hand.unwrap_or_default().iter().filter_map(|one| self.not_taken(&one.ingredient)));
        let is_unasked = self.has_amounts && self.make.is_none() && !self.swaps.is_empty();
        notes.extend(is_unasked.then(|| {
            remark!(
                "enough-not-asked",
                "Whether so much of it is enough is told with `--make`, the mix that is wanted."
            )
        }));
        notes.extend(self.of_written());
        notes
    }

    /// The doses that a choice goes without, but for lime where what wants it is told.
    fn doses_out(&self, number: usize, mix: &MixInTrays<'_>, acid: &[&Handle<Ingredient>]) -> Vec<Remark> {
        let has = |id: &Handle<Ingredient>| mix.mix.doses.iter().any(|dose| dose.ingredient == *id);
        let gone = self.before().mix.doses.iter().map(|dose| &dose.ingredient).filter(|id| !has(id));
        let (limes, others): (Vec<_>, Vec<_>) = gone.partition(|id| id.is(Role::Lime));
        let [limes, others] = [limes, others].map(|ids| ids.iter().map(|id| &id.name).collect::<Vec<_>>());
        let limes = if acid.is_empty() { limes } else { Vec::new() };
        let limes =
            on("dose-out", &limes, |names| format!("Choice {number} takes no {names}: nothing is left that wants it."));
        let others = on("dose-out", &others, |names| {
            let without = &self.without.name;
            format!("Choice {number} takes no {names}, dosed on {without}: dose on the mix what is still wanted.")
        });
        limes.into_iter().chain(others).collect()
    }

    /// What to know of the recipe that is written.
    fn of_written(&self) -> Vec<Remark> {
        let written = self.written.iter().map(|(kept, path)| {
            remark!("written", "The recipe of choice {kept} is written to {path}: a week names it by that file.")
        });
        let crops: Vec<&str> = self.differing.iter().take(MOST_NAMED).map(|crop| crop.shown()).collect();
        let differing = on("changes-differ", &crops, |crops| {
            let others = if self.differing.len() > MOST_NAMED { " and others" } else { "" };
            format!("Look through the changes in it: for {crops}{others} they do not come to what they came to before.")
        });
        written.chain(differing).collect()
    }

    /// Why something at hand is not taken.
    fn not_taken(&self, id: &Handle<Ingredient>) -> Option<Remark> {
        let is_taken = self.swaps.iter().flat_map(|swap| &swap.takes).any(|(taken, _)| taken == id);
        let (name, most, lacks) = (&id.name, whole_percent(MOST_RICH), lacking(id));
        match () {
            () if is_taken || id == self.without => None,
            () if id.raw => Some(remark!("raw", "Not tried: {name}, which stands in for nothing while it is raw.")),
            () if id.feeds == Feeds::Starter => {
                Some(remark!("bagged-mix", "Not tried: {name}, which brings lime and food of its own."))
            }
            () if !lacks.is_empty() => {
                let keys = keys(&lacks);
                Some(remark!("figures-missing", "Not tried: {name}. State its {keys} under `ingredients:`."))
            }
            () if id.rich => Some(remark!(
                "too-rich",
                "{}: no more is taken than makes castings and compost {most} of the loose volume.",
                capital(name)
            )),
            () => None,
        }
    }
}

/// That it is off the pH that its recipe wants, or that most seed wants, and the lime for that.
fn off_ph(number: usize, mix: &MixInTrays<'_>, units: UnitSystem) -> Option<Remark> {
    let of = &mix.behaviour;
    let shown = |ph: [f64; 2]| ranged(&ph, |ph| plain(ph, 1));
    let lime = |ph: f64| {
        let words = |lime| format!("lime for {}, in all: {}", plain(ph, 1), lime_words(&lime, units));
        of.lime_for(ph).map_or_else(|_| "look to its lime".to_owned(), words)
    };
    if let Some(wanted) = mix.wanted_ph {
        let stands = match of.ph {
            Ok(ph) => format!("Choice {number} stands at pH {}, and its recipe wants {}", shown(ph), plain(wanted, 1)),
            Err(why) => format!("The pH of choice {number} is not known, since {why}"),
        };
        let words = format!("{stands}: {}.", lime(wanted));
        let is_within = of.ph.is_ok_and(|[least, most]| (least..=most).contains(&wanted));
        let is_best = of.is_at_ph(wanted) || is_within && of.lime_for(wanted).is_ok_and(|[_, about, _]| about == 0.0);
        return (!is_best).then(|| Remark::new("lime-for-ph", words));
    }
    of.off_ph()?;
    let (ph, wanted) = (shown(of.ph.ok()?), shown(WANTED_PH));
    Some(remark!("off-ph", "Choice {number} stands at pH {ph}, and most seed wants {wanted}: {}.", lime(WANTED_PH[0])))
}

/// That lime is dosed otherwise than before.
fn lime_anew(number: usize, mix: &MixInTrays<'_>, before: &MixInTrays<'_>, units: UnitSystem) -> Option<Remark> {
    let dosed = |mix: &MixInTrays<'_>| {
        let limes = mix.mix.doses.iter().filter(|dose| dose.ingredient.is(Role::Lime));
        let each = limes.map(|dose| {
            let of = basis_words(&dose.basis).unwrap_or_else(|| " of the mix".to_owned());
            format!("{} at {}{of}", dose.ingredient.name, dose.rate.shown(units))
        });
        Some(and(each)).filter(|limes| !limes.is_empty())
    };
    let old = dosed(before);
    let new = dosed(mix).filter(|new| old.as_ref() != Some(new))?;
    let none = mix.wanted_ph.map(|_| "where it took none".to_owned());
    let not = old.map(|old| format!("not {old}")).or(none)?;
    let [of_new, of_old] = [mix, before].map(|mix| usual_lime_g_per_l(mix.behaviour.rich()));
    let [peat_new, peat_old] = [mix, before].map(|mix| mix.behaviour.raw_peat());
    let why = match mix.wanted_ph {
        Some(ph) => format!("its recipe wants pH {}", plain(ph, 1)),
        None if of_new == of_old && peat_new > peat_old => "there is more raw peat than before".to_owned(),
        None if of_new == of_old => "there is less raw peat than before".to_owned(),
        None if of_new < of_old => "castings or compost raise the pH too".to_owned(),
        None if mix.behaviour.rich() > 0.0 => "so few castings or compost hardly raise the pH".to_owned(),
        None => "no castings or compost raise the pH now".to_owned(),
    };
    Some(remark!("lime-anew", "Choice {number} takes {new}, {not}: {why}."))
}

impl Report for SwapReport<'_> {
    fn document(&self, style: Style) -> Document {
        const COLUMNS: [&str; 5] = ["what", "as it is", "1", "2", "3"];
        let mut document = Document::new(format!("{} without {}", self.recipe.name, self.without.name));
        document.paragraph(self.summary(style.units));
        if !self.swaps.is_empty() {
            document.table(Table { rows: self.rows(style.units), ..Table::new(&COLUMNS[..=self.mixes.mixes.len()]) });
        }
        let mixes = (1..).zip(&self.mixes.mixes[1..]);
        let mixes = mixes.map(|(number, mix)| format!("Choice {number}: {}.", mix.words(style.units)));
        document.list(mixes.chain(texts(&self.notes(style.units))).collect());
        if !self.swaps.is_empty() {
            document.list(ALWAYS.map(str::to_owned).to_vec());
        }
        document
    }

    fn value(&self) -> Value {
        let takes = |swap: &Swap| {
            let takes = swap.takes.iter().map(|(id, parts)| json!({"name": id, "parts": parts.to_string()}));
            takes.collect::<Vec<_>>()
        };
        let mixes = self.mixes.value()["mixes"].take();
        let choices = self.swaps.iter().zip(1..).map(|(swap, at)| json!({"takes": takes(swap), "mix": mixes[at]}));
        json!({
            "format": "trayful-swap/1",
            "without": self.without,
            "parts": self.parts_before(self.without).map(|parts| parts.to_string()),
            "at_hand": self.at_hand.map(|all| all.iter().map(|one| &one.ingredient).collect::<Vec<_>>()),
            "make_l": self.make.map(to_litres),
            "before": mixes[0],
            "choices": choices.collect::<Vec<_>>(),
            "would_do": self.would_do.iter().map(takes).collect::<Vec<_>>(),
            "written": self.written.as_ref().map(|(_, path)| path),
            "notes": self.notes(UnitSystem::Metric),
        })
    }

    /// As the behaviour of several recipes, each with what it takes.
    fn records(&self) -> Vec<Vec<String>> {
        let takes = self.swaps.iter().map(|swap| self.taken(swap));
        let first = ["in_its_place".to_owned(), self.left_out()].into_iter().chain(takes);
        first.zip(self.mixes.records()).map(|(first, row)| [vec![first], row].concat()).collect()
    }
}
