//! Pictures of a sheet, without any form yet. A page draws them; text does without, since every
//! figure of theirs stands beside them in words.

use crate::printable::isolated;

/// A picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// What it shows, in words for whoever cannot see it.
    pub says: String,
    /// What is drawn.
    pub of: Drawn,
}

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawn {
    /// A load, as a bar of what goes in.
    Load(Vec<Share>),
    /// Bars of the same shares, each with what it is of.
    Bars(Vec<(String, Vec<Share>)>),
    /// Trays that crops share, rows across the short side from left to right.
    Trays(Vec<Map>),
    /// A course over some days.
    Course(Course),
    /// Racks, as each will look.
    Racks(Vec<Rack>),
}

/// A rack with what stands on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Rack {
    /// What it shows, in words.
    pub title: String,
    /// Places on a shelf.
    pub across: usize,
    /// Its places, and after them those that it does not have.
    pub places: Vec<Spot>,
    /// The places of the frame that are taken.
    pub frame: Vec<Spot>,
}

/// A place.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spot {
    /// What stands there; nothing where it is free.
    pub what: String,
    /// What tells it from others, where racks are compared.
    pub pattern: Option<usize>,
    /// It has heat from below.
    pub on_mat: bool,
    /// There is no such place.
    pub beyond: bool,
}

/// A piece of a bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// What it is.
    pub name: String,
    /// How much, in words.
    pub amount: String,
    /// How long it is drawn, of the sum of all.
    pub size: f64,
}

/// A tray in rows of cells.
#[derive(Clone, Debug, PartialEq)]
pub struct Map {
    /// The tray, and which.
    pub title: String,
    /// Its rows, and the cells in each.
    pub grid: (u64, u64),
    /// What lies in rows, from one to another.
    pub crops: Vec<(String, u32, u32)>,
}

/// Spells of time, in seconds from its beginning.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// How long it is in all.
    pub seconds: f64,
    /// Days by their names, each with its beginning and end.
    pub days: Vec<(String, [f64; 2])>,
    /// When nobody is there.
    pub nights: Vec<[f64; 2]>,
    /// What goes on, from one time to another, in rows one below the other.
    pub spells: Vec<(String, usize, [f64; 2])>,
}

impl Picture {
    /// The same with every name made visible as it is read.
    pub fn printable(&mut self) {
        let make = |text: &mut String| *text = isolated(std::mem::take(text));
        make(&mut self.says);
        match &mut self.of {
            Drawn::Load(shares) => shares.iter_mut().for_each(|share| make(&mut share.name)),
            Drawn::Bars(bars) => bars.iter_mut().for_each(|(of, _)| make(of)),
            Drawn::Racks(racks) => racks.iter_mut().for_each(|rack| {
                make(&mut rack.title);
                rack.places.iter_mut().chain(&mut rack.frame).for_each(|spot| make(&mut spot.what));
            }),
            Drawn::Trays(maps) => maps.iter_mut().for_each(|map| {
                make(&mut map.title);
                map.crops.iter_mut().for_each(|(crop, ..)| make(crop));
            }),
            Drawn::Course(course) => course.spells.iter_mut().for_each(|(name, ..)| make(name)),
        }
    }
}
