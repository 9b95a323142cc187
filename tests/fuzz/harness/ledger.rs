//! Taking, taking again and undoing, two weeks in turn, each run perhaps broken off at a step
//! and made again: nothing is lost and nothing counted twice.

use super::{catalogue, is_stray};
use std::cell::Cell;
use std::fs;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use tempfile::TempDir;
use trayful::cli::{DONE, REFUSED, Surroundings, run as trayful};
use trayful::diagnostic::Problems;
use trayful::source::Original;
use trayful::stock::{WriteStep, read};
use trayful::units::{Quantity, in_litres};

const STOCK: &str = "# The shed.\nstock: shed\non_hand:\n  perlite: 100 L   # open bag\n  peat: 2 x bale + 3 L\npackages:\n  \
                     peat: [{label: bale, gives: 50 L}]\n";
const AT_HAND: f64 = 203.0;
const RECIPE: &str = "recipe: plain\nparts: {peat: 3, perlite: 1}\nyield: 80 %\n";
/// Two weeks, and one of which there is never enough.
const WEEKS: [(&str, u32); 3] = [("first", 4), ("second", 9), ("huge", 4000)];
/// A sequence of more runs tells nothing that a shorter one does not.
const MOST_RUNS: usize = 10;

/// How a run ends before its time.
#[derive(Clone, Copy, PartialEq)]
enum Broken {
    /// A step fails.
    Fails(u8),
    /// The process dies before a step.
    Dies(u8),
    /// What it did cannot be told.
    Untold,
}

thread_local! {
    static BROKEN: Cell<Option<Broken>> = const { Cell::new(None) };
}

/// Breaks the run off at its step; at the last one all is done and told.
fn step(step: WriteStep) -> io::Result<()> {
    match BROKEN.get().filter(|_| step != WriteStep::Done) {
        Some(Broken::Fails(0)) => {
            BROKEN.set(None);
            Err(io::Error::other("no space left"))
        }
        Some(Broken::Dies(0)) => {
            BROKEN.set(None);
            // No message, and no hook that a fuzzer stops at.
            resume_unwind(Box::new(()))
        }
        Some(Broken::Fails(left)) => {
            BROKEN.set(Some(Broken::Fails(left - 1)));
            Ok(())
        }
        Some(Broken::Dies(left)) => {
            BROKEN.set(Some(Broken::Dies(left - 1)));
            Ok(())
        }
        Some(Broken::Untold) | None => Ok(()),
    }
}

/// Each two bytes are a command: what it does, and how its first run breaks off.
pub fn run(bytes: &[u8]) {
    let mut garden = Garden::new();
    for bytes in bytes.chunks_exact(2).take(MOST_RUNS) {
        let (what, at) = (bytes[0], bytes[1] % 7);
        let week = WEEKS[usize::from(what >> 2 & 1)].0;
        let broken = match what >> 3 & 3 {
            0 => None,
            1 => Some(Broken::Fails(at)),
            2 => Some(Broken::Dies(at)),
            _ => Some(Broken::Untold),
        };
        let again = what >> 5 & 1 == 0;
        match (what & 3, again) {
            (0, _) => garden.asked(Asked { week, more: &[] }, broken, again),
            (1, _) => garden.asked(Asked { week, more: &["--again"] }, broken, again),
            (2, _) => garden.asked(Asked { week, more: &["--undo"] }, broken, again),
            (_, true) => garden.edited(None),
            (_, false) => garden.put_back_by_hand(broken),
        }
    }
}

/// A command.
#[derive(Clone, Copy)]
struct Asked {
    week: &'static str,
    more: &'static [&'static str],
}

impl Asked {
    fn has(self, option: &str) -> bool {
        self.more.contains(&option)
    }
}

/// A folder with the weeks, their recipe and their stock; and what it must hold.
struct Garden {
    folder: TempDir,
    stock: Vec<u8>,
    /// All entries of the log.
    entries: usize,
    /// What is taken and not undone: the week, and the file before it; none of it once the
    /// file was edited.
    taken: Vec<(&'static str, Option<Vec<u8>>)>,
    /// Commands that were done and whose report is missing: the same one again only tells it.
    untold: Vec<(&'static str, &'static [&'static str])>,
}

impl Garden {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).expect("a file");
        put("shed.yaml", STOCK);
        put("plain.yaml", RECIPE);
        for (week, trays) in WEEKS {
            let text = format!(
                "week: {week}\nmix_on: 2027-03-06 10:00\nrecipe: plain\nstock: shed.yaml\ntrays: {{box: {{cells: 10, rows: 1, \
                 cell: 100 mL}}}}\nsowings: [{{crop: lettuce, trays: {trays}, tray: box}}]\n"
            );
            put(&format!("{week}.yaml"), &text);
        }
        Self { folder, stock: STOCK.into(), entries: 0, taken: Vec::new(), untold: Vec::new() }
    }

    /// A command, whose first run may break off: it is made again then, or another one is
    /// that does nothing but find what is left.
    fn asked(&mut self, asked: Asked, broken: Option<Broken>, again: bool) {
        if broken.is_none() {
            let code = self.program(asked, None);
            self.follow(asked, code);
        } else if self.is_broken_off(asked, broken) {
            let next = if again { asked } else { Asked { week: "huge", more: &[] } };
            let code = self.program(next, None);
            if again {
                self.follow(asked, code);
            } else {
                assert_ne!(code, Some(DONE), "there is enough for a week that is too large");
                self.follow(asked, None);
            }
        }
    }

    /// Runs a command that is to break off; whether it did. If not, it was done as always.
    fn is_broken_off(&mut self, asked: Asked, broken: Option<Broken>) -> bool {
        let code = self.program(asked, broken);
        let is_broken = code.is_none() || BROKEN.take().is_none() || broken == Some(Broken::Untold);
        if !is_broken {
            self.follow(asked, code);
        }
        is_broken
    }

    /// The exit code of a run; none if it died.
    fn program(&self, asked: Asked, broken: Option<Broken>) -> Option<u8> {
        let path = self.folder.path().join(format!("{}.yaml", asked.week));
        let arguments = ["trayful".into(), "mixed".into(), path.into_os_string()];
        let arguments = arguments.into_iter().chain(asked.more.iter().map(Into::into));
        let surroundings = Surroundings { steps: step, ..Surroundings::default() };
        let (mut out, mut full, mut err) = (Vec::new(), Full, Vec::new());
        let told: &mut dyn Write = if broken == Some(Broken::Untold) { &mut full } else { &mut out };
        BROKEN.set(broken);
        let code = catch_unwind(AssertUnwindSafe(|| trayful(arguments, surroundings, told, &mut err))).ok()?;
        let (out, err) = (String::from_utf8_lossy(&out), String::from_utf8_lossy(&err));
        assert!(code <= REFUSED && (code == REFUSED) != err.is_empty(), "exit code {code}: {out}{err}");
        assert!(!out.contains(is_stray) && !err.contains(is_stray), "{out}{err}");
        Some(code)
    }

    /// Takes over what a command has done, which is nothing, or one entry whole; what its last
    /// run says must be so.
    fn follow(&mut self, asked: Asked, code: Option<u8>) {
        let (stock, entries) = (self.read(), self.logged());
        let request = (asked.week, asked.more);
        let is_owed = self.untold.contains(&request) && entries == self.entries;
        let is_done = entries > self.entries || is_owed;
        assert!(code.is_none_or(|code| (code == DONE) == is_done), "exit code {code:?}");
        if is_done {
            self.untold.retain(|(week, _)| *week != asked.week || code.is_none() && is_owed);
        }
        if entries == self.entries {
            assert!(stock == self.stock, "the stock file is changed without an entry");
            return;
        }
        if code.is_none() {
            self.untold.push(request);
        }
        assert_eq!(entries, self.entries + 1, "one command made more than one entry");
        if asked.has("--undo") {
            let (week, before) = self.taken.pop().expect("an entry to undo");
            assert_eq!(week, asked.week, "another week is undone");
            let expected = if asked.has("--by-hand") { Some(&self.stock) } else { before.as_ref() };
            assert!(expected == Some(&stock), "undone, and not as it was");
        } else {
            let twice = self.taken.iter().any(|(taken, _)| *taken == asked.week);
            assert!(asked.has("--again") || !twice, "`{}` is taken twice", asked.week);
            self.taken.push((asked.week, Some(std::mem::take(&mut self.stock))));
        }
        (self.stock, self.entries) = (stock, entries);
    }

    fn read(&self) -> Vec<u8> {
        fs::read(self.folder.path().join("shed.yaml")).expect("the stock file is there")
    }

    /// How many entries the log has; what was taken and what is left must sum up.
    fn logged(&self) -> usize {
        let log = fs::read_to_string(self.folder.path().join("shed.log.csv")).unwrap_or_default();
        let (mut numbers, mut taken) = (Vec::<usize>::new(), 0.0);
        for record in csv::Reader::from_reader(log.as_bytes()).records() {
            let record = record.expect("a line of the log");
            numbers.push(record[0].parse().expect("the number of an entry"));
            taken += record[7].parse::<f64>().expect("litres");
        }
        numbers.dedup();
        assert!(numbers.iter().copied().eq(1..=numbers.len()), "entries {numbers:?}");
        let left = self.at_hand();
        assert!((left + taken - AT_HAND).abs() < 0.1, "{left} L are left of {AT_HAND} L less {taken} L");
        numbers.len()
    }

    /// All that is at hand, in litres.
    fn at_hand(&self) -> f64 {
        let original = Original::of("shed.yaml", self.read()).expect("a text");
        let problems = Problems::new(Arc::clone(&original.source));
        let shed = read(&original.source, &mut catalogue(), &problems).expect("a stock file").on_hand.shed;
        let like = Quantity::Volume(in_litres(1.0));
        shed.ingredients().map(|id| shed.at_hand(id, like).size()).sum()
    }

    /// A comment is written into the stock file, or into an earlier state of it; no entry can
    /// be undone in it then.
    fn edited(&mut self, text: Option<Vec<u8>>) {
        self.stock = text.unwrap_or_else(|| self.read());
        self.stock.extend(b"# counted\n");
        fs::write(self.folder.path().join("shed.yaml"), &self.stock).expect("a file");
        self.taken.iter_mut().for_each(|(_, before)| *before = None);
    }

    /// The last entry is put back by hand, and then closed.
    fn put_back_by_hand(&mut self, broken: Option<Broken>) {
        let Some((week, Some(before))) = self.taken.last().cloned() else { return };
        self.edited(Some(before));
        self.asked(Asked { week, more: &["--undo", "--by-hand"] }, broken, true);
        assert!(self.taken.last().is_none_or(|(_, before)| before.is_none()));
    }
}

/// A disk without space.
struct Full;

impl Write for Full {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::Error::other("no space left"))
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
