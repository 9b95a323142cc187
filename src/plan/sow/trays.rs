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
#[must_use]
pub fn arrange(rows: &[u64], tray_rows: u64) -> Vec<(u64, TrayRows)> {
    if tray_rows == 0 {
        return Vec::new();
    }
    let mut unsplit = first_fit(rows, tray_rows);
    if rows.len() <= EXACT && unsplit.whole.contains(&false) {
        unsplit = most_unsplit(rows, tray_rows);
    }
    lay_out(rows, tray_rows, unsplit)
}

/// For each sowing the bin its remaining rows lie in, or `None` if it is split.
struct Unsplit {
    /// Bin of each sowing that is kept whole; sowings without remaining rows have none.
    bin: Vec<Option<usize>>,
    /// Which sowings are kept whole.
    whole: Vec<bool>,
    bins: usize,
}

fn trays_for(rows: u64, tray_rows: u64) -> u64 {
    rows.div_ceil(tray_rows)
}

/// The largest set of sowings that can lie unsplit, by trying every set.
fn most_unsplit(rows: &[u64], tray_rows: u64) -> Unsplit {
    let n = rows.len();
    let trays = trays_for(rows.iter().sum(), tray_rows);
    let sets = 1_usize << n;
    // For every set of sowings: the fewest bins for their remaining rows, the least
    // filling of the last of them, and the sowing packed last.
    let mut best = vec![(u64::MAX, u64::MAX, usize::MAX); sets];
    best[0] = (0, tray_rows, usize::MAX);
    let mut chosen = 0_usize;
    for set in 0..sets {
        if set > 0 {
            for last in (0..n).filter(|sowing| set & (1 << sowing) != 0) {
                let rest = rows[last] % tray_rows;
                let (bins, filled, _) = best[set ^ (1 << last)];
                let next = if rest == 0 {
                    (bins, filled, last)
                } else if filled + rest <= tray_rows {
                    (bins, filled + rest, last)
                } else {
                    (bins + 1, rest, last)
                };
                if next < best[set] {
                    best[set] = next;
                }
            }
        }
        let full: u64 = (0..n).filter(|sowing| set & (1 << sowing) != 0).map(|sowing| rows[sowing] / tray_rows).sum();
        let fits = full + best[set].0 <= trays;
        // Of sets of one size, the one that splits the largest sowings.
        let rank = |set: usize| {
            let kept: u64 = (0..n).filter(|sowing| set & (1 << sowing) != 0).map(|sowing| rows[sowing]).sum();
            (set.count_ones(), std::cmp::Reverse(kept))
        };
        if fits && rank(set) > rank(chosen) {
            chosen = set;
        }
    }
    unpack(rows, tray_rows, chosen, &best)
}

/// Follows the choices back to the bins.
fn unpack(rows: &[u64], tray_rows: u64, chosen: usize, best: &[(u64, u64, usize)]) -> Unsplit {
    let mut unsplit = Unsplit { bin: vec![None; rows.len()], whole: vec![false; rows.len()], bins: 0 };
    let mut set = chosen;
    while set != 0 {
        let (bins, _, last) = best[set];
        unsplit.whole[last] = true;
        if !rows[last].is_multiple_of(tray_rows) {
            let bin = usize::try_from(bins).unwrap_or(usize::MAX).saturating_sub(1);
            unsplit.bin[last] = Some(bin);
            unsplit.bins = unsplit.bins.max(bin + 1);
        }
        set ^= 1 << last;
    }
    unsplit
}

/// First fit decreasing over the remaining rows, in O(n log n).
fn first_fit(rows: &[u64], tray_rows: u64) -> Unsplit {
    let trays = trays_for(rows.iter().sum(), tray_rows);
    let full: u64 = rows.iter().map(|rows| rows / tray_rows).sum();
    let most = usize::try_from(trays - full).unwrap_or(usize::MAX).min(rows.len());
    let mut unsplit = Unsplit { bin: vec![None; rows.len()], whole: vec![false; rows.len()], bins: 0 };
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by_key(|sowing| (std::cmp::Reverse(rows[*sowing] % tray_rows), *sowing));
    let mut free = FirstFree::new(most, tray_rows);
    for sowing in order {
        let rest = rows[sowing] % tray_rows;
        if rest == 0 {
            unsplit.whole[sowing] = true;
        } else if let Some(bin) = free.take(rest) {
            unsplit.whole[sowing] = true;
            unsplit.bin[sowing] = Some(bin);
            unsplit.bins = unsplit.bins.max(bin + 1);
        }
    }
    unsplit
}

/// The first of many bins with enough room: a tree of the largest rooms.
struct FirstFree {
    leaves: usize,
    room: Vec<u64>,
}

impl FirstFree {
    fn new(bins: usize, each: u64) -> Self {
        let leaves = bins.next_power_of_two().max(1);
        let mut room = vec![0; 2 * leaves];
        for (bin, leaf) in room[leaves..].iter_mut().enumerate() {
            *leaf = if bin < bins { each } else { 0 };
        }
        for node in (1..leaves).rev() {
            room[node] = room[2 * node].max(room[2 * node + 1]);
        }
        Self { leaves, room }
    }

    fn take(&mut self, wanted: u64) -> Option<usize> {
        if self.room[1] < wanted {
            return None;
        }
        let mut node = 1;
        while node < self.leaves {
            node = if self.room[2 * node] >= wanted { 2 * node } else { 2 * node + 1 };
        }
        self.room[node] -= wanted;
        let bin = node - self.leaves;
        while node > 1 {
            node /= 2;
            self.room[node] = self.room[2 * node].max(self.room[2 * node + 1]);
        }
        Some(bin)
    }
}

/// Whole sowings into their trays, then the split ones into the room that is left,
/// the largest room first so that they lie in few pieces.
fn lay_out(rows: &[u64], tray_rows: u64, unsplit: Unsplit) -> Vec<(u64, TrayRows)> {
    let trays = trays_for(rows.iter().sum(), tray_rows);
    let mut full: Vec<(u64, TrayRows)> = Vec::new();
    let mut bins: Vec<TrayRows> = vec![Vec::new(); unsplit.bins];
    let mut used = 0;
    for (sowing, rows) in rows.iter().enumerate().filter(|(sowing, _)| unsplit.whole[*sowing]) {
        if rows / tray_rows > 0 {
            full.push((rows / tray_rows, vec![Portion { sowing, rows: tray_rows }]));
            used += rows / tray_rows;
        }
        if let Some(bin) = unsplit.bin[sowing] {
            bins[bin].push(Portion { sowing, rows: rows % tray_rows });
        }
    }
    let mut left: Vec<(usize, u64)> =
        rows.iter().copied().enumerate().filter(|(sowing, _)| !unsplit.whole[*sowing]).collect();
    // Trays that no whole sowing needs take the full trays of the split ones.
    let mut spare = trays - used - bins.len() as u64;
    for (sowing, rows) in &mut left {
        let alone = (*rows / tray_rows).min(spare);
        if alone > 0 {
            full.push((alone, vec![Portion { sowing: *sowing, rows: tray_rows }]));
            *rows -= alone * tray_rows;
            spare -= alone;
        }
    }
    bins.resize(bins.len() + usize::try_from(spare).unwrap_or(0), Vec::new());
    let room = |bin: &TrayRows| tray_rows - bin.iter().map(|portion| portion.rows).sum::<u64>();
    let mut roomy: Vec<usize> = (0..bins.len()).filter(|bin| room(&bins[*bin]) > 0).collect();
    // The last entry is the roomiest.
    roomy.sort_by_key(|bin| (room(&bins[*bin]), std::cmp::Reverse(*bin)));
    for (sowing, mut rows) in left {
        while rows > 0 {
            let Some(bin) = roomy.pop() else { break };
            let taken = room(&bins[bin]).min(rows);
            bins[bin].push(Portion { sowing, rows: taken });
            rows -= taken;
            if room(&bins[bin]) > 0 {
                roomy.push(bin);
            }
        }
    }
    full.extend(bins.into_iter().filter(|bin| !bin.is_empty()).map(|bin| (1, bin)));
    full
}
