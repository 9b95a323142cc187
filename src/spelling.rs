//! The nearest known spelling.

/// The candidate nearest to a word, if any is near enough to be meant: of those that are, the
/// one with the fewest slips.
///
/// ```
/// assert_eq!(trayful::spelling::nearest("kail", ["kai lan", "kale", "leek"]), Some("kale"));
/// assert_eq!(trayful::spelling::nearest("xyzzy", ["kale", "leek"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const LONGEST: usize = 60;
    if word.len() > LONGEST {
        return None;
    }
    let word = word.to_lowercase();
    let near = candidates.into_iter().filter_map(|candidate| {
        let known = candidate.to_lowercase();
        let alike = strsim::jaro_winkler(&word, &known);
        (alike >= 0.8).then(|| (strsim::damerau_levenshtein(&word, &known), alike, candidate))
    });
    let nearer = |one: &(usize, f64, &str), other: &(usize, f64, &str)| (one.0, other.1) < (other.0, one.1);
    near.reduce(|best, next| if nearer(&next, &best) { next } else { best }).map(|(.., candidate)| candidate)
}

/// Advice to use the nearest known spelling.
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(word, candidates).map(|near| format!("did you mean `{near}`?"))
}
