//! The soak of coir: of a week's, for as much as all batches take, by weight, or of coir by itself.

use super::bench::wetted;
use super::buy::HARDLY_ANY;
use super::mixes::Known;
use super::{Mixes, PurchaseLine, Purchases};
use crate::catalogue::{Handle, Ingredient, Role};
use crate::coir::soak::{CoirAmount, KEEPS_HOURS, Lot, Product, Soak, Times, Worksheet};
use crate::coir::{
    Action, CoirError, Stated, WaterHeld, Wetting, dry_kg_of_loose, dry_kg_of_sold, loose_l_of_dry, loose_l_of_sold,
};
use crate::moment::Moment;
use crate::source::FromText;
use crate::stock::{Package, Stock};
use crate::units::{Quantity, Volume, cover, in_litres, to_litres};
use crate::week::Week;
use jiff::ZonedDateTime;
use jiff::civil::Date;

/// What would fit the hours in which somebody is there, where the course of some coir does not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fitting {
    /// A course of so many soaks and rinses, wetted so.
    Course(Wetting, usize, usize),
    /// A tub of so many litres, which takes the coir in one run.
    Tub(f64),
}

impl Fitting {
    /// The first that fits and meets the target.
    fn of(soak: &Soak, lot: Lot, ready: &Moment) -> Option<Self> {
        let fits = |other: &Soak| {
            let sheet = other.work_out(lot, Some(ready)).ok()??;
            sheet.times(ready, &other.awake).filter(|_| !sheet.misses_target()).map(|_| sheet)
        };
        let soak = Soak { compare: false, ..soak.clone() };
        let course = [Some(Wetting::Bath), None].into_iter().filter(|_| soak.course.is_none()).find_map(|wetting| {
            let steps = fits(&Soak { stated: Stated { wetting, ..Stated::default() }, ..soak.clone() })?.course.steps;
            let count = |action| steps.iter().filter(|step| step.action == action).count();
            let wetting = if steps.first()?.action == Action::Soak { Wetting::Bath } else { Wetting::Water };
            Some(Self::Course(wetting, count(Action::Soak), count(Action::Rinse)))
        });
        course.or_else(|| Some(Self::Tub(fits(&Soak { tub_l: None, ..soak })?.report.tub.tub_l)))
    }
}

/// What a day's course of coir is in its season.
#[derive(Clone, Debug)]
pub struct InSeason {
    /// The day whose course was to serve this one too.
    pub served_by: Option<Date>,
    /// Loose coir that the course takes beyond that of this day, the later days for which it does, and all of it.
    pub more: Option<(Volume, Vec<Date>, Box<Soaking>)>,
}

/// The soak of some coir.
#[derive(Clone, Debug)]
pub struct Soaking {
    /// What was asked for.
    pub soak: Soak,
    /// The worksheet; `None` for coir that is sold as buffered.
    pub sheet: Option<Worksheet>,
    /// Coir that is needed, loose: in a week, what the batches take beyond the soaked coir at hand.
    pub need: Volume,
    /// Soaked coir at hand that stands in for the rest.
    pub stands_in: Volume,
    /// Bricks or blocks that it is taken from; 0 where the coir is given by mass or by volume, or these are not whole.
    pub pieces: u64,
    /// Dry coir that is soaked, kg: what the batches take, or half of them in a trial, as it is weighed.
    pub dry_kg: f64,
    /// Its loose volume.
    pub soaked: Volume,
    /// The water in what is only wetted, where it is known what the mix wants.
    pub wetted: Option<WaterHeld>,
    /// Loose coir that is soaked beyond what the batches take of it.
    pub over: Volume,
    /// In a trial, dry coir that is only wetted, kg.
    pub straight_kg: Option<f64>,
    /// Loose coir of the last brick or block that stays dry.
    pub stays_dry: Volume,
    /// Of the last brick or block, so much is needed, where that is hardly anything.
    pub last_gives: Option<Volume>,
    /// When to do what, if it is known when the coir must be ready.
    pub times: Option<Times>,
    /// It is known when the coir must be ready, and no times fit the hours in which somebody is there.
    pub finds_no_time: bool,
    /// What would, where they do not.
    pub fitting: Option<Fitting>,
    /// Hours from when all of it is ready to the time to mix, where both are known; less than none where it is ready only
    /// later.
    pub waits_hours: f64,
    /// What the soak says that the coir is sold in, where the stock file sells it otherwise and is followed.
    pub instead_of: Option<Product>,
    /// What it is in a season, for a day of one.
    pub in_season: Option<InSeason>,
}

impl Soaking {
    /// Loose coir that the batches take of what is soaked: less than their need in a trial.
    pub fn bathed(&self) -> Volume {
        self.soaked - self.over
    }

    /// Whether some of it is only wetted, for a trial.
    pub fn is_halved(&self) -> bool {
        self.straight_kg.is_some()
    }

    /// The coir of the first of several runs is older than it keeps when that of the last is ready.
    pub fn grows_stale(&self) -> bool {
        let stale = |sheet: &Worksheet| sheet.runs > 1 && sheet.first_waits_hours > KEEPS_HOURS;
        !self.finds_no_time && self.sheet.as_ref().is_some_and(stale)
    }

    /// The tub that one run fewer would take, L, where it is hardly larger than the one at hand.
    pub fn tub_for_a_run_less(&self) -> Option<f64> {
        let (sheet, tub_l) = self.sheet.as_ref().zip(self.soak.tub_l)?;
        Some(sheet.report.tub.for_runs(sheet.runs - 1)).filter(|wanted_l| *wanted_l < tub_l * (1.0 + HARDLY_ANY))
    }

    /// Bricks or blocks that are soaked whole; `None` where coir is weighed out of the last.
    pub fn whole_pieces(&self) -> Option<u64> {
        let kg = dry_kg_of_sold(self.soak.product.kg * self.pieces as f64);
        (self.pieces > 0 && (self.dry_kg / kg - 1.0).abs() < 1e-9).then_some(self.pieces)
    }

    /// The soak of coir by itself; `None` where it does not say how much coir.
    ///
    /// # Errors
    /// [`CoirError`] for amounts outside what the model stands for.
    pub fn alone(soak: Soak) -> Result<Option<Self>, CoirError> {
        let Some(amount) = soak.amount else { return Ok(None) };
        let dry_kg = amount.dry_kg(&soak.product);
        let soaking = Self::new(soak, Lot { dry_kg, loose_l: loose_l_of_dry(dry_kg), wetted: None }, None)?;
        let pieces = if let CoirAmount::Pieces(pieces) = amount { pieces } else { 0 };
        Ok(Some(Self { pieces, ..soaking }))
    }

    /// When the coir must be ready by its own word, at an hour in which nobody is there.
    pub fn ready_outside_awake(&self) -> Option<ZonedDateTime> {
        let ready = self.soak.ready.as_ref()?.zoned()?;
        (!self.soak.awake.holds(&ready)).then_some(ready)
    }

    /// The soak of some coir, ready at a time of its own or by `mix_on`.
    fn new(soak: Soak, lot: Lot, mix_on: Option<&Moment>) -> Result<Self, CoirError> {
        let ready = soak.ready.as_ref().or(mix_on);
        // Of a trial, soaked coir at hand may do for the half that is bathed.
        let mut sheet = if lot.dry_kg > 0.0 { soak.work_out(lot, ready)? } else { None };
        let times = sheet.as_ref().zip(ready).and_then(|(sheet, ready)| sheet.times(ready, &soak.awake));
        if let Some((sheet, times)) = sheet.as_mut().zip(times.as_ref()) {
            sheet.first_waits_hours = times.first_waits_hours();
        }
        let finds_no_time = sheet.is_some() && ready.is_some() && times.is_none();
        let fitting = ready.filter(|_| finds_no_time).and_then(|ready| Fitting::of(&soak, lot, ready));
        let mix_on = mix_on.and_then(Moment::zoned);
        let soaked = in_litres(lot.loose_l);
        let waits = times.as_ref().zip(mix_on.as_ref()).map(|(times, mix_on)| times.ready.duration_until(mix_on));
        Ok(Self {
            soak,
            need: soaked,
            stands_in: in_litres(0.0),
            pieces: 0,
            dry_kg: lot.dry_kg,
            soaked,
            wetted: lot.wetted,
            over: in_litres(0.0),
            straight_kg: None,
            stays_dry: in_litres(0.0),
            last_gives: None,
            finds_no_time,
            fitting,
            sheet,
            times,
            waits_hours: waits.map_or(0.0, |waits| waits.as_secs_f64() / 3600.0),
            instead_of: None,
            in_season: None,
        })
    }
}

/// The labels of the packages that some coir is at hand in or bought in.
fn labels<'s>(coir: &Handle<Ingredient>, line: Option<&'s PurchaseLine>, stock: &'s Stock) -> Vec<&'s str> {
    let bought = line.into_iter().flat_map(|line| &line.packages).map(|pick| pick.package.label.as_str());
    stock.on_hand.shed.packaged(coir).map(|(label, _)| label).chain(bought).collect()
}

/// The package that coir comes in: the first that is at hand or bought, else that of the product, else the first known.
fn package_of<'s>(labels: &[&str], product: &Product, packages: &'s [Package]) -> Option<&'s Package> {
    let mut labels = labels.iter().copied().chain([product.label.as_str()]);
    let labelled = |label: &str| packages.iter().find(|package| package.is_labelled(label));
    labels.find_map(labelled).or(packages.first())
}

/// What a package of coir holds: the weight that its label begins with, else that of its litres.
fn product_of(package: &Package) -> Option<Product> {
    let labelled = Product::from_text(&package.label).ok().map(|parsed| parsed.value);
    let kg = || Some(dry_kg_of_loose(package.gives.litres()?) / dry_kg_of_sold(1.0));
    labelled.or_else(|| Some(Product { label: package.label.clone(), kg: kg()? }))
}

/// The coir of a week in what it is bought and held in.
struct Pieces {
    each: Volume,
    /// The fewest that cover the need; 0 where whole ones of one kind do not make up what there is.
    count: u64,
    /// What is opened for the need: no more than there is.
    give: Volume,
    /// What may be soaked beyond the need: what no later day needs.
    spare: Volume,
    /// Loose coir at hand covers the need: nothing is opened.
    is_loose: bool,
    /// The product that was stated, where the stock file sells another.
    instead_of: Option<Product>,
}

/// Coir is weighed to so much, as bought, kg: pieces of a brick or block, and what is loose (a judgement).
const WEIGHED_KG: [f64; 2] = [0.1, 0.01];
/// Of a brick or block no less than this share is left dry, nor so many kilograms (a judgement).
const LEAST_LEFT: (f64, f64) = (0.1, 0.1);

impl Pieces {
    /// So much coir as it is weighed out; all that is left where hardly any would stay. More than the need only as far as
    /// it is to spare.
    fn weighed(&self, need: Volume, (left, spare): (Volume, Volume), product: &Product) -> Volume {
        let step = self.each * (WEIGHED_KG[usize::from(self.is_loose)] / product.kg);
        let weighed = cover(need, step).map_or(need, |covered| step * covered.count as f64);
        // What is loose is kept as it is.
        let least = if self.is_loose { 0.0 } else { LEAST_LEFT.0.max(LEAST_LEFT.1 / product.kg) };
        let weighed = if left - weighed < self.each * (least * (1.0 - 1e-9)) { left } else { weighed };
        weighed.min(need + spare)
    }

    /// What is soaked, what of a trial is only wetted, and what is soaked beyond the need, where some soaked coir stands in.
    fn parted(&self, need: Volume, (stands_in, straight): (Volume, f64), soak: &Soak) -> [Volume; 3] {
        let none = in_litres(0.0);
        let weighed = |need: Volume, left: Volume, spare: Volume| self.weighed(need, (left, spare), &soak.product);
        if straight <= 0.0 {
            let soaked = weighed(need, self.give, self.spare);
            return [soaked, none, soaked - need];
        }
        // The batches that are made with soaked coir; the other half is only wetted.
        let half = (need + stands_in) * (1.0 - straight);
        // No bath for so little beside soaked coir.
        let trifle = (self.each * (WEIGHED_KG[0] / soak.product.kg)).min(half * LEAST_LEFT.0);
        let wanted = Some(half - stands_in).filter(|wanted| *wanted > trifle || stands_in <= none).unwrap_or(none);
        let soaked = if wanted > none { weighed(wanted, self.give - (need - wanted), self.spare) } else { none };
        let over = soaked - wanted;
        [soaked, weighed(need - wanted, self.give - soaked, self.spare - over), over]
    }

    /// What covers the need, in the product that the soak then counts in, where later days need some coir too. Loose coir
    /// at hand goes first.
    fn of(
        soak: &mut Soak,
        (coir, need, later): (&Handle<Ingredient>, Volume, Volume),
        line: Option<&PurchaseLine>,
        stock: &Stock,
    ) -> Option<Self> {
        let labels = labels(coir, line, stock);
        let package = package_of(&labels, &soak.product, stock.packages_of(coir));
        let product = package.and_then(product_of).unwrap_or_else(|| soak.product.clone());
        let said = std::mem::replace(&mut soak.product, product);
        let each = match package.map(|package| package.gives) {
            Some(Quantity::Volume(loose)) => loose,
            _ => in_litres(loose_l_of_sold(soak.product.kg)),
        };
        let on_hand = line.and_then(|line| line.on_hand.litres()).unwrap_or(0.0);
        let packaged: f64 = stock.on_hand.shed.packaged(coir).filter_map(|(_, left)| left.litres()).sum();
        let loose = in_litres((on_hand - packaged).max(0.0));
        let bought: f64 = line.iter().flat_map(|line| &line.packages).filter_map(|pick| pick.gives().litres()).sum();
        let count = cover((need - loose).max(in_litres(0.0)), each)?.count;
        let whole = loose + each * count as f64;
        let is_loose = count == 0;
        let there = in_litres(on_hand + bought);
        let give = if is_loose { loose } else { whole.min(there).max(need) };
        let is_of_one_kind = package.is_some_and(|package| labels.iter().all(|label| package.is_labelled(label)));
        let is_whole = is_of_one_kind && loose <= in_litres(0.0) && give >= whole;
        let is_other = package.is_some_and(|package| soak.product_said && !package.is_labelled(&said.label));
        let instead_of = is_other.then_some(said);
        let spare = (there - later - need).max(in_litres(0.0));
        Some(Self { each, count: if is_whole { count } else { 0 }, give, spare, is_loose, instead_of })
    }
}

/// The coir that the recipes ask for; all as the first kind of it, where they take several.
pub(super) struct CoirNeed {
    coir: Handle<Ingredient>,
    /// All of it, loose, with what the scoops add.
    all: Volume,
    /// What soaked coir at hand does not stand in for.
    pub(super) need: Volume,
    /// The share of all that is only wetted.
    straight: f64,
}

impl CoirNeed {
    /// That of some mixes together.
    pub(super) fn of(weeks: &[&Mixes], stock: Option<&Stock>, known: Known<'_>) -> Option<Self> {
        let coir = known(weeks.iter().find_map(|mixes| mixes.coir())?);
        let kinds = weeks.iter().flat_map(|mixes| mixes.totals.ingredients.iter());
        let kinds = kinds.filter(|(id, _)| id.is(Role::Coir)).map(|(_, loose)| *loose);
        let extras = weeks.iter().flat_map(|mixes| mixes.extras()).filter(|more| more.ingredient.is(Role::Coir));
        let more = kinds.chain(extras.filter_map(|more| more.amount.litres()).map(in_litres));
        let all = more.fold(in_litres(0.0), |sum, loose| sum + loose);
        let straight = Mixes::straight(weeks.iter().copied());
        let parted = stock.map(|stock| stock.on_hand.shed.parted([(coir.clone(), Quantity::Volume(all))], straight));
        let rest = |parted: Vec<(Handle<Ingredient>, Quantity)>| {
            parted.into_iter().filter(|(id, _)| *id == coir).filter_map(|(_, rest)| rest.litres()).sum()
        };
        let need = parted.map_or(all, |parted| in_litres(rest(parted)));
        Some(Self { coir, all, need, straight })
    }

    pub(super) fn is_needed(&self) -> bool {
        self.need > in_litres(0.0)
    }

    /// Soaked coir at hand stands in for some of it.
    pub(super) fn is_helped(&self) -> bool {
        self.need < self.all
    }
}

/// Dry coir in a loose litre, g, by the package that the coir of some mixes comes in.
pub(super) fn dry_g_per_l(
    coir: Option<&Handle<Ingredient>>,
    purchases: &Purchases,
    stock: &Stock,
    soak: Option<&Soak>,
) -> f64 {
    let of_package = || {
        let coir = coir?;
        let line = purchases.lines.iter().find(|line| line.ingredient == *coir);
        let product = soak.map_or_else(Product::default, |soak| soak.product.clone());
        let package = package_of(&labels(coir, line, stock), &product, stock.packages_of(coir))?;
        Some(dry_kg_of_sold(product_of(package)?.kg) / package.gives.litres()?)
    };
    of_package().unwrap_or_else(|| dry_kg_of_loose(1.0)) * 1000.0
}

/// The soak of the coir of a week, or of several at once, if the first says how and the mixes hold any; where so much
/// coir is needed after them.
///
/// # Errors
/// [`CoirError`] where the amounts are beyond the model.
pub fn of_weeks(
    mixes: &[&Mixes],
    purchases: &Purchases,
    stock: &Stock,
    (week, later): (&Week, Volume),
    known: Known<'_>,
) -> Result<Option<Soaking>, CoirError> {
    let found = CoirNeed::of(mixes, Some(stock), known).filter(CoirNeed::is_needed);
    let Some(found) = found else { return Ok(None) };
    let CoirNeed { coir, all, need, straight: straight_share } = found;
    let Some(mut soak) = week.soak.clone() else { return Ok(None) };
    // The one tub serves for both, unless the soak has its own.
    let own_l = soak.tub_l;
    soak.tub_l = own_l.or(week.tub.map(to_litres));
    let line = purchases.lines.iter().find(|line| line.ingredient == coir);
    let Some(pieces) = Pieces::of(&mut soak, (&coir, need, later), line, stock) else { return Ok(None) };
    let [soaked, straight, over] = pieces.parted(need, (all - need, straight_share), &soak);
    let dry_kg = |loose: Volume| dry_kg_of_sold(soak.product.kg) * (to_litres(loose) / to_litres(pieces.each));
    let straight_kg = (straight_share > 0.0).then(|| dry_kg(straight));
    let batches = mixes.iter().flat_map(|mixes| &mixes.batches);
    let wetted = wetted(batches, dry_g_per_l(Some(&coir), purchases, stock, week.soak.as_ref()));
    let lot = Lot { dry_kg: dry_kg(soaked), loose_l: to_litres(soaked), wetted };
    let mix_on = week.mix_on.as_ref();
    let soaking = match Soaking::new(soak.clone(), lot, mix_on) {
        // A tub for the mix that is far too small for this: the sheet says what tub would do.
        Err(CoirError::TooManyRuns(_)) if own_l.is_none() => Soaking::new(Soak { tub_l: None, ..soak }, lot, mix_on)?,
        soaking => soaking?,
    };
    let last = pieces.each - (pieces.give - need);
    Ok(Some(Soaking {
        need,
        stands_in: all - need,
        pieces: pieces.count,
        stays_dry: if pieces.is_loose { in_litres(0.0) } else { pieces.give - soaked - straight },
        instead_of: pieces.instead_of,
        over,
        straight_kg,
        last_gives: Some(last).filter(|last| *last < pieces.each * HARDLY_ANY && pieces.count > 1),
        ..soaking
    }))
}
