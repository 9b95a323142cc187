//! The nearest known spelling.

/// The candidate nearest to a word, if any is near enough to be meant. Long words have none, and
/// only the first 4000 candidates are compared: the tables have fewer, and longer lists come from programs.
///
/// ```
/// assert_eq!(trayful::spelling::nearest("kail", ["kale", "leek"]), Some("kale"));
/// assert_eq!(trayful::spelling::nearest("xyzzy", ["kale", "leek"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const LONGEST: usize = 60;
    const MOST: usize = 4000;
    if word.len() > LONGEST {
        return None;
    }
    let word = word.to_lowercase();
    let short = candidates.into_iter().take(MOST).filter(|known| known.len() <= LONGEST);
    let scored = short.map(|known| (strsim::jaro_winkler(&word, &known.to_lowercase()), known));
    let best = scored.reduce(|best, next| if next.0 > best.0 { next } else { best });
    best.and_then(|(score, candidate)| (score >= 0.8).then_some(candidate))
}

/// Advice to use the nearest known spelling.
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(word, candidates).map(|near| format!("did you mean `{near}`?"))
}
