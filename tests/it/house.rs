//! The house in order: no circle of modules. How long a function may be is in `clippy.toml`.

use crate::support::root;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Every source file by its module path, such as `plan/buy`, without its unit tests.
fn sources() -> BTreeMap<String, String> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|end| end == "rs") {
                found.push(path);
            }
        }
    }
    let src = root().join("src");
    let mut found = Vec::new();
    walk(&src, &mut found);
    let named = found.into_iter().map(|path| {
        let name = path.strip_prefix(&src).unwrap().to_str().unwrap().trim_end_matches(".rs").to_owned();
        let text = fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]\nmod tests").next().unwrap();
        let code: Vec<&str> = code.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
        (name.strip_suffix("/mod").unwrap_or(&name).to_owned(), code.join("\n"))
    });
    named.collect()
}

/// The paths of a `use` tree, each with its segments: `super::{a::B, c}` has two.
fn paths(tree: &str) -> Vec<String> {
    let Some((head, rest)) = tree.split_once('{') else { return vec![tree.split(" as ").next().unwrap().to_owned()] };
    let inside = rest.trim_end().strip_suffix('}').unwrap_or(rest);
    let (mut depth, mut start, mut branches) = (0, 0, Vec::new());
    for (at, c) in inside.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                branches.push(&inside[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    branches.push(&inside[start..]);
    let branches = branches.into_iter().map(str::trim).filter(|branch| !branch.is_empty());
    branches.flat_map(paths).map(|path| format!("{}{path}", head.trim())).collect()
}

/// How lines that bring names in begin.
const USES: [&str; 4] = ["use ", "pub use ", "pub(crate) use ", "pub(super) use "];

/// The paths that a text writes out where it uses them.
fn inline(text: &str) -> impl Iterator<Item = String> + '_ {
    let words = text.split(|c: char| !c.is_alphanumeric() && !matches!(c, '_' | ':'));
    words.filter(|word| word.starts_with("crate::") || word.starts_with("super::")).map(str::to_owned)
}

/// Every `use` of a text, by the words before it (`use `, `pub use `), as paths.
fn uses<'t>(text: &'t str, start: &'static str) -> impl Iterator<Item = String> + 't {
    text.split('\n')
        .scan(0, |at, line| {
            let here = *at;
            *at += line.len() + 1;
            Some((here, line))
        })
        .filter(move |(_, line)| line.starts_with(start))
        .flat_map(move |(at, _)| paths(&text[at + start.len()..].split(';').next().unwrap().replace('\n', " ")))
}

/// The module below `folder` that a path from there names, itself or by what `folder`
/// hands on of it.
fn module(folder: &str, path: &str, sources: &BTreeMap<String, String>) -> Option<String> {
    let first = path.split("::").next()?.trim();
    let below = |name: &str| format!("{folder}/{name}").trim_start_matches('/').to_owned();
    if sources.contains_key(&below(first)) {
        return Some(below(first));
    }
    let parent = sources.get(folder)?;
    let handed = USES.into_iter().flat_map(|start| uses(parent, start));
    let own = handed.filter(|path| path.ends_with(&format!("::{first}")));
    let own = own.filter_map(|path| path.split("::").next().map(below)).filter(|name| sources.contains_key(name));
    // A function and a module of one name (`units::mass`) cannot be told apart here: neither counts.
    match &own.collect::<Vec<_>>()[..] {
        [only] => Some(only.clone()),
        _ => None,
    }
}

/// Which siblings each module uses, by the folder they stand in.
fn siblings(sources: &BTreeMap<String, String>) -> BTreeMap<String, BTreeSet<String>> {
    let mut edges: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (name, text) in sources {
        let folders: Vec<&str> = name.match_indices('/').map(|(at, _)| &name[..at]).collect();
        for path in USES.into_iter().flat_map(|start| uses(text, start)).chain(inline(text)) {
            let (folder, rest) = if let Some(rest) = path.strip_prefix("crate::") {
                (String::new(), rest)
            } else {
                let ups = path.matches("super::").count();
                let Some(folder) = ups.checked_sub(1).and_then(|up| folders.iter().rev().nth(up)) else { continue };
                ((*folder).to_owned(), path.trim_start_matches("super::"))
            };
            let mut folder = folder;
            let mut rest = rest.to_owned();
            // Down to the first module that the two do not share.
            while let Some(used) = module(&folder, &rest, sources) {
                let shared = *name == used || name.starts_with(&format!("{used}/"));
                if !shared {
                    let at = folder.len() + usize::from(!folder.is_empty());
                    let end = name[at..].find('/').map_or(name.len(), |end| at + end);
                    edges.entry(name[..end].to_owned()).or_default().insert(used);
                    break;
                }
                let Some((_, next)) = rest.split_once("::") else { break };
                (folder, rest) = (used, next.to_owned());
            }
        }
    }
    edges
}

#[test]
fn no_circle_of_modules() {
    let sources = sources();
    let mut edges = siblings(&sources);
    assert!(edges.len() > 60, "{}", edges.len());
    // What uses nothing that is left cannot be in a circle.
    loop {
        let before = edges.len();
        let left: BTreeSet<String> = edges.keys().cloned().collect();
        edges.values_mut().for_each(|used| used.retain(|module| left.contains(module)));
        edges.retain(|_, used| !used.is_empty());
        if edges.len() == before {
            break;
        }
    }
    assert!(edges.is_empty(), "{edges:#?}");
}
