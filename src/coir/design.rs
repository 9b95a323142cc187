//! Designs a course: the least salt that brings the coir to its target, rinses included.
//!
//! The unknown is the charge q: equivalents of calcium per equivalent of sodium and potassium on the raw sites, shared
//! equally by the soaks. What is left on the sites falls as q rises, so for a number of rinses the least q is found by
//! doubling until the sites meet the target, then by bracketing; the fewest rinses that also meet the EC win.

use std::cell::RefCell;
use std::collections::HashMap;
use std::iter;
use std::ops::RangeInclusive;
use std::rc::Rc;

use super::bath::{Addition, WetCoir};
use super::course::{DRY_KG, MAX_STRENGTH_MOL_L};
use super::error::within;
use super::root::crossing;
use super::timing::{USUAL_SOAK_HOURS, short_step_hours};
use super::{Action, Amounts, Bath, BufferTarget, Cation, Coir, CoirError, Course, CourseReport, CourseStep, Ion};
use super::{Model, Salt, Solutes};
use crate::source::words;

/// Fresh water of a wash, soak or rinse, litres per kg dry, on top of what the coir holds.
pub const BATH_L_PER_KG: f64 = 10.0;
/// Charges tried, from the first to the last.
const CHARGES: [f64; 2] = [0.05, 20.0];
/// Good practice, with room for what is not known of the coir; also shown where no charge reaches the target.
const USUAL_CHARGE: f64 = 1.5;
/// Relative precision of the charge.
const CHARGE_PRECISION: f64 = 1e-9;
/// A rinse that leaves more than this share of the EC is the last: the water itself is at fault.
const STILL_CLEARING: f64 = 0.98;
/// More rinses than this are not asked for.
const MOST_RINSES: u8 = 12;
/// Soaks that may be asked for, and that are tried where too few do not reach the target.
pub(crate) const SOAKS: RangeInclusive<u8> = 1..=3;
/// Gypsum is supplied up to this share of saturation: more would not dissolve within the soak.
const GYPSUM_SHARE: f64 = 0.85;
/// Sites are taken to need at least this share of exchange, so that q always means something.
const LEAST_EXCHANGE: f64 = 0.05;

words! {
    /// What the dry coir is wetted with.
    #[derive(Default)]
    Wetting {
        /// Water, as much as it holds.
        #[default]
        Water = "water",
        /// The first bath, with that much more water in it.
        Bath = "bath",
    }
}

/// What a course is to be designed from: [`Brief::new`], with what differs from the usual.
#[derive(Debug, Clone)]
pub struct Brief {
    /// Dry coir, kg.
    pub dry_kg: f64,
    /// The coir as it comes.
    pub coir: Coir,
    /// The salt of the baths; it must bring calcium.
    pub salt: Salt,
    /// What the coir is to look like.
    pub target: BufferTarget,
    /// What the dry coir is wetted with.
    pub wetting: Wetting,
    /// Plain washes before the first soak; none where it is wetted in its bath.
    pub washes: u8,
    /// Soaks, 1 to 3.
    pub soaks: u8,
    /// Hours of each soak (see [`soak_hours`](super::soak_hours)).
    pub soak_hours: f64,
    /// The ions of the tap water, mol/L.
    pub tap: Solutes,
    /// The exchange model.
    pub model: Model,
    /// Salts to try where this one does not reach the target; those without calcium are passed over.
    pub alternatives: fn() -> Vec<Salt>,
}

impl Brief {
    /// So much dry coir of that kind, to be treated with that salt; the rest as usual: default target, two soaks of 24
    /// hours, two washes first for coir that is full of salt, pure water. A design checks the amounts.
    ///
    /// ```
    /// use trayful::coir::{Brief, Salt, SoldAs, Verdict, dry_kg_of_sold};
    /// let Some(coir) = SoldAs::Washed.coir() else { unreachable!() };
    /// let salt = Salt::from_formula("calcium nitrate tetrahydrate", "Ca(NO3)2.4H2O")?;
    /// let sheet = Brief::new(dry_kg_of_sold(5.0), coir, salt).design()?;
    /// assert_eq!(sheet.verdict, Verdict::Met);
    /// assert!((sheet.salt_g() / 4.25 - 51.0).abs() < 1.0);      // grams per kg of dry coir
    /// assert!((sheet.report.sites.monovalent() - 0.15).abs() < 1e-6);
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn new(dry_kg: f64, coir: Coir, salt: Salt) -> Self {
        Self {
            dry_kg,
            coir,
            salt,
            target: BufferTarget::default(),
            wetting: Wetting::Water,
            washes: coir.washes(),
            soaks: 2,
            soak_hours: USUAL_SOAK_HOURS,
            tap: Solutes::NONE,
            model: Model::default(),
            alternatives: Vec::new,
        }
    }

    /// Designs the course.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless there is 1e-6 to 1e6 kg of coir for 1 to 3 soaks, or if a step comes out smaller,
    /// larger or longer than a [`CourseStep`] may be; [`CoirError::NoCalcium`] for a salt without calcium.
    pub fn design(&self) -> Result<Design, CoirError> {
        let (layout, met) = Search::new(self)?.solve();
        let course = self.course(&layout)?;
        let verdict = if met { Verdict::Met } else { Verdict::OutOfReach(self.remedies()) };
        Ok(Design { report: course.report(), course, verdict })
    }

    pub(super) fn course(&self, layout: &Layout) -> Result<Course, CoirError> {
        Course::new(self.dry_kg, self.coir, self.tap, self.steps(&layout.soaks_mol, layout.rinses)?, self.model)
    }

    /// Water for the dry coir, the washes, a soak with each of those moles of salt, and so many rinses.
    pub(super) fn steps(&self, soaks_mol: &[f64], rinses: u8) -> Result<Vec<CourseStep>, CoirError> {
        let (bath_l, holds_l) = (BATH_L_PER_KG * self.dry_kg, self.coir.holds_l_kg * self.dry_kg);
        let short = short_step_hours(self.soak_hours);
        let plain = |action, water_l| CourseStep::new(action, water_l)?.with_hours(short);
        // Without a soak there is no bath to wet it in.
        let mut dry = self.wetting == Wetting::Bath && !soaks_mol.is_empty();
        let mut steps = Vec::new();
        if !dry {
            steps.push(plain(Action::Hydrate, holds_l)?);
        }
        steps.extend(iter::repeat_n(plain(Action::Wash, bath_l)?, self.washes.into()));
        for &mol in soaks_mol {
            let water_l = bath_l + if std::mem::take(&mut dry) { holds_l } else { 0.0 };
            let soak = CourseStep::new(Action::Soak, water_l)?.with_hours(self.soak_hours)?;
            steps.push(soak.with_salt(self.salt.clone(), mol)?);
        }
        steps.extend(iter::repeat_n(plain(Action::Rinse, bath_l)?, rinses.into()));
        Ok(steps)
    }

    /// Single changes that bring the target within reach, each found by trying it.
    fn remedies(&self) -> Vec<Remedy> {
        let works = |(_, changed): &(Remedy, Self)| Search::new(changed).is_ok_and(|search| search.solve().1);
        let mut soaks =
            (self.soaks + 1..=*SOAKS.end()).map(|soaks| (Remedy::MoreSoaks(soaks), Self { soaks, ..self.clone() }));
        let washes = (self.washes == 0)
            .then(|| (Remedy::WashFirst(2), Self { washes: 2, wetting: Wetting::Water, ..self.clone() }));
        let salts = (self.alternatives)().into_iter().filter(|salt| salt.formula != self.salt.formula);
        let salts = salts.map(|salt| (Remedy::AnotherSalt(salt.name.clone()), Self { salt, ..self.clone() }));
        let tap = Solutes::NONE;
        let water = (self.tap != tap).then(|| (Remedy::PureWater, Self { tap, ..self.clone() }));
        let others = washes.into_iter().chain(salts).chain(water).filter(works);
        soaks.find(works).into_iter().chain(others).map(|(remedy, _)| remedy).collect()
    }
}

/// A designed course and what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// The steps.
    pub course: Course,
    /// Their results.
    pub report: CourseReport,
    /// Whether the target is met.
    pub verdict: Verdict,
}

impl Design {
    /// A course held against a target, with nothing else tried.
    pub fn judged(course: Course, target: &BufferTarget) -> Self {
        let report = course.report();
        let met = target.is_met(&report.sites, report.rinse_ec_ms_cm);
        Self { course, report, verdict: if met { Verdict::Met } else { Verdict::OutOfReach(Vec::new()) } }
    }

    /// EC of the strongest fresh bath, mS/cm.
    pub fn strongest_ec_ms_cm(&self) -> f64 {
        self.report.results.iter().map(|result| result.fresh.ec_ms_cm()).fold(0.0, f64::max)
    }

    /// How many steps do that.
    pub fn count(&self, action: Action) -> usize {
        self.course.steps.iter().filter(|step| step.action == action).count()
    }

    /// The salt of all soaks together, g.
    pub fn salt_g(&self) -> f64 {
        self.course.grams()
    }
}

/// Whether a course meets its target.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// It does.
    Met,
    /// It does not, and any one of these changes would do it; for a designed course without any, the target is too
    /// strict.
    OutOfReach(Vec<Remedy>),
}

/// A single change that was tried and found to reach the target.
#[derive(Debug, Clone, PartialEq)]
pub enum Remedy {
    /// So many soaks in all.
    MoreSoaks(u8),
    /// So many plain washes before the first soak.
    WashFirst(u8),
    /// The salt of that name.
    AnotherSalt(String),
    /// Rain or purified water instead of the tap's.
    PureWater,
    /// So many rinses.
    Rinses(usize),
}

/// A course in outline.
pub(super) struct Layout {
    soaks_mol: Vec<f64>,
    rinses: u8,
    last: Bath,
}

/// The coir after its soaks, and the salt of each.
struct Soaked {
    soaks_mol: Vec<f64>,
    wet: WetCoir,
    last: Bath,
}

/// The coir as it is before the first soak, from where every charge is tried.
pub(super) struct Search<'a> {
    brief: &'a Brief,
    plain: Addition,
    /// The water of the first soak.
    first: Addition,
    /// Before the first soak.
    start: WetCoir,
    /// Wetted with water and washed, and its last bath: what is left without a soak.
    wetted: WetCoir,
    start_bath: Bath,
    /// What came of the charges tried, by their bits: the soaks are the same whatever rinses follow.
    tried: RefCell<HashMap<u64, Rc<Soaked>>>,
}

impl<'a> Search<'a> {
    pub(super) fn new(brief: &'a Brief) -> Result<Self, CoirError> {
        let Brief { dry_kg, coir, salt, .. } = brief;
        within("the dry coir, in kg,", *dry_kg, DRY_KG)?;
        within("the number of soaks", f64::from(brief.soaks), f64::from(*SOAKS.start())..=f64::from(*SOAKS.end()))?;
        if !salt.has_calcium() {
            return Err(CoirError::NoCalcium(salt.name.clone()));
        }
        let water = |water_l| Addition { water_l, dissolved_mol: *brief.tap.mol() * water_l, gypsum_mol: 0.0 };
        let plain = water(BATH_L_PER_KG * dry_kg);
        let dry = WetCoir::new(*dry_kg, coir, brief.model);
        let mut wetted = dry;
        let mut start_bath = wetted.bathe(&water(coir.holds_l_kg * dry_kg));
        for _ in 0..brief.washes {
            start_bath = wetted.bathe(&plain);
        }
        let (start, first) = match brief.wetting {
            Wetting::Water => (wetted, plain),
            Wetting::Bath => (dry, water((BATH_L_PER_KG + coir.holds_l_kg) * dry_kg)),
        };
        Ok(Self { brief, plain, first, start, wetted, start_bath, tried: RefCell::default() })
    }

    /// The layout of the fewest rinses, and with them of the least charge, that meets the target; else of the usual
    /// charge. And whether it meets it.
    ///
    /// With the number of rinses fixed the outcome is a smooth function of the charge; "rinse until clear" is not, nor is
    /// the first trace of salt, since the water of its baths carries off other salts: that is tried where all else fails.
    fn solve(&self) -> (Layout, bool) {
        let least_from = |charge| (0..=MOST_RINSES).find_map(|rinses| self.least_from(charge, rinses));
        let layout = least_from(0.0).or_else(|| least_from(CHARGES[0])).unwrap_or_else(|| self.usual(None));
        let met = self.is_met(&layout);
        (layout, met)
    }

    fn is_met(&self, Layout { last, .. }: &Layout) -> bool {
        self.brief.target.is_met(&last.sites, last.solution.ec_ms_cm())
    }

    /// The layout of the usual charge with so many rinses, or as many as it takes.
    pub(super) fn usual(&self, rinses: Option<u8>) -> Layout {
        // A bath of gypsum limits itself, so the most is no waste.
        let most = self.most_charge();
        self.lay_out(if self.brief.salt.is_gypsum() { most } else { USUAL_CHARGE.min(most) }, rinses)
    }

    /// The layout of the least charge that meets the target with so many rinses, if any does.
    pub(super) fn least_that_meets(&self, rinses: u8) -> Option<Layout> {
        self.least_from(0.0, rinses)
    }

    /// The same among the charges from `charge` on.
    fn least_from(&self, mut charge: f64, rinses: u8) -> Option<Layout> {
        let (target, most) = (&self.brief.target, self.most_charge());
        let lay_out = |charge| self.lay_out(charge, Some(rinses));
        let is_too_salty = |layout: &Layout| layout.last.solution.ec_ms_cm() > target.rinse_ec_ms_cm;
        let mut below = None;
        let here = loop {
            let layout = lay_out(charge);
            let excess = target.excess(&layout.last.sites);
            if excess <= 0.0 {
                break (charge, excess);
            }
            // More salt would only leave more of it in the last rinse.
            if charge >= most || charge > 0.0 && is_too_salty(&layout) {
                return None;
            }
            below = Some((charge, excess));
            charge = (2.0 * charge).max(CHARGES[0]).min(most);
        };
        let excess = |charge| target.excess(&lay_out(charge).last.sites);
        let least = below.and_then(|below| crossing(excess, below, here, CHARGE_PRECISION)).unwrap_or(here.0);
        Some(lay_out(least)).filter(|layout| self.is_met(layout))
    }

    /// Moles of salt in each soak per unit of charge.
    fn mol_per_charge(&self) -> f64 {
        let Brief { coir, salt, soaks, dry_kg, .. } = self.brief;
        let to_exchange = coir.sites.monovalent().max(LEAST_EXCHANGE) * coir.capacity_mol_kg * dry_kg;
        to_exchange / (f64::from(*soaks) * salt.ions[Ion::Calcium] * Cation::Calcium.charge())
    }

    fn most_charge(&self) -> f64 {
        if self.brief.salt.is_gypsum() {
            return CHARGES[1];
        }
        let strongest_mol = MAX_STRENGTH_MOL_L * self.plain.water_l / self.brief.salt.cations();
        CHARGES[1].min(strongest_mol / self.mol_per_charge())
    }

    /// The course of a charge, with so many rinses; without a number, until the EC is that of the target or a rinse hardly
    /// lowers it any more.
    fn lay_out(&self, charge: f64, rinses: Option<u8>) -> Layout {
        let soaked = || Rc::new(self.soaks(charge));
        let soaked = Rc::clone(self.tried.borrow_mut().entry(charge.to_bits()).or_insert_with(soaked));
        let mut wet = soaked.wet;
        let mut layout = Layout { soaks_mol: soaked.soaks_mol.clone(), rinses: 0, last: soaked.last };
        let mut before_ms_cm = f64::INFINITY;
        loop {
            let ec_ms_cm = layout.last.solution.ec_ms_cm();
            let more = match rinses {
                Some(rinses) => layout.rinses < rinses,
                None => ec_ms_cm > self.brief.target.rinse_ec_ms_cm && ec_ms_cm < STILL_CLEARING * before_ms_cm,
            };
            if !more {
                return layout;
            }
            before_ms_cm = ec_ms_cm;
            layout.last = wet.bathe(&self.plain);
            layout.rinses += 1;
        }
    }

    /// All soaks of a charge.
    fn soaks(&self, charge: f64) -> Soaked {
        let mut soaked = Soaked { soaks_mol: Vec::new(), wet: self.wetted, last: self.start_bath };
        if charge == 0.0 {
            return soaked;
        }
        soaked.wet = self.start;
        for number in 0..self.brief.soaks {
            let water = if number == 0 { self.first } else { self.plain };
            let (mol, bath) = self.soak(&mut soaked.wet, water, charge * self.mol_per_charge());
            soaked.soaks_mol.push(mol);
            soaked.last = bath;
        }
        soaked
    }

    /// One soak with so much salt, or of gypsum with what surely dissolves of it.
    fn soak(&self, wet: &mut WetCoir, water: Addition, mol: f64) -> (f64, Bath) {
        if self.brief.salt.is_gypsum() {
            let wanted = Addition { gypsum_mol: mol, ..water };
            let gypsum_mol = wet.dissolving(&wanted, GYPSUM_SHARE);
            (gypsum_mol, wet.bathe(&Addition { gypsum_mol, ..wanted }))
        } else {
            let dissolved_mol: Amounts = water.dissolved_mol + self.brief.salt.ions * mol;
            (mol, wet.bathe(&Addition { dissolved_mol, ..water }))
        }
    }
}
