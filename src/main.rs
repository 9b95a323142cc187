//! Arguments and streams in, exit code out.

use jiff::tz::TimeZone;
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use trayful::cli::{Answers, Surroundings, Terminal, run};

fn main() -> ExitCode {
    // Colour is for terminals, unless NO_COLOR holds anything (no-color.org).
    let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
        || std::env::var_os("TERM").is_some_and(|value| value == "dumb");
    let surroundings = Surroundings {
        color_out: io::stdout().is_terminal() && !plain,
        color_err: io::stderr().is_terminal() && !plain,
        out_closed: OUT_CLOSED.load(Ordering::Relaxed),
        now: Some(jiff::Timestamp::now()),
        zone,
        answers: (io::stdin().is_terminal() && io::stdout().is_terminal()).then_some(terminal),
        progress: io::stderr().is_terminal().then_some(|| Box::new(io::stderr())),
        ..Surroundings::default()
    };
    ExitCode::from(run(std::env::args_os(), surroundings, &mut io::stdout().lock(), &mut io::stderr()))
}

fn terminal() -> Option<Box<dyn Answers>> {
    Terminal::new().map(|terminal| Box::new(terminal) as Box<dyn Answers>)
}

/// The zone of the system, found out once; one that cannot be used is said.
fn zone() -> TimeZone {
    static ZONE: OnceLock<TimeZone> = OnceLock::new();
    let found = ZONE.get_or_init(|| {
        trayful::moment::system_zone().unwrap_or_else(|why| {
            let _ = writeln!(io::stderr(), "note: {why}: times are taken as UTC");
            TimeZone::UTC
        })
    });
    found.clone()
}

/// Whether standard output was closed when the program was started.
static OUT_CLOSED: AtomicBool = AtomicBool::new(false);

/// Looks before `main`, since the runtime opens the null device in the place of a closed
/// stream; that cannot be told from one that a caller opened so to discard the output.
#[cfg(unix)]
#[ctor::ctor(unsafe)]
fn look_at_standard_output() {
    OUT_CLOSED.store(rustix::fs::fcntl_getfl(rustix::stdio::stdout()).is_err(), Ordering::Relaxed);
}
