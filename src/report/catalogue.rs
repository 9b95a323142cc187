//! The catalogue: lists of what is known, and one entry with the source of each value.

use super::document::{Document, Table};
use super::words::and;
use super::{Report, Style};
use crate::catalogue::{Catalogue, Crop, Feeds, Handle, Ingredient, Stage, Status, Tray, cautions, citation};
use crate::coir::soak::{SaltEntry, salts};
use crate::recipe::{Amount, BUILT_IN, Basis, Change, Recipe, built_in};
use crate::units::length::{centimetre, millimetre};
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::millilitre;
use crate::units::{Length, Rate, percent, plain, to_litres};
use serde_json::{Map, Value, json};

/// A table of entries.
pub struct Listing {
    title: String,
    table: Table,
    foot: Option<String>,
    kind: &'static str,
}

impl Report for Listing {
    fn document(&self, _: Style) -> Document {
        let mut document = Document::new(&self.title);
        document.table(self.table.clone());
        document.paragraph(self.foot.clone().unwrap_or_default());
        document
    }

    fn json(&self) -> String {
        super::json::render(&self.value())
    }

    fn records(&self) -> Vec<Vec<String>> {
        let header = self.table.columns.iter().map(|column| column.name.to_owned()).collect();
        std::iter::once(header).chain(self.table.rows.iter().cloned()).collect()
    }
}

impl Listing {
    fn value(&self) -> Value {
        let entries: Vec<Value> = self
            .table
            .rows
            .iter()
            .map(|row| {
                let entry: Map<String, Value> = self
                    .table
                    .columns
                    .iter()
                    .zip(row)
                    .map(|(column, cell)| (column.name.replace(' ', "_"), Value::String(cell.clone())))
                    .collect();
                Value::Object(entry)
            })
            .collect();
        json!({"format": "trayful-list/1", "kind": self.kind, "title": self.title, "entries": entries})
    }
}

/// Several listings in one report.
pub struct Several<'l>(pub &'l [Listing]);

impl Report for Several<'_> {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::default();
        for listing in self.0 {
            let one = listing.document(style);
            document.heading(one.title);
            document.blocks.extend(one.blocks);
        }
        document
    }

    fn json(&self) -> String {
        super::json::render(&self.0.iter().map(Listing::value).collect::<Vec<_>>())
    }

    fn records(&self) -> Vec<Vec<String>> {
        self.0.iter().flat_map(Report::records).collect()
    }
}

/// The kinds that can be listed.
pub const KINDS: [&str; 5] = ["recipes", "trays", "crops", "ingredients", "salts"];

/// The list of a kind: one of [`KINDS`].
#[must_use]
pub fn listing(kind: &str, catalogue: &Catalogue) -> Option<Listing> {
    match kind {
        "recipes" => Some(recipes(catalogue)),
        "trays" => Some(trays(catalogue)),
        "crops" => Some(crops(catalogue)),
        "ingredients" => Some(ingredients(catalogue)),
        "salts" => Some(salt_list()),
        _ => None,
    }
}

fn recipes(catalogue: &Catalogue) -> Listing {
    let mut table = Table::new(&["recipe", "parts", "about", "source"]);
    for (name, _) in BUILT_IN {
        if let Some(Ok(recipe)) = built_in(name, catalogue) {
            let source = if recipe.source.is_some() { "published" } else { "our own" };
            table.row([
                recipe.name.clone(),
                parts(&recipe),
                recipe.about.clone().unwrap_or_default(),
                source.to_owned(),
            ]);
        }
    }
    let foot = "`trayful show NAME` tells doses, changes and the source.".to_owned();
    Listing { title: "Recipes".to_owned(), table, foot: Some(foot), kind: "recipes" }
}

fn trays(catalogue: &Catalogue) -> Listing {
    let mut table = Table::new(&["tray or pot", ">cells", ">rows", ">cell mL", ">litres", "as sold", "standing"]);
    for tray in catalogue.trays.iter() {
        table.row([
            tray.name.clone(),
            tray.cells.to_string(),
            tray.rows.to_string(),
            plain(tray.cell.get::<millilitre>(), 1),
            plain(to_litres(tray.volume()), 2),
            tray.range.clone().unwrap_or_default(),
            standing(tray),
        ]);
    }
    let foot = "Makers differ by 20 to 45 %. Fill ten cells of your own tray with water, weigh it, and write \
                `cell: {ten_weigh: ... g}` under `trays:` of your week: your figure wins.";
    Listing { title: "Trays and pots".to_owned(), table, foot: Some(foot.to_owned()), kind: "trays" }
}

fn standing(tray: &Tray) -> String {
    if tray.low_confidence { format!("{}, low confidence", tray.standing) } else { tray.standing.clone() }
}

fn crops(catalogue: &Catalogue) -> Listing {
    let mut table = Table::new(&["crop", "family", "mycorrhiza", "weeks", "pace", "light", "seed", "grows"]);
    for crop in catalogue.crops.iter() {
        let word = |word: Option<String>| word.unwrap_or_default();
        table.row([
            crop.name.clone(),
            word(crop.family.clone()),
            crop.mycorrhiza.to_string(),
            word(crop.weeks.map(span)),
            word(crop.pace.map(|pace| pace.to_string())),
            word(crop.light.map(|light| light.to_string())),
            word(crop.seed.map(|seed| seed.to_string())),
            word(crop.temperature.map(|temperature| temperature.to_string())),
        ]);
    }
    let foot = "Only hosts are given an inoculant. `trayful show CROP` tells every value with its source; many are \
                common practice or from memory. Your own entry under `crops:` of a week wins.";
    Listing { title: "Crops".to_owned(), table, foot: Some(foot.to_owned()), kind: "crops" }
}

fn ingredients(catalogue: &Catalogue) -> Listing {
    let mut table = Table::new(&["ingredient", "kind", ">dry g/L", "pH", "remark"]);
    for ingredient in catalogue.ingredients.iter() {
        table.row([
            ingredient.name.clone(),
            property(ingredient, "kind"),
            ingredient.dry_density.map(|density| plain(density.get::<gram_per_litre>(), 0)).unwrap_or_default(),
            property(ingredient, "ph"),
            ingredient.note.clone().unwrap_or_default(),
        ]);
    }
    let foot = "Densities are of the loose, dry material. `trayful show INGREDIENT` tells the sources.";
    Listing { title: "Ingredients".to_owned(), table, foot: Some(foot.to_owned()), kind: "ingredients" }
}

fn salt_list() -> Listing {
    let mut table = Table::new(&["salt", "formula", ">g/mol", ">Ca %", "also called"]);
    for entry in salts() {
        let calcium = entry.salt.formula_ca_percent();
        table.row([
            entry.salt.name().to_owned(),
            entry.salt.formula().to_owned(),
            plain(entry.salt.molar_mass_g(), 3),
            if calcium > 0.0 { plain(calcium, 2) } else { String::new() },
            entry.salt.also().join(", "),
        ]);
    }
    let foot = "Molar mass and calcium follow from the formula; the figure on the label (`label_ca: 19 %`) wins.";
    Listing { title: "Salts".to_owned(), table, foot: Some(foot.to_owned()), kind: "salts" }
}

fn show_salt(entry: &SaltEntry) -> Listing {
    let mut sheet = Sheet::new();
    let salt = &entry.salt;
    sheet.add("also called", (!salt.also().is_empty()).then(|| salt.also().join(", ")), None);
    sheet.add("formula", Some(salt.formula().to_owned()), Some(&entry.from));
    sheet.add("molar mass", Some(format!("{} g/mol", plain(salt.molar_mass_g(), 3))), Some("from the formula"));
    if salt.has_calcium() {
        sheet.add("calcium", Some(format!("{} %", plain(salt.formula_ca_percent(), 3))), Some("from the formula"));
    }
    for caution in salt.cautions() {
        sheet.add("take care", Some(caution.to_string()), None);
    }
    Listing { title: format!("Salt {}", salt.name()), table: sheet.0, foot: None, kind: "salt" }
}

fn property(ingredient: &Ingredient, key: &str) -> String {
    ingredient.properties.iter().find(|(name, _)| *name == key).map(|(_, text)| text.clone()).unwrap_or_default()
}

fn span((low, high): (u32, u32)) -> String {
    if low == high { low.to_string() } else { format!("{low}-{high}") }
}

fn parts(recipe: &Recipe) -> String {
    recipe
        .parts
        .iter()
        .map(|part| {
            let names: Vec<&str> = part.choices.iter().map(|id| id.name.as_str()).collect();
            format!("{} {}", part.amount, names.join(" or "))
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// Everything known under a name: a recipe, a tray, a crop, an ingredient, or several.
#[must_use]
pub fn show(name: &str, catalogue: &Catalogue) -> Vec<Listing> {
    let mut found = Vec::new();
    if let Some(Ok(recipe)) = built_in(name, catalogue) {
        found.push(show_recipe(&recipe));
    }
    found.extend(catalogue.trays.find(name).map(|tray| show_tray(&tray)));
    if let Some(crop) = catalogue.crops.find(name) {
        found.push(show_crop(&crop, None));
    } else if let Some(trap) = catalogue.trap(name)
        && let Some(crop) = trap.is.as_ref().and_then(|is| catalogue.crops.find(is))
    {
        found.push(show_crop(&crop, Some(&trap.remark)));
    }
    found.extend(catalogue.ingredients.find(name).map(|ingredient| show_ingredient(&ingredient)));
    found.extend(salts().iter().filter(|entry| entry.salt.is_called(name)).map(show_salt));
    found
}

/// Values with their sources, added one by one.
struct Sheet(Table);

impl Sheet {
    fn new() -> Self {
        Self(Table::new(&["what", "value", "source"]))
    }

    fn add(&mut self, what: &str, value: Option<String>, source: Option<&str>) {
        if let Some(value) = value {
            let source = match source.and_then(|key| citation(key).map(|found| (key, found))) {
                // Some keys say all there is to say.
                Some((key, found)) if key == found.standing => key.to_owned(),
                Some((_, found)) => format!("{} ({})", found.cite, found.standing),
                None => source.unwrap_or_default().to_owned(),
            };
            self.0.row([what.to_owned(), value, source]);
        }
    }
}

fn show_tray(tray: &Tray) -> Listing {
    let mut sheet = Sheet::new();
    let from = tray.from.as_deref();
    sheet.add("cells", Some(tray.cells.to_string()), None);
    sheet.add("rows", Some(tray.rows.to_string()), None);
    sheet.add("cell volume", Some(format!("{} mL", plain(tray.cell.get::<millilitre>(), 2))), from);
    sheet.add("as sold", tray.range.clone(), from);
    sheet.add("litres", Some(plain(to_litres(tray.volume()), 3)), None);
    sheet.add("depth", tray.depth.map(|depth| format!("{} cm", plain(depth.get::<centimetre>(), 2))), from);
    let sides = tray.footprint.map(|(long, short)| {
        format!("{} x {} cm", plain(long.get::<centimetre>(), 1), plain(short.get::<centimetre>(), 1))
    });
    sheet.add("footprint", sides, from);
    sheet.add("pots in a carrying tray", tray.per_tray.map(|each| each.to_string()), from);
    sheet.add("compression", tray.compression.map(|factor| factor.to_string()), from);
    sheet.add("standing", Some(standing(tray)), None);
    sheet.add("remark", tray.note.clone(), None);
    Listing { title: format!("Tray {}", tray.name), table: sheet.0, foot: None, kind: "tray" }
}

fn show_crop(crop: &Crop, remark: Option<&str>) -> Listing {
    let mut sheet = Sheet::new();
    let from = |key| crop.source_of(key);
    let also = (!crop.also.is_empty()).then(|| crop.also.join(", "));
    sheet.add("also called", also, None);
    sheet.add("species", crop.species.clone(), from("species"));
    sheet.add("family", crop.family.clone(), from("family"));
    let served = if crop.mycorrhiza == Status::Host { "an inoculant may serve it" } else { "no inoculant for it" };
    sheet.add("mycorrhiza", Some(format!("{} ({served})", crop.mycorrhiza)), from("mycorrhiza"));
    sheet.add("confidence", crop.confidence.clone(), None);
    sheet.add("germination", crop.germination.map(percent), None);
    sheet.add("legal minimum", crop.legal_minimum.map(percent), from("legal_minimum"));
    sheet.add("weeks to plant out", crop.weeks.map(span), from("weeks"));
    sheet.add("pace", crop.pace.map(|pace| pace.to_string()), from("pace"));
    sheet.add("cells, 10 x 20 in", crop.cells.map(span), from("cells"));
    sheet.add("light", crop.light.map(|light| light.to_string()), from("light"));
    sheet.add("seed", crop.seed.map(|seed| seed.to_string()), from("seed"));
    sheet.add("seeds in a gram", crop.seeds_per_gram.map(|seeds| seeds.to_string()), from("seeds_per_gram"));
    sheet.add("appetite in the field", crop.feeder.map(|feeder| feeder.to_string()), from("feeder"));
    sheet.add("grows on", crop.temperature.map(|class| class.to_string()), from("temperature"));
    sheet.add("germinates at", crop.germinates_at.clone(), from("germinates_at"));
    sheet.add("days to emerge", crop.emerges.map(span), from("emerges"));
    sheet.add("remark", crop.note.clone(), None);
    sheet.add("about the name", remark.map(str::to_owned), None);
    Listing { title: format!("Crop {}", crop.name), table: sheet.0, foot: None, kind: "crop" }
}

fn show_ingredient(ingredient: &Ingredient) -> Listing {
    let mut sheet = Sheet::new();
    let also = (!ingredient.also.is_empty()).then(|| ingredient.also.join(", "));
    sheet.add("also called", also, None);
    let density = ingredient.dry_density.map(|density| format!("{} g/L", plain(density.get::<gram_per_litre>(), 1)));
    sheet.add("dry density", density, ingredient.source_of("dry_density"));
    for (key, text) in &ingredient.properties {
        sheet.add(&key.replace('_', " "), Some(text.clone()), ingredient.source_of(key));
    }
    let stage = ingredient.stage.and_then(|stage| Stage::WORDS.iter().find(|(_, known)| *known == stage));
    sheet.add("goes in", stage.map(|(word, _)| (*word).to_owned()), ingredient.source_of("goes_in"));
    let charge = (ingredient.feeds == Feeds::Starter).then(|| "usually there".to_owned());
    sheet.add("starter charge", charge, ingredient.source_of("starter_charge"));
    if ingredient.serves.is_some() {
        sheet.add("serves", Some("hosts of mycorrhiza".to_owned()), None);
    }
    sheet.add("salts", ingredient.rich.then(|| "rich".to_owned()), ingredient.source_of("salts"));
    sheet.add("remark", ingredient.note.clone(), None);
    for caution in ingredient.cautions.iter().filter_map(|key| cautions().get(key)) {
        sheet.add("take care", Some(caution.text.clone()), caution.from.as_deref());
    }
    Listing { title: format!("Ingredient {}", ingredient.name), table: sheet.0, foot: None, kind: "ingredient" }
}

/// A change in a line: for whom, and what differs.
fn change_words(change: &Change) -> String {
    let names = |ids: &[Handle<Ingredient>]| and(&ids.iter().map(|id| id.name.as_str()).collect::<Vec<_>>());
    let mut words = Vec::new();
    if !change.drop.is_empty() {
        let instead = change.instead.as_ref().map(|id| format!(" for {}", id.name));
        words.push(format!("drop {}{}", names(&change.drop), instead.unwrap_or_default()));
    }
    for (verb, amounts) in [("add", &change.add), ("set", &change.set)] {
        words.extend(amounts.iter().map(|(id, amount)| {
            let name = &id.name;
            match amount {
                Amount::Parts(parts) => format!("{verb} {parts} {name}"),
                Amount::Dose(rate, basis) => format!("{verb} {name} at {}", dose_words(*rate, basis)),
            }
        }));
    }
    let mm = |length: Length| plain(length.get::<millimetre>(), 1);
    words.extend(change.sieve.map(|mesh| format!("sieve all of it, {} mm", mm(mesh))));
    words.extend(change.top.map(|top| format!("sieve the top {} mm, {} mm", mm(top.depth), mm(top.sieve))));
    words.extend(change.yield_.map(|kept| format!("yield {}", percent(kept))));
    format!("for {}: {}", change.whom.in_words(), words.join(", "))
}

fn dose_words(rate: Rate, basis: &Basis) -> String {
    let rate = match rate.spoon() {
        None => format!("{} g/L", plain(rate.per_litre(), 3)),
        Some(_) => format!("{} mL/L", plain(rate.per_litre() * 1000.0, 3)),
    };
    let basis = match basis {
        Basis::Finished => "of finished mix".to_owned(),
        Basis::Loose => "of loose ingredients".to_owned(),
        Basis::Of(base) => format!("of {}", base.name),
    };
    format!("{rate} {basis}")
}

fn show_recipe(recipe: &Recipe) -> Listing {
    let mut sheet = Sheet::new();
    sheet.add("about", recipe.about.clone(), None);
    for part in &recipe.parts {
        let names: Vec<&str> = part.choices.iter().map(|id| id.name.as_str()).collect();
        sheet.add("part", Some(format!("{} {}", part.amount, names.join(" or "))), None);
    }
    for dose in &recipe.doses {
        let rate = dose_words(dose.rate, &dose.basis);
        sheet.add("dose", Some(format!("{}: {rate}", dose.ingredient.name)), None);
    }
    let yield_ = recipe.yield_.unwrap_or_else(crate::recipe::default_yield);
    sheet.add("yield", Some(percent(yield_)), Some("an estimate: measure yours with a bucket test"));
    for change in &recipe.changes {
        sheet.add("change", Some(change_words(change)), None);
    }
    sheet.add("source", Some(recipe.source.clone().unwrap_or_else(|| "our own".to_owned())), None);
    Listing {
        title: format!("Recipe {}", recipe.name),
        table: sheet.0,
        foot: Some("`trayful new recipe` prints a recipe file to start from.".to_owned()),
        kind: "recipe",
    }
}
