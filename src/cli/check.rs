//! `trayful check`

use super::args::CheckArgs;
use super::{DONE, Failure, Session};
use crate::diagnostic::{Code, Problem, Rejected};
use crate::plan;
use crate::source::Disk;
use crate::week;
use std::collections::BTreeMap;

pub(super) fn run(args: &CheckArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut rejected = Vec::new();
    let mut text = String::new();
    let mut recipes: BTreeMap<String, String> = BTreeMap::new();
    for path in &args.files {
        match week::check(path, &Disk) {
            Ok(checked) => {
                // Too many cells, nothing left of a mix: only planning shows it.
                if let Some(Err(more)) = checked.week.as_deref().map(plan::plan) {
                    rejected.push(more);
                    continue;
                }
                text.push_str(&format!("{}: {} `{}` is in order\n", path.display(), checked.kind, checked.name));
                let shown = path.display().to_string();
                if checked.kind == "recipe"
                    && let Some(other) = recipes.insert(crate::catalogue::key(&checked.name), shown.clone())
                {
                    let what = format!("has the recipe name `{}` that {other} has too", checked.name);
                    let help = Some("give each recipe a name of its own".to_owned());
                    rejected.push(Rejected::file(&shown, Problem::of_file(Code::TwiceName, what, help)));
                }
            }
            Err(more) => rejected.push(more),
        }
    }
    session.write(&text)?;
    match rejected.into_iter().reduce(Rejected::and) {
        None => Ok(DONE),
        Some(rejected) => Err(rejected.into()),
    }
}
