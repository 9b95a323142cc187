//! Changes that a table or a file of lines stands better than single bytes: a figure becomes
//! another, a line is doubled, moved or taken out.

/// Figures at the edges of what may be written.
const FIGURES: [&str; 22] = [
    "0",
    "1",
    "-1",
    "2",
    "3",
    "7",
    "12",
    "13",
    "100",
    "1000",
    "9999999",
    "10000000",
    "4294967296",
    "18446744073709551616",
    "1000000000",
    "0.000000001",
    "1e308",
    "1/3",
    "99999999999999999999999999999",
    "0.5",
    "100.1",
    "1 1/2",
];

/// A small generator of numbers (Steele, Lea & Flood 2014, `SplitMix64`).
struct Random(u64);

impl Random {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((z ^ (z >> 31)) % bound.max(1) as u64).unwrap_or(0)
    }
}

/// The bytes after one such change; `None` where libFuzzer is to make one of its own.
pub fn mutated(bytes: &[u8], most: usize, seed: u32) -> Option<Vec<u8>> {
    let mut random = Random(u64::from(seed));
    let changed = match random.below(4) {
        0 => another_figure(bytes, &mut random)?,
        1 => lines_changed(bytes, &mut random),
        _ => return None,
    };
    (changed.len() <= most).then_some(changed)
}

fn another_figure(bytes: &[u8], random: &mut Random) -> Option<Vec<u8>> {
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let starts: Vec<usize> = (0..bytes.len()).filter(|at| digit(*at) && (*at == 0 || !digit(*at - 1))).collect();
    let start = *starts.get(random.below(starts.len()))?;
    let end = (start..).find(|at| !digit(*at))?;
    Some([&bytes[..start], FIGURES[random.below(FIGURES.len())].as_bytes(), &bytes[end..]].concat())
}

fn lines_changed(bytes: &[u8], random: &mut Random) -> Vec<u8> {
    let mut lines: Vec<&[u8]> = bytes.split_inclusive(|byte| *byte == b'\n').collect();
    let (from, to) = (random.below(lines.len()), random.below(lines.len() + 1));
    let Some(line) = lines.get(from).copied() else { return Vec::new() };
    match random.below(3) {
        0 => lines.insert(to, line),
        1 => drop(lines.remove(from)),
        _ => {
            lines.remove(from);
            lines.insert(to.min(lines.len()), line);
        }
    }
    lines.concat()
}
