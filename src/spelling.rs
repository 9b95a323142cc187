//! The nearest known spelling.

/// The candidate nearest to a word, if any is near enough to be meant.
///
/// ```
/// assert_eq!(trayful::spelling::nearest("kail", ["kale", "leek"]), Some("kale"));
/// assert_eq!(trayful::spelling::nearest("xyzzy", ["kale", "leek"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const LONGEST: usize = 60;
    if word.len() > LONGEST {
        return None;
    }
    let word = word.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for candidate in candidates {
        let score = strsim::jaro_winkler(&word, &candidate.to_lowercase());
        if best.is_none_or(|(top, _)| score > top) {
            best = Some((score, candidate));
        }
    }
    best.and_then(|(score, candidate)| (score >= 0.8).then_some(candidate))
}

/// Advice to use the nearest known spelling.
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(word, candidates).map(|near| format!("did you mean `{near}`?"))
}
