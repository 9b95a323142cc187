//! What is lost and what is sure: settling, spill, sieving, usable plants.

use crate::diagnostic::{Code, Problem, Problems};
use crate::exact::Fraction;
use crate::source::{Fields, Node, Share};

/// The allowances of a week, defaults filled in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowances {
    /// Added to the cell volume: mix sinks when a tray is overfilled, dropped twice
    /// and struck off.
    pub settling: Fraction,
    /// Share of the mix that ends up beside the trays. Common practice, no source.
    pub spill: Fraction,
    /// Share of a batch that stays on the sieve.
    pub sieve_loss: Fraction,
    /// Share of seedlings good enough to plant.
    pub usable: Fraction,
    /// Chance of enough plants.
    pub surety: Fraction,
}

impl Default for Allowances {
    fn default() -> Self {
        let percent = |share| Fraction::new(share, 100).unwrap_or(Fraction::ZERO);
        Self {
            settling: percent(15),
            spill: percent(5),
            sieve_loss: percent(10),
            usable: percent(90),
            surety: percent(90),
        }
    }
}

impl Allowances {
    /// Reads `allowances:` over the defaults.
    pub(super) fn read(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "the allowances", problems)?;
        let mut read = |key, default| fields.optional(key).map_or(default, |Share(share)| share);
        let default = Self::default();
        let settling = read("settling", default.settling);
        let spill = read("spill", default.spill);
        let sieve_loss = read("sieve_loss", default.sieve_loss);
        let usable = read("usable", default.usable);
        let surety = read("surety", default.surety);
        if let Some(node) = fields.get("yield") {
            let what = "yield belongs to the recipe, where the measured figure is kept";
            let help = "write `yield:` in the recipe file, from a bucket test".to_owned();
            problems.push(Problem::new(Code::UnknownKey, node.at, what, "no `yield:` here").with_help(Some(help)));
        }
        for (key, value) in [("spill", spill), ("sieve_loss", sieve_loss)] {
            if Fraction::new(9, 10).is_some_and(|most| value > most) {
                let what = "next to nothing would be left of the mix";
                problems.push(Problem::new(Code::Quantity, fields.place(key), what, "at most 90 %"));
            }
        }
        for (key, value) in [("usable", usable), ("surety", surety)] {
            if let Some((what, expected)) = impossible_chance(key, value) {
                problems.push(Problem::new(Code::Quantity, fields.place(key), what, expected));
            }
        }
        fields.finish();
        Some(Self { settling, spill, sieve_loss, usable, surety })
    }
}

/// Why a share of usable plants or a chance cannot be worked with, and what was expected.
pub(super) fn impossible_chance(key: &str, value: Fraction) -> Option<(&'static str, &'static str)> {
    match key {
        _ if value.is_zero() => Some(("no number of cells would do", "a share above 0 %")),
        "surety" if value >= Fraction::ONE => {
            Some(("no number of cells is quite sure to be enough", "a chance below 100 %"))
        }
        _ => None,
    }
}
