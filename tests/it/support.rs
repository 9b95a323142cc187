//! Runs the built program in a folder of its own and compares all that comes out.

use std::ffi::{OsStr, OsString};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// The program as built for the tests.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_trayful");

/// The root of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// One run to be made.
pub struct Run {
    folder: TempDir,
    here: Option<PathBuf>,
    program: OsString,
    arguments: Vec<OsString>,
    environment: Vec<(OsString, OsString)>,
    input: Vec<u8>,
}

/// What came out.
#[derive(Debug)]
pub struct Output {
    pub status: i32,
    pub stdout: String,
    pub stderr: String,
    folder: TempDir,
}

/// A run of the program with arguments.
pub fn run<S: AsRef<OsStr>>(arguments: impl IntoIterator<Item = S>) -> Run {
    Run {
        folder: tempfile::tempdir().unwrap(),
        here: None,
        program: PROGRAM.into(),
        arguments: arguments.into_iter().map(|argument| argument.as_ref().to_owned()).collect(),
        environment: Vec::new(),
        input: Vec::new(),
    }
}

/// A run of a shell script in which `$T` is the program.
pub fn shell(script: &str) -> Run {
    let mut run = run(["-c", script]);
    run.program = "sh".into();
    run
}

impl Run {
    /// A file in the folder.
    pub fn file(self, name: &str, bytes: impl AsRef<[u8]>) -> Self {
        let path = self.folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
        self
    }

    /// The folder of the run.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Runs in another folder.
    pub fn within(mut self, folder: impl Into<PathBuf>) -> Self {
        self.here = Some(folder.into());
        self
    }

    /// Standard input.
    pub fn input(mut self, bytes: impl AsRef<[u8]>) -> Self {
        self.input = bytes.as_ref().to_vec();
        self
    }

    /// A variable of the environment.
    pub fn env(mut self, name: &str, value: &str) -> Self {
        self.environment.push((name.into(), value.into()));
        self
    }

    /// The command, its streams not yet connected.
    pub fn command(&self) -> Command {
        let mut command = Command::new(&self.program);
        command
            .args(&self.arguments)
            .current_dir(self.here.as_deref().unwrap_or(self.folder.path()))
            .env_remove("NO_COLOR")
            .env_remove("COLUMNS")
            .env("TERM", "xterm")
            .env("RUST_BACKTRACE", "0")
            .env("T", PROGRAM)
            .envs(self.environment.iter().cloned());
        command
    }

    /// Runs it.
    pub fn done(self) -> Output {
        let mut child = self
            .command()
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("{}: {error}", self.program.display()));
        // Refused before it is read, the input meets a closed pipe.
        let _ = child.stdin.take().unwrap().write_all(&self.input);
        let output = child.wait_with_output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        let stderr = text(output.stderr);
        assert!(!stderr.contains("panicked"), "{stderr}");
        Output {
            status: output.status.code().unwrap_or_else(|| panic!("killed: {:?}", output.status)),
            stdout: text(output.stdout),
            stderr,
            folder: self.folder,
        }
    }

    /// Runs it; everything must be as said.
    #[track_caller]
    pub fn gives(self, status: i32, stdout: &str, stderr: &str) -> Output {
        let output = self.done();
        assert_eq!(output.stderr, stderr);
        assert_eq!(output.stdout, stdout);
        assert_eq!(output.status, status);
        output
    }

    /// Runs it; it must be content and silent but for its result, which is handed back.
    #[track_caller]
    pub fn result(self) -> String {
        let output = self.done();
        assert_eq!((output.status, output.stderr.as_str()), (0, ""));
        output.stdout
    }

    /// Runs it; it must refuse and print nothing but the message, which is handed back.
    #[track_caller]
    pub fn refusal(self) -> String {
        let output = self.done();
        assert_eq!((output.status, output.stdout.as_str()), (2, ""), "{}", output.stderr);
        output.stderr
    }
}

impl Output {
    /// The folder of the run.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// The bytes of a file in the folder, if there is one.
    pub fn file(&self, name: &str) -> Option<String> {
        fs::read_to_string(self.folder.path().join(name)).ok()
    }

    /// The names in the folder, in order.
    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

/// The text of a file of the project.
pub fn project(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}
