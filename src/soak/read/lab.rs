//! What a laboratory says of the coir, and the ions of the water.

use super::fault;
use crate::catalogue::salt_named;
use crate::coir::{Amounts, Cation, Coir, Convention, Ion, Model, SiteFractions, Solutes, sites_from_extract};
use crate::diagnostic::{Code, Problem, Problems};
use crate::exact::Fraction;
use crate::source::{Fields, Node, entries, text_of};
use crate::units::{measured, share};

const CONCENTRATION: &[(&str, f64)] = &[("mmol/l", 1.0), ("mol/l", 1000.0), ("mmol/kg", 1.0)];
const CAPACITY: &[(&str, f64)] = &[("mol/kg", 1.0), ("mmol/kg", 0.001), ("cmol/kg", 0.01), ("meq/100 g", 0.01)];
const SOLUBLE: &[(&str, f64)] = &[("mmol/kg", 1.0), ("mol/kg", 1000.0)];
const HELD: &[(&str, f64)] = &[("kg/kg", 1.0), ("l/kg", 1.0)];

/// Capacity, sites or a saturated extract, soluble salts and water held.
pub(super) fn read_lab(node: &Node<'_>, convention: Convention, problems: &Problems) -> Option<Coir> {
    let before = problems.len();
    let mut fields = Fields::new(node, "a lab report", problems)?;
    let capacity = fields.quantity("exchange_capacity", "a capacity such as `0.5 mol/kg`", |text| {
        measured(text, "exchange capacity", CAPACITY)
    });
    let holds = fields.quantity("holds", "water held such as `7 kg/kg`", |text| measured(text, "water held", HELD));
    let sites_node = fields.get("sites");
    let extract = fields.get("extract");
    let sites = match (sites_node, extract) {
        (Some(node), None) => read_sites(node, problems),
        (None, Some(node)) => read_extract(node, convention, problems),
        (Some(_), Some(node)) => {
            let what = "sites and an extract exclude each other";
            problems.push(Problem::new(Code::Conflict, node.at, what, "one of the two"));
            None
        }
        (None, None) => {
            let what = "a lab report needs the sites or a saturated extract";
            problems.push(Problem::new(Code::MissingKey, node.at, what, "`sites:` or `extract:`"));
            None
        }
    };
    let soluble = fields.get("soluble").map_or(Some(Solutes::NONE), |node| read_soluble(node, problems));
    fields.finish();
    if problems.len() > before {
        return None;
    }
    let capacity = capacity.unwrap_or(Coir::CAPACITY_MOL_KG);
    let read = Coir::measured(capacity, sites?, soluble?, holds.unwrap_or(Coir::HOLDS_L_KG));
    read.map_err(|error| problems.push(fault(node.at, &error, "figures of coir"))).ok()
}

/// Shares of the sites in percent, summing to 100.
fn read_sites(node: &Node<'_>, problems: &Problems) -> Option<SiteFractions> {
    let before = problems.len();
    let mut shares = Vec::new();
    for (name, key, value) in entries(node, "shares of the sites", problems)? {
        let cation = Cation::ALL.into_iter().find(|cation| cation.ion().symbol() == name);
        if cation.is_none() {
            let what = format!("`{name}` is no ion of the exchange sites");
            problems.push(Problem::new(Code::UnknownSalt, key.at, what, "Na, K, NH4, Ca or Mg"));
        }
        let share = text_of(value, "a share", problems)
            .and_then(|text| problems.quantity(value.at, share(text), "a share such as `25 %`"));
        shares.extend(cation.zip(share.map(Fraction::to_f64)));
    }
    if problems.len() > before {
        return None;
    }
    SiteFractions::new(shares).map_err(|error| problems.push(fault(node.at, &error, "shares that sum to 100 %"))).ok()
}

/// Ions of a saturated extract, in mmol/L or mg/L.
fn read_extract(node: &Node<'_>, convention: Convention, problems: &Problems) -> Option<SiteFractions> {
    let ions = read_ions(node, problems)?;
    let model = Model { convention, ..Model::default() };
    sites_from_extract(ions, &model).map_err(|error| problems.push(fault(node.at, &error, "ions of an extract"))).ok()
}

/// A map of ions to concentrations, mmol/L.
fn read_ions(node: &Node<'_>, problems: &Problems) -> Option<Amounts> {
    let before = problems.len();
    let mut amounts = Vec::new();
    for (name, key, value) in entries(node, "ions in water", problems)? {
        let ion = Ion::from_symbol(name);
        if ion.is_none() {
            let what = format!("`{name}` is no ion that is known here");
            problems.push(Problem::new(Code::UnknownSalt, key.at, what, "Na, K, NH4, Ca, Mg, Cl, NO3, SO4 or HCO3"));
        }
        let Some(text) = text_of(value, "a concentration such as `1.5 mmol/L`", problems) else { continue };
        let mg = ion
            .and_then(|ion| measured(text, "concentration", &[("mg/l", 1.0)]).ok().map(|mg| mg / ion.molar_mass_g()));
        let read = mg.map_or_else(|| measured(text, "concentration", CONCENTRATION), Ok);
        let mmol = problems.quantity(value.at, read, "mmol/L or mg/L");
        amounts.extend(ion.zip(mmol));
    }
    (problems.len() == before).then(|| amounts.into_iter().collect())
}

pub(super) fn read_tap(node: &Node<'_>, problems: &Problems) -> Option<Solutes> {
    let ions = read_ions(node, problems)?;
    Solutes::tap_water(ions).map_err(|error| problems.push(fault(node.at, &error, "the ions of the water"))).ok()
}

fn read_soluble(node: &Node<'_>, problems: &Problems) -> Option<Solutes> {
    let before = problems.len();
    let mut salts = Vec::new();
    for (name, key, value) in entries(node, "soluble salts", problems)? {
        let salt = salt_named(name, key.at, problems);
        let Some(text) = text_of(value, "an amount such as `8 mmol/kg`", problems) else { continue };
        let mmol = problems.quantity(value.at, measured(text, "soluble salts", SOLUBLE), "mmol per kg of dry coir");
        salts.extend(salt.zip(mmol));
    }
    if problems.len() > before {
        return None;
    }
    Solutes::of_salts(salts).map_err(|error| problems.push(fault(node.at, &error, "soluble salts"))).ok()
}
