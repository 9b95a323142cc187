//! Trays, pots and soil blocks: how many cells, how large, in how many rows.

use super::shipped::{Shipped, Table, as_cut};
use super::source::Reading;
use super::{Handle, Origin};
use crate::diagnostic::{Code, Problem, Problems, Span};
use crate::exact::Fraction;
use crate::source::{Fields, FromNode, Node, Stated, Value, counts, figures};
use crate::units::length::{decimetre, millimetre};
use crate::units::mass::gram;
use crate::units::volume::millilitre;
use crate::units::{Fault, Length, Mass, Volume, depth, in_litres, length_ratio, number, one_of, plain, to_litres};
use std::ops::RangeInclusive;
use std::sync::LazyLock;

const TRAYS: &str = include_str!("../../recipes/catalogue/trays.yaml");

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
    /// Volume of one cell as it is filled: level full, a pot to below its rim. Of a soil block,
    /// its finished volume.
    pub cell: Volume,
    /// How far below its edge it is filled, where that is stated.
    pub(crate) rim: Option<Length>,
    /// The whole shape, up to the edge, of which only what lies below the rim is filled.
    pub(crate) brim: Option<Frustum>,
    /// Width of a cell at its rim, where known.
    pub top: Option<Length>,
    /// Depth of a cell, where known.
    pub depth: Option<Length>,
    /// The shape of what is filled of a cell, where known.
    pub shape: Option<Frustum>,
    /// Long and short side.
    pub footprint: Option<(Length, Length)>,
    /// Pots are counted apart and stand in carrying trays.
    pub pot: bool,
    /// Pots that stand in one carrying tray.
    pub per_tray: Option<u64>,
    /// The same once they are set apart, two weeks after potting on.
    pub spaced: Option<u64>,
    /// Loose mix pressed into one volume of block, for soil blocks.
    pub compression: Option<Fraction>,
    /// What the trade sells under this name, from the least to the most, where it differs much.
    pub range: Option<(Volume, Volume)>,
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
    /// What an own entry states, for a later one of its name; the tables have it in their text.
    pub(crate) stated: Option<Stated>,
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
    pub fn volume(&self) -> Volume {
        let square: Volume =
            self.depth * (self.top * self.top + self.top * self.bottom + self.bottom * self.bottom) / 3.0;
        match self.kind {
            FrustumKind::Square => square,
            FrustumKind::Round => square * std::f64::consts::FRAC_PI_4,
        }
    }

    /// Volume of the uppermost `height` of the cell.
    pub fn top_slice(&self, height: Length) -> Volume {
        if height >= self.depth {
            return self.volume();
        }
        Self { bottom: self.side_at(height), depth: height, ..*self }.volume()
    }

    /// The side or diameter at a depth, by proportion.
    fn side_at(&self, depth: Length) -> Length {
        self.top + (self.bottom - self.top) * length_ratio(depth, self.depth)
    }

    /// What lies below a rim: nothing where the rim is deeper than the shape.
    fn below(&self, rim: Length) -> Self {
        let rim = if rim < self.depth { rim } else { self.depth };
        Self { top: self.side_at(rim), depth: self.depth - rim, ..*self }
    }
}

impl Shipped for Tray {
    const IN_PLACE: bool = true;

    fn table() -> &'static LazyLock<Table<Handle<Self>>> {
        static TABLE: LazyLock<Table<Handle<Tray>>> = LazyLock::new(|| {
            Table::new("trays", TRAYS, as_cut!("trays"), |(place, name), node, problems| {
                Tray::read(name, node, None, &Reading::shipped(None, problems)).map(|entry| Handle::new(place, entry))
            })
        });
        &TABLE
    }
}

impl Handle<Tray> {
    /// The tray as it is filled to so far below its edge, if it is a pot of a known shape that
    /// says nothing of its own rim.
    #[must_use]
    pub fn filled_below(&self, rim: Length) -> Self {
        let Some(brim) = self.brim.filter(|_| self.pot && self.rim.is_none()) else { return self.clone() };
        let shape = brim.below(rim);
        let measures = (Some(shape.top), Some(shape.depth));
        self.retold(
            "",
            Tray { shape: Some(shape), cell: shape.volume(), top: measures.0, depth: measures.1, ..Tray::clone(self) },
        )
    }
}

impl Tray {
    /// The places on a rack that so many take, pots by the trays that carry them; `None` where that is not known.
    pub fn places(&self, count: u64) -> Option<u64> {
        if self.pot { self.per_tray.map(|each| count.div_ceil(each)) } else { Some(count) }
    }

    /// Reads an entry of `trays:`, laid over the entry of that name before it, the base.
    /// With a cell of its own, what was known of the old one's volume and shape falls away.
    pub(super) fn read(name: &str, node: &Node<'_>, base: Option<&Self>, reading: &Reading<'_>) -> Option<Self> {
        let Reading { origin, problems, .. } = *reading;
        let stated = |base: &Self| base.stated.clone().unwrap_or_else(|| Self::table().stated(&base.name));
        let under = base.map(stated).unwrap_or_default();
        let mut fields = Fields::new(node, "a tray", problems)?;
        let at = fields.at();
        let own_cell = fields.states("cell") || fields.states("shape");
        let own_figure = own_cell || fields.states("compression");
        let own_measures = base.is_none() || ["shape", "top", "depth"].into_iter().any(|key| fields.states(key));
        let mut except = vec!["also"];
        if fields.states("cells") {
            except.push("rows");
        }
        if own_cell {
            except.extend(OF_A_CELL);
        }
        fields.lay_over(&under, &except);
        let pot = fields.optional("pot").unwrap_or(false);
        let rows = fields.optional("rows").map(|Cells(rows)| rows);
        let measured = fields.optional("cell").map(|Cell(volume)| volume);
        let (rim, shape): (Option<Length>, Option<Frustum>) =
            (fields.optional("rim").map(|Rim(rim)| rim), fields.optional("shape"));
        // A volume that is stated is what is filled.
        let brim = shape.filter(|_| measured.is_none());
        let below = rim.or_else(|| pot.then(|| Length::new::<millimetre>(POT_RIM_MM)));
        let shape = brim.zip(below).map(|(brim, rim)| brim.below(rim)).or(shape);
        let cell = measured.or(shape.map(|shape| shape.volume()));
        let top = fields.optional("top").or(shape.map(|shape| shape.top));
        let depth = fields.optional("depth").or(shape.map(|shape| shape.depth));
        let tray = Self {
            name: name.to_owned(),
            also: fields.optional("also").unwrap_or_default(),
            cells: fields.optional("cells").map(|Cells(cells)| cells).or(pot.then_some(1)).unwrap_or(0),
            rows: rows.unwrap_or(1),
            rows_stated: rows.is_some() || pot,
            cell: cell.unwrap_or(in_litres(0.0)),
            top: top.or(base.and_then(|base| base.top)),
            depth: depth.or(base.and_then(|base| base.depth)),
            rim,
            brim,
            shape,
            footprint: fields.optional("footprint"),
            pot,
            per_tray: fields.optional("per_tray").map(|Cells(pots)| pots),
            spaced: fields.optional("spaced").map(|Cells(pots)| pots),
            compression: fields.optional("compression").map(|Compression(factor)| factor),
            range: fields.optional("range"),
            standing: fields.optional("standing").unwrap_or_else(|| "own figure".to_owned()),
            low_confidence: fields.optional("confidence").is_some_and(|Guess(guess)| guess),
            from: fields.optional("from"),
            note: fields.prose("note"),
            origin: base.filter(|_| !own_figure).map_or(origin, |base| base.origin),
            stated: (origin == Origin::Own).then(|| fields.stated()),
        };
        let told = ["top", "shape", "depth", "footprint", "cell"].into_iter().find(|key| fields.states(key));
        let told = told.map_or(at, |key| fields.place(key));
        fields.finish()?;
        tray.check(at, problems)?.check_measures(own_measures, told, problems)
    }

    /// Measures and a volume that no one cell can have are a fault; where the measures are not the
    /// user's but the table's, they are of another cell, and nothing is known of this one's.
    fn check_measures(mut self, own: bool, at: Span, problems: &Problems) -> Option<Self> {
        if !own && self.contradiction().is_some() {
            (self.top, self.depth) = (None, None);
        }
        let Some(what) = self.contradiction() else { return Some(self) };
        let units = "check the units of `cell:`, `top:`, `depth:` and `footprint:`: mL or L, mm, cm or in";
        let help = format!("{units}; where cells are much longer than wide, leave `top:` out");
        let expected = "measures that agree with the volume";
        problems.refuse(Problem::new(Code::Tray, at, what, expected).with_help(Some(help)))
    }

    /// What its measures say against its volume, in words with both figures.
    fn contradiction(&self) -> Option<String> {
        let dm = |length: Length| length_ratio(length, Length::new::<decimetre>(1.0));
        let mm = |dm: f64| plain(100.0 * dm, 3);
        let is_odd = |dm: f64| !SIDE_DM.contains(&dm);
        let litres = to_litres(self.cell);
        let says = |but: String| Some(format!("`{}` has cells of {} mL, {but}", self.name, plain(1000.0 * litres, 2)));
        let (top, depth) = (self.top.map(dm), self.depth.map(dm));
        let width = |depth: f64| (litres / depth).sqrt();
        match (top, depth) {
            (Some(top), depth) if self.is_long(top, depth) => {}
            (Some(top), Some(depth)) => {
                let block = top * top * depth;
                let shape = self.shape.map_or(litres, |shape| to_litres(shape.volume()));
                if [litres, shape].iter().any(|held| !OF_BLOCK.contains(&(held / block))) {
                    let (top, depth, block) = (mm(top), mm(depth), plain(1000.0 * block, 2));
                    return says(format!("but a block {top} mm wide and {depth} mm deep holds {block} mL"));
                }
            }
            (Some(top), None) if is_odd(top) || is_odd(litres / (top * top)) || litres > SLENDER * top.powi(3) => {
                return says(format!("which {} mm wide would be {} mm deep", mm(top), mm(litres / (top * top))));
            }
            (None, Some(depth)) if is_odd(depth) || is_odd(width(depth)) || depth > THIN * width(depth) => {
                return says(format!("which {} mm deep would be {} mm wide", mm(depth), mm(width(depth))));
            }
            _ => {}
        }
        let (long, short) = self.footprint_dm()?;
        let sides = || format!("{} x {} mm", mm(long), mm(short));
        let high = to_litres(self.volume()) / (long * short);
        let is_crowded = |top: f64| self.cells as f64 * top * top > MOST_OF_FOOTPRINT * long * short;
        if let Some(top) = top.filter(|top| is_crowded(*top) && !self.is_long(*top, depth)) {
            let (cells, name) = (self.cells, &self.name);
            return Some(format!("{cells} cells of `{name}`, {} mm wide, do not stand on {}", mm(top), sides()));
        }
        if is_odd(high) || self.cells > 1 && high > DEEPEST_DM {
            return says(format!("and {} of them on {} would lie {} mm high", self.cells, sides(), mm(high)));
        }
        None
    }

    /// Whether cells so wide and deep may be much longer than wide, such as those of row trays: where each has
    /// such room on the footprint, and fills it; else where each row is one cell, no longer than a tray.
    fn is_long(&self, top: f64, depth: Option<f64>) -> bool {
        let litres = to_litres(self.cell);
        let Some((long, short)) = self.footprint_dm() else {
            let other = litres / (top * depth.unwrap_or(top));
            return !self.pot && self.cells == self.rows && (top..=LONGEST_DM).contains(&other);
        };
        let (along, across) = (long / self.rows as f64, short / self.row_cells() as f64);
        let is_room = self.rows_stated && along.max(across) >= 2.0 * along.min(across);
        let fits = |room: f64| OF_ROOM.contains(&(top / room));
        let fills = |depth: f64| OF_BLOCK.contains(&(litres / (along * across * depth)));
        is_room && (fits(along) || fits(across)) && depth.is_none_or(fills)
    }

    /// Whether it has more cells than so many in a tray of 10 x 20 inches, by its own footprint; pots and blocks have none.
    pub fn has_smaller_cells_than(&self, cells: u32) -> bool {
        let is_of_cells = !self.pot && self.compression.is_none() && self.cells > 1;
        let footprint = self.footprint_dm().filter(|_| is_of_cells);
        footprint.is_some_and(|(long, short)| self.cells as f64 / (long * short) > f64::from(cells) / USUAL_DM2 * 1.05)
    }

    /// Long and short side in decimetres.
    fn footprint_dm(&self) -> Option<(f64, f64)> {
        let dm = |length: Length| length_ratio(length, Length::new::<decimetre>(1.0));
        self.footprint.map(|(one, other)| (dm(one.max(other)), dm(one.min(other))))
    }

    fn check(self, at: Span, problems: &Problems) -> Option<Self> {
        const LARGEST_CELL_L: f64 = 1000.0;
        const SMALLEST_CELL_L: f64 = 5e-5;
        let Self { name, cells, rows, .. } = &self;
        let [cell, all] = [self.cell, self.volume()].map(to_litres);
        let (what, expected) = match cell {
            _ if *cells == 0 => (format!("`{name}` needs `cells:`"), "`cells:` in one tray"),
            _ if cells % rows != 0 => {
                (format!("{cells} cells do not make {rows} full rows"), "rows that divide the cells")
            }
            ..=0.0 if self.brim.is_some() => {
                (format!("nothing of `{name}` lies below its rim"), "a rim less deep than the cell")
            }
            ..=0.0 => (format!("`{name}` needs `cell:` or `shape:`"), "`cell:` with a volume"),
            ..SMALLEST_CELL_L => {
                (format!("a cell of `{name}` would hold less than 0.05 mL"), "a cell of a tray or pot")
            }
            _ if cell > LARGEST_CELL_L => {
                (format!("a cell of `{name}` would hold more than {LARGEST_CELL_L} L"), "a cell of a tray or pot")
            }
            _ if *cells > 1 && all > LARGEST_CELL_L => {
                let what = format!("a tray of `{name}` would hold {} L", plain(all, 0));
                (what, "a tray of at most 1000 L; pots have `pot: yes`")
            }
            _ if self.per_tray.is_some_and(|close| self.spaced > Some(close)) => {
                (format!("more of `{name}` stand on a tray set apart than rim to rim"), "no more than its `per_tray:`")
            }
            _ => return Some(self),
        };
        problems.deny(Code::Tray, at, what, expected)
    }

    /// What a cell of the tables' tray of this name holds, where the cell is an own one.
    pub fn usual_cell(&self) -> Option<Volume> {
        let known = || Self::table().exact(&self.name).map(|tray| tray.cell);
        if self.origin == Origin::Own { known() } else { None }
    }

    /// Whether it is known to be filled to below its edge.
    pub fn is_filled_below_rim(&self) -> bool {
        self.brim.is_some() && self.brim != self.shape
    }

    /// Whether its volume is only about right: from memory, or makers differ by more than 15 %.
    pub fn is_about(&self) -> bool {
        const ALIKE: f64 = 0.15;
        let wide = |(least, most): (Volume, Volume)| to_litres(most - least) > ALIKE * to_litres(self.cell);
        self.low_confidence || self.range.is_some_and(wide)
    }

    /// Cells in one row.
    pub fn row_cells(&self) -> u64 {
        self.cells / self.rows
    }

    /// Volume of all its cells.
    pub fn volume(&self) -> Volume {
        self.cell * self.cells as f64
    }

    /// Volume of so many of its cells.
    pub fn volume_of(&self, cells: u64) -> Volume {
        self.cell * cells as f64
    }

    /// Volume of the uppermost `height` of one cell; `None` where its depth is unknown.
    ///
    /// Of a cell of unknown shape, the same share of its volume as of its depth.
    pub fn top_slice(&self, height: Length) -> Option<Volume> {
        match (&self.shape, self.depth) {
            (Some(shape), _) => Some(shape.top_slice(height)),
            (None, Some(depth)) => Some(self.cell * crate::units::length_ratio(height, depth).min(1.0)),
            (None, None) => None,
        }
    }
}

/// A tray of 10 x 20 inches, in square decimetres.
const USUAL_DM2: f64 = 2.54 * 5.08;
/// What a cell holds of the block that its width and depth span: a cone holds a quarter, real cells 0.60
/// to 0.78, and a straight one all of it; a quarter more or less since the width is measured within the
/// rim or over it. Centimetres written as inches, or inches as centimetres, fall outside it.
const OF_BLOCK: RangeInclusive<f64> = 0.2..=1.25;
/// Cells beside each other, round ones in staggered rows, take at most 1.16 of their tray by their widths
/// squared; the rest is for the lip and for measuring.
const MOST_OF_FOOTPRINT: f64 = 1.5;
/// The width of a cell against the room that it has on its tray.
const OF_ROOM: RangeInclusive<f64> = 0.4..=1.25;
/// A long cell is no longer than this, in decimetres: a short gutter, or the longest of trays.
const LONGEST_DM: f64 = 12.0;
/// No tray of several cells is deeper than this, in decimetres: the deepest for trees are 4.
const DEEPEST_DM: f64 = 5.0;
/// A cell that is known by its width alone is at most so many times as deep, were it a block; the tubes for
/// trees, which narrow, come to 4.
const SLENDER: f64 = 6.0;
/// One that is known by its depth alone is at most so many times as deep as wide; those tubes come to 8.
const THIN: f64 = 12.0;
/// No cell is shallower, narrower, deeper or wider than this, in decimetres.
const SIDE_DM: RangeInclusive<f64> = 0.01..=50.0;

counts! {
    /// Cells, or pots, in one tray.
    Cells(u64): "a whole number", 100_000;
}

figures! {
    /// How far below its edge a cell is filled.
    Rim(Length): "a rim such as `10 mm`", text => depth(text);
    /// Whether the volume of a cell is a guess, to be replaced by a weighing.
    Guess(bool): "one of low, medium, high",
        text => one_of(text, &[("low", true), ("medium", false), ("high", false)]);
    /// Loose mix pressed into one volume of block.
    Compression(Fraction): "a compression from 1 to 10, such as `1.5`", text => compression(text);
}

fn compression(text: &str) -> Result<Fraction, Fault> {
    match number(text)? {
        less if less < Fraction::ONE => Err(Fault::Impossible("a block would need less mix than it holds".to_owned())),
        more if more > Fraction::whole(10) => Err(Fault::Impossible("no press squeezes the mix that much".to_owned())),
        factor => Ok(factor),
    }
}

/// How far below its edge a pot is filled, in millimetres. Common practice, no source.
const POT_RIM_MM: f64 = 10.0;

/// What is known of one cell, and falls away with it. Its width and depth stay: they are
/// the nearest there is unless the new one's are stated.
const OF_A_CELL: [&str; 10] =
    ["rim", "cell", "shape", "top", "depth", "range", "standing", "confidence", "from", "note"];

/// `cell:` is a volume, or ten cells of water weighed: one gram is one millilitre.
struct Cell(Volume);

impl FromNode for Cell {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        if matches!(node.value, Value::Map(_)) {
            let water: Mass = Fields::read(node, "a weighed cell", problems, |fields| fields.required("ten_weigh"))?;
            return Some(Self(Volume::new::<millilitre>(water.get::<gram>() / 10.0)));
        }
        Volume::from_node(node, problems).map(Self)
    }
}

impl FromNode for Frustum {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a shape", problems)?;
        let given = fields.one_of(&["square", "round"]);
        let measures = given.first().and_then(|key| fields.get(key)).filter(|_| given.len() == 1);
        fields.finish();
        let Some(measures) = measures else {
            return problems.deny(Code::Tray, node.at, "a shape is either square or round", "`square:` or `round:`");
        };
        let kind = if given == ["square"] { FrustumKind::Square } else { FrustumKind::Round };
        Fields::read(measures, "the measures of a cell", problems, |fields| {
            let (top, bottom, depth) = (fields.required("top"), fields.required("bottom"), fields.required("depth"));
            Some(Self { kind, top: top?, bottom: bottom?, depth: depth? })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::diagnostic::SourceText;
    use crate::source::parse;
    use crate::units::length::centimetre;
    use std::sync::Arc;

    /// A shipped tray with an own entry over it.
    fn laid_over(name: &str, own: &str) -> Tray {
        let problems = Problems::new(Arc::new(SourceText { name: "x".to_owned(), text: own.to_owned() }));
        let catalogue = Catalogue::built_in();
        let base = catalogue.trays.find(name);
        let node = parse(own, &problems).unwrap();
        let tray = Tray::read(name, &node, base.as_deref(), &Reading::own(&problems));
        problems.settle(tray).unwrap().0
    }

    #[test]
    fn the_cut_entries_are_those_that_yaml_reads() {
        Tray::table().assert_as_whole();
    }

    #[test]
    fn a_cell_of_its_own_takes_nothing_of_the_old_cell_but_its_width_and_depth() {
        let table = laid_over("9 cm pot", "{}");
        let pot = laid_over("9 cm pot", "{cell: 300 mL}");
        assert_eq!((pot.shape, pot.from.as_deref(), pot.low_confidence), (None, None, false));
        assert_eq!((pot.standing.as_str(), pot.origin), ("own figure", Origin::Own));
        assert_eq!((pot.per_tray, pot.top, pot.depth), (Some(18), table.top, table.depth));
        let shaped = laid_over("72-cell", "{shape: {square: {top: 40 mm, bottom: 20 mm, depth: 50 mm}}}");
        assert_eq!(shaped.depth, shaped.shape.map(|shape| shape.depth));
        assert_eq!((shaped.rows, shaped.note), (12, None));
    }

    #[test]
    fn other_cells_have_other_rows() {
        let tray = laid_over("72-cell", "{cells: 70}");
        assert_eq!((tray.rows, tray.rows_stated, tray.origin), (1, false, Origin::BuiltIn));
        let deeper = laid_over("72-cell deep", "{depth: 70 mm}");
        assert_eq!((deeper.rows, deeper.from.as_deref()), (12, Some("plug-table")));
    }

    /// Measures in centimetres.
    fn frustum(kind: FrustumKind, [top, bottom, depth]: [f64; 3]) -> Frustum {
        let [top, bottom, depth] = [top, bottom, depth].map(Length::new::<centimetre>);
        Frustum { kind, top, bottom, depth }
    }

    // By hand, from solid geometry: h/3 (t² + t b + b²).
    #[test]
    fn frustums_hold_what_geometry_says() {
        let cell = frustum(FrustumKind::Square, [4.0, 2.0, 6.0]);
        let close = |volume: Volume, cm3: f64| (volume.get::<millilitre>() - cm3).abs() < 1e-9;
        assert!(close(cell.volume(), 56.0));
        assert!(close(frustum(FrustumKind::Square, [4.0, 4.0, 6.0]).volume(), 96.0));
        assert!(close(frustum(FrustumKind::Square, [4.0, 0.0, 6.0]).volume(), 32.0));
        let round = frustum(FrustumKind::Round, [4.0, 2.0, 6.0]).volume();
        assert!(close(round, 56.0 * std::f64::consts::FRAC_PI_4));
        // The upper half narrows from 4 to 3: 3/3 (16 + 12 + 9).
        let centimetres = Length::new::<centimetre>;
        assert!(close(cell.top_slice(centimetres(3.0)), 37.0));
        assert!(close(cell.top_slice(centimetres(0.0)), 0.0));
        assert_eq!(cell.top_slice(centimetres(9.0)), cell.volume());
    }

    #[test]
    fn a_slice_of_an_unknown_shape_is_its_share_of_the_depth() {
        let tray = laid_over("72-cell", "{cell: 80 mL, depth: 50 mm}");
        let slice = |millimetres| tray.top_slice(Length::new::<centimetre>(millimetres / 10.0)).unwrap();
        assert!((slice(10.0).get::<millilitre>() - 16.0).abs() < 1e-9);
        assert_eq!(slice(80.0), tray.cell);
        assert_eq!((tray.row_cells(), tray.volume_of(72)), (6, tray.volume()));
    }
}
