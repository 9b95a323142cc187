//! The nearest known spelling.

/// The candidate nearest to a word, if any is near enough to be meant: of those that are, the
/// one with the fewest slips. Long words have none, and only the first 4000 candidates are
/// compared: the tables have fewer, and longer lists come from programs.
///
/// ```
/// assert_eq!(trayful::spelling::nearest("kail", ["kai lan", "kale", "leek"]), Some("kale"));
/// assert_eq!(trayful::spelling::nearest("xyzzy", ["kale", "leek"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    near(word, candidates).into_iter().next().map(|(_, candidate)| candidate)
}

/// The candidates that a word may be a slip of the pen for, the nearest first: up to two
/// slips, or one in four letters.
pub fn slips<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let most = (word.chars().count() / 4).max(2);
    near(word, candidates).into_iter().filter(|(slips, _)| *slips <= most).map(|(_, candidate)| candidate).collect()
}

/// The candidates that are near, the nearest first, each with its number of slips.
fn near<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<(usize, &'a str)> {
    const LONGEST: usize = 60;
    const MOST: usize = 4000;
    if word.len() > LONGEST {
        return Vec::new();
    }
    let word = word.to_lowercase();
    let short = candidates.into_iter().take(MOST).filter(|known| known.len() <= LONGEST);
    let near = short.filter_map(|candidate| {
        let known = candidate.to_lowercase();
        let alike = strsim::jaro_winkler(&word, &known);
        (alike >= 0.8).then(|| (strsim::damerau_levenshtein(&word, &known), alike, candidate))
    });
    let mut near: Vec<(usize, f64, &str)> = near.collect();
    near.sort_by(|one, other| one.0.cmp(&other.0).then(other.1.total_cmp(&one.1)));
    near.into_iter().map(|(slips, _, candidate)| (slips, candidate)).collect()
}

/// Advice to use the nearest known spelling.
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(word, candidates).map(|near| format!("did you mean `{near}`?"))
}
