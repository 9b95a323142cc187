//! Pictures as SVG. Fills differ by their pattern, not by colour alone, and every area is labelled.

use super::apart;
use crate::printable::ISOLATE;
use crate::report::picture::{Course, Drawn, Map, Picture, Rack, Share, Spot};
use maud::{Markup, PreEscaped, html};

/// How many patterns there are for crops side by side.
const PATTERNS: usize = 6;
/// A cell of a tray, with its gap.
const CELL: u64 = 13;
/// Trays and places beyond this are not drawn: the words beside them hold.
const MOST: usize = 24;
/// A tray of more cells than this is drawn by its rows.
const MOST_CELLS: u64 = 600;
/// The width of a picture, which is that of a phone: there, a unit is a pixel.
const WIDTH: f64 = 338.0;
/// How high letters are: no smaller, so that they can be read on a phone.
const HIGH: f64 = 12.0;
/// How wide a character is, and how narrow it may be made.
const LETTER: f64 = 0.6 * HIGH;
const NARROW_LETTER: f64 = 0.7 * LETTER;

/// What the patterns of a page are; drawn once.
pub(super) fn patterns() -> Markup {
    const INSIDE: [&str; PATTERNS] = [
        r##"<path d="M0 6L6 0" stroke="#111" stroke-width=".9"/>"##,
        r##"<rect width="6" height="6" fill="#ddd"/>"##,
        r##"<circle cx="3" cy="3" r="1.2" fill="#111"/>"##,
        r##"<path d="M0 3H6" stroke="#111" stroke-width=".9"/>"##,
        r##"<path d="M0 0L6 6M0 6L6 0" stroke="#111" stroke-width=".6"/>"##,
        r##"<path d="M3 0V6" stroke="#111" stroke-width=".9"/>"##,
    ];
    html! {
        svg width="0" height="0" style="position:absolute" aria-hidden="true" {
            defs {
                @for (number, inside) in INSIDE.iter().enumerate() {
                    pattern id=(format!("p{number}")) width="6" height="6" patternUnits="userSpaceOnUse" {
                        rect width="6" height="6" fill="#fff" {}
                        (PreEscaped(inside))
                    }
                }
            }
        }
    }
}

/// A picture, or nothing where it would be too large to be seen.
pub(super) fn draw(picture: &Picture) -> Markup {
    match &picture.of {
        Drawn::Load(shares) => load(shares, &picture.says),
        Drawn::Bars(bars) => html! {
            @for (of, shares) in bars { figure { figcaption { (apart(of)) } (load(shares, &in_words(of, shares))) } }
        },
        Drawn::Trays(maps) if maps.len() > MOST => html! {},
        Drawn::Trays(maps) => html! { div.maps { @for map in maps { (tray(map)) } } },
        Drawn::Course(course) => self::course(course, &picture.says),
        Drawn::Racks(racks) => match &racks[..] {
            [one] => rack(one, &picture.says),
            racks => html! { div.racks { @for one in racks { (rack(one, &one.title)) } } },
        },
    }
}

/// A text in the middle of an area, drawn together and cut short where that is narrow.
fn label(text: &str, [x, y]: [f64; 2], width: f64, bold: bool) -> Markup {
    // Clear of the lines beside it.
    let width = width - 4.0;
    let letters: Vec<char> = text.chars().filter(|c| !ISOLATE.contains(c)).collect();
    let most = (1..=letters.len()).take_while(|count| *count as f64 * NARROW_LETTER <= width).count();
    let short: String = match most {
        _ if most == letters.len() => letters.iter().collect(),
        0..4 => String::new(),
        _ => letters[..most - 1].iter().chain(['…'].iter()).collect(),
    };
    let length = (most as f64 * LETTER > width).then(|| number(width));
    html! {
        @if !short.is_empty() {
            text x=(number(x)) y=(number(y)) text-anchor="middle" font-size=(HIGH) font-weight=[bold.then_some("600")]
                textLength=[length.as_ref()] lengthAdjust=[length.as_ref().map(|_| "spacingAndGlyphs")] { (short) }
        }
    }
}

fn number(value: f64) -> String {
    crate::units::plain(value, 1)
}

/// A bar with all its shares: `72-cell: solid 14 %, water 80 %, air 6 %`.
fn in_words(of: &str, shares: &[Share]) -> String {
    let all: Vec<String> = shares.iter().map(|share| format!("{} {}", share.name, share.amount)).collect();
    format!("{of}: {}", all.join(", "))
}

fn load(shares: &[Share], says: &str) -> Markup {
    let sum: f64 = shares.iter().map(|share| share.size).sum();
    let areas = shares.iter().scan(0.5, |at, share| {
        let (from, width) = (*at, share.size / sum * (WIDTH - 1.0));
        *at += width;
        Some((share, from, width))
    });
    let mut legend = Vec::new();
    let areas = areas.enumerate().map(|(index, (share, from, width))| {
        let fits = |text: &str| text.chars().count() as f64 * NARROW_LETTER <= width - 4.0;
        // No figure: the amounts are figures.
        let letter = char::from(b'a' + u8::try_from(index).unwrap_or(25).min(25)).to_string();
        // A count without its scoop is whole, half of a word is not.
        let count = share.amount.split(" of ").next().unwrap_or_default();
        let (name, amount) = match (fits(&share.name), fits(&share.amount)) {
            (true, true) => return (index, from, width, share.name.clone(), share.amount.clone()),
            (true, false) => (share.name.clone(), count),
            (false, true) => (letter, share.amount.as_str()),
            (false, false) => (letter, count),
        };
        let key = if name == share.name { name.clone() } else { format!("{name}: {}", share.name) };
        legend.push(format!("{key} {}", share.amount));
        (index, from, width, name, if fits(amount) { amount.to_owned() } else { String::new() })
    });
    let areas: Vec<_> = areas.collect();
    html! {
        svg.load role="img" aria-label=(says) width="100%" viewBox=(format!("0 0 {WIDTH} 42")) {
            @for (index, from, width, name, amount) in areas {
                rect x=(number(from)) y="1" width=(number(width)) height="40" fill=(["#fff", "#e6e6e6"][index % 2]) stroke="#111" {}
                (label(&name, [from + width / 2.0, 17.0], width, true))
                (label(&amount, [from + width / 2.0, 33.0], width, false))
            }
        }
        @if !legend.is_empty() { p.legend { (legend.join("; ")) } }
    }
}

fn tray(map: &Map) -> Markup {
    let (rows, across) = map.grid;
    // Of very many cells the rows alone.
    let across = if rows * across > MOST_CELLS { 1 } else { across };
    let (width, height) = (rows * CELL + 2, across * CELL + 2);
    let pattern = |row: u64| {
        let crop = map.crops.iter().position(|(_, from, to)| (u64::from(*from)..=u64::from(*to)).contains(&(row + 1)));
        crop.map_or_else(|| "#fff".to_owned(), |crop| format!("url(#p{})", crop % PATTERNS))
    };
    let said: Vec<String> = map.crops.iter().map(|(crop, from, to)| format!("rows {from} to {to} {crop}")).collect();
    let says = format!("{}: {}", map.title, said.join(", "));
    html! {
        figure {
            svg role="img" aria-label=(says) width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) {
                @for row in 0..rows {
                    @for cell in 0..across {
                        rect x=(1 + row * CELL) y=(1 + cell * CELL) width="11.5" height="11.5" rx="1.5" fill=(pattern(row)) stroke="#333" stroke-width=".7" {}
                    }
                }
            }
            figcaption {
                (apart(&map.title))
                @for (index, (crop, from, to)) in map.crops.iter().enumerate() {
                    span.key {
                        svg width="12" height="12" aria-hidden="true" {
                            rect width="12" height="12" fill=(format!("url(#p{})", index % PATTERNS)) stroke="#333" stroke-width=".7" {}
                        }
                        (apart(&format!(" rows {from}-{to} {crop}")))
                    }
                }
            }
        }
    }
}

fn course(course: &Course, says: &str) -> Markup {
    const ROW: f64 = 24.0;
    let rows = course.spells.iter().map(|(_, row, _)| row + 1).max().unwrap_or(1);
    let height = 20.0 + rows as f64 * ROW;
    let at = |second: f64| 1.0 + second / course.seconds * (WIDTH - 2.0);
    let place = |[from, to]: [f64; 2]| (at(from), at(to) - at(from));
    html! {
        svg.course role="img" aria-label=(says) width="100%" viewBox=(format!("0 0 {WIDTH} {height}")) {
            @for (x, width) in course.nights.iter().copied().map(place) {
                rect x=(number(x)) y="16" width=(number(width)) height=(number(height - 17.0)) fill="#d9d9d9" {}
            }
            @for (name, spell) in &course.days {
                @let (x, width) = place(*spell);
                line x1=(number(x)) y1="16" x2=(number(x)) y2=(number(height - 1.0)) stroke="#777" stroke-dasharray="2 3" {}
                (label(name, [x + width / 2.0, 11.0], width, true))
            }
            @for (name, row, spell) in &course.spells {
                @let (x, width) = place(*spell);
                @let y = 19.0 + *row as f64 * ROW;
                rect x=(number(x)) y=(number(y)) width=(number(width)) height="18" fill="#fff" stroke="#111" stroke-width="1.2" {}
                (label(name, [x + width / 2.0, y + 13.0], width, false))
            }
        }
    }
}

/// A place of a rack, with its gap.
const PLACE: [f64; 2] = [84.0, 24.0];
/// Of longer shelves the names would be too small on a phone: they are drawn in several lines.
const MOST_ACROSS: usize = 4;

fn rack(rack: &Rack, says: &str) -> Markup {
    let lines = rack.across.div_ceil(MOST_ACROSS).max(1);
    let across = rack.across.div_ceil(lines).max(1);
    let shelves = rack.places.chunks(rack.across.max(1)).map(|shelf| (shelf, if lines > 1 { 6.0 } else { 0.0 }));
    let frame = (&rack.frame[..], if rack.frame.is_empty() { 0.0 } else { 14.0 });
    let (mut y, mut drawn) = (1.0, Vec::new());
    for (index, (shelf, gap)) in shelves.chain([frame]).enumerate() {
        // A gap tells shelves of several lines from each other, and the frame from the rack.
        y += if index > 0 { gap } else { 0.0 };
        for line in shelf.chunks(across) {
            drawn.extend(line.iter().enumerate().map(|(at, spot)| place(spot, [at as f64 * PLACE[0] + 1.0, y])));
            y += PLACE[1];
        }
    }
    let (width, height) = (across as f64 * PLACE[0] + 2.0, y + 1.0);
    let frame_from = y - rack.frame.len().div_ceil(across) as f64 * PLACE[1] - 3.0;
    html! {
        figure.rack {
            svg role="img" aria-label=(says) width=(number(width)) viewBox=(format!("0 0 {width} {height}")) {
                @for part in drawn { (part) }
                @if !rack.frame.is_empty() { text x="1" y=(number(frame_from)) font-size=(HIGH) { "in the frame" } }
            }
            figcaption { (rack.title) }
        }
    }
}

/// A place: what has a pattern bears it in a strip beside the name, what has heat a bar below.
fn place(spot: &Spot, [x, y]: [f64; 2]) -> Markup {
    let (width, height) = (PLACE[0] - 4.0, PLACE[1] - 5.0);
    let strip = if spot.pattern.is_some() { 12.0 } else { 0.0 };
    let fill = if spot.what.is_empty() || spot.pattern.is_some() { "#fff" } else { "#e6e6e6" };
    html! {
        rect x=(number(x)) y=(number(y)) width=(number(width)) height=(number(height)) fill=(fill) stroke="#111" stroke-width=".8"
            stroke-dasharray=[spot.beyond.then_some("4 3")] {}
        @if let Some(pattern) = spot.pattern {
            rect x=(number(x)) y=(number(y)) width=(number(strip)) height=(number(height)) fill=(format!("url(#p{})", pattern % PATTERNS)) stroke="#111" stroke-width=".8" {}
        }
        @if spot.on_mat { rect x=(number(x)) y=(number(y + height - 1.0)) width=(number(width)) height="3" fill="#111" {} }
        (label(&spot.what, [x + f64::midpoint(width, strip), y + 13.0], width - strip, false))
    }
}
