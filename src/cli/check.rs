//! `trayful check`

use super::args::CheckArgs;
use super::{DONE, Failure, Session};
use crate::diagnostic::{Code, Problem, Rejected};
use crate::plan;
use crate::printable::shown;
use std::collections::BTreeMap;

pub(super) fn run(args: &CheckArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut rejected = Rejected::default();
    let mut text = String::new();
    let mut recipes: BTreeMap<String, String> = BTreeMap::new();
    for path in &args.files {
        match session.inputs(session.disk, &[]).check(path) {
            Ok(checked) => {
                // Too many cells, nothing left of a mix: only planning shows it.
                if let Some(Err(more)) = checked.week.as_deref().map(plan::plan) {
                    rejected = rejected.and(more);
                    continue;
                }
                let shown = shown(path);
                text.push_str(&format!("{shown}: {} `{}` is in order\n", checked.kind, checked.name));
                if checked.kind == "recipe"
                    && let Some(other) = recipes.insert(crate::catalogue::key(&checked.name), shown.clone())
                {
                    let what = format!("has the recipe name `{}` that {other} has too", checked.name);
                    let help = Some("give each recipe a name of its own".to_owned());
                    rejected = rejected.and(Rejected::file(&shown, Problem::of_file(Code::TwiceName, what, help)));
                }
            }
            Err(more) => rejected = rejected.and(more),
        }
    }
    session.write(&text)?;
    Ok(rejected.or(DONE)?)
}
