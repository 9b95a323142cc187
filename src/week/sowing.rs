//! One crop in one kind of tray.

use super::allowances::Surety;
use super::loader::{Loader, shared};
use super::terms::Terms;
use super::{Place, RecipeId, Week};
use crate::catalogue::{Crop, Handle, Named, SeedSize, Tray};
use crate::diagnostic::{Code, Problem, Problems, SourceText, Span};
use crate::exact::Fraction;
use crate::source::{CsvTable, Fields, Node, PositiveShare, counts, figures};
use crate::units::{Fault, Volume, count_up_to, share};
use std::collections::BTreeSet;
use std::ops::Deref;
use std::sync::Arc;

/// The most cells one sowing may have.
pub const MOST_CELLS: u64 = 10_000_000;

/// One crop in one kind of tray.
#[derive(Clone, Debug)]
pub struct Sowing {
    /// The crop; `None` only in `scale` without `--crop`.
    pub crop: Option<Handle<Crop>>,
    /// Its variety, in few bytes: each row of a table has room for one.
    pub variety: Option<Arc<String>>,
    /// The tray.
    pub tray: Handle<Tray>,
    /// How many.
    pub amount: SowingAmount,
    /// What else is said of it: in a long list many sowings say the same.
    pub terms: Arc<Terms>,
    /// Its recipe.
    pub recipe: RecipeId,
    /// Where it is written.
    pub place: Place,
}

impl Deref for Sowing {
    type Target = Terms;

    fn deref(&self) -> &Terms {
        &self.terms
    }
}

/// How many are wanted, and of what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SowingAmount {
    /// Plants good enough to plant.
    Plants(u32),
    /// Cells.
    Cells(u32),
    /// Whole trays.
    Trays(u32),
    /// Plants to pot on.
    Potted(u32),
}

/// A count of a sowing: up to a hundred seeds for each of [`MOST_CELLS`].
pub(crate) fn small(count: u64) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

counts! {
    /// How many are sown: up to [`MOST_CELLS`].
    HowMany(u32): "a whole number", 10_000_000;
    /// Seeds to a cell.
    Seeds(u64): "a whole number", 100;
}

figures! {
    /// What is to spare.
    Spare(SparePlants): "spare plants such as `5 %` or `6 pots`", text => spare(text);
}

/// The keys of a sowing, in a map or as columns of a table.
pub const SOWING_KEYS: &[&str] = &[
    "crop",
    "variety",
    "tray",
    "plants",
    "cells",
    "trays",
    "potted",
    "from",
    "germination",
    "usable",
    "surety",
    "seeds",
    "pelleted",
    "clump",
    "spare",
    "inoculant",
    "inoculated_plugs",
    "share",
    "fill",
    "recipe",
];

/// A file that is read as a week is: what it says besides.
pub(crate) trait Sown {
    /// The key that stands first in it.
    fn key(&self) -> &'static str;

    /// What it is, as in "a week".
    fn what(&self) -> &'static str;

    /// The keys of its sowings that stand in a table, besides [`SOWING_KEYS`].
    fn more_columns(&self) -> &'static [&'static str];

    /// Reads what it says besides of all its sowings, once its bench is known.
    fn head(&mut self, loader: &Loader<'_>, week: &mut Week, fields: &mut Fields<'_>, problems: &Problems);

    /// Reads what a sowing says besides, be the sowing in order or not.
    fn sowing(
        &mut self,
        loader: &mut Loader<'_>,
        sowing: Option<Sowing>,
        entry: (&Node<'_>, &mut Fields<'_>),
        problems: &Problems,
    ) -> Option<Sowing>;

    /// The keys of a sowing as columns of a table.
    fn columns(&self) -> Vec<&'static str> {
        [SOWING_KEYS, self.more_columns()].concat()
    }
}

impl Loader<'_> {
    /// Reads one sowing, listed or a row of a table.
    pub(super) fn sowing(&mut self, file: &mut dyn Sown, node: &Node<'_>, problems: &Problems) -> Option<Sowing> {
        Fields::read(node, "a sowing", problems, |fields| {
            let crop = fields.require("crop").and_then(|node| self.crop(node, problems));
            let tray = fields.require("tray").and_then(|node| self.tray(node, problems));
            let recipe = self.recipe_of(file.key(), fields, problems);
            let (amount, spare) = amount(fields, problems).unzip();
            let from = fields.get("from").and_then(|node| self.plug(node, amount, tray.as_ref(), problems));
            let pelleted = fields.optional("pelleted").unwrap_or(false);
            let seeds = fields.optional("seeds").map(|Seeds(seeds)| seeds);
            let terms = Terms {
                germination: fields.optional("germination").map(|PositiveShare(share)| share),
                usable: fields.optional("usable").map(|PositiveShare(share)| share),
                surety: fields.optional("surety").map(|Surety(chance)| chance),
                seeds: seeds.unwrap_or_else(|| usual_seeds(crop.as_ref(), pelleted)),
                pelleted,
                clump: fields.optional("clump").unwrap_or(false),
                inoculant: fields.optional("inoculant"),
                inoculated_plugs: inoculated_plugs(amount, fields, problems),
                share: fields.optional("share").unwrap_or(true),
                fill: fields.optional("fill"),
                from,
                spare: spare.flatten(),
                ..Terms::default()
            };
            let variety: Option<String> = fields.optional("variety");
            let variety = variety.map(|variety| shared(&mut self.varieties, Arc::new(variety)));
            let place = Place::new(Arc::clone(problems.source()), fields.place("crop"));
            // What must be there comes last, so that every key is read before a lack ends it.
            let known = crop.zip(tray).zip(amount.zip(recipe));
            let terms = shared(&mut self.terms, Arc::new(terms));
            let sowing = known.map(|((crop, tray), (amount, recipe))| Sowing {
                crop: Some(crop),
                variety,
                tray,
                amount,
                terms,
                recipe,
                place,
            });
            file.sowing(self, sowing, (node, fields), problems)
        })
    }
}

impl Loader<'_> {
    /// Reads what is made later of a sowing's plants: they are potted on from its tray.
    pub(crate) fn potted(
        &mut self,
        of: Option<&Sowing>,
        file: &'static str,
        fields: &mut Fields<'_>,
        problems: &Problems,
    ) -> Option<Sowing> {
        let pot = fields.require("tray").and_then(|node| self.tray(node, problems));
        let recipe = self.recipe_of(file, fields, problems);
        let potted = fields.required("potted").map(|HowMany(count)| count);
        let spare = potted.and_then(|count| spared(fields, count));
        let plug = of.map(|of| of.tray.clone());
        if let Some((plug, pot)) = plug.as_ref().zip(pot.as_ref()) {
            no_smaller(plug, pot, fields.place("tray"), problems);
        }
        if let Some((count, plants)) = potted.zip(of.map(Sowing::most_plants))
            && u64::from(count) > plants
        {
            let what = format!("{count} plants are potted on, and {plants} are sown");
            let expected = "no more than are sown: `spare:` comes on top";
            problems.push(Problem::new(Code::Conflict, fields.place("potted"), what, expected));
        }
        let terms = Terms {
            inoculant: fields.optional("inoculant"),
            inoculated_plugs: fields.optional("inoculated_plugs"),
            share: fields.optional("share").unwrap_or(true),
            fill: fields.optional("fill"),
            from: plug,
            spare,
            ..Terms::default()
        };
        let place = Place::new(Arc::clone(problems.source()), fields.place("tray"));
        let terms = shared(&mut self.terms, Arc::new(terms));
        let amount = SowingAmount::Potted(potted?);
        Some(Sowing { tray: pot?, recipe: recipe?, amount, terms, place, ..of?.clone() })
    }

    /// The recipe of a sowing: its own, or the one of its file.
    fn recipe_of(&mut self, file: &str, fields: &mut Fields<'_>, problems: &Problems) -> Option<RecipeId> {
        if let Some(node) = fields.get("recipe") {
            return self.recipe(node, problems);
        }
        // A recipe that was refused has its fault already.
        if !self.names_recipe {
            let what = format!("neither the {file} nor this sowing names a recipe");
            problems.push(Problem::new(Code::MissingKey, fields.at(), what, format!("`recipe:` in the {file}")));
        }
        self.default_recipe
    }

    /// The tray that plugs come from, which are smaller than their pot.
    fn plug(
        &mut self,
        node: &Node<'_>,
        amount: Option<SowingAmount>,
        pot: Option<&Handle<Tray>>,
        problems: &Problems,
    ) -> Option<Handle<Tray>> {
        let plug = self.tray(node, problems)?;
        if amount.is_some_and(|amount| !matches!(amount, SowingAmount::Potted(_))) {
            let what = "`from` belongs to potting on";
            problems.push(Problem::new(Code::Conflict, node.at, what, "`potted:` beside it"));
        } else if let Some(pot) = pot {
            no_smaller(&plug, pot, node.at, problems);
        }
        Some(plug)
    }
}

/// Whether plugs hold an inoculant: only what is potted on has plugs.
fn inoculated_plugs(amount: Option<SowingAmount>, fields: &mut Fields<'_>, problems: &Problems) -> Option<bool> {
    let key = "inoculated_plugs";
    let at = fields.get(key)?.at;
    if amount.is_some_and(|amount| !matches!(amount, SowingAmount::Potted(_))) {
        let what = format!("`{key}` belongs to potting on");
        problems.push(Problem::new(Code::Conflict, at, what, "`potted:` beside it"));
    }
    fields.optional(key)
}

/// A fault where a plug leaves no room in its pot.
fn no_smaller(plug: &Tray, pot: &Tray, at: Span, problems: &Problems) {
    if plug.cell >= pot.cell {
        let what = format!("a plug of `{}` is as large as what is filled of `{}`", plug.name, pot.name);
        problems.push(Problem::new(Code::Conflict, at, what, "a smaller tray that the plants come from"));
    }
}

impl Sowing {
    /// The most plants that it is to give: those wanted, or one of each seed, of a clump one.
    fn most_plants(&self) -> u64 {
        let each = if self.clump { 1 } else { self.seeds };
        match self.amount {
            SowingAmount::Plants(plants) | SowingAmount::Potted(plants) => plants.into(),
            SowingAmount::Cells(cells) => each * u64::from(cells),
            SowingAmount::Trays(trays) => each * self.tray.cells * u64::from(trays),
        }
    }

    /// The crop as the user calls it, with its variety: `tomato 'early red'`; and that its seed is pelleted.
    pub fn name(&self) -> String {
        self.with_variety(self.crop.as_ref().map_or("any host", |crop| crop.shown()))
    }

    /// The same with the table's name beside the user's own: `calabrese (broccoli)`.
    pub fn full_name(&self) -> String {
        self.crop.as_ref().map_or_else(|| self.name(), |crop| self.with_variety(&crop.in_full()))
    }

    fn with_variety(&self, crop: &str) -> String {
        let variety = self.variety.as_ref().map(|variety| format!(" '{variety}'")).unwrap_or_default();
        format!("{crop}{variety}{}", if self.pelleted { ", pelleted" } else { "" })
    }

    /// Whether it is of plugs that hold an inoculant: those of one's own were inoculated when they were sown, unless it is
    /// stated otherwise.
    pub fn has_inoculated_plugs(&self) -> bool {
        self.inoculated_plugs.unwrap_or(self.from.is_some())
    }

    /// What is filled of one of its cells: without what a plug brings.
    pub fn cell(&self) -> Volume {
        without_plug(&self.tray, self.from.as_ref())
    }
}

/// What is filled of a cell that a plug is set into.
pub fn without_plug(tray: &Tray, plug: Option<&Handle<Tray>>) -> Volume {
    plug.map_or(tray.cell, |plug| tray.cell - plug.cell)
}

/// Seeds to a cell where nothing is said: three of what is as fine as dust, to be thinned to one,
/// unless it is pelleted (common practice).
pub(super) fn usual_seeds(crop: Option<&Handle<Crop>>, pelleted: bool) -> u64 {
    const DUST: u64 = 3;
    if !pelleted && crop.is_some_and(|crop| crop.seed == Some(SeedSize::Dust)) { DUST } else { 1 }
}

/// What is to spare of plants that are potted on where nothing is said.
pub fn usual_spare() -> Option<Fraction> {
    Fraction::new(5, 100)
}

/// Exactly one of plants, cells, trays and potted, and what is stated to spare of the last.
fn amount(fields: &mut Fields<'_>, problems: &Problems) -> Option<(SowingAmount, Option<Fraction>)> {
    let given = fields.one_of(&["plants", "cells", "trays", "potted"]);
    let spare = fields.get("spare");
    let [key] = given[..] else {
        let (code, what, at) = match given.get(1) {
            None => (Code::MissingKey, "this sowing does not say how many".to_owned(), fields.place("crop")),
            Some(second) => {
                (Code::Conflict, format!("`{}` and `{second}` exclude each other", given[0]), fields.place(second))
            }
        };
        return problems.refuse(Problem::new(code, at, what, "one of plants, cells, trays or potted"));
    };
    let HowMany(count) = fields.optional(key)?;
    if let Some(spare) = spare.filter(|_| key != "potted") {
        let what = "`spare` belongs to potting on";
        problems.push(Problem::new(Code::Conflict, spare.at, what, "`potted:` beside it"));
    }
    let amount = match key {
        "plants" => SowingAmount::Plants(count),
        "cells" => SowingAmount::Cells(count),
        "trays" => SowingAmount::Trays(count),
        _ => {
            let spare = spared(fields, count);
            return Some((SowingAmount::Potted(count), spare));
        }
    };
    Some((amount, None))
}

/// What is stated to spare of plants that are potted on, as a share of those wanted.
fn spared(fields: &mut Fields<'_>, wanted: u32) -> Option<Fraction> {
    match fields.optional("spare").map(|Spare(spare)| spare)? {
        SparePlants::Share(share) => Some(share),
        SparePlants::Pots(pots) => Fraction::whole(pots).over(Fraction::whole(wanted.into())),
    }
}

/// Plants that are potted on to spare.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum SparePlants {
    /// As a share of those that are wanted.
    Share(Fraction),
    /// So many.
    Pots(u64),
}

/// `5 %` or `6 pots`: a bare number could be either.
fn spare(text: &str) -> Result<SparePlants, Fault> {
    let pots = ["pots", "pot", "plants", "plant"].iter().find_map(|unit| text.trim().strip_suffix(unit));
    match pots {
        Some(number) => count_up_to(MOST_CELLS, number).map(SparePlants::Pots),
        None => share(text).map(SparePlants::Share),
    }
}

/// The recipes that the rows of a table name.
pub(super) fn recipes_of_table(source: &Arc<SourceText>, file: &dyn Sown) -> BTreeSet<String> {
    // Its faults are found when the rows are read.
    let faults = Problems::new(Arc::clone(source));
    let mut recipes = BTreeSet::new();
    let table = CsvTable::new(&source.text, &file.columns(), &faults).filter(|table| table.has("recipe"));
    let Some(mut table) = table else { return recipes };
    while let Some(row) = table.next_row(&faults) {
        let named = row.get("recipe").and_then(Node::text).filter(|name| !recipes.contains(*name));
        recipes.extend(named.map(str::to_owned));
    }
    recipes
}
