//! The catalogue: lists of what is known, and one entry with the source of each value.

mod figure;
mod show;

pub use show::show;

use super::document::{Document, Table};
use super::{Report, Style};
use crate::catalogue::{Catalogue, Tray};
use crate::coir::soak::{SaltEntry, salts};
use crate::recipe::{BUILT_IN, Part, Recipe, built_in};
use crate::units::customary::{LITRE, MILLILITRE};
use crate::units::volume::millilitre;
use crate::units::{UnitSystem, to_litres};
use figure::{Figure, GRAM_PER_MOLE, PERCENT, PH};
use serde_json::{Map, Value, json};

/// A table of entries, or of what is known of one entry.
pub struct Listing {
    title: String,
    kind: &'static str,
    headers: Vec<&'static str>,
    rows: Vec<Row>,
    foot: &'static str,
}

/// A row for people, and the same for scripts.
struct Row {
    cells: Vec<Figure>,
    entry: Value,
}

/// A value of an entry: the key that scripts know it by, its header, and what it is.
type Cell = (&'static str, &'static str, Figure);

/// Words that name a metric unit, and what stands there where US units are shown.
const IN_US: [(&str, &str); 5] = [
    (">cell mL", ">cell cu in"),
    (">litres", ">US qt"),
    ("litres", "US qt"),
    (">dry g/L", ">dry lb/cu ft"),
    ("seeds in a gram", "seeds in an ounce"),
];

fn in_us(header: &str) -> &str {
    IN_US.iter().find(|(metric, _)| *metric == header).map_or(header, |(_, us)| us)
}

/// A header as scripts name a column: `dry_g_per_l`.
fn column_name(header: &str) -> String {
    header.to_lowercase().replace('/', " per ").replace('%', "percent").replace(' ', "_")
}

impl Listing {
    /// What it is of.
    pub const fn kind(&self) -> &'static str {
        self.kind
    }

    /// A list of entries, with the same values of each.
    fn of_entries(
        kind: &'static str,
        title: &str,
        entries: impl Iterator<Item = Vec<Cell>>,
        foot: &'static str,
    ) -> Self {
        let mut listing = Self { title: title.to_owned(), kind, headers: Vec::new(), rows: Vec::new(), foot };
        for cells in entries {
            listing.headers = cells.iter().map(|(_, header, _)| *header).collect();
            let entry =
                cells.iter().map(|(key, _, cell)| ((*key).to_owned(), cell.json())).collect::<Map<_, _>>().into();
            listing.rows.push(Row { cells: cells.into_iter().map(|(.., cell)| cell).collect(), entry });
        }
        listing
    }

    fn table(&self, units: UnitSystem) -> Table {
        let header = |header: &&'static str| if units == UnitSystem::Us { in_us(header) } else { *header };
        let mut table = Table::new(&self.headers.iter().map(header).collect::<Vec<_>>());
        for row in &self.rows {
            table.row(row.cells.iter().map(|cell| cell.shown(units).to_owned()));
        }
        table
    }
}

impl Report for Listing {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(style.units.prose(&self.title));
        document.table(self.table(style.units));
        document.paragraph(style.units.either(self.foot.to_owned(), self.foot.replace("... g}", "... oz}")));
        document
    }

    fn value(&self) -> Value {
        let entries: Vec<&Value> = self.rows.iter().map(|row| &row.entry).collect();
        json!({"format": "trayful-list/1", "kind": self.kind, "title": self.title, "entries": entries})
    }

    fn records(&self) -> Vec<Vec<String>> {
        let table = self.table(UnitSystem::Metric);
        let header = table.columns.iter().map(|column| column_name(column.name)).collect();
        std::iter::once(header).chain(table.rows).collect()
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

    fn value(&self) -> Value {
        self.0.iter().map(Listing::value).collect()
    }

    fn records(&self) -> Vec<Vec<String>> {
        self.0.iter().flat_map(Report::records).collect()
    }
}

/// The kinds that can be listed.
pub const KINDS: [&str; 5] = ["recipes", "trays", "crops", "ingredients", "salts"];

/// The list of a kind: one of [`KINDS`].
pub fn listing(kind: &str, catalogue: &Catalogue) -> Option<Listing> {
    let at = KINDS.iter().position(|known| *known == kind)?;
    Some([recipes, trays, crops, ingredients, salt_list][at](catalogue))
}

fn recipes(catalogue: &Catalogue) -> Listing {
    let known = BUILT_IN.iter().filter_map(|(name, _)| built_in(name, catalogue)?.ok());
    let entries = known.map(|recipe| {
        let source = if recipe.source.is_some() { "published" } else { "our own" };
        vec![
            ("recipe", "recipe", Figure::words(&recipe.name)),
            ("parts", "parts", Figure::names(&parts(&recipe))),
            ("about", "about", Figure::word(recipe.about)),
            ("source", "source", Figure::words(source)),
        ]
    });
    Listing::of_entries("recipes", "Recipes", entries, "`trayful show NAME` tells doses, changes and the source.")
}

fn trays(catalogue: &Catalogue) -> Listing {
    let entries = catalogue.trays.iter().map(|tray| {
        vec![
            ("tray", "tray or pot", Figure::words(&tray.name)),
            ("cells", ">cells", Figure::count(tray.cells, "cells")),
            ("rows", ">rows", Figure::count(tray.rows, "rows")),
            ("cell", ">cell mL", Figure::measured(tray.cell.get::<millilitre>(), 1, MILLILITRE)),
            ("volume", ">litres", Figure::measured(to_litres(tray.volume()), 2, LITRE)),
            ("as_sold", "as sold", Figure::volumes(tray.range)),
            ("standing", "standing", Figure::words(standing(tray))),
        ]
    });
    let foot = "Makers differ by 20 to 45 %. Fill ten cells of your own tray with water, weigh it, and write \
                `cell: {ten_weigh: ... g}` under `trays:` of your week: your figure wins.";
    Listing::of_entries("trays", "Trays and pots", entries, foot)
}

fn standing(tray: &Tray) -> String {
    if tray.low_confidence { format!("{}, low confidence", tray.standing) } else { tray.standing.clone() }
}

fn crops(catalogue: &Catalogue) -> Listing {
    let entries = catalogue.crops.iter().map(|crop| {
        vec![
            ("crop", "crop", Figure::words(&crop.name)),
            ("family", "family", Figure::word(crop.family.as_ref())),
            ("mycorrhiza", "mycorrhiza", Figure::word(Some(crop.mycorrhiza))),
            ("weeks", "weeks", Figure::counts(crop.weeks, "weeks")),
            ("pace", "pace", Figure::word(crop.pace)),
            ("light", "light", Figure::word(crop.light)),
            ("seed", "seed", Figure::word(crop.seed)),
            ("temperature", "grows", Figure::word(crop.temperature)),
        ]
    });
    let foot = "Only hosts are given an inoculant. `trayful show CROP` tells every value with its source; many are \
                common practice or from memory. Your own entry under `crops:` of a week wins.";
    Listing::of_entries("crops", "Crops", entries, foot)
}

fn ingredients(catalogue: &Catalogue) -> Listing {
    let entries = catalogue.ingredients.iter().map(|ingredient| {
        let property = |key| {
            let known = ingredient.properties.iter().find(|(name, _)| *name == key);
            Figure::read(known.map(|(_, text)| text.as_str()), PH)
        };
        vec![
            ("ingredient", "ingredient", Figure::words(&ingredient.name)),
            ("kind", "kind", property("kind")),
            ("dry_density", ">dry g/L", Figure::density(ingredient.dry_density, 0)),
            ("ph", "pH", property("ph")),
            ("note", "remark", Figure::word(ingredient.note.as_ref())),
        ]
    });
    let foot = "Densities are of the loose, dry material. `trayful show INGREDIENT` tells the sources.";
    Listing::of_entries("ingredients", "Ingredients", entries, foot)
}

fn salt_list(_: &Catalogue) -> Listing {
    let entries = salts().map(|SaltEntry { salt, also, .. }| {
        let calcium = salt.has_calcium().then(|| Figure::measured(salt.formula_ca_percent(), 2, PERCENT));
        vec![
            ("salt", "salt", Figure::words(&salt.name)),
            ("formula", "formula", Figure::words(&salt.formula)),
            ("molar_mass", ">g/mol", Figure::measured(salt.molar_mass_g(), 3, GRAM_PER_MOLE)),
            ("calcium", ">Ca %", calcium.unwrap_or_default()),
            ("also", "also called", Figure::names(also)),
        ]
    });
    let foot = "Molar mass and calcium follow from the formula; the figure on the label (`label_ca: 19 %`) wins.";
    Listing::of_entries("salts", "Salts", entries, foot)
}

/// Each part in words: `3 peat or limed peat or coir`.
fn parts(recipe: &Recipe) -> Vec<String> {
    let choices = |part: &Part| part.choices.iter().map(|id| id.name.as_str()).collect::<Vec<_>>().join(" or ");
    recipe.parts.iter().map(|part| format!("{} {}", part.amount, choices(part))).collect()
}
