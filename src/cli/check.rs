//! `trayful check`

use super::args::CheckArgs;
use super::{DONE, Failure, Session};
use crate::diagnostic::{Code, Problem, Rejected};
use crate::plan;
use crate::source::Disk;
use std::collections::BTreeMap;

pub(super) fn run(args: &CheckArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let mut rejected = Rejected::default();
    let mut text = String::new();
    let mut recipes: BTreeMap<String, String> = BTreeMap::new();
    for path in &args.files {
        match session.inputs(&Disk, &[]).check(path) {
            Ok(checked) => {
                // Too many cells, nothing left of a mix: only planning shows it.
                if let Some(Err(more)) = checked.week.as_deref().map(plan::plan_without_comparison) {
                    rejected = rejected.and(more);
                    continue;
                }
                text.push_str(&format!("{}: {} `{}` is in order\n", path.display(), checked.kind, checked.name));
                let shown = path.display().to_string();
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
