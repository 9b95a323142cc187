//! Taking, taking again and undoing, two weeks in turn, broken off at any step: nothing is
//! lost and nothing counted twice.

use super::{catalogue, is_stray};
use std::fs;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use tempfile::TempDir;
use trayful::cli::{Surroundings, run as trayful};
use trayful::diagnostic::Problems;
use trayful::stock::{Ledger, LedgerFault, LogEntry, LogRow, Shed, Use, UsedFor, WriteStep, read, rewrite};
use trayful::units::{Quantity, in_litres};

const STOCK: &str = "# The shed.\nstock: shed\non_hand:\n  perlite: 100 L   # open bag\n  peat: 2 x bale + 3 L\npackages:\n  \
                     peat: [{label: bale, gives: 50 L}]\n";
const AT_HAND: f64 = 203.0;
const RECIPE: &str = "recipe: plain\nparts: {peat: 3, perlite: 1}\nyield: 80 %\n";
const WEEKS: [&str; 2] = ["first", "second"];
const MIX_ON: &str = "2027-03-06 10:00";
/// More runs than could tell anything new.
const MOST_RUNS: usize = 16;

/// How a run ends before its time.
#[derive(Clone, Copy, PartialEq)]
enum Broken {
    /// A step fails.
    Fails(u8),
    /// The process dies before a step.
    Dies(u8),
}

/// Each two bytes are a run: what it does, and at which step it breaks off.
pub fn run(bytes: &[u8]) {
    let garden = Garden::new();
    let mut known = Known { stock: garden.stock(), entries: 0, taken: Vec::new() };
    for bytes in bytes.chunks_exact(2).take(MOST_RUNS) {
        let (what, step) = (bytes[0], bytes[1] % 8);
        let week = WEEKS[usize::from(what >> 2 & 1)];
        let broken = match what >> 3 & 3 {
            0 => None,
            1 => Some(Broken::Fails(step)),
            _ => Some(Broken::Dies(step)),
        };
        match (what & 3, broken) {
            (3, _) => garden.edited_by_hand(&mut known),
            (2, None) => garden.program(week, &["--undo"], &mut known),
            (again, None) => garden.program(week, if again == 1 { &["--again"] } else { &[] }, &mut known),
            (2, Some(broken)) => garden.broken(broken, &mut known, None, |steps| garden.undo(steps)),
            (again, Some(broken)) => {
                garden
                    .broken(broken, &mut known, Some((week, again == 1)), |steps| garden.take(week, again == 1, steps));
            }
        }
    }
}

/// What the folder must hold.
struct Known {
    stock: Vec<u8>,
    /// All entries of the log.
    entries: usize,
    /// What is taken and not undone: the week, and the file before it.
    taken: Vec<(&'static str, Vec<u8>)>,
}

impl Known {
    /// Takes over what a run has done, which is nothing, or one entry whole.
    fn follow(&mut self, garden: &Garden, asked: Option<(&'static str, bool)>) {
        let (stock, entries) = (garden.stock(), garden.entries());
        if entries == self.entries {
            assert!(stock == self.stock, "the stock file is changed without an entry");
            return;
        }
        assert_eq!(entries, self.entries + 1, "one run made more than one entry");
        match asked {
            Some((week, again)) => {
                let twice = self.taken.iter().any(|(taken, _)| *taken == week);
                assert!(again || !twice, "`{week}` is taken twice");
                self.taken.push((week, std::mem::take(&mut self.stock)));
            }
            None => {
                let last = self.taken.pop();
                assert!(last.is_some_and(|(_, before)| before == stock), "undone, and not as it was");
            }
        }
        (self.stock, self.entries) = (stock, entries);
    }
}

type Steps<'s> = &'s mut dyn FnMut(WriteStep) -> io::Result<()>;

/// A folder with two weeks, their recipe and their stock.
struct Garden {
    folder: TempDir,
    stock: PathBuf,
}

impl Garden {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let garden = Self { stock: folder.path().join("shed.yaml"), folder };
        garden.put("shed.yaml", STOCK);
        garden.put("plain.yaml", RECIPE);
        for week in WEEKS {
            let text = format!(
                "week: {week}\nmix_on: {MIX_ON}\nrecipe: plain\nstock: shed.yaml\ntrays: {{box: {{cells: 10, rows: 1, \
                 cell: 100 mL}}}}\nsowings: [{{crop: lettuce, trays: 4, tray: box}}]\n"
            );
            garden.put(&format!("{week}.yaml"), &text);
        }
        garden
    }

    fn put(&self, name: &str, text: &str) {
        fs::write(self.folder.path().join(name), text).expect("a file");
    }

    fn stock(&self) -> Vec<u8> {
        fs::read(&self.stock).expect("the stock file is there")
    }

    /// How many entries the log has; the sums of what was taken and what is left must agree.
    fn entries(&self) -> usize {
        let log = fs::read_to_string(self.folder.path().join("shed.log.csv")).unwrap_or_default();
        let (mut numbers, mut taken) = (Vec::<usize>::new(), 0.0);
        for record in csv::Reader::from_reader(log.as_bytes()).records() {
            let record = record.expect("a line of the log");
            numbers.push(record[0].parse().expect("the number of an entry"));
            taken += record[7].parse::<f64>().expect("litres");
        }
        numbers.dedup();
        assert!(numbers.iter().copied().eq(1..=numbers.len()), "entries {numbers:?}");
        let left = at_hand(&self.shed());
        assert!((left + taken - AT_HAND).abs() < 0.1, "{left} L are left of {AT_HAND} L less {taken} L");
        numbers.len()
    }

    fn shed(&self) -> Shed {
        let original = trayful::source::Original::of("shed.yaml", self.stock()).expect("a text");
        let problems = Problems::new(Arc::clone(&original.source));
        read(&original.source, &mut catalogue(), &problems).expect("a stock file").on_hand.shed
    }

    /// The program itself, which is not broken off.
    fn program(&self, week: &'static str, more: &[&str], known: &mut Known) {
        let path = self.folder.path().join(format!("{week}.yaml"));
        let arguments = ["trayful".into(), "mixed".into(), path.into_os_string()];
        let arguments = arguments.into_iter().chain(more.iter().map(Into::into));
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = trayful(arguments, Surroundings::default(), &mut out, &mut err);
        let (out, err) = (String::from_utf8_lossy(&out), String::from_utf8_lossy(&err));
        assert!(code <= 2 && (code == 2) != err.is_empty(), "exit code {code}: {out}{err}");
        assert!(!out.contains(is_stray) && !err.contains(is_stray), "{out}{err}");
        let before = known.entries;
        let asked = (!more.contains(&"--undo")).then_some((week, more.contains(&"--again")));
        known.follow(self, asked);
        assert_eq!(code == 0, known.entries > before, "exit code {code}: {out}{err}");
    }

    /// A comment is written into the stock file, which then cannot be undone.
    fn edited_by_hand(&self, known: &mut Known) {
        let mut stock = self.stock();
        stock.extend(b"# counted\n");
        fs::write(&self.stock, &stock).expect("a file");
        for (_, before) in &mut known.taken {
            // No file that any entry knows.
            before.clear();
        }
        known.stock = stock;
    }

    /// A run that breaks off, and the next one, which finds what it left.
    fn broken(
        &self,
        broken: Broken,
        known: &mut Known,
        asked: Option<(&'static str, bool)>,
        run: impl FnOnce(Steps<'_>) -> Result<(), LedgerFault>,
    ) {
        let mut left = match broken {
            Broken::Fails(step) | Broken::Dies(step) => step,
        };
        let mut steps = |_: WriteStep| {
            let here = left == 0;
            left = left.saturating_sub(1);
            match broken {
                Broken::Fails(_) if here => Err(io::Error::other("no space left")),
                // No message, and no hook that a fuzzer stops at.
                Broken::Dies(_) if here => resume_unwind(Box::new(())),
                _ => Ok(()),
            }
        };
        let _ = catch_unwind(AssertUnwindSafe(|| run(&mut steps)));
        if let Err(fault) = Ledger::open(&self.stock, &mut |_| Ok(())) {
            panic!("what a broken run left cannot be opened: {fault}");
        }
        known.follow(self, asked);
    }

    /// Takes eight litres for a week, as the program does.
    fn take(&self, week: &str, again: bool, steps: Steps<'_>) -> Result<(), LedgerFault> {
        let (mut ledger, _) = Ledger::open(&self.stock, steps)?;
        if ledger.entry_of(week, MIX_ON).is_some() && !again {
            return Ok(());
        }
        let problems = Problems::new(Arc::clone(&ledger.original.source));
        let mut catalogue = catalogue();
        let Some(stock) = read(&ledger.original.source, &mut catalogue, &problems) else { return Ok(()) };
        let mut shed = stock.on_hand.shed.clone();
        let uses = shed.ingredients().map(|id| Use::new(UsedFor::Covering, id, Quantity::Volume(in_litres(8.0))));
        let Ok(taken) = shed.take(&uses.collect::<Vec<_>>()) else { return Ok(()) };
        let Ok(new) = rewrite(&ledger.original, &stock, &shed, &catalogue) else { return Ok(()) };
        let row = |name: &str| LogRow {
            what: "mixed".to_owned(),
            ingredient: name.to_owned(),
            litres: Some(8.0),
            ..LogRow::default()
        };
        let rows = taken.iter().map(|taken| row(&taken.used.ingredient.name)).collect();
        let (week, mix_on) = (week.to_owned(), MIX_ON.to_owned());
        let entry = LogEntry { week, mix_on, rows, restore: new.back, ..LogEntry::default() };
        ledger.enter(entry, &new.bytes, steps).map(drop)
    }

    fn undo(&self, steps: Steps<'_>) -> Result<(), LedgerFault> {
        let (mut ledger, _) = Ledger::open(&self.stock, steps)?;
        ledger.undo(String::new(), steps).map(drop)
    }
}

/// All that is at hand, in litres.
fn at_hand(shed: &Shed) -> f64 {
    let like = Quantity::Volume(in_litres(1.0));
    shed.ingredients().map(|id| shed.at_hand(id, like).size()).sum()
}
