//! What numbers may be: every number of every kind of file, one after the other, is made
//! nothing, negative, huge and tiny; and each is taken at its bound and refused beyond it.

mod lists;
mod numbers;
mod walk;

use std::fs;
use std::path::Path;
use tempfile::TempDir;
use trayful::cli::{Surroundings, run};

/// What a run said.
struct Said {
    code: u8,
    out: String,
    err: String,
}

/// Files in a folder of their own, and the commands that are run on them within this process.
struct Bench(TempDir);

impl Bench {
    fn new(files: &[(&str, &str)]) -> Self {
        let folder = TempDir::new().unwrap();
        for (name, text) in files {
            fs::write(folder.path().join(name), text).unwrap();
        }
        Self(folder)
    }

    /// Runs a command line in which `@` stands for the folder.
    fn run(&self, line: &str) -> Said {
        let folder = format!("{}/", self.0.path().display());
        // A blank within an argument is written as `_`.
        let words = line.split(' ').map(|word| word.replace('@', &folder).replace('_', " "));
        let arguments = std::iter::once("trayful".to_owned()).chain(words).map(Into::into);
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = run(arguments, Surroundings::default(), &mut out, &mut err);
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Said { code, out: text(out), err: text(err) }
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(Path::new(self.0.path()).join(name), text).unwrap();
    }
}
