//! One rule for facts that stand in two files: what the file itself states wins, key by key.

use crate::source::{Node, Value};

/// Maps that are merged within: of what the file does not state in them, the earlier one's holds.
const INSIDE: [&str; 5] = ["rack", "soak", "allowances", "frost", "coir"];
/// What falls away of the earlier map where the later one states a key: it says the same in another way, or
/// is a fact of what is no longer there.
const DISPLACES: [(&str, &[&str]); 6] = [
    ("lab", &["sold_as"]),
    ("sold_as", &["lab"]),
    ("salt", &["label_ca"]),
    ("hours", &["particles"]),
    ("particles", &["hours"]),
    ("steps", &["hydrate", "soaks", "rinses", "hours", "particles", "salt", "label_ca", "target"]),
];
/// Entries that are laid over each other by the tables, name by name.
const BY_NAME: [&str; 3] = ["trays", "crops", "ingredients"];

/// Lays a map over an earlier one; the names of the keys that took something of it.
pub fn lay_over<'t>(own: &mut Node<'t>, base: Node<'t>) -> Vec<String> {
    let (Value::Map(own), Value::Map(base)) = (&mut own.value, base.value) else { return Vec::new() };
    let is_stated = |key: &str| own.iter().any(|(name, value)| name.text() == Some(key) && value.value != Value::Null);
    let displaced = DISPLACES.iter().filter(|(key, _)| is_stated(key));
    let displaced: Vec<&str> = displaced.flat_map(|(_, keys)| *keys).copied().collect();
    let mut taken = Vec::new();
    for (key, value) in base {
        let Some(name) = key.text().filter(|name| !displaced.contains(name)).map(str::to_owned) else { continue };
        let took = match own.iter_mut().find(|(known, _)| known.text() == Some(&name)) {
            None => {
                own.push((key, value));
                true
            }
            Some((_, there)) if there.value == Value::Null => {
                *there = value;
                true
            }
            Some((_, there)) => INSIDE.contains(&name.as_str()) && !lay_over(there, value).is_empty(),
        };
        taken.extend(took.then_some(name));
    }
    taken
}

/// A place without its name and its own trays, crops and ingredients; the kinds that it has of these.
pub fn without_own_entries<'t>(place: Node<'t>) -> (Node<'t>, Vec<String>) {
    let Value::Map(map) = place.value else { return (place, Vec::new()) };
    let is_own = |(key, _): &(Node<'t>, Node<'t>)| key.text().is_some_and(|key| BY_NAME.contains(&key));
    let (own, rest): (Vec<_>, Vec<_>) = map.into_iter().partition(is_own);
    let own = own.into_iter().filter_map(|(key, _)| key.text().map(str::to_owned)).collect();
    let rest = rest.into_iter().filter(|(key, _)| key.text() != Some("place")).collect();
    (Node { at: place.at, value: Value::Map(rest) }, own)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Problems, SourceText};
    use crate::source::parse;

    /// The merged map as `key=value` of its scalars, those of inner maps with their key, in order; what was taken.
    fn merged(own: &str, base: &str) -> (String, Vec<String>) {
        fn words(node: &Node<'_>) -> String {
            let Value::Map(map) = &node.value else { return node.text().unwrap_or("~").to_owned() };
            let words = map.iter().map(|(key, value)| format!("{}={}", key.text().unwrap(), words(value)));
            format!("({})", words.collect::<Vec<_>>().join(" "))
        }
        let problems = Problems::new(SourceText::argument("x", ""));
        let mut node = parse(own, &problems).unwrap();
        let taken = lay_over(&mut node, parse(base, &problems).unwrap());
        (words(&node), taken)
    }

    #[test]
    fn what_the_file_states_wins_key_by_key() {
        let (words, taken) = merged(
            "{tub: 1, scoop: , rack: {occupied: 2}, use: {a: 1}}",
            "{tub: 5, scoop: 6, rack: {shelves: 3, occupied: 9}, use: {b: 2}, mix_at: 7}",
        );
        assert_eq!(words, "(tub=1 scoop=6 rack=(occupied=2 shelves=3) use=(a=1) mix_at=7)");
        assert_eq!(taken, ["scoop", "rack", "mix_at"]);
        assert_eq!(merged("{rack: {shelves: 1}}", "{rack: {shelves: 2}}").1, Vec::<String>::new());
    }

    #[test]
    fn what_says_the_same_in_another_way_falls_away() {
        for (own, base, wanted) in [
            ("{soak: {lab: 1}}", "{soak: {sold_as: 2, tub: 3}}", "(soak=(lab=1 tub=3))"),
            ("{soak: {sold_as: 1}}", "{soak: {lab: 2}}", "(soak=(sold_as=1))"),
            ("{soak: {salt: 1}}", "{soak: {salt: 2, label_ca: 3}}", "(soak=(salt=1))"),
            ("{steps: 1}", "{salt: 2, soaks: 3, sold_as: 4}", "(steps=1 sold_as=4)"),
            ("{coir: {count: 2}}", "{coir: {product: 3}}", "(coir=(count=2 product=3))"),
        ] {
            assert_eq!(merged(own, base).0, wanted, "{own}");
        }
    }
}
