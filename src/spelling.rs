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
    let scored = candidates.into_iter().map(|known| (strsim::jaro_winkler(&word, &known.to_lowercase()), known));
    let best = scored.reduce(|best, next| if next.0 > best.0 { next } else { best });
    best.and_then(|(score, candidate)| (score >= 0.8).then_some(candidate))
}

/// Advice to use the nearest known spelling.
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(word, candidates).map(|near| format!("did you mean `{near}`?"))
}
