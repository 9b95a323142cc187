//! The coir as bought: its exchange sites, its soluble salts, and the water it holds.

use super::error::within;
use super::{Amounts, Cation, CoirError, Ion, SiteFractions, Solutes};
use crate::source::words;

/// One kind of coir. Built from what the bag says ([`SoldAs::coir`]) or from a lab report ([`Coir::measured`]).
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Coir {
    /// Exchange capacity, mol of charge per kg dry.
    pub capacity_mol_kg: f64,
    /// Lowest and highest capacity it may have, mol of charge per kg dry.
    pub capacity_range_mol_kg: [f64; 2],
    /// Shares of the exchange sites.
    pub sites: SiteFractions,
    /// The sites are those of what a bag claims, which tells little of them.
    pub is_claimed: bool,
    /// Soluble salts, mol per kg dry.
    pub soluble: Solutes,
    /// Water held after draining, litres per kg dry.
    pub holds_l_kg: f64,
    /// The least and the most that it may hold after draining, litres per kg dry.
    pub holds_range_l_kg: [f64; 2],
}

impl Coir {
    /// Exchange capacity where none was measured, mol of charge per kg.
    pub const CAPACITY_MOL_KG: f64 = 0.5;
    /// Published capacities of coir, mol of charge per kg (Evans, Konduru & Stamps 1996; Abad et al. 2002).
    pub const CAPACITY_RANGE_MOL_KG: [f64; 2] = [0.3, 0.95];
    /// Water held after draining, litres per kg dry, where none was measured.
    pub const HOLDS_L_KG: f64 = 7.0;
    /// The same squeezed by hand, and of fine pith.
    pub const HOLDS_RANGE_L_KG: [f64; 2] = [4.0, 10.0];

    /// Coir by a lab report: exchange capacity (mol of charge per kg dry), shares of the sites, soluble salts (mol per
    /// kg dry) and water held after draining (L per kg dry).
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless the capacity is 1e-9 to 50 mol/kg and the water held 0.5 to 30 L/kg.
    ///
    /// ```
    /// use trayful::coir::{Cation, Coir, Salt, SiteFractions, Solutes};
    /// let sites = SiteFractions::new([(Cation::Potassium, 0.6), (Cation::Sodium, 0.1), (Cation::Calcium, 0.3)])?;
    /// let soluble = Solutes::of_salts([(&Salt::from_formula("KCl", "KCl")?, 16.0)])?;
    /// let coir = Coir::measured(0.55, sites, soluble, Coir::HOLDS_L_KG)?;
    /// assert!(Coir::measured(0.0, sites, soluble, Coir::HOLDS_L_KG).is_err());
    /// # Ok::<(), trayful::coir::CoirError>(())
    /// ```
    pub fn measured(
        capacity_mol_kg: f64,
        sites: SiteFractions,
        soluble: Solutes,
        holds_l_kg: f64,
    ) -> Result<Self, CoirError> {
        within("the exchange capacity, in mol/kg,", capacity_mol_kg, 1e-9..=50.0)?;
        within("the water held, in L/kg,", holds_l_kg, 0.5..=30.0)?;
        Ok(Self {
            capacity_mol_kg,
            capacity_range_mol_kg: [capacity_mol_kg; 2],
            sites,
            is_claimed: false,
            soluble,
            holds_l_kg,
            holds_range_l_kg: [holds_l_kg; 2],
        })
    }

    /// The water in it as it comes from its course to the mix.
    pub fn drained(&self) -> WaterHeld {
        let [least, most] = self.holds_range_l_kg;
        WaterHeld { least: least.min(Self::HOLDS_RANGE_L_KG[0]), usual: self.holds_l_kg, most }
    }

    /// The sites with the least and the most sodium and potassium that it may have: by a bag's claim, those of coir partly
    /// treated and as raw.
    pub fn sites_range(&self) -> [SiteFractions; 2] {
        if self.is_claimed { [TREATED, RAW].map(SiteFractions::normalised) } else { [self.sites; 2] }
    }

    /// Plain washes before the first soak: two for coir with more soluble salts than washed coir ever has.
    pub fn washes(&self) -> u8 {
        const UNWASHED_MOL_KG: f64 = 0.1;
        if self.soluble.mol().anion_charge() > UNWASHED_MOL_KG { 2 } else { 0 }
    }
}

/// Loose litres of a kilogram of coir as sold, and the dry share of that kilogram (from trade pages).
const LOOSE_L_PER_SOLD_KG: f64 = 13.0;
const DRY_SHARE: f64 = 0.85;

/// Loose litres of so many kilograms as sold (9 to 15 a kilogram by trade pages), where no package says better.
pub fn loose_l_of_sold(sold_kg: f64) -> f64 {
    sold_kg * LOOSE_L_PER_SOLD_KG
}

/// Litres of water for a kilogram as sold, least and most, where the coir is wetted for a mix and not to dripping: 20 to 25
/// L for a block of 5 kg by its label, which then stands at about 5.1 kg of water to a kilogram dry.
pub const WETTING_L_PER_SOLD_KG: [f64; 2] = [4.0, 5.0];

/// Less leaves a brick lumpy, litres for a kilogram as sold (a judgement).
const LEAST_WETTING_L_PER_SOLD_KG: f64 = 3.0;

/// Kilograms of water to one of dry coir, as it comes to the mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterHeld {
    /// The least: squeezed by hand, or wetted sparingly.
    pub least: f64,
    /// As it usually comes.
    pub usual: f64,
    /// The most.
    pub most: f64,
}

impl WaterHeld {
    /// Dry as a bone.
    pub const NONE: Self = Self { least: 0.0, usual: 0.0, most: 0.0 };
    /// Wetted to its label ([`WETTING_L_PER_SOLD_KG`]): about 5.1 kg (common practice).
    pub const WETTED: Self =
        Self { least: WETTING_L_PER_SOLD_KG[0] / DRY_SHARE, usual: 5.1, most: WETTING_L_PER_SOLD_KG[1] / DRY_SHARE };

    /// Wetted with what a mix wants, in kilograms to one of dry coir: no less than loosens a brick, no more than its label
    /// says.
    pub fn wetted(wanted: f64) -> Self {
        let litres = (wanted * DRY_SHARE).clamp(LEAST_WETTING_L_PER_SOLD_KG, WETTING_L_PER_SOLD_KG[1]);
        let held = litres / DRY_SHARE;
        Self { least: held, usual: held, most: held }
    }

    /// The litres of water that wet a kilogram as sold so.
    pub fn wetting_l_per_sold_kg(self) -> f64 {
        self.usual * DRY_SHARE
    }
}

/// Dry coir in so many kilograms as sold (bricks, blocks).
pub fn dry_kg_of_sold(sold_kg: f64) -> f64 {
    sold_kg * DRY_SHARE
}

/// Dry coir in so many loose litres: 0.0654 kg each.
pub fn dry_kg_of_loose(loose_l: f64) -> f64 {
    loose_l / LOOSE_L_PER_SOLD_KG * DRY_SHARE
}

/// Loose litres of so much dry coir: the inverse of [`dry_kg_of_loose`].
pub fn loose_l_of_dry(dry_kg: f64) -> f64 {
    dry_kg / DRY_SHARE * LOOSE_L_PER_SOLD_KG
}

/// Shares of the sites, as in [`SiteFractions`], of coir as raw and partly treated: judgements.
const RAW: [f64; 5] = [0.25, 0.45, 0.0, 0.18, 0.12];
const TREATED: [f64; 5] = [0.10, 0.30, 0.0, 0.35, 0.25];

words! {
    /// What the bag says.
    SoldAs {
        /// Buffered: needs no course.
        Buffered = "buffered",
        /// Washed: little soluble salt, but the sites as raw.
        Washed = "washed",
        /// Washed and partly treated.
        Mild = "mild",
        /// Nothing claimed: taken as unwashed.
        Unclaimed = "none",
    }
}

impl SoldAs {
    /// Typical coir sold that way, or `None` where there is nothing to do.
    ///
    /// The compositions are judgements, on purpose pessimistic about sodium: no published table of the exchangeable
    /// ions of raw coir was found.
    pub fn coir(self) -> Option<Coir> {
        let (sites, sodium_chloride, potassium_chloride) = match self {
            Self::Buffered => return None,
            Self::Washed => (RAW, 0.008, 0.016),
            Self::Mild => (TREATED, 0.005, 0.010),
            Self::Unclaimed => (RAW, 0.08, 0.16),
        };
        let soluble = Amounts::from_iter([
            (Ion::Sodium, sodium_chloride),
            (Ion::Potassium, potassium_chloride),
            (Ion::Chloride, sodium_chloride + potassium_chloride),
        ]);
        Some(Coir {
            capacity_mol_kg: Coir::CAPACITY_MOL_KG,
            capacity_range_mol_kg: Coir::CAPACITY_RANGE_MOL_KG,
            sites: SiteFractions::normalised(sites),
            is_claimed: true,
            soluble: Solutes::unchecked(soluble),
            holds_l_kg: Coir::HOLDS_L_KG,
            holds_range_l_kg: Coir::HOLDS_RANGE_L_KG,
        })
    }
}

/// What a buffered coir looks like: the limits a course is designed for.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct BufferTarget {
    /// The most sodium and potassium, as a share of the sites.
    pub monovalent: f64,
    /// The most sodium, as a share of the sites.
    pub sodium: f64,
    /// The highest EC of the last rinse, mS/cm.
    pub rinse_ec_ms_cm: f64,
}

impl Default for BufferTarget {
    /// (Na + K) at most 0.15 and Na at most 0.05 of the sites, rinsed to 0.8 mS/cm: how the trade's norm for buffered
    /// coir (Na < 1, K < 2 mmol/L in the 1:1.5 extract) reads as an exhaustive extract of coir of 0.5 mol/kg.
    fn default() -> Self {
        Self { monovalent: 0.15, sodium: 0.05, rinse_ec_ms_cm: 0.8 }
    }
}

impl BufferTarget {
    /// Limits of (Na + K) and of Na as shares of the sites, and of the EC of the last rinse in mS/cm.
    ///
    /// # Errors
    /// [`CoirError::OutOfRange`] unless the shares are 0.001 to 1 and the EC 0.05 to 20 mS/cm.
    pub fn new(monovalent: f64, sodium: f64, rinse_ec_ms_cm: f64) -> Result<Self, CoirError> {
        Ok(Self {
            monovalent: within("the target for sodium and potassium, as a share,", monovalent, 0.001..=1.0)?,
            sodium: within("the target for sodium, as a share,", sodium, 0.001..=1.0)?,
            rinse_ec_ms_cm: within("the target EC, in mS/cm,", rinse_ec_ms_cm, 0.05..=20.0)?,
        })
    }

    /// By how much the sites miss the target; not positive if they meet it.
    pub(crate) fn excess(&self, sites: &SiteFractions) -> f64 {
        (sites.monovalent() - self.monovalent).max(sites.of(Cation::Sodium) - self.sodium)
    }

    /// Whether sites and EC (mS/cm) at the end of a course meet the target.
    pub fn is_met(&self, sites: &SiteFractions, ec_ms_cm: f64) -> bool {
        self.excess(sites) <= 0.0 && ec_ms_cm <= self.rinse_ec_ms_cm
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A block of 5 kg, of 0.85 kg dry and 13 L loose a kilogram: 4.25 kg dry, which are 65 L loose.
    #[test]
    fn a_block_is_the_same_dry_and_loose() {
        assert_eq!((dry_kg_of_sold(5.0), loose_l_of_sold(5.0)), (4.25, 65.0));
        for dry_kg in [1e-6, 0.3, 4.25, 1e6] {
            assert!((dry_kg_of_loose(loose_l_of_dry(dry_kg)) / dry_kg - 1.0).abs() < 1e-14);
        }
    }

    /// Both limits of the sites count, and the limit itself is met.
    #[test]
    fn a_target_has_three_limits() {
        let target = BufferTarget::default();
        let sites =
            |sodium, potassium| SiteFractions::normalised([sodium, potassium, 0.0, 1.0 - sodium - potassium, 0.0]);
        assert!(target.is_met(&sites(0.0, 0.15), 0.8));
        assert!(!target.is_met(&sites(0.0, 0.151), 0.8));
        assert!(!target.is_met(&sites(0.051, 0.0), 0.8));
        assert!(!target.is_met(&sites(0.0, 0.15), 0.81));
    }
}
