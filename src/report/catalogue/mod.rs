//! The catalogue: lists of what is known, and one entry with the source of each value.

mod figure;
mod show;

pub use show::show;

use super::document::{Document, Table};
use super::{Report, Style};
use crate::catalogue::{Catalogue, Tray, salts};
use crate::recipe::{BUILT_IN, Recipe, built_in};
use crate::units::mass_density::gram_per_litre;
use crate::units::volume::millilitre;
use crate::units::{UnitSystem, to_litres};
use figure::{Figure, GRAM_PER_LITRE, LITRE, MILLILITRE, PERCENT, Unit};
use serde_json::{Map, Value, json};

/// A table of entries, or of what is known of one entry.
pub struct Listing {
    title: String,
    kind: &'static str,
    columns: &'static [Column],
    rows: Vec<Row>,
    foot: &'static str,
}

/// A column: its key for scripts, and its header in metric and in US units.
struct Column(&'static str, &'static str, &'static str);

/// A row for people, and the same for scripts.
struct Row {
    cells: Vec<Figure>,
    entry: Value,
}

impl Listing {
    /// A list of entries: each cell has the key of its column.
    fn of_entries(
        kind: &'static str,
        title: &str,
        columns: &'static [Column],
        entries: impl Iterator<Item = Vec<Figure>>,
        foot: &'static str,
    ) -> Self {
        let row = |cells: Vec<Figure>| {
            let named = columns.iter().zip(&cells).map(|(Column(key, ..), cell)| ((*key).to_owned(), cell.json()));
            Row { entry: Value::Object(named.collect::<Map<_, _>>()), cells }
        };
        Self { title: title.to_owned(), kind, columns, rows: entries.map(row).collect(), foot }
    }

    fn table(&self, units: UnitSystem) -> Table {
        let header = |Column(_, metric, us): &Column| if units == UnitSystem::Us { *us } else { *metric };
        let mut table = Table::new(&self.columns.iter().map(header).collect::<Vec<_>>());
        for row in &self.rows {
            table.row(row.cells.iter().map(|cell| cell.shown(units).to_owned()));
        }
        table
    }

    fn value(&self) -> Value {
        let entries: Vec<&Value> = self.rows.iter().map(|row| &row.entry).collect();
        json!({"format": "trayful-list/1", "kind": self.kind, "title": self.title, "entries": entries})
    }
}

impl Report for Listing {
    fn document(&self, style: Style) -> Document {
        let mut document = Document::new(&self.title);
        document.table(self.table(style.units));
        document.paragraph(self.foot);
        document
    }

    fn json(&self) -> String {
        super::json::render(&self.value())
    }

    fn records(&self) -> Vec<Vec<String>> {
        let table = self.table(UnitSystem::Metric);
        let header = table.columns.iter().map(|column| column.name.to_owned()).collect();
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

/// A column whose header is its key.
const fn plain_column(name: &'static str) -> Column {
    Column(name, name, name)
}

fn recipes(catalogue: &Catalogue) -> Listing {
    const COLUMNS: &[Column] =
        &[plain_column("recipe"), plain_column("parts"), plain_column("about"), plain_column("source")];
    let known = BUILT_IN.iter().filter_map(|(name, _)| built_in(name, catalogue)?.ok());
    let rows = known.map(|recipe| {
        let source = if recipe.source.is_some() { "published" } else { "our own" };
        vec![
            Figure::words(&recipe.name),
            Figure::names(&parts(&recipe)),
            Figure::word(recipe.about.as_ref()),
            Figure::words(source),
        ]
    });
    let foot = "`trayful show NAME` tells doses, changes and the source.";
    Listing::of_entries("recipes", "Recipes", COLUMNS, rows, foot)
}

fn trays(catalogue: &Catalogue) -> Listing {
    const COLUMNS: &[Column] = &[
        Column("tray", "tray or pot", "tray or pot"),
        Column("cells", ">cells", ">cells"),
        Column("rows", ">rows", ">rows"),
        Column("cell", ">cell mL", ">cell fl oz"),
        Column("volume", ">litres", ">US qt"),
        Column("as_sold", "as sold", "as sold"),
        plain_column("standing"),
    ];
    let rows = catalogue.trays.iter().map(|tray| {
        vec![
            Figure::words(&tray.name),
            Figure::count(tray.cells, "cells"),
            Figure::count(tray.rows, "rows"),
            Figure::measured(tray.cell.get::<millilitre>(), 1, MILLILITRE),
            Figure::measured(to_litres(tray.volume()), 2, LITRE),
            tray.range.as_deref().map(|range| Figure::read(range, MILLILITRE)).unwrap_or_default(),
            Figure::words(standing(tray)),
        ]
    });
    let foot = "Makers differ by 20 to 45 %. Fill ten cells of your own tray with water, weigh it, and write \
                `cell: {ten_weigh: ... g}` under `trays:` of your week: your figure wins.";
    Listing::of_entries("trays", "Trays and pots", COLUMNS, rows, foot)
}

fn standing(tray: &Tray) -> String {
    if tray.low_confidence { format!("{}, low confidence", tray.standing) } else { tray.standing.clone() }
}

fn crops(catalogue: &Catalogue) -> Listing {
    const COLUMNS: &[Column] = &[
        plain_column("crop"),
        plain_column("family"),
        plain_column("mycorrhiza"),
        plain_column("weeks"),
        plain_column("pace"),
        plain_column("light"),
        plain_column("seed"),
        Column("temperature", "grows", "grows"),
    ];
    let rows = catalogue.crops.iter().map(|crop| {
        vec![
            Figure::words(&crop.name),
            Figure::word(crop.family.as_ref()),
            Figure::word(Some(crop.mycorrhiza)),
            crop.weeks.map(|weeks| Figure::counts(weeks, "weeks")).unwrap_or_default(),
            Figure::word(crop.pace),
            Figure::word(crop.light),
            Figure::word(crop.seed),
            Figure::word(crop.temperature),
        ]
    });
    let foot = "Only hosts are given an inoculant. `trayful show CROP` tells every value with its source; many are \
                common practice or from memory. Your own entry under `crops:` of a week wins.";
    Listing::of_entries("crops", "Crops", COLUMNS, rows, foot)
}

fn ingredients(catalogue: &Catalogue) -> Listing {
    const COLUMNS: &[Column] = &[
        plain_column("ingredient"),
        plain_column("kind"),
        Column("dry_density", ">dry g/L", ">dry lb/cu ft"),
        Column("ph", "pH", "pH"),
        Column("note", "remark", "remark"),
    ];
    let rows = catalogue.ingredients.iter().map(|ingredient| {
        let property = |key| {
            let mut known = ingredient.properties.iter().filter(|(name, _)| *name == key);
            known.next().map(|(_, text)| Figure::read(text, PH)).unwrap_or_default()
        };
        let density = ingredient.dry_density.map(|density| density.get::<gram_per_litre>());
        vec![
            Figure::words(&ingredient.name),
            property("kind"),
            density.map(|density| Figure::measured(density, 0, GRAM_PER_LITRE)).unwrap_or_default(),
            property("ph"),
            Figure::word(ingredient.note.as_ref()),
        ]
    });
    let foot = "Densities are of the loose, dry material. `trayful show INGREDIENT` tells the sources.";
    Listing::of_entries("ingredients", "Ingredients", COLUMNS, rows, foot)
}

const PH: Unit = Unit::shared("pH");
const GRAM_PER_MOLE: Unit = Unit::shared("g/mol");

fn salt_list() -> Listing {
    const COLUMNS: &[Column] = &[
        plain_column("salt"),
        plain_column("formula"),
        Column("molar_mass", ">g/mol", ">g/mol"),
        Column("calcium", ">Ca %", ">Ca %"),
        Column("also", "also called", "also called"),
    ];
    let rows = salts().iter().map(|entry| {
        let salt = &entry.salt;
        let calcium = Some(salt.formula_ca_percent()).filter(|calcium| *calcium > 0.0);
        vec![
            Figure::words(salt.name()),
            Figure::words(salt.formula()),
            Figure::measured(salt.molar_mass_g(), 3, GRAM_PER_MOLE),
            calcium.map(|calcium| Figure::measured(calcium, 2, PERCENT)).unwrap_or_default(),
            Figure::names(salt.also()),
        ]
    });
    let foot = "Molar mass and calcium follow from the formula; the figure on the label (`label_ca: 19 %`) wins.";
    Listing::of_entries("salts", "Salts", COLUMNS, rows, foot)
}

/// Each part in words: `3 peat or limed peat or coir`.
fn parts(recipe: &Recipe) -> Vec<String> {
    recipe
        .parts
        .iter()
        .map(|part| {
            format!(
                "{} {}",
                part.amount,
                part.choices.iter().map(|id| id.name.as_str()).collect::<Vec<_>>().join(" or ")
            )
        })
        .collect()
}
