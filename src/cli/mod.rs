//! Request, load, compute, report. The only place that knows of terminals and clocks.

mod args;
mod ask;
mod catalogue;
mod check;
mod day;
mod feed;
mod fill;
mod known;
mod labels;
mod left;
mod mixed;
mod output;
mod plan;
mod progress;
mod scale;
mod season;
mod soak;
mod starter;
mod stocked;
mod swap;
mod terminal;
mod r#yield;

use crate::diagnostic::{Rejected, render as render_faults};
use crate::place::Standing;
use crate::printable::{shown, within_a_line};
use crate::report::{Calendar, Event, Format, Parts, Report, Style};
use crate::source::{Disk, Files};
use crate::stock::Steps;
use crate::units::UnitSystem;
use crate::week::Inputs;
pub use ask::Answers;
pub use terminal::Terminal;

use args::{Arguments, Command, Common, FormatName};
use clap::{ColorChoice, Parser};
use jiff::tz::TimeZone;
use progress::Progress;
use std::ffi::{OsStr, OsString};
use std::io::Write;
use std::path::Path;

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
    /// Standard output was closed when the program was started.
    pub out_closed: bool,
    /// The time, where it is known.
    pub now: Option<jiff::Timestamp>,
    /// The zone of times in files that name none; asked for only where there is such a time.
    pub zone: fn() -> TimeZone,
    /// Called before each step that writes a stock file and its log.
    pub steps: Steps,
    /// Opens what answers questions, where there is somebody.
    pub answers: Option<OpenAnswers>,
    /// Opens the screen on which long work shows that it goes on, where there is one.
    pub progress: Option<OpenScreen>,
}

/// Opens a screen.
pub type OpenScreen = fn() -> Box<dyn Write + Send>;

/// Opens what answers questions.
pub type OpenAnswers = fn() -> Option<Box<dyn Answers>>;

impl Default for Surroundings {
    /// No terminal, no clock, and UTC.
    fn default() -> Self {
        let (zone, steps): (fn() -> TimeZone, Steps) = (|| TimeZone::UTC, |_| Ok(()));
        let (now, answers, progress) = Default::default();
        Self { color_out: false, color_err: false, out_closed: false, now, zone, steps, answers, progress }
    }
}

/// Runs a command line; results to `out`, messages to `err`; the exit code.
pub fn run(
    arguments: impl IntoIterator<Item = OsString>,
    surroundings: Surroundings,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> u8 {
    let given: Vec<OsString> = arguments.into_iter().collect();
    let mut color_err = surroundings.color_err;
    let mut tell = |text: &str| {
        open_stream(surroundings.out_closed)?;
        output::to_stream(out, |out| out.write_all(text.as_bytes()))
    };
    // What to type first, where nothing was asked for.
    let done = if given.len() < 2 {
        tell(include_str!("first_steps.txt"))
    } else {
        match parsed(&given) {
            Err(error) if !error.use_stderr() => {
                let text = error.render();
                tell(&if surroundings.color_out { text.ansi().to_string() } else { text.to_string() })
            }
            Err(error) => Err(Failure::Usage(error)),
            Ok(mut arguments) => {
                let colors = |terminal: bool| match arguments.common.color {
                    ColorChoice::Auto => terminal,
                    ColorChoice::Always => true,
                    ColorChoice::Never => false,
                };
                color_err = colors(surroundings.color_err);
                let color_out = colors(surroundings.color_out);
                // As for files that are read, `-` is the stream.
                arguments.common.output.take_if(|path| *path == Path::new("-"));
                let now = arguments.common.now.or(surroundings.now);
                // Nothing is drawn over questions, nor over what is typed as a file.
                let is_typed = matches!(arguments.command, Command::New(_)) || given.iter().any(|given| given == "-");
                let screen = surroundings.progress.filter(|_| !is_typed);
                let progress = screen.map(|open| Progress::start(open(), progress::BEAT));
                let (around, common, disk) =
                    (Surroundings { color_out, now, ..surroundings }, &arguments.common, &Disk::default());
                carry_out(
                    &arguments,
                    &mut Session { progress, common, around, disk, units: UnitSystem::default(), out },
                )
            }
        }
    };
    done.unwrap_or_else(|failure| {
        // There is no one to complain to where this stream is closed.
        let _ = err.write_all(failure.message(color_err).as_bytes());
        REFUSED
    })
}

/// The arguments, checked by clap. Its messages quote them as they are: where one holds a stray
/// character, the message is that of the same arguments made visible.
fn parsed(given: &[OsString]) -> Result<Arguments, clap::Error> {
    Arguments::try_parse_from(given).map_err(|error| {
        let shown: Vec<String> = given.iter().map(|argument| shown(Path::new(argument))).collect();
        match shown.iter().zip(given).all(|(shown, given)| OsStr::new(shown) == given) {
            true => error,
            false => Arguments::try_parse_from(shown).err().unwrap_or(error),
        }
    })
}

fn open_stream(closed: bool) -> Result<(), Failure> {
    match closed {
        true => said("standard output is closed: name a file for the result by `--output FILE`, `/dev/null` for none"),
        false => Ok(()),
    }
}

/// What the command cannot do with the common options, before anything is done: `mixed` and
/// `yield` change files of their own.
fn unfit(Arguments { command, common }: &Arguments, session: &Session<'_>) -> Result<(), Failure> {
    if common.replace && matches!(command, Command::New(_)) {
        return said("`new` writes over no file: leave `--replace` out, or move the file away");
    }
    match &common.output {
        Some(path) if path.is_file() && matches!(command, Command::New(_)) => return output::there_for_new(path),
        Some(path) => output::check(path, common.replace)?,
        None if common.replace && !command.writes_files() => {
            return said("`--replace` goes with a file for the result: `--output FILE`");
        }
        None => open_stream(session.around.out_closed)?,
    }
    // Refused, rather than text given to what waits for another form, or metric to what
    // waits for other units.
    said(match (command, common.format) {
        (command, Some(format)) if command.only_text() && format != FormatName::Text => {
            "this command has no other form than text: leave `--format` out"
        }
        (command, _) if command.only_text() && common.units.is_some() => {
            "this command has no amounts to give in other units: leave `--units` out"
        }
        (Command::Labels(_), None | Some(FormatName::Html | FormatName::Csv)) => return Ok(()),
        (Command::Labels(_), _) => {
            "labels are a page to print (`--format html`, as without it) or a table (`--format csv`)"
        }
        (Command::Plan(_) | Command::Season(_) | Command::Soak(_), _) => return Ok(()),
        (_, Some(FormatName::Ics)) => {
            "this command has no days to enter into a calendar: `--format ics` goes with `plan`, `season` and `soak`"
        }
        _ => return Ok(()),
    })
}

fn carry_out(arguments: &Arguments, session: &mut Session<'_>) -> Result<u8, Failure> {
    unfit(arguments, session)?;
    if let Some((option, most)) = arguments.command.too_often() {
        return said(format!("`{option}` may stand {most} times at most: use a file for more"));
    }
    match &arguments.command {
        Command::Plan(args) => plan::run(args, session),
        Command::Season(args) => season::run(args, session),
        Command::Scale(args) => scale::run(args, session),
        Command::Labels(args) => labels::run(args, session),
        Command::Soak(args) => soak::run(args, session),
        Command::Feed(args) => feed::run(args, session),
        Command::Fill(args) => fill::run(args, session),
        Command::Mixed(args) => mixed::run(args, session),
        Command::Swap(args) => swap::run(args, session),
        Command::Yield(args) => r#yield::run(args, session),
        Command::Check(args) => check::run(args, session),
        Command::List(args) => catalogue::list(args, session),
        Command::Show(args) => catalogue::show(args, session),
        Command::New(args) => starter::new(args, session),
        Command::Schema { kind } => starter::schema(kind, session),
        Command::Completions { shell } => starter::completions(*shell, session),
        Command::Man => starter::man(session),
    }
}

/// Why a command could not be carried out.
enum Failure {
    /// A command line that cannot be used, or help that was asked for.
    Usage(clap::Error),
    /// Files that cannot be used.
    Rejected(Rejected),
    /// Anything else, in words on one line.
    Said(String),
    /// The same with a list, each entry on a line.
    Listed(&'static str, Vec<String>),
}

impl Failure {
    /// A result that could not be written after something was done, which must be known.
    fn after(self, done: Option<String>) -> Self {
        match (self, done) {
            (Self::Said(text), Some(done)) => {
                Self::Said(format!("{done}; only the report is missing, run this again for it: {text}"))
            }
            (failure, _) => failure,
        }
    }

    /// What it says to the user.
    fn message(&self, color: bool) -> String {
        match self {
            Self::Usage(error) if color => error.render().ansi().to_string(),
            Self::Usage(error) => error.render().to_string(),
            Self::Rejected(rejected) => render_faults(rejected, color),
            Self::Said(text) => format!("error: {}\n", within_a_line(text)),
            Self::Listed(text, list) => {
                let lines = list.iter().map(|entry| format!("  {}\n", within_a_line(entry)));
                format!("error: {text}\n{}", lines.collect::<String>())
            }
        }
    }
}

/// The refusal of a command, in words on one line.
fn said<T>(text: impl Into<String>) -> Result<T, Failure> {
    Err(Failure::Said(text.into()))
}

impl From<Rejected> for Failure {
    fn from(rejected: Rejected) -> Self {
        Self::Rejected(rejected)
    }
}

/// One command's surroundings.
struct Session<'s> {
    /// Ends before a result is written.
    progress: Option<Progress>,
    common: &'s Common,
    /// With what the command line says of colour and time.
    around: Surroundings,
    disk: &'s Disk,
    /// The units of results where the command line says none.
    units: UnitSystem,
    out: &'s mut dyn Write,
}

impl Session<'_> {
    /// Files, with the ingredients that the command line wants where a recipe offers a choice.
    fn inputs<'i>(&'i self, files: &'i dyn Files, wanted: &'i [String]) -> Inputs<'i> {
        Inputs { files, wanted, stock: None, place: None, zone: self.around.zone }
    }

    /// Takes the units of a place, unless the command line says which.
    fn take_units(&mut self, of: &Standing) {
        self.units = of.units.unwrap_or_default();
    }

    fn style(&self, explain: bool) -> Style {
        Style {
            format: match self.common.format {
                // A calendar is made of events, not of a report.
                None | Some(FormatName::Text | FormatName::Ics) => Format::Text,
                Some(FormatName::Markdown) => Format::Markdown,
                Some(FormatName::Json) => Format::Json,
                Some(FormatName::Csv) => Format::Csv,
                Some(FormatName::Html) => Format::Html,
            },
            units: self.common.units.unwrap_or(self.units),
            color: self.around.color_out && self.common.output.is_none(),
            explain,
            only: Parts::default(),
        }
    }

    /// Writes a report where the user wants it.
    fn report(&mut self, report: &dyn Report, explain: bool) -> Result<u8, Failure> {
        self.report_in(report, self.style(explain))
    }

    fn report_in(&mut self, report: &dyn Report, style: Style) -> Result<u8, Failure> {
        let opened = self.open()?;
        self.write_to(opened, |out| crate::report::write(report, style, out))
    }

    /// Whether a calendar is wanted.
    fn wants_calendar(&self) -> bool {
        self.common.format == Some(FormatName::Ics)
    }

    /// Writes the calendar of a file, or of something by its title.
    fn calendar(&mut self, title: &str, file: Option<&Path>, events: Vec<Event>) -> Result<u8, Failure> {
        let name = file.filter(|file| *file != Path::new("-")).and_then(Path::file_name);
        let file = name.map_or_else(|| title.to_owned(), |name| name.to_string_lossy().into_owned());
        // Weeks of one file name lie in several folders.
        let file = format!("{file}\0{title}");
        let calendar = Calendar { title: title.to_owned(), file, made: self.around.now.unwrap_or_default(), events };
        self.write(&calendar.render())
    }

    fn write(&mut self, text: &str) -> Result<u8, Failure> {
        let opened = self.open()?;
        self.write_to(opened, |out| out.write_all(text.as_bytes()))
    }
}
