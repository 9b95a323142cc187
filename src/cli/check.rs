//! `trayful check`

use super::args::CheckArgs;
use super::{DONE, Failure, Session, soak};
use crate::checked::{Checked, Contents};
use crate::diagnostic::{Code, Problem, Rejected};
use crate::plan;
use crate::printable::shown;
use crate::recipe::Work;
use crate::units::in_litres;
use crate::week::{Inputs, Loaded};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

pub(super) fn run(args: &CheckArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut rejected = Rejected::default();
    let mut text = String::new();
    let mut recipes: BTreeMap<String, String> = BTreeMap::new();
    let inputs = Inputs { place: args.place.as_deref(), ..session.inputs(session.disk, &[]) };
    for path in &args.files {
        // One file has one name, as the files have it that name it.
        let path = path.strip_prefix(".").ok().filter(|plain| plain.file_name().is_some()).unwrap_or(path);
        let Some(checked) = rejected.accept(inputs.check(path)) else { continue };
        // Too many cells, nothing left of a mix, a tub too small: only the work itself shows it.
        let Some(but) = rejected.accept(carried_out(&checked, path)) else { continue };
        let shown = shown(path);
        text.push_str(&format!("{shown}: {} `{}` is in order{but}\n", checked.kind, checked.name));
        if checked.kind == "recipe"
            && let Some(other) = recipes.insert(crate::catalogue::key(&checked.name), shown.clone())
        {
            let what = format!("has the recipe name `{}` that {other} has too", checked.name);
            let help = Some("give each recipe a name of its own".to_owned());
            rejected = rejected.and(Rejected::file(&shown, Problem::of_file(Code::TwiceName, what, help)));
        }
    }
    session.write(&text)?;
    Ok(rejected.or(DONE)?)
}

/// Does what the command for such a file does, without a report: a week is planned, a soak worked out,
/// a recipe made up for a volume and for every crop. What is in order, but not for every command, is told.
fn carried_out(checked: &Checked, path: &Path) -> Result<String, Rejected> {
    let refuse = |code, what| Rejected::file(&shown(path), Problem::of_file(code, what, None));
    match &checked.contents {
        Contents::Week(loaded) => {
            let plan = plan::plan_without_comparison(loaded)?;
            let place = place_of(loaded);
            match soak::planned(&plan, loaded) {
                // The plan warns of it where the soak is refused.
                Err(why) => Ok(format!("{place}, but `trayful soak` refuses it: {why}")),
                Ok(_) => Ok(place),
            }
        }
        Contents::Season(season) => plan::plan_without_comparison(&season.loaded).map(|_| place_of(&season.loaded)),
        Contents::Recipe(loaded, source) => {
            // A recipe that is asked for by name has no file; this one does, and the fault names it.
            let of_file = |rejected: Rejected| {
                let faults = rejected.problems().map(|(_, fault)| refuse(fault.code, fault.what.clone()));
                faults.fold(Rejected::default(), Rejected::and)
            };
            plan::plan_for(loaded, Some((in_litres(10.0), None)), false).map_err(of_file)?;
            let recipes = loaded.week.recipes.iter();
            let fault = recipes
                .map(|recipe| recipe.fault_of_changes(&loaded.catalogue, &Work::default()))
                .find_map(Result::err);
            match fault {
                Some((Some(at), what)) => {
                    let problem = Problem::new(Code::Recipe, at, what, "changes that leave a mix");
                    Err(Rejected::of(Arc::clone(source), problem))
                }
                Some((None, what)) => Err(refuse(Code::Recipe, what)),
                None => Ok(String::new()),
            }
        }
        Contents::Soak(soak) => {
            soak::alone((**soak).clone()).map(|_| String::new()).map_err(|why| refuse(Code::Soak, why))
        }
        Contents::Stock | Contents::Place => Ok(String::new()),
    }
}

/// The place that a file takes facts from, if it has one.
fn place_of(loaded: &Loaded) -> String {
    let taken = loaded.week.standing.taken.as_ref();
    taken.map_or_else(String::new, |taken| format!(", with the place `{}` ({})", taken.place, taken.file))
}
