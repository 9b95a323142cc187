//! Cuts the shipped tables into their entries, so that no run of the program has to.
#![allow(clippy::print_stdout)]

#[path = "src/catalogue/cut.rs"]
mod cut;
#[path = "src/hash.rs"]
mod hash;
#[allow(dead_code)]
#[path = "src/catalogue/name.rs"]
mod name;

use std::error::Error;
use std::fs;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    const TABLES: &str = "recipes/catalogue";
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
    Ok(())
}
