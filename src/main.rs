//! Arguments and streams in, exit code out.

use jiff::tz::TimeZone;
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;
use std::sync::OnceLock;
use trayful::cli::{Surroundings, run};

fn main() -> ExitCode {
    // Colour is for terminals, unless NO_COLOR holds anything (no-color.org).
    let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
        || std::env::var_os("TERM").is_some_and(|value| value == "dumb");
    let surroundings = Surroundings {
        color_out: io::stdout().is_terminal() && !plain,
        color_err: io::stderr().is_terminal() && !plain,
        out_closed: out_closed(),
        now: Some(jiff::Timestamp::now()),
        zone,
        ..Surroundings::default()
    };
    ExitCode::from(run(std::env::args_os(), surroundings, &mut io::stdout().lock(), &mut io::stderr().lock()))
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

/// Whether standard output was closed when the program was started. The runtime has opened the
/// null device in its place by now, for reading and writing. A caller that discards output
/// opens it for writing alone, as a shell does, or, as some do for any stream, for both: that
/// is told from a closed stream only where another stream was opened so, too.
#[cfg(unix)]
fn out_closed() -> bool {
    use rustix::fs::{OFlags, fcntl_getfl, fstat, stat};
    use rustix::stdio::{stderr, stdin, stdout};
    let Ok(null) = stat("/dev/null") else { return false };
    let [taken, others @ ..] = [stdout(), stdin(), stderr()].map(|stream| {
        let is_null = fstat(stream).is_ok_and(|found| found.st_rdev == null.st_rdev);
        is_null && fcntl_getfl(stream).is_ok_and(|flags| flags.contains(OFlags::RDWR))
    });
    taken && !others.contains(&true)
}

#[cfg(not(unix))]
fn out_closed() -> bool {
    false
}
