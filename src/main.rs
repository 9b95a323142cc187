//! Arguments and streams in, exit code out.

use std::io::{self, IsTerminal};
use std::process::ExitCode;
use trayful::cli::{Surroundings, run};

fn main() -> ExitCode {
    // Colour is for terminals, unless NO_COLOR holds anything (no-color.org).
    let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
        || std::env::var_os("TERM").is_some_and(|value| value == "dumb");
    let surroundings = Surroundings {
        color_out: io::stdout().is_terminal() && !plain,
        color_err: io::stderr().is_terminal() && !plain,
        now: Some(jiff::Timestamp::now()),
        zone: jiff::tz::TimeZone::system,
        ..Surroundings::default()
    };
    ExitCode::from(run(std::env::args_os(), surroundings, &mut io::stdout().lock(), &mut io::stderr().lock()))
}
