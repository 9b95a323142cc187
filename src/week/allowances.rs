//! What is lost and what is sure: settling, spill, sieving, usable plants.

use crate::catalogue::Rim;
use crate::diagnostic::{Code, Problem, Problems};
use crate::exact::Fraction;
use crate::source::{Fields, FromNode, Node, PositiveShare, Share, above_zero, figures};
use crate::units::{Fault, Length, share, within};

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
    /// How far below its edge a pot is filled, where that is stated.
    pub rim: Option<Length>,
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
            rim: None,
        }
    }
}

figures! {
    /// A share that is lost.
    Loss(Fraction): "a share of at most 90 %, such as `5 %`", text => loss(share(text)?);
    /// Chance of enough plants.
    Surety(Fraction): "a chance below 100 %, such as `90 %`", text => chance(share(text)?, text);
}

fn loss(share: Fraction) -> Result<Fraction, Fault> {
    let too_much = Fraction::new(9, 10).is_some_and(|most| share > most);
    if too_much { Err(Fault::Impossible("next to nothing would be left of the mix".to_owned())) } else { Ok(share) }
}

fn chance(share: Fraction, text: &str) -> Result<Fraction, Fault> {
    if share >= Fraction::ONE {
        return Err(Fault::Impossible("no number of cells is quite sure to be enough".to_owned()));
    }
    let share = above_zero(share, text)?;
    within(share, share.to_f64(), (0.0..=0.999_999, "a chance to count on is at most 99.9999 %"), text)
}

/// `allowances:` over the defaults.
impl FromNode for Allowances {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "the allowances", problems)?;
        let usual = Self::default();
        let allowances = Self {
            settling: fields.optional("settling").map_or(usual.settling, |Share(share)| share),
            spill: fields.optional("spill").map_or(usual.spill, |Loss(share)| share),
            sieve_loss: fields.optional("sieve_loss").map_or(usual.sieve_loss, |Loss(share)| share),
            usable: fields.optional("usable").map_or(usual.usable, |PositiveShare(share)| share),
            surety: fields.optional("surety").map_or(usual.surety, |Surety(chance)| chance),
            rim: fields.optional("rim").map(|Rim(rim)| rim),
        };
        if let Some(node) = fields.get("yield") {
            let what = "yield belongs to the recipe, where the measured figure is kept";
            let help = "write `yield:` in the recipe file, from a bucket test".to_owned();
            problems.push(Problem::new(Code::UnknownKey, node.at, what, "no `yield:` here").with_help(Some(help)));
        }
        fields.finish();
        Some(allowances)
    }
}
