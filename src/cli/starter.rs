//! `trayful new`: commented files to start from; `completions` and `man` for the shell.

use super::args::{Arguments, NewArgs, StarterKind};
use super::{DONE, Failure, Session};
use clap::CommandFactory;
use clap_complete::Shell;

pub(super) fn new(args: &NewArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    session.write(match args.kind {
        StarterKind::Place => include_str!("../../recipes/starters/place.yaml"),
        StarterKind::Week => include_str!("../../recipes/starters/week.yaml"),
        StarterKind::Recipe => include_str!("../../recipes/starters/recipe.yaml"),
        StarterKind::Stock => include_str!("../../recipes/starters/stock.yaml"),
        StarterKind::Soak => include_str!("../../recipes/starters/soak.yaml"),
    })?;
    Ok(DONE)
}

pub(super) fn completions(shell: Shell, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "trayful", &mut script);
    session.write(&String::from_utf8_lossy(&script))?;
    Ok(DONE)
}

pub(super) fn man(session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut page = Vec::new();
    clap_mangen::Man::new(Arguments::command())
        .render(&mut page)
        .map_err(|error| Failure::Said(format!("the manual page could not be made: {error}")))?;
    session.write(&String::from_utf8_lossy(&page))?;
    Ok(DONE)
}
