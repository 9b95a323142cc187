//! Faults as a person reads them. The only file that names `annotate-snippets`.

use super::{Problem, Rejected, SourceText, Span};
use crate::printable::{printable, within_a_line};
use crate::wrap::wrap;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::fmt;

const COLUMNS: usize = 80;

impl fmt::Display for Rejected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&render(self, false))
    }
}

impl std::error::Error for Rejected {}

/// Every fault of every file: place, quoted line, caret, expectation, advice.
pub fn render(rejected: &Rejected, color: bool) -> String {
    let renderer = if color { Renderer::styled() } else { Renderer::plain() }.term_width(COLUMNS);
    let mut out = String::new();
    for (source, problem) in rejected.problems() {
        out.push_str(&one(&renderer, source, problem));
        out.push_str("\n\n");
    }
    out
}

fn one(renderer: &Renderer, source: &SourceText, problem: &Problem) -> String {
    let what = match problem.at {
        Some(_) => within_a_line(&problem.what).into_owned(),
        None => within_a_line(&format!("{}: {}", source.name, problem.what)).into_owned(),
    };
    let title = Level::ERROR.primary_title(what.as_str()).id(problem.code.name());
    let expected = if problem.expected.is_empty() { String::new() } else { format!("expected {}", problem.expected) };
    // What stands left of a line of advice takes fourteen columns.
    let help = problem.help.as_ref().map(|help| wrap(&printable(help), COLUMNS - 14, "").join("\n"));
    let line = problem.at.map(|at| line_at(&source.text, at));
    let mut group = match &line {
        Some(line) => title.element(
            Snippet::source(line.text.as_str())
                .path(source.name.as_str())
                .line_start(line.number)
                .annotation(AnnotationKind::Primary.span(line.place.clone()).label(expected.as_str())),
        ),
        None => Group::with_title(title),
    };
    if let Some(help) = &help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    renderer.render(&[group])
}

/// The line a place stands in, and the place within it, on character boundaries.
struct QuotedLine {
    text: String,
    number: usize,
    place: std::ops::Range<usize>,
}

fn line_at(text: &str, at: Span) -> QuotedLine {
    let start = floor_boundary(text, at.start);
    let begin = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
    let end = text[start..].find('\n').map_or(text.len(), |newline| start + newline);
    let stop = ceil_boundary(text, at.end).clamp(start, end);
    let shown = |until: usize| printable(&text[begin..until]).len();
    QuotedLine {
        text: printable(&text[begin..end]).into_owned(),
        number: 1 + text[..begin].bytes().filter(|byte| *byte == b'\n').count(),
        place: shown(start)..shown(stop.max(start)),
    }
}

// The library panics when a span cuts a character.
fn floor_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn ceil_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at += 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::super::{Code, Problems};
    use super::*;
    use std::sync::Arc;

    fn rendered(text: &str, at: Span) -> String {
        let source = Arc::new(SourceText { name: "week.yaml".to_owned(), text: text.to_owned() });
        let problems = Problems::new(source);
        problems.push(
            Problem::new(Code::UnknownCrop, at, "no crop is called `kail`", "a crop")
                .with_help(Some("did you mean `kale`?".to_owned())),
        );
        render(&problems.settle(None::<()>).unwrap_err(), false)
    }

    #[test]
    fn quotes_the_line_with_a_caret() {
        let shown = rendered("week: one\nsowings:\n  - {crop: kail}\n", Span::new(30, 34));
        assert_eq!(
            shown,
            "error[unknown-crop]: no crop is called `kail`\n --> week.yaml:3:12\n  |\n\
             3 |   - {crop: kail}\n  |            ^^^^ expected a crop\n  |\n  = help: did you mean `kale`?\n\n"
        );
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        let text = format!("{}kail{}", "ü".repeat(3000), "x".repeat(3000));
        let shown = rendered(&text, Span::new(6000, 6004));
        assert!(shown.contains("week.yaml:1:3001"), "{shown}");
        assert!(shown.lines().all(|line| line.chars().count() <= 90), "{shown}");
    }

    #[test]
    fn places_outside_the_text_do_no_harm() {
        for at in [Span::new(0, 0), Span::new(5, 3), Span::new(900, 990), Span::new(3, 900)] {
            assert!(rendered("äöü\n\n", at).contains("week.yaml:"));
        }
    }
}
