//! `trayful yield`: enters a bucket test into a recipe file. `yield` is a reserved word of
//! Rust, so that the module is written `r#yield`.

use super::args::YieldArgs;
use super::argument::argument;
use super::{DONE, Failure, Session, output};
use crate::catalogue::Catalogue;
use crate::diagnostic::{Code, Problem, Problems, Rejected, Span};
use crate::recipe::{built_in, default_yield};
use crate::source::{Disk, Edit, Kind, Node, Original, Value, edited, parse};
use crate::units::{Volume, percent, plain, to_litres, volume};
use crate::week;
use std::path::Path;
use std::sync::Arc;

pub(super) fn run(args: &YieldArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let kept = kept(&args.before, &args.after)?;
    let path = Path::new(&args.recipe);
    let catalogue = Catalogue::built_in()?;
    if !path.exists()
        && let Some(recipe) = built_in(&args.recipe, &catalogue)
    {
        let was = recipe?.yield_.unwrap_or_else(default_yield);
        session.write(&format!(
            "{kept} of the loose ingredients are kept; the built-in recipe takes {}. Built-in recipes are not changed: \
             copy this one beside your week and write `yield: {kept}` in it.\n",
            percent(was)
        ))?;
        return Ok(DONE);
    }
    // In order before it is changed.
    let checked = week::check(path, &Disk)?;
    if checked.kind != "recipe" {
        return Err(Failure::Said(format!("`{}` is a {}, not a recipe", path.display(), checked.kind)));
    }
    let original = Original::load(path, Kind::Yaml)?;
    let edit = edit(&original, &kept).ok_or_else(|| by_hand(path, &kept))?;
    let (bytes, _) = edited(original.bytes(), &[edit]).ok_or_else(|| by_hand(path, &kept))?;
    // And after: the new text must say just this.
    let new = Original::of(&path.display().to_string(), bytes.clone())?;
    if yield_of(&new).as_deref() != Some(kept.as_str()) {
        return Err(by_hand(path, &kept));
    }
    let text = String::from_utf8(bytes).map_err(|_| by_hand(path, &kept))?;
    output::to_file(path, &text)?;
    session.write(&format!("recipe `{}`: yield {kept}, written to {}\n", checked.name, path.display()))?;
    Ok(DONE)
}

fn by_hand(path: &Path, kept: &str) -> Failure {
    Failure::Said(format!("`{}` was not changed: write `yield: {kept}` in it by hand", path.display()))
}

/// The share kept, in percent to the tenth.
fn kept(before: &str, after: &str) -> Result<String, Rejected> {
    let before_l = option("--before", before, |_| None)?;
    let after_l = option("--after", after, |after| {
        let share = to_litres(after) / to_litres(before_l);
        // A tenth is the least that a recipe may say.
        let wrong = if share > 1.0 {
            "more came out of the bucket than went in"
        } else if share < 0.1 {
            "less than a tenth is left"
        } else {
            return None;
        };
        Some((wrong, "measured loose before, and blended and moist after"))
    })?;
    Ok(format!("{} %", plain(to_litres(after_l) / to_litres(before_l) * 100.0, 1)))
}

/// A volume of the command line, with a check of its own.
fn option(
    name: &str,
    text: &str,
    wrong: impl FnOnce(Volume) -> Option<(&'static str, &'static str)>,
) -> Result<Volume, Rejected> {
    argument(name, text, |at, problems| {
        let volume = problems.measured(at, volume(text), "a volume such as `12 L`")?;
        if let Some((what, expected)) = wrong(volume) {
            problems.push(Problem::new(Code::Quantity, at, what, expected));
        }
        Some(volume)
    })
}

/// The value of `yield:` at the top of the file.
fn find_yield<'n, 't>(node: &'n Node<'t>) -> Option<&'n Node<'t>> {
    let Value::Map(map) = &node.value else { return None };
    let found = map.iter().find(|(key, _)| matches!(&key.value, Value::Text(key) if key == "yield"));
    found.map(|(_, value)| value)
}

fn yield_of(original: &Original) -> Option<String> {
    let source = original.source();
    let node = parse(&source.text, &Problems::new(Arc::clone(source)))?;
    match &find_yield(&node)?.value {
        Value::Text(text) => Some(text.to_string()),
        _ => None,
    }
}

/// New words for the yield that stands there, or a line at the end.
fn edit(original: &Original, kept: &str) -> Option<Edit> {
    let source = original.source();
    let node = parse(&source.text, &Problems::new(Arc::clone(source)))?;
    if let Some(found) = find_yield(&node) {
        // A scalar that lies in the text as it reads, no alias or escape.
        let Value::Text(text) = &found.value else { return None };
        let as_it_reads = source.text.get(found.at.start..found.at.end) == Some(text.as_ref());
        return as_it_reads.then(|| Edit { at: original.range(found.at), text: kept.to_owned() });
    }
    let end = Span::new(source.text.len(), source.text.len());
    let gap = if source.text.ends_with('\n') { "" } else { original.line_end() };
    let text = format!("{gap}yield: {kept}   # by a bucket test{}", original.line_end());
    Some(Edit { at: original.range(end), text })
}
