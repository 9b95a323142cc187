//! What a season takes of coir and packages: bought and bathed for several days together, or day by day.

use super::dates::after;
use super::planned::Season;
use super::sown_day::SownDay;
use super::windows::is_possible;
use crate::catalogue::{Handle, Ingredient, Role};
use crate::moment::Moment;
use crate::plan::{self, InSeason, Mixes, Purchases, Soaking, Totals, soaked_together, to_buy};
use crate::stock::{LEAST_L, SOAKED_KEEPS_DAYS, Stock, Use, UsedFor};
use crate::units::{Quantity, Volume, in_litres, to_litres};
use crate::week::Week;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// A course of coir.
#[derive(Clone, Debug)]
pub struct CoirCourse {
    /// The days that it serves, by their indexes; it is ready on the first of them.
    pub days: Vec<usize>,
    /// The course.
    pub soaking: Soaking,
}

impl CoirCourse {
    /// When it must begin; `None` where no times fit the hours in which somebody is there.
    pub fn start(&self) -> Option<&ZonedDateTime> {
        self.soaking.times.as_ref().map(|times| &times.start)
    }

    /// Whether it can no longer be ready on its first day: it would have begun before today, or no times fit.
    pub fn is_unready(&self, today: Date) -> bool {
        self.soaking.finds_no_time || self.start().is_some_and(|start| start.date() < today)
    }

    /// The first mix day after another on which it can be ready, begun from today on; looked for over a year.
    pub fn ready_after(&self, season: &Season, day: Date, today: Date) -> Option<Date> {
        let (week, sheet) = (&season.loaded.week, self.soaking.sheet.as_ref()?);
        let zone = week.standing.zone(season.zone);
        let is_ready = |day: &Date| {
            let ready = Moment { local: day.to_datetime(week.awake.usual_hour(*day)), zone: zone.clone() };
            sheet.times(&ready, &self.soaking.soak.awake).is_some_and(|times| times.start.date() >= today)
        };
        (1..=366).map(|days| after(day, days)).filter(|day| is_possible(week, *day)).find(is_ready)
    }

    /// Whether it still keeps on a day: its last bath has drained no longer ago.
    fn keeps_until(&self, day: Date) -> bool {
        let drained = self.soaking.times.as_ref().and_then(|times| times.runs.last());
        drained.is_none_or(|run| (day - run.ends.date()).get_days() <= SOAKED_KEEPS_DAYS)
    }
}

impl Season {
    /// Coir, loose, that is needed after each day by those that are not done either; to a tenth of a litre, up.
    pub(super) fn coir_after(&self, days: &[SownDay]) -> BTreeMap<Date, Volume> {
        let known = |id: &Handle<Ingredient>| self.known(id);
        let days = Days::of(self, days, &known);
        let after = days.coir_after();
        let tenths = |litres: f64| in_litres((litres * 10.0 - 1e-6).ceil() / 10.0);
        days.open
            .iter()
            .map(|at| days.sown[*at].on)
            .zip(after.into_iter().map(|after| tenths(to_litres(after))))
            .collect()
    }

    /// What the course of coir for a day is in the season.
    pub fn coir_on(&self, days: &mut [SownDay], on: Date) -> InSeason {
        // As it is before its mix is made.
        days.iter_mut().filter(|day| day.on == on).for_each(|day| day.is_done = false);
        let courses = Bought::of(self, days).coir;
        let first = |course: &CoirCourse| days[course.days[0]].on;
        let course = courses.into_iter().find(|course| course.days.iter().any(|day| days[*day].on == on));
        let serves = |first: &Date, on: Date| (on - *first).get_days() <= SOAKED_KEEPS_DAYS;
        // What was bathed on days that are done is not written anywhere: as if each course had served all that it can.
        let done = days.iter().filter(|day| day.is_done && day.plan.bath().is_some()).map(|day| day.on);
        let done = done.fold(None, |first: Option<Date>, day| first.filter(|first| serves(first, day)).or(Some(day)));
        let planned = course.as_ref().map(first).filter(|first| *first < on);
        let more = course.filter(|course| first(course) == on && course.days.len() > 1).and_then(|course| {
            let own = days[course.days[0]].plan.soak.as_ref().map_or(in_litres(0.0), Soaking::bathed);
            let later = course.days[1..].iter().map(|day| days[*day].on).collect();
            let more = course.soaking.bathed() - own;
            (to_litres(more) > LEAST_L).then(|| (more, later, Box::new(course.soaking)))
        });
        InSeason { served_by: planned.or(done.filter(|first| serves(first, on))), more }
    }
}

/// What is bought for a season.
pub(super) struct Bought {
    pub purchases: Purchases,
    pub day_by_day: Option<Decimal>,
    pub coir: Vec<CoirCourse>,
    /// The sums over all days.
    pub totals: Totals,
}

impl Bought {
    /// For the days that are not done, at once and day by day; enters with each day what it lacks.
    pub fn of(season: &Season, days: &mut [SownDay]) -> Self {
        let known = |id: &Handle<Ingredient>| season.known(id);
        let totals = Totals::of_all(days.iter().map(|day| &day.plan.mixes.totals), &known);
        let season_days = Days::of(season, days, &known);
        let (open, stock) = (&season_days.open, &season_days.stock);
        let mut purchases = season_days.bought(open, stock);
        for line in purchases.lines.iter_mut().filter(|line| line.ingredient.is(Role::SoakedCoir)) {
            let balance = season_days.at_hand.on_hand.shed.balance(&line.ingredient, line.need);
            (line.on_hand, line.left_over) = (balance.on_hand, balance.left_with(0.0));
        }
        let after = season_days.coir_after();
        // What is bought at once is there for every course; what is bought day by day is not.
        let mut at_once = stock.clone();
        put(&purchases, &mut at_once);
        let (mut shed, mut cost, mut coir, mut lacks) =
            (stock.clone(), Some(Decimal::ZERO), Vec::<CoirCourse>::new(), Vec::new());
        for (place, at) in open.iter().copied().enumerate() {
            let is_served = coir.last().is_some_and(|course| course.days.contains(&at));
            let bought = season_days.bought(&[at], &shed);
            if !is_served && let Some(course) = season_days.longest_course(&open[place..], &after[place..], &at_once) {
                for line in bought.lines.iter().filter(|line| line.ingredient.is(Role::Coir)) {
                    take_one(&line.ingredient, Quantity::Volume(course.soaking.over), &mut at_once);
                }
                coir.push(course);
            }
            cost = cost.zip(bought.total).and_then(|(sum, more)| sum.checked_add(more));
            put(&bought, &mut shed);
            take(&bought, &mut shed);
            take(&bought, &mut at_once);
            lacks.push(bought.lines.into_iter().filter(|line| line.lacking.size() > 0.0).collect());
        }
        for (at, lines) in season_days.open.into_iter().zip(lacks) {
            days[at].lacks = lines;
        }
        Self { purchases, day_by_day: cost, coir, totals }
    }
}

/// The soaked coir at hand that each day uses: what keeps until then, and what no day before it uses.
struct Soaked {
    /// What it is, where there is any.
    coir: Option<Handle<Ingredient>>,
    /// Litres of it, by the index of the day.
    litres: Vec<f64>,
}

impl Soaked {
    fn of(stock: &Stock, days: &[SownDay]) -> Self {
        let coir = stock.on_hand.shed.soaked_coir().next().cloned();
        let mut left = stock.clone();
        let mut used = |day: &SownDay| {
            left.on_hand.shed.on(Some(day.on));
            let lines = day.plan.purchases.lines.iter().filter(|line| line.ingredient.is(Role::SoakedCoir));
            lines
                .map(|line| {
                    let there = left.on_hand.shed.at_hand(&line.ingredient, line.need).size();
                    let used = line.need.of_size(line.need.size().min(there));
                    take_one(&line.ingredient, used, &mut left);
                    used.size()
                })
                .sum()
        };
        let litres = days.iter().map(|day| if day.is_done { 0.0 } else { used(day) }).collect();
        Self { coir, litres }
    }

    /// Some stock without soaked coir, with what of it some days use.
    fn beside<'s>(&self, stock: &'s Stock, days: &[usize]) -> Cow<'s, Stock> {
        let Some(coir) = &self.coir else { return Cow::Borrowed(stock) };
        let mut stock = stock.clone();
        let litres = days.iter().map(|at| self.litres[*at]).sum();
        stock.on_hand.shed.add_loose(coir, Quantity::Volume(in_litres(litres)));
        Cow::Owned(stock)
    }
}

/// The days of a season with what is mixed on them.
struct Days<'d> {
    sown: &'d [SownDay],
    /// The indexes of those that are not done.
    open: Vec<usize>,
    /// The stock, and the same without its soaked coir.
    at_hand: Stock,
    stock: Stock,
    soaked: Soaked,
    known: plan::Known<'d>,
}

impl<'d> Days<'d> {
    fn of(season: &Season, sown: &'d [SownDay], known: plan::Known<'d>) -> Self {
        let at_hand = season.loaded.week.stock.clone();
        let at_hand = at_hand.unwrap_or_else(|| Stock::empty(&season.loaded.catalogue));
        let mut stock = at_hand.clone();
        stock.on_hand.shed.drop_soaked();
        let open = (0..sown.len()).filter(|at| !sown[*at].is_done).collect();
        Self { sown, open, soaked: Soaked::of(&at_hand, sown), at_hand, stock, known }
    }

    /// What some of the days take of a stock without soaked coir, and what is bought for them.
    fn bought(&self, at: &[usize], stock: &Stock) -> Purchases {
        to_buy(&self.weeks(at), &self.soaked.beside(stock, at), self.known)
    }

    /// The coir that is needed after each of the days that are not done.
    fn coir_after(&self) -> Vec<Volume> {
        let needed = |at: &usize| -> Volume {
            let lines =
                self.bought(&[*at], &self.stock).lines.into_iter().filter(|line| line.ingredient.is(Role::Coir));
            in_litres(lines.filter_map(|line| line.need.litres()).sum())
        };
        let of_each = self.open.iter().rev().scan(in_litres(0.0), |after, at| {
            let this = *after;
            *after += needed(at);
            Some(this)
        });
        let mut all: Vec<Volume> = of_each.collect();
        all.reverse();
        all
    }

    fn weeks(&self, at: &[usize]) -> Vec<(&'d Mixes, &'d Week)> {
        at.iter().map(|at| (&self.sown[*at].plan.mixes, &self.sown[*at].loaded.week)).collect()
    }

    /// The course for the first of some days, if its coir is bathed, and for as many of those after it as it serves; where
    /// so much is needed after each.
    fn longest_course(&self, open: &[usize], after: &[Volume], stock: &Stock) -> Option<CoirCourse> {
        self.course(&open[..1], after[0], stock)?;
        let on = |at: &usize| self.sown[*at].on;
        let soon = |other: &&usize| (on(other) - on(&open[0])).get_days() <= SOAKED_KEEPS_DAYS;
        // A course that ends long before its first day, since nobody is there, serves fewer days.
        let keeps = |course: &CoirCourse| course.days.iter().all(|day| course.keeps_until(on(day)));
        let courses = (1..=open.iter().take_while(soon).count()).rev();
        let mut courses = courses.filter_map(|count| self.course(&open[..count], after[count - 1], stock));
        courses.find(|course| keeps(course) || course.days.len() == 1)
    }

    /// The course for some days, those of them alone that need coir; for the first by itself where all is beyond the model.
    fn course(&self, served: &[usize], later: Volume, stock: &Stock) -> Option<CoirCourse> {
        let takes = |at: &usize| self.sown[*at].plan.mixes.totals.ingredients.iter().any(|(id, _)| id.is(Role::Coir));
        let takers: Vec<usize> = served.iter().copied().filter(takes).collect();
        [&takers[..], takers.get(..1)?].into_iter().find_map(|served| {
            let weeks = self.weeks(served);
            let mixes: Vec<&Mixes> = weeks.iter().map(|(mixes, _)| *mixes).collect();
            let stock = self.soaked.beside(stock, served);
            let bought = to_buy(&weeks, &stock, self.known);
            let soaking = soaked_together(&mixes, &bought, &stock, (weeks[0].1, later), self.known).ok()??;
            soaking.sheet.as_ref()?;
            Some(CoirCourse { days: served.to_vec(), soaking })
        })
    }
}

/// Puts what is bought on the shelf.
fn put(bought: &Purchases, stock: &mut Stock) {
    for (line, pick) in bought.lines.iter().flat_map(|line| line.packages.iter().map(move |pick| (line, pick))) {
        stock.on_hand.shed.add(&line.ingredient, &pick.package, pick.count);
    }
}

/// Takes what is needed. What comes in no package leaves nothing behind.
fn take(bought: &Purchases, stock: &mut Stock) {
    bought.lines.iter().for_each(|line| take_one(&line.ingredient, line.need, stock));
}

fn take_one(ingredient: &Handle<Ingredient>, amount: Quantity, stock: &mut Stock) {
    let _ = stock.on_hand.shed.take(&[Use::new(UsedFor::Scoops, ingredient, amount)]);
}
