//! Trays, pots and soil blocks: how many cells, how large, in how many rows.

use super::Origin;
use super::entries::Named;
use crate::diagnostic::{Code, Problem, Problems};
use crate::exact::Fraction;
use crate::source::{Fields, Node, Value, list, text_of};
use crate::units::mass::gram;
use crate::units::volume::millilitre;
use crate::units::{Length, Volume, count, footprint, in_litres, length, mass, number, to_litres, volume};

/// A kind of tray: so many cells of one volume.
#[derive(Clone, Debug)]
pub struct Tray {
    /// Its name: `72-cell`.
    pub name: String,
    /// Other names.
    pub also: Vec<String>,
    /// Cells in one tray; a pot is a tray of one.
    pub cells: u64,
    /// Rows across the short side; one where none are stated.
    pub rows: u64,
    /// Whether the rows were stated.
    pub rows_stated: bool,
    /// Volume of one cell, level full. Of a soil block, its finished volume.
    pub cell: Volume,
    /// Width of a cell at its rim, where known.
    pub top: Option<Length>,
    /// Depth of a cell, where known.
    pub depth: Option<Length>,
    /// The cell's shape, where known.
    pub shape: Option<Frustum>,
    /// Long and short side.
    pub footprint: Option<(Length, Length)>,
    /// Pots are counted apart and stand in carrying trays.
    pub pot: bool,
    /// Pots that stand in one carrying tray.
    pub per_tray: Option<u64>,
    /// Loose mix pressed into one volume of block, for soil blocks.
    pub compression: Option<Fraction>,
    /// What the trade sells under this name, where it differs much.
    pub range: Option<String>,
    /// Read, derived, common practice, memory or own.
    pub standing: String,
    /// The figure is a guess to be replaced by a weighing.
    pub low_confidence: bool,
    /// Key of the source.
    pub from: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// Whose cell it is: built in, or the user's own.
    pub origin: Origin,
}

impl Named for Tray {
    fn name(&self) -> &str {
        &self.name
    }
    fn also(&self) -> &[String] {
        &self.also
    }
}

/// Whether a frustum is square or round across.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrustumKind {
    /// Square across: the measures are sides.
    Square,
    /// Round across: the measures are diameters.
    Round,
}

/// A cell that narrows evenly: square or round across, measures inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frustum {
    /// Square or round.
    pub kind: FrustumKind,
    /// Side or diameter at the top.
    pub top: Length,
    /// Side or diameter at the bottom.
    pub bottom: Length,
    /// Height.
    pub depth: Length,
}

impl Frustum {
    /// Volume: `h/3 (A1 + A2 + sqrt(A1 A2))`, which for sides `t` and `b` is
    /// `h/3 (t² + t b + b²)`, times π/4 for a round one (solid geometry; the cone
    /// is `π h/3 (R² + R r + r²)`).
    ///
    /// ```
    /// use trayful::catalogue::{Frustum, FrustumKind};
    /// use trayful::units::{length, to_litres};
    /// let cell = Frustum {
    ///     kind: FrustumKind::Square,
    ///     top: length("40 mm").unwrap(), bottom: length("40 mm").unwrap(), depth: length("50 mm").unwrap(),
    /// };
    /// assert!((to_litres(cell.volume()) - 0.080).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn volume(&self) -> Volume {
        self.top_slice(self.depth)
    }

    /// Volume of the uppermost `height` of the cell.
    #[must_use]
    pub fn top_slice(&self, height: Length) -> Volume {
        if height >= self.depth {
            return Self::solid(self.kind, self.top, self.bottom, self.depth);
        }
        // The side where the slice ends, by proportion.
        let share: f64 = crate::units::length_ratio(height, self.depth);
        let end = self.top + (self.bottom - self.top) * share;
        Self::solid(self.kind, self.top, end, height)
    }

    fn solid(kind: FrustumKind, top: Length, bottom: Length, height: Length) -> Volume {
        let square: Volume = height * (top * top + top * bottom + bottom * bottom) / 3.0;
        match kind {
            FrustumKind::Square => square,
            FrustumKind::Round => square * std::f64::consts::FRAC_PI_4,
        }
    }
}

impl Tray {
    /// Reads an entry of `trays:`; what it does not state stays as in the entry of that
    /// name before it, the base. With a cell of its own, what was known of the old one's
    /// volume and shape falls away.
    pub(super) fn read(
        name: &str,
        node: &Node<'_>,
        origin: Origin,
        base: Option<&Self>,
        problems: &Problems,
    ) -> Option<Self> {
        let mut fields = Fields::new(node, "a tray", problems)?;
        let before = problems.len();
        let at = fields.at();
        let cells = fields.quantity("cells", "cells in one tray", count);
        let rows = fields.quantity("rows", "rows of the tray", count);
        let pot = fields.yes_no("pot").or(base.map(|base| base.pot)).unwrap_or(false);
        let shape = fields.get("shape").and_then(|node| read_shape(node, problems));
        let depth = fields.quantity("depth", "depth of a cell", length).or(shape.map(|shape| shape.depth));
        let top = fields.quantity("top", "width of a cell", length).or(shape.map(|shape| shape.top));
        let stated = fields.get("cell").and_then(|node| read_cell(node, problems));
        let own_cell = stated.is_some() || shape.is_some();
        // Other rows with other cells; another shape with another volume.
        let rows_base = base.filter(|_| cells.is_none());
        let cell_base = base.filter(|_| !own_cell);
        let tray = Self {
            name: name.to_owned(),
            also: fields.get("also").map(|node| words(node, problems)).unwrap_or_default(),
            cells: cells.or(base.map(|base| base.cells)).or(pot.then_some(1)).unwrap_or(0),
            rows: rows.or(rows_base.map(|base| base.rows)).unwrap_or(1),
            rows_stated: rows.is_some() || pot || rows_base.is_some_and(|base| base.rows_stated),
            cell: stated
                .or(shape.map(|shape| shape.volume()))
                .or(cell_base.map(|base| base.cell))
                .unwrap_or(in_litres(0.0)),
            top: top.or(base.and_then(|base| base.top)),
            depth: depth.or(base.and_then(|base| base.depth)),
            shape: shape.or(cell_base.and_then(|base| base.shape)),
            footprint: fields
                .quantity("footprint", "two sides such as `54 x 28 cm`", footprint)
                .or(base.and_then(|base| base.footprint)),
            pot,
            per_tray: fields
                .quantity("per_tray", "pots in one carrying tray", count)
                .or(base.and_then(|base| base.per_tray)),
            compression: fields
                .quantity("compression", "loose volumes pressed into one", number)
                .or(base.and_then(|base| base.compression)),
            range: fields.text("range").map(str::to_owned).or_else(|| cell_base.and_then(|base| base.range.clone())),
            standing: fields
                .text("standing")
                .or(cell_base.map(|base| base.standing.as_str()))
                .unwrap_or("own figure")
                .to_owned(),
            low_confidence: fields
                .choice("confidence", &[("low", true), ("medium", false), ("high", false)])
                .or(cell_base.map(|base| base.low_confidence))
                .unwrap_or(false),
            from: fields.text("from").map(str::to_owned).or_else(|| cell_base.and_then(|base| base.from.clone())),
            note: fields.text("note").map(str::to_owned).or_else(|| cell_base.and_then(|base| base.note.clone())),
            origin: cell_base.map_or(origin, |base| base.origin),
        };
        fields.finish();
        if problems.len() > before {
            return None;
        }
        tray.check(at, problems)
    }

    fn check(self, at: crate::diagnostic::Span, problems: &Problems) -> Option<Self> {
        const MOST_CELLS: u64 = 100_000;
        const LARGEST_CELL_L: f64 = 1000.0;
        const MOST_PRESSED: u64 = 10;
        let what = if self.cells == 0 || self.cells > MOST_CELLS {
            Some((format!("`{}` needs `cells:`, from 1 to {MOST_CELLS}", self.name), "`cells:` in one tray"))
        } else if self.rows == 0 || !self.cells.is_multiple_of(self.rows) {
            Some((format!("{} cells do not make {} full rows", self.cells, self.rows), "rows that divide the cells"))
        } else if to_litres(self.cell) <= 0.0 {
            Some((format!("`{}` needs `cell:` or `shape:`", self.name), "`cell:` with a volume"))
        } else if to_litres(self.cell) > LARGEST_CELL_L {
            Some((
                format!("a cell of `{}` would hold more than {LARGEST_CELL_L} L", self.name),
                "a cell of a tray or pot",
            ))
        } else if self.compression.is_some_and(|factor| factor < Fraction::ONE) {
            Some((format!("`{}` would need less mix than its blocks hold", self.name), "a compression of 1 or more"))
        } else if self.compression.is_some_and(|factor| factor > Fraction::whole(MOST_PRESSED)) {
            Some((format!("no press squeezes the mix of `{}` that much", self.name), "a compression such as 1.5"))
        } else if self.per_tray == Some(0) {
            Some((format!("no pot of `{}` would stand in a carrying tray", self.name), "at least 1"))
        } else {
            None
        };
        match what {
            None => Some(self),
            Some((what, expected)) => {
                problems.push(Problem::new(Code::Tray, at, what, expected));
                None
            }
        }
    }

    /// Cells in one row.
    #[must_use]
    pub fn row_cells(&self) -> u64 {
        self.cells / self.rows
    }

    /// Volume of all its cells.
    #[must_use]
    pub fn volume(&self) -> Volume {
        self.cell * self.cells as f64
    }

    /// Volume of so many of its cells.
    #[must_use]
    pub fn volume_of(&self, cells: u64) -> Volume {
        self.cell * cells as f64
    }

    /// Volume of the uppermost `height` of one cell; `None` where its depth is unknown.
    ///
    /// Of a cell of unknown shape, the same share of its volume as of its depth.
    #[must_use]
    pub fn top_slice(&self, height: Length) -> Option<Volume> {
        match (&self.shape, self.depth) {
            (Some(shape), _) => Some(shape.top_slice(height)),
            (None, Some(depth)) => Some(self.cell * crate::units::length_ratio(height, depth).min(1.0)),
            (None, None) => None,
        }
    }
}

/// `cell:` is a volume, or ten cells of water weighed: one gram is one millilitre.
fn read_cell(node: &Node<'_>, problems: &Problems) -> Option<Volume> {
    const EXPECTED: &str = "the volume of one cell, such as `55 mL`";
    if matches!(node.value, Value::Map(_)) {
        let mut fields = Fields::new(node, "a weighed cell", problems)?;
        let water = fields.quantity("ten_weigh", "the water of ten cells, such as `540 g`", mass);
        if water.is_none() {
            fields.require("ten_weigh");
        }
        fields.finish();
        return water.map(|water| Volume::new::<millilitre>(water.get::<gram>() / 10.0));
    }
    let text = text_of(node, EXPECTED, problems)?;
    problems.measured(node.at, volume(text), EXPECTED)
}

fn read_shape(node: &Node<'_>, problems: &Problems) -> Option<Frustum> {
    let mut fields = Fields::new(node, "a shape", problems)?;
    let found = [("square", FrustumKind::Square), ("round", FrustumKind::Round)]
        .into_iter()
        .filter_map(|(key, kind)| fields.get(key).map(|node| (kind, node)))
        .collect::<Vec<_>>();
    fields.finish();
    let [(kind, measures)] = found[..] else {
        problems.push(Problem::new(Code::Tray, node.at, "a shape is either square or round", "`square:` or `round:`"));
        return None;
    };
    let mut fields = Fields::new(measures, "the measures of a cell", problems)?;
    let mut measure = |key| {
        fields.require(key)?;
        fields.quantity(key, "a length such as `50 mm`", length)
    };
    let (top, bottom, depth) = (measure("top"), measure("bottom"), measure("depth"));
    fields.finish();
    Some(Frustum { kind, top: top?, bottom: bottom?, depth: depth? })
}

/// A list of names.
pub(super) fn words(node: &Node<'_>, problems: &Problems) -> Vec<String> {
    list(node).iter().filter_map(|entry| text_of(entry, "a name", problems)).map(str::to_owned).collect()
}
