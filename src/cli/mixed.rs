//! `trayful mixed`: takes what a week used out of its stock file.

use super::args::MixedArgs;
use super::day::{OfSeason, week_or_day};
use super::stocked::{each, of_ingredient};
use super::{DONE, Failure, Session, UNMET, left, said};
use crate::catalogue::{Handle, Ingredient, Role, UsedAs};
use crate::diagnostic::SourceText;
use crate::plan::{self, Batch, Pick, Plan, Purchases, Warning};
use crate::printable::shown;
use crate::report::{MixedReport, Outcome};
use crate::source::Written;
use crate::stock::{
    Act, Known, LEAST_L, Ledger, LedgerFault, Leftover, LogRow, Logbook, MOST_MIXES, Request, Shed, Stock, Taken, Use,
    UsedFor, rewrite, unknown_alone,
};
use crate::units::{Quantity, Rounding, Spoon, Tally, Volume, by_spoon, in_litres, plain, to_litres};
use crate::week::Loaded;
use jiff::Timestamp;
use std::sync::Arc;

impl From<LedgerFault> for Failure {
    fn from(fault: LedgerFault) -> Self {
        match fault {
            LedgerFault::Rejected(rejected) => Self::Rejected(rejected),
            LedgerFault::ChangedSince(_, ref entry) => Self::Said(format!(
                "{fault}: {}. Then close the entry with `--undo --by-hand`, which changes the log alone",
                net_words(&entry.rows)
            )),
            fault => Self::Said(fault.to_string()),
        }
    }
}

/// What an entry changed, each ingredient and each mix once.
fn net_words(rows: &[LogRow]) -> String {
    let (mixes, ingredients): (Vec<_>, Vec<_>) =
        rows.iter().partition(|row| [LogRow::USED_MIX, LogRow::LEFT].contains(&row.what.as_str()));
    let mixes = sum_words(&mixes).map(|words| format!("under `mixes:` {words}"));
    sum_words(&ingredients).into_iter().chain(mixes).collect::<Vec<_>>().join("; ")
}

/// The sums of some rows: `add 37.5 L peat; take off 87.5 L perlite`; `None` where they come to nothing.
fn sum_words(rows: &[&LogRow]) -> Option<String> {
    let sums: Tally<&str, Quantity> =
        rows.iter().filter_map(|row| Some((row.ingredient.as_str(), row.amount()?))).collect();
    let words = |sign: f64, verb: &str| {
        let of_sign = sums.iter().map(|(name, sum)| (name, sum.times(sign))).filter(|(_, sum)| sum.size() >= 0.005);
        let each: Vec<String> =
            of_sign.map(|(name, sum)| format!("{} {} {name}", plain(sum.size(), 2), sum.unit())).collect();
        (!each.is_empty()).then(|| format!("{verb} {}", each.join(", ")))
    };
    let both: Vec<String> = [words(1.0, "add"), words(-1.0, "take off")].into_iter().flatten().collect();
    (!both.is_empty()).then(|| both.join("; "))
}

pub(super) fn run(args: &MixedArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let (mut loaded, mut of_season) = week_or_day(&args.week, &args.day, &args.wanted, session)?;
    session.take_units(&loaded.week.standing);
    let Some(path) = loaded.week.stock.as_ref().and_then(|stock| stock.path.clone()) else {
        return said(format!("`{}` names no stock file: write one and name it as `stock: ...`", shown(&args.week)));
    };
    let mut plan = plan::plan_without_comparison(&loaded)?;
    let opened = session.open()?;
    let mut ledger = Ledger::open(&path, request(args, &loaded, &plan, date(session)), session.around.steps)?;
    if !args.undo && ledger.done.is_none() && !is_of_stock(&loaded, &ledger) {
        // Another run has written to it since: the plan is made anew, now that none can.
        (loaded, of_season) = week_or_day(&args.week, &args.day, &args.wanted, session)?;
        plan = plan::plan_without_comparison(&loaded)?;
        let same_week = request(args, &loaded, &plan, date(session)).is_same(&ledger.request);
        if !same_week || !is_of_stock(&loaded, &ledger) {
            return said("nothing was taken: the files were changed just now. Run this again");
        }
    }
    let outcome = match ledger.done.clone() {
        _ if args.undo => Outcome::Undone(ledger.undo()?),
        Some(entry) => Outcome::Finished(entry),
        None => match known(&ledger.book, &ledger.request, of_season.as_ref())? {
            Some(known) if !args.again && known.is_same => Outcome::Already(known),
            Some(known) if !args.again => Outcome::OtherDay(known),
            known => {
                if set_aside(&mut loaded, known.as_ref()) {
                    plan = plan::plan_without_comparison(&loaded)?;
                }
                Run { args, loaded: &loaded, plan: &plan }.take(&mut ledger)?
            }
        },
    };
    let log = path.with_file_name(ledger.log_path.file_name().unwrap_or_default());
    let other_day = if let Outcome::OtherDay(known) = &outcome { known.entry().key().day.parse().ok() } else { None };
    if let Some(of_season) = &mut of_season {
        of_season.tell(&mut plan);
    }
    let enter = of_season.as_ref().and_then(|of_season| of_season.enter(&args.week, other_day));
    let report = MixedReport {
        outcome: &outcome,
        enter: enter.as_deref(),
        coir: plan.soak.as_ref(),
        names_left: !args.left.is_empty(),
        week: &loaded.week.name,
        // As they are: scripts read them, and each form makes them visible.
        stock: &path.to_string_lossy(),
        log: &log.to_string_lossy(),
    };
    let style = session.style(false);
    let written = session.write_to(opened, |out| crate::report::write(&report, style, out));
    written.map_err(|failure| failure.after(done_words(&outcome)))?;
    ledger.close().map_err(|fault| {
        let done = done_words(&outcome).map(|done| format!("{done}; ")).unwrap_or_default();
        Failure::Said(format!("{done}{fault}"))
    })?;
    Ok(match outcome {
        Outcome::Already(_) | Outcome::OtherDay(_) | Outcome::Short { .. } => UNMET,
        _ => DONE,
    })
}

/// Whether a week was read with the stock file as it is now.
fn is_of_stock(loaded: &Loaded, ledger: &Ledger) -> bool {
    let read = loaded.week.stock.as_ref().and_then(|stock| stock.source.as_ref());
    read.is_some_and(|source| source.text == ledger.original.source.text)
}

/// What was done to the stock and its log, where the report cannot say it.
fn done_words(outcome: &Outcome) -> Option<String> {
    match outcome {
        Outcome::Entered(entry) | Outcome::Finished(entry) => {
            Some(format!("entry {} is in the log, its amounts taken out of the stock", entry.number))
        }
        Outcome::Undone(entry) => {
            let undone = entry.undoes.unwrap_or_default();
            Some(format!("entry {undone} is undone by entry {}", entry.number))
        }
        Outcome::Already(_) | Outcome::OtherDay(_) | Outcome::Short { .. } => None,
    }
}

/// The date of an entry, in the local time of the system.
fn date(session: &Session<'_>) -> String {
    let now = session.around.now.unwrap_or_else(Timestamp::now);
    now.to_zoned_datetime((session.around.zone)()).strftime("%Y-%m-%d %H:%M").to_string()
}

/// What this command asks of the ledger, in the same words whenever it is run.
fn request(args: &MixedArgs, loaded: &Loaded, plan: &Plan, date: String) -> Request {
    let act = match args {
        MixedArgs { by_hand: true, .. } => Act::UndoByHand,
        MixedArgs { undo: true, .. } => Act::Undo,
        MixedArgs { again: true, .. } => Act::Again,
        _ => Act::Take,
    };
    let choices = args.wanted.iter().map(|name| format!("--use {name}"));
    let bought = args.bought.iter().map(|packages| format!("--bought {packages}"));
    let left = args.left.iter().map(|left| format!("--left {left}"));
    Request { act, date, choices: choices.chain(bought).chain(left).collect(), ..of_week(loaded, plan) }
}

/// Which week is asked for.
fn of_week(loaded: &Loaded, plan: &Plan) -> Request {
    let sown = plan.mixes.layout.of(&loaded.week).map(|(sowing, plan)| {
        let crop = sowing.crop.as_ref().map_or("", |crop| crop.name.as_str());
        let variety = sowing.variety.as_deref().map_or("", String::as_str);
        format!("{crop}\t{variety}\t{}\t{}", sowing.tray.name, plan.cells.cells)
    });
    let mix_on = loaded.week.mix_on.as_ref().map(|moment| moment.local.strftime("%Y-%m-%d %H:%M").to_string());
    Request {
        week: loaded.week.name.clone(),
        mix_on: mix_on.unwrap_or_default(),
        sowings: Request::sowings_of(sown.collect()),
        ..Request::default()
    }
}

/// What the log knows of a week: its own entries, or those of another day of its season with sowings of it.
fn known(book: &Logbook, week: &Request, of_season: Option<&OfSeason>) -> Result<Option<Known>, Failure> {
    let moved = || of_season.map_or(Ok(None), |of_season| of_season.taken_before(book));
    Ok(book.known(week).map_or_else(moved, |known| Ok(Some(known)))?)
}

/// What a week that is known left over itself is nothing for its plan; says whether there is any.
fn set_aside(loaded: &mut Loaded, known: Option<&Known>) -> bool {
    loaded.week.stock.as_mut().zip(known).is_some_and(|(stock, known)| stock.set_aside(&known.entries))
}

/// What the log of its stock warns a plan of, which is made again where its week left something over itself.
pub(super) fn warnings(
    loaded: &mut Loaded,
    plan: &mut Plan,
    of_season: Option<&OfSeason>,
    compared: bool,
) -> Result<Vec<Warning>, Failure> {
    let Some(path) = loaded.week.stock.as_ref().and_then(|stock| stock.path.clone()) else { return Ok(Vec::new()) };
    let book = match Logbook::of(&path) {
        Ok(book) => book,
        Err(fault) => return Ok(vec![Warning::LogUnread(fault.in_a_line())]),
    };
    let known = known(&book, &of_week(loaded, plan), of_season)?;
    if set_aside(loaded, known.as_ref()) {
        *plan = plan::plan_for(loaded, None, compared)?;
    }
    let not_entered = of_season.map(OfSeason::not_entered).unwrap_or_default();
    Ok(known.map(Warning::AlreadyMixed).into_iter().chain(not_entered.into_iter().map(Warning::NotEntered)).collect())
}

/// One run of `mixed` for a week.
struct Run<'r> {
    args: &'r MixedArgs,
    loaded: &'r Loaded,
    plan: &'r Plan,
}

impl Run<'_> {
    /// Takes the week out of its stock.
    fn take(&self, ledger: &mut Ledger) -> Result<Outcome, Failure> {
        // As it was read, which is as it is now.
        let Some(stock) = &self.loaded.week.stock else { return said("nothing was taken: there is no stock file") };
        let source = &ledger.original.source;
        let mut stocked = stock.clone();
        let Bought { packages, left_to_buy, planned } = self.bought(&mut stocked)?;
        let mut rows: Vec<LogRow> = packages.iter().map(|(id, pick)| bought_row(id, pick)).collect();
        let mut shed = stocked.on_hand.shed;
        let (uncounted, uses): (Vec<_>, Vec<_>) =
            plan::uses(&self.plan.mixes).into_iter().partition(|used| shed.is_uncounted(used));
        let taken = match shed.take(&uses) {
            Ok(taken) => taken,
            Err(short) => return Ok(Outcome::Short { short, left_to_buy: Box::new(left_to_buy), planned }),
        };
        rows.extend(taken.iter().map(taken_row));
        rows.extend(self.soaked_beyond(&mut shed, &ledger.request.date));
        let (mixes, mix_rows) = self.mixes(stock, source)?;
        rows.extend(mix_rows);
        rows.extend(uncounted.iter().map(uncounted_row));
        let stock = rewrite(&ledger.original, stock, &shed, &mixes, &self.loaded.catalogue).map_err(by_hand_words)?;
        Ok(Outcome::Entered(ledger.enter(rows, stock)?))
    }

    /// The mixes of the stock after this week: less what of them was used, with what was left over.
    fn mixes(&self, stock: &Stock, source: &Arc<SourceText>) -> Result<(Vec<Leftover>, Vec<LogRow>), Failure> {
        let mut mixes = stock.mixes.clone();
        let batches = &self.plan.mixes.batches;
        let mut rows = Vec::new();
        for (batch, &(index, used)) in
            batches.iter().flat_map(|batch| batch.from_stock.iter().map(move |used| (batch, used)))
        {
            let mix = &mut mixes[index];
            mix.amount = (mix.amount - used).max(in_litres(0.0));
            rows.push(LogRow { left: mix.amount_text(), ..mix_row(LogRow::USED_MIX, &batch.name, &mix.name, used) });
        }
        for (index, left) in left::read(&self.args.left, &self.plan.mixes)? {
            let Batch { name, composition, .. } = &batches[index];
            rows.push(mix_row(LogRow::LEFT, name, name, -left));
            let mix = Leftover::new(name, composition, left, self.loaded.week.day());
            let unknown = unknown_alone(source, &mix);
            if !unknown.is_empty() {
                return said(format!(
                    "nothing was taken: what is left of `{name}` holds {}, which this week or its recipe alone knows. \
                     Put it under `ingredients:` of the stock file too, and run this again",
                    unknown.join(", ")
                ));
            }
            mixes.push(mix);
        }
        let kept = mixes.iter().filter(|mix| !mix.is_used_up()).count();
        if kept > MOST_MIXES {
            return said(format!(
                "nothing was taken: the stock file would have {kept} mixes under `mixes:`, and at most {MOST_MIXES} are \
                 kept account of. Take out those that are no longer there, and run this again"
            ));
        }
        Ok((mixes, rows))
    }

    /// Coir is soaked as it is weighed out: what the batches do not take of it goes into the stock as soaked coir.
    fn soaked_beyond(&self, shed: &mut Shed, entered: &str) -> Vec<LogRow> {
        let soaking = self.plan.bath();
        let mut of_mixes = self.plan.mixes.totals.ingredients.iter().map(|(id, _)| id);
        let coir = of_mixes.find(|id| id.is(Role::Coir));
        let known = &self.loaded.catalogue.ingredients;
        let at_hand = shed.soaked_coir().next().cloned();
        let soaked = at_hand.or_else(|| known.first("role: soaked coir", |id| id.is(Role::SoakedCoir)));
        let Some(((soaking, coir), soaked)) = soaking.zip(coir).zip(soaked) else { return Vec::new() };
        let over = shed.at_hand(coir, Quantity::Volume(soaking.over));
        let over = over.of_size(over.size().min(to_litres(soaking.over)));
        if over.size() < LEAST_L {
            return Vec::new();
        }
        let Ok(taken) = shed.take(&[Use::new(UsedFor::Soak, coir, over)]) else { return Vec::new() };
        let day = self.loaded.week.day().or_else(|| entered.get(..10)?.parse().ok());
        shed.add_soaked(&soaked, over, day);
        let kept = LogRow { batch: UsedFor::Soak.as_str().to_owned(), ..row(LogRow::KEPT, &soaked, over.times(-1.0)) };
        taken.iter().map(taken_row).chain([kept]).collect()
    }

    /// Puts what `--bought` says into the stock: packages by name, then what the plan buys
    /// beside them.
    fn bought(&self, stock: &mut Stock) -> Result<Bought, Failure> {
        let (planned, named): (Vec<String>, Vec<String>) =
            self.args.bought.iter().cloned().partition(|text| text.trim() == "planned");
        let catalogue = &self.loaded.catalogue;
        let bought = |id: &Handle<Ingredient>, written: Written<'_>| {
            stock.bought(id, written).map(|(package, count)| Pick { package, count })
        };
        let mut packages = each("--bought", &named, |written| of_ingredient(written, catalogue, bought))?;
        for (id, pick) in &packages {
            stock.on_hand.shed.add(id, &pick.package, pick.count);
        }
        let left_to_buy = plan::to_buy(&[(&self.plan.mixes, &self.loaded.week)], stock, &Handle::clone);
        let planned = !planned.is_empty();
        let lines = left_to_buy.lines.iter().filter(|_| planned);
        for (id, pick) in lines.flat_map(|line| line.packages.iter().map(|pick| (&line.ingredient, pick))) {
            stock.on_hand.shed.add(id, &pick.package, pick.count);
            packages.push((id.clone(), pick.clone()));
        }
        Ok(Bought { packages, left_to_buy, planned })
    }
}

fn by_hand_words(by_hand: Vec<String>) -> Failure {
    Failure::Listed(
        "nothing was taken: the amounts cannot be put into the stock file without changing more than them. Write each \
         on one line of its own under `on_hand:`, a mix as `- {...}` under `mixes:`, without aliases, and run this again. \
         They would be:",
        by_hand,
    )
}

/// What `--bought` says.
struct Bought {
    packages: Vec<(Handle<Ingredient>, Pick)>,
    /// What would still have to be bought before all of the plan's is.
    left_to_buy: Purchases,
    /// All of the plan's is bought.
    planned: bool,
}

/// What was bought counts as taken less than nothing.
fn bought_row(ingredient: &Ingredient, pick: &Pick) -> LogRow {
    LogRow { package: pick.to_string(), ..row("bought", ingredient, pick.gives().times(-1.0)) }
}

fn taken_row(taken: &Taken) -> LogRow {
    let Taken { used, packages, left } = taken;
    let (batch, package, left) = (used.purpose.as_str().to_owned(), packages.join("; "), left.clone());
    LogRow { batch, package, left, ..row("mixed", &used.ingredient, used.amount) }
}

/// A mix of the stock that was used or left over.
fn mix_row(what: &str, batch: &str, mix: &str, litres: Volume) -> LogRow {
    let [what, batch, ingredient] = [what, batch, mix].map(str::to_owned);
    LogRow { what, batch, ingredient, litres: Some(to_litres(litres)), ..LogRow::default() }
}

/// What goes by the spoon, or is at hand by weight where litres are used, stays where it is.
fn uncounted_row(used: &Use) -> LogRow {
    let amount = match used.amount {
        Quantity::Volume(volume) if used.ingredient.kind == Some(UsedAs::Dose) => {
            by_spoon(volume, Spoon::Tablespoon, Rounding::Near)
        }
        amount => amount.written(),
    };
    let Use { purpose, ingredient, .. } = used;
    let row = row(LogRow::NOT_TAKEN, ingredient, used.amount);
    LogRow { batch: purpose.as_str().to_owned(), litres: None, grams: None, package: amount, ..row }
}

fn row(what: &str, ingredient: &Ingredient, amount: Quantity) -> LogRow {
    let [what, ingredient] = [what, &ingredient.name].map(str::to_owned);
    LogRow { what, ingredient, litres: amount.litres(), grams: amount.grams(), ..LogRow::default() }
}
