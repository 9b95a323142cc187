//! A soak asked for by the options of the command line.

use super::Soak;
use super::read::{read, settle};
use crate::awake::Awake;
use crate::diagnostic::{Problem, Problems, Rejected, SourceText, Span};
use crate::place::lay_over;
use crate::source::{Node, Value};
use jiff::tz::TimeZone;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Checks what is asked for on the command line, by the rules of the file: each option with the key of a soak file that
/// it stands for (`coir/dry` for `dry:` within `coir:`) and its value, if it is given. They are laid over the `soak:` of a
/// place, if there is one; the keys that were taken from it come with the soak.
///
/// # Errors
/// [`Rejected`] with every fault, each under the name of its option.
///
/// ```
/// use trayful::{awake::Awake, coir::soak::from_options};
/// let asked = [("--dry", "coir/dry", Some("1 kg")), ("--sold-as", "sold_as", Some("washed")), ("--hours", "hours", None)];
/// assert_eq!(from_options(&asked, None, &Awake::default(), &|| jiff::tz::TimeZone::UTC)?.0.coir.word(), "washed");
/// # Ok::<(), trayful::diagnostic::Rejected>(())
/// ```
pub fn from_options(
    asked: &[(&str, &str, Option<&str>)],
    place: Option<Node<'_>>,
    awake: &Awake,
    zone: &dyn Fn() -> TimeZone,
) -> Result<(Soak, Vec<String>), Rejected> {
    // The values, one to a line, are the text of a file: where a fault stands tells its option.
    let (mut text, mut given) = (String::new(), Vec::new());
    let mut maps = BTreeMap::from([("", vec![entry("soak", text_node(Span::default(), "coir"))])]);
    for (option, path, value) in asked {
        let Some(value) = *value else { continue };
        let at = Span::new(text.len(), text.len() + value.len());
        text = text + value + "\n";
        given.push((*option, value, at));
        let (outer, key) = path.split_once('/').unwrap_or(("", path));
        maps.entry(outer).or_default().push(entry(key, text_node(at, value)));
    }
    let mut keys = maps.remove("").unwrap_or_default();
    keys.extend(
        maps.into_iter().map(|(outer, inner)| entry(outer, Node { at: inner[0].1.at, value: Value::Map(inner) })),
    );
    let mut keys = Node { at: Span::default(), value: Value::Map(keys) };
    let taken = place.map(|place| lay_over(&mut keys, place)).unwrap_or_default();
    let problems = Problems::new(Arc::new(SourceText { name: "options".to_owned(), text }));
    let soak = read(&keys, awake, zone, &problems);
    let soak = settle(problems, soak)
        .map_err(|rejected| if given.is_empty() { rejected } else { by_option(&rejected, &given) })?;
    Ok((soak, taken))
}

fn text_node(at: Span, text: &str) -> Node<'_> {
    Node { at, value: Value::Text(text.into()) }
}

fn entry<'t>(key: &'t str, value: Node<'t>) -> (Node<'t>, Node<'t>) {
    (text_node(value.at, key), value)
}

/// The same faults, each with the option that it is of.
fn by_option(rejected: &Rejected, given: &[(&str, &str, Span)]) -> Rejected {
    let mut sorted = Rejected::default();
    for (option, value, Span { start, end }) in given {
        for (_, problem) in rejected.problems() {
            if let Some(at) = problem.at.filter(|at| (start..=end).contains(&&at.start)) {
                let problem = Problem { at: Some(Span::new(at.start - start, at.end - start)), ..problem.clone() };
                sorted = sorted.and(Rejected::of(SourceText::argument(option, value), problem));
            }
        }
    }
    sorted
}

#[cfg(test)]
mod tests {
    use super::{Awake, from_options};

    /// A fault of what is not there has a place too.
    #[test]
    fn no_rejection_is_silent() {
        for asked in [&[][..], &[("--sold-as", "sold_as", Some("washed"))]] {
            let rejected = from_options(asked, None, &Awake::default(), &|| jiff::tz::TimeZone::UTC).unwrap_err();
            assert!(rejected.to_string().contains("does not say how much coir"), "{rejected}");
        }
    }
}
