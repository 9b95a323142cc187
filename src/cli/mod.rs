//! Request, load, compute, report. The only place that knows of terminals and clocks.

mod args;
mod catalogue;
mod check;
mod feed;
mod fill;
mod mixed;
mod output;
mod plan;
mod scale;
mod soak;
mod starter;
mod stocked;
mod r#yield;

use crate::diagnostic::{Rejected, render as render_faults};
use crate::report::{Format, Report, Style};
use crate::source::Files;
use crate::units::UnitSystem;
use crate::week::Inputs;
use args::{Arguments, ColorWhen, Command, Common, FormatName, UnitsName};
use clap::Parser;
use jiff::tz::TimeZone;
use std::ffi::OsString;
use std::io::Write;

/// Done.
pub const DONE: u8 = 0;
/// Done, but a requirement cannot be met.
pub const UNMET: u8 = 1;
/// Bad input or usage.
pub const REFUSED: u8 = 2;

/// What the program knows of where it runs.
#[derive(Clone, Copy, Debug)]
pub struct Surroundings {
    /// Standard output is a terminal that takes colour.
    pub color_out: bool,
    /// Standard error is one.
    pub color_err: bool,
    /// The time, where it is known.
    pub now: Option<jiff::Timestamp>,
    /// The zone of times in files that name none; asked for only where there is such a time.
    pub zone: fn() -> TimeZone,
}

impl Default for Surroundings {
    /// No terminal, no clock, and UTC.
    fn default() -> Self {
        Self { color_out: false, color_err: false, now: None, zone: || TimeZone::UTC }
    }
}

/// Runs a command line; results to `out`, messages to `err`; the exit code.
pub fn run(
    arguments: impl IntoIterator<Item = OsString>,
    surroundings: Surroundings,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> u8 {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            let (stream, color, code): (&mut dyn Write, bool, u8) = if error.use_stderr() {
                (err, surroundings.color_err, REFUSED)
            } else {
                (out, surroundings.color_out, DONE)
            };
            let text = error.render();
            // A closed pipe is no one to complain to.
            let _ = if color { write!(stream, "{}", text.ansi()) } else { write!(stream, "{text}") };
            return code;
        }
    };
    let colors = |terminal: bool| match arguments.common.color {
        ColorWhen::Auto => terminal,
        ColorWhen::Always => true,
        ColorWhen::Never => false,
    };
    let mut session = Session {
        common: &arguments.common,
        color: colors(surroundings.color_out),
        now: arguments.common.now.or(surroundings.now),
        zone: surroundings.zone,
        out,
        err,
    };
    carry_out(&arguments, &mut session).unwrap_or_else(|failure| {
        let text = match failure {
            Failure::Rejected(rejected) => render_faults(&rejected, colors(surroundings.color_err)),
            Failure::Said(text) => format!("error: {text}\n"),
        };
        let _ = session.err.write_all(text.as_bytes());
        REFUSED
    })
}

/// What the command cannot do with the common options, before anything is done: `mixed` and
/// `yield` change files of their own.
fn unfit(Arguments { command, common }: &Arguments) -> Option<&'static str> {
    if common.output.as_deref().is_some_and(|path| output::is_input(path, common.format)) {
        return Some("`--output` names a file that is there and may be your own: give the result another name");
    }
    if !command.only_text() {
        return None;
    }
    // Refused, rather than text given to what waits for another form, or metric to what
    // waits for other units.
    if common.format != FormatName::Text {
        return Some("this command has no other form than text: leave `--format` out");
    }
    common.units.map(|_| "this command has no amounts to give in other units: leave `--units` out")
}

fn carry_out(arguments: &Arguments, session: &mut Session<'_>) -> Result<u8, Failure> {
    if let Some(why) = unfit(arguments) {
        return Err(Failure::Said(why.to_owned()));
    }
    match &arguments.command {
        Command::Plan(args) => plan::run(args, session),
        Command::Scale(args) => scale::run(args, session),
        Command::Soak(args) => soak::run(args, session),
        Command::Feed(args) => feed::run(args, session),
        Command::Fill(args) => fill::run(args, session),
        Command::Mixed(args) => mixed::run(args, session),
        Command::Yield(args) => r#yield::run(args, session),
        Command::Check(args) => check::run(args, session),
        Command::List(args) => catalogue::list(args, session),
        Command::Show(args) => catalogue::show(args, session),
        Command::New(args) => starter::new(args, session),
        Command::Completions { shell } => starter::completions(*shell, session),
        Command::Man => starter::man(session),
    }
}

/// Why a command could not be carried out.
enum Failure {
    /// Files that cannot be used.
    Rejected(Rejected),
    /// Anything else, in words.
    Said(String),
}

impl From<Rejected> for Failure {
    fn from(rejected: Rejected) -> Self {
        Self::Rejected(rejected)
    }
}

/// One command's surroundings.
struct Session<'s> {
    common: &'s Common,
    color: bool,
    now: Option<jiff::Timestamp>,
    zone: fn() -> TimeZone,
    out: &'s mut dyn Write,
    err: &'s mut dyn Write,
}

impl Session<'_> {
    /// Files, with the ingredients that the command line wants where a recipe offers a choice.
    fn inputs<'i>(&'i self, files: &'i dyn Files, wanted: &'i [String]) -> Inputs<'i> {
        Inputs { files, wanted, stock: None, zone: self.zone }
    }

    fn style(&self, explain: bool) -> Style {
        Style {
            format: match self.common.format {
                FormatName::Text => Format::Text,
                FormatName::Markdown => Format::Markdown,
                FormatName::Json => Format::Json,
                FormatName::Csv => Format::Csv,
                FormatName::Html => Format::Html,
            },
            units: match self.common.units {
                None | Some(UnitsName::Metric) => UnitSystem::Metric,
                Some(UnitsName::Us) => UnitSystem::Us,
            },
            color: self.color && self.common.output.is_none(),
            explain,
        }
    }

    /// Writes a report where the user wants it.
    fn report(&mut self, report: &dyn Report, explain: bool) -> Result<(), Failure> {
        let style = self.style(explain);
        match &self.common.output {
            Some(path) => output::to_file(path, &crate::report::render(report, style)),
            // As it comes: of a long table the result is longer still.
            None => output::to_stream(self.out, |out| crate::report::write(report, style, out)),
        }
    }

    fn write(&mut self, text: &str) -> Result<(), Failure> {
        match &self.common.output {
            Some(path) => output::to_file(path, text),
            None => output::to_stream(self.out, |out| out.write_all(text.as_bytes())),
        }
    }
}
