//! `trayful new KIND --ask`: a file filled in by questions, each answer checked by the reader of the file.

use super::args::{NewArgs, StarterKind};
use super::known::Known;
use super::{DONE, Failure, Session, output, said};
use crate::diagnostic::{Code, Problem, Problems, SourceText};
use crate::printable::shown;
use crate::source::{Disk, Files, scalar};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// Somebody who answers.
pub trait Answers {
    /// The line that answers a question, of which names may be completed; `None` where no more comes.
    ///
    /// # Errors
    /// Those of the terminal.
    fn answer(&mut self, question: &str, names: Vec<String>) -> io::Result<Option<String>>;

    /// Says something.
    ///
    /// # Errors
    /// Those of the terminal.
    fn tell(&mut self, text: &str) -> io::Result<()>;
}

/// The questions of every kind of file.
const QUESTIONS: &str = include_str!("questions.json");

/// A question for a value.
#[derive(Deserialize)]
struct Question {
    /// Its key; none in a map by names, and [`HOW_MANY`] where the answer ends with it.
    #[serde(default)]
    key: &'static str,
    text: &'static str,
    /// What of it is known.
    names: Option<Known>,
    /// What an empty answer means: nothing is written for an empty one of these, and without one it is asked again.
    usual: Option<&'static str>,
}

/// A part of a file.
#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Part {
    One(Question),
    /// A map with these.
    Map(&'static str, Vec<Question>),
    /// A list of maps with these, until the first answer is empty.
    Listed(&'static str, Vec<Question>),
    /// Names with a value each; a value that would do until the own one is known. Some may need none.
    Named {
        key: &'static str,
        name: Question,
        value: Question,
        stand_in: &'static str,
        least: usize,
    },
}

/// What is asked for a kind of file, and the command that takes it.
#[derive(Deserialize)]
struct Questions {
    next: &'static str,
    parts: Vec<Part>,
}

/// No key of a file: the answer ends with its own, as in `128 cells`.
const HOW_MANY: &str = "how many";

impl StarterKind {
    fn questions(self) -> (&'static str, &'static [Part], &'static str) {
        static ALL: LazyLock<BTreeMap<&str, Questions>> =
            LazyLock::new(|| serde_json::from_str(QUESTIONS).unwrap_or_default());
        let found = ALL.get_key_value(self.word());
        found.map_or(("", &[], ""), |(kind, Questions { next, parts })| (kind, parts.as_slice(), next))
    }
}

pub(super) fn run(args: &NewArgs, session: &Session<'_>) -> Result<u8, Failure> {
    let (kind, parts, next) = args.kind.questions();
    let path = session.common.output.clone().unwrap_or_else(|| PathBuf::from(format!("{kind}.yaml")));
    let Some(mut answers) = session.around.answers.and_then(|open| open()) else {
        return said(format!(
            "`--ask` asks at a terminal, and here is none: `trayful new {kind}` prints a file to fill in"
        ));
    };
    if path.exists() {
        return output::there_for_new(&path);
    }
    let disk = Disk::default();
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let mut asking = Asking { kind, text: String::new(), answers: &mut *answers, files: &disk, folder };
    let failed = |error: io::Error| Failure::Said(format!("nothing was written: {error}"));
    let text = asking.file(parts).map_err(failed)?;
    let Some(text) = text else { return said("nothing was written") };
    let prepared = output::prepared(&path)?;
    if prepared.replaces() {
        return said(format!("`{}` came to be there meanwhile: give another name", shown(&path)));
    }
    output::put(prepared, &path, |out| out.write_all(text.as_bytes()))?;
    let path = shown(&path);
    answers.tell(&format!("\n{path} is written. Next: {next} {path}")).map_err(failed)?;
    Ok(DONE)
}

/// A file in the making.
struct Asking<'a> {
    kind: &'static str,
    /// What is sure.
    text: String,
    answers: &'a mut dyn Answers,
    files: &'a dyn Files,
    folder: PathBuf,
}

/// Why no more is asked.
enum Stop {
    /// The answers have ended.
    Ended,
    /// The terminal failed.
    Failed(io::Error),
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Self {
        Self::Failed(error)
    }
}

/// An entry for the file; none for an empty answer.
type Entry = Result<Option<String>, Stop>;

impl Asking<'_> {
    /// Asks for everything; `None` where the answers end before that.
    fn file(&mut self, parts: &[Part]) -> io::Result<Option<String>> {
        let asked = parts.iter().try_for_each(|part| match part {
            Part::One(question) => self.one(question),
            Part::Map(key, questions) => self.map(&format!("{key}: {{"), questions).map(|_| ()),
            Part::Listed(key, questions) => self.listed(key, questions),
            Part::Named { key, name, value, stand_in, least } => self.named(key, [name, value], stand_in, *least),
        });
        match asked {
            Ok(()) => Ok(Some(std::mem::take(&mut self.text))),
            Err(Stop::Ended) => Ok(None),
            Err(Stop::Failed(error)) => Err(error),
        }
    }

    fn one(&mut self, question: &Question) -> Result<(), Stop> {
        let entry = self.ask(question, false, |entry| format!("{entry}\n"))?;
        self.text.extend(entry.map(|entry| entry + "\n"));
        Ok(())
    }

    /// A map on one line after its head; whether it has anything in it.
    fn map(&mut self, head: &str, questions: &[Question]) -> Result<bool, Stop> {
        let mut entries: Vec<String> = Vec::new();
        let line = |entries: &[String]| format!("{head}{}}}\n", entries.join(", "));
        for question in questions {
            let is_first = entries.is_empty() && question.usual.is_none();
            let so_far = |entry: &str| line(&[&entries[..], &[entry.to_owned()]].concat());
            match self.ask(question, is_first, so_far)? {
                None if is_first => return Ok(false),
                entry => entries.extend(entry),
            }
        }
        self.text += &line(&entries);
        Ok(true)
    }

    fn listed(&mut self, key: &str, questions: &[Question]) -> Result<(), Stop> {
        self.text += &format!("{key}:\n");
        let mut any = false;
        loop {
            match self.map("  - {", questions)? {
                true => any = true,
                false if any => return Ok(()),
                false => self.answers.tell("  At least one is needed.")?,
            }
        }
    }

    fn named(&mut self, key: &str, of: [&Question; 2], stand_in: &str, least: usize) -> Result<(), Stop> {
        let head = self.text.len();
        self.text += &format!("{key}:\n");
        let mut count = 0;
        loop {
            let called = self.ask(of[0], true, |name| format!("  {name}: {stand_in}\n"))?;
            if called.is_none() && count < least {
                self.answers.tell("  At least one is needed.")?;
                continue;
            }
            let Some(called) = called else { break };
            let value = self.ask(of[1], false, |value| format!("  {called}: {value}\n"))?;
            self.text.extend(value.map(|value| format!("  {called}: {value}\n")));
            count += 1;
        }
        if count == 0 {
            self.text.truncate(head);
        }
        Ok(())
    }

    /// Asks until the reader of the file finds nothing wrong with the answer, and gives its entry; none for an empty
    /// answer, which may end a list.
    fn ask(&mut self, question: &Question, may_end: bool, line: impl Fn(&str) -> String) -> Entry {
        loop {
            let names = question.names.map(Known::names).unwrap_or_default();
            let Some(answer) = self.answers.answer(question.text, names)? else { return Err(Stop::Ended) };
            let answer = match (answer.trim(), question.usual) {
                ("", Some("")) => return Ok(None),
                ("", None) if may_end => return Ok(None),
                ("", None) => {
                    self.answers.tell("  This needs an answer.")?;
                    continue;
                }
                ("", Some(usual)) => usual,
                (answer, _) => answer,
            };
            let entry = match (question.key, answer.rsplit_once(' ')) {
                (HOW_MANY, Some((count, key))) => format!("{key}: {}", scalar(count)),
                (HOW_MANY, None) => format!("plants: {}", scalar(answer)),
                ("", _) => scalar(answer),
                (key, _) => format!("{key}: {}", scalar(answer)),
            };
            let before = self.faults("");
            let fault = self.faults(&line(&entry)).into_iter().find(|fault| !before.contains(fault));
            match fault {
                None => return Ok(Some(entry)),
                Some(fault) => self.answers.tell(&format!("  {fault}"))?,
            }
        }
    }

    /// What the reader finds wrong with the file so far and a line more, but for what is still to come.
    fn faults(&self, line: &str) -> Vec<String> {
        let problems = Problems::new(SourceText::argument("answer", &format!("{}{line}", self.text)));
        crate::checked::ask(self.kind, &problems, self.files, &self.folder);
        let Err(rejected) = problems.settle(None::<()>) else { return Vec::new() };
        let faults = rejected.problems().map(|(_, fault)| fault);
        faults.filter(|fault| fault.code != Code::MissingKey).map(in_words).collect()
    }
}

fn in_words(Problem { what, expected, help, .. }: &Problem) -> String {
    let help = help.as_ref().map(|help| format!("; {help}")).unwrap_or_default();
    format!("{what}: expected {expected}{help}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Memory;

    /// Answers one after another, and what was said.
    struct Script(Vec<&'static str>, String);

    impl Answers for Script {
        fn answer(&mut self, question: &str, names: Vec<String>) -> io::Result<Option<String>> {
            assert!(question.contains("Crop?") != names.is_empty() || !question.contains("Crop?"));
            self.1 += &format!("{question}\n");
            Ok((!self.0.is_empty()).then(|| self.0.remove(0).to_owned()))
        }

        fn tell(&mut self, text: &str) -> io::Result<()> {
            self.1 += &format!("{text}\n");
            Ok(())
        }
    }

    fn asked(kind: StarterKind, answers: &[&'static str]) -> (Option<String>, String) {
        let mut script = Script(answers.to_vec(), String::new());
        let (kind, parts, _) = kind.questions();
        let (files, folder) = (Memory::default().with("own.yaml", "recipe: own\nparts: {peat: 1}\n"), PathBuf::new());
        let mut asking = Asking { kind, text: String::new(), answers: &mut script, files: &files, folder };
        let text = asking.file(parts).unwrap();
        if let Some(text) = &text {
            let whole = Asking {
                kind,
                text: text.clone(),
                answers: &mut Script(Vec::new(), String::new()),
                files: &files,
                folder: PathBuf::new(),
            };
            assert_eq!(whole.faults(""), [""; 0], "{text}");
        }
        (text, script.1)
    }

    #[test]
    fn a_week_is_asked_for_and_each_answer_checked() {
        let answers = [
            "",
            "2027-02-30",
            "2027-03-06 10:00",
            "everydy",
            "own",
            "coir",
            "",
            "",
            "kail",
            "kale",
            "51-cell",
            "9 cm pot",
            "40 plantz",
            "-3 plants",
            "40 plants",
            "leek",
            "128-cell",
            "128 cells",
            "",
            "2",
            "2 L",
            "1 L",
            "60 L",
        ];
        let (text, said) = asked(StarterKind::Week, &answers);
        assert_eq!(
            text.unwrap(),
            "week: my sowing\nmix_on: 2027-03-06 10:00\nrecipe: own\nsowings:\n  - {crop: kale, tray: 9 cm pot, \
             plants: 40}\n  - {crop: leek, tray: 128-cell, cells: 128}\nscoop: 2 L\ntub: 60 L\n"
        );
        for fault in [
            "not a day of the calendar",
            "did you mean `everyday`?",
            "no recipe here offers",
            "At least one is needed.",
            "did you mean `kale`?",
            "no tray or pot is called `51-cell`",
            "did you mean `plants`?",
            "is negative",
            "has no unit",
            "the tub is smaller than one scoop",
        ] {
            assert!(said.contains(fault), "{fault}: {said}");
        }
    }

    #[test]
    fn the_other_files_are_asked_for() {
        let recipe =
            asked(StarterKind::Recipe, &["x: y", "", "peat", "0", "3", "perlite", "1/2", "", "lime", "2 g/L", "", ""]);
        assert_eq!(
            recipe.0.unwrap(),
            "recipe: \"x: y\"\nparts:\n  peat: 3\n  perlite: 1/2\ndoses:\n  lime: 2 g/L\nyield: 88 %\n"
        );
        assert!(recipe.1.contains("`0` is zero") && recipe.1.contains("At least one"), "{}", recipe.1);
        let stock = asked(StarterKind::Stock, &["", "perlit", "perlite", "40", "40 L", ""]);
        assert_eq!(stock.0.unwrap(), "stock: my shed\non_hand:\n  perlite: 40 L\n");
        assert_eq!(asked(StarterKind::Stock, &["shed", ""]).0.unwrap(), "stock: shed\n");
        let season = asked(
            StarterKind::Season,
            &["", "", "10 May", "", "", "", "kale", "72-cell", "40", "last forst", "last frost - 4 weeks", "", "", ""],
        );
        assert_eq!(
            season.0.unwrap(),
            "season: my season\nfrost: {last: 10 May}\nrecipe: everyday\nsowings:\n  \
             - {crop: kale, tray: 72-cell, plants: 40, plant_out: last frost - 4 weeks}\n"
        );
        assert!(season.1.contains("not a day of the calendar"), "{}", season.1);
        let place = asked(StarterKind::Place, &["", "imperial", "us", "2 L", "1 L", "", "", "", "7-21", "", "", ""]);
        assert_eq!(place.0.unwrap(), "place: my bench\nunits: us\nscoop: 2 L\nrecipe: everyday\n");
        assert!(place.1.contains("the tub is smaller") && place.1.contains("not a time of day"), "{}", place.1);
        let rack = asked(StarterKind::Place, &["", "", "", "", "", "", "", "", "3", "", "4"]);
        assert_eq!(rack.0.unwrap(), "place: my bench\nrecipe: everyday\nrack: {shelves: 3, trays_per_shelf: 4}\n");
        assert!(rack.1.contains("This needs an answer."), "{}", rack.1);
        let soak = asked(StarterKind::Soak, &["", "", "2", "clean", "washed", "", ""]);
        assert_eq!(soak.0.unwrap(), "soak: my coir\ncoir: {product: 5 kg block, count: 2}\nsold_as: washed\n");
    }

    #[test]
    fn nothing_comes_of_answers_that_end_early() {
        assert_eq!(asked(StarterKind::Week, &["", "", "", "", "kale", "72-cell"]).0, None);
        assert_eq!(asked(StarterKind::Recipe, &["", "peat"]).0, None);
        assert_eq!(asked(StarterKind::Soak, &["", "", "1"]).0, None);
    }
}
