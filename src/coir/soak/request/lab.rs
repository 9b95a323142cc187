//! What a laboratory says of the coir, and the ions of the water.

use super::super::salt_named;
use super::values::{Capacity, Concentration, Held, Soluble, accept, map};
use crate::coir::{Amounts, Cation, Coir, Ion, Model, SiteFractions, Solutes, sites_from_extract};
use crate::diagnostic::{Code, Problems};
use crate::source::{Fields, FromNode, Node, Share};

/// Capacity, sites or a saturated extract, soluble salts and water held.
pub(super) fn read_lab(node: &Node<'_>, model: &Model, problems: &Problems) -> Option<Coir> {
    let mut fields = Fields::new(node, "a lab report", problems)?;
    let capacity = fields.optional("exchange_capacity").map_or(Coir::CAPACITY_MOL_KG, |Capacity(capacity)| capacity);
    let holds = fields.optional("holds").map(|Held(holds)| holds);
    let sites = match (fields.get("sites"), fields.get("extract")) {
        (Some(node), None) => read_sites(node, problems),
        (None, Some(node)) => read_extract(node, model, problems),
        (Some(_), Some(node)) => {
            problems.fault(Code::Conflict, node.at, "sites and an extract exclude each other", "one of the two");
            None
        }
        (None, None) => {
            let what = "a lab report needs the sites or a saturated extract";
            problems.fault(Code::MissingKey, node.at, what, "`sites:` or `extract:`");
            None
        }
    };
    let soluble = fields.get("soluble").map_or(Some(Solutes::NONE), |node| read_soluble(node, problems));
    fields.finish()?;
    let coir = Coir::measured(capacity, sites?, soluble?, holds.unwrap_or(Coir::HOLDS_L_KG));
    let coir = accept(coir, node.at, "figures of coir", problems)?;
    let holds_range_l_kg = if holds.is_some() { coir.holds_range_l_kg } else { Coir::HOLDS_RANGE_L_KG };
    Some(Coir { holds_range_l_kg, ..coir })
}

/// Shares of the sites in percent, summing to 100.
fn read_sites(node: &Node<'_>, problems: &Problems) -> Option<SiteFractions> {
    let shares = map(node, "shares of the sites", problems, |name, at, value| {
        let cation = Cation::ALL.into_iter().find(|cation| cation.ion().word() == name);
        if cation.is_none() {
            let what = format!("`{name}` is no ion of the exchange sites");
            problems.fault(Code::UnknownSalt, at, what, "Na, K, NH4, Ca or Mg");
        }
        let share = Share::from_node(value, problems);
        cation.zip(share.map(|Share(share)| share.to_f64()))
    });
    accept(SiteFractions::new(shares?), node.at, "shares that sum to 100 %", problems)
}

/// Ions of a saturated extract, in mmol/L or mg/L.
fn read_extract(node: &Node<'_>, model: &Model, problems: &Problems) -> Option<SiteFractions> {
    accept(sites_from_extract(read_ions(node, problems)?, model), node.at, "ions of an extract", problems)
}

/// A map of ions to concentrations, mmol/L.
fn read_ions(node: &Node<'_>, problems: &Problems) -> Option<Amounts> {
    let amounts = map(node, "ions in water", problems, |name, at, value| {
        let ion = Ion::from_formula(name);
        if ion.is_none() {
            let what = format!("`{name}` is no ion that is known here");
            problems.fault(Code::UnknownSalt, at, what, "Na, K, NH4, Ca, Mg, Cl, NO3, SO4 or HCO3");
        }
        let (ion, amount) = ion.zip(Concentration::from_node(value, problems))?;
        Some((ion, amount.of(ion)))
    });
    amounts.map(Amounts::from_iter)
}

pub(super) fn read_tap(node: &Node<'_>, problems: &Problems) -> Option<Solutes> {
    accept(Solutes::tap_water(read_ions(node, problems)?), node.at, "the ions of the water", problems)
}

fn read_soluble(node: &Node<'_>, problems: &Problems) -> Option<Solutes> {
    let salts = map(node, "soluble salts", problems, |name, at, value| {
        let amount = Soluble::from_node(value, problems);
        salt_named(name, at, problems).zip(amount.map(|Soluble(mmol)| mmol))
    });
    accept(Solutes::of_salts(salts?), node.at, "soluble salts", problems)
}
