//! Cation exchange: Gaines-Thomas equilibrium of the sites of coir with a solution.
//!
//! Half reactions `i^z + z X⁻ = iX_z` with constants `K_i`, in equivalent fractions `β_i` of the sites:
//! `K_i = β_i / (Γ_i m_i x^z)` where `m_i` is the molality of the free ion and x the one unknown. Mass balance leaves
//! one increasing equation in x, whose root has an analytic bracket.

use std::f64::consts::LN_10;

use super::activity::{Convention, Solution, settle};
use super::error::{CoirError, within};
use super::ion::{Amounts, Cation, Ion, PerCation};
use super::solutes::Solutes;
use libm::{exp, log, pow};

/// The choices of the exchange model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Model {
    /// log₁₀ of the exchange constants, in the order of [`Cation::ALL`].
    pub log_k: [f64; 5],
    /// Molalities or activities.
    pub convention: Convention,
}

impl Default for Model {
    /// Na 0, K 0.7, NH4 0.6, Ca 0.8, Mg 0.6: generic soil constants of `phreeqc.dat`. None measured on coir was found.
    fn default() -> Self {
        Self { log_k: [0.0, 0.7, 0.6, 0.8, 0.6], convention: Convention::default() }
    }
}

impl Model {
    /// The same with log₁₀ K of some cations moved by `delta`.
    #[must_use]
    pub fn with_moved_log_k(mut self, cations: &[Cation], delta: f64) -> Self {
        for &cation in cations {
            self.log_k[cation as usize] += delta;
        }
        self
    }
}

/// Shares of the exchange sites by charge: none negative, together 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SiteFractions(PerCation);

impl SiteFractions {
    /// Shares of the named cations; those left out hold nothing, one named twice adds up.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] for a share outside 0 to 1, [`CoirError::SitesDoNotSum`] if the sum is off 1 by more
    /// than 0.001; a smaller difference is shared out.
    ///
    /// ```
    /// use trayful::coir::{Cation, SiteFractions};
    /// let sites = SiteFractions::new([(Cation::Potassium, 0.6), (Cation::Calcium, 0.4)])?;
    /// assert_eq!(sites.of(Cation::Sodium), 0.0);
    /// assert!(SiteFractions::new([(Cation::Potassium, 0.6)]).is_err());
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn new(shares: impl IntoIterator<Item = (Cation, f64)>) -> Result<Self, CoirError> {
        let mut fractions = [0.0; 5];
        for (cation, share) in shares {
            fractions[cation as usize] += within("a share of the exchange sites", share, 0.0..=1.001)?;
        }
        let sum: f64 = fractions.iter().sum();
        // A sum of exactly 0.999 or 1.001 carries rounding of its own.
        if (sum - 1.0).abs() > 0.001 + 1e-12 {
            return Err(CoirError::SitesDoNotSum(sum));
        }
        Ok(Self::normalised(fractions))
    }

    /// Shares in proportion to numbers that are not all zero.
    pub(crate) fn normalised(fractions: PerCation) -> Self {
        let sum: f64 = fractions.iter().sum();
        Self(fractions.map(|fraction| fraction / sum))
    }

    /// Share of one cation.
    pub const fn of(&self, cation: Cation) -> f64 {
        self.0[cation as usize]
    }

    /// Sodium and potassium together: what a course is to bring down.
    pub const fn monovalent(&self) -> f64 {
        self.of(Cation::Sodium) + self.of(Cation::Potassium)
    }

    /// The cations and their shares, in the order of [`Cation::ALL`].
    pub fn iter(&self) -> impl Iterator<Item = (Cation, f64)> {
        Cation::ALL.into_iter().zip(self.0)
    }

    /// Moles of each cation on `capacity_mol` moles of sites.
    pub(crate) fn mol(&self, capacity_mol: f64) -> Amounts {
        self.iter().map(|(cation, share)| (cation.ion(), share * capacity_mol / cation.charge())).collect()
    }
}

/// The shares of the exchange sites in equilibrium with a saturated extract of those ions (mmol/L).
///
/// Anions matter only through sulfate pairing and, with activities, ionic strength; leave out what was not measured.
///
/// # Errors
/// [`CoirError::OutOfRange`] for a negative amount, more than 2 mol/L, or an extract without exchangeable ions.
///
/// ```
/// use trayful::coir::{Amounts, Cation, Ion, Model, sites_from_extract};
/// let extract = Amounts::from_iter([
///     (Ion::Potassium, 15.0), (Ion::Sodium, 4.0), (Ion::Calcium, 0.5), (Ion::Magnesium, 0.4),
/// ]);
/// let sites = sites_from_extract(extract, &Model::default())?;
/// assert!((sites.of(Cation::Potassium) - 0.631).abs() < 0.001);
/// # Ok::<(), trayful::coir::CoirError>(())
/// ```
pub fn sites_from_extract(mmol_per_l: Amounts, model: &Model) -> Result<SiteFractions, CoirError> {
    const TRACE_MMOL_L: f64 = 1e-9;
    const MOST_MMOL_L: f64 = 2000.0;
    for (_, mmol) in mmol_per_l.iter() {
        within("an ion of the extract, in mmol/L,", mmol, 0.0..=MOST_MMOL_L)?;
    }
    let cations = mmol_per_l.cations().iter().sum();
    within("the cations of the extract, in mmol/L,", cations, TRACE_MMOL_L..=5.0 * MOST_MMOL_L)?;
    let solution = Solution::speciate(mmol_per_l * 1e-3);
    let pull = Cation::ALL.map(|cation| {
        let molality = match model.convention {
            Convention::Molal => solution.free[cation.ion()],
            Convention::Activity => solution.activity(cation.ion()),
        };
        pow(10.0, model.log_k[cation as usize]) * molality
    });
    let [sodium, potassium, ammonium, calcium, magnesium] = pull;
    // 1 = b x + a x², whatever the number of sites; the form without a difference of like numbers.
    let (a, b) = (calcium + magnesium, sodium + potassium + ammonium);
    let x = 2.0 / (b + (b * b + 4.0 * a).sqrt());
    Ok(SiteFractions::normalised(Cation::ALL.map(|cation| pull[cation as usize] * pow(x, cation.charge()))))
}

/// Sites in contact with water: amounts in mol, of the sites and the water together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suspension {
    /// Moles of charge of the sites.
    capacity_mol: f64,
    water_l: f64,
    total_mol: Amounts,
}

impl Suspension {
    /// `capacity_mol` moles of sites occupied as `sites` says, and `water_l` litres of `water` (its ions per litre).
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless there are 1e-15 to 1e9 mol of sites and 1e-6 to 1e9 L of water.
    ///
    /// The single equilibrium of Example 11 of the PHREEQC manual:
    /// ```
    /// use trayful::coir::{Amounts, Cation, Ion, Suspension, Model, SiteFractions, Solutes};
    /// let sites = SiteFractions::new([(Cation::Sodium, 0.4994), (Cation::Potassium, 0.5006)])?;
    /// let mmol_per_l = Amounts::from_iter([(Ion::Sodium, 1.0), (Ion::Potassium, 0.2), (Ion::Nitrate, 1.2)]);
    /// let settled = Suspension::new(1.1e-3, &sites, 1.0, &Solutes::tap_water(mmol_per_l)?)?.settle(&Model::default());
    /// assert!((settled.solution.total[Ion::Potassium] - 0.2e-3).abs() < 1e-7);   // it was in equilibrium
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn new(capacity_mol: f64, sites: &SiteFractions, water_l: f64, water: &Solutes) -> Result<Self, CoirError> {
        within("the exchange sites, in mol,", capacity_mol, 1e-15..=1e9)?;
        within("the water, in L,", water_l, 1e-6..=1e9)?;
        Ok(Self::unchecked(capacity_mol, sites, water_l, *water.mol() * water_l))
    }

    /// The same without the checks, for amounts that cannot break them.
    pub(crate) fn unchecked(capacity_mol: f64, sites: &SiteFractions, water_l: f64, dissolved_mol: Amounts) -> Self {
        Self { capacity_mol, water_l, total_mol: dissolved_mol + sites.mol(capacity_mol) }
    }

    /// The same with more ions dissolved.
    pub(crate) fn with(mut self, mol: Amounts) -> Self {
        self.total_mol = self.total_mol + mol;
        self
    }

    /// Equilibrium of sites and solution.
    pub fn settle(&self, model: &Model) -> Settled {
        let anions = self.total_mol * (1.0 / self.water_l);
        let ln_k = Cation::ALL.map(|cation| {
            model.log_k[cation as usize] * LN_10 + log(self.capacity_mol / (cation.charge() * self.water_l))
        });
        let mut split = Split::default();
        let mut guess = None;
        let solution = settle(&anions, model.convention, |medium| {
            let ln_pull = std::array::from_fn(|i| ln_k[i] + log(medium.gamma[i] * medium.free_share[i]));
            split = self.split(&ln_pull, guess);
            guess = Some(split.ln_x);
            split.dissolved.map(|mol| mol / self.water_l)
        });
        Settled { sites: SiteFractions::normalised(split.sites), solution }
    }

    /// Shares out the cations between sites and water, given ln of `c` in `β/(s - β) = c x^z`.
    fn split(&self, ln_pull: &PerCation, guess: Option<f64>) -> Split {
        let total = self.total_mol.cations();
        // Equivalents per equivalent of sites: of each cation, and of the anions, which stay in the water.
        let supply = Cation::ALL.map(|cation| cation.charge() * total[cation as usize] / self.capacity_mol);
        let anions = self.total_mol.anion_charge() / self.capacity_mol;
        if anions < NO_ANIONS {
            return Split { sites: supply, dissolved: [0.0; 5], ln_x: f64::MAX };
        }
        let balance = Balance { ln_pull, supply: &supply, anions };
        let ln_x = balance.root(guess);
        let shares = Cation::ALL.map(|cation| balance.shares(cation, ln_x));
        Split {
            sites: std::array::from_fn(|i| supply[i] * shares[i].0),
            dissolved: std::array::from_fn(|i| total[i] * shares[i].1),
            ln_x,
        }
    }
}

/// The outcome of [`Suspension::settle`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settled {
    /// Shares of the sites.
    pub sites: SiteFractions,
    /// What is dissolved.
    pub solution: Solution,
}

/// Equivalents of anion per equivalent of sites below which the water is pure: nothing can leave the sites.
const NO_ANIONS: f64 = 1e-100;

#[derive(Default)]
struct Split {
    sites: PerCation,
    dissolved: PerCation,
    ln_x: f64,
}

/// The one equation: the cations on the sites add up to the sites, or what is the same, those in the water to the anions.
struct Balance<'a> {
    ln_pull: &'a PerCation,
    supply: &'a PerCation,
    anions: f64,
}

impl Balance<'_> {
    /// Shares of one cation on the sites and in the water; they add up to 1.
    fn shares(&self, cation: Cation, ln_x: f64) -> (f64, f64) {
        let ln_ratio = self.ln_pull[cation as usize] + cation.charge() * ln_x;
        // Either share is formed from the smaller exponential: no overflow, no difference of like numbers.
        let small = exp(-ln_ratio.abs());
        let (more, less) = (1.0 / (1.0 + small), small / (1.0 + small));
        if ln_ratio > 0.0 { (more, less) } else { (less, more) }
    }

    /// ln of the error, increasing in ln x, and its slope. Whichever side of the balance is the smaller is summed:
    /// its terms keep their relative accuracy however few the anions or the sites.
    fn error(&self, ln_x: f64) -> (f64, f64) {
        let few_anions = self.anions < 1.0;
        let (mut sum, mut change) = (0.0, 0.0);
        for cation in self.present() {
            let (bound, dissolved) = self.shares(cation, ln_x);
            let (summed, other) = if few_anions { (dissolved, bound) } else { (bound, dissolved) };
            let equivalents = self.supply[cation as usize] * summed;
            sum += equivalents;
            change += equivalents * cation.charge() * other;
        }
        let error = if few_anions { log(self.anions / sum) } else { log(sum) };
        (error, change / sum)
    }

    fn present(&self) -> impl Iterator<Item = Cation> {
        Cation::ALL.into_iter().filter(|&cation| self.supply[cation as usize] > 0.0)
    }

    /// Newton's method in ln x, kept inside a bracket by bisection.
    ///
    /// The bracket: at the least of `t = (1 / (anions c))^(1/z)` no cation has more than its even share on the sites,
    /// at the greatest none has less.
    fn root(&self, guess: Option<f64>) -> f64 {
        let ln_t = |cation: Cation| -(self.ln_pull[cation as usize] + log(self.anions)) / cation.charge();
        let (mut low, mut high) = self
            .present()
            .map(ln_t)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| (low.min(t), high.max(t)));
        let mut ln_x = guess.map_or(0.5 * (low + high), |guess| guess.clamp(low, high));
        for _ in 0..MOST_STEPS {
            let (error, slope) = self.error(ln_x);
            if error > 0.0 {
                high = ln_x;
            } else {
                low = ln_x;
            }
            let newton = ln_x - error / slope;
            if (newton - ln_x).abs() <= LAST_STEP {
                return newton;
            }
            ln_x = if (low..=high).contains(&newton) { newton } else { 0.5 * (low + high) };
        }
        ln_x
    }
}

/// Bisections from any bracket down to neighbours; Newton takes about five steps.
const MOST_STEPS: usize = 200;
/// The error of ln x after a step of Newton's method is about the square of the step.
const LAST_STEP: f64 = 1e-8;

/// Compile-time check that the anions come after the cations, which [`Amounts::with_cations`] relies on.
const _: () = assert!(Ion::Chloride as usize == Cation::ALL.len());
