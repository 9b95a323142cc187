//! A line of the terminal, with what is known completed as it is typed: all that is made of the line editor.

use super::ask::Answers;
use rustyline::completion::Completer;
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::MemHistory;
use rustyline::validate::Validator;
use rustyline::{Config, Context, Editor, Helper};
use std::io::{self, Write};

/// Somebody at a terminal.
pub struct Terminal(Editor<Names, MemHistory>);

/// The names that may be completed.
#[derive(Default)]
struct Names(Vec<String>);

impl Terminal {
    /// The terminal that standard input and output are; `None` where it cannot be used.
    pub fn new() -> Option<Self> {
        let editor = Editor::with_history(Config::default(), MemHistory::new()).ok()?;
        Some(Self(editor))
    }
}

impl Answers for Terminal {
    fn answer(&mut self, question: &str, names: Vec<String>) -> io::Result<Option<String>> {
        self.0.set_helper(Some(Names(names)));
        match self.0.readline(&format!("{question} ")) {
            Ok(line) => Ok(Some(line)),
            Err(ReadlineError::Eof | ReadlineError::Interrupted) => Ok(None),
            Err(error) => Err(io::Error::other(error)),
        }
    }

    fn tell(&mut self, text: &str) -> io::Result<()> {
        writeln!(io::stdout(), "{text}")
    }
}

impl Names {
    /// Those that begin with a line, whatever its case.
    fn begun<'n>(&'n self, line: &'n str) -> impl Iterator<Item = &'n String> {
        let begins = |name: &&String| name.get(..line.len()).is_some_and(|start| start.eq_ignore_ascii_case(line));
        self.0.iter().filter(begins)
    }
}

impl Completer for Names {
    type Candidate = String;

    fn complete(&self, line: &str, at: usize, _: &Context<'_>) -> rustyline::Result<(usize, Vec<String>)> {
        Ok((0, self.begun(&line[..at]).cloned().collect()))
    }
}

impl Hinter for Names {
    type Hint = String;

    fn hint(&self, line: &str, at: usize, _: &Context<'_>) -> Option<String> {
        let is_open = !line.is_empty() && at == line.len();
        self.begun(line)
            .next()
            .filter(|_| is_open)
            .map(|name| name[line.len()..].to_owned())
            .filter(|rest| !rest.is_empty())
    }
}

impl Highlighter for Names {}
impl Validator for Names {}
impl Helper for Names {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_completed_as_it_is_typed() {
        let names = Names(["kale", "kai lan", "72-cell"].map(str::to_owned).to_vec());
        let history = MemHistory::new();
        let context = Context::new(&history);
        assert_eq!(names.complete("KA", 2, &context).unwrap(), (0, vec!["kale".to_owned(), "kai lan".to_owned()]));
        assert_eq!(names.hint("kai", 3, &context).as_deref(), Some(" lan"));
        assert_eq!(names.hint("kale", 4, &context), None);
        assert_eq!((names.hint("", 0, &context), names.hint("é", 2, &context)), (None, None));
    }
}
