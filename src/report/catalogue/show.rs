//! One entry of the catalogue: every value with its source.

use super::figure::{Figure, GRAM_PER_MOLE, LITRE_PER_LITRE, PERCENT, PH};
use super::{Listing, Row, in_us, parts, standing};
use crate::catalogue::{Catalogue, Crop, Feeds, Ingredient, Stage, Status, Tray, caution, citation, trap};
use crate::coir::soak::{SaltEntry, salts};
use crate::recipe::{Basis, Change, PartsOrDose, Recipe, built_in};
use crate::report::words::{and, basis_words, capital};
use crate::units::customary::{CENTIMETRE, DOSE, LITRE, MILLILITRE, SEEDS, SPOONED};
use crate::units::length::centimetre;
use crate::units::volume::millilitre;
use crate::units::{Length, Measure, Rate, Rounding, Unit, UnitSystem, percent, to_litres};
use serde_json::{Value, json};

/// Everything known under a name: a recipe, a tray, a crop, an ingredient, or several.
pub fn show(name: &str, catalogue: &Catalogue) -> Vec<Listing> {
    let recipe = built_in(name, catalogue).and_then(Result::ok).map(|recipe| show_recipe(&recipe));
    let tray = catalogue.trays.find(name).map(|tray| show_tray(&tray));
    let remark = trap(name).map(|trap| trap.remark.as_str());
    let crop = catalogue.meant(name).ok().map(|(crop, _)| show_crop(&crop, remark));
    let ingredient = catalogue.ingredients.find(name).map(|ingredient| show_ingredient(&ingredient));
    let salts = salts().filter(|entry| entry.is_called(name)).map(show_salt);
    [recipe, tray, crop, ingredient].into_iter().flatten().chain(salts).collect()
}

impl Listing {
    /// What is known of one entry, to be added value by value.
    fn of_one(kind: &'static str, name: &str) -> Self {
        let title = format!("{} {name}", capital(kind));
        Self { title, kind, headers: vec!["what", "value", "source"], rows: Vec::new(), foot: "" }
    }

    /// Adds what the entry says, if it does, under the key that scripts know it by and the
    /// words that people do. A source is the key of a citation, or says all there is to say.
    fn add(&mut self, (key, label): (&str, &str), figure: Figure, source: Option<&str>) {
        if figure.is_empty() {
            return;
        }
        let cited = source.and_then(|key| citation(key).map(|found| (found.cite.as_str(), found.standing.as_str())));
        let (shown, cite, standing) = match (source, cited) {
            // `memory` and `common practice` are the standing itself.
            (Some(key), Some((_, standing))) if key == standing => (key.to_owned(), None, Some(standing)),
            (_, Some((cite, standing))) => (format!("{cite} ({standing})"), Some(cite), Some(standing)),
            (said, None) => (said.unwrap_or_default().to_owned(), said, None),
        };
        let (value, unit) = (&figure.value, figure.unit_name());
        let entry = json!({"what": key, "value": value, "unit": unit, "source": cite, "standing": standing});
        self.rows.push(Row { cells: vec![Figure::label(label, in_us(label)), figure, Figure::words(shown)], entry });
    }

    /// Adds to the last value what its words say and its figure does not.
    fn detail(&mut self, key: &str, value: Value) {
        if let Some(row) = self.rows.last_mut() {
            row.entry[key] = value;
        }
    }
}

fn show_tray(tray: &Tray) -> Listing {
    let from = tray.from.as_deref();
    let cm = |length: Length| length.get::<centimetre>();
    let (decimals, about) = if tray.is_about() { (1, "about ") } else { (2, "") };
    let cell = Figure::measured(tray.cell.get::<millilitre>(), decimals, MILLILITRE).with_unit().between(about, "");
    let depth = tray.depth.map(|depth| Figure::measured(cm(depth), 2, CENTIMETRE).with_unit());
    let sides = tray.footprint.map(|(long, short)| Figure::sides(cm(long), cm(short), CENTIMETRE).with_unit());
    let per_tray = tray.per_tray.map(|each| Figure::count(each, "pots"));
    let compression = tray.compression.map(|factor| Figure::measured(factor.to_f64(), 6, LITRE_PER_LITRE));
    let mut sheet = Listing::of_one("tray", &tray.name);
    for (names, figure, source) in [
        (("cells", "cells"), Figure::count(tray.cells, "cells"), None),
        (("rows", "rows"), Figure::count(tray.rows, "rows"), None),
        (("cell", "cell volume"), cell, from),
        (("as_sold", "as sold"), Figure::volumes(tray.range), from),
        (("volume", "litres"), Figure::measured(to_litres(tray.volume()), 3, LITRE), None),
        (("depth", "depth"), depth.unwrap_or_default(), from),
        (("footprint", "footprint"), sides.unwrap_or_default(), from),
        (("per_tray", "pots in a carrying tray"), per_tray.unwrap_or_default(), from),
        (("compression", "compression"), compression.unwrap_or_default(), from),
        (("standing", "standing"), Figure::words(standing(tray)), None),
        (("note", "remark"), Figure::word(tray.note.as_ref()), None),
    ] {
        sheet.add(names, figure, source);
    }
    sheet
}

fn show_crop(crop: &Crop, remark: Option<&str>) -> Listing {
    let served = if crop.mycorrhiza == Status::Host { "an inoculant may serve it" } else { "no inoculant for it" };
    let seeds = crop.seeds_per_gram.map(|seeds| Figure::measured(seeds.to_f64(), 6, SEEDS));
    let days = crop.emerges_in_a_house().filter(|days| Some(*days) != crop.emerges);
    let in_a_house = Figure::counts(days, "days");
    let mut sheet = Listing::of_one("crop", &crop.name);
    for (names, figure) in [
        (("also", "also called"), Figure::names(&crop.also)),
        (("species", "species"), Figure::word(crop.species.as_ref())),
        (("formerly", "formerly"), Figure::names(&crop.formerly)),
        (("family", "family"), Figure::word(crop.family.as_ref())),
        (("mycorrhiza", "mycorrhiza"), Figure::word(Some(crop.mycorrhiza)).between("", &format!(" ({served})"))),
        (("confidence", "confidence"), Figure::word(crop.confidence.as_ref())),
        (("germination", "germination"), Figure::percent(crop.germination)),
        (("legal_minimum", "legal minimum"), Figure::percent(crop.legal_minimum)),
        (("expected_germination", "expected germination"), Figure::percent(crop.expected_germination)),
        (("weeks", "weeks to plant out"), Figure::counts(crop.weeks, "weeks")),
        (("pace", "pace"), Figure::word(crop.pace)),
        (("cells", "cells, 10 x 20 in"), Figure::counts(crop.cells, "cells")),
        (("light", "light"), Figure::word(crop.light)),
        (("depth", "sown at"), Figure::depths(crop.depth)),
        (("seed", "seed"), Figure::word(crop.seed)),
        (("seeds_per_gram", "seeds in a gram"), seeds.unwrap_or_default()),
        (("feeder", "appetite in the field"), Figure::word(crop.feeder)),
        (("temperature", "grows on"), Figure::word(crop.temperature)),
        (("frost", "frost"), Figure::word(crop.frost)),
        (("germinates_at", "germinates at"), Figure::warmth(crop.germinates_at)),
        (("emerges", "days to emerge"), Figure::counts(crop.emerges, "days")),
        (("emerges_in_a_house", "in a house"), in_a_house),
        (("before", "before sowing"), Figure::word(crop.before)),
        (("before_days", "days of that"), Figure::counts(crop.before_days, "days")),
        (("perennial", "perennial"), Figure::word(crop.perennial.map(|is| if is { "yes" } else { "no" }))),
        (("poisonous", "poisonous"), Figure::word(crop.poisonous)),
        (("note", "remark"), Figure::word(crop.note.as_ref())),
        (("name", "about the name"), Figure::word(remark)),
    ] {
        sheet.add(names, figure, crop.tags.of(names.0));
    }
    sheet
}

fn show_ingredient(ingredient: &Ingredient) -> Listing {
    let stage = ingredient.stage.and_then(|stage| Stage::WORDS.iter().find(|(_, known)| *known == stage));
    let serves = ingredient.serves.as_ref().map(|_| "hosts of mycorrhiza");
    let mut sheet = Listing::of_one("ingredient", &ingredient.name);
    let mut add = |key: &str, label: &str, figure| sheet.add((key, label), figure, ingredient.tags.of(key));
    add("also", "also called", Figure::names(&ingredient.also));
    add("dry_density", "dry density", Figure::density(ingredient.dry_density, 1).with_unit());
    for (key, text) in &ingredient.properties {
        let bare = if *key == "ph" { PH } else { LITRE_PER_LITRE };
        add(key, &key.replace('_', " "), Figure::read(Some(text), bare));
    }
    add("goes_in", "goes in", Figure::word(stage.map(|(word, _)| word)));
    let starter = (ingredient.feeds == Feeds::Starter).then_some("usually there");
    add("starter_charge", "starter charge", Figure::word(starter));
    add("serves", "serves", Figure::word(serves));
    add("salts", "salts", Figure::word(ingredient.rich.then_some("rich")));
    add("note", "remark", Figure::word(ingredient.note.as_ref()));
    for caution in ingredient.cautions.iter().filter_map(|key| caution(key)) {
        sheet.add(("caution", "take care"), Figure::words(&caution.text), caution.from.as_deref());
    }
    sheet
}

fn show_salt(entry: &SaltEntry) -> Listing {
    const FORMULA: Option<&str> = Some("from the formula");
    let salt = &entry.salt;
    let mut sheet = Listing::of_one("salt", &salt.name);
    sheet.add(("also", "also called"), Figure::names(&entry.also), None);
    sheet.add(("formula", "formula"), Figure::words(&salt.formula), Some(&entry.from));
    let molar_mass = Figure::measured(salt.molar_mass_g(), 3, GRAM_PER_MOLE).with_unit();
    sheet.add(("molar_mass", "molar mass"), molar_mass, FORMULA);
    let calcium = salt.has_calcium().then(|| Figure::measured(salt.formula_ca_percent(), 3, PERCENT).with_unit());
    sheet.add(("calcium", "calcium"), calcium.unwrap_or_default(), FORMULA);
    for caution in salt.cautions() {
        sheet.add(("caution", "take care"), Figure::word(Some(caution)), None);
    }
    sheet
}

/// A change in a line: for which crops, and what differs.
fn change_words(change: &Change, units: UnitSystem) -> String {
    let mut words = Vec::new();
    if !change.drop.is_empty() {
        let instead = change.instead.as_ref().map(|id| format!(" for {}", id.name));
        words.push(format!("drop {}{}", and(&change.drop), instead.unwrap_or_default()));
    }
    for (verb, amounts) in [("add", &change.add), ("set", &change.set)] {
        words.extend(amounts.iter().map(|(id, amount)| match amount {
            PartsOrDose::Parts(parts) => format!("{verb} {parts} {}", id.name),
            PartsOrDose::Dose(rate, of) => {
                // A plain rate is per what the recipe doses the ingredient on.
                let of = of.as_ref().and_then(basis_words).unwrap_or_default();
                format!("{verb} {} at {}{of}", id.name, rate.shown(units))
            }
        }));
    }
    let shown = |length: Length| length.shown(Rounding::Near, units);
    words.extend(change.sieve.map(|mesh| format!("sieve all of it, {}", shown(mesh))));
    words.extend(change.top.map(|top| format!("sieve the top {}, {}", shown(top.depth), shown(top.sieve))));
    words.extend(change.yield_.map(|kept| format!("yield {}", percent(kept))));
    format!("for {}: {}", units.prose(&change.crops.in_words()), words.join(", "))
}

fn dose_rate(rate: Rate) -> Figure {
    let (rate, unit) = match rate.spoon() {
        None => (rate.per_litre(), DOSE),
        Some(_) => (rate.per_litre() * 1000.0, SPOONED),
    };
    Figure::measured(rate, 3, unit).with_unit()
}

fn dose(rate: Rate, basis: &Basis) -> Figure {
    let of = basis_words(basis).unwrap_or_else(|| " of finished mix".to_owned());
    dose_rate(rate).between("", &of)
}

fn show_recipe(recipe: &Recipe) -> Listing {
    let mut sheet = Listing::of_one("recipe", &recipe.name);
    sheet.add(("about", "about"), Figure::word(recipe.about.as_ref()), None);
    for (part, words) in recipe.parts.iter().zip(parts(recipe)) {
        let mut figure = Figure::words(words);
        (figure.value, figure.unit) = (json!(part.amount.to_string()), Some(Unit::shared("parts")));
        sheet.add(("part", "part"), figure, None);
        sheet.detail("ingredients", json!(part.choices));
    }
    for part in &recipe.doses {
        let figure = dose(part.rate, &part.basis).between(&format!("{}: ", part.ingredient.name), "");
        sheet.add(("dose", "dose"), figure, None);
        sheet.detail("ingredients", json!([part.ingredient]));
        sheet.detail("of", json!(if let Basis::Of(base) = &part.basis { Some(base) } else { None }));
    }
    let kept = recipe.yield_.unwrap_or_else(crate::recipe::default_yield);
    sheet.add(("yield", "yield"), Figure::percent(Some(kept)), Some("an estimate: measure yours with a bucket test"));
    for change in &recipe.changes {
        let [metric, us] = [UnitSystem::Metric, UnitSystem::Us].map(|units| change_words(change, units));
        sheet.add(("change", "change"), Figure::in_words(metric, us), None);
    }
    sheet.add(("source", "source"), Figure::words(recipe.source.as_deref().unwrap_or("our own")), None);
    sheet.foot = "`trayful new recipe` prints a recipe file to start from.";
    sheet
}
