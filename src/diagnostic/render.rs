//! Faults as a person reads them. The only file that names `annotate-snippets`.

use super::{Problem, Rejected, SourceText, Span};
use crate::printable::{printable, within_a_line};
use crate::wrap::wrap;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;
use unicode_width::UnicodeWidthStr;

const COLUMNS: usize = 80;
/// Bytes of a line on either side of a place that are laid out.
const AROUND: usize = 500;
/// Columns of a place that are underlined.
const WIDEST_PLACE: usize = 60;

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
    for file in rejected.files() {
        let mut lines = Lines { text: &file.source.text, begin: 0, number: 1 };
        for problem in &file.found {
            let line = problem.at.map(|at| lines.quoted(at));
            out.push_str(&one(&renderer, &file.source, problem, line.as_ref()));
            out.push_str("\n\n");
        }
        if file.more > 0 {
            out.push_str(&format!("and {} more in {}\n\n", file.more, file.source.name));
        }
    }
    out
}

fn one(renderer: &Renderer, source: &SourceText, problem: &Problem, line: Option<&QuotedLine>) -> String {
    let what = match problem.at {
        Some(_) => within_a_line(&problem.what).into_owned(),
        None => within_a_line(&format!("{}: {}", source.name, problem.what)).into_owned(),
    };
    let title = Level::ERROR.primary_title(what.as_str()).id(problem.code.name());
    let expected = if problem.expected.is_empty() { String::new() } else { format!("expected {}", problem.expected) };
    // What stands left of a line of advice takes fourteen columns.
    let help = problem.help.as_ref().map(|help| wrap(&printable(help), COLUMNS - 14, "").join("\n"));
    let mut group = match line {
        Some(line) => {
            let quoted = Snippet::source(line.text.as_str())
                .path(source.name.as_str())
                .line_start(line.number)
                .annotation(AnnotationKind::Primary.span(line.place.clone()).label(expected.as_str()));
            title.element(quoted)
        }
        None => Group::with_title(title),
    };
    if let Some(help) = &help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    let shown = renderer.render(&[group]);
    match line {
        // The library counts the columns of the piece that it is given.
        Some(QuotedLine { number, column, left_out, .. }) if *left_out > 0 => {
            let place = |column: usize| format!("{}:{number}:{column}", source.name);
            shown.replacen(&place(*column), &place(column + left_out), 1)
        }
        _ => shown,
    }
}

/// The piece of a line that a place stands in, and the place within it, on character boundaries.
struct QuotedLine {
    text: String,
    number: usize,
    /// Where the place begins, in characters of the piece from one.
    column: usize,
    /// Characters of the line before the piece.
    left_out: usize,
    place: Range<usize>,
}

/// The lines of a text, each looked for from the one before: places come in order.
struct Lines<'t> {
    text: &'t str,
    /// Where the line begins that was found last.
    begin: usize,
    /// Its number.
    number: usize,
}

impl Lines<'_> {
    fn quoted(&mut self, at: Span) -> QuotedLine {
        let text = self.text;
        let start = floor_boundary(text, at.start);
        if start < self.begin {
            (self.begin, self.number) = (0, 1);
        }
        let passed = &text[self.begin..start];
        if let Some(newline) = passed.rfind('\n') {
            self.number += passed[..=newline].bytes().filter(|byte| *byte == b'\n').count();
            self.begin += newline + 1;
        }
        let end = text[start..].find('\n').map_or(text.len(), |newline| start + newline);
        let stop = within_columns(text, start..ceil_boundary(text, at.end).clamp(start, end));
        // A line may be a whole file: no more of it is looked at than can be shown.
        let from = floor_boundary(text, start.saturating_sub(AROUND)).max(self.begin);
        let until = ceil_boundary(text, stop + AROUND).min(end);
        let shown = |until: usize| printable(&text[from..until]).len();
        QuotedLine {
            text: printable(&text[from..until]).into_owned(),
            number: self.number,
            column: 1 + text[from..start].chars().count(),
            left_out: text[self.begin..from].chars().count(),
            place: shown(start)..shown(stop),
        }
    }
}

/// Where a place ends, or its [`WIDEST_PLACE`] columns do as they are shown.
fn within_columns(text: &str, place: Range<usize>) -> usize {
    let mut columns = 0;
    let wider = text[place.clone()].char_indices().find(|(_, c)| {
        // A tab is shown as four spaces; marks without a width could go on for ever.
        columns += if *c == '\t' { 4 } else { printable(c.encode_utf8(&mut [0; 4])).width().max(1) };
        columns > WIDEST_PLACE
    });
    wider.map_or(place.end, |(at, _)| place.start + at)
}

// The library panics when a span cuts a character.
fn floor_boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rfind(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

fn ceil_boundary(text: &str, at: usize) -> usize {
    (at.min(text.len())..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(text.len())
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
    fn the_first_hundred_faults_are_made_and_the_others_counted() {
        let text = format!("{}\n", "- x ".repeat(500_000));
        let problems = Problems::new(Arc::new(SourceText { name: "week.yaml".to_owned(), text: text.clone() }));
        let mut made = 0;
        for at in (0..500_000).map(|index| 4 * index + 2) {
            problems.push_with(|| {
                made += 1;
                Problem::new(Code::UnknownCrop, Span::new(at, at + 1), "y".repeat(1 << 12), "a crop")
            });
        }
        assert_eq!((made, problems.len()), (100, 500_000));
        let shown = render(&problems.settle(None::<()>).unwrap_err(), false);
        assert!(shown.contains("week.yaml:1:399\n") && shown.ends_with("\n\nand 499900 more in week.yaml\n\n"));
        assert!(shown.len() < 100 * 2_000, "{}", shown.len());
    }

    /// Of a line as long as a file no more is laid out than is shown; the lines before are counted once.
    #[test]
    fn no_more_of_a_line_is_looked_at_than_is_shown() {
        let text = format!("a\n{}\nb\n", "ü".repeat(1 << 20));
        let mut lines = Lines { text: &text, begin: 0, number: 1 };
        for (start, end, number, column) in
            [(0, 1, 1, 1), (2, 1 << 20, 2, 1), (1 << 20, 1 << 21, 2, 1 << 19), (3 + (2 << 20), 4 + (2 << 20), 3, 1)]
        {
            let line = lines.quoted(Span::new(start, end));
            assert_eq!((line.number, line.left_out + line.column), (number, column));
            assert!(line.text.len() <= 2 * (AROUND + WIDEST_PLACE) + 4 && line.place.len() <= 2 * WIDEST_PLACE);
        }
        assert_eq!(lines.quoted(Span::new(0, 1)).number, 1);
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        let text = format!("{}kail{}", "ü".repeat(3000), "x".repeat(3000));
        let shown = rendered(&text, Span::new(6000, 6004));
        assert!(shown.contains("week.yaml:1:3001"), "{shown}");
        assert!(shown.lines().all(|line| line.chars().count() <= 90), "{shown}");
    }

    #[test]
    fn a_wide_place_is_cut_by_its_columns() {
        for (word, shown) in [("\t", 15), ("x", 60), ("ü", 60), ("苗", 30), ("\u{1b}", 10), ("e\u{301}", 30)] {
            let text = word.repeat(2000);
            let at = Span::new(word.len() * 1000, word.len() * 2000);
            let line = Lines { text: &text, begin: 0, number: 1 }.quoted(at);
            assert_eq!(line.text[line.place].chars().count(), printable(word).chars().count() * shown, "{word:?}");
            let widest = rendered(&text, at).lines().map(UnicodeWidthStr::width).max();
            assert!(widest.is_some_and(|columns| columns <= 120), "{word:?}: {widest:?}");
        }
    }

    #[test]
    fn places_outside_the_text_do_no_harm() {
        for at in [Span::new(0, 0), Span::new(5, 3), Span::new(900, 990), Span::new(3, 900)] {
            assert!(rendered("äöü\n\n", at).contains("week.yaml:"));
        }
    }
}
