//! `trayful new`: commented files to start from; `completions` and `man` for the shell.

use super::args::{Arguments, NewArgs, StarterKind};
use super::known::Known;
use super::{Failure, Session};
use clap::CommandFactory;
use clap::builder::PossibleValue;
use clap_complete::Shell;

pub(super) fn new(args: &NewArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if args.ask {
        return super::ask::run(args, session);
    }
    session.write(match args.kind {
        StarterKind::Place => include_str!("../../recipes/starters/place.yaml"),
        StarterKind::Week => include_str!("../../recipes/starters/week.yaml"),
        StarterKind::Season => include_str!("../../recipes/starters/season.yaml"),
        StarterKind::Recipe => include_str!("../../recipes/starters/recipe.yaml"),
        StarterKind::Stock => include_str!("../../recipes/starters/stock.yaml"),
        StarterKind::Soak => include_str!("../../recipes/starters/soak.yaml"),
    })
}

pub(super) fn schema(kind: &str, session: &mut Session<'_>) -> Result<u8, Failure> {
    session.write(&format!("{:#}\n", crate::schema::of(kind)))
}

pub(super) fn completions(shell: Shell, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut script = Vec::new();
    let mut command = Arguments::command();
    clap_complete::generate(shell, &mut command, "trayful", &mut script);
    let mut script = String::from_utf8_lossy(&script).into_owned();
    match shell {
        // A recipe may be a file, too.
        Shell::Zsh => {
            let recipes = Known::Recipes.words().join(" ");
            script = script.replace(&format!(":({recipes})"), &format!(":{{compadd {recipes}; _files}}"));
        }
        // What clap writes for it leaves out the values that no option begins.
        Shell::Fish => script.extend(command.get_subcommands().flat_map(|command| {
            command.get_positionals().filter(|positional| !positional.get_possible_values().is_empty()).map(
                |positional| {
                    let values = positional.get_possible_values();
                    let words: Vec<&str> = values.iter().map(PossibleValue::get_name).collect();
                    let name = command.get_name();
                    format!(
                        "complete -c trayful -n \"__fish_trayful_using_subcommand {name}\" -a \"{}\"\n",
                        words.join(" ")
                    )
                },
            )
        })),
        _ => {}
    }
    session.write(&script)
}

pub(super) fn man(session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut page = Vec::new();
    clap_mangen::Man::new(Arguments::command())
        .render(&mut page)
        .map_err(|error| Failure::Said(format!("the manual page could not be made: {error}")))?;
    session.write(&String::from_utf8_lossy(&page))
}
