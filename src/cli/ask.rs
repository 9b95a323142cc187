//! `trayful new KIND --ask`: a file filled in by questions, each answer checked by the reader of the file.

use super::args::{NewArgs, StarterKind};
use super::known::Known;
use super::{DONE, Failure, Session, output};
use crate::diagnostic::{Code, Problem, Problems, SourceText};
use crate::printable::shown;
use crate::source::write::Prepared;
use crate::source::{Disk, Files, scalar};
use std::io;
use std::path::{Path, PathBuf};

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

/// A question for a value.
struct Question {
    /// Its key; none in a map by names, and [`HOW_MANY`] where the answer ends with it.
    key: &'static str,
    text: &'static str,
    names: Option<Known>,
    /// What an empty answer means: nothing is written for an empty one of these, and without one it is asked again.
    usual: Option<&'static str>,
}

/// A part of a file.
enum Part {
    One(Question),
    /// A map with these.
    Map(&'static str, &'static [Question]),
    /// A list of maps with these, until the first answer is empty.
    Listed(&'static str, &'static [Question]),
    /// Names with a value each; a value that would do until the own one is known. Some may need none.
    Named {
        key: &'static str,
        name: Question,
        value: Question,
        stand_in: &'static str,
        least: usize,
    },
}

const fn must(key: &'static str, text: &'static str, names: Option<Known>) -> Question {
    Question { key, text, names, usual: None }
}

const fn may(key: &'static str, text: &'static str, names: Option<Known>, usual: &'static str) -> Question {
    Question { key, text, names, usual: Some(usual) }
}

/// No key of a file: the answer ends with its own, as in `128 cells`.
const HOW_MANY: &str = "how many";

const SCOOP: Part = Part::One(may("scoop", "What do you measure with, as 2 L? [not said]", None, ""));
const TUB: Part = Part::One(may("tub", "What do you mix in, as 60 L? [not said]", None, ""));
const USE: Part =
    Part::One(may("use", "Which ingredient, where it offers a choice? [its first]", Some(Known::Ingredients), ""));

const WEEK: &[Part] = &[
    Part::One(may("week", "What is the week called? [my sowing]", None, "my sowing")),
    Part::One(may("mix_on", "When must the mix be ready, as 2027-03-06 10:00? [not said]", None, "")),
    Part::One(may("recipe", "Which recipe? [everyday]", Some(Known::Recipes), "everyday")),
    USE,
    Part::Listed(
        "sowings",
        &[
            must("crop", "Crop? [no more]", Some(Known::Crops)),
            must("tray", "  In which tray or pot, as 72-cell?", Some(Known::Trays)),
            must(HOW_MANY, "  How many, as 40 plants, 128 cells or 2 trays?", None),
        ],
    ),
    SCOOP,
    TUB,
];

const SEASON: &[Part] = &[
    Part::One(may("season", "What is the season called? [my season]", None, "my season")),
    Part::One(may("year", "Of which year are its frost dates, as 2027? [that of its first day]", None, "")),
    Part::Map(
        "frost",
        &[
            may("last", "When is the last frost on average, as 10 May? [not said]", None, ""),
            may("first", "And the first one, as 5 October? [not said]", None, ""),
        ],
    ),
    Part::One(may("recipe", "Which recipe? [everyday]", Some(Known::Recipes), "everyday")),
    USE,
    Part::Listed(
        "sowings",
        &[
            must("crop", "Crop? [no more]", Some(Known::Crops)),
            must("tray", "  In which tray or pot, as 72-cell?", Some(Known::Trays)),
            must(HOW_MANY, "  How many, as 40 plants, 128 cells or 2 trays?", None),
            must("plant_out", "  When does it go out, as 2027-04-17 or last frost + 2 weeks?", None),
        ],
    ),
    SCOOP,
    TUB,
];

const RECIPE: &[Part] = &[
    Part::One(may("recipe", "What is the recipe called? [my mix]", None, "my mix")),
    Part::Named {
        key: "parts",
        name: must("", "Ingredient? [no more]", Some(Known::Ingredients)),
        value: must("", "  How many parts by loose volume, as 3 or 1/2?", None),
        stand_in: "1",
        least: 1,
    },
    Part::Named {
        key: "doses",
        name: must("", "Dose of what, as lime? [no more]", Some(Known::Ingredients)),
        value: must("", "  How much in the finished mix, as 1 g/L?", None),
        stand_in: "1 g/L",
        least: 0,
    },
    Part::One(may("yield", "How much is kept after blending? [88 %]", None, "88 %")),
];

const STOCK: &[Part] = &[
    Part::One(may("stock", "What is the stock called? [my shed]", None, "my shed")),
    Part::Named {
        key: "on_hand",
        name: must("", "What is at hand, as perlite? [no more]", Some(Known::Ingredients)),
        value: must("", "  How much, as 40 L or 500 g?", None),
        stand_in: "0",
        least: 0,
    },
];

const SOAK: &[Part] = &[
    Part::One(may("soak", "What is the soak called? [my coir]", None, "my coir")),
    Part::Map(
        "coir",
        &[
            may("product", "What is the coir sold in, as 650 g brick? [5 kg block]", None, "5 kg block"),
            may("count", "How many of these? [1]", None, "1"),
        ],
    ),
    Part::One(must("sold_as", "What does the bag say: buffered, washed, mild or none?", None)),
    Part::One(may("ready", "When must it be ready, as 2027-03-06 10:00? [not said]", None, "")),
    Part::One(may("tub", "What do you soak in, as 60 L? [not said]", None, "")),
];

const PLACE: &[Part] = &[
    Part::One(may("place", "What is your bench called? [my bench]", None, "my bench")),
    Part::One(may("units", "Results in metric or us units? [metric]", None, "")),
    SCOOP,
    TUB,
    Part::One(may("recipe", "Which recipe do you mix most? [everyday]", Some(Known::Recipes), "everyday")),
    USE,
    Part::One(may("awake", "When can you lend a hand, as 07:00-21:00? [so]", None, "")),
    Part::One(may("stock", "In which file is your stock, as stock.yaml? [none]", None, "")),
];

impl StarterKind {
    fn questions(self) -> (&'static str, &'static [Part], &'static str) {
        match self {
            Self::Week => ("week", WEEK, "trayful plan"),
            Self::Season => ("season", SEASON, "trayful check"),
            Self::Recipe => ("recipe", RECIPE, "trayful check"),
            Self::Stock => ("stock", STOCK, "trayful check"),
            Self::Soak => ("soak", SOAK, "trayful soak"),
            Self::Place => ("place", PLACE, "trayful check"),
        }
    }
}

pub(super) fn run(args: &NewArgs, session: &Session<'_>) -> Result<u8, Failure> {
    let (kind, parts, next) = args.kind.questions();
    let path = session.common.output.clone().unwrap_or_else(|| PathBuf::from(format!("{kind}.yaml")));
    let Some(mut answers) = session.answers.and_then(|open| open()) else {
        let what =
            format!("`--ask` asks at a terminal, and here is none: `trayful new {kind}` prints a file to fill in");
        return Err(Failure::Said(what));
    };
    if path.exists() {
        let path = shown(&path);
        return Err(Failure::Said(format!(
            "`{path}` is there already, and `new` writes over no file: give another name"
        )));
    }
    let disk = Disk::default();
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let mut asking = Asking { kind, text: String::new(), answers: &mut *answers, files: &disk, folder };
    let failed = |error: io::Error| Failure::Said(format!("nothing was written: {error}"));
    let text = asking.file(parts).map_err(failed)?;
    let Some(text) = text else { return Err(Failure::Said("nothing was written".to_owned())) };
    let mut prepared = Prepared::beside(&path).map_err(|error| output::not_written(&path, &error))?;
    if prepared.replaces() {
        return Err(Failure::Said(format!("`{}` came to be there meanwhile: give another name", shown(&path))));
    }
    let filled = prepared.fill(|out| out.write_all(text.as_bytes())).and_then(|()| prepared.put());
    filled.map_err(|error| output::not_written(&path, &error))?;
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

/// What was answered: an entry for the file, nothing, or no more.
enum Answered {
    Entry(String),
    Empty,
    End,
}

impl Asking<'_> {
    /// Asks for everything; `None` where the answers end before that.
    fn file(&mut self, parts: &[Part]) -> io::Result<Option<String>> {
        for part in parts {
            let goes_on = match part {
                Part::One(question) => self.one(question)?,
                Part::Map(key, questions) => self.map(&format!("{key}: {{"), questions)?.is_some(),
                Part::Listed(key, questions) => self.listed(key, questions)?,
                Part::Named { key, name, value, stand_in, least } => {
                    self.named(key, [name, value], stand_in, *least)?
                }
            };
            if !goes_on {
                return Ok(None);
            }
        }
        Ok(Some(std::mem::take(&mut self.text)))
    }

    fn one(&mut self, question: &Question) -> io::Result<bool> {
        match self.ask(question, false, |entry| format!("{entry}\n"))? {
            Answered::Entry(entry) => self.text += &format!("{entry}\n"),
            Answered::Empty => {}
            Answered::End => return Ok(false),
        }
        Ok(true)
    }

    /// A map on one line after its head; whether it has anything in it, `None` where the answers end.
    fn map(&mut self, head: &str, questions: &[Question]) -> io::Result<Option<bool>> {
        let mut entries: Vec<String> = Vec::new();
        let line = |entries: &[String]| format!("{head}{}}}\n", entries.join(", "));
        for question in questions {
            let is_first = entries.is_empty() && question.usual.is_none();
            let so_far = |entry: &str| line(&[&entries[..], &[entry.to_owned()]].concat());
            match self.ask(question, is_first, so_far)? {
                Answered::Entry(entry) => entries.push(entry),
                Answered::Empty if is_first => return Ok(Some(false)),
                Answered::Empty => {}
                Answered::End => return Ok(None),
            }
        }
        self.text += &line(&entries);
        Ok(Some(true))
    }

    fn listed(&mut self, key: &str, questions: &[Question]) -> io::Result<bool> {
        self.text += &format!("{key}:\n");
        let mut any = false;
        loop {
            match self.map("  - {", questions)? {
                None => return Ok(false),
                Some(true) => any = true,
                Some(false) if any => return Ok(true),
                Some(false) => self.answers.tell("  At least one is needed.")?,
            }
        }
    }

    fn named(&mut self, key: &str, [name, value]: [&Question; 2], stand_in: &str, least: usize) -> io::Result<bool> {
        let head = self.text.len();
        self.text += &format!("{key}:\n");
        let mut count = 0;
        loop {
            let called = match self.ask(name, true, |name| format!("  {name}: {stand_in}\n"))? {
                Answered::Entry(name) => name,
                Answered::Empty if count >= least => break,
                Answered::Empty => {
                    self.answers.tell("  At least one is needed.")?;
                    continue;
                }
                Answered::End => return Ok(false),
            };
            match self.ask(value, false, |value| format!("  {called}: {value}\n"))? {
                Answered::Entry(value) => self.text += &format!("  {called}: {value}\n"),
                Answered::Empty => {}
                Answered::End => return Ok(false),
            }
            count += 1;
        }
        if count == 0 {
            self.text.truncate(head);
        }
        Ok(true)
    }

    /// Asks until the reader of the file finds nothing wrong with the answer; an empty one may end a list.
    fn ask(&mut self, question: &Question, may_end: bool, line: impl Fn(&str) -> String) -> io::Result<Answered> {
        loop {
            let names = question.names.map(Known::names).unwrap_or_default();
            let Some(answer) = self.answers.answer(question.text, names)? else { return Ok(Answered::End) };
            let answer = match (answer.trim(), question.usual) {
                ("", Some("")) => return Ok(Answered::Empty),
                ("", None) if may_end => return Ok(Answered::Empty),
                ("", None) => continue,
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
                None => return Ok(Answered::Entry(entry)),
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
        let place = asked(StarterKind::Place, &["", "imperial", "us", "2 L", "1 L", "", "", "", "7-21", "", ""]);
        assert_eq!(place.0.unwrap(), "place: my bench\nunits: us\nscoop: 2 L\nrecipe: everyday\n");
        assert!(place.1.contains("the tub is smaller") && place.1.contains("not a time of day"), "{}", place.1);
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
