//! `trayful yield`: enters a bucket test into a recipe file. `yield` is a reserved word of
//! Rust, so that the module is written `r#yield`.

use super::args::YieldArgs;
use super::{Failure, Session, output, said};
use crate::catalogue::Catalogue;
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText, Span};
use crate::printable::shown;
use crate::recipe::{built_in, default_yield};
use crate::source::{Edit, FileKind, Original, argument, edited, parse};
use crate::units::{percent, plain, to_litres};
use crate::week::Inputs;
use std::path::Path;
use std::sync::Arc;

pub(super) fn run(args: &YieldArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let (kept, odd) = kept(&args.before, &args.after)?;
    let path = Path::new(&args.recipe);
    let catalogue = Catalogue::built_in();
    if !path.exists()
        && let Some(recipe) = built_in(&args.recipe, &catalogue)
    {
        let was = recipe?.yield_.unwrap_or_else(default_yield);
        return session.write(&format!(
            "{kept} of the loose ingredients are kept; the built-in recipe takes {}. Built-in recipes are not changed: \
             copy this one beside your week and write `yield: {kept}` in it.\n{}",
            percent(was),
            odd.map(|odd| format!("{odd}: {MEASURE_AGAIN}.\n")).unwrap_or_default()
        ));
    }
    // In order before it is changed.
    let inputs = Inputs { place: args.place.as_deref(), ..session.inputs(session.disk, &[]) };
    let checked = inputs.check(path)?;
    if checked.kind != "recipe" {
        return said(format!("`{}` is a {}, not a recipe", shown(path), checked.kind));
    }
    if let Some(odd) = odd.as_ref().filter(|_| !args.anyway) {
        let source = SourceText::argument("--after", &args.after);
        let expected = "60 to 100 % of what went in";
        let help = Some(format!("{MEASURE_AGAIN}; if it is so, `--anyway` writes it"));
        let problem = Problem::new(Code::Quantity, source.whole(), odd, expected).with_help(help);
        return Err(Rejected::of(source, problem).into());
    }
    let original = Original::load(path, FileKind::Yaml)?;
    let edit = edit(&original, &kept).ok_or_else(|| by_hand(path, &kept))?;
    let (bytes, _) = edited(&original.bytes, &[edit]).ok_or_else(|| by_hand(path, &kept))?;
    // And after: the new text must say just this.
    let new = Original::of(&shown(path), bytes.clone())?;
    if yield_of(&new).as_deref() != Some(kept.as_str()) {
        return Err(by_hand(path, &kept));
    }
    let opened = session.open()?;
    output::replace(path, &original.bytes, &bytes)?;
    let odd = odd.map(|odd| format!(" ({odd})")).unwrap_or_default();
    let done = format!("recipe `{}`: yield {kept}, written to {}{odd}", checked.name, shown(path));
    session.write_to(opened, |out| writeln!(out, "{done}")).map_err(|failure| failure.after(Some(done)))
}

fn by_hand(path: &Path, kept: &str) -> Failure {
    Failure::Said(format!("`{}` was not changed: write `yield: {kept}` in it by hand", shown(path)))
}

/// A smaller share is asked about: in the limit model of packing (Furnas) no two parts keep less than 71 %.
const LEAST_USUAL: f64 = 0.6 - 1e-9;
/// What a yield out of the ordinary may come from.
const MEASURE_AGAIN: &str = "measure again, with the same bucket, struck off and never pressed, and look at the units";

/// The share kept, in percent to the tenth; and what is odd about it, if anything.
fn kept(before: &str, after: &str) -> Result<(String, Option<String>), Rejected> {
    let before_l = to_litres(argument("--before", before)?);
    let share = to_litres(argument("--after", after)?) / before_l;
    // A tenth is the least that a recipe may say.
    let wrong = match share {
        _ if share > 1.0 => "more came out of the bucket than went in",
        _ if share < 0.1 => "less than a tenth is left",
        _ => {
            let kept = format!("{} %", plain(share * 100.0, 1));
            let odd = (share < LEAST_USUAL).then(|| format!("{kept} is less than mixes keep as a rule, 60 to 100 %"));
            return Ok((kept, odd));
        }
    };
    let source = SourceText::argument("--after", after);
    let expected = "measured loose before, and blended and moist after";
    let problem = Problem::new(Code::Quantity, source.whole(), wrong, expected);
    Err(Rejected::of(source, problem))
}

/// The text under `yield:` at the top of the file.
fn yield_of(original: &Original) -> Option<String> {
    let source = &original.source;
    let node = parse(&source.text, &Problems::new(Arc::clone(source)))?;
    node.get("yield")?.text().map(str::to_owned)
}

/// New words for the yield that stands there, or a line at the end.
fn edit(original: &Original, kept: &str) -> Option<Edit> {
    let source = &original.source;
    let node = parse(&source.text, &Problems::new(Arc::clone(source)))?;
    if let Some(found) = node.get("yield") {
        // A scalar that lies in the text as it reads, no alias or escape.
        let as_it_reads = source.text.get(found.at.start..found.at.end) == Some(found.text()?);
        return as_it_reads.then(|| Edit { at: original.range(found.at), text: kept.to_owned() });
    }
    let end = Span::new(source.text.len(), source.text.len());
    let gap = if source.text.ends_with('\n') { "" } else { original.line_end() };
    let text = format!("{gap}yield: {kept}   # by a bucket test{}", original.line_end());
    Some(Edit { at: original.range(end), text })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The text with its yield changed to 90 %; `None` where that is left to the user.
    fn with_yield(text: &str) -> Option<String> {
        let original = Original::of("recipe.yaml", text.as_bytes().to_vec()).unwrap();
        let (bytes, _) = edited(&original.bytes, &[edit(&original, "90 %")?])?;
        Some(String::from_utf8(bytes).unwrap())
    }

    #[test]
    fn only_the_words_of_the_yield_change() {
        assert_eq!(with_yield("yield: 88 %   # ours\r\n").unwrap(), "yield: 90 %   # ours\r\n");
        assert_eq!(with_yield("{recipe: own, yield: 8/10}").unwrap(), "{recipe: own, yield: 90 %}");
        assert_eq!(with_yield("\u{feff}yield: 7").unwrap(), "\u{feff}yield: 90 %");
        // Written over two lines, it is not the words that stand there.
        assert_eq!(with_yield("yield: 88\n  %\n"), None);
    }

    #[test]
    fn a_yield_that_is_not_there_is_a_line_at_the_end() {
        assert_eq!(with_yield("recipe: own").unwrap(), "recipe: own\nyield: 90 %   # by a bucket test\n");
        assert_eq!(with_yield("recipe: own\r\n").unwrap(), "recipe: own\r\nyield: 90 %   # by a bucket test\r\n");
    }

    #[test]
    fn what_is_kept_is_told_to_the_tenth() {
        let share = |before, after| kept(before, after).ok().map(|(kept, _)| kept);
        assert_eq!(share("12 L", "10.5 L").as_deref(), Some("87.5 %"));
        assert_eq!(share("3 L", "2 L").as_deref(), Some("66.7 %"));
        assert_eq!(share("1 L", "100 mL").as_deref(), Some("10 %"));
        assert_eq!([share("1 L", "99 mL"), share("1 L", "1.01 L")], [None, None]);
    }
}
