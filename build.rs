//! Cuts the shipped tables into their entries, and writes the shipped recipes in the little of YAML that the tables
//! are written in, so that no run of the program has to.
#![allow(clippy::print_stdout)]

#[path = "src/catalogue/cut.rs"]
mod cut;
#[path = "src/hash.rs"]
mod hash;
#[allow(dead_code)]
#[path = "src/catalogue/name.rs"]
mod name;

use serde_yaml::Value;
use std::error::Error;
use std::fs;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    const TABLES: &str = "recipes/catalogue";
    const RECIPES: &str = "recipes";
    println!("cargo::rerun-if-changed={TABLES}");
    let folder = PathBuf::from(std::env::var("OUT_DIR")?);
    for file in fs::read_dir(TABLES)? {
        let text = fs::read_to_string(file?.path())?;
        let sections = text.lines().filter_map(|line| line.strip_suffix(':'));
        for section in sections.filter(|section| section.bytes().all(|byte| byte.is_ascii_lowercase())) {
            let (starts, names) = cut::cut(&text, section);
            let cut = format!("const CUT: (&[usize], &[(u64, usize)]) = (&{starts:?}, &{names:?});");
            let cut = format!("{{ #[allow(clippy::unreadable_literal)] {cut} CUT }}");
            fs::write(folder.join(format!("{section}.rs")), cut)?;
        }
    }
    println!("cargo::rerun-if-changed={RECIPES}");
    for file in fs::read_dir(RECIPES)? {
        let path = file?.path();
        if path.extension().is_some_and(|ending| ending == "yaml") {
            let recipe: Value = serde_yaml::from_str(&fs::read_to_string(&path)?)?;
            let name = path.with_extension("flow");
            fs::write(folder.join(name.file_name().unwrap_or_default()), flow(&recipe))?;
        }
    }
    Ok(())
}

/// In brackets, without comments; the tests hold it against what YAML reads.
fn flow(value: &Value) -> String {
    let joined = |parts: Vec<String>| parts.join(", ");
    match value {
        Value::Mapping(map) => {
            format!(
                "{{{}}}",
                joined(map.iter().map(|(key, value)| format!("{}: {}", flow(key), flow(value))).collect())
            )
        }
        Value::Sequence(list) => format!("[{}]", joined(list.iter().map(flow).collect())),
        Value::String(text) => format!("\"{text}\""),
        Value::Number(number) => number.to_string(),
        Value::Bool(yes) => yes.to_string(),
        Value::Null | Value::Tagged(_) => String::new(),
    }
}
