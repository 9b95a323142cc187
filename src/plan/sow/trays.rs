//! Which sowings share which trays, in whole rows.
//!
//! A group of sowings that may share trays takes the fewest trays there can be:
//! its rows over the rows of a tray, rounded up. Within that, as few sowings as
//! possible lie in more trays than they need.
//!
//! A set of sowings can lie unsplit in so many trays exactly if their full trays and
//! the trays that their remaining rows can be packed into do not exceed them; the
//! other sowings fill what space is left. So the largest such set is looked for: by
//! trying every set up to [`EXACT`] sowings, by first fit decreasing above.

use std::cmp::Reverse;

/// Up to so many sowings a group is arranged with the fewest splits there can be.
const EXACT: usize = 12;

/// Rows of one sowing in one tray.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Portion {
    /// Index of the sowing in its group.
    pub sowing: usize,
    /// Rows, at least one.
    pub rows: u64,
}

/// The portions of one tray, in order; together at most the tray's rows.
pub type TrayRows = Vec<Portion>;

/// Lays out sowings of so many `rows` each in trays of `tray_rows` rows.
///
/// The trays that hold one sowing alone and full come as one entry with their count.
///
/// ```
/// use trayful::plan::arrange;
/// // Three crops of 6 rows in trays of 10: two trays, and one crop split.
/// let laid = arrange(&[6, 6, 6], 10);
/// let trays: u64 = laid.iter().map(|(count, _)| count).sum();
/// assert_eq!(trays, 2);
/// ```
pub fn arrange(rows: &[u64], tray_rows: u64) -> Vec<(u64, TrayRows)> {
    if tray_rows == 0 {
        return Vec::new();
    }
    let mut rests = first_fit(rows, tray_rows);
    if rows.len() <= EXACT && rests.contains(&Rest::Split) {
        rests = most_unsplit(rows, tray_rows);
    }
    lay_out(rows, tray_rows, &rests)
}

/// Where the rows of a sowing lie that fill no tray of their own.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Rest {
    /// There are none.
    Empty,
    /// Together in this shared tray.
    Shared(usize),
    /// Wherever there is room: the sowing is split.
    Split,
}

fn trays_for(rows: u64, tray_rows: u64) -> u64 {
    rows.div_ceil(tray_rows)
}

/// How the remaining rows of a set of sowings lie in the fewest shared trays: their number,
/// the least filling of the last of them, and the sowing packed last.
type Packing = (usize, u64, usize);

/// The largest set of sowings that can lie unsplit, by trying every set.
fn most_unsplit(rows: &[u64], tray_rows: u64) -> Vec<Rest> {
    let trays = trays_for(rows.iter().sum(), tray_rows);
    let rests: Vec<u64> = rows.iter().map(|rows| rows % tray_rows).collect();
    let mut packings: Vec<Packing> = vec![(0, tray_rows, usize::MAX)];
    // The full trays and all rows of every set.
    let mut sums: Vec<(u64, u64)> = vec![(0, 0)];
    // Of sets of one size, the one that splits the largest sowings.
    let mut best = (0, (0, Reverse(0)));
    for set in 1..1_usize << rows.len() {
        let without = |sowing: u32| set ^ (1 << sowing);
        let lowest = set.trailing_zeros();
        let (full, all) = sums[without(lowest)];
        let rows = rows[lowest as usize];
        let (full, all) = (full + rows / tray_rows, all + rows);
        sums.push((full, all));
        let packing = packed(set, &rests, &packings, tray_rows);
        packings.push(packing);
        let rank = (set.count_ones(), Reverse(all));
        if rank > best.1 && full + packing.0 as u64 <= trays {
            best = (set, rank);
        }
    }
    let (mut chosen, _) = best;
    let mut laid = vec![Rest::Split; rows.len()];
    while chosen != 0 {
        let (shared, _, last) = packings[chosen];
        laid[last] = if rests[last] == 0 { Rest::Empty } else { Rest::Shared(shared - 1) };
        chosen ^= 1 << last;
    }
    laid
}

/// The packing of a set from those of the sets of one sowing less.
fn packed(set: usize, rests: &[u64], packings: &[Packing], tray_rows: u64) -> Packing {
    let mut best = (usize::MAX, u64::MAX, usize::MAX);
    let mut left = set;
    while left != 0 {
        let last = left.trailing_zeros() as usize;
        left &= left - 1;
        let (shared, filled, _) = packings[set ^ (1 << last)];
        let fits = filled + rests[last] <= tray_rows;
        let next = if fits { (shared, filled + rests[last], last) } else { (shared + 1, rests[last], last) };
        if next < best {
            best = next;
        }
    }
    best
}

/// First fit decreasing over the remaining rows: looks at every shared tray once for each
/// different number of rows.
fn first_fit(rows: &[u64], tray_rows: u64) -> Vec<Rest> {
    let full: u64 = rows.iter().map(|rows| rows / tray_rows).sum();
    let shared = usize::try_from(trays_for(rows.iter().sum(), tray_rows) - full).unwrap_or(usize::MAX);
    let mut room = vec![tray_rows; shared.min(rows.len())];
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by_key(|sowing| Reverse(rows[*sowing] % tray_rows));
    let mut rests = vec![Rest::Split; rows.len()];
    let (mut first, mut before) = (0, 0);
    for sowing in order {
        let rest = rows[sowing] % tray_rows;
        if rest == 0 {
            rests[sowing] = Rest::Empty;
            continue;
        }
        // What had no room for as many rows has none for these.
        if rest != before {
            (first, before) = (0, rest);
        }
        first += room[first..].iter().take_while(|room| **room < rest).count();
        if let Some(room) = room.get_mut(first) {
            *room -= rest;
            rests[sowing] = Rest::Shared(first);
        }
    }
    rests
}

/// Whole sowings into their trays, then the split ones into the room that is left,
/// the largest room first so that they lie in few pieces.
fn lay_out(rows: &[u64], tray_rows: u64, rests: &[Rest]) -> Vec<(u64, TrayRows)> {
    let mut full: Vec<(u64, TrayRows)> = Vec::new();
    let mut shared: Vec<TrayRows> = Vec::new();
    let mut left: Vec<(usize, u64)> = Vec::new();
    let mut fill = |sowing, count| full.extend((count > 0).then(|| (count, vec![Portion { sowing, rows: tray_rows }])));
    let mut spare = trays_for(rows.iter().sum(), tray_rows);
    for (sowing, (rows, rest)) in rows.iter().copied().zip(rests).enumerate() {
        match rest {
            Rest::Empty => {}
            Rest::Shared(tray) => {
                shared.resize(shared.len().max(tray + 1), Vec::new());
                shared[*tray].push(Portion { sowing, rows: rows % tray_rows });
            }
            Rest::Split => {
                left.push((sowing, rows));
                continue;
            }
        }
        fill(sowing, rows / tray_rows);
        spare -= rows / tray_rows;
    }
    spare -= shared.len() as u64;
    // Trays that no whole sowing needs take the full trays of the split ones.
    for (sowing, rows) in &mut left {
        let alone = (*rows / tray_rows).min(spare);
        fill(*sowing, alone);
        *rows -= alone * tray_rows;
        spare -= alone;
    }
    shared.resize(shared.len() + usize::try_from(spare).unwrap_or(0), Vec::new());
    let room = |tray: &TrayRows| tray_rows - tray.iter().map(|portion| portion.rows).sum::<u64>();
    let mut roomy: Vec<usize> = (0..shared.len()).filter(|tray| room(&shared[*tray]) > 0).collect();
    // The last entry is the roomiest.
    roomy.sort_by_key(|tray| (room(&shared[*tray]), Reverse(*tray)));
    for (sowing, mut rows) in left {
        while let Some(tray) = roomy.pop_if(|_| rows > 0) {
            let taken = room(&shared[tray]).min(rows);
            shared[tray].push(Portion { sowing, rows: taken });
            rows -= taken;
            if room(&shared[tray]) > 0 {
                roomy.push(tray);
            }
        }
    }
    full.extend(shared.into_iter().filter(|tray| !tray.is_empty()).map(|tray| (1, tray)));
    full
}
