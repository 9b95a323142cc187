//! How names are compared.

/// A name as it is compared: case, hyphens, underscores and typographic apostrophes make no
/// difference.
pub fn key(name: &str) -> String {
    let mut key = String::with_capacity(name.len());
    fold(name, |c| key.push(c));
    key
}

/// What a name may be the plural of, or the singular, and these with an apostrophe that was
/// left out.
pub(super) fn other_forms(key: &str) -> impl Iterator<Item = String> {
    let without = |ending: &str, instead: &str| key.strip_suffix(ending).map(|stem| format!("{stem}{instead}"));
    let forms = [without("ies", "y"), without("es", ""), without("s", ""), Some(format!("{key}s"))];
    let forms: Vec<String> = forms.into_iter().flatten().collect();
    let all = forms.iter().map(String::as_str).chain([key]).filter(|form| form.contains("s "));
    let with_apostrophe: Vec<String> = all.map(|form| form.replacen("s ", "'s ", 1)).collect();
    forms.into_iter().chain(with_apostrophe)
}

/// Hands on a name as it is compared, character by character.
pub(super) fn fold(name: &str, mut take: impl FnMut(char)) {
    let (mut begun, mut gap) = (false, false);
    for c in name.chars() {
        let kept = match c {
            'a'..='z' => Some(c),
            '-' | '_' | '‑' => None,
            c if c.is_whitespace() => None,
            '’' => Some('\''),
            c => Some(c.to_ascii_lowercase()),
        };
        let Some(c) = kept else {
            gap = begun;
            continue;
        };
        if std::mem::take(&mut gap) {
            take(' ');
        }
        begun = true;
        if c.is_ascii() {
            take(c);
        } else {
            c.to_lowercase().for_each(&mut take);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::key;

    #[test]
    fn apostrophes_and_case_do_not_matter() {
        assert_eq!(key("Lady’s  Fingers"), key("lady's fingers"));
        assert_eq!((key(" -50_CELL‑ deep-"), key("Äpfel")), ("50 cell deep".to_owned(), "äpfel".to_owned()));
    }
}
